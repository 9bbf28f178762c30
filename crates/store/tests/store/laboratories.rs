//! Laboratories.

use crate::sample::{at, id, laboratory, new_laboratory};
use roundel_domain::id::LaboratoryId;
use roundel_domain::laboratory::{Laboratory, NewLaboratory};
use roundel_store::testing::on_both;
use roundel_store::{Error, laboratories};

#[tokio::test]
async fn a_laboratory_is_read_as_it_was_written() {
    on_both(async |db| {
        let id = LaboratoryId(id());
        let new = NewLaboratory {
            organisation: Some("Mill Group".to_owned()),
            ..new_laboratory("Łódź “Ω” Wasserlabor")
        };
        let mut tx = db.write().await.unwrap();

        laboratories::insert(&mut tx, id, &new, at("09:00")).await.unwrap();

        let read = laboratories::by_id(&mut tx, id).await.unwrap();
        let NewLaboratory { name, email, organisation } = new;
        assert_eq!(read, Some(Laboratory { id, name, email, organisation }));
        assert_eq!(laboratories::by_id(&mut tx, LaboratoryId(crate::sample::id())).await.unwrap(), None);
    })
    .await;
}

#[tokio::test]
async fn names_that_differ_in_case_or_white_space_are_one_name() {
    on_both(async |db| {
        laboratory(&db, "Fernhill Water").await;

        for same in ["fernhill water", "Fernhill  WATER "] {
            let new = NewLaboratory { email: "else@laboratory.example".to_owned(), ..new_laboratory(same) };
            let mut tx = db.write().await.unwrap();
            let answer = laboratories::insert(&mut tx, LaboratoryId(id()), &new, at("09:00")).await;
            assert!(matches!(answer, Err(Error::Exists)), "{same:?}: {answer:?}");
        }
    })
    .await;
}

#[tokio::test]
async fn one_address_belongs_to_one_laboratory() {
    on_both(async |db| {
        laboratory(&db, "Fernhill Water").await;

        let new =
            NewLaboratory { email: new_laboratory("Fernhill Water").email, ..new_laboratory("Harbour Analytics") };
        let mut tx = db.write().await.unwrap();
        let answer = laboratories::insert(&mut tx, LaboratoryId(id()), &new, at("09:00")).await;

        assert!(matches!(answer, Err(Error::Exists)), "{answer:?}");
    })
    .await;
}

#[tokio::test]
async fn all_laboratories_come_by_name_without_regard_to_capitals() {
    on_both(async |db| {
        for name in ["beck Laboratory", "Alder Water", "Cove Analytics", "alder Soil"] {
            laboratory(&db, name).await;
        }

        let all = laboratories::all(&mut db.read().await.unwrap()).await.unwrap();

        let names: Vec<&str> = all.iter().map(|lab| lab.name.as_str()).collect();
        assert_eq!(names, ["alder Soil", "Alder Water", "beck Laboratory", "Cove Analytics"]);
    })
    .await;
}
