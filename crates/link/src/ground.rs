//! The ground as a mirror: its constants, reflection, and loss over plane earth.

pub(crate) mod complex;

use std::f64::consts::PI;
use std::fmt;

use complex::Complex;
use units::{Db, Degrees, Metres, Mhz};

use crate::bounds::{Bound, CONDUCTIVITY, DISTANCE, FREQUENCY, HEIGHT, OutOfRange, PERMITTIVITY};
use crate::free_space;

/// The permittivity of vacuum, farads a metre (CODATA 2022).
const VACUUM_F_PER_M: f64 = 8.854_187_818_8e-12;

/// The angle between a ray and the ground.
pub(crate) const GRAZING: Bound = Bound {
    name: "grazing_deg",
    unit: "degrees",
    low: 0.0,
    high: 90.0,
    why: "from along the ground to straight down",
};

/// Where Rec. ITU-R P.2040 gives its ground constants.
pub const SOIL_FREQUENCY: Bound = Bound {
    name: "frequency_mhz",
    unit: "MHz",
    low: 1000.0,
    high: 10_000.0,
    why: "Rec. ITU-R P.2040-3 table 3",
};

/// The direction of the electric field.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Polarisation {
    /// Upright.
    Vertical,
    /// Lying.
    Horizontal,
}

impl Polarisation {
    /// Its word in files, forms and on the command line.
    pub fn word(self) -> &'static str {
        match self {
            Polarisation::Vertical => "vertical",
            Polarisation::Horizontal => "horizontal",
        }
    }

    /// The polarisation of this word.
    pub fn from_word(word: &str) -> Option<Polarisation> {
        [Polarisation::Vertical, Polarisation::Horizontal].into_iter().find(|one| one.word() == word)
    }
}

impl fmt::Display for Polarisation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// The electrical constants of a ground.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ground {
    /// Its name.
    pub name: &'static str,
    /// Relative permittivity.
    pub permittivity: f64,
    /// Conductivity, siemens a metre.
    pub conductivity_s_m: f64,
    /// Where the constants come from.
    pub source: &'static str,
}

impl Ground {
    /// Land on average, as Rec. ITU-R P.452 and P.1812 reckon diffraction with.
    pub const AVERAGE_LAND: Ground = Ground {
        name: "average-land",
        permittivity: 22.0,
        conductivity_s_m: 0.003,
        source: "Rec. ITU-R P.452-18 section 4.2.2, as transcribed",
    };
    /// Very dry ground.
    pub const VERY_DRY: Ground = Ground {
        name: "very-dry",
        permittivity: 3.0,
        conductivity_s_m: 0.0001,
        source: "Rec. ITU-R P.527-3 curves, low-frequency value (from memory)",
    };
    /// Medium dry ground.
    pub const MEDIUM_DRY: Ground = Ground {
        name: "medium-dry",
        permittivity: 15.0,
        conductivity_s_m: 0.001,
        source: "Rec. ITU-R P.527-3 curves, low-frequency value (from memory)",
    };
    /// Wet ground.
    pub const WET: Ground = Ground {
        name: "wet",
        permittivity: 30.0,
        conductivity_s_m: 0.01,
        source: "Rec. ITU-R P.527-3 curves, low-frequency value (from memory)",
    };
    /// Fresh water.
    pub const FRESH_WATER: Ground = Ground {
        name: "fresh-water",
        permittivity: 80.0,
        conductivity_s_m: 0.003,
        source: "Rec. ITU-R P.527-3 curves, low-frequency value (from memory)",
    };
    /// The sea as a mirror.
    pub const SEA: Ground = Ground {
        name: "sea",
        permittivity: 70.0,
        conductivity_s_m: 5.0,
        source: "Rec. ITU-R P.527-3 curves (from memory)",
    };
    /// The sea as Rec. ITU-R P.452 and P.1812 reckon diffraction with.
    pub const SEA_DIFFRACTION: Ground = Ground {
        name: "sea-diffraction",
        permittivity: 80.0,
        conductivity_s_m: 5.0,
        source: "Rec. ITU-R P.452-18 section 4.2.2, as transcribed",
    };
    /// Typical ground of a textbook.
    pub const TYPICAL: Ground = Ground {
        name: "typical",
        permittivity: 15.0,
        conductivity_s_m: 0.005,
        source: "Rappaport, Wireless Communications, 2nd ed., table 4.1 (from memory)",
    };

    /// Every ground with a name.
    pub const NAMED: &'static [Ground] = &[
        Ground::AVERAGE_LAND,
        Ground::VERY_DRY,
        Ground::MEDIUM_DRY,
        Ground::WET,
        Ground::FRESH_WATER,
        Ground::SEA,
        Ground::SEA_DIFFRACTION,
        Ground::TYPICAL,
    ];

    /// The ground of this name.
    pub fn named(name: &str) -> Option<Ground> {
        Ground::NAMED.iter().find(|ground| ground.name == name).copied()
    }

    /// A ground of measured or tabled constants.
    ///
    /// # Errors
    /// [`OutOfRange`] for a permittivity outside [`PERMITTIVITY`] or a conductivity outside
    /// [`CONDUCTIVITY`].
    pub fn custom(permittivity: f64, conductivity_s_m: f64) -> Result<Ground, OutOfRange> {
        let ground = Ground { name: "custom", permittivity, conductivity_s_m, source: "as given" };
        ground.check()?;
        Ok(ground)
    }

    /// Whether the constants lie in their ranges.
    ///
    /// # Errors
    /// [`OutOfRange`] for the constant that doesn't.
    pub fn check(&self) -> Result<(), OutOfRange> {
        PERMITTIVITY.check(self.permittivity)?;
        CONDUCTIVITY.check(self.conductivity_s_m)?;
        Ok(())
    }
}

/// A ground whose constants Rec. ITU-R P.2040 gives as functions of frequency.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Soil {
    /// Very dry ground.
    VeryDry,
    /// Medium dry ground.
    MediumDry,
    /// Wet ground.
    Wet,
}

impl Soil {
    /// Every one of them.
    pub const ALL: [Soil; 3] = [Soil::VeryDry, Soil::MediumDry, Soil::Wet];

    /// Its constants at a frequency: eps = a f^b, sigma = c f^d with f in GHz.
    ///
    /// Source: Rec. ITU-R P.2040-3 table 3, as several transcriptions agree; 1 to 10 GHz only,
    /// so not for 868 or 915 MHz.
    ///
    /// # Errors
    /// [`OutOfRange`] outside 1 to 10 GHz.
    pub fn at(self, frequency: Mhz) -> Result<Ground, OutOfRange> {
        SOIL_FREQUENCY.check(frequency.0)?;
        let (name, (a, b), (c, d)) = match self {
            Soil::VeryDry => ("very dry ground at this frequency", (3.0, 0.0), (0.00015, 2.52)),
            Soil::MediumDry => ("medium dry ground at this frequency", (15.0, -0.1), (0.035, 1.63)),
            Soil::Wet => ("wet ground at this frequency", (30.0, -0.4), (0.15, 1.3)),
        };
        let ghz = frequency.0 / 1e3;
        Ok(Ground {
            name,
            permittivity: a * ghz.powf(b),
            conductivity_s_m: c * ghz.powf(d),
            source: "Rec. ITU-R P.2040-3 table 3, as transcribed",
        })
    }
}

/// What is left of a wave that the ground throws back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reflection {
    /// Its field over that of the wave that came.
    pub magnitude: f64,
    /// How far its phase is turned, -180 to 180 degrees.
    pub phase: Degrees,
}

/// The Fresnel reflection coefficient of a smooth ground.
///
/// With e = eps - j sigma / (2 pi f eps0) and r = sqrt(e - cos^2 psi):
/// (sin psi - r) / (sin psi + r) for horizontal, (e sin psi - r) / (e sin psi + r) for vertical
/// polarisation, so that both tend to -1 along the ground. Holds for ground that is smooth
/// beside a wave. Source: Rappaport, Wireless Communications, 2nd ed., 4.5 (from memory; it
/// prints the vertical one with the opposite sign, a convention of fields).
///
/// # Errors
/// [`OutOfRange`] for a frequency outside [`FREQUENCY`], an angle outside 0 to 90 degrees or
/// constants outside their ranges.
pub fn reflection(
    ground: &Ground,
    frequency: Mhz,
    grazing: Degrees,
    polarisation: Polarisation,
) -> Result<Reflection, OutOfRange> {
    FREQUENCY.check(frequency.0)?;
    GRAZING.check(grazing.0)?;
    ground.check()?;
    let (sin, cos) = grazing.radians().sin_cos();
    let rho = coefficient(ground, frequency, (sin, cos), polarisation);
    Ok(Reflection { magnitude: rho.abs(), phase: Degrees(rho.arg().to_degrees()) })
}

/// The reflection coefficient at the grazing angle with this sine and cosine.
fn coefficient(
    ground: &Ground,
    frequency: Mhz,
    (sin, cos): (f64, f64),
    polarisation: Polarisation,
) -> Complex {
    let loss = ground.conductivity_s_m / (2.0 * PI * frequency.0 * 1e6 * VACUUM_F_PER_M);
    let e = Complex::new(ground.permittivity, -loss);
    let r = (e - Complex::new(cos * cos, 0.0)).sqrt();
    let direct = match polarisation {
        Polarisation::Horizontal => Complex::new(sin, 0.0),
        Polarisation::Vertical => e * sin,
    };
    let (over, under) = (direct - r, direct + r);
    // Only a ground of nothing but air, met along itself, has neither.
    if under.abs() == 0.0 { Complex::new(0.0, 0.0) } else { over / under }
}

/// Two rays, the straight one and the one by the ground, and what they add up to.
pub(crate) struct TwoRays {
    /// The straight one's length.
    pub direct: Metres,
    /// How much longer the other one is.
    pub longer: Metres,
    /// The sine of the angle at which the other one meets the ground.
    pub grazing_sin: f64,
    /// The other one's field over the straight one's, before its way's phase.
    pub rho: Complex,
}

/// The two rays between antennas `h1` and `h2` over plane ground, `d` apart along it.
pub(crate) fn two_rays(
    frequency: Mhz,
    d: f64,
    (h1, h2): (f64, f64),
    polarisation: Polarisation,
    ground: &Ground,
) -> TwoRays {
    let direct = d.hypot(h1 - h2);
    let mirrored = d.hypot(h1 + h2);
    let grazing_sin = (h1 + h2) / mirrored;
    let rho = coefficient(ground, frequency, (grazing_sin, d / mirrored), polarisation) * (direct / mirrored);
    // R2 - R1 without the cancellation: (R2^2 - R1^2) / (R2 + R1).
    let longer = 4.0 * h1 * h2 / (mirrored + direct);
    TwoRays { direct: Metres(direct), longer: Metres(longer), grazing_sin, rho }
}

impl TwoRays {
    /// How far the other ray's way turns its phase, radians.
    pub(crate) fn turn(&self, frequency: Mhz) -> f64 {
        2.0 * PI * self.longer.0 / frequency.wavelength().0
    }

    /// Loss over free space when the other ray's field counts `share`; a complete null is cut
    /// off at 300 dB.
    pub(crate) fn excess(&self, frequency: Mhz, share: f64) -> Db {
        let sum = Complex::new(1.0, 0.0) + self.rho * Complex::at(-self.turn(frequency)) * share;
        Db(-20.0 * sum.abs().max(1e-15).log10())
    }
}

/// Loss over plane ground between isotropic antennas `h1` and `h2` above it, `distance` apart
/// along it: the straight ray and the mirrored one, added with their phases.
///
/// Source: Rappaport, Wireless Communications, 2nd ed., 4.6; Parsons, The Mobile Radio
/// Propagation Channel, 2nd ed., chapter 2 (both from memory). Exact for the two rays; it
/// stops holding where the ground is rough beside a wave, and where the Earth's bulge or
/// anything else comes near the ray (see [`crate::path`]).
///
/// # Errors
/// [`OutOfRange`] for a frequency, distance, height or ground constant outside its range.
pub fn plane_earth_loss(
    frequency: Mhz,
    distance: Metres,
    h1: Metres,
    h2: Metres,
    polarisation: Polarisation,
    ground: &Ground,
) -> Result<Db, OutOfRange> {
    FREQUENCY.check(frequency.0)?;
    check_ends(distance, h1, h2)?;
    ground.check()?;
    let rays = two_rays(frequency, distance.0, (h1.0, h2.0), polarisation, ground);
    Ok(free_space::loss(frequency, rays.direct) + rays.excess(frequency, 1.0))
}

/// What the loss over plane ground tends to well beyond [`crossover_distance`]:
/// 40 log d - 20 log h1 - 20 log h2, whatever the frequency and the ground.
///
/// # Errors
/// [`OutOfRange`] for a distance or height outside its range.
pub fn plane_earth_asymptote(distance: Metres, h1: Metres, h2: Metres) -> Result<Db, OutOfRange> {
    check_ends(distance, h1, h2)?;
    Ok(Db(40.0 * distance.0.log10() - 20.0 * (h1.0 * h2.0).log10()))
}

/// Where [`plane_earth_asymptote`] meets free space, 4 pi h1 h2 / lambda: nearer, the two rays
/// reinforce and weaken each other in turn; beyond, the loss grows with the fourth power of
/// distance.
///
/// # Errors
/// [`OutOfRange`] for a frequency or height outside its range.
pub fn crossover_distance(frequency: Mhz, h1: Metres, h2: Metres) -> Result<Metres, OutOfRange> {
    FREQUENCY.check(frequency.0)?;
    HEIGHT.check_as("height_tx_m", h1.0)?;
    HEIGHT.check_as("height_rx_m", h2.0)?;
    Ok(Metres(4.0 * PI * h1.0 * h2.0 / frequency.wavelength().0))
}

fn check_ends(distance: Metres, h1: Metres, h2: Metres) -> Result<(), OutOfRange> {
    DISTANCE.check(distance.0)?;
    HEIGHT.check_as("height_tx_m", h1.0)?;
    HEIGHT.check_as("height_rx_m", h2.0)?;
    Ok(())
}
