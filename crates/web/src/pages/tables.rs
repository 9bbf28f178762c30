//! All files of a round in one list, and the tables of a published round among them.

use super::files::Kind;
use super::versions::{Edition, Wanted};
use super::{Frame, download, ok, seen_round};
use crate::actions;
use crate::archive;
use crate::error::Error;
use crate::extract::{Path, Person, Query};
use crate::published::{TABLES, Tables};
use crate::sheets;
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_documents::sheet;
use roundel_domain::round::Round;
use roundel_store::{Tx, evaluations, participants, results as store_results};

/// A line of the list: what it is, what it holds, and where it is in which form.
struct Line {
    name: String,
    holds: String,
    /// What the link says, what it says to whoever hears it alone, and where it leads.
    links: Vec<(String, String, String)>,
}

struct Section {
    heading: String,
    lines: Vec<Line>,
}

#[derive(Template)]
#[template(path = "rounds/files.html")]
struct FilesPage {
    f: Frame,
    round: Round,
    lead: String,
    sections: Vec<Section>,
}

/// What the list is made from.
struct Listed<'a> {
    f: &'a Frame,
    base: String,
}

impl Listed<'_> {
    /// A line of files that have one name and several endings.
    fn line(&self, key: &str, holds: &str, path: &str, endings: &[&str]) -> Line {
        let name = self.f.t(key);
        let link = |ending: &&str| {
            let shown = self.f.t(&format!("files-{ending}"));
            let label = format!("{name}, {shown}");
            (shown, label, format!("{}/{path}.{ending}", self.base))
        };
        Line { links: endings.iter().map(link).collect(), holds: self.f.t(holds), name }
    }
}

const BOTH: [&str; 2] = ["xlsx", "csv"];

/// The files of the versions whose place another took, the newest first.
async fn earlier(tx: &mut Tx, listed: &Listed<'_>, round: &Round, own: bool) -> Result<Option<Section>, Error> {
    let edition = Edition::read(tx, round, None).await?;
    let f = listed.f;
    let mut lines = Vec::new();
    for one in edition.all.iter().rev().filter(|one| one.number < edition.number) {
        let query = format!("?version={}", one.number);
        let named = |key: &str| f.t2("files-of-version", "file", f.t(key), "number", one.number);
        let mut line = |key: &str, holds: &str, path: &str, endings: &[&str]| {
            let mut line = listed.line(key, holds, path, endings);
            line.name = named(key);
            for (shown, label, href) in &mut line.links {
                *label = format!("{}, {shown}", line.name);
                href.push_str(&query);
            }
            lines.push(line);
        };
        if own {
            line("files-own-scores", "files-own-scores-holds", "scores", &BOTH);
            line("files-certificate", "files-certificate-holds", "certificate", &["pdf"]);
        }
        line("files-round", "files-round-holds", "tables/round", &["xlsx"]);
        line("files-package", "files-package-holds", "package", &["json"]);
    }
    Ok((!lines.is_empty()).then(|| Section { heading: f.t("files-superseded"), lines }))
}

/// `GET /rounds/{code}/files`: every file of the round that this person may have,
/// and what it holds.
///
/// # Errors
///
/// [`Error::NotFound`] for a round that does not exist for this person.
pub async fn list(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let (round, participant) = seen_round(&mut tx, &person.actor, &code).await?;
    let f = Frame::of(&app, &person);
    let published = round.is_published();
    let listed = Listed { f: &f, base: format!("/rounds/{}", round.code) };
    let mut sections = Vec::new();
    let template = listed.line("files-template", "files-template-holds", "results-template", &BOTH);
    if let Some(own) = &participant {
        let sent = !store_results::of_participant(&mut tx, own.id).await?.is_empty();
        let mut lines = vec![template];
        if sent {
            lines.push(listed.line("files-own-results", "files-own-results-holds", "results", &BOTH));
        }
        if published {
            lines.push(listed.line("files-own-scores", "files-own-scores-holds", "scores", &BOTH));
            lines.push(listed.line("files-certificate", "files-certificate-holds", "certificate", &["pdf"]));
        }
        lines.push(listed.line("files-own", "files-own-holds", "own", &["zip"]));
        sections.push(Section { heading: f.t("files-of-own"), lines });
    } else {
        let working = !evaluations::of_round(&mut tx, round.id).await?.is_empty();
        let mut lines = vec![template];
        if participants::progress(&mut tx, round.id).await?.iter().any(|line| line.version > 0) {
            lines.push(listed.line("files-sent", "files-sent-holds", "results", &BOTH));
        }
        if working {
            lines.push(listed.line("files-working", "files-working-holds", "scores", &BOTH));
        }
        sections.push(Section { heading: f.t("files-of-work"), lines });
    }
    if published {
        let mut lines = vec![listed.line("files-round", "files-round-holds", "tables/round", &["xlsx"])];
        for word in TABLES {
            let (name, holds) = (format!("files-{word}"), format!("table-{word}"));
            lines.push(listed.line(&name, &holds, &format!("tables/{word}"), &["csv"]));
        }
        lines.push(listed.line("files-methods", "files-methods-holds", "methods", &BOTH));
        lines.push(listed.line("files-package", "files-package-holds", "package", &["json"]));
        if participant.is_none() && actions::open_data::newest(&mut tx, &person.actor, &round).await?.is_some() {
            lines.push(listed.line("files-open-data", "files-open-data-holds", "open-data", &["zip"]));
        }
        sections.push(Section { heading: f.t("files-of-round"), lines });
        sections.extend(earlier(&mut tx, &listed, &round, participant.is_some()).await?);
    }
    let lead = f.t(match (published, participant.is_some()) {
        (true, true) => "tables-shared",
        (true, false) => "tables-whole",
        (false, _) => "files-unpublished",
    });
    ok(&FilesPage { lead, sections, f, round })
}

/// `GET /rounds/{code}/tables/….csv`: one table of a published round, by the last part
/// of the address; of an earlier `version` where one is asked for.
///
/// # Errors
///
/// As [`Tables::load`].
pub async fn table(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    Query(wanted): Query<Wanted>,
    uri: axum::http::Uri,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let tables = Tables::load(&app, &mut tx, &person, &code, wanted.number()?).await?;
    drop(tx);
    let word = uri.path().rsplit('/').next().and_then(|name| name.strip_suffix(".csv")).unwrap_or_default();
    let table = tables.table(&Frame::of(&app, &person), word).ok_or(Error::NotFound)?;
    Kind::Csv.send(&format!("{}-{word}{}", tables.round.code, tables.edition.file_suffix()), table).await
}

/// `GET /rounds/{code}/tables/round.xlsx`: all tables in one workbook, of an earlier
/// `version` where one is asked for.
///
/// # Errors
///
/// As [`Tables::load`].
pub async fn workbook(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    Query(wanted): Query<Wanted>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let tables = Tables::load(&app, &mut tx, &person, &code, wanted.number()?).await?;
    drop(tx);
    let f = Frame::of(&app, &person);
    let name = format!("{}-round{}.xlsx", tables.round.code, tables.edition.file_suffix());
    let fault = |error: &dyn std::fmt::Display| Error::Fault(format!("write a workbook: {error}"));
    let made = tokio::task::spawn_blocking(move || {
        let all: Vec<_> = TABLES.iter().filter_map(|word| tables.table(&f, word)).collect();
        sheet::book(&all, Some(&tables.about(&f)))
    });
    let bytes = made.await.map_err(|error| fault(&error))?.map_err(|error| fault(&error))?;
    Ok(download(sheet::MEDIA_TYPE, &name, bytes))
}

/// `GET /rounds/{code}/own.zip`: everything that the service has of a laboratory in
/// this round (F117). Scores and decisions are in it after publication only.
///
/// # Errors
///
/// A refusal for the organiser; [`Error::NotFound`] for a round that does not exist
/// for this laboratory.
pub async fn own(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let (round, participant) = super::own_round(&mut tx, &person.actor, &code).await?;
    let f = Frame::of(&app, &person);
    let sent = store_results::of_participant(&mut tx, participant.id).await?;
    let mut files: Vec<archive::File> = Vec::new();
    for one in &sent {
        files.push((format!("sent/version-{}.json", one.version), one.document.clone().into_bytes()));
        if let Some(text) = super::receipt::sealed_text(&mut tx, one).await? {
            files.push((format!("receipts/version-{}.json", one.version), text.into_bytes()));
        }
    }
    if let Some(newest) = sent.last() {
        let table = sheets::results(&f, &round, &[newest.submission()?]);
        files.push(("results.csv".to_owned(), sheet::csv(&table).into_bytes()));
    }
    if round.is_published() {
        let tables = Tables::of(&app, &mut tx, round.clone(), true).await?;
        let (evaluated, items) = (&tables.evaluated, &tables.items);
        let scores = sheets::scores(&f, &round, evaluated, items, &tables.measurands, Some(&participant.code));
        files.push(("scores.csv".to_owned(), sheet::csv(&scores).into_bytes()));
        let mut decisions = tables.table(&f, "decisions").ok_or(Error::NotFound)?;
        // Those on its results, and those on measurands that it reported.
        let reported: Vec<String> = evaluated
            .evaluation
            .scores
            .iter()
            .filter(|score| score.participant == participant.code)
            .map(|score| score.measurand.clone())
            .collect();
        let concerns = |line: &crate::published::Line| match &line.decided.code {
            Some(code) => *code == participant.code,
            None => reported.contains(&line.decided.measurand),
        };
        let mut kept = tables.decided.iter().map(concerns);
        decisions.rows.retain(|_| kept.next().unwrap_or(false));
        files.push(("decisions.csv".to_owned(), sheet::csv(&decisions).into_bytes()));
    }
    drop(tx);
    let base = format!("{}/rounds/{}", app.public_url, round.code);
    let text = [
        f.t2("own-heading", "code", &participant.code, "round", &round.code),
        f.t(if round.is_published() { "own-published" } else { "own-unpublished" }),
        f.t("own-files"),
        f.t1("own-elsewhere", "base", &base),
    ];
    files.push(("README.txt".to_owned(), format!("{}\n", text.join("\n\n")).into_bytes()));
    files.sort();
    let bytes = archive::zip(&files)?;
    Ok(download("application/zip", &format!("{}-{}.zip", round.code, participant.code), bytes))
}
