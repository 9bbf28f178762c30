//! Whether a certificate is genuine and still stands, for everybody. The address on a
//! certificate answers with one word and the digest of what was signed; its number is
//! not said, since that holds the code of a laboratory. Who brings the file reads who
//! issued it, when, its number and version. No page names a laboratory or a result.

use super::{Frame, render};
use crate::error::Error;
use crate::extract::{OpenUpload, Path, Visitor};
use crate::pages::keys::list_of;
use crate::show;
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::http::{HeaderName, HeaderValue, StatusCode};
use axum::response::Response;
use jiff::Timestamp;
use roundel_domain::certificate::Statement;
use roundel_domain::certificate::verification::{self, Verdict};
use roundel_store::certificates::{self, Certificate};
use roundel_store::keys;
use tokio::sync::Semaphore;

/// Under this name tries are counted that found nothing: guessing becomes slow, and
/// whoever has a certificate never waits.
const GUESSES: &str = "verify";

/// At most so many files are checked at a time.
static CHECKING: Semaphore = Semaphore::const_new(2);

/// What was found.
struct Found {
    /// One word: how it looks.
    look: &'static str,
    title: String,
    sentence: String,
    /// What the certificate in hand is compared with; empty where nothing may be said.
    facts: Vec<(String, String)>,
    /// What the facts are for.
    note: String,
}

#[derive(Template)]
#[template(path = "account/verify.html")]
struct VerifyPage {
    f: Frame,
    found: Option<Found>,
}

/// The page, which search engines are told to leave out.
fn page(app: &App, visitor: &Visitor, status: StatusCode, found: Option<Found>) -> Result<Response, Error> {
    let mut response = render(status, &VerifyPage { f: Frame::open(app, visitor), found })?;
    let headers = response.headers_mut();
    headers.insert(HeaderName::from_static("x-robots-tag"), HeaderValue::from_static("noindex, nofollow"));
    Ok(response)
}

/// Issuer, day of issue, number and version, for who has the file.
fn facts_of_file(f: &Frame, statement: &Statement) -> Vec<(String, String)> {
    let issued = statement.issued_at.parse::<Timestamp>().map(|at| show::day(at, "UTC")).unwrap_or_default();
    vec![
        (f.t("verify-issuer"), statement.provider.name.clone()),
        (f.t("verify-issued"), issued),
        (f.t("verify-number"), statement.number.clone()),
        (f.t("verify-version"), statement.version.to_string()),
    ]
}

/// What is said of a certificate that this service issued.
fn standing(f: &Frame, issued: &Certificate, facts: Vec<(String, String)>) -> Found {
    let day = |at: Timestamp| show::day(at, "UTC");
    let (look, title, sentence) = match (issued.withdrawn_at(), issued.superseded_at()) {
        (Some(at), _) => ("refused", "verify-withdrawn", f.t1("verify-withdrawn-sentence", "day", day(at))),
        (None, Some(at)) => ("refused", "verify-superseded", f.t1("verify-superseded-sentence", "day", day(at))),
        (None, None) => ("good", "verify-authentic", f.t("verify-authentic-sentence")),
    };
    Found { look, title: f.t(title), sentence, facts, note: String::new() }
}

/// Makes the next guess slow, after this one has waited.
async fn slow_down(app: &App) {
    tokio::time::sleep(app.throttle.wait(GUESSES, app.clock.now())).await;
    app.throttle.wrong(GUESSES, app.clock.now());
}

/// `GET /verify/{code}`: where the code on a certificate leads.
///
/// # Errors
///
/// What the database says.
pub async fn certificate(
    State(app): State<App>,
    visitor: Visitor,
    Path(code): Path<String>,
) -> Result<Response, Error> {
    let issued = certificates::by_code(&mut app.db.read().await?, &code).await?;
    let f = Frame::open(&app, &visitor);
    match issued {
        Some(issued) => {
            let digest = vec![(f.t("verify-digest"), issued.sha256.clone())];
            let found = Found { note: f.t("verify-digest-why"), ..standing(&f, &issued, digest) };
            page(&app, &visitor, StatusCode::OK, Some(found))
        }
        None => {
            slow_down(&app).await;
            let found = refused(&f, "verify-unknown", f.t("verify-unknown-sentence"));
            page(&app, &visitor, StatusCode::NOT_FOUND, Some(found))
        }
    }
}

fn refused(f: &Frame, title: &str, sentence: String) -> Found {
    Found { look: "refused", title: f.t(title), sentence, facts: Vec::new(), note: String::new() }
}

/// `GET /verify`: a form to check a file.
///
/// # Errors
///
/// When the page cannot be made.
pub async fn ask(State(app): State<App>, visitor: Visitor) -> Result<Response, Error> {
    page(&app, &visitor, StatusCode::OK, None)
}

/// `POST /verify`: checks a file, of which nothing is kept.
///
/// # Errors
///
/// What the database says.
pub async fn check(State(app): State<App>, visitor: Visitor, upload: OpenUpload) -> Result<Response, Error> {
    let f = Frame::open(&app, &visitor);
    let keys = {
        let all = keys::all(&mut app.db.read().await?).await?;
        list_of(&app, &all)
    };
    let checked = {
        let _turn = CHECKING.acquire().await.map_err(|_| Error::Fault("wait to check a file".to_owned()))?;
        let check = move || verification::check(&upload.0, &keys, None);
        tokio::task::spawn_blocking(check).await.map_err(|_| Error::Fault("check a file".to_owned()))?
    };
    if let (Verdict::Authentic, Some(statement)) = (&checked.verdict, &checked.statement) {
        let issued = certificates::by_digest(&mut app.db.read().await?, &checked.sha256).await?;
        let found = match issued {
            Some(issued) => standing(&f, &issued, facts_of_file(&f, statement)),
            // Signed with a key of ours, and not by this service.
            None => refused(&f, "verify-not-kept", f.t("verify-not-kept-sentence")),
        };
        return page(&app, &visitor, StatusCode::OK, Some(found));
    }
    slow_down(&app).await;
    let found = match &checked.verdict {
        Verdict::Changed => refused(&f, "verify-changed", f.t("verify-changed-sentence")),
        Verdict::PagesChanged => refused(&f, "verify-pages-changed", f.t("verify-pages-changed-sentence")),
        Verdict::UnknownKey { key_id } => {
            // What a stranger's file says is shown only as far as it can be a name.
            let id: String = key_id.chars().filter(char::is_ascii_hexdigit).take(16).collect();
            refused(&f, "verify-unknown-key", f.t1("verify-unknown-key-sentence", "id", id))
        }
        Verdict::ExpiredKey { key_id, .. } => {
            refused(&f, "verify-expired-key", f.t1("verify-expired-key-sentence", "id", key_id))
        }
        _ => refused(&f, "verify-unreadable", f.t("verify-unreadable-sentence")),
    };
    page(&app, &visitor, StatusCode::UNPROCESSABLE_ENTITY, Some(found))
}
