//! Signing asks for the password again: a session that was left open signs nothing.

use crate::actions::{Refused, accounts};
use crate::error::Error;
use crate::extract::Posted;
use crate::state::App;
use roundel_domain::field::FieldErrors;

/// The field of the password.
pub const FIELD: &str = "password";

/// Whether the password that was posted is the person's, as errors of its field:
/// none when it is.
///
/// # Errors
///
/// What the database says.
pub async fn confirm(app: &App, posted: &Posted) -> Result<FieldErrors, Error> {
    match accounts::confirm_password(app, &posted.person.actor, posted.fields.get(FIELD)).await {
        Ok(()) => Ok(FieldErrors::new()),
        Err(Refused::Fields(errors)) => Ok(errors),
        Err(Refused::Error(error)) => Err(error),
    }
}
