//! Median with the median absolute deviation, or with the quartiles.

use super::Estimate;
use crate::error::finite;
use crate::numeric::midpoint;
use crate::sample::spread;
use crate::{Error, Sample, summary};

/// Makes the median absolute deviation of normal data their standard
/// deviation: 1/0.6745 = 1.4826, printed as 1.483 in ISO 13528:2022 C.2.2
/// (from memory).
pub const MAD_TO_SD: f64 = 1.483;

/// Median absolute deviation from the median, unscaled. Zero when more than
/// half of the values are equal.
#[must_use]
pub fn mad(sample: &Sample) -> f64 {
    let centre = summary::median(sample);
    spread(middle_deviation(sample.values(), centre), centre)
}

/// The middle one of the deviations from `centre`, which ascend to both sides
/// of it: merged up to the middle, neither sorted nor stored.
fn middle_deviation(values: &[f64], centre: f64) -> f64 {
    let (low, high) = values.split_at(values.partition_point(|x| *x < centre));
    let mut below = low.iter().rev().map(|x| (x - centre).abs()).peekable();
    let mut above = high.iter().map(|x| (x - centre).abs()).peekable();
    let mut next = || match (below.peek(), above.peek()) {
        (Some(x), Some(y)) if x <= y => below.next(),
        (_, Some(_)) => above.next(),
        _ => below.next(),
    };
    let half = values.len() / 2;
    let before = if half > 0 { (0..half).fold(None, |_, _| next()) } else { None };
    let upper = next().unwrap_or(0.0);
    match before {
        Some(before) if values.len().is_multiple_of(2) => midpoint(before, upper),
        _ => upper,
    }
}

/// MADe = 1.483 × the median absolute deviation (ISO 13528:2022 C.2.2, from
/// memory). Zero when more than half of the values are equal.
///
/// # Errors
///
/// [`Error::TooFew`] below 2 values.
pub fn made(sample: &Sample) -> Result<f64, Error> {
    sample.at_least(2)?;
    finite(MAD_TO_SD * mad(sample))
}

/// Median and MADe.
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
/// # Errors
///
/// [`Error::TooFew`] below 2 values; [`Error::NoSpread`] when the quartiles
/// are equal.
pub fn median_niqr(sample: &Sample) -> Result<Estimate, Error> {
    with_spread(summary::median(sample), summary::niqr(sample)?)
}

fn with_spread(location: f64, scale: f64) -> Result<Estimate, Error> {
    if scale == 0.0 {
        return Err(Error::NoSpread);
    }
    Ok(Estimate { location, scale })
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
