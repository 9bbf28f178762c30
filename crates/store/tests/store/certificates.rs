//! Certificates, their withdrawals, and the names on them.

use crate::sample::{at, id, laboratory, participant, round, user, write};
use roundel_domain::certificate::digest;
use roundel_domain::id::{CertificateId, EvaluationId, ParticipantId, PublicationId, RoundId, UserId};
use roundel_domain::seal::SecretKey;
use roundel_store::certificates::{self, NewCertificate};
use roundel_store::evaluations::{self, NewEvaluation};
use roundel_store::publications::{self, NewPublication};
use roundel_store::testing::on_both;
use roundel_store::{Db, Error, keys};

const KEY: [u8; 32] = [1; 32];

struct Scene {
    round: RoundId,
    by: UserId,
    participants: Vec<ParticipantId>,
}

async fn scene(db: &Db, laboratories: usize) -> Scene {
    let round = round(db, "WATER-01").await;
    let by = user(db, "organiser@office.example", None).await;
    let key = SecretKey::from_bytes(&KEY);
    write(db, async |tx| keys::keep_first(tx, &key, at("08:00"), at("23:00")).await.unwrap()).await;
    let mut participants = Vec::new();
    for number in 0..laboratories {
        let laboratory = laboratory(db, &format!("Lab {number}")).await;
        participants.push(participant(db, round, laboratory, &format!("LAB{number:02}")).await);
    }
    Scene { round, by, participants }
}

async fn publish(db: &Db, scene: &Scene, number: i64, time: &str) -> PublicationId {
    let (evaluation, publication) = (EvaluationId(id()), PublicationId(id()));
    write(db, async |tx| {
        let new = NewEvaluation {
            id: evaluation,
            round: scene.round,
            version: number,
            package: "{}",
            package_sha256: "",
            document: "{}",
            sha256: "",
            at: at(time),
            by: scene.by,
        };
        evaluations::insert(tx, &new).await.unwrap();
        let new = NewPublication {
            id: publication,
            round: scene.round,
            number,
            evaluation,
            meaning: "Released.",
            reason: "",
            notified: 0,
            at: at(time),
            by: scene.by,
        };
        publications::insert(tx, &new).await.unwrap();
    })
    .await;
    publication
}

fn certificates_of(scene: &Scene, number: i64) -> Vec<NewCertificate> {
    let of = |(place, participant): (usize, &ParticipantId)| {
        let statement = format!("{{\"place\":{place},\"version\":{number}}}");
        NewCertificate {
            id: CertificateId(id()),
            participant: *participant,
            code: format!("{number:016}{place:016}"),
            sha256: digest(&statement),
            signature: "c2lnbmF0dXJl".to_owned(),
            statement,
        }
    };
    scene.participants.iter().enumerate().map(of).collect()
}

#[tokio::test]
async fn forty_certificates_are_kept_in_one_go_and_each_is_found_by_its_code_and_its_digest() {
    on_both(async |db| {
        let scene = scene(&db, 40).await;
        let publication = publish(&db, &scene, 1, "12:00").await;
        let all = certificates_of(&scene, 1);
        let key_id = SecretKey::from_bytes(&KEY).public().id();

        write(&db, async |tx| certificates::insert(tx, publication, &key_id, at("12:00"), &all).await.unwrap()).await;

        let mut tx = db.read().await.unwrap();
        assert_eq!(certificates::publication(&mut tx, scene.round, 1).await.unwrap(), Some(publication));
        assert_eq!(certificates::publication(&mut tx, scene.round, 2).await.unwrap(), None);
        for new in &all {
            let found = certificates::by_code(&mut tx, &new.code).await.unwrap().expect("it is kept");
            assert_eq!((found.id, &found.statement, &found.sha256), (new.id, &new.statement, &new.sha256));
            assert_eq!((&found.key_id, &found.signature), (&key_id, &new.signature));
            assert_eq!((found.issued_at(), found.superseded_at(), found.withdrawn_at()), (at("12:00"), None, None));
            let same = certificates::by_digest(&mut tx, &new.sha256).await.unwrap().expect("it is kept");
            assert_eq!(same.code, new.code);
            let own = certificates::of_participant(&mut tx, new.participant, 1).await.unwrap().expect("it is kept");
            assert_eq!(own.code, new.code);
            assert!(certificates::of_participant(&mut tx, new.participant, 2).await.unwrap().is_none());
        }
        assert!(certificates::by_code(&mut tx, "0").await.unwrap().is_none());
        assert!(certificates::by_digest(&mut tx, "0").await.unwrap().is_none());
        assert!(certificates::notices(&mut tx).await.unwrap().is_empty());
        drop(tx);

        let mut tx = db.write().await.unwrap();
        let more = certificates_of(&scene, 1);
        let again = certificates::insert(&mut tx, publication, &key_id, at("13:00"), &more[..1]).await;
        assert!(matches!(again, Err(Error::Exists)), "one a participant and publication");
    })
    .await;
}

#[tokio::test]
async fn what_is_superseded_or_withdrawn_is_noticed_with_its_time() {
    on_both(async |db| {
        let scene = scene(&db, 2).await;
        let key_id = SecretKey::from_bytes(&KEY).public().id();
        let (first, second) = (certificates_of(&scene, 1), certificates_of(&scene, 2));
        for (number, time, all) in [(1, "12:00", &first), (2, "14:00", &second)] {
            let publication = publish(&db, &scene, number, time).await;
            write(&db, async |tx| certificates::insert(tx, publication, &key_id, at(time), all).await.unwrap()).await;
        }
        publish(&db, &scene, 3, "16:00").await;

        write(&db, async |tx| {
            certificates::withdraw(tx, second[1].id, "A wrong name.", scene.by, at("15:00")).await.unwrap();
        })
        .await;

        let mut tx = db.read().await.unwrap();
        let read = certificates::of_participant(&mut tx, scene.participants[1], 2).await.unwrap().unwrap();
        assert_eq!((read.superseded_at(), read.withdrawn_at()), (Some(at("16:00")), Some(at("15:00"))));
        let notices = certificates::notices(&mut tx).await.unwrap();
        let of = |new: &NewCertificate| {
            let notice = notices.iter().find(|notice| notice.sha256 == new.sha256).expect("it is noticed");
            (notice.superseded_at(), notice.withdrawn_at())
        };
        assert_eq!(notices.len(), 4);
        assert_eq!(of(&first[0]), (Some(at("14:00")), None), "since the first that took its place");
        assert_eq!(of(&second[0]), (Some(at("16:00")), None));
        assert_eq!(of(&second[1]), (Some(at("16:00")), Some(at("15:00"))));
        let digests: Vec<&str> = notices.iter().map(|notice| notice.sha256.as_str()).collect();
        assert!(digests.is_sorted(), "in no order that says whose they are: {digests:?}");
        drop(tx);

        let mut tx = db.write().await.unwrap();
        let again = certificates::withdraw(&mut tx, second[1].id, "Again.", scene.by, at("17:00")).await;
        assert!(matches!(again, Err(Error::Exists)));
    })
    .await;
}

#[tokio::test]
async fn the_newest_choice_of_a_name_counts_for_its_round() {
    on_both(async |db| {
        let scene = scene(&db, 3).await;
        let [one, two, _] = scene.participants[..] else { panic!("three participants") };
        write(&db, async |tx| {
            for (participant, by_code) in [(one, true), (two, true), (one, false), (one, true), (two, false)] {
                certificates::set_by_code(tx, id(), participant, by_code, scene.by, at("12:00")).await.unwrap();
            }
        })
        .await;

        let mut tx = db.read().await.unwrap();
        assert_eq!(certificates::by_code_only(&mut tx, scene.round).await.unwrap(), [one].into());
        assert!(certificates::by_code_only(&mut tx, RoundId(id())).await.unwrap().is_empty());
    })
    .await;
}
