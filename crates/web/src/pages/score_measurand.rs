//! What a laboratory sees of one measurand after publication (F100 to F103).

use super::charts::{self, Charted};
use super::evaluation::{range_text, reported_text, score_text};
use super::figures::{self, Drawn, View};
use super::scores::{ScoreLine, published_version, score_line};
use super::versions::{Mark, Wanted};
use super::{Frame, ok};
use crate::error::Error;
use crate::extract::{Path, Person, Query};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_documents::number;
use roundel_domain::assemble::measurand_id;
use roundel_domain::evaluation::ScoreEntry;
use roundel_domain::measurand::Measurand;
use roundel_domain::round::Round;

#[derive(Template)]
#[template(path = "results/measurand.html")]
struct MeasurandPage {
    f: Frame,
    round: Round,
    code: String,
    name: String,
    unit: String,
    line: Option<ScoreLine>,
    k: String,
    range: String,
    basis: String,
    notes: Vec<String>,
    results: Option<Drawn>,
    scores: Option<Drawn>,
    pairs: Vec<Charted>,
    zeta: Option<Charted>,
    /// The values of the figures without codes, in rising order.
    values: Vec<(String, String, String, bool)>,
    previous: Option<(String, String)>,
    next: Option<(String, String)>,
    /// That another version took the place of this one.
    mark: Option<Mark>,
    /// The versions before this one.
    earlier: Vec<(String, String)>,
    /// What the link to all scores carries.
    back: String,
}

/// `GET /rounds/{code}/scores/{position}`, of an earlier `version` where one is asked
/// for.
///
/// # Errors
///
/// [`Error::NotFound`] before publication, and for a version that there is not.
pub async fn measurand(
    State(app): State<App>,
    person: Person,
    Path((code, position)): Path<(String, i64)>,
    Query(wanted): Query<Wanted>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let on = published_version(&app, &mut tx, &person.actor, &code, wanted.number()?).await?;
    let f = Frame::of(&app, &person);
    let at = on.measurands.iter().position(|m| m.position == position).ok_or(Error::NotFound)?;
    let label = |m: &Measurand| on.items.iter().find(|item| item.id == m.item).map_or("", |item| item.label.as_str());
    let m = &on.measurands[at];
    let id = measurand_id(label(m), &m.analyte);
    let (plan, outcome) = on.evaluated.measurand(&id).ok_or(Error::NotFound)?;
    let own = on.participant.code.as_str();
    let shared = on.evaluated.may_be_shared(&id);
    let view = View { own: Some(own), link: None };
    let enough = on.evaluated.scores(&id).count() >= figures::FEWEST_IN_FIGURE;
    let mut entries: Vec<&ScoreEntry> = if enough { on.evaluated.scores(&id).collect() } else { Vec::new() };
    let size = |entry: &ScoreEntry| entry.value.or(entry.below).unwrap_or(f64::MAX);
    entries.sort_by(|a, b| size(a).total_cmp(&size(b)));
    // What others withdrew is theirs: of them it is told only that there is no score.
    let class = |entry: &ScoreEntry| {
        let result = on.evaluated.result(&entry.participant, &id).filter(|_| entry.participant == own);
        figures::class_word(&f, entry.signal, result)
    };
    let values = entries
        .iter()
        .map(|entry| (reported_text(entry), score_text(&on.evaluated, entry), class(entry), entry.participant == own))
        .collect();
    let named = |m: &Measurand| (on.measurand_href(m.position), format!("{}, {}", m.analyte, label(m)));
    let path = format!("/rounds/{}/scores/{position}", on.round.code);
    let line = on.evaluated.score(own, &id).and_then(|score| score_line(&f, &on, m, &id, score));
    let k = on.evaluated.result(own, &id).and_then(|r| r.coverage_factor).map(number::plain).unwrap_or_default();
    ok(&MeasurandPage {
        name: figures::measurand_name(&f, plan),
        unit: plan.unit.clone(),
        line,
        k,
        range: if shared { range_text(&f, plan, outcome) } else { String::new() },
        basis: figures::basis_of(&f, plan, outcome),
        notes: if shared { figures::notes(&f, outcome) } else { Vec::new() },
        results: enough.then(|| figures::draw_results(&f, &on.evaluated, &id, view)).flatten(),
        scores: enough.then(|| figures::draw_scores(&f, &on.evaluated, &id, view)).flatten(),
        pairs: charts::pairs(&f, &on.evaluated, &id, view),
        zeta: charts::zeta_z(&f, &on.evaluated, &id, view),
        values,
        previous: at.checked_sub(1).map(|before| named(&on.measurands[before])),
        next: on.measurands.get(at + 1).map(named),
        mark: on.edition.mark(&f, &on.round, &path),
        earlier: on.edition.earlier(&f, &path),
        back: match on.is_superseded() {
            true => format!("version={}&item={}", on.edition.number, label(m)),
            false => format!("item={}", label(m)),
        },
        code: own.to_owned(),
        round: on.round.clone(),
        f,
    })
}
