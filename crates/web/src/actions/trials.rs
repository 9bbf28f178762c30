//! Trying out another choice on a copy of the newest evaluation. Each trial is
//! kept, whatever came of it; none can be published.

use super::{Refused, record};
use crate::clock;
use crate::error::Error;
use crate::evaluated::Evaluated;
use jiff::Timestamp;
use roundel_domain::access::Actor;
use roundel_domain::decision::{self, Effect};
use roundel_domain::evaluation::RoundEvaluation;
use roundel_domain::id::{EvaluationId, TrialId};
use roundel_domain::package::RoundPackage;
use roundel_domain::round::Round;
use roundel_domain::trial::{self, Changes, TrialForm};
use roundel_store::Tx;
use roundel_store::trials::{self, NewTrial};

/// A trial with what it is compared with.
#[derive(Debug)]
pub struct Tried {
    /// The copy.
    pub package: RoundPackage,
    /// What it gives.
    pub evaluation: RoundEvaluation,
    /// What is different.
    pub effect: Effect,
}

/// Makes a trial: a function of the evaluation and the changes, without a trace.
pub fn trial(evaluated: &Evaluated, changes: &Changes) -> Tried {
    let package = trial::changed(&evaluated.package, changes);
    let evaluation = trial::evaluate(&package);
    // Only what is meant is compared.
    let before = changes.measurand.as_ref().map(|id| RoundEvaluation {
        format: evaluated.evaluation.format.clone(),
        engine: String::new(),
        package_sha256: String::new(),
        measurands: evaluated.evaluation.measurands.iter().filter(|m| m.id == *id).cloned().collect(),
        scores: evaluated.scores(id).cloned().collect(),
    });
    let touched: Vec<String> = changes.measurand.iter().cloned().collect();
    let effect = decision::effect(before.as_ref().unwrap_or(&evaluated.evaluation), &evaluation, &touched);
    Tried { package, evaluation, effect }
}

/// What is kept of the outcome of a trial.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Outcome {
    /// Measurands whose numbers change.
    pub measurands: usize,
    /// Classes that change.
    pub classes: usize,
}

/// Makes a trial and keeps that it was made; its name.
///
/// # Errors
///
/// Every field that is not as it should be.
pub async fn try_out(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    on: (EvaluationId, &Evaluated),
    form: &TrialForm,
    now: Timestamp,
) -> Result<TrialId, Refused> {
    actor.may_evaluate()?;
    let (evaluation, evaluated) = on;
    let changes = form.parse(&evaluated.package)?;
    let tried = trial(evaluated, &changes);
    let moved = tried.effect.measurands.iter().filter(|one| one.before != one.after).count();
    let outcome = Outcome { measurands: moved, classes: tried.effect.classes.len() };
    let text = |error: serde_json::Error| Error::Fault(format!("write a trial: {error}"));
    let new = NewTrial {
        id: TrialId(clock::new_id()),
        evaluation,
        changes: &serde_json::to_string(&changes).map_err(text)?,
        outcome: &serde_json::to_string(&outcome).map_err(text)?,
        at: now,
        by: actor.user(),
    };
    trials::insert(tx, &new).await?;
    record(tx, actor, "trial-made", round, changes.measurand.as_deref().unwrap_or_default(), now).await?;
    Ok(new.id)
}
