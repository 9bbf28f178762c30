//! The two schemas are one schema.

use roundel_store::testing::{Fresh, Kind, POSTGRES};
use roundel_store::{Db, Tx};
use std::collections::BTreeSet;
use std::path::Path;

/// Columns (table, column, type, whether it may be NULL), unique keys and
/// references.
#[derive(Debug, PartialEq)]
struct Schema {
    columns: BTreeSet<(String, String, String, bool)>,
    keys: BTreeSet<(String, Vec<String>)>,
    references: BTreeSet<(String, String, String, String)>,
}

#[tokio::test]
async fn both_databases_have_the_same_tables_columns_keys_and_references() {
    let sqlite = Fresh::new(Kind::Sqlite).await.expect("a file is always there");
    let here = sqlite_schema(&mut sqlite.db.read().await.unwrap()).await;
    let tables: BTreeSet<&str> = here.columns.iter().map(|(table, ..)| table.as_str()).collect();
    assert!(
        tables.contains("submissions") && tables.contains("evaluations"),
        "the look at the schema works: {tables:?}"
    );
    sqlite.db.close().await;

    let Some(postgres) = Fresh::new(Kind::Postgres).await else { return };
    let there = postgres_schema(&mut postgres.db.read().await.unwrap()).await;
    postgres.end().await;

    assert_eq!(here.columns, there.columns);
    assert_eq!(here.keys, there.keys);
    assert_eq!(here.references, there.references);
}

#[test]
fn each_migration_is_there_for_both_databases_under_one_name() {
    let names = |folder: &str| {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../migrations").join(folder);
        let entries = std::fs::read_dir(&folder).expect("the folder of migrations");
        entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect::<BTreeSet<String>>()
    };

    let sqlite = names("sqlite");

    assert!(sqlite.contains("0001_accounts.sql"), "{sqlite:?}");
    assert_eq!(sqlite, names("postgres"));
}

#[tokio::test]
async fn a_database_that_is_up_to_date_opens_again() {
    for kind in [Kind::Sqlite, Kind::Postgres] {
        let Some(fresh) = Fresh::new(kind).await else { continue };

        let again = Db::open(&fresh.url).await.unwrap_or_else(|error| panic!("{POSTGRES}, {kind:?}: {error}"));

        again.close().await;
        fresh.end().await;
    }
}

fn keys_of(rows: Vec<(String, String, String)>) -> BTreeSet<(String, Vec<String>)> {
    let indexes: BTreeSet<(String, String)> =
        rows.iter().map(|(table, index, _)| (table.clone(), index.clone())).collect();
    indexes
        .into_iter()
        .map(|(table, index)| {
            let mut columns: Vec<String> =
                rows.iter().filter(|(t, i, _)| (t, i) == (&table, &index)).map(|(.., column)| column.clone()).collect();
            columns.sort();
            (table, columns)
        })
        .collect()
}

async fn sqlite_schema(tx: &mut Tx) -> Schema {
    let columns: Vec<(String, String, String, i64)> = tx
        .query(
            "SELECT m.name, c.name, c.type, c.\"notnull\" = 0 AND c.pk = 0 FROM sqlite_master m \
             JOIN pragma_table_info(m.name) c WHERE m.type = 'table' AND m.name NOT LIKE '\\_sqlx%' ESCAPE '\\'",
        )
        .all()
        .await
        .unwrap();
    // An integer primary key has no index of its own on SQLite.
    let keys: Vec<(String, String, String)> = tx
        .query(
            "SELECT m.name, l.name, i.name FROM sqlite_master m JOIN pragma_index_list(m.name) l \
             JOIN pragma_index_info(l.name) i \
             WHERE m.type = 'table' AND l.\"unique\" = 1 AND m.name NOT LIKE '\\_sqlx%' ESCAPE '\\' \
             UNION SELECT m.name, 'primary', c.name FROM sqlite_master m JOIN pragma_table_info(m.name) c \
             WHERE m.type = 'table' AND c.pk > 0 AND m.name NOT LIKE '\\_sqlx%' ESCAPE '\\'",
        )
        .all()
        .await
        .unwrap();
    let references = tx
        .query(
            "SELECT m.name, f.\"from\", f.\"table\", f.\"to\" FROM sqlite_master m \
             JOIN pragma_foreign_key_list(m.name) f WHERE m.type = 'table'",
        )
        .all()
        .await
        .unwrap();
    Schema {
        columns: columns.into_iter().map(|(table, column, sort, null)| (table, column, sort, null != 0)).collect(),
        keys: keys_of(keys),
        references: references.into_iter().collect(),
    }
}

/// What a type of PostgreSQL is on SQLite.
fn on_sqlite(sort: &str) -> &'static str {
    match sort {
        "uuid" | "bytea" => "BLOB",
        "bigint" | "boolean" => "INTEGER",
        "text" | "jsonb" => "TEXT",
        "double precision" => "REAL",
        other => panic!("no column has the type {other} so far; say here what it is on SQLite"),
    }
}

async fn postgres_schema(tx: &mut Tx) -> Schema {
    let columns: Vec<(String, String, String, bool)> = tx
        .query(
            "SELECT CAST(table_name AS TEXT), CAST(column_name AS TEXT), CAST(data_type AS TEXT), is_nullable = 'YES' \
             FROM information_schema.columns WHERE table_schema = 'public' AND table_name <> '_sqlx_migrations'",
        )
        .all()
        .await
        .unwrap();
    let keys = tx
        .query(
            "SELECT CAST(t.relname AS TEXT), CAST(x.relname AS TEXT), CAST(a.attname AS TEXT) FROM pg_index i \
             JOIN pg_class t ON t.oid = i.indrelid JOIN pg_class x ON x.oid = i.indexrelid \
             JOIN pg_namespace n ON n.oid = t.relnamespace \
             JOIN pg_attribute a ON a.attrelid = t.oid AND a.attnum = ANY (i.indkey) \
             WHERE i.indisunique AND n.nspname = 'public' AND t.relname <> '_sqlx_migrations'",
        )
        .all()
        .await
        .unwrap();
    let references = tx
        .query(
            "SELECT CAST(t.relname AS TEXT), CAST(a.attname AS TEXT), CAST(f.relname AS TEXT), CAST(b.attname AS TEXT) \
             FROM pg_constraint c JOIN pg_class t ON t.oid = c.conrelid JOIN pg_class f ON f.oid = c.confrelid \
             JOIN pg_attribute a ON a.attrelid = t.oid AND a.attnum = c.conkey[1] \
             JOIN pg_attribute b ON b.attrelid = f.oid AND b.attnum = c.confkey[1] WHERE c.contype = 'f'",
        )
        .all()
        .await
        .unwrap();
    Schema {
        columns: columns
            .into_iter()
            .map(|(table, column, sort, null)| (table, column, on_sqlite(&sort).to_owned(), null))
            .collect(),
        keys: keys_of(keys),
        references: references.into_iter().collect(),
    }
}
