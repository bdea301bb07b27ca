//! Reads a list piece by piece, so that a door can show progress and stop.

use std::fmt;
use std::io::Cursor;

use register::field::Sort;

use super::header::{Source, is_blank, reader};
use super::mapping::{Mapping, Target};
use super::row::{Builder, Cells};
use super::{MOST_ROWS, Refused};
use crate::inventory::{BadRow, Inventory, Origin};

/// How to read a list, beyond its mapping.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Options {
    /// What the rows are, where no cell says so; goes before what the mapping says.
    pub rows: Option<Sort>,
}

/// How far a job is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// Rows looked at, without the header.
    pub rows_done: u64,
    /// Bytes looked at.
    pub bytes_done: u64,
    /// Bytes of the whole list (as UTF-8).
    pub bytes_total: u64,
    /// Whether that was all.
    pub finished: bool,
}

/// What a list holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Read {
    /// What could be read.
    pub inventory: Inventory,
    /// Rows that can't be taken.
    pub bad: Vec<BadRow>,
    /// What the person should know about how the list was read.
    pub notes: Vec<String>,
    /// How many rows there are, without the header.
    pub rows: u64,
}

/// A list being read.
pub struct Job {
    reader: ::csv::Reader<Cursor<Vec<u8>>>,
    record: ::csv::StringRecord,
    builder: Builder,
    notes: Vec<String>,
    bytes_total: u64,
    /// The number that a spreadsheet shows for the record last read.
    row: u64,
    /// Line feeds before the next record.
    lines: u64,
    /// Whether the record before ended with a carriage return, whose line feed is yet
    /// to come.
    after_return: bool,
    /// Where the record last read starts.
    from: usize,
    rows_done: u64,
    finished: bool,
}

impl fmt::Debug for Job {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // The cells may hold secrets.
        f.debug_struct("Job").field("progress", &self.progress()).finish_non_exhaustive()
    }
}

/// Reads a whole list at once.
///
/// ```
/// use intake::csv::{Mapping, Options, Target, read};
/// use register::field::Sort;
/// let mapping = Mapping {
///     columns: vec![("Nr".to_owned(), Target::Code), ("FW".to_owned(), Target::Firmware)],
///     rows: Some(Sort::Receiver),
/// };
/// let list = read(b"Nr;FW\nR7;4,1\n".to_vec(), &mapping, Options::default())?;
/// assert_eq!(list.inventory.items.len(), 1);
/// assert!(list.bad.is_empty());
/// # Ok::<(), intake::csv::Refused>(())
/// ```
///
/// # Errors
/// The list can't be read at all, or not with this mapping.
pub fn read(bytes: Vec<u8>, mapping: &Mapping, options: Options) -> Result<Read, Refused> {
    let mut job = Job::begin(bytes, mapping, options)?;
    while !job.advance(u64::MAX).finished {}
    Ok(job.finish())
}

impl Job {
    /// Takes a list in; reads its header only.
    ///
    /// # Errors
    /// The list can't be read at all, or not with this mapping.
    pub fn begin(bytes: Vec<u8>, mapping: &Mapping, options: Options) -> Result<Job, Refused> {
        let was_stated = bytes.starts_with(b"sep=");
        let source = Source::of(bytes)?;
        let mut mapping = mapping.clone();
        mapping.rows = options.rows.or(mapping.rows);
        mapping.check(&source.names)?;
        let targets: Vec<Target> = source
            .names
            .iter()
            .map(|name| {
                let found = mapping.columns.iter().find(|(column, _)| column == name);
                found.map_or(Target::Ignore, |(_, target)| *target)
            })
            .collect();
        let notes = source.encoding.note().map(str::to_owned).into_iter().collect();
        let was_stated = was_stated && !source.text.starts_with("sep=");
        let bytes_total = source.text.len() as u64;
        let mut job = Job {
            reader: reader(source.text.into_bytes(), source.delimiter),
            record: ::csv::StringRecord::new(),
            builder: Builder::new(source.names, targets, mapping.rows, source.delimiter),
            notes,
            bytes_total,
            row: 0,
            lines: 0,
            after_return: false,
            from: 0,
            rows_done: 0,
            finished: false,
        };
        // The header.
        while job.next().is_some() && is_blank(&job.record) {}
        if was_stated {
            // Spreadsheets don't show the line that states the delimiter.
            job.row -= 1;
        }
        Ok(job)
    }

    /// Reads up to so many rows more.
    pub fn advance(&mut self, most_rows: u64) -> Progress {
        let mut left = most_rows;
        while left > 0 && !self.finished {
            let Some(line) = self.next() else {
                self.finished = true;
                break;
            };
            left -= 1;
            if is_blank(&self.record) {
                continue;
            }
            if self.rows_done == MOST_ROWS {
                self.builder.refuse(
                    self.row,
                    line,
                    "",
                    "the list has more than 1,000,000 rows; this row and those below are not read; split the list",
                );
                self.finished = true;
                break;
            }
            self.rows_done += 1;
            if self.swallows_the_rest() {
                self.builder.refuse(
                    self.row,
                    line,
                    "",
                    "a quotation mark opened in this row is never closed, so the rows below it are not read; close \
                     it or take it out",
                );
                continue;
            }
            self.builder.row(&Cells { record: &self.record, row: self.row, line });
        }
        self.progress()
    }

    /// How far it is.
    pub fn progress(&self) -> Progress {
        Progress {
            rows_done: self.rows_done,
            bytes_done: if self.finished { self.bytes_total } else { self.reader.position().byte() },
            bytes_total: self.bytes_total,
            finished: self.finished,
        }
    }

    /// What was read so far, which is all when `advance` says finished.
    pub fn finish(self) -> Read {
        let rows = self.rows_done;
        let (mut inventory, mut bad) = self.builder.finish();
        inventory.origin = Origin::Csv;
        bad.sort_by_key(|bad| bad.row);
        Read { inventory, bad, notes: self.notes, rows }
    }

    /// Reads the next record and says on which line it starts; keeps count of rows as a
    /// spreadsheet does, where an empty line is a row and a cell of several lines is not.
    fn next(&mut self) -> Option<u64> {
        let from = usize::try_from(self.reader.position().byte()).ok()?;
        self.from = from;
        // The bytes were text before; reading memory doesn't fail.
        if !self.reader.read_record(&mut self.record).unwrap_or(false) {
            return None;
        }
        let to = usize::try_from(self.reader.position().byte()).ok()?;
        let raw = self.reader.get_ref().get_ref().get(from..to)?;
        let blank = raw.iter().take_while(|byte| matches!(byte, b'\r' | b'\n')).count();
        let mut ends = &raw[..blank];
        let mut skipped_feeds = count(ends, b'\n');
        if self.after_return && ends.first() == Some(&b'\n') {
            ends = &ends[1..];
        }
        while let [first, rest @ ..] = ends {
            self.row += 1;
            ends = if *first == b'\r' && rest.first() == Some(&b'\n') { &rest[1..] } else { rest };
        }
        self.row += 1;
        let line = self.lines + skipped_feeds + 1;
        skipped_feeds += count(&raw[blank..], b'\n');
        self.lines += skipped_feeds;
        self.after_return = raw.last() == Some(&b'\r');
        Some(line)
    }

    /// Whether the record just read is the last and ends within an open quotation.
    fn swallows_the_rest(&self) -> bool {
        if self.reader.position().byte() < self.bytes_total {
            return false;
        }
        let last = self.record.iter().next_back().unwrap_or_default();
        let raw = self.reader.get_ref().get_ref().get(self.from..).unwrap_or_default();
        // A quotation that is closed has two marks, and one within it is doubled.
        last.contains('\n') && count(raw, b'"') % 2 == 1
    }
}

#[expect(clippy::naive_bytecount, reason = "a row is short; no dependency for that")]
fn count(bytes: &[u8], wanted: u8) -> u64 {
    bytes.iter().filter(|byte| **byte == wanted).count() as u64
}
