//! The look-ahead against the optimum, and the planner's laws.
//!
//! The optimum is the exact search's, which is checked against published cases elsewhere;
//! what a policy really costs is reckoned by following it over everything that may be seen.

mod common;

use proptest::prelude::*;
use trails::belief::{Belief, Pair};
use trails::model::{Answer, Cause, Check, Cover, GiveUp, Kind, Mend, Model, Step};
use trails::planner::{Advice, Choice, Effort, Method, advise};
use trails::policy::{Advised, Ended, FixedOrder, POverC, Policy, evening, expected};
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

    /// Evenly in 0..1.
    fn part(&mut self) -> f64 {
        f64::from((self.next() >> 32) as u32) / 4_294_967_296.0
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.part()
    }

    /// One of `low..=high`.
    fn whole(&mut self, low: usize, high: usize) -> usize {
        low + usize::try_from(self.next() % (high - low + 1) as u64).expect("below a usize")
    }

    fn chance(&mut self, p: f64) -> bool {
        self.part() < p
    }
}

/// How large random models are, and whether trials may look good for nothing.
struct Size {
    causes: (usize, usize),
    steps: (usize, usize),
    covers: (usize, usize),
    checks: (usize, usize),
    seems: f64,
}

const SMALL: Size = Size { causes: (4, 9), steps: (4, 10), covers: (0, 3), checks: (0, 3), seems: 0.0 };
// Trials that look good for nothing, mends that need two covers, more of everything.
const MIXED: Size = Size { causes: (1, 14), steps: (1, 20), covers: (0, 4), checks: (0, 8), seems: 0.2 };

fn random_model(dice: &mut Dice, size: &Size) -> Model {
    let causes = dice.whole(size.causes.0, size.causes.1);
    let steps = dice.whole(size.steps.0, size.steps.1);
    let covers: Vec<Cover> = (0..dice.whole(size.covers.0, size.covers.1))
        .map(|at| Cover {
            key: format!("k{at}"),
            label: String::new(),
            inside: (at > 0 && dice.chance(0.4)).then(|| dice.whole(0, at.max(1) - 1)),
            open: Minutes(dice.between(0.0, 8.0)),
            close: Minutes(dice.between(0.0, 4.0)),
            wants: Vec::new(),
        })
        .collect();
    let checks = dice.whole(size.checks.0, size.checks.1).min(steps.saturating_sub(2));
    let mut is_check: Vec<bool> = (0..steps).map(|at| at < checks).collect();
    for at in (1..steps).rev() {
        is_check.swap(at, dice.whole(0, at));
    }
    let steps = is_check
        .into_iter()
        .enumerate()
        .map(|(at, is_check)| {
            let kind = if is_check {
                Kind::Check(check(dice, causes))
            } else {
                Kind::Mend(mend(dice, causes, size))
            };
            let covered = !covers.is_empty() && dice.chance(if is_check { 0.2 } else { 0.5 });
            let mut needs = if covered { vec![dice.whole(0, covers.len() - 1)] } else { Vec::new() };
            if size.seems > 0.0 && covered && dice.chance(0.2) {
                needs.push(dice.whole(0, covers.len() - 1));
            }
            Step {
                key: format!("s{at}"),
                label: String::new(),
                how: String::new(),
                good: String::new(),
                minutes: Minutes(if is_check { dice.between(0.2, 3.0) } else { dice.between(1.0, 40.0) }),
                needs,
                energises: Vec::new(),
                caution: String::new(),
                wants: Vec::new(),
                leaves: None,
                kind,
            }
        })
        .collect();
    let cause = |at, weight| Cause {
        key: format!("c{at}"),
        label: String::new(),
        weight,
        rule: None,
        wants: Vec::new(),
    };
    let model = Model {
        key: "random".into(),
        name: "Random".into(),
        about: String::new(),
        causes: (0..causes).map(|at| cause(at, dice.part().powi(2) + 0.02)).collect(),
        unlisted: if dice.chance(0.5) { dice.between(0.0, 0.3) } else { 0.0 },
        covers,
        steps,
        give_up: dice
            .chance(0.5)
            .then(|| GiveUp { label: String::new(), minutes: Minutes(dice.between(30.0, 240.0)) }),
        second: 0.05,
        comeback: Minutes(if size.seems > 0.0 { dice.between(0.0, 60.0) } else { 0.0 }),
        proofs: Vec::new(),
    };
    model.check().expect("a sound model");
    model
}

/// Two or three answers, from telling nearly nothing to telling nearly all.
fn check(dice: &mut Dice, causes: usize) -> Check {
    let answers = dice.whole(2, 3);
    let sharp = [1, 2, 4, 8, 16][dice.whole(0, 4)];
    let mut likelihood = vec![vec![0.0; causes + 1]; answers];
    for hypothesis in 0..=causes {
        let column: Vec<f64> = (0..answers).map(|_| dice.part().powi(sharp) + 0.01).collect();
        let sum: f64 = column.iter().sum();
        for (row, value) in likelihood.iter_mut().zip(column) {
            row[hypothesis] = value / sum;
        }
    }
    let answer = |at| Answer { key: format!("a{at}"), label: String::new() };
    Check {
        answers: (0..answers).map(answer).collect(),
        likelihood,
        speaks: (0..causes).map(|_| dice.chance(0.7)).collect(),
        rule: None,
        field: None,
        lamp: false,
    }
}

/// Cures one to three causes, certainly or not.
fn mend(dice: &mut Dice, causes: usize, size: &Size) -> Mend {
    let mut mend =
        Mend { cures: vec![0.0; causes + 1], seems: vec![0.0; causes + 1], watch: String::new(), rule: None };
    for _ in 0..dice.whole(1, 3) {
        mend.cures[dice.whole(0, causes - 1)] = if dice.chance(0.5) { 1.0 } else { dice.between(0.4, 1.0) };
    }
    if dice.chance(0.1) {
        mend.cures[causes] = dice.between(0.1, 0.9);
    }
    if dice.chance(size.seems) {
        mend.seems[dice.whole(0, causes)] = dice.between(0.05, 0.5);
    }
    mend
}

/// What is advised and what else could be done.
fn every(advice: &Advice) -> impl Iterator<Item = &trails::planner::Candidate> {
    std::iter::once(&advice.best).chain(&advice.others)
}

#[derive(Default)]
struct Excess {
    sum: f64,
    worst: f64,
    off: usize,
    depth: u32,
}

#[test]
fn two_hundred_models_cost_little_more_than_the_optimum() {
    const MODELS: u32 = 200;
    let exact = Effort { exact_states: 1e9, evaluations: 1 };
    let efforts = [
        ("advised, look-ahead only", Effort::look_ahead()),
        ("advised, 1,000 evaluations", Effort { exact_states: 0.0, evaluations: 1_000 }),
        ("advised, 100 evaluations", Effort { exact_states: 0.0, evaluations: 100 }),
    ];
    let names: Vec<&str> =
        efforts.iter().map(|one| one.0).chain(["file order", "chance over minutes"]).collect();
    let mut table: Vec<Excess> = names.iter().map(|_| Excess::default()).collect();
    let mut wrong = Vec::new();
    for seed in 1..=MODELS {
        let model = random_model(&mut Dice(u64::from(seed)), &SMALL);
        let situation = Situation::start(&model);
        let optimum = advise(&model, &situation, exact).best.expected.0;
        let followed = expected(&model, &situation, &mut Advised::new(exact)).0;
        let same = (followed - optimum).abs() <= 1e-6 * (1.0 + optimum); // false for NaN
        if !same {
            wrong.push(format!("seed {seed}: says {optimum}, followed {followed}"));
        }
        let mut policies: Vec<Box<dyn Policy>> = Vec::new();
        for (at, (_, effort)) in efforts.into_iter().enumerate() {
            policies.push(Box::new(Advised::new(effort)));
            let advice = advise(&model, &situation, effort);
            if let Method::LookAhead { depth } = advice.method {
                table[at].depth = table[at].depth.max(depth);
            }
            let says = advice.best.expected.0;
            let kept = says >= optimum - 1e-6; // false for NaN
            if !kept {
                wrong.push(format!("seed {seed}: {} promises {says}, the optimum is {optimum}", names[at]));
            }
        }
        policies.push(Box::new(FixedOrder));
        policies.push(Box::new(POverC));
        for (at, policy) in policies.iter_mut().enumerate() {
            let minutes = expected(&model, &situation, policy.as_mut()).0;
            let above = minutes >= optimum - 1e-9 * (1.0 + optimum); // false for NaN
            if !above {
                wrong.push(format!("seed {seed}: {} takes {minutes}, the optimum {optimum}", names[at]));
            }
            let excess = if optimum > 0.0 { (minutes / optimum - 1.0).max(0.0) } else { 0.0 };
            table[at].sum += excess;
            table[at].worst = table[at].worst.max(excess);
            table[at].off += usize::from(excess > 1e-6);
        }
    }
    println!("| policy | over the optimum, mean | worst | models where it is above | depth at most |");
    println!("| --- | ---: | ---: | ---: | ---: |");
    for (name, row) in names.iter().zip(&table) {
        let mean = 100.0 * row.sum / f64::from(MODELS);
        println!("| {name} | {mean:.3} % | {:.2} % | {} | {} |", 100.0 * row.worst, row.off, row.depth);
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let mean = |at: usize| table[at].sum / f64::from(MODELS);
    assert!(mean(0) <= 0.02, "the look-ahead is {} over the optimum", mean(0));
    assert!(mean(1) <= 0.02, "the look-ahead with little effort is {} over the optimum", mean(1));
    assert!(mean(0) < mean(3) && mean(0) < mean(4), "advice is worth having");
}

#[test]
fn the_look_ahead_asks_when_asking_pays() {
    // Exact fractions by exhaustive search; definitions after Breese & Heckerman 1996
    // (arXiv 1302.3563): the question first, 11.857500; the first mend first, 11.320000.
    let cases = [
        ([0.35, 0.30, 0.20, 0.15], [8.0, 5.0, 6.0, 10.0], 1.0, [0.95, 0.10, 0.50, 0.10, 0.5], 4, 11.8575),
        ([0.50, 0.20, 0.15, 0.15], [4.0, 9.0, 11.0, 8.0], 2.0, [0.20, 0.05, 0.95, 0.05, 0.5], 0, 11.32),
    ];
    for (priors, minutes, price, yes, first, optimum) in cases {
        let keys = ["a1", "a2", "a3", "a4"];
        let mends: Vec<common::MendOf<'_>> =
            (0..4).map(|at| (keys[at], minutes[at], vec![(at, 1.0)], None)).collect();
        let checks = [("ask", price, common::yes_no(&yes))];
        let model = common::model(&priors, 0.0, &mends, &checks, &[], None);
        let situation = Situation::start(&model);
        let advice = advise(&model, &situation, Effort::look_ahead());
        assert!(matches!(advice.method, Method::LookAhead { .. }));
        assert_eq!(advice.best.choice, Choice::Do(first));
        assert!((advice.best.expected.0 - optimum).abs() < 5e-7, "{}, not {optimum}", advice.best.expected.0);
        let followed = expected(&model, &situation, &mut Advised::new(Effort::look_ahead())).0;
        assert!((followed - optimum).abs() < 5e-7, "followed {followed}, not {optimum}");
    }
}

#[test]
fn several_mends_for_a_cause_are_not_taken_greedily() {
    // T6 of the same: greedy starts with the mend of both middle causes, 1.66; best is 1.5.
    let mends = [
        ("a", 1.0, vec![(1, 1.0), (2, 1.0)], None),
        ("b", 1.0, vec![(0, 1.0), (1, 1.0)], None),
        ("c", 1.0, vec![(2, 1.0), (3, 1.0)], None),
    ];
    let model = common::model(&[0.22, 0.28, 0.28, 0.22], 0.0, &mends, &[], &[], None);
    let advice = advise(&model, &Situation::start(&model), Effort::look_ahead());
    assert_eq!(advice.best.choice, Choice::Do(1));
    assert!((advice.best.expected.0 - 1.5).abs() < 1e-9, "{}", advice.best.expected.0);
}

#[test]
fn nothing_left_to_do_ends_the_search() {
    let mends = [("a", 5.0, vec![(0, 1.0)], None)];
    let mut call = common::model(&[1.0], 0.2, &mends, &[], &[], Some(30.0));
    let mut situation = Situation::start(&call);
    situation.done[0] = true;
    assert_eq!(advise(&call, &situation, Effort::default()).best.choice, Choice::GiveUp);
    assert!((advise(&call, &situation, Effort::default()).best.expected.0 - 30.0).abs() < 1e-9);
    call.give_up = None;
    let advice = advise(&call, &situation, Effort::default());
    assert_eq!((advice.best.choice, advice.best.expected), (Choice::Stop, Minutes(0.0)));
    // The cause is ruled out: the mend is no use any more.
    let ruled_out = Belief { singles: vec![0.0, 1.0], pairs: Vec::new(), contradiction: false };
    let situation = Situation { belief: ruled_out, ..Situation::start(&call) };
    assert_eq!(advise(&call, &situation, Effort::default()).best.choice, Choice::Stop);
}

#[test]
fn evenings_cost_on_average_what_is_expected() {
    const EVENINGS: u32 = 20_000;
    let mut wrong = Vec::new();
    for seed in 1..=6 {
        let model = random_model(&mut Dice(seed), &Size { seems: 0.3, ..SMALL });
        let situation = Situation::start(&model);
        let mut advised = Advised::new(Effort::default());
        let mean = expected(&model, &situation, &mut advised).0;
        let mut dice = Dice(1_000 + seed);
        let (mut sum, mut squares) = (0.0, 0.0);
        for _ in 0..EVENINGS {
            let mut part = dice.part();
            let truth = situation.belief.singles.iter().position(|weight| {
                part -= weight;
                part < 0.0
            });
            let truth = truth.unwrap_or(0);
            let evening = evening(&model, &situation, truth, &mut advised, &mut || dice.part());
            if let Ended::Cured(step) | Ended::Hidden(step) = evening.ended {
                assert_eq!(evening.steps.last().unwrap().0, step);
            }
            sum += evening.minutes.0;
            squares += evening.minutes.0.powi(2);
        }
        let n = f64::from(EVENINGS);
        let error = ((squares / n - (sum / n).powi(2)).max(0.0) / n).sqrt();
        // Five standard errors: the seeds are fixed, so it holds always or never.
        let near = (sum / n - mean).abs() <= 5.0 * error + 1e-9; // false for NaN
        if !near {
            wrong.push(format!("seed {seed}: {} on average, {mean} expected", sum / n));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A random model and a situation anywhere in it, two causes at once among what is believed.
fn anywhere(seed: u64) -> (Model, Situation) {
    let mut dice = Dice(seed);
    let model = random_model(&mut dice, &MIXED);
    let mut situation = Situation::start(&model);
    situation.done.iter_mut().for_each(|done| *done = dice.chance(0.15));
    for cover in 0..model.covers.len() {
        let around = model.covers[cover].inside;
        situation.open[cover] = around.is_none_or(|around| situation.open[around]) && dice.chance(0.3);
    }
    let mut singles: Vec<f64> =
        (0..model.hypotheses()).map(|_| if dice.chance(0.2) { 0.0 } else { dice.part().powi(4) }).collect();
    singles[0] += 1e-3;
    let mut pairs = Vec::new();
    if dice.chance(0.5) {
        for one in 0..model.causes.len() {
            pairs.extend((one + 1..model.causes.len()).map(|other| Pair {
                one,
                other,
                weight: dice.part().powi(3) * 0.1,
            }));
        }
    }
    let sum: f64 = singles.iter().sum::<f64>() + pairs.iter().map(|pair| pair.weight).sum::<f64>();
    for weight in &mut singles {
        *weight /= sum;
    }
    for pair in &mut pairs {
        pair.weight /= sum;
    }
    situation.belief = Belief { singles, pairs, contradiction: false };
    (model, situation)
}

fn efforts() -> impl Strategy<Value = Effort> {
    prop_oneof![
        Just(Effort { exact_states: 3_000.0, evaluations: 2_000 }),
        Just(Effort { exact_states: 0.0, evaluations: 3_000 }),
        Just(Effort { exact_states: 0.0, evaluations: 30 }),
        Just(Effort { exact_states: 0.0, evaluations: 0 }),
    ]
}

fn scaled(mut model: Model, by: f64) -> Model {
    let scale = |minutes: &mut Minutes| minutes.0 *= by;
    model.steps.iter_mut().for_each(|step| scale(&mut step.minutes));
    for cover in &mut model.covers {
        scale(&mut cover.open);
        scale(&mut cover.close);
    }
    scale(&mut model.comeback);
    if let Some(give_up) = &mut model.give_up {
        scale(&mut give_up.minutes);
    }
    model
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(200) })]

    #[test]
    fn advice_is_sound_anywhere(seed: u64, effort in efforts()) {
        let (model, situation) = anywhere(seed);
        let advice = advise(&model, &situation, effort);
        prop_assert_eq!(&advice, &advise(&model, &situation, effort));
        let mut last = 0.0;
        for candidate in every(&advice) {
            let (minutes, expected) = (candidate.minutes.0, candidate.expected.0);
            prop_assert!(expected.is_finite() && minutes >= 0.0 && expected >= minutes - 1e-6);
            prop_assert!(expected >= last - 2e-6, "the best first");
            last = expected;
            match candidate.choice {
                Choice::Do(step) => prop_assert!(!situation.done[step]),
                Choice::GiveUp => prop_assert!(model.give_up.is_some()),
                Choice::Stop => prop_assert!(model.give_up.is_none()),
            }
        }
        if let Some(give_up) = &model.give_up {
            prop_assert!(advice.best.expected.0 <= give_up.minutes.0 + 1e-6);
        }
    }

    #[test]
    fn minutes_have_no_scale(seed: u64, effort in efforts(), by in 0.05..20.0_f64) {
        let (model, situation) = anywhere(seed);
        let one = advise(&model, &situation, effort).best.expected.0;
        let other = advise(&scaled(model, by), &situation, effort).best.expected.0;
        prop_assert!((one * by - other).abs() <= 1e-6 * (1.0 + one * by + by), "{} and {}", one * by, other);
    }

    #[test]
    fn every_policy_ends(seed: u64) {
        let (model, situation) = anywhere(seed);
        let mut dice = Dice(seed);
        let effort = Effort { exact_states: 1_000.0, evaluations: 300 };
        let policies: [&mut dyn Policy; 3] = [&mut Advised::new(effort), &mut FixedOrder, &mut POverC];
        for policy in policies {
            let truth = dice.whole(0, model.causes.len());
            let evening = evening(&model, &situation, truth, policy, &mut || dice.part());
            prop_assert!(evening.minutes.0.is_finite() && evening.steps.len() <= model.steps.len());
        }
    }
}
