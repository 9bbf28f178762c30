//! Robust location and scale (ISO 13528:2022 Annex C).

mod algorithm_a;
mod algorithm_s;
mod differences;
mod hampel;
mod huber;
mod mad;
mod q_method;
mod sn_qn;

pub use algorithm_a::{algorithm_a, winsorise_once};
pub use algorithm_s::{Factors, algorithm_s, algorithm_s_factors};
pub use hampel::{Hampel, hampel, hampel_roots};
pub use huber::huber;
pub use mad::{MAD_TO_SD, mad, made, median_made, median_niqr};
pub use q_method::{QMethod, QReplicates, q_method, q_method_replicates};
pub use sn_qn::{qn, qn_uncorrected, sn, sn_uncorrected};

use crate::{Error, Estimate, Sample};

/// Standard uncertainty of a robust mean, 1.25 s*/√p (ISO 13528:2022 7.7.3,
/// from memory; 1.25 is √(π/2) rounded).
///
/// ```
/// use roundel_stats::robust;
///
/// assert!((robust::standard_uncertainty(0.8, 100)? - 0.1).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] where `count` is zero.
pub fn standard_uncertainty(scale: f64, count: usize) -> Result<f64, Error> {
    if count == 0 {
        return Err(Error::TooFew { needed: 1, given: 0 });
    }
    crate::error::finite(1.25 * scale / (count as f64).sqrt())
}

/// Q method and Hampel's location with it: the pair that ISO 13528:2022 C.5
/// puts together.
///
/// ```
/// use roundel_stats::{Sample, robust};
///
/// // Between symmetric values; the scale as in the example of the Q method.
/// let found = robust::q_hampel(&Sample::new([1.0, 2.0, 3.0, 4.0])?)?;
/// assert!((found.location - 2.5).abs() < 1e-12);
/// assert!((found.scale - 1.0 / (2_f64.sqrt() * 0.318_639_363_964_375)).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 values, [`Error::NoSpread`] where the Q method's
/// standard deviation is zero.
pub fn q_hampel(sample: &Sample) -> Result<Estimate, Error> {
    let scale = q_method(sample)?.scale;
    let Hampel { location, used, .. } = hampel(sample, scale)?;
    Ok(Estimate { location, scale, used })
}
