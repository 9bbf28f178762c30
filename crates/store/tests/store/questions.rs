//! Questions, requests after closing, and what became of them.

use crate::sample::{at, id, laboratory, participant, round, user, write};
use roundel_domain::id::{ParticipantId, QuestionId, RequestId, RoundId, UserId};
use roundel_domain::request::{Kind, Ruling};
use roundel_store::questions::{self, State};
use roundel_store::rulings::{self, NewRequest, Ruled};
use roundel_store::testing::on_both;
use roundel_store::{Db, Error};

struct Scene {
    round: RoundId,
    other: RoundId,
    first: ParticipantId,
    second: ParticipantId,
    elsewhere: ParticipantId,
    person: UserId,
    organiser: UserId,
}

/// Two laboratories in one round, one of them in another round too.
async fn scene(db: &Db) -> Scene {
    let (one, other) = (round(db, "QW-1").await, round(db, "QW-2").await);
    let lab = laboratory(db, "Fernhill Water").await;
    let second = laboratory(db, "Harbour Analytics").await;
    Scene {
        round: one,
        other,
        first: participant(db, one, lab, "L-1").await,
        second: participant(db, one, second, "L-2").await,
        elsewhere: participant(db, other, lab, "M-1").await,
        person: user(db, "chemist@laboratory.example", Some(lab)).await,
        organiser: user(db, "organiser@provider.example", None).await,
    }
}

#[tokio::test]
async fn a_question_is_open_until_it_is_answered_or_closed_and_then_for_good() {
    on_both(async |db| {
        let scene = scene(&db).await;
        let ids: Vec<QuestionId> = (0..4).map(|_| QuestionId(id())).collect();
        write(&db, async |tx| {
            let asked = [
                (scene.first, "Which?\nA or B?", "10:00"),
                (scene.second, "When?", "10:01"),
                (scene.first, "Why?", "10:02"),
            ];
            for (id, (participant, text, time)) in ids.iter().zip(asked) {
                questions::insert(tx, *id, participant, text, scene.person, at(time)).await.unwrap();
            }
            questions::insert(tx, ids[3], scene.elsewhere, "There?", scene.person, at("10:03")).await.unwrap();
        })
        .await;
        assert_eq!(questions::open(&mut db.read().await.unwrap(), scene.round).await.unwrap(), 3);

        write(&db, async |tx| {
            questions::answer(tx, ids[0], Some("A."), scene.organiser, at("11:00")).await.unwrap();
            questions::answer(tx, ids[2], None, scene.organiser, at("11:01")).await.unwrap();
        })
        .await;
        for again in [Some("B."), None] {
            let mut tx = db.write().await.unwrap();
            let answer = questions::answer(&mut tx, ids[0], again, scene.organiser, at("12:00")).await;
            assert!(matches!(answer, Err(Error::Exists)), "{answer:?}");
        }

        let mut tx = db.read().await.unwrap();
        let all = questions::of_round(&mut tx, scene.round).await.unwrap();
        assert_eq!(all.iter().map(|question| question.id).collect::<Vec<_>>(), [ids[2], ids[0], ids[1]]);
        assert_eq!(all[0].state, State::Closed { at: at("11:01") });
        assert_eq!(all[1].state, State::Answered { text: "A.".to_owned(), at: at("11:00") });
        assert_eq!((&all[2].state, all[2].participant, all[2].asked_at), (&State::Open, scene.second, at("10:01")));
        assert_eq!(questions::open(&mut tx, scene.round).await.unwrap(), 1);
        let read = questions::by_id(&mut tx, scene.round, ids[0]).await.unwrap().unwrap();
        assert_eq!((read.text.as_str(), &read), ("Which?\nA or B?", &all[1]));
        assert_eq!(questions::by_id(&mut tx, scene.other, ids[0]).await.unwrap(), None, "it is of another round");
        assert_eq!(questions::open(&mut tx, scene.other).await.unwrap(), 1);
    })
    .await;
}

#[tokio::test]
async fn a_request_is_decided_once_and_read_with_its_decision() {
    on_both(async |db| {
        let scene = scene(&db).await;
        let ids: Vec<RequestId> = (0..3).map(|_| RequestId(id())).collect();
        write(&db, async |tx| {
            let made = [
                (scene.first, Kind::Correction, "10:00"),
                (scene.second, Kind::LateResult, "10:01"),
                (scene.elsewhere, Kind::Other, "10:02"),
            ];
            for (id, (participant, kind, time)) in ids.iter().zip(made) {
                let new = NewRequest { id: *id, participant, kind, reason: "Swapped.", by: scene.person };
                rulings::request(tx, &new, at(time)).await.unwrap();
            }
        })
        .await;
        assert_eq!(rulings::open(&mut db.read().await.unwrap(), scene.round).await.unwrap(), 2);

        write(&db, async |tx| {
            let ruling = Ruling::TranscriptionFault;
            rulings::rule(tx, ids[0], ruling, "Sheet 4.", scene.organiser, at("11:00")).await.unwrap();
        })
        .await;
        let mut tx = db.write().await.unwrap();
        let again = rulings::rule(&mut tx, ids[0], Ruling::NotAccepted, "", scene.organiser, at("12:00")).await;
        assert!(matches!(again, Err(Error::Exists)), "{again:?}");
        drop(tx);

        let mut tx = db.read().await.unwrap();
        let all = rulings::of_round(&mut tx, scene.round).await.unwrap();
        assert_eq!(
            all.iter().map(|request| (request.id, request.code.as_str())).collect::<Vec<_>>(),
            [(ids[0], "L-1"), (ids[1], "L-2")]
        );
        let ruled = Ruled { ruling: Ruling::TranscriptionFault, evidence: "Sheet 4.".to_owned(), at: at("11:00") };
        assert_eq!(all[0].ruled().unwrap(), Some(ruled.clone()));
        assert_eq!(
            (all[1].kind, all[1].reason.as_str(), all[1].made_at()),
            (Kind::LateResult, "Swapped.", at("10:01"))
        );
        assert_eq!((all[1].ruled().unwrap(), all[1].participant), (None, scene.second));
        assert_eq!(rulings::open(&mut tx, scene.round).await.unwrap(), 1);
        let read = rulings::by_id(&mut tx, scene.round, ids[0]).await.unwrap().unwrap();
        assert_eq!(read.ruled().unwrap(), Some(ruled));
        assert!(rulings::by_id(&mut tx, scene.other, ids[0]).await.unwrap().is_none());
    })
    .await;
}
