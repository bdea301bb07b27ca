//! Taking over another workshop's entries: set union, by id.

use std::fs::File;
use std::io::{BufReader, Read as _, Seek as _};
use std::path::{Path, PathBuf};

use register::id::{Digest, EntryId};
use rusqlite::{Connection, OptionalExtension as _, TransactionBehavior};
use wire::head::Head;

use crate::append::put_file;
use crate::chain::check_new;
use crate::erase::{blank, count};
use crate::error::StoreError;
use crate::open::Store;
use crate::row::{self, Inserter, hash, text};

/// What a merge or an import brought.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Outcome {
    /// Entries that are new here.
    pub added: u64,
    /// Entries that were here already.
    pub known: u64,
    /// Entries of this workshop that lost their bodies, since they were erased there.
    pub erased: u64,
    /// Files that are new here.
    pub files_added: u64,
}

/// What every SQLite database begins with.
const SQLITE_MAGIC: &[u8; 16] = b"SQLite format 3\0";

impl Store {
    /// Takes over all entries and files of another workshop, or of a JSON Lines file,
    /// or nothing. Which of two workshops takes the other over makes no difference,
    /// nor does doing it twice. Where one of them erased a body, it stays erased.
    ///
    /// # Errors
    /// The other can't be read or its chains don't hold, an entry stands in both with
    /// different contents, or this workshop can't be written.
    pub fn merge(&mut self, other: &Path) -> Result<Outcome, StoreError> {
        let io = |error| StoreError::io(other, error);
        let mut file = File::open(other).map_err(io)?;
        let mut start = Vec::new();
        (&mut file).take(SQLITE_MAGIC.len() as u64).read_to_end(&mut start).map_err(io)?;
        if start == SQLITE_MAGIC {
            drop(file);
            return self.merge_store(&Store::open_read_only(other)?);
        }
        file.rewind().map_err(io)?;
        self.import(BufReader::new(file))
    }

    /// Takes over all entries and files of another open workshop; see [`Store::merge`].
    ///
    /// # Errors
    /// As [`Store::merge`].
    pub fn merge_store(&mut self, other: &Store) -> Result<Outcome, StoreError> {
        self.take(|taker| {
            let sql = other.sql();
            let tx = other.conn.unchecked_transaction().map_err(&sql)?;
            let mut statement = tx.prepare("SELECT hash, bytes FROM files").map_err(&sql)?;
            let mut rows = statement.query(()).map_err(&sql)?;
            while let Some(row) = rows.next().map_err(&sql)? {
                let (digest, bytes) = (hash(row, 0).map_err(&sql)?, row.get::<_, Vec<u8>>(1).map_err(&sql)?);
                if wire::digest(&bytes) != digest {
                    return Err(StoreError::BrokenChain(format!("file {digest}: its bytes were altered")));
                }
                taker.file(digest, &bytes)?;
            }
            let mut statement = tx.prepare("SELECT head, body FROM entries ORDER BY row").map_err(&sql)?;
            let mut rows = statement.query(()).map_err(&sql)?;
            while let Some(row) = rows.next().map_err(&sql)? {
                let head_text = text(row, 0).map_err(&sql)?.unwrap_or_default();
                let head = row::head(&other.path, head_text)?;
                let body = text(row, 1).map_err(&sql)?;
                if body.is_some_and(|body| wire::digest(body.as_bytes()) != head.body) {
                    return Err(StoreError::BrokenChain(format!(
                        "entry {}: its body was altered",
                        head.stamp.id
                    )));
                }
                taker.entry(&head, head_text, body)?;
            }
            Ok(())
        })
    }

    /// Runs `give` inside one transaction, which is kept only when all of it and the
    /// chains hold.
    pub(crate) fn take(
        &mut self,
        give: impl FnOnce(&mut Taker<'_>) -> Result<(), StoreError>,
    ) -> Result<Outcome, StoreError> {
        self.writer()?;
        let sql = self.sql();
        let path = self.path.clone();
        let before = self.extent()?.last_row;
        let tx = self.conn.transaction_with_behavior(TransactionBehavior::Immediate).map_err(&sql)?;
        let (outcome, last_erased) = {
            let insert = Inserter::new(&tx).map_err(&sql)?;
            let mut taker =
                Taker { conn: &tx, path: &path, insert, outcome: Outcome::default(), last_erased: None };
            give(&mut taker)?;
            (taker.outcome, taker.last_erased)
        };
        if outcome.added > 0 {
            check_new(&tx, &path, before)?;
        }
        count(&tx, outcome.erased).map_err(&sql)?;
        tx.commit().map_err(&sql)?;
        if let Some(entry) = last_erased {
            self.empty_journal(entry)?;
        }
        Ok(outcome)
    }
}

/// Takes over entries and files, one by one.
pub(crate) struct Taker<'c> {
    conn: &'c Connection,
    path: &'c Path,
    insert: Inserter<'c>,
    outcome: Outcome,
    last_erased: Option<EntryId>,
}

impl Taker<'_> {
    /// Takes over an entry whose body matches its head.
    pub(crate) fn entry(
        &mut self,
        head: &Head,
        head_text: &str,
        body: Option<&str>,
    ) -> Result<(), StoreError> {
        let path: PathBuf = self.path.to_owned();
        let sql = move |error| StoreError::sql(&path, error);
        let entry = head.stamp.id;
        let ours = self
            .conn
            .prepare_cached("SELECT head, body IS NULL FROM entries WHERE id = ?1")
            .and_then(|mut statement| {
                statement
                    .query_row([entry.0.to_be_bytes()], |row| {
                        Ok((text(row, 0)? == Some(head_text), row.get::<_, bool>(1)?))
                    })
                    .optional()
            })
            .map_err(&sql)?;
        match ours {
            None => {
                self.insert.put(head, head_text, body).map_err(&sql)?;
                self.outcome.added += 1;
            }
            Some((false, _)) => return Err(StoreError::Differs { entry }),
            Some((true, erased_here)) => {
                if body.is_none() && !erased_here {
                    blank(self.conn, entry).map_err(&sql)?;
                    self.outcome.erased += 1;
                    self.last_erased = Some(entry);
                }
                self.outcome.known += 1;
            }
        }
        Ok(())
    }

    /// Takes over a file whose bytes match its digest.
    pub(crate) fn file(&mut self, digest: Digest, bytes: &[u8]) -> Result<(), StoreError> {
        let new = put_file(self.conn, digest, bytes).map_err(|error| StoreError::sql(self.path, error))?;
        self.outcome.files_added += u64::from(new);
        Ok(())
    }
}
