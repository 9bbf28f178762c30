//! The plan of one measurand: where its assigned value comes from and how far
//! a result may lie from it.

mod form;
mod template;
#[cfg(test)]
mod tests;

pub use form::{Asked, PlanForm};
pub use template::{Scope, applied};

use crate::field::Problem;
use crate::number::Decimal;
use crate::package;
use serde::{Deserialize, Serialize};

/// The fewest results that a consensus is made of (D8).
pub const FEWEST_FOR_CONSENSUS: usize = 8;

fn is_default<T: Default + PartialEq>(value: &T) -> bool {
    *value == T::default()
}

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
    /// What results below a limit do in a consensus.
    #[serde(skip_serializing_if = "is_default", default)]
    pub censored: Censored,
    /// Limits of the classes, where they are not those of ISO 13528.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub limits: Option<Limits>,
    /// Which score gives the class.
    #[serde(skip_serializing_if = "is_default", default)]
    pub decides: Decides,
}

impl Plan {
    /// A plan with z as the score that decides, limits of ISO 13528, and results
    /// below a limit left out.
    pub fn new(assigned: Assigned, sigma_pt: Option<SigmaPt>) -> Plan {
        let (censored, limits, decides) = (Censored::default(), None, Decides::default());
        Plan { assigned, sigma_pt, censored, limits, decides }
    }

    /// The scores that are computed, the deciding one first. E_n needs a value that
    /// does not come from the participants.
    pub fn scores(&self) -> Vec<package::Score> {
        use package::Score::{Difference, DifferencePercent, En, Z, Zeta};
        let first = match self.decides {
            Decides::Z => Z,
            Decides::EN => En,
            Decides::Zeta => Zeta,
        };
        let independent = match &self.assigned {
            Assigned::Absent { .. } => return Vec::new(),
            Assigned::Participants { .. } => false,
            Assigned::Formulation(_) | Assigned::Reference(_) | Assigned::Expert(_) => true,
        };
        let mut scores = vec![first];
        scores.extend([Z, Zeta].into_iter().filter(|score| *score != first));
        scores.extend((independent && first != En).then_some(En));
        scores.extend([Difference, DifferencePercent]);
        scores
    }

    /// sigma_pt in the unit, where it can be known before the evaluation: from a
    /// number, or from a given value in percent.
    pub fn known_sigma(&self) -> Option<f64> {
        match (&self.sigma_pt, self.assigned.given()) {
            (Some(SigmaPt::Prescribed(sigma)), _) => Some(sigma.value()),
            (Some(SigmaPt::Percent(percent)), Some((_, given))) => Some(given.value.value() * percent.value() / 100.0),
            _ => None,
        }
    }

    /// sigma_pt as a share of the assigned value, where that can be known before the
    /// evaluation.
    pub fn relative_sigma(&self) -> Option<f64> {
        match (&self.sigma_pt, self.assigned.given()) {
            (Some(SigmaPt::Percent(percent)), _) => Some(percent.value() / 100.0),
            (Some(SigmaPt::Prescribed(sigma)), Some((_, given))) => Some(sigma.value() / given.value.value()),
            _ => None,
        }
    }

    /// u(x_pt) / sigma_pt of a given value, where sigma_pt is known (D4).
    pub fn uncertainty_ratio(&self) -> Option<f64> {
        let (_, given) = self.assigned.given()?;
        Some(given.uncertainty.standard() / self.known_sigma()?)
    }

    /// What a planner should look at once more; nothing of it is refused. `expected`
    /// is the number of results that can be hoped for.
    pub fn warnings(&self, expected: Option<usize>) -> Vec<Problem> {
        let mut warnings = Vec::new();
        // D15: from a third on no result, however low, can reach -3.
        if let Some(share) = self.relative_sigma().filter(|share| 3.0 * share >= 1.0) {
            warnings.push(Problem::new("plan-warn-wide").with("percent", percent(share)));
        }
        if let (Assigned::Participants { fallback: None, .. }, Some(expected)) = (&self.assigned, expected)
            && expected < FEWEST_FOR_CONSENSUS
        {
            let few = Problem::new("plan-warn-few").with("expected", expected);
            warnings.push(few.with("least", FEWEST_FOR_CONSENSUS));
        }
        if let Some(ratio) = self.uncertainty_ratio().filter(|ratio| *ratio > 0.3) {
            let key = if ratio > 0.5 { "plan-warn-uncertain" } else { "plan-warn-qualified" };
            warnings.push(Problem::new(key).with("ratio", format!("{ratio:.2}")));
        }
        warnings
    }
}

/// A share in percent, with at most one decimal.
fn percent(share: f64) -> String {
    format!("{:.1}", share * 100.0).trim_end_matches(".0").to_owned()
}

/// What results below a limit do in a consensus (D10).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Censored {
    /// They are left out of it.
    #[default]
    Exclude,
    /// They count by their ranks, where that gives one answer.
    LimitAware,
}

/// Which score gives the class (D1, D3).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Decides {
    /// z, or z' where u(x_pt) is not negligible.
    #[default]
    Z,
    /// E_n.
    #[serde(rename = "e_n")]
    EN,
    /// Zeta.
    Zeta,
}

impl Decides {
    /// All, the usual one first.
    pub const ALL: [Decides; 3] = [Decides::Z, Decides::EN, Decides::Zeta];

    /// The word of forms and files.
    pub fn word(self) -> &'static str {
        match self {
            Decides::Z => "z",
            Decides::EN => "e_n",
            Decides::Zeta => "zeta",
        }
    }

    /// Whether it needs the uncertainties of the participants.
    pub fn needs_uncertainty(self) -> bool {
        self != Decides::Z
    }
}

/// Limits of the classes that differ from those of ISO 13528 (D1).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limits {
    /// |z| up to which a result is acceptable; 2 in ISO 13528.
    pub warning: Decimal,
    /// |z| from which it is unacceptable; 3 in ISO 13528.
    pub action: Decimal,
    /// |E_n| from which it is unacceptable; 1 in ISO 13528.
    pub e_n: Decimal,
    /// Why they differ.
    pub reason: String,
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
        /// The value that is used where there is no consensus (D8).
        #[serde(skip_serializing_if = "Option::is_none", default)]
        fallback: Option<Fallback>,
    },
    /// The analyte is proven absent.
    Absent {
        /// Content below which that is proven.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        absent_below: Option<Decimal>,
    },
}

impl Assigned {
    /// The value that is given, with what it rests on; not a fallback.
    pub fn given(&self) -> Option<(Basis, &Given)> {
        match self {
            Assigned::Formulation(given) => Some((Basis::Formulation, given)),
            Assigned::Reference(given) => Some((Basis::Reference, given)),
            Assigned::Expert(given) => Some((Basis::Expert, given)),
            Assigned::Participants { .. } | Assigned::Absent { .. } => None,
        }
    }

    /// The value that is given, be it a fallback.
    pub fn given_at_all(&self) -> Option<(Basis, &Given)> {
        match self {
            Assigned::Participants { fallback, .. } => fallback.as_ref().map(|f| (f.basis, &f.given)),
            other => other.given(),
        }
    }

    fn of(basis: Basis, given: Given) -> Assigned {
        match basis {
            Basis::Formulation => Assigned::Formulation(given),
            Basis::Reference => Assigned::Reference(given),
            Basis::Expert => Assigned::Expert(given),
        }
    }
}

/// What a given value rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// How the item was made.
    Formulation,
    /// A reference material or laboratory.
    Reference,
    /// Expert laboratories.
    Expert,
}

impl Basis {
    /// All, in the order of forms.
    pub const ALL: [Basis; 3] = [Basis::Formulation, Basis::Reference, Basis::Expert];

    /// The word of forms and files.
    pub fn word(self) -> &'static str {
        match self {
            Basis::Formulation => "formulation",
            Basis::Reference => "reference",
            Basis::Expert => "expert",
        }
    }

    /// What this word says.
    pub fn of(word: &str) -> Option<Basis> {
        Basis::ALL.into_iter().find(|basis| basis.word() == word)
    }
}

/// The value that is used where there is no consensus.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fallback {
    /// What it rests on.
    pub basis: Basis,
    /// Value and uncertainty.
    pub given: Given,
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
    /// By the number that counts: Algorithm A from 18, Q/Hampel from 12, the median
    /// with MADe from 8 (D7).
    ByCount,
    /// Algorithm A of ISO 13528.
    AlgorithmA,
    /// Q method with Hampel's location.
    QHampel,
    /// Median with MADe.
    MedianMade,
    /// Median with the normalised interquartile range.
    MedianNiqr,
}

impl Estimator {
    /// All, the usual one first.
    pub const ALL: [Estimator; 5] =
        [Estimator::ByCount, Estimator::AlgorithmA, Estimator::QHampel, Estimator::MedianMade, Estimator::MedianNiqr];

    /// The word of forms and files, where it stands as a route.
    pub fn word(self) -> &'static str {
        match self {
            Estimator::ByCount => "by_count",
            Estimator::AlgorithmA => "algorithm_a",
            Estimator::QHampel => "q_hampel",
            Estimator::MedianMade => "median_made",
            Estimator::MedianNiqr => "median_niqr",
        }
    }

    /// The estimator of this word.
    pub fn of(word: &str) -> Option<Estimator> {
        Estimator::ALL.into_iter().find(|estimator| estimator.word() == word)
    }
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
