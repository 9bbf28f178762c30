//! Pairs of results of two similar items (Youden plot): correlation and the
//! ellipse of confidence (Jackson 1956).

use crate::error::finite;
use crate::numeric::sum;
use crate::{Error, Sample, quantile, summary};

/// Figures of p pairs.
#[derive(Clone, Debug, PartialEq)]
pub struct Youden {
    /// Means of both items.
    pub means: [f64; 2],
    /// Standard deviations of both items.
    pub deviations: [f64; 2],
    /// Pearson's coefficient of correlation.
    pub correlation: f64,
    /// Spearman's coefficient of rank correlation, with mean ranks for ties.
    pub rank_correlation: f64,
    /// Q = (z₁² − 2 r z₁z₂ + z₂²)/(1 − r²) of each pair, in the order given.
    pub distances: Vec<f64>,
}

/// Analyses pairs.
///
/// ```
/// use roundel_stats::youden::youden;
///
/// // By hand: means 1, standard deviations 1, r = 1/2, Q = 1/(1 − 1/4).
/// let found = youden(&[[0.0, 0.0], [1.0, 2.0], [2.0, 1.0]])?;
/// assert!((found.correlation - 0.5).abs() < 1e-12);
/// assert!((found.distances[0] - 4.0 / 3.0).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 3 pairs; [`Error::NotFinite`]; [`Error::NoSpread`]
/// where one item has no spread or the pairs lie on a line.
pub fn youden(pairs: &[[f64; 2]]) -> Result<Youden, Error> {
    if pairs.len() < 3 {
        return Err(Error::TooFew { needed: 3, given: pairs.len() });
    }
    let samples = [0, 1].map(|side| Sample::new(pairs.iter().map(|pair| pair[side])));
    let [first, second] = samples;
    let (first, second) = (first?, second?);
    let means = [summary::mean(&first)?, summary::mean(&second)?];
    let deviations = [summary::standard_deviation(&first)?, summary::standard_deviation(&second)?];
    if deviations.contains(&0.0) {
        return Err(Error::NoSpread);
    }
    let standard = |pair: &[f64; 2]| [0, 1].map(|side| (pair[side] - means[side]) / deviations[side]);
    let correlation = correlation(pairs)?;
    let free = 1.0 - correlation * correlation;
    if free <= f64::EPSILON {
        return Err(Error::NoSpread);
    }
    let distance = |pair: &[f64; 2]| {
        let [x, y] = standard(pair);
        finite((x * x - 2.0 * correlation * x * y + y * y) / free)
    };
    let ranks = [&first, &second];
    let mut distances = Vec::with_capacity(pairs.len());
    for pair in pairs {
        distances.push(distance(pair)?);
    }
    let ranked: Vec<[f64; 2]> =
        pairs.iter().map(|pair| [0, 1].map(|side| mean_rank(ranks[side].values(), pair[side]))).collect();
    Ok(Youden { means, deviations, correlation, rank_correlation: self::correlation(&ranked)?, distances })
}

/// T² such that a pair with Q > T² lies outside the ellipse of probability
/// 1 − `tail`: 2 (p − 1)/(p − 2) F(2, p − 2; 1 − `tail`).
///
/// ```
/// use roundel_stats::youden::ellipse;
///
/// // F(2, 10; 0.95) = 4.103 as tables print it.
/// assert!((ellipse(12, 0.05)? - 2.2 * 4.103).abs() < 2e-3);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 3 pairs; [`Error::OutOfRange`] unless
/// 0 < `tail` < 1.
pub fn ellipse(pairs: usize, tail: f64) -> Result<f64, Error> {
    if pairs < 3 {
        return Err(Error::TooFew { needed: 3, given: pairs });
    }
    let p = pairs as f64;
    finite(2.0 * (p - 1.0) / (p - 2.0) * quantile::fisher(2.0, p - 2.0, tail)?)
}

fn correlation(pairs: &[[f64; 2]]) -> Result<f64, Error> {
    let count = pairs.len() as f64;
    let [x, y] = [0, 1].map(|side| sum(pairs.iter().map(|pair| pair[side])) / count);
    let products = sum(pairs.iter().map(|pair| (pair[0] - x) * (pair[1] - y)));
    let squares =
        [(0, x), (1, y)].map(|(side, mean)| sum(pairs.iter().map(|pair| (pair[side] - mean) * (pair[side] - mean))));
    finite((products / (squares[0].sqrt() * squares[1].sqrt())).clamp(-1.0, 1.0)).map_err(|_| Error::NoSpread)
}

/// The mean of the ranks that equal values share.
fn mean_rank(ascending: &[f64], value: f64) -> f64 {
    let below = ascending.partition_point(|x| *x < value);
    let up_to = ascending.partition_point(|x| *x <= value);
    (below + 1 + up_to) as f64 / 2.0
}
