//! The data of one table of results: every number as text, every column aligned.

use super::{Certificate, Route, Row, RowNote, Table, Verdict};
use crate::mark::{Limits, Mark, ScoreKind};
use crate::measure::{self, Style};
use crate::number;
use crate::words::Words;
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct TableData {
    item: String,
    alt: String,
    /// The unit of the head, where all rows share one.
    unit: Option<String>,
    k: Option<String>,
    /// The kind of score, where all rows share one.
    kind: Option<String>,
    /// Widths of the columns between the first and the last, in points; empty where
    /// they leave too little for the first, and have to be found.
    widths: Vec<f64>,
    /// Whether all cells of a row take one line, by rows; empty where that has to be
    /// found.
    one_line: Vec<bool>,
    rows: Vec<RowData>,
    notes: Vec<String>,
}

#[derive(Serialize, Default)]
struct RowData {
    analyte: String,
    basis: Option<String>,
    reported: String,
    unit: String,
    u: String,
    k: String,
    x: String,
    ux: String,
    route: String,
    sigma: String,
    d: String,
    kind: String,
    score: String,
    class: String,
    verdict: Option<String>,
    mark: &'static str,
}

/// One table, its columns aligned.
pub(super) fn table_data(certificate: &Certificate, table: &Table, words: &Words) -> TableData {
    let mut rows: Vec<RowData> = table.rows.iter().map(|row| row_data(certificate, row, words)).collect();
    type Column = (fn(&RowData) -> &String, fn(&mut RowData) -> &mut String);
    let columns: [Column; 8] = [
        (|row| &row.reported, |row| &mut row.reported),
        (|row| &row.u, |row| &mut row.u),
        (|row| &row.k, |row| &mut row.k),
        (|row| &row.x, |row| &mut row.x),
        (|row| &row.ux, |row| &mut row.ux),
        (|row| &row.sigma, |row| &mut row.sigma),
        (|row| &row.d, |row| &mut row.d),
        (|row| &row.score, |row| &mut row.score),
    ];
    for (read, write) in columns {
        // The digits as they were typed, with the decimal sign of the document; the
        // signed statement has them letter by letter.
        let column: Vec<String> = rows.iter().map(|row| words.numeral(read(row).as_str())).collect();
        for (row, text) in rows.iter_mut().zip(number::align(&column)) {
            *write(row) = text;
        }
    }
    let unit = common(table.rows.iter().map(|row| row.unit.as_str()));
    let k = common(table.rows.iter().filter_map(|row| row.coverage_factor.as_deref())).map(|k| words.numeral(k));
    let kind = common(rows.iter().map(|row| row.kind.as_str()).filter(|kind| !kind.is_empty()));
    let mut data = TableData {
        item: table.item.clone(),
        alt: words.with("certificate-table-alt", &[("item", &table.item)]),
        unit,
        k,
        kind,
        widths: Vec::new(),
        one_line: Vec::new(),
        rows,
        notes: notes(table, words),
    };
    let widths = data.widths(words);
    let first = LINE - LAST - BETWEEN - widths.iter().map(|width| width + BETWEEN).sum::<f64>();
    if first >= FIRST {
        data.one_line = data.one_line(first);
        data.widths = widths;
    }
    data
}

/// Sizes of the template, in points: of the text of cells and of heads, of the space
/// between columns, of the last column, and of a line of the page.
const CELL: f64 = 9.0;
const HEAD: f64 = 8.5;
const BETWEEN: f64 = 8.0;
const LAST: f64 = 30.0 * 72.0 / 25.4;
const LINE: f64 = 174.0 * 72.0 / 25.4;
/// What the names of analytes need at least.
const FIRST: f64 = 80.0;

impl TableData {
    /// The widths of the columns between the first and the last, in their order in the
    /// template.
    fn widths(&self, words: &Words) -> Vec<f64> {
        let label = |key: &str| words.t(&format!("certificate-{key}"));
        let unit = self.unit.clone().unwrap_or_default();
        let u = self.k.as_ref().map_or_else(|| "U".to_owned(), |k| format!("U (k = {k})"));
        let score = if self.kind.is_some() { String::new() } else { label("score") };
        type Cell = fn(&RowData) -> &str;
        let columns: [(bool, &[&str], Cell); 10] = [
            (true, &[&label("reported"), &unit], |row| &row.reported),
            (self.unit.is_none(), &[&label("unit")], |row| &row.unit),
            (true, &[&u, &unit], |row| &row.u),
            (self.k.is_none(), &["k"], |row| &row.k),
            (true, &["xpt", &unit], |row| &row.x),
            (true, &["U(xpt)", "(k = 2)"], |row| &row.ux),
            (true, &[&label("column-route")], |row| &row.route),
            (true, &["σpt", &unit], |row| &row.sigma),
            (true, &[&label("column-d")], |row| &row.d),
            (true, &[&score], |row| &row.score),
        ];
        let last = columns.len() - 1;
        let shown = columns.iter().enumerate().filter(|(_, (shown, ..))| *shown);
        shown
            .map(|(place, (_, heads, cell))| {
                let head = heads.iter().map(|text| measure::width(text, Style::Regular, HEAD));
                let style = if place == last { Style::Bold } else { Style::Regular };
                let cells = self.rows.iter().map(|row| {
                    let kind = (place == last && self.kind.is_none()).then(|| format!("{} ", row.kind));
                    measure::width(&kind.unwrap_or_default(), Style::Italic, CELL)
                        + measure::width(cell(row), style, CELL)
                });
                (head.chain(cells).fold(0.0, f64::max) * 100.0).ceil() / 100.0
            })
            .collect()
    }

    /// Whether each row takes one line, where the first column is so wide.
    fn one_line(&self, first: f64) -> Vec<bool> {
        let fits = |row: &RowData| {
            row.basis.is_none()
                && row.verdict.is_none()
                && measure::width(&row.analyte, Style::Regular, CELL) <= first
                && measure::width(&format!("■ {}", row.class), Style::Semibold, CELL) <= LAST
        };
        self.rows.iter().map(fits).collect()
    }
}

/// The text that all share.
fn common<'a>(mut texts: impl Iterator<Item = &'a str>) -> Option<String> {
    let first = texts.next()?;
    texts.all(|text| text == first).then(|| first.to_owned())
}

const NONE: &str = "–";

fn row_data(certificate: &Certificate, row: &Row, words: &Words) -> RowData {
    // Stated is U(x_pt) with k = 2.
    let expanded = row.standard_uncertainty.map(|u| 2.0 * u);
    let published = row.assigned_value.map(|value| number::published(value, expanded, row.sigma_pt));
    let typed = |text: &Option<String>| text.as_deref().map_or(NONE.to_owned(), number::typed);
    let or_none = |text: Option<String>| text.unwrap_or_else(|| NONE.to_owned());
    RowData {
        analyte: row.analyte.clone(),
        basis: row.basis.clone(),
        reported: number::typed(&row.reported),
        unit: row.unit.clone(),
        u: typed(&row.expanded_uncertainty),
        k: typed(&row.coverage_factor),
        x: or_none(published.as_ref().map(|published| published.assigned_value.clone())),
        ux: or_none(published.as_ref().and_then(|published| published.standard_uncertainty.clone())),
        route: row.route.map(|route| words.t(letter(route))).unwrap_or_default(),
        sigma: or_none(published.and_then(|published| published.sigma_pt)),
        d: or_none(row.difference_percent.map(number::difference_percent)),
        kind: row.score.map_or("", |score| score.kind.symbol()).to_owned(),
        score: or_none(row.score.map(|score| {
            let text = number::score(score.value, &limits_of(certificate, score.kind).values());
            if score.bound { format!("< {text}") } else { text }
        })),
        class: row.mark.word_of(row.is_withdrawn(), words),
        verdict: row.verdict.map(|verdict| words.t(verdict_key(verdict))),
        mark: match row.mark {
            Mark::Warning => "warning",
            Mark::Action => "action",
            _ => "",
        },
    }
}

/// The limits that no rounding of a printed score may cross.
fn limits_of(certificate: &Certificate, kind: ScoreKind) -> Limits {
    let named = certificate.limits.iter().find(|(of, _)| *of == kind).map(|(_, limits)| *limits);
    named.unwrap_or(if kind == ScoreKind::En { Limits::E_N } else { Limits::STANDARD })
}

fn verdict_key(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::FalseNegative => "certificate-false-negative",
        Verdict::FalsePositive => "certificate-false-positive",
        Verdict::Trace => "certificate-trace",
        Verdict::CorrectlyNotDetected => "certificate-correctly-not-detected",
    }
}

/// A note with the analytes that it holds for.
struct Grouped<'a> {
    key: &'static str,
    name: &'static str,
    text: String,
    analytes: Vec<&'a str>,
}

/// What is said below a table: how the assigned values were found, then each
/// note once, with all the analytes that it holds for.
fn notes(table: &Table, words: &Words) -> Vec<String> {
    let mut grouped: Vec<Grouped<'_>> = Vec::new();
    for row in &table.rows {
        for (key, name, text) in row_notes(row) {
            match grouped.iter_mut().find(|note| note.key == key && note.text == text) {
                Some(note) => note.analytes.push(&row.analyte),
                None => grouped.push(Grouped { key, name, text, analytes: vec![&row.analyte] }),
            }
        }
    }
    let said =
        |note: &Grouped<'_>| words.with(note.key, &[("analyte", &note.analytes.join(", ")), (note.name, &note.text)]);
    routes(table, words).into_iter().chain(grouped.iter().map(said)).collect()
}

/// The notes of a row: key of the sentence, and the value that it shows.
fn row_notes(row: &Row) -> Vec<(&'static str, &'static str, String)> {
    let mut notes = Vec::new();
    if let Some(converted) = &row.converted {
        notes.push(("certificate-note-converted", "value", converted.clone()));
    }
    if let Some(loq) = &row.loq {
        let key = if loq.met { "certificate-note-loq-met" } else { "certificate-note-loq-not-met" };
        notes.push((key, "required", number::with_unit(&number::shortest(loq.required), &row.scheme_unit)));
    }
    for note in &row.notes {
        notes.push(match note {
            RowNote::Qualified => ("certificate-note-qualified", "", String::new()),
            RowNote::NearLoq => ("certificate-note-near-loq", "", String::new()),
            RowNote::Excluded(reason) | RowNote::Withdrawn(reason) => {
                ("certificate-note-excluded", "reason", reason.clone())
            }
            RowNote::NoClass(reason) => ("certificate-note-no-class", "reason", reason.clone()),
            RowNote::Remark(text) => ("certificate-note-remark", "text", text.clone()),
        });
    }
    notes
}

/// The letter of a route, in the column of its own.
fn letter(route: Route) -> &'static str {
    match route {
        Route::Formulation => "certificate-route-letter-formulation",
        Route::Reference => "certificate-route-letter-reference",
        Route::Expert => "certificate-route-letter-expert",
        Route::Participants => "certificate-route-letter-participants",
    }
}

/// What the letters of a table mean.
fn routes(table: &Table, words: &Words) -> Vec<String> {
    let mut used: Vec<Route> = table.rows.iter().filter_map(|row| row.route).collect();
    used.sort_unstable();
    used.dedup();
    used.into_iter()
        .map(|route| {
            let key = match route {
                Route::Formulation => "certificate-route-formulation",
                Route::Reference => "certificate-route-reference",
                Route::Expert => "certificate-route-expert",
                Route::Participants => "certificate-route-participants",
            };
            words.with("certificate-route-named", &[("letter", &words.t(letter(route))), ("route", &words.t(key))])
        })
        .collect()
}
