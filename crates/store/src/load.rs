//! Reading the logbook.

use register::entry::{Body, Stamp};
use register::id::{DeviceId, Digest, EntryId};
use rusqlite::{OptionalExtension as _, Params, Row};
use wire::body::PRELUDE_KINDS;

use crate::decode;
use crate::error::StoreError;
use crate::open::Store;
use crate::place;
use crate::row::{STAMP, head, stamp, text};

/// One entry, for a page of history.
#[derive(Clone, Debug, PartialEq)]
pub struct Record {
    /// Name, order, times, subject.
    pub stamp: Stamp,
    /// Who wrote it.
    pub author: String,
    /// The kind's word, also where this program doesn't know it.
    pub kind: String,
    /// What it says; [`Body::Opaque`] when it was erased or can't be read.
    pub body: Body,
    /// Whether its body was erased.
    pub erased: bool,
}

/// How far a logbook goes: what a reader compares to see whether it is behind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Extent {
    /// The last row; entries with a greater one are new. For [`Store::for_each`].
    pub last_row: i64,
    /// How many entries were erased so far. When this grew, entries already read have
    /// lost their bodies, and only reading everything again forgets them.
    pub erasures: u64,
}

impl Store {
    /// Calls `f` with every entry whose row is greater than `after_row` (0 for all),
    /// in the order of clocks, ties by id. An erased body is [`Body::Opaque`].
    ///
    /// # Errors
    /// The workshop can't be read.
    pub fn for_each(&self, after_row: i64, mut f: impl FnMut(Stamp, Body)) -> Result<(), StoreError> {
        // A whole logbook is read along the index; a few new entries are sorted, so
        // that the index isn't walked for them.
        let order = if after_row <= 0 { "ORDER BY clock, id" } else { "ORDER BY +clock, +id" };
        let query = format!("SELECT {STAMP}, kind, version, body FROM entries WHERE row > ?1 {order}");
        let query = if after_row <= 0 { query.replace("row > ?1", "+row > ?1") } else { query };
        let mut statement = self.conn.prepare_cached(&query).map_err(self.sql())?;
        let mut rows = statement.query([after_row]).map_err(self.sql())?;
        if after_row <= 0 {
            return decode::for_each(&mut rows, f).map_err(self.sql());
        }
        while let Some(row) = rows.next().map_err(self.sql())? {
            let (stamp, body) = entry(row).map_err(self.sql())?;
            f(stamp, body);
        }
        Ok(())
    }

    /// The entries that change how others are read (strikes, `same as`, `parted`), in
    /// order: wanted before all others.
    ///
    /// # Errors
    /// The workshop can't be read.
    pub fn prelude(&self) -> Result<Vec<(Stamp, Body)>, StoreError> {
        // The words stand in the query, or SQLite could not use the index made for it.
        let kinds = PRELUDE_KINDS.map(|kind| format!("'{kind}'")).join(", ");
        let query = format!(
            "SELECT {STAMP}, kind, version, body FROM entries INDEXED BY entries_of_prelude
             WHERE kind IN ({kinds}) ORDER BY clock, id"
        );
        let mut statement = self.conn.prepare_cached(&query).map_err(self.sql())?;
        statement.query_map((), entry).and_then(Iterator::collect).map_err(self.sql())
    }

    /// The entries with a row greater than `row`, in order: what was written since.
    ///
    /// # Errors
    /// The workshop can't be read.
    pub fn newer_than(&self, row: i64) -> Result<Vec<(Stamp, Body)>, StoreError> {
        let mut newer = Vec::new();
        self.for_each(row, |stamp, body| newer.push((stamp, body)))?;
        Ok(newer)
    }

    /// How far the logbook goes now.
    ///
    /// # Errors
    /// The workshop can't be read.
    pub fn extent(&self) -> Result<Extent, StoreError> {
        let last_row: Option<i64> = self
            .conn
            .prepare_cached("SELECT max(row) FROM entries")
            .and_then(|mut statement| statement.query_row((), |row| row.get(0)))
            .map_err(self.sql())?;
        let erasures = place::get(&self.conn, "erasures").map_err(self.sql())?;
        Ok(Extent {
            last_row: last_row.unwrap_or(0),
            erasures: erasures.and_then(|count| count.parse().ok()).unwrap_or(0),
        })
    }

    /// A number that changes whenever another program has written to the workshop
    /// since the last call: cheaper to ask than [`Store::extent`].
    ///
    /// # Errors
    /// The workshop can't be read.
    pub fn data_version(&self) -> Result<i64, StoreError> {
        self.conn.pragma_query_value(None, "data_version", |row| row.get(0)).map_err(self.sql())
    }

    /// The history of one device, in order.
    ///
    /// # Errors
    /// The workshop can't be read.
    pub fn about(&self, subject: DeviceId) -> Result<Vec<Record>, StoreError> {
        self.records("WHERE subject = ?1 ORDER BY clock, id", [subject.0.to_be_bytes()])
    }

    /// One entry.
    ///
    /// # Errors
    /// The workshop can't be read.
    pub fn record(&self, entry: EntryId) -> Result<Option<Record>, StoreError> {
        Ok(self.records("WHERE id = ?1", [entry.0.to_be_bytes()])?.pop())
    }

    /// The last `limit` entries, newest first.
    ///
    /// # Errors
    /// The workshop can't be read.
    pub fn recent(&self, limit: u32) -> Result<Vec<Record>, StoreError> {
        self.records("ORDER BY clock DESC, id DESC LIMIT ?1", [limit])
    }

    /// The bytes of a file.
    ///
    /// # Errors
    /// The workshop can't be read.
    pub fn file(&self, digest: Digest) -> Result<Option<Vec<u8>>, StoreError> {
        self.conn
            .prepare_cached("SELECT bytes FROM files WHERE hash = ?1")
            .and_then(|mut statement| statement.query_row([digest.0], |row| row.get(0)).optional())
            .map_err(self.sql())
    }

    fn records(&self, which: &str, params: impl Params) -> Result<Vec<Record>, StoreError> {
        let query = format!("SELECT {STAMP}, kind, version, body, head FROM entries {which}");
        let mut statement = self.conn.prepare_cached(&query).map_err(self.sql())?;
        let mut rows = statement.query(params).map_err(self.sql())?;
        let mut records = Vec::new();
        while let Some(row) = rows.next().map_err(self.sql())? {
            let (stamp, body) = entry(row).map_err(self.sql())?;
            let head_text = text(row, 9).map_err(self.sql())?.unwrap_or_default();
            records.push(Record {
                stamp,
                author: head(&self.path, head_text)?.author,
                kind: row.get(6).map_err(self.sql())?,
                body,
                erased: text(row, 8).map_err(self.sql())?.is_none(),
            });
        }
        Ok(records)
    }
}

/// Stamp, kind, version, body in the first columns of a row.
fn entry(row: &Row<'_>) -> rusqlite::Result<(Stamp, Body)> {
    let stamp = stamp(row)?;
    let body = match (text(row, 6)?, text(row, 8)?) {
        (Some(kind), Some(body)) => wire::body::decode(kind, row.get(7)?, body),
        _ => Body::Opaque,
    };
    Ok((stamp, body))
}
