//! The demonstration: an invented scheme with its rounds, made through the same
//! actions that a person's clicks run.

mod analytes;
mod digits;
mod exclusions;
mod items;
mod laboratories;
mod mistakes;
mod model;
mod plan;
mod random;
pub mod scenario;
#[cfg(test)]
mod tests;

use crate::actions::accounts::{self, SetupForm};
use crate::actions::approval::{self, Said};
use crate::actions::evaluation::{self, Decision, Publishing};
use crate::actions::results::{Form, Own, SendForm};
use crate::actions::staff::InviteForm;
use crate::actions::{self, Refused};
use crate::error::Error;
use crate::evaluated::Evaluated;
use crate::files;
use crate::mail::Post;
use jiff::{SignedDuration, Timestamp};
use roundel_domain::access::{Actor, Duty, Standing};
use roundel_domain::approval::Verdict;
use roundel_domain::asks::AsksForm;
use roundel_domain::checklist::Heading;
use roundel_domain::code::LabCode;
use roundel_domain::declared;
use roundel_domain::id::{EvaluationId, UserId};
use roundel_domain::import::File;
use roundel_domain::laboratory::NewLaboratory;
use roundel_domain::plan::{PlanForm, Scope};
use roundel_domain::result::Typed;
use roundel_domain::round::{Round, RoundForm};
use roundel_store::participants::Participant;
use roundel_store::{Db, Tx, accounts as people, drafts, measurands, participants, rounds};
use scenario::{Cell, CellState, ExclusionKind, LaboratoryResults, Scenario, UncertaintyMode};
use std::collections::HashMap;
use std::path::Path;

/// The file that marks a folder as a demonstration's.
const MARK: &str = "demonstration";
/// The files of the database that a demonstration makes.
const FILES: [&str; 3] = ["roundel.sqlite", "roundel.sqlite-wal", "roundel.sqlite-shm"];

/// An account of the demonstration.
#[derive(Clone, Debug)]
pub struct Account {
    /// `organiser`, or `laboratory` and its name.
    pub role: String,
    /// Address to sign in with.
    pub email: String,
    /// Password.
    pub password: String,
}

/// Makes the folder ready: removes what an earlier demonstration left, and
/// nothing else.
///
/// # Errors
///
/// A sentence, when the folder holds a database that is not a demonstration's.
pub fn clear_folder(folder: &Path) -> Result<(), String> {
    let failed = |error: std::io::Error| format!("could not prepare the folder {}: {error}", folder.display());
    let mark = folder.join(MARK);
    let database = folder.join(FILES[0]);
    if database.exists() && !mark.exists() {
        return Err(format!(
            "{} holds a database that is not a demonstration's. Choose another folder with --data.",
            folder.display()
        ));
    }
    files::make_private(folder).map_err(failed)?;
    for file in FILES {
        match std::fs::remove_file(folder.join(file)) {
            Err(error) if error.kind() != std::io::ErrorKind::NotFound => return Err(failed(error)),
            _ => {}
        }
    }
    std::fs::write(mark, "This folder holds demonstration data and is emptied at each start.\n").map_err(failed)
}

fn fault(refused: Refused) -> Error {
    match refused {
        Refused::Error(error) => error,
        Refused::Fields(errors) => {
            let first = errors.iter().next().map(|(field, problem)| format!("{field}: {problem}"));
            Error::Fault(format!("make the demonstration: {}", first.unwrap_or_default()))
        }
    }
}

fn file_fault(refused: actions::design::FileRefused) -> Error {
    match refused {
        actions::design::FileRefused::Error(error) => error,
        actions::design::FileRefused::Rows(rows) => {
            let first = rows.first().map(|row| format!("line {}: {}", row.line, row.problem));
            Error::Fault(format!("make the demonstration: {}", first.unwrap_or_default()))
        }
    }
}

/// Fills an empty database: round QW-1 of March 2024 published, round QW-4 open
/// until 14 days after `now`. Receipts have their addresses at `public_url`.
///
/// # Errors
///
/// What an action says.
pub async fn fill(db: &Db, now: Timestamp, public_url: &str) -> Result<Vec<Account>, Error> {
    let scenario = scenario::round_qw1();
    let post = Post::none(public_url.into());
    let at = |text: &str| text.parse::<Timestamp>().expect("an instant of ours");
    let mut accounts = Vec::new();
    let organiser = set_up(db, &scenario, at("2024-01-15T09:00:00Z"), &mut accounts).await?;
    let staff = staff(db, organiser, at("2024-01-15T10:00:00Z"), &mut accounts).await?;
    let organiser = staff.organiser;
    let first = At { made: at("2024-02-01T09:00:00Z"), opened: at("2024-03-04T08:00:00Z") };
    let deadline = ("2024-03-29", "17:00", at("2024-03-29T16:00:00Z"));
    let title = format!("{} (demonstration data)", scenario.title);
    design(db, &staff, &scenario, "QW-1", &title, (deadline.0, deadline.1), &first).await?;
    let actors = join(db, &organiser, &scenario, first.made, &mut accounts).await?;
    send(db, &scenario, &actors, &first, deadline.2, &post).await?;
    finish(db, &staff, &scenario, deadline.2, &post).await?;
    let ends = (now + SignedDuration::from_hours(14 * 24))
        .to_zoned(jiff::tz::TimeZone::get("Europe/Vienna").unwrap_or(jiff::tz::TimeZone::UTC));
    let ends = (ends.strftime("%Y-%m-%d").to_string(), ends.strftime("%H:%M").to_string());
    let title = "Trace organic contaminants in natural waters, for trying the form (demonstration data)";
    design(db, &staff, &scenario, "QW-4", title, (&ends.0, &ends.1), &At { made: now, opened: now }).await?;
    Ok(accounts)
}

/// The organiser's other people: who decides and evaluates, and who approves.
#[derive(Clone, Copy, Debug)]
struct Staff {
    organiser: Actor,
    statistician: Actor,
    reviewer: Actor,
}

/// The organiser invites a statistician and a reviewer, who come in.
async fn staff(db: &Db, organiser: Actor, now: Timestamp, accounts: &mut Vec<Account>) -> Result<Staff, Error> {
    let mut actors = Vec::new();
    for (duty, name, email, password) in [
        (Duty::Statistician, "Stellan Reed", "statistician@quillmere.example", "paper boat at noon on the mere"),
        (Duty::Reviewer, "Rowena Alder", "reviewer@quillmere.example", "paper boat under the old bridge"),
    ] {
        let mut tx = db.write().await?;
        let form = InviteForm { email: email.to_owned(), duty: duty.word().to_owned() };
        let invited = actions::staff::invite(&mut tx, &organiser, &form, now).await.map_err(fault)?;
        let user = actions::staff::accept(&mut tx, &invited.token, name, password, now).await.map_err(fault)?;
        tx.commit().await?;
        accounts.push(Account { role: duty.word().to_owned(), email: email.to_owned(), password: password.to_owned() });
        actors.push(Actor::new(user, Standing::Staff(duty)));
    }
    Ok(Staff { organiser, statistician: actors[0], reviewer: actors[1] })
}

/// When a round is made and opened.
struct At {
    made: Timestamp,
    opened: Timestamp,
}

async fn set_up(db: &Db, scenario: &Scenario, now: Timestamp, accounts: &mut Vec<Account>) -> Result<Actor, Error> {
    let password = "paper boat on a quiet mere";
    let form = SetupForm {
        provider: scenario.organiser.to_owned(),
        contact: "1 Weir Lane, Quillmere\noffice@quillmere.example".to_owned(),
        accreditation: String::new(),
        name: "Odile Marsh".to_owned(),
        email: "organiser@quillmere.example".to_owned(),
        password: password.to_owned(),
    };
    let mut tx = db.write().await?;
    let token = accounts::offer_setup(&mut tx, now).await?.ok_or_else(|| Error::conflict("conflict-published"))?;
    let user = accounts::set_up(&mut tx, &token, &form, true, now).await.map_err(fault)?;
    tx.commit().await?;
    accounts.push(Account { role: "organiser".to_owned(), email: form.email, password: password.to_owned() });
    Ok(Actor::Organiser { user })
}

const INSTRUCTIONS: &str = "Treat the items as routine samples. Keep them at 4 °C in the dark and begin within five days of receipt.\n\
    Report one result for each analyte and item in ng/L, with three significant digits, corrected for recovery as in routine work.\n\
    Report a content below your limit of quantification as < and the limit. The plan asks for a limit of 25 ng/L at most.\n\
    Give the expanded uncertainty with its coverage factor.\n\
    Do not compare results with other laboratories before the report is published.";

/// For whoever tries the form and has no bottle.
const LABELS: &str = "For trying this form: the codes on the labels stand on the organiser's page of the round, under “Labels of the items”.";

/// Sets a round up, enrols everybody, and opens it.
async fn design(
    db: &Db,
    staff: &Staff,
    scenario: &Scenario,
    code: &str,
    title: &str,
    (closes_on, closes_time): (&str, &str),
    at: &At,
) -> Result<(), Error> {
    let organiser = &staff.organiser;
    let form = RoundForm {
        code: code.to_owned(),
        title: title.to_owned(),
        scheme: scenario.scheme.to_owned(),
        closes_on: closes_on.to_owned(),
        closes_time: closes_time.to_owned(),
        time_zone: "Europe/Vienna".to_owned(),
        instructions: if code == "QW-4" { format!("{INSTRUCTIONS}\n{LABELS}") } else { INSTRUCTIONS.to_owned() },
    };
    let mut tx = db.write().await?;
    actions::rounds::create(&mut tx, organiser, &form, at.made).await.map_err(fault)?;
    let round = rounds::by_code(&mut tx, code).await?.ok_or(Error::NotFound)?;
    for item in &scenario.items {
        let matrix = item.description.split(',').next().unwrap_or_default();
        actions::design::add_item(&mut tx, organiser, &round, item.label, matrix, at.made).await.map_err(fault)?;
    }
    let file = measurands_file(scenario);
    actions::design::import_measurands(&mut tx, organiser, &round, &File::read(file.as_bytes()), at.made)
        .await
        .map_err(file_fault)?;
    let known = measurands::of_round(&mut tx, round.id).await?;
    for (measurand, planned) in known.iter().zip(&scenario.measurands) {
        if let Some(limit) = planned.absent_below {
            let form = PlanForm { route: "absent".to_owned(), absent_below: limit.to_owned(), ..PlanForm::default() };
            let planned = actions::design::set_plan(&mut tx, organiser, &round, measurand, &form, Scope::One, at.made);
            planned.await.map_err(fault)?;
        }
    }
    for laboratory in &scenario.laboratories {
        let new = NewLaboratory {
            name: laboratory.name.to_owned(),
            email: laboratory.email.to_owned(),
            organisation: laboratory.organisation.map(str::to_owned),
        };
        let mut draw = || {
            if code == scenario.code {
                laboratory.code
            } else {
                LabCode::from_random(random::bytes(&["code", code, laboratory.id]))
            }
        };
        actions::laboratories::enrol(&mut tx, organiser, &round, &new, &mut draw, at.made).await.map_err(fault)?;
    }
    actions::rounds::set_asks(&mut tx, organiser, &round, &asks(code), at.made).await.map_err(fault)?;
    let round = rounds::by_code(&mut tx, code).await?.ok_or(Error::NotFound)?;
    let whole = code == scenario.code;
    if whole {
        items::before_opening(&mut tx, organiser, scenario, &round, at.made).await?;
    }
    agree(&mut tx, staff, &round, at).await?;
    actions::rounds::open(&mut tx, organiser, &round, at.opened).await?;
    if whole {
        let round = rounds::by_code(&mut tx, code).await?.ok_or(Error::NotFound)?;
        let late = items::late_parcel(&mut tx, scenario, &round).await?;
        items::dispatch(&mut tx, organiser, &round, late.as_deref(), at.opened).await?;
    }
    tx.commit().await?;
    Ok(())
}

/// The organiser writes and freezes the plan, the reviewer signs it too.
async fn agree(tx: &mut Tx, staff: &Staff, round: &Round, at: &At) -> Result<(), Error> {
    let before = |days: i64| (at.opened - SignedDuration::from_hours(24 * days)).max(at.made);
    let texts: HashMap<&str, &str> = Heading::ALL.map(|heading| (heading.word(), plan::text(heading))).into();
    let text = |field: &str| texts.get(field).copied().unwrap_or_default();
    actions::plans::save_checklist(tx, &staff.organiser, round, text, before(6)).await.map_err(fault)?;
    let version = actions::plans::freeze(tx, &staff.organiser, round, before(5)).await?;
    actions::plans::sign(tx, &staff.reviewer, round, version, &Post::none("".into()), before(3)).await
}

/// What the rounds ask beside results. Limits for the performance of methods
/// are common practice of trace analysis in water.
fn asks(code: &str) -> AsksForm {
    AsksForm {
        arrival: "codes".to_owned(),
        span_from: "10".to_owned(),
        span_to: "500".to_owned(),
        span_unit: "ng/L".to_owned(),
        performance: if code == "QW-4" { "yes" } else { "" }.to_owned(),
        ..AsksForm::suggested()
    }
}

/// The scenario's measurands as the file that an organiser uploads.
fn measurands_file(scenario: &Scenario) -> String {
    let mut file = "item,analyte,unit,decimals,required_loq,replicates,x_pt,u_x_pt,sigma_pt_percent\n".to_owned();
    for m in &scenario.measurands {
        let (value, u, sigma) = match &m.formulation {
            Some(formulation) => {
                (formulation.value.as_str(), formulation.standard_uncertainty.as_str(), m.sigma_percent)
            }
            None => ("", "", ""),
        };
        let cells = [m.item, m.analyte, m.unit, "0", m.required_loq, "1", value, u, sigma];
        file.push_str(&cells.join(","));
        file.push('\n');
    }
    file
}

/// Every laboratory accepts its invitation; who acts for it.
async fn join(
    db: &Db,
    organiser: &Actor,
    scenario: &Scenario,
    now: Timestamp,
    accounts: &mut Vec<Account>,
) -> Result<HashMap<&'static str, Actor>, Error> {
    let mut actors = HashMap::new();
    let mut tx = db.write().await?;
    let round = rounds::by_code(&mut tx, scenario.code).await?.ok_or(Error::NotFound)?;
    let enrolled = participants::of_round(&mut tx, round.id).await?;
    for laboratory in &scenario.laboratories {
        let code = laboratory.code.to_string();
        let participant = enrolled.iter().find(|p| p.code == code).ok_or(Error::NotFound)?;
        let password = format!("paper boat of {}", laboratory.id);
        let token = accounts::invite(&mut tx, organiser, participant.laboratory, now).await?;
        let name = format!("Analyst of {}", laboratory.id);
        let user: UserId =
            accounts::accept(&mut tx, &token, &name, laboratory.email, &password, now).await.map_err(fault)?;
        let account = people::by_email(&mut tx, &laboratory.email.to_lowercase()).await?.ok_or(Error::NotFound)?;
        debug_assert_eq!(account.id, user);
        actors.insert(laboratory.id, account.actor());
        let role = format!("laboratory {} {}", laboratory.id, laboratory.name);
        accounts.push(Account { role, email: laboratory.email.to_owned(), password });
    }
    tx.commit().await?;
    Ok(actors)
}

/// Everybody types and sends, with the mistakes of the scenario.
async fn send(
    db: &Db,
    scenario: &Scenario,
    actors: &HashMap<&'static str, Actor>,
    at: &At,
    deadline: Timestamp,
    post: &Post,
) -> Result<(), Error> {
    let mut tx = db.write().await?;
    let round = rounds::by_code(&mut tx, scenario.code).await?.ok_or(Error::NotFound)?;
    let enrolled = participants::of_round(&mut tx, round.id).await?;
    for (number, laboratory) in scenario.laboratories.iter().enumerate() {
        let code = laboratory.code.to_string();
        let participant = enrolled.iter().find(|p| p.code == code).ok_or(Error::NotFound)?;
        let sender = Sender {
            own: Own::load(&mut tx, round.clone(), participant.clone()).await?,
            actor: actors.get(laboratory.id).ok_or(Error::NotFound)?,
            post,
        };
        let when = match laboratory.late_by_hours {
            Some(hours) => deadline + SignedDuration::from_hours(i64::from(hours)),
            // A few hours apart, all in the last days before the deadline.
            None => at.opened + SignedDuration::from_hours(24 * 20 + 3 * i64::try_from(number).unwrap_or(0)),
        };
        if let Some(attempt) = &laboratory.refused_attempt
            && !attempt.typed.is_empty()
        {
            let mut cells = laboratory.cells.clone();
            for cell in &mut cells {
                if let Some((_, _, text)) =
                    attempt.typed.iter().find(|(item, analyte, _)| *item == cell.item && *analyte == cell.analyte)
                {
                    cell.state = CellState::Value;
                    cell.text = (*text).to_owned();
                    cell.choice = None;
                }
            }
            sender.refuse(&mut tx, laboratory, &cells, when).await?;
        }
        if let Some(other) = laboratory.refused_attempt.as_ref().and_then(|attempt| attempt.code_of) {
            sender.use_label_of(&mut tx, other, &scenario.laboratories, &enrolled, when).await?;
        }
        let later = when + SignedDuration::from_mins(20);
        sender.save(&mut tx, laboratory.id, &laboratory.cells, later).await?;
        if !laboratory.draft_only {
            sender.submit(&mut tx, laboratory, later).await?;
        }
    }
    tx.commit().await?;
    Ok(())
}

struct Sender<'a> {
    own: Own,
    actor: &'a Actor,
    post: &'a Post,
}

impl Sender<'_> {
    async fn save(&self, tx: &mut Tx, laboratory: &str, cells: &[Cell], now: Timestamp) -> Result<(), Error> {
        let own = &self.own;
        let mut typed = form(cells, |item, analyte| {
            let item = own.items.iter().find(|known| known.label == item)?;
            own.measurands.iter().find(|m| m.item == item.id && m.analyte == analyte).map(|m| m.position)
        });
        beside(&mut typed, own, laboratory, now);
        let posted = typed.0.iter().map(|(name, text)| (name.as_str(), text.as_str()));
        actions::results::save(tx, self.actor, own, posted, Form::default(), now).await?;
        Ok(())
    }

    /// Says of all questions that everything is right, as each laboratory of the
    /// scenario does.
    async fn confirm(&self, tx: &mut Tx, now: Timestamp) -> Result<(), Error> {
        let draft = drafts::get(tx, self.own.participant.id).await?;
        let findings = self.own.read(&draft.typed, now).sheet.findings;
        let answers: Vec<(String, String)> =
            findings.iter().map(|finding| (declared::answer_field(finding), declared::confirmation(finding))).collect();
        let posted = answers.iter().map(|(name, text)| (name.as_str(), text.as_str()));
        actions::results::save(tx, self.actor, &self.own, posted, Form::default(), now).await?;
        Ok(())
    }

    async fn submit(&self, tx: &mut Tx, laboratory: &LaboratoryResults, now: Timestamp) -> Result<(), Error> {
        self.confirm(tx, now).await?;
        let once = format!("demonstration of {}", laboratory.id);
        self.send(tx, &once, now).await.map_err(fault)
    }

    async fn send(&self, tx: &mut Tx, once: &str, now: Timestamp) -> Result<(), Refused> {
        let form = SendForm { once, replace_in_time: false, typed: None, confirmed: &[], from: Form::default() };
        let Own { round, participant, .. } = &self.own;
        actions::results::submit(tx, self.actor, round, participant, form, self.post, now).await?;
        Ok(())
    }

    /// The first attempt of the scenario, which the form must refuse.
    async fn refuse(
        &self,
        tx: &mut Tx,
        laboratory: &LaboratoryResults,
        cells: &[Cell],
        now: Timestamp,
    ) -> Result<(), Error> {
        self.save(tx, laboratory.id, cells, now).await?;
        self.must_refuse(tx, laboratory.id, now).await
    }

    async fn must_refuse(&self, tx: &mut Tx, laboratory: &str, now: Timestamp) -> Result<(), Error> {
        self.confirm(tx, now).await?;
        match self.send(tx, &format!("first attempt of {laboratory}"), now).await {
            Err(Refused::Fields(_)) => Ok(()),
            Err(Refused::Error(error)) => Err(error),
            Ok(()) => Err(Error::Fault(format!("make the demonstration: the first attempt of {laboratory} was taken"))),
        }
    }

    /// X22: types the code on a label of another laboratory's item first.
    async fn use_label_of(
        &self,
        tx: &mut Tx,
        other: &str,
        laboratories: &[LaboratoryResults],
        enrolled: &[Participant],
        now: Timestamp,
    ) -> Result<(), Error> {
        let code = laboratories.iter().find(|laboratory| laboratory.id == other).map(|l| l.code.to_string());
        let other = enrolled.iter().find(|p| Some(&p.code) == code.as_ref()).ok_or(Error::NotFound)?;
        let codes = participants::item_codes(tx, other.id).await?;
        let item = self.own.items.first().ok_or(Error::NotFound)?;
        let foreign = codes.iter().find(|(of, _)| *of == item.id).map(|(_, code)| code.clone()).unwrap_or_default();
        let field = format!("{}.code", item.label);
        let posted = [(field.as_str(), foreign.as_str())].into_iter();
        actions::results::save(tx, self.actor, &self.own, posted, Form::default(), now).await?;
        self.must_refuse(tx, &format!("{} with a foreign label", self.own.participant.code), now).await
    }
}

/// What a laboratory of the scenario says beside its results.
fn beside(typed: &mut Typed, own: &Own, laboratory: &str, now: Timestamp) {
    let day = |before: i64| (now - SignedDuration::from_hours(24 * before)).strftime("%Y-%m-%d").to_string();
    for item in &own.items {
        let mut set = |part: &str, text: &str| typed.set(&format!("{}.{part}", item.label), text);
        let code = own.codes.iter().find(|(of, _)| *of == item.id).map_or("", |(_, code)| code.as_str());
        set("code", code);
        set("received_on", &day(14));
        set("condition", "intact");
        set("analysed_on", &day(9));
    }
    let number: u32 = laboratory.trim_start_matches('P').parse().unwrap_or_default();
    // The groups M1 to M4 of the scenario.
    let (enrichment, detection, calibration, standard) = match number {
        1..=13 => ("online", "tandem_ms", "isotope_dilution", "labelled_each"),
        14..=26 => ("direct", "tandem_ms", "isotope_dilution", "labelled_each"),
        27..=34 => ("direct", "tandem_ms", "in_solvent", "no_standard"),
        _ => ("offline_solid_phase", "high_resolution_ms", "in_matrix", "labelled_some"),
    };
    for (field, text) in [
        ("all.unit", "ng/L"),
        ("all.m_enrichment", enrichment),
        ("all.m_separation", "liquid"),
        ("all.m_detection", detection),
        ("all.m_calibration", calibration),
        ("all.m_standard", standard),
        ("all.m_deviation", "no"),
        ("all.own", "yes"),
    ] {
        typed.set(field, text);
    }
    for measurand in declared::analytes(&own.measurands) {
        typed.set(&format!("{}.basis", measurand.position), "yes");
    }
}

/// The cells as the fields of the form.
fn form(cells: &[Cell], position: impl Fn(&str, &str) -> Option<i64>) -> Typed {
    let mut typed = Typed::default();
    for cell in cells {
        let Some(n) = position(cell.item, cell.analyte) else { continue };
        let mut set = |part: &str, text: &str| typed.0.insert(format!("{n}.{part}"), text.to_owned());
        let state = match cell.state {
            CellState::Value => "value",
            CellState::Below => "below",
            CellState::NotAnalysed => "not_analysed",
        };
        set("state", state);
        set("reason", if cell.state == CellState::NotAnalysed { "out_of_scope" } else { "" });
        set("v1", &cell.text);
        set("v1.reading", cell.choice.as_deref().unwrap_or_default());
        set("u", if cell.state == CellState::Value { &cell.uncertainty } else { "" });
        set("k", if cell.state == CellState::Value && !cell.uncertainty.is_empty() { &cell.k } else { "" });
        set("loq", &cell.loq);
        if let Some(mode) = cell.uncertainty_mode {
            let word = match mode {
                UncertaintyMode::Absolute => "absolute",
                UncertaintyMode::Percent => "percent",
            };
            typed.0.insert(format!("{}.u_as", cell.item), word.to_owned());
        }
    }
    typed
}

/// The reviewer approves the newest evaluation, and the organiser publishes it.
async fn release(
    tx: &mut Tx,
    staff: &Staff,
    round: &Round,
    evaluation: EvaluationId,
    meaning: &str,
    post: &Post,
    now: Timestamp,
) -> Result<(), Error> {
    let evaluated = Evaluated::load(tx, evaluation).await?;
    let state = approval::state(tx, round, &evaluated).await?.ok_or(Error::NotFound)?;
    let positions: Vec<i64> = state.lines.iter().map(|line| line.measurand.position).collect();
    let version = state.head.version;
    let said = Said { version, positions: &positions, verdict: Verdict::Approved, finding: "" };
    approval::say(tx, &staff.reviewer, round, &evaluated, &said, now).await.map_err(fault)?;
    let typed = Publishing { version, code: &round.code, meaning };
    evaluation::publish(tx, &staff.organiser, round, &evaluated, typed, post, now).await.map_err(fault)
}

/// The organiser closes, leaves the blunders out of the summary, evaluates and
/// publishes.
async fn finish(db: &Db, staff: &Staff, scenario: &Scenario, deadline: Timestamp, post: &Post) -> Result<(), Error> {
    let closed = deadline + SignedDuration::from_hours(48);
    let decided = closed + SignedDuration::from_hours(5 * 24);
    let published = closed + SignedDuration::from_hours(18 * 24);
    let mut tx = db.write().await?;
    let open = rounds::by_code(&mut tx, scenario.code).await?.ok_or(Error::NotFound)?;
    actions::rounds::close(&mut tx, &staff.organiser, &open, closed).await?;
    let round = rounds::by_code(&mut tx, scenario.code).await?.ok_or(Error::NotFound)?;
    let all = rounds::items(&mut tx, round.id).await?;
    let measurands = measurands::of_round(&mut tx, round.id).await?;
    let enrolled = participants::of_round(&mut tx, round.id).await?;
    // Late results and those of a second laboratory of an organisation are left
    // out by rule; only what a person decides is decided here.
    for exclusion in scenario.exclusions.iter().filter(|e| e.kind == ExclusionKind::Blunder) {
        let code = scenario.laboratories.iter().find(|l| l.id == exclusion.laboratory).map(|l| l.code.to_string());
        let participant = enrolled.iter().find(|p| Some(&p.code) == code.as_ref()).ok_or(Error::NotFound)?;
        let item = all.iter().find(|item| item.label == exclusion.item).ok_or(Error::NotFound)?;
        let measurand =
            measurands.iter().find(|m| m.item == item.id && m.analyte == exclusion.analyte).ok_or(Error::NotFound)?;
        let decision = Decision { exclude: true, reason: exclusion.reason };
        evaluation::decide(&mut tx, &staff.statistician, &round, participant, measurand, decision, decided)
            .await
            .map_err(fault)?;
    }
    items::after_closing(&mut tx, &staff.statistician, &round, decided).await?;
    let evaluated = evaluation::evaluate(&mut tx, &staff.statistician, &round, published).await?;
    release(&mut tx, staff, &round, evaluated, "Released as final after review.", post, published).await?;
    tx.commit().await?;
    Ok(())
}
