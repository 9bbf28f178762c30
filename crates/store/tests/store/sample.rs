//! Rows that several tests need before they can begin.

use jiff::Timestamp;
use roundel_domain::access::{Duty, Rights, Standing};
use roundel_domain::id::{ItemId, LaboratoryId, MeasurandId, ParticipantId, RoundId, UserId};
use roundel_domain::laboratory::NewLaboratory;
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::round::NewRound;
use roundel_store::accounts::{NewInvitation, NewUser};
use roundel_store::{Db, Tx, accounts, laboratories, measurands, participants, rounds};
use uuid::Uuid;

pub(crate) fn id() -> Uuid {
    Uuid::now_v7()
}

/// An instant of 1 March 2027, `12:00` UTC, to the microsecond.
pub(crate) fn at(time: &str) -> Timestamp {
    format!("2027-03-01T{time}:00.000001Z").parse().expect("a time of day")
}

/// Does `steps` in one transaction that is committed.
pub(crate) async fn write<T>(db: &Db, steps: impl AsyncFnOnce(&mut Tx) -> T) -> T {
    let mut tx = db.write().await.unwrap();
    let answer = steps(&mut tx).await;
    tx.commit().await.unwrap();
    answer
}

pub(crate) fn new_laboratory(name: &str) -> NewLaboratory {
    let email = format!("{}@laboratory.example", name.to_lowercase().replace(' ', "-"));
    NewLaboratory { name: name.to_owned(), email, organisation: None }
}

pub(crate) async fn laboratory(db: &Db, name: &str) -> LaboratoryId {
    let id = LaboratoryId(id());
    write(db, async |tx| laboratories::insert(tx, id, &new_laboratory(name), at("08:00")).await.unwrap()).await;
    id
}

pub(crate) async fn user(db: &Db, email: &str, laboratory: Option<LaboratoryId>) -> UserId {
    let id = UserId(id());
    let standing = match laboratory {
        None => Standing::Staff(Duty::Organiser),
        Some(id) => Standing::Laboratory(id, Rights::Submit),
    };
    let user = NewUser { id, email, name: "Ada Sample", password_hash: "$argon2id$kept", standing };
    write(db, async |tx| accounts::insert(tx, &user, at("08:00")).await.unwrap()).await;
    id
}

/// An invitation of the organiser, which is open until `end`.
pub(crate) fn invitation(hash: &[u8], laboratory: LaboratoryId, end: Timestamp) -> NewInvitation<'_> {
    NewInvitation { token_hash: hash, laboratory, email: None, rights: Rights::Submit, by: None, expires_at: end }
}

pub(crate) fn new_round(code: &str) -> NewRound {
    NewRound {
        code: code.to_owned(),
        title: "Traces in river water".to_owned(),
        scheme: "Water".to_owned(),
        instructions: "Shake.\nKeep cold.".to_owned(),
        time_zone: "Europe/Berlin".to_owned(),
        closes_at: at("17:00"),
    }
}

pub(crate) async fn round(db: &Db, code: &str) -> RoundId {
    let id = RoundId(id());
    write(db, async |tx| rounds::insert(tx, id, &new_round(code), at("09:00")).await.unwrap()).await;
    id
}

pub(crate) async fn participant(db: &Db, round: RoundId, laboratory: LaboratoryId, code: &str) -> ParticipantId {
    let id = ParticipantId(id());
    write(db, async |tx| participants::insert(tx, id, round, laboratory, code, at("10:00")).await.unwrap()).await;
    id
}

pub(crate) fn an_item(position: i64, label: &str) -> Item {
    Item { id: ItemId(id()), position, label: label.to_owned(), matrix: "river water".to_owned() }
}

pub(crate) async fn item(db: &Db, round: RoundId, position: i64, label: &str) -> Item {
    let item = an_item(position, label);
    write(db, async |tx| rounds::insert_item(tx, round, &item).await.unwrap()).await;
    item
}

pub(crate) fn a_measurand(item: &Item, position: i64, analyte: &str) -> Measurand {
    Measurand {
        id: MeasurandId(id()),
        item: item.id,
        position,
        analyte: analyte.to_owned(),
        unit: "ng/L".to_owned(),
        expressed_as: String::new(),
        decimals: 1,
        replicates: 1,
        required_loq: None,
        plan: None,
    }
}

pub(crate) async fn measurand(db: &Db, round: RoundId, item: &Item, position: i64, analyte: &str) -> MeasurandId {
    let new = a_measurand(item, position, analyte);
    write(db, async |tx| measurands::insert(tx, round, &new).await.unwrap()).await;
    new.id
}
