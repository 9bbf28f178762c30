//! Consensus of values with uncertainties.

use crate::error::finite;
use crate::numeric::sum;
use crate::{Error, Used};

/// A value with its standard uncertainty, in the same unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    /// The value.
    pub value: f64,
    /// Its standard uncertainty, above zero.
    pub standard_uncertainty: f64,
}

/// A weighted consensus.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weighted {
    /// The weighted mean.
    pub value: f64,
    /// 1/√Σw with the weights that were used.
    pub standard_uncertainty: f64,
    /// Standard deviation between the values beyond their uncertainties, τ;
    /// zero for the plain weighted mean.
    pub between_sd: f64,
    /// √(Q/(k − 1)) with the weights 1/u² of the stated uncertainties.
    pub birge_ratio: f64,
    /// The number of values, and of steps towards τ².
    pub used: Used,
}

/// Weighted mean with weights 1/u² (F. A. Graybill, R. B. Deal, Biometrics 15,
/// 1959, 543–550). The surer a value is said to be, the more it weighs. Its
/// standard uncertainty 1/√(Σ1/u²) is the internal one; multiply by max(1, Birge
/// ratio) where the values disagree.
///
/// ```
/// use roundel_stats::consensus::{Measured, weighted_mean};
///
/// // By hand: u = 1/√2, Q = 2 × 1.5².
/// let two = [10.0, 13.0].map(|value| Measured { value, standard_uncertainty: 1.0 });
/// let found = weighted_mean(&two)?;
/// assert_eq!((found.value, found.between_sd, found.used.count), (11.5, 0.0, 2));
/// assert!((found.standard_uncertainty - 0.5_f64.sqrt()).abs() < 1e-12);
/// assert!((found.birge_ratio - 4.5_f64.sqrt()).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 values; [`Error::OutOfRange`] for an uncertainty
/// that is not above zero; [`Error::NotFinite`] for a value that is not.
pub fn weighted_mean(measured: &[Measured]) -> Result<Weighted, Error> {
    let data = checked(measured)?;
    weighted(&data, 0.0, 0)
}

/// DerSimonian and Laird's consensus (R. DerSimonian, N. Laird, Controlled Clinical
/// Trials 7, 1986, 177–188): one step for the variance τ² between the
/// values, and then the weighted mean with weights 1/(u² + τ²). With the weights
/// w = 1/u² and the weighted sum of squares Q it is
/// τ² = (Q − (k − 1))/(Σw − Σw²/Σw), zero where that is below zero.
///
/// ```
/// use roundel_stats::consensus::{Measured, dersimonian_laird};
///
/// // By hand: τ² = (4.5 − 1)/(2 − 2/2), u = √((1 + 3.5)/2).
/// let two = [10.0, 13.0].map(|value| Measured { value, standard_uncertainty: 1.0 });
/// let found = dersimonian_laird(&two)?;
/// assert!((found.between_sd - 3.5_f64.sqrt()).abs() < 1e-12);
/// assert!((found.standard_uncertainty - 1.5).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// As for [`weighted_mean`].
pub fn dersimonian_laird(measured: &[Measured]) -> Result<Weighted, Error> {
    let data = checked(measured)?;
    let plain = weighted(&data, 0.0, 0)?;
    let weights = || data.iter().map(|m| weight(m, 0.0));
    let total = sum(weights());
    let freedom = data.len() as f64 - 1.0;
    let excess = disagreement(&data, 0.0, plain.value) - freedom;
    let variance = finite(excess / (total - sum(weights().map(|w| w * w)) / total))?.max(0.0);
    weighted(&data, variance, 1)
}

/// Mandel and Paule's consensus (R. C. Paule, J. Mandel, Journal of Research of the
/// National Bureau of Standards 87, 1982, 377–385): the weighted mean with weights 1/(u² + τ²).
/// The variance τ² between the values is such that the weighted sum of squares is as
/// large as its freedom, Σ(x − mean)²/(u² + τ²) = k − 1, and zero where it is at most
/// that without τ.
///
/// ```
/// use roundel_stats::consensus::{Measured, mandel_paule};
///
/// // By hand: 4.5/(1 + τ²) = 1.
/// let two = [10.0, 13.0].map(|value| Measured { value, standard_uncertainty: 1.0 });
/// let found = mandel_paule(&two)?;
/// assert!((found.between_sd - 3.5_f64.sqrt()).abs() < 1e-12);
/// assert!(found.used.iterations > 0);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// As for [`weighted_mean`].
pub fn mandel_paule(measured: &[Measured]) -> Result<Weighted, Error> {
    let data = checked(measured)?;
    let freedom = data.len() as f64 - 1.0;
    let excess = |variance: f64| disagreement(&data, variance, centre(&data, variance)) - freedom;
    if excess(0.0) <= 0.0 {
        return weighted(&data, 0.0, 0);
    }
    // The sum falls as τ² grows: bracket from above, then bisect down to two
    // neighbouring numbers.
    let start = data[0].standard_uncertainty;
    let (mut low, mut high) = (0.0_f64, start * start);
    let mut steps = 0;
    while excess(high) > 0.0 {
        steps += 1;
        low = high;
        high = finite(high * 2.0)?;
    }
    loop {
        let middle = low + (high - low) / 2.0;
        if middle <= low || middle >= high {
            return weighted(&data, high, steps);
        }
        steps += 1;
        if excess(middle) > 0.0 { low = middle } else { high = middle }
    }
}

/// In an order that does not depend on that of the input.
fn checked(measured: &[Measured]) -> Result<Vec<Measured>, Error> {
    if measured.len() < 2 {
        return Err(Error::TooFew { needed: 2, given: measured.len() });
    }
    if measured.iter().any(|m| !m.value.is_finite()) {
        return Err(Error::NotFinite);
    }
    if measured.iter().any(|m| !(m.standard_uncertainty > 0.0 && m.standard_uncertainty.is_finite())) {
        return Err(Error::OutOfRange("a standard uncertainty"));
    }
    let mut data = measured.to_vec();
    data.sort_unstable_by(|a, b| {
        a.value.total_cmp(&b.value).then(a.standard_uncertainty.total_cmp(&b.standard_uncertainty))
    });
    Ok(data)
}

fn weight(measured: &Measured, variance: f64) -> f64 {
    1.0 / (measured.standard_uncertainty * measured.standard_uncertainty + variance)
}

/// The weighted mean, computed as deviations from the first value.
fn centre(data: &[Measured], variance: f64) -> f64 {
    let origin = data[0].value;
    let total = sum(data.iter().map(|m| weight(m, variance)));
    origin + sum(data.iter().map(|m| weight(m, variance) * (m.value - origin))) / total
}

fn disagreement(data: &[Measured], variance: f64, centre: f64) -> f64 {
    sum(data.iter().map(|m| weight(m, variance) * (m.value - centre) * (m.value - centre)))
}

fn weighted(data: &[Measured], variance: f64, iterations: usize) -> Result<Weighted, Error> {
    let freedom = data.len() as f64 - 1.0;
    Ok(Weighted {
        value: finite(centre(data, variance))?,
        standard_uncertainty: finite(1.0 / sum(data.iter().map(|m| weight(m, variance))).sqrt())?,
        between_sd: finite(variance.sqrt())?,
        birge_ratio: finite((disagreement(data, 0.0, centre(data, 0.0)) / freedom).sqrt())?,
        used: Used { count: data.len(), iterations, start: None },
    })
}
