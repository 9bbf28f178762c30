//! The demonstration, made on both databases by the actions that a person's
//! clicks run: the same round, with what its description says must be shown.

use jiff::Timestamp;
use roundel::demo::{self, scenario};
use roundel::evaluated::Evaluated;
use roundel::{clock::Clock, state::App};
use roundel_domain::evaluation::{Detection, ScoreEntry, Signal};
use roundel_store::{Db, evaluations, participants, rounds, testing};
use std::sync::{Arc, Mutex};

const NOW: &str = "2027-03-01T09:00:00Z";

struct Made {
    evaluated: Arc<Evaluated>,
    sent: usize,
    enrolled: usize,
    accounts: Vec<demo::Account>,
}

async fn made(db: &Db) -> Made {
    let now: Timestamp = NOW.parse().expect("an instant");
    let accounts = demo::fill(db, now, "http://127.0.0.1").await.expect("the demonstration is made");
    let app = App::new(db.clone(), Clock::default(), "http://127.0.0.1").await.expect("the service");
    let mut tx = db.read().await.expect("a database");
    let round = rounds::by_code(&mut tx, "qw-1").await.expect("a statement").expect("round QW-1");
    let progress = participants::progress(&mut tx, round.id).await.expect("a statement");
    let heads = evaluations::of_round(&mut tx, round.id).await.expect("a statement");
    let (_, published) = round.state.published().expect("QW-1 is published");
    assert_eq!(heads.iter().map(|head| head.id).collect::<Vec<_>>(), [published]);
    Made {
        evaluated: app.evaluations.load(&mut tx, published).await.expect("its evaluation"),
        sent: progress.iter().filter(|line| line.version > 0).count(),
        enrolled: progress.len(),
        accounts,
    }
}

/// The code of a laboratory of the scenario.
fn code(id: &str) -> String {
    let round = scenario::round_qw1();
    let laboratory = round.laboratories.iter().find(|l| l.id == id).expect("a laboratory of the scenario");
    laboratory.code.to_string()
}

fn score<'a>(made: &'a Made, id: &str, measurand: &str) -> &'a ScoreEntry {
    made.evaluated.score(&code(id), measurand).unwrap_or_else(|| panic!("{id} has a score for {measurand}"))
}

#[tokio::test]
async fn the_demonstration_is_the_same_on_both_databases_and_shows_its_mistakes() {
    let hashes = Mutex::new(Vec::new());

    testing::on_both(async |db| {
        let made = made(&db).await;

        assert_eq!((made.sent, made.enrolled), (39, 40));
        assert_eq!(made.accounts.len(), 41);
        // What follows is said by the scenario's description (X1, X3, X10, X11, X12, X16).
        let unit = score(&made, "P03", "B/carbamazepine");
        assert!(unit.value.expect("a value") < 1.0 && unit.signal == Signal::Action);
        let dilution = score(&made, "P07", "B/naproxen").z.expect("a z score");
        assert!((-3.9..-3.1).contains(&dilution), "z {dilution}");
        let wide = score(&made, "P13", "B/trimethoprim");
        assert_eq!((wide.below, wide.signal, wide.loq_met), (Some(100.0), Signal::NotScored, Some(false)));
        let missed = score(&made, "P26", "B/metoprolol");
        assert_eq!((missed.signal, missed.detection), (Signal::Action, Detection::FalseNegative));
        assert_eq!(score(&made, "P29", "C/amisulpride").detection, Detection::FalsePositive);
        assert_eq!(score(&made, "P31", "A/gabapentin").detection, Detection::Trace);
        let late = made.evaluated.result(&code("P19"), "B/carbamazepine").expect("a late result");
        assert_eq!(late.exclude.as_deref(), Some("Received after the deadline."));
        assert_eq!(score(&made, "P19", "B/carbamazepine").signal, Signal::None);
        hashes.lock().expect("no panic").push(made.evaluated.evaluation.package_sha256.clone());
    })
    .await;

    let hashes = hashes.into_inner().expect("no panic");
    assert!(hashes.windows(2).all(|pair| pair[0] == pair[1]), "{hashes:?}");
}
