//! The organiser's people.

use crate::sample::{at, user, write};
use roundel_domain::access::Duty;
use roundel_store::staff::{self, NewInvitation};
use roundel_store::testing::on_both;
use roundel_store::{Db, accounts};

async fn invite(db: &Db, hash: &[u8], email: &str, duty: Duty) {
    let by = accounts::by_email(&mut db.read().await.unwrap(), "office@quillmere.example").await.unwrap().unwrap().id;
    let new = NewInvitation { token_hash: hash, duty, email, by, expires_at: at("20:00") };
    write(db, async |tx| staff::invite(tx, &new, at("09:00")).await.unwrap()).await;
}

#[tokio::test]
async fn an_invitation_is_open_until_its_end_and_used_once() {
    on_both(async |db| {
        user(&db, "office@quillmere.example", None).await;
        invite(&db, b"one", "reed@quillmere.example", Duty::Statistician).await;
        invite(&db, b"two", "alder@quillmere.example", Duty::Reviewer).await;

        let mut tx = db.write().await.unwrap();
        let open = staff::invited(&mut tx, at("19:59")).await.unwrap();
        let told: Vec<_> = open.iter().map(|one| (one.email.as_str(), one.duty(), one.by.as_str())).collect();
        assert_eq!(
            told,
            [
                ("alder@quillmere.example", Duty::Reviewer, "Ada Sample"),
                ("reed@quillmere.example", Duty::Statistician, "Ada Sample")
            ]
        );
        assert_eq!(open[0].until(), at("20:00"));
        assert!(staff::invited(&mut tx, at("20:00")).await.unwrap().is_empty());
        assert!(staff::invitation(&mut tx, b"three", at("10:00")).await.unwrap().is_none());

        assert!(staff::use_invitation(&mut tx, b"one", at("10:00")).await.unwrap());
        assert!(!staff::use_invitation(&mut tx, b"one", at("10:00")).await.unwrap(), "once");
        assert_eq!(staff::withdraw(&mut tx, "alder@quillmere.example", at("10:00")).await.unwrap(), 1);
        assert!(staff::invitation(&mut tx, b"two", at("10:01")).await.unwrap().is_none());
    })
    .await;
}

#[tokio::test]
async fn access_ends_but_not_of_the_last_organiser() {
    on_both(async |db| {
        let first = user(&db, "office@quillmere.example", None).await;
        let mut tx = db.write().await.unwrap();
        assert!(!staff::end(&mut tx, first, at("10:00")).await.unwrap(), "nobody would be left");
        tx.commit().await.unwrap();
        let second = user(&db, "marsh@quillmere.example", None).await;

        let mut tx = db.write().await.unwrap();
        assert!(staff::end(&mut tx, first, at("10:00")).await.unwrap());
        assert!(!staff::end(&mut tx, first, at("10:00")).await.unwrap(), "it has ended");
        assert!(!staff::end(&mut tx, second, at("10:00")).await.unwrap(), "now the last");

        let all = staff::all(&mut tx).await.unwrap();
        let ended: Vec<_> = all.iter().map(|one| (one.email.as_str(), one.ended_at())).collect();
        assert!(ended.contains(&("office@quillmere.example", Some(at("10:00")))), "{ended:?}");
        assert!(all.iter().all(|one| one.duty() == Duty::Organiser && one.created_at() == at("08:00")));
    })
    .await;
}
