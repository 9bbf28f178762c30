//! Why a text is not surely one number.

use super::{MAX_EXPONENT, MAX_LENGTH};
use crate::field::{Problem, shortened};
use std::fmt;

/// A text that was not taken as a number, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NumberProblem {
    /// The text as it was seen, cut to a length that can be shown.
    pub seen: String,
    /// Why it was not taken.
    pub why: Refusal,
}

/// Why a text is not taken as a number.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// Nothing, or only spaces.
    Empty,
    /// More than [`MAX_LENGTH`] characters.
    TooLong,
    /// A point or comma that may be the decimal sign or mark thousands.
    Ambiguous {
        /// The reading with a decimal sign, written out: `1.250`, `<1.250`.
        first: String,
        /// The reading with a mark of thousands, written out: `1250`.
        second: String,
    },
    /// `0`, `0.0`: not a result.
    Zero,
    /// A negative result where the measurand does not allow one.
    Negative,
    /// `<` without a number, `<LOQ`.
    LimitWithoutNumber,
    /// `<` with zero or a negative number.
    LimitNotPositive,
    /// `>`: no rule for it exists yet.
    Greater,
    /// `≤`, `~`, `<<`, `>=`.
    OtherComparison,
    /// A word for a missing result: `n.d.`, `bdl`, `LOQ`.
    Word,
    /// Only a dash.
    Dash,
    /// `NaN`, `Inf`, an error value of a spreadsheet.
    NotANumber,
    /// A spreadsheet formula.
    Formula,
    /// Letters in or after the number, such as a unit.
    Letters,
    /// A percent or per mille sign.
    Percent,
    /// A value with its uncertainty in one field.
    PlusMinus,
    /// Digits that are not 0–9: full-width, of another script, `½`, `²`.
    ForeignDigits,
    /// Two points or commas.
    TwoSeparators,
    /// Grouping marks not in full groups of three, or of two kinds.
    Grouping,
    /// No digit before or after the decimal sign.
    DigitMissing,
    /// A sign that does not stand in front.
    SignInside,
    /// No whole number after `e`.
    Exponent,
    /// An exponent beyond ±[`MAX_EXPONENT`].
    ExponentRange,
    /// Any other character: itself, or its code where it is invisible.
    Character(String),
    /// `<` or `>` where an organiser's number is expected.
    LimitNotExpected,
    /// Zero or negative where the number must be above zero.
    NotPositive,
    /// Negative where zero or more is expected.
    BelowZero,
    /// A percentage above 100.
    AboveHundred,
}

impl Refusal {
    /// This refusal of `text`.
    pub(super) fn of(self, text: &str) -> NumberProblem {
        NumberProblem { seen: shortened(text.trim()), why: self }
    }

    fn key(&self) -> &'static str {
        match self {
            Refusal::Empty => "problem-number-empty",
            Refusal::TooLong => "problem-number-long",
            Refusal::Ambiguous { .. } => "problem-number-ambiguous",
            Refusal::Zero => "problem-number-zero",
            Refusal::Negative => "problem-number-negative",
            Refusal::LimitWithoutNumber => "problem-number-limit-without-number",
            Refusal::LimitNotPositive => "problem-number-limit-not-positive",
            Refusal::Greater => "problem-number-greater",
            Refusal::OtherComparison => "problem-number-comparison",
            Refusal::Word => "problem-number-word",
            Refusal::Dash => "problem-number-dash",
            Refusal::NotANumber => "problem-number-not-a-number",
            Refusal::Formula => "problem-number-formula",
            Refusal::Letters => "problem-number-letters",
            Refusal::Percent => "problem-number-percent",
            Refusal::PlusMinus => "problem-number-plus-minus",
            Refusal::ForeignDigits => "problem-number-digits",
            Refusal::TwoSeparators => "problem-number-two-separators",
            Refusal::Grouping => "problem-number-grouping",
            Refusal::DigitMissing => "problem-number-digit-missing",
            Refusal::SignInside => "problem-number-sign",
            Refusal::Exponent => "problem-number-exponent",
            Refusal::ExponentRange => "problem-number-exponent-range",
            Refusal::Character(_) => "problem-number-character",
            Refusal::LimitNotExpected => "problem-number-limit-not-expected",
            Refusal::NotPositive => "problem-number-not-positive",
            Refusal::BelowZero => "problem-number-below-zero",
            Refusal::AboveHundred => "problem-number-above-hundred",
        }
    }
}

impl NumberProblem {
    /// The two readings of an ambiguous text, decimal sign first.
    pub fn readings(&self) -> Option<(&str, &str)> {
        match &self.why {
            Refusal::Ambiguous { first, second } => Some((first, second)),
            _ => None,
        }
    }

    /// The problem as a key of the catalogue with its values.
    pub fn problem(&self) -> Problem {
        let problem = Problem::new(self.why.key());
        let shown = || problem.clone().with("seen", &self.seen);
        match &self.why {
            Refusal::Empty => problem,
            Refusal::TooLong => shown().with("limit", MAX_LENGTH),
            Refusal::ExponentRange => shown().with("limit", MAX_EXPONENT),
            Refusal::Ambiguous { first, second } => shown().with("first", first).with("second", second),
            Refusal::Character(character) => shown().with("character", character),
            _ => shown(),
        }
    }
}

impl From<NumberProblem> for Problem {
    fn from(number: NumberProblem) -> Problem {
        number.problem()
    }
}

/// For logs and test failures only; a person reads the catalogue's sentence.
impl fmt::Display for NumberProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.problem().fmt(f)
    }
}

impl std::error::Error for NumberProblem {}
