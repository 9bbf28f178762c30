//! The service, running in this process on a port of its own.

use super::visitor::Visitor;
use roundel::actions::accounts;
use roundel::clock::Clock;
use roundel::serve;
use roundel::smtp::Mailer;
use roundel::state::App;
use roundel_store::testing::{Fresh, Kind};
use tokio::net::TcpListener;
use tokio::sync::oneshot;
use tokio::task::JoinHandle;

/// A service on a new database, not yet set up.
#[derive(Debug)]
pub(crate) struct TestApp {
    /// Where it answers: `http://127.0.0.1:40000`.
    pub(crate) address: String,
    /// Its clock, which a test may move.
    pub(crate) clock: Clock,
    /// Path of the set-up link.
    pub(crate) setup: String,
    /// The service itself.
    pub(crate) app: App,
    fresh: Fresh,
    stop: oneshot::Sender<()>,
    server: JoinHandle<()>,
}

impl TestApp {
    /// On SQLite.
    pub(crate) async fn new() -> TestApp {
        TestApp::on(Fresh::new(Kind::Sqlite).await.expect("a file is always there")).await
    }

    /// On a database.
    pub(crate) async fn on(fresh: Fresh) -> TestApp {
        TestApp::start(fresh, None, None).await
    }

    /// On a database, with a mail server.
    pub(crate) async fn with_mail(fresh: Fresh, mailer: Mailer) -> TestApp {
        TestApp::start(fresh, None, Some(mailer)).await
    }

    /// On SQLite, behind a proxy through which people come at `public_url`.
    pub(crate) async fn reached_at(public_url: &str) -> TestApp {
        let fresh = Fresh::new(Kind::Sqlite).await.expect("a file is always there");
        TestApp::start(fresh, Some(public_url), None).await
    }

    async fn start(fresh: Fresh, public_url: Option<&str>, mailer: Option<Mailer>) -> TestApp {
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port is free");
        let address = format!("http://{}", listener.local_addr().expect("a listener has an address"));
        let clock = Clock::default();
        let db = fresh.db.clone();
        let app = App::new(db.clone(), clock.clone(), public_url.unwrap_or(&address))
            .await
            .expect("a new database can be read")
            .with_mail(mailer);
        let mut tx = db.write().await.expect("a new database can be written");
        let token = accounts::offer_setup(&mut tx, clock.now()).await.expect("a link can be made");
        tx.commit().await.expect("a new database can be written");
        let (stop, stopped) = oneshot::channel();
        let server = tokio::spawn(serve::run(app.clone(), listener, async {
            // Also when the test is over without having said so.
            let _ = stopped.await;
        }));
        let setup = format!("/setup/{}", token.expect("set-up is not over"));
        TestApp { address, clock, setup, app, fresh, stop, server }
    }

    /// Somebody who has just come, without a cookie.
    pub(crate) fn visitor(&self) -> Visitor {
        Visitor::new(&self.address)
    }

    /// All that stands in the file of the database, as far as it is text.
    pub(crate) async fn dump(&self) -> String {
        let file = self.fresh.url.trim_start_matches("sqlite:").trim_start_matches("//");
        let read = |ending: &str| std::fs::read(format!("{file}{ending}")).unwrap_or_default();
        let bytes = [read(""), read("-wal")].concat();
        assert!(bytes.windows(10).any(|part| part == b"api_tokens"), "{file} is the database");
        String::from_utf8_lossy(&bytes).into_owned()
    }

    /// Stops the service and throws its database away.
    pub(crate) async fn end(self) {
        let _ = self.stop.send(());
        self.server.await.expect("the service ends without a panic");
        self.fresh.end().await;
    }
}
