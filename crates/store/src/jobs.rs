//! Long work that the program does by itself, part by part. One of several copies
//! of the program holds a job for a limited time ([`claim`]); what it has done is
//! kept when it stops, and whoever holds the job next goes on from there.

use crate::row::Micros;
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::{JobId, RoundId, UserId};
use uuid::Uuid;

/// What a job makes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// The evaluation of a round.
    Evaluation,
    /// The certificates of all laboratories of a published round.
    Certificates,
}

impl Kind {
    /// The word that is stored.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Evaluation => "evaluation",
            Kind::Certificates => "certificates",
        }
    }
}

/// Where a job stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// It is being done, or waits for a copy of the program to go on.
    Waiting,
    /// Everything is done.
    Done,
    /// It cannot be done; the problem says why.
    Failed,
    /// A person stopped it.
    Cancelled,
}

impl State {
    /// The word that is stored.
    pub fn word(self) -> &'static str {
        match self {
            State::Waiting => "waiting",
            State::Done => "done",
            State::Failed => "failed",
            State::Cancelled => "cancelled",
        }
    }
}

/// A word of a job that is none of ours.
#[derive(Debug, thiserror::Error)]
#[error("no job knows the word {0:?}")]
pub struct UnknownWord(String);

impl TryFrom<String> for Kind {
    type Error = UnknownWord;

    fn try_from(word: String) -> Result<Self, UnknownWord> {
        let all = [Kind::Evaluation, Kind::Certificates];
        all.into_iter().find(|kind| kind.word() == word).ok_or(UnknownWord(word))
    }
}

impl TryFrom<String> for State {
    type Error = UnknownWord;

    fn try_from(word: String) -> Result<Self, UnknownWord> {
        let all = [State::Waiting, State::Done, State::Failed, State::Cancelled];
        all.into_iter().find(|state| state.word() == word).ok_or(UnknownWord(word))
    }
}

/// A job.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Job {
    /// Its name for good.
    #[sqlx(try_from = "Uuid")]
    pub id: JobId,
    /// What it makes.
    #[sqlx(try_from = "String")]
    pub kind: Kind,
    /// For which round.
    #[sqlx(try_from = "Uuid")]
    pub round: RoundId,
    /// Where it stands.
    #[sqlx(try_from = "String")]
    pub state: State,
    /// How many parts it has; 0 while that is not known.
    pub parts: i64,
    /// How many of them are done.
    pub done: i64,
    /// Why it cannot be done, for a person to read.
    pub problem: Option<String>,
    /// Who wants it.
    #[sqlx(try_from = "Uuid")]
    pub made_by: UserId,
    /// The name of that person.
    pub by: String,
    #[sqlx(try_from = "i64")]
    made_at: Micros,
    #[sqlx(try_from = "i64")]
    next_try_at: Micros,
    ended_at: Option<i64>,
}

impl Job {
    /// Since when it is wanted.
    pub fn made_at(&self) -> Timestamp {
        self.made_at.0
    }

    /// Until when a copy of the program holds it, or since when it is due.
    pub fn next_try_at(&self) -> Timestamp {
        self.next_try_at.0
    }

    /// When it ended: done, failed or cancelled.
    pub fn ended_at(&self) -> Option<Timestamp> {
        self.ended_at.and_then(|at| Timestamp::from_microsecond(at).ok())
    }
}

/// Keeps a job, due at once.
///
/// # Errors
///
/// What the driver says.
pub async fn insert(
    tx: &mut Tx,
    id: JobId,
    kind: Kind,
    round: RoundId,
    by: UserId,
    now: Timestamp,
) -> Result<(), Error> {
    tx.query(
        "INSERT INTO jobs (id, kind, round_id, state, parts, next_try_at, attempts, made_at, made_by) \
         VALUES ($1, $2, $3, 'waiting', 0, $4, 0, $4, $5)",
    )
    .bind(id.0)
    .bind(kind.word())
    .bind(round.0)
    .bind(now.as_microsecond())
    .bind(by.0)
    .execute()
    .await?;
    Ok(())
}

/// A job.
///
/// # Errors
///
/// What the driver says.
pub async fn by_id(tx: &mut Tx, id: JobId) -> Result<Option<Job>, Error> {
    tx.query(
        "SELECT j.id, j.kind, j.round_id AS round, j.state, j.parts, \
         (SELECT count(*) FROM job_parts p WHERE p.job_id = j.id) AS done, j.problem, j.made_by, u.name AS by, \
         j.made_at, j.next_try_at, j.ended_at FROM jobs j JOIN users u ON u.id = j.made_by WHERE j.id = $1",
    )
    .bind(id.0)
    .optional()
    .await
}

/// All jobs, newest first, at most `limit`.
///
/// # Errors
///
/// What the driver says.
pub async fn newest(tx: &mut Tx, limit: i64) -> Result<Vec<Job>, Error> {
    // Ids rise in time.
    tx.query(
        "SELECT j.id, j.kind, j.round_id AS round, j.state, j.parts, \
         (SELECT count(*) FROM job_parts p WHERE p.job_id = j.id) AS done, j.problem, j.made_by, u.name AS by, \
         j.made_at, j.next_try_at, j.ended_at FROM jobs j JOIN users u ON u.id = j.made_by \
         ORDER BY j.id DESC LIMIT $1",
    )
    .bind(limit)
    .all()
    .await
}

/// The jobs of a round, newest first.
///
/// # Errors
///
/// What the driver says.
pub async fn of_round(tx: &mut Tx, round: RoundId) -> Result<Vec<Job>, Error> {
    tx.query(
        "SELECT j.id, j.kind, j.round_id AS round, j.state, j.parts, \
         (SELECT count(*) FROM job_parts p WHERE p.job_id = j.id) AS done, j.problem, j.made_by, u.name AS by, \
         j.made_at, j.next_try_at, j.ended_at FROM jobs j JOIN users u ON u.id = j.made_by \
         WHERE j.round_id = $1 ORDER BY j.id DESC",
    )
    .bind(round.0)
    .all()
    .await
}

/// The job that is due the longest at `now`, and since when.
///
/// # Errors
///
/// What the driver says.
pub async fn due(tx: &mut Tx, now: Timestamp) -> Result<Option<(JobId, Timestamp)>, Error> {
    let row: Option<(Uuid, i64)> = tx
        .query(
            "SELECT id, next_try_at FROM jobs WHERE state = 'waiting' AND next_try_at <= $1 \
             ORDER BY next_try_at, id LIMIT 1",
        )
        .bind(now.as_microsecond())
        .optional()
        .await?;
    row.map(|(id, at)| Ok((JobId(id), crate::row::instant(at)?))).transpose()
}

/// Takes a job until `lease`: nobody else does it before, and if this copy of the
/// program dies it is due again then. False when another copy was faster.
///
/// # Errors
///
/// What the driver says.
pub async fn claim(tx: &mut Tx, id: JobId, seen: Timestamp, lease: Timestamp) -> Result<bool, Error> {
    let touched = tx
        .query(
            "UPDATE jobs SET next_try_at = $1, attempts = attempts + 1 \
             WHERE id = $2 AND next_try_at = $3 AND state = 'waiting'",
        )
        .bind(lease.as_microsecond())
        .bind(id.0)
        .bind(seen.as_microsecond())
        .execute()
        .await?;
    Ok(touched == 1)
}

/// Holds a job longer, and notes how many parts it has. False when it was
/// cancelled, or is held by another copy of the program.
///
/// # Errors
///
/// What the driver says.
pub async fn renew(tx: &mut Tx, id: JobId, held: Timestamp, lease: Timestamp, parts: i64) -> Result<bool, Error> {
    let touched = tx
        .query("UPDATE jobs SET next_try_at = $1, parts = $2 WHERE id = $3 AND next_try_at = $4 AND state = 'waiting'")
        .bind(lease.as_microsecond())
        .bind(parts)
        .bind(id.0)
        .bind(held.as_microsecond())
        .execute()
        .await?;
    Ok(touched == 1)
}

/// Keeps what a part made.
///
/// # Errors
///
/// [`Error::Exists`] when it was made before.
pub async fn keep_part(
    tx: &mut Tx,
    id: JobId,
    part: i64,
    name: &str,
    content: &[u8],
    now: Timestamp,
) -> Result<(), Error> {
    tx.query("INSERT INTO job_parts (job_id, part, name, content, done_at) VALUES ($1, $2, $3, $4, $5)")
        .bind(id.0)
        .bind(part)
        .bind(name)
        .bind(content)
        .bind(now.as_microsecond())
        .execute()
        .await?;
    Ok(())
}

/// A part that is done.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Part {
    /// Its number in the job, from 0.
    pub part: i64,
    /// What it is called.
    pub name: String,
    /// What it made.
    pub content: Vec<u8>,
}

/// The parts that are done, by number.
///
/// # Errors
///
/// What the driver says.
pub async fn parts(tx: &mut Tx, id: JobId) -> Result<Vec<Part>, Error> {
    tx.query("SELECT part, name, content FROM job_parts WHERE job_id = $1 ORDER BY part").bind(id.0).all().await
}

/// The numbers of the parts that are done.
///
/// # Errors
///
/// What the driver says.
pub async fn parts_done(tx: &mut Tx, id: JobId) -> Result<Vec<i64>, Error> {
    let rows: Vec<(i64,)> =
        tx.query("SELECT part FROM job_parts WHERE job_id = $1 ORDER BY part").bind(id.0).all().await?;
    Ok(rows.into_iter().map(|(part,)| part).collect())
}

/// One part that is done.
///
/// # Errors
///
/// What the driver says.
pub async fn part(tx: &mut Tx, id: JobId, part: i64) -> Result<Option<Part>, Error> {
    tx.query("SELECT part, name, content FROM job_parts WHERE job_id = $1 AND part = $2")
        .bind(id.0)
        .bind(part)
        .optional()
        .await
}

/// Drops what the parts made: it is needed no more, or must be made anew.
///
/// # Errors
///
/// What the driver says.
pub async fn drop_parts(tx: &mut Tx, id: JobId) -> Result<(), Error> {
    tx.query("DELETE FROM job_parts WHERE job_id = $1").bind(id.0).execute().await?;
    Ok(())
}

/// Ends a job that is held until `held`: done, or with the problem that keeps it
/// from being done. False when it was cancelled or is held by another copy.
///
/// # Errors
///
/// What the driver says.
pub async fn end(
    tx: &mut Tx,
    id: JobId,
    held: Timestamp,
    problem: Option<&str>,
    now: Timestamp,
) -> Result<bool, Error> {
    let state = if problem.is_some() { State::Failed } else { State::Done };
    let touched = tx
        .query(
            "UPDATE jobs SET state = $1, problem = $2, ended_at = $3 \
             WHERE id = $4 AND next_try_at = $5 AND state = 'waiting'",
        )
        .bind(state.word())
        .bind(problem)
        .bind(now.as_microsecond())
        .bind(id.0)
        .bind(held.as_microsecond())
        .execute()
        .await?;
    Ok(touched == 1)
}

/// Stops a job. False when it is not being done.
///
/// # Errors
///
/// What the driver says.
pub async fn cancel(tx: &mut Tx, id: JobId, now: Timestamp) -> Result<bool, Error> {
    let touched = tx
        .query("UPDATE jobs SET state = 'cancelled', ended_at = $1 WHERE id = $2 AND state = 'waiting'")
        .bind(now.as_microsecond())
        .bind(id.0)
        .execute()
        .await?;
    Ok(touched == 1)
}

/// Lets a job that was cancelled or failed go on where it stood. False when it
/// was neither.
///
/// # Errors
///
/// What the driver says.
pub async fn resume(tx: &mut Tx, id: JobId, now: Timestamp) -> Result<bool, Error> {
    let touched = tx
        .query(
            "UPDATE jobs SET state = 'waiting', problem = NULL, ended_at = NULL, next_try_at = $1 \
             WHERE id = $2 AND state IN ('cancelled', 'failed')",
        )
        .bind(now.as_microsecond())
        .bind(id.0)
        .execute()
        .await?;
    Ok(touched == 1)
}
