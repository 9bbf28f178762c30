//! The units of an item: made, given to participants, sent, replaced.

use super::{Refused, record};
use crate::clock;
use crate::error::Error;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use roundel_domain::access::Actor;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::id::{ParticipantId, UnitEventId};
use roundel_domain::ledger::{Event, Ledger};
use roundel_domain::measurand::Item;
use roundel_domain::round::Round;
use roundel_store::participants::Participant;
use roundel_store::unit_events::{self, Kept};
use roundel_store::{Tx, measurands, participants, rounds};
use std::collections::BTreeSet;

/// The ledger of an item, with the events that it follows from.
///
/// # Errors
///
/// What the database says.
pub async fn ledger(tx: &mut Tx, round: &Round, item: &Item) -> Result<(Ledger, Vec<Kept>), Error> {
    let known = super::items::known(tx, round.id).await?;
    let own = measurands::of_round(tx, round.id).await?;
    let studies = own.iter().filter(|m| m.item == item.id).filter_map(|m| known.get(&m.id)?.homogeneity.last());
    let tested: BTreeSet<i64> = studies.flat_map(|kept| kept.content.units.iter().map(|unit| unit.number)).collect();
    let kept = unit_events::of_item(tx, item.id).await?;
    let events = kept.iter().map(Kept::event).collect::<Result<Vec<Event>, _>>()?;
    Ok((Ledger::of(&events, tested), kept))
}

/// What is to be done with the units of an item, as typed.
#[derive(Clone, Copy, Debug)]
pub enum Command<'a> {
    /// This many exist.
    Make(&'a str),
    /// Everybody who has none gets one.
    Assign,
    /// All that are somebody's and wait were sent: day, carrier.
    Dispatch(&'a str, &'a str),
    /// The unit of this code is replaced, for a reason.
    Replace(&'a str, &'a str),
    /// A spare of this number is of no use, for a reason.
    Void(&'a str, &'a str),
    /// Something is noted of the unit with this number.
    Note(&'a str, &'a str),
}

/// Changes the ledger of an item; the word of what was done.
///
/// # Errors
///
/// Every field that is not as it should be; a conflict where units are given to
/// participants before the round is open, when their codes may still change.
pub async fn change(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    item: &Item,
    command: Command<'_>,
    pick: &mut (dyn FnMut(usize) -> usize + Send),
    now: Timestamp,
) -> Result<&'static str, Refused> {
    actor.may_organise()?;
    // One change after the other: no unit is given twice.
    if !rounds::hold(tx, round.id, &round.state).await? {
        return Err(Error::conflict("conflict-items-moved-on").into());
    }
    if round.is_draft() && !matches!(command, Command::Make(_) | Command::Void(..) | Command::Note(..)) {
        return Err(Error::conflict("conflict-units-draft").into());
    }
    let (ledger, _) = ledger(tx, round, item).await?;
    let zone = TimeZone::get(&round.time_zone).unwrap_or(TimeZone::UTC);
    let today = now.to_zoned(zone).date();
    let (events, done, event) = match command {
        Command::Make(count) => (vec![ledger.made(count)?], "units-made", "units-made"),
        Command::Assign => {
            let all = participants::of_round(tx, round.id).await?;
            let ids: Vec<ParticipantId> = all.iter().map(|participant| participant.id).collect();
            (ledger.assign(&ids, pick)?, "units-assigned", "units-assigned")
        }
        Command::Dispatch(on, carrier) => {
            (ledger.dispatch(on, carrier, today)?, "units-dispatched", "units-dispatched")
        }
        Command::Replace(code, reason) => {
            let owner = participant_of(tx, round, code).await?;
            (ledger.replace(owner.id, reason)?, "unit-replaced", "unit-replaced")
        }
        Command::Void(number, reason) => (vec![ledger.remark(number, reason, true)?], "unit-void", "unit-void"),
        Command::Note(number, text) => (vec![ledger.remark(number, text, false)?], "unit-noted", "unit-noted"),
    };
    for event in &events {
        unit_events::insert(tx, UnitEventId(clock::new_id()), item.id, event, actor.user(), now).await?;
    }
    if !events.is_empty() {
        record(tx, actor, event, round, &item.label, now).await?;
    }
    Ok(done)
}

async fn participant_of(tx: &mut Tx, round: &Round, code: &str) -> Result<Participant, Refused> {
    let typed = code.trim();
    let all = participants::of_round(tx, round.id).await?;
    all.into_iter().find(|participant| participant.code.eq_ignore_ascii_case(typed)).ok_or_else(|| {
        let mut errors = FieldErrors::new();
        let seen = roundel_domain::field::shortened(typed);
        errors.push("code", Problem::new("ledger-code").with("seen", seen));
        Refused::Fields(errors)
    })
}
