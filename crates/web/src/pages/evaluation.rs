//! After closing: evaluating, looking at each measurand, deciding, publishing.

use super::charts::{self, Charted};
use super::figures;
use super::versions::Correcting;
use super::{Frame, evaluating_round, go, ok, reviewed_round};
use crate::actions::{self, approval, evaluation};
use crate::error::Error;
use crate::evaluated::Evaluated;
use crate::extract::{Path, Person, Posted};
use crate::show;
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_documents::{Mark, number};
use roundel_domain::access::Actor;
use roundel_domain::assemble::measurand_id;
use roundel_domain::evaluation::{Detection, MeasurandEvaluation, ScoreEntry, Signal};
use roundel_domain::measurand::Measurand;
use roundel_domain::package::ReportedResult;
use roundel_domain::round::Round;
use roundel_store::evaluations::{self, Head};
use roundel_store::{Tx, jobs, measurands, participants, rounds};
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

    /// The class of a result: one that its laboratory withdrew has a word of its own.
    pub fn of_result(f: &Frame, signal: Signal, result: Option<&ReportedResult>) -> Class {
        Class { word: figures::class_word(f, signal, result), ..Class::of(f, signal) }
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
    matrix: Option<Charted>,
    versions: Vec<Version>,
    /// The evaluation does not hold the newest decisions.
    stale: bool,
    /// Whether what is shown is published, and no correction is open.
    published: bool,
    /// The correction that is open.
    correcting: Option<Correcting>,
    may_evaluate: bool,
    organiser: bool,
}

/// The evaluation that a page shows: the published one; for the staff the newest
/// before publication and while a correction is open.
pub(crate) async fn shown(
    app: &App,
    tx: &mut Tx,
    round: &Round,
    actor: &Actor,
) -> Result<Option<(Arc<Evaluated>, Vec<Head>)>, Error> {
    let heads = evaluations::of_round(tx, round.id).await?;
    let staff = actor.may_review().is_ok();
    let id = match round.state.published() {
        Some((_, id)) if !staff || approval::open(tx, round).await?.is_none() => Some(id),
        _ if staff => heads.first().map(|head| head.id),
        _ => None,
    };
    match id {
        None => Ok(None),
        Some(id) => Ok(Some((app.evaluations.load(tx, id).await?, heads))),
    }
}

/// The newest evaluation of a round, published or not: what the staff works on.
///
/// # Errors
///
/// A conflict without one.
pub(crate) async fn newest(app: &App, tx: &mut Tx, round: &Round) -> Result<(Head, Arc<Evaluated>), Error> {
    let head = evaluations::of_round(tx, round.id).await?.into_iter().next();
    let head = head.ok_or_else(|| Error::conflict("conflict-no-evaluation"))?;
    let evaluated = app.evaluations.load(tx, head.id).await?;
    Ok((head, evaluated))
}

/// x_pt, u(x_pt) and sigma_pt as printed; empty where there is none.
pub(super) fn published(outcome: &MeasurandEvaluation) -> (String, String, String) {
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
    let Some(head) = heads.first() else { return Ok(false) };
    if round.is_published() && approval::open(tx, round).await?.is_none() {
        return Ok(false);
    }
    Ok(evaluation::assemble(tx, round).await?.sha256() != head.package_sha256)
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
    let mut matrix = None;
    if let Some((evaluated, heads)) = shown(&app, &mut tx, &round, &person.actor).await? {
        for (item, rows) in super::by_item(&items, &measurands) {
            let mut lines: Vec<MeasurandLine> =
                rows.iter().filter_map(|m| measurand_line(&f, &evaluated, &item.label, m)).collect();
            align_lines(&mut lines);
            let unit = common_unit(&rows);
            blocks.push(ItemBlock { label: item.label.clone(), unit, lines });
        }
        matrix = charts::matrix(&f, &evaluated, &code, &super::by_item(&items, &measurands));
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
    let correcting = Correcting::read(&f, &mut tx, &round).await?;
    ok(&OverviewPage {
        published: round.is_published() && correcting.is_none(),
        correcting,
        may_evaluate: person.actor.may_evaluate().is_ok(),
        organiser: person.actor.may_organise().is_ok(),
        f,
        round,
        blocks,
        matrix,
        versions,
        stale,
    })
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

pub(super) fn summary_lines(f: &Frame, outcome: &MeasurandEvaluation) -> Vec<(String, String)> {
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

/// The range of acceptable results, as printed.
pub fn range_text(f: &Frame, plan: &roundel_domain::package::Measurand, outcome: &MeasurandEvaluation) -> String {
    let (Some(value), Some(sigma)) = (&outcome.assigned_value, outcome.sigma_pt) else { return String::new() };
    let half = plan.limits().warning * sigma;
    let shown = number::published(value.value, Some(value.standard_uncertainty), Some(sigma));
    let decimals = shown.sigma_pt.as_deref().and_then(|s| s.split_once('.')).map_or(0, |(_, digits)| digits.len());
    let low = number::decimal((value.value - half).max(0.0), decimals);
    f.t2("acceptable-range", "low", low, "high", number::decimal(value.value + half, decimals))
}

/// `GET /rounds/{code}/evaluation/{position}`: where the page stood before.
///
/// # Errors
///
/// [`Error::NotFound`] for laboratories.
pub async fn measurand(person: Person, Path((code, position)): Path<(String, i64)>) -> Result<Response, Error> {
    person.actor.may_review()?;
    Ok(go(&format!("/rounds/{code}/review/{position}"), ""))
}

/// `GET /rounds/{code}/evaluation/{position}/decide/{lab}`: where the page stood before.
///
/// # Errors
///
/// [`Error::NotFound`] for laboratories.
pub async fn ask_decide(
    person: Person,
    Path((code, position, lab)): Path<(String, i64, String)>,
) -> Result<Response, Error> {
    person.actor.may_review()?;
    let cell: String = form_urlencoded::byte_serialize(format!("{lab}.{position}").as_bytes()).collect();
    Ok(go(&format!("/rounds/{code}/decide?on={cell}"), ""))
}
