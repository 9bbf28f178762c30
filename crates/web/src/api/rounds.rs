//! Rounds for programs.

use super::caller::Caller;
use super::change::{Begun, Change};
use super::openapi::{Changing, Looking};
use super::problem::{Kind, Refusal};
use super::{Answer, Path, Query, json};
use crate::actions;
use crate::pages::{organised_round, seen_round};
use crate::state::App;
use axum::extract::State;
use axum::http::{HeaderValue, StatusCode, header};
use jiff::Timestamp;
use roundel_domain::field::{Problem, shortened};
use roundel_domain::id::RoundId;
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::round::{Round, RoundForm, RoundState};
use roundel_store::{measurands, participants, rounds as store};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

/// How far a round is.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum RoundStep {
    /// Being set up.
    Draft,
    /// Takes results.
    Open,
    /// Takes no more results; its scores are not public.
    Closed,
    /// Its scores can be seen by those they belong to.
    Published,
}

impl RoundStep {
    fn of(round: &Round) -> RoundStep {
        match round.state {
            RoundState::Draft => RoundStep::Draft,
            RoundState::Open { .. } => RoundStep::Open,
            RoundState::Closed { .. } => RoundStep::Closed,
            RoundState::Published { .. } => RoundStep::Published,
        }
    }
}

/// A round.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct RoundLine {
    /// Its code.
    pub code: String,
    /// Its title.
    pub title: String,
    /// Its scheme; may be empty.
    pub scheme: String,
    /// How far it is.
    pub state: RoundStep,
    /// The deadline.
    #[schema(format = DateTime)]
    pub closes_at: String,
    /// The time zone of the deadline, an IANA name.
    pub time_zone: String,
}

impl RoundLine {
    pub(super) fn of(round: &Round) -> RoundLine {
        RoundLine {
            code: round.code.clone(),
            title: round.title.clone(),
            scheme: round.scheme.clone(),
            state: RoundStep::of(round),
            closes_at: round.closes_at.to_string(),
            time_zone: round.time_zone.clone(),
        }
    }
}

/// Rounds, those made last first.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct RoundList {
    /// The rounds.
    pub rounds: Vec<RoundLine>,
    /// Address of the rounds before these; also as `Link` with `rel="next"`.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = "uri")]
    pub next: Option<String>,
}

/// A part of a list.
#[derive(Clone, Debug, Default, Deserialize, IntoParams)]
#[serde(default, deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct Slice {
    /// How many, from 1 to 100; 50 when it is left out.
    #[param(value_type = Option<u8>, minimum = 1, maximum = 100)]
    limit: Option<String>,
    /// Where the slice before ended, as its `next` says.
    #[param(value_type = Option<String>)]
    after: Option<String>,
}

impl Slice {
    const USUAL: i64 = 50;
    const MOST: i64 = 100;

    fn read(&self) -> Result<(i64, Option<RoundId>), Refusal> {
        let bad = |key, seen: &str| {
            let problem = Problem::new(key).with("seen", shortened(seen)).with("most", Self::MOST);
            Refusal::because(Kind::Unreadable, &problem)
        };
        let limit = match &self.limit {
            None => Self::USUAL,
            Some(text) => match text.parse() {
                Ok(limit) if (1..=Self::MOST).contains(&limit) => limit,
                _ => return Err(bad("problem-slice-limit", text)),
            },
        };
        let after = match &self.after {
            None => None,
            Some(text) => Some(RoundId(text.parse::<Uuid>().map_err(|_| bad("problem-slice-after", text))?)),
        };
        Ok((limit, after))
    }
}

/// The rounds that the token may see, those made last first.
///
/// A laboratory sees the rounds that it is enrolled in, once they are open.
#[utoipa::path(get, path = "/rounds", tag = "rounds", params(Slice),
    responses((status = 200, body = RoundList, description = "Rounds"),
        (status = 400, body = super::problem::ProblemDetails, content_type = "application/problem+json",
            description = "Problem: unreadable"), Looking))]
pub async fn list(State(app): State<App>, caller: Caller, Query(slice): Query<Slice>) -> Answer {
    let (limit, after) = slice.read()?;
    let mut tx = app.db.read().await?;
    // One more than is shown tells whether there are others.
    let mut rounds = store::slice(&mut tx, caller.actor.laboratory(), after, limit + 1).await?;
    let more = rounds.len() as i64 > limit;
    rounds.truncate(usize::try_from(limit).unwrap_or_default());
    let last = rounds.last().filter(|_| more);
    let next = last.map(|round| format!("{}{}/rounds?limit={limit}&after={}", app.public_url, super::BASE, round.id));
    let list = RoundList { rounds: rounds.iter().map(RoundLine::of).collect(), next };
    let mut response = json(StatusCode::OK, &list);
    if let Some(next) = &list.next
        && let Ok(link) = HeaderValue::from_str(&format!("<{next}>; rel=\"next\""))
    {
        response.headers_mut().insert(header::LINK, link);
    }
    Ok(response)
}

/// An item of a round.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct ItemLine {
    /// Its label.
    pub label: String,
    /// What it is made of; may be empty.
    pub matrix: String,
}

/// A measurand of a round.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct MeasurandLine {
    /// Its place in the round.
    pub position: i64,
    /// Label of its item.
    pub item: String,
    /// The analyte.
    pub analyte: String,
    /// The unit in which results are given.
    pub unit: String,
    /// What the result is expressed as; may be empty.
    pub expressed_as: String,
    /// Decimals that values are shown with.
    pub decimals: i64,
    /// The most replicate values of a result.
    pub replicates: i64,
    /// The limit of quantification that is asked for, in the unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub required_loq: Option<String>,
}

impl MeasurandLine {
    fn of(measurand: &Measurand, items: &[Item]) -> MeasurandLine {
        MeasurandLine {
            position: measurand.position,
            item: label_of(measurand, items),
            analyte: measurand.analyte.clone(),
            unit: measurand.unit.clone(),
            expressed_as: measurand.expressed_as.clone(),
            decimals: measurand.decimals,
            replicates: measurand.replicates,
            required_loq: measurand.required_loq.as_ref().map(ToString::to_string),
        }
    }
}

/// The label of a measurand's item.
pub(super) fn label_of(measurand: &Measurand, items: &[Item]) -> String {
    items.iter().find(|item| item.id == measurand.item).map(|item| item.label.clone()).unwrap_or_default()
}

/// A round with what it asks for.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct RoundView {
    /// The round.
    #[serde(flatten)]
    pub round: RoundLine,
    /// Instructions for laboratories; may be empty.
    pub instructions: String,
    /// When it was opened.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    pub opened_at: Option<String>,
    /// When it was closed.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    pub closed_at: Option<String>,
    /// When it was published.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    pub published_at: Option<String>,
    /// The laboratory's code in this round; not for the organiser.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub participant: Option<String>,
    /// Its items.
    pub items: Vec<ItemLine>,
    /// Its measurands, in their order.
    pub measurands: Vec<MeasurandLine>,
}

/// A round: its deadline, items and measurands.
#[utoipa::path(get, path = "/rounds/{code}", tag = "rounds", params(("code" = String, Path, description = "Code of the round")),
    responses((status = 200, body = RoundView, description = "The round"), Looking))]
pub async fn get(State(app): State<App>, caller: Caller, Path(code): Path<String>) -> Answer {
    let mut tx = app.db.read().await?;
    let (round, participant) = seen_round(&mut tx, &caller.actor, &code).await?;
    let items = store::items(&mut tx, round.id).await?;
    let measurands = measurands::of_round(&mut tx, round.id).await?;
    let text = |at: Option<Timestamp>| at.map(|at| at.to_string());
    Ok(json(
        StatusCode::OK,
        &RoundView {
            round: RoundLine::of(&round),
            instructions: round.instructions.clone(),
            opened_at: text(round.state.opened_at()),
            closed_at: text(round.state.closed_at()),
            published_at: text(round.state.published().map(|(at, _)| at)),
            participant: participant.map(|participant| participant.code),
            items: items
                .iter()
                .map(|item| ItemLine { label: item.label.clone(), matrix: item.matrix.clone() })
                .collect(),
            measurands: measurands.iter().map(|measurand| MeasurandLine::of(measurand, &items)).collect(),
        },
    ))
}

/// What a round is made from, or its new text.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RoundBody {
    /// Its code: letters, digits, hyphens.
    #[schema(max_length = 200, example = "QT-2027-1")]
    pub code: String,
    /// Its title.
    #[schema(max_length = 1000)]
    pub title: String,
    /// Its scheme.
    #[serde(default)]
    #[schema(max_length = 1000)]
    pub scheme: String,
    /// Date of the deadline.
    #[schema(max_length = 200, example = "2027-03-31")]
    pub closes_on: String,
    /// Time of the deadline, in its zone.
    #[schema(max_length = 200, example = "17:00")]
    pub closes_time: String,
    /// Time zone of the deadline, an IANA name.
    #[schema(max_length = 200, example = "Europe/Amsterdam")]
    pub time_zone: String,
    /// Instructions for laboratories.
    #[serde(default)]
    #[schema(max_length = 20000)]
    pub instructions: String,
}

impl RoundBody {
    fn form(self) -> RoundForm {
        RoundForm {
            code: self.code,
            title: self.title,
            scheme: self.scheme,
            closes_on: self.closes_on,
            closes_time: self.closes_time,
            time_zone: self.time_zone,
            instructions: self.instructions,
        }
    }
}

/// The pointer of a field that has its own name in the body.
pub(super) fn own_name(field: &str) -> String {
    format!("/{field}")
}

/// Something that was made, and where it is.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Made {
    /// The round's code.
    pub code: String,
}

/// Makes a round (organiser).
#[utoipa::path(post, path = "/rounds", tag = "rounds", request_body = RoundBody, params(super::change::KeyHeader),
    responses((status = 201, body = Made, description = "It is made", headers(("location" = String, description = "Its address"))), Changing))]
pub async fn create(State(app): State<App>, change: Change) -> Answer {
    change.caller.actor.may_organise()?;
    let body: RoundBody = change.json()?;
    let mut once = match change.once(&app).await? {
        Begun::New(once) => once,
        Begun::Known(answer) => return Ok(answer),
    };
    let made = actions::rounds::create(&mut once.tx, &change.caller.actor, &body.form(), app.clock.now()).await;
    let code = made.map_err(|refused| Refusal::of(refused, own_name))?;
    once.end(StatusCode::CREATED, &format!("{}/rounds/{code}", super::BASE), &Made { code }).await
}

/// Writes text and deadline of a round that is being set up (organiser).
#[utoipa::path(put, path = "/rounds/{code}", tag = "rounds", request_body = RoundBody,
    params(("code" = String, Path, description = "Code of the round")),
    responses((status = 200, body = Made, description = "It is written"), Changing))]
pub async fn update(State(app): State<App>, Path(code): Path<String>, change: Change) -> Answer {
    change.caller.actor.may_organise()?;
    let body: RoundBody = change.json()?;
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, &change.caller.actor, &code).await?;
    let written = actions::rounds::update(&mut tx, &change.caller.actor, &round, &body.form(), app.clock.now()).await;
    let code = written.map_err(|refused| Refusal::of(refused, own_name))?;
    tx.commit().await?;
    Ok(json(StatusCode::OK, &Made { code }))
}

/// Opens a round: its laboratories see it and may send results (organiser).
#[utoipa::path(post, path = "/rounds/{code}/opening", tag = "rounds",
    params(("code" = String, Path, description = "Code of the round"), super::change::KeyHeader),
    responses((status = 200, body = RoundLine, description = "It is open"), Changing))]
pub async fn open(State(app): State<App>, Path(code): Path<String>, change: Change) -> Answer {
    step(&app, &code, &change, Step::Open).await
}

/// Closes a round whose deadline is over: no more results are taken (organiser).
#[utoipa::path(post, path = "/rounds/{code}/closing", tag = "rounds",
    params(("code" = String, Path, description = "Code of the round"), super::change::KeyHeader),
    responses((status = 200, body = RoundLine, description = "It is closed"), Changing))]
pub async fn close(State(app): State<App>, Path(code): Path<String>, change: Change) -> Answer {
    step(&app, &code, &change, Step::Close).await
}

#[derive(Clone, Copy)]
enum Step {
    Open,
    Close,
}

async fn step(app: &App, code: &str, change: &Change, step: Step) -> Answer {
    let actor = &change.caller.actor;
    actor.may_organise()?;
    let mut once = match change.once(app).await? {
        Begun::New(once) => once,
        Begun::Known(answer) => return Ok(answer),
    };
    let round = organised_round(&mut once.tx, actor, code).await?;
    match step {
        Step::Open => actions::rounds::open(&mut once.tx, actor, &round, app.clock.now()).await?,
        Step::Close => actions::rounds::close(&mut once.tx, actor, &round, app.clock.now()).await?,
    }
    let round = organised_round(&mut once.tx, actor, code).await?;
    once.end(StatusCode::OK, "", &RoundLine::of(&round)).await
}

/// How far a laboratory is. Nothing of what it typed or sent.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct ProgressView {
    /// Its code.
    pub participant: String,
    /// The newest version that it sent; 0 for none.
    pub version: i64,
    /// When that came.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    pub submitted_at: Option<String>,
    /// Whether that was after the deadline.
    pub late: bool,
    /// When a draft was last saved.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    pub drafted_at: Option<String>,
}

/// How far the laboratories are.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct ProgressList {
    /// The laboratories, by code.
    pub participants: Vec<ProgressView>,
}

/// How far each laboratory is, by code, without any result (organiser).
#[utoipa::path(get, path = "/rounds/{code}/progress", tag = "participants", params(("code" = String, Path, description = "Code of the round")),
    responses((status = 200, body = ProgressList, description = "Progress"), Looking))]
pub async fn progress(State(app): State<App>, caller: Caller, Path(code): Path<String>) -> Answer {
    let mut tx = app.db.read().await?;
    let round = organised_round(&mut tx, &caller.actor, &code).await?;
    let participants = participants::progress(&mut tx, round.id)
        .await?
        .into_iter()
        .map(|line| ProgressView {
            version: line.version,
            submitted_at: line.submitted_at().map(|at| at.to_string()),
            late: line.late,
            drafted_at: line.drafted_at().map(|at| at.to_string()),
            participant: line.code,
        })
        .collect();
    Ok(json(StatusCode::OK, &ProgressList { participants }))
}
