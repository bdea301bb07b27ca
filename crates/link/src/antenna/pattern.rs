//! The shapes of gain against the angle from the axis.

use units::{Db, Dbi, Degrees};

use super::{BEAMWIDTH, Kind, MONOPOLE_GAIN, OFF_GAIN};
use crate::bounds::OutOfRange;

/// Directivity of a half-wave dipole: 4/Cin(2π). Balanis, Antenna Theory, section 4.6
/// (from memory; printed there as 1.643, computed anew in 30 digits).
const DIPOLE_DIRECTIVITY: f64 = 1.640_922_376_984_585;

/// A half-wave dipole's power towards `off_axis` over its power broadside.
///
/// Field cos((π/2) cos t)/sin t, with t from the wire; 0 dB at 90 degrees. A thin wire
/// without loss, far away. Balanis, Antenna Theory, section 4.6 (from memory). Not below
/// −62 dB, so that the exact null stays a number.
pub fn dipole_relative(off_axis: Degrees) -> Db {
    Db(10.0 * dipole_power(off_axis.radians().cos()).max(1e-6 / DIPOLE_DIRECTIVITY).log10())
}

/// A half-wave dipole's gain towards `off_axis`: 2.1509 dBi broadside. As
/// [`dipole_relative`]; not below −60 dBi.
pub fn dipole_gain(off_axis: Degrees) -> Dbi {
    Kind::HalfWaveDipole.gain(off_axis)
}

/// Peak gain of a quarter wave over an endless conducting plane: the half-wave dipole's
/// power into half the space, 5.16 dBi. No ground on an aircraft comes near it.
pub fn monopole_over_plane() -> Dbi {
    Dbi(10.0 * (2.0 * DIPOLE_DIRECTIVITY).log10())
}

/// The power n of the cosine whose half-power width is `beamwidth`: cosⁿ(beamwidth/2) = 1/2.
///
/// A usual stand-in for a beam whose shape is not known (common practice, no source); it
/// has no side lobes, so directions far from the beam are only as good as the lobe level
/// that goes with it.
///
/// # Errors
/// [`OutOfRange`] for a width outside [`BEAMWIDTH`].
pub fn cosine_power(beamwidth: Degrees) -> Result<f64, OutOfRange> {
    BEAMWIDTH.check(beamwidth.0)?;
    Ok(power_of_cosine(beamwidth))
}

fn power_of_cosine(beamwidth: Degrees) -> f64 {
    let half = beamwidth.0.clamp(BEAMWIDTH.low, BEAMWIDTH.high) / 2.0;
    0.5f64.ln() / half.to_radians().cos().ln()
}

/// cos((π/2) cos t)/sin² t as a polynomial of sin² t over 0 to 1, constant term first.
/// Minimax to 1e-14 (computed in 40 digits), so it stands for the formula itself; it has no
/// 0/0 at the ends of the wire and needs no cosine.
const DIPOLE_SHAPE: [f64; 7] = [
    0.785_398_163_397_456,
    0.196_349_540_848_610_79,
    0.017_429_258_248_415_82,
    0.000_800_097_302_182_373_8,
    2.250_623_058_562_668e-5,
    4.278_753_698_802_480_5e-7,
    6.097_371_808_029_308e-9,
];

/// Relative power of the dipole by the cosine of the angle from the wire.
#[inline]
fn dipole_power(cosine: f64) -> f64 {
    let sine2 = (1.0 - cosine * cosine).max(0.0);
    // In pairs, so that the terms don't wait for one another.
    let [s0, s1, s2, s3, s4, s5, s6] = DIPOLE_SHAPE;
    let square = sine2 * sine2;
    let low = (s0 + s1 * sine2) + square * (s2 + s3 * sine2);
    let high = (s4 + s5 * sine2) + square * s6;
    let shape = low + square * square * high;
    shape * shape * sine2
}

/// Rows as a number for messages.
pub(super) fn count(rows: usize) -> f64 {
    f64::from(u32::try_from(rows).unwrap_or(u32::MAX))
}

/// A shape made ready for many directions: everything that doesn't depend on them is
/// computed once.
#[derive(Clone, Debug)]
pub(crate) enum Pattern<'a> {
    /// Alike all round.
    Round { power: f64 },
    /// The dipole's shape.
    Dipole { peak: f64 },
    /// A power of the cosine over a level of lobes.
    Beam { peak: f64, exponent: f64, lobes: f64 },
    /// Rows.
    Table(&'a [(Degrees, Dbi)]),
}

fn ratio(gain: Dbi) -> f64 {
    gain.over_isotropic().ratio()
}

impl Pattern<'_> {
    /// The shape of an antenna.
    pub(crate) fn of(kind: &Kind) -> Pattern<'_> {
        match kind {
            Kind::Isotropic => Pattern::Round { power: 1.0 },
            Kind::Off => Pattern::Round { power: ratio(OFF_GAIN) },
            Kind::HalfWaveDipole => Pattern::Dipole { peak: DIPOLE_DIRECTIVITY },
            Kind::Monopole => Pattern::Dipole { peak: ratio(MONOPOLE_GAIN) },
            Kind::Circular { gain, .. } => Pattern::Dipole { peak: ratio(*gain) },
            Kind::Patch { gain, beamwidth } => Pattern::beam(*gain, *beamwidth, 0.01),
            Kind::Yagi { gain, beamwidth } => Pattern::beam(*gain, *beamwidth, 10f64.powf(-1.5)),
            Kind::Table(rows) => Pattern::Table(rows),
        }
    }

    fn beam(gain: Dbi, beamwidth: Degrees, lobes: f64) -> Pattern<'static> {
        Pattern::Beam { peak: ratio(gain), exponent: power_of_cosine(beamwidth), lobes }
    }

    /// Power over isotropic, by the cosine of the angle from the axis.
    pub(crate) fn power(&self, cosine: f64) -> f64 {
        match *self {
            Pattern::Round { power } => power,
            Pattern::Dipole { peak } => peak * dipole_power(cosine),
            Pattern::Beam { peak, exponent, lobes } => peak * cosine.max(0.0).powf(exponent).max(lobes),
            Pattern::Table(rows) => ratio(look_up(rows, cosine.clamp(-1.0, 1.0).acos().to_degrees())),
        }
    }

    /// The same for several directions side by side.
    pub(crate) fn powers<const N: usize>(&self, cosines: &[f64; N]) -> [f64; N] {
        match *self {
            Pattern::Dipole { peak } => cosines.map(|cosine| peak * dipole_power(cosine)),
            _ => cosines.map(|cosine| self.power(cosine)),
        }
    }

    /// The greatest power over isotropic.
    pub(crate) fn peak(&self) -> f64 {
        match *self {
            Pattern::Round { power } => power,
            Pattern::Dipole { peak } | Pattern::Beam { peak, .. } => peak,
            Pattern::Table(rows) => rows.iter().map(|row| ratio(row.1)).fold(0.0, f64::max),
        }
    }
}

/// Interpolates in decibels; the end rows hold outside; no rows at all is no gain at all.
fn look_up(rows: &[(Degrees, Dbi)], angle: f64) -> Dbi {
    let after = rows.partition_point(|row| row.0.0 < angle);
    match (after.checked_sub(1).and_then(|before| rows.get(before)), rows.get(after)) {
        (Some((a0, g0)), Some((a1, g1))) if a1.0 > a0.0 => {
            Dbi(g0.0 + (g1.0 - g0.0) * (angle - a0.0) / (a1.0 - a0.0))
        }
        (_, Some((_, gain))) | (Some((_, gain)), None) => *gain,
        (None, None) => Dbi(-60.0),
    }
}
