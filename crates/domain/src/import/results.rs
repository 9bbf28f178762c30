//! The file of a laboratory's results for a whole round.

use super::RowProblem;
use super::assigned::{KnownMeasurand, Places, find_measurand, twice};
use super::file::File;
use super::item_code;
use super::row::{Column, Reader, Seen, of_a_file, optional, required};
use super::table::Row;
use crate::asks::Asks;
use crate::field::{Problem, shortened};
use crate::measurand::{Item, MOST_REPLICATES, Measurand};
use crate::number;
use crate::result::{self, Asked, Reason, Typed};
use crate::text;
use crate::unit;

/// A file of results without errors.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ResultsFile {
    /// All fields of the rows in which something is typed, those that are empty
    /// in the file included: they take the place of what was typed before.
    pub typed: Typed,
    /// Places of the measurands with something typed, in the order of the file.
    pub positions: Vec<i64>,
}

pub(super) const COLUMNS: &[Column] = &[
    required("item"),
    optional("item_code"),
    required("analyte"),
    optional("expressed_as"),
    required("unit"),
    required("result"),
    optional("result_2"),
    optional("result_3"),
    optional("result_4"),
    optional("expanded_uncertainty"),
    optional("uncertainty_form"),
    optional("coverage_factor"),
    optional("loq"),
    optional("state"),
    optional("reason"),
    optional("errors"),
];

/// Columns of numbers, and the fields that they fill. The first are the values.
pub(super) const NUMBERS: [(&str, &str); 7] = [
    ("result", "v1"),
    ("result_2", "v2"),
    ("result_3", "v3"),
    ("result_4", "v4"),
    ("expanded_uncertainty", "u"),
    ("coverage_factor", "k"),
    ("loq", "loq"),
];

/// The column that a refused file comes back with; nobody has to delete it.
pub const ERRORS: &str = "errors";

/// Columns that the template does not have: codes are for rounds that use them.
const NOT_IN_TEMPLATE: [&str; 2] = ["item_code", ERRORS];

/// The words of the column `uncertainty_form`.
pub(super) const FORMS: [&str; 2] = ["absolute", "percent"];

/// The words of the column `state`.
pub(super) const STATES: [&str; 5] = ["value", "below", "identified", "not_analysed", "failed"];

/// The names of the columns in a file for a round with so many replicates.
pub fn results_columns(replicates: i64) -> Vec<&'static str> {
    let values = replicates.clamp(1, MOST_REPLICATES) as usize;
    let beyond = |name: &str| NUMBERS[values..4].iter().any(|(column, _)| *column == name);
    COLUMNS.iter().map(Column::name).filter(|name| !beyond(name) && !NOT_IN_TEMPLATE.contains(name)).collect()
}

/// Reads a laboratory's file of results against what the round asks for.
///
/// A row names its measurand by item and analyte, without regard to capitals,
/// in the unit of the round. Numbers keep their text as typed; one that a
/// spreadsheet holds as a number has the reading with a decimal point. A row
/// with an uncertainty says its form, `absolute` or `percent`. Rows in which
/// nothing is typed are left out. A code in the column `item_code` must be that
/// of `codes`, the labels of items with the codes on the laboratory's own vials;
/// without any the column is let be.
///
/// # Errors
///
/// Everything that is wrong, by line and column, found in one pass: what is
/// wrong with the file, and what [`result::read`] says of the rows.
pub fn results(
    file: &File,
    items: &[Item],
    measurands: &[Measurand],
    codes: &[(String, String)],
) -> Result<ResultsFile, Vec<RowProblem>> {
    let mut reader = Reader::new(file, COLUMNS)?;
    let label = |m: &Measurand| items.iter().find(|item| item.id == m.item).map(|item| item.label.clone());
    let known: Vec<KnownMeasurand> = measurands
        .iter()
        .map(|m| KnownMeasurand {
            item: label(m).unwrap_or_default(),
            analyte: m.analyte.clone(),
            unit: m.unit.clone(),
        })
        .collect();
    let places = Places::new(&known);
    let mut seen = Seen::new();
    let mut read = ResultsFile { typed: Typed::default(), positions: Vec::new() };
    for row in reader.rows().iter().filter(|row| !is_empty(&reader, row)).collect::<Vec<_>>() {
        let Some(place) = find_measurand(&mut reader, row, &places) else { continue };
        let measurand = &measurands[place];
        if let Some(first) = seen.earlier(place, row.line) {
            let KnownMeasurand { item, analyte, .. } = &known[place];
            reader.refuse(row, "analyte", twice(item, analyte, first, row.line));
            continue;
        }
        if let Some(basis) = reader.cell(row, "expressed_as")
            && text::key(basis) != text::key(expected_basis(measurand))
        {
            let problem = Problem::new("problem-file-expressed-as").with("seen", shortened(basis));
            reader.refuse(row, "expressed_as", problem.with("expected", expected_basis(measurand)));
        }
        if let Some(code) = reader.cell(row, "item_code")
            && let Err(problem) = item_code::check(code, &known[place].item, codes)
        {
            reader.refuse(row, "item_code", problem);
        }
        let fields = fields(&mut reader, row, items, measurand);
        check(&mut reader, row, &fields, items, measurand);
        read.typed.0.extend(fields.0);
        read.positions.push(measurand.position);
    }
    unit::choices(measurands).iter().for_each(|choice| read.typed.set(&choice.field, &choice.unit));
    let empty = read.positions.is_empty();
    let header = reader.header_line();
    let read = reader.finish(read)?;
    if empty {
        return Err(vec![RowProblem::line(header, Problem::new("problem-file-results-none"))]);
    }
    Ok(read)
}

/// What results are expressed as, where the round says it.
pub(super) fn expected_basis(measurand: &Measurand) -> &str {
    if measurand.expressed_as.is_empty() { &measurand.analyte } else { &measurand.expressed_as }
}

/// Whether nothing is typed in the row. A form of the uncertainty alone, as a
/// column filled from top to bottom leaves it, is nothing.
fn is_empty(reader: &Reader<'_>, row: &Row) -> bool {
    let typed = NUMBERS.iter().map(|(column, _)| *column).chain(["state", "reason"]);
    typed.into_iter().all(|column| reader.cell(row, column).is_none())
}

/// What the row types, by field.
fn fields<'a>(reader: &mut Reader<'a>, row: &'a Row, items: &[Item], measurand: &Measurand) -> Typed {
    let mut typed = Typed::default();
    let field = |part: &str| format!("{}.{part}", measurand.position);
    for (place, (column, part)) in NUMBERS.into_iter().enumerate() {
        let text = reader.cell(row, column).unwrap_or_default();
        let beyond = (measurand.replicates..MOST_REPLICATES).contains(&(place as i64));
        if beyond && !text.is_empty() {
            let problem = Problem::new("problem-file-replicate").with("count", measurand.replicates);
            reader.refuse(row, column, problem);
        }
        let text = if beyond { "" } else { text };
        // A point in a number of a spreadsheet is the decimal sign; a text that
        // has two readings is refused.
        let has_two = number::parse_reported(text, true).is_err_and(|problem| problem.readings().is_some());
        let reading = if has_two && reader.is_number(row, column) { text } else { "" };
        typed.0.insert(field(part), text.to_owned());
        typed.0.insert(field(&format!("{part}.reading")), reading.to_owned());
    }
    let reasons = Reason::ALL.map(Reason::word);
    for (part, words) in [("state", &STATES[..]), ("reason", &reasons)] {
        typed.0.insert(field(part), word(reader, row, part, words).unwrap_or_default().to_owned());
    }
    let form = form(reader, row);
    typed.0.insert(result::form_field(items, measurand.position), form.to_owned());
    typed
}

/// One of the words of a column, without regard to capitals and to spaces or
/// hyphens for underscores.
fn word<'a>(
    reader: &mut Reader<'a>,
    row: &'a Row,
    column: &'static str,
    words: &[&'static str],
) -> Option<&'static str> {
    let seen = reader.cell(row, column)?;
    let found = plain_word(seen, words);
    if found.is_none() {
        let problem = Problem::new("problem-file-word").with("seen", shortened(seen));
        reader.refuse(row, column, problem.with("words", words.join(", ")));
    }
    found
}

/// The word of a list that `seen` means: without regard to capitals and to
/// spaces or hyphens for underscores, and `%` for percent.
pub(super) fn plain_word(seen: &str, words: &[&'static str]) -> Option<&'static str> {
    let plain = text::key(seen).replace([' ', '-'], "_");
    let plain = if plain == "%" { "percent" } else { &plain };
    words.iter().copied().find(|word| *word == plain)
}

/// How the uncertainty of the row is given; nothing where there is none.
fn form<'a>(reader: &mut Reader<'a>, row: &'a Row) -> &'static str {
    const COLUMN: &str = "uncertainty_form";
    let form = word(reader, row, COLUMN, &FORMS);
    if reader.cell(row, "expanded_uncertainty").is_none() {
        return "";
    }
    if reader.cell(row, COLUMN).is_none() {
        let column = if reader.has(COLUMN) { COLUMN } else { "expanded_uncertainty" };
        reader.refuse(row, column, Problem::new("problem-file-uncertainty-form"));
    }
    form.unwrap_or_default()
}

/// Reads the fields of one row as the page does, and notes what is wrong under
/// the columns that they come from.
fn check(reader: &mut Reader<'_>, row: &Row, fields: &Typed, items: &[Item], measurand: &Measurand) {
    // The row says its unit itself, and it is that of the round.
    let mut fields = fields.clone();
    let measurands = std::slice::from_ref(measurand);
    unit::choices(measurands).iter().for_each(|choice| fields.set(&choice.field, &choice.unit));
    let asked = Asked { items, measurands, asks: &Asks::default() };
    let sheet = result::read(&fields, &asked, None);
    for (field, problem) in sheet.errors.iter() {
        let part = field.split_once('.').map_or(field, |(_, part)| part);
        // Forms and words were looked at before, and told in words of a file.
        if problem.key == "result-uncertainty-form" {
            continue;
        }
        let numbers = NUMBERS.iter().find(|(_, known)| *known == part).map(|(column, _)| *column);
        let column = numbers.or(["state", "reason"].into_iter().find(|known| *known == part)).unwrap_or("result");
        reader.refuse(row, column, of_a_file(problem.clone()));
    }
}
