//! Which receiver ends a transmitter's end may reach at all.

use crate::fleet::Fleet;
use crate::rule::{Rule, Status};

use super::index::{ClassId, EndAt, Index};
use super::row::{EndCodes, Scratch};

/// Finds the receivers that no rule before the model ID keeps from a transmitter.
pub(crate) struct Hearing {
    index: Index,
    scratch: Scratch,
    codes: EndCodes,
}

impl Hearing {
    /// Sorts a fleet's receivers into classes.
    pub(crate) fn of(fleet: &Fleet) -> Hearing {
        let index = Index::of(fleet);
        Hearing { scratch: Scratch::new(), index, codes: EndCodes::default() }
    }

    /// The receiver ends that may hear an end, in order. Those that a class can't speak
    /// for are among them, whether they do or not.
    pub(crate) fn ends(&mut self, fleet: &Fleet, transmitter: usize, end: usize) -> Vec<EndAt> {
        let view = &fleet.transmitters[transmitter];
        self.index.end_codes(fleet, view, end, &mut self.scratch, &mut self.codes);
        let before = Rule::ALL.into_iter().filter(|rule| *rule != Rule::ModelId);
        let before: Vec<Rule> = before.collect();
        let hears: Vec<bool> = self
            .codes
            .codes
            .iter()
            .map(|code| before.iter().all(|rule| code.status(*rule) != Some(Status::Fail)))
            .collect();
        let special = self.index.special(view);
        let mut special = special.iter().peekable();
        let mut found = Vec::new();
        for (receiver, class) in (0u32..).zip(&self.index.class_of) {
            let is_special = special.next_if(|at| **at == receiver).is_some();
            let ends: &[u32] = match class {
                ClassId::Alone(end) => std::slice::from_ref(end),
                ClassId::Group(group) => &self.index.groups[*group as usize],
            };
            for (end, class) in (0u32..).zip(ends) {
                if is_special || hears[*class as usize] {
                    found.push(EndAt { receiver, end });
                }
            }
        }
        found
    }
}
