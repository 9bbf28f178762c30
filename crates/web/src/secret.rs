//! Tokens and passwords: made here, kept only as hashes.

use crate::clock;
use argon2::password_hash::{PasswordHasher, PasswordVerifier, phc::PasswordHash};
use argon2::{Algorithm, Argon2, Params, Version};
use sha2::{Digest, Sha256};
use std::sync::LazyLock;
use tokio::sync::Semaphore;

/// The fewest characters of a password.
pub const SHORTEST_PASSWORD: usize = 12;
/// The most characters of a password.
pub const LONGEST_PASSWORD: usize = 200;

/// A random token of 256 bits, as it stands in a link or a cookie.
pub fn token() -> String {
    hex::encode(clock::random::<32>())
}

/// A random index below `count`, which is above zero. 64 bits leave no bias that
/// anybody could see.
pub fn below(count: usize) -> usize {
    let drawn = u64::from_be_bytes(clock::random::<8>());
    usize::try_from(drawn % u64::try_from(count.max(1)).unwrap_or(1)).unwrap_or_default()
}

/// What is kept of a token.
pub fn token_hash(token: &str) -> Vec<u8> {
    Sha256::digest(token.as_bytes()).to_vec()
}

/// SHA-256 of a text, in hexadecimal.
pub fn sha256(text: &str) -> String {
    hex::encode(Sha256::digest(text.as_bytes()))
}

/// SHA-256 of parts one behind the other, in hexadecimal.
pub fn sha256_of(parts: &[&[u8]]) -> String {
    let mut hash = Sha256::new();
    for part in parts {
        hash.update(part);
    }
    hex::encode(hash.finalize())
}

/// Two at once: more would only make each slower, and take 19 MiB each.
static HASHING: Semaphore = Semaphore::const_new(2);

/// OWASP's minimum for Argon2id: 19 MiB, two passes, one lane.
fn argon2() -> Argon2<'static> {
    let params = Params::new(19 * 1024, 2, 1, None).expect("parameters of ours");
    Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
}

/// What is kept of a password, in PHC form.
pub async fn hash_password(password: String) -> String {
    let _permit = HASHING.acquire().await.expect("the semaphore is never closed");
    let hash = move || argon2().hash_password(password.as_bytes()).expect("a password of bounded length").to_string();
    tokio::task::spawn_blocking(hash).await.expect("hashing does not panic")
}

/// Whether `password` is the one that was kept. Without an account the work is
/// done all the same, so that the time tells nothing.
pub async fn verify_password(password: String, kept: Option<String>) -> bool {
    static DECOY: LazyLock<String> =
        LazyLock::new(|| argon2().hash_password(token().as_bytes()).expect("a token is short").to_string());
    let _permit = HASHING.acquire().await.expect("the semaphore is never closed");
    let verify = move || {
        let known = kept.is_some();
        let kept = kept.unwrap_or_else(|| DECOY.clone());
        let Ok(parsed) = PasswordHash::new(&kept) else { return false };
        argon2().verify_password(password.as_bytes(), &parsed).is_ok() && known
    };
    tokio::task::spawn_blocking(verify).await.expect("verifying does not panic")
}
