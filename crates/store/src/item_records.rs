//! What was recorded of measurands before and beside the results: preparation,
//! homogeneity, stability. Rows are only ever inserted; the newest of a kind counts.

use crate::row::Micros;
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::{ItemRecordId, MeasurandId, RoundId, UserId};
use uuid::Uuid;

/// What a record is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// How the item was made.
    Preparation,
    /// Whether its units are alike.
    Homogeneity,
    /// Whether they stay as they are.
    Stability,
}

impl Kind {
    /// The word that is stored.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Preparation => "preparation",
            Kind::Homogeneity => "homogeneity",
            Kind::Stability => "stability",
        }
    }
}

/// A word that is no [`Kind`].
#[derive(Debug, thiserror::Error)]
#[error("no kind of record is called {0:?}")]
pub struct UnknownKind(String);

impl TryFrom<String> for Kind {
    type Error = UnknownKind;

    fn try_from(word: String) -> Result<Self, UnknownKind> {
        let all = [Kind::Preparation, Kind::Homogeneity, Kind::Stability];
        all.into_iter().find(|kind| kind.word() == word).ok_or(UnknownKind(word))
    }
}

/// A record.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Record {
    /// On which measurand.
    #[sqlx(try_from = "Uuid")]
    pub measurand: MeasurandId,
    /// What it is about.
    #[sqlx(try_from = "String")]
    pub kind: Kind,
    /// JSON text.
    pub document: String,
    /// Name of who recorded it.
    pub by: String,
    #[sqlx(try_from = "i64")]
    recorded_at: Micros,
}

impl Record {
    /// When it was recorded.
    pub fn at(&self) -> Timestamp {
        self.recorded_at.0
    }
}

/// Keeps a record.
///
/// # Errors
///
/// What the driver says.
pub async fn insert(
    tx: &mut Tx,
    id: ItemRecordId,
    measurand: MeasurandId,
    kind: Kind,
    document: &str,
    by: UserId,
    now: Timestamp,
) -> Result<(), Error> {
    tx.query(
        "INSERT INTO item_records (id, measurand_id, kind, document, recorded_at, recorded_by) \
         VALUES ($1, $2, $3, $4, $5, $6)",
    )
    .bind(id.0)
    .bind(measurand.0)
    .bind(kind.word())
    .bind(document)
    .bind(now.as_microsecond())
    .bind(by.0)
    .execute()
    .await?;
    Ok(())
}

/// All records of a round, oldest first.
///
/// # Errors
///
/// What the driver says.
pub async fn of_round(tx: &mut Tx, round: RoundId) -> Result<Vec<Record>, Error> {
    tx.query(
        "SELECT r.measurand_id AS measurand, r.kind, r.document, u.name AS by, r.recorded_at FROM item_records r \
         JOIN measurands m ON m.id = r.measurand_id JOIN users u ON u.id = r.recorded_by \
         WHERE m.round_id = $1 ORDER BY r.recorded_at, r.id",
    )
    .bind(round.0)
    .all()
    .await
}

/// Whether a measurand has a record or a decision, so that it cannot be taken away.
///
/// # Errors
///
/// What the driver says.
pub async fn holds(tx: &mut Tx, measurand: MeasurandId) -> Result<bool, Error> {
    let count: i64 = tx
        .query(
            "SELECT (SELECT count(*) FROM item_records WHERE measurand_id = $1) \
             + (SELECT count(*) FROM measurand_decisions WHERE measurand_id = $1)",
        )
        .bind(measurand.0)
        .value()
        .await?;
    Ok(count > 0)
}
