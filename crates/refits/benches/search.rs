//! How far the search comes on fleets of a real size: `cargo bench -p refits --bench search`
//! prints, at some amounts of work, the best score, the bound and the gap.
#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]
#![expect(clippy::unwrap_used, reason = "a benchmark that can't go on has failed")]

#[expect(dead_code, reason = "the tests use the rest")]
#[path = "../tests/search/fleet.rs"]
mod fleet;

use refits::search::{Search, State, gap};

fn main() {
    divan::main();
}

/// Runs a search up to so much work, printing on the way.
fn figures(name: &str, seed: u64, size: (usize, usize, usize), minutes: (u64, u64), most: u64) {
    let (problem, mut stager) = fleet::workshop(seed, size.0, size.1, size.2, minutes);
    let mut search = Search::new(problem);
    let mut work = 125_000;
    loop {
        let progress = search.run(&mut stager, work);
        let score = progress.best.as_ref().map(|(_, score)| *score);
        let gap = score.map(|score| gap(score, progress.bound));
        println!(
            "{name} {seed}: {:>9} {:?} {score:?} {:?} {gap:?}",
            progress.work, progress.state, progress.bound
        );
        work = progress.work;
        if progress.state != State::Searching || work >= most {
            return;
        }
    }
}

#[divan::bench(sample_count = 1, sample_size = 1, args = [1, 2, 3])]
fn forty_aircraft(seed: u64) {
    figures("forty", seed, (40, 6, 8), (120, 180), 8_000_000);
}

#[divan::bench(sample_count = 1, sample_size = 1, args = [7])]
fn three_hundred_aircraft(seed: u64) {
    figures("three hundred", seed, (300, 20, 32), (180, 240), 16_000_000);
}
