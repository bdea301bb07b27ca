//! All verdicts of a large fleet, against going pair by pair.
//!
//! `cargo bench -p register --bench tally` prints both rates and their ratio, checks that
//! the two agree on a sample, and then runs the timers.
#![expect(clippy::disallowed_types, clippy::disallowed_methods, reason = "a benchmark reads the clock")]

use std::fmt::Write as _;
use std::sync::{Arc, LazyLock};
use std::time::Instant;

use register::entry::{Body, Stamp};
use register::family::{read, shipped};
use register::field::{Field, How, Part, Sort};
use register::fleet::Fleet;
use register::id::{DeviceId, Digest, EntryId, ReplicaId};
use register::register::Register;
use register::rule::{Rule, Status, Verdict};
use register::scene::Scene;
use register::tally::{Filter, Tally};
use register::time::{Clock, Moment};
use register::value::{EndRef, Partners, SecretMark, Value};
use register::verdict;

const TRANSMITTERS: u32 = 1_000;
const RECEIVERS: u32 = 100_000;
const MEMORIES: u32 = 10;
const SAMPLE: usize = 20_000;

const TRANSMITTER: u128 = 1 << 32;
const RECEIVER: u128 = 2 << 32;
const AIRCRAFT: u128 = 3 << 32;

/// Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014.
struct Dice(u64);

impl Dice {
    fn below(&mut self, bound: u32) -> u32 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        u32::try_from((z ^ (z >> 31)) % u64::from(bound)).expect("below a u32")
    }

    fn one<T: Copy>(&mut self, of: &[T]) -> T {
        let len = u32::try_from(of.len()).expect("a short list");
        of[self.below(len) as usize]
    }
}

struct Book {
    register: Register,
    tick: u64,
}

impl Book {
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
}

fn words(text: impl Into<String>) -> Value {
    Value::Text(text.into())
}

fn print(print: u32) -> Value {
    Value::Secret(SecretMark::Print { key: 1, print: u128::from(print) })
}

fn main_end() -> Part {
    Part::End(Part::MAIN.to_owned())
}

/// The values that any end of the fleet may have, alike in many.
fn end_facts(dice: &mut Dice) -> Vec<(Field, Value)> {
    let whimbrel = dice.below(4) > 0;
    let (family, bands, versions): (_, &[&str], &[&str]) = if whimbrel {
        (
            "Whimbrel",
            &["2.4 GHz", "2.4 GHz", "868 MHz", "915 MHz"],
            &["3.0", "3.4", "4.0", "4.1", "4.6", "5.0"],
        )
    } else {
        ("Plover", &["2.4 GHz"], &["1.0", "2.1", "2.5", "3.1"])
    };
    let mut facts = vec![(Field::Family, words(family)), (Field::Band, words(dice.one(bands)))];
    // One value in ten was never looked at.
    if dice.below(10) > 0 {
        facts.push((Field::Firmware, words(dice.one(versions))));
    }
    if dice.below(10) > 0 {
        facts.push((Field::Region, words(dice.one(&["EU", "US", "WORLD"]))));
    }
    if dice.below(10) > 0 {
        let secret = dice.below(400);
        let blank = Value::Secret(SecretMark::Blank);
        facts.push((Field::Secret, if secret == 0 { blank } else { print(secret) }));
    }
    facts
}

fn put(facts: &mut Vec<(Field, Value)>, field: Field, value: Value) {
    facts.retain(|(have, _)| *have != field);
    facts.push((field, value));
}

fn build() -> Register {
    let mut dice = Dice(7);
    let mut book = Book { register: Register::begin([]), tick: 0 };
    for (at, (name, text)) in (1u8..).zip(shipped::demo_families()) {
        let family = read::read(name, text).expect("the demo families read");
        let file = Digest([at; 32]);
        book.say(DeviceId::WORKSHOP, Body::Family { name: family.name.clone(), file });
        book.register.give_family(file, &Arc::new(family));
    }
    for at in 0..TRANSMITTERS {
        let device = DeviceId(TRANSMITTER + u128::from(at));
        book.say(device, Body::Device { sort: Sort::Transmitter });
        let mut facts = end_facts(&mut dice);
        if at.is_multiple_of(2) {
            put(&mut facts, Field::Secret, print(10_000 + at));
        }
        book.read(device, main_end(), facts);
        if at.is_multiple_of(10) {
            book.read(device, Part::End("second".to_owned()), end_facts(&mut dice));
        }
        for memory in 0..MEMORIES {
            let aircraft = DeviceId(AIRCRAFT + u128::from(at * MEMORIES + memory));
            let facts = vec![
                (Field::ModelId, Value::Number(dice.below(64))),
                (Field::Aircraft, Value::Device(aircraft)),
            ];
            book.read(device, Part::Memory(memory.to_string()), facts);
        }
    }
    for at in 0..TRANSMITTERS * MEMORIES {
        book.say(DeviceId(AIRCRAFT + u128::from(at)), Body::Device { sort: Sort::Aircraft });
    }
    for at in 0..RECEIVERS {
        receiver(&mut book, &mut dice, at);
    }
    book.register
}

fn receiver(book: &mut Book, dice: &mut Dice, at: u32) {
    let device = DeviceId(RECEIVER + u128::from(at));
    book.say(device, Body::Device { sort: Sort::Receiver });
    let mut facts = end_facts(dice);
    if dice.below(10) > 0 {
        facts.push((Field::ModelId, Value::Number(dice.below(64))));
    }
    let partner = |number: u32| EndRef {
        device: DeviceId(TRANSMITTER + u128::from(number)),
        end: Part::MAIN.to_owned(),
    };
    let mut partners = vec![partner(dice.below(TRANSMITTERS))];
    // Every second receiver differs from all others in some rule's value.
    if at.is_multiple_of(2) {
        match at / 2 % 6 {
            0 | 1 => put(&mut facts, Field::Secret, print(1_000_000 + at)),
            2 => put(&mut facts, Field::Firmware, words(format!("4.{at}"))),
            3 => put(&mut facts, Field::ModelId, Value::Number(1_000 + at)),
            4 => partners = [at, at / 7, at / 49].map(|n| partner(n % TRANSMITTERS)).to_vec(),
            _ => put(&mut facts, Field::Region, words(format!("Region {at}"))),
        }
    }
    if dice.below(10) > 0 {
        facts.push((Field::Partners, Value::Partners(Partners { ends: partners, all: dice.below(2) == 0 })));
    }
    book.read(device, main_end(), facts);
    if at.is_multiple_of(20) {
        book.read(device, Part::End("second".to_owned()), end_facts(dice));
    }
    if !at.is_multiple_of(3) {
        let aircraft = dice.below(TRANSMITTERS * MEMORIES);
        let value = Value::Device(DeviceId(AIRCRAFT + u128::from(aircraft)));
        book.read(device, Part::Whole, vec![(Field::Aircraft, value)]);
    }
}

static REGISTER: LazyLock<Register> = LazyLock::new(build);
static SCENE: LazyLock<Scene<'static>> = LazyLock::new(|| Scene::new(&REGISTER));
static FLEET: LazyLock<Fleet> = LazyLock::new(|| Fleet::of(&SCENE));

/// Pairs for the slow way: some rows in full, so that special receivers are among them.
fn sample() -> Vec<(usize, usize)> {
    let mut dice = Dice(11);
    (0..SAMPLE).map(|_| (dice.below(TRANSMITTERS) as usize, dice.below(RECEIVERS) as usize)).collect()
}

#[expect(clippy::cast_precision_loss, reason = "rates to three digits")]
fn report() -> String {
    let mut out = String::new();
    let fleet = &*FLEET;
    let started = Instant::now();
    let tally = Tally::of(fleet);
    let fast = started.elapsed();
    let links = tally.counts().links;
    let fast_rate = links as f64 / fast.as_secs_f64();
    let _ = writeln!(out, "tally: {links} links in {:.3} s, {fast_rate:.3e} a second", fast.as_secs_f64());
    for verdict in Verdict::ALL {
        let wanted = tally.wanted().verdict(verdict);
        let _ = writeln!(out, "  {}: {}, wanted {wanted}", verdict.word(), tally.counts().verdict(verdict));
    }
    for rule in Rule::ALL {
        let [pass, unknown, fail] =
            [Status::Pass, Status::Unknown, Status::Fail].map(|status| tally.counts().reason(rule, status));
        let _ = writeln!(out, "  {}: {pass} pass, {unknown} unknown, {fail} fail", rule.word());
    }

    let mut pairs = sample();
    let started = Instant::now();
    let slow: Vec<_> = pairs
        .iter()
        .map(|(t, r)| verdict::link(&SCENE, &fleet.transmitters[*t], &fleet.receivers[*r]))
        .collect();
    let elapsed = started.elapsed();
    let slow_rate = slow.len() as f64 / elapsed.as_secs_f64();
    let _ = writeln!(out, "pair by pair: {} links, {slow_rate:.3e} a second", slow.len());
    let _ = writeln!(out, "ratio: {:.0}", fast_rate / slow_rate);

    let mut checked: Vec<_> = pairs.drain(..).zip(slow).collect();
    checked.sort_by_key(|(pair, _)| *pair);
    for one in checked.chunk_by(|(a, _), (b, _)| a.0 == b.0) {
        let row = tally.row(fleet, one[0].0.0);
        for ((t, r), link) in one {
            let cell = row.cell(*r).expect("every receiver has a cell");
            assert_eq!(cell.by_rule(), link.ruling.by_rule, "transmitter {t}, receiver {r}");
            assert_eq!(cell.verdict(), link.verdict());
            assert_eq!(tally.family_of(&cell), link.family.as_deref());
            assert_eq!(cell.wanted, link.wanted);
        }
    }
    // A few transmitters in full, special receivers included.
    for t in (0..fleet.transmitters.len()).step_by(250) {
        let row = tally.row(fleet, t);
        for (r, receiver) in fleet.receivers.iter().enumerate() {
            let best = verdict::best(&fleet.transmitters[t], receiver);
            let cell = row.cell(r).expect("every receiver has a cell");
            assert_eq!(cell.by_rule(), best.ruling.by_rule, "transmitter {t}, receiver {r}");
        }
    }
    let _ = writeln!(out, "the sample and four whole rows agree");

    let pages = [
        ("first 100", Filter::default(), 0),
        ("100 in the middle", Filter::default(), links / 2),
        ("links", Filter { verdict: Some(Verdict::Links), ..Filter::default() }, 5_000),
        (
            "region fails",
            Filter { reason: Some((Rule::Region, Status::Fail)), ..Filter::default() },
            1_000_000,
        ),
        ("wanted", Filter { wanted_only: true, ..Filter::default() }, 10_000),
        ("one receiver", Filter { receiver: Some(4_242), ..Filter::default() }, 0),
        ("one family", Filter { family: Some("Plover".to_owned()), ..Filter::default() }, 1_000),
    ];
    for (name, filter, offset) in pages {
        let started = Instant::now();
        let page = tally.page(fleet, &filter, offset, 100);
        let ms = started.elapsed().as_secs_f64() * 1e3;
        let _ = writeln!(out, "page '{name}': {} of {} in {ms:.1} ms", page.links.len(), page.total);
    }
    out
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn whole_fleet() -> u64 {
    Tally::of(&FLEET).counts().links
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn sample_pair_by_pair() -> usize {
    let fleet = &*FLEET;
    sample()
        .iter()
        .filter(|(t, r)| {
            verdict::link(&SCENE, &fleet.transmitters[*t], &fleet.receivers[*r]).verdict() == Verdict::Links
        })
        .count()
}

#[expect(clippy::print_stdout, reason = "the figures are what this is run for")]
fn main() {
    println!("{}", report());
    divan::main();
}
