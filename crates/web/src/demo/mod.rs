//! The demonstration: an invented scheme with its rounds, made through the same
//! actions that a person's clicks run.

mod after;
mod analytes;
pub mod cases;
mod consents;
mod digits;
mod editions;
mod exclusions;
mod items;
mod judgements;
mod laboratories;
mod mistakes;
mod model;
mod plan;
mod random;
mod report;
pub mod scenario;
mod sending;
#[cfg(test)]
mod tests;

use crate::actions::accounts::{self, SetupForm};
use crate::actions::approval::{self, Said};
use crate::actions::evaluation::{self, Decision, MeasurandDecision, Publishing};
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
use roundel_domain::id::{EvaluationId, UserId};
use roundel_domain::import::File;
use roundel_domain::judgement::Topic;
use roundel_domain::laboratory::NewLaboratory;
use roundel_domain::round::{Round, RoundForm};
use roundel_store::{Db, Tx, accounts as people, measurands, participants, rounds};
use scenario::{ExclusionKind, Scenario};
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

/// Fills an empty database: the rounds QW-1 to QW-3 published, round QW-4 open until
/// 14 days after `now`. Receipts have their addresses at `public_url`.
///
/// # Errors
///
/// What an action says.
pub async fn fill(db: &Db, now: Timestamp, public_url: &str) -> Result<Vec<Account>, Error> {
    let post = Post::none(public_url.into());
    let (first, second, third) = (scenario::round_qw1(), scenario::round_qw2(), scenario::round_qw3());
    let mut made = Made { actors: HashMap::new(), accounts: Vec::new() };
    let organiser = set_up(db, &first, instant("2024-01-15T09:00:00Z"), &mut made.accounts).await?;
    let staff = staff(db, organiser, instant("2024-01-15T10:00:00Z"), &mut made.accounts).await?;
    for (scenario, dates) in [(&first, &QW_1), (&second, &QW_2), (&third, &QW_3)] {
        collect(db, &staff, scenario, dates, &mut made, &post).await?;
        let closed = close(db, &staff, scenario, instant(dates.closes)).await?;
        finish(db, &staff, scenario, closed, &post).await?;
        let reported = closed + SignedDuration::from_hours(18 * 24 + 4);
        report::issue(db, &staff, scenario.code, &post, reported).await?;
        if scenario.code == "QW-1" {
            after::appeals(db, &staff, scenario, &made, &post).await?;
            consents::release(db, &staff, scenario, &made).await?;
        }
    }
    let ends = (now + SignedDuration::from_hours(14 * 24))
        .to_zoned(jiff::tz::TimeZone::get("Europe/Vienna").unwrap_or(jiff::tz::TimeZone::UTC));
    let ends = (ends.strftime("%Y-%m-%d").to_string(), ends.strftime("%H:%M").to_string());
    let title = "Trace organic contaminants in natural waters, for trying the form (demonstration data)";
    design(db, &staff, &third, "QW-4", title, (&ends.0, &ends.1), &At { made: now, opened: now }).await?;
    Ok(made.accounts)
}

/// Fills an empty database with the round QW-1 as it is after the deadline: closed,
/// nothing looked at and nothing decided.
///
/// # Errors
///
/// What an action says.
pub async fn fill_unreviewed(db: &Db, public_url: &str) -> Result<Vec<Account>, Error> {
    let scenario = scenario::round_qw1();
    let mut made = Made { actors: HashMap::new(), accounts: Vec::new() };
    let organiser = set_up(db, &scenario, instant("2024-01-15T09:00:00Z"), &mut made.accounts).await?;
    let staff = staff(db, organiser, instant("2024-01-15T10:00:00Z"), &mut made.accounts).await?;
    collect(db, &staff, &scenario, &QW_1, &mut made, &Post::none(public_url.into())).await?;
    close(db, &staff, &scenario, instant(QW_1.closes)).await?;
    Ok(made.accounts)
}

/// A round from its first page to the last result.
async fn collect(
    db: &Db,
    staff: &Staff,
    scenario: &Scenario,
    dates: &Dates,
    made: &mut Made,
    post: &Post,
) -> Result<(), Error> {
    let at = At { made: instant(dates.made), opened: instant(dates.opened) };
    let title = format!("{} (demonstration data)", scenario.title);
    design(db, staff, scenario, scenario.code, &title, (dates.planned, "17:00"), &at).await?;
    join(db, &staff.organiser, scenario, at.made, made).await?;
    if dates.planned != dates.closes_on {
        after::extend(db, staff, scenario, dates, post).await?;
    }
    sending::send(db, scenario, &made.actors, &at, instant(dates.closes), post).await
}

/// Who acts for each laboratory, and what everybody signs in with.
struct Made {
    actors: HashMap<&'static str, Actor>,
    accounts: Vec<Account>,
}

/// When a published round was what. `planned` is the day of the deadline that its
/// plan began with, `closes_on` that of the deadline in the end, in Vienna, at
/// 17:00; `closes` the instant.
struct Dates {
    made: &'static str,
    opened: &'static str,
    planned: &'static str,
    closes_on: &'static str,
    closes: &'static str,
}

const QW_1: Dates = Dates {
    made: "2024-02-01T09:00:00Z",
    opened: "2024-03-04T08:00:00Z",
    planned: "2024-03-27",
    closes_on: "2024-03-29",
    closes: "2024-03-29T16:00:00Z",
};

const QW_2: Dates = Dates {
    made: "2024-08-01T08:00:00Z",
    opened: "2024-09-02T07:00:00Z",
    planned: "2024-09-27",
    closes_on: "2024-09-27",
    closes: "2024-09-27T15:00:00Z",
};

const QW_3: Dates = Dates {
    made: "2025-02-03T09:00:00Z",
    opened: "2025-03-03T08:00:00Z",
    planned: "2025-03-28",
    closes_on: "2025-03-28",
    closes: "2025-03-28T16:00:00Z",
};

fn instant(text: &str) -> Timestamp {
    text.parse().expect("an instant of ours")
}

/// The organiser's other people: who decides and evaluates, who approves, and a
/// reviewer who has no part in the rounds.
#[derive(Clone, Copy, Debug)]
struct Staff {
    organiser: Actor,
    statistician: Actor,
    reviewer: Actor,
    outside: Actor,
}

/// The organiser invites a statistician and two reviewers, who come in.
async fn staff(db: &Db, organiser: Actor, now: Timestamp, accounts: &mut Vec<Account>) -> Result<Staff, Error> {
    let mut actors = Vec::new();
    for (duty, name, email, password) in [
        (Duty::Statistician, "Stellan Reed", "statistician@quillmere.example", "paper boat at noon on the mere"),
        (Duty::Reviewer, "Rowena Alder", "reviewer@quillmere.example", "paper boat under the old bridge"),
        (Duty::Reviewer, "Ottilie Fenn", "appeals@quillmere.example", "paper boat in the far reeds"),
    ] {
        let mut tx = db.write().await?;
        let form = InviteForm { email: email.to_owned(), duty: duty.word().to_owned() };
        let invited = actions::staff::invite(&mut tx, &organiser, &form, now).await.map_err(fault)?;
        let user = actions::staff::accept(&mut tx, &invited.token, name, password, now).await.map_err(fault)?;
        tx.commit().await?;
        accounts.push(Account { role: duty.word().to_owned(), email: email.to_owned(), password: password.to_owned() });
        actors.push(Actor::new(user, Standing::Staff(duty)));
    }
    Ok(Staff { organiser, statistician: actors[0], reviewer: actors[1], outside: actors[2] })
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
    actions::design::set_plans(&mut tx, organiser, &round, &plan::of_measurands(scenario), at.made)
        .await
        .map_err(fault)?;
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
    if code == scenario.code {
        items::before_opening(&mut tx, organiser, scenario, &round, at.made).await?;
    }
    agree(&mut tx, staff, &round, at).await?;
    actions::rounds::open(&mut tx, organiser, &round, at.opened).await?;
    // Of the first round the ledger of units is kept too, as a large scheme does.
    if code == "QW-1" {
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
        // X17: one laboratory reports the salt.
        forms: if code == "QW-1" { "ibuprofen; lysine salt; 1.71" } else { "" }.to_owned(),
        ..AsksForm::suggested()
    }
}

/// The scenario's measurands as the file that an organiser uploads.
fn measurands_file(scenario: &Scenario) -> String {
    let mut file = "item,analyte,unit,decimals,required_loq,replicates\n".to_owned();
    for m in &scenario.measurands {
        let cells = [m.item, m.analyte, m.unit, "0", m.required_loq, "1"];
        file.push_str(&cells.join(","));
        file.push('\n');
    }
    file
}

/// Every laboratory that has no account yet accepts its invitation.
async fn join(db: &Db, organiser: &Actor, scenario: &Scenario, now: Timestamp, made: &mut Made) -> Result<(), Error> {
    let mut tx = db.write().await?;
    let round = rounds::by_code(&mut tx, scenario.code).await?.ok_or(Error::NotFound)?;
    let enrolled = participants::of_round(&mut tx, round.id).await?;
    for laboratory in scenario.laboratories.iter().filter(|one| !made.actors.contains_key(one.id)).collect::<Vec<_>>() {
        let code = laboratory.code.to_string();
        let participant = enrolled.iter().find(|p| p.code == code).ok_or(Error::NotFound)?;
        let password = format!("paper boat of {}", laboratory.id);
        let token = accounts::invite(&mut tx, organiser, participant.laboratory, now).await?;
        let name = format!("Analyst of {}", laboratory.id);
        let user: UserId =
            accounts::accept(&mut tx, &token, &name, laboratory.email, &password, now).await.map_err(fault)?;
        let account = people::by_email(&mut tx, &laboratory.email.to_lowercase()).await?.ok_or(Error::NotFound)?;
        debug_assert_eq!(account.id, user);
        made.actors.insert(laboratory.id, account.actor());
        let role = format!("laboratory {} {}", laboratory.id, laboratory.name);
        made.accounts.push(Account { role, email: laboratory.email.to_owned(), password });
    }
    tx.commit().await?;
    Ok(())
}

/// The organiser closes two days after the deadline: when.
async fn close(db: &Db, staff: &Staff, scenario: &Scenario, deadline: Timestamp) -> Result<Timestamp, Error> {
    let closed = deadline + SignedDuration::from_hours(48);
    let mut tx = db.write().await?;
    let open = rounds::by_code(&mut tx, scenario.code).await?.ok_or(Error::NotFound)?;
    actions::rounds::close(&mut tx, &staff.organiser, &open, closed).await?;
    tx.commit().await?;
    Ok(closed)
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

/// The statistician leaves the blunders out of the summary, decides on measurands and
/// evaluates; the organiser publishes.
async fn finish(db: &Db, staff: &Staff, scenario: &Scenario, closed: Timestamp, post: &Post) -> Result<(), Error> {
    let decided = closed + SignedDuration::from_hours(5 * 24);
    let published = closed + SignedDuration::from_hours(18 * 24);
    let mut tx = db.write().await?;
    let round = rounds::by_code(&mut tx, scenario.code).await?.ok_or(Error::NotFound)?;
    let items = rounds::items(&mut tx, round.id).await?;
    let measurands = measurands::of_round(&mut tx, round.id).await?;
    let enrolled = participants::of_round(&mut tx, round.id).await?;
    // Late results and those of a second laboratory of an organisation are left
    // out by rule; only what a person decides is decided here.
    for exclusion in scenario.exclusions.iter().filter(|e| e.kind == ExclusionKind::Blunder) {
        let code = scenario.laboratories.iter().find(|l| l.id == exclusion.laboratory).map(|l| l.code.to_string());
        let participant = enrolled.iter().find(|p| Some(&p.code) == code.as_ref()).ok_or(Error::NotFound)?;
        let item = items.iter().find(|item| item.label == exclusion.item).ok_or(Error::NotFound)?;
        let measurand =
            measurands.iter().find(|m| m.item == item.id && m.analyte == exclusion.analyte).ok_or(Error::NotFound)?;
        let decision = Decision { exclude: true, reason: exclusion.reason };
        evaluation::decide(&mut tx, &staff.statistician, &round, participant, measurand, decision, decided)
            .await
            .map_err(fault)?;
    }
    for judged in scenario.judgements() {
        let item = items.iter().find(|item| item.label == judged.item).ok_or(Error::NotFound)?;
        let measurand =
            measurands.iter().find(|m| m.item == item.id && m.analyte == judged.analyte).ok_or(Error::NotFound)?;
        let actor = if judged.topic == Topic::Consent { &staff.reviewer } else { &staff.statistician };
        let decision = MeasurandDecision { topic: judged.topic, kind: judged.kind, number: "", reason: judged.reason };
        evaluation::decide_measurand(&mut tx, actor, &round, measurand, decision, decided).await.map_err(fault)?;
    }
    items::after_closing(&mut tx, &staff.statistician, scenario, &round, decided).await?;
    let evaluated = evaluation::evaluate(&mut tx, &staff.statistician, &round, published).await?;
    release(&mut tx, staff, &round, evaluated, "Released as final after review.", post, published).await?;
    tx.commit().await?;
    Ok(())
}
