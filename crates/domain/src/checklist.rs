//! What the plan of a round says in words (F2): one text a heading, none of which
//! may stay empty.

use crate::field::{FieldErrors, Problem};
use crate::text;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The headings of a plan, in the order of ISO/IEC 17043, 7.2.1 (the list of the
/// edition of 2010, 4.4.1.3, which the newer one keeps).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Heading {
    /// Provider and coordinator.
    Provider,
    /// What others do.
    External,
    /// Who may take part.
    Criteria,
    /// How many, and of which kind.
    Expected,
    /// Measurands, and the span of their contents.
    Measurands,
    /// The major sources of error.
    Errors,
    /// How items are made and checked.
    Production,
    /// Against collusion and falsification.
    Collusion,
    /// What participants are told, and when.
    Timetable,
    /// Methods allowed.
    Methods,
    /// Homogeneity and stability.
    Homogeneity,
    /// How results are reported.
    Reporting,
    /// Statistics.
    Statistics,
    /// Traceability and uncertainty of assigned values.
    Traceability,
    /// What counts as acceptable.
    Evaluation,
    /// What participants get back.
    Returned,
    /// How far results become public.
    Publicity,
    /// Items lost or damaged.
    Damage,
}

impl Heading {
    /// All, in the order of the page.
    pub const ALL: [Heading; 18] = [
        Heading::Provider,
        Heading::External,
        Heading::Criteria,
        Heading::Expected,
        Heading::Measurands,
        Heading::Errors,
        Heading::Production,
        Heading::Collusion,
        Heading::Timetable,
        Heading::Methods,
        Heading::Homogeneity,
        Heading::Reporting,
        Heading::Statistics,
        Heading::Traceability,
        Heading::Evaluation,
        Heading::Returned,
        Heading::Publicity,
        Heading::Damage,
    ];

    /// The name of its field, as posted and stored.
    pub fn word(self) -> &'static str {
        match self {
            Heading::Provider => "provider",
            Heading::External => "external",
            Heading::Criteria => "criteria",
            Heading::Expected => "expected",
            Heading::Measurands => "measurands",
            Heading::Errors => "errors",
            Heading::Production => "production",
            Heading::Collusion => "collusion",
            Heading::Timetable => "timetable",
            Heading::Methods => "methods",
            Heading::Homogeneity => "homogeneity",
            Heading::Reporting => "reporting",
            Heading::Statistics => "statistics",
            Heading::Traceability => "traceability",
            Heading::Evaluation => "evaluation",
            Heading::Returned => "returned",
            Heading::Publicity => "publicity",
            Heading::Damage => "damage",
        }
    }
}

/// The texts, by the word of their heading.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Checklist(BTreeMap<String, String>);

impl Checklist {
    /// The text of a heading; empty if there is none yet.
    pub fn text(&self, heading: Heading) -> &str {
        self.0.get(heading.word()).map_or("", String::as_str)
    }

    /// Writes the text of a heading.
    pub fn set(&mut self, heading: Heading, text: &str) {
        self.0.insert(heading.word().to_owned(), text.to_owned());
    }

    /// The headings that have no text yet.
    pub fn open(&self) -> Vec<Heading> {
        Heading::ALL.into_iter().filter(|heading| self.text(*heading).is_empty()).collect()
    }

    /// Reads what was typed under each heading. Empty is no mistake while the plan is
    /// being written.
    ///
    /// # Errors
    ///
    /// Every text that is not as it should be: "not applicable" without a reason,
    /// above all.
    pub fn parse<'a>(typed: impl Fn(&str) -> &'a str) -> Result<Checklist, FieldErrors> {
        let mut errors = FieldErrors::new();
        let mut checklist = Checklist::default();
        for heading in Heading::ALL {
            let text = text::page(&mut errors, heading.word(), typed(heading.word()));
            if lacks_reason(&text) {
                errors.push(heading.word(), Problem::new("checklist-reason-missing"));
            }
            if !text.is_empty() {
                checklist.set(heading, &text);
            }
        }
        errors.into_result(checklist)
    }
}

/// Whether a text says that it does not apply, and not why.
fn lacks_reason(text: &str) -> bool {
    let words: Vec<String> =
        text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).map(str::to_lowercase).collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let rest = match words.as_slice() {
        ["not", "applicable", rest @ ..] | ["n", "a", rest @ ..] | ["na" | "none", rest @ ..] => rest,
        [] => return !text.is_empty(),
        _ => return false,
    };
    rest.iter().map(|word| word.chars().count()).sum::<usize>() < 3
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parse(text: &str) -> Result<Checklist, FieldErrors> {
        Checklist::parse(|field| if field == "external" { text } else { "" })
    }

    #[test]
    fn not_applicable_needs_a_reason() {
        for text in ["not applicable", "Not applicable.", "N/A", "n.a.", "NA", "none", "-", "Not  applicable: -", "…"]
        {
            let errors = parse(text).expect_err(text);
            assert_eq!(errors.get("external").map(|p| p.key), Some("checklist-reason-missing"), "{text:?}");
        }
        for text in ["Not applicable: all work is done in house.", "None, we do it all.", "N/A because no one helps"] {
            assert_eq!(parse(text).unwrap().text(Heading::External), text);
        }
        assert_eq!(parse("").unwrap(), Checklist::default(), "empty is not yet a mistake");
    }

    #[test]
    fn a_plan_is_open_until_every_heading_has_its_text() {
        let mut checklist = Checklist::default();
        assert_eq!(checklist.open(), Heading::ALL);
        for heading in Heading::ALL {
            checklist.set(heading, "Said.");
        }
        assert!(checklist.open().is_empty());
        let text = serde_json::to_string(&checklist).unwrap();
        assert_eq!(serde_json::from_str::<Checklist>(&text).unwrap(), checklist);
    }
}
