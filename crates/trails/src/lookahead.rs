//! Looking ahead where a search through every course would be too large.
//!
//! Some steps ahead every course is reckoned through (expectation over what is seen, minimum
//! over what is done next); what comes after is estimated by mends alone
//! ([`mends::Mends::value`]), which is what a search costs that asks nothing more. So every
//! value is one that can be kept to. The depth grows while the counted work allows.

mod mends;

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

use crate::model::StepAt;
use crate::planner::{Choice, order_of};
use crate::table::{Deed, Situation, Table};
use mends::Mends;

/// No deeper than this: a model of fifty steps is not decided by what comes after thirty.
const DEEPEST: u32 = 30;
/// So many of the best steps are looked at more deeply at the start.
const ROOT_WIDTH: usize = 12;
/// So many of the best steps are looked at more deeply further on.
const WIDTH: usize = 6;
/// Gains below this share are rounding.
const LITTLE: f64 = 1e-12;

/// What a look-ahead found.
pub(crate) struct Found {
    /// Every useful step, and giving up, with the expected minutes from here; the best first.
    pub ranked: Vec<(Choice, f64)>,
    /// How many steps were reckoned through.
    pub depth: u32,
}

/// A state of the search: weights that sum to its probability.
struct State {
    weights: Vec<f64>,
    done: Vec<bool>,
    open: Vec<bool>,
    key: u128,
}

/// A value, and whether nothing was estimated or left out for it.
#[derive(Clone, Copy)]
struct Value {
    minutes: f64,
    whole: bool,
}

/// What is known of a state: the depth it was searched to, and its value or a floor of it.
#[derive(Clone, Copy)]
struct Known {
    depth: u32,
    value: Value,
    floor_only: bool,
}

/// A step looked at: its own cost, the states after it, and the estimate for all.
struct Course {
    step: StepAt,
    cost: f64,
    after: Vec<State>,
    estimate: f64,
}

/// Keys are mixed already; hashing them again would say nothing.
#[derive(Default)]
struct Plain(u64);

impl Hasher for Plain {
    fn finish(&self) -> u64 {
        self.0
    }
    fn write(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.0 = self.0.rotate_left(8) ^ u64::from(*byte);
        }
    }
    fn write_u128(&mut self, key: u128) {
        self.0 = (key >> 64) as u64;
    }
}

type Memo<T> = HashMap<u128, T, BuildHasherDefault<Plain>>;

struct Search<'a> {
    table: &'a Table,
    mends: Mends<'a>,
    checks: Vec<StepAt>,
    bases: Memo<f64>,
    known: Memo<Known>,
    size: usize,
    work: usize,
    limit: usize,
    spent: bool,
}

/// Steele, Lea & Flood, "Fast splittable pseudorandom number generators", 2014: its mixer.
fn mix(seed: u64) -> u64 {
    let mut z = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

fn mark(step: StepAt, answer: usize) -> u128 {
    let seed = ((step as u64) << 20) + answer as u64 + 1;
    (u128::from(mix(seed)) << 64) | u128::from(mix(!seed))
}

fn sum(weights: &[f64]) -> f64 {
    weights.iter().sum()
}

/// Looks ahead from a situation; `evaluations` bounds the work.
pub(crate) fn search(table: &Table, situation: &Situation, evaluations: usize) -> Found {
    let mends = Mends::new(table, &situation.done);
    let checks = (0..table.rows.len())
        .filter(|step| !situation.done[*step] && matches!(table.rows[*step].deed, Deed::Check(_)))
        .collect();
    let size = mends.size();
    let mut search = Search {
        table,
        mends,
        checks,
        bases: Memo::default(),
        known: Memo::default(),
        size,
        work: 0,
        limit: evaluations,
        spent: false,
    };
    let root = State {
        weights: table.weights.clone(),
        done: situation.done.clone(),
        open: situation.open.clone(),
        key: 0,
    };
    search.root(&root)
}

/// Whether an answer tells anything about hypotheses that have weight.
pub(crate) fn tells(table: &Table, step: StepAt, weights: &[f64]) -> bool {
    let Deed::Check(rows) = &table.rows[step].deed else { return false };
    let counts = sum(weights) * LITTLE;
    let first = weights.iter().position(|weight| *weight > counts);
    first.is_some_and(|first| {
        rows.iter().any(|row| {
            row.iter().zip(weights).any(|(l, weight)| *weight > counts && (l - row[first]).abs() > LITTLE)
        })
    })
}

/// Mends that get anywhere, in the model's order.
pub(crate) fn useful_mends(table: &Table, done: &[bool]) -> Vec<StepAt> {
    let mass = sum(&table.weights);
    let mends = Mends::new(table, done);
    mends.list.iter().filter(|mend| mend.useful(&table.weights, mass)).map(|mend| mend.step).collect()
}

/// Whether the published orders are exact for mends alone from here.
pub(crate) fn plain(table: &Table, situation: &Situation) -> bool {
    Mends::new(table, &situation.done).plain(&table.weights, &situation.done, &situation.open)
}

impl Search<'_> {
    fn root(&mut self, root: &State) -> Found {
        let mut courses: Vec<(Course, Value)> = Vec::new();
        for step in self.promising(root) {
            if self.spent {
                break;
            }
            let course = self.course(root, step);
            let value = Value { minutes: course.estimate, whole: false };
            courses.push((course, value));
        }
        let sort = |courses: &mut Vec<(Course, Value)>| {
            courses.sort_by(|a, b| {
                let (one, other) = (Choice::Do(a.0.step), Choice::Do(b.0.step));
                order_of(self.table, (one, a.1.minutes), (other, b.1.minutes))
            });
        };
        sort(&mut courses);
        let mut depth = 1;
        // Looking into one step alone takes about as much as looking at all of them did.
        while depth < DEEPEST && self.work.saturating_mul(2) <= self.limit {
            let seen = self.bases.len();
            let mut deeper: Vec<(usize, Value)> = Vec::new();
            for (at, (course, value)) in courses.iter().enumerate().take(ROOT_WIDTH) {
                if value.whole {
                    continue;
                }
                let mut total = Value { minutes: course.cost, whole: true };
                for state in &course.after {
                    let after = self.value(state, depth, f64::INFINITY);
                    total.minutes += after.minutes;
                    total.whole &= after.whole;
                }
                deeper.push((at, total));
                if self.spent {
                    break;
                }
            }
            if self.spent || deeper.is_empty() {
                break;
            }
            for (at, value) in deeper {
                courses[at].1 = value;
            }
            sort(&mut courses);
            depth += 1;
            if self.bases.len() == seen {
                break; // no state was new: deeper says the same
            }
        }
        let mut ranked: Vec<(Choice, f64)> =
            courses.iter().map(|(course, value)| (Choice::Do(course.step), value.minutes)).collect();
        if let Some(give_up) = self.table.give_up {
            ranked.push((Choice::GiveUp, give_up * sum(&root.weights)));
        }
        ranked.sort_by(|a, b| order_of(self.table, *a, *b));
        Found { ranked, depth }
    }

    /// Steps that change anything; where there are too many to look at each, those first that
    /// promise most a minute: a mend by its chance, a check by how much it gathers the weights
    /// on few hypotheses. Mends and checks take turns.
    fn promising(&self, root: &State) -> Vec<StepAt> {
        let steps = self.steps(root);
        if steps.len() * 3 * self.size <= self.limit {
            return steps;
        }
        let promise = |step: StepAt| {
            let gain = if self.table.answers(step) == 0 {
                1.0 - sum(&self.table.failed(step, &root.weights).0)
            } else {
                let gathered = |weights: &[f64]| weights.iter().map(|weight| weight * weight).sum::<f64>();
                let after = (0..self.table.answers(step)).map(|answer| {
                    let weights = self.table.answered(step, answer, &root.weights);
                    gathered(&weights) / sum(&weights).max(f64::MIN_POSITIVE)
                });
                after.sum::<f64>() - gathered(&root.weights)
            };
            gain / self.table.price(step, &root.open).max(LITTLE)
        };
        let mut ranked: Vec<(f64, StepAt)> = steps.into_iter().map(|step| (promise(step), step)).collect();
        ranked.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let (mends, checks): (Vec<_>, Vec<_>) =
            ranked.into_iter().map(|(_, step)| step).partition(|step| self.table.answers(*step) == 0);
        let most = mends.len().max(checks.len());
        (0..most).flat_map(|at| mends.get(at).into_iter().chain(checks.get(at)).copied()).collect()
    }

    /// Steps that change anything.
    fn steps(&self, state: &State) -> Vec<StepAt> {
        let mass = sum(&state.weights);
        let mends = self.mends.list.iter();
        let mends = mends.filter(|mend| !state.done[mend.step] && mend.useful(&state.weights, mass));
        let mut steps: Vec<StepAt> = mends.map(|mend| mend.step).collect();
        // With nothing to do about it there's nothing to ask.
        if !steps.is_empty() {
            let checks = self.checks.iter().copied();
            steps
                .extend(checks.filter(|step| !state.done[*step] && tells(self.table, *step, &state.weights)));
        }
        steps
    }

    fn after(&self, state: &State, step: StepAt, outcome: usize, weights: Vec<f64>) -> State {
        let mut done = state.done.clone();
        done[step] = true;
        let mut open = state.open.clone();
        self.table.open(step, &mut open);
        // With pairs it matters what came first.
        let before = if self.table.pairs {
            state.key.rotate_left(1).wrapping_mul(0x9e37_79b9_7f4a_7c15_f39c_c060_5ced_c835)
        } else {
            state.key
        };
        State { weights, done, open, key: before ^ mark(step, outcome) }
    }

    /// A step's cost and the states after it; not yet estimated.
    fn outcome(&self, state: &State, step: StepAt) -> Course {
        let mut cost = self.table.price(step, &state.open) * sum(&state.weights);
        let mut after = Vec::new();
        let answers = self.table.answers(step);
        if answers == 0 {
            let (weights, regret) = self.table.failed(step, &state.weights);
            cost += regret;
            after.push(self.after(state, step, 0, weights));
        }
        for answer in 0..answers {
            let weights = self.table.answered(step, answer, &state.weights);
            after.push(self.after(state, step, answer, weights));
        }
        after.retain(|state| sum(&state.weights) > 0.0);
        Course { step, cost, after, estimate: f64::INFINITY }
    }

    fn course(&mut self, state: &State, step: StepAt) -> Course {
        let mut course = self.outcome(state, step);
        course.estimate = course.cost + course.after.iter().map(|state| self.base(state)).sum::<f64>();
        course
    }

    fn base(&mut self, state: &State) -> f64 {
        self.work += 1;
        if let Some(value) = self.bases.get(&state.key) {
            return *value;
        }
        self.work += self.size;
        self.spent |= self.work > self.limit;
        let value = self.mends.value(&state.weights, &state.done, &state.open);
        self.bases.insert(state.key, value);
        value
    }

    fn floor(&mut self, state: &State) -> f64 {
        self.mends.floor(&state.weights, &state.done, &state.open)
    }

    /// The value of a state, searched `depth` steps further; when it is not below `bound`,
    /// anything that isn't either.
    fn value(&mut self, state: &State, depth: u32, bound: f64) -> Value {
        let base = self.base(state);
        if depth == 0 || self.spent {
            return Value { minutes: base, whole: base <= 0.0 };
        }
        if let Some(known) = self.known.get(&state.key) {
            let deep = known.depth >= depth || known.value.whole;
            if deep && (!known.floor_only || known.value.minutes >= bound) {
                return known.value;
            }
        }
        let steps = self.steps(state);
        let asks = steps.iter().any(|step| self.table.answers(*step) > 0);
        if steps.is_empty() || (!asks && self.mends.plain(&state.weights, &state.done, &state.open)) {
            let value = Value { minutes: base, whole: true };
            self.known.insert(state.key, Known { depth, value, floor_only: false });
            return value;
        }
        let (best, whole) = self.search(state, &steps, depth, base.min(bound));
        let minutes = best.min(base);
        let floor_only = best >= bound && base >= bound;
        let value = Value { minutes: if floor_only { bound } else { minutes }, whole };
        if !self.spent {
            self.known.insert(state.key, Known { depth, value, floor_only });
        }
        value
    }

    /// The best over the steps, or anything from `least` upwards when none is below it.
    fn search(&mut self, state: &State, steps: &[StepAt], depth: u32, mut least: f64) -> (f64, bool) {
        let mut whole = true;
        let mut courses = Vec::new();
        for step in steps {
            let mut course = self.outcome(state, *step);
            let floor: f64 = course.cost + course.after.iter().map(|state| self.floor(state)).sum::<f64>();
            if floor >= least * (1.0 - LITTLE) {
                continue;
            }
            course.estimate = course.cost + course.after.iter().map(|state| self.base(state)).sum::<f64>();
            if self.spent {
                return (least, false);
            }
            least = least.min(course.estimate);
            courses.push(course);
        }
        if depth == 1 {
            // Nothing is estimated where every course ends with this step.
            return (least, courses.iter().all(|course| course.after.is_empty()));
        }
        courses.sort_by(|a, b| a.estimate.total_cmp(&b.estimate).then(a.step.cmp(&b.step)));
        if courses.len() > WIDTH {
            courses.truncate(WIDTH);
            whole = false;
        }
        for course in courses {
            let floors: Vec<f64> = course.after.iter().map(|state| self.floor(state)).collect();
            let mut minutes = course.cost + floors.iter().sum::<f64>();
            let mut better = minutes < least * (1.0 - LITTLE);
            for (after, floor) in course.after.iter().zip(floors) {
                if !better {
                    break;
                }
                let bound = least - (minutes - floor);
                let value = self.value(after, depth - 1, bound);
                whole &= value.whole;
                // Not by the sum: a value that stopped at its bound may round to below it.
                better = value.minutes < bound;
                minutes += value.minutes - floor;
            }
            if better {
                least = least.min(minutes);
            }
        }
        (least, whole)
    }
}
