//! Tokens of programs.

use crate::sample::{at, id, laboratory, user, write};
use jiff::Timestamp;
use roundel_domain::access::{Actor, Rights};
use roundel_domain::id::{TokenId, UserId};
use roundel_store::testing::on_both;
use roundel_store::tokens::{self, NewToken};
use roundel_store::{Db, Error};

async fn token(db: &Db, user: UserId, hash: &[u8], may_change: bool, made: Timestamp) -> TokenId {
    let id = TokenId(id());
    let new =
        NewToken { id, token_hash: hash, user, name: "Bench system", may_change, at: made, expires_at: at("12:00") };
    write(db, async |tx| tokens::insert(tx, &new).await.unwrap()).await;
    id
}

async fn shown(db: &Db, hash: &[u8], time: &str) -> Option<tokens::Shown> {
    tokens::shown(&mut db.read().await.unwrap(), hash, at(time)).await.unwrap()
}

#[tokio::test]
async fn a_token_acts_for_its_person_until_it_ends() {
    on_both(async |db| {
        let lab = laboratory(&db, "Fernhill Water Laboratory").await;
        let chemist = user(&db, "chemist@laboratory.example", Some(lab)).await;
        let organiser = user(&db, "organiser@provider.example", None).await;
        let first = token(&db, chemist, b"first", true, at("09:00")).await;
        token(&db, organiser, b"second", false, at("09:00")).await;

        let found = shown(&db, b"first", "11:59").await.unwrap();
        assert_eq!((found.id, found.may_change), (first, true));
        assert_eq!(found.actor(), Actor::Laboratory { user: chemist, laboratory: lab, rights: Rights::Submit });
        assert_eq!(found.person, "Ada Sample");
        assert_eq!(found.last_used_at(), None);
        let found = shown(&db, b"second", "11:59").await.unwrap();
        assert_eq!((found.actor(), found.may_change), (Actor::Organiser { user: organiser }, false));
        assert!(shown(&db, b"first", "12:00").await.is_none(), "it has ended");
        assert!(shown(&db, b"other", "09:30").await.is_none());
    })
    .await;
}

#[tokio::test]
async fn a_revoked_token_is_dead_for_good_and_only_its_owner_revokes_it() {
    on_both(async |db| {
        let chemist = user(&db, "chemist@laboratory.example", None).await;
        let other = user(&db, "other@laboratory.example", None).await;
        let id = token(&db, chemist, b"first", true, at("09:00")).await;
        let revoke =
            async |user, time| write(&db, async |tx| tokens::revoke(tx, user, id, at(time)).await.unwrap()).await;

        assert!(!revoke(other, "09:10").await);
        assert!(shown(&db, b"first", "09:11").await.is_some());
        assert!(revoke(chemist, "09:20").await);
        assert!(!revoke(chemist, "09:30").await, "once is enough");

        assert!(shown(&db, b"first", "09:25").await.is_none());
        let kept = tokens::of_user(&mut db.read().await.unwrap(), chemist).await.unwrap();
        assert_eq!(kept[0].revoked_at(), Some(at("09:20")));
        assert!(!kept[0].is_open(at("09:25")));
    })
    .await;
}

#[tokio::test]
async fn a_person_sees_tokens_newest_first_with_their_last_use() {
    on_both(async |db| {
        let chemist = user(&db, "chemist@laboratory.example", None).await;
        let other = user(&db, "other@laboratory.example", None).await;
        let first = token(&db, chemist, b"first", true, at("09:00")).await;
        let second = token(&db, chemist, b"second", false, at("09:30")).await;
        token(&db, other, b"third", false, at("09:40")).await;
        write(&db, async |tx| tokens::note_use(tx, first, at("10:00")).await.unwrap()).await;

        let kept = tokens::of_user(&mut db.read().await.unwrap(), chemist).await.unwrap();

        let seen: Vec<_> = kept.iter().map(|token| (token.id, token.may_change, token.last_used_at())).collect();
        assert_eq!(seen, [(second, false, None), (first, true, Some(at("10:00")))]);
        assert_eq!(
            (kept[0].name.as_str(), kept[0].created_at(), kept[0].expires_at()),
            ("Bench system", at("09:30"), at("12:00"))
        );
        assert!(kept[0].is_open(at("11:00")) && !kept[0].is_open(at("12:00")));
        assert_eq!(shown(&db, b"first", "10:30").await.unwrap().last_used_at(), Some(at("10:00")));
    })
    .await;
}

#[tokio::test]
async fn one_hash_is_one_token() {
    on_both(async |db| {
        let chemist = user(&db, "chemist@laboratory.example", None).await;
        token(&db, chemist, b"first", true, at("09:00")).await;
        let new = NewToken {
            id: TokenId(id()),
            token_hash: b"first",
            user: chemist,
            name: "Again",
            may_change: true,
            at: at("09:00"),
            expires_at: at("12:00"),
        };

        let answer = tokens::insert(&mut db.write().await.unwrap(), &new).await;

        assert!(matches!(answer, Err(Error::Exists)), "{answer:?}");
    })
    .await;
}
