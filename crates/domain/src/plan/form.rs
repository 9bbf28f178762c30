//! What the organiser types for a plan.

use super::{
    Assigned, Basis, Censored, Decides, Estimator, Fallback, Given, GivenUncertainty, Limits, Plan, SigmaPt,
    mass_fraction_per_unit,
};
use crate::field::{FieldErrors, Problem, shortened};
use crate::number::{Decimal, Range};
use crate::text;
use serde::Deserialize;

/// What a form is read for.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// The unit of the measurand.
    pub unit: &'a str,
    /// Whether the round asks for a limit of quantification.
    pub has_required_loq: bool,
    /// Whether the round asks for an uncertainty with every value.
    pub uncertainty: bool,
}

/// What the organiser types for a plan.
#[derive(Clone, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct PlanForm {
    /// `formulation`, `reference`, `expert`, `absent`, or the word of an [`Estimator`].
    pub route: String,
    /// x_pt.
    pub value: String,
    /// u(x_pt).
    pub standard_uncertainty: String,
    /// U(x_pt).
    pub expanded_uncertainty: String,
    /// k.
    pub coverage_factor: String,
    /// Content below which the analyte is proven absent.
    pub absent_below: String,
    /// `prescribed`, `percent`, `horwitz`.
    pub sigma_route: String,
    /// sigma_pt, absolute or in percent.
    pub sigma: String,
    /// What the value beside a consensus rests on, which is used where there is no
    /// consensus: `formulation`, `reference`, `expert`, or empty for none.
    pub fallback_route: String,
    /// `exclude` or `limit_aware`; empty is `exclude`.
    pub censored: String,
    /// `z`, `e_n` or `zeta`; empty is `z`.
    pub decides: String,
    /// |z| up to which a result is acceptable; empty for 2.
    pub limit_warning: String,
    /// |z| from which it is unacceptable; empty for 3.
    pub limit_action: String,
    /// |E_n| from which it is unacceptable; empty for 1.
    pub limit_e_n: String,
    /// Why the limits differ from those of ISO 13528.
    pub limits_reason: String,
}

impl PlanForm {
    /// The form that shows `plan`.
    pub fn of(plan: &Plan) -> Self {
        let mut form = PlanForm::default();
        let mut given = |route: &str, given: &Given| {
            form.route = route.to_owned();
            form.value = given.value.to_string();
            match &given.uncertainty {
                GivenUncertainty::Standard(u) => form.standard_uncertainty = u.to_string(),
                GivenUncertainty::Expanded { expanded, coverage_factor } => {
                    form.expanded_uncertainty = expanded.to_string();
                    form.coverage_factor = coverage_factor.to_string();
                }
            }
        };
        match &plan.assigned {
            Assigned::Formulation(value) => given("formulation", value),
            Assigned::Reference(value) => given("reference", value),
            Assigned::Expert(value) => given("expert", value),
            Assigned::Participants { estimator, fallback } => {
                if let Some(Fallback { basis, given: value }) = fallback {
                    given("", value);
                    form.fallback_route = basis.word().to_owned();
                }
                form.route = estimator.word().to_owned();
            }
            Assigned::Absent { absent_below } => {
                form.route = "absent".to_owned();
                form.absent_below = absent_below.as_ref().map(Decimal::to_string).unwrap_or_default();
            }
        }
        match &plan.sigma_pt {
            None => {}
            Some(SigmaPt::Prescribed(sigma)) => {
                form.sigma_route = "prescribed".to_owned();
                form.sigma = sigma.to_string();
            }
            Some(SigmaPt::Percent(percent)) => {
                form.sigma_route = "percent".to_owned();
                form.sigma = percent.to_string();
            }
            Some(SigmaPt::Horwitz) => form.sigma_route = "horwitz".to_owned(),
        }
        if plan.censored == Censored::LimitAware {
            form.censored = "limit_aware".to_owned();
        }
        form.decides = plan.decides.word().to_owned();
        if let Some(limits) = &plan.limits {
            form.limit_warning = limits.warning.to_string();
            form.limit_action = limits.action.to_string();
            form.limit_e_n = limits.e_n.to_string();
            form.limits_reason.clone_from(&limits.reason);
        }
        form
    }

    /// Whether anything is set that the form keeps behind its simple part.
    pub fn has_details(&self) -> bool {
        let limits = [&self.limit_warning, &self.limit_action, &self.limit_e_n, &self.limits_reason];
        self.decided_by() != "z" || self.censored_rule() != "exclude" || limits.iter().any(|text| !text.is_empty())
    }

    /// The word of the score that decides; that of z where nothing is said.
    pub fn decided_by(&self) -> &str {
        if self.decides.is_empty() { "z" } else { &self.decides }
    }

    /// The word of the rule for results below a limit, the usual where nothing is said.
    pub fn censored_rule(&self) -> &str {
        if self.censored.is_empty() { "exclude" } else { &self.censored }
    }

    /// Reads the form.
    ///
    /// # Errors
    ///
    /// Every field that is not as it should be, and what contradicts itself.
    pub fn parse(&self, asked: Asked<'_>) -> Result<Plan, FieldErrors> {
        let mut errors = FieldErrors::new();
        let assigned = self.assigned(&mut errors);
        if let Some(Assigned::Absent { absent_below: None }) = assigned
            && !asked.has_required_loq
        {
            errors.push("absent_below", Problem::new("plan-absent-needs-limit"));
        }
        if let Some(Assigned::Absent { .. }) = assigned {
            // Nothing is scored, so nothing else of the form counts.
            return errors.into_result(Plan::new(assigned.unwrap_or(Assigned::Absent { absent_below: None }), None));
        }
        let sigma_pt = self.sigma(&mut errors, asked.unit);
        let censored = self.censored(&mut errors);
        let decides = self.decides(&mut errors, assigned.as_ref(), asked);
        let limits = self.limits(&mut errors);
        let nothing = Assigned::Absent { absent_below: None };
        let plan = Plan { assigned: assigned.unwrap_or(nothing), sigma_pt, censored, limits, decides };
        check_linear(&mut errors, &plan);
        errors.into_result(plan)
    }

    fn assigned(&self, errors: &mut FieldErrors) -> Option<Assigned> {
        let route = self.route.trim();
        if let Some(basis) = Basis::of(route) {
            return self.given(errors).map(|given| Assigned::of(basis, given));
        }
        if let Some(estimator) = Estimator::of(route) {
            let fallback = self.fallback(errors)?;
            return Some(Assigned::Participants { estimator, fallback });
        }
        if route == "absent" {
            let absent_below = number(errors, "absent_below", &self.absent_below, Range::Positive, false);
            return Some(Assigned::Absent { absent_below });
        }
        errors.push("route", Problem::new("plan-route-missing"));
        None
    }

    /// The value beside a consensus. Nothing typed is dropped without a word, so a
    /// value without what it rests on is asked about. The outer `None` is a mistake.
    fn fallback(&self, errors: &mut FieldErrors) -> Option<Option<Fallback>> {
        let word = self.fallback_route.trim();
        let typed = [&self.value, &self.standard_uncertainty, &self.expanded_uncertainty, &self.coverage_factor];
        let any = typed.iter().any(|text| !text.trim().is_empty());
        match Basis::of(word) {
            Some(basis) => self.given(errors).map(|given| Some(Fallback { basis, given })),
            None if !word.is_empty() => {
                errors.push("fallback_route", Problem::new("choice-unknown").with("seen", shortened(word)));
                None
            }
            None if any => {
                errors.push("fallback_route", Problem::new("plan-fallback-unsaid"));
                None
            }
            None => Some(None),
        }
    }

    fn censored(&self, errors: &mut FieldErrors) -> Censored {
        match self.censored.trim() {
            "" | "exclude" => Censored::Exclude,
            "limit_aware" => Censored::LimitAware,
            seen => {
                errors.push("censored", Problem::new("choice-unknown").with("seen", shortened(seen)));
                Censored::Exclude
            }
        }
    }

    fn decides(&self, errors: &mut FieldErrors, assigned: Option<&Assigned>, asked: Asked<'_>) -> Decides {
        let word = self.decides.trim();
        let found = Decides::ALL.into_iter().find(|decides| decides.word() == word);
        let decides = match found {
            Some(decides) => decides,
            None if word.is_empty() => Decides::Z,
            None => {
                errors.push("decides", Problem::new("choice-unknown").with("seen", shortened(word)));
                Decides::Z
            }
        };
        if decides == Decides::EN && matches!(assigned, Some(Assigned::Participants { .. })) {
            errors.push("decides", Problem::new("plan-en-consensus"));
        } else if decides.needs_uncertainty() && !asked.uncertainty {
            errors.push("decides", Problem::new("plan-score-needs-uncertainty").with("score", decides.word()));
        }
        decides
    }

    fn limits(&self, errors: &mut FieldErrors) -> Option<Limits> {
        let fields = [
            ("limit_warning", &self.limit_warning, "2"),
            ("limit_action", &self.limit_action, "3"),
            ("limit_e_n", &self.limit_e_n, "1"),
        ];
        if fields.iter().all(|(_, text, usual)| text.trim().is_empty() || text.trim() == *usual) {
            return None;
        }
        let [warning, action, e_n] = fields.map(|(field, text, usual)| {
            let text = if text.trim().is_empty() { usual } else { text.as_str() };
            number(errors, field, text, Range::Positive, true)
        });
        let reason = text::reason(errors, "limits_reason", &self.limits_reason);
        if let (Some(warning), Some(action)) = (&warning, &action)
            && warning.value() >= action.value()
        {
            let order = Problem::new("plan-limits-order").with("warning", warning).with("action", action);
            errors.push("limit_action", order);
        }
        Some(Limits { warning: warning?, action: action?, e_n: e_n?, reason })
    }

    fn given(&self, errors: &mut FieldErrors) -> Option<Given> {
        let value = number(errors, "value", &self.value, Range::Positive, true);
        let standard = number(errors, "standard_uncertainty", &self.standard_uncertainty, Range::Positive, false);
        let expanded = number(errors, "expanded_uncertainty", &self.expanded_uncertainty, Range::Positive, false);
        let factor = number(errors, "coverage_factor", &self.coverage_factor, Range::Positive, expanded.is_some());
        let uncertainty = match (standard, expanded, factor) {
            (Some(standard), None, _) => Some(GivenUncertainty::Standard(standard)),
            (None, Some(expanded), Some(coverage_factor)) => {
                Some(GivenUncertainty::Expanded { expanded, coverage_factor })
            }
            (Some(_), Some(_), _) => {
                errors.push("standard_uncertainty", Problem::new("plan-two-uncertainties"));
                None
            }
            (None, Some(_), None) => None,
            (None, None, _) => {
                if errors.get("standard_uncertainty").is_none() && errors.get("expanded_uncertainty").is_none() {
                    errors.push("standard_uncertainty", Problem::new("plan-uncertainty-missing"));
                }
                None
            }
        };
        Some(Given { value: value?, uncertainty: uncertainty? })
    }

    fn sigma(&self, errors: &mut FieldErrors, unit: &str) -> Option<SigmaPt> {
        match self.sigma_route.as_str() {
            "prescribed" => number(errors, "sigma", &self.sigma, Range::Positive, true).map(SigmaPt::Prescribed),
            "percent" => number(errors, "sigma", &self.sigma, Range::Percent, true).map(SigmaPt::Percent),
            "horwitz" if mass_fraction_per_unit(unit).is_some() => Some(SigmaPt::Horwitz),
            "horwitz" => {
                errors.push("sigma_route", Problem::new("plan-horwitz-unit").with("unit", unit));
                None
            }
            _ => {
                errors.push("sigma_route", Problem::new("plan-sigma-missing"));
                None
            }
        }
    }
}

fn number(errors: &mut FieldErrors, field: &str, text: &str, range: Range, must: bool) -> Option<Decimal> {
    if text.trim().is_empty() {
        if must {
            errors.push(field, Problem::new("text-missing"));
        }
        return None;
    }
    errors.keep(field, Decimal::parse(text, range).map_err(Problem::from))
}

/// Refuses a linear score that no low result could fail: 2 sigma_pt >= x_pt (D15).
pub(super) fn check_linear(errors: &mut FieldErrors, plan: &Plan) {
    if plan.relative_sigma().is_some_and(|share| 2.0 * share >= 1.0) {
        errors.push("sigma", Problem::new("plan-sigma-too-wide"));
    }
}
