//! How likely each cause is after what was seen: exact Bayesian inference.
//!
//! The hypotheses are *this one cause* for each cause, *something not in this list*, and,
//! where one cause explains what was seen badly, *these two causes at once*.
//!
//! **Pairs.** Causes f and g together begin with weight `second · p(f) · p(g)`, p being the
//! normalised prior weights. An answer's likelihood under a pair is that of the one cause the
//! check speaks about; where it speaks about both or neither, the mean of the two columns. A
//! mend that fails may have cured one of the two: the pair's weight then moves to the other
//! one alone. Evidence from elsewhere weighs a pair by the product of its causes' factors.
//! Pairs are *considered* when they hold at least [`PAIRS_FROM`] of the weight.
//!
//! **Mends.** A mend cures cause f with probability c(f), settled once. That its trial looks
//! bad has likelihood (1 − c(f))·(1 − s(f)), s being how likely a fault that is still there
//! doesn't show itself in the trial. A pair doesn't show itself with s(f)·s(g).

use crate::model::{CauseAt, Kind, Model, StepAt};

/// Pairs are considered when they hold this share of the weight (judgement).
pub const PAIRS_FROM: f64 = 0.10;

/// Models with more causes than this are searched for one fault at a time (the pairs of
/// 250 causes are 31,125 hypotheses).
pub const PAIRS_UP_TO: usize = 250;

/// Something that was seen or tried.
#[derive(Clone, Debug, PartialEq)]
pub enum Seen {
    /// A check was answered.
    Answer {
        /// Which check.
        step: StepAt,
        /// Which answer.
        answer: usize,
    },
    /// A mend was tried, and the fault is still there.
    Failed {
        /// Which mend.
        step: StepAt,
    },
    /// Evidence from elsewhere (the register): a factor for each hypothesis, in 0..=1.
    Weighed {
        /// One factor a hypothesis.
        factors: Vec<f64>,
    },
}

/// Two causes at once.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pair {
    /// The first cause.
    pub one: CauseAt,
    /// The second, a later one in the model.
    pub other: CauseAt,
    /// Its weight.
    pub weight: f64,
}

/// How likely each hypothesis is; all weights together are 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Belief {
    /// One weight a hypothesis: the causes in the model's order, then *not in this list*.
    pub singles: Vec<f64>,
    /// Pairs, where they are considered, in the order of their causes; otherwise none.
    pub pairs: Vec<Pair>,
    /// What was seen can't all be so, under any hypothesis: all weight is then on *not in
    /// this list*.
    pub contradiction: bool,
}

/// Weights stay above this unless a certain answer rules the hypothesis out.
const LEAST: f64 = f64::MIN_POSITIVE;

fn times(weight: &mut f64, factor: f64) {
    // A NaN or negative factor can't come from a checked model; it counts as certain.
    let factor = if factor > 0.0 { factor } else { 0.0 };
    let after = *weight * factor;
    *weight = if after < LEAST && *weight > 0.0 && factor > 0.0 { LEAST } else { after };
}

/// Scales to a sum of 1; false when there is nothing to scale.
fn normalise(weights: &mut [f64]) -> bool {
    let most = weights.iter().copied().fold(0.0, f64::max);
    if !(most > 0.0 && most.is_finite()) {
        return false;
    }
    let sum: f64 = weights.iter().map(|weight| weight / most).sum();
    for weight in weights.iter_mut().filter(|weight| **weight > 0.0) {
        *weight = (*weight / most / sum).max(LEAST);
    }
    true
}

impl Belief {
    /// Before anything was seen.
    pub fn prior(model: &Model) -> Belief {
        let mut singles = model.priors();
        let possible = normalise(&mut singles);
        let mut belief = Belief { singles, pairs: Vec::new(), contradiction: false };
        if !possible {
            belief.contradict();
        }
        belief
    }

    /// After everything in `seen`, in that order; pairs are weighed in.
    pub fn of(model: &Model, seen: &[Seen]) -> Belief {
        let mut plain = Belief::prior(model);
        for one in seen {
            plain.see(model, one);
        }
        if model.second <= 0.0 || model.causes.len() > PAIRS_UP_TO {
            return plain;
        }
        Joint::replay(model, seen).settle(plain)
    }

    /// Takes in one more thing that was seen, for single causes only: [`Belief::of`] weighs
    /// pairs as well.
    pub fn see(&mut self, model: &Model, seen: &Seen) {
        match seen {
            Seen::Answer { step, answer } => {
                if let Some(row) = answer_row(model, *step, *answer) {
                    self.multiply(row.iter().copied());
                }
            }
            Seen::Failed { step } => {
                if let Some(Kind::Mend(mend)) = model.steps.get(*step).map(|step| &step.kind) {
                    self.multiply(mend.cures.iter().zip(&mend.seems).map(|(c, s)| (1.0 - c) * (1.0 - s)));
                }
            }
            Seen::Weighed { factors } => self.multiply(factors.iter().copied()),
        }
    }

    fn multiply(&mut self, factors: impl Iterator<Item = f64>) {
        for (weight, factor) in self.singles.iter_mut().zip(factors) {
            times(weight, factor);
        }
        if !normalise(&mut self.singles) {
            self.contradict();
        }
    }

    fn contradict(&mut self) {
        self.contradiction = true;
        self.pairs.clear();
        self.singles.fill(0.0);
        if let Some(unlisted) = self.singles.last_mut() {
            *unlisted = 1.0;
        }
    }

    /// The same without pairs: their weight goes to their causes, half to each.
    #[must_use]
    pub fn without_pairs(&self) -> Belief {
        let mut singles = self.singles.clone();
        for pair in &self.pairs {
            singles[pair.one] += pair.weight / 2.0;
            singles[pair.other] += pair.weight / 2.0;
        }
        Belief { singles, pairs: Vec::new(), contradiction: self.contradiction }
    }

    /// How likely a cause is there at all, alone or with another.
    pub fn of_cause(&self, cause: CauseAt) -> f64 {
        let alone = self.singles.get(cause).copied().unwrap_or(0.0);
        let paired: f64 = self
            .pairs
            .iter()
            .filter(|pair| pair.one == cause || pair.other == cause)
            .map(|pair| pair.weight)
            .sum();
        alone + paired
    }

    /// How likely it is something that the model doesn't list.
    pub fn unlisted(&self) -> f64 {
        self.singles.last().copied().unwrap_or(0.0)
    }
}

/// The likelihood row of an answer.
fn answer_row(model: &Model, step: StepAt, answer: usize) -> Option<&[f64]> {
    let check = model.steps.get(step)?.as_check()?;
    check.likelihood.get(answer).map(Vec::as_slice)
}

/// The likelihood of an answer under two causes at once; see the module's words.
pub fn pair_likelihood(row: &[f64], speaks: &[bool], one: CauseAt, other: CauseAt) -> f64 {
    match (speaks.get(one).copied().unwrap_or(false), speaks.get(other).copied().unwrap_or(false)) {
        (true, false) => row[one],
        (false, true) => row[other],
        _ => f64::midpoint(row[one], row[other]),
    }
}

/// What a failed mend does to two causes at once: how likely both stay, only the first
/// stays, only the second stays, each with a trial that looks bad.
pub fn pair_failed(mend: &crate::model::Mend, one: CauseAt, other: CauseAt) -> (f64, f64, f64) {
    let (c, d) = (mend.cures[one], mend.cures[other]);
    let (s, t) = (mend.seems[one], mend.seems[other]);
    ((1.0 - c) * (1.0 - d) * (1.0 - s * t), (1.0 - c) * d * (1.0 - s), c * (1.0 - d) * (1.0 - t))
}

/// Single causes and pairs side by side, not normalised among each other until the end.
struct Joint {
    /// Weight of single causes that were single from the start, and unlisted.
    alone: Vec<f64>,
    /// Weight of single causes that are left of a pair.
    left: Vec<f64>,
    pairs: Vec<Pair>,
}

impl Joint {
    fn replay(model: &Model, seen: &[Seen]) -> Joint {
        let mut alone = model.priors();
        normalise(&mut alone);
        let n = model.causes.len();
        let mut pairs = Vec::with_capacity(n * n.saturating_sub(1) / 2);
        for one in 0..n {
            for other in one + 1..n {
                let weight = model.second * alone[one] * alone[other];
                if weight > 0.0 {
                    pairs.push(Pair { one, other, weight });
                }
            }
        }
        let left = vec![0.0; alone.len()];
        let mut joint = Joint { alone, left, pairs };
        for one in seen {
            joint.see(model, one);
            joint.scale();
        }
        joint
    }

    fn singles(&mut self) -> impl Iterator<Item = (usize, &mut f64)> {
        self.alone.iter_mut().enumerate().chain(self.left.iter_mut().enumerate())
    }

    fn see(&mut self, model: &Model, seen: &Seen) {
        match seen {
            Seen::Answer { step, answer } => {
                let Some(row) = answer_row(model, *step, *answer) else { return };
                let Some(check) = model.steps[*step].as_check() else { return };
                self.singles().for_each(|(at, weight)| times(weight, row[at]));
                for pair in &mut self.pairs {
                    times(&mut pair.weight, pair_likelihood(row, &check.speaks, pair.one, pair.other));
                }
            }
            Seen::Failed { step } => {
                let Some(mend) = model.steps.get(*step).and_then(|step| step.as_mend()) else { return };
                self.singles()
                    .for_each(|(at, weight)| times(weight, (1.0 - mend.cures[at]) * (1.0 - mend.seems[at])));
                for pair in &mut self.pairs {
                    let (both, first, second) = pair_failed(mend, pair.one, pair.other);
                    self.left[pair.one] += pair.weight * first;
                    self.left[pair.other] += pair.weight * second;
                    times(&mut pair.weight, both);
                }
            }
            Seen::Weighed { factors } => {
                let factor = |at: usize| factors.get(at).copied().unwrap_or(1.0);
                self.singles().for_each(|(at, weight)| times(weight, factor(at)));
                for pair in &mut self.pairs {
                    times(&mut pair.weight, factor(pair.one) * factor(pair.other));
                }
            }
        }
    }

    fn total(&self) -> (f64, f64) {
        let alone: f64 = self.alone.iter().sum();
        let with: f64 =
            self.left.iter().sum::<f64>() + self.pairs.iter().map(|pair| pair.weight).sum::<f64>();
        (alone, with)
    }

    /// Keeps the weights in the middle of what a number can hold.
    fn scale(&mut self) {
        let (alone, with) = self.total();
        let total = alone + with;
        if !(total > 0.0 && total.is_finite()) {
            return;
        }
        self.singles().for_each(|(_, weight)| *weight = divided(*weight, total));
        for pair in &mut self.pairs {
            pair.weight = divided(pair.weight, total);
        }
    }

    fn settle(self, plain: Belief) -> Belief {
        let (alone, with) = self.total();
        // Where single causes can't have it at all, two at once is the only explanation.
        if !(with > 0.0 && with / (alone + with) >= PAIRS_FROM) {
            return plain;
        }
        let total = alone + with;
        let singles =
            self.alone.iter().zip(&self.left).map(|(alone, left)| divided(alone + left, total)).collect();
        let pairs = self
            .pairs
            .into_iter()
            .filter(|pair| pair.weight > 0.0)
            .map(|pair| Pair { weight: divided(pair.weight, total), ..pair })
            .collect();
        Belief { singles, pairs, contradiction: false }
    }
}

fn divided(weight: f64, by: f64) -> f64 {
    if weight > 0.0 { (weight / by).max(LEAST) } else { 0.0 }
}
