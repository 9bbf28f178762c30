//! What is wrong with something that a person typed or uploaded, as a key of
//! the catalogue of texts and the values that its sentence shows. The domain
//! itself holds no sentence in any language.

use std::fmt;

/// One thing that is wrong: the key of a sentence that says what is wrong, with
/// the value seen, and what to do; and the values it shows, by name.
///
/// Two problems are equal when key and values are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// Key in the catalogue, such as `problem-number-zero`.
    pub key: &'static str,
    /// Variables of the sentence, by name, as texts ready to be shown.
    pub values: Vec<(&'static str, String)>,
}

impl Problem {
    /// A problem whose sentence shows no value.
    pub fn new(key: &'static str) -> Self {
        Problem { key, values: Vec::new() }
    }

    /// Adds a value that the sentence shows.
    #[must_use]
    pub fn with(mut self, name: &'static str, value: impl fmt::Display) -> Self {
        self.values.push((name, value.to_string()));
        self
    }

    /// The value called `name`, if the sentence shows one.
    pub fn value(&self, name: &str) -> Option<&str> {
        self.values.iter().find(|(known, _)| *known == name).map(|(_, value)| value.as_str())
    }
}

/// For logs and test failures only; a person reads the catalogue's sentence.
impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.key)?;
        for (name, value) in &self.values {
            write!(f, " {name}={value:?}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Problem {}

/// Everything that is wrong with a form, in the order of its fields. A field may
/// have more than one problem.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FieldErrors {
    errors: Vec<(String, Problem)>,
}

impl FieldErrors {
    /// No errors yet.
    pub fn new() -> Self {
        FieldErrors::default()
    }

    /// Adds a problem of the field called `field`.
    pub fn push(&mut self, field: impl Into<String>, problem: Problem) {
        self.errors.push((field.into(), problem));
    }

    /// Keeps the value of `result`, or notes its problem under `field`.
    ///
    /// Lets a form parse every field before it looks at what went wrong.
    pub fn keep<T>(&mut self, field: impl Into<String>, result: Result<T, Problem>) -> Option<T> {
        match result {
            Ok(value) => Some(value),
            Err(problem) => {
                self.push(field, problem);
                None
            }
        }
    }

    /// Adds the errors of a row of a list: `unit` of the row at place 2 becomes
    /// `2.unit`.
    pub fn extend_in(&mut self, row: usize, errors: FieldErrors) {
        self.errors.extend(errors.errors.into_iter().map(|(field, problem)| (format!("{row}.{field}"), problem)));
    }

    /// The errors of the row at this place of a list, as those of its own form.
    #[must_use]
    pub fn of_row(self, row: usize) -> FieldErrors {
        let prefix = format!("{row}.");
        let own = |(field, problem): (String, Problem)| Some((field.strip_prefix(&prefix)?.to_owned(), problem));
        FieldErrors { errors: self.errors.into_iter().filter_map(own).collect() }
    }

    /// Whether nothing is wrong.
    pub fn is_empty(&self) -> bool {
        self.errors.is_empty()
    }

    /// How many problems there are.
    pub fn len(&self) -> usize {
        self.errors.len()
    }

    /// Field names and problems, in the order in which they were pushed.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &Problem)> {
        self.errors.iter().map(|(field, problem)| (field.as_str(), problem))
    }

    /// The first problem of `field`.
    pub fn get(&self, field: &str) -> Option<&Problem> {
        self.iter().find(|(name, _)| *name == field).map(|(_, problem)| problem)
    }

    /// `value` if nothing is wrong, otherwise the errors.
    ///
    /// # Errors
    ///
    /// These errors, when there is at least one.
    pub fn into_result<T>(self, value: T) -> Result<T, FieldErrors> {
        if self.is_empty() { Ok(value) } else { Err(self) }
    }
}

/// The longest e-mail address, in characters (RFC 5321, 4.5.3.1.3, from memory:
/// a path of 256 with its two angle brackets).
pub const MAX_EMAIL: usize = 254;

/// Reads an e-mail address: one `@`, a plain local part of at most 64 characters,
/// and a host name with a point. Spaces around it are dropped; the rest stays as
/// typed. Quoted local parts and characters outside ASCII are refused, because
/// not every mail server takes them.
///
/// # Errors
///
/// A problem with key `problem-email-…` that shows the text seen.
pub fn parse_email(text: &str) -> Result<String, Problem> {
    let text = text.trim();
    let refused = |key| Err(Problem::new(key).with("seen", shortened(text)));
    if text.is_empty() {
        return Err(Problem::new("problem-email-empty"));
    }
    if text.chars().count() > MAX_EMAIL {
        return Err(Problem::new("problem-email-long").with("seen", shortened(text)).with("limit", MAX_EMAIL));
    }
    if text.contains(char::is_whitespace) || text.contains([',', ';']) {
        return refused("problem-email-several");
    }
    let Some((local, host)) = text.split_once('@') else {
        return refused("problem-email-form");
    };
    if !text.is_ascii() {
        return refused("problem-email-character");
    }
    if is_local_part(local) && is_host_name(host) { Ok(text.to_owned()) } else { refused("problem-email-form") }
}

fn is_local_part(local: &str) -> bool {
    let plain = |c: char| c.is_ascii_alphanumeric() || "!#$%&'*+/=?^_`{|}~.-".contains(c);
    (1..=64).contains(&local.len())
        && local.chars().all(plain)
        && !local.starts_with('.')
        && !local.ends_with('.')
        && !local.contains("..")
}

fn is_host_name(host: &str) -> bool {
    let label = |label: &str| {
        (1..=63).contains(&label.len())
            && label.chars().all(|c| c.is_ascii_alphanumeric() || c == '-')
            && !label.starts_with('-')
            && !label.ends_with('-')
    };
    let last = host.rsplit('.').next().unwrap_or_default();
    host.contains('.') && host.split('.').all(label) && last.len() >= 2 && !last.chars().all(|c| c.is_ascii_digit())
}

/// `text` as a problem shows it: at most 40 characters, control characters
/// replaced, so that a pasted page cannot fill or break the message.
pub fn shortened(text: &str) -> String {
    const SHOWN: usize = 40;
    let visible = |c: char| if c.is_control() { '\u{FFFD}' } else { c };
    let mut shown: String = text.chars().take(SHOWN).map(visible).collect();
    if text.chars().nth(SHOWN).is_some() {
        shown.push('…');
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn errors_keep_the_order_of_the_fields_and_all_problems_of_one() {
        let mut errors = FieldErrors::new();
        errors.push("title", Problem::new("problem-cell-empty"));
        errors.push("unit", Problem::new("problem-cell-long").with("limit", 10));
        errors.push("title", Problem::new("problem-cell-long").with("limit", 200));

        let fields: Vec<&str> = errors.iter().map(|(field, _)| field).collect();

        assert_eq!(fields, ["title", "unit", "title"]);
        assert_eq!(errors.get("title").map(|problem| problem.key), Some("problem-cell-empty"));
        assert_eq!(errors.get("unit").and_then(|problem| problem.value("limit")), Some("10"));
        assert_eq!(errors.get("code"), None);
        assert_eq!(errors.len(), 3);
    }

    #[test]
    fn the_errors_of_a_row_are_found_under_its_place() {
        let mut row = FieldErrors::new();
        row.push("unit", Problem::new("text-missing"));
        let mut errors = FieldErrors::new();
        errors.extend_in(0, FieldErrors::new());
        errors.extend_in(12, row.clone());

        assert_eq!(errors.iter().map(|(field, _)| field).collect::<Vec<_>>(), ["12.unit"]);
        assert_eq!(errors.clone().of_row(12), row);
        assert_eq!(errors.of_row(1), FieldErrors::new());
    }

    #[test]
    fn a_form_without_errors_gives_its_value() {
        let mut errors = FieldErrors::new();

        let kept = errors.keep("k", Ok(2));

        assert_eq!(kept, Some(2));
        assert_eq!(errors.into_result("done"), Ok("done"));
    }

    #[test]
    fn ordinary_addresses_are_read_as_typed() {
        for address in ["lab@quillmere.example", "a.b+pt@sub.host-name.example", "O'Neil@x1.example"] {
            assert_eq!(parse_email(&format!(" {address}\t")), Ok(address.to_owned()));
        }
    }

    #[test]
    fn each_kind_of_broken_address_has_its_own_problem() {
        let cases = [
            ("", "problem-email-empty"),
            ("lab.example", "problem-email-form"),
            ("@lab.example", "problem-email-form"),
            ("a@lab", "problem-email-form"),
            ("a@b@lab.example", "problem-email-form"),
            ("a..b@lab.example", "problem-email-form"),
            ("a@-lab.example", "problem-email-form"),
            ("a@192.168.0.1", "problem-email-form"),
            ("a@lab.example, b@lab.example", "problem-email-several"),
            ("Lab <a@lab.example>", "problem-email-several"),
            ("büro@lab.example", "problem-email-character"),
        ];
        for (text, key) in cases {
            assert_eq!(parse_email(text).expect_err(text).key, key, "{text}");
        }
        let long = format!("{}@lab.example", "a".repeat(300));
        assert_eq!(parse_email(&long).expect_err("too long").key, "problem-email-long");
    }

    #[test]
    fn a_shown_text_is_short_and_on_one_line() {
        assert_eq!(shortened("a\nb"), "a\u{FFFD}b");
        assert_eq!(shortened(&"x".repeat(41)), format!("{}…", "x".repeat(40)));
        assert_eq!(shortened(&"x".repeat(40)), "x".repeat(40));
    }
}
