//! One plan as the template of others (F5).

use super::form::check_linear;
use super::{Assigned, Decides, Fallback, Given, Plan, SigmaPt, mass_fraction_per_unit};
use crate::field::{FieldErrors, Problem};
use crate::measurand::Measurand;

/// To which measurands a plan is applied.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Scope {
    /// To the one that it was typed for.
    #[default]
    One,
    /// To all of the same item.
    Item,
    /// To all of the round.
    All,
}

impl Scope {
    /// The scope of a form's word; `None` for a word that is none.
    pub fn of(word: &str) -> Option<Scope> {
        match word.trim() {
            "" | "one" => Some(Scope::One),
            "item" => Some(Scope::Item),
            "all" => Some(Scope::All),
            _ => None,
        }
    }
}

/// The plan of `to` when `template` is applied to it: route, estimator, sigma_pt,
/// scores, limits and the rule for results below a limit come from the template;
/// value and uncertainty stay those of the measurand. `None` where the template
/// has nothing to say: the analyte is planned as absent, or the route needs a
/// value and the measurand has none yet.
///
/// # Errors
///
/// What would contradict itself there.
pub fn applied(template: &Plan, to: &Measurand) -> Result<Option<Plan>, FieldErrors> {
    let own: Option<&Given> = match &to.plan {
        Some(Plan { assigned: Assigned::Absent { .. }, .. }) => return Ok(None),
        Some(plan) => plan.assigned.given_at_all().map(|(_, given)| given),
        None => None,
    };
    let assigned = match (&template.assigned, template.assigned.given(), own) {
        (Assigned::Absent { .. }, ..) => return Ok(None),
        (Assigned::Participants { estimator, fallback }, _, own) => {
            let fallback = fallback.as_ref().zip(own);
            let fallback = fallback.map(|(fallback, own)| Fallback { basis: fallback.basis, given: own.clone() });
            Assigned::Participants { estimator: *estimator, fallback }
        }
        (_, Some((basis, _)), Some(own)) => Assigned::of(basis, own.clone()),
        _ => return Ok(None),
    };
    let plan = Plan { assigned, ..template.clone() };
    let mut errors = FieldErrors::new();
    if plan.sigma_pt == Some(SigmaPt::Horwitz) && mass_fraction_per_unit(&to.unit).is_none() {
        errors.push("sigma_route", Problem::new("plan-horwitz-unit").with("unit", &to.unit));
    }
    if plan.decides == Decides::EN && matches!(plan.assigned, Assigned::Participants { .. }) {
        errors.push("decides", Problem::new("plan-en-consensus"));
    }
    check_linear(&mut errors, &plan);
    errors.into_result(Some(plan))
}
