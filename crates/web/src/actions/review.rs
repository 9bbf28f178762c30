//! Looking through a closed round: what was frozen, and what is said of findings.

use super::evaluation::must_be_in_review;
use super::{Refused, record};
use crate::error::Error;
use crate::{clock, secret};
use jiff::Timestamp;
use roundel_domain::access::Actor;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::raw_set::{Counted, RawSet};
use roundel_domain::round::Round;
use roundel_domain::text;
use roundel_store::participants::Participant;
use roundel_store::results::Sent;
use roundel_store::reviews::{self, NewNote};
use roundel_store::{Tx, audit, participants, results};
use std::collections::HashMap;

/// What counts now. The hashes are made of the texts, not read beside them.
fn counted(round: &Round, participants: &[Participant], all: &[Sent]) -> RawSet {
    let codes: HashMap<_, _> = participants.iter().map(|p| (p.id, p.code.as_str())).collect();
    let counted = |sent: &Sent| Counted {
        participant: codes.get(&sent.participant).copied().unwrap_or_default().to_owned(),
        version: sent.version,
        sha256: secret::sha256(&sent.document),
        late: sent.late,
    };
    RawSet::new(&round.code, all.iter().map(counted).collect())
}

/// The raw set of a closed round; it is frozen here where it was not at closing,
/// by a version of the program that did not do so.
///
/// # Errors
///
/// What the database says.
pub async fn raw_set(tx: &mut Tx, round: &Round, now: Timestamp) -> Result<reviews::RawSet, Error> {
    if round.state.closed_at().is_none() {
        return Err(Error::conflict("conflict-not-closed"));
    }
    match reviews::raw_set(tx, round.id).await? {
        Some(known) => Ok(known),
        None => freeze(tx, round, now).await,
    }
}

/// Freezes the raw set of a round that takes no more results.
///
/// # Errors
///
/// What the database says.
pub(super) async fn freeze(tx: &mut Tx, round: &Round, now: Timestamp) -> Result<reviews::RawSet, Error> {
    let participants = participants::of_round(tx, round.id).await?;
    let all = results::newest_of_round(tx, round.id).await?;
    let text = counted(round, &participants, &all).text();
    let sha256 = secret::sha256(&text);
    reviews::freeze(tx, round.id, &text, &sha256, now).await?;
    let subject = round.id.to_string();
    let entry = audit::Entry {
        id: clock::new_id(),
        at: now,
        actor: None,
        event: "results-frozen",
        subject: &subject,
        detail: &sha256,
    };
    audit::record(tx, &entry).await?;
    reviews::raw_set(tx, round.id).await?.ok_or(Error::NotFound)
}

/// Compares what counts with what was frozen; nothing to compare before closing.
///
/// # Errors
///
/// A conflict that names the codes whose results differ.
pub(super) async fn must_be_as_frozen(
    tx: &mut Tx,
    round: &Round,
    participants: &[Participant],
    all: &[Sent],
) -> Result<(), Error> {
    let Some(frozen) = reviews::raw_set(tx, round.id).await? else { return Ok(()) };
    let corrupt = |_| Error::Fault("read the raw set of a round".to_owned());
    let known = RawSet::parse(&frozen.document).map_err(corrupt)?;
    let differences = known.differences(&counted(round, participants, all));
    let is_whole = secret::sha256(&frozen.document) == frozen.sha256;
    if differences.is_empty() && is_whole {
        return Ok(());
    }
    tracing::error!(round = %round.id, ?differences, is_whole, "results differ from what was frozen at closing");
    let codes = if differences.is_empty() { frozen.sha256 } else { differences.join(", ") };
    Err(Error::Conflict(Problem::new("conflict-raw-set").with("codes", codes)))
}

/// What somebody says of a finding.
#[derive(Clone, Copy, Debug)]
pub struct Note<'a> {
    /// Key of the finding.
    pub finding: &'a str,
    /// Looked at and kept; or opened again.
    pub kept: bool,
    /// Why.
    pub reason: &'a str,
}

/// Writes that a finding was looked at and everything kept, or that it is open
/// again.
///
/// # Errors
///
/// A missing reason; a conflict unless the round is in review.
pub async fn note(tx: &mut Tx, actor: &Actor, round: &Round, note: Note<'_>, now: Timestamp) -> Result<(), Refused> {
    actor.may_evaluate()?;
    must_be_in_review(tx, round).await?;
    let mut errors = FieldErrors::new();
    let reason = text::reason(&mut errors, "reason", note.reason);
    errors.into_result(())?;
    let Note { finding, kept, .. } = note;
    let new =
        NewNote { id: clock::new_id(), round: round.id, finding, kept, reason: &reason, at: now, by: actor.user() };
    reviews::note(tx, &new).await?;
    let event = if kept { "finding-kept" } else { "finding-reopened" };
    record(tx, actor, event, round, &format!("{finding}: {reason}"), now).await?;
    Ok(())
}
