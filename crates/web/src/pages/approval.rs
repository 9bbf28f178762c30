//! Review of the newest evaluation: approving measurands or returning them, the
//! answers, making it again, and what a correction would change.

use super::trials::EffectTables;
use super::{Frame, go, ok, organised_round, reviewed_round, unprocessable};
use crate::actions::Refused;
use crate::actions::approval::{self as actions, Line, Said, State as Reviewed};
use crate::error::Error;
use crate::evaluated::Evaluated;
use crate::extract::{Path, Person, Posted};
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_documents::number;
use roundel_domain::access::is_uninvolved;
use roundel_domain::approval::{Standing, Verdict};
use roundel_domain::assemble::measurand_id;
use roundel_domain::decision;
use roundel_domain::evaluation::Signal;
use roundel_domain::id::ReviewId;
use roundel_domain::round::Round;
use roundel_store::publications::{self, Publication};
use roundel_store::{Tx, evaluations, rounds, trials, verdicts};
use std::sync::Arc;
use uuid::Uuid;

/// Something that was said, with its answer.
struct Remark {
    verdict: String,
    finding: String,
    by: String,
    at: String,
    answer: String,
    answered_by: String,
    answered_at: String,
    /// Name of the answer's field, where one is to be given.
    field: String,
    action: String,
    typed: String,
    error: String,
}

struct MeasurandLine {
    position: i64,
    name: String,
    href: String,
    value: String,
    unit: String,
    unacceptable: usize,
    notes: Vec<String>,
    standing: &'static str,
    standing_text: String,
    chosen: bool,
    remarks: Vec<Remark>,
}

struct Again {
    at: String,
    by: String,
    engine: String,
    same: bool,
    differences: Vec<String>,
}

#[derive(Template)]
#[template(path = "evaluation/approval.html")]
struct ApprovalPage {
    f: Frame,
    round: Round,
    version: i64,
    sha256: String,
    evaluated_by: String,
    evaluated_at: String,
    /// Decisions were made that this evaluation does not hold.
    stale: bool,
    /// Whether the person may approve, and if not although a reviewer: why.
    may_approve: bool,
    involved: bool,
    may_answer: bool,
    organiser: bool,
    lines: Vec<MeasurandLine>,
    approved: usize,
    of: usize,
    returned: usize,
    again: Option<Again>,
    trials: i64,
    correction: String,
    /// What would change for those who have the published version.
    impact: Option<EffectTables>,
    finding: String,
    published: bool,
    errors: Errors,
}

/// What a form of the page was given.
#[derive(Default)]
struct Given {
    positions: Vec<i64>,
    finding: String,
    answer: String,
    errors: Errors,
}

/// The newest evaluation with how its measurands stand.
async fn newest(app: &App, tx: &mut Tx, round: &Round) -> Result<(Arc<Evaluated>, Reviewed), Error> {
    let (_, evaluated) = super::evaluation::newest(app, tx, round).await?;
    let state = actions::state(tx, round, &evaluated).await?;
    Ok((evaluated, state.ok_or_else(|| Error::conflict("conflict-no-evaluation"))?))
}

fn standing_word(standing: Standing) -> &'static str {
    match standing {
        Standing::Open => "open",
        Standing::Approved => "approved",
        Standing::Changed => "changed",
        Standing::Returned => "returned",
    }
}

fn line(f: &Frame, round: &Round, evaluated: &Evaluated, item: &str, line: &Line, given: &Given) -> MeasurandLine {
    let id = measurand_id(item, &line.measurand.analyte);
    let position = line.measurand.position;
    let zone = &round.time_zone;
    let outcome = evaluated.measurand(&id).map(|(_, outcome)| outcome);
    let value = outcome.and_then(|outcome| outcome.assigned_value.as_ref());
    let remarks = line.reviews.iter().map(|review| {
        let field = format!("answer-{}", review.id);
        let open = !review.finding.is_empty() && review.answer.is_none();
        Remark {
            verdict: f.t(match review.verdict() {
                Ok(Verdict::Approved) => "approval-said-approved",
                _ => "approval-said-returned",
            }),
            finding: review.finding.clone(),
            by: review.by.clone(),
            at: show::instant(review.at(), zone),
            answer: review.answer.clone().unwrap_or_default(),
            answered_by: review.answered_by.clone().unwrap_or_default(),
            answered_at: review.answered_at().map(|at| show::instant(at, zone)).unwrap_or_default(),
            action: format!("/rounds/{}/approval/{}/answer", round.code, review.id),
            error: given.errors.of_field(&field).to_owned(),
            typed: if given.errors.of_field(&field).is_empty() { String::new() } else { given.answer.clone() },
            field: if open { field } else { String::new() },
        }
    });
    let word = standing_word(line.standing);
    MeasurandLine {
        name: format!("{item} {}", line.measurand.analyte),
        href: format!("/rounds/{}/evaluation/{position}", round.code),
        value: value.map(|value| number::significant(value.value, 4)).unwrap_or_default(),
        unit: line.measurand.unit.clone(),
        unacceptable: evaluated.scores(&id).filter(|entry| entry.signal == Signal::Action).count(),
        notes: outcome.map(|outcome| super::figures::notes(f, outcome)).unwrap_or_default(),
        standing: word,
        standing_text: f.t(&format!("approval-standing-{word}")),
        chosen: given.positions.contains(&position),
        remarks: remarks.collect(),
        position,
    }
}

async fn page(app: &App, tx: &mut Tx, person: &Person, round: Round, given: Given) -> Result<ApprovalPage, Error> {
    let f = Frame::of(app, person);
    let (evaluated, state) = newest(app, tx, &round).await?;
    let items = rounds::items(tx, round.id).await?;
    let label = |of: &Line| {
        items.iter().find(|item| item.id == of.measurand.item).map_or("", |item| item.label.as_str()).to_owned()
    };
    let heads = evaluations::of_round(tx, round.id).await?;
    let correction = actions::open(tx, &round).await?;
    let reviewing = !round.is_published() || correction.is_some();
    let involved = !is_uninvolved(person.actor.user(), &verdicts::editors(tx, round.id).await?);
    let again = trials::recomputation(tx, state.head.id).await?.map(|again| Again {
        at: show::instant(again.at(), &round.time_zone),
        by: again.by.clone(),
        engine: again.engine.clone(),
        same: again.same,
        differences: again.differences.lines().map(str::to_owned).collect(),
    });
    let impact = match round.state.published() {
        Some((_, published)) if published != state.head.id => {
            let before = app.evaluations.load(tx, published).await?;
            Some(EffectTables::of(&f, &decision::effect(&before.evaluation, &evaluated.evaluation, &[])))
        }
        _ => None,
    };
    Ok(ApprovalPage {
        lines: state.lines.iter().map(|of| line(&f, &round, &evaluated, &label(of), of, &given)).collect(),
        version: state.head.version,
        sha256: state.head.sha256.clone(),
        evaluated_by: state.head.by.clone(),
        evaluated_at: show::instant(state.head.at(), &round.time_zone),
        stale: reviewing && super::evaluation::is_stale(tx, &round, &heads).await?,
        may_approve: reviewing && person.actor.may_approve().is_ok() && !involved,
        involved: person.actor.may_approve().is_ok() && involved,
        may_answer: person.actor.may_evaluate().is_ok(),
        organiser: person.actor.may_organise().is_ok(),
        approved: state.count(Standing::Approved),
        returned: state.count(Standing::Returned),
        of: state.lines.len(),
        trials: trials::count(tx, round.id).await?,
        correction: correction.map(|correction| correction.reason).unwrap_or_default(),
        published: !reviewing,
        finding: given.finding,
        errors: given.errors,
        again,
        impact,
        round,
        f,
    })
}

/// `GET /rounds/{code}/approval`.
///
/// # Errors
///
/// A conflict before an evaluation.
pub async fn show(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    ok(&page(&app, &mut tx, &person, round, Given::default()).await?)
}

/// `POST /rounds/{code}/approval`: approves or returns the measurands that are
/// ticked, or all that are not approved.
///
/// # Errors
///
/// A refusal for everybody but a reviewer; a conflict for who edited anything.
pub async fn say(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let fields = &posted.fields;
    let actor = &posted.person.actor;
    let mut tx = app.db.write().await?;
    let round = reviewed_round(&mut tx, actor, &code).await?;
    let verdict = match fields.get("verdict") {
        "approve" | "approve_all" => Verdict::Approved,
        "return" => Verdict::Returned,
        _ => return Err(Error::Unreadable(roundel_domain::field::Problem::new("error-form-fields"))),
    };
    let (evaluated, state) = newest(&app, &mut tx, &round).await?;
    let positions: Vec<i64> = if fields.get("verdict") == "approve_all" {
        let open = |line: &&Line| matches!(line.standing, Standing::Open | Standing::Changed);
        state.lines.iter().filter(open).map(|line| line.measurand.position).collect()
    } else {
        fields.iter().filter(|(name, _)| *name == "position").filter_map(|(_, text)| text.parse().ok()).collect()
    };
    let finding = fields.get("finding").to_owned();
    let version = fields.get("version").parse().unwrap_or(0);
    let said = Said { version, positions: &positions, verdict, finding: &finding };
    match actions::say(&mut tx, actor, &round, &evaluated, &said, app.clock.now()).await {
        Ok(_) => {
            tx.commit().await?;
            let done = if verdict == Verdict::Approved { "approved" } else { "returned" };
            Ok(go(&format!("/rounds/{code}/approval"), done))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let errors = Errors::of(app.words, &errors);
            let given = Given { positions, finding, errors, ..Given::default() };
            unprocessable(&page(&app, &mut tx, &posted.person, round, given).await?)
        }
    }
}

/// `POST /rounds/{code}/approval/{id}/answer`.
///
/// # Errors
///
/// [`Error::NotFound`] for what is no finding; a conflict when it has an answer.
pub async fn answer(
    State(app): State<App>,
    Path((code, id)): Path<(String, Uuid)>,
    posted: Posted,
) -> Result<Response, Error> {
    let typed = posted.fields.get("answer").to_owned();
    let mut tx = app.db.write().await?;
    let round = reviewed_round(&mut tx, &posted.person.actor, &code).await?;
    match actions::answer(&mut tx, &posted.person.actor, &round, ReviewId(id), &typed, app.clock.now()).await {
        Ok(()) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/approval"), "finding-answered"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let given = Given { answer: typed, errors: Errors::of(app.words, &errors), ..Given::default() };
            unprocessable(&page(&app, &mut tx, &posted.person, round, given).await?)
        }
    }
}

/// `POST /rounds/{code}/approval/recompute`: makes the evaluation again and says
/// whether it is the same.
///
/// # Errors
///
/// A conflict before an evaluation.
pub async fn recompute(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let actor = &posted.person.actor;
    let mut tx = app.db.write().await?;
    let round = reviewed_round(&mut tx, actor, &code).await?;
    let (evaluated, state) = newest(&app, &mut tx, &round).await?;
    let differences = actions::recompute(&mut tx, actor, &round, &state.head, &evaluated, app.clock.now()).await?;
    tx.commit().await?;
    let done = if differences.is_empty() { "recomputed-same" } else { "recomputed-differs" };
    Ok(go(&format!("/rounds/{code}/approval"), done))
}

/// A publication, as listed.
pub(crate) struct Issued {
    pub(crate) number: i64,
    pub(crate) at: String,
    pub(crate) by: String,
    pub(crate) meaning: String,
    pub(crate) reason: String,
    pub(crate) notified: i64,
    /// Number of the publication that took its place; 0 for none.
    pub(crate) superseded_by: i64,
}

/// The publications of a round, newest first.
pub(crate) fn issued(round: &Round, all: &[Publication]) -> Vec<Issued> {
    let newest = all.last().map_or(0, |last| last.number);
    let line = |one: &Publication| Issued {
        number: one.number,
        at: show::instant(one.at(), &round.time_zone),
        by: one.by.clone(),
        meaning: one.meaning.clone(),
        reason: one.reason.clone(),
        notified: one.notified,
        superseded_by: if one.number == newest { 0 } else { one.number + 1 },
    };
    all.iter().rev().map(line).collect()
}

#[derive(Template)]
#[template(path = "evaluation/corrections.html")]
struct CorrectionsPage {
    f: Frame,
    round: Round,
    issued: Vec<Issued>,
    /// Why a correction is open; empty for none.
    open: String,
    opened: String,
    organiser: bool,
    reason: String,
    errors: Errors,
}

async fn corrections_page(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    round: Round,
    reason: String,
    errors: Errors,
) -> Result<CorrectionsPage, Error> {
    if !round.is_published() {
        return Err(Error::conflict("conflict-not-published"));
    }
    let f = Frame::of(app, person);
    let open = actions::open(tx, &round).await?;
    let opened = open
        .as_ref()
        .map(|open| f.t2("correction-opened", "at", show::instant(open.at(), &round.time_zone), "by", &open.by));
    Ok(CorrectionsPage {
        issued: issued(&round, &publications::of_round(tx, round.id).await?),
        open: open.map(|open| open.reason).unwrap_or_default(),
        opened: opened.unwrap_or_default(),
        organiser: person.actor.may_organise().is_ok(),
        reason,
        errors,
        round,
        f,
    })
}

/// `GET /rounds/{code}/corrections`: what was published, and opening a correction.
///
/// # Errors
///
/// A conflict before publication.
pub async fn corrections(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    ok(&corrections_page(&app, &mut tx, &person, round, String::new(), Errors::default()).await?)
}

/// `POST /rounds/{code}/corrections`: opens one, or gives the open one up.
///
/// # Errors
///
/// A conflict unless the round is published.
pub async fn correct(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let actor = &posted.person.actor;
    let reason = posted.fields.get("reason").to_owned();
    let now = app.clock.now();
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, actor, &code).await?;
    if posted.fields.get("command") == "give_up" {
        actions::give_up_correction(&mut tx, actor, &round, now).await?;
        tx.commit().await?;
        return Ok(go(&format!("/rounds/{code}/corrections"), "correction-given-up"));
    }
    match actions::open_correction(&mut tx, actor, &round, &reason, now).await {
        Ok(()) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/evaluation"), "correction-opened"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let errors = Errors::of(app.words, &errors);
            unprocessable(&corrections_page(&app, &mut tx, &posted.person, round, reason, errors).await?)
        }
    }
}
