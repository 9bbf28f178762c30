//! The results of each measurand as a report prints them, and what was decided.

use super::{Source, day};
use crate::error::Error;
use crate::evaluated::Evaluated;
use crate::pages::figures;
use roundel_documents::ScoreKind;
use roundel_documents::number;
use roundel_documents::report::{
    Assigned, Budget, Class, Decision, FEWEST_SHOWN, Kind, Measurand as Printed, Note, Row, SigmaRule,
};
use roundel_domain::decision::Kind as Decided;
use roundel_domain::evaluation::{
    Basis, Detection, MeasurandEvaluation, NoteCode, ScoreEntry, ScoreKind as Deciding, Signal,
};
use roundel_domain::id::{MeasurandId, ParticipantId};
use roundel_domain::measurand::Measurand;
use roundel_domain::package::{Estimator, Measurand as Plan, SigmaBasis};
use roundel_domain::preparation::Component;
use roundel_domain::result::{Entry, Reported, UncertaintyForm};
use std::collections::HashMap;

/// What a laboratory sent of the round's measurands.
struct Sending<'a> {
    participant: ParticipantId,
    code: &'a str,
    late: bool,
    entries: HashMap<i64, Entry>,
}

/// All measurands with their results, in the order of the form.
///
/// # Errors
///
/// When a stored submission cannot be read.
pub(super) fn all(source: &Source, evaluated: &Evaluated) -> Result<Vec<Printed>, Error> {
    let mut sendings = Vec::new();
    for sent in &source.sent {
        let participant = source.participants.iter().find(|p| p.id == sent.participant).ok_or(Error::NotFound)?;
        let entries = sent.submission()?.results.into_iter().map(|entry| (entry.position, entry)).collect();
        sendings.push(Sending { participant: participant.id, code: &participant.code, late: sent.late, entries });
    }
    sendings.sort_by(|a, b| a.code.cmp(b.code));
    let mut kinds: HashMap<(ParticipantId, MeasurandId), Decided> = HashMap::new();
    // Oldest first: the newest decision on a result counts.
    for decision in &source.decisions {
        kinds.insert((decision.participant, decision.measurand), decision.kind()?);
    }
    Ok(source.measurands.iter().filter_map(|m| measurand(source, evaluated, m, &sendings, &kinds)).collect())
}

fn measurand(
    source: &Source,
    evaluated: &Evaluated,
    m: &Measurand,
    sendings: &[Sending<'_>],
    kinds: &HashMap<(ParticipantId, MeasurandId), Decided>,
) -> Option<Printed> {
    let id = source.id(m);
    let (plan, outcome) = evaluated.measurand(&id)?;
    let count = evaluated.scores(&id).count();
    let few = count > 0 && count < FEWEST_SHOWN;
    let mut rows = Vec::new();
    let shown = if few { &[] } else { sendings };
    for sending in shown {
        let entry = sending.entries.get(&m.position).filter(|entry| entry.reported.is_number());
        let (Some(entry), Some(score)) = (entry, evaluated.score(sending.code, &id)) else { continue };
        let decided = kinds.get(&(sending.participant, m.id)).copied();
        rows.push(row(evaluated, (plan, outcome), sending, entry, score, decided));
    }
    let limits = plan.limits();
    let kind = figures::kind_of(plan, outcome).map(printed_kind);
    Some(Printed {
        item: source.label(m).to_owned(),
        analyte: m.analyte.clone(),
        unit: m.unit.clone(),
        expressed_as: m.expressed_as.clone(),
        few,
        absent: !plan.is_present(),
        quantified: outcome.summary.quantified,
        censored: outcome.summary.censored,
        excluded: outcome.summary.excluded,
        assigned: assigned(outcome).filter(|_| !few),
        sigma_pt: outcome.sigma_pt.filter(|_| !few),
        sigma_rule: plan.sigma_pt.as_ref().map(|sigma| {
            let (basis, percent) = match sigma.basis {
                SigmaBasis::Prescribed { .. } => ("prescribed", None),
                SigmaBasis::Relative { percent } => ("relative", Some(percent)),
                SigmaBasis::Horwitz => ("horwitz", None),
                SigmaBasis::Precision { .. } => ("precision", None),
                SigmaBasis::Participants => ("participants", None),
            };
            SigmaRule { basis: basis.to_owned(), percent, additional_sd: sigma.additional_sd }
        }),
        ratio: outcome.uncertainty_ratio.filter(|_| !few),
        robust_mean: figures::robust_mean(outcome).filter(|_| !few),
        robust_sd: outcome.summary.algorithm_a_sd.filter(|_| figures::robust_mean(outcome).is_some()),
        median: outcome.summary.median.filter(|_| !few),
        limits: [limits.warning, limits.action, limits.e_n],
        limits_reason: m
            .plan
            .as_ref()
            .and_then(|plan| plan.limits.as_ref())
            .map(|limits| limits.reason.clone())
            .unwrap_or_default(),
        kind,
        budget: budget(source, m).filter(|_| !few),
        notes: notes(outcome),
        results: rows,
    })
}

fn printed_kind(kind: ScoreKind) -> Kind {
    match kind {
        ScoreKind::Z => Kind::Z,
        ScoreKind::ZPrime => Kind::ZPrime,
        ScoreKind::Zeta => Kind::Zeta,
        ScoreKind::En => Kind::EN,
    }
}

fn assigned(outcome: &MeasurandEvaluation) -> Option<Assigned> {
    let value = outcome.assigned_value.as_ref()?;
    Some(Assigned {
        value: value.value,
        standard_uncertainty: value.standard_uncertainty,
        route: match value.basis {
            Basis::Formulation => "formulation",
            Basis::Reference => "reference",
            Basis::Expert => "expert",
            Basis::Participants => "participants",
        }
        .to_owned(),
        estimator: value.estimator.map(estimator).unwrap_or_default().to_owned(),
        p: value.p,
        robust_sd: value.robust_sd,
    })
}

fn estimator(estimator: Estimator) -> &'static str {
    match estimator {
        Estimator::ByCount => "by_count",
        Estimator::AlgorithmA => "algorithm_a",
        Estimator::QHampel => "q_hampel",
        Estimator::MedianMade => "median_made",
        Estimator::MedianNiqr => "median_niqr",
        Estimator::Mean => "mean",
        Estimator::WeightedMean => "weighted_mean",
        Estimator::MandelPaule => "mandel_paule",
        Estimator::DerSimonianLaird => "dersimonian_laird",
    }
}

fn budget(source: &Source, m: &Measurand) -> Option<Budget> {
    let prepared = source.known.get(&m.id)?.prepared(&m.unit)?;
    let part = |part: &roundel_domain::preparation::Part| {
        let (word, place) = match part.component {
            Component::Mass => ("mass", 0),
            Component::Solution => ("solution", 0),
            Component::Stock => ("stock", 0),
            Component::Purity => ("purity", 0),
            Component::Factor => ("factor", 0),
            Component::Taken(place) => ("taken", place),
            Component::Total(place) => ("total", place),
            Component::Spike => ("spike", 0),
            Component::Item => ("item", 0),
            Component::Native => ("native", 0),
        };
        (word.to_owned(), place, part.share)
    };
    Some(Budget {
        value: prepared.value,
        standard_uncertainty: prepared.standard_uncertainty,
        parts: prepared.parts.iter().map(part).collect(),
    })
}

fn notes(outcome: &MeasurandEvaluation) -> Vec<Note> {
    let values: Vec<(String, String)> =
        figures::note_values(outcome).into_iter().map(|(name, value)| (name.to_owned(), value)).collect();
    let note = |note: &roundel_domain::evaluation::Note| match note.code {
        NoteCode::Decision => Note { key: String::new(), values: Vec::new(), text: note.message.clone() },
        code => Note { key: figures::note_key(code).to_owned(), values: values.clone(), text: String::new() },
    };
    outcome.notes.iter().map(note).collect()
}

fn row(
    evaluated: &Evaluated,
    (plan, outcome): (&Plan, &MeasurandEvaluation),
    sending: &Sending<'_>,
    entry: &Entry,
    score: &ScoreEntry,
    decided: Option<Decided>,
) -> Row {
    let (reported, uncertainty, coverage_factor) = typed(entry);
    let result = evaluated.result(sending.code, &score.measurand);
    let deciding = evaluated.deciding(score);
    let of_bound = figures::kind_of(plan, outcome).map(printed_kind);
    let excluded = result.is_some_and(|result| result.exclude.is_some());
    Row {
        code: sending.code.to_owned(),
        reported,
        reported_unit: entry.typed_unit.clone().unwrap_or_default(),
        uncertainty,
        coverage_factor,
        value: score.value,
        below: score.below,
        expanded_uncertainty: result.and_then(|result| result.expanded_uncertainty),
        score: deciding.map(|(_, value)| value),
        bound: matches!(deciding, Some((Deciding::Bound, _))),
        kind: deciding.and_then(|(kind, _)| match kind {
            Deciding::Bound => of_bound,
            kind => Some(printed_kind(figures::kind(kind))),
        }),
        class: match score.signal {
            Signal::None => Class::Acceptable,
            Signal::Warning => Class::Questionable,
            Signal::Action => Class::Unacceptable,
            Signal::InformationOnly => Class::InformationOnly,
            Signal::NotScored => Class::NotScored,
        },
        marks: marks(sending.late, excluded, decided, score.detection),
    }
}

fn marks(late: bool, excluded: bool, decided: Option<Decided>, detection: Detection) -> Vec<String> {
    let mut marks = Vec::new();
    if late {
        marks.push("late");
    }
    match decided {
        Some(Decided::Blunder) => marks.push("blunder"),
        Some(Decided::Invalid) => marks.push("invalid"),
        Some(Decided::Withdrawn) => marks.push("withdrawn"),
        Some(Decided::Keep) | None if excluded && !late => marks.push("excluded"),
        Some(Decided::Keep) | None => {}
    }
    match detection {
        Detection::FalseNegative => marks.push("false_negative"),
        Detection::FalsePositive => marks.push("false_positive"),
        Detection::Trace => marks.push("trace"),
        Detection::Detected | Detection::NotDetected | Detection::Correct | Detection::LoqNotMet => {}
    }
    marks.into_iter().map(str::to_owned).collect()
}

/// Result, U and k as typed. A mean of replicates is printed as computed.
fn typed(entry: &Entry) -> (String, String, String) {
    match &entry.reported {
        Reported::Value { values, uncertainty } => {
            let reported = if let [only] = values.as_slice() {
                only.typed.trim().to_owned()
            } else {
                entry.value().map(number::plain).unwrap_or_default()
            };
            let expanded = uncertainty.as_ref().map(|u| match u.form {
                UncertaintyForm::Absolute => u.expanded.typed.trim().to_owned(),
                UncertaintyForm::Percent => format!("{} %", u.expanded.typed.trim()),
            });
            let factor = uncertainty.as_ref().and_then(|u| u.coverage_factor.as_ref()).map(|k| k.typed.trim());
            (reported, expanded.unwrap_or_default(), factor.unwrap_or_default().to_owned())
        }
        Reported::Below { limit } => {
            let typed = limit.typed.trim().trim_start_matches(['<', ' ']);
            (format!("<{typed}"), String::new(), String::new())
        }
        Reported::Identified | Reported::NotAnalysed { .. } | Reported::Failed { .. } => Default::default(),
    }
}

/// What was decided on results and on measurands, oldest first.
///
/// # Errors
///
/// When a stored decision cannot be read.
pub(super) fn decisions(source: &Source) -> Result<Vec<Decision>, Error> {
    let codes: HashMap<_, _> = source.participants.iter().map(|p| (p.id, p.code.as_str())).collect();
    let names: HashMap<_, _> = source.measurands.iter().map(|m| (m.id, source.id(m))).collect();
    let mut dated = Vec::new();
    for decision in &source.decisions {
        let (Some(code), Some(measurand)) = (codes.get(&decision.participant), names.get(&decision.measurand)) else {
            continue;
        };
        let decided = Decision {
            on: day(decision.at()),
            code: (*code).to_owned(),
            measurand: measurand.clone(),
            kind: decision.kind()?.word().to_owned(),
            cause: decision.cause()?.word().to_owned(),
            reason: decision.reason.clone(),
        };
        dated.push((decision.at(), decided));
    }
    for decision in &source.judged {
        let Some(measurand) = names.get(&decision.measurand) else { continue };
        let judgement = decision.judgement()?;
        let decided = Decision {
            on: day(decision.at()),
            code: String::new(),
            measurand: measurand.clone(),
            kind: judgement.kind.word().to_owned(),
            cause: judgement.topic.word().to_owned(),
            reason: judgement.reason.clone(),
        };
        dated.push((decision.at(), decided));
    }
    dated.sort_by_key(|(at, _)| *at);
    Ok(dated.into_iter().map(|(_, decision)| decision).collect())
}
