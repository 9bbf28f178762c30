//! Whose a code is. Nothing shows a name beside a code unless it was asked for
//! here, and the record of the round keeps who asked, for what, and why.

use super::{Refused, record};
use crate::error::Error;
use crate::state::App;
use jiff::Timestamp;
use roundel_domain::access::Actor;
use roundel_domain::code::LabCode;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::round::Round;
use roundel_domain::text;
use roundel_store::Tx;
use roundel_store::participants::{self, Participant};

/// Looks up whose `code` is, or, without one, whose all codes are, by code.
///
/// # Errors
///
/// A missing reason; a code that the round does not have.
pub async fn look_up(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    code: &str,
    reason: &str,
    now: Timestamp,
) -> Result<Vec<Participant>, Refused> {
    actor.may_organise()?;
    let mut errors = FieldErrors::new();
    let reason = text::reason(&mut errors, "reason", reason);
    let mut found = participants::of_round(tx, round.id).await?;
    let typed = code.trim();
    if !typed.is_empty() {
        // As it is printed, whatever case and signs it was typed with.
        let wanted = LabCode::parse(typed).map_or_else(|_| typed.to_uppercase(), |code| code.to_string());
        found.retain(|participant| participant.code == wanted);
        if found.is_empty() {
            errors.push("code", Problem::new("look-up-unknown").with("seen", typed));
        }
    }
    errors.into_result(())?;
    if typed.is_empty() {
        record(tx, actor, "codes-listed", round, &reason, now).await?;
    } else {
        record(tx, actor, "code-looked-up", round, &format!("{}: {reason}", found[0].code), now).await?;
    }
    Ok(found)
}

/// Notes that a list of codes with names was given out, `what` it was.
///
/// # Errors
///
/// What the database says.
pub async fn note_list(tx: &mut Tx, actor: &Actor, round: &Round, what: &str, now: Timestamp) -> Result<(), Error> {
    record(tx, actor, "codes-listed", round, what, now).await
}

/// Notes that the organiser read a document that names the laboratory of a code;
/// a laboratory's own reading is no look-up. In a transaction of its own: the
/// document is read in one that only looks.
///
/// # Errors
///
/// What the database says.
pub async fn note_document(app: &App, actor: &Actor, round: &Round, code: &str, what: &str) -> Result<(), Error> {
    if actor.laboratory().is_some() {
        return Ok(());
    }
    let mut tx = app.db.write().await?;
    record(&mut tx, actor, "code-looked-up", round, &format!("{code}: {what}"), app.clock.now()).await?;
    Ok(tx.commit().await?)
}

/// The code of a laboratory of the round, by what a form of the organiser carries
/// instead of it; empty for none.
///
/// # Errors
///
/// [`Error::NotFound`] for what is no laboratory of the round.
pub async fn code_of(tx: &mut Tx, round: &Round, laboratory: &str) -> Result<String, Error> {
    if laboratory.is_empty() {
        return Ok(String::new());
    }
    let all = participants::of_round(tx, round.id).await?;
    let found = all.into_iter().find(|participant| participant.laboratory.to_string() == laboratory);
    found.map(|participant| participant.code).ok_or(Error::NotFound)
}
