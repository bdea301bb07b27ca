//! What can be typed behind `commission`.

use clap::{Args as ClapArgs, Subcommand, ValueEnum};

/// `commission`.
#[derive(Debug, ClapArgs)]
pub struct Commission {
    /// What to do; every aircraft is listed when left out.
    #[command(subcommand)]
    pub what: Option<What>,
}

/// What to do about commissioning.
#[derive(Debug, Subcommand)]
pub enum What {
    /// Show an aircraft's list: what was checked, what lapsed and by what, what was not checked
    Show(Show),
    /// Print the steps of a proof, cautions with each
    Steps(Steps),
    /// Write down that a proof was tried, and how it went
    Prove(Prove),
    /// Note work on a device, or what befell it, and say which proofs that lapses
    Did(Did),
    /// Put your name under what is checked and what is not
    Sign(Sign),
    /// Print the table: what lapses which proofs, why, and where that comes from
    Table,
    /// List every aircraft with the first thing to do
    Fleet,
}

/// `commission show`.
#[derive(Debug, ClapArgs)]
pub struct Show {
    /// The aircraft's code, name or id
    pub aircraft: String,
    /// With which transmitter [default: the first that is meant to fly it]
    #[arg(long, value_name = "TX")]
    pub transmitter: Option<String>,
}

/// `commission steps`.
#[derive(Debug, ClapArgs)]
pub struct Steps {
    /// The aircraft's code, name or id
    pub aircraft: String,
    /// The proof
    pub proof: Proof,
}

/// `commission prove`.
#[derive(Debug, ClapArgs)]
#[command(after_help = "\
  holdfast commission prove A1 range held distance_m=45 reduction_db=20 motor_distance_m=42
  holdfast commission prove A1 failsafe failed --note 'the rudder kept its place'")]
pub struct Prove {
    /// The aircraft's code, name or id
    pub aircraft: String,
    /// The proof
    pub proof: Proof,
    /// How it went
    pub went: Went,
    /// What was measured; `commission steps` names the figures of a proof
    #[arg(value_name = "KEY=VALUE")]
    pub measured: Vec<String>,
    /// With which transmitter [default: the first that is meant to fly it]
    #[arg(long, value_name = "TX")]
    pub transmitter: Option<String>,
    /// A step that was carried out, by its key [default: all, where it held]
    #[arg(long = "step", value_name = "KEY")]
    pub steps: Vec<String>,
    /// Words about it
    #[arg(long, value_name = "WORDS")]
    pub note: Option<String>,
    /// When [default: now]
    #[arg(long, value_name = "DATE")]
    pub seen: Option<String>,
}

/// `commission did`.
#[derive(Debug, ClapArgs)]
#[command(after_help = WORK)]
pub struct Did {
    /// A device's code, name or id, then the work; for the whole workshop only `flying-day`
    #[arg(value_name = "DEVICE WORK", num_args = 1..=2, required = true)]
    pub words: Vec<String>,
    /// Words about it
    #[arg(long, value_name = "WORDS")]
    pub note: Option<String>,
    /// When [default: now]
    #[arg(long, value_name = "DATE")]
    pub seen: Option<String>,
}

/// What can be noted, for help.
const WORK: &str = "\
On an aircraft: crash, hard-landing, antenna, motor, servo, pack, pack-place, wiring, flying-day.
On a receiver: crash, antenna, pack, wiring.
On a transmitter: crash, antenna, pack, rf-module, memory.

Flashes, pairings and receivers that come and go are in the logbook already. `commission table` says what lapses what.";

/// `commission sign`.
#[derive(Debug, ClapArgs)]
pub struct Sign {
    /// The aircraft's code, name or id
    pub aircraft: String,
    /// With which transmitter [default: the first that is meant to fly it]
    #[arg(long, value_name = "TX")]
    pub transmitter: Option<String>,
    /// Words about it
    #[arg(long, value_name = "WORDS")]
    pub note: Option<String>,
}

/// What is proven on the aircraft itself.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum Proof {
    /// Every control moves its surface the right way
    Directions,
    /// What happens without a transmitter
    Failsafe,
    /// The ground range check
    Range,
    /// The voltage at the receiver, at rest and with everything stirred
    Supply,
}

impl Proof {
    /// The engine's word for it.
    pub fn proof(self) -> register::fit::Proof {
        match self {
            Proof::Directions => register::fit::Proof::Directions,
            Proof::Failsafe => register::fit::Proof::Failsafe,
            Proof::Range => register::fit::Proof::Range,
            Proof::Supply => register::fit::Proof::Supply,
        }
    }
}

/// How a proof went.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Went {
    /// All of it held
    Held,
    /// Something did not hold
    Failed,
}
