//! Places round the pilot, the area to search, and the field's boundary.

use units::{Degrees, Metres};

/// A place, seen from the pilot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// East of the pilot.
    pub east: Metres,
    /// North of the pilot.
    pub north: Metres,
}

impl Spot {
    /// Where the pilot stands.
    pub const PILOT: Spot = Spot { east: Metres(0.0), north: Metres(0.0) };

    /// So far from here, towards a bearing from true north.
    #[must_use]
    pub fn along(self, bearing: Degrees, distance: Metres) -> Spot {
        let (sin, cos) = bearing.radians().sin_cos();
        self.shifted(distance.0 * sin, distance.0 * cos)
    }

    /// The distance and the bearing from here to there.
    pub fn to(self, there: Spot) -> (Metres, Degrees) {
        let (east, north) = self.apart(there);
        (Metres(east.hypot(north)), Degrees(east.atan2(north).to_degrees().rem_euclid(360.0)))
    }

    fn apart(self, there: Spot) -> (f64, f64) {
        (there.east.0 - self.east.0, there.north.0 - self.north.0)
    }

    fn shifted(self, east: f64, north: f64) -> Spot {
        Spot { east: Metres(self.east.0 + east), north: Metres(self.north.0 + north) }
    }
}

/// The value that the square of a normal spread in two dimensions stays below 95 times in 100:
/// chi-square with 2 degrees of freedom, `−2 ln 0.05` (standard table: 5.991).
pub const CHI_SQUARE_95: f64 = 5.991_464_547_107_979;

/// How a place is spread, square metres.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Covariance {
    /// East with east.
    pub east_m2: f64,
    /// North with north.
    pub north_m2: f64,
    /// East with north.
    pub both_m2: f64,
}

impl Covariance {
    /// One more cause of spread, by what one standard deviation of it shifts.
    pub(super) fn add(&mut self, east: f64, north: f64) {
        self.east_m2 += east * east;
        self.north_m2 += north * north;
        self.both_m2 += east * north;
    }
}

/// An area that holds the place 95 times in 100, if the spreads are right.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ellipse {
    /// Its middle.
    pub centre: Spot,
    /// Half its length.
    pub major: Metres,
    /// Half its width.
    pub minor: Metres,
    /// Where its length points, 0 to 180 from true north.
    pub bearing: Degrees,
}

impl Ellipse {
    /// The 95 % ellipse of a normal spread: half axes `√(χ² λ)` with λ the eigenvalues of the
    /// covariance (textbook).
    pub fn of(centre: Spot, spread: Covariance) -> Ellipse {
        let mean = f64::midpoint(spread.east_m2, spread.north_m2);
        let (half, both) = ((spread.east_m2 - spread.north_m2) / 2.0, spread.both_m2);
        let root = half.hypot(both);
        let axis = |square: f64| Metres((CHI_SQUARE_95 * square.max(0.0)).sqrt());
        let from_east = both.atan2(half).to_degrees() / 2.0;
        Ellipse {
            centre,
            major: axis(mean + root),
            minor: axis(mean - root),
            bearing: Degrees((90.0 - from_east).rem_euclid(180.0)),
        }
    }

    fn edge(&self, turn: f64) -> Spot {
        let (sin, cos) = turn.sin_cos();
        let along = self.centre.along(self.bearing, self.major * cos);
        along.along(Degrees(self.bearing.0 + 90.0), self.minor * sin)
    }

    /// Whether a place is inside.
    pub fn holds(&self, spot: Spot) -> bool {
        let (distance, bearing) = self.centre.to(spot);
        let (sin, cos) = (bearing.radians() - self.bearing.radians()).sin_cos();
        let (along, across) = (distance.0 * cos, distance.0 * sin);
        (along * self.minor.0).hypot(across * self.major.0) < self.major.0 * self.minor.0
    }
}

/// Everywhere within a distance of a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Disc {
    /// Its middle.
    pub centre: Spot,
    /// Its radius.
    pub radius: Metres,
}

/// The corners of a field, three or more, whose sides don't cross.
#[derive(Clone, Debug, PartialEq)]
pub struct Polygon(Vec<Spot>);

/// Why corners bound no field.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PolygonFault {
    /// So few corners.
    TooFew(usize),
    /// The sides after these corners (counted from 1) cross.
    Crossing(usize, usize),
    /// They lie on one line.
    Flat,
}

/// Twice the area to the left of the way from `a` over `b` to `c`.
fn left(a: Spot, b: Spot, c: Spot) -> f64 {
    let (ab, ac) = (a.apart(b), a.apart(c));
    ab.0 * ac.1 - ab.1 * ac.0
}

fn cross(a: Spot, b: Spot, c: Spot, d: Spot) -> bool {
    left(a, b, c) * left(a, b, d) < 0.0 && left(c, d, a) * left(c, d, b) < 0.0
}

impl Polygon {
    /// A field with these corners, in their order round it, either way.
    ///
    /// # Errors
    /// Fewer than three corners, sides that cross, no area.
    pub fn new(corners: Vec<Spot>) -> Result<Polygon, PolygonFault> {
        if corners.len() < 3 {
            return Err(PolygonFault::TooFew(corners.len()));
        }
        let field = Polygon(corners);
        let sides: Vec<_> = field.sides().collect();
        for (first, a) in sides.iter().enumerate() {
            for (second, b) in sides.iter().enumerate().skip(first + 1) {
                if cross(a.0, a.1, b.0, b.1) {
                    return Err(PolygonFault::Crossing(first + 1, second + 1));
                }
            }
        }
        let doubled: f64 = sides.iter().map(|(a, b)| left(field.0[0], *a, *b)).sum();
        if doubled.abs() < 1.0 { Err(PolygonFault::Flat) } else { Ok(field) }
    }

    /// The corners.
    pub fn corners(&self) -> &[Spot] {
        &self.0
    }

    fn sides(&self) -> impl Iterator<Item = (Spot, Spot)> + '_ {
        self.0.iter().copied().zip(self.0.iter().copied().cycle().skip(1))
    }

    /// Whether a place is inside, by the sides that a ray to the east meets (textbook even-odd rule).
    pub fn holds(&self, spot: Spot) -> bool {
        let meets = |(a, b): &(Spot, Spot)| {
            let spans = (a.north.0 > spot.north.0) != (b.north.0 > spot.north.0);
            let up = b.north.0 - a.north.0;
            spans
                && (spot.east.0 - a.east.0) * up.abs()
                    < (b.east.0 - a.east.0) * (spot.north.0 - a.north.0) * up.signum()
        };
        self.sides().filter(meets).count() % 2 == 1
    }

    /// How far a place is from the nearest side.
    pub fn to_side(&self, spot: Spot) -> Metres {
        let one = |(a, b): (Spot, Spot)| {
            let (side, from) = (a.apart(b), a.apart(spot));
            let square = side.0 * side.0 + side.1 * side.1;
            let share = if square > 0.0 { (from.0 * side.0 + from.1 * side.1) / square } else { 0.0 };
            let share = share.clamp(0.0, 1.0);
            (from.0 - share * side.0).hypot(from.1 - share * side.1)
        };
        Metres(self.sides().map(one).fold(f64::INFINITY, f64::min))
    }
}

/// An area to search.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shape {
    /// Likely.
    Ellipse(Ellipse),
    /// Possible.
    Disc(Disc),
}

/// Points on a shape's edge; between two of them it strays by less than 1e-5 of its size.
const EDGE_POINTS: u32 = 720;

impl Shape {
    fn edge(&self) -> impl Iterator<Item = Spot> + '_ {
        (0..EDGE_POINTS).map(|at| {
            let turn = std::f64::consts::TAU * f64::from(at) / f64::from(EDGE_POINTS);
            match self {
                Shape::Ellipse(ellipse) => ellipse.edge(turn),
                Shape::Disc(disc) => disc.centre.along(Degrees(turn.to_degrees()), disc.radius),
            }
        })
    }

    /// Whether a place is inside.
    pub fn holds(&self, spot: Spot) -> bool {
        match self {
            Shape::Ellipse(ellipse) => ellipse.holds(spot),
            Shape::Disc(disc) => disc.centre.to(spot).0 < disc.radius,
        }
    }
}

/// How a shape lies in a boundary.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Lies {
    /// Inside, so far from it at the nearest.
    Inside(Metres),
    /// It crosses it, and reaches so far beyond.
    Crosses(Metres),
}

/// How a shape lies in a field.
pub fn in_polygon(field: &Polygon, shape: &Shape) -> Lies {
    let mut nearest = f64::INFINITY;
    let mut beyond: Option<f64> = None;
    for spot in shape.edge() {
        let far = field.to_side(spot).0;
        if field.holds(spot) {
            nearest = nearest.min(far);
        } else {
            beyond = Some(beyond.unwrap_or_default().max(far));
        }
    }
    // A corner of the field that points into the shape, between two points of its edge.
    if beyond.is_none() && field.corners().iter().any(|corner| shape.holds(*corner)) {
        beyond = Some(0.0);
    }
    beyond.map_or(Lies::Inside(Metres(nearest)), |far| Lies::Crosses(Metres(far)))
}

/// How a shape lies in a circle round the pilot.
pub fn in_radius(radius: Metres, shape: &Shape) -> Lies {
    let far = match shape {
        Shape::Disc(disc) => Spot::PILOT.to(disc.centre).0 + disc.radius,
        Shape::Ellipse(_) => Metres(shape.edge().map(|spot| Spot::PILOT.to(spot).0.0).fold(0.0, f64::max)),
    };
    if far <= radius { Lies::Inside(radius - far) } else { Lies::Crosses(far - radius) }
}
