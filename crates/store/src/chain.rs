//! The chains of hashes, one per replica.

use std::fmt;
use std::path::Path;

use register::id::{Digest, EntryId, ReplicaId};
use rusqlite::{Connection, Row};
use wire::head::Head;

use crate::error::StoreError;
use crate::row::{hash, id, text};

/// What a check of a logbook found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Problem {
    /// The database itself is damaged.
    Database(String),
    /// An entry's head is not what was hashed when it was written.
    Head {
        /// The entry.
        entry: EntryId,
        /// Its place in its replica's chain.
        seq: u64,
    },
    /// An entry's body is not what was written.
    Body {
        /// The entry.
        entry: EntryId,
        /// Its place in its replica's chain.
        seq: u64,
    },
    /// A column doesn't repeat what the head says.
    Column {
        /// The entry.
        entry: EntryId,
        /// Which column.
        column: &'static str,
    },
    /// Entries are missing from a chain.
    Missing {
        /// Whose chain.
        replica: ReplicaId,
        /// The first missing one.
        from: u64,
        /// The last missing one.
        to: u64,
        /// The entry after the gap.
        before: EntryId,
    },
    /// An entry doesn't name the hash of the one before it.
    Prev {
        /// The entry.
        entry: EntryId,
        /// Whose chain.
        replica: ReplicaId,
        /// Its place in it.
        seq: u64,
    },
    /// Two entries stand in the same place of one chain: the replica was copied and
    /// both copies wrote.
    Fork {
        /// Whose chain.
        replica: ReplicaId,
        /// The place.
        seq: u64,
        /// The entries.
        entries: [EntryId; 2],
    },
    /// A file's bytes are not those its name promises.
    File(Digest),
    /// An entry names a file that isn't there.
    FileMissing {
        /// The entry.
        entry: EntryId,
        /// The file.
        file: Digest,
    },
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Problem::Database(what) => write!(f, "the database is damaged: {what}"),
            Problem::Head { entry, seq } => {
                write!(f, "entry {entry} (number {seq} of its replica): its head was altered")
            }
            Problem::Body { entry, seq } => {
                write!(f, "entry {entry} (number {seq} of its replica): its body was altered")
            }
            Problem::Column { entry, column } => {
                write!(f, "entry {entry}: column `{column}` does not say what its head says")
            }
            Problem::Missing { replica, from, to, before } if from == to => {
                write!(f, "replica {replica}: number {from} is missing, before entry {before}")
            }
            Problem::Missing { replica, from, to, before } => {
                write!(f, "replica {replica}: numbers {from} to {to} are missing, before entry {before}")
            }
            Problem::Prev { entry, replica, seq } => write!(
                f,
                "replica {replica}: entry {entry} (number {seq}) does not follow the entry before it; one of the two was altered"
            ),
            Problem::Fork { replica, seq, entries: [one, other] } => write!(
                f,
                "replica {replica} is forked: its number {seq} is both entry {one} and entry {other}"
            ),
            Problem::File(digest) => write!(f, "file {digest}: its bytes were altered"),
            Problem::FileMissing { entry, file } => {
                write!(f, "entry {entry} names the file {file}, which is missing")
            }
        }
    }
}

/// How far into a chain a walk has come.
pub(crate) struct Walk {
    replica: ReplicaId,
    /// The place reached, and the entries in it: several when forked.
    seq: u64,
    here: Vec<(EntryId, Digest)>,
    /// The hashes of the place before.
    before: Vec<Digest>,
}

/// What the walk looks at.
pub(crate) struct Step {
    pub(crate) entry: EntryId,
    pub(crate) replica: ReplicaId,
    pub(crate) seq: u64,
    pub(crate) prev: Digest,
    pub(crate) hash: Digest,
}

impl Walk {
    /// Before every chain.
    pub(crate) fn new() -> Walk {
        Walk { replica: ReplicaId(0), seq: 0, here: Vec::new(), before: Vec::new() }
    }

    /// Takes the next entry, in the order of replica and sequence number.
    pub(crate) fn step(&mut self, step: &Step, problems: &mut Vec<Problem>) {
        let &Step { entry, replica, seq, prev, hash } = step;
        if replica != self.replica || self.here.is_empty() {
            *self = Walk { replica, seq: 0, here: Vec::new(), before: vec![Digest([0; 32])] };
        }
        if seq == self.seq && !self.here.is_empty() {
            problems.push(Problem::Fork { replica, seq, entries: [self.here[0].0, entry] });
            self.here.push((entry, hash));
        } else {
            let gap = seq > self.seq + 1;
            if gap {
                problems.push(Problem::Missing { replica, from: self.seq + 1, to: seq - 1, before: entry });
            }
            if !self.here.is_empty() {
                self.before = self.here.iter().map(|(_, hash)| *hash).collect();
            }
            self.seq = seq;
            self.here = vec![(entry, hash)];
            if gap {
                self.before.clear();
                self.before.push(prev); // nothing can be said across a gap
            }
        }
        if seq == 0 || !self.before.contains(&prev) {
            problems.push(Problem::Prev { entry, replica, seq });
        }
    }
}

/// Whether the entries with a row greater than `after_row` continue their replicas'
/// chains. Forks pass: they are kept, and [`crate::Store::verify`] shows them.
///
/// # Errors
/// They don't, or the workshop can't be read.
pub(crate) fn check_new(conn: &Connection, path: &Path, after_row: i64) -> Result<(), StoreError> {
    let sql = |error| StoreError::sql(path, error);
    let mut statement = conn
        .prepare(
            "SELECT id, replica, seq, hash, head, row FROM entries
             WHERE replica IN (SELECT DISTINCT replica FROM entries WHERE row > ?1)
             ORDER BY replica, seq, id",
        )
        .map_err(sql)?;
    let mut rows = statement.query([after_row]).map_err(sql)?;
    let mut walk = Walk::new();
    let mut problems = Vec::new();
    while let Some(row) = rows.next().map_err(sql)? {
        let new = row.get::<_, i64>(5).map_err(sql)? > after_row;
        let Some(step) = step(row).map_err(sql)? else { continue };
        walk.step(&step, &mut problems);
        let broken = problems.drain(..).find(|problem| !matches!(problem, Problem::Fork { .. }));
        if let Some(problem) = broken.filter(|_| new) {
            return Err(StoreError::BrokenChain(problem.to_string()));
        }
    }
    Ok(())
}

/// Reads id, replica, seq, hash, head; nothing when the head can't be read.
fn step(row: &Row<'_>) -> rusqlite::Result<Option<Step>> {
    let Ok(head) = Head::decode(text(row, 4)?.unwrap_or_default()) else { return Ok(None) };
    Ok(Some(Step {
        entry: EntryId(id(row, 0)?),
        replica: ReplicaId(id(row, 1)?),
        seq: row.get::<_, i64>(2)?.cast_unsigned(),
        prev: head.prev,
        hash: hash(row, 3)?,
    }))
}
