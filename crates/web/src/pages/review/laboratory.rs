//! All that was sent under one code, and what was found in it.

use super::measurand::typed_text;
use super::{FindingLine, decide, evidence, line, may_decide};
use crate::error::Error;
use crate::extract::{Path, Person};
use crate::pages::evaluation::{Class, score_text};
use crate::pages::figures::{self, Drawn};
use crate::pages::{Frame, ok, reviewed_round};
use crate::reviewed::{self, Reviewed};
use crate::show;
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::declared::Declared;
use roundel_domain::evaluation::ScoreEntry;
use roundel_domain::review::{Finding, Kind, Set};
use roundel_domain::round::Round;
use roundel_store::clarifications;

struct Row {
    position: i64,
    analyte: String,
    typed: String,
    beside: String,
    score: String,
    class: Option<Class>,
    excluded: String,
    findings: usize,
    /// Value of the tick: empty where there is nothing to decide on.
    on: String,
}

struct Block {
    item: String,
    rows: Vec<Row>,
    /// Where all of the item is decided on.
    href: String,
    count: usize,
    analysed: String,
}

struct Asked {
    item: String,
    analytes: usize,
    at: String,
    answer: String,
    answered_at: String,
}

#[derive(Template)]
#[template(path = "review/laboratory.html")]
struct LaboratoryPage {
    f: Frame,
    round: Round,
    code: String,
    late: bool,
    findings: Vec<FindingLine>,
    strip: Option<Drawn>,
    method: Vec<(String, String)>,
    method_remark: String,
    blocks: Vec<Block>,
    whole_set: String,
    count: usize,
    asked: Vec<Asked>,
    may_decide: bool,
}

fn method(f: &Frame, declared: &Declared) -> Vec<(String, String)> {
    let word = |text: &str| text.replace('_', "-");
    declared
        .method
        .iter()
        .map(|(question, answer)| {
            let label = f.t(&format!("method-{}", word(question)));
            (label, f.t(&format!("method-{}-{}", word(question), word(answer))))
        })
        .collect()
}

fn score_of<'a>(reviewed: &'a Reviewed, code: &str, position: i64) -> Option<&'a ScoreEntry> {
    reviewed.evaluated.score(code, &reviewed.id(reviewed.measurand(position)?))
}

fn block(f: &Frame, round: &Round, reviewed: &Reviewed, set: &Set, item: &str, findings: &[&Finding]) -> Block {
    let rows: Vec<Row> = set
        .entries
        .iter()
        .filter(|entry| entry.item == item)
        .map(|entry| {
            let score = score_of(reviewed, &set.code, entry.position);
            let result = score.and_then(|score| reviewed.evaluated.result(&set.code, &score.measurand));
            let (typed, beside) = typed_text(f, entry);
            let excluded = result.and_then(|result| result.exclude.as_deref()).map(figures::without_stop);
            let about = |one: &&&Finding| one.cells.iter().any(|(_, at)| *at == entry.position);
            Row {
                position: entry.position,
                analyte: entry.analyte.clone(),
                typed,
                beside,
                score: score.map(|score| score_text(&reviewed.evaluated, score)).unwrap_or_default(),
                class: score.map(|score| Class::of_result(f, score.signal, result)),
                excluded: excluded.unwrap_or_default(),
                findings: findings.iter().filter(about).count(),
                on: score.map(|_| format!("{}.{}", set.code, entry.position)).unwrap_or_default(),
            }
        })
        .collect();
    let arrival = set.declared.items.iter().find(|arrival| arrival.item == item);
    Block {
        count: rows.iter().filter(|row| !row.on.is_empty()).count(),
        href: format!("/rounds/{}/decide?on={}", round.code, super::encoded(&format!("{}.item-{item}", set.code))),
        analysed: arrival.map(|arrival| arrival.analysed_on.to_string()).unwrap_or_default(),
        item: item.to_owned(),
        rows,
    }
}

/// `GET /rounds/{code}/review/laboratory/{lab}`.
///
/// # Errors
///
/// [`Error::NotFound`] for laboratories, and for a code that sent nothing.
pub async fn look(
    State(app): State<App>,
    person: Person,
    Path((code, lab)): Path<(String, String)>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    let reviewed = reviewed::load(&app, &mut tx, &round).await?;
    let set = reviewed.set(&lab).ok_or(Error::NotFound)?;
    let decided = reviewed::decided(&mut tx, &round, &reviewed).await?;
    let f = Frame::of(&app, &person);
    // Lists of a measurand that are for information name many, on pages of their own.
    let is_own = |finding: &&Finding| finding.codes.contains(&lab) && finding.kind != Kind::HalfAway;
    let own: Vec<&Finding> = reviewed.findings.iter().filter(is_own).collect();
    let marked: Vec<&Finding> = own.iter().copied().filter(|finding| finding.codes.len() < 3).collect();
    let labels = reviewed.items.iter().map(|item| item.label.as_str());
    let asked = clarifications::of_round(&mut tx, round.id).await?.into_iter().filter(|one| one.code == lab);
    let asked = asked
        .map(|one| {
            Ok(Asked {
                item: one.item.clone(),
                analytes: one.analytes().len(),
                at: show::instant(one.asked_at(), &round.time_zone),
                answered_at: one.answered_at()?.map(|at| show::instant(at, &round.time_zone)).unwrap_or_default(),
                answer: one.answer.unwrap_or_default(),
            })
        })
        .collect::<Result<Vec<Asked>, Error>>()?;
    ok(&LaboratoryPage {
        findings: own.iter().map(|finding| line(&f, &round, &reviewed, &decided, finding)).collect(),
        strip: evidence::strip(&f, &round.code, &reviewed, &lab, &marked, false),
        method: method(&f, &set.declared),
        method_remark: set.declared.method_remark.clone(),
        blocks: labels.map(|item| block(&f, &round, &reviewed, set, item, &marked)).collect(),
        whole_set: format!("/rounds/{code}/decide?on={}", super::encoded(&format!("{lab}.all"))),
        count: decide::reported(set).count(),
        late: set.late,
        may_decide: may_decide(&mut tx, &person, &round).await?,
        code: lab,
        asked,
        round,
        f,
    })
}
