//! The receipt of what a laboratory sent, at an address that stays.

use super::check::{said, typed_with_unit};
use super::entry::{evaluated_line, uncertainty_lines};
use super::{Frame, ok};
use crate::error::Error;
use crate::extract::{Path, Person};
use crate::show;
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::access::Actor;
use roundel_domain::id::SubmissionId;
use roundel_domain::result::Submission;
use roundel_domain::round::{Intake, Round};
use roundel_store::{Tx, results, rounds};
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
    address: String,
    version: i64,
    at: String,
    local: String,
    late: bool,
    sha256: String,
    newest: bool,
    newest_href: String,
    open: bool,
    blocks: Vec<ReceiptBlock>,
    document: String,
    /// What was said beside the results.
    said: Vec<(String, String)>,
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
    ok(&ReceiptPage {
        code: owner.code,
        address: format!("{}/receipts/{}", app.public_url, sent.id),
        version: sent.version,
        at: show::exact(sent.submitted_at()),
        local: Some(show::instant(sent.submitted_at(), &round.time_zone))
            .filter(|at| at.contains('('))
            .unwrap_or_default(),
        late: sent.late,
        sha256: sent.sha256.clone(),
        newest: newest == sent.id,
        newest_href: format!("/receipts/{newest}"),
        open: person.actor.laboratory().is_some()
            && matches!(round.intake(app.clock.now()), Intake::InTime | Intake::Late),
        blocks,
        document: format!("/receipts/{}/document.json", sent.id),
        said: said(&f, &submission.declared),
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
    let name = format!("results-{}-version-{}.json", owner.code, sent.version);
    Ok(super::download("application/json", &name, sent.document))
}
