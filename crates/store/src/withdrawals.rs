//! Items and measurands that were withdrawn after dispatch. Rows are only ever
//! inserted.

use crate::row::Micros;
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::{ItemId, MeasurandId, RoundId, UserId, WithdrawalId};
use uuid::Uuid;

/// A withdrawal.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Withdrawal {
    /// Of which item.
    #[sqlx(try_from = "Uuid")]
    pub item: ItemId,
    measurand_id: Option<Uuid>,
    /// What participants are told.
    pub reason: String,
    #[sqlx(try_from = "i64")]
    withdrawn_at: Micros,
}

impl Withdrawal {
    /// Of which measurand; none where the whole item is meant.
    pub fn measurand(&self) -> Option<MeasurandId> {
        self.measurand_id.map(MeasurandId)
    }

    /// When.
    pub fn at(&self) -> Timestamp {
        self.withdrawn_at.0
    }

    /// Whether a measurand of an item is withdrawn by it.
    pub fn covers(&self, item: ItemId, measurand: MeasurandId) -> bool {
        self.item == item && self.measurand_id.is_none_or(|id| id == measurand.0)
    }
}

/// Keeps a withdrawal of an item, or of one of its measurands.
///
/// # Errors
///
/// What the driver says.
pub async fn insert(
    tx: &mut Tx,
    id: WithdrawalId,
    item: ItemId,
    measurand: Option<MeasurandId>,
    reason: &str,
    by: UserId,
    now: Timestamp,
) -> Result<(), Error> {
    tx.query(
        "INSERT INTO withdrawals (id, item_id, measurand_id, reason, withdrawn_at, withdrawn_by) \
         VALUES ($1, $2, $3, $4, $5, $6)",
    )
    .bind(id.0)
    .bind(item.0)
    .bind(measurand.map(|id| id.0))
    .bind(reason)
    .bind(now.as_microsecond())
    .bind(by.0)
    .execute()
    .await?;
    Ok(())
}

/// The withdrawals of a round, oldest first.
///
/// # Errors
///
/// What the driver says.
pub async fn of_round(tx: &mut Tx, round: RoundId) -> Result<Vec<Withdrawal>, Error> {
    tx.query(
        "SELECT w.item_id AS item, w.measurand_id, w.reason, w.withdrawn_at FROM withdrawals w \
         JOIN items i ON i.id = w.item_id WHERE i.round_id = $1 ORDER BY w.withdrawn_at, w.id",
    )
    .bind(round.0)
    .all()
    .await
}
