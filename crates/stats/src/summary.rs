//! Mean, standard deviation, median and quartiles.

use crate::error::finite;
use crate::numeric::{middle, sum};
use crate::sample::spread;
use crate::{Error, Estimate, Sample, Scale, Used};

/// Makes the interquartile range of normal data their standard deviation:
/// 1 / (2 × 0.674 49), rounded as in ISO 13528:2022 C.2.3 (from memory).
pub const IQR_TO_SD: f64 = 0.7413;

/// Arithmetic mean Σx/p (ISO 3534-1, from memory), in the unit of the values; with
/// compensated sums and a second pass over the deviations.
///
/// ```
/// use roundel_stats::{Sample, summary};
///
/// assert_eq!(summary::mean(&Sample::new([1.0, 2.0, 6.0])?)?, 3.0);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] when the sum exceeds the range of a double.
pub fn mean(sample: &Sample) -> Result<f64, Error> {
    let count = sample.len() as f64;
    let first = finite(sum(sample.values().iter().copied()) / count)?;
    finite(first + sum(sample.values().iter().map(|x| x - first)) / count)
}

/// Standard deviation √(Σ(x − mean)²/(p − 1)), in the unit of the values. It is made
/// in two passes, so that a large common offset costs no digits. It resists no
/// outlier.
///
/// ```
/// use roundel_stats::{Sample, summary};
///
/// // By hand: mean 5, sum of squares 32, seven degrees of freedom.
/// let sample = Sample::new([2.0, 4.0, 4.0, 4.0, 5.0, 5.0, 7.0, 9.0])?;
/// let s = summary::standard_deviation(&sample)?;
/// assert!((s * s - 32.0 / 7.0).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 values; [`Error::OutOfRange`] when squares
/// exceed the range of a double.
pub fn standard_deviation(sample: &Sample) -> Result<f64, Error> {
    sample.at_least(2)?;
    let centre = mean(sample)?;
    let squares = sum(sample.values().iter().map(|x| (x - centre) * (x - centre)));
    let largest = sample.minimum().abs().max(sample.maximum().abs());
    finite(spread((squares / (sample.len() as f64 - 1.0)).sqrt(), largest))
}

/// Mean and standard deviation together.
///
/// ```
/// use roundel_stats::{Sample, summary};
///
/// let found = summary::classical(&Sample::new([1.0, 2.0, 3.0])?)?;
/// assert_eq!((found.location, found.scale, found.used.count), (2.0, 1.0, 3));
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// As for [`standard_deviation`].
pub fn classical(sample: &Sample) -> Result<Estimate, Error> {
    let scale = standard_deviation(sample)?;
    Ok(Estimate { location: mean(sample)?, scale, used: Used::directly(sample.len()) })
}

/// Middle value, or the mean of the two middle values.
///
/// ```
/// use roundel_stats::{Sample, summary};
///
/// assert_eq!(summary::median(&Sample::new([10.0, 1.0, 2.0, 3.0])?), 2.5);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
#[must_use]
pub fn median(sample: &Sample) -> f64 {
    middle(sample.values())
}

/// Quantile of type 7: linear between the order statistics at
/// h = (p − 1) `fraction` + 1 (Hyndman and Fan 1996; the rule of common
/// spreadsheets, "inclusive"). `fraction` is taken between 0 and 1.
///
/// ```
/// use roundel_stats::{Sample, summary};
///
/// // h = 3 × 0.25 + 1 = 1.75: three quarters from 1 to 2.
/// assert_eq!(summary::quantile(&Sample::new([1.0, 2.0, 3.0, 4.0])?, 0.25), 1.75);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
#[must_use]
pub fn quantile(sample: &Sample, fraction: f64) -> f64 {
    let values = sample.values();
    let position = (values.len() as f64 - 1.0) * fraction.clamp(0.0, 1.0);
    let below = position.floor() as usize;
    let above = (below + 1).min(values.len() - 1);
    values[below] + (position - position.floor()) * (values[above] - values[below])
}

/// Normalised interquartile range, 0.7413 (Q3 − Q1) with quartiles of type 7
/// (ISO 13528:2022 C.2.3, from memory; the standard leaves the kind of
/// quartile open). Zero when the quartiles are equal.
///
/// ```
/// use roundel_stats::{Sample, summary};
///
/// // Quartiles 2 and 4.
/// let found = summary::niqr(&Sample::new([1.0, 2.0, 3.0, 4.0, 5.0])?)?;
/// assert!((found.scale - 0.7413 * 2.0).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 values.
pub fn niqr(sample: &Sample) -> Result<Scale, Error> {
    sample.at_least(2)?;
    let (low, high) = (quantile(sample, 0.25), quantile(sample, 0.75));
    let scale = finite(spread(IQR_TO_SD * (high - low), low.abs().max(high.abs())))?;
    Ok(Scale { scale, used: Used::directly(sample.len()) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_reach_from_the_smallest_to_the_largest_value() {
        let sample = Sample::new([3.0, 1.0, 2.0]).unwrap();

        let got = [-1.0, 0.0, 0.25, 0.5, 1.0, 2.0].map(|fraction| quantile(&sample, fraction));

        assert_eq!(got, [1.0, 1.0, 1.5, 2.0, 3.0, 3.0]);
    }
}
