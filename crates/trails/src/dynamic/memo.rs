//! What is known of the states that were solved: a flat list where that is small, a map
//! otherwise.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

/// Up to this many states stand in a flat list (8 MiB).
const FLAT_UP_TO: u128 = 1 << 20;

/// Costs by packed state.
pub(super) enum Memo {
    /// `!bits` of the cost, 0 for a state that isn't solved (no cost is the NaN of all ones).
    Flat(Vec<u64>),
    /// For more states than a list holds well.
    Map(HashMap<u128, f64, BuildHasherDefault<Fold>>),
}

impl Memo {
    /// For packed states below `states`.
    pub fn new(states: u128) -> Memo {
        match usize::try_from(states) {
            Ok(few) if states <= FLAT_UP_TO => Memo::Flat(vec![0; few]),
            _ => Memo::Map(HashMap::default()),
        }
    }

    pub fn get(&self, state: u128) -> Option<f64> {
        match self {
            Memo::Flat(costs) => {
                costs.get(place(state)).filter(|bits| **bits != 0).map(|bits| f64::from_bits(!bits))
            }
            Memo::Map(costs) => costs.get(&state).copied(),
        }
    }

    pub fn put(&mut self, state: u128, cost: f64) {
        match self {
            Memo::Flat(costs) => {
                if let Some(slot) = costs.get_mut(place(state)) {
                    *slot = !cost.to_bits();
                }
            }
            Memo::Map(costs) => {
                costs.insert(state, cost);
            }
        }
    }
}

fn place(state: u128) -> usize {
    usize::try_from(state).unwrap_or(usize::MAX)
}

/// A cheap hasher for packed states: they are no foreign input.
#[derive(Default)]
pub(super) struct Fold(u64);

/// An odd number without pattern (the golden ratio's fraction), so that every bit counts.
const SPREAD: u64 = 0x9E37_79B9_7F4A_7C15;

impl Hasher for Fold {
    fn write(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.write_u64(u64::from(*byte));
        }
    }

    fn write_u64(&mut self, value: u64) {
        let mixed = (self.0.rotate_left(26) ^ value).wrapping_mul(SPREAD);
        self.0 = mixed ^ (mixed >> 32);
    }

    fn write_u128(&mut self, value: u128) {
        for half in [value, value >> 64] {
            self.write_u64(u64::try_from(half & u128::from(u64::MAX)).unwrap_or(0));
        }
    }

    fn finish(&self) -> u64 {
        self.0.wrapping_mul(SPREAD)
    }
}
