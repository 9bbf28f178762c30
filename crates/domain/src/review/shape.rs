//! The shape of one measurand's results, ready to be drawn and listed.

use super::value_of;
use crate::package::ReportedResult;
use roundel_stats::{Sample, density, robust, summary};

/// Kernels of this many sigma_pt (D25).
const BANDWIDTH: f64 = 0.75;
const MINOR: f64 = 0.10;
/// Steps of a curve.
const STEPS: u32 = 160;
/// A curve reaches so many bandwidths beyond modes and assigned value, and half of
/// it beyond the results.
const BEYOND: f64 = 6.0;
/// Smaller groups of methods are not told apart.
const FEWEST_IN_GROUP: usize = 5;

/// A kernel density.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// Standard deviation of the kernels.
    pub bandwidth: f64,
    /// Places and densities, ascending.
    pub points: Vec<(f64, f64)>,
    /// Modes of a tenth of the highest one's density or more, ascending.
    pub modes: Vec<f64>,
}

/// The density of `values` with kernels of 0.75 `sigma_pt`, or of Silverman's
/// width where there is none, over the stretch where something is to be seen.
/// `None` below three values or without spread.
///
/// ```
/// use roundel_domain::review::curve;
///
/// let found = curve(&[9.0, 10.0, 11.0, 500.0], Some(2.0), Some(10.0)).unwrap();
/// assert_eq!((found.bandwidth, found.modes.len()), (1.5, 2));
/// // The area under a density is one; beside the wild value a quarter of it lies.
/// let step = found.points[1].0 - found.points[0].0;
/// let area: f64 = found.points.iter().map(|point| point.1 * step).sum();
/// assert!((area - 1.0).abs() < 0.05, "{area}");
/// ```
pub fn curve(values: &[f64], sigma_pt: Option<f64>, assigned: Option<f64>) -> Option<Curve> {
    let sample = Sample::new(values.iter().copied()).ok().filter(|sample| sample.len() > 2)?;
    let bandwidth = match sigma_pt {
        Some(sigma_pt) => BANDWIDTH * sigma_pt,
        None => density::silverman_bandwidth(&sample).ok()?,
    };
    let all = density::modes(&sample, bandwidth).ok()?.modes;
    let highest = all.iter().map(|mode| mode.density).fold(0.0, f64::max);
    let modes: Vec<f64> = all.iter().filter(|mode| mode.density >= MINOR * highest).map(|mode| mode.place).collect();
    let seen = || modes.iter().copied().chain(assigned);
    let ends = (sample.minimum() - BEYOND / 2.0 * bandwidth, sample.maximum() + BEYOND / 2.0 * bandwidth);
    let low = (seen().fold(f64::INFINITY, f64::min) - BEYOND * bandwidth).max(ends.0);
    let high = (seen().fold(f64::NEG_INFINITY, f64::max) + BEYOND * bandwidth).min(ends.1);
    let low = assigned.map_or(low, |value| low.min(value - bandwidth));
    let high = assigned.map_or(high, |value| high.max(value + bandwidth));
    let low = if sample.minimum() >= 0.0 { low.max(0.0) } else { low };
    let place = |step: u32| low + (high - low) * f64::from(step) / f64::from(STEPS);
    let points = (0..=STEPS).map(|step| Some((place(step), density::density(&sample, bandwidth, place(step)).ok()?)));
    Some(Curve { bandwidth, points: points.collect::<Option<_>>()?, modes })
}

/// A group of methods with its results for a measurand.
#[derive(Clone, Debug, PartialEq)]
pub struct MethodGroup {
    /// Its name, of the closed answers.
    pub name: String,
    /// How many of its results count.
    pub count: usize,
    /// Their median.
    pub median: f64,
    /// Their MADe, where they spread.
    pub spread: Option<f64>,
}

/// The groups of methods with five results or more that count, the largest first.
pub fn method_groups<'a>(results: impl Iterator<Item = &'a ReportedResult>) -> Vec<MethodGroup> {
    let mut groups: Vec<(&str, Vec<f64>)> = Vec::new();
    for result in results.filter(|result| result.counts()) {
        let (Some(method), Some(value)) = (result.method.as_deref(), value_of(result)) else { continue };
        match groups.iter_mut().find(|(name, _)| *name == method) {
            Some((_, values)) => values.push(value),
            None => groups.push((method, vec![value])),
        }
    }
    groups.sort_by(|a, b| b.1.len().cmp(&a.1.len()).then(a.0.cmp(b.0)));
    let group = |(name, values): (&str, Vec<f64>)| {
        let sample = Sample::new(values).ok().filter(|sample| sample.len() >= FEWEST_IN_GROUP)?;
        let spread = robust::median_made(&sample).ok().map(|of| of.scale);
        Some(MethodGroup { name: name.to_owned(), count: sample.len(), median: summary::median(&sample), spread })
    };
    groups.into_iter().filter_map(group).collect()
}

/// s of two replicates or more.
///
/// ```
/// // By hand: (9 − 7)/√2.
/// let s = roundel_domain::review::replicate_sd(&[7.0, 9.0]).unwrap();
/// assert!((s - 2.0_f64.sqrt()).abs() < 1e-12);
/// assert_eq!(roundel_domain::review::replicate_sd(&[7.0]), None);
/// ```
pub fn replicate_sd(values: &[f64]) -> Option<f64> {
    let sample = Sample::new(values.iter().copied()).ok().filter(|sample| sample.len() > 1)?;
    summary::standard_deviation(&sample).ok()
}
