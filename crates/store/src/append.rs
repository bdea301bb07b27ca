//! Writing down new entries.

use register::entry::{Body, Stamp};
use register::id::{DeviceId, Digest, EntryId, ReplicaId};
use register::time::{Clock, Moment};
use rusqlite::Connection;
use uuid::{NoContext, Timestamp, Uuid};
use wire::body::encode;
use wire::head::Head;

use crate::error::StoreError;
use crate::open::Store;
use crate::row::{Inserter, hash};

/// An entry to be written.
#[derive(Clone, Debug, PartialEq)]
pub struct Draft {
    /// When what it says was seen.
    pub seen: Moment,
    /// Which device it speaks about.
    pub subject: DeviceId,
    /// What it says.
    pub body: Body,
}

/// An entry that was written, as a register takes it.
#[derive(Clone, Debug, PartialEq)]
pub struct Written {
    /// Its name, order and times.
    pub stamp: Stamp,
    /// What it says.
    pub body: Body,
}

/// A transaction by prepared statements: a single entry is written by so little that
/// preparing `BEGIN` and `COMMIT` anew would be felt. Dropped, it is rolled back.
struct Write<'c>(&'c Connection);

impl<'c> Write<'c> {
    fn begin(conn: &'c Connection) -> rusqlite::Result<Write<'c>> {
        conn.prepare_cached("BEGIN IMMEDIATE")?.execute(())?;
        Ok(Write(conn))
    }

    fn commit(self) -> rusqlite::Result<()> {
        self.0.prepare_cached("COMMIT")?.execute(()).map(|_| ())
        // Where it fails, the drop below rolls back.
    }
}

impl Drop for Write<'_> {
    fn drop(&mut self) {
        // After a commit there is no transaction left; a roll-back that fails leaves
        // SQLite to undo the work when the file is next opened.
        if !self.0.is_autocommit() {
            let _ = self.0.execute_batch("ROLLBACK");
        }
    }
}

impl Store {
    /// Writes the drafts, and the files they name, all or none of them. When this
    /// returns, they are on the disk.
    ///
    /// # Errors
    /// The workshop can't be written (see [`StoreError`]), or a draft names a file
    /// that is neither given nor there.
    pub fn append(
        &mut self,
        now: Moment,
        author: &str,
        drafts: &[Draft],
        files: &[Vec<u8>],
    ) -> Result<Vec<Written>, StoreError> {
        let replica = self.writer()?;
        let sql = self.sql();
        let tx = Write::begin(&self.conn).map_err(&sql)?;
        for bytes in files {
            put_file(tx.0, wire::digest(bytes), bytes).map_err(&sql)?;
        }
        let mut end = End::of(tx.0, replica).map_err(&sql)?;
        let mut written = Vec::with_capacity(drafts.len());
        {
            let mut insert = Inserter::new(tx.0).map_err(&sql)?;
            for draft in drafts {
                if let Body::Family { file, .. } | Body::Mapping { file, .. } = draft.body
                    && !has_file(tx.0, file).map_err(&sql)?
                {
                    return Err(StoreError::FileMissing(file));
                }
                let body = encode(&draft.body, salt()?).ok_or(StoreError::OpaqueDraft)?;
                let head = Head {
                    stamp: Stamp {
                        id: entry_id(now),
                        replica,
                        // A foreign clock at the end of time can't be passed; ids break the tie.
                        clock: end.clock.next(now).min(LAST_CLOCK),
                        seen: draft.seen,
                        recorded: now,
                        subject: draft.subject,
                    },
                    seq: end.seq + 1,
                    prev: end.hash,
                    author: author.to_owned(),
                    kind: body.kind.to_owned(),
                    version: body.version,
                    body: wire::digest(body.text.as_bytes()),
                };
                let hash = insert.put(&head, &head.encode(), Some(&body.text)).map_err(&sql)?;
                end = End { seq: head.seq, hash, clock: head.stamp.clock };
                written.push(Written { stamp: head.stamp, body: draft.body.clone() });
            }
        }
        tx.commit().map_err(&sql)?;
        Ok(written)
    }
}

const LAST_CLOCK: Clock = Clock(i64::MAX.cast_unsigned());

/// Where a replica's chain goes on.
struct End {
    seq: u64,
    hash: Digest,
    clock: Clock,
}

impl End {
    fn of(conn: &Connection, replica: ReplicaId) -> rusqlite::Result<End> {
        // The replica stands in the text: SQLite plans a query anew whenever a bound value
        // that its plan looked at is bound again, which cost more than the query itself.
        let query = format!(
            "SELECT (SELECT max(clock) FROM entries),
                    (SELECT seq FROM entries WHERE replica = x'{0:032x}' ORDER BY seq DESC, row DESC LIMIT 1),
                    (SELECT hash FROM entries WHERE replica = x'{0:032x}' ORDER BY seq DESC, row DESC LIMIT 1)",
            replica.0
        );
        let (clock, seq, hash) = conn.prepare_cached(&query)?.query_row((), |found| {
            let seq: Option<i64> = found.get(1)?;
            let hash = seq.map(|_| hash(found, 2)).transpose()?;
            Ok((found.get::<_, Option<i64>>(0)?, seq, hash))
        })?;
        Ok(End {
            seq: seq.unwrap_or(0).cast_unsigned(),
            hash: hash.unwrap_or(Digest([0; 32])),
            clock: Clock(clock.unwrap_or(0).cast_unsigned()),
        })
    }
}

/// Keeps a file under its digest.
pub(crate) fn put_file(conn: &Connection, digest: Digest, bytes: &[u8]) -> rusqlite::Result<bool> {
    conn.prepare_cached("INSERT OR IGNORE INTO files (hash, bytes) VALUES (?1, ?2)")?
        .execute((digest.0, bytes))
        .map(|rows| rows > 0)
}

/// Whether a file is kept.
pub(crate) fn has_file(conn: &Connection, digest: Digest) -> rusqlite::Result<bool> {
    conn.prepare_cached("SELECT 1 FROM files WHERE hash = ?1")?.exists([digest.0])
}

fn salt() -> Result<[u8; 16], StoreError> {
    let mut salt = [0; 16];
    getrandom::fill(&mut salt).map_err(|_| StoreError::Random)?;
    Ok(salt)
}

/// A UUID of version 7: 48 bits of time, the rest by chance.
fn entry_id(now: Moment) -> EntryId {
    let ms = u64::try_from(now.0).unwrap_or(0);
    // Below 1000, so it fits.
    let sub_ns = u32::try_from(ms % 1000).unwrap_or(0) * 1_000_000;
    EntryId(Uuid::new_v7(Timestamp::from_unix(NoContext, ms / 1000, sub_ns)).as_u128())
}
