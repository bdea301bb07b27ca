//! The bound of a node: the strongest of its relaxations.

use super::frame::{Frame, evenings_afforded, evenings_needed};
use super::pricing::{Evenings, MINUTE, Pricing};
use super::rows::{Key, key};
use crate::problem::{Problem, Score};

/// Minutes of a packed score.
pub fn unpack(packed: Key) -> Score {
    let part = |key: Key| i64::try_from(key).unwrap_or(i64::MAX);
    Score {
        minutes: part(packed >> 64),
        grounded: part((packed >> 32) & 0xffff_ffff),
        covers: part(packed & 0xffff_ffff),
    }
}

/// Covers are always fewer than this.
const COVERS: Key = 1 << 20;

/// Grounded and covers of a price of them; what is between two whole grounded is rounded up.
fn second(total: Key) -> (i64, i64) {
    let total = total.clamp(0, key(1, 0, 0) - 1);
    let whole = unpack(total);
    if total & (key(0, 1, 0) - 1) >= COVERS {
        (whole.grounded + 1, 0)
    } else {
        (whole.grounded, whole.covers)
    }
}

/// A bound that grounds at least so many as well, and opens at least so many covers.
pub fn at_least(bound: Score, grounded: i64, covers: i64) -> Score {
    match grounded.cmp(&bound.grounded) {
        std::cmp::Ordering::Greater => Score { grounded, covers, ..bound },
        std::cmp::Ordering::Equal | std::cmp::Ordering::Less => {
            Score { covers: bound.covers.max(covers), ..bound }
        }
    }
}

/// The bound of a node from its prices.
#[derive(Clone, Copy, Debug)]
pub struct Sums {
    /// Plain prices, without evenings.
    pub plain: Key,
    /// Prices of minutes only, without evenings.
    pub minutes: Option<Key>,
    /// Prices of grounded evenings at no more minutes than the best, without evenings.
    pub grounded: Option<Key>,
}

/// The relaxations in use.
#[derive(Debug)]
pub struct Pricings {
    pub plain: Pricing,
    pub minutes: Option<Pricing>,
    pub grounded: Option<Pricing>,
}

impl Pricings {
    /// No answer with these sums that is as good as `limit` is better than this. `None` if there
    /// is none. The price of the grounded is that of `own` evenings, if given.
    pub fn bound(
        &self,
        problem: &Problem,
        frame: &Frame,
        sums: Sums,
        used: &[bool],
        limit: Option<Score>,
        own: Option<&Evenings>,
    ) -> Option<Score> {
        let least_minutes = unpack(sums.plain).minutes;
        let least = evenings_needed(frame, used, least_minutes)?;
        let most = limit.map_or(used.len(), |limit| {
            evenings_afforded(problem, limit.minutes.saturating_sub(least_minutes))
        });
        let mut bound = unpack(sums.plain + self.plain.evenings.least(used, least, most));
        if let (Some(sum), Some(pricing)) = (sums.minutes, &self.minutes) {
            let total = sum + pricing.evenings.least(used, least, most);
            let minutes = i64::try_from((total + MINUTE - 1).div_euclid(MINUTE)).unwrap_or(0);
            if minutes > bound.minutes {
                bound = Score { minutes, grounded: 0, covers: 0 };
            }
        }
        let evenings = own.or(self.grounded.as_ref().map(|pricing| &pricing.evenings));
        if let (Some(sum), Some(evenings), Some(limit)) = (sums.grounded, evenings, limit) {
            let total = sum + evenings.least(used, least, most) - Key::from(limit.minutes) * evenings.minute;
            let second = second(total);
            if second > (bound.grounded, bound.covers) {
                (bound.grounded, bound.covers) = second;
            }
        }
        Some(bound)
    }
}
