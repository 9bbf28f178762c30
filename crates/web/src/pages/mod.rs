//! The pages: one module a noun, the page's struct above its handler.

pub mod account;
pub mod amend;
pub mod approval;
pub mod asks;
pub mod cases;
pub mod certificates;
pub mod charts;
pub mod check;
pub mod design;
pub mod entry;
pub mod evaluation;
pub mod figures;
pub mod files;
pub mod forecast;
pub mod gallery;
pub mod item_decisions;
pub mod item_figures;
pub mod item_forms;
pub mod item_words;
pub mod items;
pub mod jobs;
pub mod keys;
pub mod laboratories;
pub mod messages;
pub mod methods;
pub mod notices;
pub mod open_data;
pub mod people;
pub mod performance;
pub mod planned;
pub mod plans;
pub mod precision;
pub mod programs;
pub mod proposals;
pub mod publish;
pub mod questions;
pub mod reading;
pub mod receipt;
pub mod report;
pub mod report_notices;
pub mod report_texts;
pub mod review;
pub mod rounds;
pub mod rulings;
pub mod score_measurand;
pub mod scores;
pub mod sealed;
pub mod signing;
pub mod staff;
pub mod suggested;
pub mod tables;
pub mod task_list;
pub mod tasks;
pub mod trials;
pub mod typed;
pub mod unit_files;
pub mod units;
pub mod verify;
pub mod versions;

use crate::assets;
use crate::error::Error;
use crate::extract::{Person, Visitor};
use crate::show;
use crate::state::App;
use askama::Template;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use roundel_documents::words::Words;
use roundel_domain::access::Actor;
use roundel_domain::import::RowProblem;
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::round::Round;
use roundel_store::participants::{self, Participant};
use roundel_store::{Tx, rounds as store_rounds};
use std::fmt::Display;

/// What every page shows around its own content.
#[derive(Clone, Debug)]
pub struct Frame {
    /// The texts.
    pub w: Words,
    /// The provider's name; empty before set-up.
    pub provider: String,
    /// Whether everything here is demonstration data.
    pub demonstration: bool,
    /// Name of the person who is signed in; empty for nobody.
    pub person: String,
    /// Name of the person's laboratory; empty for the organiser's staff.
    pub laboratory: String,
    /// What the person does for the organiser, in words; empty for a laboratory's.
    pub duty: String,
    /// The session's token against forged forms.
    pub form_token: String,
    /// What has just been done, a sentence; may be empty.
    pub done: String,
}

impl Frame {
    /// A frame that knows nothing of who asks.
    pub fn bare() -> Frame {
        Frame {
            w: Words::English,
            provider: String::new(),
            demonstration: false,
            person: String::new(),
            laboratory: String::new(),
            duty: String::new(),
            form_token: String::new(),
            done: String::new(),
        }
    }

    /// The frame for somebody who need not be signed in.
    pub fn open(app: &App, visitor: &Visitor) -> Frame {
        let mut frame = Frame::bare();
        if let Some(installation) = app.provider() {
            frame.provider = installation.provider;
            frame.demonstration = installation.demonstration;
        }
        if let Some(session) = &visitor.session {
            frame.person = session.name.clone();
            frame.laboratory = session.laboratory_name.clone().unwrap_or_default();
            frame.duty =
                session.actor().duty().map(|duty| frame.t(&format!("duty-{}", duty.word()))).unwrap_or_default();
            frame.form_token = session.form_token.clone();
        }
        if !visitor.done.is_empty() {
            frame.done = frame.w.t(&format!("done-{}", visitor.done));
        }
        frame
    }

    /// The frame for a person who is signed in.
    pub fn of(app: &App, person: &Person) -> Frame {
        let visitor = Visitor { session: Some(person.session.clone()), done: person.done.clone() };
        Frame::open(app, &visitor)
    }

    /// The text of a key.
    pub fn t(&self, key: &str) -> String {
        self.w.t(key)
    }

    /// The text of a key with one value.
    pub fn t1(&self, key: &str, name: &str, value: impl Display) -> String {
        self.w.with(key, &[(name, &value.to_string())])
    }

    /// The text of a key with two values.
    pub fn t2(&self, key: &str, a: &str, x: impl Display, b: &str, y: impl Display) -> String {
        self.w.with(key, &[(a, &x.to_string()), (b, &y.to_string())])
    }

    /// The text of a key with three values.
    #[allow(clippy::too_many_arguments, reason = "three names and three values, as they stand in a template")]
    pub fn t3(
        &self,
        key: &str,
        a: &str,
        x: impl Display,
        b: &str,
        y: impl Display,
        c: &str,
        z: impl Display,
    ) -> String {
        self.w.with(key, &[(a, &x.to_string()), (b, &y.to_string()), (c, &z.to_string())])
    }

    /// An address below a round's.
    pub fn path(&self, code: &str, rest: &str) -> String {
        format!("/rounds/{code}{rest}")
    }

    /// Address of the style sheet.
    pub fn style(&self) -> &'static str {
        assets::style()
    }

    /// Address of the script.
    pub fn script(&self) -> &'static str {
        assets::script()
    }

    /// Address of the script for pasting blocks.
    pub fn paste_script(&self) -> &'static str {
        assets::paste_script()
    }

    /// Address of the icon.
    pub fn icon(&self) -> &'static str {
        assets::icon()
    }
}

/// A page as a response.
///
/// # Errors
///
/// When a template cannot be rendered.
pub fn render(status: StatusCode, page: &impl Template) -> Result<Response, Error> {
    let html = page.render()?;
    let headers = [(header::CONTENT_TYPE, "text/html; charset=utf-8"), (header::CACHE_CONTROL, "no-store")];
    Ok((status, headers, html).into_response())
}

/// A page as it should be.
///
/// # Errors
///
/// When a template cannot be rendered.
pub fn ok(page: &impl Template) -> Result<Response, Error> {
    render(StatusCode::OK, page)
}

/// A form with mistakes, with what was typed.
///
/// # Errors
///
/// When a template cannot be rendered.
pub fn unprocessable(page: &impl Template) -> Result<Response, Error> {
    render(StatusCode::UNPROCESSABLE_ENTITY, page)
}

/// On to a page after a change, where `done` says what was done.
pub fn go(path: &str, done: &str) -> Response {
    if done.is_empty() {
        return Redirect::to(path).into_response();
    }
    let (path, anchor) =
        path.split_once('#').map_or((path, String::new()), |(path, anchor)| (path, format!("#{anchor}")));
    let mark = if path.contains('?') { '&' } else { '?' };
    Redirect::to(&format!("{path}{mark}done={done}{anchor}")).into_response()
}

/// A file for download.
pub fn download(kind: &'static str, name: &str, bytes: impl Into<axum::body::Body>) -> Response {
    let plain: String =
        name.chars().map(|c| if c.is_ascii_alphanumeric() || "-_.".contains(c) { c } else { '-' }).collect();
    let disposition = format!("attachment; filename=\"{plain}\"");
    let headers = [
        (header::CONTENT_TYPE, kind.to_owned()),
        (header::CONTENT_DISPOSITION, disposition),
        (header::CACHE_CONTROL, "no-store".to_owned()),
    ];
    (headers, bytes.into()).into_response()
}

/// A row of a file that was not taken, as shown.
#[derive(Clone, Debug)]
pub struct BadRow {
    /// Line of the file; empty for the whole file.
    pub line: String,
    /// Column.
    pub column: String,
    /// What stood there.
    pub seen: String,
    /// What is wrong and what to do.
    pub sentence: String,
}

/// The problems of a file, as shown.
pub fn bad_rows(words: Words, problems: &[RowProblem]) -> Vec<BadRow> {
    problems
        .iter()
        .map(|row| BadRow {
            line: if row.line == 0 { String::new() } else { row.line.to_string() },
            column: row.column.clone().unwrap_or_default(),
            seen: row.seen.clone().unwrap_or_default(),
            sentence: show::problem(words, &row.problem),
        })
        .collect()
}

/// The round of this code, for a person who may see it, with the person's part
/// in it.
///
/// # Errors
///
/// [`Error::NotFound`] for a round that does not exist for this person.
pub async fn seen_round(tx: &mut Tx, actor: &Actor, code: &str) -> Result<(Round, Option<Participant>), Error> {
    let round = store_rounds::by_code(tx, code).await?.ok_or(Error::NotFound)?;
    let participant = match actor.laboratory() {
        Some(laboratory) => participants::of_laboratory(tx, round.id, laboratory).await?,
        None => None,
    };
    actor.may_see_round(&round, participant.is_some())?;
    Ok((round, participant))
}

/// The round of this code, for a laboratory that takes part in it, with its part.
///
/// # Errors
///
/// A refusal for the organiser, who has none; [`Error::NotFound`] for a round
/// that does not exist for this laboratory.
pub async fn own_round(tx: &mut Tx, actor: &Actor, code: &str) -> Result<(Round, Participant), Error> {
    actor.may_read_own()?;
    let (round, participant) = seen_round(tx, actor, code).await?;
    Ok((round, participant.ok_or(Error::NotFound)?))
}

/// The round of this code, for the organiser.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone else, and where there is none.
pub async fn organised_round(tx: &mut Tx, actor: &Actor, code: &str) -> Result<Round, Error> {
    actor.may_organise()?;
    store_rounds::by_code(tx, code).await?.ok_or(Error::NotFound)
}

/// The round of this code, for the organiser's staff, who see codes only.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory, and where there is none.
pub async fn reviewed_round(tx: &mut Tx, actor: &Actor, code: &str) -> Result<Round, Error> {
    actor.may_review()?;
    store_rounds::by_code(tx, code).await?.ok_or(Error::NotFound)
}

/// The round of this code, for whoever decides and evaluates.
///
/// # Errors
///
/// A refusal for a reviewer; [`Error::NotFound`] for a laboratory, and where
/// there is none.
pub async fn evaluating_round(tx: &mut Tx, actor: &Actor, code: &str) -> Result<Round, Error> {
    actor.may_evaluate()?;
    store_rounds::by_code(tx, code).await?.ok_or(Error::NotFound)
}

/// Where a round's measurands belong, for lists by item.
pub fn by_item<'a>(items: &'a [Item], measurands: &'a [Measurand]) -> Vec<(&'a Item, Vec<&'a Measurand>)> {
    items.iter().map(|item| (item, measurands.iter().filter(|m| m.item == item.id).collect())).collect()
}
