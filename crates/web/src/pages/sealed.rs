//! Assigned values that were sealed when the round opened (F60).

use super::{Frame, download, ok, seen_round};
use crate::error::Error;
use crate::extract::{Path, Person};
use crate::show;
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::access::Actor;
use roundel_domain::round::Round;
use roundel_store::Tx;
use roundel_store::plans::{self, Sealed};

#[derive(Template)]
#[template(path = "rounds/sealed.html")]
struct SealedPage {
    f: Frame,
    round: Round,
    sha256: String,
    sealed_at: String,
    /// The text that the hash is over, after publication; empty before.
    text: String,
    file: String,
}

/// The seal of a round that this person may see.
async fn seal_of(tx: &mut Tx, actor: &Actor, code: &str) -> Result<(Round, Sealed), Error> {
    let (round, _) = seen_round(tx, actor, code).await?;
    let sealed = plans::sealed(tx, round.id).await?.ok_or(Error::NotFound)?;
    Ok((round, sealed))
}

fn file_name(round: &Round) -> String {
    format!("{}-sealed-values.json", round.code)
}

/// `GET /rounds/{code}/sealed`: the hash from opening on, and what it is over once
/// the round is published.
///
/// # Errors
///
/// [`Error::NotFound`] for a round that does not exist for this person, and where
/// nothing is sealed.
pub async fn page(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let (round, sealed) = seal_of(&mut tx, &person.actor, &code).await?;
    ok(&SealedPage {
        f: Frame::of(&app, &person),
        sealed_at: show::instant(sealed.at(), &round.time_zone),
        file: file_name(&round),
        text: if round.is_published() { sealed.document } else { String::new() },
        sha256: sealed.sha256,
        round,
    })
}

/// `GET /rounds/{code}/sealed.json`: the text, byte for byte.
///
/// # Errors
///
/// [`Error::NotFound`] before publication, for everybody: who sees the salt early
/// could pass values on that nobody can check.
pub async fn text(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let (round, sealed) = seal_of(&mut tx, &person.actor, &code).await?;
    if !round.is_published() {
        return Err(Error::NotFound);
    }
    Ok(download("application/json", &file_name(&round), sealed.document))
}
