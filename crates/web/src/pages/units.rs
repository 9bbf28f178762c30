//! The units of an item, and the withdrawal of an item or a measurand.

use super::files::Kind;
use super::{Frame, go, ok, organised_round, reviewed_round, unprocessable};
use crate::actions::Refused;
use crate::actions::units::{self, Command};
use crate::actions::withdrawals::{self, What};
use crate::error::Error;
use crate::extract::{Fields, Path, Person, Posted};
use crate::show::{self, Errors};
use crate::state::App;
use crate::{secret, sheets};
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::declared::CONDITIONS;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::id::ParticipantId;
use roundel_domain::ledger::Ledger;
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::result::Typed;
use roundel_domain::round::Round;
use roundel_store::{Tx, drafts, measurands, participants, rounds, unit_files, withdrawals as store};
use std::collections::HashMap;

/// A participant's unit, by code.
#[derive(Clone, Debug, Default)]
pub struct UnitLine {
    /// The participant's code.
    pub code: String,
    /// The number of its unit; empty where it has none.
    pub number: String,
    /// The code on the label; empty where units have none.
    pub label: String,
    /// When it was sent.
    pub dispatched: String,
    /// By whom.
    pub carrier: String,
    /// When it arrived, as the laboratory says; empty where it has not said.
    pub received: String,
    /// In which condition, as the laboratory says.
    pub condition: String,
    /// What was noted, and which units it had before.
    pub notes: String,
    /// The files that are kept of it.
    pub files: Vec<String>,
    /// Where they are.
    pub href: String,
}

/// A unit that is nobody's and has a history.
struct OtherLine {
    number: i64,
    text: String,
}

#[derive(Template)]
#[template(path = "items/units.html")]
struct UnitsPage {
    f: Frame,
    round: Round,
    item: Item,
    organiser: bool,
    made: i64,
    spares: usize,
    tested: usize,
    /// Participants without a unit, and units that wait to be sent.
    without: usize,
    waiting: usize,
    /// Codes of those to whom a unit was sent and who have not said that it came.
    unconfirmed: Vec<String>,
    lines: Vec<UnitLine>,
    others: Vec<OtherLine>,
    withdrawn: Vec<String>,
    typed: Fields,
    errors: Errors,
}

impl UnitsPage {
    fn typed(&self, name: &str) -> &str {
        self.typed.get(name)
    }
}

/// When a unit arrived and how, as a laboratory typed it.
fn arrival(f: &Frame, typed: Option<&Typed>, item: &Item) -> (String, String) {
    let Some(typed) = typed else { return Default::default() };
    let get = |part: &str| typed.get(&format!("{}.{part}", item.label)).trim().to_owned();
    let word = get("condition");
    let known = CONDITIONS.contains(&word.as_str());
    let condition = if known { f.t(&format!("condition-{word}")) } else { String::new() };
    let remark = get("condition_remark");
    let condition = if remark.is_empty() { condition } else { format!("{condition}: {remark}") };
    (get("received_on"), condition.trim_start_matches(": ").to_owned())
}

/// The units of an item by the codes of those who have them.
async fn lines(f: &Frame, tx: &mut Tx, round: &Round, item: &Item, ledger: &Ledger) -> Result<Vec<UnitLine>, Error> {
    let typed: HashMap<ParticipantId, Typed> = drafts::typed_of_round(tx, round.id).await?.into_iter().collect();
    let labels = participants::all_item_codes(tx, round.id).await?;
    let labels: HashMap<String, String> =
        labels.into_iter().filter(|(_, of, _)| *of == item.label).map(|(code, _, label)| (code, label)).collect();
    let kept = unit_files::of_item(tx, item.id).await?;
    let mut lines = Vec::new();
    for participant in participants::of_round(tx, round.id).await? {
        let (received, condition) = arrival(f, typed.get(&participant.id), item);
        let current = ledger.current(participant.id);
        let mut notes: Vec<String> = ledger
            .units
            .iter()
            .filter(|(_, unit)| unit.owner == Some(participant.id) && !unit.void.is_empty())
            .map(|(number, unit)| f.t2("ledger-void-before", "number", number, "reason", &unit.void))
            .collect();
        notes.extend(current.iter().flat_map(|(_, unit)| unit.notes.clone()));
        lines.push(UnitLine {
            number: current.map(|(number, _)| number.to_string()).unwrap_or_default(),
            label: labels.get(&participant.code).cloned().unwrap_or_default(),
            dispatched: current.and_then(|(_, unit)| unit.dispatched_on).map(|day| day.to_string()).unwrap_or_default(),
            carrier: current.map(|(_, unit)| unit.carrier.clone()).unwrap_or_default(),
            files: kept
                .iter()
                .filter(|file| file.participant == participant.id)
                .map(|file| super::unit_files::in_short(f, round, file))
                .collect(),
            href: format!("/rounds/{}/items/{}/units/{}", round.code, item.label, participant.code),
            code: participant.code,
            received,
            condition,
            notes: notes.join(" "),
        });
    }
    Ok(lines)
}

/// Units that are nobody's and have a history.
fn others(f: &Frame, ledger: &Ledger) -> Vec<OtherLine> {
    let mut others: Vec<OtherLine> =
        ledger.tested.iter().map(|number| OtherLine { number: *number, text: f.t("ledger-tested") }).collect();
    for (number, unit) in ledger.units.iter().filter(|(_, unit)| unit.owner.is_none()) {
        let mut texts = unit.notes.clone();
        if !unit.void.is_empty() {
            texts.insert(0, f.t1("ledger-void", "reason", &unit.void));
        }
        if !texts.is_empty() {
            others.push(OtherLine { number: *number, text: texts.join(" ") });
        }
    }
    others.sort_by_key(|line| line.number);
    others
}

/// The item of this label.
///
/// # Errors
///
/// [`Error::NotFound`] where the round has none.
pub(super) async fn item_of(tx: &mut Tx, round: &Round, label: &str) -> Result<Item, Error> {
    let items = rounds::items(tx, round.id).await?;
    items.into_iter().find(|item| item.label == label).ok_or(Error::NotFound)
}

async fn page(app: &App, tx: &mut Tx, person: &Person, round: Round, item: Item) -> Result<UnitsPage, Error> {
    let f = Frame::of(app, person);
    let (ledger, _) = units::ledger(tx, &round, &item).await?;
    let lines = lines(&f, tx, &round, &item, &ledger).await?;
    let measurands = measurands::of_round(tx, round.id).await?;
    let withdrawn = notices(&f, tx, &round, std::slice::from_ref(&item), &measurands).await?;
    let sent = |line: &&UnitLine| !line.dispatched.is_empty();
    Ok(UnitsPage {
        organiser: person.actor.may_organise().is_ok(),
        made: ledger.made,
        spares: ledger.spares().len(),
        tested: ledger.tested.len(),
        without: lines.iter().filter(|line| line.number.is_empty()).count(),
        waiting: lines.iter().filter(|line| !line.number.is_empty() && line.dispatched.is_empty()).count(),
        unconfirmed: lines
            .iter()
            .filter(sent)
            .filter(|line| line.received.is_empty())
            .map(|line| line.code.clone())
            .collect(),
        others: others(&f, &ledger),
        lines,
        withdrawn,
        typed: Fields::default(),
        errors: Errors::default(),
        f,
        round,
        item,
    })
}

/// `GET /rounds/{code}/items/{label}`: the ledger of the item's units, by code.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory, and for an item that the round does not have.
pub async fn ledger(
    State(app): State<App>,
    person: Person,
    Path((code, label)): Path<(String, String)>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    let item = item_of(&mut tx, &round, &label).await?;
    ok(&page(&app, &mut tx, &person, round, item).await?)
}

/// `POST /rounds/{code}/items/{label}`: changes the ledger, as the field `command` says.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser; a conflict where units are
/// given to participants before the round is open.
pub async fn change(
    State(app): State<App>,
    Path((code, label)): Path<(String, String)>,
    posted: Posted,
) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let actor = &posted.person.actor;
    let round = organised_round(&mut tx, actor, &code).await?;
    let item = item_of(&mut tx, &round, &label).await?;
    let get = |name: &str| posted.fields.get(name);
    let command = match get("command") {
        "make" => Command::Make(get("made")),
        "assign" => Command::Assign,
        "dispatch" => Command::Dispatch(get("dispatched_on"), get("carrier")),
        "replace" => Command::Replace(get("code"), get("reason")),
        "void" => Command::Void(get("number"), get("remark")),
        "note" => Command::Note(get("number"), get("remark")),
        _ => return Err(Error::Unreadable(Problem::new("error-form-fields"))),
    };
    match units::change(&mut tx, actor, &round, &item, command, &mut secret::below, app.clock.now()).await {
        Ok(done) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/items/{label}"), done))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let mut page = page(&app, &mut tx, &posted.person, round, item).await?;
            page.errors = Errors::of(app.words, &errors);
            page.typed = posted.fields;
            unprocessable(&page)
        }
    }
}

/// `GET /rounds/{code}/items/{label}/units.csv` and `.xlsx`.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory, and for an item that the round does not have.
pub async fn file(
    State(app): State<App>,
    person: Person,
    Path((code, label)): Path<(String, String)>,
    kind: Kind,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    let item = item_of(&mut tx, &round, &label).await?;
    let f = Frame::of(&app, &person);
    let (ledger, _) = units::ledger(&mut tx, &round, &item).await?;
    let lines = lines(&f, &mut tx, &round, &item, &ledger).await?;
    drop(tx);
    kind.send(&format!("{}-units-{}", round.code, item.label), sheets::units(&f, &round, &item, &lines)).await
}

/// What was withdrawn of these items, as it is told to all; oldest first.
///
/// # Errors
///
/// What the database says.
pub async fn notices(
    f: &Frame,
    tx: &mut Tx,
    round: &Round,
    items: &[Item],
    measurands: &[Measurand],
) -> Result<Vec<String>, Error> {
    let mut notices = Vec::new();
    for withdrawal in store::of_round(tx, round.id).await? {
        let Some(item) = items.iter().find(|item| item.id == withdrawal.item) else { continue };
        let only = withdrawal.measurand().and_then(|id| measurands.iter().find(|m| m.id == id));
        let what = match only {
            Some(m) => f.t2("measurand-name", "analyte", &m.analyte, "item", &item.label),
            None => f.t1("item-name", "item", &item.label),
        };
        let at = show::instant(withdrawal.at(), &round.time_zone);
        notices.push(f.t3("withdrawn-notice", "what", what, "reason", &withdrawal.reason, "at", at));
    }
    Ok(notices)
}

#[derive(Template)]
#[template(path = "items/withdraw.html")]
struct WithdrawPage {
    f: Frame,
    round: Round,
    item: Item,
    measurands: Vec<Measurand>,
    people: usize,
    mail: bool,
    what: String,
    reason: String,
    errors: Errors,
}

async fn withdraw_page(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    round: Round,
    item: Item,
) -> Result<WithdrawPage, Error> {
    let all = measurands::of_round(tx, round.id).await?;
    Ok(WithdrawPage {
        f: Frame::of(app, person),
        measurands: all.into_iter().filter(|m| m.item == item.id).collect(),
        people: participants::of_round(tx, round.id).await?.len(),
        mail: app.post().is_set_up(),
        what: String::new(),
        reason: String::new(),
        errors: Errors::default(),
        round,
        item,
    })
}

/// `GET /rounds/{code}/items/{label}/withdraw`.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser; a conflict before the round is open.
pub async fn ask_withdraw(
    State(app): State<App>,
    person: Person,
    Path((code, label)): Path<(String, String)>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = organised_round(&mut tx, &person.actor, &code).await?;
    if round.is_draft() {
        return Err(Error::conflict("conflict-withdraw-draft"));
    }
    let item = item_of(&mut tx, &round, &label).await?;
    ok(&withdraw_page(&app, &mut tx, &person, round, item).await?)
}

/// `POST /rounds/{code}/items/{label}/withdraw`: tells everybody at once.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser; a conflict before the round is
/// open, and once it is published.
pub async fn withdraw(
    State(app): State<App>,
    Path((code, label)): Path<(String, String)>,
    posted: Posted,
) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let actor = &posted.person.actor;
    let round = organised_round(&mut tx, actor, &code).await?;
    let item = item_of(&mut tx, &round, &label).await?;
    let all = measurands::of_round(&mut tx, round.id).await?;
    let own: Vec<Measurand> = all.into_iter().filter(|m| m.item == item.id).collect();
    let (what, reason) = (posted.fields.get("what"), posted.fields.get("reason"));
    let only = own.iter().find(|m| m.position.to_string() == what);
    let done = if what == "item" || only.is_some() {
        let what = What { item: &item, measurands: &own, only };
        withdrawals::withdraw(&mut tx, actor, &round, what, reason, &app.post(), app.clock.now()).await
    } else {
        let mut errors = FieldErrors::new();
        errors.push("what", Problem::new("withdrawal-what"));
        Err(Refused::Fields(errors))
    };
    match done {
        Ok(()) => {
            tx.commit().await?;
            app.wake_mail();
            Ok(go(&format!("/rounds/{code}/items/{label}"), "item-withdrawn"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let mut page = withdraw_page(&app, &mut tx, &posted.person, round, item).await?;
            page.what = what.to_owned();
            page.reason = reason.to_owned();
            page.errors = Errors::of(app.words, &errors);
            unprocessable(&page)
        }
    }
}
