//! Refits under way: ticked off step by step, put off, given up, planned anew, and merged from two
//! people's logbooks.
#![expect(clippy::unwrap_used, reason = "tests")]

mod club;
mod draw;
mod drawn;
mod replay;

use std::collections::{BTreeMap, BTreeSet};

use club::{Club, NOW, evenings, main_of, secret};
use draw::Draw;
use drawn::drawn;
use refits::ask::Question;
use refits::follow::{self, NoStep, Standing, code};
use refits::layout::Line;
use refits::planner::{NoPlan, Plan};
use refits::step::{Sort, Step};
use register::field::{Field, Part};
use register::fleet::Fleet;
use register::id::{DeviceId, EntryId};
use register::refit::{Ending, Event, Reach, Wish};
use register::rule::Verdict;
use register::scene::{Change, Scene};
use register::value::Value;
use register::view;
use replay::{plan, replay};
use units::Minutes;

/// A step as it stands in a list: evening, key, code, words, minutes.
type Row = (u32, String, String, String, i64);

fn row(evening: u32, line: &Line) -> Row {
    let step = &line.step;
    (evening, step.key.clone(), code(&step.key), step.text.clone(), step.minutes.hundredths())
}

fn rows(plan: &Plan) -> Vec<Row> {
    let nights = plan.nights.iter();
    nights.flat_map(|night| night.lines.iter().map(|line| row(night.number, line))).collect()
}

fn steps(plan: &Plan) -> Vec<(u32, Step)> {
    let nights = plan.nights.iter();
    nights.flat_map(|night| night.lines.iter().map(|line| (night.number, line.step.clone()))).collect()
}

fn left(standing: &Standing) -> Vec<Row> {
    standing.lines().map(|(evening, line)| row(evening, line)).collect()
}

fn keys(rows: &[Row]) -> Vec<&str> {
    rows.iter().map(|(_, key, ..)| key.as_str()).collect()
}

fn standing(club: &Club, refit: EntryId) -> Standing {
    follow::standing(&club.register, &club.fleet(), &club.log(refit), NOW)
}

/// Does a step: what it changes is recorded, then it is ticked.
fn tick(club: &mut Club, refit: EntryId, evening: u32, step: &Step) {
    club.carry_out(&step.changes);
    let event = Event::Ticked { step: step.key.clone(), text: step.text.clone(), evening };
    club.event(refit, event);
}

/// Ticks the first step that is left whose key begins with these words.
fn tick_next(club: &mut Club, refit: EntryId, words: &str) -> String {
    let standing = standing(club, refit);
    let (evening, line) = standing
        .lines()
        .find(|(_, line)| line.step.key.starts_with(words))
        .unwrap_or_else(|| panic!("no step {words} among {:#?}", keys(&left(&standing))));
    let step = line.step.clone();
    tick(club, refit, evening, &step);
    step.key
}

fn replan(club: &Club, refit: EntryId, from: Option<u32>, left: Option<Minutes>) -> Result<Plan, NoPlan> {
    plan(club, &follow::question(&club.register, &club.log(refit), from, left))
}

/// Ticks all of a plan off in order; after every tick exactly the rest is left.
fn tick_all(club: &mut Club, refit: EntryId, plan: &Plan, done_before: usize, name: &str) {
    let all = rows(plan);
    let doing = steps(plan);
    for (at, (evening, step)) in doing.iter().enumerate() {
        tick(club, refit, *evening, step);
        let standing = standing(club, refit);
        let want = &all[at + 1..];
        let got = left(&standing);
        assert_eq!(keys(&got), keys(want), "{name}, after {}", step.key);
        assert_eq!(got, want, "{name}, after {}", step.key);
        assert!(standing.stale.is_empty(), "{name}: {:?}", standing.stale);
        assert_eq!(standing.done.len(), done_before + at + 1, "{name}");
        assert_eq!(standing.done.last().unwrap().key, step.key);
        if want.is_empty() {
            assert!(standing.finished(), "{name}");
            assert_eq!(standing.sentence(), "All steps of Spring are done.");
        } else {
            let rest = if want.len() == 1 { "one step".to_owned() } else { format!("{} steps", want.len()) };
            let next = want[0].0;
            let minutes: i64 = want.iter().filter(|row| row.0 == next).map(|row| row.4).sum();
            assert_eq!(
                standing.sentence(),
                format!(
                    "{} of {} are done, {rest} left; evening {next} has {}.",
                    done_before + at + 1,
                    done_before + all.len(),
                    minutes_of(minutes)
                ),
                "{name}"
            );
        }
    }
}

#[expect(clippy::cast_precision_loss, reason = "minutes of some evenings")]
fn minutes_of(hundredths: i64) -> Minutes {
    Minutes(hundredths as f64 / 100.0)
}

/// The plans of drawn clubs that have anything to do, begun.
fn begun(numbers: std::ops::Range<u64>) -> impl Iterator<Item = (u64, Club, EntryId, Plan)> {
    numbers.filter_map(|number| {
        let (mut club, question) = drawn(number);
        let plan = plan(&club, &question).ok().filter(|plan| !plan.is_empty())?;
        let refit = club.begin(question.wishes.clone(), &plan);
        Some((number, club, refit, plan))
    })
}

#[test]
fn after_every_tick_exactly_the_rest_is_left() {
    let mut ticked = 0;
    for (number, mut club, refit, plan) in begun(1000..1120) {
        let name = format!("fleet {number}");
        assert_eq!(left(&standing(&club, refit)), rows(&plan), "{name}");
        tick_all(&mut club, refit, &plan, 0, &name);
        ticked += rows(&plan).len();
    }
    assert!(ticked > 300, "{ticked}");
}

/// What a step repeats of what the register already holds.
fn repeats(scene: &Scene, change: &Change) -> Option<String> {
    let device = scene.device(change.device())?;
    let is_receiver = device.sort == Some(register::field::Sort::Receiver);
    let ends =
        if is_receiver { view::receiver(scene, device).ends } else { view::transmitter(scene, device).ends };
    let end = |key: &str| ends.iter().find(|view| view.end.end == key);
    match change {
        Change::Flash { end: at, version, .. } => {
            (end(&at.end)?.firmware.one() == Some(version)).then(|| format!("flashed to {version} already"))
        }
        Change::Set { part: Part::End(key), field: Field::Secret, value: Value::Secret(mark), .. } => {
            (end(key)?.secret.one() == Some(mark)).then(|| "holds the link secret already".to_owned())
        }
        Change::Pair { receiver, transmitter } => {
            let known = &end(&receiver.end)?.partners.known;
            known.iter().any(|(have, _)| have == transmitter).then(|| "is paired already".to_owned())
        }
        _ => None,
    }
}

/// No step that was ticked comes again, and nothing that the register holds is done once more.
fn repeats_nothing(club: &Club, refit: EntryId, plan: &Plan, name: &str) {
    let ticked: BTreeSet<String> = club
        .log(refit)
        .events
        .iter()
        .filter_map(|mark| match &mark.what {
            Event::Ticked { step, .. } => Some(step.clone()),
            _ => None,
        })
        .collect();
    let mut scene = Scene::new(&club.register);
    for (_, step) in steps(plan) {
        assert!(!ticked.contains(&step.key), "{name}: {} comes again", step.key);
        for change in &step.changes {
            if let Some(words) = repeats(&scene, change) {
                panic!("{name}: {}: {words}", step.key);
            }
            scene.apply(change, NOW);
        }
    }
}

/// Every link that the plan was to keep holds in the end.
fn keeps_links(club: &Club, plan: &Plan, links: &[register::refit::Kept], name: &str) {
    let mut scene = Scene::new(&club.register);
    for (_, step) in steps(plan) {
        for change in &step.changes {
            scene.apply(change, NOW);
        }
    }
    let fleet = Fleet::of(&scene);
    for kept in links {
        let receivers: Vec<DeviceId> = fleet.fitted_in(kept.aircraft).map(|view| view.card.id).collect();
        assert!(!receivers.is_empty(), "{name}");
        for receiver in receivers {
            let link = fleet.link(&scene, kept.transmitter, receiver).unwrap();
            assert_eq!(link.verdict(), Verdict::Links, "{name}");
        }
    }
}

#[test]
fn a_plan_made_anew_half_way_repeats_nothing() {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for (number, mut club, refit, first) in begun(2000..2160) {
        let mut draw = Draw::new(number);
        let name = format!("fleet {number}");
        let all = steps(&first);
        let ticks = draw.whole(1, all.len() + 1);
        for (evening, step) in &all[..ticks] {
            tick(&mut club, refit, *evening, step);
        }
        let spent: i64 = all[..ticks].iter().map(|(_, step)| step.minutes.hundredths()).sum();
        // Mid-evening with just the minutes that the first plan had left of it, or from the next.
        let (evening, _) = all.get(ticks).unwrap_or(&all[ticks - 1]);
        let tonight = draw.ratio() < 0.5;
        let (from, room) = if tonight {
            let night = first.nights.iter().find(|night| night.number == *evening).unwrap();
            let spent: i64 = all[..ticks]
                .iter()
                .filter(|(at, _)| at == evening)
                .map(|(_, step)| step.minutes.hundredths())
                .sum();
            let left = night.available.unwrap().hundredths() - spent;
            (Some(*evening), Some(minutes_of(left)))
        } else {
            (None, None)
        };
        match replan(&club, refit, from, room) {
            Ok(again) => {
                repeats_nothing(&club, refit, &again, &name);
                replay(&club, &again);
                keeps_links(&club, &again, &first.links, &name);
                let sum = spent + again.minutes().hundredths();
                if tonight {
                    assert_eq!(sum, first.minutes().hundredths(), "{name}");
                } else {
                    assert!(sum >= first.minutes().hundredths(), "{name}");
                }
                assert!(again.proven);
                let wishes = club.log(refit).wishes().to_vec();
                club.event(refit, Event::Planned { wishes, placed: again.placed.clone() });
                assert_eq!(left(&standing(&club, refit)), rows(&again), "{name}");
                tick_all(&mut club, refit, &again, ticks, &name);
                // A third plan has nothing to do.
                match replan(&club, refit, None, None) {
                    Ok(third) => assert!(third.is_empty(), "{name}: {:?}", rows(&third)),
                    Err(why) => panic!("{name}: {why}"),
                }
                *counts.entry(if tonight { "tonight" } else { "next" }).or_default() += 1;
            }
            Err(NoPlan::Clash(clash)) => {
                assert!(!tonight, "{name}: the rest of the first plan fits: {}", clash.sentence());
                *counts.entry("no time left").or_default() += 1;
            }
            Err(other) => panic!("{name}: {other}"),
        }
    }
    println!("{counts:?}");
    assert!(counts["tonight"] > 25 && counts["next"] > 10, "{counts:?}");
}

/// A Birch transmitter and so many aircraft, each with the wing off for a flash; everything is to
/// go from the first group to the second.
fn birches(aircraft: u32) -> (Club, DeviceId, Vec<(DeviceId, DeviceId)>) {
    let mut club = Club::new();
    let t = club.transmitter("T1", "Birch", "1.8", None);
    let crafts = (1..=aircraft)
        .map(|id| {
            let (craft, receiver) = club.aircraft(&id.to_string(), "Birch", "1.8", None, id);
            club.memory(t, craft, id);
            club.pair(receiver, t);
            (craft, receiver)
        })
        .collect();
    (club, t, crafts)
}

fn begin(club: &mut Club, wishes: Vec<Wish>) -> (EntryId, Plan) {
    let plan = plan(club, &Question::new(wishes.clone())).unwrap();
    replay(club, &plan);
    let refit = club.begin(wishes, &plan);
    (refit, plan)
}

fn to(device: DeviceId, version: &str) -> Wish {
    Wish::Version { end: main_of(device), version: version.to_owned() }
}

#[test]
fn an_open_cover_is_closed_and_saved_settings_stay_saved() {
    let (mut club, t, crafts) = birches(1);
    let (craft, receiver) = crafts[0];
    let (refit, first) = begin(&mut club, vec![to(t, "2.9"), evenings(3, 90.0)]);
    let all = steps(&first);
    let saved = all.iter().position(|(_, step)| step.sort == Sort::Save && step.device == receiver).unwrap();
    assert!(all[..saved].iter().any(|(_, step)| step.sort == Sort::Open));
    for (evening, step) in &all[..=saved] {
        tick(&mut club, refit, *evening, step);
    }
    let again = replan(&club, refit, Some(1), Some(Minutes(60.0))).unwrap();
    let sorts: Vec<Sort> =
        steps(&again).iter().filter(|(_, step)| step.what == craft).map(|(_, step)| step.sort).collect();
    assert_eq!(sorts, [Sort::Flash, Sort::Pair, Sort::Test, Sort::Close, Sort::RangeCheck]);
    // On the next evening likewise: the cover is still open.
    let next = replan(&club, refit, None, None).unwrap();
    let night = &next.nights[0];
    assert_eq!(night.number, 2);
    assert_eq!(night.lines[0].step.sort, Sort::Bench);
    assert!(steps(&next).iter().all(|(_, step)| step.sort != Sort::Open && step.sort != Sort::Save));
    assert!(steps(&next).iter().any(|(_, step)| step.key == format!("close:{craft}#1")));
}

#[test]
fn a_test_is_not_repeated_unless_a_change_comes_after_it() {
    let (mut club, t, crafts) = birches(1);
    let (craft, receiver) = crafts[0];
    let (refit, first) = begin(&mut club, vec![to(t, "2.9"), evenings(3, 90.0)]);
    for (evening, step) in steps(&first) {
        tick(&mut club, refit, evening, &step);
    }
    assert!(standing(&club, refit).finished());
    // Somebody writes the former firmware back by hand.
    club.carry_out(&[Change::Flash {
        end: main_of(receiver),
        version: "1.8".to_owned(),
        route: "bench lead".to_owned(),
    }]);
    let now = standing(&club, refit);
    let keys: Vec<String> = now.lines().map(|(_, line)| line.step.key.clone()).collect();
    assert_eq!(
        keys,
        [
            format!("open:{craft}#2"),
            format!("save:{receiver}/#2"),
            format!("flash:{receiver}/main:3.4#2"),
            format!("pair:{receiver}/main:{t}/main#2"),
            format!("test:{t}:{craft}#2"),
            format!("close:{craft}#2"),
            format!("range:{t}:{craft}#2"),
        ]
    );
    assert!(!now.finished());
    for (evening, step) in steps(now.plan.as_ref().unwrap()) {
        tick(&mut club, refit, evening, &step);
    }
    assert!(standing(&club, refit).finished());
}

#[test]
fn what_somebody_did_by_hand_is_not_asked_for() {
    let (mut club, t, crafts) = birches(2);
    let (refit, first) = begin(&mut club, vec![to(t, "2.9"), evenings(3, 90.0)]);
    let before = rows(&first);
    let flashed = format!("flash:{}/main:3.4#1", crafts[0].1);
    assert!(keys(&before).contains(&flashed.as_str()));
    club.carry_out(&[Change::Flash {
        end: main_of(crafts[0].1),
        version: "3.4".to_owned(),
        route: "bench lead".to_owned(),
    }]);
    let now = standing(&club, refit);
    let after = left(&now);
    assert!(!keys(&after).contains(&flashed.as_str()));
    // The other aircraft's steps are as they were; nothing of this one was tested yet.
    let of = |rows: &[Row], craft: DeviceId, receiver: DeviceId| -> Vec<String> {
        keys(rows)
            .iter()
            .filter(|key| key.contains(&craft.to_string()) || key.contains(&receiver.to_string()))
            .map(|key| (*key).to_owned())
            .collect()
    };
    assert_eq!(of(&after, crafts[1].0, crafts[1].1), of(&before, crafts[1].0, crafts[1].1));
    assert!(keys(&after).contains(&format!("test:{t}:{}#1", crafts[0].0).as_str()));
    let plan = now.plan.unwrap();
    replay(&club, &plan);
    repeats_nothing(&club, refit, &plan, "by hand");
}

#[test]
fn a_flash_taken_back_after_its_tick_comes_again() {
    let (mut club, t, crafts) = birches(1);
    let (refit, _) = begin(&mut club, vec![to(t, "2.9"), evenings(3, 90.0)]);
    tick_next(&mut club, refit, "bench");
    while !tick_next(&mut club, refit, "").starts_with(&format!("flash:{}", crafts[0].1)) {}
    assert!(standing(&club, refit).lines().all(|(_, line)| line.step.sort != Sort::Flash));
    club.carry_out(&[Change::Flash {
        end: main_of(crafts[0].1),
        version: "1.8".to_owned(),
        route: "bench lead".to_owned(),
    }]);
    let now = standing(&club, refit);
    let flash = now.lines().find(|(_, line)| line.step.sort == Sort::Flash).unwrap().1;
    assert_eq!(flash.step.key, format!("flash:{}/main:3.4#2", crafts[0].1));
    assert_eq!(now.step(&code(&flash.step.key)).unwrap().1.step.key, flash.step.key);
}

#[test]
fn what_is_put_off_waits_and_the_others_go_on() {
    let (mut club, t, crafts) = birches(3);
    // Two aircraft an evening at most; the transmitter any time.
    let (refit, first) = begin(&mut club, vec![to(t, "2.9"), evenings(5, 75.0)]);
    let placed = |plan: &Plan, what: DeviceId| {
        plan.placed.iter().find(|one| one.what == what).map(|one| one.evening).unwrap()
    };
    let (late, _) = crafts[0];
    assert!(placed(&first, late) < 4);
    club.event(refit, Event::Deferred { what: late, until: 4 });
    let now = standing(&club, refit);
    assert_eq!(now.put_off, [(late, 4)]);
    assert_eq!(now.stale, ["A1 is put off to evening 4."]);
    for (evening, line) in now.lines() {
        if line.step.what == late {
            assert!(evening >= 4, "{}", line.step.key);
        }
    }
    let laid = now.plan.as_ref().unwrap();
    replay(&club, laid);
    for (other, _) in &crafts[1..] {
        assert_eq!(placed(laid, *other), placed(&first, *other));
    }
    let again = replan(&club, refit, None, None).unwrap();
    replay(&club, &again);
    assert!(placed(&again, late) >= 4);
    assert!(again.placed.iter().filter(|one| one.what != late && one.what != t).all(|one| one.evening < 6));
    let wishes = club.log(refit).wishes().to_vec();
    club.event(refit, Event::Planned { wishes, placed: again.placed.clone() });
    let now = standing(&club, refit);
    assert!(now.stale.is_empty(), "{:?}", now.stale);
    assert_eq!(left(&now), rows(&again));
    tick_all(&mut club, refit, &again, 0, "put off");
}

#[test]
fn two_people_tick_the_same_steps_and_others_at_once() {
    let (mut ours, t, crafts) = birches(3);
    let (refit, first) = begin(&mut ours, vec![to(t, "2.9"), evenings(5, 110.0)]);
    let all = steps(&first);
    let mut theirs = ours.copy();
    let shared = ours.entries.len();
    let of = |what: DeviceId| all.iter().filter(move |(_, step)| step.what == what);
    // Both do the transmitter, each a different aircraft; one puts the third off.
    let (bench_evening, bench) = &all[0];
    for club in [&mut ours, &mut theirs] {
        tick(club, refit, *bench_evening, bench);
        for (evening, step) in of(t) {
            tick(club, refit, *evening, step);
        }
    }
    for (evening, step) in of(crafts[0].0) {
        tick(&mut ours, refit, *evening, step);
    }
    for (evening, step) in of(crafts[1].0) {
        tick(&mut theirs, refit, *evening, step);
    }
    theirs.event(refit, Event::Deferred { what: crafts[2].0, until: 5 });
    let one_way: Vec<_> = ours.entries.iter().chain(&theirs.entries[shared..]).cloned().collect();
    let other_way: Vec<_> = theirs.entries.iter().chain(&ours.entries[shared..]).cloned().collect();
    let mut shuffled: Vec<_> = ours.entries[..shared].to_vec();
    let (mut a, mut b) = (ours.entries[shared..].iter(), theirs.entries[shared..].iter());
    let mut draw = Draw::new(5);
    loop {
        let next =
            if draw.ratio() < 0.5 { a.next().or_else(|| b.next()) } else { b.next().or_else(|| a.next()) };
        let Some(next) = next else { break };
        shuffled.push(next.clone());
    }
    let merged = ours.merged(&one_way);
    let now = standing(&merged, refit);
    for other in [&other_way, &shuffled] {
        let other = ours.merged(other);
        assert_eq!(other.log(refit), merged.log(refit));
        assert_eq!(standing(&other, refit), now);
    }
    // Each step once, however many ticked it, and none of them comes again.
    let done: Vec<&str> = now.done.iter().map(|one| one.key.as_str()).collect();
    let once: BTreeSet<&str> = done.iter().copied().collect();
    assert_eq!(done.len(), once.len());
    let want = 1 + of(t).count() + of(crafts[0].0).count() + of(crafts[1].0).count();
    assert_eq!(done.len(), want);
    assert!(now.lines().all(|(_, line)| line.step.what == crafts[2].0 || line.step.sort == Sort::Bench));
    assert!(now.lines().all(|(evening, _)| evening >= 5));
    let again = replan(&merged, refit, None, None).unwrap();
    repeats_nothing(&merged, refit, &again, "two people");
    replay(&merged, &again);
    keeps_links(&merged, &again, &first.links, "two people");
    let numbers: Vec<&str> =
        again.nights.iter().flat_map(|night| &night.lines).map(|line| line.step.key.as_str()).collect();
    assert!(
        numbers.iter().filter(|key| !key.starts_with("bench")).all(|key| key.ends_with("#1")),
        "{numbers:?}"
    );
}

#[test]
fn a_refit_that_was_given_up_says_so() {
    let (mut club, t, _) = birches(2);
    let (refit, _) = begin(&mut club, vec![to(t, "2.9"), evenings(3, 110.0)]);
    tick_next(&mut club, refit, "bench");
    club.event(refit, Event::Ended { how: Ending::Abandoned });
    let now = standing(&club, refit);
    assert_eq!(now.ended, Some(Ending::Abandoned));
    assert_eq!(now.sentence(), "Spring was given up; what was done stays done.");
    assert_eq!(now.done.len(), 1);
    club.event(refit, Event::Ended { how: Ending::Done });
    assert_eq!(standing(&club, refit).sentence(), "Spring is done.");
}

#[test]
fn a_word_means_one_step_or_says_why_not() {
    let (mut club, t, _) = birches(2);
    let (refit, _) = begin(&mut club, vec![to(t, "2.9"), evenings(3, 110.0)]);
    let key = tick_next(&mut club, refit, "bench");
    let mut now = standing(&club, refit);
    assert_eq!(now.step(&key).unwrap_err(), NoStep::Done(key.clone()));
    assert_eq!(now.step(&code(&key)).unwrap_err(), NoStep::Done(code(&key)));
    assert_eq!(now.step(&code(&key).to_uppercase()).unwrap_err().to_string(), {
        format!("the step {} was ticked already", code(&key).to_uppercase())
    });
    assert_eq!(now.step("zzzzzz").unwrap_err(), NoStep::Nothing("zzzzzz".to_owned()));
    let all: Vec<String> = now.lines().map(|(_, line)| line.step.key.clone()).collect();
    for key in &all {
        assert_eq!(now.step(key).unwrap().1.step.key, *key);
        assert_eq!(now.step(&format!(" {} ", code(key))).unwrap().1.step.key, *key);
    }
    // Two keys with one code (found by trying: five letters of twenty meet after some thousands).
    let mut seen: BTreeMap<String, String> = BTreeMap::new();
    let (one, other) = (0..1_000_000)
        .find_map(|number| {
            let key = format!("test:{number}#1");
            seen.insert(code(&key), key.clone()).map(|before| (before, key))
        })
        .unwrap();
    let lines = &mut now.plan.as_mut().unwrap().nights[0].lines;
    lines[0].step.key.clone_from(&one);
    lines[1].step.key.clone_from(&other);
    assert_eq!(now.step(&code(&one)).unwrap_err(), NoStep::Several(code(&one), format!("{one}, {other}")));
    assert_eq!(now.step(&other).unwrap().1.step.key, other);
}

/// A new link secret, replanned while one side holds it and the other doesn't yet.
#[test]
fn a_secret_half_way_is_not_typed_twice() {
    let mut club = Club::new();
    let t = club.transmitter("T1", "Alder", "4.2", Some(secret(7)));
    for id in 1..=3_u32 {
        let (craft, _) = club.aircraft(&id.to_string(), "Alder", "4.2", Some(secret(7)), id);
        club.memory(t, craft, id);
    }
    let wish = Wish::Secret { on: Reach::Ends(vec![main_of(t)]), mark: secret(9) };
    let (refit, first) = begin(&mut club, vec![wish, evenings(4, 60.0)]);
    assert_eq!(steps(&first).iter().filter(|(_, step)| step.sort == Sort::Set).count(), 4);
    tick_next(&mut club, refit, "bench");
    let key = tick_next(&mut club, refit, "secret:");
    let again = replan(&club, refit, Some(1), Some(Minutes(55.0))).unwrap();
    repeats_nothing(&club, refit, &again, "secret");
    replay(&club, &again);
    assert_eq!(steps(&again).iter().filter(|(_, step)| step.sort == Sort::Set).count(), 3, "{key}");
}
