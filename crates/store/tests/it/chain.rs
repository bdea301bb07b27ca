//! `verify` names what is wrong.

use std::fs;

use register::entry::Body;
use register::id::DeviceId;
use store::{Existing, Problem, Store};

use crate::workshop::{NOW, Workshop, draft, note, problems, write};

/// A harm done to the third of five entries, and what `verify` says of it.
const HARMS: [(&str, &str); 8] = [
    (
        "UPDATE entries SET head = replace(head, 'Ada', 'Eve') WHERE row = 3",
        "entry {3} (number 3 of its replica): its head was altered",
    ),
    (
        "UPDATE entries SET body = replace(body, 'note 2', 'note 9') WHERE row = 3",
        "entry {3} (number 3 of its replica): its body was altered",
    ),
    ("DELETE FROM entries WHERE row = 3", "replica {r}: number 3 is missing, before entry {4}"),
    ("DELETE FROM entries WHERE row IN (2, 3)", "replica {r}: numbers 2 to 3 are missing, before entry {4}"),
    (
        "UPDATE entries SET kind = 'strike' WHERE row = 3",
        "entry {3}: column `kind` does not say what its head says",
    ),
    (
        "UPDATE entries SET subject = zeroblob(16) WHERE row = 3",
        "entry {3}: column `subject` does not say what its head says",
    ),
    (
        "UPDATE entries SET clock = clock + 1 WHERE row = 3",
        "entry {3}: column `clock` does not say what its head says",
    ),
    (
        "UPDATE entries SET seen_ms = 0 WHERE row = 3",
        "entry {3}: column `seen_ms` does not say what its head says",
    ),
];

#[test]
fn the_first_bad_entry_is_named() {
    let original = Workshop::with_entries(5);
    let store = original.open();
    let found = store.verify().unwrap();
    assert_eq!((found.entries, found.replicas, found.erased, found.files), (5, 1, 0, 0));
    assert!(found.holds());
    let records = store.recent(5).unwrap();
    let replica = store.replica().unwrap();
    let backup = original.beside("backup");
    store.backup(&backup).unwrap();
    for (sql, expected) in HARMS {
        let workshop = Workshop::new();
        Store::restore(&backup, &workshop.path, Existing::Refuse).unwrap();
        workshop.raw().execute_batch(sql).unwrap();
        let expected = expected
            .replace("{3}", &records[2].stamp.id.to_string())
            .replace("{4}", &records[1].stamp.id.to_string())
            .replace("{r}", &replica.to_string());
        assert_eq!(problems(&workshop.open()), [expected], "{sql}");
    }
}

#[test]
fn a_rewritten_head_breaks_the_next_link() {
    let workshop = Workshop::with_entries(5);
    let raw = workshop.raw();
    let head: String = raw.query_row("SELECT head FROM entries WHERE row = 3", (), |row| row.get(0)).unwrap();
    let forged = head.replace("Ada", "Eve");
    raw.execute(
        "UPDATE entries SET head = ?1, hash = ?2 WHERE row = 3",
        (&forged, wire::digest(forged.as_bytes()).0),
    )
    .unwrap();
    let store = workshop.open();
    let fourth = store.recent(2).unwrap()[1].stamp;
    let expected = Problem::Prev { entry: fourth.id, replica: fourth.replica, seq: 4 };
    assert_eq!(store.verify().unwrap().problems, [expected]);
}

#[test]
fn files_are_checked() {
    let workshop = Workshop::new();
    let mut store = workshop.open();
    for name in ["one", "two"] {
        let family = Body::Family { name: name.into(), file: wire::digest(name.as_bytes()) };
        store.append(NOW, "Ada", &[draft(DeviceId::WORKSHOP, family)], &[name.into()]).unwrap();
    }
    assert_eq!(store.verify().unwrap().files, 2);
    let raw = workshop.raw();
    let one = wire::digest(b"one");
    raw.execute("UPDATE files SET bytes = x'00' WHERE hash = ?1", [one.0]).unwrap();
    assert_eq!(problems(&store), [format!("file {one}: its bytes were altered")]);
    raw.execute("DELETE FROM files WHERE hash = ?1", [one.0]).unwrap();
    let first = store.recent(2).unwrap()[1].stamp.id;
    assert_eq!(problems(&store), [format!("entry {first} names the file {one}, which is missing")]);
}

#[test]
fn a_copied_file_begins_a_new_replica() {
    let workshop = Workshop::with_entries(2);
    let original = workshop.open().replica();
    assert_eq!(workshop.open().replica(), original, "the same file keeps its replica");
    let copy = workshop.beside("copy");
    fs::copy(&workshop.path, &copy).unwrap();
    let mut copied = Store::open(&copy).unwrap();
    assert_ne!(copied.replica(), original);
    write(&mut copied, &[note("in the copy")]);
    let mut store = workshop.open();
    write(&mut store, &[note("in the original")]);
    store.merge(&copy).unwrap();
    let found = store.verify().unwrap();
    assert_eq!((found.entries, found.replicas, found.problems), (4, 2, vec![]));
}

#[test]
fn a_forked_replica_is_named_with_both_entries() {
    let workshop = Workshop::with_entries(2);
    let copy = workshop.beside("copy");
    fs::copy(&workshop.path, &copy).unwrap();
    let mut store = workshop.open();
    let replica = store.replica().unwrap();
    drop(Store::open(&copy).unwrap());
    // The copy is made to write as the original.
    rusqlite::Connection::open(&copy)
        .unwrap()
        .execute("UPDATE copy SET value = ?1 WHERE key = 'replica'", [replica.to_string()])
        .unwrap();
    let mut forked = Store::open(&copy).unwrap();
    let one = write(&mut forked, &[note("here"), note("and more")])[0].stamp.id;
    let other = write(&mut store, &[note("there")])[0].stamp.id;
    store.merge(&copy).unwrap();
    let expected = Problem::Fork { replica, seq: 3, entries: [one.min(other), one.max(other)] };
    let text = format!(
        "replica {replica} is forked: its number 3 is both entry {} and entry {}",
        one.min(other),
        one.max(other)
    );
    assert_eq!(expected.to_string(), text);
    assert_eq!(store.verify().unwrap().problems, std::slice::from_ref(&expected));
    write(&mut store, &[note("life goes on")]);
    assert_eq!(store.verify().unwrap().problems, [expected], "the fork is shown, nothing else breaks");
}
