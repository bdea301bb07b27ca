//! What a step of the annealing changes.

use super::Walk;
use crate::problem::{Place, Problem, Stager};
use crate::search::rows::Rows;

impl Walk {
    /// An evening for an item: that of a pivot, that of another thing, or any.
    fn evening_for(&mut self, problem: &Problem, item: usize) -> usize {
        let nights = self.item_evenings[item].len();
        let any = self.item_evenings[item][self.dice.below(nights)];
        let roll = self.dice.below(10);
        let pivots = &problem.items[item].pivots;
        let wanted = if roll < 5 && !pivots.is_empty() {
            self.answer.pivots[pivots[self.dice.below(pivots.len())]].evening
        } else if roll < 8 {
            let other = self.movable[self.dice.below(self.movable.len())];
            self.answer.items[other].map_or(any, |place| place.evening)
        } else {
            any
        };
        if self.item_evenings[item].binary_search(&wanted).is_ok() { wanted } else { any }
    }

    /// One change, drawn by lot.
    pub(super) fn step(&mut self, problem: &Problem, rows: &mut Rows, stager: &mut dyn Stager) {
        let roll = self.dice.below(100);
        let pivots = problem.pivots.len();
        if pivots > 0 && (roll < 24 || self.movable.is_empty()) {
            let pivot = self.dice.below(pivots);
            let old = self.answer.pivots[pivot];
            let mut place = old;
            if roll < 6 {
                place.option = self.dice.below(problem.pivots[pivot].options.len());
            } else {
                let nights = self.pivot_evenings[pivot].len();
                place.evening = self.pivot_evenings[pivot][self.dice.below(nights)];
                if roll < 14 && !self.leaning[pivot].is_empty() {
                    let leaning = &self.leaning[pivot];
                    let item = leaning[self.dice.below(leaning.len())];
                    let wanted = self.answer.items[item].map_or(place.evening, |place| place.evening);
                    if self.pivot_evenings[pivot].binary_search(&wanted).is_ok() {
                        place.evening = wanted;
                    }
                }
            }
            self.set_pivot(problem, rows, stager, pivot, place);
            if roll >= 17 && place.evening != old.evening {
                // Its aircraft come along, and what is there makes room for them.
                let swap = roll >= 20;
                for at in 0..self.leaning[pivot].len() {
                    let item = self.leaning[pivot][at];
                    self.shift(problem, rows, stager, item, old.evening, place.evening);
                }
                if swap {
                    self.swap_rest(problem, rows, stager, pivot, old.evening, place.evening);
                }
            }
            return;
        }
        if self.movable.is_empty() {
            return;
        }
        let item = self.movable[self.dice.below(self.movable.len())];
        let Some(old) = self.answer.items[item] else { return };
        if roll < 34 {
            let option = self.dice.below(problem.items[item].options);
            self.set_item(problem, rows, stager, item, Place { option, ..old });
        } else if roll < 60 {
            let other = self.movable[self.dice.below(self.movable.len())];
            let Some(there) = self.answer.items[other] else { return };
            if there.evening != old.evening
                && self.item_evenings[item].binary_search(&there.evening).is_ok()
                && self.item_evenings[other].binary_search(&old.evening).is_ok()
            {
                self.set_item(problem, rows, stager, item, Place { evening: there.evening, ..old });
                self.set_item(problem, rows, stager, other, Place { evening: old.evening, ..there });
            }
        } else if roll < 62 {
            self.swap_evenings(problem, rows, stager, old.evening);
        } else if roll < 63 {
            // Everything out of an evening.
            for at in 0..self.movable.len() {
                let one = self.movable[at];
                if let Some(place) = self.answer.items[one]
                    && place.evening == old.evening
                {
                    let evening = self.evening_for(problem, one);
                    self.set_item(problem, rows, stager, one, Place { evening, ..place });
                }
            }
        } else {
            let evening = self.evening_for(problem, item);
            let option = if self.dice.below(8) == 0 {
                self.dice.below(problem.items[item].options)
            } else {
                old.option
            };
            self.set_item(problem, rows, stager, item, Place { evening, option });
        }
    }

    /// Moves an item if it stands in one evening and may be in the other.
    fn shift(
        &mut self,
        problem: &Problem,
        rows: &mut Rows,
        stager: &mut dyn Stager,
        item: usize,
        from: usize,
        to: usize,
    ) {
        if let Some(place) = self.answer.items[item]
            && place.evening == from
            && self.item_evenings[item].binary_search(&to).is_ok()
        {
            self.set_item(problem, rows, stager, item, Place { evening: to, ..place });
        }
    }

    /// Everything that stood in `to` and doesn't lean on the pivot goes to `from`.
    fn swap_rest(
        &mut self,
        problem: &Problem,
        rows: &mut Rows,
        stager: &mut dyn Stager,
        pivot: usize,
        from: usize,
        to: usize,
    ) {
        for other in 0..problem.pivots.len() {
            let place = self.answer.pivots[other];
            if other != pivot
                && place.evening == to
                && self.pivot_evenings[other].binary_search(&from).is_ok()
            {
                self.set_pivot(problem, rows, stager, other, Place { evening: from, ..place });
            }
        }
        for at in 0..self.movable.len() {
            let item = self.movable[at];
            if !problem.items[item].pivots.contains(&pivot) {
                self.shift(problem, rows, stager, item, to, from);
            }
        }
    }

    /// Two evenings change places with all that is in them and may be moved.
    fn swap_evenings(&mut self, problem: &Problem, rows: &mut Rows, stager: &mut dyn Stager, one: usize) {
        let other = self.dice.below(problem.evenings.len());
        if one == other {
            return;
        }
        let across = |evening: usize| {
            if evening == one {
                Some(other)
            } else if evening == other {
                Some(one)
            } else {
                None
            }
        };
        for pivot in 0..problem.pivots.len() {
            let place = self.answer.pivots[pivot];
            if let Some(evening) = across(place.evening)
                && self.pivot_evenings[pivot].binary_search(&evening).is_ok()
            {
                self.set_pivot(problem, rows, stager, pivot, Place { evening, ..place });
            }
        }
        for at in 0..self.movable.len() {
            let item = self.movable[at];
            if let Some(place) = self.answer.items[item]
                && let Some(evening) = across(place.evening)
                && self.item_evenings[item].binary_search(&evening).is_ok()
            {
                self.set_item(problem, rows, stager, item, Place { evening, ..place });
            }
        }
    }
}
