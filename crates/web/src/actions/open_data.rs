//! Consent of laboratories to open data, and the release of a round's package.

use super::{Refused, field, record};
use crate::error::Error;
use crate::published::published_at;
use crate::{clock, secret};
use jiff::Timestamp;
use roundel_domain::access::Actor;
use roundel_domain::field::{Problem, shortened};
use roundel_domain::id::{ConsentId, ReleaseId};
use roundel_domain::open_data::Licence;
use roundel_domain::round::Round;
use roundel_store::open_data::{self, Consent, NewRelease, Release};
use roundel_store::participants::Participant;
use roundel_store::{Tx, audit};
use std::collections::BTreeSet;

/// Gives or withdraws the consent of the own laboratory for a round. Nothing of it
/// stands in the record of the round, which others read.
///
/// # Errors
///
/// A refusal for who may not send results.
pub async fn consent(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    participant: &Participant,
    given: bool,
    now: Timestamp,
) -> Result<(), Error> {
    let laboratory = actor.may_submit()?;
    if participant.laboratory != laboratory {
        return Err(Error::NotFound);
    }
    roundel_store::results::hold(tx, participant.id).await?;
    let stands = open_data::of_participant(tx, participant.id).await?.last().is_some_and(|last| last.given);
    if stands == given {
        return Ok(());
    }
    open_data::say(tx, ConsentId(clock::new_id()), participant.id, given, actor.user(), now).await?;
    let event = if given { "open-data-given" } else { "open-data-withdrawn" };
    let subject = laboratory.to_string();
    let entry = audit::Entry {
        id: clock::new_id(),
        at: now,
        actor: Some(actor.user()),
        event,
        subject: &subject,
        detail: &round.code,
    };
    Ok(audit::record(tx, &entry).await?)
}

/// The codes of the laboratories whose consent stands now and, where `until` says an
/// instant, stood then.
pub fn standing(said: &[Consent], until: Option<Timestamp>) -> BTreeSet<String> {
    let at = |until: Option<Timestamp>| {
        let mut codes = BTreeSet::new();
        for one in said.iter().filter(|one| until.is_none_or(|until| one.at() <= until)) {
            if one.given {
                codes.insert(one.code.clone());
            } else {
                codes.remove(&one.code);
            }
        }
        codes
    };
    &at(None) & &at(until)
}

/// The newest release of a round.
///
/// # Errors
///
/// A refusal for everyone but the organiser's staff.
pub async fn newest(tx: &mut Tx, actor: &Actor, round: &Round) -> Result<Option<Release>, Error> {
    actor.may_review()?;
    Ok(open_data::newest(tx, round.id).await?)
}

/// Releases the open data of a published round under a licence, with codes that are
/// drawn for it. Whether there is a package is asked of the page that makes it.
///
/// # Errors
///
/// A word that is no licence; a conflict before publication.
pub async fn release(tx: &mut Tx, actor: &Actor, round: &Round, licence: &str, now: Timestamp) -> Result<(), Refused> {
    actor.may_organise()?;
    published_at(tx, round).await?;
    let Some(licence) = Licence::of(licence) else {
        return Err(field(
            "licence",
            Problem::new("open-data-licence-missing").with("seen", shortened(licence.trim())),
        ));
    };
    let (_, evaluation) = round.state.published().ok_or_else(|| Error::conflict("conflict-tables-unpublished"))?;
    let seed = secret::token();
    let new = NewRelease {
        id: ReleaseId(clock::new_id()),
        round: round.id,
        evaluation,
        licence: licence.word(),
        seed: &seed,
        by: actor.user(),
        at: now,
    };
    open_data::release(tx, &new).await?;
    record(tx, actor, "open-data-released", round, licence.identifier(), now).await?;
    Ok(())
}
