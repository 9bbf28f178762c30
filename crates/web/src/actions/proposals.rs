//! What a paste or a file would change: kept until it is taken over or left,
//! and undone where somebody wants that.

use super::results::{Form, Own, must_take, shown_at};
use crate::clock;
use crate::error::Error;
use jiff::{SignedDuration, Timestamp};
use roundel_domain::access::Actor;
use roundel_domain::draft::{self, Changes};
use roundel_domain::id::ProposalId;
use roundel_domain::result::Typed;
use roundel_domain::unit;
use roundel_store::participants::Participant;
use roundel_store::proposals::{self, NewProposal, Proposal};
use roundel_store::{Tx, drafts, results};
use serde::{Deserialize, Serialize};

/// How long a refused file can be fetched with its errors.
pub const KEPT: SignedDuration = SignedDuration::from_hours(1);

/// What the page of a proposal tells beside the changes.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct Notes {
    /// How cells found their fields; empty for a file.
    pub matched: String,
    /// Places of the measurands that have texts.
    pub positions: Vec<i64>,
    /// Those that stand in another order than in the form.
    pub moved: Vec<i64>,
    /// Cells that no field takes, as many as are told.
    pub outside: Vec<OutsideNote>,
    /// How many cells no field takes.
    pub outside_count: usize,
}

/// A cell that no field takes.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct OutsideNote {
    /// Line of the block.
    pub line: usize,
    /// Column of the block.
    pub column: usize,
    /// What stands there.
    pub seen: String,
    /// Why no field takes it.
    pub sentence: String,
}

/// What is proposed.
#[derive(Clone, Copy, Debug)]
pub struct Proposed<'a> {
    /// `paste`, `file` or `refused`.
    pub kind: &'static str,
    /// Label of the item that was pasted into; empty for a file.
    pub item: &'a str,
    /// Name of the file; empty for a paste.
    pub name: &'a str,
    /// The texts by field.
    pub typed: &'a Typed,
    /// What else the page tells.
    pub notes: &'a Notes,
    /// A refused file with its errors; empty for the others.
    pub content: &'a [u8],
}

/// Keeps what a paste or a file would change, in the place of what was kept for
/// this laboratory before. Nothing that is typed changes.
///
/// # Errors
///
/// A conflict when the round takes no results any more.
pub async fn propose(
    tx: &mut Tx,
    actor: &Actor,
    own: &Own,
    proposed: Proposed<'_>,
    now: Timestamp,
) -> Result<ProposalId, Error> {
    actor.may_enter()?;
    must_take(&own.round, now)?;
    let participant = &own.participant;
    let draft_version = drafts::get(tx, participant.id).await?.version;
    proposals::delete(tx, participant.id, now - KEPT).await?;
    let id = ProposalId(clock::new_id());
    let new = NewProposal {
        id,
        participant: participant.id,
        kind: proposed.kind,
        item: proposed.item,
        name: proposed.name,
        typed: proposed.typed,
        notes: &serde_json::to_string(proposed.notes).map_err(|error| Error::Fault(format!("keep notes: {error}")))?,
        content: proposed.content,
        draft_version,
        at: now,
        by: actor.user(),
    };
    proposals::insert(tx, &new).await?;
    Ok(id)
}

/// What stands in the draft once a proposal is taken over, which was looked at
/// beside `base`. A field that somebody has changed since keeps both texts.
pub fn taken_over(stored: &Typed, base: &Typed, proposed: &Typed, own: &Own) -> Typed {
    let mut typed = draft::merge(stored, base, proposed);
    typed.settle_forms(&own.items, &own.measurands);
    typed
}

/// The proposal of this name, if it is the participant's own and still there.
///
/// # Errors
///
/// [`Error::NotFound`] for any other.
pub async fn find(tx: &mut Tx, participant: &Participant, id: ProposalId) -> Result<Proposal, Error> {
    let found = proposals::of_participant(tx, participant.id, id).await?;
    found.filter(|found| found.kind != "refused").ok_or(Error::NotFound)
}

/// Takes a proposal over into what is typed. `base` is the version of the draft
/// beside which it was looked at.
///
/// # Errors
///
/// [`Error::NotFound`] for a proposal that is not there any more; a conflict when
/// the round takes no results any more, or the unit was changed since.
pub async fn take(
    tx: &mut Tx,
    actor: &Actor,
    own: &Own,
    id: ProposalId,
    base: Option<i64>,
    now: Timestamp,
) -> Result<(), Error> {
    actor.may_enter()?;
    must_take(&own.round, now)?;
    let participant = own.participant.id;
    results::hold(tx, participant).await?;
    let proposal = find(tx, &own.participant, id).await?;
    let stored = drafts::get(tx, participant).await?;
    let shown =
        shown_at(tx, participant, &stored, Form { word: "", base: Some(base.unwrap_or(proposal.draft_version)) })
            .await?;
    let before = shown_at(tx, participant, &stored, Form { word: "", base: Some(proposal.draft_version) }).await?;
    if unit::choices(&own.measurands).iter().any(|choice| before.get(&choice.field) != stored.typed.get(&choice.field))
    {
        return Err(Error::conflict("conflict-proposal-unit"));
    }
    let typed = taken_over(&stored.typed, &shown, &proposal.typed()?, own);
    if !proposals::take(tx, id, &Changes::between(&stored.typed, &typed), now).await? {
        // The same form twice: it is done.
        return Ok(());
    }
    drafts::save(tx, participant, &stored, &typed, (actor.user(), ""), now).await?;
    Ok(())
}

/// Brings back what stood in the fields before a proposal was taken over, where
/// they have not changed since; whether that was everywhere.
///
/// # Errors
///
/// [`Error::NotFound`] for a proposal that is not there any more; a conflict when
/// the round takes no results any more.
pub async fn undo(tx: &mut Tx, actor: &Actor, own: &Own, id: ProposalId, now: Timestamp) -> Result<bool, Error> {
    actor.may_enter()?;
    must_take(&own.round, now)?;
    let participant = own.participant.id;
    results::hold(tx, participant).await?;
    let proposal = find(tx, &own.participant, id).await?;
    if !proposals::undo(tx, id, now).await? {
        return Ok(true);
    }
    let stored = drafts::get(tx, participant).await?;
    let mut typed = stored.typed.clone();
    let mut everywhere = true;
    for (field, (before, after)) in &proposal.changes()?.0 {
        if stored.typed.get(field) == after.trim() {
            typed.set(field, before);
        } else {
            everywhere = false;
        }
    }
    drafts::save(tx, participant, &stored, &typed, (actor.user(), ""), now).await?;
    Ok(everywhere)
}

/// Leaves everything as it is.
///
/// # Errors
///
/// What the database says.
pub async fn leave(tx: &mut Tx, actor: &Actor, participant: &Participant, now: Timestamp) -> Result<(), Error> {
    actor.may_enter()?;
    Ok(proposals::delete(tx, participant.id, now - KEPT).await?)
}
