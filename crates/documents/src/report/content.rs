//! From a report to its parts in one language.

use super::block::{Block, Cell, Column, Content, Fact, Medium, Section, Table};
use super::{Changed, Report, Status, checks, lists, measurand, overview, precision};
use crate::number;
use crate::words::Words;
use serde::Serialize;

/// What the parts are made with.
#[derive(Clone, Copy)]
pub(super) struct Maker<'a> {
    pub(super) report: &'a Report,
    pub(super) words: &'a Words,
    pub(super) medium: Medium,
    /// The only item whose results are shown; none for all.
    pub(super) item: Option<&'a str>,
}

impl Maker<'_> {
    /// A text of the report: `report-` and `key`.
    pub(super) fn t(&self, key: &str) -> String {
        self.words.t(&format!("report-{key}"))
    }

    /// A text of the report with values.
    pub(super) fn with(&self, key: &str, values: &[(&str, &str)]) -> String {
        self.words.with(&format!("report-{key}"), values)
    }

    /// A number as this language writes it.
    pub(super) fn n(&self, text: String) -> String {
        self.words.numeral(text)
    }

    /// A number to some significant digits; a dash for none.
    pub(super) fn significant(&self, value: Option<f64>, digits: usize) -> String {
        value.map_or(NONE.to_owned(), |value| self.n(number::significant(value, digits)))
    }

    /// What somebody wrote: the text, or that it is not applicable and why, or that
    /// it is not written yet.
    pub(super) fn said(&self, key: &str) -> Vec<Block> {
        match self.report.text(key) {
            Some(text) if !text.text.is_empty() => {
                let paragraphs = text.text.split("\n\n").map(|part| part.trim().to_owned());
                paragraphs.filter(|part| !part.is_empty()).map(Block::Text).collect()
            }
            Some(text) => vec![Block::Text(self.with("not-applicable", &[("reason", &text.not_applicable)]))],
            None => vec![Block::Text(self.t("not-written"))],
        }
    }

    fn section(&self, letter: &str, word: &str, blocks: Vec<Block>) -> Section {
        let title = self.t(&format!("item-{word}"));
        Section { letter: letter.to_owned(), word: word.to_owned(), title, blocks }
    }
}

/// What stands where there is no number.
pub(super) const NONE: &str = "–";

/// The parts of a report in one language. `superseded_by` is the version that took
/// its place.
pub fn content(report: &Report, words: &Words, medium: Medium, superseded_by: Option<i64>) -> Content {
    make(Maker { report, words, medium, item: None }, superseded_by)
}

/// As [`content`], with the results of one item only: what a page shows at a time.
pub fn content_of_item(report: &Report, words: &Words, item: &str, superseded_by: Option<i64>) -> Content {
    make(Maker { report, words, medium: Medium::Page, item: Some(item) }, superseded_by)
}

fn make(maker: Maker<'_>, superseded_by: Option<i64>) -> Content {
    let report = maker.report;
    let version = report.version.to_string();
    let identified = [("number", report.number.as_str()), ("version", version.as_str())];
    let (banner, watermark) = banner(&maker, superseded_by);
    Content {
        title: maker.t("title"),
        subtitle: format!("{} · {}", report.round, report.round_title),
        banner,
        watermark,
        facts: facts(&maker, superseded_by),
        lead: lead(&maker, superseded_by),
        sections: sections(&maker),
        end: maker.with("end", &identified),
    }
}

/// What every page says at its head, and across it.
fn banner(maker: &Maker<'_>, superseded_by: Option<i64>) -> (Vec<String>, String) {
    let status = match (superseded_by, maker.report.status) {
        (Some(_), _) => Some("superseded"),
        (None, Status::Preliminary) => Some("preliminary"),
        (None, Status::Interim) => Some("interim"),
        (None, Status::Final | Status::Corrected) => None,
    };
    let watermark = status.map(|word| maker.t(&format!("banner-{word}"))).unwrap_or_default();
    let demonstration = maker.report.demonstration.then(|| maker.words.t("certificate-banner-demonstration"));
    let banner = demonstration.into_iter().chain(Some(watermark.clone()).filter(|text| !text.is_empty()));
    (banner.collect(), watermark)
}

fn status_words(maker: &Maker<'_>, superseded_by: Option<i64>) -> String {
    match superseded_by {
        Some(by) => maker.with("status-superseded", &[("version", &by.to_string())]),
        None => maker.t(&format!("status-{}", maker.report.status.word())),
    }
}

fn facts(maker: &Maker<'_>, superseded_by: Option<i64>) -> Vec<Fact> {
    let report = maker.report;
    vec![
        [maker.t("scheme"), report.scheme.clone()],
        [maker.t("number"), report.number.clone()],
        [maker.t("version"), report.version.to_string()],
        [maker.t("status"), status_words(maker, superseded_by)],
        [maker.t("issued"), report.issued.clone()],
        [maker.t("provider"), report.provider.name.clone()],
    ]
}

/// What it replaces and why, with the values that changed.
fn lead(maker: &Maker<'_>, superseded_by: Option<i64>) -> Vec<String> {
    let mut lead = Vec::new();
    if let Some(by) = superseded_by {
        lead.push(maker.with("is-superseded", &[("version", &by.to_string())]));
    }
    if let Some(replaces) = &maker.report.replaces {
        let version = replaces.version.to_string();
        let values =
            [("number", maker.report.number.as_str()), ("version", version.as_str()), ("reason", &replaces.reason)];
        lead.push(maker.with("replaces", &values));
        lead.extend(changes(&replaces.changed, maker.words));
    }
    lead
}

/// What a corrected report changed, a sentence for each measurand.
pub fn changes(changed: &[Changed], words: &Words) -> Vec<String> {
    let value = |value: Option<f64>| match value {
        Some(value) => words.numeral(number::significant(value, 4)),
        None => NONE.to_owned(),
    };
    let sentence = |changed: &Changed| {
        words.with(
            "report-replaces-value",
            &[
                ("measurand", &changed.measurand),
                ("before", &value(changed.before)),
                ("after", &value(changed.after)),
                ("unit", &changed.unit),
                ("classes", &changed.classes.to_string()),
            ],
        )
    };
    changed.iter().map(sentence).collect()
}

fn sections(maker: &Maker<'_>) -> Vec<Section> {
    let report = maker.report;
    let provider = &report.provider;
    let address = std::iter::once(provider.name.as_str()).chain(provider.contact.iter().map(String::as_str));
    let mut who = vec![Block::Text(address.collect::<Vec<_>>().join("\n"))];
    let accreditation = provider.accreditation.as_str();
    who.push(Block::Text(if accreditation.is_empty() {
        maker.words.t("certificate-not-accredited")
    } else {
        accreditation.to_owned()
    }));
    let mut confidentiality = vec![Block::Text(maker.t("confidentiality"))];
    confidentiality.extend(maker.said("plan-publicity"));
    let mut traceability = maker.said("plan-traceability");
    traceability.extend(overview::budgets(maker));
    let mut sections = vec![
        maker.section("a", "provider", who),
        maker.section("b", "coordinator", maker.said("plan-provider")),
        maker.section("c", "authorised", lists::authorised(maker)),
        maker.section("d", "external", maker.said("plan-external")),
        maker.section("e", "issued", issued(maker)),
        maker.section("f", "pages", vec![Block::Text(maker.t("pages"))]),
        maker.section("g", "confidentiality", confidentiality),
        maker.section("h", "identification", lists::identification(maker)),
        maker.section("i", "items", checks::items(maker)),
        maker.section("j", "results", measurand::results(maker)),
        maker.section("k", "statistics", overview::statistics(maker)),
        maker.section("l", "route", overview::routes(maker)),
        maker.section("m", "traceability", traceability),
        maker.section("n", "sigma", overview::sigma(maker)),
        maker.section("o", "methods", lists::groups(maker)),
        maker.section("p", "comments", lists::comments(maker)),
        maker.section("q", "design", lists::design(maker)),
        maker.section("r", "procedures", lists::procedures(maker)),
        maker.section("s", "advice", lists::advice(maker)),
        maker.section("t", "recommendations", maker.said("said-recommendations")),
    ];
    if let Some(blocks) = precision::section(maker) {
        sections.push(maker.section("", "precision", blocks));
    }
    sections.push(maker.section("", "decisions", lists::decisions(maker)));
    sections.push(maker.section("", "unscored", overview::unscored(maker)));
    sections.push(maker.section("", "rules", lists::rules(maker)));
    sections.push(maker.section("", "cautions", vec![Block::List(lists::cautions(maker))]));
    sections.push(maker.section("", "verify", lists::verify(maker)));
    sections.push(maker.section("", "complaints", lists::complaints(maker)));
    sections
}

fn issued(maker: &Maker<'_>) -> Vec<Block> {
    let report = maker.report;
    let status = maker.t(&format!("status-{}", report.status.word()));
    let version = report.version.to_string();
    vec![
        Block::Text(
            maker.with("issued-sentence", &[("at", &report.issued), ("status", &status), ("version", &version)]),
        ),
        Block::Note(maker.t("statuses")),
    ]
}

/// A table of pairs.
pub(super) fn pairs(maker: &Maker<'_>, caption: &str, heads: [&str; 2], rows: Vec<[String; 2]>) -> Table {
    let [first, second] = heads;
    let mut table = Table::new(maker.t(caption), vec![Column::text(maker.t(first)), Column::wide(maker.t(second))]);
    for [name, value] in rows {
        table.push([Cell::from(name), value.into()]);
    }
    table
}

/// What the template sets.
#[derive(Serialize)]
pub(super) struct Data {
    labels: Vec<(String, String)>,
    language: String,
    document_title: String,
    provider: String,
    banner: Vec<String>,
    page: [String; 3],
    running: String,
    issued: [i32; 3],
    attachment: Option<[String; 3]>,
    end: String,
    content: Content,
}

pub(super) fn data(report: &Report, words: &Words, superseded_by: Option<i64>) -> Data {
    let content = content(report, words, Medium::Document, superseded_by);
    let version = report.version.to_string();
    let of = |key: &str| words.with(key, &[("number", &report.number), ("version", &version)]);
    Data {
        labels: ["report-contents"].into_iter().map(|key| (key.to_owned(), words.t(key))).collect(),
        language: words.tag().to_owned(),
        document_title: format!("{} {}, {}", content.title, report.number, report.round_title),
        provider: report.provider.name.clone(),
        banner: content.banner.clone(),
        page: [of("certificate-page"), of("certificate-page-of"), of("certificate-page-end")],
        running: report.round.clone(),
        issued: report.issued_on,
        attachment: None,
        end: content.end.clone(),
        content,
    }
}
