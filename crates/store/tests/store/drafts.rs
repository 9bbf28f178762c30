//! Drafts and how they came about.

use crate::sample::{at, laboratory, participant, round, user, write};
use roundel_domain::result::Typed;
use roundel_store::drafts::{self, Draft};
use roundel_store::testing::on_both;

fn typed(pairs: &[(&str, &str)]) -> Typed {
    Typed(pairs.iter().map(|(field, text)| ((*field).to_owned(), (*text).to_owned())).collect())
}

#[tokio::test]
async fn a_draft_keeps_what_was_typed_letter_by_letter_and_each_saving_what_it_changed() {
    on_both(async |db| {
        let round = round(&db, "QW-1").await;
        let lab = laboratory(&db, "Fernhill Water").await;
        let one = user(&db, "chemist@laboratory.example", Some(lab)).await;
        let other = user(&db, "second@laboratory.example", Some(lab)).await;
        let participant = participant(&db, round, lab, "L-1").await;
        let first = typed(&[("1.v1", "12"), ("2.v1", "3")]);
        let newest = typed(&[("1.v1", "1,250 “µg” \\ \u{202f}'; DROP"), ("1.v1.reading", "1.250")]);

        let none = drafts::get(&mut db.read().await.unwrap(), participant).await.unwrap();
        assert_eq!((none.typed, none.version, none.saved_at), (Typed::default(), 0, None));

        write(&db, async |tx| {
            drafts::save(tx, participant, &Draft::default(), &first, (one, "page"), at("11:00")).await.unwrap();
            let before = drafts::get(tx, participant).await.unwrap();
            let version = drafts::save(tx, participant, &before, &newest, (other, "page"), at("12:00")).await.unwrap();
            assert_eq!(version, 2);
            let same = drafts::get(tx, participant).await.unwrap();
            assert_eq!(drafts::save(tx, participant, &same, &newest, (one, "page"), at("13:00")).await.unwrap(), 2);
        })
        .await;

        let mut tx = db.read().await.unwrap();
        let draft = drafts::get(&mut tx, participant).await.unwrap();
        assert_eq!((&draft.typed, draft.version, draft.saved_at), (&newest, 2, Some(at("13:00"))));
        let savings = drafts::since(&mut tx, participant, 0).await.unwrap();
        let read: Vec<_> = savings.iter().map(|saving| (saving.version, saving.by, saving.at)).collect();
        assert_eq!(read, [(1, one, at("11:00")), (2, other, at("12:00"))]);
        let mut back = draft.typed.clone();
        for saving in drafts::since(&mut tx, participant, 1).await.unwrap().iter().rev() {
            saving.changes.undo(&mut back);
        }
        assert_eq!(back, first);
    })
    .await;
}

#[tokio::test]
async fn two_savings_on_one_version_do_not_both_pass() {
    on_both(async |db| {
        let round = round(&db, "QW-1").await;
        let lab = laboratory(&db, "Fernhill Water").await;
        let person = user(&db, "chemist@laboratory.example", Some(lab)).await;
        let participant = participant(&db, round, lab, "L-1").await;
        let save = async |text: &str| {
            let mut tx = db.write().await.unwrap();
            let saved = drafts::save(
                &mut tx,
                participant,
                &Draft::default(),
                &typed(&[("1.v1", text)]),
                (person, "page"),
                at("11:00"),
            )
            .await;
            tx.commit().await.unwrap();
            saved
        };

        assert_eq!(save("12").await.unwrap(), 1);
        let mut tx = db.write().await.unwrap();
        let again = drafts::save(
            &mut tx,
            participant,
            &Draft::default(),
            &typed(&[("1.v1", "13")]),
            (person, "page"),
            at("11:01"),
        )
        .await;
        assert!(matches!(again, Err(roundel_store::Error::Exists)), "{again:?}");
        drop(tx);
        let kept = drafts::get(&mut db.read().await.unwrap(), participant).await.unwrap();
        assert_eq!(kept.typed.get("1.v1"), "12");
    })
    .await;
}
