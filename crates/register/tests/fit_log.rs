//! Commissioning as the logbook adds it up: texts of parts, proofs, work, signatures, and what
//! readings show to have happened.
#![expect(clippy::unwrap_used, reason = "a test that can't go on fails")]

use std::collections::BTreeMap;

mod order;

use order::as_they_come;
use proptest::prelude::*;
use register::entry::{Body, Stamp};
use register::field::{self, Field, How, Sort};
use register::fit::{FitLog, Fitted, Part, Proof, Proved, Shown, Signed, Work, Worked};
use register::id::{DeviceId, EntryId, ReplicaId};
use register::register::{Folded, Register};
use register::time::{Clock, Moment};
use register::value::Value;

type Entry = (Stamp, Body);

const PLANE: DeviceId = DeviceId(70);
const GLIDER: DeviceId = DeviceId(71);
const RECEIVER: DeviceId = DeviceId(72);
const HANDSET: DeviceId = DeviceId(73);

/// An entry of which clock and id are this number.
fn entry(number: u32, subject: DeviceId, body: Body) -> Entry {
    let at = Moment(i64::from(number) * 1000);
    let stamp = Stamp {
        id: EntryId(u128::from(number)),
        replica: ReplicaId(1),
        clock: Clock(u64::from(number)),
        seen: at,
        recorded: at,
        subject,
    };
    (stamp, body)
}

/// The same entry, written by another replica at this place in the order.
fn by(replica: u128, clock: u64, (mut stamp, body): Entry) -> Entry {
    (stamp.replica, stamp.clock) = (ReplicaId(replica), Clock(clock));
    (stamp, body)
}

fn ids(replaces: &[u32]) -> Vec<EntryId> {
    replaces.iter().map(|number| EntryId(u128::from(*number))).collect()
}

fn fitted(number: u32, part: Part, text: &str, replaces: &[u32]) -> Entry {
    let fitted = Fitted { part, text: text.into(), replaces: ids(replaces) };
    entry(number, PLANE, Body::Fitted(fitted))
}

fn proved(number: u32, proof: Proof) -> Entry {
    let proved = Proved {
        proof,
        transmitter: Some(HANDSET),
        held: true,
        steps: vec!["motor_off".into()],
        measured: BTreeMap::from([("distance_m".into(), 45.0)]),
        note: String::new(),
    };
    entry(number, PLANE, Body::Proved(proved))
}

fn worked(number: u32, subject: DeviceId, what: Work) -> Entry {
    entry(number, subject, Body::Worked(Worked { what, note: String::new() }))
}

fn signed(number: u32) -> Entry {
    let signed = Signed {
        transmitter: Some(HANDSET),
        checked: vec!["outputs".into()],
        unchecked: vec!["range".into()],
        note: "maiden".into(),
    };
    entry(number, PLANE, Body::Signed(signed))
}

fn strike(number: u32, struck: u32) -> Entry {
    entry(number, DeviceId::WORKSHOP, Body::Strike { entry: EntryId(u128::from(struck)) })
}

fn device(number: u32, id: DeviceId, sort: Sort) -> Entry {
    entry(number, id, Body::Device { sort })
}

/// A reading of the whole device.
fn whole(number: u32, id: DeviceId, field: Field, value: Value, replaces: &[u32]) -> Entry {
    reading(number, id, field::Part::Whole, field, value, replaces)
}

fn reading(
    number: u32,
    id: DeviceId,
    part: field::Part,
    field: Field,
    value: Value,
    replaces: &[u32],
) -> Entry {
    let body = Body::Reading { part, how: How::Seen, facts: vec![(field, value)], replaces: ids(replaces) };
    entry(number, id, body)
}

fn text(text: &str) -> Value {
    Value::Text(text.into())
}

/// The register of a logbook whose strikes and joins are known beforehand.
fn register(entries: &[Entry]) -> Register {
    let mut register = Register::begin(entries.iter().map(|(stamp, body)| (stamp, body)));
    for (stamp, body) in entries {
        assert_eq!(register.fold(stamp, body.clone()), Folded::In);
    }
    register
}

fn log(register: &Register, id: DeviceId) -> &FitLog {
    register.fit(id).unwrap()
}

fn texts(log: &FitLog, part: Part) -> Vec<&str> {
    log.texts(part).into_iter().map(|mark| mark.what.text.as_str()).collect()
}

/// The numbers of the entries that changed a part.
fn changes(log: &FitLog) -> Vec<(Part, u128)> {
    log.changes.iter().map(|mark| (mark.what, mark.entry.0)).collect()
}

/// What readings show of a device, with the numbers of the entries.
fn shown(register: &Register, id: DeviceId) -> Vec<(Shown, u128)> {
    let marks = register.fit(id).map_or(&[][..], |log| &log.shown[..]);
    marks.iter().map(|mark| (mark.what.clone(), mark.entry.0)).collect()
}

#[test]
fn what_is_written_down_lands_on_its_aircraft() {
    let entries = [
        fitted(1, Part::Outputs, "o", &[]),
        proved(2, Proof::Range),
        worked(3, PLANE, Work::Motor),
        worked(4, HANDSET, Work::RfModule),
        signed(5),
        proved(6, Proof::Range),
    ];
    let register = register(&entries);
    let plane = log(&register, PLANE);
    let proofs: Vec<(Proof, u128)> = plane.proofs.iter().map(|one| (one.what.proof, one.entry.0)).collect();
    assert_eq!(proofs, [(Proof::Range, 2), (Proof::Range, 6)], "a proof doesn't replace one");
    assert_eq!(plane.proofs[0].what.transmitter, Some(HANDSET));
    assert_eq!(plane.proofs[0].what.measured["distance_m"].to_bits(), 45.0_f64.to_bits());
    assert_eq!((plane.works.len(), plane.works[0].what.what), (1, Work::Motor));
    assert_eq!((plane.signed.len(), plane.signed[0].seen), (1, Moment(5000)));
    let handset: Vec<Work> = log(&register, HANDSET).works.iter().map(|one| one.what.what).collect();
    assert_eq!(handset, [Work::RfModule]);
    assert!(register.fit(GLIDER).is_none(), "nothing was written down of it");
    assert_eq!(*plane.text(Part::Outputs).unwrap(), plane.fitted[0]);
    assert!(plane.text(Part::Supply).is_none());
}

#[test]
fn a_text_replaces_the_one_it_names() {
    let entries = [
        fitted(1, Part::Outputs, "first", &[]),
        fitted(2, Part::Supply, "pack", &[]),
        // Naming another part's entry takes nothing away.
        fitted(3, Part::Outputs, "second", &[1, 2]),
        // The same words again are no change.
        fitted(4, Part::Outputs, "second", &[3]),
    ];
    let register = register(&entries);
    let plane = log(&register, PLANE);
    assert_eq!(texts(plane, Part::Outputs), ["second"]);
    assert_eq!(texts(plane, Part::Supply), ["pack"]);
    assert_eq!(plane.standing(Part::Outputs), [EntryId(4)]);
    assert_eq!(changes(plane), [(Part::Outputs, 1), (Part::Supply, 2), (Part::Outputs, 3)]);
}

#[test]
fn an_empty_text_takes_a_part_away() {
    let mut entries = vec![
        fitted(1, Part::Failsafe, "hold", &[]),
        fitted(2, Part::Antennas, "two", &[]),
        fitted(3, Part::Failsafe, "", &[1]),
    ];
    let gone = register(&entries);
    let plane = log(&gone, PLANE);
    assert!(plane.text(Part::Failsafe).is_none() && texts(plane, Part::Failsafe).is_empty());
    assert_eq!(plane.standing(Part::Failsafe), [EntryId(3)], "a new text replaces its absence");
    assert_eq!(texts(plane, Part::Antennas), ["two"]);
    assert_eq!(changes(plane).last(), Some(&(Part::Failsafe, 3)));
    entries.push(fitted(4, Part::Failsafe, "cut", &[3]));
    let again = register(&entries);
    assert_eq!(texts(log(&again, PLANE), Part::Failsafe), ["cut"]);
    assert_eq!(changes(log(&again, PLANE)).last(), Some(&(Part::Failsafe, 4)));
}

/// Two people write the same part down without knowing of each other: both texts stand, until
/// somebody who sees both writes a third.
#[test]
fn the_texts_of_two_replicas_clash_until_one_replaces_both() {
    let shared = by(1, 1, fitted(1, Part::Outputs, "shared", &[]));
    let mine = by(1, 2, fitted(20, Part::Outputs, "mine", &[1]));
    let theirs = by(2, 2, fitted(30, Part::Outputs, "theirs", &[1]));
    let mut entries = vec![theirs, mine, shared];
    entries.sort_by_key(|(stamp, _)| (stamp.clock, stamp.id));
    let merged = register(&entries);
    let plane = log(&merged, PLANE);
    assert_eq!(texts(plane, Part::Outputs), ["mine", "theirs"]);
    assert_eq!(plane.text(Part::Outputs).unwrap().entry, EntryId(30), "the last word, ties by id");
    assert_eq!(plane.standing(Part::Outputs), ids(&[20, 30]));
    assert_eq!(changes(plane).len(), 3);
    entries.push(by(2, 3, fitted(31, Part::Outputs, "both", &[20, 30])));
    let settled = register(&entries);
    assert_eq!(texts(log(&settled, PLANE), Part::Outputs), ["both"]);
    // One takes the part away while the other writes: the text is not lost.
    let mine = by(1, 2, fitted(20, Part::Outputs, "", &[1]));
    let merged = register(&[entries[0].clone(), mine, entries[2].clone()]);
    assert_eq!(texts(log(&merged, PLANE), Part::Outputs), ["theirs"]);
    assert_eq!(log(&merged, PLANE).standing(Part::Outputs), ids(&[20, 30]));
}

#[test]
fn what_is_struck_never_was() {
    let entries = vec![
        fitted(1, Part::Outputs, "first", &[]),
        fitted(2, Part::Outputs, "wrong", &[1]),
        proved(3, Proof::Range),
        worked(4, PLANE, Work::Crash),
        signed(5),
        device(6, PLANE, Sort::Aircraft),
        whole(7, PLANE, Field::State, text("crashed"), &[]),
    ];
    let full = register(&entries);
    assert_eq!(shown(&full, PLANE), [(Shown::Crashed, 7)]);
    let mut live = Register::begin([]);
    for (stamp, body) in &entries {
        assert_eq!(live.fold(stamp, body.clone()), Folded::In);
    }
    let strikes: Vec<Entry> = [(8, 2), (9, 3), (10, 4), (11, 5), (12, 7)].map(|(n, s)| strike(n, s)).into();
    assert_eq!(live.fold(&strikes[0].0, strikes[0].1.clone()), Folded::Rebuild);
    let all: Vec<Entry> = entries.into_iter().chain(strikes).collect();
    let register = register(&all);
    let plane = log(&register, PLANE);
    assert_eq!(texts(plane, Part::Outputs), ["first"], "the text that was replaced stands again");
    assert_eq!(changes(plane), [(Part::Outputs, 1)]);
    assert!(plane.proofs.is_empty() && plane.works.is_empty() && plane.signed.is_empty());
    assert!(shown(&register, PLANE).is_empty());
}

/// What an erased entry said is no more; the head that stays says nothing.
#[test]
fn what_is_erased_is_on_no_aircraft() {
    let mut entries = vec![fitted(1, Part::Outputs, "first", &[]), proved(2, Proof::Range), signed(3)];
    for (_, body) in &mut entries {
        *body = Body::Opaque;
    }
    assert!(register(&entries).fit(PLANE).is_none());
}

fn aircraft(id: DeviceId) -> Value {
    Value::Device(id)
}

#[test]
fn a_receiver_comes_and_goes() {
    let place = |number, value, replaces: &[u32]| whole(number, RECEIVER, Field::Aircraft, value, replaces);
    let entries = [
        device(1, RECEIVER, Sort::Receiver),
        place(2, aircraft(PLANE), &[]),
        // Read again, nothing happened.
        place(3, aircraft(PLANE), &[2]),
        // From one into the other, in one reading.
        place(4, aircraft(GLIDER), &[3]),
        place(5, Value::None, &[4]),
        place(6, Value::None, &[5]),
        place(7, aircraft(PLANE), &[6]),
        // Forgotten where it is: as far as anyone knows it left.
        place(8, Value::Unknown, &[7]),
    ];
    let register = register(&entries);
    let came = |number| (Shown::ReceiverIn(RECEIVER), number);
    let left = |number| (Shown::ReceiverOut(RECEIVER), number);
    assert_eq!(shown(&register, PLANE), [came(2), left(4), came(7), left(8)]);
    assert_eq!(shown(&register, GLIDER), [came(4), left(5)]);
    assert!(shown(&register, RECEIVER).is_empty(), "it is told of the aircraft");
}

/// What clashes with what was known has changed by somebody's word, and so has a text when another of two
/// that clash is used.
#[test]
fn a_clash_is_a_change() {
    let read = |number, value, replaces: &[u32]| whole(number, PLANE, Field::Pack, text(value), replaces);
    let entries = [
        device(1, PLANE, Sort::Aircraft),
        read(2, "a", &[]),
        // Written by somebody who didn't know of the first.
        read(3, "b", &[]),
        // Settled.
        read(4, "b", &[2, 3]),
    ];
    assert_eq!(shown(&register(&entries), PLANE), [(Shown::PackChanged, 3)]);
    let entries = [
        fitted(1, Part::Outputs, "mine", &[]),
        fitted(2, Part::Outputs, "theirs", &[]),
        // Until now the later was used.
        fitted(3, Part::Outputs, "mine", &[1, 2]),
    ];
    let register = register(&entries);
    assert_eq!(changes(log(&register, PLANE)).last(), Some(&(Part::Outputs, 3)));
}

#[test]
fn two_receivers_are_swapped() {
    let spare = DeviceId(80);
    let entries = [
        device(1, RECEIVER, Sort::Receiver),
        device(2, spare, Sort::Receiver),
        whole(3, RECEIVER, Field::Aircraft, aircraft(PLANE), &[]),
        whole(4, RECEIVER, Field::Aircraft, Value::None, &[3]),
        whole(5, spare, Field::Aircraft, aircraft(PLANE), &[]),
    ];
    let wanted =
        [(Shown::ReceiverIn(RECEIVER), 3), (Shown::ReceiverOut(RECEIVER), 4), (Shown::ReceiverIn(spare), 5)];
    assert_eq!(shown(&register(&entries), PLANE), wanted);
    // What is no receiver, and what a memory flies, is no receiver in an aircraft.
    let memory = field::Part::Memory("3".into());
    let entries = [
        device(1, HANDSET, Sort::Transmitter),
        whole(2, HANDSET, Field::Aircraft, aircraft(PLANE), &[]),
        reading(3, HANDSET, memory, Field::Aircraft, aircraft(GLIDER), &[]),
    ];
    let register = register(&entries);
    assert!(shown(&register, PLANE).is_empty() && shown(&register, GLIDER).is_empty());
}

#[test]
fn a_crash_is_shown_once() {
    let state = |number, word, replaces: &[u32]| whole(number, PLANE, Field::State, text(word), replaces);
    let entries = [
        device(1, PLANE, Sort::Aircraft),
        state(2, "in use", &[]),
        state(3, "crashed", &[2]),
        state(4, "crashed", &[3]),
        state(5, "in use", &[4]),
        state(6, "crashed", &[5]),
    ];
    assert_eq!(shown(&register(&entries), PLANE), [(Shown::Crashed, 3), (Shown::Crashed, 6)]);
}

#[test]
fn only_what_was_known_before_can_have_changed() {
    let end = || field::Part::End("main".into());
    // Field, part, and what a change of it shows.
    let cases = [
        (Field::Pack, field::Part::Whole, Some(Shown::PackChanged)),
        (Field::Antenna, end(), Some(Shown::AntennaChanged("main".into()))),
        (Field::Firmware, end(), Some(Shown::FirmwareChanged("main".into()))),
        (Field::Handset, field::Part::Whole, Some(Shown::HandsetChanged)),
        (Field::Code, field::Part::Whole, None),
        (Field::Name, field::Part::Whole, None),
    ];
    for (field, part, wanted) in cases {
        let read =
            |number, value, replaces: &[u32]| reading(number, PLANE, part.clone(), field, value, replaces);
        let first = [
            device(1, PLANE, Sort::Aircraft),
            read(2, text("a"), &[]),
            read(3, text("a"), &[2]),
            read(4, text("b"), &[3]),
            read(5, Value::Unknown, &[4]),
            read(6, text("c"), &[5]),
        ];
        // What came after a while of not knowing is compared with what was known last.
        let wanted: Vec<(Shown, u128)> =
            wanted.into_iter().flat_map(|shown| [(shown.clone(), 4), (shown, 6)]).collect();
        assert_eq!(shown(&register(&first), PLANE), wanted, "{}", field.key());
    }
}

/// A reading of several facts shows what each of them shows; the same fact on another end is
/// another fact.
#[test]
fn one_reading_shows_several_things_and_ends_are_parted() {
    let part = |key: &str| field::Part::End(key.into());
    let both = |number, key: &str, firmware: &str, antenna: &str, replaces: &[u32]| {
        let facts = vec![(Field::Firmware, text(firmware)), (Field::Antenna, text(antenna))];
        let body = Body::Reading { part: part(key), how: How::Seen, facts, replaces: ids(replaces) };
        entry(number, RECEIVER, body)
    };
    let entries = [
        device(1, RECEIVER, Sort::Receiver),
        both(2, "main", "4.1", "stub", &[]),
        both(3, "second", "5.0", "whip", &[]),
        both(4, "main", "5.0", "whip", &[2]),
    ];
    let wanted = [(Shown::FirmwareChanged("main".into()), 4), (Shown::AntennaChanged("main".into()), 4)];
    assert_eq!(shown(&register(&entries), RECEIVER), wanted);
}

/// An aircraft that was entered twice has one log, under the lesser id, and so has a receiver.
#[test]
fn devices_that_are_one_have_one_log() {
    let again = DeviceId(90);
    let twin = DeviceId(91);
    let mut entries = vec![
        entry(1, again, Body::SameAs { other: PLANE }),
        entry(2, RECEIVER, Body::SameAs { other: twin }),
        device(3, twin, Sort::Receiver),
        fitted(4, Part::Outputs, "first", &[]),
        entry(
            5,
            again,
            Body::Fitted(Fitted { part: Part::Outputs, text: "second".into(), replaces: ids(&[4]) }),
        ),
        worked(6, again, Work::Servo),
        whole(7, twin, Field::Aircraft, aircraft(again), &[]),
        // Both names mean the same place.
        whole(8, RECEIVER, Field::Aircraft, aircraft(PLANE), &[7]),
    ];
    let joined = register(&entries);
    assert_eq!(joined.fit(again), joined.fit(PLANE));
    let plane = log(&joined, again);
    assert_eq!(texts(plane, Part::Outputs), ["second"]);
    assert_eq!((changes(plane).len(), plane.works.len()), (2, 1));
    assert_eq!(shown(&joined, PLANE), [(Shown::ReceiverIn(RECEIVER), 7)]);
    // A logbook that learns of it late is read again.
    let mut live = Register::begin([]);
    for (stamp, body) in &entries[2..] {
        assert_eq!(live.fold(stamp, body.clone()), Folded::In);
    }
    assert_eq!(live.fit(again).unwrap().works.len(), 1);
    assert_eq!(live.fit(PLANE).unwrap().fitted.len(), 1);
    let join = entry(9, again, Body::SameAs { other: PLANE });
    assert_eq!(live.fold(&join.0, join.1), Folded::Rebuild);
    // Not the same after all: to each its own.
    entries.push(entry(10, again, Body::Parted { other: PLANE }));
    let mut parted = Register::begin(entries.iter().map(|(stamp, body)| (stamp, body)));
    for (stamp, body) in entries {
        let _ = parted.fold(&stamp, body);
    }
    assert!(log(&parted, PLANE).works.is_empty());
    assert_eq!(log(&parted, again).works.len(), 1);
}

#[test]
fn every_word_reads_back() {
    assert!(Part::ALL.iter().all(|one| Part::from_word(one.word()) == Some(*one)));
    assert!(Proof::ALL.iter().all(|one| Proof::from_word(one.word()) == Some(*one)));
    assert!(Work::ALL.iter().all(|one| Work::from_word(one.word()) == Some(*one)));
    assert_eq!(
        (Part::from_word("wings"), Proof::from_word(""), Work::from_word("Crash")),
        (None, None, None)
    );
}

/// Work at one aircraft, of every kind.
fn all_kinds() -> Vec<Entry> {
    vec![
        device(1, RECEIVER, Sort::Receiver),
        fitted(2, Part::Outputs, "first", &[]),
        whole(3, RECEIVER, Field::Aircraft, aircraft(PLANE), &[]),
        proved(4, Proof::Range),
        whole(5, PLANE, Field::Pack, text("3S"), &[]),
        fitted(6, Part::Outputs, "second", &[2]),
        whole(7, PLANE, Field::Pack, text("4S"), &[5]),
        fitted(8, Part::Supply, "pack", &[]),
        signed(9),
        whole(10, RECEIVER, Field::Aircraft, aircraft(GLIDER), &[3]),
        worked(11, PLANE, Work::Wiring),
        fitted(12, Part::Outputs, "", &[6]),
    ]
}

proptest! {
    /// In whatever order the entries come: told to rebuild, the reader folds by clock and has
    /// the same logs.
    #[test]
    fn the_order_is_that_of_the_clocks(order in Just(all_kinds()).prop_shuffle()) {
        let sorted = as_they_come(&order)?;
        let (rebuilt, wanted) = (register(&sorted), register(&all_kinds()));
        for id in [PLANE, GLIDER, RECEIVER] {
            prop_assert_eq!(rebuilt.fit(id), wanted.fit(id));
        }
        prop_assert_eq!(shown(&wanted, GLIDER), [(Shown::ReceiverIn(RECEIVER), 10)]);
        prop_assert_eq!(shown(&wanted, PLANE).len(), 3);
    }
}

#[test]
fn what_is_done_on_a_device_is_a_sight_of_it() {
    let before = register(&[device(1, PLANE, Sort::Aircraft)]);
    assert_eq!(before.device(PLANE).unwrap().last_seen, Moment(1000));
    for one in [fitted(9, Part::Supply, "pack", &[]), worked(9, PLANE, Work::Motor), proved(9, Proof::Range)]
    {
        let after = register(&[device(1, PLANE, Sort::Aircraft), one]);
        assert_eq!(after.device(PLANE).unwrap().last_seen, Moment(9000));
        assert_eq!(after.device(PLANE).unwrap().entries, 2);
    }
    // A flying day is the workshop's, and no device.
    let day = worked(9, DeviceId::WORKSHOP, Work::FlyingDay);
    assert!(register(&[day]).device(DeviceId::WORKSHOP).is_none());
}
