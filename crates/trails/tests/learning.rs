//! What closed trails teach shortens the searches that follow.

mod support;

use support::Draw;
use trails::learn::{Counts, STRENGTH, UNLISTED, teach};
use trails::library;
use trails::model::Model;
use trails::planner::Effort;
use trails::policy::{Advised, evening};
use trails::table::Situation;

fn pick(draw: &mut Draw, weights: &[f64]) -> usize {
    let mut left = draw.ratio() * weights.iter().sum::<f64>();
    let at = weights.iter().position(|weight| {
        left -= weight;
        left < 0.0
    });
    at.unwrap_or(weights.len() - 1)
}

/// A club whose faults are others than the library thinks: the rare ones are the common ones.
fn other_weights(model: &Model) -> Vec<f64> {
    let mut order: Vec<usize> = (0..model.causes.len()).collect();
    order.sort_by(|a, b| model.causes[*a].weight.total_cmp(&model.causes[*b].weight));
    let mut weights = vec![0.0; model.hypotheses()];
    // A few faults make up most of a club's evenings.
    for (rank, cause) in order.into_iter().enumerate() {
        weights[cause] = 0.6_f64.powi(i32::try_from(rank).unwrap_or(i32::MAX));
    }
    weights
}

fn mean_minutes(model: &Model, truths: &[usize]) -> f64 {
    let mut policy = Advised::new(Effort { exact_states: 0.0, evaluations: 300 });
    let mut draws = Draw::new(77);
    let situation = Situation::start(model);
    let sum: f64 = truths
        .iter()
        .map(|truth| evening(model, &situation, *truth, &mut policy, &mut || draws.ratio()).minutes.0)
        .sum();
    sum / f64::from(u32::try_from(truths.len()).unwrap_or(u32::MAX))
}

#[test]
fn thirty_cases_of_other_faults_shorten_the_evenings() {
    for symptom in ["wont_pair", "no_telemetry"] {
        let model = library::symptom(symptom).unwrap_or_else(|| panic!("no {symptom}"));
        let weights = other_weights(&model);
        let mut draws = Draw::new(30);
        let mut counts = Counts::default();
        for _ in 0..30 {
            let cause = pick(&mut draws, &weights);
            counts.add(model.causes.get(cause).map_or(UNLISTED, |cause| &cause.key));
        }
        let mut taught = model.clone();
        teach(&mut taught, &counts, STRENGTH);
        let evenings: Vec<usize> = (0..300).map(|_| pick(&mut draws, &weights)).collect();
        let (before, after) = (mean_minutes(&model, &evenings), mean_minutes(&taught, &evenings));
        println!("{symptom}: {before:.1} minutes before, {after:.1} after 30 cases");
        assert!(after < before * 0.9, "{symptom}: {before} {after}");
    }
}

#[test]
fn counts_are_the_mean_of_a_dirichlet_posterior() {
    // (strength * p + n) / (strength + N): the mean of Dirichlet(strength * p + n), from memory.
    let mut model = library::symptom("wont_pair").unwrap_or_else(|| panic!("no model"));
    let prior: f64 = model.priors().iter().sum();
    let p = model.causes[3].weight / prior;
    let key = model.causes[3].key.clone();
    let mut counts = Counts::default();
    for cause in [key.as_str(), &key, "band", UNLISTED] {
        counts.add(cause);
    }
    teach(&mut model, &counts, 12.0);
    let total: f64 = model.priors().iter().sum();
    assert!((total - 16.0).abs() < 1e-9, "{total}");
    assert!((model.causes[3].weight - (12.0 * p + 2.0)).abs() < 1e-9);
}
