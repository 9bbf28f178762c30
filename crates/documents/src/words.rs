//! The catalogue of texts: every sentence that a person reads, by key.
//!
//! The texts stand in `messages/<language>/*.ftl` (Fluent). A key that does not
//! exist is shown as itself in angle quotes, and a test finds it first.

use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentResource, FluentValue};
use std::sync::OnceLock;

const ENGLISH: &[(&str, &str)] = &[
    ("documents.ftl", include_str!("../messages/en/documents.ftl")),
    ("drafts.ftl", include_str!("../messages/en/drafts.ftl")),
    ("figures.ftl", include_str!("../messages/en/figures.ftl")),
    ("files.ftl", include_str!("../messages/en/files.ftl")),
    ("imports.ftl", include_str!("../messages/en/imports.ftl")),
    ("interface.ftl", include_str!("../messages/en/interface.ftl")),
    ("mail.ftl", include_str!("../messages/en/mail.ftl")),
    ("pages.ftl", include_str!("../messages/en/pages.ftl")),
    ("performance.ftl", include_str!("../messages/en/performance.ftl")),
    ("people.ftl", include_str!("../messages/en/people.ftl")),
    ("problems.ftl", include_str!("../messages/en/problems.ftl")),
    ("questions.ftl", include_str!("../messages/en/questions.ftl")),
    ("plans.ftl", include_str!("../messages/en/plans.ftl")),
    ("items.ftl", include_str!("../messages/en/items.ftl")),
    ("review.ftl", include_str!("../messages/en/review.ftl")),
    ("approval.ftl", include_str!("../messages/en/approval.ftl")),
    ("methods.ftl", include_str!("../messages/en/methods.ftl")),
    ("jobs.ftl", include_str!("../messages/en/jobs.ftl")),
    ("staff.ftl", include_str!("../messages/en/staff.ftl")),
    ("receipts.ftl", include_str!("../messages/en/receipts.ftl")),
    ("certificates.ftl", include_str!("../messages/en/certificates.ftl")),
    ("verification.ftl", include_str!("../messages/en/verification.ftl")),
    ("report.ftl", include_str!("../messages/en/report.ftl")),
    ("reports.ftl", include_str!("../messages/en/reports.ftl")),
    ("exports.ftl", include_str!("../messages/en/exports.ftl")),
];

/// Documents and figures are written in German too; pages are English.
const GERMAN: &[(&str, &str)] = &[
    ("documents.ftl", include_str!("../messages/de/documents.ftl")),
    ("figures.ftl", include_str!("../messages/de/figures.ftl")),
    ("verification.ftl", include_str!("../messages/de/verification.ftl")),
    ("report.ftl", include_str!("../messages/de/report.ftl")),
];

type Bundle = FluentBundle<FluentResource>;

/// The texts of one language.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Words {
    /// English, with a decimal point.
    #[default]
    English,
    /// German, with a decimal comma. What stands only in English is said in English.
    German,
}

fn bundle(language: &str, files: &[(&str, &str)]) -> Bundle {
    let language = language.parse().expect("a language tag of ours");
    let mut bundle = FluentBundle::new_concurrent(vec![language]);
    bundle.set_use_isolating(false);
    for (file, source) in files {
        let resource = FluentResource::try_new((*source).to_owned())
            .unwrap_or_else(|(_, errors)| panic!("{file} does not parse: {errors:?}"));
        if let Err(errors) = bundle.add_resource(resource) {
            panic!("{file} repeats a key: {errors:?}");
        }
    }
    bundle
}

/// Digits with at most one point, perhaps a sign before and white space after.
fn is_plain_number(word: &str) -> bool {
    let digits = word.trim_end().trim_start_matches(['<', '>', '≤', '≥', '±', '+', '−', '-']);
    digits.matches('.').count() == 1
        && digits.starts_with(|first: char| first.is_ascii_digit())
        && digits.ends_with(|last: char| last.is_ascii_digit())
        && digits.chars().all(|letter| letter.is_ascii_digit() || letter == '.')
}

fn english() -> &'static Bundle {
    static BUNDLE: OnceLock<Bundle> = OnceLock::new();
    BUNDLE.get_or_init(|| bundle("en", ENGLISH))
}

fn german() -> &'static Bundle {
    static BUNDLE: OnceLock<Bundle> = OnceLock::new();
    BUNDLE.get_or_init(|| bundle("de", GERMAN))
}

impl Words {
    /// The language that has the tag, as `de`.
    pub fn of(tag: &str) -> Option<Words> {
        [Words::English, Words::German].into_iter().find(|words| words.tag() == tag)
    }

    /// The tag of the language, as `de`.
    pub fn tag(self) -> &'static str {
        match self {
            Words::English => "en",
            Words::German => "de",
        }
    }

    /// The numbers of `text` as this language writes them, with its decimal sign:
    /// "12.5 ng/L" is "12,5 ng/L" in German. A word that is no plain number, as
    /// an address or "0.1.0", stays. Only for what a person reads; files for
    /// programs keep the point.
    pub fn numeral(self, text: impl Into<String>) -> String {
        let text = text.into();
        if self == Words::English || !text.contains('.') {
            return text;
        }
        let words = text.split_inclusive(char::is_whitespace);
        words.map(|word| if is_plain_number(word) { word.replace('.', ",") } else { word.to_owned() }).collect()
    }

    /// The text of `key`.
    pub fn t(&self, key: &str) -> String {
        self.with(key, &[])
    }

    /// The text of `key`, with its variables filled in.
    ///
    /// Values are texts, formatted by the caller; one that is a whole number
    /// also chooses the plural form.
    pub fn with(&self, key: &str, values: &[(&str, &str)]) -> String {
        let bundle = match self {
            Words::German if german().has_message(key) => german(),
            _ => english(),
        };
        let Some(pattern) = bundle.get_message(key).and_then(|message| message.value()) else {
            return format!("‹{key}›");
        };
        let mut args = FluentArgs::new();
        for (name, value) in values {
            match value.parse::<i64>() {
                // Only what prints as it was given may pass as a number.
                Ok(count) if count.to_string() == *value => args.set(*name, FluentValue::from(count)),
                _ => args.set(*name, FluentValue::from(self.numeral(*value))),
            }
        }
        let mut errors = Vec::new();
        bundle.format_pattern(pattern, Some(&args), &mut errors).into_owned()
    }

    /// Whether the language itself has `key`.
    pub fn has(&self, key: &str) -> bool {
        match self {
            Words::English => english().has_message(key),
            Words::German => german().has_message(key),
        }
    }
}
