//! What no answer can beat at given prices: each pivot with the items that lean on it is taken by
//! itself, and the evenings' time has a price instead of an end.
//!
//! Lagrangian relaxation: Geoffrion, "Lagrangean relaxation for integer programming",
//! Mathematical Programming Study 2, 1974.

use super::frame::Frame;
use super::rows::{Class, Key, Known, Rows, flies_when_it_must};
use crate::problem::{Place, Problem, Stager};

/// No way at all.
pub const NEVER: Key = Key::MAX / 4;
/// Most entries of a table of one item.
const TABLE: usize = 8192;
/// A grounded aircraft-evening among whole prices.
pub const GROUNDED: Key = 1 << 32;
/// A hundredth of a minute among whole prices, where only minutes count.
pub const MINUTE: Key = 1 << 20;

/// What things cost.
#[derive(Clone, Debug)]
pub struct Prices {
    pub minutes: Key,
    pub grounded: Key,
    pub covers: Key,
    /// By evening: a hundredth of its time.
    pub time: Vec<Key>,
}

/// The cheapest way of an item, its pivots being placed.
#[derive(Clone, Debug)]
pub struct Cheapest {
    pub price: Key,
    /// Evenings and loads.
    pub loads: Vec<(usize, i64)>,
    pub minutes: i64,
}

impl Prices {
    /// Minutes, then grounded, then covers; time has no price.
    pub fn plain(evenings: usize) -> Self {
        Self { minutes: 1 << 64, grounded: 1 << 32, covers: 1, time: vec![0; evenings] }
    }

    pub fn of(&self, minutes: i64, grounded: i64, covers: i64) -> Key {
        Key::from(minutes) * self.minutes
            + Key::from(grounded) * self.grounded
            + Key::from(covers) * self.covers
    }

    pub fn pivot(&self, problem: &Problem, pivot: usize, place: Place) -> Key {
        let work = problem.pivots[pivot].options[place.option];
        self.of(work.minutes, 0, i64::from(work.covers)) + Key::from(work.minutes) * self.time[place.evening]
    }

    /// What a row costs.
    pub fn row(&self, known: &Known, in_order: &[usize], grounded: i64) -> Key {
        let mut price = self.of(known.minutes, grounded, known.covers);
        for (rank, night) in in_order.iter().enumerate() {
            price += Key::from(known.stages.minutes[rank]) * self.time[*night];
        }
        price
    }

    /// The cheapest price of a class and its evening.
    fn class(
        &self,
        problem: &Problem,
        frame: &Frame,
        item: usize,
        known: &Known,
        in_order: &[usize],
        class: &Class,
    ) -> Option<(Key, usize)> {
        let this = &problem.items[item];
        for (rank, night) in in_order.iter().enumerate() {
            if Some(rank) != class.own && known.stages.minutes[rank] > frame.room[*night] {
                return None;
            }
        }
        let Some(own) = class.own else {
            let fine = flies_when_it_must(this, &known.stages, in_order);
            return fine.then(|| (self.row(known, in_order, class.grounded), 0));
        };
        let load = known.stages.minutes[own];
        let first = class.evenings.start;
        let fixed = self.row(known, in_order, class.grounded) - Key::from(load) * self.time[first];
        let slope = Key::from(class.slope) * self.grounded;
        let mut best: Option<(Key, usize)> = None;
        let mut at = fixed;
        let mut nights = Vec::new();
        for evening in class.evenings.clone() {
            let price = at + Key::from(load) * self.time[evening];
            at += slope;
            if !this.allowed.get(evening).is_some_and(|allowed| *allowed)
                || load > frame.room[evening]
                || !frame.usable[evening]
                || best.is_some_and(|(best, _)| best <= price)
            {
                continue;
            }
            if !this.must_fly.is_empty() {
                nights.clear();
                nights.extend_from_slice(in_order);
                nights[own] = evening;
                if !flies_when_it_must(this, &known.stages, &nights) {
                    continue;
                }
            }
            best = Some((price, evening));
        }
        best
    }

    /// The cheapest price of an item, its pivots being at these places.
    pub fn cheapest(
        &self,
        problem: &Problem,
        frame: &Frame,
        rows: &mut Rows,
        stager: &mut dyn Stager,
        item: usize,
        pivots: &[Place],
    ) -> Key {
        let mut best = NEVER;
        rows.classes(stager, problem, item, pivots, &mut |known, in_order, class| {
            if let Some((price, _)) = self.class(problem, frame, item, known, in_order, &class) {
                best = best.min(price);
            }
        });
        best
    }

    /// The same with its loads.
    pub fn chosen(
        &self,
        problem: &Problem,
        frame: &Frame,
        rows: &mut Rows,
        stager: &mut dyn Stager,
        item: usize,
        pivots: &[Place],
    ) -> Cheapest {
        let mut best = Cheapest { price: NEVER, loads: Vec::new(), minutes: 0 };
        rows.classes(stager, problem, item, pivots, &mut |known, in_order, class| {
            if let Some((price, evening)) = self.class(problem, frame, item, known, in_order, &class)
                && price < best.price
            {
                let mut nights = in_order.to_vec();
                if let Some(own) = class.own {
                    nights[own] = evening;
                }
                let loads = nights.iter().copied().zip(known.stages.minutes.iter().copied()).collect();
                best = Cheapest { price, loads, minutes: known.minutes };
            }
        });
        best
    }
}

/// The cheapest price of an item by the places of its pivots.
#[derive(Clone, Debug)]
enum Spread {
    /// Too many places: no less than this.
    Least(Key),
    /// Mixed number of places, in the order of [`Frame::turns`].
    Table(Vec<Key>),
}

/// What using evenings adds at some prices.
#[derive(Clone, Debug)]
pub struct Evenings {
    /// Each with what it adds, least first.
    pub by_price: Vec<(Key, usize)>,
    /// The price of a hundredth of a minute.
    pub minute: Key,
}

impl Evenings {
    pub fn new(problem: &Problem, frame: &Frame, prices: &Prices) -> Self {
        let mut by_price: Vec<(Key, usize)> = (0..problem.evenings.len())
            .filter(|at| frame.usable[*at])
            .map(|at| {
                let bench = Key::from(problem.evenings[at].bench) * prices.minutes;
                (bench - Key::from(frame.room[at]) * prices.time[at], at)
            })
            .collect();
        by_price.sort_unstable();
        Self { by_price, minute: prices.minutes }
    }

    /// Which are used to add least: those of `used`, at least `least` and at most `most` in all.
    pub fn chosen(&self, used: &[bool], least: usize, most: usize) -> impl Iterator<Item = (Key, usize)> {
        let mut count = used.iter().filter(|used| **used).count();
        self.by_price.iter().copied().filter(move |(price, evening)| {
            let more = !used[*evening] && (count < least || (*price < 0 && count < most));
            count += usize::from(more);
            used[*evening] || more
        })
    }

    /// What they add.
    pub fn least(&self, used: &[bool], least: usize, most: usize) -> Key {
        self.chosen(used, least, most).map(|(price, _)| price).sum()
    }
}

/// A relaxation at fixed prices.
#[derive(Debug)]
pub struct Pricing {
    pub prices: Prices,
    spreads: Vec<Spread>,
    pub evenings: Evenings,
}

/// What a node comes to.
#[derive(Clone, Debug)]
pub struct Node {
    /// Without evenings.
    pub price: Key,
    /// By place of the pivot that is next: how much more than the least it costs.
    pub more: Vec<Key>,
}

impl Pricing {
    /// Works out the cheapest of every item for all places of its pivots.
    pub fn new(
        problem: &Problem,
        frame: &Frame,
        rows: &mut Rows,
        stager: &mut dyn Stager,
        prices: Prices,
        work: &mut u64,
    ) -> Self {
        let mut spreads = Vec::with_capacity(problem.items.len());
        let mut places = Vec::new();
        for (at, item) in problem.items.iter().enumerate() {
            let size = item
                .pivots
                .iter()
                .try_fold(1_usize, |size, pivot| size.checked_mul(frame.places[*pivot].len().max(1)))
                .filter(|size| *size <= TABLE);
            let Some(size) = size else {
                spreads.push(Spread::Least(least(problem, rows, stager, at, &prices)));
                continue;
            };
            if item.pivots.iter().any(|pivot| frame.places[*pivot].is_empty()) {
                spreads.push(Spread::Least(0));
                continue;
            }
            let mut table = Vec::with_capacity(size);
            places.clear();
            places.resize(item.pivots.len(), Place { evening: 0, option: 0 });
            for mixed in 0..size {
                let mut rest = mixed;
                for turn in frame.turns[at].iter().rev() {
                    let choice = &frame.places[item.pivots[*turn]];
                    places[*turn] = choice[rest % choice.len()];
                    rest /= choice.len();
                }
                table.push(prices.cheapest(problem, frame, rows, stager, at, &places));
            }
            *work += size as u64 * item.options as u64 * (8 + problem.evenings.len() as u64) / 24 + 1;
            spreads.push(Spread::Table(table));
        }
        let evenings = Evenings::new(problem, frame, &prices);
        Self { prices, spreads, evenings }
    }

    /// The least of everything with the first pivots (in the order of the frame) at the places
    /// of these numbers. `None` if there is no way.
    pub fn node(
        &mut self,
        problem: &Problem,
        frame: &Frame,
        rows: &mut Rows,
        stager: &mut dyn Stager,
        fixed: &[u16],
        work: &mut u64,
    ) -> Option<Node> {
        let clusters = self.clusters(problem, frame, rows, stager, fixed, work)?;
        let mut price = clusters.price;
        let mut more = Vec::new();
        for (at, cluster) in clusters.pivots.iter().enumerate() {
            let least = *cluster.iter().min()?;
            if least >= NEVER {
                return None;
            }
            price += least;
            if at == 0 {
                more = cluster.iter().map(|one| if *one >= NEVER { NEVER } else { one - least }).collect();
            }
        }
        Some(Node { price, more })
    }

    fn clusters(
        &mut self,
        problem: &Problem,
        frame: &Frame,
        rows: &mut Rows,
        stager: &mut dyn Stager,
        fixed: &[u16],
        work: &mut u64,
    ) -> Option<Clusters> {
        let mut price: Key = 0;
        let at_place = |pivot: usize| {
            fixed.get(frame.turn[pivot]).map(|number| frame.places[pivot][usize::from(*number)])
        };
        for pivot in frame.order.iter().take(fixed.len()) {
            let place = at_place(*pivot)?;
            price += self.prices.pivot(problem, *pivot, place);
        }
        let mut pivots: Vec<Vec<Key>> = frame.order[fixed.len()..]
            .iter()
            .map(|pivot| {
                frame.places[*pivot].iter().map(|place| self.prices.pivot(problem, *pivot, *place)).collect()
            })
            .collect();
        let mut looked = 0_u64;
        for (at, item) in problem.items.iter().enumerate() {
            let turns = &frame.turns[at];
            let done = turns.iter().take_while(|turn| frame.turn[item.pivots[**turn]] < fixed.len()).count();
            let table = match &self.spreads[at] {
                Spread::Table(table) => table,
                Spread::Least(least) => {
                    if done == turns.len() {
                        let places: Option<Vec<Place>> =
                            item.pivots.iter().map(|pivot| at_place(*pivot)).collect();
                        let cheapest = self.prices.cheapest(problem, frame, rows, stager, at, &places?);
                        if cheapest >= NEVER {
                            return None;
                        }
                        price += cheapest;
                        looked += 200;
                    } else {
                        price += least;
                    }
                    continue;
                }
            };
            let mut mixed = 0;
            for turn in &turns[..done] {
                let pivot = item.pivots[*turn];
                mixed = mixed * frame.places[pivot].len() + usize::from(fixed[frame.turn[pivot]]);
            }
            if done == turns.len() {
                if table[mixed] >= NEVER {
                    return None;
                }
                price += table[mixed];
                looked += 1;
                continue;
            }
            let owner = item.pivots[turns[done]];
            let inner: usize =
                turns[done + 1..].iter().map(|turn| frame.places[item.pivots[*turn]].len()).product();
            let cluster = &mut pivots[frame.turn[owner] - fixed.len()];
            let start = mixed * cluster.len() * inner;
            for (one, total) in cluster.iter_mut().enumerate() {
                let from = start + one * inner;
                let least = table[from..from + inner].iter().copied().min().unwrap_or(NEVER);
                *total = (*total + least).min(NEVER);
            }
            looked += (cluster.len() * inner) as u64;
        }
        *work += looked / 400 + 1;
        Some(Clusters { price, pivots })
    }

    /// Loads of a cheapest way of everything with no pivot fixed, its minutes, and its price
    /// without evenings. `None` if there is no way.
    pub fn cheapest(
        &mut self,
        problem: &Problem,
        frame: &Frame,
        rows: &mut Rows,
        stager: &mut dyn Stager,
        work: &mut u64,
    ) -> Option<(Key, Vec<i64>, i64)> {
        let clusters = self.clusters(problem, frame, rows, stager, &[], work)?;
        let mut loads = vec![0_i64; problem.evenings.len()];
        let mut minutes = 0;
        let mut price = clusters.price;
        let mut numbers = vec![0_usize; problem.pivots.len()];
        for (cluster, pivot) in clusters.pivots.iter().zip(&frame.order) {
            let (number, least) = cluster.iter().enumerate().min_by_key(|(_, price)| **price)?;
            if *least >= NEVER {
                return None;
            }
            price += least;
            numbers[*pivot] = number;
            let place = frame.places[*pivot][number];
            let work = problem.pivots[*pivot].options[place.option];
            loads[place.evening] += work.minutes;
            minutes += work.minutes;
        }
        for (at, item) in problem.items.iter().enumerate() {
            let Spread::Table(table) = &self.spreads[at] else { continue };
            let turns = &frame.turns[at];
            let mut places = vec![Place { evening: 0, option: 0 }; turns.len()];
            if let Some(first) = turns.first() {
                let owner = item.pivots[*first];
                let inner = table.len() / frame.places[owner].len();
                let from = numbers[owner] * inner;
                let (best, _) =
                    table[from..from + inner].iter().enumerate().min_by_key(|(_, price)| **price)?;
                let mut rest = from + best;
                for turn in turns.iter().rev() {
                    let choice = &frame.places[item.pivots[*turn]];
                    places[*turn] = choice[rest % choice.len()];
                    rest /= choice.len();
                }
            }
            let chosen = self.prices.chosen(problem, frame, rows, stager, at, &places);
            minutes += chosen.minutes;
            for (evening, load) in chosen.loads {
                loads[evening] += load;
            }
        }
        Some((price, loads, minutes))
    }
}

struct Clusters {
    price: Key,
    pivots: Vec<Vec<Key>>,
}

/// No order and no ways of an item with its pivots are cheaper than this; grounded evenings are
/// left out.
fn least(problem: &Problem, rows: &mut Rows, stager: &mut dyn Stager, item: usize, prices: &Prices) -> Key {
    let this = &problem.items[item];
    let points = this.pivots.len() + usize::from(!this.idle);
    let mut counts = vec![points.max(1); points];
    counts.push(this.options.max(1));
    counts.extend(this.pivots.iter().map(|pivot| problem.pivots[*pivot].options.len()));
    let size =
        counts.iter().try_fold(1_usize, |size, one| size.checked_mul(*one)).filter(|size| *size <= 100_000);
    let Some(size) = size else { return 0 };
    let mut best = NEVER;
    for mixed in 0..size {
        let mut rest = mixed;
        let digits: Vec<usize> = counts
            .iter()
            .map(|count| {
                let digit = rest % count;
                rest /= count;
                digit
            })
            .collect();
        let (nights, options) = digits.split_at(points);
        let known =
            rows.find(stager, item, options[0], &|pivot| options[pivot + 1], nights, this.pivots.len());
        let known = rows.known(known);
        best = best.min(prices.of(known.minutes, 0, known.covers));
    }
    if best == NEVER { 0 } else { best }
}
