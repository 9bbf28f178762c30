//! Short texts that people type: trimmed, bounded, and told apart.

use crate::field::{FieldErrors, Problem};

/// The most characters of a one-line text.
pub const LINE: usize = 120;
/// The most characters of a reason.
pub const REASON: usize = 400;
/// The most characters of a text of several lines.
pub const PAGE: usize = 8_000;

/// A one-line text: trimmed, inner white space folded, without control
/// characters. Empty is reported under `field` when it `must` be there.
pub fn line(errors: &mut FieldErrors, field: &str, text: &str, must: bool) -> String {
    bounded(errors, field, text, must, LINE)
}

/// A sentence or two: as [`line()`], with up to [`REASON`] characters.
pub fn reason(errors: &mut FieldErrors, field: &str, text: &str) -> String {
    bounded(errors, field, text, true, REASON)
}

fn bounded(errors: &mut FieldErrors, field: &str, text: &str, must: bool, most: usize) -> String {
    let folded = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if must && folded.is_empty() {
        errors.push(field, Problem::new("text-missing"));
    } else if folded.chars().count() > most {
        let count = folded.chars().count().to_string();
        errors.push(field, Problem::new("text-too-long").with("count", count).with("limit", most));
    } else if folded.chars().any(is_unseen) {
        errors.push(field, Problem::new("text-control"));
    }
    folded
}

/// A text of several lines, with line ends as `\n`.
pub fn page(errors: &mut FieldErrors, field: &str, text: &str) -> String {
    let text = text.replace("\r\n", "\n").trim().to_owned();
    let count = text.chars().count();
    if count > PAGE {
        errors.push(
            field,
            Problem::new("text-too-long").with("count", count.to_string()).with("limit", PAGE.to_string()),
        );
    } else if text.chars().any(|c| is_unseen(c) && c != '\n' && c != '\t') {
        errors.push(field, Problem::new("text-control"));
    }
    text
}

/// What two names share that differ only in case, white space or the two
/// Greek letters mu (U+00B5, U+03BC).
pub fn key(name: &str) -> String {
    let folded = name.split_whitespace().collect::<Vec<_>>().join(" ");
    folded.replace('\u{b5}', "\u{3bc}").to_lowercase()
}

/// Whether a character cannot be seen, or turns the order of others around.
fn is_unseen(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{ad}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}'
            | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_that_cannot_be_seen_is_refused() {
        for text in ["\u{200b}", "A\u{200b}", "\u{202e}title", "a\u{feff}b", "a\u{7}b"] {
            let mut errors = FieldErrors::new();
            line(&mut errors, "title", text, true);
            assert_eq!(errors.get("title").map(|p| p.key), Some("text-control"), "{text:?}");
        }
        let mut errors = FieldErrors::new();
        assert_eq!(
            line(&mut errors, "title", "  Pesticides in\u{a0}Žaliaupė  water ", true),
            "Pesticides in Žaliaupė water"
        );
        assert!(errors.is_empty());
    }

    #[test]
    fn names_that_differ_only_in_case_or_mu_are_one() {
        assert_eq!(key("\u{b5}g  X"), key("\u{3bc}g x"));
        assert_ne!(key("nitrate"), key("nitrite"));
    }
}
