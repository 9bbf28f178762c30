//! After closing: evaluating, looking at each measurand, deciding, publishing.

use super::figures::{self, Drawn, View};
use super::{Frame, evaluating_round, go, ok, reviewed_round, unprocessable};
use crate::actions::evaluation::{self, Decision};
use crate::actions::{self, Refused};
use crate::error::Error;
use crate::evaluated::Evaluated;
use crate::extract::{Path, Person, Posted};
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_documents::{Mark, number};
use roundel_domain::assemble::measurand_id;
use roundel_domain::evaluation::{Detection, MeasurandEvaluation, ScoreEntry, Signal};
use roundel_domain::field::Problem;
use roundel_domain::measurand::Measurand;
use roundel_domain::round::{Round, RoundState};
use roundel_store::evaluations::{self, Head};
use roundel_store::{Tx, jobs, measurands, participants, results, rounds};
use std::sync::Arc;

/// A number that a page shows with its class.
#[derive(Clone, Debug)]
pub struct Class {
    /// The printed word.
    pub word: String,
    /// `within`, `warning`, `action`, `information`, `unscored`: its look.
    pub look: &'static str,
}

impl Class {
    /// The class of a signal.
    pub fn of(f: &Frame, signal: Signal) -> Class {
        let mark = figures::mark(signal);
        let look = match mark {
            Mark::Within => "within",
            Mark::Warning => "warning",
            Mark::Action => "action",
            Mark::InformationOnly => "information",
            Mark::NotScored => "unscored",
        };
        Class { word: mark.word(&f.w), look }
    }
}

struct MeasurandLine {
    position: i64,
    analyte: String,
    unit: String,
    value: String,
    uncertainty: String,
    sigma: String,
    basis: String,
    p: usize,
    censored: usize,
    excluded: usize,
    robust: String,
    acceptable: usize,
    questionable: usize,
    unacceptable: usize,
    notes: Vec<String>,
}

struct ItemBlock {
    label: String,
    unit: String,
    lines: Vec<MeasurandLine>,
}

struct Version {
    version: i64,
    at: String,
    by: String,
    package_sha256: String,
}

#[derive(Template)]
#[template(path = "evaluation/overview.html")]
struct OverviewPage {
    f: Frame,
    round: Round,
    blocks: Vec<ItemBlock>,
    versions: Vec<Version>,
    /// The evaluation does not hold the newest decisions.
    stale: bool,
    published: bool,
}

/// The evaluation that a page shows: the published one, or the newest.
pub(crate) async fn shown(app: &App, tx: &mut Tx, round: &Round) -> Result<Option<(Arc<Evaluated>, Vec<Head>)>, Error> {
    let heads = evaluations::of_round(tx, round.id).await?;
    let id = match round.state.published() {
        Some((_, id)) => Some(id),
        None => heads.first().map(|head| head.id),
    };
    match id {
        None => Ok(None),
        Some(id) => Ok(Some((app.evaluations.load(tx, id).await?, heads))),
    }
}

/// x_pt, u(x_pt) and sigma_pt as printed; empty where there is none.
fn published(outcome: &MeasurandEvaluation) -> (String, String, String) {
    match &outcome.assigned_value {
        None => (String::new(), String::new(), String::new()),
        Some(value) => {
            let shown = number::published(value.value, Some(value.standard_uncertainty), outcome.sigma_pt);
            (shown.assigned_value, shown.standard_uncertainty.unwrap_or_default(), shown.sigma_pt.unwrap_or_default())
        }
    }
}

fn measurand_line(f: &Frame, evaluated: &Evaluated, item: &str, m: &Measurand) -> Option<MeasurandLine> {
    let id = measurand_id(item, &m.analyte);
    let (plan, outcome) = evaluated.measurand(&id)?;
    let count = |signal: Signal| evaluated.scores(&id).filter(|entry| entry.signal == signal).count();
    let (value, uncertainty, sigma) = published(outcome);
    let planned = usize::try_from(m.decimals).unwrap_or_default();
    let decimals = value.split_once('.').map_or(0, |(_, digits)| digits.len()).max(planned);
    let wrong = evaluated.scores(&id).filter(|entry| entry.detection == Detection::FalsePositive).count();
    let wrong = (wrong > 0).then(|| f.t1("false-positives", "count", wrong));
    Some(MeasurandLine {
        position: m.position,
        analyte: m.analyte.clone(),
        unit: m.unit.clone(),
        value,
        uncertainty,
        sigma,
        basis: figures::basis_of(f, plan, outcome),
        p: outcome.summary.quantified,
        censored: outcome.summary.censored,
        excluded: outcome.summary.excluded,
        robust: figures::robust_mean(outcome).map(|x| number::decimal(x, decimals)).unwrap_or_default(),
        acceptable: count(Signal::None),
        questionable: count(Signal::Warning),
        unacceptable: count(Signal::Action),
        notes: wrong.into_iter().chain(figures::notes(f, outcome)).collect(),
    })
}

/// Aligns the columns of numbers on their decimal signs.
fn align_lines(lines: &mut [MeasurandLine]) {
    let columns: [fn(&mut MeasurandLine) -> &mut String; 4] =
        [|l| &mut l.value, |l| &mut l.uncertainty, |l| &mut l.sigma, |l| &mut l.robust];
    for column in columns {
        align_column(lines, column);
    }
}

/// Aligns one column of numbers on its decimal signs.
pub fn align_column<T>(rows: &mut [T], column: impl Fn(&mut T) -> &mut String) {
    let texts: Vec<String> = rows.iter_mut().map(|row| column(row).clone()).collect();
    for (row, text) in rows.iter_mut().zip(number::align(&texts)) {
        *column(row) = text;
    }
}

/// Whether decisions were made that the newest evaluation does not hold.
pub(super) async fn is_stale(tx: &mut Tx, round: &Round, heads: &[Head]) -> Result<bool, Error> {
    match (&round.state, heads.first()) {
        (RoundState::Closed { .. }, Some(head)) => {
            Ok(evaluation::assemble(tx, round).await?.sha256() != head.package_sha256)
        }
        _ => Ok(false),
    }
}

/// `GET /rounds/{code}/evaluation`.
///
/// # Errors
///
/// A conflict before the round is closed.
pub async fn overview(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    if round.state.closed_at().is_none() {
        return Err(Error::conflict("conflict-not-closed"));
    }
    let f = Frame::of(&app, &person);
    let items = rounds::items(&mut tx, round.id).await?;
    let measurands = measurands::of_round(&mut tx, round.id).await?;
    let mut blocks = Vec::new();
    let mut versions = Vec::new();
    let mut stale = false;
    if let Some((evaluated, heads)) = shown(&app, &mut tx, &round).await? {
        for (item, rows) in super::by_item(&items, &measurands) {
            let mut lines: Vec<MeasurandLine> =
                rows.iter().filter_map(|m| measurand_line(&f, &evaluated, &item.label, m)).collect();
            align_lines(&mut lines);
            let unit = common_unit(&rows);
            blocks.push(ItemBlock { label: item.label.clone(), unit, lines });
        }
        stale = is_stale(&mut tx, &round, &heads).await?;
        versions = heads
            .iter()
            .map(|head| Version {
                version: head.version,
                at: show::instant(head.at(), &round.time_zone),
                by: head.by.clone(),
                package_sha256: head.package_sha256.clone(),
            })
            .collect();
    }
    ok(&OverviewPage { f, published: round.is_published(), round, blocks, versions, stale })
}

/// The unit of all measurands, if it is one.
pub fn common_unit(measurands: &[&Measurand]) -> String {
    let first = measurands.first().map(|m| m.unit.clone()).unwrap_or_default();
    if measurands.iter().all(|m| m.unit == first) { first } else { String::new() }
}

/// With more results than this a round is evaluated as long work.
const LARGE: usize = 20_000;

/// `POST /rounds/{code}/evaluation`: evaluates, as long work where the round is large
/// or the field `command` wants it.
///
/// # Errors
///
/// A conflict unless the round is closed and unpublished.
pub async fn evaluate(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let round = evaluating_round(&mut tx, &posted.person.actor, &code).await?;
    let (laboratories, asked) =
        (participants::of_round(&mut tx, round.id).await?, measurands::of_round(&mut tx, round.id).await?);
    if posted.fields.get("command") == "job" || laboratories.len() * asked.len() > LARGE {
        let kind = jobs::Kind::Evaluation;
        let id = actions::jobs::start(&mut tx, &posted.person.actor, &round, kind, app.clock.now()).await?;
        tx.commit().await?;
        app.work.notify_one();
        return Ok(go(&format!("/jobs/{id}"), "job-started"));
    }
    evaluation::evaluate(&mut tx, &posted.person.actor, &round, app.clock.now()).await?;
    tx.commit().await?;
    Ok(go(&format!("/rounds/{code}/evaluation"), "evaluated"))
}

struct ResultLine {
    code: String,
    reported: String,
    uncertainty: String,
    factor: String,
    difference: String,
    score: String,
    zeta: String,
    class: Class,
    detection: String,
    excluded: String,
    /// A decision that this evaluation does not hold; may be empty.
    pending: String,
    href: String,
}

#[derive(Template)]
#[template(path = "evaluation/measurand.html")]
struct MeasurandPage {
    f: Frame,
    round: Round,
    name: String,
    unit: String,
    value: String,
    uncertainty: String,
    sigma: String,
    basis: String,
    range: String,
    summary: Vec<(String, String)>,
    notes: Vec<String>,
    results: Option<Drawn>,
    scores: Option<Drawn>,
    symbol: &'static str,
    lines: Vec<ResultLine>,
    previous: Option<(i64, String)>,
    next: Option<(i64, String)>,
    may_decide: bool,
}

/// The score that decided, as shown, with "≤" before the bound of a "<".
pub fn score_text(evaluated: &Evaluated, entry: &ScoreEntry) -> String {
    use roundel_domain::evaluation::ScoreKind;
    let Some((plan, _)) = evaluated.measurand(&entry.measurand) else { return String::new() };
    let limits = plan.limits();
    match evaluated.deciding(entry) {
        None => String::new(),
        Some((ScoreKind::Bound, bound)) => format!("<{}", number::score(bound, &[limits.warning, limits.action])),
        Some((ScoreKind::En, value)) => number::score(value, &[limits.e_n]),
        Some((_, value)) => number::score(value, &[limits.warning, limits.action]),
    }
}

/// A reported number: a value with its shortest digits, or "<" and a limit.
pub fn reported_text(entry: &ScoreEntry) -> String {
    match (entry.value, entry.below) {
        (Some(value), _) => number::plain(value),
        (None, Some(limit)) => format!("<{}", number::plain(limit)),
        (None, None) => String::new(),
    }
}

fn result_line(f: &Frame, evaluated: &Evaluated, entry: &ScoreEntry, base: &str) -> ResultLine {
    let result = evaluated.result(&entry.participant, &entry.measurand);
    let optional = |x: Option<f64>| x.map(number::brief).unwrap_or_default();
    ResultLine {
        code: entry.participant.clone(),
        reported: reported_text(entry),
        uncertainty: optional(result.and_then(|r| r.expanded_uncertainty)),
        factor: result.and_then(|r| r.coverage_factor).map(number::plain).unwrap_or_default(),
        difference: entry.difference_percent.map(number::difference_percent).unwrap_or_default(),
        score: score_text(evaluated, entry),
        zeta: entry.zeta.map(|zeta| number::score(zeta, &[2.0, 3.0])).unwrap_or_default(),
        class: Class::of(f, entry.signal),
        detection: figures::detection_key(entry.detection).map(|key| f.t(key)).unwrap_or_default(),
        excluded: result.and_then(|r| r.exclude.as_deref()).map(figures::without_stop).unwrap_or_default(),
        pending: String::new(),
        href: format!("{base}/decide/{}", entry.participant),
    }
}

fn summary_lines(f: &Frame, outcome: &MeasurandEvaluation) -> Vec<(String, String)> {
    let summary = &outcome.summary;
    let number = |x: Option<f64>| x.map(|x| number::significant(x, 4));
    let mut lines: Vec<(String, String)> = [
        ("summary-participants", Some(summary.participants.to_string())),
        ("summary-quantified", Some(summary.quantified.to_string())),
        ("summary-censored", Some(summary.censored.to_string())),
        ("summary-excluded", Some(summary.excluded.to_string())),
        ("summary-robust-mean", number(figures::robust_mean(outcome))),
        ("summary-robust-sd", number(figures::robust_mean(outcome).and(summary.algorithm_a_sd))),
        ("summary-median", number(summary.median)),
        ("summary-made", number(summary.made)),
        ("summary-niqr", number(summary.niqr)),
        ("summary-mean", number(summary.mean)),
        ("summary-sd", number(summary.sd)),
    ]
    .into_iter()
    .filter_map(|(key, value)| Some((f.t(key), value?)))
    .collect();
    if let Some(q) = outcome.uncertainty_ratio {
        lines.push((f.t("summary-ratio"), number::significant(q, 2)));
    }
    lines
}

/// The decisions on a measurand that the newest evaluation does not hold, oldest
/// first, by code.
async fn decided_since(
    tx: &mut Tx,
    round: &Round,
    measurand: &Measurand,
    newest: Option<&Head>,
) -> Result<Vec<(String, results::Decision)>, Error> {
    let participants = participants::of_round(tx, round.id).await?;
    let decisions = results::decisions(tx, round.id).await?;
    let code = |d: &results::Decision| participants.iter().find(|p| p.id == d.participant).map(|p| p.code.clone());
    let since = |d: &results::Decision| newest.is_some_and(|head| d.at() > head.at());
    let own = decisions.into_iter().filter(|d| d.measurand == measurand.id && since(d));
    Ok(own.filter_map(|decision| Some((code(&decision)?, decision))).collect())
}

struct Place {
    item: String,
    measurand: Measurand,
    previous: Option<(i64, String)>,
    next: Option<(i64, String)>,
}

async fn place(tx: &mut Tx, round: &Round, position: i64) -> Result<Place, Error> {
    let items = rounds::items(tx, round.id).await?;
    let all = measurands::of_round(tx, round.id).await?;
    let label =
        |m: &Measurand| items.iter().find(|item| item.id == m.item).map_or("?", |item| item.label.as_str()).to_owned();
    let at = all.iter().position(|m| m.position == position).ok_or(Error::NotFound)?;
    let named = |m: &Measurand| (m.position, format!("{} {}", label(m), m.analyte));
    Ok(Place {
        item: label(&all[at]),
        previous: at.checked_sub(1).map(|before| named(&all[before])),
        next: all.get(at + 1).map(named),
        measurand: all[at].clone(),
    })
}

/// The range of acceptable results, as printed.
pub fn range_text(f: &Frame, plan: &roundel_domain::package::Measurand, outcome: &MeasurandEvaluation) -> String {
    let (Some(value), Some(sigma)) = (&outcome.assigned_value, outcome.sigma_pt) else { return String::new() };
    let half = plan.limits().warning * sigma;
    let shown = number::published(value.value, Some(value.standard_uncertainty), Some(sigma));
    let decimals = shown.sigma_pt.as_deref().and_then(|s| s.split_once('.')).map_or(0, |(_, digits)| digits.len());
    let low = number::decimal((value.value - half).max(0.0), decimals);
    f.t2("acceptable-range", "low", low, "high", number::decimal(value.value + half, decimals))
}

/// `GET /rounds/{code}/evaluation/{position}`.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser, and before an evaluation.
pub async fn measurand(
    State(app): State<App>,
    person: Person,
    Path((code, position)): Path<(String, i64)>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    let (evaluated, heads) = shown(&app, &mut tx, &round).await?.ok_or(Error::NotFound)?;
    let place = place(&mut tx, &round, position).await?;
    let id = measurand_id(&place.item, &place.measurand.analyte);
    let (plan, outcome) = evaluated.measurand(&id).ok_or(Error::NotFound)?;
    let f = Frame::of(&app, &person);
    let (value, uncertainty, sigma) = published(outcome);
    let base = format!("/rounds/{code}/evaluation/{position}");
    let view = View { own: None, link: Some("#lab-") };
    let mut lines: Vec<ResultLine> =
        evaluated.scores(&id).map(|entry| result_line(&f, &evaluated, entry, &base)).collect();
    align_column(&mut lines, |line| &mut line.reported);
    align_column(&mut lines, |line| &mut line.uncertainty);
    for (code, decision) in decided_since(&mut tx, &round, &place.measurand, heads.first()).await? {
        if let Some(line) = lines.iter_mut().find(|line| line.code == code) {
            let what = f.t(if decision.exclude { "decision-excluded" } else { "decision-taken-back" });
            let what = format!("{what}, {}", figures::without_stop(&decision.reason));
            line.pending = f.t1("result-decided", "decision", what);
        }
    }
    ok(&MeasurandPage {
        name: figures::measurand_name(&f, plan),
        unit: plan.unit.clone(),
        basis: figures::basis_of(&f, plan, outcome),
        range: range_text(&f, plan, outcome),
        summary: summary_lines(&f, outcome),
        notes: figures::notes(&f, outcome),
        results: (!lines.is_empty()).then(|| figures::draw_results(&f, &evaluated, &id, view)).flatten(),
        scores: (lines.len() >= 3).then(|| figures::draw_scores(&f, &evaluated, &id, view)).flatten(),
        symbol: figures::kind_of(plan, outcome).map_or("", |kind| kind.symbol()),
        may_decide: person.actor.may_evaluate().is_ok() && !round.is_published(),
        previous: place.previous,
        next: place.next,
        value,
        uncertainty,
        sigma,
        lines,
        round,
        f,
    })
}

struct PastDecision {
    at: String,
    by: String,
    what: String,
    reason: String,
}

#[derive(Template)]
#[template(path = "evaluation/decide.html")]
struct DecidePage {
    f: Frame,
    round: Round,
    position: i64,
    name: String,
    code: String,
    reported: String,
    excluded: bool,
    /// Why the result is left out by rule, without a decision; may be empty.
    by_rule: String,
    past: Vec<PastDecision>,
    reason: String,
    errors: Errors,
}

struct Deciding {
    round: Round,
    place: Place,
    participant: participants::Participant,
}

async fn deciding(tx: &mut Tx, person: &Person, code: &str, position: i64, lab: &str) -> Result<Deciding, Error> {
    let round = evaluating_round(tx, &person.actor, code).await?;
    let place = place(tx, &round, position).await?;
    let all = participants::of_round(tx, round.id).await?;
    let participant = all.into_iter().find(|p| p.code == lab).ok_or(Error::NotFound)?;
    Ok(Deciding { round, place, participant })
}

async fn decide_page(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    on: Deciding,
    reason: String,
    errors: Errors,
) -> Result<DecidePage, Error> {
    let f = Frame::of(app, person);
    let (evaluated, _) = shown(app, tx, &on.round).await?.ok_or(Error::NotFound)?;
    let id = measurand_id(&on.place.item, &on.place.measurand.analyte);
    let (plan, _) = evaluated.measurand(&id).ok_or(Error::NotFound)?;
    let entry = evaluated.score(&on.participant.code, &id).ok_or(Error::NotFound)?;
    let decisions = results::decisions(tx, on.round.id).await?;
    let own: Vec<_> = decisions
        .iter()
        .filter(|d| d.participant == on.participant.id && d.measurand == on.place.measurand.id)
        .collect();
    let excluded = own.last().is_some_and(|decision| decision.exclude);
    let rule = evaluated.result(&on.participant.code, &id).and_then(|result| result.exclude.as_deref());
    let by_rule = rule.filter(|_| own.is_empty()).map(figures::without_stop).unwrap_or_default();
    let past = own
        .iter()
        .map(|d| PastDecision {
            at: show::instant(d.at(), &on.round.time_zone),
            by: d.by.clone(),
            what: f.t(if d.exclude { "decision-excluded" } else { "decision-taken-back" }),
            reason: d.reason.clone(),
        })
        .collect();
    Ok(DecidePage {
        name: figures::measurand_name(&f, plan),
        code: on.participant.code,
        reported: format!("{} {}", reported_text(entry), plan.unit),
        position: on.place.measurand.position,
        round: on.round,
        excluded,
        by_rule,
        past,
        reason,
        errors,
        f,
    })
}

/// `GET /rounds/{code}/evaluation/{position}/decide/{lab}`.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser, and for a laboratory
/// without a result.
pub async fn ask_decide(
    State(app): State<App>,
    person: Person,
    Path((code, position, lab)): Path<(String, i64, String)>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let on = deciding(&mut tx, &person, &code, position, &lab).await?;
    ok(&decide_page(&app, &mut tx, &person, on, String::new(), Errors::default()).await?)
}

/// `POST /rounds/{code}/evaluation/{position}/decide/{lab}`.
///
/// # Errors
///
/// A conflict unless the round is closed and unpublished.
pub async fn decide(
    State(app): State<App>,
    Path((code, position, lab)): Path<(String, i64, String)>,
    posted: Posted,
) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let on = deciding(&mut tx, &posted.person, &code, position, &lab).await?;
    let reason = posted.fields.get("reason").to_owned();
    let exclude = match posted.fields.get("decision") {
        "exclude" => true,
        "keep" => false,
        _ => return Err(Error::Unreadable(Problem::new("error-form-fields"))),
    };
    let decision = Decision { exclude, reason: &reason };
    let actor = &posted.person.actor;
    let now = app.clock.now();
    match evaluation::decide(&mut tx, actor, &on.round, &on.participant, &on.place.measurand, decision, now).await {
        Ok(()) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/evaluation/{position}#lab-{lab}"), "decided"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let errors = Errors::of(app.words, &errors);
            unprocessable(&decide_page(&app, &mut tx, &posted.person, on, reason, errors).await?)
        }
    }
}
