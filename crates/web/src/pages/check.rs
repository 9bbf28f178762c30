//! Looking at everything once more, answering questions, and sending it.

use super::entry::{evaluated_line, typed_line, uncertainty_lines};
use super::typed::{self, Head, Pick};
use super::{Frame, go, ok, unprocessable};
use crate::actions::results::{Own, Reading, SendForm};
use crate::actions::second::{self, Senders};
use crate::actions::{self, Refused};
use crate::error::Error;
use crate::extract::{Path, Person, Posted};
use crate::secret;
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::asks::Arrival;
use roundel_domain::declared::{self, answer_field, confirmation};
use roundel_domain::field::FieldErrors;
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::result::{Entry, Submission, Typed};
use roundel_domain::round::Intake;
use roundel_selfcheck::{Finding, Place};
use roundel_store::drafts::{self, Draft};
use roundel_store::{Tx, results};

/// A result exactly as it will be evaluated.
struct CheckRow {
    analyte: String,
    expressed_as: String,
    typed: String,
    evaluated: String,
    uncertainty: String,
    factor: String,
    loq: String,
    problems: Vec<String>,
    /// What the version that was sent last said, where it differs.
    before: String,
    href: String,
}

struct CheckBlock {
    label: String,
    matrix: String,
    rows: Vec<CheckRow>,
}

/// A question about the laboratory's own numbers, to be answered.
struct Question {
    field: String,
    /// What it is about: an analyte in an item, an item, or all results.
    about: String,
    sentence: String,
    href: String,
    answers: Vec<Pick>,
    error: String,
}

#[derive(Template)]
#[template(path = "results/check.html")]
struct CheckPage {
    f: Frame,
    head: Head,
    blocks: Vec<CheckBlock>,
    /// What is wrong beside the results, with where to mend it.
    beside: Vec<(String, String)>,
    /// What is said beside the results, as it will be sent.
    said: Vec<(String, String)>,
    questions: Vec<Question>,
    errors: Errors,
    problems: usize,
    /// How many results differ from the version that was sent last.
    changed: usize,
    once: String,
    version: i64,
    /// Number of the version that was in time and would be replaced by a late one; 0 for none.
    replaces: i64,
    replace_error: String,
    /// Whether the person may enter, and so answer questions.
    enters: bool,
    /// Whether the person may send this.
    sends: bool,
    /// Who typed it and who can send it, in sentences.
    who: Vec<String>,
}

/// One line of what an entry says: what a difference is looked for in.
fn in_a_line(f: &Frame, entry: &Entry) -> String {
    let (uncertainty, factor) = uncertainty_lines(f, entry);
    let mut line = evaluated_line(f, entry);
    if line.is_empty() {
        line = typed_line(f, entry);
    }
    if !uncertainty.is_empty() {
        line = f.t3("check-line-uncertainty", "result", line, "u", uncertainty, "k", factor);
    }
    match &entry.loq {
        Some(loq) => f.t2("check-line-loq", "result", line, "loq", format!("{} {}", loq.decimal, entry.unit)),
        None => line,
    }
}

fn check_row(
    f: &Frame,
    code: &str,
    item: &Item,
    m: &Measurand,
    reading: &Reading,
    earlier: Option<&Submission>,
) -> CheckRow {
    let sheet = &reading.sheet;
    let prefix = format!("{}.", m.position);
    let mut problems: Vec<String> = sheet
        .errors
        .iter()
        .filter(|(field, _)| field.starts_with(&prefix))
        .map(|(_, problem)| show::problem(f.w, problem))
        .collect();
    if sheet.empty.contains(&m.position) {
        problems.push(f.t("result-empty"));
    }
    let entry = sheet.entries.iter().find(|entry| entry.position == m.position);
    let (uncertainty, factor) = entry.map(|entry| uncertainty_lines(f, entry)).unwrap_or_default();
    let before = earlier.and_then(|sent| sent.results.iter().find(|entry| entry.position == m.position));
    let before = match (before, entry) {
        (Some(before), Some(entry)) if before != entry => {
            let line = in_a_line(f, before);
            // The same numbers, typed in another way, are told by how they were typed.
            let line = if line == in_a_line(f, entry) { typed_line(f, before) } else { line };
            f.t1("check-before", "line", line)
        }
        _ => String::new(),
    };
    CheckRow {
        analyte: m.analyte.clone(),
        expressed_as: m.expressed_as.clone(),
        typed: entry.map(|entry| typed_with_unit(f, entry)).unwrap_or_default(),
        evaluated: entry.map(|entry| evaluated_line(f, entry)).unwrap_or_default(),
        uncertainty,
        factor,
        loq: entry
            .and_then(|entry| entry.loq.as_ref())
            .map(|loq| format!("{} {}", loq.decimal, m.unit))
            .unwrap_or_default(),
        problems,
        before,
        href: format!("/rounds/{code}/results/{}#row-{}", item.label, m.position),
    }
}

/// What was typed, with its unit where that is not the round's.
pub(super) fn typed_with_unit(f: &Frame, entry: &Entry) -> String {
    let line = typed_line(f, entry);
    match &entry.typed_unit {
        Some(unit) if entry.value().is_some() || line.starts_with('<') => format!("{line} {unit}"),
        _ => line,
    }
}

/// The page on which a field can be mended.
fn page_of(own: &Own, field: &str) -> String {
    let (owner, part) = field.split_once('.').unwrap_or((field, ""));
    let task = match part {
        "received_on" | "condition" | "condition_remark" | "code" | "analysed_on" => "tasks/items",
        "own" => "tasks/declaration",
        _ if part.starts_with("p_") => "tasks/performance",
        _ if part.starts_with("unit") => "tasks/unit",
        _ => "tasks/method",
    };
    let is_result = matches!(part, "k_all" | "u_as");
    let path = match own.items.iter().find(|item| item.label == owner).filter(|_| is_result) {
        Some(item) => format!("results/{}", item.label),
        None => task.to_owned(),
    };
    format!("/rounds/{}/{path}#{field}", own.round.code)
}

fn question(f: &Frame, own: &Own, typed: &Typed, finding: &Finding) -> Question {
    let code = &own.round.code;
    let (about, href) = match &finding.place {
        Place::Row(position) => {
            let measurand = own.measurands.iter().find(|m| m.position == *position);
            let item = measurand.and_then(|m| own.items.iter().find(|item| item.id == m.item));
            let label = item.map_or("", |item| item.label.as_str());
            let analyte = measurand.map_or("", |m| m.analyte.as_str());
            if finding.kind == "recovery-factor" {
                (analyte.to_owned(), format!("/rounds/{code}/tasks/method#{position}.recovery_factor"))
            } else {
                let about = f.t2("answer-about-result", "analyte", analyte, "item", label);
                (about, format!("/rounds/{code}/results/{label}#row-{position}"))
            }
        }
        Place::Item(label) => (f.t1("item-name", "item", label), format!("/rounds/{code}/results/{label}")),
        Place::All => (f.t("answer-about-all"), format!("/rounds/{code}")),
    };
    let field = answer_field(finding);
    let chosen = typed.get(&field);
    let confirmed = confirmation(finding);
    let answers = vec![
        Pick { chosen: chosen == confirmed, value: confirmed, text: f.t("answer-confirmed") },
        Pick { chosen: chosen == "correct", value: "correct".to_owned(), text: f.t("answer-correct") },
    ];
    Question { field, about, sentence: show::finding(f.w, finding), href, answers, error: String::new() }
}

/// What is said beside results, a line for each thing.
pub(crate) fn said(f: &Frame, declared: &roundel_domain::declared::Declared) -> Vec<(String, String)> {
    let mut lines = Vec::new();
    for item in &declared.items {
        let condition = if item.remark.is_empty() {
            f.t(&format!("condition-{}", item.condition))
        } else {
            format!("{}: {}", f.t(&format!("condition-{}", item.condition)), item.remark)
        };
        let line =
            f.t3("said-item", "received", item.received_on, "condition", condition, "analysed", item.analysed_on);
        let line = if item.code.is_empty() { line } else { f.t2("said-item-code", "line", line, "code", &item.code) };
        lines.push((f.t1("item-name", "item", &item.item), line));
    }
    for (question, _) in roundel_domain::declared::QUESTIONS {
        if let Some(answer) = declared.method.get(question) {
            let word = f.t(&format!("method-{question}-{}", answer.replace('_', "-")));
            lines.push((f.t(&format!("method-{question}")), word));
        }
    }
    if !declared.method_remark.is_empty() {
        lines.push((f.t("method-remark"), declared.method_remark.clone()));
    }
    for analyte in &declared.analytes {
        let mut parts = Vec::new();
        if !analyte.expressed_as.is_empty() {
            parts.push(f.t1("expressed-as", "basis", &analyte.expressed_as));
        }
        if !analyte.recovery.is_empty() {
            parts.push(f.t(&format!("recovery-{}", analyte.recovery.replace('_', "-"))));
        }
        if let Some(factor) = &analyte.factor {
            parts.push(f.t2("said-factor", "factor", &factor.decimal, "origin", &analyte.origin));
        }
        lines.push((analyte.analyte.clone(), parts.join("; ")));
    }
    for analyte in &declared.performance {
        let numbers: Vec<String> = analyte
            .numbers
            .iter()
            .map(|(name, number)| format!("{} {}", f.t(&format!("p-{name}-name")), number.decimal))
            .collect();
        lines.push((f.t1("said-performance", "analyte", &analyte.analyte), numbers.join("; ")));
    }
    if declared.own_results {
        lines.push((f.t("task-declaration"), f.t("declaration-own")));
    }
    lines
}

async fn check_page(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    own: &Own,
    draft: &Draft,
    wrong: &FieldErrors,
) -> Result<CheckPage, Error> {
    let f = Frame::of(app, person);
    let reading = own.read(&draft.typed, app.clock.now());
    let sent = results::of_participant(tx, own.participant.id).await?;
    let earlier = sent.last().map(results::Sent::submission).transpose()?;
    let head = Head::new(app, own, draft.version, draft.saved_at);
    let blocks: Vec<CheckBlock> = super::by_item(&own.items, &own.measurands)
        .into_iter()
        .map(|(item, rows)| CheckBlock {
            label: item.label.clone(),
            matrix: item.matrix.clone(),
            rows: rows
                .into_iter()
                .map(|m| check_row(&f, &own.round.code, item, m, &reading, earlier.as_ref()))
                .collect(),
        })
        .collect();
    let is_row = |field: &str| {
        let owner = field.split('.').next().unwrap_or_default();
        own.measurands.iter().any(|m| owner == m.position.to_string()) && reading.sheet.errors.get(field).is_some()
    };
    let beside = reading
        .problems()
        .iter()
        .filter(|(field, problem)| !is_row(field) && problem.key != "result-empty")
        .map(|(field, problem)| {
            let owner = field.split('.').next().unwrap_or_default();
            let item = own.items.iter().find(|item| item.label == owner);
            let analyte = own.measurands.iter().find(|m| owner == m.position.to_string());
            let name = item.map(|item| f.t1("item-name", "item", &item.label)).or(analyte.map(|m| m.analyte.clone()));
            let sentence = show::problem(f.w, problem);
            let sentence = match name {
                Some(name) => f.t2("problem-of", "name", name, "problem", sentence),
                None => sentence,
            };
            (sentence, page_of(own, field))
        })
        .collect();
    let mut questions: Vec<Question> =
        reading.sheet.findings.iter().map(|finding| question(&f, own, &draft.typed, finding)).collect();
    for question in &mut questions {
        question.error = wrong.get(&question.field).map(|p| show::problem(f.w, p)).unwrap_or_default();
    }
    let senders = second::senders(tx, own, draft, app.clock.now()).await?;
    let sends = person.actor.may_submit().is_ok() && senders.may_send(person.actor.user());
    let named = |field: &str| questions.iter().find(|q| q.field == field).map(|q| q.about.clone());
    Ok(CheckPage {
        errors: Errors::named(app.words, wrong, named),
        replaces: sent.last().filter(|s| head.late && !s.late).map_or(0, |s| s.version),
        replace_error: wrong.get("replace").map(|p| show::problem(f.w, p)).unwrap_or_default(),
        changed: blocks.iter().flat_map(|block| &block.rows).filter(|row| !row.before.is_empty()).count(),
        said: said(&f, &reading.said.declared),
        problems: reading.problems().len(),
        once: secret::token(),
        version: sent.last().map_or(0, |s| s.version) + 1,
        enters: person.actor.may_enter().is_ok(),
        who: who(&f, &senders, sends),
        sends,
        beside,
        blocks,
        questions,
        head,
        f,
    })
}

/// Who typed and who can send, as far as that is to be said.
fn who(f: &Frame, senders: &Senders, sends: bool) -> Vec<String> {
    let able = Senders::names(&senders.able);
    if !senders.wants_second {
        return if sends { Vec::new() } else { vec![f.t1("check-senders", "able", able)] };
    }
    let mut said = Vec::new();
    if !senders.typists.is_empty() {
        said.push(f.t1("second-check-typed", "typists", Senders::names(&senders.typists)));
    }
    said.push(match (sends, senders.able.is_empty()) {
        (true, _) => f.t("second-check-you-can"),
        (false, true) => f.t("second-check-nobody"),
        (false, false) => f.t1("second-check-others", "able", able),
    });
    said
}

impl CheckPage {
    /// Whether anything is asked beside results.
    fn asks_more(&self) -> bool {
        let asks = &self.head.round.asks;
        asks.arrival != Arrival::Nothing || asks.method || asks.declaration || asks.performance.is_some()
    }
}

/// `GET /rounds/{code}/check`.
///
/// # Errors
///
/// [`Error::NotFound`] for a round that does not exist for this person.
pub async fn check(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let own = typed::own(&mut tx, &person, &code).await?;
    if !matches!(own.round.intake(app.clock.now()), Intake::InTime | Intake::Late) {
        return Ok(go(&format!("/rounds/{code}"), ""));
    }
    let draft = drafts::get(&mut tx, own.participant.id).await?;
    ok(&check_page(&app, &mut tx, &person, &own, &draft, &FieldErrors::new()).await?)
}

/// `POST /rounds/{code}/submit`: keeps the answers, and sends when all questions
/// are answered with "it is right as it stands".
///
/// # Errors
///
/// A conflict when the round takes no results any more.
pub async fn submit(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let now = app.clock.now();
    let actor = &posted.person.actor;
    let once: String = posted.fields.get("once").chars().take(64).collect();
    let mut tx = app.db.write().await?;
    let own = typed::own(&mut tx, &posted.person, &code).await?;
    if let Some(id) = actions::results::sent_before(&mut tx, actor, &own.participant, &once).await? {
        return Ok(go(&format!("/receipts/{id}"), "sent"));
    }
    let from = super::entry::form(&posted.fields);
    let saved = actions::results::save(&mut tx, actor, &own, posted.fields.iter(), from, now).await?;
    tx.commit().await?;
    let reading = own.read(&saved.typed, now);
    let to_correct = reading.sheet.findings.iter().find(|finding| saved.typed.get(&answer_field(finding)) == "correct");
    if let Some(finding) = to_correct {
        let f = Frame::of(&app, &posted.person);
        return Ok(go(&question(&f, &own, &saved.typed, finding).href, "to-correct"));
    }
    if posted.fields.get("command") == "keep" {
        return Ok(go(&format!("/rounds/{code}/check"), "draft-saved"));
    }
    let mut tx = app.db.write().await?;
    let replace_in_time = posted.fields.get("replace") == "yes";
    let from = super::entry::form(&posted.fields);
    let form = SendForm { once: &once, replace_in_time, typed: None, confirmed: &[], from };
    let post = app.post();
    match actions::results::submit(&mut tx, actor, &own.round, &own.participant, form, &post, now).await {
        Ok(id) => {
            tx.commit().await?;
            app.wake_mail();
            Ok(go(&format!("/receipts/{id}"), "sent"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let draft = drafts::get(&mut tx, own.participant.id).await?;
            let mut shown = FieldErrors::new();
            // What is wrong with results stands in their rows already.
            let asked = |field: &str| declared::is_answer(field) || !field.contains('.');
            let here = errors.iter().filter(|(field, _)| asked(field));
            here.for_each(|(field, problem)| shown.push(field, problem.clone()));
            unprocessable(&check_page(&app, &mut tx, &posted.person, &own, &draft, &shown).await?)
        }
    }
}
