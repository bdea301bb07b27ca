//! Random models against trying everything, and against the published special cases.

use proptest::prelude::*;
use units::Minutes;

use super::Stand;
use super::common::{MendOf, model, yes_no};
use crate::belief::Belief;
use crate::classic;
use crate::dynamic::states;
use crate::model::{Kind, Model};
use crate::table::{Situation, Table};

/// Expected minutes of the best plan, by trying every plan: chances are divided out at each
/// step, nothing is remembered, and the model is read as it stands.
fn every_plan(model: &Model, chances: &[f64], done: &mut [bool], open: &[bool]) -> f64 {
    let mut best = model.give_up.as_ref().map_or(f64::INFINITY, |give_up| give_up.minutes.0);
    let cures = |step: usize| {
        model.steps[step].as_mend().is_some_and(|mend| {
            mend.cures.iter().zip(chances).map(|(cure, chance)| cure * chance).sum::<f64>() > 1e-11
        })
    };
    if !(0..model.steps.len()).any(|step| !done[step] && cures(step)) {
        return if best.is_finite() { best } else { 0.0 };
    }
    for step in 0..model.steps.len() {
        if done[step] {
            continue;
        }
        let mut opened = open.to_vec();
        for cover in model.covers_for(step) {
            opened[cover] = true;
        }
        let mut cost = model.minutes_of(step, open).0;
        let outcomes: Vec<Vec<f64>> = match &model.steps[step].kind {
            Kind::Mend(_) if !cures(step) => continue,
            Kind::Mend(mend) => {
                let fate = || chances.iter().zip(&mend.cures).zip(&mend.seems);
                let hidden: f64 = fate().map(|((chance, c), s)| chance * (1.0 - c) * s).sum();
                cost += hidden * model.comeback.0;
                vec![fate().map(|((chance, c), s)| chance * (1.0 - c) * (1.0 - s)).collect()]
            }
            Kind::Check(check) => check
                .likelihood
                .iter()
                .map(|row| row.iter().zip(chances).map(|(likely, chance)| likely * chance).collect())
                .collect(),
        };
        done[step] = true;
        for joint in outcomes {
            let likely: f64 = joint.iter().sum();
            if likely > 0.0 {
                let after: Vec<f64> = joint.iter().map(|one| one / likely).collect();
                cost += likely * every_plan(model, &after, done, &opened);
            }
        }
        done[step] = false;
        best = best.min(cost);
    }
    best
}

/// Expected minutes of the best order of mends that may each cure several causes, from the
/// last set of failed mends to the first: every set, nothing skipped.
fn every_set(model: &Model, call: f64) -> f64 {
    let chances = Belief::prior(model).singles;
    let n = model.steps.len();
    let mut to_come = vec![0.0; 1 << n];
    for set in (0..1_usize << n).rev() {
        let done = |step: usize| set & (1 << step) != 0;
        let mut left = chances.clone();
        let mut open = vec![false; model.covers.len()];
        for step in (0..n).filter(|step| done(*step)) {
            for (left, cure) in left.iter_mut().zip(&model.steps[step].as_mend().unwrap().cures) {
                *left *= 1.0 - cure;
            }
            model.covers_for(step).into_iter().for_each(|cover| open[cover] = true);
        }
        let unsolved: f64 = left.iter().sum();
        let begin = |step: usize| model.minutes_of(step, &open).0 * unsolved + to_come[set | (1 << step)];
        to_come[set] = (0..n).filter(|step| !done(*step)).map(begin).fold(call * unsolved, f64::min);
    }
    to_come[0]
}

prop_compose! {
    fn small_models()(
        weights in prop::collection::vec(0_u32..9, 3),
        unlisted in 0_u32..4,
        mends in prop::collection::vec(
            (1_u32..12, prop::collection::vec((0_u32..5, 0_u32..3), 4), 0_usize..4), 1..=3),
        checks in prop::collection::vec((0_u32..4, prop::collection::vec(0_u32..=10, 4)), 0..=2),
        covers in (1_u32..9, 1_u32..9, prop::bool::ANY),
        give_up in prop::option::of(5_u32..40),
        comeback in 0_u32..30,
    ) -> Model {
        let keys = ["A", "B", "C"];
        let laid: Vec<_> = mends.iter().zip(keys).map(|((minutes, cures, cover), key)| {
            let cures = cures.iter().enumerate().map(|(at, (c, _))| (at, f64::from(*c) / 4.0)).collect();
            // A third stands in the open, the others under one of the two covers.
            (key, f64::from(*minutes), cures, cover.checked_sub(1).map(|one| one % 2))
        }).collect();
        let checks: Vec<_> = checks.iter().zip(["Q", "R"]).map(|((minutes, yes), key)| {
            let yes: Vec<f64> = yes.iter().map(|tenth| f64::from(*tenth) / 10.0).collect();
            (key, f64::from(*minutes), yes_no(&yes))
        }).collect();
        let mut priors: Vec<f64> = weights.iter().map(|weight| f64::from(*weight)).collect();
        if priors.iter().sum::<f64>() <= 0.0 {
            priors[0] = 1.0;
        }
        let (first, second, nested) = covers;
        let covers = [(f64::from(first), None), (f64::from(second), nested.then_some(0))];
        let mut model =
            model(&priors, f64::from(unlisted), &laid, &checks, &covers, give_up.map(f64::from));
        model.comeback = Minutes(f64::from(comeback));
        for (step, (_, cures, _)) in mends.iter().enumerate() {
            if let Kind::Mend(mend) = &mut model.steps[step].kind {
                mend.seems = cures.iter().map(|(_, seems)| f64::from(*seems) / 4.0).collect();
            }
        }
        model
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    #[test]
    fn as_good_as_every_plan(model in small_models()) {
        let stand = Stand::start(&model);
        let open = vec![false; model.covers.len()];
        let mut done = vec![false; model.steps.len()];
        let want = every_plan(&model, &Belief::prior(&model).singles, &mut done, &open);
        let got = stand.solve();
        prop_assert!((got.minutes - want).abs() < 1e-7, "{got:?}, not {want}");
        for (choice, minutes) in &got.ranked {
            prop_assert!(minutes.is_finite() && *minutes >= want - 1e-7, "{choice:?} {minutes}");
        }
    }

    #[test]
    fn a_check_more_never_costs(model in small_models()) {
        let with = Stand::start(&model).solve().minutes;
        let mut stand = Stand::start(&model);
        for (step, done) in stand.situation.done.iter_mut().enumerate() {
            *done = model.steps[step].as_check().is_some();
        }
        prop_assert!(with <= stand.solve().minutes + 1e-9);
    }

    /// Without questions, with disjoint mends, it is the published special cases.
    #[test]
    fn as_the_special_cases(
        mends in prop::collection::vec((1_u32..9, 1_u32..9, 0_usize..3), 1..=6),
        covers in (1_u32..9, 1_u32..9, prop::bool::ANY),
        call in 5_u32..40,
    ) {
        let total: u32 = mends.iter().map(|(weight, _, _)| weight).sum();
        let p = |weight: u32| f64::from(weight) / f64::from(total + 3);
        let priors: Vec<f64> = mends.iter().map(|(weight, _, _)| p(*weight)).collect();
        let keys = ["A", "B", "C", "D", "E", "F"];
        let laid = |place: fn(usize) -> Option<usize>| -> Vec<MendOf<'_>> {
            let one = |(at, (_, minutes, cover)): (usize, &(u32, u32, usize))| {
                (keys[at], f64::from(*minutes), vec![(at, 1.0)], place(*cover))
            };
            mends.iter().enumerate().map(one).collect()
        };
        let (first, second, nested) = covers;
        let covers = [(f64::from(first), None), (f64::from(second), nested.then_some(0))];

        let covered = model(&priors, p(3), &laid(|cover| cover.checked_sub(1)), &[], &covers, None);
        let actions: Vec<_> = mends.iter().map(|(weight, minutes, cover)| classic::Covered {
            p: p(*weight),
            minutes: f64::from(*minutes),
            cover: cover.checked_sub(1),
        }).collect();
        let lids = covers.map(|(minutes, inside)| classic::Lid { minutes, inside });
        let tree = classic::cover_tree(&actions, &lids).minutes;
        prop_assert!((Stand::start(&covered).solve().minutes - tree).abs() < 1e-9);

        let called = model(&priors, p(3), &laid(|_| None), &[], &[], Some(f64::from(call)));
        let actions: Vec<_> = actions.iter().map(|one| classic::Action { p: one.p, minutes: one.minutes }).collect();
        let prefix = classic::with_call(&actions, f64::from(call)).minutes;
        prop_assert!((Stand::start(&called).solve().minutes - prefix).abs() < 1e-9);
    }

    /// Ten mends that share causes and covers, and somebody to call.
    #[test]
    fn as_good_as_every_set(
        weights in prop::collection::vec(0_u32..9, 6),
        mends in prop::collection::vec(
            (1_u32..9, 0_usize..7, 1_u32..=5, 0_usize..7, 1_u32..=5, 0_usize..3), 10),
        call in 10_u32..100,
    ) {
        let keys: Vec<String> = (0..mends.len()).map(|at| format!("M{at}")).collect();
        let fifth = |of: u32| f64::from(of) / 5.0;
        let laid: Vec<_> = mends.iter().zip(&keys).map(|((minutes, one, p, other, q, cover), key)| {
            let cures = vec![(*one, fifth(*p)), (*other, fifth(*q))];
            (key.as_str(), f64::from(*minutes), cures, cover.checked_sub(1))
        }).collect();
        let priors: Vec<f64> = weights.iter().map(|weight| f64::from(*weight)).collect();
        let covers = [(5.0, None), (3.0, Some(0))];
        let model = model(&priors, 1.0, &laid, &[], &covers, Some(f64::from(call)));
        let want = every_set(&model, f64::from(call));
        let got = Stand::start(&model).solve();
        prop_assert!((got.minutes - want).abs() < 1e-9, "{got:?}, not {want}");
    }

    /// Above the flat list the map of states gives the same.
    #[test]
    fn many_states_are_remembered_alike(seed in 1_u32..1000) {
        let priors: Vec<f64> = (0..3).map(|at| f64::from((seed * (at + 7)) % 11 + 1)).collect();
        let mends = ["A", "B", "C"].map(|key| (key, 2.0, vec![(usize::from(key.as_bytes()[0] - b'A'), 0.9)], None));
        // Fourteen checks: 2^3 · 3^14 states, of which those with a check too many are never
        // visited because nothing is left to tell.
        let tells = |at: usize| yes_no(&(0..4).map(|one| if one == at % 3 { 1.0 } else { 0.0 }).collect::<Vec<_>>());
        let keys: Vec<String> = (0..14).map(|at| format!("Q{at}")).collect();
        let all: Vec<_> = keys.iter().enumerate().map(|(at, key)| (key.as_str(), 0.5, tells(at))).collect();
        let many = model(&priors, 0.0, &mends, &all, &[], None);
        let few = model(&priors, 0.0, &mends, &all[..3], &[], None);
        let situation = Situation::start(&many);
        prop_assert!(states(&Table::new(&many, &situation.belief), &situation) > f64::from(1 << 20));
        let (many, few) = (Stand::start(&many).solve(), Stand::start(&few).solve());
        prop_assert!((many.minutes - few.minutes).abs() < 1e-9, "{} and {}", many.minutes, few.minutes);
    }
}
