//! Median with the median absolute deviation, or with the quartiles.

use crate::error::finite;
use crate::numeric::midpoint;
use crate::sample::spread;
use crate::{Error, Estimate, Sample, Scale, Used, summary};

/// Makes the median absolute deviation of normal data their standard
/// deviation: 1/0.6745 = 1.4826, printed as 1.483 in ISO 13528:2022 C.2.2
/// (from memory).
pub const MAD_TO_SD: f64 = 1.483;

/// Median absolute deviation from the median, unscaled. Zero when more than
/// half of the values are equal.
///
/// ```
/// use roundel_stats::{Sample, robust};
///
/// // Median 4; deviations 0, 2, 3, 4, 12.
/// assert_eq!(robust::mad(&Sample::new([1.0, 2.0, 4.0, 8.0, 16.0])?), 3.0);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
#[must_use]
pub fn mad(sample: &Sample) -> f64 {
    let centre = summary::median(sample);
    spread(middle_deviation(sample.values(), centre), centre)
}

/// The middle one of the deviations from `centre`, which ascend to both sides
/// of it: merged up to the middle, neither sorted nor stored.
fn middle_deviation(values: &[f64], centre: f64) -> f64 {
    let mut high = values.partition_point(|x| *x < centre);
    let mut low = high;
    let mut next = || {
        let below = if low > 0 { (values[low - 1] - centre).abs() } else { f64::INFINITY };
        let above = values.get(high).map_or(f64::INFINITY, |x| (x - centre).abs());
        if below <= above {
            low -= 1
        } else {
            high += 1
        }
        below.min(above)
    };
    let half = values.len() / 2;
    let before = (0..half).fold(0.0, |_, _| next());
    let upper = next();
    if values.len().is_multiple_of(2) { midpoint(before, upper) } else { upper }
}

/// MADe = 1.483 × the median absolute deviation (ISO 13528:2022 C.2.2, from
/// memory). Zero when more than half of the values are equal.
///
/// ```
/// use roundel_stats::{Sample, robust};
///
/// // Median 4; deviations 0, 2, 3, 4, 12.
/// let found = robust::made(&Sample::new([1.0, 2.0, 4.0, 8.0, 16.0])?)?;
/// assert_eq!(found.scale, 1.483 * 3.0);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 values.
pub fn made(sample: &Sample) -> Result<Scale, Error> {
    sample.at_least(2)?;
    Ok(Scale { scale: finite(MAD_TO_SD * mad(sample))?, used: Used::directly(sample.len()) })
}

/// Median and MADe.
///
/// ```
/// use roundel_stats::{Error, Sample, robust};
///
/// let found = robust::median_made(&Sample::new([1.0, 2.0, 4.0, 8.0, 16.0])?)?;
/// assert_eq!((found.location, found.scale, found.used.count), (4.0, 1.483 * 3.0, 5));
/// assert_eq!(robust::median_made(&Sample::new([5.0, 5.0, 5.0, 9.0])?), Err(Error::NoSpread));
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 values; [`Error::NoSpread`] when more than half
/// of the values are equal.
pub fn median_made(sample: &Sample) -> Result<Estimate, Error> {
    with_spread(summary::median(sample), made(sample)?)
}

/// Median and normalised interquartile range.
///
/// ```
/// use roundel_stats::{Sample, robust};
///
/// // Quartiles 2 and 4.
/// let found = robust::median_niqr(&Sample::new([1.0, 2.0, 3.0, 4.0, 50.0])?)?;
/// assert_eq!(found.location, 3.0);
/// assert!((found.scale - 0.7413 * 2.0).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 values; [`Error::NoSpread`] when the quartiles
/// are equal.
pub fn median_niqr(sample: &Sample) -> Result<Estimate, Error> {
    with_spread(summary::median(sample), summary::niqr(sample)?)
}

fn with_spread(location: f64, found: Scale) -> Result<Estimate, Error> {
    let Scale { scale, used } = found;
    if scale == 0.0 {
        return Err(Error::NoSpread);
    }
    Ok(Estimate { location, scale, used })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::{ascending, middle};
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn merging_agrees_with_sorting_the_deviations(values in prop::collection::vec(-40_i32..40, 1..30)) {
            let sample = Sample::new(values.into_iter().map(|x| f64::from(x) / 7.0)).unwrap();
            let centre = summary::median(&sample);

            let sorted = middle(&ascending(sample.values().iter().map(|x| (x - centre).abs())));

            prop_assert_eq!(mad(&sample), spread(sorted, centre));
        }
    }
}
