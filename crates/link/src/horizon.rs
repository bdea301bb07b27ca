//! Earth's curvature and the first Fresnel zone.

use units::{Metres, Mhz};

use crate::bounds::{DISTANCE, EARTH_K, FREQUENCY, HEIGHT, OutOfRange};

/// The mean radius of the Earth: 6371 km (Rec. ITU-R P.526).
pub const EARTH_RADIUS: Metres = Metres(6_371_000.0);

/// The clearance under which Rec. ITU-R P.526 (section 3.2) begins to reckon with diffraction,
/// as a share of the first Fresnel zone's radius.
pub const CLEAR_SHARE: f64 = 0.552;

/// The Earth's radius times `k`: rays bent by the air are straight over such an Earth.
///
/// # Errors
/// [`OutOfRange`] for a `k` outside [`EARTH_K`].
pub fn effective_radius(k: f64) -> Result<Metres, OutOfRange> {
    EARTH_K.check(k)?;
    Ok(EARTH_RADIUS * k)
}

/// How far an antenna sees over a smooth Earth, sqrt(2 k a h).
///
/// Two antennas see each other up to the sum of both. Holds for heights that are small beside
/// the Earth's radius. Source: geometry; Rec. ITU-R P.526 section 3.
///
/// # Errors
/// [`OutOfRange`] for a height outside [`HEIGHT`] or a `k` outside [`EARTH_K`].
pub fn horizon(height: Metres, k: f64) -> Result<Metres, OutOfRange> {
    HEIGHT.check(height.0)?;
    Ok(Metres((2.0 * effective_radius(k)?.0 * height.0).sqrt()))
}

/// How far the Earth bulges up into a path, at `d1` from one end and `d2` from the other:
/// d1 d2 / (2 k a).
///
/// # Errors
/// [`OutOfRange`] for a distance outside [`DISTANCE`] or a `k` outside [`EARTH_K`].
pub fn bulge(d1: Metres, d2: Metres, k: f64) -> Result<Metres, OutOfRange> {
    DISTANCE.check_as("distance1_m", d1.0)?;
    DISTANCE.check_as("distance2_m", d2.0)?;
    Ok(Metres(d1.0 * d2.0 / (2.0 * effective_radius(k)?.0)))
}

/// The radius of the first Fresnel zone, sqrt(lambda d1 d2 / (d1 + d2)).
///
/// Source: Rec. ITU-R P.526 section 2.1, with the exact speed of light; its practical form
/// 550 sqrt(...) reads 0.4 % wide. Holds where `d1` and `d2` are long beside a wave.
///
/// # Errors
/// [`OutOfRange`] for a frequency outside [`FREQUENCY`] or a distance outside [`DISTANCE`].
pub fn fresnel_radius(frequency: Mhz, d1: Metres, d2: Metres) -> Result<Metres, OutOfRange> {
    FREQUENCY.check(frequency.0)?;
    DISTANCE.check_as("distance1_m", d1.0)?;
    DISTANCE.check_as("distance2_m", d2.0)?;
    Ok(Metres((frequency.wavelength().0 * d1.0 * d2.0 / (d1.0 + d2.0)).sqrt()))
}

/// The line of sight's height over a smooth Earth at one point, over [`CLEAR_SHARE`] of the
/// first Fresnel radius there: above 1 the path is clear, below 0 the Earth is in the way.
///
/// The antennas stand `h1` and `h2` above the ground, `d1` and `d2` from the point.
///
/// # Errors
/// [`OutOfRange`] for a height, distance, frequency or `k` outside its range.
pub fn clearance(
    frequency: Mhz,
    (d1, h1): (Metres, Metres),
    (d2, h2): (Metres, Metres),
    k: f64,
) -> Result<f64, OutOfRange> {
    HEIGHT.check_as("height1_m", h1.0)?;
    HEIGHT.check_as("height2_m", h2.0)?;
    let radius = fresnel_radius(frequency, d1, d2)?;
    let line = (h1.0 * d2.0 + h2.0 * d1.0) / (d1.0 + d2.0);
    Ok((line - bulge(d1, d2, k)?.0) / (CLEAR_SHARE * radius.0))
}
