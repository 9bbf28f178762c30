//! The people of a laboratory: whom a colleague invites, what each may do, and
//! who no longer comes in.

use super::accounts::INVITATION_OPEN;
use super::{Refused, field};
use crate::error::Error;
use crate::mail::{Post, To};
use crate::{clock, secret};
use jiff::Timestamp;
use roundel_domain::access::{Actor, Rights};
use roundel_domain::field::{FieldErrors, Problem, parse_email};
use roundel_domain::id::{LaboratoryId, UserId};
use roundel_store::accounts::NewInvitation;
use roundel_store::people::Person;
use roundel_store::{Tx, accounts, audit, laboratories, people, tokens};

/// The most people that are invited and have not come yet: each is written to.
const MOST_INVITED: usize = 30;

/// What is typed to invite somebody.
#[derive(Clone, Debug, Default, serde::Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct InviteForm {
    /// The address.
    pub email: String,
    /// The word of the rights.
    pub rights: String,
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

/// Invites somebody of the own laboratory; an older invitation of the same
/// address ends. Where mail is set up, the link goes there too.
///
/// # Errors
///
/// Every field that is not as it should be.
pub async fn invite(
    tx: &mut Tx,
    actor: &Actor,
    form: &InviteForm,
    post: &Post,
    now: Timestamp,
) -> Result<Invited, Refused> {
    let laboratory = actor.may_manage_people()?;
    let mut errors = FieldErrors::new();
    let email = errors.keep("email", parse_email(&form.email)).unwrap_or_default().to_lowercase();
    let rights = Rights::of(&form.rights);
    if rights.is_none() {
        errors.push("rights", Problem::new("person-rights-missing"));
    }
    people::hold(tx, laboratory).await?;
    let known = people::of_laboratory(tx, laboratory).await?;
    if let Some(known) = known.iter().find(|person| person.is_active() && person.email == email) {
        errors.push("email", Problem::new("person-known").with("seen", &email).with("name", &known.name));
    }
    let waiting = people::invited(tx, laboratory, now).await?;
    if waiting.len() >= MOST_INVITED && waiting.iter().all(|open| open.email != email) {
        errors.push("email", Problem::new("people-many").with("count", waiting.len()));
    }
    errors.into_result(())?;
    let rights = rights.unwrap_or(Rights::Read);
    people::withdraw(tx, laboratory, &email, now).await?;
    let token = secret::token();
    let until = now + INVITATION_OPEN;
    let new = NewInvitation {
        token_hash: &secret::token_hash(&token),
        laboratory,
        email: Some(&email),
        rights,
        by: Some(actor.user()),
        expires_at: until,
    };
    accounts::invite(tx, &new, now).await?;
    note(tx, actor, laboratory, "person-invited", &format!("{email} ({})", rights.word()), now).await?;
    if post.is_set_up() {
        let own = laboratories::by_id(tx, laboratory).await?.ok_or(Error::NotFound)?;
        let inviter = accounts::by_id(tx, actor.user()).await?.ok_or(Error::NotFound)?;
        let to = To { laboratory, laboratory_name: &own.name, email: &email, name: "" };
        post.colleague(tx, to, &inviter.name, now).await?;
    }
    Ok(Invited { email, token, until })
}

/// Takes an invitation back.
///
/// # Errors
///
/// [`Error::NotFound`] for an address that is not invited.
pub async fn withdraw(tx: &mut Tx, actor: &Actor, email: &str, now: Timestamp) -> Result<(), Error> {
    let laboratory = actor.may_manage_people()?;
    if !people::withdraw(tx, laboratory, email, now).await? {
        return Err(Error::NotFound);
    }
    note(tx, actor, laboratory, "invitation-withdrawn", email, now).await
}

/// Finds a person of the own laboratory with access, and everybody there, while
/// nobody else changes them.
async fn held(tx: &mut Tx, laboratory: LaboratoryId, user: UserId) -> Result<(Person, Vec<Person>), Error> {
    people::hold(tx, laboratory).await?;
    let all = people::of_laboratory(tx, laboratory).await?;
    let found = all.iter().find(|person| person.id == user && person.is_active()).cloned();
    Ok((found.ok_or(Error::NotFound)?, all))
}

/// Whether nobody but `person` may send.
fn is_last(person: &Person, all: &[Person]) -> bool {
    let sends = |other: &Person| other.is_active() && other.rights() == Rights::Submit;
    sends(person) && !all.iter().any(|other| other.id != person.id && sends(other))
}

/// The name of the field with the rights of a person.
pub fn rights_field(user: UserId) -> String {
    format!("rights-{user}")
}

/// Gives a person of the own laboratory other rights.
///
/// # Errors
///
/// [`Error::NotFound`] for somebody else; a word that is no right; when nobody
/// could send any more.
pub async fn set_rights(tx: &mut Tx, actor: &Actor, user: UserId, word: &str, now: Timestamp) -> Result<(), Refused> {
    let laboratory = actor.may_manage_people()?;
    let (person, all) = held(tx, laboratory, user).await?;
    let name = rights_field(user);
    let Some(rights) = Rights::of(word) else {
        return Err(field(&name, Problem::new("person-rights-missing")));
    };
    if rights == person.rights() {
        return Ok(());
    }
    if is_last(&person, &all) {
        return Err(field(&name, Problem::new("person-last").with("name", &person.name)));
    }
    people::set_rights(tx, laboratory, user, rights).await?;
    if rights < Rights::Submit {
        people::withdraw_all_of(tx, user, now).await?;
    }
    let detail = format!("{}: {} → {}", person.name, person.rights().word(), rights.word());
    Ok(note(tx, actor, laboratory, "rights-changed", &detail, now).await?)
}

/// The person of the own laboratory whose access may be ended.
///
/// # Errors
///
/// [`Error::NotFound`] for somebody else; when nobody could send any more.
pub async fn endable(tx: &mut Tx, actor: &Actor, user: UserId) -> Result<Person, Refused> {
    let laboratory = actor.may_manage_people()?;
    let all = people::of_laboratory(tx, laboratory).await?;
    let found = all.iter().find(|person| person.id == user && person.is_active());
    let person = found.ok_or(Error::NotFound)?;
    if is_last(person, &all) {
        return Err(field(&rights_field(user), Problem::new("person-last").with("name", &person.name)));
    }
    Ok(person.clone())
}

/// Ends the access of a person of the own laboratory: sessions and tokens end at
/// once, the name stays where it stands.
///
/// # Errors
///
/// As [`endable`].
pub async fn end(tx: &mut Tx, actor: &Actor, user: UserId, now: Timestamp) -> Result<(), Refused> {
    let laboratory = actor.may_manage_people()?;
    people::hold(tx, laboratory).await?;
    let person = endable(tx, actor, user).await?;
    people::end(tx, laboratory, user, now).await?;
    accounts::end_sessions_of(tx, user).await?;
    tokens::revoke_all(tx, user, now).await?;
    people::withdraw_all_of(tx, user, now).await?;
    Ok(note(tx, actor, laboratory, "access-ended", &person.name, now).await?)
}

/// Whether a laboratory's people can keep to a second person: somebody types,
/// and somebody else sends.
pub fn can_be_second(all: &[Person]) -> bool {
    let active = |least: Rights| all.iter().filter(|person| person.is_active() && person.rights() >= least).count();
    active(Rights::Submit) >= 1 && active(Rights::Enter) >= 2
}

/// Says whether results are to be sent by somebody who typed none of them.
///
/// # Errors
///
/// When there is nobody who could be the second person.
pub async fn want_second(tx: &mut Tx, actor: &Actor, wanted: bool, now: Timestamp) -> Result<(), Refused> {
    let laboratory = actor.may_manage_people()?;
    people::hold(tx, laboratory).await?;
    if wanted && !can_be_second(&people::of_laboratory(tx, laboratory).await?) {
        return Err(field("second", Problem::new("second-alone")));
    }
    if !people::want_second(tx, laboratory, wanted).await? {
        return Ok(());
    }
    let event = if wanted { "second-person-on" } else { "second-person-off" };
    Ok(note(tx, actor, laboratory, event, "", now).await?)
}

async fn note(
    tx: &mut Tx,
    actor: &Actor,
    laboratory: LaboratoryId,
    event: &str,
    detail: &str,
    now: Timestamp,
) -> Result<(), Error> {
    let subject = laboratory.to_string();
    let entry =
        audit::Entry { id: clock::new_id(), at: now, actor: Some(actor.user()), event, subject: &subject, detail };
    Ok(audit::record(tx, &entry).await?)
}
