//! Plans of small fleets against brute force, and every plan replayed through the verdict engine.
#![expect(clippy::unwrap_used, reason = "tests")]

mod club;
mod draw;
mod drawn;
mod replay;

use std::collections::BTreeMap;

use club::NOW;
use drawn::drawn;
use refits::ask::Question;
use refits::layout::{Laid, Night};
use refits::planner::NoPlan;
use refits::problem::{Assignment, Place, Score};
use refits::step::Sort;
use refits::tables::{self, Options};
use refits::world::{Mask, World};
use register::refit::Wish;
use replay::{plan, replay};

/// What an evening-by-evening plan comes to, from its steps and the verdict engine alone.
fn measure(world: &World, nights: &[Night], crafts: &[usize], slots: &[(i64, i64)]) -> Option<Score> {
    let mut score = Score::default();
    let flies_last: Vec<bool> = nights.last().map(|night| night.flies.clone()).unwrap_or_default();
    let before: Vec<bool> = crafts.iter().map(|at| world.flies(&world.scene, &world.crafts[*at])).collect();
    let most = world.question.wishes.iter().find_map(|wish| match wish {
        Wish::Grounded { most } => Some(*most as usize),
        _ => None,
    });
    for wish in &world.question.wishes {
        let Wish::Fly { aircraft, after } = wish else { continue };
        let Some(at) = crafts.iter().position(|at| world.crafts[*at].card.id == *aircraft) else { continue };
        let flies = match *after as usize {
            0 => before[at],
            after if after <= nights.len() => nights[after - 1].flies[at],
            _ => flies_last[at],
        };
        if !flies {
            return None;
        }
    }
    for (place, (capacity, _)) in slots.iter().enumerate() {
        let flies = nights.get(place).map_or(&flies_last, |night| &night.flies);
        // Getting the bench out is not counted among the minutes.
        let steps = nights.get(place).into_iter().flat_map(|night| &night.lines).map(|line| &line.step);
        let minutes = steps
            .filter(|step| step.sort != Sort::Bench)
            .map(|step| step.minutes)
            .sum::<units::Minutes>()
            .hundredths();
        if minutes > *capacity {
            return None;
        }
        score.minutes += minutes;
        let grounded = flies.iter().zip(&flies_last).filter(|(now, last)| !**now && **last).count();
        score.grounded += i64::try_from(grounded).unwrap();
        let by_refit = (0..crafts.len())
            .filter(|at| world.crafts[crafts[*at]].flew && flies_last[*at] && !flies[*at])
            .count();
        if most.is_some_and(|most| by_refit > most) {
            return None;
        }
    }
    let steps = nights.iter().flat_map(|night| &night.lines);
    score.covers = i64::try_from(steps.filter(|line| line.step.sort == Sort::Open).count()).unwrap();
    Some(score)
}

/// The best of all assignments of a world, tried one by one.
fn brute(world: &World) -> Option<Score> {
    let options = Options::of(world);
    let problem = tables::problem(world, &options);
    let slots: Vec<(i64, i64)> = problem.evenings.iter().map(|slot| (slot.capacity, slot.bench)).collect();
    let evenings = slots.len();
    let mut ways: Vec<usize> = options.pivots.iter().map(|ways| ways.len() * evenings).collect();
    ways.extend(
        world.items.iter().zip(&options.items).map(
            |(group, ways)| {
                if group.has_work { ways.len() * evenings } else { 1 }
            },
        ),
    );
    let mut at = vec![0; ways.len()];
    let mut all: Vec<(i64, Assignment)> = Vec::new();
    'every: loop {
        let place = |number: usize| Place { evening: number % evenings, option: number / evenings };
        let pivots = at[..world.pivots.len()].iter().map(|number| place(*number)).collect();
        let items = world
            .items
            .iter()
            .zip(&at[world.pivots.len()..])
            .map(|(group, number)| group.has_work.then(|| place(*number)))
            .collect();
        let assignment = Assignment { pivots, items };
        let laid = Laid { world, options: &options, assignment: &assignment };
        let minutes: Vec<i64> = laid
            .steps()
            .iter()
            .map(|steps| {
                let counted = steps.iter().filter(|step| step.sort != Sort::Bench);
                counted.map(|step| step.minutes.hundredths()).sum()
            })
            .collect();
        if minutes.iter().zip(&slots).all(|(minutes, (capacity, _))| minutes <= capacity) {
            all.push((minutes.iter().sum(), assignment));
        }
        let mut digit = 0;
        loop {
            if digit == at.len() {
                break 'every;
            }
            at[digit] += 1;
            if at[digit] < ways[digit] {
                break;
            }
            at[digit] = 0;
            digit += 1;
        }
    }
    // The quickest that keeps to everything, and all that are as quick.
    all.sort_by_key(|(minutes, _)| *minutes);
    let mut best: Option<Score> = None;
    for (minutes, assignment) in &all {
        if best.is_some_and(|best| best.minutes < *minutes) {
            break;
        }
        let laid = Laid { world, options: &options, assignment };
        if let Some(score) = measure(world, &laid.nights(&[]), &laid.crafts(), &slots) {
            assert_eq!(score.minutes, *minutes);
            best = Some(best.map_or(score, |have| have.min(score)));
        }
    }
    best
}

fn against_brute_force(numbers: std::ops::Range<u64>) -> BTreeMap<&'static str, usize> {
    let mut counts: BTreeMap<&'static str, usize> = BTreeMap::new();
    for number in numbers {
        let (club, question) = drawn(number);
        let fleet = club.fleet();
        let got = plan(&club, &question);
        let mask = Mask::all(&question);
        let build = |picks: &[usize]| World::build(&club.register, &fleet, &question, &mask, picks, NOW);
        let mut best: Option<Score> = None;
        let choices = build(&[]).map(|world| world.choices).unwrap_or_default();
        let mut lists: Vec<Vec<usize>> = vec![Vec::new()];
        for ways in choices {
            lists = lists
                .iter()
                .flat_map(|list| (0..ways).map(move |pick| [list.as_slice(), &[pick]].concat()))
                .collect();
        }
        for picks in lists {
            let Ok(world) = build(&picks) else { continue };
            if let Some(score) = brute(&world) {
                best = Some(best.map_or(score, |have| have.min(score)));
            }
        }
        match (got, best) {
            (Ok(plan), Some(best)) => {
                assert!(plan.proven, "fleet {number}: {}", plan.proof());
                assert_eq!(plan.score, best, "fleet {number}");
                replay(&club, &plan);
                *counts.entry(if plan.is_empty() { "nothing to do" } else { "planned" }).or_default() += 1;
            }
            (Err(NoPlan::Clash(clash)), None) => {
                assert!(!clash.wishes.is_empty() || !clash.words.is_empty(), "fleet {number}: {clash:?}");
                *counts.entry("clash").or_default() += 1;
            }
            (got, best) => panic!("fleet {number}: {got:?} against {best:?}"),
        }
    }
    counts
}

/// A hundred and twenty-five small fleets: feasible, and equal to brute force in every criterion;
/// brute force lays every assignment out step by step and asks the verdict engine who can fly.
fn small_fleets(from: u64) {
    let counts = against_brute_force(from..from + 125);
    assert!(counts["planned"] > 40 && counts["clash"] > 5 && counts["nothing to do"] > 1, "{counts:?}");
}

#[test]
fn five_hundred_small_fleets_equal_brute_force_a() {
    small_fleets(0);
}

#[test]
fn five_hundred_small_fleets_equal_brute_force_b() {
    small_fleets(125);
}

#[test]
fn five_hundred_small_fleets_equal_brute_force_c() {
    small_fleets(250);
}

#[test]
fn five_hundred_small_fleets_equal_brute_force_d() {
    small_fleets(375);
}

#[test]
fn nothing_wished_plans_nothing() {
    let (club, _) = drawn(3);
    let plan = plan(&club, &Question::new(Vec::new())).unwrap();
    assert!(plan.is_empty());
    assert_eq!(plan.score, Score::default());
    assert_eq!(plan.sentence(), "Nothing has to be changed.");
}
