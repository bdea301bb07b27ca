//! Several actions, then one test: when testing costs something.

use super::cover::{around, chain};
use super::order::{TIE, left};
use super::{Closed, Covered, Groups, Lid, amount, chance};

/// The most actions that [`grouped`] takes: the work triples with each.
pub const GROUPED_UP_TO: usize = 14;

/// The best ordered groups of actions, each group followed by a test of `test` minutes.
///
/// Expected minutes: the sum over the groups of `(test + the group's minutes with its covers)`
/// times how likely no earlier group solved it. All ordered partitions are weighed up, by
/// dynamic programming over the set that is done, so it is exact under the conditions of the
/// [module](super) but for the test's price. Definitions after Ottosen & Jensen 2011, *When to
/// test?* (from memory). None above [`GROUPED_UP_TO`] actions.
pub fn grouped(actions: &[Covered], lids: &[Lid], test: f64, closed: Closed) -> Option<Groups> {
    if actions.len() > GROUPED_UP_TO {
        return None;
    }
    let test = amount(test);
    let sets = 1_usize << actions.len();
    let all = sets - 1;
    let (mut minutes, mut solved) = (vec![0.0; sets], vec![0.0; sets]);
    for set in 1..sets {
        let (first, rest) = (set.trailing_zeros() as usize, set & (set - 1));
        minutes[set] = minutes[rest] + amount(actions[first].minutes);
        solved[set] = solved[rest] + chance(actions[first].p);
    }
    let covers = covers(actions, lids, sets);
    // From the full set backwards: the least minutes still to come, and the next group.
    let (mut to_come, mut next) = (vec![0.0; sets], vec![0; sets]);
    for done in (0..all).rev() {
        let open = all & !done;
        let unsolved = left(solved[done]);
        let mut best = f64::INFINITY;
        let mut group = open;
        while group > 0 {
            let lids = match closed {
                Closed::StaysOpen => covers[done | group] - covers[done],
                Closed::BackBeforeTest => covers[group],
            };
            let cost = unsolved * (test + minutes[group] + lids) + to_come[done | group];
            if cost < best * (1.0 - TIE) || best.is_infinite() {
                (best, next[done]) = (cost, group);
            }
            group = (group - 1) & open;
        }
        to_come[done] = best;
    }
    let mut groups = Vec::new();
    let mut done = 0;
    while done != all {
        let group = next[done];
        groups.push((0..actions.len()).filter(|at| group & (1 << at) != 0).collect());
        done |= group;
    }
    Some(Groups { groups, minutes: to_come[0] })
}

/// Minutes of the covers that each set of actions needs.
fn covers(actions: &[Covered], lids: &[Lid], sets: usize) -> Vec<f64> {
    let around = around(lids);
    let mut needed_by = vec![0_usize; lids.len()];
    for (at, action) in actions.iter().enumerate() {
        for lid in chain(&around, action.cover) {
            needed_by[lid] |= 1 << at;
        }
    }
    let used: Vec<_> = needed_by
        .iter()
        .zip(lids)
        .filter(|(needed_by, _)| **needed_by > 0)
        .map(|(needed_by, lid)| (*needed_by, amount(lid.minutes)))
        .collect();
    let of = |set: usize| used.iter().filter(|(by, _)| by & set != 0).map(|(_, minutes)| minutes).sum();
    (0..sets).map(of).collect()
}
