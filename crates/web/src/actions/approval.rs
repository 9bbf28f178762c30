//! Review of an evaluation by somebody who edited nothing of it: approving,
//! returning, answering, making it again to compare; and corrections of what was
//! published.

use super::{Refused, field, record};
use crate::ENGINE;
use crate::clock;
use crate::error::Error;
use crate::evaluated::Evaluated;
use crate::secret;
use jiff::Timestamp;
use roundel_domain::access::{Actor, is_uninvolved};
use roundel_domain::approval::{self, Standing, Verdict};
use roundel_domain::evaluation::evaluate;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::id::{CorrectionId, MeasurandId, ReviewId};
use roundel_domain::measurand::Measurand;
use roundel_domain::round::Round;
use roundel_domain::text;
use roundel_store::evaluations::{self, Head};
use roundel_store::publications::{self, Correction};
use roundel_store::trials::{self, NewRecomputation};
use roundel_store::verdicts::{self, NewReview, Review};
use roundel_store::{Tx, measurands};
use std::collections::HashMap;

/// How the measurands of a round stand in its newest evaluation.
#[derive(Debug)]
pub struct State {
    /// The newest evaluation.
    pub head: Head,
    /// Each measurand with its standing, its digest in this evaluation, and all
    /// that was said of it, oldest first.
    pub lines: Vec<Line>,
}

/// One measurand under review.
#[derive(Debug)]
pub struct Line {
    /// Which.
    pub measurand: Measurand,
    /// How it stands.
    pub standing: Standing,
    /// Digest of what there is to look at now.
    pub digest: String,
    /// All that was said of it, oldest first.
    pub reviews: Vec<Review>,
}

impl State {
    /// Whether everything is approved as it is.
    pub fn is_approved(&self) -> bool {
        self.lines.iter().all(|line| line.standing == Standing::Approved)
    }

    /// How many measurands stand so.
    pub fn count(&self, standing: Standing) -> usize {
        self.lines.iter().filter(|line| line.standing == standing).count()
    }
}

/// How the measurands of a round stand; none before an evaluation.
///
/// # Errors
///
/// What the database says.
pub async fn state(tx: &mut Tx, round: &Round, evaluated: &Evaluated) -> Result<Option<State>, Error> {
    let Some(head) = evaluations::of_round(tx, round.id).await?.into_iter().next() else { return Ok(None) };
    let digests = approval::digests(&evaluated.package, &evaluated.evaluation);
    let mut said: HashMap<MeasurandId, Vec<Review>> = HashMap::new();
    for review in verdicts::of_round(tx, round.id).await? {
        said.entry(review.measurand).or_default().push(review);
    }
    let mut lines = Vec::new();
    for (measurand, digest) in measurands::of_round(tx, round.id).await?.into_iter().zip(digests) {
        let own = said.remove(&measurand.id).unwrap_or_default();
        let newest =
            own.last().map(|review| Ok::<_, Error>((review.verdict()?, review.digest.as_str()))).transpose()?;
        let standing = approval::standing(newest, &digest);
        lines.push(Line { measurand, standing, digest, reviews: own });
    }
    Ok(Some(State { head, lines }))
}

/// What a reviewer says, as posted.
#[derive(Clone, Debug)]
pub struct Said<'a> {
    /// Number of the evaluation that was looked at.
    pub version: i64,
    /// Places of the measurands.
    pub positions: &'a [i64],
    /// What is said of them.
    pub verdict: Verdict,
    /// What is to be answered; may be empty for an approval.
    pub finding: &'a str,
}

/// Approves measurands of the newest evaluation, or returns them with a finding.
/// Before an approval the evaluation is made again and compared.
///
/// # Errors
///
/// A refusal for who edited anything; a conflict when there is a newer evaluation,
/// or when making it again gives something else; a return without a finding.
pub async fn say(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    evaluated: &Evaluated,
    said: &Said<'_>,
    now: Timestamp,
) -> Result<usize, Refused> {
    actor.may_approve()?;
    super::evaluation::must_be_in_review(tx, round).await?;
    if !is_uninvolved(actor.user(), &verdicts::editors(tx, round.id).await?) {
        return Err(Error::conflict("conflict-own-work").into());
    }
    let state = state(tx, round, evaluated).await?.ok_or_else(|| Error::conflict("conflict-no-evaluation"))?;
    if state.head.version != said.version {
        return Err(Error::conflict("conflict-newer-evaluation").into());
    }
    let chosen: Vec<&Line> =
        state.lines.iter().filter(|line| said.positions.contains(&line.measurand.position)).collect();
    let mut errors = FieldErrors::new();
    if chosen.is_empty() {
        errors.push("positions", Problem::new("approval-none-chosen"));
    }
    let finding = match said.verdict {
        Verdict::Returned => text::reason(&mut errors, "finding", said.finding),
        Verdict::Approved => text::page(&mut errors, "finding", said.finding),
    };
    errors.into_result(())?;
    if said.verdict == Verdict::Approved {
        let again = recompute(tx, actor, round, &state.head, evaluated, now).await?;
        if !again.is_empty() {
            return Err(Error::conflict("conflict-recomputed-differs").into());
        }
    }
    for line in &chosen {
        let new = NewReview {
            id: ReviewId(clock::new_id()),
            evaluation: state.head.id,
            measurand: line.measurand.id,
            verdict: said.verdict,
            digest: &line.digest,
            finding: &finding,
            at: now,
            by: actor.user(),
        };
        verdicts::insert(tx, &new).await?;
    }
    let event = match said.verdict {
        Verdict::Approved => "measurands-approved",
        Verdict::Returned => "measurands-returned",
    };
    record(tx, actor, event, round, &format!("{} ({})", chosen.len(), said.version), now).await?;
    Ok(chosen.len())
}

/// Answers a finding.
///
/// # Errors
///
/// A missing answer; [`Error::NotFound`] for what is no finding of the round; a
/// conflict when it has an answer.
pub async fn answer(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    review: ReviewId,
    typed: &str,
    now: Timestamp,
) -> Result<(), Refused> {
    actor.may_evaluate()?;
    let known = verdicts::of_round(tx, round.id).await?;
    if known.iter().all(|one| one.id != review || one.finding.is_empty()) {
        return Err(Error::NotFound.into());
    }
    let mut errors = FieldErrors::new();
    let answer = text::reason(&mut errors, &format!("answer-{review}"), typed);
    errors.into_result(())?;
    match verdicts::answer(tx, review, &answer, actor.user(), now).await {
        Err(roundel_store::Error::Exists) => return Err(Error::conflict("conflict-answered").into()),
        answered => answered?,
    }
    record(tx, actor, "finding-answered", round, "", now).await?;
    Ok(())
}

/// Makes an evaluation again from its stored package, with the program as it is
/// now, and keeps what came of it; where it differs, a line each.
///
/// # Errors
///
/// What the database says.
pub async fn recompute(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    head: &Head,
    evaluated: &Evaluated,
    now: Timestamp,
) -> Result<Vec<String>, Error> {
    actor.may_review()?;
    // The engine's name is what the stored text says: whether the numbers are the
    // same is the question, and the program that asks it is noted beside.
    let again = evaluate(&evaluated.package, &evaluated.evaluation.engine);
    let sha256 = secret::sha256(&again.to_json());
    let mut differences = approval::differences(&evaluated.evaluation, &again);
    if differences.is_empty() && sha256 != head.sha256 {
        differences.push("text".to_owned());
    }
    let new = NewRecomputation {
        id: clock::new_id(),
        evaluation: head.id,
        engine: ENGINE,
        sha256: &sha256,
        same: differences.is_empty(),
        differences: &differences.iter().take(100).cloned().collect::<Vec<_>>().join("\n"),
        at: now,
        by: actor.user(),
    };
    trials::recomputed(tx, &new).await?;
    let detail = format!("{}{}", head.version, if differences.is_empty() { "" } else { ": differs" });
    record(tx, actor, "evaluation-recomputed", round, &detail, now).await?;
    Ok(differences)
}

/// Opens a correction of a published round: it is decided on and evaluated again,
/// and what is published stays until the correction is.
///
/// # Errors
///
/// A missing reason; a conflict unless the round is published without an open
/// correction.
pub async fn open_correction(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    reason: &str,
    now: Timestamp,
) -> Result<(), Refused> {
    actor.may_organise()?;
    if !round.is_published() || !roundel_store::rounds::hold(tx, round.id, &round.state).await? {
        return Err(Error::conflict("conflict-not-published").into());
    }
    if publications::correction(tx, round.id).await?.is_some() {
        return Err(field("reason", Problem::new("correction-is-open")));
    }
    let mut errors = FieldErrors::new();
    let reason = text::reason(&mut errors, "reason", reason);
    errors.into_result(())?;
    publications::open_correction(tx, CorrectionId(clock::new_id()), round.id, &reason, actor.user(), now).await?;
    record(tx, actor, "correction-opened", round, &reason, now).await?;
    Ok(())
}

/// Gives a correction up: what is published stands. Decisions made since stay on
/// record and count from the next correction on.
///
/// # Errors
///
/// A conflict without an open correction.
pub async fn give_up_correction(tx: &mut Tx, actor: &Actor, round: &Round, now: Timestamp) -> Result<(), Error> {
    actor.may_organise()?;
    let open = open(tx, round).await?.ok_or_else(|| Error::conflict("conflict-no-correction"))?;
    match publications::end_correction(tx, open.id, false, actor.user(), now).await {
        Err(roundel_store::Error::Exists) => return Err(Error::conflict("conflict-no-correction")),
        ended => ended?,
    }
    record(tx, actor, "correction-given-up", round, &open.reason, now).await
}

/// The open correction of a round.
///
/// # Errors
///
/// What the database says.
pub async fn open(tx: &mut Tx, round: &Round) -> Result<Option<Correction>, Error> {
    if !round.is_published() {
        return Ok(None);
    }
    Ok(publications::correction(tx, round.id).await?)
}
