//! Amendments of the plan of a round that is open: a later deadline for all, or
//! another statistical plan of a measurand.

use super::design::measurand_at;
use super::{Frame, evaluating_round, go, ok, planned, reviewed_round, signing, unprocessable};
use crate::actions::plans::State as PlanState;
use crate::actions::{self, Refused, approval};
use crate::error::Error;
use crate::extract::{Fields, Path, Person, Posted};
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::amendment;
use roundel_domain::field::FieldErrors;
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::plan::PlanForm;
use roundel_domain::round::{Round, RoundForm};
use roundel_store::{Tx, measurands, participants, rounds};

/// A measurand whose plan may be amended.
struct Line {
    href: String,
    analyte: String,
    plan: String,
}

struct Block {
    label: String,
    lines: Vec<Line>,
}

#[derive(Template)]
#[template(path = "rounds/amend.html")]
struct AmendPage {
    f: Frame,
    round: Round,
    deadline: String,
    /// Whether this person may move the deadline now.
    moves: bool,
    /// Whether this person may amend statistical plans now.
    edits: bool,
    /// The version that waits for its signature; 0 for none.
    waiting: i64,
    /// How many laboratories have sent results, in words.
    results: String,
    /// Whether a reviewer must agree.
    in_already: bool,
    day: String,
    time: String,
    reason: String,
    blocks: Vec<Block>,
    errors: Errors,
}

/// How many laboratories have sent results.
async fn sent(tx: &mut Tx, round: &Round) -> Result<usize, Error> {
    Ok(participants::progress(tx, round.id).await?.iter().filter(|line| line.version > 0).count())
}

async fn amend_page(app: &App, tx: &mut Tx, person: &Person, round: Round) -> Result<AmendPage, Error> {
    let f = Frame::of(app, person);
    let sent = sent(tx, &round).await?;
    let items = rounds::items(tx, round.id).await?;
    let measurands = measurands::of_round(tx, round.id).await?;
    let waiting = PlanState::load(tx, &round).await?.waiting().map_or(0, |plan| plan.version);
    let line = |m: &&Measurand| Line {
        href: format!("/rounds/{}/amend/{}", round.code, m.position),
        analyte: m.analyte.clone(),
        plan: m.plan.as_ref().map_or_else(|| f.t("route-missing"), |plan| planned::line(&f, plan)),
    };
    let blocks = super::by_item(&items, &measurands)
        .into_iter()
        .map(|(item, rows)| Block { label: item.label.clone(), lines: rows.iter().map(line).collect() })
        .collect();
    let form = RoundForm::of(&round);
    let correcting = approval::open(tx, &round).await?.is_some();
    Ok(AmendPage {
        deadline: show::instant(round.closes_at, &round.time_zone),
        moves: waiting == 0
            && person.actor.may_organise().is_ok()
            && amendment::may_move_deadline(&round, app.clock.now()),
        edits: waiting == 0
            && person.actor.may_evaluate().is_ok()
            && amendment::may_change_statistics(&round, correcting),
        waiting,
        results: f.t1("amend-results-now", "count", sent),
        in_already: sent > 0,
        day: form.closes_on,
        time: form.closes_time,
        reason: String::new(),
        blocks,
        errors: Errors::default(),
        f,
        round,
    })
}

/// `GET /rounds/{code}/amend`.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory; a conflict before the round is open.
pub async fn overview(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    if round.is_draft() {
        return Err(Error::conflict("conflict-amend-draft"));
    }
    ok(&amend_page(&app, &mut tx, &person, round).await?)
}

/// Adds what is wrong with the password to what is wrong with the rest.
fn joined(app: &App, password: &FieldErrors, rest: Option<FieldErrors>) -> Errors {
    let mut all = rest.unwrap_or_default();
    for (field, problem) in password.iter() {
        all.push(field, problem.clone());
    }
    Errors::of(app.words, &all)
}

/// `POST /rounds/{code}/amend`: proposes a later deadline for all.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser; a conflict when the deadline
/// is over, or another amendment waits.
pub async fn move_deadline(
    State(app): State<App>,
    Path(code): Path<String>,
    posted: Posted,
) -> Result<Response, Error> {
    let actor = &posted.person.actor;
    actor.may_organise()?;
    let password = signing::confirm(&app, &posted).await?;
    let mut tx = app.db.write().await?;
    let round = evaluating_round(&mut tx, actor, &code).await?;
    let [day, time, reason] = ["closes_on", "closes_time", "reason"].map(|name| posted.fields.get(name));
    let now = app.clock.now();
    let proposed = actions::plans::propose_deadline(&mut tx, actor, &round, (day, time), reason, now).await;
    let wrong = match proposed {
        Ok(version) if password.is_empty() => {
            tx.commit().await?;
            return Ok(go(&format!("/rounds/{code}/plan/{version}"), "amendment-proposed"));
        }
        Ok(_) => None,
        Err(Refused::Error(error)) => return Err(error),
        Err(Refused::Fields(errors)) => Some(errors),
    };
    // Nothing of what was tried stays.
    drop(tx);
    let mut page = amend_page(&app, &mut app.db.read().await?, &posted.person, round).await?;
    [page.day, page.time, page.reason] = [day, time, reason].map(str::to_owned);
    page.errors = joined(&app, &password, wrong);
    unprocessable(&page)
}

#[derive(Template)]
#[template(path = "rounds/amend_measurand.html")]
struct MeasurandPage {
    f: Frame,
    round: Round,
    item: Item,
    measurand: Measurand,
    form: PlanForm,
    /// The plan as it is, in words.
    before: String,
    results: String,
    in_already: bool,
    reason: String,
    errors: Errors,
}

async fn measurand_page(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    round: Round,
    position: i64,
) -> Result<MeasurandPage, Error> {
    let f = Frame::of(app, person);
    let (item, measurand) = measurand_at(tx, &round, position).await?;
    let sent = sent(tx, &round).await?;
    Ok(MeasurandPage {
        form: measurand.plan.as_ref().map(PlanForm::of).unwrap_or_default(),
        before: measurand.plan.as_ref().map_or_else(|| f.t("route-missing"), |plan| planned::line(&f, plan)),
        results: f.t1("amend-results-now", "count", sent),
        in_already: sent > 0,
        reason: String::new(),
        errors: Errors::default(),
        f,
        round,
        item,
        measurand,
    })
}

async fn must_be_amendable(tx: &mut Tx, round: &Round) -> Result<(), Error> {
    let correcting = approval::open(tx, round).await?.is_some();
    if !amendment::may_change_statistics(round, correcting) {
        return Err(Error::conflict(if round.is_draft() { "conflict-amend-draft" } else { "conflict-amend-late" }));
    }
    match PlanState::load(tx, round).await?.waiting() {
        Some(_) => Err(Error::conflict("conflict-amend-waiting")),
        None => Ok(()),
    }
}

/// `GET /rounds/{code}/amend/{position}`.
///
/// # Errors
///
/// A refusal for a reviewer; a conflict where nothing can be amended.
pub async fn measurand(
    State(app): State<App>,
    person: Person,
    Path((code, position)): Path<(String, i64)>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = evaluating_round(&mut tx, &person.actor, &code).await?;
    must_be_amendable(&mut tx, &round).await?;
    ok(&measurand_page(&app, &mut tx, &person, round, position).await?)
}

/// The fields of the plan alone.
fn plan_form(fields: &Fields) -> Result<PlanForm, Error> {
    fields.without(&["reason", "password"]).to()
}

/// `POST /rounds/{code}/amend/{position}`: proposes another statistical plan.
///
/// # Errors
///
/// A refusal for a reviewer; a conflict where nothing can be amended.
pub async fn change_measurand(
    State(app): State<App>,
    Path((code, position)): Path<(String, i64)>,
    posted: Posted,
) -> Result<Response, Error> {
    let actor = &posted.person.actor;
    actor.may_evaluate()?;
    let form = plan_form(&posted.fields)?;
    let reason = posted.fields.get("reason");
    let password = signing::confirm(&app, &posted).await?;
    let mut tx = app.db.write().await?;
    let round = evaluating_round(&mut tx, actor, &code).await?;
    let (_, measurand) = measurand_at(&mut tx, &round, position).await?;
    let now = app.clock.now();
    let proposed = actions::plans::propose_statistics(&mut tx, actor, &round, &measurand, &form, reason, now).await;
    let wrong = match proposed {
        Ok(version) if password.is_empty() => {
            tx.commit().await?;
            return Ok(go(&format!("/rounds/{code}/plan/{version}"), "amendment-proposed"));
        }
        Ok(_) => None,
        Err(Refused::Error(error)) => return Err(error),
        Err(Refused::Fields(errors)) => Some(errors),
    };
    drop(tx);
    let mut page = measurand_page(&app, &mut app.db.read().await?, &posted.person, round, position).await?;
    page.form = form;
    page.reason = reason.to_owned();
    page.errors = joined(&app, &password, wrong);
    unprocessable(&page)
}
