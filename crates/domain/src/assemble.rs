//! From a round to its package: the plan, the decisions and the results under
//! their codes, as `round-package/1` has them.

use crate::evaluation::{self, NoteCode};
use crate::judgement::MeasurandLayer;
use crate::measurand::{Item, Measurand};
use crate::package::{
    self, AssignedValue, Consensus, Estimator, GivenBasis, GivenValue, Measurand as Planned, PackageRound,
    Reported as Result, ReportedResult, RoundPackage, Rounding, SigmaBasis, SigmaPt,
};
use crate::plan::{self, Assigned, Basis, Given, Plan};
use crate::result::{Entry, Reported};
use crate::round::Round;
use std::collections::{HashMap, HashSet};

/// Fewer results than this are not shown to participants: they could be told
/// whose they are (F24).
pub const FEWEST_SHOWN: usize = 5;

/// What one laboratory sent, and how it counts.
#[derive(Clone, Debug)]
pub struct Contribution {
    /// Its code in the round.
    pub code: String,
    /// The organisation it belongs to.
    pub organisation: Option<String>,
    /// Whether it came after the deadline: scored, and in no consensus (D33).
    pub late: bool,
    /// The group of methods that its answers make.
    pub method: Option<String>,
    /// Its rows.
    pub entries: Vec<Entry>,
}

/// What people decided, laid over what was reported and planned. Neither is
/// changed by it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Layers {
    /// Results that are left out, by code and place of the measurand.
    pub results: HashMap<(String, i64), ResultLayer>,
    /// By place of the measurand.
    pub measurands: HashMap<i64, MeasurandLayer>,
}

/// A result that is left out of consensus and summary.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ResultLayer {
    /// Why.
    pub exclude: String,
    /// Whether it is scored all the same, as a blunder is: not what is invalid
    /// for the study, nor what was withdrawn.
    pub scored: bool,
}

/// The name of a measurand in packages and evaluations: `A/nitrate`.
pub fn measurand_id(item: &str, analyte: &str) -> String {
    format!("{item}/{analyte}")
}

/// The package of a round. What it does not ask for by a plan is summarised
/// only. Numbers of the plan that are computed are rounded for publication, so
/// that a reader gets the printed scores from the printed numbers (D14).
pub fn package(
    round: &Round,
    items: &[Item],
    measurands: &[Measurand],
    contributions: &[Contribution],
    layers: &Layers,
) -> RoundPackage {
    let label = |m: &Measurand| items.iter().find(|item| item.id == m.item).map_or("", |item| item.label.as_str());
    let mut package = RoundPackage {
        round: PackageRound { code: round.code.clone(), title: round.title.clone(), omitted: None },
        measurands: measurands.iter().map(|m| planned(label(m), m)).collect(),
        results: results(contributions, &layers.results),
    };
    for (planned, measurand) in package.measurands.iter_mut().zip(measurands) {
        if let Some(layer) = layers.measurands.get(&measurand.position) {
            lay_over(planned, layer);
        }
    }
    round_for_publication(&mut package, measurands);
    package
}

/// The package as participants get it: without groups of methods, and without
/// measurands that fewer than [`FEWEST_SHOWN`] laboratories reported, which are
/// listed.
pub fn for_participants(package: &RoundPackage) -> RoundPackage {
    let mut counts: HashMap<&str, usize> = HashMap::new();
    for result in &package.results {
        *counts.entry(&result.measurand).or_default() += 1;
    }
    let few = |id: &str| counts.get(id).copied().unwrap_or(0) < FEWEST_SHOWN;
    let omitted: Vec<String> = package.measurands.iter().map(|m| m.id.clone()).filter(|id| few(id)).collect();
    let shown = |mut result: ReportedResult| {
        result.method = None;
        result
    };
    RoundPackage {
        round: PackageRound { omitted: (!omitted.is_empty()).then_some(omitted), ..package.round.clone() },
        measurands: package.measurands.iter().filter(|m| !few(&m.id)).cloned().collect(),
        results: package.results.iter().filter(|r| !few(&r.measurand)).cloned().map(shown).collect(),
    }
}

fn planned(item: &str, m: &Measurand) -> Planned {
    let mut planned = Planned {
        id: measurand_id(item, &m.analyte),
        item: item.to_owned(),
        analyte: m.analyte.clone(),
        unit: m.unit.clone(),
        replicates: u32::try_from(m.replicates).ok().filter(|n| *n > 1),
        assigned_value: None,
        sigma_pt: None,
        scores: None,
        limits: None,
        censored: None,
        rounding: None,
        present: None,
        absent_below: None,
        required_loq: m.required_loq.as_ref().map(|loq| loq.value()),
        mass_fraction_per_unit: plan::mass_fraction_per_unit(&m.unit),
        homogeneity: None,
        stability: None,
        decision: None,
    };
    let Some(plan) = &m.plan else {
        planned.assigned_value = Some(AssignedValue::None(Default::default()));
        return planned;
    };
    let Plan { assigned, sigma_pt, censored, limits, .. } = plan;
    planned.assigned_value = match assigned {
        Assigned::Formulation(given) => Some(AssignedValue::Given(given_value(Basis::Formulation, given))),
        Assigned::Reference(given) => Some(AssignedValue::Given(given_value(Basis::Reference, given))),
        Assigned::Expert(given) => Some(AssignedValue::Given(given_value(Basis::Expert, given))),
        Assigned::Participants { estimator, fallback } => Some(AssignedValue::Participants(Consensus {
            estimator: Some(match estimator {
                plan::Estimator::ByCount => Estimator::ByCount,
                plan::Estimator::AlgorithmA => Estimator::AlgorithmA,
                plan::Estimator::QHampel => Estimator::QHampel,
                plan::Estimator::MedianMade => Estimator::MedianMade,
                plan::Estimator::MedianNiqr => Estimator::MedianNiqr,
            }),
            fallback: fallback.as_ref().map(|fallback| given_value(fallback.basis, &fallback.given)),
            ..Consensus::default()
        })),
        Assigned::Absent { absent_below } => {
            planned.present = Some(false);
            planned.absent_below = absent_below.as_ref().map(|limit| limit.value());
            return planned;
        }
    };
    planned.scores = Some(plan.scores());
    planned.censored = (*censored == plan::Censored::LimitAware).then_some(package::Censored::LimitAware);
    planned.limits = limits.as_ref().map(|limits| package::Limits {
        warning: limits.warning.value(),
        action: limits.action.value(),
        e_n: limits.e_n.value(),
    });
    planned.sigma_pt = sigma_pt.as_ref().map(|sigma| {
        SigmaPt::new(match sigma {
            plan::SigmaPt::Prescribed(sigma) => SigmaBasis::Prescribed { value: sigma.value() },
            plan::SigmaPt::Percent(percent) => SigmaBasis::Relative { percent: percent.value() },
            plan::SigmaPt::Horwitz => SigmaBasis::Horwitz,
        })
    });
    planned
}

/// What was decided and measured of a measurand. Where the analyte is absent
/// there is neither a value nor a sigma_pt that it could change.
fn lay_over(planned: &mut Planned, layer: &MeasurandLayer) {
    planned.homogeneity.clone_from(&layer.homogeneity);
    planned.stability.clone_from(&layer.stability);
    planned.decision.clone_from(&layer.decision);
    if let Some(sigma) = &mut planned.sigma_pt {
        sigma.additional_sd = layer.additional_sd;
    }
    match &mut planned.assigned_value {
        Some(AssignedValue::Given(given)) => given.additional_uncertainty = layer.additional_uncertainty,
        Some(AssignedValue::Participants(consensus)) => {
            consensus.additional_uncertainty = layer.additional_uncertainty;
            if let Some(fallback) = &mut consensus.fallback {
                fallback.additional_uncertainty = layer.additional_uncertainty;
            }
            consensus.consent.clone_from(&layer.consent);
        }
        Some(AssignedValue::None(_)) | None => {}
    }
}

fn given_value(basis: Basis, given: &Given) -> GivenValue {
    GivenValue {
        basis: match basis {
            Basis::Formulation => GivenBasis::Formulation,
            Basis::Reference => GivenBasis::Reference,
            Basis::Expert => GivenBasis::Expert,
        },
        value: given.value.value(),
        standard_uncertainty: given.uncertainty.standard(),
        additional_uncertainty: None,
    }
}

fn results(contributions: &[Contribution], left_out: &HashMap<(String, i64), ResultLayer>) -> Vec<ReportedResult> {
    let mut contributions: Vec<&Contribution> = contributions.iter().collect();
    // Codes are random, so their order favours nobody when organisations share.
    contributions.sort_by(|a, b| a.code.cmp(&b.code));
    let words = organisation_words(&contributions);
    let mut counted: HashSet<(&str, i64)> = HashSet::new();
    let mut results = Vec::new();
    for contribution in contributions {
        let organisation = contribution.organisation.as_deref().filter(|name| words.contains_key(name));
        for entry in &contribution.entries {
            let reported = match &entry.reported {
                Reported::Value { values, .. } => Result::Values(values.iter().map(|v| v.decimal.value()).collect()),
                Reported::Below { limit } => Result::Below(limit.decimal.value()),
                Reported::Identified | Reported::NotAnalysed { .. } | Reported::Failed { .. } => continue,
            };
            let id = measurand_id(&entry.item, &entry.analyte);
            let mut result = ReportedResult::new(&contribution.code, &id, reported);
            result.expanded_uncertainty = entry.expanded_uncertainty();
            result.coverage_factor = entry.coverage_factor();
            result.method.clone_from(&contribution.method);
            result.organisation = organisation.map(|name| words[name].clone());
            let layer = left_out.get(&(contribution.code.clone(), entry.position));
            result.scored = layer.filter(|layer| !layer.scored).map(|_| false);
            result.exclude = match layer {
                Some(layer) => Some(layer.exclude.clone()),
                None if contribution.late => Some("Received after the deadline.".to_owned()),
                None => match organisation {
                    Some(name) if !counted.insert((name, entry.position)) => {
                        Some("Another result of the same organisation counts.".to_owned())
                    }
                    _ => None,
                },
            };
            results.push(result);
        }
    }
    results
}

/// An opaque word for each organisation that more than one code belongs to.
fn organisation_words<'a>(contributions: &[&'a Contribution]) -> HashMap<&'a str, String> {
    let mut members: HashMap<&str, usize> = HashMap::new();
    for name in contributions.iter().filter_map(|c| c.organisation.as_deref()) {
        *members.entry(name).or_default() += 1;
    }
    let mut words = HashMap::new();
    for name in contributions.iter().filter_map(|c| c.organisation.as_deref()) {
        if members[name] > 1 {
            let next = format!("organisation {}", words.len() + 1);
            words.entry(name).or_insert(next);
        }
    }
    words
}

/// Asks for published digits where a number is computed: U(x_pt) to two
/// significant digits, x_pt to the same place and at least three, sigma_pt to
/// three (D14). What was typed is published as typed.
fn round_for_publication(package: &mut RoundPackage, measurands: &[Measurand]) {
    let computed = evaluation::evaluate(package, "");
    for ((planned, evaluated), measurand) in package.measurands.iter_mut().zip(&computed.measurands).zip(measurands) {
        let Some(Plan { assigned, sigma_pt, .. }) = &measurand.plan else { continue };
        let mut rounding = Rounding::default();
        let typed = evaluated.notes.iter().any(|note| note.code == NoteCode::FallbackUsed);
        if let (Assigned::Participants { .. }, Some(value), false) = (assigned, &evaluated.assigned_value, typed) {
            let place = decimals_for(2.0 * value.standard_uncertainty, 2);
            rounding.assigned_value = Some(place.max(decimals_for(value.value, 3)));
            rounding.standard_uncertainty = Some(decimals_for(value.standard_uncertainty, 2));
        }
        if let (Some(plan::SigmaPt::Percent(_) | plan::SigmaPt::Horwitz), Some(sigma)) = (sigma_pt, evaluated.sigma_pt)
        {
            rounding.sigma_pt = Some(decimals_for(sigma, 3));
        }
        if rounding != Rounding::default() {
            planned.rounding = Some(rounding);
        }
    }
}

/// The decimals that `value` needs to have `digits` significant digits.
fn decimals_for(value: f64, digits: i32) -> u32 {
    if value == 0.0 || !value.is_finite() {
        return 0;
    }
    let first = value.abs().log10().floor() as i32;
    u32::try_from(digits - 1 - first).unwrap_or(0)
}
