//! From stick to servo.

use link::latency::{Stepping, Timing, arrived_within, latency};
use proptest::prelude::*;
use units::{Micros, Seconds};

use crate::chance::Chance;

const PLAIN: Timing = Timing {
    handset_frame: Seconds(0.004),
    packet_interval: Seconds(0.004),
    airtime: Micros(3000.0),
    servo_frame: Seconds(0.02),
    telemetry_one_in: None,
    in_step: Stepping::FreeRunning,
    processing: Seconds(0.001),
};

/// Elementary: halves of the three waits, the fixed times, and q/(1−q) lost packets on average.
#[test]
fn the_mean_is_the_sum_of_the_means() {
    let rows = [
        (PLAIN, 0.0, 0.018),
        (PLAIN, 0.5, 0.022),
        (PLAIN, 0.9, 0.018 + 9.0 * 0.004),
        (Timing { in_step: Stepping::HandsetInStep, ..PLAIN }, 0.0, 0.016),
        // Half of all first slots are telemetry, the next is not.
        (Timing { telemetry_one_in: Some(2), ..PLAIN }, 0.0, 0.020),
        (Timing { handset_frame: Seconds(0.0), servo_frame: Seconds(0.0), ..PLAIN }, 0.0, 0.006),
    ];
    for (timing, loss, wanted) in rows {
        let got = latency(&timing, loss).unwrap().mean.0;
        assert!((got - wanted).abs() < 1e-8, "{timing:?} {loss}: {got}, not {wanted}");
    }
}

/// One uniform wait alone is known in closed form, and two of the same width make a triangle.
#[test]
fn quantiles_of_one_and_two_waits() {
    let one = Timing { handset_frame: Seconds(0.0), servo_frame: Seconds(0.0), ..PLAIN };
    let got = latency(&one, 0.0).unwrap();
    for (got, wanted) in [(got.median.0, 0.006), (got.p95.0, 0.0078), (got.p99.0, 0.007_96)] {
        assert!((got - wanted).abs() < 1e-6, "{got} {wanted}");
    }
    let two = Timing { servo_frame: Seconds(0.0), ..PLAIN };
    let got = latency(&two, 0.0).unwrap();
    let late = |share: f64| 0.004 + 0.004 * (2.0 - (2.0 * (1.0 - share)).sqrt());
    for (got, wanted) in [(got.median.0, 0.008), (got.p95.0, late(0.95)), (got.p99.0, late(0.99))] {
        assert!((got - wanted).abs() < 1e-6, "{got} {wanted}");
    }
}

/// Clocks that run by themselves, a stick that moves at random.
fn simulated(timing: &Timing, loss: f64, chance: &mut Chance) -> f64 {
    let after = |clock: f64, time: f64| if clock > 0.0 { (time / clock).ceil() * clock } else { time };
    let moved = 1e3 * chance.share();
    let interval = timing.packet_interval.0;
    // Free clocks drift against each other; the handset's is never quite what it says.
    let ready = match timing.in_step {
        Stepping::FreeRunning => after(timing.handset_frame.0 * 1.000_37, moved),
        Stepping::HandsetInStep => after(timing.handset_frame.0.max(interval), moved),
    };
    let mut slot = (ready / interval - 1e-9).ceil();
    let carries_telemetry =
        |slot: f64| timing.telemetry_one_in.is_some_and(|one_in| slot % f64::from(one_in) == 0.0);
    while carries_telemetry(slot) || chance.share() < loss {
        slot += 1.0;
    }
    let decoded = slot * interval + timing.airtime.0 * 1e-6 + timing.processing.0;
    after(timing.servo_frame.0 * 1.000_11, decoded) - moved
}

#[test]
fn simulated_movements_arrive_as_late() {
    const DRAWS: f64 = 40_000.0;
    let mut chance = Chance::new(77);
    let slow = Timing { handset_frame: Seconds(0.0223), packet_interval: Seconds(0.02), ..PLAIN };
    let rows = [
        (PLAIN, 0.0),
        (PLAIN, 0.2),
        (Timing { telemetry_one_in: Some(2), ..PLAIN }, 0.1),
        (Timing { telemetry_one_in: Some(16), in_step: Stepping::HandsetInStep, ..PLAIN }, 0.3),
        (Timing { telemetry_one_in: Some(8), ..slow }, 0.6),
    ];
    for (timing, loss) in rows {
        let latency = latency(&timing, loss).unwrap();
        let drawn: Vec<f64> = (0..40_000).map(|_| simulated(&timing, loss, &mut chance)).collect();
        for (share, quantile) in [(0.5, latency.median), (0.95, latency.p95), (0.99, latency.p99)] {
            let mut within = 0.0;
            for time in &drawn {
                within += f64::from(*time <= quantile.0);
            }
            let error = (share * (1.0 - share) / DRAWS).sqrt();
            assert!(
                (within / DRAWS - share).abs() < 3.0 * error,
                "{timing:?} {loss} {share}: {}",
                within / DRAWS
            );
        }
    }
}

proptest! {
    #[test]
    fn a_distribution_is_one(
        frame in 0.0..0.1_f64, interval in 0.0005..0.1_f64, servo in 0.0..0.1_f64,
        airtime in 0.0..50_000.0_f64, one_in in prop::option::of(2_u32..200), loss in 0.0..0.98_f64, step in any::<bool>(),
    ) {
        let in_step = if step { Stepping::HandsetInStep } else { Stepping::FreeRunning };
        let timing = Timing {
            handset_frame: Seconds(frame), packet_interval: Seconds(interval), airtime: Micros(airtime),
            servo_frame: Seconds(servo), telemetry_one_in: one_in, in_step, processing: Seconds(0.0),
        };
        let got = latency(&timing, loss).unwrap();
        let all: f64 = got.histogram.iter().map(|(_, share)| share).sum();
        prop_assert!((all - 1.0).abs() < 1e-9, "{all}");
        prop_assert!(got.histogram.iter().all(|(_, share)| *share >= -1e-9) && got.histogram.len() <= 60);
        prop_assert!(got.median.0 <= got.p95.0 && got.p95.0 <= got.p99.0 && got.median.0 > 0.0);
        prop_assert!((arrived_within(&timing, loss, got.p95).unwrap() - 0.95).abs() < 1e-3);
        let worse = latency(&timing, loss + 0.01).unwrap();
        prop_assert!(worse.mean.0 >= got.mean.0 && worse.p95.0 >= got.p95.0 - 1e-6 && worse.p99.0 >= got.p99.0 - 1e-6);
    }
}

#[test]
fn what_is_out_of_range_is_named() {
    let error = latency(&PLAIN, 1.0).unwrap_err().to_string();
    assert!(error.contains("`loss` is 1") && error.contains("the link is gone"), "{error}");
    let all_telemetry = Timing { telemetry_one_in: Some(1), ..PLAIN };
    let error = latency(&all_telemetry, 0.0).unwrap_err().to_string();
    assert!(error.contains("`telemetry_one_in` is 1"), "{error}");
    assert!(latency(&Timing { packet_interval: Seconds(0.0), ..PLAIN }, 0.0).is_err());
    assert!(latency(&Timing { servo_frame: Seconds(f64::NAN), ..PLAIN }, 0.0).is_err());
}
