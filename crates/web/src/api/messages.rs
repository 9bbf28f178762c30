//! Messages by mail.

use super::caller::Caller;
use super::change::{Begun, Change, KeyHeader};
use super::openapi::{Changing, Looking};
use super::problem::{Kind as Refused, Refusal};
use super::rounds::own_name;
use super::{Answer, Path, Query, json};
use crate::actions;
use crate::pages::organised_round;
use crate::state::App;
use axum::extract::State;
use axum::http::StatusCode;
use roundel_domain::field::{Problem, shortened};
use roundel_domain::id::MessageId;
use roundel_store::outbox::{self, Message};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

/// What to send, and to whom.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MessagesBody {
    /// `invitation`: to laboratories without an account and an open invitation;
    /// `reminder`: to everybody of a laboratory that has sent nothing.
    #[schema(max_length = 200, example = "reminder")]
    pub kind: String,
    /// Code of one laboratory, for an invitation to it alone.
    #[serde(default)]
    #[schema(max_length = 200)]
    pub participant: String,
    /// A second reminder within 24 hours is meant.
    #[serde(default)]
    pub confirmed: bool,
}

/// What was queued.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Queued {
    /// How many messages.
    pub queued: usize,
}

/// Queues invitations or reminders by mail (organiser); a conflict where no mail
/// is set up.
#[utoipa::path(post, path = "/rounds/{code}/messages", tag = "participants", request_body = MessagesBody,
    params(("code" = String, Path, description = "Code of the round"), KeyHeader),
    responses((status = 202, body = Queued, description = "They are queued"), Changing))]
pub async fn queue(State(app): State<App>, Path(code): Path<String>, change: Change) -> Answer {
    let actor = &change.caller.actor;
    actor.may_organise()?;
    let body: MessagesBody = change.json()?;
    let mut once = match change.once(&app).await? {
        Begun::New(once) => once,
        Begun::Known(answer) => return Ok(answer),
    };
    let tx = &mut once.tx;
    let round = organised_round(tx, actor, &code).await?;
    let (post, now) = (app.post(), app.clock.now());
    let only = Some(body.participant.trim()).filter(|code| !code.is_empty());
    let queued = match body.kind.as_str() {
        "invitation" => actions::messages::invite(tx, actor, &round, only, &post, now).await?,
        "reminder" => actions::messages::remind(tx, actor, &round, body.confirmed, &post, now)
            .await
            .map_err(|refused| Refusal::of(refused, own_name))?,
        other => {
            let problem = Problem::new("problem-message-kind").with("seen", shortened(other));
            return Err(Refusal::wrong([("/kind".to_owned(), problem)]));
        }
    };
    let answer = once.end(StatusCode::ACCEPTED, "", &Queued { queued }).await?;
    app.wake_mail();
    Ok(answer)
}

/// How far a message is.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum MessageStep {
    /// To be tried, for the first time or again.
    Waiting,
    /// Taken by the mail server.
    Sent,
    /// Not tried any more.
    GivenUp,
}

/// A message.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct MessageView {
    /// Its name for good.
    #[schema(format = "uuid")]
    pub id: String,
    /// `invitation`, `reminder`, `receipt`, `publication` or `answer`.
    pub kind: String,
    /// Name of the laboratory.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub laboratory: Option<String>,
    /// The address that it goes to.
    pub recipient: String,
    /// Its subject.
    pub subject: String,
    /// How far it is.
    pub state: MessageStep,
    /// When it was queued.
    #[schema(format = DateTime)]
    pub queued_at: String,
    /// When it is tried next.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    pub next_try_at: Option<String>,
    /// When it was sent, or given up.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    pub ended_at: Option<String>,
    /// How often it was tried.
    pub attempts: i64,
    /// What went wrong last.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub last_error: Option<String>,
}

impl MessageView {
    fn of(message: Message) -> MessageView {
        let (state, ended) = match (message.sent_at(), message.given_up_at()) {
            (Some(at), _) => (MessageStep::Sent, Some(at)),
            (None, Some(at)) => (MessageStep::GivenUp, Some(at)),
            (None, None) => (MessageStep::Waiting, None),
        };
        MessageView {
            id: message.id.to_string(),
            kind: message.kind.name().to_owned(),
            state,
            queued_at: message.queued_at().to_string(),
            next_try_at: ended.is_none().then(|| message.next_try_at().to_string()),
            ended_at: ended.map(|at| at.to_string()),
            attempts: message.attempts,
            last_error: message.last_error,
            laboratory: message.laboratory,
            recipient: message.recipient,
            subject: message.subject,
        }
    }
}

/// Messages, newest first.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct MessageList {
    /// The messages, at most 100.
    pub messages: Vec<MessageView>,
    /// What to give as `after` for those before these.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = "uuid")]
    pub next: Option<String>,
}

/// A part of the messages.
#[derive(Clone, Debug, Default, Deserialize, IntoParams)]
#[serde(default, deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct After {
    /// The `next` of the part before.
    #[param(value_type = Option<String>)]
    after: Option<String>,
}

/// Messages of one answer.
const MOST: usize = 100;

/// What was sent by mail, what waits and what failed (organiser).
#[utoipa::path(get, path = "/rounds/{code}/messages", tag = "participants",
    params(("code" = String, Path, description = "Code of the round"), After),
    responses((status = 200, body = MessageList, description = "Messages"),
        (status = 400, body = super::problem::ProblemDetails, content_type = "application/problem+json",
            description = "Problem: unreadable"), Looking))]
pub async fn list(
    State(app): State<App>,
    caller: Caller,
    Path(code): Path<String>,
    Query(part): Query<After>,
) -> Answer {
    let mut tx = app.db.read().await?;
    let round = organised_round(&mut tx, &caller.actor, &code).await?;
    let unknown = |seen: &str| {
        let problem = Problem::new("problem-slice-after").with("seen", shortened(seen));
        Refusal::because(Refused::Unreadable, &problem)
    };
    let after = match &part.after {
        None => None,
        Some(text) => Some(MessageId(text.parse::<Uuid>().map_err(|_| unknown(text))?)),
    };
    let mut messages = outbox::of_round(&mut tx, round.id, after, MOST as i64 + 1).await?;
    let more = messages.len() > MOST;
    messages.truncate(MOST);
    let next = messages.last().filter(|_| more).map(|message| message.id.to_string());
    let messages = messages.into_iter().map(MessageView::of).collect();
    Ok(json(StatusCode::OK, &MessageList { messages, next }))
}
