//! The tally agrees with the judgement of every single pair, whatever the fleet.

use std::sync::Arc;

use proptest::prelude::*;
use register::entry::{Body, Stamp};
use register::family::{Family, read, shipped};
use register::field::{Field, How, Part, Sort};
use register::fleet::Fleet;
use register::id::{DeviceId, Digest, EntryId, ReplicaId};
use register::register::Register;
use register::rule::{Rule, Status, Verdict};
use register::scene::Scene;
use register::tally::{Counts, Filter, Job, Tally};
use register::time::{Clock, Moment};
use register::value::{EndRef, Partners, SecretMark, Value};
use register::verdict;

/// Folds bodies in as they come, one clock tick apart.
#[derive(Debug)]
struct Book {
    register: Register,
    tick: u64,
}

impl Book {
    fn new() -> Book {
        let mut book = Book { register: Register::begin([]), tick: 0 };
        for (at, (name, text)) in shipped::demo_families().iter().enumerate() {
            let family: Family = read::read(name, text).expect("the demo families read");
            let file = Digest([u8::try_from(at).expect("a few") + 1; 32]);
            book.say(DeviceId::WORKSHOP, Body::Family { name: family.name.clone(), file });
            book.register.give_family(file, &Arc::new(family));
        }
        book
    }

    fn say(&mut self, subject: DeviceId, body: Body) {
        self.tick += 1;
        let stamp = Stamp {
            id: EntryId(u128::from(self.tick)),
            replica: ReplicaId(1),
            clock: Clock(self.tick),
            seen: Moment(self.tick.cast_signed()),
            recorded: Moment(self.tick.cast_signed()),
            subject,
        };
        let _ = self.register.fold(&stamp, body);
    }

    fn read(&mut self, subject: DeviceId, part: Part, facts: Vec<(Field, Value)>) {
        self.say(subject, Body::Reading { part, how: How::Seen, facts, replaces: Vec::new() });
    }
}

const TRANSMITTER: u128 = 100;
const RECEIVER: u128 = 200;
const AIRCRAFT: u128 = 300;

fn text(words: &'static [&'static str]) -> BoxedStrategy<Value> {
    proptest::sample::select(words).prop_map(|word| Value::Text(word.to_owned())).boxed()
}

fn end_ref() -> impl Strategy<Value = EndRef> {
    let device =
        prop_oneof![(0..4u128).prop_map(|n| TRANSMITTER + n), (0..20u128).prop_map(|n| RECEIVER + n)];
    (device, prop_oneof![4 => Just("main"), 1 => Just("second")])
        .prop_map(|(device, end)| EndRef { device: DeviceId(device), end: end.to_owned() })
}

fn model_id() -> impl Strategy<Value = Value> {
    prop_oneof![
        6 => (0..6u32).prop_map(Value::Number),
        1 => Just(Value::Number(99)),
        1 => Just(Value::Off),
        1 => Just(Value::Unknown),
    ]
}

fn secret() -> impl Strategy<Value = Value> {
    prop_oneof![
        2 => Just(SecretMark::Blank),
        4 => (1..3u64, 1..4u128).prop_map(|(key, print)| SecretMark::Print { key, print }),
        3 => end_ref().prop_map(SecretMark::SameAs),
    ]
    .prop_map(Value::Secret)
}

fn aircraft() -> impl Strategy<Value = Value> {
    prop_oneof![
        5 => (0..4u128).prop_map(|n| Value::Device(DeviceId(AIRCRAFT + n))),
        1 => Just(Value::None),
    ]
}

fn often<T: Clone + std::fmt::Debug + 'static>(
    value: impl Strategy<Value = T> + 'static,
) -> impl Strategy<Value = Vec<T>> {
    // Nothing, one reading, or two that may clash.
    let value = value.boxed();
    prop_oneof![
        1 => Just(Vec::new()),
        6 => value.clone().prop_map(|one| vec![one]),
        1 => (value.clone(), value).prop_map(|(a, b)| vec![a, b]),
    ]
}

/// Readings of one end, each to be said by itself.
fn end_facts() -> impl Strategy<Value = Vec<(Field, Value)>> {
    let field = |field: Field, values: BoxedStrategy<Value>| {
        often(values)
            .prop_map(move |values| values.into_iter().map(|value| (field, value)).collect::<Vec<_>>())
    };
    let partners = (proptest::collection::vec(end_ref(), 0..3), any::<bool>())
        .prop_map(|(ends, all)| Value::Partners(Partners { ends, all }))
        .boxed();
    (
        field(Field::Family, text(&["Whimbrel", "Whimbrel", "whimbrel", "Plover", "Nameless"])),
        field(Field::Band, text(&["2.4 GHz", "868", "915 MHz", "odd"])),
        field(Field::Region, text(&["EU", "US", "elsewhere"])),
        field(Field::Firmware, text(&["1.2", "1.9", "2.6", "3.0.1", "3", "new"])),
        field(Field::Secret, secret().boxed()),
        field(Field::ModelId, model_id().boxed()),
        field(Field::Partners, partners),
    )
        .prop_map(|(a, b, c, d, e, f, g)| [a, b, c, d, e, f, g].concat())
}

fn ends() -> impl Strategy<Value = Vec<(&'static str, Vec<(Field, Value)>)>> {
    prop_oneof![
        3 => end_facts().prop_map(|facts| vec![("main", facts)]),
        1 => (end_facts(), end_facts()).prop_map(|(a, b)| vec![("main", a), ("second", b)]),
        1 => Just(Vec::new()),
    ]
}

fn memory() -> impl Strategy<Value = Vec<(Field, Value)>> {
    (
        often(model_id()),
        often(aircraft()),
        proptest::option::of(proptest::sample::select(&["main", "second", "gone"][..])),
    )
        .prop_map(|(ids, aircraft, end)| {
            let mut facts: Vec<(Field, Value)> = ids.into_iter().map(|id| (Field::ModelId, id)).collect();
            facts.extend(aircraft.into_iter().map(|aircraft| (Field::Aircraft, aircraft)));
            facts.extend(end.map(|end| (Field::End, Value::Text(end.to_owned()))));
            facts
        })
}

type Ends = Vec<(&'static str, Vec<(Field, Value)>)>;

fn book() -> impl Strategy<Value = Book> {
    let transmitters = proptest::collection::vec((ends(), proptest::collection::vec(memory(), 0..4)), 1..4);
    let receivers = proptest::collection::vec((ends(), often(aircraft()), 1..12usize), 1..8);
    let pairings = proptest::collection::vec((0..20u128, end_ref()), 0..6);
    let flashes = proptest::collection::vec(prop_oneof![(0..20u128).prop_map(|n| RECEIVER + n)], 0..2);
    (transmitters, receivers, pairings, flashes).prop_map(|(transmitters, receivers, pairings, flashes)| {
        let mut book = Book::new();
        let say_ends = |book: &mut Book, device: DeviceId, ends: &Ends| {
            for (key, facts) in ends {
                for fact in facts {
                    book.read(device, Part::End((*key).to_owned()), vec![fact.clone()]);
                }
            }
        };
        for (at, (ends, memories)) in (0u128..).zip(&transmitters) {
            let device = DeviceId(TRANSMITTER + at);
            book.say(device, Body::Device { sort: Sort::Transmitter });
            say_ends(&mut book, device, ends);
            for (key, facts) in memories.iter().enumerate() {
                for fact in facts {
                    book.read(device, Part::Memory(key.to_string()), vec![fact.clone()]);
                }
            }
        }
        for at in 0..4 {
            book.say(DeviceId(AIRCRAFT + at), Body::Device { sort: Sort::Aircraft });
        }
        let mut at = RECEIVER;
        for (ends, aircraft, copies) in &receivers {
            // Alike receivers in number, so that values are held by few and by many.
            for _ in 0..*copies {
                let device = DeviceId(at);
                at += 1;
                book.say(device, Body::Device { sort: Sort::Receiver });
                say_ends(&mut book, device, ends);
                for value in aircraft {
                    book.read(device, Part::Whole, vec![(Field::Aircraft, value.clone())]);
                }
            }
        }
        for (receiver, transmitter) in pairings {
            let device = DeviceId(RECEIVER + receiver);
            book.say(device, Body::Paired { end: "main".to_owned(), transmitter });
        }
        for device in flashes {
            let body =
                Body::Flashed { end: "main".to_owned(), version: "2.0".to_owned(), route: String::new() };
            book.say(DeviceId(device), body);
        }
        book
    })
}

/// What going pair by pair comes to.
struct Slow {
    transmitter: usize,
    receiver: usize,
    by_rule: [Option<Status>; 7],
    verdict: Verdict,
    family: Option<String>,
    wanted: bool,
    aircraft: Option<DeviceId>,
}

fn pair_by_pair(scene: &Scene, fleet: &Fleet) -> Vec<Slow> {
    let mut slow = Vec::new();
    for (transmitter, t) in fleet.transmitters.iter().enumerate() {
        for (receiver, r) in fleet.receivers.iter().enumerate() {
            let best = verdict::best(t, r);
            assert_eq!(verdict::quick(t, r), best.ruling.verdict(), "the short way to the verdict");
            slow.push(Slow {
                transmitter,
                receiver,
                by_rule: best.ruling.by_rule,
                verdict: best.ruling.verdict(),
                family: verdict::link(scene, t, r).family,
                wanted: verdict::wanted(t, r),
                aircraft: r.fitted_in(),
            });
        }
    }
    slow
}

fn assert_counts(counts: &Counts, slow: &[&Slow]) {
    assert_eq!(counts.links, slow.len() as u64);
    for verdict in Verdict::ALL {
        let count = slow.iter().filter(|slow| slow.verdict == verdict).count();
        assert_eq!(counts.verdict(verdict), count as u64, "{verdict:?}");
    }
    for rule in Rule::ALL {
        for status in [Status::Pass, Status::Unknown, Status::Fail] {
            let count = slow.iter().filter(|slow| slow.by_rule[rule as usize] == Some(status)).count();
            assert_eq!(counts.reason(rule, status), count as u64, "{rule:?} {status:?}");
        }
    }
}

fn takes(filter: &Filter, slow: &Slow) -> bool {
    filter.verdict.is_none_or(|verdict| slow.verdict == verdict)
        && filter.reason.is_none_or(|(rule, status)| slow.by_rule[rule as usize] == Some(status))
        && filter.transmitter.is_none_or(|at| slow.transmitter == at)
        && filter.receiver.is_none_or(|at| slow.receiver == at)
        && filter.aircraft.is_none_or(|id| slow.aircraft == Some(id))
        && filter.family.as_ref().is_none_or(|name| slow.family.as_ref() == Some(name))
        && (!filter.wanted_only || slow.wanted)
}

fn filter() -> impl Strategy<Value = Filter> {
    let rare = |strategy: BoxedStrategy<usize>| proptest::option::weighted(0.2, strategy);
    (
        proptest::option::of(proptest::sample::select(&Verdict::ALL[..])),
        proptest::option::weighted(
            0.4,
            (
                proptest::sample::select(&Rule::ALL[..]),
                proptest::sample::select(&[Status::Pass, Status::Unknown, Status::Fail][..]),
            ),
        ),
        rare((0..5usize).boxed()),
        rare((0..30usize).boxed()),
        rare((0..5usize).boxed()),
        proptest::option::weighted(
            0.4,
            proptest::sample::select(&["Whimbrel", "Plover", "Nameless", "none"][..]),
        ),
        proptest::bool::weighted(0.3),
    )
        .prop_map(|(verdict, reason, transmitter, receiver, aircraft, family, wanted_only)| Filter {
            verdict,
            reason,
            transmitter,
            receiver,
            aircraft: aircraft.map(|at| DeviceId(AIRCRAFT + at as u128)),
            family: family.map(str::to_owned),
            wanted_only,
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn agrees_with_every_single_pair(
        book in book().prop_map(|book| book.register),
        filters in proptest::collection::vec(filter(), 6),
        offset in 0..12u64,
        limit in 0..12usize,
    ) {
        let scene = Scene::new(&book);
        let fleet = Fleet::of(&scene);
        let slow = pair_by_pair(&scene, &fleet);
        let tally = Tally::of(&fleet);

        for (at, row) in slow.chunk_by(|a, b| a.transmitter == b.transmitter).enumerate() {
            let fast = tally.row(&fleet, at);
            for slow in row {
                let cell = fast.cell(slow.receiver).expect("every receiver has a cell");
                prop_assert_eq!(cell.by_rule(), slow.by_rule, "T{} R{}", at, slow.receiver);
                prop_assert_eq!(cell.verdict(), slow.verdict);
                prop_assert_eq!(cell.wanted, slow.wanted);
                prop_assert_eq!(tally.family_of(&cell), slow.family.as_deref());
            }
            assert_counts(&tally.of_transmitter(at), &row.iter().collect::<Vec<_>>());
        }
        assert_counts(tally.counts(), &slow.iter().collect::<Vec<_>>());
        assert_counts(tally.wanted(), &slow.iter().filter(|slow| slow.wanted).collect::<Vec<_>>());

        for filter in &filters {
            let all: Vec<(usize, usize)> = slow
                .iter()
                .filter(|slow| takes(filter, slow))
                .map(|slow| (slow.transmitter, slow.receiver))
                .collect();
            let page = tally.page(&fleet, filter, offset, limit);
            prop_assert_eq!(page.total, all.len() as u64, "{:?}", filter);
            let on_page: Vec<_> =
                all.into_iter().skip(usize::try_from(offset).unwrap()).take(limit).collect();
            prop_assert_eq!(page.links, on_page, "{:?}", filter);
        }
    }

    #[test]
    fn pieces_in_any_order_make_the_same_tally(book in book().prop_map(|book| book.register)) {
        let fleet = Fleet::of(&Scene::new(&book));
        let whole = Tally::of(&fleet);
        let mut job = Job::new(&fleet);
        let half = fleet.transmitters.len() / 2;
        let last = job.piece(&fleet, half..fleet.transmitters.len());
        job.take(last);
        while job.advance(&fleet, 1) < job.transmitters() {}
        let pieced = job.finish().expect("all transmitters are counted");
        prop_assert_eq!(pieced.counts(), whole.counts());
        prop_assert_eq!(pieced.wanted(), whole.wanted());
        prop_assert_eq!(pieced.families(), whole.families());
    }
}

#[test]
fn an_unfinished_job_makes_no_tally() {
    let mut book = Book::new();
    for at in 0..3 {
        book.say(DeviceId(TRANSMITTER + at), Body::Device { sort: Sort::Transmitter });
    }
    let fleet = Fleet::of(&Scene::new(&book.register));
    let mut job = Job::new(&fleet);
    assert_eq!(job.advance(&fleet, 2), 2);
    assert!(job.finish().is_none());
}

#[test]
fn an_empty_fleet_has_no_links() {
    let tally = Tally::of(&Fleet::default());
    assert_eq!(tally.counts().links, 0);
    assert_eq!(tally.page(&Fleet::default(), &Filter::default(), 0, 10).total, 0);
    assert_eq!(tally.row(&Fleet::default(), 3).cells().count(), 0);
}
