//! Signed, numbered notices.

use crate::sample::{at, write};
use roundel_domain::certificate::notice::{FORMAT, Kind, Notice};
use roundel_domain::seal::SecretKey;
use roundel_store::notices::{self, Signed};
use roundel_store::testing::on_both;
use roundel_store::{Error, keys};

#[tokio::test]
async fn notices_come_back_as_they_were_signed_and_a_number_is_given_once() {
    on_both(async |db| {
        let key = SecretKey::from_bytes(&[7; 32]);
        let signed = |number: i64, kind| {
            let notice = Notice {
                format: FORMAT.to_owned(),
                number,
                kind,
                since: at("10:00"),
                made_at: at("11:00"),
                key_id: key.public().id(),
                sha256: vec!["ab".repeat(32)],
            };
            let statement = notice.text();
            let signature = key.sign(statement.as_bytes()).to_base64();
            Signed { number, statement, key_id: notice.key_id, signature }
        };
        let (one, two) = (signed(1, Kind::CertificatesSuperseded), signed(2, Kind::ReportsSuperseded));
        write(&db, async |tx| {
            keys::keep_first(tx, &key, at("08:00"), at("20:00")).await.unwrap();
            notices::insert(tx, &two).await.unwrap();
            notices::insert(tx, &one).await.unwrap();
        })
        .await;

        let mut tx = db.read().await.unwrap();
        assert_eq!(notices::all(&mut tx).await.unwrap(), [one, two.clone()]);
        assert_eq!(notices::by_number(&mut tx, 2).await.unwrap(), Some(two.clone()));
        assert_eq!(two.notice().unwrap().kind, Kind::ReportsSuperseded);
        assert_eq!(notices::by_number(&mut tx, 3).await.unwrap(), None);
        drop(tx);
        let again = notices::insert(&mut db.write().await.unwrap(), &signed(2, Kind::CertificatesWithdrawn)).await;
        assert!(matches!(again, Err(Error::Exists)), "{again:?}");
    })
    .await;
}
