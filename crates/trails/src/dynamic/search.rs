//! The search itself: depth first through the states, each solved once.

use super::memo::Memo;
use crate::planner::Choice;
use crate::table::{Deed, Situation, Table};

/// Shares below this are rounding: a mend that cures less, an answer that tells less.
const ROUNDING: f64 = 1e-12;

/// What a mend does to a hypothesis that it touches.
struct Touch {
    hypothesis: usize,
    /// Share that stays when the trial looks bad.
    kept: f64,
    /// How likely it is cured.
    cure: f64,
    /// Minutes that a good trial costs with the fault still there, times how likely that is.
    regret: f64,
}

/// What a step does, laid out for the search.
enum Does {
    Mend(Vec<Touch>),
    /// `[answer][hypothesis]`.
    Check(Vec<Vec<f64>>),
}

struct Move {
    /// Its place in the table.
    step: usize,
    minutes: f64,
    covers: Vec<usize>,
    /// What one more answer adds to the packed state.
    stride: u128,
    does: Does,
}

/// A state on the way, with what is read off its weights once.
struct Stand {
    depth: usize,
    state: u128,
    mass: f64,
    /// A cost that no plan from here stays below.
    floor: f64,
}

/// Solves states, each once.
pub(super) struct Search {
    moves: Vec<Move>,
    covers: Vec<f64>,
    /// How many done steps, or the situation, keep each cover open.
    open: Vec<u32>,
    used: Vec<bool>,
    give_up: Option<f64>,
    /// For each depth, the weights there, one after the other.
    weights: Vec<f64>,
    hypotheses: usize,
    /// The least minutes that a hypothesis costs while `ways` is above 0: the shortest mend
    /// that touches it, or giving up.
    floor: Vec<f64>,
    /// How many ways to end each hypothesis are left: mends that cure it, and giving up.
    ways: Vec<u32>,
    memo: Memo,
}

/// Whether a mend cures anything that has weight.
pub(super) fn cures(failed: &[(usize, f64)], hidden: &[(usize, f64)], weights: &[f64]) -> bool {
    failed.iter().any(|(at, kept)| weights[*at] > 0.0 && cure(*kept, hides(hidden, *at)) > 0.0)
}

/// What a mend touches.
fn touches(failed: &[(usize, f64)], hidden: &[(usize, f64)], comeback: f64) -> Vec<Touch> {
    let touch = |&(hypothesis, kept): &(usize, f64)| {
        let hides = hides(hidden, hypothesis);
        Touch { hypothesis, kept, cure: cure(kept, hides), regret: hides * comeback }
    };
    failed.iter().map(touch).collect()
}

fn hides(hidden: &[(usize, f64)], hypothesis: usize) -> f64 {
    hidden.iter().find(|(at, _)| *at == hypothesis).map_or(0.0, |(_, factor)| *factor)
}

/// How likely a mend cures: what neither stays nor hides.
fn cure(kept: f64, hides: f64) -> f64 {
    let cure = 1.0 - kept - hides;
    if cure > ROUNDING { cure } else { 0.0 }
}

/// Whether any answer moves the weights.
pub(super) fn tells(rows: &[Vec<f64>], weights: &[f64]) -> bool {
    let mass: f64 = weights.iter().sum();
    rows.iter().any(|row| {
        let mean = row.iter().zip(weights).map(|(l, w)| l * w).sum::<f64>() / mass;
        row.iter().zip(weights).any(|(l, w)| *w > 0.0 && (l - mean).abs() > ROUNDING)
    })
}

impl Search {
    pub fn new(table: &Table, situation: &Situation, steps: &[usize]) -> Search {
        let hypotheses = table.weights.len();
        let mut states = 1_u128;
        let mut moves: Vec<Move> = Vec::with_capacity(steps.len());
        let mut floor = vec![table.give_up.unwrap_or(f64::INFINITY); hypotheses];
        let mut ways = vec![u32::from(table.give_up.is_some()); hypotheses];
        for &step in steps {
            let row = &table.rows[step];
            let (does, digits) = match &row.deed {
                Deed::Check(rows) => (Does::Check(rows.clone()), rows.len() as u128 + 1),
                Deed::Mend { failed, hidden, .. } => (Does::Mend(touches(failed, hidden, table.comeback)), 2),
            };
            if let Does::Mend(touches) = &does {
                for touch in touches {
                    floor[touch.hypothesis] = floor[touch.hypothesis].min(row.minutes);
                    ways[touch.hypothesis] += u32::from(touch.cure > 0.0);
                }
            }
            moves.push(Move { step, minutes: row.minutes, covers: row.covers.clone(), stride: states, does });
            states = states.saturating_mul(digits);
        }
        // Promising mends first: their cost bounds the others.
        let promise = |one: &Move| match &one.does {
            Does::Mend(touches) => {
                let p: f64 = touches.iter().map(|touch| table.weights[touch.hypothesis] * touch.cure).sum();
                p / one.minutes.max(ROUNDING)
            }
            Does::Check(_) => -1.0,
        };
        moves.sort_by(|a, b| promise(b).total_cmp(&promise(a)));
        let mut weights = vec![0.0; hypotheses * (moves.len() + 1)];
        weights[..hypotheses].copy_from_slice(&table.weights);
        let open = |cover: usize| u32::from(situation.open.get(cover).copied().unwrap_or(false));
        Search {
            used: vec![false; moves.len()],
            open: (0..table.covers.len()).map(open).collect(),
            covers: table.covers.clone(),
            give_up: table.give_up,
            memo: Memo::new(states),
            moves,
            weights,
            hypotheses,
            floor,
            ways,
        }
    }

    /// What may be chosen at the start, each with its least cost to the end; in no order.
    pub fn choices(&mut self) -> Vec<(Choice, f64)> {
        let here = self.stand(0, 0);
        let mut choices = Vec::new();
        if here.mass <= 0.0 {
            return choices;
        }
        choices.extend(self.give_up.map(|minutes| (Choice::GiveUp, minutes * here.mass)));
        // Without a mend to do, there is nothing that a check could be good for.
        if (0..self.moves.len()).any(|at| self.can_cure(at, &here)) {
            for at in 0..self.moves.len() {
                let is_mend = matches!(self.moves[at].does, Does::Mend(_));
                let cost = if !is_mend {
                    self.check(at, &here, f64::INFINITY)
                } else if self.can_cure(at, &here) {
                    self.mend(at, &here, f64::INFINITY)
                } else {
                    continue;
                };
                choices.push((Choice::Do(self.moves[at].step), cost));
            }
        }
        choices
    }

    /// The least cost to the end from a state: minutes times its probability.
    fn solve(&mut self, depth: usize, state: u128) -> f64 {
        let here = self.stand(depth, state);
        let mut best = self.give_up.map_or(f64::INFINITY, |minutes| minutes * here.mass);
        let mut mend_left = false;
        for at in 0..self.moves.len() {
            if self.can_cure(at, &here) {
                mend_left = true;
                best = best.min(self.mend(at, &here, best));
            }
        }
        if mend_left {
            for at in 0..self.moves.len() {
                if !self.used[at] && matches!(self.moves[at].does, Does::Check(_)) {
                    best = best.min(self.check(at, &here, best));
                }
            }
        } else if self.give_up.is_none() || here.mass <= 0.0 {
            best = 0.0;
        }
        self.memo.put(state, best);
        best
    }

    fn stand(&self, depth: usize, state: u128) -> Stand {
        let (mut mass, mut floor) = (0.0, 0.0);
        let from = depth * self.hypotheses;
        for (at, weight) in self.weights[from..from + self.hypotheses].iter().enumerate() {
            mass += weight;
            if self.ways[at] > 0 {
                floor += weight * self.floor[at];
            }
        }
        Stand { depth, state, mass, floor }
    }

    /// The weights at a depth.
    fn at(&self, depth: usize) -> &[f64] {
        &self.weights[depth * self.hypotheses..(depth + 1) * self.hypotheses]
    }

    /// Whether this is a mend that is free to do and cures something that has weight.
    fn can_cure(&self, at: usize, here: &Stand) -> bool {
        let weights = self.at(here.depth);
        match &self.moves[at].does {
            Does::Mend(touches) if !self.used[at] => {
                let cured: f64 = touches.iter().map(|touch| weights[touch.hypothesis] * touch.cure).sum();
                cured > here.mass * ROUNDING
            }
            _ => false,
        }
    }

    /// The cost of a mend and all after it; at least `bound` when it isn't below that.
    fn mend(&mut self, at: usize, here: &Stand, bound: f64) -> f64 {
        let mut cost = self.price(at) * here.mass;
        let from = here.depth * self.hypotheses;
        let to = from + self.hypotheses;
        let Move { does: Does::Mend(touches), stride, .. } = &self.moves[at] else { return cost };
        let state = here.state.wrapping_add(*stride);
        // What can't be saved by what comes after.
        let mut floor = here.floor;
        for touch in touches {
            let weight = self.weights[from + touch.hypothesis];
            cost += weight * touch.regret;
            let last = touch.cure > 0.0 && self.ways[touch.hypothesis] == 1;
            if self.ways[touch.hypothesis] > 0 {
                let gone = if last { 1.0 } else { 1.0 - touch.kept };
                floor -= weight * gone * self.floor[touch.hypothesis];
            }
        }
        if cost + floor >= bound {
            return bound;
        }
        if let Some(known) = self.memo.get(state) {
            return cost + known;
        }
        self.weights.copy_within(from..to, to);
        for touch in touches {
            self.weights[to + touch.hypothesis] *= touch.kept;
        }
        self.enter(at);
        cost += self.solve(here.depth + 1, state);
        self.leave(at);
        cost
    }

    /// The cost of a check and all after it; at least `bound` when it isn't below that, or
    /// when no answer tells anything.
    fn check(&mut self, at: usize, here: &Stand, bound: f64) -> f64 {
        let mut cost = self.price(at) * here.mass;
        let Move { does: Does::Check(rows), stride, .. } = &self.moves[at] else { return cost };
        if cost + here.floor >= bound {
            return bound;
        }
        let (answers, stride) = (rows.len(), *stride);
        let known = |answer: usize| self.memo.get(nth(here.state, stride, answer));
        if (0..answers).any(|answer| known(answer).is_none()) && !tells(rows, self.at(here.depth)) {
            return bound;
        }
        self.enter(at);
        for answer in 0..answers {
            let state = nth(here.state, stride, answer);
            cost += if let Some(known) = self.memo.get(state) {
                known
            } else {
                self.answer(at, answer, here.depth);
                self.solve(here.depth + 1, state)
            };
            if cost >= bound {
                break;
            }
        }
        self.leave(at);
        cost
    }

    /// Writes the weights after an answer one depth further.
    fn answer(&mut self, at: usize, answer: usize, depth: usize) {
        let (here, next) = self.weights[depth * self.hypotheses..].split_at_mut(self.hypotheses);
        if let Does::Check(rows) = &self.moves[at].does {
            for ((next, here), likely) in next.iter_mut().zip(here).zip(&rows[answer]) {
                *next = *here * likely;
            }
        }
    }

    /// Minutes of a step with the covers that are still closed.
    fn price(&self, at: usize) -> f64 {
        let one = &self.moves[at];
        let closed = one.covers.iter().filter(|cover| self.open[**cover] == 0);
        one.minutes + closed.map(|cover| self.covers[*cover]).sum::<f64>()
    }

    fn enter(&mut self, at: usize) {
        self.used[at] = true;
        for cover in &self.moves[at].covers {
            self.open[*cover] += 1;
        }
        if let Does::Mend(touches) = &self.moves[at].does {
            for touch in touches.iter().filter(|touch| touch.cure > 0.0) {
                self.ways[touch.hypothesis] -= 1;
            }
        }
    }

    fn leave(&mut self, at: usize) {
        self.used[at] = false;
        for cover in &self.moves[at].covers {
            self.open[*cover] -= 1;
        }
        if let Does::Mend(touches) = &self.moves[at].does {
            for touch in touches.iter().filter(|touch| touch.cure > 0.0) {
                self.ways[touch.hypothesis] += 1;
            }
        }
    }
}

/// The packed state after an answer.
fn nth(state: u128, stride: u128, answer: usize) -> u128 {
    state.wrapping_add(stride.wrapping_mul(answer as u128 + 1))
}
