//! What a link sheet says.

use units::{Db, Dbm, Metres, Seconds};

use crate::latency::Latency;
use crate::law::{Judgement, Standing};
use crate::path::PathLoss;
use crate::telemetry::Fit;

/// Which way a packet goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Way {
    /// From the transmitter to the aircraft.
    Control,
    /// From the aircraft to the transmitter.
    Telemetry,
}

impl Way {
    /// The word in JSON and on pages.
    pub fn word(self) -> &'static str {
        match self {
            Way::Control => "control",
            Way::Telemetry => "telemetry",
        }
    }
}

/// One link, both ways.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// Transmitter to aircraft.
    pub control: Direction,
    /// Aircraft to transmitter; none when the mode has no telemetry or the receiver's power
    /// isn't known.
    pub telemetry: Option<Direction>,
    /// Whether control holds at the wanted distance with the wanted probability.
    pub holds: bool,
    /// Whether the latency asked for is kept; none where none was asked for.
    pub in_time: Option<bool>,
    /// The worse of what the limits say of both ways; none without a region.
    pub standing: Option<Standing>,
    /// Formulas of the figures beside the staircase, with their inputs.
    pub formulas: Vec<Named>,
    /// Which way fails first.
    pub limiting: Limiting,
    /// The way at the wanted distance.
    pub path: PathLoss,
    /// Margin and probability against distance.
    pub curve: Vec<Point>,
    /// What a little more of something buys.
    pub gains: Vec<Gain>,
    /// Stick to servo, at the wanted distance.
    pub latency: Latency,
    /// The share of slots at the wanted distance whose packet is lost.
    pub lost: f64,
    /// The part of it that other transmitters take.
    pub lost_to_others: f64,
    /// Chance of a failsafe at the wanted distance.
    pub failsafe: Option<FailsafeChance>,
    /// How the sensors fit; none without sensors or telemetry.
    pub telemetry_fit: Option<Fit>,
    /// What the limits of the region say; none when no region is chosen.
    pub law: Option<Judgement>,
    /// The same for what the aircraft sends.
    pub telemetry_law: Option<Judgement>,
    /// What lies beyond sight, height or horizon.
    pub warnings: Vec<Warning>,
    /// What was taken to be so.
    pub assumptions: Vec<Assumption>,
}

/// One way of a link, at the wanted distance.
#[derive(Clone, Debug, PartialEq)]
pub struct Direction {
    /// Which.
    pub way: Way,
    /// From the power down to what is left over the needed level.
    pub stairs: Vec<Stair>,
    /// What both antennas come to over the attitudes.
    pub antennas: Antennas,
    /// The level at the receiver in the middling attitude.
    pub received: Dbm,
    /// The level at which one packet in a hundred is lost, with the noise of the site.
    pub sensitivity: Dbm,
    /// [`Direction::received`] over [`Direction::sensitivity`].
    pub margin: Db,
    /// The margin that fading and the asked link quality need.
    pub needed: Option<Db>,
    /// The probability of a spell whose link quality is reached.
    pub probability: f64,
    /// Whether that is the wanted one or more.
    pub holds: bool,
    /// The share of packets that arrive, over all spells.
    pub delivery: f64,
    /// How far it reaches.
    pub reach: Reach,
}

/// What both antennas come to over the attitudes of the manoeuvre: gains less what their
/// fields, the airframe's shadow and the cables take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Antennas {
    /// The mean of the power.
    pub expected: Db,
    /// Half of the attitudes are better.
    pub middling: Db,
    /// 19 of 20 attitudes are better.
    pub worst_of_20: Db,
    /// The worst of all that were reckoned (one in 64).
    pub worst: Db,
}

/// One step of the staircase.
#[derive(Clone, Debug, PartialEq)]
pub struct Stair {
    /// Of what sort.
    pub kind: StairKind,
    /// What it is, in a few words.
    pub says: &'static str,
    /// What it adds (or takes away).
    pub change: Db,
    /// The level after it.
    pub level: Dbm,
    /// The formula it comes from, by its name in [`crate::calc`]; empty for a given value.
    pub formula: &'static str,
    /// What went into it.
    pub inputs: String,
}

/// What sort of step it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StairKind {
    /// The power to begin with.
    Power,
    /// An antenna.
    Antenna,
    /// A loss on the way.
    Way,
    /// What is set aside for what moves.
    Allowance,
}

impl StairKind {
    /// The word in JSON.
    pub fn word(self) -> &'static str {
        match self {
            StairKind::Power => "power",
            StairKind::Antenna => "antenna",
            StairKind::Way => "way",
            StairKind::Allowance => "allowance",
        }
    }
}

/// A figure's formula, with its inputs.
#[derive(Clone, Debug, PartialEq)]
pub struct Named {
    /// Of what figure.
    pub what: &'static str,
    /// The formula, by its name in [`crate::calc`].
    pub formula: &'static str,
    /// Its inputs, as `key=value` words.
    pub inputs: String,
}

/// How far a direction reaches with the wanted probability.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reach {
    /// The distance up to which the probability is always reached; none when not even at
    /// [`NEAREST`].
    pub distance: Option<Metres>,
    /// The same if everything that isn't known is against it (one in twenty).
    pub low: Option<Metres>,
    /// The same if everything that isn't known is for it (one in twenty).
    pub high: Option<Metres>,
    /// The probability it was asked for.
    pub probability: f64,
    /// Whether it goes on beyond the farthest distance that was looked at.
    pub beyond: bool,
}

/// The nearest distance that is looked at.
pub const NEAREST: Metres = Metres(10.0);

/// The farthest distance that is looked at.
pub const FARTHEST: Metres = Metres(100_000.0);

/// Which way fails first as the aircraft flies out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limiting {
    /// The one way.
    Way(Way),
    /// Both at one distance, or both beyond what was looked at.
    Both,
    /// Only control is known.
    OnlyControl,
}

/// One distance of the curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// How far.
    pub distance: Metres,
    /// Control: the middling margin.
    pub margin: Db,
    /// Control: the margin that 19 of 20 spells exceed.
    pub margin_low: Db,
    /// Control: the margin that 1 of 20 spells exceeds.
    pub margin_high: Db,
    /// Control: probability that the link quality is reached.
    pub probability: f64,
    /// Telemetry: the middling margin.
    pub telemetry_margin: Option<Db>,
    /// Telemetry: probability that the link quality is reached.
    pub telemetry_probability: Option<f64>,
}

/// What a little more of something buys.
#[derive(Clone, Debug, PartialEq)]
pub struct Gain {
    /// Of what: `1 dB more`, or a mode's name.
    pub of: String,
    /// The reach with it.
    pub distance: Option<Metres>,
    /// That over the reach without, less one: 0.12 for 12 % farther.
    pub farther: Option<f64>,
    /// Median latency with it.
    pub latency: Seconds,
}

/// The chance of a failsafe in ten minutes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FailsafeChance {
    /// The receiver's time-out.
    pub after: Seconds,
    /// The chance in [`super::FAILSAFE_SPAN`], staying at the wanted distance.
    pub chance: f64,
    /// How much of its rate comes from fading within metres; the rest from spells of bad
    /// attitude and shadow.
    pub from_fading: f64,
}

/// Something that a distance on the sheet runs into.
#[derive(Clone, Debug, PartialEq)]
pub struct Warning {
    /// In words.
    pub text: String,
    /// Where that stands.
    pub source: String,
}

/// Something taken to be so.
#[derive(Clone, Debug, PartialEq)]
pub struct Assumption {
    /// What.
    pub what: &'static str,
    /// The value, in words.
    pub value: String,
    /// Why that.
    pub why: String,
}
