//! Planning fleets of a real size, from the register to the plan: `cargo bench -p refits --bench
//! plan` prints how long the tables and the search take, and how far they come.
#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]
#![expect(clippy::disallowed_types, clippy::disallowed_methods, reason = "a benchmark measures time")]
#![expect(clippy::unwrap_used, reason = "a benchmark that can't go on has failed")]

#[path = "../tests/club/mod.rs"]
mod club;
#[path = "../tests/draw/mod.rs"]
mod draw;
#[path = "../tests/workshop/mod.rs"]
mod workshop;

use std::time::Instant;

use refits::ask::Question;
use refits::planner::Planner;

fn main() {
    divan::main();
}

/// Plans up to so much work.
fn figures(name: &str, seed: u64, size: (usize, usize, usize), minutes: f64, most: u64) {
    let (club, wishes) = workshop::workshop(seed, size.0, size.1, size.2, minutes);
    let question = Question::new(wishes);
    let begun = Instant::now();
    let fleet = club.fleet();
    let mut planner = Planner::new(&club.register, &fleet, &question, club::NOW).unwrap();
    println!("{name} {seed}: built after {:.2} s", begun.elapsed().as_secs_f64());
    let mut piece = 125_000;
    loop {
        let progress = planner.run(piece);
        println!(
            "{name} {seed}: {:.2} s, work {}, best {:?}, bound {:?}",
            begun.elapsed().as_secs_f64(),
            progress.work,
            progress.best,
            progress.bound
        );
        if progress.finished || progress.work >= most {
            break;
        }
        piece = progress.work.max(125_000);
    }
    let plan = planner.plan().unwrap();
    println!(
        "{name} {seed}: written after {:.2} s. {} {}",
        begun.elapsed().as_secs_f64(),
        plan.sentence(),
        plan.proof()
    );
}

#[divan::bench(sample_count = 1, sample_size = 1, args = [1, 2, 3])]
fn forty_aircraft(seed: u64) {
    figures("forty", seed, (6, 40, 8), 150.0, 4_000_000);
}

#[divan::bench(sample_count = 1, sample_size = 1, args = [4])]
fn three_hundred_aircraft(seed: u64) {
    figures("three hundred", seed, (20, 300, 36), 240.0, 8_000_000);
}
