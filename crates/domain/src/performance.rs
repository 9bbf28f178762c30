//! What a laboratory's scores say over rounds, and what its pairs and replicates say
//! beside those of the others: numbers for figures, with no class of their own.

use crate::evaluation::precision::LaboratoryStatistics;
use roundel_stats::{outlier, pair, trend, youden};

pub use roundel_stats::trend::Rule;

/// Scores followed in the order of time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Followed {
    /// The moving average (λ = 0.3) after each place; none where there is no score.
    pub averages: Vec<Option<f64>>,
    /// The rules of control charts that hold at each place ("look here", D37).
    pub rules: Vec<Vec<Rule>>,
    /// How far the limits of the average stand from zero.
    pub limit: f64,
}

/// Follows scores that are read as z; a place without one is left out, and those on
/// both sides of it count as successive.
#[must_use]
pub fn follow(scores: &[Option<f64>]) -> Followed {
    let mut followed = Followed {
        averages: vec![None; scores.len()],
        rules: vec![Vec::new(); scores.len()],
        limit: trend::ewma_limit(1.0, trend::LAMBDA, trend::EWMA_LIMIT).unwrap_or_default(),
    };
    let known: Vec<(usize, f64)> = scores
        .iter()
        .enumerate()
        .filter_map(|(place, score)| Some((place, score.filter(|score| score.is_finite())?)))
        .collect();
    let values: Vec<f64> = known.iter().map(|(_, score)| *score).collect();
    for ((place, _), average) in known.iter().zip(trend::ewma(&values, 0.0, trend::LAMBDA).unwrap_or_default()) {
        followed.averages[*place] = Some(average);
    }
    for signal in trend::signals(&values).unwrap_or_default() {
        followed.rules[known[signal.at].0].push(signal.rule);
    }
    followed
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
        let followed = follow(&[Some(2.5), None, Some(2.1)]);

        assert_eq!(followed.averages[1], None);
        // By hand: 0.75, then 0.63 + 0.525.
        assert!((followed.averages[2].unwrap() - 1.155).abs() < 1e-12);
        assert_eq!(followed.rules, [vec![], vec![], vec![Rule::TwoBeyondTwo]]);
        assert!((followed.limit - 1.260_252).abs() < 1e-6);
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
