//! Diffraction loss over a profile, and a path's whole loss.

use divan::{Bencher, black_box};
use link::diffraction::delta_bullington;
use link::ground::{Ground, Polarisation};
use link::path::Path;
use link::profile::Profile;
use units::{Metres, Mhz};

fn main() {
    divan::main();
}

/// Rolling hills over 12 km, the same for every run.
fn hills(points: u32) -> Profile {
    let distances = (0..points).map(|i| f64::from(i) * 12_000.0 / f64::from(points - 1)).collect();
    let heights = (0..points).map(|i| f64::from(i) * 200.0 / f64::from(points));
    let heights = heights.map(|x| 150.0 + 40.0 * (x / 17.0).sin() + 15.0 * (x / 3.1).cos()).collect();
    Profile::new(distances, heights).expect("distances grow")
}

#[divan::bench(args = [50, 200, 1000])]
fn diffraction(bencher: Bencher, points: u32) {
    let profile = hills(points);
    bencher.bench_local(|| {
        delta_bullington(
            black_box(&profile),
            Mhz(868.0),
            Metres(1.5),
            Metres(60.0),
            Polarisation::Vertical,
            &Ground::AVERAGE_LAND,
            Metres(8_500_000.0),
        )
    });
}

#[divan::bench]
fn path_over_hills(bencher: Bencher) {
    let path = Path { profile: Some(hills(200)), ..Path::level(Metres(1.5), Metres(60.0)) };
    bencher.bench_local(|| black_box(&path).loss(Mhz(868.0), Metres(11_000.0)));
}

#[divan::bench]
fn path_over_smooth_earth(bencher: Bencher) {
    let path = Path::level(Metres(1.5), Metres(60.0));
    bencher.bench_local(|| black_box(&path).loss(Mhz(868.0), black_box(Metres(4000.0))));
}
