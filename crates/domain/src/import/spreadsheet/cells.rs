//! The cells of a sheet: each is taken as it is, or refused.
//!
//! A text is taken letter by letter. A number that the spreadsheet holds as a
//! number is written with the fewest digits that give the same number again: a
//! program that was given 32.4 may store 32.399999999999999, and means 32.4.
//! Spreadsheets show and keep 15 digits of what a person types, so a number
//! that needs more was computed, and another one than the cell shows: it is
//! refused, with the number rounded to 15 digits. Fewer digits that are shown
//! by a format change nothing: what is stored is taken.

use super::styles::Kind;
use super::xml::{self, Flow, Limits, Node, Stop};
use super::{Texts, too_large};
use crate::field::{Problem, shortened};
use crate::import::table::{Refused, Row};
use crate::import::{MAX_CELL, MAX_COLUMNS, MAX_PROBLEMS, MAX_ROWS, RowProblem};
use jiff::civil::date;
use jiff::{SignedDuration, civil::DateTime};
use std::io::Read;

/// The last row and column of the format.
const LAST: (usize, usize) = (1_048_576, 16_384);

/// The most digits that a spreadsheet keeps of what is typed.
const DIGITS: usize = 15;

/// The most cells of all sheets, those that stand empty between others included.
const MAX_CELLS: usize = 1 << 20;

/// The most bytes of the texts of all cells.
const MAX_TEXT: usize = 8 << 20;

/// What cells refer to.
pub(super) struct Context<'a> {
    pub(super) texts: &'a Texts,
    pub(super) styles: &'a [Kind],
    pub(super) from_1904: bool,
}

/// What may still be kept of all sheets together.
pub(super) struct Budget {
    cells: usize,
    text: usize,
}

impl Default for Budget {
    fn default() -> Self {
        Budget { cells: MAX_CELLS, text: MAX_TEXT }
    }
}

/// The rows of a sheet, all equally long, with the problems of single cells.
/// The inner error is one that only this sheet has.
pub(super) fn read(
    part: &mut dyn Read,
    limits: &Limits,
    context: &Context<'_>,
    budget: &mut Budget,
) -> Result<Result<(Vec<Row>, Refused), RowProblem>, Stop> {
    let mut sheet = Sheet::new(context, budget);
    xml::walk(part, limits, |node| match node {
        Node::Open(tag) => sheet.open(tag),
        Node::Text(text) => sheet.text(text),
        Node::Close(name) => sheet.close(name),
    })?;
    Ok(match sheet.failed {
        Some(problem) => Err(problem),
        None => sheet.finish(),
    })
}

/// What a text of the part belongs to.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Inside {
    Nothing,
    Value,
    Formula,
}

struct Sheet<'a> {
    context: &'a Context<'a>,
    budget: &'a mut Budget,
    rows: Vec<Row>,
    refused: Refused,
    failed: Option<RowProblem>,
    in_data: bool,
    phonetic: bool,
    inside: Inside,
    /// Row and column of the cell, from 1; 0 before the first.
    line: usize,
    column: usize,
    kind: String,
    style: usize,
    value: String,
    formula: String,
    has_formula: bool,
}

impl<'a> Sheet<'a> {
    fn new(context: &'a Context<'a>, budget: &'a mut Budget) -> Self {
        Sheet {
            context,
            budget,
            rows: Vec::new(),
            refused: Refused::new(),
            failed: None,
            in_data: false,
            phonetic: false,
            inside: Inside::Nothing,
            line: 0,
            column: 0,
            kind: String::new(),
            style: 0,
            value: String::new(),
            formula: String::new(),
            has_formula: false,
        }
    }

    fn open(&mut self, tag: &quick_xml::events::BytesStart<'_>) -> Result<Flow, Stop> {
        let name = xml::local(tag);
        if !self.in_data {
            self.in_data = name == "sheetData";
            return Ok(Flow::On);
        }
        match name {
            "row" => {
                let line = match xml::attribute(tag, "r")? {
                    Some(number) => number.parse().map_err(|_| Stop::Broken)?,
                    None => self.line + 1,
                };
                if line <= self.line || line > LAST.0 {
                    return Err(Stop::Broken);
                }
                (self.line, self.column) = (line, 0);
            }
            "c" => {
                let column = match xml::attribute(tag, "r")? {
                    Some(reference) => column_of(&reference).ok_or(Stop::Broken)?,
                    None => self.column + 1,
                };
                if self.line == 0 || column <= self.column || column > LAST.1 {
                    return Err(Stop::Broken);
                }
                self.column = column;
                self.kind = xml::attribute(tag, "t")?.unwrap_or_default();
                self.style = xml::attribute(tag, "s")?.and_then(|style| style.parse().ok()).unwrap_or_default();
                self.value.clear();
                self.formula.clear();
                self.has_formula = false;
                self.phonetic = false;
            }
            "v" | "t" => self.inside = Inside::Value,
            "rPh" => self.phonetic = true,
            "f" => {
                self.inside = Inside::Formula;
                self.has_formula = true;
            }
            _ => {}
        }
        Ok(Flow::On)
    }

    /// Keeps a little more than a cell may have, so that it is told as too long.
    fn text(&mut self, text: &str) -> Result<Flow, Stop> {
        let kept = match self.inside {
            Inside::Value if !self.phonetic => &mut self.value,
            Inside::Formula => &mut self.formula,
            Inside::Value | Inside::Nothing => return Ok(Flow::On),
        };
        if kept.len() <= 4 * MAX_CELL {
            kept.extend(text.chars().take(MAX_CELL + 1));
        }
        Ok(Flow::On)
    }

    fn close(&mut self, name: &str) -> Result<Flow, Stop> {
        match name {
            "v" | "t" | "f" => self.inside = Inside::Nothing,
            "rPh" => self.phonetic = false,
            "c" if self.in_data => {
                self.cell()?;
                if self.failed.is_some() {
                    return Ok(Flow::Stop);
                }
            }
            // What stands behind the cells is not read.
            "sheetData" => return Ok(Flow::Stop),
            _ => {}
        }
        Ok(Flow::On)
    }

    fn cell(&mut self) -> Result<(), Stop> {
        let (text, is_number, problem) = self.content()?;
        let text: String = text.trim().chars().take(MAX_CELL + 1).collect();
        if text.is_empty() {
            return Ok(());
        }
        if self.column > MAX_COLUMNS {
            let problem = Problem::new("problem-file-columns").with("count", self.column).with("limit", MAX_COLUMNS);
            self.failed = Some(RowProblem::line(self.line, problem));
            return Ok(());
        }
        if self.rows.last().is_none_or(|row| row.line != self.line) {
            if self.rows.len() > MAX_ROWS {
                let problem = Problem::new("problem-file-rows").with("limit", MAX_ROWS);
                self.failed = Some(RowProblem::line(self.line, problem));
                return Ok(());
            }
            self.rows.push(Row { line: self.line, cells: Vec::new(), numbers: Vec::new() });
        }
        let row = self.rows.last_mut().expect("it was pushed just now");
        let added = self.column - row.cells.len();
        match (self.budget.cells.checked_sub(added), self.budget.text.checked_sub(text.len())) {
            (Some(cells), Some(left)) => (self.budget.cells, self.budget.text) = (cells, left),
            _ => {
                self.failed = Some(too_large());
                return Ok(());
            }
        }
        row.cells.resize(self.column - 1, String::new());
        row.numbers.resize(self.column - 1, false);
        row.cells.push(text);
        row.numbers.push(is_number);
        if let Some(problem) = problem
            && self.refused.len() <= MAX_PROBLEMS
        {
            self.refused.insert((self.line, self.column - 1), problem);
        }
        Ok(())
    }

    /// The text of the cell, whether it is a number that is stored as one, and
    /// why the cell is refused.
    fn content(&self) -> Result<(String, bool, Option<Problem>), Stop> {
        let value = self.value.as_str();
        if self.has_formula {
            let shown =
                if value.is_empty() || self.kind == "s" { format!("={}", self.formula) } else { value.to_owned() };
            return Ok((shown, false, Some(Problem::new("problem-file-formula-cell"))));
        }
        if value.trim().is_empty() {
            return Ok((String::new(), false, None));
        }
        match self.kind.as_str() {
            "s" => {
                let place = value.trim().parse().map_err(|_| Stop::Broken)?;
                let text = self.context.texts.get(place).ok_or(Stop::Broken)?;
                Ok((text.to_owned(), false, None))
            }
            "inlineStr" | "str" => Ok((value.to_owned(), false, None)),
            "b" => {
                let word = if value.trim() == "1" { "TRUE" } else { "FALSE" };
                Ok((word.to_owned(), false, Some(Problem::new("problem-file-truth").with("seen", word))))
            }
            "e" => Ok((
                value.to_owned(),
                false,
                Some(Problem::new("problem-file-error-value").with("seen", shortened(value))),
            )),
            "d" => Ok((value.to_owned(), false, Some(a_date(value)))),
            "n" | "" => self.number(value.trim()),
            _ => Err(Stop::Broken),
        }
    }

    fn number(&self, value: &str) -> Result<(String, bool, Option<Problem>), Stop> {
        let number: f64 = value.parse().map_err(|_| Stop::Broken)?;
        if !number.is_finite() {
            return Err(Stop::Broken);
        }
        let text = shortest(number);
        Ok(match self.context.styles.get(self.style) {
            Some(Kind::Date) => {
                let shown = moment(number, self.context.from_1904).unwrap_or(text);
                let problem = a_date(&shown);
                (shown, false, Some(problem))
            }
            Some(Kind::Percent) => {
                let shown = format!("{} %", shortest(rounded(100.0 * number)));
                let problem = Problem::new("problem-file-percent-cell").with("seen", &shown).with("held", &text);
                (shown, false, Some(problem))
            }
            _ if digits(number) > DIGITS => {
                let problem = Problem::new("problem-file-digits").with("seen", &text);
                let problem = problem.with("rounded", shortest(rounded(number)));
                (text, true, Some(problem))
            }
            _ => (text, true, None),
        })
    }

    /// Makes all rows equally long.
    fn finish(self) -> Result<(Vec<Row>, Refused), RowProblem> {
        let mut rows = self.rows;
        let width = rows.iter().map(|row| row.cells.len()).max().unwrap_or_default();
        let added = rows.iter().map(|row| width - row.cells.len()).sum();
        self.budget.cells = self.budget.cells.checked_sub(added).ok_or_else(too_large)?;
        for row in &mut rows {
            row.cells.resize(width, String::new());
        }
        Ok((rows, self.refused))
    }
}

fn a_date(seen: &str) -> Problem {
    Problem::new("problem-file-date").with("seen", shortened(seen))
}

/// The column of a reference such as `AB12`, from 1.
fn column_of(reference: &str) -> Option<usize> {
    let digits = reference.trim_start_matches(|c: char| c.is_ascii_alphabetic());
    let letters = &reference[..reference.len() - digits.len()];
    let plain = (1..=3).contains(&letters.len()) && !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit());
    let number = |sum: usize, letter: u8| 26 * sum + usize::from(letter.to_ascii_uppercase() - b'A') + 1;
    plain.then(|| letters.bytes().fold(0, number))
}

/// The fewest digits that give the same number; written out but for numbers
/// that would be rows of zeros.
fn shortest(number: f64) -> String {
    let size = number.abs();
    if size == 0.0 {
        "0".to_owned()
    } else if (1e-7..1e16).contains(&size) {
        number.to_string()
    } else {
        format!("{number:e}")
    }
}

/// How many digits [`shortest`] has that count.
fn digits(number: f64) -> usize {
    let scientific = format!("{number:e}");
    scientific.split('e').next().unwrap_or_default().bytes().filter(u8::is_ascii_digit).count()
}

/// The number as a spreadsheet shows it at most.
fn rounded(number: f64) -> f64 {
    format!("{number:.*e}", DIGITS - 1).parse().unwrap_or(number)
}

/// The date and time that a spreadsheet shows for a number: days since 30
/// December 1899, which is right from March 1900 on, or since 1 January 1904.
fn moment(number: f64, from_1904: bool) -> Option<String> {
    let start = if from_1904 { date(1904, 1, 1) } else { date(1899, 12, 30) };
    let seconds = (number * 86_400.0).round();
    if !(0.0..3e11).contains(&seconds) {
        return None;
    }
    let moment: DateTime = start.at(0, 0, 0, 0).checked_add(SignedDuration::from_secs(seconds as i64)).ok()?;
    Some(match (moment.date() == start, moment.time().to_string().as_str()) {
        (true, time) => time.to_owned(),
        (false, "00:00:00") => moment.date().to_string(),
        (false, time) => format!("{} {time}", moment.date()),
    })
}
