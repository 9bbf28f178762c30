//! The key that signs receipts, certificates and notices, and its changes.

use super::Refused;
use crate::clock;
use crate::error::Error;
use crate::state::App;
use jiff::{SignedDuration, Timestamp};
use roundel_domain::access::Actor;
use roundel_domain::field::FieldErrors;
use roundel_domain::seal::SecretKey;
use roundel_domain::text;
use roundel_store::{Tx, audit, keys};

/// How long a key signs at most: five years. What it signed stays good for ever.
pub const LIFE: SignedDuration = SignedDuration::from_hours(5 * 365 * 24);

/// The subject of the record of keys.
pub const SUBJECT: &str = "keys";

/// The key that signs, made if there is none: at set-up, when the last one has come
/// to its end, or with the first sending where the installation is older than its
/// keys. Of several copies of the program one makes it, and all sign with that one.
///
/// # Errors
///
/// What the database says.
pub async fn signing(tx: &mut Tx, now: Timestamp) -> Result<SecretKey, Error> {
    keys::retire_ended(tx, now).await?;
    if let Some(key) = keys::signing(tx).await? {
        return Ok(key);
    }
    let made = SecretKey::from_bytes(&clock::random());
    if keys::keep_first(tx, &made, now, now + LIFE).await? {
        let id = made.public().id();
        let entry =
            audit::Entry { id: clock::new_id(), at: now, actor: None, event: "key-made", subject: &id, detail: &id };
        audit::record(tx, &entry).await?;
    }
    keys::signing(tx).await?.ok_or_else(|| Error::Fault("keep a key".to_owned()))
}

/// The key that signs now, read: only where there is none does it take the turn of a
/// writer, and makes one.
///
/// # Errors
///
/// What the database says.
pub async fn current(app: &App) -> Result<SecretKey, Error> {
    let now = app.clock.now();
    {
        let mut tx = app.db.read().await?;
        let all = keys::all(&mut tx).await?;
        let signs = all.iter().any(|key| key.retired_at.is_none() && key.ends_at.is_none_or(|end| now < end));
        if let Some(key) = keys::signing(&mut tx).await?.filter(|_| signs) {
            return Ok(key);
        }
    }
    let mut tx = app.db.write().await?;
    let key = signing(&mut tx, now).await?;
    tx.commit().await?;
    Ok(key)
}

/// Retires the key that signs and makes another; the name of the new one. Whether
/// it is the person who acts has been asked again before.
///
/// # Errors
///
/// A missing reason.
pub async fn change(tx: &mut Tx, actor: &Actor, reason: &str, now: Timestamp) -> Result<String, Refused> {
    actor.may_organise()?;
    let mut errors = FieldErrors::new();
    let reason = text::reason(&mut errors, "reason", reason);
    errors.into_result(())?;
    keys::retire(tx, now).await?;
    let id = signing(tx, now).await?.public().id();
    let detail = format!("{id}: {reason}");
    let entry = audit::Entry {
        id: clock::new_id(),
        at: now,
        actor: Some(actor.user()),
        event: "key-changed",
        subject: SUBJECT,
        detail: &detail,
    };
    audit::record(tx, &entry).await?;
    Ok(id)
}
