//! What a program is answered when something cannot be done: problem details
//! as RFC 9457 has them.

use crate::actions::Refused;
use crate::actions::design::FileRefused;
use crate::error::Error;
use crate::show;
use crate::state::App;
use axum::extract::{Request, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use roundel_documents::words::Words;
use roundel_domain::access::Denied;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::import::RowProblem;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// The most wrong places that one answer names.
const MOST_ERRORS: usize = 1000;

/// The kinds of problems. Each has an address with a page of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// No token, or none that is open.
    Unauthorised,
    /// The token only looks.
    ReadOnly,
    /// The person of the token has another role.
    Role,
    /// There is no such thing, or not for this token.
    NotFound,
    /// The address does not take this method.
    Method,
    /// The state of things does not allow it.
    Conflict,
    /// The request could not be read.
    Unreadable,
    /// The body is of a kind that is not taken here.
    MediaType,
    /// The body is too large.
    TooLarge,
    /// Something in the body is not as it should be.
    Fields,
    /// The request needs a key.
    KeyMissing,
    /// The key was used for another request.
    KeyUsed,
    /// Too many requests in a short time.
    TooMany,
    /// A fault of the service.
    Fault,
}

impl Kind {
    /// All kinds.
    pub const ALL: [Kind; 14] = [
        Kind::Unauthorised,
        Kind::ReadOnly,
        Kind::Role,
        Kind::NotFound,
        Kind::Method,
        Kind::Conflict,
        Kind::Unreadable,
        Kind::MediaType,
        Kind::TooLarge,
        Kind::Fields,
        Kind::KeyMissing,
        Kind::KeyUsed,
        Kind::TooMany,
        Kind::Fault,
    ];

    /// The last part of its address.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Unauthorised => "unauthorised",
            Kind::ReadOnly => "read-only-token",
            Kind::Role => "role",
            Kind::NotFound => "not-found",
            Kind::Method => "method",
            Kind::Conflict => "conflict",
            Kind::Unreadable => "unreadable",
            Kind::MediaType => "media-type",
            Kind::TooLarge => "too-large",
            Kind::Fields => "fields",
            Kind::KeyMissing => "key-missing",
            Kind::KeyUsed => "key-used",
            Kind::TooMany => "too-many",
            Kind::Fault => "fault",
        }
    }

    /// The status of the answer.
    pub fn status(self) -> StatusCode {
        match self {
            Kind::Unauthorised => StatusCode::UNAUTHORIZED,
            Kind::ReadOnly | Kind::Role => StatusCode::FORBIDDEN,
            Kind::NotFound => StatusCode::NOT_FOUND,
            Kind::Method => StatusCode::METHOD_NOT_ALLOWED,
            Kind::Conflict => StatusCode::CONFLICT,
            Kind::Unreadable | Kind::KeyMissing => StatusCode::BAD_REQUEST,
            Kind::MediaType => StatusCode::UNSUPPORTED_MEDIA_TYPE,
            Kind::TooLarge => StatusCode::PAYLOAD_TOO_LARGE,
            Kind::Fields | Kind::KeyUsed => StatusCode::UNPROCESSABLE_ENTITY,
            Kind::TooMany => StatusCode::TOO_MANY_REQUESTS,
            Kind::Fault => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }

    fn key(self, part: &str) -> String {
        format!("problem-kind-{}-{part}", self.word())
    }
}

/// Something in the body that is not as it should be.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Wrong {
    /// Where, as a JSON Pointer (RFC 6901); not for a file.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "/results/3/values/0")]
    pub pointer: Option<String>,
    /// Line of a file.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<usize>,
    /// Column of a file.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub column: Option<String>,
    /// What stood in that cell of the file.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seen: Option<String>,
    /// What is wrong, as a word that stays the same.
    #[schema(example = "number-ambiguous")]
    pub code: String,
    /// What is wrong and what to do, as a sentence.
    pub detail: String,
}

impl Wrong {
    fn at(words: Words, pointer: String, problem: &Problem) -> Wrong {
        Wrong {
            pointer: Some(pointer),
            line: None,
            column: None,
            seen: None,
            code: code(problem),
            detail: show::problem(words, problem),
        }
    }
}

/// The key of a problem as programs see it.
fn code(problem: &Problem) -> String {
    problem.key.strip_prefix("problem-").unwrap_or(problem.key).to_owned()
}

/// Problem details (RFC 9457).
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct ProblemDetails {
    /// The kind of problem: the address of a page that explains it.
    #[serde(rename = "type")]
    #[schema(format = "uri")]
    pub kind: String,
    /// The kind in a few words.
    pub title: String,
    /// The status of the answer.
    pub status: u16,
    /// What is wrong this time and what to do.
    pub detail: String,
    /// Every place in the body that is not as it should be.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schema(required = false)]
    pub errors: Vec<Wrong>,
    /// The name of the request in the service's log, for a fault.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = "uuid")]
    pub request: Option<String>,
}

/// Why a program's request is not done.
#[derive(Clone, Debug)]
pub struct Refusal {
    kind: Kind,
    detail: Option<String>,
    errors: Vec<Wrong>,
    request: Option<String>,
}

impl Refusal {
    /// A refusal with the kind's own sentence.
    pub fn new(kind: Kind) -> Refusal {
        Refusal { kind, detail: None, errors: Vec::new(), request: None }
    }

    /// A refusal with a sentence.
    pub fn because(kind: Kind, problem: &Problem) -> Refusal {
        Refusal { detail: Some(show::problem(Words::English, problem)), ..Refusal::new(kind) }
    }

    /// The body has these mistakes, each at its pointer.
    pub fn wrong(mistakes: impl IntoIterator<Item = (String, Problem)>) -> Refusal {
        let errors = mistakes.into_iter().map(|(pointer, problem)| Wrong::at(Words::English, pointer, &problem));
        Refusal { errors: errors.take(MOST_ERRORS).collect(), ..Refusal::new(Kind::Fields) }
    }

    /// The fields of a form have these mistakes; `pointer` says where a field
    /// stands in the body.
    pub fn fields(errors: &FieldErrors, pointer: impl Fn(&str) -> String) -> Refusal {
        Refusal::wrong(errors.iter().map(|(field, problem)| (pointer(field), problem.clone())))
    }

    /// The rows of a file have these mistakes.
    pub fn rows(problems: &[RowProblem]) -> Refusal {
        let wrong = |row: &RowProblem| Wrong {
            pointer: None,
            line: (row.line > 0).then_some(row.line),
            column: row.column.clone(),
            seen: row.seen.clone(),
            code: code(&row.problem),
            detail: show::problem(Words::English, &row.problem),
        };
        Refusal { errors: problems.iter().take(MOST_ERRORS).map(wrong).collect(), ..Refusal::new(Kind::Fields) }
    }

    /// What an action says; `pointer` as for [`Refusal::fields`].
    pub fn of(refused: Refused, pointer: impl Fn(&str) -> String) -> Refusal {
        match refused {
            Refused::Fields(errors) => Refusal::fields(&errors, pointer),
            Refused::Error(error) => error.into(),
        }
    }

    fn details(&self, public_url: &str) -> ProblemDetails {
        let words = Words::English;
        ProblemDetails {
            kind: format!("{public_url}/problems/{}", self.kind.word()),
            title: words.t(&self.kind.key("title")),
            status: self.kind.status().as_u16(),
            detail: self.detail.clone().unwrap_or_else(|| words.t(&self.kind.key("text"))),
            errors: self.errors.clone(),
            request: self.request.clone(),
        }
    }
}

impl From<Error> for Refusal {
    fn from(error: Error) -> Self {
        match error {
            Error::NotFound => Refusal::new(Kind::NotFound),
            Error::Role | Error::Forged => Refusal::new(Kind::Role),
            Error::Right(problem) => Refusal::because(Kind::Role, &problem),
            Error::SignIn { .. } => Refusal::new(Kind::Unauthorised),
            Error::Conflict(problem) => Refusal::because(Kind::Conflict, &problem),
            Error::Unreadable(problem) => Refusal::because(Kind::Unreadable, &problem),
            Error::Store(_) | Error::Fault(_) => {
                let request = Uuid::now_v7().to_string();
                let cause = std::error::Error::source(&error).map(|cause| format!("{cause:?}"));
                tracing::error!(%request, cause, "failed to {error}");
                Refusal { request: Some(request), ..Refusal::new(Kind::Fault) }
            }
        }
    }
}

impl From<roundel_store::Error> for Refusal {
    fn from(error: roundel_store::Error) -> Self {
        Error::from(error).into()
    }
}

impl From<Denied> for Refusal {
    fn from(denied: Denied) -> Self {
        Error::from(denied).into()
    }
}

impl From<FileRefused> for Refusal {
    fn from(refused: FileRefused) -> Self {
        match refused {
            FileRefused::Rows(problems) => Refusal::rows(&problems),
            FileRefused::Error(error) => error.into(),
        }
    }
}

impl IntoResponse for Refusal {
    fn into_response(self) -> Response {
        // The body is written by `write`, which knows the service's address.
        let mut response = self.kind.status().into_response();
        response.extensions_mut().insert(self);
        response
    }
}

/// Writes the bodies of refusals.
pub async fn write(State(app): State<App>, request: Request, next: Next) -> Response {
    let mut response = next.run(request).await;
    let Some(refusal) = response.extensions_mut().remove::<Refusal>() else { return response };
    let details = refusal.details(&app.public_url);
    let body = serde_json::to_string(&details).expect("a problem has only texts as keys");
    let (mut parts, _) = response.into_parts();
    let mut put = |name, value| parts.headers.insert(name, HeaderValue::from_static(value));
    put(header::CONTENT_TYPE, "application/problem+json");
    match refusal.kind {
        Kind::Unauthorised => put(header::WWW_AUTHENTICATE, "Bearer"),
        Kind::TooMany => put(header::RETRY_AFTER, "2"),
        // What is left of the body was not read.
        Kind::TooLarge => put(header::CONNECTION, "close"),
        _ => None,
    };
    parts.headers.remove(header::CONTENT_LENGTH);
    Response::from_parts(parts, body.into())
}
