//! The uncertainty of an assigned value from its parts, and whether two
//! values for the same content agree (ISO 13528:2022 7.2 and 7.8, from
//! memory).

use crate::consensus::Measured;
use crate::error::finite;
use crate::score::at_most;
use crate::{Error, summary};

/// Standard uncertainties that make up that of an assigned value, in its
/// unit; zero for a part that is negligible.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Budget {
    /// u_char: of the characterisation, 1.25 s*/√p for a consensus. A
    /// consensus of participants already contains what the units differed.
    pub characterisation: f64,
    /// u_hom: of differences between units.
    pub homogeneity: f64,
    /// u_trans: of transport.
    pub transport: f64,
    /// u_stab: of changes during the round.
    pub stability: f64,
}

impl Budget {
    /// u = √(u_char² + u_hom² + u_trans² + u_stab²).
    ///
    /// ```
    /// use roundel_stats::budget::Budget;
    ///
    /// let budget = Budget { characterisation: 3.0, stability: 4.0, ..Budget::default() };
    /// assert_eq!(budget.standard_uncertainty(), Ok(5.0));
    /// ```
    ///
    /// # Errors
    ///
    /// [`Error::OutOfRange`] for a negative part, and where the whole is not
    /// above zero: no value is without uncertainty.
    pub fn standard_uncertainty(&self) -> Result<f64, Error> {
        let parts = [self.characterisation, self.homogeneity, self.transport, self.stability];
        if parts.iter().any(|part| part.is_nan() || *part < 0.0) {
            return Err(Error::OutOfRange("a standard uncertainty"));
        }
        let total = finite(parts.iter().map(|part| part * part).sum::<f64>().sqrt())?;
        if total > 0.0 { Ok(total) } else { Err(Error::OutOfRange("an uncertainty of zero")) }
    }
}

/// A quantity that a value is computed from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Input {
    /// Its standard uncertainty, in its own unit.
    pub standard_uncertainty: f64,
    /// ∂y/∂x: how much the value moves with it.
    pub sensitivity: f64,
}

/// What independent inputs make of the uncertainty of a value.
#[derive(Clone, Debug, PartialEq)]
pub struct Propagated {
    /// u(y) = √Σ(c u)².
    pub standard_uncertainty: f64,
    /// (c u)²/u²(y) of each input; together 1.
    pub shares: Vec<f64>,
}

/// The law of propagation of uncertainty for independent inputs (GUM 5.1.2).
///
/// ```
/// use roundel_stats::budget::{Input, propagate};
///
/// // By hand: √((2 × 1.5)² + (1 × 4)²) = 5, of which the first is 9/25.
/// let inputs = [(1.5, 2.0), (4.0, 1.0)];
/// let inputs = inputs.map(|(standard_uncertainty, sensitivity)| Input { standard_uncertainty, sensitivity });
/// let found = propagate(&inputs)?;
/// assert_eq!(found.standard_uncertainty, 5.0);
/// assert!((found.shares[0] - 0.36).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] for a negative uncertainty, and where the whole is not
/// above zero: no value is without uncertainty. [`Error::NotFinite`] for what
/// is no finite number.
pub fn propagate(inputs: &[Input]) -> Result<Propagated, Error> {
    if inputs.iter().any(|input| input.standard_uncertainty.is_nan() || input.standard_uncertainty < 0.0) {
        return Err(Error::OutOfRange("a standard uncertainty"));
    }
    let squares: Vec<f64> =
        inputs.iter().map(|input| (input.sensitivity * input.standard_uncertainty).powi(2)).collect();
    let total = finite(crate::numeric::sum(squares.iter().copied()))?;
    if total <= 0.0 {
        return Err(Error::OutOfRange("an uncertainty of zero"));
    }
    let shares = squares.iter().map(|square| square / total).collect();
    Ok(Propagated { standard_uncertainty: total.sqrt(), shares })
}

/// How a consensus stands to an independent value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Agreement {
    /// |d| is at most 2 u(d).
    Agrees,
    /// |d| is above that, but at most 0.5 σ_pt: to be commented.
    Comment,
    /// |d| is above both: a person decides.
    Disagrees,
}

/// A consensus next to an independent value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Comparison {
    /// d, consensus − independent value.
    pub difference: f64,
    /// u(d) = √(u²(consensus) + u²(independent)).
    pub standard_uncertainty: f64,
    /// 100 × consensus/independent value; `None` where the latter is zero.
    pub recovery_percent: Option<f64>,
    /// What it means.
    pub agreement: Agreement,
}

/// Compares a consensus with an independent value, both with their standard
/// uncertainties.
///
/// ```
/// use roundel_stats::budget::{Agreement, compare};
/// use roundel_stats::consensus::Measured;
///
/// let consensus = Measured { value: 112.0, standard_uncertainty: 3.0 };
/// let formulation = Measured { value: 100.0, standard_uncertainty: 4.0 };
/// let comparison = compare(consensus, formulation, 25.0)?;
/// assert_eq!(comparison.standard_uncertainty, 5.0);
/// // Above 2 u(d), but within half of sigma_pt: to be commented.
/// assert_eq!(comparison.agreement, Agreement::Comment);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] where an uncertainty or `sigma_pt` is not above
/// zero: a value without uncertainty cannot be compared with.
pub fn compare(consensus: Measured, independent: Measured, sigma_pt: f64) -> Result<Comparison, Error> {
    let uncertain = |value: &Measured| value.standard_uncertainty > 0.0 && value.standard_uncertainty.is_finite();
    if !uncertain(&consensus) || !uncertain(&independent) {
        return Err(Error::OutOfRange("a standard uncertainty"));
    }
    if sigma_pt.is_nan() || sigma_pt <= 0.0 {
        return Err(Error::OutOfRange("sigma_pt"));
    }
    let difference = finite(consensus.value - independent.value)?;
    let (u, v) = (consensus.standard_uncertainty, independent.standard_uncertainty);
    let standard_uncertainty = finite((u * u + v * v).sqrt())?;
    let agreement = if at_most(difference.abs(), 2.0 * standard_uncertainty) {
        Agreement::Agrees
    } else if at_most(difference.abs(), 0.5 * sigma_pt) {
        Agreement::Comment
    } else {
        Agreement::Disagrees
    };
    let recovery_percent = finite(100.0 * consensus.value / independent.value).ok();
    Ok(Comparison { difference, standard_uncertainty, recovery_percent, agreement })
}

/// A recovery with its uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Recovery {
    /// (mean − native)/spike.
    pub recovery: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty: f64,
    /// Whether |recovery − 1| is above 2 u.
    pub is_significant: bool,
}

/// Recovery of a spike: R = (mean − native)/spike with
/// u² = (u²(mean) + u²(native) + R² u²(spike))/spike². For a trial u(mean) is
/// s_R/√p. (ISO 5725-4:2020 and the GUM's law of propagation.)
///
/// ```
/// use roundel_stats::{budget::recovery, consensus::Measured};
///
/// // By hand: 48/50 and √(3² + 4²)/50.
/// let measured = |value, standard_uncertainty| Measured { value, standard_uncertainty };
/// let found = recovery(measured(58.0, 3.0), measured(10.0, 4.0), measured(50.0, 0.0))?;
/// assert!((found.recovery - 0.96).abs() < 1e-12);
/// assert!((found.standard_uncertainty - 0.1).abs() < 1e-12);
/// assert!(!found.is_significant);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] where the spike is at most 3 u(native), so that the
/// recovery would rest on the native content, or an uncertainty is negative.
pub fn recovery(mean: Measured, native: Measured, spike: Measured) -> Result<Recovery, Error> {
    let uncertainties = [mean, native, spike].map(|part| part.standard_uncertainty);
    if uncertainties.iter().any(|u| u.is_nan() || *u < 0.0) {
        return Err(Error::OutOfRange("a standard uncertainty"));
    }
    if spike.value.is_nan() || spike.value <= 0.0 || at_most(spike.value, 3.0 * native.standard_uncertainty) {
        return Err(Error::OutOfRange("the spike"));
    }
    let recovery = finite((mean.value - native.value) / spike.value)?;
    let parts = [uncertainties[0], uncertainties[1], recovery * uncertainties[2]];
    let standard_uncertainty = finite(parts.iter().map(|part| part * part).sum::<f64>().sqrt() / spike.value)?;
    let is_significant = !at_most((recovery - 1.0).abs(), 2.0 * standard_uncertainty);
    Ok(Recovery { recovery, standard_uncertainty, is_significant })
}

/// u of a mean of n values that differ by chance, s/√n.
///
/// ```
/// use roundel_stats::{Sample, budget};
///
/// // s = √2, n = 2.
/// assert!((budget::of_mean(&Sample::new([9.0, 11.0])?)? - 1.0).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 values.
pub fn of_mean(sample: &crate::Sample) -> Result<f64, Error> {
    finite(summary::standard_deviation(sample)? / (sample.len() as f64).sqrt())
}
