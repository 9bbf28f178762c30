//! Evaluations.

use crate::sample::{at, id, round, user, write};
use roundel_domain::id::{EvaluationId, RoundId, UserId};
use roundel_store::Error;
use roundel_store::evaluations::{self, NewEvaluation};
use roundel_store::testing::on_both;

fn evaluation(round: RoundId, version: i64, by: UserId) -> NewEvaluation<'static> {
    NewEvaluation {
        id: EvaluationId(id()),
        round,
        version,
        package: "{\"package\": \"µ\"}",
        package_sha256: "aa",
        document: "{\"evaluation\": 1}\n",
        sha256: "bb",
        at: at("13:00"),
        by,
    }
}

#[tokio::test]
async fn the_evaluations_of_a_round_come_newest_first_and_their_texts_are_exact() {
    on_both(async |db| {
        let (round, other) = (round(&db, "QW-1").await, round(&db, "QW-2").await);
        let person = user(&db, "organiser@provider.example", None).await;
        let (first, second) = (evaluation(round, 1, person), evaluation(round, 2, person));
        write(&db, async |tx| {
            for new in [first, second, evaluation(other, 1, person)] {
                evaluations::insert(tx, &new).await.unwrap();
            }
        })
        .await;

        let mut tx = db.read().await.unwrap();
        let heads = evaluations::of_round(&mut tx, round).await.unwrap();
        let read: Vec<_> = heads
            .iter()
            .map(|h| (h.id, h.version, h.package_sha256.as_str(), h.sha256.as_str(), h.by.as_str(), h.at()))
            .collect();
        assert_eq!(
            read,
            [
                (second.id, 2, "aa", "bb", "Ada Sample", at("13:00")),
                (first.id, 1, "aa", "bb", "Ada Sample", at("13:00")),
            ]
        );
        let texts = evaluations::texts(&mut tx, first.id).await.unwrap().unwrap();
        assert_eq!((texts.package.as_str(), texts.document.as_str()), (first.package, first.document));
        assert!(evaluations::texts(&mut tx, EvaluationId(id())).await.unwrap().is_none());
    })
    .await;
}

#[tokio::test]
async fn a_version_is_made_once() {
    on_both(async |db| {
        let round = round(&db, "QW-1").await;
        let person = user(&db, "organiser@provider.example", None).await;
        write(&db, async |tx| evaluations::insert(tx, &evaluation(round, 1, person)).await.unwrap()).await;

        let mut tx = db.write().await.unwrap();
        let answer = evaluations::insert(&mut tx, &evaluation(round, 1, person)).await;

        assert!(matches!(answer, Err(Error::Exists)), "{answer:?}");
    })
    .await;
}
