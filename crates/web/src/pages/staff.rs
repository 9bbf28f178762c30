//! The organiser's people, and the way in for those who are invited.

use super::account::with_session;
use super::{Frame, go, ok, unprocessable};
use crate::actions::staff::{self as actions, InviteForm};
use crate::actions::{Refused, accounts};
use crate::error::Error;
use crate::extract::{OpenForm, Path, Person, Posted, Visitor};
use crate::secret;
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::access::Duty;
use roundel_domain::id::UserId;
use roundel_store::{Tx, audit, staff};
use uuid::Uuid;

/// The newest lines of the record that the page shows.
const MOST_EVENTS: usize = 100;

struct Pick {
    value: &'static str,
    text: String,
    hint: String,
    chosen: bool,
}

struct Line {
    id: String,
    name: String,
    email: String,
    duty: String,
    since: String,
    /// Whether it is the person who looks.
    own: bool,
}

struct Open {
    email: String,
    duty: String,
    by: String,
    until: String,
}

struct Former {
    name: String,
    until: String,
}

struct EventLine {
    at: String,
    what: String,
    actor: String,
}

/// A link that was just made.
struct Once {
    email: String,
    address: String,
    until: String,
}

#[derive(Template)]
#[template(path = "people/staff.html")]
struct StaffPage {
    f: Frame,
    once: Option<Once>,
    lines: Vec<Line>,
    open: Vec<Open>,
    former: Vec<Former>,
    /// Whether the person may change anything here.
    manages: bool,
    /// Whether somebody can approve.
    reviewed: bool,
    email: String,
    duties: Vec<Pick>,
    events: Vec<EventLine>,
    errors: Errors,
}

/// The words of a duty.
fn duty_text(f: &Frame, duty: Duty) -> String {
    f.t(&format!("duty-{}", duty.word()))
}

async fn page(app: &App, tx: &mut Tx, person: &Person, form: InviteForm, errors: Errors) -> Result<StaffPage, Error> {
    person.actor.may_review()?;
    let f = Frame::of(app, person);
    let all = staff::all(tx).await?;
    let active = all.iter().filter(|member| member.ended_at().is_none());
    let lines: Vec<Line> = active
        .clone()
        .map(|member| Line {
            id: member.id.to_string(),
            name: member.name.clone(),
            email: member.email.clone(),
            duty: duty_text(&f, member.duty()),
            since: show::day(member.created_at(), "UTC"),
            own: member.id == person.actor.user(),
        })
        .collect();
    let reviewed = active.clone().any(|member| member.duty() == Duty::Reviewer);
    let former = all
        .iter()
        .filter_map(|member| Some(Former { name: member.name.clone(), until: show::day(member.ended_at()?, "UTC") }))
        .collect();
    let open = staff::invited(tx, app.clock.now())
        .await?
        .into_iter()
        .map(|open| Open {
            duty: duty_text(&f, open.duty()),
            until: show::day(open.until(), "UTC"),
            by: open.by,
            email: open.email,
        })
        .collect();
    let pick = |duty: Duty| Pick {
        value: duty.word(),
        text: duty_text(&f, duty),
        hint: f.t(&format!("duty-{}-hint", duty.word())),
        chosen: duty.word() == form.duty,
    };
    let events = audit::of(tx, actions::SUBJECT)
        .await?
        .iter()
        .rev()
        .take(MOST_EVENTS)
        .map(|line| EventLine {
            at: show::instant(line.at(), "UTC"),
            what: f.t1(&format!("event-{}", line.event), "detail", &line.detail),
            actor: line.actor.clone().unwrap_or_default(),
        })
        .collect();
    Ok(StaffPage {
        once: None,
        lines,
        open,
        former,
        manages: person.actor.may_organise().is_ok(),
        reviewed,
        duties: Duty::ALL.map(pick).into(),
        email: form.email,
        events,
        errors,
        f,
    })
}

/// `GET /staff`.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory.
pub async fn list(State(app): State<App>, person: Person) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    ok(&page(&app, &mut tx, &person, InviteForm::default(), Errors::default()).await?)
}

/// `POST /staff`: invites somebody and shows the link this once.
///
/// # Errors
///
/// A refusal for who does not organise.
pub async fn invite(State(app): State<App>, posted: Posted) -> Result<Response, Error> {
    let fields = &posted.fields;
    let form = InviteForm { email: fields.get("email").to_owned(), duty: fields.get("duty").to_owned() };
    let person = &posted.person;
    let mut tx = app.db.write().await?;
    match actions::invite(&mut tx, &person.actor, &form, app.clock.now()).await {
        Ok(made) => {
            let mut page = page(&app, &mut tx, person, InviteForm::default(), Errors::default()).await?;
            tx.commit().await?;
            page.once = Some(Once {
                address: format!("{}/staff-invitations/{}", app.public_url, made.token),
                until: show::day(made.until, "UTC"),
                email: made.email,
            });
            ok(&page)
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let errors = Errors::of(app.words, &errors);
            unprocessable(&page(&app, &mut tx, person, form, errors).await?)
        }
    }
}

/// `POST /staff/withdraw`: takes an invitation back.
///
/// # Errors
///
/// [`Error::NotFound`] for an address that is not invited.
pub async fn withdraw(State(app): State<App>, posted: Posted) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    actions::withdraw(&mut tx, &posted.person.actor, posted.fields.get("email"), app.clock.now()).await?;
    tx.commit().await?;
    Ok(go("/staff", "invitation-withdrawn"))
}

#[derive(Template)]
#[template(path = "people/staff_end.html")]
struct EndPage {
    f: Frame,
    id: String,
    name: String,
    email: String,
    own: bool,
}

/// `GET /staff/{id}/end`: says what ending access does.
///
/// # Errors
///
/// [`Error::NotFound`] for somebody who has no access.
pub async fn ask_end(State(app): State<App>, Path(id): Path<Uuid>, person: Person) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let member = actions::member(&mut tx, &person.actor, UserId(id)).await?;
    let own = member.id == person.actor.user();
    let f = Frame::of(&app, &person);
    ok(&EndPage { f, id: member.id.to_string(), name: member.name, email: member.email, own })
}

/// `POST /staff/{id}/end`.
///
/// # Errors
///
/// [`Error::NotFound`] for somebody who has no access.
pub async fn end(State(app): State<App>, Path(id): Path<Uuid>, posted: Posted) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    match actions::end(&mut tx, &posted.person.actor, UserId(id), app.clock.now()).await {
        Ok(()) => {
            tx.commit().await?;
            Ok(go("/staff", "access-ended"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let errors = Errors::of(app.words, &errors);
            unprocessable(&page(&app, &mut tx, &posted.person, InviteForm::default(), errors).await?)
        }
    }
}

#[derive(Template)]
#[template(path = "account/staff_invitation.html")]
struct InvitationPage {
    f: Frame,
    token: String,
    duty: String,
    hint: String,
    name: String,
    email: String,
    errors: Errors,
}

async fn invitation_page(
    app: &App,
    tx: &mut Tx,
    visitor: &Visitor,
    token: String,
    name: String,
    errors: Errors,
) -> Result<InvitationPage, Error> {
    let found = staff::invitation(tx, &secret::token_hash(&token), app.clock.now()).await?;
    let invitation = found.ok_or_else(|| Error::conflict("conflict-invitation"))?;
    let f = Frame::open(app, visitor);
    let duty = invitation.duty();
    Ok(InvitationPage {
        duty: duty_text(&f, duty),
        hint: f.t(&format!("duty-{}-hint", duty.word())),
        email: invitation.email,
        token,
        name,
        errors,
        f,
    })
}

/// `GET /staff-invitations/{token}`: only looks.
///
/// # Errors
///
/// A conflict for a link that is not open.
pub async fn invitation(
    State(app): State<App>,
    visitor: Visitor,
    Path(token): Path<String>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    ok(&invitation_page(&app, &mut tx, &visitor, token, String::new(), Errors::default()).await?)
}

/// `POST /staff-invitations/{token}`.
///
/// # Errors
///
/// A conflict for a link that is not open.
pub async fn accept(
    State(app): State<App>,
    visitor: Visitor,
    Path(token): Path<String>,
    OpenForm(fields): OpenForm,
) -> Result<Response, Error> {
    let now = app.clock.now();
    let mut tx = app.db.write().await?;
    // What is wrong with the link is said before what is wrong with the form.
    let name = fields.get("name").to_owned();
    let mut page = invitation_page(&app, &mut tx, &visitor, token, name, Errors::default()).await?;
    match actions::accept(&mut tx, &page.token, &page.name, fields.get("password"), now).await {
        Ok(user) => {
            let session = accounts::begin_session(&mut tx, user, now).await?;
            tx.commit().await?;
            Ok(with_session(&app, &session, go("/rounds", "welcome")))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            page.errors = Errors::of(app.words, &errors);
            unprocessable(&page)
        }
    }
}
