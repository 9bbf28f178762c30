//! From what a certificate states to what is printed: every fact is taken from the
//! signed statement; only the figures come from the evaluation.

use crate::actions::certificates::path;
use crate::evaluated::Evaluated;
use crate::pages::{Frame, figures};
use crate::show;
use crate::statement::submitted;
use jiff::Timestamp;
use roundel_documents::certificate::{
    Attachment, Certificate, Counts, Day, Evidence, Item as PrintedItem, Laboratory, Loq, NotReported, Proof, Provider,
    Replaces, Route, Row, RowNote, RowScore, Status, Table, Verdict,
};
use roundel_documents::figure::WIDE;
use roundel_documents::{Limits, Mark, ScoreKind, number};
use roundel_domain::assemble::measurand_id;
use roundel_domain::certificate::{self as signed, Class, Kind, Missing, ResultLine, Statement, UncertaintyCheck};
use roundel_domain::decision::is_withdrawal;
use roundel_domain::evaluation::{Basis as ValueBasis, Detection};
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::result::{Reported, Submission};
use roundel_domain::round::Round;
use roundel_store::installation::Installation;
use roundel_store::participants::Participant;
use std::collections::HashSet;

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
    /// Who published it.
    pub authorised_by: Option<String>,
    /// Number of the publication, from 1.
    pub number: i64,
    /// Why it took the place of the one before; empty for the first.
    pub reason: &'a str,
    /// Codes of the laboratory's units, by the label of the item.
    pub unit_codes: &'a [(String, String)],
    /// Whether the laboratory appears by its code only.
    pub by_code: bool,
    /// Places of the measurands whose levels are close to the limits of
    /// quantification.
    pub near_loq: &'a HashSet<i64>,
}

/// What makes a certificate provable.
#[derive(Clone, Debug)]
pub struct Signature {
    /// The random name in its address.
    pub code: String,
    /// Digest of the statement, in hexadecimal.
    pub sha256: String,
    /// The sealed file.
    pub sealed: String,
    /// The address of the service.
    pub public_url: String,
}

/// Whether a certificate still stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// It does.
    Stands,
    /// A later version took its place.
    Superseded,
    /// It was withdrawn.
    Withdrawn,
}

/// The data of a certificate. No clock is asked: the same statement and evaluation
/// give the same certificate.
pub fn of(
    f: &Frame,
    on: &Basis<'_>,
    statement: &Statement,
    signature: Option<&Signature>,
    standing: Standing,
) -> Certificate {
    let registration = statement.kind == Kind::Registration;
    let tables = tables(f, on, statement);
    let consensus = tables.iter().flat_map(|table| &table.rows).any(|row| row.route == Some(Route::Participants));
    let figure = figures::own_scores(f, on.evaluated, &statement.laboratory.code, |_| None, WIDE);
    let provider = &statement.provider;
    let authorised_by = statement.authorised_by.as_ref();
    let issued = statement.issued_at.parse().unwrap_or(on.issued);
    Certificate {
        registration,
        demonstration: statement.demonstration,
        language: f.w.tag().to_owned(),
        scheme: statement.scheme.clone(),
        round: statement.round.clone(),
        round_title: statement.round_title.clone(),
        number: statement.number.clone(),
        version: u32::try_from(statement.version).unwrap_or(1),
        replaces: statement.replaces.as_ref().map(|old| Replaces {
            number: f.t2("certificate-of-version", "number", &old.number, "version", old.version),
            reason: old.reason.clone(),
        }),
        issued: day(f, issued, &on.round.time_zone),
        status: match standing {
            Standing::Withdrawn => Status::Withdrawn,
            Standing::Superseded => Status::Superseded,
            Standing::Stands if statement.replaces.is_some() => Status::Corrected,
            Standing::Stands => Status::Final,
        },
        provider: Provider {
            name: provider.name.clone(),
            contact: provider.contact.clone(),
            accreditation: provider.accreditation.clone(),
        },
        laboratory: Laboratory {
            name: statement.laboratory.name.clone(),
            site: statement.laboratory.organisation.clone(),
            code: statement.laboratory.code.clone(),
        },
        items: statement
            .items
            .iter()
            .map(|item| PrintedItem {
                name: f.t1("item-name", "item", &item.label),
                matrix: item.matrix.clone(),
                unit_code: item.unit_code.clone(),
            })
            .collect(),
        dates: dates(f, on, statement),
        late: statement.late,
        counts: Counts::of(&tables),
        not_reported: not_reported(f, statement),
        uncertainty_remarks: remarks(f, on, statement),
        limits: limits(statement),
        consensus,
        figures: if registration { Vec::new() } else { vec![figure] },
        report: Some(f.t2(
            "certificate-report-version",
            "round",
            &statement.report.round,
            "version",
            statement.report.version,
        )),
        authorised_by: authorised_by
            .map(|name| f.t2("certificate-publisher", "name", name, "provider", &provider.name)),
        notice_board: signature.map(|signature| format!("{}/notices.json", signature.public_url)),
        evidence: Some(Evidence {
            package_sha256: statement.evidence.package_sha256.clone(),
            evaluation_sha256: statement.evidence.evaluation_sha256.clone(),
            engine: statement.evidence.engine.clone(),
        }),
        attachment: signature.map(|signature| Attachment {
            name: format!("{}.json", statement.number),
            media_type: "application/json".to_owned(),
            bytes: signature.sealed.clone().into_bytes(),
        }),
        proof: signature.map(|signature| Proof {
            address: format!("{}{}", signature.public_url, path(&signature.code)),
            sha256: signature.sha256.clone(),
            key_id: statement.key_id.clone(),
            keys: format!("{}/keys", signature.public_url),
            notices: format!("{}/notices.json", signature.public_url),
            issued: day(f, issued, &on.round.time_zone).text,
        }),
        keyword: signature.map(|_| signed::whole::blank()).unwrap_or_default(),
        tables,
    }
}

fn day(f: &Frame, at: Timestamp, zone: &str) -> Day {
    let (year, month, day) = show::date(at, zone);
    Day { year, month, day, text: date_text(f, i32::from(day), month, year) }
}

/// A day in the language of the document: `31 March 2027`, `31. März 2027`.
fn date_text(f: &Frame, day: i32, month: u8, year: i32) -> String {
    let month = f.t(&format!("certificate-month-{month}"));
    f.t3("certificate-day", "day", day, "month", month, "year", year)
}

/// An instant in UTC, in the language of the document.
fn instant(f: &Frame, at: Timestamp) -> String {
    let (year, month, day) = show::date(at, "UTC");
    let time = show::time(at, "UTC");
    let minutes = time.rsplit_once(':').map_or(time.as_str(), |(minutes, _)| minutes);
    f.t2("certificate-instant", "day", date_text(f, i32::from(day), month, year), "time", minutes)
}

fn dates(f: &Frame, on: &Basis<'_>, statement: &Statement) -> Vec<(String, String)> {
    // In one zone, so that the times can be compared at a glance.
    let at = |text: &str| text.parse::<Timestamp>().ok().map(|at| instant(f, at)).unwrap_or_default();
    let mut dates = Vec::new();
    if let Some(opened) = &statement.opened_at {
        dates.push((f.t("certificate-date-opened"), at(opened)));
    }
    dates.extend(item_dates(f, statement));
    if let Some(received) = &statement.received_at {
        dates.push((f.t("certificate-date-received"), at(received)));
    }
    dates.push((f.t("certificate-date-deadline"), at(&statement.closes_at)));
    dates.push((f.t("certificate-date-published"), instant(f, on.issued)));
    dates
}

/// When the items arrived and were analysed, as the laboratory said; items with the
/// same days in one line.
fn item_dates(f: &Frame, statement: &Statement) -> Vec<(String, String)> {
    let text = |date: jiff::civil::Date| {
        date_text(f, i32::from(date.day()), date.month().unsigned_abs(), i32::from(date.year()))
    };
    let mut lines: Vec<(String, String)> = Vec::new();
    for item in &statement.items {
        let (Some(received), Some(analysed)) = (item.received_on, item.analysed_on) else { continue };
        let name = f.t1("item-name", "item", &item.label);
        let said = f.t2("certificate-item-dates", "received", text(received), "analysed", text(analysed));
        match lines.iter_mut().find(|(_, other)| *other == said) {
            Some((names, _)) => *names = format!("{names}, {name}"),
            None => lines.push((name, said)),
        }
    }
    lines
}

fn tables(f: &Frame, on: &Basis<'_>, statement: &Statement) -> Vec<Table> {
    let rows = |label: &str| -> Vec<Row> {
        statement.results.iter().filter(|line| line.item == label).map(|line| row(f, on, line)).collect()
    };
    statement
        .items
        .iter()
        .map(|item| Table {
            item: if item.matrix.is_empty() {
                f.t1("item-name", "item", &item.label)
            } else {
                f.t2("item-name-matrix", "item", &item.label, "matrix", &item.matrix)
            },
            rows: rows(&item.label),
        })
        .filter(|table| !table.rows.is_empty())
        .collect()
}

fn row(f: &Frame, on: &Basis<'_>, line: &ResultLine) -> Row {
    let reported = &line.reported;
    let assigned = line.assigned_value.as_ref();
    let other_unit = reported.typed_unit != line.unit;
    Row {
        analyte: line.analyte.clone(),
        basis: (!line.expressed_as.is_empty()).then(|| f.t1("expressed-as", "basis", &line.expressed_as)),
        reported: typed(f, line),
        unit: reported.typed_unit.clone(),
        converted: other_unit.then(|| {
            let value = number::with_unit(&number::plain(reported.value), &line.unit);
            if reported.below { format!("<{value}") } else { value }
        }),
        expanded_uncertainty: reported.expanded_uncertainty_typed.clone(),
        coverage_factor: reported.coverage_factor.map(number::plain),
        assigned_value: assigned.map(|value| value.value),
        standard_uncertainty: assigned.map(|value| value.expanded_uncertainty / value.coverage_factor),
        route: assigned.map(|value| match value.route {
            ValueBasis::Formulation => Route::Formulation,
            ValueBasis::Reference => Route::Reference,
            ValueBasis::Expert => Route::Expert,
            ValueBasis::Participants => Route::Participants,
        }),
        sigma_pt: line.sigma_pt,
        difference_percent: line.difference_percent,
        score: line.score.map(|score| RowScore {
            kind: figures::kind(score.kind),
            value: score.value,
            bound: score.bound,
        }),
        mark: mark(line.class),
        verdict: match line.detection {
            Some(Detection::FalseNegative) => Some(Verdict::FalseNegative),
            Some(Detection::FalsePositive) => Some(Verdict::FalsePositive),
            Some(Detection::Trace) => Some(Verdict::Trace),
            Some(Detection::Correct) => Some(Verdict::CorrectlyNotDetected),
            Some(Detection::Detected | Detection::NotDetected | Detection::LoqNotMet) | None => None,
        },
        loq: line.required_loq.zip(line.loq_met).map(|(required, met)| Loq { required, met }),
        scheme_unit: line.unit.clone(),
        notes: notes(f, on, line),
    }
}

/// The class as it is printed.
fn mark(class: Class) -> Mark {
    match class {
        Class::Acceptable => Mark::Within,
        Class::Questionable => Mark::Warning,
        Class::Unacceptable => Mark::Action,
        Class::InformationOnly => Mark::InformationOnly,
        Class::NotScored => Mark::NotScored,
    }
}

/// The result as typed, a limit with its "<". A mean of replicates is printed as computed, in the unit in
/// which they were typed where that is the unit of the scheme.
fn typed(f: &Frame, line: &ResultLine) -> String {
    match line.reported.typed.as_slice() {
        [only] => only.clone(),
        _ if line.reported.typed_unit == line.unit => f.w.numeral(number::plain(line.reported.value)),
        several => several.join("; "),
    }
}

fn notes(f: &Frame, on: &Basis<'_>, line: &ResultLine) -> Vec<RowNote> {
    let mut notes: Vec<RowNote> = line
        .marks
        .iter()
        .map(|mark| match mark {
            signed::Mark::Qualified => RowNote::Qualified,
            signed::Mark::NearLoq => RowNote::NearLoq,
            signed::Mark::FewLaboratories => RowNote::NoClass(f.t("few-hidden")),
        })
        .collect();
    let few = line.marks.contains(&signed::Mark::FewLaboratories);
    if let Some(reason) = line.excluded.as_ref().filter(|_| !few) {
        let withdrawn = line.class == Class::NotScored && is_withdrawal(reason);
        let note = if withdrawn { RowNote::Withdrawn } else { RowNote::Excluded };
        notes.push(note(reason.clone()));
    }
    let without = line.class == Class::InformationOnly
        || (line.class == Class::NotScored && line.assigned_value.is_none() && !few);
    if let Some((_, outcome)) = on.evaluated.measurand(&measurand_id(&line.item, &line.analyte)).filter(|_| without) {
        notes.extend(figures::notes(f, outcome).into_iter().map(RowNote::NoClass));
    }
    notes
}

fn not_reported(f: &Frame, statement: &Statement) -> Vec<NotReported> {
    let printed = |missing: &signed::NotReported| NotReported {
        item: f.t1("item-name", "item", &missing.item),
        analyte: missing.analyte.clone(),
        reason: match (missing.state, missing.reason) {
            (Missing::Identified, _) => f.t("state-of-identified"),
            (_, Some(reason)) => crate::pages::entry::reason_words(f, reason),
            (_, None) => String::new(),
        },
    };
    statement.not_reported.iter().map(printed).collect()
}

/// What is remarked on the laboratory's uncertainties: those that stand out by name,
/// the others counted, and what is missing.
fn remarks(f: &Frame, on: &Basis<'_>, statement: &Statement) -> Vec<String> {
    let of = |check: UncertaintyCheck| -> Vec<String> {
        let lines = statement.results.iter().filter(|line| line.uncertainty == Some(check));
        lines.map(|line| f.t2("measurand-name", "analyte", &line.analyte, "item", &line.item)).collect()
    };
    let mut remarks = Vec::new();
    let plausible = of(UncertaintyCheck::Plausible).len();
    if plausible > 0 {
        remarks.push(f.t1("certificate-u-plausible", "count", plausible));
    }
    for (key, check) in [
        ("certificate-u-too-small", UncertaintyCheck::ProbablyTooSmall),
        ("certificate-u-too-large", UncertaintyCheck::ProbablyTooLarge),
    ] {
        let named = of(check);
        if !named.is_empty() {
            remarks.push(f.t2(key, "count", named.len(), "measurands", named.join("; ")));
        }
    }
    let values = || {
        on.measurands
            .iter()
            .filter_map(|m| submitted(on, m.position))
            .filter(|entry| matches!(entry.reported, Reported::Value { .. }))
    };
    let without_u = values().filter(|entry| entry.expanded_uncertainty().is_none()).count();
    let without_k =
        values().filter(|entry| entry.expanded_uncertainty().is_some() && entry.coverage_factor().is_none()).count();
    if without_u > 0 {
        remarks.push(f.t1("certificate-without-u", "count", without_u));
    }
    if without_k > 0 {
        remarks.push(f.t1("certificate-without-k", "count", without_k));
    }
    remarks
}

fn limits(statement: &Statement) -> Vec<(ScoreKind, Limits)> {
    let printed = |limits: &signed::Limits| {
        let kind = figures::kind(limits.kind);
        let read = match limits.warning {
            Some(warning) => Limits::new(warning, limits.action),
            None => Limits { warning: None, action: limits.action, cap: limits.action * 2.0 },
        };
        (kind, read)
    };
    statement.limits.iter().map(printed).collect()
}
