//! Writing down new entries.

use register::entry::{Body, Stamp};
use register::id::{DeviceId, Digest, EntryId, ReplicaId};
use register::time::{Clock, Moment};
use rusqlite::{Connection, OptionalExtension as _, TransactionBehavior};
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
        let tx = self.conn.transaction_with_behavior(TransactionBehavior::Immediate).map_err(&sql)?;
        for bytes in files {
            put_file(&tx, wire::digest(bytes), bytes).map_err(&sql)?;
        }
        let mut end = End::of(&tx, replica).map_err(&sql)?;
        let mut written = Vec::with_capacity(drafts.len());
        {
            let mut insert = Inserter::new(&tx).map_err(&sql)?;
            for draft in drafts {
                if let Body::Family { file, .. } | Body::Mapping { file, .. } = draft.body
                    && !has_file(&tx, file).map_err(&sql)?
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
        let clock: Option<i64> =
            conn.prepare_cached("SELECT max(clock) FROM entries")?.query_row((), |row| row.get(0))?;
        let last = conn
            .prepare_cached(
                "SELECT seq, hash FROM entries WHERE replica = ?1 ORDER BY seq DESC, row DESC LIMIT 1",
            )?
            .query_row([replica.0.to_be_bytes()], |row| Ok((row.get::<_, i64>(0)?, hash(row, 1)?)))
            .optional()?;
        let (seq, hash) = last.unwrap_or((0, Digest([0; 32])));
        Ok(End { seq: seq.cast_unsigned(), hash, clock: Clock(clock.unwrap_or(0).cast_unsigned()) })
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
