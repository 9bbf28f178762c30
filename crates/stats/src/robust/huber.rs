//! Huber's "proposal 2" with its exact factor.

use super::algorithm_a::{REACH, fixed_point};
use crate::numeric::{normal_cdf, normal_density};
use crate::{Error, Estimate, Sample};

/// Location and scale by Huber's proposal 2 (1964) with k = 1.5: what
/// Algorithm A computes, with the exact factor 1.133 39… in place of 1.134.
///
/// ```
/// use roundel_stats::{Sample, robust};
///
/// // By hand as for Algorithm A: none is drawn in, so the scale is the factor
/// // times √2, and the factor is 1.133 39….
/// let found = robust::huber(&Sample::new([3.0, 4.0, 5.0, 5.0, 6.0, 7.0])?)?;
/// assert_eq!(found.location, 5.0);
/// assert!((found.scale / 2_f64.sqrt() - 1.133_39).abs() < 1e-5);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// As for [`algorithm_a`](super::algorithm_a()).
pub fn huber(sample: &Sample) -> Result<Estimate, Error> {
    fixed_point(sample, factor())
}

/// 1/√(θ + k²(1 − θ) − 2kφ(k)) with θ = 2Φ(k) − 1.
fn factor() -> f64 {
    let theta = 2.0 * normal_cdf(REACH) - 1.0;
    1.0 / (theta + REACH * REACH * (1.0 - theta) - 2.0 * REACH * normal_density(REACH)).sqrt()
}
