//! A number as decimal text together with its double.

use super::grammar::{self, Comparator};
use super::{NumberProblem, Refusal};
use std::fmt;

/// A finite number in decimal notation without exponent, with all the digits
/// that were given, and the double next to it.
///
/// Equal when the digits are equal: `1.50` is not `1.5`. Compare [`Decimal::value`]
/// for the size.
#[derive(Clone, Debug)]
pub struct Decimal {
    text: String,
    value: f64,
}

/// Which numbers the caller takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Range {
    /// Any number.
    Any,
    /// Zero or above.
    NonNegative,
    /// Above zero.
    Positive,
    /// Above zero and at most 100, for a percentage.
    Percent,
}

impl Decimal {
    /// Reads a number that an organiser types, by the same grammar as a result
    /// but without `<`.
    ///
    /// # Errors
    ///
    /// As [`super::parse_reported`], with [`Refusal::NotPositive`],
    /// [`Refusal::BelowZero`] or [`Refusal::AboveHundred`] for a number outside
    /// `range`, and [`Refusal::LimitNotExpected`] for `<` or `>`.
    pub fn parse(text: &str, range: Range) -> Result<Decimal, NumberProblem> {
        Decimal::parse_with_choice(text, range, None)
    }

    /// As [`Decimal::parse`], with the reading that was chosen for a text with
    /// two of them; see [`super::parse_with_choice`].
    ///
    /// # Errors
    ///
    /// As [`Decimal::parse`].
    pub fn parse_with_choice(text: &str, range: Range, chosen: Option<&str>) -> Result<Decimal, NumberProblem> {
        read_within(text, range, chosen).map_err(|why| why.of(text))
    }

    /// Reads a number above zero.
    ///
    /// # Errors
    ///
    /// As [`Decimal::parse`].
    pub fn positive(text: &str) -> Result<Decimal, NumberProblem> {
        Decimal::parse(text, Range::Positive)
    }

    /// Reads a number that is zero or above.
    ///
    /// # Errors
    ///
    /// As [`Decimal::parse`].
    pub fn non_negative(text: &str) -> Result<Decimal, NumberProblem> {
        Decimal::parse(text, Range::NonNegative)
    }

    /// Takes back a text that [`Decimal::as_str`] gave, as it stands in a
    /// database: an optional `-`, digits, and an optional point with digits.
    /// Nothing is ambiguous here, because `1.250` is already one reading.
    /// `None` for any other text.
    pub fn from_normalised(text: &str) -> Option<Decimal> {
        let unsigned = text.strip_prefix('-').unwrap_or(text);
        let (integer, fraction) = unsigned.split_once('.').unwrap_or((unsigned, "0"));
        let digits = |part: &str| !part.is_empty() && part.bytes().all(|digit| digit.is_ascii_digit());
        if !digits(integer) || !digits(fraction) || (integer.len() > 1 && integer.starts_with('0')) {
            return None;
        }
        let value: f64 = text.parse().ok()?;
        (value.is_finite() && !(value == 0.0 && text.starts_with('-')))
            .then(|| Decimal { text: text.to_owned(), value })
    }

    /// The text: `1.50`, `-0.0015`, `1500`. Never an exponent.
    pub fn as_str(&self) -> &str {
        &self.text
    }

    /// The nearest double; finite, never −0.
    pub fn value(&self) -> f64 {
        self.value
    }

    /// Digits after the decimal point.
    pub fn decimals(&self) -> usize {
        self.text.split_once('.').map_or(0, |(_, fraction)| fraction.len())
    }

    /// The number times ten to the power of `power`, exactly: all digits stay.
    pub fn shifted(&self, power: i32) -> Decimal {
        let unsigned = self.text.trim_start_matches('-');
        let (integer, fraction) = unsigned.split_once('.').unwrap_or((unsigned, ""));
        let digits = format!("{integer}{fraction}");
        Decimal::from_digits(self.text.starts_with('-'), &digits, integer.len() as i32 + power)
    }

    /// `digits` with the decimal point after the first `point` of them; `point`
    /// may lie before the first or behind the last digit.
    pub(super) fn from_digits(negative: bool, digits: &str, point: i32) -> Decimal {
        let count = digits.len() as i32;
        let zeros = |n: i32| "0".repeat(n.max(0).unsigned_abs() as usize);
        let (integer, fraction) = if point <= 0 {
            ("0".to_owned(), format!("{}{digits}", zeros(-point)))
        } else if point >= count {
            (format!("{digits}{}", zeros(point - count)), String::new())
        } else {
            let (integer, fraction) = digits.split_at(point.unsigned_abs() as usize);
            (integer.to_owned(), fraction.to_owned())
        };
        let integer = integer.trim_start_matches('0');
        let mut text = String::with_capacity(integer.len() + fraction.len() + 3);
        if negative {
            text.push('-');
        }
        text.push_str(if integer.is_empty() { "0" } else { integer });
        if !fraction.is_empty() {
            text.push('.');
            text.push_str(&fraction);
        }
        let value = text.parse().expect("digits with at most one point are a number");
        Decimal { text, value }
    }
}

fn read_within(text: &str, range: Range, chosen: Option<&str>) -> Result<Decimal, Refusal> {
    let written = grammar::read(text)?;
    if written.comparator != Comparator::None {
        return Err(Refusal::LimitNotExpected);
    }
    let not_positive = written.negative || written.is_zero();
    match range {
        Range::Positive | Range::Percent if not_positive => return Err(Refusal::NotPositive),
        Range::NonNegative if written.negative && !written.is_zero() => {
            return Err(Refusal::BelowZero);
        }
        _ => {}
    }
    let decimal = super::choose(&written, chosen)?.decimal;
    if range == Range::Percent && decimal.value > 100.0 { Err(Refusal::AboveHundred) } else { Ok(decimal) }
}

impl PartialEq for Decimal {
    fn eq(&self, other: &Self) -> bool {
        self.text == other.text
    }
}

impl Eq for Decimal {}

impl fmt::Display for Decimal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}
