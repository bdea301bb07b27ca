//! Opening a workshop.

use std::path::{Path, PathBuf};
use std::time::Duration;

use register::id::ReplicaId;
use rusqlite::{Connection, OpenFlags};

use crate::error::StoreError;
use crate::{place, schema};

/// How long a writer waits for another one.
const BUSY: Duration = Duration::from_secs(10);

/// An open workshop.
#[derive(Debug)]
pub struct Store {
    pub(crate) conn: Connection,
    pub(crate) path: PathBuf,
    /// Nothing when the workshop can only be read.
    pub(crate) replica: Option<ReplicaId>,
    pub(crate) place: String,
}

impl Store {
    /// Opens the workshop at `path`, and begins one when there is none.
    ///
    /// # Errors
    /// The folder is missing or can't be written, or what stands there is damaged,
    /// newer than this program or not a workshop.
    pub fn open(path: &Path) -> Result<Store, StoreError> {
        match path.parent().filter(|folder| !folder.as_os_str().is_empty()) {
            Some(folder) if !folder.is_dir() => {
                return Err(StoreError::MissingFolder { folder: folder.to_owned() });
            }
            _ => {}
        }
        let new = !path.exists();
        let store = Store::open_at(path, OpenFlags::SQLITE_OPEN_CREATE)?;
        if new {
            sync_folder(path)?;
        }
        Ok(store)
    }

    /// Opens the workshop at `path`. When the file or its folder can't be written, it
    /// is opened for reading, and every change fails with [`StoreError::ReadOnly`].
    ///
    /// # Errors
    /// There is none, or it is damaged, newer than this program or not a workshop.
    pub fn open_existing(path: &Path) -> Result<Store, StoreError> {
        if !path.exists() {
            return Err(StoreError::Missing { path: path.to_owned() });
        }
        Store::open_at(path, OpenFlags::empty())
    }

    /// Opens the workshop at `path` for reading only.
    ///
    /// # Errors
    /// As [`Store::open_existing`]; also when the schema is older than this program's.
    pub fn open_read_only(path: &Path) -> Result<Store, StoreError> {
        if !path.exists() {
            return Err(StoreError::Missing { path: path.to_owned() });
        }
        let conn =
            match read_only(path, "mode=ro") {
                // A folder that can't be written has no room for SQLite's index of the
                // journal; without a journal it isn't needed.
                Err(
                    StoreError::CannotOpen { .. } | StoreError::ReadOnly { .. } | StoreError::Disk { .. },
                ) if journal_is_empty(path) => read_only(path, "mode=ro&immutable=1")?,
                other => other?,
            };
        schema::check(&conn, path)?;
        Ok(Store { conn, path: path.to_owned(), replica: None, place: place::of(path)? })
    }

    /// A workshop in memory, for tests and for trying things out.
    ///
    /// # Errors
    /// SQLite can't begin.
    pub fn in_memory() -> Result<Store, StoreError> {
        let path = PathBuf::from("(in memory)");
        let mut conn = Connection::open_in_memory().map_err(|error| StoreError::sql(&path, error))?;
        schema::migrate(&mut conn, &path)?;
        let replica =
            place::settle(&mut conn, place::IN_MEMORY).map_err(|error| StoreError::sql(&path, error))?;
        Ok(Store { conn, path, replica: Some(replica), place: place::IN_MEMORY.to_owned() })
    }

    /// Where the workshop lives.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Whether it can only be read.
    pub fn is_read_only(&self) -> bool {
        self.replica.is_none()
    }

    /// The replica by which it writes, if it can.
    pub fn replica(&self) -> Option<ReplicaId> {
        self.replica
    }

    fn open_at(path: &Path, create: OpenFlags) -> Result<Store, StoreError> {
        match Store::open_to_write(path, create) {
            Err(StoreError::ReadOnly { .. } | StoreError::CannotOpen { .. }) if path.is_file() => {
                Store::open_read_only(path)
            }
            other => other,
        }
    }

    fn open_to_write(path: &Path, create: OpenFlags) -> Result<Store, StoreError> {
        let sql = |error| StoreError::sql(path, error);
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX | create;
        let mut conn = Connection::open_with_flags(path, flags).map_err(sql)?;
        conn.busy_timeout(BUSY).map_err(sql)?;
        schema::found(&conn, path)?; // refuse before anything is touched
        if conn.is_readonly("main").map_err(sql)? {
            return Err(StoreError::ReadOnly { path: path.to_owned() });
        }
        set_up(&conn).map_err(sql)?;
        schema::migrate(&mut conn, path)?;
        let place = place::of(path)?;
        let replica = place::settle(&mut conn, &place).map_err(sql)?;
        Ok(Store { conn, path: path.to_owned(), replica: Some(replica), place })
    }

    /// Checks that this workshop can be written, and is still the file it was.
    pub(crate) fn writer(&self) -> Result<ReplicaId, StoreError> {
        let replica = self.replica.ok_or_else(|| StoreError::ReadOnly { path: self.path.clone() })?;
        if self.place != place::IN_MEMORY && place::of(&self.path).ok().as_ref() != Some(&self.place) {
            return Err(StoreError::Replaced { path: self.path.clone() });
        }
        Ok(replica)
    }

    pub(crate) fn sql(&self) -> impl Fn(rusqlite::Error) -> StoreError + use<> {
        let path = self.path.clone();
        move |error| StoreError::sql(&path, error)
    }
}

fn set_up(conn: &Connection) -> rusqlite::Result<()> {
    // An acknowledged write survives the loss of power: the journal is synced before
    // a commit returns. What is erased is overwritten.
    conn.pragma_update_and_check(None, "journal_mode", "WAL", |row| row.get::<_, String>(0))?;
    conn.pragma_update(None, "synchronous", "FULL")?;
    conn.pragma_update_and_check(None, "secure_delete", "ON", |row| row.get::<_, i64>(0))?;
    conn.pragma_update(None, "foreign_keys", "ON")
}

fn read_only(path: &Path, how: &str) -> Result<Connection, StoreError> {
    let sql = |error| StoreError::sql(path, error);
    let flags =
        OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let conn = Connection::open_with_flags(uri(path, how)?, flags).map_err(sql)?;
    conn.busy_timeout(BUSY).map_err(sql)?;
    if schema::found(&conn, path)? == 0 {
        return Err(StoreError::NotAWorkshop { path: path.to_owned() });
    }
    Ok(conn)
}

/// SQLite's `file:` form of a path, every odd byte escaped.
fn uri(path: &Path, how: &str) -> Result<String, StoreError> {
    use std::fmt::Write as _;

    let path = std::path::absolute(path).map_err(|error| StoreError::io(path, error))?;
    let mut out = String::from("file:");
    for byte in path.as_os_str().as_encoded_bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'/' | b'.' | b'-' | b'_' => {
                out.push(char::from(*byte));
            }
            _ => write!(out, "%{byte:02x}").expect("writing to a string can't fail"),
        }
    }
    out.push('?');
    out.push_str(how);
    Ok(out)
}

/// The name of SQLite's file `<path><suffix>` beside the workshop.
pub(crate) fn beside(path: &Path, suffix: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(suffix);
    PathBuf::from(name)
}

fn journal_is_empty(path: &Path) -> bool {
    std::fs::metadata(beside(path, "-wal")).map_or(true, |meta| meta.len() == 0)
}

/// Makes sure the file's name is on the disk, too.
pub(crate) fn sync_folder(path: &Path) -> Result<(), StoreError> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if cfg!(unix) {
        std::fs::File::open(folder)
            .and_then(|folder| folder.sync_all())
            .map_err(|error| StoreError::io(folder, error))?;
    }
    Ok(())
}
