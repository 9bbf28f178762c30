//! Reports as they were issued, and what people wrote for them.

use crate::sample::{at, id, item, laboratory, participant, round, user, write};
use roundel_domain::id::{EvaluationId, PublicationId, ReportId, ReportTextId, RoundId, UnitEventId, UserId};
use roundel_domain::ledger::Event;
use roundel_domain::report::{Heading, Said, Status};
use roundel_store::evaluations::{self, NewEvaluation};
use roundel_store::publications::{self, NewPublication};
use roundel_store::reports::{self, NewReport, NewText};
use roundel_store::testing::on_both;
use roundel_store::{Db, Error, unit_events};

/// A round with two publications, and who issues reports.
async fn published(db: &Db) -> (RoundId, UserId) {
    let person = user(db, "organiser@provider.example", None).await;
    let round = round(db, "R-1").await;
    let evaluation = EvaluationId(id());
    write(db, async |tx| {
        let new = NewEvaluation {
            id: evaluation,
            round,
            version: 1,
            package: "{}",
            package_sha256: "aa",
            document: "{}",
            sha256: "bb",
            at: at("09:30"),
            by: person,
        };
        evaluations::insert(tx, &new).await.unwrap();
        for (number, reason) in [(1, ""), (2, "A factor.")] {
            let new = NewPublication {
                id: PublicationId(id()),
                round,
                number,
                evaluation,
                meaning: "Final.",
                reason,
                notified: 3,
                at: at("10:00"),
                by: person,
            };
            publications::insert(tx, &new).await.unwrap();
        }
    })
    .await;
    (round, person)
}

fn report(round: RoundId, by: UserId, version: i64, status: Status) -> NewReport<'static> {
    NewReport {
        id: ReportId(id()),
        round,
        version,
        publication: Some(1),
        status,
        replaces: None,
        reason: "",
        changed: None,
        document: "{\"n\":1}",
        sha256: "cc",
        at: at("11:00"),
        by,
    }
}

#[tokio::test]
async fn the_newest_text_of_a_heading_counts() {
    on_both(async |db| {
        let (round, person) = published(&db).await;
        let text = |text: &str, none: &str| Said { text: text.to_owned(), not_applicable: none.to_owned() };
        write(&db, async |tx| {
            for (heading, said, codes, time) in [
                (Heading::Advice, text("Early.", ""), "", "11:00"),
                (Heading::Advice, text("Look at R4TNW3.", ""), "R4TNW3", "12:00"),
                (Heading::Earlier, text("", "First round."), "", "11:30"),
            ] {
                let id = ReportTextId(id());
                let new = NewText { id, round, heading, said: &said, codes, at: at(time), by: person };
                reports::insert_text(tx, &new).await.unwrap();
            }
        })
        .await;

        let read = reports::texts(&mut db.read().await.unwrap(), round).await.unwrap();

        let shown: Vec<_> = read.iter().map(|t| (t.heading().unwrap(), t.said(), t.codes.as_str(), t.at())).collect();
        assert_eq!(
            shown,
            [
                (Heading::Advice, text("Look at R4TNW3.", ""), "R4TNW3", at("12:00")),
                (Heading::Earlier, text("", "First round."), "", at("11:30")),
            ]
        );
        assert_eq!(read[0].by, "Ada Sample");
    })
    .await;
}

#[tokio::test]
async fn a_text_has_its_words_or_a_reason_and_never_both_or_none() {
    on_both(async |db| {
        let (round, person) = published(&db).await;
        for (text, not_applicable) in [("", ""), ("Words.", "A reason.")] {
            let said = Said { text: text.to_owned(), not_applicable: not_applicable.to_owned() };
            let id = ReportTextId(id());
            let new =
                NewText { id, round, heading: Heading::Errors, said: &said, codes: "", at: at("11:00"), by: person };
            let mut tx = db.write().await.unwrap();
            assert!(reports::insert_text(&mut tx, &new).await.is_err(), "{said:?}");
        }
    })
    .await;
}

#[tokio::test]
async fn reports_come_newest_first_with_what_took_their_place() {
    on_both(async |db| {
        let (round, person) = published(&db).await;
        let preliminary = NewReport { publication: None, ..report(round, person, 1, Status::Preliminary) };
        let corrected = NewReport {
            publication: Some(2),
            replaces: Some(2),
            reason: "A factor.",
            document: "{\"n\":3}",
            at: at("13:00"),
            ..report(round, person, 3, Status::Corrected)
        };
        write(&db, async |tx| {
            for new in [preliminary, report(round, person, 2, Status::Final), corrected] {
                reports::insert(tx, &new).await.unwrap();
            }
        })
        .await;

        let mut tx = db.read().await.unwrap();
        let read = reports::of_round(&mut tx, round).await.unwrap();
        let shown: Vec<_> =
            read.iter().map(|r| (r.version, r.status().unwrap(), r.publication, r.superseded_by)).collect();
        assert_eq!(
            shown,
            [
                (3, Status::Corrected, Some(2), None),
                (2, Status::Final, Some(1), Some(3)),
                (1, Status::Preliminary, None, None),
            ]
        );
        assert_eq!((read[0].reason.as_str(), read[0].sha256.as_str(), read[0].at()), ("A factor.", "cc", at("13:00")));
        assert_eq!(read[0].by, "Ada Sample");
        assert_eq!(reports::document(&mut tx, round, 3).await.unwrap().as_deref(), Some("{\"n\":3}"));
        assert_eq!(reports::document(&mut tx, round, 4).await.unwrap(), None);
    })
    .await;
}

#[tokio::test]
async fn a_round_has_one_final_report_and_each_report_is_replaced_once() {
    on_both(async |db| {
        let (round, person) = published(&db).await;
        let refused = async |new: NewReport<'_>| {
            let mut tx = db.write().await.unwrap();
            reports::insert(&mut tx, &new).await
        };
        let corrected = |version, replaces| NewReport {
            replaces,
            reason: "A factor.",
            ..report(round, person, version, Status::Corrected)
        };
        write(&db, async |tx| reports::insert(tx, &report(round, person, 1, Status::Final)).await.unwrap()).await;

        let second = NewReport { publication: Some(2), ..report(round, person, 2, Status::Final) };
        for new in [report(round, person, 2, Status::Final), second, report(round, person, 1, Status::Interim)] {
            let answer = refused(new).await;
            assert!(matches!(answer, Err(Error::Exists)), "{answer:?} for {new:?}");
        }
        // A final report without a publication, a correction of nothing or without a
        // reason, and anything else that claims to replace one.
        for new in [
            NewReport { publication: None, ..corrected(2, Some(1)) },
            NewReport { publication: Some(9), ..corrected(2, Some(1)) },
            corrected(2, None),
            corrected(2, Some(7)),
            NewReport { reason: "", ..corrected(2, Some(1)) },
            NewReport { status: Status::Interim, ..corrected(2, Some(1)) },
        ] {
            assert!(refused(new).await.is_err(), "{new:?}");
        }
        write(&db, async |tx| reports::insert(tx, &corrected(2, Some(1))).await.unwrap()).await;
        let again = refused(corrected(3, Some(1))).await;
        assert!(matches!(again, Err(Error::Exists)), "{again:?}: version 1 was replaced before");
        write(&db, async |tx| reports::insert(tx, &corrected(3, Some(2))).await.unwrap()).await;
    })
    .await;
}

#[tokio::test]
async fn units_are_counted_with_those_that_took_the_place_of_another() {
    on_both(async |db| {
        let person = user(&db, "organiser@provider.example", None).await;
        let round = round(&db, "R-1").await;
        let (b, a) = (item(&db, round, 2, "B").await, item(&db, round, 1, "A").await);
        let one = participant(&db, round, laboratory(&db, "One").await, "AAA").await;
        let other = participant(&db, round, laboratory(&db, "Other").await, "BBB").await;
        let assigned = |number, to| Event::Assigned { number, to };
        write(&db, async |tx| {
            for (item, event) in [
                (a.id, Event::Made { count: 40 }),
                (a.id, assigned(1, one)),
                (a.id, assigned(2, other)),
                (a.id, Event::Void { number: 1, reason: "Broken.".to_owned() }),
                (a.id, assigned(3, one)),
                (b.id, Event::Made { count: 30 }),
            ] {
                unit_events::insert(tx, UnitEventId(id()), item, &event, person, at("10:00")).await.unwrap();
            }
        })
        .await;

        let totals = unit_events::totals(&mut db.read().await.unwrap(), round).await.unwrap();

        let shown: Vec<_> = totals.iter().map(|t| (t.item.as_str(), t.made, t.replaced)).collect();
        assert_eq!(shown, [("A", 40, 1), ("B", 30, 0)]);
    })
    .await;
}

#[tokio::test]
async fn everybody_who_had_a_report_is_told_of_the_one_that_took_its_place() {
    on_both(async |db| {
        let (round, person) = published(&db).await;
        let one = participant(&db, round, laboratory(&db, "One").await, "AAA").await;
        let other = participant(&db, round, laboratory(&db, "Other").await, "BBB").await;
        let outside = participant(&db, round_of(&db).await, laboratory(&db, "Outside").await, "CCC").await;
        let first = NewReport { sha256: "c1", ..report(round, person, 1, Status::Final) };
        let corrected = |version, replaces, sha256, time| NewReport {
            replaces: Some(replaces),
            reason: "A factor.",
            changed: Some("[]"),
            sha256,
            at: at(time),
            ..report(round, person, version, Status::Corrected)
        };
        let (second, third) = (corrected(2, 1, "c2", "12:00"), corrected(3, 2, "b3", "13:00"));
        write(&db, async |tx| {
            for new in [first, second, third] {
                reports::insert(tx, &new).await.unwrap();
            }
            reports::insert_notices(tx, second.id, &[(one, 2), (other, 1)]).await.unwrap();
            reports::insert_notices(tx, third.id, &[(one, 0), (other, 0)]).await.unwrap();
        })
        .await;

        let mut tx = db.read().await.unwrap();
        let read = reports::notices(&mut tx, one).await.unwrap();
        let shown: Vec<_> =
            read.iter().map(|n| (n.version, n.replaces, n.reason.as_str(), n.changed.as_deref(), n.at())).collect();
        assert_eq!(shown, [(3, 2, "A factor.", Some("[]"), at("13:00")), (2, 1, "A factor.", Some("[]"), at("12:00"))]);
        assert!(reports::notices(&mut tx, outside).await.unwrap().is_empty());
        let told = |version, laboratories, messages| reports::Told { version, laboratories, messages };
        assert_eq!(reports::told(&mut tx, round).await.unwrap(), [told(2, 2, 3), told(3, 2, 0)]);
        let superseded = reports::superseded(&mut tx).await.unwrap();
        let superseded: Vec<_> = superseded.iter().map(|one| (one.sha256.as_str(), one.since())).collect();
        assert_eq!(superseded, [("c1", at("12:00")), ("c2", at("13:00"))]);
        drop(tx);

        let mut tx = db.write().await.unwrap();
        let again = reports::insert_notices(&mut tx, second.id, &[(one, 1)]).await;
        assert!(matches!(again, Err(Error::Exists)), "{again:?}");
    })
    .await;
}

#[tokio::test]
async fn a_notice_is_kept_of_each_of_very_many_laboratories() {
    on_both(async |db| {
        let (round, person) = published(&db).await;
        // More than two statements take, and some left over.
        let mut told = Vec::new();
        for number in 0..70_i64 {
            let name = format!("Laboratory {number}");
            let code = format!("L{number:05}");
            told.push((participant(&db, round, laboratory(&db, &name).await, &code).await, number));
        }
        let first = report(round, person, 1, Status::Final);
        let second =
            NewReport { replaces: Some(1), reason: "A factor.", ..report(round, person, 2, Status::Corrected) };
        write(&db, async |tx| {
            for new in [first, second] {
                reports::insert(tx, &new).await.unwrap();
            }
            reports::insert_notices(tx, second.id, &told).await.unwrap();
        })
        .await;

        let mut tx = db.read().await.unwrap();
        // 0 + 1 + … + 69 messages.
        let all = reports::Told { version: 2, laboratories: 70, messages: 69 * 70 / 2 };
        assert_eq!(reports::told(&mut tx, round).await.unwrap(), [all]);
        for (laboratory, _) in &told {
            let read = reports::notices(&mut tx, *laboratory).await.unwrap();
            let shown: Vec<_> = read.iter().map(|n| (n.version, n.replaces, n.reason.as_str())).collect();
            assert_eq!(shown, [(2, 1, "A factor.")]);
        }
    })
    .await;
}

async fn round_of(db: &Db) -> RoundId {
    round(db, "R-2").await
}
