//! Notices of what does not stand any more: one for what happened at one instant, each
//! with a number of its own and signed for itself, so that whoever has all of them knows
//! that none is missing.

use crate::package::canonical;
use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// The format of [`Notice`].
pub const FORMAT: &str = "roundel-notice/1";

/// What happened.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// A later version took the place of certificates.
    CertificatesSuperseded,
    /// A certificate was withdrawn.
    CertificatesWithdrawn,
    /// A corrected report took the place of a report.
    ReportsSuperseded,
}

impl Kind {
    /// All of them.
    pub const ALL: [Kind; 3] = [Kind::CertificatesSuperseded, Kind::CertificatesWithdrawn, Kind::ReportsSuperseded];

    /// Its word, in files.
    pub fn word(self) -> &'static str {
        match self {
            Kind::CertificatesSuperseded => "certificates_superseded",
            Kind::CertificatesWithdrawn => "certificates_withdrawn",
            Kind::ReportsSuperseded => "reports_superseded",
        }
    }
}

/// A notice: what is signed is its canonical text (RFC 8785).
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Notice {
    /// [`FORMAT`].
    pub format: String,
    /// Its number: 1 for the first of this service, without gaps.
    pub number: i64,
    /// What happened.
    pub kind: Kind,
    /// When it happened.
    pub since: Timestamp,
    /// When the notice was signed.
    pub made_at: Timestamp,
    /// Name of the key that signs it.
    pub key_id: String,
    /// Digests of the statements of certificates or of the contents of reports, in
    /// rising order: nobody learns whose they are.
    pub sha256: Vec<String>,
}

impl Notice {
    /// Exactly the text that is signed.
    pub fn text(&self) -> String {
        canonical::text(self)
    }

    /// A notice from its text; none for anything else.
    pub fn parse(text: &str) -> Option<Notice> {
        serde_json::from_str(text).ok().filter(|notice: &Notice| notice.format == FORMAT)
    }
}

/// A notice beside its signature, as a list has it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Numbered {
    /// The signature over the canonical text of the statement, in Base64.
    pub signature: String,
    /// The notice.
    pub statement: Notice,
}

/// A digest that does not stand any more: what happened to it, and when.
pub type Fallen = (Kind, Timestamp, String);

/// What no notice tells yet of all that has `fallen`: what happened at one instant
/// together, in the order of time.
pub fn untold(told: &[Notice], fallen: &[Fallen]) -> Vec<(Kind, Timestamp, Vec<String>)> {
    let known: BTreeSet<(Kind, &str)> =
        told.iter().flat_map(|notice| notice.sha256.iter().map(|sha256| (notice.kind, sha256.as_str()))).collect();
    let mut together: BTreeMap<(Timestamp, Kind), BTreeSet<&str>> = BTreeMap::new();
    for (kind, since, sha256) in fallen.iter().filter(|(kind, _, sha256)| !known.contains(&(*kind, sha256.as_str()))) {
        together.entry((*since, *kind)).or_default().insert(sha256);
    }
    let owned = |digests: BTreeSet<&str>| digests.into_iter().map(str::to_owned).collect();
    together.into_iter().map(|((since, kind), digests)| (kind, since, owned(digests))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(hour: &str) -> Timestamp {
        format!("2027-05-02T{hour}:00:00Z").parse().unwrap()
    }

    fn notice(number: i64, kind: Kind, sha256: &[&str]) -> Notice {
        Notice {
            format: FORMAT.to_owned(),
            number,
            kind,
            since: at("08"),
            made_at: at("09"),
            key_id: "0123456789abcdef".to_owned(),
            sha256: sha256.iter().map(|one| (*one).to_owned()).collect(),
        }
    }

    #[test]
    fn what_fell_at_one_instant_is_one_notice_and_is_told_once() {
        let (superseded, withdrawn) = (Kind::CertificatesSuperseded, Kind::CertificatesWithdrawn);
        let fallen: Vec<Fallen> = [
            (withdrawn, "12", "aa"),
            (superseded, "10", "cc"),
            (superseded, "10", "bb"),
            (Kind::ReportsSuperseded, "10", "dd"),
            (superseded, "08", "aa"),
        ]
        .map(|(kind, hour, sha256)| (kind, at(hour), sha256.to_owned()))
        .into();

        let of = |kind, hour: &str, digests: &[&str]| {
            (kind, at(hour), digests.iter().map(|one| (*one).to_owned()).collect::<Vec<_>>())
        };
        let reports = of(Kind::ReportsSuperseded, "10", &["dd"]);
        let all = [
            of(superseded, "08", &["aa"]),
            of(superseded, "10", &["bb", "cc"]),
            reports.clone(),
            of(withdrawn, "12", &["aa"]),
        ];
        assert_eq!(untold(&[], &fallen), all);
        let told = [notice(1, superseded, &["aa"]), notice(2, superseded, &["bb", "cc"])];
        assert_eq!(untold(&told, &fallen), [reports, of(withdrawn, "12", &["aa"])]);
    }

    #[test]
    fn a_notice_reads_back_and_its_text_is_canonical() {
        let one = notice(7, Kind::ReportsSuperseded, &["ab", "cd"]);

        // The members in the order of their names, as RFC 8785 has it.
        let text = "{\"format\":\"roundel-notice/1\",\"key_id\":\"0123456789abcdef\",\"kind\":\"reports_superseded\",\
            \"made_at\":\"2027-05-02T09:00:00Z\",\"number\":7,\"sha256\":[\"ab\",\"cd\"],\
            \"since\":\"2027-05-02T08:00:00Z\"}";
        assert_eq!(one.text(), text);
        assert_eq!(Notice::parse(text), Some(one));
        assert_eq!(Notice::parse(&text.replace("roundel-notice/1", "roundel-notice/2")), None);
        for kind in Kind::ALL {
            assert_eq!(serde_json::to_value(kind).unwrap(), kind.word());
        }
    }
}
