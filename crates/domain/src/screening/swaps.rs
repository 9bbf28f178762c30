//! Results that fit better in another place.

use super::{Centres, Grid, Place};

/// An exchange must leave less than this share of the disagreement.
const EXPLAINED: f64 = 0.25;
/// Of each of two analytes an exchange must leave less than this.
const EACH_EXPLAINED: f64 = 0.5;
const FEWEST_ANALYTES: usize = 6;
/// Disagreement worth explaining: mean square of an item contrast and of the
/// deviation of a cell, in natural logarithms.
const CONTRAST: f64 = 0.05;
const DEVIATION: f64 = 0.12;
const FEWEST_ITEMS: usize = 3;
const BEYOND: f64 = 2.0;
const FEWEST_ROWS: usize = 5;
const SHIFT_EXPLAINED: f64 = 0.10;

/// The results of two items are consistent with an exchange of the items.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ItemSwap {
    /// The two items.
    pub items: [usize; 2],
    /// How many analytes were compared.
    pub count: usize,
    /// Σ((ln x_i − ln x_j) − (ln m_i − ln m_j))² as reported.
    pub as_reported: f64,
    /// The same with the items exchanged.
    pub exchanged: f64,
}

/// Pairs of items whose results fit better exchanged: 6 analytes or more,
/// less than a quarter of the sum of squares left, and that above 0.05 per
/// analyte. Differences within the laboratory are compared, so its own bias
/// cancels.
///
/// ```
/// use roundel_domain::screening::{Grid, Place, item_swaps};
///
/// // Eight laboratories, three items, eight analytes at levels of their own.
/// let level = |item: usize, analyte: usize| 20.0 + (37 * (analyte + 3 * item) % 90) as f64;
/// let mut grid = Grid::new(8, 3, 8);
/// for one in 0..8 {
///     for item in 0..3 {
///         for analyte in 0..8 {
///             grid.set(one, Place { item, analyte }, (1.0 + 0.01 * one as f64) * level(if one == 7 && item < 2 { 1 - item } else { item }, analyte));
///         }
///     }
/// }
/// assert_eq!(item_swaps(&grid, &grid.centres(), 7)[0].items, [0, 1]);
/// assert!(item_swaps(&grid, &grid.centres(), 0).is_empty());
/// ```
#[must_use]
pub fn item_swaps(grid: &Grid, centres: &Centres, laboratory: usize) -> Vec<ItemSwap> {
    let pairs = (0..grid.items).flat_map(|first| (first + 1..grid.items).map(move |second| [first, second]));
    pairs
        .filter_map(|items| {
            let logs = |item: usize, analyte: usize| {
                let place = Place { item, analyte };
                Some((grid.value(laboratory, place)?.ln(), centres.at(place)?.ln()))
            };
            let (mut count, mut as_reported, mut exchanged) = (0, 0.0, 0.0);
            for analyte in 0..grid.analytes {
                let (Some((x, m)), Some((y, n))) = (logs(items[0], analyte), logs(items[1], analyte)) else {
                    continue;
                };
                count += 1;
                as_reported += ((x - y) - (m - n)).powi(2);
                exchanged += ((y - x) - (m - n)).powi(2);
            }
            let flagged = count >= FEWEST_ANALYTES
                && exchanged < EXPLAINED * as_reported
                && as_reported / count as f64 > CONTRAST;
            flagged.then_some(ItemSwap { items, count, as_reported, exchanged })
        })
        .collect()
}

/// The results of two analytes are consistent with an exchange of the two.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AnalyteSwap {
    /// The two analytes.
    pub analytes: [usize; 2],
    /// In how many items both were reported.
    pub count: usize,
    /// Σ(ln x − ln m)² as reported.
    pub as_reported: f64,
    /// The same with the analytes exchanged.
    pub exchanged: f64,
}

/// Pairs of analytes whose results fit better exchanged: in 3 items or more,
/// less than a quarter of the sum of squares left (and less than half of that of
/// each of the two), that above 0.12 per result, and one |z| beyond 2 at least. The best explanation comes first;
/// weaker pairs with one of its analytes are left out.
///
/// ```
/// use roundel_domain::screening::{Grid, Place, Target, analyte_swaps};
///
/// // Eight laboratories, three items, eight analytes at levels of their own.
/// let level = |item: usize, analyte: usize| 20.0 + (37 * (analyte + 3 * item) % 90) as f64;
/// let mut grid = Grid::new(8, 3, 8);
/// for one in 0..8 {
///     for item in 0..3 {
///         for analyte in 0..8 {
///             grid.set(one, Place { item, analyte }, (1.0 + 0.01 * one as f64) * level(item, if one == 7 && analyte < 2 { 1 - analyte } else { analyte }));
///         }
///     }
/// }
/// for place in (0..24).map(|number| Place { item: number / 8, analyte: number % 8 }) {
///     let value = level(place.item, place.analyte);
///     grid.set_target(place, Target { value, sigma_pt: 0.2 * value });
/// }
/// assert_eq!(analyte_swaps(&grid, &grid.centres(), 7)[0].analytes, [0, 1]);
/// assert!(analyte_swaps(&grid, &grid.centres(), 0).is_empty());
/// ```
#[must_use]
pub fn analyte_swaps(grid: &Grid, centres: &Centres, laboratory: usize) -> Vec<AnalyteSwap> {
    let pairs = (0..grid.analytes).flat_map(|first| (first + 1..grid.analytes).map(move |second| [first, second]));
    let mut found: Vec<AnalyteSwap> =
        pairs.filter_map(|analytes| analyte_swap(grid, centres, laboratory, analytes)).collect();
    found.sort_by(|a, b| (a.exchanged / a.as_reported).total_cmp(&(b.exchanged / b.as_reported)));
    let mut kept: Vec<AnalyteSwap> = Vec::new();
    for swap in found {
        if !kept.iter().any(|better| better.analytes.iter().any(|one| swap.analytes.contains(one))) {
            kept.push(swap);
        }
    }
    kept
}

fn analyte_swap(grid: &Grid, centres: &Centres, laboratory: usize, analytes: [usize; 2]) -> Option<AnalyteSwap> {
    let (mut count, mut as_reported, mut exchanged, mut beyond) = (0, 0.0, 0.0, false);
    // Where only one of the two is explained, the exchange is not: the other one
    // would have moved as far.
    let (mut before, mut after) = ([0.0; 2], [0.0; 2]);
    for item in 0..grid.items {
        let places = analytes.map(|analyte| Place { item, analyte });
        let logs = places.map(|place| Some((grid.value(laboratory, place)?.ln(), centres.at(place)?.ln())));
        let [Some((x, m)), Some((y, n))] = logs else { continue };
        count += 1;
        as_reported += (x - m).powi(2) + (y - n).powi(2);
        exchanged += (y - m).powi(2) + (x - n).powi(2);
        before = [before[0] + (x - m).powi(2), before[1] + (y - n).powi(2)];
        after = [after[0] + (x - n).powi(2), after[1] + (y - m).powi(2)];
        beyond |= places.into_iter().any(|place| grid.z(laboratory, place).is_some_and(|z| z.abs() > BEYOND));
    }
    let flagged = count >= FEWEST_ITEMS
        && exchanged < EXPLAINED * as_reported
        && as_reported / (2 * count) as f64 > DEVIATION
        && before.iter().zip(after).all(|(before, after)| after < EACH_EXPLAINED * before)
        && beyond;
    flagged.then_some(AnalyteSwap { analytes, count, as_reported, exchanged })
}

/// Neighbouring rows are consistent with a shift by one row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RowShift {
    /// The item.
    pub item: usize,
    /// First row that holds another row's result.
    pub first: usize,
    /// Last such row.
    pub last: usize,
    /// Whether the rows hold what belongs one row above them.
    pub downwards: bool,
    /// Σ(ln x − ln m)² as reported.
    pub as_reported: f64,
    /// The same with each result in its neighbour's row.
    pub shifted: f64,
}

/// Runs of 5 neighbouring rows or more of one item whose results leave
/// less than a tenth of the sum of squares in the row above, or below, and
/// that is above 0.12 per row where they stand. Per item the run that explains most.
///
/// ```
/// use roundel_domain::screening::{Grid, Place, row_shifts};
///
/// // Eight laboratories, three items, eight analytes at levels of their own.
/// let level = |item: usize, analyte: usize| 20.0 + (37 * (analyte + 3 * item) % 90) as f64;
/// let mut grid = Grid::new(8, 3, 8);
/// for one in 0..8 {
///     for item in 0..3 {
///         for analyte in 0..8 {
///             grid.set(one, Place { item, analyte }, (1.0 + 0.01 * one as f64) * level(item, if one == 7 && item == 0 && (1..7).contains(&analyte) { analyte - 1 } else { analyte }));
///         }
///     }
/// }
/// let found = &row_shifts(&grid, &grid.centres(), 7)[0];
/// assert_eq!((found.item, found.downwards), (0, true));
/// assert!(row_shifts(&grid, &grid.centres(), 0).is_empty());
/// ```
#[must_use]
pub fn row_shifts(grid: &Grid, centres: &Centres, laboratory: usize) -> Vec<RowShift> {
    (0..grid.items)
        .filter_map(|item| {
            let directions = [true, false].into_iter();
            directions
                .filter_map(|downwards| row_shift(grid, centres, laboratory, item, downwards))
                .max_by(|a, b| gain(a).total_cmp(&gain(b)))
        })
        .collect()
}

fn gain(shift: &RowShift) -> f64 {
    shift.as_reported - shift.shifted
}

fn row_shift(grid: &Grid, centres: &Centres, laboratory: usize, item: usize, downwards: bool) -> Option<RowShift> {
    // Deviation of each row where it stands and where it may belong.
    let deviations: Vec<Option<(f64, f64)>> = (0..grid.analytes)
        .map(|analyte| {
            let origin = if downwards { analyte.checked_sub(1)? } else { analyte + 1 };
            let x = grid.value(laboratory, Place { item, analyte })?.ln();
            let at = |analyte: usize| {
                (analyte < grid.analytes).then(|| centres.at(Place { item, analyte })).flatten().map(f64::ln)
            };
            Some(((x - at(analyte)?).powi(2), (x - at(origin)?).powi(2)))
        })
        .collect();
    let mut best: Option<RowShift> = None;
    for first in 0..deviations.len() {
        let (mut as_reported, mut shifted) = (0.0, 0.0);
        for (last, deviation) in deviations.iter().enumerate().skip(first) {
            let Some((here, there)) = deviation else { break };
            as_reported += here;
            shifted += there;
            let rows = last - first + 1;
            let flagged =
                rows >= FEWEST_ROWS && shifted < SHIFT_EXPLAINED * as_reported && as_reported / rows as f64 > DEVIATION;
            let found = RowShift { item, first, last, downwards, as_reported, shifted };
            if flagged && best.as_ref().is_none_or(|best| gain(&found) > gain(best)) {
                best = Some(found);
            }
        }
    }
    best
}
