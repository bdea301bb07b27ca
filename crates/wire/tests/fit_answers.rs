//! The answers of commissioning as JSON: the engine's figures, under keys in a fixed order, and no secret.
#![expect(clippy::unwrap_used, reason = "a test that can't go on fails")]

use std::collections::BTreeMap;

use fitting::aircraft::Fit;
use fitting::cards;
use fitting::commission::{Commission, commission, lapse};
use fitting::failsafe::{Power, Sort as Craft, proof_steps};
use fitting::part::schema;
use register::entry::{Body, Stamp};
use register::field::{Field, How, Part as Where, Sort};
use register::fit::{Fitted, Part, Proof, Proved, Signed, Work, Worked};
use register::fleet::Fleet;
use register::id::{DeviceId, EntryId, ReplicaId};
use register::register::{Folded, Register};
use register::scene::Scene;
use register::time::{Clock, Moment};
use register::value::{EndRef, SecretMark, Value as Fact};
use serde_json::{Value, json};
use wire::answers::card::{Card, Label};
use wire::answers::commission::{Brief, List, Rule, Steps};
use wire::answers::fit::Shown;
use wire::answers::fit::keys::Keys;

const T1: DeviceId = DeviceId(11);
const R1: DeviceId = DeviceId(21);
const A1: DeviceId = DeviceId(31);

/// Noon of a day.
const NOON: i64 = 20_000 * 86_400_000 + 43_200_000;

const OUTPUTS: &str = "[[transmitter]]\nlabel = \"T1\"\norder = [\"AETR\"]\n\n\
                       [[part]]\nname = \"aileron servo\"\noutput = 1\n\n\
                       [[part]]\nname = \"motor\"\nsort = \"speed-controller\"\noutput = 1\n";

/// A pack that holds the servos at rest and can't with all of them stalled.
const SUPPLY: &str = "[[pack]]\nchemistry = \"nimh\"\ncells = 4\ncapacity_mah = 100\ncell_mohm = 300\n\n\
                      [[regulator]]\nkind = \"switching\"\nset_v = 5\nburst_a = 1\n\n\
                      [[servo]]\nclass = \"large\"\ncount = 4\n";

const FAILSAFE: &str = "[[channel]]\nchannel = 3\nfunction = \"throttle\"\naction = \"value\"\nvalue_us = 1000\n\n\
                        [flight]\nspeed_m_s = 15\nheight_m = 60\nheading_deg = 45\n\n[field]\nradius_m = 250\n";

const ANTENNAS: &str =
    "[[antenna]]\nname = \"left\"\nkind = \"bare-tip\"\nlength_mm = 31\nazimuth_deg = 270\n";

/// The print of a link secret.
const PRINT: u128 = 0x5c5c_5c5c_5c5c_5c5c_5c5c_5c5c_5c5c_5c5c;

fn register(more: Vec<(DeviceId, Body)>) -> Register {
    let reading = |part: Where, field: Field, value: Fact| Body::Reading {
        part,
        how: How::Seen,
        facts: vec![(field, value)],
        replaces: vec![],
    };
    let code = |text: &str| reading(Where::Whole, Field::Code, Fact::Text(text.into()));
    let mut entries = vec![
        (T1, Body::Device { sort: Sort::Transmitter }),
        (T1, code("T1")),
        (R1, Body::Device { sort: Sort::Receiver }),
        (R1, code("R1")),
        (A1, Body::Device { sort: Sort::Aircraft }),
        (A1, code("A1")),
        (R1, reading(Where::Whole, Field::Aircraft, Fact::Device(A1))),
        (
            R1,
            Body::Paired {
                end: Where::MAIN.into(),
                transmitter: EndRef { device: T1, end: Where::MAIN.into() },
            },
        ),
        (
            R1,
            reading(
                Where::End(Where::MAIN.into()),
                Field::Secret,
                Fact::Secret(SecretMark::Print { key: 1, print: PRINT }),
            ),
        ),
    ];
    entries.extend(more);
    let mut register = Register::default();
    for (number, (subject, body)) in (1..).zip(entries) {
        let stamp = Stamp {
            id: EntryId(u128::from(number)),
            replica: ReplicaId(1),
            clock: Clock(number),
            seen: Moment(NOON + i64::try_from(number).unwrap() * 1000),
            recorded: Moment(NOON + i64::try_from(number).unwrap() * 1000),
            subject,
        };
        assert_eq!(register.fold(&stamp, body), Folded::In);
    }
    register
}

fn fitted(part: Part, text: &str) -> (DeviceId, Body) {
    (A1, Body::Fitted(Fitted { part, text: text.into(), replaces: vec![] }))
}

fn whole() -> Vec<(DeviceId, Body)> {
    vec![
        fitted(Part::Outputs, OUTPUTS),
        fitted(Part::Supply, SUPPLY),
        fitted(Part::Failsafe, FAILSAFE),
        fitted(Part::Antennas, ANTENNAS),
    ]
}

/// What is known of the aircraft, as engine and door have it.
fn ask<T>(register: &Register, of: impl FnOnce(&Scene, &Fleet, &Commission, &Fit) -> T) -> T {
    let scene = Scene::new(register);
    let fleet = Fleet::of(&scene);
    let fit = Fit::of(&scene, &fleet, A1);
    let list = commission(&scene, &fleet, A1, None, &fit.states(), Moment(NOON + 3_600_000)).unwrap();
    of(&scene, &fleet, &list, &fit)
}

/// A part as JSON, once as it is written and once as it is read back.
fn part(register: &Register, part: Part) -> (String, Value) {
    let text = ask(register, |_, _, list, fit| serde_json::to_string(&Shown::new(list, fit, part)).unwrap());
    let value = serde_json::from_str(&text).unwrap();
    (text, value)
}

#[track_caller]
fn keys(text: &str, wanted: &[&str]) {
    let mut rest = text;
    for key in wanted {
        let key = format!("\"{key}\":");
        let at = rest.find(&key).unwrap_or_else(|| panic!("{key} is not there, or not in its place: {text}"));
        rest = &rest[at + key.len()..];
    }
}

const SHOWN: [&str; 13] = [
    "aircraft",
    "part",
    "standing",
    "sentence",
    "next",
    "seen",
    "entry",
    "texts",
    "problems",
    "findings",
    "not_checked",
    "assumptions",
    "answer",
];

#[test]
fn parts_have_their_keys_in_order() {
    let register = register(whole());
    for (which, text) in [
        (Part::Outputs, OUTPUTS),
        (Part::Supply, SUPPLY),
        (Part::Failsafe, FAILSAFE),
        (Part::Antennas, ANTENNAS),
    ] {
        let (written, value) = part(&register, which);
        keys(&written, &SHOWN);
        assert_eq!((&value["part"], &value["text"]), (&which.word().into(), &text.into()));
        assert_eq!((&value["texts"], &value["problems"]), (&1.into(), &json!([])));
    }
    // Nothing that is written down: no answer, and what to do.
    let bare = register_of_nothing();
    let (written, value) = part(&bare, Part::Supply);
    keys(&written, &SHOWN);
    assert_eq!(value["standing"], "open");
    assert!(value["answer"].is_null() && value["text"].is_null() && value["seen"].is_null(), "{value:#}");
    assert!(!value["next"].as_str().unwrap().is_empty());
}

fn register_of_nothing() -> Register {
    register(vec![])
}

#[test]
fn outputs_are_the_engines() {
    let register = register(whole());
    let (_, value) = part(&register, Part::Outputs);
    ask(&register, |_, _, _, fit| {
        let answer = fit.outputs.as_ref().unwrap().answer().unwrap();
        let wiring = value["answer"]["wiring"].as_array().unwrap();
        assert_eq!(wiring.len(), answer.wiring.len());
        for (got, wire) in wiring.iter().zip(&answer.wiring) {
            assert_eq!((&got["output"], &got["channel"]), (&wire.number.into(), &wire.channel.into()));
            assert_eq!(got["says"], wire.says.as_str());
            assert_eq!(got["parts"].as_array().unwrap().len(), wire.parts.len());
        }
        // Two parts of unlike sorts on one output are a fault, heaviest first.
        assert_eq!(value["findings"][0]["weight"], "fault", "{value:#}");
        assert_eq!(value["findings"].as_array().unwrap().len(), answer.findings.len());
    });
}

#[test]
fn a_collapse_has_no_figures() {
    let register = register(whole());
    let (_, value) = part(&register, Part::Supply);
    let cases = value["answer"]["cases"].as_array().unwrap();
    let collapsed = cases.iter().filter(|case| case["outcome"] == "collapse");
    assert!(collapsed.clone().count() > 0, "{value:#}");
    for case in collapsed {
        assert!(case["point"].is_null() && case["why"].is_string(), "{case:#}");
    }
    ask(&register, |_, _, _, fit| {
        let answer = fit.supply.as_ref().unwrap().answer().unwrap();
        for (got, case) in cases.iter().zip(&answer.cases) {
            assert_eq!(got["outcome"], case.outcome.word());
            if let Some(point) = case.outcome.point() {
                let volts = got["point"]["receiver_v"].as_f64().unwrap();
                assert!((volts - point.receiver_v.0).abs() <= 0.000_5, "{got:#}");
                // What comes out of the packs goes somewhere.
                let of = |key: &str| got["point"][key].as_f64().unwrap();
                assert!((of("out_w") - of("loads_w") - of("lost_w")).abs() < 0.02, "{got:#}");
            }
        }
        let held = |case: &&Value| case["outcome"] == "held" && case["failed"].is_null();
        let volts = |case: &Value| case["point"]["receiver_v"].as_f64().unwrap();
        let lowest = cases.iter().filter(held).map(volts).fold(f64::INFINITY, f64::min);
        match value["answer"]["worst_held"].as_u64() {
            Some(at) => assert!((volts(&cases[usize::try_from(at).unwrap()]) - lowest).abs() < 1e-9),
            None => assert!(lowest.is_infinite(), "{value:#}"),
        }
    });
}

#[test]
fn failsafe_and_antennas_are_the_engines() {
    let register = register(whole());
    let (_, failsafe) = part(&register, Part::Failsafe);
    let (_, antennas) = part(&register, Part::Antennas);
    ask(&register, |_, _, _, fit| {
        let answer = fit.failsafe.as_ref().unwrap().answer().unwrap();
        let timeline = answer.timeline.as_ref().unwrap();
        let got = &failsafe["answer"]["timeline"];
        assert_eq!(got["moments"].as_array().unwrap().len(), timeline.moments.len());
        assert!((got["time_s"].as_f64().unwrap() - timeline.time.0).abs() <= 0.005);
        assert!(failsafe["answer"]["why_not"].is_null() && failsafe["answer"]["search"]["reach"].is_object());
        let round = &fit.antennas.as_ref().unwrap().answer().unwrap().rounds[0];
        let line = antennas["answer"]["rounds"][0]["line_db"].as_array().unwrap();
        assert_eq!(line.len(), 72);
        for (got, gain) in line.iter().zip(&round.line) {
            assert!((got.as_f64().unwrap() - gain.0).abs() <= 0.005);
        }
        assert_eq!(antennas["answer"]["sites"][0]["sort"], "bare-tip");
        assert_eq!(antennas["answer"]["sites"][0]["towards"]["words"], "straight out to the left");
    });
}

/// What an older version wrote, or another program: its problems are told, and nothing is taken in.
#[test]
fn what_cant_be_read_is_told() {
    let register = register(vec![fitted(Part::Supply, "[[pack]]\nchemistry = \"nimh\"\ncells = 0\n")]);
    let (_, value) = part(&register, Part::Supply);
    assert_eq!((&value["standing"], &value["answer"]), (&"failed".into(), &Value::Null));
    let problem = &value["problems"][0];
    assert_eq!((&problem["line"], &problem["key"]), (&3.into(), &"pack[1].cells".into()), "{value:#}");
}

fn proved(proof: Proof, transmitter: Option<DeviceId>) -> (DeviceId, Body) {
    let measured = BTreeMap::new();
    (
        A1,
        Body::Proved(Proved { proof, transmitter, held: true, steps: vec![], measured, note: String::new() }),
    )
}

#[test]
fn lists_say_what_lapsed_and_what_was_signed() {
    let mut entries = whole();
    entries.push(proved(Proof::Range, Some(T1)));
    let signed = Signed {
        transmitter: Some(T1),
        checked: vec!["proof:range".into()],
        unchecked: vec!["link".into()],
        note: "indoors".into(),
    };
    entries.push((A1, Body::Signed(signed)));
    entries.push((A1, Body::Worked(Worked { what: Work::Antenna, note: "to the fin".into() })));
    let register = register(entries);
    let (text, brief) = ask(&register, |_, _, list, _| {
        (serde_json::to_string(&List::new(list)).unwrap(), serde_json::to_value(Brief::new(list)).unwrap())
    });
    keys(&text, &["aircraft", "craft", "transmitter", "transmitters", "receivers", "sentence", "items"]);
    keys(
        &text,
        &["key", "label", "standing", "stands", "text", "seen", "entry", "lapses", "findings", "next"],
    );
    let value: Value = serde_json::from_str(&text).unwrap();
    let items = value["items"].as_array().unwrap();
    assert_eq!(items.len(), 9);
    let range = items.iter().find(|item| item["key"] == "proof:range").unwrap();
    assert_eq!((&range["standing"], &range["stands"]), (&"lapsed".into(), &"lapsed".into()));
    assert_eq!(range["lapses"][0]["happening"], "antenna");
    assert_eq!(range["lapses"][0]["why"], lapse::rule(lapse::Happening::Antenna).why.as_str());
    let signature = &value["signature"];
    assert_eq!(
        (&signature["checked"], &signature["not_checked"], &signature["note"]),
        (&json!(["proof:range"]), &json!(["link"]), &"indoors".into())
    );
    assert_eq!((&signature["since"], &signature["stands"]), (&json!(["proof:range"]), &false.into()));
    let of = |standing: &str| items.iter().filter(|item| item["standing"] == standing).count();
    for (key, standing) in
        [("lapsed", "lapsed"), ("open", "open"), ("failed", "failed"), ("warned", "warned")]
    {
        assert_eq!(brief[key], of(standing), "{key}");
    }
    assert_eq!(brief["checked"], of("checked") + of("warned"));
}

#[test]
fn steps_rules_and_keys_are_the_engines() {
    let register = register(whole());
    for proof in Proof::ALL {
        let steps = proof_steps(Craft::Aeroplane, Power::Electric, *proof);
        let value = ask(&register, |_, _, list, _| {
            serde_json::to_value(Steps::new(&list.aircraft, *proof, &steps)).unwrap()
        });
        let got = value["steps"].as_array().unwrap();
        assert_eq!(got.len(), steps.len());
        for (got, step) in got.iter().zip(&steps) {
            assert_eq!((&got["key"], &got["text"]), (&step.key.into(), &step.text.as_str().into()));
            assert_eq!(got["cautions"].as_array().unwrap().len(), step.cautions.len());
        }
    }
    for rule in lapse::rules() {
        let value = serde_json::to_value(Rule::new(rule)).unwrap();
        assert_eq!(value["lapses"].as_array().unwrap().len(), rule.lapses.len());
        assert_eq!(
            (&value["why"], &value["source"]),
            (&rule.why.as_str().into(), &rule.source.as_str().into())
        );
    }
    for which in Part::ALL {
        let schema = schema(*which);
        let value = serde_json::to_value(Keys::new(schema)).unwrap();
        let tables = value["tables"].as_array().unwrap();
        assert_eq!(tables.len(), schema.tables.len());
        for (got, table) in tables.iter().zip(schema.tables) {
            for (got, key) in got["keys"].as_array().unwrap().iter().zip(table.keys) {
                assert_eq!(got["name"], key.name);
                assert_eq!(got["must"].as_bool().unwrap(), got["otherwise"].is_null(), "{got:#}");
            }
        }
    }
}

/// A link secret is kept as a mark only; not even that is on anything printed.
#[test]
fn no_secret_is_on_cards_labels_or_answers() {
    let register = register(whole());
    let texts = ask(&register, |scene, fleet, list, fit| {
        let about = cards::About {
            scene,
            fleet,
            workshop: "a club",
            address: Some("http://workshop.local"),
            now: Moment(NOON),
        };
        let bench = Card::new(&cards::bench(&about, list, fit).unwrap());
        let field = Card::new(&cards::field(&about, list, fit).unwrap());
        let label = Label::new(&cards::label(&about, R1).unwrap().unwrap());
        assert!(label.code.contains("http://workshop.local/device/"), "{}", label.code);
        let mut out = vec![
            serde_json::to_string(&bench).unwrap(),
            serde_json::to_string(&field).unwrap(),
            serde_json::to_string(&label).unwrap(),
            serde_json::to_string(&List::new(list)).unwrap(),
        ];
        out.extend(
            Part::ALL.iter().map(|part| serde_json::to_string(&Shown::new(list, fit, *part)).unwrap()),
        );
        out
    });
    for text in texts {
        assert!(text.contains("A1") || text.contains("R1"), "{text}");
        assert!(!text.contains("5c5c5c") && !text.contains(&PRINT.to_string()), "{text}");
        assert!(!text.to_lowercase().contains("secret"), "{text}");
    }
}
