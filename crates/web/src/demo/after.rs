//! What happened to the first round besides: its deadline was moved for all (Y8), a
//! laboratory complained and two appealed (Y6, Y7), and one appeal led to a
//! correction.

use super::cases::{AMENDMENT, CASES, CORRECTION, Case, METFORMIN};
use super::scenario::{CellState, Scenario};
use super::{Dates, Made, Staff, evaluation, fault, instant, release, report};
use crate::actions::cases::{self, CaseForm, StepForm};
use crate::actions::{approval, plans};
use crate::error::Error;
use crate::mail::Post;
use jiff::{SignedDuration, Timestamp};
use roundel_domain::access::Actor;
use roundel_domain::case::{Kind, Outcome, Step};
use roundel_domain::plan::PlanForm;
use roundel_domain::round::Round;
use roundel_store::{Db, Tx, measurands, participants, rounds};

async fn round(tx: &mut Tx, scenario: &Scenario) -> Result<Round, Error> {
    rounds::by_code(tx, scenario.code).await?.ok_or(Error::NotFound)
}

/// Y8: the deadline is later for all, by an amendment that two persons signed.
pub(super) async fn extend(
    db: &Db,
    staff: &Staff,
    scenario: &Scenario,
    dates: &Dates,
    post: &Post,
) -> Result<(), Error> {
    let at = instant(dates.opened) + SignedDuration::from_hours(9 * 24);
    let mut tx = db.write().await?;
    let on = round(&mut tx, scenario).await?;
    let deadline = (dates.closes_on, "17:00");
    let proposed = plans::propose_deadline(&mut tx, &staff.organiser, &on, deadline, AMENDMENT, at).await;
    let version = proposed.map_err(fault)?;
    plans::sign(&mut tx, &staff.reviewer, &on, version, post, at + SignedDuration::from_hours(2)).await?;
    Ok(tx.commit().await?)
}

/// The steps of one case, a few days apart.
struct Told<'a> {
    laboratory: &'a str,
    kind: Kind,
    subject: &'a str,
    statement: &'a str,
    outcome: Outcome,
    /// The decision with its reason.
    decision: &'a str,
    received: Timestamp,
}

/// Y6 and Y7, each to its end.
pub(super) async fn appeals(
    db: &Db,
    staff: &Staff,
    scenario: &Scenario,
    made: &Made,
    post: &Post,
) -> Result<(), Error> {
    for (case, (subject, received)) in CASES.iter().zip([
        ("All our results in the wrong unit", "2024-04-22T08:00:00Z"),
        ("A late and warm parcel", "2024-03-11T10:00:00Z"),
    ]) {
        let Case { laboratory, is_appeal, text, upheld, outcome } = *case;
        let told = Told {
            laboratory,
            kind: if is_appeal { Kind::Appeal } else { Kind::Complaint },
            subject,
            statement: text,
            outcome: if upheld { Outcome::Upheld } else { Outcome::Rejected },
            decision: outcome,
            received: instant(received),
        };
        let number = decided(db, staff, scenario, made, &told).await?;
        answered(db, staff, scenario, number, told.received + SignedDuration::from_hours(9 * 24)).await?;
    }
    let measured = |cells: &[super::scenario::Cell]| {
        cells.iter().any(|cell| cell.analyte == "metformin" && cell.state == CellState::Value)
    };
    let first = scenario.laboratories.iter().find(|one| !one.draft_only && measured(&one.cells));
    let (statement, decision) = METFORMIN;
    let told = Told {
        laboratory: first.ok_or(Error::NotFound)?.id,
        kind: Kind::Appeal,
        subject: "The assigned value of metformin",
        statement,
        outcome: Outcome::Upheld,
        decision,
        received: instant("2024-04-24T09:00:00Z"),
    };
    let number = decided(db, staff, scenario, made, &told).await?;
    let corrected = correct(db, staff, scenario, post, instant("2024-05-06T08:00:00Z")).await?;
    answered(db, staff, scenario, number, corrected).await
}

async fn step(tx: &mut Tx, actor: &Actor, on: &Round, number: i64, form: StepForm, at: Timestamp) -> Result<(), Error> {
    let all = cases::all(tx, on).await?;
    let known = all.iter().find(|known| known.case.number == number).ok_or(Error::NotFound)?;
    cases::step(tx, actor, on, known, &form, at).await.map_err(fault)
}

fn form(step: Step, statement: &str) -> StepForm {
    StepForm { step: step.word().to_owned(), statement: statement.to_owned(), ..StepForm::default() }
}

/// A case from its receipt to the decision of somebody who had no part; its number.
async fn decided(db: &Db, staff: &Staff, scenario: &Scenario, made: &Made, told: &Told<'_>) -> Result<i64, Error> {
    let days = |n: i64| told.received + SignedDuration::from_hours(24 * n);
    let mut tx = db.write().await?;
    let on = round(&mut tx, scenario).await?;
    let code = scenario.laboratories.iter().find(|one| one.id == told.laboratory).map(|one| one.code.to_string());
    let all = participants::of_round(&mut tx, on.id).await?;
    let participant = all.iter().find(|one| Some(&one.code) == code.as_ref()).ok_or(Error::NotFound)?;
    let sender = made.actors.get(told.laboratory).ok_or(Error::NotFound)?;
    let case = CaseForm {
        kind: told.kind.word().to_owned(),
        subject: told.subject.to_owned(),
        statement: told.statement.to_owned(),
    };
    let number = cases::receive(&mut tx, sender, &on, Some(participant.id), &case, told.received).await;
    let number = number.map_err(fault)?;
    let outside = &staff.outside;
    let named = StepForm { person: outside.user().to_string(), ..form(Step::Assigned, "") };
    step(&mut tx, &staff.organiser, &on, number, named, days(1)).await?;
    let found = form(Step::Investigated, INVESTIGATED);
    step(&mut tx, outside, &on, number, found, days(4)).await?;
    let outcome = StepForm { outcome: told.outcome.word().to_owned(), ..form(Step::Decided, told.decision) };
    step(&mut tx, outside, &on, number, outcome, days(6)).await?;
    tx.commit().await?;
    Ok(number)
}

/// What is looked at in each case.
const INVESTIGATED: &str = "Looked at: the text as it was typed, the receipt, the plan with its amendments, the record \
    of the item and its dispatch, and the decisions of the round.";

/// The laboratory has its answer, and the case is closed.
async fn answered(db: &Db, staff: &Staff, scenario: &Scenario, number: i64, at: Timestamp) -> Result<(), Error> {
    let mut tx = db.write().await?;
    let on = round(&mut tx, scenario).await?;
    let answer = form(Step::Answered, "The decision and its reason stand above. Thank you for writing to us.");
    step(&mut tx, &staff.organiser, &on, number, answer, at).await?;
    step(&mut tx, &staff.organiser, &on, number, form(Step::Closed, ""), at).await?;
    Ok(tx.commit().await?)
}

/// Y6: the values of metformin are amended with the reviewer's signature, the round is
/// evaluated again, approved, and published as its second version; when.
async fn correct(
    db: &Db,
    staff: &Staff,
    scenario: &Scenario,
    post: &Post,
    opened: Timestamp,
) -> Result<Timestamp, Error> {
    let later = |hours: i64| opened + SignedDuration::from_hours(hours);
    let mut tx = db.write().await?;
    let on = round(&mut tx, scenario).await?;
    approval::open_correction(&mut tx, &staff.organiser, &on, CORRECTION, opened).await.map_err(fault)?;
    let items = rounds::items(&mut tx, on.id).await?;
    for corrected in scenario.corrections() {
        let known = measurands::of_round(&mut tx, on.id).await?;
        let item = items.iter().find(|item| item.label == corrected.item).ok_or(Error::NotFound)?;
        let measurand = known.iter().find(|m| m.item == item.id && m.analyte == corrected.analyte);
        let measurand = measurand.ok_or(Error::NotFound)?;
        let planned = PlanForm {
            value: corrected.is.value.clone(),
            standard_uncertainty: corrected.is.standard_uncertainty.clone(),
            ..PlanForm::of(measurand.plan.as_ref().ok_or(Error::NotFound)?)
        };
        let (author, at) = (&staff.statistician, later(24));
        let proposed = plans::propose_statistics(&mut tx, author, &on, measurand, &planned, CORRECTION, at).await;
        let version = proposed.map_err(fault)?;
        plans::sign(&mut tx, &staff.reviewer, &on, version, post, later(48)).await?;
    }
    let evaluated = evaluation::evaluate(&mut tx, &staff.statistician, &on, later(72)).await?;
    let published = later(8 * 24);
    release(&mut tx, staff, &on, evaluated, "Released as corrected after review.", post, published).await?;
    tx.commit().await?;
    report::correct(db, staff, scenario.code, CORRECTION, post, published + SignedDuration::from_hours(2)).await?;
    Ok(published)
}
