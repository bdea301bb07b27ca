//! A leaf of the tree: all pivots are placed, and the items are placed one by one in depth.

use std::cmp::Reverse;

use super::bound::{Pricings, Sums, unpack};
use super::crowd::Crowd;
use super::frame::{Frame, evenings_afforded, evenings_needed};
use super::pricing::{Evenings, Prices, Pricing};
use super::rows::{Key, Rows, flies_when_it_must, key};
use super::tree::Open;
use crate::problem::{Assignment, Place, Problem, Score, Stager};

/// Nodes of a leaf before it is put off, the first time.
const PATIENCE: u64 = 20_000;

/// What all parts of a step need.
pub struct Ground<'a> {
    pub problem: &'a Problem,
    pub frame: &'a Frame,
    pub pricings: &'a mut Pricings,
    pub rows: &'a mut Rows,
    pub stager: &'a mut dyn Stager,
    pub crowd: &'a mut Crowd,
}

/// A way of an item with the pivots placed.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Way {
    place: Place,
    loads: Vec<(usize, i64)>,
    /// Aircraft grounded by the refit, in evenings from and before.
    down: Vec<(usize, usize, i64)>,
    plain: Key,
    minutes: Key,
    grounded: Key,
}

impl Way {
    /// What it costs at these prices.
    fn at(&self, prices: &Prices) -> Key {
        let score = unpack(self.plain);
        let loads = self.loads.iter().map(|(evening, minutes)| Key::from(*minutes) * prices.time[*evening]);
        prices.of(score.minutes, score.grounded, score.covers) + loads.sum::<Key>()
    }
}

/// Rounds of tuning prices at a leaf.
const ROUNDS: u32 = 40;

/// All pivots are placed.
#[derive(Debug)]
pub struct Leaf {
    pub open: Open,
    /// Nodes until it is put off.
    pub left: u64,
    items: Vec<usize>,
    ways: Vec<Vec<Way>>,
    /// An earlier item with the very same ways.
    twins: Vec<Option<usize>>,
    /// From an item on: the least sums of the rest.
    rest: Vec<[Key; 3]>,
    /// The next way to try, by item placed.
    next: Vec<usize>,
    taken: Vec<usize>,
    sums: Vec<[Key; 3]>,
    spent: Vec<i64>,
    things: Vec<u32>,
    used: Vec<bool>,
    down: Vec<i64>,
    /// At the prices of this leaf.
    evenings: Option<Evenings>,
}

impl Leaf {
    /// A node with all pivots placed, `spent` by them. `None` if an item has no way.
    pub fn new(
        ground: &mut Ground,
        open: Open,
        spent: &[i64],
        limit: Option<Score>,
        work: &mut u64,
    ) -> Option<Self> {
        let (problem, frame) = (ground.problem, ground.frame);
        let pricings = &*ground.pricings;
        let mut places = vec![Place { evening: 0, option: 0 }; problem.pivots.len()];
        let mut things = vec![0_u32; problem.evenings.len()];
        let mut sums = [0; 3];
        for (number, pivot) in open.fixed.iter().zip(&frame.order) {
            let place = frame.places[*pivot][usize::from(*number)];
            places[*pivot] = place;
            things[place.evening] += 1;
            sums[0] += pricings.plain.prices.pivot(problem, *pivot, place);
            sums[1] += price(pricings.minutes.as_ref(), &|prices| prices.pivot(problem, *pivot, place));
            sums[2] += price(pricings.grounded.as_ref(), &|prices| prices.pivot(problem, *pivot, place));
        }
        let evenings = problem.evenings.len();
        let mut leaf = Self {
            left: PATIENCE << open.tries.min(30),
            open,
            items: Vec::new(),
            ways: Vec::new(),
            twins: Vec::new(),
            rest: Vec::new(),
            next: vec![0],
            taken: Vec::new(),
            sums: vec![sums],
            spent: spent.to_vec(),
            used: things.iter().map(|things| *things > 0).collect(),
            things,
            down: vec![0; evenings],
            evenings: None,
        };
        let mut all = Vec::new();
        for (at, item) in problem.items.iter().enumerate() {
            *work += 2;
            let pivots: Vec<Place> = item.pivots.iter().map(|pivot| places[*pivot]).collect();
            let ways = ways(ground, at, &pivots, spent);
            all.push((at, ways));
        }
        if all.iter().any(|(_, ways)| ways.is_empty()) {
            return None;
        }
        let size = |ways: &[Way]| {
            ways.iter()
                .map(|way| way.loads.iter().map(|(_, minutes)| *minutes).sum::<i64>())
                .max()
                .unwrap_or(0)
        };
        all.sort_by_cached_key(|(at, ways)| (ways.len() > 1, Reverse(size(ways)), *at));
        for (item, ways) in all {
            let idle = problem.items[item].idle;
            let twin = (0..leaf.items.len())
                .rev()
                .find(|at| !idle && !problem.items[leaf.items[*at]].idle && leaf.ways[*at] == ways);
            leaf.twins.push(twin);
            leaf.items.push(item);
            leaf.ways.push(ways);
        }
        leaf.sum_up();
        if let Some(limit) = limit {
            leaf.tune(ground, &places, limit, work);
        }
        Some(leaf)
    }

    /// The least sums of the items yet to be placed.
    fn sum_up(&mut self) {
        self.rest = vec![[0; 3]; self.items.len() + 1];
        for at in (0..self.items.len()).rev() {
            let least = |of: fn(&Way) -> Key| self.ways[at].iter().map(of).min().unwrap_or(0);
            let after = self.rest[at + 1];
            self.rest[at] = [
                after[0] + least(|way| way.plain),
                after[1] + least(|way| way.minutes),
                after[2] + least(|way| way.grounded),
            ];
        }
    }

    /// Better prices of time for this leaf alone; its bound is raised by them.
    fn tune(&mut self, ground: &Ground, places: &[Place], limit: Score, work: &mut u64) {
        let (problem, frame) = (ground.problem, ground.frame);
        let Some(pricing) = &ground.pricings.grounded else { return };
        let plain = self.sums[0][0] + self.rest[0][0];
        let minutes = unpack(plain).minutes;
        let Some(least) = evenings_needed(frame, &self.used, minutes) else { return };
        let most = evenings_afforded(problem, limit.minutes.saturating_sub(minutes));
        let mut prices = pricing.prices.clone();
        let goal = key(0, limit.grounded, limit.covers);
        let mut best: Option<(Key, Prices)> = None;
        let (mut step, mut since) = (1.0, 0);
        let ways: usize = self.ways.iter().map(Vec::len).sum();
        for _ in 0..ROUNDS {
            *work += ways as u64 / 200 + 1;
            let evenings = Evenings::new(problem, frame, &prices);
            let mut value =
                evenings.least(&self.used, least, most) - Key::from(limit.minutes) * prices.minutes;
            // The pivots are spent already.
            let mut slack = self.spent.clone();
            for (pivot, place) in places.iter().enumerate() {
                value += prices.pivot(problem, pivot, *place);
            }
            for ways in &self.ways {
                let cheapest = ways.iter().map(|way| (way.at(&prices), way)).min_by_key(|(price, _)| *price);
                let Some((price, way)) = cheapest else { continue };
                value += price;
                for (evening, minutes) in &way.loads {
                    slack[*evening] += minutes;
                }
            }
            for (_, evening) in evenings.chosen(&self.used, least, most) {
                slack[evening] -= frame.room[evening];
            }
            if best.as_ref().is_none_or(|(best, _)| value > *best) {
                best = Some((value, prices.clone()));
                since = 0;
            } else {
                since += 1;
                if since >= 4 {
                    step /= 2.0;
                    since = 0;
                }
            }
            for (slack, price) in slack.iter_mut().zip(&prices.time) {
                if *slack < 0 && *price == 0 {
                    *slack = 0;
                }
            }
            #[expect(
                clippy::cast_precision_loss,
                reason = "a guide only: bounds are counted in whole numbers"
            )]
            #[expect(clippy::cast_possible_truncation, reason = "far below the range")]
            {
                let norm: f64 = slack.iter().map(|slack| *slack as f64 * *slack as f64).sum();
                if norm <= 0.0 || value >= goal {
                    break;
                }
                let length = step * (goal - value) as f64 / norm;
                for (price, slack) in prices.time.iter_mut().zip(&slack) {
                    *price = (*price + (length * *slack as f64) as Key).max(0);
                }
            }
        }
        let Some((_, prices)) = best else { return };
        for way in self.ways.iter_mut().flatten() {
            way.grounded = way.at(&prices);
        }
        self.sums[0][2] =
            places.iter().enumerate().map(|(pivot, place)| prices.pivot(problem, pivot, *place)).sum();
        self.sum_up();
        let evenings = Evenings::new(problem, frame, &prices);
        let sums = Sums {
            plain,
            minutes: Some(self.sums[0][1] + self.rest[0][1]),
            grounded: Some(self.sums[0][2] + self.rest[0][2]),
        };
        // The bound of the node is known to hold already.
        let pricings = &ground.pricings;
        match pricings.bound(problem, frame, sums, &self.used, Some(limit), Some(&evenings)) {
            Some(bound) => self.open.bound = self.open.bound.max(bound),
            None => self.open.bound = limit.max(self.open.bound),
        }
        self.evenings = Some(evenings);
    }

    /// Places an item, or takes it away.
    fn put(&mut self, problem: &Problem, at: usize, way: usize, sign: i64) {
        let way = &self.ways[at][way];
        for (evening, minutes) in &way.loads {
            self.spent[*evening] += sign * minutes;
        }
        for (from, end, count) in &way.down {
            for down in &mut self.down[*from..*end] {
                *down += sign * count;
            }
        }
        if !problem.items[self.items[at]].idle {
            let evening = way.place.evening;
            if sign > 0 {
                self.things[evening] += 1;
            } else {
                self.things[evening] -= 1;
            }
            self.used[evening] = self.things[evening] > 0;
        }
    }

    /// Up to so many nodes; says whether the leaf is searched through.
    pub fn search(
        &mut self,
        ground: &mut Ground,
        limit: &mut Option<Score>,
        best: &mut Option<(Assignment, Score)>,
        nodes: u64,
        work: &mut u64,
    ) -> bool {
        let problem = ground.problem;
        if limit.is_some_and(|limit| self.open.bound >= limit) {
            return true;
        }
        for _ in 0..nodes {
            if self.left == 0 {
                return false;
            }
            self.left -= 1;
            *work += 1;
            let at = self.taken.len();
            let way = self.next.get(at).copied().unwrap_or(0);
            if at == self.items.len() || way >= self.ways[at].len() {
                if at == self.items.len() {
                    self.answer(ground, limit, best);
                }
                // Back to the item before.
                let Some(taken) = self.taken.pop() else { return true };
                self.put(problem, at - 1, taken, -1);
                self.next.truncate(at);
                self.sums.truncate(at);
                continue;
            }
            self.next[at] = way + 1;
            let chosen = &self.ways[at][way];
            let fits = chosen
                .loads
                .iter()
                .all(|(evening, minutes)| self.spent[*evening] + minutes <= ground.frame.room[*evening])
                && problem.most_grounded.is_none_or(|most| {
                    chosen.down.iter().all(|(from, end, count)| {
                        self.down[*from..*end].iter().all(|down| down + count <= i64::from(most))
                    })
                });
            if !fits {
                continue;
            }
            let before = self.sums[at];
            let sums = [before[0] + chosen.plain, before[1] + chosen.minutes, before[2] + chosen.grounded];
            let rest = self.rest[at + 1];
            self.put(problem, at, way, 1);
            let whole = Sums {
                plain: sums[0] + rest[0],
                minutes: Some(sums[1] + rest[1]),
                grounded: Some(sums[2] + rest[2]),
            };
            let bound = ground.pricings.bound(
                problem,
                ground.frame,
                whole,
                &self.used,
                *limit,
                self.evenings.as_ref(),
            );
            if bound.is_none_or(|bound| limit.is_some_and(|limit| bound >= limit)) {
                self.put(problem, at, way, -1);
                continue;
            }
            self.taken.push(way);
            self.sums.push(sums);
            let first = self.twins.get(at + 1).copied().flatten().map_or(0, |twin| self.taken[twin]);
            self.next.push(first);
        }
        false
    }

    /// Everything is placed.
    fn answer(&self, ground: &Ground, limit: &mut Option<Score>, best: &mut Option<(Assignment, Score)>) {
        let problem = ground.problem;
        let Some(sums) = self.sums.last() else { return };
        let mut score = unpack(sums[0]);
        for (slot, used) in problem.evenings.iter().zip(&self.used) {
            score.minutes += if *used { slot.bench } else { 0 };
        }
        if limit.is_some_and(|limit| score >= limit) {
            return;
        }
        if problem.most_grounded.is_some_and(|most| self.down.iter().any(|down| *down > i64::from(most))) {
            return;
        }
        let mut items = vec![None; problem.items.len()];
        for ((item, ways), taken) in self.items.iter().zip(&self.ways).zip(&self.taken) {
            if !problem.items[*item].idle {
                items[*item] = Some(ways[*taken].place);
            }
        }
        let mut pivots = vec![Place { evening: 0, option: 0 }; problem.pivots.len()];
        for (number, pivot) in self.open.fixed.iter().zip(&ground.frame.order) {
            pivots[*pivot] = ground.frame.places[*pivot][usize::from(*number)];
        }
        *limit = Some(score);
        *best = Some((Assignment { pivots, items }, score));
    }
}

/// Every way of an item, its pivots being placed and `spent` by them; the cheapest first.
fn ways(ground: &mut Ground, at: usize, pivots: &[Place], spent: &[i64]) -> Vec<Way> {
    let Ground { problem, frame, pricings, rows, stager, .. } = ground;
    let item = &problem.items[at];
    let evenings = problem.evenings.len();
    let mut ways = Vec::new();
    rows.classes(*stager, problem, at, pivots, &mut |known, in_order, class| {
        for evening in class.evenings.clone() {
            let mut nights = in_order.to_vec();
            if let Some(own) = class.own {
                nights[own] = evening;
                if item.allowed.get(evening) != Some(&true) || !frame.usable[evening] {
                    continue;
                }
            }
            let fits = nights
                .iter()
                .zip(&known.stages.minutes)
                .all(|(night, minutes)| spent[*night] + minutes <= frame.room[*night]);
            if !fits || !flies_when_it_must(item, &known.stages, &nights) {
                continue;
            }
            let later = i64::try_from(evening - class.evenings.start).unwrap_or(0);
            let hours = class.grounded + class.slope * later;
            let mut down = Vec::new();
            if problem.most_grounded.is_some() {
                let mut from = 0;
                let mut flies = item.flies_first;
                for rank in 0..=nights.len() {
                    let end = nights.get(rank).copied().unwrap_or(evenings);
                    let count = i64::from((item.counts & !flies).count_ones());
                    if count > 0 && end > from {
                        down.push((from, end, count));
                    }
                    if rank < nights.len() {
                        flies = known.stages.flies[rank];
                        from = end;
                    }
                }
            }
            ways.push(Way {
                place: Place { evening, option: class.option },
                plain: pricings.plain.prices.row(known, &nights, hours),
                minutes: price(pricings.minutes.as_ref(), &|prices| prices.row(known, &nights, hours)),
                grounded: price(pricings.grounded.as_ref(), &|prices| prices.row(known, &nights, hours)),
                loads: nights.into_iter().zip(known.stages.minutes.iter().copied()).collect(),
                down,
            });
        }
    });
    ways.sort_by_key(|way| (way.plain, way.grounded, way.minutes, way.place));
    ways
}

/// What a price comes to where a relaxation is in use.
fn price(pricing: Option<&Pricing>, of: &dyn Fn(&Prices) -> Key) -> Key {
    pricing.map_or(0, |pricing| of(&pricing.prices))
}
