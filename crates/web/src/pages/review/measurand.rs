//! The review page of a measurand (F45).

use super::{FindingLine, evidence, line, name};
use crate::actions::Refused;
use crate::actions::evaluation::{MeasurandDecision, decide_measurand};
use crate::error::Error;
use crate::extract::{Fields, Path, Person, Posted};
use crate::pages::charts::{self, Charted};
use crate::pages::evaluation::{Class, align_column, published, range_text, reported_text, score_text, summary_lines};
use crate::pages::figures::{self, Drawn, View};
use crate::pages::{Frame, go, ok, reviewed_round, unprocessable};
use crate::reviewed::{self, Reviewed};
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::{RawQuery, State};
use axum::response::Response;
use roundel_documents::number;
use roundel_domain::evaluation::{Basis, ScoreEntry, Signal};
use roundel_domain::field::Problem;
use roundel_domain::judgement::{Kind, Topic};
use roundel_domain::measurand::Measurand;
use roundel_domain::package::{Estimator, ReportedResult};
use roundel_domain::result::{Entry, Reported};
use roundel_domain::review::{Estimate, Finding, MethodGroup, candidates, method_groups, replicate_sd};
use roundel_domain::round::Round;
use roundel_domain::text;
use roundel_store::{Tx, measurand_decisions, measurands as stored, reviews, rounds};

/// A finding for information on more measurands is about a laboratory as a whole.
const MOST_PLACES: usize = 6;

struct CandidateLine {
    name: String,
    value: String,
    uncertainty: String,
    spread: String,
    count: String,
    planned: bool,
}

struct GroupLine {
    name: String,
    count: usize,
    median: String,
    spread: String,
}

/// The same analyte elsewhere.
struct OtherLine {
    round: String,
    item: String,
    href: String,
    value: String,
    spread: String,
    ratio: String,
    unacceptable: String,
}

struct ResultLine {
    code: String,
    /// As typed, letter by letter.
    typed: String,
    /// What belongs to it: unit typed, replicates, own limit.
    beside: String,
    reported: String,
    uncertainty: String,
    k: String,
    difference: String,
    score: String,
    zeta: String,
    class: Class,
    detection: String,
    decided: String,
    laboratory: String,
    /// How many findings are about it.
    findings: usize,
    href: String,
}

struct Judged {
    at: String,
    by: String,
    what: String,
    reason: String,
}

struct Offered {
    word: &'static str,
    text: String,
    chosen: bool,
}

#[derive(Default)]
struct Typed {
    topic: String,
    kind: String,
    number: String,
    reason: String,
}

#[derive(Template)]
#[template(path = "review/measurand.html")]
struct MeasurandPage {
    f: Frame,
    round: Round,
    position: i64,
    name: String,
    unit: String,
    value: String,
    uncertainty: String,
    sigma: String,
    basis: String,
    range: String,
    notes: Vec<String>,
    results: Option<Drawn>,
    density: Option<Drawn>,
    scores: Option<Drawn>,
    pairs: Vec<Charted>,
    zeta: Option<Charted>,
    findings: Vec<FindingLine>,
    candidates: Vec<CandidateLine>,
    groups: Vec<GroupLine>,
    others: Vec<OtherLine>,
    summary: Vec<(String, String)>,
    symbol: &'static str,
    lines: Vec<ResultLine>,
    previous: Option<(i64, String)>,
    next: Option<(i64, String)>,
    judged: Vec<Judged>,
    topics: Vec<Offered>,
    kinds: Vec<Offered>,
    typed: Typed,
    errors: Errors,
    may_decide: bool,
    may_consent: bool,
}

/// What was typed for a result, letter by letter, and what stands beside it.
pub(super) fn typed_text(f: &Frame, entry: &Entry) -> (String, String) {
    let typed = match &entry.reported {
        Reported::Value { values, .. } => {
            values.iter().map(|value| value.typed.as_str()).collect::<Vec<_>>().join("; ")
        }
        Reported::Below { limit } if limit.typed.trim_start().starts_with('<') => limit.typed.clone(),
        Reported::Below { limit } => format!("<{}", limit.typed),
        Reported::Identified => f.t("review-identified"),
        Reported::NotAnalysed { .. } => f.t("review-not-analysed"),
        Reported::Failed { .. } => f.t("review-failed"),
    };
    let mut beside: Vec<String> = Vec::new();
    if let Some(unit) = &entry.typed_unit {
        beside.push(f.t1("review-typed-in", "unit", unit));
    }
    if let Some(loq) = &entry.loq {
        beside.push(f.t1("review-own-loq", "loq", &loq.typed));
    }
    if let Reported::Value { values, .. } = &entry.reported {
        let numbers: Vec<f64> = values.iter().map(|value| value.decimal.value()).collect();
        if let Some(s) = replicate_sd(&numbers) {
            beside.push(f.t1("review-replicate-spread", "s", number::significant(s, 2)));
        }
    }
    (typed, beside.join(", "))
}

fn result_line(f: &Frame, round: &Round, reviewed: &Reviewed, m: &Measurand, entry: &ScoreEntry) -> ResultLine {
    let code = &entry.participant;
    let result = reviewed.evaluated.result(code, &entry.measurand);
    let row = reviewed.set(code).and_then(|set| set.entries.iter().find(|row| row.position == m.position));
    let (typed, beside) = row.map(|row| typed_text(f, row)).unwrap_or_default();
    let optional = |x: Option<f64>| x.map(number::brief).unwrap_or_default();
    let about = |finding: &&Finding| finding.cells.iter().any(|(of, at)| of == code && *at == m.position);
    ResultLine {
        typed,
        beside,
        reported: reported_text(entry),
        uncertainty: optional(result.and_then(|r| r.expanded_uncertainty)),
        k: result.and_then(|r| r.coverage_factor).map(number::plain).unwrap_or_default(),
        difference: entry.difference_percent.map(number::difference_percent).unwrap_or_default(),
        score: score_text(&reviewed.evaluated, entry),
        zeta: entry.zeta.map(|zeta| number::score(zeta, &[2.0, 3.0])).unwrap_or_default(),
        class: Class::of_result(f, entry.signal, result),
        detection: figures::detection_key(entry.detection).map(|key| f.t(key)).unwrap_or_default(),
        decided: result.map(|result| decided_text(f, result)).unwrap_or_default(),
        laboratory: format!("/rounds/{}/review/laboratory/{code}", round.code),
        findings: reviewed.findings.iter().filter(about).count(),
        href: format!("/rounds/{}/decide?on={}", round.code, super::encoded(&format!("{code}.{}", m.position))),
        code: code.clone(),
    }
}

/// Why a result does not count, as far as it is decided or ruled.
fn decided_text(f: &Frame, result: &ReportedResult) -> String {
    match &result.exclude {
        None => String::new(),
        Some(reason) if result.is_scored() => f.t1("excluded-because", "reason", figures::without_stop(reason)),
        Some(reason) => f.t1("unscored-because", "reason", figures::without_stop(reason)),
    }
}

fn candidate_lines(f: &Frame, reviewed: &Reviewed, m: &Measurand) -> Vec<CandidateLine> {
    let id = reviewed.id(m);
    let Some((plan, outcome)) = reviewed.evaluated.measurand(&id) else { return Vec::new() };
    let results: Vec<&ReportedResult> =
        reviewed.evaluated.package.results.iter().filter(|result| result.measurand == id).collect();
    let used = outcome.assigned_value.as_ref().map(|value| (value.basis, value.estimator));
    let planned = |estimate: Estimate| match (used, estimate) {
        (Some((Basis::Participants, Some(Estimator::AlgorithmA))), Estimate::AlgorithmA)
        | (Some((Basis::Participants, Some(Estimator::QHampel))), Estimate::QHampel)
        | (Some((Basis::Participants, Some(Estimator::MedianMade))), Estimate::MedianMade)
        | (Some((Basis::Participants, Some(Estimator::MedianNiqr))), Estimate::MedianNiqr)
        | (Some((Basis::Participants, Some(Estimator::Mean))), Estimate::Mean) => true,
        (Some((basis, _)), Estimate::Given) => basis != Basis::Participants,
        _ => false,
    };
    let mut lines: Vec<CandidateLine> = candidates(plan, &results, outcome.sigma_pt, reviewed.seed())
        .into_iter()
        .map(|one| {
            let shown = number::published(one.value, one.standard_uncertainty, one.spread);
            CandidateLine {
                name: match one.estimate {
                    Estimate::Given => f.t1("candidate-given", "basis", figures::basis_of(f, plan, outcome)),
                    other => f.t(&format!("candidate-{}", other.word())),
                },
                value: shown.assigned_value,
                uncertainty: shown.standard_uncertainty.unwrap_or_default(),
                spread: shown.sigma_pt.unwrap_or_default(),
                count: one.count.map(|count| count.to_string()).unwrap_or_default(),
                planned: planned(one.estimate),
            }
        })
        .collect();
    align_column(&mut lines, |line| &mut line.value);
    align_column(&mut lines, |line| &mut line.uncertainty);
    align_column(&mut lines, |line| &mut line.spread);
    lines
}

fn group_lines(reviewed: &Reviewed, m: &Measurand) -> Vec<GroupLine> {
    let id = reviewed.id(m);
    let own = reviewed.evaluated.package.results.iter().filter(|result| result.measurand == id);
    let line = |group: MethodGroup| GroupLine {
        name: group.name.replace('/', ", ").replace('_', " "),
        count: group.count,
        median: number::significant(group.median, 3),
        spread: group.spread.map(|spread| number::significant(spread, 2)).unwrap_or_default(),
    };
    method_groups(own).into_iter().map(line).collect()
}

fn other_line(
    evaluated: &crate::evaluated::Evaluated,
    id: &str,
    (round, item, href): (String, String, String),
) -> Option<OtherLine> {
    let (_, outcome) = evaluated.measurand(id)?;
    let (value, _, _) = published(outcome);
    let classes: Vec<Signal> = evaluated
        .scores(id)
        .map(|score| score.signal)
        .filter(|signal| matches!(signal, Signal::None | Signal::Warning | Signal::Action))
        .collect();
    let wrong = classes.iter().filter(|signal| **signal == Signal::Action).count();
    Some(OtherLine {
        round,
        item,
        href,
        value,
        spread: outcome.summary.algorithm_a_sd.map(|s| number::significant(s, 3)).unwrap_or_default(),
        ratio: outcome.uncertainty_ratio.map(|q| number::significant(q, 2)).unwrap_or_default(),
        unacceptable: if classes.is_empty() { String::new() } else { format!("{wrong}/{}", classes.len()) },
    })
}

/// The same analyte in the other items, and in earlier rounds of the scheme.
async fn others(
    app: &App,
    tx: &mut Tx,
    round: &Round,
    reviewed: &Reviewed,
    m: &Measurand,
) -> Result<Vec<OtherLine>, Error> {
    let same = |other: &&Measurand| text::key(&other.analyte) == text::key(&m.analyte) && other.id != m.id;
    let label = |items: &[roundel_domain::measurand::Item], m: &Measurand| {
        items.iter().find(|item| item.id == m.item).map(|item| item.label.clone()).unwrap_or_default()
    };
    let mut lines = Vec::new();
    for other in reviewed.measurands.iter().filter(same) {
        let href = format!("/rounds/{}/review/{}", round.code, other.position);
        let place = (round.code.clone(), label(&reviewed.items, other), href);
        lines.extend(other_line(&reviewed.evaluated, &reviewed.id(other), place));
    }
    // A round without a scheme has none before it.
    let earlier = match round.scheme.as_str() {
        "" => Vec::new(),
        scheme => rounds::earlier(tx, scheme, round.closes_at, MOST_EARLIER).await?,
    };
    for other in &earlier {
        let Some((_, evaluation)) = other.state.published() else { continue };
        let evaluated = app.evaluations.load(tx, evaluation).await?;
        let items = rounds::items(tx, other.id).await?;
        let all = stored::of_round(tx, other.id).await?;
        for known in all.iter().filter(|known| text::key(&known.analyte) == text::key(&m.analyte)) {
            let id = roundel_domain::review::id_of(&items, known);
            let href = format!("/rounds/{}/review/{}", other.code, known.position);
            lines.extend(other_line(&evaluated, &id, (other.code.clone(), label(&items, known), href)));
        }
    }
    Ok(lines)
}

/// So many earlier rounds are shown.
const MOST_EARLIER: i64 = 4;

async fn judged(tx: &mut Tx, f: &Frame, round: &Round, m: &Measurand) -> Result<Vec<Judged>, Error> {
    let all = measurand_decisions::of_round(tx, round.id).await?;
    let own = all.into_iter().filter(|decision| decision.measurand == m.id);
    own.map(|decision| {
        let judgement = decision.judgement()?;
        let topic = f.t(&format!("review-topic-{}", judgement.topic.word()));
        let kind = f.t(&format!("review-kind-{}", judgement.kind.word().replace('_', "-")));
        let number = judgement.number.as_ref().map(|x| format!(" {x} {}", m.unit)).unwrap_or_default();
        Ok(Judged {
            at: show::instant(decision.at(), &round.time_zone),
            by: decision.by.clone(),
            what: format!("{topic}: {kind}{number}"),
            reason: judgement.reason,
        })
    })
    .collect()
}

fn topics(f: &Frame, person: &Person, chosen: &str) -> Vec<Offered> {
    let may_consent = person.actor.may_approve().is_ok();
    Topic::ALL
        .into_iter()
        .filter(|topic| (*topic == Topic::Consent) == may_consent)
        .map(|topic| Offered {
            word: topic.word(),
            text: f.t(&format!("review-topic-{}", topic.word())),
            chosen: topic.word() == chosen,
        })
        .collect()
}

fn kinds(f: &Frame, person: &Person, chosen: &str) -> Vec<Offered> {
    let all =
        [Kind::AsPlanned, Kind::AddUncertainty, Kind::AddSd, Kind::InformationOnly, Kind::NotScored, Kind::Consent];
    let may_consent = person.actor.may_approve().is_ok();
    let offered = move |kind: &Kind| match kind {
        Kind::Consent => may_consent,
        Kind::AsPlanned => true,
        _ => !may_consent,
    };
    all.into_iter()
        .filter(offered)
        .map(|kind| Offered {
            word: kind.word(),
            text: f.t(&format!("review-kind-{}", kind.word().replace('_', "-"))),
            chosen: kind.word() == chosen,
        })
        .collect()
}

async fn page(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    round: Round,
    position: i64,
    typed: Typed,
    errors: Errors,
) -> Result<MeasurandPage, Error> {
    let reviewed = reviewed::load(app, tx, &round).await?;
    let at = reviewed.measurands.iter().position(|m| m.position == position).ok_or(Error::NotFound)?;
    let m = &reviewed.measurands[at];
    let id = reviewed.id(m);
    let (plan, outcome) = reviewed.evaluated.measurand(&id).ok_or(Error::NotFound)?;
    let decided = reviewed::decided(tx, &round, &reviewed).await?;
    let f = Frame::of(app, person);
    let (value, uncertainty, sigma) = published(outcome);
    let mut lines: Vec<ResultLine> =
        reviewed.evaluated.scores(&id).map(|entry| result_line(&f, &round, &reviewed, m, entry)).collect();
    align_column(&mut lines, |line| &mut line.reported);
    align_column(&mut lines, |line| &mut line.uncertainty);
    let view = View { own: None, link: Some("#lab-") };
    // What is for information on a laboratory as a whole stands on its own page.
    let is_here = |one: &&Finding| {
        one.positions.contains(&position) && (one.kind.is_to_be_decided() || one.positions.len() <= MOST_PLACES)
    };
    let findings = reviewed.findings.iter().filter(is_here);
    let neighbour = |m: &Measurand| (m.position, name(&f, &reviewed, m));
    let in_review = crate::actions::evaluation::is_in_review(tx, &round).await?;
    Ok(MeasurandPage {
        position,
        name: figures::measurand_name(&f, plan),
        unit: plan.unit.clone(),
        basis: figures::basis_of(&f, plan, outcome),
        range: range_text(&f, plan, outcome),
        notes: figures::notes(&f, outcome),
        results: (!lines.is_empty()).then(|| figures::draw_results(&f, &reviewed.evaluated, &id, view)).flatten(),
        density: evidence::density(&f, &reviewed, m),
        scores: (lines.len() >= 3).then(|| figures::draw_scores(&f, &reviewed.evaluated, &id, view)).flatten(),
        pairs: charts::pairs(&f, &reviewed.evaluated, &id, view),
        zeta: charts::zeta_z(&f, &reviewed.evaluated, &id, view),
        findings: findings.map(|finding| line(&f, &round, &reviewed, &decided, finding)).collect(),
        candidates: candidate_lines(&f, &reviewed, m),
        groups: group_lines(&reviewed, m),
        others: others(app, tx, &round, &reviewed, m).await?,
        summary: summary_lines(&f, outcome),
        symbol: figures::kind_of(plan, outcome).map_or("", |kind| kind.symbol()),
        previous: at.checked_sub(1).map(|before| neighbour(&reviewed.measurands[before])),
        next: reviewed.measurands.get(at + 1).map(neighbour),
        judged: judged(tx, &f, &round, m).await?,
        topics: topics(&f, person, &typed.topic),
        kinds: kinds(&f, person, &typed.kind),
        may_decide: in_review && person.actor.may_evaluate().is_ok(),
        may_consent: in_review && person.actor.may_approve().is_ok(),
        value,
        uncertainty,
        sigma,
        lines,
        typed,
        errors,
        round,
        f,
    })
}

/// `GET /rounds/{code}/review/{position}`: that it was opened is kept.
///
/// # Errors
///
/// [`Error::NotFound`] for laboratories; a conflict before the round is closed.
pub async fn look(
    State(app): State<App>,
    person: Person,
    Path((code, position)): Path<(String, i64)>,
    RawQuery(query): RawQuery,
) -> Result<Response, Error> {
    let query = Fields::read(query.unwrap_or_default().as_bytes());
    let typed = Typed { topic: query.get("topic").to_owned(), ..Typed::default() };
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    let shown = page(&app, &mut tx, &person, round, position, typed, Errors::default()).await?;
    let measurand = stored::of_round(&mut tx, shown.round.id).await?.into_iter().find(|m| m.position == position);
    let (me, measurand) = (person.actor.user(), measurand.ok_or(Error::NotFound)?);
    let seen = reviews::seen(&mut tx, shown.round.id).await?;
    drop(tx);
    if !seen.contains(&(measurand.id, me)) {
        let mut tx = app.db.write().await?;
        reviews::see(&mut tx, measurand.id, me, app.clock.now()).await?;
        tx.commit().await?;
    }
    ok(&shown)
}

/// `POST /rounds/{code}/review/{position}`: decides on the measurand as a whole.
///
/// # Errors
///
/// A conflict unless the round is in review.
pub async fn decide(
    State(app): State<App>,
    Path((code, position)): Path<(String, i64)>,
    posted: Posted,
) -> Result<Response, Error> {
    let get = |name: &str| posted.fields.get(name).to_owned();
    let typed = Typed { topic: get("topic"), kind: get("kind"), number: get("number"), reason: get("reason") };
    let (actor, now) = (&posted.person.actor, app.clock.now());
    let mut tx = app.db.write().await?;
    let round = reviewed_round(&mut tx, actor, &code).await?;
    crate::actions::review::raw_set(&mut tx, &round, now).await?;
    crate::actions::evaluation::must_be_in_review(&mut tx, &round).await?;
    let all = stored::of_round(&mut tx, round.id).await?;
    let measurand = all.iter().find(|m| m.position == position).ok_or(Error::NotFound)?;
    let wrong = |field: &str, key: &'static str| {
        let mut errors = roundel_domain::field::FieldErrors::new();
        errors.push(field, Problem::new(key));
        Refused::Fields(errors)
    };
    let done = match (Topic::of(&typed.topic), Kind::of(&typed.kind)) {
        (None, _) => Err(wrong("topic", "judgement-topic-missing")),
        (_, None) => Err(wrong("kind", "judgement-kind-missing")),
        (Some(topic), Some(kind)) => {
            let decision = MeasurandDecision { topic, kind, number: &typed.number, reason: &typed.reason };
            decide_measurand(&mut tx, actor, &round, measurand, decision, now).await
        }
    };
    match done {
        Ok(()) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/review/{position}#decide"), "measurand-decided"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let errors = Errors::of(app.words, &errors);
            unprocessable(&page(&app, &mut tx, &posted.person, round, position, typed, errors).await?)
        }
    }
}
