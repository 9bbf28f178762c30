//! The assigned value, its uncertainty, and σ_pt.

use roundel_stats::consensus::{self, Measured, Weighted};
use roundel_stats::score::at_most;
use roundel_stats::{Error, Estimate, Sample, censored, robust, summary};

use super::counting::Counting;
use super::rounding::{half_even, up};
use super::{Basis, PublishedValue, sigma};
use crate::package::{AssignedValue, Censored, Consensus, Estimator, GivenBasis, GivenValue, Measurand, SigmaBasis};

/// The largest ratio u/σ_pt that is negligible.
const NEGLIGIBLE: f64 = 0.3;
/// Above this ratio there is no class.
const TOO_LARGE: f64 = 0.5;

/// Whether q is at most 0.3.
pub(super) fn is_negligible(ratio: f64) -> bool {
    at_most(ratio, NEGLIGIBLE)
}

/// Whether q is above 0.5.
pub(super) fn is_too_large(ratio: f64) -> bool {
    !at_most(ratio, TOO_LARGE)
}

/// A consensus of participants before rounding.
#[derive(Clone, Copy, Debug)]
pub(super) struct Estimated {
    estimator: Estimator,
    /// The number of results in it.
    pub(super) p: usize,
    location: f64,
    /// s*.
    pub(super) robust_sd: f64,
    standard_uncertainty: f64,
}

/// The value that is used.
#[derive(Clone, Debug)]
pub(super) struct UsedValue {
    pub(super) published: PublishedValue,
}

impl UsedValue {
    /// Whether it is a consensus of this round's participants.
    pub(super) fn is_consensus(&self) -> bool {
        self.published.basis == Basis::Participants
    }
}

/// What the plan and the results give.
#[derive(Debug)]
pub(super) struct AssignedOutcome {
    /// The assigned value, if there is one.
    pub(super) value: Option<UsedValue>,
    /// The estimate from participants or why there is none; `None` where
    /// neither the value nor σ_pt asks for it.
    pub(super) estimate: Option<Result<Estimated, Error>>,
    /// The number of results that a consensus could use.
    pub(super) p: usize,
    /// Whether the fallback of the plan is used.
    pub(super) fallback_used: bool,
    sigma_pt: Option<f64>,
}

impl AssignedOutcome {
    pub(super) fn of(plan: &Measurand, counting: &Counting<'_>) -> Self {
        let consensus = plan.assigned_value.as_ref().and_then(AssignedValue::consensus);
        let from_participants = plan.sigma_pt.as_ref().is_some_and(|s| s.basis == SigmaBasis::Participants);
        let default = Consensus::default();
        let group = Group::of(plan, counting, consensus.unwrap_or(&default));
        let estimate = (plan.is_present() && (consensus.is_some() || from_participants))
            .then(|| group.estimate(consensus.unwrap_or(&default).estimator()));
        let estimated = estimate.and_then(Result::ok);
        let fallback = consensus.and_then(|consensus| consensus.fallback.as_ref());
        let value = match &plan.assigned_value {
            _ if !plan.is_present() => None,
            Some(AssignedValue::Given(given)) => Some(published_given(plan, given)),
            Some(AssignedValue::Participants(consensus)) => match estimated {
                Some(estimated) => Some(published_consensus(plan, consensus, estimated)),
                None => fallback.map(|given| published_given(plan, given)),
            },
            Some(AssignedValue::None(_)) | None => None,
        };
        let fallback_used = consensus.is_some() && estimated.is_none() && value.is_some();
        let sigma_pt = value.as_ref().and_then(|value| {
            sigma::full(plan, Some(value.published.value), estimated.map(|estimated| estimated.robust_sd))
        });
        Self { value, estimate, p: group.p(), fallback_used, sigma_pt }
    }

    /// σ_pt, if it is above zero.
    pub(super) fn sigma_pt(&self) -> Option<f64> {
        self.sigma_pt
    }

    /// σ_pt without the additional standard deviation.
    pub(super) fn sigma_for_homogeneity(&self, plan: &Measurand) -> Option<f64> {
        let value = self.value.as_ref()?;
        sigma::without_addition(plan, Some(value.published.value), self.estimated().map(|e| e.robust_sd))
    }

    /// The estimate from participants.
    pub(super) fn estimated(&self) -> Option<Estimated> {
        self.estimate.and_then(Result::ok)
    }

    /// q = u/σ_pt.
    pub(super) fn uncertainty_ratio(&self) -> Option<f64> {
        let ratio = self.value.as_ref()?.published.standard_uncertainty / self.sigma_pt?;
        ratio.is_finite().then_some(ratio)
    }
}

fn in_quadrature(first: f64, second: Option<f64>) -> f64 {
    match second {
        Some(second) => (first * first + second * second).sqrt(),
        None => first,
    }
}

fn rounded_value(plan: &Measurand, value: f64) -> f64 {
    let decimals = plan.rounding.and_then(|rounding| rounding.assigned_value);
    decimals.map_or(value, |decimals| half_even(value, decimals))
}

fn rounded_uncertainty(plan: &Measurand, uncertainty: f64) -> f64 {
    let decimals = plan.rounding.and_then(|rounding| rounding.standard_uncertainty);
    decimals.map_or(uncertainty, |decimals| up(uncertainty, decimals))
}

fn published_given(plan: &Measurand, given: &GivenValue) -> UsedValue {
    let uncertainty = in_quadrature(given.standard_uncertainty, given.additional_uncertainty);
    UsedValue {
        published: PublishedValue {
            value: rounded_value(plan, given.value),
            standard_uncertainty: rounded_uncertainty(plan, uncertainty),
            basis: match given.basis {
                GivenBasis::Formulation => Basis::Formulation,
                GivenBasis::Reference => Basis::Reference,
                GivenBasis::Expert => Basis::Expert,
            },
            estimator: None,
            p: None,
            robust_sd: None,
        },
    }
}

fn published_consensus(plan: &Measurand, consensus: &Consensus, estimated: Estimated) -> UsedValue {
    let uncertainty = in_quadrature(estimated.standard_uncertainty, consensus.additional_uncertainty);
    UsedValue {
        published: PublishedValue {
            value: rounded_value(plan, estimated.location),
            standard_uncertainty: rounded_uncertainty(plan, uncertainty),
            basis: Basis::Participants,
            estimator: Some(estimated.estimator),
            p: Some(estimated.p),
            robust_sd: Some(estimated.robust_sd),
        },
    }
}

/// The value that a plan gives before any result is known, rounded.
pub(super) fn planned_value(plan: &Measurand) -> Option<f64> {
    let given = plan.assigned_value.as_ref()?.given()?;
    Some(rounded_value(plan, given.value))
}

/// The results that may enter a consensus.
struct Group {
    values: Vec<f64>,
    limits: Vec<f64>,
    uncertainties: Vec<Option<f64>>,
    limit_aware: bool,
}

impl Group {
    fn of(plan: &Measurand, counting: &Counting<'_>, consensus: &Consensus) -> Self {
        let named = |code: &String| consensus.participants.as_ref().is_none_or(|codes| codes.contains(code));
        let quantified = || counting.quantified.iter().filter(|(result, _)| named(&result.participant));
        let censored = counting.censored.iter().filter(|(result, _)| named(&result.participant));
        let limit_aware = plan.censored() == Censored::LimitAware;
        Self {
            values: quantified().map(|(_, value)| *value).collect(),
            limits: if limit_aware { censored.map(|(_, limit)| *limit).collect() } else { Vec::new() },
            uncertainties: quantified().map(|(result, _)| result.standard_uncertainty()).collect(),
            limit_aware,
        }
    }

    fn p(&self) -> usize {
        self.values.len() + self.limits.len()
    }

    fn estimate(&self, estimator: Estimator) -> Result<Estimated, Error> {
        let p = self.p();
        let estimator = match estimator {
            Estimator::ByCount => match p {
                18.. => Estimator::AlgorithmA,
                12..=17 => Estimator::QHampel,
                8..=11 => Estimator::MedianMade,
                _ => {
                    return Err(Error::TooFew { needed: 8, given: p });
                }
            },
            named => named,
        };
        if self.limit_aware {
            let sample = Sample::new(self.values.iter().copied()).map_err(|error| match error {
                Error::Empty if p > 0 => Error::NotIdentifiable,
                Error::Empty => Error::TooFew { needed: 2, given: 0 },
                other => other,
            })?;
            return robust_estimate(Estimator::MedianMade, p, censored::median_made(&sample, &self.limits)?);
        }
        let sample = Sample::new(self.values.iter().copied()).map_err(|error| match error {
            Error::Empty => Error::TooFew { needed: 2, given: 0 },
            other => other,
        })?;
        match estimator {
            Estimator::AlgorithmA | Estimator::ByCount => robust_estimate(estimator, p, robust::algorithm_a(&sample)?),
            Estimator::QHampel => robust_estimate(estimator, p, robust::q_hampel(&sample)?),
            Estimator::MedianMade => robust_estimate(estimator, p, robust::median_made(&sample)?),
            Estimator::MedianNiqr => robust_estimate(estimator, p, robust::median_niqr(&sample)?),
            Estimator::Mean => mean_estimate(&sample),
            Estimator::WeightedMean | Estimator::MandelPaule | Estimator::DerSimonianLaird => {
                self.weighted_estimate(estimator, &sample)
            }
        }
    }

    fn weighted_estimate(&self, estimator: Estimator, sample: &Sample) -> Result<Estimated, Error> {
        let measured = self.values.iter().zip(&self.uncertainties).map(|(value, uncertainty)| {
            let standard_uncertainty = uncertainty.ok_or(Error::OutOfRange("a missing uncertainty"))?;
            Ok(Measured { value: *value, standard_uncertainty })
        });
        let measured = measured.collect::<Result<Vec<Measured>, Error>>()?;
        let plain = |weighted: Weighted| (weighted.value, weighted.standard_uncertainty);
        let (location, standard_uncertainty) = match estimator {
            Estimator::MandelPaule => plain(consensus::mandel_paule(&measured)?),
            Estimator::DerSimonianLaird => plain(consensus::dersimonian_laird(&measured)?),
            _ => {
                let weighted = consensus::weighted_mean(&measured)?;
                (weighted.value, weighted.standard_uncertainty * weighted.birge_ratio.max(1.0))
            }
        };
        let robust_sd = spread(robust::algorithm_a(sample)?.scale)?;
        Ok(Estimated { estimator, p: sample.len(), location, robust_sd, standard_uncertainty })
    }
}

fn spread(scale: f64) -> Result<f64, Error> {
    if scale > 0.0 { Ok(scale) } else { Err(Error::NoSpread) }
}

fn robust_estimate(estimator: Estimator, p: usize, estimate: Estimate) -> Result<Estimated, Error> {
    let robust_sd = spread(estimate.scale)?;
    let standard_uncertainty = robust::standard_uncertainty(robust_sd, p)?;
    Ok(Estimated { estimator, p, location: estimate.location, robust_sd, standard_uncertainty })
}

fn mean_estimate(sample: &Sample) -> Result<Estimated, Error> {
    let Estimate { location, scale, .. } = summary::classical(sample)?;
    let robust_sd = spread(scale)?;
    Ok(Estimated {
        estimator: Estimator::Mean,
        p: sample.len(),
        location,
        robust_sd,
        standard_uncertainty: robust_sd / (sample.len() as f64).sqrt(),
    })
}
