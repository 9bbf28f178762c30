//! What can go wrong with the database.

/// A statement that did not succeed.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// A unique key, decided by the statement that failed, exists already.
    #[error("the row exists already")]
    Exists,
    /// The database address is not one that this program knows.
    #[error("the database address must begin with sqlite: or postgres:, not {0:?}")]
    Address(String),
    /// The database was written by a newer program.
    #[error("the schema could not be brought up to date")]
    Migrate(#[from] sqlx::migrate::MigrateError),
    /// Anything else that the driver says.
    #[error("the database refused a statement")]
    Database(#[source] sqlx::Error),
}

impl From<sqlx::Error> for Error {
    fn from(error: sqlx::Error) -> Self {
        match &error {
            sqlx::Error::Database(cause) if cause.is_unique_violation() => Error::Exists,
            _ => Error::Database(error),
        }
    }
}
