//! Items: what is known of each measurand, and what follows from it.

use super::item_figures::{self, Drawn};
use super::{Frame, ok, reviewed_round};
use crate::actions;
use crate::actions::items::{self, Kept, Known};
use crate::error::Error;
use crate::extract::{Path, Person};
use crate::pages::evaluation;
use crate::show;
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use jiff::tz::TimeZone;
use roundel_documents::number;
use roundel_domain::access::Actor;
use roundel_domain::assemble::measurand_id;
use roundel_domain::judgement::{Judgement, Kind, Topic};
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::round::Round;
use roundel_domain::study::sigma::{self, Level, SigmaFrom};
use roundel_domain::study::verdict::{self, HomogeneityReport, StabilityReport, Verdict};
use roundel_store::{Tx, measurands, rounds, withdrawals};
use std::collections::HashMap;

/// A verdict as shown: its words and how they look.
#[derive(Clone, Debug, Default)]
pub struct Shown {
    /// In a few words.
    pub word: String,
    /// Class name of the style sheet.
    pub look: &'static str,
}

/// The words of a verdict in a list.
pub fn shown(f: &Frame, verdict: Option<Verdict>) -> Shown {
    let (word, look) = match verdict {
        None => ("verdict-none", "unscored"),
        Some(Verdict::Simple) => ("verdict-simple", "within"),
        Some(Verdict::Expanded) => ("verdict-expanded", "warning"),
        Some(Verdict::Insufficient) => ("verdict-insufficient", "action"),
        Some(Verdict::NoSigma) => ("verdict-no-sigma", "information"),
        Some(Verdict::NotATest) => ("verdict-not-a-test", "warning"),
    };
    Shown { word: f.t(word), look }
}

/// A measurand with all that is known of its item, held against σ_pt.
pub struct Studied {
    /// What is known.
    pub known: Known,
    /// σ_pt and where it comes from.
    pub sigma: Option<(f64, SigmaFrom)>,
    /// What the study of homogeneity says.
    pub homogeneity: Option<HomogeneityReport>,
    /// What the study of stability says.
    pub stability: Option<StabilityReport>,
    /// Why it was withdrawn; empty where it was not.
    pub withdrawn: String,
}

impl Studied {
    /// The verdict on a topic; none without data.
    pub fn verdict(&self, topic: Topic) -> Option<Verdict> {
        match topic {
            Topic::Homogeneity => self.homogeneity.as_ref().map(|report| report.verdict),
            _ => self.stability.as_ref().map(|report| report.verdict),
        }
    }

    /// Whether a person has still to say what follows from a topic.
    fn waits(&self, topic: Topic) -> bool {
        let fails = self.verdict(topic).is_some_and(Verdict::needs_decision);
        fails && self.known.decided(topic).is_none() && self.withdrawn.is_empty()
    }
}

/// What is known of the measurands of a round, by their place.
///
/// # Errors
///
/// What the database says.
pub async fn studied(
    app: &App,
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    (items, measurands): (&[Item], &[Measurand]),
) -> Result<HashMap<i64, Studied>, Error> {
    let mut known = items::known(tx, round.id).await?;
    let evaluated = evaluation::shown(app, tx, round, actor).await?;
    let withdrawn = withdrawals::of_round(tx, round.id).await?;
    let zone = TimeZone::get(&round.time_zone).unwrap_or(TimeZone::UTC);
    let deadline = round.closes_at.to_zoned(zone).date();
    let mut all = HashMap::new();
    for m in measurands {
        let own = known.remove(&m.id).unwrap_or_default();
        let label = items.iter().find(|item| item.id == m.item).map_or("", |item| item.label.as_str());
        let id = measurand_id(label, &m.analyte);
        let outcome = evaluated.as_ref().and_then(|(evaluated, _)| evaluated.measurand(&id));
        let level = Level {
            evaluated: outcome.and_then(|(plan, outcome)| {
                let added = plan.sigma_pt.as_ref().and_then(|sigma| sigma.additional_sd).unwrap_or(0.0);
                outcome.sigma_pt.map(|sigma| (sigma * sigma - added * added).max(0.0).sqrt())
            }),
            prepared: own.prepared(&m.unit).map(|prepared| prepared.value),
            mean: mean_of(&own),
        };
        let sigma = sigma::sigma_pt(m.plan.as_ref(), &m.unit, level);
        let against = sigma.map(|(sigma, _)| sigma);
        let studied = Studied {
            homogeneity: own.homogeneity.last().map(|kept| verdict::homogeneity(&kept.content, against)),
            stability: own.stability.last().map(|kept| verdict::stability(&kept.content, against, deadline)),
            withdrawn: withdrawn
                .iter()
                .find(|withdrawal| withdrawal.covers(m.item, m.id))
                .map(|withdrawal| withdrawal.reason.clone())
                .unwrap_or_default(),
            sigma,
            known: own,
        };
        all.insert(m.position, studied);
    }
    Ok(all)
}

fn mean_of(known: &Known) -> Option<f64> {
    let of = |values: Vec<f64>| (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64);
    let units = known.homogeneity.last().map(|kept| kept.content.units.iter().map(|unit| unit.mean()).collect());
    let start = || known.stability.last().map(|kept| kept.content.start());
    units.or_else(start).and_then(of)
}

/// A decision in words: what, and its number.
pub fn decision_words(f: &Frame, judgement: &Judgement, unit: &str) -> String {
    let number = judgement.number.as_ref().map(ToString::to_string).unwrap_or_default();
    let with_number = |key: &str| f.t1(key, "number", number::with_unit(&number, unit));
    match judgement.kind {
        Kind::AsPlanned => f.t("item-decision-as-planned"),
        Kind::AddUncertainty => with_number("item-decision-add-uncertainty"),
        Kind::AddSd => with_number("item-decision-add-sd"),
        Kind::InformationOnly => f.t("item-decision-information"),
        Kind::NotScored => f.t("item-decision-not-scored"),
        Kind::Consent => f.t("item-decision-consent"),
    }
}

struct Line {
    position: i64,
    analyte: String,
    prepared: String,
    homogeneity: Shown,
    stability: Shown,
    decisions: Vec<String>,
    /// Whether something fails and nobody has decided what follows.
    waits: bool,
    holds: String,
    withdrawn: String,
}

struct Block {
    label: String,
    matrix: String,
    units: String,
    lines: Vec<Line>,
}

#[derive(Template)]
#[template(path = "items/list.html")]
struct ListPage {
    f: Frame,
    round: Round,
    /// Whether the person may record and decide.
    may: bool,
    blocks: Vec<Block>,
    waiting: usize,
}

fn line(f: &Frame, m: &Measurand, studied: &Studied) -> Line {
    let known = &studied.known;
    let prepared = known.prepared(&m.unit).map(|prepared| {
        let printed = number::published(prepared.value, Some(prepared.standard_uncertainty), None);
        format!("{} ± {}", printed.assigned_value, printed.standard_uncertainty.unwrap_or_default())
    });
    let decisions = [Topic::Homogeneity, Topic::Stability]
        .into_iter()
        .filter_map(|topic| {
            let kept = known.decided(topic)?;
            let topic = f.t(topic_key(topic));
            Some(f.t2("item-decided", "topic", topic, "decision", decision_words(f, &kept.content, &m.unit)))
        })
        .collect();
    let units = known.homogeneity.last().map_or(0, |kept| kept.content.units.len());
    let condition = known.stability.last().and_then(|kept| kept.content.storage().map(str::to_owned));
    let mut holds = Vec::new();
    if units > 0 {
        holds.push(f.t1("items-holds-homogeneity", "count", units));
    }
    if let Some(condition) = condition {
        holds.push(f.t1("items-holds-stability", "condition", condition));
    }
    Line {
        position: m.position,
        analyte: m.analyte.clone(),
        prepared: prepared.unwrap_or_default(),
        homogeneity: shown(f, studied.verdict(Topic::Homogeneity)),
        stability: shown(f, studied.verdict(Topic::Stability)),
        decisions,
        waits: studied.waits(Topic::Homogeneity) || studied.waits(Topic::Stability),
        holds: if holds.is_empty() { f.t("items-holds-nothing") } else { holds.join(", ") },
        withdrawn: studied.withdrawn.clone(),
    }
}

/// The key of a topic's name.
pub fn topic_key(topic: Topic) -> &'static str {
    if topic == Topic::Homogeneity { "homogeneity" } else { "stability" }
}

/// `GET /rounds/{code}/items`.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory.
pub async fn list(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    let items = rounds::items(&mut tx, round.id).await?;
    let measurands = measurands::of_round(&mut tx, round.id).await?;
    let studied = studied(&app, &mut tx, &person.actor, &round, (&items, &measurands)).await?;
    let f = Frame::of(&app, &person);
    let mut blocks = Vec::new();
    for (item, rows) in super::by_item(&items, &measurands) {
        let (ledger, _) = actions::units::ledger(&mut tx, &round, item).await?;
        let units = match ledger.made {
            0 => f.t("ledger-none"),
            made => f.t2("ledger-summary", "made", made, "spares", ledger.spares().len()),
        };
        let lines = rows.iter().filter_map(|m| Some(line(&f, m, studied.get(&m.position)?))).collect();
        blocks.push(Block { label: item.label.clone(), matrix: item.matrix.clone(), units, lines });
    }
    let waiting = blocks.iter().flat_map(|block| &block.lines).filter(|line| line.waits).count();
    ok(&ListPage { f, may: person.actor.may_evaluate().is_ok(), round, blocks, waiting })
}

/// The item of this label with the measurand at this place of the round.
///
/// # Errors
///
/// [`Error::NotFound`] where there is none, or it is of another item.
pub async fn measurand_of(tx: &mut Tx, round: &Round, label: &str, position: i64) -> Result<(Item, Measurand), Error> {
    let items = rounds::items(tx, round.id).await?;
    let item = items.into_iter().find(|item| item.label == label).ok_or(Error::NotFound)?;
    let all = measurands::of_round(tx, round.id).await?;
    let found = all.into_iter().find(|m| m.position == position && m.item == item.id);
    Ok((item, found.ok_or(Error::NotFound)?))
}

/// A sentence about a study: a finding, or that all is well.
pub struct Remark {
    /// The sentence.
    pub text: String,
    /// Whether it is worth a look.
    pub look: bool,
}

/// A decision that was made, with who and when.
struct Made {
    topic: String,
    words: String,
    reason: String,
    at: String,
    by: String,
}

/// Who recorded something, and when.
struct Version {
    at: String,
    by: String,
}

fn versions<T>(kept: &[Kept<T>], zone: &str) -> Vec<Version> {
    kept.iter().rev().map(|kept| Version { at: show::instant(kept.at, zone), by: kept.by.clone() }).collect()
}

/// A study as shown.
struct StudyPart {
    verdict: Shown,
    sentence: String,
    facts: Vec<(String, String)>,
    remarks: Vec<Remark>,
    figure: Option<Drawn>,
    columns: Vec<String>,
    rows: Vec<Vec<String>>,
    method: String,
    versions: Vec<Version>,
    waits: bool,
}

/// A preparation as shown.
struct PreparationPart {
    substance: String,
    facts: Vec<(String, String)>,
    remarks: Vec<Remark>,
    parts: Vec<[String; 5]>,
    versions: Vec<Version>,
}

#[derive(Template)]
#[template(path = "items/measurand.html")]
struct MeasurandPage {
    f: Frame,
    round: Round,
    item: Item,
    measurand: Measurand,
    may: bool,
    /// Whether the content by preparation can be taken into the plan.
    may_take: bool,
    sigma: String,
    withdrawn: String,
    preparation: Option<PreparationPart>,
    homogeneity: Option<StudyPart>,
    stability: Option<StudyPart>,
    made: Vec<Made>,
    previous: Option<(i64, String)>,
    next: Option<(i64, String)>,
}

/// `GET /rounds/{code}/items/{label}/{position}`.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory, and for what the round does not have.
pub async fn measurand(
    State(app): State<App>,
    person: Person,
    Path((code, label, position)): Path<(String, String, i64)>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    let (item, measurand) = measurand_of(&mut tx, &round, &label, position).await?;
    let items = rounds::items(&mut tx, round.id).await?;
    let measurands = measurands::of_round(&mut tx, round.id).await?;
    let mut all = studied(&app, &mut tx, &person.actor, &round, (&items, &measurands)).await?;
    let studied = all.remove(&position).ok_or(Error::NotFound)?;
    let f = Frame::of(&app, &person);
    let zone = round.time_zone.as_str();
    let siblings: Vec<&Measurand> = measurands.iter().filter(|m| m.item == item.id).collect();
    let here = siblings.iter().position(|m| m.position == position).unwrap_or_default();
    let named = |m: &&Measurand| (m.position, m.analyte.clone());
    let name = f.t2("measurand-name", "analyte", &measurand.analyte, "item", &item.label);
    let study = super::item_words::Study { f: &f, name: &name, unit: &measurand.unit, sigma: studied.sigma };
    ok(&MeasurandPage {
        may: person.actor.may_evaluate().is_ok(),
        may_take: person.actor.may_organise().is_ok() && round.is_draft(),
        sigma: super::item_words::sigma(&f, studied.sigma, &measurand.unit),
        withdrawn: studied.withdrawn.clone(),
        preparation: preparation_part(&f, &studied.known, &measurand, zone),
        homogeneity: homogeneity_part(&study, &studied, zone),
        stability: stability_part(&study, &studied, &round),
        made: made(&f, &studied.known, &measurand.unit, zone),
        previous: here.checked_sub(1).and_then(|place| siblings.get(place)).map(named),
        next: siblings.get(here + 1).map(named),
        f,
        item,
        measurand,
        round,
    })
}

fn preparation_part(f: &Frame, known: &Known, m: &Measurand, zone: &str) -> Option<PreparationPart> {
    let newest = known.preparations.last()?;
    let prepared = newest.content.compute(&m.unit).ok()?;
    let words = super::item_words::preparation(f, &newest.content, &prepared, m);
    Some(PreparationPart {
        substance: newest.content.substance.clone(),
        facts: words.facts,
        remarks: words.remarks,
        parts: super::item_words::budget(f, &prepared, &m.unit),
        versions: versions(&known.preparations, zone),
    })
}

fn homogeneity_part(study: &super::item_words::Study<'_>, studied: &Studied, zone: &str) -> Option<StudyPart> {
    let (report, kept) = (studied.homogeneity.as_ref()?, studied.known.homogeneity.last()?);
    let f = study.f;
    let words = super::item_words::homogeneity(study, report, kept.content.units.len());
    let with_run = report.has_run;
    let mut columns = vec![f.t("study-unit-number")];
    if with_run {
        columns.push(f.t("study-run"));
    }
    columns.extend([f.t1("study-value", "n", 1), f.t1("study-value", "n", 2), f.t("study-mean")]);
    let row = |unit: &roundel_domain::study::Unit| {
        let mut row = vec![unit.number.to_string()];
        if with_run {
            row.push(unit.run.map(|run| run.to_string()).unwrap_or_default());
        }
        row.extend(unit.values.iter().map(ToString::to_string));
        row.push(number::plain(unit.mean()));
        row
    };
    Some(StudyPart {
        verdict: shown(f, Some(report.verdict)),
        sentence: words.sentence,
        facts: words.facts,
        remarks: words.remarks,
        figure: Some(item_figures::homogeneity(study, &kept.content, report)),
        columns,
        rows: kept.content.units.iter().map(row).collect(),
        method: kept.content.method.clone(),
        versions: versions(&studied.known.homogeneity, zone),
        waits: studied.waits(Topic::Homogeneity),
    })
}

fn stability_part(study: &super::item_words::Study<'_>, studied: &Studied, round: &Round) -> Option<StudyPart> {
    let (report, kept) = (studied.stability.as_ref()?, studied.known.stability.last()?);
    let f = study.f;
    let words = super::item_words::stability(study, report, &kept.content, round);
    let most = kept.content.points.iter().map(|point| point.values.len()).max().unwrap_or(1);
    let mut columns = vec![f.t("study-condition"), f.t("study-day")];
    columns.extend((1..=most).map(|n| f.t1("study-value", "n", n)));
    let row = |point: &roundel_domain::study::Point| {
        let mut row = vec![point.condition.clone(), point.day.to_string()];
        row.extend(point.values.iter().map(ToString::to_string));
        row.resize(most + 2, String::new());
        row
    };
    Some(StudyPart {
        verdict: shown(f, Some(report.verdict)),
        sentence: words.sentence,
        facts: words.facts,
        remarks: words.remarks,
        figure: Some(item_figures::stability(study, &kept.content, report)),
        columns,
        rows: kept.content.points.iter().map(row).collect(),
        method: kept.content.method.clone(),
        versions: versions(&studied.known.stability, &round.time_zone),
        waits: studied.waits(Topic::Stability),
    })
}

fn made(f: &Frame, known: &Known, unit: &str, zone: &str) -> Vec<Made> {
    let line = |kept: &Kept<Judgement>| Made {
        topic: f.t(topic_key(kept.content.topic)),
        words: decision_words(f, &kept.content, unit),
        reason: kept.content.reason.clone(),
        at: show::instant(kept.at, zone),
        by: kept.by.clone(),
    };
    known.decisions.iter().rev().map(line).collect()
}
