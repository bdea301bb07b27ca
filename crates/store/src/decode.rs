//! Bodies decoded on a second core, while the first one reads rows.

use std::ops::Range;
use std::sync::mpsc::{channel, sync_channel};
use std::thread;

use register::entry::{Body, Stamp};
use rusqlite::{Row, Rows};
use wire::body::decode;

use crate::row::{stamp, text};

/// Rows handed over at once.
const BATCH: usize = 2048;

/// Batches that may wait for the second core.
const WAITING: usize = 4;

/// Rows as they were read: the texts of all of them one after the other.
#[derive(Default)]
struct Batch {
    texts: String,
    rows: Vec<Raw>,
}

struct Raw {
    stamp: Stamp,
    kind: Range<usize>,
    version: u32,
    body: Option<Range<usize>>,
}

impl Batch {
    fn push(&mut self, row: &Row<'_>) -> rusqlite::Result<()> {
        let raw = Raw {
            stamp: stamp(row)?,
            kind: self.keep(text(row, 6)?.unwrap_or_default()),
            version: row.get(7)?,
            body: text(row, 8)?.map(|body| self.keep(body)),
        };
        self.rows.push(raw);
        Ok(())
    }

    fn keep(&mut self, text: &str) -> Range<usize> {
        let start = self.texts.len();
        self.texts.push_str(text);
        start..self.texts.len()
    }

    fn decode(self) -> Vec<(Stamp, Body)> {
        let Batch { texts, rows } = self;
        let read = |raw: Raw| {
            let body = raw.body.map(|body| decode(&texts[raw.kind], raw.version, &texts[body]));
            (raw.stamp, body.unwrap_or(Body::Opaque))
        };
        rows.into_iter().map(read).collect()
    }
}

/// Calls `f` with every row's entry, in the order of the rows.
pub(crate) fn for_each(rows: &mut Rows<'_>, mut f: impl FnMut(Stamp, Body)) -> rusqlite::Result<()> {
    let mut give = |entries: Vec<(Stamp, Body)>| entries.into_iter().for_each(|(stamp, body)| f(stamp, body));
    thread::scope(|scope| {
        let (batches, to_decode) = sync_channel::<Batch>(WAITING);
        let (decoded, entries) = channel();
        scope.spawn(move || {
            // Ends when there are no more batches, or when the reader gave up.
            for batch in to_decode {
                if decoded.send(batch.decode()).is_err() {
                    break;
                }
            }
        });
        let mut batch = Batch::default();
        while let Some(row) = rows.next()? {
            batch.push(row)?;
            if batch.rows.len() == BATCH {
                // The other side only ends after this one.
                let _ = batches.send(std::mem::take(&mut batch));
                entries.try_iter().for_each(&mut give);
            }
        }
        let _ = batches.send(batch);
        drop(batches);
        entries.iter().for_each(give);
        Ok(())
    })
}
