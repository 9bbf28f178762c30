//! The people of a laboratory: who they are, what they may do, whom they invite.

use crate::accounts::rights_of;
use crate::row::Micros;
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::access::Rights;
use roundel_domain::id::{LaboratoryId, UserId};
use uuid::Uuid;

/// A person of a laboratory.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Person {
    /// Who.
    #[sqlx(try_from = "Uuid")]
    pub id: UserId,
    /// Name as shown.
    pub name: String,
    /// Address.
    pub email: String,
    rights: Option<String>,
    #[sqlx(try_from = "i64")]
    created_at: Micros,
    ended_at: Option<i64>,
}

impl Person {
    /// What the person may do, or might before access ended.
    pub fn rights(&self) -> Rights {
        rights_of(self.rights.as_deref())
    }

    /// Since when the person has an account.
    pub fn created_at(&self) -> Timestamp {
        self.created_at.0
    }

    /// When access ended.
    pub fn ended_at(&self) -> Option<Timestamp> {
        self.ended_at.and_then(|at| Timestamp::from_microsecond(at).ok())
    }

    /// Whether the person has access.
    pub fn is_active(&self) -> bool {
        self.ended_at.is_none()
    }
}

/// The people of a laboratory, by name; those whose access has ended too.
///
/// # Errors
///
/// What the driver says.
pub async fn of_laboratory(tx: &mut Tx, laboratory: LaboratoryId) -> Result<Vec<Person>, Error> {
    tx.query(
        "SELECT id, name, email, rights, created_at, ended_at FROM users WHERE laboratory_id = $1 \
         ORDER BY lower(name), id",
    )
    .bind(laboratory.0)
    .all()
    .await
}

/// Keeps other changes of a laboratory's people waiting until this transaction
/// ends, so that two cannot each take the last right to send away.
///
/// # Errors
///
/// What the driver says.
pub async fn hold(tx: &mut Tx, laboratory: LaboratoryId) -> Result<(), Error> {
    tx.query("UPDATE laboratories SET second_person = second_person WHERE id = $1")
        .bind(laboratory.0)
        .execute()
        .await?;
    Ok(())
}

/// Gives a person with access other rights. False when the laboratory has no
/// such person.
///
/// # Errors
///
/// What the driver says.
pub async fn set_rights(tx: &mut Tx, laboratory: LaboratoryId, user: UserId, rights: Rights) -> Result<bool, Error> {
    let touched = tx
        .query("UPDATE users SET rights = $1 WHERE id = $2 AND laboratory_id = $3 AND ended_at IS NULL")
        .bind(rights.word())
        .bind(user.0)
        .bind(laboratory.0)
        .execute()
        .await?;
    Ok(touched == 1)
}

/// Ends a person's access; the name stays. False when the laboratory has no such
/// person.
///
/// # Errors
///
/// What the driver says.
pub async fn end(tx: &mut Tx, laboratory: LaboratoryId, user: UserId, now: Timestamp) -> Result<bool, Error> {
    let touched = tx
        .query("UPDATE users SET ended_at = $1 WHERE id = $2 AND laboratory_id = $3 AND ended_at IS NULL")
        .bind(now.as_microsecond())
        .bind(user.0)
        .bind(laboratory.0)
        .execute()
        .await?;
    Ok(touched == 1)
}

/// What somebody types who comes back.
#[derive(Clone, Copy, Debug)]
pub struct Return<'a> {
    /// Who.
    pub user: UserId,
    /// Name as shown.
    pub name: &'a str,
    /// Argon2id, in PHC form.
    pub password_hash: &'a str,
    /// What the person may do.
    pub rights: Rights,
}

/// Gives a person whose access had ended a new one. False when the laboratory
/// has no such person.
///
/// # Errors
///
/// What the driver says.
pub async fn take_back(tx: &mut Tx, laboratory: LaboratoryId, back: &Return<'_>) -> Result<bool, Error> {
    let touched = tx
        .query(
            "UPDATE users SET name = $1, password_hash = $2, rights = $3, ended_at = NULL \
             WHERE id = $4 AND laboratory_id = $5 AND ended_at IS NOT NULL",
        )
        .bind(back.name)
        .bind(back.password_hash)
        .bind(back.rights.word())
        .bind(back.user.0)
        .bind(laboratory.0)
        .execute()
        .await?;
    Ok(touched == 1)
}

/// Whether a laboratory wants its results sent by somebody who typed none of them.
///
/// # Errors
///
/// What the driver says.
pub async fn wants_second(tx: &mut Tx, laboratory: LaboratoryId) -> Result<bool, Error> {
    tx.query("SELECT second_person FROM laboratories WHERE id = $1").bind(laboratory.0).value().await
}

/// Says whether a laboratory wants its results sent by somebody who typed none of
/// them. False when that was so before.
///
/// # Errors
///
/// What the driver says.
pub async fn want_second(tx: &mut Tx, laboratory: LaboratoryId, wanted: bool) -> Result<bool, Error> {
    let touched = tx
        .query("UPDATE laboratories SET second_person = $1 WHERE id = $2 AND second_person <> $1")
        .bind(wanted)
        .bind(laboratory.0)
        .execute()
        .await?;
    Ok(touched == 1)
}

/// Somebody who is invited by address.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Invited {
    /// The address.
    pub email: String,
    rights: String,
    inviter: Option<Uuid>,
    /// Name of who invited.
    pub inviter_name: Option<String>,
    #[sqlx(try_from = "i64")]
    until: Micros,
}

impl Invited {
    /// What the person will be able to do.
    pub fn rights(&self) -> Rights {
        rights_of(Some(&self.rights))
    }

    /// Who invited.
    pub fn inviter(&self) -> Option<UserId> {
        self.inviter.map(UserId)
    }

    /// Until when the link is open.
    pub fn until(&self) -> Timestamp {
        self.until.0
    }
}

/// Who is invited by address and has not come yet, by address.
///
/// # Errors
///
/// What the driver says.
pub async fn invited(tx: &mut Tx, laboratory: LaboratoryId, now: Timestamp) -> Result<Vec<Invited>, Error> {
    // Every try to send an invitation made a link of its own, with the same rights.
    tx.query(
        "SELECT i.email, i.rights, i.invited_by AS inviter, u.name AS inviter_name, max(i.expires_at) AS until \
         FROM invitations i LEFT JOIN users u ON u.id = i.invited_by \
         WHERE i.laboratory_id = $1 AND i.email IS NOT NULL AND i.used_at IS NULL AND i.expires_at > $2 \
         GROUP BY i.email, i.rights, i.invited_by, u.name ORDER BY i.email",
    )
    .bind(laboratory.0)
    .bind(now.as_microsecond())
    .all()
    .await
}

/// Ends the open invitations that a person made.
///
/// # Errors
///
/// What the driver says.
pub async fn withdraw_all_of(tx: &mut Tx, inviter: UserId, now: Timestamp) -> Result<(), Error> {
    tx.query(
        "UPDATE invitations SET expires_at = $1 \
         WHERE invited_by = $2 AND email IS NOT NULL AND used_at IS NULL AND expires_at > $1",
    )
    .bind(now.as_microsecond())
    .bind(inviter.0)
    .execute()
    .await?;
    Ok(())
}

/// Ends the open invitations of an address. False when there was none.
///
/// # Errors
///
/// What the driver says.
pub async fn withdraw(tx: &mut Tx, laboratory: LaboratoryId, email: &str, now: Timestamp) -> Result<bool, Error> {
    let touched = tx
        .query(
            "UPDATE invitations SET expires_at = $1 \
             WHERE laboratory_id = $2 AND email = $3 AND used_at IS NULL AND expires_at > $1",
        )
        .bind(now.as_microsecond())
        .bind(laboratory.0)
        .bind(email)
        .execute()
        .await?;
    Ok(touched > 0)
}
