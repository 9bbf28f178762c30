//! Deciding on results: the form, what it would change, and writing it.

use super::name;
use crate::actions::Refused;
use crate::actions::decisions::{self, DecisionForm};
use crate::error::Error;
use crate::extract::{Fields, Path, Person, Posted};
use crate::pages::evaluation::{Class, reported_text};
use crate::pages::figures;
use crate::pages::{Frame, evaluating_round, go, ok, unprocessable};
use crate::reviewed::{self, OnCell, Reviewed};
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::{RawQuery, State};
use axum::response::Response;
use roundel_documents::number;
use roundel_domain::decision::{Cause, Effect, Kind, Numbers};
use roundel_domain::review::{Cell, Set};
use roundel_domain::round::Round;
use roundel_store::Tx;

struct Touched {
    code: String,
    name: String,
    reported: String,
    class: Class,
    now: String,
}

struct Choice {
    word: &'static str,
    text: String,
    chosen: bool,
}

struct Past {
    at: String,
    by: String,
    what: String,
    reason: String,
}

#[derive(Template)]
#[template(path = "review/decide.html")]
struct DecidePage {
    f: Frame,
    round: Round,
    /// What the form is on, as its fields say it.
    on: Vec<String>,
    findings: Vec<(String, String)>,
    touched: Vec<Touched>,
    kinds: Vec<Choice>,
    causes: Vec<Choice>,
    reason: String,
    past: Vec<Past>,
    back: String,
    errors: Errors,
}

/// Numbers of a measurand that change, as shown.
struct NumberLine {
    name: String,
    unit: String,
    value: (String, String),
    uncertainty: (String, String),
    spread: (String, String),
    counting: (usize, usize),
    changed: bool,
}

struct ClassLine {
    code: String,
    name: String,
    before: Class,
    after: Class,
}

#[derive(Template)]
#[template(path = "review/preview.html")]
struct PreviewPage {
    f: Frame,
    round: Round,
    on: Vec<String>,
    findings: Vec<String>,
    kind: String,
    kind_word: String,
    cause: String,
    cause_word: String,
    reason: String,
    count: usize,
    touched: Vec<Touched>,
    numbers: Vec<NumberLine>,
    unchanged: usize,
    classes: Vec<ClassLine>,
    back: String,
}

/// The places of a laboratory with something that can be decided on.
pub(super) fn reported(set: &Set) -> impl Iterator<Item = i64> {
    set.entries.iter().filter(|entry| entry.reported.is_number()).map(|entry| entry.position)
}

/// Results by what a form says: `CODE.12`, `CODE.item-A`, `CODE.all`.
fn cells(reviewed: &Reviewed, on: &[String]) -> Result<Vec<Cell>, Error> {
    let mut cells: Vec<Cell> = Vec::new();
    for one in on {
        let (code, what) = one.split_once('.').ok_or(Error::NotFound)?;
        let set = reviewed.set(code).ok_or(Error::NotFound)?;
        let places: Vec<i64> = match (what, what.strip_prefix("item-"), what.parse::<i64>()) {
            ("all", _, _) => reported(set).collect(),
            (_, Some(item), _) => {
                let rows = set.entries.iter().filter(|entry| entry.item == item && entry.reported.is_number());
                rows.map(|entry| entry.position).collect()
            }
            (_, _, Ok(position)) => reported(set).filter(|place| *place == position).collect(),
            _ => return Err(Error::NotFound),
        };
        if places.is_empty() {
            return Err(Error::NotFound);
        }
        for place in places {
            let cell = (code.to_owned(), place);
            if !cells.contains(&cell) {
                cells.push(cell);
            }
        }
    }
    Ok(cells)
}

fn all(fields: &Fields, name: &str) -> Vec<String> {
    fields.iter().filter(|(field, _)| *field == name).map(|(_, text)| text.to_owned()).collect()
}

fn form_of(reviewed: &Reviewed, fields: &Fields) -> Result<DecisionForm, Error> {
    Ok(DecisionForm {
        cells: cells(reviewed, &all(fields, "on"))?,
        kind: fields.get("kind").to_owned(),
        cause: fields.get("cause").to_owned(),
        reason: fields.get("reason").to_owned(),
        findings: all(fields, "finding").into_iter().filter(|key| reviewed.finding(key).is_some()).collect(),
    })
}

fn kind_text(f: &Frame, kind: Kind) -> String {
    f.t(&format!("decision-kind-{}", kind.word()))
}

fn cause_text(f: &Frame, cause: Cause) -> String {
    f.t(&format!("decision-cause-{}", cause.word().replace('_', "-")))
}

fn touched(f: &Frame, reviewed: &Reviewed, form: &DecisionForm) -> Vec<Touched> {
    let line = |(code, position): &Cell| {
        let m = reviewed.measurand(*position)?;
        let id = reviewed.id(m);
        let entry = reviewed.evaluated.score(code, &id)?;
        let result = reviewed.evaluated.result(code, &id)?;
        let now = match &result.exclude {
            None => f.t("decide-now-counts"),
            Some(reason) => figures::without_stop(reason),
        };
        Some(Touched {
            code: code.clone(),
            name: name(f, reviewed, m),
            reported: format!("{} {}", reported_text(entry), m.unit),
            class: Class::of_result(f, entry.signal, Some(result)),
            now,
        })
    };
    form.cells.iter().filter_map(line).collect()
}

fn past(f: &Frame, round: &Round, form: &DecisionForm, all: Vec<OnCell>) -> Result<Vec<Past>, Error> {
    let mut past: Vec<Past> = Vec::new();
    let mut batches = Vec::new();
    for one in all.into_iter().filter(|one| form.cells.contains(&one.cell)) {
        // What was decided together is one line.
        if one.decision.batch.is_some_and(|batch| batches.contains(&batch)) {
            continue;
        }
        batches.extend(one.decision.batch);
        let (kind, cause) = (one.decision.kind()?, one.decision.cause()?);
        past.push(Past {
            at: show::instant(one.decision.at(), &round.time_zone),
            what: format!("{}: {}, {}", one.cell.0, kind_text(f, kind), cause_text(f, cause)),
            by: one.decision.by,
            reason: one.decision.reason,
        });
    }
    Ok(past)
}

/// Where the results stand: the page of their measurand, or of their laboratory.
fn back(round: &Round, form: &DecisionForm) -> String {
    let base = format!("/rounds/{}/review", round.code);
    let one_place = form.cells.first().filter(|first| form.cells.iter().all(|cell| cell.1 == first.1));
    let one_code = form.cells.first().filter(|first| form.cells.iter().all(|cell| cell.0 == first.0));
    match (one_place, one_code) {
        (Some((code, position)), _) => format!("{base}/{position}#lab-{code}"),
        (None, Some((code, _))) => format!("{base}/laboratory/{code}"),
        (None, None) => base,
    }
}

async fn page(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    round: Round,
    form: &DecisionForm,
    errors: Errors,
) -> Result<DecidePage, Error> {
    let reviewed = reviewed::load(app, tx, &round).await?;
    let f = Frame::of(app, person);
    let decisions = reviewed::decisions(tx, &round, &reviewed).await?;
    let kind = |kind: Kind| Choice { word: kind.word(), text: kind_text(&f, kind), chosen: form.kind == kind.word() };
    let cause =
        |cause: Cause| Choice { word: cause.word(), text: cause_text(&f, cause), chosen: form.cause == cause.word() };
    let found = form.findings.iter().filter_map(|key| reviewed.finding(key));
    Ok(DecidePage {
        on: form.cells.iter().map(|(code, position)| format!("{code}.{position}")).collect(),
        findings: found.map(|finding| (finding.key.clone(), super::sentence(&f, finding))).collect(),
        touched: touched(&f, &reviewed, form),
        kinds: Kind::ALL.into_iter().filter(|one| *one != Kind::Withdrawn || !round.is_published()).map(kind).collect(),
        causes: Cause::ALL.into_iter().map(cause).collect(),
        reason: form.reason.clone(),
        past: past(&f, &round, form, decisions)?,
        back: back(&round, form),
        errors,
        round,
        f,
    })
}

/// `GET /rounds/{code}/decide?on=…&finding=…`.
///
/// # Errors
///
/// [`Error::NotFound`] for laboratories, and for a result that nobody sent.
pub async fn ask(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    RawQuery(query): RawQuery,
) -> Result<Response, Error> {
    let query = Fields::read(query.unwrap_or_default().as_bytes());
    let mut tx = app.db.read().await?;
    let round = evaluating_round(&mut tx, &person.actor, &code).await?;
    let reviewed = reviewed::load(&app, &mut tx, &round).await?;
    let form = form_of(&reviewed, &query)?;
    if form.cells.is_empty() {
        return Err(Error::NotFound);
    }
    ok(&page(&app, &mut tx, &person, round, &form, Errors::default()).await?)
}

fn pair(numbers: (&Numbers, &Numbers), of: fn(&Numbers) -> Option<f64>, digits: usize) -> (String, String) {
    let text = |x: Option<f64>| x.map(|x| number::significant(x, digits)).unwrap_or_else(|| "–".to_owned());
    (text(of(numbers.0)), text(of(numbers.1)))
}

fn number_lines(f: &Frame, reviewed: &Reviewed, effect: &Effect) -> Vec<NumberLine> {
    let line = |one: &roundel_domain::decision::MeasurandEffect| {
        let m = reviewed.measurands.iter().find(|m| reviewed.id(m) == one.id)?;
        let both = (&one.before, &one.after);
        Some(NumberLine {
            name: name(f, reviewed, m),
            unit: m.unit.clone(),
            value: pair(both, |numbers| numbers.assigned_value, 4),
            uncertainty: pair(both, |numbers| numbers.standard_uncertainty, 2),
            spread: pair(both, |numbers| numbers.robust_sd, 3),
            counting: (one.before.counting, one.after.counting),
            changed: one.before.assigned_value != one.after.assigned_value,
        })
    };
    effect.measurands.iter().filter_map(line).collect()
}

async fn preview(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    round: Round,
    form: &DecisionForm,
) -> Result<PreviewPage, Refused> {
    let parsed = form.parse(&round)?;
    let effect = decisions::effect(tx, &round, &parsed).await?;
    let reviewed = reviewed::load(app, tx, &round).await?;
    let f = Frame::of(app, person);
    let classes = effect
        .classes
        .iter()
        .filter_map(|one| {
            let m = reviewed.measurands.iter().find(|m| reviewed.id(m) == one.measurand)?;
            Some(ClassLine {
                code: one.participant.clone(),
                name: name(&f, &reviewed, m),
                before: Class::of(&f, one.before),
                after: Class::of(&f, one.after),
            })
        })
        .collect();
    let numbers = number_lines(&f, &reviewed, &effect);
    Ok(PreviewPage {
        on: form.cells.iter().map(|(code, position)| format!("{code}.{position}")).collect(),
        findings: parsed.findings.clone(),
        kind: kind_text(&f, parsed.kind),
        kind_word: form.kind.clone(),
        cause: cause_text(&f, parsed.cause),
        cause_word: form.cause.clone(),
        reason: parsed.reason,
        count: form.cells.len(),
        touched: touched(&f, &reviewed, form),
        unchanged: numbers.iter().filter(|line| !line.changed).count(),
        numbers,
        classes,
        back: back(&round, form),
        round,
        f,
    })
}

/// `POST /rounds/{code}/decide`: shows what the decision would change; with the
/// command `confirm` it is written.
///
/// # Errors
///
/// A conflict unless the round is in review; [`Error::NotFound`] for a result that
/// nobody sent.
pub async fn decide(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let (actor, now) = (&posted.person.actor, app.clock.now());
    let confirmed = posted.fields.get("command") == "confirm";
    let mut tx = app.db.write().await?;
    let round = evaluating_round(&mut tx, actor, &code).await?;
    crate::actions::review::raw_set(&mut tx, &round, now).await?;
    crate::actions::evaluation::must_be_in_review(&mut tx, &round).await?;
    let reviewed = reviewed::load(&app, &mut tx, &round).await?;
    let form = form_of(&reviewed, &posted.fields)?;
    let refused = if confirmed {
        match decisions::decide(&mut tx, actor, &round, &form, now).await {
            Ok(()) => {
                tx.commit().await?;
                return Ok(go(&back(&round, &form), "results-decided"));
            }
            Err(refused) => refused,
        }
    } else {
        match preview(&app, &mut tx, &posted.person, round.clone(), &form).await {
            Ok(page) => return ok(&page),
            Err(refused) => refused,
        }
    };
    match refused {
        Refused::Error(error) => Err(error),
        Refused::Fields(errors) => {
            let errors = Errors::of(app.words, &errors);
            unprocessable(&page(&app, &mut tx, &posted.person, round, &form, errors).await?)
        }
    }
}
