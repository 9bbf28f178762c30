//! Homogeneity of items from duplicates (ISO 13528:2022 Annex B, wording from
//! memory; IUPAC 2006, Appendix 1; Fearn and Thompson 2001).

use crate::error::finite;
use crate::numeric::sum;
use crate::outlier::{self, Critical};
use crate::regression::{Line, least_squares};
use crate::score::at_most;
use crate::{Error, Sample, quantile, summary};

/// Share of σ_pt that the standard deviation between units may have.
const SHARE: f64 = 0.3;
/// With fewer units the test is not made.
pub const FEWEST_UNITS: usize = 7;
/// Points of the integral for the power.
const POWER_POINTS: usize = 400;

/// Analysis of duplicates of one unit each.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Duplicates {
    /// Number of units, g.
    pub units: usize,
    /// Mean of all values.
    pub mean: f64,
    /// Standard deviation between units, s_s; zero where the estimate of the
    /// variance is negative.
    pub between_sd: f64,
    /// Standard deviation within units, s_w.
    pub within_sd: f64,
}

/// Which criterion of sufficient homogeneity or stability is met.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Criterion {
    /// The plain limit, 0.3 σ_pt.
    Simple,
    /// Only the limit that allows for the uncertainty of the test.
    Expanded,
    /// Neither.
    None,
}

/// Splits the spread of duplicates: s_w² = Σw²/2g with the differences w,
/// s_s² = s_x² − s_w²/2 with the standard deviation s_x of the units' means.
///
/// ```
/// use roundel_stats::homogeneity;
///
/// // By hand: s_w² = 0.08/4, s_x² = 1/2 and s_s² = 0.5 − 0.01.
/// let found = homogeneity::duplicates(&[[1.0, 1.2], [2.0, 2.2]])?;
/// assert!((found.within_sd - 0.02_f64.sqrt()).abs() < 1e-12);
/// assert!((found.between_sd - 0.7).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 units; [`Error::NotFinite`] for a value that is
/// not a finite number.
pub fn duplicates(pairs: &[[f64; 2]]) -> Result<Duplicates, Error> {
    if pairs.len() < 2 {
        return Err(Error::TooFew { needed: 2, given: pairs.len() });
    }
    let means = Sample::new(pairs.iter().map(|[first, second]| crate::numeric::midpoint(*first, *second)))?;
    let differences = Sample::new(pairs.iter().map(|[first, second]| (first - second).abs()))?;
    let units = pairs.len() as f64;
    let within = sum(differences.values().iter().map(|w| w * w)) / (2.0 * units);
    let of_means = summary::standard_deviation(&means)?;
    Ok(Duplicates {
        units: pairs.len(),
        mean: summary::mean(&means)?,
        between_sd: finite((of_means * of_means - within / 2.0).max(0.0).sqrt())?,
        within_sd: finite(within.sqrt())?,
    })
}

/// 0.3 σ_pt.
///
/// ```
/// use roundel_stats::homogeneity;
///
/// assert_eq!(homogeneity::limit(10.0), 3.0);
/// ```
#[must_use]
pub fn limit(sigma_pt: f64) -> f64 {
    SHARE * sigma_pt
}

/// Factors F1 = χ²(g − 1; 0.95)/(g − 1) and F2 = (F(g − 1, g; 0.95) − 1)/2 of
/// the expanded criterion, computed instead of read from a table.
///
/// ```
/// use roundel_stats::homogeneity;
///
/// // As ISO 13528 prints them for ten units (from memory).
/// let factors = homogeneity::factors(10)?;
/// assert!((factors.first - 1.88).abs() < 5e-3 && (factors.second - 1.01).abs() < 5e-3);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 units.
pub fn factors(units: usize) -> Result<Factors, Error> {
    if units < 2 {
        return Err(Error::TooFew { needed: 2, given: units });
    }
    let (freedom, units) = (units as f64 - 1.0, units as f64);
    let first = quantile::chi_squared(freedom, 0.05)? / freedom;
    let second = (quantile::fisher(freedom, units, 0.05)? - 1.0) / 2.0;
    Ok(Factors { first, second })
}

/// Factors of the expanded criterion.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Factors {
    /// F1, of the square of 0.3 σ_pt.
    pub first: f64,
    /// F2, of the square of s_w.
    pub second: f64,
}

impl Duplicates {
    /// √(F1 (0.3 σ_pt)² + F2 s_w²): what s_s may be, allowing for the
    /// uncertainty of the test.
    ///
    /// ```
    /// use roundel_stats::homogeneity::Duplicates;
    ///
    /// // √(1.88 × 0.09 + 1.01 × 0.04), with the printed factors.
    /// let found = Duplicates { units: 10, mean: 5.0, between_sd: 0.35, within_sd: 0.2 };
    /// assert!((found.expanded_limit(1.0)? - 0.458).abs() < 1e-3);
    /// # Ok::<(), roundel_stats::Error>(())
    /// ```
    ///
    /// # Errors
    ///
    /// As for [`factors`].
    pub fn expanded_limit(&self, sigma_pt: f64) -> Result<f64, Error> {
        let Factors { first, second } = factors(self.units)?;
        let simple = limit(sigma_pt);
        finite((first * simple * simple + second * self.within_sd * self.within_sd).sqrt())
    }

    /// An interval for the standard deviation between units, by Tukey and
    /// Williams (1962, from memory): (g − 1)(M_b − F M_w)/(2 χ²) at either end,
    /// with M_b = s_w² + 2 s_s² and M_w = s_w² the mean squares and F and χ² the
    /// quantiles of that end; what falls below zero is zero. It covers at least
    /// 1 − 2α for `alpha` in both tails together.
    ///
    /// ```
    /// use roundel_stats::homogeneity::Duplicates;
    ///
    /// let found = Duplicates { units: 5, mean: 5.0, between_sd: 0.3, within_sd: 0.2 };
    /// let (low, high) = found.between_interval(0.05)?;
    /// assert!(low < 0.3 && 0.3 < high);
    /// # Ok::<(), roundel_stats::Error>(())
    /// ```
    ///
    /// # Errors
    ///
    /// [`Error::TooFew`] below 2 units; [`Error::OutOfRange`] for an `alpha`
    /// that is no probability.
    pub fn between_interval(&self, alpha: f64) -> Result<(f64, f64), Error> {
        if self.units < 2 {
            return Err(Error::TooFew { needed: 2, given: self.units });
        }
        let (freedom, units) = (self.units as f64 - 1.0, self.units as f64);
        let within = self.within_sd * self.within_sd;
        let between = within + 2.0 * self.between_sd * self.between_sd;
        let end = |tail: f64| -> Result<f64, Error> {
            let excess = between - quantile::fisher(freedom, units, tail)? * within;
            finite((freedom * excess.max(0.0) / (2.0 * quantile::chi_squared(freedom, tail)?)).sqrt())
        };
        Ok((end(alpha / 2.0)?, end(1.0 - alpha / 2.0)?))
    }

    /// The first criterion that is met.
    ///
    /// ```
    /// use roundel_stats::homogeneity::{Criterion, Duplicates};
    ///
    /// let found = Duplicates { units: 10, mean: 5.0, between_sd: 0.35, within_sd: 0.2 };
    /// assert_eq!(found.criterion(1.0)?, Criterion::Expanded);
    /// assert_eq!(found.criterion(2.0)?, Criterion::Simple);
    /// # Ok::<(), roundel_stats::Error>(())
    /// ```
    ///
    /// # Errors
    ///
    /// As for [`factors`].
    pub fn criterion(&self, sigma_pt: f64) -> Result<Criterion, Error> {
        Ok(if at_most(self.between_sd, limit(sigma_pt)) {
            Criterion::Simple
        } else if at_most(self.between_sd, self.expanded_limit(sigma_pt)?) {
            Criterion::Expanded
        } else {
            Criterion::None
        })
    }
}

/// Cochran's test on the differences of the duplicates: whether one unit's
/// pair differs more than the others let expect. Look at the pair before
/// leaving it out; only a technical reason allows it.
///
/// ```
/// use roundel_stats::homogeneity;
///
/// // Differences 1, 1, 2; critical values as ISO 5725-2 prints them (from memory).
/// let test = homogeneity::cochran(&[[1.0, 2.0], [4.0, 3.0], [1.0, 3.0]])?;
/// assert!((test.statistic - 4.0 / 6.0).abs() < 1e-12);
/// assert!((test.critical.at_5 - 0.967).abs() < 5e-4 && (test.critical.at_1 - 0.993).abs() < 5e-4);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 units; [`Error::NoSpread`] where no pair
/// differs.
pub fn cochran(pairs: &[[f64; 2]]) -> Result<Cochran, Error> {
    let differences = Sample::new(pairs.iter().map(|[first, second]| (first - second).abs()))?;
    let critical = |alpha| outlier::cochran_critical(pairs.len(), 2, alpha);
    let statistic = outlier::cochran(&differences)?;
    let critical = Critical { at_5: critical(0.05)?, at_1: critical(0.01)? };
    Ok(Cochran { statistic, critical, units: pairs.len() })
}

/// Outcome of Cochran's test on duplicates.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cochran {
    /// The share that the largest squared difference has in all.
    pub statistic: f64,
    /// Its critical values.
    pub critical: Critical,
    /// The number of units.
    pub units: usize,
}

/// The line through the units' means over their place in the order of
/// filling, 0 for the first. [`Line::is_significant`] says whether it rises
/// or falls.
///
/// ```
/// use roundel_stats::homogeneity;
///
/// let line = homogeneity::trend(&[[1.0, 1.0], [2.0, 2.0], [2.9, 3.1]])?;
/// assert!((line.slope - 1.0).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 3 units.
pub fn trend(pairs: &[[f64; 2]]) -> Result<Line, Error> {
    let means = pairs.iter().map(|[first, second]| crate::numeric::midpoint(*first, *second));
    let points: Vec<(f64, f64)> = means.enumerate().map(|(place, mean)| (place as f64, mean)).collect();
    least_squares(&points)
}

/// Probability that a batch passes a criterion, given its true standard
/// deviations between units and within: one minus the power of the test
/// against them. With `expanded`, s_s² ≤ F1 (0.3 σ_pt)² + F2 s_w², else
/// s_s ≤ 0.3 σ_pt.
///
/// The mean squares of normal data are (σ_w² + 2σ_s²) χ²(g − 1)/(g − 1) and
/// σ_w² χ²(g)/g; the second is integrated over by the midpoint rule on 400
/// quantiles, good to about 1e-4.
///
/// ```
/// use roundel_stats::homogeneity::chance_to_pass;
///
/// // Ten units that differ by one and a half times what they may.
/// let chance = chance_to_pass(10, 0.45, 0.5, 1.0, true)?;
/// assert!((chance - 0.84).abs() < 0.01);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 units; [`Error::OutOfRange`] where a standard
/// deviation is not above zero (`between_sd` may be zero).
pub fn chance_to_pass(
    units: usize,
    between_sd: f64,
    within_sd: f64,
    sigma_pt: f64,
    expanded: bool,
) -> Result<f64, Error> {
    if !(between_sd >= 0.0 && within_sd > 0.0 && sigma_pt > 0.0) {
        return Err(Error::OutOfRange("a standard deviation"));
    }
    let computed = factors(units)?;
    let Factors { first, second } = if expanded { computed } else { Factors { first: 1.0, second: 0.0 } };
    let (g, within) = (units as f64, within_sd * within_sd);
    let simple = limit(sigma_pt);
    let expected = within + 2.0 * between_sd * between_sd;
    let mut passes = 0.0;
    for place in 0..POWER_POINTS {
        let tail = (place as f64 + 0.5) / POWER_POINTS as f64;
        let mean_square = within * quantile::chi_squared(g, tail)? / g;
        let most = 2.0 * first * simple * simple + (1.0 + 2.0 * second) * mean_square;
        passes += 1.0 - quantile::chi_squared_tail(g - 1.0, (g - 1.0) * most / expected)?;
    }
    finite(passes / POWER_POINTS as f64)
}

/// Standard uncertainty for a trend over units or time that runs through a
/// `range`: of the rectangle, range/(2√3).
///
/// ```
/// use roundel_stats::homogeneity;
///
/// assert!((homogeneity::of_range(6.0) - 3.0_f64.sqrt()).abs() < 1e-12);
/// ```
#[must_use]
pub fn of_range(range: f64) -> f64 {
    range.abs() / (2.0 * 3.0_f64.sqrt())
}
