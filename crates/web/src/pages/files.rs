//! Files for download and upload beside the pages: templates, a laboratory's
//! results as a file, results and scores.

use super::versions::{Wanted, shown_version};
use super::{BadRow, Frame, bad_rows, download, go, ok, organised_round, own_round, seen_round, typed, unprocessable};
use crate::actions;
use crate::actions::proposals::{Notes, Proposed};
use crate::actions::results::Own;
use crate::error::Error;
use crate::extract::{Path, Person, Query, Upload};
use crate::sheets;
use crate::show;
use crate::state::App;
use askama::Template;
use axum::extract::{FromRequestParts, State};
use axum::http::request::Parts;
use axum::response::Response;
use roundel_documents::grid;
use roundel_documents::sheet::{self, Sheet};
use roundel_domain::field::Problem;
use roundel_domain::import::{self, ResultsFile, RowProblem};
use roundel_domain::result::Typed;
use roundel_domain::round::{Intake, Round};
use roundel_domain::unit;
use roundel_store::participants::Participant;
use roundel_store::{drafts, measurands, proposals as store_proposals, results as store_results, rounds};

/// The kind of file that an address asks for by its ending.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Separated values.
    Csv,
    /// A workbook.
    Xlsx,
}

impl FromRequestParts<App> for Kind {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, _: &App) -> Result<Self, Error> {
        Ok(if parts.uri.path().ends_with(".xlsx") { Kind::Xlsx } else { Kind::Csv })
    }
}

impl Kind {
    /// The table as a file for download, made away from the threads that answer.
    ///
    /// # Errors
    ///
    /// A fault when the table fits into no workbook.
    pub async fn send(self, name: &str, table: Sheet) -> Result<Response, Error> {
        let fault = |error: &dyn std::fmt::Display| Error::Fault(format!("write a table: {error}"));
        match self {
            Kind::Csv => Ok(download("text/csv; charset=utf-8", &format!("{name}.csv"), sheet::csv(&table))),
            Kind::Xlsx => {
                let written = tokio::task::spawn_blocking(move || sheet::xlsx(&table)).await;
                let bytes = written.map_err(|error| fault(&error))?.map_err(|error| fault(&error))?;
                Ok(download(sheet::MEDIA_TYPE, &format!("{name}.xlsx"), bytes))
            }
        }
    }
}

/// `GET /rounds/{code}/laboratories/template.csv` and `.xlsx`.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser.
pub async fn laboratories_template(State(app): State<App>, person: Person, kind: Kind) -> Result<Response, Error> {
    person.actor.may_organise()?;
    let table = sheets::template(&Frame::of(&app, &person), import::laboratories_template());
    kind.send("laboratories", table).await
}

/// `GET /rounds/{code}/measurands/template.csv` and `.xlsx`.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser.
pub async fn measurands_template(State(app): State<App>, person: Person, kind: Kind) -> Result<Response, Error> {
    person.actor.may_organise()?;
    let table = sheets::template(&Frame::of(&app, &person), import::measurands_template());
    kind.send("measurands", table).await
}

/// `GET /rounds/{code}/assigned-values/template.csv` and `.xlsx`: with a row for
/// each measurand that the round has.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser.
pub async fn assigned_template(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    kind: Kind,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = organised_round(&mut tx, &person.actor, &code).await?;
    let items = rounds::items(&mut tx, round.id).await?;
    let measurands = measurands::of_round(&mut tx, round.id).await?;
    drop(tx);
    let table = sheets::assigned_template(&Frame::of(&app, &person), &items, &measurands);
    kind.send(&format!("assigned-values-{}", round.code), table).await
}

/// `GET /rounds/{code}/results-template.csv` and `.xlsx`: with a row for each
/// measurand, for whoever may see the round.
///
/// # Errors
///
/// [`Error::NotFound`] for a round that does not exist for this person.
pub async fn results_template(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    kind: Kind,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let (round, _) = seen_round(&mut tx, &person.actor, &code).await?;
    let items = rounds::items(&mut tx, round.id).await?;
    let measurands = measurands::of_round(&mut tx, round.id).await?;
    drop(tx);
    let table = sheets::results_template(&Frame::of(&app, &person), &round, &items, &measurands);
    kind.send(&format!("results-{}", round.code), table).await
}

#[derive(Template)]
#[template(path = "results/upload.html")]
struct UploadPage {
    f: Frame,
    round: Round,
    code: String,
    deadline: String,
    instant: String,
    late: bool,
    file: String,
    bad: Vec<BadRow>,
    /// Where the file with its errors can be fetched; empty for none.
    returned: String,
    returned_text: bool,
}

fn upload_page(app: &App, person: &Person, round: Round, participant: Participant) -> UploadPage {
    UploadPage {
        f: Frame::of(app, person),
        code: participant.code,
        deadline: show::instant(round.closes_at, &round.time_zone),
        instant: round.closes_at.to_string(),
        late: round.intake(app.clock.now()) == Intake::Late,
        round,
        file: String::new(),
        bad: Vec::new(),
        returned: String::new(),
        returned_text: false,
    }
}

/// `GET /rounds/{code}/results-upload`.
///
/// # Errors
///
/// [`Error::NotFound`] for a round that does not exist for this person.
pub async fn ask_results(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    person.actor.may_enter()?;
    let (round, participant) = own_round(&mut tx, &person.actor, &code).await?;
    if !matches!(round.intake(app.clock.now()), Intake::InTime | Intake::Late) {
        return Ok(go(&format!("/rounds/{code}"), ""));
    }
    ok(&upload_page(&app, &person, round, participant))
}

/// `POST /rounds/{code}/results-upload`: keeps what the rows of a file would
/// change, all or none, and goes on to the page that shows it. A file with
/// mistakes comes back with them.
///
/// # Errors
///
/// A conflict when the round takes no results any more.
pub async fn upload_results(
    State(app): State<App>,
    Path(code): Path<String>,
    mut upload: Upload,
) -> Result<Response, Error> {
    let person = upload.person.clone();
    person.actor.may_enter()?;
    let mut tx = app.db.read().await?;
    let own = typed::own(&mut tx, &person, &code).await?;
    let stored = drafts::get(&mut tx, own.participant.id).await?.typed;
    drop(tx);
    let bytes = upload.bytes.clone();
    let file = upload.read().await?;
    let read = import::results(&file, &own.items, &own.measurands, &own.labels());
    let read = read.and_then(|read| in_chosen_unit(read, &stored, &own));
    let (read, problems) = match read {
        Ok(read) => (Some(read), Vec::new()),
        Err(problems) => (None, problems),
    };
    let returned = if read.is_none() { give_back(&app, file, bytes, &problems).await? } else { None };
    let mut tx = app.db.write().await?;
    let own = typed::own(&mut tx, &person, &code).await?;
    let now = app.clock.now();
    let name = upload.name.as_str();
    let mut proposed =
        Proposed { kind: "file", item: "", name, typed: &Typed::default(), notes: &Notes::default(), content: &[] };
    if let Some(read) = read {
        let notes = Notes { positions: read.positions, ..Notes::default() };
        proposed = Proposed { typed: &read.typed, notes: &notes, ..proposed };
        let id = actions::proposals::propose(&mut tx, &person.actor, &own, proposed, now).await?;
        tx.commit().await?;
        return Ok(go(&format!("/rounds/{code}/proposals/{id}"), ""));
    }
    let mut page = upload_page(&app, &person, own.round.clone(), own.participant.clone());
    page.bad = bad_rows(app.words, &problems);
    if let Some((ending, content)) = returned {
        let stem = name.rsplit_once('.').map_or(name, |(stem, _)| stem);
        let name = format!("{stem}-errors.{ending}");
        let proposed = Proposed { kind: "refused", name: &name, content: &content, ..proposed };
        let id = actions::proposals::propose(&mut tx, &person.actor, &own, proposed, now).await?;
        tx.commit().await?;
        page.returned = format!("/rounds/{code}/proposals/{id}/file");
        page.returned_text = ending == "csv";
    }
    page.file = upload.name;
    unprocessable(&page)
}

/// The file, if it is in the unit that the laboratory has chosen for its numbers.
fn in_chosen_unit(read: ResultsFile, stored: &Typed, own: &Own) -> Result<ResultsFile, Vec<RowProblem>> {
    for choice in unit::choices(&own.measurands) {
        let (chosen, of_file) = (stored.get(&choice.field), read.typed.get(&choice.field));
        if !chosen.is_empty() && !import::same_unit(chosen, of_file) {
            let problem = Problem::new("problem-file-unit-chosen").with("chosen", chosen).with("seen", of_file);
            return Err(vec![RowProblem::line(1, problem)]);
        }
    }
    Ok(read)
}

/// A refused file with its column of errors, and the ending of its name; none
/// where the file is no table.
async fn give_back(
    app: &App,
    file: import::File,
    bytes: Vec<u8>,
    problems: &[RowProblem],
) -> Result<Option<(&'static str, Vec<u8>)>, Error> {
    let (words, problems) = (app.words, problems.to_vec());
    let made = tokio::task::spawn_blocking(move || {
        let told = |one: &RowProblem| {
            let sentence = show::problem(words, &one.problem);
            one.column.as_ref().map_or(sentence.clone(), |column| format!("{column}: {sentence}"))
        };
        let back = import::returned(&file, &bytes, &problems, told)?;
        match back.separator {
            Some(separator) => Some(("csv", grid::csv(&back.rows, separator).into_bytes())),
            // Without it the list on the page still tells everything.
            None => grid::xlsx(&back.sheet, &back.rows).ok().map(|bytes| ("xlsx", bytes)),
        }
    });
    made.await.map_err(|error| Error::Fault(format!("give a file back: {error}")))
}

/// `GET /rounds/{code}/proposals/{id}/file`: a refused file with its errors.
///
/// # Errors
///
/// [`Error::NotFound`] for what is not this laboratory's, and an hour later.
pub async fn refused_file(
    State(app): State<App>,
    person: Person,
    Path((code, id)): Path<(String, String)>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let (_, participant) = own_round(&mut tx, &person.actor, &code).await?;
    let id = super::proposals::named(&id)?;
    let since = app.clock.now() - actions::proposals::KEPT;
    let found = store_proposals::refused_file(&mut tx, participant.id, id, since).await?;
    let (name, content) = found.ok_or(Error::NotFound)?;
    let kind = if name.ends_with(".xlsx") { sheet::MEDIA_TYPE } else { "text/csv; charset=utf-8" };
    Ok(download(kind, &name, content))
}

/// `GET /rounds/{code}/results.csv` and `.xlsx`: the newest sendings of all
/// laboratories for the organiser, its own newest for a laboratory.
///
/// # Errors
///
/// [`Error::NotFound`] for a round that does not exist for this person, and for
/// a laboratory that has sent nothing.
pub async fn results(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    kind: Kind,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let (round, participant) = seen_round(&mut tx, &person.actor, &code).await?;
    let sent = match &participant {
        Some(own) => {
            person.actor.may_see_results_of(own.laboratory)?;
            let newest = store_results::of_participant(&mut tx, own.id).await?.pop();
            vec![newest.ok_or(Error::NotFound)?]
        }
        None => {
            person.actor.may_review()?;
            store_results::newest_of_round(&mut tx, round.id).await?
        }
    };
    drop(tx);
    let submissions = sent.iter().map(store_results::Sent::submission).collect::<Result<Vec<_>, _>>()?;
    let table = sheets::results(&Frame::of(&app, &person), &round, &submissions);
    kind.send(&file_name(&round, participant.as_ref(), "results"), table).await
}

/// `GET /rounds/{code}/scores.csv` and `.xlsx`: those of the evaluation that the
/// pages show for the organiser, its own for a laboratory after publication; of an
/// earlier `version` where one is asked for.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory before publication, before there is an
/// evaluation, and for a version that there is not.
pub async fn scores(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    Query(wanted): Query<Wanted>,
    kind: Kind,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let (round, participant) = seen_round(&mut tx, &person.actor, &code).await?;
    person.actor.may_see_scores(&round, participant.is_some())?;
    let own = match &participant {
        Some(own) => Some(own.code.as_str()),
        None => {
            person.actor.may_review()?;
            None
        }
    };
    let (evaluated, suffix) = shown_version(&app, &mut tx, &round, &person.actor, wanted.number()?).await?;
    let items = rounds::items(&mut tx, round.id).await?;
    let measurands = measurands::of_round(&mut tx, round.id).await?;
    drop(tx);
    let table = sheets::scores(&Frame::of(&app, &person), &round, &evaluated, &items, &measurands, own);
    kind.send(&file_name(&round, participant.as_ref(), &format!("scores{suffix}")), table).await
}

/// `QW-1-results`, and with the laboratory's code where it is one's own.
fn file_name(round: &Round, participant: Option<&Participant>, what: &str) -> String {
    let own = participant.map(|own| format!("-{}", own.code)).unwrap_or_default();
    format!("{}{own}-{what}", round.code)
}
