//! Deciding what follows from the study of an item.

use super::items::{Shown, measurand_of, shown, studied, topic_key};
use super::{Frame, evaluating_round, go, item_words, ok, unprocessable};
use crate::actions::Refused;
use crate::actions::evaluation::MeasurandDecision;
use crate::actions::items;
use crate::error::Error;
use crate::extract::{Path, Person, Posted};
use crate::show::Errors;
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_documents::number;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::judgement::{Kind, Topic};
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::round::Round;
use roundel_store::{Tx, rounds};

#[derive(Template)]
#[template(path = "items/decide.html")]
struct DecidePage {
    f: Frame,
    round: Round,
    item: Item,
    measurand: Measurand,
    topic: &'static str,
    heading: String,
    verdict: Shown,
    sentence: String,
    kinds: Vec<(&'static str, String, String)>,
    /// The uncertainty or standard deviation that the study offers.
    offered: String,
    kind: String,
    number: String,
    reason: String,
    errors: Errors,
}

/// The topic of an address.
fn topic_of(word: &str) -> Result<Topic, Error> {
    Topic::of(word).filter(|topic| matches!(topic, Topic::Homogeneity | Topic::Stability)).ok_or(Error::NotFound)
}

async fn decide_page(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    round: Round,
    (item, measurand): (Item, Measurand),
    topic: Topic,
) -> Result<DecidePage, Error> {
    let items = rounds::items(tx, round.id).await?;
    let all = std::slice::from_ref(&measurand);
    let mut found = studied(app, tx, &person.actor, &round, (&items, all)).await?;
    let studied = found.remove(&measurand.position).ok_or(Error::NotFound)?;
    let f = Frame::of(app, person);
    let name = f.t2("measurand-name", "analyte", &measurand.analyte, "item", &item.label);
    let study = item_words::Study { f: &f, name: &name, unit: &measurand.unit, sigma: studied.sigma };
    let (sentence, offered) = match topic {
        Topic::Homogeneity => studied.homogeneity.as_ref().map(|report| {
            let units = studied.known.homogeneity.last().map_or(0, |kept| kept.content.units.len());
            (item_words::homogeneity(&study, report, units).sentence, report.offered_uncertainty())
        }),
        _ => studied.stability.as_ref().zip(studied.known.stability.last()).map(|(report, kept)| {
            let offered = report.conditions.iter().map(|c| c.offered_uncertainty()).fold(0.0, f64::max);
            let words = item_words::stability(&study, report, &kept.content, &round);
            (words.sentence, Some(offered))
        }),
    }
    .unwrap_or_default();
    let current = studied.known.decided(topic).map(|kept| kept.content.clone());
    let kinds = topic
        .kinds()
        .iter()
        .map(|kind| {
            let (text, hint) = kind_keys(*kind);
            (kind.word(), f.t(text), f.t(hint))
        })
        .collect();
    Ok(DecidePage {
        heading: f.t2("item-decide-title", "topic", f.t(topic_key(topic)), "name", &name),
        verdict: shown(&f, studied.verdict(topic)),
        topic: topic.word(),
        sentence,
        kinds,
        offered: offered.filter(|u| *u > 0.0).map(|u| number::significant(u, 2)).unwrap_or_default(),
        kind: current.as_ref().map(|judgement| judgement.kind.word().to_owned()).unwrap_or_default(),
        number: current.as_ref().and_then(|j| j.number.as_ref()).map(ToString::to_string).unwrap_or_default(),
        reason: String::new(),
        errors: Errors::default(),
        f,
        round,
        item,
        measurand,
    })
}

fn kind_keys(kind: Kind) -> (&'static str, &'static str) {
    match kind {
        Kind::AsPlanned => ("item-kind-as-planned", "item-kind-as-planned-hint"),
        Kind::AddUncertainty => ("item-kind-add-uncertainty", "item-kind-add-uncertainty-hint"),
        Kind::AddSd => ("item-kind-add-sd", "item-kind-add-sd-hint"),
        Kind::InformationOnly => ("item-kind-information", "item-kind-information-hint"),
        Kind::NotScored | Kind::Consent => ("item-kind-not-scored", "item-kind-not-scored-hint"),
    }
}

/// `GET /rounds/{code}/items/{label}/{position}/decide/{topic}`.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory; a refusal for a reviewer.
pub async fn ask(
    State(app): State<App>,
    person: Person,
    Path((code, label, position, topic)): Path<(String, String, i64, String)>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = evaluating_round(&mut tx, &person.actor, &code).await?;
    let topic = topic_of(&topic)?;
    let found = measurand_of(&mut tx, &round, &label, position).await?;
    ok(&decide_page(&app, &mut tx, &person, round, found, topic).await?)
}

/// `POST /rounds/{code}/items/{label}/{position}/decide/{topic}`.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory; a refusal for a reviewer; a conflict once
/// the round is published.
pub async fn decide(
    State(app): State<App>,
    Path((code, label, position, topic)): Path<(String, String, i64, String)>,
    posted: Posted,
) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let actor = &posted.person.actor;
    let round = evaluating_round(&mut tx, actor, &code).await?;
    let topic = topic_of(&topic)?;
    let (item, measurand) = measurand_of(&mut tx, &round, &label, position).await?;
    let get = |name: &str| posted.fields.get(name);
    let done = match Kind::of(get("kind")) {
        Some(kind) => {
            let decision = MeasurandDecision { topic, kind, number: get("number"), reason: get("reason") };
            items::decide(&mut tx, actor, &round, &measurand, decision, app.clock.now()).await
        }
        None => {
            let mut errors = FieldErrors::new();
            errors.push("kind", Problem::new("judgement-kind-missing"));
            Err(Refused::Fields(errors))
        }
    };
    match done {
        Ok(()) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/items/{label}/{position}"), "item-decided"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let mut page = decide_page(&app, &mut tx, &posted.person, round, (item, measurand), topic).await?;
            page.kind = get("kind").to_owned();
            page.number = get("number").to_owned();
            page.reason = get("reason").to_owned();
            page.errors = Errors::named(app.words, &errors, |field| {
                Some(app.words.t(match field {
                    "kind" => "item-kind",
                    "number" => "field-number",
                    _ => "item-reason",
                }))
            });
            unprocessable(&page)
        }
    }
}
