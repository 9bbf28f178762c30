//! Proposals of pastes and files.

use crate::sample::{at, id, laboratory, participant, round, user, write};
use roundel_domain::draft::Changes;
use roundel_domain::id::{ParticipantId, ProposalId, UserId};
use roundel_domain::result::Typed;
use roundel_store::Db;
use roundel_store::proposals::{self, NewProposal, Proposal};
use roundel_store::testing::on_both;

fn typed(fields: &[(&str, &str)]) -> Typed {
    Typed(fields.iter().map(|(field, text)| ((*field).to_owned(), (*text).to_owned())).collect())
}

fn changes() -> Changes {
    Changes([("1.v1".to_owned(), ("old".to_owned(), "12,5".to_owned()))].into())
}

/// Two laboratories in a round, with a person each.
async fn two(db: &Db) -> [(ParticipantId, UserId); 2] {
    let round = round(db, "QW-1").await;
    let first = laboratory(db, "Fernhill Water Laboratory").await;
    let second = laboratory(db, "Oakmere Analytics").await;
    [
        (participant(db, round, first, "22222X").await, user(db, "a@laboratory.example", Some(first)).await),
        (participant(db, round, second, "33333Y").await, user(db, "b@laboratory.example", Some(second)).await),
    ]
}

async fn made(db: &Db, (participant, by): (ParticipantId, UserId), kind: &str, time: &str) -> ProposalId {
    let id = ProposalId(id());
    let new = NewProposal {
        id,
        participant,
        kind,
        item: "A",
        name: "results.csv",
        typed: &typed(&[("1.v1", "12,5")]),
        notes: "{}",
        content: b"with errors",
        draft_version: 3,
        at: at(time),
        by,
    };
    write(db, async |tx| proposals::insert(tx, &new).await.unwrap()).await;
    id
}

async fn found(db: &Db, participant: ParticipantId, id: ProposalId) -> Option<Proposal> {
    proposals::of_participant(&mut db.read().await.unwrap(), participant, id).await.unwrap()
}

#[tokio::test]
async fn a_proposal_is_its_participants_own() {
    on_both(async |db| {
        let [own, other] = two(&db).await;
        let id = made(&db, own, "paste", "11:00").await;

        let proposal = found(&db, own.0, id).await.unwrap();

        assert_eq!(
            (proposal.kind.as_str(), proposal.item.as_str(), proposal.name.as_str()),
            ("paste", "A", "results.csv")
        );
        assert_eq!(proposal.typed().unwrap(), typed(&[("1.v1", "12,5")]));
        assert_eq!((proposal.notes.as_str(), proposal.draft_version, proposal.made_at()), ("{}", 3, at("11:00")));
        assert_eq!((proposal.taken_at(), proposal.undone_at()), (None, None));
        assert_eq!(proposal.changes().unwrap(), Changes::default());
        assert!(found(&db, other.0, id).await.is_none());
        assert!(found(&db, own.0, ProposalId(crate::sample::id())).await.is_none());
    })
    .await;
}

#[tokio::test]
async fn a_proposal_is_taken_once_and_undone_once() {
    on_both(async |db| {
        let [own, _] = two(&db).await;
        let id = made(&db, own, "file", "11:00").await;
        let undo = async |time| write(&db, async |tx| proposals::undo(tx, id, at(time)).await.unwrap()).await;
        let take = async |time| {
            let before = changes();
            write(&db, async |tx| proposals::take(tx, id, &before, at(time)).await.unwrap()).await
        };

        assert!(!undo("11:01").await, "there is nothing to undo");
        assert!(take("11:02").await);
        assert!(!take("11:03").await);
        assert!(undo("11:04").await);
        assert!(!undo("11:05").await);

        let proposal = found(&db, own.0, id).await.unwrap();
        assert_eq!((proposal.taken_at(), proposal.undone_at()), (Some(at("11:02")), Some(at("11:04"))));
        assert_eq!(proposal.changes().unwrap(), changes());
    })
    .await;
}

#[tokio::test]
async fn a_refused_file_is_kept_for_a_time_and_for_its_laboratory() {
    on_both(async |db| {
        let [own, other] = two(&db).await;
        let refused = made(&db, own, "refused", "11:00").await;
        let taken = made(&db, own, "file", "11:00").await;
        let file = async |participant, id, since| {
            proposals::refused_file(&mut db.read().await.unwrap(), participant, id, at(since)).await.unwrap()
        };

        let kept = ("results.csv".to_owned(), b"with errors".to_vec());
        assert_eq!(file(own.0, refused, "10:59").await, Some(kept));
        assert_eq!(file(own.0, refused, "11:00").await, None, "its time is over");
        assert_eq!(file(other.0, refused, "10:59").await, None);
        assert_eq!(file(own.0, taken, "10:59").await, None);
    })
    .await;
}

#[tokio::test]
async fn a_new_proposal_takes_the_place_of_the_old_ones() {
    on_both(async |db| {
        let [own, other] = two(&db).await;
        let first = made(&db, own, "paste", "11:00").await;
        let of_other = made(&db, other, "paste", "11:00").await;
        let old_file = made(&db, other, "refused", "10:00").await;
        let new_file = made(&db, other, "refused", "10:30").await;

        write(&db, async |tx| proposals::delete(tx, own.0, at("10:00")).await.unwrap()).await;

        assert!(found(&db, own.0, first).await.is_none());
        assert!(found(&db, other.0, of_other).await.is_some());
        assert!(found(&db, other.0, old_file).await.is_none(), "refused files go after their time");
        assert!(found(&db, other.0, new_file).await.is_some());
    })
    .await;
}
