//! The installation: who provides, and the one-time set-up link.

use crate::{Error, Tx};
use jiff::Timestamp;

/// Who runs this installation.
#[derive(Clone, Debug, PartialEq, Eq, sqlx::FromRow)]
pub struct Installation {
    /// The provider's name as printed.
    pub provider: String,
    /// How to reach it, as printed.
    pub contact: String,
    /// Its accreditation status, as printed.
    pub accreditation: String,
    /// Whether everything here is demonstration data.
    pub demonstration: bool,
}

/// Who runs this installation, once it has been set up.
///
/// # Errors
///
/// What the driver says, as everywhere here.
pub async fn get(tx: &mut Tx) -> Result<Option<Installation>, Error> {
    tx.query("SELECT provider, contact, accreditation, demonstration FROM installation WHERE setup_hash IS NULL")
        .optional()
        .await
}

/// Writes the hash of a set-up link, unless set-up is over; the number of rows.
///
/// # Errors
///
/// What the driver says.
pub async fn offer_setup(tx: &mut Tx, hash: &[u8], expires_at: Timestamp) -> Result<bool, Error> {
    let touched = tx
        .query(
            "INSERT INTO installation (id, provider, contact, accreditation, demonstration, setup_hash, setup_expires_at) \
             VALUES (1, '', '', '', $1, $2, $3) \
             ON CONFLICT (id) DO UPDATE SET setup_hash = excluded.setup_hash, setup_expires_at = excluded.setup_expires_at \
             WHERE installation.setup_hash IS NOT NULL",
        )
        .bind(false)
        .bind(hash)
        .bind(expires_at.as_microsecond())
        .execute()
        .await?;
    Ok(touched == 1)
}

/// Whether a set-up link with this hash is open at `now`.
///
/// # Errors
///
/// What the driver says.
pub async fn setup_is_open(tx: &mut Tx, hash: &[u8], now: Timestamp) -> Result<bool, Error> {
    let row: Option<(i64,)> = tx
        .query("SELECT id FROM installation WHERE setup_hash = $1 AND setup_expires_at > $2")
        .bind(hash)
        .bind(now.as_microsecond())
        .optional()
        .await?;
    Ok(row.is_some())
}

/// Ends set-up: the link is dead, the provider known. False when the link was
/// not open.
///
/// # Errors
///
/// What the driver says.
pub async fn finish_setup(
    tx: &mut Tx,
    hash: &[u8],
    installation: &Installation,
    now: Timestamp,
) -> Result<bool, Error> {
    let touched = tx
        .query(
            "UPDATE installation SET provider = $1, contact = $2, accreditation = $3, demonstration = $4, \
             setup_hash = NULL, setup_expires_at = NULL WHERE setup_hash = $5 AND setup_expires_at > $6",
        )
        .bind(installation.provider.as_str())
        .bind(installation.contact.as_str())
        .bind(installation.accreditation.as_str())
        .bind(installation.demonstration)
        .bind(hash)
        .bind(now.as_microsecond())
        .execute()
        .await?;
    Ok(touched == 1)
}
