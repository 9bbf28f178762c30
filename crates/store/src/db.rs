//! One query layer over SQLite and PostgreSQL.
//!
//! SQL is written once, with `$1` placeholders, in words both databases know.
//! The only `match` on which database it is stands in this file.

use crate::error::Error;
use sqlx::postgres::{PgArguments, PgConnectOptions, PgPool, PgPoolOptions, PgRow, Postgres};
use sqlx::sqlite::{
    Sqlite, SqliteArguments, SqliteConnectOptions, SqliteJournalMode, SqlitePool, SqlitePoolOptions, SqliteRow,
    SqliteSynchronous,
};
use sqlx::{Arguments, Encode, FromRow, Transaction, Type};
use std::str::FromStr;
use std::time::Duration;

static SQLITE: sqlx::migrate::Migrator = sqlx::migrate!("../../migrations/sqlite");
static POSTGRES: sqlx::migrate::Migrator = sqlx::migrate!("../../migrations/postgres");

const ACQUIRE_TIMEOUT: Duration = Duration::from_secs(10);
const BUSY_TIMEOUT: Duration = Duration::from_secs(10);

/// A database, open and with its schema up to date.
#[derive(Clone, Debug)]
pub enum Db {
    /// One file: one connection writes, several read.
    Sqlite {
        /// The only connection that may write.
        writer: SqlitePool,
        /// Connections that refuse to write.
        readers: SqlitePool,
    },
    /// A server, which several copies of the program may share.
    Postgres(PgPool),
}

impl Db {
    /// Opens the database at `url` and brings its schema up to date.
    ///
    /// # Errors
    ///
    /// [`Error::Address`] for an unknown kind, otherwise what the driver says.
    pub async fn open(url: &str) -> Result<Db, Error> {
        if url.starts_with("sqlite:") {
            Db::open_sqlite(SqliteConnectOptions::from_str(url)?).await
        } else if url.starts_with("postgres:") || url.starts_with("postgresql:") {
            Db::open_postgres(PgConnectOptions::from_str(url)?).await
        } else {
            Err(Error::Address(url.split(':').next().unwrap_or_default().to_owned()))
        }
    }

    /// Opens the SQLite file at `path`, made if it does not exist.
    ///
    /// # Errors
    ///
    /// What the driver says.
    pub async fn open_file(path: &std::path::Path) -> Result<Db, Error> {
        Db::open_sqlite(SqliteConnectOptions::new().filename(path)).await
    }

    async fn open_sqlite(options: SqliteConnectOptions) -> Result<Db, Error> {
        // PRAGMAs hold for one connection only, so they belong here. FULL: a
        // submission that was acknowledged survives a power cut.
        let options = options
            .create_if_missing(true)
            .journal_mode(SqliteJournalMode::Wal)
            .synchronous(SqliteSynchronous::Full)
            .foreign_keys(true)
            .busy_timeout(BUSY_TIMEOUT);
        let writer = SqlitePoolOptions::new()
            .max_connections(1)
            .acquire_timeout(ACQUIRE_TIMEOUT)
            .connect_with(options.clone())
            .await?;
        SQLITE.run(&writer).await?;
        let readers = SqlitePoolOptions::new()
            .max_connections(8)
            .acquire_timeout(ACQUIRE_TIMEOUT)
            .connect_with(options.pragma("query_only", "on"))
            .await?;
        Ok(Db::Sqlite { writer, readers })
    }

    async fn open_postgres(options: PgConnectOptions) -> Result<Db, Error> {
        let pool =
            PgPoolOptions::new().max_connections(16).acquire_timeout(ACQUIRE_TIMEOUT).connect_with(options).await?;
        POSTGRES.run(&pool).await?;
        Ok(Db::Postgres(pool))
    }

    /// Begins to look.
    ///
    /// # Errors
    ///
    /// When no connection is free or the database is away.
    pub async fn read(&self) -> Result<Tx, Error> {
        Ok(match self {
            Db::Sqlite { readers, .. } => Tx::Sqlite(readers.begin().await?),
            Db::Postgres(pool) => {
                Tx::Postgres(pool.begin_with("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY").await?)
            }
        })
    }

    /// Begins to change. Without [`Tx::commit`] nothing happened.
    ///
    /// On SQLite the write lock is taken at once: a lock taken late fails
    /// under load.
    ///
    /// # Errors
    ///
    /// When no connection is free or the database is away.
    pub async fn write(&self) -> Result<Tx, Error> {
        Ok(match self {
            Db::Sqlite { writer, .. } => Tx::Sqlite(writer.begin_with("BEGIN IMMEDIATE").await?),
            Db::Postgres(pool) => Tx::Postgres(pool.begin().await?),
        })
    }

    /// Closes all connections, after those in use have ended.
    pub async fn close(&self) {
        match self {
            Db::Sqlite { writer, readers } => {
                readers.close().await;
                writer.close().await;
            }
            Db::Postgres(pool) => pool.close().await,
        }
    }
}

/// A transaction.
#[derive(Debug)]
pub enum Tx {
    /// On SQLite.
    Sqlite(Transaction<'static, Sqlite>),
    /// On PostgreSQL.
    Postgres(Transaction<'static, Postgres>),
}

impl Tx {
    /// A statement, to be given its values and run.
    pub fn query(&mut self, sql: &'static str) -> Query<'_> {
        let args = match self {
            Tx::Sqlite(_) => Args::Sqlite(SqliteArguments::default()),
            Tx::Postgres(_) => Args::Postgres(PgArguments::default()),
        };
        Query { tx: self, sql, args: Ok(args) }
    }

    /// Makes everything since the beginning true.
    ///
    /// # Errors
    ///
    /// What the driver says; then nothing happened.
    pub async fn commit(self) -> Result<(), Error> {
        match self {
            Tx::Sqlite(tx) => tx.commit().await?,
            Tx::Postgres(tx) => tx.commit().await?,
        }
        Ok(())
    }
}

#[derive(Debug)]
enum Args {
    Sqlite(SqliteArguments),
    Postgres(PgArguments),
}

/// A statement with its values.
#[derive(Debug)]
#[must_use = "a statement does nothing until it is run"]
pub struct Query<'t> {
    tx: &'t mut Tx,
    sql: &'static str,
    args: Result<Args, sqlx::error::BoxDynError>,
}

/// A row that both databases can give.
pub trait Row: Send + Unpin + for<'r> FromRow<'r, SqliteRow> + for<'r> FromRow<'r, PgRow> {}
impl<T> Row for T where T: Send + Unpin + for<'r> FromRow<'r, SqliteRow> + for<'r> FromRow<'r, PgRow> {}

impl<'t> Query<'t> {
    /// Gives the next placeholder its value.
    pub fn bind<'v, T>(mut self, value: T) -> Self
    where
        T: Encode<'v, Sqlite> + Type<Sqlite> + Encode<'v, Postgres> + Type<Postgres>,
    {
        if let Ok(args) = &mut self.args {
            let added = match args {
                Args::Sqlite(args) => Arguments::add(args, value),
                Args::Postgres(args) => Arguments::add(args, value),
            };
            if let Err(error) = added {
                self.args = Err(error);
            }
        }
        self
    }

    /// Runs it; the number of rows that it touched.
    ///
    /// # Errors
    ///
    /// [`Error::Exists`] for a key that is taken, otherwise what the driver says.
    pub async fn execute(self) -> Result<u64, Error> {
        let args = self.args.map_err(sqlx::Error::Encode)?;
        Ok(match (self.tx, args) {
            (Tx::Sqlite(tx), Args::Sqlite(args)) => {
                sqlx::query_with(self.sql, args).execute(&mut **tx).await?.rows_affected()
            }
            (Tx::Postgres(tx), Args::Postgres(args)) => {
                sqlx::query_with(self.sql, args).execute(&mut **tx).await?.rows_affected()
            }
            _ => unreachable!("values are made for the transaction they are bound in"),
        })
    }

    /// Runs it; its row, if there is one.
    ///
    /// # Errors
    ///
    /// As [`Query::execute`].
    pub async fn optional<T: Row>(self) -> Result<Option<T>, Error> {
        let args = self.args.map_err(sqlx::Error::Encode)?;
        Ok(match (self.tx, args) {
            (Tx::Sqlite(tx), Args::Sqlite(args)) => {
                sqlx::query_as_with(self.sql, args).fetch_optional(&mut **tx).await?
            }
            (Tx::Postgres(tx), Args::Postgres(args)) => {
                sqlx::query_as_with(self.sql, args).fetch_optional(&mut **tx).await?
            }
            _ => unreachable!("values are made for the transaction they are bound in"),
        })
    }

    /// Runs it; all its rows, in the order of the statement.
    ///
    /// # Errors
    ///
    /// As [`Query::execute`].
    pub async fn all<T: Row>(self) -> Result<Vec<T>, Error> {
        let args = self.args.map_err(sqlx::Error::Encode)?;
        Ok(match (self.tx, args) {
            (Tx::Sqlite(tx), Args::Sqlite(args)) => sqlx::query_as_with(self.sql, args).fetch_all(&mut **tx).await?,
            (Tx::Postgres(tx), Args::Postgres(args)) => {
                sqlx::query_as_with(self.sql, args).fetch_all(&mut **tx).await?
            }
            _ => unreachable!("values are made for the transaction they are bound in"),
        })
    }

    /// Runs it; the one value of its one row.
    ///
    /// # Errors
    ///
    /// As [`Query::execute`]; a statement without a row is an error.
    pub async fn value<T>(self) -> Result<T, Error>
    where
        (T,): Row,
    {
        let row: Option<(T,)> = self.optional().await?;
        row.map(|(value,)| value).ok_or(Error::Database(sqlx::Error::RowNotFound))
    }
}
