//! The plan of one measurand: where its assigned value comes from and how far
//! a result may lie from it.

use crate::field::{FieldErrors, Problem};
use crate::number::{Decimal, Range};
use serde::{Deserialize, Serialize};

/// How one measurand is evaluated.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    /// Where the assigned value comes from.
    pub assigned: Assigned,
    /// The standard deviation for proficiency assessment; none for an analyte
    /// that is absent.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub sigma_pt: Option<SigmaPt>,
}

/// Where an assigned value comes from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "route", rename_all = "snake_case", deny_unknown_fields)]
pub enum Assigned {
    /// From how the item was made.
    Formulation(Given),
    /// From a reference material or a reference laboratory.
    Reference(Given),
    /// From expert laboratories.
    Expert(Given),
    /// From the participants' results.
    Participants {
        /// How the results become one value.
        estimator: Estimator,
    },
    /// The analyte is proven absent.
    Absent {
        /// Content below which that is proven.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        absent_below: Option<Decimal>,
    },
}

/// A value that does not come from the participants.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Given {
    /// x_pt.
    pub value: Decimal,
    /// u(x_pt), or U(x_pt) with its factor.
    pub uncertainty: GivenUncertainty,
}

/// The uncertainty of an assigned value, as it was given.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum GivenUncertainty {
    /// u(x_pt).
    Standard(Decimal),
    /// U(x_pt) and k.
    Expanded {
        /// U(x_pt).
        expanded: Decimal,
        /// k.
        coverage_factor: Decimal,
    },
}

impl GivenUncertainty {
    /// u(x_pt), in the unit of the measurand.
    pub fn standard(&self) -> f64 {
        match self {
            GivenUncertainty::Standard(u) => u.value(),
            GivenUncertainty::Expanded { expanded, coverage_factor } => expanded.value() / coverage_factor.value(),
        }
    }
}

/// How participants' results become one value.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Estimator {
    /// Algorithm A of ISO 13528.
    AlgorithmA,
    /// Median with MADe.
    MedianMade,
}

/// Where sigma_pt comes from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum SigmaPt {
    /// A value in the unit of the measurand.
    Prescribed(Decimal),
    /// A percentage of the assigned value.
    Percent(Decimal),
    /// The general model of Horwitz and Thompson, from the assigned value.
    Horwitz,
}

/// What the organiser types for a plan.
#[derive(Clone, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct PlanForm {
    /// `formulation`, `reference`, `expert`, `algorithm_a`, `median_made`, `absent`.
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
            Assigned::Participants { estimator: Estimator::AlgorithmA } => form.route = "algorithm_a".to_owned(),
            Assigned::Participants { estimator: Estimator::MedianMade } => form.route = "median_made".to_owned(),
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
        form
    }

    /// Reads the form, for a measurand in `unit`.
    ///
    /// # Errors
    ///
    /// Every field that is not as it should be, and what contradicts itself.
    pub fn parse(&self, unit: &str, has_required_loq: bool) -> Result<Plan, FieldErrors> {
        let mut errors = FieldErrors::new();
        let assigned = self.assigned(&mut errors);
        if let Some(Assigned::Absent { absent_below: None }) = assigned
            && !has_required_loq
        {
            errors.push("absent_below", Problem::new("plan-absent-needs-limit"));
        }
        let sigma_pt = match assigned {
            Some(Assigned::Absent { .. }) => None,
            _ => self.sigma(&mut errors, unit),
        };
        if let (Some(Assigned::Formulation(g) | Assigned::Reference(g) | Assigned::Expert(g)), Some(sigma)) =
            (&assigned, &sigma_pt)
        {
            check_linear(&mut errors, g.value.value(), sigma);
        }
        let fallback = Assigned::Absent { absent_below: None };
        errors.into_result(Plan { assigned: assigned.unwrap_or(fallback), sigma_pt })
    }

    fn assigned(&self, errors: &mut FieldErrors) -> Option<Assigned> {
        match self.route.as_str() {
            "formulation" => self.given(errors).map(Assigned::Formulation),
            "reference" => self.given(errors).map(Assigned::Reference),
            "expert" => self.given(errors).map(Assigned::Expert),
            "algorithm_a" => Some(Assigned::Participants { estimator: Estimator::AlgorithmA }),
            "median_made" => Some(Assigned::Participants { estimator: Estimator::MedianMade }),
            "absent" => {
                let absent_below = number(errors, "absent_below", &self.absent_below, Range::Positive, false);
                Some(Assigned::Absent { absent_below })
            }
            _ => {
                errors.push("route", Problem::new("plan-route-missing"));
                None
            }
        }
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
fn check_linear(errors: &mut FieldErrors, value: f64, sigma: &SigmaPt) {
    let sigma = match sigma {
        SigmaPt::Prescribed(sigma) => sigma.value(),
        SigmaPt::Percent(percent) => value * percent.value() / 100.0,
        SigmaPt::Horwitz => return,
    };
    if 2.0 * sigma >= value {
        errors.push("sigma", Problem::new("plan-sigma-too-wide"));
    }
}

/// The mass fraction that 1 `unit` is, for water where the unit is by volume
/// (density 1 kg/L). None for a unit that is not a mass fraction.
pub fn mass_fraction_per_unit(unit: &str) -> Option<f64> {
    let unit = unit.replace('\u{b5}', "\u{3bc}").replace(' ', "");
    Some(match unit.as_str() {
        "pg/L" | "pg/kg" => 1e-15,
        "ng/L" | "ng/kg" | "pg/g" | "pg/mL" => 1e-12,
        "\u{3bc}g/L" | "ug/L" | "\u{3bc}g/kg" | "ug/kg" | "ng/g" | "ng/mL" => 1e-9,
        "mg/L" | "mg/kg" | "\u{3bc}g/g" | "ug/g" | "\u{3bc}g/mL" => 1e-6,
        "g/L" | "g/kg" | "mg/g" | "mg/mL" => 1e-3,
        "g/100g" | "%" => 1e-2,
        _ => return None,
    })
}
