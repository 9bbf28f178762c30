//! The description of the interface, OpenAPI 3.1, generated from the handlers.

use super::problem::{Kind, ProblemDetails};
use super::{design, evaluation, messages, participants, results, rounds};
use crate::state::App;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use jsonschema::{Draft, Validator};
use serde_json::{Value, json};
use std::collections::{BTreeMap, HashMap};
use std::sync::{Arc, LazyLock, Mutex};
use utoipa::openapi::security::{HttpAuthScheme, HttpBuilder, SecurityScheme};
use utoipa::openapi::{Content, Ref, RefOr, Response as Described, ResponseBuilder};
use utoipa::{IntoResponses, Modify, OpenApi, ToSchema};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

#[derive(OpenApi)]
#[openapi(
    info(
        title = "Roundel",
        version = "1",
        description = "Proficiency-test rounds for programs: what a person can do on the pages, under the same rules.\n\n\
            Every request carries `Authorization: Bearer <token>`; tokens are made and revoked on the page of tokens. \
            Numbers that a laboratory reports are texts, kept letter by letter, so that nothing is rounded on the way. \
            Unknown fields are refused. Every POST but that of invitations carries an `Idempotency-Key` of 16 to 128 \
            visible characters, the same when a request is tried again: the change is then made once and answered \
            with the same text, for as long as the round is kept. A request that was refused leaves its key free. \
            Instants are UTC, as RFC 3339 has them.",
        license(name = "Apache-2.0", identifier = "Apache-2.0")
    ),
    components(schemas(ProblemDetails)),
    security(("token" = [])),
    modifiers(&Token)
)]
struct Description;

struct Token;

impl Modify for Token {
    fn modify(&self, api: &mut utoipa::openapi::OpenApi) {
        let bearer = HttpBuilder::new().scheme(HttpAuthScheme::Bearer).build();
        let components = api.components.get_or_insert_default();
        components.add_security_scheme("token", SecurityScheme::Http(bearer));
    }
}

/// The handlers, and their description.
pub(super) fn parts() -> (axum::Router<App>, utoipa::openapi::OpenApi) {
    let mut api = Description::openapi();
    api.servers = Some(vec![utoipa::openapi::Server::new(super::BASE)]);
    OpenApiRouter::with_openapi(api)
        .routes(routes!(rounds::list, rounds::create))
        .routes(routes!(rounds::get, rounds::update))
        .routes(routes!(rounds::open))
        .routes(routes!(rounds::close))
        .routes(routes!(rounds::progress))
        .routes(routes!(design::add_items))
        .routes(routes!(design::remove_item))
        .routes(routes!(design::add_measurands))
        .routes(routes!(design::remove_measurand))
        .routes(routes!(design::assigned_values, design::set_assigned_values))
        .routes(routes!(participants::list, participants::enrol))
        .routes(routes!(participants::remove))
        .routes(routes!(participants::invite))
        .routes(routes!(messages::list, messages::queue))
        .routes(routes!(results::newest, results::submit))
        .routes(routes!(results::receipts))
        .routes(routes!(results::receipt))
        .routes(routes!(results::sent_document))
        .routes(routes!(evaluation::list, evaluation::evaluate))
        .routes(routes!(evaluation::newest))
        .routes(routes!(evaluation::decide))
        .routes(routes!(evaluation::publish))
        .routes(routes!(evaluation::package))
        .routes(routes!(evaluation::scores))
        .routes(routes!(evaluation::certificate))
        .routes(routes!(evaluation::certificate_of))
        .split_for_parts()
}

static DESCRIPTION: LazyLock<Value> =
    LazyLock::new(|| sorted(serde_json::to_value(parts().1).expect("a description has only texts as keys")));

/// The same with the names of each object in order: whether an object keeps the
/// order of its making depends on what else is built along.
fn sorted(value: Value) -> Value {
    match value {
        Value::Object(fields) => {
            let fields: BTreeMap<String, Value> = fields.into_iter().collect();
            Value::Object(fields.into_iter().map(|(name, value)| (name, sorted(value))).collect())
        }
        Value::Array(entries) => Value::Array(entries.into_iter().map(sorted).collect()),
        other => other,
    }
}

/// The description as text, as it is served and kept beside the code.
pub fn text() -> String {
    let mut text = serde_json::to_string_pretty(&*DESCRIPTION).expect("a description has only texts as keys");
    text.push('\n');
    text
}

/// `GET /api/v1/openapi.json`.
pub(super) async fn document(State(app): State<App>) -> Response {
    let mut description = DESCRIPTION.clone();
    description["servers"] = json!([{ "url": format!("{}{}", app.public_url, super::BASE) }]);
    ([(header::CONTENT_TYPE, "application/json")], description.to_string()).into_response()
}

/// What the description says of the bodies of type `T`, as a check.
pub(super) fn validator<T: ToSchema>() -> Arc<Validator> {
    static BUILT: LazyLock<Mutex<HashMap<String, Arc<Validator>>>> = LazyLock::new(Mutex::default);
    let name = T::name().into_owned();
    let mut built = BUILT.lock().expect("nothing panics while a check is built");
    let build = |name: &String| {
        let schema = json!({
            "$ref": format!("#/components/schemas/{name}"),
            "components": DESCRIPTION["components"],
        });
        let options = jsonschema::options().with_draft(Draft::Draft202012);
        Arc::new(options.build(&schema).expect("every body is part of the description"))
    };
    Arc::clone(built.entry(name).or_insert_with_key(build))
}

/// What every request may be answered: the kinds that have nothing to do with
/// what it asks for.
fn described(kinds: &[Kind]) -> BTreeMap<String, RefOr<Described>> {
    let mut by_status: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    for kind in kinds {
        by_status.entry(kind.status().as_str().to_owned()).or_default().push(kind.word());
    }
    let schema = Ref::from_schema_name(ProblemDetails::name());
    by_status
        .into_iter()
        .map(|(status, words)| {
            let content = Content::new(Some(schema.clone()));
            let response = ResponseBuilder::new()
                .description(format!("Problem: {}", words.join(", ")))
                .content("application/problem+json", content)
                .build();
            (status, response.into())
        })
        .collect()
}

/// The problems of a request that looks.
#[derive(Debug)]
pub struct Looking;

impl IntoResponses for Looking {
    fn responses() -> BTreeMap<String, RefOr<Described>> {
        described(&[Kind::Unauthorised, Kind::Role, Kind::NotFound, Kind::Method, Kind::TooMany, Kind::Fault])
    }
}

/// The problems of a request that changes something.
#[derive(Debug)]
pub struct Changing;

impl IntoResponses for Changing {
    fn responses() -> BTreeMap<String, RefOr<Described>> {
        described(&Kind::ALL)
    }
}
