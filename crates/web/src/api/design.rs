//! What a round asks for: items, measurands, assigned values.

use super::caller::Caller;
use super::change::{Begun, Change, File, KeyHeader};
use super::openapi::{Changing, Looking};
use super::problem::Refusal;
use super::rounds::label_of;
use super::{Answer, Path, done, json};
use crate::actions;
use crate::pages::organised_round;
use crate::state::App;
use axum::extract::State;
use axum::http::StatusCode;
use roundel_domain::import;
use roundel_domain::measurand::MeasurandForm;
use roundel_domain::plan::PlanForm;
use roundel_store::{measurands, rounds};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// An item.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ItemBody {
    /// Its label: up to 12 letters, digits, hyphens.
    #[schema(max_length = 200, example = "A")]
    pub label: String,
    /// What it is made of.
    #[serde(default)]
    #[schema(max_length = 1000)]
    pub matrix: String,
}

/// Items to be added.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ItemsBody {
    /// The items, in their order.
    #[schema(min_items = 1, max_items = 1000)]
    pub items: Vec<ItemBody>,
}

/// How many were taken.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Taken {
    /// How many.
    pub count: usize,
}

/// The pointer of a field of a row in a list of the body: `3.unit` of `items`
/// is `/items/3/unit`.
fn in_list(list: &'static str) -> impl Fn(&str) -> String {
    move |field| format!("/{list}/{}", field.replace('.', "/"))
}

/// Adds items to a round that is being set up, all or none (organiser).
#[utoipa::path(post, path = "/rounds/{code}/items", tag = "design", request_body = ItemsBody,
    params(("code" = String, Path, description = "Code of the round"), KeyHeader),
    responses((status = 201, body = Taken, description = "They are added"), Changing))]
pub async fn add_items(State(app): State<App>, Path(code): Path<String>, change: Change) -> Answer {
    let actor = &change.caller.actor;
    actor.may_organise()?;
    let body: ItemsBody = change.json()?;
    let mut once = match change.once(&app).await? {
        Begun::New(once) => once,
        Begun::Known(answer) => return Ok(answer),
    };
    let items: Vec<(String, String)> = body.items.into_iter().map(|item| (item.label, item.matrix)).collect();
    let round = organised_round(&mut once.tx, actor, &code).await?;
    let added = actions::design::add_items(&mut once.tx, actor, &round, &items, app.clock.now()).await;
    added.map_err(|refused| Refusal::of(refused, in_list("items")))?;
    once.end(StatusCode::CREATED, "", &Taken { count: items.len() }).await
}

/// Takes an item away that has no measurands (organiser).
#[utoipa::path(delete, path = "/rounds/{code}/items/{label}", tag = "design",
    params(("code" = String, Path, description = "Code of the round"), ("label" = String, Path, description = "Label of the item")),
    responses((status = 204, description = "It is gone"), Changing))]
pub async fn remove_item(
    State(app): State<App>,
    Path((code, label)): Path<(String, String)>,
    change: Change,
) -> Answer {
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, &change.caller.actor, &code).await?;
    actions::design::remove_item(&mut tx, &change.caller.actor, &round, &label, app.clock.now()).await?;
    tx.commit().await?;
    Ok(done())
}

/// A measurand.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MeasurandBody {
    /// Label of its item.
    #[schema(max_length = 200, example = "A")]
    pub item: String,
    /// The analyte.
    #[schema(max_length = 1000, example = "carbamazepine")]
    pub analyte: String,
    /// The unit in which results are given.
    #[schema(max_length = 200, example = "ng/L")]
    pub unit: String,
    /// What the result is expressed as.
    #[serde(default)]
    #[schema(max_length = 1000)]
    pub expressed_as: String,
    /// Decimals that values are shown with; 0 when it is left out.
    #[serde(default)]
    #[schema(max_length = 200, example = "1")]
    pub decimals: String,
    /// The most replicate values of a result; 1 when it is left out.
    #[serde(default)]
    #[schema(max_length = 200, example = "2")]
    pub replicates: String,
    /// The limit of quantification that is asked for, in the unit.
    #[serde(default)]
    #[schema(max_length = 200, example = "25")]
    pub required_loq: String,
}

impl MeasurandBody {
    fn form(self) -> MeasurandForm {
        MeasurandForm {
            item: self.item,
            analyte: self.analyte,
            unit: self.unit,
            expressed_as: self.expressed_as,
            decimals: self.decimals,
            replicates: self.replicates,
            required_loq: self.required_loq,
        }
    }
}

/// Measurands to be added.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MeasurandsBody {
    /// The measurands, in their order.
    #[schema(min_items = 1, max_items = 5000)]
    pub measurands: Vec<MeasurandBody>,
}

/// Adds measurands to a round that is being set up, all or none (organiser).
///
/// In JSON their items must exist; a file may name new ones, and carry assigned
/// values.
#[utoipa::path(post, path = "/rounds/{code}/measurands", tag = "design",
    request_body(content((MeasurandsBody = "application/json"), (File = "text/csv"), (File = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"))),
    params(("code" = String, Path, description = "Code of the round"), KeyHeader),
    responses((status = 201, body = Taken, description = "They are added"), Changing))]
pub async fn add_measurands(State(app): State<App>, Path(code): Path<String>, change: Change) -> Answer {
    let actor = &change.caller.actor;
    let now = app.clock.now();
    actor.may_organise()?;
    if !change.is_json() {
        let file = change.file().await?;
        let mut once = match change.once(&app).await? {
            Begun::New(once) => once,
            Begun::Known(answer) => return Ok(answer),
        };
        let round = organised_round(&mut once.tx, actor, &code).await?;
        let count = actions::design::import_measurands(&mut once.tx, actor, &round, &file, now).await?;
        return once.end(StatusCode::CREATED, "", &Taken { count }).await;
    }
    let body: MeasurandsBody = change.json()?;
    let mut once = match change.once(&app).await? {
        Begun::New(once) => once,
        Begun::Known(answer) => return Ok(answer),
    };
    let forms: Vec<MeasurandForm> = body.measurands.into_iter().map(MeasurandBody::form).collect();
    let round = organised_round(&mut once.tx, actor, &code).await?;
    let added = actions::design::add_measurands(&mut once.tx, actor, &round, &forms, now).await;
    added.map_err(|refused| Refusal::of(refused, in_list("measurands")))?;
    once.end(StatusCode::CREATED, "", &Taken { count: forms.len() }).await
}

/// Takes a measurand away (organiser).
#[utoipa::path(delete, path = "/rounds/{code}/measurands/{position}", tag = "design",
    params(("code" = String, Path, description = "Code of the round"), ("position" = i64, Path, description = "Place of the measurand")),
    responses((status = 204, description = "It is gone"), Changing))]
pub async fn remove_measurand(
    State(app): State<App>,
    Path((code, position)): Path<(String, i64)>,
    change: Change,
) -> Answer {
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, &change.caller.actor, &code).await?;
    actions::design::remove_measurand(&mut tx, &change.caller.actor, &round, position, app.clock.now()).await?;
    tx.commit().await?;
    Ok(done())
}

/// How a measurand is evaluated. Which fields are needed depends on the routes.
#[derive(Clone, Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(default, deny_unknown_fields)]
pub struct PlanBody {
    /// Where the assigned value comes from: `formulation`, `reference`, `expert`,
    /// `absent`, or how results of participants become one: `by_count`,
    /// `algorithm_a`, `q_hampel`, `median_made`, `median_niqr`.
    #[schema(max_length = 200, example = "formulation")]
    pub route: String,
    /// The assigned value x_pt.
    #[schema(max_length = 200, example = "32.4")]
    pub value: String,
    /// Its standard uncertainty u(x_pt); or else U(x_pt) and k.
    #[schema(max_length = 200, example = "0.39")]
    pub standard_uncertainty: String,
    /// Its expanded uncertainty U(x_pt).
    #[schema(max_length = 200)]
    pub expanded_uncertainty: String,
    /// The coverage factor k.
    #[schema(max_length = 200)]
    pub coverage_factor: String,
    /// Content below which the analyte is proven absent, for the route `absent`.
    #[schema(max_length = 200)]
    pub absent_below: String,
    /// Where sigma_pt comes from: `prescribed`, `percent`, `horwitz`.
    #[schema(max_length = 200, example = "percent")]
    pub sigma_route: String,
    /// sigma_pt in the unit, or in percent of the assigned value.
    #[schema(max_length = 200, example = "25")]
    pub sigma: String,
    /// What a value beside a consensus rests on, which is used where there is none:
    /// `formulation`, `reference`, `expert`.
    #[schema(max_length = 200)]
    pub fallback_route: String,
    /// What results below a limit do in a consensus: `exclude`, which is the
    /// default, or `limit_aware`.
    #[schema(max_length = 200)]
    pub censored: String,
    /// The score that gives the class: `z`, which is the default, `e_n` or `zeta`.
    #[schema(max_length = 200)]
    pub decides: String,
    /// |z| up to which a result is acceptable; 2 when it is left out.
    #[schema(max_length = 200)]
    pub limit_warning: String,
    /// |z| from which it is unacceptable; 3 when it is left out.
    #[schema(max_length = 200)]
    pub limit_action: String,
    /// |E_n| from which it is unacceptable; 1 when it is left out.
    #[schema(max_length = 200)]
    pub limit_e_n: String,
    /// Why the limits differ.
    #[schema(max_length = 1000)]
    pub limits_reason: String,
}

impl PlanBody {
    fn form(self) -> PlanForm {
        PlanForm {
            route: self.route,
            value: self.value,
            standard_uncertainty: self.standard_uncertainty,
            expanded_uncertainty: self.expanded_uncertainty,
            coverage_factor: self.coverage_factor,
            absent_below: self.absent_below,
            sigma_route: self.sigma_route,
            sigma: self.sigma,
            fallback_route: self.fallback_route,
            censored: self.censored,
            decides: self.decides,
            limit_warning: self.limit_warning,
            limit_action: self.limit_action,
            limit_e_n: self.limit_e_n,
            limits_reason: self.limits_reason,
        }
    }

    fn of(form: PlanForm) -> PlanBody {
        PlanBody {
            route: form.route,
            value: form.value,
            standard_uncertainty: form.standard_uncertainty,
            expanded_uncertainty: form.expanded_uncertainty,
            coverage_factor: form.coverage_factor,
            absent_below: form.absent_below,
            sigma_route: form.sigma_route,
            sigma: form.sigma,
            fallback_route: form.fallback_route,
            censored: form.censored,
            decides: form.decides,
            limit_warning: form.limit_warning,
            limit_action: form.limit_action,
            limit_e_n: form.limit_e_n,
            limits_reason: form.limits_reason,
        }
    }
}

/// The plan of a measurand.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AssignedBody {
    /// Label of the item.
    #[schema(max_length = 200, example = "A")]
    pub item: String,
    /// The analyte.
    #[schema(max_length = 1000, example = "carbamazepine")]
    pub analyte: String,
    /// How it is evaluated.
    pub plan: PlanBody,
}

/// Plans of measurands.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AssignedValues {
    /// One entry a measurand; in an answer only those that have a plan.
    #[schema(min_items = 1, max_items = 5000)]
    pub assigned_values: Vec<AssignedBody>,
}

/// Plans of measurands, as they are.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct AssignedList {
    /// One entry a measurand that has a plan.
    pub assigned_values: Vec<AssignedBody>,
    /// Those that have none, as `A/nitrate`.
    pub without: Vec<String>,
}

/// Assigned values and their rules (organiser): sealed for everybody else.
#[utoipa::path(get, path = "/rounds/{code}/assigned-values", tag = "design",
    params(("code" = String, Path, description = "Code of the round")),
    responses((status = 200, body = AssignedList, description = "Assigned values"), Looking))]
pub async fn assigned_values(State(app): State<App>, caller: Caller, Path(code): Path<String>) -> Answer {
    let mut tx = app.db.read().await?;
    let round = organised_round(&mut tx, &caller.actor, &code).await?;
    let items = rounds::items(&mut tx, round.id).await?;
    let mut list = AssignedList { assigned_values: Vec::new(), without: Vec::new() };
    for measurand in measurands::of_round(&mut tx, round.id).await? {
        let item = label_of(&measurand, &items);
        match &measurand.plan {
            Some(plan) => {
                let plan = PlanBody::of(PlanForm::of(plan));
                list.assigned_values.push(AssignedBody { item, analyte: measurand.analyte, plan });
            }
            None => list.without.push(format!("{item}/{}", measurand.analyte)),
        }
    }
    Ok(json(StatusCode::OK, &list))
}

/// What was written.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct AssignedSet {
    /// How many measurands have their plan from the request.
    pub count: usize,
    /// Those that have none, as `A/nitrate`.
    pub without: Vec<String>,
}

/// Assigned values, in either form.
enum Sent {
    List(AssignedValues),
    File(import::File),
}

/// Writes assigned values and their rules, all or none (organiser).
#[utoipa::path(put, path = "/rounds/{code}/assigned-values", tag = "design",
    request_body(content((AssignedValues = "application/json"), (File = "text/csv"), (File = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"))),
    params(("code" = String, Path, description = "Code of the round")),
    responses((status = 200, body = AssignedSet, description = "They are written"), Changing))]
pub async fn set_assigned_values(State(app): State<App>, Path(code): Path<String>, change: Change) -> Answer {
    let actor = &change.caller.actor;
    let now = app.clock.now();
    actor.may_organise()?;
    // The body is read before the transaction begins, which others wait for.
    let sent: Sent = if change.is_json() { Sent::List(change.json()?) } else { Sent::File(change.file().await?) };
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, actor, &code).await?;
    let set = match sent {
        Sent::File(file) => actions::design::import_assigned(&mut tx, actor, &round, &file, now).await?,
        Sent::List(body) => {
            let plans: Vec<(String, String, PlanForm)> =
                body.assigned_values.into_iter().map(|one| (one.item, one.analyte, one.plan.form())).collect();
            let set = actions::design::set_plans(&mut tx, actor, &round, &plans, now).await;
            set.map_err(|refused| Refusal::of(refused, in_list("assigned_values")))?
        }
    };
    tx.commit().await?;
    Ok(json(StatusCode::OK, &AssignedSet { count: set.set, without: set.without }))
}
