//! An item or a measurand that was found unsuitable after dispatch: withdrawn,
//! with the same notice to all at once (F20).

use super::evaluation::{self, MeasurandDecision};
use super::{Refused, field, messages, record};
use crate::clock;
use crate::error::Error;
use crate::mail::Post;
use jiff::Timestamp;
use roundel_domain::access::Actor;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::id::WithdrawalId;
use roundel_domain::judgement::{Kind, Topic};
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::round::{Round, RoundState};
use roundel_domain::text;
use roundel_store::{Tx, rounds, withdrawals};

/// What is withdrawn.
#[derive(Clone, Copy, Debug)]
pub struct What<'a> {
    /// Of which item.
    pub item: &'a Item,
    /// The measurands of the item.
    pub measurands: &'a [Measurand],
    /// Only this one; none for the whole item.
    pub only: Option<&'a Measurand>,
}

/// Withdraws an item or one of its measurands: nothing of it is scored, what was
/// typed stays, and everybody is told the same at once.
///
/// # Errors
///
/// A missing reason, or what is withdrawn already; a conflict before the round is
/// open, and once it is published.
pub async fn withdraw(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    what: What<'_>,
    reason: &str,
    post: &Post,
    now: Timestamp,
) -> Result<(), Refused> {
    actor.may_organise()?;
    match round.state {
        RoundState::Draft => return Err(Error::conflict("conflict-withdraw-draft").into()),
        RoundState::Open { .. } if rounds::hold(tx, round.id, &round.state).await? => {}
        RoundState::Open { .. } => return Err(Error::conflict("conflict-items-moved-on").into()),
        _ => evaluation::must_be_in_review(tx, round).await?,
    }
    let mut errors = FieldErrors::new();
    let reason = text::reason(&mut errors, "reason", reason);
    errors.into_result(())?;
    let before = withdrawals::of_round(tx, round.id).await?;
    let is_new = |m: &&Measurand| !before.iter().any(|withdrawn| withdrawn.covers(what.item.id, m.id));
    let meant = what.measurands.iter().filter(|m| what.only.is_none_or(|only| only.id == m.id));
    let affected: Vec<&Measurand> = meant.filter(is_new).collect();
    if affected.is_empty() {
        return Err(field("what", Problem::new("withdrawal-twice")));
    }
    let id = WithdrawalId(clock::new_id());
    let only = what.only.map(|measurand| measurand.id);
    withdrawals::insert(tx, id, what.item.id, only, &reason, actor.user(), now).await?;
    for measurand in affected {
        let decision = MeasurandDecision { topic: Topic::Other, kind: Kind::NotScored, number: "", reason: &reason };
        evaluation::decide_measurand(tx, actor, round, measurand, decision, now).await?;
    }
    let name = what.only.map_or(what.item.label.clone(), |only| format!("{}/{}", what.item.label, only.analyte));
    record(tx, actor, "item-withdrawn", round, &format!("{name}: {reason}"), now).await?;
    messages::withdrawal(tx, round, &name, &reason, post, now).await?;
    Ok(())
}
