//! Antennas: how much each sends or hears in which direction, and how its field lies.

mod pattern;
mod polarisation;

use units::{Db, Dbi, Degrees};

use crate::bounds::{self, Bound, OutOfRange};

pub(crate) use pattern::Pattern;
pub use pattern::{cosine_power, dipole_gain, dipole_relative, monopole_over_plane};
pub use polarisation::{
    CROSS_POLAR, Hand, circular_mismatch, circular_to_linear, elliptical_to_linear, linear_mismatch,
    practical_mismatch,
};

/// Width of a beam between its half-power directions.
pub const BEAMWIDTH: Bound = Bound {
    name: "beamwidth_deg",
    unit: "degrees",
    low: 1.0,
    high: 170.0,
    why: "between the half-power directions, for the cosine shape",
};

/// How far an ellipse is from a circle, as the ratio of its axes.
pub const AXIAL_RATIO: Bound =
    Bound { name: "axial_ratio_db", unit: "dB", low: 0.0, high: 40.0, why: "0 is a circle" };

/// An angle from an antenna's axis as a table gives it.
pub const OFF_AXIS: Bound =
    Bound { name: "off_axis_deg", unit: "degrees", low: 0.0, high: 180.0, why: "from ahead to behind" };

/// How many rows a tabulated pattern has.
pub const TABLE_ROWS: Bound = Bound {
    name: "pattern_rows",
    unit: "rows",
    low: 1.0,
    high: 3601.0,
    why: "one row or more, no finer than a twentieth of a degree",
};

/// The gain of an antenna that is missing, broken off or unplugged: −25 dBi all round.
/// Judgement, no source: what leaks from the socket and the board.
pub const OFF_GAIN: Dbi = Dbi(-25.0);

/// The peak gain of a quarter wave on a small ground: 0 dBi. Judgement, no source: it
/// works like a lop-sided dipole, and loses about 2 dB to mismatch and to currents on its
/// cable. Over an endless plane it would be [`monopole_over_plane`].
pub const MONOPOLE_GAIN: Dbi = Dbi(0.0);

/// What an antenna is.
///
/// Its **axis** is the wire for straight ones ([`Kind::HalfWaveDipole`],
/// [`Kind::Monopole`], [`Kind::Circular`]) and the direction of the beam for aimed ones
/// ([`Kind::Patch`], [`Kind::Yagi`]). A [`Kind::Table`] counts as aimed when it gains more
/// along its axis than across it.
///
/// ```
/// use link::antenna::Kind;
/// use units::{Dbi, Degrees};
/// let broadside = Kind::HalfWaveDipole.gain(Degrees(90.0));
/// assert!((broadside.0 - 2.1509).abs() < 1e-4);
/// let patch = Kind::Patch { gain: Dbi(8.0), beamwidth: Degrees(70.0) };
/// assert!((patch.gain(Degrees(35.0)).0 - (8.0 - 3.0103)).abs() < 1e-4);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub enum Kind {
    /// The same in every direction and matched to every field; no real antenna.
    Isotropic,
    /// Missing, broken off or unplugged: [`OFF_GAIN`] all round.
    Off,
    /// A straight half-wave dipole without loss.
    HalfWaveDipole,
    /// A quarter wave on a small ground, such as a receiver's stripped cable end: the
    /// dipole's shape with its peak at [`MONOPOLE_GAIN`].
    Monopole,
    /// A flat antenna that looks one way: a power of the cosine, and behind it a back
    /// lobe 20 dB under the peak (judgement; common practice says 15 to 25 dB).
    Patch {
        /// At the peak.
        gain: Dbi,
        /// Between the half-power directions; the same in both planes.
        beamwidth: Degrees,
    },
    /// A row of rods that looks along itself: a power of the cosine, and beside and behind
    /// it lobes 15 dB under the peak (judgement).
    Yagi {
        /// At the peak.
        gain: Dbi,
        /// Between the half-power directions; the same in both planes.
        beamwidth: Degrees,
    },
    /// A circularly polarised antenna that looks all round its axis with the dipole's
    /// shape, such as crossed or skewed loops.
    Circular {
        /// Which way its field turns.
        hand: Hand,
        /// The greater over the smaller axis of its ellipse; 0 dB is a circle.
        axial_ratio: Db,
        /// At the peak.
        gain: Dbi,
    },
    /// Gain against the angle from the axis, 0 to 180 degrees, rising; in between it is
    /// interpolated in decibels, outside the end rows hold.
    Table(Vec<(Degrees, Dbi)>),
}

impl Kind {
    /// The words that a form offers; [`Kind::from_word`] reads each of them.
    pub const WORDS: &'static [&'static str] = &[
        "half-wave-dipole",
        "monopole",
        "patch",
        "yagi",
        "circular-right",
        "circular-left",
        "isotropic",
        "off",
    ];

    /// The word for it; `table` for a tabulated one, which has no form of its own.
    pub fn word(&self) -> &'static str {
        match self {
            Kind::Isotropic => "isotropic",
            Kind::Off => "off",
            Kind::HalfWaveDipole => "half-wave-dipole",
            Kind::Monopole => "monopole",
            Kind::Patch { .. } => "patch",
            Kind::Yagi { .. } => "yagi",
            Kind::Circular { hand: Hand::Right, .. } => "circular-right",
            Kind::Circular { hand: Hand::Left, .. } => "circular-left",
            Kind::Table(_) => "table",
        }
    }

    /// The antenna that a word names, with usual figures where it has some: a patch of
    /// 7 dBi and 75 degrees, a Yagi of 10 dBi and 50 degrees, a circular one of 1.5 dBi
    /// and 2 dB axial ratio (judgement, no source).
    pub fn from_word(word: &str) -> Option<Kind> {
        let circular = |hand| Kind::Circular { hand, axial_ratio: Db(2.0), gain: Dbi(1.5) };
        Some(match word {
            "isotropic" => Kind::Isotropic,
            "off" => Kind::Off,
            "half-wave-dipole" => Kind::HalfWaveDipole,
            "monopole" => Kind::Monopole,
            "patch" => Kind::Patch { gain: Dbi(7.0), beamwidth: Degrees(75.0) },
            "yagi" => Kind::Yagi { gain: Dbi(10.0), beamwidth: Degrees(50.0) },
            "circular-right" => circular(Hand::Right),
            "circular-left" => circular(Hand::Left),
            _ => return None,
        })
    }

    /// Whether its figures make sense.
    ///
    /// # Errors
    /// [`OutOfRange`] for a gain outside [`bounds::GAIN`], a beam outside [`BEAMWIDTH`], an
    /// axial ratio outside [`AXIAL_RATIO`], or a table without rows, with an angle outside
    /// [`OFF_AXIS`] or with angles that don't rise (said of the later one).
    pub fn check(&self) -> Result<(), OutOfRange> {
        match self {
            Kind::Isotropic | Kind::Off | Kind::HalfWaveDipole | Kind::Monopole => {}
            Kind::Patch { gain, beamwidth } | Kind::Yagi { gain, beamwidth } => {
                bounds::GAIN.check(gain.0)?;
                BEAMWIDTH.check(beamwidth.0)?;
            }
            Kind::Circular { axial_ratio, gain, .. } => {
                bounds::GAIN.check(gain.0)?;
                AXIAL_RATIO.check(axial_ratio.0)?;
            }
            Kind::Table(rows) => {
                TABLE_ROWS.check(pattern::count(rows.len()))?;
                let mut least = OFF_AXIS;
                for (angle, gain) in rows {
                    least.check(angle.0)?;
                    bounds::GAIN.check(gain.0)?;
                    least = Bound { low: angle.0 + 0.05, why: "angles must rise", ..OFF_AXIS };
                }
            }
        }
        Ok(())
    }

    /// Gain towards a direction that lies `off_axis` from the axis. An angle beyond 180
    /// degrees is folded back; never below −60 dBi, so that an exact null stays a number.
    ///
    /// Shapes: half-wave dipole as [`dipole_gain`]; beams as [`cosine_power`].
    pub fn gain(&self, off_axis: Degrees) -> Dbi {
        Dbi(10.0 * Pattern::of(self).power(off_axis.radians().cos()).max(1e-6).log10())
    }

    /// Gain in its best direction.
    pub fn peak(&self) -> Dbi {
        Dbi(10.0 * Pattern::of(self).peak().max(1e-6).log10())
    }

    /// What its axis is.
    pub fn axis(&self) -> Axis {
        match self {
            Kind::Isotropic | Kind::Off => Axis::None,
            Kind::Patch { .. } | Kind::Yagi { .. } => Axis::Beam,
            Kind::Table(_) if self.gain(Degrees(0.0)) > self.gain(Degrees(90.0)) => Axis::Beam,
            Kind::HalfWaveDipole | Kind::Monopole | Kind::Circular { .. } | Kind::Table(_) => Axis::Wire,
        }
    }
}

/// What an antenna's axis is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Axis {
    /// Nothing: it is alike all round.
    None,
    /// The wire; it works best across it.
    Wire,
    /// The direction of the beam.
    Beam,
}
