//! The answers of refits as JSON: the engine's figures, under keys in a fixed order, and no secret.

use refits::follow::{self, code};
use refits::layout::{Line, Night};
use refits::planner::{Clash as Clashes, CraftLine, Plan as Planned, Reason};
use refits::problem::Score;
use refits::step::{self, Back, Step};
use refits::world::{Craft, Look};
use register::entry::{Body, Stamp};
use register::family::Energised;
use register::field::{Field, How, Part, Sort};
use register::id::{DeviceId, EntryId, ReplicaId};
use register::refit::{Begun, Ending, Event, Reach, Wish};
use register::register::{Folded, Register};
use register::scene::Scene;
use register::time::{Clock, Moment};
use register::value::{SecretMark, Value as Fact};
use register::view::{Card, State};
use serde_json::{Value, json};
use units::Minutes;
use wire::answers::refit::plan::Plan;
use wire::answers::refit::{Brief, Clash, Standing};

const PLANE: DeviceId = DeviceId(3);
const RECEIVER: DeviceId = DeviceId(4);
/// One that is yet to be bought.
const BOUGHT: DeviceId = DeviceId(99);

fn stamp(number: u64, subject: DeviceId) -> Stamp {
    Stamp {
        id: EntryId(u128::from(number)),
        replica: ReplicaId(1),
        clock: Clock(number),
        seen: Moment(0),
        recorded: Moment(0),
        subject,
    }
}

fn register(more: Vec<Body>) -> Register {
    let code = |text: &str| Body::Reading {
        part: Part::Whole,
        how: How::Seen,
        facts: vec![(Field::Code, Fact::Text(text.into()))],
        replaces: vec![],
    };
    let mut entries = vec![
        (PLANE, Body::Device { sort: Sort::Aircraft }),
        (PLANE, code("A3")),
        (RECEIVER, Body::Device { sort: Sort::Receiver }),
        (RECEIVER, code("R4")),
    ];
    entries.extend(more.into_iter().map(|body| (DeviceId::WORKSHOP, body)));
    let mut register = Register::default();
    for (number, (subject, body)) in (1..).zip(entries) {
        assert_eq!(register.fold(&stamp(number, subject), body), Folded::In);
    }
    register
}

fn keys(text: &str, wanted: &[&str]) {
    let mut rest = text;
    for key in wanted {
        let key = format!("\"{key}\":");
        let at = rest.find(&key).unwrap_or_else(|| panic!("{key} is not there, or not in its place: {text}"));
        rest = &rest[at + key.len()..];
    }
}

fn step(key: &str, device: DeviceId, minutes: f64, back: Back) -> Step {
    Step {
        key: key.to_owned(),
        sort: step::Sort::Flash,
        what: PLANE,
        device,
        text: format!("Flash {key}."),
        minutes: Minutes(minutes),
        needs: vec!["a lead".to_owned()],
        energises: vec![Energised::Receiver, Energised::Servos],
        cautions: vec!["Keep clear.".to_owned()],
        changes: vec![],
        if_fails: "Once more.".to_owned(),
        back,
    }
}

fn plan() -> Planned {
    let card = Card {
        id: PLANE,
        code: Some("A3".into()),
        name: Some("Kite".into()),
        state: State::InUse,
        last_seen: Moment(0),
    };
    let craft = Craft {
        card,
        receivers: vec![],
        flown_by: vec![],
        needs: vec![],
        required: vec![],
        cover: None,
        flew: true,
    };
    let way = Back::Way { text: "Flash it back.".to_owned(), minutes: Minutes(7.25) };
    let lines = [
        Line {
            step: step("flash:r4#1", RECEIVER, 6.5, way),
            grounds: vec![PLANE],
            frees: vec![],
            back: Some(Minutes(7.25)),
        },
        Line {
            step: step("flash:new#1", BOUGHT, 4.0, Back::None { why: "It refuses.".to_owned() }),
            grounds: vec![],
            frees: vec![PLANE],
            back: None,
        },
    ];
    let night = |number, lines: Vec<Line>, flies| Night {
        number,
        available: (number == 1).then_some(Minutes(90.0)),
        minutes: lines.iter().map(|line| line.step.minutes).sum(),
        lines,
        flies: vec![flies],
        most_grounded: 1,
        kept_back: if number == 1 { vec![RECEIVER] } else { vec![] },
        no_way_back: vec!["It refuses.".to_owned()],
    };
    Planned {
        crafts: vec![CraftLine { craft, before: true }],
        untouched: 2,
        nights: vec![night(1, lines[..1].to_vec(), false), night(2, lines[1..].to_vec(), true)],
        score: Score { minutes: 1050, grounded: 1, covers: 0 },
        bound: Score { minutes: 1000, grounded: 0, covers: 0 },
        proven: false,
        gap: 0.05,
        reasons: vec![Reason {
            device: RECEIVER,
            what: "goes to 5.1".into(),
            why: "Wished.".into(),
            wished: true,
        }],
        looks: vec![Look { text: "Look.".into(), minutes: Minutes(1.5), supposes: "It is so.".into() }],
        left_out: vec![],
        no_way_back: vec!["It refuses.".to_owned()],
        cost: 45,
        replaced: vec![(RECEIVER, BOUGHT)],
        placed: vec![],
        pivots: 0,
        links: vec![],
        wishes: vec!["R4 holds 5.1".to_owned()],
        notes: vec![],
    }
}

#[test]
fn a_plan_has_the_engines_figures() {
    let register = register(vec![]);
    let scene = Scene::new(&register);
    let text = serde_json::to_string(&Plan::new(&scene, &plan())).unwrap();
    keys(
        &text,
        &[
            "sentence",
            "proof",
            "proven",
            "gap",
            "minutes",
            "grounded",
            "covers",
            "bound",
            "wishes",
            "crafts",
            "untouched",
            "evenings",
            "number",
            "available",
            "steps",
            "key",
            "code",
            "sort",
            "what",
            "device",
            "text",
            "minutes",
            "needs",
            "energises",
            "cautions",
            "if_fails",
            "back",
            "kind",
            "grounds",
            "frees",
            "back_minutes",
            "most_grounded",
            "kept_back",
            "no_way_back",
            "reasons",
            "looks",
            "left_out",
            "cost",
            "replaced",
            "notes",
        ],
    );
    let answer: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(answer["proof"]["minutes"], 10.5);
    assert_eq!(answer["proof"]["bound"], json!({ "minutes": 10.0, "grounded": 0, "covers": 0 }));
    assert_eq!(answer["crafts"][0]["after"], json!([false, true]));
    assert_eq!((&answer["crafts"][0]["label"], &answer["crafts"][0]["name"]), (&json!("A3"), &json!("Kite")));
    let evenings = answer["evenings"].as_array().unwrap();
    assert_eq!((&evenings[0]["available"], &evenings[1]["available"]), (&json!(90.0), &Value::Null));
    let (first, second) = (&evenings[0]["steps"][0], &evenings[1]["steps"][0]);
    assert_eq!(first["code"], code("flash:r4#1").as_str());
    assert_eq!((&first["what"], &first["device"]), (&json!("A3"), &json!("R4")));
    assert_eq!(first["energises"], json!(["receiver", "servos"]));
    assert_eq!(first["back"], json!({ "kind": "way", "text": "Flash it back.", "minutes": 7.25 }));
    assert_eq!((&first["grounds"], &first["frees"]), (&json!(["A3"]), &json!([])));
    assert_eq!(second["back"], json!({ "kind": "none", "text": "It refuses.", "minutes": null }));
    assert_eq!((&second["device"], &second["back_minutes"]), (&Value::Null, &Value::Null));
    assert_eq!(answer["replaced"], json!([{ "receiver": "R4", "by": null }]));
    assert_eq!(answer["looks"][0]["minutes"], 1.5);
    assert_eq!(evenings[0]["kept_back"], json!(["R4"]));
    // Of what is left of a refit nothing is proven.
    assert_eq!(serde_json::to_value(Plan::rest(&scene, &plan())).unwrap()["proof"], Value::Null);
}

#[test]
fn a_refit_under_way_keeps_its_secret() {
    let mark = SecretMark::Print { key: 0x7731, print: 0x7731_7731 };
    let wish = Wish::Secret { on: Reach::Ends(vec![]), mark };
    let begun = Begun { name: "New".into(), wishes: vec![wish], links: vec![], placed: vec![] };
    let refit = EntryId(5);
    let event = |event| Body::RefitEvent { refit, event };
    let register = register(vec![
        Body::RefitBegun(begun),
        event(Event::Ticked { step: "flash:r4#1".into(), text: "Flash R4.".into(), evening: 2 }),
        event(Event::Deferred { what: PLANE, until: 3 }),
        event(Event::Ended { how: Ending::Abandoned }),
    ]);
    let fleet = register::fleet::Fleet::default();
    let standing = follow::standing(&register, &fleet, register.refit(refit).unwrap(), Moment(0));
    let text = serde_json::to_string(&Standing::new(&register, &standing, "000005")).unwrap();
    keys(
        &text,
        &["id", "short", "name", "begun", "ended", "sentence", "stale", "wishes", "done", "put_off", "plan"],
    );
    let answer: Value = serde_json::from_str(&text).unwrap();
    assert_eq!((&answer["short"], &answer["ended"]), (&json!("000005"), &json!("abandoned")));
    assert_eq!(answer["done"][0]["code"], code("flash:r4#1").as_str());
    assert_eq!(answer["done"][0]["evening"], 2);
    assert_eq!(answer["put_off"], json!([{ "what": "A3", "until": 3 }]));
    for number in ["7731", &0x7731_7731.to_string(), &0x7731.to_string()] {
        assert!(!text.contains(number), "{number} in {text}");
    }
    let brief = serde_json::to_value(Brief::new(&standing, "000005")).unwrap();
    assert_eq!((&brief["done"], &brief["sentence"]), (&json!(1), &answer["sentence"]));
}

#[test]
fn wishes_that_clash_are_numbered_from_one() {
    let clash = Clashes {
        wishes: vec![0, 2],
        words: vec!["one".into(), "three".into()],
        smallest: true,
        why: "They do.".into(),
        ideas: vec![],
    };
    let answer = serde_json::to_value(Clash::new(&clash, &|_| None)).unwrap();
    assert_eq!(answer["wishes"], json!([1, 3]));
    assert_eq!(answer["sentence"], clash.sentence());
}
