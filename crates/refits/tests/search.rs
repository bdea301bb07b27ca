//! The search against trying everything, and on fleets of a real size.
//!
//! Check values: every assignment scored by [`refits::problem::Problem::score`], the definition.

#![expect(clippy::unwrap_used, reason = "a test that can't go on has failed")]

#[path = "search/fleet.rs"]
mod fleet;

use fleet::{every, small, workshop};
use refits::problem::Score;
use refits::search::{Progress, Search, State, gap};

fn to_the_end(search: &mut Search, stager: &mut dyn refits::problem::Stager, slice: u64) -> Progress {
    for _ in 0..2_000_000 {
        let progress = search.run(stager, slice);
        if progress.state != State::Searching {
            return progress;
        }
    }
    panic!("no end")
}

#[test]
fn equal_to_trying_everything() {
    let (mut proven, mut infeasible) = (0, 0);
    for seed in 0..600 {
        let (problem, mut stager) = small(seed);
        let truth = every(&problem, &mut *stager);
        let mut search = Search::new(problem.clone());
        // Whenever it is stopped, the bound holds and the best is what it says.
        let mut progress = search.run(&mut *stager, 0);
        for budget in [1, 3, 10, 30, 100, 300, 1000, 3000] {
            let bound = progress.bound;
            if let Some((_, truth)) = &truth {
                assert!(bound <= *truth, "seed {seed}: bound {bound:?} above the best {truth:?}");
                assert_ne!(progress.state, State::Infeasible, "seed {seed}");
            }
            if let Some((answer, score)) = &progress.best {
                assert_eq!(problem.score(&mut *stager, answer), Ok(*score), "seed {seed}");
                assert!(bound <= *score, "seed {seed}");
            }
            progress = search.run(&mut *stager, budget);
        }
        let progress = to_the_end(&mut search, &mut *stager, 100_000);
        match truth {
            None => {
                assert_eq!(progress.state, State::Infeasible, "seed {seed}");
                infeasible += 1;
            }
            Some((_, truth)) => {
                assert_eq!(progress.state, State::Proven, "seed {seed}");
                let (answer, score) = progress.best.unwrap();
                assert_eq!(score, truth, "seed {seed}");
                assert_eq!(progress.bound, truth, "seed {seed}");
                assert_eq!(problem.score(&mut *stager, &answer), Ok(truth), "seed {seed}");
                proven += 1;
            }
        }
    }
    println!("{proven} proven, {infeasible} infeasible");
    assert!(proven > 200 && infeasible > 50, "{proven} proven, {infeasible} infeasible");
}

#[test]
fn slices_make_no_difference() {
    for seed in 0..40 {
        let (problem, mut stager) = small(seed);
        let whole = to_the_end(&mut Search::new(problem.clone()), &mut *stager, u64::MAX);
        let sliced = to_the_end(&mut Search::new(problem), &mut *stager, 50);
        assert_eq!(whole, sliced, "seed {seed}");
    }
    let (problem, mut stager) = workshop(5, 12, 3, 4, (120, 180));
    let whole = Search::new(problem.clone()).run(&mut stager, 200_000);
    let mut search = Search::new(problem);
    let mut sliced = search.run(&mut stager, 50);
    while sliced.work < whole.work {
        sliced = search.run(&mut stager, 50);
    }
    assert_eq!(whole, sliced);
}

#[test]
fn better_than_known_or_nothing() {
    for seed in 0..200 {
        let (problem, mut stager) = small(seed);
        let Some((answer, truth)) = every(&problem, &mut *stager) else { continue };
        let mut search = Search::new(problem.clone());
        search.below(truth);
        let progress = to_the_end(&mut search, &mut *stager, 100_000);
        assert_eq!(
            (progress.state, progress.best, progress.bound),
            (State::Proven, None, truth),
            "seed {seed}"
        );
        let mut search = Search::new(problem.clone());
        search.below(Score { covers: truth.covers + 1, ..truth });
        let progress = to_the_end(&mut search, &mut *stager, 100_000);
        assert_eq!(progress.best.map(|(_, score)| score), Some(truth), "seed {seed}");
        let mut search = Search::new(problem);
        search.hint(&answer, &mut *stager);
        assert_eq!(search.run(&mut *stager, 0).best.map(|(_, score)| score), Some(truth), "seed {seed}");
        assert_eq!(to_the_end(&mut search, &mut *stager, 100_000).bound, truth, "seed {seed}");
    }
}

fn figures(name: &str, progress: &Progress) -> String {
    let score = progress.best.as_ref().map(|(_, score)| *score).unwrap();
    let gap = gap(score, progress.bound);
    format!(
        "{name}: {:?} {score:?}, {:?}, gap {gap:.4}, work {}",
        progress.state, progress.bound, progress.work
    )
}

#[test]
fn forty_aircraft() {
    for seed in 1..4 {
        let (problem, mut stager) = workshop(seed, 40, 6, 8, (120, 180));
        let progress = Search::new(problem.clone()).run(&mut stager, 2_500_000);
        println!("{}", figures(&format!("forty {seed}"), &progress));
        let (answer, score) = progress.best.unwrap();
        assert_eq!(problem.score(&mut stager, &answer), Ok(score));
        assert_eq!(score.minutes, progress.bound.minutes, "seed {seed}: minutes not proven");
        assert!(progress.bound <= score);
    }
}

#[test]
fn three_hundred_aircraft() {
    let (problem, mut stager) = workshop(7, 300, 20, 32, (180, 240));
    let progress = Search::new(problem.clone()).run(&mut stager, 3_000_000);
    println!("{}", figures("three hundred", &progress));
    let (answer, score) = progress.best.unwrap();
    assert_eq!(problem.score(&mut stager, &answer), Ok(score));
    assert!(progress.bound <= score);
}
