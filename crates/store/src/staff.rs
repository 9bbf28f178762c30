//! The organiser's people, and the invitations to them.

use crate::row::Micros;
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::access::Duty;
use roundel_domain::id::UserId;
use uuid::Uuid;

/// The duty of a column. The schema has no other words; whatever else stood there
/// would give the one that edits nothing.
fn duty_of(word: &str) -> Duty {
    Duty::of(word).unwrap_or(Duty::Reviewer)
}

/// A person of the organiser.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Member {
    /// Who.
    #[sqlx(try_from = "Uuid")]
    pub id: UserId,
    /// Name as shown.
    pub name: String,
    /// Address.
    pub email: String,
    role: String,
    #[sqlx(try_from = "i64")]
    created_at: Micros,
    ended_at: Option<i64>,
}

impl Member {
    /// What the person is there for.
    pub fn duty(&self) -> Duty {
        duty_of(&self.role)
    }

    /// Since when the person has an account.
    pub fn created_at(&self) -> Timestamp {
        self.created_at.0
    }

    /// When access ended.
    pub fn ended_at(&self) -> Option<Timestamp> {
        self.ended_at.and_then(|at| Timestamp::from_microsecond(at).ok())
    }
}

/// The organiser's people, by name; those whose access has ended too.
///
/// # Errors
///
/// What the driver says.
pub async fn all(tx: &mut Tx) -> Result<Vec<Member>, Error> {
    tx.query(
        "SELECT id, name, email, role, created_at, ended_at FROM users WHERE laboratory_id IS NULL \
         ORDER BY lower(name), id",
    )
    .all()
    .await
}

/// Ends the access of a person of the organiser, not of the last organiser. False
/// when there is no such person, or it is the last.
///
/// # Errors
///
/// What the driver says.
pub async fn end(tx: &mut Tx, user: UserId, now: Timestamp) -> Result<bool, Error> {
    let touched = tx
        .query(
            "UPDATE users SET ended_at = $1 WHERE id = $2 AND laboratory_id IS NULL AND ended_at IS NULL \
             AND (role <> 'organiser' OR EXISTS (SELECT 1 FROM users o WHERE o.role = 'organiser' \
             AND o.ended_at IS NULL AND o.id <> $2))",
        )
        .bind(now.as_microsecond())
        .bind(user.0)
        .execute()
        .await?;
    Ok(touched == 1)
}

/// An invitation to be written.
#[derive(Clone, Copy, Debug)]
pub struct NewInvitation<'a> {
    /// SHA-256 of what its link ends with.
    pub token_hash: &'a [u8],
    /// What the person is to do.
    pub duty: Duty,
    /// The address that it is for.
    pub email: &'a str,
    /// Who invites.
    pub by: UserId,
    /// Until when it is open.
    pub expires_at: Timestamp,
}

/// Writes an invitation.
///
/// # Errors
///
/// What the driver says.
pub async fn invite(tx: &mut Tx, new: &NewInvitation<'_>, now: Timestamp) -> Result<(), Error> {
    tx.query(
        "INSERT INTO staff_invitations (token_hash, duty, email, invited_by, created_at, expires_at) \
         VALUES ($1, $2, $3, $4, $5, $6)",
    )
    .bind(new.token_hash)
    .bind(new.duty.word())
    .bind(new.email)
    .bind(new.by.0)
    .bind(now.as_microsecond())
    .bind(new.expires_at.as_microsecond())
    .execute()
    .await?;
    Ok(())
}

/// An open invitation.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Invitation {
    duty: String,
    /// The address that it is for.
    pub email: String,
    /// Who invites.
    pub by: String,
    #[sqlx(try_from = "i64")]
    expires_at: Micros,
}

impl Invitation {
    /// What the person is to do.
    pub fn duty(&self) -> Duty {
        duty_of(&self.duty)
    }

    /// Until when it is open.
    pub fn until(&self) -> Timestamp {
        self.expires_at.0
    }
}

/// The invitations that are open at `now`, by address.
///
/// # Errors
///
/// What the driver says.
pub async fn invited(tx: &mut Tx, now: Timestamp) -> Result<Vec<Invitation>, Error> {
    tx.query(
        "SELECT i.duty, i.email, u.name AS by, i.expires_at FROM staff_invitations i \
         JOIN users u ON u.id = i.invited_by WHERE i.used_at IS NULL AND i.expires_at > $1 ORDER BY i.email",
    )
    .bind(now.as_microsecond())
    .all()
    .await
}

/// The invitation with this token, if it is open at `now`.
///
/// # Errors
///
/// What the driver says.
pub async fn invitation(tx: &mut Tx, token_hash: &[u8], now: Timestamp) -> Result<Option<Invitation>, Error> {
    tx.query(
        "SELECT i.duty, i.email, u.name AS by, i.expires_at FROM staff_invitations i \
         JOIN users u ON u.id = i.invited_by WHERE i.token_hash = $1 AND i.used_at IS NULL AND i.expires_at > $2",
    )
    .bind(token_hash)
    .bind(now.as_microsecond())
    .optional()
    .await
}

/// Ends the open invitations of an address; how many there were.
///
/// # Errors
///
/// What the driver says.
pub async fn withdraw(tx: &mut Tx, email: &str, now: Timestamp) -> Result<u64, Error> {
    tx.query("UPDATE staff_invitations SET expires_at = $1 WHERE email = $2 AND used_at IS NULL AND expires_at > $1")
        .bind(now.as_microsecond())
        .bind(email)
        .execute()
        .await
}

/// Uses an invitation up. False when it was not open.
///
/// # Errors
///
/// What the driver says.
pub async fn use_invitation(tx: &mut Tx, token_hash: &[u8], now: Timestamp) -> Result<bool, Error> {
    let touched = tx
        .query(
            "UPDATE staff_invitations SET used_at = $1 WHERE token_hash = $2 AND used_at IS NULL AND expires_at > $1",
        )
        .bind(now.as_microsecond())
        .bind(token_hash)
        .execute()
        .await?;
    Ok(touched == 1)
}
