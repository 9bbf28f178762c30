//! The receipt of what a laboratory sent, at an address that stays.

use super::check::{said, typed_with_unit};
use super::entry::{evaluated_line, uncertainty_lines};
use super::{Frame, ok};
use crate::error::Error;
use crate::extract::{Path, Person, Visitor};
use crate::show;
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::access::Actor;
use roundel_domain::id::SubmissionId;
use roundel_domain::receipt::{self, Receipt};
use roundel_domain::result::Submission;
use roundel_domain::round::{Intake, Round};
use roundel_domain::seal::Signature;
use roundel_store::{Tx, keys, results, rounds};
use uuid::Uuid;

struct ReceiptRow {
    analyte: String,
    expressed_as: String,
    typed: String,
    evaluated: String,
    uncertainty: String,
    factor: String,
    loq: String,
}

struct ReceiptBlock {
    label: String,
    rows: Vec<ReceiptRow>,
}

#[derive(Template)]
#[template(path = "results/receipt.html")]
struct ReceiptPage {
    f: Frame,
    round: Round,
    code: String,
    reference: String,
    address: String,
    version: i64,
    at: String,
    /// The same in UTC, where the zone of the round is another; else empty.
    utc: String,
    late: bool,
    sha256: String,
    newest: bool,
    newest_href: String,
    open: bool,
    blocks: Vec<ReceiptBlock>,
    /// What was said beside the results.
    said: Vec<(String, String)>,
    /// Address below which the files are.
    base: String,
    /// Name of the stored document as a file.
    file: String,
    /// Name of the key and signature; empty where it is not signed.
    key_id: String,
    signature: String,
}

/// Name of a file of a sending, without its ending.
fn file_name(kind: &str, owner: &results::Owner, sent: &results::Sent) -> String {
    format!("{kind}-{}-version-{}", owner.code, sent.version)
}

/// The sending of this name, for a person who may see it.
pub(crate) async fn sent(tx: &mut Tx, actor: &Actor, id: &str) -> Result<(results::Sent, results::Owner), Error> {
    let id = SubmissionId(id.parse::<Uuid>().map_err(|_| Error::NotFound)?);
    let sent = results::by_id(tx, id).await?.ok_or(Error::NotFound)?;
    let owner = results::owner(tx, id).await?.ok_or(Error::NotFound)?;
    actor.may_see_results_of(owner.laboratory)?;
    Ok((sent, owner))
}

/// `GET /receipts/{id}`.
///
/// # Errors
///
/// [`Error::NotFound`] for what is not this laboratory's.
pub async fn receipt(State(app): State<App>, person: Person, Path(id): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let (sent, owner) = sent(&mut tx, &person.actor, &id).await?;
    let round = rounds::by_id(&mut tx, owner.round).await?.ok_or(Error::NotFound)?;
    let all = results::of_participant(&mut tx, sent.participant).await?;
    let newest = all.last().map_or(sent.id, |last| last.id);
    let submission: Submission = sent.submission()?;
    let f = Frame::of(&app, &person);
    let mut blocks: Vec<ReceiptBlock> = Vec::new();
    for entry in &submission.results {
        let (uncertainty, factor) = uncertainty_lines(&f, entry);
        let row = ReceiptRow {
            analyte: entry.analyte.clone(),
            expressed_as: entry.expressed_as.clone(),
            typed: typed_with_unit(&f, entry),
            evaluated: evaluated_line(&f, entry),
            uncertainty,
            factor,
            loq: entry.loq.as_ref().map(|loq| format!("{} {}", loq.decimal, entry.unit)).unwrap_or_default(),
        };
        match blocks.iter_mut().find(|block| block.label == entry.item) {
            Some(block) => block.rows.push(row),
            None => blocks.push(ReceiptBlock { label: entry.item.clone(), rows: vec![row] }),
        }
    }
    let at = sent.submitted_at();
    let is_utc = show::exact_in(at, &round.time_zone) == show::exact_in(at, "UTC");
    let seal = sent.seal();
    ok(&ReceiptPage {
        file: format!("{}.json", file_name("results", &owner, &sent)),
        code: owner.code,
        address: format!("{}/receipts/{}", app.public_url, sent.id),
        version: sent.version,
        reference: sent.id.to_string(),
        at: show::exact_in(at, &round.time_zone),
        utc: Some(show::exact(at)).filter(|_| !is_utc).unwrap_or_default(),
        late: sent.late,
        sha256: sent.sha256.clone(),
        newest: newest == sent.id,
        newest_href: format!("/receipts/{newest}"),
        open: person.actor.laboratory().is_some()
            && matches!(round.intake(app.clock.now()), Intake::InTime | Intake::Late),
        blocks,
        said: said(&f, &submission.declared),
        base: format!("/receipts/{}", sent.id),
        key_id: seal.map(|seal| seal.key_id.to_owned()).unwrap_or_default(),
        signature: seal.map(|seal| seal.signature.to_owned()).unwrap_or_default(),
        round,
        f,
    })
}

/// `GET /receipts/{id}/document.json`: the exact text that the receipt's hash
/// is over.
///
/// # Errors
///
/// [`Error::NotFound`] for what is not this laboratory's.
pub async fn document(State(app): State<App>, person: Person, Path(id): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let (sent, owner) = sent(&mut tx, &person.actor, &id).await?;
    let name = format!("{}.json", file_name("results", &owner, &sent));
    Ok(super::download("application/json", &name, sent.document))
}

/// The signed receipt with its public key and its signature; none where it is not
/// signed.
pub(super) async fn sealed_text(tx: &mut Tx, sent: &results::Sent) -> Result<Option<String>, Error> {
    let Some(seal) = sent.seal() else { return Ok(None) };
    let fault = |what: &str| Error::Fault(format!("read {what}"));
    let key = keys::by_id(tx, seal.key_id).await?.ok_or_else(|| fault("a key"))?;
    let receipt = Receipt::parse(seal.receipt).map_err(|_| fault("a receipt"))?;
    let signature = Signature::from_base64(seal.signature).map_err(|_| fault("a signature"))?;
    Ok(Some(receipt::sealed(&receipt, key.public, &signature)))
}

/// `GET /receipts/{id}/receipt.json`: the signed receipt, with its public key and
/// its signature.
///
/// # Errors
///
/// [`Error::NotFound`] for what is not this laboratory's or not signed.
pub async fn sealed(State(app): State<App>, person: Person, Path(id): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let (sent, owner) = sent(&mut tx, &person.actor, &id).await?;
    let text = sealed_text(&mut tx, &sent).await?.ok_or(Error::NotFound)?;
    Ok(super::download("application/json", &format!("{}.json", file_name("receipt", &owner, &sent)), text))
}

/// `GET /receipts/{id}/signed.json`: exactly the bytes that are signed.
///
/// # Errors
///
/// [`Error::NotFound`] for what is not this laboratory's or not signed.
pub async fn signed(State(app): State<App>, person: Person, Path(id): Path<String>) -> Result<Response, Error> {
    let (sent, _) = sent(&mut app.db.read().await?, &person.actor, &id).await?;
    let seal = sent.seal().ok_or(Error::NotFound)?;
    Ok(super::download("application/json", "signed.json", seal.receipt.to_owned()))
}

/// `GET /receipts/{id}/signature.bin`: the 64 bytes of the signature.
///
/// # Errors
///
/// [`Error::NotFound`] for what is not this laboratory's or not signed.
pub async fn signature(State(app): State<App>, person: Person, Path(id): Path<String>) -> Result<Response, Error> {
    let (sent, _) = sent(&mut app.db.read().await?, &person.actor, &id).await?;
    let seal = sent.seal().ok_or(Error::NotFound)?;
    let signature = Signature::from_base64(seal.signature).map_err(|_| Error::Fault("read a signature".to_owned()))?;
    Ok(super::download("application/octet-stream", "signature.bin", signature.to_bytes().to_vec()))
}

/// `GET /receipts/{id}/receipt.pdf`.
///
/// # Errors
///
/// [`Error::NotFound`] for what is not this laboratory's.
pub async fn pdf(State(app): State<App>, person: Person, Path(id): Path<String>) -> Result<Response, Error> {
    let installation = app.provider().ok_or(Error::NotFound)?;
    let (document, name) = {
        let mut tx = app.db.read().await?;
        let (sent, owner) = sent(&mut tx, &person.actor, &id).await?;
        let round = rounds::by_id(&mut tx, owner.round).await?.ok_or(Error::NotFound)?;
        let items = rounds::items(&mut tx, round.id).await?;
        let basis = crate::receipt::Basis {
            installation: &installation,
            round: &round,
            items: &items,
            code: &owner.code,
            sent: &sent,
            submission: &sent.submission()?,
            address: format!("{}/receipts/{}", app.public_url, sent.id),
            keys: format!("{}/keys", app.public_url),
            sealed: sealed_text(&mut tx, &sent).await?,
        };
        let name = format!("{}-{}.pdf", round.code, file_name("receipt", &owner, &sent));
        (crate::receipt::of(&Frame::open(&app, &Visitor::default()), &basis), name)
    };
    let words = app.words;
    let failed = |error: String| Error::Fault(format!("make a receipt: {error}"));
    let pdf = tokio::task::spawn_blocking(move || roundel_documents::receipt::render(&document, &words))
        .await
        .map_err(|error| failed(error.to_string()))?
        .map_err(|error| failed(error.to_string()))?;
    Ok(super::download("application/pdf", &name, pdf))
}
