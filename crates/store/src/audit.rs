//! The record of who did what. Rows are only ever inserted.

use crate::row::Micros;
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::UserId;
use uuid::Uuid;

/// Something that happened.
#[derive(Clone, Copy, Debug)]
pub struct Entry<'a> {
    /// Its name for good.
    pub id: Uuid,
    /// When.
    pub at: Timestamp,
    /// Who, or none for the program itself.
    pub actor: Option<UserId>,
    /// What, as a word of ours: `round-opened`.
    pub event: &'a str,
    /// On what: a round's id, an account.
    pub subject: &'a str,
    /// What else is worth keeping, for a person to read.
    pub detail: &'a str,
}

/// Writes an entry.
///
/// # Errors
///
/// What the driver says.
pub async fn record(tx: &mut Tx, entry: &Entry<'_>) -> Result<(), Error> {
    tx.query("INSERT INTO audit (id, at, actor_id, event, subject, detail) VALUES ($1, $2, $3, $4, $5, $6)")
        .bind(entry.id)
        .bind(entry.at.as_microsecond())
        .bind(entry.actor.map(|id| id.0))
        .bind(entry.event)
        .bind(entry.subject)
        .bind(entry.detail)
        .execute()
        .await?;
    Ok(())
}

/// An entry as read.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Line {
    #[sqlx(try_from = "i64")]
    at: Micros,
    /// Who, by name.
    pub actor: Option<String>,
    /// What.
    pub event: String,
    /// What else.
    pub detail: String,
}

impl Line {
    /// When.
    pub fn at(&self) -> Timestamp {
        self.at.0
    }
}

/// What happened to a subject, oldest first.
///
/// # Errors
///
/// What the driver says.
pub async fn of(tx: &mut Tx, subject: &str) -> Result<Vec<Line>, Error> {
    tx.query(
        "SELECT a.at, u.name AS actor, a.event, a.detail FROM audit a LEFT JOIN users u ON u.id = a.actor_id \
         WHERE a.subject = $1 ORDER BY a.at, a.id",
    )
    .bind(subject)
    .all()
    .await
}
