//! What two antennas lose because their fields lie differently.
//!
//! Losses are positive decibels; two fields that don't couple at all lose infinitely much
//! on paper. Balanis, Antenna Theory, section 2.12 (from memory).

use units::{Db, Degrees};

/// The greatest polarisation loss that a real link shows: 20 dB. Common practice, no
/// source: reflections from the airframe and the ground turn part of the field, and links
/// with crossed antennas lose 15 to 25 dB, not everything.
pub const CROSS_POLAR: Db = Db(20.0);

/// Which way a circular field turns, seen from the sender along the wave.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Hand {
    /// Clockwise.
    Right,
    /// Anticlockwise.
    Left,
}

/// Two straight antennas whose fields stand at `angle` to each other: −20 log|cos angle|.
/// Infinite at 90 degrees (to a billionth of one); see [`practical_mismatch`].
pub fn linear_mismatch(angle: Degrees) -> Db {
    let folded = angle.0.abs() % 180.0;
    if (folded - 90.0).abs() < 1e-9 {
        return Db(f64::INFINITY);
    }
    loss(folded.to_radians().cos().powi(2))
}

/// A circular and a straight antenna, at any angle: 3.0103 dB.
pub fn circular_to_linear() -> Db {
    loss(0.5)
}

/// Two circular antennas: nothing for the same hand, infinite for opposite ones; see
/// [`practical_mismatch`].
pub fn circular_mismatch(one: Hand, other: Hand) -> Db {
    if one == other { Db::ZERO } else { Db(f64::INFINITY) }
}

/// An elliptical antenna and a straight one, whose field stands at `tilt` to the greater
/// axis of the ellipse: the best is 0 degrees, the worst 90.
///
/// `axial_ratio` is the ratio of the axes in decibels of the field's square; its sign
/// doesn't matter, and it holds for any size.
pub fn elliptical_to_linear(axial_ratio: Db, tilt: Degrees) -> Db {
    // The share of the power along the smaller axis, 1/(1 + r²), never by inf/inf.
    let minor = 1.0 / (1.0 + Db(axial_ratio.0.abs()).ratio());
    let cos2 = tilt.radians().cos().powi(2);
    loss((1.0 - minor) * cos2 + minor * (1.0 - cos2))
}

/// What of a loss on paper is left on a real link: never more than [`CROSS_POLAR`].
pub fn practical_mismatch(on_paper: Db) -> Db {
    if on_paper.0 < CROSS_POLAR.0 { on_paper } else { CROSS_POLAR }
}

/// The loss of a share of the power; never negative zero.
fn loss(share: f64) -> Db {
    Db(-10.0 * share.log10() + 0.0)
}
