//! The page of a round for a laboratory that takes part: what is left to do, and after
//! publication what there is to read.

use super::report_notices::{self, ReportNotice};
use super::versions::{Edition, Taken};
use super::{Frame, ok, planned};
use crate::actions::results::{Own, Reading};
use crate::error::Error;
use crate::extract::Person;
use crate::show;
use crate::state::App;
use askama::Template;
use axum::response::Response;
use roundel_domain::asks::Arrival;
use roundel_domain::declared::{self, Part};
use roundel_domain::result::{Submission, Typed};
use roundel_domain::round::{Intake, Round};
use roundel_domain::unit;
use roundel_store::participants::Participant;
use roundel_store::results::Sent;
use roundel_store::{Tx, clarifications, drafts, plans, reports, results};

/// A line of the list of tasks.
struct TaskLine {
    name: String,
    status: String,
    /// Whether nothing is left to do.
    done: bool,
    href: String,
}

struct SentLine {
    version: i64,
    href: String,
    at: String,
    late: bool,
    sha256: String,
}

#[derive(Template)]
#[template(path = "rounds/laboratory.html")]
struct LaboratoryPage {
    f: Frame,
    round: Round,
    code: String,
    state: String,
    deadline: String,
    instant: String,
    phase: &'static str,
    tasks: Vec<TaskLine>,
    saved: String,
    sent: Vec<SentLine>,
    /// Whether the person may enter results.
    enters: bool,
    /// What was withdrawn, as it is told to all.
    withdrawn: Vec<String>,
    /// Reports that took the place of another, the newest first.
    corrected: Vec<ReportNotice>,
    /// Requests to confirm results: all, and without an answer.
    asked: usize,
    unanswered: usize,
    /// Deadlines that were moved, in sentences, the newest first.
    moved: Vec<planned::Moved>,
    /// SHA-256 of the sealed assigned values; empty where there are none.
    sealed: String,
    /// That a corrected evaluation took the place of another.
    taken: Option<Taken>,
    /// Whether there is a report to read.
    report: bool,
}

/// How far a task beside the results is.
fn status(f: &Frame, part: &Part) -> (String, bool) {
    match (part.errors.len(), part.open.len()) {
        (0, 0) if part.begun => (f.t("task-done"), true),
        (0, 0) => (f.t("task-optional"), false),
        (0, open) if part.begun => (f.t1("task-open", "count", open), false),
        (0, _) => (f.t("task-empty"), false),
        (wrong, _) => (f.t1("task-wrong", "count", wrong), false),
    }
}

fn tasks(
    f: &Frame,
    own: &Own,
    typed: &Typed,
    reading: &Reading,
    newest: Option<&Sent>,
) -> Result<Vec<TaskLine>, Error> {
    let base = format!("/rounds/{}", own.round.code);
    let asks = &own.round.asks;
    let mut lines = Vec::new();
    let mut add = |name: String, (status, done): (String, bool), href: String| {
        lines.push(TaskLine { name, status, done, href: format!("{base}/{href}") });
    };
    let choices = unit::choices(&own.measurands);
    if !choices.is_empty() {
        let chosen: Vec<&str> = choices.iter().map(|choice| typed.get(&choice.field)).collect();
        let done = chosen.iter().all(|unit| !unit.is_empty());
        let status = if done { f.t1("task-unit-chosen", "unit", chosen.join(", ")) } else { f.t("task-empty") };
        add(f.t("task-unit"), (status, done), "tasks/unit".to_owned());
    }
    if asks.arrival != Arrival::Nothing {
        add(f.t("task-items"), status(f, &reading.said.arrival), "tasks/items".to_owned());
    }
    if asks.method {
        add(f.t("task-method"), status(f, &reading.said.method), "tasks/method".to_owned());
    }
    for (item, rows) in super::by_item(&own.items, &own.measurands) {
        let ready = reading.sheet.entries.iter().filter(|e| rows.iter().any(|m| m.position == e.position)).count();
        let status = match ready {
            0 => f.t("item-status-empty"),
            n if n == rows.len() => f.t1("item-status-complete", "count", n),
            n => f.t2("item-status-part", "ready", n, "of", rows.len()),
        };
        let name = f.t1("task-results", "item", &item.label);
        let name = if item.matrix.is_empty() { name } else { format!("{name}, {}", item.matrix) };
        add(name, (status, ready == rows.len()), format!("results/{}", item.label));
    }
    if asks.performance.is_some() {
        let mut said = status(f, &reading.said.performance);
        if !reading.said.unmet.is_empty() {
            said.0 = f.t1("task-unmet", "count", reading.said.unmet.len());
        }
        add(f.t("task-performance"), said, "tasks/performance".to_owned());
    }
    if asks.declaration {
        add(f.t("task-declaration"), status(f, &reading.said.declaration), "tasks/declaration".to_owned());
    }
    add(f.t("lab-check"), ready_words(f, typed, reading, newest)?, "check".to_owned());
    Ok(lines)
}

/// Whether the draft can be sent, or was.
fn ready_words(f: &Frame, typed: &Typed, reading: &Reading, newest: Option<&Sent>) -> Result<(String, bool), Error> {
    if !reading.problems().is_empty() {
        return Ok((f.t("lab-check-open"), false));
    }
    let waiting = declared::answers(typed, &reading.sheet.findings).1.len();
    if waiting > 0 {
        return Ok((f.t1("lab-check-questions", "count", waiting), false));
    }
    let Some(newest) = newest else { return Ok((f.t("lab-check-ready"), false)) };
    let sent: Submission = newest.submission()?;
    let same = sent.results == reading.sheet.entries;
    Ok((f.t1(if same { "lab-check-sent" } else { "lab-check-changed" }, "version", newest.version), same))
}

/// The page of a round for a laboratory that takes part.
///
/// # Errors
///
/// What the database says.
pub async fn laboratory_page(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    round: Round,
    participant: Participant,
) -> Result<Response, Error> {
    let now = app.clock.now();
    let f = Frame::of(app, person);
    let own = Own::load(tx, round, participant).await?;
    let draft = drafts::get(tx, own.participant.id).await?;
    let reading = own.read(&draft.typed, now);
    let sent = results::of_participant(tx, own.participant.id).await?;
    let withdrawn = super::units::notices(&f, tx, &own.round, &own.items, &own.measurands).await?;
    let corrected = report_notices::of(&f, tx, &own.round, own.participant.id).await?;
    let tasks = tasks(&f, &own, &draft.typed, &reading, sent.last())?;
    let mut asked = clarifications::of_round(tx, own.round.id).await?;
    asked.retain(|one| one.participant == own.participant.id);
    let zone = own.round.time_zone.clone();
    let moved = planned::moved(tx, &own.round).await?;
    let sealed = plans::sealed(tx, own.round.id).await?.map(|sealed| sealed.sha256).unwrap_or_default();
    let phase = match own.round.intake(now) {
        _ if own.round.is_published() => "published",
        Intake::InTime => "open",
        Intake::Late => "late",
        _ => "closed",
    };
    let taken = match own.round.is_published() {
        true => Edition::read(tx, &own.round, None).await?.taken(&f, &own.round),
        false => None,
    };
    let issued = reports::of_round(tx, own.round.id).await?;
    let may_read =
        |of: &reports::Head| person.actor.may_read_report(&own.round, true, of.publication.is_some()).is_ok();
    let report = issued.iter().any(may_read);
    let sent = sent
        .iter()
        .rev()
        .map(|sent| SentLine {
            version: sent.version,
            href: format!("/receipts/{}", sent.id),
            at: show::instant(sent.submitted_at(), &zone),
            late: sent.late,
            sha256: sent.sha256.clone(),
        })
        .collect();
    ok(&LaboratoryPage {
        asked: asked.len(),
        unanswered: asked.iter().filter(|one| one.answer.is_none()).count(),
        code: own.participant.code,
        state: super::rounds::state_word(app.words, &own.round, now),
        deadline: show::instant(own.round.closes_at, &zone),
        instant: own.round.closes_at.to_string(),
        phase,
        tasks,
        saved: draft.saved_at.map(|at| show::instant(at, &zone)).unwrap_or_default(),
        sent,
        enters: person.actor.may_enter().is_ok(),
        withdrawn,
        corrected,
        moved,
        sealed,
        taken,
        report,
        f,
        round: own.round,
    })
}
