//! The answers of fault trails as JSON: the engine's figures, under keys in a fixed order.
#![expect(clippy::unwrap_used, reason = "a test that can't be set up must stop")]

use register::trail::Outcome;
use serde_json::Value;
use trails::card::tree;
use trails::learn::Counts;
use trails::library;
use trails::planner::Effort;
use trails::solve::solve;
use trails::table::Situation;
use units::Minutes;
use wire::answers::fault::card::Card;
use wire::answers::fault::list::{Symptom, Weights};
use wire::answers::fault::solution::Solution;
use wire::answers::fault::{Closed, Next, Remark};

/// Little work: what the answers hold is the same.
const LIGHT: Effort = Effort { exact_states: 500.0, evaluations: 50 };

fn keys(text: &str, wanted: &[&str]) {
    let places: Vec<Option<usize>> = wanted.iter().map(|key| text.find(&format!("\"{key}\":"))).collect();
    assert!(places.iter().all(Option::is_some), "{wanted:?} {places:?}\n{text}");
    assert!(places.is_sorted(), "{wanted:?} {places:?}\n{text}");
}

/// The same number, but for the last digit that reading JSON may cost.
#[track_caller]
fn same(json: &Value, engine: f64) {
    let read = json.as_f64().unwrap();
    assert!((read - engine).abs() <= 1e-14 * engine.abs(), "{read} {engine}");
}

#[test]
fn a_solution_has_the_engines_figures() {
    let mut solved_some = false;
    for model in library::symptoms() {
        let check = model.steps.iter().find(|step| step.as_check().is_some()).unwrap();
        let answer = check.as_check().unwrap().answers[0].key.clone();
        let found = solve(&model, &[(check.key.clone(), answer)], LIGHT).unwrap();
        let text = serde_json::to_string(&Solution::new(&model, &found)).unwrap();
        keys(
            &text,
            &["model", "history", "before", "weights", "pairs", "contradiction", "spent_minutes", "next"],
        );
        let json: Value = serde_json::from_str(&text).unwrap();
        let advice = found.advice.as_ref().unwrap();
        same(&json["expected_minutes"], advice.best.expected.0);
        assert_eq!(json["exact"].as_bool(), Some(advice.method.exact()));
        assert_eq!(json["method"].as_str(), Some(advice.method.word()));
        let weights = json["weights"].as_array().unwrap();
        assert_eq!(weights.len(), model.hypotheses());
        for (one, engine) in weights.iter().zip(&found.weights) {
            assert_eq!(one["key"].as_str(), Some(engine.key.as_str()));
            same(&one["weight"], engine.weight);
        }
        let answers = json["answers"].as_array().unwrap();
        assert_eq!(json["step"].is_null(), answers.is_empty());
        solved_some |= !answers.is_empty();
        if !answers.is_empty() {
            assert_eq!(answers.last().unwrap()["key"], "cant-tell");
        }
    }
    assert!(solved_some, "no symptom had a next step");
}

#[test]
fn a_card_leads_where_the_tree_leads() {
    let model = library::symptom("no_telemetry").unwrap();
    let found = tree(&model, &Situation::start(&model), 2, LIGHT);
    let json = serde_json::to_value(Card::new(&model, &found, 2, None, Vec::new())).unwrap();
    same(&json["expected_minutes"], found.expected.0);
    assert_eq!(json["steps"].as_u64(), Some(trails::card::size(&found) as u64));
    let branches = json["first"]["branches"].as_array().unwrap();
    assert_eq!(branches.len(), found.branches.len());
    let chances: f64 = branches.iter().map(|one| one["chance"].as_f64().unwrap()).sum();
    assert!((chances - 1.0).abs() < 1e-9, "{chances}");
    let kinds = ["node", "works", "ends"];
    assert!(branches.iter().all(|one| kinds.contains(&one["then"]["kind"].as_str().unwrap())), "{json:#}");
}

#[test]
fn words_in_json_stay() {
    let json = |value: &dyn Fn() -> Value| value().to_string();
    let next = |next: &Next| serde_json::to_value(next).unwrap()["kind"].as_str().unwrap().to_owned();
    assert_eq!(next(&Next::Close), "close");
    assert_eq!(next(&Next::Closed), "closed");
    assert_eq!(next(&Next::Stuck), "stuck");
    assert_eq!(next(&Next::GiveUp { text: "Replace it.".into(), minutes: 60.0 }), "give-up");
    let remark = Remark::TwoFaults { one: "a".into(), other: "b".into(), weight: 0.5 };
    assert_eq!(
        json(&|| serde_json::to_value(&remark).unwrap()),
        r#"{"kind":"two-faults","one":"a","other":"b","weight":0.5}"#
    );
    let closed = register::trail::Closed {
        trail: register::id::EntryId(1),
        symptom: "wont_pair".into(),
        cause: String::new(),
        outcome: Outcome::GaveUp,
        minutes: Minutes(12.345),
    };
    assert_eq!(
        json(&|| serde_json::to_value(Closed::new(&closed)).unwrap()),
        r#"{"cause":null,"minutes":12.35,"outcome":"gave-up"}"#
    );
    let symptom = serde_json::to_string(&Symptom::new(&library::symptoms()[0])).unwrap();
    keys(&symptom, &["key", "name", "about", "causes", "checks", "mends"]);
}

#[test]
fn weights_with_cases_are_shares() {
    let model = library::symptom("wont_pair").unwrap();
    let mut counts = Counts::default();
    for _ in 0..5 {
        counts.add("band");
    }
    let answer = Weights::new(&model, &counts, 20.0);
    assert_eq!(answer.causes.len(), model.hypotheses());
    let sums = [0.0, 0.0];
    let sums = answer.causes.iter().fold(sums, |[a, b], one| [a + one.library, b + one.weight]);
    assert!(sums.iter().all(|sum| (sum - 1.0).abs() < 1e-12), "{sums:?}");
    let band = answer.causes.iter().find(|one| one.key == "band").unwrap();
    // The mean of a Dirichlet posterior: (strength * share + cases) / (strength + all cases).
    assert!((band.weight - (20.0 * band.library + 5.0) / 25.0).abs() < 1e-12, "{band:?}");
    assert_eq!((band.cases, answer.cases), (5, 5));
}
