//! Falls, glides and turns against closed forms and an independent integration.

use fitting::failsafe::fall::{
    Body, GRAVITY_M_S2, Glide, Shot, ballistic, coast, glide, stepped, turn_radius,
};
use link::atmosphere::Density;
use proptest::prelude::*;
use units::{Degrees, Metres, MetresPerSecond, Seconds};

use crate::close;

const G: f64 = GRAVITY_M_S2;

fn shot(height: f64, speed: f64, climb: f64, drag: f64) -> Shot {
    Shot { height: Metres(height), speed: MetresPerSecond(speed), climb: Degrees(climb), drag_per_m: drag }
}

/// Vacuum, closed form (textbook): `t = (w + √(w² + 2gh)) / g`, `x = u t`, `v² = v₀² + 2gh`.
#[test]
fn without_air_it_is_the_parabola() {
    for (height, speed, climb) in [
        (100.0, 0.0, 0.0),
        (80.0, 20.0, 0.0),
        (0.0, 30.0, 45.0),
        (120.0, 25.0, 30.0),
        (50.0, 40.0, -60.0),
        (1500.0, 150.0, 89.0),
        (10.0, 15.0, 90.0),
        (10.0, 15.0, -90.0),
    ] {
        let (w, u) = (speed * f64::to_radians(climb).sin(), speed * f64::to_radians(climb).cos());
        let time = (w + (w * w + 2.0 * G * height).sqrt()) / G;
        let got = ballistic(&shot(height, speed, climb, 0.0));
        assert!(close(got.time.0, time, 1e-7), "{height} {speed} {climb}: {got:?}, not {time} s");
        assert!(close(got.along.0, u * time, 1e-6), "{height} {speed} {climb}: {got:?}, not {} m", u * time);
        assert!(close(got.speed.0, (speed * speed + 2.0 * G * height).sqrt(), 1e-6));
    }
}

/// From rest with drag, closed form (textbook): `v = v∞ tanh(g t / v∞)`, `h = v∞²/g ln cosh(g t / v∞)`.
#[test]
fn straight_down_with_drag_it_is_the_hyperbolic_tangent() {
    for (height, drag) in [(10.0, 0.01), (100.0, 0.02), (120.0, 0.005), (300.0, 0.1), (50.0, 1.0), (5.0, 2.0)]
    {
        let end = (G / drag).sqrt();
        let time = end / G * (G * height / (end * end)).exp().acosh();
        let got = ballistic(&shot(height, 0.0, 0.0, drag));
        assert!(close(got.time.0, time, 1e-6 * time), "{height} m, {drag}/m: {got:?}, not {time} s");
        assert!(close(got.speed.0, end * (G * time / end).tanh(), 1e-6 * end));
        assert!(close(got.along.0, 0.0, 1e-9));
    }
}

/// Straight up and down again with drag, closed forms (textbook): up in `v∞/g atan(v₀/v∞)` to
/// `v∞²/2g ln(1 + v₀²/v∞²)`; then from rest.
#[test]
fn straight_up_with_drag_it_is_the_arctangent() {
    for (height, speed, drag) in [(0.0, 20.0, 0.02), (50.0, 30.0, 0.05), (100.0, 15.0, 0.5)] {
        let end = (G / drag).sqrt();
        let up = end / G * (speed / end).atan();
        let top = height + end * end / (2.0 * G) * (speed * speed / (end * end)).ln_1p();
        let time = up + end / G * (G * top / (end * end)).exp().acosh();
        let got = ballistic(&shot(height, speed, 90.0, drag));
        assert!(close(got.time.0, time, 1e-6 * time), "{height} {speed} {drag}: {got:?}, not {time} s");
    }
}

/// Sloping falls with quadratic drag by Bernoulli's hodograph (1719; textbook): with p the slope of the
/// path, `1/u² = 1/u₀² + (k/g) [q √(1+q²) + asinh q]` from p to p₀, `x = ∫ u²/g dp`, `t = ∫ u/g dp`,
/// `z = ∫ p u²/g dp`; the integrals by Simpson's rule, the end by halving.
fn hodograph(height: f64, speed: f64, climb: f64, drag: f64) -> (f64, f64) {
    let start = f64::to_radians(climb).tan();
    let forward = speed * f64::to_radians(climb).cos();
    let arc = |p: f64| p * p.hypot(1.0) + p.asinh();
    let u = |p: f64| (forward.powi(-2) + drag / G * (arc(start) - arc(p))).sqrt().recip();
    // In s with p = sinh s, so that the steep end takes no more steps than the flat one.
    let first = start.asinh();
    let sum = |last: f64, of: &dyn Fn(f64) -> f64| {
        let n = 4000;
        let step = (first - last) / f64::from(n);
        let at = |i: i32| {
            let s = last + step * f64::from(i);
            of(s.sinh()) * s.cosh()
        };
        let inner: f64 = (1..n).map(|i| if i % 2 == 1 { 4.0 * at(i) } else { 2.0 * at(i) }).sum();
        (at(0) + inner + at(n)) * step / 3.0
    };
    let (mut low, mut high) = (first - 10.0, first);
    for _ in 0..80 {
        let middle = f64::midpoint(low, high);
        if height + sum(middle, &|p| p * u(p).powi(2) / G) < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    (sum(high, &|p| u(p).powi(2) / G), sum(high, &|p| u(p) / G))
}

#[test]
fn sloping_falls_agree_with_the_hodograph() {
    for (height, speed, climb, drag) in [
        (80.0, 20.0, 0.0, 0.01),
        (80.0, 20.0, 0.0, 0.05),
        (120.0, 35.0, 20.0, 0.01),
        (120.0, 35.0, 45.0, 0.02),
        (30.0, 12.0, -30.0, 0.03),
        (10.0, 40.0, 10.0, 0.005),
        (200.0, 60.0, 0.0, 0.02),
        (60.0, 15.0, 60.0, 0.1),
    ] {
        let (along, time) = hodograph(height, speed, climb, drag);
        let got = ballistic(&shot(height, speed, climb, drag));
        assert!(
            close(got.along.0, along, 1e-5 * along) && close(got.time.0, time, 1e-5 * time),
            "{height} {speed} {climb} {drag}: {got:?}, not {along} m in {time} s"
        );
    }
}

/// A method of fourth order errs a sixteenth as much at half the step (textbook).
#[test]
fn half_the_step_errs_a_sixteenth() {
    for one in [shot(120.0, 35.0, 20.0, 0.03), shot(80.0, 20.0, 0.0, 0.05), shot(200.0, 60.0, 45.0, 0.02)] {
        let true_at = stepped(&one, Seconds(0.001)).along.0;
        let miss = |step: f64| (stepped(&one, Seconds(step)).along.0 - true_at).abs();
        for step in [0.2, 0.1] {
            let order = (miss(step) / miss(step / 2.0)).log2();
            assert!((3.5..4.6).contains(&order), "{one:?} at {step} s: order {order}");
        }
        assert!(close(ballistic(&one).along.0, true_at, 1e-6));
    }
}

/// `k = ρ S / 2m` by hand: 1.225 · 0.02 / 2.8; 15 °C at sea level is 1.225 kg/m³ (ISO 2533).
/// What is light and was fast drifts down at its steady speed, √(g/k), for nearly all of its fall (textbook).
#[test]
fn a_feather_takes_its_time() {
    let down = ballistic(&shot(1500.0, 150.0, 0.0, 1.9));
    let steady = (GRAVITY_M_S2 / 1.9_f64).sqrt();
    assert!((down.time.0 - 1500.0 / steady).abs() < 2.0, "{down:?}");
    assert!((down.speed.0 - steady).abs() < 1e-6, "{down:?}");
}

#[test]
fn drag_of_a_body() {
    let body = Body { mass_kg: 1.4, drag_area_m2: 0.02 };
    assert!(close(body.drag_per_m(Density(1.225)), 0.00875, 1e-12));
}

/// By hand: glide ratio 10 from 50 m is 500 m along 502.4938 m of path; at 12 m/s 41.8745 s. From 24 m/s
/// the extra height is (24² − 12²)/2g = 22.0259 m.
#[test]
fn glides_by_hand() {
    let how = Glide { ratio: 10.0, speed: MetresPerSecond(12.0) };
    let even = glide(Metres(50.0), MetresPerSecond(12.0), &how);
    assert!(close(even.along.0, 500.0, 1e-9) && close(even.time.0, 41.874_48, 1e-4), "{even:?}");
    let fast = glide(Metres(50.0), MetresPerSecond(24.0), &how);
    assert!(close(fast.along.0, 720.259, 1e-3), "{fast:?}");
    // Too slow and too low to pick up the speed of the glide: it comes down where it is.
    let slow = glide(Metres(5.0), MetresPerSecond(0.0), &how);
    assert!(close(slow.along.0, 0.0, 0.0) && close(slow.time.0, 0.0, 0.0), "{slow:?}");
}

/// By hand: 10 m/s at 2 m/s² runs 25 m in 5 s. A level turn at 10 m/s and 45° of bank has a radius of
/// 100/g = 10.197 m.
#[test]
fn runs_out_and_turns_by_hand() {
    let out = coast(MetresPerSecond(10.0), 2.0);
    assert!(close(out.along.0, 25.0, 1e-12) && close(out.time.0, 5.0, 1e-12));
    assert!(close(turn_radius(MetresPerSecond(10.0), Degrees(45.0)).0, 10.197_162, 1e-5));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn air_never_carries_it_farther(
        height in 0.0..300.0, speed in 0.0..60.0, climb in -80.0..80.0, drag in 0.0..0.2,
    ) {
        let with = ballistic(&shot(height, speed, climb, drag));
        let without = ballistic(&shot(height, speed, climb, 0.0));
        prop_assert!(with.along.0.is_finite() && with.time.0.is_finite());
        prop_assert!(with.along.0 <= without.along.0 + 1e-6, "{with:?} {without:?}");
        prop_assert!(with.speed.0 <= without.speed.0 + 1e-6);
    }

    #[test]
    fn higher_is_farther(height in 0.0..300.0, more in 0.0..100.0, speed in 0.0..60.0, drag in 0.0..0.2) {
        let low = ballistic(&shot(height, speed, 0.0, drag));
        let high = ballistic(&shot(height + more, speed, 0.0, drag));
        prop_assert!(high.along.0 >= low.along.0 - 1e-6 && high.time.0 >= low.time.0 - 1e-6);
    }
}
