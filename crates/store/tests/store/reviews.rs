//! What was frozen, noted, opened and asked in a review.

use crate::sample::{at, id, item, laboratory, measurand, participant, round, user, write};
use roundel_domain::id::ClarificationId;
use roundel_store::Error;
use roundel_store::clarifications::{self, NewClarification};
use roundel_store::reviews::{self, NewNote};
use roundel_store::testing::on_both;

#[tokio::test]
async fn a_raw_set_is_frozen_once() {
    on_both(async |db| {
        let (one, other) = (round(&db, "QW-1").await, round(&db, "QW-2").await);
        write(&db, async |tx| reviews::freeze(tx, one, "{\"a\":\"µ\"}", "ab12", at("12:00")).await.unwrap()).await;

        let mut tx = db.write().await.unwrap();
        let again = reviews::freeze(&mut tx, one, "{}", "cd", at("13:00")).await;
        assert!(matches!(again, Err(Error::Exists)), "{again:?}");
        drop(tx);
        let mut tx = db.read().await.unwrap();
        let read = reviews::raw_set(&mut tx, one).await.unwrap().unwrap();
        assert_eq!(
            (read.document.as_str(), read.sha256.as_str(), read.made_at()),
            ("{\"a\":\"µ\"}", "ab12", at("12:00"))
        );
        assert_eq!(reviews::raw_set(&mut tx, other).await.unwrap(), None);
    })
    .await;
}

#[tokio::test]
async fn notes_are_read_in_their_order_with_who_wrote_them() {
    on_both(async |db| {
        let (one, other) = (round(&db, "QW-1").await, round(&db, "QW-2").await);
        let person = user(&db, "statistician@provider.example", None).await;
        write(&db, async |tx| {
            for (round, kept, reason, time) in
                [(one, false, "Again.", "12:01"), (one, true, "Seen.", "12:00"), (other, true, "There.", "12:00")]
            {
                let note = NewNote { id: id(), round, finding: "late:L-1", kept, reason, at: at(time), by: person };
                reviews::note(tx, &note).await.unwrap();
            }
        })
        .await;

        let notes = reviews::notes(&mut db.read().await.unwrap(), one).await.unwrap();

        let read: Vec<_> = notes.iter().map(|n| (n.kept, n.reason.as_str(), n.by.as_str(), n.at())).collect();
        assert_eq!(read, [(true, "Seen.", "Ada Sample", at("12:00")), (false, "Again.", "Ada Sample", at("12:01"))]);
        assert!(notes.iter().all(|note| note.finding == "late:L-1"));
    })
    .await;
}

#[tokio::test]
async fn a_page_is_opened_for_the_first_time_once() {
    on_both(async |db| {
        let (one, other) = (round(&db, "QW-1").await, round(&db, "QW-2").await);
        let person = user(&db, "statistician@provider.example", None).await;
        let (a, b) = (item(&db, one, 1, "A").await, item(&db, other, 1, "A").await);
        let here = measurand(&db, one, &a, 1, "nitrate").await;
        let there = measurand(&db, other, &b, 1, "nitrate").await;
        write(&db, async |tx| {
            reviews::see(tx, here, person, at("12:00")).await.unwrap();
            reviews::see(tx, here, person, at("12:30")).await.unwrap();
            reviews::see(tx, there, person, at("12:00")).await.unwrap();
        })
        .await;

        assert_eq!(reviews::seen(&mut db.read().await.unwrap(), one).await.unwrap(), [(here, person)]);
    })
    .await;
}

#[tokio::test]
async fn a_laboratory_is_asked_and_answers_once() {
    on_both(async |db| {
        let (one, other) = (round(&db, "QW-1").await, round(&db, "QW-2").await);
        let lab = laboratory(&db, "Fernhill Water").await;
        let (staff, chemist) = (
            user(&db, "statistician@provider.example", None).await,
            user(&db, "chemist@laboratory.example", Some(lab)).await,
        );
        let asked = participant(&db, one, lab, "L-1").await;
        let ids = [ClarificationId(id()), ClarificationId(id())];
        let analytes = ["nitrate".to_owned(), "1,4-dioxane".to_owned()];
        write(&db, async |tx| {
            for (id, time) in ids.into_iter().zip(["12:00", "12:01"]) {
                let new = NewClarification {
                    id,
                    participant: asked,
                    item: "A",
                    analytes: &analytes,
                    at: at(time),
                    by: staff,
                };
                clarifications::ask(tx, &new).await.unwrap();
            }
            clarifications::answer(tx, ids[0], "In ng/L.\nYes.", chemist, at("13:00")).await.unwrap();
        })
        .await;
        let mut tx = db.write().await.unwrap();
        let again = clarifications::answer(&mut tx, ids[0], "No.", chemist, at("14:00")).await;
        assert!(matches!(again, Err(Error::Exists)), "{again:?}");
        drop(tx);

        let mut tx = db.read().await.unwrap();
        let all = clarifications::of_round(&mut tx, one).await.unwrap();
        assert_eq!(all.iter().map(|one| one.id).collect::<Vec<_>>(), ids);
        assert_eq!((all[0].code.as_str(), all[0].item.as_str(), all[0].participant), ("L-1", "A", asked));
        assert_eq!((all[0].analytes(), all[0].asked_at()), (vec!["nitrate", "1,4-dioxane"], at("12:00")));
        assert_eq!(
            (all[0].answer.as_deref(), all[0].answered_at().unwrap()),
            (Some("In ng/L.\nYes."), Some(at("13:00")))
        );
        assert_eq!((&all[1].answer, all[1].answered_at().unwrap()), (&None, None));
        assert!(clarifications::of_round(&mut tx, other).await.unwrap().is_empty());
    })
    .await;
}
