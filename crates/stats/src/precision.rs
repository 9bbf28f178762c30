//! Precision of a method from a collaborative trial (ISO 5725-2:2019, clause
//! 7.4, for unequal numbers of results).

use crate::error::finite;
use crate::numeric::sum;
use crate::{Error, Sample, summary};

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
    let cells = laboratories.iter().map(|cell| Cell::of(cell, origin)).collect::<Result<Vec<Cell>, Error>>()?;
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
    fn of(sample: &Sample, origin: f64) -> Result<Self, Error> {
        let moved = Sample::new(sample.values().iter().map(|x| x - origin))?;
        let mean = summary::mean(&moved)?;
        let squares = sum(moved.values().iter().map(|x| (x - mean) * (x - mean)));
        Ok(Self { count: moved.len() as f64, mean, squares })
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
