//! Backups, and getting a workshop back from one.

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::Connection;
use rusqlite::backup::Backup;
use uuid::Uuid;

use crate::error::StoreError;
use crate::open::{Store, beside, sync_folder};
use crate::place;
use crate::verify::Verification;

/// What to do with a workshop that stands where another is to be restored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Existing {
    /// Leave it and refuse.
    Refuse,
    /// Keep it under another name.
    SetAside,
}

/// What a restore did.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Restored {
    /// What was checked in the backup.
    pub verification: Verification,
    /// Where the workshop that stood there is now.
    pub set_aside: Option<PathBuf>,
}

impl Store {
    /// Copies the workshop, as it is at this moment and while others may use it, to a
    /// new file, and checks the copy. The file is one piece: no journal beside it.
    /// A workshop with problems is copied too; the answer names them.
    ///
    /// # Errors
    /// Something stands at `to`, or it can't be written.
    pub fn backup(&self, to: &Path) -> Result<Verification, StoreError> {
        if to.exists() {
            return Err(StoreError::Exists { path: to.to_owned() });
        }
        let part = Part::beside(to);
        let verification = self.copy_to(&part.0)?;
        put_in_place(&part.0, to)?;
        Ok(verification)
    }

    /// Makes the workshop at `to` from the backup at `from`, which is checked first.
    /// It begins a new replica, so that it can be merged with whatever came after the
    /// backup.
    ///
    /// # Errors
    /// The backup doesn't verify, or a workshop stands at `to` and may not be set aside.
    pub fn restore(from: &Path, to: &Path, existing: Existing) -> Result<Restored, StoreError> {
        if existing == Existing::Refuse && to.exists() {
            return Err(StoreError::Exists { path: to.to_owned() });
        }
        let part = Part::beside(to);
        let verification = Store::open_read_only(from)?.copy_to(&part.0)?;
        if let Some(problem) = verification.problems.first() {
            return Err(StoreError::BadBackup { path: from.to_owned(), problem: problem.to_string() });
        }
        let set_aside = set_aside(to)?;
        put_in_place(&part.0, to)?;
        Ok(Restored { verification, set_aside })
    }

    fn copy_to(&self, to: &Path) -> Result<Verification, StoreError> {
        if let Some(folder) = to.parent().filter(|folder| !folder.as_os_str().is_empty())
            && !folder.is_dir()
        {
            return Err(StoreError::MissingFolder { folder: folder.to_owned() });
        }
        copy(&self.conn, to).map_err(|error| StoreError::sql(to, error))?;
        File::open(to).and_then(|file| file.sync_all()).map_err(|error| StoreError::io(to, error))?;
        Store::open_read_only(to)?.verify()
    }
}

fn copy(from: &Connection, to: &Path) -> rusqlite::Result<()> {
    let mut copy = Connection::open(to)?;
    Backup::new(from, &mut copy)?.run_to_completion(i32::MAX, Duration::from_millis(50), None)?;
    copy.pragma_update_and_check(None, "journal_mode", "DELETE", |row| row.get::<_, String>(0))?;
    // Whoever opens the copy is another replica.
    place::forget(&copy)?;
    copy.close().map_err(|(_, error)| error)
}

/// A file in the making, removed unless it was put in place.
struct Part(PathBuf);

impl Part {
    fn beside(to: &Path) -> Part {
        Part(beside(to, &format!(".part-{}", Uuid::new_v4().simple())))
    }
}

impl Drop for Part {
    fn drop(&mut self) {
        for suffix in ["", "-journal", "-wal", "-shm"] {
            // What isn't there needn't be removed.
            let _ = fs::remove_file(beside(&self.0, suffix));
        }
    }
}

/// Gives the finished file its name, without ever replacing another.
fn put_in_place(part: &Path, to: &Path) -> Result<(), StoreError> {
    match fs::hard_link(part, to) {
        Ok(()) => {}
        Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {
            return Err(StoreError::Exists { path: to.to_owned() });
        }
        // A file system without hard links (a USB stick).
        Err(_) if !to.exists() => fs::rename(part, to).map_err(|error| StoreError::io(to, error))?,
        Err(error) => return Err(StoreError::io(to, error)),
    }
    sync_folder(to)
}

/// Moves a workshop with its journal away, if there is one.
fn set_aside(to: &Path) -> Result<Option<PathBuf>, StoreError> {
    let aside = beside(to, &format!(".before-{}", Uuid::now_v7().simple()));
    let mut moved = None;
    // The journal holds entries too, and must not stand beside a new file.
    for suffix in ["", "-wal", "-shm"] {
        let (from, to) = (beside(to, suffix), beside(&aside, suffix));
        if from.exists() {
            fs::rename(&from, &to).map_err(|error| StoreError::io(&from, error))?;
            moved = Some(aside.clone());
        }
    }
    Ok(moved)
}
