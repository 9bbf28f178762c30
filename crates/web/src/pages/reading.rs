//! What a laboratory typed, for its people who may only read: no form at all.

use super::Frame;
use super::typed::{Field, Head};
use askama::Template;

/// Fields that belong together, as name and text.
pub struct Block {
    /// Its heading; may be empty.
    pub heading: String,
    /// Name and text of each field.
    pub facts: Vec<(String, String)>,
}

/// A line of a table of fields.
pub struct Row {
    /// Its id, where a link leads.
    pub id: String,
    /// The analyte.
    pub name: String,
    /// The unit; may be empty.
    pub unit: String,
    /// A text for each column.
    pub texts: Vec<String>,
}

/// What was typed, without a form.
#[derive(Template)]
#[template(path = "results/reading.html")]
pub struct ReadingPage {
    /// The frame.
    pub f: Frame,
    /// The round.
    pub head: Head,
    /// The heading.
    pub title: String,
    /// What stands before the table.
    pub blocks: Vec<Block>,
    /// Names of the table's columns after the analyte.
    pub columns: Vec<String>,
    /// The table.
    pub rows: Vec<Row>,
}

/// The text of a field as a person reads it; empty when nothing was typed.
pub fn text(f: &Frame, field: &Field) -> String {
    if field.is_tick() {
        return if field.is_ticked() { f.t("reading-yes") } else { String::new() };
    }
    let chosen = field.picks.iter().find(|pick| pick.value == field.value && !field.value.is_empty());
    chosen.map_or_else(|| field.value.clone(), |pick| pick.text.clone())
}

/// The texts of several fields of one place: replicates, a state with its reason.
pub fn joined<'a>(f: &Frame, fields: impl IntoIterator<Item = &'a Field>) -> String {
    let texts: Vec<String> = fields.into_iter().map(|field| text(f, field)).filter(|text| !text.is_empty()).collect();
    texts.join(" · ")
}

/// Fields as name and text.
pub fn facts(f: &Frame, fields: &[Field]) -> Vec<(String, String)> {
    let shown = |field: &Field| match text(f, field) {
        text if text.is_empty() => f.t("reading-empty"),
        text => text,
    };
    fields.iter().map(|field| (field.label.clone(), shown(field))).collect()
}
