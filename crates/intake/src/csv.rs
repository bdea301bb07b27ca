//! CSV inventories from anyone's spreadsheet, and back.
//!
//! Quoting follows RFC 4180; what spreadsheets do beyond it (other delimiters, other
//! encodings, decimal commas) is described in `docs/csv.md`.

pub mod decode;
pub mod header;
mod job;
pub mod mapping;
mod row;
mod write;

pub use header::{Column, Header};
pub use job::{Job, Options, Progress, Read, read};
pub use mapping::{Mapping, Target};
pub use write::write;

/// The largest file, bytes.
pub const LARGEST_FILE_BYTES: usize = 64 << 20;

/// The most rows.
pub const MOST_ROWS: u64 = 1_000_000;

/// The most columns.
pub const MOST_COLUMNS: usize = 200;

/// Why a file can't be read at all.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    /// Too many bytes.
    #[error("the list has {bytes} bytes; up to 64 MiB are read; split it")]
    TooLarge {
        /// How many.
        bytes: usize,
    },
    /// Too many columns.
    #[error("the list has {columns} columns; up to 200 are read; leave out those that Holdfast doesn't need")]
    TooWide {
        /// How many.
        columns: usize,
    },
    /// Nothing in it.
    #[error("the list is empty; its first row must hold the names of the columns")]
    Empty,
    /// The mapping names a column that isn't there.
    #[error("the list has no column `{column}`; map its columns again")]
    NoColumn {
        /// The column.
        column: String,
    },
    /// Two columns for one thing.
    #[error("the columns `{one}` and `{other}` are both mapped to `{target}`; ignore one of them")]
    Twice {
        /// The first.
        one: String,
        /// The second.
        other: String,
        /// What both are mapped to.
        target: &'static str,
    },
    /// A column of secrets would end up in plain sight.
    #[error(
        "the column `{column}` looks as if it held link secrets, but is mapped to `{target}`, which is shown; \
         map it to `secret` or `ignore`, or rename it"
    )]
    ShownSecret {
        /// The column.
        column: String,
        /// What it is mapped to.
        target: &'static str,
    },
    /// Nothing names the devices.
    #[error("no column is mapped to `code`, `name` or `id`; rows can't be told apart without one")]
    NoKey,
    /// Nothing says what the rows are.
    #[error("no column is mapped to `sort`; say whether the rows are transmitters, receivers or aircraft")]
    NoSort,
    /// A stored mapping can't be read.
    #[error("the column mapping can't be read{at}; map the columns again")]
    BadMapping {
        /// ` (line 3)`, or empty.
        at: String,
    },
}

/// Whether a cell needs an apostrophe before it, so that a spreadsheet doesn't take it
/// for a formula and the reader takes it word for word. `field` is the fact it holds.
pub(crate) fn needs_guard(cell: &str, field: Option<register::field::Field>) -> bool {
    use register::field::Field;
    let starts = |c: char| matches!(c, '=' | '+' | '-' | '@');
    cell.is_empty()
        || cell.starts_with(starts)
        || cell.trim() != cell
        || cell == "?"
        || matches!(field, Some(Field::Band | Field::Firmware)) && row::has_decimal_comma(cell)
}

/// Takes the guard off: the words, and whether they were guarded.
pub(crate) fn unguarded(cell: &str, field: Option<register::field::Field>) -> (&str, bool) {
    match cell.strip_prefix('\'') {
        Some(rest) if needs_guard(cell.trim_start_matches('\''), field) => (rest, true),
        _ => (cell.trim(), false),
    }
}

/// Puts the guard on where it is needed.
pub(crate) fn guarded(cell: &str, field: Option<register::field::Field>) -> std::borrow::Cow<'_, str> {
    if needs_guard(cell.trim_start_matches('\''), field) { format!("'{cell}").into() } else { cell.into() }
}
