//! Long work, done by the program itself part by part.
//!
//! A job is taken in one short transaction ([`jobs::claim`]) and held for a limited
//! time. Parts are made outside any transaction, documents on all cores, and kept in a
//! short one, which also holds the job longer; it fails when a person has stopped the job, or another copy of
//! the program has taken it over. Whoever dies leaves a job that is due again when its
//! time is over, with the parts that are done: the next one goes on after them.

mod certificates;
mod evaluation;

pub(crate) use certificates::archive;

use crate::error::Error;
use crate::show;
use crate::state::App;
use jiff::{SignedDuration, Timestamp};
use roundel_store::jobs::{self, Job, Kind};
use std::collections::BTreeSet;
use std::num::NonZero;
use std::time::Duration;
use tokio::sync::watch;

/// How often it is looked for jobs that nobody told of.
const LOOK_EVERY: Duration = Duration::from_secs(10);
/// How long a job is held: longer than one part may take.
pub const LEASE: SignedDuration = SignedDuration::from_mins(2);

/// Does jobs until `stop` says true; the part that is being made is finished.
pub async fn run(app: App, stop: watch::Receiver<bool>) {
    let mut stopped = stop.clone();
    while !*stop.borrow() {
        if let Err(error) = some(&app, usize::MAX, || *stop.borrow()).await {
            let cause = std::error::Error::source(&error).map(|cause| format!("{cause:?}"));
            tracing::error!(cause, "failed to go on with a job: {error}");
        }
        tokio::select! {
            () = app.work.notified() => {}
            () = tokio::time::sleep(LOOK_EVERY) => {}
            _ = stopped.changed() => {}
        }
    }
}

/// Does the jobs that are due, until `most` parts are made or `stop` says so; how
/// many were. What is held then stays held until its time is over.
///
/// # Errors
///
/// What the database says.
pub async fn some(app: &App, most: usize, stop: impl Fn() -> bool) -> Result<usize, Error> {
    let mut made = 0;
    while made < most && !stop() {
        let Some(mut held) = take(app).await? else { return Ok(made) };
        made += held.work(app, most - made, &stop).await?;
    }
    Ok(made)
}

/// A job that this copy of the program holds.
struct Held {
    job: Job,
    /// Until when.
    until: Timestamp,
}

/// Takes the job that is due the longest; none when none is.
async fn take(app: &App) -> Result<Option<Held>, Error> {
    loop {
        let now = app.clock.now();
        let Some((id, seen)) = jobs::due(&mut app.db.read().await?, now).await? else { return Ok(None) };
        let until = now + LEASE;
        let mut tx = app.db.write().await?;
        let held = jobs::claim(&mut tx, id, seen, until).await?;
        let job = jobs::by_id(&mut tx, id).await?;
        tx.commit().await?;
        if let (true, Some(job)) = (held, job) {
            return Ok(Some(Held { job, until }));
        }
    }
}

/// A part that is made: its name and its content.
type Made = (String, Vec<u8>);

/// What a job of each kind is made of.
enum Plan {
    Evaluation(evaluation::Plan),
    Certificates(certificates::Plan),
}

impl Plan {
    /// What is to be done for a job, with the numbers of the parts that are done and
    /// still good.
    async fn of(app: &App, job: &Job) -> Result<(Plan, BTreeSet<i64>), Error> {
        let plan = match job.kind {
            Kind::Evaluation => Plan::Evaluation(evaluation::Plan::of(app, job).await?),
            Kind::Certificates => Plan::Certificates(certificates::Plan::of(app, job).await?),
        };
        let done = jobs::parts_done(&mut app.db.read().await?, job.id).await?;
        Ok((plan, done.into_iter().collect()))
    }

    fn parts(&self) -> i64 {
        match self {
            Plan::Evaluation(plan) => plan.parts(),
            Plan::Certificates(plan) => plan.parts(),
        }
    }

    /// How many parts are made at a time.
    fn together(&self) -> usize {
        match self {
            Plan::Evaluation(_) => 1,
            Plan::Certificates(_) => std::thread::available_parallelism().map_or(1, NonZero::get),
        }
    }

    /// Makes parts, at most [`Plan::together`], in their order.
    async fn make(&mut self, app: &App, parts: &[i64]) -> Result<Vec<Made>, Error> {
        match self {
            Plan::Evaluation(plan) => {
                let mut made = Vec::with_capacity(parts.len());
                for part in parts {
                    made.push(plan.part(app, *part).await?);
                }
                Ok(made)
            }
            Plan::Certificates(plan) => plan.make(app, parts).await,
        }
    }
}

impl Held {
    /// Makes up to `most` parts, and ends the job after the last; how many were made.
    async fn work(&mut self, app: &App, most: usize, stop: &impl Fn() -> bool) -> Result<usize, Error> {
        match self.parts(app, most, stop).await {
            Ok(made) => Ok(made),
            // The database is away: the job is due again later.
            Err(Error::Store(error)) => Err(Error::Store(error)),
            Err(error) => {
                self.fail(app, error).await?;
                Ok(1)
            }
        }
    }

    async fn parts(&mut self, app: &App, most: usize, stop: &impl Fn() -> bool) -> Result<usize, Error> {
        let (mut plan, done) = Plan::of(app, &self.job).await?;
        let mut made = 0;
        let due: Vec<i64> = (0..plan.parts()).filter(|part| !done.contains(part)).collect();
        for parts in due.chunks(plan.together()) {
            if made == most || stop() {
                return Ok(made);
            }
            let parts = &parts[..parts.len().min(most - made)];
            let contents = plan.make(app, parts).await?;
            let mut tx = app.db.write().await?;
            let now = app.clock.now();
            made += parts.len();
            if !jobs::renew(&mut tx, self.job.id, self.until, now + LEASE, plan.parts()).await? {
                // Stopped by a person, or taken over.
                return Ok(made);
            }
            for (part, (name, content)) in parts.iter().zip(contents) {
                jobs::keep_part(&mut tx, self.job.id, *part, &name, &content, now).await?;
            }
            tx.commit().await?;
            self.until = now + LEASE;
        }
        if made == most || stop() {
            return Ok(made);
        }
        let mut tx = app.db.write().await?;
        let now = app.clock.now();
        if let Plan::Evaluation(plan) = &plan {
            plan.keep(&mut tx, &self.job, now).await?;
        }
        if jobs::end(&mut tx, self.job.id, self.until, None, now).await? {
            tx.commit().await?;
        }
        Ok(made + 1)
    }

    /// Ends the job with the sentence that says why.
    async fn fail(&self, app: &App, error: Error) -> Result<(), Error> {
        let sentence = match &error {
            Error::Conflict(problem) => show::problem(app.words, problem),
            Error::Role | Error::NotFound | Error::Right(_) => app.words.t("job-problem-right"),
            error => {
                let cause = std::error::Error::source(error).map(|cause| format!("{cause:?}"));
                tracing::error!(job = %self.job.id, cause, "failed to {error}");
                app.words.t("job-problem-fault")
            }
        };
        let mut tx = app.db.write().await?;
        jobs::end(&mut tx, self.job.id, self.until, Some(&sentence), app.clock.now()).await?;
        Ok(tx.commit().await?)
    }
}
