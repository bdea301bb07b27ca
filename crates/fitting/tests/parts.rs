//! The texts of all four parts: what is written is read again, what is nonsense is told, and
//! docs/fit-file.md says what the schemas say.
#![expect(clippy::unwrap_used, reason = "a test that can't go on stops")]

#[path = "parts/docs.rs"]
mod docs;

#[path = "parts/told.rs"]
mod told;

#[path = "parts/turns.rs"]
mod turns;

use fitting::antennas::Antennas;
use fitting::failsafe::Failsafe;
use fitting::outputs::Outputs;
use fitting::part::{self, Filled, Problem, Schema};
use fitting::supply::Supply;
use register::fit::Part;

/// Each schema.
fn schemas() -> Vec<&'static Schema> {
    Part::ALL.iter().map(|part| part::schema(*part)).collect()
}

/// What the part's own module makes of it: nothing, or its problems.
fn typed(part: Part, origin: &str, filled: &Filled) -> Result<(), Vec<Problem>> {
    match part {
        Part::Outputs => Outputs::of(origin, filled).map(drop),
        Part::Supply => Supply::of(origin, filled).map(drop),
        Part::Failsafe => Failsafe::of(origin, filled).map(drop),
        Part::Antennas => Antennas::of(origin, filled).map(drop),
    }
}
