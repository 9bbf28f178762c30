//! Quantiles of the distributions that limits are taken from, solved to the
//! last digits also far out in the tails.

use crate::Error;
use crate::distribution::Distribution;
use crate::error::finite;

const STEPS: usize = 200;
const REST: f64 = 2.0 * f64::EPSILON;

/// Quantile of the standard normal distribution.
///
/// ```
/// use roundel_stats::quantile;
///
/// // As tables print it.
/// assert!((quantile::normal(0.975)? - 1.960).abs() < 5e-4);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
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
/// ```
/// use roundel_stats::quantile;
///
/// // As tables print it.
/// assert!((quantile::chi_squared(10.0, 0.01)? - 23.209).abs() < 5e-4);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] unless 0 < `tail` < 1 and `freedom` is above zero.
pub fn chi_squared(freedom: f64, tail: f64) -> Result<f64, Error> {
    check_freedom(freedom)?;
    solve(&Distribution::ChiSquared(freedom), freedom, tail)
}

/// The value that F with the given degrees of freedom exceeds with the
/// probability `tail`.
///
/// ```
/// use roundel_stats::quantile;
///
/// // As tables print it.
/// assert!((quantile::fisher(9.0, 10.0, 0.05)? - 3.020).abs() < 5e-4);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] unless 0 < `tail` < 1 and both degrees of freedom
/// are above zero.
pub fn fisher(numerator: f64, denominator: f64, tail: f64) -> Result<f64, Error> {
    check_freedom(numerator)?;
    check_freedom(denominator)?;
    solve(&Distribution::Fisher(numerator, denominator), 1.0, tail)
}

/// The value that Student's t with `freedom` degrees of freedom exceeds with
/// the probability `tail`, below one half.
///
/// ```
/// use roundel_stats::quantile;
///
/// // As tables print it.
/// assert!((quantile::student(10.0, 0.005)? - 3.169).abs() < 5e-4);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] unless 0 < `tail` < 1/2 and `freedom` is above zero.
pub fn student(freedom: f64, tail: f64) -> Result<f64, Error> {
    check_freedom(freedom)?;
    if tail >= 0.5 {
        return Err(Error::OutOfRange("a probability"));
    }
    solve(&Distribution::Student(freedom), 1.0, tail)
}

/// The probability that χ² with `freedom` degrees of freedom exceeds `x`.
///
/// ```
/// use roundel_stats::quantile;
///
/// // With two degrees of freedom it is exp(−x/2).
/// assert!((quantile::chi_squared_tail(2.0, 6.0)? - (-3.0_f64).exp()).abs() < 1e-15);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] unless `freedom` is above zero and `x` is not
/// negative.
pub fn chi_squared_tail(freedom: f64, x: f64) -> Result<f64, Error> {
    check_freedom(freedom)?;
    match x {
        0.0 => Ok(1.0),
        x if x > 0.0 => finite(Distribution::ChiSquared(freedom).tail(x)),
        _ => Err(Error::OutOfRange("a sum of squares")),
    }
}

fn check(probability: f64) -> Result<(), Error> {
    if probability > 0.0 && probability < 1.0 { Ok(()) } else { Err(Error::OutOfRange("a probability")) }
}

fn check_freedom(freedom: f64) -> Result<(), Error> {
    if freedom > 0.0 && freedom.is_finite() { Ok(()) } else { Err(Error::OutOfRange("degrees of freedom")) }
}

/// Solves tail(x) = `tail` for x above zero: Newton's method on the
/// logarithms of both, halving where a step would leave what is known of the
/// place of the solution.
fn solve(distribution: &Distribution, start: f64, tail: f64) -> Result<f64, Error> {
    check(tail)?;
    let (mut low, mut high) = (0.0_f64, f64::INFINITY);
    let mut x = start;
    for _ in 0..STEPS {
        let reached = distribution.tail(x);
        if reached > tail {
            low = x
        } else {
            high = x
        }
        let step = libm::log(reached / tail) * reached / (distribution.density(x) * x);
        let newton = x * libm::exp(step);
        if (newton - x).abs() <= REST * x {
            return finite(newton);
        }
        x = match newton {
            newton if newton > low && newton < high => newton,
            _ if high.is_infinite() => 2.0 * x,
            _ => low + (high - low) / 2.0,
        };
        if (high - low) <= REST * x {
            return finite(x);
        }
    }
    Err(Error::NotConverged)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_are_those_that_tables_print() {
        // Common tables, to their printed digits (from memory).
        let cases = [
            (chi_squared(1.0, 0.05), 3.841, 5e-4),
            (chi_squared(10.0, 0.01), 23.209, 5e-4),
            (chi_squared(10.0, 0.95), 3.940, 5e-4),
            (student(1.0, 0.025), 12.706, 5e-4),
            (student(10.0, 0.005), 3.169, 5e-4),
            (fisher(9.0, 10.0, 0.05), 3.020, 5e-4),
            (fisher(2.0, 28.0, 0.01), 5.453, 5e-4),
            (normal(0.975), 1.960, 5e-4),
        ];

        for (got, expected, tolerance) in cases {
            assert!((got.unwrap() - expected).abs() <= tolerance, "{got:?} {expected}");
        }
    }

    #[test]
    fn the_tail_at_a_quantile_is_the_one_asked_for() {
        for tail in [1e-12, 1e-6, 0.01, 0.05, 0.4, 0.9, 0.999] {
            for freedom in [1.0, 2.0, 7.0, 40.0] {
                let back = chi_squared_tail(freedom, chi_squared(freedom, tail).unwrap()).unwrap();
                assert!((back / tail - 1.0).abs() < 1e-12, "χ²({freedom}) {tail}: {back}");
                for second in [1.0, 3.0, 30.0] {
                    let x = fisher(freedom, second, tail).unwrap();
                    let back = Distribution::Fisher(freedom, second).tail(x);
                    assert!((back / tail - 1.0).abs() < 1e-12, "F({freedom}, {second}) {tail}: {back}");
                }
            }
        }
    }

    #[test]
    fn what_is_no_probability_is_refused() {
        for tail in [0.0, 1.0, -0.1, f64::NAN] {
            assert!(chi_squared(3.0, tail).is_err());
        }
        assert!(chi_squared(0.0, 0.05).is_err());
        assert!(student(3.0, 0.5).is_err());
    }
}
