//! How things are shown to a person: instants with their zone, problems as
//! sentences, errors beside their fields.

use jiff::Timestamp;
use jiff::tz::TimeZone;
use roundel_documents::words::Words;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_selfcheck::Finding;

/// The sentence of a problem.
pub fn problem(words: Words, problem: &Problem) -> String {
    let values: Vec<(&str, &str)> = problem.values.iter().map(|(name, value)| (*name, value.as_str())).collect();
    words.with(problem.key, &values)
}

/// The sentence of a question about a laboratory's own numbers.
pub fn finding(words: Words, finding: &Finding) -> String {
    let values: Vec<(&str, &str)> = finding.values.iter().map(|(name, value)| (*name, value.as_str())).collect();
    words.with(&format!("selfcheck-{}", finding.kind), &values)
}

/// The time of an instant in a zone: `12:03`.
pub fn time(at: Timestamp, zone: &str) -> String {
    let zone = TimeZone::get(zone).unwrap_or(TimeZone::UTC);
    at.to_zoned(zone).strftime("%H:%M:%S").to_string()
}

/// An instant in a zone and in UTC: `31 March 2027, 17:00 CEST (15:00 UTC)`.
pub fn instant(at: Timestamp, zone: &str) -> String {
    let zone = TimeZone::get(zone).unwrap_or(TimeZone::UTC);
    let local = at.to_zoned(zone);
    let utc = at.to_zoned(TimeZone::UTC);
    if local.offset() == utc.offset() {
        return local.strftime("%-d %B %Y, %H:%M UTC").to_string();
    }
    let day = if local.date() == utc.date() { "" } else { "%-d %B, " };
    format!("{} ({})", local.strftime("%-d %B %Y, %H:%M %Z"), utc.strftime(&format!("{day}%H:%M UTC")))
}

/// The day of an instant in a zone: `31 March 2027`.
pub fn day(at: Timestamp, zone: &str) -> String {
    let zone = TimeZone::get(zone).unwrap_or(TimeZone::UTC);
    at.to_zoned(zone).strftime("%-d %B %Y").to_string()
}

/// An instant to the second, in UTC, as a receipt prints it.
pub fn exact(at: Timestamp) -> String {
    at.to_zoned(TimeZone::UTC).strftime("%-d %B %Y, %H:%M:%S UTC").to_string()
}

/// An instant to the second with the offset of a zone: `31 March 2027, 17:00:05 +02:00`.
pub fn exact_in(at: Timestamp, zone: &str) -> String {
    let zone = TimeZone::get(zone).unwrap_or(TimeZone::UTC);
    at.to_zoned(zone).strftime("%-d %B %Y, %H:%M:%S %:z").to_string()
}

/// Year, month and day of an instant in a zone.
pub fn date(at: Timestamp, zone: &str) -> (i32, u8, u8) {
    let date = at.to_zoned(TimeZone::get(zone).unwrap_or(TimeZone::UTC)).date();
    (i32::from(date.year()), date.month().unsigned_abs(), date.day().unsigned_abs())
}

/// The errors of a form as sentences.
#[derive(Clone, Debug, Default)]
pub struct Errors(Vec<FieldMessage>);

/// A sentence and the field that it belongs to.
#[derive(Clone, Debug)]
pub struct FieldMessage {
    /// Name and id of the field.
    pub field: String,
    /// The sentence, beside its field.
    pub text: String,
    /// The sentence with the name of its field, for a list.
    pub named: String,
}

impl Errors {
    /// The sentences of `errors`; in lists each begins with the name of its field,
    /// where the catalogue has one as `field-…`.
    pub fn of(words: Words, errors: &FieldErrors) -> Errors {
        Errors::named(words, errors, |field| {
            let key = format!("field-{}", field.replace('_', "-"));
            words.has(&key).then(|| words.t(&key))
        })
    }

    /// The sentences of `errors`; in lists each begins with the name that `named`
    /// gives its field, so that a list can be read without the form.
    pub fn named(words: Words, errors: &FieldErrors, named: impl Fn(&str) -> Option<String>) -> Errors {
        let message = |(field, p): (&str, &Problem)| {
            let text = problem(words, p);
            let named = match named(field) {
                Some(name) => words.with("problem-of", &[("name", &name), ("problem", &text)]),
                None => text.clone(),
            };
            FieldMessage { field: field.to_owned(), text, named }
        };
        Errors(errors.iter().map(message).collect())
    }

    /// One sentence on one field.
    pub fn one(words: Words, field: &str, key: &'static str) -> Errors {
        let text = words.t(key);
        Errors(vec![FieldMessage { field: field.to_owned(), named: text.clone(), text }])
    }

    /// All, in the order of the fields.
    pub fn all(&self) -> &[FieldMessage] {
        &self.0
    }

    /// The first sentence of a field; empty if nothing is wrong with it.
    pub fn of_field(&self, field: &str) -> &str {
        self.0.iter().find(|message| message.field == field).map_or("", |message| message.text.as_str())
    }

    /// Whether nothing is wrong.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_instant_names_its_zone_and_utc() {
        let at: Timestamp = "2027-03-31T15:00:00Z".parse().unwrap();

        assert_eq!(instant(at, "Europe/Berlin"), "31 March 2027, 17:00 CEST (15:00 UTC)");
        assert_eq!(instant(at, "UTC"), "31 March 2027, 15:00 UTC");
        assert_eq!(exact_in(at, "Europe/Berlin"), "31 March 2027, 17:00:00 +02:00");
        assert_eq!(exact_in(at, "UTC"), "31 March 2027, 15:00:00 +00:00");
        assert_eq!(instant(at, "Pacific/Auckland"), "1 April 2027, 04:00 NZDT (31 March, 15:00 UTC)");
    }
}
