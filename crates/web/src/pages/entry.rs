//! A laboratory's results: typing, checking, sending, the receipt.

use super::{Frame, go, ok, own_round, unprocessable};
use crate::actions::results::SendForm;
use crate::actions::{self, Refused};
use crate::error::Error;
use crate::extract::{Fields, Path, Person, Posted};
use crate::secret;
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use roundel_documents::number;
use roundel_documents::words::Words;
use roundel_domain::access::Actor;
use roundel_domain::field::FieldErrors;
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::result::{self, Entry, Reason, Reported, Sheet, Typed, UncertaintyForm};
use roundel_domain::round::{Intake, Round};
use roundel_store::participants::{self, Participant};
use roundel_store::{Tx, measurands, results, rounds};

/// A text field of a row.
struct Cell {
    name: String,
    label: String,
    value: String,
    error: String,
    /// The two readings that are asked about; empty when nothing is.
    readings: Vec<Choice>,
    /// What was understood, where that differs from what was typed.
    echo: String,
}

/// One of two readings.
struct Choice {
    value: String,
    text: String,
    chosen: bool,
}

/// A choice of a list.
struct Pick {
    value: &'static str,
    text: String,
    chosen: bool,
}

struct EntryRow {
    position: i64,
    analyte: String,
    unit: String,
    expressed_as: String,
    required_loq: String,
    state_error: String,
    states: Vec<Pick>,
    reason_error: String,
    reasons: Vec<Pick>,
    values: Vec<Cell>,
    uncertainty: Cell,
    /// How the uncertainty of this row alone is given, and the field's name;
    /// nothing where the item says it.
    own_form: Vec<Pick>,
    form_field: String,
    factor: Cell,
    loq: Cell,
    notes: Vec<String>,
}

#[derive(Template)]
#[template(path = "results/entry.html")]
struct EntryPage {
    f: Frame,
    round: Round,
    code: String,
    item: Item,
    others: Vec<(String, bool)>,
    deadline: String,
    instant: String,
    late: bool,
    u_as: Vec<Pick>,
    k_all: Cell,
    /// The limit of quantification that is asked for in every row; empty when rows differ.
    required_loq: String,
    rows: Vec<EntryRow>,
    errors: Errors,
    next: String,
    saved: String,
}

fn cell(words: Words, typed: &Typed, errors: &FieldErrors, name: String, label: String) -> Cell {
    let problem = errors.get(&name);
    let chosen = typed.get(&format!("{name}.reading"));
    let value = typed.get(&name).to_owned();
    let readings = match problem.and_then(result::readings) {
        Some((first, second)) => vec![(first.to_owned(), "reading-decimal"), (second.to_owned(), "reading-thousands")],
        None => Vec::new(),
    };
    let readings = readings
        .into_iter()
        .map(|(reading, key)| Choice {
            text: words.with(key, &[("reading", &number::typed(&reading))]),
            chosen: reading == chosen,
            value: reading,
        })
        .collect();
    let echo = if problem.is_none() && !chosen.is_empty() {
        words.with("reading-taken", &[("reading", chosen)])
    } else {
        String::new()
    };
    Cell { label, error: problem.map(|p| show::problem(words, p)).unwrap_or_default(), readings, echo, name, value }
}

fn picks(words: Words, prefix: &str, values: &[&'static str], chosen: &str) -> Vec<Pick> {
    values
        .iter()
        .map(|value| Pick {
            value,
            text: words.t(&format!("{prefix}-{}", if value.is_empty() { "none" } else { value }).replace('_', "-")),
            chosen: *value == chosen,
        })
        .collect()
}

fn entry_row(f: &Frame, typed: &Typed, sheet: &Sheet, items: &[Item], m: &Measurand) -> EntryRow {
    let words = f.w;
    let n = m.position;
    let error =
        |part: &str| sheet.errors.get(&format!("{n}.{part}")).map(|p| show::problem(words, p)).unwrap_or_default();
    let make = |part: &str, label: String| cell(words, typed, &sheet.errors, format!("{n}.{part}"), label);
    let values = (1..=m.replicates)
        .map(|v| {
            let label = if m.replicates == 1 {
                f.t2("entry-value-label", "analyte", &m.analyte, "unit", &m.unit)
            } else {
                f.t3("entry-replicate-label", "analyte", &m.analyte, "unit", &m.unit, "n", v)
            };
            make(&format!("v{v}"), label)
        })
        .collect();
    let form_field = result::form_field(items, m.position);
    let own_form = match typed.get(&form_field) {
        "" => Vec::new(),
        chosen => picks(words, "u-as-row", &["", "absolute", "percent"], chosen),
    };
    let reasons: Vec<&'static str> = std::iter::once("").chain(Reason::ALL.map(Reason::word)).collect();
    EntryRow {
        position: n,
        analyte: m.analyte.clone(),
        unit: m.unit.clone(),
        expressed_as: m.expressed_as.clone(),
        required_loq: m.required_loq.as_ref().map(ToString::to_string).unwrap_or_default(),
        state_error: error("state"),
        states: picks(
            words,
            "state-of",
            &["", "value", "below", "not_analysed", "failed"],
            typed.get(&format!("{n}.state")),
        ),
        reason_error: error("reason"),
        reasons: picks(words, "reason", &reasons, typed.get(&format!("{n}.reason"))),
        values,
        uncertainty: make("u", f.t1("entry-u-label", "analyte", &m.analyte)),
        own_form,
        form_field,
        factor: make("k", f.t1("entry-k-label", "analyte", &m.analyte)),
        loq: make("loq", f.t2("entry-loq-label", "analyte", &m.analyte, "unit", &m.unit)),
        notes: sheet
            .notes
            .iter()
            .filter(|note| note.position == n)
            .map(|note| show::problem(words, &note.problem))
            .collect(),
    }
}

/// The sentence on the required LOQ, taken out of the rows if it is the same in
/// all of them.
fn common_loq(f: &Frame, rows: &mut [EntryRow]) -> String {
    let Some(first) = rows.first().map(|row| (row.required_loq.clone(), row.unit.clone())) else {
        return String::new();
    };
    if first.0.is_empty() || rows.iter().any(|row| (&row.required_loq, &row.unit) != (&first.0, &first.1)) {
        return String::new();
    }
    for row in rows {
        row.required_loq.clear();
    }
    f.t2("entry-required-loq-all", "loq", first.0, "unit", first.1)
}

struct Asked {
    round: Round,
    participant: Participant,
    items: Vec<Item>,
    measurands: Vec<Measurand>,
}

/// The round, for a laboratory that may enter results in it now.
async fn asked(tx: &mut Tx, person: &Person, code: &str) -> Result<Asked, Error> {
    let (round, participant) = own_round(tx, &person.actor, code).await?;
    let items = rounds::items(tx, round.id).await?;
    let measurands = measurands::of_round(tx, round.id).await?;
    Ok(Asked { round, participant, items, measurands })
}

fn entry_page(
    app: &App,
    person: &Person,
    asked: Asked,
    item: Item,
    typed: &Typed,
    fresh: bool,
    saved: String,
) -> EntryPage {
    let f = Frame::of(app, person);
    let mut sheet = result::read(typed, &asked.items, &asked.measurands, Some(&item));
    if fresh {
        // A page that is only looked at does not scold.
        sheet.notes.clear();
    }
    let analyte = |field: &str| {
        let position: i64 = field.split_once('.')?.0.parse().ok()?;
        asked.measurands.iter().find(|m| m.position == position).map(|m| m.analyte.clone())
    };
    let errors = Errors::named(app.words, &sheet.errors, analyte);
    let mut rows: Vec<EntryRow> = asked
        .measurands
        .iter()
        .filter(|m| m.item == item.id)
        .map(|m| entry_row(&f, typed, &sheet, &asked.items, m))
        .collect();
    let required_loq = common_loq(&f, &mut rows);
    let place = asked.items.iter().position(|other| other.id == item.id).unwrap_or_default();
    let next = asked.items.get(place + 1).map(|next| next.label.clone()).unwrap_or_default();
    EntryPage {
        code: asked.participant.code,
        others: asked.items.iter().map(|other| (other.label.clone(), other.id == item.id)).collect(),
        deadline: show::instant(asked.round.closes_at, &asked.round.time_zone),
        instant: asked.round.closes_at.to_string(),
        late: asked.round.intake(app.clock.now()) == Intake::Late,
        u_as: picks(app.words, "u-as", &["", "absolute", "percent"], typed.get(&format!("{}.u_as", item.label))),
        k_all: cell(app.words, typed, &sheet.errors, format!("{}.k_all", item.label), f.t("entry-k-all")),
        required_loq,
        rows,
        errors,
        next,
        saved,
        round: asked.round,
        item,
        f,
    }
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
    let asked = asked(&mut tx, &person, &code).await?;
    if !matches!(asked.round.intake(app.clock.now()), Intake::InTime | Intake::Late) {
        return Ok(go(&format!("/rounds/{code}"), ""));
    }
    let item = asked.items.iter().find(|item| item.label == label).cloned().ok_or(Error::NotFound)?;
    let draft = participants::draft(&mut tx, asked.participant.id).await?;
    let saved = draft.saved_at.map(|at| show::instant(at, &asked.round.time_zone)).unwrap_or_default();
    ok(&entry_page(&app, &person, asked, item, &draft.typed, true, saved))
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
    let asked = asked(&mut tx, &posted.person, &code).await?;
    let item = asked.items.iter().find(|item| item.label == label).cloned().ok_or(Error::NotFound)?;
    let command = posted.fields.get("command");
    let mut fields: Vec<(&str, &str)> = posted.fields.iter().collect();
    let filled = if command == "fill" { not_analysed(&posted, &asked, &item) } else { Vec::new() };
    fields.extend(filled.iter().map(|(name, text)| (name.as_str(), text.as_str())));
    let actor = &posted.person.actor;
    let fields = fields.into_iter();
    let typed = actions::results::save(&mut tx, actor, &asked.round, &asked.participant, &item, fields, now).await?;
    tx.commit().await?;
    let sheet = result::read(&typed, &asked.items, &asked.measurands, Some(&item));
    let here = format!("/rounds/{code}/results/{label}");
    if !sheet.errors.is_empty() && command != "quiet" {
        let saved = show::instant(now, &asked.round.time_zone);
        return unprocessable(&entry_page(&app, &posted.person, asked, item, &typed, false, saved));
    }
    let place = asked.items.iter().position(|other| other.id == item.id).unwrap_or_default();
    Ok(match (command, asked.items.get(place + 1)) {
        ("quiet", _) => {
            let saved = show::instant(now, &asked.round.time_zone);
            ([(header::CACHE_CONTROL, "no-store")], app.words.with("entry-saved", &[("at", &saved)])).into_response()
        }
        ("next", Some(next)) => go(&format!("/rounds/{code}/results/{}", next.label), "draft-saved"),
        ("next", None) => go(&format!("/rounds/{code}/check"), ""),
        ("fill", _) => go(&here, "filled"),
        _ => go(&here, "draft-saved"),
    })
}

/// Saves what was typed on the form at `path` before a session ended.
///
/// # Errors
///
/// [`Error::NotFound`] for what is not this person's; a conflict when the round
/// takes no results any more.
pub async fn restore(app: &App, actor: &Actor, path: &str, fields: &Fields) -> Result<(), Error> {
    let laboratory = actor.may_report()?;
    let ["", "rounds", code, "results", label] = path.split('/').collect::<Vec<_>>()[..] else {
        return Err(Error::NotFound);
    };
    let mut tx = app.db.write().await?;
    let round = rounds::by_code(&mut tx, code).await?.ok_or(Error::NotFound)?;
    let participant = participants::of_laboratory(&mut tx, round.id, laboratory).await?.ok_or(Error::NotFound)?;
    let items = rounds::items(&mut tx, round.id).await?;
    let item = items.iter().find(|item| item.label == label).ok_or(Error::NotFound)?;
    actions::results::save(&mut tx, actor, &round, &participant, item, fields.iter(), app.clock.now()).await?;
    tx.commit().await?;
    Ok(())
}

/// The fields that say "not analysed, not in scope" for every row in which
/// nothing was typed.
fn not_analysed(posted: &Posted, asked: &Asked, item: &Item) -> Vec<(String, String)> {
    let empty = |n: i64| {
        ["state", "v1", "v2", "v3", "v4", "u", "k", "loq"]
            .iter()
            .all(|part| posted.fields.get(&format!("{n}.{part}")).trim().is_empty())
    };
    let rows = asked.measurands.iter().filter(|m| m.item == item.id && empty(m.position));
    rows.flat_map(|m| {
        [
            (format!("{}.state", m.position), "not_analysed".to_owned()),
            (format!("{}.reason", m.position), Reason::OutOfScope.word().to_owned()),
        ]
    })
    .collect()
}

/// A result exactly as it will be evaluated.
struct CheckRow {
    analyte: String,
    expressed_as: String,
    typed: String,
    evaluated: String,
    uncertainty: String,
    factor: String,
    loq: String,
    notes: Vec<String>,
    problems: Vec<String>,
    href: String,
}

struct CheckBlock {
    label: String,
    matrix: String,
    rows: Vec<CheckRow>,
}

#[derive(Template)]
#[template(path = "results/check.html")]
struct CheckPage {
    f: Frame,
    round: Round,
    code: String,
    deadline: String,
    instant: String,
    late: bool,
    blocks: Vec<CheckBlock>,
    problems: usize,
    notes: usize,
    once: String,
    version: i64,
    /// Number of the version that was in time and would be replaced by a late one; 0 for none.
    replaces: i64,
    replace_error: String,
}

fn joined<'a>(values: impl Iterator<Item = &'a str>) -> String {
    values.map(number::typed).collect::<Vec<_>>().join(" · ")
}

/// What was typed, in one line.
pub(super) fn typed_line(f: &Frame, entry: &Entry) -> String {
    match &entry.reported {
        Reported::Value { values, .. } => joined(values.iter().map(|v| v.typed.as_str())),
        Reported::Below { limit } => number::typed(&limit.typed),
        Reported::NotAnalysed { reason } => format!("{}: {}", f.t("state-of-not-analysed"), reason_words(f, *reason)),
        Reported::Failed { reason } => format!("{}: {}", f.t("state-of-failed"), reason_words(f, *reason)),
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
        Reported::NotAnalysed { .. } | Reported::Failed { .. } => String::new(),
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

fn check_row(f: &Frame, code: &str, item: &Item, m: &Measurand, sheet: &Sheet) -> CheckRow {
    let prefix = format!("{}.", m.position);
    let href = format!("/rounds/{code}/results/{}#row-{}", item.label, m.position);
    let mut problems: Vec<String> = sheet
        .errors
        .iter()
        .filter(|(field, _)| field.starts_with(&prefix))
        .map(|(_, problem)| show::problem(f.w, problem))
        .collect();
    if sheet.empty.contains(&m.position) {
        problems.push(f.t("result-empty"));
    }
    let notes =
        sheet.notes.iter().filter(|n| n.position == m.position).map(|note| show::problem(f.w, &note.problem)).collect();
    let entry = sheet.entries.iter().find(|entry| entry.position == m.position);
    let (uncertainty, factor) = entry.map(|entry| uncertainty_lines(f, entry)).unwrap_or_default();
    CheckRow {
        analyte: m.analyte.clone(),
        expressed_as: m.expressed_as.clone(),
        typed: entry.map(|entry| typed_line(f, entry)).unwrap_or_default(),
        evaluated: entry.map(|entry| evaluated_line(f, entry)).unwrap_or_default(),
        uncertainty,
        factor,
        loq: entry
            .and_then(|entry| entry.loq.as_ref())
            .map(|loq| format!("{} {}", loq.decimal, m.unit))
            .unwrap_or_default(),
        notes,
        problems,
        href,
    }
}

async fn check_page(app: &App, tx: &mut Tx, person: &Person, asked: Asked) -> Result<CheckPage, Error> {
    let f = Frame::of(app, person);
    let draft = participants::draft(tx, asked.participant.id).await?;
    let sheet = result::read(&draft.typed, &asked.items, &asked.measurands, None);
    let sent = results::of_participant(tx, asked.participant.id).await?;
    let code = asked.round.code.clone();
    let late = asked.round.intake(app.clock.now()) == Intake::Late;
    let blocks = super::by_item(&asked.items, &asked.measurands)
        .into_iter()
        .map(|(item, rows)| CheckBlock {
            label: item.label.clone(),
            matrix: item.matrix.clone(),
            rows: rows.into_iter().map(|m| check_row(&f, &code, item, m, &sheet)).collect(),
        })
        .collect();
    Ok(CheckPage {
        code: asked.participant.code,
        deadline: show::instant(asked.round.closes_at, &asked.round.time_zone),
        instant: asked.round.closes_at.to_string(),
        replaces: sent.last().filter(|s| late && !s.late).map_or(0, |s| s.version),
        replace_error: String::new(),
        late,
        blocks,
        problems: sheet.errors.len() + sheet.empty.len(),
        notes: sheet.notes.len(),
        once: secret::token(),
        version: sent.last().map_or(0, |s| s.version) + 1,
        round: asked.round,
        f,
    })
}

/// `GET /rounds/{code}/check`.
///
/// # Errors
///
/// [`Error::NotFound`] for a round that does not exist for this person.
pub async fn check(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let asked = asked(&mut tx, &person, &code).await?;
    if !matches!(asked.round.intake(app.clock.now()), Intake::InTime | Intake::Late) {
        return Ok(go(&format!("/rounds/{code}"), ""));
    }
    ok(&check_page(&app, &mut tx, &person, asked).await?)
}

/// `POST /rounds/{code}/submit`.
///
/// # Errors
///
/// A conflict when the round takes no results any more.
pub async fn submit(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let asked = asked(&mut tx, &posted.person, &code).await?;
    let once: String = posted.fields.get("once").chars().take(64).collect();
    let actor = &posted.person.actor;
    let form = SendForm { once: &once, replace_in_time: posted.fields.get("replace") == "yes", typed: None };
    let post = app.post();
    match actions::results::submit(&mut tx, actor, &asked.round, &asked.participant, form, &post, app.clock.now()).await
    {
        Ok(id) => {
            tx.commit().await?;
            app.wake_mail();
            Ok(go(&format!("/receipts/{id}"), "sent"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let mut page = check_page(&app, &mut tx, &posted.person, asked).await?;
            page.replace_error = errors.get("replace").map(|p| show::problem(app.words, p)).unwrap_or_default();
            unprocessable(&page)
        }
    }
}
