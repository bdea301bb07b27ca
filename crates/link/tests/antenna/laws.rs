//! What holds for every antenna, mounting and motion.

use link::antenna::{Hand, Kind, elliptical_to_linear, linear_mismatch, practical_mismatch};
use link::attitude::{
    Attitude, Fitted, GainSpread, GroundAntenna, Motion, Mounting, Pointing, QUANTILES, Shadow, gain_spread,
    sight,
};
use link::ground::Polarisation;
use proptest::prelude::*;
use units::{Db, Dbi, Degrees};

fn kind() -> impl Strategy<Value = Kind> {
    prop_oneof![
        Just(Kind::Isotropic),
        Just(Kind::Off),
        Just(Kind::HalfWaveDipole),
        Just(Kind::Monopole),
        (-5.0..20.0, 1.0..=170.0)
            .prop_map(|(gain, width)| Kind::Patch { gain: Dbi(gain), beamwidth: Degrees(width) }),
        (-5.0..20.0, 1.0..=170.0)
            .prop_map(|(gain, width)| Kind::Yagi { gain: Dbi(gain), beamwidth: Degrees(width) }),
        (any::<bool>(), 0.0..=40.0, -5.0..5.0).prop_map(|(right, ratio, gain)| Kind::Circular {
            hand: if right { Hand::Right } else { Hand::Left },
            axial_ratio: Db(ratio),
            gain: Dbi(gain),
        }),
        prop::collection::vec(-30.0..15.0, 1..12).prop_map(|gains| {
            Kind::Table(
                (0u32..).zip(gains).map(|(row, gain)| (Degrees(f64::from(row) * 16.0), Dbi(gain))).collect(),
            )
        }),
    ]
}

fn axis() -> impl Strategy<Value = [f64; 3]> {
    // The whole axes among them, where fields lose their direction.
    prop_oneof![
        Just([1.0, 0.0, 0.0]),
        Just([0.0, -1.0, 0.0]),
        Just([0.0, 0.0, 1.0]),
        [-1.0..1.0, -1.0..1.0, 0.01..1.0],
    ]
}

fn fitted() -> impl Strategy<Value = Fitted> {
    (kind(), axis(), 0.0..10.0).prop_map(|(kind, axis, loss)| Fitted { kind, axis, feed_loss: Db(loss) })
}

fn shadow() -> impl Strategy<Value = Option<Shadow>> {
    prop::option::of((axis(), 0.0..=180.0, 0.0..40.0).prop_map(|(axis, half, loss)| Shadow {
        axis,
        half_angle: Degrees(half),
        loss: Db(loss),
    }))
}

fn ground() -> impl Strategy<Value = GroundAntenna> {
    (kind(), any::<bool>(), prop::option::of(-360.0..=360.0), 0.0..10.0).prop_map(
        |(kind, upright, off, loss)| GroundAntenna {
            kind,
            polarisation: if upright { Polarisation::Vertical } else { Polarisation::Horizontal },
            pointing: off.map_or(Pointing::Right, |angle| Pointing::OffBy(Degrees(angle))),
            feed_loss: Db(loss),
        },
    )
}

fn motion() -> impl Strategy<Value = Motion> {
    prop::sample::select(Motion::ALL.to_vec())
}

/// The straight angles among them.
fn elevation() -> impl Strategy<Value = Degrees> {
    prop_oneof![Just(0.0), Just(90.0), Just(-90.0), -90.0..=90.0].prop_map(Degrees)
}

fn spread(ground: &GroundAntenna, mounting: &Mounting, motion: Motion, elevation: Degrees) -> GainSpread {
    gain_spread(ground, mounting, motion, elevation).unwrap()
}

/// Quantile by quantile, and the averages.
fn all(spread: &GainSpread) -> Vec<f64> {
    let averages = [spread.expected.0, spread.mean.0, spread.median.0];
    spread.quantiles.iter().map(|gain| gain.0).chain(averages).collect()
}

fn alike(one: &GainSpread, other: &GainSpread) -> bool {
    all(one).iter().zip(all(other)).all(|(one, other)| (one - other).abs() < 1e-6)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn a_spread_is_finite_sorted_and_never_over_the_peaks(
        ground in ground(), first in fitted(), second in prop::option::of(fitted()),
        shadow in shadow(), motion in motion(), elevation in elevation(),
    ) {
        let peak = [Some(&first), second.as_ref()].into_iter().flatten()
            .map(|fitted| fitted.kind.peak().0 - fitted.feed_loss.0)
            .fold(f64::MIN, f64::max) + ground.kind.peak().0 - ground.feed_loss.0;
        let mounting = Mounting { antennas: std::iter::once(first).chain(second).collect(), shadow };
        let spread = spread(&ground, &mounting, motion, elevation);
        prop_assert_eq!(spread.quantiles.len(), QUANTILES);
        prop_assert!(all(&spread).iter().all(|gain| gain.is_finite() && *gain <= peak + 1e-6), "{:?}", spread);
        prop_assert!(spread.quantiles.is_sorted_by(|low, high| low <= high));
        prop_assert!(spread.mean.0 <= spread.expected.0 + 1e-9);
        // The worst percentile rises with the percentage and stays between the ends.
        let percent: Vec<f64> = (0u32..=100).map(|p| spread.worst_percentile(f64::from(p)).0).collect();
        prop_assert!(percent.is_sorted_by(|low, high| *low <= *high + 1e-12));
        prop_assert!((percent[0] - spread.quantiles[0].0).abs() < 1e-12);
        prop_assert!((percent[100] - spread.quantiles[QUANTILES - 1].0).abs() < 1e-12);
    }

    #[test]
    fn two_antennas_are_never_worse_than_the_better_one(
        ground in ground(), first in fitted(), second in fitted(), shadow in shadow(),
        motion in motion(), elevation in elevation(),
    ) {
        let of = |antennas: Vec<Fitted>| all(&spread(&ground, &Mounting { antennas, shadow }, motion, elevation));
        let both = of(vec![first.clone(), second.clone()]);
        for (both, (first, second)) in both.into_iter().zip(of(vec![first]).into_iter().zip(of(vec![second]))) {
            prop_assert!(both >= first.max(second) - 1e-9, "{} below {} or {}", both, first, second);
        }
    }

    #[test]
    fn order_and_sides_make_no_difference(
        ground in ground(), first in fitted(), second in fitted(), shadow in shadow(),
        motion in motion(), elevation in elevation(),
    ) {
        let as_is = Mounting { antennas: vec![first, second], shadow };
        let here = spread(&ground, &as_is, motion, elevation);
        let mut swapped = as_is.clone();
        swapped.antennas.reverse();
        prop_assert!(alike(&here, &spread(&ground, &swapped, motion, elevation)));
        // Left and right exchanged, hands of turning fields with them.
        let turned = |kind: &Kind| match kind {
            Kind::Circular { hand, axial_ratio, gain } => Kind::Circular {
                hand: if *hand == Hand::Right { Hand::Left } else { Hand::Right },
                axial_ratio: *axial_ratio,
                gain: *gain,
            },
            kind => kind.clone(),
        };
        let mut mirrored = as_is.clone();
        for fitted in &mut mirrored.antennas {
            fitted.axis[1] = -fitted.axis[1];
            fitted.kind = turned(&fitted.kind);
        }
        if let Some(shadow) = &mut mirrored.shadow {
            shadow.axis[1] = -shadow.axis[1];
        }
        let below = GroundAntenna { kind: turned(&ground.kind), ..ground };
        prop_assert!(alike(&here, &spread(&below, &mirrored, motion, elevation)));
    }

    #[test]
    fn losses_shift_the_whole_spread(
        ground in ground(), first in fitted(), loss in 0.0..10.0, motion in motion(), elevation in elevation(),
    ) {
        let here = spread(&ground, &Mounting { antennas: vec![first.clone()], shadow: None }, motion, elevation);
        let dark = Some(Shadow { axis: [0.0, 3.0, 0.0], half_angle: Degrees(180.0), loss: Db(loss) });
        let shaded = spread(&ground, &Mounting { antennas: vec![first.clone()], shadow: dark }, motion, elevation);
        prop_assert!(alike(&here.raised(Db(-loss)), &shaded));
        let longer = GroundAntenna { feed_loss: ground.feed_loss + Db(loss), ..ground };
        let fed = spread(&longer, &Mounting { antennas: vec![first], shadow: None }, motion, elevation);
        prop_assert!(alike(&here.raised(Db(-loss)), &fed));
    }
}

proptest! {
    #[test]
    fn every_gain_is_a_number(kind in kind(), angle in prop_oneof![-720.0..720.0, prop::num::f64::NORMAL]) {
        let gain = kind.gain(Degrees(angle)).0;
        prop_assert!(gain.is_finite() && gain <= kind.peak().0 + 1e-9, "{}", gain);
    }

    #[test]
    fn one_attitude_adds_up(
        ground in ground(), first in fitted(), second in fitted(), shadow in shadow(), elevation in elevation(),
        heading in -360.0..=360.0, pitch in -360.0..=360.0, bank in -360.0..=360.0,
    ) {
        let mounting = Mounting { antennas: vec![first, second], shadow };
        let attitude = Attitude { heading: Degrees(heading), pitch: Degrees(pitch), bank: Degrees(bank) };
        let got = sight(&ground, &mounting, attitude, elevation).unwrap();
        prop_assert!(got.total.0.is_finite());
        prop_assert!((got.ground + got.air - got.polarisation - got.shadow - got.feed - got.total).0.abs() < 1e-9);
        prop_assert!((-1e-9..=20.0 + 1e-9).contains(&got.polarisation.0));
        // A full turn changes nothing.
        let turned = Attitude { heading: Degrees(if heading > 0.0 { heading - 360.0 } else { heading + 360.0 }), ..attitude };
        let again = sight(&ground, &mounting, turned, elevation).unwrap();
        // A shadow's sharp edge may fall between the two.
        prop_assert!((again.total + again.shadow - got.total - got.shadow).0.abs() < 1e-3);
    }

    /// Computed: with two dipoles at right angles in the plane that faces the transmitter
    /// the better one is never more than 45 degrees off.
    #[test]
    fn crossed_dipoles_facing_the_transmitter_lose_three_decibels_at_most(bank in -360.0..=360.0) {
        let best = linear_mismatch(Degrees(bank)).0.min(linear_mismatch(Degrees(bank + 90.0)).0);
        prop_assert!(best <= 3.010_300, "{}", best);
        // The same through an aircraft that flies away, dipoles along wing and fin.
        let ground = crate::ground(Kind::HalfWaveDipole);
        let away = Attitude { heading: Degrees(0.0), pitch: Degrees(0.0), bank: Degrees(bank) };
        let got = sight(&ground, &Mounting::crossed_dipoles(), away, Degrees(0.0)).unwrap();
        prop_assert!((got.polarisation.0 - best).abs() < 1e-6, "{:?}", got);
        prop_assert!(got.total.0 >= 2.0 * 2.1508 - 3.0104);
    }

    #[test]
    fn polarisation_losses_are_losses(angle in prop::num::f64::NORMAL, ratio in prop::num::f64::NORMAL) {
        let straight = linear_mismatch(Degrees(angle));
        let ellipse = elliptical_to_linear(Db(ratio), Degrees(angle));
        for loss in [straight, ellipse] {
            prop_assert!(loss.0 >= 0.0);
            prop_assert!((0.0..=20.0).contains(&practical_mismatch(loss).0));
        }
    }

    #[test]
    fn a_long_ellipse_is_straight_and_a_circle_has_no_tilt(angle in 0.0..89.0, tilt in 0.0..90.0) {
        prop_assert!((elliptical_to_linear(Db(150.0), Degrees(angle)) - linear_mismatch(Degrees(angle))).0.abs() < 1e-6);
        prop_assert!((elliptical_to_linear(Db(0.0), Degrees(tilt)).0 - 3.0103).abs() < 1e-4);
    }
}
