//! The open round package: one JSON document with everything that a round's
//! evaluation depends on, `"format": "round-package/1"`.
//!
//! [`parse`] is strict: unknown fields, duplicate keys and numbers that are
//! not finite are errors, because a misspelt option must not silently change
//! an evaluation, and all problems are reported in one pass. What is absent
//! in the document is `None` here, so that writing a package and hashing it
//! ([`RoundPackage::sha256`]) give back what was read; the accessors of
//! [`Measurand`] fill in the defaults.

pub(crate) mod canonical;
mod cursor;
mod fields;
mod reading;
mod reported;
mod rules;
mod writing;

pub(crate) use fields::LARGEST;
pub use reported::{Reported, ReportedResult};

use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::schema;
use reading::{MOST_DECIMALS, MOST_REPLICATES};

/// The value of `format` in a package.
pub const FORMAT: &str = "round-package/1";

/// JSON Schema of packages, draft 2020-12. It says less than [`parse`], which
/// also knows duplicate keys and rules between entries.
pub const SCHEMA: &str = include_str!("package/round-package.schema.json");

/// Reads a package.
///
/// ```
/// use roundel_domain::package::parse;
///
/// let problems = parse(r#"{ "format": "round-package/1", "round": { "code": "R-1" }, "results": [7] }"#)
///     .expect_err("three things are wrong");
/// let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
/// assert_eq!(lines, [
///     "error: : the field \"measurands\" is missing",
///     "error: /round: the field \"title\" is missing",
///     "error: /results/0: expected an object, found 7",
/// ]);
/// ```
///
/// # Errors
///
/// Every problem of the document, in document order (of more than ten thousand
/// the first that were found, and one that counts the rest); a single one with
/// an empty pointer, line and column where the text is not JSON.
pub fn parse(text: &str) -> Result<RoundPackage, Vec<Problem>> {
    reading::package(text)
}

/// What is wrong with a package, and where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// JSON Pointer (RFC 6901) to the field, or to the object that lacks one;
    /// empty for the whole document.
    pub pointer: String,
    /// What is wrong and what is expected.
    pub message: String,
}

impl fmt::Display for Problem {
    /// One line, whatever characters the document has in its keys.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let line = format!("error: {}: {}", self.pointer, self.message);
        for character in line.chars() {
            if character.is_control() {
                write!(formatter, "{}", character.escape_default())?;
            } else {
                write!(formatter, "{character}")?;
            }
        }
        Ok(())
    }
}

/// A whole package.
#[derive(Clone, Debug, Default, PartialEq, JsonSchema)]
#[schemars(title = "Round package")]
#[schemars(
    description = "Everything that a round's evaluation depends on: the plan, the decisions and the anonymised results."
)]
#[schemars(deny_unknown_fields)]
#[schemars(transform = schema::Constant("format", FORMAT))]
pub struct RoundPackage {
    /// Which round it is.
    pub round: PackageRound,
    /// The measurands in the order of the evaluation, ids unique.
    pub measurands: Vec<Measurand>,
    /// The results in any order, one per participant and measurand.
    pub results: Vec<ReportedResult>,
}

impl RoundPackage {
    /// SHA-256, in hexadecimal, of the RFC 8785 form of the package with
    /// measurands sorted by id and results by measurand, then participant.
    ///
    /// ```
    /// use roundel_domain::package::{Reported, ReportedResult, RoundPackage};
    ///
    /// let result = |code: &str| ReportedResult::new(code, "A/x", Reported::Below(2.0));
    /// let one = RoundPackage { results: vec![result("P1"), result("P2")], ..RoundPackage::default() };
    /// let other = RoundPackage { results: vec![result("P2"), result("P1")], ..RoundPackage::default() };
    /// assert_eq!(one.sha256(), other.sha256());
    /// ```
    #[must_use]
    pub fn sha256(&self) -> String {
        canonical::sha256(self)
    }

    /// The package as indented JSON with a line break at the end.
    #[must_use]
    pub fn to_json(&self) -> String {
        let mut text = serde_json::to_string_pretty(self).expect("a package has text keys and finite numbers");
        text.push('\n');
        text
    }

    /// The problems that [`parse`] would report for the written form of this
    /// package: for packages that were built in code.
    ///
    /// ```
    /// use roundel_domain::package::{PackageRound, RoundPackage};
    ///
    /// let round = PackageRound { code: " ".to_owned(), ..PackageRound::default() };
    /// let package = RoundPackage { round, ..RoundPackage::default() };
    /// assert_eq!(package.problems()[0].pointer, "/round/code");
    /// ```
    #[must_use]
    pub fn problems(&self) -> Vec<Problem> {
        parse(&self.to_json()).err().unwrap_or_default()
    }
}

/// Code and title of the round.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct PackageRound {
    /// Code of the round, such as `R-2027-1`.
    #[schemars(schema_with = "schema::filled_text")]
    pub code: String,
    /// Title of the round.
    pub title: String,
    /// What an export left out: fields and ids of measurands. Without effect.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(schema_with = "schema::filled_texts")]
    pub omitted: Option<Vec<String>>,
}

/// What is measured in which item, and how it is evaluated.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
#[schemars(extend("allOf" = schema::rules_of_a_measurand()))]
pub struct Measurand {
    /// Unique name, such as `A/carbamazepine`.
    #[schemars(schema_with = "schema::filled_text")]
    pub id: String,
    /// The item that it is measured in.
    #[schemars(schema_with = "schema::filled_text")]
    pub item: String,
    /// The analyte.
    #[schemars(schema_with = "schema::filled_text")]
    pub analyte: String,
    /// The unit of all numbers of this measurand.
    pub unit: String,
    /// The most values that a result may have, 1 by default.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 1, max = MOST_REPLICATES), extend("default" = 1))]
    pub replicates: Option<u32>,
    /// Where x_pt and its uncertainty come from; required unless absent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub assigned_value: Option<AssignedValue>,
    /// Where σ_pt comes from.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sigma_pt: Option<SigmaPt>,
    /// The scores asked for, in the order that decides the class.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(extend("uniqueItems" = true, "default" = []))]
    pub scores: Option<Vec<Score>>,
    /// The limits of the classes, all three or none; 2, 3 and 1 by default.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limits: Option<Limits>,
    /// What is done with results below a limit.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(extend("default" = "exclude"))]
    pub censored: Option<Censored>,
    /// Decimals of the published numbers.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rounding: Option<Rounding>,
    /// `false`: the analyte is proven absent.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(extend("default" = true))]
    pub present: Option<bool>,
    /// Content below which the analyte is proven absent.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(schema_with = "schema::positive")]
    pub absent_below: Option<f64>,
    /// The limit of quantification that the plan asks for.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(schema_with = "schema::positive")]
    pub required_loq: Option<f64>,
    /// Mass fraction of one unit: 1e-12 for ng/L in water.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(schema_with = "schema::positive")]
    pub mass_fraction_per_unit: Option<f64>,
    /// Duplicates of the homogeneity test, one pair per unit, filling order.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(schema_with = "schema::pairs")]
    pub homogeneity: Option<Vec<[f64; 2]>>,
    /// Values of the stability test.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stability: Option<Stability>,
    /// What a person decided about the measurand.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub decision: Option<Decision>,
}

impl Measurand {
    /// The most values that a result may have, 1 by default.
    #[must_use]
    pub fn replicates(&self) -> u32 {
        self.replicates.unwrap_or(1)
    }

    /// The scores asked for, none by default.
    #[must_use]
    pub fn scores(&self) -> &[Score] {
        self.scores.as_deref().unwrap_or_default()
    }

    /// The limits, 2, 3 and 1 by default.
    #[must_use]
    pub fn limits(&self) -> Limits {
        self.limits.unwrap_or_default()
    }

    /// What is done with results below a limit: left out by default.
    #[must_use]
    pub fn censored(&self) -> Censored {
        self.censored.unwrap_or_default()
    }

    /// Whether the analyte may be present, which is the default.
    #[must_use]
    pub fn is_present(&self) -> bool {
        self.present.unwrap_or(true)
    }

    /// Whether any score is asked for that gives a class.
    #[must_use]
    pub fn asks_for_class(&self) -> bool {
        self.scores().iter().any(|score| score.gives_class())
    }
}

/// Where the assigned value comes from.
#[derive(Clone, Debug, PartialEq, JsonSchema)]
#[schemars(untagged)]
pub enum AssignedValue {
    /// A value with its uncertainty from outside the round.
    Given(GivenValue),
    /// A consensus of participants.
    Participants(Consensus),
    /// No value: summary only.
    None(NoValue),
}

impl AssignedValue {
    /// The value, where it is given.
    #[must_use]
    pub fn given(&self) -> Option<&GivenValue> {
        match self {
            Self::Given(given) => Some(given),
            Self::Participants(_) | Self::None(_) => None,
        }
    }

    /// The consensus that is asked for, if it is one.
    #[must_use]
    pub fn consensus(&self) -> Option<&Consensus> {
        match self {
            Self::Participants(consensus) => Some(consensus),
            Self::Given(_) | Self::None(_) => None,
        }
    }
}

/// A value from outside the round.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct GivenValue {
    /// What the value rests on.
    pub basis: GivenBasis,
    /// The value.
    #[schemars(schema_with = "schema::number")]
    pub value: f64,
    /// Its standard uncertainty, above zero.
    #[schemars(schema_with = "schema::positive")]
    pub standard_uncertainty: f64,
    /// Added to the uncertainty in quadrature.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(schema_with = "schema::not_negative")]
    pub additional_uncertainty: Option<f64>,
}

/// What a given value rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum GivenBasis {
    /// How the item was made.
    Formulation,
    /// A reference material or laboratory.
    Reference,
    /// Expert laboratories, evaluated elsewhere.
    Expert,
}

/// A consensus of participants.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
#[schemars(transform = schema::Constant("basis", "participants"))]
pub struct Consensus {
    /// The estimator, by the number that counts if none is named.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(extend("default" = "by_count"))]
    pub estimator: Option<Estimator>,
    /// The codes that count, where not all do.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(schema_with = "schema::codes")]
    pub participants: Option<Vec<String>>,
    /// The value that is used where there is no consensus.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fallback: Option<GivenValue>,
    /// The reviewer's reason for a consensus of few.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(schema_with = "schema::filled_text")]
    pub consent: Option<String>,
    /// Added to the uncertainty in quadrature.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(schema_with = "schema::not_negative")]
    pub additional_uncertainty: Option<f64>,
}

impl Consensus {
    /// The estimator, by the number of results unless one is named.
    #[must_use]
    pub fn estimator(&self) -> Estimator {
        self.estimator.unwrap_or(Estimator::ByCount)
    }

    /// Whether the consensus is one of few by plan, so that the rules for
    /// small numbers do not apply: a list of codes or weights.
    #[must_use]
    pub fn is_expert_group(&self) -> bool {
        self.participants.is_some() || self.estimator().is_weighted()
    }
}

/// The fields of an assigned value with the basis `none`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
#[schemars(transform = schema::Constant("basis", "none"))]
pub struct NoValue {
    /// Allowed with every basis; without effect here.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(schema_with = "schema::not_negative")]
    pub additional_uncertainty: Option<f64>,
}

/// How a consensus is computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Estimator {
    /// By the number that counts.
    ByCount,
    /// Algorithm A.
    AlgorithmA,
    /// Q method with Hampel's location.
    QHampel,
    /// Median and MADe.
    MedianMade,
    /// Median and normalised interquartile range.
    MedianNiqr,
    /// Mean and standard deviation.
    Mean,
    /// Weighted mean with Birge's ratio.
    WeightedMean,
    /// Mandel and Paule.
    MandelPaule,
    /// DerSimonian and Laird.
    #[serde(rename = "dersimonian_laird")]
    DerSimonianLaird,
}

impl Estimator {
    /// Whether it weighs by the participants' uncertainties.
    #[must_use]
    pub fn is_weighted(self) -> bool {
        matches!(self, Self::WeightedMean | Self::MandelPaule | Self::DerSimonianLaird)
    }
}

/// Where the standard deviation for proficiency assessment comes from.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct SigmaPt {
    /// The rule with its numbers.
    #[serde(flatten)]
    pub basis: SigmaBasis,
    /// A standard deviation added in quadrature.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(schema_with = "schema::not_negative")]
    pub additional_sd: Option<f64>,
}

impl SigmaPt {
    /// Without an additional standard deviation.
    #[must_use]
    pub fn new(basis: SigmaBasis) -> Self {
        Self { basis, additional_sd: None }
    }
}

/// The rule for σ_pt.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(tag = "basis", rename_all = "snake_case")]
pub enum SigmaBasis {
    /// A number.
    Prescribed {
        /// σ_pt, above zero.
        #[schemars(schema_with = "schema::positive")]
        value: f64,
    },
    /// A share of the assigned value.
    Relative {
        /// Per cent of x_pt, above zero.
        #[schemars(schema_with = "schema::positive")]
        percent: f64,
    },
    /// Horwitz's function of the mass fraction.
    Horwitz,
    /// From a precision experiment.
    Precision {
        /// s_r, not negative.
        #[schemars(schema_with = "schema::not_negative")]
        repeatability_sd: f64,
        /// s_R, not negative; σ_pt must come out above zero.
        #[schemars(schema_with = "schema::not_negative")]
        reproducibility_sd: f64,
    },
    /// The robust standard deviation of the participants.
    Participants,
}

/// A score that can be asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Score {
    /// z.
    Z,
    /// z′.
    ZPrime,
    /// ζ.
    Zeta,
    /// E_n.
    #[serde(rename = "e_n")]
    En,
    /// D.
    Difference,
    /// D %.
    DifferencePercent,
}

impl Score {
    /// Whether a class can be decided by it.
    #[must_use]
    pub fn gives_class(self) -> bool {
        !matches!(self, Self::Difference | Self::DifferencePercent)
    }
}

/// Limits of the classes, all above zero.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Limits {
    /// |z| up to which a result is acceptable.
    #[schemars(schema_with = "schema::positive")]
    pub warning: f64,
    /// |z| from which it is not.
    #[schemars(schema_with = "schema::positive")]
    pub action: f64,
    /// |E_n| from which it is not.
    #[schemars(schema_with = "schema::positive")]
    pub e_n: f64,
}

impl Default for Limits {
    /// 2, 3 and 1 (ISO 13528:2022 9.4.2 and 9.7).
    fn default() -> Self {
        Self { warning: 2.0, action: 3.0, e_n: 1.0 }
    }
}

/// What is done with results below a limit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Censored {
    /// They take no part in the consensus.
    #[default]
    Exclude,
    /// They take part by their ranks.
    LimitAware,
}

/// Decimals of the published numbers, each optional.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Rounding {
    /// Decimals of x_pt.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(max = MOST_DECIMALS))]
    pub assigned_value: Option<u32>,
    /// Decimals of u(x_pt), which is rounded up.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(max = MOST_DECIMALS))]
    pub standard_uncertainty: Option<u32>,
    /// Decimals of σ_pt.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(max = MOST_DECIMALS))]
    pub sigma_pt: Option<u32>,
}

/// Values of a stability test.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Stability {
    /// Before the round, at least one.
    #[schemars(schema_with = "schema::numbers")]
    pub before: Vec<f64>,
    /// After it, at least one.
    #[schemars(schema_with = "schema::numbers")]
    pub after: Vec<f64>,
}

/// What a person decided about a measurand.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Decision {
    /// What becomes of the scores.
    pub signal: DecidedSignal,
    /// Why.
    #[schemars(schema_with = "schema::filled_text")]
    pub reason: String,
}

/// The signals that can be decided on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum DecidedSignal {
    /// Scores are printed without a class.
    InformationOnly,
    /// Nothing is scored.
    NotScored,
}
