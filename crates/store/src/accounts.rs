//! People: accounts, sessions, invitations.

use crate::row::Micros;
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::access::{Actor, Duty, Rights, Standing};
use roundel_domain::id::{LaboratoryId, RoundId, UserId};
use uuid::Uuid;

/// A person with a password.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct User {
    /// Who.
    #[sqlx(try_from = "Uuid")]
    pub id: UserId,
    /// Address, in lower case.
    pub email: String,
    /// Name as shown.
    pub name: String,
    /// Argon2id, in PHC form.
    pub password_hash: String,
    role: String,
    laboratory_id: Option<Uuid>,
    rights: Option<String>,
    ended_at: Option<i64>,
}

impl User {
    /// What the person may act as.
    pub fn actor(&self) -> Actor {
        actor(self.id, &self.role, self.laboratory_id, self.rights.as_deref())
    }

    /// Whether the person's access has ended.
    pub fn has_ended(&self) -> bool {
        self.ended_at.is_some()
    }
}

pub(crate) fn actor(user: UserId, role: &str, laboratory: Option<Uuid>, rights: Option<&str>) -> Actor {
    let standing = match laboratory {
        // The reviewer edits nothing: what a word of another version would get.
        None => Standing::Staff(Duty::of(role).unwrap_or(Duty::Reviewer)),
        Some(id) => Standing::Laboratory(LaboratoryId(id), rights_of(rights)),
    };
    Actor::new(user, standing)
}

/// The rights of a column. The schema has no other words; whatever else stood
/// there would give the least.
pub(crate) fn rights_of(word: Option<&str>) -> Rights {
    word.and_then(Rights::of).unwrap_or(Rights::Read)
}

/// A person to be added.
#[derive(Clone, Copy, Debug)]
pub struct NewUser<'a> {
    /// Who.
    pub id: UserId,
    /// Address, in lower case.
    pub email: &'a str,
    /// Name as shown.
    pub name: &'a str,
    /// Argon2id, in PHC form.
    pub password_hash: &'a str,
    /// Whose the account is.
    pub standing: Standing,
}

/// Adds a person.
///
/// # Errors
///
/// [`Error::Exists`] when the address has an account.
pub async fn insert(tx: &mut Tx, user: &NewUser<'_>, now: Timestamp) -> Result<(), Error> {
    let (role, laboratory, rights) = match user.standing {
        Standing::Staff(duty) => (duty.word(), None, None),
        Standing::Laboratory(id, rights) => ("laboratory", Some(id.0), Some(rights.word())),
    };
    tx.query(
        "INSERT INTO users (id, email, name, password_hash, role, laboratory_id, rights, created_at) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
    )
    .bind(user.id.0)
    .bind(user.email)
    .bind(user.name)
    .bind(user.password_hash)
    .bind(role)
    .bind(laboratory)
    .bind(rights)
    .bind(now.as_microsecond())
    .execute()
    .await?;
    Ok(())
}

/// The person with this address.
///
/// # Errors
///
/// What the driver says.
pub async fn by_email(tx: &mut Tx, email: &str) -> Result<Option<User>, Error> {
    tx.query("SELECT id, email, name, password_hash, role, laboratory_id, rights, ended_at FROM users WHERE email = $1")
        .bind(email)
        .optional()
        .await
}

/// The person.
///
/// # Errors
///
/// What the driver says.
pub async fn by_id(tx: &mut Tx, id: UserId) -> Result<Option<User>, Error> {
    tx.query("SELECT id, email, name, password_hash, role, laboratory_id, rights, ended_at FROM users WHERE id = $1")
        .bind(id.0)
        .optional()
        .await
}

/// Somebody to write to.
#[derive(Clone, Debug, PartialEq, Eq, sqlx::FromRow)]
pub struct Contact {
    /// The person's laboratory.
    #[sqlx(try_from = "Uuid")]
    pub laboratory: LaboratoryId,
    /// Address of the person.
    pub email: String,
    /// Name of the person.
    pub name: String,
}

/// The people with access of the laboratories of a round, by address.
///
/// # Errors
///
/// What the driver says.
pub async fn of_round(tx: &mut Tx, round: RoundId) -> Result<Vec<Contact>, Error> {
    tx.query(
        "SELECT u.laboratory_id AS laboratory, u.email, u.name FROM users u \
         JOIN participants p ON p.laboratory_id = u.laboratory_id \
         WHERE p.round_id = $1 AND u.ended_at IS NULL ORDER BY u.email",
    )
    .bind(round.0)
    .all()
    .await
}

/// Whether a laboratory has somebody with access.
///
/// # Errors
///
/// What the driver says.
pub async fn has_people(tx: &mut Tx, laboratory: LaboratoryId) -> Result<bool, Error> {
    let people: i64 = tx
        .query("SELECT count(*) FROM users WHERE laboratory_id = $1 AND ended_at IS NULL")
        .bind(laboratory.0)
        .value()
        .await?;
    Ok(people > 0)
}

/// A session, with its person.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Session {
    #[sqlx(try_from = "Uuid")]
    user_id: UserId,
    role: String,
    laboratory_id: Option<Uuid>,
    rights: Option<String>,
    /// Address of the person.
    pub email: String,
    /// Name of the person as shown.
    pub name: String,
    /// The laboratory's name, for its people.
    pub laboratory_name: Option<String>,
    /// What every form of this session carries.
    pub form_token: String,
}

impl Session {
    /// What the person may act as.
    pub fn actor(&self) -> Actor {
        actor(self.user_id, &self.role, self.laboratory_id, self.rights.as_deref())
    }
}

/// Begins a session.
///
/// # Errors
///
/// What the driver says.
pub async fn begin_session(
    tx: &mut Tx,
    token_hash: &[u8],
    user: UserId,
    form_token: &str,
    now: Timestamp,
    expires_at: Timestamp,
) -> Result<(), Error> {
    tx.query(
        "INSERT INTO sessions (token_hash, user_id, form_token, created_at, expires_at) VALUES ($1, $2, $3, $4, $5)",
    )
    .bind(token_hash)
    .bind(user.0)
    .bind(form_token)
    .bind(now.as_microsecond())
    .bind(expires_at.as_microsecond())
    .execute()
    .await?;
    Ok(())
}

/// The session with this token, if it has not ended at `now`, nor its person's
/// access.
///
/// # Errors
///
/// What the driver says.
pub async fn session(tx: &mut Tx, token_hash: &[u8], now: Timestamp) -> Result<Option<Session>, Error> {
    tx.query(
        "SELECT s.user_id, u.role, u.laboratory_id, u.rights, u.email, u.name, l.name AS laboratory_name, \
         s.form_token \
         FROM sessions s JOIN users u ON u.id = s.user_id LEFT JOIN laboratories l ON l.id = u.laboratory_id \
         WHERE s.token_hash = $1 AND s.expires_at > $2 AND u.ended_at IS NULL",
    )
    .bind(token_hash)
    .bind(now.as_microsecond())
    .optional()
    .await
}

/// Ends a session.
///
/// # Errors
///
/// What the driver says.
pub async fn end_session(tx: &mut Tx, token_hash: &[u8]) -> Result<(), Error> {
    tx.query("DELETE FROM sessions WHERE token_hash = $1").bind(token_hash).execute().await?;
    Ok(())
}

/// Ends all sessions of a person.
///
/// # Errors
///
/// What the driver says.
pub async fn end_sessions_of(tx: &mut Tx, user: UserId) -> Result<(), Error> {
    tx.query("DELETE FROM sessions WHERE user_id = $1").bind(user.0).execute().await?;
    Ok(())
}

/// Forgets sessions that have ended before `now`.
///
/// # Errors
///
/// What the driver says.
pub async fn forget_ended_sessions(tx: &mut Tx, now: Timestamp) -> Result<u64, Error> {
    tx.query("DELETE FROM sessions WHERE expires_at <= $1").bind(now.as_microsecond()).execute().await
}

/// An invitation to be written.
#[derive(Clone, Copy, Debug)]
pub struct NewInvitation<'a> {
    /// SHA-256 of what its link ends with.
    pub token_hash: &'a [u8],
    /// The laboratory that it leads to.
    pub laboratory: LaboratoryId,
    /// The address that it is for; none where it goes to that of the laboratory.
    pub email: Option<&'a str>,
    /// What the person may do.
    pub rights: Rights,
    /// Who invites, where that is known.
    pub by: Option<UserId>,
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
        "INSERT INTO invitations (token_hash, laboratory_id, email, rights, invited_by, created_at, expires_at) \
         VALUES ($1, $2, $3, $4, $5, $6, $7)",
    )
    .bind(new.token_hash)
    .bind(new.laboratory.0)
    .bind(new.email)
    .bind(new.rights.word())
    .bind(new.by.map(|id| id.0))
    .bind(now.as_microsecond())
    .bind(new.expires_at.as_microsecond())
    .execute()
    .await?;
    Ok(())
}

/// Ends the open invitations of a laboratory that are for no address of their
/// own: a newer one takes their place.
///
/// # Errors
///
/// What the driver says.
pub async fn end_invitations(tx: &mut Tx, laboratory: LaboratoryId, now: Timestamp) -> Result<(), Error> {
    tx.query(
        "UPDATE invitations SET expires_at = $1 \
         WHERE laboratory_id = $2 AND email IS NULL AND used_at IS NULL AND expires_at > $1",
    )
    .bind(now.as_microsecond())
    .bind(laboratory.0)
    .execute()
    .await?;
    Ok(())
}

/// Ends one invitation.
///
/// # Errors
///
/// What the driver says.
pub async fn end_invitation(tx: &mut Tx, token_hash: &[u8], now: Timestamp) -> Result<(), Error> {
    tx.query("UPDATE invitations SET expires_at = $1 WHERE token_hash = $2 AND used_at IS NULL AND expires_at > $1")
        .bind(now.as_microsecond())
        .bind(token_hash)
        .execute()
        .await?;
    Ok(())
}

/// What an open invitation is for.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Invitation {
    /// The laboratory.
    #[sqlx(try_from = "Uuid")]
    pub laboratory_id: LaboratoryId,
    /// Its name.
    pub name: String,
    /// The address that was invited.
    pub email: String,
    own_email: Option<String>,
    rights: String,
    /// Until when it is open.
    #[sqlx(try_from = "i64")]
    expires_at: Micros,
}

impl Invitation {
    /// What the person may do.
    pub fn rights(&self) -> Rights {
        rights_of(Some(&self.rights))
    }

    /// Whether a colleague invited this address, which the account then has.
    pub fn is_personal(&self) -> bool {
        self.own_email.is_some()
    }

    /// Until when it is open.
    pub fn expires_at(&self) -> Timestamp {
        self.expires_at.0
    }
}

/// The invitation with this token, if it is open at `now`.
///
/// # Errors
///
/// What the driver says.
pub async fn invitation(tx: &mut Tx, token_hash: &[u8], now: Timestamp) -> Result<Option<Invitation>, Error> {
    tx.query(
        "SELECT i.laboratory_id, l.name, COALESCE(i.email, l.email) AS email, \
         i.email AS own_email, i.rights, i.expires_at FROM invitations i \
         JOIN laboratories l ON l.id = i.laboratory_id \
         WHERE i.token_hash = $1 AND i.used_at IS NULL AND i.expires_at > $2",
    )
    .bind(token_hash)
    .bind(now.as_microsecond())
    .optional()
    .await
}

/// Uses an invitation up. False when it was not open.
///
/// # Errors
///
/// What the driver says.
pub async fn use_invitation(tx: &mut Tx, token_hash: &[u8], now: Timestamp) -> Result<bool, Error> {
    let touched = tx
        .query("UPDATE invitations SET used_at = $1 WHERE token_hash = $2 AND used_at IS NULL AND expires_at > $1")
        .bind(now.as_microsecond())
        .bind(token_hash)
        .execute()
        .await?;
    Ok(touched == 1)
}
