//! The tree: pivots are placed one by one, the most promising node first; when all are placed,
//! the items follow in a leaf.

use std::cmp::{Ordering, Reverse};
use std::collections::BinaryHeap;

use super::bound::{Sums, at_least};
use super::leaf::{Ground, Leaf};
use super::pricing::{NEVER, Node, Pricing};
use crate::problem::{Assignment, Place, Score};

/// From so many open nodes on the tree is searched in depth.
const MANY: usize = 300_000;
/// A node that is still open.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Open {
    pub bound: Score,
    /// How often it has been put off.
    pub tries: u32,
    /// Numbers of the places of the first pivots.
    pub fixed: Vec<u16>,
    number: u64,
}

impl Ord for Open {
    fn cmp(&self, other: &Self) -> Ordering {
        // The greatest comes out first: the least bound, then the deepest, then the oldest.
        let rank = |one: &Self| (Reverse(one.bound), one.fixed.len(), Reverse(one.number));
        rank(self).cmp(&rank(other))
    }
}

impl PartialOrd for Open {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

/// The whole tree.
#[derive(Debug)]
pub struct Tree {
    heap: BinaryHeap<Open>,
    dive: Vec<Open>,
    parked: Vec<Open>,
    leaf: Option<Box<Leaf>>,
    number: u64,
}

impl Tree {
    pub fn new(bound: Score) -> Self {
        let root = Open { bound, tries: 0, fixed: Vec::new(), number: 0 };
        Self { heap: BinaryHeap::from([root]), dive: Vec::new(), parked: Vec::new(), leaf: None, number: 1 }
    }

    /// Nothing is open any more.
    pub fn done(&self) -> bool {
        self.heap.is_empty() && self.dive.is_empty() && self.parked.is_empty() && self.leaf.is_none()
    }

    /// The least bound of what is open.
    pub fn bound(&self) -> Option<Score> {
        let open = self.heap.peek().into_iter().chain(&self.dive).chain(&self.parked);
        open.chain(self.leaf.iter().map(|leaf| &leaf.open)).map(|open| open.bound).min()
    }

    /// A step: a node of pivots, or some nodes of a leaf. Answers better than `limit` go to
    /// `best` and become the limit.
    pub fn step(
        &mut self,
        ground: &mut Ground,
        limit: &mut Option<Score>,
        best: &mut Option<(Assignment, Score)>,
        work: &mut u64,
    ) {
        if let Some(mut leaf) = self.leaf.take() {
            let ended = leaf.search(ground, limit, best, 256, work);
            if !ended && leaf.left > 0 {
                self.leaf = Some(leaf);
            } else if !ended {
                let mut open = leaf.open;
                open.tries += 1;
                self.parked.push(open);
            }
            return;
        }
        *work += 1;
        let open = self.dive.pop().or_else(|| {
            if self.heap.is_empty() {
                self.heap.extend(self.parked.drain(..));
            }
            self.heap.pop()
        });
        let Some(open) = open else { return };
        if limit.is_some_and(|limit| open.bound >= limit) {
            return;
        }
        self.expand(ground, open, *limit, work);
    }

    /// Goes on with a node of which only the grounded matter; says whether it is a leaf that
    /// may hold a better answer.
    fn crowd(
        &mut self,
        ground: &mut Ground,
        open: &mut Open,
        places: &mut [Option<Place>],
        spent: &[i64],
        limit: Score,
        work: &mut u64,
    ) -> bool {
        let Ground { problem, frame, rows, stager, crowd, .. } = ground;
        let covers = crowd.covers;
        let raised = |bound: Score, grounded: i64| {
            bound.max(at_least(Score { grounded: 0, covers: 0, ..bound }, grounded, covers))
        };
        if 2 * open.fixed.len() >= problem.pivots.len() && !open.fixed.is_empty() {
            let target = limit.grounded + 1;
            let priced = crowd.priced(problem, frame, rows, *stager, places, target, work);
            let Some(priced) = priced else { return false };
            open.bound = raised(open.bound, priced);
            if open.bound >= limit {
                return false;
            }
        }
        if !open.fixed.is_empty() {
            let most = if covers < limit.covers { limit.grounded } else { limit.grounded - 1 };
            if crowd.refuted(problem, frame, rows, *stager, places, most, work) {
                return false;
            }
        }
        let Some(pivot) = frame.order.get(open.fixed.len()) else { return true };
        let mut children = Vec::new();
        for (number, place) in frame.places[*pivot].iter().enumerate() {
            let minutes = problem.pivots[*pivot].options[place.option].minutes;
            if spent[place.evening] + minutes > frame.room[place.evening] {
                continue;
            }
            places[*pivot] = Some(*place);
            let Some(crowded) = crowd.least(problem, frame, rows, *stager, places, work) else { continue };
            let bound = raised(open.bound, crowded);
            if bound >= limit {
                continue;
            }
            let mut fixed = open.fixed.clone();
            fixed.push(u16::try_from(number).unwrap_or(u16::MAX));
            children.push(Open { bound, tries: 0, fixed, number: self.number });
            self.number += 1;
        }
        self.keep(children);
        false
    }

    fn keep(&mut self, mut children: Vec<Open>) {
        if self.dive.is_empty() && self.heap.len() < MANY {
            self.heap.extend(children);
        } else {
            children.sort_unstable();
            self.dive.extend(children);
        }
    }

    fn expand(&mut self, ground: &mut Ground, mut open: Open, limit: Option<Score>, work: &mut u64) {
        let Ground { problem, frame, rows, stager, crowd, .. } = ground;
        let evenings = problem.evenings.len();
        let mut used = vec![false; evenings];
        let mut spent = vec![0_i64; evenings];
        for (number, pivot) in open.fixed.iter().zip(&frame.order) {
            let place = frame.places[*pivot][usize::from(*number)];
            used[place.evening] = true;
            spent[place.evening] += problem.pivots[*pivot].options[place.option].minutes;
            if spent[place.evening] > frame.room[place.evening] {
                return;
            }
        }
        let mut places = vec![None; problem.pivots.len()];
        for (number, pivot) in open.fixed.iter().zip(&frame.order) {
            places[*pivot] = Some(frame.places[*pivot][usize::from(*number)]);
        }
        let Some(crowded) = crowd.least(problem, frame, rows, *stager, &places, work) else { return };
        open.bound =
            open.bound.max(at_least(Score { grounded: 0, covers: 0, ..open.bound }, crowded, crowd.covers));
        if limit.is_some_and(|limit| open.bound >= limit) {
            return;
        }
        if let Some(limit) = limit.filter(|limit| limit.minutes == open.bound.minutes) {
            // No answer takes fewer minutes; of this node only the grounded matter.
            if !self.crowd(ground, &mut open, &mut places, &spent, limit, work) {
                return;
            }
        }
        let Ground { problem, frame, pricings, rows, stager, crowd } = ground;
        let mut node = |pricing: &mut Pricing| pricing.node(problem, frame, rows, *stager, &open.fixed, work);
        let Some(plain) = node(&mut pricings.plain) else { return };
        let (mut minutes, mut grounded) = (None, None);
        if let Some(pricing) = &mut pricings.minutes {
            minutes = node(pricing);
            if minutes.is_none() {
                return;
            }
        }
        if let Some(pricing) = &mut pricings.grounded {
            grounded = node(pricing);
            if grounded.is_none() {
                return;
            }
        }
        let price = |node: &Option<Node>| node.as_ref().map(|node| node.price);
        let sums = Sums { plain: plain.price, minutes: price(&minutes), grounded: price(&grounded) };
        let Some(bound) = pricings.bound(problem, frame, sums, &used, limit, None) else { return };
        open.bound = open.bound.max(at_least(bound, crowded, crowd.covers));
        if limit.is_some_and(|limit| open.bound >= limit) {
            return;
        }
        let Some(pivot) = frame.order.get(open.fixed.len()) else {
            let before = open.bound;
            let Some(leaf) = Leaf::new(ground, open, &spent, limit, work) else { return };
            if limit.is_some_and(|limit| leaf.open.bound >= limit) {
                return;
            }
            if leaf.open.bound > before && self.dive.is_empty() && self.heap.len() < MANY {
                // Others may be more promising now.
                self.heap.push(leaf.open);
            } else {
                self.leaf = Some(Box::new(leaf));
            }
            return;
        };
        let mut children = Vec::new();
        for (number, place) in frame.places[*pivot].iter().enumerate() {
            if plain.more[number] >= NEVER {
                continue;
            }
            let child =
                |node: &Option<Node>| node.as_ref().map(|node| (node.price + node.more[number]).min(NEVER));
            let sums = Sums {
                plain: plain.price + plain.more[number],
                minutes: child(&minutes),
                grounded: child(&grounded),
            };
            let before = used[place.evening];
            used[place.evening] = true;
            let bound = pricings.bound(problem, frame, sums, &used, limit, None);
            used[place.evening] = before;
            *work += 1;
            let Some(bound) = bound else { continue };
            let bound = at_least(bound, crowded, crowd.covers).max(open.bound);
            if limit.is_some_and(|limit| bound >= limit) {
                continue;
            }
            let mut fixed = open.fixed.clone();
            fixed.push(u16::try_from(number).unwrap_or(u16::MAX));
            children.push(Open { bound, tries: 0, fixed, number: self.number });
            self.number += 1;
        }
        self.keep(children);
    }
}
