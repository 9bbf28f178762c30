//! Long work, and the smallest group of methods that is shown.

use crate::sample::{at, id, round, user, write};
use roundel_domain::id::{JobId, RoundId, UserId};
use roundel_store::jobs::{self, Kind, State};
use roundel_store::testing::on_both;
use roundel_store::{Db, Error, group_limits};

async fn scene(db: &Db) -> (RoundId, UserId) {
    (round(db, "QW-1").await, user(db, "organiser@provider.example", None).await)
}

async fn a_job(db: &Db, round: RoundId, by: UserId, kind: Kind, time: &str) -> JobId {
    let job = JobId(id());
    write(db, async |tx| jobs::insert(tx, job, kind, round, by, at(time)).await.unwrap()).await;
    job
}

#[tokio::test]
async fn a_job_is_held_by_one_copy_until_its_time_is_over() {
    on_both(async |db| {
        let (round, by) = scene(&db).await;
        let job = a_job(&db, round, by, Kind::Evaluation, "10:00").await;

        let mut tx = db.write().await.unwrap();
        assert_eq!(jobs::due(&mut tx, at("09:59")).await.unwrap(), None);
        assert_eq!(jobs::due(&mut tx, at("10:00")).await.unwrap(), Some((job, at("10:00"))));
        assert!(jobs::claim(&mut tx, job, at("10:00"), at("10:02")).await.unwrap());
        assert!(!jobs::claim(&mut tx, job, at("10:00"), at("10:03")).await.unwrap(), "another copy was faster");
        assert_eq!(jobs::due(&mut tx, at("10:01")).await.unwrap(), None);
        assert!(jobs::renew(&mut tx, job, at("10:02"), at("10:04"), 3).await.unwrap());
        assert!(!jobs::renew(&mut tx, job, at("10:02"), at("10:05"), 3).await.unwrap(), "it is not held until then");
        // The copy dies: whoever looks after its time goes on.
        assert_eq!(jobs::due(&mut tx, at("10:04")).await.unwrap(), Some((job, at("10:04"))));
        assert!(jobs::claim(&mut tx, job, at("10:04"), at("10:06")).await.unwrap());
        assert!(!jobs::end(&mut tx, job, at("10:04"), None, at("10:05")).await.unwrap(), "the dead copy ends nothing");
        assert!(jobs::end(&mut tx, job, at("10:06"), None, at("10:05")).await.unwrap());
        tx.commit().await.unwrap();

        let mut tx = db.read().await.unwrap();
        let ended = jobs::by_id(&mut tx, job).await.unwrap().unwrap();
        assert_eq!((ended.state, ended.ended_at(), ended.parts), (State::Done, Some(at("10:05")), 3));
        assert_eq!((ended.kind, ended.round, ended.made_by), (Kind::Evaluation, round, by));
        assert_eq!((ended.by.as_str(), ended.made_at(), ended.problem), ("Ada Sample", at("10:00"), None));
        assert_eq!(jobs::due(&mut tx, at("23:00")).await.unwrap(), None);
    })
    .await;
}

#[tokio::test]
async fn parts_are_kept_when_a_job_is_cancelled_or_fails_and_goes_on() {
    on_both(async |db| {
        let (round, by) = scene(&db).await;
        let job = a_job(&db, round, by, Kind::Certificates, "10:00").await;
        write(&db, async |tx| {
            jobs::claim(tx, job, at("10:00"), at("10:02")).await.unwrap();
            for (part, name) in [(1, "one"), (0, "nought")] {
                jobs::keep_part(tx, job, part, name, name.as_bytes(), at("10:01")).await.unwrap();
            }
        })
        .await;

        let again = jobs::keep_part(&mut db.write().await.unwrap(), job, 1, "one", b"", at("10:01")).await;
        assert!(matches!(again, Err(Error::Exists)), "{again:?}");
        let mut tx = db.write().await.unwrap();
        assert!(!jobs::resume(&mut tx, job, at("10:01")).await.unwrap(), "it goes on already");
        assert!(jobs::cancel(&mut tx, job, at("10:01")).await.unwrap());
        assert!(!jobs::cancel(&mut tx, job, at("10:01")).await.unwrap());
        assert!(
            !jobs::renew(&mut tx, job, at("10:02"), at("10:05"), 2).await.unwrap(),
            "whoever holds it learns of it"
        );
        assert_eq!(jobs::due(&mut tx, at("11:00")).await.unwrap(), None);
        assert!(jobs::resume(&mut tx, job, at("11:00")).await.unwrap());
        assert_eq!(jobs::due(&mut tx, at("11:00")).await.unwrap(), Some((job, at("11:00"))));
        jobs::claim(&mut tx, job, at("11:00"), at("11:02")).await.unwrap();
        assert!(jobs::end(&mut tx, job, at("11:02"), Some("No paper."), at("11:01")).await.unwrap());
        tx.commit().await.unwrap();

        let mut tx = db.write().await.unwrap();
        let failed = jobs::by_id(&mut tx, job).await.unwrap().unwrap();
        assert_eq!((failed.state, failed.problem.as_deref(), failed.done), (State::Failed, Some("No paper."), 2));
        let parts = jobs::parts(&mut tx, job).await.unwrap();
        let parts: Vec<_> = parts.iter().map(|part| (part.part, part.name.as_str(), part.content.as_slice())).collect();
        assert_eq!(parts, [(0, "nought", b"nought".as_slice()), (1, "one", b"one")]);
        assert_eq!(jobs::parts_done(&mut tx, job).await.unwrap(), [0, 1]);
        assert_eq!(jobs::part(&mut tx, job, 1).await.unwrap().unwrap().name, "one");
        assert!(jobs::part(&mut tx, job, 2).await.unwrap().is_none());
        assert!(jobs::resume(&mut tx, job, at("11:05")).await.unwrap());
        assert_eq!(jobs::by_id(&mut tx, job).await.unwrap().unwrap().problem, None);
        jobs::drop_parts(&mut tx, job).await.unwrap();
        assert!(jobs::parts_done(&mut tx, job).await.unwrap().is_empty());
    })
    .await;
}

#[tokio::test]
async fn jobs_are_listed_with_the_newest_first() {
    on_both(async |db| {
        let (one, by) = scene(&db).await;
        let other = round(&db, "QW-2").await;
        let first = a_job(&db, one, by, Kind::Evaluation, "10:00").await;
        let second = a_job(&db, other, by, Kind::Evaluation, "10:01").await;
        let third = a_job(&db, one, by, Kind::Certificates, "10:02").await;

        let mut tx = db.read().await.unwrap();
        let ids = |jobs: Vec<jobs::Job>| jobs.into_iter().map(|job| job.id).collect::<Vec<_>>();
        assert_eq!(ids(jobs::newest(&mut tx, 2).await.unwrap()), [third, second]);
        assert_eq!(ids(jobs::of_round(&mut tx, one).await.unwrap()), [third, first]);
        assert!(jobs::by_id(&mut tx, JobId(id())).await.unwrap().is_none());
    })
    .await;
}

#[tokio::test]
async fn the_newest_limit_of_a_round_counts() {
    on_both(async |db| {
        let (one, by) = scene(&db).await;
        let other = round(&db, "QW-2").await;
        write(&db, async |tx| {
            group_limits::set(tx, id(), one, 7, by, at("10:00")).await.unwrap();
            group_limits::set(tx, id(), one, 6, by, at("10:01")).await.unwrap();
        })
        .await;

        let mut tx = db.read().await.unwrap();
        assert_eq!(group_limits::of_round(&mut tx, one).await.unwrap(), Some(6));
        assert_eq!(group_limits::of_round(&mut tx, other).await.unwrap(), None);
    })
    .await;
}
