//! What people write for the report of a round, heading by heading.

use super::{Frame, go, ok, reviewed_round, unprocessable};
use crate::actions::{self, Refused};
use crate::error::Error;
use crate::extract::{Path, Person, Posted};
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::report::{Heading, SaidForm};
use roundel_domain::round::Round;
use roundel_store::{Tx, reports};

#[derive(Template)]
#[template(path = "reports/text.html")]
struct TextPage {
    f: Frame,
    round: Round,
    word: &'static str,
    title: String,
    hint: String,
    form: SaidForm,
    /// Codes of laboratories were found in it, to be confirmed.
    codes: bool,
    /// Who wrote what stands there, and when; may be empty.
    written: String,
    errors: Errors,
}

async fn page(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    round: Round,
    heading: Heading,
    posted: Option<(SaidForm, Errors)>,
) -> Result<TextPage, Error> {
    let f = Frame::of(app, person);
    let mut kept = None;
    for text in reports::texts(tx, round.id).await? {
        if text.heading()? == heading {
            kept = Some(text);
        }
    }
    let written = kept
        .as_ref()
        .map(|text| f.t2("reports-text-by", "at", show::instant(text.at(), &round.time_zone), "by", &text.by));
    let (form, errors) = posted.unwrap_or_else(|| {
        let said = kept.as_ref().map(reports::Text::said).unwrap_or_default();
        let form = SaidForm { text: said.text, not_applicable: said.not_applicable, confirmed: false };
        (form, Errors::default())
    });
    Ok(TextPage {
        word: heading.word(),
        title: f.t(&format!("reports-heading-{}", heading.word())),
        hint: f.t(&format!("reports-heading-{}-hint", heading.word())),
        codes: !errors.of_field("confirmed").is_empty() || kept.is_some_and(|text| !text.codes.is_empty()),
        written: written.unwrap_or_default(),
        form,
        errors,
        round,
        f,
    })
}

/// `GET /rounds/{code}/report/texts/{heading}`.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory and for what is no heading; a conflict before
/// the round is closed.
pub async fn ask(
    State(app): State<App>,
    person: Person,
    Path((code, heading)): Path<(String, String)>,
) -> Result<Response, Error> {
    person.actor.may_comment()?;
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    if round.state.closed_at().is_none() {
        return Err(Error::conflict("conflict-not-closed"));
    }
    let heading = Heading::of(&heading).ok_or(Error::NotFound)?;
    ok(&page(&app, &mut tx, &person, round, heading, None).await?)
}

/// `POST /rounds/{code}/report/texts/{heading}`: a text, or why there is none.
///
/// # Errors
///
/// As for the form.
pub async fn say(
    State(app): State<App>,
    Path((code, heading)): Path<(String, String)>,
    posted: Posted,
) -> Result<Response, Error> {
    let actor = &posted.person.actor;
    actor.may_comment()?;
    let mut tx = app.db.write().await?;
    let round = reviewed_round(&mut tx, actor, &code).await?;
    let heading = Heading::of(&heading).ok_or(Error::NotFound)?;
    let form = SaidForm {
        text: posted.fields.get("text").to_owned(),
        not_applicable: posted.fields.get("not_applicable").to_owned(),
        confirmed: posted.fields.get("confirmed") == "yes",
    };
    match actions::reports::say(&mut tx, actor, &round, heading, &form, app.clock.now()).await {
        Ok(()) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/report#texts"), "report-text"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let errors = Errors::of(app.words, &errors);
            unprocessable(&page(&app, &mut tx, &posted.person, round, heading, Some((form, errors))).await?)
        }
    }
}
