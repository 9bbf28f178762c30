//! Open data of a round: a laboratory gives or withdraws its consent; the organiser
//! sees what a package would hold and releases it. Nobody is told who consented.

use super::{Frame, download, go, ok, organised_round, own_round, seen_round, unprocessable};
use crate::actions::{self, Refused};
use crate::error::Error;
use crate::evaluated::Evaluated;
use crate::extract::{Path, Person, Posted};
use crate::open_data::{self as package, Cover};
use crate::published;
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use jiff::Timestamp;
use roundel_domain::frozen::Content;
use roundel_domain::methods::Answers;
use roundel_domain::open_data::{self, Decided, FEWEST, Instants, Licence, OpenData, Refused as NoPackage, Source};
use roundel_domain::round::Round;
use roundel_store::participants::Participant;
use roundel_store::{Tx, measurands, open_data as stored, rounds};
use std::collections::BTreeSet;
use std::sync::Arc;

/// A line of what a laboratory said.
struct Said {
    at: String,
    what: String,
    by: String,
}

#[derive(Template)]
#[template(path = "rounds/open_data_consent.html")]
struct ConsentPage {
    f: Frame,
    round: Round,
    given: bool,
    may: bool,
    said: Vec<Said>,
}

struct Pick {
    word: &'static str,
    text: String,
    chosen: bool,
}

#[derive(Template)]
#[template(path = "rounds/open_data.html")]
struct ReleasePage {
    f: Frame,
    round: Round,
    /// How many consented, a sentence; not told below five.
    consents: String,
    /// Why there is no package; empty where there would be one.
    refused: String,
    /// How many laboratories a package would have.
    laboratories: usize,
    left_out: Vec<String>,
    licences: Vec<Pick>,
    /// When and by whom it was released last; empty for never.
    released: String,
    errors: Errors,
}

/// What a package of a round is made from, read from the database.
struct Material {
    evaluated: Arc<Evaluated>,
    consents: BTreeSet<String>,
    answers: Answers,
    decisions: Vec<Decided>,
    plan: Content,
    instants: Instants,
}

impl Material {
    /// With the consents that stand now and stood at `until`.
    async fn read(app: &App, tx: &mut Tx, round: &Round, until: Option<Timestamp>) -> Result<Material, Error> {
        let published = published::published_at(tx, round).await?;
        let unpublished = || Error::conflict("conflict-tables-unpublished");
        let (_, evaluation) = round.state.published().ok_or_else(unpublished)?;
        let state = actions::plans::State::load(tx, round).await?;
        let plan = match state.in_force() {
            Some(plan) => plan.read()?.plan,
            // A round that was opened before plans were signed.
            None => state.content,
        };
        let items = rounds::items(tx, round.id).await?;
        let measurands = measurands::of_round(tx, round.id).await?;
        let decided = published::decided(tx, round, &items, &measurands, published).await?;
        Ok(Material {
            evaluated: app.evaluations.load(tx, evaluation).await?,
            consents: actions::open_data::standing(&stored::of_round(tx, round.id).await?, until),
            answers: actions::methods::answers(tx, round).await?,
            decisions: decided.into_iter().map(|line| line.decided).collect(),
            plan,
            instants: Instants {
                opened: round.state.opened_at().ok_or_else(unpublished)?,
                closes: round.closes_at,
                published,
            },
        })
    }

    /// The package with codes from this seed, made away from the threads that answer.
    async fn build(self, seed: [u8; 32]) -> Result<Result<OpenData, NoPackage>, Error> {
        let work = move || {
            open_data::build(&Source {
                package: &self.evaluated.package,
                evaluation: &self.evaluated.evaluation,
                consents: &self.consents,
                answers: &self.answers,
                decisions: &self.decisions,
                plan: &self.plan,
                instants: self.instants,
                seed,
            })
        };
        tokio::task::spawn_blocking(work).await.map_err(|error| Error::Fault(format!("make open data: {error}")))
    }
}

/// Why there is no package, in a sentence.
fn refused_words(f: &Frame, refused: NoPackage) -> String {
    match refused {
        NoPackage::Few => f.t1("open-data-too-few", "least", FEWEST),
        NoPackage::SmallGroup | NoPackage::Code => f.t("open-data-stopped"),
    }
}

async fn consent_page(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    round: Round,
    participant: &Participant,
) -> Result<Response, Error> {
    let f = Frame::of(app, person);
    let all = stored::of_participant(tx, participant.id).await?;
    let said = |one: &stored::Consent| Said {
        at: show::instant(one.at(), &round.time_zone),
        what: f.t(if one.given { "open-data-said-yes" } else { "open-data-said-no" }),
        by: one.by.clone(),
    };
    let said = all.iter().rev().map(said).collect();
    let given = all.last().is_some_and(|last| last.given);
    ok(&ConsentPage { given, may: person.actor.may_submit().is_ok(), said, f, round })
}

async fn release_page(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    round: Round,
    chosen: &str,
    errors: Errors,
) -> Result<ReleasePage, Error> {
    let f = Frame::of(app, person);
    let standing = actions::open_data::standing(&stored::of_round(tx, round.id).await?, None).len();
    // Once it is known who reported, only those count: the difference between two
    // numbers would tell of one laboratory.
    let told = if round.is_published() { 0 } else { standing };
    let licences = Licence::ALL.map(|licence| Pick {
        word: licence.word(),
        text: f.t(&format!("open-data-licence-{}", licence.word())),
        chosen: licence.word() == chosen,
    });
    let newest = actions::open_data::newest(tx, &person.actor, &round).await?;
    let released = newest.map(|release| {
        let at = show::instant(release.at(), &round.time_zone);
        f.t3("open-data-released-at", "at", at, "by", release.by, "licence", licence_name(&release.licence))
    });
    let mut page = ReleasePage {
        consents: consents_words(&f, told),
        refused: String::new(),
        laboratories: 0,
        left_out: Vec::new(),
        licences: licences.into(),
        released: released.unwrap_or_default(),
        errors,
        round,
        f,
    };
    if !page.round.is_published() {
        page.refused = page.f.t("open-data-unpublished");
        return Ok(page);
    }
    // What is left out does not depend on the codes.
    match Material::read(app, tx, &page.round, None).await?.build([0; 32]).await? {
        Err(refused) => page.refused = refused_words(&page.f, refused),
        Ok(data) => {
            page.laboratories = data.laboratories;
            page.consents = consents_words(&page.f, data.laboratories);
            page.left_out = package::left_out(page.f.w, &data);
        }
    }
    Ok(page)
}

/// How many consented, from [`FEWEST`] on.
fn consents_words(f: &Frame, count: usize) -> String {
    if count >= FEWEST {
        f.t1("open-data-consents", "count", count)
    } else {
        f.t1("open-data-consents-few", "least", FEWEST)
    }
}

fn licence_name(word: &str) -> &str {
    match Licence::of(word) {
        Some(licence) => licence.identifier(),
        None => word,
    }
}

/// `GET /rounds/{code}/open-data`: the laboratory's consent, or the organiser's view.
///
/// # Errors
///
/// [`Error::NotFound`] for a round that does not exist for this person; a refusal for
/// others of the staff.
pub async fn page(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let (round, participant) = seen_round(&mut tx, &person.actor, &code).await?;
    if let Some(participant) = participant {
        return consent_page(&app, &mut tx, &person, round, &participant).await;
    }
    person.actor.may_organise()?;
    ok(&release_page(&app, &mut tx, &person, round, Licence::CcBy.word(), Errors::default()).await?)
}

/// `POST /rounds/{code}/open-data/consent`: gives or withdraws the own consent.
///
/// # Errors
///
/// A refusal for who may not send results.
pub async fn consent(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let given = posted.fields.get("consent") == "yes";
    let actor = &posted.person.actor;
    let mut tx = app.db.write().await?;
    let (round, participant) = own_round(&mut tx, actor, &code).await?;
    actions::open_data::consent(&mut tx, actor, &round, &participant, given, app.clock.now()).await?;
    tx.commit().await?;
    let done = if given { "open-data-given" } else { "open-data-withdrawn" };
    Ok(go(&format!("/rounds/{code}/open-data"), done))
}

/// `POST /rounds/{code}/open-data`: releases the package under a licence.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser; a conflict before publication.
pub async fn release(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let (person, licence) = (&posted.person, posted.fields.get("licence"));
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, &person.actor, &code).await?;
    match actions::open_data::release(&mut tx, &person.actor, &round, licence, app.clock.now()).await {
        Ok(()) => {}
        Err(Refused::Error(error)) => return Err(error),
        Err(Refused::Fields(errors)) => {
            let errors = Errors::of(app.words, &errors);
            return unprocessable(&release_page(&app, &mut tx, person, round, licence, errors).await?);
        }
    }
    let trial = Material::read(&app, &mut tx, &round, None).await?.build([0; 32]).await?;
    if trial.is_err() {
        // Nothing is released of which there is no package; the page says why.
        drop(tx);
        let mut tx = app.db.read().await?;
        return unprocessable(&release_page(&app, &mut tx, person, round, licence, Errors::default()).await?);
    }
    tx.commit().await?;
    Ok(go(&format!("/rounds/{code}/open-data"), "open-data-released"))
}

/// `GET /rounds/{code}/open-data.zip`: the package that was released last, without
/// laboratories that have withdrawn their consent since.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser, and before a release; a conflict
/// when consents were withdrawn until fewer than five were left.
pub async fn file(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = organised_round(&mut tx, &person.actor, &code).await?;
    let bytes = released(&app, &mut tx, &round).await?;
    Ok(download("application/zip", &format!("{}-open-data.zip", round.code), bytes))
}

/// The package that was released last, as an archive.
///
/// # Errors
///
/// As [`file()`], but for who asks.
pub async fn released(app: &App, tx: &mut Tx, round: &Round) -> Result<Vec<u8>, Error> {
    let release = stored::newest(tx, round.id).await?.ok_or(Error::NotFound)?;
    let broken = || Error::Fault("read a release".to_owned());
    let seed = open_data::seed(&release.seed).ok_or_else(broken)?;
    let licence = Licence::of(&release.licence).ok_or_else(broken)?;
    let material = Material::read(app, tx, round, Some(release.at())).await?;
    let data = material.build(seed).await?.map_err(|refused| match refused {
        NoPackage::Few => Error::conflict("conflict-open-data-few"),
        NoPackage::SmallGroup | NoPackage::Code => Error::conflict("conflict-open-data-stopped"),
    })?;
    let installation = app.provider().ok_or(Error::NotFound)?;
    let cover = Cover {
        provider: installation.provider,
        round: round.code.clone(),
        licence,
        demonstration: installation.demonstration,
    };
    package::zip(app.words, &cover, &data)
}
