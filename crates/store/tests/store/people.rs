//! The people of a laboratory, their rights, and whom they invite.

use crate::sample::{at, id, invitation, laboratory, participant, round, user, write};
use roundel_domain::access::{Actor, Rights};
use roundel_domain::id::{LaboratoryId, TokenId, UserId};
use roundel_store::accounts::{self, NewInvitation};
use roundel_store::people::{self, Return};
use roundel_store::testing::on_both;
use roundel_store::tokens::{self, NewToken};
use roundel_store::{Db, participants};

async fn seen(db: &Db, lab: LaboratoryId) -> Vec<(String, Rights, bool)> {
    let people = people::of_laboratory(&mut db.read().await.unwrap(), lab).await.unwrap();
    people.iter().map(|person| (person.email.clone(), person.rights(), person.is_active())).collect()
}

#[tokio::test]
async fn the_rights_of_a_person_change_for_its_own_laboratory_only() {
    on_both(async |db| {
        let lab = laboratory(&db, "Fernhill Water Laboratory").await;
        let other = laboratory(&db, "Harbour Analytics").await;
        let chemist = user(&db, "chemist@laboratory.example", Some(lab)).await;
        user(&db, "elsewhere@laboratory.example", Some(other)).await;

        let changed = write(&db, async |tx| {
            people::hold(tx, lab).await.unwrap();
            let own = people::set_rights(tx, lab, chemist, Rights::Enter).await.unwrap();
            let foreign = people::set_rights(tx, other, chemist, Rights::Read).await.unwrap();
            let nobody = people::set_rights(tx, lab, UserId(id()), Rights::Read).await.unwrap();
            (own, foreign, nobody)
        })
        .await;

        assert_eq!(changed, (true, false, false));
        assert_eq!(seen(&db, lab).await, [("chemist@laboratory.example".to_owned(), Rights::Enter, true)]);
        let mut tx = db.read().await.unwrap();
        let found = accounts::by_id(&mut tx, chemist).await.unwrap().unwrap();
        assert_eq!(found.actor(), Actor::Laboratory { user: chemist, laboratory: lab, rights: Rights::Enter });
        let listed = people::of_laboratory(&mut tx, lab).await.unwrap();
        assert_eq!((listed[0].id, listed[0].name.as_str()), (chemist, "Ada Sample"));
        assert_eq!((listed[0].created_at(), listed[0].ended_at()), (at("08:00"), None));
    })
    .await;
}

#[tokio::test]
async fn access_that_ends_takes_sessions_and_tokens_along_and_leaves_the_name() {
    on_both(async |db| {
        let round_id = round(&db, "QW-1").await;
        let lab = laboratory(&db, "Fernhill Water Laboratory").await;
        participant(&db, round_id, lab, "L-1").await;
        let chemist = user(&db, "chemist@laboratory.example", Some(lab)).await;
        let stays = user(&db, "stays@laboratory.example", Some(lab)).await;
        write(&db, async |tx| {
            for (who, session, token) in [(chemist, b"session 1", b"token 1"), (stays, b"session 2", b"token 2")] {
                accounts::begin_session(tx, session, who, "form", at("09:00"), at("20:00")).await.unwrap();
                let new = NewToken {
                    id: TokenId(id()),
                    token_hash: token,
                    user: who,
                    name: "Bench system",
                    may_change: true,
                    at: at("09:00"),
                    expires_at: at("20:00"),
                };
                tokens::insert(tx, &new).await.unwrap();
            }
        })
        .await;
        let open = async |session: &[u8], token: &[u8]| {
            let mut tx = db.read().await.unwrap();
            let session = accounts::session(&mut tx, session, at("11:00")).await.unwrap().is_some();
            (session, tokens::shown(&mut tx, token, at("11:00")).await.unwrap().is_some())
        };
        assert_eq!(open(b"session 1", b"token 1").await, (true, true));

        // The end alone is enough for both.
        let ended = write(&db, async |tx| {
            let first = people::end(tx, lab, chemist, at("10:00")).await.unwrap();
            (first, people::end(tx, lab, chemist, at("10:30")).await.unwrap())
        })
        .await;
        assert_eq!(ended, (true, false), "once is enough");
        assert_eq!(open(b"session 1", b"token 1").await, (false, false));
        assert_eq!(open(b"session 2", b"token 2").await, (true, true), "a colleague's stay");
        let mut tx = db.read().await.unwrap();
        let person = accounts::by_email(&mut tx, "chemist@laboratory.example").await.unwrap().unwrap();
        assert_eq!((person.name.as_str(), person.has_ended()), ("Ada Sample", true));
        let people = people::of_laboratory(&mut tx, lab).await.unwrap();
        let ended: Vec<_> = people.iter().filter_map(people::Person::ended_at).collect();
        assert_eq!(ended, [at("10:00")]);
        let written_to = accounts::of_round(&mut tx, round_id).await.unwrap();
        assert_eq!(written_to.len(), 1, "nothing is sent to who has left: {written_to:?}");
        assert_eq!(participants::enrolled(&mut tx, round_id).await.unwrap()[0].people, 1);
        drop(tx);

        // Who comes back does not find the old session and the old token open again.
        write(&db, async |tx| {
            accounts::end_sessions_of(tx, chemist).await.unwrap();
            tokens::revoke_all(tx, chemist, at("10:00")).await.unwrap();
            let back = Return { user: chemist, name: "Ada Reed", password_hash: "$new", rights: Rights::Read };
            assert!(people::take_back(tx, lab, &back).await.unwrap());
            assert!(!people::take_back(tx, lab, &back).await.unwrap(), "only who had left");
        })
        .await;
        assert_eq!(open(b"session 1", b"token 1").await, (false, false));
        assert_eq!(open(b"session 2", b"token 2").await, (true, true));
        let mut tx = db.read().await.unwrap();
        let person = accounts::by_id(&mut tx, chemist).await.unwrap().unwrap();
        assert_eq!((person.name.as_str(), person.password_hash.as_str()), ("Ada Reed", "$new"));
        assert!(!person.has_ended());
        assert_eq!(person.actor(), Actor::Laboratory { user: chemist, laboratory: lab, rights: Rights::Read });
    })
    .await;
}

#[tokio::test]
async fn a_laboratory_whose_only_person_left_has_nobody() {
    on_both(async |db| {
        let lab = laboratory(&db, "Fernhill Water Laboratory").await;
        let chemist = user(&db, "chemist@laboratory.example", Some(lab)).await;

        write(&db, async |tx| people::end(tx, lab, chemist, at("10:00")).await.unwrap()).await;

        assert!(!accounts::has_people(&mut db.read().await.unwrap(), lab).await.unwrap());
    })
    .await;
}

#[tokio::test]
async fn a_laboratory_wants_a_second_person_or_not() {
    on_both(async |db| {
        let lab = laboratory(&db, "Fernhill Water Laboratory").await;
        let other = laboratory(&db, "Harbour Analytics").await;
        assert!(!people::wants_second(&mut db.read().await.unwrap(), lab).await.unwrap());

        let changed = write(&db, async |tx| {
            let first = people::want_second(tx, lab, true).await.unwrap();
            (first, people::want_second(tx, lab, true).await.unwrap())
        })
        .await;

        assert_eq!(changed, (true, false), "what was so before is no change");
        let mut tx = db.read().await.unwrap();
        assert!(people::wants_second(&mut tx, lab).await.unwrap());
        assert!(!people::wants_second(&mut tx, other).await.unwrap());
    })
    .await;
}

#[tokio::test]
async fn who_is_invited_by_address_is_listed_once_until_the_invitation_ends() {
    on_both(async |db| {
        let lab = laboratory(&db, "Fernhill Water Laboratory").await;
        let other = laboratory(&db, "Harbour Analytics").await;
        let chemist = user(&db, "chemist@laboratory.example", Some(lab)).await;
        let to = |hash, laboratory, email, end: &str| NewInvitation {
            email: Some(email),
            rights: Rights::Enter,
            by: Some(chemist),
            ..invitation(hash, laboratory, at(end))
        };
        write(&db, async |tx| {
            accounts::invite(tx, &to(b"one", lab, "new@laboratory.example", "12:00"), at("09:00")).await.unwrap();
            accounts::invite(tx, &to(b"two", lab, "new@laboratory.example", "13:00"), at("09:30")).await.unwrap();
            accounts::invite(tx, &to(b"three", lab, "old@laboratory.example", "10:00"), at("09:00")).await.unwrap();
            accounts::invite(tx, &to(b"four", other, "new@laboratory.example", "12:00"), at("09:00")).await.unwrap();
            accounts::invite(tx, &invitation(b"five", lab, at("12:00")), at("09:00")).await.unwrap();
            // That of the organiser has an end of its own.
            accounts::end_invitations(tx, lab, at("11:00")).await.unwrap();
        })
        .await;

        let mut tx = db.read().await.unwrap();
        let invited = people::invited(&mut tx, lab, at("11:30")).await.unwrap();
        assert_eq!(invited.len(), 1, "{invited:?}");
        assert_eq!((invited[0].email.as_str(), invited[0].rights()), ("new@laboratory.example", Rights::Enter));
        assert_eq!((invited[0].inviter(), invited[0].until()), (Some(chemist), at("13:00")));
        assert_eq!(invited[0].inviter_name.as_deref(), Some("Ada Sample"));
        let found = accounts::invitation(&mut tx, b"two", at("11:30")).await.unwrap().unwrap();
        assert_eq!((found.email.as_str(), found.is_personal()), ("new@laboratory.example", true));
        assert_eq!((found.rights(), found.laboratory_id), (Rights::Enter, lab));
        assert!(accounts::invitation(&mut tx, b"five", at("11:30")).await.unwrap().is_none());
        drop(tx);

        let withdrawn = write(&db, async |tx| {
            let first = people::withdraw(tx, lab, "new@laboratory.example", at("11:30")).await.unwrap();
            (first, people::withdraw(tx, lab, "new@laboratory.example", at("11:31")).await.unwrap())
        })
        .await;
        assert_eq!(withdrawn, (true, false));
        let mut tx = db.read().await.unwrap();
        assert!(people::invited(&mut tx, lab, at("11:31")).await.unwrap().is_empty());
        assert!(accounts::invitation(&mut tx, b"one", at("11:31")).await.unwrap().is_none());
        assert_eq!(people::invited(&mut tx, other, at("11:31")).await.unwrap().len(), 1);
        drop(tx);

        write(&db, async |tx| people::withdraw_all_of(tx, chemist, at("11:40")).await.unwrap()).await;
        let mut tx = db.read().await.unwrap();
        assert!(people::invited(&mut tx, other, at("11:40")).await.unwrap().is_empty(), "who invited has left");
    })
    .await;
}
