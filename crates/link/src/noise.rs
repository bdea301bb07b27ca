//! The noise that a receiver must be heard over: its own, and what it finds at the site.

use units::{Db, Dbm, Khz, Mhz, power_sum};

use crate::bounds::{self, Bound, OutOfRange};

/// Boltzmann's constant, joules per kelvin (exact; SI definition of the kelvin).
const BOLTZMANN: f64 = 1.380_649e-23;

/// The temperature that noise figures are reckoned at, kelvin.
pub const REFERENCE_KELVIN: f64 = 290.0;

/// A frequency for man-made noise: from the least of the published range to the bands here.
pub const NOISE_FREQUENCY: Bound = Bound {
    name: "frequency_mhz",
    unit: "MHz",
    low: 0.3,
    high: 6000.0,
    why: "published for 0.3 to 250 MHz, extrapolated to 6000 MHz",
};

/// The greatest frequency for which Rec. ITU-R P.372-16 publishes man-made noise.
pub const PUBLISHED_UP_TO: Mhz = Mhz(250.0);

/// Noise of a warm resistor in this bandwidth, raised by the receiver's noise figure:
/// k 290 K B, -173.98 dBm in 1 Hz.
///
/// # Errors
/// [`OutOfRange`] for a bandwidth outside [`bounds::BANDWIDTH`], a noise figure outside
/// [`bounds::NOISE_FIGURE`].
pub fn thermal_noise(bandwidth: Khz, noise_figure: Db) -> Result<Dbm, OutOfRange> {
    bounds::BANDWIDTH.check(bandwidth.hz())?;
    bounds::NOISE_FIGURE.check(noise_figure.0)?;
    let milliwatts = BOLTZMANN * REFERENCE_KELVIN * bandwidth.hz() * 1e3;
    Ok(Dbm(10.0 * milliwatts.log10()) + noise_figure)
}

/// Surroundings by the noise that people make there (and, for comparison, the galaxy's).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Environment {
    /// City.
    City,
    /// Residential.
    Residential,
    /// Rural.
    Rural,
    /// Quiet rural.
    QuietRural,
    /// No people: the noise of the galaxy.
    Galactic,
}

impl Environment {
    /// All of them, the noisiest first.
    pub const ALL: [Environment; 5] = [
        Environment::City,
        Environment::Residential,
        Environment::Rural,
        Environment::QuietRural,
        Environment::Galactic,
    ];

    /// Its word in forms and on the command line.
    pub fn word(self) -> &'static str {
        match self {
            Environment::City => "city",
            Environment::Residential => "residential",
            Environment::Rural => "rural",
            Environment::QuietRural => "quiet-rural",
            Environment::Galactic => "galactic",
        }
    }

    /// The one with this word; an underscore does for its hyphen.
    pub fn from_word(word: &str) -> Option<Environment> {
        let word = word.replace('_', "-");
        Environment::ALL.into_iter().find(|environment| environment.word() == word)
    }

    /// c and d of c - d log f (Rec. ITU-R P.372-16, section 6.1; rural from memory).
    fn coefficients(self) -> (f64, f64) {
        match self {
            Environment::City => (76.8, 27.7),
            Environment::Residential => (72.5, 27.7),
            Environment::Rural => (67.2, 27.7),
            Environment::QuietRural => (53.6, 28.6),
            Environment::Galactic => (52.0, 23.0),
        }
    }
}

/// Whether a formula was used inside the range it is published for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Extrapolation {
    /// Inside.
    Published,
    /// Beyond it: an extrapolation that no source vouches for.
    Beyond,
}

/// Man-made noise at a frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Manmade {
    /// How far its median stands over k 290 K B (Fam of the recommendation); below 0 it is
    /// weaker than a warm resistor.
    pub fam: Db,
    /// Whether the frequency is one that the formula is published for.
    pub extrapolated: Extrapolation,
}

/// The median of man-made noise over thermal noise: Fam = c - d log f, f in MHz.
///
/// Rec. ITU-R P.372-16, section 6.1, published for 0.3 to 250 MHz only. Beyond, the answer
/// is marked: it says no more than that broadband noise of this kind falls under thermal
/// noise (-4.6 dB in a city at 868 MHz), and nothing about other transmitters, which rule
/// these bands.
///
/// # Errors
/// [`OutOfRange`] for a frequency outside 0.3 to 6000 MHz.
pub fn manmade_noise(environment: Environment, frequency: Mhz) -> Result<Manmade, OutOfRange> {
    let mhz = NOISE_FREQUENCY.check(frequency.0)?;
    let (c, d) = environment.coefficients();
    let extrapolated =
        if frequency <= PUBLISHED_UP_TO { Extrapolation::Published } else { Extrapolation::Beyond };
    Ok(Manmade { fam: Db(c - d * mhz.log10()), extrapolated })
}

/// What is known about the noise at the receiver's place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Site {
    /// Nothing but the receiver's own noise.
    Quiet,
    /// Man-made noise of these surroundings.
    Environment(Environment),
    /// A floor that was measured with the receiver or one like it.
    Measured {
        /// What was read with nothing of one's own switched on.
        floor: Dbm,
        /// In which bandwidth.
        bandwidth: Khz,
    },
}

/// The noise that a packet must be heard over.
///
/// Receiver noise and noise from outside add as powers. A measured floor, in which the
/// receiver's own noise is already, is scaled to the bandwidth and taken as it is, but never
/// below the receiver's own noise: white noise is assumed, one narrow disturber isn't white.
///
/// # Errors
/// [`OutOfRange`] for a bandwidth, noise figure, frequency or floor outside its range.
pub fn noise_level(frequency: Mhz, bandwidth: Khz, noise_figure: Db, site: &Site) -> Result<Dbm, OutOfRange> {
    let own = thermal_noise(bandwidth, noise_figure)?;
    NOISE_FREQUENCY.check(frequency.0)?;
    match *site {
        Site::Quiet => Ok(own),
        Site::Environment(environment) => {
            let outside = manmade_noise(environment, frequency)?.fam;
            Ok(power_sum([own, thermal_noise(bandwidth, Db::ZERO)? + outside]))
        }
        Site::Measured { floor, bandwidth: measured } => {
            bounds::LEVEL.check_as("floor_dbm", floor.0)?;
            bounds::BANDWIDTH.check_as("floor_bandwidth_hz", measured.hz())?;
            let floor = floor + Db::of_ratio(bandwidth.0 / measured.0);
            Ok(if floor > own { floor } else { own })
        }
    }
}
