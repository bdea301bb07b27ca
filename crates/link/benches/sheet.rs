//! A whole link sheet, and the adviser over 5,000 settings beside brute force.
//!
//! The adviser's ratio to brute force is what counts; the times are reported in
//! docs/measured.md.
#![expect(clippy::unwrap_used, reason = "a benchmark that cannot go on fails")]

use divan::{Bencher, black_box};
use link::adviser::{Judged, advise, judge_all, settings, unbeaten};
use link::css::{Chip, Css};
use link::law::{Access, Limits};
use link::mode::{Mode, Modulation};
use link::sheet::{Setting, Stage, sheet};
use link::wish::{Asked, Gear, GearMode, build};
use units::{Hertz, Khz, Mhz, Milliwatts, Seconds};

fn main() {
    divan::main();
}

fn mode(sf: u8, bandwidth: f64, denominator: u8, rate_hz: f64) -> GearMode {
    GearMode {
        mode: Mode {
            name: format!("SF{sf} {bandwidth} 4/{denominator}"),
            modulation: Modulation::Css(Css::neutral(Chip::Ghz2g4, sf, Khz(bandwidth), denominator)),
            packet_rate: Hertz(rate_hz),
            payload_bytes: 12,
            telemetry_one_in: None,
        },
        shares: vec![2, 4, 8, 16, 32],
        hop_every: Some(4),
    }
}

/// 50 modes, 5 shares, 20 powers: 5,000 settings.
fn gear() -> Gear {
    let mut modes = Vec::new();
    for bandwidth in [203.125, 406.25, 812.5, 1625.0] {
        for sf in 5..=8u8 {
            for denominator in 5..=8 {
                let css = Css::neutral(Chip::Ghz2g4, sf, Khz(bandwidth), denominator);
                let airtime = css.airtime(12).unwrap();
                modes.push(mode(sf, bandwidth, denominator, (0.7 / airtime.seconds().0).min(1000.0)));
            }
        }
    }
    modes.truncate(50);
    Gear {
        family: "Bench".to_owned(),
        band: "2.4 GHz".to_owned(),
        low: Mhz(2400.0),
        high: Mhz(2483.5),
        channels: Some(40),
        spacing: Some(Khz(2000.0)),
        access: Access::None,
        noise_figure: None,
        modes,
        power_steps: (1..=20).map(|step| Milliwatts(f64::from(step) * 5.0)).collect(),
        telemetry_power: Some(Milliwatts(20.0)),
        failsafe_after: Some(Seconds(1.0)),
    }
}

fn asked() -> Asked {
    let typed = [("distance_m", "1500"), ("region", "EU"), ("latency_ms", "60")];
    let typed: Vec<(String, String)> =
        typed.iter().map(|(key, value)| ((*key).to_owned(), (*value).to_owned())).collect();
    build(&gear(), &typed, &Limits::shipped()).unwrap()
}

#[divan::bench]
fn whole_sheet(bencher: Bencher) {
    let (asked, limits) = (asked(), Limits::shipped());
    bencher.bench_local(|| sheet(black_box(&asked.setup), &asked.setting, &asked.others, &limits).unwrap());
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn adviser_over_5000_settings(bencher: Bencher) {
    let (asked, limits) = (asked(), Limits::shipped());
    let all = asked.all.as_ref().unwrap();
    assert_eq!(all.len(), 5000 / 50 * gear().modes.len());
    bencher.bench_local(|| advise(black_box(&asked.setup), all, &limits).unwrap());
}

fn judged(all: &[Setting]) -> Vec<Judged> {
    let asked = asked();
    judge_all(&Stage::new(&asked.setup).unwrap(), all, &Limits::shipped()).unwrap()
}

#[divan::bench]
fn choosing_from_5000(bencher: Bencher) {
    let judged = judged(&asked().all.unwrap());
    bencher.bench_local(|| unbeaten(black_box(&judged)));
}

#[divan::bench]
fn choosing_from_5000_by_brute_force(bencher: Bencher) {
    let judged = judged(&asked().all.unwrap());
    bencher.bench_local(|| {
        let beaten = |one: &Judged| judged.iter().any(|other| other.scores.beats(&one.scores));
        black_box(&judged).iter().filter(|one| !beaten(one)).count()
    });
}

#[divan::bench]
fn every_setting_of_a_family(bencher: Bencher) {
    let gear = gear();
    let modes: Vec<_> =
        gear.modes.iter().map(|one| (one.mode.clone(), one.shares.clone(), one.hop_every)).collect();
    bencher.bench_local(|| settings(black_box(&modes), &gear.power_steps, None).len());
}
