//! Files of homogeneity and stability data for many measurands at once.

use super::RowProblem;
use super::assigned::{KnownMeasurand, Places, find_measurand};
use super::file::File;
use super::row::{Column, Reader, optional, required};
use super::table::Row;
use crate::field::{FieldErrors, Problem, shortened};
use crate::number::{Decimal, Range};
use crate::study::{self, Point, Unit};
use crate::text;
use jiff::civil::Date;
use std::collections::BTreeMap;

const HOMOGENEITY: &[Column] = &[
    required("item"),
    required("analyte"),
    required("unit"),
    required("number"),
    optional("run"),
    required("value_1"),
    required("value_2"),
];

const STABILITY: &[Column] = &[
    required("item"),
    required("analyte"),
    required("unit"),
    required("began_on"),
    required("condition"),
    required("day"),
    required("value_1"),
    optional("value_2"),
    optional("value_3"),
    optional("value_4"),
];

/// The columns of values of a stability file.
const VALUES: [&str; 4] = ["value_1", "value_2", "value_3", "value_4"];

/// A file to fill in: the header and one row as example.
pub fn homogeneity_template() -> &'static str {
    "item,analyte,unit,number,run,value_1,value_2\nA,carbamazepine,ng/L,12,7,31.8,32.5\n"
}

/// A file to fill in: the header and one row as example.
pub fn stability_template() -> &'static str {
    "item,analyte,unit,began_on,condition,day,value_1,value_2,value_3,value_4\n\
     A,carbamazepine,ng/L,2024-03-01,4 °C,0,31.8,32.5,,\n"
}

/// Reads the duplicates of a file, by place of the measurand in `known`, in the
/// order of filling.
///
/// # Errors
///
/// Everything that is wrong with the file, by line.
pub fn homogeneity(file: &File, known: &[KnownMeasurand]) -> Result<BTreeMap<usize, Vec<Unit>>, Vec<RowProblem>> {
    let mut reader = Reader::new(file, HOMOGENEITY)?;
    let places = Places::new(known);
    let mut read: BTreeMap<usize, Vec<(usize, Unit)>> = BTreeMap::new();
    for row in reader.rows() {
        let measurand = find_measurand(&mut reader, row, &places);
        let number = whole(&mut reader, row, "number", true);
        let run = whole(&mut reader, row, "run", false);
        let first = filled_number(&mut reader, row, "value_1");
        let second = filled_number(&mut reader, row, "value_2");
        if let (Some(measurand), Some(Some(number)), Some(run), Some(first), Some(second)) =
            (measurand, number, run, first, second)
        {
            let unit = Unit { number, run, values: [first, second] };
            read.entry(measurand).or_default().push((row.line, unit));
        }
    }
    let mut problems = Vec::new();
    for units in read.values() {
        study::twice(units, &mut problems);
        let noted = units.iter().filter(|(_, unit)| unit.run.is_some()).count();
        if noted > 0 && noted < units.len() {
            let line = units.iter().find(|(_, unit)| unit.run.is_none()).map_or(0, |(line, _)| *line);
            problems.push(RowProblem::line(line, Problem::new("study-run-missing")));
        }
        if units.len() > study::MOST_LINES {
            problems.push(RowProblem::line(0, Problem::new("study-too-many").with("limit", study::MOST_LINES)));
        }
    }
    if read.is_empty() && problems.is_empty() {
        reader = nothing(reader, &mut problems);
    }
    let read = read.into_iter().map(|(place, units)| (place, study::in_order(units))).collect();
    let read = reader.finish(read)?;
    if problems.is_empty() { Ok(read) } else { Err(problems) }
}

/// Date of day 0 and points of one measurand.
pub type Course = (Date, Vec<Point>);

/// Reads the values over time of a file, by place of the measurand in `known`.
///
/// # Errors
///
/// Everything that is wrong with the file, by line.
pub fn stability(file: &File, known: &[KnownMeasurand]) -> Result<BTreeMap<usize, Course>, Vec<RowProblem>> {
    let mut reader = Reader::new(file, STABILITY)?;
    let places = Places::new(known);
    let mut read: BTreeMap<usize, Course> = BTreeMap::new();
    let mut problems = Vec::new();
    for row in reader.rows() {
        let measurand = find_measurand(&mut reader, row, &places);
        let began_on = date(&mut reader, row);
        let condition = condition(&mut reader, row);
        let day = filled_number(&mut reader, row, "day");
        reader.filled(row, VALUES[0]);
        let given: Vec<&'static str> = VALUES.into_iter().filter(|name| reader.cell(row, name).is_some()).collect();
        let values: Option<Vec<Decimal>> =
            given.into_iter().map(|name| reader.number(row, name, Range::NonNegative)).collect();
        let (Some(measurand), Some(began_on), Some(condition), Some(day), Some(values)) =
            (measurand, began_on, condition, day, values)
        else {
            continue;
        };
        let course = read.entry(measurand).or_insert_with(|| (began_on, Vec::new()));
        if course.0 != began_on {
            reader.refuse(row, "began_on", Problem::new("study-two-dates").with("first", course.0));
        }
        course.1.push(Point { condition, day, values });
    }
    for (place, (_, points)) in &read {
        let mut wrong = Vec::new();
        study::spans(points, &mut wrong);
        if !wrong.is_empty() {
            let KnownMeasurand { item, analyte, .. } = &known[*place];
            let problem = Problem::new("study-one-day-of").with("item", item).with("analyte", analyte);
            problems.push(RowProblem::line(0, problem));
        }
    }
    if read.is_empty() && problems.is_empty() {
        reader = nothing(reader, &mut problems);
    }
    let read = reader.finish(read)?;
    if problems.is_empty() { Ok(read) } else { Err(problems) }
}

fn nothing<'a>(reader: Reader<'a>, problems: &mut Vec<RowProblem>) -> Reader<'a> {
    if reader.rows().is_empty() {
        problems.push(RowProblem::line(0, Problem::new("study-empty")));
    }
    reader
}

fn filled_number<'a>(reader: &mut Reader<'a>, row: &'a Row, column: &'static str) -> Option<Decimal> {
    reader.filled(row, column)?;
    reader.number(row, column, Range::NonNegative)
}

/// A whole number above zero; the inner `None` where there is none and none must be.
fn whole<'a>(reader: &mut Reader<'a>, row: &'a Row, column: &'static str, must: bool) -> Option<Option<i64>> {
    let Some(cell) = (if must { reader.filled(row, column) } else { reader.cell(row, column) }) else {
        return if must { None } else { Some(None) };
    };
    let plain = cell.bytes().all(|digit| digit.is_ascii_digit());
    let number = cell.parse::<i64>().ok().filter(|number| plain && (1..=1_000_000).contains(number));
    if number.is_none() {
        reader.refuse(row, column, Problem::new("study-whole-number").with("seen", shortened(cell)));
    }
    number.map(Some)
}

fn date<'a>(reader: &mut Reader<'a>, row: &'a Row) -> Option<Date> {
    let cell = reader.filled(row, "began_on")?;
    match study::read_date(cell) {
        Ok(date) => Some(date),
        Err(problem) => {
            reader.refuse(row, "began_on", problem);
            None
        }
    }
}

fn condition<'a>(reader: &mut Reader<'a>, row: &'a Row) -> Option<String> {
    let cell = reader.filled(row, "condition")?;
    let mut errors = FieldErrors::new();
    let read = text::line(&mut errors, "condition", cell, true);
    for (_, problem) in errors.iter() {
        reader.refuse(row, "condition", problem.clone());
    }
    errors.is_empty().then_some(read)
}
