//! Erased text is gone from the bytes of the file.

use std::fs;

use register::entry::Body;
use register::id::EntryId;
use store::{Store, StoreError};

use crate::workshop::{Workshop, export, note, write};

fn holds(workshop: &Workshop, needle: &str) -> bool {
    fs::read_dir(workshop.folder.path()).unwrap().any(|file| {
        let bytes = fs::read(file.unwrap().path()).unwrap();
        bytes.windows(needle.len()).any(|window| window == needle.as_bytes())
    })
}

#[test]
fn an_erased_body_leaves_no_trace_in_the_file() {
    for (sort, length) in [("short", 1), ("over many pages", 2_000)] {
        let workshop = Workshop::with_entries(50);
        let mut store = workshop.open();
        let guest = "guest-phone-5550100 ".repeat(length);
        let entry = write(&mut store, &[note(&guest), note("after")])[0].stamp.id;
        write(&mut store, &[note("later")]);
        assert!(holds(&workshop, "guest-phone"), "{sort}: the text is there before");
        store.erase(entry).unwrap();
        assert!(!holds(&workshop, "guest-phone"), "{sort}: the text is gone with the store still open");
        drop(store);
        assert!(!holds(&workshop, "guest-phone"), "{sort}: and after it is closed");
        let store = workshop.open();
        let found = store.verify().unwrap();
        assert_eq!((found.entries, found.erased, found.problems), (53, 1, vec![]), "{sort}");
        let record = store.record(entry).unwrap().unwrap();
        assert_eq!((record.body, record.erased, record.author.as_str()), (Body::Opaque, true, "Ada"));
        assert_eq!(store.extent().unwrap().erasures, 1);
    }
}

#[test]
fn a_reader_that_keeps_the_journal_is_reported() {
    let workshop = Workshop::with_entries(1);
    let mut store = workshop.open();
    let entry = write(&mut store, &[note("guest")])[0].stamp.id;
    let reader = workshop.raw();
    reader.execute_batch("BEGIN; SELECT count(*) FROM entries").unwrap();
    let error = store.erase(entry).unwrap_err();
    assert!(matches!(error, StoreError::JournalInUse { entry: named, .. } if named == entry), "{error}");
    reader.execute_batch("COMMIT").unwrap();
    store.erase(entry).unwrap();
    assert!(!holds(&workshop, "\"guest\""));
    assert!(matches!(store.erase(EntryId(1)).unwrap_err(), StoreError::NoEntry(EntryId(1))));
}

#[test]
fn several_are_erased_as_a_whole_or_not_at_all() {
    let workshop = Workshop::with_entries(3);
    let mut store = workshop.open();
    let written = write(&mut store, &[note("guest-one"), note("guest-two"), note("kept")]);
    let guest = [written[0].stamp.id, written[1].stamp.id];
    let erased = |store: &Store| guest.map(|id| store.record(id).unwrap().unwrap().erased);
    // One of them isn't there: nothing is erased.
    let error = store.erase_all(&[guest[0], EntryId(1), guest[1]]).unwrap_err();
    assert!(matches!(error, StoreError::NoEntry(EntryId(1))), "{error}");
    assert_eq!((erased(&store), store.extent().unwrap().erasures), ([false; 2], 0));
    store.erase_all(&[]).unwrap();
    // Somebody reads: they are gone from the logbook, and again takes them out of the journal.
    let reader = workshop.raw();
    reader.execute_batch("BEGIN; SELECT count(*) FROM entries").unwrap();
    let error = store.erase_all(&guest).unwrap_err();
    assert!(matches!(error, StoreError::JournalInUse { .. }), "{error}");
    assert_eq!(erased(&store), [true; 2]);
    reader.execute_batch("COMMIT").unwrap();
    store.erase_all(&guest).unwrap();
    assert_eq!((erased(&store), store.extent().unwrap().erasures), ([true; 2], 2));
    assert!(!holds(&workshop, "guest-one") && !holds(&workshop, "guest-two") && holds(&workshop, "kept"));
    assert_eq!(store.verify().unwrap().problems, vec![]);
}

#[test]
fn an_erased_entry_stays_erased_through_merge_and_import() {
    let workshop = Workshop::with_entries(1);
    let mut store = workshop.open();
    let entry = write(&mut store, &[note("guest")])[0].stamp.id;
    let before = export(&store);
    let mut other = Store::in_memory().unwrap();
    other.import(before.as_bytes()).unwrap();
    store.erase(entry).unwrap();
    store.import(before.as_bytes()).unwrap();
    assert!(store.record(entry).unwrap().unwrap().erased, "the old text does not come back");
    let outcome = other.merge(&workshop.path).unwrap();
    assert_eq!((outcome.added, outcome.known, outcome.erased), (0, 2, 1));
    assert_eq!(other.extent().unwrap().erasures, 1);
    assert_eq!(export(&other), export(&store));
}
