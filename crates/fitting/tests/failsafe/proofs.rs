//! The steps of the proofs, and what a range check was worth.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use fitting::failsafe::{Power, ProofStep, Sort, judge_range, proof_steps};
use fitting::finding::Weight;
use proptest::prelude::*;
use register::family::Energised;
use register::fit::Proof;
use units::{Db, Metres};

use crate::close;

fn all() -> impl Iterator<Item = (Sort, Power, Proof, Vec<ProofStep>)> {
    Sort::ALL.iter().flat_map(|craft| {
        Power::ALL.iter().flat_map(move |power| {
            Proof::ALL.iter().map(move |proof| (*craft, *power, *proof, proof_steps(*craft, *power, *proof)))
        })
    })
}

fn at(steps: &[ProofStep], key: &str) -> usize {
    steps.iter().position(|step| step.key == key).unwrap()
}

/// Every step that energises something has its caution, the first secures the craft and names the rules
/// that prevail, the last switches off; keys are unique within a proof.
#[test]
fn every_step_has_its_cautions() {
    for (craft, power, proof, steps) in all() {
        let keys: BTreeSet<&str> = steps.iter().map(|step| step.key).collect();
        assert_eq!(keys.len(), steps.len(), "{craft:?} {power:?} {proof:?}");
        assert_eq!(steps[0].key, "secured");
        assert!(steps[0].cautions.iter().any(|one| one.contains("Local rules")), "{steps:?}");
        assert!(steps[0].energises.is_empty() && steps.last().unwrap().energises.is_empty());
        for step in &steps {
            assert!(!step.text.to_lowercase().replace("failsafe", "").contains("safe"), "{}", step.text);
            for one in &step.energises {
                assert!(step.cautions.iter().any(|have| have == one.caution()), "{step:?}");
            }
            // A speed controller on the receiver's own pack is live whenever the receiver is.
            let live = step.energises.contains(&Energised::Receiver) && power == Power::Electric;
            assert!(!live || step.energises.contains(&Energised::Motor), "{step:?}");
            assert!(power != Power::None || !step.energises.contains(&Energised::Motor), "{step:?}");
        }
    }
}

/// The order of the failsafe proof: club safety pages (propeller off or engine not running, transmitter off,
/// every set channel goes to its place, control back within a few seconds); the receiver on with no
/// transmitter: common practice, no source.
#[test]
fn the_failsafe_proof_in_its_order() {
    for craft in Sort::ALL {
        for power in [Power::Electric, Power::Engine, Power::None] {
            let steps = proof_steps(*craft, power, Proof::Failsafe);
            let places: Vec<usize> = [
                "secured",
                "failsafe_on",
                "transmitter_off",
                "control_back",
                "receiver_on_alone",
                "joined_after",
            ]
            .map(|key| at(&steps, key))
            .to_vec();
            assert!(places.is_sorted(), "{places:?}");
            let off = &steps[at(&steps, "transmitter_off")];
            assert!(!off.energises.contains(&Energised::Transmitter));
            assert!(!steps[at(&steps, "receiver_on_alone")].energises.contains(&Energised::Transmitter));
            assert_eq!(steps.iter().any(|step| step.key == "throttle_cut"), power != Power::None);
            assert!(steps[1].text.contains("directions come before"), "{}", steps[1].text);
        }
    }
}

/// Motor off before motor running, aircraft held, full power back (common practice, no source).
#[test]
fn the_range_check_in_its_order() {
    let steps = proof_steps(Sort::Aeroplane, Power::Electric, Proof::Range);
    let places = [
        "secured",
        "range_place",
        "range_on",
        "reduced_power",
        "motor_off_walk",
        "headings",
        "motor_on_walk",
        "full_power_back",
        "range_off",
    ]
    .map(|key| at(&steps, key));
    assert!(places.is_sorted(), "{places:?}");
    assert!(steps[0].text.contains("held"), "{}", steps[0].text);
    let glider = proof_steps(Sort::Glider, Power::None, Proof::Range);
    assert!(!glider.iter().any(|step| step.key == "motor_on_walk"));
    // The throttle comes last among the directions: everything else is known by then.
    let directions = proof_steps(Sort::Aeroplane, Power::Electric, Proof::Directions);
    assert!(at(&directions, "aileron_right") < at(&directions, "throttle_direction"));
}

/// Nobody holds a helicopter whose blades turn; a propeller goes back on with the pack out (judgement).
#[test]
fn nobody_is_sent_where_blades_turn() {
    for power in [Power::Electric, Power::Engine] {
        let steps = proof_steps(Sort::Helicopter, power, Proof::Range);
        assert!(steps[0].text.starts_with("Take main and tail blades off"), "{}", steps[0].text);
        assert!(steps[at(&steps, "motor_on_walk")].text.contains("blades off"));
        assert!(!steps.iter().any(|step| step.text.contains("held by somebody")));
    }
    let supply = proof_steps(Sort::Aeroplane, Power::Electric, Proof::Supply);
    let cautions = &supply[at(&supply, "motor_voltage")].cautions;
    assert!(cautions.iter().any(|one| one.contains("pack is out while the propeller")), "{cautions:?}");
    // An engine's pack feeds no motor.
    let engine = proof_steps(Sort::Aeroplane, Power::Engine, Proof::Supply);
    assert!(!engine.iter().any(|step| step.key == "motor_voltage"));
}

#[test]
fn steps_as_they_are_read() {
    let mut out = String::new();
    for (craft, power, proof) in [
        (Sort::Aeroplane, Power::Electric, Proof::Directions),
        (Sort::Aeroplane, Power::Electric, Proof::Failsafe),
        (Sort::Aeroplane, Power::Engine, Proof::Range),
        (Sort::Helicopter, Power::Electric, Proof::Supply),
        (Sort::Multirotor, Power::Electric, Proof::Failsafe),
    ] {
        let _ = writeln!(out, "{} {} {}", craft.word(), power.word(), proof.word());
        for step in proof_steps(craft, power, proof) {
            let energises: Vec<&str> = step.energises.iter().map(|one| one.word()).collect();
            let _ = writeln!(out, "  {} [{}] {}", step.key, energises.join(", "), step.text);
            for caution in &step.cautions {
                let _ = writeln!(out, "    ! {caution}");
            }
        }
    }
    insta::assert_snapshot!(out);
}

/// 30 m at reduced power; the factors `10^(dB/20)` and `10^(dB/40)`, worked out to six places with
/// another tool.
#[test]
fn what_thirty_metres_correspond_to() {
    for (reduction, free, ground) in [
        (10.0, 94.868_330, 53.348_382),
        (20.0, 300.0, 94.868_330),
        (26.0, 598.578_694, 134.005_077),
        (30.0, 948.683_298, 168.702_397),
    ] {
        let got = judge_range(Metres(30.0), Some(Db(reduction)), None, None);
        assert!(close(got.free_space.unwrap().0, free, 1e-6), "{reduction} dB: {got:?}");
        assert!(close(got.near_ground.unwrap().0, ground, 1e-6), "{reduction} dB: {got:?}");
        assert!(got.findings.is_empty(), "{got:?}");
    }
}

/// Under about 30 m, or a quarter less than last time: common practice, no source.
#[test]
fn what_a_range_check_finds() {
    for (distance, reduction, last, needed, want) in [
        (30.0, Some(26.0), None, None, vec![]),
        (29.0, Some(26.0), None, None, vec![("under_thirty_metres", Weight::Warning)]),
        (75.0, Some(26.0), Some(100.0), None, vec![]),
        (74.0, Some(26.0), Some(100.0), None, vec![("shorter_than_last", Weight::Warning)]),
        (
            20.0,
            Some(26.0),
            Some(100.0),
            None,
            vec![("shorter_than_last", Weight::Warning), ("under_thirty_metres", Weight::Warning)],
        ),
        (20.0, None, None, None, vec![("full_power", Weight::Note)]),
        (30.0, Some(20.0), None, Some(94.0), vec![]),
        (30.0, Some(20.0), None, Some(200.0), vec![("between", Weight::Note)]),
        (30.0, Some(20.0), None, Some(301.0), vec![("short_of_needed", Weight::Warning)]),
    ] {
        let got = judge_range(Metres(distance), reduction.map(Db), last.map(Metres), needed.map(Metres));
        let keys: Vec<_> = got.findings.iter().map(|one| (one.key, one.weight)).collect();
        assert_eq!(keys, want, "{distance} m, {reduction:?} dB");
    }
    let told = judge_range(Metres(42.0), Some(Db(26.0)), Some(Metres(60.0)), Some(Metres(300.0)));
    assert_eq!(
        told.sentence,
        "Look for the cause before flying: the check went to 42 m; at full power that corresponds to between 188 m \
         near the ground and 840 m in free space."
    );
}

proptest! {
    #[test]
    fn farther_is_never_worse(distance in 1.0..500.0, more in 0.0..200.0, reduction in 0.0..40.0, last in 1.0..300.0, needed in 1.0..2000.0) {
        let count = |distance: f64| {
            let got = judge_range(Metres(distance), Some(Db(reduction)), Some(Metres(last)), Some(Metres(needed)));
            got.findings.iter().filter(|one| one.weight == Weight::Warning).count()
        };
        prop_assert!(count(distance + more) <= count(distance));
        let got = judge_range(Metres(distance), Some(Db(reduction)), None, None);
        prop_assert!(got.near_ground <= got.free_space);
    }
}
