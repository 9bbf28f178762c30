//! Open data of the first round: most laboratories agree, and the organiser releases
//! the package.

use super::scenario::Scenario;
use super::{Made, Staff, fault, instant};
use crate::actions;
use crate::error::Error;
use roundel_domain::open_data::Licence;
use roundel_store::{Db, participants, rounds};

/// Six laboratories of one group of methods do not agree: fewer, and the answers of the
/// group would be withheld.
const NOT_AGREED: [&str; 6] = ["P18", "P20", "P21", "P22", "P23", "P25"];

/// Laboratories agree while the round is open; after its publication the package is
/// released.
pub(super) async fn release(db: &Db, staff: &Staff, scenario: &Scenario, made: &Made) -> Result<(), Error> {
    let mut tx = db.write().await?;
    let round = rounds::by_code(&mut tx, scenario.code).await?.ok_or(Error::NotFound)?;
    let enrolled = participants::of_round(&mut tx, round.id).await?;
    let said = instant("2024-03-25T10:00:00Z");
    for laboratory in scenario.laboratories.iter().filter(|one| !NOT_AGREED.contains(&one.id)) {
        let code = laboratory.code.to_string();
        let participant = enrolled.iter().find(|p| p.code == code).ok_or(Error::NotFound)?;
        let actor = made.actors.get(laboratory.id).ok_or(Error::NotFound)?;
        actions::open_data::consent(&mut tx, actor, &round, participant, true, said).await?;
    }
    let released = instant("2024-09-02T09:00:00Z");
    actions::open_data::release(&mut tx, &staff.organiser, &round, Licence::CcBy.word(), released)
        .await
        .map_err(fault)?;
    tx.commit().await?;
    Ok(())
}
