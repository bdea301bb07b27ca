//! What was written is read back.

use register::entry::Body;
use register::id::{DeviceId, EntryId};
use register::time::{Clock, Moment};
use store::{Extent, Store, StoreError};

use crate::workshop::{NOW, RECEIVER, Workshop, device, draft, firmware, note, write};

#[test]
fn entries_come_back_in_order_and_survive_reopening() {
    let workshop = Workshop::new();
    let mut store = workshop.open();
    let mut written = write(&mut store, &[device(), firmware("4.1")]);
    written.extend(store.append(Moment(0), "Ada", &[note("the wall clock went back")], &[]).unwrap());
    assert!(written.windows(2).all(|pair| pair[0].stamp.clock < pair[1].stamp.clock));
    drop(store);
    let store = Store::open_existing(&workshop.path).unwrap();
    let mut read = Vec::new();
    store.for_each(0, |stamp, body| read.push((stamp, body))).unwrap();
    let written: Vec<_> = written.into_iter().map(|entry| (entry.stamp, entry.body)).collect();
    assert_eq!(read, written);
    assert_eq!(store.newer_than(1).unwrap(), written[1..]);
    assert_eq!(store.extent().unwrap(), Extent { last_row: 3, erasures: 0 });
    let version = written[0].0.id.0 >> 76 & 15;
    assert_eq!(version, 7, "ids are UUIDs of version 7 (RFC 9562, section 5.7)");
}

#[test]
fn history_names_author_and_kind() {
    let mut store = Store::in_memory().unwrap();
    write(&mut store, &[device(), draft(DeviceId(9), Body::Note { text: "other".into() }), firmware("4.1")]);
    let about = store.about(RECEIVER).unwrap();
    assert_eq!(about.iter().map(|record| record.kind.as_str()).collect::<Vec<_>>(), ["device", "reading"]);
    assert!(about.iter().all(|record| record.author == "Ada" && !record.erased));
    let one = store.record(about[1].stamp.id).unwrap().unwrap();
    assert_eq!(one, about[1]);
    assert_eq!(store.record(EntryId(1)).unwrap(), None);
    let recent = store.recent(2).unwrap();
    assert_eq!(recent.iter().map(|record| record.kind.as_str()).collect::<Vec<_>>(), ["reading", "note"]);
}

#[test]
fn the_prelude_has_what_changes_the_reading_of_others() {
    let mut store = Store::in_memory().unwrap();
    let first = write(&mut store, &[device(), firmware("4.1")]);
    let bodies = [
        Body::Strike { entry: first[1].stamp.id },
        Body::SameAs { other: DeviceId(5) },
        Body::Parted { other: DeviceId(5) },
    ];
    write(&mut store, &bodies.clone().map(|body| draft(RECEIVER, body)));
    let prelude: Vec<Body> = store.prelude().unwrap().into_iter().map(|(_, body)| body).collect();
    assert_eq!(prelude, bodies);
}

#[test]
fn a_draft_is_written_whole_or_not_at_all() {
    let mut store = Store::in_memory().unwrap();
    let file = wire::digest(b"family");
    let family = draft(DeviceId::WORKSHOP, Body::Family { name: "Chirp".into(), file });
    let missing = store.append(NOW, "Ada", &[device(), family.clone()], &[]).unwrap_err();
    assert_eq!(
        missing.to_string(),
        format!("the file {file} is not in the workshop and was not given with the entry")
    );
    let opaque = store.append(NOW, "Ada", &[device(), draft(RECEIVER, Body::Opaque)], &[]).unwrap_err();
    assert!(matches!(opaque, StoreError::OpaqueDraft));
    assert_eq!(store.extent().unwrap().last_row, 0);
    store.append(NOW, "Ada", &[family], &[b"family".to_vec()]).unwrap();
    assert_eq!(store.file(file).unwrap(), Some(b"family".to_vec()));
    assert_eq!(store.file(wire::digest(b"other")).unwrap(), None);
}

#[test]
fn what_another_process_writes_is_seen() {
    let workshop = Workshop::with_entries(3);
    let server = workshop.open();
    let (version, extent) = (server.data_version().unwrap(), server.extent().unwrap());
    let written = write(&mut workshop.open(), &[note("from the command line")]);
    assert_ne!(server.data_version().unwrap(), version);
    let newer = server.newer_than(extent.last_row).unwrap();
    assert_eq!(newer.len(), 1);
    assert_eq!(newer[0].0, written[0].stamp);
}

#[test]
fn many_writers_at_once_keep_one_chain() {
    let workshop = Workshop::new();
    drop(workshop.open());
    let writers = 4;
    std::thread::scope(|scope| {
        for writer in 0..writers {
            let mut store = workshop.open();
            scope.spawn(move || {
                for i in 0..25 {
                    write(&mut store, &[note(&format!("{writer}: {i}"))]);
                }
            });
        }
    });
    let found = workshop.open().verify().unwrap();
    assert_eq!((found.entries, found.replicas, found.problems), (100, 1, vec![]));
}

#[test]
fn a_clock_at_the_end_of_time_stops_nothing() {
    let mut store = Store::in_memory().unwrap();
    let far = store.append(Moment(i64::MAX), "Ada", &[note("a"), note("b")], &[]).unwrap();
    assert!(far[1].stamp.clock > far[0].stamp.clock && far[1].stamp.clock <= Clock(i64::MAX as u64));
    assert!(store.verify().unwrap().holds());
}

#[test]
fn a_long_logbook_comes_back_whole_and_in_order() {
    let mut store = Store::in_memory().unwrap();
    let drafts: Vec<_> = (0..5_000).map(|i| note(&format!("note {i}"))).collect();
    let written: Vec<_> =
        write(&mut store, &drafts).into_iter().map(|entry| (entry.stamp, entry.body)).collect();
    store.erase(written[2_500].0.id).unwrap();
    let mut read = Vec::new();
    store.for_each(0, |stamp, body| read.push((stamp, body))).unwrap();
    assert_eq!(read.len(), written.len());
    for (i, (read, written)) in read.iter().zip(&written).enumerate() {
        assert_eq!(read.0, written.0);
        assert_eq!(read.1, if i == 2_500 { Body::Opaque } else { written.1.clone() });
    }
}
