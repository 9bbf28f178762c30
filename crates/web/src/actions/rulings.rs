//! Requests after closing. Whatever is asked for and decided, nothing that a
//! laboratory sent changes (D33, D34).

use super::{Refused, record};
use crate::clock;
use crate::error::Error;
use jiff::Timestamp;
use roundel_domain::access::Actor;
use roundel_domain::id::RequestId;
use roundel_domain::request;
use roundel_domain::round::Round;
use roundel_store::participants::Participant;
use roundel_store::rulings::{self, NewRequest, Request};
use roundel_store::{Tx, results};

/// Makes a request. The same one again, while it is open, is one request.
///
/// # Errors
///
/// Every field that is not as it should be; a conflict while results are taken.
pub async fn ask(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    participant: &Participant,
    (kind, reason): (&str, &str),
    now: Timestamp,
) -> Result<RequestId, Refused> {
    actor.may_submit()?;
    if !request::is_time(round, now) {
        return Err(Error::conflict("conflict-request-early").into());
    }
    let (kind, reason) = request::parse(kind, reason)?;
    // Pressing twice asks once.
    results::hold(tx, participant.id).await?;
    for known in rulings::of_round(tx, round.id).await? {
        let same = known.participant == participant.id && known.kind == kind && known.reason == reason;
        if same && known.ruled()?.is_none() {
            return Ok(known.id);
        }
    }
    let id = RequestId(clock::new_id());
    let new = NewRequest { id, participant: participant.id, kind, reason: &reason, by: actor.user() };
    rulings::request(tx, &new, now).await?;
    record(tx, actor, "request-made", round, &participant.code, now).await?;
    Ok(id)
}

/// Decides a request.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser; every field that is not as
/// it should be; a conflict when it was decided.
pub async fn rule(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    request: &Request,
    (ruling, evidence): (&str, &str),
    now: Timestamp,
) -> Result<(), Refused> {
    actor.may_organise()?;
    if request.ruled()?.is_some() {
        return Err(Error::conflict("conflict-request").into());
    }
    let (ruling, evidence) = request::parse_ruling(ruling, evidence)?;
    match rulings::rule(tx, request.id, ruling, &evidence, actor.user(), now).await {
        Err(roundel_store::Error::Exists) => return Err(Error::conflict("conflict-request").into()),
        kept => kept?,
    }
    let detail = format!("{}: {}", request.code, ruling.word());
    Ok(record(tx, actor, "request-ruled", round, &detail, now).await?)
}
