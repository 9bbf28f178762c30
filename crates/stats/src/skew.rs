//! Skewness that outliers do not decide.

use crate::numeric::{ascending, middle};
use crate::{Error, Sample, Used, summary};

/// Medcouple (Brys, Hubert and Struyf 2004): the median of
/// h(x, y) = ((y − m) − (m − x))/(y − x) over all x ≤ m ≤ y about the median
/// m, between −1 and 1, positive for a long tail to the right. For values
/// that equal the median h is −1, 0 or 1 by their ranks. Resists a quarter of
/// outliers; O(p²) steps.
///
/// ```
/// use roundel_stats::{Sample, skew};
///
/// // By hand: h is −1, −1, 0, 1/7, 1/3, 3/5, 5/7, 1, 1.
/// let found = skew::medcouple(&Sample::new([1.0, 2.0, 4.0, 8.0, 16.0])?)?;
/// assert!((found.medcouple - 1.0 / 3.0).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 3 values; [`Error::NoSpread`] where all are equal.
pub fn medcouple(sample: &Sample) -> Result<Skewness, Error> {
    sample.at_least(3)?;
    if sample.minimum() == sample.maximum() {
        return Err(Error::NoSpread);
    }
    let centre = summary::median(sample);
    let values = sample.values();
    let below = &values[..values.partition_point(|x| *x <= centre)];
    let above = &values[values.partition_point(|x| *x < centre)..];
    let ties = below.len() + above.len() - values.len();
    let mut kernels = Vec::with_capacity(below.len() * above.len());
    kernels.extend(above.iter().enumerate().flat_map(|(place, y)| {
        below.iter().rev().enumerate().map(move |(other, x)| {
            let (x, y) = (x - centre, y - centre);
            if x == 0.0 && y == 0.0 {
                // Ranks among the tied values, from opposite ends.
                return ((place + other + 1) as f64 - ties as f64).signum() * f64::from(place + other + 1 != ties);
            }
            (y + x) / (y - x)
        })
    }));
    let medcouple = crate::error::finite(middle(&ascending(kernels)))?;
    Ok(Skewness { medcouple, used: Used::directly(sample.len()) })
}

/// A skewness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Skewness {
    /// Between −1 and 1.
    pub medcouple: f64,
    /// The number of values.
    pub used: Used,
}
