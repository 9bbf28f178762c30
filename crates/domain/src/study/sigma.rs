//! Which σ_pt a study is held against.

use crate::plan::{Assigned, Plan, SigmaPt, mass_fraction_per_unit};
use roundel_stats::horwitz;

/// Where a σ_pt comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SigmaFrom {
    /// From the plan alone.
    Plan,
    /// From the evaluation of the results.
    Evaluation,
    /// From the plan, relative to the content by preparation.
    Preparation,
    /// From the plan, relative to the mean of the study.
    Study,
}

impl SigmaFrom {
    /// The word in keys of texts.
    pub fn word(self) -> &'static str {
        match self {
            SigmaFrom::Plan => "plan",
            SigmaFrom::Evaluation => "evaluation",
            SigmaFrom::Preparation => "preparation",
            SigmaFrom::Study => "study",
        }
    }
}

/// What is known of the level besides the plan.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Level {
    /// σ_pt of the newest evaluation, without what a decision added.
    pub evaluated: Option<f64>,
    /// The content by preparation.
    pub prepared: Option<f64>,
    /// The mean of the study.
    pub mean: Option<f64>,
}

/// The σ_pt of a plan in `unit`, and where it comes from. A relative one needs a
/// level: that of the plan, else of the evaluation, the preparation, the study.
pub fn sigma_pt(plan: Option<&Plan>, unit: &str, level: Level) -> Option<(f64, SigmaFrom)> {
    let plan = plan?;
    let planned = match &plan.assigned {
        Assigned::Formulation(given) | Assigned::Reference(given) | Assigned::Expert(given) => {
            Some(given.value.value())
        }
        Assigned::Absent { .. } => return None,
        _ => None,
    };
    let sigma = plan.sigma_pt.as_ref()?;
    let at = |value: f64| -> Option<f64> {
        match sigma {
            SigmaPt::Prescribed(sigma) => Some(sigma.value()),
            SigmaPt::Percent(percent) => Some(value * percent.value() / 100.0),
            SigmaPt::Horwitz => horwitz::in_unit(value, mass_fraction_per_unit(unit)?).ok(),
        }
    };
    if let SigmaPt::Prescribed(sigma) = sigma {
        return Some((sigma.value(), SigmaFrom::Plan));
    }
    let found = match (planned, level) {
        (Some(value), _) => (at(value)?, SigmaFrom::Plan),
        (None, Level { evaluated: Some(sigma), .. }) => (sigma, SigmaFrom::Evaluation),
        (None, Level { prepared: Some(value), .. }) => (at(value)?, SigmaFrom::Preparation),
        (None, Level { mean: Some(value), .. }) => (at(value)?, SigmaFrom::Study),
        (None, _) => return None,
    };
    (found.0 > 0.0).then_some(found)
}
