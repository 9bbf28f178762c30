//! Messages: queued, taken by one sender, sent or given up.

use crate::sample::{at, id, laboratory, round, write};
use roundel_domain::id::{LaboratoryId, MessageId, RoundId};
use roundel_store::Db;
use roundel_store::outbox::{self, Failure, Kind, Message, NewMessage, Waiting};
use roundel_store::testing::on_both;

async fn queue(db: &Db, round: RoundId, laboratory: LaboratoryId, kind: Kind, time: &str) -> MessageId {
    let id = MessageId(id());
    let (recipient, subject) = ("results@laboratory.example", "a subject");
    let new = NewMessage {
        id,
        kind,
        round: Some(round),
        laboratory: Some(laboratory),
        recipient,
        subject,
        body: "two\nlines: µg ’",
    };
    write(db, async |tx| outbox::enqueue(tx, &new, at(time)).await.unwrap()).await;
    id
}

async fn due(db: &Db, time: &str) -> Vec<Waiting> {
    outbox::due(&mut db.read().await.unwrap(), at(time), 10).await.unwrap()
}

async fn only(db: &Db, round: RoundId) -> Message {
    let all = outbox::of_round(&mut db.read().await.unwrap(), round, None, 10).await.unwrap();
    assert_eq!(all.len(), 1);
    all.into_iter().next().unwrap()
}

fn failure(lease: &str, next_try: &str, given_up: Option<&str>) -> Failure<'static> {
    Failure { lease: at(lease), error: "451 later", next_try: at(next_try), given_up: given_up.map(at) }
}

#[tokio::test]
async fn what_is_queued_is_due_at_once_oldest_first_and_is_read_as_it_was_written() {
    on_both(async |db| {
        let round = round(&db, "QW-1").await;
        let lab = laboratory(&db, "Fernhill Water").await;
        let second = queue(&db, round, lab, Kind::Receipt, "12:00").await;
        let first = queue(&db, round, lab, Kind::Invitation, "11:00").await;

        let due = due(&db, "12:00").await;
        assert_eq!(due.iter().map(|m| m.id).collect::<Vec<_>>(), [first, second]);
        let read = &due[0];
        assert_eq!((read.kind, read.round(), read.laboratory()), (Kind::Invitation, Some(round), Some(lab)));
        assert_eq!((read.recipient.as_str(), read.subject.as_str()), ("results@laboratory.example", "a subject"));
        assert_eq!((read.body.as_str(), read.attempts, read.next_try_at()), ("two\nlines: µg ’", 0, at("11:00")));

        let mut tx = db.read().await.unwrap();
        assert_eq!(outbox::due(&mut tx, at("11:30"), 10).await.unwrap().len(), 1, "the other is not due yet");
        assert_eq!(outbox::due(&mut tx, at("12:00"), 1).await.unwrap().len(), 1, "no more than asked for");
    })
    .await;
}

#[tokio::test]
async fn of_two_senders_that_saw_the_same_message_one_takes_it() {
    on_both(async |db| {
        let round = round(&db, "QW-1").await;
        let lab = laboratory(&db, "Fernhill Water").await;
        let id = queue(&db, round, lab, Kind::Receipt, "11:00").await;

        let first = write(&db, async |tx| outbox::claim(tx, id, at("11:00"), at("11:02")).await.unwrap()).await;
        let second = write(&db, async |tx| outbox::claim(tx, id, at("11:00"), at("11:02")).await.unwrap()).await;

        assert_eq!((first, second), (true, false));
        assert!(due(&db, "11:01").await.is_empty(), "it is held");
        let again = due(&db, "11:02").await;
        assert_eq!(again[0].attempts, 1, "the sender died; the attempt counts");
    })
    .await;
}

#[tokio::test]
async fn a_message_that_was_sent_is_never_due_again() {
    on_both(async |db| {
        let round = round(&db, "QW-1").await;
        let lab = laboratory(&db, "Fernhill Water").await;
        let id = queue(&db, round, lab, Kind::Reminder, "11:00").await;

        write(&db, async |tx| {
            outbox::claim(tx, id, at("11:00"), at("11:02")).await.unwrap();
            outbox::sent(tx, id, at("11:01")).await.unwrap();
            // Another, whose lease had run out, is late with its failure.
            assert!(!outbox::failed(tx, id, &failure("11:02", "11:05", None)).await.unwrap());
            assert!(!outbox::claim(tx, id, at("11:02"), at("11:04")).await.unwrap());
            assert!(!outbox::retry(tx, round, id, at("11:03")).await.unwrap());
        })
        .await;

        assert!(due(&db, "23:00").await.is_empty());
        let read = only(&db, round).await;
        assert_eq!((read.sent_at(), read.given_up_at(), read.attempts), (Some(at("11:01")), None, 1));
        assert_eq!((read.queued_at(), read.last_error), (at("11:00"), None));
        assert_eq!(read.laboratory.as_deref(), Some("Fernhill Water"));
    })
    .await;
}

#[tokio::test]
async fn a_failed_message_waits_and_one_given_up_waits_for_a_person() {
    on_both(async |db| {
        let round_id = round(&db, "QW-1").await;
        let other = round(&db, "QW-2").await;
        let lab = laboratory(&db, "Fernhill Water").await;
        let id = queue(&db, round_id, lab, Kind::Reminder, "11:00").await;
        let on_the_way =
            async || outbox::on_the_way(&mut db.read().await.unwrap(), round_id, Kind::Reminder).await.unwrap();

        write(&db, async |tx| {
            outbox::claim(tx, id, at("11:00"), at("11:02")).await.unwrap();
            assert!(outbox::failed(tx, id, &failure("11:02", "11:05", None)).await.unwrap());
        })
        .await;
        assert!(due(&db, "11:04").await.is_empty());
        assert_eq!(due(&db, "11:05").await.len(), 1);
        assert_eq!(only(&db, round_id).await.last_error.as_deref(), Some("451 later"));
        assert_eq!(on_the_way().await, [lab]);

        write(&db, async |tx| {
            outbox::claim(tx, id, at("11:05"), at("11:07")).await.unwrap();
            assert!(outbox::failed(tx, id, &failure("11:07", "11:07", Some("11:06"))).await.unwrap());
        })
        .await;
        assert!(due(&db, "23:00").await.is_empty());
        assert!(on_the_way().await.is_empty());
        assert_eq!(only(&db, round_id).await.given_up_at(), Some(at("11:06")));
        let mut tx = db.read().await.unwrap();
        assert_eq!(outbox::given_up(&mut tx, round_id).await.unwrap(), 1);
        assert_eq!(outbox::given_up(&mut tx, other).await.unwrap(), 0);
        drop(tx);

        write(&db, async |tx| {
            assert!(!outbox::retry(tx, other, id, at("12:00")).await.unwrap(), "of another round");
            assert!(outbox::retry(tx, round_id, id, at("12:00")).await.unwrap());
        })
        .await;
        let again = due(&db, "12:00").await;
        assert_eq!((again.len(), again[0].attempts), (1, 0), "with all its tries");
    })
    .await;
}

#[tokio::test]
async fn the_messages_of_a_round_come_newest_first_and_page_by_page() {
    on_both(async |db| {
        let round_id = round(&db, "QW-1").await;
        let other = round(&db, "QW-2").await;
        let lab = laboratory(&db, "Fernhill Water").await;
        let mut ids = Vec::new();
        for time in ["11:00", "11:01", "11:02"] {
            ids.push(queue(&db, round_id, lab, Kind::Receipt, time).await);
        }
        queue(&db, other, lab, Kind::Receipt, "11:03").await;
        ids.reverse();

        let mut tx = db.read().await.unwrap();
        let first = outbox::of_round(&mut tx, round_id, None, 2).await.unwrap();
        assert_eq!(first.iter().map(|m| m.id).collect::<Vec<_>>(), ids[..2]);
        let rest = outbox::of_round(&mut tx, round_id, Some(ids[1]), 2).await.unwrap();
        assert_eq!(rest.iter().map(|m| m.id).collect::<Vec<_>>(), ids[2..]);
    })
    .await;
}
