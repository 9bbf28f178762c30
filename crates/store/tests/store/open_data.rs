//! Consent to open data, and its releases.

use crate::sample::{at, id, laboratory, participant, round, user, write};
use roundel_domain::id::{ConsentId, EvaluationId, ReleaseId};
use roundel_store::evaluations::{self, NewEvaluation};
use roundel_store::open_data::{self, Consent, NewRelease};
use roundel_store::testing::on_both;

fn said(all: &[Consent]) -> Vec<(String, bool, String)> {
    all.iter().map(|one| (one.code.clone(), one.given, one.at().to_string())).collect()
}

#[tokio::test]
async fn what_laboratories_say_is_kept_in_order_and_stays_with_its_round() {
    on_both(async |db| {
        let (first, other) = (round(&db, "R-1").await, round(&db, "R-2").await);
        let north = laboratory(&db, "North").await;
        let south = laboratory(&db, "South").await;
        let person = user(&db, "ada@laboratory.example", Some(north)).await;
        let [one, two] =
            [participant(&db, first, north, "AAAAAA").await, participant(&db, first, south, "BBBBBB").await];
        let elsewhere = participant(&db, other, north, "CCCCCC").await;
        for (who, given, time) in
            [(one, true, "11:00"), (two, true, "11:30"), (one, false, "12:00"), (elsewhere, true, "12:30")]
        {
            write(&db, async |tx| {
                open_data::say(tx, ConsentId(id()), who, given, person, at(time)).await.unwrap();
            })
            .await;
        }

        let mut tx = db.read().await.unwrap();
        let own = open_data::of_participant(&mut tx, one).await.unwrap();
        let all = open_data::of_round(&mut tx, first).await.unwrap();

        let line = |code: &str, given, time| (code.to_owned(), given, at(time).to_string());
        assert_eq!(said(&own), [line("AAAAAA", true, "11:00"), line("AAAAAA", false, "12:00")]);
        assert_eq!(own[0].by, "Ada Sample");
        assert_eq!(
            said(&all),
            [line("AAAAAA", true, "11:00"), line("BBBBBB", true, "11:30"), line("AAAAAA", false, "12:00")]
        );
    })
    .await;
}

#[tokio::test]
async fn the_newest_release_of_a_round_is_read() {
    on_both(async |db| {
        let (first, other) = (round(&db, "R-1").await, round(&db, "R-2").await);
        let person = user(&db, "marsh@quillmere.example", None).await;
        let evaluation = EvaluationId(id());
        let new = NewEvaluation {
            id: evaluation,
            round: first,
            version: 1,
            package: "{}",
            package_sha256: "aa",
            document: "{}",
            sha256: "bb",
            at: at("10:00"),
            by: person,
        };
        write(&db, async |tx| evaluations::insert(tx, &new).await.unwrap()).await;
        for (licence, seed, time) in [("cc0", "0a", "11:00"), ("cc-by", "0b", "12:00")] {
            let new =
                NewRelease { id: ReleaseId(id()), round: first, evaluation, licence, seed, by: person, at: at(time) };
            write(&db, async |tx| open_data::release(tx, &new).await.unwrap()).await;
        }

        let mut tx = db.read().await.unwrap();
        let newest = open_data::newest(&mut tx, first).await.unwrap().expect("a release");

        assert_eq!((newest.licence.as_str(), newest.seed.as_str()), ("cc-by", "0b"));
        assert_eq!((newest.evaluation, newest.at(), newest.by.as_str()), (evaluation, at("12:00"), "Ada Sample"));
        assert!(open_data::newest(&mut tx, other).await.unwrap().is_none());
    })
    .await;
}
