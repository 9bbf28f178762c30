//! Signatures of documents: Ed25519 (RFC 8032), with keys whose public half
//! openssl and others read as SPKI in PEM.

use base64ct::{Base64, Encoding};
use ed25519_dalek::pkcs8::spki::der::pem::LineEnding;
use ed25519_dalek::pkcs8::{DecodePublicKey, EncodePublicKey};
use ed25519_dalek::{Signer, SigningKey, VerifyingKey};
use sha2::{Digest, Sha256};

/// The characters of a key's id: 64 bits of a SHA-256, in hexadecimal.
pub const KEY_ID: usize = 16;

/// A key that signs. Its debug form shows the public half only.
#[derive(Clone, Debug)]
pub struct SecretKey(SigningKey);

/// The half of a key that everybody may know.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PublicKey(VerifyingKey);

/// Why bytes are no public key or no signature.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Error {
    /// The bytes are no point of the curve, or too few or too many.
    #[error("these bytes are no Ed25519 public key")]
    Key,
    /// The signature is not of this key over these bytes.
    #[error("the signature does not belong to this key and these bytes")]
    Signature,
}

impl SecretKey {
    /// The key of 32 bytes, which must come by chance or from where a key is kept.
    pub fn from_bytes(bytes: &[u8; 32]) -> SecretKey {
        SecretKey(SigningKey::from_bytes(bytes))
    }

    /// The bytes to keep, and to show to nobody.
    pub fn to_bytes(&self) -> [u8; 32] {
        self.0.to_bytes()
    }

    /// Its public half.
    pub fn public(&self) -> PublicKey {
        PublicKey(self.0.verifying_key())
    }

    /// The signature over a document.
    pub fn sign(&self, document: &[u8]) -> Signature {
        Signature(self.0.sign(document).to_bytes())
    }
}

impl PublicKey {
    /// The key of its bytes (RFC 8032, 5.1.2).
    ///
    /// # Errors
    ///
    /// [`Error::Key`] for bytes that are none.
    pub fn from_bytes(bytes: &[u8]) -> Result<PublicKey, Error> {
        VerifyingKey::try_from(bytes).map(PublicKey).map_err(|_| Error::Key)
    }

    /// Its bytes (RFC 8032, 5.1.2).
    pub fn to_bytes(self) -> [u8; 32] {
        self.0.to_bytes()
    }

    /// Its name: the first 16 hexadecimal digits of the SHA-256 of its bytes.
    pub fn id(self) -> String {
        let mut id = hex::encode(Sha256::digest(self.to_bytes()));
        id.truncate(KEY_ID);
        id
    }

    /// As openssl reads it: SubjectPublicKeyInfo (RFC 8410) in PEM.
    pub fn to_pem(self) -> String {
        self.0.to_public_key_pem(LineEnding::LF).expect("a public key of 32 bytes has this form")
    }

    /// The key of a text as [`PublicKey::to_pem`] writes it.
    ///
    /// # Errors
    ///
    /// [`Error::Key`] for a text that is none.
    pub fn from_pem(text: &str) -> Result<PublicKey, Error> {
        VerifyingKey::from_public_key_pem(text).map(PublicKey).map_err(|_| Error::Key)
    }

    /// Whether the signature is of this key over the document.
    ///
    /// # Errors
    ///
    /// [`Error::Signature`] when it is not.
    pub fn verify(self, document: &[u8], signature: &Signature) -> Result<(), Error> {
        let signature = ed25519_dalek::Signature::from_bytes(&signature.0);
        self.0.verify_strict(document, &signature).map_err(|_| Error::Signature)
    }
}

/// A signature of 64 bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Signature([u8; 64]);

impl Signature {
    /// A signature as [`Signature::to_base64`] writes it.
    ///
    /// # Errors
    ///
    /// [`Error::Signature`] for a text that is none.
    pub fn from_base64(text: &str) -> Result<Signature, Error> {
        let mut bytes = [0; 64];
        match Base64::decode(text, &mut bytes) {
            Ok(read) if read.len() == 64 => Ok(Signature(bytes)),
            _ => Err(Error::Signature),
        }
    }

    /// A signature of these bytes.
    pub fn from_bytes(bytes: &[u8; 64]) -> Signature {
        Signature(*bytes)
    }

    /// In Base64 (RFC 4648, section 4), on one line.
    pub fn to_base64(self) -> String {
        Base64::encode_string(&self.0)
    }

    /// Its bytes (RFC 8032, 5.1.6).
    pub fn to_bytes(self) -> [u8; 64] {
        self.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 8032, section 7.1, tests 1 to 3: secret key, public key, message, signature.
    const VECTORS: [[&str; 4]; 3] = [
        [
            "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
            "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
            "",
            "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
        ],
        [
            "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
            "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
            "72",
            "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
        ],
        [
            "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
            "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
            "af82",
            "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
        ],
    ];

    fn bytes<const N: usize>(text: &str) -> [u8; N] {
        hex::decode(text).unwrap().try_into().unwrap()
    }

    #[test]
    fn keys_and_signatures_are_those_of_rfc_8032_section_7_1() {
        for [secret, public, message, signature] in VECTORS {
            let key = SecretKey::from_bytes(&bytes(secret));
            let message = hex::decode(message).unwrap();

            assert_eq!(hex::encode(key.public().to_bytes()), public);
            let signed = key.sign(&message);
            assert_eq!(hex::encode(signed.to_bytes()), signature);
            assert_eq!(key.public().verify(&message, &signed), Ok(()));
            assert_eq!(key.to_bytes(), bytes(secret));
        }
    }

    #[test]
    fn every_changed_bit_of_document_or_signature_is_seen() {
        let [secret, public, message, signature] = VECTORS[2];
        let public = PublicKey::from_bytes(&bytes::<32>(public)).unwrap();
        let (message, signature): ([u8; 2], [u8; 64]) = (bytes(message), bytes(signature));
        let other = SecretKey::from_bytes(&bytes(secret)).sign(b"another document");

        for bit in 0..message.len() * 8 {
            let mut changed = message;
            changed[bit / 8] ^= 1 << (bit % 8);
            assert_eq!(public.verify(&changed, &Signature(signature)), Err(Error::Signature), "bit {bit}");
        }
        for bit in 0..signature.len() * 8 {
            let mut changed = signature;
            changed[bit / 8] ^= 1 << (bit % 8);
            assert_eq!(public.verify(&message, &Signature(changed)), Err(Error::Signature), "bit {bit}");
        }
        assert_eq!(public.verify(&message, &other), Err(Error::Signature));
    }

    #[test]
    fn a_public_key_is_written_as_rfc_8410_has_it() {
        // RFC 8410, section 10.1: the public key and its PEM.
        let public = bytes::<32>("19bf44096984cdfe8541bac167dc3b96c85086aa30b6b6cb0c5c38ad703166e1");
        let pem = "-----BEGIN PUBLIC KEY-----\nMCowBQYDK2VwAyEAGb9ECWmEzf6FQbrBZ9w7lshQhqowtrbLDFw4rXAxZuE=\n\
                   -----END PUBLIC KEY-----\n";

        let key = PublicKey::from_bytes(&public).unwrap();

        assert_eq!(key.to_pem(), pem);
        assert_eq!(PublicKey::from_pem(pem), Ok(key));
        assert_eq!(PublicKey::from_pem(&pem.replace('M', "N")), Err(Error::Key));
        // sha256sum of the 32 bytes, GNU coreutils 9.1.
        assert_eq!(key.id(), "e744c0791320c328");
    }

    #[test]
    fn what_is_no_key_and_no_signature_is_not_taken_for_one() {
        // 2 is no y of a point of the curve (RFC 8032, 5.1.3: no square root).
        let mut no_point = [0; 32];
        no_point[0] = 2;
        assert_eq!(PublicKey::from_bytes(&no_point), Err(Error::Key));
        assert_eq!(PublicKey::from_bytes(&[1; 31]), Err(Error::Key));
        for text in ["", "AAAA", "not base 64", &"A".repeat(88)] {
            assert_eq!(Signature::from_base64(text), Err(Error::Signature), "{text}");
        }
    }

    #[test]
    fn neither_key_shows_its_secret_when_printed() {
        let secret = bytes::<32>(VECTORS[0][0]);
        let printed = format!("{:?}", SecretKey::from_bytes(&secret));

        assert!(!printed.contains("9d61") && !printed.contains("157, 97"), "{printed}");
    }

    #[test]
    fn a_signature_is_read_as_it_was_written() {
        let signature = Signature(bytes(VECTORS[0][3]));

        // base64 of GNU coreutils 9.1.
        assert_eq!(
            signature.to_base64(),
            "5VZDAMNgrHKQhuLMgG6CioSHfx645dl02HPgZSJJAVVfuIIVkKM7rMYeOXAc+bRr0lv18FlbviRlUUFDjnoQCw=="
        );
        assert_eq!(Signature::from_base64(&signature.to_base64()), Ok(signature));
    }
}
