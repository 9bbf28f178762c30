//! Measurands and their plans.

use crate::row::corrupt;
use crate::{Error, Tx};
use roundel_domain::id::{ItemId, MeasurandId, RoundId};
use roundel_domain::measurand::Measurand;
use roundel_domain::number::Decimal;
use roundel_domain::plan::Plan;
use roundel_domain::text;
use uuid::Uuid;

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    item_id: Uuid,
    position: i64,
    analyte: String,
    unit: String,
    expressed_as: String,
    decimals: i64,
    replicates: i64,
    required_loq: Option<String>,
    plan: Option<String>,
}

impl TryFrom<Row> for Measurand {
    type Error = Error;

    fn try_from(row: Row) -> Result<Self, Error> {
        let decimal = |text: String| Decimal::from_normalised(&text).ok_or_else(|| corrupt("a required LOQ"));
        let plan = |text: String| serde_json::from_str::<Plan>(&text).map_err(|_| corrupt("a plan"));
        Ok(Measurand {
            id: MeasurandId(row.id),
            item: ItemId(row.item_id),
            position: row.position,
            analyte: row.analyte,
            unit: row.unit,
            expressed_as: row.expressed_as,
            decimals: row.decimals,
            replicates: row.replicates,
            required_loq: row.required_loq.map(decimal).transpose()?,
            plan: row.plan.map(plan).transpose()?,
        })
    }
}

/// A plan as it is stored.
fn stored(plan: &Plan) -> String {
    serde_json::to_string(plan).expect("a plan has only texts as keys")
}

/// Adds a measurand, with its plan if it has one.
///
/// # Errors
///
/// [`Error::Exists`] when the item has this analyte.
pub async fn insert(tx: &mut Tx, round: RoundId, new: &Measurand) -> Result<(), Error> {
    tx.query(
        "INSERT INTO measurands (id, round_id, item_id, position, analyte, analyte_key, unit, expressed_as, decimals, \
         replicates, required_loq, plan) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)",
    )
    .bind(new.id.0)
    .bind(round.0)
    .bind(new.item.0)
    .bind(new.position)
    .bind(new.analyte.as_str())
    .bind(text::key(&new.analyte))
    .bind(new.unit.as_str())
    .bind(new.expressed_as.as_str())
    .bind(new.decimals)
    .bind(new.replicates)
    .bind(new.required_loq.as_ref().map(Decimal::as_str))
    .bind(new.plan.as_ref().map(stored))
    .execute()
    .await?;
    Ok(())
}

/// Takes a measurand away.
///
/// # Errors
///
/// What the driver says.
pub async fn delete(tx: &mut Tx, id: MeasurandId) -> Result<(), Error> {
    tx.query("DELETE FROM measurands WHERE id = $1").bind(id.0).execute().await?;
    Ok(())
}

/// Writes the plan of a measurand.
///
/// # Errors
///
/// What the driver says.
pub async fn set_plan(tx: &mut Tx, id: MeasurandId, plan: &Plan) -> Result<(), Error> {
    tx.query("UPDATE measurands SET plan = $1 WHERE id = $2").bind(stored(plan)).bind(id.0).execute().await?;
    Ok(())
}

/// The measurands of a round, in their order.
///
/// # Errors
///
/// What the driver says.
pub async fn of_round(tx: &mut Tx, round: RoundId) -> Result<Vec<Measurand>, Error> {
    let rows: Vec<Row> = tx
        .query(
            "SELECT id, item_id, position, analyte, unit, expressed_as, decimals, replicates, required_loq, plan \
             FROM measurands WHERE round_id = $1 ORDER BY position",
        )
        .bind(round.0)
        .all()
        .await?;
    rows.into_iter().map(Measurand::try_from).collect()
}
