//! A refused file as it was, so that it can go back with what is wrong in it.

use super::file::File;
use super::results::{COLUMNS, ERRORS};
use super::row::Column;
use super::table::{Row, find_separator, split};
use super::{RowProblem, encoding, spreadsheet};

/// The cells of a refused file, letter by letter but for spaces around them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Returned {
    /// The sign between cells; none in a workbook.
    pub separator: Option<char>,
    /// Name of the sheet; empty for a text.
    pub sheet: String,
    /// Lines with their cells, and the text that goes with each.
    pub rows: Vec<ReturnedRow>,
}

/// A line of a refused file: its number, its cells, and what is wrong with it.
pub type ReturnedRow = (usize, Vec<String>, String);

/// The cells of a refused file of results, with what is wrong with a line behind
/// its last cell, as `told` says it; the line of the names of columns has the
/// name `errors` there, which such a file may keep. A column of that name from
/// an earlier time is left out. `None` where the file is no table of which lines
/// can be told apart.
pub fn returned(
    file: &File,
    bytes: &[u8],
    problems: &[RowProblem],
    told: impl Fn(&RowProblem) -> String,
) -> Option<Returned> {
    let (separator, sheet, rows) = cells(file, bytes)?;
    let names = |row: &Row| row.cells.iter().filter(|cell| super::row::matching(cell, COLUMNS).is_some()).count();
    let header = rows.iter().take(8).max_by_key(|row| (names(row), std::cmp::Reverse(row.line)))?.line;
    let earlier = rows.iter().find(|row| row.line == header)?.cells.iter().position(|cell| cell == ERRORS);
    let width = rows.iter().map(|row| row.cells.len()).max()?;
    let rows = rows.into_iter().map(|row| {
        let of_line = |one: &&RowProblem| one.line == row.line || (one.line == 0 && row.line == header);
        let mut sentences: Vec<String> = problems.iter().filter(of_line).map(&told).collect();
        if row.line == header {
            sentences.insert(0, ERRORS.to_owned());
        }
        let mut cells = row.cells;
        cells.resize(width, String::new());
        if let Some(earlier) = earlier {
            cells.remove(earlier);
        }
        (row.line, cells, sentences.join(" "))
    });
    Some(Returned { separator, sheet, rows: rows.collect() })
}

/// The lines of the table that was refused.
fn cells(file: &File, bytes: &[u8]) -> Option<(Option<char>, String, Vec<Row>)> {
    let known: &'static [Column] = COLUMNS;
    if spreadsheet::is_archive(bytes) {
        let name = file.find_sheet(known).ok()?.name.clone();
        let sheets = spreadsheet::rows(bytes).ok()?;
        let (name, read) = sheets.into_iter().find(|(sheet, _)| *sheet == name)?;
        return Some((None, name, read.ok()?.0));
    }
    let (text, _) = encoding::decode(bytes).ok()?;
    let (skipped, separator, body) = find_separator(&text);
    let mut rows = split(body, separator, skipped).ok()?;
    rows.retain(|row| !row.is_blank());
    (!rows.is_empty()).then_some((Some(separator), String::new(), rows))
}
