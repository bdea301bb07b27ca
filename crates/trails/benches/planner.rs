//! How long the planner takes: `cargo bench -p trails --bench planner`.

use divan::Bencher;
use trails::belief::{Belief, Seen};
use trails::model::{Answer, Cause, Check, Cover, GiveUp, Kind, Mend, Model, Step};
use trails::planner::{Effort, Method, advise};
use trails::table::Situation;
use units::Minutes;

/// Steele, Lea & Flood, "Fast splittable pseudorandom number generators", 2014.
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    #[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
    fn part(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn below(&mut self, bound: usize) -> usize {
        usize::try_from(self.next() % bound as u64).expect("below a usize")
    }
}

/// Every third step a check of two or three answers, the others mends of one to three causes.
fn large(causes: usize, steps: usize, covers: usize) -> Model {
    let mut dice = Dice(7);
    let covers: Vec<Cover> = (0..covers)
        .map(|at| Cover {
            key: format!("k{at}"),
            label: String::new(),
            inside: (at % 3 == 2).then(|| at - 1),
            open: Minutes(2.0 + 10.0 * dice.part()),
            close: Minutes(5.0 * dice.part()),
            wants: Vec::new(),
        })
        .collect();
    let steps = (0..steps)
        .map(|at| {
            let kind = if at % 3 == 0 { check(&mut dice, causes) } else { mend(&mut dice, causes) };
            let needs = if !covers.is_empty() && dice.part() < 0.4 {
                vec![dice.below(covers.len())]
            } else {
                Vec::new()
            };
            Step {
                key: format!("s{at}"),
                label: String::new(),
                how: String::new(),
                good: String::new(),
                minutes: Minutes(if at % 3 == 0 {
                    0.5 + 3.0 * dice.part()
                } else {
                    1.0 + 30.0 * dice.part()
                }),
                needs,
                energises: Vec::new(),
                caution: String::new(),
                wants: Vec::new(),
                leaves: None,
                kind,
            }
        })
        .collect();
    let causes = (0..causes)
        .map(|at| Cause {
            key: format!("c{at}"),
            label: String::new(),
            weight: 0.02 + dice.part().powi(3),
            rule: None,
            wants: Vec::new(),
        })
        .collect();
    Model {
        key: "large".into(),
        name: "Large".into(),
        about: String::new(),
        causes,
        unlisted: 0.5,
        covers,
        steps,
        give_up: Some(GiveUp { label: String::new(), minutes: Minutes(600.0) }),
        second: 0.05,
        comeback: Minutes(60.0),
        proofs: Vec::new(),
    }
}

fn check(dice: &mut Dice, causes: usize) -> Kind {
    let answers = 2 + dice.below(2);
    let mut likelihood = vec![vec![0.0; causes + 1]; answers];
    for hypothesis in 0..=causes {
        let column: Vec<f64> = (0..answers).map(|_| dice.part().powi(6) + 0.02).collect();
        let sum: f64 = column.iter().sum();
        for (row, value) in likelihood.iter_mut().zip(column) {
            row[hypothesis] = value / sum;
        }
    }
    let answer = |at| Answer { key: format!("a{at}"), label: String::new() };
    Kind::Check(Check {
        answers: (0..answers).map(answer).collect(),
        likelihood,
        speaks: vec![true; causes],
        rule: None,
        field: None,
        lamp: false,
    })
}

fn mend(dice: &mut Dice, causes: usize) -> Kind {
    let mut mend =
        Mend { cures: vec![0.0; causes + 1], seems: vec![0.0; causes + 1], watch: String::new(), rule: None };
    for _ in 0..=dice.below(3) {
        mend.cures[dice.below(causes)] = 0.6 + 0.4 * dice.part();
    }
    Kind::Mend(mend)
}

fn main() {
    for (causes, steps, covers) in [(200, 300, 10), (40, 60, 3), (9, 10, 2)] {
        let model = large(causes, steps, covers);
        let method = advise(&model, &Situation::start(&model), Effort::default()).method;
        let depth = match method {
            Method::LookAhead { depth } => format!("{depth} deep"),
            other => other.word().to_string(),
        };
        #[expect(clippy::print_stdout, reason = "a benchmark prints its figures")]
        {
            println!("{causes} causes, {steps} steps, {covers} covers: {depth}");
        }
    }
    divan::main();
}

/// The next step of causes, steps and covers.
#[divan::bench(args = [(200, 300, 10), (40, 60, 3), (9, 10, 2)])]
fn next_step(bencher: Bencher<'_, '_>, (causes, steps, covers): (usize, usize, usize)) {
    let model = large(causes, steps, covers);
    let situation = Situation::start(&model);
    bencher.bench_local(|| advise(&model, &situation, Effort::default()));
}

/// One answer taken in, single causes only.
#[divan::bench(args = [20, 200])]
fn one_answer(bencher: Bencher<'_, '_>, causes: usize) {
    let model = large(causes, 30, 0);
    let prior = Belief::prior(&model);
    bencher.bench_local(|| {
        let mut belief = prior.clone();
        belief.see(&model, &Seen::Answer { step: 0, answer: 0 });
        belief
    });
}

/// Ten answers and failed mends replayed, two causes at once weighed in.
#[divan::bench(args = [20, 200])]
fn replay(bencher: Bencher<'_, '_>, causes: usize) {
    let model = large(causes, 30, 0);
    let seen: Vec<Seen> = (0..10)
        .map(|step| if step % 3 == 0 { Seen::Answer { step, answer: 0 } } else { Seen::Failed { step } })
        .collect();
    bencher.bench_local(|| Belief::of(&model, &seen));
}
