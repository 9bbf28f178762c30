//! The report of a round: which contents it must have (ISO/IEC 17043, 7.4.3; the
//! list a to t of the edition of 2010), what is missing of them, the commentary
//! under its headings, and which status a report may be issued with (F105–F107).

mod gate;
mod sheets;

pub use gate::{Facts, Line, State, gate, is_complete, may_issue, missing};
pub use roundel_stats::sheets as method_sheets;
pub use sheets::{sheets_of, sheets_of_estimator, sheets_of_score};

use crate::field::{FieldErrors, Problem};
use crate::text;
use std::collections::BTreeSet;

/// A content of the report, by its letter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Item {
    /// a: name and contact of the provider.
    Provider,
    /// b: who coordinates.
    Coordinator,
    /// c: who authorised the report.
    Authorised,
    /// d: what others did.
    External,
    /// e: date and status.
    Issued,
    /// f: pages and a clear end.
    Pages,
    /// g: how far results are confidential.
    Confidentiality,
    /// h: what identifies the report.
    Identification,
    /// i: the items, how they were made and checked.
    Items,
    /// j: the results.
    Results,
    /// k: the statistics.
    Statistics,
    /// l: how assigned values were found.
    Route,
    /// m: traceability and uncertainty of assigned values.
    Traceability,
    /// n: how the standard deviation for proficiency assessment was set.
    Sigma,
    /// o: summaries of groups of methods.
    Methods,
    /// p: comments on performance.
    Comments,
    /// q: design of the round.
    Design,
    /// r: statistical procedures.
    Procedures,
    /// s: how the statistics are to be read.
    Advice,
    /// t: recommendations.
    Recommendations,
}

impl Item {
    /// All, in the order of their letters.
    pub const ALL: [Item; 20] = [
        Item::Provider,
        Item::Coordinator,
        Item::Authorised,
        Item::External,
        Item::Issued,
        Item::Pages,
        Item::Confidentiality,
        Item::Identification,
        Item::Items,
        Item::Results,
        Item::Statistics,
        Item::Route,
        Item::Traceability,
        Item::Sigma,
        Item::Methods,
        Item::Comments,
        Item::Design,
        Item::Procedures,
        Item::Advice,
        Item::Recommendations,
    ];

    /// Its letter, `a` to `t`.
    pub fn letter(self) -> char {
        let place = Item::ALL.iter().position(|item| *item == self).unwrap_or_default();
        char::from(b'a' + u8::try_from(place).unwrap_or_default())
    }

    /// The word in the keys of texts and in anchors.
    pub fn word(self) -> &'static str {
        match self {
            Item::Provider => "provider",
            Item::Coordinator => "coordinator",
            Item::Authorised => "authorised",
            Item::External => "external",
            Item::Issued => "issued",
            Item::Pages => "pages",
            Item::Confidentiality => "confidentiality",
            Item::Identification => "identification",
            Item::Items => "items",
            Item::Results => "results",
            Item::Statistics => "statistics",
            Item::Route => "route",
            Item::Traceability => "traceability",
            Item::Sigma => "sigma",
            Item::Methods => "methods",
            Item::Comments => "comments",
            Item::Design => "design",
            Item::Procedures => "procedures",
            Item::Advice => "advice",
            Item::Recommendations => "recommendations",
        }
    }
}

/// What people write for the report: the headings of the comments on performance
/// (ISO/IEC 17043, 7.4.2; the list of the edition of 2010, 4.7.2.2), and two texts
/// that no record of the service can stand for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Heading {
    /// Overall performance against what was expected.
    Expectation,
    /// Variation within and between laboratories.
    Variation,
    /// Against earlier rounds and published precision.
    Earlier,
    /// Variation between methods.
    Methods,
    /// Possible sources of error.
    Errors,
    /// Advice to participants.
    Advice,
    /// Unusual factors.
    Unusual,
    /// Conclusions.
    Conclusions,
    /// Item i: what is known of the items that no record of the service says: matrix,
    /// homogeneity and stability.
    Items,
    /// Item t: next levels, hints on methods, feedback.
    Recommendations,
}

impl Heading {
    /// All, in the order of the page.
    pub const ALL: [Heading; 10] = [
        Heading::Expectation,
        Heading::Variation,
        Heading::Earlier,
        Heading::Methods,
        Heading::Errors,
        Heading::Advice,
        Heading::Unusual,
        Heading::Conclusions,
        Heading::Items,
        Heading::Recommendations,
    ];

    /// The headings of the comments on performance (item p).
    pub const COMMENTS: [Heading; 8] = [
        Heading::Expectation,
        Heading::Variation,
        Heading::Earlier,
        Heading::Methods,
        Heading::Errors,
        Heading::Advice,
        Heading::Unusual,
        Heading::Conclusions,
    ];

    /// The word that is stored and posted.
    pub fn word(self) -> &'static str {
        match self {
            Heading::Expectation => "expectation",
            Heading::Variation => "variation",
            Heading::Earlier => "earlier",
            Heading::Methods => "methods",
            Heading::Errors => "errors",
            Heading::Advice => "advice",
            Heading::Unusual => "unusual",
            Heading::Conclusions => "conclusions",
            Heading::Items => "items",
            Heading::Recommendations => "recommendations",
        }
    }

    /// The heading of this word.
    pub fn of(word: &str) -> Option<Heading> {
        Heading::ALL.into_iter().find(|heading| heading.word() == word)
    }
}

/// What stands under a heading: a text, or why there is none.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Said {
    /// The text; empty where it is declared not applicable.
    pub text: String,
    /// Why it is not applicable; empty where there is a text.
    pub not_applicable: String,
}

/// The form of one heading.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SaidForm {
    /// The text as typed.
    pub text: String,
    /// The reason as typed.
    pub not_applicable: String,
    /// Whether the codes that stand in it are meant.
    pub confirmed: bool,
}

impl SaidForm {
    /// What the form says: a text or a reason, and the codes that stand in it.
    /// `codes` are those of the round.
    ///
    /// # Errors
    ///
    /// Neither or both of text and reason; codes of laboratories in either that were
    /// not confirmed.
    pub fn parse<'a>(&self, codes: impl Iterator<Item = &'a str>) -> Result<(Said, Vec<String>), FieldErrors> {
        let mut errors = FieldErrors::new();
        let text = text::page(&mut errors, "text", &self.text);
        let empty = self.not_applicable.trim().is_empty();
        let not_applicable =
            if empty { String::new() } else { text::reason(&mut errors, "not_applicable", &self.not_applicable) };
        match (text.is_empty(), not_applicable.is_empty()) {
            (true, true) => errors.push("text", Problem::new("report-said-nothing")),
            (false, false) => errors.push("not_applicable", Problem::new("report-said-both")),
            _ => {}
        }
        let found = codes_in(&format!("{text}\n{not_applicable}"), codes);
        if !found.is_empty() && !self.confirmed {
            let problem = Problem::new("report-said-codes").with("count", found.len()).with("codes", found.join(", "));
            errors.push("confirmed", problem);
        }
        errors.into_result((Said { text, not_applicable }, found))
    }
}

/// The codes that stand in a text, in capital or small letters, also with spaces or
/// hyphens between their characters, in the order of the codes.
///
/// ```
/// use roundel_domain::report::codes_in;
///
/// let codes = ["2F7K9X", "R4TNW3"];
/// assert_eq!(codes_in("Laboratory r4t-nw3 had them all high.", codes.into_iter()), ["R4TNW3"]);
/// assert!(codes_in("2F7K9XY is no code.", codes.into_iter()).is_empty());
/// ```
pub fn codes_in<'a>(text: &str, codes: impl Iterator<Item = &'a str>) -> Vec<String> {
    let codes: BTreeSet<String> = codes.map(plain).filter(|code| !code.is_empty()).collect();
    let words: Vec<String> = text.split(|c: char| !c.is_alphanumeric()).map(plain).filter(|w| !w.is_empty()).collect();
    let longest = codes.iter().map(String::len).max().unwrap_or_default();
    let mut found = BTreeSet::new();
    for first in 0..words.len() {
        // A code that is written in parts: the words from here on together.
        let mut joined = String::new();
        for word in &words[first..] {
            joined.push_str(word);
            if joined.len() > longest {
                break;
            }
            if codes.contains(&joined) {
                found.insert(joined.clone());
            }
        }
    }
    found.into_iter().collect()
}

/// Letters and digits in capitals.
fn plain(text: &str) -> String {
    text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_uppercase).collect()
}

/// The status of a report.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Status {
    /// Before publication; for the staff.
    Preliminary,
    /// After publication, before the final report; or while a correction is open.
    Interim,
    /// The final report: one for each round.
    Final,
    /// In the place of the final report or of a corrected one.
    Corrected,
}

impl Status {
    /// All, in their order.
    pub const ALL: [Status; 4] = [Status::Preliminary, Status::Interim, Status::Final, Status::Corrected];

    /// The word that is stored and posted.
    pub fn word(self) -> &'static str {
        match self {
            Status::Preliminary => "preliminary",
            Status::Interim => "interim",
            Status::Final => "final",
            Status::Corrected => "corrected",
        }
    }

    /// The status of this word.
    pub fn of(word: &str) -> Option<Status> {
        Status::ALL.into_iter().find(|status| status.word() == word)
    }

    /// Whether everything must be there.
    pub fn must_be_complete(self) -> bool {
        matches!(self, Status::Final | Status::Corrected)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CODES: [&str; 3] = ["2F7K9X", "R4TNW3", "MMKKJ7"];

    /// The keys of what is wrong, by field.
    type Wrong = Vec<(String, &'static str)>;

    fn said(text: &str, not_applicable: &str, confirmed: bool) -> Result<(Said, Vec<String>), Wrong> {
        let form = SaidForm { text: text.to_owned(), not_applicable: not_applicable.to_owned(), confirmed };
        let parsed = form.parse(CODES.into_iter());
        parsed.map_err(|errors| errors.iter().map(|(field, problem)| (field.to_owned(), problem.key)).collect())
    }

    #[test]
    fn words_and_letters_come_back() {
        assert_eq!((Item::Provider.letter(), Item::Recommendations.letter()), ('a', 't'));
        let words: BTreeSet<&str> = Item::ALL.into_iter().map(Item::word).collect();
        assert_eq!(words.len(), 20);
        assert!(Heading::ALL.into_iter().all(|heading| Heading::of(heading.word()) == Some(heading)));
        assert!(Status::ALL.into_iter().all(|status| Status::of(status.word()) == Some(status)));
        assert_eq!((Heading::of(""), Status::of("Final")), (None, None));
    }

    #[test]
    fn a_heading_has_a_text_or_a_reason() {
        assert_eq!(said(" ", "", false), Err(vec![("text".to_owned(), "report-said-nothing")]));
        assert_eq!(said("Good.", "No.", false), Err(vec![("not_applicable".to_owned(), "report-said-both")]));
        let (taken, found) = said("Good.\r\nMostly.", "", false).expect("a text");
        assert_eq!((taken.text.as_str(), taken.not_applicable.as_str(), found.len()), ("Good.\nMostly.", "", 0));
        let (taken, _) = said("", "First round.", false).expect("a reason");
        assert_eq!((taken.text.as_str(), taken.not_applicable.as_str()), ("", "First round."));
    }

    #[test]
    fn codes_in_a_text_are_found_however_they_are_written_and_must_be_confirmed() {
        for text in ["Laboratory R4TNW3 was high.", "r4tnw3", "(R4TNW3)", "R4T NW3", "r4t-nw3 and others", "R4TNW3’s"]
        {
            assert_eq!(codes_in(text, CODES.into_iter()), ["R4TNW3"], "{text}");
            assert_eq!(said(text, "", false), Err(vec![("confirmed".to_owned(), "report-said-codes")]), "{text}");
            assert_eq!(said(text, "", true).expect("confirmed").1, ["R4TNW3"]);
        }
        assert_eq!(said("", "As mmkkj7 says.", false), Err(vec![("confirmed".to_owned(), "report-said-codes")]));
        for text in ["XR4TNW3", "R4TNW", "R4TNW33", "", "22 F 7"] {
            assert!(codes_in(text, CODES.into_iter()).is_empty(), "{text}");
        }
        assert_eq!(codes_in("2f7k9x R4TNW3 2F7K9X", CODES.into_iter()), ["2F7K9X", "R4TNW3"]);
    }
}
