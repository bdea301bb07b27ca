//! What must hold for any fading, and how often a simulated one fades.

use link::error_rate::PacketCurve;
use link::fading::{
    FadedCurve, Scatter, delivery, k_by_elevation, margin_for, normal_cdf, normal_quantile, outage,
    shadowing_by_height, shadowing_outage,
};
use proptest::prelude::*;
use units::{Db, Degrees, Metres};

use crate::chance::Chance;
use crate::curve;

fn any_scatter() -> impl Strategy<Value = Scatter> {
    prop_oneof![Just(Scatter::Rayleigh), (-40.0..60.0_f64).prop_map(|k| Scatter::Rician { k: Db(k) })]
}

proptest! {
    #[test]
    fn more_margin_is_never_more_outage(scatter in any_scatter(), margin in -100.0..200.0_f64, more in 0.0..30.0_f64) {
        let here = outage(scatter, Db(margin)).unwrap();
        let there = outage(scatter, Db((margin + more).min(200.0))).unwrap();
        prop_assert!((0.0..=1.0).contains(&here), "{here}");
        prop_assert!(there <= here * (1.0 + 1e-9), "{here} {there}");
    }

    #[test]
    fn a_margin_gives_back_its_outage(scatter in any_scatter(), share in 1e-6..0.999_999_f64) {
        let margin = margin_for(scatter, share).unwrap();
        let back = outage(scatter, margin).unwrap();
        // A ten-millionth of a decibel moves the outage of a nearly steady wave by more than 1e-6 of it.
        let (low, high) = (outage(scatter, margin + Db(1e-6)).unwrap(), outage(scatter, margin - Db(1e-6)).unwrap());
        prop_assert!(low <= share * (1.0 + 1e-9) && share <= high * (1.0 + 1e-9), "{share} {back}");
    }

    #[test]
    fn a_stronger_direct_wave_fades_less(k in -10.0..50.0_f64, more in 0.1..10.0_f64, margin in 1.0..30.0_f64) {
        let of = |k| outage(Scatter::Rician { k: Db(k) }, Db(margin)).unwrap();
        prop_assert!(of(k + more) <= of(k) * (1.0 + 1e-9));
        prop_assert!(of(k) <= outage(Scatter::Rayleigh, Db(margin)).unwrap() * (1.0 + 1e-9));
    }

    #[test]
    fn a_faded_curve_rises_and_agrees_with_the_integral(sf in 5_u8..=12, k in -40.0..60.0_f64, mean in -30.0..70.0_f64, more in 0.0..3.0_f64) {
        let (curve, scatter) = (curve(sf), Scatter::Rician { k: Db(k) });
        let faded = FadedCurve::new(&curve, scatter).unwrap();
        let (here, there) = (faded.delivery(Db(mean)), faded.delivery(Db(mean + more)));
        prop_assert!((0.0..=1.0).contains(&here) && here <= there, "{here} {there}");
        let integral = delivery(&curve, scatter, Db(mean));
        prop_assert!((here - integral).abs() < 1e-3, "{here} {integral}");
    }

    #[test]
    fn the_needed_level_delivers(sf in 5_u8..=12, scatter in any_scatter(), wanted in 0.001..0.9999_f64) {
        let faded = FadedCurve::new(&curve(sf), scatter).unwrap();
        let needed = faded.needed(wanted);
        prop_assert!(faded.delivery(needed) >= wanted - 1e-12);
        prop_assert!(faded.delivery(needed - Db(1e-6)) <= wanted + 1e-12);
    }

    #[test]
    fn nothing_is_not_a_number(k in any::<f64>(), margin in any::<f64>(), share in any::<f64>()) {
        let scatter = Scatter::Rician { k: Db(k) };
        for answer in [outage(scatter, Db(margin)), margin_for(scatter, share).map(|db| db.0), shadowing_outage(Db(margin), Db(k))] {
            prop_assert!(answer.is_ok_and(f64::is_finite) || answer_is_refused(scatter, margin, share));
        }
        let elevation = k_by_elevation(Degrees(margin)).0;
        prop_assert!((6.0..=15.0).contains(&elevation), "{elevation}");
        let shadowing = shadowing_by_height(Metres(margin)).0;
        prop_assert!((1.0..=4.2).contains(&shadowing), "{shadowing}");
        let curve = curve(7);
        prop_assert!((0.0..=1.0).contains(&delivery(&curve, Scatter::Rayleigh, Db(margin.clamp(-1e6, 1e6)))));
    }

    #[test]
    fn the_normal_quantile_is_the_way_back(p in 1e-12..1.0_f64) {
        prop_assume!(p < 1.0 - 1e-12);
        prop_assert!((normal_cdf(normal_quantile(p)) - p).abs() < 1e-12);
        prop_assert!((normal_quantile(p) + normal_quantile(1.0 - p)).abs() < 1e-3);
    }
}

/// Refused because one of the three lies outside its range.
fn answer_is_refused(scatter: Scatter, margin: f64, share: f64) -> bool {
    let Scatter::Rician { k } = scatter else { return false };
    !(-40.0..=60.0).contains(&k.0)
        || !(0.0..=30.0).contains(&k.0)
        || !(-100.0..=200.0).contains(&margin)
        || !(1e-6..=0.999_999).contains(&share)
}

#[test]
fn what_is_out_of_range_is_named() {
    let error = outage(Scatter::Rician { k: Db(61.0) }, Db(3.0)).unwrap_err().to_string();
    assert!(error.contains("`k_db` is 61") && error.contains("-40 to 60 dB"), "{error}");
    let error = margin_for(Scatter::Rayleigh, 1.0).unwrap_err().to_string();
    assert!(error.contains("`probability` is 1"), "{error}");
    assert!(FadedCurve::new(&curve(7), Scatter::Rician { k: Db(f64::NAN) }).is_err());
}

#[test]
fn the_anchors_of_k_and_shadowing() {
    assert!((k_by_elevation(Degrees(90.0)).0 - 15.0).abs() < 1e-6);
    assert!((k_by_elevation(Degrees(0.0)).0 - 6.0).abs() < 1e-12);
    // 3GPP TR 36.777 v15.0 table B-3 at 60 m, as in radio-aerial-rural.csv.
    assert!((shadowing_by_height(Metres(60.0)).0 - 3.1870).abs() < 1e-3);
    assert!((shadowing_outage(Db(8.0), Db(4.0)).unwrap() - 0.022_750_131_948_179_2).abs() < 1e-12);
    assert!((shadowing_outage(Db(0.0), Db(0.0)).unwrap() - 0.5).abs() < 1e-12);
}

/// A level drawn from two normal numbers, in decibels over the mean power.
fn drawn(chance: &mut Chance, k: f64) -> f64 {
    let (x, y) = chance.normals();
    let (direct, scattered) = ((k / (k + 1.0)).sqrt(), (0.5 / (k + 1.0)).sqrt());
    let (x, y) = (direct + scattered * x, scattered * y);
    10.0 * (x * x + y * y).log10()
}

#[test]
fn simulated_levels_fade_as_often() {
    const DRAWS: f64 = 200_000.0;
    let mut chance = Chance::new(4);
    for (k_db, margin) in [(-40.0, 5.0), (0.0, 3.0), (6.0, 3.0), (10.0, 3.0), (10.0, -1.0), (15.0, 2.0)] {
        let wanted = outage(Scatter::Rician { k: Db(k_db) }, Db(margin)).unwrap();
        let mut under = 0.0;
        for _ in 0..200_000 {
            under += f64::from(drawn(&mut chance, Db(k_db).ratio()) < -margin);
        }
        let error = (wanted * (1.0 - wanted) / DRAWS).sqrt();
        assert!(
            (under / DRAWS - wanted).abs() < 3.0 * error,
            "K {k_db} margin {margin}: {} {wanted}",
            under / DRAWS
        );
    }
}

#[test]
fn simulated_packets_arrive_as_often() {
    const DRAWS: f64 = 100_000.0;
    let mut chance = Chance::new(9);
    let by = |curve: &PacketCurve, k_db: f64, mean: f64, chance: &mut Chance| {
        let mut arrived = 0.0;
        for _ in 0..100_000 {
            let level = mean + drawn(chance, Db(k_db).ratio());
            arrived += f64::from(chance.share() >= curve.loss(Db(level)));
        }
        arrived / DRAWS
    };
    for (sf, k_db, mean) in
        [(5, 0.0, 2.0), (7, 6.0, -1.0), (7, 12.0, -2.0), (10, -40.0, 8.0), (12, 15.0, -3.0)]
    {
        let curve = curve(sf);
        let wanted = FadedCurve::new(&curve, Scatter::Rician { k: Db(k_db) }).unwrap().delivery(Db(mean));
        let got = by(&curve, k_db, mean, &mut chance);
        let error = (wanted * (1.0 - wanted) / DRAWS).sqrt();
        assert!((got - wanted).abs() < 3.0 * error, "SF{sf} K {k_db} at {mean}: {got} {wanted}");
    }
}
