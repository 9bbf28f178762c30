//! Questions to the organiser: answered to all participants, or to nobody (F11).

use crate::field::{FieldErrors, Problem};
use crate::text;

/// Reads a question or an answer: some lines, not empty.
pub fn parse(errors: &mut FieldErrors, field: &str, typed: &str) -> String {
    let text = text::page(errors, field, typed);
    if text.is_empty() {
        errors.push(field, Problem::new("text-missing"));
    }
    text
}

/// What a concentration is a ratio of, without prefix.
const AMOUNTS: [&str; 5] = ["g", "mol", "eq", "bq", "iu"];
const PREFIXES: [&str; 10] = ["", "k", "m", "µ", "u", "mc", "n", "p", "f", "d"];
const SIZES: [&str; 8] = ["l", "litre", "liter", "g", "kg", "m3", "m³", "cm3"];
/// Units of a concentration that are one word.
const WORDS: [&str; 4] = ["ppm", "ppb", "ppt", "ppq"];
/// Those that only the case tells from a length.
const MOLAR: [&str; 5] = ["mM", "µM", "uM", "nM", "pM"];

/// The first number in a text that has the unit of a concentration behind it, with
/// that unit: `25 ng/L`. An answer with one may tell more than it is meant to.
/// `units` are those of the round, which count whatever they are.
pub fn concentration(text: &str, units: &[&str]) -> Option<String> {
    let folded = fold(text);
    let units: Vec<String> =
        units.iter().map(|unit| fold(unit).to_ascii_lowercase()).filter(|unit| !unit.is_empty()).collect();
    let letters: Vec<char> = folded.chars().collect();
    for (end, letter) in letters.iter().enumerate() {
        let more = letters.get(end + 1).is_some_and(char::is_ascii_digit);
        if !letter.is_numeric() || more {
            continue;
        }
        let rest: String = letters[end + 1..].iter().collect();
        let unit = rest.trim_start_matches([' ', '(', '[']);
        if let Some(length) = unit_length(unit, &units) {
            let number = letters[..=end].iter().rev().take_while(|c| c.is_ascii_digit() || ".,".contains(**c)).count();
            let number: String = letters[end + 1 - number..=end].iter().collect();
            return Some(format!("{number} {}", unit[..length].trim_end()));
        }
    }
    None
}

/// One kind of space, of mu, of minus and of small figures.
fn fold(text: &str) -> String {
    let mut folded = String::new();
    for letter in text.chars() {
        match letter {
            '\u{3bc}' => folded.push('µ'),
            '\u{2212}' | '\u{207b}' | '\u{2010}'..='\u{2013}' => folded.push('-'),
            '\u{b9}' => folded.push('1'),
            '·' | '*' | '×' | '\u{22c5}' | '^' => folded.push(' '),
            c if c.is_whitespace() => folded.push(' '),
            c => folded.push(c),
        }
    }
    folded.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The bytes of the unit that stands first in `text`.
fn unit_length(written: &str, units: &[String]) -> Option<usize> {
    let molar = word(written);
    if MOLAR.contains(&molar) {
        return Some(molar.len());
    }
    // Of the same length, whatever the letters.
    let text = written.to_ascii_lowercase();
    let text = text.as_str();
    let ends = |length: usize| !text[length..].chars().next().is_some_and(char::is_alphanumeric);
    let of_round =
        units.iter().filter(|unit| text.starts_with(unit.as_str()) && ends(unit.len())).map(String::len).max();
    if of_round.is_some() {
        return of_round;
    }
    let first = word(text);
    if WORDS.contains(&first) {
        return Some(first.len());
    }
    if !is_amount(first) {
        return None;
    }
    let rest = &text[first.len()..];
    let divided = rest.trim_start().strip_prefix('/').or_else(|| rest.trim_start().strip_prefix("per "));
    if let Some(below) = divided {
        // Of a hundred grams, as of one.
        let below = below.trim_start().trim_start_matches(|c: char| c.is_ascii_digit()).trim_start();
        let size = word(below);
        return is_size(size).then(|| text.len() - below.len() + size.len());
    }
    // As a power: ng L-1.
    let below = rest.strip_prefix(' ')?;
    let size = word(below);
    let power = below[size.len()..].trim_start().strip_prefix('-')?.strip_prefix(['1', '3'])?;
    is_size(size).then(|| text.len() - power.len())
}

/// The letters at the head of a text, and a figure for a cube.
fn word(text: &str) -> &str {
    let end = text.find(|c: char| !c.is_alphabetic()).unwrap_or(text.len());
    let cube = text[end..].chars().next().filter(|c| matches!(c, '3' | '³')).map_or(0, char::len_utf8);
    &text[..end + cube]
}

fn is_amount(word: &str) -> bool {
    PREFIXES.iter().any(|prefix| word.strip_prefix(prefix).is_some_and(|rest| AMOUNTS.contains(&rest)))
}

fn is_size(word: &str) -> bool {
    PREFIXES.iter().any(|prefix| word.strip_prefix(prefix).is_some_and(|rest| SIZES.contains(&rest)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_with_the_unit_of_a_concentration_is_seen() {
        // Ways of writing concentrations: SI brochure (9th edition, 2019), 5.4.1 to 5.4.3, and custom.
        for (text, seen) in [
            ("The level is about 25 ng/L.", "25 ng/L"),
            ("between 10 and 20 µg/L", "20 µg/L"),
            ("0,5 μg/l", "0,5 µg/l"),
            ("5ug/L", "5 ug/L"),
            ("12 ng L⁻¹", "12 ng L-1"),
            ("12 ng·L\u{2212}1", "12 ng L-1"),
            ("3 mg kg-1", "3 mg kg-1"),
            ("1.2 mmol/L", "1.2 mmol/L"),
            ("7 g / 100 g", "7 g / 100 g"),
            ("40 mg per litre", "40 mg per litre"),
            ("20 (ng/L)", "20 ng/L"),
            ("2\u{202f}ppb", "2 ppb"),
            ("10 Bq/m³", "10 Bq/m³"),
            ("about 15 nM", "15 nM"),
        ] {
            assert_eq!(concentration(text, &[]).as_deref(), Some(seen), "{text}");
        }
        assert_eq!(concentration("pH 7.1 and 25 FNU", &["FNU"]).as_deref(), Some("25 FNU"));
        assert_eq!(concentration("12 %", &["%"]).as_deref(), Some("12 %"));
    }

    #[test]
    fn what_is_no_concentration_is_not() {
        for text in [
            "Open the 25 mL bottle at 4 °C.",
            "Report in ng/L with three digits.",
            "Item 2 may be diluted 1 to 10.",
            "Wait 30 min/sample.",
            "Results of round QW-1 by 12 April, 17:00 UTC",
            "ISO 13528, 6.3",
            "Use 0.45 µm filters? No: use 2 mL/min.",
            "12 gallons",
            "",
            "7",
        ] {
            assert_eq!(concentration(text, &["ng/L"]), None, "{text}");
        }
    }

    proptest::proptest! {
        #[test]
        fn any_text_is_read_without_a_fault(text in "[0-9 a-zA-Z/µμ·⁻¹³.,()\\-\\PC]{0,40}") {
            let seen = concentration(&text, &["ng/L", "µ"]);
            // Without a figure there is no number.
            assert!(seen.is_none() || text.chars().any(char::is_numeric), "{text:?}");
        }
    }

    #[test]
    fn a_question_has_lines_and_is_not_empty() {
        let mut errors = FieldErrors::new();
        assert_eq!(parse(&mut errors, "question", " Which item?\r\nA or B? "), "Which item?\nA or B?");
        assert!(errors.is_empty());
        for (typed, key) in
            [(" \n", "text-missing"), ("a\u{7}b", "text-control"), (&*"x".repeat(8_001), "text-too-long")]
        {
            let mut errors = FieldErrors::new();
            parse(&mut errors, "question", typed);
            assert_eq!(errors.get("question").map(|problem| problem.key), Some(key));
            assert_eq!(errors.len(), 1);
        }
    }
}
