//! The same package read as a collaborative trial: the precision of a method,
//! `"format": "precision/1"`. A laboratory's values are its replicates;
//! excluded results and results below a limit take no part.

mod detail;
mod scrutiny;

pub use detail::{CONFIDENCE, Detail, detail};
pub use roundel_stats::precision::Interval;

use roundel_stats::{Sample, horwitz, outlier, precision as trial, summary};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::assigned::planned_value;
use crate::package::{Measurand, Reported, RoundPackage};
use crate::schema;

/// The value of `format` in a precision document.
pub const FORMAT: &str = "precision/1";
/// JSON Schema of precision documents, draft 2020-12.
pub const SCHEMA: &str = include_str!("precision/precision.schema.json");

/// What becomes of outlying laboratories.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outliers {
    /// Laboratories with an outlier at 1 % are set aside, 2/9 of them at most
    /// (ISO 5725-2).
    SetAside,
    /// As the harmonised protocol of collaborative studies has it: outliers at 2.5 %
    /// are set aside, 2/9 at most, and there are no stragglers.
    Harmonised,
    /// None is set aside, and each test is made once.
    Keep,
}

/// Evaluates a valid package as a collaborative trial. `engine` names the
/// program and its version.
///
/// ```
/// use roundel_domain::evaluation::precision::{Outliers, evaluate};
/// # use roundel_domain::package::{Reported, ReportedResult, parse};
/// # let mut package = parse(r#"{
/// #     "format": "round-package/1",
/// #     "round": { "code": "R-1", "title": "Water" },
/// #     "measurands": [{
/// #         "id": "A/x", "item": "A", "analyte": "x", "unit": "ng/L", "replicates": 2,
/// #         "assigned_value": { "basis": "formulation", "value": 50, "standard_uncertainty": 0.6 },
/// #         "sigma_pt": { "basis": "relative", "percent": 20 }, "scores": ["z"]
/// #     }],
/// #     "results": [{ "participant": "P1", "measurand": "A/x", "values": [69, 71] }]
/// # }"#).expect("a valid package");
/// package.results = [("P1", [9.0, 11.0]), ("P2", [12.0, 14.0])]
///     .map(|(code, values)| ReportedResult::new(code, "A/x", Reported::Values(values.to_vec())))
///     .to_vec();
/// let found = evaluate(&package, Outliers::SetAside, "roundel 0.1.0");
/// // By hand: s_r² = 4/2, s_L² = (9 − 2)/2.
/// let reproducibility = found.measurands[0].reproducibility_sd.expect("two replicates");
/// assert!((reproducibility - 5.5_f64.sqrt()).abs() < 1e-12);
/// ```
#[must_use]
pub fn evaluate(package: &RoundPackage, outliers: Outliers, engine: &str) -> PrecisionEvaluation {
    PrecisionEvaluation {
        format: FORMAT.to_owned(),
        engine: engine.to_owned(),
        package_sha256: package.sha256(),
        measurands: package
            .measurands
            .iter()
            .map(|plan| evaluate_measurand(plan, cells(package, plan), outliers))
            .collect(),
    }
}

/// The precision of all measurands of a package.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "Precision")]
#[schemars(description = "The precision of a method from a round package that is read as a collaborative trial.")]
#[schemars(deny_unknown_fields)]
pub struct PrecisionEvaluation {
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
    pub measurands: Vec<MeasurandPrecision>,
}

impl PrecisionEvaluation {
    /// The document as `roundel precision` prints it: indented JSON with a
    /// line break at the end.
    #[must_use]
    pub fn to_json(&self) -> String {
        let mut text =
            serde_json::to_string_pretty(self).expect("a precision document has text keys and finite numbers");
        text.push('\n');
        text
    }
}

/// The precision of one measurand; numbers in its unit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct MeasurandPrecision {
    /// Id of the measurand.
    pub id: String,
    /// Laboratories that were kept.
    pub laboratories: usize,
    /// Their results.
    pub results: usize,
    /// Per cent of all results that were set aside.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub outlier_percent: Option<f64>,
    /// Mean of all kept results.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mean: Option<f64>,
    /// s_r.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub repeatability_sd: Option<f64>,
    /// s_L.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub between_laboratory_sd: Option<f64>,
    /// s_R.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reproducibility_sd: Option<f64>,
    /// 100 s_r/m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub repeatability_cv_percent: Option<f64>,
    /// 100 s_R/m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reproducibility_cv_percent: Option<f64>,
    /// r = 2.8 s_r.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub repeatability_limit: Option<f64>,
    /// R = 2.8 s_R.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reproducibility_limit: Option<f64>,
    /// The value by formulation, reference or expert.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub assigned_value: Option<f64>,
    /// 100 m/x_pt.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub recovery_percent: Option<f64>,
    /// s_R against 22 % below a mass fraction of 1.2e-7 and 2 c^−0.15 % above.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub horrat: Option<f64>,
    /// s_R against 2 c^−0.15 % everywhere.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub horrat_unmodified: Option<f64>,
    /// The tests in the order made.
    pub tests: Vec<TestOutcome>,
    /// All laboratories, by participant.
    pub laboratory_statistics: Vec<LaboratoryStatistics>,
}

/// Outcome of one test.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct TestOutcome {
    /// Which test.
    pub test: Test,
    /// The laboratory or the pair that was tested, by code.
    #[schemars(length(min = 1, max = 2))]
    pub participants: Vec<String>,
    /// The statistic.
    pub statistic: f64,
    /// Its critical value at 5 % (ISO 5725-2).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub critical_5: Option<f64>,
    /// Its critical value at 1 % (ISO 5725-2).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub critical_1: Option<f64>,
    /// Its critical value at 2.5 % (harmonised protocol).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub critical_2_5: Option<f64>,
    /// What it says.
    pub finding: Finding,
    /// Whether the laboratory was kept because more than 2/9 would have been
    /// set aside.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    #[schemars(schema_with = "schema::only_true")]
    pub stopped: bool,
}

impl TestOutcome {
    /// Its critical values: level in percent, and value, the weakest level first.
    #[must_use]
    pub fn critical(&self) -> Vec<(f64, f64)> {
        let levels = [(5.0, self.critical_5), (2.5, self.critical_2_5), (1.0, self.critical_1)];
        levels.into_iter().filter_map(|(level, value)| Some((level, value?))).collect()
    }

    /// What came of it in keys of texts: what it says, or that it was kept all the same.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match (self.stopped, self.finding) {
            (true, _) => "stopped",
            (false, Finding::None) => "none",
            (false, Finding::Straggler) => "straggler",
            (false, Finding::Outlier) => "outlier",
        }
    }
}

impl Test {
    /// The word in keys of texts.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Test::Cochran => "cochran",
            Test::Grubbs => "grubbs",
            Test::GrubbsPair => "grubbs-pair",
            Test::GrubbsExtremes => "grubbs-extremes",
        }
    }
}

/// The tests.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Test {
    /// Cochran's test of the largest standard deviation.
    Cochran,
    /// Grubbs' test of one mean.
    Grubbs,
    /// Grubbs' test of two means at one end.
    GrubbsPair,
    /// Grubbs' test of the largest and the smallest mean together.
    GrubbsExtremes,
}

/// What a test says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Finding {
    /// Nothing at 5 %; in the harmonised protocol at 2.5 %.
    None,
    /// Between 5 % and 1 %.
    Straggler,
    /// Below 1 %; in the harmonised protocol below 2.5 %.
    Outlier,
}

/// Figures of one laboratory.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct LaboratoryStatistics {
    /// The participant's code.
    pub participant: String,
    /// Number of results.
    pub results: usize,
    /// Their mean.
    pub mean: f64,
    /// Their standard deviation, from two.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sd: Option<f64>,
    /// Mandel's h over all laboratories.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mandel_h: Option<f64>,
    /// Mandel's k over the laboratories with the commonest number of results.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mandel_k: Option<f64>,
    /// Whether it was set aside.
    pub set_aside: bool,
}

/// The results of one laboratory.
struct Cell {
    participant: String,
    values: Sample,
    mean: f64,
    deviation: Option<f64>,
    set_aside: bool,
}

/// The laboratories of a measurand, by participant.
fn cells(package: &RoundPackage, plan: &Measurand) -> Vec<Cell> {
    let own = package.results.iter().filter(|result| result.measurand == plan.id && result.counts());
    let mut cells: Vec<Cell> = own
        .filter_map(|result| {
            let Reported::Values(values) = &result.reported else {
                return None;
            };
            let values = Sample::new(values.iter().copied()).ok()?;
            Some(Cell {
                participant: result.participant.clone(),
                mean: summary::mean(&values).ok()?,
                deviation: summary::standard_deviation(&values).ok(),
                values,
                set_aside: false,
            })
        })
        .collect();
    cells.sort_by(|a, b| a.participant.cmp(&b.participant));
    cells
}

/// The commonest number of results, 2 or more; the larger at a tie.
fn commonest<'c>(cells: impl Iterator<Item = &'c Cell>) -> Option<usize> {
    let mut counts = std::collections::BTreeMap::new();
    for cell in cells.filter(|cell| cell.values.len() >= 2) {
        *counts.entry(cell.values.len()).or_insert(0_usize) += 1;
    }
    counts.into_iter().max_by_key(|(number, laboratories)| (*laboratories, *number)).map(|(number, _)| number)
}

fn evaluate_measurand(plan: &Measurand, mut cells: Vec<Cell>, outliers: Outliers) -> MeasurandPrecision {
    let tests = scrutiny::of(&mut cells, outliers);
    let all: usize = cells.iter().map(|cell| cell.values.len()).sum();
    let kept: Vec<Sample> = cells.iter().filter(|cell| !cell.set_aside).map(|cell| cell.values.clone()).collect();
    let figures = trial::precision(&kept).ok();
    let results = kept.iter().map(Sample::len).sum();
    let mean = figures.map(|figures| figures.mean + 0.0);
    let deviations = figures.and_then(|figures| figures.deviations);
    let of_mean = |part: f64, whole: f64| finite(100.0 * part / whole);
    let cv = |deviation: Option<f64>| of_mean(deviation?, mean?);
    let limit = |deviation: Option<f64>| finite(trial::LIMIT_FACTOR * deviation?);
    let repeatability = deviations.map(|deviations| deviations.repeatability);
    let reproducibility = deviations.map(|deviations| deviations.reproducibility);
    let assigned_value = planned_value(plan);
    let fraction = plan.mass_fraction_per_unit.zip(mean).map(|(per_unit, mean)| per_unit * mean);
    let ratio = |predicted: fn(f64) -> Result<f64, roundel_stats::Error>| {
        finite(cv(reproducibility)? / predicted(fraction?).ok()?)
    };
    MeasurandPrecision {
        id: plan.id.clone(),
        laboratories: kept.len(),
        results,
        outlier_percent: of_mean((all - results) as f64, all as f64),
        mean,
        repeatability_sd: repeatability,
        between_laboratory_sd: deviations.map(|deviations| deviations.between_laboratories),
        reproducibility_sd: reproducibility,
        repeatability_cv_percent: cv(repeatability),
        reproducibility_cv_percent: cv(reproducibility),
        repeatability_limit: limit(repeatability),
        reproducibility_limit: limit(reproducibility),
        assigned_value,
        recovery_percent: mean.zip(assigned_value).and_then(|(mean, value)| of_mean(mean, value)),
        horrat: ratio(horwitz::predicted_cv_percent_capped),
        horrat_unmodified: ratio(horwitz::predicted_cv_percent),
        tests,
        laboratory_statistics: statistics(&cells),
    }
}

/// A number, if it is one; zero is positive.
fn finite(number: f64) -> Option<f64> {
    number.is_finite().then_some(number + 0.0)
}

fn statistics(cells: &[Cell]) -> Vec<LaboratoryStatistics> {
    let means: Vec<f64> = cells.iter().map(|cell| cell.mean).collect();
    let h = outlier::mandel_h(&means).ok();
    let number = commonest(cells.iter());
    let compared = |cell: &&Cell| Some(cell.values.len()) == number;
    let deviations: Vec<f64> = cells.iter().filter(compared).filter_map(|cell| cell.deviation).collect();
    let mut k = outlier::mandel_k(&deviations).unwrap_or_default().into_iter();
    let entry = |(place, cell): (usize, &Cell)| LaboratoryStatistics {
        participant: cell.participant.clone(),
        results: cell.values.len(),
        mean: cell.mean,
        sd: cell.deviation,
        mandel_h: h.as_ref().map(|h| h[place] + 0.0),
        mandel_k: if compared(&cell) { k.next() } else { None },
        set_aside: cell.set_aside,
    };
    cells.iter().enumerate().map(entry).collect()
}
