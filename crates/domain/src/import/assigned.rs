//! The file of assigned values that an organiser determined by a route other
//! than the consensus of participants.

use super::RowProblem;
use super::file::File;
use super::row::{Column, Reader, optional, required, same_unit};
use super::table::Row;
use crate::field::{Problem, shortened};
use crate::number::{Decimal, Range};
use crate::plan::{Basis, Estimator};
use crate::text;
use std::collections::BTreeMap;

/// A measurand of the round that the file is read for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KnownMeasurand {
    /// Code of the item, such as `A`.
    pub item: String,
    /// Name of the analyte.
    pub analyte: String,
    /// Unit of the round.
    pub unit: String,
}

/// How an assigned value was determined.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Route {
    /// From the preparation of the item.
    Formulation,
    /// By a reference measurement or a certified reference material.
    Reference,
    /// By laboratories with proven competence.
    Expert,
}

impl Route {
    /// The word in files and packages.
    pub fn name(self) -> &'static str {
        match self {
            Route::Formulation => "formulation",
            Route::Reference => "reference",
            Route::Expert => "expert",
        }
    }
}

/// The uncertainty of an assigned value as stated.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Uncertainty {
    /// The standard uncertainty u, above zero.
    Standard(Decimal),
    /// The expanded uncertainty U with its coverage factor, both above zero.
    #[allow(missing_docs)]
    Expanded { expanded: Decimal, k: Decimal },
}

impl Uncertainty {
    /// The standard uncertainty: u, or U/k.
    pub fn standard(&self) -> f64 {
        match self {
            Uncertainty::Standard(u) => u.value(),
            Uncertainty::Expanded { expanded, k } => expanded.value() / k.value(),
        }
    }
}

/// The standard deviation for proficiency assessment as stated.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Sigma {
    /// In the unit of the measurand, above zero.
    Absolute(Decimal),
    /// In percent of the assigned value, above zero and at most 100.
    Percent(Decimal),
}

/// An assigned value with its uncertainty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AssignedValue {
    /// The value x_pt, in the unit of the measurand.
    pub x_pt: Decimal,
    /// Its uncertainty.
    pub uncertainty: Uncertainty,
    /// How it was determined, where the file says so.
    pub route: Option<Route>,
}

/// Where the assigned value of a row comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Source {
    /// From outside the round.
    Given(AssignedValue),
    /// From the participants.
    Consensus {
        /// How their results become one value.
        estimator: Estimator,
        /// The value of the row, which is used where there is no consensus.
        fallback: Option<(Basis, AssignedValue)>,
    },
}

/// One row of a file of assigned values.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AssignedRow {
    /// Line of the file.
    pub line: usize,
    /// Place of the measurand in the list that was passed in.
    pub measurand: usize,
    /// Where the assigned value comes from.
    pub source: Source,
    /// The standard deviation for proficiency assessment.
    pub sigma: Sigma,
}

/// A file of assigned values without errors.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AssignedFile {
    /// The rows in the order of the file.
    pub rows: Vec<AssignedRow>,
    /// Places in the list of known measurands that the file has no row for.
    pub missing: Vec<usize>,
}

const COLUMNS: &[Column] = &[
    required("item"),
    required("analyte"),
    required("unit"),
    required("x_pt"),
    optional("u_x_pt"),
    optional("U_x_pt"),
    optional("k"),
    optional("sigma_pt"),
    optional("sigma_pt_percent"),
    optional("route"),
    optional("fallback"),
];

/// A file to fill in: the header and one row as example.
pub fn assigned_values_template() -> &'static str {
    "item,analyte,unit,x_pt,u_x_pt,U_x_pt,k,sigma_pt,sigma_pt_percent,route,fallback\n\
     A,carbamazepine,ng/L,32.4,0.39,,,,25,formulation,\n"
}

/// Reads a file of assigned values against the measurands of the round.
///
/// A row names its measurand by item and analyte, without regard to capitals;
/// the unit must be that of the round. It has `x_pt`, either `u_x_pt` or `U_x_pt`
/// with `k`, and either `sigma_pt` or `sigma_pt_percent`. A row whose route is an
/// estimator takes the value from the participants; an `x_pt` beside it is the
/// fallback, and rests on what `fallback` says, the formulation if it says nothing.
///
/// # Errors
///
/// Everything that is wrong with the file, by line. Measurands without a row are
/// no error: they are listed in [`AssignedFile::missing`].
pub fn assigned_values(file: &File, known: &[KnownMeasurand]) -> Result<AssignedFile, Vec<RowProblem>> {
    let alternatives = [["u_x_pt", "U_x_pt"], ["sigma_pt", "sigma_pt_percent"]];
    let mut reader = Reader::new(file, COLUMNS)?.need_one_of(alternatives)?;
    let places = Places::new(known);
    let mut lines = vec![None; known.len()];
    let mut rows = Vec::new();
    for row in reader.rows() {
        let measurand = find_measurand(&mut reader, row, &places);
        if let Some(measurand) = measurand {
            match lines[measurand] {
                Some(first) => {
                    let KnownMeasurand { item, analyte, .. } = &known[measurand];
                    reader.refuse(row, "analyte", twice(item, analyte, first, row.line));
                }
                None => lines[measurand] = Some(row.line),
            }
        }
        let source = source(&mut reader, row);
        let sigma = sigma(&mut reader, row, true);
        if let (Some(measurand), Some(source), Some(sigma)) = (measurand, source, sigma) {
            rows.push(AssignedRow { line: row.line, measurand, source, sigma });
        }
    }
    let missing = (0..known.len()).filter(|&index| lines[index].is_none()).collect();
    reader.finish(AssignedFile { rows, missing })
}

/// Where the value of a row comes from; `None` where that is wrong.
fn source<'a>(reader: &mut Reader<'a>, row: &'a Row) -> Option<Source> {
    let estimator = reader.cell(row, "route").and_then(|word| Estimator::of(&text::key(word)));
    let Some(estimator) = estimator else {
        if reader.cell(row, "fallback").is_some() {
            return refuse(reader, row, "fallback", "problem-file-fallback-alone");
        }
        reader.filled(row, "x_pt");
        return assigned_value(reader, row).map(Source::Given);
    };
    let basis = fallback_basis(reader, row)?;
    let has_value = reader.cell(row, "x_pt").is_some();
    let stray = ["u_x_pt", "U_x_pt", "k", "fallback"].into_iter().find(|column| reader.cell(row, column).is_some());
    if let Some(column) = stray.filter(|_| !has_value) {
        reader.refuse(row, column, Problem::new("problem-file-x-missing").with("column", column));
        return None;
    }
    let fallback = match has_value {
        false => None,
        true => Some((basis, value_of(reader, row)?)),
    };
    Some(Source::Consensus { estimator, fallback })
}

/// What a fallback rests on; `None` for a word that is none.
fn fallback_basis<'a>(reader: &mut Reader<'a>, row: &'a Row) -> Option<Basis> {
    let Some(word) = reader.cell(row, "fallback") else { return Some(Basis::Formulation) };
    let basis = Basis::of(&text::key(word));
    if basis.is_none() {
        reader.refuse(row, "fallback", Problem::new("problem-file-fallback").with("seen", shortened(word)));
    }
    basis
}

/// The problem of an item and analyte that two lines name.
pub(super) fn twice(item: &str, analyte: &str, first: usize, second: usize) -> Problem {
    Problem::new("problem-file-measurand-twice")
        .with("item", shortened(item))
        .with("analyte", shortened(analyte))
        .with("first", first)
        .with("second", second)
}

/// The known measurands by item and analyte as they are compared.
pub(super) struct Places<'a> {
    known: &'a [KnownMeasurand],
    by_key: BTreeMap<(String, String), usize>,
    /// The items, as they are compared and as they are written.
    items: BTreeMap<String, &'a str>,
}

impl<'a> Places<'a> {
    pub(super) fn new(known: &'a [KnownMeasurand]) -> Self {
        let key = |one: &KnownMeasurand| (text::key(&one.item), text::key(&one.analyte));
        let by_key = known.iter().enumerate().map(|(place, one)| (key(one), place)).collect();
        let items = known.iter().map(|one| (text::key(&one.item), one.item.as_str())).collect();
        Places { known, by_key, items }
    }

    /// The analyte of an item whose name is most like `analyte`.
    fn nearest(&self, item: &str, analyte: &str) -> &str {
        let likeness = |name: &str| strsim::jaro_winkler(&text::key(name), &text::key(analyte));
        let names = self.known.iter().filter(|one| text::key(&one.item) == item).map(|one| one.analyte.as_str());
        names.max_by(|one, other| likeness(one).total_cmp(&likeness(other))).unwrap_or_default()
    }
}

/// The place of the row's measurand in the list of known ones.
pub(super) fn find_measurand<'a>(reader: &mut Reader<'a>, row: &'a Row, places: &Places<'_>) -> Option<usize> {
    let item = reader.filled(row, "item");
    let analyte = reader.filled(row, "analyte");
    let unit = reader.filled(row, "unit");
    let (item, analyte) = (item?, analyte?);
    let key = (text::key(item), text::key(analyte));
    let Some(&found) = places.by_key.get(&key) else {
        refuse_unknown(reader, row, places, &key.0, item, analyte);
        return None;
    };
    let (unit, expected) = (unit?, &places.known[found].unit);
    if !same_unit(unit, expected) {
        let problem = Problem::new("problem-file-unit").with("expected", expected).with("seen", shortened(unit));
        reader.refuse(row, "unit", problem);
        return None;
    }
    Some(found)
}

fn refuse_unknown(reader: &mut Reader<'_>, row: &Row, places: &Places<'_>, key: &str, item: &str, analyte: &str) {
    if reader.is_full() {
        return;
    }
    if places.items.contains_key(key) {
        let problem = Problem::new("problem-file-analyte-unknown")
            .with("item", shortened(item))
            .with("analyte", shortened(analyte))
            .with("nearest", places.nearest(key, analyte));
        reader.refuse(row, "analyte", problem);
    } else {
        let problem = Problem::new("problem-file-item-unknown").with("item", shortened(item));
        let known: Vec<&str> = places.items.values().copied().collect();
        reader.refuse(row, "item", problem.with("known", known.join(", ")));
    }
}

/// The assigned value of a row; `None` where it has none or one that is wrong.
pub(super) fn assigned_value<'a>(reader: &mut Reader<'a>, row: &'a Row) -> Option<AssignedValue> {
    if reader.cell(row, "x_pt").is_none() {
        let stray = ["u_x_pt", "U_x_pt", "k", "route"].into_iter().find(|column| reader.cell(row, column).is_some());
        if let Some(column) = stray {
            reader.refuse(row, column, Problem::new("problem-file-x-missing").with("column", column));
        }
        return None;
    }
    let value = value_of(reader, row);
    let route = route(reader, row);
    Some(AssignedValue { route: route?, ..value? })
}

/// The value of a row with its uncertainty.
fn value_of<'a>(reader: &mut Reader<'a>, row: &'a Row) -> Option<AssignedValue> {
    let x_pt = reader.number(row, "x_pt", Range::Any);
    let uncertainty = uncertainty(reader, row);
    if let Some(x_pt) = &x_pt
        && x_pt.value() <= 0.0
        && reader.cell(row, "sigma_pt_percent").is_some()
    {
        reader.refuse(row, "x_pt", Problem::new("problem-file-percent-of-nothing").with("seen", x_pt));
        return None;
    }
    Some(AssignedValue { x_pt: x_pt?, uncertainty: uncertainty?, route: None })
}

fn uncertainty<'a>(reader: &mut Reader<'a>, row: &'a Row) -> Option<Uncertainty> {
    let given = |column| reader.cell(row, column).is_some();
    match (given("u_x_pt"), given("U_x_pt"), given("k")) {
        (true, false, false) => reader.number(row, "u_x_pt", Range::Positive).map(Uncertainty::Standard),
        (false, true, true) => {
            let expanded = reader.number(row, "U_x_pt", Range::Positive);
            let k = reader.number(row, "k", Range::Positive);
            Some(Uncertainty::Expanded { expanded: expanded?, k: k? })
        }
        (true, true, _) => refuse(reader, row, "U_x_pt", "problem-file-uncertainty-both"),
        (true, false, true) => refuse(reader, row, "k", "problem-file-k-alone"),
        (false, true, false) => refuse(reader, row, "U_x_pt", "problem-file-k-missing"),
        (false, false, _) => refuse(reader, row, "u_x_pt", "problem-file-uncertainty-missing"),
    }
}

/// The standard deviation of a row; `None` where it has none or one that is wrong.
pub(super) fn sigma<'a>(reader: &mut Reader<'a>, row: &'a Row, needed: bool) -> Option<Sigma> {
    let given = |column| reader.cell(row, column).is_some();
    match (given("sigma_pt"), given("sigma_pt_percent")) {
        (true, false) => reader.number(row, "sigma_pt", Range::Positive).map(Sigma::Absolute),
        (false, true) => reader.number(row, "sigma_pt_percent", Range::Percent).map(Sigma::Percent),
        (true, true) => refuse(reader, row, "sigma_pt_percent", "problem-file-sigma-both"),
        (false, false) if needed => refuse(reader, row, "sigma_pt", "problem-file-sigma-missing"),
        (false, false) => None,
    }
}

fn refuse<T>(reader: &mut Reader<'_>, row: &Row, column: &'static str, key: &'static str) -> Option<T> {
    reader.refuse(row, column, Problem::new(key));
    None
}

/// The outer `None` is a word that is no route.
fn route<'a>(reader: &mut Reader<'a>, row: &'a Row) -> Option<Option<Route>> {
    let Some(word) = reader.cell(row, "route") else {
        return Some(None);
    };
    let routes = [Route::Formulation, Route::Reference, Route::Expert];
    let found = routes.into_iter().find(|route| route.name() == text::key(word));
    if found.is_none() {
        reader.refuse(row, "route", Problem::new("problem-file-route").with("seen", shortened(word)));
    }
    found.map(Some)
}
