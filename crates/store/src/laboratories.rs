//! Laboratories, over all rounds.

use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::LaboratoryId;
use roundel_domain::laboratory::{Laboratory, NewLaboratory};
use roundel_domain::text;
use uuid::Uuid;

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    name: String,
    email: String,
    organisation: Option<String>,
}

impl From<Row> for Laboratory {
    fn from(row: Row) -> Self {
        Laboratory { id: LaboratoryId(row.id), name: row.name, email: row.email, organisation: row.organisation }
    }
}

/// Adds a laboratory.
///
/// # Errors
///
/// [`Error::Exists`] when its name or its address is taken.
pub async fn insert(tx: &mut Tx, id: LaboratoryId, new: &NewLaboratory, now: Timestamp) -> Result<(), Error> {
    tx.query(
        "INSERT INTO laboratories (id, name, name_key, email, organisation, created_at) VALUES ($1, $2, $3, $4, $5, $6)",
    )
    .bind(id.0)
    .bind(new.name.as_str())
    .bind(text::key(&new.name))
    .bind(new.email.as_str())
    .bind(new.organisation.as_deref())
    .bind(now.as_microsecond())
    .execute()
    .await?;
    Ok(())
}

/// The laboratory.
///
/// # Errors
///
/// What the driver says.
pub async fn by_id(tx: &mut Tx, id: LaboratoryId) -> Result<Option<Laboratory>, Error> {
    let row: Option<Row> =
        tx.query("SELECT id, name, email, organisation FROM laboratories WHERE id = $1").bind(id.0).optional().await?;
    Ok(row.map(Laboratory::from))
}

/// All laboratories, by name.
///
/// # Errors
///
/// What the driver says.
pub async fn all(tx: &mut Tx) -> Result<Vec<Laboratory>, Error> {
    let rows: Vec<Row> =
        tx.query("SELECT id, name, email, organisation FROM laboratories ORDER BY name_key").all().await?;
    Ok(rows.into_iter().map(Laboratory::from).collect())
}
