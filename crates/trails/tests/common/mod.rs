//! A small fault model in a line, for tests.
#![allow(dead_code, reason = "no test file uses all of it")]

use trails::model::{Answer, Cause, Check, Cover, GiveUp, Kind, Mend, Model, Step};
use units::Minutes;

/// `(key, minutes, which causes it cures and how likely, the cover it needs)`.
pub type MendOf<'a> = (&'a str, f64, Vec<(usize, f64)>, Option<usize>);

/// `(key, minutes, likelihood[answer][hypothesis], unlisted last)`.
pub type CheckOf<'a> = (&'a str, f64, Vec<Vec<f64>>);

/// `(opening plus closing, the cover around it)`.
pub type CoverOf = (f64, Option<usize>);

/// A model with the causes `c0`, `c1`, … and the covers `k0`, `k1`, …; its steps are the
/// mends, then the checks. One fault at a time, no cost of a comeback. A place one above the
/// causes is *not in this list*.
pub fn model(
    priors: &[f64],
    unlisted: f64,
    mends: &[MendOf<'_>],
    checks: &[CheckOf<'_>],
    covers: &[CoverOf],
    give_up: Option<f64>,
) -> Model {
    let size = priors.len() + 1;
    let mends = mends.iter().map(|(key, minutes, cures, cover)| {
        let mut mend =
            Mend { cures: vec![0.0; size], seems: vec![0.0; size], watch: String::new(), rule: None };
        for (cause, likely) in cures {
            mend.cures[*cause] = *likely;
        }
        step(key, *minutes, *cover, Kind::Mend(mend))
    });
    let checks = checks.iter().map(|(key, minutes, rows)| {
        let answer = |at| Answer { key: format!("a{at}"), label: format!("Answer {at}") };
        let check = Check {
            answers: (0..rows.len()).map(answer).collect(),
            likelihood: rows.clone(),
            speaks: vec![true; priors.len()],
            rule: None,
            field: None,
            lamp: false,
        };
        step(key, *minutes, None, Kind::Check(check))
    });
    let model = Model {
        key: "test".into(),
        name: "Test".into(),
        about: String::new(),
        causes: priors.iter().enumerate().map(|(at, weight)| cause(at, *weight)).collect(),
        unlisted,
        covers: covers.iter().enumerate().map(|(at, of)| cover(at, *of)).collect(),
        steps: mends.chain(checks).collect(),
        give_up: give_up.map(|minutes| GiveUp { label: "Call it a day".into(), minutes: Minutes(minutes) }),
        second: 0.0,
        comeback: Minutes(0.0),
        proofs: Vec::new(),
    };
    model.check().expect("a sound model");
    model
}

/// The two rows of a yes-or-no check: `yes` for each hypothesis, and the rest.
pub fn yes_no(yes: &[f64]) -> Vec<Vec<f64>> {
    vec![yes.to_vec(), yes.iter().map(|likely| 1.0 - likely).collect()]
}

fn step(key: &str, minutes: f64, cover: Option<usize>, kind: Kind) -> Step {
    Step {
        key: key.into(),
        label: key.into(),
        how: String::new(),
        good: String::new(),
        minutes: Minutes(minutes),
        needs: cover.into_iter().collect(),
        energises: Vec::new(),
        caution: String::new(),
        wants: Vec::new(),
        leaves: None,
        kind,
    }
}

fn cause(at: usize, weight: f64) -> Cause {
    Cause { key: format!("c{at}"), label: format!("Cause {at}"), weight, rule: None, wants: Vec::new() }
}

fn cover(at: usize, (minutes, inside): CoverOf) -> Cover {
    Cover {
        key: format!("k{at}"),
        label: format!("cover {at}"),
        inside,
        open: Minutes(minutes / 2.0),
        close: Minutes(minutes / 2.0),
        wants: Vec::new(),
    }
}
