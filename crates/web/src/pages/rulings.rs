//! Requests after closing: making them, and what the organiser decides.

use super::{Frame, go, ok, organised_round, own_round, seen_round, unprocessable};
use crate::actions::{self, Refused};
use crate::error::Error;
use crate::extract::{Path, Person, Posted};
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::id::{ParticipantId, RequestId};
use roundel_domain::request::{self, Kind, Ruling};
use roundel_domain::round::Round;
use roundel_store::Tx;
use roundel_store::rulings::{self, Request};
use uuid::Uuid;

/// A request as shown.
struct Shown {
    href: String,
    code: String,
    kind: String,
    reason: String,
    made_at: String,
    /// When it was decided; empty while it is open.
    at: String,
    ruling: String,
    /// The rule by which it was not accepted; empty otherwise.
    rule: String,
    evidence: String,
}

fn shown(f: &Frame, request: &Request, round: &Round) -> Result<Shown, Error> {
    let at = |at| show::instant(at, &round.time_zone);
    let ruled = request.ruled()?;
    let ruling = ruled.as_ref().map(|ruled| ruled.ruling);
    Ok(Shown {
        href: format!("/rounds/{}/requests/{}", round.code, request.id),
        code: request.code.clone(),
        kind: f.t(&format!("request-kind-{}", request.kind.word())),
        reason: request.reason.clone(),
        made_at: at(request.made_at()),
        at: ruled.as_ref().map(|ruled| at(ruled.at)).unwrap_or_default(),
        ruling: ruling.map(|ruling| f.t(&format!("request-ruling-{}", ruling.word()))).unwrap_or_default(),
        rule: match ruling {
            Some(Ruling::NotAccepted) => rule_of(f, request.kind),
            _ => String::new(),
        },
        evidence: ruled.map(|ruled| ruled.evidence).unwrap_or_default(),
    })
}

/// The rule that a request of this kind meets.
fn rule_of(f: &Frame, kind: Kind) -> String {
    f.t(&format!("request-rule-{}", kind.word()))
}

/// A choice of a list.
struct Choice {
    value: &'static str,
    text: String,
    chosen: bool,
}

#[derive(Template)]
#[template(path = "rounds/requests.html")]
struct RequestsPage {
    f: Frame,
    round: Round,
    organiser: bool,
    /// Whether this person may make a request for its laboratory.
    may_request: bool,
    /// Whether requests can be made now.
    may: bool,
    requests: Vec<Shown>,
    kinds: Vec<Choice>,
    reason: String,
    errors: Errors,
}

async fn requests_page(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    round: Round,
    own: Option<ParticipantId>,
    (kind, reason): (&str, &str),
) -> Result<RequestsPage, Error> {
    let f = Frame::of(app, person);
    let all = rulings::of_round(tx, round.id).await?;
    let seen = all.iter().filter(|request| own.is_none_or(|own| request.participant == own));
    let choice = |known: Kind| Choice {
        value: known.word(),
        text: f.t(&format!("request-kind-{}", known.word())),
        chosen: known.word() == kind,
    };
    Ok(RequestsPage {
        organiser: own.is_none(),
        may_request: person.actor.may_submit().is_ok(),
        may: request::is_time(&round, app.clock.now()),
        requests: seen.map(|request| shown(&f, request, &round)).collect::<Result<_, _>>()?,
        kinds: Kind::ALL.into_iter().map(choice).collect(),
        reason: reason.to_owned(),
        errors: Errors::default(),
        f,
        round,
    })
}

/// `GET /rounds/{code}/requests`.
///
/// # Errors
///
/// [`Error::NotFound`] for a round that does not exist for this person.
pub async fn list(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let (round, participant) = seen_round(&mut tx, &person.actor, &code).await?;
    let own = participant.map(|participant| participant.id);
    ok(&requests_page(&app, &mut tx, &person, round, own, ("", "")).await?)
}

/// `POST /rounds/{code}/requests`: makes a request.
///
/// # Errors
///
/// A refusal for the organiser; [`Error::NotFound`] for a round that does not
/// exist for this laboratory; a conflict while results are taken.
pub async fn ask(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let actor = &posted.person.actor;
    let (round, participant) = own_round(&mut tx, actor, &code).await?;
    let typed = (posted.fields.get("kind"), posted.fields.get("reason"));
    match actions::rulings::ask(&mut tx, actor, &round, &participant, typed, app.clock.now()).await {
        Ok(_) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/requests"), "request-made"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let mut page = requests_page(&app, &mut tx, &posted.person, round, Some(participant.id), typed).await?;
            page.errors = Errors::of(app.words, &errors);
            unprocessable(&page)
        }
    }
}

#[derive(Template)]
#[template(path = "rounds/ruling.html")]
struct RulingPage {
    f: Frame,
    round: Round,
    request: Shown,
    /// The rule that the request meets.
    rule: String,
    rulings: Vec<Choice>,
    evidence: String,
    errors: Errors,
}

fn ruling_page(
    app: &App,
    person: &Person,
    round: Round,
    request: &Request,
    (ruling, evidence): (&str, &str),
) -> Result<RulingPage, Error> {
    let f = Frame::of(app, person);
    let choice = |known: Ruling| Choice {
        value: known.word(),
        text: f.t(&format!("request-choice-{}", known.word())),
        chosen: known.word() == ruling,
    };
    Ok(RulingPage {
        request: shown(&f, request, &round)?,
        rule: rule_of(&f, request.kind),
        rulings: Ruling::ALL.into_iter().map(choice).collect(),
        evidence: evidence.to_owned(),
        errors: Errors::default(),
        f,
        round,
    })
}

async fn request_of(tx: &mut Tx, round: &Round, id: &str) -> Result<Request, Error> {
    let id = RequestId(id.parse::<Uuid>().map_err(|_| Error::NotFound)?);
    rulings::by_id(tx, round.id, id).await?.ok_or(Error::NotFound)
}

/// `GET /rounds/{code}/requests/{id}`: a request, for the organiser to decide.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser.
pub async fn ask_ruling(
    State(app): State<App>,
    person: Person,
    Path((code, id)): Path<(String, String)>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = organised_round(&mut tx, &person.actor, &code).await?;
    let request = request_of(&mut tx, &round, &id).await?;
    ok(&ruling_page(&app, &person, round, &request, ("", ""))?)
}

/// `POST /rounds/{code}/requests/{id}`: decides.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser; a conflict when it was
/// decided.
pub async fn rule(
    State(app): State<App>,
    Path((code, id)): Path<(String, String)>,
    posted: Posted,
) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let actor = &posted.person.actor;
    let round = organised_round(&mut tx, actor, &code).await?;
    let request = request_of(&mut tx, &round, &id).await?;
    let typed = (posted.fields.get("ruling"), posted.fields.get("evidence"));
    match actions::rulings::rule(&mut tx, actor, &round, &request, typed, app.clock.now()).await {
        Ok(()) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/requests"), "request-ruled"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let mut page = ruling_page(&app, &posted.person, round, &request, typed)?;
            page.errors = Errors::of(app.words, &errors);
            unprocessable(&page)
        }
    }
}
