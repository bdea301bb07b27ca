//! Everything there is to try, and what it costs from the definition.

use trails::classic::{Closed, Covered, Lid};

/// Every order of `n` places.
pub fn orders(n: usize) -> Vec<Vec<usize>> {
    subsets(n).into_iter().filter(|order| order.len() == n).collect()
}

/// Every ordered subset of `n` places, the empty one included.
pub fn subsets(n: usize) -> Vec<Vec<usize>> {
    let mut all = vec![Vec::new()];
    let mut at = 0;
    while at < all.len() {
        for place in 0..n {
            if !all[at].contains(&place) {
                let mut longer: Vec<usize> = all[at].clone();
                longer.push(place);
                all.push(longer);
            }
        }
        at += 1;
    }
    all
}

/// Every way to do `n` places in groups, one group after the other.
pub fn ordered_partitions(n: usize) -> Vec<Vec<Vec<usize>>> {
    // Each place gets the number of its group; numbers without a gap are a partition.
    let mut all = Vec::new();
    for code in 0..n.pow(u32::try_from(n).unwrap()) {
        let of: Vec<usize> = (0..n).map(|at| code / n.pow(u32::try_from(at).unwrap()) % n).collect();
        let groups = of.iter().max().map_or(0, |most| most + 1);
        let split: Vec<Vec<usize>> =
            (0..groups).map(|group| (0..n).filter(|at| of[*at] == group).collect()).collect();
        if split.iter().all(|group| !group.is_empty()) {
            all.push(split);
        }
    }
    all
}

/// The lids above an action.
fn needed(action: &Covered, lids: &[Lid]) -> Vec<usize> {
    let mut all = Vec::new();
    let mut at = action.cover;
    while let Some(lid) = at {
        all.push(lid);
        at = lids[lid].inside;
    }
    all
}

/// Expected minutes in the other form: each action's chance times the minutes until it is
/// done, and what none solves times all minutes and the call.
pub fn completion(order: &[usize], actions: &[Covered], lids: &[Lid], call: f64) -> f64 {
    let mut open = vec![false; lids.len()];
    let (mut clock, mut solved, mut cost) = (0.0, 0.0, 0.0);
    for at in order {
        for lid in needed(&actions[*at], lids) {
            if !open[lid] {
                clock += lids[lid].minutes;
                open[lid] = true;
            }
        }
        clock += actions[*at].minutes;
        cost += actions[*at].p * clock;
        solved += actions[*at].p;
    }
    cost + (1.0 - solved) * (clock + call)
}

/// Expected minutes of ordered groups, each followed by a test.
pub fn groups_cost(
    groups: &[Vec<usize>],
    actions: &[Covered],
    lids: &[Lid],
    test: f64,
    closed: Closed,
) -> f64 {
    let mut open = vec![false; lids.len()];
    let (mut clock, mut solved, mut cost) = (0.0, 0.0, 0.0);
    for group in groups {
        if closed == Closed::BackBeforeTest {
            open.fill(false);
        }
        for at in group {
            for lid in needed(&actions[*at], lids) {
                if !open[lid] {
                    clock += lids[lid].minutes;
                    open[lid] = true;
                }
            }
            clock += actions[*at].minutes;
        }
        clock += test;
        let p: f64 = group.iter().map(|at| actions[*at].p).sum();
        cost += p * clock;
        solved += p;
    }
    cost + (1.0 - solved) * clock
}
