//! Algorithm A: Huber's winsorising with a scale of its own.

use super::{Estimate, made};
use crate::error::finite;
use crate::numeric::{Running, sum};
use crate::sample::spread;
use crate::{Error, Sample, summary};

/// Values are drawn in to this many robust standard deviations.
pub(super) const REACH: f64 = 1.5;
/// Makes the scale of winsorised normal data their standard deviation;
/// exactly 1.133 39, printed as 1.134 in ISO 13528:2022 C.3.1.
const WINSORISED_TO_SD: f64 = 1.134;
/// Close to a quarter of outliers each step may move by a thousandth only.
const ITERATIONS: usize = 100_000;
/// The iteration rests when neither figure moves by more than this, as a
/// fraction of the scale; never absolutely, or the unit would matter.
const REST: f64 = 1e-12;
/// What is still taken as rest after the last iteration.
const NEARLY_AT_REST: f64 = 1e-8;

/// An estimate with what went into it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Iterated {
    /// Location and scale.
    pub estimate: Estimate,
    /// The number of values, p.
    pub count: usize,
    /// The number of steps to rest; zero where all values are equal.
    pub iterations: usize,
    /// Where the scale started.
    pub start: Start,
}

/// The scale that the iteration started from: the first that is not zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Start {
    /// MADe.
    Made,
    /// The normalised interquartile range, MADe being zero.
    Niqr,
    /// The standard deviation, both being zero.
    StandardDeviation,
    /// None: all values are equal.
    AllEqual,
}

/// Robust mean and standard deviation by Algorithm A (ISO 13528:2022 C.3.1,
/// ISO 5725-5), iterated to its fixed point.
///
/// With x* and s* at hand, values beyond x* ± 1.5 s* are drawn in to there;
/// the new x* is the mean of the values so drawn in, the new s* is
/// 1.134 √(Σ(w − x*)²/(p − 1)) about it.
///
/// It starts from the median and MADe. Where MADe is zero it starts from the
/// normalised interquartile range, where that is zero too from the standard
/// deviation. The scale of the answer is zero where all values are equal, or
/// where so many are that the iteration draws all others in to them: no score
/// can rest on it.
///
/// A step costs O(log p), by sums that are made once; three allocations.
///
/// # Errors
///
/// [`Error::TooFew`] below 2 values; [`Error::NotConverged`] when the
/// iteration has not come to rest after 100 000 steps.
pub fn algorithm_a(sample: &Sample) -> Result<Estimate, Error> {
    algorithm_a_iterated(sample).map(|iterated| iterated.estimate)
}

/// [`algorithm_a`] with the number of values and of steps and the start.
///
/// ```
/// use roundel_stats::{Sample, robust};
///
/// // Four of seven are equal, so MADe is zero.
/// let sample = Sample::new([5.0, 5.0, 5.0, 5.0, 5.4, 5.9, 4.2])?;
/// let iterated = robust::algorithm_a_iterated(&sample)?;
/// assert_eq!(iterated.count, 7);
/// assert_eq!(iterated.start, robust::Start::Niqr);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// As for [`algorithm_a`].
pub fn algorithm_a_iterated(sample: &Sample) -> Result<Iterated, Error> {
    fixed_point(sample, WINSORISED_TO_SD)
}

/// The fixed point with a given factor for the scale.
pub(super) fn fixed_point(sample: &Sample, factor: f64) -> Result<Iterated, Error> {
    sample.at_least(2)?;
    let centre = summary::median(sample);
    let (start, scale) = start_scale(sample)?;
    let rests = |location: f64, scale: f64, iterations: usize| {
        let estimate = Estimate { location: finite(centre + location)?, scale: finite(scale)? };
        Ok(Iterated { estimate, count: sample.len(), iterations, start })
    };
    if start == Start::AllEqual {
        return rests(0.0, 0.0, 0);
    }
    let deviations = Deviations::from(sample, centre);
    let nearest = deviations.nearest(centre);
    let mut now = Estimate { location: 0.0, scale };
    for iteration in 1..=ITERATIONS {
        let next = deviations.step(now, factor);
        let moved = (next.location - now.location).abs().max((next.scale - now.scale).abs());
        let shrinking = next.scale < now.scale;
        now = next;
        if shrinking && REACH * now.scale + now.location.abs() < nearest {
            // Whatever differs from the common value is drawn in to it: from
            // here each step shrinks the scale by the same factor.
            return rests(0.0, 0.0, iteration);
        }
        let tolerance = if iteration == ITERATIONS { NEARLY_AT_REST } else { REST };
        if moved <= tolerance * now.scale {
            return rests(now.location, now.scale, iteration);
        }
    }
    Err(Error::NotConverged)
}

/// One step of Algorithm A from a given estimate: for those who want to
/// follow the iteration by hand.
#[must_use]
pub fn winsorise_once(sample: &Sample, from: Estimate) -> Estimate {
    let drawn_in = |x: &f64| x.max(from.location - REACH * from.scale).min(from.location + REACH * from.scale);
    let count = sample.len() as f64;
    let location = sum(sample.values().iter().map(drawn_in)) / count;
    let squares = sum(sample.values().iter().map(|x| {
        let deviation = drawn_in(x) - location;
        deviation * deviation
    }));
    Estimate { location, scale: WINSORISED_TO_SD * (squares / (count - 1.0)).sqrt() }
}

/// The first of MADe, nIQR and standard deviation that is not zero.
fn start_scale(sample: &Sample) -> Result<(Start, f64), Error> {
    let made = made(sample)?;
    if made > 0.0 {
        return Ok((Start::Made, made));
    }
    let niqr = summary::niqr(sample)?;
    if niqr > 0.0 {
        return Ok((Start::Niqr, niqr));
    }
    let deviation = summary::standard_deviation(sample)?;
    if deviation > 0.0 {
        return Ok((Start::StandardDeviation, deviation));
    }
    Ok((Start::AllEqual, 0.0))
}

/// Ascending deviations from the median, so that a large common offset costs
/// no digits, with their sums and sums of squares counted outwards from
/// there, so that a wild value costs none either.
struct Deviations {
    values: Vec<f64>,
    sums: Vec<f64>,
    squares: Vec<f64>,
}

impl Deviations {
    fn from(sample: &Sample, centre: f64) -> Self {
        let values: Vec<f64> = sample.values().iter().map(|x| x - centre).collect();
        let origin = values.partition_point(|x| *x < 0.0);
        let sums = outward(&values, origin, |x| x);
        let squares = outward(&values, origin, |x| x * x);
        Self { values, sums, squares }
    }

    /// The smallest deviation that is more than rounding.
    fn nearest(&self, centre: f64) -> f64 {
        self.values.iter().map(|x| spread(x.abs(), centre)).filter(|x| *x > 0.0).fold(f64::INFINITY, f64::min)
    }

    /// Always winsorises the original values; the new scale is about the new
    /// mean.
    fn step(&self, from: Estimate, factor: f64) -> Estimate {
        let (low, high) = (from.location - REACH * from.scale, from.location + REACH * from.scale);
        let first = self.values.partition_point(|x| *x < low);
        let last = self.values.partition_point(|x| *x <= high);
        let count = self.values.len() as f64;
        let (below, within, above) = (first as f64, (last - first) as f64, (self.values.len() - last) as f64);
        let inner = self.sums[last] - self.sums[first];
        let location = (below * low + inner + above * high) / count;
        let about = |x: f64| (x - location) * (x - location);
        let inner_squares =
            self.squares[last] - self.squares[first] - 2.0 * location * inner + within * location * location;
        let squares = below * about(low) + inner_squares.max(0.0) + above * about(high);
        Estimate { location, scale: factor * (squares / (count - 1.0)).sqrt() }
    }
}

/// At k the sum of `term` over the values from `origin` up to k, negative
/// where k lies below, so that any stretch is the difference of two.
pub(super) fn outward(values: &[f64], origin: usize, term: impl Fn(f64) -> f64) -> Vec<f64> {
    let mut sums = vec![0.0; values.len() + 1];
    let mut running = Running::default();
    for place in origin..values.len() {
        sums[place + 1] = running.add(term(values[place]));
    }
    let mut running = Running::default();
    for place in (0..origin).rev() {
        sums[place] = -running.add(term(values[place]));
    }
    sums
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nine_equal_values_and_a_stray_one_have_no_spread() {
        // By arithmetic: each step multiplies the scale by
        // 1.134 × 1.5 / √10 = 0.54, so the fixed point is zero.
        let sample = Sample::new([5.0, 5.0, 5.0, 5.0, 5.0, 5.0, 5.0, 5.0, 5.0, 80.0]).unwrap();

        assert_eq!(algorithm_a(&sample), Ok(Estimate { location: 5.0, scale: 0.0 }));
    }

    #[test]
    fn a_step_by_sums_is_the_step_that_the_standard_writes() {
        let sample = Sample::new([4.5, 4.9, 5.6, 4.2, 6.2, 5.2, 9.9, -1e9, 1e12]).unwrap();
        let from = Estimate { location: 5.3, scale: 0.8 };

        let deviations = Deviations::from(&sample, 5.2);
        let got = deviations.step(Estimate { location: from.location - 5.2, scale: from.scale }, WINSORISED_TO_SD);

        let expected = winsorise_once(&sample, from);
        assert!((got.location + 5.2 - expected.location).abs() < 1e-14);
        assert!((got.scale - expected.scale).abs() < 1e-14);
    }
}
