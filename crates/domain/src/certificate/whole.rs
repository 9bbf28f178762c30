//! The signature of a whole PDF: so that what its pages show is proved too, and not
//! only the statement that it carries.
//!
//! The metadata of the file hold one keyword of a fixed length, in plain letters:
//! `roundel-file/1`, the name of a key and a signature, each in hexadecimal. What is
//! signed is the digest of the file with zeros in their place, so that `sed`,
//! `sha256sum` and openssl can check it.

use super::attached;
use super::verification::KeyList;
use crate::seal::{PublicKey, SecretKey, Signature};
use sha2::{Digest, Sha256};

/// What the keyword begins with.
const MARK: &str = "roundel-file/1 ";
/// Digits of the name of a key, and of a signature.
const KEY: usize = 16;
const SIGNATURE: usize = 128;
/// Both with the space between them.
const VARIABLE: usize = KEY + 1 + SIGNATURE;

/// The keyword before it is signed.
#[must_use]
pub fn blank() -> String {
    format!("{MARK}{}", zeros())
}

/// What stands for the name of the key and the signature before they are written.
fn zeros() -> String {
    format!("{} {}", "0".repeat(KEY), "0".repeat(SIGNATURE))
}

/// Signs a PDF that was made with the keyword of [`blank`]. One without it stays as it
/// is.
pub fn sign(pdf: &mut [u8], key: &SecretKey) {
    let places = places(pdf);
    let signature = key.sign(text(pdf, &places).as_bytes());
    let written = format!("{} {}", key.public().id(), hex::encode(signature.to_bytes()));
    for place in places {
        pdf[place..place + VARIABLE].copy_from_slice(written.as_bytes());
    }
}

/// What a check of a whole PDF finds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Whole {
    /// It is as it was signed, byte for byte.
    Intact,
    /// It is not, or it was not signed as a whole.
    Changed,
    /// The list has no key of this name.
    UnknownKey(String),
}

/// Whether a PDF is as it was signed, by a key of the list that began to sign no earlier
/// than the key of this name: none older can vouch for what came after it.
#[must_use]
pub fn check(pdf: &[u8], keys: &KeyList, statement_key: &str) -> Whole {
    let places = places(pdf);
    let written = |place: &usize| &pdf[*place..*place + VARIABLE];
    let Some(first) = places.first().map(written) else { return Whole::Changed };
    let Some((id, signature)) = std::str::from_utf8(first).ok().and_then(|text| text.split_once(' ')) else {
        return Whole::Changed;
    };
    if places.iter().any(|place| written(place) != first) {
        return Whole::Changed;
    }
    let named = |id: &str| keys.keys.iter().find(|key| key.id == id);
    let Some(key) = named(id) else { return Whole::UnknownKey(id.to_owned()) };
    let is_older = named(statement_key).is_none_or(|of_statement| key.signs_from < of_statement.signs_from);
    let bytes: Option<[u8; 64]> = hex::decode(signature).ok().and_then(|bytes| bytes.try_into().ok());
    let holds = bytes.zip(PublicKey::from_pem(&key.public_key).ok()).is_some_and(|(bytes, public)| {
        // Written as this program writes it: no capital letter goes through.
        hex::encode(bytes) == signature
            && public.verify(text(pdf, &places).as_bytes(), &Signature::from_bytes(&bytes)).is_ok()
    });
    if holds && !is_older { Whole::Intact } else { Whole::Changed }
}

/// Where the names of keys begin: of the keyword there may be several copies.
fn places(pdf: &[u8]) -> Vec<usize> {
    let mut places = Vec::new();
    let mut from = 0;
    while let Some(at) = attached::find(&pdf[from..], MARK.as_bytes()).map(|at| from + at + MARK.len()) {
        from = at;
        if at + VARIABLE <= pdf.len() {
            places.push(at);
            from = at + VARIABLE;
        }
    }
    places
}

/// What is signed: the digest of a file with zeros for the name of the key and the
/// signature, behind the mark.
fn text(pdf: &[u8], places: &[usize]) -> String {
    let mut hash = Sha256::new();
    let mut from = 0;
    for place in places {
        hash.update(&pdf[from..*place]);
        hash.update(zeros());
        from = place + VARIABLE;
    }
    hash.update(&pdf[from..]);
    format!("{MARK}{}", hex::encode(hash.finalize()))
}
