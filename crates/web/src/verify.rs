//! `roundel verify`: whether a certificate is genuine, without a network. What it
//! prints is English, as all of the command line.

use roundel_domain::certificate::verification::{Checked, KeyList, Notices, Verdict, check};
use roundel_domain::certificate::{Class, ResultLine, Statement, attached};
use roundel_domain::decision::is_withdrawal;
use std::fmt::Write as _;

/// What the program ends with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub enum Exit {
    /// Authentic.
    Good = 0,
    /// A file cannot be read, or is not what it should be.
    Unreadable = 1,
    /// Something was changed.
    Changed = 3,
    /// Signed with a key that is not known, or no key was given.
    UnknownKey = 4,
    /// A later version took its place.
    Superseded = 5,
    /// It was withdrawn.
    Withdrawn = 6,
    /// Signed outside the time in which its key signs.
    ExpiredKey = 7,
}

/// What certificates are checked with.
#[derive(Clone, Copy, Debug, Default)]
pub struct Given<'a> {
    /// A list of keys, as downloaded from `/keys.json`.
    pub keys: Option<&'a str>,
    /// One public key, as PEM.
    pub key: Option<&'a str>,
    /// A list of notices, as downloaded from `/notices.json`.
    pub notices: Option<&'a [u8]>,
}

/// Checks a certificate, as JSON or PDF; what is to be printed, and the exit status.
pub fn verify(file: &[u8], given: Given<'_>) -> (String, Exit) {
    let keys = match (given.keys, given.key) {
        (Some(text), _) => KeyList::parse(text),
        (None, Some(pem)) => KeyList::of_pem(pem),
        (None, None) => {
            let sentence = "NOT CHECKED: no key was given. A certificate carries a public key, but whose that is only \
                a list of keys from the provider can say. Give it with --keys keys.json or --key KEY.pem.\n";
            return (sentence.to_owned(), Exit::UnknownKey);
        }
    };
    let Ok(keys) = keys else {
        let sentence = "NOT CHECKED: the keys cannot be read. Take keys.json, or a key that ends in .pem, as it was \
            downloaded from the provider.\n";
        return (sentence.to_owned(), Exit::Unreadable);
    };
    let notices = match given.notices.map(|file| Notices::open(file, &keys)).transpose() {
        Ok(notices) => notices,
        Err(verdict) => {
            let (sentence, exit) = refusal(&verdict);
            return (format!("NOT CHECKED: the list of notices is not good. {sentence}\n"), exit);
        }
    };
    let Checked { verdict, statement, sha256 } = check(file, &keys, notices.as_ref());
    let mut out = String::new();
    if verdict == Verdict::Authentic {
        let _ = writeln!(out, "AUTHENTIC: signed by the provider and unchanged since.");
        match &notices {
            Some(notices) => {
                let _ = writeln!(out, "It stands in no notice of {}.", notices.made_at);
            }
            None => out.push_str(
                "Whether a later version took its place was not asked: give the provider's notices.json with --notices.\n",
            ),
        }
    } else {
        let (sentence, exit) = refusal(&verdict);
        let _ = writeln!(out, "{}: {sentence}", headline(exit));
    }
    if let Some(statement) = statement {
        if attached::is_pdf(file) {
            out.push_str("The PDF is byte for byte as it was issued, and carries the signed statement that follows.\n");
        }
        out.push('\n');
        out.push_str(&in_short(&statement, &sha256));
    }
    let exit = if verdict == Verdict::Authentic { Exit::Good } else { refusal(&verdict).1 };
    (out, exit)
}

fn headline(exit: Exit) -> &'static str {
    match exit {
        Exit::Good => "AUTHENTIC",
        Exit::Unreadable => "NO CERTIFICATE",
        Exit::Changed => "CHANGED",
        Exit::UnknownKey => "UNKNOWN KEY",
        Exit::Superseded => "SUPERSEDED",
        Exit::Withdrawn => "WITHDRAWN",
        Exit::ExpiredKey => "EXPIRED KEY",
    }
}

/// Why it is not good, a sentence.
fn refusal(verdict: &Verdict) -> (String, Exit) {
    match verdict {
        Verdict::Authentic => (String::new(), Exit::Good),
        Verdict::Unreadable => (
            "this is no sealed file of this service and no PDF that carries one. Take the file as it was downloaded."
                .to_owned(),
            Exit::Unreadable,
        ),
        Verdict::Changed => (
            "the signature does not belong to this text. At least one letter is not as it was signed, or another \
             program saved the file anew. Take the file as it was downloaded."
                .to_owned(),
            Exit::Changed,
        ),
        Verdict::PagesChanged => (
            "the statement inside the PDF is genuine, but the rest of the PDF is not as it was issued: what its pages \
             show may have been altered, or another program saved the file anew. Take the file as it was downloaded."
                .to_owned(),
            Exit::Changed,
        ),
        Verdict::UnknownKey { key_id } => {
            let id: String = key_id.chars().filter(|letter| !letter.is_control()).take(40).collect();
            let sentence = format!(
                "it is signed with the key “{id}”, which is not among the keys given. Somebody else may have signed it, \
                 or the list of keys is older than the certificate: take the newest from the provider."
            );
            (sentence, Exit::UnknownKey)
        }
        Verdict::Superseded { since } => (
            format!("it is genuine, but a later version took its place on {since}. Ask the laboratory for that one."),
            Exit::Superseded,
        ),
        Verdict::Withdrawn { since } => {
            (format!("it is genuine, but the provider withdrew it on {since}."), Exit::Withdrawn)
        }
        Verdict::ExpiredKey { key_id, until, signed_at } => {
            let ended = match until {
                Some(until) => format!("signs only until {until}"),
                None => "did not sign yet then".to_owned(),
            };
            let sentence = format!(
                "it says that it was signed at {signed_at}, but the key {key_id} {ended}. What a key signs after its end \
                 is not relied on."
            );
            (sentence, Exit::ExpiredKey)
        }
    }
}

fn class(class: Class) -> &'static str {
    match class {
        Class::Acceptable => "acceptable",
        Class::Questionable => "questionable",
        Class::Unacceptable => "unacceptable",
        Class::InformationOnly => "information only",
        Class::NotScored => "not scored",
    }
}

/// A text for a terminal: no control character of a file gets there.
fn plain(text: &str) -> String {
    text.chars().map(|letter| if letter.is_control() { ' ' } else { letter }).collect()
}

/// What is signed, in short, to be compared with the paper.
fn in_short(statement: &Statement, sha256: &str) -> String {
    let mut out = String::new();
    let name = statement.laboratory.name.as_deref().unwrap_or("(appears by its code only)");
    let mut fact = |key: &str, value: &str| {
        let _ = writeln!(out, "{key:<12} {}", plain(value));
    };
    fact("Number", &format!("{}, version {}", statement.number, statement.version));
    fact("Issued", &statement.issued_at);
    fact("Provider", &statement.provider.name);
    fact("Round", &format!("{}, {}", statement.round, statement.round_title));
    fact("Laboratory", &format!("{name}, code {}", statement.laboratory.code));
    if let Some(old) = &statement.replaces {
        fact("Replaces", &format!("version {}: {}", old.version, old.reason));
    }
    fact("Digest", sha256);
    fact("Key", &statement.key_id);
    let counts = &statement.counts;
    let said = format!(
        "{} scored: {} acceptable, {} questionable, {} unacceptable",
        counts.scored, counts.acceptable, counts.questionable, counts.unacceptable
    );
    fact("Results", &said);
    for line in &statement.results {
        let _ = writeln!(out, "{}", plain(&line_in_short(line)));
    }
    out
}

fn line_in_short(line: &ResultLine) -> String {
    let mut text =
        format!("  {} {}: {} {}", line.item, line.analyte, line.reported.typed.join("; "), line.reported.typed_unit);
    if let Some(assigned) = &line.assigned_value {
        let _ = write!(text, ", assigned {} {}", assigned.value, line.unit);
    }
    if let Some(score) = line.score {
        let less = if score.bound { "< " } else { "" };
        let _ = write!(text, ", score {less}{:.3}", score.value);
    }
    let withdrawn = line.class == Class::NotScored && line.excluded.as_deref().is_some_and(is_withdrawal);
    text + ", " + if withdrawn { "withdrawn" } else { class(line.class) }
}
