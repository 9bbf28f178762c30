//! Looking through a closed round: what was frozen, what was said of findings,
//! which pages were opened. Rows are only ever inserted.

use crate::row::Micros;
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::{MeasurandId, RoundId, UserId};
use uuid::Uuid;

/// The raw set of a round as read.
#[derive(Clone, Debug, PartialEq, Eq, sqlx::FromRow)]
pub struct RawSet {
    /// Its exact text.
    pub document: String,
    /// SHA-256 of the text, in hexadecimal.
    pub sha256: String,
    #[sqlx(try_from = "i64")]
    made_at: Micros,
}

impl RawSet {
    /// When it was frozen.
    pub fn made_at(&self) -> Timestamp {
        self.made_at.0
    }
}

/// Freezes the raw set of a round.
///
/// # Errors
///
/// [`Error::Exists`] when that was done before.
pub async fn freeze(tx: &mut Tx, round: RoundId, document: &str, sha256: &str, now: Timestamp) -> Result<(), Error> {
    tx.query("INSERT INTO raw_sets (round_id, document, sha256, made_at) VALUES ($1, $2, $3, $4)")
        .bind(round.0)
        .bind(document)
        .bind(sha256)
        .bind(now.as_microsecond())
        .execute()
        .await?;
    Ok(())
}

/// The raw set of a round.
///
/// # Errors
///
/// What the driver says.
pub async fn raw_set(tx: &mut Tx, round: RoundId) -> Result<Option<RawSet>, Error> {
    tx.query("SELECT document, sha256, made_at FROM raw_sets WHERE round_id = $1").bind(round.0).optional().await
}

/// What somebody said of a finding, to be stored.
#[derive(Clone, Copy, Debug)]
pub struct NewNote<'a> {
    /// Its name for good.
    pub id: Uuid,
    /// The round.
    pub round: RoundId,
    /// Key of the finding.
    pub finding: &'a str,
    /// Looked at and kept; or opened again.
    pub kept: bool,
    /// Why.
    pub reason: &'a str,
    /// When.
    pub at: Timestamp,
    /// By whom.
    pub by: UserId,
}

/// Stores what was said of a finding; the newest counts.
///
/// # Errors
///
/// What the driver says.
pub async fn note(tx: &mut Tx, new: &NewNote<'_>) -> Result<(), Error> {
    tx.query(
        "INSERT INTO finding_notes (id, round_id, finding, kept, reason, noted_at, noted_by) \
         VALUES ($1, $2, $3, $4, $5, $6, $7)",
    )
    .bind(new.id)
    .bind(new.round.0)
    .bind(new.finding)
    .bind(new.kept)
    .bind(new.reason)
    .bind(new.at.as_microsecond())
    .bind(new.by.0)
    .execute()
    .await?;
    Ok(())
}

/// What was said of a finding.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Note {
    /// Key of the finding.
    pub finding: String,
    /// Looked at and kept; or opened again.
    pub kept: bool,
    /// Why.
    pub reason: String,
    /// By whom.
    pub by: String,
    #[sqlx(try_from = "i64")]
    noted_at: Micros,
}

impl Note {
    /// When.
    pub fn at(&self) -> Timestamp {
        self.noted_at.0
    }
}

/// All that was said of findings of a round, oldest first.
///
/// # Errors
///
/// What the driver says.
pub async fn notes(tx: &mut Tx, round: RoundId) -> Result<Vec<Note>, Error> {
    tx.query(
        "SELECT n.finding, n.kept, n.reason, u.name AS by, n.noted_at FROM finding_notes n \
         JOIN users u ON u.id = n.noted_by WHERE n.round_id = $1 ORDER BY n.noted_at, n.id",
    )
    .bind(round.0)
    .all()
    .await
}

/// Keeps that a person opened the review page of a measurand; the first time counts.
///
/// # Errors
///
/// What the driver says.
pub async fn see(tx: &mut Tx, measurand: MeasurandId, user: UserId, now: Timestamp) -> Result<(), Error> {
    tx.query(
        "INSERT INTO page_views (measurand_id, user_id, seen_at) VALUES ($1, $2, $3) \
         ON CONFLICT (measurand_id, user_id) DO NOTHING",
    )
    .bind(measurand.0)
    .bind(user.0)
    .bind(now.as_microsecond())
    .execute()
    .await?;
    Ok(())
}

/// Who opened the review page of which measurand of a round.
///
/// # Errors
///
/// What the driver says.
pub async fn seen(tx: &mut Tx, round: RoundId) -> Result<Vec<(MeasurandId, UserId)>, Error> {
    let rows: Vec<(Uuid, Uuid)> = tx
        .query(
            "SELECT v.measurand_id, v.user_id FROM page_views v JOIN measurands m ON m.id = v.measurand_id \
             WHERE m.round_id = $1 ORDER BY m.position, v.seen_at",
        )
        .bind(round.0)
        .all()
        .await?;
    Ok(rows.into_iter().map(|(measurand, user)| (MeasurandId(measurand), UserId(user))).collect())
}
