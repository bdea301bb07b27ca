//! Taking the text out of an entry.

use register::id::EntryId;
use rusqlite::{Connection, TransactionBehavior};

use crate::error::StoreError;
use crate::open::Store;
use crate::place;

impl Store {
    /// Erases what an entry says. Its head stays, so its chain still holds; the text
    /// is overwritten in the file and in the journal. Backups and other copies keep
    /// theirs until they are merged with this one.
    ///
    /// # Errors
    /// There is no such entry, or the workshop can't be written, or the journal can't
    /// be emptied because another program is reading.
    pub fn erase(&mut self, entry: EntryId) -> Result<(), StoreError> {
        self.erase_all(&[entry])
    }

    /// The same with several entries: all of them or none, and the journal is emptied once.
    /// Where that fails because another program is reading, all of them are erased already;
    /// erasing them again empties it.
    ///
    /// # Errors
    /// As [`Store::erase`].
    pub fn erase_all(&mut self, entries: &[EntryId]) -> Result<(), StoreError> {
        self.writer()?;
        let Some(first) = entries.first() else { return Ok(()) };
        let sql = self.sql();
        let tx = self.conn.transaction_with_behavior(TransactionBehavior::Immediate).map_err(&sql)?;
        let mut erased = 0;
        for entry in entries {
            let there: bool = tx
                .prepare_cached("SELECT 1 FROM entries WHERE id = ?1")
                .and_then(|mut statement| statement.exists([entry.0.to_be_bytes()]))
                .map_err(&sql)?;
            if !there {
                return Err(StoreError::NoEntry(*entry));
            }
            erased += u64::from(blank(&tx, *entry).map_err(&sql)?);
        }
        count(&tx, erased).map_err(&sql)?;
        tx.commit().map_err(&sql)?;
        self.empty_journal(*first)
    }

    /// Moves the journal into the file and cuts it to nothing.
    pub(crate) fn empty_journal(&self, entry: EntryId) -> Result<(), StoreError> {
        let busy: i64 = self
            .conn
            .query_row("PRAGMA wal_checkpoint(TRUNCATE)", (), |row| row.get(0))
            .map_err(self.sql())?;
        if busy == 0 { Ok(()) } else { Err(StoreError::JournalInUse { entry, path: self.path.clone() }) }
    }
}

/// Takes the body out of a row; says whether there was one.
pub(crate) fn blank(conn: &Connection, entry: EntryId) -> rusqlite::Result<bool> {
    conn.prepare_cached("UPDATE entries SET body = NULL WHERE id = ?1 AND body IS NOT NULL")?
        .execute([entry.0.to_be_bytes()])
        .map(|rows| rows > 0)
}

/// Adds to the number of erasures, by which readers see that they must read again.
pub(crate) fn count(conn: &Connection, more: u64) -> rusqlite::Result<()> {
    if more == 0 {
        return Ok(());
    }
    let so_far: u64 = place::get(conn, "erasures")?.and_then(|count| count.parse().ok()).unwrap_or(0);
    place::put(conn, "erasures", &(so_far + more).to_string())
}
