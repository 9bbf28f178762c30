//! Messages by mail, from being queued to being sent or given up.

use crate::row::Micros;
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::{LaboratoryId, MessageId, RoundId};
use uuid::Uuid;

/// What a message is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// The link with which a laboratory makes its account.
    Invitation,
    /// That results are still missing.
    Reminder,
    /// That results were received.
    Receipt,
    /// That scores can be seen.
    Publication,
    /// That published scores were corrected.
    Correction,
    /// That a corrected report took the place of the one before.
    ReportCorrection,
    /// The link with which a colleague makes an account.
    Colleague,
    /// That a question was answered to all.
    Answer,
    /// That an item or a measurand was withdrawn.
    Withdrawal,
    /// That results are to be confirmed.
    Clarification,
    /// That the deadline is later, for all.
    Deadline,
}

impl Kind {
    /// The word that is stored.
    pub fn name(self) -> &'static str {
        match self {
            Kind::Invitation => "invitation",
            Kind::Reminder => "reminder",
            Kind::Receipt => "receipt",
            Kind::Publication => "publication",
            Kind::Correction => "correction",
            Kind::ReportCorrection => "report-correction",
            Kind::Colleague => "colleague",
            Kind::Answer => "answer",
            Kind::Withdrawal => "withdrawal",
            Kind::Clarification => "clarification",
            Kind::Deadline => "deadline",
        }
    }
}

/// A word that is no [`Kind`].
#[derive(Debug, thiserror::Error)]
#[error("no kind of message is called {0:?}")]
pub struct UnknownKind(String);

impl TryFrom<String> for Kind {
    type Error = UnknownKind;

    fn try_from(word: String) -> Result<Self, UnknownKind> {
        let all = [
            Kind::Invitation,
            Kind::Reminder,
            Kind::Receipt,
            Kind::Publication,
            Kind::Correction,
            Kind::ReportCorrection,
            Kind::Colleague,
            Kind::Answer,
            Kind::Withdrawal,
            Kind::Clarification,
            Kind::Deadline,
        ];
        all.into_iter().find(|kind| kind.name() == word).ok_or(UnknownKind(word))
    }
}

/// A message to be queued.
#[derive(Clone, Copy, Debug)]
pub struct NewMessage<'a> {
    /// Its name for good.
    pub id: MessageId,
    /// What it is about.
    pub kind: Kind,
    /// The round.
    pub round: Option<RoundId>,
    /// The laboratory.
    pub laboratory: Option<LaboratoryId>,
    /// The one address that it goes to.
    pub recipient: &'a str,
    /// Its subject, a line.
    pub subject: &'a str,
    /// Its text, without any secret.
    pub body: &'a str,
}

/// Queues a message, due at once.
///
/// # Errors
///
/// What the driver says.
pub async fn enqueue(tx: &mut Tx, message: &NewMessage<'_>, now: Timestamp) -> Result<(), Error> {
    tx.query(
        "INSERT INTO outbox (id, kind, round_id, laboratory_id, recipient, subject, body, queued_at, next_try_at, attempts) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $8, 0)",
    )
    .bind(message.id.0)
    .bind(message.kind.name())
    .bind(message.round.map(|id| id.0))
    .bind(message.laboratory.map(|id| id.0))
    .bind(message.recipient)
    .bind(message.subject)
    .bind(message.body)
    .bind(now.as_microsecond())
    .execute()
    .await?;
    Ok(())
}

/// A message that waits to be sent.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Waiting {
    /// Its name for good.
    #[sqlx(try_from = "Uuid")]
    pub id: MessageId,
    /// What it is about.
    #[sqlx(try_from = "String")]
    pub kind: Kind,
    round_id: Option<Uuid>,
    laboratory_id: Option<Uuid>,
    /// The one address that it goes to.
    pub recipient: String,
    /// Its subject.
    pub subject: String,
    /// Its text.
    pub body: String,
    /// How often it was tried before.
    pub attempts: i64,
    #[sqlx(try_from = "i64")]
    next_try_at: Micros,
}

impl Waiting {
    /// The round.
    pub fn round(&self) -> Option<RoundId> {
        self.round_id.map(RoundId)
    }

    /// The laboratory.
    pub fn laboratory(&self) -> Option<LaboratoryId> {
        self.laboratory_id.map(LaboratoryId)
    }

    /// Since when it is due.
    pub fn next_try_at(&self) -> Timestamp {
        self.next_try_at.0
    }
}

/// Messages that are due at `now`, the longest first, at most `limit`.
///
/// # Errors
///
/// What the driver says.
pub async fn due(tx: &mut Tx, now: Timestamp, limit: i64) -> Result<Vec<Waiting>, Error> {
    tx.query(
        "SELECT id, kind, round_id, laboratory_id, recipient, subject, body, attempts, next_try_at FROM outbox \
         WHERE sent_at IS NULL AND given_up_at IS NULL AND next_try_at <= $1 ORDER BY next_try_at, id LIMIT $2",
    )
    .bind(now.as_microsecond())
    .bind(limit)
    .all()
    .await
}

/// Takes a message to send it: until `lease` nobody else does, and if this
/// sender dies it is due again then. Counts the attempt. False when another
/// copy of the program was faster.
///
/// # Errors
///
/// What the driver says.
pub async fn claim(tx: &mut Tx, id: MessageId, seen: Timestamp, lease: Timestamp) -> Result<bool, Error> {
    let touched = tx
        .query(
            "UPDATE outbox SET next_try_at = $1, attempts = attempts + 1 \
             WHERE id = $2 AND next_try_at = $3 AND sent_at IS NULL AND given_up_at IS NULL",
        )
        .bind(lease.as_microsecond())
        .bind(id.0)
        .bind(seen.as_microsecond())
        .execute()
        .await?;
    Ok(touched == 1)
}

/// Writes that a message was sent.
///
/// # Errors
///
/// What the driver says.
pub async fn sent(tx: &mut Tx, id: MessageId, now: Timestamp) -> Result<(), Error> {
    tx.query("UPDATE outbox SET sent_at = $1, given_up_at = NULL, last_error = NULL WHERE id = $2 AND sent_at IS NULL")
        .bind(now.as_microsecond())
        .bind(id.0)
        .execute()
        .await?;
    Ok(())
}

/// Why and how an attempt failed.
#[derive(Clone, Copy, Debug)]
pub struct Failure<'a> {
    /// The lease under which it was tried.
    pub lease: Timestamp,
    /// What went wrong, for the organiser to read.
    pub error: &'a str,
    /// When it is tried again.
    pub next_try: Timestamp,
    /// When it was given up instead.
    pub given_up: Option<Timestamp>,
}

/// Writes that an attempt failed. False when the message was not held any more.
///
/// # Errors
///
/// What the driver says.
pub async fn failed(tx: &mut Tx, id: MessageId, failure: &Failure<'_>) -> Result<bool, Error> {
    let touched = tx
        .query(
            "UPDATE outbox SET last_error = $1, next_try_at = $2, given_up_at = $3 \
             WHERE id = $4 AND next_try_at = $5 AND sent_at IS NULL AND given_up_at IS NULL",
        )
        .bind(failure.error)
        .bind(failure.next_try.as_microsecond())
        .bind(failure.given_up.map(|at| at.as_microsecond()))
        .bind(id.0)
        .bind(failure.lease.as_microsecond())
        .execute()
        .await?;
    Ok(touched == 1)
}

/// A message as the organiser sees it.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Message {
    /// Its name for good.
    #[sqlx(try_from = "Uuid")]
    pub id: MessageId,
    /// What it is about.
    #[sqlx(try_from = "String")]
    pub kind: Kind,
    /// Name of the laboratory.
    pub laboratory: Option<String>,
    /// The address that it goes to.
    pub recipient: String,
    /// Its subject.
    pub subject: String,
    /// Its text.
    pub body: String,
    #[sqlx(try_from = "i64")]
    queued_at: Micros,
    #[sqlx(try_from = "i64")]
    next_try_at: Micros,
    /// How often it was tried.
    pub attempts: i64,
    /// What went wrong last.
    pub last_error: Option<String>,
    sent_at: Option<i64>,
    given_up_at: Option<i64>,
}

impl Message {
    /// When it was queued.
    pub fn queued_at(&self) -> Timestamp {
        self.queued_at.0
    }

    /// When it is tried next.
    pub fn next_try_at(&self) -> Timestamp {
        self.next_try_at.0
    }

    /// When it was sent.
    pub fn sent_at(&self) -> Option<Timestamp> {
        self.sent_at.and_then(|at| Timestamp::from_microsecond(at).ok())
    }

    /// When it was given up.
    pub fn given_up_at(&self) -> Option<Timestamp> {
        self.given_up_at.and_then(|at| Timestamp::from_microsecond(at).ok())
    }
}

/// Messages of a round, newest first, at most `limit`, only those before
/// `before` if that is given.
///
/// # Errors
///
/// What the driver says.
pub async fn of_round(
    tx: &mut Tx,
    round: RoundId,
    before: Option<MessageId>,
    limit: i64,
) -> Result<Vec<Message>, Error> {
    // Ids rise in time.
    tx.query(
        "SELECT o.id, o.kind, l.name AS laboratory, o.recipient, o.subject, o.body, o.queued_at, o.next_try_at, \
         o.attempts, o.last_error, o.sent_at, o.given_up_at \
         FROM outbox o LEFT JOIN laboratories l ON l.id = o.laboratory_id \
         WHERE o.round_id = $1 AND o.id < $2 ORDER BY o.id DESC LIMIT $3",
    )
    .bind(round.0)
    .bind(before.map_or(Uuid::max(), |id| id.0))
    .bind(limit)
    .all()
    .await
}

/// How many messages of a round were given up.
///
/// # Errors
///
/// What the driver says.
pub async fn given_up(tx: &mut Tx, round: RoundId) -> Result<i64, Error> {
    tx.query("SELECT count(*) FROM outbox WHERE round_id = $1 AND given_up_at IS NOT NULL").bind(round.0).value().await
}

/// Laboratories of a round to which a message of this kind is on its way.
///
/// # Errors
///
/// What the driver says.
pub async fn on_the_way(tx: &mut Tx, round: RoundId, kind: Kind) -> Result<Vec<LaboratoryId>, Error> {
    let rows: Vec<(Uuid,)> = tx
        .query(
            "SELECT DISTINCT laboratory_id FROM outbox WHERE round_id = $1 AND kind = $2 \
             AND laboratory_id IS NOT NULL AND sent_at IS NULL AND given_up_at IS NULL",
        )
        .bind(round.0)
        .bind(kind.name())
        .all()
        .await?;
    Ok(rows.into_iter().map(|(id,)| LaboratoryId(id)).collect())
}

/// Makes a message of a round that was given up due again, with all its tries.
/// False when it was not given up.
///
/// # Errors
///
/// What the driver says.
pub async fn retry(tx: &mut Tx, round: RoundId, id: MessageId, now: Timestamp) -> Result<bool, Error> {
    let touched = tx
        .query(
            "UPDATE outbox SET given_up_at = NULL, next_try_at = $1, attempts = 0 \
             WHERE id = $2 AND round_id = $3 AND given_up_at IS NOT NULL AND sent_at IS NULL",
        )
        .bind(now.as_microsecond())
        .bind(id.0)
        .bind(round.0)
        .execute()
        .await?;
    Ok(touched == 1)
}
