//! The shipped fault library: every file reads, every cause can be found and mended, every
//! check is worth its minutes, and what is proposed first is what the trade looks at first.
//!
//! Weights, likelihoods and minutes in the library are judgement; these tests hold what must
//! be so whatever the judgement.

use std::collections::{BTreeMap, BTreeSet};

use register::rule::Rule;
use trails::belief::{Belief, Seen};
use trails::library::{shipped, symptom, symptoms};
use trails::model::{Kind, Model, Trait};
use trails::planner::{Choice, Effort, advise};
use trails::policy::{Advised, Ended, evening};
use trails::table::Situation;

/// What no mend can follow: it ends in giving up, with a report.
const GIVE_UP_ONLY: &[(&str, &str)] = &[
    ("wont_pair", "receiver_dead"),
    ("nothing_moves", "outputs_dead"),
    ("wrong_aircraft", "identity_stuck"),
];

/// The answers of a lamp check; a family file puts its own patterns in their place.
const LAMP: [&str; 8] = ["off", "waiting", "pairing", "settings", "linked", "refused", "update", "other"];

/// Evenings simulated for each cause.
const EVENINGS: u64 = 12;

/// How much the planner reckons for one step of an evening: less than for a person, who asks
/// for one step at a time.
const EVALUATIONS: usize = 2_000;

fn give_up_only(model: &Model, cause: &str) -> bool {
    GIVE_UP_ONLY.contains(&(model.key.as_str(), cause))
}

fn best_cure(model: &Model, cause: usize) -> f64 {
    model.steps.iter().filter_map(|step| step.as_mend()).map(|mend| mend.cures[cause]).fold(0.0, f64::max)
}

#[test]
fn every_shipped_file_reads_and_is_sound() {
    let mut wrong = Vec::new();
    let mut keys = BTreeSet::new();
    assert!(!shipped().is_empty());
    for (origin, text) in shipped() {
        match trails::file::read(origin, text) {
            Ok(model) => {
                if let Err(error) = model.check() {
                    wrong.push(format!("{origin}: {error}"));
                }
                if *origin != format!("{}.toml", model.key) {
                    wrong.push(format!("{origin}: its key is {}", model.key));
                }
                keys.insert(model.key);
            }
            Err(problems) => wrong.extend(problems.iter().map(ToString::to_string)),
        }
        for words in ["judgement, no source", "common practice, no source"] {
            if !text.contains(words) {
                wrong.push(format!("{origin}: doesn't say {words:?} of its figures"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert_eq!(keys.len(), shipped().len(), "two files have one key");
    assert_eq!(symptoms().len(), shipped().len());
}

#[test]
fn every_cause_has_a_mend_or_is_known_to_end_in_giving_up() {
    let mut wrong = Vec::new();
    for model in symptoms() {
        let total: f64 = model.priors().iter().sum();
        for (at, cause) in model.causes.iter().enumerate() {
            let cure = best_cure(&model, at);
            let place = format!("{}, {}", model.key, cause.key);
            if !give_up_only(&model, &cause.key) {
                if cure < 0.5 {
                    wrong.push(format!("{place}: the best mend cures it with {cure}"));
                }
            } else if cure > 0.0 {
                wrong.push(format!("{place}: a mend cures it; it no longer ends in giving up only"));
            } else if cause.weight / total > 0.03 || model.give_up.is_none() {
                wrong.push(format!("{place}: only giving up helps; that may be rare at most"));
            }
        }
    }
    for (key, cause) in GIVE_UP_ONLY {
        if symptom(key).is_none_or(|model| model.cause(cause).is_none()) {
            wrong.push(format!("{key}, {cause}: named by this test, not in the library"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_step_says_how_and_what_good_looks_like() {
    let mut wrong = Vec::new();
    for model in symptoms() {
        for step in &model.steps {
            let place = format!("{}, {}", model.key, step.key);
            if step.how.trim().is_empty() || step.good.trim().is_empty() {
                wrong.push(format!("{place}: no `how` or no `good`"));
            }
            if step.minutes.0 <= 0.0 {
                wrong.push(format!("{place}: nothing takes no time"));
            }
            if let Some(leaves) = &step.leaves
                && (leaves.what.trim().is_empty() || leaves.back.trim().is_empty())
            {
                wrong.push(format!("{place}: what it leaves can't be put back"));
            }
        }
        for key in ["restart", "own_supply", "outputs"] {
            let proof = model.proofs.iter().find(|proof| proof.key == key);
            if proof.is_none_or(|proof| proof.energises.is_empty()) {
                wrong.push(format!(
                    "{}: proof {key} is missing, or says nothing of what it energises",
                    model.key
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn looks_at_both_ends_have_the_answers_that_the_register_can_give() {
    let mut wrong = Vec::new();
    for model in symptoms() {
        for step in &model.steps {
            let Some(check) = step.as_check() else { continue };
            let keys: Vec<&str> = check.answers.iter().map(|answer| answer.key.as_str()).collect();
            if check.rule.is_some() && (keys != ["good", "bad"] || check.field.is_none()) {
                wrong.push(format!(
                    "{}, {}: a rule's look answers good or bad, and names its fact",
                    model.key, step.key
                ));
            }
            if check.lamp && keys != LAMP {
                wrong.push(format!("{}, {}: a lamp's answers are {LAMP:?}", model.key, step.key));
            }
        }
        let mut rules: BTreeMap<Rule, &str> = BTreeMap::new();
        for (at, cause) in model.causes.iter().enumerate() {
            let Some(rule) = cause.rule else { continue };
            if let Some(other) = rules.insert(rule, &cause.key) {
                wrong.push(format!("{}: {} and {other} break one rule", model.key, cause.key));
            }
            // Each failed rule of a verdict is a certain fault, and names its mend.
            let mends = model.steps.iter().filter_map(|step| step.as_mend());
            if !mends.clone().any(|mend| mend.rule == Some(rule) && mend.cures[at] >= 0.5) {
                wrong.push(format!("{}, {}: no mend restores its rule", model.key, cause.key));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_model_id_check_is_switched_off_with_a_caution_and_put_back() {
    let mut seen = 0;
    for key in ["wont_pair", "nothing_moves"] {
        let model = symptom(key).unwrap();
        let at = model.step("model_id_off").unwrap();
        let step = &model.steps[at];
        assert!(step.caution.to_lowercase().contains("propeller"), "{key}: {}", step.caution);
        assert!(step.leaves.as_ref().unwrap().back.contains("on again"), "{key}");
        assert!(step.wants.contains(&Trait::ModelIdOff), "{key}");
        // A quick way: quicker than any mend of the model ID's rule, covers included.
        let quickest = (0..model.steps.len())
            .filter(|at| model.steps[*at].as_mend().is_some_and(|mend| mend.rule == Some(Rule::ModelId)))
            .map(|at| model.minutes_of(at, &[]).0)
            .fold(f64::INFINITY, f64::min);
        assert!(model.minutes_of(at, &[]).0 < quickest, "{key}: {quickest}");
        // And it rules the model ID out.
        let no = step.as_check().unwrap().answers.iter().position(|answer| answer.key == "no").unwrap();
        let belief = Belief::of(&model, &[Seen::Answer { step: at, answer: no }]);
        assert!(belief.of_cause(model.cause("model_id").unwrap()) < 0.01, "{key}");
        seen += 1;
    }
    assert_eq!(seen, 2);
}

#[test]
fn both_secrets_seen_alike_leave_secret_next_to_no_weight() {
    // Common practice, no source: two blank secrets are as good as two equal ones.
    let model = symptom("wont_pair").unwrap();
    let step = model.step("see_secrets").unwrap();
    let good =
        model.steps[step].as_check().unwrap().answers.iter().position(|one| one.key == "good").unwrap();
    let secret = model.cause("secret").unwrap();
    let before = Belief::prior(&model).of_cause(secret);
    let after = Belief::of(&model, &[Seen::Answer { step, answer: good }]).of_cause(secret);
    assert!(before > 0.08 && after < 0.005, "{before} then {after}");
}

/// The step's deed without luck: a look that finds nothing wrong, a mend that doesn't help.
fn nothing_found(model: &Model, seen: &mut Vec<Seen>, situation: &mut Situation, step: usize) {
    seen.push(match &model.steps[step].kind {
        Kind::Check(check) => {
            let usual = ["good", "waiting", "no"];
            let answer =
                check.answers.iter().position(|answer| usual.contains(&answer.key.as_str())).unwrap_or(0);
            Seen::Answer { step, answer }
        }
        Kind::Mend(_) => Seen::Failed { step },
    });
    for cover in model.covers_for(step) {
        situation.open[cover] = true;
    }
    situation.done[step] = true;
    situation.belief = Belief::of(model, seen);
}

#[test]
fn with_nothing_known_the_first_proposals_are_what_the_trade_looks_at_first() {
    // Common practice, no source: band, secret, major version, model-ID check and pair mode
    // come before anything else when a receiver won't pair.
    let first = [
        "see_bands",
        "same_band",
        "see_secrets",
        "same_secret",
        "clear_secrets",
        "see_versions",
        "same_version",
        "see_model_ids",
        "model_id_off",
        "set_model_id",
        "pair_by_the_book",
        "pair_in_time",
    ];
    let model = symptom("wont_pair").unwrap();
    for effort in [Effort::default(), Effort::look_ahead()] {
        let mut situation = Situation::start(&model);
        let mut seen = Vec::new();
        let mut proposed = Vec::new();
        for _ in 0..3 {
            let advice = advise(&model, &situation, effort);
            let Choice::Do(step) = advice.best.choice else { break };
            proposed.push(model.steps[step].key.clone());
            nothing_found(&model, &mut seen, &mut situation, step);
        }
        assert_eq!(proposed.len(), 3, "{proposed:?}");
        assert!(proposed.iter().all(|key| first.contains(&key.as_str())), "{proposed:?}");
    }
}

/// Numbers in 0..1 from a seed: a 64-bit linear congruential generator (Knuth's MMIX
/// constants), its upper 53 bits.
fn draws(seed: u64) -> impl FnMut() -> f64 {
    let mut state = seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0xD1B5_4A32_D192_ED03;
    move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        #[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
        let whole = (state >> 11) as f64;
        whole / 9_007_199_254_740_992.0
    }
}

/// What a symptom's evenings show that mustn't be.
fn offenders(model: &Model) -> Vec<String> {
    let mut wrong = Vec::new();
    let mut policy = Advised::new(Effort { evaluations: EVALUATIONS, ..Effort::look_ahead() });
    let mut chosen = vec![0_u32; model.steps.len()];
    for (truth, cause) in model.causes.iter().enumerate() {
        let mut cured = 0;
        for seed in 0..EVENINGS {
            let mut draw = draws(seed * 1_000 + truth as u64);
            let evening = evening(model, &Situation::start(model), truth, &mut policy, &mut draw);
            evening.steps.iter().for_each(|(step, ..)| chosen[*step] += 1);
            cured += u64::from(matches!(evening.ended, Ended::Cured(_)));
        }
        if give_up_only(model, &cause.key) {
            if cured > 0 {
                wrong.push(format!("{}, {}: cured, though only giving up helps", model.key, cause.key));
            }
        } else if 2 * cured <= EVENINGS {
            wrong.push(format!("{}, {}: cured in {cured} of {EVENINGS} evenings", model.key, cause.key));
        }
    }
    for (step, count) in model.steps.iter().zip(&chosen) {
        if step.as_check().is_some() && *count == 0 {
            wrong.push(format!("{}, {}: a check that is never chosen", model.key, step.key));
        }
    }
    wrong
}

#[test]
fn every_cause_is_cured_in_most_of_its_evenings_and_every_check_is_chosen() {
    let models = symptoms();
    assert!(!models.is_empty());
    let wrong: Vec<String> = models.iter().flat_map(offenders).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
