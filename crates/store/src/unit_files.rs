//! Files that are kept of units. Rows are only ever inserted.

use crate::row::Micros;
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::{ItemId, LaboratoryId, ParticipantId, RoundId, UnitFileId, UserId};
use roundel_domain::unit_file::{Form, UnitFile};
use uuid::Uuid;

/// A file to be kept.
#[derive(Clone, Copy, Debug)]
pub struct New<'a> {
    /// Its name for good.
    pub id: UnitFileId,
    /// Of which item.
    pub item: ItemId,
    /// Whose unit.
    pub participant: ParticipantId,
    /// The number of the unit; none where no units are on record.
    pub number: Option<i64>,
    /// Whether the laboratory sent it, at receipt; the organiser did otherwise.
    pub from_laboratory: bool,
    /// What is kept.
    pub file: &'a UnitFile,
    /// SHA-256 of its bytes, in hexadecimal digits.
    pub sha256: &'a str,
    /// By whom.
    pub by: UserId,
    /// When.
    pub at: Timestamp,
}

/// Keeps a file.
///
/// # Errors
///
/// What the driver says.
pub async fn insert(tx: &mut Tx, new: &New<'_>) -> Result<(), Error> {
    tx.query(
        "INSERT INTO unit_files (id, item_id, participant_id, number, from_laboratory, form, content, size, sha256, \
         recorded_at, recorded_by) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)",
    )
    .bind(new.id.0)
    .bind(new.item.0)
    .bind(new.participant.0)
    .bind(new.number)
    .bind(new.from_laboratory)
    .bind(new.file.form.word())
    .bind(new.file.bytes.as_slice())
    .bind(i64::try_from(new.file.bytes.len()).unwrap_or(i64::MAX))
    .bind(new.sha256)
    .bind(new.at.as_microsecond())
    .bind(new.by.0)
    .execute()
    .await?;
    Ok(())
}

/// A word that is no [`Form`].
#[derive(Debug, thiserror::Error)]
#[error("no form of file is called {0:?}")]
pub struct UnknownForm(String);

/// A form as it is stored.
#[derive(Clone, Copy, Debug)]
struct Stored(Form);

impl TryFrom<String> for Stored {
    type Error = UnknownForm;

    fn try_from(word: String) -> Result<Self, UnknownForm> {
        Form::of(&word).map(Stored).ok_or(UnknownForm(word))
    }
}

/// What is known of a file without its bytes.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Kept {
    /// Its name for good.
    #[sqlx(try_from = "Uuid")]
    pub id: UnitFileId,
    /// Whose unit.
    #[sqlx(try_from = "Uuid")]
    pub participant: ParticipantId,
    /// The number of the unit; none where no units were on record.
    pub number: Option<i64>,
    /// Whether the laboratory sent it.
    pub from_laboratory: bool,
    #[sqlx(try_from = "String")]
    form: Stored,
    /// Bytes.
    pub size: i64,
    /// SHA-256 of its bytes, in hexadecimal digits.
    pub sha256: String,
    /// Name of who sent it: of a laboratory's person, for that laboratory alone.
    pub by: String,
    #[sqlx(try_from = "i64")]
    recorded_at: Micros,
}

impl Kept {
    /// How it is written.
    pub fn form(&self) -> Form {
        self.form.0
    }

    /// When it was kept.
    pub fn at(&self) -> Timestamp {
        self.recorded_at.0
    }
}

/// The files of an item's units, oldest first, without their bytes.
///
/// # Errors
///
/// What the driver says.
pub async fn of_item(tx: &mut Tx, item: ItemId) -> Result<Vec<Kept>, Error> {
    tx.query(
        "SELECT f.id, f.participant_id AS participant, f.number, f.from_laboratory, f.form, f.size, f.sha256, \
         u.name AS by, f.recorded_at FROM unit_files f JOIN users u ON u.id = f.recorded_by \
         WHERE f.item_id = $1 ORDER BY f.recorded_at, f.id",
    )
    .bind(item.0)
    .all()
    .await
}

/// A file with its bytes, and what decides who may have it.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Whole {
    #[sqlx(try_from = "String")]
    form: Stored,
    /// Its bytes.
    pub content: Vec<u8>,
    /// The number of the unit; none where no units were on record.
    pub number: Option<i64>,
    /// Whether the laboratory sent it.
    pub from_laboratory: bool,
    /// The laboratory whose unit it is.
    #[sqlx(try_from = "Uuid")]
    pub laboratory: LaboratoryId,
    /// Its code in the round.
    pub code: String,
    /// Label of the item.
    pub item: String,
}

impl Whole {
    /// How it is written.
    pub fn form(&self) -> Form {
        self.form.0
    }
}

/// A file of a round, with its bytes.
///
/// # Errors
///
/// What the driver says.
pub async fn whole(tx: &mut Tx, round: RoundId, id: UnitFileId) -> Result<Option<Whole>, Error> {
    tx.query(
        "SELECT f.form, f.content, f.number, f.from_laboratory, p.laboratory_id AS laboratory, p.code, \
         i.label AS item FROM unit_files f JOIN items i ON i.id = f.item_id \
         JOIN participants p ON p.id = f.participant_id WHERE i.round_id = $1 AND f.id = $2",
    )
    .bind(round.0)
    .bind(id.0)
    .optional()
    .await
}
