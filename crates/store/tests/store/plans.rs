//! Frozen plans, signatures, withdrawals, seals.

use crate::sample::{at, id, round, user, write};
use roundel_domain::access::Duty;
use roundel_domain::checklist::{Checklist, Heading};
use roundel_domain::frozen::Meaning;
use roundel_domain::id::{PlanId, RoundId, UserId};
use roundel_domain::round::RoundState;
use roundel_store::plans::{self, NewPlan, NewSignature};
use roundel_store::testing::on_both;
use roundel_store::{Db, Error, rounds};

async fn plan(db: &Db, round: RoundId, version: i64, by: UserId) -> PlanId {
    let plan = PlanId(id());
    let document = format!("{{\"version\":{version}}}");
    let new = NewPlan {
        id: plan,
        round,
        version,
        document: &document,
        sha256: "ab12",
        content_sha256: "cd34",
        at: at("10:00"),
        by,
    };
    write(db, async |tx| plans::insert(tx, &new).await.unwrap()).await;
    plan
}

fn signature(plan: PlanId, meaning: Meaning, by: UserId, time: &str) -> NewSignature {
    NewSignature { plan, meaning, duty: Duty::Statistician, at: at(time), by }
}

#[tokio::test]
async fn versions_and_signatures_are_kept_once_and_by_two_persons() {
    on_both(async |db| {
        let (own, other) = (round(&db, "QW-1").await, round(&db, "QW-2").await);
        let one = user(&db, "one@provider.example", None).await;
        let two = user(&db, "two@provider.example", None).await;
        let first = plan(&db, own, 1, one).await;
        let second = plan(&db, own, 2, two).await;
        plan(&db, other, 1, one).await;

        let again = NewPlan {
            id: PlanId(id()),
            round: own,
            version: 2,
            document: "{}",
            sha256: "",
            content_sha256: "",
            at: at("11:00"),
            by: one,
        };
        let mut tx = db.write().await.unwrap();
        assert!(matches!(plans::insert(&mut tx, &again).await, Err(Error::Exists)));
        drop(tx);
        write(&db, async |tx| {
            plans::sign(tx, &signature(first, Meaning::Author, one, "10:00")).await.unwrap();
            plans::sign(tx, &signature(second, Meaning::Author, two, "10:01")).await.unwrap();
            plans::sign(tx, &signature(first, Meaning::Second, two, "10:02")).await.unwrap();
        })
        .await;
        // Neither twice the same meaning, nor both by one person.
        for refused in
            [signature(first, Meaning::Second, one, "10:03"), signature(second, Meaning::Second, two, "10:03")]
        {
            let mut tx = db.write().await.unwrap();
            assert!(matches!(plans::sign(&mut tx, &refused).await, Err(Error::Exists)));
        }
        write(&db, async |tx| plans::withdraw(tx, second, one, at("12:00")).await.unwrap()).await;
        let mut tx = db.write().await.unwrap();
        assert!(matches!(plans::withdraw(&mut tx, second, two, at("12:01")).await, Err(Error::Exists)));
        drop(tx);

        let mut tx = db.read().await.unwrap();
        let all = plans::of_round(&mut tx, own).await.unwrap();
        assert_eq!(all.iter().map(|plan| plan.version).collect::<Vec<_>>(), [2, 1]);
        assert_eq!((all[0].withdrawn_at(), all[0].withdrawn_by.as_str()), (Some(at("12:00")), "Ada Sample"));
        assert_eq!((all[1].withdrawn_at(), all[1].withdrawn_by.as_str()), (None, ""));
        assert_eq!((all[1].made_at(), all[1].made_by, all[1].sha256.as_str()), (at("10:00"), one, "ab12"));
        assert_eq!((all[1].document.as_str(), all[1].content_sha256.as_str()), ("{\"version\":1}", "cd34"));
        let signed = plans::signatures(&mut tx, own).await.unwrap();
        let seen: Vec<_> = signed.iter().map(|s| (s.plan, s.meaning(), s.by, s.at())).collect();
        assert_eq!(
            seen,
            [
                (first, Meaning::Author, one, at("10:00")),
                (second, Meaning::Author, two, at("10:01")),
                (first, Meaning::Second, two, at("10:02")),
            ]
        );
        assert_eq!((signed[0].duty(), signed[0].name.as_str()), (Duty::Statistician, "Ada Sample"));
        // The list of rounds counts the signatures on the newest version.
        let counts = rounds::counts(&mut tx).await.unwrap();
        assert_eq!((counts[&own].signatures, counts[&other].signatures), (1, 0));
    })
    .await;
}

#[tokio::test]
async fn the_checklist_is_written_while_a_round_is_a_draft_and_values_are_sealed_once() {
    on_both(async |db| {
        let own = round(&db, "QW-1").await;
        let mut checklist = Checklist::default();
        checklist.set(Heading::Damage, "A spare unit is sent.\nOne each.");
        write(&db, async |tx| {
            assert_eq!(plans::checklist(tx, own).await.unwrap(), Checklist::default());
            assert!(plans::set_checklist(tx, own, &checklist).await.unwrap());
            assert!(plans::sealed(tx, own).await.unwrap().is_none());
            plans::seal(tx, own, "{\"salt\":\"00\"}", "ab12", at("11:00")).await.unwrap();
            let open = RoundState::Draft.open(at("11:00")).unwrap();
            assert!(rounds::set_state(tx, own, &RoundState::Draft, &open).await.unwrap());
        })
        .await;
        let mut tx = db.write().await.unwrap();
        assert!(!plans::set_checklist(&mut tx, own, &Checklist::default()).await.unwrap(), "it is open");
        assert_eq!(plans::checklist(&mut tx, own).await.unwrap(), checklist);
        let sealed = plans::sealed(&mut tx, own).await.unwrap().expect("sealed");
        assert_eq!((sealed.document.as_str(), sealed.sha256.as_str()), ("{\"salt\":\"00\"}", "ab12"));
        assert_eq!(sealed.at(), at("11:00"));
        assert!(matches!(plans::seal(&mut tx, own, "", "", at("12:00")).await, Err(Error::Exists)));
    })
    .await;
}

#[tokio::test]
async fn a_deadline_moves_later_while_a_round_is_open_and_from_where_it_was_read() {
    on_both(async |db| {
        let own = round(&db, "QW-1").await;
        let mut tx = db.write().await.unwrap();
        let before = rounds::by_id(&mut tx, own).await.unwrap().expect("a round").closes_at;
        let later = at("18:00");
        assert!(!rounds::move_deadline(&mut tx, own, before, later).await.unwrap(), "a draft is changed otherwise");
        let open = RoundState::Draft.open(at("11:00")).unwrap();
        assert!(rounds::set_state(&mut tx, own, &RoundState::Draft, &open).await.unwrap());
        assert!(!rounds::move_deadline(&mut tx, own, before, at("16:59")).await.unwrap(), "never earlier");
        assert!(!rounds::move_deadline(&mut tx, own, at("16:00"), later).await.unwrap(), "it was another");
        assert!(rounds::move_deadline(&mut tx, own, before, later).await.unwrap());
        assert_eq!(rounds::by_id(&mut tx, own).await.unwrap().expect("a round").closes_at, later);
        let closed = open.clone().close(at("19:00")).unwrap();
        assert!(rounds::set_state(&mut tx, own, &open, &closed).await.unwrap());
        assert!(!rounds::move_deadline(&mut tx, own, later, at("20:00")).await.unwrap(), "it is closed");
    })
    .await;
}
