//! The data of the template: every number formatted, every text from the catalogue,
//! so that the template only sets it.

use super::proof::{ProofData, proof_data};
use super::table::{TableData, table_data};
use super::{Certificate, Status};
use crate::figure::Face;
use crate::figure::own_scores::{self, OwnScores};
use crate::mark::Mark;
use crate::number;
use crate::typeset;
use crate::words::Words;
use serde::Serialize;

/// The keys of all labels that the template asks for.
pub(super) const LABELS: &[&str] = &[
    "certificate-accreditation",
    "certificate-analyte",
    "certificate-authorised",
    "certificate-cautions",
    "certificate-class",
    "certificate-code",
    "certificate-column-d",
    "certificate-column-route",
    "certificate-contact",
    "certificate-dates",
    "certificate-evidence",
    "certificate-figure",
    "certificate-items",
    "certificate-laboratory",
    "certificate-limits",
    "certificate-not-reported",
    "certificate-number",
    "certificate-provider",
    "certificate-replaces",
    "certificate-reported",
    "certificate-results",
    "certificate-score",
    "certificate-status",
    "certificate-summary",
    "certificate-uncertainty",
    "certificate-unit",
    "certificate-version",
    "certificate-issued",
];

#[derive(Serialize)]
pub(super) struct Data {
    labels: Vec<(String, String)>,
    language: String,
    title: String,
    document_title: String,
    subtitle: String,
    banner: Vec<String>,
    page: [String; 3],
    running: String,
    end: String,
    issued: [i32; 3],
    facts: Vec<[String; 2]>,
    replaces: Option<String>,
    laboratory: Vec<String>,
    laboratory_code: String,
    provider: String,
    contact: Vec<String>,
    accreditation: String,
    items: Vec<String>,
    dates: Vec<[String; 2]>,
    late: Option<String>,
    registration: Option<String>,
    tables: Vec<TableData>,
    not_reported: Vec<String>,
    counts: Vec<[String; 2]>,
    remarks: Vec<String>,
    meanings: Vec<String>,
    figures: Vec<FigureData>,
    cautions: Vec<String>,
    report: Option<String>,
    evidence: Vec<[String; 2]>,
    recompute: Option<String>,
    authorised: Option<String>,
    attachment: Option<[String; 3]>,
    keywords: Vec<String>,
    proof: Option<ProofData>,
}

#[derive(Serialize)]
struct FigureData {
    svg: String,
    alt: String,
}

/// All that the template sets.
pub(super) fn data(certificate: &Certificate, words: &Words) -> Data {
    let registration = certificate.registration;
    let title = words.t(if registration { "certificate-title-registration" } else { "certificate-title" });
    let version = certificate.version.to_string();
    let number = certificate.number.as_str();
    let page = |key: &str| words.with(key, &[("number", number), ("version", &version)]);
    Data {
        labels: LABELS.iter().map(|key| ((*key).to_owned(), words.t(key))).collect(),
        language: certificate.language.clone(),
        document_title: format!("{title} {number}, {}", certificate.laboratory.code),
        subtitle: certificate.scheme.clone(),
        banner: banner(certificate, words),
        page: [page("certificate-page"), page("certificate-page-of"), page("certificate-page-end")],
        running: certificate.laboratory.code.clone(),
        end: page(if registration { "certificate-end-registration" } else { "certificate-end" }),
        title,
        issued: [certificate.issued.year, certificate.issued.month.into(), certificate.issued.day.into()],
        facts: facts(certificate, words),
        replaces: certificate.replaces.as_ref().map(|old| {
            words.with("certificate-replaces-sentence", &[("number", &old.number), ("reason", &old.reason)])
        }),
        laboratory: laboratory(certificate),
        laboratory_code: certificate.laboratory.code.clone(),
        provider: certificate.provider.name.clone(),
        contact: certificate.provider.contact.clone(),
        accreditation: certificate
            .provider
            .accreditation
            .clone()
            .unwrap_or_else(|| words.t("certificate-not-accredited")),
        items: certificate.items.iter().map(|item| item_line(item, words)).collect(),
        dates: certificate.dates.iter().map(|(name, date)| [name.clone(), date.clone()]).collect(),
        late: certificate.late.then(|| words.t("certificate-late")),
        registration: registration.then(|| words.t("certificate-registration-sentence")),
        tables: certificate
            .tables
            .iter()
            .filter(|_| !registration)
            .map(|table| table_data(certificate, table, words))
            .collect(),
        not_reported: all_not_reported(certificate, words),
        counts: if registration { Vec::new() } else { counts(certificate, words) },
        remarks: if registration { Vec::new() } else { certificate.uncertainty_remarks.clone() },
        meanings: if registration { Vec::new() } else { meanings(certificate, words) },
        figures: certificate
            .figures
            .iter()
            .filter(|_| !registration)
            .flat_map(|figure| figures(figure, words))
            .collect(),
        cautions: cautions(certificate, words),
        report: certificate.report.as_ref().map(|report| words.with("certificate-report", &[("report", report)])),
        evidence: evidence(certificate, words),
        recompute: performance(certificate).map(|_| words.t("certificate-recompute")),
        authorised: certificate.authorised_by.clone(),
        attachment: certificate
            .attachment
            .as_ref()
            .map(|file| [typeset::file_name(&file.name), file.media_type.clone(), words.t("certificate-attachment")]),
        keywords: Some(certificate.keyword.clone()).into_iter().filter(|word| !word.is_empty()).collect(),
        proof: proof_data(certificate, words),
    }
}

/// What every page says at its head.
fn banner(certificate: &Certificate, words: &Words) -> Vec<String> {
    let status = match certificate.status {
        Status::Preliminary => Some("certificate-banner-preliminary"),
        Status::Interim => Some("certificate-banner-interim"),
        Status::Superseded => Some("certificate-banner-superseded"),
        Status::Withdrawn => Some("certificate-banner-withdrawn"),
        Status::Final | Status::Corrected => None,
    };
    let demonstration = certificate.demonstration.then_some("certificate-banner-demonstration");
    demonstration.into_iter().chain(status).map(|key| words.t(key)).collect()
}

fn facts(certificate: &Certificate, words: &Words) -> Vec<[String; 2]> {
    let status = match certificate.status {
        Status::Preliminary => "certificate-status-preliminary",
        Status::Interim => "certificate-status-interim",
        Status::Final => "certificate-status-final",
        Status::Corrected => "certificate-status-corrected",
        Status::Superseded => "certificate-status-superseded",
        Status::Withdrawn => "certificate-status-withdrawn",
    };
    vec![
        [words.t("certificate-round"), format!("{} · {}", certificate.round, certificate.round_title)],
        [words.t("certificate-number"), certificate.number.clone()],
        [words.t("certificate-version"), certificate.version.to_string()],
        [words.t("certificate-issued"), certificate.issued.text.clone()],
        [words.t("certificate-status"), words.t(status)],
    ]
}

fn laboratory(certificate: &Certificate) -> Vec<String> {
    let laboratory = &certificate.laboratory;
    laboratory.name.iter().chain(&laboratory.site).cloned().collect()
}

fn item_line(item: &super::Item, words: &Words) -> String {
    let line = if item.matrix.is_empty() { item.name.clone() } else { format!("{}, {}", item.name, item.matrix) };
    match &item.unit_code {
        Some(code) => words.with("certificate-item-unit", &[("item", &line), ("code", code)]),
        None => line,
    }
}

/// What was not reported, and that this is no failure: a line for each reason and set
/// of items, with all the analytes that it holds for.
fn all_not_reported(certificate: &Certificate, words: &Words) -> Vec<String> {
    type Of<'a> = (&'a str, Vec<&'a str>);
    let mut analytes: Vec<(&str, Of<'_>)> = Vec::new();
    for missing in &certificate.not_reported {
        let same = |(analyte, (reason, _)): &&mut (&str, Of<'_>)| {
            *analyte == missing.analyte.as_str() && *reason == missing.reason.as_str()
        };
        match analytes.iter_mut().find(same) {
            Some((_, (_, items))) => items.push(&missing.item),
            None => analytes.push((&missing.analyte, (&missing.reason, vec![&missing.item]))),
        }
    }
    let mut lines: Vec<(Of<'_>, Vec<&str>)> = Vec::new();
    for (analyte, of) in analytes {
        match lines.iter_mut().find(|(known, _)| *known == of) {
            Some((_, together)) => together.push(analyte),
            None => lines.push((of, vec![analyte])),
        }
    }
    let last = (!lines.is_empty()).then(|| words.t("certificate-not-analysed"));
    let said = lines.into_iter().map(|((reason, items), analytes)| {
        let key = if reason.is_empty() { "certificate-missing-no-reason" } else { "certificate-missing" };
        words.with(key, &[("analyte", &analytes.join(", ")), ("item", &items.join(", ")), ("reason", reason)])
    });
    said.chain(last).collect()
}

fn counts(certificate: &Certificate, words: &Words) -> Vec<[String; 2]> {
    let counts = certificate.counts;
    [
        ("certificate-count-scored", counts.scored),
        ("certificate-count-acceptable", counts.acceptable),
        ("certificate-count-questionable", counts.questionable),
        ("certificate-count-unacceptable", counts.unacceptable),
        ("certificate-count-information-only", counts.information_only),
        ("certificate-count-not-scored", counts.not_scored),
        ("certificate-count-withdrawn", counts.withdrawn),
        ("certificate-count-false-positives", counts.false_positives),
        ("certificate-count-false-negatives", counts.false_negatives),
    ]
    .into_iter()
    // Hardly any certificate has one: then nothing is said of it.
    .filter(|(key, count)| *count > 0 || *key != "certificate-count-withdrawn")
    .map(|(key, count)| [words.t(key), count.to_string()])
    .collect()
}

/// What each kind of score is, and the limits it is read against.
fn meanings(certificate: &Certificate, words: &Words) -> Vec<String> {
    let plain = |value: f64| number::decimal(value, number::decimals_of(value));
    let limits = certificate.limits.iter().map(|(kind, limits)| {
        let meaning = words.t(kind.meaning_key());
        let action = plain(limits.action);
        let rule = match limits.warning {
            Some(warning) => words.with(
                "certificate-limits-two",
                &[("kind", kind.symbol()), ("warning", &plain(warning)), ("action", &action)],
            ),
            None => words.with("certificate-limits-one", &[("kind", kind.symbol()), ("action", &action)]),
        };
        format!("{meaning} {rule}")
    });
    let mut meanings: Vec<String> = limits.collect();
    let rows = || certificate.tables.iter().flat_map(|table| &table.rows);
    if rows().any(|row| row.score.is_some_and(|score| score.bound)) {
        meanings.push(words.t("certificate-bound-meaning"));
    }
    meanings
}

fn cautions(certificate: &Certificate, words: &Words) -> Vec<String> {
    let rows = || certificate.tables.iter().flat_map(|table| &table.rows);
    let information = rows().any(|row| row.mark == Mark::InformationOnly);
    let mut cautions = Vec::new();
    if certificate.registration {
        cautions.push(words.t("certificate-caution-registration"));
    } else {
        cautions.push(words.t("certificate-caution-scope"));
        cautions.push(words.t("certificate-caution-ranking"));
        cautions.push(words.t("certificate-caution-authority"));
        cautions.push(chance(certificate, words));
        cautions.push(words.t("certificate-caution-kinds"));
        cautions.extend(certificate.consensus.then(|| words.t("certificate-caution-consensus")));
        cautions.extend(information.then(|| words.t("certificate-caution-information")));
        cautions.push(words.t("certificate-caution-complete"));
    }
    cautions.push(match &certificate.notice_board {
        Some(address) => words.with("certificate-caution-version-at", &[("address", address)]),
        None => words.t("certificate-caution-version"),
    });
    cautions.extend(certificate.demonstration.then(|| words.t("certificate-caution-demonstration")));
    cautions
}

/// How many scores beyond 2 chance alone gives: 0.0455 for each, the tail of the
/// normal distribution beyond two standard deviations. Below five no number.
fn chance(certificate: &Certificate, words: &Words) -> String {
    const BEYOND_TWO: f64 = 0.0455;
    let scored = certificate.counts.scored;
    let standard = certificate.limits.iter().all(|(_, limits)| limits.warning == Some(2.0));
    if scored < 5 || !standard {
        return words.t("certificate-caution-chance-few");
    }
    let expected = number::decimal(f64::from(scored) * BEYOND_TWO, 1);
    words.with("certificate-caution-chance", &[("count", &scored.to_string()), ("expected", &expected)])
}

/// A figure's width in units, so that its text is about 8 points on the page.
const FIGURE_WIDTH: u32 = 720;
/// What a page has room for beside heading and caption.
const FIGURE_HEIGHT: f64 = 860.0;
const FIGURE_ITEMS: usize = 3;

/// A figure in parts that fit on a page.
fn figures(figure: &OwnScores, words: &Words) -> Vec<FigureData> {
    let figure = OwnScores { width: FIGURE_WIDTH, ..figure.clone() };
    own_scores::parts(&figure, FIGURE_ITEMS, FIGURE_HEIGHT)
        .iter()
        .map(|part| FigureData {
            svg: own_scores::draw(part, words, Face::Document),
            alt: own_scores::caption(part, words),
        })
        .collect()
}

/// The evidence of scores, where there are scores.
fn performance(certificate: &Certificate) -> Option<&super::Evidence> {
    certificate.evidence.as_ref().filter(|_| !certificate.registration)
}

fn evidence(certificate: &Certificate, words: &Words) -> Vec<[String; 2]> {
    let Some(evidence) = performance(certificate) else {
        return Vec::new();
    };
    vec![
        [words.t("certificate-package-sha256"), evidence.package_sha256.clone()],
        [words.t("certificate-evaluation-sha256"), evidence.evaluation_sha256.clone()],
        [words.t("certificate-engine"), evidence.engine.clone()],
    ]
}
