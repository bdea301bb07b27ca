//! A packet mode as physics sees it.

use units::{Dbm, Hertz, Khz, Micros};

use crate::bounds::OutOfRange;
use crate::css::Css;
use crate::fsk::Fsk;

/// How a mode modulates.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Modulation {
    /// Chirp spread spectrum.
    Css(Css),
    /// Frequency-shift keying.
    Fsk(Fsk),
    /// Only a sensitivity is stated; what isn't stated isn't known.
    Stated {
        /// The level at which about one packet in a hundred is lost.
        sensitivity: Dbm,
        /// Occupied bandwidth.
        bandwidth: Option<Khz>,
        /// Time of a packet on the air.
        airtime: Option<Micros>,
    },
}

/// A packet mode.
#[derive(Clone, Debug, PartialEq)]
pub struct Mode {
    /// Its name.
    pub name: String,
    /// How it modulates.
    pub modulation: Modulation,
    /// Slots a second, telemetry slots among them.
    pub packet_rate: Hertz,
    /// Bytes in a packet.
    pub payload_bytes: u32,
    /// One slot in so many carries telemetry; none for no telemetry.
    pub telemetry_one_in: Option<u32>,
}

impl Modulation {
    /// The word in JSON and on pages.
    pub fn word(&self) -> &'static str {
        match self {
            Modulation::Css(_) => "css",
            Modulation::Fsk(_) => "fsk",
            Modulation::Stated { .. } => "stated",
        }
    }

    /// Occupied bandwidth, where it is known.
    pub fn bandwidth(&self) -> Option<Khz> {
        match self {
            Modulation::Css(css) => Some(css.bandwidth),
            Modulation::Fsk(fsk) => Some(fsk.bandwidth()),
            Modulation::Stated { bandwidth, .. } => *bandwidth,
        }
    }

    /// Time of a packet on the air, where it is known.
    ///
    /// # Errors
    /// [`OutOfRange`] for a modulation or a payload outside its range.
    pub fn airtime(&self, payload_bytes: u32) -> Result<Option<Micros>, OutOfRange> {
        match self {
            Modulation::Css(css) => css.airtime(payload_bytes).map(Some),
            Modulation::Fsk(fsk) => fsk.airtime(payload_bytes).map(Some),
            Modulation::Stated { airtime, .. } => Ok(*airtime),
        }
    }
}

impl Mode {
    /// Time of a packet on the air, where it is known.
    ///
    /// # Errors
    /// [`OutOfRange`] for a modulation or a payload outside its range.
    pub fn airtime(&self) -> Result<Option<Micros>, OutOfRange> {
        self.modulation.airtime(self.payload_bytes)
    }

    /// The share of slots that carry control.
    pub fn control_share(&self) -> f64 {
        1.0 - self.telemetry_share()
    }

    /// The share of slots that carry telemetry.
    pub fn telemetry_share(&self) -> f64 {
        self.telemetry_one_in.map_or(0.0, |one_in| 1.0 / f64::from(one_in.max(1)))
    }
}
