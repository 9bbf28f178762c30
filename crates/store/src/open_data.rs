//! Consent to open data, and the packages that were released. Rows are only ever
//! inserted.

use crate::row::Micros;
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::{ConsentId, EvaluationId, ParticipantId, ReleaseId, RoundId, UserId};
use uuid::Uuid;

/// What a laboratory said about its results of a round.
#[derive(Clone, Debug, PartialEq, Eq, sqlx::FromRow)]
pub struct Consent {
    /// Code of the laboratory in the round.
    pub code: String,
    /// Whether its results may be open data.
    pub given: bool,
    /// Who said it.
    pub by: String,
    #[sqlx(try_from = "i64")]
    said_at: Micros,
}

impl Consent {
    /// When.
    pub fn at(&self) -> Timestamp {
        self.said_at.0
    }
}

/// Keeps what a laboratory says; the newest counts.
///
/// # Errors
///
/// What the driver says.
pub async fn say(
    tx: &mut Tx,
    id: ConsentId,
    participant: ParticipantId,
    given: bool,
    by: UserId,
    now: Timestamp,
) -> Result<(), Error> {
    tx.query(
        "INSERT INTO open_data_consents (id, participant_id, given, said_at, said_by) VALUES ($1, $2, $3, $4, $5)",
    )
    .bind(id.0)
    .bind(participant.0)
    .bind(given)
    .bind(now.as_microsecond())
    .bind(by.0)
    .execute()
    .await?;
    Ok(())
}

/// All that a laboratory said about a round, oldest first.
///
/// # Errors
///
/// What the driver says.
pub async fn of_participant(tx: &mut Tx, participant: ParticipantId) -> Result<Vec<Consent>, Error> {
    tx.query(
        "SELECT p.code, c.given, u.name AS by, c.said_at FROM open_data_consents c \
         JOIN participants p ON p.id = c.participant_id JOIN users u ON u.id = c.said_by \
         WHERE c.participant_id = $1 ORDER BY c.said_at, c.id",
    )
    .bind(participant.0)
    .all()
    .await
}

/// All that the laboratories of a round said, oldest first.
///
/// # Errors
///
/// What the driver says.
pub async fn of_round(tx: &mut Tx, round: RoundId) -> Result<Vec<Consent>, Error> {
    tx.query(
        "SELECT p.code, c.given, u.name AS by, c.said_at FROM open_data_consents c \
         JOIN participants p ON p.id = c.participant_id JOIN users u ON u.id = c.said_by \
         WHERE p.round_id = $1 ORDER BY c.said_at, c.id",
    )
    .bind(round.0)
    .all()
    .await
}

/// A release to be stored.
#[derive(Clone, Copy, Debug)]
pub struct NewRelease<'a> {
    /// Its name for good.
    pub id: ReleaseId,
    /// Of which round.
    pub round: RoundId,
    /// The evaluation that it shows.
    pub evaluation: EvaluationId,
    /// The word of the licence.
    pub licence: &'a str,
    /// What the codes are made from, in hexadecimal: secret.
    pub seed: &'a str,
    /// By whom.
    pub by: UserId,
    /// When.
    pub at: Timestamp,
}

/// Stores a release.
///
/// # Errors
///
/// What the driver says.
pub async fn release(tx: &mut Tx, new: &NewRelease<'_>) -> Result<(), Error> {
    tx.query(
        "INSERT INTO open_data_releases (id, round_id, evaluation_id, licence, seed, released_at, released_by) \
         VALUES ($1, $2, $3, $4, $5, $6, $7)",
    )
    .bind(new.id.0)
    .bind(new.round.0)
    .bind(new.evaluation.0)
    .bind(new.licence)
    .bind(new.seed)
    .bind(new.at.as_microsecond())
    .bind(new.by.0)
    .execute()
    .await?;
    Ok(())
}

/// A release as read.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Release {
    /// The evaluation that it shows.
    #[sqlx(try_from = "Uuid")]
    pub evaluation: EvaluationId,
    /// The word of the licence.
    pub licence: String,
    /// What the codes are made from, in hexadecimal: secret.
    pub seed: String,
    /// By whom.
    pub by: String,
    #[sqlx(try_from = "i64")]
    released_at: Micros,
}

impl Release {
    /// When.
    pub fn at(&self) -> Timestamp {
        self.released_at.0
    }
}

/// The newest release of a round.
///
/// # Errors
///
/// What the driver says.
pub async fn newest(tx: &mut Tx, round: RoundId) -> Result<Option<Release>, Error> {
    tx.query(
        "SELECT r.evaluation_id AS evaluation, r.licence, r.seed, u.name AS by, r.released_at \
         FROM open_data_releases r JOIN users u ON u.id = r.released_by WHERE r.round_id = $1 \
         ORDER BY r.released_at DESC, r.id DESC LIMIT 1",
    )
    .bind(round.0)
    .optional()
    .await
}
