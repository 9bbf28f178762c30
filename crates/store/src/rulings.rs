//! Requests after closing, and what was decided on them. Rows are only ever
//! inserted, and nothing else changes by them.

use crate::row::Micros;
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::{ParticipantId, RequestId, RoundId, UserId};
use roundel_domain::request::{Kind, Ruling};
use uuid::Uuid;

/// A request.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Request {
    /// Its name for good.
    #[sqlx(try_from = "Uuid")]
    pub id: RequestId,
    /// Who makes it.
    #[sqlx(try_from = "Uuid")]
    pub participant: ParticipantId,
    /// The code of who makes it.
    pub code: String,
    /// What is asked for.
    #[sqlx(try_from = "String")]
    pub kind: Kind,
    /// Why.
    pub reason: String,
    #[sqlx(try_from = "i64")]
    made_at: Micros,
    ruling: Option<String>,
    evidence: Option<String>,
    ruled_at: Option<i64>,
}

/// A decision as read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ruled {
    /// What was decided.
    pub ruling: Ruling,
    /// The evidence of a fault, or what else was said; may be empty.
    pub evidence: String,
    /// When.
    pub at: Timestamp,
}

impl Request {
    /// When it was made.
    pub fn made_at(&self) -> Timestamp {
        self.made_at.0
    }

    /// What was decided; none while it is open.
    ///
    /// # Errors
    ///
    /// When the row is not as the schema has it.
    pub fn ruled(&self) -> Result<Option<Ruled>, Error> {
        let (Some(ruling), Some(evidence), Some(at)) = (&self.ruling, &self.evidence, self.ruled_at) else {
            return Ok(None);
        };
        let ruling = Ruling::try_from(ruling.clone()).map_err(|_| crate::row::corrupt("a ruling"))?;
        Ok(Some(Ruled { ruling, evidence: evidence.clone(), at: crate::row::instant(at)? }))
    }
}

/// A request to be kept.
#[derive(Clone, Copy, Debug)]
pub struct NewRequest<'a> {
    /// Its name for good.
    pub id: RequestId,
    /// Who makes it.
    pub participant: ParticipantId,
    /// What is asked for.
    pub kind: Kind,
    /// Why.
    pub reason: &'a str,
    /// Which person.
    pub by: UserId,
}

/// Keeps a request.
///
/// # Errors
///
/// What the driver says.
pub async fn request(tx: &mut Tx, new: &NewRequest<'_>, now: Timestamp) -> Result<(), Error> {
    tx.query(
        "INSERT INTO requests (id, participant_id, kind, reason, made_at, made_by) VALUES ($1, $2, $3, $4, $5, $6)",
    )
    .bind(new.id.0)
    .bind(new.participant.0)
    .bind(new.kind.word())
    .bind(new.reason)
    .bind(now.as_microsecond())
    .bind(new.by.0)
    .execute()
    .await?;
    Ok(())
}

/// All requests of a round; what happened last stands first.
///
/// # Errors
///
/// What the driver says.
pub async fn of_round(tx: &mut Tx, round: RoundId) -> Result<Vec<Request>, Error> {
    tx.query(
        "SELECT q.id, q.participant_id AS participant, p.code, q.kind, q.reason, q.made_at, r.ruling, r.evidence, \
         r.ruled_at FROM requests q JOIN participants p ON p.id = q.participant_id \
         LEFT JOIN rulings r ON r.request_id = q.id WHERE p.round_id = $1 \
         ORDER BY COALESCE(r.ruled_at, q.made_at) DESC, q.id DESC",
    )
    .bind(round.0)
    .all()
    .await
}

/// A request of a round.
///
/// # Errors
///
/// What the driver says.
pub async fn by_id(tx: &mut Tx, round: RoundId, id: RequestId) -> Result<Option<Request>, Error> {
    tx.query(
        "SELECT q.id, q.participant_id AS participant, p.code, q.kind, q.reason, q.made_at, r.ruling, r.evidence, \
         r.ruled_at FROM requests q JOIN participants p ON p.id = q.participant_id \
         LEFT JOIN rulings r ON r.request_id = q.id WHERE p.round_id = $1 AND q.id = $2",
    )
    .bind(round.0)
    .bind(id.0)
    .optional()
    .await
}

/// How many requests of a round are open.
///
/// # Errors
///
/// What the driver says.
pub async fn open(tx: &mut Tx, round: RoundId) -> Result<i64, Error> {
    tx.query(
        "SELECT count(*) FROM requests q JOIN participants p ON p.id = q.participant_id \
         WHERE p.round_id = $1 AND NOT EXISTS (SELECT 1 FROM rulings r WHERE r.request_id = q.id)",
    )
    .bind(round.0)
    .value()
    .await
}

/// Keeps a decision.
///
/// # Errors
///
/// [`Error::Exists`] when there is one.
pub async fn rule(
    tx: &mut Tx,
    id: RequestId,
    ruling: Ruling,
    evidence: &str,
    by: UserId,
    now: Timestamp,
) -> Result<(), Error> {
    tx.query("INSERT INTO rulings (request_id, ruling, evidence, ruled_at, ruled_by) VALUES ($1, $2, $3, $4, $5)")
        .bind(id.0)
        .bind(ruling.word())
        .bind(evidence)
        .bind(now.as_microsecond())
        .bind(by.0)
        .execute()
        .await?;
    Ok(())
}
