//! From text to a header and rows of cells.

use super::encoding::{self, Encoding};
use super::row::twice;
use super::{MAX_CELL, MAX_COLUMNS, MAX_PROBLEMS, MAX_ROWS, RowProblem};
use crate::field::{Problem, shortened};
use std::collections::BTreeMap;

/// Signs between cells; where a line has two equally often, the first wins.
const SEPARATORS: [char; 3] = [';', '\t', ','];

/// A file as cells. Every row has as many cells as the header has names.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    /// How the text was coded.
    pub encoding: Encoding,
    /// The sign between cells: comma, semicolon or tab; none in a workbook.
    pub separator: Option<char>,
    /// Line of the header, from 1.
    pub header_line: usize,
    /// Column names, spaces around them dropped; all different.
    pub header: Vec<String>,
    /// The rows below the header that are not blank.
    pub rows: Vec<Row>,
}

/// One row of a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// Line of the file on which the row begins, from 1.
    pub line: usize,
    /// The cells, spaces around them dropped.
    pub cells: Vec<String>,
    /// Whether a spreadsheet holds the cell as a number: then a point in it is
    /// the decimal sign. Shorter than the cells where the rest are not.
    pub(super) numbers: Vec<bool>,
}

/// A table, and what was found wrong with it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Examined {
    pub(super) table: Table,
    pub(super) problems: Vec<RowProblem>,
    /// Whether the names of the columns are in order. If not, `problems` are
    /// about them alone.
    pub(super) named: bool,
}

/// Cells that are refused before their columns are known, by line and place.
pub(super) type Refused = BTreeMap<(usize, usize), Problem>;

impl Table {
    /// Reads the bytes of a text file.
    ///
    /// The separator is that of comma, semicolon and tab that the header has most
    /// often; a first line `sep=;`, as spreadsheets write it, decides. Cells may
    /// stand in quotation marks, where a doubled mark stands for one.
    pub(super) fn of_text(bytes: &[u8]) -> Result<Examined, Vec<RowProblem>> {
        let (text, encoding) = encoding::decode(bytes).map_err(|problem| vec![problem])?;
        let (skipped, separator, body) = find_separator(&text);
        let records = split(body, separator, skipped).map_err(|problem| vec![problem])?;
        Table::of_rows(records, encoding, Some(separator), Refused::new())
    }

    /// Looks at the rows of a file, of which the first that is not blank is the
    /// header. What is wrong with single rows and cells comes beside the table,
    /// so that a reader who knows the columns can look for more. Rows that have
    /// another count of cells are left out of the table.
    pub(super) fn of_rows(
        rows: Vec<Row>,
        encoding: Encoding,
        separator: Option<char>,
        mut refused: Refused,
    ) -> Result<Examined, Vec<RowProblem>> {
        let mut records = rows.into_iter().filter(|row| !row.is_blank());
        let Some(mut header) = records.next() else {
            return Err(vec![RowProblem::file("problem-file-empty")]);
        };
        let mut rows: Vec<Row> = records.collect();
        drop_empty_columns(&mut header, &mut rows);
        check_size(&header, &rows).map_err(|problem| vec![problem])?;
        let mut problems = check_header(&header, &mut refused);
        let named = problems.is_empty();
        if named {
            rows.retain(|row| {
                if problems.len() > MAX_PROBLEMS {
                    return row.cells.len() == header.cells.len();
                }
                check_row(&header, row, &mut refused, &mut problems)
            });
        }
        let table = Table { encoding, separator, header_line: header.line, header: header.cells, rows };
        Ok(Examined { table, problems, named })
    }
}

impl Row {
    /// A row of texts.
    pub(super) fn new(line: usize, cells: Vec<String>) -> Row {
        Row { line, cells, numbers: Vec::new() }
    }

    pub(super) fn is_blank(&self) -> bool {
        self.cells.iter().all(String::is_empty)
    }

    /// Whether a spreadsheet holds the cell as a number.
    pub(super) fn is_number(&self, index: usize) -> bool {
        self.numbers.get(index) == Some(&true)
    }
}

/// Lines to skip, the separator, and the text behind the skipped lines.
pub(super) fn find_separator(text: &str) -> (usize, char, &str) {
    let (first, rest) = text.split_once('\n').unwrap_or((text, ""));
    let directive = first.trim_end_matches('\r').trim_matches('"');
    if let Some(separator) = directive.strip_prefix("sep=").and_then(single_separator) {
        return (1, separator, rest);
    }
    // A title above the header has no separator: the first of some lines that has one decides.
    let lines = || text.lines().filter(|line| !line.trim().is_empty()).take(5);
    let decisive = lines().find(|line| SEPARATORS.iter().any(|&separator| count(line, separator) > 0));
    let separator =
        decisive.and_then(|line| SEPARATORS.into_iter().rev().max_by_key(|&separator| count(line, separator)));
    (0, separator.unwrap_or(','), text)
}

/// How often `separator` stands in `line` outside quotation marks.
fn count(line: &str, separator: char) -> usize {
    let mut quoted = false;
    line.chars()
        .filter(|&c| {
            quoted ^= c == '"';
            c == separator && !quoted
        })
        .count()
}

fn single_separator(text: &str) -> Option<char> {
    let mut characters = text.chars();
    let separator = characters.next().filter(|c| SEPARATORS.contains(c))?;
    characters.next().is_none().then_some(separator)
}

/// Splits text into rows of trimmed cells. Stops with the first problem, because
/// behind a wrong quotation mark no cell can be trusted.
pub(super) fn split(text: &str, separator: char, skipped: usize) -> Result<Vec<Row>, RowProblem> {
    let mut rows = Vec::new();
    let mut line = skipped + 1;
    let mut row = Row { line, cells: Vec::new(), numbers: Vec::new() };
    let mut rest = text;
    while !rest.is_empty() {
        let (cell, lines, behind) = cell(rest, separator, line)?;
        row.cells.push(cell);
        line += lines;
        match behind.strip_prefix(separator) {
            Some(next) if !next.is_empty() => {
                rest = next;
                continue;
            }
            // A separator at the very end of the text opens a last, empty cell.
            Some(end) => {
                row.cells.push(String::new());
                rest = end;
            }
            None => rest = end_of_line(behind),
        }
        line += 1;
        rows.push(std::mem::replace(&mut row, Row { line, cells: Vec::new(), numbers: Vec::new() }));
    }
    Ok(rows)
}

fn end_of_line(rest: &str) -> &str {
    rest.strip_prefix("\r\n").or_else(|| rest.strip_prefix(['\n', '\r'])).unwrap_or(rest)
}

/// One cell, the line ends inside it, and the text from its separator or line end on.
fn cell(rest: &str, separator: char, line: usize) -> Result<(String, usize, &str), RowProblem> {
    let start = rest.trim_start_matches(' ');
    if !start.starts_with('"') {
        let end = rest.find([separator, '\n', '\r']).unwrap_or(rest.len());
        return Ok((rest[..end].trim().to_owned(), 0, &rest[end..]));
    }
    let mut text = String::new();
    let mut inside = &start[1..];
    loop {
        let Some(at) = inside.find('"') else {
            return Err(RowProblem::line(line, Problem::new("problem-file-quote-open")));
        };
        text.push_str(&inside[..at]);
        inside = &inside[at + 1..];
        match inside.strip_prefix('"') {
            Some(behind) => {
                text.push('"');
                inside = behind;
            }
            None => break,
        }
    }
    let behind = inside.trim_start_matches(' ');
    if behind.is_empty() || behind.starts_with([separator, '\n', '\r']) {
        let lines = text.matches('\n').count();
        Ok((text.trim().to_owned(), lines, behind))
    } else {
        let problem = Problem::new("problem-file-quote-inside").with("seen", shortened(&text));
        Err(RowProblem::line(line, problem))
    }
}

/// Drops columns at the right end that have neither a name nor a cell, as
/// spreadsheets write them. A row that is longer or shorter than the header keeps
/// all its cells: an empty one too many may come from a decimal comma.
fn drop_empty_columns(header: &mut Row, rows: &mut [Row]) {
    let written = header.cells.len();
    let is_empty = |row: &Row, at: usize| row.cells.get(at).is_none_or(String::is_empty);
    while header.cells.last().is_some_and(String::is_empty)
        && rows.iter().all(|row| is_empty(row, header.cells.len() - 1))
    {
        header.cells.pop();
    }
    let used = header.cells.len();
    for row in rows.iter_mut().filter(|row| row.cells.len() == written) {
        row.cells.truncate(used);
    }
}

/// What makes it useless to look at rows and cells.
fn check_size(header: &Row, rows: &[Row]) -> Result<(), RowProblem> {
    let columns = header.cells.len();
    if columns > MAX_COLUMNS {
        let problem = Problem::new("problem-file-columns").with("count", columns).with("limit", MAX_COLUMNS);
        return Err(RowProblem::line(header.line, problem));
    }
    if rows.is_empty() {
        return Err(RowProblem::line(header.line, Problem::new("problem-file-no-rows")));
    }
    if columns == 1 && rows.iter().all(|row| row.cells.len() > 1) {
        let problem = Problem::new("problem-file-title").with("seen", shortened(&header.cells[0]));
        return Err(RowProblem::line(header.line, problem));
    }
    match rows.get(MAX_ROWS) {
        Some(row) => Err(RowProblem::line(row.line, Problem::new("problem-file-rows").with("limit", MAX_ROWS))),
        None => Ok(()),
    }
}

fn check_header(header: &Row, refused: &mut Refused) -> Vec<RowProblem> {
    let mut problems = Vec::new();
    for (index, name) in header.cells.iter().enumerate() {
        if let Some(problem) = refused.remove(&(header.line, index)) {
            problems.push(RowProblem::cell(header.line, name, name, problem));
        } else if name.is_empty() {
            let problem = Problem::new("problem-file-column-unnamed").with("number", index + 1);
            problems.push(RowProblem::line(header.line, problem));
        } else if let Some(first) = header.cells[..index].iter().position(|other| other == name) {
            problems.push(RowProblem::cell(header.line, name, name, twice(name, first, index)));
        } else if let Some(problem) = cell_problem(name) {
            problems.push(RowProblem::cell(header.line, name, name, problem));
        }
    }
    problems
}

/// Notes what is wrong with a row; whether it has a cell for each column.
fn check_row(header: &Row, row: &Row, refused: &mut Refused, problems: &mut Vec<RowProblem>) -> bool {
    let (count, expected) = (row.cells.len(), header.cells.len());
    if count != expected {
        let problem = Problem::new("problem-file-ragged").with("count", count).with("expected", expected);
        problems.push(RowProblem::line(row.line, problem));
        return false;
    }
    if expected > 1 && row.cells.iter().zip(&header.cells).filter(|(cell, name)| cell == name).count() * 2 > expected {
        problems.push(RowProblem::line(row.line, Problem::new("problem-file-header-twice").with("first", header.line)));
        return false;
    }
    for (index, (name, cell)) in header.cells.iter().zip(&row.cells).enumerate() {
        let problem = if row.is_number(index) { None } else { cell_problem(cell) };
        if let Some(problem) = refused.remove(&(row.line, index)).or(problem) {
            problems.push(RowProblem::cell(row.line, name, cell, problem));
        }
    }
    true
}

/// What no cell may hold, whatever its column.
fn cell_problem(cell: &str) -> Option<Problem> {
    let shown = |key| Some(Problem::new(key).with("seen", shortened(cell)));
    if cell.chars().nth(MAX_CELL).is_some() {
        return shown("problem-file-cell-long").map(|problem| problem.with("limit", MAX_CELL));
    }
    if is_formula(cell) {
        return shown("problem-file-formula");
    }
    if is_error_value(cell) {
        return shown("problem-file-error-value");
    }
    if cell.chars().any(|c| c.is_control() || c == '\u{FFFD}') {
        return shown("problem-file-control");
    }
    None
}

/// `=…` and `@…`, and a sign followed by more than a number: what a spreadsheet
/// would compute.
fn is_formula(cell: &str) -> bool {
    let numeric = |c: char| {
        c.is_numeric()
            || c.is_whitespace()
            || matches!(c, '.' | ',' | 'e' | 'E' | '+' | '-' | '\'' | '\u{2019}' | '\u{2212}')
    };
    cell.starts_with(['=', '@']) || cell.strip_prefix(['+', '-']).is_some_and(|rest| !rest.chars().all(numeric))
}

/// Error values of spreadsheets: `#REF!`, `#DIV/0!`, `#N/A`, `#NAME?`.
fn is_error_value(cell: &str) -> bool {
    let shouted = |c: char| c.is_ascii_uppercase() || c.is_ascii_digit() || matches!(c, '/' | '!' | '?');
    cell.strip_prefix('#').is_some_and(|rest| {
        rest.len() > 1 && rest.chars().all(shouted) && (rest.ends_with(['!', '?']) || rest == "N/A")
    })
}
