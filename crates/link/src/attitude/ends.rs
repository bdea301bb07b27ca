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
}

/// How the ground stands to the aircraft, in body axes.
pub(super) struct Seen {
    /// From the aircraft to the ground antenna.
    pub(super) towards: Vector,
    /// Across it, in the upright plane through both.
    pub(super) upright: Vector,
}

impl Seen {
    /// The same with left and right exchanged.
    pub(super) fn mirrored(&self) -> Seen {
        let mirror = |a: Vector| [a[0], -a[1], a[2]];
        Seen { towards: mirror(self.towards), upright: mirror(self.upright) }
    }
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
        })
    }

    /// How the ground stands to the aircraft at one attitude; each angle as (sin, cos).
    pub(super) fn seen(&self, heading: (f64, f64), pitch: (f64, f64), bank: (f64, f64)) -> Seen {
        let ((sh, ch), (sp, cp), (sb, cb)) = (heading, pitch, bank);
        // The world's x and z axes in body axes: two rows of the usual heading, pitch,
        // bank rotation (heading first).
        let x = [cp * ch, sb * sp * ch - cb * sh, cb * sp * ch + sb * sh];
        let z = [-sp, sb * cp, cb * cp];
        let mix = |of_x: f64, of_z: f64| {
            [of_x * x[0] + of_z * z[0], of_x * x[1] + of_z * z[1], of_x * x[2] + of_z * z[2]]
        };
        Seen {
            towards: mix(-self.cos_elevation, self.sin_elevation),
            upright: mix(-self.sin_elevation, -self.cos_elevation),
        }
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
        if matches!(air.field, Field::Any) || matches!(self.field, Field::Any) {
            return (gain, 1.0);
        }
        // On the axis itself the field has no direction; what is nearest stands in.
        let main = across(air.field_axis, seen.towards).unwrap_or(seen.upright);
        let (re, im) = air.field.parts(main, seen.towards);
        let in_step = dot(re, wave.0) - dot(im, wave.1);
        let quarter = dot(re, wave.1) + dot(im, wave.0);
        let share = in_step * in_step + quarter * quarter;
        (gain, share.clamp((-CROSS_POLAR).ratio(), 1.0))
    }

    /// Power over isotropic antennas at both ends: the better of the aircraft's antennas.
    pub(super) fn power(&self, seen: &Seen) -> f64 {
        let wave = self.ground_field(seen);
        let best = self.air.iter().fold(0.0, |best: f64, air| {
            let (gain, share) = self.air(air, seen, wave);
            best.max(gain * share * air.feed)
        });
        best * self.ground_gain * self.ground_feed * self.shadow(seen)
    }

    /// The same in its parts.
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
