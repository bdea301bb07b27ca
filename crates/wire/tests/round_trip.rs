//! What is written is read back, whatever stands in it; and foreign bytes never
//! bring a reader down.

use proptest::collection::{btree_map, vec};
use proptest::option;
use proptest::prelude::*;
use register::entry::{Body, Stamp};
use register::family::Side;
use register::field::{Field, How, Part, Sort};
use register::fit::{self, Fitted, Proof, Proved, Signed, Work, Worked};
use register::id::{DeviceId, Digest, EntryId, ReplicaId};
use register::refit::{self, EndWork, Ending, Kept, Placed, Reach, Wish};
use register::time::{Clock, Moment};
use register::trail::{Begun, Closed, Event, Helped, Outcome, Way};
use register::value::{EndRef, Partners, SecretMark, Value};
use units::Minutes;
use wire::body::{LONGEST_FIT_KEY, LONGEST_FIT_NOTE, decode, encode};
use wire::head::Head;
use wire::lines::{self, Line, LineFault};

/// Texts as people's lists and hostile files have them.
fn text() -> impl Strategy<Value = String> {
    prop_oneof![
        ".{0,12}",
        vec(any::<char>(), 0..20).prop_map(|chars| chars.into_iter().collect()),
        Just("\0".to_owned()),
        Just("\u{202e}desrever\u{200f}".to_owned()),
        Just("one\ntwo\r\nthree\u{2028}four\u{85}".to_owned()),
        Just("<script>alert(1)</script>".to_owned()),
        Just("'; DROP TABLE entries; --".to_owned()),
        Just("\"}],\"salt\":\"".to_owned()),
        Just("\u{1f6e9}\u{fe0f}\u{10ffff}\u{feff}".to_owned()),
        Just("x".repeat(10_000)),
        Just(String::new()),
    ]
}

fn entry_id() -> impl Strategy<Value = EntryId> {
    any::<u128>().prop_map(EntryId)
}

fn device() -> impl Strategy<Value = DeviceId> {
    any::<u128>().prop_map(DeviceId)
}

fn digest() -> impl Strategy<Value = Digest> {
    any::<[u8; 32]>().prop_map(Digest)
}

fn end() -> impl Strategy<Value = EndRef> {
    (device(), text()).prop_map(|(device, end)| EndRef { device, end })
}

fn mark() -> impl Strategy<Value = SecretMark> {
    prop_oneof![
        Just(SecretMark::Blank),
        any::<(u64, u128)>().prop_map(|(key, print)| SecretMark::Print { key, print }),
        end().prop_map(SecretMark::SameAs),
    ]
}

fn value() -> impl Strategy<Value = Value> {
    prop_oneof![
        Just(Value::Unknown),
        text().prop_map(Value::Text),
        any::<u32>().prop_map(Value::Number),
        Just(Value::Off),
        Just(Value::None),
        mark().prop_map(Value::Secret),
        device().prop_map(Value::Device),
        (vec(end(), 0..4), any::<bool>()).prop_map(|(ends, all)| Value::Partners(Partners { ends, all })),
    ]
}

fn part() -> impl Strategy<Value = Part> {
    prop_oneof![Just(Part::Whole), text().prop_map(Part::End), text().prop_map(Part::Memory)]
}

fn field() -> impl Strategy<Value = Field> {
    (0..Field::ALL.len()).prop_map(|i| Field::ALL[i])
}

fn side_facts() -> impl Strategy<Value = Vec<(Side, Field, Value)>> {
    let side = prop_oneof![Just(Side::Transmitter), Just(Side::Receiver)];
    vec((side, field(), value()), 0..4)
}

/// Any that can be, down to those with hundreds of digits.
fn minutes() -> impl Strategy<Value = Minutes> {
    use proptest::num::f64::{NORMAL, POSITIVE, SUBNORMAL, ZERO};
    let odd = (POSITIVE | NORMAL | SUBNORMAL | ZERO).prop_map(Minutes);
    prop_oneof![odd, (0..200_u32).prop_map(|quarters| Minutes(f64::from(quarters) / 4.0))]
}

fn event() -> impl Strategy<Value = Event> {
    let helped = (0..Helped::ALL.len()).prop_map(|i| Helped::ALL[i]);
    prop_oneof![
        (text(), text(), side_facts()).prop_map(|(step, answer, facts)| Event::Answered {
            step,
            answer,
            facts
        }),
        (text(), helped, side_facts(), proptest::option::of((text(), minutes(), text()))).prop_map(
            |(step, helped, facts, way)| Event::Tried {
                step,
                helped,
                facts,
                way: way.map(|(text, minutes, changed)| Way { text, minutes, changed }),
            }
        ),
        text().prop_map(|cover| Event::Opened { cover }),
        (text(), minutes(), text()).prop_map(|(text, minutes, changed)| Event::Elsewise {
            text,
            minutes,
            changed
        }),
        text().prop_map(|change| Event::PutBack { change }),
        text().prop_map(|change| Event::Accepted { change }),
        (text(), any::<bool>()).prop_map(|(proof, held)| Event::Proved { proof, held }),
    ]
}

fn trail_body() -> impl Strategy<Value = Body> {
    let outcome = (0..Outcome::ALL.len()).prop_map(|i| Outcome::ALL[i]);
    let ends = (option::of(end()), option::of(end()));
    prop_oneof![
        (text(), ends, text(), side_facts(), vec(text(), 0..3)).prop_map(
            |(symptom, (transmitter, receiver), whose, facts, open)| {
                Body::TrailBegun(Begun { symptom, transmitter, receiver, whose, facts, open })
            }
        ),
        (entry_id(), event()).prop_map(|(trail, event)| Body::TrailEvent { trail, event }),
        (entry_id(), text(), text(), outcome, minutes()).prop_map(
            |(trail, symptom, cause, outcome, minutes)| {
                Body::TrailClosed(Closed { trail, symptom, cause, outcome, minutes })
            }
        ),
    ]
}

fn wish() -> impl Strategy<Value = Wish> {
    let reach = prop_oneof![text().prop_map(Reach::Family), vec(end(), 0..3).prop_map(Reach::Ends)];
    prop_oneof![
        (end(), text()).prop_map(|(end, version)| Wish::Version { end, version }),
        text().prop_map(|family| Wish::Newest { family }),
        (reach, mark()).prop_map(|(on, mark)| Wish::Secret { on, mark }),
        Just(Wish::AllPair),
        (device(), vec(device(), 0..3))
            .prop_map(|(aircraft, transmitters)| Wish::Need { aircraft, transmitters }),
        (device(), option::of(device()))
            .prop_map(|(aircraft, transmitter)| Wish::LetGo { aircraft, transmitter }),
        device().prop_map(|device| Wish::Stay { device }),
        (device(), option::of(device()), any::<u32>()).prop_map(|(receiver, by, cost)| Wish::Replace {
            receiver,
            by,
            cost
        }),
        vec(minutes(), 0..4).prop_map(|minutes| Wish::Evenings { minutes }),
        (device(), any::<u32>()).prop_map(|(aircraft, after)| Wish::Fly { aircraft, after }),
        any::<u32>().prop_map(|most| Wish::Grounded { most }),
        (device(), minutes()).prop_map(|(aircraft, minutes)| Wish::Cover { aircraft, minutes }),
    ]
}

fn placed() -> impl Strategy<Value = Placed> {
    let work = (end(), text(), text()).prop_map(|(end, version, route)| EndWork { end, version, route });
    (device(), any::<u32>(), vec(work, 0..3), vec(device(), 0..3))
        .prop_map(|(what, evening, ends, replaced)| Placed { what, evening, ends, replaced })
}

fn refit_body() -> impl Strategy<Value = Body> {
    let kept = (device(), device()).prop_map(|(transmitter, aircraft)| Kept { transmitter, aircraft });
    let how = (0..Ending::ALL.len()).prop_map(|i| Ending::ALL[i]);
    let event = prop_oneof![
        (text(), text(), any::<u32>()).prop_map(|(step, text, evening)| refit::Event::Ticked {
            step,
            text,
            evening
        }),
        (device(), any::<u32>()).prop_map(|(what, until)| refit::Event::Deferred { what, until }),
        (vec(wish(), 0..4), vec(placed(), 0..3))
            .prop_map(|(wishes, placed)| refit::Event::Planned { wishes, placed }),
        how.prop_map(|how| refit::Event::Ended { how }),
    ];
    prop_oneof![
        (text(), vec(wish(), 0..6), vec(kept, 0..3), vec(placed(), 0..3)).prop_map(
            |(name, wishes, links, placed)| {
                Body::RefitBegun(refit::Begun { name, wishes, links, placed })
            }
        ),
        (entry_id(), event).prop_map(|(refit, event)| Body::RefitEvent { refit, event }),
    ]
}

fn body() -> impl Strategy<Value = Body> {
    prop_oneof![3 => old_body(), 1 => trail_body(), 1 => refit_body(), 1 => fit_body()]
}

/// A key as long as one may be, cut where a letter ends.
fn key() -> impl Strategy<Value = String> {
    text().prop_map(|mut key| {
        key.truncate(key.floor_char_boundary(LONGEST_FIT_KEY));
        key
    })
}

fn note() -> impl Strategy<Value = String> {
    text().prop_map(|mut note| {
        note.truncate(note.floor_char_boundary(LONGEST_FIT_NOTE));
        note
    })
}

/// Any that JSON has, also below 0.
fn measure() -> impl Strategy<Value = f64> {
    use proptest::num::f64::{NEGATIVE, NORMAL, POSITIVE, SUBNORMAL, ZERO};
    prop_oneof![POSITIVE | NEGATIVE | NORMAL | SUBNORMAL | ZERO, (-200..200_i32).prop_map(f64::from)]
}

fn fit_body() -> impl Strategy<Value = Body> {
    let part = (0..fit::Part::ALL.len()).prop_map(|i| fit::Part::ALL[i]);
    let proof = (0..Proof::ALL.len()).prop_map(|i| Proof::ALL[i]);
    let work = (0..Work::ALL.len()).prop_map(|i| Work::ALL[i]);
    let proved = (proof, option::of(device()), any::<bool>(), vec(key(), 0..4), note());
    prop_oneof![
        (part, text(), vec(entry_id(), 0..3)).prop_map(|(part, text, replaces)| Body::Fitted(Fitted {
            part,
            text,
            replaces
        })),
        (proved, btree_map(key(), measure(), 0..4)).prop_map(
            |((proof, transmitter, held, steps, note), measured)| {
                Body::Proved(Proved { proof, transmitter, held, steps, measured, note })
            }
        ),
        (work, note()).prop_map(|(what, note)| Body::Worked(Worked { what, note })),
        (option::of(device()), vec(key(), 0..4), vec(key(), 0..4), note()).prop_map(
            |(transmitter, checked, unchecked, note)| {
                Body::Signed(Signed { transmitter, checked, unchecked, note })
            }
        ),
    ]
}

fn old_body() -> impl Strategy<Value = Body> {
    let sort = prop_oneof![Just(Sort::Transmitter), Just(Sort::Receiver), Just(Sort::Aircraft)];
    let how = (0..How::ALL.len()).prop_map(|i| How::ALL[i]);
    prop_oneof![
        sort.prop_map(|sort| Body::Device { sort }),
        (part(), how, vec((field(), value()), 0..5), vec(entry_id(), 0..3))
            .prop_map(|(part, how, facts, replaces)| Body::Reading { part, how, facts, replaces }),
        (text(), end()).prop_map(|(end, transmitter)| Body::Paired { end, transmitter }),
        (text(), text(), text()).prop_map(|(end, version, route)| Body::Flashed { end, version, route }),
        entry_id().prop_map(|entry| Body::Strike { entry }),
        device().prop_map(|other| Body::SameAs { other }),
        device().prop_map(|other| Body::Parted { other }),
        (text(), digest()).prop_map(|(name, file)| Body::Family { name, file }),
        (text(), digest()).prop_map(|(header, file)| Body::Mapping { header, file }),
        (text(), option::of(text())).prop_map(|(key, value)| Body::Setting { key, value }),
        text().prop_map(|text| Body::Note { text }),
    ]
}

fn head() -> impl Strategy<Value = Head> {
    let ids = (any::<u128>(), any::<u128>(), any::<u128>(), 1..=i64::MAX.cast_unsigned());
    let times = (any::<i64>(), any::<i64>(), 0..=i64::MAX.cast_unsigned());
    let rest = (digest(), text(), text(), any::<u32>(), digest());
    (ids, times, rest).prop_map(
        |((id, replica, subject, seq), times, (prev, author, kind, version, body))| {
            let (seen, recorded, clock) = times;
            Head {
                stamp: Stamp {
                    id: EntryId(id),
                    replica: ReplicaId(replica),
                    clock: Clock(clock),
                    seen: Moment(seen),
                    recorded: Moment(recorded),
                    subject: DeviceId(subject),
                },
                seq,
                prev,
                author,
                kind,
                version,
                body,
            }
        },
    )
}

proptest! {
    #[test]
    fn a_body_reads_back_as_it_was(body in body(), salt in any::<[u8; 16]>()) {
        let encoded = encode(&body, salt).unwrap();
        prop_assert!(!encoded.text.chars().any(char::is_control), "one line, nothing invisible");
        let salted = encoded.text.starts_with("{\"salt\":\"");
        prop_assert!(salted);
        prop_assert!(serde_json::from_str::<serde_json::Value>(&encoded.text).is_ok());
        prop_assert_eq!(decode(encoded.kind, encoded.version, &encoded.text), body);
    }

    #[test]
    fn a_head_reads_back_as_it_was(head in head()) {
        let text = head.encode();
        prop_assert!(!text.contains('\n'));
        prop_assert_eq!(Head::decode(&text), Ok(head));
    }

    #[test]
    fn a_line_keeps_every_byte(head in head(), body in body()) {
        let body = encode(&body, [7; 16]).unwrap().text;
        let head = Head { body: wire::digest(body.as_bytes()), ..head };
        let head_text = head.encode();
        let line = lines::entry_line(&head_text, Some(&body));
        let whole = Line::Entry { head: Box::new(head.clone()), head_text: &head_text, body: Some(&body) };
        prop_assert_eq!(lines::read(line.as_bytes()), Ok(whole));
        let line = lines::entry_line(&head_text, None);
        let erased = Line::Entry { head: Box::new(head), head_text: &head_text, body: None };
        prop_assert_eq!(lines::read(line.as_bytes()), Ok(erased));
    }

    #[test]
    fn a_file_keeps_every_byte(bytes in prop_oneof![vec(any::<u8>(), 0..80), text().prop_map(String::into_bytes)]) {
        let line = lines::file_line(&bytes);
        prop_assert!(!line.contains('\n'));
        let file = Line::File { digest: wire::digest(&bytes), bytes };
        prop_assert_eq!(lines::read(line.as_bytes()), Ok(file));
    }

    #[test]
    fn foreign_bytes_bring_no_reader_down(bytes in vec(any::<u8>(), 0..200), kind in 0..KINDS.len()) {
        let _ = lines::read(&bytes);
        let text = String::from_utf8_lossy(&bytes);
        let _ = Head::decode(&text);
        prop_assert_eq!(decode(KINDS[kind], 1, &text), Body::Opaque, "no random bytes are a body");
    }

    #[test]
    fn a_cut_or_changed_line_brings_no_reader_down(
        head in head(), body in body(), at in any::<prop::sample::Index>(), byte in any::<u8>(), cut in any::<bool>(),
    ) {
        let encoded = encode(&body, [7; 16]).unwrap();
        let mut line = lines::entry_line(&head.encode(), Some(&encoded.text)).into_bytes();
        let at = at.index(line.len());
        if cut { line.truncate(at) } else { line[at] = byte }
        let _ = lines::read(&line);
        let mut text = encoded.text.into_bytes();
        let at = at % text.len();
        if cut { text.truncate(at) } else { text[at] = byte }
        let _ = decode(encoded.kind, 1, &String::from_utf8_lossy(&text));
    }
}

const KINDS: [&str; 20] = [
    "device",
    "reading",
    "paired",
    "flashed",
    "strike",
    "same-as",
    "parted",
    "family",
    "mapping",
    "setting",
    "note",
    "trail",
    "trail_step",
    "trail_end",
    "refit",
    "refit_event",
    "fitted",
    "proved",
    "worked",
    "signed",
];

const ONE: &str = "00000000-0000-0000-0000-000000000001";

/// The stored form is a promise to old logbooks: it may not drift.
#[test]
fn the_stored_form_is_fixed() {
    let device = DeviceId(1);
    let facts = vec![
        (Field::Firmware, Value::Text("4.1".into())),
        (Field::ModelId, Value::Number(7)),
        (Field::ModelId, Value::Off),
        (Field::Aircraft, Value::None),
        (Field::Pack, Value::Unknown),
        (Field::Secret, Value::Secret(SecretMark::Blank)),
        (Field::Secret, Value::Secret(SecretMark::Print { key: 1, print: 2 })),
        (Field::Secret, Value::Secret(SecretMark::SameAs(EndRef { device, end: "main".into() }))),
        (Field::Aircraft, Value::Device(device)),
        (
            Field::Partners,
            Value::Partners(Partners { ends: vec![EndRef { device, end: "main".into() }], all: true }),
        ),
    ];
    let body =
        Body::Reading { part: Part::End("main".into()), how: How::Seen, facts, replaces: vec![EntryId(1)] };
    let expected = [
        r#"{"salt":"00000000000000000000000000000000","part":"end:main","how":"seen","facts":["#,
        r#"["firmware","4.1"],["model_id",7],["model_id",{"off":true}],["aircraft",{"none":true}],"#,
        r#"["pack",null],["secret",{"secret":"blank"}],"#,
        r#"["secret",{"secret":{"key":"0000000000000001","print":"00000000000000000000000000000002"}}],"#,
        r#"["secret",{"secret":{"same_as":["ONE","main"]}}],["aircraft",{"device":"ONE"}],"#,
        r#"["partners",{"partners":[["ONE","main"]],"all":true}]],"replaces":["ONE"]}"#,
    ]
    .concat()
    .replace("ONE", ONE);
    assert_eq!(encode(&body, [0; 16]).unwrap().text, expected);
    assert_eq!(encode(&Body::Opaque, [0; 16]), None);
}

const SALT: &str = r#"{"salt":"00000000000000000000000000000000","#;

fn bare(symptom: &str) -> Begun {
    Begun {
        symptom: symptom.into(),
        transmitter: None,
        receiver: None,
        whose: String::new(),
        facts: vec![],
        open: vec![],
    }
}

#[test]
fn the_stored_form_of_a_trail_is_fixed() {
    let main = EndRef { device: DeviceId(1), end: "main".into() };
    let begun = Body::TrailBegun(Begun {
        transmitter: Some(main),
        whose: "Ann".into(),
        facts: vec![
            (Side::Receiver, Field::Firmware, Value::Text("4.1".into())),
            (Side::Transmitter, Field::ModelId, Value::Number(7)),
            (Side::Receiver, Field::Secret, Value::Secret(SecretMark::Print { key: 1, print: 2 })),
        ],
        open: vec!["hatch".into()],
        ..bare("wont_pair")
    });
    let expected = [
        r#""symptom":"wont_pair","transmitter":["ONE","main"],"receiver":null,"whose":"Ann","facts":["#,
        r#"["receiver","firmware","4.1"],["transmitter","model_id",7],"#,
        r#"["receiver","secret",{"secret":{"key":"0000000000000001","print":"00000000000000000000000000000002"}}]"#,
        r#"],"open":["hatch"]}"#,
    ]
    .concat();
    stands_as(&begun, "trail", &expected);
}

#[track_caller]
#[expect(clippy::unwrap_used, reason = "a body that is not written fails the test")]
fn stands_as(body: &Body, kind: &str, expected: &str) {
    let expected = format!("{SALT}{}", expected.replace("ONE", ONE));
    let encoded = encode(body, [0; 16]).unwrap();
    assert_eq!((encoded.kind, encoded.version, encoded.text.as_str()), (kind, 1, expected.as_str()));
    assert_eq!(decode(kind, 1, &expected), *body);
}

#[test]
fn the_stored_form_of_a_trails_steps_is_fixed() {
    let facts = vec![(Side::Receiver, Field::Code, Value::Text("R7".into()))];
    let cases = [
        (
            Event::Answered { step: "see_lamp".into(), answer: "yes".into(), facts },
            r#""did":"answered","step":"see_lamp","answer":"yes","facts":[["receiver","code","R7"]]}"#,
        ),
        (
            Event::Tried { step: "band:1".into(), helped: Helped::CantTell, facts: vec![], way: None },
            r#""did":"tried","step":"band:1","helped":"cant-tell","facts":[]}"#,
        ),
        (Event::Opened { cover: "hatch".into() }, r#""did":"opened","cover":"hatch"}"#),
        (
            Event::Elsewise { text: "moved it".into(), minutes: Minutes(2.5), changed: String::new() },
            r#""did":"elsewise","text":"moved it","minutes":2.5,"changed":""}"#,
        ),
        (Event::PutBack { change: "id_off".into() }, r#""did":"put-back","change":"id_off"}"#),
        (Event::Accepted { change: "id_off".into() }, r#""did":"accepted","change":"id_off"}"#),
        (
            Event::Proved { proof: "range".into(), held: true },
            r#""did":"proved","proof":"range","held":true}"#,
        ),
    ];
    for (event, expected) in cases {
        let body = Body::TrailEvent { trail: EntryId(1), event };
        stands_as(&body, "trail_step", &format!(r#""trail":"ONE",{expected}"#));
    }
}

#[test]
fn the_stored_form_of_a_trails_end_is_fixed() {
    let closed = Closed {
        trail: EntryId(1),
        symptom: "wont_pair".into(),
        cause: "band".into(),
        outcome: Outcome::GaveUp,
        minutes: Minutes(34.0),
    };
    let expected = r#""trail":"ONE","symptom":"wont_pair","cause":"band","outcome":"gave-up","minutes":34}"#;
    stands_as(&Body::TrailClosed(closed), "trail_end", expected);
}

#[test]
fn what_a_newer_program_wrote_of_a_trail_is_not_misread() {
    let steps = [
        r#""did":"prayed""#,
        r#""did":"opened""#,
        r#""did":"tried","step":"x","helped":"perhaps""#,
        r#""did":"answered","step":"x""#,
        r#""did":"proved","proof":"x","held":1"#,
        r#""did":"elsewise","text":"x","minutes":-1,"changed":"""#,
        r#""did":"elsewise","text":"x","minutes":1e999,"changed":"""#,
        r#""did":"elsewise","text":"x","minutes":"5","changed":"""#,
        r#""did":"elsewise","text":"x","minutes":null,"changed":"""#,
        r#""did":"elsewise","text":"x","minutes":NaN,"changed":"""#,
    ];
    for step in steps {
        let text = format!(r#"{{"trail":"{ONE}",{step}}}"#);
        assert_eq!(decode("trail_step", 1, &text), Body::Opaque, "{text}");
    }
    for (outcome, minutes) in
        [("sold", "1"), ("left", "-0.5"), ("left", "1e999"), ("left", "null"), ("left", "[]")]
    {
        let text = format!(
            r#"{{"trail":"{ONE}","symptom":"x","cause":"","outcome":"{outcome}","minutes":{minutes}}}"#
        );
        assert_eq!(decode("trail_end", 1, &text), Body::Opaque, "{text}");
    }
    assert_eq!(decode("trail", 1, r#"{"transmitter":null}"#), Body::Opaque);
    assert_eq!(decode("trail", 2, r#"{"symptom":"x"}"#), Body::Opaque);
    // Known parts are kept, among them minutes to their last bit.
    let text = r#"{"symptom":"x","mood":[1],"facts":[["receiver","smell",{"a":[1]}],["pilot","code","R1"],
        ["receiver","pack",1.5],["receiver","code","R7","extra"]]}"#;
    let facts = vec![(Side::Receiver, Field::Code, Value::Text("R7".into()))];
    assert_eq!(decode("trail", 1, text), Body::TrailBegun(Begun { facts, ..bare("x") }));
    for (text, minutes) in [("-0.0", 0.0), ("7.2057594037927933e16", 72_057_594_037_927_933.0), ("1E1", 10.0)]
    {
        let text = format!(
            r#"{{"trail":"{ONE}","did":"elsewise","text":"","minutes":{text},"changed":"","new":{{}}}}"#
        );
        let Body::TrailEvent { event: Event::Elsewise { minutes: read, .. }, .. } =
            decode("trail_step", 1, &text)
        else {
            panic!("{text} is not read");
        };
        assert_eq!(read.0.to_bits(), f64::to_bits(minutes), "{text}");
    }
}

/// A seed is the number of a kind and the text of a body.
#[test]
fn the_fuzzers_seeds_of_trails_are_bodies() {
    let seeds = [
        include_bytes!("../../../fuzz/seeds/body/trail").as_slice(),
        include_bytes!("../../../fuzz/seeds/body/trail_step"),
        include_bytes!("../../../fuzz/seeds/body/trail_end"),
    ];
    for (seed, kind) in seeds.into_iter().zip(["trail", "trail_step", "trail_end"]) {
        assert_eq!(KINDS[usize::from(seed[0])], kind);
        let text = std::str::from_utf8(&seed[1..]).unwrap();
        let body = decode(kind, 1, text);
        assert_eq!(encode(&body, [0; 16]).unwrap().text, text);
    }
}

#[test]
fn minutes_that_are_no_number_are_not_written() {
    for minutes in [f64::NAN, f64::INFINITY, -1.0].map(Minutes) {
        let event = Event::Elsewise { text: String::new(), minutes, changed: String::new() };
        assert_eq!(encode(&Body::TrailEvent { trail: EntryId(1), event }, [0; 16]), None);
        let (symptom, cause) = (String::new(), String::new());
        let closed = Closed { trail: EntryId(1), symptom, cause, outcome: Outcome::Left, minutes };
        assert_eq!(encode(&Body::TrailClosed(closed), [0; 16]), None);
    }
}

#[test]
fn what_a_newer_version_wrote_is_not_misread() {
    assert_eq!(decode("note", 2, r#"{"text":"x"}"#), Body::Opaque);
    assert_eq!(decode("flight", 1, r#"{"text":"x"}"#), Body::Opaque);
    assert_eq!(decode("device", 1, r#"{"sort":"submarine"}"#), Body::Opaque);
    assert_eq!(decode("note", 1, r#"{"text":"x","mood":["calm"]}"#), Body::Note { text: "x".into() });
    let reading = r#"{"part":"whole","how":"seen","facts":[["smell",{"a":[1]}],["code","R7"],
        ["model_id",99999999999],["model_id",-1],["pack",1.5],["pack",true],["pack",[1]],
        ["pack",{"chemistry":"x"}],["secret",{"secret":"odd"}],["secret",{"secret":{"new":1}}],
        ["name","x","extra"]]}"#;
    let facts = vec![(Field::Code, Value::Text("R7".into())), (Field::Name, Value::Text("x".into()))];
    let known = Body::Reading { part: Part::Whole, how: How::Seen, facts, replaces: vec![] };
    assert_eq!(decode("reading", 1, reading), known, "known facts are kept");
}

/// Source of the hash: FIPS 180-2, appendix B.1.
#[test]
fn digests_are_sha_256() {
    let abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
    assert_eq!(wire::digest(b"abc").to_string(), abc);
}

#[test]
fn bad_lines_say_what_is_wrong() {
    let canary = "canary-7731";
    let note = r#"{"text":"canary-7731"}"#;
    let head = Head {
        stamp: Stamp {
            id: EntryId(1),
            replica: ReplicaId(1),
            clock: Clock(1),
            seen: Moment(0),
            recorded: Moment(0),
            subject: DeviceId(1),
        },
        seq: 1,
        prev: Digest([0; 32]),
        author: canary.into(),
        kind: "note".into(),
        version: 1,
        body: wire::digest(note.as_bytes()),
    };
    let good = lines::entry_line(&head.encode(), Some(note));
    assert!(matches!(lines::read(good.as_bytes()), Ok(Line::Entry { .. })));
    let file = lines::file_line(b"canary-7731");
    let cases: [(Vec<u8>, &str); 9] = [
        (
            good.replace(r#"{"text":"canary"#, r#"{"text":"c"#).into(),
            "the body does not match the digest in its head",
        ),
        (good.replace("00000001", "0001").into(), "the head's `id` can't be read"),
        (
            good.replace("\"seq\":1", "\"seq\":-1").into(),
            "the head is not a JSON object with all the keys of a head",
        ),
        (good.replace(",\"body\":", ",\"corpse\":").into(), "the line is not a header, a file or an entry"),
        (file.replace("canary", "c").into(), "the file's bytes do not match its digest"),
        (file.replace("\"text\"", "\"base64\"").into(), "the file's `base64` can't be read"),
        (
            br#"{"holdfast_logbook":2}"#.to_vec(),
            "the logbook is written in form 2, this program reads form 1; update the program",
        ),
        (b"canary-7731 \xff".to_vec(), "the line is not UTF-8 text (byte 13)"),
        (vec![b' '; lines::LONGEST_LINE + 1], "the line is longer than 67108864 bytes"),
    ];
    for (line, expected) in cases {
        let fault: LineFault = lines::read(&line).unwrap_err();
        assert!(fault.to_string().starts_with(expected), "{fault} is not {expected}");
        assert!(!format!("{fault} {fault:?}").contains(canary), "{fault:?}");
    }
    assert_eq!(lines::read(lines::header_line().as_bytes()), Ok(Line::Header));
}
