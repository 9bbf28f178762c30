//! Set-up.

use crate::sample::{at, write};
use roundel_store::installation::{self, Installation};
use roundel_store::testing::on_both;

fn provider() -> Installation {
    Installation {
        provider: "Fernhill Proficiency Testing".to_owned(),
        contact: "1 Mill Lane\nFernhill".to_owned(),
        accreditation: "not accredited".to_owned(),
        demonstration: true,
    }
}

#[tokio::test]
async fn an_installation_is_unknown_until_its_set_up_is_finished() {
    on_both(async |db| {
        assert_eq!(installation::get(&mut db.read().await.unwrap()).await.unwrap(), None);
        let offered = write(&db, async |tx| installation::offer_setup(tx, b"link", at("12:00")).await.unwrap()).await;
        assert!(offered);
        assert_eq!(installation::get(&mut db.read().await.unwrap()).await.unwrap(), None);

        let done =
            write(&db, async |tx| installation::finish_setup(tx, b"link", &provider(), at("11:00")).await.unwrap())
                .await;

        assert!(done);
        assert_eq!(installation::get(&mut db.read().await.unwrap()).await.unwrap(), Some(provider()));
    })
    .await;
}

#[tokio::test]
async fn a_set_up_link_is_open_once_in_time_and_until_the_next_one() {
    on_both(async |db| {
        write(&db, async |tx| {
            assert!(installation::offer_setup(tx, b"first", at("12:00")).await.unwrap());
            assert!(installation::setup_is_open(tx, b"first", at("11:59")).await.unwrap());
            assert!(!installation::setup_is_open(tx, b"first", at("12:00")).await.unwrap(), "its time is over");
            assert!(!installation::setup_is_open(tx, b"guess", at("11:00")).await.unwrap());

            assert!(installation::offer_setup(tx, b"second", at("13:00")).await.unwrap());
            assert!(!installation::setup_is_open(tx, b"first", at("11:00")).await.unwrap(), "replaced");
            assert!(installation::setup_is_open(tx, b"second", at("12:30")).await.unwrap());

            assert!(!installation::finish_setup(tx, b"first", &provider(), at("11:00")).await.unwrap());
            assert!(!installation::finish_setup(tx, b"second", &provider(), at("13:00")).await.unwrap());
            assert!(installation::finish_setup(tx, b"second", &provider(), at("12:30")).await.unwrap());

            assert!(!installation::setup_is_open(tx, b"second", at("12:30")).await.unwrap(), "used up");
            assert!(!installation::finish_setup(tx, b"second", &provider(), at("12:30")).await.unwrap());
            assert!(!installation::offer_setup(tx, b"third", at("14:00")).await.unwrap(), "set-up is over");
        })
        .await;
    })
    .await;
}
