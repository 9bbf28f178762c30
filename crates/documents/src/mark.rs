//! What figures and certificates have in common: the class of a result, the kind
//! of a score, and the limits that a score is read against.

use crate::words::Words;

/// The class of a result, as it is drawn and printed.
///
/// In a figure: within the limits a round dot without colour, warning an open
/// diamond, action a filled square; shape comes before colour, so that the figure
/// reads the same in grey.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Mark {
    /// Within the limits; printed "acceptable".
    Within,
    /// Beyond the warning limit; printed "questionable".
    Warning,
    /// At or beyond the action limit, or a false negative; printed "unacceptable".
    Action,
    /// A score without a class; printed "information only".
    InformationOnly,
    /// No score; printed "not scored".
    NotScored,
}

impl Mark {
    /// The key of the printed word in the catalogue of texts.
    pub fn key(self) -> &'static str {
        match self {
            Mark::Within => "signal-acceptable",
            Mark::Warning => "signal-questionable",
            Mark::Action => "signal-unacceptable",
            Mark::InformationOnly => "signal-information-only",
            Mark::NotScored => "signal-not-scored",
        }
    }

    /// The printed word.
    pub fn word(self, words: &Words) -> String {
        words.t(self.key())
    }

    /// The printed word of a result that its laboratory may have withdrawn: one that is
    /// then not scored has a word of its own.
    pub fn word_of(self, withdrawn: bool, words: &Words) -> String {
        if withdrawn && self == Mark::NotScored { words.t("signal-withdrawn") } else { self.word(words) }
    }

    /// Whether the result needs attention: warning or action.
    pub fn is_signal(self) -> bool {
        matches!(self, Mark::Warning | Mark::Action)
    }
}

/// The kind of a score (ISO 13528:2022, 9.4 to 9.7).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum ScoreKind {
    /// z: difference over the standard deviation for proficiency assessment.
    Z,
    /// z′: the same, widened by the uncertainty of the assigned value.
    ZPrime,
    /// ζ: difference over the combined standard uncertainties.
    Zeta,
    /// E_n: difference over the combined expanded uncertainties.
    En,
}

impl ScoreKind {
    /// The symbol as plain text: `z`, `z′`, `ζ`, `Eₙ`.
    pub fn symbol(self) -> &'static str {
        match self {
            ScoreKind::Z => "z",
            ScoreKind::ZPrime => "z′",
            ScoreKind::Zeta => "ζ",
            ScoreKind::En => "Eₙ",
        }
    }

    /// The key of the one-line meaning in the catalogue of texts.
    pub(crate) fn meaning_key(self) -> &'static str {
        match self {
            ScoreKind::Z => "score-z-meaning",
            ScoreKind::ZPrime => "score-z-prime-meaning",
            ScoreKind::Zeta => "score-zeta-meaning",
            ScoreKind::En => "score-en-meaning",
        }
    }
}

/// A score, or all that is known of it. Dimensionless.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Score {
    /// The score of a reported value.
    Value(f64),
    /// The result was "<": the score lies below this bound.
    Below(f64),
    /// There is none.
    Absent,
}

impl Score {
    /// The number to draw at, where there is a finite one.
    pub fn number(self) -> Option<f64> {
        match self {
            Score::Value(number) | Score::Below(number) if number.is_finite() => Some(number),
            _ => None,
        }
    }
}

/// The limits of a score, and where a figure cuts it off. Symmetric about zero.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Beyond this: warning. `None` where there is one limit only (E_n).
    pub warning: Option<f64>,
    /// From this on: action.
    pub action: f64,
    /// Figures draw a larger score here and write its number.
    pub cap: f64,
}

impl Limits {
    /// 2, 3, and the cut at 5 (ISO 13528:2022, 9.4 and 10.4).
    pub const STANDARD: Limits = Limits { warning: Some(2.0), action: 3.0, cap: 5.0 };
    /// 1, and the cut at 2 (ISO 13528:2022, 9.7).
    pub const E_N: Limits = Limits { warning: None, action: 1.0, cap: 2.0 };

    /// Limits of a plan's own, cut at five thirds of the action limit.
    pub fn new(warning: f64, action: f64) -> Limits {
        Limits { warning: Some(warning), action, cap: action * 5.0 / 3.0 }
    }

    /// The limits in rising order, without signs.
    pub fn values(&self) -> Vec<f64> {
        self.warning.into_iter().chain([self.action]).collect()
    }
}

impl Default for Limits {
    fn default() -> Limits {
        Limits::STANDARD
    }
}
