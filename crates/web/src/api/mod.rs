//! The interface for programs: the same actions as the pages, under the same
//! rules, in JSON. Its description is generated from this code.

pub mod caller;
pub mod change;
pub mod design;
pub mod evaluation;
pub mod messages;
pub mod openapi;
pub mod participants;
pub mod problem;
pub mod results;
pub mod rounds;

use crate::state::App;
use axum::Router;
use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use axum::http::{StatusCode, header};
use axum::middleware;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use problem::{Kind, Refusal};
use roundel_domain::field::Problem;
use serde::Serialize;
use serde::de::DeserializeOwned;
use tower_http::catch_panic::CatchPanicLayer;

/// The answer of a handler.
pub type Answer = Result<Response, Refusal>;

/// Where the interface begins.
pub const BASE: &str = "/api/v1";

/// The interface, to be put at [`BASE`].
pub fn router(app: App) -> Router<App> {
    let (router, _) = openapi::parts();
    router
        .fallback(|| async { Refusal::new(Kind::NotFound) })
        .method_not_allowed_fallback(|| async { Refusal::new(Kind::Method) })
        .layer(middleware::from_fn_with_state(app.clone(), caller::authenticate))
        .route("/openapi.json", get(openapi::document))
        .layer(CatchPanicLayer::custom(|_: Box<dyn std::any::Any + Send>| {
            Refusal::from(crate::error::Error::Fault("finish a request: it panicked".to_owned())).into_response()
        }))
        .layer(middleware::from_fn_with_state(app, problem::write))
}

/// The changing parts of an address; one that cannot be read leads nowhere.
#[derive(Clone, Copy, Debug)]
pub struct Path<T>(pub T);

impl<T: DeserializeOwned + Send> FromRequestParts<App> for Path<T> {
    type Rejection = Refusal;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Refusal> {
        match axum::extract::Path::<T>::from_request_parts(parts, app).await {
            Ok(axum::extract::Path(parts)) => Ok(Path(parts)),
            Err(_) => Err(Refusal::new(Kind::NotFound)),
        }
    }
}

/// What stands behind the question mark, read strictly.
#[derive(Clone, Copy, Debug)]
pub struct Query<T>(pub T);

impl<T: DeserializeOwned + Send> FromRequestParts<App> for Query<T> {
    type Rejection = Refusal;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Refusal> {
        match axum::extract::Query::<T>::from_request_parts(parts, app).await {
            Ok(axum::extract::Query(query)) => Ok(Query(query)),
            Err(_) => Err(Refusal::because(Kind::Unreadable, &Problem::new("problem-query"))),
        }
    }
}

/// An answer in JSON.
fn json(status: StatusCode, body: &impl Serialize) -> Response {
    let text = serde_json::to_string(body).expect("an answer has only texts as keys");
    (status, [(header::CONTENT_TYPE, "application/json")], text).into_response()
}

/// A document that was stored as text.
fn document(text: String) -> Response {
    ([(header::CONTENT_TYPE, "application/json")], text).into_response()
}

/// Nothing more to say.
fn done() -> Response {
    StatusCode::NO_CONTENT.into_response()
}
