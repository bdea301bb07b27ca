//! The supply: whether the receiver keeps its voltage while the servos work.
//!
//! Packs, leads, regulators, receiver and servos are read from a short text ([`SCHEMA`]). Each load
//! is solved as a circuit: an electromotive force behind the cells' resistance, a motor's constant
//! current at the pack's terminals (full throttle in every load but at rest), leads, a regulator,
//! and servos whose stall and moving currents rise with the voltage. The answer says where the
//! voltage goes, or that there is no operating point at all ([`Outcome::Collapse`]) — never a number
//! for a load that the supply can't carry.
//!
//! Steady states only: the first milliseconds of a step, a cable's inductance and a regulator's
//! loop are not in it. Figures taken by practice are for planning; a measurement at the receiver,
//! all sticks stirred and surfaces loaded, prevails.

mod answer;
mod branch;
mod cases;
mod circuit;
mod data;
mod endurance;
mod findings;
mod helps;
mod model;
mod read;
pub mod rules;
mod schema;

pub use answer::{
    Answer, AtRegulator, AtServo, Balance, Capacitor, Case, Change, Endurance, Feed, Help, Load, Outcome,
    Point, Regulation, Stage,
};
pub use data::{Chemistry, Class, chemistries, classes, rating};
pub use findings::limits;
pub use model::{
    Charge, Doing, Join, KelvinPerWatt, Kind, Manoeuvre, Motor, Pack, Receiver, Regulator, Servo, Supply,
    Throttle, Wire,
};
pub use schema::SCHEMA;

/// Reckons a supply: every load at every charge, how long it lasts, what was found and what helps.
pub fn solve(supply: &Supply) -> Answer {
    let cases = supply.cases();
    let endurance = supply.endurance();
    let found = findings::find(supply, &cases, &endurance);
    let mut answer = Answer {
        sentence: String::new(),
        findings: found,
        cases,
        endurance,
        helps: supply.helps(),
        capacitor: supply.capacitor(),
        taken: supply.taken.clone(),
    };
    answer.sentence = findings::sentence(&answer);
    answer
}
