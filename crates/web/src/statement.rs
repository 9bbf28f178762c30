//! From a published evaluation to what a certificate states: codes and numbers, no
//! words of ours.

use crate::certificate::Basis;
use crate::pages::figures;
use jiff::Timestamp;
use roundel_documents as documents;
use roundel_domain::assemble::measurand_id;
use roundel_domain::certificate::{
    AssignedValue, COVERAGE_FACTOR, Caution, Class, Counts, Evidence, FORMAT, Item, Kind, Laboratory, Limits, Mark,
    Missing, NotReported, Provider, Replaces, Report, Reported as Stated, ResultLine, Score, Statement,
    UncertaintyCheck,
};
use roundel_domain::evaluation::{Basis as Route, MeasurandEvaluation, ScoreEntry, ScoreKind, Signal};
use roundel_domain::measurand::Measurand;
use roundel_domain::result::{Entry, Reported, UncertaintyForm};

/// What a statement says of its own signature.
#[derive(Clone, Debug, Default)]
pub struct Signing {
    /// Where it is said whether it still stands; empty where it is not kept.
    pub address: String,
    /// Name of the key that signs; empty where none does.
    pub key_id: String,
}

/// What the certificate of a laboratory states. No clock is asked: the same
/// evaluation gives the same statement.
pub fn of(on: &Basis<'_>, signing: &Signing, signed_at: Timestamp) -> Statement {
    let code = on.participant.code.as_str();
    let number = format!("{}-{code}", on.round.code);
    let results = results(on);
    let kind = if results.is_empty() { Kind::Registration } else { Kind::Performance };
    let accreditation = on.installation.accreditation.trim();
    let named = !on.by_code;
    Statement {
        format: FORMAT.to_owned(),
        kind,
        demonstration: on.installation.demonstration,
        version: on.number,
        replaces: (!on.reason.is_empty()).then(|| Replaces {
            number: number.clone(),
            version: on.number - 1,
            reason: on.reason.to_owned(),
        }),
        number,
        scheme: on.round.scheme.clone(),
        round: on.round.code.clone(),
        round_title: on.round.title.clone(),
        provider: Provider {
            name: on.installation.provider.clone(),
            contact: on.installation.contact.lines().filter(|line| !line.is_empty()).map(str::to_owned).collect(),
            accreditation: (!accreditation.is_empty()).then(|| accreditation.to_owned()),
        },
        laboratory: Laboratory {
            code: code.to_owned(),
            name: named.then(|| on.participant.name.clone()),
            organisation: on.participant.organisation.clone().filter(|_| named),
        },
        opened_at: on.round.state.opened_at().map(|at| at.to_string()),
        closes_at: on.round.closes_at.to_string(),
        received_at: on.submission.map(|submission| submission.submitted_at.to_string()),
        late: on.submission.is_some_and(|submission| submission.late),
        published_at: on.issued.to_string(),
        issued_at: signed_at.to_string(),
        items: items(on),
        counts: Counts::of(&results),
        not_reported: not_reported(on),
        limits: limits(on, &results),
        report: Report { round: on.round.code.clone(), version: on.number },
        authorised_by: on.authorised_by.clone(),
        cautions: cautions(on, kind, &results),
        evidence: Evidence {
            package_sha256: on.evaluated.shared().package_sha256.clone(),
            evaluation_sha256: on.evaluated.shared().evaluation_sha256.clone(),
            engine: on.evaluated.evaluation.engine.clone(),
        },
        address: signing.address.clone(),
        key_id: signing.key_id.clone(),
        results,
    }
}

fn items(on: &Basis<'_>) -> Vec<Item> {
    let unit_code = |label: &str| on.unit_codes.iter().find(|(item, _)| item == label).map(|(_, code)| code.clone());
    on.items
        .iter()
        .map(|item| {
            let said = on.submission.and_then(|s| s.declared.items.iter().find(|said| said.item == item.label));
            Item {
                label: item.label.clone(),
                matrix: item.matrix.clone(),
                unit_code: unit_code(&item.label),
                received_on: said.map(|said| said.received_on),
                analysed_on: said.map(|said| said.analysed_on),
            }
        })
        .collect()
}

/// What the laboratory sent for a measurand.
pub(crate) fn submitted<'a>(on: &Basis<'a>, position: i64) -> Option<&'a Entry> {
    on.submission?.results.iter().find(|entry| entry.position == position)
}

fn results(on: &Basis<'_>) -> Vec<ResultLine> {
    let by_item = crate::pages::by_item(on.items, on.measurands);
    by_item.into_iter().flat_map(|(item, rows)| rows.into_iter().filter_map(|m| line(on, &item.label, m))).collect()
}

fn line(on: &Basis<'_>, item: &str, m: &Measurand) -> Option<ResultLine> {
    let id = measurand_id(item, &m.analyte);
    let score = on.evaluated.score(&on.participant.code, &id)?;
    let (_, outcome) = on.evaluated.measurand(&id)?;
    let entry = submitted(on, m.position)?;
    let shared = on.evaluated.may_be_shared(&id);
    let plain = ResultLine {
        item: item.to_owned(),
        analyte: m.analyte.clone(),
        expressed_as: m.expressed_as.clone(),
        unit: entry.unit.clone(),
        reported: stated(entry)?,
        assigned_value: None,
        sigma_pt: None,
        difference: None,
        difference_percent: None,
        score: None,
        zeta: None,
        class: Class::NotScored,
        detection: None,
        required_loq: m.required_loq.as_ref().map(|loq| loq.value()),
        loq_met: loq_met(m, entry),
        uncertainty: None,
        marks: vec![Mark::FewLaboratories],
        excluded: on.evaluated.result(&on.participant.code, &id).and_then(|result| result.exclude.clone()),
    };
    if !shared {
        return Some(plain);
    }
    Some(ResultLine {
        assigned_value: outcome.assigned_value.as_ref().map(|value| AssignedValue {
            value: value.value,
            expanded_uncertainty: COVERAGE_FACTOR * value.standard_uncertainty,
            coverage_factor: COVERAGE_FACTOR,
            route: value.basis,
        }),
        sigma_pt: outcome.sigma_pt,
        difference: score.difference,
        difference_percent: score.difference_percent,
        score: deciding(on, score, outcome),
        zeta: score.zeta,
        class: score.signal.into(),
        detection: Some(score.detection),
        uncertainty: uncertainty(entry, outcome),
        marks: marks(on, m, score, outcome),
        ..plain
    })
}

/// A result as it was reported; none where there is no number.
fn stated(entry: &Entry) -> Option<Stated> {
    let typed_unit = entry.typed_unit.clone().unwrap_or_else(|| entry.unit.clone());
    match &entry.reported {
        Reported::Value { values, uncertainty } => Some(Stated {
            typed: values.iter().map(|number| number.typed.clone()).collect(),
            typed_unit,
            below: false,
            value: entry.value()?,
            expanded_uncertainty: entry.expanded_uncertainty(),
            expanded_uncertainty_typed: uncertainty.as_ref().map(|u| match u.form {
                UncertaintyForm::Absolute => u.expanded.typed.clone(),
                UncertaintyForm::Percent => format!("{} %", u.expanded.typed),
            }),
            coverage_factor: entry.coverage_factor(),
        }),
        Reported::Below { limit } => Some(Stated {
            typed: vec![format!("<{}", limit.typed.trim_start_matches('<').trim_start())],
            typed_unit,
            below: true,
            value: limit.decimal.value(),
            expanded_uncertainty: None,
            expanded_uncertainty_typed: None,
            coverage_factor: None,
        }),
        Reported::Identified | Reported::NotAnalysed { .. } | Reported::Failed { .. } => None,
    }
}

fn loq_met(m: &Measurand, entry: &Entry) -> Option<bool> {
    let required = m.required_loq.as_ref()?.value();
    match &entry.reported {
        Reported::Below { limit } => Some(limit.decimal.value() <= required),
        _ => None,
    }
}

/// The score that decides; a bound on the scale on which it is read.
fn deciding(on: &Basis<'_>, score: &ScoreEntry, outcome: &MeasurandEvaluation) -> Option<Score> {
    let (by, value) = on.evaluated.deciding(score)?;
    let (plan, _) = on.evaluated.measurand(&score.measurand)?;
    let bound = by == ScoreKind::Bound;
    let kind = match figures::kind_of(plan, outcome) {
        Some(kind) if bound => domain_kind(kind),
        _ if bound => ScoreKind::Z,
        _ => by,
    };
    Some(Score { kind, value, bound })
}

fn domain_kind(kind: documents::ScoreKind) -> ScoreKind {
    match kind {
        documents::ScoreKind::Z => ScoreKind::Z,
        documents::ScoreKind::ZPrime => ScoreKind::ZPrime,
        documents::ScoreKind::Zeta => ScoreKind::Zeta,
        documents::ScoreKind::En => ScoreKind::En,
    }
}

/// D18: the standard uncertainty of the laboratory against u(x_pt) and s*.
fn uncertainty(entry: &Entry, outcome: &MeasurandEvaluation) -> Option<UncertaintyCheck> {
    let u = entry.expanded_uncertainty()? / entry.coverage_factor().filter(|k| *k > 0.0)?;
    let assigned = outcome.assigned_value.as_ref()?;
    let enough = figures::robust_mean(outcome).is_some();
    let robust_sd = assigned.robust_sd.or(outcome.summary.algorithm_a_sd.filter(|_| enough));
    Some(UncertaintyCheck::of(u, assigned.standard_uncertainty, robust_sd))
}

fn marks(on: &Basis<'_>, m: &Measurand, score: &ScoreEntry, outcome: &MeasurandEvaluation) -> Vec<Mark> {
    let qualified = outcome.uncertainty_negligible == Some(false) && score.signal != Signal::InformationOnly;
    let near = on.near_loq.contains(&m.position);
    qualified.then_some(Mark::Qualified).into_iter().chain(near.then_some(Mark::NearLoq)).collect()
}

fn not_reported(on: &Basis<'_>) -> Vec<NotReported> {
    let Some(submission) = on.submission else { return Vec::new() };
    let missing = submission.results.iter().filter_map(|entry| {
        let (state, reason) = match &entry.reported {
            Reported::Identified => (Missing::Identified, None),
            Reported::NotAnalysed { reason } => (Missing::NotAnalysed, Some(*reason)),
            Reported::Failed { reason } => (Missing::Failed, Some(*reason)),
            Reported::Value { .. } | Reported::Below { .. } => return None,
        };
        Some(NotReported { item: entry.item.clone(), analyte: entry.analyte.clone(), state, reason })
    });
    missing.collect()
}

/// The limits of each kind of score that occurs, as the plan has them.
fn limits(on: &Basis<'_>, results: &[ResultLine]) -> Vec<Limits> {
    let mut all: Vec<Limits> = Vec::new();
    for line in results {
        let Some(score) = line.score else { continue };
        let Some((plan, _)) = on.evaluated.measurand(&measurand_id(&line.item, &line.analyte)) else { continue };
        let planned = figures::limits(plan, figures::kind(score.kind));
        let limits = Limits { kind: score.kind, warning: planned.warning, action: planned.action };
        if !all.contains(&limits) {
            all.push(limits);
        }
    }
    all.sort_by_key(|limits| figures::kind(limits.kind));
    all
}

fn cautions(on: &Basis<'_>, kind: Kind, results: &[ResultLine]) -> Vec<Caution> {
    let mut cautions = Vec::new();
    if kind == Kind::Registration {
        cautions.push(Caution::Registration);
    } else {
        let route = |line: &ResultLine| line.assigned_value.as_ref().map(|value| value.route);
        let consensus = results.iter().any(|line| route(line) == Some(Route::Participants));
        let information = results.iter().any(|line| line.class == Class::InformationOnly);
        cautions.extend([Caution::Scope, Caution::Ranking, Caution::Authority, Caution::Chance, Caution::Kinds]);
        cautions.extend(consensus.then_some(Caution::Consensus));
        cautions.extend(information.then_some(Caution::Information));
        cautions.push(Caution::Complete);
    }
    cautions.push(Caution::Version);
    cautions.extend(on.installation.demonstration.then_some(Caution::Demonstration));
    cautions
}
