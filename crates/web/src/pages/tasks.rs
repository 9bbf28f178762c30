//! The tasks of a laboratory beside its results: unit, items, method, performance,
//! declaration.

use super::reading::{self, ReadingPage};
use super::typed::{self, Content, Field, Head, Typists, View};
use super::{Frame, go, ok, unprocessable};
use crate::actions::results::{Own, Reading};
use crate::actions::{self, Refused};
use crate::error::Error;
use crate::extract::{Path, Person, Posted};
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_documents::number;
use roundel_domain::asks::Arrival;
use roundel_domain::declared::{self, CONDITIONS, PERFORMANCE, Part, QUESTIONS, RECOVERIES};
use roundel_domain::draft::OTHER;
use roundel_domain::field::FieldErrors;
use roundel_domain::measurand::Measurand;
use roundel_domain::result::Typed;
use roundel_domain::round::Intake;
use roundel_domain::unit;
use roundel_store::{Tx, drafts};
use std::collections::HashMap;

/// Fields that belong together.
struct Section {
    heading: String,
    fields: Vec<Field>,
}

/// A line of a table of fields.
struct TableRow {
    name: String,
    remark: String,
    fields: Vec<Field>,
    /// What is not met, or worth a look.
    notes: Vec<String>,
}

#[derive(Template)]
#[template(path = "results/task.html")]
struct TaskPage {
    f: Frame,
    head: Head,
    task: &'static str,
    title: String,
    lead: String,
    sections: Vec<Section>,
    columns: Vec<String>,
    rows: Vec<TableRow>,
    errors: Errors,
    /// Whether the form saves while a person types.
    autosave: bool,
    /// Where files of a unit are kept, by item.
    files: Vec<(String, String)>,
}

/// The tasks that have a form of this kind.
const TASKS: [&str; 5] = ["unit", "items", "method", "performance", "declaration"];

fn known(own: &Own, word: &str) -> Result<&'static str, Error> {
    let asks = &own.round.asks;
    let task = TASKS.into_iter().find(|task| *task == word).ok_or(Error::NotFound)?;
    let asked = match task {
        "unit" => !unit::choices(&own.measurands).is_empty(),
        "items" => asks.arrival != Arrival::Nothing,
        "method" => asks.method,
        "performance" => asks.performance.is_some(),
        _ => asks.declaration,
    };
    if asked { Ok(task) } else { Err(Error::NotFound) }
}

/// What a page is made from.
struct Shown<'a> {
    own: &'a Own,
    typed: &'a Typed,
    reading: &'a Reading,
    view: View<'a>,
}

fn items(shown: &Shown<'_>) -> Vec<Section> {
    let f = shown.view.f;
    let mut conditions = vec![""];
    conditions.extend(CONDITIONS);
    let of = |item: &roundel_domain::measurand::Item| {
        let name = |part: &str| format!("{}.{part}", item.label);
        let mut fields = vec![
            shown.view.date(&name("received_on"), f.t("arrival-date")),
            shown.view.list(&name("condition"), f.t("arrival-condition"), "condition", &conditions),
            shown.view.text(&name("condition_remark"), f.t("arrival-remark")).hinted(f.t("arrival-remark-hint")),
        ];
        if shown.own.round.asks.arrival == Arrival::Codes {
            let code = shown.view.text(&name("code"), f.t("arrival-code")).hinted(f.t("arrival-code-hint"));
            fields.insert(0, code);
        }
        fields.push(shown.view.date(&name("analysed_on"), f.t("analysis-date")));
        let matrix = if item.matrix.is_empty() { String::new() } else { format!(", {}", item.matrix) };
        Section { heading: format!("{}{matrix}", f.t1("item-name", "item", &item.label)), fields }
    };
    shown.own.items.iter().map(of).collect()
}

fn questions(shown: &Shown<'_>) -> Vec<Section> {
    let f = shown.view.f;
    let mut fields: Vec<Field> = QUESTIONS
        .iter()
        .map(|(question, answers)| {
            let words: Vec<&str> = std::iter::once("").chain(answers.iter().copied()).collect();
            let label = f.t(&format!("method-{question}"));
            shown.view.list(&format!("all.m_{question}"), label, &format!("method-{question}"), &words)
        })
        .collect();
    let remark = shown.view.text("all.method_remark", f.t("method-remark")).hinted(f.t("method-remark-hint"));
    fields.push(remark);
    vec![Section { heading: f.t("method-questions"), fields }]
}

fn notes(shown: &Shown<'_>, position: i64) -> Vec<String> {
    let asked = shown.reading.said.findings.iter();
    let here = asked.filter(|finding| finding.place == roundel_selfcheck::Place::Row(position));
    here.map(|finding| show::finding(shown.view.f.w, finding)).collect()
}

fn basis_rows(shown: &Shown<'_>) -> Vec<TableRow> {
    let f = shown.view.f;
    let row = |m: &&Measurand| {
        let name = |part: &str| format!("{}.{part}", m.position);
        let words: Vec<&str> = std::iter::once("").chain(RECOVERIES).collect();
        let basis = if m.expressed_as.is_empty() { &m.analyte } else { &m.expressed_as };
        let fields = vec![
            shown.view.tick(&name("basis"), f.t2("basis-label", "analyte", &m.analyte, "basis", basis)),
            shown.view.list(&name("recovery"), f.t1("recovery-label", "analyte", &m.analyte), "recovery", &words),
            shown.view.text(&name("recovery_factor"), f.t1("recovery-factor-label", "analyte", &m.analyte)),
            shown.view.text(&name("recovery_origin"), f.t1("recovery-origin-label", "analyte", &m.analyte)),
        ];
        TableRow { name: m.analyte.clone(), remark: String::new(), fields, notes: notes(shown, m.position) }
    };
    declared::analytes(&shown.own.measurands).iter().map(row).collect()
}

fn performance_rows(shown: &Shown<'_>) -> Vec<TableRow> {
    let f = shown.view.f;
    let row = |m: &&Measurand| {
        let field = |part: &&str| {
            let key = format!("{}-label", part.replace('_', "-"));
            shown.view.text(&format!("{}.{part}", m.position), f.t2(&key, "analyte", &m.analyte, "unit", &m.unit))
        };
        TableRow {
            name: m.analyte.clone(),
            remark: m.unit.clone(),
            fields: PERFORMANCE.iter().map(field).collect(),
            notes: Vec::new(),
        }
    };
    declared::analytes(&shown.own.measurands).iter().map(row).collect()
}

/// What is said at fields with a number that does not meet a limit of the scheme.
pub(super) fn unmet(f: &Frame, reading: &Reading) -> HashMap<String, String> {
    let unmet = reading.said.unmet.iter();
    unmet.map(|unmet| (format!("{}.{}", unmet.position, unmet.part), show::problem(f.w, &unmet.problem))).collect()
}

fn units(shown: &Shown<'_>) -> Vec<Section> {
    let f = shown.view.f;
    let mut fields: Vec<Field> =
        unit::choices(&shown.own.measurands).iter().map(|choice| shown.view.unit(choice)).collect();
    if shown.typed.has_numbers() {
        fields.push(shown.view.list("digits", f.t("unit-digits-label"), "unit-digits", &["", "convert", "keep"]));
    }
    vec![Section { heading: String::new(), fields }]
}

fn part<'a>(reading: &'a Reading, task: &str) -> Option<&'a Part> {
    match task {
        "items" => Some(&reading.said.arrival),
        "method" => Some(&reading.said.method),
        "performance" => Some(&reading.said.performance),
        "declaration" => Some(&reading.said.declaration),
        _ => None,
    }
}

/// Names of fields in a list of what is wrong: item or analyte.
fn named(own: &Own, f: &Frame, field: &str) -> Option<String> {
    let (owner, _) = field.split_once('.')?;
    let analyte = || own.measurands.iter().find(|m| m.position.to_string() == owner).map(|m| m.analyte.clone());
    let item = own.items.iter().find(|item| item.label == owner).map(|item| f.t1("item-name", "item", &item.label));
    item.or_else(analyte)
}

/// The page of a task. `errors` is what is wrong with what was posted; a page
/// that is only looked at shows nothing but fields with two texts.
fn page(
    app: &App,
    person: &Person,
    own: &Own,
    task: &'static str,
    Content { typed, typists }: Content<'_>,
    head: Head,
    errors: FieldErrors,
) -> TaskPage {
    let f = Frame::of(app, person);
    let reading = own.read(typed, app.clock.now());
    let echoes = unmet(&f, &reading);
    let view = View { f: &f, typed, errors: &errors, echoes: &echoes, typists, zone: &own.round.time_zone };
    let shown = Shown { own, typed, reading: &reading, view };
    let (mut columns, mut rows) = (Vec::new(), Vec::new());
    let sections = match task {
        "unit" => units(&shown),
        "items" => items(&shown),
        "method" => {
            columns = ["basis-column", "recovery-column", "recovery-factor-column", "recovery-origin-column"]
                .map(|key| f.t(key))
                .to_vec();
            rows = basis_rows(&shown);
            questions(&shown)
        }
        "performance" => {
            columns = PERFORMANCE.iter().map(|part| f.t(&format!("{}-name", part.replace('_', "-")))).collect();
            rows = performance_rows(&shown);
            Vec::new()
        }
        _ => vec![Section { heading: String::new(), fields: vec![view.tick("all.own", f.t("declaration-own"))] }],
    };
    let list = Errors::named(app.words, &errors, |field| named(own, &f, field));
    TaskPage {
        title: f.t(&format!("task-{task}")),
        lead: lead(&f, own, task),
        sections,
        columns,
        rows,
        errors: list,
        autosave: task != "unit",
        files: if task == "items" { super::unit_files::links(&f, &own.round, &own.items) } else { Vec::new() },
        head,
        task,
        f,
    }
}

impl TaskPage {
    /// The same for somebody who may only read.
    fn for_reading(self) -> ReadingPage {
        let f = self.f;
        let block = |section: &Section| reading::Block {
            heading: section.heading.clone(),
            facts: reading::facts(&f, &section.fields),
        };
        let row = |row: &TableRow| reading::Row {
            id: String::new(),
            name: row.name.clone(),
            unit: row.remark.clone(),
            texts: row.fields.iter().map(|field| reading::text(&f, field)).collect(),
        };
        let blocks = self.sections.iter().map(block).collect();
        let rows = self.rows.iter().map(row).collect();
        ReadingPage { title: self.title, head: self.head, blocks, columns: self.columns, rows, f }
    }
}

fn lead(f: &Frame, own: &Own, task: &str) -> String {
    let Some(limits) = own.round.asks.performance.as_ref().filter(|_| task == "performance") else {
        return f.t(&format!("task-{task}-lead"));
    };
    let unit = own.measurands.first().map_or("", |m| m.unit.as_str());
    let shown = [
        ("limit-said-loq", &limits.loq),
        ("limit-said-recovery-from", &limits.recovery_from),
        ("limit-said-recovery-to", &limits.recovery_to),
        ("limit-said-rsd", &limits.repeatability),
        ("limit-said-carry", &limits.carry_over),
    ];
    let said: Vec<String> = shown
        .iter()
        .filter_map(|(key, limit)| Some(f.t2(key, "limit", number::typed(limit.as_ref()?.as_str()), "unit", unit)))
        .collect();
    let limits = if said.is_empty() { f.t("limit-said-none") } else { said.join("; ") };
    f.t1("task-performance-lead", "limits", limits)
}

/// `GET /rounds/{code}/tasks/{task}`.
///
/// # Errors
///
/// [`Error::NotFound`] for a round that does not exist for this person, and for
/// what it does not ask.
pub async fn task(
    State(app): State<App>,
    person: Person,
    Path((code, word)): Path<(String, String)>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let own = typed::own(&mut tx, &person, &code).await?;
    if !matches!(own.round.intake(app.clock.now()), Intake::InTime | Intake::Late) {
        return Ok(go(&format!("/rounds/{code}"), ""));
    }
    let task = known(&own, &word)?;
    let draft = drafts::get(&mut tx, own.participant.id).await?;
    let typists = typed::typists(&mut tx, &own.participant, &draft.typed).await?;
    let reading = own.read(&draft.typed, app.clock.now());
    let mut errors = FieldErrors::new();
    let said = part(&reading, task).map(|part| &part.errors).unwrap_or(&reading.sheet.errors);
    for (field, problem) in said.iter().filter(|(field, _)| !draft.typed.get(&format!("{field}{OTHER}")).is_empty()) {
        errors.push(field, problem.clone());
    }
    let head = Head::new(&app, &own, draft.version, draft.saved_at);
    let content = Content { typed: &draft.typed, typists: &typists };
    let page = page(&app, &person, &own, task, content, head, errors);
    if person.actor.may_enter().is_err() {
        return ok(&page.for_reading());
    }
    ok(&page)
}

/// `POST /rounds/{code}/tasks/{task}`: keeps what was typed, and goes back to the
/// list when all of it can be read.
///
/// # Errors
///
/// A conflict when the round takes no results any more.
pub async fn save(
    State(app): State<App>,
    Path((code, word)): Path<(String, String)>,
    posted: Posted,
) -> Result<Response, Error> {
    let now = app.clock.now();
    let person = &posted.person;
    let mut tx = app.db.write().await?;
    let own = typed::own(&mut tx, person, &code).await?;
    let task = known(&own, &word)?;
    if task == "unit" {
        return save_unit(&app, tx, &own, &posted).await;
    }
    // A box that is not ticked is not posted.
    let ticks = ticks(&own, task);
    let unticked = ticks.iter().filter(|name| !posted.fields.has(name)).map(|name| (name.as_str(), ""));
    let fields = posted.fields.iter().chain(unticked);
    let saved =
        actions::results::save(&mut tx, &person.actor, &own, fields, super::entry::form(&posted.fields), now).await?;
    if posted.fields.get("command") == "quiet" {
        tx.commit().await?;
        return super::entry::quiet(&app, &own, &posted, &saved);
    }
    let typists = typed::typists(&mut tx, &own.participant, &saved.typed).await?;
    tx.commit().await?;
    let reading = own.read(&saved.typed, now);
    let part = part(&reading, task);
    let mut errors = part.map(|part| part.errors.clone()).unwrap_or_default();
    if task != "performance" {
        // What is still open is said, and does not keep anybody here.
        part.iter().flat_map(|part| part.open.iter()).for_each(|(field, problem)| errors.push(field, problem.clone()));
    }
    let wrong = part.is_some_and(|part| !part.errors.is_empty());
    if wrong || (!errors.is_empty() && posted.fields.get("command") != "later") {
        let head = Head::new(&app, &own, saved.version, Some(now));
        let content = Content { typed: &saved.typed, typists: &typists };
        return unprocessable(&page(&app, person, &own, task, content, head, errors));
    }
    Ok(match task {
        // The limits are looked at once more before one goes on.
        "performance" if posted.fields.get("command") == "save" => {
            go(&format!("/rounds/{code}/tasks/performance"), "draft-saved")
        }
        _ => go(&format!("/rounds/{code}"), "draft-saved"),
    })
}

fn ticks(own: &Own, task: &str) -> Vec<String> {
    match task {
        "method" => declared::analytes(&own.measurands).iter().map(|m| format!("{}.basis", m.position)).collect(),
        "declaration" => vec!["all.own".to_owned()],
        _ => Vec::new(),
    }
}

async fn save_unit(app: &App, mut tx: Tx, own: &Own, posted: &Posted) -> Result<Response, Error> {
    let person = &posted.person;
    let now = app.clock.now();
    let digits = posted.fields.get("digits");
    let mut errors = FieldErrors::new();
    for choice in unit::choices(&own.measurands) {
        let wanted = posted.fields.get(&choice.field);
        match actions::results::change_unit(&mut tx, &person.actor, own, &choice, wanted, digits, now).await {
            Ok(()) => {}
            Err(Refused::Fields(wrong)) => {
                wrong.iter().for_each(|(field, problem)| errors.push(field, problem.clone()))
            }
            Err(Refused::Error(error)) => return Err(error),
        }
    }
    if errors.is_empty() {
        tx.commit().await?;
        return Ok(go(&format!("/rounds/{}", own.round.code), "unit-chosen"));
    }
    let draft = drafts::get(&mut tx, own.participant.id).await?;
    let mut typed = draft.typed;
    for choice in unit::choices(&own.measurands) {
        typed.set(&choice.field, posted.fields.get(&choice.field));
    }
    typed.set("digits", digits);
    let head = Head::new(app, own, draft.version, draft.saved_at);
    let content = Content { typed: &typed, typists: &Typists::new() };
    unprocessable(&page(app, person, own, "unit", content, head, errors))
}
