//! What an assigned value could be, side by side (F55): the value from elsewhere,
//! every estimate of the results that count, and the highest mode.

use crate::package::{AssignedValue, Measurand, Reported, ReportedResult};
use roundel_stats::density::{self, Resampling};
use roundel_stats::{Sample, censored, robust, summary};

const BANDWIDTH: f64 = 0.75;
const SETS: usize = 1000;
const MINOR: f64 = 0.10;

/// Where a candidate comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Estimate {
    /// The value from elsewhere that the plan has.
    Given,
    /// Algorithm A.
    AlgorithmA,
    /// Q method with Hampel's location.
    QHampel,
    /// Median with MADe.
    MedianMade,
    /// Median with the normalised interquartile range.
    MedianNiqr,
    /// Mean.
    Mean,
    /// Median and MADe by ranks, results below a limit included.
    LimitAware,
    /// The highest mode of the density.
    Mode,
}

impl Estimate {
    /// The word of the catalogue.
    pub fn word(self) -> &'static str {
        match self {
            Estimate::Given => "given",
            Estimate::AlgorithmA => "algorithm-a",
            Estimate::QHampel => "q-hampel",
            Estimate::MedianMade => "median-made",
            Estimate::MedianNiqr => "median-niqr",
            Estimate::Mean => "mean",
            Estimate::LimitAware => "limit-aware",
            Estimate::Mode => "mode",
        }
    }
}

/// A value that could be assigned, in the unit of the measurand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Candidate {
    /// Where it comes from.
    pub estimate: Estimate,
    /// The value.
    pub value: f64,
    /// Its standard uncertainty, where it has one.
    pub standard_uncertainty: Option<f64>,
    /// The spread that goes with it.
    pub spread: Option<f64>,
    /// How many results it is made of; none for a value from elsewhere.
    pub count: Option<usize>,
}

/// All candidates of a measurand, from the results that count. The mode is found
/// with kernels of 0.75 `sigma_pt` and its uncertainty by resampling from `seed`.
///
/// ```
/// use roundel_domain::package::{Measurand, Reported, ReportedResult};
/// use roundel_domain::review::{Estimate, candidates};
///
/// let results: Vec<ReportedResult> =
///     (1..=9).map(|n| ReportedResult::new(&format!("P{n}"), "A/x", Reported::Values(vec![f64::from(n)]))).collect();
/// let found = candidates(&Measurand::default(), &results.iter().collect::<Vec<_>>(), Some(4.0), 1);
/// let median = found.iter().find(|one| one.estimate == Estimate::MedianMade).unwrap();
/// // By hand: 5, and MADe = 1.483 × 2; u = 1.25 s*/√9.
/// assert_eq!((median.value, median.spread), (5.0, Some(1.483 * 2.0)));
/// assert!((median.standard_uncertainty.unwrap() - 1.25 * 2.966 / 3.0).abs() < 1e-12);
/// ```
pub fn candidates(plan: &Measurand, results: &[&ReportedResult], sigma_pt: Option<f64>, seed: u64) -> Vec<Candidate> {
    let counting = || results.iter().filter(|result| result.counts());
    let values: Vec<f64> = counting().filter_map(|result| super::value_of(result)).collect();
    let limits: Vec<f64> = counting()
        .filter_map(|result| match result.reported {
            Reported::Below(limit) => Some(limit),
            Reported::Values(_) => None,
        })
        .collect();
    let mut found: Vec<Candidate> = given(plan).into_iter().collect();
    let Ok(sample) = Sample::new(values) else { return found };
    let estimators = [
        (Estimate::AlgorithmA, robust::algorithm_a(&sample)),
        (Estimate::QHampel, robust::q_hampel(&sample)),
        (Estimate::MedianMade, robust::median_made(&sample)),
        (Estimate::MedianNiqr, robust::median_niqr(&sample)),
    ];
    found.extend(estimators.into_iter().filter_map(|(estimate, of)| Some(estimated(estimate, of.ok()?, sample.len()))));
    if let Ok(of) = summary::classical(&sample) {
        let count = sample.len();
        let u = of.scale / (count as f64).sqrt();
        found.push(Candidate {
            estimate: Estimate::Mean,
            value: of.location,
            standard_uncertainty: Some(u),
            spread: Some(of.scale),
            count: Some(count),
        });
    }
    if !limits.is_empty() {
        found.extend(limit_aware(&sample, &limits));
    }
    found.extend(sigma_pt.and_then(|sigma_pt| mode(&sample, sigma_pt, seed)));
    found
}

fn given(plan: &Measurand) -> Option<Candidate> {
    let given = match plan.assigned_value.as_ref()? {
        AssignedValue::Given(given) => given,
        AssignedValue::Participants(consensus) => consensus.fallback.as_ref()?,
        AssignedValue::None(_) => return None,
    };
    let added = given.additional_uncertainty.unwrap_or(0.0);
    Some(Candidate {
        estimate: Estimate::Given,
        value: given.value,
        standard_uncertainty: Some(given.standard_uncertainty.hypot(added)),
        spread: None,
        count: None,
    })
}

fn estimated(estimate: Estimate, of: roundel_stats::Estimate, count: usize) -> Candidate {
    let standard_uncertainty = robust::standard_uncertainty(of.scale, count).ok().filter(|u| *u > 0.0);
    Candidate { estimate, value: of.location, standard_uncertainty, spread: Some(of.scale), count: Some(count) }
}

fn limit_aware(sample: &Sample, limits: &[f64]) -> Option<Candidate> {
    let count = sample.len() + limits.len();
    if let Ok(of) = censored::median_made(sample, limits) {
        return Some(estimated(Estimate::LimitAware, of, count));
    }
    let value = censored::median(sample, limits).ok()?;
    let (standard_uncertainty, spread) = (None, None);
    Some(Candidate { estimate: Estimate::LimitAware, value, standard_uncertainty, spread, count: Some(count) })
}

fn mode(sample: &Sample, sigma_pt: f64, seed: u64) -> Option<Candidate> {
    let bandwidth = BANDWIDTH * sigma_pt;
    let modes = density::modes(sample, bandwidth).ok()?.modes;
    let highest = modes.into_iter().max_by(|a, b| a.density.total_cmp(&b.density))?;
    let resampling = Resampling { sets: SETS, seed, smoothed: true };
    let error = density::resample(sample, bandwidth, resampling, MINOR).ok().map(|found| found.standard_error);
    Some(Candidate {
        estimate: Estimate::Mode,
        value: highest.place,
        standard_uncertainty: error.filter(|u| *u > 0.0),
        spread: None,
        count: Some(sample.len()),
    })
}
