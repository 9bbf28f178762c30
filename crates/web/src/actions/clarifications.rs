//! Asking a laboratory to confirm unit, basis and transcription, without telling
//! it which result is looked at (F54). Its answer changes no number.

use super::evaluation::gather;
use super::{Refused, messages, record};
use crate::clock;
use crate::error::Error;
use crate::mail::Post;
use jiff::Timestamp;
use roundel_domain::access::Actor;
use roundel_domain::field::FieldErrors;
use roundel_domain::id::ClarificationId;
use roundel_domain::question;
use roundel_domain::review::clarified;
use roundel_domain::round::{Round, RoundState};
use roundel_store::clarifications::{self, Clarification, NewClarification};
use roundel_store::participants::Participant;
use roundel_store::{Tx, rounds};

/// Between closing and publication only: before, it could tell something of others'
/// results, and after it no decision waits for it.
async fn must_be_closed(tx: &mut Tx, round: &Round) -> Result<(), Error> {
    let closed = matches!(round.state, RoundState::Closed { .. }) && rounds::hold(tx, round.id, &round.state).await?;
    if closed { Ok(()) } else { Err(Error::conflict("conflict-clarification")) }
}

/// Asks a laboratory to confirm its results for an item: all that it reported
/// there, so that none is pointed at. `flagged` are analytes of it with a finding.
///
/// # Errors
///
/// A conflict outside of the review, where so many are flagged that asking would
/// point at them, and while an earlier request waits.
pub async fn ask(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    participant: &Participant,
    (item, flagged): (&str, &[String]),
    post: &Post,
    now: Timestamp,
) -> Result<(), Error> {
    actor.may_evaluate()?;
    must_be_closed(tx, round).await?;
    let gathered = gather(tx, round).await?;
    let sent = gathered.contributions.iter().find(|c| c.code == participant.code).ok_or(Error::NotFound)?;
    let reported: Vec<String> = sent
        .entries
        .iter()
        .filter(|entry| entry.item == item && entry.reported.is_number())
        .map(|entry| entry.analyte.clone())
        .collect();
    let analytes = clarified(&reported, flagged).ok_or_else(|| Error::conflict("conflict-clarification-group"))?;
    let known = clarifications::of_round(tx, round.id).await?;
    if known.iter().any(|one| one.participant == participant.id && one.item == item && one.answer.is_none()) {
        return Err(Error::conflict("conflict-clarification-waits"));
    }
    let id = ClarificationId(clock::new_id());
    let (analytes, by) = (analytes.as_slice(), actor.user());
    let new = NewClarification { id, participant: participant.id, item, analytes, at: now, by };
    clarifications::ask(tx, &new).await?;
    record(tx, actor, "clarification-asked", round, &format!("{}, {item}", participant.code), now).await?;
    messages::clarification(tx, round, participant, post, now).await
}

/// Answers for the laboratory.
///
/// # Errors
///
/// What is wrong with the text; a conflict outside of the review and when it was
/// answered; [`Error::NotFound`] for what was not asked of this laboratory.
pub async fn answer(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    participant: &Participant,
    asked: &Clarification,
    text: &str,
    now: Timestamp,
) -> Result<(), Refused> {
    actor.may_enter()?;
    if asked.participant != participant.id {
        return Err(Error::NotFound.into());
    }
    must_be_closed(tx, round).await?;
    let mut errors = FieldErrors::new();
    let text = question::parse(&mut errors, "answer", text);
    errors.into_result(())?;
    match clarifications::answer(tx, asked.id, &text, actor.user(), now).await {
        Err(roundel_store::Error::Exists) => return Err(Error::conflict("conflict-clarification-answered").into()),
        kept => kept?,
    }
    record(tx, actor, "clarification-answered", round, &format!("{}, {}", asked.code, asked.item), now).await?;
    Ok(())
}
