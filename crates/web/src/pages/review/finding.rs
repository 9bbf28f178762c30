//! One finding: what was seen, its evidence, and what becomes of it.

use super::{FindingLine, decide, evidence, line, may_decide};
use crate::actions::Refused;
use crate::actions::review::{self as acts, Note};
use crate::error::Error;
use crate::extract::{Fields, Path, Person, Posted};
use crate::pages::evaluation::{Class, reported_text, score_text};
use crate::pages::figures::Drawn;
use crate::pages::{Frame, go, ok, reviewed_round, unprocessable};
use crate::reviewed::{self, Reviewed};
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::{RawQuery, State};
use axum::response::Response;
use roundel_domain::review::{About, Finding};
use roundel_domain::round::Round;
use roundel_store::{Tx, reviews};

/// What somebody said of it.
struct Said {
    at: String,
    by: String,
    what: String,
    reason: String,
}

/// A result that it is about.
struct CellLine {
    code: String,
    name: String,
    href: String,
    reported: String,
    score: String,
    class: Class,
    excluded: String,
}

/// Where results can be decided on.
struct Scope {
    href: String,
    text: String,
}

#[derive(Template)]
#[template(path = "review/finding.html")]
struct FindingPage {
    f: Frame,
    round: Round,
    key: String,
    shown: FindingLine,
    drawn: Vec<Drawn>,
    cells: Vec<CellLine>,
    scopes: Vec<Scope>,
    /// Where the measurand is decided on; empty where it is about results.
    measurand: String,
    said: Vec<Said>,
    kept: bool,
    may_decide: bool,
    reason: String,
    errors: Errors,
}

fn cells(f: &Frame, base: &str, reviewed: &Reviewed, finding: &Finding) -> Vec<CellLine> {
    let line = |(code, position): &(String, i64)| {
        let m = reviewed.measurand(*position)?;
        let id = reviewed.id(m);
        let entry = reviewed.evaluated.score(code, &id)?;
        let result = reviewed.evaluated.result(code, &id)?;
        Some(CellLine {
            code: code.clone(),
            name: super::name(f, reviewed, m),
            href: format!("{base}/review/{position}#lab-{code}"),
            reported: format!("{} {}", reported_text(entry), m.unit),
            score: score_text(&reviewed.evaluated, entry),
            class: Class::of_result(f, entry.signal, Some(result)),
            excluded: result.exclude.clone().unwrap_or_default(),
        })
    };
    finding.cells.iter().filter_map(line).collect()
}

fn scopes(f: &Frame, base: &str, reviewed: &Reviewed, finding: &Finding) -> Vec<Scope> {
    let key = super::encoded(&finding.key);
    let mut scopes = Vec::new();
    if !finding.cells.is_empty() {
        let on: Vec<String> =
            finding.cells.iter().map(|(code, at)| format!("on={}", super::encoded(&format!("{code}.{at}")))).collect();
        let href = format!("{base}/decide?{}&finding={key}", on.join("&"));
        scopes.push(Scope { href, text: f.t1("review-decide-these", "count", finding.cells.len()) });
    }
    for code in &finding.codes {
        let all = reviewed.set(code).map_or(0, |set| decide::reported(set).count());
        if all > finding.cells.iter().filter(|(of, _)| of == code).count() && finding.kind.about() == About::Laboratory
        {
            let on = super::encoded(&format!("{code}.all"));
            let href = format!("{base}/decide?on={on}&finding={key}");
            scopes.push(Scope { href, text: f.t2("review-decide-set", "code", code, "count", all) });
        }
    }
    scopes
}

async fn page(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    round: Round,
    key: &str,
    reason: String,
    errors: Errors,
) -> Result<FindingPage, Error> {
    let reviewed = reviewed::load(app, tx, &round).await?;
    let finding = reviewed.finding(key).ok_or(Error::NotFound)?;
    let decided = reviewed::decided(tx, &round, &reviewed).await?;
    let f = Frame::of(app, person);
    let base = format!("/rounds/{}", round.code);
    let notes: Vec<reviews::Note> =
        reviews::notes(tx, round.id).await?.into_iter().filter(|note| note.finding == key).collect();
    let said = notes
        .iter()
        .map(|note| Said {
            at: show::instant(note.at(), &round.time_zone),
            by: note.by.clone(),
            what: f.t(if note.kept { "finding-said-kept" } else { "finding-said-open" }),
            reason: note.reason.clone(),
        })
        .collect();
    let mut drawn: Vec<Drawn> = Vec::new();
    match finding.kind.about() {
        About::Laboratory => {
            let strips = finding
                .codes
                .iter()
                .filter_map(|code| evidence::strip(&f, &round.code, &reviewed, code, &[finding], true));
            drawn.extend(strips);
        }
        About::Measurand(_) => {
            let m = finding.positions.first().and_then(|position| reviewed.measurand(*position));
            drawn.extend(m.and_then(|m| evidence::density(&f, &reviewed, m)));
        }
    }
    Ok(FindingPage {
        shown: line(&f, &round, &reviewed, &decided, finding),
        drawn,
        cells: cells(&f, &base, &reviewed, finding),
        scopes: scopes(&f, &base, &reviewed, finding),
        measurand: match (finding.kind.about(), finding.positions.first()) {
            (About::Measurand(topic), Some(position)) => {
                format!("{base}/review/{position}?topic={}#decide", topic.word())
            }
            _ => String::new(),
        },
        kept: notes.last().is_some_and(|note| note.kept),
        said,
        may_decide: may_decide(tx, person, &round).await?,
        key: key.to_owned(),
        reason,
        errors,
        round,
        f,
    })
}

/// `GET /rounds/{code}/review/finding?key=…`.
///
/// # Errors
///
/// [`Error::NotFound`] for laboratories, and for a finding that there is not.
pub async fn look(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    RawQuery(query): RawQuery,
) -> Result<Response, Error> {
    let query = Fields::read(query.unwrap_or_default().as_bytes());
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    ok(&page(&app, &mut tx, &person, round, query.get("key"), String::new(), Errors::default()).await?)
}

/// `POST /rounds/{code}/review/finding`: looked at and kept, or open again.
///
/// # Errors
///
/// [`Error::NotFound`] for a finding that there is not; a conflict unless the round
/// is in review.
pub async fn note(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let actor = &posted.person.actor;
    let (key, reason) = (posted.fields.get("finding").to_owned(), posted.fields.get("reason").to_owned());
    let kept = posted.fields.get("command") != "open";
    let now = app.clock.now();
    let mut tx = app.db.write().await?;
    let round = reviewed_round(&mut tx, actor, &code).await?;
    acts::raw_set(&mut tx, &round, now).await?;
    let reviewed = reviewed::load(&app, &mut tx, &round).await?;
    let finding = reviewed.finding(&key).ok_or(Error::NotFound)?;
    let note = Note { finding: &finding.key, kept, reason: &reason };
    match acts::note(&mut tx, actor, &round, note, now).await {
        Ok(()) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/review/finding?key={}", super::encoded(&key)), "noted"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let errors = Errors::of(app.words, &errors);
            unprocessable(&page(&app, &mut tx, &posted.person, round, &key, reason, errors).await?)
        }
    }
}
