//! Rows of the entries table.

use register::entry::Stamp;
use register::id::{DeviceId, Digest, EntryId, ReplicaId};
use register::time::{Clock, Moment};
use rusqlite::types::{FromSqlError, ValueRef};
use rusqlite::{CachedStatement, Connection, Row};
use wire::head::Head;

use crate::error::StoreError;
use std::path::Path;

/// The columns that [`stamp`] reads, in its order.
pub(crate) const STAMP: &str = "id, replica, clock, seen_ms, recorded_ms, subject";

/// The stamp in the first columns of a row.
pub(crate) fn stamp(row: &Row<'_>) -> rusqlite::Result<Stamp> {
    Ok(Stamp {
        id: EntryId(id(row, 0)?),
        replica: ReplicaId(id(row, 1)?),
        clock: Clock(row.get::<_, i64>(2)?.cast_unsigned()),
        seen: Moment(row.get(3)?),
        recorded: Moment(row.get(4)?),
        subject: DeviceId(id(row, 5)?),
    })
}

/// A 128-bit id in a column.
pub(crate) fn id(row: &Row<'_>, column: usize) -> rusqlite::Result<u128> {
    row.get::<_, [u8; 16]>(column).map(u128::from_be_bytes)
}

/// A hash in a column.
pub(crate) fn hash(row: &Row<'_>, column: usize) -> rusqlite::Result<Digest> {
    row.get(column).map(Digest)
}

/// A text in a column, borrowed; nothing for NULL.
pub(crate) fn text<'a>(row: &'a Row<'_>, column: usize) -> rusqlite::Result<Option<&'a str>> {
    let wrong = |error| rusqlite::Error::FromSqlConversionFailure(column, rusqlite::types::Type::Text, error);
    match row.get_ref(column)? {
        ValueRef::Null => Ok(None),
        ValueRef::Text(bytes) => std::str::from_utf8(bytes).map(Some).map_err(|error| wrong(Box::new(error))),
        _ => Err(wrong(Box::new(FromSqlError::InvalidType))),
    }
}

/// Puts entries in, by their exact texts.
pub(crate) struct Inserter<'c>(CachedStatement<'c>);

impl<'c> Inserter<'c> {
    /// Ready for entries.
    pub(crate) fn new(conn: &'c Connection) -> rusqlite::Result<Inserter<'c>> {
        conn.prepare_cached(
            "INSERT INTO entries (id, replica, seq, clock, seen_ms, recorded_ms, subject, kind,
                                  version, body, head, hash)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)",
        )
        .map(Inserter)
    }

    /// Puts one in; its columns are made from its head.
    pub(crate) fn put(
        &mut self,
        head: &Head,
        head_text: &str,
        body: Option<&str>,
    ) -> rusqlite::Result<Digest> {
        let hash = wire::digest(head_text.as_bytes());
        let stamp = &head.stamp;
        self.0.execute((
            stamp.id.0.to_be_bytes(),
            stamp.replica.0.to_be_bytes(),
            head.seq.cast_signed(),
            stamp.clock.0.cast_signed(),
            stamp.seen.0,
            stamp.recorded.0,
            stamp.subject.0.to_be_bytes(),
            &head.kind,
            head.version,
            body,
            head_text,
            hash.0,
        ))?;
        Ok(hash)
    }
}

/// The head of an entry as it is stored.
pub(crate) fn head(path: &Path, text: &str) -> Result<Head, StoreError> {
    Head::decode(text)
        .map_err(|error| StoreError::Damaged { path: path.to_owned(), detail: error.to_string() })
}
