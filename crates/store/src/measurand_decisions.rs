//! What people decided about measurands as a whole. Rows are only ever inserted.

use crate::row::{Micros, corrupt};
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::{DecisionId, MeasurandId, RoundId, UserId};
use roundel_domain::judgement::{Judgement, Kind, Topic};
use roundel_domain::number::Decimal;

/// A decision as read.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct MeasurandDecision {
    /// On which measurand.
    #[sqlx(try_from = "uuid::Uuid")]
    pub measurand: MeasurandId,
    topic: String,
    kind: String,
    number: Option<String>,
    reason: String,
    /// By whom.
    pub by: String,
    #[sqlx(try_from = "i64")]
    decided_at: Micros,
}

impl MeasurandDecision {
    /// What was decided.
    ///
    /// # Errors
    ///
    /// When a row holds a word or a number that is none of ours.
    pub fn judgement(&self) -> Result<Judgement, Error> {
        let wrong = || corrupt("a decision on a measurand");
        let number = self.number.as_deref().map(|text| Decimal::from_normalised(text).ok_or_else(wrong));
        Ok(Judgement {
            topic: Topic::of(&self.topic).ok_or_else(wrong)?,
            kind: Kind::of(&self.kind).ok_or_else(wrong)?,
            number: number.transpose()?,
            reason: self.reason.clone(),
        })
    }

    /// When.
    pub fn at(&self) -> Timestamp {
        self.decided_at.0
    }
}

/// Stores a decision; the newest on a topic counts.
///
/// # Errors
///
/// What the driver says.
pub async fn insert(
    tx: &mut Tx,
    id: DecisionId,
    measurand: MeasurandId,
    judgement: &Judgement,
    by: UserId,
    now: Timestamp,
) -> Result<(), Error> {
    tx.query(
        "INSERT INTO measurand_decisions (id, measurand_id, topic, kind, number, reason, decided_at, decided_by) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
    )
    .bind(id.0)
    .bind(measurand.0)
    .bind(judgement.topic.word())
    .bind(judgement.kind.word())
    .bind(judgement.number.as_ref().map(Decimal::as_str))
    .bind(judgement.reason.as_str())
    .bind(now.as_microsecond())
    .bind(by.0)
    .execute()
    .await?;
    Ok(())
}

/// All decisions on measurands of a round, oldest first.
///
/// # Errors
///
/// What the driver says.
pub async fn of_round(tx: &mut Tx, round: RoundId) -> Result<Vec<MeasurandDecision>, Error> {
    tx.query(
        "SELECT d.measurand_id AS measurand, d.topic, d.kind, d.number, d.reason, u.name AS by, d.decided_at \
         FROM measurand_decisions d JOIN measurands m ON m.id = d.measurand_id \
         JOIN users u ON u.id = d.decided_by WHERE m.round_id = $1 ORDER BY d.decided_at, d.id",
    )
    .bind(round.0)
    .all()
    .await
}
