//! Scores of a result and how they are judged (ISO 13528:2022 clause 9,
//! formulae from memory).
//!
//! Limits are decided with a relative guard of 1e-9: (72 − 50)/11 must count
//! as 2 whatever its last bit.

use crate::Error;
use crate::error::finite;

/// Relative guard of all decisions on a limit.
pub const GUARD: f64 = 1e-9;

/// Whether `value` is at most `limit`, with the guard: a value on the limit
/// is within.
///
/// ```
/// use roundel_stats::score;
///
/// assert!(score::at_most((72.0 - 50.0) / 11.0, 2.0));
/// assert!(!score::at_most(2.000_001, 2.0));
/// ```
#[must_use]
pub fn at_most(value: f64, limit: f64) -> bool {
    value <= limit + GUARD * limit.abs()
}

/// Whether `value` is below `limit`, with the guard: a value on the limit is
/// not below.
///
/// ```
/// use roundel_stats::score;
///
/// assert!(!score::below(3.0 - 1e-12, 3.0));
/// assert!(score::below(2.999_999, 3.0));
/// ```
#[must_use]
pub fn below(value: f64, limit: f64) -> bool {
    value < limit - GUARD * limit.abs()
}

/// D = x − x_pt, in the unit of the result.
///
/// ```
/// use roundel_stats::score;
///
/// assert_eq!(score::difference(12.0, 10.0), Ok(2.0));
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] when the difference exceeds the range of a double.
pub fn difference(x: f64, assigned_value: f64) -> Result<f64, Error> {
    finite(x - assigned_value)
}

/// D % = 100 (x − x_pt)/x_pt.
///
/// ```
/// use roundel_stats::score;
///
/// assert_eq!(score::difference_percent(12.0, 10.0), Ok(20.0));
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] where the assigned value is zero.
pub fn difference_percent(x: f64, assigned_value: f64) -> Result<f64, Error> {
    if assigned_value == 0.0 {
        return Err(Error::OutOfRange("an assigned value of zero"));
    }
    finite(100.0 * (x - assigned_value) / assigned_value)
}

/// z = (x − x_pt)/σ_pt (9.4).
///
/// ```
/// use roundel_stats::score;
///
/// assert_eq!(score::z(72.0, 50.0, 11.0), Ok(2.0));
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] where `sigma_pt` is not above zero.
pub fn z(x: f64, assigned_value: f64, sigma_pt: f64) -> Result<f64, Error> {
    above_zero(sigma_pt)?;
    finite((x - assigned_value) / sigma_pt)
}

/// z′ = (x − x_pt)/√(σ_pt² + u²(x_pt)) (9.5).
///
/// ```
/// use roundel_stats::score;
///
/// // √(3² + 4²) = 5.
/// assert_eq!(score::z_prime(60.0, 50.0, 3.0, 4.0), Ok(2.0));
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] where `sigma_pt` is not above zero.
pub fn z_prime(x: f64, assigned_value: f64, sigma_pt: f64, standard_uncertainty: f64) -> Result<f64, Error> {
    above_zero(sigma_pt)?;
    z(x, assigned_value, sigma_pt.hypot_of(standard_uncertainty))
}

/// ζ = (x − x_pt)/√(u²(x) + u²(x_pt)) (9.6), with standard uncertainties.
///
/// ```
/// use roundel_stats::score;
///
/// // √(3² + 4²) = 5.
/// assert_eq!(score::zeta(60.0, 50.0, 3.0, 4.0), Ok(2.0));
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] where both uncertainties are zero.
pub fn zeta(x: f64, assigned_value: f64, own_uncertainty: f64, standard_uncertainty: f64) -> Result<f64, Error> {
    z(x, assigned_value, own_uncertainty.hypot_of(standard_uncertainty))
        .map_err(|_| Error::OutOfRange("the uncertainty"))
}

/// E_n = (x − x_pt)/√(U²(x) + U²(x_pt)) (9.7), with expanded uncertainties of
/// the same coverage factor, 2.
///
/// ```
/// use roundel_stats::score;
///
/// // √(6² + 8²) = 10.
/// assert_eq!(score::e_n(60.0, 50.0, 6.0, 8.0), Ok(1.0));
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] where both uncertainties are zero.
pub fn e_n(x: f64, assigned_value: f64, own_expanded: f64, expanded_uncertainty: f64) -> Result<f64, Error> {
    zeta(x, assigned_value, own_expanded, expanded_uncertainty)
}

/// P_A = 100 (x − x_pt)/δ_E: the difference in per cent of the largest
/// permitted error δ_E (9.3).
///
/// ```
/// use roundel_stats::score;
///
/// assert_eq!(score::permitted_percent(11.0, 10.0, 2.0), Ok(50.0));
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] where `permitted_error` is not above zero.
pub fn permitted_percent(x: f64, assigned_value: f64, permitted_error: f64) -> Result<f64, Error> {
    z(x, assigned_value, permitted_error).map_err(|_| Error::OutOfRange("the permitted error"))?;
    finite(100.0 * (x - assigned_value) / permitted_error)
}

/// z_L = (x − x_pt)/σ_L: z by a laboratory's own criterion, for its own eyes.
///
/// ```
/// use roundel_stats::score;
///
/// assert_eq!(score::z_own(11.0, 10.0, 0.5), Ok(2.0));
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] where `own_sigma` is not above zero.
pub fn z_own(x: f64, assigned_value: f64, own_sigma: f64) -> Result<f64, Error> {
    z(x, assigned_value, own_sigma)
}

/// z_ln = ln(x/x_pt)/σ_ln with σ_ln = √ln(1 + RSD²), the standard deviation
/// of the logarithms of log-normal results with the relative standard
/// deviation RSD (a share, not per cent).
///
/// ```
/// use roundel_stats::score;
///
/// // ln 2/√ln 1.16 = 0.693 147/0.385 253, by a pocket calculator.
/// assert!((score::z_log(20.0, 10.0, 0.4)? - 1.7992).abs() < 1e-4);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] unless `x`, `assigned_value` and
/// `relative_sd` are above zero: there is no logarithm of zero.
pub fn z_log(x: f64, assigned_value: f64, relative_sd: f64) -> Result<f64, Error> {
    if !(x > 0.0 && assigned_value > 0.0) {
        return Err(Error::OutOfRange("a value that has no logarithm"));
    }
    above_zero(relative_sd)?;
    let sigma = libm::log1p(relative_sd * relative_sd).sqrt();
    finite((libm::log(x) - libm::log(assigned_value)) / sigma)
}

/// How a score stands to its two limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Judgement {
    /// |score| at most the warning limit.
    Acceptable,
    /// Between the limits.
    Questionable,
    /// |score| at or above the action limit.
    Unacceptable,
}

/// Judges z, z′ or ζ: |s| ≤ `warning`, |s| < `action`, or beyond (9.4.2).
///
/// ```
/// use roundel_stats::score::{Judgement, judge};
///
/// assert_eq!(judge(-2.0, 2.0, 3.0), Judgement::Acceptable);
/// assert_eq!(judge(2.5, 2.0, 3.0), Judgement::Questionable);
/// assert_eq!(judge(3.0, 2.0, 3.0), Judgement::Unacceptable);
/// ```
#[must_use]
pub fn judge(score: f64, warning: f64, action: f64) -> Judgement {
    if at_most(score.abs(), warning) {
        Judgement::Acceptable
    } else if below(score.abs(), action) {
        Judgement::Questionable
    } else {
        Judgement::Unacceptable
    }
}

/// Judges a bound, the largest z that a result "below a limit" can have: at
/// or below −`action` it is unacceptable, at or below −`warning`
/// questionable, else nothing speaks against it.
///
/// ```
/// use roundel_stats::score::{Judgement, judge_bound};
///
/// assert_eq!(judge_bound(-2.27, 2.0, 3.0), Judgement::Questionable);
/// assert_eq!(judge_bound(1.0, 2.0, 3.0), Judgement::Acceptable);
/// ```
#[must_use]
pub fn judge_bound(bound: f64, warning: f64, action: f64) -> Judgement {
    if !below(-bound, action) {
        Judgement::Unacceptable
    } else if !below(-bound, warning) {
        Judgement::Questionable
    } else {
        Judgement::Acceptable
    }
}

/// Whether u(x_pt) is negligible against σ_pt: at most 0.3 σ_pt (9.2; the
/// standard writes "<", here the limit itself is negligible).
///
/// ```
/// use roundel_stats::score;
///
/// assert!(score::uncertainty_is_negligible(0.3, 1.0));
/// assert!(!score::uncertainty_is_negligible(0.31, 1.0));
/// ```
#[must_use]
pub fn uncertainty_is_negligible(standard_uncertainty: f64, sigma_pt: f64) -> bool {
    at_most(standard_uncertainty / sigma_pt, 0.3)
}

fn above_zero(sigma_pt: f64) -> Result<(), Error> {
    if sigma_pt > 0.0 { Ok(()) } else { Err(Error::OutOfRange("sigma_pt")) }
}

/// √(a² + b²) as the formulae write it.
trait Quadrature {
    fn hypot_of(self, other: Self) -> Self;
}

impl Quadrature for f64 {
    fn hypot_of(self, other: f64) -> f64 {
        (self * self + other * other).sqrt()
    }
}
