//! Certificates: as PDF and as sealed files, under which name, and withdrawn.

use super::scores::{Published, published_of, published_version};
use super::{Frame, download, go, ok, own_round, signing, unprocessable};
use crate::actions::{self, Refused, look_ups};
use crate::certificate::{self as printed, Standing};
use crate::error::Error;
use crate::extract::{Path, Person, Posted, Query, Visitor};
use crate::show::Errors;
use crate::state::App;
use crate::statement::{self, Signing};
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use jiff::Timestamp;
use roundel_documents::certificate as document;
use roundel_documents::words::Words;
use roundel_domain::certificate::{Statement, envelope, whole};
use roundel_domain::round::Round;
use roundel_domain::seal::Signature;
use roundel_store::certificates::{self, Certificate};
use roundel_store::installation::Installation;
use roundel_store::{audit, keys, participants};
use std::collections::HashSet;

/// What a certificate is printed from beside the evaluation, as it stands now.
struct Kept {
    installation: Installation,
    authorised_by: Option<String>,
    unit_codes: Vec<(String, String)>,
    near_loq: HashSet<i64>,
}

impl Kept {
    async fn read(app: &App, on: &Published) -> Result<Kept, Error> {
        let installation = app.provider().ok_or(Error::NotFound)?;
        let mut tx = app.db.read().await?;
        let authorised_by = match on.publication() {
            Some(publication) => Some(publication.by.clone()),
            // From before publications were kept: then the record has the name.
            None => {
                let record = audit::of(&mut tx, &on.round.id.to_string()).await?;
                record.into_iter().rev().find(|line| line.event == "round-published").and_then(|line| line.actor)
            }
        };
        let codes = participants::item_codes(&mut tx, on.participant.id).await?;
        let label = |id| on.items.iter().find(|item| item.id == id).map(|item| item.label.clone());
        Ok(Kept {
            installation,
            authorised_by,
            unit_codes: codes.into_iter().filter_map(|(item, code)| Some((label(item)?, code))).collect(),
            near_loq: HashSet::new(),
        })
    }

    fn basis<'a>(&'a self, on: &'a Published, at: Timestamp) -> printed::Basis<'a> {
        printed::Basis {
            installation: &self.installation,
            round: &on.round,
            items: &on.items,
            measurands: &on.measurands,
            participant: &on.participant,
            submission: on.submission.as_ref(),
            evaluated: &on.evaluated,
            issued: at,
            number: on.edition.number,
            reason: on.publication().map_or("", |one| one.reason.as_str()),
            authorised_by: self.authorised_by.clone(),
            unit_codes: &self.unit_codes,
            by_code: false,
            near_loq: &self.near_loq,
        }
    }
}

/// The sealed file of a certificate.
pub(crate) async fn sealed(app: &App, issued: &Certificate) -> Result<String, Error> {
    let fault = |what: &str| Error::Fault(format!("read {what} of a certificate"));
    let key = keys::by_id(&mut app.db.read().await?, &issued.key_id).await?.ok_or_else(|| fault("the key"))?;
    let signature = Signature::from_base64(&issued.signature).map_err(|_| fault("the signature"))?;
    Ok(envelope::seal(envelope::STATEMENT, &issued.statement, key.public, &signature))
}

/// The certificate of a participant as a file for download.
pub(crate) async fn certificate_file(app: &App, on: Published) -> Result<Response, Error> {
    certificate_in(app, on, app.words).await
}

/// The same in a language.
async fn certificate_in(app: &App, on: Published, words: Words) -> Result<Response, Error> {
    let (name, pdf) = certificate_bytes(app, on, words).await?;
    Ok(download("application/pdf", &name, pdf))
}

/// The name of a certificate's files, without its ending.
fn certificate_name(on: &Published) -> String {
    let version = if on.edition.number > 1 || on.is_superseded() {
        format!("-version-{}", on.edition.number)
    } else {
        String::new()
    };
    format!("{}-{}-certificate{version}", on.round.code, on.participant.code)
}

/// Makes the certificate of a participant, away from the threads that answer: the
/// name of its file and its bytes.
pub(crate) async fn certificate_bytes(app: &App, on: Published, words: Words) -> Result<(String, Vec<u8>), Error> {
    let f = Frame { w: words, ..Frame::open(app, &Visitor::default()) };
    let began = std::time::Instant::now();
    let at = on.at().ok_or(Error::NotFound)?;
    let issued = actions::certificates::of(app, &on).await?;
    let kept = Kept::read(app, &on).await?;
    let basis = kept.basis(&on, at);
    let (statement, signature) = match &issued {
        Some(issued) => {
            let read = Statement::parse(&issued.statement);
            let signature = printed::Signature {
                code: issued.code.clone(),
                sha256: issued.sha256.clone(),
                sealed: sealed(app, issued).await?,
                public_url: app.public_url.to_string(),
            };
            (read.map_err(|_| Error::Fault("read a certificate".to_owned()))?, Some(signature))
        }
        None => (statement::of(&basis, &Signing::default(), at), None),
    };
    let standing = match &issued {
        Some(issued) if issued.withdrawn_at().is_some() => Standing::Withdrawn,
        _ if on.is_superseded() => Standing::Superseded,
        _ => Standing::Stands,
    };
    let certificate = printed::of(&f, &basis, &statement, signature.as_ref(), standing);
    let key = match &issued {
        Some(_) => Some(actions::keys::current(app).await?),
        None => None,
    };
    let language = if words == Words::English { String::new() } else { format!("-{}", words.tag()) };
    let name = format!("{}{language}.pdf", certificate_name(&on));
    let read = began.elapsed();
    let make = move || {
        let mut pdf = document::render(&certificate, &words)?;
        if let Some(key) = key {
            whole::sign(&mut pdf, &key);
        }
        Ok::<_, roundel_documents::Error>(pdf)
    };
    let pdf = tokio::task::spawn_blocking(make)
        .await
        .map_err(|error| Error::Fault(format!("make a certificate: {error}")))?
        .map_err(|error| Error::Fault(format!("make a certificate: {error}")))?;
    tracing::debug!(read = ?read, set = ?(began.elapsed() - read), "made the certificate {name}");
    Ok((name, pdf))
}

/// What stands behind the question mark: an earlier version, and the language.
#[derive(Clone, Debug, Default, serde::Deserialize)]
pub struct Wanted {
    #[serde(default)]
    version: Option<i64>,
    #[serde(default)]
    language: String,
}

impl Wanted {
    /// The language that is asked for; English where it is none of ours.
    fn words(&self) -> Words {
        Words::of(&self.language).unwrap_or_default()
    }
}

/// `GET /rounds/{code}/certificate.pdf`: the laboratory's own, the one that holds or
/// an earlier `version`, which says that it is superseded, in a `language`.
///
/// # Errors
///
/// [`Error::NotFound`] before publication.
pub async fn certificate(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    Query(wanted): Query<Wanted>,
) -> Result<Response, Error> {
    let on = {
        let mut tx = app.db.read().await?;
        published_version(&app, &mut tx, &person.actor, &code, wanted.version).await?
    };
    certificate_in(&app, on, wanted.words()).await
}

/// The signed certificate of a laboratory's own, with the name of its files.
async fn own_signed(
    app: &App,
    person: &Person,
    code: &str,
    version: Option<i64>,
) -> Result<(Certificate, String), Error> {
    let on = published_version(app, &mut app.db.read().await?, &person.actor, code, version).await?;
    let issued = actions::certificates::of(app, &on).await?.ok_or(Error::NotFound)?;
    Ok((issued, certificate_name(&on)))
}

/// `GET /rounds/{code}/certificate.json`: the laboratory's own as a sealed file,
/// the same that its PDF carries.
///
/// # Errors
///
/// [`Error::NotFound`] before publication, and for one that was never signed.
pub async fn certificate_json(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    Query(wanted): Query<Wanted>,
) -> Result<Response, Error> {
    let (issued, name) = own_signed(&app, &person, &code, wanted.version).await?;
    Ok(download("application/json", &format!("{name}.json"), sealed(&app, &issued).await?))
}

/// `GET /rounds/{code}/certificate-signed.json`: exactly the bytes that are signed.
///
/// # Errors
///
/// As [`certificate_json`].
pub async fn certificate_signed(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    Query(wanted): Query<Wanted>,
) -> Result<Response, Error> {
    let (issued, _) = own_signed(&app, &person, &code, wanted.version).await?;
    Ok(download("application/json", "signed.json", issued.statement))
}

/// `GET /rounds/{code}/certificate-signature.bin`: the 64 bytes of the signature.
///
/// # Errors
///
/// As [`certificate_json`].
pub async fn certificate_signature(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    Query(wanted): Query<Wanted>,
) -> Result<Response, Error> {
    let (issued, _) = own_signed(&app, &person, &code, wanted.version).await?;
    let signature =
        Signature::from_base64(&issued.signature).map_err(|_| Error::Fault("read a signature".to_owned()))?;
    Ok(download("application/octet-stream", "signature.bin", signature.to_bytes().to_vec()))
}

/// `GET /rounds/{code}/certificates/{lab}`: a laboratory's, for the organiser.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser, and before publication.
pub async fn certificate_of(
    State(app): State<App>,
    person: Person,
    Path((code, lab)): Path<(String, String)>,
    Query(wanted): Query<Wanted>,
) -> Result<Response, Error> {
    let on = published_of(&app, &mut app.db.read().await?, &person.actor, &code, &lab).await?;
    look_ups::note_document(&app, &person.actor, &on.round, &on.participant.code, "certificate").await?;
    certificate_in(&app, on, wanted.words()).await
}

#[derive(Template)]
#[template(path = "results/certificate_name.html")]
struct NamePage {
    f: Frame,
    round: Round,
    code: String,
    name: String,
    by_code: bool,
    /// Whether the person may choose.
    chooses: bool,
}

/// `GET /rounds/{code}/name-on-certificates`: whether the laboratory's name stands on
/// its certificates of the round.
///
/// # Errors
///
/// [`Error::NotFound`] for who does not take part.
pub async fn ask_name(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let (round, participant) = own_round(&mut tx, &person.actor, &code).await?;
    let by_code = certificates::by_code_only(&mut tx, round.id).await?.contains(&participant.id);
    ok(&NamePage {
        f: Frame::of(&app, &person),
        code: participant.code,
        name: participant.name,
        by_code,
        chooses: person.actor.may_submit().is_ok(),
        round,
    })
}

/// `POST /rounds/{code}/name-on-certificates`.
///
/// # Errors
///
/// A refusal for who may not send results.
pub async fn set_name(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let actor = &posted.person.actor;
    let mut tx = app.db.write().await?;
    let (round, participant) = own_round(&mut tx, actor, &code).await?;
    let by_code = posted.fields.get("appear") == "code";
    actions::certificates::set_by_code(&mut tx, actor, &round, &participant, by_code, app.clock.now()).await?;
    tx.commit().await?;
    Ok(go(&format!("/rounds/{code}/name-on-certificates"), "certificate-name-kept"))
}

#[derive(Template)]
#[template(path = "results/certificate_withdraw.html")]
struct WithdrawPage {
    f: Frame,
    round: Round,
    lab: String,
    number: String,
    version: i64,
    withdrawn: bool,
    reason: String,
    errors: Errors,
}

/// The certificate that a withdrawal is about: the one that holds.
async fn held(app: &App, person: &Person, code: &str, lab: &str) -> Result<(Published, Certificate), Error> {
    let on = published_of(app, &mut app.db.read().await?, &person.actor, code, lab).await?;
    let issued = actions::certificates::of(app, &on).await?.ok_or(Error::NotFound)?;
    Ok((on, issued))
}

fn withdraw_page(app: &App, person: &Person, on: &Published, issued: &Certificate) -> WithdrawPage {
    WithdrawPage {
        f: Frame::of(app, person),
        round: on.round.clone(),
        lab: on.participant.code.clone(),
        number: format!("{}-{}", on.round.code, on.participant.code),
        version: on.edition.number,
        withdrawn: issued.withdrawn_at().is_some(),
        reason: String::new(),
        errors: Errors::default(),
    }
}

/// `GET /rounds/{code}/certificates/{lab}/withdraw`: says what a withdrawal does.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser, and before publication.
pub async fn ask_withdraw(
    State(app): State<App>,
    person: Person,
    Path((code, lab)): Path<(String, String)>,
) -> Result<Response, Error> {
    let (on, issued) = held(&app, &person, &code, &lab).await?;
    ok(&withdraw_page(&app, &person, &on, &issued))
}

/// `POST /rounds/{code}/certificates/{lab}/withdraw`.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser; a conflict for one that is
/// withdrawn already.
pub async fn withdraw(
    State(app): State<App>,
    Path((code, lab)): Path<(String, String)>,
    posted: Posted,
) -> Result<Response, Error> {
    let person = &posted.person;
    let (on, issued) = held(&app, person, &code, &lab).await?;
    let mut errors = signing::confirm(&app, &posted).await?;
    let reason = posted.fields.get("reason");
    if errors.is_empty() {
        let mut tx = app.db.write().await?;
        let (round, participant) = (&on.round, &on.participant);
        let now = app.clock.now();
        match actions::certificates::withdraw(&mut tx, &person.actor, round, participant, &issued, reason, now).await {
            Ok(()) => {
                tx.commit().await?;
                return Ok(go(&format!("/rounds/{code}"), "certificate-withdrawn"));
            }
            Err(Refused::Error(error)) => return Err(error),
            Err(Refused::Fields(refused)) => errors = refused,
        }
    }
    let mut page = withdraw_page(&app, person, &on, &issued);
    page.reason = reason.to_owned();
    page.errors = Errors::of(app.words, &errors);
    unprocessable(&page)
}
