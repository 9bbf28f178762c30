//! What a consensus of so many laboratories can be expected to give (F6): its
//! uncertainty against sigma_pt, and so which score (D4, D5, D8).

use crate::plan::FEWEST_FOR_CONSENSUS;

/// s* / sigma_pt where nothing is known of an earlier round.
pub const ASSUMED_RATIO: f64 = 0.8;
/// The most of u(x_pt) / sigma_pt for z (D4).
pub const NEGLIGIBLE: f64 = 0.3;
/// The most of u(x_pt) / sigma_pt for a class at all (D4).
pub const TOO_LARGE: f64 = 0.5;

/// What can be expected of the scores.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outlook {
    /// z.
    Z,
    /// z', marked as qualified.
    Qualified,
    /// Scores without a class.
    InformationOnly,
    /// Too few for a consensus, and nothing to fall back on.
    NoConsensus,
    /// Too few for a consensus; the fallback of the plan is used.
    Fallback,
}

impl Outlook {
    /// Its word in keys of texts.
    pub fn word(self) -> &'static str {
        match self {
            Outlook::Z => "z",
            Outlook::Qualified => "qualified",
            Outlook::InformationOnly => "information",
            Outlook::NoConsensus => "none",
            Outlook::Fallback => "fallback",
        }
    }
}

/// u(x_pt) / sigma_pt of a consensus of `p` results whose robust standard deviation
/// is `ratio` sigma_pt: 1.25 * ratio / sqrt(p) (ISO 13528:2022, 7.7). None for no
/// result at all.
pub fn uncertainty_ratio(p: usize, ratio: f64) -> Option<f64> {
    (p > 0).then(|| 1.25 * ratio / (p as f64).sqrt())
}

/// What follows from u(x_pt) / sigma_pt by D4.
pub fn by_ratio(q: f64) -> Outlook {
    match q {
        q if q <= NEGLIGIBLE => Outlook::Z,
        q if q <= TOO_LARGE => Outlook::Qualified,
        _ => Outlook::InformationOnly,
    }
}

/// What can be expected of a consensus by D8 and D4.
pub fn of_consensus(p: usize, ratio: f64, has_fallback: bool) -> Outlook {
    match uncertainty_ratio(p, ratio) {
        Some(q) if p >= FEWEST_FOR_CONSENSUS => by_ratio(q),
        _ if has_fallback => Outlook::Fallback,
        _ => Outlook::NoConsensus,
    }
}

/// The fewest results with which u(x_pt) is negligible: p >= (1.25 ratio / 0.3)².
pub fn needed(ratio: f64) -> usize {
    let exact = (1.25 * ratio / NEGLIGIBLE).powi(2);
    // 25 must not become 26 by the last digit of a binary number.
    (exact - 1e-9).ceil().max(1.0) as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The numbers of the rules, 3.2.
    #[test]
    fn as_many_are_needed_as_the_rules_say() {
        for (ratio, p) in [(0.6, 7), (0.8, 12), (1.0, 18), (1.2, 25), (1.5, 40)] {
            assert_eq!(needed(ratio), p, "{ratio}");
        }
    }

    #[test]
    fn the_outlook_follows_the_number_and_the_ratio() {
        // 1.25 * 0.8 / sqrt(12) = 0.2887; sqrt(11): 0.3015; sqrt(4): 0.5.
        assert_eq!(of_consensus(12, 0.8, false), Outlook::Z);
        assert_eq!(of_consensus(11, 0.8, false), Outlook::Qualified);
        assert_eq!(of_consensus(7, 0.6, false), Outlook::NoConsensus, "whatever q is (D8)");
        assert_eq!(of_consensus(7, 0.6, true), Outlook::Fallback);
        assert_eq!(of_consensus(0, 0.8, false), Outlook::NoConsensus);
        // 1.25 * 1.2 / sqrt(8) = 0.5303.
        assert_eq!(of_consensus(8, 1.2, true), Outlook::InformationOnly);
        assert_eq!(
            [0.3, 0.31, 0.5, 0.51].map(by_ratio).map(Outlook::word),
            ["z", "qualified", "qualified", "information"]
        );
        assert_eq!(uncertainty_ratio(0, 0.8), None);
    }
}
