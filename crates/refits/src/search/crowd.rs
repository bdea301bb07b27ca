//! The bound of the crowd: what wants to be done in the evening of its transmitter and doesn't fit
//! must be done in another, and is grounded in between.

mod repair;

use std::collections::HashMap;
use std::rc::Rc;

use super::frame::Frame;
use super::rows::{Rows, flies_when_it_must, grounded, rank_of};
use crate::problem::{Place, Problem, Stager};

/// What an item comes to in each evening, its pivots being placed.
#[derive(Clone, Debug)]
struct Row {
    /// The least grounded aircraft-evenings anywhere.
    least: i64,
    /// The only evening with so few, what any other adds, and what it takes in that one.
    wants: Option<(usize, i64, i64)>,
    /// By evening in which it may be: how many it grounds, and what it takes of the evening.
    by_evening: Vec<Option<(i64, i64)>>,
}

/// The bound, with rows that were reckoned before.
#[derive(Debug, Default)]
pub struct Crowd {
    /// By item with one pivot: by the pivot's place.
    single: Vec<HashMap<Place, Option<Rc<Row>>>>,
    rows: HashMap<(usize, Vec<Place>), Option<Rc<Row>>>,
    /// By pivot: what its own items add when it has an evening for itself.
    alone: Vec<i64>,
    /// Covers that any answer opens at least.
    pub covers: i64,
    /// By evening: the last price of a hundredth of a minute, in grounded aircraft-evenings.
    prices: Vec<f64>,
}

/// How often prices are mended for one bound.
const ROUNDS: usize = 24;
/// More rows than this are not remembered.
const MOST_ROWS: usize = 400_000;

impl Crowd {
    fn row(
        &mut self,
        problem: &Problem,
        rows: &mut Rows,
        stager: &mut dyn Stager,
        item: usize,
        pivots: &[Place],
        work: &mut u64,
    ) -> Option<Rc<Row>> {
        if self.single.len() != problem.items.len() {
            self.single = vec![HashMap::new(); problem.items.len()];
        }
        if let [only] = pivots {
            if let Some(row) = self.single[item].get(only) {
                return row.clone();
            }
        } else if let Some(row) = self.rows.get(&(item, pivots.to_vec())) {
            return row.clone();
        }
        *work += 2;
        let row = make(problem, rows, stager, item, pivots).map(Rc::new);
        if let [only] = pivots {
            self.single[item].insert(*only, row.clone());
        } else if self.rows.len() < MOST_ROWS {
            self.rows.insert((item, pivots.to_vec()), row.clone());
        }
        row
    }

    /// The least that pivots which aren't placed yet add.
    fn open(&self, fixed: &[Option<Place>]) -> i64 {
        fixed.iter().zip(&self.alone).filter(|(place, _)| place.is_none()).map(|(_, alone)| alone).sum()
    }

    /// What each pivot's own items add at least, wherever it is.
    pub fn begin(
        &mut self,
        problem: &Problem,
        frame: &Frame,
        rows: &mut Rows,
        stager: &mut dyn Stager,
        work: &mut u64,
    ) {
        self.covers = problem
            .pivots
            .iter()
            .filter_map(|pivot| pivot.options.iter().map(|one| i64::from(one.covers)).min())
            .sum();
        for item in 0..problem.items.len() {
            self.covers += fewest_covers(problem, rows, stager, item);
        }
        self.alone = vec![0; problem.pivots.len()];
        for pivot in 0..problem.pivots.len() {
            let mut least = i64::MAX;
            for place in &frame.places[pivot] {
                let mut fixed = vec![None; problem.pivots.len()];
                fixed[pivot] = Some(*place);
                if let Some(sum) = self.sum(problem, frame, rows, stager, &fixed, work) {
                    least = least.min(sum);
                }
                if least == 0 {
                    break;
                }
            }
            self.alone[pivot] = if least == i64::MAX { 0 } else { least };
        }
    }

    /// A stronger bound for the same, from prices on the time of evenings (Held & Karp, "The
    /// traveling-salesman problem and minimum spanning trees: part II", 1971: subgradient steps; any
    /// prices give a bound). Stops when it reaches `target`.
    #[expect(clippy::too_many_arguments, reason = "what every bound here needs, and the target")]
    #[expect(clippy::cast_precision_loss, reason = "minutes and counts are far below 2^52")]
    pub fn priced(
        &mut self,
        problem: &Problem,
        frame: &Frame,
        rows: &mut Rows,
        stager: &mut dyn Stager,
        fixed: &[Option<Place>],
        target: i64,
        work: &mut u64,
    ) -> Option<i64> {
        let evenings = problem.evenings.len();
        let mut room: Vec<f64> = frame.room.iter().map(|room| *room as f64).collect();
        for (pivot, place) in problem.pivots.iter().zip(fixed) {
            if let Some(place) = place {
                room[place.evening] -= pivot.options[place.option].minutes as f64;
            }
        }
        self.prices.resize(evenings, 0.0);
        let mut placed: Vec<Rc<Row>> = Vec::new();
        let mut base = 0;
        // What has no pivot placed yet fills evenings all the same, at no cost of its own.
        let mut open: Vec<f64> = Vec::new();
        for (pivot, place) in problem.pivots.iter().zip(fixed) {
            if place.is_none() {
                open.push(pivot.options.iter().map(|one| one.minutes).min().unwrap_or(0) as f64);
            }
        }
        for (at, item) in problem.items.iter().enumerate() {
            let pivots: Option<Vec<Place>> = item.pivots.iter().map(|pivot| fixed[*pivot]).collect();
            let Some(pivots) = pivots else { continue };
            let row = self.row(problem, rows, stager, at, &pivots, work)?;
            if item.idle {
                base += row.least;
            } else {
                placed.push(row);
            }
        }
        let mut prices = self.prices.clone();
        let mut best = i64::MIN;
        let mut kept = prices.clone();
        let mut stride = 1.0;
        for _ in 0..ROUNDS {
            *work += 1 + (placed.len() * evenings / 400) as u64;
            let mut spare: Vec<f64> = room.clone();
            let mut value = base as f64;
            for row in &placed {
                let mut cheapest: Option<(f64, usize, f64)> = None;
                for (evening, one) in row.by_evening.iter().enumerate() {
                    let Some((sum, takes)) = one else { continue };
                    let cost = *sum as f64 + prices[evening] * *takes as f64;
                    if cheapest.is_none_or(|(least, ..)| cost < least) {
                        cheapest = Some((cost, evening, *takes as f64));
                    }
                }
                let (cost, evening, takes) = cheapest?;
                value += cost;
                spare[evening] -= takes;
            }
            let (cheap, least) = prices
                .iter()
                .enumerate()
                .map(|(evening, price)| (evening, *price))
                .fold((0, f64::INFINITY), |have, one| if one.1 < have.1 { one } else { have });
            for takes in &open {
                value += least * takes;
                spare[cheap] -= takes;
            }
            value -= prices.iter().zip(&room).map(|(price, room)| price * room).sum::<f64>();
            #[expect(clippy::cast_possible_truncation, reason = "some thousand aircraft-evenings")]
            let bound = (value - 1e-6).ceil() as i64;
            if bound > best {
                best = bound;
                kept.clone_from(&prices);
            }
            if best >= target {
                break;
            }
            let length: f64 = spare.iter().map(|one| one * one).sum();
            if length == 0.0 {
                break;
            }
            let step = stride * (target as f64 - value).max(0.5) / length;
            for (price, spare) in prices.iter_mut().zip(&spare) {
                *price = (*price - step * spare).max(0.0);
            }
            stride *= 0.93;
        }
        self.prices = kept;
        Some(best.max(0))
    }

    /// No answer with these pivots placed grounds less; `None` if there is no such answer.
    pub fn least(
        &mut self,
        problem: &Problem,
        frame: &Frame,
        rows: &mut Rows,
        stager: &mut dyn Stager,
        fixed: &[Option<Place>],
        work: &mut u64,
    ) -> Option<i64> {
        Some(self.open(fixed) + self.sum(problem, frame, rows, stager, fixed, work)?)
    }

    fn sum(
        &mut self,
        problem: &Problem,
        frame: &Frame,
        rows: &mut Rows,
        stager: &mut dyn Stager,
        fixed: &[Option<Place>],
        work: &mut u64,
    ) -> Option<i64> {
        let evenings = problem.evenings.len();
        let mut room = frame.room.clone();
        for (pivot, place) in problem.pivots.iter().zip(fixed) {
            if let Some(place) = place {
                room[place.evening] -= pivot.options[place.option].minutes;
            }
        }
        let mut total = 0;
        let mut wanted: Vec<Vec<(i64, i64)>> = vec![Vec::new(); evenings];
        for (at, item) in problem.items.iter().enumerate() {
            let pivots: Option<Vec<Place>> = item.pivots.iter().map(|pivot| fixed[*pivot]).collect();
            let Some(pivots) = pivots.filter(|pivots| !pivots.is_empty()) else { continue };
            let row = self.row(problem, rows, stager, at, &pivots, work)?;
            total += row.least;
            if let Some((evening, adds, takes)) = row.wants {
                wanted[evening].push((adds, takes));
            }
        }
        *work += 1;
        for (evening, wanted) in wanted.iter_mut().enumerate() {
            total += left_out(wanted, room[evening]);
        }
        Some(total)
    }
}

/// What those add at least who don't fit into the room (Dantzig, "Discrete-variable extremum
/// problems", 1957: the relaxed knapsack bounds what can stay).
fn left_out(wanted: &mut [(i64, i64)], room: i64) -> i64 {
    let load: i64 = wanted.iter().map(|(_, takes)| takes).sum();
    if load <= room {
        return 0;
    }
    let all: i64 = wanted.iter().map(|(adds, _)| adds).sum();
    // The greatest gain a minute first; what takes nothing always stays.
    wanted.sort_unstable_by(|(adds, takes), (other, others)| {
        (other * takes).cmp(&(adds * others)).then(takes.cmp(others))
    });
    let (mut left, mut stays) = (room.max(0), 0);
    for (adds, takes) in wanted {
        if *takes <= left {
            left -= *takes;
            stays += *adds;
        } else {
            // The part of the first that doesn't fit, rounded down: the sum is whole.
            stays += *adds * left / (*takes).max(1);
            break;
        }
    }
    all - stays
}

/// The fewest covers that an item opens, in any way and any order. (With more than two pivots
/// there are many orders, and none is claimed.)
fn fewest_covers(problem: &Problem, rows: &mut Rows, stager: &mut dyn Stager, item: usize) -> i64 {
    let this = &problem.items[item];
    let points = this.pivots.len() + usize::from(!this.idle);
    if this.pivots.len() > 2 {
        return 0;
    }
    let ways: usize = this.pivots.iter().map(|pivot| problem.pivots[*pivot].options.len()).product();
    let mut least = i64::MAX;
    for order in 0..3_usize.pow(u32::try_from(points).unwrap_or(0)) {
        let nights: Vec<usize> =
            (0..points).map(|at| order / 3_usize.pow(u32::try_from(at).unwrap_or(0)) % 3).collect();
        for option in 0..this.options {
            for way in 0..ways {
                let of_pivot = |at: usize| {
                    let before: usize =
                        this.pivots[..at].iter().map(|pivot| problem.pivots[*pivot].options.len()).product();
                    way / before % problem.pivots[this.pivots[at]].options.len()
                };
                let known = rows.find(stager, item, option, &of_pivot, &nights, this.pivots.len());
                least = least.min(rows.known(known).covers);
            }
        }
    }
    if least == i64::MAX { 0 } else { least }
}

fn make(
    problem: &Problem,
    rows: &mut Rows,
    stager: &mut dyn Stager,
    item: usize,
    pivots: &[Place],
) -> Option<Row> {
    let this = &problem.items[item];
    let evenings = problem.evenings.len();
    let others: Vec<usize> = pivots.iter().map(|place| place.evening).collect();
    let mut by_evening: Vec<Option<(i64, i64)>> = vec![None; evenings];
    let own: Vec<Option<usize>> = if this.idle {
        vec![None]
    } else {
        (0..evenings).filter(|at| this.allowed.get(*at) == Some(&true)).map(Some).collect()
    };
    let mut least = None::<i64>;
    for evening in own {
        let mut nights: Vec<usize> = evening.into_iter().collect();
        nights.extend(&others);
        let mut in_order = nights.clone();
        in_order.sort_unstable();
        in_order.dedup();
        for option in 0..this.options {
            let known = rows.find(stager, item, option, &|pivot| pivots[pivot].option, &nights, pivots.len());
            let stages = &rows.known(known).stages;
            if !flies_when_it_must(this, stages, &in_order) {
                continue;
            }
            let sum = grounded(this, stages, &in_order, evenings);
            least = Some(least.map_or(sum, |least| least.min(sum)));
            if let Some(evening) = evening {
                let takes = stages.minutes[rank_of(evening, &nights)];
                let have = by_evening[evening].get_or_insert((sum, takes));
                *have = (have.0.min(sum), have.1.min(takes));
            }
        }
    }
    let least = least?;
    let mut best = by_evening.iter().enumerate().filter(|(_, one)| one.is_some_and(|(sum, _)| sum == least));
    let wants = match (best.next(), best.next()) {
        (Some((evening, Some((_, takes)))), None) => {
            let second = by_evening
                .iter()
                .enumerate()
                .filter(|(other, _)| *other != evening)
                .filter_map(|(_, one)| one.map(|(sum, _)| sum))
                .min();
            // With no other evening it must stay, whatever that comes to.
            second.map(|second| (evening, second - least, *takes))
        }
        _ => None,
    };
    Some(Row { least, wants, by_evening })
}
