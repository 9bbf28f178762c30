//! Algorithm S: a robust pooled standard deviation.

use crate::error::finite;
use crate::numeric::sum;
use crate::{Error, Sample, Scale, Start, Used, quantile, summary};

const ITERATIONS: usize = 1000;
const REST: f64 = 1e-12;

/// Limit factor η and adjustment factor ξ of Algorithm S for standard
/// deviations with `freedom` degrees of freedom each: η = √(χ²(ν; 0.90)/ν),
/// ξ = 1/√(P(χ²(ν + 2) ≤ νη²) + 0.1 η²). ISO 5725-5 prints them rounded.
///
/// ```
/// use roundel_stats::robust;
///
/// // ISO 5725-5 prints 1.645 and 1.097 (from memory); the first is the normal
/// // quantile at 0.95.
/// let factors = robust::algorithm_s_factors(1)?;
/// assert!((factors.limit - 1.645).abs() < 5e-4);
/// assert!((factors.adjustment - 1.097).abs() < 5e-4);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] where `freedom` is zero.
pub fn algorithm_s_factors(freedom: u32) -> Result<Factors, Error> {
    let nu = f64::from(freedom);
    let eta = (quantile::chi_squared(nu, 0.10)? / nu).sqrt();
    let within = 1.0 - quantile::chi_squared_tail(nu + 2.0, nu * eta * eta)?;
    let xi = 1.0 / (within + 0.1 * eta * eta).sqrt();
    Ok(Factors { limit: eta, adjustment: xi })
}

/// Factors of Algorithm S.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Factors {
    /// η: standard deviations beyond η w* are drawn in to there.
    pub limit: f64,
    /// ξ: makes the root mean square of those drawn in agree with normal data.
    pub adjustment: f64,
}

/// Robust pooled standard deviation of laboratories whose `deviations` have
/// `freedom` degrees of freedom each (1 for ranges of duplicates), iterated to
/// its fixed point (ISO 5725-5, ISO 13528:2022 C.4). Zero where so many of
/// them are zero that the iteration draws the others in to zero.
///
/// ```
/// use roundel_stats::{Sample, robust};
///
/// // Equal standard deviations are not drawn in: w* is the adjustment factor.
/// let found = robust::algorithm_s(&Sample::new([1.0, 1.0, 1.0])?, 1)?;
/// assert!((found.scale - 1.097).abs() < 5e-4);
/// assert_eq!(found.used.count, 3);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] for a negative deviation or no degree of freedom;
/// [`Error::NotConverged`] when the iteration does not come to rest.
pub fn algorithm_s(deviations: &Sample, freedom: u32) -> Result<Scale, Error> {
    if deviations.minimum() < 0.0 {
        return Err(Error::OutOfRange("a standard deviation"));
    }
    let Factors { limit: eta, adjustment: xi } = algorithm_s_factors(freedom)?;
    let count = deviations.len() as f64;
    let pooled = |limit: f64| {
        let squares = deviations.values().iter().map(|w| w.min(limit)).map(|w| w * w);
        xi * (sum(squares) / count).sqrt()
    };
    let nearest = deviations.values().iter().copied().find(|w| *w > 0.0).unwrap_or(f64::INFINITY);
    let (mut start, mut now) = (Start::Median, summary::median(deviations));
    if now == 0.0 {
        (start, now) = (Start::RootMeanSquare, pooled(f64::INFINITY));
    }
    let rests = |scale: f64, iterations: usize| {
        let used = Used { count: deviations.len(), iterations, start: Some(start) };
        Ok(Scale { scale: finite(scale)?, used })
    };
    for iteration in 1..=ITERATIONS {
        let next = pooled(eta * now);
        let shrinking = next < now;
        let is_at_rest = (next - now).abs() <= REST * next;
        now = next;
        if shrinking && eta * now < nearest {
            // From here each step shrinks it by the same factor.
            return rests(0.0, iteration);
        }
        if is_at_rest {
            return rests(now, iteration);
        }
    }
    Err(Error::NotConverged)
}
