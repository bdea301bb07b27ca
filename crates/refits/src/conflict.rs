//! The smallest set of wishes that can't be met together.
//!
//! Whether wishes can be met is monotone: what can't be met together can't be met with more.

use std::collections::BTreeSet;

/// Wishes that can't be met together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Conflict {
    /// Which ones, by number, in order.
    pub wishes: Vec<usize>,
    /// Whether it is proven that no conflict has fewer wishes.
    pub smallest_proven: bool,
}

/// Counts and remembers the questions.
struct Oracle<'a> {
    feasible: &'a mut dyn FnMut(&[bool]) -> Option<bool>,
    left: usize,
    /// Masks known to be feasible (the largest matter) and infeasible.
    met: Vec<Vec<bool>>,
    unmet: Vec<Vec<bool>>,
}

fn within(small: &[bool], large: &[bool]) -> bool {
    small.iter().zip(large).all(|(small, large)| !small || *large)
}

impl Oracle<'_> {
    /// `Err(())` when the questions have run out; `Ok(None)` when it is not decided.
    fn ask(&mut self, mask: &[bool]) -> Result<Option<bool>, OutOfQuestions> {
        if self.met.iter().any(|met| within(mask, met)) {
            return Ok(Some(true));
        }
        if self.unmet.iter().any(|unmet| within(unmet, mask)) {
            return Ok(Some(false));
        }
        if self.left == 0 {
            return Err(OutOfQuestions);
        }
        self.left -= 1;
        let answer = (self.feasible)(mask);
        match answer {
            Some(true) => self.met.push(mask.to_vec()),
            Some(false) => self.unmet.push(mask.to_vec()),
            None => {}
        }
        Ok(answer)
    }
}

struct OutOfQuestions;

fn members(mask: &[bool]) -> Vec<usize> {
    mask.iter().enumerate().filter_map(|(at, on)| on.then_some(at)).collect()
}

/// The smallest conflict among so many wishes, with at most `budget` questions; `feasible` says
/// whether the wishes marked can be met together (`None`: not decided). `None` if all wishes can
/// be met together, or if that is not decided.
///
/// First one conflict is found by leaving out wishes one by one (Chinneck & Dravnieks, "Locating
/// minimal infeasible constraint sets in linear programs", 1991: deletion filter). Then smaller
/// ones are looked for as smallest hitting sets of what must be left out to meet the rest
/// (Ignatiev, Previti, Liffiton & Marques-Silva, "Smallest MUS extraction with minimal hitting
/// set dualization", 2015). When the questions run out, the conflict found so far stands and is
/// not proven smallest.
pub fn smallest_conflict(
    wishes: usize,
    budget: usize,
    feasible: &mut dyn FnMut(&[bool]) -> Option<bool>,
) -> Option<Conflict> {
    let mut oracle = Oracle { feasible, left: budget, met: Vec::new(), unmet: Vec::new() };
    let mut found = vec![true; wishes];
    if !matches!(oracle.ask(&found), Ok(Some(false))) {
        return None;
    }
    for wish in 0..wishes {
        found[wish] = false;
        match oracle.ask(&found) {
            Ok(Some(false)) => {}
            Ok(_) => found[wish] = true,
            Err(OutOfQuestions) => {
                found[wish] = true;
                break;
            }
        }
    }
    let proven = shrink(wishes, &mut found, &mut oracle);
    Some(Conflict { wishes: members(&found), smallest_proven: proven })
}

/// Looks for a smaller conflict; says whether `found` is then proven smallest.
fn shrink(wishes: usize, found: &mut Vec<bool>, oracle: &mut Oracle) -> bool {
    // Every conflict has a wish of each of these sets: without them all others can be met.
    let mut to_hit: BTreeSet<Vec<usize>> = BTreeSet::new();
    loop {
        let size = members(found).len();
        let Some(hitting) = smallest_hitting(&to_hit, size) else { return true };
        let mut mask = vec![false; wishes];
        for wish in hitting {
            mask[wish] = true;
        }
        match oracle.ask(&mask) {
            Ok(Some(false)) => {
                // A smallest hitting set that is a conflict is a smallest conflict.
                *found = mask;
                return true;
            }
            Ok(Some(true)) => {}
            Ok(None) | Err(OutOfQuestions) => return false,
        }
        // Grown as long as it can be met: what is left out is a set to hit.
        for wish in 0..wishes {
            if mask[wish] {
                continue;
            }
            mask[wish] = true;
            if !matches!(oracle.ask(&mask), Ok(Some(true))) {
                mask[wish] = false;
            }
        }
        to_hit.insert((0..wishes).filter(|wish| !mask[*wish]).collect());
    }
}

/// A smallest set with a member of each set, of fewer than `below` members.
fn smallest_hitting(sets: &BTreeSet<Vec<usize>>, below: usize) -> Option<Vec<usize>> {
    let sets: Vec<&Vec<usize>> = sets.iter().collect();
    (0..below).find_map(|size| {
        let mut chosen = Vec::new();
        hit(&sets, size, &mut chosen).then_some(chosen)
    })
}

fn hit(sets: &[&Vec<usize>], left: usize, chosen: &mut Vec<usize>) -> bool {
    let open = sets.iter().filter(|set| !set.iter().any(|one| chosen.contains(one)));
    let Some(set) = open.min_by_key(|set| set.len()) else { return true };
    if left == 0 {
        return false;
    }
    for one in *set {
        chosen.push(*one);
        if hit(sets, left - 1, chosen) {
            return true;
        }
        chosen.pop();
    }
    false
}
