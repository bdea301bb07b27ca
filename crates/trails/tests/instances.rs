//! The published special cases: check instances with every number that is known of them, and
//! random ones against trying everything.
//!
//! Check values: exact fractions by exhaustive search; definitions after Breese & Heckerman
//! 1996 (arXiv 1302.3563), Ottosen & Jensen 2010 (arXiv 1203.3502). T5's and T10's plans with
//! questions stand with the dynamic programming.

#![expect(clippy::unwrap_used, reason = "a test that can't go on has failed")]

mod common;
#[path = "instances/every.rs"]
mod every;
#[path = "instances/laws.rs"]
mod laws;
#[path = "instances/rows.rs"]
mod rows;

use common::{model, yes_no};
use every::{ordered_partitions, orders, subsets};
use rows::Rows;
use trails::belief::{Belief, Seen};
use trails::classic::{
    Action, Closed, Covered, Inspect, Lid, cost_of, cover_tree, grouped, inspect_then_repair, p_over_c,
    with_call, worth_of_question,
};

fn in_the_open(actions: &[Action]) -> Vec<Covered> {
    actions.iter().map(|one| Covered { p: one.p, minutes: one.minutes, cover: None }).collect()
}

fn actions<const N: usize>(of: [(f64, f64); N]) -> Vec<Action> {
    of.map(|(p, minutes)| Action { p, minutes }).to_vec()
}

fn covered<const N: usize>(of: [(f64, f64, Option<usize>); N]) -> Vec<Covered> {
    of.map(|(p, minutes, cover)| Covered { p, minutes, cover }).to_vec()
}

fn lids<const N: usize>(of: [(f64, Option<usize>); N]) -> Vec<Lid> {
    of.map(|(minutes, inside)| Lid { minutes, inside }).to_vec()
}

/// Places as letters, `A` or `a` the first.
fn letters(order: &[usize], first: char) -> String {
    order.iter().map(|at| char::from(first as u8 + u8::try_from(*at).unwrap())).collect()
}

/// Letters as places.
fn places(letters: &str) -> Vec<usize> {
    letters.bytes().map(|one| usize::from(one.to_ascii_lowercase() - b'a')).collect()
}

/// All orders with their expected minutes by [`cost_of`], the best first.
fn ranked(
    actions: &[Covered],
    lids: &[Lid],
    call: Option<f64>,
    of: Vec<Vec<usize>>,
) -> Vec<(f64, Vec<usize>)> {
    let mut all: Vec<_> = of.into_iter().map(|order| (cost_of(&order, actions, lids, call), order)).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    all
}

#[test]
fn independent_t1() {
    let mut rows = Rows::default();
    let t1 = actions([(0.40, 6.0), (0.25, 2.0), (0.15, 3.0), (0.12, 1.0), (0.08, 4.0)]);
    let open = in_the_open(&t1);
    let best = p_over_c(&t1);
    rows.words("T1 optimal", &letters(&best.order, 'A'), "BDACE");
    rows.minutes("T1 optimal", best.minutes, 7.540_000);
    let all = ranked(&open, &[], None, orders(5));
    for (what, at, order, minutes) in [
        ("T1 optimal by trying all", 0, "BDACE", 7.540_000),
        ("T1 next", 1, "DBACE", 7.550_000),
        ("T1 worst", all.len() - 1, "ECADB", 12.250_000),
    ] {
        rows.words(what, &letters(&all[at].1, 'A'), order);
        rows.minutes(what, all[at].0, minutes);
    }
    for (what, order, minutes) in
        [("T1 cheapest first", "DBCEA", 8.970_000), ("T1 likeliest first", "ABCDE", 8.770_000)]
    {
        rows.minutes(what, cost_of(&places(order), &open, &[], None), minutes);
    }
    rows.end();
}

#[test]
fn call_t2() {
    let mut rows = Rows::default();
    let t2 = actions([(0.30, 5.0), (0.25, 10.0), (0.15, 4.0), (0.10, 20.0), (0.05, 12.0)]);
    let open = in_the_open(&t2);
    rows.words("T2 by p/C", &letters(&p_over_c(&t2).order, 'A'), "ACBDE");
    for (prefix, minutes, unsolved) in [
        ("", 40.000_000, 1.00),
        ("A", 33.000_000, 0.70),
        ("AC", 29.800_000, 0.55),
        ("ACB", 25.300_000, 0.30),
        ("ACBD", 27.300_000, 0.20),
        ("ACBDE", 27.700_000, 0.15),
    ] {
        let prefix_of = places(prefix);
        let got = cost_of(&prefix_of, &open, &[], Some(40.0));
        rows.minutes(&format!("T2 prefix {prefix}"), got, minutes);
        // A call of no minutes leaves what the actions cost: the difference is the call's.
        let called = (got - cost_of(&prefix_of, &open, &[], None)) / 40.0;
        rows.minutes(&format!("T2 unsolved after {prefix}"), called, unsolved);
    }
    let best = with_call(&t2, 40.0);
    rows.words("T2 best", &letters(&best.order, 'A'), "ACB");
    rows.minutes("T2 best", best.minutes, 25.300_000);
    let all = ranked(&open, &[], Some(40.0), subsets(5));
    rows.words("T2 ordered subsets", &all.len().to_string(), "326");
    for (at, order, minutes) in [(0, "ACB", 25.300_000), (1, "CAB", 25.750_000), (2, "ABC", 25.800_000)] {
        rows.words(&format!("T2 place {at}"), &letters(&all[at].1, 'A'), order);
        rows.minutes(&format!("T2 place {at}"), all[at].0, minutes);
    }
    rows.end();
}

#[test]
fn two_pay_where_one_does_not_t2b() {
    let mut rows = Rows::default();
    let t2b = actions([(0.5, 5.2), (0.5, 5.2)]);
    let open = in_the_open(&t2b);
    for (order, minutes) in [("", 10.000_000), ("A", 10.200_000), ("AB", 7.800_000)] {
        rows.minutes(&format!("T2b {order}"), cost_of(&places(order), &open, &[], Some(10.0)), minutes);
    }
    let best = with_call(&t2b, 10.0);
    rows.words("T2b best", &letters(&best.order, 'A'), "AB");
    rows.minutes("T2b best", best.minutes, 7.800_000);
    rows.end();
}

#[test]
fn covers_side_by_side_t3() {
    let mut rows = Rows::default();
    let t3 = covered([
        (0.20, 4.0, None),
        (0.10, 3.0, None),
        (0.22, 2.0, Some(0)),
        (0.18, 2.0, Some(0)),
        (0.16, 1.0, Some(1)),
        (0.14, 5.0, Some(1)),
    ]);
    let lids = lids([(5.0, None), (3.0, None)]);
    let best = cover_tree(&t3, &lids);
    rows.words("T3 optimal", &letters(&best.order, 'a'), "acdebf");
    rows.minutes("T3 optimal", best.minutes, 13.780_000);
    let all = ranked(&t3, &lids, None, orders(6));
    for (what, at, order, minutes) in [
        ("T3 optimal by trying all", 0, "acdebf", 13.780_000),
        ("T3 next", 1, "acdbef", 13.860_000),
        ("T3 worst", all.len() - 1, "fdbace", 19.300_000),
    ] {
        rows.words(what, &letters(&all[at].1, 'a'), order);
        rows.minutes(what, all[at].0, minutes);
    }
    for (what, order, minutes) in [
        ("T3 whole cover charged to the first", "aebcdf", 14.240_000),
        ("T3 covers ignored", "ecdabf", 14.300_000),
    ] {
        rows.minutes(what, cost_of(&places(order), &t3, &lids, None), minutes);
    }
    let ignored: Vec<_> = t3.iter().map(|one| Action { p: one.p, minutes: one.minutes }).collect();
    rows.words("T3 covers ignored", &letters(&p_over_c(&ignored).order, 'a'), "ecdabf");
    rows.end();
}

#[test]
fn cover_in_a_cover_t4() {
    let mut rows = Rows::default();
    let t4 = covered([
        (0.15, 2.0, None),
        (0.10, 5.0, None),
        (0.12, 3.0, Some(0)),
        (0.08, 1.0, Some(0)),
        (0.30, 2.0, Some(1)),
        (0.25, 4.0, Some(1)),
    ]);
    let lids = lids([(2.0, None), (6.0, Some(0))]);
    let best = cover_tree(&t4, &lids);
    rows.words("T4 optimal", &letters(&best.order, 'a'), "adefcb");
    rows.minutes("T4 optimal", best.minutes, 13.750_000);
    let all = ranked(&t4, &lids, None, orders(6));
    for (what, at, order, minutes) in [
        ("T4 optimal by trying all", 0, "adefcb", 13.750_000),
        ("T4 next", 1, "adcefb", 13.960_000),
        ("T4 worst", all.len() - 1, "bfcade", 19.790_000),
    ] {
        rows.words(what, &letters(&all[at].1, 'a'), order);
        rows.minutes(what, all[at].0, minutes);
    }
    for (what, order, minutes) in [
        ("T4 whole cover charged to the first", "aedfcb", 14.090_000),
        ("T4 covers ignored", "edafcb", 14.980_000),
    ] {
        rows.minutes(what, cost_of(&places(order), &t4, &lids, None), minutes);
    }
    let ignored: Vec<_> = t4.iter().map(|one| Action { p: one.p, minutes: one.minutes }).collect();
    rows.words("T4 covers ignored", &letters(&p_over_c(&ignored).order, 'a'), "edafcb");
    rows.end();
}

/// One question, then the best order: its parts for T5 and T5b.
struct Asked {
    chance: f64,
    posterior: Vec<f64>,
    order: String,
    minutes: f64,
}

const QUESTION: usize = 4;

/// `A1`–`A4` mend one fault each; the question is the last step.
fn question(priors: [f64; 4], minutes: [f64; 4], ask: f64, yes: [f64; 4]) -> trails::model::Model {
    let keys = ["A1", "A2", "A3", "A4"];
    let mends: Vec<_> = (0..4).map(|at| (keys[at], minutes[at], vec![(at, 1.0)], None)).collect();
    let rows = yes_no(&yes.into_iter().chain([0.5]).collect::<Vec<_>>());
    model(&priors, 0.0, &mends, &[("Q", ask, rows)], &[], None)
}

fn order_of(belief: &Belief, minutes: [f64; 4]) -> (String, f64) {
    let actions: Vec<_> =
        minutes.iter().zip(&belief.singles).map(|(minutes, p)| Action { p: *p, minutes: *minutes }).collect();
    let best = p_over_c(&actions);
    (best.order.iter().map(|at| (at + 1).to_string()).collect(), best.minutes)
}

fn asked(model: &trails::model::Model, before: &Belief, minutes: [f64; 4]) -> Vec<Asked> {
    let rows = &model.steps[QUESTION].as_check().unwrap().likelihood;
    let branch = |answer: usize| {
        let mut belief = before.clone();
        belief.see(model, &Seen::Answer { step: QUESTION, answer });
        let chance = rows[answer].iter().zip(&before.singles).map(|(l, p)| l * p).sum();
        let (order, minutes) = order_of(&belief, minutes);
        Asked { chance, posterior: belief.singles, order, minutes }
    };
    (0..2).map(branch).collect()
}

/// ECO: the question, then the best order after its answer.
fn eco(ask: f64, branches: &[Asked]) -> f64 {
    ask + branches.iter().map(|branch| branch.chance * branch.minutes).sum::<f64>()
}

#[test]
fn one_question_t5() {
    let mut rows = Rows::default();
    let minutes = [8.0, 5.0, 6.0, 10.0];
    let model = question([0.35, 0.30, 0.20, 0.15], minutes, 1.0, [0.95, 0.10, 0.50, 0.10]);
    let prior = Belief::prior(&model);
    let (order, plain) = order_of(&prior, minutes);
    rows.words("T5 no question", &order, "2134");
    rows.minutes("T5 no question", plain, 14.200_000);
    let branches = asked(&model, &prior, minutes);
    let want = [
        (0.477_500, [0.696_335, 0.062_827, 0.209_424, 0.031_414], "1324", 10.607_330),
        (0.522_500, [0.033_493, 0.516_746, 0.191_388, 0.258_373], "2341", 11.086_124),
    ];
    for (answer, (branch, (chance, posterior, order, minutes))) in branches.iter().zip(want).enumerate() {
        let what = format!("T5 answer {answer}");
        rows.minutes(&what, branch.chance, chance);
        for (got, want) in branch.posterior.iter().zip(posterior) {
            rows.minutes(&what, *got, want);
        }
        rows.words(&what, &branch.order, order);
        rows.minutes(&what, branch.minutes, minutes);
    }
    rows.minutes("T5 ECO", eco(1.0, &branches), 11.857_500);
    rows.minutes("T5 value", plain - eco(0.0, &branches), 3.342_500);
    rows.minutes("T5 net gain", plain - eco(1.0, &branches), 2.342_500);
    rows.end();
}

#[test]
fn looking_two_steps_ahead_t5b() {
    let mut rows = Rows::default();
    let minutes = [4.0, 9.0, 11.0, 8.0];
    let model = question([0.50, 0.20, 0.15, 0.15], minutes, 2.0, [0.20, 0.05, 0.95, 0.05]);
    let prior = Belief::prior(&model);
    let (order, plain) = order_of(&prior, minutes);
    rows.words("T5b no question", &order, "1243");
    rows.minutes("T5b no question", plain, 12.550_000);
    let branches = asked(&model, &prior, minutes);
    let want = [(0.26, "1324", 11.605_769), (0.74, "1243", 9.868_243)];
    for (answer, (branch, (chance, order, minutes))) in branches.iter().zip(want).enumerate() {
        let what = format!("T5b ask now, answer {answer}");
        rows.minutes(&what, branch.chance, chance);
        rows.words(&what, &branch.order, order);
        rows.minutes(&what, branch.minutes, minutes);
    }
    rows.minutes("T5b ask now", eco(2.0, &branches), 12.320_000);
    for (step, want) in [11.320_000, 16.250_000, 18.750_000, 16.200_000].into_iter().enumerate() {
        let mut failed = prior.clone();
        failed.see(&model, &Seen::Failed { step });
        let ecr = order_of(&failed, minutes).1;
        let branches = asked(&model, &failed, minutes);
        let asking = eco(2.0, &branches);
        if step == 0 {
            rows.minutes("T5b after A1, ECR", ecr, 17.100_000);
            rows.minutes("T5b after A1, ECO", asking, 14.640_000);
            // The last of each order has no chance left: it stands there for nothing.
            rows.words("T5b after A1, yes", branches[0].order.trim_end_matches('1'), "324");
            rows.words("T5b after A1, no", branches[1].order.trim_end_matches('1'), "243");
        }
        let ahead = minutes[step] + (1.0 - prior.singles[step]) * ecr.min(asking);
        rows.minutes(&format!("T5b L(A{})", step + 1), ahead, want);
    }
    rows.end();
}

fn grouping(groups: &[Vec<usize>], first: char) -> String {
    groups.iter().map(|group| letters(group, first)).collect::<Vec<_>>().join(" ")
}

/// All ordered partitions with their expected minutes from the definition, the best first.
fn ranked_groups(actions: &[Covered], lids: &[Lid], test: f64, closed: Closed) -> Vec<(f64, String)> {
    let mut all: Vec<_> = ordered_partitions(actions.len())
        .into_iter()
        .map(|groups| (every::groups_cost(&groups, actions, lids, test, closed), grouping(&groups, 'a')))
        .collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    all
}

#[test]
fn separate_test_t7() {
    let mut rows = Rows::default();
    let t7 = covered([(0.4, 2.0, None), (0.3, 1.0, None), (0.2, 3.0, None), (0.1, 4.0, None)]);
    let best = grouped(&t7, &[], 3.0, Closed::StaysOpen).unwrap();
    rows.words("T7 best", &grouping(&best.groups, 'a'), "ab c d");
    rows.minutes("T7 best", best.minutes, 8.500_000);
    let all = ranked_groups(&t7, &[], 3.0, Closed::StaysOpen);
    rows.words("T7 ordered partitions", &all.len().to_string(), "75");
    for (what, at, groups, minutes) in
        [("T7 best by trying all", 0, "ab c d", 8.500_000), ("T7 next", 1, "ab cd", 9.000_000)]
    {
        rows.words(what, &all[at].1, groups);
        rows.minutes(what, all[at].0, minutes);
    }
    let of =
        |groups: &str| all.iter().find(|(_, one)| one == groups).map_or(f64::NAN, |(minutes, _)| *minutes);
    rows.minutes("T7 singles", of("b a c d"), 10.000_000);
    rows.minutes("T7 all in one", of("abcd"), 13.000_000);
    // A test after every action is the same as adding it to each.
    let with_test: Vec<_> = t7.iter().map(|one| Covered { minutes: one.minutes + 3.0, ..*one }).collect();
    rows.minutes("T7 singles", cost_of(&places("bacd"), &with_test, &[], None), 10.000_000);
    rows.end();
}

#[test]
fn cover_back_before_each_test_t8() {
    let mut rows = Rows::default();
    let t8 = covered([(0.25, 2.0, None), (0.20, 4.0, None), (0.30, 2.0, Some(0)), (0.25, 1.0, Some(0))]);
    let lids = lids([(7.0, None)]);
    let inside = cover_tree(&t8, &lids);
    rows.words("T8 inside information", &letters(&inside.order, 'a'), "adcb");
    rows.minutes("T8 inside information", inside.minutes, 9.800_000);
    let stays = grouped(&t8, &lids, 0.0, Closed::StaysOpen).unwrap();
    rows.minutes("T8 inside information, grouped", stays.minutes, 9.800_000);
    let back = grouped(&t8, &lids, 0.0, Closed::BackBeforeTest).unwrap();
    rows.words("T8 must close", &grouping(&back.groups, 'a'), "a cd b");
    rows.minutes("T8 must close", back.minutes, 10.300_000);
    let all = ranked_groups(&t8, &lids, 0.0, Closed::BackBeforeTest);
    for (what, at, groups, minutes) in [
        ("T8 must close by trying all", 0, "a cd b", 10.300_000),
        ("T8 must close, next", 1, "a b cd", 10.500_000),
    ] {
        rows.words(what, &all[at].1, groups);
        rows.minutes(what, all[at].0, minutes);
    }
    let single: Vec<_> = t8
        .iter()
        .map(|one| Action { p: one.p, minutes: one.minutes + one.cover.map_or(0.0, |lid| lids[lid].minutes) })
        .collect();
    let one_by_one = p_over_c(&single);
    rows.words("T8 one at a time", &letters(&one_by_one.order, 'a'), "abcd");
    rows.minutes("T8 one at a time", one_by_one.minutes, 11.950_000);
    rows.end();
}

#[test]
fn inspect_then_repair_t9() {
    let mut rows = Rows::default();
    let t9 = [(0.5, 4.0, 10.0), (0.3, 1.0, 30.0), (0.2, 2.0, 20.0)].map(|(p, look, repair)| Inspect {
        p,
        look,
        repair,
    });
    let best = inspect_then_repair(&t9);
    rows.words("T9 optimal", &letters(&best.order, 'A'), "BAC");
    rows.minutes("T9 optimal", best.minutes, 22.200_000);
    // Any order: repairs cost the same in each, so they stand apart from the looks.
    let looks: Vec<_> = t9.iter().map(|one| Covered { p: one.p, minutes: one.look, cover: None }).collect();
    let repairs: f64 = t9.iter().map(|one| one.p * one.repair).sum();
    for (order, minutes) in [
        ("BAC", 22.200_000),
        ("BCA", 22.400_000),
        ("CBA", 22.800_000),
        ("ABC", 22.900_000),
        ("ACB", 23.300_000),
        ("CAB", 23.500_000),
    ] {
        rows.minutes(&format!("T9 {order}"), cost_of(&places(order), &looks, &[], None) + repairs, minutes);
    }
    rows.end();
}

/// T10's branches without questions; the plan with the question stands with the dynamic
/// programming.
#[test]
fn covers_and_call_t10() {
    let mut rows = Rows::default();
    let priors = [0.30, 0.25, 0.20, 0.15, 0.10];
    let yes = [0.10, 0.90, 0.80, 0.20, 0.50];
    let lids = lids([(4.0, None), (6.0, None)]);
    let acts = |weights: &[f64]| -> Vec<Covered> {
        let steps = [(2.0, None), (3.0, Some(0)), (2.0, Some(0)), (4.0, Some(1))];
        steps
            .iter()
            .zip(weights)
            .map(|((minutes, cover), p)| Covered { p: *p, minutes: *minutes, cover: *cover })
            .collect()
    };
    let best = |weights: &[f64]| ranked(&acts(weights), &lids, Some(40.0), subsets(4)).swap_remove(0);
    let (minutes, order) = best(&priors);
    rows.words("T10 no question", &letters(&order, 'a'), "acbd");
    rows.minutes("T10 no question", minutes, 14.200_000);
    let mut expected = 0.5;
    for (what, likely, chance, posterior, order, minutes) in [
        ("T10 yes", yes, 0.495, [0.060_606, 0.454_545, 0.323_232, 0.060_606, 0.101_010], "cbad", 14.131_313),
        (
            "T10 no",
            yes.map(|one| 1.0 - one),
            0.505,
            [0.534_653, 0.049_505, 0.079_208, 0.237_624, 0.099_010],
            "adcb",
            12.425_743,
        ),
    ] {
        let rows_of = vec![likely.to_vec(), likely.iter().map(|one| 1.0 - one).collect()];
        let model = model(&priors[..4], priors[4], &[], &[("Q", 0.5, rows_of)], &[], None);
        let mut belief = Belief::prior(&model);
        let got: f64 = belief.singles.iter().zip(likely).map(|(p, l)| p * l).sum();
        rows.minutes(what, got, chance);
        belief.see(&model, &Seen::Answer { step: 0, answer: 0 });
        for (got, want) in belief.singles.iter().zip(posterior) {
            rows.minutes(what, *got, want);
        }
        let (cost, best) = best(&belief.singles);
        rows.words(what, &letters(&best, 'a'), order);
        rows.minutes(what, cost, minutes);
        expected += got * cost;
    }
    rows.minutes("T10 optimum", expected, 13.770_000);
    rows.end();
}

/// Inputs from a used-car exercise in a public textbook exercise set, adapted from Pearl 1988;
/// answers computed in exact fractions.
#[test]
fn worth_of_a_test_v1() {
    let mut rows = Rows::default();
    let (price, market, repairs) = (1500.0, 2000.0, 700.0);
    let costs = vec![vec![price - market, price + repairs - market], vec![0.0, 0.0]];
    let test = vec![vec![0.8, 0.35], vec![0.2, 0.65]];
    let worth = worth_of_question(&[0.7, 0.3], &costs, &test);
    rows.minutes("V1 gain without test", -worth.without, 290.0);
    rows.minutes("V1 gain with test", -worth.with, 290.0);
    rows.minutes("V1 worth of the test", worth.value, 0.0);
    let model = model(
        &[0.7, 0.3],
        0.0,
        &[],
        &[("test", 50.0, { test.iter().map(|row| row.iter().copied().chain([0.5]).collect()).collect() })],
        &[],
        None,
    );
    for (what, answer, chance, good, gain) in
        [("V1 pass", 0, 0.665, 0.842_105, 389.473_684), ("V1 fail", 1, 0.335, 0.417_910, 92.537_313)]
    {
        let mut belief = Belief::prior(&model);
        rows.minutes(what, test[answer][0] * 0.7 + test[answer][1] * 0.3, chance);
        belief.see(&model, &Seen::Answer { step: 0, answer });
        rows.minutes(what, belief.singles[0], good);
        rows.minutes(what, -worth_of_question(&belief.singles[..2], &costs, &[]).without, gain);
    }
    rows.end();
    assert_eq!(worth.value.to_bits(), 0.0_f64.to_bits(), "no answer changes what is done: exactly 0");
}
