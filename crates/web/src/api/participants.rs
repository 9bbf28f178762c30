//! Laboratories of a round.

use super::caller::Caller;
use super::change::{Begun, Change, File, KeyHeader};
use super::design::Taken;
use super::openapi::{Changing, Looking};
use super::problem::Refusal;
use super::{Answer, Path, done, json};
use crate::actions::{self, look_ups};
use crate::pages::organised_round;
use crate::state::App;
use axum::extract::State;
use axum::http::StatusCode;
use roundel_domain::import;
use roundel_store::participants;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A laboratory of a round.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct ParticipantView {
    /// Its code in this round.
    pub participant: String,
    /// Its name.
    pub name: String,
    /// Where its invitation goes.
    pub email: String,
    /// The organisation that it belongs to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub organisation: Option<String>,
    /// People of it with an account.
    pub people: i64,
    /// Until when an invitation is open.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    pub invited_until: Option<String>,
}

/// The laboratories of a round.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct ParticipantList {
    /// The laboratories, by name.
    pub participants: Vec<ParticipantView>,
}

/// The laboratories of a round and their codes (organiser). The record of the
/// round keeps that they were asked for.
#[utoipa::path(get, path = "/rounds/{code}/participants", tag = "participants",
    params(("code" = String, Path, description = "Code of the round")),
    responses((status = 200, body = ParticipantList, description = "Laboratories"), Looking))]
pub async fn list(State(app): State<App>, caller: Caller, Path(code): Path<String>) -> Answer {
    // Not only a look: names beside codes are told, and the record keeps it.
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, &caller.actor, &code).await?;
    let now = app.clock.now();
    look_ups::note_list(&mut tx, &caller.actor, &round, "list of participants, by program", now).await?;
    let participants = participants::enrolled(&mut tx, round.id)
        .await?
        .into_iter()
        .map(|line| ParticipantView {
            invited_until: line.invited_until(now).map(|until| until.to_string()),
            participant: line.code,
            name: line.name,
            email: line.email,
            organisation: line.organisation,
            people: line.people,
        })
        .collect();
    tx.commit().await?;
    Ok(json(StatusCode::OK, &ParticipantList { participants }))
}

/// A laboratory.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LaboratoryBody {
    /// Its name.
    #[schema(max_length = 1000)]
    pub name: String,
    /// Where its invitation goes.
    #[schema(max_length = 1000, example = "results@laboratory.example")]
    pub email: String,
    /// The organisation that it belongs to: of one organisation, one result
    /// counts in a consensus.
    #[serde(default)]
    #[schema(max_length = 1000)]
    pub organisation: String,
}

/// Laboratories to be enrolled.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LaboratoriesBody {
    /// The laboratories.
    #[schema(min_items = 1, max_items = 5000)]
    pub participants: Vec<LaboratoryBody>,
}

/// Laboratories, in either form.
enum Sent {
    List(LaboratoriesBody),
    File(import::File),
}

/// Enrols laboratories in a round that is being set up, all or none; each gets a
/// random code (organiser).
#[utoipa::path(post, path = "/rounds/{code}/participants", tag = "participants",
    request_body(content((LaboratoriesBody = "application/json"), (File = "text/csv"), (File = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"))),
    params(("code" = String, Path, description = "Code of the round"), KeyHeader),
    responses((status = 201, body = Taken, description = "They are enrolled"), Changing))]
pub async fn enrol(State(app): State<App>, Path(code): Path<String>, change: Change) -> Answer {
    let actor = &change.caller.actor;
    let now = app.clock.now();
    actor.may_organise()?;
    let sent: Sent = if change.is_json() { Sent::List(change.json()?) } else { Sent::File(change.file().await?) };
    let mut once = match change.once(&app).await? {
        Begun::New(once) => once,
        Begun::Known(answer) => return Ok(answer),
    };
    let round = organised_round(&mut once.tx, actor, &code).await?;
    let count = match sent {
        Sent::File(file) => actions::laboratories::import(&mut once.tx, actor, &round, &file, now).await?,
        Sent::List(body) => {
            let forms: Vec<[String; 3]> =
                body.participants.into_iter().map(|lab| [lab.name, lab.email, lab.organisation]).collect();
            let enrolled = actions::laboratories::enrol_all(&mut once.tx, actor, &round, &forms, now).await;
            enrolled
                .map_err(|refused| Refusal::of(refused, |field| format!("/participants/{}", field.replace('.', "/"))))?
        }
    };
    once.end(StatusCode::CREATED, "", &Taken { count }).await
}

/// Ends an enrolment in a round that has not opened (organiser).
#[utoipa::path(delete, path = "/rounds/{code}/participants/{participant}", tag = "participants",
    params(("code" = String, Path, description = "Code of the round"), ("participant" = String, Path, description = "Code of the laboratory")),
    responses((status = 204, description = "It is gone"), Changing))]
pub async fn remove(
    State(app): State<App>,
    Path((code, participant)): Path<(String, String)>,
    change: Change,
) -> Answer {
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, &change.caller.actor, &code).await?;
    actions::laboratories::remove(&mut tx, &change.caller.actor, &round, &participant, app.clock.now()).await?;
    tx.commit().await?;
    Ok(done())
}

/// Whom to invite.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct InvitationBody {
    /// Code of one laboratory; all without an account and an open invitation
    /// when it is left out.
    #[serde(default)]
    #[schema(max_length = 200)]
    pub participant: String,
}

/// An invitation's link.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct InvitationLink {
    /// Code of the laboratory.
    pub participant: String,
    /// Its name.
    pub name: String,
    /// Where the link is to go.
    pub email: String,
    /// The link, which is told this once.
    #[schema(format = "uri")]
    pub link: String,
}

/// Links of invitations.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct InvitationList {
    /// The links, by name of the laboratory.
    pub invitations: Vec<InvitationLink>,
}

/// Makes links for laboratories without an account, to be sent to them; earlier
/// links of the same laboratory end (organiser).
///
/// It takes no key: links are secrets and are not kept, so that asking again
/// makes new ones.
#[utoipa::path(post, path = "/rounds/{code}/invitations", tag = "participants", request_body = InvitationBody,
    params(("code" = String, Path, description = "Code of the round")),
    responses((status = 201, body = InvitationList, description = "They are made"), Changing))]
pub async fn invite(State(app): State<App>, Path(code): Path<String>, change: Change) -> Answer {
    let actor = &change.caller.actor;
    actor.may_organise()?;
    let body: InvitationBody = change.json()?;
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, actor, &code).await?;
    look_ups::note_list(&mut tx, actor, &round, "links of invitations, by program", app.clock.now()).await?;
    let invitations = actions::laboratories::invite(&mut tx, actor, &round, &body.participant, app.clock.now())
        .await?
        .into_iter()
        .map(|made| InvitationLink {
            link: format!("{}/invitations/{}", app.public_url, made.token),
            participant: made.code,
            name: made.name,
            email: made.email,
        })
        .collect();
    tx.commit().await?;
    Ok(json(StatusCode::CREATED, &InvitationList { invitations }))
}
