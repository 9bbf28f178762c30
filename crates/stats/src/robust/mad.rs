//! Median with the median absolute deviation, or with the quartiles.

use super::Estimate;
use crate::error::finite;
use crate::numeric::{ascending, middle};
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
    spread(middle(&ascending(sample.values().iter().map(|x| (x - centre).abs()))), centre)
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
