//! Homogeneity of items from duplicates (ISO 13528:2022 Annex B, wording from
//! memory; IUPAC 2006, Appendix 1; Fearn and Thompson 2001).

use crate::error::finite;
use crate::numeric::sum;
use crate::score::at_most;
use crate::{Error, Sample, quantile, summary};

/// Share of σ_pt that the standard deviation between units may have.
const SHARE: f64 = 0.3;
/// With fewer units the test is not made.
pub const FEWEST_UNITS: usize = 7;

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
#[must_use]
pub fn limit(sigma_pt: f64) -> f64 {
    SHARE * sigma_pt
}

/// Factors F1 = χ²(g − 1; 0.95)/(g − 1) and F2 = (F(g − 1, g; 0.95) − 1)/2 of
/// the expanded criterion, computed instead of read from a table.
///
/// # Errors
///
/// [`Error::TooFew`] below 2 units.
pub fn factors(units: usize) -> Result<(f64, f64), Error> {
    if units < 2 {
        return Err(Error::TooFew { needed: 2, given: units });
    }
    let (freedom, units) = (units as f64 - 1.0, units as f64);
    let first = quantile::chi_squared(freedom, 0.05)? / freedom;
    let second = (quantile::fisher(freedom, units, 0.05)? - 1.0) / 2.0;
    Ok((first, second))
}

impl Duplicates {
    /// √(F1 (0.3 σ_pt)² + F2 s_w²): what s_s may be, allowing for the
    /// uncertainty of the test.
    ///
    /// # Errors
    ///
    /// As for [`factors`].
    pub fn expanded_limit(&self, sigma_pt: f64) -> Result<f64, Error> {
        let (first, second) = factors(self.units)?;
        let simple = limit(sigma_pt);
        finite((first * simple * simple + second * self.within_sd * self.within_sd).sqrt())
    }

    /// The first criterion that is met.
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
