//! The key that signs receipts.

use crate::clock;
use crate::error::Error;
use jiff::Timestamp;
use roundel_domain::seal::SecretKey;
use roundel_store::{Tx, audit, keys};

/// The key that signs, made if there is none: at set-up, or with the first sending
/// where the installation is older than its keys. Of several copies of the program
/// one makes it, and all sign with that one.
///
/// # Errors
///
/// What the database says.
pub async fn signing(tx: &mut Tx, now: Timestamp) -> Result<SecretKey, Error> {
    if let Some(key) = keys::signing(tx).await? {
        return Ok(key);
    }
    let made = SecretKey::from_bytes(&clock::random());
    if keys::keep_first(tx, &made, now).await? {
        let id = made.public().id();
        let entry =
            audit::Entry { id: clock::new_id(), at: now, actor: None, event: "key-made", subject: &id, detail: &id };
        audit::record(tx, &entry).await?;
    }
    keys::signing(tx).await?.ok_or_else(|| Error::Fault("keep a key".to_owned()))
}
