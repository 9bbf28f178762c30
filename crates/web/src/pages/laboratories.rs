//! The laboratories of a round, their codes and invitations.

use super::{BadRow, Frame, bad_rows, go, ok, organised_round, unprocessable};
use crate::actions::design::FileRefused;
use crate::actions::{self, Refused, look_ups};
use crate::error::Error;
use crate::extract::{Path, Person, Posted, Upload};
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::laboratory::NewLaboratory;
use roundel_domain::round::Round;
use roundel_store::Tx;
use roundel_store::outbox::{self, Kind};
use roundel_store::participants::{self, Enrolled};

struct Line {
    /// What the forms carry: the code stands nowhere beside the name.
    id: String,
    name: String,
    email: String,
    organisation: String,
    account: String,
    /// Whether a link can be made to copy.
    invitable: bool,
    /// Whether its invitation can be sent by mail.
    sendable: bool,
}

#[derive(Clone, Debug, Default)]
struct NewForm {
    name: String,
    email: String,
    organisation: String,
}

#[derive(Clone, Debug, Default)]
struct Wanted {
    code: String,
    reason: String,
}

struct Link {
    laboratory: String,
    email: String,
    address: String,
}

#[derive(Template)]
#[template(path = "rounds/laboratories.html")]
struct LaboratoriesPage {
    f: Frame,
    round: Round,
    lines: Vec<Line>,
    uninvited: usize,
    form: NewForm,
    errors: Errors,
    file: String,
    bad: Vec<BadRow>,
    links: Vec<Link>,
    /// What was typed to look a code up.
    wanted: Wanted,
    /// Codes that were looked up, with names.
    found: Vec<(String, String)>,
    /// Whether invitations can go out by mail.
    by_mail: bool,
}

async fn page(app: &App, tx: &mut Tx, person: &Person, round: Round) -> Result<LaboratoriesPage, Error> {
    let now = app.clock.now();
    let f = Frame::of(app, person);
    let by_mail = app.post().is_set_up();
    let enrolled = participants::enrolled(tx, round.id).await?;
    let waiting = outbox::on_the_way(tx, round.id, Kind::Invitation).await?;
    let waits = |line: &Enrolled| waiting.contains(&line.laboratory);
    let uninvited =
        enrolled.iter().filter(|line| line.people == 0 && line.invited_until(now).is_none() && !waits(line)).count();
    let lines = enrolled
        .iter()
        .map(|line| Line {
            id: line.laboratory.to_string(),
            name: line.name.clone(),
            email: line.email.clone(),
            organisation: line.organisation.clone().unwrap_or_default(),
            account: match (line.people, line.invited_until(now)) {
                (0, _) if waits(line) => f.t("account-queued"),
                (0, None) => f.t("account-none"),
                (0, Some(until)) => f.t1("account-invited", "until", show::day(until, &round.time_zone)),
                (people, _) => f.t1("account-people", "count", people),
            },
            invitable: line.people == 0,
            sendable: line.people == 0 && by_mail && !waits(line),
        })
        .collect();
    Ok(LaboratoriesPage {
        f,
        round,
        lines,
        uninvited,
        form: NewForm::default(),
        errors: Errors::default(),
        file: String::new(),
        bad: Vec::new(),
        links: Vec::new(),
        wanted: Wanted::default(),
        found: Vec::new(),
        by_mail,
    })
}

/// `GET /rounds/{code}/laboratories`.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser.
pub async fn list(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = organised_round(&mut tx, &person.actor, &code).await?;
    ok(&page(&app, &mut tx, &person, round).await?)
}

/// `POST /rounds/{code}/laboratories`.
///
/// # Errors
///
/// A conflict once the round is open.
pub async fn add(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let form = NewForm {
        name: posted.fields.get("name").to_owned(),
        email: posted.fields.get("email").to_owned(),
        organisation: posted.fields.get("organisation").to_owned(),
    };
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, &posted.person.actor, &code).await?;
    let new = NewLaboratory::parse(&form.name, &form.email, &form.organisation);
    let done = match new {
        Ok(new) => {
            let draw = &mut actions::laboratories::random_code;
            actions::laboratories::enrol(&mut tx, &posted.person.actor, &round, &new, draw, app.clock.now()).await
        }
        Err(errors) => Err(Refused::Fields(errors)),
    };
    match done {
        Ok(_) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/laboratories"), "laboratory-enrolled"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let mut page = page(&app, &mut tx, &posted.person, round).await?;
            page.form = form;
            page.errors = Errors::of(app.words, &errors);
            unprocessable(&page)
        }
    }
}

/// `POST /rounds/{code}/laboratories/upload`.
///
/// # Errors
///
/// A conflict once the round is open.
pub async fn upload(State(app): State<App>, Path(code): Path<String>, mut upload: Upload) -> Result<Response, Error> {
    upload.person.actor.may_organise()?;
    let file = upload.read().await?;
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, &upload.person.actor, &code).await?;
    match actions::laboratories::import(&mut tx, &upload.person.actor, &round, &file, app.clock.now()).await {
        Ok(_) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/laboratories"), "laboratories-imported"))
        }
        Err(FileRefused::Error(error)) => Err(error),
        Err(FileRefused::Rows(problems)) => {
            drop(tx);
            let mut tx = app.db.read().await?;
            let mut page = page(&app, &mut tx, &upload.person, round).await?;
            page.file = upload.name;
            page.bad = bad_rows(app.words, &problems);
            unprocessable(&page)
        }
    }
}

/// `POST /rounds/{code}/laboratories/{lab}/remove`.
///
/// # Errors
///
/// A conflict once the round is open.
pub async fn remove(
    State(app): State<App>,
    Path((code, lab)): Path<(String, String)>,
    posted: Posted,
) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, &posted.person.actor, &code).await?;
    let lab = look_ups::code_of(&mut tx, &round, &lab).await?;
    actions::laboratories::remove(&mut tx, &posted.person.actor, &round, &lab, app.clock.now()).await?;
    tx.commit().await?;
    Ok(go(&format!("/rounds/{code}/laboratories"), "laboratory-removed"))
}

/// `POST /rounds/{code}/laboratories/invite`: for one laboratory (field `lab`) or
/// for all without an account or an open invitation, queues invitations (field
/// `by` is `mail`) or makes links and shows them this once.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser.
pub async fn invite(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let now = app.clock.now();
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, &posted.person.actor, &code).await?;
    let one = look_ups::code_of(&mut tx, &round, posted.fields.get("lab")).await?;
    let one = one.as_str();
    if posted.fields.get("by") == "mail" {
        let only = (!one.is_empty()).then_some(one);
        actions::messages::invite(&mut tx, &posted.person.actor, &round, only, &app.post(), now).await?;
        tx.commit().await?;
        app.wake_mail();
        return Ok(go(&format!("/rounds/{code}/laboratories"), "invitations-queued"));
    }
    let links = actions::laboratories::invite(&mut tx, &posted.person.actor, &round, one, now)
        .await?
        .into_iter()
        .map(|made| Link {
            address: format!("{}/invitations/{}", app.public_url, made.token),
            laboratory: made.name,
            email: made.email,
        })
        .collect();
    let mut page = page(&app, &mut tx, &posted.person, round).await?;
    tx.commit().await?;
    page.links = links;
    ok(&page)
}

/// `POST /rounds/{code}/laboratories/look-up`: whose a code is, or all of them.
/// The answer stands on this page once; looking again is recorded again.
///
/// # Errors
///
/// A refusal for everyone but the organiser.
pub async fn look_up(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let fields = &posted.fields;
    let wanted = Wanted { code: fields.get("code").to_owned(), reason: fields.get("reason").to_owned() };
    let actor = &posted.person.actor;
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, actor, &code).await?;
    let answer = look_ups::look_up(&mut tx, actor, &round, &wanted.code, &wanted.reason, app.clock.now()).await;
    let mut page = page(&app, &mut tx, &posted.person, round).await?;
    match answer {
        Ok(found) => {
            tx.commit().await?;
            page.found = found.into_iter().map(|participant| (participant.code, participant.name)).collect();
            page.wanted = wanted;
            ok(&page)
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            page.wanted = wanted;
            page.errors = Errors::of(app.words, &errors);
            unprocessable(&page)
        }
    }
}
