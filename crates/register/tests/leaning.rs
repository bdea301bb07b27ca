//! Facts that lean on other devices or on events: *same as* secrets, flashes on either
//! side, memories that choose ends, and what energises a motor.
#![allow(missing_docs, clippy::unwrap_used)]

mod workshop;

use register::effect;
use register::entry::{Body, Stamp};
use register::family::Energised;
use register::field::{Field, How, Part};
use register::fleet::Fleet;
use register::id::{DeviceId, EntryId, ReplicaId};
use register::mend;
use register::register::Device;
use register::rule::{Rule, Status, Verdict};
use register::scene::{Change, Scene};
use register::time::{Clock, Moment};
use register::value::{SecretMark, Value};
use register::verdict::Link;
use register::view;
use workshop::{RX, TX, Workshop, end, print, text};

const USUAL: &str = include_str!("workshop/usual.toml");
const LATER: Moment = Moment(9_000_000);
const THIRD: DeviceId = DeviceId(3);

fn usual(w: &mut Workshop, id: DeviceId, secret: Option<SecretMark>) {
    w.end(id, Field::Family, text("Usual"));
    w.end(id, Field::Band, text("2.4 GHz"));
    w.end(id, Field::Region, text("EU"));
    w.end(id, Field::Firmware, text("4.1"));
    if let Some(secret) = secret {
        w.end(id, Field::Secret, Value::Secret(secret));
    }
}

/// TX and RX of one family; the receiver's check is off.
fn pair_of(file: &str, transmitter: Option<SecretMark>, receiver: Option<SecretMark>) -> Workshop {
    let mut w = Workshop::new();
    w.family(file);
    w.transmitter(TX, "T1");
    usual(&mut w, TX, transmitter);
    w.receiver(RX, "R1");
    usual(&mut w, RX, receiver);
    w.end(RX, Field::ModelId, Value::Off);
    w
}

fn link(w: &Workshop, receiver: DeviceId) -> Link {
    let register = w.register();
    let scene = Scene::new(&register);
    Fleet::of(&scene).link(&scene, TX, receiver).unwrap()
}

fn same_as_tx() -> SecretMark {
    SecretMark::SameAs(end(TX))
}

#[test]
fn reading_a_secret_once_more_is_no_change_of_it() {
    let mut w = pair_of(USUAL, Some(print(1)), Some(same_as_tx()));
    assert_eq!(link(&w, RX).verdict(), Verdict::Links);
    w.end(TX, Field::Secret, Value::Secret(print(1)));
    assert_eq!(link(&w, RX).verdict(), Verdict::Links);
    // Another secret is a change: what was the same as the old one is looked at again.
    w.end(TX, Field::Secret, Value::Secret(print(2)));
    assert_eq!(link(&w, RX).ruling.status(Rule::Secret), Some(Status::Unknown));
}

#[test]
fn typing_a_shared_secret_once_tells_it_for_all_who_share_it() {
    let mut w = pair_of(USUAL, None, Some(same_as_tx()));
    w.end(TX, Field::Secret, Value::Secret(print(1)));
    assert_eq!(link(&w, RX).verdict(), Verdict::Links);
}

#[test]
fn a_secret_wiped_before_it_was_shared_is_not_what_was_shared() {
    let wipes = USUAL.replace(
        "minutes = 12\nenergises = [\"transmitter\"]\nwipes = []",
        "minutes = 12\nenergises = [\"transmitter\"]\nwipes = [\"secret\"]",
    );
    assert_ne!(wipes, USUAL);
    let mut w = pair_of(&wipes, Some(print(1)), None);
    w.flash(TX, "4.1", "handset cable");
    w.end(RX, Field::Secret, Value::Secret(SecretMark::SameAs(end(TX))));
    // Another transmitter still holds the old one; the receiver isn't known to.
    w.transmitter(THIRD, "T2");
    usual(&mut w, THIRD, Some(print(1)));
    let register = w.register();
    let scene = Scene::new(&register);
    let other = Fleet::of(&scene).link(&scene, THIRD, RX).unwrap();
    assert_eq!(other.ruling.status(Rule::Secret), Some(Status::Unknown));
    // Wiped after it was shared: the receiver's is no longer the transmitter's.
    let mut w = pair_of(&wipes, None, Some(same_as_tx()));
    assert_eq!(link(&w, RX).ruling.status(Rule::Secret), Some(Status::Pass));
    w.flash(TX, "4.1", "handset cable");
    assert_eq!(link(&w, RX).ruling.status(Rule::Secret), Some(Status::Unknown));
}

#[test]
fn what_if_follows_same_as_through_several_devices() {
    let mut w = pair_of(USUAL, Some(print(1)), Some(same_as_tx()));
    w.receiver(THIRD, "R2");
    usual(&mut w, THIRD, Some(SecretMark::SameAs(end(RX))));
    w.end(THIRD, Field::ModelId, Value::Off);
    assert_eq!(link(&w, THIRD).verdict(), Verdict::Links);
    let register = w.register();
    let scene = Scene::new(&register);
    let change = Change::Set {
        device: TX,
        part: Part::End("main".to_owned()),
        field: Field::Secret,
        value: Value::Secret(print(2)),
    };
    let effect = effect::what_if(&scene, &Fleet::of(&scene), &[change], LATER);
    let broken: Vec<String> = effect.breaks().map(effect::Touched::text).collect();
    assert_eq!(broken, ["T1 with R1", "T1 with R2"]);
}

#[test]
fn a_transmitters_flash_that_wipes_pairing_is_followed_by_pairing() {
    let file = USUAL
        .replace("rule = \"equal\"\nblank_allowed = true\nlinks_unpaired = true", "rule = \"none\"")
        .replace(
            "minutes = 12\nenergises = [\"transmitter\"]\nwipes = []",
            "minutes = 12\nenergises = [\"transmitter\"]\nwipes = [\"partners\"]",
        );
    let mut w = pair_of(&file, None, None);
    w.pair(RX, TX);
    w.end(RX, Field::Firmware, text("3.2"));
    let register = w.register();
    let scene = Scene::new(&register);
    let fleet = Fleet::of(&scene);
    let blocked = fleet.link(&scene, TX, RX).unwrap();
    assert_eq!(blocked.verdict(), Verdict::Blocked);
    let (t, r) = (fleet.transmitter(TX).unwrap(), fleet.receiver(RX).unwrap());
    let found = mend::mends(&scene, &fleet, t, r, &blocked, LATER);
    let flash = found.iter().find(|mend| mend.action.starts_with("Flash T1")).expect("it is offered");
    assert_eq!(flash.steps.len(), 2, "{:?}", flash.steps);
    assert_eq!(flash.after, Verdict::Links, "{flash:#?}");
    assert!(flash.leaves.is_empty());
}

#[test]
fn an_unknown_route_wipes_what_any_route_may() {
    let mut w = pair_of(USUAL, Some(print(1)), Some(print(1)));
    w.end(RX, Field::ModelId, Value::Number(7));
    w.memory(TX, "m1", Field::ModelId, Value::Number(7));
    assert_eq!(link(&w, RX).verdict(), Verdict::Links);
    let mut known = w.register();
    w.flash(RX, "4.1", "a way of my own");
    assert_eq!(link(&w, RX).ruling.status(Rule::ModelId), Some(Status::Unknown));
    // Letter case and spaces don't make another route: the network wipes nothing.
    let stamp = Stamp {
        id: EntryId(900),
        replica: ReplicaId(1),
        clock: Clock(900),
        seen: Moment(900_000),
        recorded: Moment(900_000),
        subject: RX,
    };
    let body = Body::Flashed { end: "main".into(), version: "4.1".into(), route: "Net work".into() };
    let _ = known.fold(&stamp, body);
    let scene = Scene::new(&known);
    assert_eq!(Fleet::of(&scene).link(&scene, TX, RX).unwrap().verdict(), Verdict::Links);
}

#[test]
fn firmware_read_before_a_flash_is_past_however_late_it_is_written_down() {
    let stamp = |number: u64, seen: i64| Stamp {
        id: EntryId(u128::from(number)),
        replica: ReplicaId(1),
        clock: Clock(number),
        seen: Moment(seen),
        recorded: Moment(100_000),
        subject: RX,
    };
    let part = Part::End("main".to_owned());
    let read = |version: &str, replaces: Vec<EntryId>| Body::Reading {
        part: part.clone(),
        how: How::Seen,
        facts: vec![(Field::Firmware, text(version))],
        replaces,
    };
    let held = |device: &Device| view::words(device.part(&part).unwrap(), Field::Firmware);
    let mut device = Device::new(RX);
    device.fold(
        &stamp(1, 5_000),
        Body::Flashed { end: "main".into(), version: "4.2".into(), route: String::new() },
    );
    device.fold(&stamp(2, 4_000), read("3.0", vec![EntryId(1)]));
    assert_eq!(held(&device).as_deref(), Some("4.2"));
    device.fold(&stamp(3, 6_000), read("4.3", vec![EntryId(1)]));
    assert_eq!(held(&device).as_deref(), Some("4.3"));
    // A flash dated after it was written down is a slip, and hides no later look.
    device.fold(
        &stamp(4, 900_000),
        Body::Flashed { end: "main".into(), version: "5.0".into(), route: String::new() },
    );
    device.fold(&stamp(5, 7_000), read("4.4", vec![EntryId(4)]));
    assert_eq!(held(&device).as_deref(), Some("4.4"));
}

#[test]
fn learning_which_end_a_memory_chooses_never_turns_a_block_into_a_doubt() {
    let mut w = pair_of(USUAL, Some(print(1)), Some(print(1)));
    let other = Part::End("other".to_owned());
    w.reading(TX, other, How::Seen, Field::Family, text("Elsewhere"), true);
    w.end(RX, Field::ModelId, Value::Number(7));
    w.memory(TX, "m1", Field::ModelId, Value::Number(8));
    assert_eq!(link(&w, RX).verdict(), Verdict::Blocked);
    w.memory(TX, "m1", Field::End, text("other"));
    let after = link(&w, RX);
    assert_eq!(after.verdict(), Verdict::Blocked);
    let reason = after.findings.iter().find(|finding| finding.rule == Rule::ModelId).unwrap();
    assert_eq!(reason.text, "No memory of T1 chooses its end main.");
    // What the receiver holds not being known, its check may be off.
    w.end(RX, Field::ModelId, Value::Unknown);
    assert_eq!(link(&w, RX).verdict(), Verdict::Unknown);
}

#[test]
fn mends_that_bring_an_aircrafts_receiver_to_life_warn_of_the_motor() {
    let mut w = pair_of(USUAL, Some(print(1)), Some(print(1)));
    w.end(RX, Field::ModelId, Value::Number(7));
    w.memory(TX, "m1", Field::ModelId, Value::Number(8));
    w.aircraft(THIRD, "A1");
    w.memory(TX, "m1", Field::Aircraft, Value::Device(THIRD));
    let steps = |w: &Workshop| {
        let register = w.register();
        let scene = Scene::new(&register);
        let fleet = Fleet::of(&scene);
        let link = fleet.link(&scene, TX, RX).unwrap();
        let (t, r) = (fleet.transmitter(TX).unwrap(), fleet.receiver(RX).unwrap());
        let found = mend::mends(&scene, &fleet, t, r, &link, LATER);
        found.into_iter().flat_map(|mend| mend.steps).collect::<Vec<_>>()
    };
    let motor = |steps: &[mend::Step], key: &str| {
        let step = steps.iter().find(|step| step.key == key).expect("it is offered");
        step.energises.contains(&Energised::Motor)
    };
    // On the bench there is no motor; in an aircraft there may be.
    assert!(!motor(&steps(&w), "mend.check_off"));
    w.whole(RX, Field::Aircraft, Value::Device(THIRD));
    let fitted = steps(&w);
    assert!(motor(&fitted, "mend.check_off"));
    assert!(motor(&fitted, "mend.set_model_id"));
}
