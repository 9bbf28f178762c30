//! Looking through the results of a round for gross errors, groups and
//! copies, before anything is decided.
//!
//! Every function is pure and takes no action: it returns what was seen with
//! the numbers that speak for it. The words are chosen with care. A finding
//! says what the data are *consistent with* or what is *possible*, never what
//! somebody did; possible flags on honest laboratories are expected, and are
//! to be counted and shown as such. Whether a result is left out is decided by
//! a person, for a reason that does not depend on its size, and a laboratory's
//! number is never altered. Similarity of two laboratories is a private note
//! to the reviewer and is never printed.
//!
//! | rule | function |
//! |---|---|
//! | whole set off by a power of ten | [`whole_set_factor`] |
//! | one result off by a factor | [`single_factors`] |
//! | another form of an analyte, by molar masses that the scheme gives | [`basis_ratios`] |
//! | two items exchanged | [`item_swaps`] |
//! | two analytes exchanged, rows shifted | [`analyte_swaps`], [`row_shifts`] |
//! | two laboratories alike | [`similarities`] |
//! | several modes, skewness | [`modality`], [`skewness`] |
//! | dependence on the day of analysis | [`date_effect`] |
//!
//! [`laboratory`] makes the tests of one laboratory in the order in which one
//! explains another away.
//!
//! ```
//! use roundel_domain::screening::{Grid, Place, laboratory};
//!
//! // Eight laboratories, one item, six analytes; the last one typed µg/L.
//! let mut grid = Grid::new(8, 1, 6);
//! for one in 0..8 {
//!     for analyte in 0..6 {
//!         let unit = if one == 7 { 0.001 } else { 1.0 };
//!         grid.set(one, Place { item: 0, analyte }, unit * (100.0 + (one + 7 * analyte) as f64));
//!     }
//! }
//! let found = laboratory(&grid, &grid.centres(), 7);
//! assert_eq!(found.whole_set.map(|factor| factor.power), Some(-3));
//! assert_eq!(laboratory(&grid, &grid.centres(), 0).whole_set, None);
//! ```

mod factors;
mod ratios;
mod shape;
mod similarity;
mod swaps;

use roundel_stats::{Sample, summary};

pub use factors::{SingleFactor, WholeSetFactor, Wording, single_factors, whole_set_factor};
pub use ratios::{BasisRatio, BasisRatios, KnownRatio, basis_ratios};
pub use shape::{DateEffect, Modality, Skewness, date_effect, modality, skewness};
pub use similarity::{Similarity, similarities};
pub use swaps::{AnalyteSwap, ItemSwap, RowShift, analyte_swaps, item_swaps, row_shifts};

/// With fewer results an analyte in an item has no centre to compare with.
const FEWEST_FOR_CENTRE: usize = 5;

/// Numeric results of a round by laboratory, item and analyte, each counted
/// from 0. Analytes stand in the order of the form, which a row shift is
/// about. Results that are not numeric, and numbers that are not above zero,
/// are absent: everything here compares logarithms.
#[derive(Clone, Debug)]
pub struct Grid {
    laboratories: usize,
    items: usize,
    analytes: usize,
    values: Vec<Option<f64>>,
    targets: Vec<Option<Target>>,
    methods: Vec<Option<usize>>,
}

/// What a result of an analyte in an item is judged against.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Target {
    /// The assigned value, above zero.
    pub value: f64,
    /// The standard deviation for proficiency assessment.
    pub sigma_pt: f64,
}

/// Where a result stands in a [`Grid`], without its laboratory.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// The item.
    pub item: usize,
    /// The analyte.
    pub analyte: usize,
}

impl Grid {
    /// An empty grid.
    #[must_use]
    pub fn new(laboratories: usize, items: usize, analytes: usize) -> Self {
        let places = items * analytes;
        Self {
            laboratories,
            items,
            analytes,
            values: vec![None; laboratories * places],
            targets: vec![None; places],
            methods: vec![None; laboratories],
        }
    }

    /// Enters a result. Numbers that are not above zero are left out.
    pub fn set(&mut self, laboratory: usize, place: Place, value: f64) {
        let index = laboratory * self.targets.len() + self.index(place);
        self.values[index] = (value > 0.0 && value.is_finite()).then_some(value);
    }

    /// Enters what results are judged against.
    pub fn set_target(&mut self, place: Place, target: Target) {
        let index = self.index(place);
        self.targets[index] = Some(target);
    }

    /// Enters the group of methods of a laboratory.
    pub fn set_method(&mut self, laboratory: usize, method: usize) {
        self.methods[laboratory] = Some(method);
    }

    /// A result.
    #[must_use]
    pub fn value(&self, laboratory: usize, place: Place) -> Option<f64> {
        self.values[laboratory * self.targets.len() + self.index(place)]
    }

    /// The number of laboratories.
    #[must_use]
    pub fn laboratories(&self) -> usize {
        self.laboratories
    }

    /// The medians of all laboratories' results, which the tests compare
    /// with.
    #[must_use]
    pub fn centres(&self) -> Centres {
        let centre = |place: Place| {
            let values: Vec<f64> = (0..self.laboratories).filter_map(|one| self.value(one, place)).collect();
            let sample = Sample::new(values).ok().filter(|sample| sample.len() >= FEWEST_FOR_CENTRE)?;
            Some(summary::median(&sample))
        };
        Centres { analytes: self.analytes, values: self.places().map(centre).collect() }
    }

    fn index(&self, place: Place) -> usize {
        place.item * self.analytes + place.analyte
    }

    fn places(&self) -> impl Iterator<Item = Place> + use<> {
        let analytes = self.analytes;
        (0..self.items).flat_map(move |item| (0..analytes).map(move |analyte| Place { item, analyte }))
    }

    fn target(&self, place: Place) -> Option<Target> {
        self.targets[self.index(place)]
    }

    /// z, where there are a result and a target.
    pub(crate) fn z(&self, laboratory: usize, place: Place) -> Option<f64> {
        let (value, target) = (self.value(laboratory, place)?, self.target(place)?);
        Some((value - target.value) / target.sigma_pt)
    }
}

/// Robust centre of every analyte in every item.
#[derive(Clone, Debug)]
pub struct Centres {
    analytes: usize,
    values: Vec<Option<f64>>,
}

impl Centres {
    /// The median of five results or more.
    #[must_use]
    pub fn at(&self, place: Place) -> Option<f64> {
        self.values[place.item * self.analytes + place.analyte]
    }
}

/// What the tests of one laboratory's own results show.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Findings {
    /// The whole set is off by a power of ten.
    pub whole_set: Option<WholeSetFactor>,
    /// Pairs of items.
    pub item_swaps: Vec<ItemSwap>,
    /// Pairs of analytes, best explanation first.
    pub analyte_swaps: Vec<AnalyteSwap>,
    /// Runs of rows.
    pub row_shifts: Vec<RowShift>,
    /// Single results that nothing above explains.
    pub single_factors: Vec<SingleFactor>,
}

/// Tests the results of one laboratory against the others: a factor on the
/// whole set first; if there is none, exchanged items; if there are none,
/// exchanged analytes and shifted rows; then single results that none of them
/// explains.
#[must_use]
pub fn laboratory(grid: &Grid, centres: &Centres, laboratory: usize) -> Findings {
    let mut findings = Findings { whole_set: whole_set_factor(grid, centres, laboratory), ..Findings::default() };
    if findings.whole_set.is_some() {
        return findings;
    }
    findings.item_swaps = item_swaps(grid, centres, laboratory);
    if findings.item_swaps.is_empty() {
        findings.row_shifts = row_shifts(grid, centres, laboratory);
        findings.analyte_swaps = analyte_swaps(grid, centres, laboratory);
    }
    findings.single_factors = single_factors(grid, laboratory);
    let single = std::mem::take(&mut findings.single_factors);
    findings.single_factors = single.into_iter().filter(|single| !findings.explains(single.place)).collect();
    findings
}

impl Findings {
    fn explains(&self, place: Place) -> bool {
        let row = place.analyte;
        self.item_swaps.iter().any(|swap| swap.items.contains(&place.item))
            || self.analyte_swaps.iter().any(|swap| swap.analytes.contains(&row))
            || self.row_shifts.iter().any(|shift| shift.item == place.item && (shift.first..=shift.last).contains(&row))
    }
}
