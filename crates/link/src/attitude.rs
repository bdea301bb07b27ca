//! How the aircraft hangs in the air: what its antennas gain over all the attitudes of a
//! manoeuvre, together with the antenna on the ground.
//!
//! Body axes: x ahead, y to the right wing, z down. The world beside them: x away from the
//! person on the ground, y to their right, z down.

mod ends;
mod spread;

use units::{Db, Degrees};

use crate::antenna::Kind;
use crate::bounds::{self, Bound, OutOfRange};
use crate::ground::Polarisation;

pub use spread::{GainSpread, QUANTILES, gain_spread, gain_spreads};

/// How high the aircraft stands over the horizon, seen from the ground.
pub const ELEVATION: Bound = Bound {
    name: "elevation_deg",
    unit: "degrees",
    low: -90.0,
    high: 90.0,
    why: "from straight below to straight overhead",
};

/// How many antennas an aircraft carries.
pub const ANTENNAS: Bound =
    Bound { name: "antennas", unit: "", low: 1.0, high: 2.0, why: "a receiver has one or two" };

/// The length of an axis as given; only its direction counts.
pub const AXIS: Bound =
    Bound { name: "axis", unit: "", low: 1e-6, high: 1e6, why: "an axis needs a direction" };

/// Half the opening of a shadow.
pub const HALF_ANGLE: Bound = Bound {
    name: "shadow_half_angle_deg",
    unit: "degrees",
    low: 0.0,
    high: 180.0,
    why: "from no direction to every direction",
};

/// What a shadow takes.
pub const SHADOW_LOSS: Bound =
    Bound { name: "shadow_loss_db", unit: "dB", low: 0.0, high: 60.0, why: "a body hides, it never adds" };

/// How deep a pattern's nulls are on a real aircraft or beside a person: 25 dB under the
/// antenna's peak, never deeper. Judgement, no source: what the airframe, the cable and
/// the ground scatter fills them.
pub const NULL_DEPTH: Db = Db(25.0);

/// One antenna on the aircraft.
///
/// A beam's field is taken to lie as near as it can to the aircraft's vertical, or to its
/// length when the beam looks up or down.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitted {
    /// What it is.
    pub kind: Kind,
    /// Where its axis points, in body axes; any length.
    pub axis: [f64; 3],
    /// Lost in cable and plugs.
    pub feed_loss: Db,
}

/// Directions that the aircraft's own body (battery, motor, carbon) hides.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shadow {
    /// The middle of them, in body axes; any length.
    pub axis: [f64; 3],
    /// How far from it they reach.
    pub half_angle: Degrees,
    /// What is lost in them.
    pub loss: Db,
}

/// The aircraft's antennas and its shadow.
#[derive(Clone, Debug, PartialEq)]
pub struct Mounting {
    /// One or two.
    pub antennas: Vec<Fitted>,
    /// What the body hides, from both alike.
    pub shadow: Option<Shadow>,
}

/// Which antenna the aircraft sends from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Transmits {
    /// Always the first one.
    First,
    /// Whichever is better at the moment, as when it receives.
    Better,
}

/// How the aircraft moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Motion {
    /// Every attitude alike, as in a tumble.
    AnyAttitude,
    /// Every heading, bank and pitch within 10 degrees.
    Level,
    /// Every heading, bank within 45 degrees, pitch within 20.
    Circuit,
    /// Every heading and bank, pitch within 60 degrees: rolls, turns, the flat part of loops.
    Aerobatic,
}

/// Where the ground antenna is held to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Pointing {
    /// As it should be: a wire broadside to the aircraft, a beam on it.
    Right,
    /// So far off that; 90 degrees points a wire at the aircraft.
    OffBy(Degrees),
}

/// The antenna of the person on the ground.
#[derive(Clone, Debug, PartialEq)]
pub struct GroundAntenna {
    /// What it is.
    pub kind: Kind,
    /// How its field lies (the greater axis of an ellipse).
    pub polarisation: Polarisation,
    /// Where it is held to.
    pub pointing: Pointing,
    /// Lost in cable and plugs.
    pub feed_loss: Db,
}

/// One attitude, as an aircraft's instruments would show it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Attitude {
    /// The nose's direction; 0 flies away from the person on the ground, 90 to their right.
    pub heading: Degrees,
    /// Nose up.
    pub pitch: Degrees,
    /// Right wing down.
    pub bank: Degrees,
}

/// What the antennas at both ends come to at one attitude.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sight {
    /// Which of the aircraft's antennas is the better one, from 0.
    pub antenna: usize,
    /// Gain of the ground antenna over isotropic.
    pub ground: Db,
    /// Gain of the aircraft's antenna over isotropic.
    pub air: Db,
    /// Lost because the fields lie differently, at most [`crate::antenna::CROSS_POLAR`].
    pub polarisation: Db,
    /// Lost in the body's shadow.
    pub shadow: Db,
    /// Lost in cables and plugs at both ends.
    pub feed: Db,
    /// All together: gains less losses.
    pub total: Db,
}

/// What the antennas come to at one attitude.
///
/// # Errors
/// [`OutOfRange`] as [`gain_spread`], and for an angle outside [`bounds::ANGLE`].
pub fn sight(
    ground: &GroundAntenna,
    mounting: &Mounting,
    attitude: Attitude,
    elevation: Degrees,
) -> Result<Sight, OutOfRange> {
    let ends = ends::Ends::new(ground, mounting, elevation)?;
    bounds::ANGLE.check_as("heading_deg", attitude.heading.0)?;
    bounds::ANGLE.check_as("pitch_deg", attitude.pitch.0)?;
    bounds::ANGLE.check_as("bank_deg", attitude.bank.0)?;
    let (heading, pitch, bank) =
        (attitude.heading.radians(), attitude.pitch.radians(), attitude.bank.radians());
    let world = ends::World::turned(heading.sin_cos(), pitch.sin_cos(), bank.sin_cos());
    Ok(ends.sight(&ends.seen(&world)))
}

impl Mounting {
    /// One antenna and no shadow.
    pub fn one(kind: Kind, axis: [f64; 3]) -> Mounting {
        Mounting { antennas: vec![Fitted { kind, axis, feed_loss: Db::ZERO }], shadow: None }
    }

    /// Two half-wave dipoles at right angles, one along the wing and one upright (common
    /// practice for two receiver antennas), and no shadow.
    pub fn crossed_dipoles() -> Mounting {
        let dipole = |axis| Fitted { kind: Kind::HalfWaveDipole, axis, feed_loss: Db::ZERO };
        Mounting { antennas: vec![dipole([0.0, 1.0, 0.0]), dipole([0.0, 0.0, 1.0])], shadow: None }
    }

    /// The mounting as it sends: by reciprocity the gains of the way up hold for the way
    /// down, from the antennas that send.
    #[must_use]
    pub fn transmitting(&self, transmits: Transmits) -> Mounting {
        let count = match transmits {
            Transmits::First => 1,
            Transmits::Better => self.antennas.len(),
        };
        Mounting { antennas: self.antennas.iter().take(count).cloned().collect(), shadow: self.shadow }
    }

    /// Whether its figures make sense.
    ///
    /// # Errors
    /// [`OutOfRange`] for no antenna or more than two ([`ANTENNAS`]), what
    /// [`Kind::check`] refuses, an axis without direction ([`AXIS`]), a feed loss or a
    /// shadow outside [`bounds::FEED_LOSS`], [`HALF_ANGLE`], [`SHADOW_LOSS`].
    pub fn check(&self) -> Result<(), OutOfRange> {
        ANTENNAS.check(f64::from(u32::try_from(self.antennas.len()).unwrap_or(u32::MAX)))?;
        for fitted in &self.antennas {
            fitted.kind.check()?;
            AXIS.check(ends::length(fitted.axis))?;
            bounds::FEED_LOSS.check(fitted.feed_loss.0)?;
        }
        if let Some(shadow) = &self.shadow {
            AXIS.check_as("shadow_axis", ends::length(shadow.axis))?;
            HALF_ANGLE.check(shadow.half_angle.0)?;
            SHADOW_LOSS.check(shadow.loss.0)?;
        }
        Ok(())
    }
}

impl GroundAntenna {
    /// Whether its figures make sense.
    ///
    /// # Errors
    /// [`OutOfRange`] for what [`Kind::check`] refuses, a feed loss outside
    /// [`bounds::FEED_LOSS`] or an angle outside [`bounds::ANGLE`].
    pub fn check(&self) -> Result<(), OutOfRange> {
        self.kind.check()?;
        bounds::FEED_LOSS.check(self.feed_loss.0)?;
        if let Pointing::OffBy(angle) = self.pointing {
            bounds::ANGLE.check_as("off_by_deg", angle.0)?;
        }
        Ok(())
    }
}

impl Motion {
    /// All of them, mildest first.
    pub const ALL: [Motion; 4] = [Motion::Level, Motion::Circuit, Motion::Aerobatic, Motion::AnyAttitude];

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Motion::AnyAttitude => "any-attitude",
            Motion::Level => "level",
            Motion::Circuit => "circuit",
            Motion::Aerobatic => "aerobatic",
        }
    }

    /// The motion that a word names.
    pub fn from_word(word: &str) -> Option<Motion> {
        Motion::ALL.into_iter().find(|motion| motion.word() == word)
    }

    /// How far it pitches up and down.
    pub fn pitch(self) -> Degrees {
        Degrees(match self {
            Motion::AnyAttitude => 90.0,
            Motion::Level => 10.0,
            Motion::Circuit => 20.0,
            Motion::Aerobatic => 60.0,
        })
    }

    /// How far it banks to either side.
    pub fn bank(self) -> Degrees {
        Degrees(match self {
            Motion::AnyAttitude | Motion::Aerobatic => 180.0,
            Motion::Level => 10.0,
            Motion::Circuit => 45.0,
        })
    }
}

impl Transmits {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Transmits::First => "first",
            Transmits::Better => "better",
        }
    }

    /// What a word names.
    pub fn from_word(word: &str) -> Option<Transmits> {
        [Transmits::First, Transmits::Better].into_iter().find(|transmits| transmits.word() == word)
    }
}
