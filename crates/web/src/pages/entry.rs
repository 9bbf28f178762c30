//! A laboratory's results: typing them.

use super::reading::{self, ReadingPage};
use super::typed::{self, Content, Field, Head, View};
use super::{Frame, go, ok, unprocessable};
use crate::actions;
use crate::actions::results::{Form, Own, Saved};
use crate::error::Error;
use crate::extract::{Fields, Path, Person, Posted};
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::Json;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use roundel_documents::number;
use roundel_domain::access::Actor;
use roundel_domain::draft::OTHER;
use roundel_domain::field::FieldErrors;
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::result::{self, Entry, Reason, Reported, Sheet, Typed, UncertaintyForm};
use roundel_domain::round::Intake;
use roundel_domain::unit;
use roundel_selfcheck::Place;
use roundel_store::{drafts, participants, rounds};
use std::collections::{BTreeMap, HashMap};

struct EntryRow {
    position: i64,
    analyte: String,
    unit: String,
    expressed_as: String,
    required_loq: String,
    state: Field,
    reason: Field,
    values: Vec<Field>,
    uncertainty: Field,
    /// How the uncertainty of this row alone is given; nothing where the item
    /// says it.
    own_form: Option<Field>,
    factor: Field,
    loq: Field,
    notes: Vec<String>,
}

#[derive(Template)]
#[template(path = "results/entry.html")]
struct EntryPage {
    f: Frame,
    head: Head,
    item: Item,
    others: Vec<(String, bool)>,
    /// The choice of a unit, where it was not made yet.
    units: Vec<Field>,
    /// The units that were chosen.
    chosen_units: String,
    /// The units in which the numbers of this page are shown, as hidden fields.
    shown_units: Vec<(String, String)>,
    u_as: Field,
    k_all: Field,
    /// The limit of quantification that is asked for in every row; empty when rows differ.
    required_loq: String,
    rows: Vec<EntryRow>,
    errors: Errors,
    next: String,
}

/// The unit in which the numbers of a measurand are typed.
fn typed_unit(typed: &Typed, choices: &[unit::Choice], m: &Measurand) -> String {
    let choice = choices.iter().find(|choice| roundel_domain::import::same_unit(&choice.unit, &m.unit));
    let chosen = choice.map_or("", |choice| typed.get(&choice.field));
    if chosen.is_empty() { m.unit.clone() } else { chosen.to_owned() }
}

/// What was understood of each field, where that is not what stands there: the
/// number behind another way of writing, in the unit of the round, and the
/// uncertainty in its other form.
pub(super) fn echoes(f: &Frame, typed: &Typed, sheet: &Sheet) -> HashMap<String, String> {
    let mut echoes = HashMap::new();
    for entry in &sheet.entries {
        let field = |part: &str| format!("{}.{part}", entry.position);
        let mut numbers = Vec::new();
        if let Some(loq) = &entry.loq {
            numbers.push((field("loq"), loq, ""));
        }
        let parts = (1..=4).map(|n| field(&format!("v{n}"))).filter(|name| !typed.get(name).is_empty());
        match &entry.reported {
            Reported::Value { values, uncertainty } => {
                numbers.extend(parts.zip(values).map(|(name, value)| (name, value, "")));
                if uncertainty.is_some() {
                    let (both, _) = uncertainty_lines(f, entry);
                    echoes.insert(field("u"), f.t1("echo", "understood", both));
                }
            }
            Reported::Below { limit } => numbers.extend(parts.map(|name| (name, limit, "<"))),
            Reported::Identified | Reported::NotAnalysed { .. } | Reported::Failed { .. } => {}
        }
        for (name, number, mark) in numbers {
            let plain = number.typed.trim_start_matches('<').trim().replace(',', ".");
            if plain != number.decimal.as_str() || entry.typed_unit.is_some() {
                let shown = format!("{mark}{}", number::typed(number.decimal.as_str()));
                echoes.insert(name, f.t1("echo", "understood", format!("{shown} {}", entry.unit)));
            }
        }
    }
    echoes
}

fn entry_row(view: &View<'_>, sheet: &Sheet, items: &[Item], m: &Measurand, unit: &str) -> EntryRow {
    let f = view.f;
    let name = |part: &str| format!("{}.{part}", m.position);
    let values = (1..=m.replicates)
        .map(|v| {
            let label = if m.replicates == 1 {
                f.t2("entry-value-label", "analyte", &m.analyte, "unit", unit)
            } else {
                f.t3("entry-replicate-label", "analyte", &m.analyte, "unit", unit, "n", v)
            };
            view.text(&name(&format!("v{v}")), label)
        })
        .collect();
    let form_field = result::form_field(items, m.position);
    let own_form = (!view.typed.get(&form_field).is_empty()).then(|| {
        let label = f.t1("entry-form-label", "analyte", &m.analyte);
        view.list(&form_field, label, "u-as-row", &["", "absolute", "percent"])
    });
    let reasons: Vec<&str> = std::iter::once("").chain(Reason::ALL.map(Reason::word)).collect();
    let states = ["", "value", "below", "identified", "not_analysed", "failed"];
    let here = sheet.findings.iter().filter(|finding| finding.place == Place::Row(m.position));
    EntryRow {
        position: m.position,
        analyte: m.analyte.clone(),
        unit: unit.to_owned(),
        expressed_as: m.expressed_as.clone(),
        required_loq: m.required_loq.as_ref().map(|loq| format!("{loq} {}", m.unit)).unwrap_or_default(),
        state: view.list(&name("state"), f.t1("entry-state-label", "analyte", &m.analyte), "state-of", &states),
        reason: view.list(&name("reason"), f.t1("entry-reason-label", "analyte", &m.analyte), "reason", &reasons),
        values,
        uncertainty: view.text(&name("u"), f.t1("entry-u-label", "analyte", &m.analyte)),
        own_form,
        factor: view.text(&name("k"), f.t1("entry-k-label", "analyte", &m.analyte)),
        loq: view.text(&name("loq"), f.t2("entry-loq-label", "analyte", &m.analyte, "unit", unit)),
        notes: here.map(|finding| show::finding(f.w, finding)).collect(),
    }
}

/// The sentence on the required LOQ, taken out of the rows if it is the same in
/// all of them.
fn common_loq(f: &Frame, rows: &mut [EntryRow]) -> String {
    let Some(first) = rows.first().map(|row| row.required_loq.clone()) else { return String::new() };
    if first.is_empty() || rows.iter().any(|row| row.required_loq != first) {
        return String::new();
    }
    for row in rows {
        row.required_loq.clear();
    }
    f.t1("entry-required-loq-all", "loq", first)
}

/// The choices of a unit that are still open, as fields.
fn unit_fields(view: &View<'_>, choices: &[unit::Choice], shown: &[&Measurand]) -> Vec<Field> {
    let here = |choice: &&unit::Choice| {
        let asked = shown.iter().any(|m| roundel_domain::import::same_unit(&choice.unit, &m.unit));
        asked && view.typed.get(&choice.field).is_empty()
    };
    let hint = || view.f.t("unit-hint-once");
    choices.iter().filter(here).map(|choice| view.unit(choice).hinted(hint())).collect()
}

fn entry_page(
    app: &App,
    person: &Person,
    own: &Own,
    item: Item,
    Content { typed, typists }: Content<'_>,
    head: Head,
    fresh: bool,
) -> EntryPage {
    let f = Frame::of(app, person);
    let mut sheet = result::read(typed, &own.asked(), Some(&item));
    if fresh {
        // A page that is only looked at does not scold.
        sheet.findings.clear();
    }
    let analyte = |field: &str| {
        let position: i64 = field.split_once('.')?.0.parse().ok()?;
        own.measurands.iter().find(|m| m.position == position).map(|m| m.analyte.clone())
    };
    let errors = Errors::named(app.words, &sheet.errors, analyte);
    let choices = unit::choices(&own.measurands);
    let echoes = echoes(&f, typed, &sheet);
    let view = View { f: &f, typed, errors: &sheet.errors, echoes: &echoes, typists, zone: &own.round.time_zone };
    let here: Vec<&Measurand> = own.measurands.iter().filter(|m| m.item == item.id).collect();
    let mut rows: Vec<EntryRow> =
        here.iter().map(|m| entry_row(&view, &sheet, &own.items, m, &typed_unit(typed, &choices, m))).collect();
    for (row, m) in rows.iter_mut().zip(&here) {
        row.notes.extend(own.withdrawn(m).map(|reason| f.t1("withdrawn-row", "reason", reason)));
    }
    let required_loq = common_loq(&f, &mut rows);
    let place = own.items.iter().position(|other| other.id == item.id).unwrap_or_default();
    let chosen: Vec<&str> = choices.iter().map(|choice| typed.get(&choice.field)).filter(|u| !u.is_empty()).collect();
    EntryPage {
        others: own.items.iter().map(|other| (other.label.clone(), other.id == item.id)).collect(),
        units: unit_fields(&view, &choices, &here),
        chosen_units: chosen.join(", "),
        shown_units: choices
            .iter()
            .map(|choice| {
                let chosen = typed.get(&choice.field);
                let unit = if chosen.is_empty() { &choice.unit } else { chosen };
                (format!("{}{}", actions::results::SHOWN_UNIT, choice.field), unit.to_owned())
            })
            .collect(),
        u_as: view.list(&format!("{}.u_as", item.label), f.t("entry-u-as"), "u-as", &["", "absolute", "percent"]),
        k_all: view.text(&format!("{}.k_all", item.label), f.t("entry-k-all")),
        required_loq,
        rows,
        errors,
        next: own.items.get(place + 1).map(|next| next.label.clone()).unwrap_or_default(),
        head,
        item,
        f,
    }
}

impl EntryPage {
    /// The same for somebody who may only read.
    fn for_reading(self) -> ReadingPage {
        let f = self.f;
        let columns = ["entry-state", "entry-value"].map(|key| f.t(key)).into_iter();
        let columns = columns.chain(["U", "k", "LOQ"].map(str::to_owned)).collect();
        let row = |row: &EntryRow| reading::Row {
            id: format!("row-{}", row.position),
            name: std::iter::once(&row.analyte).chain(&row.notes).cloned().collect::<Vec<_>>().join(". "),
            unit: row.unit.clone(),
            texts: vec![
                reading::joined(&f, [&row.state, &row.reason]),
                reading::joined(&f, &row.values),
                reading::joined(&f, std::iter::once(&row.uncertainty).chain(&row.own_form)),
                reading::text(&f, &row.factor),
                reading::text(&f, &row.loq),
            ],
        };
        let rows = self.rows.iter().map(row).collect();
        let facts = reading::facts(&f, &[self.u_as, self.k_all]);
        let block = reading::Block { heading: f.t("entry-once"), facts };
        let title = f.t2("entry-title", "item", &self.item.label, "code", &self.head.round.code);
        ReadingPage { title, head: self.head, blocks: vec![block], columns, rows, f }
    }
}

/// The page that was posted.
pub(super) fn form(fields: &Fields) -> Form<'_> {
    Form { word: fields.get("window"), base: fields.get("base").parse().ok() }
}

/// `GET /rounds/{code}/results/{item}`.
///
/// # Errors
///
/// [`Error::NotFound`] for a round or an item that does not exist for this person.
pub async fn entry(
    State(app): State<App>,
    person: Person,
    Path((code, label)): Path<(String, String)>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let own = typed::own(&mut tx, &person, &code).await?;
    if !matches!(own.round.intake(app.clock.now()), Intake::InTime | Intake::Late) {
        return Ok(go(&format!("/rounds/{code}"), ""));
    }
    let item = own.items.iter().find(|item| item.label == label).cloned().ok_or(Error::NotFound)?;
    let draft = drafts::get(&mut tx, own.participant.id).await?;
    let typists = typed::typists(&mut tx, &own.participant, &draft.typed).await?;
    let head = Head::new(&app, &own, draft.version, draft.saved_at);
    let content = Content { typed: &draft.typed, typists: &typists };
    let page = entry_page(&app, &person, &own, item, content, head, true);
    if person.actor.may_enter().is_err() {
        return ok(&page.for_reading());
    }
    ok(&page)
}

/// `POST /rounds/{code}/results/{item}`: keeps everything that was typed, and
/// goes on only if all of it can be read.
///
/// # Errors
///
/// A conflict when the round takes no results any more.
pub async fn save(
    State(app): State<App>,
    Path((code, label)): Path<(String, String)>,
    posted: Posted,
) -> Result<Response, Error> {
    let now = app.clock.now();
    let mut tx = app.db.write().await?;
    let own = typed::own(&mut tx, &posted.person, &code).await?;
    let item = own.items.iter().find(|item| item.label == label).cloned().ok_or(Error::NotFound)?;
    let command = posted.fields.get("command");
    let mut fields: Vec<(&str, &str)> = posted.fields.iter().collect();
    let filled = if command == "fill" { not_analysed(&posted, &own, &item) } else { Vec::new() };
    fields.extend(filled.iter().map(|(name, text)| (name.as_str(), text.as_str())));
    let actor = &posted.person.actor;
    let saved = actions::results::save(&mut tx, actor, &own, fields.into_iter(), form(&posted.fields), now).await?;
    if command == "quiet" {
        tx.commit().await?;
        return quiet(&app, &own, &posted, &saved);
    }
    let typists = typed::typists(&mut tx, &own.participant, &saved.typed).await?;
    tx.commit().await?;
    let sheet = result::read(&saved.typed, &own.asked(), Some(&item));
    if !sheet.errors.is_empty() {
        let head = Head::new(&app, &own, saved.version, Some(now));
        let content = Content { typed: &saved.typed, typists: &typists };
        return unprocessable(&entry_page(&app, &posted.person, &own, item, content, head, false));
    }
    let here = format!("/rounds/{code}/results/{label}");
    let place = own.items.iter().position(|other| other.id == item.id).unwrap_or_default();
    Ok(match (command, own.items.get(place + 1)) {
        ("next", Some(next)) => go(&format!("/rounds/{code}/results/{}", next.label), "draft-saved"),
        ("next", None) => go(&format!("/rounds/{code}/check"), ""),
        ("fill", _) => go(&here, "filled"),
        _ => go(&here, "draft-saved"),
    })
}

/// What is said of a field that was saved while a person types.
#[derive(serde::Serialize)]
struct Said {
    error: String,
    echo: String,
}

/// The answer to a saving that a page makes by itself.
#[derive(serde::Serialize)]
struct Quiet {
    /// Version of the draft that the page now shows.
    version: i64,
    /// "saved 12:03".
    saved: String,
    /// Fields in which others typed something since, and the page did not.
    changed: BTreeMap<String, String>,
    /// What is to be said of each posted field that has a text.
    said: BTreeMap<String, Said>,
    /// Whether a field has two texts now, between which a person is to choose.
    both: bool,
}

/// Answers a saving that a page makes by itself.
pub(super) fn quiet(app: &App, own: &Own, posted: &Posted, saved: &Saved) -> Result<Response, Error> {
    let f = Frame::of(app, &posted.person);
    let now = app.clock.now();
    let reading = own.read(&saved.typed, now);
    let mut echoes = echoes(&f, &saved.typed, &reading.sheet);
    echoes.extend(super::tasks::unmet(&f, &reading));
    let mut wrong: FieldErrors = reading.sheet.errors.clone();
    for part in [&reading.said.arrival, &reading.said.method, &reading.said.performance, &reading.said.declaration] {
        part.errors.iter().for_each(|(field, problem)| wrong.push(field, problem.clone()));
    }
    let mut answer = Quiet {
        version: saved.version,
        saved: f.t1("draft-saved-at", "at", show::time(now, &own.round.time_zone)),
        changed: BTreeMap::new(),
        said: BTreeMap::new(),
        both: false,
    };
    let is_typed = |name: &str| name.contains('.') && !name.starts_with(actions::results::SHOWN_UNIT);
    for (name, text) in posted.fields.iter().filter(|(name, _)| is_typed(name)) {
        let stored = saved.typed.get(name);
        answer.both |= !saved.typed.get(&format!("{name}{OTHER}")).is_empty();
        if stored != text.trim() && saved.typed.get(&format!("{name}{OTHER}")).is_empty() {
            answer.changed.insert(name.to_owned(), stored.to_owned());
        }
        let error = wrong.get(name).filter(|_| !stored.is_empty()).map(|p| show::problem(f.w, p)).unwrap_or_default();
        let echo = if error.is_empty() { echoes.get(name).cloned().unwrap_or_default() } else { String::new() };
        answer.said.insert(name.to_owned(), Said { error, echo });
    }
    Ok(([(header::CACHE_CONTROL, "no-store")], Json(answer)).into_response())
}

/// Saves what was typed on the form at `path` before a session ended.
///
/// # Errors
///
/// [`Error::NotFound`] for what is not this person's; a conflict when the round
/// takes no results any more.
pub async fn restore(app: &App, actor: &Actor, path: &str, fields: &Fields) -> Result<(), Error> {
    let laboratory = actor.may_enter()?;
    if !crate::extract::is_entry(path) {
        return Err(Error::NotFound);
    }
    let code = path.split('/').nth(2).unwrap_or_default();
    let mut tx = app.db.write().await?;
    let round = rounds::by_code(&mut tx, code).await?.ok_or(Error::NotFound)?;
    let participant = participants::of_laboratory(&mut tx, round.id, laboratory).await?.ok_or(Error::NotFound)?;
    let own = Own::load(&mut tx, round, participant).await?;
    actions::results::save(&mut tx, actor, &own, fields.iter(), form(fields), app.clock.now()).await?;
    tx.commit().await?;
    Ok(())
}

/// The fields that say "not analysed, not in scope" for every row in which
/// nothing was typed.
fn not_analysed(posted: &Posted, own: &Own, item: &Item) -> Vec<(String, String)> {
    let empty = |n: i64| {
        ["state", "v1", "v2", "v3", "v4", "u", "k", "loq"]
            .iter()
            .all(|part| posted.fields.get(&format!("{n}.{part}")).trim().is_empty())
    };
    let rows = own.measurands.iter().filter(|m| m.item == item.id && empty(m.position));
    rows.flat_map(|m| {
        [
            (format!("{}.state", m.position), "not_analysed".to_owned()),
            (format!("{}.reason", m.position), Reason::OutOfScope.word().to_owned()),
        ]
    })
    .collect()
}

fn joined<'a>(values: impl Iterator<Item = &'a str>) -> String {
    values.map(number::typed).collect::<Vec<_>>().join(" · ")
}

/// What was typed, in one line.
pub(super) fn typed_line(f: &Frame, entry: &Entry) -> String {
    match &entry.reported {
        Reported::Value { values, .. } => joined(values.iter().map(|v| v.typed.as_str())),
        Reported::Below { limit } => number::typed(&limit.typed),
        other => no_number_words(f, other),
    }
}

/// Why a result has no number, in one line; empty where it has one.
pub fn no_number_words(f: &Frame, reported: &Reported) -> String {
    match reported {
        Reported::Identified => f.t("state-of-identified"),
        Reported::NotAnalysed { reason } => format!("{}: {}", f.t("state-of-not-analysed"), reason_words(f, *reason)),
        Reported::Failed { reason } => format!("{}: {}", f.t("state-of-failed"), reason_words(f, *reason)),
        Reported::Value { .. } | Reported::Below { .. } => String::new(),
    }
}

/// A reason in words.
pub fn reason_words(f: &Frame, reason: Reason) -> String {
    f.t(&format!("reason-{}", reason.word().replace('_', "-")))
}

/// The number that will be evaluated, in one line.
pub(super) fn evaluated_line(f: &Frame, entry: &Entry) -> String {
    match &entry.reported {
        Reported::Value { values, .. } if values.len() == 1 => {
            format!("{} {}", number::typed(values[0].decimal.as_str()), entry.unit)
        }
        Reported::Value { .. } => {
            f.t2("check-mean", "value", number::plain(entry.value().unwrap_or_default()), "unit", &entry.unit)
        }
        Reported::Below { limit } => format!("<{} {}", limit.decimal, entry.unit),
        Reported::Identified | Reported::NotAnalysed { .. } | Reported::Failed { .. } => String::new(),
    }
}

/// U in both forms, and k.
pub(super) fn uncertainty_lines(f: &Frame, entry: &Entry) -> (String, String) {
    let Reported::Value { uncertainty: Some(u), .. } = &entry.reported else { return (String::new(), String::new()) };
    let absolute = entry.expanded_uncertainty().unwrap_or_default();
    let percent = entry.value().filter(|x| *x != 0.0).map(|x| 100.0 * absolute / x.abs()).unwrap_or_default();
    let shown = match u.form {
        UncertaintyForm::Absolute => {
            format!(
                "{} {} ({} %)",
                number::typed(u.expanded.decimal.as_str()),
                entry.unit,
                number::significant(percent, 3)
            )
        }
        UncertaintyForm::Percent => {
            format!("{} {} ({} %)", number::plain(absolute), entry.unit, number::typed(u.expanded.decimal.as_str()))
        }
    };
    let factor = u.coverage_factor.as_ref().map_or_else(|| f.t("check-factor-none"), |k| k.decimal.to_string());
    (shown, factor)
}
