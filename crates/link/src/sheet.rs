//! The link sheet: both directions of one link, from the transmitter's power to the
//! chance of a failsafe.
//!
//! A [`Setup`] is everything about a link but the setting; a [`Setting`] is a mode, a power
//! and a telemetry share. [`Stage`] holds what all settings of one setup share, so that
//! many of them can be compared quickly.
//!
//! # How a level becomes a probability
//! The mean level at the receiver is the power, the antennas, and the loss on the way.
//! Around it three things move, each on a time of its own: the *attitude* of the aircraft
//! (64 equally likely combined antenna gains, [`crate::attitude`]), *shadowing* (log-normal)
//! and *fading* within metres (Rician or Rayleigh, [`crate::fading`]). Fading is averaged
//! within one spell of attitude and shadow; the share of packets that arrive in it is the
//! link quality of that spell. The probability on the sheet is that of a spell whose link
//! quality is at least the one asked for.

mod answer;
mod assume;
mod compute;
mod reach;
mod stage;

pub use answer::{
    Antennas, Assumption, Direction, FARTHEST, FailsafeChance, Gain, Limiting, NEAREST, Named, Point, Reach,
    Sheet, Stair, StairKind, Warning, Way,
};
pub use compute::{
    WIFI_BURST, emission, hop_plan, interval_deviation, latency_of, law_of, sheet, sheet_on, slots_of,
};
pub(crate) use compute::{antennas_of, held_gain};
pub use reach::{Row, control_reach};
pub(crate) use stage::middle;
pub use stage::{At, Delivered, HEIGHTS, Receiver, Stage, Tuned, gains_at};

use units::{Db, Dbm, Khz, Metres, MetresPerSecond, Mhz, Seconds};

use crate::antenna::Kind as Antenna;
use crate::attitude::{GroundAntenna, Motion, Mounting, Transmits};
use crate::bounds::{self, Bound, OutOfRange};
use crate::fading::Scatter;
use crate::latency::Stepping;
use crate::law::Access;
use crate::mode::Mode;
use crate::noise::Site;
use crate::path::Path;
use crate::telemetry::Sensor;

/// Everything about one link but the setting.
#[derive(Clone, Debug, PartialEq)]
pub struct Setup {
    /// The middle of the band.
    pub frequency: Mhz,
    /// The way between the two ends.
    pub path: Path,
    /// The transmitter's antenna.
    pub ground_antenna: GroundAntenna,
    /// The aircraft's antennas.
    pub mounting: Mounting,
    /// How the aircraft moves.
    pub motion: Motion,
    /// Which of the aircraft's antennas sends telemetry.
    pub telemetry_sends: Transmits,
    /// The receiver in the aircraft, and the noise about it.
    pub air: Receiving,
    /// The transmitter's own receiver, and the noise about it.
    pub ground: Receiving,
    /// Fading; by elevation when not said.
    pub scatter: Option<Scatter>,
    /// Standard deviation of shadowing; by height when not said.
    pub shadowing: Option<Db>,
    /// Standard deviation of what the whole reckoning doesn't know (antennas, noise
    /// figures, ground), for the interval of a distance.
    pub uncertainty: Db,
    /// Who else sends.
    pub neighbours: Neighbours,
    /// The hop channels.
    pub hops: Hops,
    /// What the flight wants.
    pub flight: Flight,
    /// Frames beside the radio's own.
    pub frames: Frames,
    /// Without a packet for so long, the receiver goes to its failsafe.
    pub failsafe_after: Option<Seconds>,
    /// The sensors whose values are sent down.
    pub sensors: Vec<Sensor>,
    /// The region whose limits count, as in the table of limits.
    pub region: Option<String>,
    /// The antennas as they were said, as `key=value` words of the formula `antenna-spread`.
    pub antennas_as_said: String,
    /// What must be known of what was said; stands among the warnings.
    pub notes: Vec<Warning>,
}

/// A receiver and the noise about it.
#[derive(Clone, Debug, PartialEq)]
pub struct Receiving {
    /// Its noise figure.
    pub noise_figure: Db,
    /// Where that comes from, in words.
    pub from: &'static str,
    /// The noise that its antenna hears.
    pub site: Site,
}

/// Other transmitters in the band.
#[derive(Clone, Debug, PartialEq)]
pub struct Neighbours {
    /// Other hopping links over the same channels, that send as this one does.
    pub links: u32,
    /// Wi-Fi networks.
    pub wifi: Vec<Wifi>,
}

/// A Wi-Fi network that is heard at the receiver.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wifi {
    /// The middle of its channel.
    pub centre: Mhz,
    /// How wide it is.
    pub width: Mhz,
    /// The share of time that it sends.
    pub busy: f64,
}

/// The hop channels of a link.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hops {
    /// Lower edge of the band.
    pub low: Mhz,
    /// Upper edge of the band.
    pub high: Mhz,
    /// How many channels; none when not known.
    pub channels: Option<u32>,
    /// From one to the next.
    pub spacing: Option<Khz>,
    /// How the band is shared.
    pub access: Access,
}

/// What the flight wants.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flight {
    /// How far away, along the ground.
    pub distance: Metres,
    /// How much the height varies about the path's, to either side, as a share of it.
    pub height_spread: f64,
    /// How fast.
    pub speed: MetresPerSecond,
    /// The probability with which the link quality must be reached.
    pub probability: f64,
    /// The link quality: the share of packets that arrive.
    pub quality: f64,
    /// The latency that is still good, 95 of 100 times.
    pub latency: Option<Seconds>,
    /// The aircraft's span, for how far it can be seen.
    pub span: Metres,
}

/// Frames beside the radio's own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frames {
    /// The handset's mixer frame.
    pub handset: Seconds,
    /// The receiver's servo frame.
    pub servo: Seconds,
    /// Decoding and the like.
    pub processing: Seconds,
    /// Whether the handset keeps step with the radio.
    pub stepping: Stepping,
}

/// A mode, a power, a telemetry share.
#[derive(Clone, Debug, PartialEq)]
pub struct Setting {
    /// The mode, with its telemetry share.
    pub mode: Mode,
    /// The transmitter's power into its antenna's cable.
    pub power: Dbm,
    /// The receiver's power; none when it doesn't send or it isn't known.
    pub telemetry_power: Option<Dbm>,
    /// Packets on one channel before the next.
    pub hop_every: Option<u32>,
}

/// A sheet can't be reckoned.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SheetError {
    /// A value lies outside its range.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// The region has no limits here.
    #[error(transparent)]
    Region(#[from] crate::law::UnknownRegion),
    /// More settings than one advice looks at.
    #[error(
        "{count} settings are more than the {most} that one advice looks at; leave modes, telemetry shares or power \
         steps out of the family file that nobody chooses"
    )]
    TooManySettings {
        /// How many.
        count: usize,
        /// How many at most.
        most: usize,
    },
}

/// A link quality.
pub const QUALITY: Bound = Bound {
    name: "quality",
    unit: "",
    low: 0.01,
    high: 0.999,
    why: "the share of packets that must arrive; 1 can't be promised",
};

/// How much a height varies.
pub const HEIGHT_SPREAD: Bound = Bound {
    name: "height_spread",
    unit: "",
    low: 0.0,
    high: 0.9,
    why: "a share of the height, to either side",
};

/// How long one spell of attitude and shadow lasts: about the time of a manoeuvre.
///
/// A judgement, no source.
pub const SPELL: Seconds = Seconds(1.0);

/// The time for which the chance of a failsafe is given.
pub const FAILSAFE_SPAN: Seconds = Seconds(600.0);

impl Setup {
    /// Whether every value lies in its range.
    ///
    /// # Errors
    /// [`OutOfRange`] with the name of the first that doesn't.
    pub fn check(&self) -> Result<(), OutOfRange> {
        bounds::FREQUENCY.check(self.frequency.0)?;
        self.path.check()?;
        bounds::NOISE_FIGURE.check(self.air.noise_figure.0)?;
        bounds::NOISE_FIGURE.check_as("ground_noise_figure_db", self.ground.noise_figure.0)?;
        bounds::DISTANCE.check(self.flight.distance.0)?;
        bounds::SPEED.check(self.flight.speed.0)?;
        HEIGHT_SPREAD.check(self.flight.height_spread)?;
        bounds::WANTED_PROBABILITY.check(self.flight.probability)?;
        QUALITY.check(self.flight.quality)?;
        crate::sight::SPAN.check(self.flight.span.0)?;
        bounds::SHADOWING.check_as("uncertainty_db", self.uncertainty.0)?;
        for wifi in &self.neighbours.wifi {
            bounds::PROBABILITY.check_as("wifi_busy", wifi.busy)?;
        }
        if let Some(shadowing) = self.shadowing {
            bounds::SHADOWING.check(shadowing.0)?;
        }
        Ok(())
    }

    /// The transmitter's antenna.
    pub fn transmit_antenna(&self) -> &Antenna {
        &self.ground_antenna.kind
    }
}

impl Setting {
    /// Whether every value lies in its range.
    ///
    /// # Errors
    /// [`OutOfRange`] with the name of the first that doesn't.
    pub fn check(&self) -> Result<(), OutOfRange> {
        bounds::POWER.check(self.power.milliwatts().0)?;
        if let Some(power) = self.telemetry_power {
            bounds::POWER.check_as("telemetry_mw", power.milliwatts().0)?;
        }
        bounds::PACKET_RATE.check(self.mode.packet_rate.0)?;
        bounds::PAYLOAD.check(f64::from(self.mode.payload_bytes))?;
        Ok(())
    }
}
