//! The stored form of refits: a promise to old logbooks, so it may not drift.
#![expect(clippy::unwrap_used, reason = "a test that can't go on fails")]

use register::entry::Body;
use register::id::{DeviceId, EntryId};
use register::refit::{Begun, EndWork, Ending, Event, Kept, Placed, Reach, Wish};
use register::value::{EndRef, SecretMark};
use units::Minutes;
use wire::body::{decode, encode};

const ONE: &str = "00000000-0000-0000-0000-000000000001";

const SALT: &str = r#"{"salt":"00000000000000000000000000000000","#;

#[track_caller]
fn stands_as(body: &Body, kind: &str, expected: &str) {
    let expected = format!("{SALT}{}", expected.replace("ONE", ONE));
    let encoded = encode(body, [0; 16]).unwrap();
    assert_eq!((encoded.kind, encoded.version, encoded.text.as_str()), (kind, 1, expected.as_str()));
    assert_eq!(decode(kind, 1, &expected), *body);
}

fn main_of(device: u128) -> EndRef {
    EndRef { device: DeviceId(device), end: "main".into() }
}

/// Every wish.
fn wishes() -> Vec<Wish> {
    let (aircraft, device) = (DeviceId(2), DeviceId(1));
    let print = SecretMark::Print { key: 1, print: 2 };
    vec![
        Wish::Version { end: main_of(1), version: "5.0".into() },
        Wish::Newest { family: "Plover".into() },
        Wish::Secret { on: Reach::Family("Plover".into()), mark: print },
        Wish::Secret { on: Reach::Ends(vec![main_of(1)]), mark: SecretMark::Blank },
        Wish::Secret { on: Reach::Ends(vec![]), mark: SecretMark::SameAs(main_of(1)) },
        Wish::AllPair,
        Wish::Need { aircraft, transmitters: vec![device] },
        Wish::LetGo { aircraft, transmitter: Some(device) },
        Wish::LetGo { aircraft, transmitter: None },
        Wish::Stay { device },
        Wish::Replace { receiver: device, by: None, cost: 40 },
        Wish::Replace { receiver: device, by: Some(aircraft), cost: 0 },
        Wish::Evenings { minutes: vec![Minutes(90.0), Minutes(2.5)] },
        Wish::Fly { aircraft, after: 0 },
        Wish::Grounded { most: 1 },
        Wish::Cover { aircraft, minutes: Minutes(12.5) },
    ]
}

/// Their stored forms.
const WISHES: [&str; 16] = [
    r#"{"wish":"version","end":["ONE","main"],"version":"5.0"}"#,
    r#"{"wish":"newest","family":"Plover"}"#,
    r#"{"wish":"secret","family":"Plover","secret":{"key":"0000000000000001","print":"00000000000000000000000000000002"}}"#,
    r#"{"wish":"secret","ends":[["ONE","main"]],"secret":"blank"}"#,
    r#"{"wish":"secret","ends":[],"secret":{"same_as":["ONE","main"]}}"#,
    r#"{"wish":"all-pair"}"#,
    r#"{"wish":"need","aircraft":"TWO","transmitters":["ONE"]}"#,
    r#"{"wish":"let-go","aircraft":"TWO","transmitter":"ONE"}"#,
    r#"{"wish":"let-go","aircraft":"TWO","transmitter":null}"#,
    r#"{"wish":"stay","device":"ONE"}"#,
    r#"{"wish":"replace","receiver":"ONE","by":null,"cost":40}"#,
    r#"{"wish":"replace","receiver":"ONE","by":"TWO","cost":0}"#,
    r#"{"wish":"evenings","each":[90,2.5]}"#,
    r#"{"wish":"fly","aircraft":"TWO","after":0}"#,
    r#"{"wish":"grounded","most":1}"#,
    r#"{"wish":"cover","aircraft":"TWO","minutes":12.5}"#,
];

fn one_placed() -> Placed {
    Placed {
        what: DeviceId(2),
        evening: 1,
        ends: vec![EndWork { end: main_of(1), version: "5.0".into(), route: "cable".into() }],
        replaced: vec![DeviceId(1)],
    }
}

const PLACED: &str = r#"{"what":"TWO","evening":1,"ends":[{"end":["ONE","main"],"version":"5.0","route":"cable"}],"replaced":["ONE"]}"#;

const TWO: &str = "00000000-0000-0000-0000-000000000002";

#[test]
fn the_stored_form_of_a_refit_is_fixed() {
    let begun = Begun {
        name: "New major".into(),
        wishes: wishes(),
        links: vec![Kept { transmitter: DeviceId(1), aircraft: DeviceId(2) }],
        placed: vec![one_placed()],
    };
    let expected = format!(
        r#""name":"New major","links":[{{"transmitter":"ONE","aircraft":"TWO"}}],"wishes":[{}],"placed":[{PLACED}]}}"#,
        WISHES.join(",")
    );
    stands_as(&Body::RefitBegun(begun), "refit", &expected.replace("TWO", TWO));
}

#[test]
fn the_stored_form_of_a_refits_events_is_fixed() {
    let planned = format!(r#""did":"planned","wishes":[{}],"placed":[{PLACED}]}}"#, WISHES.join(","));
    let cases = [
        (
            Event::Ticked { step: "flash:2".into(), text: "Flash it".into(), evening: 1 },
            r#""did":"ticked","step":"flash:2","text":"Flash it","evening":1}"#,
        ),
        (Event::Deferred { what: DeviceId(2), until: 3 }, r#""did":"deferred","what":"TWO","until":3}"#),
        (Event::Planned { wishes: wishes(), placed: vec![one_placed()] }, planned.as_str()),
        (Event::Ended { how: Ending::Done }, r#""did":"ended","how":"done"}"#),
        (Event::Ended { how: Ending::Abandoned }, r#""did":"ended","how":"abandoned"}"#),
    ];
    for (event, expected) in cases {
        let body = Body::RefitEvent { refit: EntryId(1), event };
        let expected = format!(r#""refit":"ONE",{expected}"#).replace("TWO", TWO);
        stands_as(&body, "refit_event", &expected);
    }
}

/// A refit without one of its wishes would be another refit: it is carried, not read.
#[test]
fn what_a_newer_program_wrote_of_a_refit_is_not_misread() {
    let begun = |wish: &str| {
        let wish = wish.replace("ONE", ONE);
        let text = format!(r#"{{"name":"x","links":[],"wishes":[{wish}],"placed":[]}}"#);
        decode("refit", 1, &text)
    };
    let planned = |wish: &str| {
        let wish = wish.replace("ONE", ONE);
        let text = format!(r#"{{"refit":"{ONE}","did":"planned","wishes":[{wish}],"placed":[]}}"#);
        decode("refit_event", 1, &text)
    };
    let unknown = [
        r#"{"wish":"peace"}"#,
        r#"{"wish":"all-pair"},{"wish":"peace"}"#,
        r#"{"aircraft":"ONE"}"#,
        r#""all-pair""#,
        r#"{"wish":"version","version":"5.0"}"#,
        r#"{"wish":"newest"}"#,
        r#"{"wish":"secret","secret":"blank"}"#,
        r#"{"wish":"secret","family":"x","ends":[],"secret":"blank"}"#,
        r#"{"wish":"secret","family":"x"}"#,
        r#"{"wish":"secret","family":"x","secret":"odd"}"#,
        r#"{"wish":"secret","family":"x","secret":{"new":1}}"#,
        r#"{"wish":"need","aircraft":"ONE"}"#,
        r#"{"wish":"let-go","transmitter":null}"#,
        r#"{"wish":"stay","device":"somewhere"}"#,
        r#"{"wish":"replace","receiver":"ONE","by":null}"#,
        r#"{"wish":"replace","receiver":"ONE","by":null,"cost":-1}"#,
        r#"{"wish":"replace","receiver":"ONE","by":null,"cost":4294967296}"#,
        r#"{"wish":"evenings","each":[90,-1]}"#,
        r#"{"wish":"evenings","each":[1e999]}"#,
        r#"{"wish":"evenings","each":["90"]}"#,
        r#"{"wish":"evenings","each":90}"#,
        r#"{"wish":"fly","aircraft":"ONE"}"#,
        r#"{"wish":"grounded","most":1.5}"#,
        r#"{"wish":"cover","aircraft":"ONE","minutes":null}"#,
        r#"{"wish":"cover","aircraft":"ONE","minutes":NaN}"#,
    ];
    for wish in unknown {
        assert_eq!(begun(wish), Body::Opaque, "{wish}");
        assert_eq!(planned(wish), Body::Opaque, "{wish}");
    }
    let events = [
        r#""did":"prayed""#,
        r#""did":"ticked","step":"x","text":"y""#,
        r#""did":"ticked","step":"x","evening":1"#,
        r#""did":"ticked","step":"x","text":"y","evening":-1"#,
        r#""did":"deferred","until":1"#,
        r#""did":"planned","wishes":[]"#,
        r#""did":"planned","placed":[]"#,
        r#""did":"planned","wishes":[],"placed":[{"what":"ONE"}]"#,
        r#""did":"ended""#,
        r#""did":"ended","how":"sold""#,
    ];
    for event in events {
        let text = format!(r#"{{"refit":"ONE",{event}}}"#).replace("ONE", ONE);
        assert_eq!(decode("refit_event", 1, &text), Body::Opaque, "{text}");
    }
    assert_eq!(decode("refit_event", 1, r#"{"did":"ended","how":"done"}"#), Body::Opaque);
    assert_eq!(decode("refit", 1, r#"{"name":"x","wishes":[],"placed":[]}"#), Body::Opaque);
    let bare = r#"{"name":"x","links":[],"wishes":[],"placed":[]}"#;
    assert_eq!(decode("refit", 2, bare), Body::Opaque);
    assert_eq!(decode("refit_event", 2, bare), Body::Opaque);
    // What it adds to a known form is passed over.
    let more = r#"{"name":"x","mood":[1],"links":[{"transmitter":"ONE","aircraft":"TWO","new":{}}],
        "wishes":[{"wish":"cover","aircraft":"TWO","minutes":1E1,"new":[{}]}],
        "placed":[{"what":"TWO","evening":1,"ends":[{"end":["ONE","main"],"version":"5.0","route":"cable","new":1}],
            "replaced":["ONE"],"new":null}]}"#;
    let known = Begun {
        name: "x".into(),
        wishes: vec![Wish::Cover { aircraft: DeviceId(2), minutes: Minutes(10.0) }],
        links: vec![Kept { transmitter: DeviceId(1), aircraft: DeviceId(2) }],
        placed: vec![one_placed()],
    };
    let more = more.replace("ONE", ONE).replace("TWO", TWO);
    assert_eq!(decode("refit", 1, &more), Body::RefitBegun(known));
}

#[test]
fn a_refit_whose_minutes_are_no_number_is_not_written() {
    for minutes in [f64::NAN, f64::INFINITY, -1.0].map(Minutes) {
        let odd = [
            Wish::Evenings { minutes: vec![Minutes(90.0), minutes] },
            Wish::Cover { aircraft: DeviceId(2), minutes },
        ];
        for wish in odd {
            let wishes = vec![Wish::AllPair, wish];
            let begun = Begun { name: String::new(), wishes: wishes.clone(), links: vec![], placed: vec![] };
            assert_eq!(encode(&Body::RefitBegun(begun), [0; 16]), None);
            let event = Event::Planned { wishes, placed: vec![] };
            assert_eq!(encode(&Body::RefitEvent { refit: EntryId(1), event }, [0; 16]), None);
        }
    }
}

/// A seed is the number of a kind and the text of a body.
#[test]
fn the_fuzzers_seeds_of_refits_are_bodies() {
    let seeds = [
        (include_bytes!("../../../fuzz/seeds/body/refit").as_slice(), "refit", 14),
        (include_bytes!("../../../fuzz/seeds/body/refit_tick"), "refit_event", 15),
        (include_bytes!("../../../fuzz/seeds/body/refit_plan"), "refit_event", 15),
    ];
    for (seed, kind, number) in seeds {
        assert_eq!(seed[0], number, "the number of {kind}");
        let text = std::str::from_utf8(&seed[1..]).unwrap();
        let body = decode(kind, 1, text);
        assert_eq!(encode(&body, [0; 16]).unwrap().text, text);
    }
}
