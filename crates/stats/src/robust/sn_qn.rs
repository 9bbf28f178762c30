//! Scale from differences between all values: Sn and Qn (Rousseeuw and Croux
//! 1993, JASA 88, 1273), as exact order statistics.

use crate::error::finite;
use crate::{Error, Sample, Scale, Used};

/// Makes Sn of normal data their standard deviation.
const SN_TO_SD: f64 = 1.1926;
/// Makes Qn of normal data their standard deviation. (ISO 13528 prints an
/// older, rounded 2.2219; from memory.)
const QN_TO_SD: f64 = 2.219_14;
/// Factors of Sn for 2 to 9 values (Croux and Rousseeuw 1992).
const SN_FEW: [f64; 8] = [0.743, 1.851, 0.954, 1.351, 0.993, 1.198, 1.005, 1.131];
/// Factors of Qn for 2 to 12 values, in the refined form.
const QN_FEW: [f64; 11] =
    [0.399_356, 0.993_65, 0.513_21, 0.844_01, 0.612_2, 0.858_77, 0.669_93, 0.873_44, 0.720_14, 0.889_06, 0.757_43];

/// Sn with its factor for small samples (ISO 13528:2022 C.5.1, from memory).
/// Zero where too many values are equal. O(p log p).
///
/// ```
/// use roundel_stats::{Sample, robust};
///
/// // Two values have one distance; their factor is 0.743.
/// let found = robust::sn(&Sample::new([1.0, 3.0])?)?;
/// assert!((found.scale - 0.743 * 1.1926 * 2.0).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 values.
pub fn sn(sample: &Sample) -> Result<Scale, Error> {
    let count = sample.len();
    let factor = match count {
        2..=9 => SN_FEW[count - 2],
        _ if count % 2 == 1 => count as f64 / (count as f64 - 0.9),
        _ => 1.0,
    };
    multiplied(factor, sn_uncorrected(sample)?.scale, count)
}

/// Sn without the factor for small samples: 1.1926 × the low median over i of
/// the high median over j of |x_i − x_j|.
///
/// ```
/// use roundel_stats::{Sample, robust};
///
/// let found = robust::sn_uncorrected(&Sample::new([1.0, 3.0])?)?;
/// assert!((found.scale - 1.1926 * 2.0).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 values.
pub fn sn_uncorrected(sample: &Sample) -> Result<Scale, Error> {
    sample.at_least(2)?;
    let values = sample.values();
    let neighbours = values.len() / 2;
    let mut distances: Vec<f64> =
        (0..values.len()).map(|place| distance_to_neighbour(values, place, neighbours)).collect();
    distances.sort_unstable_by(f64::total_cmp);
    multiplied(SN_TO_SD, distances[values.len().div_ceil(2) - 1], values.len())
}

fn multiplied(factor: f64, difference: f64, count: usize) -> Result<Scale, Error> {
    Ok(Scale { scale: finite(factor * difference)?, used: Used::directly(count) })
}

/// Distance from one of ascending values to its `rank`-th nearest neighbour:
/// the narrowest reach among the runs of `rank` + 1 values that contain it.
fn distance_to_neighbour(values: &[f64], place: usize, rank: usize) -> f64 {
    let first = place.saturating_sub(rank);
    let last = place.min(values.len() - 1 - rank);
    let below = |start: usize| values[place] - values[start];
    let above = |start: usize| values[start + rank] - values[place];
    // The reach below falls and the one above rises with the start of the run.
    let (mut low, mut high) = (first, last);
    while low < high {
        let middle = low + (high - low) / 2;
        if below(middle) > above(middle) { low = middle + 1 } else { high = middle }
    }
    let reach = |start: usize| below(start).max(above(start));
    if low > first { reach(low).min(reach(low - 1)) } else { reach(low) }
}

/// Qn with its factor for small samples (ISO 13528:2022 C.5.1, from memory).
/// Zero where too many values are equal. O(p log p).
///
/// ```
/// use roundel_stats::{Sample, robust};
///
/// // Two values have one difference; their factor is 0.399 356.
/// let found = robust::qn(&Sample::new([1.0, 3.0])?)?;
/// assert!((found.scale - 0.399_356 * 2.219_14 * 2.0).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 values.
pub fn qn(sample: &Sample) -> Result<Scale, Error> {
    let count = sample.len();
    let n = count as f64;
    let factor = match count {
        2..=12 => QN_FEW[count - 2],
        _ if count % 2 == 1 => 1.0 / (1.0 + (1.601_88 + (-2.128_4 - 5.172 / n) / n) / n),
        _ => 1.0 / (1.0 + (3.675_61 + (1.965_4 + (6.987 - 77.0 / n) / n) / n) / n),
    };
    multiplied(factor, qn_uncorrected(sample)?.scale, count)
}

/// Qn without the factor for small samples: 2.219 14 × the k-th smallest of
/// the |x_i − x_j|, k = h(h − 1)/2 with h = ⌊p/2⌋ + 1.
///
/// ```
/// use roundel_stats::{Sample, robust};
///
/// // h = 3, so the third smallest of the differences 1, 1, 1, 2, 2, 3.
/// let found = robust::qn_uncorrected(&Sample::new([1.0, 2.0, 3.0, 4.0])?)?;
/// assert!((found.scale - 2.219_14).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 values.
pub fn qn_uncorrected(sample: &Sample) -> Result<Scale, Error> {
    sample.at_least(2)?;
    let half = sample.len() / 2 + 1;
    multiplied(QN_TO_SD, smallest_difference(sample.values(), half * (half - 1) / 2), sample.len())
}

/// The `rank`-th smallest difference of ascending values. Bisects on the bits
/// of the answer, which order numbers that are not negative, and counts the
/// differences up to it with two pointers: 64 passes at most.
fn smallest_difference(values: &[f64], rank: usize) -> f64 {
    let (mut low, mut high) = (0_u64, (values[values.len() - 1] - values[0]).to_bits());
    while low < high {
        let middle = low + (high - low) / 2;
        if differences_up_to(values, f64::from_bits(middle)) >= rank { high = middle } else { low = middle + 1 }
    }
    f64::from_bits(high)
}

fn differences_up_to(values: &[f64], limit: f64) -> usize {
    let mut start = 0;
    let mut count = 0;
    for (place, value) in values.iter().enumerate() {
        while value - values[start] > limit {
            start += 1;
        }
        count += place - start;
    }
    count
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn both_agree_with_sorting_all_differences(values in prop::collection::vec(0_u32..50, 2..30)) {
            let sample = Sample::new(values.iter().map(|value| f64::from(*value).sqrt())).unwrap();
            let values = sample.values();
            let count = values.len();

            let mut all: Vec<f64> = (0..count)
                .flat_map(|i| (0..i).map(move |j| (i, j)))
                .map(|(i, j)| (values[i] - values[j]).abs())
                .collect();
            all.sort_by(f64::total_cmp);
            let half = count / 2 + 1;
            prop_assert_eq!(qn_uncorrected(&sample).unwrap().scale, QN_TO_SD * all[half * (half - 1) / 2 - 1]);

            let mut medians: Vec<f64> = values
                .iter()
                .map(|x| {
                    let mut distances: Vec<f64> = values.iter().map(|y| (x - y).abs()).collect();
                    distances.sort_by(f64::total_cmp);
                    distances[count / 2]
                })
                .collect();
            medians.sort_by(f64::total_cmp);
            prop_assert_eq!(sn_uncorrected(&sample).unwrap().scale, SN_TO_SD * medians[count.div_ceil(2) - 1]);
        }
    }
}
