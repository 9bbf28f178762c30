//! Complaints and appeals: received and acknowledged at once, investigated and
//! decided by people who had no part in the work. Nothing here changes a result or
//! an evaluation; what follows from an outcome is a correction of its own.

use super::{Refused, field, record};
use crate::clock;
use crate::error::Error;
use jiff::Timestamp;
use roundel_domain::access::{Actor, Denied, is_uninvolved};
use roundel_domain::case::{self, Kind, Outcome, Step};
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::id::{CaseId, ParticipantId, UserId};
use roundel_domain::round::Round;
use roundel_domain::text;
use roundel_store::cases::{self, Case, NewCase, NewStep, Stepped};
use roundel_store::staff::{self, Member};
use roundel_store::{Tx, verdicts};

/// What is typed for a complaint or appeal.
#[derive(Clone, Debug, Default, serde::Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct CaseForm {
    /// The word of the kind.
    pub kind: String,
    /// What it is about, in a line.
    pub subject: String,
    /// What is said.
    pub statement: String,
}

/// Receives a complaint or appeal: of a laboratory of the round, or an anonymous
/// complaint that the organiser types.
///
/// # Errors
///
/// Every field that is not as it should be; an appeal before there is anything
/// published to appeal against, or without a name.
pub async fn receive(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    participant: Option<ParticipantId>,
    form: &CaseForm,
    now: Timestamp,
) -> Result<i64, Refused> {
    match participant {
        Some(_) => {
            actor.may_submit()?;
        }
        None => actor.may_organise()?,
    }
    let mut errors = FieldErrors::new();
    let kind = Kind::of(&form.kind);
    match kind {
        None => errors.push("kind", Problem::new("case-kind-missing")),
        Some(Kind::Appeal) if participant.is_none() => errors.push("kind", Problem::new("case-appeal-anonymous")),
        Some(Kind::Appeal) if !round.is_published() => errors.push("kind", Problem::new("case-appeal-early")),
        Some(_) => {}
    }
    let subject = text::line(&mut errors, "subject", &form.subject, true);
    let statement = text::reason(&mut errors, "statement", &form.statement);
    errors.into_result(())?;
    let number = cases::of_round(tx, round.id).await?.len() as i64 + 1;
    let new = NewCase {
        id: CaseId(clock::new_id()),
        round: round.id,
        number,
        kind: kind.unwrap_or(Kind::Complaint),
        participant,
        subject: &subject,
        statement: &statement,
        at: now,
        by: actor.user(),
    };
    match cases::insert(tx, &new).await {
        // Two at once: the second tries again under the next number.
        Err(roundel_store::Error::Exists) => return Err(Error::conflict("conflict-case-number").into()),
        inserted => inserted?,
    }
    record(tx, actor, "case-received", round, &number.to_string(), now).await?;
    Ok(number)
}

/// A case with its steps, oldest first.
#[derive(Debug)]
pub struct Known {
    /// The case.
    pub case: Case,
    /// Its steps.
    pub steps: Vec<Stepped>,
}

impl Known {
    /// The steps as such.
    ///
    /// # Errors
    ///
    /// When a row holds a word that is none of ours.
    pub fn made(&self) -> Result<Vec<Step>, Error> {
        Ok(self.steps.iter().map(Stepped::step).collect::<Result<Vec<_>, _>>()?)
    }

    /// Who investigates now.
    pub fn investigator(&self) -> Option<UserId> {
        self.steps.iter().rev().find_map(Stepped::investigator)
    }

    /// What was decided.
    pub fn outcome(&self) -> Option<Outcome> {
        self.steps.iter().rev().find_map(Stepped::outcome)
    }
}

/// All cases of a round.
///
/// # Errors
///
/// What the database says.
pub async fn all(tx: &mut Tx, round: &Round) -> Result<Vec<Known>, Error> {
    let mut known: Vec<Known> =
        cases::of_round(tx, round.id).await?.into_iter().map(|case| Known { case, steps: Vec::new() }).collect();
    for step in cases::steps(tx, round.id).await? {
        if let Some(of) = known.iter_mut().find(|known| known.case.id == step.case) {
            of.steps.push(step);
        }
    }
    Ok(known)
}

/// The people of the organiser who had no part in the round's work, nor in its
/// approval.
///
/// # Errors
///
/// What the database says.
pub async fn uninvolved(tx: &mut Tx, round: &Round) -> Result<Vec<Member>, Error> {
    let mut involved = verdicts::editors(tx, round.id).await?;
    involved.extend(verdicts::approvers(tx, round.id).await?);
    let all = staff::all(tx).await?;
    Ok(all.into_iter().filter(|member| member.ended_at().is_none() && is_uninvolved(member.id, &involved)).collect())
}

/// What is typed for a step.
#[derive(Clone, Debug, Default, serde::Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct StepForm {
    /// The word of the step.
    pub step: String,
    /// Who investigates, of a naming.
    pub person: String,
    /// The word of the outcome, of a decision.
    pub outcome: String,
    /// What is said.
    pub statement: String,
}

/// Whether a step of a case is this person's to take, where it comes next; `free`
/// are those who had no part in the round.
pub fn may_take(actor: &Actor, step: Step, known: &Known, free: &[Member]) -> bool {
    match step {
        Step::Investigated => known.investigator() == Some(actor.user()),
        Step::Decided => actor.may_approve().is_ok() && free.iter().any(|member| member.id == actor.user()),
        Step::Assigned | Step::Acted | Step::Answered | Step::Closed => actor.may_organise().is_ok(),
    }
}

/// Takes the next step of a case: the organiser names who investigates, acts,
/// answers and closes; the named person investigates; a reviewer who had no part
/// decides.
///
/// # Errors
///
/// A step that does not come next; a person who had a part; a missing text.
pub async fn step(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    known: &Known,
    form: &StepForm,
    now: Timestamp,
) -> Result<(), Refused> {
    actor.may_review()?;
    let step = Step::of(&form.step).ok_or_else(|| Error::Unreadable(Problem::new("error-form-fields")))?;
    if !case::next(&known.made()?).contains(&step) {
        return Err(Error::conflict("conflict-case-step").into());
    }
    let free = uninvolved(tx, round).await?;
    if !may_take(actor, step, known, &free) {
        let problem = match step {
            Step::Investigated => Problem::new("case-not-investigator"),
            Step::Decided => Problem::new("case-not-decider"),
            Step::Assigned | Step::Acted | Step::Answered | Step::Closed => {
                return Err(Error::from(Denied::Role).into());
            }
        };
        return Err(field("statement", problem));
    }
    let mut errors = FieldErrors::new();
    let person = match step {
        Step::Assigned => {
            let named = free.iter().find(|member| member.id.to_string() == form.person);
            if named.is_none() {
                errors.push("person", Problem::new("case-person-missing"));
            }
            named.map(|member| member.id)
        }
        _ => None,
    };
    let outcome = match step {
        Step::Decided => {
            let outcome = Outcome::of(&form.outcome);
            if outcome.is_none() {
                errors.push("outcome", Problem::new("case-outcome-missing"));
            }
            outcome
        }
        _ => None,
    };
    let statement = match step {
        Step::Assigned | Step::Closed => text::page(&mut errors, "statement", &form.statement),
        _ => text::reason(&mut errors, "statement", &form.statement),
    };
    errors.into_result(())?;
    let new = NewStep {
        id: clock::new_id(),
        case: known.case.id,
        step,
        outcome,
        statement: &statement,
        person,
        at: now,
        by: actor.user(),
    };
    cases::add_step(tx, &new).await?;
    record(tx, actor, "case-step", round, &format!("{}: {}", known.case.number, step.word()), now).await?;
    Ok(())
}
