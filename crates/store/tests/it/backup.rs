//! Backups and restoring them.

use std::fs;

use store::{Existing, Store, StoreError};

use crate::workshop::{Workshop, export, note, write};

#[test]
fn a_backup_is_the_same_logbook_in_one_file() {
    let workshop = Workshop::with_entries(20);
    let mut store = workshop.open();
    let backup = workshop.beside("backup");
    let found = store.backup(&backup).unwrap();
    assert_eq!((found.entries, found.problems), (20, vec![]));
    let text = export(&store);
    assert_eq!(export(&Store::open_read_only(&backup).unwrap()), text);
    write(&mut store, &[note("after the backup")]);
    assert_eq!(export(&Store::open_read_only(&backup).unwrap()), text);
    let mut names: Vec<_> =
        fs::read_dir(workshop.folder.path()).unwrap().map(|file| file.unwrap().file_name()).collect();
    names.retain(|name| name.to_string_lossy().starts_with("backup"));
    assert_eq!(names, ["backup"], "nothing is left beside it");
    let error = store.backup(&backup).unwrap_err();
    assert_eq!(
        error.to_string(),
        format!("{} already exists; it was left as it is. Choose another name", backup.display())
    );
}

#[test]
fn a_restored_workshop_goes_on_as_a_new_replica_and_merges_with_what_came_after() {
    let workshop = Workshop::with_entries(2);
    let mut store = workshop.open();
    let backup = workshop.beside("backup");
    store.backup(&backup).unwrap();
    write(&mut store, &[note("after the backup")]);
    let lost = export(&store);
    let refused = Store::restore(&backup, &workshop.path, Existing::Refuse).unwrap_err();
    assert!(matches!(refused, StoreError::Exists { .. }));
    let restored = Store::restore(&backup, &workshop.path, Existing::SetAside).unwrap();
    let aside = restored.set_aside.unwrap();
    let error = store.append(crate::workshop::NOW, "Ada", &[note("into the void")], &[]).unwrap_err();
    assert!(matches!(error, StoreError::Replaced { .. }), "{error}");
    let old = store.replica();
    drop(store);
    assert_eq!(export(&Store::open_read_only(&aside).unwrap()), lost, "what stood there is kept whole");
    let mut store = workshop.open();
    assert_ne!(store.replica(), old);
    write(&mut store, &[note("after the restore")]);
    store.merge(&aside).unwrap();
    let found = store.verify().unwrap();
    assert_eq!((found.entries, found.replicas, found.problems), (4, 2, vec![]));
}

#[test]
fn a_bad_backup_is_not_restored() {
    let workshop = Workshop::with_entries(3);
    let copy = workshop.beside("copy");
    workshop.raw().execute_batch("DELETE FROM entries WHERE row = 2").unwrap();
    let error = Store::restore(&workshop.path, &copy, Existing::Refuse).unwrap_err();
    assert!(error.to_string().contains("does not verify, so it was not restored: replica "), "{error}");
    assert!(!copy.exists());
    assert_eq!(workshop.open().backup(&copy).unwrap().problems.len(), 1, "but it can be backed up");
}

#[test]
fn missing_places_are_named() {
    let workshop = Workshop::with_entries(1);
    let nowhere = workshop.beside("no/where");
    let folder = workshop.beside("no");
    let expected = format!("there is no folder {}; make it first, or choose another place", folder.display());
    assert_eq!(workshop.open().backup(&nowhere).unwrap_err().to_string(), expected);
    assert_eq!(Store::open(&nowhere).unwrap_err().to_string(), expected);
    let expected =
        format!("there is no workshop at {}; check the path, or begin one there", nowhere.display());
    for error in [
        Store::open_existing(&nowhere).unwrap_err(),
        Store::open_read_only(&nowhere).unwrap_err(),
        Store::restore(&nowhere, &workshop.beside("x"), Existing::Refuse).unwrap_err(),
    ] {
        assert_eq!(error.to_string(), expected);
    }
}
