//! Certificates: signed when a round is published, withdrawn, and under which name.

use super::{Refused, keys, record};
use crate::certificate::Basis;
use crate::clock;
use crate::error::Error;
use crate::evaluated::Evaluated;
use crate::pages::scores::Published;
use crate::state::App;
use crate::statement::{self, Signing};
use jiff::Timestamp;
use roundel_domain::access::Actor;
use roundel_domain::assemble::measurand_id;
use roundel_domain::certificate;
use roundel_domain::field::FieldErrors;
use roundel_domain::id::CertificateId;
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::result::Submission;
use roundel_domain::round::Round;
use roundel_domain::text;
use roundel_store::certificates::{self, Certificate, NewCertificate};
use roundel_store::participants::Participant;
use roundel_store::{Tx, installation, measurands, participants, publications, results, rounds};
use std::collections::{HashMap, HashSet};

/// The random name of a certificate in its address: 128 bits.
fn code() -> String {
    hex::encode(clock::random::<16>())
}

/// The path at which everybody can ask whether a certificate still stands.
pub fn path(code: &str) -> String {
    format!("/verify/{code}")
}

/// Signs the certificates of all participants of a publication and keeps them.
/// Nothing is signed where nobody knows yet who runs the service.
///
/// # Errors
///
/// [`roundel_store::Error::Exists`] when somebody did so at the same time.
pub async fn issue(
    tx: &mut Tx,
    round: &Round,
    number: i64,
    evaluated: &Evaluated,
    public_url: &str,
    now: Timestamp,
) -> Result<(), Error> {
    let publications = publications::of_round(tx, round.id).await?;
    let published = publications.iter().find(|one| one.number == number);
    let named = certificates::publication(tx, round.id, number).await?;
    let provider = installation::get(tx).await?;
    let (Some(published), Some(publication), Some(provider)) = (published, named, provider) else { return Ok(()) };
    let items = rounds::items(tx, round.id).await?;
    let measurands = measurands::of_round(tx, round.id).await?;
    let everybody = participants::of_round(tx, round.id).await?;
    let mut sent = HashMap::new();
    for one in results::newest_of_round(tx, round.id).await? {
        sent.insert(one.participant, one.submission()?);
    }
    let mut unit_codes: HashMap<String, Vec<(String, String)>> = HashMap::new();
    for (code, item, unit) in participants::all_item_codes(tx, round.id).await? {
        unit_codes.entry(code).or_default().push((item, unit));
    }
    let by_code = certificates::by_code_only(tx, round.id).await?;
    let near_loq = near_loq(evaluated, &items, &measurands, sent.values());
    let key = keys::signing(tx, now).await?;
    let key_id = key.public().id();
    let mut all = Vec::with_capacity(everybody.len());
    for participant in &everybody {
        let code = code();
        let basis = Basis {
            installation: &provider,
            round,
            items: &items,
            measurands: &measurands,
            participant,
            submission: sent.get(&participant.id),
            evaluated,
            issued: published.at(),
            authorised_by: Some(published.by.clone()),
            number,
            reason: &published.reason,
            unit_codes: unit_codes.get(&participant.code).map_or(&[], Vec::as_slice),
            by_code: by_code.contains(&participant.id),
            near_loq: &near_loq,
        };
        let signing = Signing { address: format!("{public_url}{}", path(&code)), key_id: key_id.clone() };
        let statement = statement::of(&basis, &signing, now).text();
        all.push(NewCertificate {
            id: CertificateId(clock::new_id()),
            participant: participant.id,
            code,
            sha256: certificate::digest(&statement),
            signature: key.sign(statement.as_bytes()).to_base64(),
            statement,
        });
    }
    Ok(certificates::insert(tx, publication, &key_id, now, &all).await?)
}

/// The measurands whose levels are close to the limits of quantification.
fn near_loq<'a>(
    evaluated: &Evaluated,
    items: &[Item],
    measurands: &[Measurand],
    sent: impl Iterator<Item = &'a Submission>,
) -> HashSet<i64> {
    let mut limits: HashMap<i64, Vec<f64>> = HashMap::new();
    for entry in sent.flat_map(|submission| &submission.results) {
        if let Some(loq) = &entry.loq {
            limits.entry(entry.position).or_default().push(loq.decimal.value());
        }
    }
    let near = measurands.iter().filter(|m| {
        let label = items.iter().find(|item| item.id == m.item).map_or("", |item| item.label.as_str());
        let assigned = evaluated
            .measurand(&measurand_id(label, &m.analyte))
            .and_then(|(_, outcome)| outcome.assigned_value.as_ref());
        let limits = limits.get(&m.position).into_iter().flatten().copied();
        assigned.is_some_and(|assigned| certificate::is_near_loq(assigned.value, limits))
    });
    near.map(|m| m.position).collect()
}

/// The signed certificate of what is shown. Those of a round that was published
/// before certificates were signed are signed now; none where publications were
/// not kept yet.
///
/// # Errors
///
/// What the database says.
pub(crate) async fn of(app: &App, on: &Published) -> Result<Option<Certificate>, Error> {
    let kept = certificates::of_participant(&mut app.db.read().await?, on.participant.id, on.edition.number).await?;
    if kept.is_some() || on.publication().is_none() {
        return Ok(kept);
    }
    let mut tx = app.db.write().await?;
    match issue(&mut tx, &on.round, on.edition.number, &on.evaluated, &app.public_url, app.clock.now()).await {
        Ok(()) => tx.commit().await?,
        // Somebody else was first: theirs count.
        Err(Error::Store(roundel_store::Error::Exists)) => drop(tx),
        Err(error) => return Err(error),
    }
    Ok(certificates::of_participant(&mut app.db.read().await?, on.participant.id, on.edition.number).await?)
}

/// Withdraws a certificate. Whether it is the person who acts has been asked again
/// before.
///
/// # Errors
///
/// A missing reason; a conflict when it is withdrawn already.
pub async fn withdraw(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    participant: &Participant,
    certificate: &Certificate,
    reason: &str,
    now: Timestamp,
) -> Result<(), Refused> {
    actor.may_organise()?;
    let mut errors = FieldErrors::new();
    let reason = text::reason(&mut errors, "reason", reason);
    errors.into_result(())?;
    match certificates::withdraw(tx, certificate.id, &reason, actor.user(), now).await {
        Err(roundel_store::Error::Exists) => return Err(Error::conflict("conflict-certificate-withdrawn").into()),
        done => done?,
    }
    record(tx, actor, "certificate-withdrawn", round, &format!("{}: {reason}", participant.code), now).await?;
    Ok(())
}

/// Keeps whether a laboratory appears on its certificates of a round by its code
/// only. Certificates that were issued stay as they are.
///
/// # Errors
///
/// A refusal for who may not send results of the laboratory.
pub async fn set_by_code(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    participant: &Participant,
    by_code: bool,
    now: Timestamp,
) -> Result<(), Error> {
    actor.may_submit()?;
    certificates::set_by_code(tx, clock::new_id(), participant.id, by_code, actor.user(), now).await?;
    let event = if by_code { "certificate-by-code" } else { "certificate-by-name" };
    record(tx, actor, event, round, &participant.code, now).await
}
