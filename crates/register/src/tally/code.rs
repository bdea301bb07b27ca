//! The statuses of all seven rules in fourteen bits.

use std::sync::LazyLock;

use crate::rule::{Rule, Ruling, Status, Verdict};

/// How many codes there are.
pub(super) const CODES: usize = 1 << 14;

/// Two bits for each rule, in the order of [`Rule::ALL`]: 0 pass, 1 not known, 2 fail.
/// Where the families differ the rules after the band do not arise, and their bits are 0.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Code(pub(super) u16);

const FAMILY_BITS: u16 = 0b11;
const FAMILY_FAILS: u16 = 0b10;
const FAMILY_AND_BAND: u16 = 0b1111;

impl Code {
    /// The bits of one rule's status.
    pub(super) fn bits(rule: Rule, status: Status) -> u16 {
        (status as u16) << (2 * rule as u16)
    }

    /// The code whose rules have these bits.
    #[inline]
    pub(super) fn of_bits(bits: u16) -> Code {
        if bits & FAMILY_BITS == FAMILY_FAILS { Code(bits & FAMILY_AND_BAND) } else { Code(bits) }
    }

    /// The code of a ruling.
    pub(super) fn of(ruling: &Ruling) -> Code {
        let mut bits = 0;
        for rule in Rule::ALL {
            bits |= ruling.status(rule).map_or(0, |status| Code::bits(rule, status));
        }
        let code = Code::of_bits(bits);
        debug_assert_eq!(code.by_rule(), ruling.by_rule, "a ruling that codes can't hold");
        code
    }

    /// What one rule came to; `None` where it does not arise.
    pub(super) fn status(self, rule: Rule) -> Option<Status> {
        if self.0 & FAMILY_BITS == FAMILY_FAILS && !matches!(rule, Rule::Family | Rule::Band) {
            return None;
        }
        Some(match self.0 >> (2 * rule as u16) & 0b11 {
            0 => Status::Pass,
            1 => Status::Unknown,
            _ => Status::Fail,
        })
    }

    /// Every rule's status.
    pub(super) fn by_rule(self) -> [Option<Status>; 7] {
        Rule::ALL.map(|rule| self.status(rule))
    }

    fn ruling(self) -> Ruling {
        Ruling { by_rule: self.by_rule(), memory: None }
    }

    /// The verdict.
    pub(super) fn verdict(self) -> Verdict {
        match rank(self) >> 8 {
            0 => Verdict::Links,
            1 => Verdict::Unknown,
            _ => Verdict::Blocked,
        }
    }
}

static RANKS: LazyLock<Vec<u16>> = LazyLock::new(|| {
    (0..CODES)
        .map(|bits| {
            let bits = u16::try_from(bits).unwrap_or(u16::MAX);
            let (verdict, fails, unknowns) = Code::of_bits(bits).ruling().rank();
            let small = |count: usize| u16::try_from(count.min(15)).unwrap_or(15);
            (verdict as u16) << 8 | small(fails) << 4 | small(unknowns)
        })
        .collect()
});

/// The order of preference of [`Ruling::rank`] as a number: the least is the best.
#[inline]
pub(super) fn rank(code: Code) -> u16 {
    RANKS[usize::from(code.0)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranks_are_in_the_order_of_rulings() {
        let real = |bits: &u16| (0..7).all(|rule| bits >> (2 * rule) & 0b11 != 0b11);
        let codes: Vec<Code> = (0..1 << 14).step_by(37).filter(real).map(Code::of_bits).collect();
        assert!(codes.len() > 50);
        for pair in codes.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            assert_eq!(rank(a).cmp(&rank(b)), a.ruling().rank().cmp(&b.ruling().rank()), "{a:?} {b:?}");
            assert_eq!(Code::of(&a.ruling()), a);
            assert_eq!(a.verdict(), a.ruling().verdict());
        }
    }
}
