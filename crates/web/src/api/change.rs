//! A change that a program asks for: its body, read strictly, and its key, so
//! that asking twice changes once.

use super::caller::Caller;
use super::openapi;
use super::problem::{Kind, Refusal};
use crate::extract::{self, MOST_UPLOAD};
use crate::secret;
use crate::state::App;
use axum::body::Bytes;
use axum::extract::{FromRequest, FromRequestParts, Request};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::response::{IntoResponse, Response};
use jsonschema::error::{TypeKind, ValidationError, ValidationErrorKind};
use roundel_documents::sheet;
use roundel_domain::field::{Problem, shortened};
use roundel_domain::import;
use roundel_store::Tx;
use roundel_store::requests::{self, Asked};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use tokio::sync::Notify;
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

/// The header with the key of a change.
pub const KEY: &str = "idempotency-key";
/// The fewest characters of a key: it must not be used twice by chance.
const SHORTEST_KEY: usize = 16;
/// The most characters of a key.
const LONGEST_KEY: usize = 128;

/// The header that every POST carries, so that asking twice changes once.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Header)]
pub struct KeyHeader {
    /// 16 to 128 visible characters, the same when a request is tried again.
    #[serde(rename = "Idempotency-Key")]
    #[param(
        min_length = 16,
        max_length = 128,
        pattern = "^[!#-~]{16,128}$",
        example = "0198c7a2-6f0e-7d3c-9b51-2f1d8a54e0aa"
    )]
    #[allow(dead_code, reason = "describes the header; the request's own is read by `Change`")]
    idempotency_key: String,
}

/// A change that is asked for.
#[derive(Debug)]
pub struct Change {
    /// Who asks.
    pub caller: Caller,
    target: String,
    kind: String,
    key: Option<String>,
    bytes: Bytes,
}

impl FromRequest<App> for Change {
    type Rejection = Refusal;

    async fn from_request(request: Request, app: &App) -> Result<Self, Refusal> {
        let (mut parts, body) = request.into_parts();
        let caller = Caller::from_request_parts(&mut parts, app).await?;
        caller.may_change()?;
        let kind = parts.headers.get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or_default();
        let kind = kind.split(';').next().unwrap_or_default().trim().to_ascii_lowercase();
        let key = if parts.method == Method::POST { key(&parts.headers)? } else { None };
        let limited = http_body_util::Limited::new(body, MOST_UPLOAD);
        let bytes = http_body_util::BodyExt::collect(limited)
            .await
            .map_err(|error| {
                let large = error.is::<http_body_util::LengthLimitError>();
                Refusal::new(if large { Kind::TooLarge } else { Kind::Unreadable })
            })?
            .to_bytes();
        Ok(Change { caller, target: format!("{} {}", parts.method, parts.uri.path()), kind, key, bytes })
    }
}

/// The key of a request, with or without the quotes of a structured field.
fn key(headers: &HeaderMap) -> Result<Option<String>, Refusal> {
    let Some(value) = headers.get(KEY) else { return Ok(None) };
    let text = value.to_str().unwrap_or_default().trim();
    let text = text.strip_prefix('"').and_then(|text| text.strip_suffix('"')).unwrap_or(text);
    let plain = text.bytes().all(|byte| byte.is_ascii_graphic() && byte != b'"');
    if plain && (SHORTEST_KEY..=LONGEST_KEY).contains(&text.len()) {
        return Ok(Some(text.to_owned()));
    }
    let problem = Problem::new("problem-key-form").with("least", SHORTEST_KEY).with("most", LONGEST_KEY);
    Err(Refusal::because(Kind::Unreadable, &problem))
}

impl Change {
    /// The body as JSON of this type: strictly, with every mistake in one answer.
    ///
    /// # Errors
    ///
    /// [`Kind::MediaType`] for anything but JSON, [`Kind::Unreadable`] for what is
    /// not JSON, [`Kind::Fields`] with every place that the schema refuses.
    pub fn json<T: DeserializeOwned + ToSchema>(&self) -> Result<T, Refusal> {
        if !self.is_json() {
            let problem = Problem::new("problem-media-json").with("seen", shortened(&self.kind));
            return Err(Refusal::because(Kind::MediaType, &problem));
        }
        let unreadable = |error: serde_json::Error| {
            let problem = Problem::new("problem-json").with("line", error.line()).with("column", error.column());
            Refusal::because(Kind::Unreadable, &problem)
        };
        let value = serde_json::from_slice(&self.bytes).map_err(unreadable)?;
        let mistakes: Vec<(String, Problem)> =
            openapi::validator::<T>().iter_errors(&value).flat_map(|error| mistakes(&error)).collect();
        if !mistakes.is_empty() {
            return Err(Refusal::wrong(mistakes));
        }
        // From the text, not from the value: the same name twice is a mistake
        // that a value has forgotten.
        serde_json::from_slice(&self.bytes).map_err(|error| {
            let problem = Problem::new("problem-json-twice").with("line", error.line()).with("column", error.column());
            Refusal::because(Kind::Unreadable, &problem)
        })
    }

    /// Whether the body says that it is JSON.
    pub fn is_json(&self) -> bool {
        self.kind == "application/json"
    }

    /// The body as a file of rows: CSV or a spreadsheet.
    ///
    /// # Errors
    ///
    /// [`Kind::MediaType`] for anything else.
    pub async fn file(&self) -> Result<import::File, Refusal> {
        if matches!(self.kind.as_str(), "text/csv" | sheet::MEDIA_TYPE) {
            return Ok(extract::read_file(self.bytes.to_vec()).await?);
        }
        let problem = Problem::new("problem-media-file").with("seen", shortened(&self.kind));
        Err(Refusal::because(Kind::MediaType, &problem))
    }

    /// The key, for an action that keeps one of its own.
    pub fn key(&self) -> &str {
        self.key.as_deref().unwrap_or_default()
    }

    /// Begins the change, unless it was made before: then its answer.
    ///
    /// # Errors
    ///
    /// [`Kind::KeyMissing`] without a key, [`Kind::KeyUsed`] for a key that came
    /// with another body or to another address.
    pub async fn once(&self, app: &App) -> Result<Begun, Refusal> {
        let key = self.key.as_deref().ok_or_else(|| Refusal::new(Kind::KeyMissing))?;
        let owner = self.caller.owner();
        let body_sha256 = secret::sha256_of(&[self.kind.as_bytes(), b"\n", &self.bytes]);
        let asked = Asked {
            owner,
            key,
            token: self.caller.token,
            target: &self.target,
            body_sha256: &body_sha256,
            at: app.clock.now(),
        };
        let mut tx = app.db.write().await?;
        if requests::claim(&mut tx, &asked).await? {
            return Ok(Begun::New(Once { tx, owner, key: key.to_owned(), outbox: Arc::clone(&app.outbox) }));
        }
        let known = requests::known(&mut tx, owner, key).await?;
        let known = known.filter(|known| known.target == self.target && known.body_sha256 == body_sha256);
        let known = known.ok_or_else(|| Refusal::new(Kind::KeyUsed))?;
        let status = u16::try_from(known.status).ok().and_then(|status| StatusCode::from_u16(status).ok());
        Ok(Begun::Known(answer(status.unwrap_or(StatusCode::OK), &known.location, known.answer)))
    }
}

/// A change that has begun.
#[derive(Debug)]
pub enum Begun {
    /// It is to be made.
    New(Once),
    /// It was made; this was its answer.
    Known(Response),
}

/// A change that is being made: its transaction holds its key.
#[derive(Debug)]
#[must_use = "without its end nothing happens"]
pub struct Once {
    /// The transaction.
    pub tx: Tx,
    owner: Uuid,
    key: String,
    outbox: Arc<Notify>,
}

impl Once {
    /// Commits the change together with its answer.
    ///
    /// # Errors
    ///
    /// What the database says; then nothing happened.
    pub async fn end(mut self, status: StatusCode, location: &str, body: &impl Serialize) -> Result<Response, Refusal> {
        let text = serde_json::to_string(body).expect("an answer has only texts as keys");
        requests::answer(&mut self.tx, self.owner, &self.key, status.as_u16(), location, &text).await?;
        self.tx.commit().await?;
        // In case that it queued messages.
        self.outbox.notify_one();
        Ok(answer(status, location, text))
    }
}

fn answer(status: StatusCode, location: &str, text: String) -> Response {
    let mut response = (status, [(header::CONTENT_TYPE, "application/json")], text).into_response();
    if let (false, Ok(location)) = (location.is_empty(), HeaderValue::from_str(location)) {
        response.headers_mut().insert(header::LOCATION, location);
    }
    response
}

/// An error of the schema as places and problems.
fn mistakes(error: &ValidationError<'_>) -> Vec<(String, Problem)> {
    let at = error.instance_path().to_string();
    let below = |name: &str| format!("{at}/{}", name.replace('~', "~0").replace('/', "~1"));
    let here = |problem| vec![(at.clone(), problem)];
    match error.kind() {
        ValidationErrorKind::AdditionalProperties { unexpected } => {
            unexpected.iter().map(|name| (below(name), Problem::new("problem-json-unknown"))).collect()
        }
        ValidationErrorKind::Required { property } => {
            vec![(below(property.as_str().unwrap_or_default()), Problem::new("problem-json-missing"))]
        }
        ValidationErrorKind::Type { kind } => {
            let key = match kind {
                TypeKind::Single(jsonschema::JsonType::String) => "problem-json-text",
                TypeKind::Single(jsonschema::JsonType::Boolean) => "problem-json-boolean",
                TypeKind::Single(jsonschema::JsonType::Integer) => "problem-json-whole",
                TypeKind::Single(jsonschema::JsonType::Array) => "problem-json-list",
                TypeKind::Single(jsonschema::JsonType::Object) => "problem-json-object",
                _ => "problem-json-text",
            };
            here(Problem::new(key))
        }
        ValidationErrorKind::MaxLength { limit } => here(Problem::new("problem-json-long").with("limit", limit)),
        ValidationErrorKind::MaxItems { limit } => here(Problem::new("problem-json-many").with("limit", limit)),
        ValidationErrorKind::MinItems { limit } => here(Problem::new("problem-json-few").with("limit", limit)),
        // An object or null: what is wrong with the object is what to tell.
        ValidationErrorKind::OneOfNotValid { context } | ValidationErrorKind::AnyOf { context } => {
            let of_value = context.iter().find(|errors| !errors.iter().all(is_about_null));
            let errors = of_value.into_iter().flatten();
            let found: Vec<_> = errors.flat_map(mistakes).collect();
            if found.is_empty() { here(Problem::new("problem-json-other")) } else { found }
        }
        _ => here(Problem::new("problem-json-other")),
    }
}

fn is_about_null(error: &ValidationError<'_>) -> bool {
    matches!(error.kind(), ValidationErrorKind::Type { kind: TypeKind::Single(jsonschema::JsonType::Null) })
}

/// The bytes of a file of rows.
#[derive(Debug, ToSchema)]
#[schema(value_type = String, format = Binary)]
pub struct File(#[allow(dead_code, reason = "describes the body; its bytes are read by `Change`")] String);
