//! Verdicts on small fleets: trade facts, and laws that must hold for every fleet.
#![allow(missing_docs, clippy::unwrap_used)]

mod workshop;

use proptest::prelude::*;
use register::field::{Field, How, Part};
use register::fleet::Fleet;
use register::mend;
use register::rule::{Answer, Question, Rule, Status, Verdict};
use register::scene::Scene;
use register::time::Moment;
use register::value::{Partners, SecretMark, Value};
use register::verdict::Link;
use workshop::{RX, TX, Workshop, end, print, text};

/// A family with the usual rules; the trade facts below are common practice, no source.
const USUAL: &str = include_str!("workshop/usual.toml");

fn ready() -> Workshop {
    let mut w = Workshop::new();
    w.family(USUAL);
    w.transmitter(TX, "T1");
    w.receiver(RX, "R1");
    for id in [TX, RX] {
        w.end(id, Field::Family, text("Usual"));
        w.end(id, Field::Band, text("2.4 GHz"));
        w.end(id, Field::Region, text("EU"));
        w.end(id, Field::Firmware, text("4.1"));
        w.end(id, Field::Secret, Value::Secret(print(1)));
    }
    w.end(RX, Field::ModelId, Value::Number(7));
    w.memory(TX, "m1", Field::ModelId, Value::Number(7));
    w
}

fn link(w: &Workshop) -> Link {
    let register = w.register();
    let scene = Scene::new(&register);
    let fleet = Fleet::of(&scene);
    fleet.link(&scene, TX, RX).unwrap()
}

fn status(link: &Link, rule: Rule) -> Status {
    link.ruling.status(rule).unwrap()
}

#[test]
fn a_whole_link_links() {
    let link = link(&ready());
    assert_eq!(link.verdict(), Verdict::Links, "{:#?}", link.findings);
    assert_eq!(link.findings.len(), 7);
}

#[test]
fn equal_major_versions_link_whatever_the_minor() {
    for (t, r, holds) in [
        ("4.1", "4.6", Status::Pass),
        ("4.6", "4.1", Status::Pass),
        ("3.9", "4.0", Status::Fail),
        ("4.0", "3.9", Status::Fail),
        ("v4.1.2", "4", Status::Pass),
        ("4.1", "four", Status::Unknown),
    ] {
        let mut w = ready();
        w.end(TX, Field::Firmware, text(t));
        w.end(RX, Field::Firmware, text(r));
        assert_eq!(status(&link(&w), Rule::Version), holds, "{t} with {r}");
    }
}

#[test]
fn bands_keep_ends_apart() {
    for (t, r, holds) in [
        ("2.4 GHz", "2.4", Status::Pass),
        ("2.4 GHz", "868 MHz", Status::Fail),
        ("2400", "915", Status::Fail),
        ("868", "915 MHz", Status::Fail),
        ("868", "868 MHz", Status::Pass),
        ("2.4 GHz", "purple", Status::Unknown),
    ] {
        let mut w = ready();
        w.end(TX, Field::Band, text(t));
        w.end(RX, Field::Band, text(r));
        assert_eq!(status(&link(&w), Rule::Band), holds, "{t} with {r}");
    }
}

#[test]
fn bands_keep_ends_apart_without_a_family_file() {
    let mut w = Workshop::new();
    w.transmitter(TX, "T1");
    w.receiver(RX, "R1");
    w.end(TX, Field::Band, text("2.4 GHz"));
    w.end(RX, Field::Band, text("868 MHz"));
    assert_eq!(link(&w).verdict(), Verdict::Blocked);
}

#[test]
fn secrets_are_equal_or_both_blank_and_paired_by_hand() {
    use SecretMark::{Blank, SameAs};
    let same = |id| SameAs(end(id));
    let cases = [
        (print(1), print(1), Status::Pass, Answer::Yes),
        (print(1), print(2), Status::Fail, Answer::NotKnown),
        (Blank, Blank, Status::Pass, Answer::NotKnown),
        (Blank, print(1), Status::Fail, Answer::NotKnown),
        (print(1), Blank, Status::Fail, Answer::NotKnown),
        (print(1), same(TX), Status::Pass, Answer::Yes),
        (print(1), SecretMark::Print { key: 9, print: 1 }, Status::Unknown, Answer::NotKnown),
    ];
    for (t, r, holds, paired) in cases {
        let mut w = ready();
        w.end(TX, Field::Secret, Value::Secret(t.clone()));
        w.end(RX, Field::Secret, Value::Secret(r.clone()));
        let link = link(&w);
        assert_eq!(status(&link, Rule::Secret), holds, "{t:?} with {r:?}");
        assert_eq!(link.answer(Question::Paired), paired, "{t:?} with {r:?}");
    }
    // Blank on both ends: linked once it is paired by hand.
    let mut w = ready();
    w.end(TX, Field::Secret, Value::Secret(Blank));
    w.end(RX, Field::Secret, Value::Secret(Blank));
    w.pair(RX, TX);
    assert_eq!(link(&w).verdict(), Verdict::Links);
}

#[test]
fn a_receiver_whose_check_is_off_is_never_blocked_by_it() {
    for off in [Value::Off, Value::Number(99)] {
        for memory in [Value::Number(3), Value::Unknown, Value::Off] {
            let mut w = ready();
            w.end(RX, Field::ModelId, off.clone());
            w.memory(TX, "m1", Field::ModelId, memory);
            assert_eq!(status(&link(&w), Rule::ModelId), Status::Pass);
        }
    }
    let mut w = ready();
    w.end(RX, Field::ModelId, Value::Number(8));
    assert_eq!(status(&link(&w), Rule::ModelId), Status::Fail);
}

#[test]
fn told_never_overrides_seen_and_clashes_are_not_decided() {
    let mut w = ready();
    w.reading(RX, Part::End("main".into()), How::Told, Field::Firmware, text("3.0"), true);
    assert_eq!(status(&link(&w), Rule::Version), Status::Pass, "told 3.0 against seen 4.1");
    // Written elsewhere, at the same time, as well known, and naming nothing it replaces.
    w.reading(RX, Part::End("main".into()), How::Seen, Field::Firmware, text("3.0"), false);
    let l = link(&w);
    assert_eq!(status(&l, Rule::Version), Status::Unknown);
    assert!(l.findings[3].receiver.clash);
    // A clash of values that all fail still blocks.
    w.end(TX, Field::Firmware, text("5.0"));
    assert_eq!(status(&link(&w), Rule::Version), Status::Fail);
}

#[test]
fn a_flash_wipes_what_the_family_says_and_nothing_fixed() {
    let mut w = ready();
    w.flash(RX, "4.2", "cable");
    let l = link(&w);
    assert_eq!(status(&l, Rule::Version), Status::Pass);
    assert_eq!(status(&l, Rule::Band), Status::Pass);
    assert_eq!(status(&l, Rule::ModelId), Status::Unknown, "the cable route wipes the model ID");
    assert_eq!(status(&l, Rule::Secret), Status::Pass, "and leaves the secret");
}

#[test]
fn a_receiver_remembers_as_many_partners_as_it_can() {
    let mut w = ready();
    w.end(TX, Field::Secret, Value::Secret(SecretMark::Blank));
    w.end(RX, Field::Secret, Value::Secret(SecretMark::Blank));
    w.pair(RX, TX);
    let other = register::id::DeviceId(99);
    w.transmitter(other, "T9");
    assert_eq!(status(&link(&w), Rule::Pairing), Status::Pass);
    w.pair(RX, other);
    assert_eq!(status(&link(&w), Rule::Pairing), Status::Fail, "one partner only");
    let none = Value::Partners(Partners { ends: vec![], all: true });
    w.end(RX, Field::Partners, none);
    w.pair(RX, TX);
    assert_eq!(status(&link(&w), Rule::Pairing), Status::Pass);
}

#[test]
fn every_block_names_mends_with_what_they_break() {
    let mut w = ready();
    // R2 flies with T1 at 4.x; R1 is one major version behind.
    let r2 = register::id::DeviceId(22);
    w.receiver(r2, "R2");
    for (field, value) in [
        (Field::Family, text("Usual")),
        (Field::Band, text("2.4 GHz")),
        (Field::Region, text("EU")),
        (Field::Firmware, text("4.1")),
        (Field::Secret, Value::Secret(print(1))),
        (Field::ModelId, Value::Number(7)),
    ] {
        w.end(r2, field, value);
    }
    w.end(RX, Field::Firmware, text("3.2"));
    let register = w.register();
    let scene = Scene::new(&register);
    let fleet = Fleet::of(&scene);
    let l = fleet.link(&scene, TX, RX).unwrap();
    assert_eq!(l.verdict(), Verdict::Blocked);
    let mends = mend::mends(
        &scene,
        &fleet,
        fleet.transmitter(TX).unwrap(),
        fleet.receiver(RX).unwrap(),
        &l,
        Moment(9_000_000),
    );
    let actions: Vec<String> = mends
        .iter()
        .map(|m| format!("{} | {} | breaks {} | {:?}", m.minutes, m.action, m.breaks.len(), m.after))
        .collect();
    insta::assert_snapshot!(actions.join("\n"));
    let receiver_first = mends.iter().find(|m| m.action.starts_with("Flash R1")).unwrap();
    assert!(receiver_first.breaks.is_empty());
    let transmitter_first = mends.iter().find(|m| m.action.starts_with("Flash T1")).unwrap();
    assert_eq!(transmitter_first.breaks.len(), 1, "R2 no longer links with T1");
}

fn any_value(field: Field) -> BoxedStrategy<Value> {
    let mixed = |values: Vec<Value>| proptest::sample::select(values).boxed();
    match field {
        Field::Family => mixed(vec![text("Usual"), text("Other"), text("No file")]),
        Field::Band => mixed(vec![text("2.4 GHz"), text("868 MHz"), text("purple")]),
        Field::Region => mixed(vec![text("EU"), text("US"), text("MOON")]),
        Field::Firmware => mixed(vec![text("3.1"), text("4.1"), text("4.6"), text("odd")]),
        Field::Secret => mixed(vec![
            Value::Secret(SecretMark::Blank),
            Value::Secret(print(1)),
            Value::Secret(print(2)),
            Value::Secret(SecretMark::Print { key: 9, print: 1 }),
            Value::Secret(SecretMark::SameAs(end(TX))),
        ]),
        Field::Partners => mixed(vec![
            Value::Partners(Partners { ends: vec![end(TX)], all: false }),
            Value::Partners(Partners { ends: vec![], all: true }),
            Value::Partners(Partners { ends: vec![end(RX)], all: true }),
        ]),
        _ => mixed(vec![Value::Off, Value::Number(7), Value::Number(8), Value::Number(99)]),
    }
}

const FIELDS: [Field; 7] = [
    Field::Family,
    Field::Band,
    Field::Region,
    Field::Firmware,
    Field::Secret,
    Field::Partners,
    Field::ModelId,
];

prop_compose! {
    fn facts()(
        values in FIELDS.iter().map(|f| proptest::option::weighted(0.7, any_value(*f))).collect::<Vec<_>>(),
        second in FIELDS.iter().map(|f| proptest::option::weighted(0.1, any_value(*f))).collect::<Vec<_>>(),
    ) -> Vec<(Field, Option<Value>, Option<Value>)> {
        FIELDS.iter().zip(values).zip(second).map(|((f, v), s)| (*f, v, s)).collect()
    }
}

fn build(
    t: &[(Field, Option<Value>, Option<Value>)],
    r: &[(Field, Option<Value>, Option<Value>)],
    memory: Option<&Value>,
) -> Workshop {
    let mut w = Workshop::new();
    w.family(USUAL);
    w.transmitter(TX, "T1");
    w.receiver(RX, "R1");
    for (id, facts) in [(TX, t), (RX, r)] {
        for (field, value, second) in facts {
            if let Some(value) = value {
                w.end(id, *field, value.clone());
                if let Some(second) = second {
                    w.reading(id, Part::End("main".into()), How::Seen, *field, second.clone(), false);
                }
            }
        }
    }
    if let Some(memory) = memory {
        w.memory(TX, "m1", Field::ModelId, memory.clone());
    }
    w
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, failure_persistence: None, ..ProptestConfig::default() })]

    /// A verdict is the same whichever end is named first.
    #[test]
    fn either_end_may_be_named_first(t in facts(), r in facts(), memory in proptest::option::of(any_value(Field::ModelId))) {
        let w = build(&t, &r, memory.as_ref());
        let register = w.register();
        let scene = Scene::new(&register);
        let fleet = Fleet::of(&scene);
        prop_assert_eq!(fleet.link(&scene, TX, RX), fleet.link(&scene, RX, TX));
    }

    /// Learning a fact that was not known never turns a block into a doubt.
    #[test]
    fn more_knowledge_never_unblocks(
        t in facts(), r in facts(), memory in proptest::option::of(any_value(Field::ModelId)),
        at in 0..7usize, side: bool, values in FIELDS.iter().map(|f| any_value(*f)).collect::<Vec<_>>(),
    ) {
        let (mut t, mut r) = (t, r);
        let slot = if side { &mut t[at] } else { &mut r[at] };
        (slot.1, slot.2) = (None, None);
        let (mut t2, mut r2) = (t.clone(), r.clone());
        let slot = if side { &mut t2[at] } else { &mut r2[at] };
        slot.1 = Some(values[at].clone());
        let (before, after) = (link(&build(&t, &r, memory.as_ref())), link(&build(&t2, &r2, memory.as_ref())));
        if before.verdict() == Verdict::Blocked {
            prop_assert_eq!(after.verdict(), Verdict::Blocked, "{:#?} then {:#?}", before.findings, after.findings);
        }
    }
}
