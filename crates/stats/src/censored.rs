//! Results that are only known to lie below a limit, by their ranks. No number is
//! put in the place of a limit (this project's own reading of the median and MADe of
//! ISO 13528:2022 C.2).

use crate::error::finite;
use crate::numeric::{ascending, midpoint};
use crate::robust::MAD_TO_SD;
use crate::sample::spread;
use crate::score::at_most;
use crate::{Error, Estimate, Sample, Used};

/// Median by ranks: a result below a limit ranks below every value, so every
/// limit must be at or below the median. Also where [`median_made`] leaves the
/// deviation open.
///
/// ```
/// use roundel_stats::{Error, Sample, censored};
///
/// // By hand: <, <, 5, 6, 7, 8, 20 has 6 in the middle.
/// let quantified = Sample::new([5.0, 6.0, 7.0, 8.0, 20.0])?;
/// assert_eq!(censored::median(&quantified, &[4.5, 3.0]), Ok(6.0));
/// assert_eq!(censored::median(&quantified, &[6.5, 3.0]), Err(Error::NotIdentifiable));
/// # Ok::<(), Error>(())
/// ```
///
/// # Errors
///
/// [`Error::NotIdentifiable`] where a limit is above the median or the middle
/// result is below one.
pub fn median(quantified: &Sample, limits: &[f64]) -> Result<f64, Error> {
    let location = middle_of(quantified.values(), limits.len()).ok_or(Error::NotIdentifiable)?;
    if limits.iter().any(|limit| !at_most(*limit, location)) {
        return Err(Error::NotIdentifiable);
    }
    Ok(location)
}

/// Median and MADe by ranks: a result below a limit ranks below every value.
/// MADe = 1.483 × the median of the absolute deviations of all results.
///
/// The median needs every limit to be at or below it. The median absolute
/// deviation needs to come out the same whatever the censored results are:
/// each of them deviates by at least median − limit, so the middle deviation
/// (both, for an even number) must be at most the smallest such difference.
///
/// ```
/// use roundel_stats::{Sample, censored};
///
/// // By hand: <, <, 5, 6, 7, 8, 20 has the median 6; the deviations are 0, 1, 1,
/// // 2, 14 and two of at least 2, so the middle one of seven is 2.
/// let quantified = Sample::new([5.0, 6.0, 7.0, 8.0, 20.0])?;
/// let found = censored::median_made(&quantified, &[4.0, 3.0])?;
/// assert_eq!((found.location, found.scale, found.used.count), (6.0, 1.483 * 2.0, 7));
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::NotIdentifiable`] where one of these fails; [`Error::TooFew`]
/// below 2 results; [`Error::NoSpread`] where the deviation is zero.
pub fn median_made(quantified: &Sample, limits: &[f64]) -> Result<Estimate, Error> {
    let values = quantified.values();
    let count = values.len() + limits.len();
    if count < 2 {
        return Err(Error::TooFew { needed: 2, given: count });
    }
    let location = median(quantified, limits)?;
    let room = limits.iter().map(|limit| location - limit).fold(f64::INFINITY, f64::min);
    let deviations = ascending(values.iter().map(|x| (x - location).abs()));
    let last = count / 2;
    if last >= deviations.len() || !at_most(deviations[last], room) {
        return Err(Error::NotIdentifiable);
    }
    let middle = if count % 2 == 1 { deviations[last] } else { midpoint(deviations[last - 1], deviations[last]) };
    let scale = finite(MAD_TO_SD * spread(middle, location))?;
    if scale == 0.0 {
        return Err(Error::NoSpread);
    }
    Ok(Estimate { location, scale, used: Used::directly(count) })
}

/// The median of ascending values with `below` results in front of them, or
/// `None` where one of those is in the middle.
fn middle_of(values: &[f64], below: usize) -> Option<f64> {
    let count = values.len() + below;
    let upper = *values.get((count / 2).checked_sub(below)?)?;
    if count % 2 == 1 {
        return Some(upper);
    }
    let lower = values[(count / 2 - 1).checked_sub(below)?];
    Some(midpoint(lower, upper))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn censored_results_rank_below_every_value() {
        // By hand: ranks <, <, 5, 6, 7, 8, 20: median 6; deviations of the
        // values 0 1 1 2 14, of the others at least 6 − 4 = 2; the fourth of
        // seven is 2.
        let quantified = Sample::new([5.0, 6.0, 7.0, 8.0, 20.0]).unwrap();

        let got = median_made(&quantified, &[4.0, 3.0]);

        assert_eq!(got, Ok(Estimate { location: 6.0, scale: 2.0 * 1.483, used: Used::directly(7) }));
    }

    #[test]
    fn a_limit_above_the_median_or_inside_the_deviation_leaves_it_open() {
        let quantified = Sample::new([5.0, 6.0, 7.0, 8.0, 20.0]).unwrap();

        assert_eq!(median_made(&quantified, &[4.5, 3.0]), Err(Error::NotIdentifiable));
        assert_eq!(median_made(&quantified, &[6.5, 3.0]), Err(Error::NotIdentifiable));
        assert_eq!(median_made(&quantified, &[1.0; 6]), Err(Error::NotIdentifiable));
    }
}
