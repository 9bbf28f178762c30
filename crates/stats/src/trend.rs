//! Scores over rounds: the exponentially weighted moving average, and signals of
//! control charts.
//!
//! Rounds without a score are left out by whoever calls; scores on either side of
//! such a gap count as successive.

use crate::error::finite;
use crate::{Error, score};

/// The weight of the newest value.
pub const LAMBDA: f64 = 0.3;
/// Limits stand at so many standard deviations of the average.
pub const EWMA_LIMIT: f64 = 3.0;

/// Averages EWMA_i = λ x_i + (1 − λ) EWMA_{i−1}, EWMA_0 the `target`, one for each
/// value in its order (Roberts 1959).
///
/// ```
/// use roundel_stats::trend::ewma;
///
/// // By hand: 0.3 × 2 = 0.6 and 0.3 × (−1) + 0.7 × 0.6 = 0.12.
/// let found = ewma(&[2.0, -1.0], 0.0, 0.3)?;
/// assert!((found[0] - 0.6).abs() < 1e-12 && (found[1] - 0.12).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::NotFinite`]; [`Error::OutOfRange`] unless 0 < `lambda` ≤ 1.
pub fn ewma(values: &[f64], target: f64, lambda: f64) -> Result<Vec<f64>, Error> {
    check(lambda)?;
    let mut last = target;
    let mut averages = Vec::with_capacity(values.len());
    for &value in values {
        if !value.is_finite() {
            return Err(Error::NotFinite);
        }
        last = finite(lambda * value + (1.0 - lambda) * last)?;
        averages.push(last);
    }
    Ok(averages)
}

/// How far the limits stand from the target: `multiple` × `sigma` × √(λ/(2 − λ)),
/// the value that the limits come to after many rounds. In the unit of `sigma`.
///
/// ```
/// use roundel_stats::trend::ewma_limit;
///
/// // 0.3/1.7 = 0.176 47; its root is 0.420 08.
/// assert!((ewma_limit(1.0, 0.3, 3.0)? - 1.260_252).abs() < 1e-6);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::OutOfRange`] unless 0 < `lambda` ≤ 1, or where the result is no number.
pub fn ewma_limit(sigma: f64, lambda: f64, multiple: f64) -> Result<f64, Error> {
    check(lambda)?;
    finite(multiple * sigma * (lambda / (2.0 - lambda)).sqrt())
}

fn check(lambda: f64) -> Result<(), Error> {
    if 0.0 < lambda && lambda <= 1.0 { Ok(()) } else { Err(Error::OutOfRange("lambda")) }
}

/// Several scores of one occasion as one: their mean times √m, which is their sum over
/// √m. Where the scores are independent with mean 0 and standard deviation 1, so is it
/// (Stouffer's method; the standard deviation of a sum of m such values is √m). Scores
/// that share an error, as a laboratory's bias, do not cancel: then it stands out the
/// more.
///
/// ```
/// use roundel_stats::trend::combined;
///
/// // By hand: (1 + 2 + 3)/√3 = 3.464 10.
/// assert!((combined(&[1.0, 2.0, 3.0])? - 3.464_101_6).abs() < 1e-7);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::Empty`] for none; [`Error::NotFinite`].
pub fn combined(scores: &[f64]) -> Result<f64, Error> {
    if scores.is_empty() {
        return Err(Error::Empty);
    }
    if scores.iter().any(|score| !score.is_finite()) {
        return Err(Error::NotFinite);
    }
    finite(scores.iter().sum::<f64>() / (scores.len() as f64).sqrt())
}

/// What a control chart says of a score and those before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Rule {
    /// |z| ≥ 3.
    Beyond,
    /// Two successive |z| > 2 on the same side.
    TwoBeyondTwo,
    /// Three of four successive ones beyond 1 on the same side.
    ThreeOfFour,
    /// Six in a row of the same sign.
    SixOneSide,
    /// The moving average (λ = 0.3) beyond 3 σ of it.
    Average,
}

/// A rule that holds at a score.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Signal {
    /// Place of the score that completes it, from 0.
    pub at: usize,
    /// The rule.
    pub rule: Rule,
}

/// The signals of scores with mean 0 and standard deviation 1, in the order of the
/// rounds.
///
/// ```
/// use roundel_stats::trend::{Rule, Signal, signals};
///
/// let found = signals(&[0.2, 2.1, 2.4])?;
/// assert_eq!(found, [Signal { at: 2, rule: Rule::TwoBeyondTwo }]);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::NotFinite`].
pub fn signals(scores: &[f64]) -> Result<Vec<Signal>, Error> {
    let averages = ewma(scores, 0.0, LAMBDA)?;
    let limit = ewma_limit(1.0, LAMBDA, EWMA_LIMIT)?;
    let mut found = Vec::new();
    for at in 0..scores.len() {
        let last = |count: usize| (at + 1 >= count).then(|| &scores[at + 1 - count..=at]);
        let sides = [1.0, -1.0];
        // The newest one takes part, so that a signal is told once, where it comes.
        let one_side = |values: &[f64], needed: usize, beyond: f64| {
            sides.iter().any(|side| {
                let over = |value: &f64| !score::at_most(value * side, beyond) && value * side > 0.0;
                values.last().is_some_and(over) && values.iter().filter(|value| over(value)).count() >= needed
            })
        };
        let rules = [
            (Rule::Beyond, !score::below(scores[at].abs(), 3.0)),
            (Rule::TwoBeyondTwo, last(2).is_some_and(|two| one_side(two, 2, 2.0))),
            (Rule::ThreeOfFour, last(4).is_some_and(|four| one_side(four, 3, 1.0))),
            (Rule::SixOneSide, last(6).is_some_and(|six| one_side(six, 6, 0.0))),
            (Rule::Average, !score::at_most(averages[at].abs(), limit)),
        ];
        found.extend(rules.into_iter().filter(|(_, holds)| *holds).map(|(rule, _)| Signal { at, rule }));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rules(scores: &[f64]) -> Vec<(usize, Rule)> {
        signals(scores).unwrap().into_iter().map(|signal| (signal.at, signal.rule)).collect()
    }

    #[test]
    fn the_example_of_the_handbook_comes_out() {
        // NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2.4, "EWMA
        // Control Charts": target 50, s 2.0539, λ 0.3. Printed there to two decimals;
        // from memory, and the same when calculated apart from this program.
        let data = [
            52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4,
            53.6, 52.1,
        ];
        let printed = [
            50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38,
            49.92, 50.73, 51.23, 51.94, 51.99,
        ];

        let found = ewma(&data, 50.0, 0.3).unwrap();
        let limit = ewma_limit(2.0539, 0.3, 3.0).unwrap();

        for (place, (average, printed)) in found.iter().zip(printed).enumerate() {
            assert!((average - printed).abs() < 0.0051, "{place}: {average} is not {printed}");
        }
        assert_eq!(found.len(), printed.len());
        assert!((50.0 + limit - 52.5884).abs() < 1e-4 && (50.0 - limit - 47.4115).abs() < 1.1e-4);
    }

    #[test]
    fn each_rule_is_told_where_it_is_completed() {
        assert_eq!(rules(&[0.0, 3.0]), [(1, Rule::Beyond)]);
        assert_eq!(rules(&[0.0, -2.999_999]), []);
        assert_eq!(rules(&[2.1, -2.1, 2.1]), []);
        assert_eq!(rules(&[-2.1, -2.1])[0], (1, Rule::TwoBeyondTwo));
        assert_eq!(rules(&[2.0, 2.0]), []);
        assert_eq!(rules(&[1.1, 0.0, 1.2, 1.1]), [(3, Rule::ThreeOfFour)]);
        assert_eq!(rules(&[1.1, 1.2, 1.1, 0.0]), []);
        assert_eq!(rules(&[0.1, 0.1, 0.1, 0.1, 0.1, 0.1]), [(5, Rule::SixOneSide)]);
        assert_eq!(rules(&[0.1, 0.1, 0.0, 0.1, 0.1, 0.1]), []);
    }

    #[test]
    fn a_slow_drift_is_seen_by_the_average() {
        // By hand: the averages are 0.57, 0.129, 0.6603, 1.0322, 1.2925, 1.4748; the
        // limit is 1.2603.
        let found = rules(&[1.9, -0.9, 1.9, 1.9, 1.9, 1.9]);
        assert_eq!(found.iter().find(|(_, rule)| *rule == Rule::Average), Some(&(4, Rule::Average)));
    }

    #[test]
    fn scores_of_one_occasion_are_taken_together() {
        // By hand: one stays what it is, two opposite ones cancel, and three of 1 give
        // 3/√3 = 1.732 05.
        assert!((combined(&[-2.5]).unwrap() + 2.5).abs() < 1e-15);
        assert!(combined(&[2.5, -2.5]).unwrap().abs() < 1e-15);
        assert!((combined(&[1.0, 1.0, 1.0]).unwrap() - 1.732_050_8).abs() < 1e-7);
    }

    #[test]
    fn what_is_no_number_is_refused() {
        assert_eq!(combined(&[1.0, f64::INFINITY]), Err(Error::NotFinite));
        assert!(combined(&[]).is_err());
        assert_eq!(signals(&[f64::NAN]), Err(Error::NotFinite));
        assert_eq!(ewma(&[1.0], 0.0, 0.0), Err(Error::OutOfRange("lambda")));
        assert_eq!(signals(&[]), Ok(Vec::new()));
    }
}
