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
    ("files.ftl", include_str!("../messages/en/files.ftl")),
    ("imports.ftl", include_str!("../messages/en/imports.ftl")),
    ("interface.ftl", include_str!("../messages/en/interface.ftl")),
    ("mail.ftl", include_str!("../messages/en/mail.ftl")),
    ("pages.ftl", include_str!("../messages/en/pages.ftl")),
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
];

/// The texts of one language.
#[derive(Clone, Copy, Debug, Default)]
pub struct Words;

fn english() -> &'static FluentBundle<FluentResource> {
    static BUNDLE: OnceLock<FluentBundle<FluentResource>> = OnceLock::new();
    BUNDLE.get_or_init(|| {
        let language = "en".parse().expect("a language tag of ours");
        let mut bundle = FluentBundle::new_concurrent(vec![language]);
        bundle.set_use_isolating(false);
        for (file, source) in ENGLISH {
            let resource = FluentResource::try_new((*source).to_owned())
                .unwrap_or_else(|(_, errors)| panic!("{file} does not parse: {errors:?}"));
            if let Err(errors) = bundle.add_resource(resource) {
                panic!("{file} repeats a key: {errors:?}");
            }
        }
        bundle
    })
}

impl Words {
    /// The text of `key`.
    pub fn t(&self, key: &str) -> String {
        self.with(key, &[])
    }

    /// The text of `key`, with its variables filled in.
    ///
    /// Values are texts, formatted by the caller; one that is a whole number
    /// also chooses the plural form.
    pub fn with(&self, key: &str, values: &[(&str, &str)]) -> String {
        let bundle = english();
        let Some(pattern) = bundle.get_message(key).and_then(|message| message.value()) else {
            return format!("‹{key}›");
        };
        let mut args = FluentArgs::new();
        for (name, value) in values {
            match value.parse::<i64>() {
                // Only what prints as it was given may pass as a number.
                Ok(count) if count.to_string() == *value => args.set(*name, FluentValue::from(count)),
                _ => args.set(*name, FluentValue::from(*value)),
            }
        }
        let mut errors = Vec::new();
        bundle.format_pattern(pattern, Some(&args), &mut errors).into_owned()
    }

    /// Whether the catalogue has `key`.
    pub fn has(&self, key: &str) -> bool {
        english().has_message(key)
    }
}
