//! Pastes and files of results: a page that shows what would change, from which
//! it is taken over, and undone.

use super::typed::{self, Pick};
use super::{Frame, go, ok, own_round, unprocessable};
use crate::actions;
use crate::actions::proposals::{Notes, OutsideNote, Proposed, taken_over};
use crate::actions::results::Own;
use crate::error::Error;
use crate::extract::{Path, Person, Posted};
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use jiff::Timestamp;
use roundel_documents::number::typed as shown_number;
use roundel_documents::words::Words;
use roundel_domain::draft::Changes;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::id::ProposalId;
use roundel_domain::import::{self, Block, Form, unlike_limits};
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::number::{self, Decimal, Range, Reading};
use roundel_domain::result::{self, Sheet, Typed};
use roundel_domain::round::{Intake, Round};
use roundel_domain::unit;
use roundel_store::drafts::{self, Draft};
use roundel_store::proposals::Proposal;

/// Whether the round takes results.
fn takes(own: &Own, now: Timestamp) -> bool {
    matches!(own.round.intake(now), Intake::InTime | Intake::Late)
}

/// The item of a label.
fn item_of<'a>(own: &'a Own, label: &str) -> Result<&'a Item, Error> {
    own.items.iter().find(|item| item.label == label).ok_or(Error::NotFound)
}

/// Analyte and item of a place.
fn name(f: &Frame, own: &Own, position: i64) -> String {
    let found = own.measurands.iter().find(|m| m.position == position);
    let named = found.and_then(|m| Some((own.items.iter().find(|item| item.id == m.item)?, m)));
    named.map(|(item, m)| f.t2("measurand-name", "analyte", &m.analyte, "item", &item.label)).unwrap_or_default()
}

#[derive(Template)]
#[template(path = "results/paste.html")]
struct PastePage {
    f: Frame,
    round: Round,
    item: Item,
    rows: Vec<Pick>,
    parts: Vec<Pick>,
    block: String,
    errors: Errors,
}

fn paste_page(app: &App, person: &Person, own: &Own, item: &Item, start: &str, block: &str) -> PastePage {
    let f = Frame::of(app, person);
    let (row, part) = start.split_once('.').unwrap_or_default();
    let asked = own.measurands.iter().filter(|m| m.item == item.id);
    let most = asked.clone().map(|m| m.replicates).max().unwrap_or(1);
    let rows = asked.map(|m| {
        let value = m.position.to_string();
        Pick { text: m.analyte.clone(), chosen: value == row, value }
    });
    let values = (1..=most).map(|n| format!("v{n}"));
    let parts = values.chain(["u", "k", "loq"].map(str::to_owned)).map(|value| Pick {
        text: f.t(&format!("part-{value}")),
        chosen: value == part,
        value,
    });
    PastePage {
        rows: rows.collect(),
        parts: parts.collect(),
        round: own.round.clone(),
        item: item.clone(),
        block: block.to_owned(),
        errors: Errors::default(),
        f,
    }
}

/// `GET /rounds/{code}/results/{item}/paste`.
///
/// # Errors
///
/// [`Error::NotFound`] for a round or an item that does not exist for this person.
pub async fn ask_paste(
    State(app): State<App>,
    person: Person,
    Path((code, label)): Path<(String, String)>,
) -> Result<Response, Error> {
    person.actor.may_enter()?;
    let own = typed::own(&mut app.db.read().await?, &person, &code).await?;
    if !takes(&own, app.clock.now()) {
        return Ok(go(&format!("/rounds/{code}"), ""));
    }
    ok(&paste_page(&app, &person, &own, item_of(&own, &label)?, "", ""))
}

/// `POST /rounds/{code}/results/{item}/paste`: keeps what the block would
/// change, and goes on to the page that shows it.
///
/// # Errors
///
/// A conflict when the round takes no results any more.
pub async fn paste(
    State(app): State<App>,
    Path((code, label)): Path<(String, String)>,
    posted: Posted,
) -> Result<Response, Error> {
    posted.person.actor.may_enter()?;
    let person = &posted.person;
    let mut tx = app.db.read().await?;
    let own = typed::own(&mut tx, person, &code).await?;
    let draft = drafts::get(&mut tx, own.participant.id).await?;
    drop(tx);
    let item = item_of(&own, &label)?;
    let text = posted.fields.get("block");
    let start = match posted.fields.get("start") {
        "" => format!("{}.{}", posted.fields.get("row"), posted.fields.get("part")),
        start => start.to_owned(),
    };
    let codes = own.labels();
    let form = Form {
        items: &own.items,
        item,
        measurands: &own.measurands,
        codes: &codes,
        typed: &draft.typed,
        start: &start,
    };
    let block = match import::block(text, &form) {
        Ok(block) => block,
        Err(problem) => {
            let mut page = paste_page(&app, person, &own, item, &start, text);
            page.errors = block_errors(app.words, problem);
            return unprocessable(&page);
        }
    };
    let notes = notes_of(app.words, &block);
    let proposed =
        Proposed { kind: "paste", item: &item.label, name: "", typed: &block.typed, notes: &notes, content: &[] };
    let mut tx = app.db.write().await?;
    let own = typed::own(&mut tx, person, &code).await?;
    let id = actions::proposals::propose(&mut tx, &person.actor, &own, proposed, app.clock.now()).await?;
    tx.commit().await?;
    Ok(go(&format!("/rounds/{code}/proposals/{id}"), ""))
}

fn block_errors(words: Words, problem: Problem) -> Errors {
    if problem.key == "problem-block-empty" {
        return Errors::one(words, "block", "paste-missing");
    }
    let mut errors = FieldErrors::new();
    errors.push("block", problem);
    Errors::of(words, &errors)
}

fn notes_of(words: Words, block: &Block) -> Notes {
    let outside = block.outside.iter().map(|one| OutsideNote {
        line: one.line,
        column: one.column,
        seen: one.seen.clone(),
        sentence: show::problem(words, &one.problem),
    });
    Notes {
        matched: block.matched.word().to_owned(),
        positions: block.positions.clone(),
        moved: block.moved.clone(),
        outside: outside.collect(),
        outside_count: block.outside_count,
    }
}

/// A field that would change.
struct ChangedField {
    /// Analyte and item.
    name: String,
    /// Whether the row above has the same.
    same: bool,
    /// What is wrong with the row beside its changed fields.
    row_problems: Vec<String>,
    field: String,
    before: String,
    after: String,
    understood: String,
    problem: String,
}

#[derive(Template)]
#[template(path = "results/proposal.html")]
struct ProposalPage {
    f: Frame,
    round: Round,
    id: String,
    title: String,
    is_file: bool,
    item: String,
    name: String,
    matched: String,
    changes: Vec<ChangedField>,
    wrong: usize,
    unchanged: usize,
    moved: String,
    moved_count: usize,
    limits: Vec<String>,
    outside: Vec<OutsideNote>,
    outside_count: usize,
    /// What is wrong with the choice of a unit; empty for nothing.
    units: Vec<String>,
    /// Version of the draft that stands beside it.
    base: i64,
    taken: String,
    undone: String,
}

/// What a proposal is looked at with.
struct Look<'a> {
    f: &'a Frame,
    own: &'a Own,
    after: &'a Typed,
    sheet: &'a Sheet,
    units: &'a [unit::Choice],
}

impl Look<'_> {
    /// The fields that would change, in the order of the form.
    fn changes(&self, changed: &Changes) -> Vec<ChangedField> {
        let mut rows: Vec<((usize, i64, usize), ChangedField)> = Vec::new();
        for (field, (old, new)) in changed.0.iter().filter(|(field, _)| !field.ends_with(".reading")) {
            let Some((owner, part)) = field.split_once('.') else { continue };
            let part = part.split('.').next().unwrap_or_default();
            let measurand = self.own.measurands.iter().find(|m| m.position.to_string() == owner);
            let items = &self.own.items;
            let item = items.iter().position(|item| measurand.map_or(item.label == owner, |m| m.item == item.id));
            let order = ["u_as", "k_all", "v1", "v2", "v3", "v4", "u", "k", "loq", "state", "reason"];
            let place = order.iter().position(|known| *known == part).unwrap_or(order.len());
            let problem = self.sheet.errors.get(field).map(|p| show::problem(self.f.w, p)).unwrap_or_default();
            let row = ChangedField {
                name: match (measurand, item) {
                    (Some(m), _) => name(self.f, self.own, m.position),
                    (None, Some(item)) => self.f.t1("item-name", "item", &items[item].label),
                    (None, None) => self.f.t("proposal-all"),
                },
                same: false,
                row_problems: Vec::new(),
                field: self.f.t(&format!("part-{}", part.replace('_', "-"))),
                before: self.word(part, old),
                after: self.word(part, new),
                understood: if problem.is_empty() { self.understood(measurand, field, part) } else { String::new() },
                problem,
            };
            rows.push(((item.map_or(0, |item| item + 1), measurand.map_or(0, |m| m.position), place), row));
        }
        rows.sort_by_key(|(order, _)| *order);
        let mut last = None;
        let mut shown = Vec::new();
        for ((_, position, _), mut row) in rows {
            if last.replace(position) == Some(position) && position > 0 {
                row.same = true;
            } else if position > 0 {
                row.row_problems = self.other_problems(position, changed);
            }
            shown.push(row);
        }
        shown
    }

    /// What is wrong with fields of a row that do not change.
    fn other_problems(&self, position: i64, changed: &Changes) -> Vec<String> {
        let of_row = |field: &str| field.split_once('.').is_some_and(|(owner, _)| owner == position.to_string());
        let errors = self.sheet.errors.iter().filter(|(field, _)| of_row(field) && !changed.0.contains_key(*field));
        errors.map(|(_, problem)| show::problem(self.f.w, problem)).collect()
    }

    /// A text of a field as a person reads it.
    fn word(&self, part: &str, text: &str) -> String {
        let key = |prefix: &str| format!("{prefix}-{}", text.replace('_', "-"));
        let key = match part {
            _ if text.is_empty() => return String::new(),
            "state" => key("state-of"),
            "reason" => key("reason"),
            "u_as" => key("u-as"),
            _ => return shown_number(text),
        };
        if self.f.w.has(&key) { self.f.t(&key) } else { text.to_owned() }
    }

    /// What is understood by a number; empty for anything else.
    fn understood(&self, measurand: Option<&Measurand>, field: &str, part: &str) -> String {
        let text = self.after.get(field);
        let reading = self.after.get(&format!("{field}.reading"));
        let chosen = (!reading.is_empty()).then_some(reading);
        let f = self.f;
        let decimal = || Decimal::parse_with_choice(text, Range::Positive, chosen).ok();
        let with_unit =
            |value: &Decimal, key: &str| measurand.map(|m| self.with_unit(value, key, m)).unwrap_or_default();
        match part {
            "v1" | "v2" | "v3" | "v4" => match number::parse_with_choice(text, false, chosen) {
                Ok(Reading::Value(read)) => with_unit(&read.decimal, "proposal-value"),
                Ok(Reading::Below(read)) => with_unit(&read.decimal, "proposal-below"),
                Err(_) => String::new(),
            },
            "u" => match (decimal(), self.form_of(measurand)) {
                (Some(u), "percent") => f.t1("proposal-percent", "value", shown_number(u.as_str())),
                (Some(u), "absolute") => with_unit(&u, "proposal-value"),
                _ => String::new(),
            },
            "loq" => decimal().map(|loq| with_unit(&loq, "proposal-value")).unwrap_or_default(),
            "k" | "k_all" => decimal().map(|k| shown_number(k.as_str())).unwrap_or_default(),
            _ => String::new(),
        }
    }

    /// A number in the unit in which it is typed and in that of the round, where
    /// these differ; without a unit while none is chosen.
    fn with_unit(&self, value: &Decimal, key: &str, m: &Measurand) -> String {
        let f = self.f;
        let in_unit = |value: &Decimal, unit: &str| {
            f.t2(key, "value", shown_number(value.as_str()), "unit", unit).trim_end().to_owned()
        };
        let choice = self.units.iter().find(|choice| import::same_unit(&choice.unit, &m.unit));
        let typed = choice.map_or(m.unit.as_str(), |choice| self.after.get(&choice.field));
        match unit::power_between(typed, &m.unit) {
            Some(power) if power != 0 => {
                let here = in_unit(value, typed);
                f.t2("proposal-converted", "here", here, "there", in_unit(&value.shifted(power), &m.unit))
            }
            _ => in_unit(value, typed),
        }
    }

    /// How the uncertainty of a row is given.
    fn form_of(&self, measurand: Option<&Measurand>) -> &str {
        let Some(m) = measurand else { return "" };
        let own = self.after.get(&result::form_field(&self.own.items, m.position));
        let item = self.own.items.iter().find(|item| item.id == m.item);
        match (own, item) {
            ("", Some(item)) => self.after.get(&format!("{}.u_as", item.label)),
            _ => own,
        }
    }

    /// The warning of limits of quantification, one line a row.
    fn limits(&self, positions: &[i64]) -> Vec<String> {
        let f = self.f;
        let unlike = unlike_limits(self.after, &self.own.items, &self.own.measurands, positions);
        unlike
            .into_iter()
            .filter_map(|one| {
                let m = self.own.measurands.iter().find(|m| m.position == one.position)?;
                let item = self.own.items.iter().find(|item| item.id == m.item)?;
                let other = |(item, typed): &(String, String)| {
                    f.t2("proposal-limits-other", "typed", shown_number(typed), "item", item)
                };
                let others = one.others.iter().map(other).collect::<Vec<_>>().join(", ");
                let values = [
                    ("analyte", m.analyte.as_str()),
                    ("item", &item.label),
                    ("typed", &shown_number(&one.typed)),
                    ("others", &others),
                ];
                Some(f.w.with("proposal-limits-line", &values))
            })
            .collect()
    }
}

/// The name of a proposal in an address.
pub(super) fn named(id: &str) -> Result<ProposalId, Error> {
    id.parse().map(ProposalId).map_err(|_| Error::NotFound)
}

/// `GET /rounds/{code}/proposals/{id}`.
///
/// # Errors
///
/// [`Error::NotFound`] for what is not this laboratory's, or no longer there.
pub async fn proposal(
    State(app): State<App>,
    person: Person,
    Path((code, id)): Path<(String, String)>,
) -> Result<Response, Error> {
    person.actor.may_enter()?;
    let mut tx = app.db.read().await?;
    let own = typed::own(&mut tx, &person, &code).await?;
    let id = named(&id)?;
    let proposal = actions::proposals::find(&mut tx, &own.participant, id).await?;
    if !takes(&own, app.clock.now()) {
        return Ok(go(&format!("/rounds/{code}"), ""));
    }
    let stored = drafts::get(&mut tx, own.participant.id).await?;
    drop(tx);
    ok(&proposal_page(&app, &person, &own, id, &proposal, &stored)?)
}

fn proposal_page(
    app: &App,
    person: &Person,
    own: &Own,
    id: ProposalId,
    proposal: &Proposal,
    stored: &Draft,
) -> Result<ProposalPage, Error> {
    let f = Frame::of(app, person);
    let notes: Notes = serde_json::from_str(&proposal.notes).map_err(|_| Error::Fault("read notes".to_owned()))?;
    let taken = proposal.taken_at().is_some();
    let after = match taken {
        true => stored.typed.clone(),
        false => taken_over(&stored.typed, &stored.typed, &proposal.typed()?, own),
    };
    let sheet = result::read(&after, &own.asked(), None);
    let units = unit::choices(&own.measurands);
    let look = Look { f: &f, own, after: &after, sheet: &sheet, units: &units };
    let changed = if taken { proposal.changes()? } else { Changes::between(&stored.typed, &after) };
    let changes = if proposal.undone_at().is_some() { Vec::new() } else { look.changes(&changed) };
    let is_unchanged = |position: &&i64| {
        let own = format!("{position}.");
        !changed.0.keys().any(|field| field.starts_with(&own))
    };
    let at = |instant: Option<Timestamp>| instant.map(|at| show::instant(at, &own.round.time_zone)).unwrap_or_default();
    let is_file = proposal.kind == "file";
    let title = match (is_file, taken) {
        (true, false) => "proposal-title-file",
        (true, true) => "proposal-title-file-taken",
        (false, false) => "proposal-title-paste",
        (false, true) => "proposal-title-paste-taken",
    };
    Ok(ProposalPage {
        id: id.to_string(),
        title: f.t1(title, "code", &own.round.code),
        is_file,
        item: proposal.item.clone(),
        name: proposal.name.clone(),
        matched: match notes.matched.as_str() {
            "" => String::new(),
            word => f.t(&format!("proposal-matched-{word}")),
        },
        wrong: changes.iter().filter(|change| !change.problem.is_empty()).count(),
        unchanged: notes.positions.iter().filter(is_unchanged).count(),
        moved: notes.moved.iter().map(|position| name(&f, own, *position)).collect::<Vec<_>>().join("; "),
        moved_count: notes.moved.len(),
        limits: if taken { Vec::new() } else { look.limits(&notes.positions) },
        changes,
        outside: notes.outside,
        outside_count: notes.outside_count,
        units: units
            .iter()
            .filter(|choice| !taken && after.get(&choice.field).is_empty())
            .map(|choice| f.t1("proposal-unit-missing", "unit", &choice.unit))
            .collect(),
        base: stored.version,
        taken: at(proposal.taken_at()),
        undone: at(proposal.undone_at()),
        round: own.round.clone(),
        f,
    })
}

/// `POST /rounds/{code}/proposals/{id}/take`.
///
/// # Errors
///
/// [`Error::NotFound`] for what is not this laboratory's, or no longer there; a
/// conflict when the round takes no results any more.
pub async fn take(
    State(app): State<App>,
    Path((code, id)): Path<(String, String)>,
    posted: Posted,
) -> Result<Response, Error> {
    let actor = &posted.person.actor;
    let mut tx = app.db.write().await?;
    let own = typed::own(&mut tx, &posted.person, &code).await?;
    let id = named(&id)?;
    let base = posted.fields.get("base").parse().ok();
    actions::proposals::take(&mut tx, actor, &own, id, base, app.clock.now()).await?;
    tx.commit().await?;
    Ok(go(&format!("/rounds/{code}/proposals/{id}"), "proposal-taken"))
}

/// `POST /rounds/{code}/proposals/{id}/leave`.
///
/// # Errors
///
/// [`Error::NotFound`] for what is not this laboratory's, or no longer there.
pub async fn leave(
    State(app): State<App>,
    Path((code, id)): Path<(String, String)>,
    posted: Posted,
) -> Result<Response, Error> {
    let actor = &posted.person.actor;
    actor.may_enter()?;
    let mut tx = app.db.write().await?;
    let (_, participant) = own_round(&mut tx, actor, &code).await?;
    let proposal = actions::proposals::find(&mut tx, &participant, named(&id)?).await?;
    actions::proposals::leave(&mut tx, actor, &participant, app.clock.now()).await?;
    tx.commit().await?;
    let back = if proposal.item.is_empty() { "results-upload" } else { &format!("results/{}", proposal.item) };
    Ok(go(&format!("/rounds/{code}/{back}"), "proposal-left"))
}

/// `POST /rounds/{code}/proposals/{id}/undo`.
///
/// # Errors
///
/// [`Error::NotFound`] for what is not this laboratory's, or no longer there; a
/// conflict when the round takes no results any more.
pub async fn undo(
    State(app): State<App>,
    Path((code, id)): Path<(String, String)>,
    posted: Posted,
) -> Result<Response, Error> {
    let actor = &posted.person.actor;
    let mut tx = app.db.write().await?;
    let own = typed::own(&mut tx, &posted.person, &code).await?;
    let id = named(&id)?;
    let everywhere = actions::proposals::undo(&mut tx, actor, &own, id, app.clock.now()).await?;
    tx.commit().await?;
    let done = if everywhere { "proposal-undone" } else { "proposal-undone-part" };
    Ok(go(&format!("/rounds/{code}/proposals/{id}"), done))
}
