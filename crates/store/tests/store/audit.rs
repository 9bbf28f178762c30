//! The record of who did what.

use crate::sample::{at, id, user, write};
use roundel_store::audit::{self, Entry};
use roundel_store::testing::on_both;

#[tokio::test]
async fn the_record_of_a_subject_is_read_oldest_first_with_names() {
    on_both(async |db| {
        let person = user(&db, "organiser@provider.example", None).await;
        let entry =
            |time, actor, event, subject, detail| Entry { id: id(), at: at(time), actor, event, subject, detail };
        write(&db, async |tx| {
            audit::record(tx, &entry("11:00", Some(person), "round-closed", "round", "early")).await.unwrap();
            audit::record(tx, &entry("10:00", Some(person), "round-opened", "round", "")).await.unwrap();
            audit::record(tx, &entry("12:00", None, "reminder-sent", "round", "")).await.unwrap();
            audit::record(tx, &entry("10:30", Some(person), "round-opened", "another", "")).await.unwrap();
        })
        .await;

        let lines = audit::of(&mut db.read().await.unwrap(), "round").await.unwrap();

        let read: Vec<_> = lines
            .iter()
            .map(|line| (line.at(), line.actor.as_deref(), line.event.as_str(), line.detail.as_str()))
            .collect();
        assert_eq!(
            read,
            [
                (at("10:00"), Some("Ada Sample"), "round-opened", ""),
                (at("11:00"), Some("Ada Sample"), "round-closed", "early"),
                (at("12:00"), None, "reminder-sent", ""),
            ]
        );
    })
    .await;
}
