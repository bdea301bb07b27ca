//! The commissioning list: what lapses what, entered in the register as entries.
#![expect(clippy::unwrap_used, reason = "a test that can't go on fails")]

use std::collections::{BTreeMap, BTreeSet};

use fitting::aircraft::Fit;
use fitting::commission::lapse::{self, DAY_SETTING, Happening};
use fitting::commission::measure::{self, BadMeasure};
use fitting::commission::{About, Commission, Standing, commission};
use proptest::prelude::*;
use register::entry::{Body, Stamp};
use register::field::{Field, How, Part as Where, Sort};
use register::fit::{Fitted, Part, Proof, Proved, Work, Worked};
use register::fleet::Fleet;
use register::id::{DeviceId, EntryId, ReplicaId};
use register::register::Register;
use register::scene::Scene;
use register::time::{Clock, Moment};
use register::value::{EndRef, Value};

const T1: DeviceId = DeviceId(11);
const T2: DeviceId = DeviceId(12);
const R1: DeviceId = DeviceId(21);
const R2: DeviceId = DeviceId(22);
const A1: DeviceId = DeviceId(31);
const A2: DeviceId = DeviceId(32);

/// Noon of a day, so that minutes later is still that day.
const NOON: i64 = 20_000 * 86_400_000 + 43_200_000;

/// A logbook that grows, a minute an entry.
#[derive(Clone, Default)]
struct Book {
    entries: Vec<(Stamp, Body)>,
}

impl Book {
    fn at(&mut self, seen: Moment, subject: DeviceId, body: Body) -> EntryId {
        let number = u64::try_from(self.entries.len()).unwrap() + 1;
        let id = EntryId(u128::from(number));
        let stamp = Stamp {
            id,
            replica: ReplicaId(1),
            clock: Clock(number),
            seen,
            recorded: Moment(seen.0.max(self.now().0)),
            subject,
        };
        self.entries.push((stamp, body));
        id
    }

    /// A minute after the last entry.
    fn now(&self) -> Moment {
        Moment(NOON + i64::try_from(self.entries.len()).unwrap() * 60_000)
    }

    fn add(&mut self, subject: DeviceId, body: Body) -> EntryId {
        self.at(self.now(), subject, body)
    }

    fn read(&mut self, subject: DeviceId, part: Where, field: Field, value: Value) -> EntryId {
        let replaces =
            self.register().device(subject).map(|one| one.standing(&part, [field])).unwrap_or_default();
        self.add(subject, Body::Reading { part, how: How::Seen, facts: vec![(field, value)], replaces })
    }

    fn work(&mut self, subject: DeviceId, what: Work) -> EntryId {
        self.add(subject, Body::Worked(Worked { what, note: String::new() }))
    }

    fn fit(&mut self, part: Part, text: &str) -> EntryId {
        let replaces = self.register().fit(A1).map(|log| log.standing(part)).unwrap_or_default();
        self.add(A1, Body::Fitted(Fitted { part, text: text.to_owned(), replaces }))
    }

    fn prove(&mut self, proof: Proof, transmitter: Option<DeviceId>) -> EntryId {
        let body = Proved {
            proof,
            transmitter,
            held: true,
            steps: Vec::new(),
            measured: BTreeMap::new(),
            note: String::new(),
        };
        self.add(A1, Body::Proved(body))
    }

    fn register(&self) -> Register {
        let mut register = Register::begin(self.entries.iter().map(|(stamp, body)| (stamp, body)));
        for (stamp, body) in &self.entries {
            let _ = register.fold(stamp, body.clone());
        }
        register
    }

    fn list_at(&self, transmitter: DeviceId, now: Moment) -> Commission {
        let register = self.register();
        let scene = Scene::new(&register);
        let fleet = Fleet::of(&scene);
        let states = Fit::of(&scene, &fleet, A1).states();
        commission(&scene, &fleet, A1, Some(transmitter), &states, now).unwrap()
    }

    /// The proofs with a transmitter that have lapsed.
    fn lapsed(&self, transmitter: DeviceId) -> BTreeSet<Proof> {
        lapsed(&self.list_at(transmitter, self.now()))
    }
}

fn lapsed(list: &Commission) -> BTreeSet<Proof> {
    let of = |about: About| match about {
        About::Proof(proof) => Some(proof),
        _ => None,
    };
    list.items
        .iter()
        .filter(|item| item.standing == Standing::Lapsed)
        .filter_map(|item| of(item.about))
        .collect()
}

fn main_end() -> Where {
    Where::End("main".to_owned())
}

fn text(words: &str) -> Value {
    Value::Text(words.to_owned())
}

/// A1 with R1, flown by T1 and T2, every proof held.
fn proven() -> Book {
    let mut book = Book::default();
    for (id, sort) in [
        (T1, Sort::Transmitter),
        (T2, Sort::Transmitter),
        (R1, Sort::Receiver),
        (R2, Sort::Receiver),
        (A1, Sort::Aircraft),
        (A2, Sort::Aircraft),
    ] {
        book.add(id, Body::Device { sort });
    }
    for (id, code) in [(T1, "T1"), (T2, "T2"), (R1, "R1"), (R2, "R2"), (A1, "A1"), (A2, "A2")] {
        book.read(id, Where::Whole, Field::Code, text(code));
    }
    for id in [T1, T2, R1, R2] {
        book.read(id, main_end(), Field::Firmware, text("4.0"));
        book.read(id, main_end(), Field::Antenna, text("wire"));
    }
    book.read(T1, Where::End("second".to_owned()), Field::Firmware, text("4.0"));
    book.read(T1, Where::Whole, Field::Handset, text("2.1"));
    book.read(R1, Where::Whole, Field::Aircraft, Value::Device(A1));
    book.read(R2, Where::Whole, Field::Aircraft, Value::Device(A2));
    book.read(A1, Where::Whole, Field::Pack, text("P1"));
    book.add(R1, Body::Paired { end: "main".to_owned(), transmitter: end(T1) });
    for t in [T1, T2] {
        let memory = Where::Memory("1".to_owned());
        book.read(t, memory.clone(), Field::Aircraft, Value::Device(A1));
        book.read(t, memory, Field::End, text("main"));
    }
    book.fit(Part::Outputs, "");
    for t in [T1, T2] {
        for proof in [Proof::Directions, Proof::Failsafe, Proof::Range] {
            book.prove(proof, Some(t));
        }
    }
    book.prove(Proof::Supply, None);
    book
}

fn end(device: DeviceId) -> EndRef {
    EndRef { device, end: "main".to_owned() }
}

use Happening as H;
use Proof::{Directions, Failsafe, Range, Supply};

/// What each happening lapses. Range check after crash, hard landing, changes to radio, antennas,
/// wiring, motor, speed controller or battery place and after re-binding, and at the first flight of
/// each day; failsafe again after re-binding: common practice, no source. Failsafe at the start of each
/// flying day: a club safety officer's page. What else stands here is this project's judgement, stated
/// in data/lapses.csv.
const TABLE: [(Happening, &[Proof]); 21] = [
    (H::Crash, &[Directions, Failsafe, Range, Supply]),
    (H::HardLanding, &[Directions, Range]),
    (H::ReceiverIn, &[Directions, Failsafe, Range, Supply]),
    (H::ReceiverOut, &[Directions, Failsafe, Range, Supply]),
    (H::ReceiverFlash, &[Directions, Failsafe, Range]),
    (H::TransmitterFlash, &[Failsafe, Range]),
    (H::HandsetFlash, &[Directions, Failsafe]),
    (H::Pairing, &[Failsafe, Range]),
    (H::RfModule, &[Failsafe, Range]),
    (H::Antenna, &[Range]),
    (H::Motor, &[Directions, Failsafe, Range, Supply]),
    (H::Servo, &[Directions, Supply]),
    (H::Pack, &[Supply]),
    (H::PackPlace, &[Range]),
    (H::Wiring, &[Directions, Failsafe, Range, Supply]),
    (H::Memory, &[Directions, Failsafe]),
    (H::Outputs, &[Directions, Failsafe]),
    (H::Supply, &[Supply]),
    (H::Failsafe, &[Failsafe]),
    (H::Antennas, &[Range]),
    (H::FlyingDay, &[Failsafe, Range]),
];

/// What is done, in words, and the entries of it.
type Entered = (&'static str, fn(&mut Book));

/// Every way in which a happening is entered, and whether it is T1's alone.
#[expect(clippy::too_many_lines, reason = "one arm a row of the table")]
fn entered(happening: Happening) -> Vec<Entered> {
    fn flash(book: &mut Book, device: DeviceId, end: &str) {
        let body = Body::Flashed { end: end.to_owned(), version: "5.0".to_owned(), route: String::new() };
        book.add(device, body);
    }
    match happening {
        H::Crash => vec![
            ("noted on the aircraft", |b| {
                b.work(A1, Work::Crash);
            }),
            ("read as the aircraft's state", |b| {
                b.read(A1, Where::Whole, Field::State, text("crashed"));
            }),
            ("noted on the receiver", |b| {
                b.work(R1, Work::Crash);
            }),
        ],
        H::HardLanding => vec![("noted", |b| {
            b.work(A1, Work::HardLanding);
        })],
        H::ReceiverIn => vec![("a second one", |b| {
            b.read(R2, Where::Whole, Field::Aircraft, Value::Device(A1));
        })],
        H::ReceiverOut => vec![("the only one", |b| {
            b.read(R1, Where::Whole, Field::Aircraft, Value::None);
        })],
        H::ReceiverFlash => vec![
            ("flashed", |b| flash(b, R1, "main")),
            ("another firmware read", |b| {
                b.read(R1, main_end(), Field::Firmware, text("4.1"));
            }),
        ],
        H::TransmitterFlash => vec![
            ("flashed", |b| flash(b, T1, "main")),
            ("another firmware read", |b| {
                b.read(T1, main_end(), Field::Firmware, text("4.1"));
            }),
        ],
        H::HandsetFlash => vec![("another firmware read", |b| {
            b.read(T1, Where::Whole, Field::Handset, text("2.2"));
        })],
        H::Pairing => vec![("paired", |b| {
            b.add(R1, Body::Paired { end: "main".to_owned(), transmitter: end(T1) });
        })],
        H::RfModule => vec![
            ("another module chosen by the memory", |b| {
                b.read(T1, Where::Memory("1".to_owned()), Field::End, text("second"));
            }),
            ("noted", |b| {
                b.work(T1, Work::RfModule);
            }),
        ],
        H::Antenna => vec![
            ("noted on the aircraft", |b| {
                b.work(A1, Work::Antenna);
            }),
            ("noted on the receiver", |b| {
                b.work(R1, Work::Antenna);
            }),
            ("noted on the transmitter", |b| {
                b.work(T1, Work::Antenna);
            }),
            ("another read on the receiver", |b| {
                b.read(R1, main_end(), Field::Antenna, text("coaxial"));
            }),
            ("another read on the transmitter", |b| {
                b.read(T1, main_end(), Field::Antenna, text("long"));
            }),
        ],
        H::Motor => vec![("noted", |b| {
            b.work(A1, Work::Motor);
        })],
        H::Servo => vec![("noted", |b| {
            b.work(A1, Work::Servo);
        })],
        H::Pack => vec![
            ("noted", |b| {
                b.work(A1, Work::Pack);
            }),
            ("another read", |b| {
                b.read(A1, Where::Whole, Field::Pack, text("P2"));
            }),
        ],
        H::PackPlace => vec![("noted", |b| {
            b.work(A1, Work::PackPlace);
        })],
        H::Wiring => vec![
            ("noted on the aircraft", |b| {
                b.work(A1, Work::Wiring);
            }),
            ("noted on the receiver", |b| {
                b.work(R1, Work::Wiring);
            }),
        ],
        H::Memory => vec![("noted", |b| {
            b.work(T1, Work::Memory);
        })],
        H::Outputs => vec![("written", |b| {
            b.fit(Part::Outputs, "# other outputs\n");
        })],
        H::Supply => vec![("written", |b| {
            b.fit(Part::Supply, "# a supply\n");
        })],
        H::Failsafe => vec![("written", |b| {
            b.fit(Part::Failsafe, "# a failsafe\n");
        })],
        H::Antennas => vec![("written", |b| {
            b.fit(Part::Antennas, "# antennas\n");
        })],
        H::FlyingDay => vec![
            ("noted on the workshop", |b| {
                b.work(DeviceId::WORKSHOP, Work::FlyingDay);
            }),
            ("noted on the aircraft", |b| {
                b.work(A1, Work::FlyingDay);
            }),
        ],
    }
}

/// What only concerns T1 leaves the proofs with T2 alone.
fn of_t1_alone(happening: Happening, way: &str) -> bool {
    matches!(happening, H::TransmitterFlash | H::HandsetFlash | H::RfModule | H::Memory)
        || way.ends_with("on the transmitter")
}

#[test]
fn every_happening_lapses_exactly_what_the_table_says() {
    let before = proven();
    assert_eq!(before.lapsed(T1), BTreeSet::new());
    assert_eq!(before.lapsed(T2), BTreeSet::new());
    assert_eq!(TABLE.map(|(happening, _)| happening).as_slice(), Happening::ALL, "every one, once");
    let mut wrong = Vec::new();
    for (happening, expected) in TABLE {
        let expected: BTreeSet<Proof> = expected.iter().copied().collect();
        let rule = lapse::rule(happening);
        assert_eq!(rule.lapses.iter().copied().collect::<BTreeSet<_>>(), expected, "{happening:?}");
        assert!(!rule.why.is_empty() && !rule.source.is_empty() && !rule.what.is_empty());
        for (way, enter) in entered(happening) {
            let mut book = before.clone();
            enter(&mut book);
            // Proofs that rest on no transmitter are the same in both lists.
            let with_t2 = if of_t1_alone(happening, way) { BTreeSet::new() } else { expected.clone() };
            for (transmitter, expected) in [(T1, &expected), (T2, &with_t2)] {
                let got = book.lapsed(transmitter);
                if got != *expected {
                    wrong.push(format!("{happening:?} {way}, {transmitter:?}: {got:?}, not {expected:?}"));
                }
            }
            // Each lapse names what did it, and the reason of the table.
            let list = book.list_at(T1, book.now());
            for item in list.items.iter().filter(|item| item.standing == Standing::Lapsed) {
                assert_eq!(item.lapses[0].event.happening, happening, "{way}");
                assert_eq!(item.lapses[0].why, rule.why);
                assert!(item.text.contains(&item.lapses[0].event.text), "{}", item.text);
                assert!(!item.next.is_empty());
            }
            // Proven again, nothing is lapsed any more.
            for proof in [Directions, Failsafe, Range] {
                book.prove(proof, Some(T1));
            }
            book.prove(Supply, None);
            if book.lapsed(T1) != BTreeSet::new() {
                wrong.push(format!("{happening:?} {way}: still lapsed after new proofs"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_row_of_the_file_is_read() {
    let rows: Vec<&str> = lapse::TABLE.lines().skip(1).map(|line| line.split(',').next().unwrap()).collect();
    assert_eq!(rows, Happening::ALL.iter().map(|one| one.word()).collect::<Vec<_>>());
}

#[test]
fn the_docs_have_the_table() {
    let doc = include_str!("../../../docs/commissioning.md");
    let rows: Vec<String> = lapse::rules()
        .iter()
        .map(|rule| {
            let cell = |proof| if rule.lapses.contains(&proof) { " lapses " } else { "  " };
            let cells = [Directions, Failsafe, Range, Supply].map(cell).join("|");
            format!("| {} |{cells}|\n", rule.what)
        })
        .collect();
    assert!(doc.contains(&rows.concat()), "docs/commissioning.md should have:\n{}", rows.concat());
}

#[test]
fn what_does_not_concern_it_lapses_nothing() {
    let cases: [Entered; 9] = [
        ("another aircraft's receiver flashed", |b| {
            let body =
                Body::Flashed { end: "main".to_owned(), version: "5.0".to_owned(), route: String::new() };
            b.add(R2, body);
        }),
        ("another aircraft crashed", |b| {
            b.work(A2, Work::Crash);
        }),
        ("another receiver's antenna", |b| {
            b.work(R2, Work::Antenna);
        }),
        ("the transmitter's other module flashed", |b| {
            let body =
                Body::Flashed { end: "second".to_owned(), version: "5.0".to_owned(), route: String::new() };
            b.add(T1, body);
        }),
        ("the same firmware read again", |b| {
            b.read(R1, main_end(), Field::Firmware, text("4.0"));
        }),
        ("the same place read again", |b| {
            b.read(R1, Where::Whole, Field::Aircraft, Value::Device(A1));
        }),
        ("the same text written again", |b| {
            b.fit(Part::Outputs, "");
        }),
        ("a name read", |b| {
            b.read(A1, Where::Whole, Field::Name, text("Heron"));
        }),
        ("seen before the proofs, written down after", |b| {
            b.at(Moment(NOON - 1), A1, Body::Worked(Worked { what: Work::Crash, note: String::new() }));
        }),
    ];
    for (what, enter) in cases {
        let mut book = proven();
        enter(&mut book);
        assert_eq!(book.lapsed(T1), BTreeSet::new(), "{what}");
    }
}

#[test]
fn a_struck_happening_lapses_nothing() {
    let mut book = proven();
    let crash = book.work(A1, Work::Crash);
    assert_eq!(book.lapsed(T1).len(), 4);
    book.add(A1, Body::Strike { entry: crash });
    assert_eq!(book.lapsed(T1), BTreeSet::new());
}

#[test]
fn a_proof_holds_for_its_transmitter_alone() {
    let mut book = proven();
    book.work(A1, Work::Crash);
    for proof in [Directions, Failsafe, Range] {
        book.prove(proof, Some(T2));
    }
    assert_eq!(book.lapsed(T2), [Supply].into());
    assert_eq!(book.lapsed(T1).len(), 4);
}

#[test]
fn the_next_day_lapses_by_the_workshops_clock() {
    const HOUR: i64 = 3_600_000;
    let mut book = proven();
    let hours = |hours: i64| Moment(NOON + hours * HOUR);
    let both: BTreeSet<Proof> = [Failsafe, Range].into();
    assert_eq!(lapsed(&book.list_at(T1, hours(11))), BTreeSet::new());
    assert_eq!(lapsed(&book.list_at(T1, hours(13))), both);
    let list = book.list_at(T1, hours(13));
    assert!(list.item(About::Proof(Range)).unwrap().text.contains("an earlier day"));
    // Five hours west of Greenwich it is still the same day then.
    let set = |value: &str| Body::Setting { key: DAY_SETTING.to_owned(), value: Some(value.to_owned()) };
    book.add(DeviceId::WORKSHOP, set("-5"));
    assert_eq!(lapsed(&book.list_at(T1, hours(13))), BTreeSet::new());
    assert_eq!(lapsed(&book.list_at(T1, hours(17))), both);
    // Nonsense is as if it weren't set.
    book.add(DeviceId::WORKSHOP, set("ninety"));
    assert_eq!(lapsed(&book.list_at(T1, hours(13))), both);
}

#[test]
fn a_signature_says_what_was_checked_and_what_no_longer_is() {
    let mut book = proven();
    let list = book.list_at(T1, book.now());
    let signed = list.signing("after the first evening");
    assert!(signed.checked.contains(&"proof:range".to_owned()));
    assert!(signed.unchecked.contains(&"supply".to_owned()), "{signed:?}");
    book.add(A1, Body::Signed(signed));
    let signature = book.list_at(T1, book.now()).signature.unwrap();
    assert!(signature.since.is_empty() && !signature.stands, "not everything was checked");
    assert_eq!(book.list_at(T2, book.now()).signature, None);
    book.work(A1, Work::Antenna);
    let signature = book.list_at(T1, book.now()).signature.unwrap();
    assert_eq!(signature.since, [About::Proof(Range)]);
}

#[test]
fn nothing_known_is_said_to_be_so() {
    let mut book = Book::default();
    book.add(A1, Body::Device { sort: Sort::Aircraft });
    let register = book.register();
    let scene = Scene::new(&register);
    let fleet = Fleet::of(&scene);
    let list = commission(&scene, &fleet, A1, None, &[], book.now()).unwrap();
    assert_eq!(list.items.len(), 9);
    assert!(list.items.iter().all(|item| item.standing == Standing::Open && !item.next.is_empty()));
    assert!(list.transmitter.is_none() && list.signature.is_none());
    assert!(commission(&scene, &fleet, T1, None, &[], book.now()).is_none());
}

/// A proof's figures, those of the last time, and the keys of what is found.
type Judged<'a> = (Proof, Figures<'a>, Option<Figures<'a>>, &'a [&'a str]);
type Figures<'a> = &'a [(&'a str, f64)];

#[test]
fn figures_are_looked_at() {
    let of = |pairs: &[(&str, f64)]| -> BTreeMap<String, f64> {
        pairs.iter().map(|(key, value)| ((*key).to_owned(), *value)).collect()
    };
    let keys = |proof, now: &[(&str, f64)], last: Option<&[(&str, f64)]>| {
        let last = last.map(of);
        measure::judge(proof, &of(now), last.as_ref(), measure::WORKS_TO)
            .iter()
            .map(|one| one.key)
            .collect::<Vec<_>>()
    };
    // 30 m at reduced power, 25 % shorter, 4.5 V and 4.0 V, a few seconds: common practice, no source.
    let cases: &[Judged] = &[
        (Range, &[("distance_m", 40.0), ("reduction_db", 20.0)], None, &[]),
        (Range, &[("distance_m", 29.0), ("reduction_db", 20.0)], None, &["under_thirty_metres"]),
        (
            Range,
            &[("distance_m", 40.0), ("reduction_db", 20.0)],
            Some(&[("distance_m", 60.0), ("reduction_db", 20.0)]),
            &["shorter_than_last"],
        ),
        // Not done alike, so not compared.
        (
            Range,
            &[("distance_m", 40.0), ("reduction_db", 30.0)],
            Some(&[("distance_m", 60.0), ("reduction_db", 20.0)]),
            &[],
        ),
        (
            Range,
            &[("distance_m", 60.0), ("reduction_db", 20.0), ("motor_distance_m", 40.0)],
            None,
            &["shorter_with_motor"],
        ),
        (Supply, &[("at_rest_v", 5.1), ("stirred_v", 4.5)], None, &[]),
        (Supply, &[("at_rest_v", 3.6)], None, &["rest_low"]),
        (Supply, &[("stirred_v", 4.4)], None, &["stirred_low"]),
        (Failsafe, &[("control_back_s", 1.0)], None, &[]),
        (Failsafe, &[("control_back_s", 8.0)], None, &["slow_back"]),
    ];
    for (proof, now, last, expected) in cases {
        assert_eq!(keys(*proof, now, *last), *expected, "{proof:?} {now:?}");
    }
    assert_eq!(measure::fits(Range, &of(&[("distance_m", 45.0)])), Ok(()));
    for (proof, key, value, says) in [
        (
            Range,
            "at_rest_v",
            5.0,
            "`at_rest_v` is not measured with the range check; these are: distance_m, reduction_db, motor_distance_m",
        ),
        (Directions, "x", 5.0, "`x` is not measured with the control directions; nothing is"),
        (Range, "distance_m", -1.0, "distance_m is -1; it can be 0 to 20000 m"),
        (Supply, "at_rest_v", f64::NAN, "at_rest_v is NaN; it can be 0 to 60 V"),
    ] {
        let error: BadMeasure = measure::fits(proof, &of(&[(key, value)])).unwrap_err();
        assert_eq!(error.to_string(), says);
    }
}

/// A date that nobody has reached yet would outlast every crash until then.
#[test]
fn a_proof_that_is_dated_into_the_future_does_not_count() {
    let mut book = proven();
    let ahead = Moment(book.now().0 + 40 * 86_400_000);
    let proved = |proof| Proved {
        proof,
        transmitter: Some(T1),
        held: true,
        steps: Vec::new(),
        measured: BTreeMap::new(),
        note: String::new(),
    };
    book.at(ahead, A1, Body::Proved(proved(Directions)));
    book.work(A1, Work::Crash);
    assert_eq!(book.lapsed(T1), [Directions, Failsafe, Range, Supply].into());
    let mut only = Book::default();
    only.add(A1, Body::Device { sort: Sort::Aircraft });
    only.add(T1, Body::Device { sort: Sort::Transmitter });
    only.at(ahead, A1, Body::Proved(proved(Directions)));
    let list = only.list_at(T1, only.now());
    let item = list.item(About::Proof(Directions)).unwrap();
    assert_eq!(item.standing, Standing::Open);
    assert!(item.text.contains("dated into the future"), "{}", item.text);
}

/// What is checked with a warning is named in the list's sentence.
#[test]
fn warnings_are_in_the_sentence() {
    let mut book = proven();
    let body = Proved {
        proof: Supply,
        transmitter: None,
        held: true,
        steps: Vec::new(),
        measured: [("stirred_v".to_owned(), 4.3)].into(),
        note: String::new(),
    };
    book.add(A1, Body::Proved(body));
    let sentence = book.list_at(T1, book.now()).sentence;
    assert!(sentence.contains("to look at again: supply check"), "{sentence}");
}

/// A receiver that is swapped for another and back is proven anew, also under another of its entries.
#[test]
fn swapped_and_swapped_back() {
    let mut book = proven();
    let twin = DeviceId(99);
    book.add(twin, Body::Device { sort: Sort::Receiver });
    book.add(twin, Body::SameAs { other: R1 });
    assert_eq!(book.lapsed(T1), BTreeSet::new(), "entered twice, nothing happened");
    book.read(twin, Where::Whole, Field::Aircraft, Value::None);
    book.read(R2, Where::Whole, Field::Aircraft, Value::Device(A1));
    book.read(R2, Where::Whole, Field::Aircraft, Value::Device(A2));
    book.read(R1, Where::Whole, Field::Aircraft, Value::Device(A1));
    assert_eq!(book.lapsed(T1), [Directions, Failsafe, Range, Supply].into());
    for proof in [Directions, Failsafe, Range] {
        book.prove(proof, Some(T1));
    }
    book.prove(Supply, None);
    assert_eq!(book.lapsed(T1), BTreeSet::new());
    // It happened before the proofs, and was only written down after them.
    let earlier = Moment(book.now().0 - 15 * 60_000);
    book.at(earlier, A1, Body::Worked(Worked { what: Work::Crash, note: String::new() }));
    assert_eq!(book.lapsed(T1), BTreeSet::new());
}

/// A label of a receiver with very many ends still has its code and its address in the square.
#[test]
fn a_label_with_many_ends_has_a_square() {
    let mut book = proven();
    let name = "a long name ".repeat(30);
    for number in 0..64 {
        let end = Where::End(format!("end-{number}"));
        book.read(R1, end, Field::Firmware, text(&name));
    }
    let register = book.register();
    let scene = Scene::new(&register);
    let fleet = Fleet::of(&scene);
    let about = fitting::cards::About {
        scene: &scene,
        fleet: &fleet,
        workshop: "W",
        address: Some("http://192.0.2.7:8080"),
        now: book.now(),
    };
    let label = fitting::cards::label(&about, R1).unwrap().unwrap();
    assert!(
        label.code.text.starts_with("R1\n") && label.code.text.ends_with(&format!("/device/{R1}")),
        "{}",
        label.code.text
    );
    assert!(label.code.text.len() <= 287);
}

/// Cards never send anybody to hold turning blades.
#[test]
fn a_helicopters_field_card() {
    let mut book = proven();
    book.read(A1, Where::Whole, Field::Craft, text("heli"));
    let register = book.register();
    let scene = Scene::new(&register);
    let fleet = Fleet::of(&scene);
    let fit = Fit::of(&scene, &fleet, A1);
    let list = commission(&scene, &fleet, A1, Some(T1), &fit.states(), book.now()).unwrap();
    let about =
        fitting::cards::About { scene: &scene, fleet: &fleet, workshop: "W", address: None, now: book.now() };
    let card = format!("{:?}", fitting::cards::field(&about, &list, &fit).unwrap());
    assert!(card.contains("nobody holds it") && card.contains("running with the blades off"), "{card}");
    assert!(!card.contains("aircraft held"), "{card}");
}

proptest! {
    /// Work and proofs in any order: a proof has lapsed exactly when, after its last trial, something
    /// happened that the table says lapses it.
    #[test]
    fn any_order_of_work_and_proofs(steps in prop::collection::vec((any::<bool>(), 0_usize..32), 0..24)) {
        let works: Vec<Work> =
            Work::ALL.iter().copied().filter(|work| lapse::may(*work, Some(Sort::Aircraft))).collect();
        let proofs = [Directions, Failsafe, Range, Supply];
        let mut book = proven();
        let mut expected: BTreeSet<Proof> = BTreeSet::new();
        for (is_work, number) in steps {
            if is_work {
                let work = works[number % works.len()];
                book.work(A1, work);
                let key = work.word().replace('-', "_");
                let (_, lapses) = TABLE.into_iter().find(|(one, _)| one.word() == key).unwrap();
                expected.extend(lapses);
            } else {
                let proof = proofs[number % proofs.len()];
                book.prove(proof, (proof != Supply).then_some(T1));
                expected.remove(&proof);
            }
        }
        prop_assert_eq!(book.lapsed(T1), expected);
    }
}
