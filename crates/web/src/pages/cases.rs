//! Complaints and appeals: a laboratory's own, and all of a round for the
//! organiser's staff.

use super::{Frame, go, ok, own_round, reviewed_round, seen_round, unprocessable};
use crate::actions::Refused;
use crate::actions::cases::{self as actions, CaseForm, Known, StepForm};
use crate::error::Error;
use crate::extract::{Path, Person, Posted};
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::case::{self, Kind, Outcome, Step};
use roundel_domain::id::ParticipantId;
use roundel_domain::round::Round;
use roundel_store::Tx;
use roundel_store::cases::Stepped;

struct Pick {
    value: String,
    text: String,
    hint: String,
    chosen: bool,
}

struct StepLine {
    at: String,
    what: String,
    statement: String,
    by: String,
}

struct CaseLine {
    number: i64,
    href: String,
    title: String,
    kind: String,
    code: String,
    received: String,
    state: String,
    overdue: bool,
    statement: String,
    steps: Vec<StepLine>,
}

/// What the laboratory is told of a step: what was decided, done and answered, not
/// who investigates.
fn told(step: Step) -> bool {
    matches!(step, Step::Decided | Step::Acted | Step::Answered | Step::Closed)
}

fn step_line(f: &Frame, zone: &str, stepped: &Stepped, whole: bool) -> Result<StepLine, Error> {
    let step = stepped.step()?;
    let what = match (step, stepped.outcome(), &stepped.person) {
        (Step::Decided, Some(outcome), _) => f.t(&format!("case-outcome-{}", outcome.word())),
        (Step::Assigned, _, Some(person)) => f.t1("case-step-assigned-to", "name", person),
        _ => f.t(&format!("case-step-{}", step.word())),
    };
    Ok(StepLine {
        at: show::instant(stepped.at(), zone),
        what,
        statement: stepped.statement.clone(),
        by: if whole { stepped.by.clone() } else { String::new() },
    })
}

fn case_line(app: &App, f: &Frame, round: &Round, known: &Known, whole: bool) -> Result<CaseLine, Error> {
    let made = known.made()?;
    let state = match (made.last(), known.outcome()) {
        (None, _) => f.t("case-state-acknowledged"),
        (Some(Step::Closed), Some(outcome)) => {
            f.t1("case-state-closed", "outcome", f.t(&format!("case-outcome-{}", outcome.word())))
        }
        (Some(_), Some(outcome)) => f.t(&format!("case-outcome-{}", outcome.word())),
        (Some(_), None) => f.t("case-state-investigated"),
    };
    let steps = known.steps.iter().zip(&made).filter(|(_, step)| whole || told(**step));
    Ok(CaseLine {
        number: known.case.number,
        href: format!("/rounds/{}/cases/{}", round.code, known.case.number),
        title: known.case.subject.clone(),
        kind: f.t(&format!("case-kind-{}", known.case.kind()?.word())),
        code: known.case.code.clone().unwrap_or_else(|| f.t("case-anonymous")),
        received: show::instant(known.case.at(), &round.time_zone),
        overdue: case::is_overdue(known.case.at(), &made, app.clock.now()),
        state,
        statement: known.case.statement.clone(),
        steps: steps.map(|(stepped, _)| step_line(f, &round.time_zone, stepped, whole)).collect::<Result<_, _>>()?,
    })
}

#[derive(Template)]
#[template(path = "rounds/cases.html")]
struct CasesPage {
    f: Frame,
    round: Round,
    /// Whether it is the staff that looks.
    staff: bool,
    /// Whether the person may send one in.
    sends: bool,
    kinds: Vec<Pick>,
    form: CaseForm,
    lines: Vec<CaseLine>,
    errors: Errors,
}

/// Who looks: the staff, or a laboratory at its own.
fn is_own(known: &Known, own: Option<ParticipantId>) -> bool {
    own.is_none_or(|own| known.case.participant() == Some(own))
}

async fn list_page(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    on: (Round, Option<ParticipantId>),
    form: CaseForm,
    errors: Errors,
) -> Result<CasesPage, Error> {
    let (round, own) = on;
    let f = Frame::of(app, person);
    let all = actions::all(tx, &round).await?;
    let mine = all.iter().filter(|known| is_own(known, own)).rev();
    let lines = mine.map(|known| case_line(app, &f, &round, known, own.is_none())).collect::<Result<_, _>>()?;
    let offered = Kind::ALL.into_iter().filter(|kind| own.is_some() || *kind == Kind::Complaint);
    let pick = |kind: Kind| Pick {
        value: kind.word().to_owned(),
        text: f.t(&format!("case-kind-{}", kind.word())),
        hint: f.t(&format!("case-kind-{}-hint", kind.word())),
        chosen: kind.word() == form.kind,
    };
    Ok(CasesPage {
        staff: own.is_none(),
        sends: match own {
            Some(_) => person.actor.may_submit().is_ok(),
            None => person.actor.may_organise().is_ok(),
        },
        kinds: offered.map(pick).collect(),
        lines,
        form,
        errors,
        round,
        f,
    })
}

/// The round with the person's part in it; none for the staff.
async fn seen(tx: &mut Tx, person: &Person, code: &str) -> Result<(Round, Option<ParticipantId>), Error> {
    let (round, participant) = seen_round(tx, &person.actor, code).await?;
    if participant.is_none() {
        person.actor.may_review()?;
    }
    Ok((round, participant.map(|participant| participant.id)))
}

/// `GET /rounds/{code}/cases`.
///
/// # Errors
///
/// [`Error::NotFound`] for a round that does not exist for this person.
pub async fn list(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let on = seen(&mut tx, &person, &code).await?;
    ok(&list_page(&app, &mut tx, &person, on, CaseForm::default(), Errors::default()).await?)
}

/// `POST /rounds/{code}/cases`: receives a complaint or an appeal.
///
/// # Errors
///
/// A refusal for who may not send.
pub async fn receive(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let form: CaseForm = posted.fields.to()?;
    let mut tx = app.db.write().await?;
    let on = match posted.person.actor.laboratory() {
        Some(_) => {
            let (round, participant) = own_round(&mut tx, &posted.person.actor, &code).await?;
            (round, Some(participant.id))
        }
        None => (reviewed_round(&mut tx, &posted.person.actor, &code).await?, None),
    };
    match actions::receive(&mut tx, &posted.person.actor, &on.0, on.1, &form, app.clock.now()).await {
        Ok(_) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/cases"), "case-received"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let errors = Errors::of(app.words, &errors);
            unprocessable(&list_page(&app, &mut tx, &posted.person, on, form, errors).await?)
        }
    }
}

#[derive(Template)]
#[template(path = "rounds/case.html")]
struct CasePage {
    f: Frame,
    round: Round,
    line: CaseLine,
    /// The steps that this person may take now.
    steps: Vec<Pick>,
    people: Vec<Pick>,
    outcomes: Vec<Pick>,
    /// Who takes the next step, where it is not this person.
    waits: String,
    form: StepForm,
    errors: Errors,
}

async fn case_page(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    on: (Round, Known),
    form: StepForm,
    errors: Errors,
) -> Result<CasePage, Error> {
    let (round, known) = on;
    let f = Frame::of(app, person);
    let free = actions::uninvolved(tx, &round).await?;
    let actor = &person.actor;
    let next = case::next(&known.made()?);
    let steps: Vec<Pick> = next
        .iter()
        .filter(|step| actions::may_take(actor, **step, &known, &free))
        .map(|step| Pick {
            value: step.word().to_owned(),
            text: f.t(&format!("case-step-{}", step.word())),
            hint: f.t(&format!("case-step-{}-hint", step.word())),
            chosen: step.word() == form.step,
        })
        .collect();
    let waits = match next.first() {
        Some(step) if steps.is_empty() => f.t(&format!("case-waits-{}", step.word())),
        _ => String::new(),
    };
    let has = |step: Step| steps.iter().any(|pick| pick.value == step.word());
    let people = if has(Step::Assigned) {
        let pick = |member: &roundel_store::staff::Member| Pick {
            value: member.id.to_string(),
            text: f.t2("case-person", "name", &member.name, "duty", f.t(&format!("duty-{}", member.duty().word()))),
            hint: String::new(),
            chosen: member.id.to_string() == form.person,
        };
        free.iter().map(pick).collect()
    } else {
        Vec::new()
    };
    let outcomes = if has(Step::Decided) {
        let pick = |outcome: Outcome| Pick {
            value: outcome.word().to_owned(),
            text: f.t(&format!("case-outcome-{}", outcome.word())),
            hint: String::new(),
            chosen: outcome.word() == form.outcome,
        };
        Outcome::ALL.map(pick).into()
    } else {
        Vec::new()
    };
    let line = case_line(app, &f, &round, &known, true)?;
    Ok(CasePage { line, steps, people, outcomes, waits, form, errors, round, f })
}

async fn known(tx: &mut Tx, person: &Person, code: &str, number: i64) -> Result<(Round, Known), Error> {
    let round = reviewed_round(tx, &person.actor, code).await?;
    let all = actions::all(tx, &round).await?;
    let known = all.into_iter().find(|known| known.case.number == number).ok_or(Error::NotFound)?;
    Ok((round, known))
}

/// `GET /rounds/{code}/cases/{number}`.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory, and where there is none.
pub async fn show_case(
    State(app): State<App>,
    person: Person,
    Path((code, number)): Path<(String, i64)>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let on = known(&mut tx, &person, &code, number).await?;
    ok(&case_page(&app, &mut tx, &person, on, StepForm::default(), Errors::default()).await?)
}

/// `POST /rounds/{code}/cases/{number}`: takes a step.
///
/// # Errors
///
/// A conflict for a step that does not come next.
pub async fn step(
    State(app): State<App>,
    Path((code, number)): Path<(String, i64)>,
    posted: Posted,
) -> Result<Response, Error> {
    let form: StepForm = posted.fields.to()?;
    let mut tx = app.db.write().await?;
    let (round, known) = known(&mut tx, &posted.person, &code, number).await?;
    match actions::step(&mut tx, &posted.person.actor, &round, &known, &form, app.clock.now()).await {
        Ok(()) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/cases/{number}"), "case-step"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let errors = Errors::of(app.words, &errors);
            unprocessable(&case_page(&app, &mut tx, &posted.person, (round, known), form, errors).await?)
        }
    }
}
