//! Every way to settle what the wishes leave open, the likeliest first.

use std::collections::BTreeSet;

use register::fleet::Fleet;
use register::register::Register;
use register::time::Moment;

use crate::ask::Question;
use crate::world::{Mask, Trouble, World};

/// How many ways of settling groups of ends are searched.
const MOST_ALTERNATIVES: usize = 12;
/// How many ways are tried, those included that come to a clash.
const MOST_TRIED: usize = 60;

/// The ways to settle groups of ends, one after the other.
pub(super) struct Ways<'q, 'a> {
    register: &'a Register,
    fleet: &'q Fleet,
    question: &'a Question,
    mask: &'q Mask,
    now: Moment,
    /// Picks that are not tried yet, those with the fewest second choices first; zeros at the
    /// end are left out.
    open: BTreeSet<(usize, Vec<usize>)>,
    found: usize,
    tried: usize,
    /// Whether each world had all of its ways.
    whole: bool,
}

impl<'q, 'a> Ways<'q, 'a> {
    pub(super) fn new(
        register: &'a Register,
        fleet: &'q Fleet,
        question: &'a Question,
        mask: &'q Mask,
        now: Moment,
    ) -> Ways<'q, 'a> {
        let open = BTreeSet::from([(0, Vec::new())]);
        Ways { register, fleet, question, mask, now, open, found: 0, tried: 0, whole: true }
    }

    /// The next way, or why it is none.
    pub(super) fn next(&mut self) -> Option<Result<World<'a>, Trouble>> {
        if self.found == MOST_ALTERNATIVES || self.tried == MOST_TRIED {
            return None;
        }
        let (sum, picks) = self.open.pop_first()?;
        self.tried += 1;
        let mut choices = Vec::new();
        let world = World::build_counting(
            self.register,
            self.fleet,
            self.question,
            self.mask,
            &picks,
            self.now,
            &mut choices,
        );
        for (at, ways) in choices.iter().enumerate().skip(picks.len()) {
            for pick in 1..*ways {
                let mut next = picks.clone();
                next.resize(at, 0);
                next.push(pick);
                self.open.insert((sum + pick, next));
            }
        }
        if let Ok(world) = &world {
            self.found += 1;
            self.whole &= world.complete;
        }
        Some(world)
    }

    /// Whether all ways there are were given.
    pub(super) fn complete(&self) -> bool {
        self.open.is_empty() && self.whole
    }
}
