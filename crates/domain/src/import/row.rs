//! The columns that a kind of file has, and its cells by column name.

use super::file::File;
use super::table::{Row, Table};
use super::{MAX_PROBLEMS, RowProblem};
use crate::field::{Problem, shortened};
use crate::number::{Decimal, Range};
use std::collections::{BTreeMap, BTreeSet};

/// A column that a kind of file may have.
pub(super) struct Column {
    name: &'static str,
    required: bool,
}

impl Column {
    pub(super) fn name(&self) -> &'static str {
        self.name
    }
}

pub(super) const fn required(name: &'static str) -> Column {
    Column { name, required: true }
}

pub(super) const fn optional(name: &'static str) -> Column {
    Column { name, required: false }
}

/// Whether two texts are the same unit: the micro sign and the Greek mu are the
/// same, and so are l and L for the litre; other capitals differ (mg is not Mg).
pub fn same_unit(one: &str, other: &str) -> bool {
    let plain = |unit: &str| -> String {
        let written = unit.chars().filter(|c| !c.is_whitespace());
        written.map(|c| if c == '\u{B5}' { '\u{3BC}' } else { c }).collect::<String>().replace('l', "L")
    };
    plain(one) == plain(other)
}

/// A table whose columns are known, and what was found wrong in it so far.
pub(super) struct Reader<'a> {
    table: &'a Table,
    columns: BTreeMap<&'static str, usize>,
    problems: Vec<RowProblem>,
    /// Line and column of the cells that have a problem already.
    refused: BTreeSet<(usize, usize)>,
}

impl<'a> Reader<'a> {
    /// Finds the table that has the columns, and the columns in it. What was
    /// found wrong with the table is kept for [`Reader::finish`].
    pub(super) fn new(file: &'a File, known: &'static [Column]) -> Result<Self, Vec<RowProblem>> {
        let examined = file.find(known)?;
        let table = &examined.table;
        if let Some(problem) = header_stands_lower(table, known) {
            return Err(vec![problem]);
        }
        if !examined.named {
            return Err(examined.problems.clone());
        }
        let place = |name: &str| table.header.iter().position(|known| known == name);
        let cell = |problem: &RowProblem| Some((problem.line, place(problem.column.as_deref()?)?));
        let refused = examined.problems.iter().filter_map(cell).collect();
        let mut reader = Reader { table, columns: BTreeMap::new(), problems: examined.problems.clone(), refused };
        let before = reader.problems.len();
        reader.find_columns(known);
        if reader.problems.len() == before { Ok(reader) } else { Err(reader.sorted()) }
    }

    /// The line of the column names.
    pub(super) fn header_line(&self) -> usize {
        self.table.header_line
    }

    /// The rows below the header.
    pub(super) fn rows(&self) -> &'a [Row] {
        &self.table.rows
    }

    /// Checks that of each pair of columns the file has at least one.
    pub(super) fn need_one_of<const N: usize>(
        mut self,
        pairs: [[&'static str; 2]; N],
    ) -> Result<Self, Vec<RowProblem>> {
        let before = self.problems.len();
        for [one, other] in pairs {
            if !self.has(one) && !self.has(other) {
                self.miss(one);
            }
        }
        if self.problems.len() == before { Ok(self) } else { Err(self.sorted()) }
    }

    /// `value` if nothing is wrong, otherwise the problems by line.
    pub(super) fn finish<T>(self, value: T) -> Result<T, Vec<RowProblem>> {
        if self.problems.is_empty() { Ok(value) } else { Err(self.sorted()) }
    }

    /// Notes a problem of a cell, or of the line where the file has no such
    /// column. Of one cell the first problem is kept.
    pub(super) fn refuse(&mut self, row: &Row, column: &'static str, problem: Problem) {
        if self.problems.len() > MAX_PROBLEMS {
            return;
        }
        let Some(&index) = self.columns.get(column) else {
            self.problems.push(RowProblem::line(row.line, problem));
            return;
        };
        if self.refused.insert((row.line, index)) {
            let name = &self.table.header[index];
            self.problems.push(RowProblem::cell(row.line, name, &row.cells[index], problem));
        }
    }

    /// Whether more is wrong than is told: then nobody needs to know what.
    pub(super) fn is_full(&self) -> bool {
        self.problems.len() > MAX_PROBLEMS
    }

    /// The cell of `column`; `None` where it is empty or the file has no such column.
    pub(super) fn cell(&self, row: &'a Row, column: &str) -> Option<&'a str> {
        let cell = row.cells[*self.columns.get(column)?].as_str();
        (!cell.is_empty()).then_some(cell)
    }

    /// The cell of `column`, which must not be empty.
    pub(super) fn filled(&mut self, row: &'a Row, column: &'static str) -> Option<&'a str> {
        let cell = self.cell(row, column);
        if cell.is_none() {
            self.refuse(row, column, Problem::new("problem-cell-empty").with("column", column));
        }
        cell
    }

    /// A text of at most `limit` characters, which must be there.
    pub(super) fn text(&mut self, row: &'a Row, column: &'static str, limit: usize) -> Option<String> {
        self.filled(row, column)?;
        self.optional_text(row, column, limit)
    }

    /// A text of at most `limit` characters, if there is one.
    pub(super) fn optional_text(&mut self, row: &'a Row, column: &'static str, limit: usize) -> Option<String> {
        let text = self.cell(row, column)?;
        if text.chars().count() > limit {
            let problem = Problem::new("problem-cell-long").with("seen", shortened(text));
            self.refuse(row, column, problem.with("limit", limit));
            return None;
        }
        Some(text.to_owned())
    }

    /// A number, if there is one. A file cannot be asked which of two readings
    /// is meant, so the problem says how to write either.
    pub(super) fn number(&mut self, row: &'a Row, column: &'static str, range: Range) -> Option<Decimal> {
        let text = self.cell(row, column)?;
        let chosen = self.is_number(row, column).then_some(text);
        match Decimal::parse_with_choice(text, range, chosen) {
            Ok(number) => Some(number),
            Err(refused) => {
                self.refuse(row, column, of_a_file(refused.problem()));
                None
            }
        }
    }

    /// Whether a spreadsheet holds the cell as a number, so that it has one
    /// reading: the point is the decimal sign.
    pub(super) fn is_number(&self, row: &Row, column: &str) -> bool {
        self.columns.get(column).is_some_and(|&index| row.is_number(index))
    }

    /// A whole number from `least` to `most`, if there is one.
    pub(super) fn whole(&mut self, row: &'a Row, column: &'static str, least: u8, most: u8) -> Option<u8> {
        let text = self.cell(row, column)?;
        let plain = text.bytes().all(|digit| digit.is_ascii_digit());
        let number = text.parse::<u8>().ok().filter(|number| plain && (least..=most).contains(number));
        if number.is_none() {
            let problem = Problem::new("problem-whole-number").with("seen", shortened(text));
            self.refuse(row, column, problem.with("least", least).with("most", most));
        }
        number
    }

    /// By line; beyond a number that somebody corrects at once, that there are more.
    fn sorted(mut self) -> Vec<RowProblem> {
        self.problems.sort_by_key(|problem| problem.line);
        if self.problems.len() > MAX_PROBLEMS {
            self.problems.truncate(MAX_PROBLEMS);
            let more = Problem::new("problem-file-more").with("count", MAX_PROBLEMS);
            self.problems.push(RowProblem::line(0, more));
        }
        self.problems
    }

    pub(super) fn has(&self, column: &str) -> bool {
        self.columns.contains_key(column)
    }

    fn miss(&mut self, name: &'static str) {
        let problem = Problem::new("problem-file-column-missing").with("column", name);
        self.problems.push(RowProblem::line(self.table.header_line, problem));
    }

    fn find_columns(&mut self, known: &'static [Column]) {
        let names = known.iter().map(|column| column.name).collect::<Vec<_>>().join(", ");
        for (index, name) in self.table.header.iter().enumerate() {
            let problem = match matching(name, known) {
                None => {
                    Problem::new("problem-file-column-unknown").with("column", shortened(name)).with("known", &names)
                }
                Some(column) => match self.columns.insert(column, index) {
                    None => continue,
                    Some(first) => twice(column, first, index),
                },
            };
            self.problems.push(RowProblem::cell(self.table.header_line, name, name, problem));
        }
        for column in known.iter().filter(|column| column.required) {
            if !self.has(column.name) {
                self.miss(column.name);
            }
        }
    }
}

/// The problem of a first row that is no header while a later one is.
fn header_stands_lower(table: &Table, known: &'static [Column]) -> Option<RowProblem> {
    if is_header(&table.header, known) {
        return None;
    }
    let row = table.rows.iter().take(5).find(|row| is_header(&row.cells, known))?;
    let problem = Problem::new("problem-file-header-lower").with("line", row.line);
    Some(RowProblem::line(table.header_line, problem))
}

/// Whether the cells name all columns that must be there.
fn is_header(cells: &[String], known: &'static [Column]) -> bool {
    let has = |column: &Column| cells.iter().any(|cell| matching(cell, known) == Some(column.name));
    known.iter().filter(|column| column.required).all(has)
}

/// How well a table fits to the columns: whether it has a header with all that
/// must be there, and if not, how many of its names are known.
pub(super) fn fitting(table: &Table, known: &'static [Column]) -> (bool, usize) {
    if is_header(&table.header, known) || header_stands_lower(table, known).is_some() {
        return (true, 0);
    }
    (false, table.header.iter().filter(|name| matching(name, known).is_some()).count())
}

/// The names of the columns that must be there.
pub(super) fn needed(known: &'static [Column]) -> String {
    known.iter().filter(|column| column.required).map(|column| column.name).collect::<Vec<_>>().join(", ")
}

/// The problem of a number as a file tells it: a file cannot be asked which of
/// two readings is meant.
pub(crate) fn of_a_file(problem: Problem) -> Problem {
    match (problem.value("seen"), problem.value("first"), problem.value("second")) {
        (Some(seen), Some(first), Some(second)) => Problem::new("problem-file-number-ambiguous")
            .with("seen", seen)
            .with("first", first)
            .with("second", second)
            .with("write", decided(first)),
        _ => problem,
    }
}

/// The problem of two columns, counted from 0, with one name.
pub(super) fn twice(column: &str, first: usize, second: usize) -> Problem {
    Problem::new("problem-file-column-twice")
        .with("column", shortened(column))
        .with("first", first + 1)
        .with("second", second + 1)
}

/// The reading with a decimal sign, written so that it has no other reading: with
/// one more zero behind three digits.
pub fn decided(reading: &str) -> String {
    match reading.split_once('.') {
        Some((_, fraction)) if fraction.len() == 3 => format!("{reading}0"),
        _ => reading.to_owned(),
    }
}

/// The known column that `name` means: letter by letter, or without regard to
/// capitals and to spaces or hyphens for underscores where only one fits
/// (`u_x_pt` and `U_x_pt` differ in nothing else).
pub(super) fn matching(name: &str, known: &'static [Column]) -> Option<&'static str> {
    if let Some(column) = known.iter().find(|column| column.name == name) {
        return Some(column.name);
    }
    let plain = |name: &str| name.to_lowercase().replace([' ', '-'], "_");
    let mut fitting = known.iter().filter(|column| plain(column.name) == plain(name));
    let column = fitting.next()?;
    fitting.next().is_none().then_some(column.name)
}

/// Finds a key that stood in an earlier row.
pub(super) struct Seen<K>(BTreeMap<K, usize>);

impl<K: Ord> Seen<K> {
    pub(super) fn new() -> Self {
        Seen(BTreeMap::new())
    }

    /// The line where `key` stood first, if `line` is not that line.
    pub(super) fn earlier(&mut self, key: K, line: usize) -> Option<usize> {
        let first = *self.0.entry(key).or_insert(line);
        (first != line).then_some(first)
    }
}
