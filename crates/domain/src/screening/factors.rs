//! Results that are off by a factor.

use roundel_stats::{Sample, robust, summary};

use super::{Centres, Grid, Place};

/// Powers of ten that a whole set may be off by: dilutions and units.
const POWERS: [i32; 8] = [-6, -3, -2, -1, 1, 2, 3, 6];
const NEAR_POWER: f64 = 0.15;
const MOST_SPREAD: f64 = 0.2;
const FEWEST_IN_SET: usize = 5;
/// A single result may miss a factor by this ratio.
const NEAR_FACTOR: f64 = 1.25;
const FAR: f64 = 3.0;
const LOW_SHARE: f64 = 0.25;

/// All results of a laboratory together are consistent with 10^`power` times
/// what the others found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WholeSetFactor {
    /// The power of ten.
    pub power: i32,
    /// Median of log10(x/centre).
    pub median_log: f64,
    /// MADe of log10(x/centre).
    pub spread_log: f64,
    /// How many results were compared.
    pub count: usize,
}

/// Whether the whole set of a laboratory is consistent with a power of ten:
/// from 5 results on, the median of log10(x/centre) within 0.15 of ±1, ±2, ±3
/// or ±6 and its MADe at most 0.2.
///
/// ```
/// use roundel_domain::screening::{Grid, Place, whole_set_factor};
///
/// // Eight laboratories about 100, twelve analytes, one item; the last one is
/// // a thousand times too low.
/// let mut grid = Grid::new(8, 1, 12);
/// for one in 0..8 {
///     for analyte in 0..12 {
///         let value = 100.0 + 50.0 * analyte as f64 + one as f64;
///         grid.set(one, Place { item: 0, analyte }, value);
///     }
/// }
/// for analyte in 0..12 {
///     let place = Place { item: 0, analyte };
///     grid.set(7, place, 0.001 * grid.value(7, place).unwrap());
/// }
/// let found = whole_set_factor(&grid, &grid.centres(), 7).unwrap();
/// assert_eq!((found.power, found.count), (-3, 12));
/// assert_eq!(whole_set_factor(&grid, &grid.centres(), 0), None);
/// ```
#[must_use]
pub fn whole_set_factor(grid: &Grid, centres: &Centres, laboratory: usize) -> Option<WholeSetFactor> {
    let ratios: Vec<f64> =
        grid.places().filter_map(|place| Some((grid.value(laboratory, place)? / centres.at(place)?).log10())).collect();
    let sample = Sample::new(ratios).ok().filter(|sample| sample.len() >= FEWEST_IN_SET)?;
    let (median_log, spread_log) = (summary::median(&sample), robust::made(&sample).ok()?.scale);
    let power = POWERS.into_iter().find(|power| (median_log - f64::from(*power)).abs() <= NEAR_POWER)?;
    (spread_log <= MOST_SPREAD).then_some(WholeSetFactor { power, median_log, spread_log, count: sample.len() })
}

/// How strongly a factor may be put.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wording {
    /// "Consistent with": a power of ten.
    ConsistentWith,
    /// "Possible": 2, 5, one fifth or one half, which chance also makes.
    Possible,
}

/// A single result that is off by a factor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SingleFactor {
    /// The result.
    pub place: Place,
    /// x/x_pt.
    pub ratio: f64,
    /// The factor that it is near to.
    pub factor: f64,
    /// How to say it.
    pub wording: Wording,
    /// z.
    pub z: f64,
    /// Whether the laboratory's other results are in order: the median of
    /// their |z| at most 1, and no more than one in ten at or beyond 3.
    pub others_in_order: bool,
}

/// Single results with |z| ≥ 3 or x/x_pt ≤ 0.25 within a ratio of 1.25 of
/// 10^±1 to 10^±3 ("consistent with"), or of 2, 5 or one fifth ("possible").
/// One half only where the analyte shows it in every item of the laboratory,
/// in two or more.
///
/// ```
/// use roundel_domain::screening::{Grid, Place, Target, Wording, single_factors};
///
/// let place = Place { item: 0, analyte: 0 };
/// let mut grid = Grid::new(2, 1, 1);
/// grid.set_target(place, Target { value: 100.0, sigma_pt: 25.0 });
/// grid.set(0, place, 10.5);
/// grid.set(1, place, 110.0);
/// let found = single_factors(&grid, 0);
/// assert_eq!((found[0].factor, found[0].wording), (0.1, Wording::ConsistentWith));
/// assert!(single_factors(&grid, 1).is_empty());
/// ```
#[must_use]
pub fn single_factors(grid: &Grid, laboratory: usize) -> Vec<SingleFactor> {
    let mut found = Vec::new();
    for place in grid.places() {
        let (Some(value), Some(target), Some(z)) =
            (grid.value(laboratory, place), grid.target(place), grid.z(laboratory, place))
        else {
            continue;
        };
        let ratio = value / target.value;
        let far = z.abs() >= FAR || ratio <= LOW_SHARE;
        let matched = if far {
            factor_near(ratio)
        } else if halves_everywhere(grid, laboratory, place.analyte) {
            Some((0.5, Wording::Possible))
        } else {
            None
        };
        if let Some((factor, wording)) = matched {
            let others_in_order = others_in_order(grid, laboratory, place);
            found.push(SingleFactor { place, ratio, factor, wording, z, others_in_order });
        }
    }
    found
}

fn factor_near(ratio: f64) -> Option<(f64, Wording)> {
    let tens = [1e-3, 1e-2, 1e-1, 1e1, 1e2, 1e3].map(|factor| (factor, Wording::ConsistentWith));
    let small = [2.0, 5.0, 0.2].map(|factor| (factor, Wording::Possible));
    tens.into_iter().chain(small).find(|(factor, _)| is_near(ratio, *factor))
}

fn is_near(ratio: f64, factor: f64) -> bool {
    (ratio / factor).log10().abs() <= NEAR_FACTOR.log10()
}

fn halves_everywhere(grid: &Grid, laboratory: usize, analyte: usize) -> bool {
    let ratios: Vec<f64> = (0..grid.items)
        .map(|item| Place { item, analyte })
        .filter_map(|place| Some(grid.value(laboratory, place)? / grid.target(place)?.value))
        .collect();
    ratios.len() > 1 && ratios.iter().all(|ratio| is_near(*ratio, 0.5))
}

fn others_in_order(grid: &Grid, laboratory: usize, place: Place) -> bool {
    let others: Vec<f64> = grid
        .places()
        .filter(|other| *other != place)
        .filter_map(|other| grid.z(laboratory, other))
        .map(f64::abs)
        .collect();
    let far = others.iter().filter(|z| **z >= FAR).count();
    Sample::new(others).is_ok_and(|sample| summary::median(&sample) <= 1.0 && 10 * far <= sample.len())
}
