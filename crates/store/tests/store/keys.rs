//! The keys that sign.

use crate::sample::{at, write};
use roundel_domain::seal::SecretKey;
use roundel_store::keys;
use roundel_store::testing::on_both;

fn key(number: u8) -> SecretKey {
    SecretKey::from_bytes(&[number; 32])
}

#[tokio::test]
async fn the_first_key_is_kept_and_signs_and_no_second_one_is_kept() {
    on_both(async |db| {
        assert!(keys::signing(&mut db.read().await.unwrap()).await.unwrap().is_none());
        assert!(keys::all(&mut db.read().await.unwrap()).await.unwrap().is_empty());

        assert!(write(&db, async |tx| keys::keep_first(tx, &key(1), at("12:00"), at("22:00")).await.unwrap()).await);
        assert!(!write(&db, async |tx| keys::keep_first(tx, &key(2), at("13:00"), at("22:00")).await.unwrap()).await);

        let mut tx = db.read().await.unwrap();
        let signing = keys::signing(&mut tx).await.unwrap().expect("one signs");
        assert_eq!(signing.to_bytes(), [1; 32]);
        let all = keys::all(&mut tx).await.unwrap();
        assert_eq!(all.len(), 1);
        let read = keys::by_id(&mut tx, &key(1).public().id()).await.unwrap().expect("it is kept");
        assert_eq!((read.public, read.made_at, read.retired_at), (key(1).public(), at("12:00"), None));
        assert_eq!(read.id, key(1).public().id());
        assert!(keys::by_id(&mut tx, &key(2).public().id()).await.unwrap().is_none());
    })
    .await;
}

#[tokio::test]
async fn of_many_copies_that_start_at_once_one_makes_the_key() {
    on_both(async |db| {
        let mut tasks = tokio::task::JoinSet::new();
        for number in 1..=8 {
            let db = db.clone();
            tasks.spawn(async move {
                let mut tx = db.write().await.unwrap();
                let kept = keys::keep_first(&mut tx, &key(number), at("12:00"), at("22:00")).await.unwrap();
                tokio::task::yield_now().await;
                let signing = keys::signing(&mut tx).await.unwrap().expect("one signs from here on").to_bytes();
                tx.commit().await.unwrap();
                (kept, signing)
            });
        }
        let answers = tasks.join_all().await;

        assert_eq!(answers.iter().filter(|(kept, _)| *kept).count(), 1, "{answers:?}");
        assert!(answers.iter().all(|(_, signing)| *signing == answers[0].1), "{answers:?}");
        assert_eq!(keys::all(&mut db.read().await.unwrap()).await.unwrap().len(), 1);
    })
    .await;
}

#[tokio::test]
async fn after_a_key_is_retired_the_next_one_signs_and_both_are_shown() {
    on_both(async |db| {
        write(&db, async |tx| {
            keys::keep_first(tx, &key(1), at("12:00"), at("22:00")).await.unwrap();
            assert!(keys::retire(tx, at("13:00")).await.unwrap());
            assert!(!keys::retire(tx, at("14:00")).await.unwrap(), "it is retired already");
            assert!(keys::signing(tx).await.unwrap().is_none());
            assert!(keys::keep_first(tx, &key(2), at("13:00"), at("22:00")).await.unwrap());
        })
        .await;

        let mut tx = db.read().await.unwrap();
        assert_eq!(keys::signing(&mut tx).await.unwrap().expect("one signs").to_bytes(), [2; 32]);
        let all = keys::all(&mut tx).await.unwrap();
        let shown: Vec<_> = all.iter().map(|key| (key.public, key.retired_at)).collect();
        assert_eq!(shown, [(key(2).public(), None), (key(1).public(), Some(at("13:00")))]);
    })
    .await;
}

#[tokio::test]
async fn a_key_is_retired_at_the_end_that_was_planned_however_late_that_is_seen() {
    on_both(async |db| {
        write(&db, async |tx| {
            keys::keep_first(tx, &key(1), at("12:00"), at("14:00")).await.unwrap();
            assert!(!keys::retire_ended(tx, at("13:59")).await.unwrap());
            assert!(keys::retire_ended(tx, at("18:00")).await.unwrap());
            keys::keep_first(tx, &key(2), at("18:00"), at("20:00")).await.unwrap();
            assert!(keys::retire(tx, at("21:00")).await.unwrap());
            keys::keep_first(tx, &key(3), at("21:00"), at("22:00")).await.unwrap();
        })
        .await;

        let all = keys::all(&mut db.read().await.unwrap()).await.unwrap();
        let shown: Vec<_> = all.iter().map(|key| (key.retired_at, key.signs_until())).collect();
        let (first, second) = (Some(at("14:00")), Some(at("20:00")));
        assert_eq!(shown, [(None, Some(at("22:00"))), (second, second), (first, first)]);
    })
    .await;
}
