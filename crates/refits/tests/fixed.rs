//! What once went wrong: each of these stood in a plan's way, or let a wrong one through.
#![expect(clippy::unwrap_used, reason = "tests")]

mod club;
mod replay;

use club::{ALDER, BIRCH, Club, NOW, evenings, main_of, secret, text};
use refits::ask::Question;
use refits::planner::{NoPlan, Plan, Planner};
use refits::tables::{self, Options};
use refits::world::{Mask, Trouble, World, bought_in_place_of};
use register::field::{Field, Part};
use register::id::DeviceId;
use register::refit::{Kept, Reach, Wish};
use register::scene::{Change, Scene};
use register::value::{SecretMark, Value};
use units::Minutes;

/// A club with one transmitter and so many aircraft of it, that link.
fn even(club: &mut Club, crafts: u32) -> (DeviceId, Vec<DeviceId>, Vec<DeviceId>) {
    let t = club.transmitter("T1", "Alder", "4.2", Some(secret(7)));
    let (mut aircraft, mut receivers) = (Vec::new(), Vec::new());
    for id in 1..=crafts {
        let (a, r) = club.aircraft(&id.to_string(), "Alder", "4.2", Some(secret(7)), id % 49);
        club.memory(t, a, id % 49);
        aircraft.push(a);
        receivers.push(r);
    }
    (t, aircraft, receivers)
}

fn to(device: DeviceId, version: &str) -> Wish {
    Wish::Version { end: main_of(device), version: version.to_owned() }
}

fn planned(club: &Club, question: &Question) -> Plan {
    match replay::plan(club, question) {
        Ok(plan) => {
            replay::replay(club, &plan);
            plan
        }
        Err(why) => panic!("{why}"),
    }
}

fn wish(club: &Club, wishes: &[Wish]) -> Plan {
    planned(club, &Question::new(wishes.to_vec()))
}

fn refused(club: &Club, wishes: &[Wish]) -> String {
    match replay::plan(club, &Question::new(wishes.to_vec())) {
        Err(NoPlan::Refused(words)) => words,
        other => panic!("{other:?}"),
    }
}

fn clash(club: &Club, wishes: &[Wish]) -> String {
    match replay::plan(club, &Question::new(wishes.to_vec())) {
        Err(NoPlan::Clash(clash)) => clash.sentence(),
        other => panic!("{other:?}"),
    }
}

fn changed(plan: &Plan) -> Vec<DeviceId> {
    plan.reasons.iter().map(|reason| reason.device).collect()
}

fn state(club: &mut Club, device: DeviceId, word: &str) {
    club.read(device, Part::Whole, vec![(Field::State, text(word))]);
}

fn tiny(club: &mut Club, receiver: DeviceId) {
    club.read(receiver, Part::Whole, vec![(Field::Model, text("tiny"))]);
}

/// Builds the world of wishes, with these of them.
fn build<T>(club: &Club, wishes: &[Wish], on: &[bool], look: impl Fn(Result<&World, &Trouble>) -> T) -> T {
    let question = Question::new(wishes.to_vec());
    let fleet = club.fleet();
    let mask = Mask { wishes: on.to_vec(), links: true };
    look(World::build(&club.register, &fleet, &question, &mask, &[], NOW).as_ref())
}

#[test]
fn a_link_that_was_made_since_the_refit_began_is_kept() {
    let mut club = Club::new();
    let (t, a, r) = even(&mut club, 2);
    let mut question = Question::new(vec![to(t, "5.0")]);
    question.links = Some(vec![Kept { transmitter: t, aircraft: a[0] }]);
    let all = changed(&planned(&club, &question));
    assert!(all.contains(&r[0]) && all.contains(&r[1]), "{all:?}");
    // Not when it may be let go.
    question.wishes.push(Wish::LetGo { aircraft: a[1], transmitter: None });
    let all = changed(&planned(&club, &question));
    assert!(all.contains(&r[0]) && !all.contains(&r[1]), "{all:?}");
}

#[test]
fn a_link_that_only_came_to_hold_half_way_is_not_kept() {
    let mut club = Club::new();
    let (t, a, r) = even(&mut club, 1);
    let other = club.transmitter("T2", "Alder", "5.0", Some(secret(7)));
    club.memory(other, a[0], 1);
    let mut question = Question::new(vec![to(t, "4.6"), to(r[0], "4.6")]);
    question.links = Some(vec![Kept { transmitter: t, aircraft: a[0] }]);
    question.done.tick(&format!("flash:{}/main:5.0#1", r[0]));
    club.carry_out(&[Change::Flash {
        end: main_of(r[0]),
        version: "5.0".to_owned(),
        route: "page".to_owned(),
    }]);
    let all = changed(&planned(&club, &question));
    assert!(!all.contains(&other), "{all:?}");
}

#[test]
fn a_spare_takes_one_place() {
    let mut club = Club::new();
    let (t, _, r) = even(&mut club, 2);
    let spare = club.spare("R26", "Alder", "5.0", Some(secret(7)));
    let replace = |receiver| Wish::Replace { receiver, by: Some(spare), cost: 0 };
    let words = refused(&club, &[to(t, "5.0"), replace(r[0]), replace(r[1])]);
    assert_eq!(words, "R26 can take the place of one receiver only");
    for word in ["lent", "crashed", "sold"] {
        let mut club = club.copy();
        state(&mut club, spare, word);
        assert!(refused(&club, &[to(t, "5.0"), replace(r[0])]).starts_with("R26 "), "{word}");
    }
}

#[test]
fn what_is_bought_has_an_id_of_its_own() {
    let mut club = Club::new();
    let (_, _, r) = even(&mut club, 1);
    let first = bought_in_place_of(&club.register, r[0]);
    // What is bought in its place is not the receiver itself.
    let second = bought_in_place_of(&club.register, first);
    assert!(first != r[0] && second != r[0] && second != first);
    club.fold(first, register::entry::Body::Device { sort: register::field::Sort::Receiver });
    assert_eq!(bought_in_place_of(&club.register, r[0]), second);
}

#[test]
fn what_is_lent_or_crashed_stays_and_does_not_fly() {
    for (word, says) in [("lent", "is in A1, which is lent"), ("crashed", "is in A1, which has crashed")] {
        let mut club = Club::new();
        let (t, a, _) = even(&mut club, 2);
        state(&mut club, a[0], word);
        let sentence = clash(&club, &[to(t, "5.0")]);
        assert!(sentence.contains(says), "{sentence}");
        build(&club, &[to(t, "4.6")], &[true], |world| {
            let world = world.unwrap();
            let scene = Scene::new(&club.register);
            let flies: Vec<bool> = world.crafts.iter().map(|craft| world.flies(&scene, craft)).collect();
            assert_eq!(flies, [false, true]);
            assert_eq!(world.crafts.iter().map(|craft| craft.flew).collect::<Vec<_>>(), [false, true]);
        });
        let mut club = Club::new();
        let (t, _, _) = even(&mut club, 1);
        state(&mut club, t, word);
        build(&club, &[], &[], |world| {
            let world = world.unwrap();
            assert!(!world.links(&Scene::new(&club.register), t, &world.crafts[0]));
        });
    }
}

#[test]
fn wishes_of_what_cannot_fly_are_answered() {
    let mut club = Club::new();
    let (t, a, r) = even(&mut club, 2);
    let fly = |aircraft, after| Wish::Fly { aircraft, after };
    // It flies as it is, and nothing is done on it.
    assert!(wish(&club, &[fly(a[0], 0), fly(a[1], 2)]).is_empty());
    club.read(r[1], Part::End(Part::MAIN.to_owned()), vec![(Field::Firmware, text("3.9"))]);
    let sentence = clash(&club, &[fly(a[1], 1)]);
    assert!(sentence.contains("A2 can't fly as things stand"), "{sentence}");
    let empty = club.device(register::field::Sort::Aircraft, "A9");
    let gone = DeviceId(12345);
    let need = |aircraft, transmitters| Wish::Need { aircraft, transmitters };
    for wishes in [
        need(a[0], vec![gone]),
        need(a[0], vec![r[0]]),
        need(empty, vec![t]),
        Wish::Cover { aircraft: empty, minutes: Minutes(3.0) },
        Wish::LetGo { aircraft: empty, transmitter: None },
        fly(empty, 1),
        fly(gone, 1),
    ] {
        assert!(!refused(&club, &[wishes]).is_empty());
    }
}

#[test]
fn what_is_not_known_of_a_transmitter_that_changes_is_to_be_looked_at() {
    let mut club = Club::new();
    let (t, _, _) = even(&mut club, 1);
    let (a, _) = club.aircraft("2", "Alder", "", Some(secret(7)), 2);
    club.memory(t, a, 2);
    let plan = wish(&club, &[to(t, "5.0")]);
    let look = plan.looks.iter().find(|look| look.supposes.contains("may break")).unwrap();
    assert!(look.text.contains("R2") && look.supposes.contains("A2"), "{look:?}");
}

#[test]
fn many_aircraft_that_share_a_secret_are_no_overflow() {
    let mut club = Club::new();
    let (t, _, r) = even(&mut club, 70);
    for other in &r[1..] {
        let mark = Value::Secret(SecretMark::SameAs(main_of(r[0])));
        club.read(*other, Part::End(Part::MAIN.to_owned()), vec![(Field::Secret, mark)]);
    }
    // All of them get one of their own, so that none leans on another any more.
    let new = Wish::Secret { on: Reach::Family("Alder".to_owned()), mark: secret(9) };
    build(&club, std::slice::from_ref(&new), &[true], |world| {
        assert!(world.unwrap().items.iter().all(|group| group.crafts.len() == 1));
    });
    // Where only firmware changes they stay tied together.
    build(&club, &[to(t, "5.0")], &[true], |world| {
        let Err(Trouble::Clash(words)) = world else { panic!("no clash") };
        assert!(words.contains("70 aircraft") && words.contains("Type the link secret"), "{words}");
    });
}

#[test]
fn a_permission_is_never_in_the_way() {
    let mut club = Club::new();
    let t = club.transmitter("T1", "Alder", "5.0", Some(secret(7)));
    let (a, r) = club.aircraft("1", "Alder", "4.2", Some(secret(7)), 1);
    club.memory(t, a, 1);
    tiny(&mut club, r);
    let spare = club.spare("R26", "Birch", "2.4", None);
    let replace = Wish::Replace { receiver: r, by: Some(spare), cost: 0 };
    let plan = wish(&club, &[Wish::AllPair, replace]);
    assert!(plan.proven && plan.replaced.is_empty());
    assert_eq!(changed(&plan), [t]);
}

#[test]
fn a_choice_counts_what_a_flash_wipes_and_the_cover() {
    // Writing the receiver takes 9 minutes and the transmitter 12, but then the wing is open and
    // the receiver is to be paired again.
    let mut club = Club::with(&[&BIRCH.replace("minutes = 8", "minutes = 12")]);
    let t = club.transmitter("T1", "Birch", "2.4", None);
    let (a, r) = club.aircraft("1", "Birch", "2.9", None, 1);
    club.memory(t, a, 1);
    club.pair(r, t);
    build(&club, &[Wish::AllPair], &[true], |world| {
        let world = world.unwrap();
        assert_eq!(world.targets.keys().collect::<Vec<_>>(), [&t]);
        // Of releases that take as long the newest.
        assert_eq!(world.targets[&t][0].versions.last().unwrap(), "3.4");
    });
}

#[test]
fn a_plan_says_when_there_are_more_ways_than_it_looked_into() {
    let more = ["1.0", "2.0", "6.0", "7.0"].map(|version| format!("[[release]]\nversion = \"{version}\"\n"));
    let mut club = Club::with(&[&format!("{ALDER}{}", more.concat())]);
    let t = club.transmitter("T1", "Alder", "4.2", Some(secret(7)));
    let (a, _) = club.aircraft("1", "Alder", "3.9", Some(secret(7)), 1);
    club.memory(t, a, 1);
    let plan = wish(&club, &[Wish::AllPair]);
    assert!(
        !plan.proven && plan.proof().starts_with("The best of the ways that were looked into"),
        "{}",
        plan.proof()
    );
    // With two ways it is proven.
    let mut club = Club::new();
    let (_, _, r) = even(&mut club, 1);
    club.read(r[0], Part::End(Part::MAIN.to_owned()), vec![(Field::Firmware, text("3.9"))]);
    let plan = wish(&club, &[Wish::AllPair]);
    assert!(plan.proven && plan.proof().starts_with("Proven"), "{}", plan.proof());
}

#[test]
fn ways_that_were_not_looked_into_have_a_bound() {
    let mut club = Club::new();
    let (_, _, r) = even(&mut club, 3);
    club.read(r[0], Part::End(Part::MAIN.to_owned()), vec![(Field::Firmware, text("3.9"))]);
    let question = Question::new(vec![Wish::AllPair]);
    let fleet = club.fleet();
    let mut planner = Planner::new(&club.register, &fleet, &question, NOW).unwrap();
    let mut last = 0;
    while !planner.run(100).finished {
        let bound = planner.run(1).bound.minutes;
        assert!(bound >= last, "a bound never falls");
        last = bound;
    }
    let progress = planner.run(1);
    assert_eq!(progress.best, Some(progress.bound));
}

#[test]
fn a_wish_left_out_of_a_conflict_asks_for_nothing_more() {
    let mut club = Club::new();
    let t = club.transmitter("T1", "Alder", "4.2", Some(secret(7)));
    let wishes = [to(t, "4.6"), Wish::Newest { family: "Alder".to_owned() }];
    let comes_to = |on: &[bool]| {
        build(&club, &wishes, on, |world| {
            let target = world.unwrap().targets.get(&t).map(|targets| targets[0].versions.clone());
            target.unwrap_or_default().last().cloned()
        })
    };
    assert_eq!(comes_to(&[true, true]).as_deref(), Some("4.6"));
    // What is said of this very end alone holds it out of the wish for its whole family.
    assert_eq!(comes_to(&[false, true]), None);
}

#[test]
fn a_spare_that_cannot_take_the_newest_is_left_out() {
    let mut club = Club::new();
    let (t, _, r) = even(&mut club, 1);
    let spare = club.spare("R26", "Alder", "4.2", Some(secret(7)));
    tiny(&mut club, spare);
    let newest = [Wish::Newest { family: "Alder".to_owned() }];
    let plan = wish(&club, &newest);
    let all = changed(&plan);
    assert!(all.contains(&t) && all.contains(&r[0]) && !all.contains(&spare));
    let left_out: Vec<String> =
        plan.left_out.iter().map(|one| format!("{} {}", one.device.label(), one.why)).collect();
    assert_eq!(left_out, ["R26 can't take 5.0: its type is tiny"]);
    // In an aircraft it is in the way.
    tiny(&mut club, r[0]);
    assert!(clash(&club, &newest).contains("R1 is of the type tiny, which can't take 5.0"));
}

#[test]
fn a_secret_known_only_as_another_ones_is_to_be_typed() {
    let mut club = Club::new();
    let (t, _, _) = even(&mut club, 1);
    let other = club.transmitter("T2", "Alder", "4.2", None);
    let mark = SecretMark::SameAs(main_of(other));
    let sentence = clash(&club, &[Wish::Secret { on: Reach::Ends(vec![main_of(t)]), mark }]);
    assert!(sentence.contains("type the link secret once"), "{sentence}");
}

#[test]
fn sentences_fit_what_they_say() {
    let mut club = Club::new();
    let (t, a, r) = even(&mut club, 1);
    let plan = wish(&club, &[to(t, "5.0"), evenings(1, 200.0)]);
    let sentence = plan.sentence();
    assert!(sentence.starts_with("One transmitter and one aircraft in one evening, "), "{sentence}");
    assert!(sentence.ends_with("; aircraft are grounded only while it lasts."), "{sentence}");
    let spare = club.spare("R26", "Alder", "4.2", Some(secret(7)));
    let plan = wish(&club, &[to(t, "5.0"), to(spare, "5.0"), evenings(1, 200.0)]);
    assert!(
        plan.sentence().starts_with("One transmitter, one aircraft and one spare in one "),
        "{}",
        plan.sentence()
    );
    let sentence = clash(&club, &[to(r[0], "5.0"), evenings(3, 5.0)]);
    assert!(sentence.contains("can't be met together: R1 holds 5.0; 3 evenings of 5 min"), "{sentence}");
    // A link that is needed can't be let go.
    let need = Wish::Need { aircraft: a[0], transmitters: vec![t] };
    let sentence = clash(&club, &[need, Wish::LetGo { aircraft: a[0], transmitter: Some(t) }]);
    assert!(sentence.contains("is let go"), "{sentence}");
}

#[test]
fn minutes_are_summed_as_the_steps_say_them() {
    let mut club = Club::with(&[&ALDER.replace("minutes = 12", "minutes = 12.124")]);
    let t = club.transmitter("T1", "Alder", "3.9", Some(secret(7)));
    let wishes = [to(t, "5.0")];
    let plan = wish(&club, &wishes);
    let steps = plan.nights.iter().flat_map(|night| &night.lines).map(|line| &line.step);
    let steps: Vec<i64> =
        steps.filter(|step| step.device == t).map(|step| step.minutes.hundredths()).collect();
    assert_eq!(steps.iter().filter(|minutes| **minutes == 1212).count(), 2);
    build(&club, &wishes, &[true], |world| {
        let world = world.unwrap();
        let problem = tables::problem(world, &Options::of(world));
        assert_eq!(problem.pivots[0].options[0].minutes, steps.iter().sum::<i64>());
    });
}
