//! Entries of refits in plain words, as the command line and JSON tell them.

use register::entry::{Body, Stamp};
use register::field::{Field, How, Part, Sort};
use register::id::{DeviceId, EntryId, ReplicaId};
use register::refit::{Begun, Ending, Event, Placed, Reach, Wish};
use register::register::{Folded, Register};
use register::scene::Scene;
use register::time::{Clock, Moment};
use register::value::{SecretMark, Value};
use wire::answers::history::body_words;

const PLANE: DeviceId = DeviceId(3);

/// A workshop that has one aircraft, `A3`.
fn register() -> Register {
    let entries = [
        (1, Body::Device { sort: Sort::Aircraft }),
        (
            2,
            Body::Reading {
                part: Part::Whole,
                how: How::Seen,
                facts: vec![(Field::Code, Value::Text("A3".into()))],
                replaces: vec![],
            },
        ),
    ];
    let mut register = Register::default();
    for (number, body) in entries {
        let stamp = Stamp {
            id: EntryId(number),
            replica: ReplicaId(1),
            clock: Clock(1),
            seen: Moment(0),
            recorded: Moment(0),
            subject: PLANE,
        };
        assert_eq!(register.fold(&stamp, body), Folded::In);
    }
    register
}

#[track_caller]
fn says(body: &Body, expected: &str) {
    assert_eq!(body_words(&Scene::new(&register()), body), expected);
}

fn placed(what: u128, evening: u32) -> Placed {
    Placed { what: DeviceId(what), evening, ends: vec![], replaced: vec![] }
}

#[test]
fn how_a_refit_began() {
    let secret = SecretMark::Print { key: 0x7731, print: 0x7731_7731 };
    let wishes = vec![
        Wish::Secret { on: Reach::Family("starter".into()), mark: secret },
        Wish::AllPair,
        Wish::Grounded { most: 1 },
    ];
    let placed = vec![placed(1, 1), placed(2, 1), placed(3, 2), placed(4, 2), placed(5, 2), placed(5, 2)];
    let begun = Begun { name: "New major".into(), wishes, links: vec![], placed };
    says(&Body::RefitBegun(begun.clone()), "a refit began: New major, 3 wishes, 5 devices in 2 evenings");
    let one = Begun { wishes: vec![Wish::AllPair], placed: vec![begun.placed[2].clone()], ..begun };
    says(&Body::RefitBegun(one.clone()), "a refit began: New major, 1 wish, 1 device in 1 evening");
    let none = Begun { placed: vec![], ..one };
    says(&Body::RefitBegun(none), "a refit began: New major, 1 wish, nothing planned");
}

#[test]
fn what_was_done() {
    let secret = SecretMark::Print { key: 0x7731, print: 0x7731_7731 };
    let wishes = vec![Wish::Secret { on: Reach::Ends(vec![]), mark: secret }];
    let cases = [
        (
            Event::Ticked { step: "flash:a3".into(), text: "Flash A3 to 5.0".into(), evening: 2 },
            "refit: done: Flash A3 to 5.0",
        ),
        (Event::Deferred { what: PLANE, until: 3 }, "refit: A3 put off to evening 3"),
        (
            Event::Deferred { what: DeviceId(9), until: 1 },
            "refit: a device not in the register put off to evening 1",
        ),
        (Event::Planned { wishes, placed: vec![placed(3, 1)] }, "refit planned anew"),
        (Event::Ended { how: Ending::Done }, "refit ended: all done"),
        (Event::Ended { how: Ending::Abandoned }, "refit ended: abandoned"),
    ];
    for (event, expected) in cases {
        says(&Body::RefitEvent { refit: EntryId(1), event }, expected);
    }
}

/// Releases that are added to a family are a whole file: how many is enough.
#[test]
fn a_text_of_releases_is_counted() {
    let text = "schema = 1\nfamily = \"Plover\"\n\n[[release]]\nversion = \"3.6\"\n\n[[release]]\nversion = \"3.7\"\n\n\
                [[reach]]\nname = \"the hatch\"\nsort = \"cover\"\n";
    let set = |key: &str, value: &str| Body::Setting { key: key.into(), value: Some(value.into()) };
    says(&set("releases.plover", text), "releases.plover set to 2 releases, 1 thing to reach");
    says(&set("releases.plover", "nonsense"), "releases.plover set to a text that can't be read");
    says(&set("name", "nonsense"), "name set to nonsense");
}
