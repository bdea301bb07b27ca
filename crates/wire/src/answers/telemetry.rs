//! How sensors fit into telemetry slots.

use link::sheet::{Setting, slots_of};
use link::telemetry::{Fit, Sensor, fit, smallest_share};
use link::wish::{Asked, Gear};
use register::radio::Suggested;
use serde::Serialize;

use super::sheet::{About, Chosen, Taken};

/// How the sensors fit, in the asked setting and in every other.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Telemetry {
    /// Whose link.
    pub about: About,
    /// The asked setting.
    pub setting: Chosen,
    /// The sensors.
    pub sensors: Vec<Wanted>,
    /// How they fit into the asked setting; none where it has no telemetry.
    pub fit: Option<Fitted>,
    /// The smallest share of the asked mode (one slot in so many) that fits all.
    pub smallest_one_in: Option<u32>,
    /// Every mode and share.
    pub modes: Vec<OfMode>,
    /// Inputs taken from the register.
    pub suggested: Vec<Taken>,
    /// Inputs taken from a default.
    pub taken: Vec<Taken>,
}

/// A sensor.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Wanted {
    /// Its name.
    pub name: String,
    /// Bytes of one frame.
    pub bytes: u32,
    /// The longest wanted time between values.
    pub wanted_s: f64,
}

/// How sensors fit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Fitted {
    /// Telemetry slots a second.
    pub slots_per_second: Option<f64>,
    /// Bytes for sensors in one slot.
    pub slot_bytes: Option<u32>,
    /// Each sensor.
    pub sensors: Vec<Served>,
    /// Bytes wanted over bytes there are; over 1 can't fit.
    pub load: f64,
    /// Whether every sensor comes in time.
    pub fits: bool,
}

/// What becomes of one sensor.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Served {
    /// Its name.
    pub name: String,
    /// The longest wanted time between values.
    pub wanted_s: f64,
    /// The longest time there will be; none when it is never served.
    pub achieved_s: Option<f64>,
    /// Whether that is soon enough.
    pub fits: bool,
}

/// One mode and share.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OfMode {
    /// The mode.
    pub mode: String,
    /// Slots a second.
    pub packet_rate_hz: f64,
    /// One slot in so many; none without telemetry.
    pub telemetry_one_in: Option<u32>,
    /// How the sensors fit; none without telemetry.
    pub fit: Option<Fitted>,
    /// Whether it is the smallest share of its mode that fits all.
    pub smallest_that_fits: bool,
}

impl Fitted {
    /// A fit as an answer, with the slots of its setting.
    pub fn new(setting: &Setting, fit: &Fit) -> Fitted {
        let slots = slots_of(setting);
        Fitted {
            slots_per_second: slots.map(|slots| slots.per_second.0),
            slot_bytes: slots.map(|slots| slots.bytes),
            sensors: fit
                .sensors
                .iter()
                .map(|served| Served {
                    name: served.name.clone(),
                    wanted_s: served.wanted.0,
                    achieved_s: served.achieved.map(|gap| gap.0),
                    fits: served.fits,
                })
                .collect(),
            load: fit.load,
            fits: fit.fits,
        }
    }

    /// The fit of sensors in a setting; none without telemetry.
    pub fn of(setting: &Setting, sensors: &[Sensor]) -> Option<Fitted> {
        Some(Fitted::new(setting, &fit(sensors, &slots_of(setting)?)))
    }
}

impl Telemetry {
    /// The answer on a question.
    pub fn new(about: About, gear: &Gear, asked: &Asked, suggested: &[Suggested]) -> Telemetry {
        let sensors = &asked.setup.sensors;
        let smallest = |name: &str| {
            let one = gear.modes.iter().find(|one| one.mode.name == name)?;
            smallest_share(sensors, one.mode.packet_rate, one.mode.payload_bytes, &one.shares)
        };
        let mut modes: Vec<OfMode> = Vec::new();
        for one in &gear.modes {
            let shares: Vec<Option<u32>> = if one.shares.is_empty() {
                vec![None]
            } else {
                one.shares.iter().copied().map(Some).collect()
            };
            for share in shares {
                let mut setting = asked.setting.clone();
                setting.mode = one.mode.clone();
                setting.mode.telemetry_one_in = share;
                modes.push(OfMode {
                    mode: one.mode.name.clone(),
                    packet_rate_hz: one.mode.packet_rate.0,
                    telemetry_one_in: share,
                    fit: Fitted::of(&setting, sensors),
                    smallest_that_fits: share.is_some() && smallest(&one.mode.name) == share,
                });
            }
        }
        Telemetry {
            about,
            setting: Chosen::new(&asked.setting),
            sensors: sensors
                .iter()
                .map(|sensor| Wanted {
                    name: sensor.name.clone(),
                    bytes: sensor.bytes,
                    wanted_s: sensor.wanted.0,
                })
                .collect(),
            fit: Fitted::of(&asked.setting, sensors),
            smallest_one_in: smallest(&asked.setting.mode.name),
            modes,
            suggested: Taken::suggested(suggested),
            taken: Taken::defaults(asked),
        }
    }
}
