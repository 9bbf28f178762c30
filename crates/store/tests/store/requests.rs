//! Keys of requests.

use crate::sample::{at, id, user, write};
use roundel_domain::id::TokenId;
use roundel_store::requests::{self, Asked, Known};
use roundel_store::testing::on_both;
use roundel_store::tokens::{self, NewToken};
use roundel_store::{Db, Tx};
use uuid::Uuid;

async fn token(db: &Db) -> TokenId {
    let user = user(db, "chemist@laboratory.example", None).await;
    let token = TokenId(id());
    let new = NewToken {
        id: token,
        token_hash: b"first",
        user,
        name: "Bench system",
        may_change: true,
        at: at("09:00"),
        expires_at: at("12:00"),
    };
    write(db, async |tx| tokens::insert(tx, &new).await.unwrap()).await;
    token
}

async fn claim(tx: &mut Tx, token: TokenId, owner: Uuid, key: &str) -> bool {
    let asked = Asked { owner, key, token, target: "POST /a", body_sha256: "00ff", at: at("10:00") };
    requests::claim(tx, &asked).await.unwrap()
}

#[tokio::test]
async fn a_key_is_taken_once_and_gives_its_answer_again() {
    on_both(async |db| {
        let token = token(&db).await;
        let (owner, other) = (id(), id());
        write(&db, async |tx| {
            assert!(claim(tx, token, owner, "key-1").await);
            requests::answer(tx, owner, "key-1", 201, "/receipts/1", "{\"version\":1}").await.unwrap();
        })
        .await;

        write(&db, async |tx| {
            assert!(!claim(tx, token, owner, "key-1").await);
            assert!(claim(tx, token, owner, "key-2").await, "another key");
            assert!(claim(tx, token, other, "key-1").await, "another owner");
            // What was answered stays as it was answered.
            requests::answer(tx, owner, "key-1", 500, "", "").await.unwrap();
        })
        .await;

        let expected = Known {
            target: "POST /a".to_owned(),
            body_sha256: "00ff".to_owned(),
            status: 201,
            location: "/receipts/1".to_owned(),
            answer: "{\"version\":1}".to_owned(),
        };
        let mut tx = db.read().await.unwrap();
        assert_eq!(requests::known(&mut tx, owner, "key-1").await.unwrap(), Some(expected));
        assert_eq!(requests::known(&mut tx, owner, "key-3").await.unwrap(), None);
    })
    .await;
}

#[tokio::test]
async fn a_key_of_a_transaction_that_failed_is_free() {
    on_both(async |db| {
        let token = token(&db).await;
        let owner = id();
        {
            let mut tx = db.write().await.unwrap();
            assert!(claim(&mut tx, token, owner, "key-1").await);
        }
        write(&db, async |tx| assert!(claim(tx, token, owner, "key-1").await)).await;
    })
    .await;
}

#[tokio::test]
async fn one_of_many_at_once_takes_the_key() {
    on_both(async |db| {
        let token = token(&db).await;
        let owner = id();
        let tasks: Vec<_> = (0..20)
            .map(|_| {
                let db = db.clone();
                tokio::spawn(async move {
                    let mut tx = db.write().await.unwrap();
                    let taken = claim(&mut tx, token, owner, "key-1").await;
                    tx.commit().await.unwrap();
                    taken
                })
            })
            .collect();
        let mut taken = 0;
        for task in tasks {
            taken += usize::from(task.await.unwrap());
        }
        assert_eq!(taken, 1);
    })
    .await;
}
