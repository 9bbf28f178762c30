//! What a laboratory's scores say over rounds, and what its pairs and replicates say
//! beside those of the others: numbers for figures, with no class of their own.

use crate::evaluation::precision::LaboratoryStatistics;
use roundel_stats::{outlier, pair, trend, youden};

pub use roundel_stats::trend::Rule;

/// With fewer rounds that have a score there are no limits, and so no rule that goes by
/// them (F86).
pub const FEWEST_ROUNDS: usize = 3;

/// One analyte's scores followed over rounds, in the order of time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Followed {
    /// The scores of each round as one; none where there is no score.
    pub combined: Vec<Option<f64>>,
    /// The moving average (λ = 0.3) after each round; none where there is no score.
    pub averages: Vec<Option<f64>>,
    /// The rules of control charts over rounds that hold at each ("look here", D37).
    pub rules: Vec<Vec<Rule>>,
    /// How far the limits of the average stand from zero.
    pub limit: f64,
}

/// Follows one analyte over rounds: for each round, the scores that are read as z of
/// the items in it.
///
/// The items of a round are measured on one occasion, so they are not successive: they
/// count as one value, their mean times √m, which has the standard deviation 1 that the
/// rules and the limits of the average go by. Averages of scores hide single ones that
/// are far out (ISO 13528:2022, 10.8), so that one score at or beyond 3 is a signal is
/// said of each score for itself, by [`is_beyond`]. A round without a score is left
/// out, and those on both sides of it count as successive.
#[must_use]
pub fn follow(rounds: &[Vec<f64>]) -> Followed {
    let mut followed = Followed {
        combined: rounds.iter().map(|scores| trend::combined(scores).ok()).collect(),
        averages: vec![None; rounds.len()],
        rules: vec![Vec::new(); rounds.len()],
        limit: trend::ewma_limit(1.0, trend::LAMBDA, trend::EWMA_LIMIT).unwrap_or_default(),
    };
    let known: Vec<(usize, f64)> =
        followed.combined.iter().enumerate().filter_map(|(place, one)| Some((place, (*one)?))).collect();
    let values: Vec<f64> = known.iter().map(|(_, combined)| *combined).collect();
    for ((place, _), average) in known.iter().zip(trend::ewma(&values, 0.0, trend::LAMBDA).unwrap_or_default()) {
        followed.averages[*place] = Some(average);
    }
    let limits = known.len() >= FEWEST_ROUNDS;
    for signal in trend::signals(&values).unwrap_or_default() {
        match signal.rule {
            Rule::Beyond => {}
            Rule::Average if !limits => {}
            rule => followed.rules[known[signal.at].0].push(rule),
        }
    }
    followed
}

/// Whether one score alone is a signal: at or beyond 3 on either side.
#[must_use]
pub fn is_beyond(score: f64) -> bool {
    trend::signals(&[score]).unwrap_or_default().iter().any(|signal| signal.rule == Rule::Beyond)
}

/// The ellipse around pairs, or why there is none.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ellipse {
    /// Robust location, scales and correlation, with T² of 95 %.
    Of(pair::Pair, f64),
    /// Fewer than ten pairs.
    TooFew,
    /// The covariance is singular.
    Singular,
}

/// The ellipse that holds 95 % of such pairs, from ten pairs on.
#[must_use]
pub fn ellipse(pairs: &[[f64; 2]]) -> Ellipse {
    if pairs.len() < pair::FEWEST {
        return Ellipse::TooFew;
    }
    match (pair::pair(pairs), youden::ellipse(pairs.len(), 0.05)) {
        (Ok(found), Ok(squared)) => Ellipse::Of(found, squared),
        _ => Ellipse::Singular,
    }
}

/// The lines of Mandel's h at 5 % and 1 %, for the laboratories at hand.
#[must_use]
pub fn mandel_h_lines(laboratories: &[LaboratoryStatistics]) -> Option<[f64; 2]> {
    let count = laboratories.iter().filter(|one| one.mandel_h.is_some()).count();
    Some([outlier::mandel_h_critical(count, 0.05).ok()?, outlier::mandel_h_critical(count, 0.01).ok()?])
}

/// The lines of Mandel's k at 5 % and 1 %, for the laboratories that have one.
#[must_use]
pub fn mandel_k_lines(laboratories: &[LaboratoryStatistics]) -> Option<[f64; 2]> {
    let counts: Vec<usize> = laboratories.iter().filter(|one| one.mandel_k.is_some()).map(|one| one.results).collect();
    let results = counts.iter().copied().min()?;
    let line = |alpha| outlier::mandel_k_critical(counts.len(), results, alpha).ok();
    Some([line(0.05)?, line(0.01)?])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gap_is_left_out_and_what_stands_beside_it_is_successive() {
        let followed = follow(&[vec![2.5], vec![], vec![2.1]]);

        assert_eq!(followed.averages[1], None);
        // By hand: 0.75, then 0.63 + 0.525.
        assert!((followed.averages[2].unwrap() - 1.155).abs() < 1e-12);
        assert_eq!(followed.rules, [vec![], vec![], vec![Rule::TwoBeyondTwo]]);
        assert!((followed.limit - 1.260_252).abs() < 1e-6);
    }

    #[test]
    fn the_items_of_a_round_are_one_value_and_never_successive() {
        // Six scores of one sign in two rounds are two rounds, not six.
        assert_eq!(follow(&[vec![0.5, 0.4, 0.6], vec![0.3, 0.5, 0.4]]).rules, [vec![], vec![]]);
        assert_eq!(follow(&[vec![2.1, 2.2]]).rules, [vec![]], "two items of one round are not two successive scores");

        // By hand: 1.1 and 1.3 give 2.4/√2 = 1.697; three of 1.2 give 3.6/√3 = 2.078.
        let followed = follow(&[vec![1.1, 1.3], vec![1.2, 1.2, 1.2], vec![1.2, 1.2, 1.2]]);
        let combined: Vec<f64> = followed.combined.iter().map(|one| one.unwrap()).collect();
        for (found, by_hand) in combined.iter().zip([1.697_056, 2.078_461, 2.078_461]) {
            assert!((found - by_hand).abs() < 1e-6, "{found} is not {by_hand}");
        }
        // 0.3 × 1.697 056; then 0.7 × that + 0.3 × 2.078 461, twice.
        for (found, by_hand) in followed.averages.iter().zip([0.509_117, 0.979_920, 1.309_482]) {
            assert!((found.unwrap() - by_hand).abs() < 1e-6, "{found:?} is not {by_hand}");
        }
        assert_eq!(followed.rules, [vec![], vec![], vec![Rule::TwoBeyondTwo, Rule::Average]]);
    }

    #[test]
    fn with_two_rounds_the_average_has_no_limits() {
        // 0.3 × 5 = 1.5 is beyond 1.26, and so is 0.7 × 1.5 + 0.3 × 1 = 1.35.
        assert_eq!(follow(&[vec![5.0], vec![1.0]]).rules, [vec![], vec![]]);
        let three = follow(&[vec![5.0], vec![1.0], vec![0.0]]);
        assert_eq!(three.rules, [vec![Rule::Average], vec![Rule::Average], vec![]]);
    }

    #[test]
    fn one_score_at_three_is_a_signal_by_itself() {
        assert!(is_beyond(3.0) && is_beyond(-3.0) && is_beyond(7.2));
        assert!(!is_beyond(2.999) && !is_beyond(f64::NAN));
        // Three items of 2 give 3.46 together: that is no score beyond 3.
        assert_eq!(follow(&[vec![2.0, 2.0, 2.0]]).rules, [vec![]]);
    }

    #[test]
    fn an_ellipse_needs_ten_pairs_that_scatter_in_both_directions() {
        let some = |count: usize, spread: f64| -> Vec<[f64; 2]> {
            (0..count).map(|n| [n as f64, n as f64 + spread * ((n * 7) % 5) as f64]).collect()
        };
        assert_eq!(ellipse(&some(9, 1.0)), Ellipse::TooFew);
        assert_eq!(ellipse(&some(10, 0.0)), Ellipse::Singular);
        assert!(matches!(ellipse(&some(10, 1.0)), Ellipse::Of(..)));
    }

    #[test]
    fn lines_go_by_the_laboratories_at_hand() {
        let one = |code: &str| LaboratoryStatistics {
            participant: code.to_owned(),
            results: 2,
            mean: 1.0,
            sd: Some(0.1),
            mandel_h: Some(0.5),
            mandel_k: Some(1.0),
            set_aside: false,
        };
        let ten: Vec<LaboratoryStatistics> = ["A", "B", "C", "D", "E", "F", "G", "H", "I", "J"].map(one).to_vec();

        // The formulae of ISO 5725-2 with t(8) = 2.306 and F(1, 9) = 5.117 of tables.
        assert!((mandel_h_lines(&ten).unwrap()[0] - 1.798).abs() < 1e-3);
        assert!((mandel_k_lines(&ten).unwrap()[0] - 1.904).abs() < 1e-3);
        assert_eq!(mandel_h_lines(&ten[..2]), None);
        assert_eq!(mandel_k_lines(&[]), None);
    }
}
