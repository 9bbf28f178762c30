//! Complaints and appeals with their steps. Rows are only ever inserted.

use crate::row::{Micros, corrupt};
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::case::{Kind, Outcome, Step};
use roundel_domain::id::{CaseId, ParticipantId, RoundId, UserId};
use uuid::Uuid;

/// A complaint or appeal to be stored.
#[derive(Clone, Copy, Debug)]
pub struct NewCase<'a> {
    /// Its name for good.
    pub id: CaseId,
    /// About which round.
    pub round: RoundId,
    /// Its number in the round, from 1.
    pub number: i64,
    /// Which of the two.
    pub kind: Kind,
    /// Whose; none for an anonymous one.
    pub participant: Option<ParticipantId>,
    /// What it is about, in a line.
    pub subject: &'a str,
    /// What is said.
    pub statement: &'a str,
    /// When it came.
    pub at: Timestamp,
    /// Who typed it.
    pub by: UserId,
}

/// Stores a complaint or appeal.
///
/// # Errors
///
/// [`Error::Exists`] when the round has this number.
pub async fn insert(tx: &mut Tx, new: &NewCase<'_>) -> Result<(), Error> {
    tx.query(
        "INSERT INTO cases (id, round_id, number, kind, participant_id, subject, statement, received_at, received_by) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
    )
    .bind(new.id.0)
    .bind(new.round.0)
    .bind(new.number)
    .bind(new.kind.word())
    .bind(new.participant.map(|id| id.0))
    .bind(new.subject)
    .bind(new.statement)
    .bind(new.at.as_microsecond())
    .bind(new.by.0)
    .execute()
    .await?;
    Ok(())
}

/// A complaint or appeal as read.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Case {
    /// Its name.
    #[sqlx(try_from = "Uuid")]
    pub id: CaseId,
    /// Its number in the round.
    pub number: i64,
    kind: String,
    participant_id: Option<Uuid>,
    /// Code of the laboratory; none for an anonymous one.
    pub code: Option<String>,
    /// What it is about.
    pub subject: String,
    /// What is said.
    pub statement: String,
    #[sqlx(try_from = "i64")]
    received_at: Micros,
}

impl Case {
    /// Which of the two.
    ///
    /// # Errors
    ///
    /// When the row holds a word that is none of ours.
    pub fn kind(&self) -> Result<Kind, Error> {
        Kind::of(&self.kind).ok_or_else(|| corrupt("a complaint"))
    }

    /// Whose.
    pub fn participant(&self) -> Option<ParticipantId> {
        self.participant_id.map(ParticipantId)
    }

    /// When it came.
    pub fn at(&self) -> Timestamp {
        self.received_at.0
    }
}

/// The complaints and appeals of a round, in the order in which they came.
///
/// # Errors
///
/// What the driver says.
pub async fn of_round(tx: &mut Tx, round: RoundId) -> Result<Vec<Case>, Error> {
    tx.query(
        "SELECT c.id, c.number, c.kind, c.participant_id, p.code, c.subject, c.statement, c.received_at \
         FROM cases c LEFT JOIN participants p ON p.id = c.participant_id WHERE c.round_id = $1 ORDER BY c.number",
    )
    .bind(round.0)
    .all()
    .await
}

/// A step to be stored.
#[derive(Clone, Copy, Debug)]
pub struct NewStep<'a> {
    /// Its name for good.
    pub id: Uuid,
    /// Of which case.
    pub case: CaseId,
    /// Which step.
    pub step: Step,
    /// The outcome, of a decision.
    pub outcome: Option<Outcome>,
    /// What is said.
    pub statement: &'a str,
    /// Who investigates, where that is named.
    pub person: Option<UserId>,
    /// When.
    pub at: Timestamp,
    /// By whom.
    pub by: UserId,
}

/// Stores a step.
///
/// # Errors
///
/// What the driver says.
pub async fn add_step(tx: &mut Tx, new: &NewStep<'_>) -> Result<(), Error> {
    tx.query(
        "INSERT INTO case_steps (id, case_id, step, outcome, statement, person_id, made_at, made_by) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
    )
    .bind(new.id)
    .bind(new.case.0)
    .bind(new.step.word())
    .bind(new.outcome.map_or("", Outcome::word))
    .bind(new.statement)
    .bind(new.person.map(|id| id.0))
    .bind(new.at.as_microsecond())
    .bind(new.by.0)
    .execute()
    .await?;
    Ok(())
}

/// A step as read.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Stepped {
    /// Of which case.
    #[sqlx(rename = "case_id", try_from = "Uuid")]
    pub case: CaseId,
    step: String,
    outcome: String,
    /// What is said.
    pub statement: String,
    person_id: Option<Uuid>,
    /// Who investigates, by name.
    pub person: Option<String>,
    /// By whom.
    pub by: String,
    #[sqlx(try_from = "i64")]
    made_at: Micros,
}

impl Stepped {
    /// Which step.
    ///
    /// # Errors
    ///
    /// When the row holds a word that is none of ours.
    pub fn step(&self) -> Result<Step, Error> {
        Step::of(&self.step).ok_or_else(|| corrupt("a step of a complaint"))
    }

    /// The outcome, of a decision.
    pub fn outcome(&self) -> Option<Outcome> {
        Outcome::of(&self.outcome)
    }

    /// Who investigates.
    pub fn investigator(&self) -> Option<UserId> {
        self.person_id.map(UserId)
    }

    /// When.
    pub fn at(&self) -> Timestamp {
        self.made_at.0
    }
}

/// The steps of all cases of a round, oldest first.
///
/// # Errors
///
/// What the driver says.
pub async fn steps(tx: &mut Tx, round: RoundId) -> Result<Vec<Stepped>, Error> {
    tx.query(
        "SELECT s.case_id, s.step, s.outcome, s.statement, s.person_id, w.name AS person, u.name AS by, \
         s.made_at FROM case_steps s JOIN cases c ON c.id = s.case_id JOIN users u ON u.id = s.made_by \
         LEFT JOIN users w ON w.id = s.person_id WHERE c.round_id = $1 ORDER BY s.made_at, s.id",
    )
    .bind(round.0)
    .all()
    .await
}
