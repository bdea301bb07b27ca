//! What follows from what: forced chains and what stands in their way, link secrets, looks, ways
//! of firmware, and wishes about days and evenings.
#![expect(clippy::unwrap_used, reason = "tests")]

mod club;
mod replay;

use club::{Club, NOW, evenings, main_of, secret, text};
use refits::ask::Question;
use refits::planner::{Clash, NoPlan, Plan};
use refits::step::{Back, Sort, Step};
use register::field::{Field, Part, Sort as DeviceSort};
use register::fleet::Fleet;
use register::id::DeviceId;
use register::refit::{Reach, Wish};
use register::rule::Verdict;
use register::scene::Scene;
use register::value::{EndRef, SecretMark, Value};
use register::view;
use units::Minutes;

/// A plan, replayed through the verdict engine.
fn planned(club: &Club, wishes: &[Wish]) -> Plan {
    match replay::plan(club, &Question::new(wishes.to_vec())) {
        Ok(plan) => {
            replay::replay(club, &plan);
            assert!(plan.proven);
            plan
        }
        Err(why) => panic!("{why}"),
    }
}

fn clash(club: &Club, wishes: &[Wish]) -> Clash {
    match replay::plan(club, &Question::new(wishes.to_vec())) {
        Err(NoPlan::Clash(clash)) => clash,
        other => panic!("{other:?}"),
    }
}

fn refused(club: &Club, wishes: &[Wish]) -> String {
    match replay::plan(club, &Question::new(wishes.to_vec())) {
        Err(NoPlan::Refused(words)) => words,
        other => panic!("{other:?}"),
    }
}

fn label(club: &Club, id: DeviceId) -> String {
    club.register.device(id).map_or("a new one".to_owned(), |device| view::card(device).label())
}

/// What is worked on and why, a line each.
fn reasons(club: &Club, plan: &Plan) -> String {
    let line = |reason: &refits::planner::Reason| {
        let mark = if reason.wished { "wished" } else { "forced" };
        format!("{} {} ({mark}): {}", label(club, reason.device), reason.what, reason.why)
    };
    plan.reasons.iter().map(line).collect::<Vec<_>>().join("\n")
}

fn steps(plan: &Plan) -> Vec<&Step> {
    plan.nights.iter().flat_map(|night| &night.lines).map(|line| &line.step).collect()
}

/// Sorts of steps and the devices that they are done on.
fn doing(club: &Club, plan: &Plan, sorts: &[Sort]) -> Vec<String> {
    steps(plan)
        .iter()
        .filter(|step| sorts.contains(&step.sort))
        .map(|step| format!("{} {}", step.sort.word(), label(club, step.device)))
        .collect()
}

/// The devices on which anything is changed.
fn changed(club: &Club, plan: &Plan) -> Vec<String> {
    let mut all: Vec<String> = steps(plan)
        .iter()
        .flat_map(|step| &step.changes)
        .map(|change| label(club, change.device()))
        .collect();
    all.sort();
    all.dedup();
    all
}

fn to(device: DeviceId, version: &str) -> Wish {
    Wish::Version { end: main_of(device), version: version.to_owned() }
}

/// T1 and T2 share the receiver of A1; T2 flies A2 besides.
struct Shared {
    club: Club,
    t: [DeviceId; 2],
    a: [DeviceId; 2],
    r: [DeviceId; 2],
}

fn shared() -> Shared {
    let mut club = Club::new();
    let t1 = club.transmitter("T1", "Alder", "4.6", Some(secret(7)));
    let t2 = club.transmitter("T2", "Alder", "4.2", Some(secret(7)));
    let (a1, r1) = club.aircraft("1", "Alder", "4.2", Some(secret(7)), 1);
    let (a2, r2) = club.aircraft("2", "Alder", "4.2", Some(secret(7)), 2);
    club.memory(t1, a1, 1);
    club.memory(t2, a1, 1);
    club.memory(t2, a2, 2);
    Shared { club, t: [t1, t2], a: [a1, a2], r: [r1, r2] }
}

/// Makes a receiver one that can't take 5.0.
fn cannot_follow(club: &mut Club, receiver: DeviceId) {
    club.read(receiver, Part::Whole, vec![(Field::Model, text("tiny"))]);
}

#[test]
fn a_receiver_shared_by_two_transmitters_forces_a_chain() {
    let Shared { club, t, .. } = shared();
    let plan = planned(&club, &[to(t[0], "5.0")]);
    insta::assert_snapshot!(reasons(&club, &plan));
    assert_eq!(changed(&club, &plan), ["R1", "R2", "T1", "T2"]);
}

#[test]
fn a_device_that_cannot_follow_clashes_with_the_smallest_set_of_wishes() {
    let Shared { mut club, t, r, a } = shared();
    cannot_follow(&mut club, r[1]);
    let noise = [
        evenings(4, 200.0),
        Wish::Cover { aircraft: a[0], minutes: Minutes(3.0) },
        Wish::Fly { aircraft: a[0], after: 4 },
        Wish::AllPair,
    ];
    let mut wishes = noise.to_vec();
    wishes.insert(2, to(t[0], "5.0"));
    let found = clash(&club, &wishes);
    insta::assert_snapshot!(found.sentence());
    assert!(found.smallest);
    // Without it there is a plan.
    planned(&club, &noise);
}

#[test]
fn a_device_that_cannot_follow_may_be_let_go() {
    let Shared { mut club, t, r, a } = shared();
    cannot_follow(&mut club, r[1]);
    for transmitter in [None, Some(t[1])] {
        let plan = planned(&club, &[to(t[0], "5.0"), Wish::LetGo { aircraft: a[1], transmitter }]);
        assert_eq!(changed(&club, &plan), ["R1", "T1", "T2"]);
        let line = plan.crafts.iter().position(|line| line.craft.card.id == a[1]).unwrap();
        assert!(plan.crafts[line].before && !plan.nights.last().unwrap().flies[line]);
    }
    // Or the chain is cut before it: then T2 stays.
    let plan = planned(
        &club,
        &[
            to(t[0], "5.0"),
            Wish::Stay { device: t[1] },
            Wish::LetGo { aircraft: a[0], transmitter: Some(t[1]) },
        ],
    );
    assert_eq!(changed(&club, &plan), ["R1", "T1"]);
    let Shared { club, t, .. } = shared();
    let found = clash(&club, &[to(t[0], "5.0"), Wish::Stay { device: t[1] }]);
    assert_eq!(found.wishes, [0, 1]);
    assert!(found.why.contains("(T2 is left as it is)"), "{}", found.why);
}

#[test]
fn a_device_that_cannot_follow_may_be_replaced() {
    let Shared { mut club, t, r, a } = shared();
    cannot_follow(&mut club, r[1]);
    let bought = [to(t[0], "5.0"), Wish::Replace { receiver: r[1], by: None, cost: 30 }];
    let plan = planned(&club, &bought);
    assert_eq!(plan.cost, 30);
    assert_eq!(plan.replaced.len(), 1);
    insta::assert_snapshot!(reasons(&club, &plan));
    let swap = steps(&plan).into_iter().find(|step| step.sort == Sort::Swap).unwrap().clone();
    insta::assert_snapshot!(swap.text);
    // What can follow is not replaced.
    let plan = planned(
        &club,
        &[to(t[0], "5.0"), bought[1].clone(), Wish::Replace { receiver: r[0], by: None, cost: 30 }],
    );
    assert_eq!(plan.cost, 30);
    // A spare that holds an older release is flashed before it goes in.
    let spare = club.spare("R9", "Alder", "4.2", Some(secret(8)));
    let wishes = [to(t[0], "5.0"), Wish::Replace { receiver: r[1], by: Some(spare), cost: 0 }];
    let plan = planned(&club, &wishes);
    assert_eq!(plan.replaced, [(r[1], spare)]);
    let own: Vec<String> = steps(&plan)
        .iter()
        .filter(|step| step.what == a[1] && step.sort != Sort::RangeCheck)
        .map(|step| format!("{} {}", step.sort.word(), label(&club, step.device)))
        .collect();
    insta::assert_snapshot!(own.join("\n"));
    // One that holds it already is only fitted.
    club.end(spare, "Alder", "5.0", Some(secret(7)));
    let plan = planned(&club, &wishes);
    let own = doing(&club, &plan, &[Sort::Flash, Sort::Swap]);
    assert_eq!(own.iter().filter(|words| words.ends_with("R9")).collect::<Vec<_>>(), ["swap R9"]);
    // One in an aircraft is no spare.
    let taken = [to(t[0], "5.0"), Wish::Replace { receiver: r[1], by: Some(r[0]), cost: 0 }];
    assert_eq!(refused(&club, &taken), "R1 is in an aircraft already; name a spare that is on the shelf");
}

/// One transmitter and two aircraft of a family, all at one version.
fn even(family: &str, version: &str, mark: Option<&SecretMark>) -> (Club, DeviceId) {
    let mut club = Club::new();
    let t = club.transmitter("T1", family, version, mark.cloned());
    for id in 1..=2_u32 {
        let (craft, receiver) = club.aircraft(&id.to_string(), family, version, mark.cloned(), id);
        club.memory(t, craft, id);
        if family != "Alder" {
            club.pair(receiver, t);
        }
    }
    (club, t)
}

/// Common practice, no source: where a family's rule is the major version, a change within it
/// demands no other device's step, and one across it does; likewise for groups of versions.
#[test]
fn a_change_within_what_goes_together_demands_no_other_step() {
    let rows = [
        ("Alder", "4.2", "4.6", false),
        ("Alder", "3.5", "3.9", false),
        ("Alder", "3.9", "4.6", true),
        ("Alder", "4.6", "5.0", true),
        ("Birch", "1.8", "2.4", false),
        ("Birch", "2.9", "3.4", false),
        ("Birch", "2.4", "2.9", true),
        ("Birch", "2.9", "2.4", true),
        ("Cedar", "1", "2", false),
    ];
    for (family, from, version, others) in rows {
        let mark = (family != "Birch").then(|| secret(7));
        let (club, t) = even(family, from, mark.as_ref());
        let plan = planned(&club, &[to(t, version)]);
        let want: &[&str] = if others { &["R1", "R2", "T1"] } else { &["T1"] };
        assert_eq!(changed(&club, &plan), want, "{family} {from} to {version}");
        assert_eq!(plan.placed.len(), if others { 3 } else { 1 });
        // From the receiver's side as well.
        let receiver = club.fleet().receivers[0].card.id;
        let plan = planned(&club, &[to(receiver, version)]);
        let want: &[&str] = if others { &["R1", "R2", "T1"] } else { &["R1"] };
        assert_eq!(changed(&club, &plan), want, "{family} {from} to {version}, the receiver");
    }
}

fn new_secret(on: DeviceId, mark: SecretMark) -> Wish {
    Wish::Secret { on: Reach::Ends(vec![main_of(on)]), mark }
}

#[test]
fn a_new_secret_goes_to_all_partners() {
    let Shared { club, t, .. } = shared();
    let (few, alone) = even("Alder", "4.2", Some(&secret(7)));
    for (club, t, mark, want) in [
        (&club, t[0], secret(9), vec!["R1", "R2", "T1", "T2"]),
        (&few, alone, SecretMark::Blank, vec!["R1", "R2", "T1"]),
    ] {
        let plan = planned(club, &[new_secret(t, mark.clone())]);
        assert_eq!(changed(club, &plan), want);
        assert_eq!(doing(club, &plan, &[Sort::Flash]).len(), 0);
        assert_eq!(doing(club, &plan, &[Sort::Set]).len(), want.len());
        // Blank ends don't link before they are paired.
        let pairs = doing(club, &plan, &[Sort::Pair]).len();
        assert_eq!(pairs, if mark == SecretMark::Blank { 2 } else { 0 });
        // No plan tells a secret; what is cleared is said to be cleared.
        let words: String = steps(&plan).iter().map(|step| step.text.as_str()).collect();
        assert_eq!(words.contains("Clear the link secret"), mark == SecretMark::Blank);
    }
    // One receiver remembers one transmitter: blank, it can't link with both.
    let found = clash(&club, &[new_secret(t[0], SecretMark::Blank)]);
    insta::assert_snapshot!(found.sentence());
    // What holds it already is left alone.
    assert!(planned(&club, &[new_secret(t[0], secret(7))]).is_empty());
    // Blank ends of a family that doesn't let them pair.
    let strict = club::ALDER.replace("blank_allowed = true", "blank_allowed = false");
    let mut strict = Club::with(&[strict.as_str()]);
    let t = strict.transmitter("T1", "Alder", "4.2", Some(secret(7)));
    let (craft, _) = strict.aircraft("1", "Alder", "4.2", Some(secret(7)), 1);
    strict.memory(t, craft, 1);
    let found = clash(&strict, &[new_secret(t, SecretMark::Blank)]);
    insta::assert_snapshot!(found.sentence());
    // Two secrets for two ends that must go together.
    let Shared { club, t, .. } = shared();
    let found = clash(&club, &[new_secret(t[0], secret(9)), new_secret(t[1], secret(8))]);
    assert_eq!(found.wishes, [0, 1]);
    insta::assert_snapshot!(found.sentence());
}

#[test]
fn a_secret_known_only_as_the_same_as_another_follows_it() {
    let mut club = Club::new();
    let t = club.transmitter("T1", "Alder", "4.2", Some(secret(7)));
    let (a1, r1) = club.aircraft("1", "Alder", "4.2", Some(SecretMark::SameAs(main_of(t))), 1);
    let (a2, _) = club.aircraft("2", "Alder", "4.2", Some(SecretMark::SameAs(main_of(r1))), 2);
    club.memory(t, a1, 1);
    club.memory(t, a2, 2);
    let plan = planned(&club, &[new_secret(t, secret(9))]);
    // All three are typed anew: that one is the same as another says nothing after a change.
    let set = doing(&club, &plan, &[Sort::Set]);
    assert_eq!(set.len(), 3, "{set:?}");
    // The two receivers are worked on together.
    assert_eq!(plan.placed.len(), 2);
    // Until they follow, they don't link.
    let mut club = Club::new();
    let t = club.transmitter("T1", "Alder", "4.2", Some(secret(7)));
    let (craft, _) = club.aircraft("1", "Alder", "4.2", Some(SecretMark::SameAs(main_of(t))), 1);
    club.memory(t, craft, 1);
    let plan = planned(&club, &[new_secret(t, secret(9)), evenings(2, 17.0)]);
    let flies: Vec<&[bool]> = plan.nights.iter().map(|night| night.flies.as_slice()).collect();
    assert_eq!(flies, [[false], [true]]);
}

#[test]
fn what_is_not_known_is_asked_to_be_looked_at() {
    let Shared { mut club, t, r, .. } = shared();
    // Nobody wrote down what a receiver is.
    club.read(r[1], Part::Whole, vec![(Field::Model, Value::Unknown)]);
    let plan = planned(&club, &[to(t[0], "5.0")]);
    let looks: Vec<String> =
        plan.looks.iter().map(|look| format!("{} {}", look.text, look.supposes)).collect();
    insta::assert_snapshot!(looks.join("\n"));
    assert_eq!(plan.looks[0].minutes, Minutes(1.0));
    // Nor what a transmitter holds.
    let mut club = Club::new();
    let t = club.transmitter("T1", "Alder", "", Some(secret(7)));
    let plan = planned(&club, &[to(t, "4.6")]);
    let looks: Vec<String> =
        plan.looks.iter().map(|look| format!("{} {}", look.text, look.supposes)).collect();
    insta::assert_snapshot!(looks.join("\n"));
    let flash = steps(&plan).into_iter().find(|step| step.sort == Sort::Flash).unwrap();
    assert!(
        matches!(&flash.back, Back::None { why } if why == "nobody wrote down which firmware T1 held before")
    );
    assert_eq!(plan.no_way_back, ["nobody wrote down which firmware T1 held before"]);
}

#[test]
fn a_release_that_wants_another_first_takes_two_flashes() {
    let (club, t) = even("Alder", "3.5", Some(&secret(7)));
    let plan = planned(&club, &[to(t, "5.0")]);
    let flashes: Vec<&str> = steps(&plan)
        .iter()
        .filter(|step| step.sort == Sort::Flash && step.device == t)
        .map(|step| step.key.as_str())
        .collect();
    assert_eq!(flashes, [format!("flash:{t}/main:4.6#1"), format!("flash:{t}/main:5.0#1")]);
    assert_eq!(steps(&plan).iter().filter(|step| step.sort == Sort::Save && step.device == t).count(), 1);
    assert_eq!(steps(&plan).iter().filter(|step| step.sort == Sort::Flash).count(), 6);
}

#[test]
fn no_way_back_is_said_before_the_first_step() {
    let (club, t) = even("Cedar", "1", Some(&secret(7)));
    let plan = planned(&club, &[to(t, "2")]);
    insta::assert_snapshot!(plan.no_way_back.join("\n"));
    let night = &plan.nights[0];
    let at = night.lines.iter().position(|line| line.step.sort == Sort::Flash).unwrap();
    assert!(night.lines[..at].iter().all(|line| line.back.is_some()));
    assert!(night.lines[at..].iter().all(|line| line.back.is_none()));
    let (club, t) = even("Cedar", "2", Some(&secret(7)));
    let found = clash(&club, &[to(t, "1")]);
    insta::assert_snapshot!(found.sentence());
    // Where there is a way back, every step has its minutes.
    let (club, t) = even("Alder", "4.2", Some(&secret(7)));
    let plan = planned(&club, &[to(t, "5.0")]);
    assert!(plan.no_way_back.is_empty());
    let back: Vec<Minutes> =
        plan.nights.iter().flat_map(|night| &night.lines).map(|line| line.back.unwrap()).collect();
    assert!(back.windows(2).all(|pair| pair[0] <= pair[1]));
    assert!(*back.last().unwrap() > Minutes(12.0));
}

#[test]
fn what_is_lent_cannot_follow() {
    let Shared { mut club, t, .. } = shared();
    club.read(t[1], Part::Whole, vec![(Field::State, text("lent"))]);
    let found = clash(&club, &[to(t[0], "5.0")]);
    insta::assert_snapshot!(found.sentence());
    // A wish for the whole family leaves it out, where no link asks for it.
    let mut club = Club::new();
    let t = club.transmitter("T1", "Alder", "4.2", Some(secret(7)));
    let lent = club.transmitter("T2", "Alder", "4.2", Some(secret(7)));
    club.read(lent, Part::Whole, vec![(Field::State, text("lent"))]);
    let plan = planned(&club, &[Wish::Newest { family: "alder".to_owned() }]);
    assert_eq!(changed(&club, &plan), ["T1"]);
    let left_out: Vec<String> =
        plan.left_out.iter().map(|one| format!("{} {}", one.device.label(), one.why)).collect();
    assert_eq!(left_out, ["T2 is lent"]);
    assert_ne!(t, lent);
}

#[test]
fn every_receiver_of_an_aircraft_follows() {
    let (mut club, t) = even("Alder", "4.2", Some(&secret(7)));
    let craft = club.fleet().aircraft[0].card.id;
    let second = club.further_receiver("R1b", craft, "Alder", "4.2", Some(secret(7)));
    club.read(second, Part::End(Part::MAIN.to_owned()), vec![(Field::ModelId, Value::Number(1))]);
    let plan = planned(&club, &[to(t, "5.0")]);
    assert_eq!(changed(&club, &plan), ["R1", "R1b", "R2", "T1"]);
    // Both in one evening, tested once.
    assert_eq!(plan.placed.len(), 3);
    let tests = steps(&plan).iter().filter(|step| step.sort == Sort::Test && step.what == craft).count();
    assert_eq!(tests, 1);
    // One of them can't: the aircraft can't.
    cannot_follow(&mut club, second);
    let found = clash(&club, &[to(t, "5.0")]);
    assert!(found.why.contains("R1b is of the type tiny, which can't take 5.0"), "{}", found.why);
}

#[test]
fn a_transmitter_with_two_ends_changes_one() {
    let mut club = Club::new();
    let t = club.transmitter("T1", "Alder", "4.2", Some(secret(7)));
    let further = EndRef { device: t, end: "module".to_owned() };
    club.read(
        t,
        Part::End("module".to_owned()),
        vec![(Field::Family, text("Birch")), (Field::Band, text("2.4 GHz")), (Field::Firmware, text("1.8"))],
    );
    let (a1, _) = club.aircraft("1", "Alder", "4.2", Some(secret(7)), 1);
    club.memory(t, a1, 1);
    let (a2, r2) = club.aircraft("2", "Birch", "1.8", None, 2);
    club.read(
        t,
        Part::Memory("m2".to_owned()),
        vec![
            (Field::Aircraft, Value::Device(a2)),
            (Field::ModelId, Value::Number(2)),
            (Field::End, text("module")),
        ],
    );
    club.fold(r2, register::entry::Body::Paired { end: Part::MAIN.to_owned(), transmitter: further.clone() });
    let fleet = club.fleet();
    let scene = Scene::new(&club.register);
    for receiver in &fleet.receivers {
        let link = fleet.link(&scene, t, receiver.card.id).unwrap();
        assert_eq!(link.verdict(), Verdict::Links, "{}", receiver.card.label());
    }
    let plan = planned(&club, &[Wish::Version { end: further.clone(), version: "2.9".to_owned() }]);
    assert_eq!(changed(&club, &plan), ["R2", "T1"]);
    assert!(steps(&plan).iter().any(|step| step.text.starts_with("Flash T1 (module) from 1.8 to 2.9")));
    let plan = planned(&club, &[to(t, "5.0")]);
    assert_eq!(changed(&club, &plan), ["R1", "T1"]);
    let plan = planned(&club, &[to(t, "5.0"), Wish::Version { end: further, version: "2.9".to_owned() }]);
    assert_eq!(changed(&club, &plan), ["R1", "R2", "T1"]);
    assert_eq!(plan.placed.iter().find(|one| one.what == t).unwrap().ends.len(), 2);
    let wrong = Wish::Version { end: EndRef { device: t, end: "third".to_owned() }, version: "1".to_owned() };
    insta::assert_snapshot!(refused(&club, &[wrong]));
}

/// The owner's transmitter and the trainer's: an aircraft that needs both can't fly with one.
#[test]
fn an_aircraft_may_need_two_transmitters() {
    let Shared { club, t, a, .. } = shared();
    let need = Wish::Need { aircraft: a[0], transmitters: vec![t[0], t[1]] };
    let plan = planned(&club, &[to(t[0], "5.0"), need.clone(), evenings(4, 60.0)]);
    let line = plan.crafts.iter().find(|line| line.craft.card.id == a[0]).unwrap();
    assert_eq!(line.craft.needs, t);
    // Letting one go doesn't help against a need.
    let found = clash(
        &club,
        &[
            to(t[0], "5.0"),
            need,
            Wish::Stay { device: t[1] },
            Wish::LetGo { aircraft: a[0], transmitter: Some(t[1]) },
        ],
    );
    assert!(found.wishes.contains(&1), "{found:?}");
}

#[test]
fn aircraft_that_must_fly_do() {
    let (club, t) = even("Alder", "4.2", Some(&secret(7)));
    let crafts: Vec<DeviceId> = club.fleet().aircraft.iter().map(|one| one.card.id).collect();
    // Transmitter 5+3+12; each aircraft 3+6, test and range check 8: all of it in one evening.
    for (craft, evening) in crafts.iter().flat_map(|craft| [1, 2, 3].map(|evening| (*craft, evening))) {
        let wishes = [to(t, "5.0"), evenings(3, 60.0), Wish::Fly { aircraft: craft, after: evening }];
        let plan = planned(&club, &wishes);
        let at = plan.crafts.iter().position(|line| line.craft.card.id == craft).unwrap();
        let night = plan.nights.iter().rfind(|night| night.number <= evening);
        assert!(night.map_or(plan.crafts[at].before, |night| night.flies[at]));
    }
    let every: Vec<Wish> = [to(t, "5.0"), evenings(3, 40.0)]
        .into_iter()
        .chain(crafts.iter().flat_map(|craft| [1, 2, 3].map(|after| Wish::Fly { aircraft: *craft, after })))
        .collect();
    // In forty minutes only one of them can follow at once.
    let found = clash(&club, &every);
    insta::assert_snapshot!(found.sentence());
    let longer: Vec<Wish> = every
        .iter()
        .map(|wish| if matches!(wish, Wish::Evenings { .. }) { evenings(3, 60.0) } else { wish.clone() })
        .collect();
    let plan = planned(&club, &longer);
    assert!(plan.nights.iter().all(|night| night.flies.iter().all(|flies| *flies)));
}

#[test]
fn at_most_so_many_are_grounded() {
    let (club, t) = even("Alder", "4.2", Some(&secret(7)));
    let wishes = |most, minutes| [to(t, "5.0"), evenings(4, minutes), Wish::Grounded { most }];
    let grounded = |plan: &Plan| {
        plan.nights.iter().map(|night| night.flies.iter().filter(|flies| !**flies).count()).max().unwrap()
    };
    assert_eq!(grounded(&planned(&club, &wishes(1, 40.0))), 1);
    assert_eq!(grounded(&planned(&club, &wishes(0, 60.0))), 0);
    let found = clash(&club, &wishes(0, 40.0));
    insta::assert_snapshot!(found.sentence());
}

#[test]
fn too_little_time_is_said_in_words() {
    let (club, t) = even("Birch", "1.8", None);
    for (minutes, count) in [(15.0, 4), (40.0, 1), (0.0, 0)] {
        let found = clash(&club, &[to(t, "2.9"), evenings(count, minutes)]);
        println!("{}", found.sentence());
        assert!(!found.why.is_empty());
    }
    let found = clash(&club, &[to(t, "2.9"), evenings(0, 0.0)]);
    assert!(found.sentence().contains("No evening is left."), "{}", found.sentence());
}

#[test]
fn a_wish_for_what_is_not_there_is_refused() {
    let bare = club::ALDER.split("[[release]]").next().unwrap().to_owned();
    let mut club = Club::with(&[bare.as_str()]);
    let t = club.transmitter("T1", "Alder", "4.2", Some(secret(7)));
    let newest = |family: &str| Wish::Newest { family: family.to_owned() };
    insta::assert_snapshot!(refused(&club, &[newest("Alder")]));
    insta::assert_snapshot!(refused(&club, &[newest("Dogwood")]));
    // Without a list every version may be wished.
    planned(&club, &[to(t, "7.7")]);
    let (club, t) = even("Alder", "4.2", Some(&secret(7)));
    insta::assert_snapshot!(refused(&club, &[to(t, "6.1")]));
    let nobody = DeviceId(12345);
    insta::assert_snapshot!(refused(&club, &[to(nobody, "4.6")]));
    let (club, t) = even("Birch", "1.8", None);
    insta::assert_snapshot!(refused(&club, &[new_secret(t, secret(9))]));
}

#[test]
fn the_newest_of_a_family_leaves_nothing_behind() {
    let Shared { mut club, r, .. } = shared();
    let loose = club.spare("R9", "Alder", "3.5", Some(secret(7)));
    let plan = planned(&club, &[Wish::Newest { family: "Alder".to_owned() }]);
    assert_eq!(changed(&club, &plan), ["R1", "R2", "R9", "T1", "T2"]);
    let mut scene = Scene::new(&club.register);
    for change in steps(&plan).iter().flat_map(|step| &step.changes) {
        scene.apply(change, NOW);
    }
    let fleet = Fleet::of(&scene);
    for id in r.into_iter().chain([loose]) {
        assert_eq!(fleet.receiver(id).unwrap().ends[0].firmware.one().unwrap(), "5.0");
    }
    // A version for one end prevails over the wish for the family.
    let found = clash(&club, &[Wish::Newest { family: "Alder".to_owned() }, to(r[0], "4.6")]);
    assert_eq!(found.wishes, [0, 1]);
    assert_eq!(club.register.device(loose).unwrap().sort, Some(DeviceSort::Receiver));
}
