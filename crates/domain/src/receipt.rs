//! The receipt of a sending as a document that is signed.

use crate::package::canonical;
use crate::seal::{PublicKey, Signature};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use serde::{Deserialize, Serialize};
use serde_json::json;

/// The format of [`Receipt`].
pub const FORMAT: &str = "roundel-receipt/1";

/// What a receipt says. Signed is its canonical text, and that text is stored.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Receipt {
    /// [`FORMAT`].
    pub format: String,
    /// The sending's name for good.
    pub reference: String,
    /// Address of the receipt when it was made.
    pub address: String,
    /// Who took the results, as printed.
    pub provider: String,
    /// Code of the round.
    pub round: String,
    /// Code of the laboratory in this round.
    pub participant: String,
    /// 1 for the first sending, 2 for the first revision.
    pub version: i64,
    /// When the server took it: RFC 3339, with the offset of the round's zone.
    pub received_at: String,
    /// Whether that was after the deadline.
    pub late: bool,
    /// SHA-256 of the stored document, in hexadecimal.
    pub sha256: String,
    /// Name of the key that signs.
    pub key_id: String,
}

impl Receipt {
    /// Its canonical form (RFC 8785), over which the signature goes.
    pub fn text(&self) -> String {
        canonical::text(self)
    }

    /// A receipt from its text.
    ///
    /// # Errors
    ///
    /// When the text is no receipt.
    pub fn parse(text: &str) -> Result<Receipt, serde_json::Error> {
        serde_json::from_str(text)
    }
}

/// The receipt with what is needed to prove it, in canonical form: the signed
/// text stands in it letter by letter, as the value of `receipt`.
pub fn sealed(receipt: &Receipt, key: PublicKey, signature: &Signature) -> String {
    canonical::text(&json!({
        "public_key": key.to_pem(),
        "receipt": receipt,
        "signature": signature.to_base64(),
    }))
}

/// An instant as a receipt writes it, in the zone of the round.
pub fn received_at(at: Timestamp, zone: &str) -> String {
    let zone = TimeZone::get(zone).unwrap_or(TimeZone::UTC);
    at.display_with_offset(zone.to_offset(at)).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::seal::SecretKey;

    fn receipt() -> Receipt {
        Receipt {
            format: FORMAT.to_owned(),
            reference: "0190f1a2-0000-7000-8000-000000000001".to_owned(),
            address: "https://pt.example/receipts/0190f1a2-0000-7000-8000-000000000001".to_owned(),
            provider: "Quillmere \"Office\"".to_owned(),
            round: "QW-1".to_owned(),
            participant: "RXLF7".to_owned(),
            version: 2,
            received_at: "2027-03-31T17:00:05.000001+02:00".to_owned(),
            late: true,
            sha256: "ab".repeat(32),
            key_id: "0011223344556677".to_owned(),
        }
    }

    /// Written by hand from RFC 8785: members sorted, no white space.
    #[test]
    fn what_is_signed_is_the_canonical_form() {
        let hash = "ab".repeat(32);
        let expected = format!(
            "{{\"address\":\"https://pt.example/receipts/0190f1a2-0000-7000-8000-000000000001\",\
             \"format\":\"roundel-receipt/1\",\"key_id\":\"0011223344556677\",\"late\":true,\
             \"participant\":\"RXLF7\",\"provider\":\"Quillmere \\\"Office\\\"\",\
             \"received_at\":\"2027-03-31T17:00:05.000001+02:00\",\
             \"reference\":\"0190f1a2-0000-7000-8000-000000000001\",\"round\":\"QW-1\",\
             \"sha256\":\"{hash}\",\"version\":2}}"
        );

        assert_eq!(receipt().text(), expected);
        assert_eq!(Receipt::parse(&expected).unwrap(), receipt());
    }

    #[test]
    fn the_signed_text_stands_in_the_sealed_document_letter_by_letter() {
        let key = SecretKey::from_bytes(&[7; 32]);
        let text = receipt().text();
        let signature = key.sign(text.as_bytes());

        let sealed = sealed(&receipt(), key.public(), &signature);

        assert!(
            sealed.contains(&format!("\"receipt\":{text},\"signature\":\"{}\"", signature.to_base64())),
            "{sealed}"
        );
        assert!(sealed.starts_with("{\"public_key\":\"-----BEGIN PUBLIC KEY-----\\n"), "{sealed}");
    }

    #[test]
    fn the_time_has_the_offset_of_the_round_on_that_day() {
        let at: Timestamp = "2027-03-31T15:00:05.25Z".parse().unwrap();
        // Central European summer time began on 28 March 2027 (Directive 2000/84/EC: last Sunday in March).
        assert_eq!(received_at(at, "Europe/Vienna"), "2027-03-31T17:00:05.25+02:00");
        let winter: Timestamp = "2027-03-27T15:00:05Z".parse().unwrap();
        assert_eq!(received_at(winter, "Europe/Vienna"), "2027-03-27T16:00:05+01:00");
        assert_eq!(received_at(at, "UTC"), "2027-03-31T15:00:05.25+00:00");
    }
}
