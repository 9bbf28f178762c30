//! What can be expected of the scores before the round (F6).

use super::{Frame, ok, planned, reviewed_round};
use crate::actions;
use crate::error::Error;
use crate::extract::{Path, Person, Query};
use crate::show::Errors;
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::assemble::measurand_id;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::forecast::{self, ASSUMED_RATIO, Outlook};
use roundel_domain::measurand::Measurand;
use roundel_domain::number::{Decimal, Range};
use roundel_domain::plan::{Assigned, FEWEST_FOR_CONSENSUS};
use roundel_domain::round::Round;
use roundel_store::{Tx, measurands, rounds};
use serde::Deserialize;
use std::collections::HashMap;

/// What is asked for behind the question mark.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    /// How many results; empty for as many as are enrolled.
    results: String,
    /// s*/sigma_pt where no earlier round says it; empty for the default.
    ratio: String,
}

/// A ratio that may be assumed: between nearly nothing and ten times sigma_pt.
const MOST_RATIO: f64 = 10.0;
const MOST_RESULTS: usize = 10_000;

/// What is to be expected, as shown.
struct Expected {
    /// The word of the [`Outlook`], or of what there is beside it.
    outlook: &'static str,
    words: String,
    /// u(x_pt)/sigma_pt; may be empty.
    q: String,
}

struct Line {
    analyte: String,
    route: String,
    /// How many results.
    p: String,
    ratio: String,
    /// Where the ratio comes from.
    origin: String,
    needed: String,
    /// Of a consensus, whatever is planned.
    consensus: Expected,
    /// As it is planned.
    planned: Expected,
}

struct Block {
    label: String,
    lines: Vec<Line>,
}

struct Need {
    ratio: String,
    p: usize,
}

#[derive(Template)]
#[template(path = "rounds/forecast.html")]
struct ForecastPage {
    f: Frame,
    round: Round,
    results: String,
    ratio: String,
    enrolled: usize,
    /// Code of the round that ratios were taken from; may be empty.
    earlier: String,
    blocks: Vec<Block>,
    needs: Vec<Need>,
    errors: Errors,
}

/// s*/sigma_pt of the newest published round of the same scheme, by measurand, with
/// the code of that round.
async fn earlier(app: &App, tx: &mut Tx, round: &Round) -> Result<(String, HashMap<String, f64>), Error> {
    if round.scheme.is_empty() {
        return Ok(Default::default());
    }
    let Some(other) = rounds::earlier(tx, &round.scheme, round.closes_at, 1).await?.into_iter().next() else {
        return Ok(Default::default());
    };
    let (_, evaluation) = other.state.published().ok_or(Error::NotFound)?;
    let evaluated = app.evaluations.load(tx, evaluation).await?;
    let ratios = evaluated.evaluation.measurands.iter().filter_map(|measurand| {
        let sigma = measurand.sigma_pt?;
        // s* of the consensus, or MADe where the value came from outside.
        let consensus = measurand.assigned_value.as_ref().and_then(|value| value.robust_sd);
        let spread = consensus.or(measurand.summary.made)?;
        (sigma > 0.0 && spread > 0.0).then(|| (measurand.id.clone(), spread / sigma))
    });
    Ok((other.code.clone(), ratios.collect()))
}

/// What the table is made from.
struct Basis {
    p: usize,
    ratio: f64,
    earlier: String,
    ratios: HashMap<String, f64>,
}

fn expected(f: &Frame, outlook: Outlook, q: Option<f64>) -> Expected {
    let words = f.w.t(&format!("forecast-{}", outlook.word()));
    Expected { outlook: outlook.word(), words, q: q.map(|q| format!("{q:.2}")).unwrap_or_default() }
}

fn unknown(f: &Frame, key: &str) -> Expected {
    Expected { outlook: "unknown", words: f.w.t(key), q: String::new() }
}

fn line(f: &Frame, item: &str, m: &Measurand, basis: &Basis) -> Line {
    let known = basis.ratios.get(&measurand_id(item, &m.analyte)).copied();
    let ratio = known.unwrap_or(basis.ratio);
    let q = forecast::uncertainty_ratio(basis.p, ratio);
    let of_consensus = |fallback| expected(f, forecast::of_consensus(basis.p, ratio, fallback), q);
    let planned = match m.plan.as_ref().map(|plan| (plan, &plan.assigned)) {
        None => unknown(f, "forecast-no-plan"),
        Some((_, Assigned::Absent { .. })) => unknown(f, "forecast-absent"),
        Some((_, Assigned::Participants { fallback, .. })) => of_consensus(fallback.is_some()),
        Some((plan, _)) => match plan.uncertainty_ratio() {
            Some(q) => expected(f, forecast::by_ratio(q), Some(q)),
            None => unknown(f, "forecast-unknown"),
        },
    };
    Line {
        analyte: m.analyte.clone(),
        route: m.plan.as_ref().map_or_else(|| f.t("route-missing"), |plan| planned::route(f, &plan.assigned)),
        p: basis.p.to_string(),
        ratio: format!("{ratio:.2}"),
        origin: match known {
            Some(_) => f.t1("forecast-from-round", "code", &basis.earlier),
            None => f.t("forecast-assumed"),
        },
        needed: forecast::needed(ratio).max(FEWEST_FOR_CONSENSUS).to_string(),
        consensus: of_consensus(false),
        planned,
    }
}

/// Reads the two fields; what is wrong with them goes to `errors`.
fn read(asked: &Asked, enrolled: usize, errors: &mut FieldErrors) -> (usize, f64) {
    let typed = asked.results.trim();
    let results = match typed.parse::<usize>() {
        Ok(results) if results <= MOST_RESULTS => results,
        _ if typed.is_empty() => enrolled,
        _ => {
            let problem = Problem::new("count-range").with("seen", roundel_domain::field::shortened(typed));
            errors.push("results", problem.with("least", 0).with("most", MOST_RESULTS));
            enrolled
        }
    };
    if asked.ratio.trim().is_empty() {
        return (results, ASSUMED_RATIO);
    }
    let ratio = errors.keep("ratio", Decimal::parse(&asked.ratio, Range::Positive).map_err(Problem::from));
    let ratio = ratio.map(|ratio| ratio.value());
    if ratio.is_some_and(|ratio| ratio > MOST_RATIO) {
        errors.push("ratio", Problem::new("forecast-ratio-large").with("most", MOST_RATIO));
    }
    (results, ratio.filter(|ratio| *ratio <= MOST_RATIO).unwrap_or(ASSUMED_RATIO))
}

/// `GET /rounds/{code}/forecast`.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory.
pub async fn forecast(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    let enrolled = actions::plans::expected(&mut tx, &round).await?;
    let mut errors = FieldErrors::new();
    let (p, ratio) = read(&asked, enrolled, &mut errors);
    let (earlier, ratios) = earlier(&app, &mut tx, &round).await?;
    let basis = Basis { p, ratio, earlier, ratios };
    let items = rounds::items(&mut tx, round.id).await?;
    let measurands = measurands::of_round(&mut tx, round.id).await?;
    let f = Frame::of(&app, &person);
    let blocks = super::by_item(&items, &measurands)
        .into_iter()
        .map(|(item, rows)| Block {
            label: item.label.clone(),
            lines: rows.into_iter().map(|m| line(&f, &item.label, m, &basis)).collect(),
        })
        .collect();
    let needs = [0.6, 0.8, 1.0, 1.2, 1.5].map(|r| Need { ratio: format!("{r:.1}"), p: forecast::needed(r) }).into();
    let default = |typed: &str, otherwise: String| if typed.is_empty() { otherwise } else { typed.to_owned() };
    let page = ForecastPage {
        results: default(&asked.results, enrolled.to_string()),
        ratio: default(&asked.ratio, ASSUMED_RATIO.to_string()),
        enrolled,
        earlier: basis.earlier,
        blocks,
        needs,
        errors: Errors::of(app.words, &errors),
        f,
        round,
    };
    if errors.is_empty() { ok(&page) } else { super::unprocessable(&page) }
}
