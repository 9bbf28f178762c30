//! What reviewers said of evaluations, and the answers. Rows are only ever
//! inserted.

use crate::row::{Micros, corrupt};
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::approval::Verdict;
use roundel_domain::id::{EvaluationId, MeasurandId, ReviewId, RoundId, UserId};
use uuid::Uuid;

/// What is said of a measurand, to be stored.
#[derive(Clone, Copy, Debug)]
pub struct NewReview<'a> {
    /// Its name for good.
    pub id: ReviewId,
    /// In which evaluation.
    pub evaluation: EvaluationId,
    /// Of which measurand.
    pub measurand: MeasurandId,
    /// What is said.
    pub verdict: Verdict,
    /// Digest of all that was looked at.
    pub digest: &'a str,
    /// What is to be answered; empty for an approval without a remark.
    pub finding: &'a str,
    /// When.
    pub at: Timestamp,
    /// By whom.
    pub by: UserId,
}

/// Stores what a reviewer says.
///
/// # Errors
///
/// What the driver says.
pub async fn insert(tx: &mut Tx, new: &NewReview<'_>) -> Result<(), Error> {
    tx.query(
        "INSERT INTO reviews (id, evaluation_id, measurand_id, verdict, digest, finding, made_at, made_by) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
    )
    .bind(new.id.0)
    .bind(new.evaluation.0)
    .bind(new.measurand.0)
    .bind(new.verdict.word())
    .bind(new.digest)
    .bind(new.finding)
    .bind(new.at.as_microsecond())
    .bind(new.by.0)
    .execute()
    .await?;
    Ok(())
}

/// What a reviewer said, with its answer.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Review {
    /// Its name.
    #[sqlx(try_from = "Uuid")]
    pub id: ReviewId,
    /// Of which measurand.
    #[sqlx(try_from = "Uuid")]
    pub measurand: MeasurandId,
    verdict: String,
    /// Digest of all that was looked at.
    pub digest: String,
    /// What is to be answered; may be empty.
    pub finding: String,
    /// By whom.
    pub by: String,
    #[sqlx(try_from = "i64")]
    made_at: Micros,
    /// The answer.
    pub answer: Option<String>,
    /// Who answered.
    pub answered_by: Option<String>,
    answered_at: Option<i64>,
}

impl Review {
    /// What was said.
    ///
    /// # Errors
    ///
    /// When the row holds a word that is none of ours.
    pub fn verdict(&self) -> Result<Verdict, Error> {
        Verdict::of(&self.verdict).ok_or_else(|| corrupt("a review"))
    }

    /// When.
    pub fn at(&self) -> Timestamp {
        self.made_at.0
    }

    /// When it was answered.
    pub fn answered_at(&self) -> Option<Timestamp> {
        self.answered_at.and_then(|at| Timestamp::from_microsecond(at).ok())
    }
}

/// All that reviewers said in a round, oldest first.
///
/// # Errors
///
/// What the driver says.
pub async fn of_round(tx: &mut Tx, round: RoundId) -> Result<Vec<Review>, Error> {
    tx.query(
        "SELECT r.id, r.measurand_id AS measurand, r.verdict, r.digest, r.finding, u.name AS by, r.made_at, \
         a.answer, w.name AS answered_by, a.answered_at FROM reviews r \
         JOIN measurands m ON m.id = r.measurand_id JOIN users u ON u.id = r.made_by \
         LEFT JOIN review_answers a ON a.review_id = r.id LEFT JOIN users w ON w.id = a.answered_by \
         WHERE m.round_id = $1 ORDER BY r.made_at, r.id",
    )
    .bind(round.0)
    .all()
    .await
}

/// Stores an answer.
///
/// # Errors
///
/// [`Error::Exists`] when it was answered before.
pub async fn answer(tx: &mut Tx, review: ReviewId, answer: &str, by: UserId, now: Timestamp) -> Result<(), Error> {
    tx.query("INSERT INTO review_answers (review_id, answer, answered_at, answered_by) VALUES ($1, $2, $3, $4)")
        .bind(review.0)
        .bind(answer)
        .bind(now.as_microsecond())
        .bind(by.0)
        .execute()
        .await?;
    Ok(())
}

/// Everybody who decided, tried out or evaluated in a round: they do not approve.
///
/// # Errors
///
/// What the driver says.
pub async fn editors(tx: &mut Tx, round: RoundId) -> Result<Vec<UserId>, Error> {
    let rows: Vec<(Uuid,)> = tx
        .query(
            "SELECT d.decided_by FROM decisions d JOIN participants p ON p.id = d.participant_id WHERE p.round_id = $1 \
             UNION SELECT d.decided_by FROM measurand_decisions d JOIN measurands m ON m.id = d.measurand_id \
             WHERE m.round_id = $1 AND d.kind <> 'consent' \
             UNION SELECT l.made_by FROM plans l WHERE l.round_id = $1 \
             UNION SELECT e.evaluated_by FROM evaluations e WHERE e.round_id = $1 \
             UNION SELECT t.tried_by FROM trials t JOIN evaluations e ON e.id = t.evaluation_id WHERE e.round_id = $1",
        )
        .bind(round.0)
        .all()
        .await?;
    Ok(rows.into_iter().map(|(id,)| UserId(id)).collect())
}

/// Everybody who approved, returned, consented or published in a round: with the
/// editors those who do not investigate a complaint about it.
///
/// # Errors
///
/// What the driver says.
pub async fn approvers(tx: &mut Tx, round: RoundId) -> Result<Vec<UserId>, Error> {
    let rows: Vec<(Uuid,)> = tx
        .query(
            "SELECT r.made_by FROM reviews r JOIN measurands m ON m.id = r.measurand_id WHERE m.round_id = $1 \
             UNION SELECT d.decided_by FROM measurand_decisions d JOIN measurands m ON m.id = d.measurand_id \
             WHERE m.round_id = $1 AND d.kind = 'consent' \
             UNION SELECT p.published_by FROM publications p WHERE p.round_id = $1",
        )
        .bind(round.0)
        .all()
        .await?;
    Ok(rows.into_iter().map(|(id,)| UserId(id)).collect())
}
