//! The standard deviation for proficiency assessment.

use roundel_stats::horwitz;

use super::assigned::planned_value;
use super::rounding::half_even;
use crate::package::{Measurand, SigmaBasis, SigmaPt};

/// σ_pt with its addition, rounded as planned; `None` where it is not above
/// zero or what it rests on is missing.
pub(super) fn full(plan: &Measurand, assigned_value: Option<f64>, robust_sd: Option<f64>) -> Option<f64> {
    let sigma = plan.sigma_pt.as_ref()?;
    usable(computed(plan, sigma, sigma.additional_sd, assigned_value, robust_sd)?)
}

/// The same without the addition.
pub(super) fn without_addition(plan: &Measurand, assigned_value: Option<f64>, robust_sd: Option<f64>) -> Option<f64> {
    let sigma = plan.sigma_pt.as_ref()?;
    usable(computed(plan, sigma, None, assigned_value, robust_sd)?)
}

/// σ_pt as far as the plan alone determines it: zero where it is not above
/// zero, `None` where it depends on the results.
pub(crate) fn planned(plan: &Measurand) -> Option<f64> {
    let sigma = plan.sigma_pt.as_ref()?;
    computed(plan, sigma, sigma.additional_sd, planned_value(plan), None)
}

fn usable(sigma: f64) -> Option<f64> {
    (sigma > 0.0 && sigma.is_finite()).then_some(sigma)
}

fn computed(
    plan: &Measurand,
    sigma: &SigmaPt,
    addition: Option<f64>,
    assigned_value: Option<f64>,
    robust_sd: Option<f64>,
) -> Option<f64> {
    let base = match &sigma.basis {
        SigmaBasis::Prescribed { value } => *value,
        SigmaBasis::Relative { percent } => percent * assigned_value? / 100.0,
        SigmaBasis::Horwitz => horwitz::in_unit(assigned_value?, plan.mass_fraction_per_unit?).unwrap_or(0.0),
        SigmaBasis::Precision { repeatability_sd, reproducibility_sd } => {
            let within = repeatability_sd * repeatability_sd;
            let replicates = f64::from(plan.replicates().max(1));
            (reproducibility_sd * reproducibility_sd - within + within / replicates).max(0.0).sqrt()
        }
        SigmaBasis::Participants => robust_sd?,
    };
    if base <= 0.0 {
        return Some(0.0);
    }
    let total = addition.map_or(base, |addition| (base * base + addition * addition).sqrt());
    let decimals = plan.rounding.and_then(|rounding| rounding.sigma_pt);
    Some(decimals.map_or(total, |decimals| half_even(total, decimals)))
}
