//! Laboratories in rounds: who has which code.

use crate::row::Micros;
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::{ItemId, LaboratoryId, ParticipantId, RoundId, SubmissionId};
use uuid::Uuid;

/// A laboratory in a round.
#[derive(Clone, Debug, PartialEq, Eq, sqlx::FromRow)]
pub struct Participant {
    /// Its name for good.
    #[sqlx(try_from = "Uuid")]
    pub id: ParticipantId,
    /// The laboratory.
    #[sqlx(try_from = "Uuid")]
    pub laboratory: LaboratoryId,
    /// Its code in this round.
    pub code: String,
    /// Its name.
    pub name: String,
    /// Where its invitation goes.
    pub email: String,
    /// The organisation it belongs to.
    pub organisation: Option<String>,
}

/// Enrols a laboratory.
///
/// # Errors
///
/// [`Error::Exists`] when it is enrolled already, or the code is taken.
pub async fn insert(
    tx: &mut Tx,
    id: ParticipantId,
    round: RoundId,
    laboratory: LaboratoryId,
    code: &str,
    now: Timestamp,
) -> Result<(), Error> {
    tx.query("INSERT INTO participants (id, round_id, laboratory_id, code, created_at) VALUES ($1, $2, $3, $4, $5)")
        .bind(id.0)
        .bind(round.0)
        .bind(laboratory.0)
        .bind(code)
        .bind(now.as_microsecond())
        .execute()
        .await?;
    Ok(())
}

/// Ends an enrolment in a round that has not opened.
///
/// # Errors
///
/// What the driver says.
pub async fn delete(tx: &mut Tx, round: RoundId, code: &str) -> Result<bool, Error> {
    let touched = tx
        .query(
            "DELETE FROM participants WHERE round_id = $1 AND code = $2 \
             AND EXISTS (SELECT 1 FROM rounds r WHERE r.id = $1 AND r.state = 'draft')",
        )
        .bind(round.0)
        .bind(code)
        .execute()
        .await?;
    Ok(touched == 1)
}

/// The participants of a round, by code: never in the order of enrolment.
///
/// # Errors
///
/// What the driver says.
pub async fn of_round(tx: &mut Tx, round: RoundId) -> Result<Vec<Participant>, Error> {
    tx.query(
        "SELECT p.id, p.laboratory_id AS laboratory, p.code, l.name, l.email, l.organisation \
         FROM participants p JOIN laboratories l ON l.id = p.laboratory_id WHERE p.round_id = $1 ORDER BY p.code",
    )
    .bind(round.0)
    .all()
    .await
}

/// A laboratory's part in a round.
///
/// # Errors
///
/// What the driver says.
pub async fn of_laboratory(
    tx: &mut Tx,
    round: RoundId,
    laboratory: LaboratoryId,
) -> Result<Option<Participant>, Error> {
    tx.query(
        "SELECT p.id, p.laboratory_id AS laboratory, p.code, l.name, l.email, l.organisation \
         FROM participants p JOIN laboratories l ON l.id = p.laboratory_id \
         WHERE p.round_id = $1 AND p.laboratory_id = $2",
    )
    .bind(round.0)
    .bind(laboratory.0)
    .optional()
    .await
}

/// How far each participant is.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Progress {
    /// Its code.
    pub code: String,
    /// The newest version it sent, 0 for none.
    pub version: i64,
    submission_id: Option<Uuid>,
    submitted_at: Option<i64>,
    /// Whether that came late.
    pub late: bool,
    drafted_at: Option<i64>,
}

impl Progress {
    /// The newest version's name.
    pub fn submission(&self) -> Option<SubmissionId> {
        self.submission_id.map(SubmissionId)
    }

    /// When the newest version came.
    pub fn submitted_at(&self) -> Option<Timestamp> {
        self.submitted_at.and_then(|at| Timestamp::from_microsecond(at).ok())
    }

    /// When a draft was last saved.
    pub fn drafted_at(&self) -> Option<Timestamp> {
        self.drafted_at.and_then(|at| Timestamp::from_microsecond(at).ok())
    }
}

/// How far each participant is, by code.
///
/// # Errors
///
/// What the driver says.
pub async fn progress(tx: &mut Tx, round: RoundId) -> Result<Vec<Progress>, Error> {
    tx.query(
        "SELECT p.code, COALESCE(s.version, 0) AS version, s.id AS submission_id, s.submitted_at, COALESCE(s.late, $2) AS late, \
         d.saved_at AS drafted_at \
         FROM participants p \
         LEFT JOIN submissions s ON s.participant_id = p.id AND s.version = \
             (SELECT max(n.version) FROM submissions n WHERE n.participant_id = p.id) \
         LEFT JOIN drafts d ON d.participant_id = p.id \
         WHERE p.round_id = $1 ORDER BY p.code",
    )
    .bind(round.0)
    .bind(false)
    .all()
    .await
}

/// An enrolment with the state of its account, for the organiser's list.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Enrolled {
    /// The laboratory.
    #[sqlx(try_from = "Uuid")]
    pub laboratory: LaboratoryId,
    /// Its name.
    pub name: String,
    /// Where its invitation goes.
    pub email: String,
    /// The organisation it belongs to.
    pub organisation: Option<String>,
    /// Its code in this round.
    pub code: String,
    /// People of it with access.
    pub people: i64,
    /// Until when an invitation is open; 0 for none.
    #[sqlx(try_from = "i64")]
    invited_until: Micros,
}

impl Enrolled {
    /// Until when an invitation is open, at `now`.
    pub fn invited_until(&self, now: Timestamp) -> Option<Timestamp> {
        (self.invited_until.0 > now).then_some(self.invited_until.0)
    }
}

/// The laboratories of a round, by name.
///
/// # Errors
///
/// What the driver says.
pub async fn enrolled(tx: &mut Tx, round: RoundId) -> Result<Vec<Enrolled>, Error> {
    tx.query(
        "SELECT p.laboratory_id AS laboratory, l.name, l.email, l.organisation, p.code, \
         (SELECT count(*) FROM users u WHERE u.laboratory_id = l.id AND u.ended_at IS NULL) AS people, \
         COALESCE((SELECT max(i.expires_at) FROM invitations i WHERE i.laboratory_id = l.id AND i.used_at IS NULL), 0) \
         AS invited_until \
         FROM participants p JOIN laboratories l ON l.id = p.laboratory_id WHERE p.round_id = $1 ORDER BY l.name_key",
    )
    .bind(round.0)
    .all()
    .await
}

/// The newest version that a laboratory sent in each of its rounds; 0 for none.
///
/// # Errors
///
/// What the driver says.
pub async fn versions_of_laboratory(tx: &mut Tx, laboratory: LaboratoryId) -> Result<Vec<(RoundId, i64)>, Error> {
    let rows: Vec<(Uuid, i64)> = tx
        .query(
            "SELECT p.round_id, COALESCE(max(s.version), 0) FROM participants p \
             LEFT JOIN submissions s ON s.participant_id = p.id WHERE p.laboratory_id = $1 GROUP BY p.round_id",
        )
        .bind(laboratory.0)
        .all()
        .await?;
    Ok(rows.into_iter().map(|(id, version)| (RoundId(id), version)).collect())
}

/// Gives a participant the code of its unit of an item.
///
/// # Errors
///
/// [`Error::Exists`] when the round has this code, or the participant one of this item.
pub async fn set_item_code(
    tx: &mut Tx,
    round: RoundId,
    participant: ParticipantId,
    item: ItemId,
    code: &str,
) -> Result<(), Error> {
    tx.query("INSERT INTO item_codes (participant_id, item_id, round_id, code) VALUES ($1, $2, $3, $4)")
        .bind(participant.0)
        .bind(item.0)
        .bind(round.0)
        .bind(code)
        .execute()
        .await?;
    Ok(())
}

/// The codes of a participant's units, by item.
///
/// # Errors
///
/// What the driver says.
pub async fn item_codes(tx: &mut Tx, participant: ParticipantId) -> Result<Vec<(ItemId, String)>, Error> {
    let rows: Vec<(Uuid, String)> = tx
        .query("SELECT item_id, code FROM item_codes WHERE participant_id = $1 ORDER BY item_id")
        .bind(participant.0)
        .all()
        .await?;
    Ok(rows.into_iter().map(|(item, code)| (ItemId(item), code)).collect())
}

/// All codes of a round: participant's code, item's label, code on the unit.
///
/// # Errors
///
/// What the driver says.
pub async fn all_item_codes(tx: &mut Tx, round: RoundId) -> Result<Vec<(String, String, String)>, Error> {
    tx.query(
        "SELECT p.code, i.label, c.code FROM item_codes c JOIN participants p ON p.id = c.participant_id \
         JOIN items i ON i.id = c.item_id WHERE c.round_id = $1 ORDER BY i.position, p.code",
    )
    .bind(round.0)
    .all()
    .await
}
