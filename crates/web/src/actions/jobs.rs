//! Long work: wanting it, stopping it, letting it go on. Who sees a job is who may
//! do by hand what it does.

use super::{evaluation, record};
use crate::clock;
use crate::error::Error;
use jiff::Timestamp;
use roundel_domain::access::{Actor, Denied};
use roundel_domain::id::JobId;
use roundel_domain::round::Round;
use roundel_store::jobs::{self, Job, Kind, State};
use roundel_store::{Tx, rounds};

/// Whether a person may do what a job of this kind does.
///
/// # Errors
///
/// The refusal.
pub fn may(actor: &Actor, kind: Kind) -> Result<(), Denied> {
    match kind {
        Kind::Evaluation => actor.may_evaluate(),
        // Certificates name the laboratories of their codes.
        Kind::Certificates => actor.may_organise(),
    }
}

/// Wants a job for a round. One that is being done already is that job.
///
/// # Errors
///
/// A refusal; a conflict unless the round is in review, or published for certificates.
pub async fn start(tx: &mut Tx, actor: &Actor, round: &Round, kind: Kind, now: Timestamp) -> Result<JobId, Error> {
    may(actor, kind)?;
    match kind {
        Kind::Evaluation => evaluation::must_be_in_review(tx, round).await?,
        // Holding the round keeps a second press from starting a second job.
        Kind::Certificates if round.is_published() && rounds::hold(tx, round.id, &round.state).await? => {}
        Kind::Certificates => return Err(Error::conflict("conflict-not-published")),
    }
    let known = jobs::of_round(tx, round.id).await?;
    if let Some(job) = known.iter().find(|job| job.kind == kind && job.state == State::Waiting) {
        return Ok(job.id);
    }
    let id = JobId(clock::new_id());
    jobs::insert(tx, id, kind, round.id, actor.user(), now).await?;
    record(tx, actor, "job-started", round, kind.word(), now).await?;
    Ok(id)
}

/// Stops a job; the parts that are done are kept.
///
/// # Errors
///
/// A refusal; a conflict when it has ended.
pub async fn cancel(tx: &mut Tx, actor: &Actor, job: &Job, now: Timestamp) -> Result<(), Error> {
    may(actor, job.kind)?;
    if !jobs::cancel(tx, job.id, now).await? {
        return Err(Error::conflict("conflict-job-ended"));
    }
    note(tx, actor, job, "job-cancelled", now).await
}

/// Lets a job that was stopped or failed go on where it stood.
///
/// # Errors
///
/// A refusal; a conflict when it goes on already, or is done.
pub async fn resume(tx: &mut Tx, actor: &Actor, job: &Job, now: Timestamp) -> Result<(), Error> {
    may(actor, job.kind)?;
    if !jobs::resume(tx, job.id, now).await? {
        return Err(Error::conflict("conflict-job-running"));
    }
    note(tx, actor, job, "job-resumed", now).await
}

async fn note(tx: &mut Tx, actor: &Actor, job: &Job, event: &str, now: Timestamp) -> Result<(), Error> {
    let round = rounds::by_id(tx, job.round).await?.ok_or(Error::NotFound)?;
    record(tx, actor, event, &round, job.kind.word(), now).await
}
