//! Diffraction loss over a profile beside another library's in the same run, and a path's
//! whole loss.

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

/// The same by the crate p1812 0.1.0 (Rec. ITU-R P.1812-8, 4.3): smooth surface, then the
/// complete method, both polarisations at once.
#[divan::bench(args = [50, 200, 1000])]
fn diffraction_by_p1812(bencher: Bencher, points: u32) {
    let profile = hills(points);
    let km: Vec<f64> = profile.distances_m().iter().map(|metres| metres / 1e3).collect();
    let heights = profile.heights_m();
    let last = heights.len() - 1;
    bencher.bench_local(|| {
        let (km, heights) = (black_box(&km), black_box(heights));
        let surface = p1812::terrain::smooth_earth_heights(km, heights, heights, 1.5, 60.0, 8500.0, 0.868);
        let (from, to) = (heights[0] + 1.5, heights[last] + 60.0);
        p1812::diffraction::dl_delta_bull(
            km,
            heights,
            from,
            to,
            surface.hstd,
            surface.hsrd,
            8500.0,
            0.868,
            0.0,
            false,
        )
        .ld
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
