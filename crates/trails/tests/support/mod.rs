//! Models drawn from a seed, for the tests of weights.
#![allow(dead_code, reason = "each test uses its own part of it")]

use register::family::Energised;
use trails::model::{Answer, Cause, Check, Kind, Mend, Model, Step};
use units::Minutes;

/// Numbers from a seed: `SplitMix64` (Steele, Lea & Flood 2014, "Fast splittable pseudorandom
/// number generators", figure 14).
pub struct Draw(u64);

impl Draw {
    pub fn new(seed: u64) -> Draw {
        Draw(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// In 0..1.
    #[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
    pub fn ratio(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.ratio()
    }

    /// From `low`, below `high`.
    #[expect(clippy::cast_possible_truncation, reason = "below `high`")]
    pub fn whole(&mut self, low: usize, high: usize) -> usize {
        low + (self.next() % (high - low) as u64) as usize
    }
}

/// A check of two to four answers that speaks about some of the causes. Every likelihood is
/// above 0 but a few of those of causes it speaks about.
pub fn check(draw: &mut Draw, causes: usize) -> Step {
    let answers = draw.whole(2, 5);
    let column = |draw: &mut Draw, zero: bool| {
        let mut column: Vec<f64> = (0..answers).map(|_| draw.between(0.02, 1.0).powi(3)).collect();
        if zero {
            let at = draw.whole(0, answers);
            column[at] = 0.0;
        }
        let sum: f64 = column.iter().sum();
        column.into_iter().map(|one| one / sum).collect::<Vec<f64>>()
    };
    let usual = column(draw, false);
    let speaks: Vec<bool> = (0..causes).map(|_| draw.ratio() < 0.4).collect();
    let columns: Vec<Vec<f64>> = speaks
        .iter()
        .map(|speaks| {
            let zero = draw.ratio() < 0.1;
            if *speaks { column(draw, zero) } else { usual.clone() }
        })
        .collect();
    let unlisted = column(draw, false);
    let likelihood = (0..answers)
        .map(|at| columns.iter().chain(std::iter::once(&unlisted)).map(|column| column[at]).collect())
        .collect();
    step(Kind::Check(Check {
        answers: (0..answers)
            .map(|at| Answer { key: format!("a{at}"), label: format!("Answer {at}") })
            .collect(),
        likelihood,
        speaks,
        rule: None,
        field: None,
        lamp: false,
    }))
}

/// A check with these likelihoods, `[answer][hypothesis]`.
pub fn check_of(likelihood: &[&[f64]], speaks: &[bool]) -> Step {
    step(Kind::Check(Check {
        answers: (0..likelihood.len())
            .map(|at| Answer { key: format!("a{at}"), label: format!("Answer {at}") })
            .collect(),
        likelihood: likelihood.iter().map(|row| row.to_vec()).collect(),
        speaks: speaks.to_vec(),
        rule: None,
        field: None,
        lamp: false,
    }))
}

/// A mend that cures a few causes; the trial of some of them looks good all the same.
pub fn mend(draw: &mut Draw, causes: usize) -> Step {
    let some = |draw: &mut Draw, often: f64, most: f64| -> Vec<f64> {
        (0..=causes).map(|_| if draw.ratio() < often { draw.between(0.05, most) } else { 0.0 }).collect()
    };
    let (cures, seems) = (some(draw, 0.4, 0.98), some(draw, 0.3, 0.8));
    mend_of(&cures, &seems)
}

/// A mend with these chances, one a hypothesis.
pub fn mend_of(cures: &[f64], seems: &[f64]) -> Step {
    let (cures, seems) = (cures.to_vec(), seems.to_vec());
    step(Kind::Mend(Mend { cures, seems, watch: String::new(), rule: None }))
}

fn step(kind: Kind) -> Step {
    Step {
        key: String::new(),
        label: "A step.".to_owned(),
        how: String::new(),
        good: String::new(),
        minutes: Minutes(1.0),
        needs: Vec::new(),
        energises: Vec::<Energised>::new(),
        caution: String::new(),
        wants: Vec::new(),
        leaves: None,
        kind,
    }
}

/// A model with causes of these weights.
pub fn model(weights: &[f64], unlisted: f64, second: f64, mut steps: Vec<Step>) -> Model {
    for (at, step) in steps.iter_mut().enumerate() {
        step.key = format!("s{at}");
    }
    let cause = |(at, weight): (usize, &f64)| Cause {
        key: format!("c{at}"),
        label: format!("Cause {at}"),
        weight: *weight,
        rule: None,
        wants: Vec::new(),
    };
    Model {
        key: "drawn".to_owned(),
        name: "Drawn".to_owned(),
        about: String::new(),
        causes: weights.iter().enumerate().map(cause).collect(),
        unlisted,
        covers: Vec::new(),
        steps,
        give_up: None,
        second,
        comeback: Minutes::ZERO,
        proofs: Vec::new(),
    }
}
