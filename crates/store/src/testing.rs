//! Databases for tests: each one made new, used by one test, thrown away.
//!
//! A test of a statement runs on both databases:
//!
//! ```no_run
//! # async fn test() {
//! roundel_store::testing::on_both(async |db| {
//!     let mut tx = db.write().await.expect("a database made for this test");
//!     // … act, look …
//! })
//! .await;
//! # }
//! ```

use crate::Db;
use sqlx::postgres::{PgConnectOptions, PgConnection};
use sqlx::{AssertSqlSafe, ConnectOptions, Connection, Executor};
use std::io::Write;
use std::str::FromStr;
use std::sync::Once;
use tempfile::TempDir;
use uuid::Uuid;

/// The environment variable with the address of a PostgreSQL server on which a
/// test may make databases.
pub const POSTGRES: &str = "ROUNDEL_TEST_POSTGRES";

/// The environment variable which says that nothing may be left out: a test
/// that lacks something fails.
pub const ALL: &str = "ROUNDEL_TEST_ALL";

/// Which database a test runs on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A file in a temporary folder.
    Sqlite,
    /// A database of its own on the server that [`POSTGRES`] names.
    Postgres,
}

/// A new database with the schema of today and not one row.
#[derive(Debug)]
pub struct Fresh {
    /// The database.
    pub db: Db,
    /// Its address, as `ROUNDEL_DATABASE` and [`Db::open`] take it.
    pub url: String,
    server: Option<(PgConnectOptions, String)>,
    // Kept for its end: the folder goes away with it.
    _folder: Option<TempDir>,
}

impl Fresh {
    /// Makes a database; none when `kind` is PostgreSQL and no server is named.
    /// What is left out is then said once on standard error.
    ///
    /// # Panics
    ///
    /// When it cannot be made, or may not be left out: then no test means anything.
    pub async fn new(kind: Kind) -> Option<Fresh> {
        match kind {
            Kind::Sqlite => Some(sqlite().await),
            Kind::Postgres => match std::env::var(POSTGRES) {
                Ok(url) => Some(postgres(&url).await),
                Err(_) => {
                    say_what_is_left_out();
                    None
                }
            },
        }
    }

    /// Throws the database away.
    ///
    /// # Panics
    ///
    /// When the server refuses: then a connection outlived its test.
    pub async fn end(self) {
        self.db.close().await;
        if let Some((server, name)) = self.server {
            let mut connection = server.connect().await.expect("the server answered before");
            run(&mut connection, format!("DROP DATABASE {name} WITH (FORCE)")).await;
            connection.close().await.expect("a connection that is idle closes");
        }
    }
}

/// Runs a test on a new SQLite file, then on a new PostgreSQL database.
///
/// # Panics
///
/// When the test does, after the name of the database was printed.
pub async fn on_both(test: impl AsyncFn(Db)) {
    for kind in [Kind::Sqlite, Kind::Postgres] {
        if let Some(fresh) = Fresh::new(kind).await {
            // The test runner shows this line only if the test fails.
            eprintln!("on {kind:?}:");
            test(fresh.db.clone()).await;
            fresh.end().await;
        }
    }
}

async fn sqlite() -> Fresh {
    let folder = TempDir::with_prefix("roundel-test-").expect("a temporary folder can be made");
    let url = format!("sqlite:{}", folder.path().join("roundel.sqlite").display());
    let file = folder.path().join("roundel.sqlite");
    let db = Db::open_file(&file).await.expect("an empty folder takes a database file");
    Fresh { db, url, server: None, _folder: Some(folder) }
}

async fn postgres(url: &str) -> Fresh {
    let server =
        PgConnectOptions::from_str(url).unwrap_or_else(|error| panic!("{POSTGRES} is not an address: {error}"));
    let name = format!("roundel_test_{}", Uuid::now_v7().simple());
    let mut connection =
        server.connect().await.unwrap_or_else(|error| panic!("the server of {POSTGRES} does not answer: {error}"));
    run(&mut connection, format!("CREATE DATABASE {name}")).await;
    connection.close().await.expect("a connection that is idle closes");
    let url = server.clone().database(&name).to_url_lossy().to_string();
    let db = Db::open(&url).await.expect("a new database opens");
    Fresh { db, url, server: Some((server, name)), _folder: None }
}

async fn run(connection: &mut PgConnection, statement: String) {
    // A name of our own making: hexadecimal digits behind a fixed word.
    connection.execute(AssertSqlSafe(statement)).await.expect("the server lets tests make databases");
}

fn say_what_is_left_out() {
    assert!(std::env::var_os(ALL).is_none(), "{ALL} is set and {POSTGRES} is not");
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        // Written to the stream itself: what goes through `eprintln!` is kept
        // by the test runner and shown only for tests that fail.
        let sentence = format!(
            "left out: the PostgreSQL half of these tests, because {POSTGRES} is not set; \
             `bash tests/run` starts a server and sets it\n"
        );
        // Without standard error there is nobody to tell.
        let _ = std::io::stderr().write_all(sentence.as_bytes());
    });
}
