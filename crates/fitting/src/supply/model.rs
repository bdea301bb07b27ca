//! What a supply is made of, as read from its text.

use link::bounds::OutOfRange;
use link::wire::{Celsius, Gauge};
use units::{Amps, Metres, MilliampHours, Ohms, Volts};

use super::data::Chemistry;

/// A supply, from the packs to the servos.
#[derive(Clone, Debug, PartialEq)]
pub struct Supply {
    /// One or two packs, each with its leads and regulator.
    pub packs: Vec<Pack>,
    /// How two packs are joined.
    pub join: Join,
    /// The share of the capacity that stays in the pack, 0 to 1.
    pub reserve: f64,
    /// What the receiver takes and stands.
    pub receiver: Receiver,
    /// Servos, those of one sort together.
    pub servos: Vec<Servo>,
    /// What moves together, and for how much of the time.
    pub manoeuvres: Vec<Manoeuvre>,
    /// What was taken by practice because it wasn't given, in words.
    pub taken: Vec<String>,
}

/// How two packs are joined.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Join {
    /// There is one pack.
    One,
    /// Behind a diode each; the drop is taken as constant.
    Diodes(Volts),
    /// The second takes over when the bus falls below this voltage on the first.
    SwitchOver(Volts),
    /// Both feed the bus.
    Parallel,
}

/// A pack with what stands between it and the receiver.
#[derive(Clone, Debug, PartialEq)]
pub struct Pack {
    /// What to call it.
    pub name: String,
    /// What its cells are made of.
    pub chemistry: &'static Chemistry,
    /// Cells in series.
    pub cells: u32,
    /// Capacity, where it is known.
    pub capacity: Option<MilliampHours>,
    /// Resistance of one warm cell when new.
    pub cell: Ohms,
    /// How many times that it has by age.
    pub ageing: f64,
    /// How many times that it has by cold.
    pub cold: f64,
    /// Volts per cell at rest as stated, reckoned beside full and low.
    pub stated: Option<Volts>,
    /// The motor on it; `None` where nobody wrote down whether there is one.
    pub motor: Option<Motor>,
    /// Leads up to the regulator.
    pub before: Vec<Wire>,
    /// The regulator, if any.
    pub regulator: Option<Regulator>,
    /// Leads from the regulator (or the pack) to the receiver.
    pub after: Vec<Wire>,
}

impl Pack {
    /// Resistance of all its cells, aged and cold as they are.
    pub fn resistance(&self) -> Ohms {
        self.cell * (f64::from(self.cells) * self.ageing * self.cold)
    }

    /// Its electromotive force at a charge.
    pub fn emf(&self, charge: Charge) -> Volts {
        let cell = match charge {
            Charge::Full => self.chemistry.full,
            Charge::Nominal => self.chemistry.nominal,
            Charge::Low => self.chemistry.low,
            Charge::Stated => self.stated.unwrap_or(self.chemistry.nominal),
        };
        cell * f64::from(self.cells)
    }

    /// What the motor on it draws.
    pub fn motor_amps(&self, throttle: Throttle) -> Amps {
        self.motor.map_or(Amps(0.0), |motor| match throttle {
            Throttle::Off => Amps(0.0),
            Throttle::Average => motor.average,
            Throttle::Full => motor.full,
        })
    }

    /// Whether it has the makings of a flight pack (lithium, 450 mAh or more, a regulator for the
    /// receiver: a judgement), and nobody wrote down whether a motor hangs on it.
    pub fn motor_unknown(&self) -> bool {
        let lithium = !matches!(self.chemistry.word.as_str(), "nimh" | "nicd");
        let large = self.capacity.is_some_and(|capacity| capacity >= MilliampHours(450.0));
        lithium && large && self.regulator.is_some() && self.motor.is_none()
    }
}

/// What a motor and its speed controller draw from a pack's terminals, as a constant current: its own
/// leads and the ripple of the speed controller are not in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motor {
    /// At full throttle; nothing where no motor hangs on the pack.
    pub full: Amps,
    /// Over a flight.
    pub average: Amps,
}

/// What the motors do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Throttle {
    /// They stand.
    Off,
    /// They draw what they do on average.
    Average,
    /// They draw the most.
    Full,
}

/// A pack's state of charge.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Charge {
    /// Just charged.
    Full,
    /// In the middle; what endurance is reckoned with.
    Nominal,
    /// The lowest at which one would still fly.
    Low,
    /// As the text states it.
    Stated,
}

impl Charge {
    /// The words in answers.
    pub fn words(self) -> &'static str {
        match self {
            Charge::Full => "full",
            Charge::Nominal => "nominal",
            Charge::Low => "low",
            Charge::Stated => "as stated",
        }
    }
}

/// A lead of two conductors.
#[derive(Clone, Debug, PartialEq)]
pub struct Wire {
    /// What to call it.
    pub name: String,
    /// Length one way.
    pub length: Metres,
    /// Gauge of both conductors.
    pub gauge: Gauge,
    /// All its contacts.
    pub connector: Ohms,
    /// A switch in it.
    pub switch: Ohms,
    /// The conductors' temperature.
    pub temperature: Celsius,
}

impl Wire {
    /// Resistance of both conductors, contacts and switch.
    ///
    /// # Errors
    /// [`OutOfRange`] for a length or a temperature for which [`Gauge::resistance`] doesn't hold.
    pub fn resistance(&self) -> Result<Ohms, OutOfRange> {
        let copper = self.gauge.resistance(self.length + self.length, self.temperature)?;
        Ok(copper + self.connector + self.switch)
    }
}

/// How a regulator brings the voltage down.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// The current goes through; what is over becomes heat.
    Linear,
    /// A converter: what goes in is what comes out, over its efficiency.
    Switching,
}

impl Kind {
    /// The word in files and answers.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Linear => "linear",
            Kind::Switching => "switching",
        }
    }
}

/// A regulator.
#[derive(Clone, Debug, PartialEq)]
pub struct Regulator {
    /// What to call it.
    pub name: String,
    /// How it works.
    pub kind: Kind,
    /// Its output voltage.
    pub set: Volts,
    /// What it gives for long.
    pub continuous: Option<Amps>,
    /// What it gives for seconds.
    pub burst: Option<Amps>,
    /// What its input must be above its output.
    pub dropout: Volts,
    /// Of a switching one, 0 to 1, without its own current.
    pub efficiency: f64,
    /// Kelvin a watt from its chip to the air.
    pub thermal: Option<KelvinPerWatt>,
    /// The hottest its chip may get.
    pub junction_max: Celsius,
    /// The air around it.
    pub surroundings: Celsius,
    /// What it takes for itself.
    pub quiescent: Amps,
}

/// A thermal resistance, kelvin a watt.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct KelvinPerWatt(pub f64);

/// What the receiver takes and stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Receiver {
    /// What it takes, with whatever else hangs on the bus all the time, telemetry included.
    pub takes: Amps,
    /// The lowest voltage at which it surely works.
    pub works_to: Volts,
    /// The voltage at which it resets.
    pub resets_at: Volts,
    /// The highest voltage that it stands.
    pub highest: Option<Volts>,
}

/// Servos of one sort.
#[derive(Clone, Debug, PartialEq)]
pub struct Servo {
    /// What to call them.
    pub name: String,
    /// Their class, in its own word.
    pub class: &'static str,
    /// How many.
    pub count: u32,
    /// One at rest; the same at any voltage.
    pub idle: Amps,
    /// One moving under light load, at the rated voltage; in proportion to the voltage.
    pub moving: Amps,
    /// One holding; the same at any voltage.
    pub hold: Amps,
    /// One stalled, at the rated voltage; in proportion to the voltage.
    pub stall: Amps,
    /// Where its currents are so.
    pub rated: Volts,
    /// What it stands.
    pub highest: Volts,
    /// Its lead.
    pub lead: Wire,
}

/// What moves together.
#[derive(Clone, Debug, PartialEq)]
pub struct Manoeuvre {
    /// What to call it.
    pub name: String,
    /// What each servo does, by its place in [`Supply::servos`].
    pub doing: Vec<Doing>,
    /// The share of the flight, 0 to 1.
    pub share: f64,
}

/// What a servo does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Doing {
    /// Nothing.
    Idle,
    /// It moves under light load.
    Moving,
    /// It holds against the air.
    Holding,
    /// The share of the stall current that a hard manoeuvre takes.
    Hard,
    /// It is stalled.
    Stalled,
}
