//! How many laboratories a group of methods must have to be shown. Rows are only
//! ever inserted.

use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::{RoundId, UserId};
use uuid::Uuid;

/// Sets the limit of a round; the newest counts. `id` rises in time.
///
/// # Errors
///
/// What the driver says.
pub async fn set(
    tx: &mut Tx,
    id: Uuid,
    round: RoundId,
    smallest: i64,
    by: UserId,
    now: Timestamp,
) -> Result<(), Error> {
    tx.query("INSERT INTO group_limits (id, round_id, smallest, set_at, set_by) VALUES ($1, $2, $3, $4, $5)")
        .bind(id)
        .bind(round.0)
        .bind(smallest)
        .bind(now.as_microsecond())
        .bind(by.0)
        .execute()
        .await?;
    Ok(())
}

/// The limit of a round; none where nobody set one.
///
/// # Errors
///
/// What the driver says.
pub async fn of_round(tx: &mut Tx, round: RoundId) -> Result<Option<i64>, Error> {
    let row: Option<(i64,)> = tx
        .query("SELECT smallest FROM group_limits WHERE round_id = $1 ORDER BY id DESC LIMIT 1")
        .bind(round.0)
        .optional()
        .await?;
    Ok(row.map(|(smallest,)| smallest))
}
