//! What happened to the units of items. Rows are only ever inserted.

use crate::row::{Micros, corrupt};
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::{ItemId, ParticipantId, RoundId, UnitEventId, UserId};
use roundel_domain::ledger::Event;
use uuid::Uuid;

/// An event as read.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Kept {
    kind: String,
    number: i64,
    participant_id: Option<Uuid>,
    happened_on: Option<String>,
    detail: String,
    /// Name of who recorded it.
    pub by: String,
    #[sqlx(try_from = "i64")]
    recorded_at: Micros,
}

impl Kept {
    /// When it was recorded.
    pub fn at(&self) -> Timestamp {
        self.recorded_at.0
    }

    /// What happened.
    ///
    /// # Errors
    ///
    /// When the row is not as the schema has it.
    pub fn event(&self) -> Result<Event, Error> {
        let wrong = || corrupt("an event of a unit");
        let number = self.number;
        Ok(match self.kind.as_str() {
            "made" => Event::Made { count: number },
            "assigned" => Event::Assigned { number, to: ParticipantId(self.participant_id.ok_or_else(wrong)?) },
            "dispatched" => {
                let on = self.happened_on.as_deref().and_then(|day| day.parse().ok()).ok_or_else(wrong)?;
                Event::Dispatched { number, on, carrier: self.detail.clone() }
            }
            "void" => Event::Void { number, reason: self.detail.clone() },
            "note" => Event::Note { number, text: self.detail.clone() },
            _ => return Err(wrong()),
        })
    }
}

/// Keeps an event.
///
/// # Errors
///
/// What the driver says.
pub async fn insert(
    tx: &mut Tx,
    id: UnitEventId,
    item: ItemId,
    event: &Event,
    by: UserId,
    now: Timestamp,
) -> Result<(), Error> {
    let (number, participant, on, detail) = match event {
        Event::Made { count } => (*count, None, None, ""),
        Event::Assigned { number, to } => (*number, Some(to.0), None, ""),
        Event::Dispatched { number, on, carrier } => (*number, None, Some(on.to_string()), carrier.as_str()),
        Event::Void { number, reason } => (*number, None, None, reason.as_str()),
        Event::Note { number, text } => (*number, None, None, text.as_str()),
    };
    tx.query(
        "INSERT INTO unit_events (id, item_id, kind, number, participant_id, happened_on, detail, recorded_at, \
         recorded_by) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
    )
    .bind(id.0)
    .bind(item.0)
    .bind(event.kind())
    .bind(number)
    .bind(participant)
    .bind(on)
    .bind(detail)
    .bind(now.as_microsecond())
    .bind(by.0)
    .execute()
    .await?;
    Ok(())
}

/// The events of an item, oldest first.
///
/// # Errors
///
/// What the driver says.
pub async fn of_item(tx: &mut Tx, item: ItemId) -> Result<Vec<Kept>, Error> {
    tx.query(
        "SELECT e.kind, e.number, e.participant_id, e.happened_on, e.detail, u.name AS by, e.recorded_at \
         FROM unit_events e JOIN users u ON u.id = e.recorded_by WHERE e.item_id = $1 ORDER BY e.recorded_at, e.id",
    )
    .bind(item.0)
    .all()
    .await
}

/// How many units an item has, and how many of them took the place of another.
#[derive(Clone, Debug, PartialEq, Eq, sqlx::FromRow)]
pub struct Total {
    /// Label of the item.
    pub item: String,
    /// Units that were made.
    pub made: i64,
    /// Units that were given to a laboratory which had one before.
    pub replaced: i64,
}

/// The totals of a round's items that have any event, in their order.
///
/// # Errors
///
/// What the driver says.
pub async fn totals(tx: &mut Tx, round: RoundId) -> Result<Vec<Total>, Error> {
    tx.query(
        "SELECT i.label AS item, COALESCE(MAX(CASE WHEN e.kind = 'made' THEN e.number END), 0) AS made, \
         COUNT(CASE WHEN e.kind = 'assigned' THEN 1 END) - \
         COUNT(DISTINCT CASE WHEN e.kind = 'assigned' THEN e.participant_id END) AS replaced \
         FROM items i JOIN unit_events e ON e.item_id = i.id WHERE i.round_id = $1 \
         GROUP BY i.label, i.position ORDER BY i.position",
    )
    .bind(round.0)
    .all()
    .await
}
