//! The keys that sign receipts, certificates and notices, for everybody.

use super::{Frame, download, go, ok, signing, unprocessable};
use crate::actions::{self, Refused};
use crate::error::Error;
use crate::extract::{Path, Person, Posted, Visitor};
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::certificate::canonical_text;
use roundel_domain::certificate::verification::{KEYS_FORMAT, KeyEntry, KeyList};
use roundel_store::keys::{self, Key};

struct KeyShown {
    id: String,
    pem: String,
    since: String,
    /// Empty while it signs.
    until: String,
    /// Until when it signs at the latest; empty once it is retired, and of keys
    /// without such an end.
    ends: String,
}

#[derive(Template)]
#[template(path = "account/keys.html")]
struct KeysPage {
    f: Frame,
    keys: Vec<KeyShown>,
    /// The id that the example shows.
    example: String,
    /// Whether the person may change the key.
    changes: bool,
}

/// `GET /keys`: the public keys, and how a receipt is checked with openssl.
///
/// # Errors
///
/// What the database says.
pub async fn list(State(app): State<App>, visitor: Visitor) -> Result<Response, Error> {
    let keys = keys::all(&mut app.db.read().await?).await?;
    let keys: Vec<KeyShown> = keys
        .into_iter()
        .map(|key| KeyShown {
            pem: key.public.to_pem(),
            since: show::exact(key.made_at),
            until: key.retired_at.map(show::exact).unwrap_or_default(),
            ends: key.ends_at.filter(|_| key.retired_at.is_none()).map(show::exact).unwrap_or_default(),
            id: key.id,
        })
        .collect();
    let example = keys.first().map_or_else(|| "0123456789abcdef".to_owned(), |key| key.id.clone());
    let changes = visitor.session.as_ref().is_some_and(|session| session.actor().may_organise().is_ok());
    ok(&KeysPage { f: Frame::open(&app, &visitor), keys, example, changes })
}

/// `GET /keys/{key}`: a public key as a file, where `key` ends in `.pem`.
///
/// # Errors
///
/// [`Error::NotFound`] for a key that there is not.
pub async fn pem(State(app): State<App>, Path(key): Path<String>) -> Result<Response, Error> {
    let id = key.strip_suffix(".pem").ok_or(Error::NotFound)?;
    let found = keys::by_id(&mut app.db.read().await?, id).await?.ok_or(Error::NotFound)?;
    Ok(download("application/x-pem-file", &key, found.public.to_pem()))
}

/// The keys as a list that certificates are checked with.
pub(crate) fn list_of(app: &App, keys: &[Key]) -> KeyList {
    let entry = |key: &Key| KeyEntry {
        id: key.id.clone(),
        public_key: key.public.to_pem(),
        signs_from: Some(key.made_at),
        signs_until: key.signs_until(),
    };
    KeyList {
        format: KEYS_FORMAT.to_owned(),
        provider: app.provider().map(|installation| installation.provider).unwrap_or_default(),
        keys: keys.iter().map(entry).collect(),
    }
}

/// `GET /keys.json`: all keys with the times in which they sign.
///
/// # Errors
///
/// What the database says.
pub async fn file(State(app): State<App>) -> Result<Response, Error> {
    let all = keys::all(&mut app.db.read().await?).await?;
    Ok(download("application/json", "keys.json", canonical_text(&list_of(&app, &all))))
}

#[derive(Template)]
#[template(path = "account/keys_change.html")]
struct ChangePage {
    f: Frame,
    reason: String,
    errors: Errors,
}

/// `GET /keys/change`: says what a new key does.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory, a refusal for others of the staff.
pub async fn ask_change(State(app): State<App>, person: Person) -> Result<Response, Error> {
    person.actor.may_organise()?;
    ok(&ChangePage { f: Frame::of(&app, &person), reason: String::new(), errors: Errors::default() })
}

/// `POST /keys/change`: retires the key that signs and makes another.
///
/// # Errors
///
/// As [`ask_change`].
pub async fn change(State(app): State<App>, posted: Posted) -> Result<Response, Error> {
    let actor = &posted.person.actor;
    actor.may_organise()?;
    let reason = posted.fields.get("reason");
    let mut errors = signing::confirm(&app, &posted).await?;
    if errors.is_empty() {
        let mut tx = app.db.write().await?;
        match actions::keys::change(&mut tx, actor, reason, app.clock.now()).await {
            Ok(_) => {
                tx.commit().await?;
                return Ok(go("/keys", "key-changed"));
            }
            Err(Refused::Error(error)) => return Err(error),
            Err(Refused::Fields(refused)) => errors = refused,
        }
    }
    let errors = Errors::of(app.words, &errors);
    unprocessable(&ChangePage { f: Frame::of(&app, &posted.person), reason: reason.to_owned(), errors })
}
