//! A signed text with all that it is checked with, as one file in canonical form.

use crate::package::canonical;
use crate::seal::{PublicKey, Signature};
use serde_json::{Value, json};

/// The member of a certificate's file that is signed.
pub const STATEMENT: &str = "statement";
/// The member of a list of notices that is signed.
pub const NOTICES: &str = "notices";

/// Why a file is none of ours.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Error {
    /// It is not JSON with the members of a sealed file.
    #[error("it is no sealed file")]
    Form,
    /// It is one, and not letter by letter in the form in which it was issued.
    #[error("it is not in the form in which it was issued")]
    NotCanonical,
}

/// A sealed file, taken apart. Nothing is checked yet but its form.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Envelope {
    /// Exactly the text that is signed.
    pub text: String,
    /// Name of the key.
    pub key_id: String,
    /// The public key, as PEM.
    pub public_key: String,
    /// The signature.
    pub signature: Signature,
}

/// The file of a signed canonical `text`: the text stands in it letter by letter as
/// the value of `member`.
pub fn seal(member: &str, text: &str, key: PublicKey, signature: &Signature) -> String {
    let signed: Value = serde_json::from_str(text).expect("what is signed is JSON");
    canonical::text(&json!({
        "key_id": key.id(),
        "public_key": key.to_pem(),
        "signature": signature.to_base64(),
        member: signed,
    }))
}

/// Takes a sealed file apart. It must be letter by letter what [`seal`] gives: a
/// number that another program wrote differently could hide a change.
///
/// # Errors
///
/// [`Error`] for anything else.
pub fn open(member: &str, file: &[u8]) -> Result<Envelope, Error> {
    let file = std::str::from_utf8(file).map_err(|_| Error::Form)?;
    let value: Value = serde_json::from_str(file).map_err(|_| Error::Form)?;
    let members = value.as_object().ok_or(Error::Form)?;
    if members.len() != 4 {
        return Err(Error::Form);
    }
    let text = |name: &str| members.get(name).and_then(Value::as_str).map(str::to_owned).ok_or(Error::Form);
    let (key_id, public_key, encoded) = (text("key_id")?, text("public_key")?, text("signature")?);
    let signed = members.get(member).filter(|signed| signed.is_object()).ok_or(Error::Form)?;
    let signature = Signature::from_base64(&encoded).map_err(|_| Error::NotCanonical)?;
    if canonical::text(&value) != file || signature.to_base64() != encoded {
        return Err(Error::NotCanonical);
    }
    Ok(Envelope { text: canonical::text(signed), key_id, public_key, signature })
}
