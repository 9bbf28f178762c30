//! The Q method: a standard deviation from the differences between results.

use std::f64::consts::SQRT_2;

use super::differences::{Between, Differences, Every, Pairs, rounding};
use crate::error::finite;
use crate::numeric::normal_quantile;
use crate::{Error, Sample, Used};

/// Outcome of the Q method.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct QMethod {
    /// Robust standard deviation s*; zero where all results are equal.
    pub scale: f64,
    /// Share of pairs without a difference, H1(0).
    pub equal_pairs: f64,
    /// The number of values compared: one for each laboratory, or all
    /// replicates; nothing is iterated.
    pub used: Used,
}

/// Outcome of the Q method for replicates.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct QReplicates {
    /// From the differences between laboratories, s_R*.
    pub reproducibility: QMethod,
    /// From the differences within, s_r*; `None` where no laboratory has two
    /// values.
    pub repeatability: Option<QMethod>,
}

/// Q method for one value per laboratory (ISO 13528:2022 C.5.2, ISO/TS 20612;
/// wording from memory). No start value, no outlier test; breakdown 50 %.
///
/// With H1 the distribution function of the differences between laboratories
/// and G1 the same made continuous, linear between the middles of its jumps:
/// s* = G1⁻¹(0.25 + 0.75 H1(0)) / (√2 Φ⁻¹(0.625 + 0.375 H1(0))). Differences
/// that are equal as decimals are one jump.
///
/// The jumps about the quantile are found by counting, not by listing all
/// differences: O(p) steps for each of at most 64 counts, and no memory.
///
/// ```
/// use roundel_stats::{Sample, robust};
///
/// // Six differences 1 1 1 2 2 3 with H = 1/2, 5/6, 1 and G = 1/4, …: the
/// // quantile at 1/4 is 1.
/// let q = robust::q_method(&Sample::new([1.0, 2.0, 3.0, 4.0])?)?;
/// assert!((q.scale - 1.0 / (2_f64.sqrt() * 0.318_639_363_964_375)).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 values; [`Error::OutOfRange`] where the largest
/// difference exceeds the range of a double.
pub fn q_method(sample: &Sample) -> Result<QMethod, Error> {
    sample.at_least(2)?;
    from_differences(&Differences::of(sample.values(), Every), sample.values())
}

/// s* from the differences between laboratories, and their ascending values.
fn from_differences(differences: &Differences<'_, impl Pairs>, values: &[f64]) -> Result<QMethod, Error> {
    finite(values[values.len() - 1] - values[0])?;
    let (pairs, zeros) = (differences.count(), differences.up_to(0.0));
    let equal_pairs = zeros / pairs;
    if zeros >= pairs {
        return Ok(QMethod { scale: 0.0, equal_pairs: 1.0, used: Used::directly(values.len()) });
    }
    scale_of(quantile(differences, pairs, zeros), equal_pairs, values.len())
}

/// G1⁻¹(0.25 + 0.75 H1(0)). All heights are whole numbers of quarters of a
/// pair until the last step: the height asked for is pairs + 3 zeros, the
/// middle of a jump twice the sum of its ends.
fn quantile(differences: &Differences<'_, impl Pairs>, pairs: f64, zeros: f64) -> f64 {
    let height = pairs + 3.0 * zeros;
    let mut jump = differences.ranked(height / 4.0);
    if 2.0 * (jump.below + jump.through) < height {
        jump = differences.above(&jump);
    }
    let middle = 2.0 * (jump.below + jump.through);
    let (place, reached) =
        differences.beneath(&jump).map_or((0.0, 0.0), |before| (before.size, 2.0 * (before.below + before.through)));
    place + (jump.size - place) * (height - reached) / (middle - reached)
}

/// Q method for replicates: the reproducibility and the repeatability
/// standard deviation, the latter where a laboratory has two or more values.
/// Pairs of laboratories weigh the same whatever their numbers of values, and
/// so do laboratories within.
///
/// Differences between laboratories are counted as in [`q_method`], those
/// within are listed: they are few.
///
/// ```
/// use roundel_stats::{Sample, robust};
///
/// // By hand. Between: 2, 3, 4, 5 with H = 1/4, 1/2, 3/4, 1 and
/// // G = 1/8, 3/8, …, so G⁻¹(1/4) = 2.5. Within: 1 and 2 with H = 1/2, 1 and
/// // G = 1/4, 3/4, so G⁻¹(1/2) = 1.5. Normal quantiles from a table.
/// let laboratories = [Sample::new([1.0, 2.0])?, Sample::new([4.0, 6.0])?];
/// let q = robust::q_method_replicates(&laboratories)?;
/// let root = 2_f64.sqrt();
/// assert!((q.reproducibility.scale - 2.5 / (root * 0.318_639_363_964_375)).abs() < 1e-12);
/// assert!((q.repeatability.unwrap().scale - 1.5 / (root * 0.674_489_750_196_082)).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 laboratories; [`Error::OutOfRange`] where the
/// largest difference exceeds the range of a double.
pub fn q_method_replicates(laboratories: &[Sample]) -> Result<QReplicates, Error> {
    if laboratories.len() < 2 {
        return Err(Error::TooFew { needed: 2, given: laboratories.len() });
    }
    let (values, between) = Between::of(laboratories);
    let reproducibility = from_differences(&Differences::of(&values, between), &values)?;
    let within = differences_within(laboratories);
    if within.is_empty() {
        return Ok(QReplicates { reproducibility, repeatability: None });
    }
    let steps = Steps::new(within)?;
    let zero = steps.at_zero();
    let quantile = steps.quantile(0.5 + 0.5 * zero);
    let scale = finite(quantile / (SQRT_2 * positive_quantile(0.75 + 0.25 * zero)))?;
    let repeatability = QMethod { scale, equal_pairs: zero, used: Used::directly(values.len()) };
    Ok(QReplicates { reproducibility, repeatability: Some(repeatability) })
}

fn differences_within(laboratories: &[Sample]) -> Vec<Difference> {
    let pairs = |laboratory: &Sample| laboratory.len() * (laboratory.len() - 1) / 2;
    let mut differences = Vec::with_capacity(laboratories.iter().map(pairs).sum());
    for laboratory in laboratories {
        let (values, pairs) = (laboratory.values(), pairs(laboratory));
        for (place, low) in values.iter().enumerate() {
            let weight = 1.0 / pairs as f64;
            differences.extend(values[place + 1..].iter().map(|high| Difference::of(*low, *high, weight)));
        }
    }
    differences
}

/// The standard deviation from the quantile of the differences.
fn scale_of(quantile: f64, equal_pairs: f64, count: usize) -> Result<QMethod, Error> {
    let scale = finite(quantile / (SQRT_2 * positive_quantile(0.625 + 0.375 * equal_pairs)))?;
    Ok(QMethod { scale, equal_pairs, used: Used::directly(count) })
}

/// The normal quantile, or infinity at 1, where the scale is zero anyway.
fn positive_quantile(probability: f64) -> f64 {
    if probability >= 1.0 { f64::INFINITY } else { normal_quantile(probability) }
}

/// A difference between two values.
struct Difference {
    size: f64,
    /// What the last bits of the values may do to it.
    rounding: f64,
    weight: f64,
}

impl Difference {
    fn of(first: f64, second: f64, weight: f64) -> Self {
        let rounding = rounding(first, second);
        let size = (first - second).abs();
        Self { size: if size <= rounding { 0.0 } else { size }, rounding, weight }
    }
}

/// The step function H: where it jumps, and its value from there on.
struct Steps {
    jumps: Vec<(f64, f64)>,
}

impl Steps {
    /// Differences in any order; equal ones become one jump.
    fn new(mut differences: Vec<Difference>) -> Result<Self, Error> {
        differences.sort_unstable_by(|a, b| {
            a.size.total_cmp(&b.size).then(a.rounding.total_cmp(&b.rounding)).then(a.weight.total_cmp(&b.weight))
        });
        finite(differences.last().map_or(0.0, |last| last.size))?;
        let total = crate::numeric::sum(differences.iter().map(|difference| difference.weight));
        let mut jumps: Vec<(f64, f64)> = Vec::with_capacity(differences.len());
        let (mut height, mut rounding) = (0.0, 0.0_f64);
        for difference in differences {
            height += difference.weight;
            rounding = rounding.max(difference.rounding);
            match jumps.last_mut() {
                Some(last) if difference.size - last.0 <= rounding && (last.0 > 0.0 || difference.size == 0.0) => {
                    last.1 = height / total;
                }
                _ => {
                    jumps.push((difference.size, height / total));
                    rounding = difference.rounding;
                }
            }
        }
        Ok(Self { jumps })
    }

    /// H(0).
    fn at_zero(&self) -> f64 {
        self.jumps.first().filter(|jump| jump.0 == 0.0).map_or(0.0, |jump| jump.1)
    }

    /// The inverse of G, which is linear between the middles of the jumps,
    /// from G(0) = 0.
    fn quantile(&self, height: f64) -> f64 {
        let (mut place, mut reached, mut before) = (0.0, 0.0, 0.0);
        for &(jump, above) in &self.jumps {
            if jump > 0.0 {
                let middle = (before + above) / 2.0;
                if middle >= height {
                    return place + (jump - place) * (height - reached) / (middle - reached);
                }
                (place, reached) = (jump, middle);
            }
            before = above;
        }
        place
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The same from the list of all differences between laboratories.
    fn from_all_pairs(laboratories: &[Sample]) -> QMethod {
        let mut differences = Vec::new();
        for (place, first) in laboratories.iter().enumerate() {
            for second in &laboratories[place + 1..] {
                let weight = 1.0 / (first.len() as f64 * second.len() as f64);
                for x in first.values() {
                    differences.extend(second.values().iter().map(|y| Difference::of(*x, *y, weight)));
                }
            }
        }
        let steps = Steps::new(differences).unwrap();
        let zero = steps.at_zero();
        scale_of(steps.quantile(0.25 + 0.75 * zero), zero, 0).unwrap()
    }

    fn singly(values: &[f64]) -> Vec<Sample> {
        values.iter().map(|x| Sample::new([*x]).unwrap()).collect()
    }

    proptest! {
        #[test]
        fn counting_agrees_with_listing_all_pairs(
            digits in prop::collection::vec(0_i32..400, 2..60),
            wide in 1_i32..40,
            decimals in 0_u32..5,
            offset in prop::sample::select(vec![0.0, -3.0, 1000.0, 123_456.7]),
            wild in prop::option::of(1e3..1e9_f64),
            replicates in prop::bool::ANY,
        ) {
            let unit = 10_f64.powi(decimals as i32);
            let mut values: Vec<f64> = digits.iter().map(|x| offset + f64::from(x % (wide * 10)) / unit).collect();
            if replicates {
                // Means of three, which are no decimals.
                values = values.iter().zip(digits.iter().rev()).map(|(x, y)| (x + x + f64::from(y % 3) / unit) / 3.0).collect();
            }
            values.extend(wild);
            let sample = Sample::new(values.iter().copied()).unwrap();

            let (got, expected) = (q_method(&sample).unwrap(), from_all_pairs(&singly(&values)));

            prop_assert!((got.equal_pairs - expected.equal_pairs).abs() < 1e-12);
            prop_assert!((got.scale - expected.scale).abs() <= 1e-9 * expected.scale, "{:?} {:?}", got, expected);
            let single = q_method_replicates(&singly(&values)).unwrap().reproducibility;
            prop_assert_eq!(single, got);
        }

        #[test]
        fn counting_between_laboratories_agrees_with_listing_all_pairs(
            cells in prop::collection::vec(prop::collection::vec(0_i32..60, 1..6), 2..14),
            equal in prop::bool::ANY,
            turn in 0_usize..14,
        ) {
            let cell = |cell: &Vec<i32>| {
                let kept = if equal { 1 } else { cell.len() };
                let values = cell[..kept].iter().flat_map(|x| [f64::from(*x) / 10.0, f64::from(x % 7) / 10.0]);
                Sample::new(values).unwrap()
            };
            let mut laboratories: Vec<Sample> = cells.iter().map(cell).collect();

            let got = q_method_replicates(&laboratories).unwrap();

            let expected = from_all_pairs(&laboratories);
            let between = got.reproducibility;
            prop_assert!((between.equal_pairs - expected.equal_pairs).abs() < 1e-12);
            prop_assert!((between.scale - expected.scale).abs() <= 1e-9 * expected.scale, "{:?} {:?}", got, expected);
            let places = laboratories.len();
            laboratories.rotate_left(turn % places);
            prop_assert_eq!(q_method_replicates(&laboratories).unwrap(), got);
        }
    }

    /// Normal quantile at 0.75, from tables.
    const AT_75: f64 = 0.674_489_750_196_082;

    fn laboratories(values: &[&[f64]]) -> Vec<Sample> {
        values.iter().map(|values| Sample::new(values.iter().copied()).expect("finite values")).collect()
    }

    #[test]
    fn laboratories_weigh_the_same_whatever_their_numbers() {
        // By hand. Within: 1, 2, 3 with weight 1/3 each and 5 with weight 1;
        // H = 1/6, 1/3, 1/2, 1 and G = 1/12, 1/4, 5/12, 3/4, so
        // G⁻¹(1/2) = 3 + 2 (1/12)/(1/3) = 3.5.
        let found = q_method_replicates(&laboratories(&[&[0.0, 1.0, 3.0], &[0.0, 5.0], &[7.0]])).unwrap();

        assert!((found.repeatability.unwrap().scale - 3.5 / (SQRT_2 * AT_75)).abs() < 1e-12);
    }

    #[test]
    fn single_results_give_what_the_method_for_one_value_gives() {
        let values = [4.5, 4.9, 5.6, 4.2, 6.2, 5.2, 9.9];

        let found = q_method_replicates(&singly(&values)).unwrap();

        assert_eq!(found.reproducibility, q_method(&Sample::new(values).unwrap()).unwrap());
        assert_eq!(found.repeatability, None);
    }
}
