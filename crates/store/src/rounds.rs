//! Rounds and their items.

use crate::row::{corrupt, instant};
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::asks::Asks;
use roundel_domain::id::{EvaluationId, ItemId, LaboratoryId, RoundId};
use roundel_domain::measurand::Item;
use roundel_domain::round::{NewRound, Round, RoundState};
use uuid::Uuid;

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    code: String,
    title: String,
    scheme: String,
    instructions: String,
    time_zone: String,
    closes_at: i64,
    state: String,
    opened_at: Option<i64>,
    closed_at: Option<i64>,
    published_at: Option<i64>,
    published_evaluation: Option<Uuid>,
    asks: String,
}

impl TryFrom<Row> for Round {
    type Error = Error;

    fn try_from(row: Row) -> Result<Self, Error> {
        let missing = || corrupt("the state of a round");
        let opened_at = row.opened_at.map(instant).transpose()?;
        let closed_at = row.closed_at.map(instant).transpose()?;
        let published_at = row.published_at.map(instant).transpose()?;
        let state = match row.state.as_str() {
            "draft" => RoundState::Draft,
            "open" => RoundState::Open { opened_at: opened_at.ok_or_else(missing)? },
            "closed" => RoundState::Closed {
                opened_at: opened_at.ok_or_else(missing)?,
                closed_at: closed_at.ok_or_else(missing)?,
            },
            "published" => RoundState::Published {
                opened_at: opened_at.ok_or_else(missing)?,
                closed_at: closed_at.ok_or_else(missing)?,
                published_at: published_at.ok_or_else(missing)?,
                evaluation: EvaluationId(row.published_evaluation.ok_or_else(missing)?),
            },
            _ => return Err(missing()),
        };
        Ok(Round {
            id: RoundId(row.id),
            code: row.code,
            title: row.title,
            scheme: row.scheme,
            instructions: row.instructions,
            time_zone: row.time_zone,
            closes_at: instant(row.closes_at)?,
            asks: serde_json::from_str(&row.asks).map_err(|_| corrupt("what a round asks"))?,
            state,
        })
    }
}

/// The columns of [`Row`], from `rounds r`, with the rest of the statement.
macro_rules! select {
    ($rest:literal) => {
        concat!(
            "SELECT r.id, r.code, r.title, r.scheme, r.instructions, r.time_zone, r.closes_at, r.state, r.opened_at, \
             r.closed_at, r.published_at, r.published_evaluation, r.asks FROM rounds r ",
            $rest
        )
    };
}

/// Adds a round.
///
/// # Errors
///
/// [`Error::Exists`] when its code is taken.
pub async fn insert(tx: &mut Tx, id: RoundId, new: &NewRound, now: Timestamp) -> Result<(), Error> {
    tx.query(
        "INSERT INTO rounds (id, code, code_key, title, scheme, instructions, time_zone, closes_at, state, created_at) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, 'draft', $9)",
    )
    .bind(id.0)
    .bind(new.code.as_str())
    .bind(new.code.to_lowercase())
    .bind(new.title.as_str())
    .bind(new.scheme.as_str())
    .bind(new.instructions.as_str())
    .bind(new.time_zone.as_str())
    .bind(new.closes_at.as_microsecond())
    .bind(now.as_microsecond())
    .execute()
    .await?;
    Ok(())
}

/// Writes the text and the deadline of a round that is being set up.
///
/// # Errors
///
/// [`Error::Exists`] when its new code is taken.
pub async fn update(tx: &mut Tx, id: RoundId, new: &NewRound) -> Result<bool, Error> {
    let touched = tx
        .query(
            "UPDATE rounds SET code = $1, code_key = $2, title = $3, scheme = $4, instructions = $5, time_zone = $6, \
             closes_at = $7 WHERE id = $8 AND state = 'draft'",
        )
        .bind(new.code.as_str())
        .bind(new.code.to_lowercase())
        .bind(new.title.as_str())
        .bind(new.scheme.as_str())
        .bind(new.instructions.as_str())
        .bind(new.time_zone.as_str())
        .bind(new.closes_at.as_microsecond())
        .bind(id.0)
        .execute()
        .await?;
    Ok(touched == 1)
}

/// Writes what a round that is being set up asks beside results. False when it
/// is open already.
///
/// # Errors
///
/// What the driver says.
pub async fn set_asks(tx: &mut Tx, id: RoundId, asks: &Asks) -> Result<bool, Error> {
    let sql = "UPDATE rounds SET asks = $1 WHERE id = $2 AND state = 'draft'";
    let text = serde_json::to_string(asks).expect("what is asked has only texts");
    Ok(tx.query(sql).bind(text).bind(id.0).execute().await? == 1)
}

/// Moves the deadline of an open round to a later instant. False when the round is
/// not open, or the deadline is not `from` any more.
///
/// # Errors
///
/// What the driver says.
pub async fn move_deadline(tx: &mut Tx, id: RoundId, from: Timestamp, to: Timestamp) -> Result<bool, Error> {
    let touched = tx
        .query(
            "UPDATE rounds SET closes_at = $1 WHERE id = $2 AND state = 'open' AND closes_at = $3 AND closes_at < $1",
        )
        .bind(to.as_microsecond())
        .bind(id.0)
        .bind(from.as_microsecond())
        .execute()
        .await?;
    Ok(touched == 1)
}

/// Keeps the round in the state it was read in until the transaction ends, so
/// that nobody closes it in the middle. False when it has left that state.
///
/// # Errors
///
/// What the driver says.
pub async fn hold(tx: &mut Tx, id: RoundId, state: &RoundState) -> Result<bool, Error> {
    // An update that changes nothing takes the row's lock on both databases.
    let sql = "UPDATE rounds SET code = code WHERE id = $1 AND state = $2";
    Ok(tx.query(sql).bind(id.0).bind(state.name()).execute().await? == 1)
}

/// Writes the state that follows `from`. False when another was faster.
///
/// # Errors
///
/// What the driver says.
pub async fn set_state(tx: &mut Tx, id: RoundId, from: &RoundState, to: &RoundState) -> Result<bool, Error> {
    let published = to.published();
    let touched = tx
        .query(
            "UPDATE rounds SET state = $1, opened_at = $2, closed_at = $3, published_at = $4, \
             published_evaluation = $5 WHERE id = $6 AND state = $7",
        )
        .bind(to.name())
        .bind(to.opened_at().map(|t| t.as_microsecond()))
        .bind(to.closed_at().map(|t| t.as_microsecond()))
        .bind(published.map(|(at, _)| at.as_microsecond()))
        .bind(published.map(|(_, evaluation)| evaluation.0))
        .bind(id.0)
        .bind(from.name())
        .execute()
        .await?;
    Ok(touched == 1)
}

/// The round with this code, in whatever case it is written.
///
/// # Errors
///
/// What the driver says.
pub async fn by_code(tx: &mut Tx, code: &str) -> Result<Option<Round>, Error> {
    let row: Option<Row> = tx.query(select!("WHERE r.code_key = $1")).bind(code.to_lowercase()).optional().await?;
    row.map(Round::try_from).transpose()
}

/// The round.
///
/// # Errors
///
/// What the driver says.
pub async fn by_id(tx: &mut Tx, id: RoundId) -> Result<Option<Round>, Error> {
    let row: Option<Row> = tx.query(select!("WHERE r.id = $1")).bind(id.0).optional().await?;
    row.map(Round::try_from).transpose()
}

/// All rounds, newest first.
///
/// # Errors
///
/// What the driver says.
pub async fn all(tx: &mut Tx) -> Result<Vec<Round>, Error> {
    let rows: Vec<Row> = tx.query(select!("ORDER BY r.closes_at DESC, r.code")).all().await?;
    rows.into_iter().map(Round::try_from).collect()
}

/// Published rounds of a scheme that closed before an instant, newest first.
///
/// # Errors
///
/// What the driver says.
pub async fn earlier(tx: &mut Tx, scheme: &str, before: Timestamp, limit: i64) -> Result<Vec<Round>, Error> {
    let rows: Vec<Row> = tx
        .query(select!(
            "WHERE r.scheme = $1 AND r.closes_at < $2 AND r.state = 'published' \
             ORDER BY r.closes_at DESC, r.code LIMIT $3"
        ))
        .bind(scheme)
        .bind(before.as_microsecond())
        .bind(limit)
        .all()
        .await?;
    rows.into_iter().map(Round::try_from).collect()
}

/// The rounds in which a laboratory takes part, newest first, those being set
/// up left out.
///
/// # Errors
///
/// What the driver says.
pub async fn of_laboratory(tx: &mut Tx, laboratory: LaboratoryId) -> Result<Vec<Round>, Error> {
    let rows: Vec<Row> = tx
        .query(select!(
            "JOIN participants p ON p.round_id = r.id \
             WHERE p.laboratory_id = $1 AND r.state <> 'draft' ORDER BY r.closes_at DESC, r.code"
        ))
        .bind(laboratory.0)
        .all()
        .await?;
    rows.into_iter().map(Round::try_from).collect()
}

/// Rounds, those made last first, from behind `after` on: all, or those that a
/// laboratory sees.
///
/// # Errors
///
/// What the driver says.
pub async fn slice(
    tx: &mut Tx,
    laboratory: Option<LaboratoryId>,
    after: Option<RoundId>,
    limit: i64,
) -> Result<Vec<Round>, Error> {
    // Ids rise in time, so that a list is stable while rounds are added.
    let before = after.map_or(Uuid::max(), |after| after.0);
    let rows: Vec<Row> = match laboratory {
        None => {
            let sql = select!("WHERE r.id < $1 ORDER BY r.id DESC LIMIT $2");
            tx.query(sql).bind(before).bind(limit).all().await?
        }
        Some(laboratory) => {
            tx.query(select!(
                "JOIN participants p ON p.round_id = r.id WHERE r.id < $1 AND p.laboratory_id = $3 \
                 AND r.state <> 'draft' ORDER BY r.id DESC LIMIT $2"
            ))
            .bind(before)
            .bind(limit)
            .bind(laboratory.0)
            .all()
            .await?
        }
    };
    rows.into_iter().map(Round::try_from).collect()
}

/// How much of each round exists.
#[derive(Clone, Copy, Debug, PartialEq, Eq, sqlx::FromRow)]
pub struct Counts {
    #[sqlx(try_from = "Uuid")]
    id: RoundId,
    /// Measurands.
    pub measurands: i64,
    /// Measurands with neither an assigned value nor proven absence.
    pub without_plan: i64,
    /// Laboratories enrolled.
    pub participants: i64,
    /// Laboratories that have sent results.
    pub submitted: i64,
    /// Evaluations made.
    pub evaluations: i64,
    /// Signatures on the newest version of the plan.
    pub signatures: i64,
    /// Corrections that are open.
    pub correcting: i64,
}

/// How much of each round exists, for all rounds at once.
///
/// # Errors
///
/// What the driver says.
pub async fn counts(tx: &mut Tx) -> Result<std::collections::HashMap<RoundId, Counts>, Error> {
    let rows: Vec<Counts> = tx
        .query(
            "SELECT r.id, \
             (SELECT count(*) FROM measurands m WHERE m.round_id = r.id) AS measurands, \
             (SELECT count(*) FROM measurands m WHERE m.round_id = r.id AND m.plan IS NULL) AS without_plan, \
             (SELECT count(*) FROM participants p WHERE p.round_id = r.id) AS participants, \
             (SELECT count(*) FROM submissions s JOIN participants p ON p.id = s.participant_id \
              WHERE p.round_id = r.id AND s.version = 1) AS submitted, \
             (SELECT count(*) FROM evaluations e WHERE e.round_id = r.id) AS evaluations, \
             (SELECT count(*) FROM plan_signatures s JOIN plans p ON p.id = s.plan_id WHERE p.round_id = r.id \
              AND p.version = (SELECT max(q.version) FROM plans q WHERE q.round_id = r.id)) AS signatures, \
             (SELECT count(*) FROM corrections c WHERE c.round_id = r.id AND NOT EXISTS \
              (SELECT 1 FROM correction_ends e WHERE e.correction_id = c.id)) AS correcting \
             FROM rounds r",
        )
        .all()
        .await?;
    Ok(rows.into_iter().map(|row| (row.id, row)).collect())
}

/// Adds an item at the end of the round.
///
/// # Errors
///
/// [`Error::Exists`] when its label is taken.
pub async fn insert_item(tx: &mut Tx, round: RoundId, item: &Item) -> Result<(), Error> {
    tx.query("INSERT INTO items (id, round_id, position, label, matrix) VALUES ($1, $2, $3, $4, $5)")
        .bind(item.id.0)
        .bind(round.0)
        .bind(item.position)
        .bind(item.label.as_str())
        .bind(item.matrix.as_str())
        .execute()
        .await?;
    Ok(())
}

/// Takes an item away that has no measurands. False when it has some.
///
/// # Errors
///
/// What the driver says.
pub async fn delete_item(tx: &mut Tx, item: ItemId) -> Result<bool, Error> {
    let touched = tx
        .query("DELETE FROM items WHERE id = $1 AND NOT EXISTS (SELECT 1 FROM measurands m WHERE m.item_id = $1)")
        .bind(item.0)
        .execute()
        .await?;
    Ok(touched == 1)
}

/// The items of a round, in their order.
///
/// # Errors
///
/// What the driver says.
pub async fn items(tx: &mut Tx, round: RoundId) -> Result<Vec<Item>, Error> {
    #[derive(sqlx::FromRow)]
    struct ItemRow {
        id: Uuid,
        position: i64,
        label: String,
        matrix: String,
    }
    let rows: Vec<ItemRow> = tx
        .query("SELECT id, position, label, matrix FROM items WHERE round_id = $1 ORDER BY position")
        .bind(round.0)
        .all()
        .await?;
    Ok(rows
        .into_iter()
        .map(|row| Item { id: ItemId(row.id), position: row.position, label: row.label, matrix: row.matrix })
        .collect())
}
