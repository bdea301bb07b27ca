//! What can go wrong, in words that say what to do.

use std::fmt::Write as _;
use std::io;
use std::path::{Path, PathBuf};

use register::id::{Digest, EntryId};
use rusqlite::ErrorCode;
use wire::lines::LineFault;

/// The workshop's file could not be read or written as asked.
///
/// Unless a variant says otherwise, nothing was changed.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// There is no file of that name.
    #[error("there is no workshop at {}; check the path, or begin one there", path.display())]
    Missing {
        /// Where it was looked for.
        path: PathBuf,
    },
    /// There is no folder to put the file in.
    #[error("there is no folder {}; make it first, or choose another place", folder.display())]
    MissingFolder {
        /// The folder.
        folder: PathBuf,
    },
    /// The disk is full.
    #[error("no room is left on the disk that holds {}; nothing of this change was recorded. Free some space and try again", path.display())]
    FullDisk {
        /// The workshop.
        path: PathBuf,
    },
    /// The file or its folder can't be written.
    #[error("{} can only be read, not written; nothing was recorded. Check the rights of the file and of its folder, or copy the workshop to a place you may write to", path.display())]
    ReadOnly {
        /// The workshop.
        path: PathBuf,
    },
    /// The file or its folder can't even be read.
    #[error("{} can't be opened; check that it is a file and that you may read it and its folder", path.display())]
    CannotOpen {
        /// The workshop.
        path: PathBuf,
    },
    /// Another program holds the file for too long.
    #[error("another program has kept {} locked for 10 seconds; nothing was recorded. Wait for it, or end it, and try again", path.display())]
    Locked {
        /// The workshop.
        path: PathBuf,
    },
    /// The file was made by a newer program.
    #[error("{} was written by a newer Holdfast (schema {found}, this program knows {known}); update the program", path.display())]
    NewerSchema {
        /// The workshop.
        path: PathBuf,
        /// The file's schema.
        found: i64,
        /// This program's schema.
        known: i64,
    },
    /// The file's list of migrations is not this program's.
    #[error("{}: {what}; the file was changed by another program. Restore the last backup", path.display())]
    Migration {
        /// The workshop.
        path: PathBuf,
        /// Which migration, and what about it.
        what: String,
    },
    /// A database, but of another program.
    #[error("{} is not a workshop; it belongs to another program", path.display())]
    NotAWorkshop {
        /// The file.
        path: PathBuf,
    },
    /// The file is damaged.
    #[error("{} is damaged ({detail}). Keep the file as it is and restore the last backup to a new place", path.display())]
    Damaged {
        /// The workshop.
        path: PathBuf,
        /// What was found.
        detail: String,
    },
    /// The file's disk failed.
    #[error("the disk that holds {} failed or is full ({detail}); nothing of this change was recorded. Check the disk and its free space", path.display())]
    Disk {
        /// The workshop.
        path: PathBuf,
        /// What SQLite said.
        detail: String,
    },
    /// The file was replaced (by a restore, or by hand) while it was open.
    #[error("{} was replaced or removed while it was open; nothing was recorded. Start again", path.display())]
    Replaced {
        /// The workshop.
        path: PathBuf,
    },
    /// A file stands where a new one is to be written.
    #[error("{} already exists; it was left as it is. Choose another name", path.display())]
    Exists {
        /// The file.
        path: PathBuf,
    },
    /// An entry names a file that the workshop doesn't hold.
    #[error("the file {0} is not in the workshop and was not given with the entry")]
    FileMissing(Digest),
    /// A body that this program can't read can't be written as new.
    #[error("an entry of a kind this program doesn't know can't be written as new")]
    OpaqueDraft,
    /// There is no such entry.
    #[error("there is no entry {0} in this workshop")]
    NoEntry(EntryId),
    /// The same entry with other bytes.
    #[error(
        "entry {entry} stands in both with different contents; one of them was altered, so nothing was taken over. `verify` both to see which"
    )]
    Differs {
        /// The entry.
        entry: EntryId,
    },
    /// A chain that doesn't hold was offered.
    #[error("nothing was taken over: {0}")]
    BrokenChain(String),
    /// Lines that can't be read.
    #[error("nothing was taken over: {}", bad_lines(.lines, *.count))]
    BadLines {
        /// The first of them.
        lines: Vec<BadLine>,
        /// How many there are.
        count: usize,
    },
    /// The backup to be restored doesn't verify.
    #[error("{} does not verify, so it was not restored: {problem}", path.display())]
    BadBackup {
        /// The backup.
        path: PathBuf,
        /// The first problem.
        problem: String,
    },
    /// The entry was erased, but its text may still stand in the file's journal.
    #[error("entry {entry} is erased, but another program is reading {}, so the old text may still stand in the journal beside it; end that program and erase again", path.display())]
    JournalInUse {
        /// The entry.
        entry: EntryId,
        /// The workshop.
        path: PathBuf,
    },
    /// Two key files, or none where one should be.
    #[error("{}: {what}", path.display())]
    Key {
        /// The key file or folder.
        path: PathBuf,
        /// What is wrong with it, and what to do.
        what: String,
    },
    /// A file other than the workshop could not be read or written.
    #[error("{}: {source}", path.display())]
    Io {
        /// The file.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// The system gave no random bytes.
    #[error("the system gave no random bytes; nothing was recorded")]
    Random,
    /// Anything else SQLite says.
    #[error("{}: {source}", path.display())]
    Sql {
        /// The workshop.
        path: PathBuf,
        /// Why.
        source: rusqlite::Error,
    },
}

/// A line that can't be taken over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BadLine {
    /// Its number, counted from 1.
    pub line: usize,
    /// What is wrong with it.
    pub fault: LineFault,
}

/// How many bad lines an error message names.
const SHOWN_LINES: usize = 10;

fn bad_lines(lines: &[BadLine], count: usize) -> String {
    let mut out = if count == 1 { "1 bad line".to_owned() } else { format!("{count} bad lines") };
    for BadLine { line, fault } in lines.iter().take(SHOWN_LINES) {
        write!(out, "\n  line {line}: {fault}").expect("writing to a string can't fail");
    }
    if count > SHOWN_LINES {
        write!(out, "\n  and {} more", count - SHOWN_LINES).expect("writing to a string can't fail");
    }
    out
}

impl StoreError {
    /// What an SQLite error means for the workshop at `path`.
    pub(crate) fn sql(path: &Path, source: rusqlite::Error) -> StoreError {
        let path = path.to_owned();
        let rusqlite::Error::SqliteFailure(failure, _) = &source else {
            return match source {
                rusqlite::Error::FromSqlConversionFailure(..)
                | rusqlite::Error::InvalidColumnType(..)
                | rusqlite::Error::IntegralValueOutOfRange(..)
                | rusqlite::Error::Utf8Error(..) => {
                    StoreError::Damaged { path, detail: "a row can't be read".to_owned() }
                }
                source => StoreError::Sql { path, source },
            };
        };
        match failure.code {
            ErrorCode::DiskFull => StoreError::FullDisk { path },
            ErrorCode::ReadOnly | ErrorCode::PermissionDenied => StoreError::ReadOnly { path },
            ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked => StoreError::Locked { path },
            ErrorCode::DatabaseCorrupt => {
                StoreError::Damaged { path, detail: "its pages contradict each other".to_owned() }
            }
            ErrorCode::NotADatabase => {
                StoreError::Damaged { path, detail: "it is not a database any more, or never was".to_owned() }
            }
            ErrorCode::SystemIoFailure => StoreError::Disk {
                path,
                detail: rusqlite::ffi::code_to_str(failure.extended_code).to_owned(),
            },
            ErrorCode::CannotOpen => StoreError::CannotOpen { path },
            _ => StoreError::Sql { path, source },
        }
    }

    /// What a failed file operation means.
    pub(crate) fn io(path: &Path, source: io::Error) -> StoreError {
        let path = path.to_owned();
        match source.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => StoreError::FullDisk { path },
            io::ErrorKind::ReadOnlyFilesystem | io::ErrorKind::PermissionDenied => {
                StoreError::ReadOnly { path }
            }
            io::ErrorKind::AlreadyExists => StoreError::Exists { path },
            io::ErrorKind::NotFound => StoreError::Missing { path },
            _ => StoreError::Io { path, source },
        }
    }
}
