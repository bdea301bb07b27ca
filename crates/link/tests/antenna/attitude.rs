//! Attitude: single cases worked out by hand, closed forms, and a simulation that turns
//! the aircraft by random quaternions.

use std::f64::consts::TAU;

use link::antenna::{Hand, Kind, dipole_gain};
use link::attitude::{
    Attitude, Fitted, GroundAntenna, Motion, Mounting, Pointing, QUANTILES, Shadow, Transmits, gain_spread,
    sight,
};
use link::ground::Polarisation;
use units::{Db, Dbi, Degrees};

use crate::{ground, verdict};

const X: [f64; 3] = [1.0, 0.0, 0.0];
const Y: [f64; 3] = [0.0, 1.0, 0.0];
const Z: [f64; 3] = [0.0, 0.0, 1.0];

fn attitude(heading: f64, pitch: f64, bank: f64) -> Attitude {
    Attitude { heading: Degrees(heading), pitch: Degrees(pitch), bank: Degrees(bank) }
}

fn patch() -> Kind {
    Kind::Patch { gain: Dbi(8.0), beamwidth: Degrees(70.0) }
}

/// One attitude: what the aircraft's antenna then gains, and what its field loses.
type Case = (&'static str, Polarisation, Kind, [f64; 3], Attitude, f64, [f64; 2]);

#[expect(clippy::too_many_arguments, reason = "a row of a table")]
fn case(
    what: &'static str,
    polarisation: Polarisation,
    kind: Kind,
    axis: [f64; 3],
    (heading, pitch, bank): (f64, f64, f64),
    elevation: f64,
    air: f64,
    loss: f64,
) -> Case {
    (what, polarisation, kind, axis, attitude(heading, pitch, bank), elevation, [air, loss])
}

#[test]
fn single_attitudes_by_hand() {
    use Polarisation::{Horizontal as H, Vertical as V};
    let dipole = || Kind::HalfWaveDipole;
    let rows = [
        case("nose patch, flying away", V, patch(), X, (0.0, 0.0, 0.0), 0.0, -12.0, 0.0),
        case("nose patch, coming back", V, patch(), X, (180.0, 0.0, 0.0), 0.0, 8.0, 0.0),
        case("the same, lying field", H, patch(), X, (180.0, 0.0, 0.0), 0.0, 8.0, 20.0),
        case("the same, knife edge", H, patch(), X, (180.0, 0.0, 90.0), 0.0, 8.0, 0.0),
        case("coming back in a dive", V, patch(), X, (180.0, -35.0, 0.0), 35.0, 8.0, 0.0),
        case("and in a climb", V, patch(), X, (180.0, 35.0, 0.0), 0.0, 4.9897, 0.0),
        case("right wing patch, flying left", V, patch(), Y, (-90.0, 0.0, 0.0), 0.0, -12.0, 0.0),
        case("right wing patch, flying right", V, patch(), Y, (90.0, 0.0, 0.0), 0.0, 8.0, 0.0),
        case("belly patch, overhead", V, patch(), Z, (0.0, 0.0, 0.0), 90.0, 8.0, 0.0),
        case("belly patch, inverted", V, patch(), Z, (0.0, 0.0, 180.0), 90.0, -12.0, 0.0),
        case("right wing patch, that wing down", H, patch(), Y, (0.0, 0.0, 90.0), 90.0, 8.0, 0.0),
        case("right wing patch, that wing up", H, patch(), Y, (0.0, 0.0, -90.0), 90.0, -12.0, 0.0),
        case("wing dipole, flying away", V, dipole(), Y, (0.0, 0.0, 0.0), 0.0, 2.1509, 20.0),
        case("the same, lying field", H, dipole(), Y, (0.0, 0.0, 0.0), 0.0, 2.1509, 0.0),
        case("wing dipole, banked 45", V, dipole(), Y, (0.0, 0.0, 45.0), 0.0, 2.1509, 3.0103),
        case("wing dipole, banked 30", H, dipole(), Y, (0.0, 0.0, 30.0), 0.0, 2.1509, 1.2494),
        case("wing dipole, knife edge", V, dipole(), Y, (0.0, 0.0, 90.0), 0.0, 2.1509, 0.0),
        case("wing dipole, 60 degrees off", H, dipole(), Y, (30.0, 0.0, 0.0), 0.0, 0.39, 0.0),
        case("tail dipole, straight up", V, dipole(), X, (0.0, 90.0, 0.0), 0.0, 2.1509, 0.0),
        case("isotropic fits any field", H, Kind::Isotropic, X, (20.0, 30.0, 40.0), 50.0, 0.0, 0.0),
    ];
    let mut wrong = Vec::new();
    for (what, polarisation, kind, axis, attitude, elevation, [air, loss]) in &rows {
        let ground = GroundAntenna { polarisation: *polarisation, ..ground(dipole()) };
        let mounting = Mounting::one(kind.clone(), *axis);
        let got = sight(&ground, &mounting, *attitude, Degrees(*elevation)).unwrap();
        let near = |got: Db, wanted: f64| (got.0 - wanted).abs() < 0.001;
        let total = 2.1509 + air - loss;
        if !(near(got.air, *air) && near(got.polarisation, *loss) && near(got.total, total)) {
            wrong.push(format!("{what}: {got:?}, not {air} less {loss}"));
        }
    }
    verdict(rows.len(), &wrong);
    // Along a wire its field has no direction; its null is filled to 25 dB (judgement).
    let fin = Mounting::one(dipole(), Z);
    let null = sight(&ground(dipole()), &fin, attitude(0.0, 0.0, 0.0), Degrees(90.0)).unwrap();
    assert!((null.air.0 - (2.1509 - 25.0)).abs() < 0.001, "{null:?}");
}

#[test]
fn turning_fields_by_hand() {
    let circular = |hand, ratio| Kind::Circular { hand, axial_ratio: Db(ratio), gain: Dbi(1.0) };
    let perfect = |hand| circular(hand, 0.0);
    // Ellipses whose greater axes stand across: (r·1 ∓ 1·r)²/(1+r²)² of the power.
    let crossed = |ratio_db: f64| {
        let r = 10f64.powf(ratio_db / 20.0);
        -20.0 * (2.0 * r / (1.0 + r * r)).log10()
    };
    let rows = [
        ("same hand", perfect(Hand::Right), perfect(Hand::Right), 0.0, 0.0),
        ("same hand, banked", perfect(Hand::Left), perfect(Hand::Left), 37.0, 0.0),
        ("opposite hands", perfect(Hand::Right), perfect(Hand::Left), 10.0, 20.0),
        ("circular and straight", perfect(Hand::Right), Kind::HalfWaveDipole, 20.0, 3.0103),
        ("straight and circular", Kind::HalfWaveDipole, perfect(Hand::Left), 20.0, 3.0103),
        ("3 dB ellipse, best", circular(Hand::Left, 3.0), Kind::HalfWaveDipole, 0.0, 1.7643),
        ("3 dB ellipse, worst", circular(Hand::Left, 3.0), Kind::HalfWaveDipole, 90.0, 4.7643),
        ("straight to a 6 dB ellipse, best", Kind::HalfWaveDipole, circular(Hand::Right, 6.0), 0.0, 0.9732),
        ("straight to a 6 dB ellipse, worst", Kind::HalfWaveDipole, circular(Hand::Right, 6.0), 90.0, 6.9732),
        ("two 3 dB ellipses along", circular(Hand::Left, 3.0), circular(Hand::Left, 3.0), 0.0, 0.0),
        (
            "two 3 dB ellipses across",
            circular(Hand::Left, 3.0),
            circular(Hand::Left, 3.0),
            90.0,
            crossed(3.0),
        ),
    ];
    let mut wrong = Vec::new();
    for (what, below, above, bank, wanted) in rows {
        // The aircraft flies away, its antenna upright and so across the path.
        let got =
            sight(&ground(below), &Mounting::one(above, Z), attitude(0.0, 0.0, bank), Degrees(0.0)).unwrap();
        let close = (got.polarisation.0 - wanted).abs() < 0.001;
        if !close {
            wrong.push(format!("{what}: {}, not {wanted}", got.polarisation.0));
        }
    }
    verdict(11, &wrong);
}

#[test]
fn the_person_on_the_ground_points_it_wrong() {
    let aim = |kind: Kind, by: f64| {
        let held = GroundAntenna { pointing: Pointing::OffBy(Degrees(by)), ..ground(kind) };
        sight(&held, &Mounting::one(Kind::Isotropic, X), attitude(0.0, 0.0, 0.0), Degrees(10.0))
            .unwrap()
            .ground
            .0
    };
    let rows = [
        (Kind::HalfWaveDipole, 0.0, 2.1509),
        (Kind::HalfWaveDipole, 30.0, 0.3900),
        (Kind::HalfWaveDipole, 60.0, -5.4299),
        // At the aircraft: the null, filled to 25 dB (judgement).
        (Kind::HalfWaveDipole, 90.0, -22.8491),
        (patch(), 0.0, 8.0),
        (patch(), -35.0, 4.9897),
        (patch(), 180.0, -12.0),
        (Kind::Off, 77.0, -25.0),
    ];
    for (kind, by, wanted) in rows {
        let got = aim(kind.clone(), by);
        assert!((got - wanted).abs() < 0.001, "{kind:?} off by {by}: {got}, not {wanted}");
    }
}

#[test]
fn a_shadow_hides_its_sector_only() {
    let mut mounting = Mounting::one(Kind::Isotropic, X);
    mounting.shadow = Some(Shadow { axis: [0.0, 0.0, -2.0], half_angle: Degrees(40.0), loss: Db(12.0) });
    for (bank, loss) in [(0.0, 0.0), (135.0, 0.0), (141.0, 12.0), (180.0, 12.0), (-150.0, 12.0)] {
        let got =
            sight(&ground(Kind::Isotropic), &mounting, attitude(50.0, 0.0, bank), Degrees(90.0)).unwrap();
        assert_eq!(got.shadow, Db(loss), "bank {bank}: {got:?}");
        assert!((got.total.0 + loss).abs() < 1e-9);
    }
}

#[test]
fn any_attitude_of_a_dipole_in_closed_form() {
    // Every direction alike: the cosine of the angle from the wire is even over 0 to 1, so
    // a share of 1 − cos t of all attitudes lies below the gain at t (geometry); the power
    // averages to 1 (no loss). Nulls are filled only below about 4.4 degrees, 0.3 %.
    let spread = gain_spread(
        &ground(Kind::Isotropic),
        &Mounting::one(Kind::HalfWaveDipole, [0.3, -2.0, 0.7]),
        Motion::AnyAttitude,
        Degrees(12.0),
    )
    .unwrap();
    assert!(spread.expected.0.abs() < 0.01, "{}", spread.expected);
    let mut wrong = Vec::new();
    for angle in [20.0f64, 30.0, 40.0, 45.0, 50.0, 60.0, 70.0, 80.0] {
        let share = 1.0 - angle.to_radians().cos();
        let (got, wanted) = (spread.worst_percentile(share * 100.0).0, dipole_gain(Degrees(angle)).0);
        let close = (got - wanted).abs() < 0.15;
        if !close {
            wrong.push(format!("{angle} degrees: {got}, not {wanted}"));
        }
    }
    verdict(8, &wrong);
    // A straight field at the ground halves the power on average; the floor of 20 dB adds
    // 0.1 %.
    let straight = gain_spread(
        &ground(Kind::HalfWaveDipole),
        &Mounting::one(Kind::HalfWaveDipole, Y),
        Motion::AnyAttitude,
        Degrees(12.0),
    )
    .unwrap();
    assert!((straight.expected.0 - (2.1509 - 3.0103)).abs() < 0.02, "{}", straight.expected);
}

/// A small generator (`SplitMix64`: Steele, Lea and Flood, OOPSLA 2014), from memory.
struct Random(u64);

impl Random {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        f64::from(u32::try_from((z ^ (z >> 31)) >> 32).unwrap()) / 4_294_967_296.0
    }

    /// The columns of a rotation drawn evenly, by a random unit quaternion (Shoemake,
    /// Graphics Gems III, 1992).
    fn frame(&mut self) -> [[f64; 3]; 3] {
        let (part, one, other) = (self.unit(), self.unit() * TAU, self.unit() * TAU);
        let (x, y) = ((1.0 - part).sqrt() * one.sin(), (1.0 - part).sqrt() * one.cos());
        let (z, w) = (part.sqrt() * other.sin(), part.sqrt() * other.cos());
        [
            [1.0 - 2.0 * (y * y + z * z), 2.0 * (x * y + w * z), 2.0 * (x * z - w * y)],
            [2.0 * (x * y - w * z), 1.0 - 2.0 * (x * x + z * z), 2.0 * (y * z + w * x)],
            [2.0 * (x * z + w * y), 2.0 * (y * z - w * x), 1.0 - 2.0 * (x * x + y * y)],
        ]
    }
}

#[test]
fn two_dipoles_in_a_tumble_as_simulated() {
    // The wave comes along x with its field along z; a dipole along the unit vector a
    // makes an angle t with it, cos t = a_x, and couples with a_z²/(1 − a_x²).
    let link = |a: [f64; 3]| {
        let across = 1.0 - a[0] * a[0];
        let gain = dipole_gain(Degrees(a[0].clamp(-1.0, 1.0).acos().to_degrees())).over_isotropic().ratio();
        let filled = gain.max(1.640_922 * 10f64.powf(-2.5));
        filled * (a[2] * a[2] / across.max(1e-12)).clamp(0.01, 1.0) * 1.640_922
    };
    let spread = gain_spread(
        &ground(Kind::HalfWaveDipole),
        &Mounting::crossed_dipoles(),
        Motion::AnyAttitude,
        Degrees(25.0),
    )
    .unwrap();
    let (trials, mut random) = (20_000u32, Random(4));
    let powers: Vec<f64> = (0..trials)
        .map(|_| {
            let [_, wing, fin] = random.frame();
            link(wing).max(link(fin))
        })
        .collect();
    let n = f64::from(trials);
    let mean = powers.iter().sum::<f64>() / n;
    let error = (powers.iter().map(|power| (power - mean).powi(2)).sum::<f64>() / (n - 1.0) / n).sqrt();
    assert!((mean - spread.expected.ratio()).abs() < 3.0 * error, "{mean} {:?}", spread.expected);
    let mut wrong = Vec::new();
    for (index, gain) in spread.quantiles.iter().enumerate() {
        let share = (f64::from(u32::try_from(index).unwrap()) + 0.5) / 64.0;
        let below = powers.iter().filter(|power| Db::of_ratio(**power) < *gain).count();
        let got = f64::from(u32::try_from(below).unwrap()) / n;
        let close = (got - share).abs() < 3.0 * (share * (1.0 - share) / n).sqrt();
        if !close {
            wrong.push(format!("{gain}: {got} below it, not {share}"));
        }
    }
    assert_eq!(spread.quantiles.len(), QUANTILES);
    verdict(QUANTILES, &wrong);
}

#[test]
fn telemetry_leaves_from_the_antenna_that_sends() {
    let both = Mounting::crossed_dipoles();
    let first = both.transmitting(Transmits::First);
    assert_eq!(first.antennas, [Fitted { kind: Kind::HalfWaveDipole, axis: Y, feed_loss: Db::ZERO }]);
    assert_eq!(both.transmitting(Transmits::Better), both);
}

#[test]
fn words_and_refusals() {
    for motion in Motion::ALL {
        assert_eq!(Motion::from_word(motion.word()), Some(motion));
    }
    assert_eq!(Motion::from_word("hover"), None);
    for transmits in [Transmits::First, Transmits::Better] {
        assert_eq!(Transmits::from_word(transmits.word()), Some(transmits));
    }
    let good = || Mounting::one(Kind::HalfWaveDipole, Y);
    let with = |change: fn(&mut Mounting)| {
        let mut mounting = good();
        change(&mut mounting);
        gain_spread(&ground(Kind::HalfWaveDipole), &mounting, Motion::Level, Degrees(5.0))
            .unwrap_err()
            .to_string()
    };
    assert_eq!(
        with(|mounting| mounting.antennas.clear()),
        "`antennas` is 0; it must lie in 1 to 2 (a receiver has one or two)"
    );
    assert_eq!(
        with(|mounting| mounting.antennas[0].axis = [0.0; 3]),
        "`axis` is 0; it must lie in 0.000001 to 1000000 (an axis needs a direction)"
    );
    assert_eq!(
        with(|mounting| mounting.antennas[0].feed_loss = Db(-1.0)),
        "`feed_loss_db` is -1; it must lie in 0 to 30 dB (cable and plugs lose, they never gain)"
    );
    assert_eq!(
        with(|mounting| {
            mounting.shadow = Some(Shadow { axis: Z, half_angle: Degrees(200.0), loss: Db(6.0) });
        }),
        "`shadow_half_angle_deg` is 200; it must lie in 0 to 180 degrees (from no direction to every direction)"
    );
    let steep = gain_spread(&ground(Kind::Isotropic), &good(), Motion::Level, Degrees(91.0)).unwrap_err();
    assert_eq!(
        steep.to_string(),
        "`elevation_deg` is 91; it must lie in -90 to 90 degrees (from straight below to straight overhead)"
    );
}
