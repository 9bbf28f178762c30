//! Rounds of a laboratory with what was published.

use crate::sample::{at, id, laboratory, new_round, participant, user, write};
use roundel_domain::id::{EvaluationId, PublicationId, RoundId};
use roundel_domain::round::RoundState;
use roundel_store::evaluations::{self, NewEvaluation};
use roundel_store::publications::{self, NewPublication};
use roundel_store::testing::on_both;
use roundel_store::{Db, performance, rounds};

/// A round that closed at `time`, published `publications` times; open for none.
async fn closed(db: &Db, code: &'static str, time: &str, times: i64) -> RoundId {
    let round = RoundId(id());
    let by = user(db, &format!("{}@quillmere.example", code.to_lowercase()), None).await;
    let mut new = new_round(code);
    new.closes_at = at(time);
    let evaluation = EvaluationId(id());
    let draft = RoundState::Draft;
    let open = draft.clone().open(at("09:30")).unwrap();
    write(db, async |tx| {
        rounds::insert(tx, round, &new, at("09:00")).await.unwrap();
        assert!(rounds::set_state(tx, round, &draft, &open).await.unwrap());
    })
    .await;
    if times == 0 {
        return round;
    }
    let shut = open.clone().close(at(time)).unwrap();
    let published = shut.clone().publish(evaluation, at("20:00")).unwrap();
    let stored = NewEvaluation {
        id: evaluation,
        round,
        version: 1,
        package: code,
        package_sha256: "aa",
        document: "{}",
        sha256: "bb",
        at: at("19:00"),
        by,
    };
    write(db, async |tx| {
        evaluations::insert(tx, &stored).await.unwrap();
        assert!(rounds::set_state(tx, round, &open, &shut).await.unwrap());
        assert!(rounds::set_state(tx, round, &shut, &published).await.unwrap());
        for number in 1..=times {
            let one = NewPublication {
                id: PublicationId(id()),
                round,
                number,
                evaluation,
                meaning: "Final.",
                reason: "",
                notified: 0,
                at: at("20:00"),
                by,
            };
            publications::insert(tx, &one).await.unwrap();
        }
    })
    .await;
    round
}

#[tokio::test]
async fn a_laboratory_sees_its_own_published_rounds_whatever_its_code() {
    on_both(async |db| {
        let (own, other) = (laboratory(&db, "Alderbrook").await, laboratory(&db, "Birchmoor").await);
        let first = closed(&db, "W-1", "14:00", 1).await;
        let second = closed(&db, "W-2", "15:00", 2).await;
        let open = closed(&db, "W-3", "16:00", 0).await;
        let foreign = closed(&db, "W-4", "17:00", 1).await;
        participant(&db, first, own, "AAAAA").await;
        participant(&db, second, own, "BBBBB").await;
        participant(&db, open, own, "CCCCC").await;
        participant(&db, foreign, other, "DDDDD").await;
        participant(&db, first, other, "EEEEE").await;

        let mut tx = db.read().await.unwrap();
        let found = performance::of_laboratory(&mut tx, own, 0, 12).await.unwrap();
        let told: Vec<_> = found
            .iter()
            .map(|one| (one.round.as_str(), one.code.as_str(), one.publications, one.package.as_str(), one.closes_at()))
            .collect();
        assert_eq!(told, [("W-2", "BBBBB", 2, "W-2", at("15:00")), ("W-1", "AAAAA", 1, "W-1", at("14:00"))]);

        let earlier = performance::of_laboratory(&mut tx, own, 1, 12).await.unwrap();
        assert_eq!(earlier.iter().map(|one| one.round.as_str()).collect::<Vec<_>>(), ["W-1"]);
        let newest = performance::of_laboratory(&mut tx, own, 0, 1).await.unwrap();
        assert_eq!(newest.iter().map(|one| one.round.as_str()).collect::<Vec<_>>(), ["W-2"]);
    })
    .await;
}
