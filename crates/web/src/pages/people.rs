//! The people of a laboratory.

use super::{Frame, go, ok, unprocessable};
use crate::actions::Refused;
use crate::actions::people::{self as actions, InviteForm, rights_field};
use crate::error::Error;
use crate::extract::{Path, Person, Posted};
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::access::Rights;
use roundel_domain::field::FieldErrors;
use roundel_domain::id::{LaboratoryId, UserId};
use roundel_store::{Tx, audit, people};
use uuid::Uuid;

/// The newest lines of the record that the page shows.
const MOST_EVENTS: usize = 100;

/// A choice of rights.
struct Pick {
    value: &'static str,
    text: String,
    chosen: bool,
}

fn picks(f: &Frame, prefix: &str, chosen: &str) -> Vec<Pick> {
    let pick = |rights: Rights| Pick {
        value: rights.word(),
        text: f.t(&format!("{prefix}-{}", rights.word())),
        chosen: rights.word() == chosen,
    };
    Rights::ALL.map(pick).into()
}

/// A person with access.
struct Line {
    id: String,
    name: String,
    email: String,
    rights: String,
    since: String,
    /// Whether it is the person who looks.
    own: bool,
    /// Name and id of the choice of rights.
    field: String,
    picks: Vec<Pick>,
    error: String,
}

/// Somebody who is invited.
struct Open {
    email: String,
    rights: String,
    by: String,
    until: String,
}

/// A person whose access ended.
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
    by_mail: bool,
}

#[derive(Template)]
#[template(path = "people/list.html")]
struct PeoplePage {
    f: Frame,
    once: Option<Once>,
    lines: Vec<Line>,
    open: Vec<Open>,
    former: Vec<Former>,
    /// Whether the person may change anything here.
    manages: bool,
    /// Whether a second person is to send.
    second: bool,
    /// Whether there is somebody for that.
    second_possible: bool,
    email: String,
    rights: Vec<Pick>,
    by_mail: bool,
    events: Vec<EventLine>,
    errors: Errors,
}

/// What a form of the page was given.
#[derive(Default)]
struct Given<'a> {
    form: InviteForm,
    /// The rights that were chosen for a person.
    rights: Option<(UserId, &'a str)>,
    errors: FieldErrors,
}

async fn page(app: &App, tx: &mut Tx, person: &Person, given: Given<'_>) -> Result<PeoplePage, Error> {
    let laboratory = person.actor.may_read_own()?;
    let f = Frame::of(app, person);
    let all = people::of_laboratory(tx, laboratory).await?;
    let named = |field: &str| {
        let of_person = all.iter().find(|line| rights_field(line.id) == field).map(|line| line.name.clone());
        of_person.or_else(|| match field {
            "email" => Some(f.t("people-email")),
            "rights" => Some(f.t("people-rights")),
            _ => None,
        })
    };
    let errors = Errors::named(app.words, &given.errors, named);
    let lines = all.iter().filter(|line| line.is_active()).map(|line| {
        let field = rights_field(line.id);
        let chosen = match given.rights {
            Some((user, word)) if user == line.id => word,
            _ => line.rights().word(),
        };
        Line {
            id: line.id.to_string(),
            name: line.name.clone(),
            email: line.email.clone(),
            rights: f.t(&format!("rights-{}", line.rights().word())),
            since: show::day(line.created_at(), "UTC"),
            own: line.id == person.actor.user(),
            picks: picks(&f, "rights", chosen),
            error: errors.of_field(&field).to_owned(),
            field,
        }
    });
    let lines = lines.collect();
    let former = all
        .iter()
        .filter_map(|line| Some(Former { name: line.name.clone(), until: show::day(line.ended_at()?, "UTC") }))
        .collect();
    let open = people::invited(tx, laboratory, app.clock.now())
        .await?
        .into_iter()
        .map(|open| Open {
            rights: f.t(&format!("rights-{}", open.rights().word())),
            until: show::day(open.until(), "UTC"),
            by: open.inviter_name.unwrap_or_default(),
            email: open.email,
        })
        .collect();
    Ok(PeoplePage {
        once: None,
        lines,
        open,
        former,
        manages: person.actor.may_manage_people().is_ok(),
        second: people::wants_second(tx, laboratory).await?,
        second_possible: actions::can_be_second(&all),
        rights: picks(&f, "people-new-rights", &given.form.rights),
        email: given.form.email,
        by_mail: app.post().is_set_up(),
        events: events(&f, tx, laboratory).await?,
        errors,
        f,
    })
}

/// What was done to the people of a laboratory, newest first.
async fn events(f: &Frame, tx: &mut Tx, laboratory: LaboratoryId) -> Result<Vec<EventLine>, Error> {
    let lines = audit::of(tx, &laboratory.to_string()).await?;
    let line = |line: &audit::Line| EventLine {
        at: show::instant(line.at(), "UTC"),
        what: f.t1(&format!("event-{}", line.event), "detail", &line.detail),
        actor: line.actor.clone().unwrap_or_default(),
    };
    Ok(lines.iter().rev().take(MOST_EVENTS).map(line).collect())
}

/// The page with what is wrong, or the error.
async fn refused(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    refused: Refused,
    given: Given<'_>,
) -> Result<Response, Error> {
    match refused {
        Refused::Error(error) => Err(error),
        Refused::Fields(errors) => unprocessable(&page(app, tx, person, Given { errors, ..given }).await?),
    }
}

/// `GET /people`.
///
/// # Errors
///
/// A refusal for the organiser.
pub async fn list(State(app): State<App>, person: Person) -> Result<Response, Error> {
    ok(&page(&app, &mut app.db.read().await?, &person, Given::default()).await?)
}

/// `POST /people`: invites somebody and shows the link this once.
///
/// # Errors
///
/// A refusal for who may not manage people.
pub async fn invite(State(app): State<App>, posted: Posted) -> Result<Response, Error> {
    let fields = &posted.fields;
    let form = InviteForm { email: fields.get("email").to_owned(), rights: fields.get("rights").to_owned() };
    let person = &posted.person;
    let post = app.post();
    let mut tx = app.db.write().await?;
    match actions::invite(&mut tx, &person.actor, &form, &post, app.clock.now()).await {
        Ok(made) => {
            let mut page = page(&app, &mut tx, person, Given::default()).await?;
            tx.commit().await?;
            app.wake_mail();
            page.once = Some(Once {
                address: format!("{}/invitations/{}", app.public_url, made.token),
                until: show::day(made.until, "UTC"),
                by_mail: post.is_set_up(),
                email: made.email,
            });
            ok(&page)
        }
        Err(error) => refused(&app, &mut tx, person, error, Given { form, ..Given::default() }).await,
    }
}

/// `POST /people/withdraw`: takes an invitation back.
///
/// # Errors
///
/// [`Error::NotFound`] for an address that is not invited.
pub async fn withdraw(State(app): State<App>, posted: Posted) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    actions::withdraw(&mut tx, &posted.person.actor, posted.fields.get("email"), app.clock.now()).await?;
    tx.commit().await?;
    Ok(go("/people", "invitation-withdrawn"))
}

/// `POST /people/{id}/rights`.
///
/// # Errors
///
/// [`Error::NotFound`] for somebody of another laboratory.
pub async fn set_rights(State(app): State<App>, Path(id): Path<Uuid>, posted: Posted) -> Result<Response, Error> {
    let user = UserId(id);
    let word = posted.fields.get("rights");
    let mut tx = app.db.write().await?;
    match actions::set_rights(&mut tx, &posted.person.actor, user, word, app.clock.now()).await {
        Ok(()) => {
            tx.commit().await?;
            Ok(go("/people", "rights-changed"))
        }
        Err(error) => {
            let given = Given { rights: Some((user, word)), ..Given::default() };
            refused(&app, &mut tx, &posted.person, error, given).await
        }
    }
}

#[derive(Template)]
#[template(path = "people/end.html")]
struct EndPage {
    f: Frame,
    id: String,
    name: String,
    email: String,
    own: bool,
}

/// `GET /people/{id}/end`: says what ending access does.
///
/// # Errors
///
/// [`Error::NotFound`] for somebody of another laboratory.
pub async fn ask_end(State(app): State<App>, Path(id): Path<Uuid>, person: Person) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    match actions::endable(&mut tx, &person.actor, UserId(id)).await {
        Ok(found) => ok(&EndPage {
            f: Frame::of(&app, &person),
            id: found.id.to_string(),
            own: found.id == person.actor.user(),
            name: found.name,
            email: found.email,
        }),
        Err(error) => refused(&app, &mut tx, &person, error, Given::default()).await,
    }
}

/// `POST /people/{id}/end`.
///
/// # Errors
///
/// [`Error::NotFound`] for somebody of another laboratory.
pub async fn end(State(app): State<App>, Path(id): Path<Uuid>, posted: Posted) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    match actions::end(&mut tx, &posted.person.actor, UserId(id), app.clock.now()).await {
        Ok(()) => {
            tx.commit().await?;
            Ok(go("/people", "access-ended"))
        }
        Err(error) => refused(&app, &mut tx, &posted.person, error, Given::default()).await,
    }
}

/// `POST /people/second`: whether a second person is to send.
///
/// # Errors
///
/// A refusal for who may not manage people.
pub async fn second(State(app): State<App>, posted: Posted) -> Result<Response, Error> {
    let wanted = posted.fields.get("second") == "yes";
    let mut tx = app.db.write().await?;
    match actions::want_second(&mut tx, &posted.person.actor, wanted, app.clock.now()).await {
        Ok(()) => {
            tx.commit().await?;
            Ok(go("/people", if wanted { "second-on" } else { "second-off" }))
        }
        Err(error) => refused(&app, &mut tx, &posted.person, error, Given::default()).await,
    }
}
