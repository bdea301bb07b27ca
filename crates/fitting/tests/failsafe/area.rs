//! The ellipse, and areas in fields.

use fitting::failsafe::area::{
    CHI_SQUARE_95, Covariance, Disc, Ellipse, Lies, Polygon, PolygonFault, Shape, Spot, in_polygon, in_radius,
};
use nalgebra::{Matrix2, SymmetricEigen};
use proptest::prelude::*;
use units::{Degrees, Metres};

use crate::close;

fn spot(east: f64, north: f64) -> Spot {
    Spot { east: Metres(east), north: Metres(north) }
}

fn field(corners: &[(f64, f64)]) -> Polygon {
    Polygon::new(corners.iter().map(|(east, north)| spot(*east, *north)).collect()).unwrap()
}

fn disc(east: f64, north: f64, radius: f64) -> Shape {
    Shape::Disc(Disc { centre: spot(east, north), radius: Metres(radius) })
}

const SQUARE: [(f64, f64); 4] = [(-100.0, -100.0), (100.0, -100.0), (100.0, 100.0), (-100.0, 100.0)];
/// An L: the square without its quarter to the north-east.
const ANGLE: [(f64, f64); 6] =
    [(-100.0, -100.0), (100.0, -100.0), (100.0, 0.0), (0.0, 0.0), (0.0, 100.0), (-100.0, 100.0)];

/// Chi-square with 2 degrees of freedom at 0.95: 5.991 in the standard table; its distribution is
/// `1 − exp(−x/2)`.
#[test]
fn the_ellipse_holds_nineteen_in_twenty() {
    assert!(close(CHI_SQUARE_95, 5.991, 0.0005));
    assert!(close(1.0 - (-CHI_SQUARE_95 / 2.0).exp(), 0.95, 1e-12));
}

/// By hand: 10 m by 5 m of spread, east and north, makes half axes of √5.991464 times that.
#[test]
fn ellipses_by_hand() {
    let one = Ellipse::of(Spot::PILOT, Covariance { east_m2: 100.0, north_m2: 25.0, both_m2: 0.0 });
    assert!(close(one.major.0, 24.4775, 1e-4) && close(one.minor.0, 12.2387, 1e-4), "{one:?}");
    assert!(close(one.bearing.0, 90.0, 1e-9), "{one:?}");
    // Along north-east: 45 degrees from true north, also counted from east.
    let slope = Ellipse::of(Spot::PILOT, Covariance { east_m2: 50.0, north_m2: 50.0, both_m2: 30.0 });
    assert!(close(slope.bearing.0, 45.0, 1e-9), "{slope:?}");
    let back = Ellipse::of(Spot::PILOT, Covariance { east_m2: 50.0, north_m2: 50.0, both_m2: -30.0 });
    assert!(close(back.bearing.0, 135.0, 1e-9), "{back:?}");
    let none = Ellipse::of(Spot::PILOT, Covariance::default());
    assert!(close(none.major.0, 0.0, 0.0) && close(none.minor.0, 0.0, 0.0));
}

/// Even-odd rule by hand, also level with corners, where a ray meets two sides.
#[test]
fn points_in_fields() {
    for (corners, east, north, inside) in [
        (&SQUARE[..], 0.0, 0.0, true),
        (&SQUARE[..], 99.0, -99.0, true),
        (&SQUARE[..], 101.0, 0.0, false),
        (&SQUARE[..], -101.0, 0.0, false),
        (&SQUARE[..], 0.0, 101.0, false),
        (&ANGLE[..], -50.0, 50.0, true),
        (&ANGLE[..], 50.0, -50.0, true),
        (&ANGLE[..], 50.0, 50.0, false),
        (&ANGLE[..], -50.0, 0.0, true),
        (&ANGLE[..], 150.0, 0.0, false),
        (&ANGLE[..], -150.0, 0.0, false),
    ] {
        let mut turned = corners.to_vec();
        for _ in 0..corners.len() {
            turned.rotate_left(1);
            assert_eq!(field(&turned).holds(spot(east, north)), inside, "{east} {north} in {turned:?}");
        }
        turned.reverse();
        assert_eq!(field(&turned).holds(spot(east, north)), inside, "{east} {north} in {turned:?}");
    }
}

/// Distances to a side by hand.
#[test]
fn distances_to_sides() {
    for (east, north, far) in [(0.0, 0.0, 100.0), (90.0, 0.0, 10.0), (110.0, 50.0, 10.0), (103.0, 104.0, 5.0)]
    {
        assert!(close(field(&SQUARE).to_side(spot(east, north)).0, far, 1e-9), "{east} {north}");
    }
}

/// Areas in fields by hand: how far inside, how far beyond.
#[test]
fn areas_in_fields() {
    let wide = Shape::Ellipse(Ellipse {
        centre: spot(80.0, 0.0),
        major: Metres(30.0),
        minor: Metres(10.0),
        bearing: Degrees(90.0),
    });
    let long = Shape::Ellipse(Ellipse {
        centre: spot(80.0, 0.0),
        major: Metres(30.0),
        minor: Metres(10.0),
        bearing: Degrees(0.0),
    });
    for (corners, shape, want) in [
        (&SQUARE[..], disc(0.0, 0.0, 30.0), Lies::Inside(Metres(70.0))),
        (&SQUARE[..], disc(80.0, 0.0, 30.0), Lies::Crosses(Metres(10.0))),
        (&SQUARE[..], disc(0.0, 0.0, 200.0), Lies::Crosses(Metres(100.0))),
        (&SQUARE[..], disc(150.0, 0.0, 10.0), Lies::Crosses(Metres(60.0))),
        (&SQUARE[..], wide, Lies::Crosses(Metres(10.0))),
        (&SQUARE[..], long, Lies::Inside(Metres(10.0))),
        (&ANGLE[..], disc(-50.0, -50.0, 40.0), Lies::Inside(Metres(10.0))),
        (
            &ANGLE[..],
            disc(-30.0, -30.0, 30.0),
            Lies::Inside(Metres(900.0_f64.sqrt() * 2.0_f64.sqrt() - 30.0)),
        ),
        (&ANGLE[..], disc(-30.0, -30.0, 52.426), Lies::Crosses(Metres(10.0 / 2.0_f64.sqrt()))),
    ] {
        let got = in_polygon(&field(corners), &shape);
        let near = match (got, want) {
            (Lies::Inside(a), Lies::Inside(b)) | (Lies::Crosses(a), Lies::Crosses(b)) => {
                close(a.0, b.0, 0.05)
            }
            _ => false,
        };
        assert!(near, "{shape:?}: {got:?}, not {want:?}");
    }
}

/// By hand: 60 m off with 30 m of radius is 90 m out.
#[test]
fn areas_in_circles() {
    assert_eq!(in_radius(Metres(100.0), &disc(60.0, 0.0, 30.0)), Lies::Inside(Metres(10.0)));
    assert_eq!(in_radius(Metres(80.0), &disc(0.0, -60.0, 30.0)), Lies::Crosses(Metres(10.0)));
}

#[test]
fn fields_that_are_none() {
    let of = |corners: &[(f64, f64)]| Polygon::new(corners.iter().map(|(e, n)| spot(*e, *n)).collect());
    assert_eq!(of(&[(0.0, 0.0), (1.0, 0.0)]), Err(PolygonFault::TooFew(2)));
    assert_eq!(of(&[(0.0, 0.0), (50.0, 0.0), (90.0, 0.0)]), Err(PolygonFault::Flat));
    let bow = [(0.0, 0.0), (100.0, 100.0), (100.0, 0.0), (0.0, 100.0)];
    assert_eq!(of(&bow), Err(PolygonFault::Crossing(1, 3)));
}

proptest! {
    /// Half axes are the roots of the eigenvalues, as a linear algebra library finds them.
    #[test]
    fn axes_are_those_of_the_eigenvalues(a in 0.0..50.0, b in 0.0..50.0, turn in 0.0..180.0) {
        let (a, b): (f64, f64) = (a * a, b * b);
        let (sin, cos) = f64::to_radians(turn).sin_cos();
        let spread = Covariance {
            east_m2: a * cos * cos + b * sin * sin,
            north_m2: a * sin * sin + b * cos * cos,
            both_m2: (a - b) * sin * cos,
        };
        let matrix = Matrix2::new(spread.east_m2, spread.both_m2, spread.both_m2, spread.north_m2);
        let mut roots: Vec<f64> = SymmetricEigen::new(matrix).eigenvalues.iter().copied().collect();
        roots.sort_by(f64::total_cmp);
        let ellipse = Ellipse::of(Spot::PILOT, spread);
        let square = |axis: Metres| axis.0 * axis.0 / 5.991_464_547;
        prop_assert!(close(square(ellipse.major), roots[1], 1e-6) && close(square(ellipse.minor), roots[0], 1e-6));
        // Variance along the bearing is the greater root.
        let (sin, cos) = ellipse.bearing.radians().sin_cos();
        let along = spread.east_m2 * sin * sin + spread.north_m2 * cos * cos + 2.0 * spread.both_m2 * sin * cos;
        prop_assert!(close(along, roots[1], 1e-6));
    }
}
