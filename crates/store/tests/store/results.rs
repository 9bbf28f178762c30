//! What laboratories sent, and what was decided on it.

use crate::sample::{at, id, item, laboratory, measurand, participant, round, user, write};
use roundel_domain::decision::{Cause, Kind};
use roundel_domain::id::{DecisionId, MeasurandId, ParticipantId, SubmissionId, UserId};
use roundel_domain::seal::SecretKey;
use roundel_store::results::{self, NewDecision, NewSent, Seal};
use roundel_store::testing::on_both;
use roundel_store::{Db, Error, keys};

fn sent(participant: ParticipantId, version: i64, once: &'static str, by: UserId) -> NewSent<'static> {
    NewSent {
        id: SubmissionId(id()),
        participant,
        version,
        once,
        document: "{\"value\": \"1.50 µg\"}\n",
        sha256: "abcdef",
        late: version > 1,
        at: at("12:00"),
        by,
        seal: None,
    }
}

async fn one_participant(db: &Db) -> (ParticipantId, UserId) {
    let round = round(db, "QW-1").await;
    let lab = laboratory(db, "Fernhill Water").await;
    (participant(db, round, lab, "L-1").await, user(db, "chemist@laboratory.example", Some(lab)).await)
}

#[tokio::test]
async fn a_sending_is_read_as_it_was_written_with_its_owner() {
    on_both(async |db| {
        let round = round(&db, "QW-1").await;
        let lab = laboratory(&db, "Fernhill Water").await;
        let person = user(&db, "chemist@laboratory.example", Some(lab)).await;
        let participant = participant(&db, round, lab, "L-1").await;
        let new = sent(participant, 1, "form", person);
        write(&db, async |tx| results::insert(tx, &new).await.unwrap()).await;

        let mut tx = db.read().await.unwrap();
        let read = results::by_id(&mut tx, new.id).await.unwrap().unwrap();
        assert_eq!((read.id, read.participant, read.version), (new.id, participant, 1));
        assert_eq!((read.document.as_str(), read.sha256.as_str()), (new.document, "abcdef"));
        assert!(read.submission().is_err(), "a text that is no submission is not taken for one");
        assert_eq!((read.late, read.submitted_at()), (false, at("12:00")));
        let owner = results::owner(&mut tx, new.id).await.unwrap().unwrap();
        assert_eq!((owner.laboratory, owner.round, owner.code.as_str()), (lab, round, "L-1"));
        assert!(results::by_id(&mut tx, SubmissionId(id())).await.unwrap().is_none());
        assert!(results::owner(&mut tx, SubmissionId(id())).await.unwrap().is_none());
    })
    .await;
}

#[tokio::test]
async fn the_seal_of_a_sending_is_read_as_it_was_written_wherever_it_is_read() {
    on_both(async |db| {
        let round = round(&db, "QW-1").await;
        let lab = laboratory(&db, "Fernhill Water").await;
        let person = user(&db, "chemist@laboratory.example", Some(lab)).await;
        let participant = participant(&db, round, lab, "L-1").await;
        let key = SecretKey::from_bytes(&[7; 32]);
        let key_id = key.public().id();
        let seal = Seal { receipt: "{\"late\":false}", key_id: &key_id, signature: "c2lnbmVk" };
        let before = sent(participant, 1, "before", person);
        let new = NewSent { seal: Some(seal), ..sent(participant, 2, "form", person) };
        write(&db, async |tx| {
            assert!(results::insert(tx, &new).await.is_err(), "a key that nobody has signs nothing");
        })
        .await;
        write(&db, async |tx| {
            assert!(keys::keep_first(tx, &key, at("08:00"), at("22:00")).await.unwrap());
            results::insert(tx, &before).await.unwrap();
            results::insert(tx, &new).await.unwrap();
        })
        .await;

        let mut tx = db.read().await.unwrap();
        let by_id = results::by_id(&mut tx, new.id).await.unwrap().unwrap();
        let all = results::of_participant(&mut tx, participant).await.unwrap();
        let newest = results::newest_of_round(&mut tx, round).await.unwrap();
        assert_eq!(by_id.seal(), Some(seal));
        assert_eq!(all.iter().map(|sent| sent.seal()).collect::<Vec<_>>(), [None, Some(seal)]);
        assert_eq!(newest[0].seal(), Some(seal));
    })
    .await;
}

#[tokio::test]
async fn neither_a_version_nor_a_form_is_stored_twice() {
    on_both(async |db| {
        let (participant, person) = one_participant(&db).await;
        let first = sent(participant, 1, "form", person);
        write(&db, async |tx| results::insert(tx, &first).await.unwrap()).await;

        for again in [sent(participant, 1, "other form", person), sent(participant, 2, "form", person)] {
            let mut tx = db.write().await.unwrap();
            let answer = results::insert(&mut tx, &again).await;
            assert!(matches!(answer, Err(Error::Exists)), "{answer:?}");
        }
        let mut tx = db.read().await.unwrap();
        assert_eq!(results::by_once(&mut tx, participant, "form").await.unwrap(), Some(first.id));
        assert_eq!(results::by_once(&mut tx, participant, "other form").await.unwrap(), None);
        assert_eq!(results::by_once(&mut tx, ParticipantId(id()), "form").await.unwrap(), None);
    })
    .await;
}

#[tokio::test]
async fn all_versions_stay_and_the_newest_of_each_participant_counts() {
    on_both(async |db| {
        let round = round(&db, "QW-1").await;
        let lab = laboratory(&db, "Fernhill Water").await;
        let other = laboratory(&db, "Harbour Analytics").await;
        let person = user(&db, "chemist@laboratory.example", Some(lab)).await;
        let busy = participant(&db, round, lab, "L-2").await;
        let calm = participant(&db, round, other, "L-1").await;
        write(&db, async |tx| {
            for new in [sent(busy, 1, "a", person), sent(busy, 2, "b", person), sent(calm, 1, "a", person)] {
                results::insert(tx, &new).await.unwrap();
            }
        })
        .await;

        let mut tx = db.read().await.unwrap();
        let own = results::of_participant(&mut tx, busy).await.unwrap();
        assert_eq!(own.iter().map(|sent| (sent.version, sent.late)).collect::<Vec<_>>(), [(1, false), (2, true)]);
        let newest = results::newest_of_round(&mut tx, round).await.unwrap();
        assert_eq!(newest.iter().map(|s| (s.participant, s.version)).collect::<Vec<_>>(), [(calm, 1), (busy, 2)]);
    })
    .await;
}

#[tokio::test]
async fn of_two_who_send_at_once_the_second_waits_and_sees_the_first() {
    on_both(async |db| {
        let (participant, person) = one_participant(&db).await;

        // Each holds the participant, looks for the newest version, sends the next.
        let mut tasks = tokio::task::JoinSet::new();
        for once in ["a", "b", "c", "d", "e", "f", "g", "h"] {
            let db = db.clone();
            tasks.spawn(async move {
                let mut tx = db.write().await?;
                results::hold(&mut tx, participant).await?;
                let version = results::of_participant(&mut tx, participant).await?.len() as i64 + 1;
                tokio::task::yield_now().await;
                results::insert(&mut tx, &sent(participant, version, once, person)).await?;
                tx.commit().await
            });
        }

        for answer in tasks.join_all().await {
            answer.expect("nobody is refused");
        }
        let all = results::of_participant(&mut db.read().await.unwrap(), participant).await.unwrap();
        assert_eq!(all.iter().map(|sent| sent.version).collect::<Vec<_>>(), [1, 2, 3, 4, 5, 6, 7, 8]);
    })
    .await;
}

fn decision(
    participant: ParticipantId,
    measurand: MeasurandId,
    exclude: bool,
    time: &str,
    by: UserId,
) -> NewDecision<'static> {
    let reason = if exclude { "wrong item, the laboratory says" } else { "the label was right" };
    NewDecision {
        id: DecisionId(id()),
        participant,
        measurand,
        kind: if exclude { Kind::Invalid } else { Kind::Keep },
        cause: Cause::Organiser,
        evidence: "item-swap:L-1:A:B\nlate:L-1",
        batch: id(),
        effect: "{}",
        reason,
        at: at(time),
        by,
    }
}

#[tokio::test]
async fn decisions_of_a_round_come_oldest_first_and_all_stay() {
    on_both(async |db| {
        let (one, two) = (round(&db, "QW-1").await, round(&db, "QW-2").await);
        let lab = laboratory(&db, "Fernhill Water").await;
        let person = user(&db, "organiser@provider.example", None).await;
        let (here, there) = (participant(&db, one, lab, "L-1").await, participant(&db, two, lab, "L-1").await);
        let item = item(&db, one, 1, "A").await;
        let measurand = measurand(&db, one, &item, 1, "Atrazine").await;
        write(&db, async |tx| {
            for new in [
                decision(here, measurand, false, "14:00", person),
                decision(here, measurand, true, "13:00", person),
                decision(there, measurand, true, "13:30", person),
            ] {
                results::decide(tx, &new).await.unwrap();
            }
        })
        .await;

        let read = results::decisions(&mut db.read().await.unwrap(), one).await.unwrap();

        let read: Vec<_> = read
            .iter()
            .map(|d| {
                (d.participant, d.measurand, d.kind().unwrap().excludes(), d.reason.as_str(), d.by.as_str(), d.at())
            })
            .collect();
        assert_eq!(
            read,
            [
                (here, measurand, true, "wrong item, the laboratory says", "Ada Sample", at("13:00")),
                (here, measurand, false, "the label was right", "Ada Sample", at("14:00")),
            ]
        );
    })
    .await;
}
