//! Pressure and height in the standard atmosphere (ISO 2533:1975; ICAO Doc 7488), below the
//! tropopause.

use units::Metres;

use crate::bounds::{Bound, OutOfRange};

/// A pressure, pascals.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Pascals(pub f64);

/// A temperature, kelvins.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Kelvins(pub f64);

/// A density, kilograms a cubic metre.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Density(pub f64);

/// Pressure at height zero.
pub const SEA_LEVEL: Pascals = Pascals(101_325.0);

/// A geopotential height of this layer.
pub const HEIGHT: Bound = Bound {
    name: "height_m",
    unit: "m",
    low: -2000.0,
    high: 11_000.0,
    why: "the lowest layer of the standard atmosphere",
};

/// A pressure of this layer.
pub const PRESSURE: Bound = Bound {
    name: "pressure_pa",
    unit: "Pa",
    low: 22_632.0,
    high: 127_774.0,
    why: "the lowest layer of the standard atmosphere, 11000 m down to -2000 m",
};

const SEA_LEVEL_K: f64 = 288.15;
const LAPSE_K_PER_M: f64 = 0.0065;
const GRAVITY: f64 = 9.80665;
const GAS_J_PER_KG_K: f64 = 287.052_87;
const EARTH_RADIUS_M: f64 = 6_356_766.0;

/// g0 / (R L), about 5.255880.
const EXPONENT: f64 = GRAVITY / (GAS_J_PER_KG_K * LAPSE_K_PER_M);

/// Temperature at a geopotential height.
///
/// # Errors
/// [`OutOfRange`] outside -2000 to 11000 m.
pub fn temperature_at(height: Metres) -> Result<Kelvins, OutOfRange> {
    Ok(Kelvins(SEA_LEVEL_K - LAPSE_K_PER_M * HEIGHT.check(height.0)?))
}

/// Pressure at a geopotential height: p0 (1 - L H / T0)^(g0 / R L).
///
/// # Errors
/// [`OutOfRange`] outside -2000 to 11000 m.
pub fn pressure_at(height: Metres) -> Result<Pascals, OutOfRange> {
    let Kelvins(temperature) = temperature_at(height)?;
    Ok(Pascals(SEA_LEVEL.0 * (temperature / SEA_LEVEL_K).powf(EXPONENT)))
}

/// Density of dry air at a geopotential height: p / (R T).
///
/// # Errors
/// [`OutOfRange`] outside -2000 to 11000 m.
pub fn density_at(height: Metres) -> Result<Density, OutOfRange> {
    let (Pascals(pressure), Kelvins(temperature)) = (pressure_at(height)?, temperature_at(height)?);
    Ok(Density(pressure / (GAS_J_PER_KG_K * temperature)))
}

/// The geopotential height at which the standard atmosphere has this pressure (pressure
/// altitude). On another day's air the true height differs; the difference of two readings
/// minutes apart is off by about the temperature's deviation over 288 K.
///
/// # Errors
/// [`OutOfRange`] outside the pressures of -2000 to 11000 m.
pub fn height_at(pressure: Pascals) -> Result<Metres, OutOfRange> {
    let ratio = PRESSURE.check(pressure.0)? / SEA_LEVEL.0;
    Ok(Metres(SEA_LEVEL_K / LAPSE_K_PER_M * (1.0 - ratio.powf(1.0 / EXPONENT))))
}

/// The geometric height of a geopotential one: r H / (r - H).
///
/// # Errors
/// [`OutOfRange`] outside -2000 to 11000 m.
pub fn geometric(geopotential: Metres) -> Result<Metres, OutOfRange> {
    let height = HEIGHT.check(geopotential.0)?;
    Ok(Metres(EARTH_RADIUS_M * height / (EARTH_RADIUS_M - height)))
}

/// The geopotential height of a geometric one: r z / (r + z).
///
/// # Errors
/// [`OutOfRange`] outside -2000 to 11000 m.
pub fn geopotential(geometric: Metres) -> Result<Metres, OutOfRange> {
    let height = HEIGHT.check(geometric.0)?;
    Ok(Metres(EARTH_RADIUS_M * height / (EARTH_RADIUS_M + height)))
}
