//! Kernel density: where results crowd (AMC Technical Brief 4; IUPAC
//! harmonised protocol 2006, Appendix 3).

use crate::error::finite;
use crate::numeric::{normal_density, sum};
use crate::random::Random;
use crate::{Error, Sample, summary};

/// Points per bandwidth on which modes are looked for.
const POINTS: f64 = 20.0;
/// The same for the sets of a resampling, whose places need fewer digits.
const COARSE_POINTS: f64 = 8.0;
const MOST_POINTS: usize = 200_000;

/// A local maximum of the density.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mode {
    /// Where it is.
    pub place: f64,
    /// The density there, in 1/unit.
    pub density: f64,
}

/// Silverman's bandwidth 0.9 min(s, IQR/1.34) p^−0.2 with quartiles of type 7
/// (Silverman 1986); with s alone where the quartiles are equal.
///
/// ```
/// use roundel_stats::{Sample, density};
///
/// // 32^0.2 = 2; s = √(32/31) is less than 2/1.34.
/// let sample = Sample::new((0..32).map(|place| if place < 16 { -1.0 } else { 1.0 }))?;
/// let bandwidth = density::silverman_bandwidth(&sample)?;
/// assert!((bandwidth - 0.45 * (32.0_f64 / 31.0).sqrt()).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 values; [`Error::NoSpread`] where all are equal.
pub fn silverman_bandwidth(sample: &Sample) -> Result<f64, Error> {
    let deviation = summary::standard_deviation(sample)?;
    let range = summary::niqr(sample)?.scale / summary::IQR_TO_SD / 1.34;
    let width = if range > 0.0 { deviation.min(range) } else { deviation };
    if width == 0.0 {
        return Err(Error::NoSpread);
    }
    finite(0.9 * width * libm::pow(sample.len() as f64, -0.2))
}

/// Density at `place` with Gaussian kernels of standard deviation
/// `bandwidth`.
///
/// ```
/// use roundel_stats::{Sample, density};
///
/// // The height of the normal density, 1/√(2π).
/// assert!((density::density(&Sample::new([5.0])?, 1.0, 5.0)? - 0.398_942_28).abs() < 1e-8);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] where `bandwidth` is not above zero.
pub fn density(sample: &Sample, bandwidth: f64, place: f64) -> Result<f64, Error> {
    check(bandwidth)?;
    finite(height(sample, bandwidth, place))
}

/// All modes, in ascending order of place.
///
/// ```
/// use roundel_stats::{Sample, density};
///
/// let found = density::modes(&Sample::new([0.0, 0.0, 0.0, 10.0, 10.0])?, 1.0)?;
/// let places: Vec<f64> = found.modes.iter().map(|mode| mode.place.round()).collect();
/// assert_eq!((places, found.bandwidth, found.count), (vec![0.0, 10.0], 1.0, 5));
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] where `bandwidth` is not above zero.
pub fn modes(sample: &Sample, bandwidth: f64) -> Result<Modes, Error> {
    check(bandwidth)?;
    let mut modes: Vec<Mode> = Vec::with_capacity(sample.len());
    each_bracket(sample, bandwidth, POINTS, |low, high| {
        let place = top(sample, bandwidth, low, high);
        modes.push(Mode { place, density: height(sample, bandwidth, place) });
    });
    if modes.iter().any(|mode| !mode.density.is_finite()) {
        return Err(Error::OutOfRange("the density"));
    }
    Ok(Modes { modes, bandwidth, count: sample.len() })
}

/// The modes of a sample with what they were found by.
#[derive(Clone, Debug, PartialEq)]
pub struct Modes {
    /// In ascending order of place.
    pub modes: Vec<Mode>,
    /// Standard deviation of the kernels.
    pub bandwidth: f64,
    /// The number of values.
    pub count: usize,
}

/// What resampling says about the modes of a sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Resampled {
    /// Standard deviation of the place of the highest mode over the sets: its
    /// standard error.
    pub standard_error: f64,
    /// Share of the sets with two modes or more that count.
    pub several: f64,
    /// Standard deviation of the kernels.
    pub bandwidth: f64,
    /// The number of values in each set.
    pub count: usize,
    /// How the sets were drawn.
    pub resampling: Resampling,
}

/// Draws `sets` samples of the same size from the sample itself, from the
/// given `seed`, and looks at their modes with the same bandwidth. With
/// `smoothed` a normal number of standard deviation h = `bandwidth` is added
/// to each value, and all are drawn together by 1/√(1 + h²/s²) so that their
/// variance stays (smoothed bootstrap: Efron and Tibshirani 1993, 16.4, from
/// memory). A mode counts from `minor` times the height of the highest on.
///
/// ```
/// use roundel_stats::density::{Resampling, resample};
/// use roundel_stats::Sample;
///
/// let groups = [1.0, 1.2, 0.9, 1.1, 1.0, 0.8, 4.0, 4.2, 3.9, 4.1, 4.0, 3.8];
/// let resampling = Resampling { sets: 200, seed: 7, smoothed: false };
/// let found = resample(&Sample::new(groups)?, 0.3, resampling, 0.1)?;
/// assert!(found.several > 0.99);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] where `bandwidth` is not above zero;
/// [`Error::TooFew`] below 2 values or 2 sets.
pub fn resample(sample: &Sample, bandwidth: f64, resampling: Resampling, minor: f64) -> Result<Resampled, Error> {
    check(bandwidth)?;
    sample.at_least(2)?;
    let Resampling { sets, seed, smoothed } = resampling;
    if sets < 2 {
        return Err(Error::TooFew { needed: 2, given: sets });
    }
    let centre = summary::mean(sample)?;
    let deviation = summary::standard_deviation(sample)?;
    let share = bandwidth / deviation;
    let shrinking = if smoothed && deviation > 0.0 { 1.0 / (1.0 + share * share).sqrt() } else { 1.0 };
    let mut random = Random::new(seed);
    let (mut places, mut several) = (Vec::with_capacity(sets), 0_usize);
    let (mut drawn, mut modes) = (sample.clone(), Vec::with_capacity(sample.len()));
    for _ in 0..sets {
        let noise = |random: &mut Random| if smoothed { bandwidth * random.normal() } else { 0.0 };
        drawn.replace((0..sample.len()).map(|_| {
            let value = sample.values()[random.place(sample.len())] + noise(&mut random);
            centre + (value - centre) * shrinking
        }))?;
        modes.clear();
        each_bracket(&drawn, bandwidth, COARSE_POINTS, |low, high| {
            let place = low + (high - low) / 2.0;
            modes.push(Mode { place, density: height(&drawn, bandwidth, place) });
        });
        let Some(highest) = modes.iter().copied().max_by(|a, b| a.density.total_cmp(&b.density)) else {
            continue;
        };
        places.push(highest.place);
        several += usize::from(modes.iter().filter(|mode| mode.density >= minor * highest.density).count() > 1);
    }
    let standard_error = summary::standard_deviation(&Sample::new(places)?)?;
    let several = several as f64 / sets as f64;
    Ok(Resampled { standard_error, several, bandwidth, count: sample.len(), resampling })
}

/// How samples are drawn again.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Resampling {
    /// The number of sets, usually 1000.
    pub sets: usize,
    /// Where the random numbers start; the same seed gives the same answer.
    pub seed: u64,
    /// Whether the values are smoothed by normal numbers.
    pub smoothed: bool,
}

/// Where the slope of the density changes from up to down, on a grid.
fn each_bracket(sample: &Sample, bandwidth: f64, points: f64, mut found: impl FnMut(f64, f64)) {
    each_stretch(sample, bandwidth, |low, high| {
        let count = (((high - low) / bandwidth * points).ceil() as usize).clamp(2, MOST_POINTS);
        let place = |index: usize| low + (high - low) * index as f64 / count as f64;
        let mut rising = slope(sample, bandwidth, place(0)) > 0.0;
        for index in 1..=count {
            let rises = slope(sample, bandwidth, place(index)) > 0.0;
            if rising && !rises {
                found(place(index - 1), place(index));
            }
            rising = rises;
        }
    });
}

fn check(bandwidth: f64) -> Result<(), Error> {
    if bandwidth > 0.0 && bandwidth.is_finite() { Ok(()) } else { Err(Error::OutOfRange("the bandwidth")) }
}

fn height(sample: &Sample, bandwidth: f64, place: f64) -> f64 {
    let kernels = sample.values().iter().map(|x| normal_density((place - x) / bandwidth));
    sum(kernels) / (sample.len() as f64 * bandwidth)
}

/// A number with the sign of the density's derivative.
fn slope(sample: &Sample, bandwidth: f64, place: f64) -> f64 {
    sum(sample.values().iter().map(|x| {
        let distance = (x - place) / bandwidth;
        distance * normal_density(distance)
    }))
}

/// Where modes can lie: between values, a little beyond them on both sides,
/// without the gaps in which no kernel reaches the other.
fn each_stretch(sample: &Sample, bandwidth: f64, mut found: impl FnMut(f64, f64)) {
    let reach = 1.5 * bandwidth;
    let apart = |low: &f64, high: &f64| high - reach <= low + reach;
    for run in sample.values().chunk_by(apart) {
        found(run[0] - reach, run[run.len() - 1] + reach);
    }
}

/// The zero of the slope between two places, by bisection.
fn top(sample: &Sample, bandwidth: f64, mut low: f64, mut high: f64) -> f64 {
    loop {
        let middle = low + (high - low) / 2.0;
        if middle <= low || middle >= high {
            return middle;
        }
        if slope(sample, bandwidth, middle) > 0.0 { low = middle } else { high = middle }
    }
}
