//! Straight lines in the airframe, and how near they come to each other.

use units::{Degrees, Metres};

use super::round::Direction;

/// A point in the airframe, from any one point of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Towards the nose.
    pub forward: Metres,
    /// Towards the right wing.
    pub right: Metres,
    /// Up, the aircraft level.
    pub up: Metres,
}

/// How near something comes to an antenna.
#[derive(Clone, Debug, PartialEq)]
pub struct Near {
    /// What to call it.
    pub thing: String,
    /// What it is.
    pub sort: super::Disturber,
    /// The distance between the two, at the nearest.
    pub distance: Metres,
    /// The angle between the two, where both are long and their directions known.
    pub angle: Option<Degrees>,
}

pub(super) type Vector = [f64; 3];

pub(super) fn dot(a: Vector, b: Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

pub(super) fn plus(a: Vector, b: Vector, times: f64) -> Vector {
    [a[0] + times * b[0], a[1] + times * b[1], a[2] + times * b[2]]
}

/// Of length 1; `None` for nothing.
pub(super) fn unit(a: Vector) -> Option<Vector> {
    let size = dot(a, a).sqrt();
    (size > 1e-9).then(|| a.map(|part| part / size))
}

/// The angle between two lines, 0 to 90 degrees.
pub(super) fn between(a: Vector, b: Vector) -> Option<Degrees> {
    let cosine = dot(unit(a)?, unit(b)?).abs().min(1.0);
    Some(Degrees(cosine.acos().to_degrees()))
}

impl Point {
    pub(super) fn vector(self) -> Vector {
        [self.forward.0, self.right.0, self.up.0]
    }

    pub(super) fn of(vector: Vector) -> Point {
        let [forward, right, up] = vector.map(Metres);
        Point { forward, right, up }
    }

    /// The point so far along a direction.
    pub(super) fn along(self, towards: Direction, by: Metres) -> Point {
        Point::of(plus(self.vector(), towards.vector(), by.0))
    }
}

/// The shortest way between two straight pieces, each given by its ends (one point twice is a point).
///
/// Ericson, Real-Time Collision Detection, section 5.1.9 (from memory): the nearest points of the
/// two lines, each held to its piece in turn.
pub(super) fn shortest(one: (Point, Point), other: (Point, Point)) -> Metres {
    let (p, q) = (one.0.vector(), other.0.vector());
    let (d, e) = (plus(one.1.vector(), p, -1.0), plus(other.1.vector(), q, -1.0));
    let gap = plus(p, q, -1.0);
    let (dd, ee, ed) = (dot(d, d), dot(e, e), dot(d, e));
    let (dg, eg) = (dot(d, gap), dot(e, gap));
    let share = |part: f64, whole: f64| if whole > 1e-18 { (part / whole).clamp(0.0, 1.0) } else { 0.0 };
    // On the first piece by both lines (any point of it where they run alongside), then the nearest
    // on the second, then back.
    let first = share(ed * eg - dg * ee, dd * ee - ed * ed);
    let second = share(ed * first + eg, ee);
    let first = share(ed * second - dg, dd);
    let away = plus(plus(gap, d, first), e, -second);
    Metres(dot(away, away).sqrt())
}
