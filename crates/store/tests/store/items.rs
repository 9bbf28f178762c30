//! Records, units and withdrawals of items.

use crate::sample::{at, id, item, laboratory, measurand, participant, round, user, write};
use roundel_domain::id::{ItemRecordId, RoundId, UnitEventId, UnitFileId, WithdrawalId};
use roundel_domain::ledger::{Event, Ledger};
use roundel_domain::unit_file::{Form, UnitFile};
use roundel_store::item_records::{self, Kind};
use roundel_store::testing::on_both;
use roundel_store::{unit_events, unit_files, withdrawals};
use std::collections::BTreeSet;

#[tokio::test]
async fn records_of_a_round_come_oldest_first_with_who_made_them() {
    on_both(async |db| {
        let (one, other) = (round(&db, "QW-1").await, round(&db, "QW-2").await);
        let (first, second) = (item(&db, one, 1, "A").await, item(&db, other, 1, "A").await);
        let nitrate = measurand(&db, one, &first, 1, "nitrate").await;
        let elsewhere = measurand(&db, other, &second, 1, "nitrate").await;
        let person = user(&db, "organiser@provider.example", None).await;
        write(&db, async |tx| {
            assert!(!item_records::holds(tx, nitrate).await.unwrap());
            for (measurand, kind, document, time) in [
                (nitrate, Kind::Stability, "{\"n\":3}", "12:00"),
                (nitrate, Kind::Homogeneity, "{\"n\":1}", "10:00"),
                (nitrate, Kind::Homogeneity, "{\"n\":2}", "11:00"),
                (elsewhere, Kind::Preparation, "{}", "10:00"),
            ] {
                let id = ItemRecordId(id());
                item_records::insert(tx, id, measurand, kind, document, person, at(time)).await.unwrap();
            }
        })
        .await;

        let mut tx = db.read().await.unwrap();
        let records = item_records::of_round(&mut tx, one).await.unwrap();
        let shown: Vec<_> = records.iter().map(|record| (record.kind, record.document.as_str(), record.at())).collect();
        assert_eq!(
            shown,
            [
                (Kind::Homogeneity, "{\"n\":1}", at("10:00")),
                (Kind::Homogeneity, "{\"n\":2}", at("11:00")),
                (Kind::Stability, "{\"n\":3}", at("12:00")),
            ]
        );
        assert!(records.iter().all(|record| record.measurand == nitrate && record.by == "Ada Sample"));
        assert!(item_records::holds(&mut tx, nitrate).await.unwrap());
    })
    .await;
}

#[tokio::test]
async fn events_of_units_come_back_as_they_were_in_their_order() {
    on_both(async |db| {
        let one = round(&db, "QW-1").await;
        let (a, b) = (item(&db, one, 1, "A").await, item(&db, one, 2, "B").await);
        let lab = laboratory(&db, "Fernhill Water").await;
        let to = participant(&db, one, lab, "L-1").await;
        let person = user(&db, "organiser@provider.example", None).await;
        let events = [
            Event::Made { count: 12 },
            Event::Assigned { number: 7, to },
            Event::Dispatched { number: 7, on: "2027-03-01".parse().unwrap(), carrier: "Van".to_owned() },
            Event::Void { number: 7, reason: "Bottle broken.".to_owned() },
            Event::Assigned { number: 3, to },
            Event::Note { number: 3, text: "New cap.".to_owned() },
        ];
        write(&db, async |tx| {
            for event in &events {
                unit_events::insert(tx, UnitEventId(id()), a.id, event, person, at("10:00")).await.unwrap();
            }
            let made = Event::Made { count: 4 };
            unit_events::insert(tx, UnitEventId(id()), b.id, &made, person, at("09:00")).await.unwrap();
        })
        .await;

        let kept = unit_events::of_item(&mut db.read().await.unwrap(), a.id).await.unwrap();
        let read: Vec<Event> = kept.iter().map(|kept| kept.event().unwrap()).collect();
        assert_eq!(read, events);
        assert!(kept.iter().all(|kept| kept.at() == at("10:00") && kept.by == "Ada Sample"));
        assert_eq!(Ledger::of(&read, BTreeSet::new()).current(to).map(|(number, _)| number), Some(3));
    })
    .await;
}

#[tokio::test]
async fn a_withdrawal_is_of_an_item_or_of_one_measurand() {
    on_both(async |db| {
        let (one, other) = (round(&db, "QW-1").await, round(&db, "QW-2").await);
        let (a, b) = (item(&db, one, 1, "A").await, item(&db, one, 2, "B").await);
        let nitrate = measurand(&db, one, &a, 1, "nitrate").await;
        let nitrite = measurand(&db, one, &a, 2, "nitrite").await;
        let in_b = measurand(&db, one, &b, 3, "nitrate").await;
        let person = user(&db, "organiser@provider.example", None).await;
        write(&db, async |tx| {
            let id = || WithdrawalId(id());
            withdrawals::insert(tx, id(), a.id, Some(nitrate), "Bottles.", person, at("10:00")).await.unwrap();
            withdrawals::insert(tx, id(), b.id, None, "Parcel.", person, at("11:00")).await.unwrap();
        })
        .await;

        let mut tx = db.read().await.unwrap();
        let [first, second] = withdrawals::of_round(&mut tx, one).await.unwrap().try_into().unwrap();
        assert_eq!((first.reason.as_str(), first.measurand(), first.at()), ("Bottles.", Some(nitrate), at("10:00")));
        assert!(first.covers(a.id, nitrate) && !first.covers(a.id, nitrite) && !first.covers(b.id, in_b));
        assert_eq!(second.measurand(), None);
        assert!(second.covers(b.id, in_b) && !second.covers(a.id, nitrate));
        assert!(withdrawals::of_round(&mut tx, other).await.unwrap().is_empty());
    })
    .await;
}

#[tokio::test]
async fn files_of_units_come_back_byte_by_byte_and_only_in_their_round() {
    on_both(async |db| {
        let (one, other) = (round(&db, "QW-1").await, round(&db, "QW-2").await);
        let (a, b) = (item(&db, one, 1, "A").await, item(&db, one, 2, "B").await);
        let lab = laboratory(&db, "Fernhill Water").await;
        let to = participant(&db, one, lab, "L-1").await;
        let person = user(&db, "organiser@provider.example", None).await;
        let photo = UnitFile { form: Form::Jpeg, bytes: vec![0xFF, 0xD8, 0, 1, 2, 0xFF, 0xD9] };
        let log = UnitFile { form: Form::Csv, bytes: b"08:00;4.1".to_vec() };
        let ids = [UnitFileId(id()), UnitFileId(id()), UnitFileId(id())];
        let of = |place: usize, item, number, from_laboratory, file, time| unit_files::New {
            id: ids[place],
            item,
            participant: to,
            number,
            from_laboratory,
            file,
            sha256: "00ff",
            by: person,
            at: at(time),
        };
        write(&db, async |tx| {
            unit_files::insert(tx, &of(0, a.id, Some(7), true, &photo, "11:00")).await.unwrap();
            unit_files::insert(tx, &of(1, a.id, None, false, &log, "10:00")).await.unwrap();
            unit_files::insert(tx, &of(2, b.id, None, true, &log, "10:00")).await.unwrap();
        })
        .await;

        let mut tx = db.read().await.unwrap();
        let kept = unit_files::of_item(&mut tx, a.id).await.unwrap();
        let seen: Vec<_> = kept.iter().map(|k| (k.id, k.number, k.from_laboratory, k.form(), k.size, k.at())).collect();
        let log_line = (ids[1], None, false, Form::Csv, 9, at("10:00"));
        assert_eq!(seen, [log_line, (ids[0], Some(7), true, Form::Jpeg, 7, at("11:00"))]);
        assert!(kept.iter().all(|k| k.participant == to && k.by == "Ada Sample" && k.sha256 == "00ff"));
        let whole = unit_files::whole(&mut tx, one, ids[0]).await.unwrap().unwrap();
        assert_eq!((whole.form(), &whole.content), (Form::Jpeg, &photo.bytes));
        assert_eq!((whole.laboratory, whole.code.as_str(), whole.item.as_str()), (lab, "L-1", "A"));
        assert!(whole.from_laboratory && whole.number == Some(7));
        for elsewhere in [other, RoundId(id())] {
            assert!(unit_files::whole(&mut tx, elsewhere, ids[0]).await.unwrap().is_none());
        }
        assert!(unit_files::whole(&mut tx, one, UnitFileId(id())).await.unwrap().is_none());
    })
    .await;
}
