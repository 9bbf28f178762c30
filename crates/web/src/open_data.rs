//! The files of an open data package: tables with their schemas, a code book, the
//! plan, the licence, and what a reader must know. The same package gives the same
//! bytes.

use crate::archive::{self, File};
use crate::error::Error;
use roundel_documents::sheet::{self, Cell, Column as Head, Sheet};
use roundel_documents::words::Words;
use roundel_domain::open_data::{Column, Kind, Licence, OpenData, Table, Value};
use serde_json::{Value as Json, json};

/// What stands in a package beside its data.
#[derive(Clone, Debug)]
pub struct Cover {
    /// Name of the scheme's provider, who releases it.
    pub provider: String,
    /// Code of the round.
    pub round: String,
    /// Under which terms.
    pub licence: Licence,
    /// Whether the data are invented.
    pub demonstration: bool,
}

/// The archive.
///
/// # Errors
///
/// A fault, when it cannot be written.
pub fn zip(w: Words, cover: &Cover, data: &OpenData) -> Result<Vec<u8>, Error> {
    archive::zip(&files(w, cover, data))
}

/// The files by name.
pub fn files(w: Words, cover: &Cover, data: &OpenData) -> Vec<File> {
    let mut files: Vec<File> = vec![
        ("README.txt".to_owned(), readme(w, cover, data).into_bytes()),
        ("LICENSE.txt".to_owned(), licence(w, cover).into_bytes()),
        ("codebook.csv".to_owned(), sheet::csv(&code_book(w, data)).into_bytes()),
        ("plan.json".to_owned(), data.plan.clone().into_bytes()),
    ];
    for table in &data.tables {
        files.push((format!("{}.csv", table.name), sheet::csv(&as_sheet(table)).into_bytes()));
        let mut schema = serde_json::to_string_pretty(&schema(w, table)).unwrap_or_default();
        schema.push('\n');
        files.push((format!("schema/{}.schema.json", table.name), schema.into_bytes()));
    }
    files.sort();
    files
}

fn as_sheet(table: &Table) -> Sheet {
    let cell = |value: &Value| match value {
        Value::Empty => Cell::Empty,
        Value::Text(text) => Cell::Text(text.clone()),
        Value::Count(count) => Cell::Number(*count as f64),
        Value::Number(number) => Cell::Number(*number),
    };
    Sheet {
        name: table.name.to_owned(),
        columns: table.columns.iter().map(|column| Head::filled(column.name)).collect(),
        rows: table.rows.iter().map(|row| row.iter().map(cell).collect()).collect(),
        about: None,
    }
}

/// Key of what a column means: columns of one name mean the same in every table,
/// but for these.
fn meaning(w: Words, table: &Table, column: &Column) -> String {
    let plain = column.name.replace('_', "-");
    let own = format!("open-data-{}-{plain}", table.name);
    w.t(&if w.has(&own) { own } else { format!("open-data-column-{plain}") })
}

/// JSON Schema (2020-12) of a row of a table: an empty cell is `null`.
fn schema(w: Words, table: &Table) -> Json {
    let mut properties = serde_json::Map::new();
    for column in table.columns {
        let sort = match column.kind {
            Kind::Text => json!("string"),
            Kind::Word => json!(["string", "null"]),
            Kind::Count => json!(["integer", "null"]),
            Kind::Number => json!(["number", "null"]),
        };
        properties.insert(column.name.to_owned(), json!({ "type": sort, "description": meaning(w, table, column) }));
    }
    let names: Vec<&str> = table.columns.iter().map(|column| column.name).collect();
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": table.name,
        "description": w.t(&format!("open-data-table-{}", table.name)),
        "type": "object",
        "properties": properties,
        "required": names,
        "additionalProperties": false,
    })
}

fn code_book(w: Words, data: &OpenData) -> Sheet {
    let row = |table: &Table, column: &Column| {
        let kind = match column.kind {
            Kind::Text => "text",
            Kind::Word => "word",
            Kind::Count => "integer",
            Kind::Number => "number",
        };
        vec![Cell::text(table.name), Cell::text(column.name), Cell::text(kind), Cell::text(meaning(w, table, column))]
    };
    Sheet {
        name: "codebook".to_owned(),
        columns: ["table", "column", "kind", "meaning"].map(Head::filled).into(),
        rows: data.tables.iter().flat_map(|table| table.columns.iter().map(move |column| row(table, column))).collect(),
        about: None,
    }
}

/// The notice of the licence; its whole text is at its address.
fn licence(w: Words, cover: &Cover) -> String {
    let Cover { provider, round, licence, .. } = cover;
    let values = [("provider", provider.as_str()), ("round", round), ("address", licence.address())];
    let notice = w.with(&format!("open-data-notice-{}", licence.word()), &values);
    format!("SPDX-License-Identifier: {}\n\n{notice}\n", licence.identifier())
}

fn readme(w: Words, cover: &Cover, data: &OpenData) -> String {
    let mut text = w.with("open-data-readme-title", &[("round", cover.round.as_str()), ("provider", &cover.provider)]);
    if cover.demonstration {
        text.push_str(&format!("\n\n{}", w.t("open-data-readme-invented")));
    }
    let count = data.laboratories.to_string();
    text.push_str(&format!("\n\n{}", w.with("open-data-readme-what", &[("count", &count)])));
    text.push_str(&format!("\n\n{}\n", w.t("open-data-readme-files")));
    for table in &data.tables {
        text.push_str(&format!("\n  {}.csv  {}", table.name, w.t(&format!("open-data-table-{}", table.name))));
    }
    for (name, key) in [
        ("codebook.csv", "open-data-file-codebook"),
        ("schema/", "open-data-file-schema"),
        ("plan.json", "open-data-file-plan"),
        ("LICENSE.txt", "open-data-file-licence"),
    ] {
        text.push_str(&format!("\n  {name}  {}", w.t(key)));
    }
    for key in
        ["open-data-readme-format", "open-data-readme-codes", "open-data-readme-groups", "open-data-readme-value"]
    {
        text.push_str(&format!("\n\n{}", w.t(key)));
    }
    text.push_str(&format!("\n\n{}\n", w.t("open-data-readme-left-out")));
    for line in left_out(w, data) {
        text.push_str(&format!("\n- {line}"));
    }
    text.push('\n');
    text
}

/// What is not in the package and why, a sentence each; of laboratories without
/// consent only how many, and not below five.
pub fn left_out(w: Words, data: &OpenData) -> Vec<String> {
    let left = &data.left_out;
    let mut lines = vec![match left.laboratories {
        Some(count) => w.with("open-data-without-consent", &[("count", &count.to_string())]),
        None => w.t("open-data-without-consent-few"),
    }];
    if !left.measurands.is_empty() {
        let count = left.measurands.len().to_string();
        lines.push(w.with("open-data-few", &[("count", &count), ("list", &left.measurands.join(", "))]));
    }
    if !left.merged.is_empty() {
        lines.push(w.with("open-data-merged", &[("count", &left.merged.len().to_string())]));
    }
    if left.withheld > 0 {
        lines.push(w.with("open-data-withheld", &[("count", &left.withheld.to_string())]));
    }
    lines.push(w.t("open-data-never"));
    lines
}
