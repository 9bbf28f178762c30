//! What people do, whichever way they do it: pages and the demonstration call
//! the same functions. Each looks whether the person may, changes the rows, and
//! writes the record; the caller begins and commits the transaction.

pub mod accounts;
pub mod approval;
pub mod cases;
pub mod certificates;
pub mod clarifications;
pub mod decisions;
pub mod design;
pub mod evaluation;
pub mod items;
pub mod jobs;
pub mod keys;
pub mod laboratories;
pub mod look_ups;
pub mod messages;
pub mod methods;
pub mod notices;
pub mod open_data;
pub mod people;
pub mod plans;
pub mod proposals;
pub mod questions;
pub mod reports;
pub mod results;
pub mod review;
pub mod rounds;
pub mod rulings;
pub mod second;
pub mod staff;
pub mod tokens;
pub mod trials;
pub mod unit_files;
pub mod units;
pub mod withdrawals;

use crate::clock;
use crate::error::Error;
use jiff::Timestamp;
use roundel_domain::access::Actor;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::round::Round;
use roundel_store::{Tx, audit};

/// Why an action was not done.
#[derive(Debug)]
pub enum Refused {
    /// What was typed is not as it should be; nothing happened.
    Fields(FieldErrors),
    /// Anything else.
    Error(Error),
}

impl From<FieldErrors> for Refused {
    fn from(errors: FieldErrors) -> Self {
        Refused::Fields(errors)
    }
}

impl<E: Into<Error>> From<E> for Refused {
    fn from(error: E) -> Self {
        Refused::Error(error.into())
    }
}

/// One problem of one field.
fn field(name: &str, problem: Problem) -> Refused {
    let mut errors = FieldErrors::new();
    errors.push(name, problem);
    Refused::Fields(errors)
}

/// Writes what happened to a round.
async fn record(
    tx: &mut Tx,
    actor: &Actor,
    event: &str,
    round: &Round,
    detail: &str,
    now: Timestamp,
) -> Result<(), Error> {
    let subject = round.id.to_string();
    let entry =
        audit::Entry { id: clock::new_id(), at: now, actor: Some(actor.user()), event, subject: &subject, detail };
    Ok(audit::record(tx, &entry).await?)
}

/// Refuses a change of the design once the round is open, and keeps it from
/// opening until the change is made.
async fn must_be_draft(tx: &mut Tx, round: &Round) -> Result<(), Error> {
    let draft = round.is_draft() && roundel_store::rounds::hold(tx, round.id, &round.state).await?;
    if draft { Ok(()) } else { Err(Error::conflict("conflict-not-draft")) }
}
