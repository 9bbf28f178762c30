//! The messages of a round: what was sent, what failed; and reminding.

use super::{Frame, go, ok, organised_round, unprocessable};
use crate::actions::{self, Refused};
use crate::error::Error;
use crate::extract::{Path, Person, Posted, Query};
use crate::mail::LINK;
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use jiff::Timestamp;
use roundel_domain::id::MessageId;
use roundel_domain::round::Round;
use roundel_store::Tx;
use roundel_store::outbox::{self, Kind, Message};
use serde::Deserialize;
use uuid::Uuid;

/// Messages on one page.
const SHOWN: usize = 100;

struct Line {
    id: MessageId,
    kind: String,
    laboratory: String,
    recipient: String,
    queued: String,
    state: String,
    /// What went wrong with one that still waits; may be empty.
    error: String,
    given_up: bool,
    subject: String,
    body: String,
}

#[derive(Template)]
#[template(path = "rounds/messages.html")]
struct MessagesPage {
    f: Frame,
    round: Round,
    /// Server and sender, in words; empty where no mail is set up.
    mail: String,
    lines: Vec<Line>,
    /// Where older messages begin.
    older: Option<MessageId>,
    /// Whether newer ones are left out.
    paged: bool,
}

fn kind_word(f: &Frame, kind: Kind) -> String {
    match kind {
        Kind::Invitation => f.t("message-kind-invitation"),
        Kind::Reminder => f.t("message-kind-reminder"),
        Kind::Receipt => f.t("message-kind-receipt"),
        Kind::Correction => f.t("message-kind-correction"),
        Kind::ReportCorrection => f.t("message-kind-report-correction"),
        Kind::Publication => f.t("message-kind-publication"),
        Kind::Colleague => f.t("message-kind-colleague"),
        Kind::Answer => f.t("message-kind-answer"),
        Kind::Withdrawal => f.t("message-kind-withdrawal"),
        Kind::Clarification => f.t("message-kind-clarification"),
        Kind::Deadline => f.t("message-kind-deadline"),
    }
}

fn line(f: &Frame, message: Message, zone: &str, now: Timestamp) -> Line {
    let shown = |at: Timestamp| show::instant(at, zone);
    let error = message.last_error.clone().unwrap_or_default();
    let state = match (message.sent_at(), message.given_up_at()) {
        (Some(at), _) => f.t1("messages-sent", "at", shown(at)),
        (None, Some(at)) => f.t2("messages-given-up", "at", shown(at), "error", &error),
        (None, None) if message.next_try_at() <= now => f.t("messages-waiting"),
        (None, None) => f.t1("messages-waiting-retry", "at", shown(message.next_try_at())),
    };
    let waits = message.sent_at().is_none() && message.given_up_at().is_none();
    Line {
        id: message.id,
        kind: kind_word(f, message.kind),
        queued: shown(message.queued_at()),
        state,
        error: if waits && !error.is_empty() { f.t1("messages-last-error", "error", &error) } else { String::new() },
        given_up: message.given_up_at().is_some(),
        body: message.body.replace(LINK, &f.t("messages-link-place")),
        laboratory: message.laboratory.unwrap_or_default(),
        recipient: message.recipient,
        subject: message.subject,
    }
}

/// Which part of the list is asked for.
#[derive(Debug, Default, Deserialize)]
pub struct Part {
    before: Option<Uuid>,
}

/// `GET /rounds/{code}/messages`.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser.
pub async fn list(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    Query(part): Query<Part>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = organised_round(&mut tx, &person.actor, &code).await?;
    let limit = i64::try_from(SHOWN + 1).unwrap_or(i64::MAX);
    let mut messages = outbox::of_round(&mut tx, round.id, part.before.map(MessageId), limit).await?;
    let more = messages.len() > SHOWN;
    messages.truncate(SHOWN);
    let f = Frame::of(&app, &person);
    let mail =
        app.mail.as_ref().map(|mailer| f.t2("messages-set-up", "host", mailer.host(), "sender", mailer.sender()));
    let now = app.clock.now();
    ok(&MessagesPage {
        mail: mail.unwrap_or_default(),
        older: messages.last().map(|message| message.id).filter(|_| more),
        paged: part.before.is_some(),
        lines: messages.into_iter().map(|message| line(&f, message, &round.time_zone, now)).collect(),
        f,
        round,
    })
}

/// `POST /rounds/{code}/messages`: queues a message (field `message`) again that
/// was given up.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser; a conflict when it was
/// not given up.
pub async fn retry(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, &posted.person.actor, &code).await?;
    let id = MessageId(posted.fields.get("message").parse().map_err(|_| Error::NotFound)?);
    actions::messages::retry(&mut tx, &posted.person.actor, &round, id, &app.post(), app.clock.now()).await?;
    tx.commit().await?;
    app.wake_mail();
    Ok(go(&format!("/rounds/{code}/messages"), "message-queued"))
}

#[derive(Template)]
#[template(path = "rounds/remind.html")]
struct RemindPage {
    f: Frame,
    round: Round,
    people: usize,
    uninvited: usize,
    /// When the last reminder was queued, if a short time ago; else empty.
    recent: String,
    errors: Errors,
}

async fn remind_page(app: &App, tx: &mut Tx, person: &Person, round: Round) -> Result<RemindPage, Error> {
    if !app.post().is_set_up() {
        return Err(Error::conflict("conflict-no-mail"));
    }
    let missing = actions::messages::missing(tx, &round, app.clock.now()).await?;
    Ok(RemindPage {
        f: Frame::of(app, person),
        people: missing.people(),
        uninvited: missing.uninvited(),
        recent: missing.recent.map(|at| show::instant(at, &round.time_zone)).unwrap_or_default(),
        errors: Errors::default(),
        round,
    })
}

/// `GET /rounds/{code}/remind`: says who would be reminded.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser; a conflict when there is
/// nobody to remind.
pub async fn ask_remind(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = organised_round(&mut tx, &person.actor, &code).await?;
    ok(&remind_page(&app, &mut tx, &person, round).await?)
}

/// `POST /rounds/{code}/remind`.
///
/// # Errors
///
/// A conflict when there is nobody to remind.
pub async fn remind(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, &posted.person.actor, &code).await?;
    let confirmed = posted.fields.get("confirm") == "yes";
    let (actor, post) = (&posted.person.actor, app.post());
    match actions::messages::remind(&mut tx, actor, &round, confirmed, &post, app.clock.now()).await {
        Ok(_) => {
            tx.commit().await?;
            app.wake_mail();
            Ok(go(&format!("/rounds/{code}"), "reminded"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let mut page = remind_page(&app, &mut tx, &posted.person, round).await?;
            page.errors = Errors::of(app.words, &errors);
            unprocessable(&page)
        }
    }
}
