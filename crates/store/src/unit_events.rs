//! What happened to the units of items. Rows are only ever inserted.

use crate::row::{Micros, corrupt};
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::{ItemId, ParticipantId, UnitEventId, UserId};
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
