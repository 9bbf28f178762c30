//! Rounds from their first line to their closing.

use super::{Refused, field, must_be_draft, plans, record, review};
use crate::error::Error;
use crate::{clock, secret};
use jiff::Timestamp;
use roundel_domain::access::Actor;
use roundel_domain::asks::{Arrival, AsksForm};
use roundel_domain::code::LabCode;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::id::RoundId;
use roundel_domain::opening::{self, Missing};
use roundel_domain::round::{Round, RoundForm};
use roundel_domain::sealed_values;
use roundel_store::{Tx, measurands, participants, plans as stored, rounds};
use std::collections::HashSet;

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

/// Writes what a round that is being set up asks beside results.
///
/// # Errors
///
/// Every field that is not as it should be; a conflict once it is open.
pub async fn set_asks(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    form: &AsksForm,
    now: Timestamp,
) -> Result<(), Refused> {
    actor.may_organise()?;
    must_be_draft(tx, round).await?;
    let mut errors = FieldErrors::new();
    let measurands = measurands::of_round(tx, round.id).await?;
    let analytes: Vec<&str> = measurands.iter().map(|m| m.analyte.as_str()).collect();
    let asks = form.parse(&analytes, &mut errors);
    errors.into_result(())?;
    if !rounds::set_asks(tx, round.id, &asks).await? {
        return Err(Error::conflict("conflict-not-draft").into());
    }
    record(tx, actor, "asks-changed", round, "", now).await?;
    Ok(())
}

/// Gives every participant a code for its unit of each item, drawn at random.
async fn draw_item_codes(tx: &mut Tx, round: &Round) -> Result<(), Error> {
    let items = rounds::items(tx, round.id).await?;
    let participants = participants::of_round(tx, round.id).await?;
    // Codes of laboratories and of items are never the same.
    let mut taken: HashSet<String> = participants.iter().map(|participant| participant.code.clone()).collect();
    for participant in &participants {
        for item in &items {
            let code = loop {
                let code = LabCode::from_random(clock::random()).to_string();
                if taken.insert(code.clone()) {
                    break code;
                }
            };
            participants::set_item_code(tx, round.id, participant.id, item.id, &code).await?;
        }
    }
    Ok(())
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
    let plan = plans::State::load(tx, round).await?.standing();
    Ok(opening::missing(round, &items, &measurands, participants.len(), plan, now))
}

/// Opens a round: its laboratories see it and may send results.
///
/// # Errors
///
/// A conflict while something is missing, or when it is open already.
pub async fn open(tx: &mut Tx, actor: &Actor, round: &Round, now: Timestamp) -> Result<(), Error> {
    actor.may_organise()?;
    match missing(tx, round, now).await?.as_slice() {
        [] => {}
        _ if !round.is_draft() => return Err(Error::conflict("conflict-not-draft")),
        [Missing::Signatures(_)] => return Err(Error::conflict("conflict-plan-unsigned")),
        _ => return Err(Error::conflict("conflict-not-ready")),
    }
    let next = round.state.clone().open(now).map_err(|_| Error::conflict("conflict-not-draft"))?;
    if !rounds::set_state(tx, round.id, &round.state, &next).await? {
        return Err(Error::conflict("conflict-not-draft"));
    }
    if round.asks.arrival == Arrival::Codes {
        draw_item_codes(tx, round).await?;
    }
    seal_values(tx, round, now).await?;
    record(tx, actor, "round-opened", round, "", now).await
}

/// Seals the assigned values that do not come from the participants (F60).
async fn seal_values(tx: &mut Tx, round: &Round, now: Timestamp) -> Result<(), Error> {
    let items = rounds::items(tx, round.id).await?;
    let measurands = measurands::of_round(tx, round.id).await?;
    // 256 random bits: no value can be guessed from the hash.
    let salt = secret::token();
    if let Some(text) = sealed_values::text(&round.code, &items, &measurands, &salt) {
        stored::seal(tx, round.id, &text, &secret::sha256(&text), now).await?;
    }
    Ok(())
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
    record(tx, actor, "round-closed", round, "", now).await?;
    review::freeze(tx, round, now).await?;
    Ok(())
}
