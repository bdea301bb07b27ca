//! Entries of commissioning in plain words, as the command line and JSON tell them.

use std::collections::BTreeMap;

use register::entry::{Body, Stamp};
use register::field::{self, Field, How, Sort};
use register::fit::{Fitted, Part, Proof, Proved, Signed, Work, Worked, measured_words};
use register::id::{DeviceId, EntryId, ReplicaId};
use register::register::{Folded, Register};
use register::scene::Scene;
use register::time::{Clock, Moment};
use register::value::Value;
use wire::answers::history::body_words;

const HANDSET: DeviceId = DeviceId(3);

/// A workshop that has one transmitter, `T1`.
fn register() -> Register {
    let entries = [
        (1, Body::Device { sort: Sort::Transmitter }),
        (
            2,
            Body::Reading {
                part: field::Part::Whole,
                how: How::Seen,
                facts: vec![(Field::Code, Value::Text("T1".into()))],
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
            subject: HANDSET,
        };
        assert_eq!(register.fold(&stamp, body), Folded::In);
    }
    register
}

#[test]
fn a_fit_is_told_from_its_parts_to_the_signature() {
    let fitted = |part, text: &str| Body::Fitted(Fitted { part, text: text.into(), replaces: vec![] });
    let failsafe = Proved {
        proof: Proof::Failsafe,
        transmitter: Some(HANDSET),
        held: true,
        steps: vec!["motor_off".into()],
        measured: BTreeMap::from([("distance_m".into(), 45.0)]),
        note: String::new(),
    };
    let stirred = BTreeMap::from([("rest_v".into(), 5.02), ("stirred_v".into(), 4.85)]);
    let supply = Proved {
        proof: Proof::Supply,
        transmitter: None,
        held: false,
        steps: vec![],
        measured: stirred,
        note: "sagged".into(),
    };
    let stranger = Proved { transmitter: Some(DeviceId(9)), measured: BTreeMap::new(), ..failsafe.clone() };
    let worked = |what, note: &str| Body::Worked(Worked { what, note: note.into() });
    let checked = |many: usize| vec!["item".to_owned(); many];
    let signed = Signed {
        transmitter: Some(HANDSET),
        checked: checked(9),
        unchecked: checked(2),
        note: String::new(),
    };
    let alone = Signed { transmitter: None, unchecked: vec![], note: "maiden".into(), ..signed.clone() };
    let cases = [
        (fitted(Part::Outputs, "secret = \"7731\""), "outputs written down"),
        (fitted(Part::Antennas, ""), "antennas taken away"),
        (Body::Proved(failsafe), "failsafe proof with T1: held; distance 45 m"),
        (Body::Proved(stranger), "failsafe proof with a device not in the register: held"),
        (Body::Proved(supply), "supply check: did not hold; rest 5.02 V, stirred 4.85 V; sagged"),
        (worked(Work::Motor, "new bell"), "motor or speed controller changed: new bell"),
        (worked(Work::RfModule, ""), "RF module swapped"),
        (Body::Signed(signed), "signed off with T1: 9 checked, 2 not"),
        (Body::Signed(alone), "signed off: 9 checked, 0 not; maiden"),
    ];
    let register = register();
    let scene = Scene::new(&register);
    for (body, expected) in cases {
        assert_eq!(body_words(&scene, &body), expected);
    }
}

#[test]
fn a_measured_value_has_its_unit() {
    let cases = [
        ("distance_m", 45.0, "distance 45 m"),
        ("range_distance_m", 30.5, "range distance 30.5 m"),
        ("time_min", 2.0, "time 2 min"),
        ("power_dbm", -0.0, "power 0 dBm"),
        ("fade_db", -3.5, "fade -3.5 dB"),
        ("pulse_us", 1500.0, "pulse 1500 µs"),
        // No unit that is known, and a unit without a thing.
        ("moon_phase", 1.0, "moon phase 1"),
        ("_m", 1.0, " m 1"),
        ("", 1.0, " 1"),
    ];
    for (key, value, expected) in cases {
        assert_eq!(measured_words(key, value), expected, "{key}");
    }
}
