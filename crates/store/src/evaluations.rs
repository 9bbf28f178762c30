//! Evaluations. Rows are only ever inserted.

use crate::row::Micros;
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::{EvaluationId, RoundId, UserId};
use uuid::Uuid;

/// An evaluation without its texts.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Head {
    /// Its name for good.
    #[sqlx(try_from = "Uuid")]
    pub id: EvaluationId,
    /// Its number in the round, from 1.
    pub version: i64,
    /// SHA-256 of the package's canonical form.
    pub package_sha256: String,
    /// SHA-256 of the evaluation's text.
    pub sha256: String,
    /// Who made it.
    pub by: String,
    #[sqlx(try_from = "i64")]
    evaluated_at: Micros,
}

impl Head {
    /// When it was made.
    pub fn at(&self) -> Timestamp {
        self.evaluated_at.0
    }
}

/// The texts of an evaluation.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Texts {
    /// The package, `round-package/1`.
    pub package: String,
    /// The evaluation, `round-evaluation/1`.
    pub document: String,
}

/// An evaluation to be stored.
#[derive(Clone, Copy, Debug)]
pub struct NewEvaluation<'a> {
    /// Its name for good.
    pub id: EvaluationId,
    /// The round.
    pub round: RoundId,
    /// Its number in the round, from 1.
    pub version: i64,
    /// The package, `round-package/1`.
    pub package: &'a str,
    /// SHA-256 of the package's canonical form.
    pub package_sha256: &'a str,
    /// The evaluation, `round-evaluation/1`.
    pub document: &'a str,
    /// SHA-256 of the evaluation's text.
    pub sha256: &'a str,
    /// When.
    pub at: Timestamp,
    /// By whom.
    pub by: UserId,
}

/// Stores an evaluation.
///
/// # Errors
///
/// [`Error::Exists`] when another made this version first.
pub async fn insert(tx: &mut Tx, new: &NewEvaluation<'_>) -> Result<(), Error> {
    tx.query(
        "INSERT INTO evaluations (id, round_id, version, package, package_sha256, document, sha256, evaluated_at, \
         evaluated_by) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
    )
    .bind(new.id.0)
    .bind(new.round.0)
    .bind(new.version)
    .bind(new.package)
    .bind(new.package_sha256)
    .bind(new.document)
    .bind(new.sha256)
    .bind(new.at.as_microsecond())
    .bind(new.by.0)
    .execute()
    .await?;
    Ok(())
}

/// The evaluations of a round, newest first.
///
/// # Errors
///
/// What the driver says.
pub async fn of_round(tx: &mut Tx, round: RoundId) -> Result<Vec<Head>, Error> {
    tx.query(
        "SELECT e.id, e.version, e.package_sha256, e.sha256, e.evaluated_at, u.name AS by FROM evaluations e \
         JOIN users u ON u.id = e.evaluated_by WHERE e.round_id = $1 ORDER BY e.version DESC",
    )
    .bind(round.0)
    .all()
    .await
}

/// The texts of an evaluation.
///
/// # Errors
///
/// What the driver says.
pub async fn texts(tx: &mut Tx, id: EvaluationId) -> Result<Option<Texts>, Error> {
    tx.query("SELECT package, document FROM evaluations WHERE id = $1").bind(id.0).optional().await
}
