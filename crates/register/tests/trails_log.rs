//! Fault trails as the logbook adds them up.
#![expect(clippy::unwrap_used, reason = "a test that can't go on fails")]

mod order;

use order::as_they_come;
use proptest::prelude::*;
use register::entry::{Body, Stamp};
use register::id::{DeviceId, EntryId, ReplicaId};
use register::register::{Folded, Register};
use register::time::{Clock, Moment};
use register::trail::{Begun, Closed, Event, Helped, Outcome};
use units::Minutes;

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

fn begun(number: u32) -> Entry {
    let begun = Begun {
        symptom: "wont_pair".into(),
        transmitter: None,
        receiver: None,
        whose: "Ann".into(),
        facts: vec![],
        open: vec!["hatch".into()],
    };
    entry(number, Body::TrailBegun(begun))
}

fn answered(number: u32, trail: u32, step: &str) -> Entry {
    let event = Event::Answered { step: step.into(), answer: "yes".into(), facts: vec![] };
    entry(number, Body::TrailEvent { trail: EntryId(u128::from(trail)), event })
}

fn tried(number: u32, trail: u32, step: &str, helped: Helped) -> Entry {
    let event = Event::Tried { step: step.into(), helped, facts: vec![], way: None };
    entry(number, Body::TrailEvent { trail: EntryId(u128::from(trail)), event })
}

fn closed(number: u32, trail: u32, cause: &str) -> Entry {
    let closed = Closed {
        trail: EntryId(u128::from(trail)),
        symptom: "wont_pair".into(),
        cause: cause.into(),
        outcome: Outcome::Proven,
        minutes: Minutes(34.5),
    };
    entry(number, Body::TrailClosed(closed))
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
fn events(register: &Register, trail: u32) -> Vec<u128> {
    let log = register.trail(EntryId(u128::from(trail))).unwrap();
    log.events.iter().map(|mark| mark.entry.0).collect()
}

fn causes(register: &Register) -> Vec<&str> {
    register.trail_closings().iter().map(|mark| mark.what.cause.as_str()).collect()
}

/// Two trails, the one in the midst of the other.
fn two() -> Vec<Entry> {
    vec![
        begun(1),
        answered(2, 1, "see_lamp"),
        begun(3),
        answered(4, 3, "see_band"),
        tried(5, 1, "rebind", Helped::No),
        closed(6, 3, "band"),
        tried(7, 1, "reflash", Helped::Yes),
        closed(8, 1, "version"),
    ]
}

#[test]
fn what_is_done_lands_on_its_trail() {
    let register = register(&two());
    let began: Vec<u128> = register.trails().iter().map(|log| log.id().0).collect();
    assert_eq!(began, [1, 3]);
    assert_eq!(events(&register, 1), [2, 5, 7]);
    assert_eq!(events(&register, 3), [4]);
    let first = register.trail(EntryId(1)).unwrap();
    assert_eq!((first.begun.what.whose.as_str(), first.begun.seen), ("Ann", Moment(1000)));
    assert_eq!(
        first.events[1].what,
        Event::Tried { step: "rebind".into(), helped: Helped::No, facts: vec![], way: None }
    );
    let end = first.closed.as_ref().unwrap();
    assert_eq!((end.entry, end.clock, end.what.cause.as_str()), (EntryId(8), Clock(8), "version"));
    assert_eq!(causes(&register), ["band", "version"]);
    assert!(register.trail(EntryId(2)).is_none(), "an event is no trail");
}

#[test]
fn what_belongs_to_no_trail_is_on_none() {
    let register = register(&[begun(1), answered(2, 9, "see_lamp"), tried(3, 2, "rebind", Helped::No)]);
    assert_eq!(register.trails().len(), 1);
    assert!(events(&register, 1).is_empty());
}

#[test]
fn a_trail_is_no_device() {
    let register = register(&two());
    assert!(register.devices().is_empty());
    assert_eq!(register.entries(), 8);
}

#[test]
fn a_strike_undoes_one_event() {
    let mut entries = two();
    entries.push(strike(9, 5));
    let register = register(&entries);
    assert_eq!(events(&register, 1), [2, 7]);
    assert_eq!(events(&register, 3), [4]);
    assert_eq!(causes(&register), ["band", "version"]);
}

#[test]
fn a_strike_undoes_a_closing() {
    let mut entries = two();
    entries.push(strike(9, 8));
    let register = register(&entries);
    assert!(register.trail(EntryId(1)).unwrap().closed.is_none(), "the trail is open again");
    assert_eq!(events(&register, 1), [2, 5, 7]);
    assert_eq!(causes(&register), ["band"]);
}

/// With its beginning a whole trail was wrong, so its end counts no more either.
#[test]
fn a_strike_of_its_beginning_undoes_a_whole_trail() {
    let mut entries = two();
    entries.push(strike(9, 1));
    let register = register(&entries);
    assert_eq!(register.trails().len(), 1);
    assert!(register.trail(EntryId(1)).is_none());
    assert_eq!(events(&register, 3), [4]);
    assert_eq!(causes(&register), ["band"]);
}

#[test]
fn a_strike_that_comes_as_news_asks_for_a_rebuild() {
    let mut register = register(&two());
    let (stamp, body) = strike(9, 5);
    assert_eq!(register.fold(&stamp, body), Folded::Rebuild);
}

/// A guest's data are erased: the entries stay with their stamps, but say nothing.
#[test]
fn a_trail_whose_beginning_was_erased_still_counts_how_it_ended() {
    let mut entries = two();
    for (_, body) in entries.iter_mut().filter(|(stamp, _)| stamp.id == EntryId(1)) {
        *body = Body::Opaque;
    }
    let register = register(&entries);
    assert!(register.trail(EntryId(1)).is_none());
    assert_eq!(register.trails().len(), 1);
    assert_eq!(causes(&register), ["band", "version"]);
}

#[test]
fn of_two_ends_of_one_trail_the_later_holds() {
    let entries = [begun(1), closed(2, 1, "band"), answered(3, 1, "see_lamp"), closed(4, 1, "version")];
    let merged = register(&entries);
    assert_eq!(causes(&merged), ["version"]);
    let log = merged.trail(EntryId(1)).unwrap();
    assert_eq!(log.closed.as_ref().unwrap().entry, EntryId(4));
    assert_eq!(events(&merged, 1), [3]);
    // Without the beginning, too.
    assert_eq!(causes(&register(&entries[1..])), ["version"]);
    // With the later one struck the earlier holds.
    let mut struck = entries.to_vec();
    struck.push(strike(5, 4));
    assert_eq!(causes(&register(&struck)), ["band"]);
}

proptest! {
    /// A logbook that another replica's entries were merged into, in whatever order they come:
    /// told to rebuild, the reader folds by clock and has the same trails.
    #[test]
    fn the_order_is_that_of_the_clocks(order in Just(two()).prop_shuffle()) {
        let sorted = as_they_come(&order)?;
        let rebuilt = register(&sorted);
        let wanted = register(&two());
        prop_assert_eq!(rebuilt.trails(), wanted.trails());
        prop_assert_eq!(rebuilt.trail_closings(), wanted.trail_closings());
    }
}
