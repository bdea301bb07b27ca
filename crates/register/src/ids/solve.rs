//! Which IDs to give to groups that must not share one, at the least cost.
//!
//! Groups fall apart into components that don't touch one another. In each, cliques of
//! groups that all clash need different IDs: the cheapest such choice is an assignment
//! problem, and the sum over disjoint cliques is a bound below which no choice can go
//! (Kuhn, "The Hungarian method for the assignment problem", 1955, in the form with
//! potentials). Where the cliques' own choices fit together they are the answer;
//! otherwise the search branches on a group that they quarrel about.

use std::collections::{BTreeMap, BTreeSet};

/// When two groups must not share an ID.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Clash {
    /// Never.
    Always,
    /// Not one of these.
    On(BTreeSet<u32>),
}

/// What is to be solved. Groups are numbered in the order that breaks ties.
#[derive(Clone, Debug, Default)]
pub(super) struct Problem {
    /// By group: what giving it an ID costs when nobody in it holds that ID yet.
    pub(super) full: Vec<u32>,
    /// By group and ID: how much less it costs where some hold it already.
    pub(super) saved: Vec<BTreeMap<u32, u32>>,
    /// By group: the groups it clashes with.
    pub(super) clashes: Vec<BTreeMap<usize, Clash>>,
    /// The least ID.
    pub(super) low: u32,
    /// The greatest ID.
    pub(super) high: u32,
    /// The ID that means *check off*.
    pub(super) off: Option<u32>,
}

/// What was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Solved {
    /// An ID for each group.
    Found {
        /// By group.
        ids: Vec<u32>,
        /// What they cost together.
        cost: u32,
        /// Whether none cost less.
        proven: bool,
    },
    /// There are too few IDs for these groups.
    TooFew(Vec<usize>),
    /// The search ended at its limit without any choice.
    GaveUp(Vec<usize>),
}

impl Problem {
    /// A problem of so many groups that cost nothing and clash with none.
    pub(super) fn new(groups: usize, low: u32, high: u32, off: Option<u32>) -> Problem {
        Problem {
            full: vec![0; groups],
            saved: vec![BTreeMap::new(); groups],
            clashes: vec![BTreeMap::new(); groups],
            low,
            high,
            off,
        }
    }

    /// Adds a clash between two groups; always is more than on some IDs.
    pub(super) fn clash(&mut self, one: usize, other: usize, clash: &Clash) {
        for (a, b) in [(one, other), (other, one)] {
            match (self.clashes[a].get_mut(&b), clash) {
                (None, _) => {
                    self.clashes[a].insert(b, clash.clone());
                }
                (Some(Clash::Always), _) => {}
                (Some(have), Clash::Always) => *have = Clash::Always,
                (Some(Clash::On(have)), Clash::On(more)) => have.extend(more),
            }
        }
    }

    fn is_id(&self, id: u32) -> bool {
        self.low <= id && id <= self.high && self.off != Some(id)
    }

    fn components(&self) -> Vec<Vec<usize>> {
        let mut seen = vec![false; self.full.len()];
        let mut components = Vec::new();
        for start in 0..self.full.len() {
            if seen[start] {
                continue;
            }
            seen[start] = true;
            let mut found = vec![start];
            let mut next = 0;
            while let Some(&group) = found.get(next) {
                next += 1;
                for &other in self.clashes[group].keys() {
                    if !seen[other] {
                        seen[other] = true;
                        found.push(other);
                    }
                }
            }
            found.sort_unstable();
            components.push(found);
        }
        components
    }

    /// Solves it, looking at no more than `node_limit` branches in all.
    pub(super) fn solve(&self, node_limit: u64) -> Solved {
        let mut left = node_limit;
        let mut ids = vec![0; self.full.len()];
        let (mut cost, mut proven) = (0, true);
        for groups in self.components() {
            match Search::new(self, &groups).solve(&mut left) {
                Solved::Found { ids: found, cost: more, proven: sure } => {
                    cost += more;
                    proven &= sure;
                    for (group, id) in groups.iter().zip(found) {
                        ids[*group] = id;
                    }
                }
                Solved::TooFew(at) => return Solved::TooFew(at.into_iter().map(|at| groups[at]).collect()),
                Solved::GaveUp(at) => return Solved::GaveUp(at.into_iter().map(|at| groups[at]).collect()),
            }
        }
        Solved::Found { ids, cost, proven }
    }
}

/// Stands for an ID that can't be given. Real costs are far smaller.
const BARRED: i64 = 1 << 40;

/// Components of more groups are only solved as far as the cheapest free ID goes.
const MOST_GROUPS: usize = 400;

/// One component: groups and IDs by place.
struct Search {
    ids: Vec<u32>,
    /// IDs that nobody holds and no clash names: one is as good as another.
    plain: Vec<bool>,
    cost: Vec<Vec<i64>>,
    clashes: Vec<Vec<(usize, Vec<bool>)>>,
    cliques: Vec<Vec<usize>>,
    /// How many given IDs bar this group from this ID.
    barred: Vec<Vec<u32>>,
    given: Vec<Option<usize>>,
    best: Option<(i64, Vec<usize>)>,
    nodes: u64,
}

enum Bound {
    Impossible,
    /// At least so much, and what the cliques would choose.
    AtLeast(i64, Vec<usize>),
}

impl Search {
    fn new(problem: &Problem, groups: &[usize]) -> Search {
        let held: BTreeSet<u32> = groups
            .iter()
            .flat_map(|group| problem.saved[*group].keys().copied())
            .filter(|id| problem.is_id(*id))
            .collect();
        let named: BTreeSet<u32> = groups
            .iter()
            .flat_map(|group| problem.clashes[*group].values())
            .flat_map(|clash| match clash {
                Clash::Always => Vec::new(),
                Clash::On(ids) => ids.iter().copied().collect(),
            })
            .collect();
        // With so many free IDs every group finds a plain one that no other took.
        let free = (problem.low..=problem.high)
            .filter(|id| problem.is_id(*id) && !held.contains(id))
            .take(groups.len() + named.len());
        let mut ids: Vec<u32> = held.iter().copied().chain(free).collect();
        ids.sort_unstable();
        let place = |group: usize| groups.binary_search(&group).ok();
        let clashes: Vec<Vec<(usize, Vec<bool>)>> = groups
            .iter()
            .map(|group| {
                problem.clashes[*group]
                    .iter()
                    .filter_map(|(other, clash)| {
                        let on = ids.iter().map(|id| match clash {
                            Clash::Always => true,
                            Clash::On(on) => on.contains(id),
                        });
                        Some((place(*other)?, on.collect()))
                    })
                    .collect()
            })
            .collect();
        let cost = groups
            .iter()
            .map(|group| {
                let saved = |id: &u32| problem.saved[*group].get(id).copied().unwrap_or(0);
                ids.iter().map(|id| i64::from(problem.full[*group]) - i64::from(saved(id))).collect()
            })
            .collect();
        let always = |a: usize, b: usize| {
            problem.clashes[groups[a]].get(&groups[b]).is_some_and(|clash| *clash == Clash::Always)
        };
        Search {
            plain: ids.iter().map(|id| !held.contains(id) && !named.contains(id)).collect(),
            cost,
            cliques: cliques(groups.len(), &clashes, always),
            barred: vec![vec![0; ids.len()]; groups.len()],
            given: vec![None; groups.len()],
            clashes,
            ids,
            best: None,
            nodes: 0,
        }
    }

    fn free(&self, group: usize, id: usize) -> bool {
        self.barred[group][id] == 0
    }

    fn give(&mut self, group: usize, id: usize) {
        self.given[group] = Some(id);
        for (other, on) in &self.clashes[group] {
            self.barred[*other][id] += u32::from(on[id]);
        }
    }

    fn take_back(&mut self, group: usize) {
        let Some(id) = self.given[group].take() else { return };
        for (other, on) in &self.clashes[group] {
            self.barred[*other][id] -= u32::from(on[id]);
        }
    }

    /// The least that the groups cost one by one; `None` when one of them has no ID left.
    fn singly(&self) -> Option<i64> {
        let mut sum = 0;
        for (group, given) in self.given.iter().enumerate() {
            sum += match given {
                Some(id) => self.cost[group][*id],
                None => (0..self.ids.len())
                    .filter(|id| self.free(group, *id))
                    .map(|id| self.cost[group][id])
                    .min()?,
            };
        }
        Some(sum)
    }

    fn bound(&self, below: i64) -> Bound {
        match self.singly() {
            None => return Bound::Impossible,
            Some(least) if least >= below => return Bound::AtLeast(least, Vec::new()),
            Some(_) => {}
        }
        let mut choice = vec![0; self.given.len()];
        let mut sum = 0;
        for (group, given) in self.given.iter().enumerate() {
            if let Some(id) = given {
                choice[group] = *id;
                sum += self.cost[group][*id];
            }
        }
        for clique in &self.cliques {
            let open: Vec<usize> =
                clique.iter().copied().filter(|group| self.given[*group].is_none()).collect();
            let costs: Vec<Vec<i64>> = open
                .iter()
                .map(|group| {
                    let id = |id| if self.free(*group, id) { self.cost[*group][id] } else { BARRED };
                    (0..self.ids.len()).map(id).collect()
                })
                .collect();
            let Some((cost, chosen)) = assign(&costs) else { return Bound::Impossible };
            sum += cost;
            for (group, id) in open.into_iter().zip(chosen) {
                choice[group] = id;
            }
        }
        Bound::AtLeast(sum, choice)
    }

    /// A group that the choice makes clash with another: the one with most neighbours.
    fn quarrel(&self, choice: &[usize]) -> Option<usize> {
        (0..choice.len())
            .filter(|group| self.given[*group].is_none())
            .filter(|group| {
                self.clashes[*group]
                    .iter()
                    .any(|(other, on)| choice[*other] == choice[*group] && on[choice[*group]])
            })
            .max_by_key(|group| self.clashes[*group].len())
    }

    /// Looks for the least cost; false when the limit was reached.
    fn least(&mut self, limit: u64) -> bool {
        if self.nodes >= limit {
            return false;
        }
        self.nodes += 1;
        let below = self.best.as_ref().map_or(BARRED, |(cost, _)| *cost);
        let Bound::AtLeast(cost, choice) = self.bound(below) else { return true };
        if cost >= below {
            return true;
        }
        let Some(group) = self.quarrel(&choice) else {
            self.best = Some((cost, choice));
            return true;
        };
        let mut order: Vec<usize> = (0..self.ids.len()).filter(|id| self.free(group, *id)).collect();
        order.sort_by_key(|id| self.cost[group][*id]);
        let mut tried_unused = false;
        for id in order {
            if self.plain[id] && !self.given.contains(&Some(id)) {
                // Plain IDs that nobody was given are all alike.
                if std::mem::replace(&mut tried_unused, true) {
                    continue;
                }
            }
            self.give(group, id);
            let done = self.least(limit);
            self.take_back(group);
            if !done {
                return false;
            }
        }
        true
    }

    /// Of all choices that cost no more than `budget`, the first in order; false when the
    /// limit was reached.
    fn first(&mut self, group: usize, budget: i64, limit: u64) -> Option<bool> {
        if group == self.given.len() {
            return Some(true);
        }
        for id in 0..self.ids.len() {
            if !self.free(group, id) {
                continue;
            }
            self.give(group, id);
            let may = self.singly().is_some_and(|least| least <= budget);
            if may {
                if self.nodes >= limit {
                    return None;
                }
                self.nodes += 1;
                let fits = match self.bound(budget + 1) {
                    Bound::Impossible => false,
                    Bound::AtLeast(cost, _) => cost <= budget,
                };
                if fits && self.first(group + 1, budget, limit)? {
                    return Some(true);
                }
            }
            self.take_back(group);
        }
        Some(false)
    }

    /// Gives the groups with most to save their cheapest free ID first.
    fn greedy(&mut self) -> Option<(i64, Vec<usize>)> {
        let mut order: Vec<usize> = (0..self.given.len()).collect();
        let spread = |costs: &Vec<i64>| costs.iter().max().unwrap_or(&0) - costs.iter().min().unwrap_or(&0);
        order.sort_by_key(|group| std::cmp::Reverse(spread(&self.cost[*group])));
        for group in &order {
            let free = (0..self.ids.len()).filter(|id| self.free(*group, *id));
            let Some(id) = free.min_by_key(|id| self.cost[*group][*id]) else { break };
            self.give(*group, id);
        }
        let chosen: Option<Vec<usize>> = self.given.iter().copied().collect();
        for group in order {
            self.take_back(group);
        }
        let chosen = chosen?;
        let cost = chosen.iter().enumerate().map(|(group, id)| self.cost[group][*id]).sum();
        Some((cost, chosen))
    }

    fn solve(mut self, left: &mut u64) -> Solved {
        if let Some(clique) = self.cliques.iter().find(|clique| clique.len() > self.ids.len()) {
            return Solved::TooFew(clique.clone());
        }
        let everyone = || (0..self.given.len()).collect::<Vec<_>>();
        let all = everyone();
        let Some(least) = self.singly() else { return Solved::TooFew(all) };
        self.best = self.greedy();
        let cheapest = self.best.as_ref().is_some_and(|(cost, _)| *cost == least);
        let small = all.len() <= MOST_GROUPS;
        let proven = cheapest || (small && self.least(*left));
        *left = left.saturating_sub(self.nodes);
        let Some((cost, mut chosen)) = self.best.take() else {
            return if proven { Solved::TooFew(all) } else { Solved::GaveUp(all) };
        };
        if proven && small {
            self.nodes = 0;
            if self.first(0, cost, *left) == Some(true) {
                chosen = self.given.iter().copied().flatten().collect();
            }
            *left = left.saturating_sub(self.nodes);
        }
        let ids = chosen.into_iter().map(|id| self.ids[id]).collect();
        Solved::Found { ids, cost: u32::try_from(cost).unwrap_or(u32::MAX), proven }
    }
}

/// Puts groups into cliques that always clash, largest first.
fn cliques(
    groups: usize,
    clashes: &[Vec<(usize, Vec<bool>)>],
    always: impl Fn(usize, usize) -> bool,
) -> Vec<Vec<usize>> {
    let mut order: Vec<usize> = (0..groups).collect();
    order.sort_by_key(|group| std::cmp::Reverse(clashes[*group].len()));
    let mut cliques: Vec<Vec<usize>> = Vec::new();
    for group in order {
        match cliques.iter_mut().find(|clique| clique.iter().all(|other| always(group, *other))) {
            Some(clique) => clique.push(group),
            None => cliques.push(vec![group]),
        }
    }
    cliques
}

/// Gives every row a column of its own at the least total cost; `None` when there are
/// too few columns that are not barred.
fn assign(costs: &[Vec<i64>]) -> Option<(i64, Vec<usize>)> {
    let rows = costs.len();
    let columns = costs.first().map_or(0, Vec::len);
    if rows > columns {
        return None;
    }
    // Rows and columns are counted from 1; place 0 is the one being placed.
    let mut of_row = vec![0i64; rows + 1];
    let mut of_column = vec![0i64; columns + 1];
    let mut row_of = vec![0usize; columns + 1];
    for row in 1..=rows {
        row_of[0] = row;
        let mut at = 0;
        let mut least = vec![i64::MAX; columns + 1];
        let mut from = vec![0usize; columns + 1];
        let mut used = vec![false; columns + 1];
        while row_of[at] != 0 {
            used[at] = true;
            let this = row_of[at];
            let mut step = i64::MAX;
            let mut next = 0;
            for column in 1..=columns {
                if used[column] {
                    continue;
                }
                let reduced = costs[this - 1][column - 1] - of_row[this] - of_column[column];
                if reduced < least[column] {
                    least[column] = reduced;
                    from[column] = at;
                }
                if least[column] < step {
                    step = least[column];
                    next = column;
                }
            }
            for column in 0..=columns {
                if used[column] {
                    of_row[row_of[column]] += step;
                    of_column[column] -= step;
                } else {
                    least[column] = least[column].saturating_sub(step);
                }
            }
            at = next;
        }
        while at != 0 {
            row_of[at] = row_of[from[at]];
            at = from[at];
        }
    }
    let mut chosen = vec![0; rows];
    let mut sum = 0;
    for column in 1..=columns {
        if let Some(row) = row_of[column].checked_sub(1) {
            let cost = costs[row][column - 1];
            if cost >= BARRED {
                return None;
            }
            chosen[row] = column - 1;
            sum += cost;
        }
    }
    Some((sum, chosen))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// Every choice there is: the cheapest, and of those the first in order.
    fn brute(problem: &Problem) -> Option<(u32, Vec<u32>)> {
        let ids: Vec<u32> = (problem.low..=problem.high).filter(|id| problem.is_id(*id)).collect();
        let groups = problem.full.len();
        let mut best: Option<(u32, Vec<u32>)> = None;
        let total = ids.len().pow(u32::try_from(groups).unwrap());
        for mut number in 0..total {
            let mut choice = vec![0; groups];
            for place in (0..groups).rev() {
                choice[place] = ids[number % ids.len()];
                number /= ids.len();
            }
            let clashes = problem.clashes.iter().enumerate().any(|(a, of)| {
                of.iter().any(|(b, clash)| {
                    choice[a] == choice[*b]
                        && match clash {
                            Clash::Always => true,
                            Clash::On(ids) => ids.contains(&choice[a]),
                        }
                })
            });
            if clashes {
                continue;
            }
            let cost = choice
                .iter()
                .enumerate()
                .map(|(group, id)| problem.full[group] - problem.saved[group].get(id).unwrap_or(&0))
                .sum();
            if best.as_ref().is_none_or(|(have, _)| cost < *have) {
                best = Some((cost, choice));
            }
        }
        best
    }

    fn problem() -> impl Strategy<Value = Problem> {
        (1..7usize, 1..5u32, proptest::option::of(0..6u32), 0..4u32).prop_flat_map(
            |(groups, span, off, dense)| {
                let full =
                    proptest::collection::vec((0..3u32, proptest::collection::vec(0..7u32, 0..4)), groups);
                let on = proptest::collection::btree_set(0..6u32, 0..3);
                let clash = prop_oneof![3 => Just(Clash::Always), 1 => on.prop_map(Clash::On)];
                let most = groups * usize::try_from(dense).unwrap();
                let clashes = proptest::collection::vec((0..groups, 0..groups, clash), 0..=most);
                (full, clashes).prop_map(move |(full, clashes)| {
                    let mut problem = Problem::new(groups, 1, 1 + span, off);
                    for (group, (unknown, held)) in full.into_iter().enumerate() {
                        problem.full[group] = unknown + u32::try_from(held.len()).unwrap();
                        for id in held {
                            *problem.saved[group].entry(id).or_default() += 1;
                        }
                    }
                    for (one, other, clash) in clashes {
                        if one != other {
                            problem.clash(one, other, &clash);
                        }
                    }
                    problem
                })
            },
        )
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(600))]

        #[test]
        fn as_cheap_as_trying_everything(problem in problem()) {
            match (problem.solve(1_000_000), brute(&problem)) {
                (Solved::Found { ids, cost, proven }, Some((least, first))) => {
                    prop_assert!(proven);
                    prop_assert_eq!(cost, least);
                    prop_assert_eq!(ids, first);
                }
                (Solved::TooFew(groups), None) => prop_assert!(!groups.is_empty()),
                (found, brute) => prop_assert!(false, "{:?}, by brute force {:?}", found, brute),
            }
        }
    }

    #[test]
    fn a_search_cut_short_says_so() {
        // A ring of five that all hold 1: two IDs are too few, three will do.
        let mut problem = Problem::new(5, 1, 3, None);
        for group in 0..5 {
            problem.full[group] = 1;
            problem.saved[group].insert(1, 1);
            problem.clash(group, (group + 1) % 5, &Clash::Always);
        }
        let Solved::Found { cost, proven, .. } = problem.solve(1_000) else { panic!("three will do") };
        assert_eq!((cost, proven), (3, true));
        let Solved::Found { proven, .. } = problem.solve(0) else { panic!("the greedy choice fits") };
        assert!(!proven);
        problem.high = 2;
        assert_eq!(problem.solve(1_000), Solved::TooFew(vec![0, 1, 2, 3, 4]));
        assert_eq!(problem.solve(0), Solved::GaveUp(vec![0, 1, 2, 3, 4]));
    }

    #[test]
    fn sixty_groups_that_all_clash_are_one_assignment() {
        let mut problem = Problem::new(60, 0, 63, Some(0));
        for group in 0..60 {
            problem.full[group] = 2;
            // Pairs hold the same ID; one of each must give way.
            problem.saved[group].insert(u32::try_from(group / 2).unwrap() + 1, 2);
            for other in 0..group {
                problem.clash(group, other, &Clash::Always);
            }
        }
        let Solved::Found { cost, proven, ids } = problem.solve(10_000) else { panic!("63 are enough") };
        assert_eq!((cost, proven), (60, true));
        assert_eq!(ids[..4], [1, 31, 2, 32]);
    }
}
