//! Files that are kept of a unit: sent by the organiser at dispatch, or by the
//! laboratory at receipt.

use super::units::ledger;
use super::{Refused, field, record};
use crate::clock;
use crate::error::Error;
use crate::secret;
use jiff::Timestamp;
use roundel_domain::access::Actor;
use roundel_domain::field::Problem;
use roundel_domain::id::UnitFileId;
use roundel_domain::measurand::Item;
use roundel_domain::round::{Intake, Round};
use roundel_domain::unit_file::{MOST_FILES, UnitFile};
use roundel_store::participants::Participant;
use roundel_store::unit_files::{self, New};
use roundel_store::{Tx, results};

/// Keeps a file of a participant's unit. Who acts decides from which side it comes.
///
/// # Errors
///
/// A refusal for who may neither organise nor enter; a conflict before the round is
/// open, and for a laboratory once no results are taken any more; the field `file`
/// when enough files are kept.
pub async fn keep(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    (item, participant): (&Item, &Participant),
    file: &UnitFile,
    now: Timestamp,
) -> Result<(), Refused> {
    let from_laboratory = match actor.laboratory() {
        Some(_) if actor.may_enter()? == participant.laboratory => true,
        Some(_) => return Err(Error::NotFound.into()),
        None => {
            actor.may_organise()?;
            false
        }
    };
    if round.is_draft() {
        return Err(Error::conflict("conflict-unit-file-draft").into());
    }
    if from_laboratory && !matches!(round.intake(now), Intake::InTime | Intake::Late) {
        return Err(Error::conflict("conflict-unit-file-ended").into());
    }
    // One after the other, so that no more are kept than may be.
    results::hold(tx, participant.id).await?;
    let kept = unit_files::of_item(tx, item.id).await?;
    let same_side = kept.iter().filter(|kept| kept.participant == participant.id);
    if same_side.filter(|kept| kept.from_laboratory == from_laboratory).count() >= MOST_FILES {
        return Err(field("file", Problem::new("unit-file-many").with("most", MOST_FILES)));
    }
    let (ledger, _) = ledger(tx, round, item).await?;
    let new = New {
        id: UnitFileId(clock::new_id()),
        item: item.id,
        participant: participant.id,
        number: ledger.current(participant.id).map(|(number, _)| number),
        from_laboratory,
        file,
        sha256: &secret::sha256_of(&[&file.bytes]),
        by: actor.user(),
        at: now,
    };
    unit_files::insert(tx, &new).await?;
    let event = if from_laboratory { "unit-file-received" } else { "unit-file-kept" };
    let detail = format!("{}, {}, {}", participant.code, item.label, file.form.kind().word());
    record(tx, actor, event, round, &detail, now).await?;
    Ok(())
}
