//! Laws of the weights, whatever the model and whatever was seen.
#![expect(clippy::unwrap_used, reason = "a test that can't go on fails")]

mod support;

use proptest::prelude::*;
use support::{Draw, check, check_of, mend, mend_of, model};
use trails::belief::{Belief, PAIRS_FROM, Seen};
use trails::model::{Kind, Model, Step};

/// A model of these steps drawn from a seed.
fn drawn(draw: &mut Draw, second: f64, checks: usize, mends: usize) -> Model {
    let causes = draw.whole(2, 9);
    let weights: Vec<f64> = (0..causes).map(|_| draw.between(0.01, 10.0)).collect();
    let mut steps: Vec<Step> = (0..checks).map(|_| check(draw, causes)).collect();
    steps.extend((0..mends).map(|_| mend(draw, causes)));
    let model = model(&weights, draw.between(0.01, 4.0), second, steps);
    model.check().unwrap();
    model
}

fn seen(draw: &mut Draw, model: &Model, step: usize) -> Seen {
    match &model.steps[step].kind {
        Kind::Check(check) => Seen::Answer { step, answer: draw.whole(0, check.answers.len()) },
        Kind::Mend(_) => Seen::Failed { step },
    }
}

fn shuffle(draw: &mut Draw, seen: &mut [Seen]) {
    for at in (1..seen.len()).rev() {
        seen.swap(at, draw.whole(0, at + 1));
    }
}

fn all(belief: &Belief) -> Vec<f64> {
    belief.singles.iter().copied().chain(belief.pairs.iter().map(|pair| pair.weight)).collect()
}

fn sound(belief: &Belief) -> Result<(), TestCaseError> {
    let weights = all(belief);
    for weight in &weights {
        prop_assert!(weight.is_finite() && *weight >= 0.0, "{weight} in {weights:?}");
    }
    let sum: f64 = weights.iter().sum();
    prop_assert!((sum - 1.0).abs() <= 1e-9, "{sum}");
    Ok(())
}

proptest! {
    /// What is seen between two mends is one body of evidence.
    #[test]
    fn the_order_of_checks_between_two_mends_does_not_matter(seed in any::<u64>(), second in 0.0..=1.0) {
        let mut draw = Draw::new(seed);
        let model = drawn(&mut draw, second, 6, 2);
        let mut stretches: Vec<Vec<Seen>> =
            [[0, 1], [2, 3], [4, 5]].iter().map(|few| few.iter().map(|at| seen(&mut draw, &model, *at)).collect()).collect();
        let joined = |stretches: &[Vec<Seen>]| {
            let mends = [Seen::Failed { step: 6 }, Seen::Failed { step: 7 }];
            let mut all = Vec::new();
            for (at, stretch) in stretches.iter().enumerate() {
                all.extend(stretch.iter().cloned());
                all.extend(mends.get(at).cloned());
            }
            all
        };
        let before = Belief::of(&model, &joined(&stretches));
        for stretch in &mut stretches {
            stretch.reverse();
        }
        let after = Belief::of(&model, &joined(&stretches));
        // Unless the pairs stand on the very threshold.
        if before.pairs.len() == after.pairs.len() {
            for (one, other) in all(&before).iter().zip(all(&after)) {
                prop_assert!((one - other).abs() <= 1e-12, "{one} {other}");
            }
        } else {
            let paired: f64 = before.pairs.iter().chain(&after.pairs).map(|pair| pair.weight).sum();
            prop_assert!(paired <= PAIRS_FROM + 1e-9, "{paired}");
        }
    }

    #[test]
    fn weights_are_shares_of_one(seed in any::<u64>(), second in 0.0..=1.0, rounds in 1..40_usize) {
        let mut draw = Draw::new(seed);
        let model = drawn(&mut draw, second, 4, 3);
        let mut all = Vec::new();
        for _ in 0..rounds {
            let mut few: Vec<Seen> = (0..model.steps.len()).map(|at| seen(&mut draw, &model, at)).collect();
            shuffle(&mut draw, &mut few);
            all.extend(few);
        }
        sound(&Belief::of(&model, &all))?;
    }

    /// Only a likelihood of 0 rules a cause out, however much speaks against it.
    #[test]
    fn nothing_but_a_zero_rules_a_cause_out(
        seed in any::<u64>(), second in 0.0..=1.0, rounds in 1..400_usize, least in prop_oneof![Just(1e-300), Just(1e-3)],
    ) {
        let mut draw = Draw::new(seed);
        let causes = draw.whole(2, 6);
        let good: Vec<f64> = (0..=causes).map(|_| if draw.ratio() < 0.5 { least } else { 1.0 - least }).collect();
        let bad: Vec<f64> = good.iter().map(|good| 1.0 - good).collect();
        let likely = |row: &[f64]| row.iter().all(|one| *one > 0.0);
        let weights: Vec<f64> = (0..causes).map(|_| draw.between(0.01, 10.0)).collect();
        let mend = mend_of(&vec![0.999; causes + 1], &vec![0.5; causes + 1]);
        let speaks: Vec<bool> = (0..causes).map(|_| draw.ratio() < 0.5).collect();
        let model = model(&weights, 1.0, second, vec![check_of(&[&good, &bad], &speaks), mend]);
        let answer = usize::from(!likely(&good));
        prop_assume!(likely(if answer == 0 { &good } else { &bad }));
        let mut all = vec![Seen::Answer { step: 0, answer }; rounds];
        all.push(Seen::Failed { step: 1 });
        let belief = Belief::of(&model, &all);
        sound(&belief)?;
        prop_assert!(!belief.contradiction);
        prop_assert!(belief.singles.iter().all(|weight| *weight > 0.0), "{:?}", belief.singles);
        prop_assert!(belief.pairs.iter().all(|pair| pair.weight > 0.0), "{:?}", belief.pairs);
    }

    #[test]
    fn what_can_not_all_be_so_is_flagged(seed in any::<u64>(), second in 0.0..=1.0) {
        let mut draw = Draw::new(seed);
        let causes = draw.whole(1, 6);
        let weights: Vec<f64> = (0..causes).map(|_| draw.between(0.01, 10.0)).collect();
        let (never, sure) = (vec![0.0; causes + 1], vec![1.0; causes + 1]);
        let checks = vec![check_of(&[&never, &sure], &vec![true; causes]), check(&mut draw, causes), mend(&mut draw, causes)];
        let model = model(&weights, 1.0, second, checks);
        model.check().unwrap();
        let mut all: Vec<Seen> = (1..3).map(|at| seen(&mut draw, &model, at)).collect();
        all.push(Seen::Answer { step: 0, answer: 0 });
        shuffle(&mut draw, &mut all);
        let belief = Belief::of(&model, &all);
        prop_assert!(belief.contradiction);
        prop_assert!(belief.pairs.is_empty());
        for cause in 0..causes {
            prop_assert!(belief.of_cause(cause).abs() < f64::MIN_POSITIVE);
        }
        prop_assert!((belief.unlisted() - 1.0).abs() < 1e-12);
    }

    /// With fewer second faults there is less weight on pairs, and none without any.
    #[test]
    fn pairs_hold_the_threshold_or_nothing(seed in any::<u64>(), second in 0.0..=1.0) {
        let mut draw = Draw::new(seed);
        let mut model = drawn(&mut draw, second, 5, 0);
        let all: Vec<Seen> = (0..5).map(|at| seen(&mut draw, &model, at)).collect();
        let paired = |belief: &Belief| belief.pairs.iter().map(|pair| pair.weight).sum::<f64>();
        let belief = Belief::of(&model, &all);
        prop_assert!(belief.pairs.is_empty() || paired(&belief) >= PAIRS_FROM - 1e-12);
        for share in [0.5, 0.1, 0.0] {
            model.second = second * share;
            let fewer = Belief::of(&model, &all);
            prop_assert!(paired(&fewer) <= paired(&belief) + 1e-12);
            prop_assert!(share > 0.0 || fewer.pairs.is_empty());
        }
    }
}

/// Three causes of 5, 3 and 1 with 1 unlisted. Two checks each speak about one of the first
/// two and find it: an answer that is rare otherwise.
fn two_found(second: f64) -> Model {
    let one = check_of(&[&[0.9, 0.01, 0.01, 0.01], &[0.1, 0.99, 0.99, 0.99]], &[true, false, false]);
    let other = check_of(&[&[0.01, 0.8, 0.01, 0.01], &[0.99, 0.2, 0.99, 0.99]], &[false, true, false]);
    let mend = mend_of(&[0.9, 0.0, 0.0, 0.0], &[0.0, 0.5, 0.0, 0.0]);
    model(&[5.0, 3.0, 1.0], 1.0, second, vec![one, other, mend])
}

fn near(have: f64, wanted: f64) {
    let close = (have - wanted).abs() < 1e-12;
    assert!(close, "{have}, not {wanted}");
}

const BOTH_FOUND: [Seen; 2] = [Seen::Answer { step: 0, answer: 0 }, Seen::Answer { step: 1, answer: 0 }];

/// By hand, from the definition: one cause after both answers 0.5 · 0.9 · 0.01 = 0.0045,
/// 0.3 · 0.01 · 0.8 = 0.0024, and 0.1 · 0.01 · 0.01 = 0.00001 for the third and for the
/// unlisted; two causes 0.05 · 0.5 · 0.3 · 0.9 · 0.8 = 0.0054 for the first two,
/// 0.05 · 0.5 · 0.1 · 0.9 · 0.01 = 0.0000225 for first and third, and
/// 0.05 · 0.3 · 0.1 · 0.01 · 0.8 = 0.000012 for the others: 0.0123545 in all.
#[test]
fn pairs_appear_when_one_cause_explains_badly() {
    let belief = Belief::of(&two_found(0.05), &BOTH_FOUND);
    let whole = 0.012_354_5;
    let singles = [0.0045, 0.0024, 0.000_01, 0.000_01];
    for (have, wanted) in belief.singles.iter().zip(singles) {
        near(*have, wanted / whole);
    }
    let pairs = [(0, 1, 0.0054), (0, 2, 0.000_022_5), (1, 2, 0.000_012)];
    assert_eq!(belief.pairs.len(), pairs.len());
    for (have, (one, other, wanted)) in belief.pairs.iter().zip(pairs) {
        assert_eq!((have.one, have.other), (one, other));
        near(have.weight, wanted / whole);
    }
    near(belief.of_cause(0), (0.0045 + 0.0054 + 0.000_022_5) / whole);
}

/// By hand: after the first answer alone one cause holds 0.45 + 0.003 + 0.001 + 0.001, and two
/// 0.05 · (0.15 · 0.9 + 0.05 · 0.9 + 0.03 · 0.01): 1.9 % of the whole.
#[test]
fn pairs_stay_out_while_one_cause_explains_well() {
    let model = two_found(0.05);
    assert!(Belief::prior(&model).pairs.is_empty());
    let belief = Belief::of(&model, &BOTH_FOUND[..1]);
    assert!(belief.pairs.is_empty());
    for (have, wanted) in belief.singles.iter().zip([0.45, 0.003, 0.001, 0.001]) {
        near(*have, wanted / 0.455);
    }
    assert!(Belief::of(&two_found(0.0), &BOTH_FOUND).pairs.is_empty(), "a model without second faults");
}

/// By hand: the mend cures the first with 0.9, and the second fault doesn't show itself in half
/// of the trials. Of two causes both stay with 0.1 · (1 - 0 · 0.5) = 0.1, and only the second
/// with 0.9 · (1 - 0.5) = 0.45, so that 0.0054 splits into 0.00054 and 0.00243. First and third:
/// both 0.1, the third alone 0.9, 0.00000225 and 0.00002025. Second and third: 1 - 0.5 · 0 = 1.
#[test]
fn a_failed_mend_that_may_have_cured_one_of_two_leaves_the_other() {
    let mut seen = BOTH_FOUND.to_vec();
    seen.push(Seen::Failed { step: 2 });
    let belief = Belief::of(&two_found(0.05), &seen);
    let singles = [0.0045 * 0.1, 0.0024 * 0.5 + 0.002_43, 0.000_01 + 0.000_020_25, 0.000_01];
    let pairs = [0.000_54, 0.000_002_25, 0.000_012];
    let whole: f64 = singles.iter().chain(&pairs).sum();
    for (have, wanted) in belief.singles.iter().zip(singles) {
        near(*have, wanted / whole);
    }
    assert_eq!(belief.pairs.len(), pairs.len());
    for (have, wanted) in belief.pairs.iter().zip(pairs) {
        near(have.weight, wanted / whole);
    }
}
