//! What laboratories have typed and not yet sent, and how it came about.

use crate::row::{Micros, corrupt, instant};
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::draft::Changes;
use roundel_domain::id::{ParticipantId, RoundId, UserId};
use roundel_domain::result::Typed;
use uuid::Uuid;

/// A draft, with when it was saved.
#[derive(Clone, Debug, Default)]
pub struct Draft {
    /// What was typed.
    pub typed: Typed,
    /// Its version: 0 when there is no draft, one more with each saving that
    /// changed something.
    pub version: i64,
    /// When it was saved; none when there is no draft.
    pub saved_at: Option<Timestamp>,
}

/// What a participant has typed so far.
///
/// # Errors
///
/// What the driver says.
pub async fn get(tx: &mut Tx, participant: ParticipantId) -> Result<Draft, Error> {
    let row: Option<(String, i64, i64)> = tx
        .query("SELECT fields, version, saved_at FROM drafts WHERE participant_id = $1")
        .bind(participant.0)
        .optional()
        .await?;
    let Some((fields, version, saved_at)) = row else { return Ok(Draft::default()) };
    let typed = serde_json::from_str(&fields).map_err(|_| corrupt("a draft"))?;
    Ok(Draft { typed, version, saved_at: Some(instant(saved_at)?) })
}

/// What the participants of a round have typed so far; those without a draft are
/// left out.
///
/// # Errors
///
/// What the driver says.
pub async fn typed_of_round(tx: &mut Tx, round: RoundId) -> Result<Vec<(ParticipantId, Typed)>, Error> {
    let rows: Vec<(Uuid, String)> = tx
        .query(
            "SELECT d.participant_id, d.fields FROM drafts d JOIN participants p ON p.id = d.participant_id \
             WHERE p.round_id = $1 ORDER BY p.code",
        )
        .bind(round.0)
        .all()
        .await?;
    let read = |(id, fields): (Uuid, String)| {
        let typed = serde_json::from_str(&fields).map_err(|_| corrupt("a draft"))?;
        Ok((ParticipantId(id), typed))
    };
    rows.into_iter().map(read).collect()
}

/// Saves what a participant has typed in the place of `before`, which the caller
/// read in this transaction while it held the participant; the new version.
/// What is the same as before makes no version. `form` is a word of the page that
/// it was typed on.
///
/// # Errors
///
/// [`Error::Exists`] when another was faster; otherwise what the driver says.
pub async fn save(
    tx: &mut Tx,
    participant: ParticipantId,
    before: &Draft,
    typed: &Typed,
    (by, form): (UserId, &str),
    now: Timestamp,
) -> Result<i64, Error> {
    let changes = Changes::between(&before.typed, typed);
    let version = before.version + i64::from(!changes.is_empty());
    tx.query(
        "INSERT INTO drafts (participant_id, fields, version, saved_at, saved_by) VALUES ($1, $2, $3, $4, $5) \
         ON CONFLICT (participant_id) DO UPDATE SET fields = excluded.fields, version = excluded.version, \
         saved_at = excluded.saved_at, saved_by = excluded.saved_by",
    )
    .bind(participant.0)
    .bind(serde_json::to_string(typed).expect("a draft has only texts"))
    .bind(version)
    .bind(now.as_microsecond())
    .bind(by.0)
    .execute()
    .await?;
    if !changes.is_empty() {
        tx.query(
            "INSERT INTO draft_changes (participant_id, version, changes, form, saved_at, saved_by) \
             VALUES ($1, $2, $3, $4, $5, $6)",
        )
        .bind(participant.0)
        .bind(version)
        .bind(serde_json::to_string(&changes).expect("changes have only texts"))
        .bind(form)
        .bind(now.as_microsecond())
        .bind(by.0)
        .execute()
        .await?;
    }
    Ok(version)
}

/// One saving that changed something.
#[derive(Clone, Debug)]
pub struct Saving {
    /// The version that it made.
    pub version: i64,
    /// What it changed.
    pub changes: Changes,
    /// The word of the page that it was typed on.
    pub form: String,
    /// When.
    pub at: Timestamp,
    /// Who.
    pub by: UserId,
    /// Name of who.
    pub name: String,
}

#[derive(sqlx::FromRow)]
struct Row {
    version: i64,
    changes: String,
    form: String,
    #[sqlx(try_from = "i64")]
    saved_at: Micros,
    saved_by: Uuid,
    name: String,
}

/// The savings behind version `after`, oldest first.
///
/// # Errors
///
/// What the driver says.
pub async fn since(tx: &mut Tx, participant: ParticipantId, after: i64) -> Result<Vec<Saving>, Error> {
    let rows: Vec<Row> = tx
        .query(
            "SELECT c.version, c.changes, c.form, c.saved_at, c.saved_by, u.name FROM draft_changes c \
             JOIN users u ON u.id = c.saved_by WHERE c.participant_id = $1 AND c.version > $2 ORDER BY c.version",
        )
        .bind(participant.0)
        .bind(after)
        .all()
        .await?;
    rows.into_iter()
        .map(|row| {
            Ok(Saving {
                version: row.version,
                changes: serde_json::from_str(&row.changes).map_err(|_| corrupt("the changes of a draft"))?,
                form: row.form,
                at: row.saved_at.0,
                by: UserId(row.saved_by),
                name: row.name,
            })
        })
        .collect()
}
