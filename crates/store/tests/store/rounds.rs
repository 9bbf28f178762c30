//! Rounds and their items.

use crate::sample::{
    a_measurand, an_item, at, id, item, laboratory, measurand, new_round, participant, round, user, write,
};
use roundel_domain::asks::{Arrival, Asks};
use roundel_domain::id::{EvaluationId, RoundId, SubmissionId};
use roundel_domain::plan::{Assigned, Plan};
use roundel_domain::round::{NewRound, Round, RoundState};
use roundel_store::evaluations::{self, NewEvaluation};
use roundel_store::results::{self, NewSent};
use roundel_store::testing::on_both;
use roundel_store::{Db, Error, measurands, rounds};

async fn read(db: &Db, id: RoundId) -> Round {
    rounds::by_id(&mut db.read().await.unwrap(), id).await.unwrap().expect("a round that was written")
}

#[tokio::test]
async fn a_round_is_read_as_it_was_written_by_id_and_by_code_in_any_case() {
    on_both(async |db| {
        let id = round(&db, "QW-1").await;

        let mut tx = db.read().await.unwrap();
        let NewRound { code, title, scheme, instructions, time_zone, closes_at } = new_round("QW-1");
        let written = Round {
            id,
            code,
            title,
            scheme,
            instructions,
            time_zone,
            closes_at,
            asks: Asks::default(),
            state: RoundState::Draft,
        };
        assert_eq!(rounds::by_id(&mut tx, id).await.unwrap(), Some(written.clone()));
        assert_eq!(rounds::by_code(&mut tx, "QW-1").await.unwrap(), Some(written.clone()));
        assert_eq!(rounds::by_code(&mut tx, "qw-1").await.unwrap(), Some(written));
        assert_eq!(rounds::by_code(&mut tx, "QW-2").await.unwrap(), None);
        assert_eq!(rounds::by_id(&mut tx, RoundId(crate::sample::id())).await.unwrap(), None);
    })
    .await;
}

#[tokio::test]
async fn a_code_is_taken_once_in_whatever_case() {
    on_both(async |db| {
        round(&db, "QW-1").await;
        let second = round(&db, "QW-2").await;

        let mut tx = db.write().await.unwrap();
        let answer = rounds::insert(&mut tx, RoundId(id()), &new_round("qw-1"), at("09:00")).await;
        assert!(matches!(answer, Err(Error::Exists)), "{answer:?}");
        drop(tx);

        let mut tx = db.write().await.unwrap();
        let answer = rounds::update(&mut tx, second, &new_round("Qw-1")).await;
        assert!(matches!(answer, Err(Error::Exists)), "{answer:?}");
    })
    .await;
}

#[tokio::test]
async fn a_round_that_is_held_keeps_its_state_until_the_holder_is_done() {
    on_both(async |db| {
        let id = round(&db, "QW-1").await;
        let open = RoundState::Open { opened_at: at("09:00") };
        let mut holder = db.write().await.unwrap();
        assert!(rounds::hold(&mut holder, id, &RoundState::Draft).await.unwrap());
        assert!(!rounds::hold(&mut holder, id, &open).await.unwrap());

        let (other, next) = (db.clone(), open.clone());
        let opening = tokio::spawn(async move {
            write(&other, async |tx| rounds::set_state(tx, id, &RoundState::Draft, &next).await.unwrap()).await
        });
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
        assert!(!opening.is_finished(), "the opening waits for the holder");
        holder.commit().await.unwrap();

        assert!(opening.await.unwrap());
        assert_eq!(read(&db, id).await.state, open);
    })
    .await;
}

#[tokio::test]
async fn the_text_of_a_round_changes_only_while_it_is_a_draft() {
    on_both(async |db| {
        let id = round(&db, "QW-1").await;
        let new = NewRound { title: "Traces in lake water".to_owned(), closes_at: at("18:00"), ..new_round("QW-01") };

        assert!(write(&db, async |tx| rounds::update(tx, id, &new).await.unwrap()).await);
        let changed = read(&db, id).await;
        assert_eq!((changed.code.as_str(), changed.title.as_str()), ("QW-01", "Traces in lake water"));
        assert_eq!(changed.closes_at, at("18:00"));

        let open = RoundState::Open { opened_at: at("11:00") };
        write(&db, async |tx| rounds::set_state(tx, id, &RoundState::Draft, &open).await.unwrap()).await;
        assert!(!write(&db, async |tx| rounds::update(tx, id, &new_round("QW-9")).await.unwrap()).await);
        assert_eq!(read(&db, id).await.code, "QW-01");
    })
    .await;
}

#[tokio::test]
async fn each_state_is_read_with_what_is_true_in_it() {
    on_both(async |db| {
        let id = round(&db, "QW-1").await;
        let evaluation = EvaluationId(crate::sample::id());
        let mut state = RoundState::Draft;
        let steps: [&dyn Fn(RoundState) -> RoundState; 3] =
            [&|state| state.open(at("11:00")).unwrap(), &|state| state.close(at("12:00")).unwrap(), &|state| {
                state.publish(evaluation, at("13:00")).unwrap()
            }];

        for step in steps {
            let next = step(state.clone());
            assert!(write(&db, async |tx| rounds::set_state(tx, id, &state, &next).await.unwrap()).await);
            assert_eq!(read(&db, id).await.state, next);
            assert!(
                !write(&db, async |tx| rounds::set_state(tx, id, &state, &next).await.unwrap()).await,
                "the second of two who take the same step is told"
            );
            state = next;
        }
    })
    .await;
}

#[tokio::test]
async fn rounds_come_newest_deadline_first() {
    on_both(async |db| {
        for (code, closes) in [("B", "12:00"), ("A", "12:00"), ("C", "15:00"), ("D", "09:00")] {
            let new = NewRound { closes_at: at(closes), ..new_round(code) };
            write(&db, async |tx| rounds::insert(tx, RoundId(id()), &new, at("08:00")).await.unwrap()).await;
        }

        let all = rounds::all(&mut db.read().await.unwrap()).await.unwrap();

        assert_eq!(all.iter().map(|round| round.code.as_str()).collect::<Vec<_>>(), ["C", "A", "B", "D"]);
    })
    .await;
}

#[tokio::test]
async fn earlier_rounds_of_a_scheme_are_published_ones_newest_first() {
    on_both(async |db| {
        let rounds_of = [
            ("A", "Water", "09:00", true),
            ("B", "Water", "10:00", true),
            ("C", "Water", "11:00", false),
            ("D", "Soil", "10:30", true),
            ("E", "Water", "15:00", true),
        ];
        for (code, scheme, closes, is_published) in rounds_of {
            let new = NewRound { closes_at: at(closes), scheme: scheme.to_owned(), ..new_round(code) };
            let id = RoundId(id());
            write(&db, async |tx| rounds::insert(tx, id, &new, at("08:00")).await.unwrap()).await;
            if is_published {
                let next = RoundState::Published {
                    opened_at: at("08:10"),
                    closed_at: at(closes),
                    published_at: at("16:00"),
                    evaluation: EvaluationId(crate::sample::id()),
                };
                write(&db, async |tx| rounds::set_state(tx, id, &RoundState::Draft, &next).await.unwrap()).await;
            }
        }

        let mut tx = db.read().await.unwrap();
        let codes =
            |found: Vec<roundel_domain::round::Round>| found.into_iter().map(|one| one.code).collect::<Vec<_>>();
        assert_eq!(codes(rounds::earlier(&mut tx, "Water", at("12:00"), 9).await.unwrap()), ["B", "A"]);
        assert_eq!(codes(rounds::earlier(&mut tx, "Water", at("12:00"), 1).await.unwrap()), ["B"]);
        assert!(rounds::earlier(&mut tx, "Water", at("09:00"), 9).await.unwrap().is_empty(), "before, not at");
    })
    .await;
}

#[tokio::test]
async fn a_laboratory_sees_its_rounds_but_no_drafts_and_no_others() {
    on_both(async |db| {
        let lab = laboratory(&db, "Fernhill Water").await;
        let other = laboratory(&db, "Harbour Analytics").await;
        let open = RoundState::Open { opened_at: at("11:00") };
        for (code, who, is_open) in [("OWN", lab, true), ("DRAFT", lab, false), ("OTHER", other, true)] {
            let round = round(&db, code).await;
            participant(&db, round, who, "L-1").await;
            if is_open {
                write(&db, async |tx| rounds::set_state(tx, round, &RoundState::Draft, &open).await.unwrap()).await;
            }
        }

        let own = rounds::of_laboratory(&mut db.read().await.unwrap(), lab).await.unwrap();

        assert_eq!(own.iter().map(|round| round.code.as_str()).collect::<Vec<_>>(), ["OWN"]);
    })
    .await;
}

#[tokio::test]
async fn counts_are_those_of_each_round() {
    on_both(async |db| {
        let full = round(&db, "QW-1").await;
        let empty = round(&db, "QW-2").await;
        let person = user(&db, "organiser@provider.example", None).await;
        let item = item(&db, full, 1, "A").await;
        let planned = a_measurand(&item, 1, "Atrazine");
        let absent = Plan::new(Assigned::Absent { absent_below: None }, None);
        write(&db, async |tx| {
            measurands::insert(tx, full, &planned).await.unwrap();
            measurands::set_plan(tx, planned.id, &absent).await.unwrap();
        })
        .await;
        measurand(&db, full, &item, 2, "Diuron").await;
        measurand(&db, full, &item, 3, "Simazine").await;
        for (n, name) in ["Fernhill Water", "Harbour Analytics", "Mill Laboratory"].iter().enumerate() {
            let lab = laboratory(&db, name).await;
            let participant = participant(&db, full, lab, &format!("L-{n}")).await;
            // The second laboratory revises once, the third sends nothing.
            for version in 1..=n as i64 {
                let new = NewSent {
                    id: SubmissionId(id()),
                    participant,
                    version,
                    once: &format!("once {version}"),
                    document: "{}",
                    sha256: "0",
                    late: false,
                    at: at("12:00"),
                    by: person,
                    seal: None,
                };
                write(&db, async |tx| results::insert(tx, &new).await.unwrap()).await;
            }
        }
        let evaluation = NewEvaluation {
            id: EvaluationId(id()),
            round: full,
            version: 1,
            package: "{}",
            package_sha256: "0",
            document: "{}",
            sha256: "0",
            at: at("13:00"),
            by: person,
        };
        write(&db, async |tx| evaluations::insert(tx, &evaluation).await.unwrap()).await;

        let counts = rounds::counts(&mut db.read().await.unwrap()).await.unwrap();

        let of = |id| {
            let c = counts[&id];
            (c.measurands, c.without_plan, c.participants, c.submitted, c.evaluations)
        };
        assert_eq!(of(full), (3, 2, 3, 2, 1));
        assert_eq!(of(empty), (0, 0, 0, 0, 0));
    })
    .await;
}

#[tokio::test]
async fn items_come_in_their_order_and_one_label_is_one_item() {
    on_both(async |db| {
        let round = round(&db, "QW-1").await;
        let second = item(&db, round, 2, "B").await;
        let first = item(&db, round, 1, "A").await;

        assert_eq!(rounds::items(&mut db.read().await.unwrap(), round).await.unwrap(), [first, second]);
        let mut tx = db.write().await.unwrap();
        let answer = rounds::insert_item(&mut tx, round, &an_item(3, "A")).await;
        assert!(matches!(answer, Err(Error::Exists)), "{answer:?}");
    })
    .await;
}

#[tokio::test]
async fn an_item_goes_only_when_it_has_no_measurands() {
    on_both(async |db| {
        let round = round(&db, "QW-1").await;
        let (used, empty) = (item(&db, round, 1, "A").await, item(&db, round, 2, "B").await);
        measurand(&db, round, &used, 1, "Atrazine").await;

        let gone = write(&db, async |tx| {
            (rounds::delete_item(tx, used.id).await.unwrap(), rounds::delete_item(tx, empty.id).await.unwrap())
        })
        .await;

        assert_eq!(gone, (false, true));
        assert_eq!(rounds::items(&mut db.read().await.unwrap(), round).await.unwrap(), [used]);
    })
    .await;
}

#[tokio::test]
async fn what_a_round_asks_beside_results_is_fixed_when_it_opens() {
    on_both(async |db| {
        let id = round(&db, "QW-1").await;
        let asks = Asks { arrival: Arrival::Codes, method: true, ..Asks::default() };
        assert_eq!(read(&db, id).await.asks, Asks::default());

        write(&db, async |tx| assert!(rounds::set_asks(tx, id, &asks).await.unwrap())).await;
        assert_eq!(read(&db, id).await.asks, asks);

        write(&db, async |tx| {
            let open = RoundState::Draft.open(at("10:00")).unwrap();
            assert!(rounds::set_state(tx, id, &RoundState::Draft, &open).await.unwrap());
            assert!(!rounds::set_asks(tx, id, &Asks::default()).await.unwrap());
        })
        .await;
        assert_eq!(read(&db, id).await.asks, asks);
    })
    .await;
}
