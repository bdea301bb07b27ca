//! Orders without covers: by efficiency p/C, with and without somebody to call.

use super::{Action, Inspect, Ordered, amount, chance};

/// Efficiencies that differ by less than this share are a tie.
pub(super) const TIE: f64 = 1e-12;

/// p/C; without end for what helps and costs nothing, 0 for what doesn't help.
pub(super) fn efficiency(p: f64, minutes: f64) -> f64 {
    if p <= 0.0 {
        0.0
    } else if minutes <= 0.0 {
        f64::INFINITY
    } else {
        p / minutes
    }
}

/// Places of `(efficiency, who goes first in a tie)`, the most efficient first.
///
/// A comparison with a tolerance is no order, so it is sorted exactly, and then each run that
/// lies within the tolerance of its first is put in order of the tie-break.
pub(super) fn by_efficiency(items: &[(f64, usize)]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..items.len()).collect();
    order.sort_by(|a, b| items[*b].0.total_cmp(&items[*a].0));
    let mut start = 0;
    while start < order.len() {
        let least = items[order[start]].0 * (1.0 - TIE);
        let run = order[start..].iter().take_while(|at| items[**at].0 >= least).count().max(1);
        order[start..start + run].sort_by_key(|at| items[*at].1);
        start += run;
    }
    order
}

/// The best order of independent actions: by decreasing p/C.
///
/// Exact under the conditions of the [module](super), by exchanging neighbours: i before j
/// costs `p_j·C_i − p_i·C_j` more than j before i. Kadane & Simon 1977 (Annals of Statistics
/// 5:237–255), as credited by Ottosen & Jensen 2010 (arXiv 1203.3502). Not optimal where one
/// fault is addressed by several actions, where questions may be asked, or with covers.
pub fn p_over_c(actions: &[Action]) -> Ordered {
    let items: Vec<_> = actions
        .iter()
        .enumerate()
        .map(|(at, action)| (efficiency(chance(action.p), amount(action.minutes)), at))
        .collect();
    let order = by_efficiency(&items);
    let minutes = prefixes(actions, &order, 0.0).last().copied().unwrap_or(0.0);
    Ordered { order, minutes }
}

/// The best actions to try before a call that always solves it, for `call` minutes; the call
/// comes after the order that is returned.
///
/// The best set is a prefix of the p/C order (by the exchange argument of [`p_over_c`]), so
/// all prefixes are reckoned and the cheapest is taken, the shortest of equals. Stopping at
/// the first action that doesn't pay for itself would be wrong: two may pay where one doesn't.
/// Exact under the conditions of the [module](super); not known to be with covers or
/// questions.
pub fn with_call(actions: &[Action], call: f64) -> Ordered {
    let mut order = p_over_c(actions).order;
    let costs = prefixes(actions, &order, amount(call));
    let mut best = 0;
    for (length, cost) in costs.iter().enumerate() {
        if *cost < costs[best] * (1.0 - TIE) {
            best = length;
        }
    }
    order.truncate(best);
    Ordered { order, minutes: costs[best] }
}

/// Expected minutes of each prefix followed by the call, the empty prefix first.
fn prefixes(actions: &[Action], order: &[usize], call: f64) -> Vec<f64> {
    let (mut spent, mut solved) = (0.0, 0.0);
    let mut costs = vec![call];
    for at in order {
        spent += amount(actions[*at].minutes) * left(solved);
        solved += chance(actions[*at].p);
        costs.push(spent + call * left(solved));
    }
    costs
}

/// How likely the problem is still there; what rounding takes below 0 is 0.
pub(super) fn left(solved: f64) -> f64 {
    (1.0 - solved).max(0.0)
}

/// The best order to look at components each of which is repaired when it is found faulty.
///
/// Expected minutes: the sum of `(1 − earlier p)·look + p·repair`. Repairs cost the same in
/// every order, so the looks are sorted by decreasing p/look (after Heckerman, Breese &
/// Rommelse 1995, Communications of the ACM 38(3); from memory). Exact under the conditions
/// of the [module](super) when a look is certain.
pub fn inspect_then_repair(components: &[Inspect]) -> Ordered {
    let items: Vec<_> = components
        .iter()
        .enumerate()
        .map(|(at, component)| (efficiency(chance(component.p), amount(component.look)), at))
        .collect();
    let order = by_efficiency(&items);
    let (mut minutes, mut solved) = (0.0, 0.0);
    for at in &order {
        let component = &components[*at];
        minutes += amount(component.look) * left(solved) + amount(component.repair) * chance(component.p);
        solved += chance(component.p);
    }
    Ordered { order, minutes }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Exact fractions; definitions after Breese & Heckerman 1996 (arXiv 1302.3563): the
    /// efficiencies printed with check instances T1 to T4 and T9.
    #[test]
    fn efficiencies() {
        let rows = [
            ("T1 A", 0.40, 6.0, 0.066_667),
            ("T1 B", 0.25, 2.0, 0.125_000),
            ("T1 C", 0.15, 3.0, 0.050_000),
            ("T1 D", 0.12, 1.0, 0.120_000),
            ("T1 E", 0.08, 4.0, 0.020_000),
            ("T2 A", 0.30, 5.0, 0.060_000),
            ("T2 C", 0.15, 4.0, 0.037_500),
            ("T2 B", 0.25, 10.0, 0.025_000),
            ("T2 D", 0.10, 20.0, 0.005_000),
            ("T2 E", 0.05, 12.0, 0.004_167),
            ("T3 b", 0.10, 3.0, 0.033_333),
            ("T3 c", 0.22, 2.0, 0.110_000),
            ("T3 d", 0.18, 2.0, 0.090_000),
            ("T3 e", 0.16, 1.0, 0.160_000),
            ("T3 f", 0.14, 5.0, 0.028_000),
            ("T4 a", 0.15, 2.0, 0.075_000),
            ("T4 c", 0.12, 3.0, 0.040_000),
            ("T4 d", 0.08, 1.0, 0.080_000),
            ("T4 e", 0.30, 2.0, 0.150_000),
            ("T4 f", 0.25, 4.0, 0.062_500),
            ("T9 A", 0.5, 4.0, 0.125_000),
            ("T9 B", 0.3, 1.0, 0.300_000),
            ("T9 C", 0.2, 2.0, 0.100_000),
        ];
        let mut wrong = Vec::new();
        for (name, p, minutes, want) in rows {
            let got = efficiency(p, minutes);
            let close = (got - want).abs() <= 5e-7; // false for NaN
            if !close {
                wrong.push(format!("{name}: {got:.6}, not {want:.6}"));
            }
        }
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    #[test]
    fn what_is_free_and_helps_goes_first_and_what_does_not_help_last() {
        assert_eq!(
            by_efficiency(&[(0.0, 0), (0.5, 1), (f64::INFINITY, 2), (f64::INFINITY, 3)]),
            [2, 3, 1, 0]
        );
    }
}
