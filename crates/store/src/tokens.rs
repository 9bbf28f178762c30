//! Tokens with which programs act in a person's name.

use crate::row::Micros;
use crate::{Error, Tx, accounts};
use jiff::Timestamp;
use roundel_domain::access::Actor;
use roundel_domain::id::{TokenId, UserId};
use uuid::Uuid;

/// A token to be stored.
#[derive(Clone, Copy, Debug)]
pub struct NewToken<'a> {
    /// Its name for good.
    pub id: TokenId,
    /// SHA-256 of what the program shows.
    pub token_hash: &'a [u8],
    /// In whose name it acts.
    pub user: UserId,
    /// What its owner calls it.
    pub name: &'a str,
    /// Whether it may do more than look.
    pub may_change: bool,
    /// When it was made.
    pub at: Timestamp,
    /// When it ends.
    pub expires_at: Timestamp,
}

/// Stores a token.
///
/// # Errors
///
/// What the driver says.
pub async fn insert(tx: &mut Tx, new: &NewToken<'_>) -> Result<(), Error> {
    tx.query(
        "INSERT INTO api_tokens (id, token_hash, user_id, name, may_change, created_at, expires_at) \
         VALUES ($1, $2, $3, $4, $5, $6, $7)",
    )
    .bind(new.id.0)
    .bind(new.token_hash)
    .bind(new.user.0)
    .bind(new.name)
    .bind(new.may_change)
    .bind(new.at.as_microsecond())
    .bind(new.expires_at.as_microsecond())
    .execute()
    .await?;
    Ok(())
}

/// A token that is shown by a program, with its person.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Shown {
    /// Its name for good.
    #[sqlx(try_from = "Uuid")]
    pub id: TokenId,
    #[sqlx(try_from = "Uuid")]
    user_id: UserId,
    role: String,
    laboratory_id: Option<Uuid>,
    rights: Option<String>,
    /// Name of the person.
    pub person: String,
    /// Whether it may do more than look.
    pub may_change: bool,
    last_used_at: Option<i64>,
}

impl Shown {
    /// What the program may act as: what its person may now.
    pub fn actor(&self) -> Actor {
        accounts::actor(self.user_id, &self.role, self.laboratory_id, self.rights.as_deref())
    }

    /// When it was last noted as used.
    pub fn last_used_at(&self) -> Option<Timestamp> {
        self.last_used_at.and_then(|at| Timestamp::from_microsecond(at).ok())
    }
}

/// The token with this hash, unless it has ended or was revoked at `now`, or its
/// person's access has ended.
///
/// # Errors
///
/// What the driver says.
pub async fn shown(tx: &mut Tx, token_hash: &[u8], now: Timestamp) -> Result<Option<Shown>, Error> {
    tx.query(
        "SELECT t.id, t.user_id, u.role, u.laboratory_id, u.rights, u.name AS person, t.may_change, t.last_used_at \
         FROM api_tokens t JOIN users u ON u.id = t.user_id \
         WHERE t.token_hash = $1 AND t.expires_at > $2 AND t.revoked_at IS NULL AND u.ended_at IS NULL",
    )
    .bind(token_hash)
    .bind(now.as_microsecond())
    .optional()
    .await
}

/// Notes that a token was used.
///
/// # Errors
///
/// What the driver says.
pub async fn note_use(tx: &mut Tx, id: TokenId, now: Timestamp) -> Result<(), Error> {
    tx.query("UPDATE api_tokens SET last_used_at = $1 WHERE id = $2")
        .bind(now.as_microsecond())
        .bind(id.0)
        .execute()
        .await?;
    Ok(())
}

/// A token as its owner sees it: what it shows is known to the program alone.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Kept {
    /// Its name for good.
    #[sqlx(try_from = "Uuid")]
    pub id: TokenId,
    /// What its owner calls it.
    pub name: String,
    /// Whether it may do more than look.
    pub may_change: bool,
    #[sqlx(try_from = "i64")]
    created_at: Micros,
    #[sqlx(try_from = "i64")]
    expires_at: Micros,
    revoked_at: Option<i64>,
    last_used_at: Option<i64>,
}

impl Kept {
    /// When it was made.
    pub fn created_at(&self) -> Timestamp {
        self.created_at.0
    }

    /// When it ends.
    pub fn expires_at(&self) -> Timestamp {
        self.expires_at.0
    }

    /// When it was revoked.
    pub fn revoked_at(&self) -> Option<Timestamp> {
        self.revoked_at.and_then(|at| Timestamp::from_microsecond(at).ok())
    }

    /// When it was last noted as used.
    pub fn last_used_at(&self) -> Option<Timestamp> {
        self.last_used_at.and_then(|at| Timestamp::from_microsecond(at).ok())
    }

    /// Whether a program can still use it.
    pub fn is_open(&self, now: Timestamp) -> bool {
        self.revoked_at.is_none() && self.expires_at.0 > now
    }
}

/// The tokens of a person, newest first.
///
/// # Errors
///
/// What the driver says.
pub async fn of_user(tx: &mut Tx, user: UserId) -> Result<Vec<Kept>, Error> {
    tx.query(
        "SELECT id, name, may_change, created_at, expires_at, revoked_at, last_used_at FROM api_tokens \
         WHERE user_id = $1 ORDER BY created_at DESC, id DESC",
    )
    .bind(user.0)
    .all()
    .await
}

/// Ends a token of a person for good. False when there is none that is open.
///
/// # Errors
///
/// What the driver says.
pub async fn revoke(tx: &mut Tx, user: UserId, id: TokenId, now: Timestamp) -> Result<bool, Error> {
    let touched = tx
        .query("UPDATE api_tokens SET revoked_at = $1 WHERE id = $2 AND user_id = $3 AND revoked_at IS NULL")
        .bind(now.as_microsecond())
        .bind(id.0)
        .bind(user.0)
        .execute()
        .await?;
    Ok(touched == 1)
}

/// Ends all tokens of a person for good.
///
/// # Errors
///
/// What the driver says.
pub async fn revoke_all(tx: &mut Tx, user: UserId, now: Timestamp) -> Result<(), Error> {
    tx.query("UPDATE api_tokens SET revoked_at = $1 WHERE user_id = $2 AND revoked_at IS NULL")
        .bind(now.as_microsecond())
        .bind(user.0)
        .execute()
        .await?;
    Ok(())
}
