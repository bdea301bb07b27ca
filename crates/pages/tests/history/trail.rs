//! Entries of fault trails.

use register::entry::Body;
use register::family::Side;
use register::field::Field;
use register::id::EntryId;
use register::register::Register;
use register::trail::{Begun, Closed, Event, Helped, Outcome};
use register::value::{SecretMark, Value};
use units::Minutes;

use crate::{page, text_of};

#[test]
fn a_trail_is_told_from_its_beginning_to_its_end() {
    let trail = EntryId(1);
    let secret = Value::Secret(SecretMark::Print { key: 0x7731, print: 0x7731_7731 });
    let begun = Begun {
        symptom: "wont_pair".into(),
        transmitter: None,
        receiver: None,
        whose: "Ann & <b>Co</b>".into(),
        facts: vec![(Side::Receiver, Field::Secret, secret)],
        open: vec!["hatch".into(), "belly_pan".into()],
    };
    let closed = Closed {
        trail,
        symptom: "wont_pair".into(),
        cause: "wrong_band".into(),
        outcome: Outcome::Proven,
        minutes: Minutes(34.0),
    };
    let event = |event| Body::TrailEvent { trail, event };
    let text = text_of(&page(
        &Register::default(),
        &[
            Body::TrailBegun(begun),
            event(Event::Answered { step: "see_lamp".into(), answer: String::new(), facts: vec![] }),
            event(Event::Tried { step: "rebind".into(), helped: Helped::No, facts: vec![], way: None }),
            event(Event::Opened { cover: "belly_pan".into() }),
            event(Event::Elsewise {
                text: "moved it".into(),
                minutes: Minutes(2.5),
                changed: "aerial out".into(),
            }),
            event(Event::PutBack { change: "id_off".into() }),
            event(Event::Accepted { change: "id_off".into() }),
            event(Event::Proved { proof: "range_check".into(), held: false }),
            Body::TrailClosed(closed),
        ],
    ));
    let sentences = [
        "a fault trail began: wont pair; gear of Ann &amp; &lt;b&gt;Co&lt;/b&gt;; receiver link secret ",
        "; open already: hatch, belly pan",
        "see lamp answered: can't tell",
        "rebind tried: no help",
        "opened: belly pan",
        "moved it (2.5 min); left changed: aerial out",
        "put back: id off",
        "stays as it is: id off",
        "proof did not hold: range check",
        "the fault trail wont pair ended: link proven, cause wrong band, after 34 min",
    ];
    for sentence in sentences {
        assert!(text.contains(sentence), "{sentence} is not in {text}");
    }
    assert!(!text.contains("7731"), "a secret's mark shows");
}
