//! Stability of items: means before and after (ISO 13528:2022 B.5, from
//! memory).

use crate::error::finite;
use crate::homogeneity::{Criterion, limit};
use crate::regression::{Line, least_squares};
use crate::score::at_most;
use crate::{Error, Sample, summary};

/// Comparison of values before and after.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Comparison {
    /// Mean after − mean before.
    pub difference: f64,
    /// Standard uncertainty of the difference, √(s_b²/n_b + s_a²/n_a), where
    /// both sides have two values or more.
    pub standard_uncertainty: Option<f64>,
}

/// Compares the means.
///
/// ```
/// use roundel_stats::{Sample, stability::compare};
///
/// // By hand: s² = 2 on both sides, so √(2/2 + 2/2).
/// let (before, after) = (Sample::new([9.0, 11.0])?, Sample::new([10.0, 12.0])?);
/// let found = compare(&before, &after)?;
/// assert_eq!(found.difference, 1.0);
/// assert!((found.standard_uncertainty.unwrap() - 2_f64.sqrt()).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] when a figure exceeds the range of a double.
pub fn compare(before: &Sample, after: &Sample) -> Result<Comparison, Error> {
    let difference = finite(summary::mean(after)? - summary::mean(before)?)?;
    let standard_uncertainty = match (variance_of_mean(before), variance_of_mean(after)) {
        (Ok(before), Ok(after)) => Some(finite((before + after).sqrt())?),
        _ => None,
    };
    Ok(Comparison { difference, standard_uncertainty })
}

fn variance_of_mean(sample: &Sample) -> Result<f64, Error> {
    let deviation = summary::standard_deviation(sample)?;
    Ok(deviation * deviation / sample.len() as f64)
}

/// A change with time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trend {
    /// The line over time.
    pub line: Line,
    /// Whether its slope differs from zero at 5 %.
    pub is_significant: bool,
    /// Slope × period.
    pub change: f64,
    /// Standard uncertainty of that change, s_b × period: what a budget takes
    /// for stability where the slope is not significant.
    pub standard_uncertainty: f64,
}

/// The line of values over time (days, value) and what it means over a
/// `period` in the same unit of time (ISO Guide 35:2017, from memory).
///
/// ```
/// use roundel_stats::stability;
///
/// let trend = stability::trend(&[(0.0, 10.0), (1.0, 9.0), (2.0, 8.1)], 5.0)?;
/// assert!((trend.change - 5.0 * -0.95).abs() < 1e-12);
/// assert!(trend.is_significant);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 3 values; [`Error::NoSpread`] where all times are
/// equal; [`Error::OutOfRange`] for a negative period.
pub fn trend(values: &[(f64, f64)], period: f64) -> Result<Trend, Error> {
    if period.is_nan() || period < 0.0 {
        return Err(Error::OutOfRange("the period"));
    }
    let line = least_squares(values)?;
    Ok(Trend {
        line,
        is_significant: line.is_significant(0.05)?,
        change: finite(line.slope * period)?,
        standard_uncertainty: finite(line.slope_sd * period)?,
    })
}

impl Comparison {
    /// 0.3 σ_pt + 2 u, where u is known.
    ///
    /// ```
    /// use roundel_stats::{Sample, stability::compare};
    ///
    /// let (before, after) = (Sample::new([9.0, 11.0])?, Sample::new([10.0, 12.0])?);
    /// let found = compare(&before, &after)?;
    /// assert!((found.expanded_limit(1.0).unwrap() - (0.3 + 2.0 * 2_f64.sqrt())).abs() < 1e-12);
    /// # Ok::<(), roundel_stats::Error>(())
    /// ```
    #[must_use]
    pub fn expanded_limit(&self, sigma_pt: f64) -> Option<f64> {
        self.standard_uncertainty.map(|uncertainty| limit(sigma_pt) + 2.0 * uncertainty)
    }

    /// The first criterion that the difference meets.
    ///
    /// ```
    /// use roundel_stats::{Sample, homogeneity::Criterion, stability::compare};
    ///
    /// let (before, after) = (Sample::new([9.0, 11.0])?, Sample::new([10.0, 12.0])?);
    /// let found = compare(&before, &after)?;
    /// assert_eq!(found.criterion(4.0), Criterion::Simple);
    /// assert_eq!(found.criterion(1.0), Criterion::Expanded);
    /// # Ok::<(), roundel_stats::Error>(())
    /// ```
    #[must_use]
    pub fn criterion(&self, sigma_pt: f64) -> Criterion {
        let moved = self.difference.abs();
        if at_most(moved, limit(sigma_pt)) {
            Criterion::Simple
        } else if self.expanded_limit(sigma_pt).is_some_and(|expanded| at_most(moved, expanded)) {
            Criterion::Expanded
        } else {
            Criterion::None
        }
    }
}
