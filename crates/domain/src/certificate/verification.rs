//! Whether a certificate is what a provider issued, and whether it still stands:
//! from a file, a list of keys and, where there is one, a list of notices. No
//! network and no clock is asked.

use super::envelope::{self, Envelope, NOTICES, STATEMENT};
use super::notice::Numbered;
use super::whole::{self, Whole};
use super::{Statement, attached, digest};
use crate::seal::PublicKey;
use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The format of [`KeyList`].
pub const KEYS_FORMAT: &str = "roundel-keys/1";
/// The format of [`Notices`].
pub const NOTICES_FORMAT: &str = "roundel-notices/1";

/// The keys of a provider, with the times in which each signs.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct KeyList {
    /// [`KEYS_FORMAT`].
    pub format: String,
    /// Whose keys they are.
    pub provider: String,
    /// The keys, the newest first.
    pub keys: Vec<KeyEntry>,
}

/// A key of a list.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct KeyEntry {
    /// Its name.
    pub id: String,
    /// The key, as PEM.
    pub public_key: String,
    /// Since when it signs.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub signs_from: Option<Timestamp>,
    /// Until when it signs: the end that was planned, or when it was retired
    /// before. What it signed until then stays good.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub signs_until: Option<Timestamp>,
}

impl KeyList {
    /// A list from its text.
    ///
    /// # Errors
    ///
    /// When it is none, or a key does not have the name that its bytes give it.
    pub fn parse(text: &str) -> Result<KeyList, Unusable> {
        let list: KeyList = serde_json::from_str(text).map_err(|_| Unusable)?;
        let named = |key: &KeyEntry| PublicKey::from_pem(&key.public_key).is_ok_and(|public| public.id() == key.id);
        if list.format == KEYS_FORMAT && list.keys.iter().all(named) { Ok(list) } else { Err(Unusable) }
    }

    /// A list of one key without times.
    ///
    /// # Errors
    ///
    /// When it is no public key in PEM.
    pub fn of_pem(pem: &str) -> Result<KeyList, Unusable> {
        let public = PublicKey::from_pem(pem).map_err(|_| Unusable)?;
        let key = KeyEntry { id: public.id(), public_key: public.to_pem(), signs_from: None, signs_until: None };
        Ok(KeyList { format: KEYS_FORMAT.to_owned(), provider: String::new(), keys: vec![key] })
    }
}

/// Text that is not what it should be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("it is not of the kind that is asked for")]
pub struct Unusable;

/// Which certificates and reports do not stand any more, by the digest of their
/// statements or contents: nobody learns whose they are.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Notices {
    /// [`NOTICES_FORMAT`].
    pub format: String,
    /// When the list was made.
    pub made_at: Timestamp,
    /// Name of the key that signs it.
    pub key_id: String,
    /// Certificates that a later version took the place of, with the time.
    pub superseded: BTreeMap<String, Timestamp>,
    /// Certificates that were withdrawn, with the time.
    pub withdrawn: BTreeMap<String, Timestamp>,
    /// Reports of rounds that a corrected one took the place of, by the digest of
    /// their content, with the time.
    #[serde(skip_serializing_if = "BTreeMap::is_empty", default)]
    pub superseded_reports: BTreeMap<String, Timestamp>,
    /// The same, as notices with numbers from 1 without gaps, each signed for itself
    /// at the time when it was made.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub numbered: Vec<Numbered>,
}

impl Notices {
    /// The list of a sealed file.
    ///
    /// # Errors
    ///
    /// [`Verdict`] of why the file cannot be relied on.
    pub fn open(file: &[u8], keys: &KeyList) -> Result<Notices, Verdict> {
        let envelope = envelope::open(NOTICES, file).map_err(|_| Verdict::Unreadable)?;
        let notices: Notices = serde_json::from_str(&envelope.text).map_err(|_| Verdict::Changed)?;
        signed(&envelope, &notices.key_id, Some(notices.made_at), keys)?;
        Ok(notices)
    }
}

/// What a check finds. All but the first are refusals.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Signed by a key of the list, unchanged, and in no notice that was given.
    Authentic,
    /// No certificate, or not in the form in which it was issued.
    Unreadable,
    /// The signature is not of this key over this text: something was changed.
    Changed,
    /// The statement inside a PDF holds, and the rest of the PDF is not as it was
    /// issued: what its pages show may have been altered.
    PagesChanged,
    /// The list has no such key, so somebody else signed it.
    UnknownKey {
        /// The name that the file gives.
        key_id: String,
    },
    /// Signed when the key was not to sign any more, or not yet.
    ExpiredKey {
        /// Name of the key.
        key_id: String,
        /// Until when it signed.
        until: Option<Timestamp>,
        /// When the file says that it was signed.
        signed_at: Timestamp,
    },
    /// A later version took its place.
    Superseded {
        /// When.
        since: Timestamp,
    },
    /// It was withdrawn.
    Withdrawn {
        /// When.
        since: Timestamp,
    },
}

/// A checked file.
#[derive(Clone, Debug, PartialEq)]
pub struct Checked {
    /// What was found.
    pub verdict: Verdict,
    /// What is signed, where the signature holds.
    pub statement: Option<Statement>,
    /// Digest of that text, in hexadecimal; empty where nothing is signed.
    pub sha256: String,
}

impl Checked {
    fn refused(verdict: Verdict) -> Checked {
        Checked { verdict, statement: None, sha256: String::new() }
    }
}

/// Checks a certificate: its sealed file, or a PDF that carries it.
pub fn check(file: &[u8], keys: &KeyList, notices: Option<&Notices>) -> Checked {
    if attached::is_pdf(file) {
        let checked = match attached::sealed(file) {
            Ok(sealed) => check_sealed(&sealed, keys, notices),
            Err(_) => Checked::refused(Verdict::Unreadable),
        };
        let whole = checked.statement.as_ref().map(|statement| whole::check(file, keys, &statement.key_id));
        return match whole {
            Some(Whole::Changed) => Checked::refused(Verdict::PagesChanged),
            Some(Whole::UnknownKey(key_id)) => Checked::refused(Verdict::UnknownKey { key_id }),
            Some(Whole::Intact) | None => checked,
        };
    }
    check_sealed(file, keys, notices)
}

fn check_sealed(file: &[u8], keys: &KeyList, notices: Option<&Notices>) -> Checked {
    let envelope = match envelope::open(STATEMENT, file) {
        Ok(envelope) => envelope,
        // A changed letter of the key's, the signature's or a number's text.
        Err(envelope::Error::NotCanonical) => return Checked::refused(Verdict::Changed),
        Err(envelope::Error::Form) => return Checked::refused(Verdict::Unreadable),
    };
    // Nothing of the text is believed before its signature holds.
    if let Err(verdict) = signed(&envelope, &envelope.key_id, None, keys) {
        return Checked::refused(verdict);
    }
    let statement = match Statement::parse(&envelope.text) {
        Ok(statement) if statement.format == super::FORMAT && statement.key_id == envelope.key_id => statement,
        _ => return Checked::refused(Verdict::Unreadable),
    };
    let Ok(signed_at) = statement.issued_at.parse::<Timestamp>() else {
        return Checked::refused(Verdict::Unreadable);
    };
    let sha256 = digest(&envelope.text);
    let verdict = match signed(&envelope, &statement.key_id, Some(signed_at), keys) {
        Err(verdict) => verdict,
        Ok(()) => notices.map_or(Verdict::Authentic, |notices| noticed(notices, &sha256)),
    };
    Checked { verdict, statement: Some(statement), sha256 }
}

/// Whether the envelope is signed by the key of this name, at a time at which it
/// signed.
fn signed(envelope: &Envelope, key_id: &str, at: Option<Timestamp>, keys: &KeyList) -> Result<(), Verdict> {
    let unknown = || Verdict::UnknownKey { key_id: envelope.key_id.clone() };
    let key = keys.keys.iter().find(|key| key.id == envelope.key_id).ok_or_else(unknown)?;
    if key.public_key != envelope.public_key || key_id != envelope.key_id {
        return Err(unknown());
    }
    let public = PublicKey::from_pem(&key.public_key).map_err(|_| unknown())?;
    public.verify(envelope.text.as_bytes(), &envelope.signature).map_err(|_| Verdict::Changed)?;
    let Some(at) = at else { return Ok(()) };
    let early = key.signs_from.is_some_and(|from| at < from);
    let late = key.signs_until.is_some_and(|until| at > until);
    if early || late {
        return Err(Verdict::ExpiredKey { key_id: key.id.clone(), until: key.signs_until, signed_at: at });
    }
    Ok(())
}

fn noticed(notices: &Notices, sha256: &str) -> Verdict {
    if let Some(since) = notices.withdrawn.get(sha256) {
        return Verdict::Withdrawn { since: *since };
    }
    match notices.superseded.get(sha256) {
        Some(since) => Verdict::Superseded { since: *since },
        None => Verdict::Authentic,
    }
}
