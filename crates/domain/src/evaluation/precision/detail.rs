//! What a report says of the precision of a measurand beside the numbers of
//! [`super::MeasurandPrecision`]: how sure they are, and what single values tell.

use super::{Interval, MeasurandPrecision, cells};
use crate::package::{Measurand, RoundPackage};
use roundel_stats::precision as trial;
use roundel_stats::{Sample, summary};

/// The confidence of the intervals.
pub const CONFIDENCE: f64 = 0.95;

/// Coverage factor of the uncertainty of a recovery.
const COVERAGE: f64 = 2.0;

/// How sure the numbers of a measurand are; in its unit unless it says otherwise.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Detail {
    /// Interval of s_r at [`CONFIDENCE`].
    pub repeatability: Option<Interval>,
    /// Interval of s_R at [`CONFIDENCE`].
    pub reproducibility: Option<Interval>,
    /// The standard deviation of the single values of the laboratories, where none
    /// gave two: what there is of s_R, with s_r not to be told from it.
    pub total_sd: Option<f64>,
    /// Expanded uncertainty of the recovery with k = 2, in percent: from s_R/√p and
    /// the standard uncertainty of the value by formulation, reference or expert.
    pub recovery_uncertainty_percent: Option<f64>,
}

/// How sure the numbers of `found` are, which was evaluated from the package.
///
/// ```
/// use roundel_domain::evaluation::precision::{Outliers, detail, evaluate};
/// # use roundel_domain::package::{Reported, ReportedResult, parse};
/// # let mut package = parse(r#"{
/// #     "format": "round-package/1",
/// #     "round": { "code": "R-1", "title": "Water" },
/// #     "measurands": [{
/// #         "id": "A/x", "item": "A", "analyte": "x", "unit": "ng/L",
/// #         "assigned_value": { "basis": "formulation", "value": 50, "standard_uncertainty": 0.6 },
/// #         "sigma_pt": { "basis": "relative", "percent": 20 }, "scores": ["z"]
/// #     }],
/// #     "results": [{ "participant": "P1", "measurand": "A/x", "values": [69] }]
/// # }"#).expect("a valid package");
/// package.results = [("P1", 9.0), ("P2", 11.0), ("P3", 13.0)]
///     .map(|(code, value)| ReportedResult::new(code, "A/x", Reported::Values(vec![value])))
///     .to_vec();
/// let found = evaluate(&package, Outliers::SetAside, "roundel 0.1.0").measurands.remove(0);
/// assert_eq!(found.reproducibility_sd, None);
/// // By hand: the standard deviation of 9, 11 and 13.
/// assert_eq!(detail(&package, &package.measurands[0], &found).total_sd, Some(2.0));
/// ```
#[must_use]
pub fn detail(package: &RoundPackage, plan: &Measurand, found: &MeasurandPrecision) -> Detail {
    let aside = |code: &str| found.laboratory_statistics.iter().any(|of| of.set_aside && of.participant == code);
    let kept: Vec<Sample> =
        cells(package, plan).into_iter().filter(|cell| !aside(&cell.participant)).map(|cell| cell.values).collect();
    let intervals = trial::intervals(&kept, CONFIDENCE).ok();
    let single = kept.iter().all(|cell| cell.len() == 1);
    let total_sd = single.then(|| total(&kept)).flatten();
    Detail {
        repeatability: intervals.map(|found| found.repeatability),
        reproducibility: intervals.map(|found| found.reproducibility),
        total_sd,
        recovery_uncertainty_percent: recovery_uncertainty(plan, found, found.reproducibility_sd.or(total_sd)),
    }
}

fn total(single: &[Sample]) -> Option<f64> {
    let values = Sample::new(single.iter().flat_map(|cell| cell.values().iter().copied())).ok()?;
    summary::standard_deviation(&values).ok()
}

/// k √((s_R/(m√p))² + (u/x_pt)²) times the recovery (ISO 5725-4 for a value that has
/// an uncertainty of its own).
fn recovery_uncertainty(plan: &Measurand, found: &MeasurandPrecision, sd: Option<f64>) -> Option<f64> {
    let (recovery, value, mean) = (found.recovery_percent?, found.assigned_value?, found.mean?);
    let of_value = plan.assigned_value.as_ref()?.given()?.standard_uncertainty / value;
    let of_mean = sd? / (found.laboratories as f64).sqrt() / mean;
    let expanded = COVERAGE * recovery * of_mean.hypot(of_value);
    expanded.is_finite().then_some(expanded.abs())
}
