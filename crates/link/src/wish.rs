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
use crate::telemetry::{Fit, Sensor, Slots, fit, smallest_share};

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

/// What becomes of sensors in one mode with one telemetry share.
#[derive(Clone, Debug, PartialEq)]
pub struct Refresh {
    /// The mode.
    pub mode: String,
    /// Its slots a second.
    pub packet_rate: Hertz,
    /// One slot in so many; none without telemetry.
    pub telemetry_one_in: Option<u32>,
    /// The slots for telemetry; none without.
    pub slots: Option<Slots>,
    /// What they carry; none without.
    pub fit: Option<Fit>,
    /// Whether it is the smallest share of its mode that fits every sensor.
    pub smallest: bool,
}

/// Sensors in every mode and telemetry share of a gear.
pub fn refreshes(gear: &Gear, sensors: &[Sensor]) -> Vec<Refresh> {
    let mut all = Vec::new();
    for one in &gear.modes {
        let (rate, bytes) = (one.mode.packet_rate, one.mode.payload_bytes);
        let smallest = smallest_share(sensors, rate, bytes, &one.shares);
        let row = |share: Option<u32>| {
            let slots =
                share.map(|share| Slots { per_second: Hertz(rate.0 / f64::from(share.max(1))), bytes });
            Refresh {
                mode: one.mode.name.clone(),
                packet_rate: rate,
                telemetry_one_in: share,
                slots,
                fit: slots.map(|slots| fit(sensors, &slots)),
                smallest: share.is_some() && smallest == share,
            }
        };
        if one.shares.is_empty() {
            all.push(row(None));
        }
        all.extend(one.shares.iter().map(|share| row(Some(*share))));
    }
    all
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
