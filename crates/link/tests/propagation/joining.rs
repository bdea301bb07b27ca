//! Where the ground is a mirror, where it is an obstacle, and that nothing jumps between.

use link::diffraction::spherical_loss;
use link::free_space::free_space_loss;
use link::ground::{Ground, Polarisation, plane_earth_loss};
use link::horizon::effective_radius;
use link::path::{DEEPEST_NULL, Path, Trees};
use link::profile::Profile;
use link::vegetation::TreeModel;
use proptest::prelude::*;
use units::{Metres, Mhz};

/// The largest jump of a function between two places: where it changes by more than `step`
/// between neighbours, the steeper half is looked into again and again.
fn jump(of: &dyn Fn(f64) -> f64, low: f64, high: f64, places: u32, step: f64) -> (f64, f64) {
    let at = |i: u32| low * (high / low).powf(f64::from(i) / f64::from(places));
    let mut largest = (0.0, low);
    for i in 0..places {
        let (mut a, mut b) = (at(i), at(i + 1));
        let (mut fa, mut fb) = (of(a), of(b));
        while (fa - fb).abs() > step && b / a - 1.0 > 1e-12 {
            let middle = (a * b).sqrt();
            let fm = of(middle);
            if (fa - fm).abs() > (fm - fb).abs() {
                (b, fb) = (middle, fm);
            } else {
                (a, fa) = (middle, fm);
            }
        }
        if (fa - fb).abs() > largest.0 {
            largest = ((fa - fb).abs(), a);
        }
    }
    largest
}

/// P.526's own branches miss each other by less than this: 0.02 dB for each antenna at beta Y = 2.
const STEP: f64 = 0.05;

fn path(h1: f64, h2: f64, polarisation: Polarisation, profile: Option<Profile>) -> Path {
    Path { polarisation, profile, ..Path::level(Metres(h1), Metres(h2)) }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn no_step_over_the_smooth_earth(
        mhz in 25.0..6000.0, h1 in 0.1..20.0, h2 in 0.1..500.0, vertical in any::<bool>(),
    ) {
        let polarisation = if vertical { Polarisation::Vertical } else { Polarisation::Horizontal };
        let path = path(h1, h2, polarisation, None);
        for part in ["total", "clearance"] {
            let of = |d: f64| {
                let loss = path.loss(Mhz(mhz), Metres(d)).unwrap();
                if part == "total" { loss.total.0 } else { loss.clearance.clamp(-5.0, 5.0) }
            };
            let (step, at) = jump(&of, 1.0, 300_000.0, 400, STEP);
            prop_assert!(step <= STEP, "{part} jumps by {step} at {at} m");
        }
    }

    #[test]
    fn no_step_over_hills(
        steps in prop::collection::vec((20.0..900.0f64, -60.0..60.0f64), 3..20),
        mhz in 25.0..6000.0, h1 in 0.5..10.0, h2 in 0.5..300.0,
    ) {
        let mut at = 0.0;
        let (mut distances, mut heights) = (Vec::new(), Vec::new());
        for (step, height) in steps {
            distances.push(at);
            heights.push(200.0 + height);
            at += step;
        }
        let length = *distances.last().unwrap();
        let path = path(h1, h2, Polarisation::Vertical, Some(Profile::new(distances, heights).unwrap()));
        let of = |d: f64| path.loss(Mhz(mhz), Metres(d)).unwrap().total.0;
        let (step, at) = jump(&of, 1.0, length, 400, STEP);
        prop_assert!(step <= STEP, "jumps by {step} at {at} m of {path:?}");
    }

    #[test]
    fn no_null_is_deeper_than_said(mhz in 400.0..6000.0, h1 in 1.0..30.0, h2 in 20.0..500.0, d in 10.0..3000.0) {
        let path = path(h1, h2, Polarisation::Horizontal, None);
        let loss = path.loss(Mhz(mhz), Metres(d)).unwrap();
        // Two rays at best double the field.
        prop_assert!(loss.ground.0 >= -6.0206 - 1e-9, "{loss:?}");
        if loss.clearance >= 1.0 {
            prop_assert!(loss.ground <= DEEPEST_NULL, "{loss:?}");
        }
    }
}

/// A level profile of 50 m steps is the smooth Earth.
#[test]
fn a_level_profile_is_the_smooth_earth() {
    let distances: Vec<f64> = (0..=600).map(|i| f64::from(i) * 50.0).collect();
    let heights = vec![100.0; distances.len()];
    let profile = Profile::new(distances, heights).unwrap();
    for mhz in [868.0, 2450.0] {
        for (h1, h2) in [(1.5, 2.0), (1.5, 10.0), (2.0, 100.0)] {
            let smooth = path(h1, h2, Polarisation::Vertical, None);
            let level = path(h1, h2, Polarisation::Vertical, Some(profile.clone()));
            for d in [80.0, 300.0, 1000.0, 3000.0, 10_000.0, 30_000.0] {
                let (a, b) =
                    (smooth.loss(Mhz(mhz), Metres(d)).unwrap(), level.loss(Mhz(mhz), Metres(d)).unwrap());
                // The two find the least clearance at slightly different places, so weigh slightly differently.
                assert!((a.total - b.total).0.abs() < 1.0, "{mhz} {h1} {h2} {d}: {a:?} {b:?}");
                assert!((a.elevation.0 - b.elevation.0).abs() < 1e-9);
            }
        }
    }
}

/// Beyond the horizon only diffraction counts, near by only two rays; never both.
#[test]
fn diffraction_and_mirror_are_never_added() {
    let (mhz, land, v) = (Mhz(868.0), Ground::AVERAGE_LAND, Polarisation::Vertical);
    let low = path(1.5, 2.0, v, None);
    let far = low.loss(mhz, Metres(20_000.0)).unwrap();
    let radius = effective_radius(4.0 / 3.0).unwrap();
    let bare = spherical_loss(mhz, Metres(20_000.0), Metres(1.5), Metres(2.0), v, &land, radius).unwrap();
    assert!((far.ground - bare).0.abs() < 1e-9, "{far:?} {bare}");
    assert!(far.diffraction_share > 1.0 - 1e-12 && far.clearance < 0.0, "{far:?}");

    let near = path(1.5, 50.0, v, None).loss(mhz, Metres(1500.0)).unwrap();
    let free = free_space_loss(mhz, near.slant).unwrap();
    let mirror = plane_earth_loss(mhz, Metres(1500.0), Metres(1.5), Metres(50.0), v, &land).unwrap() - free;
    assert!(near.diffraction_share < 1e-12 && near.clearance > 1.0, "{near:?}");
    // The Earth's bulge and the grass take a few tenths from the mirror.
    assert!((near.ground - mirror).0.abs() < 0.5, "{near:?} {mirror}");

    // Between them both tell nearly the same: low antennas over level ground, 300 m to 2 km.
    for d in [300.0, 600.0, 1000.0, 2000.0] {
        let (d, h) = (Metres(d), Metres(1.5));
        let joined = path(1.5, 1.5, v, None).loss(mhz, d).unwrap();
        let mirror = plane_earth_loss(mhz, d, h, h, v, &land).unwrap();
        assert!((joined.total - mirror).0.abs() < 3.0, "{d}: {joined:?} {mirror}");
    }
}

#[test]
fn a_hill_and_trees_cost_what_they_cost_alone() {
    let profile = Profile::read("0,100;400,104;900,171;1500,112;2000,108;2600,100").unwrap();
    let hill = path(1.5, 20.0, Polarisation::Vertical, Some(profile));
    let mhz = Mhz(2450.0);
    let behind = hill.loss(mhz, Metres(2000.0)).unwrap();
    assert!(behind.clearance < 0.0 && behind.diffraction_share > 1.0 - 1e-12, "{behind:?}");
    assert!(behind.ground.0 > 20.0, "{behind:?}");
    let above = Path { air_height: Metres(400.0), ..hill.clone() }.loss(mhz, Metres(2000.0)).unwrap();
    assert!(above.clearance > 1.0 && above.ground.0 < 6.1 && above.elevation.0 > 10.0, "{above:?}");

    let wood = Trees { model: TreeModel::Weissberger, depth: Metres(50.0) };
    let through = Path { trees: Some(wood), ..hill.clone() }.loss(mhz, Metres(2000.0)).unwrap();
    // Weissberger 1982 at 2450 MHz, 50 m: 17.1147 dB.
    assert!(((through.total - behind.total).0 - 17.1147).abs() < 1e-4, "{through:?}");
    assert!((through.trees.0 - 17.1147).abs() < 1e-3);
    // Of a shorter path all of it.
    let short = Path { trees: Some(wood), ..hill }.loss(mhz, Metres(10.0)).unwrap();
    assert!((short.trees.0 - 5.8041).abs() < 1e-3, "{short:?}");
}
