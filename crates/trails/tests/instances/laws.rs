//! Random small instances against trying everything, and what holds for any numbers.

use proptest::prelude::*;
use trails::classic::{
    Action, Closed, Covered, GROUPED_UP_TO, Inspect, Lid, cost_of, cover_tree, grouped, inspect_then_repair,
    p_over_c, with_call, worth_of_question,
};

use super::every::{completion, groups_cost, ordered_partitions, orders, subsets};

/// Small whole numbers, so that many efficiencies are tied.
fn items(most: usize) -> impl Strategy<Value = Vec<(u32, u32, usize)>> {
    prop::collection::vec((1_u32..7, 1_u32..7, 0_usize..4), 1..=most)
}

/// Chances that add up to 1, or leave a rest.
fn scaled(items: &[(u32, u32, usize)], rest: u32, lids: usize) -> Vec<Covered> {
    let total: u32 = items.iter().map(|(weight, _, _)| weight).sum::<u32>() + rest;
    let one = |(weight, minutes, cover): &(u32, u32, usize)| Covered {
        p: f64::from(*weight) / f64::from(total),
        minutes: f64::from(*minutes),
        cover: cover.checked_sub(1).filter(|cover| *cover < lids),
    };
    items.iter().map(one).collect()
}

fn plain(covered: &[Covered]) -> Vec<Action> {
    covered.iter().map(|one| Action { p: one.p, minutes: one.minutes }).collect()
}

/// One to three lids; each may stand inside an earlier one.
fn some_lids() -> impl Strategy<Value = Vec<Lid>> {
    prop::collection::vec((1_u32..7, 0_usize..4), 1..=3).prop_map(|of| {
        let lid = |(at, (minutes, inside)): (usize, &(u32, usize))| Lid {
            minutes: f64::from(*minutes),
            inside: inside.checked_sub(1).filter(|inside| *inside < at),
        };
        of.iter().enumerate().map(lid).collect()
    })
}

fn least(costs: impl Iterator<Item = f64>) -> f64 {
    costs.fold(f64::INFINITY, f64::min)
}

fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        prop::num::f64::NORMAL | prop::num::f64::SUBNORMAL | prop::num::f64::ZERO,
        0.0..1.0,
        Just(0.0),
        Just(f64::MAX)
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn p_over_c_is_the_best_order(items in items(6), rest in 0_u32..5) {
        let covered = scaled(&items, rest, 0);
        let best = p_over_c(&plain(&covered));
        let tried = least(orders(items.len()).iter().map(|order| completion(order, &covered, &[], 0.0)));
        prop_assert!((best.minutes - tried).abs() < 1e-9, "{best:?}, not {tried}");
        prop_assert!((completion(&best.order, &covered, &[], 0.0) - tried).abs() < 1e-9);
    }

    #[test]
    fn with_call_is_the_best_ordered_subset(items in items(5), rest in 0_u32..9, call in 1_u32..40) {
        let covered = scaled(&items, rest, 0);
        let call = f64::from(call);
        let best = with_call(&plain(&covered), call);
        let tried = least(subsets(items.len()).iter().map(|order| completion(order, &covered, &[], call)));
        prop_assert!((best.minutes - tried).abs() < 1e-9, "{best:?}, not {tried}");
        prop_assert!((completion(&best.order, &covered, &[], call) - tried).abs() < 1e-9);
    }

    #[test]
    fn the_cover_tree_is_the_best_order(items in items(6), rest in 0_u32..5, lids in some_lids()) {
        let covered = scaled(&items, rest, lids.len());
        let best = cover_tree(&covered, &lids);
        let tried = least(orders(items.len()).iter().map(|order| completion(order, &covered, &lids, 0.0)));
        prop_assert!((best.minutes - tried).abs() < 1e-9, "{best:?}, not {tried}");
        prop_assert!((completion(&best.order, &covered, &lids, 0.0) - tried).abs() < 1e-9);
    }

    #[test]
    fn the_cost_is_the_same_in_both_forms(
        items in items(6), rest in 0_u32..5, lids in some_lids(), call in 0_u32..40, drop in 0_usize..6
    ) {
        let covered = scaled(&items, rest, lids.len());
        let order: Vec<usize> = (0..items.len()).rev().skip(drop).collect();
        let call = f64::from(call);
        let got = cost_of(&order, &covered, &lids, Some(call));
        prop_assert!((got - completion(&order, &covered, &lids, call)).abs() < 1e-9);
    }

    #[test]
    fn grouped_is_the_best_partition(
        items in items(5), rest in 0_u32..5, lids in some_lids(), test in 0_u32..6
    ) {
        let covered = scaled(&items, rest, lids.len());
        let test = f64::from(test);
        let partitions = ordered_partitions(items.len());
        let mut costs = Vec::new();
        for closed in [Closed::StaysOpen, Closed::BackBeforeTest] {
            let best = grouped(&covered, &lids, test, closed).unwrap();
            let cost = |groups: &Vec<Vec<usize>>| groups_cost(groups, &covered, &lids, test, closed);
            let tried = least(partitions.iter().map(cost));
            prop_assert!((best.minutes - tried).abs() < 1e-9, "{best:?}, not {tried}");
            prop_assert!((cost(&best.groups) - tried).abs() < 1e-9);
            costs.push(best.minutes);
        }
        prop_assert!(costs[0] <= costs[1] + 1e-9, "closing again can't be cheaper");
    }

    #[test]
    fn inspect_then_repair_is_the_best_order(
        parts in prop::collection::vec((1_u32..7, 1_u32..7, 0_u32..30), 1..=6)
    ) {
        let total: u32 = parts.iter().map(|(weight, _, _)| weight).sum();
        let parts: Vec<_> = parts.iter().map(|(weight, look, repair)| Inspect {
            p: f64::from(*weight) / f64::from(total),
            look: f64::from(*look),
            repair: f64::from(*repair),
        }).collect();
        // The other form: until a part is found, every look so far; then its repair.
        let cost = |order: &Vec<usize>| {
            let mut clock = 0.0;
            order.iter().map(|at| {
                clock += parts[*at].look;
                parts[*at].p * (clock + parts[*at].repair)
            }).sum::<f64>()
        };
        let best = inspect_then_repair(&parts);
        let tried = least(orders(parts.len()).iter().map(cost));
        prop_assert!((best.minutes - tried).abs() < 1e-9, "{best:?}, not {tried}");
        prop_assert!((cost(&best.order) - tried).abs() < 1e-9);
    }

    #[test]
    fn a_question_is_worth_the_best_act_for_each_answer(
        weights in prop::collection::vec(1_u32..9, 3),
        costs in prop::collection::vec(prop::collection::vec(-20_i32..20, 3), 1..=3),
        yes in prop::collection::vec(0_u32..=10, 3),
    ) {
        let total = f64::from(weights.iter().sum::<u32>());
        let p: Vec<f64> = weights.iter().map(|weight| f64::from(*weight) / total).collect();
        let raw: Vec<f64> = weights.iter().map(|weight| f64::from(*weight)).collect();
        let costs: Vec<Vec<f64>> = costs.iter().map(|act| act.iter().map(|cost| f64::from(*cost)).collect()).collect();
        let yes: Vec<f64> = yes.iter().map(|tenth| f64::from(*tenth) / 10.0).collect();
        let no: Vec<f64> = yes.iter().map(|likely| 1.0 - likely).collect();
        // Every rule what to do on yes and what on no.
        let rule = |on_yes: &Vec<f64>, on_no: &Vec<f64>| -> f64 {
            (0..3).map(|at| p[at] * (yes[at] * on_yes[at] + no[at] * on_no[at])).sum()
        };
        let with = least(costs.iter().flat_map(|one| costs.iter().map(move |other| (one, other))).map(|(a, b)| rule(a, b)));
        let without = least(costs.iter().map(|act| rule(act, act)));
        let worth = worth_of_question(&raw, &costs, &[yes.clone(), no.clone()]);
        prop_assert!((worth.with - with).abs() < 1e-9 && (worth.without - without).abs() < 1e-9, "{worth:?}");
        prop_assert!((worth.value - (without - with)).abs() < 1e-9);
        prop_assert!(worth.value >= 0.0);
    }

    #[test]
    fn ties_go_to_the_one_that_stands_first(n in 1_usize..9, p in 0.01..0.1_f64, minutes in 0.1..50.0_f64) {
        // The same efficiency, but for the last digits.
        let actions: Vec<_> = (1_u32..).take(n).map(|times| Action {
            p: p * f64::from(times),
            minutes: minutes * f64::from(times),
        }).collect();
        prop_assert_eq!(p_over_c(&actions).order, (0..n).collect::<Vec<_>>());
        let covered: Vec<_> = actions.iter().map(|one| Covered { p: one.p, minutes: one.minutes, cover: None }).collect();
        prop_assert_eq!(cover_tree(&covered, &[]).order, (0..n).collect::<Vec<_>>());
    }

    #[test]
    fn no_numbers_break_them(
        items in prop::collection::vec((any_number(), any_number(), 0_usize..6), 0..8),
        of_lids in prop::collection::vec((any_number(), prop::option::of(0_usize..6)), 0..5),
        extra in any_number(),
    ) {
        let covered: Vec<_> =
            items.iter().map(|(p, minutes, cover)| Covered { p: *p, minutes: *minutes, cover: cover.checked_sub(1) }).collect();
        // Lids may stand inside themselves, or inside one that isn't there.
        let lids: Vec<_> = of_lids.iter().map(|(minutes, inside)| Lid { minutes: *minutes, inside: *inside }).collect();
        let actions = plain(&covered);
        let parts: Vec<_> = items.iter().map(|(p, look, _)| Inspect { p: *p, look: *look, repair: extra }).collect();
        let tree = cover_tree(&covered, &lids);
        for ordered in [p_over_c(&actions), tree.clone(), inspect_then_repair(&parts)] {
            prop_assert!(ordered.minutes.is_finite() && ordered.minutes >= 0.0);
            let mut places = ordered.order;
            places.sort_unstable();
            prop_assert_eq!(places, (0..items.len()).collect::<Vec<_>>());
        }
        prop_assert!(with_call(&actions, extra).minutes <= extra.max(0.0));
        prop_assert!(cost_of(&tree.order, &covered, &lids, Some(extra)).is_finite());
        for closed in [Closed::StaysOpen, Closed::BackBeforeTest] {
            let groups = grouped(&covered, &lids, extra, closed).unwrap();
            prop_assert!(groups.minutes.is_finite());
            prop_assert_eq!(groups.groups.concat().len(), items.len());
        }
        let row: Vec<f64> = items.iter().map(|(p, _, _)| *p).collect();
        let other: Vec<f64> = items.iter().map(|(_, minutes, _)| *minutes).collect();
        let worth = worth_of_question(&row, &[other.clone(), row.clone()], &[row.clone(), other]);
        prop_assert!(!worth.value.is_nan() && !worth.with.is_nan() && !worth.without.is_nan(), "{:?}", worth);
    }
}

#[test]
fn too_many_actions_are_not_grouped() {
    let one = Covered { p: 0.05, minutes: 1.0, cover: None };
    assert!(grouped(&[one; GROUPED_UP_TO], &[], 1.0, Closed::StaysOpen).is_some());
    assert!(grouped(&[one; GROUPED_UP_TO + 1], &[], 1.0, Closed::StaysOpen).is_none());
}
