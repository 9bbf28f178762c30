//! People, sessions, invitations.

use crate::sample::{at, id, invitation, laboratory, participant, round, user, write};
use roundel_domain::access::{Actor, Duty, Rights, Standing};
use roundel_domain::id::UserId;
use roundel_store::accounts::{self, NewUser};
use roundel_store::testing::on_both;
use roundel_store::{Db, Error};

#[tokio::test]
async fn a_person_is_found_by_address_and_acts_for_a_laboratory_or_as_organiser() {
    on_both(async |db| {
        let lab = laboratory(&db, "Fernhill Water Laboratory").await;
        let chemist = user(&db, "chemist@laboratory.example", Some(lab)).await;
        let organiser = user(&db, "organiser@provider.example", None).await;

        let mut tx = db.read().await.unwrap();
        let found = accounts::by_email(&mut tx, "chemist@laboratory.example").await.unwrap().unwrap();
        assert_eq!(found.id, chemist);
        assert_eq!(found.name, "Ada Sample");
        assert_eq!(found.password_hash, "$argon2id$kept");
        assert_eq!(found.actor(), Actor::Laboratory { user: chemist, laboratory: lab, rights: Rights::Submit });
        let found = accounts::by_email(&mut tx, "organiser@provider.example").await.unwrap().unwrap();
        assert_eq!(found.actor(), Actor::Organiser { user: organiser });
        assert!(accounts::by_email(&mut tx, "nobody@laboratory.example").await.unwrap().is_none());
    })
    .await;
}

#[tokio::test]
async fn one_address_has_one_account() {
    on_both(async |db| {
        user(&db, "chemist@laboratory.example", None).await;

        let mut tx = db.write().await.unwrap();
        let again = NewUser {
            id: UserId(id()),
            email: "chemist@laboratory.example",
            name: "Another",
            password_hash: "x",
            standing: Standing::Staff(Duty::Organiser),
        };
        let answer = accounts::insert(&mut tx, &again, at("09:00")).await;

        assert!(matches!(answer, Err(Error::Exists)), "{answer:?}");
    })
    .await;
}

async fn session_at(db: &Db, token: &[u8], time: &str) -> Option<accounts::Session> {
    accounts::session(&mut db.read().await.unwrap(), token, at(time)).await.unwrap()
}

#[tokio::test]
async fn a_session_knows_its_person_until_it_ends() {
    on_both(async |db| {
        let lab = laboratory(&db, "Fernhill Water Laboratory").await;
        let chemist = user(&db, "chemist@laboratory.example", Some(lab)).await;
        write(&db, async |tx| {
            accounts::begin_session(tx, b"first", chemist, "form", at("09:00"), at("12:00")).await.unwrap();
            accounts::begin_session(tx, b"second", chemist, "other", at("09:00"), at("12:00")).await.unwrap();
        })
        .await;

        let session = session_at(&db, b"first", "11:59").await.unwrap();
        assert_eq!(session.actor(), Actor::Laboratory { user: chemist, laboratory: lab, rights: Rights::Submit });
        assert_eq!((session.email.as_str(), session.name.as_str()), ("chemist@laboratory.example", "Ada Sample"));
        assert_eq!(session.laboratory_name.as_deref(), Some("Fernhill Water Laboratory"));
        assert_eq!(session.form_token, "form");
        assert!(session_at(&db, b"first", "12:00").await.is_none(), "its time is over");
        assert!(session_at(&db, b"third", "10:00").await.is_none(), "never begun");

        write(&db, async |tx| accounts::end_session(tx, b"first").await.unwrap()).await;
        assert!(session_at(&db, b"first", "10:00").await.is_none(), "signed out");
        assert!(session_at(&db, b"second", "10:00").await.is_some(), "another session of the same person");
    })
    .await;
}

#[tokio::test]
async fn an_organisers_session_has_no_laboratory() {
    on_both(async |db| {
        let organiser = user(&db, "organiser@provider.example", None).await;
        write(&db, async |tx| {
            accounts::begin_session(tx, b"token", organiser, "form", at("09:00"), at("12:00")).await.unwrap();
        })
        .await;

        let session = session_at(&db, b"token", "10:00").await.unwrap();

        assert_eq!(session.actor(), Actor::Organiser { user: organiser });
        assert_eq!(session.laboratory_name, None);
    })
    .await;
}

#[tokio::test]
async fn sessions_that_have_ended_are_forgotten_and_counted() {
    on_both(async |db| {
        let person = user(&db, "organiser@provider.example", None).await;
        write(&db, async |tx| {
            for (token, end) in [(b"a", "10:00"), (b"b", "11:00"), (b"c", "12:00")] {
                accounts::begin_session(tx, token, person, "form", at("09:00"), at(end)).await.unwrap();
            }
        })
        .await;

        let forgotten = write(&db, async |tx| accounts::forget_ended_sessions(tx, at("11:00")).await.unwrap()).await;

        assert_eq!(forgotten, 2);
        assert!(session_at(&db, b"b", "09:30").await.is_none());
        assert!(session_at(&db, b"c", "11:30").await.is_some());
    })
    .await;
}

async fn invitation_at(db: &Db, token: &[u8], time: &str) -> Option<accounts::Invitation> {
    accounts::invitation(&mut db.read().await.unwrap(), token, at(time)).await.unwrap()
}

#[tokio::test]
async fn an_invitation_names_its_laboratory_and_is_used_once_and_in_time() {
    on_both(async |db| {
        let lab = laboratory(&db, "Fernhill Water Laboratory").await;
        write(&db, async |tx| accounts::invite(tx, &invitation(b"link", lab, at("12:00")), at("09:00")).await.unwrap())
            .await;

        let open = invitation_at(&db, b"link", "11:00").await.unwrap();
        assert_eq!(open.laboratory_id, lab);
        assert_eq!(open.name, "Fernhill Water Laboratory");
        assert_eq!(open.email, "fernhill-water-laboratory@laboratory.example");
        assert_eq!(open.expires_at(), at("12:00"));
        assert!(invitation_at(&db, b"link", "12:00").await.is_none(), "its time is over");
        assert!(invitation_at(&db, b"guess", "11:00").await.is_none());

        let used = write(&db, async |tx| {
            let late = accounts::use_invitation(tx, b"link", at("12:00")).await.unwrap();
            let first = accounts::use_invitation(tx, b"link", at("11:00")).await.unwrap();
            let second = accounts::use_invitation(tx, b"link", at("11:00")).await.unwrap();
            (late, first, second)
        })
        .await;
        assert_eq!(used, (false, true, false));
        assert!(invitation_at(&db, b"link", "11:00").await.is_none(), "used up");
    })
    .await;
}

#[tokio::test]
async fn a_newer_invitation_ends_the_older_ones_of_that_laboratory_only() {
    on_both(async |db| {
        let lab = laboratory(&db, "Fernhill Water Laboratory").await;
        let other = laboratory(&db, "Harbour Analytics").await;
        write(&db, async |tx| {
            accounts::invite(tx, &invitation(b"old", lab, at("12:00")), at("09:00")).await.unwrap();
            accounts::invite(tx, &invitation(b"other", other, at("12:00")), at("09:00")).await.unwrap();

            accounts::end_invitations(tx, lab, at("10:00")).await.unwrap();
            accounts::invite(tx, &invitation(b"new", lab, at("12:00")), at("10:00")).await.unwrap();
        })
        .await;

        assert!(invitation_at(&db, b"old", "10:00").await.is_none());
        assert!(invitation_at(&db, b"new", "10:00").await.is_some());
        assert!(invitation_at(&db, b"other", "10:00").await.is_some());

        write(&db, async |tx| accounts::end_invitation(tx, b"other", at("11:00")).await.unwrap()).await;
        assert!(invitation_at(&db, b"other", "11:00").await.is_none(), "ended alone");
        assert!(invitation_at(&db, b"new", "11:00").await.is_some());
    })
    .await;
}

#[tokio::test]
async fn the_people_of_a_round_are_those_of_its_laboratories() {
    on_both(async |db| {
        let round_id = round(&db, "QW-1").await;
        let lab = laboratory(&db, "Fernhill Water").await;
        let empty = laboratory(&db, "Harbour Analytics").await;
        let elsewhere = laboratory(&db, "Mill Office").await;
        participant(&db, round_id, lab, "L-1").await;
        participant(&db, round_id, empty, "L-2").await;
        let second = user(&db, "two@laboratory.example", Some(lab)).await;
        user(&db, "one@laboratory.example", Some(lab)).await;
        user(&db, "three@laboratory.example", Some(elsewhere)).await;
        user(&db, "organiser@provider.example", None).await;

        let mut tx = db.read().await.unwrap();
        let people = accounts::of_round(&mut tx, round_id).await.unwrap();
        let read: Vec<_> = people.iter().map(|p| (p.laboratory, p.email.as_str(), p.name.as_str())).collect();
        assert_eq!(
            read,
            [(lab, "one@laboratory.example", "Ada Sample"), (lab, "two@laboratory.example", "Ada Sample")]
        );
        assert!(accounts::has_people(&mut tx, lab).await.unwrap());
        assert!(!accounts::has_people(&mut tx, empty).await.unwrap());
        assert_eq!(accounts::by_id(&mut tx, second).await.unwrap().unwrap().email, "two@laboratory.example");
        assert!(accounts::by_id(&mut tx, UserId(id())).await.unwrap().is_none());
    })
    .await;
}
