//! Scores and signals of the results of one measurand.

use roundel_stats::score::{self, Judgement, at_most, below};

use super::assigned::{AssignedOutcome, is_negligible, is_too_large};
use super::counting::{Counting, value_of};
use super::notes::{FEW, FEW_FOR_SIGMA};
use super::{Detection, MeasurandEvaluation, ScoreEntry, ScoreKind, Signal};
use crate::package::{AssignedValue, DecidedSignal, Measurand, Reported, ReportedResult, Score, SigmaBasis};

/// Half of what is judged a false positive where only `absent_below` is given.
const ABSENT_FACTOR: f64 = 2.0;
/// Coverage factor of both sides of E_n.
const E_N_COVERAGE: f64 = 2.0;

/// The score that decided the class of an entry, with its value: the first of
/// z, z′, ζ and E_n that the plan asks for, z′ in place of z where u(x_pt) is
/// not negligible, and the bound for a result below a limit. `None` where it
/// could not be computed or nothing was asked for.
///
/// ```
/// use roundel_domain::evaluation::{ScoreKind, deciding_score, evaluate};
/// # use roundel_domain::package::parse;
/// # let package = parse(r#"{
/// #     "format": "round-package/1",
/// #     "round": { "code": "R-1", "title": "Water" },
/// #     "measurands": [{
/// #         "id": "A/x", "item": "A", "analyte": "x", "unit": "ng/L", "replicates": 2,
/// #         "assigned_value": { "basis": "formulation", "value": 50, "standard_uncertainty": 0.6 },
/// #         "sigma_pt": { "basis": "relative", "percent": 20 }, "scores": ["z"]
/// #     }],
/// #     "results": [{ "participant": "P1", "measurand": "A/x", "values": [69, 71] }]
/// # }"#).expect("a valid package");
/// let evaluation = evaluate(&package, "roundel 0.1.0");
/// let decided = deciding_score(&package.measurands[0], &evaluation.measurands[0], &evaluation.scores[0]);
/// assert_eq!(decided, Some((ScoreKind::Z, 2.0)));
/// ```
#[must_use]
pub fn deciding_score(
    plan: &Measurand,
    evaluation: &MeasurandEvaluation,
    entry: &ScoreEntry,
) -> Option<(ScoreKind, f64)> {
    let kind = deciding_kind(plan, evaluation.uncertainty_negligible)?;
    if entry.below.is_some() {
        return Some((ScoreKind::Bound, entry.bound?));
    }
    let value = match kind {
        ScoreKind::Z => entry.z,
        ScoreKind::ZPrime => entry.z_prime,
        ScoreKind::Zeta => entry.zeta,
        ScoreKind::En => entry.e_n,
        ScoreKind::Bound => None,
    };
    Some((kind, value?))
}

fn deciding_kind(plan: &Measurand, negligible: Option<bool>) -> Option<ScoreKind> {
    let first = plan.scores().iter().find(|score| score.gives_class())?;
    Some(match first {
        Score::Z if negligible == Some(false) => ScoreKind::ZPrime,
        Score::Z => ScoreKind::Z,
        Score::ZPrime => ScoreKind::ZPrime,
        Score::Zeta => ScoreKind::Zeta,
        Score::En => ScoreKind::En,
        Score::Difference | Score::DifferencePercent => return None,
    })
}

/// What decides on the results of one measurand.
pub(super) struct Judge<'p> {
    plan: &'p Measurand,
    value: Option<f64>,
    uncertainty: Option<f64>,
    sigma_pt: Option<f64>,
    is_consensus: bool,
    deciding: Option<ScoreKind>,
    information_only: bool,
}

impl<'p> Judge<'p> {
    pub(super) fn new(plan: &'p Measurand, counting: &Counting<'_>, outcome: &AssignedOutcome) -> Self {
        let published = outcome.value.as_ref().map(|value| &value.published);
        Self {
            plan,
            value: published.map(|published| published.value),
            uncertainty: published.map(|published| published.standard_uncertainty),
            sigma_pt: outcome.sigma_pt(),
            is_consensus: outcome.value.as_ref().is_some_and(|value| value.is_consensus()),
            deciding: deciding_kind(plan, outcome.uncertainty_ratio().map(is_negligible)),
            information_only: is_information_only(plan, counting, outcome),
        }
    }

    /// All scores of a result, its detection and its signal.
    pub(super) fn entry(&self, result: &ReportedResult) -> ScoreEntry {
        let mut entry = ScoreEntry {
            participant: result.participant.clone(),
            measurand: result.measurand.clone(),
            value: None,
            below: None,
            z: None,
            z_prime: None,
            zeta: None,
            e_n: None,
            difference: None,
            difference_percent: None,
            bound: None,
            loq_met: None,
            detection: Detection::Detected,
            signal: Signal::NotScored,
        };
        match &result.reported {
            Reported::Values(_) => self.score_value(&mut entry, result),
            Reported::Below(limit) => self.score_limit(&mut entry, *limit),
        }
        entry.signal = self.signal(&entry, result);
        entry.detection = self.detection(&entry);
        entry
    }

    fn score_value(&self, entry: &mut ScoreEntry, result: &ReportedResult) {
        entry.value = value_of(result);
        let (Some(x), Some(value), Some(uncertainty)) = (entry.value, self.value, self.uncertainty) else {
            return;
        };
        let own = result.standard_uncertainty();
        let asked = |score| self.plan.scores().contains(&score);
        let positive = |score: Option<f64>| score.map(|score| score + 0.0);
        if asked(Score::Z) {
            entry.z = positive(self.sigma_pt.and_then(|sigma| score::z(x, value, sigma).ok()));
        }
        if asked(Score::ZPrime) || self.deciding == Some(ScoreKind::ZPrime) {
            entry.z_prime = positive(self.sigma_pt.and_then(|s| score::z_prime(x, value, s, uncertainty).ok()));
        }
        if asked(Score::Zeta) {
            entry.zeta = positive(own.and_then(|own| score::zeta(x, value, own, uncertainty).ok()));
        }
        if asked(Score::En) && !self.is_consensus {
            let expanded = |u: f64| E_N_COVERAGE * u;
            entry.e_n = positive(own.and_then(|u| score::e_n(x, value, expanded(u), expanded(uncertainty)).ok()));
        }
        if asked(Score::Difference) {
            entry.difference = positive(score::difference(x, value).ok());
        }
        if asked(Score::DifferencePercent) {
            entry.difference_percent = positive(score::difference_percent(x, value).ok());
        }
    }

    fn score_limit(&self, entry: &mut ScoreEntry, limit: f64) {
        entry.below = Some(limit);
        entry.loq_met = self.plan.required_loq.map(|required| at_most(limit, required));
        let (Some(value), Some(uncertainty), Some(sigma)) = (self.value, self.uncertainty, self.sigma_pt) else {
            return;
        };
        let bound = match self.deciding {
            Some(ScoreKind::ZPrime) => score::z_prime(limit, value, sigma, uncertainty),
            _ => score::z(limit, value, sigma),
        };
        entry.bound = bound.ok().map(|bound| bound + 0.0);
    }

    /// The first rule that applies.
    fn signal(&self, entry: &ScoreEntry, result: &ReportedResult) -> Signal {
        let decided = self.plan.decision.as_ref().map(|decision| decision.signal);
        let Some(deciding) = self.deciding else {
            return Signal::NotScored;
        };
        if !self.plan.is_present()
            || !result.is_scored()
            || decided == Some(DecidedSignal::NotScored)
            || self.value.is_none()
        {
            return Signal::NotScored;
        }
        if self.information_only {
            return Signal::InformationOnly;
        }
        let limits = self.plan.limits();
        if entry.below.is_some() {
            let judgement = entry.bound.map(|bound| score::judge_bound(bound, limits.warning, limits.action));
            return match judgement {
                Some(Judgement::Unacceptable) => Signal::Action,
                Some(Judgement::Questionable) => Signal::Warning,
                Some(Judgement::Acceptable) | None => Signal::NotScored,
            };
        }
        let judged = |score: Option<f64>| match score.map(|s| score::judge(s, limits.warning, limits.action)) {
            Some(Judgement::Acceptable) => Signal::None,
            Some(Judgement::Questionable) => Signal::Warning,
            Some(Judgement::Unacceptable) => Signal::Action,
            None => Signal::NotScored,
        };
        match deciding {
            ScoreKind::Z => judged(entry.z),
            ScoreKind::ZPrime => judged(entry.z_prime),
            ScoreKind::Zeta => judged(entry.zeta),
            ScoreKind::En => match entry.e_n {
                Some(e_n) if below(e_n.abs(), limits.e_n) => Signal::None,
                Some(_) => Signal::Action,
                None => Signal::NotScored,
            },
            ScoreKind::Bound => Signal::NotScored,
        }
    }

    fn detection(&self, entry: &ScoreEntry) -> Detection {
        match (self.plan.is_present(), entry.below) {
            (true, None) => Detection::Detected,
            (true, Some(_)) if entry.signal == Signal::Action => Detection::FalseNegative,
            (true, Some(_)) => Detection::NotDetected,
            (false, Some(_)) if entry.loq_met == Some(false) => Detection::LoqNotMet,
            (false, Some(_)) => Detection::Correct,
            (false, None) => {
                let threshold = self.plan.required_loq.or(self.plan.absent_below.map(|limit| ABSENT_FACTOR * limit));
                match (entry.value, threshold) {
                    (Some(value), Some(threshold)) if !below(value, threshold) => Detection::FalsePositive,
                    _ => Detection::Trace,
                }
            }
        }
    }
}

/// Whether scores of this measurand are printed without a class.
fn is_information_only(plan: &Measurand, counting: &Counting<'_>, outcome: &AssignedOutcome) -> bool {
    let consensus = plan.assigned_value.as_ref().and_then(AssignedValue::consensus);
    let consented = consensus.is_some_and(|consensus| consensus.consent.is_some());
    let consensus_is_used = outcome.value.as_ref().is_some_and(|value| value.is_consensus());
    let by_all = consensus_is_used && consensus.is_some_and(|consensus| !consensus.is_expert_group());
    let sigma_is_theirs = plan.sigma_pt.as_ref().is_some_and(|sigma| sigma.basis == SigmaBasis::Participants);
    plan.decision.as_ref().is_some_and(|decision| decision.signal == DecidedSignal::InformationOnly)
        || outcome.uncertainty_ratio().is_some_and(is_too_large)
        || (by_all && ((outcome.p < FEW && !consented) || counting.many_are_censored()))
        || (sigma_is_theirs && outcome.sigma_pt().is_some() && outcome.p < FEW_FOR_SIGMA && !consented)
}
