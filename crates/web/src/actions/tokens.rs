//! Tokens with which programs act in a person's name.

use super::{Refused, field};
use crate::error::Error;
use crate::{clock, secret};
use jiff::{SignedDuration, Timestamp};
use roundel_domain::access::Actor;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::id::TokenId;
use roundel_domain::text;
use roundel_store::tokens::{self, NewToken};
use roundel_store::{Tx, audit};

/// What a token begins with, so that one that lies about is known for what it is.
const MARK: &str = "roundel_";
/// The most tokens of a person that are open at the same time.
const MOST_OPEN: usize = 20;
/// How many days a token may last.
pub const DAYS: [i64; 3] = [30, 90, 365];

/// What is typed for a token.
#[derive(Clone, Debug, Default, serde::Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct TokenForm {
    /// What the program is called.
    pub name: String,
    /// `look` or `change`.
    pub right: String,
    /// One of [`DAYS`].
    pub days: String,
}

/// A token that was made. What it shows is told this once.
#[derive(Clone, Debug)]
pub struct Made {
    /// What the program shows.
    pub token: String,
    /// What it is called.
    pub name: String,
    /// When it ends.
    pub expires_at: Timestamp,
}

/// Makes a token for the person.
///
/// # Errors
///
/// Every field that is not as it should be.
pub async fn make(tx: &mut Tx, actor: &Actor, form: &TokenForm, now: Timestamp) -> Result<Made, Refused> {
    let mut errors = FieldErrors::new();
    let name = text::line(&mut errors, "name", &form.name, true);
    let may_change = match form.right.as_str() {
        "look" => false,
        "change" => true,
        _ => {
            errors.push("right", Problem::new("token-right-missing"));
            false
        }
    };
    let days = form.days.parse::<i64>().ok().filter(|days| DAYS.contains(days));
    if days.is_none() {
        errors.push("days", Problem::new("token-days-missing"));
    }
    errors.into_result(())?;
    let open = tokens::of_user(tx, actor.user()).await?.iter().filter(|token| token.is_open(now)).count();
    if open >= MOST_OPEN {
        return Err(field("name", Problem::new("token-many").with("count", open)));
    }
    let token = format!("{MARK}{}", secret::token());
    let expires_at = now + SignedDuration::from_hours(24 * days.unwrap_or_default());
    let id = TokenId(clock::new_id());
    let new = NewToken {
        id,
        token_hash: &secret::token_hash(&token),
        user: actor.user(),
        name: &name,
        may_change,
        at: now,
        expires_at,
    };
    tokens::insert(tx, &new).await?;
    note(tx, actor, "token-made", id, now).await?;
    Ok(Made { token, name, expires_at })
}

/// Ends a token of the person for good.
///
/// # Errors
///
/// [`Error::NotFound`] for one that is not the person's, or was revoked.
pub async fn revoke(tx: &mut Tx, actor: &Actor, id: TokenId, now: Timestamp) -> Result<(), Error> {
    if !tokens::revoke(tx, actor.user(), id, now).await? {
        return Err(Error::NotFound);
    }
    note(tx, actor, "token-revoked", id, now).await
}

async fn note(tx: &mut Tx, actor: &Actor, event: &str, id: TokenId, now: Timestamp) -> Result<(), Error> {
    let (subject, detail) = (actor.user().to_string(), id.to_string());
    let entry = audit::Entry {
        id: clock::new_id(),
        at: now,
        actor: Some(actor.user()),
        event,
        subject: &subject,
        detail: &detail,
    };
    Ok(audit::record(tx, &entry).await?)
}
