//! Signing asks for the password again: a session that was left open signs nothing.

use crate::error::Error;
use crate::extract::Posted;
use crate::secret;
use crate::state::App;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_store::accounts;

/// The field of the password.
pub const FIELD: &str = "password";

/// Whether the password that was posted is the person's, as errors of its field:
/// none when it is. Wrong ones slow the next try down, as they do for signing in.
///
/// # Errors
///
/// What the database says.
pub async fn confirm(app: &App, posted: &Posted) -> Result<FieldErrors, Error> {
    let mut errors = FieldErrors::new();
    let typed = posted.fields.get(FIELD);
    if typed.is_empty() {
        errors.push(FIELD, Problem::new("sign-password-missing"));
        return Ok(errors);
    }
    let user = accounts::by_id(&mut app.db.read().await?, posted.person.actor.user()).await?.ok_or(Error::NotFound)?;
    tokio::time::sleep(app.throttle.wait(&user.email, app.clock.now())).await;
    let password: String = typed.chars().take(secret::LONGEST_PASSWORD).collect();
    if secret::verify_password(password, Some(user.password_hash)).await {
        app.throttle.right(&user.email);
    } else {
        app.throttle.wrong(&user.email, app.clock.now());
        errors.push(FIELD, Problem::new("sign-password-wrong"));
    }
    Ok(errors)
}
