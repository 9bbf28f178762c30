//! Long work: how far it is, stopping it, letting it go on, fetching what it made.

use super::{Frame, download, go, ok, organised_round};
use crate::actions::{self, look_ups};
use crate::error::Error;
use crate::extract::{Path, Person, Posted, Query};
use crate::show;
use crate::state::App;
use crate::work;
use askama::Template;
use axum::extract::State;
use axum::http::{HeaderValue, header};
use axum::response::Response;
use roundel_domain::access::Actor;
use roundel_domain::id::JobId;
use roundel_store::jobs::{self, Job, Kind, State as Standing};
use roundel_store::{Tx, rounds};
use serde::Deserialize;
use uuid::Uuid;

/// How many jobs the list shows.
const SHOWN: i64 = 50;
/// After how many seconds a page of a job that is being done looks again by itself.
const LOOK_AGAIN: &str = "3";

/// A job as shown.
struct Line {
    href: String,
    title: String,
    round: String,
    state: String,
    /// `within`, `warning`, `action`, `unscored`: the look of the state.
    look: &'static str,
    progress: String,
    done: i64,
    parts: i64,
    made: String,
    ended: String,
    problem: String,
}

async fn line(f: &Frame, tx: &mut Tx, job: &Job) -> Result<Line, Error> {
    let round = rounds::by_id(tx, job.round).await?.ok_or(Error::NotFound)?;
    let at = |instant| show::instant(instant, &round.time_zone);
    let (state, look) = match job.state {
        Standing::Waiting => ("job-state-waiting", "information"),
        Standing::Done => ("job-state-done", "within"),
        Standing::Failed => ("job-state-failed", "action"),
        Standing::Cancelled => ("job-state-cancelled", "unscored"),
    };
    let title = match job.kind {
        Kind::Evaluation => "job-evaluation",
        Kind::Certificates => "job-certificates",
    };
    // What an evaluation was made of is dropped with its end.
    let done = if job.state == Standing::Done { job.parts } else { job.done };
    Ok(Line {
        href: format!("/jobs/{}", job.id),
        title: f.t1(title, "code", &round.code),
        state: f.t(state),
        look,
        progress: if job.parts == 0 { String::new() } else { f.t2("job-progress", "done", done, "parts", job.parts) },
        done,
        parts: job.parts,
        made: f.t2("job-made", "at", at(job.made_at()), "by", &job.by),
        ended: job.ended_at().map(at).unwrap_or_default(),
        problem: job.problem.clone().unwrap_or_default(),
        round: round.code,
    })
}

#[derive(Template)]
#[template(path = "jobs/list.html")]
struct ListPage {
    f: Frame,
    lines: Vec<Line>,
}

/// `GET /jobs`: the newest jobs that this person may do by hand.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory.
pub async fn list(State(app): State<App>, person: Person) -> Result<Response, Error> {
    person.actor.may_review()?;
    let f = Frame::of(&app, &person);
    let mut tx = app.db.read().await?;
    let mut lines = Vec::new();
    for job in jobs::newest(&mut tx, SHOWN).await? {
        if actions::jobs::may(&person.actor, job.kind).is_ok() {
            lines.push(line(&f, &mut tx, &job).await?);
        }
    }
    ok(&ListPage { f, lines })
}

/// The job of this id, for whoever may do by hand what it does.
async fn job_of(tx: &mut Tx, actor: &Actor, id: &str) -> Result<Job, Error> {
    actor.may_review()?;
    let id = JobId(id.parse::<Uuid>().map_err(|_| Error::NotFound)?);
    let job = jobs::by_id(tx, id).await?.ok_or(Error::NotFound)?;
    actions::jobs::may(actor, job.kind)?;
    Ok(job)
}

/// Whether a page looks again by itself.
#[derive(Debug, Default, Deserialize)]
pub struct Looking {
    #[serde(default)]
    still: String,
}

#[derive(Template)]
#[template(path = "jobs/job.html")]
struct JobPage {
    f: Frame,
    id: String,
    line: Line,
    waiting: bool,
    /// Whether the page looks again by itself.
    looks: bool,
    resumable: bool,
    /// Where what it made can be seen; empty before.
    result: String,
    result_text: String,
}

/// `GET /jobs/{id}`. While the job is being done, the page looks again by itself,
/// unless it was told to keep still.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory, and where there is none; a refusal for
/// others of the staff.
pub async fn job(
    State(app): State<App>,
    person: Person,
    Path(id): Path<String>,
    Query(looking): Query<Looking>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let job = job_of(&mut tx, &person.actor, &id).await?;
    let f = Frame::of(&app, &person);
    let line = line(&f, &mut tx, &job).await?;
    let waiting = job.state == Standing::Waiting;
    let looks = waiting && looking.still.is_empty();
    let (result, result_text) = match (job.state, job.kind) {
        (Standing::Done, Kind::Evaluation) => (format!("/rounds/{}/evaluation", line.round), "job-see-evaluation"),
        (Standing::Done, Kind::Certificates) => {
            (format!("/jobs/{}/certificates.zip", job.id), "job-fetch-certificates")
        }
        _ => (String::new(), ""),
    };
    let page = JobPage {
        id: job.id.to_string(),
        waiting,
        looks,
        resumable: matches!(job.state, Standing::Cancelled | Standing::Failed),
        result_text: if result.is_empty() { String::new() } else { f.t(result_text) },
        result,
        line,
        f,
    };
    let mut response = ok(&page)?;
    if looks {
        response.headers_mut().insert(header::REFRESH, HeaderValue::from_static(LOOK_AGAIN));
    }
    Ok(response)
}

/// `POST /jobs/{id}/cancel`.
///
/// # Errors
///
/// As [`job`]; a conflict when it has ended.
pub async fn cancel(State(app): State<App>, Path(id): Path<String>, posted: Posted) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let job = job_of(&mut tx, &posted.person.actor, &id).await?;
    actions::jobs::cancel(&mut tx, &posted.person.actor, &job, app.clock.now()).await?;
    tx.commit().await?;
    Ok(go(&format!("/jobs/{id}"), "job-cancelled"))
}

/// `POST /jobs/{id}/resume`.
///
/// # Errors
///
/// As [`job`]; a conflict when it goes on already, or is done.
pub async fn resume(State(app): State<App>, Path(id): Path<String>, posted: Posted) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let job = job_of(&mut tx, &posted.person.actor, &id).await?;
    actions::jobs::resume(&mut tx, &posted.person.actor, &job, app.clock.now()).await?;
    tx.commit().await?;
    app.work.notify_one();
    Ok(go(&format!("/jobs/{id}"), "job-resumed"))
}

/// `POST /rounds/{code}/certificates`: wants the certificates of all laboratories.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory; a refusal for others of the staff; a
/// conflict before publication.
pub async fn certificates(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let actor = &posted.person.actor;
    let round = organised_round(&mut tx, actor, &code).await?;
    let id = actions::jobs::start(&mut tx, actor, &round, Kind::Certificates, app.clock.now()).await?;
    tx.commit().await?;
    app.work.notify_one();
    Ok(go(&format!("/jobs/{id}"), "job-started"))
}

/// `GET /jobs/{id}/certificates.zip`: all certificates of a job that is done. They
/// name the laboratories of their codes, so the record keeps who fetched them.
///
/// # Errors
///
/// As [`job`]; [`Error::NotFound`] before it is done.
pub async fn archive(State(app): State<App>, person: Person, Path(id): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let job = job_of(&mut tx, &person.actor, &id).await?;
    if (job.kind, job.state) != (Kind::Certificates, Standing::Done) {
        return Err(Error::NotFound);
    }
    let round = rounds::by_id(&mut tx, job.round).await?.ok_or(Error::NotFound)?;
    let parts = jobs::parts(&mut tx, job.id).await?;
    drop(tx);
    let fault = |error: &dyn std::fmt::Display| Error::Fault(format!("write an archive: {error}"));
    let made = tokio::task::spawn_blocking(move || work::archive(parts)).await.map_err(|error| fault(&error))?;
    let bytes = made.map_err(|error| fault(&error))?;
    let mut tx = app.db.write().await?;
    look_ups::note_list(&mut tx, &person.actor, &round, "certificates", app.clock.now()).await?;
    tx.commit().await?;
    Ok(download("application/zip", &format!("{}-certificates.zip", round.code), bytes))
}
