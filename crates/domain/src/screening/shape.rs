//! The shape of one analyte's results in one item.

use roundel_stats::density::{self, Mode, Resampling};
use roundel_stats::{Sample, regression, robust, skew, summary};

const FEWEST_FOR_MODES: usize = 12;
const BANDWIDTH: f64 = 0.75;
const MINOR: f64 = 0.10;
const SETS: usize = 1000;
const HALF: f64 = 0.5;
const FEWEST_FOR_SKEW: usize = 15;
const SKEW: f64 = 0.3;
const NEGLIGIBLE: f64 = 0.3;
const CONFIDENCE: f64 = 0.05;

/// How many modes the results have.
#[derive(Clone, Debug, PartialEq)]
pub struct Modality {
    /// Modes of a tenth of the highest one's density or more, ascending.
    pub modes: Vec<Mode>,
    /// Share of the results that is nearest to the mode with the fewest.
    pub smallest_share: f64,
    /// Share of the resampled sets with two modes or more.
    pub several: f64,
    /// Where the resampling started, to repeat it.
    pub seed: u64,
    /// Whether there are two modes or more in the data and in half of the
    /// sets, the smallest with a tenth of the results.
    pub is_multimodal: bool,
}

/// Looks for several modes: Gaussian kernels of 0.75 σ_pt, and 1000 sets drawn
/// from the results again, from the `seed`, smoothed by the same kernels.
/// (Noise of that width added to the sets as well would smooth twice: in the
/// demonstration's round two modes at 2.5 σ_pt then survive in less than half
/// of the sets.) `None` below 12 results: not tested.
///
/// ```
/// use roundel_domain::screening::modality;
///
/// let two: Vec<f64> = (0..20).map(|place| if place % 2 == 0 { 100.0 } else { 160.0 } + f64::from(place)).collect();
/// assert!(modality(&two, 10.0, 1).unwrap().is_multimodal);
/// assert!(!modality(&two, 100.0, 1).unwrap().is_multimodal);
/// assert_eq!(modality(&two[..11], 10.0, 1), None);
/// ```
#[must_use]
pub fn modality(values: &[f64], sigma_pt: f64, seed: u64) -> Option<Modality> {
    let sample = Sample::new(values.iter().copied()).ok().filter(|sample| sample.len() >= FEWEST_FOR_MODES)?;
    let bandwidth = BANDWIDTH * sigma_pt;
    let all = density::modes(&sample, bandwidth).ok()?.modes;
    let highest = all.iter().map(|mode| mode.density).fold(0.0, f64::max);
    let modes: Vec<Mode> = all.into_iter().filter(|mode| mode.density >= MINOR * highest).collect();
    let nearest = |x: f64| {
        let distance = |mode: &Mode| (mode.place - x).abs();
        (0..modes.len()).min_by(|a, b| distance(&modes[*a]).total_cmp(&distance(&modes[*b])))
    };
    let mut counts = vec![0_usize; modes.len()];
    for x in values {
        counts[nearest(*x)?] += 1;
    }
    let smallest_share = counts.iter().copied().min()? as f64 / values.len() as f64;
    let several = if modes.len() > 1 {
        density::resample(&sample, bandwidth, Resampling { sets: SETS, seed, smoothed: false }, MINOR).ok()?.several
    } else {
        // One mode in the data is no finding, whatever the sets show.
        0.0
    };
    let is_multimodal = modes.len() > 1 && several >= HALF && smallest_share >= MINOR;
    Some(Modality { modes, smallest_share, several, seed, is_multimodal })
}

/// Whether the results lean to one side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Skewness {
    /// The medcouple, between −1 and 1.
    pub medcouple: f64,
    /// Algorithm A's mean − median.
    pub mean_less_median: f64,
    /// Whether a comparison on the logarithmic scale is to be shown: from 15
    /// results on |medcouple| above 0.3, or the difference above 0.3 σ_pt.
    pub show_logarithmic: bool,
}

/// Robust skewness. `None` below 3 results or without spread.
///
/// ```
/// use roundel_domain::screening::skewness;
///
/// let even: Vec<f64> = (1..=21).map(f64::from).collect();
/// let found = skewness(&even, 5.0).unwrap();
/// assert_eq!((found.medcouple, found.show_logarithmic), (0.0, false));
/// ```
#[must_use]
pub fn skewness(values: &[f64], sigma_pt: f64) -> Option<Skewness> {
    let sample = Sample::new(values.iter().copied()).ok()?;
    let medcouple = skew::medcouple(&sample).ok()?.medcouple;
    let mean_less_median = robust::algorithm_a(&sample).ok()?.location - summary::median(&sample);
    let show_logarithmic =
        (sample.len() >= FEWEST_FOR_SKEW && medcouple.abs() > SKEW) || mean_less_median.abs() > NEGLIGIBLE * sigma_pt;
    Some(Skewness { medcouple, mean_less_median, show_logarithmic })
}

/// How results depend on the day of analysis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DateEffect {
    /// Median slope of ln x per day, with its 95 % interval.
    pub slope: regression::MedianSlope,
    /// Change over the period from the first to the last day of analysis, in
    /// the unit of the assigned value.
    pub change: f64,
    /// "Possible instability": the interval does not cover zero and the change
    /// is above 0.3 σ_pt.
    pub is_possible_instability: bool,
}

/// The slope of ln x over the day of analysis. `None` below 3 results above
/// zero or with a single day.
///
/// ```
/// use roundel_domain::screening::date_effect;
///
/// // Two per cent less each day.
/// let results: Vec<(f64, f64)> = (0..10).map(|day| (f64::from(day), 100.0 * (-0.02 * f64::from(day)).exp())).collect();
/// let found = date_effect(&results, 100.0, 20.0).unwrap();
/// assert!((found.slope.slope + 0.02).abs() < 1e-9);
/// assert!(found.is_possible_instability);
/// ```
#[must_use]
pub fn date_effect(results: &[(f64, f64)], assigned_value: f64, sigma_pt: f64) -> Option<DateEffect> {
    let points: Vec<(f64, f64)> = results.iter().filter(|(_, x)| *x > 0.0).map(|(day, x)| (*day, x.ln())).collect();
    let slope = regression::median_slope(&points, CONFIDENCE).ok()?;
    let days = Sample::new(points.iter().map(|(day, _)| *day)).ok()?;
    let change = assigned_value * (slope.slope * (days.maximum() - days.minimum())).exp_m1();
    let covers_zero = slope.low <= 0.0 && slope.high >= 0.0;
    Some(DateEffect { slope, change, is_possible_instability: !covers_zero && change.abs() > NEGLIGIBLE * sigma_pt })
}
