//! Decisions on results (D20): what they would change is computed before they are
//! written, and kept with them.

use super::evaluation::{Gathered, gather, must_be_in_review};
use super::{Refused, record, review};
use crate::error::Error;
use crate::{ENGINE, clock};
use jiff::Timestamp;
use roundel_domain::access::Actor;
use roundel_domain::assemble::ResultLayer;
use roundel_domain::decision::{self, Cause, Effect, Kind};
use roundel_domain::evaluation::evaluate;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::id::DecisionId;
use roundel_domain::review::{Cell, id_of};
use roundel_domain::round::Round;
use roundel_domain::text;
use roundel_store::results::{self, NewDecision};
use roundel_store::{Tx, participants};
use std::collections::HashSet;

/// What a decision lays over a result; nothing where it is kept.
pub(super) fn layer(kind: Kind, reason: &str) -> Option<ResultLayer> {
    kind.excludes().then(|| ResultLayer { exclude: kind.printed(reason), scored: kind.is_scored() })
}

/// A decision on results as typed.
#[derive(Clone, Debug, Default)]
pub struct DecisionForm {
    /// The results.
    pub cells: Vec<Cell>,
    /// A word of [`Kind`].
    pub kind: String,
    /// A word of [`Cause`].
    pub cause: String,
    /// Why.
    pub reason: String,
    /// Keys of the findings that speak for it.
    pub findings: Vec<String>,
}

/// A decision that can be written.
#[derive(Clone, Debug)]
pub struct Parsed {
    /// The results.
    pub cells: Vec<Cell>,
    /// What is decided.
    pub kind: Kind,
    /// What speaks for it.
    pub cause: Cause,
    /// Why.
    pub reason: String,
    /// Keys of the findings that speak for it.
    pub findings: Vec<String>,
}

impl DecisionForm {
    /// Reads the form.
    ///
    /// # Errors
    ///
    /// Every field that is not as it should be.
    pub fn parse(&self, round: &Round) -> Result<Parsed, FieldErrors> {
        let mut errors = FieldErrors::new();
        let kind = Kind::of(&self.kind);
        if kind.is_none() {
            errors.push("kind", Problem::new("decision-kind-missing"));
        }
        if kind == Some(Kind::Withdrawn) && round.is_published() {
            errors.push("kind", Problem::new("decision-withdrawn-late"));
        }
        let cause = Cause::of(&self.cause);
        if cause.is_none() {
            errors.push("cause", Problem::new("decision-cause-missing"));
        }
        let reason = text::reason(&mut errors, "reason", &self.reason);
        if self.cells.is_empty() {
            errors.push("on", Problem::new("decision-cells-missing"));
        }
        match (kind, cause) {
            (Some(kind), Some(cause)) if errors.is_empty() => {
                Ok(Parsed { cells: self.cells.clone(), kind, cause, reason, findings: self.findings.clone() })
            }
            _ => Err(errors),
        }
    }
}

/// What a decision would change. Nothing is written.
///
/// # Errors
///
/// As [`gather`].
pub async fn effect(tx: &mut Tx, round: &Round, decision: &Parsed) -> Result<Effect, Error> {
    let before = gather(tx, round).await?;
    Ok(effect_on(round, before, decision))
}

fn effect_on(round: &Round, mut gathered: Gathered, decision: &Parsed) -> Effect {
    let before = evaluate(&gathered.package(round), ENGINE);
    for cell in &decision.cells {
        match layer(decision.kind, &decision.reason) {
            Some(layer) => gathered.layers.results.insert(cell.clone(), layer),
            None => gathered.layers.results.remove(cell),
        };
    }
    let after = evaluate(&gathered.package(round), ENGINE);
    let positions: HashSet<i64> = decision.cells.iter().map(|(_, position)| *position).collect();
    let touched: Vec<String> = gathered
        .measurands
        .iter()
        .filter(|m| positions.contains(&m.position))
        .map(|m| id_of(&gathered.items, m))
        .collect();
    decision::effect(&before, &after, &touched)
}

/// Writes a decision on results with what it changes; evaluations made before do
/// not have it. The numbers themselves are never touched.
///
/// # Errors
///
/// Fields that are not as they should be; a conflict unless the round is in review;
/// [`Error::NotFound`] for a result that nobody sent.
pub async fn decide(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    form: &DecisionForm,
    now: Timestamp,
) -> Result<(), Refused> {
    actor.may_evaluate()?;
    must_be_in_review(tx, round).await?;
    let decision = form.parse(round)?;
    review::raw_set(tx, round, now).await?;
    let gathered = gather(tx, round).await?;
    let people = participants::of_round(tx, round.id).await?;
    let mut found = Vec::new();
    for (code, position) in &decision.cells {
        let participant = people.iter().find(|p| p.code == *code).ok_or(Error::NotFound)?;
        let measurand = gathered.measurands.iter().find(|m| m.position == *position).ok_or(Error::NotFound)?;
        let sent = gathered.contributions.iter().find(|c| c.code == *code).ok_or(Error::NotFound)?;
        sent.entries.iter().find(|entry| entry.position == *position).ok_or(Error::NotFound)?;
        found.push((participant.id, measurand.id));
    }
    let effect = serde_json::to_string(&effect_on(round, gathered, &decision))
        .map_err(|_| Error::Fault("write the effect of a decision".to_owned()))?;
    let (batch, evidence) = (clock::new_id(), decision.findings.join("\n"));
    for (index, (participant, measurand)) in found.into_iter().enumerate() {
        let new = NewDecision {
            id: DecisionId(clock::new_id()),
            participant,
            measurand,
            kind: decision.kind,
            cause: decision.cause,
            evidence: &evidence,
            batch,
            // Once for all that is decided together.
            effect: if index == 0 { &effect } else { "" },
            reason: &decision.reason,
            at: now,
            by: actor.user(),
        };
        results::decide(tx, &new).await?;
    }
    let mut codes: Vec<&str> = decision.cells.iter().map(|(code, _)| code.as_str()).collect();
    codes.dedup();
    let detail =
        format!("{} × {}, {}: {}", codes.join(", "), decision.cells.len(), decision.kind.word(), decision.reason);
    record(tx, actor, "results-decided", round, &detail, now).await?;
    Ok(())
}
