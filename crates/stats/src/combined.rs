//! Scores of one laboratory taken together (formulae from memory; RSZ and SSZ
//! as in the IUPAC harmonised protocol of 2006, section 3.9 of which warns of
//! them: a sum hides errors that cancel, a sum of squares hides the sign).

use crate::error::finite;
use crate::numeric::sum;
use crate::score::{Judgement, judge};
use crate::{Error, Sample, quantile};

/// Combined scores of n single scores that are N(0, 1) in a laboratory
/// without bias and with the standard deviation σ_pt.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Combined {
    /// Number of scores.
    pub count: usize,
    /// RSZ = Σz/√n, N(0, 1).
    pub rescaled_sum: f64,
    /// SSZ = Σz², χ² with n degrees of freedom.
    pub sum_of_squares: f64,
    /// Probability of such a sum of squares or a larger one.
    pub probability: f64,
    /// Σz²/n.
    pub mean_square: f64,
    /// Σw|z|/n with w = 1, 3, 5 for acceptable, questionable, unacceptable.
    pub weighted: f64,
    /// Number of questionable scores.
    pub questionable: usize,
    /// Number of unacceptable scores.
    pub unacceptable: usize,
}

/// Combines scores, judged at `warning` and `action`.
///
/// ```
/// use roundel_stats::{Sample, combined::combined};
///
/// // By hand.
/// let found = combined(&Sample::new([1.0, -1.0, 2.5, 3.5])?, 2.0, 3.0)?;
/// assert_eq!((found.rescaled_sum, found.sum_of_squares), (3.0, 20.5));
/// assert_eq!((found.weighted, found.questionable, found.unacceptable), (6.75, 1, 1));
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] when a sum exceeds the range of a double.
pub fn combined(scores: &Sample, warning: f64, action: f64) -> Result<Combined, Error> {
    let count = scores.len();
    let n = count as f64;
    let values = scores.values();
    let sum_of_squares = finite(sum(values.iter().map(|z| z * z)))?;
    let judged = |wanted: Judgement| values.iter().filter(|z| judge(**z, warning, action) == wanted).count();
    let weight = |z: f64| match judge(z, warning, action) {
        Judgement::Acceptable => 1.0,
        Judgement::Questionable => 3.0,
        Judgement::Unacceptable => 5.0,
    };
    Ok(Combined {
        count,
        rescaled_sum: finite(sum(values.iter().copied()) / n.sqrt())?,
        sum_of_squares,
        probability: quantile::chi_squared_tail(n, sum_of_squares)?,
        mean_square: sum_of_squares / n,
        weighted: finite(sum(values.iter().map(|z| weight(*z) * z.abs())) / n)?,
        questionable: judged(Judgement::Questionable),
        unacceptable: judged(Judgement::Unacceptable),
    })
}
