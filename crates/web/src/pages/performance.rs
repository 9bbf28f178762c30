//! A laboratory's scores over its own rounds, whatever its code was (F86): for its
//! own eyes only.

use super::charts::Charted;
use super::evaluation::{Class, score_text};
use super::figures;
use super::{Frame, ok};
use crate::error::Error;
use crate::evaluated::Evaluated;
use crate::extract::{Person, Query};
use crate::show;
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_documents::figure::trend::{self, Trend, TrendRound, TrendScore};
use roundel_documents::{Limits, Score, ScoreKind, number};
use roundel_domain::evaluation::ScoreEntry;
use roundel_domain::package::{self, SigmaBasis};
use roundel_domain::performance::{Followed, Rule, follow, is_beyond};
use roundel_domain::text;
use roundel_store::performance::{self as store, Past};
use serde::Deserialize;

/// So many rounds stand on a page.
const ROUNDS: i64 = 12;

/// Which analyte and which rounds a page shows.
#[derive(Debug, Default, Deserialize)]
pub struct Wanted {
    #[serde(default)]
    analyte: String,
    #[serde(default)]
    page: i64,
}

/// A score of the laboratory in one round.
struct Own {
    analyte: String,
    item: String,
    score: Score,
    kind: ScoreKind,
    limits: Limits,
    text: String,
    difference: String,
    /// σ_pt over the assigned value: as the plan has it, else as it came out, or σ_pt
    /// itself where there is no value.
    sigma: Option<f64>,
    class: Class,
    mark: roundel_documents::Mark,
}

/// A round with the laboratory's scores.
struct Known {
    code: String,
    own_code: String,
    date: String,
    corrected: bool,
    scores: Vec<Own>,
}

/// A row of the table.
struct Line {
    round: String,
    href: String,
    date: String,
    code: String,
    of: String,
    score: String,
    difference: String,
    class: Option<Class>,
    /// The scores of the round together; at its first score only.
    together: String,
    /// The moving average; at the first score of a round only.
    average: String,
    /// Rules that ask to look here.
    look: Vec<String>,
    /// What is another than before.
    remarks: Vec<String>,
}

/// An analyte with rules that hold.
struct Look {
    analyte: String,
    href: String,
    what: String,
}

/// An analyte to choose.
struct Choice {
    name: String,
    chosen: bool,
}

#[derive(Template)]
#[template(path = "results/performance.html")]
struct PerformancePage {
    f: Frame,
    choices: Vec<Choice>,
    /// The analyte that is shown; empty for all.
    analyte: String,
    looks: Vec<Look>,
    chart: Option<Charted>,
    lines: Vec<Line>,
    newer: Option<String>,
    earlier: Option<String>,
}

/// `GET /performance`.
///
/// # Errors
///
/// A refusal for the organiser's people, who have no rounds of their own.
pub async fn page(State(app): State<App>, person: Person, Query(wanted): Query<Wanted>) -> Result<Response, Error> {
    let laboratory = person.actor.may_read_own()?;
    let f = Frame::of(&app, &person);
    let place = wanted.page.clamp(0, 10_000);
    let mut tx = app.db.read().await?;
    // One more than is shown says whether there are earlier ones.
    let mut past = store::of_laboratory(&mut tx, laboratory, place * ROUNDS, ROUNDS + 1).await?;
    drop(tx);
    let has_earlier = past.len() > usize::try_from(ROUNDS).unwrap_or(usize::MAX);
    past.truncate(usize::try_from(ROUNDS).unwrap_or(usize::MAX));
    let frame = f.clone();
    let rounds = tokio::task::spawn_blocking(move || known(&frame, past))
        .await
        .map_err(|error| Error::Fault(format!("read published rounds: {error}")))??;
    ok(&lay_out(f, rounds, &wanted.analyte, place, has_earlier))
}

/// Reads the rounds, oldest first.
fn known(f: &Frame, past: Vec<Past>) -> Result<Vec<Known>, Error> {
    let read = past.into_iter().rev().map(|one| {
        let evaluated = Evaluated::of_texts(&one.package, &one.document)
            .ok_or_else(|| Error::Fault(format!("read the evaluation of {}", one.round)))?;
        let date = show::instant(one.closes_at(), &one.time_zone);
        Ok(Known {
            scores: own_scores(f, &evaluated, &one.code),
            date: date.split(',').next().unwrap_or_default().to_owned(),
            corrected: one.publications > 1,
            code: one.round,
            own_code: one.code,
        })
    });
    read.collect()
}

fn own_scores(f: &Frame, evaluated: &Evaluated, code: &str) -> Vec<Own> {
    let plans = &evaluated.package.measurands;
    let own = plans.iter().filter_map(|plan| {
        let entry: &ScoreEntry = evaluated.score(code, &plan.id)?;
        let (_, outcome) = evaluated.measurand(&plan.id)?;
        if !evaluated.may_be_shared(&plan.id) {
            return None;
        }
        let kind = figures::kind_of(plan, outcome)?;
        let assigned = outcome.assigned_value.as_ref().map(|value| value.value).filter(|value| *value != 0.0);
        Some(Own {
            analyte: plan.analyte.clone(),
            item: plan.item.clone(),
            score: figures::drawn(evaluated, entry),
            kind,
            limits: figures::limits(plan, kind),
            text: score_text(evaluated, entry),
            difference: entry.difference_percent.map(number::difference_percent).unwrap_or_default(),
            sigma: relative(plan).or_else(|| outcome.sigma_pt.map(|sigma| assigned.map_or(sigma, |x| sigma / x.abs()))),
            class: Class::of_result(f, entry.signal, evaluated.result(&entry.participant, &entry.measurand)),
            mark: figures::mark(entry.signal),
        })
    });
    own.collect()
}

/// σ_pt over the assigned value where the plan gives it as a share: that is the same
/// from round to round, whatever is rounded.
fn relative(plan: &package::Measurand) -> Option<f64> {
    match plan.sigma_pt.as_ref() {
        Some(sigma) if sigma.additional_sd.is_none() => match sigma.basis {
            SigmaBasis::Relative { percent } => Some(percent / 100.0),
            _ => None,
        },
        _ => None,
    }
}

/// A score that is read on the scale of z, with limits 2 and 3.
fn on_scale_of_z(own: &Own) -> Option<f64> {
    match (own.kind, own.score) {
        (ScoreKind::Z | ScoreKind::ZPrime, Score::Value(value)) => Some(value),
        _ => None,
    }
}

/// An analyte's scores in the order of time, each with its round.
fn series<'a>(rounds: &'a [Known], analyte: &str) -> Vec<(usize, &'a Own)> {
    let key = text::key(analyte);
    let own = rounds.iter().enumerate().flat_map(|(place, round)| round.scores.iter().map(move |own| (place, own)));
    own.filter(|(_, own)| text::key(&own.analyte) == key).collect()
}

/// An analyte over the rounds, one value each.
fn followed(rounds: &[Known], series: &[(usize, &Own)]) -> Followed {
    let mut scores: Vec<Vec<f64>> = vec![Vec::new(); rounds.len()];
    for (place, own) in series {
        scores[*place].extend(on_scale_of_z(own));
    }
    follow(&scores)
}

/// Whether a score alone asks to look here.
fn alone(own: &Own) -> Option<Rule> {
    on_scale_of_z(own).filter(|score| is_beyond(*score)).map(|_| Rule::Beyond)
}

fn rule_words(f: &Frame, rules: &[Rule]) -> Vec<String> {
    let key = |rule: &Rule| match rule {
        Rule::Beyond => "performance-rule-beyond",
        Rule::TwoBeyondTwo => "performance-rule-two",
        Rule::ThreeOfFour => "performance-rule-three",
        Rule::SixOneSide => "performance-rule-six",
        Rule::Average => "performance-rule-average",
    };
    rules.iter().map(|rule| f.t(key(rule))).collect()
}

/// Whether two relative standard deviations are one, to a part in a million.
fn same(one: Option<f64>, other: Option<f64>) -> bool {
    match (one, other) {
        (Some(one), Some(other)) => (one - other).abs() <= 1e-6 * one.abs().max(other.abs()),
        (None, None) => true,
        _ => false,
    }
}

fn lay_out(f: Frame, rounds: Vec<Known>, analyte: &str, place: i64, has_earlier: bool) -> PerformancePage {
    let mut names: Vec<&str> = Vec::new();
    for own in rounds.iter().flat_map(|round| &round.scores) {
        if !names.iter().any(|name| text::key(name) == text::key(&own.analyte)) {
            names.push(&own.analyte);
        }
    }
    names.sort_by_key(|name| text::key(name));
    let analyte = names.iter().find(|name| text::key(name) == text::key(analyte)).map(|name| (*name).to_owned());
    let address = |analyte: &str, place: i64| {
        let mut query = form_urlencoded::Serializer::new(String::new());
        if !analyte.is_empty() {
            query.append_pair("analyte", analyte);
        }
        if place > 0 {
            query.append_pair("page", &place.to_string());
        }
        let query = query.finish();
        if query.is_empty() { "/performance".to_owned() } else { format!("/performance?{query}") }
    };
    // What holds at the newest round of an analyte.
    let looks = names.iter().filter_map(|name| {
        let series = series(&rounds, name);
        let (newest, _) = *series.last()?;
        let mut rules: Vec<Rule> =
            series.iter().filter(|(place, _)| *place == newest).find_map(|(_, own)| alone(own)).into_iter().collect();
        rules.extend(followed(&rounds, &series).rules.swap_remove(newest));
        let what = Some(rule_words(&f, &rules).join(" ")).filter(|what| !what.is_empty())?;
        Some(Look { analyte: (*name).to_owned(), href: address(name, place), what })
    });
    let looks: Vec<Look> = looks.collect();
    let choices =
        names.iter().map(|name| Choice { name: (*name).to_owned(), chosen: analyte.as_deref() == Some(*name) });
    let choices = choices.collect();
    let shown = analyte.unwrap_or_default();
    let (drawn, lines) = follow_rounds(&f, &rounds, &shown);
    let chart = (!rounds.is_empty()).then(|| {
        let figure = |width: u32| Trend { id: format!("trend-{width}"), width, ..drawn.clone() };
        Charted::of(figure, &f.w, (trend::render, trend::caption, trend::table))
    });
    PerformancePage {
        newer: (place > 0).then(|| address(&shown, place - 1)),
        earlier: has_earlier.then(|| address(&shown, place + 1)),
        choices,
        analyte: shown,
        looks,
        chart,
        lines,
        f,
    }
}

/// The figure and the table of one analyte, or of all.
fn follow_rounds(f: &Frame, rounds: &[Known], analyte: &str) -> (Trend, Vec<Line>) {
    let pooled = analyte.is_empty();
    let series = if pooled { Vec::new() } else { series(rounds, analyte) };
    let followed = followed(rounds, &series);
    let mut drawn = Vec::new();
    let mut lines = Vec::new();
    // The last score of the same item before, to compare with.
    let mut before: Option<&Own> = None;
    for (place, round) in rounds.iter().enumerate() {
        let href = |own: &Own| {
            let item: String = form_urlencoded::byte_serialize(own.item.as_bytes()).collect();
            format!("/rounds/{}/scores?item={item}", round.code)
        };
        let own: Vec<&Own> = if pooled {
            round.scores.iter().collect()
        } else {
            series.iter().filter(|(of, _)| *of == place).map(|(_, own)| *own).collect()
        };
        let first = own.first().copied();
        let together = followed.rules[place].as_slice();
        let look =
            |own: &Own| !pooled && (alone(own).is_some() || !together.is_empty() && on_scale_of_z(own).is_some());
        let changed = |differs: fn(&Own, &Own) -> bool| match (before, first) {
            (Some(before), Some(now)) if !pooled => differs(before, now),
            _ => false,
        };
        let sigma_changed = changed(|before, now| !same(before.sigma, now.sigma));
        let kind_changed = changed(|before, now| before.kind != now.kind);
        let mut remarks = Vec::new();
        if sigma_changed {
            remarks.push(f.t("performance-other-sigma"));
        }
        if kind_changed {
            remarks.push(f.t("performance-other-kind"));
        }
        if round.corrected {
            remarks.push(f.t("performance-corrected"));
        }
        let of = |own: &Own| {
            let item = f.t1("item-name", "item", &own.item);
            if pooled { f.t2("measurand-name", "analyte", &own.analyte, "item", &own.item) } else { item }
        };
        let scores = own.iter().map(|own| TrendScore {
            name: of(own),
            // Another scale has no place among those of z.
            score: if own.kind == ScoreKind::En { Score::Absent } else { own.score },
            kind: own.kind,
            mark: own.mark,
            look: look(own),
            href: Some(href(own)),
            tooltip: Some(format!(
                "{}, {}: {} {}, {}",
                round.code,
                of(own),
                own.kind.symbol(),
                own.text,
                own.class.word
            )),
        });
        drawn.push(TrendRound {
            name: round.code.clone(),
            date: round.date.clone(),
            scores: scores.collect(),
            ewma: followed.averages[place],
            sigma_changed,
            kind_changed,
            superseded: round.corrected,
        });
        if own.is_empty() {
            lines.push(empty_line(f, round, &remarks));
        }
        for (at, own) in own.iter().enumerate() {
            // What is said of the round stands once, at its first score.
            let of_round = if at == 0 { together } else { &[] };
            let rules: Vec<Rule> = alone(own).filter(|_| !pooled).into_iter().chain(of_round.iter().copied()).collect();
            let value = |value: Option<f64>| match at {
                0 => value.map(|value| number::signed(value, 2)).unwrap_or_default(),
                _ => String::new(),
            };
            lines.push(Line {
                round: round.code.clone(),
                href: href(own),
                date: round.date.clone(),
                code: round.own_code.clone(),
                of: of(own),
                score: if own.text.is_empty() { String::new() } else { format!("{} {}", own.kind.symbol(), own.text) },
                difference: own.difference.clone(),
                class: Some(own.class.clone()),
                together: value(followed.combined[place]),
                average: value(followed.averages[place]),
                look: rule_words(f, &rules),
                remarks: if at == 0 { remarks.clone() } else { Vec::new() },
            });
        }
        before = own.last().copied().or(before);
    }
    let limits = if pooled { None } else { series.iter().find(|(_, own)| on_scale_of_z(own).is_some()) };
    let trend = Trend {
        id: "trend".to_owned(),
        name: if pooled { f.t("performance-all") } else { analyte.to_owned() },
        limits: limits.map_or(Limits::STANDARD, |(_, own)| own.limits),
        rounds: drawn,
        ewma_limit: (!pooled).then_some(followed.limit),
        width: roundel_documents::figure::WIDE,
    };
    (trend, lines)
}

fn empty_line(f: &Frame, round: &Known, remarks: &[String]) -> Line {
    Line {
        round: round.code.clone(),
        href: format!("/rounds/{}/scores", round.code),
        date: round.date.clone(),
        code: round.own_code.clone(),
        of: String::new(),
        score: f.t("performance-no-score"),
        difference: String::new(),
        class: None,
        together: String::new(),
        average: String::new(),
        look: Vec::new(),
        remarks: remarks.to_vec(),
    }
}
