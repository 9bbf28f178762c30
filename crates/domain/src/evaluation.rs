//! Evaluating a round package: assigned values, scores and signals,
//! `"format": "round-evaluation/1"`.
//!
//! [`evaluate`] is a function of the package alone: the same package gives
//! the same bytes ([`RoundEvaluation::to_json`]), whatever the order of its
//! results. Formulas live in `roundel_stats`; this module decides which of
//! them applies and what the outcome is called.

mod assigned;
mod checks;
mod counting;
mod notes;
pub mod pieces;
pub mod precision;
pub mod rounding;
mod scoring;
mod sigma;
mod summary;

use std::collections::HashMap;
use std::io;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize, Serializer};

use crate::package::{Estimator, Measurand, ReportedResult, RoundPackage};
use crate::schema;
use assigned::AssignedOutcome;
use counting::Counting;
use scoring::Judge;

pub use notes::{Note, NoteCode};
pub use scoring::deciding_score;
pub(crate) use sigma::planned as planned_sigma;

/// The value of `format` in an evaluation.
pub const FORMAT: &str = "round-evaluation/1";
/// JSON Schema of evaluations, draft 2020-12.
pub const SCHEMA: &str = include_str!("evaluation/round-evaluation.schema.json");

/// Evaluates a valid package. `engine` names the program and its version, as
/// in `roundel 0.1.0`.
///
/// ```
/// use roundel_domain::evaluation::{Signal, evaluate};
/// use roundel_domain::package::parse;
///
/// let package = parse(r#"{
///     "format": "round-package/1",
///     "round": { "code": "R-1", "title": "Water" },
///     "measurands": [{
///         "id": "A/x", "item": "A", "analyte": "x", "unit": "ng/L", "replicates": 2,
///         "assigned_value": { "basis": "formulation", "value": 50, "standard_uncertainty": 0.6 },
///         "sigma_pt": { "basis": "relative", "percent": 20 }, "scores": ["z"]
///     }],
///     "results": [{ "participant": "P1", "measurand": "A/x", "values": [69, 71] }]
/// }"#).expect("a valid package");
/// let evaluation = evaluate(&package, "roundel 0.1.0");
/// // By hand: (70 − 50)/10 = 2, on the limit and so within it.
/// assert_eq!((evaluation.scores[0].z, evaluation.scores[0].signal), (Some(2.0), Signal::None));
/// ```
#[must_use]
pub fn evaluate(package: &RoundPackage, engine: &str) -> RoundEvaluation {
    RoundEvaluation { engine: engine.to_owned(), package_sha256: package.sha256(), ..evaluate_unhashed(package) }
}

/// The same without the names of program and package, for what is never stored:
/// a trial on a copy.
pub(crate) fn evaluate_unhashed(package: &RoundPackage) -> RoundEvaluation {
    let mut scores = Vec::with_capacity(package.results.len());
    let mut measurands = Vec::with_capacity(package.measurands.len());
    for part in parts(package) {
        scores.extend(part.scores());
        measurands.push(part.evaluation);
    }
    RoundEvaluation {
        format: FORMAT.to_owned(),
        engine: String::new(),
        package_sha256: String::new(),
        measurands,
        scores,
    }
}

/// Evaluates a valid package and writes what [`RoundEvaluation::to_json`]
/// gives, without holding the scores or the text in memory.
///
/// ```
/// use roundel_domain::evaluation;
/// use roundel_domain::package::RoundPackage;
///
/// let package = RoundPackage::default();
/// let mut written = Vec::new();
/// evaluation::write(&package, "roundel 0.1.0", &mut written)?;
/// assert_eq!(written, evaluation::evaluate(&package, "roundel 0.1.0").to_json().into_bytes());
/// # Ok::<(), std::io::Error>(())
/// ```
///
/// # Errors
///
/// Where `to` cannot be written to.
pub fn write(package: &RoundPackage, engine: &str, mut to: impl io::Write) -> io::Result<()> {
    let parts: Vec<Part<'_>> = parts(package).collect();
    let document = Written {
        format: FORMAT,
        engine,
        package_sha256: package.sha256(),
        measurands: Each(|| parts.iter().map(|part| &part.evaluation)),
        scores: Each(|| parts.iter().flat_map(Part::scores)),
    };
    serde_json::to_writer_pretty(&mut to, &document)?;
    to.write_all(b"\n")
}

/// The members of [`RoundEvaluation`], made while they are written.
#[derive(Serialize)]
struct Written<'p, M: Serialize, S: Serialize> {
    format: &'static str,
    engine: &'p str,
    package_sha256: String,
    measurands: M,
    scores: S,
}

/// A list that is written from an iterator.
struct Each<F>(F);

impl<F: Fn() -> I, I: Iterator<Item: Serialize>> Serialize for Each<F> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.0())
    }
}

/// One measurand, evaluated, with what its scores are made of.
struct Part<'p> {
    evaluation: MeasurandEvaluation,
    judge: Judge<'p>,
    results: Vec<&'p ReportedResult>,
}

impl Part<'_> {
    fn scores(&self) -> impl Iterator<Item = ScoreEntry> {
        self.results.iter().map(|result| self.judge.entry(result))
    }
}

/// The measurands in the package's order, the results of each by participant.
fn parts(package: &RoundPackage) -> impl Iterator<Item = Part<'_>> {
    let mut results: HashMap<&str, Vec<&ReportedResult>> = HashMap::new();
    for result in &package.results {
        results.entry(&result.measurand).or_default().push(result);
    }
    package.measurands.iter().map(move |plan| {
        let mut own = results.remove(plan.id.as_str()).unwrap_or_default();
        own.sort_by(|a, b| a.participant.cmp(&b.participant));
        evaluate_measurand(plan, own)
    })
}

fn evaluate_measurand<'p>(plan: &'p Measurand, results: Vec<&'p ReportedResult>) -> Part<'p> {
    let counting = Counting::of(&results);
    let outcome = AssignedOutcome::of(plan, &counting);
    let checks = checks::of(plan, outcome.sigma_for_homogeneity(plan), outcome.sigma_pt());
    let notes = notes::of(plan, &counting, &outcome, &checks);
    let judge = Judge::new(plan, &counting, &outcome);
    let ratio = outcome.uncertainty_ratio();
    let evaluation = MeasurandEvaluation {
        id: plan.id.clone(),
        assigned_value: outcome.value.as_ref().map(|value| value.published.clone()),
        sigma_pt: outcome.sigma_pt(),
        uncertainty_ratio: ratio,
        uncertainty_negligible: ratio.map(assigned::is_negligible),
        summary: summary::of(&counting),
        homogeneity: checks.homogeneity,
        stability: checks.stability,
        notes,
    };
    Part { evaluation, judge, results }
}

/// The evaluation of a whole package.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "Round evaluation")]
#[schemars(description = "Assigned values, scores and signals of a round package.")]
#[schemars(deny_unknown_fields)]
pub struct RoundEvaluation {
    /// Name and version of this format.
    #[schemars(extend("const" = FORMAT))]
    pub format: String,
    /// Name and version of the program.
    pub engine: String,
    /// SHA-256 of the RFC 8785 form of the package, measurands sorted by id,
    /// results by measurand and participant.
    #[schemars(schema_with = "schema::sha256")]
    pub package_sha256: String,
    /// One entry per measurand, in the package's order.
    pub measurands: Vec<MeasurandEvaluation>,
    /// One entry per result, by measurand in that order, then by participant.
    pub scores: Vec<ScoreEntry>,
}

impl RoundEvaluation {
    /// The document as `roundel evaluate` prints it: indented JSON with a
    /// line break at the end.
    #[must_use]
    pub fn to_json(&self) -> String {
        let mut text = serde_json::to_string_pretty(self).expect("an evaluation has text keys and finite numbers");
        text.push('\n');
        text
    }

    /// Reads a document that was written by [`RoundEvaluation::to_json`].
    ///
    /// ```
    /// use roundel_domain::evaluation::{RoundEvaluation, evaluate};
    /// use roundel_domain::package::RoundPackage;
    ///
    /// let evaluation = evaluate(&RoundPackage::default(), "roundel 0.1.0");
    /// assert_eq!(RoundEvaluation::from_json(&evaluation.to_json())?, evaluation);
    /// # Ok::<(), serde_json::Error>(())
    /// ```
    ///
    /// # Errors
    ///
    /// Where the text is not such a document.
    pub fn from_json(text: &str) -> Result<Self, serde_json::Error> {
        serde_json::from_str(text)
    }

    /// The evaluation of one measurand.
    #[must_use]
    pub fn measurand(&self, id: &str) -> Option<&MeasurandEvaluation> {
        self.measurands.iter().find(|measurand| measurand.id == id)
    }
}

/// The evaluation of one measurand; numbers in its unit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct MeasurandEvaluation {
    /// Id of the measurand.
    pub id: String,
    /// The assigned value, where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub assigned_value: Option<PublishedValue>,
    /// Standard deviation for proficiency assessment, rounded as planned.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub sigma_pt: Option<f64>,
    /// q = u(x_pt)/σ_pt.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(extend("minimum" = 0))]
    pub uncertainty_ratio: Option<f64>,
    /// Whether q is at most 0.3.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub uncertainty_negligible: Option<bool>,
    /// Summary of the counting quantified results.
    pub summary: Summary,
    /// The test of homogeneity, where there are data.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub homogeneity: Option<HomogeneityCheck>,
    /// The test of stability, where there are data.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stability: Option<StabilityCheck>,
    /// What a reader must know.
    pub notes: Vec<Note>,
}

/// An assigned value as it was used, rounded as planned.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct PublishedValue {
    /// x_pt.
    pub value: f64,
    /// u(x_pt), additional parts included, rounded up.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub standard_uncertainty: f64,
    /// The basis that was used, so that of the fallback where that came in.
    pub basis: Basis,
    /// The estimator of a consensus.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(extend("not" = { "const": "by_count" }))]
    pub estimator: Option<Estimator>,
    /// The number of results in a consensus.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub p: Option<usize>,
    /// s* of a consensus.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub robust_sd: Option<f64>,
}

/// What an assigned value rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// How the item was made.
    Formulation,
    /// A reference material or laboratory.
    Reference,
    /// Expert laboratories, evaluated elsewhere.
    Expert,
    /// A consensus of participants.
    Participants,
}

/// Summary of the counting quantified results x.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Summary {
    /// Quantified, censored and excluded results.
    pub participants: usize,
    /// Counting results with values.
    pub quantified: usize,
    /// Counting results below a limit.
    pub censored: usize,
    /// Results that do not count.
    pub excluded: usize,
    /// Arithmetic mean.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mean: Option<f64>,
    /// Median.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub median: Option<f64>,
    /// Standard deviation.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sd: Option<f64>,
    /// MADe.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub made: Option<f64>,
    /// Normalised interquartile range.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub niqr: Option<f64>,
    /// Algorithm A's x*.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub algorithm_a_mean: Option<f64>,
    /// Algorithm A's s*.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub algorithm_a_sd: Option<f64>,
    /// The Q method's s*.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub q_method_sd: Option<f64>,
    /// Hampel's x* with it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hampel_mean: Option<f64>,
}

/// Outcome of a test of homogeneity.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct HomogeneityCheck {
    /// Number of units.
    pub units: usize,
    /// Mean of all values.
    pub mean: f64,
    /// Standard deviation between units; not for a single unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub between_sd: Option<f64>,
    /// Standard deviation within units.
    pub within_sd: f64,
    /// 0.3 σ_pt.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limit: Option<f64>,
    /// The limit that allows for the uncertainty of the test.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub expanded_limit: Option<f64>,
    /// Whether a criterion is met.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sufficient: Option<bool>,
    /// The criterion that is met.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub criterion: Option<Criterion>,
}

/// Outcome of a test of stability.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct StabilityCheck {
    /// Mean after − mean before.
    pub difference: f64,
    /// 0.3 σ_pt.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limit: Option<f64>,
    /// The limit that allows for the uncertainty of the test.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub expanded_limit: Option<f64>,
    /// Whether a criterion is met.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sufficient: Option<bool>,
    /// The criterion that is met.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub criterion: Option<Criterion>,
}

/// Which criterion of homogeneity or stability is met.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Criterion {
    /// The plain limit.
    Simple,
    /// The limit that allows for the uncertainty of the test.
    Expanded,
    /// Neither.
    None,
}

/// What became of one result.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct ScoreEntry {
    /// The participant's code.
    pub participant: String,
    /// Id of the measurand.
    pub measurand: String,
    /// The mean of the values, where there are values.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    /// The limit of a "<".
    #[serde(skip_serializing_if = "Option::is_none")]
    pub below: Option<f64>,
    /// z.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub z: Option<f64>,
    /// z′.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub z_prime: Option<f64>,
    /// ζ.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub zeta: Option<f64>,
    /// E_n.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub e_n: Option<f64>,
    /// D.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub difference: Option<f64>,
    /// D %.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub difference_percent: Option<f64>,
    /// The largest z (or z′) that a "<" can have.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bound: Option<f64>,
    /// Whether the limit of a "<" is at most the required one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub loq_met: Option<bool>,
    /// Whether the analyte was found, and whether that is right.
    pub detection: Detection,
    /// The class.
    pub signal: Signal,
}

/// The score that decided a class.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ScoreKind {
    /// z.
    Z,
    /// z′.
    ZPrime,
    /// ζ.
    Zeta,
    /// E_n.
    #[serde(rename = "e_n")]
    En,
    /// The bound of a result below a limit.
    Bound,
}

/// The class of a result. The printed words are acceptable, questionable,
/// unacceptable, information only, not scored.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Signal {
    /// Acceptable.
    None,
    /// Questionable.
    Warning,
    /// Unacceptable.
    Action,
    /// A score without a class.
    InformationOnly,
    /// No score.
    NotScored,
}

/// Whether the analyte was found, and whether that is right.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Detection {
    /// A value.
    Detected,
    /// A "<".
    NotDetected,
    /// A "<" that contradicts the assigned value.
    FalseNegative,
    /// A "<" where the analyte is absent.
    Correct,
    /// Such a "<", but above the required limit of quantification.
    LoqNotMet,
    /// A value where the analyte is absent.
    FalsePositive,
    /// Such a value below what is judged.
    Trace,
}
