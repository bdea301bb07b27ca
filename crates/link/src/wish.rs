//! What a person may say about a link and a flight, and the setup it makes with what is
//! known of the gear.
//!
//! One list of inputs ([`WISHES`]) serves every door: `key=value` on the command line, the
//! fields of the page, the keys in JSON. What isn't said is taken from the gear, or else
//! from a default that stands beside the answer as an assumption.

mod build;
mod inputs;

pub use build::{Asked, WishError, build, ground_antenna, mounting};
pub use inputs::{ANTENNA_KEYS, GROUPS, WISHES};

use units::{Db, Hertz, Khz, Mhz, Milliwatts, Seconds};

use crate::law::Access;
use crate::mode::Mode;

/// What is known of both ends' gear: the family file, the band, what the register says.
#[derive(Clone, Debug, PartialEq)]
pub struct Gear {
    /// The link family.
    pub family: String,
    /// The band's name.
    pub band: String,
    /// Its lower edge.
    pub low: Mhz,
    /// Its upper edge.
    pub high: Mhz,
    /// How many hop channels, where it is known.
    pub channels: Option<u32>,
    /// From one to the next.
    pub spacing: Option<Khz>,
    /// How the band is shared.
    pub access: Access,
    /// The receivers' noise figure, where it is known.
    pub noise_figure: Option<Db>,
    /// The modes on this band; at least one.
    pub modes: Vec<GearMode>,
    /// The transmitter's power steps.
    pub power_steps: Vec<Milliwatts>,
    /// What the receiver sends with, where it is known.
    pub telemetry_power: Option<Milliwatts>,
    /// The receiver's time-out, where it is known.
    pub failsafe_after: Option<Seconds>,
}

/// A mode of the gear.
#[derive(Clone, Debug, PartialEq)]
pub struct GearMode {
    /// It, without telemetry.
    pub mode: Mode,
    /// The telemetry shares there are: one slot in so many.
    pub shares: Vec<u32>,
    /// Packets on one channel before the next, where it is known.
    pub hop_every: Option<u32>,
}

impl GearMode {
    /// Whether a packet is over before the next slot begins; also where it isn't known how
    /// long one lasts, or where it can't be reckoned.
    pub fn fits_its_slot(&self) -> bool {
        let slot = self.mode.packet_rate.period();
        !matches!(self.mode.airtime(), Ok(Some(airtime)) if airtime.seconds().0 > slot.0 * (1.0 + 1e-9))
    }
}

impl Gear {
    /// The rate of the mode with this name.
    pub fn rate_of(&self, name: &str) -> Option<Hertz> {
        self.modes.iter().find(|one| one.mode.name == name).map(|one| one.mode.packet_rate)
    }
}
