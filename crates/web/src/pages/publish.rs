//! Publishing an evaluation, and its data package.

use super::evaluation::{is_stale, newest};
use super::trials::EffectTables;
use super::versions::{Wanted, shown_version};
use super::{Frame, download, go, ok, organised_round, seen_round, unprocessable};
use crate::actions::evaluation::Publishing;
use crate::actions::{self, Refused, accounts, approval};
use crate::error::Error;
use crate::extract::{Path, Person, Posted, Query};
use crate::show::Errors;
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::approval::Standing;
use roundel_domain::decision;
use roundel_domain::evaluation::{ScoreEntry, Signal};
use roundel_domain::round::Round;
use roundel_store::{Tx, evaluations, participants, results};

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
    /// Measurands without an approval that holds.
    unapproved: usize,
    /// Why what is published is corrected; empty for the first publication.
    correction: String,
    /// Classes that change against what is published, and for how many codes.
    classes: usize,
    codes: usize,
    typed: String,
    meaning: String,
    errors: Errors,
}

async fn publish_page(app: &App, tx: &mut Tx, person: &Person, round: Round) -> Result<PublishPage, Error> {
    let heads = evaluations::of_round(tx, round.id).await?;
    let head = heads.first().ok_or_else(|| Error::conflict("conflict-no-evaluation"))?;
    let correction = approval::open(tx, &round).await?;
    if round.is_published() && correction.is_none() {
        return Err(Error::conflict("conflict-published"));
    }
    if is_stale(tx, &round, &heads).await? {
        return Err(Error::conflict("conflict-stale-evaluation"));
    }
    let evaluated = app.evaluations.load(tx, head.id).await?;
    let f = Frame::of(app, person);
    let state = approval::state(tx, &round, &evaluated).await?;
    let impact = match round.state.published() {
        None => None,
        Some((_, published)) => {
            let before = app.evaluations.load(tx, published).await?;
            Some(EffectTables::of(&f, &decision::effect(&before.evaluation, &evaluated.evaluation, &[])))
        }
    };
    let participants = participants::of_round(tx, round.id).await?.len();
    let laboratories = results::newest_of_round(tx, round.id).await?.len();
    let has_class = |entry: &&ScoreEntry| matches!(entry.signal, Signal::None | Signal::Warning | Signal::Action);
    Ok(PublishPage {
        version: head.version,
        laboratories,
        registered: participants - laboratories,
        scored: evaluated.evaluation.scores.iter().filter(has_class).count(),
        excluded: evaluated.package.results.iter().filter(|result| result.exclude.is_some()).count(),
        unapproved: state.map_or(0, |state| state.lines.len() - state.count(Standing::Approved)),
        correction: correction.map(|correction| correction.reason).unwrap_or_default(),
        classes: impact.as_ref().map_or(0, |impact| impact.classes.len()),
        codes: impact.as_ref().map_or(0, |impact| impact.codes),
        typed: String::new(),
        meaning: String::new(),
        errors: Errors::default(),
        round,
        f,
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
    ok(&publish_page(&app, &mut tx, &person, round).await?)
}

/// `POST /rounds/{code}/publish`.
///
/// # Errors
///
/// A conflict when the evaluation is not the one that was looked at, or is not
/// approved.
pub async fn publish(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let actor = &posted.person.actor;
    let fields = &posted.fields;
    let version = fields.get("version").parse().unwrap_or(0);
    let (typed, meaning) = (fields.get("code").to_owned(), fields.get("meaning").to_owned());
    // Refused before a password is asked of who may not publish.
    let round = organised_round(&mut app.db.read().await?, actor, &code).await?;
    let confirmed = accounts::confirm_password(&app, actor, fields.get("password")).await;
    let mut tx = app.db.write().await?;
    let done = match confirmed {
        Err(refused) => Err(refused),
        Ok(()) => {
            let (_, evaluated) = newest(&app, &mut tx, &round).await?;
            let typed = Publishing { version, code: &typed, meaning: &meaning };
            let post = app.post();
            actions::evaluation::publish(&mut tx, actor, &round, &evaluated, typed, &post, app.clock.now()).await
        }
    };
    match done {
        Ok(()) => {
            tx.commit().await?;
            app.wake_mail();
            Ok(go(&format!("/rounds/{code}"), "published"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let mut page = publish_page(&app, &mut tx, &posted.person, round).await?;
            page.typed = typed;
            page.meaning = meaning;
            page.errors = Errors::of(app.words, &errors);
            unprocessable(&page)
        }
    }
}

/// `GET /rounds/{code}/package.json`: the whole package for the organiser, the
/// participants' for a laboratory after publication; of an earlier `version` where one
/// is asked for.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory before publication, and for a version that
/// there is not.
pub async fn package(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    Query(wanted): Query<Wanted>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let (round, participant) = seen_round(&mut tx, &person.actor, &code).await?;
    person.actor.may_see_scores(&round, participant.is_some())?;
    let (evaluated, suffix) = shown_version(&app, &mut tx, &round, &person.actor, wanted.number()?).await?;
    let package = if person.actor.may_review().is_ok() {
        evaluated.package.to_json()
    } else {
        evaluated.shared().package.clone()
    };
    Ok(download("application/json", &format!("{}-package{suffix}.json", round.code), package))
}
