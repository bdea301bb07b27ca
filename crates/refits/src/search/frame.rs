//! What never changes about a problem while it is searched, and how many evenings it needs.

use crate::problem::{Place, Problem};

/// What never changes about a problem.
#[derive(Debug)]
pub struct Frame {
    /// By pivot: where it may be.
    pub places: Vec<Vec<Place>>,
    /// By evening: time without the bench; 0 if nothing can be done in it.
    pub room: Vec<i64>,
    /// By evening: whether its bench fits.
    pub usable: Vec<bool>,
    /// Pivots in the order in which they are placed.
    pub order: Vec<usize>,
    /// By pivot: where in that order it comes.
    pub turn: Vec<usize>,
    /// By item: its pivots as positions within the item, the first to be placed first.
    pub turns: Vec<Vec<usize>>,
    /// Whether anything at all is placed.
    pub busy: bool,
}

impl Frame {
    pub fn new(problem: &Problem) -> Self {
        let mut room: Vec<i64> = problem
            .evenings
            .iter()
            .enumerate()
            .map(|(at, slot)| {
                let wanted = problem.pivots.iter().any(|pivot| pivot.allowed.get(at) == Some(&true))
                    || problem.items.iter().any(|item| !item.idle && item.allowed.get(at) == Some(&true));
                if wanted { slot.capacity - slot.bench } else { -1 }
            })
            .collect();
        let places = problem.pivots.iter().map(|pivot| {
            let mut places = Vec::new();
            for (evening, room) in room.iter().enumerate() {
                for (option, work) in pivot.options.iter().enumerate() {
                    if pivot.allowed.get(evening) == Some(&true) && *room >= work.minutes {
                        places.push(Place { evening, option });
                    }
                }
            }
            places
        });
        let places = places.collect();
        for one in &mut room {
            *one = (*one).max(0);
        }
        let weight = |pivot: usize| problem.items.iter().filter(|item| item.pivots.contains(&pivot)).count();
        let mut order: Vec<usize> = (0..problem.pivots.len()).collect();
        order.sort_by_key(|pivot| (usize::MAX - weight(*pivot), *pivot));
        let mut turn = vec![0; order.len()];
        for (at, pivot) in order.iter().enumerate() {
            turn[*pivot] = at;
        }
        let turns = problem.items.iter().map(|item| {
            let mut turns: Vec<usize> = (0..item.pivots.len()).collect();
            turns.sort_by_key(|at| turn[item.pivots[*at]]);
            turns
        });
        let turns = turns.collect();
        let busy = !problem.pivots.is_empty() || problem.items.iter().any(|item| !item.idle);
        let usable = problem.evenings.iter().map(|slot| slot.bench <= slot.capacity).collect();
        Self { places, room, usable, order, turn, turns, busy }
    }
}

/// How many evenings are needed at least for so many minutes of work, those of `used` among
/// them. `None` if all are not enough.
pub fn evenings_needed(frame: &Frame, used: &[bool], minutes: i64) -> Option<usize> {
    let mut left = minutes;
    let mut count = 0;
    let mut others = Vec::with_capacity(used.len());
    for (evening, used) in used.iter().enumerate() {
        if *used {
            left -= frame.room[evening];
            count += 1;
        } else if frame.usable[evening] {
            others.push(frame.room[evening]);
        }
    }
    others.sort_unstable();
    while left > 0 || (count == 0 && frame.busy) {
        left -= others.pop()?;
        count += 1;
    }
    Some(count)
}

/// How many evenings there can be at most if their benches have so many minutes.
pub fn evenings_afforded(problem: &Problem, minutes: i64) -> usize {
    let mut benches: Vec<i64> = problem.evenings.iter().map(|slot| slot.bench).collect();
    benches.sort_unstable();
    let mut left = minutes;
    let mut count = 0;
    for bench in benches {
        left -= bench;
        if left < 0 {
            break;
        }
        count += 1;
    }
    count
}
