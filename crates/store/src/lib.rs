//! Every SQL statement of the service, for SQLite and PostgreSQL.
//!
//! One function, one statement. Ids and times come from the caller; a
//! transaction begins and ends with whoever owns the request.

pub mod accounts;
pub mod audit;
pub mod cases;
pub mod certificates;
pub mod clarifications;
pub mod db;
pub mod drafts;
pub mod error;
pub mod evaluations;
pub mod group_limits;
pub mod installation;
pub mod item_records;
pub mod jobs;
pub mod keys;
pub mod laboratories;
pub mod measurand_decisions;
pub mod measurands;
pub mod notices;
pub mod open_data;
pub mod outbox;
pub mod participants;
pub mod people;
pub mod performance;
pub mod plans;
pub mod proposals;
pub mod publications;
pub mod questions;
pub mod reports;
pub mod requests;
pub mod results;
pub mod reviews;
pub mod rounds;
mod row;
pub mod rulings;
pub mod staff;
#[cfg(feature = "testing")]
pub mod testing;
pub mod tokens;
pub mod trials;
pub mod unit_events;
pub mod unit_files;
pub mod verdicts;
pub mod withdrawals;

pub use db::{Db, Tx};
pub use error::Error;
