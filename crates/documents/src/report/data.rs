//! What a report is made of; numbers in the unit of their measurand.

use crate::mark::{Limits, Mark, ScoreKind};
use serde::{Deserialize, Serialize};

/// Who runs the scheme.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Provider {
    /// Name.
    pub name: String,
    /// Lines of address and contact.
    pub contact: Vec<String>,
    /// The accreditation statement, a whole sentence; empty where there is none.
    pub accreditation: String,
}

/// Who authorised the report.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Authorised {
    /// Name.
    pub name: String,
    /// When, as `2024-04-19 12:00 UTC`.
    pub at: String,
    /// What the person said that it means.
    pub meaning: String,
    /// Names of those who approved the evaluation.
    pub approved_by: Vec<String>,
}

/// Which plan holds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlanOf {
    /// Its version.
    pub version: i64,
    /// SHA-256 of its text, in hexadecimal.
    pub sha256: String,
}

/// A text that somebody wrote, or why there is none.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Text {
    /// `plan-` or `said-` and the word of its heading.
    pub key: String,
    /// The text; empty where it is not applicable.
    pub text: String,
    /// Why it is not applicable; empty where there is a text.
    pub not_applicable: String,
}

/// An item of the round.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Item {
    /// Its label, as `A`.
    pub label: String,
    /// What it is made of.
    pub matrix: String,
    /// How many units were recorded; none where nobody kept a ledger.
    pub units: Option<usize>,
}

/// The test of homogeneity of one measurand, in its unit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Homogeneity {
    /// The measurand, as `A/nitrate`.
    pub measurand: String,
    /// Its unit.
    pub unit: String,
    /// Number of units.
    pub units: usize,
    /// Mean of all values.
    pub mean: f64,
    /// Standard deviation between units.
    pub between_sd: Option<f64>,
    /// Standard deviation within units.
    pub within_sd: f64,
    /// 0.3 σ_pt.
    pub limit: Option<f64>,
    /// The limit that allows for the uncertainty of the test.
    pub expanded_limit: Option<f64>,
    /// Which criterion is met: `simple`, `expanded`, `none`; empty where it could
    /// not be told.
    pub criterion: String,
    /// What was decided; empty for nothing.
    pub decided: String,
}

/// The test of stability of one measurand, in its unit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stability {
    /// The measurand, as `A/nitrate`.
    pub measurand: String,
    /// Its unit.
    pub unit: String,
    /// Mean after − mean before.
    pub difference: f64,
    /// 0.3 σ_pt.
    pub limit: Option<f64>,
    /// The limit that allows for the uncertainty of the test.
    pub expanded_limit: Option<f64>,
    /// As in [`Homogeneity`].
    pub criterion: String,
    /// What was decided; empty for nothing.
    pub decided: String,
}

/// One measurand with all its results; numbers in its unit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Measurand {
    /// Label of its item.
    pub item: String,
    /// The analyte.
    pub analyte: String,
    /// The unit.
    pub unit: String,
    /// What the result is expressed as; may be empty.
    pub expressed_as: String,
    /// Fewer than [`FEWEST_SHOWN`](super::FEWEST_SHOWN) laboratories reported it: nothing is shown, and
    /// `results` is empty.
    pub few: bool,
    /// The analyte is proven absent.
    pub absent: bool,
    /// Results with a value that count.
    pub quantified: usize,
    /// Results below a limit that count.
    pub censored: usize,
    /// Results that do not count.
    pub excluded: usize,
    /// The assigned value, where there is one.
    pub assigned: Option<Assigned>,
    /// σ_pt.
    pub sigma_pt: Option<f64>,
    /// How σ_pt was set; none where there is no rule for it.
    pub sigma_rule: Option<SigmaRule>,
    /// u(x_pt)/σ_pt.
    pub ratio: Option<f64>,
    /// Robust mean of the results that count, where there are enough.
    pub robust_mean: Option<f64>,
    /// s* of the results that count.
    pub robust_sd: Option<f64>,
    /// Median of the results that count.
    pub median: Option<f64>,
    /// Limits of the classes: warning, action, and that of E_n.
    pub limits: [f64; 3],
    /// Why the limits are not the usual ones; empty where they are.
    pub limits_reason: String,
    /// The score that decides, where any does.
    pub kind: Option<Kind>,
    /// How the content was prepared, with its budget.
    pub budget: Option<Budget>,
    /// What a reader must know.
    pub notes: Vec<Note>,
    /// In the order of the codes.
    pub results: Vec<Row>,
}

/// An assigned value as it was used.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Assigned {
    /// x_pt.
    pub value: f64,
    /// u(x_pt).
    pub standard_uncertainty: f64,
    /// `formulation`, `reference`, `expert` or `participants`.
    pub route: String,
    /// The estimator of a consensus; empty for another route.
    pub estimator: String,
    /// The number of results in a consensus.
    pub p: Option<usize>,
    /// s* of a consensus.
    pub robust_sd: Option<f64>,
}

/// How σ_pt was set.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SigmaRule {
    /// `prescribed`, `relative`, `horwitz`, `precision` or `participants`.
    pub basis: String,
    /// Percent of the assigned value, for `relative`.
    pub percent: Option<f64>,
    /// A standard deviation that was added in quadrature.
    pub additional_sd: Option<f64>,
}

/// A content by preparation.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Budget {
    /// The content.
    pub value: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty: f64,
    /// The parts of the budget: the word of the quantity, its number in a chain of
    /// dilutions (0 for none), and its share in the square of the uncertainty.
    pub parts: Vec<(String, usize, f64)>,
}

/// A note of the evaluation: a key of the catalogue with its values, or a text.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Note {
    /// The key; empty for a text.
    pub key: String,
    /// What the sentence shows.
    pub values: Vec<(String, String)>,
    /// What a person decided, as written; empty for a key.
    pub text: String,
}

/// One result.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Row {
    /// The laboratory's code.
    pub code: String,
    /// As it was reported, as "136" or "<25".
    pub reported: String,
    /// The unit in which it was reported, where that is another; else empty.
    pub reported_unit: String,
    /// U as it was reported, "30 %" where it was in percent; may be empty.
    pub uncertainty: String,
    /// k as it was reported; may be empty.
    pub coverage_factor: String,
    /// The value, for the figure.
    pub value: Option<f64>,
    /// The limit of a "<", for the figure.
    pub below: Option<f64>,
    /// U, for the figure.
    pub expanded_uncertainty: Option<f64>,
    /// The score that decided; of a "<" its bound.
    pub score: Option<f64>,
    /// Whether the score is a bound.
    pub bound: bool,
    /// Its kind.
    pub kind: Option<Kind>,
    /// The class.
    pub class: Class,
    /// What is to be told of it: `late`, `blunder`, `invalid`, `withdrawn`,
    /// `excluded`, `false_negative`, `false_positive`, `trace`.
    pub marks: Vec<String>,
}

/// The kind of a score.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// z.
    Z,
    /// z′.
    ZPrime,
    /// ζ.
    Zeta,
    /// E_n.
    EN,
}

impl From<Kind> for ScoreKind {
    fn from(kind: Kind) -> ScoreKind {
        match kind {
            Kind::Z => ScoreKind::Z,
            Kind::ZPrime => ScoreKind::ZPrime,
            Kind::Zeta => ScoreKind::Zeta,
            Kind::EN => ScoreKind::En,
        }
    }
}

/// The class of a result.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Class {
    /// Acceptable.
    Acceptable,
    /// Questionable.
    Questionable,
    /// Unacceptable.
    Unacceptable,
    /// A score without a class.
    InformationOnly,
    /// No score.
    NotScored,
}

impl From<Class> for Mark {
    fn from(class: Class) -> Mark {
        match class {
            Class::Acceptable => Mark::Within,
            Class::Questionable => Mark::Warning,
            Class::Unacceptable => Mark::Action,
            Class::InformationOnly => Mark::InformationOnly,
            Class::NotScored => Mark::NotScored,
        }
    }
}

impl Measurand {
    /// Its name in lists, as `A/nitrate`.
    pub fn name(&self) -> String {
        format!("{}/{}", self.item, self.analyte)
    }

    /// The limits that a kind of score is read against.
    pub(crate) fn limits_of(&self, kind: Kind) -> Limits {
        let [warning, action, e_n] = self.limits;
        match kind {
            Kind::EN => Limits { warning: None, action: e_n, cap: e_n * 2.0 },
            _ => Limits::new(warning, action),
        }
    }

    /// Whether any result has a class.
    pub(crate) fn is_scored(&self) -> bool {
        let with = |row: &Row| matches!(row.class, Class::Acceptable | Class::Questionable | Class::Unacceptable);
        self.results.iter().any(with)
    }
}

/// The groups of methods of a round.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Groups {
    /// The fewest laboratories that a shown group has.
    pub smallest: usize,
    /// By measurand, those with groups only.
    pub measurands: Vec<GroupsOf>,
}

/// The groups of one measurand.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GroupsOf {
    /// Label of its item.
    pub item: String,
    /// The analyte.
    pub analyte: String,
    /// The unit.
    pub unit: String,
    /// Its groups.
    pub groups: Vec<Group>,
}

/// One group.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Group {
    /// Question and answer, by their words; empty for those taken together.
    pub answers: Vec<(String, String)>,
    /// Those who did not say.
    pub not_stated: bool,
    /// Laboratories whose result counts.
    pub laboratories: usize,
    /// Of these, below a limit.
    pub censored: usize,
    /// Median of the values.
    pub median: Option<f64>,
    /// s* of the values.
    pub robust_sd: Option<f64>,
    /// Difference from all others in σ_pt with its limits (95 %) and its probability
    /// after correction.
    pub difference: Option<[f64; 4]>,
}

/// A decision of a person.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Decision {
    /// When, as `2024-04-05`.
    pub on: String,
    /// The laboratory's code; empty for a decision on a measurand.
    pub code: String,
    /// The measurand, as `A/nitrate`.
    pub measurand: String,
    /// The word of what was decided.
    pub kind: String,
    /// The word of what speaks for it, or of the topic.
    pub cause: String,
    /// Why.
    pub reason: String,
}

/// An amendment of the plan.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Amendment {
    /// The version of the plan that it made.
    pub version: i64,
    /// When it came into effect, as `2024-03-10`.
    pub on: String,
    /// The measurand, as `A/nitrate`; empty for a deadline.
    pub measurand: String,
    /// The deadline before and after, as `2024-03-26 16:00 UTC`; empty for others.
    pub deadline: Option<(String, String)>,
    /// Why.
    pub reason: String,
    /// How many laboratories had sent results when it was proposed.
    pub results: i64,
}

/// A rule whose values are not the usual ones.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rule {
    /// Its number, as `D7`.
    pub name: String,
    /// The name of the value.
    pub value: String,
    /// The usual value.
    pub usual: String,
    /// The value that was used.
    pub used: String,
}

/// A method sheet, in English.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sheet {
    /// Its title.
    pub title: String,
    /// What is done.
    pub what: String,
    /// The sentences that hold a formula.
    pub formula: Vec<String>,
    /// Where it is from.
    pub source: Vec<String>,
    /// Numbers that are fixed, and what for.
    pub defaults: Vec<(String, String)>,
    /// When it gives no answer.
    pub fails: String,
}

/// What the numbers can be made again from.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Evidence {
    /// SHA-256 of the round package that participants can have, in hexadecimal.
    pub package_sha256: String,
    /// SHA-256 of the evaluation that it gives, in hexadecimal.
    pub evaluation_sha256: String,
    /// The program that made the evaluation.
    pub engine: String,
}
