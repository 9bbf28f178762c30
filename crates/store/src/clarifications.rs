//! What laboratories are asked to confirm after closing, and what they answer.
//! Rows are only ever inserted.

use crate::row::Micros;
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::{ClarificationId, ParticipantId, RoundId, UserId};
use uuid::Uuid;

/// What a laboratory is asked to confirm, to be stored.
#[derive(Clone, Copy, Debug)]
pub struct NewClarification<'a> {
    /// Its name for good.
    pub id: ClarificationId,
    /// Who is asked.
    pub participant: ParticipantId,
    /// Label of the item.
    pub item: &'a str,
    /// The analytes.
    pub analytes: &'a [String],
    /// When.
    pub at: Timestamp,
    /// Who asks.
    pub by: UserId,
}

/// A request to confirm, with its answer if there is one.
#[derive(Clone, Debug, PartialEq, Eq, sqlx::FromRow)]
pub struct Clarification {
    /// Its name for good.
    #[sqlx(try_from = "Uuid")]
    pub id: ClarificationId,
    /// Who is asked.
    #[sqlx(try_from = "Uuid")]
    pub participant: ParticipantId,
    /// The laboratory's code.
    pub code: String,
    /// Label of the item.
    pub item: String,
    analytes: String,
    #[sqlx(try_from = "i64")]
    asked_at: Micros,
    /// The answer.
    pub answer: Option<String>,
    answered_at: Option<i64>,
}

impl Clarification {
    /// The analytes.
    pub fn analytes(&self) -> Vec<&str> {
        self.analytes.lines().collect()
    }

    /// When it was asked.
    pub fn asked_at(&self) -> Timestamp {
        self.asked_at.0
    }

    /// When it was answered.
    ///
    /// # Errors
    ///
    /// When the row holds no instant.
    pub fn answered_at(&self) -> Result<Option<Timestamp>, Error> {
        self.answered_at.map(crate::row::instant).transpose()
    }
}

/// Keeps what a laboratory is asked.
///
/// # Errors
///
/// What the driver says.
pub async fn ask(tx: &mut Tx, new: &NewClarification<'_>) -> Result<(), Error> {
    tx.query(
        "INSERT INTO clarifications (id, participant_id, item, analytes, asked_at, asked_by) \
         VALUES ($1, $2, $3, $4, $5, $6)",
    )
    .bind(new.id.0)
    .bind(new.participant.0)
    .bind(new.item)
    .bind(new.analytes.join("\n"))
    .bind(new.at.as_microsecond())
    .bind(new.by.0)
    .execute()
    .await?;
    Ok(())
}

/// Keeps an answer.
///
/// # Errors
///
/// [`Error::Exists`] when it was answered before.
pub async fn answer(tx: &mut Tx, id: ClarificationId, text: &str, by: UserId, now: Timestamp) -> Result<(), Error> {
    tx.query(
        "INSERT INTO clarification_answers (clarification_id, answer, answered_at, answered_by) \
         VALUES ($1, $2, $3, $4)",
    )
    .bind(id.0)
    .bind(text)
    .bind(now.as_microsecond())
    .bind(by.0)
    .execute()
    .await?;
    Ok(())
}

/// All that was asked in a round, oldest first.
///
/// # Errors
///
/// What the driver says.
pub async fn of_round(tx: &mut Tx, round: RoundId) -> Result<Vec<Clarification>, Error> {
    tx.query(
        "SELECT c.id, c.participant_id AS participant, p.code, c.item, c.analytes, c.asked_at, a.answer, \
         a.answered_at FROM clarifications c JOIN participants p ON p.id = c.participant_id \
         LEFT JOIN clarification_answers a ON a.clarification_id = c.id \
         WHERE p.round_id = $1 ORDER BY c.asked_at, c.id",
    )
    .bind(round.0)
    .all()
    .await
}
