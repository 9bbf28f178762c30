//! The keys that sign receipts, for everybody.

use super::{Frame, download, ok};
use crate::error::Error;
use crate::extract::{Path, Visitor};
use crate::show;
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_store::keys;

struct KeyShown {
    id: String,
    pem: String,
    since: String,
    /// Empty while it signs.
    until: String,
}

#[derive(Template)]
#[template(path = "account/keys.html")]
struct KeysPage {
    f: Frame,
    keys: Vec<KeyShown>,
    /// The id that the example shows.
    example: String,
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
            id: key.id,
        })
        .collect();
    let example = keys.first().map_or_else(|| "0123456789abcdef".to_owned(), |key| key.id.clone());
    ok(&KeysPage { f: Frame::open(&app, &visitor), keys, example })
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
