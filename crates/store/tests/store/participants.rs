//! Laboratories in rounds.

use crate::sample::{at, id, invitation, laboratory, participant, round, user, write};
use roundel_domain::id::{ParticipantId, SubmissionId};
use roundel_domain::result::Typed;
use roundel_domain::round::RoundState;
use roundel_store::drafts::{self, Draft};
use roundel_store::participants::{self, Participant};
use roundel_store::results::{self, NewSent};
use roundel_store::testing::on_both;
use roundel_store::{Error, accounts, rounds};

#[tokio::test]
async fn participants_come_by_code_with_what_is_known_of_their_laboratory() {
    on_both(async |db| {
        let round = round(&db, "QW-1").await;
        let lab = laboratory(&db, "Fernhill Water").await;
        let other = laboratory(&db, "Harbour Analytics").await;
        let late = participant(&db, round, lab, "L-9").await;
        let early = participant(&db, round, other, "L-1").await;
        let expected = |id, laboratory, code: &str, name: &str, email: &str| Participant {
            id,
            laboratory,
            code: code.to_owned(),
            name: name.to_owned(),
            email: email.to_owned(),
            organisation: None,
        };
        let first = expected(early, other, "L-1", "Harbour Analytics", "harbour-analytics@laboratory.example");
        let second = expected(late, lab, "L-9", "Fernhill Water", "fernhill-water@laboratory.example");

        let mut tx = db.read().await.unwrap();
        assert_eq!(participants::of_round(&mut tx, round).await.unwrap(), [first, second.clone()]);
        assert_eq!(participants::of_laboratory(&mut tx, round, lab).await.unwrap(), Some(second));
    })
    .await;
}

#[tokio::test]
async fn a_laboratory_has_no_part_in_a_round_it_is_not_enrolled_in() {
    on_both(async |db| {
        let (round, other) = (round(&db, "QW-1").await, round(&db, "QW-2").await);
        let lab = laboratory(&db, "Fernhill Water").await;
        participant(&db, other, lab, "L-1").await;

        let mut tx = db.read().await.unwrap();
        assert_eq!(participants::of_laboratory(&mut tx, round, lab).await.unwrap(), None);
        assert_eq!(participants::of_round(&mut tx, round).await.unwrap(), []);
    })
    .await;
}

#[tokio::test]
async fn a_laboratory_is_enrolled_once_and_a_code_given_once_in_each_round() {
    on_both(async |db| {
        let (first, second) = (round(&db, "QW-1").await, round(&db, "QW-2").await);
        let lab = laboratory(&db, "Fernhill Water").await;
        let other = laboratory(&db, "Harbour Analytics").await;
        participant(&db, first, lab, "L-1").await;
        participant(&db, second, lab, "L-1").await;

        for (laboratory, code) in [(lab, "L-2"), (other, "L-1")] {
            let mut tx = db.write().await.unwrap();
            let answer = participants::insert(&mut tx, ParticipantId(id()), first, laboratory, code, at("11:00")).await;
            assert!(matches!(answer, Err(Error::Exists)), "{code}: {answer:?}");
        }
    })
    .await;
}

#[tokio::test]
async fn an_enrolment_ends_only_while_the_round_is_a_draft() {
    on_both(async |db| {
        let round = round(&db, "QW-1").await;
        for (name, code) in [("Fernhill Water", "L-1"), ("Harbour Analytics", "L-2")] {
            let lab = laboratory(&db, name).await;
            participant(&db, round, lab, code).await;
        }

        write(&db, async |tx| {
            assert!(!participants::delete(tx, round, "L-3").await.unwrap(), "nobody has this code");
            assert!(participants::delete(tx, round, "L-1").await.unwrap());
            let open = RoundState::Open { opened_at: at("11:00") };
            rounds::set_state(tx, round, &RoundState::Draft, &open).await.unwrap();
            assert!(!participants::delete(tx, round, "L-2").await.unwrap(), "the round is open");
        })
        .await;

        let left = participants::of_round(&mut db.read().await.unwrap(), round).await.unwrap();
        assert_eq!(left.iter().map(|p| p.code.as_str()).collect::<Vec<_>>(), ["L-2"]);
    })
    .await;
}

#[tokio::test]
async fn progress_tells_of_each_participant_the_newest_sending_and_the_draft() {
    on_both(async |db| {
        let round = round(&db, "QW-1").await;
        let lab = laboratory(&db, "Fernhill Water").await;
        let other = laboratory(&db, "Harbour Analytics").await;
        let person = user(&db, "chemist@laboratory.example", Some(lab)).await;
        participant(&db, round, other, "L-1").await;
        let busy = participant(&db, round, lab, "L-2").await;
        write(&db, async |tx| {
            drafts::save(tx, busy, &Draft::default(), &Typed::default(), (person, "page"), at("11:00")).await.unwrap();
            for (version, time, late) in [(1, "12:00", false), (2, "18:00", true)] {
                let new = sent(busy, version, time, late, person);
                results::insert(tx, &new).await.unwrap();
            }
        })
        .await;

        let mut tx = db.read().await.unwrap();
        let progress = participants::progress(&mut tx, round).await.unwrap();
        let read: Vec<_> =
            progress.iter().map(|p| (p.code.as_str(), p.version, p.submitted_at(), p.late, p.drafted_at())).collect();
        assert_eq!(read, [("L-1", 0, None, false, None), ("L-2", 2, Some(at("18:00")), true, Some(at("11:00")))]);
        assert_eq!(participants::versions_of_laboratory(&mut tx, lab).await.unwrap(), [(round, 2)]);
        assert_eq!(participants::versions_of_laboratory(&mut tx, other).await.unwrap(), [(round, 0)]);
    })
    .await;
}

fn sent(
    participant: ParticipantId,
    version: i64,
    time: &str,
    late: bool,
    by: roundel_domain::id::UserId,
) -> NewSent<'static> {
    let once = if version == 1 { "first form" } else { "second form" };
    NewSent {
        id: SubmissionId(id()),
        participant,
        version,
        once,
        document: "{}",
        sha256: "0",
        late,
        at: at(time),
        by,
        seal: None,
    }
}

#[tokio::test]
async fn the_organisers_list_comes_by_name_with_people_and_open_invitations() {
    on_both(async |db| {
        let round = round(&db, "QW-1").await;
        let lab = laboratory(&db, "harbour Analytics").await;
        let other = laboratory(&db, "Fernhill Water").await;
        participant(&db, round, lab, "L-1").await;
        participant(&db, round, other, "L-2").await;
        user(&db, "one@laboratory.example", Some(lab)).await;
        user(&db, "two@laboratory.example", Some(lab)).await;
        write(&db, async |tx| {
            accounts::invite(tx, &invitation(b"used", lab, at("23:00")), at("09:00")).await.unwrap();
            accounts::use_invitation(tx, b"used", at("10:00")).await.unwrap();
            accounts::invite(tx, &invitation(b"open", other, at("12:00")), at("09:00")).await.unwrap();
        })
        .await;

        let enrolled = participants::enrolled(&mut db.read().await.unwrap(), round).await.unwrap();

        let read: Vec<_> = enrolled
            .iter()
            .map(|e| (e.laboratory, e.name.as_str(), e.code.as_str(), e.people, e.invited_until(at("11:00"))))
            .collect();
        assert_eq!(
            read,
            [(other, "Fernhill Water", "L-2", 0, Some(at("12:00"))), (lab, "harbour Analytics", "L-1", 2, None),]
        );
        assert_eq!(enrolled[0].email, "fernhill-water@laboratory.example");
        assert_eq!(enrolled[0].organisation, None);
        assert_eq!(enrolled[0].invited_until(at("12:00")), None, "its time is over");
    })
    .await;
}

#[tokio::test]
async fn a_unit_has_one_code_that_no_other_of_the_round_has() {
    on_both(async |db| {
        let round = round(&db, "QW-1").await;
        let lab = laboratory(&db, "Fernhill Water").await;
        let other = laboratory(&db, "Harbour Analytics").await;
        let first = participant(&db, round, lab, "L-2").await;
        let second = participant(&db, round, other, "L-1").await;
        let item = crate::sample::item(&db, round, 1, "A").await.id;

        write(&db, async |tx| {
            participants::set_item_code(tx, round, first, item, "3K7FWX").await.unwrap();
            participants::set_item_code(tx, round, second, item, "47JNPR").await.unwrap();
        })
        .await;
        let again = participants::set_item_code(&mut db.write().await.unwrap(), round, first, item, "9999HH").await;
        assert!(matches!(again, Err(Error::Exists)), "{again:?}");

        let mut tx = db.read().await.unwrap();
        assert_eq!(participants::item_codes(&mut tx, first).await.unwrap(), [(item, "3K7FWX".to_owned())]);
        let all = participants::all_item_codes(&mut tx, round).await.unwrap();
        let all: Vec<_> = all.iter().map(|(lab, item, code)| (lab.as_str(), item.as_str(), code.as_str())).collect();
        assert_eq!(all, [("L-1", "A", "47JNPR"), ("L-2", "A", "3K7FWX")]);
    })
    .await;
}
