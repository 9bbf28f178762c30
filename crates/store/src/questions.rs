//! Questions to the organiser, and their answers. Rows are only ever inserted.

use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::{ParticipantId, QuestionId, RoundId, UserId};
use uuid::Uuid;

/// A question.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Question {
    /// Its name for good.
    pub id: QuestionId,
    /// Who asked: for the record, and for the laboratory itself; shown to nobody else.
    pub participant: ParticipantId,
    /// What is asked.
    pub text: String,
    /// When.
    pub asked_at: Timestamp,
    /// What became of it.
    pub state: State,
}

/// What became of a question.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum State {
    /// Nothing yet.
    Open,
    /// Answered to all.
    Answered {
        /// The answer.
        text: String,
        /// When.
        at: Timestamp,
    },
    /// Closed without an answer.
    Closed {
        /// When.
        at: Timestamp,
    },
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    participant_id: Uuid,
    question: String,
    asked_at: i64,
    answer: Option<String>,
    answered_at: Option<i64>,
}

impl Row {
    fn question(self) -> Result<Question, Error> {
        let answered_at = self.answered_at.map(crate::row::instant).transpose()?;
        Ok(Question {
            id: QuestionId(self.id),
            participant: ParticipantId(self.participant_id),
            text: self.question,
            asked_at: crate::row::instant(self.asked_at)?,
            state: match (answered_at, self.answer) {
                (None, _) => State::Open,
                (Some(at), Some(text)) => State::Answered { text, at },
                (Some(at), None) => State::Closed { at },
            },
        })
    }
}

/// Keeps a question.
///
/// # Errors
///
/// What the driver says.
pub async fn insert(
    tx: &mut Tx,
    id: QuestionId,
    participant: ParticipantId,
    text: &str,
    by: UserId,
    now: Timestamp,
) -> Result<(), Error> {
    tx.query("INSERT INTO questions (id, participant_id, question, asked_at, asked_by) VALUES ($1, $2, $3, $4, $5)")
        .bind(id.0)
        .bind(participant.0)
        .bind(text)
        .bind(now.as_microsecond())
        .bind(by.0)
        .execute()
        .await?;
    Ok(())
}

/// All questions of a round; what happened last stands first.
///
/// # Errors
///
/// What the driver says.
pub async fn of_round(tx: &mut Tx, round: RoundId) -> Result<Vec<Question>, Error> {
    let rows: Vec<Row> = tx
        .query(
            "SELECT q.id, q.participant_id, q.question, q.asked_at, a.answer, a.answered_at FROM questions q \
             JOIN participants p ON p.id = q.participant_id LEFT JOIN answers a ON a.question_id = q.id \
             WHERE p.round_id = $1 ORDER BY COALESCE(a.answered_at, q.asked_at) DESC, q.id DESC",
        )
        .bind(round.0)
        .all()
        .await?;
    rows.into_iter().map(Row::question).collect()
}

/// A question of a round.
///
/// # Errors
///
/// What the driver says.
pub async fn by_id(tx: &mut Tx, round: RoundId, id: QuestionId) -> Result<Option<Question>, Error> {
    let row: Option<Row> = tx
        .query(
            "SELECT q.id, q.participant_id, q.question, q.asked_at, a.answer, a.answered_at FROM questions q \
             JOIN participants p ON p.id = q.participant_id LEFT JOIN answers a ON a.question_id = q.id \
             WHERE p.round_id = $1 AND q.id = $2",
        )
        .bind(round.0)
        .bind(id.0)
        .optional()
        .await?;
    row.map(Row::question).transpose()
}

/// How many questions of a round are open.
///
/// # Errors
///
/// What the driver says.
pub async fn open(tx: &mut Tx, round: RoundId) -> Result<i64, Error> {
    tx.query(
        "SELECT count(*) FROM questions q JOIN participants p ON p.id = q.participant_id \
         WHERE p.round_id = $1 AND NOT EXISTS (SELECT 1 FROM answers a WHERE a.question_id = q.id)",
    )
    .bind(round.0)
    .value()
    .await
}

/// Answers a question to all, or closes it without an answer.
///
/// # Errors
///
/// [`Error::Exists`] when that was done before.
pub async fn answer(
    tx: &mut Tx,
    id: QuestionId,
    answer: Option<&str>,
    by: UserId,
    now: Timestamp,
) -> Result<(), Error> {
    tx.query("INSERT INTO answers (question_id, answer, answered_at, answered_by) VALUES ($1, $2, $3, $4)")
        .bind(id.0)
        .bind(answer)
        .bind(now.as_microsecond())
        .bind(by.0)
        .execute()
        .await?;
    Ok(())
}
