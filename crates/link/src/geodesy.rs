//! Distance and bearing between two places on the Earth.

use geographiclib_rs::{Geodesic as Solver, InverseGeodesic};
use units::{Degrees, Metres};

use crate::bounds::{Bound, OutOfRange};

/// A latitude.
pub const LATITUDE: Bound =
    Bound { name: "latitude_deg", unit: "degrees", low: -90.0, high: 90.0, why: "north is positive" };

/// A longitude.
pub const LONGITUDE: Bound =
    Bound { name: "longitude_deg", unit: "degrees", low: -360.0, high: 360.0, why: "east is positive" };

/// A place on the WGS 84 ellipsoid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Geodetic latitude, north positive.
    pub latitude: Degrees,
    /// Longitude, east positive.
    pub longitude: Degrees,
}

/// The shortest way along the ellipsoid from one place to another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Geodesic {
    /// Its length.
    pub distance: Metres,
    /// The azimuth with which it sets out, -180 to 180, east of north.
    pub start: Degrees,
    /// The azimuth with which it arrives, going on in the same direction.
    pub end: Degrees,
}

/// The shortest way on the WGS 84 ellipsoid.
///
/// Source: C. F. F. Karney, *Algorithms for geodesics*, Journal of Geodesy 87 (2013), 43-55,
/// through the library `geographiclib-rs`; good to nanometres.
///
/// # Errors
/// [`OutOfRange`] for a latitude beyond 90 or a longitude beyond 360 degrees.
pub fn inverse(from: Place, to: Place) -> Result<Geodesic, OutOfRange> {
    for place in [from, to] {
        LATITUDE.check(place.latitude.0)?;
        LONGITUDE.check(place.longitude.0)?;
    }
    let solver = Solver::wgs84();
    let (distance, start, end, _): (f64, f64, f64, f64) =
        solver.inverse(from.latitude.0, from.longitude.0, to.latitude.0, to.longitude.0);
    Ok(Geodesic { distance: Metres(distance), start: Degrees(start), end: Degrees(end) })
}
