//! Messages that go out by mail: queued here, in the transaction of what they
//! tell of.

use super::{Refused, field, record};
use crate::error::Error;
use crate::mail::{Corrected, Post, Receipt, To};
use crate::show;
use jiff::{SignedDuration, Timestamp};
use roundel_domain::access::Actor;
use roundel_domain::field::Problem;
use roundel_domain::id::{LaboratoryId, MessageId, ParticipantId};
use roundel_domain::round::{Intake, Round};
use roundel_store::accounts::Contact;
use roundel_store::outbox::{self, Kind};
use roundel_store::participants::{Enrolled, Participant};
use roundel_store::{Tx, accounts, audit, participants, rounds};
use std::collections::{HashMap, HashSet};

/// Within this time a second reminder needs a confirmation.
const RECENT: SignedDuration = SignedDuration::from_hours(24);

fn must_be_set_up(post: &Post) -> Result<(), Error> {
    if post.is_set_up() { Ok(()) } else { Err(Error::conflict("conflict-no-mail")) }
}

fn of_laboratory(line: &Enrolled) -> To<'_> {
    To { laboratory: line.laboratory, laboratory_name: &line.name, email: &line.email, name: "" }
}

/// Queues invitations: of the laboratory with the code `only`, or of all without
/// an account or an open invitation. What is on its way is not queued again. How many.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser, and for a code that the
/// round does not have; a conflict where no mail is set up.
pub async fn invite(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    only: Option<&str>,
    post: &Post,
    now: Timestamp,
) -> Result<usize, Error> {
    actor.may_organise()?;
    must_be_set_up(post)?;
    // Pressing twice queues once.
    rounds::hold(tx, round.id, &round.state).await?;
    let waiting = outbox::on_the_way(tx, round.id, Kind::Invitation).await?;
    let lines = participants::enrolled(tx, round.id).await?;
    if only.is_some_and(|code| lines.iter().all(|line| line.code != code)) {
        return Err(Error::NotFound);
    }
    let mut count = 0;
    for line in lines {
        let wanted = match only {
            Some(code) => line.code == code,
            None => line.invited_until(now).is_none(),
        };
        if wanted && line.people == 0 && !waiting.contains(&line.laboratory) {
            post.invitation(tx, round, of_laboratory(&line), now).await?;
            count += 1;
        }
    }
    if count > 0 {
        record(tx, actor, "invitations-queued", round, &count.to_string(), now).await?;
    }
    Ok(count)
}

/// Who would be reminded.
#[derive(Clone, Debug)]
pub struct Missing {
    /// People of laboratories that have not sent.
    people: Vec<(Contact, String)>,
    /// Laboratories without an account, whose invitation is not on its way.
    uninvited: Vec<Enrolled>,
    /// When the last reminder was queued, if that was a short time ago.
    pub recent: Option<Timestamp>,
}

impl Missing {
    /// How many people have an account and nothing sent.
    pub fn people(&self) -> usize {
        self.people.len()
    }

    /// How many laboratories would be sent an invitation again.
    pub fn uninvited(&self) -> usize {
        self.uninvited.len()
    }
}

/// Who has still to send results, and when they were last reminded.
///
/// # Errors
///
/// A conflict unless the round takes results, or when nobody is missing.
pub async fn missing(tx: &mut Tx, round: &Round, now: Timestamp) -> Result<Missing, Error> {
    if !matches!(round.intake(now), Intake::InTime | Intake::Late) {
        return Err(Error::conflict("conflict-remind"));
    }
    let progress = participants::progress(tx, round.id).await?;
    let silent: HashSet<&str> = progress.iter().filter(|p| p.version == 0).map(|p| p.code.as_str()).collect();
    let waiting = outbox::on_the_way(tx, round.id, Kind::Invitation).await?;
    let enrolled = participants::enrolled(tx, round.id).await?;
    let silent: Vec<Enrolled> = enrolled.into_iter().filter(|line| silent.contains(line.code.as_str())).collect();
    let names: HashMap<LaboratoryId, &str> = silent.iter().map(|line| (line.laboratory, line.name.as_str())).collect();
    let people: Vec<(Contact, String)> = accounts::of_round(tx, round.id)
        .await?
        .into_iter()
        .filter_map(|contact| names.get(&contact.laboratory).map(|name| (contact.clone(), (*name).to_owned())))
        .collect();
    let uninvited: Vec<Enrolled> =
        silent.into_iter().filter(|line| line.people == 0 && !waiting.contains(&line.laboratory)).collect();
    if people.is_empty() && uninvited.is_empty() {
        return Err(Error::conflict("conflict-nobody-missing"));
    }
    let record = audit::of(tx, &round.id.to_string()).await?;
    let last = record.iter().rev().find(|line| line.event == "round-reminded").map(audit::Line::at);
    let recent = last.filter(|at| now.duration_since(*at) < RECENT);
    Ok(Missing { people, uninvited, recent })
}

/// Reminds everybody of a laboratory that has sent nothing, and invites again
/// where there is nobody; how many messages are queued.
///
/// # Errors
///
/// A conflict as of [`missing`], or where no mail is set up; a second reminder
/// within 24 hours that is not `confirmed`.
pub async fn remind(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    confirmed: bool,
    post: &Post,
    now: Timestamp,
) -> Result<usize, Refused> {
    actor.may_organise()?;
    must_be_set_up(post)?;
    if !rounds::hold(tx, round.id, &round.state).await? {
        return Err(Error::conflict("conflict-remind").into());
    }
    let missing = missing(tx, round, now).await?;
    if let Some(at) = missing.recent.filter(|_| !confirmed) {
        let at = show::instant(at, &round.time_zone);
        return Err(field("confirm", Problem::new("reminder-recent").with("at", at)));
    }
    for (contact, laboratory) in &missing.people {
        post.reminder(tx, round, of_person(contact, laboratory), now).await?;
    }
    for line in &missing.uninvited {
        post.invitation(tx, round, of_laboratory(line), now).await?;
    }
    let count = missing.people() + missing.uninvited();
    record(tx, actor, "round-reminded", round, &count.to_string(), now).await?;
    Ok(count)
}

fn of_person<'a>(contact: &'a Contact, laboratory: &'a str) -> To<'a> {
    To { laboratory: contact.laboratory, laboratory_name: laboratory, email: &contact.email, name: &contact.name }
}

/// Queues the receipt for the person who sent.
pub(super) async fn receipt(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    participant: &Participant,
    receipt: Receipt<'_>,
    post: &Post,
    now: Timestamp,
) -> Result<(), Error> {
    if !post.is_set_up() {
        return Ok(());
    }
    let person = accounts::by_id(tx, actor.user()).await?.ok_or(Error::NotFound)?;
    let to = To {
        laboratory: participant.laboratory,
        laboratory_name: &participant.name,
        email: &person.email,
        name: &person.name,
    };
    Ok(post.receipt(tx, round, to, receipt, now).await?)
}

/// Queues the news for everybody of every laboratory of the round, that scores are
/// published or corrected; to how many people.
pub(super) async fn publication(
    tx: &mut Tx,
    round: &Round,
    corrected: bool,
    post: &Post,
    now: Timestamp,
) -> Result<i64, Error> {
    if !post.is_set_up() {
        return Ok(0);
    }
    let mut count = 0;
    let enrolled = participants::of_round(tx, round.id).await?;
    let parts: HashMap<LaboratoryId, &Participant> = enrolled.iter().map(|p| (p.laboratory, p)).collect();
    let progress = participants::progress(tx, round.id).await?;
    let sent: HashSet<&str> = progress.iter().filter(|p| p.version > 0).map(|p| p.code.as_str()).collect();
    for contact in accounts::of_round(tx, round.id).await? {
        let Some(part) = parts.get(&contact.laboratory) else { continue };
        let to = of_person(&contact, &part.name);
        if corrected {
            post.correction(tx, round, to, now).await?;
        } else {
            post.publication(tx, round, to, sent.contains(part.code.as_str()), now).await?;
        }
        count += 1;
    }
    Ok(count)
}

/// Queues the news of an answer for everybody of every laboratory of the round.
pub(super) async fn answer(tx: &mut Tx, round: &Round, post: &Post, now: Timestamp) -> Result<(), Error> {
    if !post.is_set_up() {
        return Ok(());
    }
    let enrolled = participants::of_round(tx, round.id).await?;
    let names: HashMap<LaboratoryId, &str> = enrolled.iter().map(|p| (p.laboratory, p.name.as_str())).collect();
    for contact in accounts::of_round(tx, round.id).await? {
        let Some(name) = names.get(&contact.laboratory) else { continue };
        post.answer(tx, round, of_person(&contact, name), now).await?;
    }
    Ok(())
}

/// Queues the request to confirm results for everybody of a laboratory.
pub(super) async fn clarification(
    tx: &mut Tx,
    round: &Round,
    participant: &Participant,
    post: &Post,
    now: Timestamp,
) -> Result<(), Error> {
    if !post.is_set_up() {
        return Ok(());
    }
    for contact in accounts::of_round(tx, round.id).await? {
        if contact.laboratory == participant.laboratory {
            post.clarification(tx, round, of_person(&contact, &participant.name), now).await?;
        }
    }
    Ok(())
}

/// Queues the news of a later deadline, at the same time for everybody of every
/// laboratory of the round; for a laboratory without an account to its address.
pub(super) async fn deadline(
    tx: &mut Tx,
    round: &Round,
    before: Timestamp,
    reason: &str,
    post: &Post,
    now: Timestamp,
) -> Result<(), Error> {
    if !post.is_set_up() {
        return Ok(());
    }
    let contacts = accounts::of_round(tx, round.id).await?;
    for part in participants::of_round(tx, round.id).await? {
        let own: Vec<&Contact> = contacts.iter().filter(|contact| contact.laboratory == part.laboratory).collect();
        for contact in &own {
            post.deadline(tx, round, of_person(contact, &part.name), before, reason, now).await?;
        }
        if own.is_empty() {
            let (email, name) = (&part.email, &part.name);
            let to = To { laboratory: part.laboratory, laboratory_name: name, email, name };
            post.deadline(tx, round, to, before, reason, now).await?;
        }
    }
    Ok(())
}

/// Queues the news of a withdrawal for everybody of every laboratory of the round.
pub(super) async fn withdrawal(
    tx: &mut Tx,
    round: &Round,
    what: &str,
    reason: &str,
    post: &Post,
    now: Timestamp,
) -> Result<(), Error> {
    if !post.is_set_up() {
        return Ok(());
    }
    let enrolled = participants::of_round(tx, round.id).await?;
    let names: HashMap<LaboratoryId, &str> = enrolled.iter().map(|p| (p.laboratory, p.name.as_str())).collect();
    for contact in accounts::of_round(tx, round.id).await? {
        let Some(name) = names.get(&contact.laboratory) else { continue };
        post.withdrawal(tx, round, of_person(&contact, name), (what, reason), now).await?;
    }
    Ok(())
}

/// Queues the news of a corrected report for everybody who had the one that it
/// replaces: all of every laboratory of the round; for a laboratory without an account
/// to its address. The participants, each with the number of messages to it: all are
/// told by a page, also where no mail is set up.
pub(super) async fn report_correction(
    tx: &mut Tx,
    round: &Round,
    corrected: Corrected<'_>,
    post: &Post,
    now: Timestamp,
) -> Result<Vec<(ParticipantId, i64)>, Error> {
    let contacts = accounts::of_round(tx, round.id).await?;
    let mut told = Vec::new();
    for part in participants::of_round(tx, round.id).await? {
        let own: Vec<&Contact> = contacts.iter().filter(|contact| contact.laboratory == part.laboratory).collect();
        for contact in &own {
            post.report_correction(tx, round, of_person(contact, &part.name), corrected, now).await?;
        }
        if own.is_empty() {
            let (email, name) = (&part.email, &part.name);
            let to = To { laboratory: part.laboratory, laboratory_name: name, email, name };
            post.report_correction(tx, round, to, corrected, now).await?;
        }
        let messages = if post.is_set_up() { own.len().max(1) as i64 } else { 0 };
        told.push((part.id, messages));
    }
    Ok(told)
}

/// Queues a message again that was given up.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser; a conflict when it was
/// not given up.
pub async fn retry(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    id: MessageId,
    post: &Post,
    now: Timestamp,
) -> Result<(), Error> {
    actor.may_organise()?;
    must_be_set_up(post)?;
    if !outbox::retry(tx, round.id, id, now).await? {
        return Err(Error::conflict("conflict-message"));
    }
    record(tx, actor, "message-retried", round, &id.to_string(), now).await
}
