//! The columns that a kind of file has, and its cells by column name.

use super::RowProblem;
use super::table::{Row, Table};
use crate::field::{Problem, shortened};
use crate::number::{Decimal, Range};
use std::collections::BTreeMap;

/// A column that a kind of file may have.
pub(super) struct Column {
    pub(super) name: &'static str,
    pub(super) required: bool,
}

pub(super) const fn required(name: &'static str) -> Column {
    Column {
        name,
        required: true,
    }
}

pub(super) const fn optional(name: &'static str) -> Column {
    Column {
        name,
        required: false,
    }
}

/// `text` as names are compared: spaces around it dropped and inside it reduced
/// to one, small letters, and the micro sign U+00B5 as the Greek mu U+03BC.
pub fn fold(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    words.join(" ").to_lowercase().replace('\u{B5}', "\u{3BC}")
}

/// Whether two texts are the same unit: the micro sign and the Greek mu are the
/// same, and so are l and L for the litre; other capitals differ (mg is not Mg).
pub fn same_unit(one: &str, other: &str) -> bool {
    let plain = |unit: &str| -> String {
        unit.chars()
            .filter(|c| !c.is_whitespace())
            .map(|c| if c == '\u{B5}' { '\u{3BC}' } else { c })
            .collect::<String>()
            .replace('l', "L")
    };
    plain(one) == plain(other)
}

/// A table whose columns are known, and what was found wrong in it so far.
pub(super) struct Reader<'a> {
    table: &'a Table,
    columns: BTreeMap<&'static str, usize>,
    pub(super) problems: Vec<RowProblem>,
}

impl<'a> Reader<'a> {
    /// Finds the columns; what is wrong with them is in `problems` afterwards.
    pub(super) fn new(table: &'a Table, known: &'static [Column]) -> Self {
        let mut reader = Reader {
            table,
            columns: BTreeMap::new(),
            problems: Vec::new(),
        };
        if reader.header_stands_lower(known) {
            return reader;
        }
        let names = known
            .iter()
            .map(|column| column.name)
            .collect::<Vec<_>>()
            .join(", ");
        for (index, name) in table.header.iter().enumerate() {
            let problem = match matching(name, known) {
                None => Problem::new("problem-file-column-unknown")
                    .with("column", shortened(name))
                    .with("known", &names),
                Some(column) => match reader.columns.insert(column, index) {
                    None => continue,
                    Some(first) => Problem::new("problem-file-column-twice")
                        .with("column", column)
                        .with("first", first + 1)
                        .with("second", index + 1),
                },
            };
            reader
                .problems
                .push(RowProblem::cell(table.header_line, name, name, problem));
        }
        for column in known.iter().filter(|column| column.required) {
            if !reader.has(column.name) {
                reader.miss(column.name);
            }
        }
        reader
    }

    pub(super) fn has(&self, column: &str) -> bool {
        self.columns.contains_key(column)
    }

    /// Notes that the file has no column `name`, which it needs.
    pub(super) fn miss(&mut self, name: &'static str) {
        let problem = Problem::new("problem-file-column-missing").with("column", name);
        self.problems
            .push(RowProblem::line(self.table.header_line, problem));
    }

    /// Notes a problem of a cell, or of the line where the file has no such column.
    pub(super) fn refuse(&mut self, row: &Row, column: &'static str, problem: Problem) {
        self.problems.push(match self.columns.get(column) {
            Some(&index) => RowProblem::cell(
                row.line,
                &self.table.header[index],
                &row.cells[index],
                problem,
            ),
            None => RowProblem::line(row.line, problem),
        });
    }

    /// The cell of `column`; `None` where it is empty or the file has no such column.
    pub(super) fn cell(&self, row: &'a Row, column: &str) -> Option<&'a str> {
        let cell = row.cells[*self.columns.get(column)?].as_str();
        (!cell.is_empty()).then_some(cell)
    }

    /// A text of at most `limit` characters, which must be there.
    pub(super) fn text(
        &mut self,
        row: &'a Row,
        column: &'static str,
        limit: usize,
    ) -> Option<String> {
        if self.cell(row, column).is_none() {
            self.refuse(
                row,
                column,
                Problem::new("problem-cell-empty").with("column", column),
            );
            return None;
        }
        self.optional_text(row, column, limit)
    }

    /// A text of at most `limit` characters, if there is one.
    pub(super) fn optional_text(
        &mut self,
        row: &'a Row,
        column: &'static str,
        limit: usize,
    ) -> Option<String> {
        let text = self.cell(row, column)?;
        if text.chars().count() > limit {
            self.refuse(
                row,
                column,
                Problem::new("problem-cell-long")
                    .with("seen", shortened(text))
                    .with("limit", limit),
            );
            return None;
        }
        Some(text.to_owned())
    }

    /// A number, if there is one. A file cannot be asked which of two readings
    /// is meant, so the problem says how to write either.
    pub(super) fn number(
        &mut self,
        row: &'a Row,
        column: &'static str,
        range: Range,
    ) -> Option<Decimal> {
        let text = self.cell(row, column)?;
        match Decimal::parse(text, range) {
            Ok(number) => Some(number),
            Err(refused) => {
                let problem = match refused.readings() {
                    Some((first, second)) => Problem::new("problem-file-number-ambiguous")
                        .with("seen", &refused.seen)
                        .with("first", first)
                        .with("second", second)
                        .with("write", format!("{first}0")),
                    None => refused.problem(),
                };
                self.refuse(row, column, problem);
                None
            }
        }
    }

    /// A whole number from `least` to `most`, if there is one.
    pub(super) fn whole(
        &mut self,
        row: &'a Row,
        column: &'static str,
        least: u8,
        most: u8,
    ) -> Option<u8> {
        let text = self.cell(row, column)?;
        let plain = text.bytes().all(|digit| digit.is_ascii_digit());
        match text.parse::<u8>() {
            Ok(number) if plain && (least..=most).contains(&number) => Some(number),
            _ => {
                let problem = Problem::new("problem-whole-number").with("seen", shortened(text));
                self.refuse(row, column, problem.with("least", least).with("most", most));
                None
            }
        }
    }

    /// Whether the first row is no header but a later one is.
    fn header_stands_lower(&mut self, known: &'static [Column]) -> bool {
        let complete = |cells: &[String]| {
            let has = |column: &Column| {
                cells
                    .iter()
                    .any(|cell| matching(cell, known) == Some(column.name))
            };
            known.iter().filter(|column| column.required).all(has)
        };
        if complete(&self.table.header) {
            return false;
        }
        let Some(row) = self
            .table
            .rows
            .iter()
            .take(5)
            .find(|row| complete(&row.cells))
        else {
            return false;
        };
        let problem = Problem::new("problem-file-header-lower").with("line", row.line);
        self.problems
            .push(RowProblem::line(self.table.header_line, problem));
        true
    }
}

/// The known column that `name` means: letter by letter, or without regard to
/// capitals and to spaces or hyphens for underscores where only one fits
/// (`u_x_pt` and `U_x_pt` differ in nothing else).
fn matching(name: &str, known: &'static [Column]) -> Option<&'static str> {
    if let Some(column) = known.iter().find(|column| column.name == name) {
        return Some(column.name);
    }
    let plain = |name: &str| name.to_lowercase().replace([' ', '-'], "_");
    let mut fitting = known
        .iter()
        .filter(|column| plain(column.name) == plain(name));
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
