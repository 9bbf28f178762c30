//! Which program asks, and in whose name.

use super::problem::{Kind, Refusal};
use crate::secret;
use crate::state::App;
use axum::extract::{FromRequestParts, Request, State};
use axum::http::request::Parts;
use axum::http::{HeaderMap, header};
use axum::middleware::Next;
use axum::response::Response;
use jiff::{SignedDuration, Timestamp};
use roundel_domain::access::Actor;
use roundel_domain::id::TokenId;
use roundel_store::tokens;
use std::collections::HashMap;
use std::sync::{Arc, Mutex};
use uuid::Uuid;

/// How long a use is remembered before the next one is written down.
const NOTED_AGAIN_AFTER: SignedDuration = SignedDuration::from_hours(1);

/// A program with a token that is open.
#[derive(Clone, Debug)]
pub struct Caller {
    /// What it may act as.
    pub actor: Actor,
    /// The token.
    pub token: TokenId,
    may_change: bool,
}

impl Caller {
    /// Whose keys it uses: those of the laboratory, or of the organiser's person.
    pub fn owner(&self) -> Uuid {
        self.actor.laboratory().map_or(self.actor.user().0, |laboratory| laboratory.0)
    }

    /// May do more than look.
    ///
    /// # Errors
    ///
    /// [`Kind::ReadOnly`] for a token that was made to look only.
    pub fn may_change(&self) -> Result<(), Refusal> {
        if self.may_change { Ok(()) } else { Err(Refusal::new(Kind::ReadOnly)) }
    }
}

/// What the program shows.
fn bearer(headers: &HeaderMap) -> Option<&str> {
    let (scheme, token) = headers.get(header::AUTHORIZATION)?.to_str().ok()?.split_once(' ')?;
    scheme.eq_ignore_ascii_case("bearer").then_some(token.trim())
}

/// Finds out who asks, for every address of the interface: without a token
/// nobody learns which addresses there are.
///
/// # Errors
///
/// [`Kind::Unauthorised`], in the same words for every token that is not open:
/// none, a broken one, one that never was, has ended or was revoked;
/// [`Kind::TooMany`].
pub async fn authenticate(State(app): State<App>, mut request: Request, next: Next) -> Result<Response, Refusal> {
    let unknown = || Refusal::new(Kind::Unauthorised);
    let token = bearer(request.headers()).ok_or_else(unknown)?;
    let now = app.clock.now();
    let hash = secret::token_hash(token);
    let shown = tokens::shown(&mut app.db.read().await?, &hash, now).await?.ok_or_else(unknown)?;
    if !app.pace.take(shown.id, now) {
        return Err(Refusal::new(Kind::TooMany));
    }
    if shown.last_used_at().is_none_or(|last| now.duration_since(last) > NOTED_AGAIN_AFTER) {
        let mut tx = app.db.write().await?;
        tokens::note_use(&mut tx, shown.id, now).await?;
        tx.commit().await?;
    }
    let caller = Caller { actor: shown.actor(), token: shown.id, may_change: shown.may_change };
    request.extensions_mut().insert(caller);
    Ok(next.run(request).await)
}

impl FromRequestParts<App> for Caller {
    type Rejection = Refusal;

    async fn from_request_parts(parts: &mut Parts, _: &App) -> Result<Self, Refusal> {
        parts.extensions.get::<Caller>().cloned().ok_or_else(|| Refusal::new(Kind::Unauthorised))
    }
}

/// How many requests each token has left, so that one program in a loop does not
/// take the service from everybody else.
#[derive(Clone, Debug, Default)]
pub struct Pace(Arc<Mutex<HashMap<TokenId, Left>>>);

#[derive(Clone, Copy, Debug)]
struct Left {
    requests: f64,
    at: Timestamp,
}

/// Requests at once.
pub const BURST: f64 = 300.0;
/// Requests a second, over time.
pub const A_SECOND: f64 = 50.0;
/// The most tokens remembered; those that have rested are forgotten.
const MOST_TOKENS: usize = 10_000;

impl Pace {
    /// Takes one request of a token; false when it has none left at `now`.
    pub fn take(&self, token: TokenId, now: Timestamp) -> bool {
        let mut tokens = self.0.lock().expect("nothing panics while the paces are held");
        if tokens.len() >= MOST_TOKENS {
            tokens.retain(|_, left| now.duration_since(left.at) < SignedDuration::from_secs(10));
        }
        let left = tokens.entry(token).or_insert(Left { requests: BURST, at: now });
        let rested = now.duration_since(left.at).as_secs_f64().max(0.0);
        left.requests = (left.requests + rested * A_SECOND).min(BURST);
        left.at = now;
        let has = left.requests >= 1.0;
        if has {
            left.requests -= 1.0;
        }
        has
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_token_has_a_burst_and_then_so_many_a_second() {
        let pace = Pace::default();
        let now: Timestamp = "2027-03-01T12:00:00Z".parse().unwrap();
        let (one, other) = (TokenId(Uuid::from_u128(1)), TokenId(Uuid::from_u128(2)));
        let taken = |at| (0..1000).filter(|_| pace.take(one, at)).count();
        assert_eq!(taken(now), 300);
        assert!(pace.take(other, now), "another token has its own");
        assert_eq!(taken(now + SignedDuration::from_secs(1)), 50);
        assert_eq!(taken(now + SignedDuration::from_secs(60)), 300, "rest is not saved up beyond the burst");
    }
}
