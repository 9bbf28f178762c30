//! Algorithm S: a robust pooled standard deviation.

use crate::error::finite;
use crate::numeric::sum;
use crate::{Error, Sample, quantile, summary};

const ITERATIONS: usize = 1000;
const REST: f64 = 1e-12;

/// Limit factor η and adjustment factor ξ of Algorithm S for standard
/// deviations with `freedom` degrees of freedom each: η = √(χ²(ν; 0.90)/ν),
/// ξ = 1/√(P(χ²(ν + 2) ≤ νη²) + 0.1 η²). ISO 5725-5 prints them rounded.
///
/// # Errors
///
/// [`Error::OutOfRange`] where `freedom` is zero.
pub fn algorithm_s_factors(freedom: u32) -> Result<(f64, f64), Error> {
    let nu = f64::from(freedom);
    let eta = (quantile::chi_squared(nu, 0.10)? / nu).sqrt();
    let within = 1.0 - quantile::chi_squared_tail(nu + 2.0, nu * eta * eta)?;
    let xi = 1.0 / (within + 0.1 * eta * eta).sqrt();
    Ok((eta, xi))
}

/// Robust pooled standard deviation of laboratories whose `deviations` have
/// `freedom` degrees of freedom each (1 for ranges of duplicates), iterated to
/// its fixed point (ISO 5725-5, ISO 13528:2022 C.4). Zero where so many of
/// them are zero that the iteration draws the others in to zero.
///
/// # Errors
///
/// [`Error::OutOfRange`] for a negative deviation or no degree of freedom;
/// [`Error::NotConverged`] when the iteration does not come to rest.
pub fn algorithm_s(deviations: &Sample, freedom: u32) -> Result<f64, Error> {
    if deviations.minimum() < 0.0 {
        return Err(Error::OutOfRange("a standard deviation"));
    }
    let (eta, xi) = algorithm_s_factors(freedom)?;
    let count = deviations.len() as f64;
    let pooled = |limit: f64| {
        let squares = deviations.values().iter().map(|w| w.min(limit)).map(|w| w * w);
        xi * (sum(squares) / count).sqrt()
    };
    let nearest = deviations.values().iter().copied().find(|w| *w > 0.0).unwrap_or(f64::INFINITY);
    let mut now = summary::median(deviations);
    if now == 0.0 {
        now = pooled(f64::INFINITY);
    }
    for _ in 0..ITERATIONS {
        let next = pooled(eta * now);
        let shrinking = next < now;
        let rests = (next - now).abs() <= REST * next;
        now = next;
        if shrinking && eta * now < nearest {
            // From here each step shrinks it by the same factor.
            return Ok(0.0);
        }
        if rests {
            return finite(now);
        }
    }
    Err(Error::NotConverged)
}
