//! What a laboratory types and sends.

use super::design::FileRefused;
use super::{Refused, field, messages, record};
use crate::clock;
use crate::error::Error;
use crate::mail::{Post, Receipt};
use crate::secret;
use jiff::Timestamp;
use roundel_domain::access::Actor;
use roundel_domain::field::Problem;
use roundel_domain::id::SubmissionId;
use roundel_domain::import::{self, File};
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::result::{self, Sheet, Submission, Typed};
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

/// Takes the rows of a file into what is typed; how many. They replace what was
/// typed in these rows, and others stay.
///
/// # Errors
///
/// Every row that is not as it should be; then nothing happened. A conflict when
/// the round takes no results any more.
pub async fn import_results(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    participant: &Participant,
    file: &File,
    now: Timestamp,
) -> Result<usize, FileRefused> {
    actor.may_report()?;
    must_take(round, now)?;
    let items = rounds::items(tx, round.id).await?;
    let measurands = measurands::of_round(tx, round.id).await?;
    let read = import::results(file, &items, &measurands).map_err(FileRefused::Rows)?;
    let mut typed = participants::draft(tx, participant.id).await?.typed;
    typed.0.extend(read.typed.0);
    typed.settle_forms(&items, &measurands);
    participants::save_draft(tx, participant.id, &typed, actor.user(), now).await?;
    Ok(read.positions.len())
}

/// The draft of a participant, read against what the round asks for.
///
/// # Errors
///
/// What the database says.
pub async fn sheet(
    tx: &mut Tx,
    round: &Round,
    participant: &Participant,
) -> Result<(Sheet, Vec<Item>, Vec<Measurand>), Error> {
    let items = rounds::items(tx, round.id).await?;
    let measurands = measurands::of_round(tx, round.id).await?;
    let draft = participants::draft(tx, participant.id).await?;
    Ok((result::read(&draft.typed, &items, &measurands, None), items, measurands))
}

/// The fewest characters of what a form carries to be told apart from others.
const SHORTEST_ONCE: usize = 16;

/// What the form of a sending carries.
#[derive(Clone, Copy, Debug)]
pub struct SendForm<'a> {
    /// A word of its own, so that the form sent twice is one sending.
    pub once: &'a str,
    /// A late version may take the place of one that was in time.
    pub replace_in_time: bool,
    /// What is sent, where that is not the draft.
    pub typed: Option<&'a Typed>,
}

/// Sends the draft. The same form sent twice is one sending, and so is the same
/// content: the receipt is then the one that exists.
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
    form: SendForm<'_>,
    post: &Post,
    now: Timestamp,
) -> Result<SubmissionId, Refused> {
    actor.may_report()?;
    if form.once.len() < SHORTEST_ONCE {
        return Err(Error::Unreadable(Problem::new("error-form-fields")).into());
    }
    results::hold(tx, participant.id).await?;
    if let Some(earlier) = results::by_once(tx, participant.id, form.once).await? {
        return Ok(earlier);
    }
    let late = must_take(round, now)?;
    if !rounds::hold(tx, round.id, &round.state).await? {
        // It was closed a moment ago; say when.
        let round = rounds::by_id(tx, round.id).await?.ok_or(Error::NotFound)?;
        must_take(&round, now)?;
        return Err(Error::conflict("conflict-not-open").into());
    }
    let items = rounds::items(tx, round.id).await?;
    let measurands = measurands::of_round(tx, round.id).await?;
    let draft = participants::draft(tx, participant.id).await?.typed;
    let sheet = result::read(form.typed.unwrap_or(&draft), &items, &measurands, None);
    let mut errors = sheet.errors;
    for position in &sheet.empty {
        errors.push(format!("{position}.state"), Problem::new("result-empty"));
    }
    errors.into_result(())?;
    let earlier = results::of_participant(tx, participant.id).await?;
    // What was typed on the page and not sent yet stays as it is.
    let mut draft_is_free = draft == Typed::default();
    if let Some(newest) = earlier.last() {
        let sent: Submission = newest.submission()?;
        draft_is_free |= result::read(&draft, &items, &measurands, None).entries == sent.results;
        if sent.results == sheet.entries {
            // Nothing changed since: the receipt is the one that exists.
            return Ok(newest.id);
        }
        if late && !newest.late && !form.replace_in_time {
            return Err(field("replace", Problem::new("late-replaces")));
        }
    }
    let version = earlier.last().map_or(0, |sent| sent.version) + 1;
    let document = result::document(round, &participant.code, version, now, late, sheet.entries);
    let id = SubmissionId(clock::new_id());
    let sha256 = secret::sha256(&document);
    let new = NewSent {
        id,
        participant: participant.id,
        version,
        once: form.once,
        document: &document,
        sha256: &sha256,
        late,
        at: now,
        by: actor.user(),
    };
    results::insert(tx, &new).await?;
    if let Some(typed) = form.typed.filter(|_| draft_is_free) {
        participants::save_draft(tx, participant.id, typed, actor.user(), now).await?;
    }
    record(tx, actor, "results-sent", round, &format!("{} version {version} {sha256}", participant.code), now).await?;
    let receipt = Receipt { path: &format!("/receipts/{id}"), version, sha256: &sha256, late };
    messages::receipt(tx, actor, round, participant, receipt, post, now).await?;
    Ok(id)
}
