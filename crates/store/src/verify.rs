//! Checking a whole workshop.

use register::entry::Body;
use register::id::{Digest, EntryId, ReplicaId};
use rusqlite::{Connection, Row};
use wire::body::decode;
use wire::head::Head;

use crate::append::has_file;
use crate::chain::{Problem, Step, Walk};
use crate::error::StoreError;
use crate::open::Store;
use crate::row::{hash, id, stamp, text};

/// What was checked, and what was found.
///
/// A chain proves that what is there was not altered and that nothing is missing from
/// its middle. That its newest entries were cut off can't be seen from the file alone.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Verification {
    /// How many entries there are.
    pub entries: u64,
    /// How many of them were erased.
    pub erased: u64,
    /// How many replicas wrote them.
    pub replicas: u64,
    /// How many files there are.
    pub files: u64,
    /// What is wrong, in the order of the chains; empty when all holds.
    pub problems: Vec<Problem>,
}

impl Verification {
    /// Whether all holds.
    pub fn holds(&self) -> bool {
        self.problems.is_empty()
    }
}

/// More problems than these tell nothing new.
const MOST_PROBLEMS: usize = 1000;

impl Store {
    /// Checks the database, every chain, every body and every file.
    ///
    /// # Errors
    /// The workshop can't be read at all. What is merely wrong in it is a [`Problem`].
    pub fn verify(&self) -> Result<Verification, StoreError> {
        let mut found = Verification::default();
        let tx = self.conn.unchecked_transaction().map_err(self.sql())?;
        let steps = [integrity, entries, files];
        for step in steps {
            match step(&tx, &mut found).map_err(self.sql()) {
                Ok(()) => {}
                Err(StoreError::Damaged { detail, .. }) => {
                    found.problems.push(Problem::Database(detail));
                }
                Err(other) => return Err(other),
            }
        }
        found.problems.truncate(MOST_PROBLEMS);
        Ok(found)
    }
}

fn integrity(conn: &Connection, found: &mut Verification) -> rusqlite::Result<()> {
    let mut statement = conn.prepare("PRAGMA integrity_check(10)")?;
    let mut rows = statement.query(())?;
    while let Some(row) = rows.next()? {
        let line: String = row.get(0)?;
        if line != "ok" {
            found.problems.push(Problem::Database(line));
        }
    }
    Ok(())
}

fn entries(conn: &Connection, found: &mut Verification) -> rusqlite::Result<()> {
    let mut statement = conn.prepare(
        "SELECT id, replica, clock, seen_ms, recorded_ms, subject, seq, kind, version, hash, head, body
         FROM entries ORDER BY replica, seq, id",
    )?;
    let mut rows = statement.query(())?;
    let mut walk = Walk::new();
    let mut last = None;
    while let Some(row) = rows.next()? {
        let replica = ReplicaId(id(row, 1)?);
        found.entries += 1;
        found.replicas += u64::from(last != Some(replica));
        found.erased += u64::from(text(row, 11)?.is_none());
        last = Some(replica);
        if found.problems.len() < MOST_PROBLEMS {
            entry(conn, row, &mut walk, &mut found.problems)?;
        }
    }
    Ok(())
}

fn entry(
    conn: &Connection,
    row: &Row<'_>,
    walk: &mut Walk,
    problems: &mut Vec<Problem>,
) -> rusqlite::Result<()> {
    let stamp = stamp(row)?;
    let (entry, seq) = (stamp.id, row.get::<_, i64>(6)?.cast_unsigned());
    let head_text = text(row, 10)?.unwrap_or_default();
    let hash = hash(row, 9)?;
    let head = Head::decode(head_text).ok();
    let prev = head.as_ref().map(|head| head.prev);
    if wire::digest(head_text.as_bytes()) != hash {
        problems.push(Problem::Head { entry, seq });
    } else if let Some(head) = head {
        let version: u32 = row.get(8)?;
        let columns = [
            ("id", head.stamp.id == stamp.id),
            ("replica", head.stamp.replica == stamp.replica),
            ("clock", head.stamp.clock == stamp.clock),
            ("seen_ms", head.stamp.seen == stamp.seen),
            ("recorded_ms", head.stamp.recorded == stamp.recorded),
            ("subject", head.stamp.subject == stamp.subject),
            ("seq", head.seq == seq),
            ("kind", text(row, 7)? == Some(&head.kind)),
            ("version", head.version == version),
        ];
        let wrong = columns.iter().filter(|(_, agrees)| !agrees);
        problems.extend(wrong.map(|&(column, _)| Problem::Column { entry, column }));
        body(conn, entry, &head, text(row, 11)?, problems)?;
    } else {
        problems.push(Problem::Head { entry, seq });
    }
    // The stored hash stands in for an altered head, so that only this entry is blamed.
    let step = Step { entry, replica: stamp.replica, seq, prev: prev.unwrap_or(Digest([0; 32])), hash };
    let before = problems.len();
    walk.step(&step, problems);
    if before > 0 && matches!(problems[before - 1], Problem::Head { entry: blamed, .. } if blamed == entry) {
        problems
            .retain(|problem| !matches!(problem, Problem::Prev { entry: blamed, .. } if *blamed == entry));
    }
    Ok(())
}

fn body(
    conn: &Connection,
    entry: EntryId,
    head: &Head,
    body: Option<&str>,
    problems: &mut Vec<Problem>,
) -> rusqlite::Result<()> {
    let Some(body) = body else { return Ok(()) };
    if wire::digest(body.as_bytes()) != head.body {
        problems.push(Problem::Body { entry, seq: head.seq });
    } else if let Body::Family { file, .. } | Body::Mapping { file, .. } =
        decode(&head.kind, head.version, body)
        && !has_file(conn, file)?
    {
        problems.push(Problem::FileMissing { entry, file });
    }
    Ok(())
}

fn files(conn: &Connection, found: &mut Verification) -> rusqlite::Result<()> {
    let mut statement = conn.prepare("SELECT hash, bytes FROM files ORDER BY hash")?;
    let mut rows = statement.query(())?;
    while let Some(row) = rows.next()? {
        found.files += 1;
        let name = hash(row, 0)?;
        if wire::digest(&row.get::<_, Vec<u8>>(1)?) != name {
            found.problems.push(Problem::File(name));
        }
    }
    Ok(())
}
