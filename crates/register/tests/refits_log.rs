//! Refits as the logbook adds them up.
#![expect(clippy::unwrap_used, reason = "a test that can't go on fails")]

mod order;

use order::as_they_come;
use proptest::prelude::*;
use register::entry::{Body, Stamp};
use register::id::{DeviceId, EntryId, ReplicaId};
use register::refit::{Begun, Ending, Event, Kept, Placed, Wish};
use register::register::{Folded, Register};
use register::time::{Clock, Moment};

type Entry = (Stamp, Body);

/// An entry of which clock and id are this number.
fn entry(number: u32, body: Body) -> Entry {
    let at = Moment(i64::from(number) * 1000);
    let stamp = Stamp {
        id: EntryId(u128::from(number)),
        replica: ReplicaId(1),
        clock: Clock(u64::from(number)),
        seen: at,
        recorded: at,
        subject: DeviceId::WORKSHOP,
    };
    (stamp, body)
}

fn placed(what: u128, evening: u32) -> Placed {
    Placed { what: DeviceId(what), evening, ends: vec![], replaced: vec![] }
}

fn begun(number: u32) -> Entry {
    let begun = Begun {
        name: format!("refit {number}"),
        wishes: vec![Wish::AllPair],
        links: vec![Kept { transmitter: DeviceId(70), aircraft: DeviceId(71) }],
        placed: vec![placed(71, 1), placed(70, 2)],
    };
    entry(number, Body::RefitBegun(begun))
}

fn event(number: u32, refit: u32, event: Event) -> Entry {
    entry(number, Body::RefitEvent { refit: EntryId(u128::from(refit)), event })
}

fn ticked(number: u32, refit: u32, step: &str) -> Entry {
    event(number, refit, Event::Ticked { step: step.into(), text: format!("did {step}"), evening: 1 })
}

fn deferred(number: u32, refit: u32, until: u32) -> Entry {
    event(number, refit, Event::Deferred { what: DeviceId(71), until })
}

/// Planned anew; told apart by how many may be grounded.
fn planned(number: u32, refit: u32, most: u32) -> Entry {
    let (wishes, placed) = (vec![Wish::Grounded { most }], vec![placed(70, most)]);
    event(number, refit, Event::Planned { wishes, placed })
}

fn ended(number: u32, refit: u32, how: Ending) -> Entry {
    event(number, refit, Event::Ended { how })
}

fn strike(number: u32, struck: u32) -> Entry {
    entry(number, Body::Strike { entry: EntryId(u128::from(struck)) })
}

/// The register of a logbook whose strikes are known beforehand.
fn register(entries: &[Entry]) -> Register {
    let mut register = Register::begin(entries.iter().map(|(stamp, body)| (stamp, body)));
    for (stamp, body) in entries {
        assert_eq!(register.fold(stamp, body.clone()), Folded::In);
    }
    register
}

/// The numbers of the events' entries.
fn events(register: &Register, refit: u32) -> Vec<u128> {
    let log = register.refit(EntryId(u128::from(refit))).unwrap();
    log.events.iter().map(|mark| mark.entry.0).collect()
}

fn steps(register: &Register, refit: u32) -> Vec<&str> {
    let log = register.refit(EntryId(u128::from(refit))).unwrap();
    let ticks = log.events.iter().filter_map(|mark| match &mark.what {
        Event::Ticked { step, .. } => Some(step.as_str()),
        _ => None,
    });
    ticks.collect()
}

fn ending(register: &Register, refit: u32) -> Option<(Ending, u128)> {
    let log = register.refit(EntryId(u128::from(refit))).unwrap();
    log.ended().map(|(how, mark)| (how, mark.entry.0))
}

/// Two refits, the one in the midst of the other.
fn two() -> Vec<Entry> {
    vec![
        begun(1),
        ticked(2, 1, "open"),
        begun(3),
        ticked(4, 3, "save"),
        deferred(5, 1, 3),
        planned(6, 1, 2),
        ended(7, 3, Ending::Abandoned),
        ticked(8, 1, "flash"),
        planned(9, 1, 4),
        ended(10, 1, Ending::Done),
    ]
}

#[test]
fn what_is_done_lands_on_its_refit() {
    let register = register(&two());
    let began: Vec<u128> = register.refits().iter().map(|log| log.id().0).collect();
    assert_eq!(began, [1, 3]);
    assert_eq!(events(&register, 1), [2, 5, 6, 8, 9, 10]);
    assert_eq!(events(&register, 3), [4, 7]);
    let first = register.refit(EntryId(1)).unwrap();
    assert_eq!((first.begun.what.name.as_str(), first.begun.seen), ("refit 1", Moment(1000)));
    assert_eq!(first.begun.what.links, [Kept { transmitter: DeviceId(70), aircraft: DeviceId(71) }]);
    let tick = Event::Ticked { step: "open".into(), text: "did open".into(), evening: 1 };
    assert_eq!((first.events[0].what.clone(), first.events[0].clock), (tick, Clock(2)));
    assert_eq!(first.events[1].what, Event::Deferred { what: DeviceId(71), until: 3 });
    assert_eq!(ending(&register, 1), Some((Ending::Done, 10)));
    assert_eq!(ending(&register, 3), Some((Ending::Abandoned, 7)));
    assert!(register.refit(EntryId(2)).is_none(), "an event is no refit");
}

#[test]
fn what_belongs_to_no_refit_is_on_none() {
    let register = register(&[begun(1), ticked(2, 9, "open"), ticked(3, 2, "save")]);
    assert_eq!(register.refits().len(), 1);
    assert!(events(&register, 1).is_empty());
}

#[test]
fn a_refit_is_no_device() {
    let register = register(&two());
    assert!(register.devices().is_empty());
    assert_eq!(register.entries(), 10);
}

#[test]
fn until_planned_anew_the_first_plan_holds() {
    let register = register(&two()[..5]);
    let log = register.refit(EntryId(1)).unwrap();
    assert_eq!(log.wishes(), [Wish::AllPair]);
    assert_eq!(log.placed(), [placed(71, 1), placed(70, 2)]);
    assert_eq!(log.ended(), None);
}

#[test]
fn of_two_plans_the_later_holds() {
    let all = register(&two());
    let log = all.refit(EntryId(1)).unwrap();
    assert_eq!(log.wishes(), [Wish::Grounded { most: 4 }]);
    assert_eq!(log.placed(), [placed(70, 4)]);
    // With the later one struck the earlier holds, and with both the first.
    let mut struck = two();
    struck.push(strike(11, 9));
    let one = register(&struck);
    assert_eq!(one.refit(EntryId(1)).unwrap().placed(), [placed(70, 2)]);
    struck.push(strike(12, 6));
    let none = register(&struck);
    assert_eq!(none.refit(EntryId(1)).unwrap().wishes(), [Wish::AllPair]);
}

#[test]
fn of_two_ends_the_later_holds() {
    let mut entries = two();
    entries.push(ended(11, 1, Ending::Abandoned));
    assert_eq!(ending(&register(&entries), 1), Some((Ending::Abandoned, 11)));
    entries.push(strike(12, 11));
    assert_eq!(ending(&register(&entries), 1), Some((Ending::Done, 10)));
    entries.push(strike(13, 10));
    assert_eq!(ending(&register(&entries), 1), None, "the refit is open again");
}

#[test]
fn a_struck_tick_is_gone() {
    let mut entries = two();
    entries.push(strike(11, 2));
    let register = register(&entries);
    assert_eq!(steps(&register, 1), ["flash"]);
    assert_eq!(steps(&register, 3), ["save"]);
}

#[test]
fn a_strike_of_its_beginning_undoes_a_whole_refit() {
    let mut entries = two();
    entries.push(strike(11, 1));
    let register = register(&entries);
    assert_eq!(register.refits().len(), 1);
    assert!(register.refit(EntryId(1)).is_none());
    assert_eq!(events(&register, 3), [4, 7], "what was done in it lands on no other");
}

#[test]
fn a_strike_that_comes_as_news_asks_for_a_rebuild() {
    let mut register = register(&two());
    let (stamp, body) = strike(11, 2);
    assert_eq!(register.fold(&stamp, body), Folded::Rebuild);
}

/// Written by a newer program, or erased: the entry stays with its stamp, but says nothing.
#[test]
fn an_event_that_is_not_read_leaves_the_rest() {
    let mut entries = two();
    for (_, body) in entries.iter_mut().filter(|(stamp, _)| [6, 8].contains(&stamp.id.0)) {
        *body = Body::Opaque;
    }
    assert_eq!(events(&register(&entries), 1), [2, 5, 9, 10]);
}

/// Two people work on one refit: each ticks with a clock that goes on from the shared beginning,
/// so that the same clock stands on both sides and the ids part them.
#[test]
fn the_ticks_of_two_replicas_merge_in_the_order_of_clocks() {
    let side = |replica: u128, clock: u64, (mut stamp, body): Entry| {
        (stamp.replica, stamp.clock) = (ReplicaId(replica), Clock(clock));
        (stamp, body)
    };
    let mine = [
        side(1, 2, ticked(20, 1, "open")),
        side(1, 3, ticked(21, 1, "flash")),
        side(1, 6, planned(22, 1, 2)),
        side(1, 7, ticked(23, 1, "close")),
    ];
    let theirs = [
        side(2, 2, ticked(30, 1, "open")),
        side(2, 4, ticked(31, 1, "save")),
        side(2, 5, planned(32, 1, 3)),
        side(2, 8, ended(33, 1, Ending::Abandoned)),
    ];
    let mut merged: Vec<Entry> = theirs.into_iter().chain([begun(1)]).chain(mine).collect();
    merged.sort_by_key(|(stamp, _)| (stamp.clock, stamp.id));
    let register = register(&merged);
    assert_eq!(register.refits().len(), 1);
    assert_eq!(events(&register, 1), [20, 30, 21, 31, 32, 22, 23, 33]);
    assert_eq!(steps(&register, 1), ["open", "open", "flash", "save", "close"]);
    let log = register.refit(EntryId(1)).unwrap();
    assert_eq!(log.wishes(), [Wish::Grounded { most: 2 }], "the plan of the later clock");
    assert_eq!(ending(&register, 1), Some((Ending::Abandoned, 33)));
}

#[test]
fn an_ending_reads_back_from_its_word() {
    let words = Ending::ALL.map(Ending::word);
    assert_eq!(words, ["done", "abandoned"]);
    assert_eq!(words.map(Ending::from_word), Ending::ALL.map(Some));
    assert_eq!(Ending::from_word("sold"), None);
}

proptest! {
    /// A logbook that another replica's entries were merged into, in whatever order they come:
    /// told to rebuild, the reader folds by clock and has the same refits.
    #[test]
    fn the_order_is_that_of_the_clocks(order in Just(two()).prop_shuffle()) {
        let sorted = as_they_come(&order)?;
        let rebuilt = register(&sorted);
        let wanted = register(&two());
        prop_assert_eq!(rebuilt.refits(), wanted.refits());
    }
}

/// A step that two people ticked was done once: what the second of them wrote down for it in the
/// same breath doesn't count, and what they wrote down otherwise does.
#[test]
fn a_step_ticked_twice_was_done_once() {
    let receiver = DeviceId(72);
    let by = |(mut stamp, body): Entry, replica: u128, recorded: i64, subject: DeviceId| {
        (stamp.replica, stamp.recorded, stamp.subject) = (ReplicaId(replica), Moment(recorded), subject);
        (stamp, body)
    };
    let flash = |number: u32, replica: u128, recorded: i64| {
        let body = Body::Flashed { end: "main".into(), version: "5.1".into(), route: "page".into() };
        by(entry(number, body), replica, recorded, receiver)
    };
    let here = |one: Entry, recorded: i64| by(one, 1, recorded, DeviceId::WORKSHOP);
    let there = |one: Entry, recorded: i64| by(one, 2, recorded, DeviceId::WORKSHOP);
    let mut entries = vec![
        here(begun(1), 100),
        here(ticked(2, 1, "flash#1"), 200),
        flash(3, 1, 200),
        there(ticked(4, 1, "flash#1"), 300),
        // Both write at the same moment; each replica's own tick counts.
        here(ticked(5, 1, "other#1"), 300),
        flash(6, 2, 300),
        flash(7, 1, 300),
        // Another breath of the second person: somebody really flashed it once more.
        flash(8, 2, 400),
    ];
    let flashes = |entries: &[Entry]| -> Vec<u128> {
        let register = register(entries);
        let end = register.device(receiver).unwrap().ends["main"].clone();
        end.flashes.iter().map(|flash| flash.entry.0).collect()
    };
    assert_eq!(flashes(&entries), [3, 7, 8]);
    // When the first tick is struck, with what belongs to it, the second is the only one.
    entries.push(here(strike(9, 2), 500));
    entries.push(here(strike(10, 3), 500));
    assert_eq!(flashes(&entries), [6, 7, 8]);
}
