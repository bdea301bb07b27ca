//! A thousand simulated evenings of each shipped symptom, three ways of searching:
//! `cargo bench -p trails --bench evenings` prints the table.
//!
//! The faults are drawn from the models' own weights, which are judgement: the table compares
//! ways of searching, it doesn't say how long a real evening takes.
#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]

use trails::library;
use trails::model::Model;
use trails::planner::Effort;
use trails::policy::{Advised, Ended, Evening, FixedOrder, POverC, Policy, evening};
use trails::table::Situation;

const EVENINGS: u32 = 1_000;

/// Steele, Lea & Flood, "Fast splittable pseudorandom number generators", 2014.
struct Dice(u64);

impl Dice {
    #[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
    fn part(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }
}

#[derive(Default)]
struct Mean {
    minutes: f64,
    steps: f64,
    given_up: u32,
}

impl Mean {
    fn add(&mut self, evening: &Evening) {
        self.minutes += evening.minutes.0 / f64::from(EVENINGS);
        self.steps += f64::from(u32::try_from(evening.steps.len()).unwrap_or(u32::MAX)) / f64::from(EVENINGS);
        self.given_up += u32::from(matches!(evening.ended, Ended::GaveUp | Ended::Stopped));
    }
}

/// The same faults for every policy.
fn evenings(model: &Model, policy: &mut dyn Policy) -> Mean {
    let situation = Situation::start(model);
    let mut mean = Mean::default();
    for seed in 0..u64::from(EVENINGS) {
        let mut dice = Dice(seed << 20);
        let mut left = dice.part();
        let truth = situation.belief.singles.iter().position(|weight| {
            left -= weight;
            left < 0.0
        });
        let truth = truth.unwrap_or(model.unlisted_at());
        mean.add(&evening(model, &situation, truth, policy, &mut || dice.part()));
    }
    mean
}

fn main() {
    println!("| symptom | causes | steps | advised: minutes, steps | file order | chance over minutes |");
    println!("| --- | ---: | ---: | ---: | ---: | ---: |");
    let mut sums = [0.0; 3];
    let models = library::symptoms();
    for model in &models {
        // A quarter of what one call gets: a thousand evenings come by some hundred situations.
        let effort = Effort { evaluations: Effort::default().evaluations / 4, ..Effort::default() };
        let policies: [&mut dyn Policy; 3] = [&mut Advised::new(effort), &mut FixedOrder, &mut POverC];
        let means: Vec<Mean> = policies.into_iter().map(|policy| evenings(model, policy)).collect();
        let cells: Vec<String> = means
            .iter()
            .map(|mean| format!("{:.1} min, {:.1} ({} given up)", mean.minutes, mean.steps, mean.given_up))
            .collect();
        println!(
            "| {} | {} | {} | {} |",
            model.key,
            model.causes.len(),
            model.steps.len(),
            cells.join(" | ")
        );
        for (sum, mean) in sums.iter_mut().zip(&means) {
            *sum += mean.minutes;
        }
    }
    let n = f64::from(u32::try_from(models.len().max(1)).unwrap_or(u32::MAX));
    let cells: Vec<String> = sums.iter().map(|sum| format!("{:.1} min", sum / n)).collect();
    println!("| all | | | {} |", cells.join(" | "));
}
