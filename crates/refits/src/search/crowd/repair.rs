//! Whether what wants one evening can be spread at so small a cost: overfull evenings are repaired
//! one by one, and every way to do it within the budget is tried.
//!
//! Items count at the least that they take of each evening, and what they take of others' evenings
//! doesn't count; so when there is no way here, there is none at all.

use super::{Crowd, left_out};
use crate::problem::{Place, Problem, Stager};
use crate::search::frame::Frame;
use crate::search::rows::Rows;

/// More nodes than this are not looked at for one question.
const PATIENCE: u64 = 6_000;

/// Another evening of an item: what it adds, which, and what it takes of it.
#[derive(Clone, Copy, Debug)]
struct Other {
    adds: i64,
    evening: usize,
    takes: i64,
}

/// An item in an evening in which it grounds least.
#[derive(Debug)]
struct Wanting {
    takes: i64,
    /// What any other evening adds at least; 0 when there is another as good.
    least: i64,
    others: Vec<Other>,
}

struct Repair {
    items: Vec<Wanting>,
    /// By evening: items there that may still be moved, and the room that the others leave.
    there: Vec<Vec<usize>>,
    room: Vec<i64>,
    left: u64,
}

enum Found {
    /// A way within the budget.
    Way,
    /// No patience to tell.
    Maybe,
    /// There is none.
    None,
}

impl Repair {
    fn go(&mut self, budget: i64) -> Found {
        if self.left == 0 {
            return Found::Maybe;
        }
        self.left -= 1;
        // What must be moved out of each evening at least, and the fullest of them.
        let (mut least, mut worst) = (0, None::<(i64, usize)>);
        for (evening, there) in self.there.iter().enumerate() {
            let mut wanted: Vec<(i64, i64)> =
                there.iter().map(|at| (self.items[*at].least, self.items[*at].takes)).collect();
            let load: i64 = wanted.iter().map(|(_, takes)| takes).sum();
            if load <= self.room[evening] {
                continue;
            }
            if self.room[evening] < 0 {
                // What was moved here doesn't fit by itself.
                return Found::None;
            }
            least += left_out(&mut wanted, self.room[evening]);
            // The one with the fewest to choose from.
            let choice = i64::try_from(there.len()).unwrap_or(i64::MAX);
            if worst.is_none_or(|(fewest, _)| choice < fewest) {
                worst = Some((choice, evening));
            }
        }
        let Some((_, evening)) = worst else { return Found::Way };
        if least > budget {
            return Found::None;
        }
        // One of those there moves: the first that does, with all before it staying.
        let there = std::mem::take(&mut self.there[evening]);
        let room = self.room[evening];
        let mut found = Found::None;
        for (place, at) in there.iter().enumerate() {
            self.there[evening] = there[place + 1..].to_vec();
            self.room[evening] = room - there[..place].iter().map(|at| self.items[*at].takes).sum::<i64>();
            if self.room[evening] < 0 {
                break;
            }
            for other in self.items[*at].others.clone() {
                if other.adds > budget || other.evening == evening {
                    continue;
                }
                self.room[other.evening] -= other.takes;
                let within = self.go(budget - other.adds);
                if matches!(within, Found::Way) {
                    return within;
                }
                self.room[other.evening] += other.takes;
                if matches!(within, Found::Maybe) {
                    found = Found::Maybe;
                    break;
                }
            }
            if matches!(found, Found::Maybe) {
                break;
            }
        }
        self.there[evening] = there;
        self.room[evening] = room;
        found
    }
}

impl Crowd {
    /// Whether no answer with these pivots placed grounds at most `most`. False also where it can't be told.
    #[expect(clippy::too_many_arguments, reason = "what every bound here needs, and the most")]
    pub fn refuted(
        &mut self,
        problem: &Problem,
        frame: &Frame,
        rows: &mut Rows,
        stager: &mut dyn Stager,
        fixed: &[Option<Place>],
        most: i64,
        work: &mut u64,
    ) -> bool {
        let mut room = frame.room.clone();
        for (pivot, place) in problem.pivots.iter().zip(fixed) {
            if let Some(place) = place {
                room[place.evening] -= pivot.options[place.option].minutes;
            }
        }
        let mut budget = most - self.open(fixed);
        let mut there: Vec<Vec<usize>> = vec![Vec::new(); room.len()];
        let mut items = Vec::new();
        let mut spare = room.clone();
        for (at, item) in problem.items.iter().enumerate() {
            let pivots: Option<Vec<Place>> = item.pivots.iter().map(|pivot| fixed[*pivot]).collect();
            let Some(pivots) = pivots.filter(|pivots| !pivots.is_empty()) else { continue };
            let Some(row) = self.row(problem, rows, stager, at, &pivots, work) else {
                return true;
            };
            budget -= row.least;
            if item.idle {
                continue;
            }
            let best = row.by_evening.iter().enumerate().filter_map(|(evening, one)| {
                one.filter(|(sum, _)| *sum == row.least).map(|(_, takes)| (evening, takes))
            });
            // Of equally good ones that with the most room.
            let best = best.max_by_key(|(evening, _)| (spare[*evening], std::cmp::Reverse(*evening)));
            let Some((evening, takes)) = best else { continue };
            spare[evening] -= takes;
            let mut others: Vec<Other> = row
                .by_evening
                .iter()
                .enumerate()
                .filter(|(other, _)| *other != evening)
                .filter_map(|(evening, one)| {
                    one.map(|(sum, takes)| Other { adds: sum - row.least, evening, takes })
                })
                .collect();
            others.sort_by_key(|other| (other.adds, other.evening));
            let least = others.first().map_or(i64::from(u32::MAX), |other| other.adds);
            there[evening].push(items.len());
            items.push(Wanting { takes, least, others });
        }
        if budget < 0 {
            return true;
        }
        // The largest first: moving one of them repairs most.
        for there in &mut there {
            there.sort_by_key(|at| std::cmp::Reverse(items[*at].takes));
        }
        let mut repair = Repair { items, there, room, left: PATIENCE };
        let found = repair.go(budget);
        *work += (PATIENCE - repair.left) / 2 + 1;
        matches!(found, Found::None)
    }
}
