//! What a laboratory types and sends.

use super::{Refused, record};
use crate::clock;
use crate::error::Error;
use crate::secret;
use jiff::Timestamp;
use roundel_domain::access::Actor;
use roundel_domain::field::Problem;
use roundel_domain::id::SubmissionId;
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::result::{self, Sheet, Typed};
use roundel_domain::round::{Intake, Round};
use roundel_store::participants::{self, Participant};
use roundel_store::results::{self, NewSent};
use roundel_store::{Tx, measurands, rounds};

/// Refuses what comes when the round takes nothing.
fn must_take(round: &Round, now: Timestamp) -> Result<bool, Error> {
    match round.intake(now) {
        Intake::InTime => Ok(false),
        Intake::Late => Ok(true),
        Intake::NotYet => Err(Error::NotFound),
        Intake::Closed(at) => {
            let at = crate::show::instant(at, &round.time_zone);
            Err(Error::Conflict(Problem::new("conflict-closed").with("at", at)))
        }
        Intake::TooLate => {
            let at = crate::show::instant(round.closes_at, &round.time_zone);
            Err(Error::Conflict(Problem::new("conflict-too-late").with("at", at)))
        }
    }
}

/// Keeps what was typed for an item, right or wrong; all that is typed so far.
///
/// # Errors
///
/// A conflict when the round takes no results any more.
pub async fn save<'a>(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    participant: &Participant,
    item: &Item,
    posted: impl Iterator<Item = (&'a str, &'a str)>,
    now: Timestamp,
) -> Result<Typed, Error> {
    actor.may_report()?;
    must_take(round, now)?;
    let measurands = measurands::of_round(tx, round.id).await?;
    let mut typed = participants::draft(tx, participant.id).await?.typed;
    typed.take(posted, item, &measurands);
    participants::save_draft(tx, participant.id, &typed, actor.user(), now).await?;
    Ok(typed)
}

/// The draft of a participant, read against what the round asks for.
///
/// # Errors
///
/// What the database says.
pub async fn sheet(tx: &mut Tx, round: &Round, participant: &Participant) -> Result<(Sheet, Vec<Item>, Vec<Measurand>), Error> {
    let items = rounds::items(tx, round.id).await?;
    let measurands = measurands::of_round(tx, round.id).await?;
    let draft = participants::draft(tx, participant.id).await?;
    Ok((result::read(&draft.typed, &items, &measurands, None), items, measurands))
}

/// Sends the draft. The same form sent twice is one sending: `once` is what the
/// form carries.
///
/// # Errors
///
/// What is wrong or empty, by field; a conflict when the round takes no results
/// any more.
pub async fn submit(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    participant: &Participant,
    once: &str,
    now: Timestamp,
) -> Result<SubmissionId, Refused> {
    actor.may_report()?;
    results::hold(tx, participant.id).await?;
    if let Some(earlier) = results::by_once(tx, participant.id, once).await? {
        return Ok(earlier);
    }
    let late = must_take(round, now)?;
    let (sheet, _, _) = sheet(tx, round, participant).await?;
    let mut errors = sheet.errors;
    for position in &sheet.empty {
        errors.push(format!("{position}.state"), Problem::new("result-empty"));
    }
    errors.into_result(())?;
    let earlier = results::of_participant(tx, participant.id).await?;
    let version = earlier.last().map_or(0, |sent| sent.version) + 1;
    let document = result::document(round, &participant.code, version, now, late, sheet.entries);
    let id = SubmissionId(clock::new_id());
    let sha256 = secret::sha256(&document);
    let new = NewSent {
        id,
        participant: participant.id,
        version,
        once,
        document: &document,
        sha256: &sha256,
        late,
        at: now,
        by: actor.user(),
    };
    results::insert(tx, &new).await?;
    record(tx, actor, "results-sent", round, &format!("{} version {version} {sha256}", participant.code), now).await?;
    Ok(id)
}
