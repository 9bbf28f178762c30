//! Publications of rounds, and corrections of what was published. Rows are only
//! ever inserted.

use crate::row::Micros;
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::{CorrectionId, EvaluationId, PublicationId, RoundId, UserId};
use uuid::Uuid;

/// A publication to be stored.
#[derive(Clone, Copy, Debug)]
pub struct NewPublication<'a> {
    /// Its name for good.
    pub id: PublicationId,
    /// Of which round.
    pub round: RoundId,
    /// Its number in the round, from 1.
    pub number: i64,
    /// The evaluation that is published.
    pub evaluation: EvaluationId,
    /// What the person who publishes says that it means.
    pub meaning: &'a str,
    /// Why it replaces the one before; empty for the first.
    pub reason: &'a str,
    /// How many people were written to.
    pub notified: i64,
    /// When.
    pub at: Timestamp,
    /// By whom.
    pub by: UserId,
}

/// Stores a publication.
///
/// # Errors
///
/// [`Error::Exists`] when the round has this number.
pub async fn insert(tx: &mut Tx, new: &NewPublication<'_>) -> Result<(), Error> {
    tx.query(
        "INSERT INTO publications (id, round_id, number, evaluation_id, meaning, reason, notified, published_at, \
         published_by) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
    )
    .bind(new.id.0)
    .bind(new.round.0)
    .bind(new.number)
    .bind(new.evaluation.0)
    .bind(new.meaning)
    .bind(new.reason)
    .bind(new.notified)
    .bind(new.at.as_microsecond())
    .bind(new.by.0)
    .execute()
    .await?;
    Ok(())
}

/// A publication as read.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Publication {
    /// Its number in the round, from 1.
    pub number: i64,
    /// The evaluation that was published.
    #[sqlx(try_from = "Uuid")]
    pub evaluation: EvaluationId,
    /// What the person who published said that it means.
    pub meaning: String,
    /// Why it replaced the one before; empty for the first.
    pub reason: String,
    /// How many people were written to.
    pub notified: i64,
    /// By whom.
    pub by: String,
    #[sqlx(try_from = "i64")]
    published_at: Micros,
}

impl Publication {
    /// When.
    pub fn at(&self) -> Timestamp {
        self.published_at.0
    }
}

/// The publications of a round, oldest first.
///
/// # Errors
///
/// What the driver says.
pub async fn of_round(tx: &mut Tx, round: RoundId) -> Result<Vec<Publication>, Error> {
    tx.query(
        "SELECT p.number, p.evaluation_id AS evaluation, p.meaning, p.reason, p.notified, u.name AS by, p.published_at \
         FROM publications p JOIN users u ON u.id = p.published_by WHERE p.round_id = $1 ORDER BY p.number",
    )
    .bind(round.0)
    .all()
    .await
}

/// A correction that is open.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Correction {
    /// Its name.
    #[sqlx(try_from = "Uuid")]
    pub id: CorrectionId,
    /// Why.
    pub reason: String,
    /// Who opened it.
    pub by: String,
    #[sqlx(try_from = "i64")]
    opened_at: Micros,
}

impl Correction {
    /// When it was opened.
    pub fn at(&self) -> Timestamp {
        self.opened_at.0
    }
}

/// Opens a correction.
///
/// # Errors
///
/// What the driver says.
pub async fn open_correction(
    tx: &mut Tx,
    id: CorrectionId,
    round: RoundId,
    reason: &str,
    by: UserId,
    now: Timestamp,
) -> Result<(), Error> {
    tx.query("INSERT INTO corrections (id, round_id, reason, opened_at, opened_by) VALUES ($1, $2, $3, $4, $5)")
        .bind(id.0)
        .bind(round.0)
        .bind(reason)
        .bind(now.as_microsecond())
        .bind(by.0)
        .execute()
        .await?;
    Ok(())
}

/// Ends a correction: it was published, or given up.
///
/// # Errors
///
/// [`Error::Exists`] when it has ended.
pub async fn end_correction(
    tx: &mut Tx,
    id: CorrectionId,
    published: bool,
    by: UserId,
    now: Timestamp,
) -> Result<(), Error> {
    tx.query("INSERT INTO correction_ends (correction_id, published, ended_at, ended_by) VALUES ($1, $2, $3, $4)")
        .bind(id.0)
        .bind(published)
        .bind(now.as_microsecond())
        .bind(by.0)
        .execute()
        .await?;
    Ok(())
}

/// The correction of a round that is open.
///
/// # Errors
///
/// What the driver says.
pub async fn correction(tx: &mut Tx, round: RoundId) -> Result<Option<Correction>, Error> {
    tx.query(
        "SELECT c.id, c.reason, u.name AS by, c.opened_at FROM corrections c JOIN users u ON u.id = c.opened_by \
         WHERE c.round_id = $1 AND NOT EXISTS (SELECT 1 FROM correction_ends e WHERE e.correction_id = c.id)",
    )
    .bind(round.0)
    .optional()
    .await
}
