//! Where a receiver's antennas hear worst: gain over every direction from the aircraft.

use link::antenna::{Kind, linear_mismatch, practical_mismatch};
use link::attitude::{self, Attitude, Fitted, GroundAntenna, Mounting, NULL_DEPTH, Pointing};
use link::ground::Polarisation;
use units::{Db, Dbi, Degrees};

use super::lay::{self, Vector, plus, unit};
use super::{Antenna, Sort};

/// A direction from the aircraft, itself level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Direction {
    /// Clockwise from the nose, seen from above: 90 is the right.
    pub azimuth: Degrees,
    /// Up; straight down is -90.
    pub elevation: Degrees,
}

/// The direction in which a receiver hears worst.
#[derive(Clone, Debug, PartialEq)]
pub struct Hole {
    /// How far under the best direction.
    pub depth: Db,
    /// Where it points: one direction, or two that lie opposite each other.
    pub towards: Vec<Direction>,
    /// The same in words: `straight out to the left`.
    pub words: String,
}

/// What a receiver's antennas hear round the airframe, always by the better of them.
///
/// The antennas alone: what the airframe shades and reflects is not in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Round {
    /// The receiver's label, as it was written.
    pub on: String,
    /// The antennas that are in it.
    pub antennas: Vec<String>,
    /// Gain in the horizontal plane under the best of all directions, every 5 degrees clockwise from
    /// the nose: 72 numbers, none above 0.
    pub line: Vec<Db>,
    /// Gain in the best direction.
    pub best: Dbi,
    /// The worst direction of all.
    pub hole: Hole,
    /// What the transmitter's antenna and theirs come to in level flight; `None` where one of them isn't
    /// a straight antenna, whose field nobody knows.
    pub held: Option<Held>,
}

/// The worst heading of the aircraft in level flight, far away and 5 degrees over the horizon, to a
/// half-wave dipole on the ground: gain and polarisation together, under the best that both could do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Held {
    /// The dipole on the ground is held upright.
    pub upright: Db,
    /// It is held level, across the line to the aircraft.
    pub flat: Db,
}

/// Steps between two numbers of [`Round::line`].
pub(super) const STEP_DEG: u16 = 5;

/// The elevation at which an aircraft in level flight is looked at.
const FAR: Degrees = Degrees(5.0);

impl Direction {
    pub(super) fn vector(self) -> Vector {
        let (azimuth, elevation) = (self.azimuth.radians(), self.elevation.radians());
        [elevation.cos() * azimuth.cos(), elevation.cos() * azimuth.sin(), elevation.sin()]
    }

    pub(super) fn of(vector: Vector) -> Direction {
        let [forward, right, up] = vector;
        Direction {
            azimuth: Degrees(right.atan2(forward).to_degrees()),
            elevation: Degrees(up.atan2(forward.hypot(right)).to_degrees()),
        }
    }

    /// In words, by the nearest of the 26 directions of a cube: `straight up`, `ahead and to the right`.
    pub fn words(self) -> String {
        let [forward, right, up] = self.vector();
        // Half way between a face and an edge of the cube: 22.5 degrees.
        let part = |size: f64, plus: &'static str, minus: &'static str| {
            (size.abs() > 0.38).then_some(if size > 0.0 { plus } else { minus })
        };
        let parts: Vec<&str> = [
            part(forward, "ahead", "behind"),
            part(right, "out to the right", "out to the left"),
            part(up, "up", "down"),
        ]
        .into_iter()
        .flatten()
        .collect();
        match parts.as_slice() {
            [] => "ahead".to_owned(),
            [only] => format!("straight {only}"),
            [first @ .., last] => format!("{} and {last}", first.join(", ")),
        }
    }
}

/// What an antenna is to the engine of the link.
///
/// A bare tip and a quarter wave of wire work against the receiver and its cable; a sleeve makes a
/// dipole. A chip is taken as alike all round, 2 dB under isotropic (judgement, no source).
pub(super) fn kind(sort: Sort) -> Kind {
    match sort {
        Sort::Wire | Sort::BareTip => Kind::Monopole,
        Sort::Sleeve | Sort::Dipole => Kind::HalfWaveDipole,
        Sort::Chip => Kind::Table(vec![(Degrees(0.0), Dbi(-2.0)), (Degrees(180.0), Dbi(-2.0))]),
        Sort::Patch => Kind::from_word("patch").unwrap_or(Kind::Isotropic),
    }
}

/// One antenna with its axis.
struct Aimed {
    kind: Kind,
    axis: Vector,
}

/// The better antenna towards a direction.
fn best(aimed: &[Aimed], towards: Vector) -> f64 {
    let gains = aimed.iter().map(|one| {
        let cosine = lay::dot(one.axis, towards).clamp(-1.0, 1.0);
        one.kind.gain(Degrees(cosine.acos().to_degrees())).0.max(one.kind.peak().0 - NULL_DEPTH.0)
    });
    gains.fold(f64::NEG_INFINITY, f64::max)
}

/// Directions to try: a net of 3 degrees, and where two antennas are alike exactly.
fn directions(aimed: &[Aimed]) -> Vec<Vector> {
    let mut out = Vec::new();
    for one in aimed {
        out.push(one.axis);
        out.push(one.axis.map(|part| -part));
        for other in aimed {
            for sign in [1.0, -1.0] {
                out.extend(unit(plus(one.axis, other.axis, sign)));
                out.extend(unit(plus(one.axis, other.axis, sign).map(|part| -part)));
            }
        }
    }
    for elevation in -30..=30_i16 {
        for azimuth in 0..120_i16 {
            let (elevation, azimuth) = (f64::from(elevation) * 3.0, f64::from(azimuth) * 3.0);
            out.push(Direction { azimuth: Degrees(azimuth), elevation: Degrees(elevation) }.vector());
        }
    }
    out
}

/// What a receiver's antennas hear round the airframe; `None` where no direction of them is known.
pub(super) fn round(on: &str, antennas: &[&Antenna]) -> Option<Round> {
    let aimed: Vec<(&Antenna, Aimed)> = antennas
        .iter()
        .filter_map(|antenna| {
            let kind = kind(antenna.sort);
            // A chip is alike all round.
            let axis = match (antenna.towards, antenna.sort) {
                (Some(towards), _) => towards.vector(),
                (None, Sort::Chip) => [0.0, 0.0, 1.0],
                (None, _) => return None,
            };
            Some((*antenna, Aimed { kind, axis }))
        })
        .collect();
    if aimed.is_empty() {
        return None;
    }
    let (names, aimed): (Vec<String>, Vec<Aimed>) =
        aimed.into_iter().map(|(antenna, aimed)| (antenna.name.clone(), aimed)).unzip();
    let tried: Vec<(Vector, f64)> =
        directions(&aimed).into_iter().map(|towards| (towards, best(&aimed, towards))).collect();
    let top = tried.iter().map(|(_, gain)| *gain).fold(f64::NEG_INFINITY, f64::max);
    let line = (0..360 / STEP_DEG).map(|step| {
        let towards = Direction { azimuth: Degrees(f64::from(step * STEP_DEG)), elevation: Degrees(0.0) };
        Db((best(&aimed, towards.vector()) - top).min(0.0))
    });
    let line = line.collect();
    let straight = antennas.iter().all(|antenna| antenna.sort.is_straight());
    let held =
        straight.then(|| level(&aimed, Polarisation::Vertical).zip(level(&aimed, Polarisation::Horizontal)));
    let held = held.flatten().map(|(upright, flat)| Held { upright, flat });
    let hole = hole(&aimed, &tried, top);
    Some(Round { on: on.to_owned(), antennas: names, line, best: Dbi(top), hole, held })
}

fn hole(aimed: &[Aimed], tried: &[(Vector, f64)], top: f64) -> Hole {
    let (mut worst, mut least) = ([1.0, 0.0, 0.0], f64::INFINITY);
    for (towards, gain) in tried {
        // The first of those that are alike.
        if *gain < least - 1e-9 {
            (worst, least) = (*towards, *gain);
        }
    }
    let depth = Db((top - least).max(0.0));
    let opposite = worst.map(|part| -part);
    let mut towards = vec![Direction::of(worst)];
    if best(aimed, opposite) < least + 0.1 {
        towards.push(Direction::of(opposite));
    }
    let words = if depth.0 < 0.05 {
        "nowhere".to_owned()
    } else {
        towards.iter().map(|one| one.words()).collect::<Vec<_>>().join(", and ")
    };
    Hole { depth, towards, words }
}

/// The worst heading in level flight, to a dipole on the ground held as it is said; at most two
/// antennas count.
fn level(aimed: &[Aimed], polarisation: Polarisation) -> Option<Db> {
    let ground = GroundAntenna {
        kind: Kind::HalfWaveDipole,
        polarisation,
        pointing: Pointing::Right,
        feed_loss: Db::ZERO,
    };
    // There z points down.
    let antennas = aimed.iter().take(2).map(|one| Fitted {
        kind: one.kind.clone(),
        axis: [one.axis[0], one.axis[1], -one.axis[2]],
        feed_loss: Db::ZERO,
    });
    let mounting = Mounting { antennas: antennas.collect(), shadow: None };
    let most = aimed.iter().take(2).map(|one| one.kind.peak().0).fold(f64::NEG_INFINITY, f64::max)
        + ground.kind.peak().0;
    let mut worst = Db::ZERO;
    for heading in (0..360_i16).step_by(5) {
        let attitude =
            Attitude { heading: Degrees(f64::from(heading)), pitch: Degrees(0.0), bank: Degrees(0.0) };
        let sight = attitude::sight(&ground, &mounting, attitude, FAR).ok()?;
        worst = worst.max(Db(most - sight.total.0));
    }
    Some(worst)
}

/// What two straight antennas at an angle lose at worst to a field that lies anywhere in the plane of
/// both: half of what is missing to a right angle goes on top of 45 degrees.
///
/// At 90 degrees the better of the two is never more than 45 degrees off, 3.01 dB; side by side both
/// can be wrong, and what reflections leave is [`link::antenna::CROSS_POLAR`].
pub(super) fn field_loss(angle: Degrees) -> Db {
    practical_mismatch(linear_mismatch(Degrees(90.0 - angle.0 / 2.0)))
}
