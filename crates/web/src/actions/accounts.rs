//! Set-up, invitations, sessions.

use super::{Refused, field, keys};
use crate::clock;
use crate::error::Error;
use crate::secret::{self, LONGEST_PASSWORD, SHORTEST_PASSWORD};
use crate::state::App;
use jiff::{SignedDuration, Timestamp};
use roundel_domain::access::{Actor, Duty, Rights, Standing};
use roundel_domain::field::{FieldErrors, Problem, parse_email};
use roundel_domain::id::{LaboratoryId, UserId};
use roundel_domain::text;
use roundel_store::accounts::{self, Invitation, NewInvitation, NewUser};
use roundel_store::installation::{self, Installation};
use roundel_store::people::{self, Return};
use roundel_store::{Tx, audit, tokens};

/// How long a set-up link is open.
pub const SETUP_OPEN: SignedDuration = SignedDuration::from_mins(60);
/// How long an invitation is open.
pub const INVITATION_OPEN: SignedDuration = SignedDuration::from_hours(14 * 24);
/// How long a session lasts.
pub const SESSION_LASTS: SignedDuration = SignedDuration::from_hours(12);

/// Makes a set-up link's token, unless set-up is over.
///
/// # Errors
///
/// What the database says.
pub async fn offer_setup(tx: &mut Tx, now: Timestamp) -> Result<Option<String>, Error> {
    let token = secret::token();
    let offered = installation::offer_setup(tx, &secret::token_hash(&token), now + SETUP_OPEN).await?;
    Ok(offered.then_some(token))
}

/// What is typed at set-up.
#[derive(Clone, Debug, Default)]
pub struct SetupForm {
    /// The provider's name as printed.
    pub provider: String,
    /// How to reach it, as printed.
    pub contact: String,
    /// Its accreditation status, as printed; may be empty.
    pub accreditation: String,
    /// Name of the first organiser.
    pub name: String,
    /// Address of the first organiser.
    pub email: String,
    /// Password of the first organiser.
    pub password: String,
}

/// Sets the installation up: the provider, the key that signs, and the first
/// organiser. The link is dead afterwards.
///
/// # Errors
///
/// [`Error::NotFound`] for a link that is not open; every field that is not as
/// it should be.
pub async fn set_up(
    tx: &mut Tx,
    token: &str,
    form: &SetupForm,
    demonstration: bool,
    now: Timestamp,
) -> Result<UserId, Refused> {
    let hash = secret::token_hash(token);
    if !installation::setup_is_open(tx, &hash, now).await? {
        return Err(Error::NotFound.into());
    }
    let mut errors = FieldErrors::new();
    let provider = text::line(&mut errors, "provider", &form.provider, true);
    let contact = text::page(&mut errors, "contact", &form.contact);
    let accreditation = text::line(&mut errors, "accreditation", &form.accreditation, false);
    let name = text::line(&mut errors, "name", &form.name, true);
    let email = errors.keep("email", parse_email(&form.email)).unwrap_or_default().to_lowercase();
    check_password(&mut errors, &form.password, &[&provider, &name, &email]);
    errors.into_result(())?;
    let installation = Installation { provider, contact, accreditation, demonstration };
    if !installation::finish_setup(tx, &hash, &installation, now).await? {
        return Err(Error::NotFound.into());
    }
    keys::signing(tx, now).await?;
    add_person(tx, &name, &email, &form.password, Standing::Staff(Duty::Organiser), now).await
}

/// Adds a person with a password.
pub(super) async fn add_person(
    tx: &mut Tx,
    name: &str,
    email: &str,
    password: &str,
    standing: Standing,
    now: Timestamp,
) -> Result<UserId, Refused> {
    if accounts::by_email(tx, email).await?.is_some() {
        return Err(field("email", Problem::new("account-exists").with("seen", email)));
    }
    let id = UserId(clock::new_id());
    let password_hash = secret::hash_password(password.to_owned()).await;
    let user = NewUser { id, email, name, password_hash: &password_hash, standing };
    match accounts::insert(tx, &user, now).await {
        // The same form twice at once, or two links to one address.
        Err(roundel_store::Error::Exists) => return Err(Error::conflict("conflict-account-made").into()),
        inserted => inserted?,
    }
    let entry = audit::Entry {
        id: clock::new_id(),
        at: now,
        actor: Some(id),
        event: "account-made",
        subject: &id.to_string(),
        detail: "",
    };
    audit::record(tx, &entry).await?;
    Ok(id)
}

/// Length, and no word that anybody would try first.
pub(super) fn check_password(errors: &mut FieldErrors, password: &str, context: &[&str]) {
    let length = password.chars().count();
    let lower = password.to_lowercase();
    if length < SHORTEST_PASSWORD {
        let problem = Problem::new("password-short").with("count", length).with("least", SHORTEST_PASSWORD);
        errors.push("password", problem);
    } else if length > LONGEST_PASSWORD {
        errors.push("password", Problem::new("password-long").with("most", LONGEST_PASSWORD));
    } else if context.iter().any(|word| !word.is_empty() && lower == word.to_lowercase()) || is_common(&lower) {
        errors.push("password", Problem::new("password-common"));
    }
}

/// Whether nothing is left of a password without digits, signs, and words that
/// everybody tries, or whether it is a run or a few characters over and over.
fn is_common(lower: &str) -> bool {
    const WORDS: [&str; 22] = [
        "password",
        "passwort",
        "passwd",
        "motdepasse",
        "contrasena",
        "qwertyuiop",
        "qwertzuiop",
        "qwerty",
        "qwertz",
        "azerty",
        "asdfghjkl",
        "letmein",
        "welcome",
        "iloveyou",
        "administrator",
        "admin",
        "secret",
        "changeme",
        "roundel",
        "laboratory",
        "labor",
        "organiser",
    ];
    let mut letters: String = lower.chars().filter(|c| c.is_alphabetic()).collect();
    for word in WORDS {
        letters = letters.replace(word, "");
    }
    let mut different: Vec<char> = lower.chars().collect();
    different.sort_unstable();
    different.dedup();
    let codes: Vec<i64> = lower.chars().map(|c| i64::from(u32::from(c))).collect();
    let run = codes.windows(2).filter(|pair| (pair[1] - pair[0]).abs() <= 1).count();
    letters.chars().count() < 3 || different.len() < 5 || run * 4 >= codes.len() * 3
}

/// Accepts an invitation: the person has an account of the laboratory with the
/// rights of the invitation, the link is used up, and the other links of the same
/// invitation end. Where a colleague invited, the account has the address that
/// was invited, whatever `email` says.
///
/// # Errors
///
/// [`Error::NotFound`] for a link that is not open; every field that is not as
/// it should be.
pub async fn accept(
    tx: &mut Tx,
    token: &str,
    name: &str,
    email: &str,
    password: &str,
    now: Timestamp,
) -> Result<UserId, Refused> {
    let hash = secret::token_hash(token);
    let invitation = accounts::invitation(tx, &hash, now).await?.ok_or(Error::NotFound)?;
    let mut errors = FieldErrors::new();
    let name = text::line(&mut errors, "name", name, true);
    let email = match invitation.is_personal() {
        true => invitation.email.clone(),
        false => errors.keep("email", parse_email(email)).unwrap_or_default().to_lowercase(),
    };
    check_password(&mut errors, password, &[&name, &email, &invitation.name]);
    errors.into_result(())?;
    let user = match come_back(tx, &invitation, &name, password, now).await? {
        Some(user) => user,
        None => {
            if invitation.is_personal() && accounts::by_email(tx, &email).await?.is_some() {
                return Err(field("email", Problem::new("invitation-taken").with("seen", &email)));
            }
            let standing = Standing::Laboratory(invitation.laboratory_id, invitation.rights());
            let user = add_person(tx, &name, &email, password, standing, now).await?;
            note_coming(tx, &invitation, "person-joined", user, &name, now).await?;
            user
        }
    };
    if !accounts::use_invitation(tx, &hash, now).await? {
        return Err(Error::NotFound.into());
    }
    // Each try to send an invitation made a link of its own.
    if invitation.is_personal() {
        people::withdraw(tx, invitation.laboratory_id, &email, now).await?;
    } else {
        accounts::end_invitations(tx, invitation.laboratory_id, now).await?;
    }
    Ok(user)
}

/// Opens the account of somebody whose access to this laboratory had ended and
/// whose address a colleague invited; none where there is no such account.
async fn come_back(
    tx: &mut Tx,
    invitation: &Invitation,
    name: &str,
    password: &str,
    now: Timestamp,
) -> Result<Option<UserId>, Error> {
    if !invitation.is_personal() {
        return Ok(None);
    }
    let known = accounts::by_email(tx, &invitation.email).await?;
    let own = |user: &accounts::User| user.has_ended() && user.actor().laboratory() == Some(invitation.laboratory_id);
    let Some(user) = known.filter(own) else { return Ok(None) };
    let password_hash = secret::hash_password(password.to_owned()).await;
    let back = Return { user: user.id, name, password_hash: &password_hash, rights: invitation.rights() };
    people::take_back(tx, invitation.laboratory_id, &back).await?;
    // What was open before stays shut.
    accounts::end_sessions_of(tx, user.id).await?;
    tokens::revoke_all(tx, user.id, now).await?;
    note_coming(tx, invitation, "person-returned", user.id, name, now).await?;
    Ok(Some(user.id))
}

async fn note_coming(
    tx: &mut Tx,
    invitation: &Invitation,
    event: &str,
    user: UserId,
    name: &str,
    now: Timestamp,
) -> Result<(), Error> {
    let entry = audit::Entry {
        id: clock::new_id(),
        at: now,
        actor: Some(user),
        event,
        subject: &invitation.laboratory_id.to_string(),
        detail: &format!("{name} ({})", invitation.rights().word()),
    };
    Ok(audit::record(tx, &entry).await?)
}

/// Begins a session; the token of its cookie.
///
/// # Errors
///
/// What the database says.
pub async fn begin_session(tx: &mut Tx, user: UserId, now: Timestamp) -> Result<String, Error> {
    accounts::forget_ended_sessions(tx, now).await?;
    let token = secret::token();
    accounts::begin_session(tx, &secret::token_hash(&token), user, &secret::token(), now, now + SESSION_LASTS).await?;
    Ok(token)
}

/// Makes a new invitation for a laboratory; older ones end. The token is shown
/// once and kept only as a hash.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser.
pub async fn invite(tx: &mut Tx, actor: &Actor, laboratory: LaboratoryId, now: Timestamp) -> Result<String, Error> {
    actor.may_organise()?;
    accounts::end_invitations(tx, laboratory, now).await?;
    let token = secret::token();
    let new = NewInvitation {
        token_hash: &secret::token_hash(&token),
        laboratory,
        email: None,
        rights: Rights::Submit,
        by: Some(actor.user()),
        expires_at: now + INVITATION_OPEN,
    };
    accounts::invite(tx, &new, now).await?;
    let entry = audit::Entry {
        id: clock::new_id(),
        at: now,
        actor: Some(actor.user()),
        event: "laboratory-invited",
        subject: &laboratory.to_string(),
        detail: "",
    };
    audit::record(tx, &entry).await?;
    Ok(token)
}

/// Asks once more whether it is the person of the account who acts, before what
/// cannot be taken back. Wrong passwords make the next try slow, as for signing
/// in. Before a transaction begins: this takes its time.
///
/// # Errors
///
/// A wrong password, of the field `password`.
pub async fn confirm_password(app: &App, actor: &Actor, password: &str) -> Result<(), Refused> {
    let user = accounts::by_id(&mut app.db.read().await?, actor.user()).await?.ok_or(Error::NotFound)?;
    tokio::time::sleep(app.throttle.wait(&user.email, app.clock.now())).await;
    let typed: String = password.chars().take(LONGEST_PASSWORD).collect();
    if typed.is_empty() {
        return Err(field("password", Problem::new("text-missing")));
    }
    if !secret::verify_password(typed, Some(user.password_hash)).await {
        app.throttle.wrong(&user.email, app.clock.now());
        return Err(field("password", Problem::new("password-wrong")));
    }
    app.throttle.right(&user.email);
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn passwords_that_everybody_tries_are_refused() {
        for password in
            ["password1234", "passwordpassword", "aaaaaaaaaaaa", "123456789012", "abcdefghijklm", "Qwerty!2345678"]
        {
            assert!(is_common(&password.to_lowercase()), "{password}");
        }
        for password in ["paper boat on a quiet mere", "korrekt pferd batterie", "x7#Kq9!mRt2vLw"] {
            assert!(!is_common(&password.to_lowercase()), "{password}");
        }
    }
}
