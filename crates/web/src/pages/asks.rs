//! What a round asks beside results, as the organiser sets it up; and the labels
//! of the items.

use super::files::Kind;
use super::{Frame, go, ok, organised_round, unprocessable};
use crate::actions::{self, Refused};
use crate::error::Error;
use crate::extract::{Path, Person, Posted};
use crate::show::Errors;
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_documents::sheet::{Cell, Column, Sheet};
use roundel_domain::asks::{Arrival, Asks, AsksForm, Procedure};
use roundel_domain::round::Round;
use roundel_store::participants;

#[derive(Template)]
#[template(path = "rounds/asks.html")]
struct AsksPage {
    f: Frame,
    round: Round,
    form: AsksForm,
    arrivals: Vec<(&'static str, String, bool)>,
    procedures: Vec<(&'static str, String, bool)>,
    errors: Errors,
}

fn page(app: &App, person: &Person, round: Round, form: AsksForm, errors: Errors) -> AsksPage {
    let f = Frame::of(app, person);
    let arrivals = Arrival::ALL
        .iter()
        .map(|arrival| {
            let word = arrival.word();
            (word, f.t(&format!("asks-arrival-{word}")), form.arrival == word)
        })
        .collect();
    let procedures = Procedure::ALL
        .iter()
        .map(|procedure| {
            let word = procedure.word();
            (word, f.t(&format!("asks-precision-{word}")), form.precision == word)
        })
        .collect();
    AsksPage { f, round, form, arrivals, procedures, errors }
}

/// `GET /rounds/{code}/asks`.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser.
pub async fn ask(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let round = organised_round(&mut app.db.read().await?, &person.actor, &code).await?;
    let fresh = round.is_draft() && round.asks == Asks::default();
    let form = if fresh { AsksForm::suggested() } else { AsksForm::of(&round.asks) };
    ok(&page(&app, &person, round, form, Errors::default()))
}

/// `POST /rounds/{code}/asks`.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser; a conflict once it is open.
pub async fn save(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let form: AsksForm = posted.fields.to()?;
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, &posted.person.actor, &code).await?;
    match actions::rounds::set_asks(&mut tx, &posted.person.actor, &round, &form, app.clock.now()).await {
        Ok(()) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}"), "asks-saved"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            unprocessable(&page(&app, &posted.person, round, form, Errors::of(app.words, &errors)))
        }
    }
}

#[derive(Template)]
#[template(path = "rounds/labels.html")]
struct LabelsPage {
    f: Frame,
    round: Round,
    /// Code of the laboratory, label of the item, code on the unit.
    labels: Vec<(String, String, String)>,
}

/// `GET /rounds/{code}/labels`: the codes that are printed on the bottles.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser.
pub async fn labels(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = organised_round(&mut tx, &person.actor, &code).await?;
    let labels = participants::all_item_codes(&mut tx, round.id).await?;
    ok(&LabelsPage { f: Frame::of(&app, &person), round, labels })
}

/// `GET /rounds/{code}/labels.csv` and `.xlsx`.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser, and before the round is open.
pub async fn labels_file(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    kind: Kind,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = organised_round(&mut tx, &person.actor, &code).await?;
    let labels = participants::all_item_codes(&mut tx, round.id).await?;
    drop(tx);
    if labels.is_empty() {
        return Err(Error::NotFound);
    }
    let f = Frame::of(&app, &person);
    let table = Sheet {
        name: f.t("labels-sheet"),
        columns: ["laboratory_code", "round", "item", "label_code"].map(Column::filled).to_vec(),
        rows: labels
            .iter()
            .map(|(laboratory, item, code)| [laboratory, &round.code, item, code].map(Cell::text).to_vec())
            .collect(),
        about: None,
    };
    kind.send(&format!("{}-labels", round.code), table).await
}
