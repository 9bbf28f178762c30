//! What a laboratory sees after publication: its scores and figures.

use super::charts::{self, Charted};
use super::evaluation::{Class, align_column, reported_text, score_text};
use super::figures::{self, Drawn, View};
use super::versions::{Edition, Mark, number_of};
use super::{Frame, ok, organised_round, own_round};
use crate::actions;
use crate::error::Error;
use crate::evaluated::Evaluated;
use crate::extract::{Path, Person, Query};
use crate::show;
use crate::state::App;
use askama::Template;
use axum::extract;
use axum::response::Response;
use jiff::Timestamp;
use roundel_documents::figure::overview::State;
use roundel_documents::figure::{NARROW, WIDE, own_scores, scores};
use roundel_documents::number;
use roundel_domain::access::Actor;
use roundel_domain::assemble::measurand_id;
use roundel_domain::case;
use roundel_domain::evaluation::{Detection, ScoreEntry, Signal};
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::result::{Entry, Reported, Submission};
use roundel_domain::round::Round;
use roundel_store::participants::Participant;
use roundel_store::publications::Publication;
use roundel_store::{Tx, measurands, participants, reports, results, rounds};
use serde::Deserialize;
use std::sync::Arc;

/// A published round, as one laboratory may see it.
pub(crate) struct Published {
    pub(crate) round: Round,
    pub(crate) participant: Participant,
    pub(crate) evaluated: Arc<Evaluated>,
    pub(crate) items: Vec<Item>,
    pub(crate) measurands: Vec<Measurand>,
    pub(crate) submission: Option<Submission>,
    /// Which version of what was published this is.
    pub(crate) edition: Edition,
}

impl Published {
    /// The publication of this number; without one, the one that holds.
    async fn read(
        app: &App,
        tx: &mut Tx,
        round: Round,
        participant: Participant,
        number: Option<i64>,
    ) -> Result<Published, Error> {
        let edition = Edition::read(tx, &round, number).await?;
        Ok(Published {
            evaluated: app.evaluations.load(tx, edition.evaluation).await?,
            edition,
            items: rounds::items(tx, round.id).await?,
            measurands: measurands::of_round(tx, round.id).await?,
            submission: newest_submission(tx, &participant).await?,
            participant,
            round,
        })
    }

    /// The publication that is shown; none for rounds from before they were kept.
    pub(crate) fn publication(&self) -> Option<&Publication> {
        self.edition.publication()
    }

    /// Whether another publication took the place of this one.
    pub(crate) fn is_superseded(&self) -> bool {
        self.edition.is_superseded()
    }

    /// When this was published.
    pub(crate) fn at(&self) -> Option<Timestamp> {
        self.edition.at(&self.round)
    }

    /// Where the scores of a measurand are, in this version.
    pub(super) fn measurand_href(&self, position: i64) -> String {
        format!("/rounds/{}/scores/{position}{}", self.round.code, self.edition.query())
    }
}

async fn newest_submission(tx: &mut Tx, participant: &Participant) -> Result<Option<Submission>, Error> {
    let sent = results::of_participant(tx, participant.id).await?;
    let Some(newest) = sent.last() else { return Ok(None) };
    let read = newest.submission()?;
    Ok(Some(read))
}

pub(crate) async fn published(app: &App, tx: &mut Tx, actor: &Actor, code: &str) -> Result<Published, Error> {
    published_version(app, tx, actor, code, None).await
}

/// A published round as the person's laboratory may see it, in the version of this
/// number; without one, in the one that holds.
pub(crate) async fn published_version(
    app: &App,
    tx: &mut Tx,
    actor: &Actor,
    code: &str,
    number: Option<i64>,
) -> Result<Published, Error> {
    let (round, participant) = own_round(tx, actor, code).await?;
    actor.may_see_scores(&round, true)?;
    Published::read(app, tx, round, participant, number).await
}

/// A published round as one of its laboratories may see it, for the organiser.
pub(crate) async fn published_of(
    app: &App,
    tx: &mut Tx,
    actor: &Actor,
    code: &str,
    lab: &str,
) -> Result<Published, Error> {
    let round = organised_round(tx, actor, code).await?;
    let lab = lab.strip_suffix(".pdf").unwrap_or(lab);
    let all = participants::of_round(tx, round.id).await?;
    let participant = all.into_iter().find(|p| p.code == lab).ok_or(Error::NotFound)?;
    Published::read(app, tx, round, participant, None).await
}

pub(super) struct ScoreLine {
    pub(super) analyte: String,
    pub(super) unit: String,
    pub(super) expressed_as: String,
    pub(super) reported: String,
    pub(super) uncertainty: String,
    pub(super) value: String,
    pub(super) value_uncertainty: String,
    pub(super) sigma: String,
    pub(super) difference: String,
    pub(super) symbol: &'static str,
    pub(super) score: String,
    pub(super) zeta: String,
    pub(super) class: Class,
    /// What needs attention.
    pub(super) alert: String,
    /// What else is to be said.
    pub(super) detail: String,
    pub(super) href: String,
}

struct Small {
    svg: String,
    href: String,
}

/// The scores in one item.
struct ItemScores {
    label: String,
    matrix: String,
    unit: String,
    symbol: &'static str,
    lines: Vec<ScoreLine>,
    not_reported: Vec<(String, String)>,
}

struct Tab {
    label: String,
    href: String,
    here: bool,
}

/// A signal that wants to be looked at.
struct Attention {
    name: String,
    href: String,
    class: Class,
    score: String,
}

#[derive(Template)]
#[template(path = "results/scores.html")]
struct ScoresPage {
    f: Frame,
    round: Round,
    code: String,
    published: String,
    /// That this is a correction, with its reason; empty for the first version.
    corrected: String,
    /// Numbers of the versions that this one took the place of.
    superseded: Vec<i64>,
    /// That another version took the place of this one.
    mark: Option<Mark>,
    /// The versions before this one.
    earlier: Vec<(String, String)>,
    /// What links to files of this version carry, and to those in German.
    query: String,
    german: String,
    /// Whether an appeal of this laboratory is not decided.
    appealed: bool,
    /// Whether there is a report that the laboratory may read.
    reported: bool,
    headline: String,
    attention: Vec<Attention>,
    registered_only: bool,
    own: Drawn,
    matrix: Option<Charted>,
    blocks: Vec<ItemScores>,
    tabs: Vec<Tab>,
    item: String,
    smalls: Vec<Small>,
}

/// Which item a page shows, of which version.
#[derive(Debug, Default, Deserialize)]
pub struct Shown {
    #[serde(default)]
    item: String,
    #[serde(default)]
    version: String,
}

fn submitted(published: &Published, position: i64) -> Option<&Entry> {
    published.submission.as_ref()?.results.iter().find(|entry| entry.position == position)
}

/// The result as it was typed, for a table.
pub(crate) fn typed_value(entry: &Entry) -> String {
    match &entry.reported {
        Reported::Value { values, .. } if values.len() == 1 => number::typed(values[0].decimal.as_str()),
        Reported::Value { .. } => entry.value().map(number::plain).unwrap_or_default(),
        Reported::Below { limit } => format!("<{}", limit.decimal),
        _ => String::new(),
    }
}

pub(super) fn score_line(f: &Frame, on: &Published, m: &Measurand, id: &str, score: &ScoreEntry) -> Option<ScoreLine> {
    if !on.evaluated.may_be_shared(id) {
        return Some(hidden_line(f, on, m, score));
    }
    let (plan, outcome) = on.evaluated.measurand(id)?;
    let result = on.evaluated.result(&on.participant.code, id);
    let shown = outcome
        .assigned_value
        .as_ref()
        .map(|value| number::published(value.value, Some(value.standard_uncertainty), outcome.sigma_pt));
    let detection = figures::detection_key(score.detection).map(|key| f.t(key));
    let excluded = result
        .and_then(|r| r.exclude.as_ref())
        .map(|reason| f.t1("excluded-because", "reason", figures::without_stop(reason)));
    let notes = figures::notes(f, outcome);
    let loq = (score.loq_met == Some(false)).then(|| f.t("loq-not-met"));
    let noteworthy =
        if score.signal == Signal::InformationOnly || score.signal == Signal::NotScored { notes } else { Vec::new() };
    let wrong = matches!(score.detection, Detection::FalseNegative | Detection::FalsePositive | Detection::LoqNotMet);
    let (alarm, calm) = if wrong { (detection, None) } else { (None, detection) };
    let alert: Vec<String> = alarm.into_iter().chain(loq).collect();
    let detail: Vec<String> = calm.into_iter().chain(excluded).chain(noteworthy).collect();
    Some(ScoreLine {
        analyte: m.analyte.clone(),
        unit: m.unit.clone(),
        expressed_as: m.expressed_as.clone(),
        reported: submitted(on, m.position).map_or_else(|| reported_text(score), typed_value),
        uncertainty: result.and_then(|r| r.expanded_uncertainty).map(number::brief).unwrap_or_default(),
        value: shown.as_ref().map(|s| s.assigned_value.clone()).unwrap_or_default(),
        value_uncertainty: shown.as_ref().and_then(|s| s.standard_uncertainty.clone()).unwrap_or_default(),
        sigma: shown.as_ref().and_then(|s| s.sigma_pt.clone()).unwrap_or_default(),
        difference: score.difference_percent.map(number::difference_percent).unwrap_or_default(),
        symbol: figures::kind_of(plan, outcome).map_or("", |kind| kind.symbol()),
        score: score_text(&on.evaluated, score),
        zeta: score.zeta.map(|zeta| number::score(zeta, &[2.0, 3.0])).unwrap_or_default(),
        class: Class::of_result(f, score.signal, result),
        alert: alert.join(" "),
        detail: detail.join(" "),
        href: on.measurand_href(m.position),
    })
}

/// A result of which nothing may be shown that rests on those of others.
fn hidden_line(f: &Frame, on: &Published, m: &Measurand, score: &ScoreEntry) -> ScoreLine {
    ScoreLine {
        analyte: m.analyte.clone(),
        unit: m.unit.clone(),
        expressed_as: m.expressed_as.clone(),
        reported: submitted(on, m.position).map_or_else(|| reported_text(score), typed_value),
        uncertainty: String::new(),
        value: String::new(),
        value_uncertainty: String::new(),
        sigma: String::new(),
        difference: String::new(),
        symbol: "",
        score: String::new(),
        zeta: String::new(),
        class: Class::of(f, Signal::NotScored),
        alert: String::new(),
        detail: f.t("few-hidden"),
        href: on.measurand_href(m.position),
    }
}

/// What a place of the matrix without a result is.
fn missing(on: &Published, position: i64) -> State {
    match submitted(on, position).map(|entry| &entry.reported) {
        Some(Reported::NotAnalysed { .. } | Reported::Failed { .. }) => State::NotAnalysed,
        _ => State::NotReported,
    }
}

fn smalls(f: &Frame, on: &Published, rows: &[&Measurand], item: &str) -> Vec<Small> {
    let view = View { own: Some(&on.participant.code), link: None };
    rows.iter()
        .filter_map(|m| {
            let id = measurand_id(item, &m.analyte);
            on.evaluated.score(&on.participant.code, &id)?;
            if on.evaluated.scores(&id).count() < figures::FEWEST_IN_FIGURE {
                return None;
            }
            let mut figure = figures::scores(f, &on.evaluated, &id, view, NARROW, &format!("small-{}", m.position))?;
            figure.measurand = m.analyte.clone();
            Some(Small { svg: scores::render_small(&figure, &f.w), href: on.measurand_href(m.position) })
        })
        .collect()
}

fn attention(f: &Frame, on: &Published) -> Vec<Attention> {
    let mut found: Vec<(bool, Attention)> = Vec::new();
    for (item, rows) in super::by_item(&on.items, &on.measurands) {
        for m in rows {
            let id = measurand_id(&item.label, &m.analyte);
            let Some(score) = on.evaluated.score(&on.participant.code, &id) else { continue };
            let false_positive = score.detection == Detection::FalsePositive;
            let class = match score.signal {
                _ if false_positive => Class { word: f.t("false-positive"), look: "action" },
                Signal::Warning | Signal::Action => Class::of(f, score.signal),
                _ => continue,
            };
            let serious = false_positive || score.signal == Signal::Action;
            let attention = Attention {
                name: f.t2("measurand-name", "analyte", &m.analyte, "item", &item.label),
                href: on.measurand_href(m.position),
                class,
                score: score_text(&on.evaluated, score),
            };
            found.push((serious, attention));
        }
    }
    found.sort_by_key(|(serious, _)| !serious);
    found.into_iter().map(|(_, attention)| attention).collect()
}

fn headline(f: &Frame, on: &Published) -> String {
    let own = on.evaluated.evaluation.scores.iter().filter(|score| score.participant == on.participant.code);
    let mut counts = [0usize; 3];
    let mut false_positives = 0usize;
    for score in own {
        false_positives += usize::from(score.detection == Detection::FalsePositive);
        match score.signal {
            Signal::None => counts[0] += 1,
            Signal::Warning => counts[1] += 1,
            Signal::Action => counts[2] += 1,
            Signal::InformationOnly | Signal::NotScored => {}
        }
    }
    let false_positives = false_positives.to_string();
    let [within, warning, action] = counts.map(|count| count.to_string());
    let scored = counts.iter().sum::<usize>().to_string();
    f.w.with(
        "scores-headline",
        &[("scored", &scored), ("acceptable", &within), ("questionable", &warning), ("unacceptable", &action)],
    ) + &if false_positives == "0" { String::new() } else { f.t1("scores-false-positives", "count", false_positives) }
}

/// Table and missing rows of one item.
fn item_scores(f: &Frame, on: &Published, item: &Item, rows: &[&Measurand]) -> ItemScores {
    let mut lines = Vec::new();
    let mut not_reported = Vec::new();
    for m in rows {
        let id = measurand_id(&item.label, &m.analyte);
        match on.evaluated.score(&on.participant.code, &id) {
            Some(score) => lines.extend(score_line(f, on, m, &id, score)),
            None => {
                let reason = submitted(on, m.position).and_then(|entry| match &entry.reported {
                    Reported::NotAnalysed { reason } | Reported::Failed { reason } => {
                        Some(super::entry::reason_words(f, *reason))
                    }
                    Reported::Identified => Some(f.t("state-of-identified")),
                    Reported::Value { .. } | Reported::Below { .. } => None,
                });
                not_reported.push((m.analyte.clone(), reason.unwrap_or_default()));
            }
        }
    }
    let columns: [fn(&mut ScoreLine) -> &mut String; 5] =
        [|l| &mut l.reported, |l| &mut l.uncertainty, |l| &mut l.value, |l| &mut l.value_uncertainty, |l| &mut l.sigma];
    for column in columns {
        align_column(&mut lines, column);
    }
    let symbols: Vec<&'static str> = lines.iter().map(|line| line.symbol).filter(|s| !s.is_empty()).collect();
    let symbol = match symbols.first() {
        Some(first) if symbols.iter().all(|symbol| symbol == first) => first,
        _ => "",
    };
    ItemScores {
        label: item.label.clone(),
        matrix: item.matrix.clone(),
        unit: super::evaluation::common_unit(rows),
        symbol,
        lines,
        not_reported,
    }
}

/// `GET /rounds/{code}/scores`.
///
/// # Errors
///
/// [`Error::NotFound`] before publication.
pub async fn overview(
    extract::State(app): extract::State<App>,
    person: Person,
    Path(code): Path<String>,
    Query(wanted): Query<Shown>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let on = published_version(&app, &mut tx, &person.actor, &code, number_of(&wanted.version)?).await?;
    let f = Frame::of(&app, &person);
    let blocks = super::by_item(&on.items, &on.measurands);
    let place = blocks.iter().position(|(item, _)| item.label == wanted.item).unwrap_or(0);
    let (item, rows) = blocks.get(place).ok_or(Error::NotFound)?;
    let own_code = on.participant.code.clone();
    let attention = attention(&f, &on);
    let tabs = blocks
        .iter()
        .map(|(other, _)| Tab {
            label: other.label.clone(),
            href: match on.is_superseded() {
                false => format!("/rounds/{code}/scores?item={}", other.label),
                true => format!("/rounds/{code}/scores?version={}&item={}", on.edition.number, other.label),
            },
            here: other.id == item.id,
        })
        .collect();
    let positions: Vec<(String, i64)> = blocks
        .iter()
        .flat_map(|(item, rows)| rows.iter().map(|m| (measurand_id(&item.label, &m.analyte), m.position)))
        .collect();
    let link = |id: &str| {
        let (_, position) = positions.iter().find(|(known, _)| known == id)?;
        Some(on.measurand_href(*position))
    };
    let wide = figures::own_scores(&f, &on.evaluated, &own_code, link, WIDE);
    let narrow = figures::own_scores(&f, &on.evaluated, &own_code, link, NARROW);
    let own = Drawn {
        wide: own_scores::render(&wide, &f.w),
        narrow: own_scores::render(&narrow, &f.w),
        caption: own_scores::caption(&wide, &f.w),
    };
    let published_at = on.at().map(|at| show::instant(at, &on.round.time_zone));
    let corrected = on.publication().filter(|one| !one.reason.is_empty());
    let corrected = corrected.map(|one| f.t2("scores-version", "number", one.number, "reason", &one.reason));
    let superseded = match on.is_superseded() {
        false => on.edition.all.iter().map(|one| one.number).filter(|number| *number != on.edition.number).collect(),
        true => Vec::new(),
    };
    let path = format!("/rounds/{code}/scores");
    let reported = reports::of_round(&mut tx, on.round.id).await?.iter().any(|report| report.publication.is_some());
    let own_cases = actions::cases::all(&mut tx, &on.round).await?;
    let appealed = own_cases.iter().any(|known| {
        known.case.participant() == Some(on.participant.id)
            && matches!(known.case.kind(), Ok(case::Kind::Appeal))
            && known.outcome().is_none()
    });
    ok(&ScoresPage {
        published: published_at.unwrap_or_default(),
        corrected: corrected.unwrap_or_default(),
        superseded,
        mark: on.edition.mark(&f, &on.round, &path),
        earlier: on.edition.earlier(&f, &path),
        query: on.edition.query(),
        german: match on.is_superseded() {
            false => "?language=de".to_owned(),
            true => format!("{}&language=de", on.edition.query()),
        },
        appealed,
        reported,
        headline: headline(&f, &on),
        attention,
        registered_only: on.submission.is_none(),
        own,
        matrix: charts::own_matrix(&f, &on, &blocks, |position| missing(&on, position)),
        tabs,
        item: item.label.clone(),
        blocks: blocks.iter().map(|(item, rows)| item_scores(&f, &on, item, rows)).collect(),
        smalls: smalls(&f, &on, rows, &item.label),
        code: own_code,
        round: on.round.clone(),
        f,
    })
}

/// A published round as one of its laboratories may see it, for the program itself.
pub(crate) async fn published_by(
    app: &App,
    tx: &mut Tx,
    round: Round,
    participant: Participant,
) -> Result<Published, Error> {
    Published::read(app, tx, round, participant, None).await
}
