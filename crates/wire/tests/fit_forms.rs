//! The stored form of commissioning: a promise to old logbooks, so it may not drift.
#![expect(clippy::unwrap_used, reason = "a test that can't go on fails")]

use std::collections::BTreeMap;

use register::entry::Body;
use register::fit::{Fitted, Part, Proof, Proved, Signed, Work, Worked};
use register::id::{DeviceId, EntryId};
use wire::body::{LONGEST_FIT_KEY, LONGEST_FIT_NOTE, LONGEST_PART_TEXT, MOST_FIT_ITEMS, decode, encode};

const ONE: &str = "00000000-0000-0000-0000-000000000001";

const SALT: &str = r#"{"salt":"00000000000000000000000000000000","#;

#[track_caller]
fn stands_as(body: &Body, kind: &str, expected: &str) {
    let expected = format!("{SALT}{}", expected.replace("ONE", ONE));
    let encoded = encode(body, [0; 16]).unwrap();
    assert_eq!((encoded.kind, encoded.version, encoded.text.as_str()), (kind, 1, expected.as_str()));
    assert_eq!(decode(kind, 1, &expected), *body);
}

fn fitted(text: &str) -> Fitted {
    Fitted { part: Part::Outputs, text: text.into(), replaces: vec![EntryId(1)] }
}

fn proved() -> Proved {
    Proved {
        proof: Proof::Failsafe,
        transmitter: Some(DeviceId(1)),
        held: true,
        steps: vec!["motor_off".into(), "surfaces".into()],
        measured: BTreeMap::from([("rest_v".into(), 4.85), ("distance_m".into(), 45.0)]),
        note: "grass wet".into(),
    }
}

fn signed() -> Signed {
    Signed {
        transmitter: Some(DeviceId(1)),
        checked: vec!["outputs".into(), "supply".into()],
        unchecked: vec!["range".into()],
        note: "first flight".into(),
    }
}

#[test]
fn the_stored_form_of_a_part_is_fixed() {
    stands_as(
        &Body::Fitted(fitted("[[output]]\nnumber = 1 # \"left\"\n")),
        "fitted",
        r#""part":"outputs","text":"[[output]]\nnumber = 1 # \"left\"\n","replaces":["ONE"]}"#,
    );
    let gone = Fitted { part: Part::Antennas, text: String::new(), replaces: vec![] };
    stands_as(&Body::Fitted(gone), "fitted", r#""part":"antennas","text":"","replaces":[]}"#);
}

#[test]
fn the_stored_form_of_a_proof_is_fixed() {
    stands_as(
        &Body::Proved(proved()),
        "proved",
        r#""proof":"failsafe","transmitter":"ONE","held":true,"steps":["motor_off","surfaces"],"measured":{"distance_m":45,"rest_v":4.85},"note":"grass wet"}"#,
    );
    let bare = Proved {
        proof: Proof::Directions,
        transmitter: None,
        held: false,
        steps: vec![],
        measured: BTreeMap::from([("drop_v".into(), -0.0)]),
        note: String::new(),
    };
    stands_as(
        &Body::Proved(bare),
        "proved",
        r#""proof":"directions","transmitter":null,"held":false,"steps":[],"measured":{"drop_v":0},"note":""}"#,
    );
}

#[test]
fn the_stored_form_of_work_is_fixed() {
    let worked = Worked { what: Work::PackPlace, note: "behind the spar".into() };
    stands_as(&Body::Worked(worked), "worked", r#""what":"pack-place","note":"behind the spar"}"#);
}

#[test]
fn the_stored_form_of_a_signature_is_fixed() {
    stands_as(
        &Body::Signed(signed()),
        "signed",
        r#""transmitter":"ONE","checked":["outputs","supply"],"unchecked":["range"],"note":"first flight"}"#,
    );
    let bare = Signed { transmitter: None, checked: vec![], unchecked: vec![], note: String::new() };
    stands_as(&Body::Signed(bare), "signed", r#""transmitter":null,"checked":[],"unchecked":[],"note":""}"#);
}

/// A word that no longer reads back would lose the entries that hold it.
#[test]
fn every_word_is_fixed() {
    let parts: Vec<&str> = Part::ALL.iter().map(|one| one.word()).collect();
    assert_eq!(parts, ["outputs", "supply", "failsafe", "antennas"]);
    let proofs: Vec<&str> = Proof::ALL.iter().map(|one| one.word()).collect();
    assert_eq!(proofs, ["directions", "failsafe", "range", "supply"]);
    let works = [
        "crash",
        "hard-landing",
        "antenna",
        "motor",
        "servo",
        "pack",
        "pack-place",
        "wiring",
        "rf-module",
        "memory",
        "flying-day",
    ];
    for word in works {
        let text = format!(r#"{{"what":"{word}"}}"#);
        let read = decode("worked", 1, &text);
        let Body::Worked(worked) = &read else { panic!("{text} is not read") };
        assert_eq!((worked.what.word(), worked.note.as_str()), (word, ""));
    }
    assert_eq!(Work::ALL.len(), works.len());
}

#[test]
fn what_a_newer_program_wrote_of_a_fit_is_not_misread() {
    let cases = [
        ("fitted", r#"{"part":"wings","text":""}"#),
        ("fitted", r#"{"part":"outputs"}"#),
        ("fitted", r#"{"text":"x"}"#),
        ("fitted", r#"{"part":"outputs","text":null}"#),
        ("fitted", r#"{"part":"outputs","text":"","replaces":["somewhere"]}"#),
        ("fitted", r#"{"part":"outputs","text":"","text":"x"}"#),
        ("proved", r#"{"proof":"prayer","transmitter":null,"held":true,"steps":[],"measured":{}}"#),
        ("proved", r#"{"proof":"range","transmitter":null,"held":1,"steps":[],"measured":{}}"#),
        ("proved", r#"{"proof":"range","transmitter":null,"steps":[],"measured":{}}"#),
        ("proved", r#"{"proof":"range","transmitter":"T1","held":true,"steps":[],"measured":{}}"#),
        ("proved", r#"{"proof":"range","transmitter":null,"held":true,"steps":[1],"measured":{}}"#),
        ("proved", r#"{"proof":"range","transmitter":null,"held":true,"steps":[],"measured":[]}"#),
        ("proved", r#"{"proof":"range","transmitter":null,"held":true,"steps":[],"measured":{"d_m":"45"}}"#),
        ("proved", r#"{"proof":"range","transmitter":null,"held":true,"steps":[],"measured":{"d_m":null}}"#),
        ("proved", r#"{"proof":"range","transmitter":null,"held":true,"steps":[],"measured":{"d_m":1e999}}"#),
        ("proved", r#"{"proof":"range","transmitter":null,"held":true,"steps":[],"measured":{"d_m":NaN}}"#),
        ("worked", r#"{"what":"picnic","note":""}"#),
        ("worked", r#"{"note":"new bell"}"#),
        ("worked", r#"{"what":"motor","note":1}"#),
        ("signed", r#"{"transmitter":null,"checked":[]}"#),
        ("signed", r#"{"transmitter":null,"checked":"outputs","unchecked":[]}"#),
        ("signed", r#"{"transmitter":1,"checked":[],"unchecked":[]}"#),
    ];
    for (kind, text) in cases {
        assert_eq!(decode(kind, 1, text), Body::Opaque, "{kind} {text}");
    }
    let whole = [
        ("fitted", r#"{"part":"outputs","text":""}"#),
        ("proved", r#"{"proof":"range","held":true,"steps":[],"measured":{}}"#),
        ("worked", r#"{"what":"motor"}"#),
        ("signed", r#"{"checked":[],"unchecked":[]}"#),
    ];
    for (kind, text) in whole {
        assert_ne!(decode(kind, 1, text), Body::Opaque, "{kind} {text}");
        assert_eq!(decode(kind, 2, text), Body::Opaque, "a newer version of {kind}");
        // What it adds to a known form is passed over.
        let more = text.replacen('{', r#"{"mood":[1,{"a":null}],"#, 1);
        assert_eq!(decode(kind, 1, &more), decode(kind, 1, text), "{more}");
    }
    // Numbers are kept to their last bit.
    let text =
        r#"{"proof":"range","held":true,"steps":[],"measured":{"d_m":7.2057594037927933e16,"drop_v":-0.0}}"#;
    let Body::Proved(proved) = decode("proved", 1, text) else { panic!("{text} is not read") };
    let bits: Vec<u64> = proved.measured.values().map(|value| value.to_bits()).collect();
    assert_eq!(bits, [72_057_594_037_927_933.0_f64.to_bits(), 0.0_f64.to_bits()]);
}

/// What one past a bound would say can be neither written nor read; the longest that is allowed
/// can be both.
#[test]
fn what_is_past_its_bound_is_neither_written_nor_read() {
    let key = |long: usize| "k".repeat(long);
    let note = |long: usize| "n".repeat(long);
    let keys = |many: usize| vec!["k".to_owned(); many];
    let measured =
        |many: usize| -> BTreeMap<String, f64> { (0..many).map(|at| (format!("{at}_v"), 1.0)).collect() };
    let one = |key: String| vec![key];
    let cases = [
        (Body::Fitted(fitted(&key(LONGEST_PART_TEXT))), Body::Fitted(fitted(&key(LONGEST_PART_TEXT + 1)))),
        (
            Body::Proved(Proved { note: note(LONGEST_FIT_NOTE), ..proved() }),
            Body::Proved(Proved { note: note(LONGEST_FIT_NOTE + 1), ..proved() }),
        ),
        (
            Body::Proved(Proved { steps: one(key(LONGEST_FIT_KEY)), ..proved() }),
            Body::Proved(Proved { steps: one(key(LONGEST_FIT_KEY + 1)), ..proved() }),
        ),
        (
            Body::Proved(Proved { measured: [(key(LONGEST_FIT_KEY), 1.0)].into(), ..proved() }),
            Body::Proved(Proved { measured: [(key(LONGEST_FIT_KEY + 1), 1.0)].into(), ..proved() }),
        ),
        (
            Body::Proved(Proved { steps: keys(200), measured: measured(MOST_FIT_ITEMS - 200), ..proved() }),
            Body::Proved(Proved { steps: keys(200), measured: measured(MOST_FIT_ITEMS - 199), ..proved() }),
        ),
        (
            Body::Worked(Worked { what: Work::Crash, note: note(LONGEST_FIT_NOTE) }),
            Body::Worked(Worked { what: Work::Crash, note: note(LONGEST_FIT_NOTE + 1) }),
        ),
        (
            Body::Signed(Signed { note: note(LONGEST_FIT_NOTE), ..signed() }),
            Body::Signed(Signed { note: note(LONGEST_FIT_NOTE + 1), ..signed() }),
        ),
        (
            Body::Signed(Signed { checked: keys(200), unchecked: keys(MOST_FIT_ITEMS - 200), ..signed() }),
            Body::Signed(Signed { checked: keys(200), unchecked: keys(MOST_FIT_ITEMS - 199), ..signed() }),
        ),
        (
            Body::Signed(Signed { unchecked: one(key(LONGEST_FIT_KEY)), ..signed() }),
            Body::Signed(Signed { unchecked: one(key(LONGEST_FIT_KEY + 1)), ..signed() }),
        ),
    ];
    for (within, past) in cases {
        let encoded = encode(&within, [0; 16]).unwrap();
        assert_eq!(decode(encoded.kind, 1, &encoded.text), within);
        assert_eq!(encode(&past, [0; 16]), None, "{past:?}");
    }
    // Texts that no encoder made, one past each bound.
    let long = key(LONGEST_PART_TEXT + 1);
    let text = format!(r#"{{"part":"outputs","text":"{long}"}}"#);
    assert_eq!(decode("fitted", 1, &text), Body::Opaque);
    let text = format!(r#"{{"what":"motor","note":"{}"}}"#, note(LONGEST_FIT_NOTE + 1));
    assert_eq!(decode("worked", 1, &text), Body::Opaque);
    let items = vec![r#""k""#; MOST_FIT_ITEMS + 1].join(",");
    let text = format!(r#"{{"checked":[{items}],"unchecked":[]}}"#);
    assert_eq!(decode("signed", 1, &text), Body::Opaque);
    let text = format!(r#"{{"proof":"range","held":true,"steps":[{items}],"measured":{{}}}}"#);
    assert_eq!(decode("proved", 1, &text), Body::Opaque);
}

#[test]
fn a_proof_whose_value_is_no_number_is_not_written() {
    for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        let measured = BTreeMap::from([("distance_m".into(), 45.0), ("rest_v".into(), value)]);
        assert_eq!(encode(&Body::Proved(Proved { measured, ..proved() }), [0; 16]), None);
    }
}

/// A seed is the number of a kind and the text of a body.
#[test]
fn the_fuzzers_seeds_of_fits_are_bodies() {
    let seeds = [
        (include_bytes!("../../../fuzz/seeds/body/fitted").as_slice(), "fitted", 16),
        (include_bytes!("../../../fuzz/seeds/body/proved"), "proved", 17),
        (include_bytes!("../../../fuzz/seeds/body/worked"), "worked", 18),
        (include_bytes!("../../../fuzz/seeds/body/signed"), "signed", 19),
    ];
    for (seed, kind, number) in seeds {
        assert_eq!(seed[0], number, "the number of {kind}");
        let text = std::str::from_utf8(&seed[1..]).unwrap();
        let body = decode(kind, 1, text);
        assert_eq!(encode(&body, [0; 16]).unwrap().text, text);
    }
}
