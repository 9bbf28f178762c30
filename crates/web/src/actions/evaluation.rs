//! Evaluating, deciding, publishing.

use super::{Refused, field, messages, record};
use crate::error::Error;
use crate::mail::Post;
use crate::{ENGINE, clock, secret};
use jiff::Timestamp;
use roundel_domain::access::Actor;
use roundel_domain::assemble::{self, Contribution, Layers, ResultLayer};
use roundel_domain::evaluation::evaluate as evaluate_package;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::id::{DecisionId, EvaluationId};
use roundel_domain::judgement::{self, Judgement, Kind, Topic};
use roundel_domain::measurand::Measurand;
use roundel_domain::number::{Decimal, Range};
use roundel_domain::package::RoundPackage;
use roundel_domain::result::Submission;
use roundel_domain::round::{Round, RoundState};
use roundel_domain::text;
use roundel_store::evaluations::{self, NewEvaluation};
use roundel_store::participants::Participant;
use roundel_store::results::{self, NewDecision};
use roundel_store::{Tx, measurand_decisions, measurands, participants, rounds};
use std::collections::HashMap;

/// The package of a round as it stands now.
///
/// # Errors
///
/// What the database says.
pub async fn assemble(tx: &mut Tx, round: &Round) -> Result<RoundPackage, Error> {
    let items = rounds::items(tx, round.id).await?;
    let measurands = measurands::of_round(tx, round.id).await?;
    let participants = participants::of_round(tx, round.id).await?;
    let by_id: HashMap<_, _> = participants.iter().map(|p| (p.id, p)).collect();
    let mut contributions = Vec::new();
    for sent in results::newest_of_round(tx, round.id).await? {
        let participant = by_id.get(&sent.participant).ok_or(Error::NotFound)?;
        let submission: Submission = sent.submission()?;
        contributions.push(Contribution {
            code: participant.code.clone(),
            organisation: participant.organisation.clone(),
            late: sent.late,
            method: submission.declared.method_group(),
            entries: submission.results,
        });
    }
    let layers = layers(tx, round, &participants, &measurands).await?;
    Ok(assemble::package(round, &items, &measurands, &contributions, &layers))
}

/// What people decided in a round, as it stands now.
async fn layers(
    tx: &mut Tx,
    round: &Round,
    participants: &[Participant],
    measurands: &[Measurand],
) -> Result<Layers, Error> {
    let codes: HashMap<_, _> = participants.iter().map(|p| (p.id, p.code.as_str())).collect();
    let places: HashMap<_, _> = measurands.iter().map(|m| (m.id, m.position)).collect();
    let mut layers = Layers::default();
    // Oldest first: the newest decision on a result counts.
    for decision in results::decisions(tx, round.id).await? {
        let (Some(code), Some(position)) = (codes.get(&decision.participant), places.get(&decision.measurand)) else {
            continue;
        };
        let key = ((*code).to_owned(), *position);
        if decision.exclude {
            layers.results.insert(key, ResultLayer { exclude: decision.reason, scored: true });
        } else {
            layers.results.remove(&key);
        }
    }
    let mut judged: HashMap<i64, HashMap<Topic, Judgement>> = HashMap::new();
    for decision in measurand_decisions::of_round(tx, round.id).await? {
        if let Some(position) = places.get(&decision.measurand) {
            let judgement = decision.judgement()?;
            judged.entry(*position).or_default().insert(judgement.topic, judgement);
        }
    }
    for (position, topics) in judged {
        let counting: Vec<Judgement> = topics.into_values().collect();
        layers.measurands.insert(position, judgement::layer(&counting));
    }
    Ok(layers)
}
/// Only a closed round is decided on and evaluated: its results stand, and nobody
/// has seen a score. It stays closed until the transaction ends: no decision comes
/// between the comparison and the publication.
pub(crate) async fn must_be_in_review(tx: &mut Tx, round: &Round) -> Result<(), Error> {
    match round.state {
        RoundState::Closed { .. } if rounds::hold(tx, round.id, &round.state).await? => Ok(()),
        RoundState::Closed { .. } => Err(Error::conflict("conflict-published")),
        RoundState::Published { .. } => Err(Error::conflict("conflict-published")),
        RoundState::Draft | RoundState::Open { .. } => Err(Error::conflict("conflict-not-closed")),
    }
}

/// Evaluates a closed round; the new evaluation.
///
/// # Errors
///
/// A conflict unless the round is closed and unpublished.
pub async fn evaluate(tx: &mut Tx, actor: &Actor, round: &Round, now: Timestamp) -> Result<EvaluationId, Error> {
    actor.may_evaluate()?;
    must_be_in_review(tx, round).await?;
    let package = assemble(tx, round).await?;
    let problems = package.problems();
    if let Some(problem) = problems.first() {
        return Err(Error::Fault(format!("make a valid package: {problem}")));
    }
    let evaluation = evaluate_package(&package, ENGINE);
    keep(tx, actor, round, &package, &evaluation.to_json(), now).await
}

/// Keeps an evaluation of a round in review, `document`, as its newest.
pub(crate) async fn keep(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    package: &RoundPackage,
    document: &str,
    now: Timestamp,
) -> Result<EvaluationId, Error> {
    let id = EvaluationId(clock::new_id());
    let version = evaluations::of_round(tx, round.id).await?.first().map_or(0, |head| head.version) + 1;
    let new = NewEvaluation {
        id,
        round: round.id,
        version,
        package: &package.to_json(),
        package_sha256: &package.sha256(),
        document,
        sha256: &secret::sha256(document),
        at: now,
        by: actor.user(),
    };
    evaluations::insert(tx, &new).await?;
    record(tx, actor, "round-evaluated", round, &version.to_string(), now).await?;
    Ok(id)
}

/// Leaves a result out of consensus and summary, or takes it back in. The
/// number itself is never touched.
#[derive(Clone, Copy, Debug)]
pub struct Decision<'a> {
    /// Left out, or taken back in.
    pub exclude: bool,
    /// Why.
    pub reason: &'a str,
}

/// Writes a decision on a result; evaluations made before do not have it.
///
/// # Errors
///
/// A missing reason; a conflict unless the round is closed and unpublished.
pub async fn decide(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    participant: &Participant,
    measurand: &Measurand,
    decision: Decision<'_>,
    now: Timestamp,
) -> Result<(), Refused> {
    actor.may_evaluate()?;
    must_be_in_review(tx, round).await?;
    let mut errors = FieldErrors::new();
    let reason = text::reason(&mut errors, "reason", decision.reason);
    errors.into_result(())?;
    let new = NewDecision {
        id: DecisionId(clock::new_id()),
        participant: participant.id,
        measurand: measurand.id,
        exclude: decision.exclude,
        reason: &reason,
        at: now,
        by: actor.user(),
    };
    results::decide(tx, &new).await?;
    let event = if decision.exclude { "result-excluded" } else { "result-taken-back" };
    record(tx, actor, event, round, &format!("{} {}: {reason}", participant.code, measurand.analyte), now).await?;
    Ok(())
}

/// A decision on a measurand as a whole, as typed.
#[derive(Clone, Copy, Debug)]
pub struct MeasurandDecision<'a> {
    /// What it is about.
    pub topic: Topic,
    /// What is decided; one of the topic's.
    pub kind: Kind,
    /// The number that the kind needs, in the unit of the measurand; else empty.
    pub number: &'a str,
    /// Why.
    pub reason: &'a str,
}

/// Writes a decision on a measurand; evaluations made before do not have it. A
/// consent is a reviewer's, everything else is decided by who may evaluate.
/// Whether the round lets it be decided now is asked by the caller.
///
/// # Errors
///
/// A missing reason or number; a kind that the topic does not have.
pub async fn decide_measurand(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    measurand: &Measurand,
    decision: MeasurandDecision<'_>,
    now: Timestamp,
) -> Result<(), Refused> {
    match decision.topic {
        Topic::Consent => actor.may_approve()?,
        _ => actor.may_evaluate()?,
    }
    let mut errors = FieldErrors::new();
    if !decision.topic.kinds().contains(&decision.kind) {
        errors.push("kind", Problem::new("judgement-kind-missing"));
    }
    let number = match decision.kind.needs_number() {
        true if decision.number.trim().is_empty() => {
            errors.push("number", Problem::new("text-missing"));
            None
        }
        true => errors.keep("number", Decimal::parse(decision.number, Range::Positive).map_err(Problem::from)),
        false => None,
    };
    let reason = text::reason(&mut errors, "reason", decision.reason);
    errors.into_result(())?;
    let judgement = Judgement { topic: decision.topic, kind: decision.kind, number, reason };
    let id = DecisionId(clock::new_id());
    measurand_decisions::insert(tx, id, measurand.id, &judgement, actor.user(), now).await?;
    let detail = format!("{}: {}, {}", measurand.analyte, judgement.kind.word(), judgement.reason);
    record(tx, actor, "measurand-decided", round, &detail, now).await?;
    Ok(())
}

/// Publishes the newest evaluation, which must be the one that was looked at
/// (`version`) and must hold every decision. Typing the round's code confirms.
///
/// # Errors
///
/// A code that does not match; a conflict when there is a newer evaluation, or
/// decisions that it does not hold.
pub async fn publish(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    version: i64,
    typed: &str,
    post: &Post,
    now: Timestamp,
) -> Result<(), Refused> {
    actor.may_organise()?;
    must_be_in_review(tx, round).await?;
    if typed.trim().to_lowercase() != round.code.to_lowercase() {
        let problem = Problem::new("publish-code-differs").with("code", &round.code).with("seen", typed.trim());
        return Err(field("code", problem));
    }
    let heads = evaluations::of_round(tx, round.id).await?;
    let newest = heads.first().ok_or_else(|| Error::conflict("conflict-no-evaluation"))?;
    if newest.version != version {
        return Err(Error::conflict("conflict-newer-evaluation").into());
    }
    if assemble(tx, round).await?.sha256() != newest.package_sha256 {
        return Err(Error::conflict("conflict-stale-evaluation").into());
    }
    let next = round.state.clone().publish(newest.id, now).map_err(|_| Error::conflict("conflict-not-closed"))?;
    if !rounds::set_state(tx, round.id, &round.state, &next).await? {
        return Err(Error::conflict("conflict-published").into());
    }
    record(tx, actor, "round-published", round, &version.to_string(), now).await?;
    messages::publication(tx, round, post, now).await?;
    Ok(())
}
