//! Rounds from their first line to their closing.

use super::{Refused, field, must_be_draft, record};
use crate::clock;
use crate::error::Error;
use jiff::Timestamp;
use roundel_domain::access::Actor;
use roundel_domain::field::Problem;
use roundel_domain::id::RoundId;
use roundel_domain::opening::{self, Missing};
use roundel_domain::round::{Round, RoundForm};
use roundel_store::{Tx, measurands, participants, rounds};

/// Makes a round; its code.
///
/// # Errors
///
/// Every field that is not as it should be.
pub async fn create(tx: &mut Tx, actor: &Actor, form: &RoundForm, now: Timestamp) -> Result<String, Refused> {
    actor.may_organise()?;
    let new = form.parse(now)?;
    if rounds::by_code(tx, &new.code).await?.is_some() {
        return Err(field("code", Problem::new("round-code-taken").with("seen", &new.code)));
    }
    let id = RoundId(clock::new_id());
    rounds::insert(tx, id, &new, now).await?;
    let round = rounds::by_id(tx, id).await?.ok_or(Error::NotFound)?;
    record(tx, actor, "round-made", &round, &new.code, now).await?;
    Ok(new.code)
}

/// Writes the text and deadline of a round that is being set up; its code.
///
/// # Errors
///
/// Every field that is not as it should be; a conflict once it is open.
pub async fn update(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    form: &RoundForm,
    now: Timestamp,
) -> Result<String, Refused> {
    actor.may_organise()?;
    must_be_draft(tx, round).await?;
    let new = form.parse(now)?;
    let holder = rounds::by_code(tx, &new.code).await?;
    if holder.is_some_and(|holder| holder.id != round.id) {
        return Err(field("code", Problem::new("round-code-taken").with("seen", &new.code)));
    }
    if !rounds::update(tx, round.id, &new).await? {
        return Err(Error::conflict("conflict-not-draft").into());
    }
    record(tx, actor, "round-changed", round, "", now).await?;
    Ok(new.code)
}

/// What is still missing before the round can open.
///
/// # Errors
///
/// What the database says.
pub async fn missing(tx: &mut Tx, round: &Round, now: Timestamp) -> Result<Vec<Missing>, Error> {
    let items = rounds::items(tx, round.id).await?;
    let measurands = measurands::of_round(tx, round.id).await?;
    let participants = participants::of_round(tx, round.id).await?;
    Ok(opening::missing(round, &items, &measurands, participants.len(), now))
}

/// Opens a round: its laboratories see it and may send results.
///
/// # Errors
///
/// A conflict while something is missing, or when it is open already.
pub async fn open(tx: &mut Tx, actor: &Actor, round: &Round, now: Timestamp) -> Result<(), Error> {
    actor.may_organise()?;
    if !missing(tx, round, now).await?.is_empty() {
        return Err(Error::conflict("conflict-not-ready"));
    }
    let next = round.state.clone().open(now).map_err(|_| Error::conflict("conflict-not-draft"))?;
    if !rounds::set_state(tx, round.id, &round.state, &next).await? {
        return Err(Error::conflict("conflict-not-draft"));
    }
    record(tx, actor, "round-opened", round, "", now).await
}

/// Closes a round: no more results are taken.
///
/// # Errors
///
/// A conflict when it is not open, or before its deadline: closing early would
/// cut off laboratories that were promised the time.
pub async fn close(tx: &mut Tx, actor: &Actor, round: &Round, now: Timestamp) -> Result<(), Error> {
    actor.may_organise()?;
    if now <= round.closes_at && round.state.closed_at().is_none() {
        return Err(Error::conflict("conflict-before-deadline"));
    }
    let next = round.state.clone().close(now).map_err(|_| Error::conflict("conflict-not-open"))?;
    if !rounds::set_state(tx, round.id, &round.state, &next).await? {
        return Err(Error::conflict("conflict-not-open"));
    }
    record(tx, actor, "round-closed", round, "", now).await
}
