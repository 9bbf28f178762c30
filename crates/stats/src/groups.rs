//! Two groups of results compared: by how much one lies apart from the other,
//! between which limits, and how surely. No distribution is assumed, and a few
//! wild values move nothing far.
//!
//! Why ranks and not medians with an uncertainty from MADe: MADe of five values
//! is itself so uncertain that the interval median difference ± 1.96 u holds the
//! truth in 86 % of trials with five and five normal values, 87 % with five and
//! twenty (20,000 trials each, in R 4.2), where 95 % were promised. The
//! interval here keeps its promise for every distribution from the smallest
//! groups on.

use crate::numeric::{midpoint, normal_cdf};
use crate::sample::Sample;
use crate::{Error, quantile};

/// Up to this product of the two counts the distribution of the rank sum is
/// counted out; beyond, the normal distribution is good to three digits.
const COUNTED_OUT: usize = 400;

/// How far one group lies from another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shift {
    /// The median of all differences between a value of the one group and one
    /// of the other (Hodges and Lehmann).
    pub difference: f64,
    /// Lower limit of the difference.
    pub low: f64,
    /// Upper limit of the difference.
    pub high: f64,
    /// How probable a rank sum at least as far from its expectation is where the
    /// groups do not differ: two-sided.
    pub p_value: f64,
}

/// Compares two groups: the estimate of Hodges and Lehmann, the interval that
/// belongs to it with at least the given `confidence`, and Wilcoxon's rank sum
/// test, conditional on ties (M. Hollander, D. A. Wolfe, Nonparametric Statistical
/// Methods, chapter 4, from memory; checked against R). Up to 400 pairs of values
/// the distribution is counted out, so that values are exact with and without ties;
/// beyond, the normal distribution is taken, with the corrections for ties and
/// continuity. With ties the interval is wider than it need be.
///
/// The estimate is Δ = the median of x − y over all pairs of a value x of the one
/// group and a value y of the other.
///
/// The groups are taken to differ in their place and not in their shape.
///
/// ```
/// use roundel_stats::{Sample, groups};
///
/// let (one, other) = (Sample::new([11.0, 12.0, 13.0, 14.0])?, Sample::new([1.0, 2.0, 3.0, 4.0])?);
/// let shift = groups::shift(&one, &other, 0.95)?;
/// assert_eq!(shift.difference, 10.0);
/// // By hand: of C(8, 4) = 70 ways to deal the ranks two lie as far out.
/// assert!((shift.p_value - 2.0 / 70.0).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] unless 0 < `confidence` < 1, or for differences beyond
/// the range of a double; [`Error::TooFew`] where no interval from so few values
/// can be as sure.
pub fn shift(one: &Sample, other: &Sample, confidence: f64) -> Result<Shift, Error> {
    if !(confidence > 0.0 && confidence < 1.0) {
        return Err(Error::OutOfRange("the confidence"));
    }
    let mut differences: Vec<f64> =
        one.values().iter().flat_map(|x| other.values().iter().map(move |y| x - y)).collect();
    if differences.iter().any(|difference| !difference.is_finite()) {
        return Err(Error::OutOfRange("a difference"));
    }
    let left_out = outer_differences(one.len(), other.len(), (1.0 - confidence) / 2.0)?;
    let last = differences.len() - 1;
    // Four of up to hundreds of thousands are wanted in order.
    let mut at = |place: usize| *differences.select_nth_unstable_by(place, f64::total_cmp).1;
    Ok(Shift {
        difference: midpoint(at(last / 2), at(last.div_ceil(2))),
        low: at(left_out),
        high: at(last - left_out),
        p_value: rank_sum_test(one, other),
    })
}

/// How many of the ordered differences lie outside the interval at each end.
fn outer_differences(one: usize, other: usize, tail: f64) -> Result<usize, Error> {
    let pairs = one * other;
    let too_few = Error::TooFew { needed: one.min(other) + 1, given: one.min(other) };
    if pairs > COUNTED_OUT {
        let sd = (pairs as f64 * (one + other + 1) as f64 / 12.0).sqrt();
        let place = pairs as f64 / 2.0 - quantile::normal(1.0 - tail)? * sd;
        return if place < 1.0 { Err(too_few) } else { Ok(place as usize - 1) };
    }
    let ranks: Vec<usize> = (1..=one + other).collect();
    let counts = ways(&ranks, one.min(other));
    let total: f64 = counts.iter().sum();
    let smallest = counts.iter().position(|ways| *ways > 0.0).unwrap_or_default();
    let mut below = 0.0;
    let mut outer = 0;
    for ways in &counts[smallest..] {
        below += ways / total;
        if below > tail {
            break;
        }
        outer += 1;
    }
    // `outer` rank sums are too improbable; the difference after them is the limit.
    if outer == 0 { Err(too_few) } else { Ok(outer - 1) }
}

/// In how many ways `take` of the ranks give each sum.
fn ways(ranks: &[usize], take: usize) -> Vec<f64> {
    let largest: usize = ranks.iter().rev().take(take).sum();
    let mut ways = vec![vec![0.0; largest + 1]; take + 1];
    ways[0][0] = 1.0;
    for (seen, &rank) in ranks.iter().enumerate() {
        for taken in (1..=take.min(seen + 1)).rev() {
            let (before, after) = ways.split_at_mut(taken);
            let (before, after) = (&before[taken - 1], &mut after[0]);
            for sum in rank..=largest {
                after[sum] += before[sum - rank];
            }
        }
    }
    ways.pop().unwrap_or_default()
}

/// The two-sided probability of Wilcoxon's rank sum.
fn rank_sum_test(one: &Sample, other: &Sample) -> f64 {
    let (fewer, more) = if one.len() <= other.len() { (one, other) } else { (other, one) };
    let mut all: Vec<(f64, bool)> = fewer.values().iter().map(|x| (*x, true)).collect();
    all.extend(more.values().iter().map(|x| (*x, false)));
    all.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    // Twice the middle rank of each value, so that it is a whole number.
    let mut ranks = Vec::with_capacity(all.len());
    let mut tied = 0.0;
    for tie in all.chunk_by(|a, b| a.0 == b.0) {
        let first = ranks.len() + 1;
        ranks.extend(std::iter::repeat_n(2 * first + tie.len() - 1, tie.len()));
        let size = tie.len() as f64;
        tied += size * (size * size - 1.0);
    }
    let sum: usize = ranks.iter().zip(&all).filter(|(_, (_, own))| *own).map(|(rank, _)| rank).sum();
    let expected = fewer.len() * (all.len() + 1);
    let off = sum.abs_diff(expected);
    if fewer.len() * more.len() <= COUNTED_OUT {
        let counts = ways(&ranks, fewer.len());
        let total: f64 = counts.iter().sum();
        let as_far: f64 =
            counts.iter().enumerate().filter(|(sum, _)| sum.abs_diff(expected) >= off).map(|(_, ways)| ways).sum();
        return (as_far / total).min(1.0);
    }
    let (n, pairs) = (all.len() as f64, (fewer.len() * more.len()) as f64);
    let variance = pairs / 12.0 * (n + 1.0 - tied / (n * (n - 1.0)));
    if variance <= 0.0 {
        return 1.0;
    }
    let distance = (off as f64 / 2.0 - 0.5).max(0.0);
    (2.0 * normal_cdf(-distance / variance.sqrt())).min(1.0)
}

/// Probabilities of several tests, raised so that one limit holds for all of
/// them together (S. Holm, Scandinavian Journal of Statistics 6, 1979, 65–70):
/// in the order given.
///
/// The k-th smallest of m becomes p′ = (m − k + 1) p, never below the one before and
/// never above 1.
///
/// ```
/// use roundel_stats::groups::holm;
///
/// // By hand: 3 · 0.01; 2 · 0.04, not below the one before; 1 · 0.03 likewise.
/// assert_eq!(holm(&[0.01, 0.04, 0.03])?, [0.03, 0.06, 0.06]);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] for a number that is no probability.
pub fn holm(p_values: &[f64]) -> Result<Vec<f64>, Error> {
    if p_values.iter().any(|p| !(0.0..=1.0).contains(p)) {
        return Err(Error::OutOfRange("a probability"));
    }
    let mut order: Vec<usize> = (0..p_values.len()).collect();
    order.sort_by(|a, b| p_values[*a].total_cmp(&p_values[*b]));
    let mut adjusted = vec![0.0; p_values.len()];
    let mut so_far = 0.0_f64;
    for (rank, place) in order.into_iter().enumerate() {
        let raised = ((p_values.len() - rank) as f64 * p_values[place]).min(1.0);
        so_far = so_far.max(raised);
        adjusted[place] = so_far;
    }
    Ok(adjusted)
}
