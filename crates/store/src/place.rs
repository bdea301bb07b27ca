//! Which file a workshop lives in, and by which replica it writes.
//!
//! A copy of the file must not continue the original's chain, or the two would fork
//! it. So the file remembers which file it is (device, inode, time of birth); when
//! that no longer holds, it was copied or restored, and begins a new replica.

use std::path::Path;

use register::id::ReplicaId;
use rusqlite::{Connection, OptionalExtension as _, TransactionBehavior};
use uuid::Uuid;

use crate::error::StoreError;

/// The place of a workshop in memory.
pub(crate) const IN_MEMORY: &str = "memory";

/// Names the file at `path` so that a copy of it gets another name.
#[cfg(unix)]
pub(crate) fn of(path: &Path) -> Result<String, StoreError> {
    use std::os::unix::fs::MetadataExt as _;
    use std::time::UNIX_EPOCH;

    let meta = std::fs::metadata(path).map_err(|error| StoreError::io(path, error))?;
    // A removed file's inode is soon given to the next; the time of birth tells them
    // apart, on file systems that keep it.
    let born = meta.created().ok().and_then(|time| time.duration_since(UNIX_EPOCH).ok());
    Ok(format!("{}:{}:{}", meta.dev(), meta.ino(), born.map_or(0, |born| born.as_nanos())))
}

/// Names the file at `path`; a copy in the same place can't be told here.
#[cfg(not(unix))]
pub(crate) fn of(path: &Path) -> Result<String, StoreError> {
    let path = path.canonicalize().map_err(|error| StoreError::io(path, error))?;
    Ok(path.to_string_lossy().into_owned())
}

/// The replica by which the file at `place` writes; a new one when it has none or
/// when the file is a copy.
pub(crate) fn settle(conn: &mut Connection, place: &str) -> rusqlite::Result<ReplicaId> {
    if let Some(replica) = known(conn, place)? {
        return Ok(replica);
    }
    let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
    if let Some(replica) = known(&tx, place)? {
        return Ok(replica); // another process was quicker
    }
    let replica = ReplicaId(Uuid::new_v4().as_u128());
    put(&tx, "replica", &replica.to_string())?;
    put(&tx, "place", place)?;
    tx.commit()?;
    Ok(replica)
}

/// Makes the file forget which one it is, so that whoever opens it begins a replica.
pub(crate) fn forget(conn: &Connection) -> rusqlite::Result<()> {
    conn.execute("DELETE FROM copy WHERE key IN ('place', 'replica')", ())?;
    Ok(())
}

fn known(conn: &Connection, place: &str) -> rusqlite::Result<Option<ReplicaId>> {
    if get(conn, "place")?.as_deref() != Some(place) {
        return Ok(None);
    }
    Ok(get(conn, "replica")?.and_then(|replica| replica.parse().ok()))
}

/// One of the notes this copy keeps about itself.
pub(crate) fn get(conn: &Connection, key: &str) -> rusqlite::Result<Option<String>> {
    conn.query_row("SELECT value FROM copy WHERE key = ?1", [key], |row| row.get(0)).optional()
}

/// Sets such a note.
pub(crate) fn put(conn: &Connection, key: &str, value: &str) -> rusqlite::Result<()> {
    conn.execute(
        "INSERT INTO copy (key, value) VALUES (?1, ?2)
         ON CONFLICT (key) DO UPDATE SET value = excluded.value",
        (key, value),
    )?;
    Ok(())
}
