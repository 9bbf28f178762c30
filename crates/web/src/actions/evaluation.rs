//! Evaluating, deciding, publishing.

use super::{Refused, approval, certificates, decisions, messages, record, review};
use crate::error::Error;
use crate::evaluated::Evaluated;
use crate::mail::Post;
use crate::{ENGINE, clock, secret};
use jiff::Timestamp;
use roundel_domain::access::Actor;
use roundel_domain::assemble::{self, Contribution, Layers};
use roundel_domain::decision;
use roundel_domain::evaluation::evaluate as evaluate_package;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::id::{DecisionId, EvaluationId, PublicationId};
use roundel_domain::judgement::{self, Judgement, Kind, Topic};
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::number::{Decimal, Range};
use roundel_domain::package::RoundPackage;
use roundel_domain::result::Submission;
use roundel_domain::round::{Round, RoundState};
use roundel_domain::text;
use roundel_store::evaluations::{self, NewEvaluation};
use roundel_store::participants::Participant;
use roundel_store::publications::{self, NewPublication};
use roundel_store::results::{self, NewDecision};
use roundel_store::{Tx, measurand_decisions, measurands, participants, rounds};
use std::collections::HashMap;

/// What a package is made of, as it stands now.
#[derive(Debug)]
pub struct Gathered {
    /// The items.
    pub items: Vec<Item>,
    /// The measurands.
    pub measurands: Vec<Measurand>,
    /// What was sent.
    pub contributions: Vec<Contribution>,
    /// What people decided.
    pub layers: Layers,
}

impl Gathered {
    /// The package that it makes.
    pub fn package(&self, round: &Round) -> RoundPackage {
        assemble::package(round, &self.items, &self.measurands, &self.contributions, &self.layers)
    }
}

/// Gathers what a package is made of. Of a round that is closed it must be what
/// was frozen at closing: otherwise nothing goes on.
///
/// # Errors
///
/// A conflict where the results are not those that were frozen; what the database
/// says.
pub async fn gather(tx: &mut Tx, round: &Round) -> Result<Gathered, Error> {
    let items = rounds::items(tx, round.id).await?;
    let measurands = measurands::of_round(tx, round.id).await?;
    let participants = participants::of_round(tx, round.id).await?;
    let by_id: HashMap<_, _> = participants.iter().map(|p| (p.id, p)).collect();
    let all = results::newest_of_round(tx, round.id).await?;
    review::must_be_as_frozen(tx, round, &participants, &all).await?;
    let mut contributions = Vec::new();
    for sent in all {
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
    Ok(Gathered { items, measurands, contributions, layers })
}

/// The package of a round as it stands now.
///
/// # Errors
///
/// As [`gather`].
pub async fn assemble(tx: &mut Tx, round: &Round) -> Result<RoundPackage, Error> {
    Ok(gather(tx, round).await?.package(round))
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
        match decisions::layer(decision.kind()?, &decision.reason) {
            Some(layer) => layers.results.insert(key, layer),
            None => layers.results.remove(&key),
        };
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
    super::items::lay(tx, round, measurands, &mut layers).await?;
    Ok(layers)
}

/// Whether a round is decided on and evaluated now: after it was closed and before it is
/// published, when its results stand and nobody has seen a score; after that, while a
/// correction is open.
///
/// # Errors
///
/// What the database says.
pub(crate) async fn is_in_review(tx: &mut Tx, round: &Round) -> Result<bool, Error> {
    Ok(match round.state {
        RoundState::Draft | RoundState::Open { .. } => false,
        RoundState::Closed { .. } => true,
        RoundState::Published { .. } => approval::open(tx, round).await?.is_some(),
    })
}

/// That [`is_in_review`] holds. It stays so until the transaction ends: no decision comes
/// between the comparison and the publication.
pub(crate) async fn must_be_in_review(tx: &mut Tx, round: &Round) -> Result<(), Error> {
    if matches!(round.state, RoundState::Draft | RoundState::Open { .. }) {
        return Err(Error::conflict("conflict-not-closed"));
    }
    if !rounds::hold(tx, round.id, &round.state).await? || !is_in_review(tx, round).await? {
        return Err(Error::conflict("conflict-published"));
    }
    Ok(())
}

/// Evaluates a closed round; the new evaluation.
///
/// # Errors
///
/// A conflict unless the round is closed and unpublished.
pub async fn evaluate(tx: &mut Tx, actor: &Actor, round: &Round, now: Timestamp) -> Result<EvaluationId, Error> {
    actor.may_evaluate()?;
    must_be_in_review(tx, round).await?;
    review::raw_set(tx, round, now).await?;
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
        kind: if decision.exclude { decision::Kind::Blunder } else { decision::Kind::Keep },
        cause: decision::Cause::Other,
        evidence: "",
        batch: clock::new_id(),
        effect: "",
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

/// What is posted to publish.
#[derive(Clone, Copy, Debug)]
pub struct Publishing<'a> {
    /// Number of the evaluation that was looked at.
    pub version: i64,
    /// The round's code, typed once more.
    pub code: &'a str,
    /// What the person says that publishing means.
    pub meaning: &'a str,
}

/// Publishes the newest evaluation, which must be the one that was looked at, hold
/// every decision, and be approved in all its measurands by somebody who edited
/// nothing. A published round has its correction published. Whether it is the
/// person who acts has been asked again before.
///
/// # Errors
///
/// A code that does not match, a missing meaning; a conflict when there is a newer
/// evaluation, decisions that it does not hold, or measurands without approval.
pub async fn publish(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    evaluated: &Evaluated,
    typed: Publishing<'_>,
    post: &Post,
    now: Timestamp,
) -> Result<(), Refused> {
    actor.may_organise()?;
    must_be_in_review(tx, round).await?;
    let mut errors = FieldErrors::new();
    if typed.code.trim().to_lowercase() != round.code.to_lowercase() {
        let problem = Problem::new("publish-code-differs").with("code", &round.code).with("seen", typed.code.trim());
        errors.push("code", problem);
    }
    let meaning = text::reason(&mut errors, "meaning", typed.meaning);
    errors.into_result(())?;
    let state = approval::state(tx, round, evaluated).await?;
    let state = state.ok_or_else(|| Error::conflict("conflict-no-evaluation"))?;
    if state.head.version != typed.version {
        return Err(Error::conflict("conflict-newer-evaluation").into());
    }
    if assemble(tx, round).await?.sha256() != state.head.package_sha256 {
        return Err(Error::conflict("conflict-stale-evaluation").into());
    }
    if !state.is_approved() {
        return Err(Error::conflict("conflict-not-approved").into());
    }
    let correction = approval::open(tx, round).await?;
    let next = match &correction {
        None => round.state.clone().publish(state.head.id, now),
        Some(_) => round.state.clone().correct(state.head.id, now),
    };
    let next = next.map_err(|_| Error::conflict("conflict-not-closed"))?;
    if !rounds::set_state(tx, round.id, &round.state, &next).await? {
        return Err(Error::conflict("conflict-published").into());
    }
    let number = publications::of_round(tx, round.id).await?.len() as i64 + 1;
    let notified = messages::publication(tx, round, correction.is_some(), post, now).await?;
    let new = NewPublication {
        id: PublicationId(clock::new_id()),
        round: round.id,
        number,
        evaluation: state.head.id,
        meaning: &meaning,
        reason: correction.as_ref().map_or("", |correction| correction.reason.as_str()),
        notified,
        at: now,
        by: actor.user(),
    };
    publications::insert(tx, &new).await?;
    certificates::issue(tx, round, number, evaluated, &post.address(""), now).await?;
    if let Some(correction) = &correction {
        publications::end_correction(tx, correction.id, true, actor.user(), now).await?;
    }
    let event = if correction.is_some() { "round-corrected" } else { "round-published" };
    record(tx, actor, event, round, &typed.version.to_string(), now).await?;
    Ok(())
}
