//! Horwitz's function: reproducibility as a function of concentration.

use crate::Error;
use crate::error::finite;
use crate::score::GUARD;

/// Below this mass fraction the relative standard deviation is 22 %
/// (Thompson 2000, Analyst 125, 385).
pub const LOW: f64 = 1.2e-7;
/// Above this mass fraction the standard deviation is 0.01 √c.
pub const HIGH: f64 = 0.138;

/// Standard deviation as a mass fraction, from a mass fraction `c` above
/// zero, in three parts (Thompson 2000; ISO 13528:2022 8.4): 0.22 c below
/// 1.2e-7, 0.02 c^0.8495 to 0.138, 0.01 √c above.
///
/// ```
/// use roundel_stats::horwitz;
///
/// assert!((horwitz::standard_deviation(1e-9)? / 0.22e-9 - 1.0).abs() < 1e-12);
/// assert_eq!(horwitz::standard_deviation(0.25)?, 0.005);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] where `c` is not above zero.
pub fn standard_deviation(c: f64) -> Result<f64, Error> {
    check(c)?;
    finite(if c < LOW * (1.0 - GUARD) {
        0.22 * c
    } else if c <= HIGH * (1.0 + GUARD) {
        0.02 * libm::pow(c, 0.8495)
    } else {
        0.01 * c.sqrt()
    })
}

/// σ_pt by Horwitz's function in the unit of `value`, where one unit is the
/// mass fraction `per_unit` (1e-12 for ng/L in water).
///
/// ```
/// use roundel_stats::horwitz;
///
/// // 100 ng/L in water: 22 %.
/// assert!((horwitz::in_unit(100.0, 1e-12)? - 22.0).abs() < 1e-9);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] where `value` or `per_unit` is not above zero.
pub fn in_unit(value: f64, per_unit: f64) -> Result<f64, Error> {
    check(per_unit)?;
    finite(standard_deviation(value * per_unit)? / per_unit)
}

/// Predicted relative standard deviation in per cent, 2 c^−0.15 everywhere
/// (AOAC Official Methods, Appendix F).
///
/// ```
/// use roundel_stats::horwitz;
///
/// // 2 × 10^1.5.
/// assert!((horwitz::predicted_cv_percent(1e-10)? - 63.2456).abs() < 1e-4);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] where `c` is not above zero.
pub fn predicted_cv_percent(c: f64) -> Result<f64, Error> {
    check(c)?;
    finite(2.0 * libm::pow(c, -0.15))
}

/// The same, but 22 % below a mass fraction of 1.2e-7.
///
/// ```
/// use roundel_stats::horwitz;
///
/// assert_eq!(horwitz::predicted_cv_percent_capped(1e-10)?, 22.0);
/// assert_eq!(horwitz::predicted_cv_percent_capped(1.0)?, 2.0);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] where `c` is not above zero.
pub fn predicted_cv_percent_capped(c: f64) -> Result<f64, Error> {
    check(c)?;
    if c < LOW * (1.0 - GUARD) { Ok(22.0) } else { predicted_cv_percent(c) }
}

/// Ratios of a reproducibility to what Horwitz's function predicts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HorRat {
    /// Against 22 % below a mass fraction of 1.2e-7: the one to judge by,
    /// usually between 0.5 and 2.
    pub capped: f64,
    /// Against 2 c^−0.15 everywhere, for information: at ng/L good data have
    /// 0.1 to 0.3.
    pub unmodified: f64,
}

/// HorRat with both denominators, from a relative standard deviation of
/// reproducibility in per cent at the mass fraction `c`.
///
/// ```
/// use roundel_stats::horwitz;
///
/// let ratio = horwitz::horrat(44.0, 1e-10)?;
/// assert_eq!(ratio.capped, 2.0);
/// assert!((ratio.unmodified - 44.0 / 63.2456).abs() < 1e-5);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] where `c` is not above zero.
pub fn horrat(relative_sd_percent: f64, c: f64) -> Result<HorRat, Error> {
    Ok(HorRat {
        capped: finite(relative_sd_percent / predicted_cv_percent_capped(c)?)?,
        unmodified: finite(relative_sd_percent / predicted_cv_percent(c)?)?,
    })
}

fn check(c: f64) -> Result<(), Error> {
    if c > 0.0 && c.is_finite() { Ok(()) } else { Err(Error::OutOfRange("a mass fraction")) }
}
