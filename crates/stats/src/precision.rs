//! Precision of a method from a collaborative trial (ISO 5725-2:2019, clause
//! 7.4, for unequal numbers of results).

use crate::error::finite;
use crate::numeric::sum;
use crate::{Error, Estimate, Sample, quantile, robust, summary};

/// Makes a standard deviation a limit for the difference of two results.
pub const LIMIT_FACTOR: f64 = 2.8;

/// Figures of one level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Precision {
    /// Number of laboratories.
    pub laboratories: usize,
    /// Number of results.
    pub results: usize,
    /// Mean of all results, m.
    pub mean: f64,
    /// Standard deviations, where a laboratory has two results and there are
    /// two laboratories or more.
    pub deviations: Option<Deviations>,
}

/// Standard deviations of a trial.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Deviations {
    /// Mean square within laboratories, s_r².
    pub mean_square_within: f64,
    /// Mean square between laboratories, s_d².
    pub mean_square_between: f64,
    /// s_r.
    pub repeatability: f64,
    /// s_L; zero where the estimate of the variance is negative.
    pub between_laboratories: f64,
    /// s_R = √(s_r² + s_L²).
    pub reproducibility: f64,
}

/// Analyses the results of laboratories, one sample each: s_r² pooled over
/// laboratories, s_L² = (s_d² − s_r²)/n̄ with n̄ = (Σn − Σn²/Σn)/(p − 1).
///
/// ```
/// use roundel_stats::{Sample, precision::precision};
///
/// // By hand: s_r² = 4/2, s_d² = 9 and s_L² = (9 − 2)/2.
/// let cells = [Sample::new([9.0, 11.0])?, Sample::new([12.0, 14.0])?];
/// let found = precision(&cells)?;
/// let deviations = found.deviations.unwrap();
/// assert_eq!((found.mean, deviations.mean_square_within, deviations.mean_square_between), (11.5, 2.0, 9.0));
/// assert!((deviations.reproducibility - 5.5_f64.sqrt()).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::Empty`] without a laboratory; [`Error::OutOfRange`] when a figure
/// exceeds the range of a double.
pub fn precision(laboratories: &[Sample]) -> Result<Precision, Error> {
    let results: usize = laboratories.iter().map(Sample::len).sum();
    if laboratories.is_empty() {
        return Err(Error::Empty);
    }
    // About a middle value, so that a large common offset costs no digits.
    let origin = summary::median(&Sample::new(laboratories.iter().map(summary::median))?);
    let cells: Vec<Cell> = laboratories.iter().map(|cell| Cell::of(cell, origin)).collect();
    let total = results as f64;
    let mean = sum(cells.iter().map(|cell| cell.count * cell.mean)) / total;
    Ok(Precision {
        laboratories: cells.len(),
        results,
        mean: finite(origin + mean)?,
        deviations: deviations(&cells, mean, total)?,
    })
}

struct Cell {
    count: f64,
    /// From the origin.
    mean: f64,
    squares: f64,
}

impl Cell {
    fn of(sample: &Sample, origin: f64) -> Self {
        let moved = || sample.values().iter().map(|x| x - origin);
        let count = sample.len() as f64;
        let first = sum(moved()) / count;
        let mean = first + sum(moved().map(|x| x - first)) / count;
        let squares = sum(moved().map(|x| (x - mean) * (x - mean)));
        Self { count, mean, squares }
    }
}

fn deviations(cells: &[Cell], mean: f64, total: f64) -> Result<Option<Deviations>, Error> {
    let laboratories = cells.len() as f64;
    if cells.len() < 2 || total <= laboratories {
        return Ok(None);
    }
    let within = sum(cells.iter().map(|cell| cell.squares)) / (total - laboratories);
    let between =
        sum(cells.iter().map(|cell| cell.count * (cell.mean - mean) * (cell.mean - mean))) / (laboratories - 1.0);
    let squared_counts = sum(cells.iter().map(|cell| cell.count * cell.count));
    let mean_count = (total - squared_counts / total) / (laboratories - 1.0);
    let variance = ((between - within) / mean_count).max(0.0);
    Ok(Some(Deviations {
        mean_square_within: finite(within)?,
        mean_square_between: finite(between)?,
        repeatability: finite(within.sqrt())?,
        between_laboratories: finite(variance.sqrt())?,
        reproducibility: finite((within + variance).sqrt())?,
    }))
}

/// The two ends of a confidence interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Confidence intervals of the standard deviations of a trial.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Intervals {
    /// Of s_r, by χ² with Σn − p degrees of freedom.
    pub repeatability: Interval,
    /// Of s_R, by χ² with Satterthwaite's degrees of freedom, for
    /// s_R² = s_d²/n̄ + (1 − 1/n̄) s_r².
    pub reproducibility: Interval,
    /// Those degrees of freedom.
    pub reproducibility_freedom: f64,
}

/// Confidence intervals with the given `confidence`, as in 0.95 (ISO 5725-1
/// and Satterthwaite 1946; approximate for s_R).
///
/// ```
/// use roundel_stats::{Sample, precision::intervals};
///
/// // s_r = √2 with two degrees of freedom: χ² = 7.378 and 0.0506 in tables.
/// let cells = [Sample::new([9.0, 11.0])?, Sample::new([12.0, 14.0])?];
/// let found = intervals(&cells, 0.95)?;
/// assert!((found.repeatability.low - (2.0 * 2.0 / 7.378_f64).sqrt()).abs() < 1e-4);
/// assert!((found.repeatability.high - (2.0 * 2.0 / 0.0506_f64).sqrt()).abs() < 1e-2);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 laboratories or without a replicate;
/// [`Error::NoSpread`] where all results are equal; [`Error::OutOfRange`]
/// for a confidence that is no probability.
pub fn intervals(laboratories: &[Sample], confidence: f64) -> Result<Intervals, Error> {
    let found = precision(laboratories)?;
    let Some(deviations) = found.deviations else {
        return Err(Error::TooFew { needed: 2, given: found.laboratories.min(1) });
    };
    let (p, total) = (found.laboratories as f64, found.results as f64);
    let squared = laboratories.iter().map(|cell| (cell.len() * cell.len()) as f64).sum::<f64>();
    let mean_count = (total - squared / total) / (p - 1.0);
    let within = (1.0 - 1.0 / mean_count) * deviations.mean_square_within;
    // A negative estimate between laboratories was set to zero, and s_R to s_r.
    let between = deviations.reproducibility * deviations.reproducibility - within;
    let variance = within + between;
    if variance <= 0.0 {
        return Err(Error::NoSpread);
    }
    let freedom = variance * variance / (between * between / (p - 1.0) + within * within / (total - p));
    Ok(Intervals {
        repeatability: interval(deviations.repeatability, total - p, confidence)?,
        reproducibility: interval(deviations.reproducibility, freedom, confidence)?,
        reproducibility_freedom: freedom,
    })
}

fn interval(deviation: f64, freedom: f64, confidence: f64) -> Result<Interval, Error> {
    let tail = (1.0 - confidence) / 2.0;
    let end = |tail| finite(deviation * (freedom / quantile::chi_squared(freedom, tail)?).sqrt());
    Ok(Interval { low: end(tail)?, high: end(1.0 - tail)? })
}

/// By how much s_r and s_R of a planned trial may miss their true values at
/// 95 %, as shares: A_r = 1.96/√(2p(n − 1)) and
/// A_R = 1.96 √((p(1 + n(γ² − 1))² + (n − 1)(p − 1))/(2γ⁴n²(p − 1)p)), with
/// γ = σ_R/σ_r (ISO 5725-1:1994, 6.3, from memory).
///
/// ```
/// use roundel_stats::precision::forecast;
///
/// // 1.96/√16.
/// assert!((forecast(8, 2, 2.0)?.repeatability - 0.49).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 laboratories or replicates; [`Error::OutOfRange`]
/// where `ratio` is below 1.
pub fn forecast(laboratories: usize, replicates: usize, ratio: f64) -> Result<Forecast, Error> {
    for given in [laboratories, replicates] {
        if given < 2 {
            return Err(Error::TooFew { needed: 2, given });
        }
    }
    if ratio.is_nan() || ratio < 1.0 {
        return Err(Error::OutOfRange("the ratio of standard deviations"));
    }
    let (p, n, square) = (laboratories as f64, replicates as f64, ratio * ratio);
    let inner = 1.0 + n * (square - 1.0);
    let above = p * inner * inner + (n - 1.0) * (p - 1.0);
    let of_reproducibility = 1.96 * (above / (2.0 * square * square * n * n * (p - 1.0) * p)).sqrt();
    let repeatability = finite(1.96 / (2.0 * p * (n - 1.0)).sqrt())?;
    Ok(Forecast { repeatability, reproducibility: finite(of_reproducibility)? })
}

/// By which share the standard deviations of a planned trial may miss.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Forecast {
    /// A_r, of s_r.
    pub repeatability: f64,
    /// A_R, of s_R.
    pub reproducibility: f64,
}

/// The robust alternative to [`precision()`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RobustPrecision {
    /// Algorithm A's location and scale of the laboratories' means.
    pub mean: Estimate,
    /// The Q method's s_r* and s_R*, from 8 laboratories with replicates on.
    pub deviations: Option<RobustDeviations>,
}

/// Robust standard deviations of a trial.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RobustDeviations {
    /// s_r*.
    pub repeatability: f64,
    /// s_R*.
    pub reproducibility: f64,
}

/// With fewer laboratories a robust standard deviation says too little.
pub const FEWEST_FOR_ROBUST: usize = 8;

/// Robust location and precision (ISO 5725-5; the Q method of ISO/TS 20612,
/// which needs neither equal numbers of replicates nor tests for outliers).
///
/// ```
/// use roundel_stats::{Sample, precision};
///
/// let cells = [Sample::new([9.0, 11.0])?, Sample::new([12.0, 14.0])?];
/// let found = precision::robust(&cells)?;
/// assert_eq!((found.mean.location, found.mean.used.count, found.deviations), (11.5, 2, None));
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 laboratories; [`Error::NotConverged`] as for
/// Algorithm A.
pub fn robust(laboratories: &[Sample]) -> Result<RobustPrecision, Error> {
    let means = laboratories.iter().map(summary::mean).collect::<Result<Vec<f64>, Error>>()?;
    let mean = robust::algorithm_a(&Sample::new(means)?)?;
    if laboratories.len() < FEWEST_FOR_ROBUST {
        return Ok(RobustPrecision { mean, deviations: None });
    }
    let found = robust::q_method_replicates(laboratories)?;
    let deviations = found.repeatability.map(|repeatability| RobustDeviations {
        repeatability: repeatability.scale,
        reproducibility: found.reproducibility.scale,
    });
    Ok(RobustPrecision { mean, deviations })
}
