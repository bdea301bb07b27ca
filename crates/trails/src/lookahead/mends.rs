//! The value of a situation without any check: mends in a good order, then giving up.
//!
//! The order is greedy, weighed again after every mend: the next is the one with the most
//! chance per minute; a closed cover competes as a block, opening and closing together with
//! the mends inside that are worth as much per minute as the block. For independent mends
//! without covers, or with covers and without giving up, this is the optimum (Ottosen &
//! Jensen 2010, arXiv 1203.3502); where causes have several mends it is an estimate from
//! above, and its cost is reckoned as it really is: nothing is counted twice.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use crate::model::{CoverAt, StepAt};
use crate::table::{Deed, Table};

/// Less chance than this of curing is rounding.
const NO_CURE: f64 = 1e-12;

/// What a mend does to one hypothesis.
struct Touch {
    at: usize,
    /// The share that is left where it is when the trial looks bad.
    kept: f64,
    /// The share for which the trial looks good, the fault gone or hidden.
    leaves: f64,
    /// The share for which the trial only looks good.
    hidden: f64,
    /// How far it gets with this hypothesis: the share that is cured, or of two causes one.
    helps: f64,
}

/// A mend laid out for ordering.
pub(super) struct Laid {
    pub step: StepAt,
    minutes: f64,
    /// The innermost cover that it lies under.
    home: Option<CoverAt>,
    /// Covers elsewhere that it needs as well.
    extra: Vec<CoverAt>,
    /// Single causes first, then pairs.
    touches: Vec<Touch>,
    /// Where the pairs begin in `touches`.
    pairs_from: usize,
    moved: Vec<(usize, usize, f64)>,
}

/// All mends of a table that are still to be had.
pub(super) struct Mends<'a> {
    table: &'a Table,
    pub list: Vec<Laid>,
    /// Mends straight under each place: the open air ([`AIR`]), then the covers in order.
    under: Vec<Vec<usize>>,
    /// Covers straight inside each place.
    inner: Vec<Vec<CoverAt>>,
    /// Whether a hypothesis is touched by more than one mend.
    dependent: bool,
    /// Scratch.
    heap: BinaryHeap<Item>,
    weights: Vec<f64>,
    mass: f64,
    open: Vec<bool>,
    least: Vec<(f64, bool)>,
}

/// The place that is always open.
const AIR: usize = 0;

/// A mend or a closed cover in the queue, by chance per minute.
struct Item {
    ratio: f64,
    /// A mend's place, or the number of mends plus the cover's.
    id: usize,
    /// How many mends had been done when the ratio was reckoned.
    as_of: usize,
}

impl Ord for Item {
    fn cmp(&self, other: &Item) -> Ordering {
        self.ratio.total_cmp(&other.ratio).then(other.id.cmp(&self.id))
    }
}
impl PartialOrd for Item {
    fn partial_cmp(&self, other: &Item) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl PartialEq for Item {
    fn eq(&self, other: &Item) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Item {}

fn per_minute(chance: f64, minutes: f64) -> f64 {
    match (chance > 0.0, minutes > 0.0) {
        (false, _) => 0.0,
        (true, true) => chance / minutes,
        (true, false) => f64::INFINITY,
    }
}

impl Laid {
    fn new(table: &Table, step: StepAt) -> Option<Laid> {
        let row = &table.rows[step];
        let Deed::Mend { failed, moved, hidden } = &row.deed else { return None };
        let touches: Vec<Touch> = failed
            .iter()
            .map(|&(at, kept)| {
                let away: f64 =
                    moved.iter().filter(|(from, ..)| *from == at).map(|(_, _, share)| share).sum();
                let hidden = hidden.iter().find(|(place, _)| *place == at).map_or(0.0, |(_, share)| *share);
                let leaves = (1.0 - kept - away).max(0.0);
                let helps = leaves - hidden + away;
                Touch { at, kept, leaves, hidden, helps: if helps > NO_CURE { helps } else { 0.0 } }
            })
            .collect();
        let home = row.covers.last().copied();
        let mut around = Vec::new();
        let mut at = home;
        while let Some(cover) = at.filter(|_| around.len() <= table.covers.len()) {
            around.push(cover);
            at = table.inside[cover];
        }
        let extra = row.covers.iter().copied().filter(|cover| !around.contains(cover)).collect();
        let first_pair = moved.iter().map(|(from, ..)| *from).min().unwrap_or(usize::MAX);
        let pairs_from = touches.iter().take_while(|touch| touch.at < first_pair).count();
        Some(Laid { step, minutes: row.minutes, home, extra, touches, pairs_from, moved: moved.clone() })
    }

    /// Whether it gets anywhere, with weights that sum to `mass`.
    pub fn useful(&self, weights: &[f64], mass: f64) -> bool {
        self.touches.iter().map(|touch| touch.helps * weights[touch.at]).sum::<f64>() > mass * NO_CURE
    }

    fn leaving(&self, weights: &[f64]) -> f64 {
        self.touches.iter().map(|touch| weights[touch.at] * touch.leaves).sum()
    }

    fn hiding(&self, weights: &[f64]) -> f64 {
        self.touches.iter().map(|touch| weights[touch.at] * touch.hidden).sum()
    }

    /// The weights after a trial that looks bad.
    fn fail(&self, weights: &mut [f64]) {
        let (singles, pairs) = self.touches.split_at(self.pairs_from);
        for touch in singles {
            weights[touch.at] *= touch.kept;
        }
        for (from, to, share) in &self.moved {
            weights[*to] += weights[*from] * share;
        }
        for touch in pairs {
            weights[touch.at] *= touch.kept;
        }
    }
}

impl<'a> Mends<'a> {
    pub fn new(table: &'a Table, done: &[bool]) -> Mends<'a> {
        let list: Vec<Laid> = (0..table.rows.len())
            .filter(|step| !done[*step])
            .filter_map(|step| Laid::new(table, step))
            .collect();
        let place = |cover: Option<CoverAt>| cover.map_or(AIR, |cover| cover + 1);
        let mut under = vec![Vec::new(); table.covers.len() + 1];
        for (at, mend) in list.iter().enumerate() {
            under[place(mend.home)].push(at);
        }
        let mut inner = vec![Vec::new(); table.covers.len() + 1];
        for (cover, around) in table.inside.iter().enumerate() {
            inner[place(*around)].push(cover);
        }
        let mut touched = vec![0_u32; table.weights.len()];
        list.iter().flat_map(|mend| &mend.touches).for_each(|touch| touched[touch.at] += 1);
        Mends {
            table,
            list,
            under,
            inner,
            dependent: table.pairs || touched.iter().any(|count| *count > 1),
            heap: BinaryHeap::new(),
            weights: Vec::new(),
            mass: 0.0,
            open: Vec::new(),
            least: Vec::new(),
        }
    }

    /// How much one reckoning takes, on the scale of a model with a handful of mends.
    pub fn size(&self) -> usize {
        let touches: usize = self.list.iter().map(|mend| mend.touches.len()).sum();
        1 + (self.table.weights.len() + touches * 2 + self.list.len() * 8) / 64
    }

    /// Minutes of a mend, with covers elsewhere that are still closed.
    fn minutes(&self, mend: &Laid) -> f64 {
        let extra = mend.extra.iter().filter(|cover| !self.open[**cover]);
        mend.minutes + extra.map(|cover| self.table.covers[*cover]).sum::<f64>()
    }

    /// Chance and minutes; none for a mend that is done or never pays.
    fn offer(&self, at: usize, done: &[bool]) -> Option<(f64, f64)> {
        let mend = &self.list[at];
        if done[mend.step] || !mend.useful(&self.weights, self.mass) {
            return None;
        }
        let leaving = mend.leaving(&self.weights);
        if let Some(give_up) = self.table.give_up {
            let hiding = mend.hiding(&self.weights);
            if hiding > 0.0 && hiding * self.table.comeback >= leaving * give_up {
                return None;
            }
        }
        Some((leaving, self.minutes(mend)))
    }

    /// What lies under a closed cover as a block, then what is left over of it.
    fn block(&self, cover: CoverAt, done: &[bool]) -> Vec<(f64, f64)> {
        let mut items: Vec<(f64, f64)> =
            self.under[cover + 1].iter().filter_map(|at| self.offer(*at, done)).collect();
        for inner in &self.inner[cover + 1] {
            items.extend(self.block(*inner, done));
        }
        if items.is_empty() {
            return items;
        }
        items.sort_by(|a, b| per_minute(b.0, b.1).total_cmp(&per_minute(a.0, a.1)));
        let open = if self.open[cover] { 0.0 } else { self.table.covers[cover] };
        let mut block = (0.0, open);
        let mut taken = 0;
        for (chance, minutes) in &items {
            // Ties are taken in: the rule isn't exact without them.
            if chance * block.1 < block.0 * minutes * (1.0 - 1e-12) {
                break;
            }
            block = (block.0 + chance, block.1 + minutes);
            taken += 1;
        }
        items.drain(..taken);
        items.insert(0, block);
        items
    }

    fn ratio(&self, id: usize, done: &[bool]) -> f64 {
        let (chance, minutes) = match id.checked_sub(self.list.len()) {
            None => self.offer(id, done).unwrap_or((0.0, 0.0)),
            Some(cover) => self.block(cover, done).first().copied().unwrap_or((0.0, 0.0)),
        };
        per_minute(chance, minutes)
    }

    fn push(&mut self, id: usize, as_of: usize, done: &[bool]) {
        let ratio = self.ratio(id, done);
        if ratio > 0.0 {
            self.heap.push(Item { ratio, id, as_of });
        }
    }

    /// Queues what lies straight in a place, and in the open covers there.
    fn spread(&mut self, place: usize, as_of: usize, done: &[bool]) {
        for at in 0..self.under[place].len() {
            self.push(self.under[place][at], as_of, done);
        }
        for at in 0..self.inner[place].len() {
            let cover = self.inner[place][at];
            if self.open[cover] {
                self.spread(cover + 1, as_of, done);
            } else {
                self.push(self.list.len() + cover, as_of, done);
            }
        }
    }

    /// Minutes, times the mass, of doing mends only.
    pub fn value(&mut self, weights: &[f64], done: &[bool], open: &[bool]) -> f64 {
        self.weights.clear();
        self.weights.extend_from_slice(weights);
        self.open.clear();
        self.open.extend_from_slice(open);
        self.heap.clear();
        self.mass = weights.iter().sum();
        let give_up = self.table.give_up;
        let mut best = give_up.map_or(f64::INFINITY, |minutes| minutes * self.mass);
        let mut cost = 0.0;
        let mut tried = 0;
        self.spread(AIR, 0, done);
        while let Some(mut item) = self.heap.pop() {
            if self.dependent && item.as_of != tried {
                item.ratio = self.ratio(item.id, done);
                item.as_of = tried;
                if item.ratio <= 0.0 {
                    continue;
                }
                if self.heap.peek().is_some_and(|next| *next > item) {
                    self.heap.push(item);
                    continue;
                }
            }
            if let Some(cover) = item.id.checked_sub(self.list.len()) {
                if !self.open[cover] {
                    self.open[cover] = true;
                    cost += self.table.covers[cover] * self.mass;
                    self.spread(cover + 1, tried, done);
                }
                continue;
            }
            let mend = &self.list[item.id];
            cost += self.minutes(mend) * self.mass + mend.hiding(&self.weights) * self.table.comeback;
            if cost >= best {
                break;
            }
            self.mass = (self.mass - mend.leaving(&self.weights)).max(0.0);
            mend.fail(&mut self.weights);
            tried += 1;
            best = give_up.map_or(best, |minutes| best.min(cost + minutes * self.mass));
            for place in 0..self.list[item.id].extra.len() {
                let cover = self.list[item.id].extra[place];
                if !self.open[cover] {
                    self.open[cover] = true;
                    self.spread(cover + 1, tried, done);
                }
            }
        }
        if give_up.is_some() { best } else { cost }
    }

    /// Minutes, times the mass, that no course can undercut: every cause is known at once,
    /// and its cheapest mend is done, or giving up where that is cheaper.
    pub fn floor(&mut self, weights: &[f64], done: &[bool], open: &[bool]) -> f64 {
        let give_up = self.table.give_up;
        self.least.clear();
        self.least.resize(weights.len(), (give_up.unwrap_or(f64::INFINITY), give_up.is_some()));
        for mend in self.list.iter().filter(|mend| !done[mend.step]) {
            let price = self.table.price(mend.step, open);
            for touch in &mend.touches {
                let (least, ends) = &mut self.least[touch.at];
                *least = least.min(price);
                *ends |= touch.helps > 0.0;
            }
        }
        // Without giving up, a cause that nothing helps against ends when nothing is left.
        let paid = weights.iter().zip(&self.least).filter(|(weight, (_, ends))| *ends && **weight > 0.0);
        paid.map(|(weight, (least, _))| weight * least).sum()
    }

    /// Whether [`Mends::value`] is the optimum for mends alone.
    pub fn plain(&mut self, weights: &[f64], done: &[bool], open: &[bool]) -> bool {
        if self.table.pairs {
            return false;
        }
        let give_up = self.table.give_up.is_some();
        self.least.clear();
        self.least.resize(weights.len(), (0.0, false));
        let mass = weights.iter().sum();
        for mend in self.list.iter().filter(|mend| !done[mend.step] && mend.useful(weights, mass)) {
            let closed = self.table.rows[mend.step].covers.iter().any(|cover| !open[*cover]);
            if !mend.extra.is_empty() || (give_up && (closed || mend.hiding(weights) > 0.0)) {
                return false;
            }
            for touch in mend.touches.iter().filter(|touch| weights[touch.at] > 0.0) {
                let (_, touched) = &mut self.least[touch.at];
                if *touched {
                    return false;
                }
                *touched = true;
            }
        }
        true
    }
}
