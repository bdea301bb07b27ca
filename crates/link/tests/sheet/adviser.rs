//! The adviser keeps exactly the settings that nothing beats.

use link::adviser::{Judged, Respect, Scores, advise, judge_all, unbeaten};
use link::law::Limits;
use link::sheet::Stage;
use proptest::prelude::*;
use units::{Db, Seconds};

use crate::{ask, gear};

fn judged(index: usize, scores: Scores) -> Judged {
    Judged {
        index,
        scores,
        control: 0.0,
        telemetry: None,
        latency: Seconds(0.0),
        latency_p95: Seconds(0.0),
        margin: Db(0.0),
        sensors_fit: None,
        law: None,
        fails: Vec::new(),
    }
}

/// By the definition: every one that no other beats.
fn brute(judged: &[Judged]) -> Vec<usize> {
    let beaten = |one: &Judged| judged.iter().any(|other| other.scores.beats(&one.scores));
    judged.iter().filter(|one| !beaten(one)).map(|one| one.index).collect()
}

fn scores() -> impl Strategy<Value = Scores> {
    // Few values, so that ties and dominations abound.
    (0..6i64, 0..4i64, 0..6i64, 0..3i64, 0..5i64, 0..3i64).prop_map(
        |(control, telemetry, latency, refresh, power, law)| Scores {
            control,
            telemetry,
            latency,
            refresh,
            power,
            law,
        },
    )
}

proptest! {
    #[test]
    fn the_unbeaten_are_those_of_brute_force(all in prop::collection::vec(scores(), 0..120)) {
        let all: Vec<Judged> = all.into_iter().enumerate().map(|(at, scores)| judged(at, scores)).collect();
        let kept: Vec<usize> = unbeaten(&all).iter().map(|one| one.index).collect();
        prop_assert_eq!(kept, brute(&all));
    }

    #[test]
    fn beating_is_an_order(a in scores(), b in scores(), c in scores()) {
        prop_assert!(!a.beats(&a));
        prop_assert!(!(a.beats(&b) && b.beats(&a)));
        if a.beats(&b) && b.beats(&c) {
            prop_assert!(a.beats(&c));
        }
    }
}

#[test]
fn advice_on_real_gear_is_that_of_brute_force() {
    let gear = gear::brook();
    let limits = Limits::shipped();
    for typed in ["distance_m=600 region=EU", "distance_m=4000 latency_ms=40", "distance_m=200 sensors=none"]
    {
        let asked = ask(&gear, typed);
        let advice = advise(&asked.setup, asked.all.as_ref().unwrap(), &limits).unwrap();
        let stage = Stage::new(&asked.setup).unwrap();
        let all = judge_all(&stage, asked.all.as_ref().unwrap(), &limits).unwrap();
        let mut kept: Vec<usize> = advice.choices.iter().map(|choice| choice.judged.index).collect();
        kept.sort_unstable();
        assert_eq!(kept, brute(&all), "{typed}");
        assert_eq!(advice.looked_at, asked.all.as_ref().unwrap().len());
        // What was left out is beaten by one that was kept.
        for one in all.iter().filter(|one| !kept.contains(&one.index)) {
            assert!(advice.choices.iter().any(|choice| choice.judged.scores.beats(&one.scores)), "{one:?}");
        }
        // What settings share in one run changes nothing: each by itself is judged alike.
        for one in &all {
            let alone = judge_all(&stage, &asked.all.as_ref().unwrap()[one.index..=one.index], &limits)
                .unwrap()
                .swap_remove(0);
            assert_eq!((alone.scores, &alone.fails), (one.scores, &one.fails), "{one:?}");
        }
        // Each gives up something against the best, or is the best in every respect.
        for choice in &advice.choices {
            let best = Respect::ALL.iter().all(|respect| {
                let cost = choice.judged.scores.cost(*respect);
                advice.choices.iter().all(|other| other.judged.scores.cost(*respect) >= cost)
            });
            assert_eq!(choice.gives_up.is_empty(), best, "{choice:?}");
        }
    }
}

#[test]
fn needs_that_fail_are_named_and_come_last() {
    let gear = gear::brook();
    let asked = ask(&gear, "distance_m=4000 latency_ms=30");
    let advice = advise(&asked.setup, asked.all.as_ref().unwrap(), &Limits::shipped()).unwrap();
    let fails: Vec<usize> = advice.choices.iter().map(|choice| choice.judged.fails.len()).collect();
    assert!(fails.windows(2).all(|pair| pair[0] <= pair[1]), "{fails:?}");
    assert_eq!(advice.meeting, fails.iter().filter(|count| **count == 0).count());
    // The quick mode is quick, the slow one reaches farther: the trade both ways of which
    // fliers speak (common practice, no source).
    let find = |name: &str| {
        let at = |choice: &&link::adviser::Choice| {
            asked.all.as_ref().unwrap()[choice.judged.index].mode.name == name
        };
        advice.choices.iter().find(at).map(|choice| choice.judged.clone())
    };
    let (quick, slow) = (find("Rapid").unwrap(), find("Mere").unwrap());
    assert!(quick.latency_p95.0 < slow.latency_p95.0 && quick.control < slow.control);
}

/// A wish finer than a thousandth is judged as finely.
#[test]
fn needs_are_not_rounded() {
    let gear = gear::brook();
    let asked = ask(&gear, "probability=0.9999 distance_m=1100 rx_antennas=two-crossed");
    let advice = advise(&asked.setup, asked.all.as_ref().unwrap(), &Limits::shipped()).unwrap();
    for choice in &advice.choices {
        let enough = choice.judged.control >= 0.9999;
        assert_eq!(choice.judged.fails.contains(&Respect::Control), !enough, "{choice:?}");
    }
    let near =
        |choice: &link::adviser::Choice| choice.judged.control > 0.999 && choice.judged.control < 0.9999;
    assert!(advice.choices.iter().any(near), "no choice lies where rounding would tell");
}

/// More settings than anybody chooses from are refused before they are listed.
#[test]
fn too_many_settings_are_refused() {
    let mut gear = gear::brook();
    gear.power_steps = (1..=2000).map(|step| units::Milliwatts(f64::from(step) / 10.0)).collect();
    let asked = ask(&gear, "distance_m=600");
    let why = asked.all.unwrap_err().to_string();
    assert!(why.starts_with("18000 settings are more than the 10000"), "{why}");
    let many = vec![asked.setting; 10_001];
    assert!(advise(&asked.setup, &many, &Limits::shipped()).is_err());
}
