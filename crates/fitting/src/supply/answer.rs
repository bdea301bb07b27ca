//! What a supply's reckoning says.

use link::wire::Celsius;
use units::{Amps, Farads, Minutes, Volts, Watts};

use super::model::{Charge, Kind};
use crate::finding::Finding;

/// What a supply does under every load.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// The answer in one sentence.
    pub sentence: String,
    /// What was found, heaviest first.
    pub findings: Vec<Finding>,
    /// Every load at every charge, also with a pack failed.
    pub cases: Vec<Case>,
    /// How long the packs last.
    pub endurance: Endurance,
    /// What to change, the most helpful first.
    pub helps: Vec<Help>,
    /// What a capacitor on the bus can do, and can't.
    pub capacitor: Capacitor,
    /// What was taken by practice because it wasn't given.
    pub taken: Vec<String>,
}

impl Answer {
    /// The case of a load at a charge with nothing failed.
    pub fn case(&self, load: &Load, charge: Charge) -> Option<&Case> {
        self.cases.iter().find(|case| case.load == *load && case.charge == charge && case.failed.is_none())
    }

    /// The case that holds with the lowest voltage at the receiver, nothing failed: its place among the
    /// cases. `None` where none holds.
    pub fn worst_held(&self) -> Option<usize> {
        let held = self.cases.iter().enumerate().filter(|(_, case)| case.failed.is_none());
        let held = held.filter_map(|(at, case)| match &case.outcome {
            Outcome::Held(point) => Some((at, point.receiver_v.0)),
            Outcome::Reset(_) | Outcome::Collapse { .. } => None,
        });
        held.min_by(|one, other| one.1.total_cmp(&other.1)).map(|(at, _)| at)
    }
}

/// What the servos do together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Load {
    /// Nothing moves.
    Rest,
    /// A stated manoeuvre, by its name.
    Manoeuvre(String),
    /// 60 % of the sum of the stall currents (common practice, no source).
    Hard,
    /// All stalled: the worst there is.
    Stalled,
}

impl Load {
    /// The words in answers.
    pub fn words(&self) -> &str {
        match self {
            Load::Rest => "at rest",
            Load::Manoeuvre(name) => name,
            Load::Hard => "hard manoeuvre",
            Load::Stalled => "all stalled",
        }
    }
}

/// One load at one charge.
#[derive(Clone, Debug, PartialEq)]
pub struct Case {
    /// What it is, in words.
    pub name: String,
    /// The load.
    pub load: Load,
    /// The packs' charge.
    pub charge: Charge,
    /// The pack that has failed, by name.
    pub failed: Option<String>,
    /// What the motors draw together.
    pub motor: Amps,
    /// What comes of it.
    pub outcome: Outcome,
}

impl Case {
    /// The load in words, with full throttle where a motor runs.
    pub fn load_words(&self) -> String {
        let load = self.load.words();
        if self.motor.0 > 0.0 { format!("{load} at full throttle") } else { load.to_owned() }
    }
}

/// What comes of a load.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// The receiver has its voltage.
    Held(Point),
    /// There is a voltage, but the receiver resets at it.
    Reset(Point),
    /// There is no operating point at all: the supply can't carry this load.
    Collapse {
        /// Why, in a sentence.
        why: String,
    },
}

impl Outcome {
    /// Where it settles, unless it collapses.
    pub fn point(&self) -> Option<&Point> {
        match self {
            Outcome::Held(point) | Outcome::Reset(point) => Some(point),
            Outcome::Collapse { .. } => None,
        }
    }

    /// The word in JSON and on pages.
    pub fn word(&self) -> &'static str {
        match self {
            Outcome::Held(_) => "held",
            Outcome::Reset(_) => "reset",
            Outcome::Collapse { .. } => "collapse",
        }
    }
}

/// Where a supply settles under a load.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// The voltage at the receiver.
    pub receiver_v: Volts,
    /// All current into receiver and servos.
    pub amps: Amps,
    /// The voltage on its way, pack by pack: the staircase of the drawing.
    pub chain: Vec<Stage>,
    /// Each pack that feeds the bus or a motor.
    pub feeds: Vec<Feed>,
    /// Each sort of servo.
    pub servos: Vec<AtServo>,
    /// Where the power goes.
    pub balance: Balance,
}

/// One step on the way from a pack to the receiver.
#[derive(Clone, Debug, PartialEq)]
pub struct Stage {
    /// Of which pack.
    pub pack: String,
    /// What it is: `cells`, a lead, a regulator, `diode`, `joint`.
    pub name: String,
    /// The voltage that goes in.
    pub volts_in: Volts,
    /// The voltage that comes out.
    pub volts_out: Volts,
    /// The current through it: through `cells` the motor's too; of a regulator, what comes out.
    pub amps: Amps,
    /// What it turns to heat.
    pub lost: Watts,
}

/// What one pack gives.
#[derive(Clone, Debug, PartialEq)]
pub struct Feed {
    /// Its name.
    pub pack: String,
    /// What it would have without load.
    pub emf: Volts,
    /// What is drawn from its cells, by a motor too; less than nothing where it is charged by the other.
    pub amps: Amps,
    /// What a motor draws of that.
    pub motor: Amps,
    /// What it gives to the bus.
    pub to_bus: Amps,
    /// Volts of one cell under this load, the motor's too.
    pub cell_v: Volts,
    /// Its regulator's state.
    pub regulator: Option<AtRegulator>,
}

/// A regulator under a load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AtRegulator {
    /// How it works.
    pub kind: Kind,
    /// Whether it holds its voltage.
    pub holds: Regulation,
    /// Its input voltage.
    pub volts_in: Volts,
    /// Its output voltage.
    pub volts_out: Volts,
    /// What it takes from the pack.
    pub amps_in: Amps,
    /// What it gives.
    pub amps_out: Amps,
    /// What it turns to heat.
    pub heat: Watts,
    /// The temperature of its chip if this load lasts, where its thermal resistance is known.
    pub junction: Option<Celsius>,
}

/// Whether a regulator holds its voltage.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Regulation {
    /// It does.
    Holds,
    /// Its input is too low: the output follows it down.
    DroppedOut,
    /// It gives its burst current and no more.
    AtLimit,
}

/// One sort of servo under a load.
#[derive(Clone, Debug, PartialEq)]
pub struct AtServo {
    /// Its name.
    pub name: String,
    /// The voltage at the servo.
    pub volts: Volts,
    /// The current of one.
    pub amps: Amps,
    /// How many there are.
    pub count: u32,
    /// What the leads of all of them turn to heat.
    pub lost: Watts,
}

/// Where the power goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Balance {
    /// Out of the packs' electromotive forces.
    pub out: Watts,
    /// Into receiver, servos and motors.
    pub loads: Watts,
    /// Into the motors, of that.
    pub motors: Watts,
    /// Turned to heat on the way.
    pub lost: Watts,
}

/// How long the packs last.
#[derive(Clone, Debug, PartialEq)]
pub struct Endurance {
    /// The answer in one sentence.
    pub sentence: String,
    /// The average current on the bus.
    pub average: Option<Amps>,
    /// Its root mean square, for the heating of wires.
    pub rms: Option<Amps>,
    /// The average out of all packs, the motors' too.
    pub from_packs: Option<Amps>,
    /// Minutes with all packs, down to the reserve; with a motor, until its pack is down to it.
    pub minutes: Option<Minutes>,
    /// What is to be said with the minutes: `flying`, where a motor is reckoned; `without a motor`, where
    /// there may be one that isn't written down.
    pub with: Option<&'static str>,
    /// Minutes on one pack alone, by its name, where there are two.
    pub alone: Vec<(String, Option<Minutes>)>,
}

/// A change and what it does.
#[derive(Clone, Debug, PartialEq)]
pub struct Help {
    /// What to change.
    pub text: String,
    /// At the receiver at rest, packs low.
    pub rest: Change,
    /// In the hard manoeuvre, packs low.
    pub hard: Change,
    /// With all stalled, packs low.
    pub stall: Change,
    /// Minutes before and after, where they are known.
    pub minutes: Option<(Minutes, Minutes)>,
}

/// The voltage at the receiver before and after a change; `None` is a collapse.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// As it is.
    pub before: Option<Volts>,
    /// As it would be.
    pub after: Option<Volts>,
}

impl Change {
    /// By how much it rises, where there is a voltage both times.
    pub fn gain(self) -> Option<Volts> {
        Some(self.after? - self.before?)
    }
}

/// What a capacitor across the receiver's supply can do.
#[derive(Clone, Debug, PartialEq)]
pub struct Capacitor {
    /// What would carry the hard manoeuvre's current for ten milliseconds.
    pub farads: Option<Farads>,
    /// The answer in words.
    pub text: String,
}
