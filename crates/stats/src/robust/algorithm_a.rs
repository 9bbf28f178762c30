//! Algorithm A: Huber's winsorising with a scale of its own.

use super::made;
use crate::error::finite;
use crate::numeric::{Running, sum, sum_by_halves};
use crate::sample::spread;
use crate::{Error, Estimate, Sample, Start, Used, summary};

/// Values are drawn in to this many robust standard deviations.
pub(super) const REACH: f64 = 1.5;
/// Makes the scale of winsorised normal data their standard deviation;
/// exactly 1.133 39, printed as 1.134 in ISO 13528:2022 C.3.1.
const WINSORISED_TO_SD: f64 = 1.134;
/// Close to a quarter of outliers each step may move by a thousandth only.
const ITERATIONS: usize = 100_000;
/// Direct steps after which the standard's own are made instead.
const DIRECT_STEPS: usize = 30;
/// The iteration rests when neither figure moves by more than this, as a
/// fraction of the scale; never absolutely, or the unit would matter.
const REST: f64 = 1e-12;
/// What is still taken as rest after the last iteration.
const NEARLY_AT_REST: f64 = 1e-8;

/// Robust mean and standard deviation by Algorithm A (ISO 13528:2022 C.3.1,
/// ISO 5725-5), at its fixed point.
///
/// With x* and s* at hand, values beyond x* ± 1.5 s* are drawn in to there;
/// the new x* is the mean of the values so drawn in, the new s* is
/// 1.134 √(Σ(w − x*)²/(p − 1)) about it. Where nothing moves any more is the
/// answer.
///
/// It starts from the median and MADe. Where MADe is zero it starts from the
/// normalised interquartile range, where that is zero too from the standard
/// deviation. The scale of the answer is zero where all values are equal, or
/// where so many are that the iteration draws all others in to them: no score
/// can rest on it.
///
/// Which values are drawn in determines where the iteration rests: two
/// equations, solved directly. So a step here goes at once to where the
/// standard's steps with the same values drawn in would lead, and a few steps
/// do; where they do not come to rest, the standard's own are made, by sums
/// that are made once.
///
/// ```
/// use roundel_stats::{Sample, Start, robust};
///
/// // By hand: median 5 and MADe 1.483, so none is beyond 5 ± 2.22, nor beyond
/// // 5 ± 1.5 s* with s* = 1.134 √(10/5).
/// let sample = Sample::new([3.0, 4.0, 5.0, 5.0, 6.0, 7.0])?;
/// let found = robust::algorithm_a(&sample)?;
/// assert_eq!(found.location, 5.0);
/// assert!((found.scale - 1.134 * 2_f64.sqrt()).abs() < 1e-12);
/// assert_eq!((found.used.count, found.used.iterations), (6, 1));
/// assert_eq!(found.used.start, Some(Start::Made));
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 values; [`Error::NotConverged`] when the
/// iteration has not come to rest after 100 000 steps.
pub fn algorithm_a(sample: &Sample) -> Result<Estimate, Error> {
    fixed_point(sample, WINSORISED_TO_SD)
}

/// The fixed point with a given factor for the scale.
pub(super) fn fixed_point(sample: &Sample, factor: f64) -> Result<Estimate, Error> {
    sample.at_least(2)?;
    let centre = summary::median(sample);
    let Some((start, scale)) = start_scale(sample)? else {
        return Ok(Estimate { location: centre, scale: 0.0, used: Used::directly(sample.len()) });
    };
    let found = match directly(sample.values(), centre, scale, factor) {
        Some(found) => found,
        None => step_by_step(sample, centre, scale, factor)?,
    };
    let used = Used { count: sample.len(), iterations: found.steps, start: Some(start) };
    Ok(Estimate { location: finite(centre + found.offset)?, scale: finite(found.scale)?, used })
}

/// Where an iteration stands, or rests.
#[derive(Clone, Copy, Debug)]
struct State {
    /// Of x* from the median.
    offset: f64,
    scale: f64,
    steps: usize,
}

/// The places of the values that are not drawn in.
fn inner(values: &[f64], centre: f64, at: State) -> (usize, usize) {
    let (low, high) = (at.offset - REACH * at.scale, at.offset + REACH * at.scale);
    (values.partition_point(|x| x - centre < low), values.partition_point(|x| x - centre <= high))
}

/// From the median with a scale to the fixed point, over the points at which
/// the iteration would rest if it drew in the same values for ever. `None`
/// where there is no such point or that leads nowhere in a few steps.
fn directly(values: &[f64], centre: f64, scale: f64, factor: f64) -> Option<State> {
    let mut kept = inner(values, centre, State { offset: 0.0, scale, steps: 0 });
    for steps in 1..=DIRECT_STEPS {
        let (offset, scale) = rest_with(values, centre, kept, factor)?;
        let next = State { offset, scale, steps };
        let now_kept = inner(values, centre, next);
        if now_kept == kept {
            return Some(next);
        }
        kept = now_kept;
    }
    None
}

/// x* and s* if the values from `first` up to `last` are kept and a lie above,
/// b below: x* = m + 1.5 s* (a − b)/w with the mean m of the w kept values, so
/// s*² ((p − 1)/f² − 1.5² (a + b + (a − b)²/w)) = Σ(x − m)² over them.
fn rest_with(values: &[f64], centre: f64, (first, last): (usize, usize), factor: f64) -> Option<(f64, f64)> {
    let kept = values.get(first..last)?;
    let width = kept.len() as f64;
    let mean = sum_by_halves(kept, |x| x - centre) / width;
    let squares = sum_by_halves(kept, |x| (x - centre - mean) * (x - centre - mean));
    let (below, above) = (first as f64, (values.len() - last) as f64);
    let difference = above - below;
    let freedom = (values.len() as f64 - 1.0) / (factor * factor)
        - REACH * REACH * (above + below + difference * difference / width);
    let scale = spread((squares / freedom).sqrt(), centre);
    (freedom > 0.0 && scale > 0.0 && scale.is_finite()).then_some((mean + REACH * scale * difference / width, scale))
}

/// The iteration as the standard writes it.
fn step_by_step(sample: &Sample, centre: f64, scale: f64, factor: f64) -> Result<State, Error> {
    let deviations = Deviations::from(sample, centre);
    let nearest = deviations.nearest(centre);
    let mut now = State { offset: 0.0, scale, steps: 0 };
    for steps in 1..=ITERATIONS {
        let (offset, scale) = deviations.step(now, factor);
        let moved = (offset - now.offset).abs().max((scale - now.scale).abs());
        let shrinking = scale < now.scale;
        now = State { offset, scale, steps };
        if shrinking && REACH * scale + offset.abs() < nearest {
            // Whatever differs from the common value is drawn in to it: from
            // here each step shrinks the scale by the same factor.
            return Ok(State { offset: 0.0, scale: 0.0, steps });
        }
        let tolerance = if steps == ITERATIONS { NEARLY_AT_REST } else { REST };
        if moved <= tolerance * scale {
            return Ok(now);
        }
    }
    Err(Error::NotConverged)
}

/// One step of Algorithm A from a given estimate: for those who want to
/// follow the iteration by hand.
///
/// ```
/// use roundel_stats::{Estimate, Sample, Used, robust};
///
/// // By hand: 0.5, 1, 2, 3 and 3.5 with mean 2 and sum of squares 6.5.
/// let sample = Sample::new([0.0, 1.0, 2.0, 3.0, 20.0])?;
/// let from = Estimate { location: 2.0, scale: 1.0, used: Used { count: 5, iterations: 0, start: None } };
/// let next = robust::winsorise_once(&sample, from);
/// assert_eq!((next.location, next.used.iterations), (2.0, 1));
/// assert!((next.scale - 1.134 * (6.5_f64 / 4.0).sqrt()).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
#[must_use]
pub fn winsorise_once(sample: &Sample, from: Estimate) -> Estimate {
    let drawn_in = |x: &f64| x.max(from.location - REACH * from.scale).min(from.location + REACH * from.scale);
    let count = sample.len() as f64;
    let location = sum(sample.values().iter().map(drawn_in)) / count;
    let squares = sum(sample.values().iter().map(|x| {
        let deviation = drawn_in(x) - location;
        deviation * deviation
    }));
    let used = Used { iterations: from.used.iterations + 1, ..from.used };
    Estimate { location, scale: WINSORISED_TO_SD * (squares / (count - 1.0)).sqrt(), used }
}

/// The first of MADe, nIQR and standard deviation that is not zero, `None`
/// where all values are equal.
fn start_scale(sample: &Sample) -> Result<Option<(Start, f64)>, Error> {
    let made = made(sample)?.scale;
    if made > 0.0 {
        return Ok(Some((Start::Made, made)));
    }
    let niqr = summary::niqr(sample)?.scale;
    if niqr > 0.0 {
        return Ok(Some((Start::Niqr, niqr)));
    }
    let deviation = summary::standard_deviation(sample)?;
    Ok((deviation > 0.0).then_some((Start::StandardDeviation, deviation)))
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
    fn step(&self, from: State, factor: f64) -> (f64, f64) {
        let (low, high) = (from.offset - REACH * from.scale, from.offset + REACH * from.scale);
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
        (location, factor * (squares / (count - 1.0)).sqrt())
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
    use proptest::prelude::*;

    #[test]
    fn nine_equal_values_and_a_stray_one_have_no_spread() {
        // By arithmetic: each step multiplies the scale by
        // 1.134 × 1.5 / √10 = 0.54, so the fixed point is zero.
        let sample = Sample::new([5.0, 5.0, 5.0, 5.0, 5.0, 5.0, 5.0, 5.0, 5.0, 80.0]).unwrap();

        let found = algorithm_a(&sample).unwrap();

        assert_eq!((found.location, found.scale), (5.0, 0.0));
    }

    #[test]
    fn a_step_by_sums_is_the_step_that_the_standard_writes() {
        let sample = Sample::new([4.5, 4.9, 5.6, 4.2, 6.2, 5.2, 9.9, -1e9, 1e12]).unwrap();
        let from = Estimate { location: 5.3, scale: 0.8, used: Used::directly(9) };

        let deviations = Deviations::from(&sample, 5.2);
        let (offset, scale) = deviations.step(State { offset: 5.3 - 5.2, scale: 0.8, steps: 0 }, WINSORISED_TO_SD);

        let expected = winsorise_once(&sample, from);
        assert!((offset + 5.2 - expected.location).abs() < 1e-14);
        assert!((scale - expected.scale).abs() < 1e-14);
    }

    proptest! {
        #[test]
        fn the_direct_way_leads_where_the_steps_of_the_standard_lead(
            digits in prop::collection::vec(-40_i32..40, 2..40),
            equal in 0_usize..30,
            wild in prop::collection::vec(-1e4_f64..1e4, 0..8),
        ) {
            let values = digits.into_iter().map(|x| f64::from(x) / 7.0).chain(std::iter::repeat_n(1.0, equal)).chain(wild);
            let sample = Sample::new(values).unwrap();
            let Some((_, scale)) = start_scale(&sample).unwrap() else { return Ok(()) };
            let centre = summary::median(&sample);
            let Some(direct) = directly(sample.values(), centre, scale, WINSORISED_TO_SD) else { return Ok(()) };

            let expected = step_by_step(&sample, centre, scale, WINSORISED_TO_SD).unwrap();

            let near = |a: f64, b: f64| (a - b).abs() <= 1e-9 * expected.scale;
            prop_assert!(near(direct.offset, expected.offset) && near(direct.scale, expected.scale), "{:?} {:?}", direct, expected);
        }
    }
}
