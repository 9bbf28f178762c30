//! What every request can reach.

use crate::api::caller::Pace;
use crate::clock::Clock;
use crate::evaluated::Cache;
use crate::mail::Post;
use crate::smtp::Mailer;
use crate::throttle::Throttle;
use roundel_documents::words::Words;
use roundel_store::Db;
use roundel_store::installation::Installation;
use std::sync::{Arc, RwLock};
use tokio::sync::Notify;

/// The service.
#[derive(Clone, Debug)]
pub struct App {
    /// The database.
    pub db: Db,
    /// The clock.
    pub clock: Clock,
    /// The texts.
    pub words: Words,
    /// The address that people use, without a last slash.
    pub public_url: Arc<str>,
    /// Evaluations that were read before; they never change.
    pub evaluations: Cache,
    /// Rounds as they were looked through before.
    pub reviews: crate::reviewed::Cache,
    /// Wrong passwords.
    pub throttle: Throttle,
    /// Requests of programs.
    pub pace: Pace,
    /// Who runs this installation, once that is known.
    pub installation: Arc<RwLock<Option<Installation>>>,
    /// The mail server, where one is set up.
    pub mail: Option<Mailer>,
    /// Told when messages were queued.
    pub outbox: Arc<Notify>,
    /// Told when long work is wanted.
    pub work: Arc<Notify>,
}

impl App {
    /// The service on `db`, reached at `public_url`.
    ///
    /// # Errors
    ///
    /// When the database cannot be read.
    pub async fn new(db: Db, clock: Clock, public_url: &str) -> Result<App, roundel_store::Error> {
        let installation = roundel_store::installation::get(&mut db.read().await?).await?;
        Ok(App {
            db,
            clock,
            words: Words::English,
            public_url: public_url.into(),
            evaluations: Cache::default(),
            reviews: crate::reviewed::Cache::default(),
            throttle: Throttle::default(),
            pace: Pace::default(),
            installation: Arc::new(RwLock::new(installation)),
            mail: None,
            outbox: Arc::default(),
            work: Arc::default(),
        })
    }

    /// The same, with a mail server to send messages through.
    pub fn with_mail(mut self, mail: Option<Mailer>) -> App {
        self.mail = mail;
        self
    }

    /// Who runs this installation, once that is known.
    pub fn provider(&self) -> Option<Installation> {
        self.installation.read().expect("no writer panics").clone()
    }

    /// How messages are queued: not at all where no mail is set up.
    pub fn post(&self) -> Post {
        match (&self.mail, self.provider()) {
            (Some(_), Some(provider)) => Post::of(provider, self.public_url.clone()),
            _ => Post::none(self.public_url.clone()),
        }
    }

    /// Has messages sent that were queued in a transaction that is committed.
    pub fn wake_mail(&self) {
        self.outbox.notify_one();
    }

    /// Whether cookies may only travel encrypted.
    pub fn is_https(&self) -> bool {
        self.public_url.starts_with("https://")
    }
}
