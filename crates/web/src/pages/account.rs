//! Set-up, signing in and out, invitations.

use super::{Frame, entry, go, ok, render, unprocessable};
use crate::actions::Refused;
use crate::actions::accounts::{self, SESSION_LASTS, SetupForm};
use crate::error::{self, Error};
use crate::extract::{COOKIE, Fields, OpenForm, Path, Posted, Query, Visitor, session_token};
use crate::secret;
use crate::show::Errors;
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use roundel_domain::access::Actor;
use roundel_domain::field::MAX_EMAIL;
use roundel_store::accounts as store;
use roundel_store::installation;
use serde::Deserialize;

#[derive(Template)]
#[template(path = "account/welcome.html")]
struct WelcomePage {
    f: Frame,
}

/// `GET /`.
///
/// # Errors
///
/// What the database says.
pub async fn home(State(app): State<App>, visitor: Visitor) -> Result<Response, Error> {
    if visitor.session.is_some() {
        return Ok(go("/rounds", ""));
    }
    if app.provider().is_none() {
        return ok(&WelcomePage { f: Frame::open(&app, &visitor) });
    }
    Ok(go("/sign-in", ""))
}

#[derive(Template)]
#[template(path = "account/setup.html")]
struct SetupPage {
    f: Frame,
    token: String,
    form: SetupForm,
    errors: Errors,
}

/// `GET /setup/{token}`.
///
/// # Errors
///
/// [`Error::NotFound`] for a link that is not open.
pub async fn setup(State(app): State<App>, visitor: Visitor, Path(token): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    if !installation::setup_is_open(&mut tx, &secret::token_hash(&token), app.clock.now()).await? {
        return Err(Error::NotFound);
    }
    let f = Frame::open(&app, &visitor);
    ok(&SetupPage { f, token, form: SetupForm::default(), errors: Errors::default() })
}

fn setup_form(fields: &Fields) -> SetupForm {
    SetupForm {
        provider: fields.get("provider").to_owned(),
        contact: fields.get("contact").to_owned(),
        accreditation: fields.get("accreditation").to_owned(),
        name: fields.get("name").to_owned(),
        email: fields.get("email").to_owned(),
        password: fields.get("password").to_owned(),
    }
}

/// `POST /setup/{token}`.
///
/// # Errors
///
/// [`Error::NotFound`] for a link that is not open.
pub async fn set_up(
    State(app): State<App>,
    visitor: Visitor,
    Path(token): Path<String>,
    OpenForm(fields): OpenForm,
) -> Result<Response, Error> {
    let form = setup_form(&fields);
    let now = app.clock.now();
    let mut tx = app.db.write().await?;
    let user = match accounts::set_up(&mut tx, &token, &form, false, now).await {
        Ok(user) => user,
        Err(Refused::Error(error)) => return Err(error),
        Err(Refused::Fields(errors)) => {
            let f = Frame::open(&app, &visitor);
            let errors = Errors::of(app.words, &errors);
            return unprocessable(&SetupPage { f, token, form: SetupForm { password: String::new(), ..form }, errors });
        }
    };
    let session = accounts::begin_session(&mut tx, user, now).await?;
    let installation = installation::get(&mut tx).await?;
    tx.commit().await?;
    *app.installation.write().expect("no writer panics") = installation;
    Ok(with_session(&app, &session, go("/rounds", "set-up")))
}

/// Where a person wants to go after signing in.
#[derive(Debug, Default, Deserialize)]
pub struct Next {
    #[serde(default)]
    next: String,
}

/// Only a path of ours. `//host` and `/\\host` would lead elsewhere, and so would
/// a control character between the slashes, which browsers drop.
fn safe_path(next: &str) -> &str {
    let ours = |c: char| c.is_ascii_graphic() && c != '\\';
    let plain = next.starts_with('/') && !next.starts_with("//") && next.chars().all(ours);
    if plain { next } else { "/rounds" }
}

#[derive(Template)]
#[template(path = "account/sign_in.html")]
struct SignInPage {
    f: Frame,
    next: String,
    /// What was typed and is saved after signing in, as a form sends it.
    carried: String,
    email: String,
    errors: Errors,
}

/// `GET /sign-in`.
///
/// # Errors
///
/// When the page cannot be rendered.
pub async fn sign_in(State(app): State<App>, visitor: Visitor, Query(next): Query<Next>) -> Result<Response, Error> {
    if visitor.session.is_some() {
        return Ok(go(safe_path(&next.next), ""));
    }
    let f = Frame::open(&app, &visitor);
    ok(&SignInPage { f, next: next.next, carried: String::new(), email: String::new(), errors: Errors::default() })
}

/// `POST /sign-in`.
///
/// # Errors
///
/// What the database says.
pub async fn enter(State(app): State<App>, visitor: Visitor, OpenForm(fields): OpenForm) -> Result<Response, Error> {
    let email: String = fields.get("email").trim().to_lowercase().chars().take(MAX_EMAIL).collect();
    tokio::time::sleep(app.throttle.wait(&email, app.clock.now())).await;
    let user = store::by_email(&mut app.db.read().await?, &email).await?;
    let kept = user.as_ref().map(|user| user.password_hash.clone());
    let password: String = fields.get("password").chars().take(secret::LONGEST_PASSWORD).collect();
    let known = secret::verify_password(password, kept).await;
    let Some(user) = user.filter(|_| known) else {
        app.throttle.wrong(&email, app.clock.now());
        let f = Frame::open(&app, &visitor);
        let errors = Errors::one(app.words, "email", "sign-in-failed");
        let page = SignInPage {
            f,
            next: fields.get("next").to_owned(),
            carried: fields.get("carried").to_owned(),
            email: fields.get("email").to_owned(),
            errors,
        };
        return unprocessable(&page);
    };
    app.throttle.right(&email);
    if user.has_ended() {
        let f = Frame::open(&app, &visitor);
        let errors = Errors::one(app.words, "email", "sign-in-ended");
        let email = fields.get("email").to_owned();
        return unprocessable(&SignInPage { f, next: String::new(), carried: String::new(), email, errors });
    }
    let mut tx = app.db.write().await?;
    let session = accounts::begin_session(&mut tx, user.id, app.clock.now()).await?;
    tx.commit().await?;
    let next = safe_path(fields.get("next"));
    let done = match fields.get("carried") {
        "" => "",
        carried => restore(&app, &user.actor(), next, carried).await,
    };
    // Nothing is sent by signing in: what is ready to be sent is looked at once more.
    let next = next.strip_suffix("/submit").map_or_else(|| next.to_owned(), |round| format!("{round}/check"));
    Ok(with_session(&app, &session, go(&next, done)))
}

/// Saves what was typed before the session ended, if the round still takes it and
/// it is the person's own; the word of what was done.
async fn restore(app: &App, actor: &Actor, path: &str, carried: &str) -> &'static str {
    let fields = Fields::read(carried.as_bytes());
    match entry::restore(app, actor, path, &fields).await {
        Ok(()) => "restored",
        Err(error) => {
            tracing::info!(%error, "what was typed before signing in could not be saved");
            "not-restored"
        }
    }
}

/// The page of signing in for somebody whose session ended while typing.
pub fn sign_in_carrying(next: String, carried: String) -> Response {
    let (_, mut f) = error::scene();
    f.done = f.t("sign-in-carried");
    let page = SignInPage { f, next, carried, email: String::new(), errors: Errors::default() };
    render(StatusCode::UNAUTHORIZED, &page).unwrap_or_else(IntoResponse::into_response)
}

/// `POST /sign-out`.
///
/// # Errors
///
/// What the database says.
pub async fn sign_out(State(app): State<App>, headers: HeaderMap, _posted: Posted) -> Result<Response, Error> {
    if let Some(token) = session_token(&headers) {
        let mut tx = app.db.write().await?;
        store::end_session(&mut tx, &secret::token_hash(&token)).await?;
        tx.commit().await?;
    }
    let mut response = go("/sign-in", "signed-out");
    let ended = format!("{COOKIE}=; Path=/; HttpOnly; SameSite=Lax; Max-Age=0");
    response.headers_mut().insert(header::SET_COOKIE, HeaderValue::from_str(&ended).expect("a cookie of ours"));
    Ok(response)
}

pub(super) fn with_session(app: &App, token: &str, mut response: Response) -> Response {
    let secure = if app.is_https() { "; Secure" } else { "" };
    let age = SESSION_LASTS.as_secs();
    let cookie = format!("{COOKIE}={token}; Path=/; HttpOnly; SameSite=Lax; Max-Age={age}{secure}");
    response.headers_mut().insert(header::SET_COOKIE, HeaderValue::from_str(&cookie).expect("a cookie of ours"));
    response
}

#[derive(Template)]
#[template(path = "account/invitation.html")]
struct InvitationPage {
    f: Frame,
    token: String,
    laboratory: String,
    /// Whether a colleague invited this very address.
    personal: bool,
    name: String,
    email: String,
    errors: Errors,
}

/// `GET /invitations/{token}`: only looks, so that a mail scanner that follows
/// the link does not use it up.
///
/// # Errors
///
/// [`Error::NotFound`] for a link that is not open.
pub async fn invitation(
    State(app): State<App>,
    visitor: Visitor,
    Path(token): Path<String>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let found = store::invitation(&mut tx, &secret::token_hash(&token), app.clock.now()).await?;
    let invitation = found.ok_or_else(|| Error::conflict("conflict-invitation"))?;
    let f = Frame::open(&app, &visitor);
    ok(&InvitationPage {
        f,
        token,
        personal: invitation.is_personal(),
        laboratory: invitation.name,
        name: String::new(),
        email: invitation.email,
        errors: Errors::default(),
    })
}

/// `POST /invitations/{token}`.
///
/// # Errors
///
/// [`Error::NotFound`] for a link that is not open.
pub async fn accept(
    State(app): State<App>,
    visitor: Visitor,
    Path(token): Path<String>,
    OpenForm(fields): OpenForm,
) -> Result<Response, Error> {
    let now = app.clock.now();
    let mut tx = app.db.write().await?;
    let found = store::invitation(&mut tx, &secret::token_hash(&token), now).await?;
    let invitation = found.ok_or_else(|| Error::conflict("conflict-invitation"))?;
    let personal = invitation.is_personal();
    let email = if personal { invitation.email } else { fields.get("email").to_owned() };
    let (laboratory, name) = (invitation.name, fields.get("name").to_owned());
    let user = match accounts::accept(&mut tx, &token, &name, &email, fields.get("password"), now).await {
        Ok(user) => user,
        Err(Refused::Error(error)) => return Err(error),
        Err(Refused::Fields(errors)) => {
            let f = Frame::open(&app, &visitor);
            let errors = Errors::of(app.words, &errors);
            return unprocessable(&InvitationPage { f, token, laboratory, personal, name, email, errors });
        }
    };
    let session = accounts::begin_session(&mut tx, user, now).await?;
    tx.commit().await?;
    Ok(with_session(&app, &session, go("/rounds", "welcome")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn after_signing_in_only_a_path_of_ours_is_gone_to() {
        assert_eq!(safe_path("/rounds/QW-1"), "/rounds/QW-1");
        for elsewhere in [
            "//elsewhere.example",
            "/\\elsewhere.example",
            "/\t/elsewhere.example",
            "/\u{b}x",
            "/\u{e9}",
            "https://elsewhere.example",
            "",
        ] {
            assert_eq!(safe_path(elsewhere), "/rounds");
        }
    }
}
