//! The strict grammar of numbers that people type: nothing is guessed, and what
//! is not surely one number is refused with the reason.
//!
//! Accepted are an optional `<`, an optional sign (`+`, `-` or `−`), digits, at
//! most one decimal sign (point or comma, with a digit on either side) and an
//! optional exponent. Digits before the decimal sign may be grouped by a space
//! (also no-break, narrow and thin) or an apostrophe, only in full groups of
//! three, all with the same mark. `1.250` and `12,500` have two readings: they
//! are refused until one of the two is chosen; the leading zero of `0,125`
//! decides. A zero or a negative number is not a result unless the measurand
//! allows it: below the limit of quantification the result is `<` and the limit.
//!
//! `>` is read but refused: no rule for a result above a range exists yet.

mod decimal;
mod grammar;
mod problem;
#[cfg(test)]
mod property;
#[cfg(test)]
mod tests;

pub use decimal::{Decimal, Range};
pub use problem::{NumberProblem, Refusal};

use grammar::{Comparator, Written};

/// The longest text that is read as a number, in characters.
pub const MAX_LENGTH: usize = 60;

/// The largest exponent of ten, of either sign.
pub const MAX_EXPONENT: i32 = 30;

/// A number as reported: its decimal text, and how finely it was given.
#[derive(Clone, Debug, PartialEq)]
pub struct Reported {
    /// The number. Digits are kept: `1,50` is `1.50`, and `1.5e-3` is `0.0015`.
    pub decimal: Decimal,
    /// Digits from the first that is not zero to the last typed one; trailing
    /// zeros count (`1500` has 4, `1.5e3` has 2). At least 1.
    pub significant_digits: usize,
    /// Power of ten of the last typed digit: −2 for `1.50`, 2 for `1.5e3`.
    pub last_digit: i32,
}

impl Reported {
    /// One unit of the last typed digit: 0.01 for `1.50`.
    pub fn last_digit_unit(&self) -> f64 {
        10f64.powi(self.last_digit)
    }
}

/// What was reported: a value, or that the content is below a limit.
#[derive(Clone, Debug, PartialEq)]
pub enum Reading {
    /// A quantified result.
    Value(Reported),
    /// `<` and a limit, which is above zero.
    Below(Reported),
}

impl Reading {
    /// The number that was typed, value or limit.
    pub fn reported(&self) -> &Reported {
        match self {
            Reading::Value(reported) | Reading::Below(reported) => reported,
        }
    }

    /// The number as a double, value or limit; finite.
    pub fn value(&self) -> f64 {
        self.reported().decimal.value()
    }

    /// Whether it is `<` and a limit.
    pub fn is_below(&self) -> bool {
        matches!(self, Reading::Below(_))
    }

    /// The reading in one unmistakable form: `1.50`, `<25`.
    pub fn normalised(&self) -> String {
        match self {
            Reading::Value(reported) => reported.decimal.to_string(),
            Reading::Below(reported) => format!("<{}", reported.decimal),
        }
    }
}

/// Reads a result as typed. `allow_negative` is for measurands whose scale has
/// zero and negative numbers; a limit after `<` is above zero all the same.
///
/// # Errors
///
/// The first reason why `text` is not surely one result. [`Refusal::Ambiguous`]
/// carries the two readings, for [`parse_with_choice`].
pub fn parse_reported(text: &str, allow_negative: bool) -> Result<Reading, NumberProblem> {
    parse_with_choice(text, allow_negative, None)
}

/// Reads a result as typed, with the reading that was chosen when it was asked
/// before. The choice counts only if it is one of the two readings that `text`
/// has now, letter by letter: a choice made for an earlier text is without
/// effect, and a text with one reading needs none.
///
/// # Errors
///
/// As [`parse_reported`].
pub fn parse_with_choice(text: &str, allow_negative: bool, chosen: Option<&str>) -> Result<Reading, NumberProblem> {
    read_result(text, allow_negative, chosen).map_err(|why| why.of(text))
}

fn read_result(text: &str, allow_negative: bool, chosen: Option<&str>) -> Result<Reading, Refusal> {
    let written = grammar::read(text)?;
    match written.comparator {
        Comparator::Greater => Err(Refusal::Greater),
        Comparator::Less if written.negative || written.is_zero() => Err(Refusal::LimitNotPositive),
        Comparator::Less => Ok(Reading::Below(choose(&written, chosen)?)),
        Comparator::None if written.is_zero() && !allow_negative => Err(Refusal::Zero),
        Comparator::None if written.negative && !allow_negative => Err(Refusal::Negative),
        Comparator::None => Ok(Reading::Value(choose(&written, chosen)?)),
    }
}

/// The one reading of what was written, or the chosen one of two.
fn choose(written: &Written, chosen: Option<&str>) -> Result<Reported, Refusal> {
    let decimal = written.as_decimal();
    if !written.is_ambiguous() {
        return Ok(decimal);
    }
    let grouped = written.as_grouped();
    let mark = if written.comparator == Comparator::Less { "<" } else { "" };
    let first = format!("{mark}{}", decimal.decimal);
    let second = format!("{mark}{}", grouped.decimal);
    match chosen {
        Some(choice) if choice == first => Ok(decimal),
        Some(choice) if choice == second => Ok(grouped),
        _ => Err(Refusal::Ambiguous { first, second }),
    }
}
