//! Decisions on measurands as a whole.

use crate::sample::{at, id, item, measurand, round, user, write};
use roundel_domain::id::DecisionId;
use roundel_domain::judgement::{Judgement, Kind, Topic};
use roundel_domain::number::{Decimal, Range};
use roundel_store::measurand_decisions;
use roundel_store::testing::on_both;

#[tokio::test]
async fn decisions_are_read_as_they_were_written_oldest_first() {
    on_both(async |db| {
        let by = user(&db, "reed@quillmere.example", None).await;
        let round = round(&db, "R-1").await;
        let item = item(&db, round, 1, "A").await;
        let measurand = measurand(&db, round, &item, 1, "nitrate").await;
        let number = Decimal::parse("1.20", Range::Positive).unwrap();
        let first = Judgement {
            topic: Topic::Homogeneity,
            kind: Kind::AddUncertainty,
            number: Some(number),
            reason: "Units differ.".to_owned(),
        };
        let second = Judgement { topic: Topic::Shape, kind: Kind::AsPlanned, number: None, reason: "One.".to_owned() };

        write(&db, async |tx| {
            for (judgement, time) in [(&second, "11:00"), (&first, "10:00")] {
                let id = DecisionId(id());
                measurand_decisions::insert(tx, id, measurand, judgement, by, at(time)).await.unwrap();
            }
        })
        .await;

        let read = measurand_decisions::of_round(&mut db.read().await.unwrap(), round).await.unwrap();
        let judged: Vec<Judgement> = read.iter().map(|one| one.judgement().unwrap()).collect();
        assert_eq!(judged, [first, second]);
        assert_eq!((read[0].measurand, read[0].at(), read[0].by.as_str()), (measurand, at("10:00"), "Ada Sample"));
    })
    .await;
}
