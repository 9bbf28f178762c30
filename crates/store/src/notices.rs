//! Signed, numbered notices of what does not stand any more. Rows are only ever
//! inserted.

use crate::{Error, Tx};
use roundel_domain::certificate::{digest, notice::Notice};

/// A notice as signed.
#[derive(Clone, Debug, PartialEq, Eq, sqlx::FromRow)]
pub struct Signed {
    /// Its number, from 1.
    pub number: i64,
    /// Exactly the text that is signed.
    pub statement: String,
    /// Name of the key.
    pub key_id: String,
    /// The signature, in Base64.
    pub signature: String,
}

impl Signed {
    /// What it says.
    ///
    /// # Errors
    ///
    /// When the row holds no notice.
    pub fn notice(&self) -> Result<Notice, Error> {
        Notice::parse(&self.statement).ok_or_else(|| crate::row::corrupt("a notice"))
    }
}

/// Keeps a notice.
///
/// # Errors
///
/// [`Error::Exists`] when there is one of this number.
pub async fn insert(tx: &mut Tx, new: &Signed) -> Result<(), Error> {
    tx.query("INSERT INTO notices (sha256, number, statement, key_id, signature) VALUES ($1, $2, $3, $4, $5)")
        .bind(digest(&new.statement))
        .bind(new.number)
        .bind(new.statement.as_str())
        .bind(new.key_id.as_str())
        .bind(new.signature.as_str())
        .execute()
        .await?;
    Ok(())
}

/// All notices, oldest first.
///
/// # Errors
///
/// What the driver says.
pub async fn all(tx: &mut Tx) -> Result<Vec<Signed>, Error> {
    tx.query("SELECT number, statement, key_id, signature FROM notices ORDER BY number").all().await
}

/// The notice of a number.
///
/// # Errors
///
/// What the driver says.
pub async fn by_number(tx: &mut Tx, number: i64) -> Result<Option<Signed>, Error> {
    tx.query("SELECT number, statement, key_id, signature FROM notices WHERE number = $1").bind(number).optional().await
}
