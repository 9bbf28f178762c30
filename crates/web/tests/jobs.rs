//! Long work with copies of the program that stop in the middle: what is done is
//! kept, and the evaluation that comes out is the one made in one go, byte for byte.

use jiff::SignedDuration;
use roundel::actions::{self, evaluation, evaluation::Decision};
use roundel::work::{self, LEASE};
use roundel::{clock::Clock, demo, state::App};
use roundel_domain::access::Actor;
use roundel_domain::id::JobId;
use roundel_domain::round::Round;
use roundel_store::jobs::{self, Job, Kind, State};
use roundel_store::{Db, accounts, evaluations, measurands, participants, rounds, testing};

/// Two copies of the program on one database, with one clock.
struct Copies {
    one: App,
    other: App,
    statistician: Actor,
    round: Round,
}

impl Copies {
    async fn of(db: &Db) -> Copies {
        demo::fill_unreviewed(db, "http://127.0.0.1").await.expect("the demonstration is made");
        let clock = Clock::default();
        let app = async || App::new(db.clone(), clock.clone(), "http://127.0.0.1").await.expect("the service");
        let mut tx = db.read().await.expect("a database");
        let account = accounts::by_email(&mut tx, "statistician@quillmere.example").await.expect("a statement");
        let round = rounds::by_code(&mut tx, "QW-1").await.expect("a statement").expect("the round");
        Copies { one: app().await, other: app().await, statistician: account.expect("a person").actor(), round }
    }

    async fn want(&self) -> JobId {
        let mut tx = self.one.db.write().await.expect("a database");
        let now = self.one.clock.now();
        let wanted = actions::jobs::start(&mut tx, &self.statistician, &self.round, Kind::Evaluation, now).await;
        let id = wanted.expect("the statistician may evaluate");
        let again = actions::jobs::start(&mut tx, &self.statistician, &self.round, Kind::Evaluation, now).await;
        assert_eq!(again.expect("pressed twice"), id);
        tx.commit().await.expect("a database");
        id
    }

    async fn job(&self, id: JobId) -> Job {
        let mut tx = self.one.db.read().await.expect("a database");
        jobs::by_id(&mut tx, id).await.expect("a statement").expect("the job")
    }

    /// Texts of the newest evaluation: package and document.
    async fn newest(&self) -> (String, String) {
        let mut tx = self.one.db.read().await.expect("a database");
        let heads = evaluations::of_round(&mut tx, self.round.id).await.expect("a statement");
        let texts = evaluations::texts(&mut tx, heads[0].id).await.expect("a statement").expect("texts");
        (texts.package, texts.document)
    }

    /// What is made in one go of everything as it stands now.
    async fn evaluate(&self) -> (String, String) {
        let mut tx = self.one.db.write().await.expect("a database");
        let now = self.one.clock.now();
        evaluation::evaluate(&mut tx, &self.statistician, &self.round, now).await.expect("a closed round");
        tx.commit().await.expect("a database");
        self.newest().await
    }

    async fn decide(&self) {
        let mut tx = self.one.db.write().await.expect("a database");
        let enrolled = participants::of_round(&mut tx, self.round.id).await.expect("a statement");
        let asked = measurands::of_round(&mut tx, self.round.id).await.expect("a statement");
        let decision = Decision { exclude: true, reason: "consistent with a factor of 1/10" };
        let now = self.one.clock.now();
        let (participant, measurand) = (&enrolled[0], &asked[0]);
        let decided =
            evaluation::decide(&mut tx, &self.statistician, &self.round, participant, measurand, decision, now);
        assert!(decided.await.is_ok());
        tx.commit().await.expect("a database");
    }
}

async fn some(app: &App, most: usize) -> usize {
    work::some(app, most, || false).await.expect("the database is there")
}

#[tokio::test]
async fn another_copy_goes_on_where_one_died_and_the_evaluation_is_the_same() {
    testing::on_both(async |db| {
        let copies = Copies::of(&db).await;
        let id = copies.want().await;

        // One copy makes the package and four measurands, and dies.
        assert_eq!(some(&copies.one, 5).await, 5);
        let job = copies.job(id).await;
        assert_eq!((job.state, job.done, job.parts), (State::Waiting, 5, 73));
        assert_eq!(some(&copies.other, usize::MAX).await, 0, "it is held still");
        copies.one.clock.advance(LEASE + SignedDuration::from_secs(1));
        assert_eq!(some(&copies.other, usize::MAX).await, 73 - 5 + 1);

        assert_eq!(copies.job(id).await.state, State::Done);
        let made = copies.newest().await;
        let at_once = copies.evaluate().await;
        assert!(made == at_once, "the evaluation in parts differs from the one in one go");
    })
    .await;
}

#[tokio::test]
async fn a_job_is_stopped_goes_on_and_begins_anew_only_after_a_decision() {
    testing::on_both(async |db| {
        let copies = Copies::of(&db).await;
        let id = copies.want().await;
        assert_eq!(some(&copies.one, 3).await, 3);
        let stopped = copies.job(id).await;
        let mut tx = db.write().await.expect("a database");
        let now = copies.one.clock.now();
        actions::jobs::cancel(&mut tx, &copies.statistician, &stopped, now).await.expect("it is being done");
        tx.commit().await.expect("a database");
        copies.one.clock.advance(LEASE + LEASE);
        assert_eq!(some(&copies.one, usize::MAX).await, 0, "it was stopped");
        assert_eq!(copies.job(id).await.done, 3);

        let resume = async || {
            let mut tx = db.write().await.expect("a database");
            let (job, now) = (copies.job(id).await, copies.one.clock.now());
            actions::jobs::resume(&mut tx, &copies.statistician, &job, now).await.expect("it was stopped");
            tx.commit().await.expect("a database");
        };
        resume().await;
        assert_eq!(some(&copies.one, 2).await, 2);
        assert_eq!(copies.job(id).await.done, 5, "it went on after what was done");
        copies.decide().await;
        copies.one.clock.advance(LEASE + LEASE);
        assert_eq!(some(&copies.other, usize::MAX).await, 73 + 1, "it began anew");

        let made = copies.newest().await;
        assert!(made.0.contains("consistent with a factor of 1/10"));
        assert!(made == copies.evaluate().await);
    })
    .await;
}
