//! A model laid out for reckoning from one situation.
//!
//! **Mass.** Everything is linear in the weights: a state that has probability q is carried
//! with weights that sum to q, and its cost is reckoned as q times the expected minutes. So
//! nothing is divided on the way, and branches add up.

use crate::belief::{Belief, pair_failed, pair_likelihood};
use crate::model::{CoverAt, Kind, Model, StepAt};

/// Pairs beyond the likeliest so many are left out of planning (not of the weights shown).
pub const MOST_PAIRS: usize = 24;

/// Where a search stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Situation {
    /// The weights.
    pub belief: Belief,
    /// Steps that are not to be chosen (again): done, or impossible.
    pub done: Vec<bool>,
    /// Covers that are open.
    pub open: Vec<bool>,
}

impl Situation {
    /// At the start of a search, everything closed.
    pub fn start(model: &Model) -> Situation {
        Situation {
            belief: Belief::prior(model),
            done: vec![false; model.steps.len()],
            open: vec![false; model.covers.len()],
        }
    }
}

/// What a step does to the weights.
#[derive(Clone, Debug)]
pub(crate) enum Deed {
    /// `rows[answer][hypothesis]`.
    Check(Vec<Vec<f64>>),
    /// Only hypotheses that it touches: what stays when its trial looks bad, and what stays
    /// behind a trial that looks good.
    Mend {
        /// `(hypothesis, factor)`: the weight kept when the trial looks bad. Hypotheses not
        /// named keep all of theirs.
        failed: Vec<(usize, f64)>,
        /// `(from, to, factor)`: weight of a pair that moves to one of its causes when the
        /// trial looks bad.
        moved: Vec<(usize, usize, f64)>,
        /// `(hypothesis, factor)`: how likely the trial looks good with the fault there.
        hidden: Vec<(usize, f64)>,
    },
}

/// One step.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    /// Minutes, covers apart.
    pub minutes: f64,
    /// Every cover it needs, the outermost first.
    pub covers: Vec<CoverAt>,
    /// What it does.
    pub deed: Deed,
}

/// A model laid out.
#[derive(Clone, Debug)]
pub(crate) struct Table {
    /// The weights at the start: causes, unlisted, then the pairs that are planned for.
    pub weights: Vec<f64>,
    /// One row a step, in the model's order.
    pub rows: Vec<Row>,
    /// Opening and closing, one a cover.
    pub covers: Vec<f64>,
    /// The cover around each.
    pub inside: Vec<Option<CoverAt>>,
    /// What giving up costs, where the model has it.
    pub give_up: Option<f64>,
    /// What a fault costs that a mend only hid.
    pub comeback: f64,
    /// Whether pairs are planned for: then the order of checks and mends matters.
    pub pairs: bool,
}

impl Table {
    pub fn new(model: &Model, belief: &Belief) -> Table {
        let singles = model.hypotheses();
        let mut pairs = belief.pairs.clone();
        pairs.sort_by(|a, b| b.weight.total_cmp(&a.weight).then((a.one, a.other).cmp(&(b.one, b.other))));
        pairs.truncate(MOST_PAIRS);
        let mut weights = belief.singles.clone();
        weights.extend(pairs.iter().map(|pair| pair.weight));
        let sum: f64 = weights.iter().sum();
        if sum > 0.0 {
            for weight in &mut weights {
                *weight /= sum;
            }
        }
        let rows = (0..model.steps.len())
            .map(|at| {
                let step = &model.steps[at];
                let deed = match &step.kind {
                    Kind::Check(check) => {
                        let row = |row: &Vec<f64>| {
                            let with = pairs
                                .iter()
                                .map(|pair| pair_likelihood(row, &check.speaks, pair.one, pair.other));
                            row.iter().copied().chain(with).collect()
                        };
                        Deed::Check(check.likelihood.iter().map(row).collect())
                    }
                    Kind::Mend(mend) => {
                        let (mut failed, mut moved, mut hidden) = (Vec::new(), Vec::new(), Vec::new());
                        for hypothesis in 0..singles {
                            let (cure, seem) = (mend.cures[hypothesis], mend.seems[hypothesis]);
                            if cure > 0.0 || seem > 0.0 {
                                failed.push((hypothesis, (1.0 - cure) * (1.0 - seem)));
                            }
                            if seem > 0.0 {
                                hidden.push((hypothesis, (1.0 - cure) * seem));
                            }
                        }
                        for (place, pair) in pairs.iter().enumerate() {
                            let at = singles + place;
                            let (both, first, second) = pair_failed(mend, pair.one, pair.other);
                            let cured = mend.cures[pair.one] * mend.cures[pair.other];
                            failed.push((at, both));
                            moved.extend([(at, pair.one, first), (at, pair.other, second)]);
                            hidden.push((at, (1.0 - cured - both - first - second).max(0.0)));
                        }
                        moved.retain(|(_, _, factor)| *factor > 0.0);
                        hidden.retain(|(_, factor)| *factor > 0.0);
                        failed.retain(|(_, factor)| *factor < 1.0);
                        Deed::Mend { failed, moved, hidden }
                    }
                };
                Row { minutes: step.minutes.0, covers: model.covers_for(at), deed }
            })
            .collect();
        Table {
            weights,
            rows,
            covers: model.covers.iter().map(|cover| (cover.open + cover.close).0).collect(),
            inside: model.covers.iter().map(|cover| cover.inside).collect(),
            give_up: model.give_up.as_ref().map(|give_up| give_up.minutes.0),
            comeback: model.comeback.0,
            pairs: !pairs.is_empty(),
        }
    }

    /// Minutes of a step with the covers that are still closed.
    pub fn price(&self, step: StepAt, open: &[bool]) -> f64 {
        let row = &self.rows[step];
        let covers: f64 =
            row.covers.iter().filter(|cover| !open[**cover]).map(|cover| self.covers[*cover]).sum();
        row.minutes + covers
    }

    /// Opens what a step needs.
    pub fn open(&self, step: StepAt, open: &mut [bool]) {
        for cover in &self.rows[step].covers {
            open[*cover] = true;
        }
    }

    /// The weights after a mend whose trial looks bad, and what its good trial hides times
    /// the cost of a fault that comes back.
    pub fn failed(&self, step: StepAt, weights: &[f64]) -> (Vec<f64>, f64) {
        let mut after = weights.to_vec();
        let mut regret = 0.0;
        if let Deed::Mend { failed, moved, hidden } = &self.rows[step].deed {
            for (at, factor) in failed {
                after[*at] *= factor;
            }
            for (from, to, factor) in moved {
                after[*to] += weights[*from] * factor;
            }
            regret = hidden.iter().map(|(at, factor)| weights[*at] * factor).sum::<f64>() * self.comeback;
        }
        (after, regret)
    }

    /// The weights after an answer.
    pub fn answered(&self, step: StepAt, answer: usize, weights: &[f64]) -> Vec<f64> {
        match &self.rows[step].deed {
            Deed::Check(rows) => rows[answer].iter().zip(weights).map(|(l, w)| l * w).collect(),
            Deed::Mend { .. } => weights.to_vec(),
        }
    }

    /// How many answers a check has; 0 for a mend.
    pub fn answers(&self, step: StepAt) -> usize {
        match &self.rows[step].deed {
            Deed::Check(rows) => rows.len(),
            Deed::Mend { .. } => 0,
        }
    }
}
