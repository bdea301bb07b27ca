//! Following a way of searching to its end: what it costs on average, or one evening of it.

use std::collections::HashMap;

use units::Minutes;

use crate::belief::{Belief, Pair};
use crate::classic::{self, Action};
use crate::model::{Kind, Model, StepAt};
use crate::planner::{Choice, Effort, advise};
use crate::table::{MOST_PAIRS, Situation, Table};

/// A way of searching: it says what to do next.
pub trait Policy {
    /// What to do next.
    fn choose(&mut self, model: &Model, situation: &Situation) -> Choice;
}

/// The planner's advice; what it said once for a situation it says again.
///
/// One is for one model: what it remembers doesn't hold for another.
#[derive(Clone, Debug)]
pub struct Advised {
    effort: Effort,
    said: HashMap<Vec<u64>, Choice>,
}

/// Every step in the model's order, whatever was seen; mends with less chance than
/// [`HARDLY`] are skipped while others are left.
#[derive(Clone, Copy, Debug, Default)]
pub struct FixedOrder;

/// Mends only, always the one with the most chance a minute, covers that are still closed
/// counted in full; gives up when no number of them pays ([`classic::with_call`]).
#[derive(Clone, Copy, Debug, Default)]
pub struct POverC;

/// A mend with less chance than this is hardly worth a trip.
pub const HARDLY: f64 = 0.001;

/// What a step showed on a simulated evening.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Saw {
    /// A check's answer.
    Answer(usize),
    /// A mend's trial looked bad.
    StillThere,
    /// A mend's trial looked good.
    LooksGood,
}

/// How a simulated evening ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ended {
    /// This mend cured it.
    Cured(StepAt),
    /// This mend only hid it: the fault comes back, which is counted in the minutes.
    Hidden(StepAt),
    /// Given up.
    GaveUp,
    /// Nothing was left to do.
    Stopped,
}

/// One simulated evening.
#[derive(Clone, Debug, PartialEq)]
pub struct Evening {
    /// What it took, giving up and a fault that comes back included.
    pub minutes: Minutes,
    /// What was done, in that order.
    pub steps: Vec<(StepAt, Saw)>,
    /// How it ended.
    pub ended: Ended,
}

impl Advised {
    /// Advice with so much effort.
    pub fn new(effort: Effort) -> Advised {
        Advised { effort, said: HashMap::new() }
    }
}

impl Policy for Advised {
    fn choose(&mut self, model: &Model, situation: &Situation) -> Choice {
        let belief = &situation.belief;
        let pairs =
            belief.pairs.iter().flat_map(|pair| [pair.one as u64, pair.other as u64, pair.weight.to_bits()]);
        let marks = situation.done.iter().chain(&situation.open).map(|is| u64::from(*is));
        let key = belief.singles.iter().map(|weight| weight.to_bits()).chain(marks).chain(pairs).collect();
        *self.said.entry(key).or_insert_with(|| advise(model, situation, self.effort).best.choice)
    }
}

/// How likely a mend that may be done cures (of two causes at once, the likelier).
fn chance_of(model: &Model, situation: &Situation, step: StepAt) -> Option<f64> {
    let mend = model.steps[step].as_mend()?;
    let singles = situation.belief.singles.iter().zip(&mend.cures).map(|(weight, cure)| weight * cure);
    let of_pair = |pair: &Pair| pair.weight * mend.cures[pair.one].max(mend.cures[pair.other]);
    let chance = singles.sum::<f64>() + situation.belief.pairs.iter().map(of_pair).sum::<f64>();
    Some(chance).filter(|chance| *chance > 1e-12 && !situation.done[step])
}

fn end(model: &Model) -> Choice {
    if model.give_up.is_some() { Choice::GiveUp } else { Choice::Stop }
}

impl Policy for FixedOrder {
    fn choose(&mut self, model: &Model, situation: &Situation) -> Choice {
        let steps = || (0..model.steps.len()).filter(|step| !situation.done[*step]);
        let chance = |step: StepAt| chance_of(model, situation, step).unwrap_or(0.0);
        let left = steps().any(|step| chance(step) > 0.0);
        let worth = |step: &StepAt| model.steps[*step].as_check().is_some() || chance(*step) >= HARDLY;
        if !left {
            return end(model);
        }
        let next = steps().find(worth);
        // Where there's no giving up, even the unlikely mends are done before it ends.
        let unlikely = || steps().find(|step| model.give_up.is_none() && chance(*step) > 0.0);
        next.or_else(unlikely).map_or_else(|| end(model), Choice::Do)
    }
}

impl Policy for POverC {
    fn choose(&mut self, model: &Model, situation: &Situation) -> Choice {
        let chances =
            (0..model.steps.len()).filter_map(|step| Some((step, chance_of(model, situation, step)?)));
        let (steps, actions): (Vec<StepAt>, Vec<Action>) = chances
            .map(|(step, p)| (step, Action { p, minutes: model.minutes_of(step, &situation.open).0 }))
            .unzip();
        let order = match &model.give_up {
            Some(give_up) => classic::with_call(&actions, give_up.minutes.0).order,
            None => classic::p_over_c(&actions).order,
        };
        order.first().map_or_else(|| end(model), |first| Choice::Do(steps[*first]))
    }
}

/// Where a walk through a model stands: weights that sum to its probability.
struct Walk<'a> {
    model: &'a Model,
    table: Table,
    pairs: Vec<Pair>,
}

/// What was done and seen, in that order; sorted where the order doesn't matter.
type Past = Vec<(StepAt, usize)>;

impl<'a> Walk<'a> {
    fn new(model: &'a Model, belief: &Belief) -> Walk<'a> {
        let table = Table::new(model, belief);
        // The table plans for the likeliest pairs, in this order.
        let mut pairs = belief.pairs.clone();
        pairs.sort_by(|a, b| b.weight.total_cmp(&a.weight).then((a.one, a.other).cmp(&(b.one, b.other))));
        pairs.truncate(MOST_PAIRS);
        Walk { model, table, pairs }
    }

    fn situation(&self, weights: &[f64], done: &[bool], open: &[bool]) -> Situation {
        let mass: f64 = weights.iter().sum();
        let possible = mass > 0.0;
        let mut singles: Vec<f64> = weights[..self.model.hypotheses()]
            .iter()
            .map(|weight| if possible { weight / mass } else { 0.0 })
            .collect();
        if !possible {
            singles[self.model.unlisted_at()] = 1.0;
        }
        let pairs = self.pairs.iter().zip(&weights[self.model.hypotheses()..]);
        let mut pairs: Vec<Pair> = pairs
            .filter(|(_, weight)| possible && **weight > 0.0)
            .map(|(pair, weight)| Pair { weight: weight / mass, ..*pair })
            .collect();
        pairs.sort_by_key(|pair| (pair.one, pair.other));
        Situation {
            belief: Belief { singles, pairs, contradiction: !possible },
            done: done.to_vec(),
            open: open.to_vec(),
        }
    }

    /// A step that may be done: there, and not done yet.
    fn allowed(choice: Choice, done: &[bool]) -> Choice {
        match choice {
            Choice::Do(step) if done.get(step).copied().unwrap_or(true) => Choice::Stop,
            other => other,
        }
    }
}

struct Expected<'a, 'p> {
    walk: Walk<'a>,
    policy: &'p mut dyn Policy,
    known: HashMap<Past, f64>,
}

/// Expected minutes of a policy: followed over everything that may be seen, exactly.
///
/// Work and room grow with the number of states that the policy can come into: for small
/// models, or policies that ask little. A step that is done already, or isn't there, counts
/// as stopping. Stopping costs nothing: only compare policies that stop at the same time.
pub fn expected(model: &Model, situation: &Situation, policy: &mut dyn Policy) -> Minutes {
    let walk = Walk::new(model, &situation.belief);
    let weights = walk.table.weights.clone();
    let mut expected = Expected { walk, policy, known: HashMap::new() };
    Minutes(expected.from(&weights, &situation.done, &situation.open, &Past::new()))
}

impl Expected<'_, '_> {
    fn from(&mut self, weights: &[f64], done: &[bool], open: &[bool], past: &Past) -> f64 {
        let mass: f64 = weights.iter().sum();
        if mass <= 0.0 {
            return 0.0;
        }
        if let Some(known) = self.known.get(past) {
            return *known;
        }
        let situation = self.walk.situation(weights, done, open);
        let choice = Walk::allowed(self.policy.choose(self.walk.model, &situation), done);
        let minutes = match choice {
            Choice::Stop => 0.0,
            Choice::GiveUp => self.walk.table.give_up.unwrap_or(0.0) * mass,
            Choice::Do(step) => {
                let mut minutes = self.walk.table.price(step, open) * mass;
                let (mut done, mut open) = (done.to_vec(), open.to_vec());
                done[step] = true;
                self.walk.table.open(step, &mut open);
                let answers = self.walk.table.answers(step);
                for answer in 0..answers.max(1) {
                    let after = if answers == 0 {
                        let (after, regret) = self.walk.table.failed(step, weights);
                        minutes += regret;
                        after
                    } else {
                        self.walk.table.answered(step, answer, weights)
                    };
                    let mut past = past.clone();
                    past.push((step, answer));
                    if !self.walk.table.pairs {
                        past.sort_unstable();
                    }
                    minutes += self.from(&after, &done, &open, &past);
                }
                minutes
            }
        };
        self.known.insert(past.clone(), minutes);
        minutes
    }
}

/// One evening with `truth` as what is really wrong: one cause, or *not in this list*.
///
/// `draw` gives evenly distributed numbers in 0..1.
pub fn evening(
    model: &Model,
    situation: &Situation,
    truth: usize,
    policy: &mut dyn Policy,
    draw: &mut dyn FnMut() -> f64,
) -> Evening {
    let walk = Walk::new(model, &situation.belief);
    let mut weights = walk.table.weights.clone();
    let (mut done, mut open) = (situation.done.clone(), situation.open.clone());
    let mut minutes = 0.0;
    let mut steps = Vec::new();
    let ended = loop {
        let now = walk.situation(&weights, &done, &open);
        let step = match Walk::allowed(policy.choose(model, &now), &done) {
            Choice::Stop => break Ended::Stopped,
            Choice::GiveUp => {
                minutes += walk.table.give_up.unwrap_or(0.0);
                break Ended::GaveUp;
            }
            Choice::Do(step) => step,
        };
        minutes += walk.table.price(step, &open);
        done[step] = true;
        walk.table.open(step, &mut open);
        match &model.steps[step].kind {
            Kind::Check(check) => {
                let mut left = draw();
                let likely = |answer: &usize| check.likelihood[*answer].get(truth).copied().unwrap_or(0.0);
                let last = (0..check.answers.len()).rev().find(|answer| likely(answer) > 0.0).unwrap_or(0);
                let answer = (0..last)
                    .find(|answer| {
                        left -= likely(answer);
                        left < 0.0
                    })
                    .unwrap_or(last);
                weights = walk.table.answered(step, answer, &weights);
                steps.push((step, Saw::Answer(answer)));
            }
            Kind::Mend(mend) => {
                let cured = draw() < mend.cures.get(truth).copied().unwrap_or(0.0);
                let hidden = !cured && draw() < mend.seems.get(truth).copied().unwrap_or(0.0);
                steps.push((step, if cured || hidden { Saw::LooksGood } else { Saw::StillThere }));
                if cured {
                    break Ended::Cured(step);
                }
                if hidden {
                    minutes += walk.table.comeback;
                    break Ended::Hidden(step);
                }
                weights = walk.table.failed(step, &weights).0;
            }
        }
        let mass: f64 = weights.iter().sum();
        weights.iter_mut().filter(|_| mass > 0.0).for_each(|weight| *weight /= mass);
    };
    Evening { minutes: Minutes(minutes), steps, ended }
}
