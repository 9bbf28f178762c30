//! The organiser's people: whom an organiser invites, for which duty, and who no
//! longer comes in.

use super::accounts::{INVITATION_OPEN, add_person};
use super::{Refused, field};
use crate::error::Error;
use crate::{clock, secret};
use jiff::Timestamp;
use roundel_domain::access::{Actor, Duty, Standing};
use roundel_domain::field::{FieldErrors, Problem, parse_email};
use roundel_domain::id::UserId;
use roundel_domain::text;
use roundel_store::staff::{Member, NewInvitation};
use roundel_store::{Tx, accounts, audit, staff, tokens};

/// Under this subject the record keeps what happened to the organiser's people.
pub const SUBJECT: &str = "staff";

/// What is typed to invite somebody.
#[derive(Clone, Debug, Default, serde::Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct InviteForm {
    /// The address.
    pub email: String,
    /// The word of the duty.
    pub duty: String,
}

/// An invitation that was made. What its link ends with is told this once.
#[derive(Clone, Debug)]
pub struct Invited {
    /// The address.
    pub email: String,
    /// The end of the link.
    pub token: String,
    /// Until when it is open.
    pub until: Timestamp,
}

async fn note(tx: &mut Tx, actor: UserId, event: &str, detail: &str, now: Timestamp) -> Result<(), Error> {
    let entry = audit::Entry { id: clock::new_id(), at: now, actor: Some(actor), event, subject: SUBJECT, detail };
    Ok(audit::record(tx, &entry).await?)
}

/// Invites somebody of the organiser; an older invitation of the address ends.
///
/// # Errors
///
/// Every field that is not as it should be.
pub async fn invite(tx: &mut Tx, actor: &Actor, form: &InviteForm, now: Timestamp) -> Result<Invited, Refused> {
    actor.may_organise()?;
    let mut errors = FieldErrors::new();
    let email = errors.keep("email", parse_email(&form.email)).unwrap_or_default().to_lowercase();
    let duty = Duty::of(&form.duty);
    if duty.is_none() {
        errors.push("duty", Problem::new("duty-missing"));
    }
    if !email.is_empty() && accounts::by_email(tx, &email).await?.is_some() {
        errors.push("email", Problem::new("account-exists").with("seen", &email));
    }
    errors.into_result(())?;
    let duty = duty.unwrap_or(Duty::Reviewer);
    staff::withdraw(tx, &email, now).await?;
    let token = secret::token();
    let until = now + INVITATION_OPEN;
    let token_hash = secret::token_hash(&token);
    let new = NewInvitation { token_hash: &token_hash, duty, email: &email, by: actor.user(), expires_at: until };
    staff::invite(tx, &new, now).await?;
    note(tx, actor.user(), "staff-invited", &format!("{email} ({})", duty.word()), now).await?;
    Ok(Invited { email, token, until })
}

/// Takes an invitation back.
///
/// # Errors
///
/// [`Error::NotFound`] for an address that is not invited.
pub async fn withdraw(tx: &mut Tx, actor: &Actor, email: &str, now: Timestamp) -> Result<(), Error> {
    actor.may_organise()?;
    if staff::withdraw(tx, email, now).await? == 0 {
        return Err(Error::NotFound);
    }
    note(tx, actor.user(), "staff-withdrawn", email, now).await
}

/// Accepts an invitation: the person has an account with the address and the
/// duty of the invitation, and the link is used up.
///
/// # Errors
///
/// [`Error::NotFound`] for a link that is not open; every field that is not as
/// it should be.
pub async fn accept(tx: &mut Tx, token: &str, name: &str, password: &str, now: Timestamp) -> Result<UserId, Refused> {
    let hash = secret::token_hash(token);
    let invitation = staff::invitation(tx, &hash, now).await?.ok_or(Error::NotFound)?;
    let mut errors = FieldErrors::new();
    let name = text::line(&mut errors, "name", name, true);
    super::accounts::check_password(&mut errors, password, &[&name, &invitation.email]);
    errors.into_result(())?;
    let standing = Standing::Staff(invitation.duty());
    let user = add_person(tx, &name, &invitation.email, password, standing, now).await?;
    if !staff::use_invitation(tx, &hash, now).await? {
        return Err(Error::NotFound.into());
    }
    note(tx, user, "staff-joined", &format!("{name} ({})", invitation.duty().word()), now).await?;
    Ok(user)
}

/// A person of the organiser with access.
///
/// # Errors
///
/// [`Error::NotFound`] where there is none.
pub async fn member(tx: &mut Tx, actor: &Actor, user: UserId) -> Result<Member, Error> {
    actor.may_organise()?;
    let all = staff::all(tx).await?;
    all.into_iter().find(|member| member.id == user && member.ended_at().is_none()).ok_or(Error::NotFound)
}

/// Ends a person's access at once. The row stays: records name the person.
///
/// # Errors
///
/// The last organiser stays.
pub async fn end(tx: &mut Tx, actor: &Actor, user: UserId, now: Timestamp) -> Result<(), Refused> {
    let found = member(tx, actor, user).await?;
    if !staff::end(tx, user, now).await? {
        return Err(field("staff", Problem::new("staff-last-organiser").with("name", &found.name)));
    }
    accounts::end_sessions_of(tx, user).await?;
    tokens::revoke_all(tx, user, now).await?;
    note(tx, actor.user(), "staff-ended", &found.name, now).await?;
    Ok(())
}
