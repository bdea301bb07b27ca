//! Failsafes: limits that are known, and the whole process simulated.

use link::error_rate::PacketCurve;
use link::fading::{FadedCurve, Scatter};
use link::failsafe::{Failsafe, chance_in, doppler, outlook, rate_per_second};
use proptest::prelude::*;
use units::{Db, Hertz, MetresPerSecond, Mhz, Seconds};

use crate::chance::Chance;
use crate::curve;

fn failsafe(doppler: f64, interval: f64, timeout: f64) -> Failsafe {
    Failsafe {
        timeout: Seconds(timeout),
        packet_interval: Seconds(interval),
        doppler: Hertz(doppler),
        free: 1.0,
    }
}

#[test]
fn a_doppler_shift() {
    // v f / c, the speed of light as the SI defines it.
    let shift = doppler(MetresPerSecond(20.0), Mhz(2450.0)).unwrap().0;
    assert!((shift - 20.0 * 2.45e9 / 299_792_458.0).abs() < 1e-9, "{shift}");
    assert!(doppler(MetresPerSecond(400.0), Mhz(2450.0)).is_err());
}

/// Where the scattered waves are just uncorrelated from packet to packet (the first zero of J₀ at
/// 2.404826, Abramowitz and Stegun table 9.5), losses are independent: runs of N begin with p^N (1 − p).
#[test]
fn a_fading_that_is_new_with_every_packet_is_independent_loss() {
    let interval = 0.02;
    let shift = 2.404_825_557_695_773 / (std::f64::consts::TAU * interval);
    for (k, mean) in [(-40.0, 0.0), (6.0, -1.0), (12.0, -2.0)] {
        let scatter = Scatter::Rician { k: Db(k) };
        let lost = 1.0 - FadedCurve::new(&curve(7), scatter).unwrap().delivery(Db(mean));
        for packets in [1, 3, 10] {
            let how = failsafe(shift, interval, interval * f64::from(packets));
            let got = rate_per_second(&curve(7), scatter, Db(mean), &how).unwrap();
            let run = lost.powi(packets);
            let wanted = run * (1.0 - lost) / (1.0 - run) / interval;
            assert!((got / wanted - 1.0).abs() < 0.01, "K {k} at {mean}, {packets}: {got} {wanted}");
        }
    }
}

/// Two packets at a time: the chance of losing both is the mean over two correlated levels, drawn here.
#[test]
fn pairs_are_lost_as_often_as_drawn() {
    const DRAWS: f64 = 200_000.0;
    let curve = curve(7);
    let mut chance = Chance::new(31);
    // 2π f t and J₀ of it (Abramowitz and Stegun table 9.1).
    for (turn, rho) in
        [(0.5, 0.938_469_807_240_813_f64), (1.0, 0.765_197_686_557_966_6), (5.0, -0.177_596_771_314_338_3)]
    {
        for (k_db, mean) in [(-40.0, 2.0), (6.0, -1.0), (12.0, -2.5)] {
            let interval = 0.02;
            let how = failsafe(turn / (std::f64::consts::TAU * interval), interval, 2.0 * interval);
            let wanted =
                outlook(&curve, Scatter::Rician { k: Db(k_db) }, Db(mean), &how).unwrap().share_of_time;
            let k = Db(k_db).ratio();
            let (direct, scattered) = ((k / (k + 1.0)).sqrt(), (0.5 / (k + 1.0)).sqrt());
            let fresh = (1.0 - rho * rho).sqrt();
            let (mut lost, mut squares) = (0.0, 0.0);
            for _ in 0..200_000 {
                let (first, new) = (chance.normals(), chance.normals());
                let loss = |(along, across): (f64, f64)| {
                    let (x, y) = (direct + scattered * along, scattered * across);
                    curve.loss(Db(mean + 10.0 * (x * x + y * y).log10()))
                };
                let next = (rho * first.0 + fresh * new.0, rho * first.1 + fresh * new.1);
                let both = loss(first) * loss(next);
                lost += both;
                squares += both * both;
            }
            let got = lost / DRAWS;
            let error = ((squares / DRAWS - got * got) / DRAWS).sqrt();
            assert!(
                (got - wanted).abs() < 3.0 * error + 1e-3 * wanted,
                "turn {turn} K {k_db}: {got} ± {error}, not {wanted}"
            );
        }
    }
}

/// Rice's rate of falling under a level, √(2π) f ρ exp(−ρ²) for Rayleigh fading (from memory), is the
/// rate of failsafes while time-outs are short against the fades and the packet curve is steep.
#[test]
fn short_timeouts_count_the_falls_under_a_level() {
    let curve = curve(12);
    let how = failsafe(2.0, 0.0005, 0.01);
    // The level at which half of all time-outs would bring no packet.
    let (mut low, mut high) = (-20.0, 5.0);
    while high - low > 1e-6 {
        let middle = 0.5 * (low + high);
        if curve.loss(Db(middle)).powi(20) > 0.5 { low = middle } else { high = middle }
    }
    for mean in [3.0, 6.0, 10.0] {
        let under = Db(low - mean).ratio();
        let got = outlook(&curve, Scatter::Rayleigh, Db(mean), &how).unwrap();
        // Falls a second of flight that isn't under the level already, which is a share exp(−ρ²) of all.
        let falls = (std::f64::consts::TAU * under).sqrt() * 2.0;
        assert!(
            (got.begins_per_second / falls - 1.0).abs() < 0.2,
            "{mean}: {} {falls}",
            got.begins_per_second
        );
    }
}

/// A fader of sinusoids from directions spread evenly around (Clarke 1968), packet by packet: failsafes
/// that begin, a second out of failsafe, and their standard error.
fn simulated(curve: &PacketCurve, k_db: f64, mean: f64, how: &Failsafe, chance: &mut Chance) -> (f64, f64) {
    const WAVES: u32 = 16;
    const RUNS: u32 = 120;
    const PACKETS: u32 = 2500;
    let packets = (how.timeout.0 / how.packet_interval.0 + 1e-9).floor();
    let k = Db(k_db).ratio();
    let (direct, each) = ((k / (k + 1.0)).sqrt(), (1.0 / (k + 1.0) / f64::from(WAVES)).sqrt());
    let tau = std::f64::consts::TAU;
    let mut runs = Vec::new();
    for _ in 0..RUNS {
        let around = chance.share();
        let mut waves: Vec<[f64; 4]> = (0..WAVES)
            .map(|wave| {
                let angle = tau * (around + (f64::from(wave) + chance.share()) / f64::from(WAVES));
                let (phase, turn) =
                    (tau * chance.share(), tau * how.doppler.0 * angle.cos() * how.packet_interval.0);
                [phase.cos(), phase.sin(), turn.cos(), turn.sin()]
            })
            .collect();
        let (mut in_a_row, mut begun, mut clear) = (0.0, 0.0, 0.0);
        for packet in 0..PACKETS {
            let (mut x, mut y) = (direct, 0.0);
            for wave in &mut waves {
                let [along, across, cosine, sine] = *wave;
                x += each * along;
                y += each * across;
                [wave[0], wave[1]] = [along * cosine - across * sine, along * sine + across * cosine];
            }
            let counted = f64::from(packet) >= packets;
            clear += f64::from(counted && in_a_row < packets);
            let lost = chance.share() < curve.loss(Db(mean + 10.0 * (x * x + y * y).log10()));
            in_a_row = if lost { in_a_row + 1.0 } else { 0.0 };
            begun += f64::from(counted && lost && (in_a_row - packets).abs() < 0.5);
        }
        runs.push((begun, clear * how.packet_interval.0));
    }
    let (begun, clear) = runs.iter().fold((0.0, 0.0), |sum, run| (sum.0 + run.0, sum.1 + run.1));
    let rate = begun / clear;
    let spread: f64 = runs.iter().map(|(begun, clear)| (begun - rate * clear).powi(2)).sum();
    (rate, spread.sqrt() / clear)
}

#[test]
fn simulated_flights_fall_into_failsafe_as_often_within_the_model_s_factor() {
    let curve = curve(7);
    let mut chance = Chance::new(5);
    // Doppler shift (160 Hz is 20 m/s at 2.4 GHz), interval, time-out, K, mean level, and the factor that
    // the model is documented to keep to.
    let flying = (0.6, 3.0);
    let standing = (0.25, 2.0);
    let rows = [
        (160.0, 0.02, 0.1, -40.0, 2.0, flying),
        (160.0, 0.02, 0.1, 6.0, 0.0, flying),
        (160.0, 0.02, 0.1, 12.0, -1.5, flying),
        (160.0, 0.004, 0.1, 6.0, -4.5, flying),
        (160.0, 0.004, 0.5, 12.0, -5.5, flying),
        (40.0, 0.004, 0.1, -40.0, -2.5, flying),
        (40.0, 0.004, 0.1, 6.0, -3.0, flying),
        (40.0, 0.02, 0.2, 6.0, -2.5, flying),
        (10.0, 0.004, 0.25, 12.0, -3.5, flying),
        (2.0, 0.01, 0.5, 6.0, -2.0, flying),
        (0.5, 0.02, 0.5, -40.0, 5.0, standing),
        (0.5, 0.02, 0.5, 12.0, -2.0, standing),
    ];
    let mut wrong = Vec::new();
    for (shift, interval, timeout, k, mean, (least, most)) in rows {
        let how = failsafe(shift, interval, timeout);
        let (rate, error) = simulated(&curve, k, mean, &how, &mut chance);
        let got = rate_per_second(&curve, Scatter::Rician { k: Db(k) }, Db(mean), &how).unwrap();
        let (low, high) = (least * (rate - 3.0 * error), most * (rate + 3.0 * error));
        // A simulation that met too few failsafes proves nothing.
        if !(low..=high).contains(&got) || error > 0.2 * rate {
            wrong.push(format!(
                "{shift} Hz {interval} s {timeout} s K {k} at {mean}: {got}, simulated {rate} ± {error}"
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Standing still, a level stays what it is: only where it happens to be so that most packets are lost
/// can a run begin, with `E[l^N (1 − l)]` a packet over the levels drawn here. That is less than moving
/// brings; the model gives 0.5 to 1 times as many.
#[test]
fn a_frozen_fading_begins_little() {
    const DRAWS: u32 = 100_000;
    let curve = curve(7);
    let mut chance = Chance::new(8);
    for (k_db, mean) in [(-40.0, 10.0), (6.0, 5.0), (10.0, 2.0)] {
        let scatter = Scatter::Rician { k: Db(k_db) };
        let rate = |shift| rate_per_second(&curve, scatter, Db(mean), &failsafe(shift, 0.004, 0.1)).unwrap();
        let k = Db(k_db).ratio();
        let (direct, scattered) = ((k / (k + 1.0)).sqrt(), (0.5 / (k + 1.0)).sqrt());
        let (mut all, mut begun) = (0.0, 0.0);
        for _ in 0..DRAWS {
            let (along, across) = chance.normals();
            let (x, y) = (direct + scattered * along, scattered * across);
            let lost = curve.loss(Db(mean + 10.0 * (x * x + y * y).log10()));
            all += lost.powi(25) / f64::from(DRAWS);
            begun += lost.powi(25) * (1.0 - lost) / f64::from(DRAWS);
        }
        let drawn = begun / (1.0 - all) / 0.004;
        let got = rate(0.0);
        assert!((0.5 * drawn..1.05 * drawn).contains(&got), "K {k_db}: {got}, drawn {drawn}");
        assert!(got < rate(1.0), "K {k_db}: {got} {}", rate(1.0));
        assert!((rate(1e-6) / got - 1.0).abs() < 0.05, "K {k_db}: {} {got}", rate(1e-6));
    }
}

#[test]
fn chances_add_up() {
    assert!((chance_in(0.01, Seconds(100.0)) - (1.0 - (-1.0_f64).exp())).abs() < 1e-12);
    assert!(chance_in(0.0, Seconds(600.0)).abs() < 1e-15);
    let how = failsafe(160.0, 0.02, 0.5);
    let gone = outlook(&curve(7), Scatter::Rayleigh, Db(-40.0), &how).unwrap();
    // Nothing arrives: a failsafe each time-out, and all the time.
    assert!(
        (gone.begins_per_second - 2.0).abs() < 1e-9 && (gone.share_of_time - 1.0).abs() < 1e-9,
        "{gone:?}"
    );
    assert!((gone.chance_in(Seconds(0.0)) - 1.0).abs() < 1e-9);
    let fine = outlook(&curve(7), Scatter::Rician { k: Db(10.0) }, Db(30.0), &how).unwrap();
    assert!(fine.chance_in(Seconds(600.0)) < 1e-9, "{fine:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn stronger_is_rarer_and_longer_timeouts_are_rarer(
        k in -40.0..60.0_f64, shift in 0.0..600.0_f64, interval in 0.002..0.05_f64, packets in 1_u32..60,
        mean in -30.0..40.0_f64, more in 0.5..10.0_f64,
    ) {
        let (curve, scatter) = (curve(7), Scatter::Rician { k: Db(k) });
        let timeout = (interval * f64::from(packets)).max(0.01);
        let rate = |mean: f64, timeout: f64| outlook(&curve, scatter, Db(mean), &failsafe(shift, interval, timeout)).unwrap();
        let here = rate(mean, timeout);
        prop_assert!(here.begins_per_second >= 0.0 && here.begins_per_second <= 1.0 / interval);
        prop_assert!((0.0..=1.0).contains(&here.share_of_time));
        let stronger = rate(mean + more, timeout);
        prop_assert!(stronger.begins_per_second <= here.begins_per_second * 1.01 + 1e-9, "{here:?} {stronger:?}");
        let longer = rate(mean, 2.0 * timeout);
        prop_assert!(longer.begins_per_second <= here.begins_per_second * 1.01 + 1e-9, "{here:?} {longer:?}");
    }
}

#[test]
fn what_is_out_of_range_is_named() {
    let refused =
        |how: Failsafe| outlook(&curve(7), Scatter::Rayleigh, Db(0.0), &how).unwrap_err().to_string();
    assert!(refused(failsafe(10.0, 0.02, 0.0)).contains("`timeout_s` is 0"));
    assert!(refused(failsafe(10.0, 0.0, 0.5)).contains("`packet_interval_s` is 0"));
    assert!(refused(failsafe(f64::NAN, 0.02, 0.5)).contains("`doppler_hz` is NaN"));
    let far =
        outlook(&curve(7), Scatter::Rayleigh, Db(201.0), &failsafe(1.0, 0.02, 0.5)).unwrap_err().to_string();
    assert!(far.contains("`mean_over_sensitivity_db` is 201"), "{far}");
}
