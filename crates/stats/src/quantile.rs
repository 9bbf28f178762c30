//! Quantiles of the distributions that limits are taken from.
//!
//! The library's distribution functions are good to 1e-11 or better, its
//! quantiles are not in the tails; so they serve as a start here and are
//! polished by Newton's method on the logarithm of the tail.

use statrs::distribution::{ChiSquared, Continuous, ContinuousCDF, FisherSnedecor, StudentsT};

use crate::Error;
use crate::error::finite;

const STEPS: usize = 100;
const REST: f64 = 4.0 * f64::EPSILON;

/// Quantile of the standard normal distribution.
///
/// # Errors
///
/// [`Error::OutOfRange`] unless 0 < `probability` < 1.
pub fn normal(probability: f64) -> Result<f64, Error> {
    check(probability)?;
    finite(crate::numeric::normal_quantile(probability))
}

/// The value that χ² with `freedom` degrees of freedom exceeds with the
/// probability `tail`.
///
/// # Errors
///
/// [`Error::OutOfRange`] unless 0 < `tail` < 1 and `freedom` is above zero.
pub fn chi_squared(freedom: f64, tail: f64) -> Result<f64, Error> {
    let distribution =
        ChiSquared::new(freedom).map_err(|_| Error::OutOfRange("degrees of freedom"))?;
    polished(&distribution, tail)
}

/// The value that F with the given degrees of freedom exceeds with the
/// probability `tail`.
///
/// # Errors
///
/// [`Error::OutOfRange`] unless 0 < `tail` < 1 and both degrees of freedom
/// are above zero.
pub fn fisher(numerator: f64, denominator: f64, tail: f64) -> Result<f64, Error> {
    let distribution = FisherSnedecor::new(numerator, denominator)
        .map_err(|_| Error::OutOfRange("degrees of freedom"))?;
    polished(&distribution, tail)
}

/// The value that Student's t with `freedom` degrees of freedom exceeds with
/// the probability `tail`, at most one half.
///
/// # Errors
///
/// [`Error::OutOfRange`] unless 0 < `tail` < 1/2 and `freedom` is above zero.
pub fn student(freedom: f64, tail: f64) -> Result<f64, Error> {
    if tail >= 0.5 {
        return Err(Error::OutOfRange("a probability"));
    }
    let distribution =
        StudentsT::new(0.0, 1.0, freedom).map_err(|_| Error::OutOfRange("degrees of freedom"))?;
    polished(&distribution, tail)
}

fn check(probability: f64) -> Result<(), Error> {
    if probability > 0.0 && probability < 1.0 {
        Ok(())
    } else {
        Err(Error::OutOfRange("a probability"))
    }
}

/// Solves sf(x) = `tail` for x above zero.
fn polished<D>(distribution: &D, tail: f64) -> Result<f64, Error>
where
    D: ContinuousCDF<f64, f64> + Continuous<f64, f64>,
{
    check(tail)?;
    let mut x = distribution.inverse_cdf(1.0 - tail);
    if !(x > 0.0 && x.is_finite()) {
        x = 1.0;
    }
    let mut before = f64::INFINITY;
    for _ in 0..STEPS {
        let survival = distribution.sf(x);
        let step = libm::log(survival / tail) * survival / distribution.pdf(x);
        let next = if x + step > 0.0 { x + step } else { x / 2.0 };
        if !next.is_finite() {
            return Err(Error::NotConverged);
        }
        let moved = (next - x).abs();
        x = next;
        // Once it no longer comes nearer, only rounding is left.
        if moved <= REST * x || (moved >= before && moved <= 1e-9 * x) {
            return Ok(x);
        }
        before = moved;
    }
    Err(Error::NotConverged)
}
