//! Whole-fleet answers: what if, plans, spares, today, minutes.
#![allow(missing_docs, clippy::unwrap_used)]

mod workshop;

use proptest::prelude::*;
use register::effect;
use register::field::{Field, Part};
use register::fleet::{self, Fleet, NotFound};
use register::id::DeviceId;
use register::mend;
use register::plan;
use register::rule::Verdict;
use register::scene::{Change, Scene};
use register::spares;
use register::time::{DAY_MS, Moment};
use register::today::{self, Ready};
use register::value::{Partners, SecretMark, Value};
use workshop::{Workshop, end, print, text};

const USUAL: &str = include_str!("workshop/usual.toml");
const LATER: Moment = Moment(9_000_000);

fn id(number: u128) -> DeviceId {
    DeviceId(number)
}

/// One end of the usual family, with the facts that differ from a good one.
fn usual(w: &mut Workshop, device: DeviceId, odd: &[(Field, Value)]) {
    let good = [
        (Field::Family, text("Usual")),
        (Field::Band, text("2.4 GHz")),
        (Field::Region, text("EU")),
        (Field::Firmware, text("4.1")),
        (Field::Secret, Value::Secret(print(1))),
    ];
    for (field, value) in good {
        let value = odd.iter().find(|(have, _)| *have == field).map_or(value, |(_, odd)| odd.clone());
        if value != Value::Unknown {
            w.end(device, field, value);
        }
    }
    if let Some((_, id)) = odd.iter().find(|(have, _)| *have == Field::ModelId) {
        w.end(device, Field::ModelId, id.clone());
    }
}

/// T1 flies A1 (R1) and A2 (R2); S1 and S2 are on the shelf; T2 holds another secret.
fn club() -> Workshop {
    let mut w = Workshop::new();
    w.family(USUAL);
    w.transmitter(id(1), "T1");
    usual(&mut w, id(1), &[]);
    w.transmitter(id(2), "T2");
    usual(&mut w, id(2), &[(Field::Secret, Value::Secret(print(2)))]);
    for n in 1..=2u32 {
        let (craft, receiver) = (id(100 + u128::from(n)), id(200 + u128::from(n)));
        w.aircraft(craft, &format!("A{n}"));
        w.receiver(receiver, &format!("R{n}"));
        usual(&mut w, receiver, &[(Field::ModelId, Value::Number(n))]);
        w.whole(receiver, Field::Aircraft, Value::Device(craft));
        let key = format!("m{n}");
        w.memory(id(1), &key, Field::ModelId, Value::Number(n));
        w.memory(id(1), &key, Field::Aircraft, Value::Device(craft));
    }
    for (n, firmware) in [(1u128, "4.0"), (2, "3.0")] {
        w.receiver(id(300 + n), &format!("S{n}"));
        usual(&mut w, id(300 + n), &[(Field::Firmware, text(firmware)), (Field::ModelId, Value::Number(9))]);
        w.whole(id(300 + n), Field::State, text("shelf"));
    }
    w
}

fn set(device: DeviceId, field: Field, value: Value) -> Change {
    Change::Set { device, part: Part::End("main".to_owned()), field, value }
}

#[test]
fn what_if_tells_what_breaks_and_what_is_repaired() {
    let w = club();
    let register = w.register();
    let scene = Scene::new(&register);
    let fleet = Fleet::of(&scene);
    let secret = [set(id(1), Field::Secret, Value::Secret(print(2)))];
    let effect = effect::what_if(&scene, &fleet, &secret, LATER);
    let broken: Vec<String> = effect.breaks().map(effect::Touched::text).collect();
    assert_eq!(broken, ["T1 with R1 in A1", "T1 with R2 in A2"]);
    assert_eq!(effect.repairs().count(), 0);
    // Nothing was stored, and changing nothing changes nothing.
    assert_eq!(register, w.register());
    assert!(effect::what_if(&scene, &fleet, &[], LATER).touched.is_empty());
}

#[test]
fn a_receiver_taken_out_of_its_aircraft_is_a_break() {
    let w = club();
    let register = w.register();
    let scene = Scene::new(&register);
    let fleet = Fleet::of(&scene);
    let out = Change::Set { device: id(201), part: Part::Whole, field: Field::Aircraft, value: Value::None };
    let effect = effect::what_if(&scene, &fleet, &[out], LATER);
    let broken: Vec<String> = effect.breaks().map(effect::Touched::text).collect();
    assert_eq!(broken, ["T1 with R1 in A1"]);
}

#[test]
fn a_device_not_yet_bought_is_tried_out() {
    let w = club();
    let register = w.register();
    let scene = Scene::new(&register);
    let fleet = Fleet::of(&scene);
    let new = id(999);
    let mut changes = vec![Change::Add { device: new, sort: register::field::Sort::Receiver }];
    for (field, value) in [
        (Field::Family, text("Usual")),
        (Field::Band, text("2.4 GHz")),
        (Field::Region, text("EU")),
        (Field::Firmware, text("4.9")),
        (Field::Secret, Value::Secret(print(1))),
        (Field::ModelId, Value::Off),
    ] {
        changes.push(set(new, field, value));
    }
    let effect = effect::what_if(&scene, &fleet, &changes, LATER);
    let verdicts: Vec<_> = effect.touched.iter().map(|t| (t.transmitter.label(), t.after)).collect();
    // T1 has memories and the same secret; T2 has neither.
    assert_eq!(
        verdicts,
        [("T1".to_owned(), Some(Verdict::Links)), ("T2".to_owned(), Some(Verdict::Blocked))]
    );
    assert!(scene.device(new).is_none());
}

#[test]
fn spares_that_fit_come_first_with_their_minutes() {
    let w = club();
    let register = w.register();
    let scene = Scene::new(&register);
    let fleet = Fleet::of(&scene);
    let found = spares::spares(&scene, &fleet, id(101), LATER);
    let lines: Vec<String> = found
        .iter()
        .map(|s| {
            format!("{} {:?} {:?}", s.receiver.label(), s.minutes.map(|m| m.to_string()), s.link.verdict())
        })
        .collect();
    // Fitting takes 20 minutes, the model ID 2, flashing by the network page 6.
    assert_eq!(lines, ["S1 Some(\"21 min\") Blocked", "S2 Some(\"27 min\") Blocked"]);
    let plan = found[0].plan.as_ref().unwrap();
    assert!(plan.steps[0].text.contains("model ID"), "{:?}", plan.steps);
}

#[test]
fn the_workshops_minutes_change_the_order_of_proposals() {
    let mut w = club();
    w.end(id(201), Field::ModelId, Value::Number(5));
    let first = |w: &Workshop| {
        let register = w.register();
        let scene = Scene::new(&register);
        let fleet = Fleet::of(&scene);
        let link = fleet.link(&scene, id(1), id(201)).unwrap();
        let (t, r) = (fleet.transmitter(id(1)).unwrap(), fleet.receiver(id(201)).unwrap());
        let found = mend::mends(&scene, &fleet, t, r, &link, LATER);
        assert!(found.windows(2).all(|pair| pair[0].minutes <= pair[1].minutes));
        found[0].action.clone()
    };
    assert!(first(&w).starts_with("Set the model ID of memory m1"), "{}", first(&w));
    w.push(
        DeviceId::WORKSHOP,
        register::entry::Body::Setting { key: "minutes.mend.set_memory_id".into(), value: Some("30".into()) },
    );
    assert!(first(&w).starts_with("Set the model ID of R1"), "{}", first(&w));
    // The family file may say otherwise, too; the workshop's own figure prevails.
    let mut w = club();
    w.end(id(201), Field::ModelId, Value::Number(5));
    w.family(&format!("{USUAL}\n[minutes]\nmend.set_memory_id = 40\n"));
    assert!(first(&w).starts_with("Set the model ID of R1"), "{}", first(&w));
}

#[test]
fn today_counts_what_can_fly_and_names_the_next_thing() {
    let mut w = club();
    w.end(id(202), Field::Firmware, text("3.7"));
    w.aircraft(id(103), "A3");
    let register = w.register();
    let scene = Scene::new(&register);
    let fleet = Fleet::of(&scene);
    let answer = today::today(&scene, &fleet, LATER);
    assert_eq!(answer.sentence(), "1 of 3 aircraft can fly; next is A2, 6 min.");
    let ready: Vec<Ready> = answer.lines.iter().map(|line| line.ready).collect();
    assert_eq!(ready, [Ready::Links, Ready::Blocked, Ready::Bare]);
    assert_eq!(answer.stale.len(), 0);
    // Half a year on, what can be set is worth another look; a band never is.
    let later = today::today(&scene, &fleet, Moment(LATER.0 + 200 * DAY_MS));
    assert!(later.stale_count > 0);
    assert!(later.stale.iter().all(|stale| stale.field != Field::Band && stale.days >= 180));
}

#[test]
fn without_aircraft_today_counts_receivers() {
    let mut w = Workshop::new();
    w.family(USUAL);
    let sentence = |w: &Workshop| {
        let register = w.register();
        let scene = Scene::new(&register);
        today::today(&scene, &Fleet::of(&scene), LATER).sentence()
    };
    assert_eq!(sentence(&w), "There is no aircraft in this workshop yet.");
    w.transmitter(id(1), "T1");
    usual(&mut w, id(1), &[]);
    w.receiver(id(201), "R1");
    usual(&mut w, id(201), &[(Field::ModelId, Value::Number(1))]);
    assert_eq!(sentence(&w), "No receiver links with a transmitter, and no aircraft is written down yet.");
    w.receiver(id(202), "R2");
    usual(&mut w, id(202), &[(Field::ModelId, Value::Off)]);
    assert_eq!(sentence(&w), "1 of 2 receivers link with a transmitter; no aircraft is written down yet.");
}

#[test]
fn the_gentle_plan_spares_the_rest_of_the_fleet() {
    // Flashing the transmitter is made the quicker way, and strands R2 all the same.
    let mut w = club();
    w.end(id(201), Field::Firmware, text("3.7"));
    let register = w.register();
    let scene = Scene::new(&register);
    let fleet = Fleet::of(&scene);
    let link = fleet.link(&scene, id(1), id(201)).unwrap();
    let (gentle, broken) = plan::gentle(&scene, &fleet, &link, LATER).unwrap();
    assert_eq!(broken, 0);
    assert!(gentle.steps[0].text.starts_with("Flash R1"), "{:?}", gentle.steps);
}

#[test]
fn switching_the_check_off_carries_its_caution() {
    let mut w = club();
    w.end(id(201), Field::ModelId, Value::Number(5));
    let register = w.register();
    let scene = Scene::new(&register);
    let fleet = Fleet::of(&scene);
    let link = fleet.link(&scene, id(1), id(201)).unwrap();
    let (t, r) = (fleet.transmitter(id(1)).unwrap(), fleet.receiver(id(201)).unwrap());
    let found = mend::mends(&scene, &fleet, t, r, &link, LATER);
    let off = found.iter().find(|mend| mend.action.contains("check of R1 off")).expect("it is offered");
    assert!(off.steps[0].cautions().iter().any(|caution| caution.contains("propeller")), "{:?}", off.steps);
}

#[test]
fn devices_are_found_by_code_name_or_id() {
    let mut w = club();
    w.whole(id(201), Field::Name, text("Old faithful"));
    let register = w.register();
    let scene = Scene::new(&register);
    for name in ["R1", "r1", " old Faithful ", "00000000-0000-0000-0000-0000000000c9"] {
        assert_eq!(fleet::find(&scene, name, None), Ok(id(201)), "{name}");
    }
    let error = fleet::find(&scene, "faith", None).unwrap_err();
    assert_eq!(
        error.to_string(),
        "no device is called `faith` (did you mean R1 Old faithful?); `show` lists them all"
    );
    w.whole(id(202), Field::Name, text("Old faithful"));
    let register = w.register();
    let several = fleet::find(&Scene::new(&register), "old faithful", None);
    assert!(matches!(several, Err(NotFound::Several { count: 2, .. })), "{several:?}");
}

#[test]
fn one_device_entered_twice_is_joined_and_parted_again() {
    let mut w = Workshop::new();
    w.receiver(id(7), "R7");
    w.receiver(id(8), "R7 too");
    w.end(id(8), Field::Firmware, text("4.1"));
    w.push(id(8), register::entry::Body::SameAs { other: id(7) });
    let joined = w.register();
    assert_eq!(joined.devices().len(), 1);
    assert_eq!(joined.device(id(8)).unwrap().id, id(7));
    assert!(joined.device(id(7)).unwrap().ends.contains_key("main"));
    w.push(id(8), register::entry::Body::Parted { other: id(7) });
    let parted = w.register();
    assert_eq!(parted.devices().len(), 2);
    assert!(parted.device(id(7)).unwrap().ends.is_empty());
}

#[test]
fn a_struck_entry_counts_no_more() {
    let mut w = club();
    let wrong = w.reading(
        id(201),
        Part::End("main".into()),
        register::field::How::Seen,
        Field::Firmware,
        text("3.0"),
        true,
    );
    let verdict = |w: &Workshop| {
        let register = w.register();
        let scene = Scene::new(&register);
        Fleet::of(&scene).link(&scene, id(1), id(201)).unwrap().verdict()
    };
    assert_eq!(verdict(&w), Verdict::Blocked);
    w.push(id(201), register::entry::Body::Strike { entry: wrong });
    // What it replaced holds again.
    assert_eq!(verdict(&w), Verdict::Links);
}

fn any_change() -> impl Strategy<Value = Change> {
    let device = prop_oneof![Just(id(1)), Just(id(2)), Just(id(201)), Just(id(202)), Just(id(301))];
    let fact = prop_oneof![
        prop_oneof![Just("3.1"), Just("4.4")].prop_map(|v| (Field::Firmware, text(v))),
        prop_oneof![Just("EU"), Just("US")].prop_map(|v| (Field::Region, text(v))),
        prop_oneof![Just("2.4 GHz"), Just("868 MHz")].prop_map(|v| (Field::Band, text(v))),
        (1..4u128).prop_map(|v| (Field::Secret, Value::Secret(print(v)))),
        Just((Field::Secret, Value::Secret(SecretMark::Blank))),
        Just((Field::Secret, Value::Secret(SecretMark::SameAs(end(id(1)))))),
        (1..5u32).prop_map(|v| (Field::ModelId, Value::Number(v))),
        Just((Field::ModelId, Value::Off)),
        Just((Field::Firmware, Value::Unknown)),
    ];
    let receiver = prop_oneof![Just(id(201)), Just(id(202)), Just(id(301))];
    let of_memory = prop_oneof![
        (1..5u32).prop_map(|v| (Field::ModelId, Value::Number(v))),
        Just((Field::ModelId, Value::Unknown)),
        prop_oneof![Just(id(101)), Just(id(102))].prop_map(|v| (Field::Aircraft, Value::Device(v))),
        Just((Field::Aircraft, Value::None)),
        prop_oneof![Just("main"), Just("spare")].prop_map(|v| (Field::End, text(v))),
    ];
    let of_whole = prop_oneof![
        prop_oneof![Just("in use"), Just("shelf"), Just("lent"), Just("sold"), Just("destroyed")]
            .prop_map(|v| (Field::State, text(v))),
        prop_oneof![Just(id(101)), Just(id(102))].prop_map(|v| (Field::Aircraft, Value::Device(v))),
        Just((Field::Aircraft, Value::None)),
    ];
    let any_device = prop_oneof![device.clone(), Just(id(101)), Just(id(302))];
    let remembered = prop_oneof![Just(vec![]), Just(vec![id(1)]), Just(vec![id(1), id(2)])];
    let transmitter = prop_oneof![Just(id(1)), Just(id(2))];
    prop_oneof![
        (device.clone(), fact).prop_map(|(device, (field, value))| set(device, field, value)),
        (prop_oneof![Just("m1"), Just("m2"), Just("m9")], transmitter.clone(), of_memory).prop_map(
            |(key, device, (field, value))| Change::Set {
                device,
                part: Part::Memory(key.to_owned()),
                field,
                value
            }
        ),
        (any_device, of_whole).prop_map(|(device, (field, value))| Change::Set {
            device,
            part: Part::Whole,
            field,
            value
        }),
        (receiver.clone(), remembered, any::<bool>()).prop_map(|(device, ends, all)| {
            let ends = ends.into_iter().map(end).collect();
            set(device, Field::Partners, Value::Partners(Partners { ends, all }))
        }),
        (receiver.clone(), Just(Value::Secret(SecretMark::SameAs(end(id(202))))))
            .prop_map(|(device, value)| set(device, Field::Secret, value)),
        (receiver, transmitter).prop_map(|(r, t)| Change::Pair { receiver: end(r), transmitter: end(t) }),
        (device, prop_oneof![Just("network"), Just("cable"), Just("")]).prop_map(|(device, route)| {
            Change::Flash { end: end(device), version: "4.2".to_owned(), route: route.to_owned() }
        }),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    /// What *what if* foretells is what is then the case, for every pair of the fleet.
    #[test]
    fn what_if_comes_true(changes in proptest::collection::vec(any_change(), 1..5), first in proptest::collection::vec(any_change(), 0..5)) {
        let mut w = club();
        for change in &first {
            let body = change.body(&w.register());
            w.push(change.device(), body);
        }
        let register = w.register();
        let scene = Scene::new(&register);
        let fleet = Fleet::of(&scene);
        let effect = effect::what_if(&scene, &fleet, &changes, LATER);
        for change in &changes {
            let body = change.body(&w.register());
            w.push(change.device(), body);
        }
        let after = w.register();
        let scene_after = Scene::new(&after);
        let fleet_after = Fleet::of(&scene_after);
        for t in &fleet.transmitters {
            for r in &fleet.receivers {
                let before = fleet.link(&scene, t.card.id, r.card.id).unwrap().verdict();
                let now = fleet_after.link(&scene_after, t.card.id, r.card.id).map(|link| link.verdict());
                let told = effect.touched.iter().find(|x| x.transmitter.id == t.card.id && x.receiver.id == r.card.id);
                let foretold = told.map_or(Some(before), |touched| touched.after);
                prop_assert_eq!(foretold, now, "{} with {}", t.card.label(), r.card.label());
            }
        }
    }
}
