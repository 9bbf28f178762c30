//! Trials on copies of an evaluation, and evaluations made again. Rows are only
//! ever inserted: a trial that is thrown away was made all the same.

use crate::row::Micros;
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::{EvaluationId, RoundId, TrialId, UserId};
use uuid::Uuid;

/// A trial to be stored.
#[derive(Clone, Copy, Debug)]
pub struct NewTrial<'a> {
    /// Its name for good.
    pub id: TrialId,
    /// On a copy of which evaluation.
    pub evaluation: EvaluationId,
    /// What was changed, as JSON.
    pub changes: &'a str,
    /// What came out, as JSON.
    pub outcome: &'a str,
    /// When.
    pub at: Timestamp,
    /// By whom.
    pub by: UserId,
}

/// Stores a trial.
///
/// # Errors
///
/// What the driver says.
pub async fn insert(tx: &mut Tx, new: &NewTrial<'_>) -> Result<(), Error> {
    tx.query(
        "INSERT INTO trials (id, evaluation_id, changes, outcome, tried_at, tried_by) VALUES ($1, $2, $3, $4, $5, $6)",
    )
    .bind(new.id.0)
    .bind(new.evaluation.0)
    .bind(new.changes)
    .bind(new.outcome)
    .bind(new.at.as_microsecond())
    .bind(new.by.0)
    .execute()
    .await?;
    Ok(())
}

/// A trial as read.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Trial {
    /// Its name.
    #[sqlx(try_from = "Uuid")]
    pub id: TrialId,
    /// On a copy of which evaluation.
    #[sqlx(try_from = "Uuid")]
    pub evaluation: EvaluationId,
    /// Number of that evaluation in the round.
    pub version: i64,
    /// What was changed, as JSON.
    pub changes: String,
    /// What came out, as JSON.
    pub outcome: String,
    /// By whom.
    pub by: String,
    #[sqlx(try_from = "i64")]
    tried_at: Micros,
}

impl Trial {
    /// When.
    pub fn at(&self) -> Timestamp {
        self.tried_at.0
    }
}

/// The columns of [`Trial`] with the rest of the statement.
macro_rules! select {
    ($rest:literal) => {
        concat!(
            "SELECT t.id, t.evaluation_id AS evaluation, e.version, t.changes, t.outcome, u.name AS by, t.tried_at \
             FROM trials t JOIN evaluations e ON e.id = t.evaluation_id JOIN users u ON u.id = t.tried_by ",
            $rest
        )
    };
}

/// The newest trials of a round, newest first.
///
/// # Errors
///
/// What the driver says.
pub async fn newest(tx: &mut Tx, round: RoundId, limit: i64) -> Result<Vec<Trial>, Error> {
    let sql = select!("WHERE e.round_id = $1 ORDER BY t.tried_at DESC, t.id DESC LIMIT $2");
    tx.query(sql).bind(round.0).bind(limit).all().await
}

/// A trial of a round.
///
/// # Errors
///
/// What the driver says.
pub async fn by_id(tx: &mut Tx, round: RoundId, id: TrialId) -> Result<Option<Trial>, Error> {
    tx.query(select!("WHERE e.round_id = $1 AND t.id = $2")).bind(round.0).bind(id.0).optional().await
}

/// How many trials were made in a round.
///
/// # Errors
///
/// What the driver says.
pub async fn count(tx: &mut Tx, round: RoundId) -> Result<i64, Error> {
    tx.query("SELECT count(*) FROM trials t JOIN evaluations e ON e.id = t.evaluation_id WHERE e.round_id = $1")
        .bind(round.0)
        .value()
        .await
}

/// An evaluation that was made again, to be stored.
#[derive(Clone, Copy, Debug)]
pub struct NewRecomputation<'a> {
    /// Its name for good.
    pub id: Uuid,
    /// Of which evaluation.
    pub evaluation: EvaluationId,
    /// The program that made it again.
    pub engine: &'a str,
    /// SHA-256 of the text that it made.
    pub sha256: &'a str,
    /// Whether that is the stored text.
    pub same: bool,
    /// Where it differs, as a person reads it; empty where it does not.
    pub differences: &'a str,
    /// When.
    pub at: Timestamp,
    /// By whom.
    pub by: UserId,
}

/// Stores what came of making an evaluation again.
///
/// # Errors
///
/// What the driver says.
pub async fn recomputed(tx: &mut Tx, new: &NewRecomputation<'_>) -> Result<(), Error> {
    tx.query(
        "INSERT INTO recomputations (id, evaluation_id, engine, sha256, same, differences, made_at, made_by) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
    )
    .bind(new.id)
    .bind(new.evaluation.0)
    .bind(new.engine)
    .bind(new.sha256)
    .bind(new.same)
    .bind(new.differences)
    .bind(new.at.as_microsecond())
    .bind(new.by.0)
    .execute()
    .await?;
    Ok(())
}

/// An evaluation that was made again.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Recomputation {
    /// The program that made it again.
    pub engine: String,
    /// SHA-256 of the text that it made.
    pub sha256: String,
    /// Whether that is the stored text.
    pub same: bool,
    /// Where it differs.
    pub differences: String,
    /// By whom.
    pub by: String,
    #[sqlx(try_from = "i64")]
    made_at: Micros,
}

impl Recomputation {
    /// When.
    pub fn at(&self) -> Timestamp {
        self.made_at.0
    }
}

/// The newest time that an evaluation was made again.
///
/// # Errors
///
/// What the driver says.
pub async fn recomputation(tx: &mut Tx, evaluation: EvaluationId) -> Result<Option<Recomputation>, Error> {
    tx.query(
        "SELECT r.engine, r.sha256, r.same, r.differences, u.name AS by, r.made_at FROM recomputations r \
         JOIN users u ON u.id = r.made_by WHERE r.evaluation_id = $1 ORDER BY r.made_at DESC, r.id DESC LIMIT 1",
    )
    .bind(evaluation.0)
    .optional()
    .await
}
