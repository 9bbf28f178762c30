//! Publishing an evaluation, and its data package.

use super::evaluation::{is_stale, shown};
use super::{Frame, download, go, ok, organised_round, seen_round, unprocessable};
use crate::actions::{self, Refused};
use crate::error::Error;
use crate::extract::{Path, Person, Posted};
use crate::show::Errors;
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::evaluation::{ScoreEntry, Signal};
use roundel_domain::round::Round;
use roundel_store::{Tx, participants, results};

#[derive(Template)]
#[template(path = "evaluation/publish.html")]
struct PublishPage {
    f: Frame,
    round: Round,
    version: i64,
    laboratories: usize,
    registered: usize,
    scored: usize,
    excluded: usize,
    typed: String,
    errors: Errors,
}

async fn publish_page(app: &App, tx: &mut Tx, person: &Person, round: Round) -> Result<PublishPage, Error> {
    let (evaluated, heads) = shown(app, tx, &round).await?.ok_or_else(|| Error::conflict("conflict-no-evaluation"))?;
    if is_stale(tx, &round, &heads).await? {
        return Err(Error::conflict("conflict-stale-evaluation"));
    }
    let participants = participants::of_round(tx, round.id).await?.len();
    let laboratories = results::newest_of_round(tx, round.id).await?.len();
    let has_class = |entry: &&ScoreEntry| matches!(entry.signal, Signal::None | Signal::Warning | Signal::Action);
    Ok(PublishPage {
        f: Frame::of(app, person),
        version: heads.first().map_or(0, |head| head.version),
        laboratories,
        registered: participants - laboratories,
        scored: evaluated.evaluation.scores.iter().filter(has_class).count(),
        excluded: evaluated.package.results.iter().filter(|result| result.exclude.is_some()).count(),
        typed: String::new(),
        errors: Errors::default(),
        round,
    })
}

/// `GET /rounds/{code}/publish`: says what will become visible, and for whom.
///
/// # Errors
///
/// A conflict without an evaluation, or with decisions that it does not hold.
pub async fn ask_publish(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = organised_round(&mut tx, &person.actor, &code).await?;
    if round.is_published() {
        return Err(Error::conflict("conflict-published"));
    }
    ok(&publish_page(&app, &mut tx, &person, round).await?)
}

/// `POST /rounds/{code}/publish`.
///
/// # Errors
///
/// A conflict when the evaluation is not the one that was looked at.
pub async fn publish(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, &posted.person.actor, &code).await?;
    let version = posted.fields.get("version").parse().unwrap_or(0);
    let typed = posted.fields.get("code").to_owned();
    let (actor, post) = (&posted.person.actor, app.post());
    match actions::evaluation::publish(&mut tx, actor, &round, version, &typed, &post, app.clock.now()).await {
        Ok(()) => {
            tx.commit().await?;
            app.wake_mail();
            Ok(go(&format!("/rounds/{code}"), "published"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let mut page = publish_page(&app, &mut tx, &posted.person, round).await?;
            page.typed = typed;
            page.errors = Errors::of(app.words, &errors);
            unprocessable(&page)
        }
    }
}

/// `GET /rounds/{code}/package.json`: the whole package for the organiser, the
/// participants' for a laboratory after publication.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory before publication.
pub async fn package(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let (round, participant) = seen_round(&mut tx, &person.actor, &code).await?;
    person.actor.may_see_scores(&round, participant.is_some())?;
    let (evaluated, _) = shown(&app, &mut tx, &round).await?.ok_or(Error::NotFound)?;
    let package =
        if person.actor.may_review().is_ok() { evaluated.package.to_json() } else { evaluated.shared.package.clone() };
    Ok(download("application/json", &format!("{}-package.json", round.code), package))
}
