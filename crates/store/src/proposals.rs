//! What pastes and files would change, until it is taken over or left.

use crate::row::{Micros, corrupt};
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::draft::Changes;
use roundel_domain::id::{ParticipantId, ProposalId, UserId};
use roundel_domain::result::Typed;

/// A proposal to be stored.
#[derive(Clone, Copy, Debug)]
pub struct NewProposal<'a> {
    /// Its name for good.
    pub id: ProposalId,
    /// Whose it is.
    pub participant: ParticipantId,
    /// `paste`, `file`, or `refused` for a file that was not taken.
    pub kind: &'a str,
    /// Label of the item that was pasted into; empty for a file.
    pub item: &'a str,
    /// Name of the file; empty for a paste.
    pub name: &'a str,
    /// The texts by field.
    pub typed: &'a Typed,
    /// What the page tells beside, as JSON.
    pub notes: &'a str,
    /// A refused file with its column of errors; empty for the others.
    pub content: &'a [u8],
    /// The version of the draft that it was made against.
    pub draft_version: i64,
    /// When it was made.
    pub at: Timestamp,
    /// By whom.
    pub by: UserId,
}

/// Stores a proposal.
///
/// # Errors
///
/// What the driver says.
pub async fn insert(tx: &mut Tx, new: &NewProposal<'_>) -> Result<(), Error> {
    tx.query(
        "INSERT INTO proposals \
         (id, participant_id, kind, item, name, fields, notes, content, draft_version, made_at, made_by) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)",
    )
    .bind(new.id.0)
    .bind(new.participant.0)
    .bind(new.kind)
    .bind(new.item)
    .bind(new.name)
    .bind(serde_json::to_string(new.typed).expect("a proposal has only texts"))
    .bind(new.notes)
    .bind(new.content)
    .bind(new.draft_version)
    .bind(new.at.as_microsecond())
    .bind(new.by.0)
    .execute()
    .await?;
    Ok(())
}

/// A stored proposal.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Proposal {
    /// `paste`, `file` or `refused`.
    pub kind: String,
    /// Label of the item that was pasted into; empty for a file.
    pub item: String,
    /// Name of the file; empty for a paste.
    pub name: String,
    fields: String,
    /// What the page tells beside, as JSON.
    pub notes: String,
    /// The version of the draft that it was made against.
    pub draft_version: i64,
    #[sqlx(try_from = "i64")]
    made_at: Micros,
    taken_at: Option<i64>,
    changes: Option<String>,
    undone_at: Option<i64>,
}

impl Proposal {
    /// The texts by field.
    ///
    /// # Errors
    ///
    /// When the column holds something else.
    pub fn typed(&self) -> Result<Typed, Error> {
        serde_json::from_str(&self.fields).map_err(|_| corrupt("a proposal"))
    }

    /// When it was made.
    pub fn made_at(&self) -> Timestamp {
        self.made_at.0
    }

    /// When it was taken over.
    pub fn taken_at(&self) -> Option<Timestamp> {
        self.taken_at.and_then(|at| Timestamp::from_microsecond(at).ok())
    }

    /// What taking it over changed: by field, the text before and the text after.
    ///
    /// # Errors
    ///
    /// When the column holds something else.
    pub fn changes(&self) -> Result<Changes, Error> {
        let read = |text| serde_json::from_str(text).map_err(|_| corrupt("the changes of a proposal"));
        self.changes.as_deref().map_or_else(|| Ok(Changes::default()), read)
    }

    /// When it was undone.
    pub fn undone_at(&self) -> Option<Timestamp> {
        self.undone_at.and_then(|at| Timestamp::from_microsecond(at).ok())
    }
}

/// A proposal of a participant.
///
/// # Errors
///
/// What the driver says.
pub async fn of_participant(
    tx: &mut Tx,
    participant: ParticipantId,
    id: ProposalId,
) -> Result<Option<Proposal>, Error> {
    tx.query(
        "SELECT kind, item, name, fields, notes, draft_version, made_at, taken_at, changes, undone_at \
         FROM proposals WHERE id = $1 AND participant_id = $2",
    )
    .bind(id.0)
    .bind(participant.0)
    .optional()
    .await
}

/// Name and content of a refused file of a participant, if it was made after
/// `since`.
///
/// # Errors
///
/// What the driver says.
pub async fn refused_file(
    tx: &mut Tx,
    participant: ParticipantId,
    id: ProposalId,
    since: Timestamp,
) -> Result<Option<(String, Vec<u8>)>, Error> {
    tx.query(
        "SELECT name, content FROM proposals \
         WHERE id = $1 AND participant_id = $2 AND kind = 'refused' AND made_at > $3",
    )
    .bind(id.0)
    .bind(participant.0)
    .bind(since.as_microsecond())
    .optional()
    .await
}

/// Notes that a proposal was taken over, and what that changed.
/// False when it was taken over already.
///
/// # Errors
///
/// What the driver says.
pub async fn take(tx: &mut Tx, id: ProposalId, changes: &Changes, now: Timestamp) -> Result<bool, Error> {
    let touched = tx
        .query("UPDATE proposals SET taken_at = $1, changes = $2 WHERE id = $3 AND taken_at IS NULL")
        .bind(now.as_microsecond())
        .bind(serde_json::to_string(changes).expect("changes have only texts"))
        .bind(id.0)
        .execute()
        .await?;
    Ok(touched == 1)
}

/// Notes that a proposal that was taken over was undone. False when there is
/// nothing to undo.
///
/// # Errors
///
/// What the driver says.
pub async fn undo(tx: &mut Tx, id: ProposalId, now: Timestamp) -> Result<bool, Error> {
    let touched = tx
        .query("UPDATE proposals SET undone_at = $1 WHERE id = $2 AND taken_at IS NOT NULL AND undone_at IS NULL")
        .bind(now.as_microsecond())
        .bind(id.0)
        .execute()
        .await?;
    Ok(touched == 1)
}

/// Deletes the proposals of a participant, and of everybody the refused files
/// that were made up to `until`.
///
/// # Errors
///
/// What the driver says.
pub async fn delete(tx: &mut Tx, participant: ParticipantId, until: Timestamp) -> Result<(), Error> {
    tx.query("DELETE FROM proposals WHERE participant_id = $1 OR (kind = 'refused' AND made_at <= $2)")
        .bind(participant.0)
        .bind(until.as_microsecond())
        .execute()
        .await?;
    Ok(())
}
