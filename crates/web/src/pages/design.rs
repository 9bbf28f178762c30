//! What a round asks for: items, measurands, assigned values.

use super::{
    BadRow, Frame, bad_rows, evaluating_round, go, ok, organised_round, planned, reviewed_round, unprocessable,
};
use crate::actions::design::{self, FileRefused};
use crate::actions::{self, Refused};
use crate::error::Error;
use crate::extract::{Path, Person, Posted, Upload};
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::field::Problem;
use roundel_domain::measurand::{Item, Measurand, MeasurandForm};
use roundel_domain::plan::{PlanForm, Scope};
use roundel_domain::round::Round;
use roundel_store::{Tx, measurands, rounds};

#[derive(Clone, Debug, Default)]
struct ItemForm {
    label: String,
    matrix: String,
}

struct MeasurandLine {
    position: i64,
    analyte: String,
    unit: String,
    expressed_as: String,
    decimals: i64,
    replicates: i64,
    required_loq: String,
}

struct ItemBlock {
    label: String,
    matrix: String,
    lines: Vec<MeasurandLine>,
}

#[derive(Template)]
#[template(path = "rounds/measurands.html")]
struct MeasurandsPage {
    f: Frame,
    round: Round,
    blocks: Vec<ItemBlock>,
    item: ItemForm,
    measurand: MeasurandForm,
    item_errors: Errors,
    errors: Errors,
    file: String,
    bad: Vec<BadRow>,
}

async fn measurands_page(app: &App, tx: &mut Tx, person: &Person, round: Round) -> Result<MeasurandsPage, Error> {
    let items = rounds::items(tx, round.id).await?;
    let measurands = measurands::of_round(tx, round.id).await?;
    let blocks = super::by_item(&items, &measurands)
        .into_iter()
        .map(|(item, rows)| ItemBlock {
            label: item.label.clone(),
            matrix: item.matrix.clone(),
            lines: rows
                .into_iter()
                .map(|m| MeasurandLine {
                    position: m.position,
                    analyte: m.analyte.clone(),
                    unit: m.unit.clone(),
                    expressed_as: m.expressed_as.clone(),
                    decimals: m.decimals,
                    replicates: m.replicates,
                    required_loq: m.required_loq.as_ref().map(ToString::to_string).unwrap_or_default(),
                })
                .collect(),
        })
        .collect();
    let measurand = MeasurandForm {
        item: items.last().map(|item| item.label.clone()).unwrap_or_default(),
        unit: measurands.last().map(|m| m.unit.clone()).unwrap_or_default(),
        ..MeasurandForm::default()
    };
    Ok(MeasurandsPage {
        f: Frame::of(app, person),
        round,
        blocks,
        item: ItemForm::default(),
        measurand,
        item_errors: Errors::default(),
        errors: Errors::default(),
        file: String::new(),
        bad: Vec::new(),
    })
}

/// `GET /rounds/{code}/measurands`.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser.
pub async fn list(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = organised_round(&mut tx, &person.actor, &code).await?;
    ok(&measurands_page(&app, &mut tx, &person, round).await?)
}

/// `POST /rounds/{code}/items`.
///
/// # Errors
///
/// A conflict once the round is open.
pub async fn add_item(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let form =
        ItemForm { label: posted.fields.get("label").to_owned(), matrix: posted.fields.get("matrix").to_owned() };
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, &posted.person.actor, &code).await?;
    match design::add_item(&mut tx, &posted.person.actor, &round, &form.label, &form.matrix, app.clock.now()).await {
        Ok(()) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/measurands"), "item-added"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let mut page = measurands_page(&app, &mut tx, &posted.person, round).await?;
            page.item = form;
            page.item_errors = Errors::of(app.words, &errors);
            unprocessable(&page)
        }
    }
}

/// `POST /rounds/{code}/items/{label}/remove`.
///
/// # Errors
///
/// A conflict once the round is open, or while the item has measurands.
pub async fn remove_item(
    State(app): State<App>,
    Path((code, label)): Path<(String, String)>,
    posted: Posted,
) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, &posted.person.actor, &code).await?;
    design::remove_item(&mut tx, &posted.person.actor, &round, &label, app.clock.now()).await?;
    tx.commit().await?;
    Ok(go(&format!("/rounds/{code}/measurands"), "item-removed"))
}

/// `POST /rounds/{code}/measurands`.
///
/// # Errors
///
/// A conflict once the round is open.
pub async fn add(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let form: MeasurandForm = posted.fields.to()?;
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, &posted.person.actor, &code).await?;
    match design::add_measurand(&mut tx, &posted.person.actor, &round, &form, app.clock.now()).await {
        Ok(()) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/measurands"), "measurand-added"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let mut page = measurands_page(&app, &mut tx, &posted.person, round).await?;
            page.measurand = form;
            page.errors = Errors::of(app.words, &errors);
            unprocessable(&page)
        }
    }
}

/// `POST /rounds/{code}/measurands/{position}/remove`.
///
/// # Errors
///
/// A conflict once the round is open.
pub async fn remove(
    State(app): State<App>,
    Path((code, position)): Path<(String, i64)>,
    posted: Posted,
) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, &posted.person.actor, &code).await?;
    design::remove_measurand(&mut tx, &posted.person.actor, &round, position, app.clock.now()).await?;
    tx.commit().await?;
    Ok(go(&format!("/rounds/{code}/measurands"), "measurand-removed"))
}

/// `POST /rounds/{code}/measurands/upload`.
///
/// # Errors
///
/// A conflict once the round is open.
pub async fn upload(State(app): State<App>, Path(code): Path<String>, mut upload: Upload) -> Result<Response, Error> {
    upload.person.actor.may_organise()?;
    let file = upload.read().await?;
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, &upload.person.actor, &code).await?;
    match design::import_measurands(&mut tx, &upload.person.actor, &round, &file, app.clock.now()).await {
        Ok(_) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/measurands"), "measurands-imported"))
        }
        Err(FileRefused::Error(error)) => Err(error),
        Err(FileRefused::Rows(problems)) => {
            drop(tx);
            let mut page = measurands_page(&app, &mut app.db.read().await?, &upload.person, round).await?;
            page.file = upload.name;
            page.bad = bad_rows(app.words, &problems);
            unprocessable(&page)
        }
    }
}

struct PlanLine {
    position: i64,
    analyte: String,
    unit: String,
    route: String,
    value: String,
    uncertainty: String,
    sigma: String,
    /// What differs from the usual.
    particulars: Vec<String>,
    /// What is worth a second look.
    warnings: Vec<String>,
    missing: bool,
}

struct PlanBlock {
    label: String,
    lines: Vec<PlanLine>,
}

#[derive(Template)]
#[template(path = "rounds/assigned.html")]
struct AssignedPage {
    f: Frame,
    round: Round,
    /// Whether this person may change them now.
    edits: bool,
    blocks: Vec<PlanBlock>,
    file: String,
    bad: Vec<BadRow>,
}

fn plan_line(f: &Frame, m: &Measurand, expected: Option<usize>) -> PlanLine {
    let mut line = PlanLine {
        position: m.position,
        analyte: m.analyte.clone(),
        unit: m.unit.clone(),
        route: f.t("route-missing"),
        value: String::new(),
        uncertainty: String::new(),
        sigma: String::new(),
        particulars: Vec::new(),
        warnings: Vec::new(),
        missing: m.plan.is_none(),
    };
    let Some(plan) = &m.plan else { return line };
    line.route = planned::route(f, &plan.assigned);
    (line.value, line.uncertainty) = planned::value(&plan.assigned);
    line.sigma = planned::sigma(f, plan.sigma_pt.as_ref());
    line.particulars = planned::particulars(f, plan);
    line.warnings = plan.warnings(expected).iter().map(|warning| show::problem(f.w, warning)).collect();
    line
}

async fn assigned_page(app: &App, tx: &mut Tx, person: &Person, round: Round) -> Result<AssignedPage, Error> {
    let items = rounds::items(tx, round.id).await?;
    let measurands = measurands::of_round(tx, round.id).await?;
    let f = Frame::of(app, person);
    let expected = Some(actions::plans::expected(tx, &round).await?).filter(|expected| *expected > 0);
    let blocks = super::by_item(&items, &measurands)
        .into_iter()
        .map(|(item, rows)| PlanBlock {
            label: item.label.clone(),
            lines: rows.into_iter().map(|m| plan_line(&f, m, expected)).collect(),
        })
        .collect();
    let edits = round.is_draft() && person.actor.may_evaluate().is_ok();
    Ok(AssignedPage { f, round, edits, blocks, file: String::new(), bad: Vec::new() })
}

/// `GET /rounds/{code}/assigned-values`.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser.
pub async fn assigned(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    ok(&assigned_page(&app, &mut tx, &person, round).await?)
}

/// `POST /rounds/{code}/assigned-values/upload`.
///
/// # Errors
///
/// A conflict once the round is open.
pub async fn upload_assigned(
    State(app): State<App>,
    Path(code): Path<String>,
    mut upload: Upload,
) -> Result<Response, Error> {
    upload.person.actor.may_evaluate()?;
    let file = upload.read().await?;
    let mut tx = app.db.write().await?;
    let round = evaluating_round(&mut tx, &upload.person.actor, &code).await?;
    match design::import_assigned(&mut tx, &upload.person.actor, &round, &file, app.clock.now()).await {
        Ok(_) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/assigned-values"), "assigned-imported"))
        }
        Err(FileRefused::Error(error)) => Err(error),
        Err(FileRefused::Rows(problems)) => {
            drop(tx);
            let mut page = assigned_page(&app, &mut app.db.read().await?, &upload.person, round).await?;
            page.file = upload.name;
            page.bad = bad_rows(app.words, &problems);
            unprocessable(&page)
        }
    }
}

#[derive(Template)]
#[template(path = "rounds/plan.html")]
struct PlanPage {
    f: Frame,
    round: Round,
    item: Item,
    measurand: Measurand,
    form: PlanForm,
    /// To which measurands it is applied: `one`, `item`, `all`.
    scope: String,
    errors: Errors,
}

/// A measurand of a round with its item.
///
/// # Errors
///
/// [`Error::NotFound`] where there is none.
pub(super) async fn measurand_at(tx: &mut Tx, round: &Round, position: i64) -> Result<(Item, Measurand), Error> {
    let measurands = measurands::of_round(tx, round.id).await?;
    let measurand = measurands.into_iter().find(|m| m.position == position).ok_or(Error::NotFound)?;
    let items = rounds::items(tx, round.id).await?;
    let item = items.into_iter().find(|item| item.id == measurand.item).ok_or(Error::NotFound)?;
    Ok((item, measurand))
}

/// `GET /rounds/{code}/assigned-values/{position}`.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser; a conflict once the
/// round is open.
pub async fn plan(
    State(app): State<App>,
    person: Person,
    Path((code, position)): Path<(String, i64)>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = evaluating_round(&mut tx, &person.actor, &code).await?;
    if !round.is_draft() {
        return Err(Error::conflict("conflict-not-draft"));
    }
    let (item, measurand) = measurand_at(&mut tx, &round, position).await?;
    let form = measurand.plan.as_ref().map(PlanForm::of).unwrap_or_default();
    let (f, scope) = (Frame::of(&app, &person), "one".to_owned());
    ok(&PlanPage { f, round, item, measurand, form, scope, errors: Errors::default() })
}

/// `POST /rounds/{code}/assigned-values/{position}`.
///
/// # Errors
///
/// A conflict once the round is open.
pub async fn set_plan(
    State(app): State<App>,
    Path((code, position)): Path<(String, i64)>,
    posted: Posted,
) -> Result<Response, Error> {
    let form: PlanForm = posted.fields.without(&["apply"]).to()?;
    let word = posted.fields.get("apply");
    let scope = Scope::of(word).ok_or_else(|| Error::Unreadable(Problem::new("error-form-fields")))?;
    let mut tx = app.db.write().await?;
    let actor = &posted.person.actor;
    let round = evaluating_round(&mut tx, actor, &code).await?;
    let (item, measurand) = measurand_at(&mut tx, &round, position).await?;
    match actions::design::set_plan(&mut tx, actor, &round, &measurand, &form, scope, app.clock.now()).await {
        Ok(count) => {
            tx.commit().await?;
            let done = if count > 1 { "plan-applied" } else { "plan-saved" };
            Ok(go(&format!("/rounds/{code}/assigned-values#m{position}"), done))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let (f, scope) = (Frame::of(&app, &posted.person), word.to_owned());
            unprocessable(&PlanPage { f, round, item, measurand, form, scope, errors: Errors::of(app.words, &errors) })
        }
    }
}
