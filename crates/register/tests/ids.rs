//! Model IDs: known collisions, and allocations held against trying everything.

use std::collections::BTreeMap;
use std::sync::Arc;

use proptest::prelude::*;
use register::entry::{Body, Stamp};
use register::family::{CheckedAt, Family, ModelIdRule, read, shipped};
use register::field::{Field, How, Part, Sort};
use register::fleet::Fleet;
use register::id::{DeviceId, Digest, EntryId, ReplicaId};
use register::ids::{CollisionKind, NoAllocation, Request, SwitchedOff, allocate, collisions};
use register::register::Register;
use register::rule::Rule;
use register::scene::{Change, Scene};
use register::time::{Clock, Moment};
use register::value::{EndRef, Partners, SecretMark, Value};
use register::view::ModelId;

const NOW: Moment = Moment(1_000_000);

#[derive(Debug)]
struct Book {
    register: Register,
    tick: u64,
}

impl Book {
    /// A workshop with one family: the rules of the demo's Whimbrel, with few IDs.
    fn new(model_id: ModelIdRule) -> Book {
        let (name, text) = shipped::demo_families()[0];
        let mut family: Family = read::read(name, text).expect("the demo family reads");
        "Finch".clone_into(&mut family.name);
        family.model_id = model_id;
        let mut book = Book { register: Register::begin([]), tick: 0 };
        let file = Digest([1; 32]);
        book.say(DeviceId::WORKSHOP, Body::Family { name: family.name.clone(), file });
        book.register.give_family(file, &Arc::new(family));
        book
    }

    fn say(&mut self, subject: DeviceId, body: Body) {
        self.tick += 1;
        let at = Moment(self.tick.cast_signed());
        let stamp = Stamp {
            id: EntryId(u128::from(self.tick)),
            replica: ReplicaId(1),
            clock: Clock(self.tick),
            seen: at,
            recorded: at,
            subject,
        };
        let _ = self.register.fold(&stamp, body);
    }

    fn read(&mut self, subject: DeviceId, part: Part, facts: Vec<(Field, Value)>) {
        self.say(subject, Body::Reading { part, how: How::Seen, facts, replaces: Vec::new() });
    }

    fn device(&mut self, sort: Sort, at: u128, name: &str) -> DeviceId {
        let base = match sort {
            Sort::Transmitter => 100,
            Sort::Receiver => 200,
            Sort::Aircraft => 300,
        };
        let device = DeviceId(base + at);
        self.say(device, Body::Device { sort });
        let field = if sort == Sort::Aircraft { Field::Name } else { Field::Code };
        self.read(device, Part::Whole, vec![(field, words(name))]);
        device
    }

    fn end(&mut self, device: DeviceId) {
        self.end_facts(device, vec![(Field::Firmware, words("4.1")), (Field::Secret, blank())]);
    }

    fn end_facts(&mut self, device: DeviceId, more: Vec<(Field, Value)>) {
        let mut facts = vec![
            (Field::Family, words("Finch")),
            (Field::Band, words("2.4 GHz")),
            (Field::Region, words("EU")),
        ];
        facts.extend(more);
        self.read(device, main_end(), facts);
    }

    fn memory(&mut self, device: DeviceId, key: &str, aircraft: Option<DeviceId>, id: Value) {
        let aircraft = aircraft.map_or(Value::None, Value::Device);
        let facts = vec![(Field::Name, words(key)), (Field::Aircraft, aircraft), (Field::ModelId, id)];
        self.read(device, Part::Memory(key.to_owned()), facts);
    }

    fn fitted(&mut self, receiver: DeviceId, aircraft: DeviceId) {
        self.read(receiver, Part::Whole, vec![(Field::Aircraft, Value::Device(aircraft))]);
    }

    fn holds(&mut self, receiver: DeviceId, id: Value) {
        self.read(receiver, main_end(), vec![(Field::ModelId, id)]);
    }

    fn pair(&mut self, receiver: DeviceId, transmitter: DeviceId) {
        let transmitter = EndRef { device: transmitter, end: Part::MAIN.to_owned() };
        self.say(receiver, Body::Paired { end: Part::MAIN.to_owned(), transmitter });
    }
}

fn words(text: &str) -> Value {
    Value::Text(text.to_owned())
}

fn blank() -> Value {
    Value::Secret(SecretMark::Blank)
}

fn main_end() -> Part {
    Part::End(Part::MAIN.to_owned())
}

fn at_receiver(low: u32, high: u32) -> ModelIdRule {
    ModelIdRule::Checked { at: CheckedAt::Receiver, low, high, off: Some(0), refused: String::new() }
}

/// Transmitter T1 with memories Lark and Swift for two aircraft; receivers R3 and R4 in
/// them, all paired, holding these IDs.
fn two_aircraft(rule: ModelIdRule, lark: (u32, Value), swift: (u32, Value)) -> Book {
    let mut book = Book::new(rule);
    let t1 = book.device(Sort::Transmitter, 1, "T1");
    book.end(t1);
    for (at, (name, (memory, receiver))) in [("Lark", lark), ("Swift", swift)].into_iter().enumerate() {
        let aircraft = book.device(Sort::Aircraft, at as u128, name);
        let r = book.device(Sort::Receiver, 3 + at as u128, ["R3", "R4"][at]);
        book.end(r);
        book.memory(t1, name, Some(aircraft), Value::Number(memory));
        book.fitted(r, aircraft);
        book.holds(r, receiver);
        book.pair(r, t1);
    }
    book
}

fn request(node_limit: u64) -> Request {
    Request { family: "finch".to_owned(), switched_off: SwitchedOff::Restore, node_limit }
}

fn texts(book: &Book) -> Vec<String> {
    let scene = Scene::new(&book.register);
    let fleet = Fleet::of(&scene);
    collisions(&scene, &fleet).into_iter().map(|one| one.text).collect()
}

#[test]
fn two_aircraft_with_one_id_obey_each_others_memory() {
    let seven = || Value::Number(7);
    let book = two_aircraft(at_receiver(1, 20), (7, seven()), (7, seven()));
    assert_eq!(
        texts(&book),
        [
            "Memory Lark on T1 would be obeyed by R4 (Swift) too: both hold 7.",
            "Memory Swift on T1 would be obeyed by R3 (Lark) too: both hold 7.",
        ]
    );
    let scene = Scene::new(&book.register);
    let fleet = Fleet::of(&scene);
    let found = collisions(&scene, &fleet);
    assert!(found.iter().all(|one| one.certain && one.kind == CollisionKind::SameId));

    let allocation = allocate(&scene, &fleet, &request(1000)).expect("twenty IDs are enough");
    assert!(allocation.proven);
    assert_eq!(allocation.remaining, []);
    assert_eq!(allocation.text, "2 model IDs of Finch change; they take 3 min.");
    let steps: Vec<&str> = allocation.steps.iter().map(|step| step.text.as_str()).collect();
    assert_eq!(
        steps,
        ["Set the model ID of R3 from 7 to 1.", "Set the model ID of memory Lark on T1 from 7 to 1."]
    );
}

#[test]
fn different_ids_never_collide() {
    let book = two_aircraft(at_receiver(1, 20), (7, Value::Number(7)), (8, Value::Number(8)));
    assert_eq!(texts(&book), Vec::<String>::new());
    let scene = Scene::new(&book.register);
    let fleet = Fleet::of(&scene);
    let allocation = allocate(&scene, &fleet, &request(1000)).expect("nothing to do");
    assert_eq!(allocation.steps, []);
    assert_eq!(allocation.text, "No model ID of Finch needs to change.");
}

#[test]
fn an_id_that_nobody_looked_at_may_collide() {
    let book = two_aircraft(at_receiver(1, 20), (7, Value::Number(7)), (8, Value::Unknown));
    let scene = Scene::new(&book.register);
    let fleet = Fleet::of(&scene);
    let found = collisions(&scene, &fleet);
    let [only] = found.as_slice() else { panic!("{found:?}") };
    assert!(!only.certain);
    assert_eq!(only.receivers[0].unknown, [Rule::ModelId]);
    assert_eq!(only.text, "Memory Lark on T1 may be obeyed by R4 (Swift) too: not known: model ID.");
}

#[test]
fn a_receiver_with_its_check_off_obeys_every_memory() {
    let book = two_aircraft(at_receiver(1, 20), (7, Value::Number(7)), (8, Value::Number(0)));
    assert_eq!(texts(&book), ["R4 (Swift) obeys every memory of T1: its model-ID check is off."]);
    let scene = Scene::new(&book.register);
    let fleet = Fleet::of(&scene);
    let allocation = allocate(&scene, &fleet, &request(1000)).expect("there are enough");
    let [step] = allocation.steps.as_slice() else { panic!("{:?}", allocation.steps) };
    assert!(step.switches_on);
    assert_eq!(step.text, "Switch the model-ID check of R4 on again: set 8.");
    assert_eq!(allocation.remaining, []);

    let left = Request { switched_off: SwitchedOff::LeaveAlone, ..request(1000) };
    let allocation = allocate(&scene, &fleet, &left).expect("nothing to give");
    assert_eq!(allocation.steps, []);
    assert_eq!(allocation.remaining.len(), 1);
    assert_eq!(
        allocation.text,
        "No model ID of Finch needs to change. One collision remains that model IDs can't settle."
    );
}

#[test]
fn two_receivers_with_the_check_off_answer_together() {
    let off = || Value::Off;
    let book = two_aircraft(at_receiver(1, 20), (7, off()), (8, off()));
    assert_eq!(
        texts(&book),
        ["R3 (Lark) and R4 (Swift) obey every memory of T1: their model-ID checks are off."]
    );
}

#[test]
fn without_a_model_id_check_paired_receivers_answer_together() {
    let book = two_aircraft(ModelIdRule::Absent, (7, Value::Unknown), (8, Value::Unknown));
    assert_eq!(
        texts(&book),
        ["R3 (Lark) and R4 (Swift) obey every memory of T1: Finch has no model-ID check."]
    );
    let scene = Scene::new(&book.register);
    let refused = allocate(&scene, &Fleet::of(&scene), &request(1000)).expect_err("there are no IDs");
    assert_eq!(refused.to_string(), "Finch has no model-ID check, so there are no IDs to give");
}

#[test]
fn a_memory_with_its_check_off_drives_all() {
    let rule = ModelIdRule::Checked {
        at: CheckedAt::Transmitter,
        low: 1,
        high: 9,
        off: Some(0),
        refused: String::new(),
    };
    let book = two_aircraft(rule, (0, Value::Number(7)), (8, Value::Number(8)));
    assert_eq!(
        texts(&book),
        ["Memory Lark on T1 would be obeyed by R4 (Swift) too: the check of the memory is off."]
    );
}

#[test]
fn too_few_ids_are_an_answer_in_words() {
    let book = two_aircraft(at_receiver(0, 1), (1, Value::Number(1)), (1, Value::Number(1)));
    let scene = Scene::new(&book.register);
    let refused = allocate(&scene, &Fleet::of(&scene), &request(1000)).expect_err("one ID for two");
    assert_eq!(
        refused.to_string(),
        "Finch has 1 model IDs, too few for Lark and Swift, which transmitters can mistake for one another; \
         part some of them (pair them with fewer transmitters, or take memories away)"
    );
    let none = Request { family: "Wren".to_owned(), ..request(1) };
    let refused = allocate(&scene, &Fleet::of(&scene), &none).expect_err("no such family");
    assert!(matches!(refused, NoAllocation::NoFamily(_)));
}

#[test]
fn receivers_that_hear_different_transmitters_may_share_an_id() {
    let mut book = Book::new(at_receiver(1, 20));
    for at in 0..2 {
        let t = book.device(Sort::Transmitter, at, &format!("T{at}"));
        let a = book.device(Sort::Aircraft, at, &format!("A{at}"));
        let r = book.device(Sort::Receiver, at, &format!("R{at}"));
        book.end(t);
        book.end(r);
        book.memory(t, "1", Some(a), Value::Number(5));
        book.fitted(r, a);
        book.holds(r, Value::Number(5));
        // It remembers one transmitter only, and forgets the one before.
        book.pair(r, t);
    }
    assert_eq!(texts(&book), Vec::<String>::new());
    let scene = Scene::new(&book.register);
    assert_eq!(allocate(&scene, &Fleet::of(&scene), &request(9)).expect("all is well").steps, []);
}

// Random fleets.

#[derive(Clone, Debug)]
struct ReceiverPlan {
    id: u8,
    aircraft: Option<usize>,
    firmware: u8,
    partner: Option<usize>,
    all: bool,
}

#[derive(Clone, Debug)]
struct MemoryPlan {
    transmitter: usize,
    aircraft: Option<usize>,
    id: u8,
}

fn value(id: u8) -> Value {
    match id {
        0 => Value::Off,
        6 => Value::Unknown,
        // One that the family does not have.
        5 => Value::Number(40),
        other => Value::Number(u32::from(other)),
    }
}

fn firmware(which: u8) -> Value {
    match which {
        0 => words("3.0"),
        1 => Value::Unknown,
        _ => words("4.1"),
    }
}

fn fleet_plan() -> impl Strategy<Value = (Vec<ReceiverPlan>, Vec<MemoryPlan>, u32, bool)> {
    let id = || prop_oneof![8 => 1..5u8, 1 => Just(0u8), 1 => Just(5u8), 1 => Just(6u8)];
    let aircraft = || proptest::option::weighted(0.85, 0..3usize);
    let receiver =
        (id(), aircraft(), 0..8u8, proptest::option::weighted(0.8, 0..2usize), any::<bool>()).prop_map(
            |(id, aircraft, firmware, partner, all)| ReceiverPlan { id, aircraft, firmware, partner, all },
        );
    let memory = (0..2usize, aircraft(), id()).prop_map(|(transmitter, aircraft, id)| MemoryPlan {
        transmitter,
        aircraft,
        id,
    });
    (
        proptest::collection::vec(receiver, 1..6),
        proptest::collection::vec(memory, 1..6),
        2..5u32,
        any::<bool>(),
    )
}

fn random_book(
    (receivers, memories, high, at_transmitter): &(Vec<ReceiverPlan>, Vec<MemoryPlan>, u32, bool),
) -> Book {
    let at = if *at_transmitter { CheckedAt::Transmitter } else { CheckedAt::Receiver };
    let rule = ModelIdRule::Checked { at, low: 1, high: *high, off: Some(0), refused: String::new() };
    let mut book = Book::new(rule);
    let aircraft: Vec<DeviceId> =
        (0..3).map(|at| book.device(Sort::Aircraft, at, &format!("A{at}"))).collect();
    let transmitters: Vec<DeviceId> =
        (0..2).map(|at| book.device(Sort::Transmitter, at, &format!("T{at}"))).collect();
    for transmitter in &transmitters {
        book.end(*transmitter);
    }
    for (key, memory) in memories.iter().enumerate() {
        let flies = memory.aircraft.map(|at| aircraft[at]);
        book.memory(transmitters[memory.transmitter], &key.to_string(), flies, value(memory.id));
    }
    for (at, plan) in receivers.iter().enumerate() {
        let device = book.device(Sort::Receiver, at as u128, &format!("R{at}"));
        let partner = plan.partner.map(|at| EndRef { device: transmitters[at], end: Part::MAIN.to_owned() });
        let partners = Partners { ends: Vec::from_iter(partner), all: plan.all };
        let facts = vec![
            (Field::Firmware, firmware(plan.firmware)),
            (Field::Secret, blank()),
            (Field::ModelId, value(plan.id)),
            (Field::Partners, Value::Partners(partners)),
        ];
        book.end_facts(device, facts);
        if let Some(at) = plan.aircraft {
            book.fitted(device, aircraft[at]);
        }
    }
    book
}

/// Everything that holds an ID, by what must share one; worked out from the fleet's views
/// and not by the engine's own grouping.
type Members = BTreeMap<(bool, DeviceId), Vec<(DeviceId, Part, Option<ModelId>)>>;

fn members(fleet: &Fleet) -> Members {
    let mut members: Members = BTreeMap::new();
    for receiver in &fleet.receivers {
        let end = &receiver.ends[0];
        let id = end.model_id.one().copied();
        let key = match receiver.fitted_in() {
            Some(aircraft) => (true, aircraft),
            None if matches!(id, Some(ModelId::Id(number)) if number > 0) => (false, receiver.card.id),
            None => continue,
        };
        members.entry(key).or_default().push((receiver.card.id, main_end(), id));
    }
    for transmitter in &fleet.transmitters {
        for memory in &transmitter.memories {
            if let Some(Some(aircraft)) = memory.aircraft.one() {
                let part = Part::Memory(memory.key.clone());
                let id = memory.model_id.one().copied();
                members.entry((true, *aircraft)).or_default().push((transmitter.card.id, part, id));
            }
        }
    }
    members
}

fn apply<'a>(scene: &Scene<'a>, members: &Members, ids: &[u32]) -> (Scene<'a>, usize) {
    let mut scene = scene.clone();
    let mut cost = 0;
    for (held, id) in members.values().zip(ids) {
        for (device, part, now) in held {
            if *now == Some(ModelId::Id(*id)) {
                continue;
            }
            cost += 1;
            let value = Value::Number(*id);
            let change = Change::Set { device: *device, part: part.clone(), field: Field::ModelId, value };
            scene.apply(&change, NOW);
        }
    }
    (scene, cost)
}

fn collide(scene: &Scene) -> bool {
    // A memory that flies nothing is no member: where its check is off, no ID helps.
    let fleet = Fleet::of(scene);
    collisions(scene, &fleet).iter().any(|one| one.kind == CollisionKind::SameId)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn no_allocation_changes_fewer(plan in fleet_plan()) {
        let book = random_book(&plan);
        let scene = Scene::new(&book.register);
        let fleet = Fleet::of(&scene);
        let members = members(&fleet);
        let high = plan.2;
        let found = allocate(&scene, &fleet, &request(1_000_000));
        let most = match &found {
            Ok(allocation) => {
                prop_assert!(allocation.proven);
                let mut after = scene.clone();
                for step in &allocation.steps {
                    after.apply(&step.change, NOW);
                }
                let fleet_after = Fleet::of(&after);
                prop_assert_eq!(&collisions(&after, &fleet_after), &allocation.remaining);
                prop_assert!(allocation.remaining.iter().all(|one| one.kind == CollisionKind::CheckOff));
                allocation.steps.len()
            }
            Err(NoAllocation::TooFew { labels, .. }) => {
                prop_assert!(!labels.is_empty());
                usize::MAX
            }
            Err(other) => return Err(TestCaseError::fail(other.to_string())),
        };
        // Whatever changes fewer IDs leaves a collision.
        let groups = u32::try_from(members.len()).expect("a few");
        for mut number in 0..high.pow(groups) {
            let mut ids = Vec::new();
            for _ in 0..groups {
                ids.push(1 + number % high);
                number /= high;
            }
            let cost: usize = members
                .values()
                .zip(&ids)
                .map(|(held, id)| held.iter().filter(|(_, _, now)| *now != Some(ModelId::Id(*id))).count())
                .sum();
            if cost < most {
                let (after, changed) = apply(&scene, &members, &ids);
                prop_assert_eq!(changed, cost);
                prop_assert!(collide(&after), "{:?} costs {} and leaves no collision", ids, cost);
            }
        }
    }

    #[test]
    fn the_same_workshop_always_gets_the_same_allocation(plan in fleet_plan()) {
        let book = random_book(&plan);
        let scene = Scene::new(&book.register);
        let fleet = Fleet::of(&scene);
        let one = allocate(&scene, &fleet, &request(1_000_000));
        prop_assert_eq!(one, allocate(&scene, &fleet, &request(1_000_000)));
    }
}
