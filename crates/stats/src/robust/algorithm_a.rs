//! Algorithm A: Huber's winsorising with a scale of its own.

use super::{Estimate, made};
use crate::error::finite;
use crate::numeric::sum;
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

/// Robust mean and standard deviation by Algorithm A (ISO 13528:2022 C.3.1,
/// ISO 5725-5), iterated to its fixed point.
///
/// It starts from the median and MADe. Where MADe is zero it starts from the
/// normalised interquartile range, where that is zero too from the standard
/// deviation. The scale of the answer is zero where all values are equal, or
/// where so many are that the iteration draws all others in to them: no score
/// can rest on it.
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
    let Some(start) = start_scale(sample)? else {
        return Ok(Estimate { location: centre, scale: 0.0 });
    };
    // About the median, so that a large common offset costs no digits.
    let deviations: Vec<f64> = sample.values().iter().map(|x| x - centre).collect();
    let nearest = deviations.iter().map(|x| spread(x.abs(), centre)).filter(|x| *x > 0.0).fold(f64::INFINITY, f64::min);
    let mut now = Estimate { location: 0.0, scale: start };
    for iteration in 1..=ITERATIONS {
        let next = step(&deviations, now, factor);
        let moved = (next.location - now.location).abs().max((next.scale - now.scale).abs());
        let shrinking = next.scale < now.scale;
        now = next;
        if shrinking && REACH * now.scale + now.location.abs() < nearest {
            // Whatever differs from the common value is drawn in to it: from
            // here each step shrinks the scale by the same factor.
            return Ok(Estimate { location: centre, scale: 0.0 });
        }
        let tolerance = if iteration == ITERATIONS { NEARLY_AT_REST } else { REST };
        if moved <= tolerance * now.scale {
            return Ok(Estimate { location: finite(centre + now.location)?, scale: finite(now.scale)? });
        }
    }
    Err(Error::NotConverged)
}

/// One step of Algorithm A from a given estimate: for those who want to
/// follow the iteration by hand.
#[must_use]
pub fn winsorise_once(sample: &Sample, from: Estimate) -> Estimate {
    step(sample.values(), from, WINSORISED_TO_SD)
}

/// The first of MADe, nIQR and standard deviation that is not zero.
fn start_scale(sample: &Sample) -> Result<Option<f64>, Error> {
    for scale in [made(sample)?, summary::niqr(sample)?, summary::standard_deviation(sample)?] {
        if scale > 0.0 {
            return Ok(Some(scale));
        }
    }
    Ok(None)
}

/// Always winsorises the original values; the new scale is about the new mean.
fn step(values: &[f64], from: Estimate, factor: f64) -> Estimate {
    let low = from.location - REACH * from.scale;
    let high = from.location + REACH * from.scale;
    let drawn_in = |x: &f64| x.max(low).min(high);
    let count = values.len() as f64;
    let location = sum(values.iter().map(drawn_in)) / count;
    let squares = sum(values.iter().map(|x| {
        let deviation = drawn_in(x) - location;
        deviation * deviation
    }));
    Estimate { location, scale: factor * (squares / (count - 1.0)).sqrt() }
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
}
