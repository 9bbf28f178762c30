//! Requests of a laboratory after a round has stopped taking results (F43). None
//! of them changes what is stored: that is the rule (D33, D34).

use crate::field::{FieldErrors, Problem};
use crate::question;
use crate::round::{Intake, Round};
use jiff::Timestamp;

/// What is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// That a result be corrected.
    Correction,
    /// That a result be taken late.
    LateResult,
    /// Anything else.
    Other,
}

impl Kind {
    /// All kinds, in the order of the form.
    pub const ALL: [Kind; 3] = [Kind::Correction, Kind::LateResult, Kind::Other];

    /// The word of the form and the catalogue.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Correction => "correction",
            Kind::LateResult => "late",
            Kind::Other => "other",
        }
    }
}

/// A word that is none of those that are known.
#[derive(Debug, thiserror::Error)]
#[error("{0:?} is not a word of a request")]
pub struct Unknown(String);

impl TryFrom<String> for Kind {
    type Error = Unknown;

    fn try_from(word: String) -> Result<Self, Unknown> {
        Kind::ALL.into_iter().find(|kind| kind.word() == word).ok_or(Unknown(word))
    }
}

/// What the organiser decided. There is nothing in between, and nothing that takes
/// a result.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ruling {
    /// Not accepted, by the rule.
    NotAccepted,
    /// The organiser itself copied wrongly what the laboratory had sent; the
    /// evidence is recorded.
    TranscriptionFault,
}

impl Ruling {
    /// All rulings, in the order of the form.
    pub const ALL: [Ruling; 2] = [Ruling::NotAccepted, Ruling::TranscriptionFault];

    /// The word of the form and the catalogue.
    pub fn word(self) -> &'static str {
        match self {
            Ruling::NotAccepted => "not-accepted",
            Ruling::TranscriptionFault => "transcription-fault",
        }
    }
}

impl TryFrom<String> for Ruling {
    type Error = Unknown;

    fn try_from(word: String) -> Result<Self, Unknown> {
        Ruling::ALL.into_iter().find(|ruling| ruling.word() == word).ok_or(Unknown(word))
    }
}

/// Whether requests can be made: only when results are not taken any more.
pub fn is_time(round: &Round, now: Timestamp) -> bool {
    matches!(round.intake(now), Intake::TooLate | Intake::Closed(_))
}

/// Reads a request.
///
/// # Errors
///
/// Every field that is not as it should be.
pub fn parse(kind: &str, reason: &str) -> Result<(Kind, String), FieldErrors> {
    let mut errors = FieldErrors::new();
    let kind = errors.keep("kind", Kind::try_from(kind.to_owned()).map_err(|_| Problem::new("request-kind-missing")));
    let reason = question::parse(&mut errors, "reason", reason);
    match kind {
        Some(kind) => errors.into_result((kind, reason)),
        None => Err(errors),
    }
}

/// Reads a decision. Its text is the evidence of a fault, or what else is to be
/// said; without a fault it may be empty.
///
/// # Errors
///
/// Every field that is not as it should be.
pub fn parse_ruling(ruling: &str, text: &str) -> Result<(Ruling, String), FieldErrors> {
    let mut errors = FieldErrors::new();
    let ruling =
        errors.keep("ruling", Ruling::try_from(ruling.to_owned()).map_err(|_| Problem::new("request-ruling-missing")));
    let text = crate::text::page(&mut errors, "evidence", text);
    if ruling == Some(Ruling::TranscriptionFault) && text.is_empty() {
        errors.push("evidence", Problem::new("request-evidence-missing"));
    }
    match ruling {
        Some(ruling) => errors.into_result((ruling, text)),
        None => Err(errors),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn keys<T>(read: Result<T, FieldErrors>) -> Vec<(String, &'static str)> {
        let errors = read.err().unwrap_or_default();
        errors.iter().map(|(field, problem)| (field.to_owned(), problem.key)).collect()
    }

    #[test]
    fn a_request_has_a_kind_and_a_reason() {
        assert_eq!(
            parse("late", " The courier was late. ").unwrap(),
            (Kind::LateResult, "The courier was late.".to_owned())
        );
        let missing = [("kind".to_owned(), "request-kind-missing"), ("reason".to_owned(), "text-missing")];
        assert_eq!(keys(parse("", "")), missing);
        assert_eq!(keys(parse("change it", "x")), missing[..1]);
    }

    #[test]
    fn only_a_fault_of_the_organiser_needs_evidence() {
        assert_eq!(parse_ruling("not-accepted", "").unwrap(), (Ruling::NotAccepted, String::new()));
        assert_eq!(
            keys(parse_ruling("transcription-fault", " ")),
            [("evidence".to_owned(), "request-evidence-missing")]
        );
        assert_eq!(keys(parse_ruling("accepted", "x")), [("ruling".to_owned(), "request-ruling-missing")]);
        assert_eq!(parse_ruling("transcription-fault", "sheet 4").unwrap().0, Ruling::TranscriptionFault);
    }
}
