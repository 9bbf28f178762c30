//! The report of a round: what is missing of it and issuing it, for the staff; the
//! report itself, on a page and as a document; and the sheets of the methods.

use super::evaluation::{is_stale, shown};
use super::{Frame, download, go, ok, reviewed_round, seen_round, unprocessable};
use crate::actions::{self, Refused, approval};
use crate::error::Error;
use crate::extract::{Path, Person, Posted, Query, Visitor};
use crate::report::{Gathered, gather, identified};
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_documents::report::{self as document, Block, Content, Report};
use roundel_documents::words::Words;
use roundel_domain::field::Problem;
use roundel_domain::report::{
    Heading, Item, State as Standing, Status, is_complete, may_issue, method_sheets, missing,
};
use roundel_domain::round::Round;
use roundel_store::Tx;
use roundel_store::publications;
use roundel_store::reports::{self, Head, Told};
use serde::Deserialize;

/// A content with how it stands.
struct GateLine {
    letter: char,
    title: String,
    /// `ready`, `open` or `none`.
    look: &'static str,
    word: String,
    missing: Vec<String>,
    /// Where it is filled; empty where there is nothing to fill.
    href: String,
    link: String,
}

struct HeadingLine {
    word: &'static str,
    title: String,
    /// `ready`, `open` or `none`.
    look: &'static str,
    state: String,
}

struct IssuedLine {
    version: i64,
    status: String,
    at: String,
    by: String,
    reason: String,
    superseded: String,
    /// Who was told of it; empty for one that replaces none, and for laboratories.
    told: String,
}

struct Choice {
    value: &'static str,
    text: String,
    hint: String,
    chosen: bool,
}

#[derive(Template)]
#[template(path = "reports/gate.html")]
struct GatePage {
    f: Frame,
    round: Round,
    complete: bool,
    missing: usize,
    /// That the report that holds is of an evaluation that was corrected since; may be
    /// empty.
    outdated: String,
    lines: Vec<GateLine>,
    headings: Vec<HeadingLine>,
    issued: Vec<IssuedLine>,
    /// What can be issued now; empty for who may not, and while nothing can.
    choices: Vec<Choice>,
    /// Why nothing final can be issued; may be empty.
    blocked: String,
    corrected: bool,
    organiser: bool,
    reason: String,
    errors: Errors,
}

/// Where a content is filled, and what the link says.
fn filled(f: &Frame, code: &str, item: Item) -> (String, String) {
    let (path, key) = match item {
        Item::Coordinator
        | Item::External
        | Item::Confidentiality
        | Item::Identification
        | Item::Traceability
        | Item::Design => ("/plan", "plan-link"),
        Item::Authorised => ("/approval", "approval-link"),
        Item::Items => ("/items", "items-link"),
        Item::Statistics | Item::Route | Item::Procedures | Item::Sigma => ("/evaluation", "evaluation"),
        Item::Methods => ("/methods", "methods-link"),
        Item::Comments => return (format!("/rounds/{code}/report#texts"), f.t("reports-texts-link")),
        Item::Recommendations => {
            return (format!("/rounds/{code}/report/texts/recommendations"), f.t("reports-write"));
        }
        Item::Provider | Item::Issued | Item::Pages | Item::Results | Item::Advice => return Default::default(),
    };
    (format!("/rounds/{code}{path}"), f.t(key))
}

fn gate_lines(f: &Frame, code: &str, gathered: &Gathered) -> Vec<GateLine> {
    let line = |line: &roundel_domain::report::Line| {
        let (look, key, problems) = match &line.state {
            Standing::Present => ("ready", "reports-present", Vec::new()),
            Standing::Missing(problems) => ("open", "reports-missing", problems.iter().collect()),
            Standing::NotApplicable(problem) => ("none", "reports-not-applicable", vec![problem]),
        };
        let (href, link) = filled(f, code, line.item);
        GateLine {
            letter: line.item.letter(),
            title: f.t(&format!("report-item-{}", line.item.word())),
            look,
            word: f.t(key),
            missing: problems.into_iter().map(|problem| show::problem(f.w, problem)).collect(),
            href,
            link,
        }
    };
    gathered.lines.iter().map(line).collect()
}

fn heading_lines(f: &Frame, gathered: &Gathered) -> Vec<HeadingLine> {
    let line = |heading: Heading| {
        let key = format!("said-{}", heading.word());
        let text = gathered.report.texts.iter().find(|text| text.key == key);
        let (look, state) = match text {
            None => ("open", f.t("reports-text-open")),
            Some(text) if text.text.is_empty() => ("none", f.t("reports-not-applicable")),
            Some(_) => ("ready", f.t("reports-text-written")),
        };
        HeadingLine { word: heading.word(), title: f.t(&format!("reports-heading-{}", heading.word())), look, state }
    };
    Heading::ALL.into_iter().map(line).collect()
}

/// `told` says whom, and stands on pages of the staff only.
fn issued_lines(f: &Frame, round: &Round, heads: &[Head], told: &[Told]) -> Result<Vec<IssuedLine>, Error> {
    let line = |head: &Head| {
        let told = told.iter().find(|told| told.version == head.version);
        Ok(IssuedLine {
            told: told
                .map(|told| f.t2("reports-told", "laboratories", told.laboratories, "messages", told.messages))
                .unwrap_or_default(),
            version: head.version,
            status: f.t(&format!("report-status-{}", head.status()?.word())),
            at: show::instant(head.at(), &round.time_zone),
            by: head.by.clone(),
            reason: head.reason.clone(),
            superseded: head
                .superseded_by
                .map(|version| f.t1("report-status-superseded", "version", version))
                .unwrap_or_default(),
        })
    };
    heads.iter().map(line).collect()
}

/// The report that could be issued now, with the evaluation that it is of.
async fn current(app: &App, tx: &mut Tx, person: &Person, round: &Round) -> Result<(Gathered, bool), Error> {
    let found = shown(app, tx, round, &person.actor).await?;
    let (evaluated, heads) = found.ok_or_else(|| Error::conflict("conflict-no-evaluation"))?;
    let stale = is_stale(tx, round, &heads).await?;
    Ok((gather(tx, round, &evaluated, stale).await?, stale))
}

/// That a report is of an evaluation that was corrected since it was issued; empty
/// where it is not, and for one whose place another took.
async fn outdated(f: &Frame, tx: &mut Tx, round: &Round, head: Option<&Head>) -> Result<String, Error> {
    let Some(of) = head.filter(|head| head.superseded_by.is_none()).and_then(|head| head.publication) else {
        return Ok(String::new());
    };
    let all = publications::of_round(tx, round.id).await?;
    let Some(newest) = all.last().filter(|newest| newest.number > of) else { return Ok(String::new()) };
    let day = show::day(newest.at(), &round.time_zone);
    Ok(f.t3("reports-outdated", "number", newest.number, "day", day, "reason", &newest.reason))
}

async fn gate_page(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    round: Round,
    (status, reason): (Option<Status>, String),
    errors: Errors,
) -> Result<GatePage, Error> {
    let f = Frame::of(app, person);
    let (gathered, _) = current(app, tx, person, &round).await?;
    let heads = reports::of_round(tx, round.id).await?;
    let correcting = approval::open(tx, &round).await?.is_some();
    let holding = actions::reports::holding(&heads)?.is_some();
    let may = |status| may_issue(status, round.is_published(), correcting, holding, &gathered.lines);
    let organiser = person.actor.may_issue_reports().is_ok();
    let possible: Vec<Status> = Status::ALL.into_iter().filter(|status| organiser && may(*status).is_ok()).collect();
    let first = status.or_else(|| possible.last().copied());
    let choice = |status: &Status| Choice {
        value: status.word(),
        text: f.t(&format!("reports-issue-{}", status.word())),
        hint: f.t(&format!("reports-issue-{}-hint", status.word())),
        chosen: Some(*status) == first,
    };
    let next = if holding { Status::Corrected } else { Status::Final };
    let blocked = may(next).err().map(|problem| show::problem(f.w, &problem)).unwrap_or_default();
    Ok(GatePage {
        outdated: outdated(&f, tx, &round, actions::reports::holding(&heads)?).await?,
        complete: is_complete(&gathered.lines),
        missing: missing(&gathered.lines).len(),
        lines: gate_lines(&f, &round.code, &gathered),
        headings: heading_lines(&f, &gathered),
        issued: issued_lines(&f, &round, &heads, &reports::told(tx, round.id).await?)?,
        choices: possible.iter().map(choice).collect(),
        corrected: possible.contains(&Status::Corrected),
        blocked,
        organiser,
        reason,
        errors,
        round,
        f,
    })
}

/// `GET /rounds/{code}/report`: for the staff what is there and what is missing; for a
/// laboratory the report that holds.
///
/// # Errors
///
/// A conflict before an evaluation; [`Error::NotFound`] for a laboratory before there
/// is a report for it.
pub async fn overview(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Response, Error> {
    if person.actor.may_review().is_err() {
        return read_page(&app, &person, &code, asked).await;
    }
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    if round.state.closed_at().is_none() {
        return Err(Error::conflict("conflict-not-closed"));
    }
    ok(&gate_page(&app, &mut tx, &person, round, (None, String::new()), Errors::default()).await?)
}

/// `POST /rounds/{code}/report`: issues a report.
///
/// # Errors
///
/// A refusal for everybody but the organiser; the list of what is missing.
pub async fn issue(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let actor = &posted.person.actor;
    actor.may_issue_reports()?;
    let status =
        Status::of(posted.fields.get("status")).ok_or_else(|| Error::Unreadable(Problem::new("error-form-fields")))?;
    let reason = posted.fields.get("reason").to_owned();
    let mut tx = app.db.write().await?;
    let round = reviewed_round(&mut tx, actor, &code).await?;
    let found = shown(&app, &mut tx, &round, actor).await?;
    let (evaluated, heads) = found.ok_or_else(|| Error::conflict("conflict-no-evaluation"))?;
    let stale = is_stale(&mut tx, &round, &heads).await?;
    let basis = (&*evaluated, stale);
    let asked = actions::reports::Issue { status, reason: &reason };
    match actions::reports::issue(&mut tx, actor, &round, basis, asked, &app.post(), app.clock.now()).await {
        Ok(_) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/report"), "report-issued"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let shown = Errors::of(app.words, &errors);
            unprocessable(&gate_page(&app, &mut tx, &posted.person, round, (Some(status), reason), shown).await?)
        }
    }
}

/// What stands behind the question mark.
#[derive(Clone, Debug, Default, Deserialize)]
pub struct Asked {
    /// A report of the round; without one, the one that holds.
    #[serde(default)]
    version: Option<i64>,
    /// The item whose results are shown.
    #[serde(default)]
    item: String,
    /// `de` for German.
    #[serde(default)]
    language: String,
}

/// A report with what is said of it.
struct Found {
    round: Round,
    report: Report,
    /// None for a draft.
    head: Option<Head>,
    /// Those that the person may read, newest first.
    heads: Vec<Head>,
    /// As [`outdated`] says it.
    outdated: String,
}

/// The report that is asked for, as far as the person may read it. Without a version
/// the staff gets a draft while there is none.
async fn find(app: &App, person: &Person, code: &str, version: Option<i64>) -> Result<Found, Error> {
    let mut tx = app.db.read().await?;
    let (round, participant) = seen_round(&mut tx, &person.actor, code).await?;
    person.actor.may_see_scores(&round, participant.is_some())?;
    let all = reports::of_round(&mut tx, round.id).await?;
    let readable =
        |head: &Head| person.actor.may_read_report(&round, participant.is_some(), head.publication.is_some()).is_ok();
    let heads: Vec<Head> = all.into_iter().filter(readable).collect();
    let staff = person.actor.may_review().is_ok();
    let head = match version {
        Some(0) if staff => None,
        Some(version) => Some(heads.iter().find(|head| head.version == version).ok_or(Error::NotFound)?),
        None => actions::reports::holding(&heads)?.or_else(|| heads.first()),
    };
    let Some(head) = head.cloned() else {
        if !staff {
            return Err(Error::NotFound);
        }
        let (gathered, _) = current(app, &mut tx, person, &round).await?;
        let mut report = identified(gathered.report, Status::Preliminary, 0, app.clock.now());
        if round.is_published() {
            report.status = document::Status::Interim;
        }
        return Ok(Found { round, report, head: None, heads, outdated: String::new() });
    };
    let text = reports::document(&mut tx, round.id, head.version).await?.ok_or(Error::NotFound)?;
    let report = Report::from_json(&text).map_err(|error| Error::Fault(format!("read a report: {error}")))?;
    let outdated = outdated(&Frame::of(app, person), &mut tx, &round, Some(&head)).await?;
    Ok(Found { round, report, head: Some(head), heads, outdated })
}

struct Tab {
    label: String,
    href: String,
    here: bool,
}

#[derive(Template)]
#[template(path = "reports/report.html")]
struct ReportPage {
    f: Frame,
    round: Round,
    content: Content,
    /// What a draft says of itself; empty for a report that was issued.
    draft: String,
    /// That what it reports was corrected since; may be empty.
    outdated: String,
    version: i64,
    tabs: Vec<Tab>,
    earlier: Vec<IssuedLine>,
    sha256: String,
    staff: bool,
    /// The version that took its place.
    superseded: Option<i64>,
}

async fn read_page(app: &App, person: &Person, code: &str, asked: Asked) -> Result<Response, Error> {
    let found = find(app, person, code, asked.version).await?;
    let f = Frame::of(app, person);
    let Found { round, report, head, heads, outdated } = found;
    let items: Vec<String> = report.items.iter().map(|item| item.label.clone()).collect();
    let item = items.iter().find(|label| **label == asked.item).or(items.first()).cloned().unwrap_or_default();
    let superseded = head.as_ref().and_then(|head| head.superseded_by);
    let version = head.as_ref().map_or(0, |head| head.version);
    let tab = |label: &String| {
        let encoded: String = form_urlencoded::byte_serialize(label.as_bytes()).collect();
        Tab {
            label: label.clone(),
            href: format!("/rounds/{}/report/read?version={version}&item={encoded}#item-results", round.code),
            here: *label == item,
        }
    };
    let tabs = if items.len() > 1 { items.iter().map(tab).collect() } else { Vec::new() };
    let words = f.w;
    let shown_item = item.clone();
    // Figures of one item: some milliseconds, yet not on the threads that answer.
    let content =
        tokio::task::spawn_blocking(move || document::content_of_item(&report, &words, &shown_item, superseded))
            .await
            .map_err(|error| Error::Fault(format!("make a report: {error}")))?;
    let others: Vec<Head> = heads.into_iter().filter(|other| other.version != version).collect();
    ok(&ReportPage {
        draft: if head.is_none() { f.t("reports-draft") } else { String::new() },
        earlier: issued_lines(&f, &round, &others, &[])?,
        sha256: head.map(|head| head.sha256).unwrap_or_default(),
        staff: person.actor.may_review().is_ok(),
        outdated,
        superseded,
        content,
        version,
        tabs,
        round,
        f,
    })
}

/// `GET /rounds/{code}/report/read`: a report on a page; `version` for an earlier one,
/// 0 for a draft of what could be issued now.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory before there is a report for it.
pub async fn read(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Response, Error> {
    read_page(&app, &person, &code, asked).await
}

/// `GET /rounds/{code}/report.pdf`: a report as a document; `version` as for the page,
/// `language=de` for German.
///
/// # Errors
///
/// As for the page.
pub async fn pdf(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Response, Error> {
    let found = find(&app, &person, &code, asked.version).await?;
    let words = Words::of(&asked.language).unwrap_or_default();
    let superseded = found.head.as_ref().and_then(|head| head.superseded_by);
    let version = found.head.as_ref().map_or_else(|| "draft".to_owned(), |head| format!("version-{}", head.version));
    let language = if words == Words::English { String::new() } else { format!("-{}", words.tag()) };
    let name = format!("{}-report-{version}{language}.pdf", found.round.code);
    let report = found.report;
    let pdf = tokio::task::spawn_blocking(move || document::render(&report, &words, superseded))
        .await
        .map_err(|error| Error::Fault(format!("make a report: {error}")))?
        .map_err(|error| Error::Fault(format!("make a report: {error}")))?;
    Ok(download("application/pdf", &name, pdf))
}

#[derive(Template)]
#[template(path = "reports/sheets.html")]
struct SheetsPage {
    f: Frame,
    sheets: Vec<method_sheets::Sheet>,
}

/// `GET /methods-of-evaluation`: the sheets of all methods, for everybody.
///
/// # Errors
///
/// When the page cannot be made.
pub async fn sheets(State(app): State<App>, visitor: Visitor) -> Result<Response, Error> {
    ok(&SheetsPage { f: Frame::open(&app, &visitor), sheets: method_sheets::all() })
}
