//! Evaluating, deciding, publishing; scores and documents.

use super::caller::Caller;
use super::change::{Begun, Change, KeyHeader};
use super::openapi::{Changing, Looking};
use super::problem::Refusal;
use super::rounds::{RoundLine, label_of, own_name};
use super::{Answer, Path, document, json};
use crate::actions::evaluation::Publishing;
use crate::actions::{self, look_ups};
use crate::error::Error;
use crate::evaluated::Evaluated;
use crate::pages::certificates::certificate_file;
use crate::pages::evaluation::{reported_text, score_text, shown};
use crate::pages::scores::{published, published_of};
use crate::pages::{organised_round, seen_round};
use crate::state::App;
use axum::extract::State;
use axum::http::StatusCode;
use roundel_domain::assemble::measurand_id;
use roundel_domain::evaluation::{Detection, ScoreEntry, ScoreKind, Signal};
use roundel_domain::field::Problem;
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::text;
use roundel_store::evaluations::{self, Head};
use roundel_store::{measurands, participants, rounds};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// An evaluation of a round.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct EvaluationHead {
    /// Its number in the round, from 1.
    pub version: i64,
    /// When it was made.
    #[schema(format = DateTime)]
    pub evaluated_at: String,
    /// Who made it.
    pub evaluated_by: String,
    /// SHA-256 of the package that was evaluated, in its canonical form.
    pub package_sha256: String,
    /// SHA-256 of the evaluation's text.
    pub sha256: String,
}

impl EvaluationHead {
    fn of(head: &Head) -> EvaluationHead {
        EvaluationHead {
            version: head.version,
            evaluated_at: head.at().to_string(),
            evaluated_by: head.by.clone(),
            package_sha256: head.package_sha256.clone(),
            sha256: head.sha256.clone(),
        }
    }
}

/// Evaluations.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct EvaluationList {
    /// The evaluations, newest first.
    pub evaluations: Vec<EvaluationHead>,
}

/// The evaluations of a round (organiser).
#[utoipa::path(get, path = "/rounds/{code}/evaluations", tag = "evaluation",
    params(("code" = String, Path, description = "Code of the round")),
    responses((status = 200, body = EvaluationList, description = "Evaluations"), Looking))]
pub async fn list(State(app): State<App>, caller: Caller, Path(code): Path<String>) -> Answer {
    let mut tx = app.db.read().await?;
    let round = organised_round(&mut tx, &caller.actor, &code).await?;
    let heads = evaluations::of_round(&mut tx, round.id).await?;
    Ok(json(StatusCode::OK, &EvaluationList { evaluations: heads.iter().map(EvaluationHead::of).collect() }))
}

/// Evaluates a closed round (organiser).
#[utoipa::path(post, path = "/rounds/{code}/evaluations", tag = "evaluation",
    params(("code" = String, Path, description = "Code of the round"), KeyHeader),
    responses((status = 201, body = EvaluationHead, description = "It is evaluated"), Changing))]
pub async fn evaluate(State(app): State<App>, Path(code): Path<String>, change: Change) -> Answer {
    let actor = &change.caller.actor;
    actor.may_organise()?;
    let mut once = match change.once(&app).await? {
        Begun::New(once) => once,
        Begun::Known(answer) => return Ok(answer),
    };
    let round = organised_round(&mut once.tx, actor, &code).await?;
    let id = actions::evaluation::evaluate(&mut once.tx, actor, &round, app.clock.now()).await?;
    let heads = evaluations::of_round(&mut once.tx, round.id).await?;
    let head = heads.iter().find(|head| head.id == id).ok_or(Error::NotFound)?;
    once.end(StatusCode::CREATED, "", &EvaluationHead::of(head)).await
}

/// The newest evaluation, or the published one (organiser).
#[utoipa::path(get, path = "/rounds/{code}/evaluation", tag = "evaluation",
    params(("code" = String, Path, description = "Code of the round")),
    responses((status = 200, body = Object, content_type = "application/json", description = "The evaluation, `round-evaluation/1`"), Looking))]
pub async fn newest(State(app): State<App>, caller: Caller, Path(code): Path<String>) -> Answer {
    let mut tx = app.db.read().await?;
    let round = organised_round(&mut tx, &caller.actor, &code).await?;
    let (evaluated, _) = shown(&app, &mut tx, &round, &caller.actor).await?.ok_or(Error::NotFound)?;
    Ok(document(evaluated.evaluation.to_json()))
}

/// A decision on a result.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DecisionBody {
    /// Code of the laboratory.
    #[schema(max_length = 200)]
    pub participant: String,
    /// Label of the item.
    #[schema(max_length = 200, example = "A")]
    pub item: String,
    /// The analyte.
    #[schema(max_length = 1000)]
    pub analyte: String,
    /// Leaves the result out of consensus and summary, or takes it back in.
    pub exclude: bool,
    /// Why.
    #[schema(max_length = 2000)]
    pub reason: String,
}

/// A decision as it was written.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Decided {
    /// Code of the laboratory.
    pub participant: String,
    /// Place of the measurand.
    pub position: i64,
    /// Left out, or taken back in.
    pub exclude: bool,
}

/// Writes a decision on a result of a closed round; the number itself is never
/// touched. Evaluations made before do not have it (organiser).
#[utoipa::path(post, path = "/rounds/{code}/decisions", tag = "evaluation", request_body = DecisionBody,
    params(("code" = String, Path, description = "Code of the round"), KeyHeader),
    responses((status = 201, body = Decided, description = "It is written"), Changing))]
pub async fn decide(State(app): State<App>, Path(code): Path<String>, change: Change) -> Answer {
    let actor = &change.caller.actor;
    actor.may_organise()?;
    let body: DecisionBody = change.json()?;
    let mut once = match change.once(&app).await? {
        Begun::New(once) => once,
        Begun::Known(answer) => return Ok(answer),
    };
    let tx = &mut once.tx;
    let round = organised_round(tx, actor, &code).await?;
    let items = rounds::items(tx, round.id).await?;
    let all = measurands::of_round(tx, round.id).await?;
    let measurand = all.iter().find(|m| {
        text::key(&label_of(m, &items)) == text::key(&body.item) && text::key(&m.analyte) == text::key(&body.analyte)
    });
    let laboratories = participants::of_round(tx, round.id).await?;
    let participant = laboratories.iter().find(|p| p.code == body.participant.trim().to_uppercase());
    let unknown = |at: &str| Refusal::wrong([(at.to_owned(), Problem::new("problem-decision-unknown"))]);
    let participant = participant.ok_or_else(|| unknown("/participant"))?;
    let measurand = measurand.ok_or_else(|| unknown("/analyte"))?;
    let decision = actions::evaluation::Decision { exclude: body.exclude, reason: &body.reason };
    let now = app.clock.now();
    let decided = actions::evaluation::decide(tx, actor, &round, participant, measurand, decision, now).await;
    decided.map_err(|refused| Refusal::of(refused, own_name))?;
    let answer = Decided { participant: participant.code.clone(), position: measurand.position, exclude: body.exclude };
    once.end(StatusCode::CREATED, "", &answer).await
}

/// A publication.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PublicationBody {
    /// Number of the evaluation, which must be the newest.
    pub evaluation: i64,
    /// The round's code once more, to confirm.
    #[schema(max_length = 200)]
    pub code: String,
    /// What publishing means, as the person who is responsible says it.
    #[schema(max_length = 2000, example = "Released as final.")]
    pub meaning: String,
    /// The password of the person in whose name it is published: what cannot be
    /// taken back is asked for once more, by program too.
    #[schema(max_length = 1000)]
    pub password: String,
}

/// Publishes the newest evaluation, which a reviewer has approved in all its
/// measurands: each laboratory sees its own scores (organiser).
#[utoipa::path(post, path = "/rounds/{code}/publication", tag = "evaluation", request_body = PublicationBody,
    params(("code" = String, Path, description = "Code of the round"), KeyHeader),
    responses((status = 201, body = RoundLine, description = "It is published"), Changing))]
pub async fn publish(State(app): State<App>, Path(code): Path<String>, change: Change) -> Answer {
    let actor = &change.caller.actor;
    actor.may_organise()?;
    let body: PublicationBody = change.json()?;
    let confirmed = actions::accounts::confirm_password(&app, actor, &body.password).await;
    confirmed.map_err(|refused| Refusal::of(refused, own_name))?;
    let mut once = match change.once(&app).await? {
        Begun::New(once) => once,
        Begun::Known(answer) => return Ok(answer),
    };
    let tx = &mut once.tx;
    let round = organised_round(tx, actor, &code).await?;
    let now = app.clock.now();
    let (_, evaluated) = crate::pages::evaluation::newest(&app, tx, &round).await?;
    let typed = Publishing { version: body.evaluation, code: &body.code, meaning: &body.meaning };
    let published = actions::evaluation::publish(tx, actor, &round, &evaluated, typed, &app.post(), now).await;
    published.map_err(|refused| Refusal::of(refused, own_name))?;
    let round = organised_round(tx, actor, &code).await?;
    let answer = once.end(StatusCode::CREATED, "", &RoundLine::of(&round)).await?;
    app.wake_mail();
    Ok(answer)
}

/// The data package: the whole one for the organiser once there is an evaluation,
/// the participants' for a laboratory after publication. `roundel evaluate` makes
/// the scores from it again.
#[utoipa::path(get, path = "/rounds/{code}/package", tag = "evaluation",
    params(("code" = String, Path, description = "Code of the round")),
    responses((status = 200, body = Object, content_type = "application/json", description = "The package, `round-package/1`"), Looking))]
pub async fn package(State(app): State<App>, caller: Caller, Path(code): Path<String>) -> Answer {
    let mut tx = app.db.read().await?;
    let (round, participant) = seen_round(&mut tx, &caller.actor, &code).await?;
    caller.actor.may_see_scores(&round, participant.is_some())?;
    let (evaluated, _) = shown(&app, &mut tx, &round, &caller.actor).await?.ok_or(Error::NotFound)?;
    let whole = caller.actor.may_organise().is_ok();
    Ok(document(if whole { evaluated.package.to_json() } else { evaluated.shared().package.clone() }))
}

/// What became of a result.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct ScoreView {
    /// Code of the laboratory.
    pub participant: String,
    /// Place of the measurand.
    pub position: i64,
    /// Label of the item.
    pub item: String,
    /// The analyte.
    pub analyte: String,
    /// The unit.
    pub unit: String,
    /// The result as evaluated: the mean of the values, or `<5`.
    pub result: String,
    /// The assigned value; only where it may be shown.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub assigned_value: Option<String>,
    /// Its standard uncertainty.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub standard_uncertainty: Option<String>,
    /// The standard deviation for proficiency assessment.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sigma_pt: Option<String>,
    /// The score that decides: `z`, `z_prime`, `zeta`, `e_n`, or `bound` for the
    /// bound of a "<".
    #[serde(skip_serializing_if = "Option::is_none")]
    pub score_kind: Option<String>,
    /// That score, unrounded.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub score: Option<String>,
    /// That score as it is printed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub printed: Option<String>,
    /// zeta, unrounded, where the laboratory's uncertainty allows it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub zeta: Option<String>,
    /// The class: `none` (acceptable), `warning` (questionable), `action`
    /// (unacceptable), `information_only`, `not_scored`.
    pub signal: String,
    /// Whether the analyte was found, and whether that is right.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub detection: Option<String>,
    /// Why the result was left out of consensus and summary.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub excluded: Option<String>,
    /// With a consensus of fewer than five, nothing is shown that rests on the
    /// results of others.
    pub hidden: bool,
}

/// Scores.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct ScoreList {
    /// The scores, by measurand, then by code.
    pub scores: Vec<ScoreView>,
}

fn number(value: f64) -> String {
    value.to_string()
}

/// The word of a value that is a word in JSON.
fn word(value: &impl Serialize) -> Option<String> {
    serde_json::to_value(value).ok()?.as_str().map(str::to_owned)
}

fn view(evaluated: &Evaluated, m: &Measurand, item: &str, score: &ScoreEntry, show_all: bool) -> ScoreView {
    let mut line = ScoreView {
        participant: score.participant.clone(),
        position: m.position,
        item: item.to_owned(),
        analyte: m.analyte.clone(),
        unit: m.unit.clone(),
        result: reported_text(score),
        assigned_value: None,
        standard_uncertainty: None,
        sigma_pt: None,
        score_kind: None,
        score: None,
        printed: None,
        zeta: None,
        signal: word(&Signal::NotScored).unwrap_or_default(),
        detection: None,
        excluded: None,
        hidden: true,
    };
    let Some((_, outcome)) = evaluated.measurand(&score.measurand) else { return line };
    if !show_all && !evaluated.may_be_shared(&score.measurand) {
        return line;
    }
    line.hidden = false;
    line.assigned_value = outcome.assigned_value.as_ref().map(|value| number(value.value));
    line.standard_uncertainty = outcome.assigned_value.as_ref().map(|value| number(value.standard_uncertainty));
    line.sigma_pt = outcome.sigma_pt.map(number);
    if let Some((kind, value)) = evaluated.deciding(score) {
        line.score_kind = kind_word(kind);
        line.score = Some(number(value));
        line.printed = Some(score_text(evaluated, score));
    }
    line.zeta = score.zeta.map(number);
    line.signal = word(&score.signal).unwrap_or_default();
    line.detection = Some(score.detection).filter(|d| *d != Detection::Detected).and_then(|d| word(&d));
    line.excluded = evaluated.result(&score.participant, &score.measurand).and_then(|result| result.exclude.clone());
    line
}

fn kind_word(kind: ScoreKind) -> Option<String> {
    word(&kind)
}

fn views(evaluated: &Evaluated, items: &[Item], measurands: &[Measurand], only: Option<&str>) -> Vec<ScoreView> {
    let mut lines = Vec::new();
    for m in measurands {
        let item = label_of(m, items);
        let id = measurand_id(&item, &m.analyte);
        let scores = evaluated.scores(&id).filter(|score| only.is_none_or(|only| score.participant == only));
        lines.extend(scores.map(|score| view(evaluated, m, &item, score, only.is_none())));
    }
    lines
}

/// The scores of the token's laboratory after publication; all for the organiser
/// once there is an evaluation.
#[utoipa::path(get, path = "/rounds/{code}/scores", tag = "evaluation",
    params(("code" = String, Path, description = "Code of the round")),
    responses((status = 200, body = ScoreList, description = "Scores"), Looking))]
pub async fn scores(State(app): State<App>, caller: Caller, Path(code): Path<String>) -> Answer {
    let mut tx = app.db.read().await?;
    let scores = if caller.actor.laboratory().is_some() {
        let on = published(&app, &mut tx, &caller.actor, &code).await?;
        views(&on.evaluated, &on.items, &on.measurands, Some(&on.participant.code))
    } else {
        let round = organised_round(&mut tx, &caller.actor, &code).await?;
        let (evaluated, _) = shown(&app, &mut tx, &round, &caller.actor).await?.ok_or(Error::NotFound)?;
        let items = rounds::items(&mut tx, round.id).await?;
        let all = measurands::of_round(&mut tx, round.id).await?;
        views(&evaluated, &items, &all, None)
    };
    Ok(json(StatusCode::OK, &ScoreList { scores }))
}

/// The certificate of the token's laboratory, after publication.
#[utoipa::path(get, path = "/rounds/{code}/certificate", tag = "evaluation",
    params(("code" = String, Path, description = "Code of the round")),
    responses((status = 200, body = super::change::File, content_type = "application/pdf", description = "The certificate"), Looking))]
pub async fn certificate(State(app): State<App>, caller: Caller, Path(code): Path<String>) -> Answer {
    let on = published(&app, &mut app.db.read().await?, &caller.actor, &code).await?;
    Ok(certificate_file(&app, on).await?)
}

/// The certificate of a laboratory, after publication (organiser).
#[utoipa::path(get, path = "/rounds/{code}/participants/{participant}/certificate", tag = "evaluation",
    params(("code" = String, Path, description = "Code of the round"), ("participant" = String, Path, description = "Code of the laboratory")),
    responses((status = 200, body = super::change::File, content_type = "application/pdf", description = "The certificate"), Looking))]
pub async fn certificate_of(
    State(app): State<App>,
    caller: Caller,
    Path((code, participant)): Path<(String, String)>,
) -> Answer {
    let on = published_of(&app, &mut app.db.read().await?, &caller.actor, &code, &participant).await?;
    look_ups::note_document(&app, &caller.actor, &on.round, &on.participant.code, "certificate, by program").await?;
    Ok(certificate_file(&app, on).await?)
}
