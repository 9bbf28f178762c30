//! What a round asks for: items, measurands, plans; one by one or by file.

use super::{Refused, must_be_draft, plans, record};
use crate::clock;
use crate::error::Error;
use jiff::Timestamp;
use roundel_domain::access::Actor;
use roundel_domain::field::{FieldErrors, Problem, shortened};
use roundel_domain::id::{ItemId, MeasurandId};
use roundel_domain::import::{self, AssignedValue, KnownMeasurand, Route, RowProblem, Sigma, Source, Uncertainty};
use roundel_domain::measurand::{Item, Measurand, MeasurandForm};
use roundel_domain::plan::{
    Asked, Assigned, Fallback, Given, GivenUncertainty, Plan, PlanForm, Scope, SigmaPt, applied,
};
use roundel_domain::round::Round;
use roundel_domain::text;
use roundel_store::{Tx, item_records, measurands, rounds, unit_events};
use std::collections::{HashMap, HashSet};

/// Why a file was not taken.
#[derive(Debug)]
pub enum FileRefused {
    /// Every row that is not as it should be; nothing happened.
    Rows(Vec<RowProblem>),
    /// Anything else.
    Error(Error),
}

impl<E: Into<Error>> From<E> for FileRefused {
    fn from(error: E) -> Self {
        FileRefused::Error(error.into())
    }
}

/// Adds an item.
///
/// # Errors
///
/// Every field that is not as it should be.
pub async fn add_item(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    label: &str,
    matrix: &str,
    now: Timestamp,
) -> Result<(), Refused> {
    let form = [(label.to_owned(), matrix.to_owned())];
    add_items(tx, actor, round, &form, now).await.map_err(of_one)
}

/// Adds items, given as label and matrix, all or none.
///
/// # Errors
///
/// Every field that is not as it should be, with the place of its row before its
/// name: `2.label`.
pub async fn add_items(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    forms: &[(String, String)],
    now: Timestamp,
) -> Result<(), Refused> {
    actor.may_organise()?;
    must_be_draft(tx, round).await?;
    let mut items = rounds::items(tx, round.id).await?;
    let known = items.len();
    let mut errors = FieldErrors::new();
    for (row, (label, matrix)) in forms.iter().enumerate() {
        let position = items.last().map_or(0, |item| item.position) + 1;
        match Item::parse(ItemId(clock::new_id()), position, label, matrix) {
            Err(wrong) => errors.extend_in(row, wrong),
            Ok(item) if items.iter().any(|known| text::key(&known.label) == text::key(&item.label)) => {
                errors.push(format!("{row}.label"), Problem::new("item-label-taken").with("seen", &item.label));
            }
            Ok(item) => items.push(item),
        }
    }
    errors.into_result(())?;
    for item in &items[known..] {
        rounds::insert_item(tx, round.id, item).await?;
        record(tx, actor, "item-added", round, &item.label, now).await?;
    }
    Ok(())
}

/// The errors of the only row of a list, as those of a form.
fn of_one(refused: Refused) -> Refused {
    match refused {
        Refused::Fields(errors) => Refused::Fields(errors.of_row(0)),
        error => error,
    }
}

/// Takes an item away that has no measurands.
///
/// # Errors
///
/// A conflict when it has some.
pub async fn remove_item(tx: &mut Tx, actor: &Actor, round: &Round, label: &str, now: Timestamp) -> Result<(), Error> {
    actor.may_organise()?;
    must_be_draft(tx, round).await?;
    let items = rounds::items(tx, round.id).await?;
    let item = items.iter().find(|item| item.label == label).ok_or(Error::NotFound)?;
    if !unit_events::of_item(tx, item.id).await?.is_empty() {
        return Err(Error::conflict("conflict-item-units"));
    }
    if !rounds::delete_item(tx, item.id).await? {
        return Err(Error::conflict("conflict-item-in-use"));
    }
    record(tx, actor, "item-removed", round, label, now).await
}

/// Adds a measurand.
///
/// # Errors
///
/// Every field that is not as it should be.
pub async fn add_measurand(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    form: &MeasurandForm,
    now: Timestamp,
) -> Result<(), Refused> {
    add_measurands(tx, actor, round, std::slice::from_ref(form), now).await.map_err(of_one)
}

/// Adds measurands of items that exist, all or none.
///
/// # Errors
///
/// Every field that is not as it should be, with the place of its row before its
/// name: `2.unit`.
pub async fn add_measurands(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    forms: &[MeasurandForm],
    now: Timestamp,
) -> Result<(), Refused> {
    actor.may_organise()?;
    must_be_draft(tx, round).await?;
    let items = rounds::items(tx, round.id).await?;
    let known = measurands::of_round(tx, round.id).await?;
    let mut taken: HashSet<(ItemId, String)> = known.iter().map(|m| (m.item, text::key(&m.analyte))).collect();
    let mut position = known.last().map_or(0, |m| m.position);
    let mut errors = FieldErrors::new();
    let mut new = Vec::new();
    for (row, form) in forms.iter().enumerate() {
        match form.parse(MeasurandId(clock::new_id()), position + 1, &items) {
            Err(wrong) => errors.extend_in(row, wrong),
            Ok(measurand) if !taken.insert((measurand.item, text::key(&measurand.analyte))) => {
                let problem = Problem::new("measurand-taken").with("seen", &measurand.analyte);
                errors.push(format!("{row}.analyte"), problem);
            }
            Ok(measurand) => {
                position += 1;
                new.push(measurand);
            }
        }
    }
    errors.into_result(())?;
    for measurand in &new {
        measurands::insert(tx, round.id, measurand).await?;
        record(tx, actor, "measurand-added", round, &measurand.analyte, now).await?;
    }
    Ok(())
}

/// Takes a measurand away.
///
/// # Errors
///
/// A conflict once the round is open.
pub async fn remove_measurand(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    position: i64,
    now: Timestamp,
) -> Result<(), Error> {
    actor.may_organise()?;
    must_be_draft(tx, round).await?;
    let known = measurands::of_round(tx, round.id).await?;
    let measurand = known.iter().find(|m| m.position == position).ok_or(Error::NotFound)?;
    // What was recorded of it is evidence.
    if item_records::holds(tx, measurand.id).await? {
        return Err(Error::conflict("conflict-measurand-recorded"));
    }
    measurands::delete(tx, measurand.id).await?;
    record(tx, actor, "measurand-removed", round, &measurand.analyte, now).await
}

/// Writes how a measurand is evaluated, and applies it to others as `scope` says:
/// their values stay their own.
///
/// # Errors
///
/// Every field that is not as it should be, and under `apply` the first measurand
/// that the plan does not fit; then nothing is written.
pub async fn set_plan(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    measurand: &Measurand,
    form: &PlanForm,
    scope: Scope,
    now: Timestamp,
) -> Result<usize, Refused> {
    actor.may_evaluate()?;
    must_be_draft(tx, round).await?;
    let plan = form.parse(plans::asked(round, measurand))?;
    let mut changed = vec![(measurand.id, plan.clone())];
    if scope != Scope::One {
        let items = rounds::items(tx, round.id).await?;
        for other in measurands::of_round(tx, round.id).await? {
            if other.id == measurand.id || (scope == Scope::Item && other.item != measurand.item) {
                continue;
            }
            match applied(&plan, &other) {
                Ok(Some(plan)) => changed.push((other.id, plan)),
                Ok(None) => {}
                Err(errors) => return Err(Refused::Fields(unfit(&plans::name_of(&other, &items), &errors))),
            }
        }
    }
    for (id, plan) in &changed {
        measurands::set_plan(tx, *id, plan).await?;
    }
    let detail = format!("{} {}", measurand.position, measurand.analyte);
    record(tx, actor, "plan-set", round, &detail, now).await?;
    if changed.len() > 1 {
        record(tx, actor, "plan-applied", round, &(changed.len() - 1).to_string(), now).await?;
    }
    Ok(changed.len())
}

/// Why a plan cannot be that of another measurand too.
fn unfit(name: &str, errors: &FieldErrors) -> FieldErrors {
    let mut told = FieldErrors::new();
    if let Some((_, problem)) = errors.iter().next() {
        let key = match problem.key {
            "plan-sigma-too-wide" => "plan-apply-wide",
            "plan-horwitz-unit" => "plan-apply-horwitz",
            _ => "plan-apply-unfit",
        };
        told.push("apply", Problem::new(key).with("name", name));
    }
    told
}

/// Writes how measurands, named by item and analyte, are evaluated, all or none.
///
/// # Errors
///
/// Every field that is not as it should be, with the place of its row before its
/// name: `2.plan.value`.
pub async fn set_plans(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    forms: &[(String, String, PlanForm)],
    now: Timestamp,
) -> Result<AssignedImport, Refused> {
    actor.may_evaluate()?;
    must_be_draft(tx, round).await?;
    let items = rounds::items(tx, round.id).await?;
    let known = measurands::of_round(tx, round.id).await?;
    let label = |m: &Measurand| items.iter().find(|i| i.id == m.item).map_or("", |item| item.label.as_str());
    let places: HashMap<(String, String), usize> =
        known.iter().enumerate().map(|(place, m)| ((text::key(label(m)), text::key(&m.analyte)), place)).collect();
    let mut errors = FieldErrors::new();
    let mut planned: HashMap<usize, Plan> = HashMap::new();
    for (row, (item, analyte, form)) in forms.iter().enumerate() {
        let Some(&place) = places.get(&(text::key(item), text::key(analyte))) else {
            let problem = Problem::new("problem-result-analyte").with("item", shortened(item));
            errors.push(format!("{row}.analyte"), problem.with("analyte", shortened(analyte)));
            continue;
        };
        match form.parse(plans::asked(round, &known[place])) {
            Err(wrong) => {
                for (name, problem) in wrong.iter() {
                    errors.push(format!("{row}.plan.{name}"), problem.clone());
                }
            }
            Ok(plan) => {
                if planned.insert(place, plan).is_some() {
                    errors.push(format!("{row}.analyte"), Problem::new("problem-plan-twice"));
                }
            }
        }
    }
    errors.into_result(())?;
    for (&place, plan) in &planned {
        measurands::set_plan(tx, known[place].id, plan).await?;
    }
    record(tx, actor, "assigned-values-set", round, &planned.len().to_string(), now).await?;
    let bare = known.iter().enumerate().filter(|(place, m)| m.plan.is_none() && !planned.contains_key(place));
    let without = bare.map(|(_, m)| format!("{}/{}", label(m), m.analyte)).collect();
    Ok(AssignedImport { set: planned.len(), without })
}

/// Adds the measurands of a file, and the items that they name; how many.
///
/// # Errors
///
/// Every row that is not as it should be; then nothing happened.
pub async fn import_measurands(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    file: &import::File,
    now: Timestamp,
) -> Result<usize, FileRefused> {
    actor.may_organise()?;
    must_be_draft(tx, round).await?;
    let rows = import::measurands(file).map_err(FileRefused::Rows)?;
    let mut items = rounds::items(tx, round.id).await?;
    let known = measurands::of_round(tx, round.id).await?;
    let mut problems = Vec::new();
    let mut new = Vec::new();
    let mut position = known.last().map_or(0, |m| m.position);
    for row in &rows {
        let place = items.iter().position(|item| text::key(&item.label) == text::key(&row.item));
        let item = match place {
            Some(place) => items[place].clone(),
            None => {
                match Item::parse(ItemId(clock::new_id()), items.last().map_or(0, |i| i.position) + 1, &row.item, "") {
                    Ok(item) => {
                        items.push(item.clone());
                        item
                    }
                    Err(errors) => {
                        problems.extend(row_problems(row.line, "item", &row.item, &errors));
                        continue;
                    }
                }
            }
        };
        if known.iter().any(|m| m.item == item.id && text::key(&m.analyte) == text::key(&row.analyte)) {
            let problem = Problem::new("measurand-taken").with("seen", &row.analyte);
            problems.push(row_problem(row.line, "analyte", &row.analyte, problem));
            continue;
        }
        let plan = row.assigned.as_ref().map(|value| plan_of_file(by_route(value), row.sigma.as_ref(), &row.unit));
        let plan = match plan.transpose() {
            Ok(plan) => plan,
            Err(errors) => {
                problems.extend(row_problems(row.line, "sigma_pt", "", &errors));
                continue;
            }
        };
        position += 1;
        new.push(Measurand {
            id: MeasurandId(clock::new_id()),
            item: item.id,
            position,
            analyte: row.analyte.clone(),
            unit: row.unit.clone(),
            expressed_as: row.expressed_as.clone().unwrap_or_default(),
            decimals: row.decimals.map_or(0, i64::from),
            replicates: i64::from(row.replicates),
            required_loq: row.required_loq.clone(),
            plan,
        });
    }
    if !problems.is_empty() {
        return Err(FileRefused::Rows(problems));
    }
    let known_items = rounds::items(tx, round.id).await?.len();
    for item in &items[known_items..] {
        rounds::insert_item(tx, round.id, item).await?;
    }
    for measurand in &new {
        measurands::insert(tx, round.id, measurand).await?;
    }
    record(tx, actor, "measurands-imported", round, &new.len().to_string(), now).await?;
    Ok(new.len())
}

/// What a file of assigned values did.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AssignedImport {
    /// How many measurands have their value from the file.
    pub set: usize,
    /// Those that the file does not name and that have no value yet, as `A/nitrate`.
    pub without: Vec<String>,
}

/// Writes the assigned values of a file.
///
/// # Errors
///
/// Every row that is not as it should be; then nothing happened.
pub async fn import_assigned(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    file: &import::File,
    now: Timestamp,
) -> Result<AssignedImport, FileRefused> {
    actor.may_evaluate()?;
    must_be_draft(tx, round).await?;
    let items = rounds::items(tx, round.id).await?;
    let measurands = measurands::of_round(tx, round.id).await?;
    let label =
        |m: &Measurand| items.iter().find(|item| item.id == m.item).map_or(String::new(), |item| item.label.clone());
    let known: Vec<KnownMeasurand> = measurands
        .iter()
        .map(|m| KnownMeasurand { item: label(m), analyte: m.analyte.clone(), unit: m.unit.clone() })
        .collect();
    let file = import::assigned_values(file, &known).map_err(FileRefused::Rows)?;
    let mut problems = Vec::new();
    let mut plans = Vec::new();
    for row in &file.rows {
        let measurand = &measurands[row.measurand];
        match plan_of_file(by_source(&row.source), Some(&row.sigma), &measurand.unit) {
            Ok(plan) => plans.push((measurand.id, plan)),
            Err(errors) => problems.extend(row_problems(row.line, "sigma_pt", "", &errors)),
        }
    }
    if !problems.is_empty() {
        return Err(FileRefused::Rows(problems));
    }
    for (id, plan) in &plans {
        measurands::set_plan(tx, *id, plan).await?;
    }
    record(tx, actor, "assigned-values-imported", round, &plans.len().to_string(), now).await?;
    let without = file
        .missing
        .iter()
        .map(|&place| &measurands[place])
        .filter(|m| m.plan.is_none())
        .map(|m| format!("{}/{}", label(m), m.analyte))
        .collect();
    Ok(AssignedImport { set: plans.len(), without })
}

/// A value of a file as a plan has it.
fn given(assigned: &AssignedValue) -> Given {
    let uncertainty = match &assigned.uncertainty {
        Uncertainty::Standard(u) => GivenUncertainty::Standard(u.clone()),
        Uncertainty::Expanded { expanded, k } => {
            GivenUncertainty::Expanded { expanded: expanded.clone(), coverage_factor: k.clone() }
        }
    };
    Given { value: assigned.x_pt.clone(), uncertainty }
}

fn by_route(assigned: &AssignedValue) -> Assigned {
    let given = given(assigned);
    match assigned.route {
        None | Some(Route::Formulation) => Assigned::Formulation(given),
        Some(Route::Reference) => Assigned::Reference(given),
        Some(Route::Expert) => Assigned::Expert(given),
    }
}

/// Where the value of a row comes from, as a plan has it.
fn by_source(source: &Source) -> Assigned {
    match source {
        Source::Given(assigned) => by_route(assigned),
        Source::Consensus { estimator, fallback } => Assigned::Participants {
            estimator: *estimator,
            fallback: fallback.as_ref().map(|(basis, value)| Fallback { basis: *basis, given: given(value) }),
        },
    }
}

/// The plan that a row of a file asks for, held to the rules of the form.
fn plan_of_file(assigned: Assigned, sigma: Option<&Sigma>, unit: &str) -> Result<Plan, FieldErrors> {
    let sigma_pt = sigma.map(|sigma| match sigma {
        Sigma::Absolute(sigma) => SigmaPt::Prescribed(sigma.clone()),
        Sigma::Percent(percent) => SigmaPt::Percent(percent.clone()),
    });
    // A file says nothing of the score that decides, so it may ask for none that
    // needs more.
    let asked = Asked { unit, has_required_loq: true, uncertainty: false };
    PlanForm::of(&Plan::new(assigned, sigma_pt)).parse(asked)
}

fn row_problem(line: usize, column: &str, seen: &str, problem: Problem) -> RowProblem {
    let seen = (!seen.is_empty()).then(|| seen.to_owned());
    RowProblem { line, column: Some(column.to_owned()), seen, problem }
}

fn row_problems(line: usize, column: &str, seen: &str, errors: &FieldErrors) -> Vec<RowProblem> {
    errors.iter().map(|(_, problem)| row_problem(line, column, seen, problem.clone())).collect()
}
