//! Requests to confirm results: the staff asks by code, the laboratory answers.

use super::encoded;
use crate::actions::{self, Refused};
use crate::error::Error;
use crate::extract::{Path, Person, Posted};
use crate::pages::{Frame, evaluating_round, go, ok, own_round, reviewed_round, unprocessable};
use crate::reviewed;
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::review::{About, Finding};
use roundel_domain::round::{Round, RoundState};
use roundel_store::clarifications::{self, Clarification};
use roundel_store::{Tx, participants};

/// A finding on more results of a laboratory than these is on a set.
const MOST_POINTED: usize = 6;

struct Line {
    id: String,
    code: String,
    item: String,
    /// What is asked, in the fixed words.
    asked: String,
    analytes: String,
    at: String,
    answer: String,
    answered_at: String,
}

fn line(f: &Frame, round: &Round, one: &Clarification) -> Result<Line, Error> {
    Ok(Line {
        id: one.id.to_string(),
        code: one.code.clone(),
        item: one.item.clone(),
        asked: f.t1("clarification-words", "item", &one.item),
        analytes: one.analytes().join(", "),
        at: show::instant(one.asked_at(), &round.time_zone),
        answer: one.answer.clone().unwrap_or_default(),
        answered_at: one.answered_at()?.map(|at| show::instant(at, &round.time_zone)).unwrap_or_default(),
    })
}

#[derive(Template)]
#[template(path = "review/clarifications.html")]
struct StaffPage {
    f: Frame,
    round: Round,
    lines: Vec<Line>,
    codes: Vec<String>,
    items: Vec<String>,
    may_ask: bool,
}

#[derive(Template)]
#[template(path = "review/confirm_results.html")]
struct OwnPage {
    f: Frame,
    round: Round,
    lines: Vec<Line>,
    may_answer: bool,
    /// What was typed for which one.
    answering: String,
    answer: String,
    errors: Errors,
}

async fn own(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    code: &str,
    (answering, answer): (String, String),
    errors: Errors,
) -> Result<OwnPage, Error> {
    let (round, participant) = own_round(tx, &person.actor, code).await?;
    let f = Frame::of(app, person);
    let all = clarifications::of_round(tx, round.id).await?;
    let lines = all.iter().filter(|one| one.participant == participant.id).map(|one| line(&f, &round, one));
    Ok(OwnPage {
        lines: lines.collect::<Result<_, Error>>()?,
        may_answer: matches!(round.state, RoundState::Closed { .. }) && person.actor.may_enter().is_ok(),
        answering,
        answer,
        errors,
        round,
        f,
    })
}

/// `GET /rounds/{code}/clarifications`.
///
/// # Errors
///
/// [`Error::NotFound`] for a round that does not exist for this person.
pub async fn list(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    if person.actor.laboratory().is_some() {
        let typed = (String::new(), String::new());
        return ok(&own(&app, &mut tx, &person, &code, typed, Errors::default()).await?);
    }
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    let reviewed = reviewed::load(&app, &mut tx, &round).await?;
    let f = Frame::of(&app, &person);
    let all = clarifications::of_round(&mut tx, round.id).await?;
    ok(&StaffPage {
        lines: all.iter().map(|one| line(&f, &round, one)).collect::<Result<_, Error>>()?,
        codes: reviewed.sets.iter().map(|set| set.code.clone()).collect(),
        items: reviewed.items.iter().map(|item| item.label.clone()).collect(),
        // Before publication only: what is asked later would be about known scores.
        may_ask: person.actor.may_evaluate().is_ok() && matches!(round.state, RoundState::Closed { .. }),
        round,
        f,
    })
}

/// `POST /rounds/{code}/clarifications`: asks, or answers for a laboratory.
///
/// # Errors
///
/// A conflict outside of the review, and where asking would point at a result.
pub async fn post(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    if posted.person.actor.laboratory().is_some() {
        return answer(&app, &code, &posted).await;
    }
    let (actor, now) = (&posted.person.actor, app.clock.now());
    let (lab, item) = (posted.fields.get("lab"), posted.fields.get("item"));
    let mut tx = app.db.write().await?;
    let round = evaluating_round(&mut tx, actor, &code).await?;
    actions::review::raw_set(&mut tx, &round, now).await?;
    let reviewed = reviewed::load(&app, &mut tx, &round).await?;
    let people = participants::of_round(&mut tx, round.id).await?;
    let participant = people.iter().find(|p| p.code == lab).ok_or(Error::NotFound)?;
    // A finding on a whole set or item points at no result, and a list is no finding
    // on one laboratory.
    let few = |finding: &&Finding| {
        finding.kind.is_to_be_decided()
            && finding.kind.about() == About::Laboratory
            && finding.cells.len() <= MOST_POINTED
    };
    let flagged: Vec<String> = reviewed
        .findings
        .iter()
        .filter(few)
        .flat_map(|finding| &finding.cells)
        .filter(|(of, _)| of == lab)
        .filter_map(|(_, position)| reviewed.measurand(*position))
        .filter(|m| reviewed.items.iter().any(|known| known.id == m.item && known.label == item))
        .map(|m| m.analyte.clone())
        .collect();
    actions::clarifications::ask(&mut tx, actor, &round, participant, (item, &flagged), &app.post(), now).await?;
    tx.commit().await?;
    app.wake_mail();
    Ok(go(&format!("/rounds/{code}/review/laboratory/{}", encoded(lab)), "clarification-asked"))
}

async fn answer(app: &App, code: &str, posted: &Posted) -> Result<Response, Error> {
    let (id, text) = (posted.fields.get("id"), posted.fields.get("answer"));
    let mut tx = app.db.write().await?;
    let (round, participant) = own_round(&mut tx, &posted.person.actor, code).await?;
    let all = clarifications::of_round(&mut tx, round.id).await?;
    let asked = all.iter().find(|one| one.id.to_string() == id).ok_or(Error::NotFound)?;
    let (actor, now) = (&posted.person.actor, app.clock.now());
    match actions::clarifications::answer(&mut tx, actor, &round, &participant, asked, text, now).await {
        Ok(()) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/clarifications"), "clarification-answered"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let errors = Errors::of(app.words, &errors);
            let typed = (id.to_owned(), text.to_owned());
            unprocessable(&own(app, &mut tx, &posted.person, code, typed, errors).await?)
        }
    }
}
