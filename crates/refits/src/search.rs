//! The search for the best assignment: branch and bound with a proof.
//!
//! Better means fewer minutes, then fewer grounded aircraft-evenings, then fewer covers. The
//! search is deterministic, counts its own work, reads no clock and can be stopped and gone on
//! with at any time. Minutes of the problem and of its stages are never negative.

use crate::problem::{Assignment, Problem, Score, Stager};
use anneal::Walk;
use bound::{Pricings, Sums, unpack};
use crowd::Crowd;
use frame::Frame;
use leaf::Ground;
use pricing::{Prices, Pricing};
use rows::Rows;
use tree::Tree;
use tuning::{Aim, Tuning};

mod anneal;
mod bound;
mod crowd;
mod frame;
mod leaf;
mod pricing;
mod rows;
mod start;
mod tree;
mod tuning;

/// How far a search has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// There is more to search.
    Searching,
    /// The best is proven: no answer is better. With [`Search::below`] and no best: no answer is
    /// better than the score given there.
    Proven,
    /// There is no answer at all.
    Infeasible,
}

/// What a search has found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Progress {
    /// How far it has come.
    pub state: State,
    /// The best answer so far.
    pub best: Option<(Assignment, Score)>,
    /// No answer is better than this. Equal to the best score if that is proven.
    pub bound: Score,
    /// Work done since the beginning, in units of about a microsecond.
    pub work: u64,
}

/// What is done next.
#[derive(Debug)]
enum Phase {
    /// Nothing is known yet.
    Start,
    /// A cooling, before the phase that comes after it.
    Cool(After),
    /// Prices of time for the bound of the minutes.
    Minutes(Tuning),
    /// Prices of time for the bound of the grounded.
    Grounded(Tuning),
    /// The tree, a cooling now and then.
    Tree,
    /// All is said.
    Done(State),
}

/// What comes after a cooling.
#[derive(Clone, Copy, Debug)]
enum After {
    Minutes,
    Grounded,
    Tree,
}

/// A search that can be gone on with.
#[derive(Debug)]
pub struct Search {
    problem: Problem,
    frame: Frame,
    rows: Rows,
    walk: Option<Walk>,
    pricings: Option<Pricings>,
    tree: Option<Tree>,
    crowd: Crowd,
    phase: Phase,
    best: Option<(Assignment, Score)>,
    below: Option<Score>,
    /// No answer is better than this.
    floor: Score,
    least_minutes: i64,
    work: u64,
    /// When the next cooling during the tree is due, and how often there was one.
    cool_at: u64,
    coolings: u32,
}

/// Moves of an annealing at a time.
const MOVES: u64 = 100;
/// From so many things on a walk begins coolly.
const LARGE: u64 = 100;
/// Coolings during the tree.
const COOLINGS: u32 = 14;

impl Search {
    /// A search for the best answer to a problem.
    pub fn new(problem: Problem) -> Self {
        Self {
            frame: Frame::new(&problem),
            rows: Rows::new(&problem),
            problem,
            walk: None,
            pricings: None,
            tree: None,
            crowd: Crowd::default(),
            phase: Phase::Start,
            best: None,
            below: None,
            floor: Score::default(),
            least_minutes: 0,
            work: 0,
            cool_at: 0,
            coolings: 0,
        }
    }

    /// An answer known beforehand, for instance the plan so far. One that breaks the problem or
    /// isn't of it is left aside.
    pub fn hint(&mut self, answer: &Assignment, stager: &mut dyn Stager) {
        let evenings = self.problem.evenings.len();
        let of_it = answer.pivots.len() == self.problem.pivots.len()
            && answer.items.len() == self.problem.items.len()
            && answer
                .pivots
                .iter()
                .zip(&self.problem.pivots)
                .all(|(place, pivot)| place.evening < evenings && place.option < pivot.options.len())
            && answer.items.iter().zip(&self.problem.items).all(|(place, item)| match place {
                Some(place) => !item.idle && place.evening < evenings && place.option < item.options,
                None => item.idle,
            });
        if !of_it {
            return;
        }
        if let Ok(score) = self.problem.score(stager, answer)
            && self.limit().is_none_or(|limit| score < limit)
        {
            self.best = Some((answer.clone(), score));
        }
    }

    /// Only answers better than this are wanted: another search has found one.
    pub fn below(&mut self, score: Score) {
        self.below = Some(self.below.map_or(score, |below| below.min(score)));
    }

    /// The work done so far, in units of about a microsecond.
    pub fn work(&self) -> u64 {
        self.work
    }

    /// Only better answers count.
    fn limit(&self) -> Option<Score> {
        self.best.as_ref().map(|(_, score)| *score).into_iter().chain(self.below).min()
    }

    /// Goes on for about so much work.
    pub fn run(&mut self, stager: &mut dyn Stager, work: u64) -> Progress {
        let until = self.work.saturating_add(work);
        while self.work < until && !matches!(self.phase, Phase::Done(_)) {
            self.advance(stager);
        }
        let limit = self.limit();
        let state = if let Phase::Done(state) = self.phase { state } else { State::Searching };
        let open = self.tree.as_ref().and_then(Tree::bound).map_or(self.floor, |bound| bound.max(self.floor));
        let bound = match (state, limit) {
            (State::Proven, Some(limit)) => limit,
            (_, Some(limit)) => open.min(limit),
            (_, None) => open,
        };
        let best = self.best.clone();
        let best = best.filter(|(_, score)| self.below.is_none_or(|below| *score < below));
        Progress { state, best, bound, work: self.work }
    }

    /// A small step, the same however the work is cut into pieces.
    fn advance(&mut self, stager: &mut dyn Stager) {
        self.work += 1;
        match std::mem::replace(&mut self.phase, Phase::Done(State::Infeasible)) {
            Phase::Start => self.phase = self.start(stager),
            Phase::Cool(after) => {
                if self.cool(stager) {
                    self.phase = match after {
                        // Prices of minutes have nothing to say any more.
                        After::Minutes
                            if self.limit().is_some_and(|limit| limit.minutes == self.floor.minutes) =>
                        {
                            self.warm(stager, 2);
                            Phase::Cool(After::Grounded)
                        }
                        After::Minutes => Phase::Minutes(Tuning::new(&self.problem, false)),
                        After::Grounded | After::Tree if !self.is_large() && self.lacks_grounded() => {
                            Phase::Grounded(Tuning::new(&self.problem, true))
                        }
                        After::Grounded | After::Tree => Phase::Tree,
                    };
                } else {
                    self.phase = Phase::Cool(after);
                }
            }
            Phase::Minutes(tuning) | Phase::Grounded(tuning) => self.phase = self.tune(stager, tuning),
            Phase::Tree => self.phase = self.grow(stager),
            Phase::Done(state) => self.phase = Phase::Done(state),
        }
    }

    /// Whether there is so much to do that good answers matter more than proofs.
    fn is_large(&self) -> bool {
        self.walk.as_ref().is_some_and(|walk| walk.size() > LARGE)
    }

    /// Whether prices for the grounded could be had now and aren't there.
    fn lacks_grounded(&self) -> bool {
        self.limit().is_some() && self.pricings.as_ref().is_some_and(|pricings| pricings.grounded.is_none())
    }

    fn start(&mut self, stager: &mut dyn Stager) -> Phase {
        let stands = self.problem.evenings.iter().all(|slot| slot.capacity >= 0)
            && self.problem.items.iter().all(|item| {
                item.must_fly
                    .iter()
                    .all(|(aircraft, after)| after.is_some() || item.flies_first & (1 << aircraft) != 0)
            });
        let Some(mut walk) = Walk::new(&self.problem, &mut self.rows, stager).filter(|_| stands) else {
            return Phase::Done(self.nothing_better());
        };
        if self.frame.places.iter().any(Vec::is_empty) {
            return Phase::Done(self.nothing_better());
        }
        let evenings = self.problem.evenings.len();
        let mut plain = Pricing::new(
            &self.problem,
            &self.frame,
            &mut self.rows,
            stager,
            Prices::plain(evenings),
            &mut self.work,
        );
        let root = plain.node(&self.problem, &self.frame, &mut self.rows, stager, &[], &mut self.work);
        let Some(root) = root else { return Phase::Done(self.nothing_better()) };
        self.least_minutes = unpack(root.price).minutes;
        self.pricings = Some(Pricings { plain, minutes: None, grounded: None });
        self.crowd.begin(&self.problem, &self.frame, &mut self.rows, stager, &mut self.work);
        let sequence = start::in_sequence(&self.problem, stager);
        if let Some((answer, Some(score))) = &sequence
            && self.limit().is_none_or(|limit| *score < limit)
        {
            self.best = Some((answer.clone(), *score));
        }
        if !self.raise_floor(stager) {
            return Phase::Done(self.nothing_better());
        }
        let mut hot = 2000.0;
        if let Some((answer, _)) = &self.best {
            walk.start(&self.problem, &mut self.rows, stager, answer);
        } else if let Some((answer, _)) = &sequence {
            walk.start(&self.problem, &mut self.rows, stager, answer);
        }
        // A large one would never find back to so good an order.
        if walk.size() > LARGE && sequence.is_some() {
            hot = 60.0;
        }
        walk.begin(walk.size() * 400, hot);
        self.walk = Some(walk);
        Phase::Cool(After::Minutes)
    }

    /// What an end of the search means.
    fn nothing_better(&self) -> State {
        if self.best.is_none() && self.below.is_none() { State::Infeasible } else { State::Proven }
    }

    /// The bound of the root at the prices known; says whether there can be a better answer.
    fn raise_floor(&mut self, stager: &mut dyn Stager) -> bool {
        let limit = self.limit();
        let Some(pricings) = &mut self.pricings else { return true };
        let mut root = |pricing: &mut Pricing| {
            pricing
                .node(&self.problem, &self.frame, &mut self.rows, stager, &[], &mut self.work)
                .map(|node| node.price)
        };
        let Some(plain) = root(&mut pricings.plain) else { return false };
        let minutes = pricings.minutes.as_mut().and_then(&mut root);
        let grounded = pricings.grounded.as_mut().and_then(&mut root);
        let unused = vec![false; self.problem.evenings.len()];
        let sums = Sums { plain, minutes, grounded };
        let Some(bound) = pricings.bound(&self.problem, &self.frame, sums, &unused, limit, None) else {
            return false;
        };
        let open = vec![None; self.problem.pivots.len()];
        let crowd =
            self.crowd.least(&self.problem, &self.frame, &mut self.rows, stager, &open, &mut self.work);
        let Some(crowd) = crowd else { return false };
        let bound = bound::at_least(bound, crowd, self.crowd.covers);
        self.floor = self.floor.max(bound);
        limit.is_none_or(|limit| self.floor < limit)
    }

    /// Goes on with a cooling; says whether it is over.
    fn cool(&mut self, stager: &mut dyn Stager) -> bool {
        let Some(walk) = &mut self.walk else { return true };
        let before = walk.evaluated;
        let mut best = self.best.clone();
        walk.walk(&self.problem, &mut self.rows, stager, MOVES, &mut best);
        self.work += (walk.evaluated - before) / 5 + MOVES / 20;
        let over = walk.cooled();
        if let Some((_, score)) = &best
            && self.limit().is_none_or(|limit| *score < limit)
        {
            self.best = best;
        }
        over || self.limit().is_some_and(|limit| limit <= self.floor)
    }

    fn tune(&mut self, stager: &mut dyn Stager, mut tuning: Tuning) -> Phase {
        let limit = self.limit();
        if limit.is_some_and(|limit| limit <= self.floor) {
            return Phase::Done(self.nothing_better());
        }
        let target = limit
            .unwrap_or(Score { minutes: self.floor.minutes + self.floor.minutes / 20, ..Score::default() });
        let step = tuning.step(
            &self.problem,
            &self.frame,
            &mut self.rows,
            stager,
            Aim { least_minutes: self.least_minutes, target, limit },
            &mut self.work,
        );
        if step.is_none() {
            return Phase::Done(self.nothing_better());
        }
        if !tuning.settled(120) {
            return if tuning.grounded { Phase::Grounded(tuning) } else { Phase::Minutes(tuning) };
        }
        let found = tuning.best().map(|prices| {
            Pricing::new(&self.problem, &self.frame, &mut self.rows, stager, prices, &mut self.work)
        });
        if let Some(pricings) = &mut self.pricings {
            if tuning.grounded {
                pricings.grounded = found;
            } else {
                pricings.minutes = found;
            }
        }
        if !self.raise_floor(stager) {
            return Phase::Done(self.nothing_better());
        }
        if tuning.grounded {
            return Phase::Tree;
        }
        self.warm(stager, 2);
        Phase::Cool(After::Grounded)
    }

    /// Begins another cooling, longer each time; every other one starts at the best.
    fn warm(&mut self, stager: &mut dyn Stager, longer: u64) {
        let large = self.is_large();
        let Some(walk) = &mut self.walk else { return };
        let hot = match (&self.best, walk.rounds % 3) {
            (Some((answer, _)), _) if large => {
                walk.start(&self.problem, &mut self.rows, stager, answer);
                [15.0, 120.0, 30.0][usize::try_from(walk.rounds % 3).unwrap_or(0)]
            }
            (Some((answer, _)), 0) => {
                walk.start(&self.problem, &mut self.rows, stager, answer);
                60.0
            }
            (Some((answer, _)), 1) => {
                walk.start(&self.problem, &mut self.rows, stager, answer);
                400.0
            }
            _ => 2000.0,
        };
        let moves = walk.size().saturating_mul(400).saturating_mul(longer).min(4_000_000);
        walk.begin(moves, hot);
    }

    fn grow(&mut self, stager: &mut dyn Stager) -> Phase {
        let mut limit = self.limit();
        if limit.is_some_and(|limit| limit <= self.floor) {
            return Phase::Done(self.nothing_better());
        }
        let floor = self.floor;
        let tree = self.tree.get_or_insert_with(|| Tree::new(floor));
        if tree.done() {
            return Phase::Done(self.nothing_better());
        }
        let before = self.work;
        if let Some(pricings) = &mut self.pricings {
            let mut ground = Ground {
                problem: &self.problem,
                frame: &self.frame,
                pricings,
                rows: &mut self.rows,
                stager,
                crowd: &mut self.crowd,
            };
            tree.step(&mut ground, &mut limit, &mut self.best, &mut self.work);
        }
        self.cool_at = self.cool_at.saturating_add(self.work - before);
        let due = if self.is_large() { 50_000 } else { 100_000_u64 << self.coolings.min(8) };
        if self.coolings < COOLINGS && self.cool_at > due {
            self.cool_at = 0;
            self.coolings += 1;
            self.warm(stager, 2 << self.coolings.min(6));
            return Phase::Cool(After::Tree);
        }
        Phase::Tree
    }
}

/// How far the best may be from the bound: the relative gap in the first criterion in which they
/// differ, 0 if they are equal.
pub fn gap(best: Score, bound: Score) -> f64 {
    let pairs = [(best.minutes, bound.minutes), (best.grounded, bound.grounded), (best.covers, bound.covers)];
    #[expect(clippy::cast_precision_loss, reason = "a ratio for the eye")]
    pairs
        .iter()
        .find(|(best, bound)| best != bound)
        .map_or(0.0, |(best, bound)| (best - bound) as f64 / (*best).max(1) as f64)
}
