//! Questions to the organiser: asking, answering, and what was answered to all.
//! Nobody is shown who asked.

use super::{Frame, go, ok, organised_round, own_round, seen_round, unprocessable};
use crate::actions::questions::AnswerForm;
use crate::actions::{self, Refused};
use crate::error::Error;
use crate::extract::{Path, Person, Posted};
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::id::{ParticipantId, QuestionId};
use roundel_domain::round::Round;
use roundel_store::Tx;
use roundel_store::questions::{self, Question, State as Answered};
use uuid::Uuid;

/// A question as shown: without whoever asked it.
struct Shown {
    href: String,
    text: String,
    answer: String,
    asked_at: String,
    /// When it was answered or closed; empty while it is open.
    at: String,
}

fn shown(question: &Question, round: &Round) -> Shown {
    let at = |at| show::instant(at, &round.time_zone);
    let (answer, ended) = match &question.state {
        Answered::Open => (String::new(), String::new()),
        Answered::Answered { text, at: ended } => (text.clone(), at(*ended)),
        Answered::Closed { at: ended } => (String::new(), at(*ended)),
    };
    Shown {
        href: format!("/rounds/{}/questions/{}", round.code, question.id),
        text: question.text.clone(),
        answer,
        asked_at: at(question.asked_at),
        at: ended,
    }
}

#[derive(Template)]
#[template(path = "rounds/questions.html")]
struct QuestionsPage {
    f: Frame,
    round: Round,
    organiser: bool,
    /// Whether this person may ask for its laboratory.
    may_ask: bool,
    /// Those that wait: all for the organiser, its own for a laboratory.
    open: Vec<Shown>,
    answered: Vec<Shown>,
    /// Those that were closed without an answer: all, or its own.
    closed: Vec<Shown>,
    question: String,
    errors: Errors,
}

async fn questions_page(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    round: Round,
    own: Option<ParticipantId>,
) -> Result<QuestionsPage, Error> {
    let all = questions::of_round(tx, round.id).await?;
    let mine = |question: &&Question| own.is_none_or(|own| question.participant == own);
    let list = |wanted: fn(&Answered) -> bool, all: Vec<&Question>| {
        all.into_iter().filter(|question| wanted(&question.state)).map(|question| shown(question, &round)).collect()
    };
    Ok(QuestionsPage {
        f: Frame::of(app, person),
        organiser: own.is_none(),
        may_ask: person.actor.may_enter().is_ok(),
        open: list(|state| *state == Answered::Open, all.iter().filter(mine).collect()),
        answered: list(|state| matches!(state, Answered::Answered { .. }), all.iter().collect()),
        closed: list(|state| matches!(state, Answered::Closed { .. }), all.iter().filter(mine).collect()),
        question: String::new(),
        errors: Errors::default(),
        round,
    })
}

/// `GET /rounds/{code}/questions`.
///
/// # Errors
///
/// [`Error::NotFound`] for a round that does not exist for this person.
pub async fn list(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let (round, participant) = seen_round(&mut tx, &person.actor, &code).await?;
    let own = participant.map(|participant| participant.id);
    ok(&questions_page(&app, &mut tx, &person, round, own).await?)
}

/// `POST /rounds/{code}/questions`: asks.
///
/// # Errors
///
/// A refusal for the organiser; [`Error::NotFound`] for a round that does not
/// exist for this laboratory.
pub async fn ask(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let (round, participant) = own_round(&mut tx, &posted.person.actor, &code).await?;
    let text = posted.fields.get("question");
    let asked =
        actions::questions::ask(&mut tx, &posted.person.actor, &round, &participant, text, app.clock.now()).await;
    match asked {
        Ok(_) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/questions"), "question-asked"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let mut page = questions_page(&app, &mut tx, &posted.person, round, Some(participant.id)).await?;
            page.question = text.to_owned();
            page.errors = Errors::of(app.words, &errors);
            unprocessable(&page)
        }
    }
}

#[derive(Template)]
#[template(path = "rounds/answer.html")]
struct AnswerPage {
    f: Frame,
    round: Round,
    question: Shown,
    open: bool,
    answer: String,
    /// What in the answer may tell a result; empty where nothing was seen.
    warning: String,
    confirmed: bool,
    errors: Errors,
}

fn answer_page(app: &App, person: &Person, round: Round, question: &Question) -> AnswerPage {
    AnswerPage {
        f: Frame::of(app, person),
        question: shown(question, &round),
        open: question.state == Answered::Open,
        answer: String::new(),
        warning: String::new(),
        confirmed: false,
        errors: Errors::default(),
        round,
    }
}

async fn question_of(tx: &mut Tx, round: &Round, id: &str) -> Result<Question, Error> {
    let id = QuestionId(id.parse::<Uuid>().map_err(|_| Error::NotFound)?);
    questions::by_id(tx, round.id, id).await?.ok_or(Error::NotFound)
}

/// `GET /rounds/{code}/questions/{id}`: a question, for the organiser to answer.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser.
pub async fn ask_answer(
    State(app): State<App>,
    person: Person,
    Path((code, id)): Path<(String, String)>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = organised_round(&mut tx, &person.actor, &code).await?;
    let question = question_of(&mut tx, &round, &id).await?;
    ok(&answer_page(&app, &person, round, &question))
}

/// `POST /rounds/{code}/questions/{id}`: answers to all, or closes without an
/// answer, as the field `command` says.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser; a conflict when it was
/// answered or closed.
pub async fn answer(
    State(app): State<App>,
    Path((code, id)): Path<(String, String)>,
    posted: Posted,
) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let actor = &posted.person.actor;
    let round = organised_round(&mut tx, actor, &code).await?;
    let question = question_of(&mut tx, &round, &id).await?;
    let (text, now) = (posted.fields.get("answer"), app.clock.now());
    let form = AnswerForm { text, numbers_may: posted.fields.get("numbers") == "yes" };
    let (done, word) = match posted.fields.get("command") {
        // What was typed would be lost without a word.
        "close" if !text.trim().is_empty() => (Err(unsent()), ""),
        "close" => {
            let closed = actions::questions::close(&mut tx, actor, &round, &question, now).await;
            (closed.map_err(Refused::Error), "question-closed")
        }
        _ => {
            let answered = actions::questions::answer(&mut tx, actor, &round, &question, form, &app.post(), now).await;
            (answered, "question-answered")
        }
    };
    match done {
        Ok(()) => {
            tx.commit().await?;
            app.wake_mail();
            Ok(go(&format!("/rounds/{code}/questions"), word))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let mut page = answer_page(&app, &posted.person, round, &question);
            page.answer = text.to_owned();
            let seen = errors.get("numbers").and_then(|problem| problem.value("seen")).unwrap_or_default();
            page.warning = seen.to_owned();
            page.confirmed = form.numbers_may;
            page.errors = Errors::of(app.words, &errors);
            unprocessable(&page)
        }
    }
}

/// An answer was typed, and closing would drop it.
fn unsent() -> Refused {
    let mut errors = FieldErrors::new();
    errors.push("answer", Problem::new("question-close-with-text"));
    Refused::Fields(errors)
}
