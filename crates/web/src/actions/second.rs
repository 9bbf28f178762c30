//! A second pair of eyes: where a laboratory wants it, results are sent by
//! somebody who typed none of them.

use super::results::Own;
use super::{Refused, field};
use crate::error::Error;
use jiff::Timestamp;
use roundel_domain::access::{Actor, Rights, is_second_person};
use roundel_domain::declared;
use roundel_domain::field::Problem;
use roundel_domain::id::UserId;
use roundel_store::drafts::{self, Draft, Saving};
use roundel_store::people::{self, Person};
use roundel_store::{Tx, results};

/// Who typed what would be sent, and who may send it.
#[derive(Clone, Debug)]
pub struct Senders {
    /// Whether the laboratory wants a second person.
    pub wants_second: bool,
    /// Who typed what changed since the draft was last sent, by name. Known only
    /// where a second person is wanted.
    pub typists: Vec<(UserId, String)>,
    /// The people with access who may send it, by name.
    pub able: Vec<(UserId, String)>,
}

impl Senders {
    /// The names of people, in one line.
    pub fn names(people: &[(UserId, String)]) -> String {
        people.iter().map(|(_, name)| name.as_str()).collect::<Vec<_>>().join(", ")
    }

    /// Whether this person typed something of it.
    pub fn typed(&self, user: UserId) -> bool {
        self.typists.iter().any(|(id, _)| *id == user)
    }

    /// Whether this person may send it.
    pub fn may_send(&self, user: UserId) -> bool {
        self.able.iter().any(|(id, _)| *id == user)
    }
}

/// Who can send the draft of a participant.
///
/// # Errors
///
/// What the database says.
pub async fn senders(tx: &mut Tx, own: &Own, stored: &Draft, now: Timestamp) -> Result<Senders, Error> {
    let laboratory = own.participant.laboratory;
    let wants_second = people::wants_second(tx, laboratory).await?;
    let typists = if wants_second { typists(tx, own, stored, now).await? } else { Vec::new() };
    let ids: Vec<UserId> = typists.iter().map(|(id, _)| *id).collect();
    let sends =
        |person: &Person| person.is_active() && person.rights() >= Rights::Submit && is_second_person(person.id, &ids);
    let people = people::of_laboratory(tx, laboratory).await?;
    let able = people.into_iter().filter(sends).map(|person| (person.id, person.name)).collect();
    Ok(Senders { wants_second, typists, able })
}

/// Refuses a sending by somebody who typed something of it, where the laboratory
/// wants a second person. What a program sends was typed by whoever it acts for,
/// unless it `is_draft` that others typed.
///
/// # Errors
///
/// Who typed, as a problem of the field `second`; for a program as a conflict.
pub async fn must_be(
    tx: &mut Tx,
    actor: &Actor,
    own: &Own,
    stored: &Draft,
    by_program: bool,
    is_draft: bool,
    now: Timestamp,
) -> Result<(), Refused> {
    if !people::wants_second(tx, own.participant.laboratory).await? {
        return Ok(());
    }
    let senders = senders(tx, own, stored, now).await?;
    if by_program && !is_draft {
        return Err(Error::conflict("conflict-second-program").into());
    }
    if !senders.typed(actor.user()) {
        return Ok(());
    }
    let problem = refusal(&senders);
    if by_program { Err(Error::Conflict(problem).into()) } else { Err(field("second", problem)) }
}

/// Why somebody who typed cannot send, and who can.
fn refusal(senders: &Senders) -> Problem {
    let typists = Senders::names(&senders.typists);
    if senders.able.is_empty() {
        return Problem::new("second-nobody").with("typists", typists);
    }
    Problem::new("second-typed").with("typists", typists).with("able", Senders::names(&senders.able))
}

/// Who typed what changed since the draft was last sent, by name.
async fn typists(tx: &mut Tx, own: &Own, stored: &Draft, now: Timestamp) -> Result<Vec<(UserId, String)>, Error> {
    let savings = drafts::since(tx, own.participant.id, 0).await?;
    let sent = last_sent_from_draft(tx, own, stored, &savings, now).await?;
    // Answers to the questions of the check page are given by whoever checks: they
    // are no typing.
    let counts = |saving: &&Saving| {
        sent.is_none_or(|sent| saving.at > sent) && saving.changes.0.keys().any(|field| !declared::is_answer(field))
    };
    let mut typists: Vec<(UserId, String)> = Vec::new();
    for saving in savings.iter().filter(counts) {
        if typists.iter().all(|(id, _)| *id != saving.by) {
            typists.push((saving.by, saving.name.clone()));
        }
    }
    typists.sort_by(|a, b| a.1.cmp(&b.1));
    Ok(typists)
}

/// When the draft, as it then was, was last sent. A program may have sent other
/// results while a draft waited; who typed that draft has still typed it.
async fn last_sent_from_draft(
    tx: &mut Tx,
    own: &Own,
    stored: &Draft,
    savings: &[Saving],
    now: Timestamp,
) -> Result<Option<Timestamp>, Error> {
    let mut typed = stored.typed.clone();
    let mut later = savings.iter().rev().peekable();
    for sent in results::of_participant(tx, own.participant.id).await?.iter().rev() {
        while let Some(saving) = later.next_if(|saving| saving.at > sent.submitted_at()) {
            saving.changes.undo(&mut typed);
        }
        if own.read(&typed, now).sheet.entries == sent.submission()?.results {
            return Ok(Some(sent.submitted_at()));
        }
    }
    Ok(None)
}
