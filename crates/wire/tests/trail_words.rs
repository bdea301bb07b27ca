//! Entries of fault trails in plain words, as the command line and JSON tell them.

use register::entry::Body;
use register::family::Side;
use register::field::Field;
use register::id::{DeviceId, EntryId};
use register::register::Register;
use register::scene::Scene;
use register::trail::{Begun, Closed, Event, Helped, Outcome};
use register::value::{EndRef, SecretMark, Value};
use units::Minutes;
use wire::answers::history::body_words;

#[track_caller]
fn says(body: &Body, expected: &str) {
    assert_eq!(body_words(&Scene::new(&Register::default()), body), expected);
}

#[test]
fn how_a_trail_began() {
    let guest = Begun {
        symptom: "wont_pair".into(),
        transmitter: None,
        receiver: None,
        whose: String::new(),
        facts: vec![],
        open: vec![],
    };
    says(&Body::TrailBegun(guest.clone()), "a fault trail began: wont pair");
    let secret = SecretMark::Print { key: 0x7731, print: 0x7731_7731 };
    let told = Begun {
        transmitter: Some(EndRef { device: DeviceId(1), end: "main".into() }),
        whose: "Ann".into(),
        facts: vec![
            (Side::Receiver, Field::Firmware, Value::Text("4.1".into())),
            (Side::Receiver, Field::Secret, Value::Secret(secret)),
        ],
        open: vec!["glued_hatch".into()],
        ..guest
    };
    let told = Body::TrailBegun(told);
    says(
        &told,
        "a fault trail began: wont pair, a device not in the register; gear of Ann; receiver firmware 4.1; \
         receiver link secret set; open already: glued hatch",
    );
}

#[test]
fn what_was_done() {
    let facts = || vec![(Side::Transmitter, Field::ModelId, Value::Number(7))];
    let cases = [
        (
            Event::Answered { step: "see_lamp".into(), answer: "slow_blink".into(), facts: facts() },
            "see lamp answered: slow blink; transmitter model ID 7",
        ),
        (
            Event::Answered { step: "see_lamp".into(), answer: String::new(), facts: vec![] },
            "see lamp answered: can't tell",
        ),
        (
            Event::Tried { step: "rebind".into(), helped: Helped::Yes, facts: vec![], way: None },
            "rebind tried: it helped",
        ),
        (
            Event::Tried { step: "rebind".into(), helped: Helped::No, facts: vec![], way: None },
            "rebind tried: no help",
        ),
        (
            Event::Tried { step: "rebind".into(), helped: Helped::CantTell, facts: vec![], way: None },
            "rebind tried: can't tell",
        ),
        (Event::Opened { cover: "glued_hatch".into() }, "opened: glued hatch"),
        (
            Event::Elsewise { text: "moved_it".into(), minutes: Minutes(2.5), changed: String::new() },
            "moved_it (2.5 min)",
        ),
        (
            Event::Elsewise { text: "moved it".into(), minutes: Minutes(2.0), changed: "aerial out".into() },
            "moved it (2 min); left changed: aerial out",
        ),
        (Event::PutBack { change: "id_off".into() }, "put back: id off"),
        (Event::Accepted { change: "id_off".into() }, "stays as it is: id off"),
        (Event::Proved { proof: "range_check".into(), held: true }, "proof held: range check"),
        (Event::Proved { proof: "range_check".into(), held: false }, "proof did not hold: range check"),
    ];
    for (event, expected) in cases {
        says(&Body::TrailEvent { trail: EntryId(1), event }, expected);
    }
}

#[test]
fn how_a_trail_ended() {
    let cases = [
        ("wrong_band", Outcome::Proven, "link proven, cause wrong band"),
        ("unlisted", Outcome::GaveUp, "given up, cause not in the list"),
        ("", Outcome::Left, "left as it is, cause not found"),
    ];
    for (cause, outcome, expected) in cases {
        let (trail, symptom, cause) = (EntryId(1), "wont_pair".into(), cause.into());
        let closed = Closed { trail, symptom, cause, outcome, minutes: Minutes(34.0) };
        let expected = format!("the fault trail wont pair ended: {expected}, after 34 min");
        says(&Body::TrailClosed(closed), &expected);
    }
}
