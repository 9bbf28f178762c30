//! From a request to its parts: who sends it, and what.

use crate::error::{Error, SCENE};
use crate::pages::Frame;
use crate::secret;
use crate::state::App;
use axum::body::Bytes;
use axum::extract::multipart::{Multipart, MultipartError};
use axum::extract::{FromRequest, FromRequestParts, Request, State};
use axum::http::request::Parts;
use axum::http::{HeaderMap, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::Response;
use roundel_documents::words::Words;
use roundel_domain::access::Actor;
use roundel_domain::field::Problem;
use roundel_domain::import::File;
use roundel_store::accounts::{self, Session};
use serde::de::DeserializeOwned;
use serde::de::value::{Error as ValueError, MapDeserializer};
use subtle::ConstantTimeEq;
use tokio::sync::Semaphore;

/// The name of the session's cookie.
pub const COOKIE: &str = "roundel_session";
/// The most bytes of a posted form.
const MOST_FORM: usize = 512 * 1024;
/// The most bytes of an uploaded file, its form included.
pub const MOST_UPLOAD: usize = 1_100_000;
/// The most bytes of an uploaded file that is kept of a unit, its form included.
pub const MOST_LARGE_UPLOAD: usize = 5_100_000;

/// Who asks; nobody, when nobody is signed in.
#[derive(Clone, Debug, Default)]
pub struct Visitor {
    /// The session.
    pub session: Option<Session>,
    /// What has just been done, a word of ours; may be empty.
    pub done: String,
}

/// The token of the session's cookie.
pub fn session_token(headers: &HeaderMap) -> Option<String> {
    let cookies = headers.get(header::COOKIE)?.to_str().ok()?;
    let pair = cookies.split(';').map(str::trim).find_map(|pair| pair.strip_prefix(COOKIE))?;
    pair.strip_prefix('=').map(str::to_owned)
}

/// Finds out once for each request who asks, and refuses changes that another
/// site caused.
///
/// # Errors
///
/// [`Error::Forged`], or what the database says.
pub async fn visit(State(app): State<App>, mut request: Request, next: Next) -> Result<Response, Error> {
    if !matches!(*request.method(), Method::GET | Method::HEAD) && is_from_elsewhere(request.headers()) {
        return Err(Error::Forged);
    }
    let session = match session_token(request.headers()) {
        None => None,
        Some(token) => {
            let mut tx = app.db.read().await?;
            accounts::session(&mut tx, &secret::token_hash(&token), app.clock.now()).await?
        }
    };
    let done = done_word(request.uri().query().unwrap_or_default());
    // Only what a page of ours led to is said to be done; a link from elsewhere
    // must not make a page claim something.
    let done = if is_led_by_us(request.headers()) { done } else { String::new() };
    let visitor = Visitor { session, done };
    let scene = (request.uri().path().to_owned(), Frame::open(&app, &visitor));
    request.extensions_mut().insert(visitor);
    Ok(SCENE.scope(scene, next.run(request)).await)
}

/// Whether a page of this service led to the request.
fn is_led_by_us(headers: &HeaderMap) -> bool {
    let text = |name: header::HeaderName| headers.get(name).and_then(|value| value.to_str().ok());
    let referer = text(header::REFERER).and_then(|referer| referer.split_once("://")).map(|(_, rest)| rest);
    let host = referer.and_then(|rest| rest.split('/').next());
    host.is_some() && host == text(header::HOST)
}

/// The word after a change, if it is one of ours.
fn done_word(query: &str) -> String {
    let word = form_urlencoded::parse(query.as_bytes()).find(|(name, _)| name == "done").map(|(_, word)| word);
    word.filter(|word| Words::English.has(&format!("done-{word}"))).map(String::from).unwrap_or_default()
}

/// Whether a browser says that another site caused the request. A program that
/// is no browser says nothing, and has no cookie that could be abused.
fn is_from_elsewhere(headers: &HeaderMap) -> bool {
    let text = |name: &str| headers.get(name).and_then(|value| value.to_str().ok());
    match text("sec-fetch-site") {
        Some("same-origin" | "none") => false,
        Some(_) => true,
        None => match text("origin") {
            None => false,
            Some(origin) => {
                let host = origin.split_once("://").map_or("", |(_, host)| host);
                Some(host) != text("host")
            }
        },
    }
}

impl FromRequestParts<App> for Visitor {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, _: &App) -> Result<Self, Error> {
        parts.extensions.get::<Visitor>().cloned().ok_or_else(|| Error::Fault("find the visitor".to_owned()))
    }
}

/// The changing parts of an address; one that cannot be read leads nowhere.
#[derive(Clone, Copy, Debug)]
pub struct Path<T>(pub T);

impl<T: DeserializeOwned + Send> FromRequestParts<App> for Path<T> {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Error> {
        match axum::extract::Path::<T>::from_request_parts(parts, app).await {
            Ok(axum::extract::Path(parts)) => Ok(Path(parts)),
            Err(_) => Err(Error::NotFound),
        }
    }
}

/// What stands behind the question mark; what cannot be read counts as nothing.
#[derive(Clone, Copy, Debug)]
pub struct Query<T>(pub T);

impl<T: DeserializeOwned + Default + Send> FromRequestParts<App> for Query<T> {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Error> {
        let read = axum::extract::Query::<T>::from_request_parts(parts, app).await;
        Ok(Query(read.map(|axum::extract::Query(query)| query).unwrap_or_default()))
    }
}

/// A person who is signed in.
#[derive(Clone, Debug)]
pub struct Person {
    /// The session.
    pub session: Session,
    /// What the person may act as.
    pub actor: Actor,
    /// What has just been done, a word of ours; may be empty.
    pub done: String,
}

impl FromRequestParts<App> for Person {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Error> {
        let visitor = Visitor::from_request_parts(parts, app).await?;
        match visitor.session {
            Some(session) => Ok(Person { actor: session.actor(), session, done: visitor.done }),
            None => {
                let path = parts.uri.path_and_query().map_or("/", |path| path.as_str());
                let next = if parts.method == Method::GET { path } else { "/rounds" };
                Err(Error::SignIn { next: next.to_owned(), carried: String::new() })
            }
        }
    }
}

/// The fields of a posted form, in their order.
#[derive(Clone, Debug, Default)]
pub struct Fields(Vec<(String, String)>);

/// Whether a form of a laboratory's work on a round is posted to the path.
pub fn is_entry(path: &str) -> bool {
    let parts: Vec<&str> = path.split('/').collect();
    matches!(parts.as_slice(), ["", "rounds", _, "results" | "tasks", _] | ["", "rounds", _, "submit"])
}

impl Fields {
    /// Reads a form as a browser sends it.
    pub fn read(bytes: &[u8]) -> Fields {
        Fields(form_urlencoded::parse(bytes).into_owned().collect())
    }

    /// The last text of a field; empty if it was not posted.
    pub fn get(&self, name: &str) -> &str {
        self.0.iter().rev().find(|(field, _)| field == name).map_or("", |(_, text)| text.as_str())
    }

    /// Whether a field was posted.
    pub fn has(&self, name: &str) -> bool {
        self.0.iter().any(|(field, _)| field == name)
    }

    /// The fields but for these.
    #[must_use]
    pub fn without(&self, names: &[&str]) -> Fields {
        Fields(self.0.iter().filter(|(name, _)| !names.contains(&name.as_str())).cloned().collect())
    }

    /// Names and texts.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &str)> {
        self.0.iter().map(|(name, text)| (name.as_str(), text.as_str()))
    }

    /// The form as a type with just these fields, the token against forged forms
    /// left out: that is of the session.
    ///
    /// # Errors
    ///
    /// [`Error::Unreadable`] for a field that the form does not have.
    pub fn to<T: DeserializeOwned>(&self) -> Result<T, Error> {
        let pairs = self.iter().filter(|(name, _)| *name != "form_token");
        T::deserialize(MapDeserializer::<_, ValueError>::new(pairs))
            .map_err(|_| Error::Unreadable(Problem::new("error-form-fields")))
    }
}

/// Whether the body is of the kind that a form of ours sends.
fn is_form(headers: &HeaderMap) -> bool {
    let kind = headers.get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or_default();
    kind.split(';').next().is_some_and(|kind| kind.trim().eq_ignore_ascii_case("application/x-www-form-urlencoded"))
}

async fn body(request: Request, app: &App) -> Result<Bytes, Error> {
    if !is_form(request.headers()) {
        return Err(Error::Unreadable(Problem::new("error-form-kind")));
    }
    let (parts, body) = request.into_parts();
    let limited = Request::from_parts(parts, axum::body::Body::new(http_limit(body, MOST_FORM)));
    Bytes::from_request(limited, app).await.map_err(|_| Error::Unreadable(Problem::new("error-form-too-large")))
}

fn http_limit(body: axum::body::Body, most: usize) -> impl axum::body::HttpBody<Data = Bytes, Error = axum::BoxError> {
    http_body_util::Limited::new(body, most)
}

/// A form posted by somebody who need not be signed in.
#[derive(Clone, Debug)]
pub struct OpenForm(pub Fields);

impl FromRequest<App> for OpenForm {
    type Rejection = Error;

    async fn from_request(request: Request, app: &App) -> Result<Self, Error> {
        Ok(OpenForm(Fields::read(&body(request, app).await?)))
    }
}

/// A form posted by a person who is signed in, from a page of this session.
#[derive(Clone, Debug)]
pub struct Posted {
    /// Who.
    pub person: Person,
    /// What.
    pub fields: Fields,
}

impl FromRequest<App> for Posted {
    type Rejection = Error;

    async fn from_request(request: Request, app: &App) -> Result<Self, Error> {
        let (mut parts, body_of) = request.into_parts();
        let path = parts.uri.path().to_owned();
        let person = Person::from_request_parts(&mut parts, app).await;
        let bytes = body(Request::from_parts(parts, body_of), app).await?;
        let person = match person {
            // What a laboratory typed is not lost with its session.
            Err(Error::SignIn { .. }) if is_entry(&path) => {
                let carried = String::from_utf8_lossy(&bytes).into_owned();
                return Err(Error::SignIn { next: path, carried });
            }
            person => person?,
        };
        let fields = Fields::read(&bytes);
        check_token(&person, fields.get("form_token"))?;
        Ok(Posted { person, fields })
    }
}

fn check_token(person: &Person, given: &str) -> Result<(), Error> {
    let same = person.session.form_token.as_bytes().ct_eq(given.as_bytes());
    if bool::from(same) { Ok(()) } else { Err(Error::Forged) }
}

/// A file posted by a person who is signed in, from a page of this session.
#[derive(Clone, Debug)]
pub struct Upload {
    /// Who.
    pub person: Person,
    /// The file's name, as the browser says it; empty if none was chosen.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// At most so many files are read at a time: each may take 100 MiB.
static READING: Semaphore = Semaphore::const_new(2);

impl Upload {
    /// The file as tables, read on a thread that may take its time: before a
    /// transaction begins, which others wait for.
    ///
    /// # Errors
    ///
    /// A fault when the thread ends before its time. What is wrong with the file
    /// stands in it.
    pub async fn read(&mut self) -> Result<File, Error> {
        read_file(std::mem::take(&mut self.bytes)).await
    }
}

/// Reads a file away from the threads that answer, one at a time.
///
/// # Errors
///
/// A fault when the thread ends before its time.
pub async fn read_file(bytes: Vec<u8>) -> Result<File, Error> {
    let _turn = READING.acquire().await.map_err(|_| Error::Fault("wait to read a file".to_owned()))?;
    let read = tokio::task::spawn_blocking(move || File::read(&bytes)).await;
    read.map_err(|_| Error::Fault("read a file".to_owned()))
}

/// A form with a file, as a browser sends it.
#[derive(Default)]
struct FileForm {
    token: String,
    name: String,
    bytes: Vec<u8>,
}

/// Whether a body was longer than it may be, however deep below the error that lies:
/// a body that is limited twice hides it from its status.
fn is_too_long(error: &MultipartError) -> bool {
    let mut cause = std::error::Error::source(error);
    while let Some(inner) = cause {
        if inner.is::<http_body_util::LengthLimitError>() {
            return true;
        }
        cause = inner.source();
    }
    false
}

impl FileForm {
    async fn read(request: Request, app: &App) -> Result<FileForm, Error> {
        FileForm::up_to(MOST_UPLOAD, "error-upload-too-large", request, app).await
    }

    async fn up_to(most: usize, too_large: &'static str, request: Request, app: &App) -> Result<FileForm, Error> {
        let (parts, body) = request.into_parts();
        let request = Request::from_parts(parts, axum::body::Body::new(http_limit(body, most)));
        let unread = |error: MultipartError| {
            let large = error.status() == StatusCode::PAYLOAD_TOO_LARGE || is_too_long(&error);
            Error::Unreadable(Problem::new(if large { too_large } else { "error-upload-broken" }))
        };
        let broken = |_| Error::Unreadable(Problem::new("error-upload-broken"));
        let mut form = Multipart::from_request(request, app).await.map_err(broken)?;
        let mut read = FileForm::default();
        while let Some(field) = form.next_field().await.map_err(unread)? {
            match field.name() {
                Some("form_token") => read.token = field.text().await.map_err(unread)?,
                Some("file") => {
                    read.name = field.file_name().unwrap_or_default().chars().take(80).collect();
                    read.bytes = field.bytes().await.map_err(unread)?.to_vec();
                }
                _ => {}
            }
        }
        Ok(read)
    }
}

impl FromRequest<App> for Upload {
    type Rejection = Error;

    async fn from_request(request: Request, app: &App) -> Result<Self, Error> {
        let (mut parts, body) = request.into_parts();
        let person = Person::from_request_parts(&mut parts, app).await?;
        let form = FileForm::read(Request::from_parts(parts, body), app).await?;
        check_token(&person, &form.token)?;
        Ok(Upload { person, name: form.name, bytes: form.bytes })
    }
}

/// A file that is kept of a unit, posted by a person who is signed in, from a page of
/// this session: larger than a table, and never read as one.
#[derive(Clone, Debug)]
pub struct LargeUpload(pub Upload);

impl FromRequest<App> for LargeUpload {
    type Rejection = Error;

    async fn from_request(request: Request, app: &App) -> Result<Self, Error> {
        let (mut parts, body) = request.into_parts();
        let person = Person::from_request_parts(&mut parts, app).await?;
        let request = Request::from_parts(parts, body);
        let form = FileForm::up_to(MOST_LARGE_UPLOAD, "error-large-upload-too-large", request, app).await?;
        check_token(&person, &form.token)?;
        Ok(LargeUpload(Upload { person, name: form.name, bytes: form.bytes }))
    }
}

/// A file posted by somebody who need not be signed in. Nothing is kept of it.
#[derive(Clone, Debug)]
pub struct OpenUpload(pub Vec<u8>);

impl FromRequest<App> for OpenUpload {
    type Rejection = Error;

    async fn from_request(request: Request, app: &App) -> Result<Self, Error> {
        let form = FileForm::up_to(MOST_UPLOAD, "error-certificate-too-large", request, app).await?;
        Ok(OpenUpload(form.bytes))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn headers(pairs: &[(&'static str, &'static str)]) -> HeaderMap {
        pairs.iter().map(|(name, value)| (name.parse().unwrap(), value.parse().unwrap())).collect()
    }

    #[test]
    fn a_change_that_another_site_caused_is_told_by_the_browser() {
        assert!(is_from_elsewhere(&headers(&[("sec-fetch-site", "cross-site")])));
        assert!(is_from_elsewhere(&headers(&[("sec-fetch-site", "same-site")])));
        assert!(is_from_elsewhere(&headers(&[("origin", "https://elsewhere.example"), ("host", "pt.example")])));
        assert!(is_from_elsewhere(&headers(&[("origin", "null"), ("host", "pt.example")])));
        assert!(!is_from_elsewhere(&headers(&[("sec-fetch-site", "same-origin")])));
        assert!(!is_from_elsewhere(&headers(&[("origin", "https://pt.example"), ("host", "pt.example")])));
        assert!(!is_from_elsewhere(&headers(&[])));
    }

    #[test]
    fn the_session_is_found_among_other_cookies() {
        let both = headers(&[("cookie", "a=b; roundel_session=0123; c=d")]);
        assert_eq!(session_token(&both).as_deref(), Some("0123"));
        assert_eq!(session_token(&headers(&[("cookie", "roundel_sessions=0123")])), None);
    }
}
