//! What laboratories sent, and what was decided on it. Rows are only ever
//! inserted.

use crate::row::Micros;
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::decision::{Cause, Kind};
use roundel_domain::id::{DecisionId, LaboratoryId, MeasurandId, ParticipantId, RoundId, SubmissionId, UserId};
use roundel_domain::result::Submission;
use uuid::Uuid;

/// One sending.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Sent {
    /// Its name for good, and in its address.
    #[sqlx(try_from = "Uuid")]
    pub id: SubmissionId,
    /// Whose.
    #[sqlx(try_from = "Uuid")]
    pub participant: ParticipantId,
    /// 1 for the first, 2 for the first revision.
    pub version: i64,
    /// Its exact text.
    pub document: String,
    /// SHA-256 of the text, in hexadecimal.
    pub sha256: String,
    /// Whether it came after the deadline.
    pub late: bool,
    #[sqlx(try_from = "i64")]
    submitted_at: Micros,
    receipt: Option<String>,
    key_id: Option<String>,
    signature: Option<String>,
}

/// The signature of a receipt, with all that it is checked with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Seal<'a> {
    /// The exact text that is signed.
    pub receipt: &'a str,
    /// Name of the key.
    pub key_id: &'a str,
    /// The signature, in Base64.
    pub signature: &'a str,
}

impl Sent {
    /// Its signed receipt; none where it was sent before receipts were signed.
    pub fn seal(&self) -> Option<Seal<'_>> {
        match (&self.receipt, &self.key_id, &self.signature) {
            (Some(receipt), Some(key_id), Some(signature)) => Some(Seal { receipt, key_id, signature }),
            _ => None,
        }
    }

    /// When it came.
    pub fn submitted_at(&self) -> Timestamp {
        self.submitted_at.0
    }

    /// What its text says.
    ///
    /// # Errors
    ///
    /// When the text is no submission.
    pub fn submission(&self) -> Result<Submission, Error> {
        serde_json::from_str(&self.document).map_err(|_| crate::row::corrupt("a submission"))
    }
}

/// A sending to be stored.
#[derive(Clone, Copy, Debug)]
pub struct NewSent<'a> {
    /// Its name for good.
    pub id: SubmissionId,
    /// Whose.
    pub participant: ParticipantId,
    /// Its number.
    pub version: i64,
    /// What the form carried, so that a second click is no second sending.
    pub once: &'a str,
    /// Its exact text.
    pub document: &'a str,
    /// SHA-256 of the text, in hexadecimal.
    pub sha256: &'a str,
    /// Whether it came after the deadline.
    pub late: bool,
    /// When it came.
    pub at: Timestamp,
    /// Who sent it.
    pub by: UserId,
    /// Its signed receipt.
    pub seal: Option<Seal<'a>>,
}

/// Stores a sending.
///
/// # Errors
///
/// [`Error::Exists`] when the version, or the form, was stored before.
pub async fn insert(tx: &mut Tx, new: &NewSent<'_>) -> Result<(), Error> {
    tx.query(
        "INSERT INTO submissions (id, participant_id, version, once, document, sha256, late, submitted_at, submitted_by, \
         receipt, key_id, signature) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)",
    )
    .bind(new.id.0)
    .bind(new.participant.0)
    .bind(new.version)
    .bind(new.once)
    .bind(new.document)
    .bind(new.sha256)
    .bind(new.late)
    .bind(new.at.as_microsecond())
    .bind(new.by.0)
    .bind(new.seal.map(|seal| seal.receipt))
    .bind(new.seal.map(|seal| seal.key_id))
    .bind(new.seal.map(|seal| seal.signature))
    .execute()
    .await?;
    Ok(())
}

/// The sending of a form that was stored before.
///
/// # Errors
///
/// What the driver says.
pub async fn by_once(tx: &mut Tx, participant: ParticipantId, once: &str) -> Result<Option<SubmissionId>, Error> {
    let row: Option<(Uuid,)> = tx
        .query("SELECT id FROM submissions WHERE participant_id = $1 AND once = $2")
        .bind(participant.0)
        .bind(once)
        .optional()
        .await?;
    Ok(row.map(|(id,)| SubmissionId(id)))
}

/// Keeps other sendings of this participant out until the transaction ends.
///
/// # Errors
///
/// What the driver says.
pub async fn hold(tx: &mut Tx, participant: ParticipantId) -> Result<(), Error> {
    // An update that changes nothing takes the row's lock on both databases.
    tx.query("UPDATE participants SET code = code WHERE id = $1").bind(participant.0).execute().await?;
    Ok(())
}

/// All sendings of a participant, oldest first.
///
/// # Errors
///
/// What the driver says.
pub async fn of_participant(tx: &mut Tx, participant: ParticipantId) -> Result<Vec<Sent>, Error> {
    tx.query(
        "SELECT id, participant_id AS participant, version, document, sha256, late, submitted_at, receipt, \
         key_id, signature FROM submissions WHERE participant_id = $1 ORDER BY version",
    )
    .bind(participant.0)
    .all()
    .await
}

/// The newest sending of each participant of a round.
///
/// # Errors
///
/// What the driver says.
pub async fn newest_of_round(tx: &mut Tx, round: RoundId) -> Result<Vec<Sent>, Error> {
    tx.query(
        "SELECT s.id, s.participant_id AS participant, s.version, s.document, s.sha256, s.late, s.submitted_at, \
         s.receipt, s.key_id, s.signature FROM submissions s JOIN participants p ON p.id = s.participant_id \
         WHERE p.round_id = $1 AND s.version = \
         (SELECT max(n.version) FROM submissions n WHERE n.participant_id = s.participant_id) ORDER BY p.code",
    )
    .bind(round.0)
    .all()
    .await
}

/// Whose a sending is.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Owner {
    /// The laboratory.
    #[sqlx(try_from = "Uuid")]
    pub laboratory: LaboratoryId,
    /// The round.
    #[sqlx(try_from = "Uuid")]
    pub round: RoundId,
    /// The laboratory's code there.
    pub code: String,
}

/// A sending by its name.
///
/// # Errors
///
/// What the driver says.
pub async fn by_id(tx: &mut Tx, id: SubmissionId) -> Result<Option<Sent>, Error> {
    tx.query(
        "SELECT id, participant_id AS participant, version, document, sha256, late, submitted_at, receipt, \
         key_id, signature FROM submissions WHERE id = $1",
    )
    .bind(id.0)
    .optional()
    .await
}

/// Whose the sending is.
///
/// # Errors
///
/// What the driver says.
pub async fn owner(tx: &mut Tx, id: SubmissionId) -> Result<Option<Owner>, Error> {
    tx.query(
        "SELECT p.laboratory_id AS laboratory, p.round_id AS round, p.code FROM submissions s \
         JOIN participants p ON p.id = s.participant_id WHERE s.id = $1",
    )
    .bind(id.0)
    .optional()
    .await
}

/// A decision to be stored.
#[derive(Clone, Copy, Debug)]
pub struct NewDecision<'a> {
    /// Its name for good.
    pub id: DecisionId,
    /// On whose result.
    pub participant: ParticipantId,
    /// Of which measurand.
    pub measurand: MeasurandId,
    /// What was decided.
    pub kind: Kind,
    /// What speaks for it.
    pub cause: Cause,
    /// Keys of the findings that speak for it, one a line; may be empty.
    pub evidence: &'a str,
    /// What was decided together.
    pub batch: Uuid,
    /// The effect as it was shown before, as JSON; may be empty.
    pub effect: &'a str,
    /// Why.
    pub reason: &'a str,
    /// When.
    pub at: Timestamp,
    /// By whom.
    pub by: UserId,
}

/// Stores a decision; the newest on a result counts.
///
/// # Errors
///
/// What the driver says.
pub async fn decide(tx: &mut Tx, new: &NewDecision<'_>) -> Result<(), Error> {
    tx.query(
        "INSERT INTO decisions (id, participant_id, measurand_id, exclude, kind, cause, evidence, batch, effect, \
         reason, decided_at, decided_by) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)",
    )
    .bind(new.id.0)
    .bind(new.participant.0)
    .bind(new.measurand.0)
    .bind(new.kind.excludes())
    .bind(new.kind.word())
    .bind(new.cause.word())
    .bind(new.evidence)
    .bind(new.batch)
    .bind(new.effect)
    .bind(new.reason)
    .bind(new.at.as_microsecond())
    .bind(new.by.0)
    .execute()
    .await?;
    Ok(())
}

/// A decision as read.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Decision {
    /// On whose result.
    #[sqlx(try_from = "Uuid")]
    pub participant: ParticipantId,
    /// Of which measurand.
    #[sqlx(try_from = "Uuid")]
    pub measurand: MeasurandId,
    kind: String,
    cause: String,
    evidence: String,
    /// What was decided together.
    pub batch: Option<Uuid>,
    /// The effect as it was shown before, as JSON; empty where none was.
    pub effect: String,
    /// Why.
    pub reason: String,
    /// By whom.
    pub by: String,
    #[sqlx(try_from = "i64")]
    decided_at: Micros,
}

impl Decision {
    /// What was decided.
    ///
    /// # Errors
    ///
    /// When the row holds a word that is none of ours.
    pub fn kind(&self) -> Result<Kind, Error> {
        Kind::of(&self.kind).ok_or_else(|| crate::row::corrupt("a decision"))
    }

    /// What speaks for it.
    ///
    /// # Errors
    ///
    /// When the row holds a word that is none of ours.
    pub fn cause(&self) -> Result<Cause, Error> {
        Cause::of(&self.cause).ok_or_else(|| crate::row::corrupt("a decision"))
    }

    /// Keys of the findings that speak for it.
    pub fn evidence(&self) -> impl Iterator<Item = &str> {
        self.evidence.lines()
    }

    /// When.
    pub fn at(&self) -> Timestamp {
        self.decided_at.0
    }
}

/// All decisions of a round, oldest first.
///
/// # Errors
///
/// What the driver says.
pub async fn decisions(tx: &mut Tx, round: RoundId) -> Result<Vec<Decision>, Error> {
    tx.query(
        "SELECT d.participant_id AS participant, d.measurand_id AS measurand, d.kind, d.cause, d.evidence, d.batch, \
         d.effect, d.reason, u.name AS by, d.decided_at FROM decisions d JOIN participants p ON p.id = d.participant_id \
         JOIN users u ON u.id = d.decided_by WHERE p.round_id = $1 ORDER BY d.decided_at, d.id",
    )
    .bind(round.0)
    .all()
    .await
}
