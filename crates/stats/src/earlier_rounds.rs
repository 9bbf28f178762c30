//! σ_pt from earlier rounds of a scheme, as a function of the level
//! (ISO 13528:2022 8.3, from memory).

use crate::Error;
use crate::error::finite;
use crate::regression::{Line, least_squares};
use crate::score::{at_most, below};

/// Fewer rounds say too little.
pub const FEWEST_ROUNDS: usize = 4;
/// A round with more than this share of the leverage carries the slope alone.
/// (This project's reading of "a slope that rests on one round".)
const MOST_LEVERAGE: f64 = 0.9;

/// What one earlier round showed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EarlierRound {
    /// Level c: the assigned value, above zero.
    pub level: f64,
    /// s* of that round.
    pub robust_sd: f64,
}

/// s = a + b c over the levels that were seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pooled {
    /// a and b with their residuals.
    pub line: Line,
    /// Lowest level of a round.
    pub lowest: f64,
    /// Highest level of a round.
    pub highest: f64,
}

/// Fits s = a + b c by least squares.
///
/// ```
/// use roundel_stats::earlier_rounds::{EarlierRound, fit};
///
/// let rounds = [(10.0, 2.5), (20.0, 4.5), (30.0, 6.5), (50.0, 10.5)];
/// let pooled = fit(&rounds.map(|(level, robust_sd)| EarlierRound { level, robust_sd }))?;
/// assert!((pooled.sigma_pt(40.0)? - 8.5).abs() < 1e-9);
/// assert!(pooled.sigma_pt(60.0).is_err());
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 4 rounds; [`Error::OutOfRange`] for a level or a
/// standard deviation that is not above zero, where one round carries the
/// slope (leverage above 0.9), and where the line is not above zero at both
/// ends; [`Error::NoSpread`] where all levels are equal.
pub fn fit(rounds: &[EarlierRound]) -> Result<Pooled, Error> {
    if rounds.len() < FEWEST_ROUNDS {
        return Err(Error::TooFew { needed: FEWEST_ROUNDS, given: rounds.len() });
    }
    if rounds.iter().any(|round| !(round.level > 0.0 && round.robust_sd > 0.0)) {
        return Err(Error::OutOfRange("a round"));
    }
    let points: Vec<(f64, f64)> = rounds.iter().map(|round| (round.level, round.robust_sd)).collect();
    let line = least_squares(&points)?;
    let mean = points.iter().map(|p| p.0).sum::<f64>() / points.len() as f64;
    let squares: Vec<f64> = points.iter().map(|p| (p.0 - mean) * (p.0 - mean)).collect();
    let total: f64 = squares.iter().sum();
    if squares.iter().any(|square| 1.0 / points.len() as f64 + square / total > MOST_LEVERAGE) {
        return Err(Error::OutOfRange("a slope that rests on one round"));
    }
    let levels = || points.iter().map(|p| p.0);
    let pooled = Pooled { line, lowest: levels().fold(f64::INFINITY, f64::min), highest: levels().fold(0.0, f64::max) };
    pooled.sigma_pt(pooled.lowest)?;
    pooled.sigma_pt(pooled.highest)?;
    Ok(pooled)
}

impl Pooled {
    /// σ_pt at a level.
    ///
    /// ```
    /// use roundel_stats::earlier_rounds::{EarlierRound, fit};
    ///
    /// let rounds = [10.0, 20.0, 30.0, 50.0].map(|level| EarlierRound { level, robust_sd: 0.5 + 0.2 * level });
    /// assert!((fit(&rounds)?.sigma_pt(40.0)? - 8.5).abs() < 1e-9);
    /// # Ok::<(), roundel_stats::Error>(())
    /// ```
    ///
    /// # Errors
    ///
    /// [`Error::OutOfRange`] outside the levels of the rounds, and where the
    /// line is not above zero.
    pub fn sigma_pt(&self, level: f64) -> Result<f64, Error> {
        if below(level, self.lowest) || !at_most(level, self.highest) {
            return Err(Error::OutOfRange("a level outside those of earlier rounds"));
        }
        let sigma = finite(self.line.intercept + self.line.slope * level)?;
        if sigma > 0.0 { Ok(sigma) } else { Err(Error::OutOfRange("a standard deviation")) }
    }
}

/// A constant relative standard deviation: √(Σ(s/c)²/n).
///
/// ```
/// use roundel_stats::earlier_rounds::{EarlierRound, constant_relative_sd};
///
/// let rounds = [10.0, 20.0, 30.0, 50.0].map(|level| EarlierRound { level, robust_sd: 0.2 * level });
/// assert!((constant_relative_sd(&rounds)? - 0.2).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 4 rounds; [`Error::OutOfRange`] for a level or a
/// standard deviation that is not above zero.
pub fn constant_relative_sd(rounds: &[EarlierRound]) -> Result<f64, Error> {
    if rounds.len() < FEWEST_ROUNDS {
        return Err(Error::TooFew { needed: FEWEST_ROUNDS, given: rounds.len() });
    }
    if rounds.iter().any(|round| !(round.level > 0.0 && round.robust_sd > 0.0)) {
        return Err(Error::OutOfRange("a round"));
    }
    let squares = rounds.iter().map(|round| (round.robust_sd / round.level) * (round.robust_sd / round.level));
    finite((crate::numeric::sum(squares) / rounds.len() as f64).sqrt())
}
