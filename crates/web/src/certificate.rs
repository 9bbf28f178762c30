//! From a published evaluation to the data of a certificate.

use crate::evaluated::Evaluated;
use crate::pages::{Frame, figures};
use crate::show;
use jiff::Timestamp;
use roundel_documents::certificate::{
    Certificate, Counts, Day, Evidence, Item as PrintedItem, Laboratory, Loq, NotReported, Provider, Replaces, Route,
    Row, RowNote, RowScore, Status, Table, Verdict,
};
use roundel_documents::figure::WIDE;
use roundel_documents::{Limits, Mark, ScoreKind, number};
use roundel_domain::assemble::measurand_id;
use roundel_domain::evaluation::{Basis as ValueBasis, Detection, ScoreEntry, ScoreKind as Decided, Signal};
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::result::{Entry, Reported, Submission, UncertaintyForm};
use roundel_domain::round::Round;
use roundel_store::installation::Installation;
use roundel_store::participants::Participant;

/// What a certificate is made from.
#[derive(Clone, Debug)]
pub struct Basis<'a> {
    /// Who runs the scheme.
    pub installation: &'a Installation,
    /// The round.
    pub round: &'a Round,
    /// Its items.
    pub items: &'a [Item],
    /// Its measurands.
    pub measurands: &'a [Measurand],
    /// Whose certificate it is.
    pub participant: &'a Participant,
    /// What it sent.
    pub submission: Option<&'a Submission>,
    /// The published evaluation.
    pub evaluated: &'a Evaluated,
    /// When it was published.
    pub issued: Timestamp,
    /// Who published it, as printed.
    pub authorised_by: Option<String>,
    /// Number of the publication, from 1.
    pub number: i64,
    /// Why it took the place of the one before; empty for the first.
    pub reason: &'a str,
    /// Whether another took its place.
    pub superseded: bool,
}

/// The data of a certificate. No clock is asked: the same evaluation gives the
/// same certificate.
pub fn of(f: &Frame, on: &Basis<'_>) -> Certificate {
    let code = on.participant.code.as_str();
    let tables = tables(f, on);
    let registration = tables.iter().all(|table| table.rows.is_empty());
    let tables = if registration { Vec::new() } else { tables };
    let consensus = tables.iter().flat_map(|table| &table.rows).any(|row| row.route == Some(Route::Participants));
    let figure = figures::own_scores(f, on.evaluated, code, |_| None, WIDE);
    let contact: Vec<String> =
        on.installation.contact.lines().map(str::to_owned).filter(|line| !line.is_empty()).collect();
    let accreditation = on.installation.accreditation.trim();
    Certificate {
        registration,
        demonstration: on.installation.demonstration,
        language: "en".to_owned(),
        scheme: on.round.scheme.clone(),
        round: on.round.code.clone(),
        round_title: on.round.title.clone(),
        number: format!("{}-{code}", on.round.code),
        version: u32::try_from(on.number).unwrap_or(1),
        replaces: (!on.reason.is_empty()).then(|| Replaces {
            number: f.t2(
                "certificate-of-version",
                "number",
                format!("{}-{code}", on.round.code),
                "version",
                on.number - 1,
            ),
            reason: on.reason.to_owned(),
        }),
        issued: day(on.issued, &on.round.time_zone),
        status: match (on.superseded, on.reason.is_empty()) {
            (true, _) => Status::Superseded,
            (false, true) => Status::Final,
            (false, false) => Status::Corrected,
        },
        provider: Provider {
            name: on.installation.provider.clone(),
            contact,
            accreditation: (!accreditation.is_empty()).then(|| accreditation.to_owned()),
        },
        laboratory: Laboratory { name: Some(on.participant.name.clone()), site: None, code: code.to_owned() },
        items: on
            .items
            .iter()
            .map(|item| PrintedItem {
                name: f.t1("item-name", "item", &item.label),
                matrix: item.matrix.clone(),
                unit_code: None,
            })
            .collect(),
        dates: dates(f, on),
        late: on.submission.is_some_and(|submission| submission.late),
        counts: Counts::of(&tables),
        not_reported: not_reported(f, on),
        uncertainty_remarks: remarks(f, on),
        limits: kinds(&tables),
        consensus,
        figures: if registration { Vec::new() } else { vec![figure] },
        report: Some(format!("{}-R", on.round.code)),
        authorised_by: on.authorised_by.clone(),
        notice_board: None,
        evidence: Some(Evidence {
            package_sha256: on.evaluated.shared().package_sha256.clone(),
            evaluation_sha256: on.evaluated.shared().evaluation_sha256.clone(),
            engine: on.evaluated.evaluation.engine.clone(),
        }),
        attachment: None,
        tables,
    }
}

fn day(at: Timestamp, zone: &str) -> Day {
    let (year, month, day) = show::date(at, zone);
    Day { year, month, day, text: show::day(at, zone) }
}

fn dates(f: &Frame, on: &Basis<'_>) -> Vec<(String, String)> {
    // In one zone, so that the times can be compared at a glance.
    let zone = "UTC";
    let mut dates = Vec::new();
    if let Some(opened) = on.round.state.opened_at() {
        dates.push((f.t("certificate-date-opened"), show::instant(opened, zone)));
    }
    if let Some(submission) = on.submission {
        dates.push((f.t("certificate-date-received"), show::instant(submission.submitted_at, zone)));
    }
    dates.push((f.t("certificate-date-deadline"), show::instant(on.round.closes_at, zone)));
    dates.push((f.t("certificate-date-published"), show::instant(on.issued, zone)));
    dates
}

fn submitted<'a>(on: &Basis<'a>, position: i64) -> Option<&'a Entry> {
    on.submission?.results.iter().find(|entry| entry.position == position)
}

fn tables(f: &Frame, on: &Basis<'_>) -> Vec<Table> {
    crate::pages::by_item(on.items, on.measurands)
        .into_iter()
        .map(|(item, rows)| Table {
            item: if item.matrix.is_empty() {
                f.t1("item-name", "item", &item.label)
            } else {
                f.t2("item-name-matrix", "item", &item.label, "matrix", &item.matrix)
            },
            rows: rows.into_iter().filter_map(|m| row(f, on, &item.label, m)).collect(),
        })
        .filter(|table| !table.rows.is_empty())
        .collect()
}

fn row(f: &Frame, on: &Basis<'_>, item: &str, m: &Measurand) -> Option<Row> {
    let id = measurand_id(item, &m.analyte);
    let score = on.evaluated.score(&on.participant.code, &id)?;
    let (_, outcome) = on.evaluated.measurand(&id)?;
    let entry = submitted(on, m.position)?;
    let result = on.evaluated.result(&on.participant.code, &id);
    let decided = on.evaluated.deciding(score);
    let kind = figures::kind_of(on.evaluated.measurand(&id)?.0, outcome);
    let (reported, uncertainty, factor) = typed(entry);
    if !on.evaluated.may_be_shared(&id) {
        return Some(hidden_row(f, m, entry));
    }
    Some(Row {
        analyte: m.analyte.clone(),
        basis: (!m.expressed_as.is_empty()).then(|| f.t1("expressed-as", "basis", &m.expressed_as)),
        reported,
        unit: entry.unit.clone(),
        converted: None,
        expanded_uncertainty: uncertainty,
        coverage_factor: factor,
        assigned_value: outcome.assigned_value.as_ref().map(|value| value.value),
        standard_uncertainty: outcome.assigned_value.as_ref().map(|value| value.standard_uncertainty),
        route: outcome.assigned_value.as_ref().map(|value| match value.basis {
            ValueBasis::Formulation => Route::Formulation,
            ValueBasis::Reference => Route::Reference,
            ValueBasis::Expert => Route::Expert,
            ValueBasis::Participants => Route::Participants,
        }),
        sigma_pt: outcome.sigma_pt,
        difference_percent: score.difference_percent,
        score: decided.map(|(by, value)| RowScore {
            kind: if by == Decided::Bound { kind.unwrap_or(ScoreKind::Z) } else { figures::kind(by) },
            value,
            bound: by == Decided::Bound,
        }),
        mark: figures::mark(score.signal),
        verdict: match score.detection {
            Detection::FalseNegative => Some(Verdict::FalseNegative),
            Detection::FalsePositive => Some(Verdict::FalsePositive),
            Detection::Trace => Some(Verdict::Trace),
            Detection::Correct => Some(Verdict::CorrectlyNotDetected),
            Detection::Detected | Detection::NotDetected | Detection::LoqNotMet => None,
        },
        loq: loq(m, entry),
        notes: notes(f, score, result.and_then(|r| r.exclude.as_deref()), outcome),
    })
}

/// A result of which nothing may be printed that rests on those of others.
fn hidden_row(f: &Frame, m: &Measurand, entry: &Entry) -> Row {
    let (reported, expanded_uncertainty, coverage_factor) = typed(entry);
    Row {
        analyte: m.analyte.clone(),
        basis: (!m.expressed_as.is_empty()).then(|| f.t1("expressed-as", "basis", &m.expressed_as)),
        reported,
        unit: entry.unit.clone(),
        converted: None,
        expanded_uncertainty,
        coverage_factor,
        assigned_value: None,
        standard_uncertainty: None,
        route: None,
        sigma_pt: None,
        difference_percent: None,
        score: None,
        mark: Mark::NotScored,
        verdict: None,
        loq: loq(m, entry),
        notes: vec![RowNote::NoClass(f.t("few-hidden"))],
    }
}

/// Result, U and k as typed. A mean of replicates is printed as computed.
fn typed(entry: &Entry) -> (String, Option<String>, Option<String>) {
    match &entry.reported {
        Reported::Value { values, uncertainty } => {
            let reported = if let [only] = values.as_slice() {
                only.typed.clone()
            } else {
                entry.value().map(number::plain).unwrap_or_default()
            };
            let expanded = uncertainty.as_ref().map(|u| match u.form {
                UncertaintyForm::Absolute => u.expanded.typed.clone(),
                UncertaintyForm::Percent => format!("{} %", u.expanded.typed),
            });
            let factor = uncertainty.as_ref().and_then(|u| u.coverage_factor.as_ref()).map(|k| k.typed.clone());
            (reported, expanded, factor)
        }
        Reported::Below { limit } => (format!("<{}", limit.decimal), None, None),
        Reported::Identified | Reported::NotAnalysed { .. } | Reported::Failed { .. } => (String::new(), None, None),
    }
}

fn loq(m: &Measurand, entry: &Entry) -> Option<Loq> {
    let required = m.required_loq.as_ref()?.value();
    match &entry.reported {
        Reported::Below { limit } => Some(Loq { required, met: limit.decimal.value() <= required }),
        _ => None,
    }
}

fn notes(
    f: &Frame,
    score: &ScoreEntry,
    exclude: Option<&str>,
    outcome: &roundel_domain::evaluation::MeasurandEvaluation,
) -> Vec<RowNote> {
    let mut notes = Vec::new();
    if outcome.uncertainty_negligible == Some(false) && score.signal != Signal::InformationOnly {
        notes.push(RowNote::Qualified);
    }
    if let Some(reason) = exclude {
        notes.push(RowNote::Excluded(reason.to_owned()));
    }
    if score.signal == Signal::InformationOnly
        || (score.signal == Signal::NotScored && outcome.assigned_value.is_none())
    {
        notes.extend(figures::notes(f, outcome).into_iter().map(RowNote::NoClass));
    }
    notes
}

fn not_reported(f: &Frame, on: &Basis<'_>) -> Vec<NotReported> {
    let Some(submission) = on.submission else { return Vec::new() };
    let missing = submission.results.iter().filter_map(|entry| match &entry.reported {
        Reported::Identified => Some((entry, f.t("state-of-identified"))),
        Reported::NotAnalysed { reason } | Reported::Failed { reason } => {
            Some((entry, crate::pages::entry::reason_words(f, *reason)))
        }
        Reported::Value { .. } | Reported::Below { .. } => None,
    });
    missing
        .map(|(entry, reason)| NotReported {
            item: f.t1("item-name", "item", &entry.item),
            analyte: entry.analyte.clone(),
            reason,
        })
        .collect()
}

fn remarks(f: &Frame, on: &Basis<'_>) -> Vec<String> {
    let Some(submission) = on.submission else { return Vec::new() };
    let values = submission.results.iter().filter(|entry| entry.value().is_some());
    let without_u = values.clone().filter(|entry| entry.expanded_uncertainty().is_none()).count();
    let without_k =
        values.filter(|entry| entry.expanded_uncertainty().is_some() && entry.coverage_factor().is_none()).count();
    let mut remarks = Vec::new();
    if without_u > 0 {
        remarks.push(f.t1("certificate-without-u", "count", without_u));
    }
    if without_k > 0 {
        remarks.push(f.t1("certificate-without-k", "count", without_k));
    }
    remarks
}

fn kinds(tables: &[Table]) -> Vec<(ScoreKind, Limits)> {
    let mut kinds: Vec<ScoreKind> =
        tables.iter().flat_map(|table| &table.rows).filter_map(|row| row.score.map(|score| score.kind)).collect();
    kinds.sort();
    kinds.dedup();
    let limits = |kind| if kind == ScoreKind::En { Limits::E_N } else { Limits::STANDARD };
    kinds.into_iter().map(|kind| (kind, limits(kind))).collect()
}
