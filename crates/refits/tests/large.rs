//! Fleets of a real size: planned within a counted amount of work, and every step replayed through
//! the verdict engine.
#![expect(clippy::unwrap_used, reason = "tests")]

mod club;
mod draw;
mod replay;
mod workshop;

use club::{Club, NOW};
use refits::ask::Question;
use refits::planner::{Plan, Planner};
use register::refit::Wish;
use replay::replay;
use workshop::workshop;

/// The best plan after so much work.
fn after(club: &Club, wishes: Vec<Wish>, work: u64) -> Plan {
    let fleet = club.fleet();
    let question = Question::new(wishes);
    let mut planner = Planner::new(&club.register, &fleet, &question, NOW).unwrap();
    let mut spent = 0;
    loop {
        let progress = planner.run(100_000);
        if progress.finished || progress.work >= work || progress.work == spent {
            break;
        }
        spent = progress.work;
    }
    planner.plan().unwrap()
}

/// The gap in minutes.
#[expect(clippy::cast_precision_loss, reason = "minutes of some evenings")]
fn gap(plan: &Plan) -> f64 {
    (plan.score.minutes - plan.bound.minutes) as f64 / plan.score.minutes as f64
}

#[test]
fn forty_aircraft_are_within_two_percent() {
    for seed in 1..=3 {
        let (club, wishes) = workshop(seed, 6, 40, 8, 150.0);
        let plan = after(&club, wishes, 250_000);
        println!("seed {seed}: {} {} gap {:.4}", plan.sentence(), plan.proof(), gap(&plan));
        replay(&club, &plan);
        assert!(plan.crafts.len() > 30);
        assert!(gap(&plan) < 0.02, "seed {seed}: {}", plan.proof());
    }
}

#[test]
fn three_hundred_aircraft_have_a_plan() {
    let (club, wishes) = workshop(4, 20, 300, 36, 240.0);
    let plan = after(&club, wishes, 1_400_000);
    println!("{} {} gap {:.4}", plan.sentence(), plan.proof(), gap(&plan));
    assert!(plan.crafts.len() > 250);
    assert!(plan.bound.minutes > 0 && plan.bound <= plan.score);
    // Each evening keeps its time.
    for night in &plan.nights {
        assert!(night.minutes.0 <= night.available.unwrap().0 + 1e-9);
    }
}
