//! The notice board: which certificates and reports do not stand any more, for
//! everybody, as numbered notices and as one list. Nobody learns whose they are.

use super::{Frame, download, ok};
use crate::actions;
use crate::error::Error;
use crate::extract::{Path, Visitor};
use crate::show;
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::certificate::canonical_text;
use roundel_domain::certificate::envelope::{self, NOTICES, STATEMENT};
use roundel_domain::certificate::notice::{Kind, Numbered};
use roundel_domain::certificate::verification::{NOTICES_FORMAT, Notices};
use roundel_domain::seal::Signature;
use roundel_store::{keys, notices as store};

/// A notice of the board.
struct Line {
    number: i64,
    since: String,
    what: String,
}

#[derive(Template)]
#[template(path = "account/notices.html")]
struct NoticesPage {
    f: Frame,
    lines: Vec<Line>,
}

fn what(f: &Frame, kind: Kind, count: usize) -> String {
    let key = match kind {
        Kind::CertificatesSuperseded => "notices-certificates-superseded",
        Kind::CertificatesWithdrawn => "notices-certificates-withdrawn",
        Kind::ReportsSuperseded => "notices-reports-superseded",
    };
    f.t1(key, "count", count)
}

/// `GET /notices`: the board, the newest notice first.
///
/// # Errors
///
/// What the database says.
pub async fn board(State(app): State<App>, visitor: Visitor) -> Result<Response, Error> {
    let told = actions::notices::told(&app).await?;
    let f = Frame::open(&app, &visitor);
    let line = |(_, notice): &(store::Signed, roundel_domain::certificate::notice::Notice)| Line {
        number: notice.number,
        since: show::exact(notice.since),
        what: what(&f, notice.kind, notice.sha256.len()),
    };
    let lines = told.notices.iter().rev().map(line).collect();
    ok(&NoticesPage { lines, f })
}

/// `GET /notices/{number}`: one notice as a sealed file.
///
/// # Errors
///
/// [`Error::NotFound`] for a number that none has.
pub async fn one(State(app): State<App>, Path(number): Path<i64>) -> Result<Response, Error> {
    let fault = |what: &str| Error::Fault(format!("read {what} of a notice"));
    let mut tx = app.db.read().await?;
    let found = store::by_number(&mut tx, number).await?.ok_or(Error::NotFound)?;
    let key = keys::by_id(&mut tx, &found.key_id).await?.ok_or_else(|| fault("the key"))?;
    let signature = Signature::from_base64(&found.signature).map_err(|_| fault("the signature"))?;
    let sealed = envelope::seal(STATEMENT, &found.statement, key.public, &signature);
    Ok(download("application/json", &format!("notice-{number}.json"), sealed))
}

/// `GET /notices.json`: which certificates and reports do not stand any more, by the
/// digests of their statements and contents, signed; and the numbered notices.
///
/// # Errors
///
/// What the database says.
pub async fn list(State(app): State<App>) -> Result<Response, Error> {
    let now = app.clock.now();
    let key = actions::keys::current(&app).await?;
    let told = actions::notices::told(&app).await?;
    let all = &told.certificates;
    let notices = Notices {
        format: NOTICES_FORMAT.to_owned(),
        made_at: now,
        key_id: key.public().id(),
        superseded: all.iter().filter_map(|one| Some((one.sha256.clone(), one.superseded_at()?))).collect(),
        withdrawn: all.iter().filter_map(|one| Some((one.sha256.clone(), one.withdrawn_at()?))).collect(),
        superseded_reports: told.reports.iter().map(|one| (one.sha256.clone(), one.since())).collect(),
        numbered: told
            .notices
            .into_iter()
            .map(|(signed, statement)| Numbered { signature: signed.signature, statement })
            .collect(),
    };
    let text = canonical_text(&notices);
    let sealed = envelope::seal(NOTICES, &text, key.public(), &key.sign(text.as_bytes()));
    Ok(download("application/json", "notices.json", sealed))
}
