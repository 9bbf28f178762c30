//! Changes that programs asked for, by the key with which they may ask again.

use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::TokenId;
use uuid::Uuid;

/// A change that is asked for.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// Whose key it is: a laboratory, or a person of the organiser.
    pub owner: Uuid,
    /// The key.
    pub key: &'a str,
    /// The token that was shown.
    pub token: TokenId,
    /// Method and address.
    pub target: &'a str,
    /// SHA-256 of the body and its kind, in hexadecimal.
    pub body_sha256: &'a str,
    /// When.
    pub at: Timestamp,
}

/// Takes a key, until the transaction ends for all others. False when it was
/// taken before; a transaction that is about to take it is waited for.
///
/// # Errors
///
/// What the driver says.
pub async fn claim(tx: &mut Tx, asked: &Asked<'_>) -> Result<bool, Error> {
    let touched = tx
        .query(
            "INSERT INTO api_requests (owner_id, idempotency_key, token_id, target, body_sha256, asked_at, status, \
             location, answer) VALUES ($1, $2, $3, $4, $5, $6, 0, '', '') \
             ON CONFLICT (owner_id, idempotency_key) DO NOTHING",
        )
        .bind(asked.owner)
        .bind(asked.key)
        .bind(asked.token.0)
        .bind(asked.target)
        .bind(asked.body_sha256)
        .bind(asked.at.as_microsecond())
        .execute()
        .await?;
    Ok(touched == 1)
}

/// A request that was answered before.
#[derive(Clone, Debug, PartialEq, Eq, sqlx::FromRow)]
pub struct Known {
    /// Method and address.
    pub target: String,
    /// SHA-256 of the body and its kind.
    pub body_sha256: String,
    /// Status of the answer.
    pub status: i64,
    /// Address of what was made; may be empty.
    pub location: String,
    /// The answer's text.
    pub answer: String,
}

/// The request that took a key.
///
/// # Errors
///
/// What the driver says.
pub async fn known(tx: &mut Tx, owner: Uuid, key: &str) -> Result<Option<Known>, Error> {
    tx.query(
        "SELECT target, body_sha256, status, location, answer FROM api_requests \
         WHERE owner_id = $1 AND idempotency_key = $2",
    )
    .bind(owner)
    .bind(key)
    .optional()
    .await
}

/// Writes the answer to the request that took a key in this transaction.
///
/// # Errors
///
/// What the driver says.
pub async fn answer(
    tx: &mut Tx,
    owner: Uuid,
    key: &str,
    status: u16,
    location: &str,
    answer: &str,
) -> Result<(), Error> {
    tx.query(
        "UPDATE api_requests SET status = $1, location = $2, answer = $3 \
         WHERE owner_id = $4 AND idempotency_key = $5 AND status = 0",
    )
    .bind(i64::from(status))
    .bind(location)
    .bind(answer)
    .bind(owner)
    .bind(key)
    .execute()
    .await?;
    Ok(())
}
