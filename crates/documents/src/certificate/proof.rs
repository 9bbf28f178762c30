//! What a certificate is proved with, as it is printed.

use super::{Certificate, Proof};
use crate::qr;
use crate::typeset;
use crate::words::Words;
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct ProofData {
    heading: String,
    qr: String,
    alt: String,
    /// Names and values that are compared letter by letter.
    facts: Vec<[String; 2]>,
    notices: [String; 2],
    how: String,
}

/// The block of verification; none of a certificate that is not signed, or whose
/// address no code can hold.
pub(super) fn proof_data(certificate: &Certificate, words: &Words) -> Option<ProofData> {
    let Proof { address, sha256, key_id, keys, notices, issued } = certificate.proof.as_ref()?;
    let file = certificate.attachment.as_ref().map(|file| typeset::file_name(&file.name)).unwrap_or_default();
    Some(ProofData {
        heading: words.t("certificate-proof"),
        qr: qr::svg(address)?,
        alt: words.with("certificate-proof-qr", &[("address", address)]),
        facts: vec![
            [words.t("certificate-proof-address"), address.clone()],
            [words.t("certificate-proof-digest"), sha256.clone()],
            [words.t("certificate-proof-key"), key_id.clone()],
        ],
        notices: [
            words.t("certificate-proof-notices"),
            words.with("certificate-proof-notices-at", &[("address", notices), ("issued", issued)]),
        ],
        how: words.with("certificate-proof-how", &[("file", &file), ("keys", keys)]),
    })
}
