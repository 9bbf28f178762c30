//! What counted when a round was closed: the raw set, frozen (F44). Everything
//! after that is a layer over it.

use crate::package::canonical;
use serde::{Deserialize, Serialize};

/// The format of [`RawSet`].
pub const FORMAT: &str = "roundel-raw-set/1";

/// The newest sending of each laboratory, in the order of the codes.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RawSet {
    /// [`FORMAT`].
    pub format: String,
    /// Code of the round.
    pub round: String,
    /// One entry a laboratory that sent results.
    pub results: Vec<Counted>,
}

/// The sending of a laboratory that counts.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Counted {
    /// The laboratory's code.
    pub participant: String,
    /// 1 for the first sending, 2 for the first revision.
    pub version: i64,
    /// SHA-256 of its text, in hexadecimal.
    pub sha256: String,
    /// Whether it came after the deadline.
    pub late: bool,
}

impl RawSet {
    /// The raw set of a round, whatever the order of `results`.
    pub fn new(round: &str, mut results: Vec<Counted>) -> RawSet {
        results.sort_by(|a, b| a.participant.cmp(&b.participant));
        RawSet { format: FORMAT.to_owned(), round: round.to_owned(), results }
    }

    /// Its canonical form (RFC 8785), which is stored and hashed.
    ///
    /// ```
    /// use roundel_domain::raw_set::{Counted, RawSet};
    ///
    /// let counted = |code: &str| Counted { participant: code.to_owned(), version: 1, sha256: "ab".to_owned(), late: false };
    /// let one = RawSet::new("R-1", vec![counted("B"), counted("A")]);
    /// assert_eq!(one.text(), RawSet::new("R-1", vec![counted("A"), counted("B")]).text());
    /// assert!(one.text().starts_with(r#"{"format":"roundel-raw-set/1","results":[{"late":false,"participant":"A""#));
    /// ```
    pub fn text(&self) -> String {
        canonical::text(self)
    }

    /// A raw set from its text.
    ///
    /// # Errors
    ///
    /// When the text is no raw set.
    pub fn parse(text: &str) -> Result<RawSet, serde_json::Error> {
        serde_json::from_str(text)
    }

    /// The codes whose entry is not the same in `now`, or in one of the two only,
    /// in their order: nothing may go on while there is one.
    ///
    /// ```
    /// use roundel_domain::raw_set::{Counted, RawSet};
    ///
    /// let counted = |code: &str, sha256: &str| Counted { participant: code.to_owned(), version: 1, sha256: sha256.to_owned(), late: false };
    /// let frozen = RawSet::new("R-1", vec![counted("A", "01"), counted("B", "02"), counted("C", "03")]);
    /// let now = RawSet::new("R-1", vec![counted("A", "01"), counted("B", "ff"), counted("D", "04")]);
    /// assert_eq!(frozen.differences(&now), ["B", "C", "D"]);
    /// ```
    pub fn differences(&self, now: &RawSet) -> Vec<String> {
        let missing = |from: &RawSet, entry: &Counted| !from.results.contains(entry);
        let changed = self.results.iter().filter(|entry| missing(now, entry));
        let mut codes: Vec<String> = changed
            .chain(now.results.iter().filter(|entry| missing(self, entry)))
            .map(|entry| entry.participant.clone())
            .collect();
        codes.sort();
        codes.dedup();
        codes
    }
}
