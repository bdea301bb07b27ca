//! Both ends of the link made ready, and what they come to in one direction.

use units::{Db, Degrees};

use super::{ELEVATION, GroundAntenna, Mounting, NULL_DEPTH, Pointing, Sight};
use crate::antenna::{Axis, CROSS_POLAR, Hand, Kind, Pattern};
use crate::bounds::OutOfRange;
use crate::ground::Polarisation;

type Vector = [f64; 3];

pub(super) fn length(a: Vector) -> f64 {
    dot(a, a).sqrt()
}

fn dot(a: Vector, b: Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn cross(a: Vector, b: Vector) -> Vector {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn scaled(a: Vector, by: f64) -> Vector {
    a.map(|part| part * by)
}

fn unit(a: Vector) -> Vector {
    scaled(a, 1.0 / length(a))
}

/// The part of several vectors along `a`.
#[inline]
fn projected(a: Vector, of: &[Lanes; 3]) -> Lanes {
    let mut parts = [0.0; LANES];
    for lane in 0..LANES {
        parts[lane] = a[0] * of[0][lane] + a[1] * of[1][lane] + a[2] * of[2][lane];
    }
    parts
}

/// The share of the power that passes between two straight fields. The antenna's own axis
/// has the part `along` along the path and `meet` along the wave's field, which lies
/// across the path; its part across is made to length 1.
#[inline]
fn straight(along: f64, meet: f64) -> f64 {
    meet * meet / (1.0 - along * along).max(1e-18)
}

/// What of `a` stands across the unit vector `along`, with length 1; `None` when `a` lies
/// along it.
fn across(a: Vector, along: Vector) -> Option<Vector> {
    let part = dot(a, along);
    let rest = [a[0] - part * along[0], a[1] - part * along[1], a[2] - part * along[2]];
    let size = length(rest);
    (size > 1e-9).then(|| scaled(rest, 1.0 / size))
}

/// How an antenna's field lies, apart from where.
#[derive(Clone, Copy, Debug)]
enum Field {
    /// Matched to every field.
    Any,
    /// Straight.
    Linear,
    /// An ellipse: the shares of the field along the greater and the smaller axis, the
    /// latter with the sign of its hand.
    Ellipse { major: f64, minor: f64 },
}

impl Field {
    fn of(kind: &Kind) -> Field {
        match kind {
            Kind::Isotropic | Kind::Off => Field::Any,
            Kind::Circular { hand, axial_ratio, .. } => {
                let ratio = 10f64.powf(axial_ratio.0.abs() / 20.0);
                let major = ratio / ratio.hypot(1.0);
                let minor = 1.0 / ratio.hypot(1.0);
                // With e^{jωt} a right-hand wave along k has the field m − j k×m.
                Field::Ellipse { major, minor: if *hand == Hand::Right { -minor } else { minor } }
            }
            _ => Field::Linear,
        }
    }

    /// Real and imaginary part of the field of a wave along `k`, with its greater axis
    /// along `m` (both of length 1, across each other).
    fn parts(self, m: Vector, k: Vector) -> (Vector, Vector) {
        match self {
            Field::Any | Field::Linear => (m, [0.0; 3]),
            Field::Ellipse { major, minor } => (scaled(m, major), scaled(cross(k, m), minor)),
        }
    }
}

/// One of the aircraft's antennas, ready.
struct Air<'a> {
    pattern: Pattern<'a>,
    least: f64,
    axis: Vector,
    /// What the field's greater axis comes nearest to.
    field_axis: Vector,
    field: Field,
    feed: f64,
}

/// Both ends, ready for many attitudes.
pub(super) struct Ends<'a> {
    air: Vec<Air<'a>>,
    shadow: Option<(Vector, f64, f64)>,
    polarisation: Polarisation,
    field: Field,
    ground_gain: f64,
    ground_feed: f64,
    sin_elevation: f64,
    cos_elevation: f64,
    cross_polar: f64,
}

/// Two of the world's axes in body axes, at one attitude.
#[derive(Clone, Copy)]
pub(super) struct World {
    pub(super) x: Vector,
    pub(super) z: Vector,
}

impl World {
    /// By heading, then pitch, then bank, each as (sin, cos).
    pub(super) fn turned(heading: (f64, f64), pitch: (f64, f64), bank: (f64, f64)) -> World {
        let ((sh, ch), (sp, cp), (sb, cb)) = (heading, pitch, bank);
        World { x: [cp * ch, sb * sp * ch - cb * sh, cb * sp * ch + sb * sh], z: [-sp, sb * cp, cb * cp] }
    }
}

/// How many attitudes are reckoned side by side, so that the compiler can use the
/// processor's wide registers.
pub(super) const LANES: usize = 8;

/// One number for each of several attitudes.
pub(super) type Lanes = [f64; LANES];

/// [`World`] for several attitudes.
pub(super) struct Worlds {
    x: [Lanes; 3],
    z: [Lanes; 3],
}

impl Worlds {
    /// By the number of the lane.
    pub(super) fn of(world: impl Fn(usize) -> World) -> Worlds {
        let mut worlds = Worlds { x: [[0.0; LANES]; 3], z: [[0.0; LANES]; 3] };
        for lane in 0..LANES {
            let World { x, z } = world(lane);
            for part in 0..3 {
                worlds.x[part][lane] = x[part];
                worlds.z[part][lane] = z[part];
            }
        }
        worlds
    }

    /// The same with left and right exchanged.
    pub(super) fn mirrored(&self) -> Worlds {
        let mirror = |a: &[Lanes; 3]| [a[0], a[1].map(|part| -part), a[2]];
        Worlds { x: mirror(&self.x), z: mirror(&self.z) }
    }
}

/// How the ground stands to the aircraft, in body axes.
pub(super) struct Seen {
    /// From the aircraft to the ground antenna.
    towards: Vector,
    /// Across it, in the upright plane through both.
    upright: Vector,
}

impl<'a> Ends<'a> {
    pub(super) fn new(
        ground: &GroundAntenna,
        mounting: &'a Mounting,
        elevation: Degrees,
    ) -> Result<Ends<'a>, OutOfRange> {
        ground.check()?;
        mounting.check()?;
        ELEVATION.check(elevation.0)?;
        let air = mounting.antennas.iter().map(|fitted| {
            let axis = unit(fitted.axis);
            let pattern = Pattern::of(&fitted.kind);
            let field_axis = match fitted.kind.axis() {
                // A beam within about 25 degrees of straight up or down.
                Axis::Beam if axis[2].abs() > 0.9 => [1.0, 0.0, 0.0],
                Axis::Beam => [0.0, 0.0, 1.0],
                Axis::Wire | Axis::None => axis,
            };
            Air {
                least: pattern.peak() * (-NULL_DEPTH).ratio(),
                pattern,
                axis,
                field_axis,
                field: Field::of(&fitted.kind),
                feed: (-fitted.feed_loss).ratio(),
            }
        });
        let pattern = Pattern::of(&ground.kind);
        let off = match ground.pointing {
            Pointing::Right => 0.0,
            Pointing::OffBy(angle) => angle.radians(),
        };
        let cosine = match ground.kind.axis() {
            Axis::Beam => off.cos(),
            Axis::Wire | Axis::None => off.sin(),
        };
        let (sin_elevation, cos_elevation) = elevation.radians().sin_cos();
        Ok(Ends {
            air: air.collect(),
            shadow: mounting.shadow.as_ref().map(|shadow| {
                (unit(shadow.axis), shadow.half_angle.radians().cos() - 1e-12, (-shadow.loss).ratio())
            }),
            polarisation: ground.polarisation,
            field: Field::of(&ground.kind),
            ground_gain: pattern.power(cosine).max(pattern.peak() * (-NULL_DEPTH).ratio()),
            ground_feed: (-ground.feed_loss).ratio(),
            sin_elevation,
            cos_elevation,
            cross_polar: (-CROSS_POLAR).ratio(),
        })
    }

    /// How the ground stands to the aircraft at one attitude.
    pub(super) fn seen(&self, world: &World) -> Seen {
        let part = |part: usize| self.mix(world.x[part], world.z[part]);
        let parts = [part(0), part(1), part(2)];
        Seen { towards: parts.map(|part| part.0), upright: parts.map(|part| part.1) }
    }

    /// One part of the directions to the ground and across it, from those of the world's
    /// axes.
    #[inline]
    fn mix(&self, x: f64, z: f64) -> (f64, f64) {
        let (sin, cos) = (self.sin_elevation, self.cos_elevation);
        (sin * z - cos * x, -sin * x - cos * z)
    }

    /// The ground antenna's field: along the wave from the ground, real and imaginary part.
    fn ground_field(&self, seen: &Seen) -> (Vector, Vector) {
        let main = match self.polarisation {
            Polarisation::Vertical => seen.upright,
            Polarisation::Horizontal => cross(seen.towards, seen.upright),
        };
        self.field.parts(main, scaled(seen.towards, -1.0))
    }

    fn shadow(&self, seen: &Seen) -> f64 {
        match self.shadow {
            Some((axis, cosine, loss)) if dot(axis, seen.towards) >= cosine => loss,
            _ => 1.0,
        }
    }

    /// Gain of one of the aircraft's antennas and the share that its polarisation leaves.
    fn air(&self, air: &Air, seen: &Seen, wave: (Vector, Vector)) -> (f64, f64) {
        let gain = air.pattern.power(dot(air.axis, seen.towards)).max(air.least);
        let share = match (air.field, self.field) {
            (Field::Any, _) | (_, Field::Any) => return (gain, 1.0),
            (Field::Linear, Field::Linear) => {
                straight(dot(air.field_axis, seen.towards), dot(air.field_axis, wave.0))
            }
            _ => {
                // On the axis itself the field has no direction; what is nearest stands in.
                let main = across(air.field_axis, seen.towards).unwrap_or(seen.upright);
                let (re, im) = air.field.parts(main, seen.towards);
                let in_step = dot(re, wave.0) - dot(im, wave.1);
                let quarter = dot(re, wave.1) + dot(im, wave.0);
                in_step * in_step + quarter * quarter
            }
        };
        (gain, share.clamp(self.cross_polar, 1.0))
    }

    /// Power over isotropic antennas at both ends, with the better of the aircraft's
    /// antennas, at several attitudes.
    pub(super) fn powers(&self, worlds: &Worlds) -> Lanes {
        let (mut towards, mut upright) = ([[0.0; LANES]; 3], [[0.0; LANES]; 3]);
        for part in 0..3 {
            for lane in 0..LANES {
                (towards[part][lane], upright[part][lane]) =
                    self.mix(worlds.x[part][lane], worlds.z[part][lane]);
            }
        }
        let at = |of: &[Lanes; 3], lane: usize| [of[0][lane], of[1][lane], of[2][lane]];
        let main = match self.polarisation {
            Polarisation::Vertical => upright,
            Polarisation::Horizontal => {
                let mut lying = [[0.0; LANES]; 3];
                let [ahead, right, down] = &mut lying;
                for (lane, ((ahead, right), down)) in ahead.iter_mut().zip(right).zip(down).enumerate() {
                    [*ahead, *right, *down] = cross(at(&towards, lane), at(&upright, lane));
                }
                lying
            }
        };
        let mut best: Lanes = [0.0; LANES];
        for air in &self.air {
            let gain = air.pattern.powers(&projected(air.axis, &towards));
            let share: Lanes = match (air.field, self.field) {
                (Field::Any, _) | (_, Field::Any) => [1.0; LANES],
                (Field::Linear, Field::Linear) => {
                    let along = projected(air.field_axis, &towards);
                    let meet = projected(air.field_axis, &main);
                    let mut share = [0.0; LANES];
                    for lane in 0..LANES {
                        share[lane] = straight(along[lane], meet[lane]).max(self.cross_polar).min(1.0);
                    }
                    share
                }
                _ => std::array::from_fn(|lane| {
                    let seen = Seen { towards: at(&towards, lane), upright: at(&upright, lane) };
                    self.air(air, &seen, self.ground_field(&seen)).1
                }),
            };
            for lane in 0..LANES {
                best[lane] = best[lane].max(gain[lane].max(air.least) * share[lane] * air.feed);
            }
        }
        let ground = self.ground_gain * self.ground_feed;
        std::array::from_fn(|lane| {
            let seen = || Seen { towards: at(&towards, lane), upright: at(&upright, lane) };
            let shadow = if self.shadow.is_some() { self.shadow(&seen()) } else { 1.0 };
            best[lane] * ground * shadow
        })
    }

    /// What it comes to at one attitude, in its parts.
    pub(super) fn sight(&self, seen: &Seen) -> Sight {
        let wave = self.ground_field(seen);
        let (mut antenna, mut gain, mut share, mut feed) = (0, 0.0, 0.0, 0.0);
        for (index, air) in self.air.iter().enumerate() {
            let (its_gain, its_share) = self.air(air, seen, wave);
            if its_gain * its_share * air.feed > gain * share * feed {
                (antenna, gain, share, feed) = (index, its_gain, its_share, air.feed);
            }
        }
        let lost = |ratio: f64| Db(0.0 - Db::of_ratio(ratio).0);
        let (ground, air) = (Db::of_ratio(self.ground_gain), Db::of_ratio(gain));
        let (polarisation, shadow) = (lost(share), lost(self.shadow(seen)));
        let feed = lost(feed * self.ground_feed);
        let total = ground + air - polarisation - shadow - feed;
        Sight { antenna, ground, air, polarisation, shadow, feed, total }
    }
}
