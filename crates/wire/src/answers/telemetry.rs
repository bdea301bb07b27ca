//! How sensors fit into telemetry slots.

use link::telemetry::{Fit, Slots};
use link::wish::{Asked, Gear, Refresh, refreshes};
use register::radio::Suggested;
use serde::Serialize;

use super::sheet::{About, Chosen, Taken, Warning};

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
    /// What must be known of what was said.
    pub warnings: Vec<Warning>,
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
    pub fn new(slots: Option<Slots>, fit: &Fit) -> Fitted {
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

    fn of(refresh: &Refresh) -> Option<Fitted> {
        Some(Fitted::new(refresh.slots, refresh.fit.as_ref()?))
    }
}

impl Telemetry {
    /// The answer on a question.
    pub fn new(about: About, gear: &Gear, asked: &Asked, suggested: &[Suggested]) -> Telemetry {
        let sensors = &asked.setup.sensors;
        let rows = refreshes(gear, sensors);
        let mode = &asked.setting.mode;
        let of_mode = || rows.iter().filter(|row| row.mode == mode.name);
        let as_asked = of_mode().find(|row| row.telemetry_one_in == mode.telemetry_one_in);
        let smallest = of_mode().find(|row| row.smallest);
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
            fit: as_asked.and_then(Fitted::of),
            smallest_one_in: smallest.and_then(|row| row.telemetry_one_in),
            modes: rows
                .iter()
                .map(|row| OfMode {
                    mode: row.mode.clone(),
                    packet_rate_hz: row.packet_rate.0,
                    telemetry_one_in: row.telemetry_one_in,
                    fit: Fitted::of(row),
                    smallest_that_fits: row.smallest,
                })
                .collect(),
            warnings: Warning::noted(asked),
            suggested: Taken::suggested(suggested),
            taken: Taken::defaults(asked),
        }
    }
}
