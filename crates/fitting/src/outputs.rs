//! Outputs: which channel goes to which output, what the output sends, and what hangs on it.
//!
//! The figures of this module (pulse ranges, dead bands, frame rates) are common practice without a
//! published source: they are for planning, and a part's own data sheet prevails. What is not
//! written down is either taken as the schema says or not checked, and then [`Answer::not_checked`]
//! says so.

mod frame;
mod order;
mod range;
mod read;
mod say;
mod schema;
mod sender;
mod signal;
mod surface;
mod taken;
mod wiring;

pub use frame::{frame_rest, train_rest};
pub use order::{Used, function_root, functions, is_throttle, used};
pub use range::{step, steps_within};
pub use schema::SCHEMA;

use register::family::read::Problem;
use units::{Hertz, Micros};

use crate::finding::{self, Finding};
use crate::part::Filled;

/// Which of several transmitters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// It flies the aircraft alone.
    Main,
    /// It is the second one at a trainer's lead.
    Second,
}

/// Which way a channel or an output goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Direction {
    /// The shortest pulse with the stick at its low end.
    Normal,
    /// The longest pulse with the stick at its low end.
    Reversed,
}

/// Where the throttle stick rests.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Rest {
    /// At its low end.
    Low,
    /// In its middle (a car, a boat that goes backwards).
    Centre,
    /// At its high end.
    High,
}

/// What an output sends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sends {
    /// A pulse a frame, as long as its channel says.
    Pulses,
    /// The pulses of several channels, one after the other on one wire.
    Train,
    /// A serial stream with all channels.
    Stream,
    /// Nothing.
    Nothing,
}

/// What sort of part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sort {
    /// A servo.
    Servo,
    /// A motor's speed controller.
    SpeedController,
    /// A light.
    Light,
    /// A gyro or a flight controller.
    Controller,
    /// Something else.
    Other,
}

/// A transmitter that flies the aircraft.
#[derive(Clone, Debug, PartialEq)]
pub struct Sender {
    /// Its label.
    pub label: String,
    /// Which of several.
    pub role: Role,
    /// What channel 1 and those after it carry.
    pub order: Vec<String>,
    /// How many channels it sends.
    pub channels: u32,
    /// The pulse that it asks for at a stick's low end.
    pub low: Micros,
    /// The pulse that it asks for at a stick's high end.
    pub high: Micros,
    /// How many steps it can tell apart between those two.
    pub steps: Option<u32>,
    /// The functions that it sends the other way round.
    pub reversed: Vec<String>,
    /// Where its throttle stick rests.
    pub throttle_rest: Rest,
}

/// An output of a receiver.
#[derive(Clone, Debug, PartialEq)]
pub struct Output {
    /// The receiver's label; none where the aircraft has one receiver.
    pub receiver: Option<String>,
    /// Its number.
    pub number: u32,
    /// The channel that it carries; the first of them in a train.
    pub channel: u32,
    /// What it sends.
    pub sends: Sends,
    /// The stream's name, where it sends one.
    pub stream: Option<String>,
    /// How many channels its train has.
    pub train_channels: u32,
    /// The pulse with the stick at its low end, where it isn't the transmitter's.
    pub low: Option<Micros>,
    /// The pulse with the stick in its middle, where it was said.
    pub centre: Option<Micros>,
    /// The pulse with the stick at its high end, where it isn't the transmitter's.
    pub high: Option<Micros>,
    /// Which way it goes.
    pub direction: Direction,
    /// How many frames a second.
    pub rate: Hertz,
    /// The group of outputs that has one rate.
    pub group: Option<u32>,
}

/// A part that hangs on an output.
#[derive(Clone, Debug, PartialEq)]
pub struct Hung {
    /// Its name.
    pub name: String,
    /// What it is.
    pub sort: Sort,
    /// The receiver's label; none where the aircraft has one receiver.
    pub receiver: Option<String>,
    /// The number of its output.
    pub output: u32,
    /// The function that it serves, where that was said.
    pub function: Option<String>,
    /// The surface that it moves.
    pub surface: Option<String>,
    /// The shortest pulse that it takes.
    pub low: Option<Micros>,
    /// The pulse in its middle.
    pub centre: Option<Micros>,
    /// The longest pulse that it takes.
    pub high: Option<Micros>,
    /// The most frames a second that it takes, where that was said.
    pub fastest: Option<Hertz>,
    /// The stream that it expects; none where it takes pulses.
    pub stream: Option<String>,
    /// The least change of pulse that moves it.
    pub dead_band: Option<Micros>,
    /// Which way the surface goes when the pulse gets longer: normal is up or right.
    pub longer_moves: Option<Direction>,
    /// How far the surface goes for each microsecond, degrees.
    pub deg_per_us: f64,
    /// The pulse at which its motor stands.
    pub idle: Option<Micros>,
}

/// The outputs part of a fit.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Outputs {
    /// Who flies it: the main ones first, then by label.
    pub senders: Vec<Sender>,
    /// The outputs that were described, by receiver and number.
    pub outputs: Vec<Output>,
    /// What hangs on them, by receiver, output and name.
    pub parts: Vec<Hung>,
}

/// A device that the register knows, with everything that it is called.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Named {
    /// What to call it.
    pub label: String,
    /// Its other names and codes.
    pub also: Vec<String>,
}

impl Named {
    /// Whether a text means this device; letters' case doesn't matter.
    pub fn is(&self, text: &str) -> bool {
        let text = text.trim().to_lowercase();
        self.label.to_lowercase() == text || self.also.iter().any(|name| name.to_lowercase() == text)
    }
}

/// What the register knows besides the text.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Facts {
    /// The sort of craft, in the workshop's own words; empty where it isn't known.
    pub craft: String,
    /// The receivers in the aircraft; empty where none is known.
    pub receivers: Vec<Named>,
    /// The transmitters that are meant to fly it; empty where none is known.
    pub transmitters: Vec<Named>,
}

/// What a channel carries when one transmitter flies.
#[derive(Clone, Debug, PartialEq)]
pub struct Carried {
    /// The transmitter.
    pub transmitter: String,
    /// The function; none where its order doesn't name one or it doesn't send the channel.
    pub function: Option<String>,
}

/// A part on a wire of the drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct OnWire {
    /// Its name.
    pub name: String,
    /// What it is.
    pub sort: Sort,
    /// What it moves, where that was said.
    pub surface: Option<String>,
    /// What it serves: what was said, else what its channel carries from the first transmitter.
    pub function: Option<String>,
}

/// One output of the drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Wire {
    /// The receiver's label; empty where it isn't known.
    pub receiver: String,
    /// The output's number.
    pub number: u32,
    /// What it sends.
    pub sends: Sends,
    /// The stream's name.
    pub stream: Option<String>,
    /// Its channel, the first of them in a train.
    pub channel: u32,
    /// What the channel carries, per transmitter.
    pub carries: Vec<Carried>,
    /// The pulse at the stick's low end, the middle and the high end from the first transmitter, as
    /// they leave the output.
    pub pulses: [Micros; 3],
    /// How many frames a second.
    pub rate: Hertz,
    /// Which way the output goes.
    pub direction: Direction,
    /// What hangs on it.
    pub parts: Vec<OnWire>,
    /// The heaviest finding about this output or a part on it.
    pub weight: Option<finding::Weight>,
    /// The output's rate, pulses and direction in a few words.
    pub says: String,
}

/// What a look at the outputs gives.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// The answer in one sentence.
    pub sentence: String,
    /// What was found, the heaviest first.
    pub findings: Vec<Finding>,
    /// What could not be checked because it isn't written down, a sentence each.
    pub not_checked: Vec<String>,
    /// The drawing: one row an output, by receiver and number.
    pub wiring: Vec<Wire>,
}

impl Outputs {
    /// What was read, as outputs.
    ///
    /// # Errors
    /// Cells that can't be together: a low pulse not below the high one, a centre outside them, a
    /// stream on an output that sends pulses, fewer channels than functions, a label or a part's
    /// name that stands twice, rows with and rows without a receiver.
    pub fn of(origin: &str, filled: &Filled) -> Result<Self, Vec<Problem>> {
        read::of(origin, filled)
    }

    /// Reads the text.
    ///
    /// # Errors
    /// As [`crate::part::read`] and [`Outputs::of`].
    pub fn read(origin: &str, text: &str) -> Result<Self, Vec<Problem>> {
        Self::of(origin, &crate::part::read(&SCHEMA, origin, text)?)
    }
}

impl Sends {
    /// The word in files and in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Sends::Pulses => "pulses",
            Sends::Train => "train",
            Sends::Stream => "stream",
            Sends::Nothing => "nothing",
        }
    }
}

impl Sort {
    /// The word in files and in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Sort::Servo => "servo",
            Sort::SpeedController => "speed-controller",
            Sort::Light => "light",
            Sort::Controller => "controller",
            Sort::Other => "other",
        }
    }

    /// The words on pages.
    pub fn label(self) -> &'static str {
        match self {
            Sort::Servo => "servo",
            Sort::SpeedController => "speed controller",
            Sort::Light => "light",
            Sort::Controller => "gyro or flight controller",
            Sort::Other => "other part",
        }
    }
}

impl Role {
    /// The word in files and in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Role::Main => "main",
            Role::Second => "second",
        }
    }
}

impl Direction {
    /// The word in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Direction::Normal => "normal",
            Direction::Reversed => "reversed",
        }
    }
}

/// Checks the outputs: what is wrong, what follows, what to do, and the drawing.
pub fn check(outputs: &Outputs, facts: &Facts) -> Answer {
    let taken = taken::Taken::of(outputs, facts);
    let mut found = say::Found::default();
    sender::check(&taken, facts, &mut found);
    wiring::check(&taken, facts, &mut found);
    frame::check(&taken, &mut found);
    range::check(&taken, &mut found);
    surface::check(&taken, &mut found);
    signal::check(&taken, &mut found);
    let (findings, not_checked) = found.sorted();
    let wiring = wiring::drawing(&taken, &findings);
    let sentence = say::sentence(&taken, &findings);
    Answer { sentence, findings, not_checked, wiring }
}
