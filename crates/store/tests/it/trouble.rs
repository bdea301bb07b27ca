//! Full disks, read-only folders, foreign and damaged files: a clear message, and
//! nothing lost.

use std::fs;
use std::os::unix::fs::PermissionsExt as _;
use std::path::{Path, PathBuf};
use std::process::Command;

use store::{Store, StoreError};
use tempfile::TempDir;

use crate::crash::{acknowledged, writer};
use crate::workshop::{NOW, Workshop, export, note, write};

/// A small file system in memory, where this machine lets a test mount one.
struct Mount(TempDir);

impl Mount {
    fn new(size: &str) -> Option<Mount> {
        let folder = TempDir::new().unwrap();
        let options = format!("size={size}");
        let mount =
            Command::new("mount").args(["-t", "tmpfs", "-o", &options, "tmpfs"]).arg(folder.path()).output();
        mount.is_ok_and(|output| output.status.success()).then_some(Mount(folder))
    }

    fn read_only(&self) {
        let status = Command::new("mount").args(["-o", "remount,ro"]).arg(self.0.path()).status();
        assert!(status.unwrap().success());
    }

    fn workshop(&self) -> PathBuf {
        self.0.path().join("club.holdfast")
    }
}

impl Drop for Mount {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(self.0.path()).status();
    }
}

fn error_in(output: &str) -> &str {
    output
        .lines()
        .find_map(|line| line.strip_prefix("error "))
        .unwrap_or_else(|| panic!("no error: {output}"))
}

/// Everything acknowledged is there, and the workshop holds.
fn nothing_lost(path: &Path, output: &str) {
    let acks = acknowledged(output);
    let store = Store::open_existing(path).unwrap();
    assert!(!acks.is_empty());
    assert!(acks.iter().all(|id| store.record(*id).unwrap().is_some()));
    assert!(store.verify().unwrap().holds());
}

#[test]
fn a_full_disk_stops_the_writer_and_loses_nothing() {
    let Some(mount) = Mount::new("400k") else {
        println!("no tmpfs can be mounted here; the limit on a file's size is tested instead");
        return a_limit_on_size_stops_the_writer_and_loses_nothing();
    };
    let path = mount.workshop();
    let output = String::from_utf8(writer(&path).output().unwrap().stdout).unwrap();
    let expected = format!(
        "no room is left on the disk that holds {}; nothing of this change was recorded. \
         Free some space and try again",
        path.display()
    );
    assert_eq!(error_in(&output), expected);
    nothing_lost(&path, &output);
}

/// The same without rights: the shell limits how long a file may grow.
#[test]
fn a_limit_on_size_stops_the_writer_and_loses_nothing() {
    let workshop = Workshop::new();
    let plain = writer(&workshop.path);
    let mut limited = Command::new("sh");
    limited.args(["-c", "trap '' XFSZ; ulimit -f 400; exec \"$@\"", "sh"]).arg(plain.get_program());
    let output = limited
        .args(plain.get_args())
        .envs(plain.get_envs().filter_map(|(key, value)| Some((key, value?))))
        .output()
        .unwrap();
    let output = String::from_utf8(output.stdout).unwrap();
    let error = error_in(&output);
    let full = error.contains("failed or is full") || error.starts_with("no room is left");
    assert!(full && error.contains("nothing of this change was recorded"), "{error}");
    nothing_lost(&workshop.path, &output);
}

#[test]
fn a_read_only_folder_can_be_read() {
    let mount = Mount::new("4m");
    let folder = TempDir::new().unwrap();
    let path = mount.as_ref().map_or_else(|| folder.path().join("club.holdfast"), Mount::workshop);
    write(&mut Store::open(&path).unwrap(), &[note("before")]);
    let mut store = if let Some(mount) = &mount {
        mount.read_only();
        Store::open(&path).unwrap()
    } else {
        println!("no tmpfs can be mounted here; the folder's rights are taken away instead");
        fs::set_permissions(&path, fs::Permissions::from_mode(0o444)).unwrap();
        fs::set_permissions(folder.path(), fs::Permissions::from_mode(0o555)).unwrap();
        Store::open_read_only(&path).unwrap()
    };
    assert!(store.is_read_only());
    assert_eq!(store.recent(5).unwrap().len(), 1);
    assert!(store.verify().unwrap().holds());
    let expected = format!(
        "{} can only be read, not written; nothing was recorded. Check the rights of the file and of \
         its folder, or copy the workshop to a place you may write to",
        path.display()
    );
    assert_eq!(store.append(NOW, "Ada", &[note("no")], &[]).unwrap_err().to_string(), expected);
    assert_eq!(store.import("".as_bytes()).unwrap_err().to_string(), expected);
    let id = store.recent(1).unwrap()[0].stamp.id;
    assert_eq!(store.erase(id).unwrap_err().to_string(), expected);
    let elsewhere = TempDir::new().unwrap();
    assert!(store.backup(&elsewhere.path().join("backup")).unwrap().holds());
    if let Some(mount) = &mount {
        let new = mount.0.path().join("new");
        assert!(matches!(
            Store::open(&new),
            Err(StoreError::ReadOnly { .. } | StoreError::CannotOpen { .. })
        ));
        assert!(matches!(
            store.backup(&new),
            Err(StoreError::ReadOnly { .. } | StoreError::CannotOpen { .. })
        ));
    } else {
        fs::set_permissions(folder.path(), fs::Permissions::from_mode(0o755)).unwrap();
    }
}

#[test]
fn a_workshop_left_open_by_a_killed_program_reads_from_a_read_only_folder() {
    let Some(mount) = Mount::new("4m") else {
        println!("no tmpfs can be mounted here; not tested");
        return;
    };
    let path = mount.workshop();
    // Its journal is never moved into the file.
    let mut command = writer(&path);
    let output = command.env("STORE_TEST_COUNT", "5").output().unwrap();
    let acks = acknowledged(&String::from_utf8(output.stdout).unwrap());
    let mut store = Store::open(&path).unwrap();
    write(&mut store, &[note("in the journal")]);
    let copy = Mount::new("4m").unwrap();
    for suffix in ["", "-wal", "-shm"] {
        let name = format!("club.holdfast{suffix}");
        fs::copy(mount.0.path().join(&name), copy.0.path().join(&name)).unwrap();
    }
    copy.read_only();
    let copied = Store::open(&copy.workshop()).unwrap();
    assert_eq!(copied.verify().unwrap().entries, acks.len() as u64 + 1, "the journal is read, too");
}

#[test]
fn other_peoples_files_are_refused_and_left_alone() {
    let newer = Workshop::with_entries(1);
    newer.raw().execute_batch("PRAGMA user_version = 7").unwrap();
    let edited = Workshop::with_entries(1);
    edited.raw().execute_batch("UPDATE migrations SET sha256 = 'x' WHERE number = 1").unwrap();
    let missing = Workshop::with_entries(1);
    missing.raw().execute_batch("DELETE FROM migrations").unwrap();
    let foreign = Workshop::new();
    foreign.raw().execute_batch("CREATE TABLE songs (name TEXT)").unwrap();
    let text = Workshop::new();
    fs::write(&text.path, "just a list of receivers, long enough to be looked at ".repeat(30)).unwrap();
    let changed = "the file was changed by another program. Restore the last backup";
    let cases = [
        (
            newer,
            "was written by a newer Holdfast (schema 7, this program knows 1); update the program".to_owned(),
        ),
        (edited, format!("migration 0001_logbook is not the one this program knows; {changed}")),
        (missing, format!("migration 0001_logbook is missing from its list; {changed}")),
        (foreign, "is not a workshop; it belongs to another program".to_owned()),
        (text, "is damaged (it is not a database any more, or never was)".to_owned()),
    ];
    for (workshop, expected) in cases {
        let before = fs::read(&workshop.path).unwrap();
        let opens = [Store::open, Store::open_existing, Store::open_read_only];
        for open in opens {
            let error = open(&workshop.path).unwrap_err().to_string();
            let path = workshop.path.display().to_string();
            assert!(error.starts_with(&path) && error.contains(&expected), "{error}");
        }
        assert_eq!(fs::read(&workshop.path).unwrap(), before, "{expected}");
    }
    let folder = TempDir::new().unwrap();
    let error = Store::open(folder.path()).unwrap_err().to_string();
    assert!(error.contains("can't be opened; check that it is a file"), "{error}");
}

/// Opens, verifies and exports; the text when all seems well.
fn looks_well(path: &Path) -> Result<String, String> {
    let store = Store::open(path).map_err(|error| error.to_string())?;
    let found = store.verify().map_err(|error| error.to_string())?;
    match found.problems.first() {
        Some(problem) => Err(problem.to_string()),
        None => Ok(export(&store)),
    }
}

#[test]
fn damage_never_passes_for_health() {
    let workshop = Workshop::with_entries(200);
    let whole = looks_well(&workshop.path).unwrap();
    let bytes = fs::read(&workshop.path).unwrap();
    assert!(bytes.len() > 100_000);
    let mut noticed = 0;
    for i in 0..120 {
        let copy = workshop.beside("copy");
        let mut flipped = bytes.clone();
        let at = (i * 7919 * 31) % (flipped.len() - 8);
        flipped[at..at + 8].iter_mut().for_each(|byte| *byte ^= 0x5a);
        fs::write(&copy, &flipped).unwrap();
        match looks_well(&copy) {
            Ok(text) => assert_eq!(text, whole, "flipped at {at}: altered and not noticed"),
            Err(message) => {
                assert!(!message.is_empty());
                noticed += 1;
            }
        }
        remove(&copy);
    }
    assert!(noticed > 60, "most of the file matters, {noticed} of 120 flips were noticed");
}

#[test]
fn a_truncated_file_is_called_damaged() {
    let workshop = Workshop::with_entries(200);
    let bytes = fs::read(&workshop.path).unwrap();
    for length in [bytes.len() / 2, 8192, 4096, 1000, 50] {
        let copy = workshop.beside("copy");
        fs::write(&copy, &bytes[..length]).unwrap();
        let message = looks_well(&copy).unwrap_err();
        assert!(message.contains("damaged") || message.contains("is not a workshop"), "{length}: {message}");
        remove(&copy);
    }
}

fn remove(path: &Path) {
    for suffix in ["", "-wal", "-shm"] {
        let mut name = path.as_os_str().to_owned();
        name.push(suffix);
        let _ = fs::remove_file(PathBuf::from(name));
    }
}

#[test]
fn a_locked_workshop_says_so() {
    let workshop = Workshop::with_entries(1);
    let mut store = workshop.open();
    let other = workshop.raw();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let error = store.append(NOW, "Ada", &[note("no")], &[]).unwrap_err();
    assert!(error.to_string().starts_with("another program has kept "), "{error}");
    other.execute_batch("ROLLBACK").unwrap();
    write(&mut store, &[note("yes")]);
}
