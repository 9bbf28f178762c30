//! Measurands and their plans.

use crate::sample::{a_measurand, item, measurand, round, write};
use roundel_domain::measurand::Measurand;
use roundel_domain::number::Decimal;
use roundel_domain::plan::{Assigned, Estimator, Given, GivenUncertainty, Plan, SigmaPt};
use roundel_store::testing::on_both;
use roundel_store::{Error, measurands};

fn decimal(text: &str) -> Decimal {
    Decimal::from_normalised(text).expect("a normalised number")
}

fn plan() -> Plan {
    let uncertainty = GivenUncertainty::Expanded { expanded: decimal("0.60"), coverage_factor: decimal("2") };
    let assigned = Assigned::Formulation(Given { value: decimal("32.40"), uncertainty });
    Plan::new(assigned, Some(SigmaPt::Percent(decimal("25"))))
}

#[tokio::test]
async fn a_measurand_is_read_as_it_was_written_digits_and_plan_included() {
    on_both(async |db| {
        let round = round(&db, "QW-1").await;
        let item = item(&db, round, 1, "A").await;
        let full = Measurand {
            expressed_as: "free acid".to_owned(),
            decimals: 2,
            replicates: 3,
            required_loq: Some(decimal("0.250")),
            plan: Some(plan()),
            ..a_measurand(&item, 2, "µ-analyte")
        };
        let bare = a_measurand(&item, 1, "Ω-analyte");
        write(&db, async |tx| {
            measurands::insert(tx, round, &full).await.unwrap();
            measurands::insert(tx, round, &bare).await.unwrap();
        })
        .await;

        let read = measurands::of_round(&mut db.read().await.unwrap(), round).await.unwrap();

        assert_eq!(read, [bare, full], "in the order of their places");
    })
    .await;
}

#[tokio::test]
async fn an_item_has_an_analyte_once_and_another_item_has_it_too() {
    on_both(async |db| {
        let round = round(&db, "QW-1").await;
        let (a, b) = (item(&db, round, 1, "A").await, item(&db, round, 2, "B").await);
        measurand(&db, round, &a, 1, "Atrazine").await;
        measurand(&db, round, &b, 2, "Atrazine").await;

        let mut tx = db.write().await.unwrap();
        let answer = measurands::insert(&mut tx, round, &a_measurand(&a, 3, "ATRAZINE")).await;

        assert!(matches!(answer, Err(Error::Exists)), "{answer:?}");
    })
    .await;
}

#[tokio::test]
async fn a_measurand_is_taken_away_alone() {
    on_both(async |db| {
        let round = round(&db, "QW-1").await;
        let item = item(&db, round, 1, "A").await;
        let first = measurand(&db, round, &item, 1, "Atrazine").await;
        let second = measurand(&db, round, &item, 2, "Diuron").await;

        write(&db, async |tx| measurands::delete(tx, first).await.unwrap()).await;

        let left = measurands::of_round(&mut db.read().await.unwrap(), round).await.unwrap();
        assert_eq!(left.iter().map(|m| m.id).collect::<Vec<_>>(), [second]);
    })
    .await;
}

#[tokio::test]
async fn a_plan_is_written_over_and_only_where_it_belongs() {
    on_both(async |db| {
        let round = round(&db, "QW-1").await;
        let item = item(&db, round, 1, "A").await;
        let first = measurand(&db, round, &item, 1, "Atrazine").await;
        measurand(&db, round, &item, 2, "Diuron").await;
        let participants = Assigned::Participants { estimator: Estimator::AlgorithmA, fallback: None };
        let consensus = Plan::new(participants, Some(SigmaPt::Horwitz));

        write(&db, async |tx| {
            measurands::set_plan(tx, first, &plan()).await.unwrap();
            measurands::set_plan(tx, first, &consensus).await.unwrap();
        })
        .await;

        let read = measurands::of_round(&mut db.read().await.unwrap(), round).await.unwrap();
        assert_eq!(read.iter().map(|m| m.plan.clone()).collect::<Vec<_>>(), [Some(consensus), None]);
    })
    .await;
}
