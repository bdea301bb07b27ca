//! Entries of fault trails on the logbook's page.

use pages::sheet::{HistorySheet, LogLine};
use pages::site::Site;
use register::entry::{Body, Stamp};
use register::family::Side;
use register::field::Field;
use register::id::{DeviceId, EntryId, ReplicaId};
use register::register::Register;
use register::scene::Scene;
use register::time::{Clock, Moment};
use register::trail::{Begun, Closed, Event, Helped, Outcome};
use register::value::{SecretMark, Value};
use units::Minutes;

/// The page's text, without its tags.
fn told(bodies: &[Body]) -> String {
    let site = Site {
        workshop_name: "Sandbank club".to_owned(),
        shared: false,
        is_host: true,
        form_token: "token-of-this-page".to_owned(),
        now: Moment(0),
        notice: None,
        path: "/history".to_owned(),
    };
    let stamp = Stamp {
        id: EntryId(1),
        replica: ReplicaId(1),
        clock: Clock(1),
        seen: Moment(0),
        recorded: Moment(0),
        subject: DeviceId::WORKSHOP,
    };
    let line = |body: &Body| LogLine {
        stamp,
        body: body.clone(),
        author: String::new(),
        struck: false,
        erased: false,
        kind: String::new(),
    };
    let sheet =
        HistorySheet { lines: bodies.iter().map(line).collect(), total: 1, ..HistorySheet::default() };
    let register = Register::default();
    let page = pages::history::page(&site, &Scene::new(&register), &sheet).into_string();
    let mut text = String::new();
    let mut inside = false;
    for c in page.chars() {
        match c {
            '<' => inside = true,
            '>' => inside = false,
            c if !inside => text.push(c),
            _ => {}
        }
    }
    text
}

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
    let text = told(&[
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
    ]);
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
