//! What a request is answered when it cannot be done: status and wording.

use crate::pages::{Frame, account, render};
use askama::Template;
use axum::http::{Method, StatusCode, Uri, header};
use axum::response::{IntoResponse, Redirect, Response};
use roundel_documents::words::Words;
use roundel_domain::access::Denied;
use roundel_domain::field::Problem;
use uuid::Uuid;

/// Why a request is not done.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// There is no such thing, or not for this person.
    #[error("there is no such page")]
    NotFound,
    /// The person is known and has not the role.
    #[error("this needs another role")]
    Role,
    /// The person has not the right in its laboratory; the sentence says who has.
    #[error("this needs another right: {0}")]
    Right(Problem),
    /// Nobody is signed in; `next` is where to go on afterwards.
    #[error("nobody is signed in")]
    SignIn {
        /// Path of the page that was asked for.
        next: String,
        /// What was typed on it and is to be saved after signing in, as a form
        /// sends it; may be empty.
        carried: String,
    },
    /// The form does not come from a page of ours, or from an older session.
    #[error("the form was not ours")]
    Forged,
    /// The state of things does not allow it; the sentence says why and what next.
    #[error("the state does not allow it: {0}")]
    Conflict(Problem),
    /// The body was too large or not readable.
    #[error("the request could not be read: {0}")]
    Unreadable(Problem),
    /// The database.
    #[error("use the database")]
    Store(#[from] roundel_store::Error),
    /// A fault of ours.
    #[error("{0}")]
    Fault(String),
}

impl From<Denied> for Error {
    fn from(denied: Denied) -> Self {
        match denied {
            Denied::Role => Error::Role,
            Denied::Hidden => Error::NotFound,
            Denied::Enter => Error::Right(Problem::new("right-enter")),
            Denied::Submit => Error::Right(Problem::new("right-submit")),
            Denied::People => Error::Right(Problem::new("right-people")),
        }
    }
}

impl From<askama::Error> for Error {
    fn from(error: askama::Error) -> Self {
        Error::Fault(format!("render a page: {error}"))
    }
}

impl Error {
    /// A conflict with the sentence of this key.
    pub fn conflict(key: &'static str) -> Error {
        Error::Conflict(Problem::new(key))
    }
}

#[derive(Template)]
#[template(path = "error.html")]
struct ErrorPage {
    f: Frame,
    title: String,
    sentence: String,
    request: Option<String>,
    /// Address of the round that the request was about; may be empty.
    round: String,
}

tokio::task_local! {
    /// Where an error happens: the path of the request, and the frame of its pages.
    pub static SCENE: (String, Frame);
}

/// Where an error happens, as far as that is known.
pub fn scene() -> (String, Frame) {
    SCENE.try_with(Clone::clone).unwrap_or_else(|_| (String::new(), Frame::bare()))
}

/// The round's own address, from that of any of its pages.
fn round_of(path: &str) -> String {
    match path.strip_prefix("/rounds/").and_then(|rest| rest.split('/').next()) {
        Some(code) if !code.is_empty() && code != "new" => format!("/rounds/{code}"),
        _ => String::new(),
    }
}

/// The page of an error.
fn error_page(status: StatusCode, key: &str, sentence: String, request: Option<String>) -> Response {
    let (path, frame) = scene();
    let title = frame.w.t(&format!("error-{key}-title"));
    let offers_round = key == "right" || matches!(status, StatusCode::CONFLICT | StatusCode::METHOD_NOT_ALLOWED);
    let round = if offers_round { round_of(&path) } else { String::new() };
    let page = ErrorPage { f: frame, title, sentence, request, round };
    match render(status, &page) {
        Ok(response) => response,
        Err(_) => status.into_response(),
    }
}

/// The answer to a method that an address does not take. Looking at an address
/// that only takes forms leads to the page that the form is on.
pub async fn method_not_allowed(method: Method, uri: Uri) -> Response {
    if method == Method::GET {
        let path = uri.path().trim_end_matches("/remove");
        let parent = path.rsplit_once('/').map_or("/", |(parent, _)| parent);
        return Redirect::to(if parent.is_empty() { "/" } else { parent }).into_response();
    }
    let words = Words::English;
    error_page(StatusCode::METHOD_NOT_ALLOWED, "method", words.t("error-method"), None)
}

/// The answer to a path that does not exist.
pub fn not_found() -> Response {
    Error::NotFound.into_response()
}

impl IntoResponse for Error {
    fn into_response(self) -> Response {
        let words = Words::English;
        let sentence = |key: &str| words.t(&format!("error-{key}"));
        match self {
            Error::NotFound => error_page(StatusCode::NOT_FOUND, "not-found", sentence("not-found"), None),
            Error::Role => error_page(StatusCode::FORBIDDEN, "role", sentence("role"), None),
            Error::Right(problem) => {
                error_page(StatusCode::FORBIDDEN, "right", crate::show::problem(words, &problem), None)
            }
            Error::Forged => error_page(StatusCode::FORBIDDEN, "forged", sentence("forged"), None),
            Error::SignIn { next, carried } if !carried.is_empty() => account::sign_in_carrying(next, carried),
            Error::SignIn { next, .. } => {
                let query: String = form_urlencoded::Serializer::new(String::new()).append_pair("next", &next).finish();
                Redirect::to(&format!("/sign-in?{query}")).into_response()
            }
            Error::Conflict(problem) => {
                error_page(StatusCode::CONFLICT, "conflict", crate::show::problem(words, &problem), None)
            }
            Error::Unreadable(problem) => {
                let mut response =
                    error_page(StatusCode::BAD_REQUEST, "unreadable", crate::show::problem(words, &problem), None);
                // What is left of the body was not read.
                response.headers_mut().insert(header::CONNECTION, header::HeaderValue::from_static("close"));
                response
            }
            Error::Store(_) | Error::Fault(_) => {
                let request = Uuid::now_v7().to_string();
                let cause = std::error::Error::source(&self).map(|cause| format!("{cause:?}"));
                tracing::error!(%request, cause, "failed to {self}");
                error_page(StatusCode::INTERNAL_SERVER_ERROR, "fault", sentence("fault"), Some(request))
            }
        }
    }
}
