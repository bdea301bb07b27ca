//! Which sensors fit: small cases done by hand, a check by another way, and laws.
#![expect(clippy::unwrap_used, reason = "a test stops at what it did not expect")]

use link::telemetry::{Fit, Sensor, Slots, fit, smallest_share};
use proptest::prelude::*;
use units::{Hertz, Seconds};

fn sensor(name: &str, bytes: u32, wanted: f64) -> Sensor {
    Sensor { name: name.to_owned(), bytes, wanted: Seconds(wanted) }
}

fn slots(per_second: f64, bytes: u32) -> Slots {
    Slots { per_second: Hertz(per_second), bytes }
}

/// Longest gaps in slots; 0 for never.
#[expect(clippy::cast_possible_truncation, reason = "a few slots")]
fn gaps(fit: &Fit, per_second: f64) -> Vec<i64> {
    fit.sensors
        .iter()
        .map(|served| served.achieved.map_or(0, |gap| (gap.0 * per_second).round() as i64))
        .collect()
}

/// Done by hand.
#[test]
fn small_cases() {
    // One sensor that fills a slot comes in every slot.
    let one = fit(&[sensor("a", 5, 1.0)], &slots(10.0, 5));
    assert_eq!((gaps(&one, 10.0), one.fits), (vec![1], true));
    assert!((one.load - 0.1).abs() < 1e-12);
    // Two that fill a slot each take turns.
    let two = fit(&[sensor("a", 5, 1.0), sensor("b", 5, 1.0)], &slots(10.0, 5));
    assert_eq!((gaps(&two, 10.0), two.fits), (vec![2, 2], true));
    // Two that fit into one slot come together.
    let two = fit(&[sensor("a", 2, 1.0), sensor("b", 3, 1.0)], &slots(10.0, 5));
    assert_eq!((gaps(&two, 10.0), two.fits), (vec![1, 1], true));
    // A frame of three slots is split over three.
    let long = fit(&[sensor("a", 15, 1.0)], &slots(10.0, 5));
    assert_eq!((gaps(&long, 10.0), long.fits), (vec![3], true));
    // Half the slots for one, the other half for two: full, and it fits.
    let full = [sensor("a", 5, 0.2), sensor("b", 5, 0.4), sensor("c", 5, 0.4)];
    let full = fit(&full, &slots(10.0, 5));
    assert_eq!((gaps(&full, 10.0), full.fits), (vec![2, 4, 4], true));
    assert!((full.load - 1.0).abs() < 1e-12);
    // Wanted sooner than slots come.
    let hasty = fit(&[sensor("a", 1, 0.05)], &slots(10.0, 5));
    assert_eq!((gaps(&hasty, 10.0), hasty.fits), (vec![1], false));
    // Nothing wanted fits into anything.
    assert!(fit(&[], &slots(10.0, 5)).fits);
}

#[test]
fn what_does_not_fit_is_named() {
    let sensors = [sensor("variometer", 4, 0.1), sensor("battery", 4, 5.0)];
    let served = fit(&sensors, &slots(5.0, 4));
    assert!(!served.fits);
    assert!(!served.sensors[0].fits, "it wants ten a second of five slots");
    assert!(served.load > 1.0);
    let names: Vec<&str> = served.sensors.iter().map(|served| served.name.as_str()).collect();
    assert_eq!(names, ["variometer", "battery"]);
}

#[test]
fn the_smallest_share_that_fits() {
    // 100 slots a second, one in 2 to one in 128 of them for telemetry.
    let shares = [2, 4, 8, 16, 32, 64, 128];
    let at = |sensors: &[Sensor]| smallest_share(sensors, Hertz(100.0), 5, &shares);
    assert_eq!(at(&[sensor("battery", 4, 5.0)]), Some(128), "1.28 s from slot to slot");
    assert_eq!(at(&[sensor("vario", 4, 0.2)]), Some(16), "0.16 s; one in 32 is 0.32 s");
    // 0.2 s at one in 8 is two slots: one for each.
    assert_eq!(at(&[sensor("vario", 4, 0.2), sensor("speed", 4, 0.2)]), Some(8));
    assert_eq!(at(&[sensor("vario", 4, 0.005)]), None);
    assert_eq!(smallest_share(&[sensor("a", 4, 1.0)], Hertz(100.0), 5, &[]), None);
    assert_eq!(smallest_share(&[sensor("a", 4, 1.0)], Hertz(100.0), 5, &[0]), None);
}

#[test]
fn nonsense_is_never_served_and_says_why() {
    for slots in [slots(f64::NAN, 5), slots(0.0, 5), slots(10.0, 0)] {
        let served = fit(&[sensor("a", 4, 1.0)], &slots);
        assert_eq!((served.fits, served.sensors[0].achieved, served.load), (false, None, 0.0));
        assert!(slots.check().is_err());
    }
    let odd =
        [sensor("none", 0, 1.0), sensor("now", 4, 0.0), sensor("when", 4, f64::NAN), sensor("good", 4, 1.0)];
    let served = fit(&odd, &slots(10.0, 5));
    let fits: Vec<bool> = served.sensors.iter().map(|served| served.fits).collect();
    assert_eq!(fits, [false, false, false, true]);
    assert!(served.load.is_finite());
    assert_eq!(
        odd[1].check().unwrap_err().to_string(),
        "`wanted_s` is 0; it must lie in 0.01 to 3600 s (from a hundred values a second to one an hour)"
    );
    for sensor in Sensor::usual() {
        sensor.check().unwrap();
    }
}

/// The usual sensors fit into 12.5 slots a second of 10 bytes (common practice, no source).
#[test]
fn usual_sensors() {
    let served = fit(&Sensor::usual(), &slots(12.5, 10));
    assert!(served.fits, "{served:?}");
}

/// Whether sensors of one slot each can be served at all, by searching every schedule: a
/// state is the slots left to each, and a state seen again closes an endless schedule.
fn any_schedule(wanted: &[u32]) -> bool {
    fn go(left: &mut Vec<u32>, wanted: &[u32], path: &mut Vec<Vec<u32>>, dead: &mut Vec<Vec<u32>>) -> bool {
        if path.contains(left) {
            return true;
        }
        if dead.contains(left) {
            return false;
        }
        path.push(left.clone());
        for chosen in 0..wanted.len() {
            let mut next: Vec<u32> = left.clone();
            next[chosen] = wanted[chosen] + 1;
            if next.iter().any(|left| *left <= 1) {
                continue;
            }
            for left in &mut next {
                *left -= 1;
            }
            if go(&mut next, wanted, path, dead) {
                return true;
            }
        }
        dead.push(path.pop().unwrap());
        false
    }
    go(&mut wanted.to_vec(), wanted, &mut Vec::new(), &mut Vec::new())
}

/// Against an exhaustive search: never a fit where there is none; and of all sets of three
/// with gaps of 2 to 8 slots, those that the schedule misses are counted.
#[test]
fn against_every_schedule() {
    let (mut possible, mut missed) = (0, Vec::new());
    for a in 2..=8u32 {
        for b in a..=8 {
            for c in b..=8 {
                let wanted = [a, b, c];
                let sensors: Vec<Sensor> =
                    wanted.iter().map(|slots| sensor("x", 5, f64::from(*slots) / 10.0)).collect();
                let found = fit(&sensors, &slots(10.0, 5)).fits;
                let can = any_schedule(&wanted);
                assert!(can || !found, "{wanted:?} can't be served");
                possible += u32::from(can);
                if can && !found {
                    missed.push(wanted);
                }
            }
        }
    }
    assert!(possible > 50, "{possible}");
    assert!(missed.is_empty(), "missed of {possible}: {missed:?}");
}

fn any_sensors() -> impl Strategy<Value = Vec<Sensor>> {
    prop::collection::vec((1u32..40, 0.05..20.0f64), 1..7).prop_map(|all| {
        all.into_iter()
            .enumerate()
            .map(|(at, (bytes, wanted))| sensor(&at.to_string(), bytes, wanted))
            .collect()
    })
}

proptest! {
    #[test]
    fn bytes_are_never_made(sensors in any_sensors(), rate in 0.5..100.0f64, bytes in 1u32..40) {
        let served = fit(&sensors, &slots(rate, bytes));
        // What the gaps need at least can't exceed what the slots hold.
        let carried: f64 = sensors
            .iter()
            .zip(&served.sensors)
            .filter_map(|(sensor, served)| Some(f64::from(sensor.bytes) / served.achieved?.0))
            .sum();
        prop_assert!(carried <= rate * f64::from(bytes) * (1.0 + 1e-9), "{carried}");
        prop_assert!(served.load.is_finite());
        prop_assert!(!(served.fits && served.load > 1.0 + 1e-9));
        for served in &served.sensors {
            let soon = served.achieved.is_some_and(|gap| gap.0 <= served.wanted.0 * (1.0 + 1e-9));
            prop_assert_eq!(served.fits, soon);
        }
        prop_assert_eq!(served.fits, served.sensors.iter().all(|served| served.fits));
    }

    #[test]
    fn the_share_found_fits_and_no_smaller_one_does(sensors in any_sensors(), bytes in 4u32..20) {
        let shares = [2, 4, 8, 16, 32, 64, 128];
        let fits = |share: u32| fit(&sensors, &slots(250.0 / f64::from(share), bytes)).fits;
        let found = smallest_share(&sensors, Hertz(250.0), bytes, &shares);
        let by_trying = shares.iter().rev().copied().find(|share| fits(*share));
        prop_assert_eq!(found, by_trying);
    }
}
