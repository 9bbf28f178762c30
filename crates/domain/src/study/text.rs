//! Studies as text: one unit a line, cells between tabs, semicolons or commas.
//! Every mistake is told by its line.

use super::{Homogeneity, MOST_LINES, Point, Stability, Unit};
use crate::field::{Problem, shortened};
use crate::import::{RowProblem, of_a_file};
use crate::number::{Decimal, Range};
use crate::text;
use jiff::civil::Date;
use std::collections::BTreeMap;

/// Signs between cells, the surest first: a comma may be a decimal sign.
const SEPARATORS: [char; 3] = ['\t', ';', ','];
/// The most values of a line of stability.
const MOST_VALUES: usize = 6;

/// A line that has something on it: its number, and its cells.
struct Line<'a> {
    number: usize,
    cells: Vec<&'a str>,
}

/// The lines of a text, without a first line of names.
fn lines(text: &str) -> Vec<Line<'_>> {
    let separator = SEPARATORS.into_iter().find(|mark| text.contains(*mark));
    let mut lines: Vec<Line<'_>> = Vec::new();
    for (index, line) in text.lines().enumerate() {
        let blank = line.trim_matches(|c: char| c.is_whitespace() || SEPARATORS.contains(&c)).is_empty();
        let heading = lines.is_empty() && is_heading(line);
        if blank || heading {
            continue;
        }
        lines.push(Line { number: index + 1, cells: cells(line, separator) });
    }
    lines
}

/// Without the empty cells at the end that spreadsheets leave.
fn cells(line: &str, separator: Option<char>) -> Vec<&str> {
    let mut cells: Vec<&str> = match separator {
        Some(mark) => line.split(mark).map(str::trim).collect(),
        None => line.split_whitespace().collect(),
    };
    while cells.last().is_some_and(|cell| cell.is_empty()) {
        cells.pop();
    }
    cells
}

/// A first line of names of columns, none of which is a number.
fn is_heading(line: &str) -> bool {
    const NAMES: [&str; 8] = ["unit", "number", "filling", "run", "value", "replicate", "condition", "day"];
    let cells: Vec<String> = line.split(SEPARATORS).map(|cell| cell.trim().to_lowercase()).collect();
    let number = |cell: &String| cell.starts_with(|c: char| c.is_ascii_digit() || "+-−<>.".contains(c));
    !cells.iter().any(number) && cells.iter().any(|cell| NAMES.iter().any(|name| cell.starts_with(name)))
}

fn wrong(line: &Line<'_>, column: &str, place: usize, problem: Problem) -> RowProblem {
    RowProblem::cell(line.number, column, line.cells.get(place).copied().unwrap_or_default(), problem)
}

/// A cell as a whole number above zero.
fn whole(line: &Line<'_>, column: &str, place: usize, problems: &mut Vec<RowProblem>) -> Option<i64> {
    let cell = line.cells.get(place).copied().unwrap_or_default();
    let plain = !cell.is_empty() && cell.bytes().all(|digit| digit.is_ascii_digit());
    let number = cell.parse::<i64>().ok().filter(|number| plain && (1..=1_000_000).contains(number));
    if number.is_none() {
        let problem = Problem::new("study-whole-number").with("seen", shortened(cell));
        problems.push(wrong(line, column, place, problem));
    }
    number
}

fn decimal(
    line: &Line<'_>,
    column: &str,
    place: usize,
    range: Range,
    problems: &mut Vec<RowProblem>,
) -> Option<Decimal> {
    let cell = line.cells.get(place).copied().unwrap_or_default();
    match Decimal::parse(cell, range) {
        Ok(number) => Some(number),
        Err(refused) => {
            problems.push(wrong(line, column, place, of_a_file(refused.problem())));
            None
        }
    }
}

fn count(lines: &[Line<'_>], problems: &mut Vec<RowProblem>) {
    if lines.is_empty() {
        problems.push(RowProblem::line(0, Problem::new("study-empty")));
    } else if lines.len() > MOST_LINES {
        problems.push(RowProblem::line(0, Problem::new("study-too-many").with("limit", MOST_LINES)));
    }
}

/// Reads duplicates: filling number, run order (optional), two values a line.
///
/// # Errors
///
/// Everything that is wrong, by line.
pub fn read_homogeneity(text: &str) -> Result<Vec<Unit>, Vec<RowProblem>> {
    let lines = lines(text);
    let mut problems = Vec::new();
    count(&lines, &mut problems);
    let columns = lines.first().map_or(3, |line| line.cells.len());
    let mut units = Vec::new();
    for line in lines.iter().take(MOST_LINES) {
        if line.cells.len() != columns || !(3..=4).contains(&columns) {
            let seen = line.cells.len();
            let key = if (3..=4).contains(&seen) { "study-columns-differ" } else { "study-columns" };
            let problem = Problem::new(key).with("count", seen).with("first", columns);
            problems.push(RowProblem::line(line.number, problem));
            continue;
        }
        let number = whole(line, "unit", 0, &mut problems);
        let run = if columns == 4 { whole(line, "run", 1, &mut problems).map(Some) } else { Some(None) };
        let first = decimal(line, "value_1", columns - 2, Range::NonNegative, &mut problems);
        let second = decimal(line, "value_2", columns - 1, Range::NonNegative, &mut problems);
        if let (Some(number), Some(run), Some(first), Some(second)) = (number, run, first, second) {
            units.push((line.number, Unit { number, run, values: [first, second] }));
        }
    }
    twice(&units, &mut problems);
    if problems.is_empty() { Ok(in_order(units)) } else { Err(problems) }
}

/// Numbers of units and places in the run that stand twice.
pub(crate) fn twice(units: &[(usize, Unit)], problems: &mut Vec<RowProblem>) {
    let (mut numbers, mut runs) = (BTreeMap::new(), BTreeMap::new());
    for (line, unit) in units {
        if let Some(first) = numbers.insert(unit.number, *line) {
            let problem = Problem::new("study-unit-twice").with("seen", unit.number).with("first", first);
            problems.push(RowProblem::line(*line, problem));
        }
        if let Some(run) = unit.run
            && let Some(first) = runs.insert(run, *line)
        {
            let problem = Problem::new("study-run-twice").with("seen", run).with("first", first);
            problems.push(RowProblem::line(*line, problem));
        }
    }
}

/// The units in the order of filling.
pub(crate) fn in_order(units: Vec<(usize, Unit)>) -> Vec<Unit> {
    let mut units: Vec<Unit> = units.into_iter().map(|(_, unit)| unit).collect();
    units.sort_by_key(|unit| unit.number);
    units
}

/// Reads values over time: condition, day, and one to six values of a unit a line.
///
/// # Errors
///
/// Everything that is wrong, by line.
pub fn read_stability(text: &str) -> Result<Vec<Point>, Vec<RowProblem>> {
    let lines = lines(text);
    let mut problems = Vec::new();
    count(&lines, &mut problems);
    let mut points = Vec::new();
    for line in lines.iter().take(MOST_LINES) {
        let values = line.cells.len().saturating_sub(2);
        if !(1..=MOST_VALUES).contains(&values) {
            let problem = Problem::new("study-columns-stability").with("count", line.cells.len());
            problems.push(RowProblem::line(line.number, problem));
            continue;
        }
        let condition = condition(line, &mut problems);
        let day = decimal(line, "day", 1, Range::NonNegative, &mut problems);
        let places = 2..line.cells.len();
        let read: Vec<Option<Decimal>> = places
            .map(|place| decimal(line, &format!("value_{}", place - 1), place, Range::NonNegative, &mut problems))
            .collect();
        if let (Some(condition), Some(day), Some(values)) = (condition, day, read.into_iter().collect()) {
            points.push(Point { condition, day, values });
        }
    }
    if problems.is_empty() {
        spans(&points, &mut problems);
    }
    if problems.is_empty() { Ok(points) } else { Err(problems) }
}

fn condition(line: &Line<'_>, problems: &mut Vec<RowProblem>) -> Option<String> {
    let mut errors = crate::field::FieldErrors::new();
    let read = text::line(&mut errors, "condition", line.cells[0], true);
    for (_, problem) in errors.iter() {
        problems.push(wrong(line, "condition", 0, problem.clone()));
    }
    errors.is_empty().then_some(read)
}

/// A study of stability has a first day and a later one.
pub(crate) fn spans(points: &[Point], problems: &mut Vec<RowProblem>) {
    let first = points.iter().map(|point| point.day.value()).fold(f64::INFINITY, f64::min);
    if !points.iter().any(|point| point.day.value() > first) {
        problems.push(RowProblem::line(0, Problem::new("study-one-day")));
    }
}

/// The units as text that [`read_homogeneity`] reads.
pub fn write_homogeneity(study: &Homogeneity) -> String {
    let with_run = study.units.iter().all(|unit| unit.run.is_some());
    let line = |unit: &Unit| {
        let run = unit.run.filter(|_| with_run).map(|run| format!("; {run}")).unwrap_or_default();
        format!("{}{run}; {}; {}", unit.number, written(&unit.values[0]), written(&unit.values[1]))
    };
    study.units.iter().map(line).collect::<Vec<_>>().join("\n")
}

/// The points as text that [`read_stability`] reads.
pub fn write_stability(study: &Stability) -> String {
    let line = |point: &Point| {
        let values: Vec<String> = point.values.iter().map(written).collect();
        format!("{}; {}; {}", point.condition, written(&point.day), values.join("; "))
    };
    study.points.iter().map(line).collect::<Vec<_>>().join("\n")
}

/// A number so that it has one reading.
fn written(number: &Decimal) -> String {
    crate::import::decided(number.as_str())
}

/// Reads the date of day 0.
///
/// # Errors
///
/// A date that cannot be read.
pub fn read_date(seen: &str) -> Result<Date, Problem> {
    match seen.trim() {
        "" => Err(Problem::new("text-missing")),
        seen => seen.parse().map_err(|_| Problem::new("date-form").with("seen", shortened(seen))),
    }
}
