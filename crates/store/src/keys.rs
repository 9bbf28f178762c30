//! The keys that sign. Rows are only ever inserted, and retired.

use crate::row::Micros;
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::seal::{PublicKey, SecretKey};

/// A key that everybody may check signatures with.
#[derive(Clone, Debug)]
pub struct Key {
    /// Its name, which receipts carry.
    pub id: String,
    /// The key.
    pub public: PublicKey,
    /// Since when it signs.
    pub made_at: Timestamp,
    /// Since when it does not sign any more.
    pub retired_at: Option<Timestamp>,
    /// Until when it signs at the latest; none of keys from before ends were planned.
    pub ends_at: Option<Timestamp>,
}

impl Key {
    /// Until when it signs or signed, as far as that is known.
    pub fn signs_until(&self) -> Option<Timestamp> {
        match (self.retired_at, self.ends_at) {
            (Some(retired), Some(end)) => Some(retired.min(end)),
            (retired, end) => retired.or(end),
        }
    }
}

#[derive(sqlx::FromRow)]
struct Row {
    id: String,
    public_key: Vec<u8>,
    #[sqlx(try_from = "i64")]
    made_at: Micros,
    retired_at: Option<i64>,
    ends_at: Option<i64>,
}

impl Row {
    fn key(self) -> Result<Key, Error> {
        Ok(Key {
            id: self.id,
            public: PublicKey::from_bytes(&self.public_key).map_err(|_| crate::row::corrupt("a public key"))?,
            made_at: self.made_at.0,
            retired_at: self.retired_at.map(crate::row::instant).transpose()?,
            ends_at: self.ends_at.map(crate::row::instant).transpose()?,
        })
    }
}

/// Keeps a key that signs until `end`, unless there is one that signs. Of two
/// copies of the program that do this at once, one does.
///
/// # Errors
///
/// What the driver says.
pub async fn keep_first(tx: &mut Tx, key: &SecretKey, now: Timestamp, end: Timestamp) -> Result<bool, Error> {
    let (id, public, secret) = (key.public().id(), key.public().to_bytes(), key.to_bytes());
    let touched = tx
        .query(
            "INSERT INTO signing_keys (id, number, public_key, secret_key, made_at, ends_at) \
             SELECT $1, (SELECT COALESCE(MAX(number), 0) + 1 FROM signing_keys), $2, $3, $4, $5 \
             WHERE NOT EXISTS (SELECT 1 FROM signing_keys WHERE retired_at IS NULL) \
             ON CONFLICT (number) DO NOTHING",
        )
        .bind(id)
        .bind(public.to_vec())
        .bind(secret.to_vec())
        .bind(now.as_microsecond())
        .bind(end.as_microsecond())
        .execute()
        .await?;
    Ok(touched == 1)
}

/// Retires the keys that sign: from now on, or from the end that was planned where
/// that came before. Whether there was one.
///
/// # Errors
///
/// What the driver says.
pub async fn retire(tx: &mut Tx, now: Timestamp) -> Result<bool, Error> {
    let touched = tx
        .query(
            "UPDATE signing_keys SET retired_at = CASE WHEN ends_at < $1 THEN ends_at ELSE $1 END \
             WHERE retired_at IS NULL",
        )
        .bind(now.as_microsecond())
        .execute()
        .await?;
    Ok(touched > 0)
}

/// Retires the keys whose planned end has come.
///
/// # Errors
///
/// What the driver says.
pub async fn retire_ended(tx: &mut Tx, now: Timestamp) -> Result<bool, Error> {
    let touched = tx
        .query("UPDATE signing_keys SET retired_at = ends_at WHERE retired_at IS NULL AND ends_at <= $1")
        .bind(now.as_microsecond())
        .execute()
        .await?;
    Ok(touched > 0)
}

/// The key that signs, with its secret half.
///
/// # Errors
///
/// What the driver says.
pub async fn signing(tx: &mut Tx) -> Result<Option<SecretKey>, Error> {
    let row: Option<(Vec<u8>,)> = tx
        .query("SELECT secret_key FROM signing_keys WHERE retired_at IS NULL ORDER BY number DESC LIMIT 1")
        .optional()
        .await?;
    let Some((bytes,)) = row else { return Ok(None) };
    let bytes = bytes.try_into().map_err(|_| crate::row::corrupt("a secret key"))?;
    Ok(Some(SecretKey::from_bytes(&bytes)))
}

/// A key by its name.
///
/// # Errors
///
/// What the driver says.
pub async fn by_id(tx: &mut Tx, id: &str) -> Result<Option<Key>, Error> {
    let row: Option<Row> = tx
        .query("SELECT id, public_key, made_at, retired_at, ends_at FROM signing_keys WHERE id = $1")
        .bind(id)
        .optional()
        .await?;
    row.map(Row::key).transpose()
}

/// All keys, the newest first.
///
/// # Errors
///
/// What the driver says.
pub async fn all(tx: &mut Tx) -> Result<Vec<Key>, Error> {
    let rows: Vec<Row> = tx
        .query("SELECT id, public_key, made_at, retired_at, ends_at FROM signing_keys ORDER BY number DESC")
        .all()
        .await?;
    rows.into_iter().map(Row::key).collect()
}
