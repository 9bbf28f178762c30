//! The tables of an open data package. Names of tables and columns are a contract
//! with programs; what they mean stands in the catalogue of texts.

use super::Source;
use super::methods::{Anonymous, QUESTIONS};
use crate::evaluation::{self, ScoreEntry};
use crate::package::{Reported, ReportedResult, RoundPackage};
use serde::Serialize;
use std::collections::{BTreeMap, HashMap};

/// What stands in a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A text that is never empty.
    Text,
    /// A word of a closed list, or nothing.
    Word,
    /// A whole number, or nothing.
    Count,
    /// A number, or nothing.
    Number,
}

/// A column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its name.
    pub name: &'static str,
    /// What stands in it.
    pub kind: Kind,
}

/// A cell.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// Nothing.
    Empty,
    /// A text or a word.
    Text(String),
    /// A whole number.
    Count(i64),
    /// A number.
    Number(f64),
}

impl Value {
    /// The text; empty for a number and for nothing.
    pub fn text(&self) -> &str {
        match self {
            Value::Text(text) => text,
            Value::Empty | Value::Count(_) | Value::Number(_) => "",
        }
    }

    fn word(text: impl Into<String>) -> Value {
        let text = text.into();
        if text.is_empty() { Value::Empty } else { Value::Text(text) }
    }

    fn number(number: Option<f64>) -> Value {
        number.filter(|number| number.is_finite()).map_or(Value::Empty, Value::Number)
    }

    fn count(count: usize) -> Value {
        Value::Count(i64::try_from(count).unwrap_or(i64::MAX))
    }
}

/// A table.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// Its name.
    pub name: &'static str,
    /// Its columns.
    pub columns: &'static [Column],
    /// Its rows, each with a cell for every column.
    pub rows: Vec<Vec<Value>>,
}

const fn text(name: &'static str) -> Column {
    Column { name, kind: Kind::Text }
}

const fn word(name: &'static str) -> Column {
    Column { name, kind: Kind::Word }
}

const fn count(name: &'static str) -> Column {
    Column { name, kind: Kind::Count }
}

const fn number(name: &'static str) -> Column {
    Column { name, kind: Kind::Number }
}

const LABORATORIES: &[Column] = &[
    text("laboratory"),
    text("enrichment"),
    text("separation"),
    text("detection"),
    text("calibration"),
    text("standard"),
];

const RESULTS: &[Column] = &[
    text("laboratory"),
    text("item"),
    text("analyte"),
    text("unit"),
    count("replicate"),
    number("value"),
    number("below"),
    number("expanded_uncertainty"),
    number("coverage_factor"),
    word("counts"),
];

const SCORES: &[Column] = &[
    text("laboratory"),
    text("item"),
    text("analyte"),
    text("unit"),
    number("difference"),
    number("difference_percent"),
    number("z"),
    number("z_prime"),
    number("zeta"),
    number("e_n"),
    number("bound"),
    word("class"),
    word("detection"),
];

const SUMMARY: &[Column] = &[
    text("item"),
    text("analyte"),
    text("unit"),
    count("laboratories"),
    count("quantified"),
    count("censored"),
    count("excluded"),
    number("mean"),
    number("median"),
    number("sd"),
    number("made"),
    number("niqr"),
    number("algorithm_a_mean"),
    number("algorithm_a_sd"),
    number("x_pt"),
    number("u_x_pt"),
    word("basis"),
    word("estimator"),
    number("sigma_pt"),
    number("warning_limit"),
    number("action_limit"),
    number("e_n_limit"),
];

const DECISIONS: &[Column] =
    &[word("laboratory"), text("item"), text("analyte"), text("topic"), text("decision"), word("reason"), count("day")];

/// The tables: name and columns.
pub const TABLES: [(&str, &[Column]); 5] = [
    ("laboratories", LABORATORIES),
    ("results", RESULTS),
    ("scores", SCORES),
    ("summary", SUMMARY),
    ("decisions", DECISIONS),
];

/// The word that `value` is written as.
pub(super) fn written(value: impl Serialize) -> String {
    serde_json::to_value(value).ok().and_then(|value| value.as_str().map(str::to_owned)).unwrap_or_default()
}

/// The tables of a package that has the fresh codes already.
pub(super) fn of(
    source: &Source<'_>,
    package: &RoundPackage,
    names: &BTreeMap<String, String>,
    answers: &Anonymous,
) -> Vec<Table> {
    let rows = [
        laboratories(names, answers),
        results(package),
        scores(source, package, names),
        summary(source, package),
        decisions(source, package, names),
    ];
    TABLES.into_iter().zip(rows).map(|((name, columns), rows)| Table { name, columns, rows }).collect()
}

fn laboratories(names: &BTreeMap<String, String>, answers: &Anonymous) -> Vec<Vec<Value>> {
    let row = |(code, answers): (&String, &[String; QUESTIONS.len()])| {
        let texts = std::iter::once(&names[code]).chain(answers);
        texts.map(|text| Value::Text(text.clone())).collect::<Vec<_>>()
    };
    let mut rows: Vec<Vec<Value>> = answers.of.iter().map(row).collect();
    rows.sort_by(|a, b| a[0].text().cmp(b[0].text()));
    rows
}

/// The results of a measurand, in the order of the fresh codes.
fn of_measurand(package: &RoundPackage) -> HashMap<&str, Vec<&ReportedResult>> {
    let mut all: HashMap<&str, Vec<&ReportedResult>> = HashMap::new();
    for result in &package.results {
        all.entry(&result.measurand).or_default().push(result);
    }
    for own in all.values_mut() {
        own.sort_by(|a, b| a.participant.cmp(&b.participant));
    }
    all
}

fn named(texts: [&String; 4]) -> Vec<Value> {
    texts.map(|text| Value::Text(text.clone())).to_vec()
}

fn results(package: &RoundPackage) -> Vec<Vec<Value>> {
    let all = of_measurand(package);
    let mut rows = Vec::new();
    for m in &package.measurands {
        for result in all.get(m.id.as_str()).into_iter().flatten() {
            let reported: Vec<(i64, Option<f64>, Option<f64>)> = match &result.reported {
                Reported::Values(values) => (1..).zip(values).map(|(n, value)| (n, Some(*value), None)).collect(),
                Reported::Below(limit) => vec![(1, None, Some(*limit))],
            };
            for (replicate, value, below) in reported {
                let mut row = named([&result.participant, &m.item, &m.analyte, &m.unit]);
                row.push(Value::Count(replicate));
                row.extend([value, below, result.expanded_uncertainty, result.coverage_factor].map(Value::number));
                row.push(Value::word(if result.counts() { "yes" } else { "no" }));
                rows.push(row);
            }
        }
    }
    rows
}

fn scores(source: &Source<'_>, package: &RoundPackage, names: &BTreeMap<String, String>) -> Vec<Vec<Value>> {
    let mut all: HashMap<&str, Vec<(&str, &ScoreEntry)>> = HashMap::new();
    for entry in &source.evaluation.scores {
        if let Some(name) = names.get(&entry.participant) {
            all.entry(&entry.measurand).or_default().push((name, entry));
        }
    }
    let mut rows = Vec::new();
    for m in &package.measurands {
        let mut own = all.remove(m.id.as_str()).unwrap_or_default();
        own.sort_by_key(|(name, _)| *name);
        for (name, entry) in own {
            let mut row = named([&name.to_owned(), &m.item, &m.analyte, &m.unit]);
            let figures = [
                entry.difference,
                entry.difference_percent,
                entry.z,
                entry.z_prime,
                entry.zeta,
                entry.e_n,
                entry.bound,
            ];
            row.extend(figures.map(Value::number));
            row.push(Value::word(written(entry.signal)));
            row.push(Value::word(written(entry.detection)));
            rows.push(row);
        }
    }
    rows
}

/// Counts and statistics of the laboratories in the package alone. Value, uncertainty
/// and sigma_pt are those that were published: the scores are made with them.
fn summary(source: &Source<'_>, package: &RoundPackage) -> Vec<Vec<Value>> {
    let own = evaluation::evaluate_unhashed(package);
    let row = |(m, own): (&crate::package::Measurand, &evaluation::MeasurandEvaluation)| {
        let s = &own.summary;
        let published = source.evaluation.measurand(&m.id);
        let assigned = published.and_then(|published| published.assigned_value.as_ref());
        let mut row = [&m.item, &m.analyte, &m.unit].map(|text| Value::Text(text.clone())).to_vec();
        row.extend([s.participants, s.quantified, s.censored, s.excluded].map(Value::count));
        row.extend([s.mean, s.median, s.sd, s.made, s.niqr, s.algorithm_a_mean, s.algorithm_a_sd].map(Value::number));
        row.extend(
            [assigned.map(|value| value.value), assigned.map(|value| value.standard_uncertainty)].map(Value::number),
        );
        row.push(Value::word(assigned.map(|value| written(value.basis)).unwrap_or_default()));
        row.push(Value::word(assigned.and_then(|value| value.estimator).map(written).unwrap_or_default()));
        row.push(Value::number(published.and_then(|published| published.sigma_pt)));
        let limits = m.asks_for_class().then(|| m.limits());
        row.extend([limits.map(|l| l.warning), limits.map(|l| l.action), limits.map(|l| l.e_n)].map(Value::number));
        row
    };
    package.measurands.iter().zip(&own.measurands).map(row).collect()
}

/// What was decided about measurands, and about results of laboratories in the
/// package, as closed words.
fn decisions(source: &Source<'_>, package: &RoundPackage, names: &BTreeMap<String, String>) -> Vec<Vec<Value>> {
    let mut rows = Vec::new();
    for m in &package.measurands {
        let mut own: Vec<(&str, i64, Vec<Value>)> = Vec::new();
        for decided in source.decisions.iter().filter(|decided| decided.measurand == m.id) {
            let name = match &decided.code {
                None => "",
                Some(code) => match names.get(code) {
                    Some(name) => name,
                    None => continue,
                },
            };
            let day = source.instants.day(decided.at);
            let row = vec![
                Value::word(name),
                Value::Text(m.item.clone()),
                Value::Text(m.analyte.clone()),
                Value::word(decided.topic),
                Value::word(decided.kind),
                Value::word(decided.cause),
                Value::Count(day),
            ];
            own.push((name, day, row));
        }
        // By fresh code and day, not in the order in which people went through codes.
        own.sort_by(|a, b| (a.0, a.1).cmp(&(b.0, b.1)));
        rows.extend(own.into_iter().map(|(_, _, row)| row));
    }
    rows
}
