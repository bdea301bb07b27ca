//! The numbered migrations, and what a file must look like before it is used.

use std::path::Path;

use rusqlite::{Connection, OptionalExtension as _, TransactionBehavior};

use crate::error::StoreError;

/// The schema this program writes.
pub const SCHEMA: i64 = 1;

/// "Hold" in ASCII, in the file's header: what tells a workshop from other databases.
pub(crate) const APPLICATION_ID: i32 = 0x486F_6C64;

struct Migration {
    name: &'static str,
    sql: &'static str,
}

/// Migration n stands at index n - 1. A released one is never edited.
const MIGRATIONS: [Migration; 1] =
    [Migration { name: "0001_logbook", sql: include_str!("../migrations/0001_logbook.sql") }];

const _: () = assert!(MIGRATIONS.len() as u64 == SCHEMA as u64, "SCHEMA is the number of migrations");

/// Which schema the file has, 0 when it is empty.
///
/// # Errors
/// The file is another program's, or a newer program's.
pub(crate) fn found(conn: &Connection, path: &Path) -> Result<i64, StoreError> {
    let sql = |error| StoreError::sql(path, error);
    let application: i32 = conn.pragma_query_value(None, "application_id", |row| row.get(0)).map_err(sql)?;
    let found: i64 = conn.pragma_query_value(None, "user_version", |row| row.get(0)).map_err(sql)?;
    let tables: i64 =
        conn.query_row("SELECT count(*) FROM sqlite_schema", (), |row| row.get(0)).map_err(sql)?;
    match (application, found, tables) {
        (0, 0, 0) => Ok(0),
        (APPLICATION_ID, found, _) if found > SCHEMA => {
            Err(StoreError::NewerSchema { path: path.to_owned(), found, known: SCHEMA })
        }
        (APPLICATION_ID, 1.., _) => Ok(found),
        _ => Err(StoreError::NotAWorkshop { path: path.to_owned() }),
    }
}

/// Brings the file to this program's schema.
///
/// # Errors
/// A migration that was applied is not the one this program knows.
pub(crate) fn migrate(conn: &mut Connection, path: &Path) -> Result<(), StoreError> {
    if found(conn, path)? == SCHEMA {
        return check(conn, path);
    }
    let tx = conn
        .transaction_with_behavior(TransactionBehavior::Immediate)
        .map_err(|error| StoreError::sql(path, error))?;
    // Another process may have been quicker.
    let from = found(&tx, path)?;
    if from > 0 {
        check(&tx, path)?;
    }
    apply(&tx, from).map_err(|error| StoreError::sql(path, error))?;
    tx.commit().map_err(|error| StoreError::sql(path, error))
}

fn apply(conn: &Connection, from: i64) -> rusqlite::Result<()> {
    conn.execute_batch(
        "CREATE TABLE IF NOT EXISTS migrations (
             number INTEGER PRIMARY KEY, name TEXT NOT NULL, sha256 TEXT NOT NULL
         ) STRICT",
    )?;
    for (number, migration) in (1..).zip(&MIGRATIONS).filter(|(number, _)| *number > from) {
        conn.execute_batch(migration.sql)?;
        conn.execute(
            "INSERT INTO migrations (number, name, sha256) VALUES (?1, ?2, ?3)",
            (number, migration.name, checksum(migration)),
        )?;
        conn.pragma_update(None, "user_version", number)?;
    }
    conn.pragma_update(None, "application_id", APPLICATION_ID)
}

/// Compares the migrations that were applied with those this program knows.
pub(crate) fn check(conn: &Connection, path: &Path) -> Result<(), StoreError> {
    let version = found(conn, path)?;
    let bad = |what: String| StoreError::Migration { path: path.to_owned(), what };
    for (number, migration) in (1..=version).zip(&MIGRATIONS) {
        let sha256: Option<String> = conn
            .query_row("SELECT sha256 FROM migrations WHERE number = ?1", [number], |row| row.get(0))
            .optional()
            .map_err(|error| StoreError::sql(path, error))?;
        match sha256 {
            None => return Err(bad(format!("migration {} is missing from its list", migration.name))),
            Some(sha256) if sha256 != checksum(migration) => {
                return Err(bad(format!("migration {} is not the one this program knows", migration.name)));
            }
            Some(_) => {}
        }
    }
    Ok(())
}

fn checksum(migration: &Migration) -> String {
    wire::digest(migration.sql.as_bytes()).to_string()
}
