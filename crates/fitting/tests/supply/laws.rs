//! What holds for every supply.

use std::fmt::Write as _;

use fitting::supply::{Charge, Join, Load, Motor, Outcome, Point, Supply, solve};
use proptest::prelude::*;
use units::Amps;

use super::supply;

prop_compose! {
    fn pack(name: &'static str)(
        chemistry in prop::sample::select(vec!["lipo", "liion", "lihv", "life", "nimh", "nicd"]),
        cells in 1u32..=8,
        mohm in prop::option::of(0.5f64..150.0),
        capacity in prop::option::of(100.0f64..6000.0),
        age in 0.0f64..8.0,
        celsius in -20.0f64..40.0,
        motor in prop::option::of((0.0f64..120.0, 0.0f64..=1.0)),
    ) -> String {
        let mut text = format!(
            "[[pack]]\nname = \"{name}\"\nchemistry = \"{chemistry}\"\ncells = {cells}\nage_years = {age}\n\
             temperature_c = {celsius}\n"
        );
        if let Some(mohm) = mohm { let _ = writeln!(text, "cell_mohm = {mohm}"); }
        if let Some(capacity) = capacity { let _ = writeln!(text, "capacity_mah = {capacity}"); }
        if let Some((full, share)) = motor {
            let _ = writeln!(text, "motor_a = {full}\nmotor_average_a = {}", full * share);
        }
        text
    }
}

prop_compose! {
    fn regulator(name: &'static str)(
        kind in prop::sample::select(vec!["none", "linear", "switching"]),
        set in 3.0f64..9.0,
        dropout in 0.0f64..1.2,
        burst in prop::option::of(0.5f64..20.0),
        percent in 40.0f64..=100.0,
        own in 0.0f64..60.0,
    ) -> String {
        let mut text = format!(
            "[[regulator]]\npack = \"{name}\"\nkind = \"{kind}\"\nset_v = {set}\ndropout_v = {dropout}\n\
             efficiency_percent = {percent}\nquiescent_ma = {own}\n"
        );
        if let Some(burst) = burst { let _ = writeln!(text, "burst_a = {burst}"); }
        text
    }
}

prop_compose! {
    fn wire(name: &'static str, place: &'static str)(
        metres in 0.0f64..2.0,
        gauge in 12u32..=32,
        contacts in 0.0f64..60.0,
        switch in 0.0f64..60.0,
        celsius in -20.0f64..90.0,
    ) -> String {
        format!(
            "[[wire]]\npack = \"{name}\"\nname = \"{name} {place}\"\nplace = \"{place}\"\nlength_m = {metres}\n\
             gauge = {gauge}\nconnector_mohm = {contacts}\nswitch_mohm = {switch}\ntemperature_c = {celsius}\n"
        )
    }
}

prop_compose! {
    fn loads()(
        receiver in 0.0f64..600.0,
        servos in prop::collection::vec((
            prop::sample::select(vec!["micro", "standard", "high-torque", "large"]), 1u32..6, 0.0f64..1.5, 18u32..=30,
        ), 0..4),
        share in 0.0f64..100.0,
    ) -> String {
        let mut text = format!("[receiver]\nidle_ma = {receiver}\n");
        for (place, (class, count, lead, gauge)) in servos.iter().enumerate() {
            let _ = write!(text,
                "[[servo]]\nname = \"s{place}\"\nclass = \"{class}\"\ncount = {count}\nlead_m = {lead}\n\
                 lead_gauge = {gauge}\n"
            );
        }
        if !servos.is_empty() {
            let _ = write!(text, "[[manoeuvre]]\nholding = [\"s0\"]\nshare_percent = {share}\n");
        }
        text
    }
}

fn way(name: &'static str) -> impl Strategy<Value = String> {
    (pack(name), regulator(name), wire(name, "before"), wire(name, "after"))
        .prop_map(|(pack, regulator, before, after)| pack + &regulator + &before + &after)
}

/// One pack, or two joined in any way.
fn any_supply() -> impl Strategy<Value = String> {
    let one = (way("a"), loads()).prop_map(|(way, loads)| way + &loads);
    let two = (way("a"), way("b"), loads(), 0usize..3, 0.0f64..0.9, 3.0f64..6.0).prop_map(
        |(a, b, loads, join, drop, below)| {
            let join = ["diodes", "switch-over", "parallel"][join];
            format!(
                "{a}{b}{loads}[supply]\njoin = \"{join}\"\ndiode_drop_v = {drop}\nswitch_below_v = {below}\n"
            )
        },
    );
    prop_oneof![one, two]
}

fn every_outcome(supply: &Supply) -> Vec<(String, Outcome)> {
    let mut all = Vec::new();
    for load in supply.loads() {
        for charge in Charge::ALL {
            let failed = (0..supply.packs.len()).filter(|_| supply.packs.len() > 1).map(Some);
            for failed in [None].into_iter().chain(failed) {
                all.push((format!("{load:?} {charge:?} {failed:?}"), supply.outcome(&load, charge, failed)));
            }
        }
    }
    all
}

/// The voltage at the receiver; a collapse is under any.
fn volts(outcome: &Outcome) -> f64 {
    outcome.point().map_or(f64::NEG_INFINITY, |point| point.receiver_v.0)
}

fn finite(point: &Point) -> bool {
    let balance = [point.balance.out.0, point.balance.loads.0, point.balance.lost.0];
    point.receiver_v.0.is_finite()
        && point.amps.0.is_finite()
        && balance.iter().all(|watts| watts.is_finite())
        && point.chain.iter().all(|stage| stage.volts_in.0.is_finite() && stage.volts_out.0.is_finite())
        && point.chain.iter().all(|stage| stage.lost.0 >= -1e-9 && stage.lost.0.is_finite())
        && point.servos.iter().all(|servo| servo.volts.0 > 0.0 && servo.amps.0.is_finite())
}

/// Whether it begins with a capital (or a figure) and ends with a full stop.
fn is_sentence(said: &str) -> bool {
    let starts = said.chars().next().is_some_and(|first| first.is_uppercase() || first.is_ascii_digit());
    starts && said.ends_with('.') && !said.ends_with("..")
}

/// Whether it is better than before by more than rounding.
fn rises(before: &Outcome, after: &Outcome) -> bool {
    volts(after) > volts(before) + 1e-9
}

/// Whether it collapses for too much current through the regulator, which anything that throttles the
/// current mends: a lead, or an emptier pack.
fn throttled(outcome: &Outcome, words: &[&str]) -> bool {
    matches!(outcome, Outcome::Collapse { why } if words.iter().any(|word| why.contains(word)))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// What comes out of the packs is what loads take and what is lost.
    #[test]
    fn energy_balances(text in any_supply()) {
        for (name, outcome) in every_outcome(&supply(&text)) {
            if let Some(point) = outcome.point() {
                prop_assert!(finite(point), "{name}: {point:?}\n{text}");
                let balance = point.balance;
                let off = (balance.out.0 - balance.loads.0 - balance.lost.0).abs();
                prop_assert!(off <= 1e-9 * balance.out.0.abs().max(1e-9), "{name}: off by {off}: {balance:?}\n{text}");
            }
        }
    }

    /// The steps of each way join up, and end at the receiver.
    #[test]
    fn the_staircase_joins_up(text in any_supply()) {
        for (name, outcome) in every_outcome(&supply(&text)) {
            let Some(point) = outcome.point() else { continue };
            for feed in point.feeds.iter().filter(|feed| feed.to_bus.0 != 0.0) {
                let steps: Vec<_> = point.chain.iter().filter(|stage| stage.pack == feed.pack).collect();
                prop_assert!((steps[0].volts_in.0 - feed.emf.0).abs() < 1e-9);
                for pair in steps.windows(2) {
                    prop_assert!((pair[0].volts_out.0 - pair[1].volts_in.0).abs() < 1e-9, "{name}\n{text}");
                }
                let end = steps[steps.len() - 1].volts_out.0;
                prop_assert!((end - point.receiver_v.0).abs() < 1e-9, "{name}: {end}, {point:?}\n{text}");
            }
        }
    }

    /// A longer or thinner lead never raises the voltage, and never makes a supply hold that collapsed
    /// by more than throttling a current that was too much for a regulator. (With a switch-over it may
    /// raise it: that hands over sooner to a better pack.)
    #[test]
    fn longer_and_thinner_leads_never_help(text in any_supply(), times in 1.0f64..4.0, thinner in 0usize..6, which in 0usize..4) {
        let before = supply(&text);
        prop_assume!(!matches!(before.join, Join::SwitchOver(_)));
        let (mut longer, mut thin) = (before.clone(), before.clone());
        let gauges: Vec<_> = link::wire::Gauge::all().collect();
        let place = |wire: &fitting::supply::Wire| gauges.iter().position(|one| *one == wire.gauge).unwrap();
        let at = which / 2 % before.packs.len();
        for (supply, change) in [(&mut longer, true), (&mut thin, false)] {
            let pack = &mut supply.packs[at];
            let wire = if which % 2 == 0 { &mut pack.before[0] } else { &mut pack.after[0] };
            if change {
                wire.length = wire.length * times;
            } else {
                wire.gauge = gauges[(place(wire) + thinner).min(gauges.len() - 1)];
            }
        }
        for (other, what) in [(longer, "longer"), (thin, "thinner")] {
            for ((name, before), (_, after)) in every_outcome(&before).iter().zip(every_outcome(&other)) {
                let words: &[&str] = if which % 2 == 0 { &["burst"] } else { &["burst", "so much power"] };
                // A lead between two bare packs also keeps one from charging the other.
                let charges =
                    before.point().is_some_and(|point| point.feeds.iter().any(|feed| feed.to_bus.0 < 0.0));
                let better = rises(before, &after) && !throttled(before, words) && !charges;
                prop_assert!(!better, "{what}, {name}: {before:?} to {}
{text}", volts(&after));
            }
        }
    }

    /// More load never raises the voltage.
    #[test]
    fn more_load_never_helps(text in any_supply(), amps in 0.0f64..3.0) {
        let before = supply(&text);
        prop_assume!(!matches!(before.join, Join::SwitchOver(_)));
        let (mut receiver, mut servos) = (before.clone(), before.clone());
        receiver.receiver.takes.0 += amps;
        servos.servos.iter_mut().for_each(|servo| servo.count += 1);
        for other in [receiver, servos] {
            for ((name, before), (_, after)) in every_outcome(&before).iter().zip(every_outcome(&other)) {
                prop_assert!(!rises(before, &after), "{name}: {} to {}\n{text}", volts(before), volts(&after));
            }
        }
        // Nor does a motor, or more of one; the same throttling aside.
        for full in [amps, 10.0 * amps] {
            let mut motors = before.clone();
            for pack in &mut motors.packs {
                let old = pack.motor.map_or(0.0, |motor| motor.full.0);
                pack.motor = Some(Motor { full: Amps(old + full), average: Amps(0.0) });
            }
            for ((name, before), (_, after)) in every_outcome(&before).iter().zip(every_outcome(&motors)) {
                let better = rises(before, &after) && !throttled(before, &["burst", "so much power"]);
                prop_assert!(!better, "{name}: {} to {}\n{text}", volts(before), volts(&after));
            }
        }
        // And from one load to a heavier one.
        for charge in Charge::ALL {
            let of = |load: &Load| before.outcome(load, charge, None);
            prop_assert!(!rises(&of(&Load::Hard), &of(&Load::Stalled)), "{text}");
        }
        // Nor does an emptier pack, where it doesn't throttle: behind a regulator that has dropped out,
        // or beside a fuller one, it is asked for less.
        let words = &["burst", "so much power"];
        for load in before.loads() {
            let of = |charge| before.outcome(&load, charge, None);
            let (full, low) = (of(Charge::Full), of(Charge::Low));
            let better = rises(&full, &low) && !throttled(&full, words);
            prop_assert!(!better, "{load:?}: {full:?} to {low:?}\n{text}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100))]

    /// A whole answer never fails; what is said to help helps; findings are sorted.
    #[test]
    fn answers_hold_together(text in any_supply()) {
        let supply = supply(&text);
        let answer = solve(&supply);
        prop_assert!(!answer.sentence.is_empty());
        prop_assert!(answer.findings.windows(2).all(|pair| pair[0].weight >= pair[1].weight));
        for finding in &answer.findings {
            prop_assert!(!finding.text.is_empty() && !finding.consequence.is_empty() && !finding.mend.is_empty());
            for said in [&finding.text, &finding.consequence, &finding.mend] {
                prop_assert!(is_sentence(said), "{said}");
            }
            prop_assert!(!finding.text.contains("NaN") && !finding.text.contains("inf "), "{}", finding.text);
        }
        for help in &answer.helps {
            let changes = [help.rest, help.hard, help.stall];
            let better = changes.iter().any(|change| match (change.before, change.after) {
                (None, Some(_)) => true,
                (Some(before), Some(after)) => after > before,
                _ => false,
            });
            let longer = help.minutes.is_some_and(|(before, after)| after > before);
            prop_assert!(is_sentence(&help.text), "{}", help.text);
            prop_assert!(better || longer, "{help:?}");
            prop_assert!(changes.iter().all(|change| change.before.is_none() || change.after.is_some()));
        }
    }

    /// Any text is answered, never with a panic.
    #[test]
    fn any_text_is_answered(text in "\\PC{0,200}", cut in 0usize..900) {
        let _ = Supply::read("x", &text);
        let whole = super::words::TWO;
        let mut cut = cut.min(whole.len());
        while !whole.is_char_boundary(cut) { cut -= 1; }
        if let Ok(supply) = Supply::read("x", &whole[..cut]) {
            let _ = solve(&supply);
        }
    }
}
