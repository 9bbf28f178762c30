//! What a reader of an evaluation must know.

use roundel_stats::{Error, homogeneity};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::assigned::{AssignedOutcome, is_negligible, is_too_large};
use super::checks::Checks;
use super::counting::Counting;
use crate::package::{AssignedValue, DecidedSignal, Measurand, Score, SigmaBasis};

/// Below this number of results a consensus needs consent.
pub(super) const FEW: usize = 12;
/// Below this number σ_pt from the same round needs consent.
pub(super) const FEW_FOR_SIGMA: usize = 18;

/// A note with its sentence.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Note {
    /// What it is about.
    pub code: NoteCode,
    /// An English sentence.
    pub message: String,
}

/// The notes, in the order in which they are given.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum NoteCode {
    /// The consensus rests, or would rest, on few results.
    FewParticipants,
    /// Too many results are equal for a robust standard deviation.
    NoSpread,
    /// Results below a limit leave the estimate by ranks open.
    CensoredNotIdentifiable,
    /// The fallback of the plan is the assigned value.
    FallbackUsed,
    /// There is no consensus, and so no assigned value.
    NoConsensus,
    /// A quarter or more of the results is below a limit.
    CensoredShare,
    /// σ_pt comes from few results of the same round.
    SameRoundSigma,
    /// u(x_pt) is above 0.3 σ_pt.
    UncertaintyNotNegligible,
    /// u(x_pt) is above 0.5 σ_pt.
    UncertaintyTooLarge,
    /// E_n was asked for, but the assigned value is a consensus.
    #[serde(rename = "e_n_needs_independent_value")]
    EnNeedsIndependentValue,
    /// Fewer than seven units in the test of homogeneity.
    FewUnits,
    /// The units differ too much.
    InsufficientHomogeneity,
    /// The content changed too much.
    InsufficientStability,
    /// A person decided on the scores.
    Decision,
}

pub(super) fn of(plan: &Measurand, counting: &Counting<'_>, outcome: &AssignedOutcome, checks: &Checks) -> Vec<Note> {
    let mut notes = Vec::new();
    let mut add = |code, message: String| notes.push(Note { code, message });
    consensus_notes(plan, counting, outcome, &mut add);
    uncertainty_notes(plan, outcome, &mut add);
    check_notes(checks, &mut add);
    if let Some(decision) = &plan.decision {
        let signal = match decision.signal {
            DecidedSignal::InformationOnly => "for information only",
            DecidedSignal::NotScored => "not scored",
        };
        add(
            NoteCode::Decision,
            format!("By decision the results are {signal}: {}.", decision.reason.trim_end_matches('.')),
        );
    }
    notes.sort_by_key(|note| note.code);
    notes
}

fn consensus_notes(
    plan: &Measurand,
    counting: &Counting<'_>,
    outcome: &AssignedOutcome,
    add: &mut impl FnMut(NoteCode, String),
) {
    let Some(estimate) = &outcome.estimate else {
        return;
    };
    let consensus = plan.assigned_value.as_ref().and_then(AssignedValue::consensus);
    let by_all = consensus.is_some_and(|consensus| !consensus.is_expert_group());
    let p = outcome.p;
    if (by_all && p < FEW) || matches!(estimate, Err(Error::TooFew { .. })) {
        add(NoteCode::FewParticipants, format!("{p} results can enter a consensus; {FEW} are wanted."));
    }
    match estimate {
        Err(Error::NoSpread) => {
            add(NoteCode::NoSpread, "So many results are equal that there is no robust standard deviation.".to_owned());
        }
        Err(Error::NotIdentifiable) => add(
            NoteCode::CensoredNotIdentifiable,
            "The results below a limit leave median and deviation open.".to_owned(),
        ),
        _ => {}
    }
    if outcome.fallback_used {
        add(NoteCode::FallbackUsed, "There is no consensus; the fallback of the plan is used.".to_owned());
    }
    if consensus.is_some() && outcome.value.is_none() {
        add(NoteCode::NoConsensus, "There is no consensus and no fallback, so no assigned value.".to_owned());
    }
    let consensus_is_used = outcome.value.as_ref().is_some_and(|value| value.is_consensus());
    if by_all && consensus_is_used && counting.many_are_censored() {
        let (censored, all) = (counting.censored.len(), counting.censored.len() + counting.quantified.len());
        add(NoteCode::CensoredShare, format!("{censored} of {all} results are below a limit, a quarter or more."));
    }
    let sigma_is_theirs = plan.sigma_pt.as_ref().is_some_and(|sigma| sigma.basis == SigmaBasis::Participants);
    if sigma_is_theirs && outcome.sigma_pt().is_some() && p < FEW_FOR_SIGMA {
        add(
            NoteCode::SameRoundSigma,
            format!("sigma_pt comes from {p} results of the same round; {FEW_FOR_SIGMA} are wanted."),
        );
    }
}

fn uncertainty_notes(plan: &Measurand, outcome: &AssignedOutcome, add: &mut impl FnMut(NoteCode, String)) {
    match outcome.uncertainty_ratio() {
        Some(ratio) if is_too_large(ratio) => add(
            NoteCode::UncertaintyTooLarge,
            "The uncertainty of the assigned value is above half of sigma_pt.".to_owned(),
        ),
        Some(ratio) if !is_negligible(ratio) => add(
            NoteCode::UncertaintyNotNegligible,
            "The uncertainty of the assigned value is above 0.3 sigma_pt.".to_owned(),
        ),
        _ => {}
    }
    let consensus_is_used = outcome.value.as_ref().is_some_and(|value| value.is_consensus());
    if consensus_is_used && plan.scores().contains(&Score::En) {
        add(
            NoteCode::EnNeedsIndependentValue,
            "E_n is not given: the assigned value depends on the participants.".to_owned(),
        );
    }
}

fn check_notes(checks: &Checks, add: &mut impl FnMut(NoteCode, String)) {
    if let Some(check) = &checks.homogeneity {
        if check.units < homogeneity::FEWEST_UNITS {
            let fewest = homogeneity::FEWEST_UNITS;
            add(NoteCode::FewUnits, format!("Homogeneity was tested on {} units; {fewest} are needed.", check.units));
        }
        if check.sufficient == Some(false) {
            add(NoteCode::InsufficientHomogeneity, "The units differ by more than both criteria allow.".to_owned());
        }
    }
    if checks.stability.as_ref().is_some_and(|check| check.sufficient == Some(false)) {
        add(NoteCode::InsufficientStability, "The content changed by more than the criteria allow.".to_owned());
    }
}
