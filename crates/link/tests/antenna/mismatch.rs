//! Impedance of straight antennas: published values, and the same by integrating the fields.

use std::f64::consts::{PI, TAU};

use link::mismatch::{
    Element, Impedance, MOST, cosine_integral, impedance, range_share, resonant_length, sine_integral,
    wrong_band,
};
use link::wire::Ohms;
use proptest::prelude::*;
use units::{LIGHT_M_PER_S, Metres, Mhz};

use super::verdict;

const THIN: Metres = Metres(0.000_05);
const AT: Mhz = Mhz(868.0);

/// The integral of a smooth function: 16 points of Gauss and Legendre on each of many pieces. Nodes
/// by Newton's method on the polynomial itself.
fn integral(from: f64, to: f64, pieces: u32, f: impl Fn(f64) -> f64) -> f64 {
    let n = 16_u32;
    let mut nodes = Vec::new();
    for i in 1..=n {
        let mut x = (PI * (f64::from(i) - 0.25) / (f64::from(n) + 0.5)).cos();
        let mut slope = 1.0;
        for _ in 0..50 {
            let (mut p0, mut p1) = (1.0, x);
            for k in 2..=n {
                let k = f64::from(k);
                (p0, p1) = (p1, ((2.0 * k - 1.0) * x * p1 - (k - 1.0) * p0) / k);
            }
            slope = f64::from(n) * (x * p1 - p0) / (x * x - 1.0);
            x -= p1 / slope;
        }
        nodes.push((x, 2.0 / ((1.0 - x * x) * slope * slope)));
    }
    let width = (to - from) / f64::from(pieces);
    (0..pieces)
        .map(|piece| {
            let middle = from + width * (f64::from(piece) + 0.5);
            nodes.iter().map(|(x, weight)| weight * f(middle + x * width / 2.0)).sum::<f64>() * width / 2.0
        })
        .sum()
}

fn dipole(waves: f64, radius: Metres) -> Impedance {
    impedance(Element::Dipole, Metres(AT.wavelength().0 * waves), radius, AT).unwrap()
}

#[test]
fn the_integrals_have_the_published_values() {
    // x, Si, Ci: Abramowitz & Stegun, tables 5.1 and 5.3 (from memory; the last ones recomputed).
    let rows = [
        (0.5, 0.493_107_418_0, -0.177_784_078_8),
        (1.0, 0.946_083_070_4, 0.337_403_922_9),
        (2.0, 1.605_412_976_8, 0.422_980_828_8),
        (5.0, 1.549_931_244_9, -0.190_029_749_7),
        (10.0, 1.658_347_594_2, -0.045_456_433_0),
    ];
    let mut wrong = Vec::new();
    for (x, si, ci) in rows {
        let (has_si, has_ci) = (sine_integral(x), cosine_integral(x));
        if !((has_si - si).abs() <= 1e-10 && (has_ci - ci).abs() <= 1e-10) {
            wrong.push(format!("{x}: {has_si} {has_ci}, not {si} {ci}"));
        }
    }
    // Si(pi), the overshoot of a square wave (Wilbraham-Gibbs constant, from memory).
    if (sine_integral(PI) - 1.851_937_051_982_466).abs() > 1e-12 {
        wrong.push(format!("Si(pi) {}", sine_integral(PI)));
    }
    verdict(rows.len() + 1, &wrong);
}

#[test]
fn the_integrals_are_the_integrals() {
    // NIST DLMF 6.2.9 and 6.2.12 (definitions), by numeric quadrature.
    const EULER: f64 = 0.577_215_664_901_532_9;
    let mut wrong = Vec::new();
    let mut rows = 0;
    for tenth in (1_u32..=600).step_by(7) {
        let x = f64::from(tenth) / 10.0;
        let si = integral(0.0, x, 40, |t| t.sin() / t);
        let ci = EULER + x.ln() + integral(0.0, x, 40, |t| (t.cos() - 1.0) / t);
        let (has_si, has_ci) = (sine_integral(x), cosine_integral(x));
        if !((has_si - si).abs() <= 1e-10 && (has_ci - ci).abs() <= 1e-10) {
            wrong.push(format!("{x}: {has_si} {has_ci}, not {si} {ci}"));
        }
        rows += 1;
    }
    // Where series and fraction meet.
    for side in [3.0 - 1e-13, 3.0 + 1e-13] {
        if (sine_integral(side) - sine_integral(3.0)).abs() > 1e-12 {
            wrong.push(format!("Si jumps at {side}"));
        }
    }
    verdict(rows, &wrong);
}

#[test]
fn dipoles_have_the_published_impedance() {
    // Length in waves, resistance, reactance, how near, source. Printed values take 120 pi ohm for free
    // space, 0.07 % more than it has.
    let rows = [
        (0.5, 73.13, Some(42.54), 0.06, "Balanis, Antenna Theory, 4.6: 73 + j42.5 (from memory)"),
        (
            1.5,
            105.5,
            Some(45.5),
            0.2,
            "Stutzman & Thiele, sine current, three half waves: 105 + j45 (from memory)",
        ),
        (0.02, 20.0 * (TAU / 2.0 * 0.02_f64).powi(2), None, 0.002, "short dipole: 20 (kl/2)^2, any textbook"),
        (
            0.25,
            13.4,
            None,
            0.2,
            "quarter of a wave, tip to tip: 24.7 (pi l)^2.5, Balanis 4-107b, within a few % (from memory)",
        ),
    ];
    let mut wrong = Vec::new();
    for (waves, resistance, reactance, near, source) in rows {
        let has = dipole(waves, THIN);
        let close = (has.resistance.0 - resistance).abs() <= near
            && reactance.is_none_or(|reactance: f64| (has.reactance.0 - reactance).abs() <= near);
        if !close {
            wrong.push(format!("{waves} waves: {has:?}, not {resistance} {reactance:?}: {source}"));
        }
    }
    verdict(rows.len(), &wrong);
}

/// Resistance by what goes through a far sphere: Balanis 4-62 and 4-66, integrated numerically.
fn far_resistance(waves: f64) -> f64 {
    let kl = TAU * waves;
    let power = integral(0.0, PI, 60, |t| {
        let shape = (kl / 2.0 * t.cos()).cos() - (kl / 2.0).cos();
        shape * shape / t.sin()
    });
    LIGHT_M_PER_S * 2e-7 * power / (kl / 2.0).sin().powi(2)
}

/// Impedance by the field along the wire's own surface: Balanis 8-57 to 8-59, integrated numerically.
fn near_impedance(waves: f64, radius: f64) -> (f64, f64) {
    let kl = TAU * waves;
    let ka = TAU * radius / AT.wavelength().0;
    let field = |kz: f64, part: fn(f64) -> f64| {
        let reach = |from: f64| (kz - from).hypot(ka);
        let (one, other, middle) = (reach(kl / 2.0), reach(-kl / 2.0), reach(0.0));
        part(one) / one + part(other) / other - 2.0 * (kl / 2.0).cos() * part(middle) / middle
    };
    // Half of it is enough; the pieces crowd where the field is steep, at the middle and at the tip.
    let whole = |part: fn(f64) -> f64| {
        let mut edges = vec![0.0, kl / 4.0, kl / 2.0];
        for step in 1..40 {
            let close = kl / 4.0 * 0.5f64.powi(step);
            edges.push(close);
            edges.push(kl / 2.0 - close);
        }
        edges.sort_by(f64::total_cmp);
        let piece =
            |pair: &[f64]| integral(pair[0], pair[1], 1, |kz| (kl / 2.0 - kz).sin() * field(kz, part));
        2.0 * edges.windows(2).map(piece).sum::<f64>()
    };
    let scale = LIGHT_M_PER_S * 2e-7 / 2.0 / (kl / 2.0).sin().powi(2);
    (scale * whole(f64::sin), scale * whole(f64::cos))
}

#[test]
fn far_and_near_field_give_the_same_impedance() {
    let mut wrong = Vec::new();
    let lengths = [0.05, 0.17, 0.25, 0.33, 0.475, 0.5, 0.6, 0.75, 0.9, 1.2, 1.34, 1.5, 2.3];
    for waves in lengths {
        let has = dipole(waves, THIN);
        let far = far_resistance(waves);
        let (resistance, reactance) = near_impedance(waves, THIN.0);
        let size = has.resistance.0.hypot(has.reactance.0);
        // The formula drops terms of the radius over the length; the far field has none.
        let close = (has.resistance.0 - far).abs() <= 1e-9 * far.max(1.0)
            && (has.resistance.0 - resistance).abs() <= 1e-3 * size
            && (has.reactance.0 - reactance).abs() <= 1e-2 * size;
        if !close {
            wrong.push(format!("{waves} waves: {has:?}, far {far}, near {resistance} {reactance}"));
        }
    }
    verdict(lengths.len(), &wrong);
}

#[test]
fn a_monopole_is_half_a_dipole_and_resonance_is_a_little_short() {
    let half = Metres(AT.wavelength().0 / 2.0);
    let dipole = impedance(Element::Dipole, half, THIN, AT).unwrap();
    let monopole = impedance(Element::Monopole, Metres(half.0 / 2.0), THIN, AT).unwrap();
    assert!((monopole.resistance.0 - 36.5).abs() < 0.06, "36.5 + j21.25, Balanis 4.7.2 (from memory)");
    assert!((2.0 * monopole.reactance.0 - dipole.reactance.0).abs() < 1e-9);
    let mut last = 0.5;
    // Balanis 4.6: 0.47 to 0.48 of a wave for usual thin wires (from memory); thicker is shorter.
    for (radius, low, high) in [(0.000_01, 0.475, 0.49), (0.000_25, 0.465, 0.485), (0.001, 0.45, 0.48)] {
        let length = resonant_length(Element::Dipole, Metres(radius), AT).unwrap();
        let waves = length.0 / AT.wavelength().0;
        assert!(waves > low && waves < high && waves < last, "{radius}: {waves}");
        let there = impedance(Element::Dipole, length, Metres(radius), AT).unwrap();
        assert!(there.reactance.0.abs() < 1e-6 && there.resistance.0 > 60.0 && there.resistance.0 < 73.0);
        last = waves;
    }
}

#[test]
fn mismatch_is_the_textbooks() {
    let z = |resistance, reactance| Impedance { resistance: Ohms(resistance), reactance: Ohms(reactance) };
    // |Γ| and loss: a standing wave ratio of 2 loses 0.51 dB, of 3 loses 1.25 dB, of 10 loses 4.81 dB
    // (usual tables of return loss; |Γ| = (s - 1)/(s + 1)).
    for (ratio, gamma, loss) in
        [(1.0, 0.0, 0.0), (2.0, 1.0 / 3.0, 0.512), (3.0, 0.5, 1.249), (10.0, 9.0 / 11.0, 4.807)]
    {
        for one in [z(50.0 * ratio, 0.0), z(50.0 / ratio, 0.0)] {
            assert!((one.reflection() - gamma).abs() < 1e-7, "{ratio} {}", one.reflection());
            assert!((one.mismatch().0 - loss).abs() < 1e-3, "{ratio} {}", one.mismatch());
        }
    }
    assert_eq!(z(0.0, 50.0).mismatch(), MOST);
    assert!((z(0.0, 50.0).reflection() - 1.0).abs() < 1e-12);
    assert!((range_share(units::Db(20.0)) - 0.1).abs() < 1e-15);
}

#[test]
fn wrong_bands_cost_what_the_fields_say() {
    // Both ends of each band: 2400 to 2483.5, 863 to 870, 902 to 928 MHz. Recomputed here with the
    // near field's impedance.
    let radius = Metres(0.000_25);
    let ends = [
        (868.0, 2400.0),
        (868.0, 2483.5),
        (915.0, 2400.0),
        (915.0, 2483.5),
        (2440.0, 863.0),
        (2440.0, 870.0),
        (2440.0, 902.0),
        (2440.0, 928.0),
    ];
    let mut wrong = Vec::new();
    for (made_for, used_at) in ends {
        let has = wrong_band(Element::Dipole, radius, Mhz(made_for), Mhz(used_at)).unwrap();
        let waves = has.length.0 / Mhz(used_at).wavelength().0;
        // The same in waves at the frequency of the checks above.
        let scaled = radius.0 * AT.wavelength().0 / Mhz(used_at).wavelength().0;
        let resistance = far_resistance(waves);
        let (_, reactance) = near_impedance(waves, scaled);
        let passed = 200.0 * resistance / ((resistance + 50.0).powi(2) + reactance * reactance);
        let loss = -10.0 * passed.log10();
        if !((has.used.0 - loss).abs() <= 0.15 && has.cost().0 > 2.0) {
            wrong.push(format!("{made_for} at {used_at}: {has:?}, cost {}, not {loss}", has.cost()));
        }
    }
    verdict(ends.len(), &wrong);
    let near = wrong_band(Element::Monopole, radius, Mhz(868.0), Mhz(915.0)).unwrap();
    assert!(near.cost().0 < 1.5, "neighbours: {near:?}");
    let own = wrong_band(Element::Monopole, radius, Mhz(868.0), Mhz(868.0)).unwrap();
    assert!(own.cost().0 == 0.0, "{own:?}");
}

#[test]
fn nonsense_is_refused_by_name() {
    let say = |length: f64, radius: f64, at: f64| {
        impedance(Element::Dipole, Metres(length), Metres(radius), Mhz(at)).unwrap_err().to_string()
    };
    assert_eq!(
        say(0.164, 0.02, 868.0),
        "`radius_mm` is 20; it must lie in 0.01 to 10 mm (from a hair to a broomstick)"
    );
    assert_eq!(
        say(0.0625, 0.00625, 868.0),
        "`radius_over_length` is 0.1; it must lie in 0 to 0.05 (the formula is for thin wires: at least 20 times \
         as long as its radius)"
    );
    assert!(say(f64::NAN, 0.001, 868.0).contains("`length_mm`"));
    assert!(say(0.1, 0.001, 7000.0).contains("`frequency_mhz`"));
    let refused = wrong_band(Element::Dipole, THIN, Mhz(1.0), AT).unwrap_err().to_string();
    assert!(refused.contains("`made_for_mhz`"), "{refused}");
}

proptest! {
    /// Wherever it is allowed, it is a number that a passive antenna can have.
    #[test]
    fn an_impedance_is_passive(mm in 1.0..10_000.0f64, radius in 0.01..10.0f64, mhz in 25.0..6000.0f64) {
        for element in [Element::Dipole, Element::Monopole] {
            if let Ok(one) = impedance(element, Metres(mm / 1000.0), Metres(radius / 1000.0), Mhz(mhz)) {
                prop_assert!(one.resistance.0 >= 0.0 && one.resistance.0.is_finite() && one.reactance.0.is_finite());
                prop_assert!((0.0..=1.0).contains(&one.reflection()), "{}", one.reflection());
                prop_assert!((0.0..=MOST.0).contains(&one.mismatch().0));
            }
        }
    }

    /// Below resonance, shorter is always worse.
    #[test]
    fn a_shorter_stub_loses_more(share in 0.05..0.44f64, less in 0.5..0.99f64) {
        let loss = |waves: f64| dipole(waves, THIN).mismatch().0;
        prop_assert!(loss(share * less) >= loss(share));
    }
}
