//! From text to the parts of one number, or the reason why it is not one.

use super::decimal::Decimal;
use super::{MAX_EXPONENT, MAX_LENGTH, Refusal, Reported};

/// Marks between groups of three: space, no-break space, figure space, thin
/// space, narrow no-break space, apostrophe, typographic apostrophe.
const GROUPING: [char; 7] = [' ', '\u{A0}', '\u{2007}', '\u{2009}', '\u{202F}', '\'', '\u{2019}'];
const MINUS: [char; 2] = ['-', '\u{2212}'];
const SEPARATORS: [char; 2] = ['.', ','];

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Comparator {
    None,
    Less,
    Greater,
}

/// A number as it was written, taken apart. Only ASCII digits in the parts.
#[derive(Debug)]
pub(super) struct Written {
    pub(super) comparator: Comparator,
    pub(super) negative: bool,
    /// Digits before the decimal sign, grouping marks taken out; at least one.
    integer: String,
    /// Digits after it; empty where there is no decimal sign.
    fraction: String,
    exponent: i32,
    /// Groups were marked, so a point or comma cannot be a grouping mark too.
    grouped: bool,
}

impl Written {
    pub(super) fn is_zero(&self) -> bool {
        self.integer.bytes().chain(self.fraction.bytes()).all(|digit| digit == b'0')
    }

    /// Whether the point or comma may have been meant to mark thousands: three
    /// digits after it, one to three before it, and no zero in front. An
    /// exponent does not decide, nor does a sign.
    pub(super) fn is_ambiguous(&self) -> bool {
        !self.grouped
            && self.fraction.len() == 3
            && (1..=3).contains(&self.integer.len())
            && !self.integer.starts_with('0')
    }

    /// The number with the point or comma as decimal sign.
    pub(super) fn as_decimal(&self) -> Reported {
        reported(self.negative, &self.integer, &self.fraction, self.exponent)
    }

    /// The number with the point or comma as mark of thousands.
    pub(super) fn as_grouped(&self) -> Reported {
        reported(self.negative, &format!("{}{}", self.integer, self.fraction), "", self.exponent)
    }
}

pub(super) fn read(text: &str) -> Result<Written, Refusal> {
    let source = text.trim();
    if source.is_empty() {
        return Err(Refusal::Empty);
    }
    if source.chars().nth(MAX_LENGTH).is_some() {
        return Err(Refusal::TooLong);
    }
    if let Some(problem) = known_word(source) {
        return Err(problem);
    }
    let (comparator, rest) = comparator(source)?;
    let (negative, body) = sign(rest);
    if let Some(character) = body.chars().find(|&c| !is_of_a_number(c)) {
        return Err(foreign(character));
    }
    if body.is_empty() {
        return Err(if comparator == Comparator::Less {
            Refusal::LimitWithoutNumber
        } else {
            Refusal::Character("+".to_owned())
        });
    }
    let (mantissa, exponent) = match body.split_once(['e', 'E']) {
        Some((mantissa, exponent)) => (mantissa, Some(exponent)),
        None => (body, None),
    };
    let (integer, fraction) = split_at_separator(mantissa)?;
    let exponent = exponent.map_or(Ok(0), read_exponent)?;
    let grouped = integer.contains(GROUPING);
    let integer = if grouped { ungroup(integer)? } else { integer.to_owned() };
    Ok(Written { comparator, negative, integer, fraction: fraction.to_owned(), exponent, grouped })
}

/// Texts that are no number but that people write in the place of one.
fn known_word(source: &str) -> Option<Refusal> {
    if matches!(source, "<" | "＜" | "≤" | "<=") {
        return Some(Refusal::LimitWithoutNumber);
    }
    if source.chars().all(|c| MINUS.contains(&c) || matches!(c, '\u{2013}' | '\u{2014}')) {
        return Some(Refusal::Dash);
    }
    if source.starts_with('=') {
        return Some(Refusal::Formula);
    }
    if source.starts_with('#') {
        return Some(Refusal::NotANumber);
    }
    if !source.contains(|c: char| c.is_ascii_alphabetic() || c == '∞') {
        return None;
    }
    let letters: String =
        source.chars().filter(|c| c.is_alphanumeric() || *c == '∞').collect::<String>().to_lowercase();
    match letters.as_str() {
        "loq" | "lod" | "bg" | "ng" | "lq" | "ld" | "rl" if source.starts_with('<') => {
            Some(Refusal::LimitWithoutNumber)
        }
        "nan" | "inf" | "infinity" | "∞" | "1qnan" | "1ind" | "1inf" => Some(Refusal::NotANumber),
        "nd" | "nn" | "nb" | "na" | "bdl" | "bql" | "loq" | "lod" | "blod" | "bloq" | "notdetected" | "none"
        | "trace" | "traces" | "absent" | "notdetectable" | "belowloq" | "belowlod" => Some(Refusal::Word),
        _ => None,
    }
}

fn comparator(source: &str) -> Result<(Comparator, &str), Refusal> {
    if source.starts_with(['≤', '≥', '＜', '＞', '~', '≈']) || source.starts_with("<=") || source.starts_with(">=")
    {
        return Err(Refusal::OtherComparison);
    }
    let (comparator, rest) = match source.strip_prefix('<') {
        Some(rest) => (Comparator::Less, rest),
        None => match source.strip_prefix('>') {
            Some(rest) => (Comparator::Greater, rest),
            None => (Comparator::None, source),
        },
    };
    let rest = rest.trim_start();
    if rest.starts_with(['<', '>']) {
        return Err(Refusal::OtherComparison);
    }
    if rest.is_empty() {
        return Err(Refusal::Greater);
    }
    Ok((comparator, rest))
}

fn sign(rest: &str) -> (bool, &str) {
    match rest.strip_prefix(MINUS) {
        Some(body) => (true, body),
        None => (false, rest.strip_prefix('+').unwrap_or(rest)),
    }
}

fn is_of_a_number(c: char) -> bool {
    c.is_ascii_digit()
        || SEPARATORS.contains(&c)
        || GROUPING.contains(&c)
        || MINUS.contains(&c)
        || matches!(c, 'e' | 'E' | '+')
}

/// Why a character does not belong into a number.
fn foreign(character: char) -> Refusal {
    match character {
        '%' | '‰' => Refusal::Percent,
        '±' => Refusal::PlusMinus,
        c if c.is_alphabetic() => Refusal::Letters,
        // Digits of other scripts, full-width digits, fractions, superscripts.
        c if c.is_numeric() => Refusal::ForeignDigits,
        c => Refusal::Character(named(c)),
    }
}

/// A character as a person can recognise it, also where it is invisible.
fn named(character: char) -> String {
    if character.is_whitespace()
        || character.is_control()
        || matches!(character, '\u{200B}'..='\u{200F}' | '\u{FEFF}' | '\u{2060}')
    {
        format!("U+{:04X}", u32::from(character))
    } else {
        character.to_string()
    }
}

fn read_exponent(exponent: &str) -> Result<i32, Refusal> {
    let (negative, digits) = sign(exponent);
    if digits.is_empty() || !digits.bytes().all(|digit| digit.is_ascii_digit()) {
        return Err(Refusal::Exponent);
    }
    match digits.parse::<i32>() {
        Ok(size) if size <= MAX_EXPONENT => Ok(if negative { -size } else { size }),
        _ => Err(Refusal::ExponentRange),
    }
}

/// Digits (perhaps grouped) before the decimal sign, and digits after it.
fn split_at_separator(mantissa: &str) -> Result<(&str, &str), Refusal> {
    if mantissa.is_empty() {
        return Err(Refusal::Letters);
    }
    if mantissa.contains('+') || mantissa.contains(MINUS) {
        return Err(Refusal::SignInside);
    }
    let Some(at) = mantissa.find(SEPARATORS) else {
        return Ok((mantissa, ""));
    };
    let (integer, fraction) = (&mantissa[..at], &mantissa[at + 1..]);
    if fraction.contains(SEPARATORS) {
        return Err(Refusal::TwoSeparators);
    }
    if fraction.contains(GROUPING) {
        return Err(Refusal::Grouping);
    }
    if integer.is_empty() || fraction.is_empty() {
        return Err(Refusal::DigitMissing);
    }
    Ok((integer, fraction))
}

/// Takes the grouping marks out: one kind of mark, a first group of one to three
/// digits that does not begin with zero, all others of exactly three.
fn ungroup(integer: &str) -> Result<String, Refusal> {
    let mark = integer.chars().find(|c| GROUPING.contains(c)).ok_or(Refusal::Grouping)?;
    let mut groups = integer.split(mark);
    let first = groups.next().unwrap_or_default();
    if !(1..=3).contains(&first.len()) || first.starts_with('0') {
        return Err(Refusal::Grouping);
    }
    let mut digits = first.to_owned();
    for group in groups {
        if group.len() != 3 {
            return Err(Refusal::Grouping);
        }
        digits.push_str(group);
    }
    // A second kind of mark would still stand inside a group.
    if digits.bytes().all(|digit| digit.is_ascii_digit()) { Ok(digits) } else { Err(Refusal::Grouping) }
}

fn reported(negative: bool, integer: &str, fraction: &str, exponent: i32) -> Reported {
    let digits = format!("{integer}{fraction}");
    let significant = digits.trim_start_matches('0').len();
    // Both lengths are at most MAX_LENGTH.
    let point = integer.len() as i32 + exponent;
    let zero = significant == 0;
    Reported {
        decimal: Decimal::from_digits(negative && !zero, &digits, point),
        significant_digits: if zero { fraction.len().max(1) } else { significant },
        last_digit: exponent - fraction.len() as i32,
    }
}
