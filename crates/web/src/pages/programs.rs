//! Programs: a person's tokens, and what those who write programs read.

use super::{Frame, go, ok, unprocessable};
use crate::actions::Refused;
use crate::actions::tokens::{self as actions, DAYS, Made, TokenForm};
use crate::api::{caller, problem::Kind};
use crate::error::Error;
use crate::extract::{Path, Person, Posted, Visitor};
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::id::TokenId;
use roundel_store::{Tx, tokens};
use uuid::Uuid;

/// A token in the list.
struct Line {
    id: String,
    name: String,
    right: String,
    made: String,
    ends: String,
    used: String,
    state: String,
    open: bool,
}

/// A choice.
struct Pick {
    value: String,
    text: String,
    chosen: bool,
}

/// A token that was just made.
struct Once {
    name: String,
    token: String,
    until: String,
}

#[derive(Template)]
#[template(path = "account/tokens.html")]
struct TokensPage {
    f: Frame,
    once: Option<Once>,
    lines: Vec<Line>,
    name: String,
    rights: Vec<Pick>,
    days: Vec<Pick>,
    errors: Errors,
}

async fn page(app: &App, tx: &mut Tx, person: &Person, form: TokenForm) -> Result<TokensPage, Error> {
    let f = Frame::of(app, person);
    let now = app.clock.now();
    let lines = tokens::of_user(tx, person.actor.user())
        .await?
        .iter()
        .map(|token| Line {
            id: token.id.to_string(),
            name: token.name.clone(),
            right: f.t(if token.may_change { "tokens-right-change" } else { "tokens-right-look" }),
            made: show::day(token.created_at(), "UTC"),
            ends: show::day(token.expires_at(), "UTC"),
            used: token.last_used_at().map_or_else(|| f.t("tokens-never"), |at| show::day(at, "UTC")),
            state: match token.revoked_at() {
                Some(at) => f.t1("tokens-revoked", "at", show::day(at, "UTC")),
                None => f.t(if token.is_open(now) { "tokens-open" } else { "tokens-ended" }),
            },
            open: token.is_open(now),
        })
        .collect();
    let change = if person.actor.laboratory().is_some() {
        f.t("tokens-new-right-change")
    } else {
        f.t("tokens-new-right-change-organiser")
    };
    let pick =
        |value: &str, text: String, chosen: &str| Pick { value: value.to_owned(), text, chosen: value == chosen };
    Ok(TokensPage {
        once: None,
        lines,
        rights: vec![pick("look", f.t("tokens-new-right-look"), &form.right), pick("change", change, &form.right)],
        days: DAYS
            .iter()
            .map(|days| pick(&days.to_string(), f.t(&format!("tokens-new-days-{days}")), &form.days))
            .collect(),
        name: form.name,
        errors: Errors::default(),
        f,
    })
}

/// `GET /tokens`.
///
/// # Errors
///
/// What the database says.
pub async fn list(State(app): State<App>, person: Person) -> Result<Response, Error> {
    ok(&page(&app, &mut app.db.read().await?, &person, TokenForm::default()).await?)
}

/// `POST /tokens`: makes a token and shows it this once.
///
/// # Errors
///
/// What the database says.
pub async fn make(State(app): State<App>, posted: Posted) -> Result<Response, Error> {
    let form: TokenForm = posted.fields.to()?;
    let mut tx = app.db.write().await?;
    match actions::make(&mut tx, &posted.person.actor, &form, app.clock.now()).await {
        Ok(Made { token, name, expires_at }) => {
            let mut page = page(&app, &mut tx, &posted.person, TokenForm::default()).await?;
            tx.commit().await?;
            page.once = Some(Once { name, token, until: show::day(expires_at, "UTC") });
            ok(&page)
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let mut page = page(&app, &mut tx, &posted.person, form).await?;
            page.errors = Errors::of(app.words, &errors);
            unprocessable(&page)
        }
    }
}

/// `POST /tokens/{id}/revoke`.
///
/// # Errors
///
/// [`Error::NotFound`] for a token that is not the person's.
pub async fn revoke(State(app): State<App>, Path(id): Path<Uuid>, posted: Posted) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    actions::revoke(&mut tx, &posted.person.actor, TokenId(id), app.clock.now()).await?;
    tx.commit().await?;
    Ok(go("/tokens", "token-revoked"))
}

/// A kind of problem, as explained.
struct Explained {
    href: String,
    title: String,
    status: String,
    text: String,
}

impl Explained {
    fn of(f: &Frame, kind: Kind) -> Explained {
        Explained {
            href: format!("/problems/{}", kind.word()),
            title: f.t(&format!("problem-kind-{}-title", kind.word())),
            status: f.t1("problem-kind-status", "status", kind.status().as_u16()),
            text: f.t(&format!("problem-kind-{}-text", kind.word())),
        }
    }
}

#[derive(Template)]
#[template(path = "account/interface.html")]
struct InterfacePage {
    f: Frame,
    description: String,
    address: String,
    burst: String,
    second: String,
    problems: Vec<Explained>,
}

/// `GET /interface`: for whoever writes a program.
///
/// # Errors
///
/// When the template cannot be rendered.
pub async fn interface(State(app): State<App>, visitor: Visitor) -> Result<Response, Error> {
    let f = Frame::open(&app, &visitor);
    ok(&InterfacePage {
        description: format!("{}{}/openapi.json", app.public_url, crate::api::BASE),
        address: format!("{}{}", app.public_url, crate::api::BASE),
        burst: caller::BURST.to_string(),
        second: caller::A_SECOND.to_string(),
        problems: Kind::ALL.iter().map(|kind| Explained::of(&f, *kind)).collect(),
        f,
    })
}

#[derive(Template)]
#[template(path = "account/problem.html")]
struct ProblemPage {
    f: Frame,
    problem: Explained,
}

/// `GET /problems/{word}`: what a kind of problem means.
///
/// # Errors
///
/// [`Error::NotFound`] for a word that is no kind.
pub async fn problem(State(app): State<App>, visitor: Visitor, Path(word): Path<String>) -> Result<Response, Error> {
    let kind = Kind::ALL.into_iter().find(|kind| kind.word() == word).ok_or(Error::NotFound)?;
    let f = Frame::open(&app, &visitor);
    ok(&ProblemPage { problem: Explained::of(&f, kind), f })
}
