//! The weights of causes are those of an independent library of Bayesian networks.
//!
//! Source: pyAgrum 3.3.1, exact inference by lazy propagation (Madsen & Jensen 1999), by
//! `reference/posteriors.py`. The models are drawn from a fixed seed.
#![expect(clippy::disallowed_types, clippy::disallowed_methods, reason = "the test runs another program")]
#![expect(clippy::unwrap_used, reason = "a test that can't go on fails")]
#![expect(clippy::print_stdout, reason = "the measured deviation is told")]

#[path = "../../../reference/python.rs"]
mod python;
mod support;

use std::fmt::Write as _;

use support::{Draw, check, mend, model};
use trails::belief::{Belief, Seen};
use trails::model::{Kind, Model};

/// Ours and theirs may differ by this much.
const AS_CLOSE: f64 = 1e-9;

/// The script's words for a model and what was seen; a list of numbers prints as JSON's.
fn asked(model: &Model, seen: &[Seen]) -> String {
    let mut out = format!("{{\"weights\":{:?},\"second\":{:?},\"seen\":[", model.priors(), model.second);
    for (at, one) in seen.iter().enumerate() {
        if at > 0 {
            out.push(',');
        }
        match one {
            Seen::Answer { step, answer } => {
                let check = model.steps[*step].as_check().unwrap();
                let (likelihood, speaks) = (&check.likelihood, &check.speaks);
                write!(out, "{{\"answer\":{answer},\"likelihood\":{likelihood:?},\"speaks\":{speaks:?}}}")
                    .unwrap();
            }
            Seen::Failed { step } => {
                let mend = model.steps[*step].as_mend().unwrap();
                write!(out, "{{\"cures\":{:?},\"seems\":{:?}}}", mend.cures, mend.seems).unwrap();
            }
            Seen::Weighed { .. } => panic!("the script knows nothing of these"),
        }
    }
    out.push_str("]}");
    out
}

fn answers(cases: &[(Model, Vec<Seen>)]) -> Vec<Vec<f64>> {
    let jobs: Vec<(String, Vec<u8>)> =
        cases.iter().map(|(model, seen)| ("model".to_owned(), asked(model, seen).into_bytes())).collect();
    let numbers = |answer: Vec<u8>| {
        let text = String::from_utf8(answer).unwrap();
        let inside = text.strip_prefix('[').and_then(|rest| rest.strip_suffix(']')).unwrap();
        inside.split(", ").map(|number| number.parse().unwrap()).collect()
    };
    python::python("posteriors.py", &jobs).into_iter().map(numbers).collect()
}

/// Some causes, several checks and mends, each step drawn likely or unlikely.
fn drawn(draw: &mut Draw, causes: usize, second: f64) -> Model {
    let weights: Vec<f64> = (0..causes).map(|_| draw.between(0.05, 10.0)).collect();
    let mut steps = Vec::new();
    for _ in 0..draw.whole(3, 7) {
        steps.push(check(draw, causes));
    }
    for _ in 0..draw.whole(1, 4) {
        steps.push(mend(draw, causes));
    }
    let model = model(&weights, draw.between(0.05, 4.0), second, steps);
    model.check().unwrap();
    model
}

/// Every step once: checks with a random answer, mends as failed ones, in a random order.
fn evening(draw: &mut Draw, model: &Model) -> Vec<Seen> {
    let mut left: Vec<usize> = (0..model.steps.len()).collect();
    let mut seen = Vec::new();
    while !left.is_empty() {
        let step = left.swap_remove(draw.whole(0, left.len()));
        seen.push(match &model.steps[step].kind {
            Kind::Check(check) => Seen::Answer { step, answer: draw.whole(0, check.answers.len()) },
            Kind::Mend(_) => Seen::Failed { step },
        });
    }
    seen
}

fn compared(cases: &[(Model, Vec<Seen>)], ours: impl Fn(&Belief) -> Vec<f64>) {
    let (mut numbers, mut farthest, mut wrong) = (0, 0.0_f64, Vec::new());
    for (at, ((model, seen), theirs)) in cases.iter().zip(answers(cases)).enumerate() {
        let ours = ours(&Belief::of(model, seen));
        assert_eq!(ours.len(), theirs.len(), "model {at} has as many hypotheses");
        for (hypothesis, (our, their)) in ours.iter().zip(&theirs).enumerate() {
            numbers += 1;
            farthest = farthest.max((our - their).abs());
            // Not the other way round, so that NaN is wrong.
            let close = (our - their).abs() <= AS_CLOSE;
            if !close {
                wrong.push(format!("model {at}, hypothesis {hypothesis}: {our}, not {their}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{} of {numbers} differ:\n{}", wrong.len(), wrong.join("\n"));
    println!("{} models, {numbers} weights, the farthest off by {farthest:e}", cases.len());
}

#[test]
fn fifty_models_with_one_cause_at_a_time_are_weighed_as_by_another_library() {
    let mut draw = Draw::new(1);
    let cases: Vec<(Model, Vec<Seen>)> = (0..50)
        .map(|_| {
            let causes = draw.whole(3, 26);
            let model = drawn(&mut draw, causes, 0.0);
            let seen = evening(&mut draw, &model);
            (model, seen)
        })
        .collect();
    compared(&cases, |belief| {
        assert!(belief.pairs.is_empty() && !belief.contradiction);
        belief.singles.clone()
    });
}

/// Every pair in the order of its causes; those that a likelihood of 0 ruled out weigh nothing.
fn with_pairs(belief: &Belief) -> Vec<f64> {
    let causes = belief.singles.len() - 1;
    let mut all = belief.singles.clone();
    for one in 0..causes {
        for other in one + 1..causes {
            let mut there = belief.pairs.iter().filter(|pair| (pair.one, pair.other) == (one, other));
            all.push(there.next().map_or(0.0, |pair| pair.weight));
            assert!(there.next().is_none(), "a pair stands there once");
        }
    }
    all
}

/// Draws models until `many` have pairs that are considered after what `seen` chooses.
fn considered(
    draw: &mut Draw,
    many: usize,
    seen: impl Fn(&mut Draw, &Model) -> Vec<Seen>,
) -> Vec<(Model, Vec<Seen>)> {
    let mut cases = Vec::new();
    for _ in 0..100 * many {
        let (causes, second) = (draw.whole(3, 13), draw.between(0.05, 1.0));
        let model = drawn(draw, causes, second);
        let seen = seen(draw, &model);
        if cases.len() < many && !Belief::of(&model, &seen).pairs.is_empty() {
            cases.push((model, seen));
        }
    }
    assert_eq!(cases.len(), many, "too few models have pairs that are considered");
    cases
}

#[test]
fn twenty_models_with_two_causes_at_once_are_weighed_as_by_another_library() {
    let mut draw = Draw::new(2);
    let cases = considered(&mut draw, 20, |draw, model| {
        let mut seen = evening(draw, model);
        seen.sort_by_key(|one| matches!(one, Seen::Failed { .. }));
        let one_mend = seen.iter().position(|one| matches!(one, Seen::Failed { .. }));
        seen.truncate(one_mend.unwrap());
        seen
    });
    compared(&cases, with_pairs);
}

#[test]
fn twenty_models_whose_mends_leave_one_of_two_causes_are_weighed_as_by_another_library() {
    let mut draw = Draw::new(3);
    let cases = considered(&mut draw, 20, evening);
    compared(&cases, with_pairs);
}
