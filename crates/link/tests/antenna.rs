//! Antennas, polarisation and attitude: check values, laws, and a simulation with its own
//! geometry.
#![expect(clippy::unwrap_used, reason = "a test that can't go on stops")]

#[path = "antenna/values.rs"]
mod values;

#[path = "antenna/attitude.rs"]
mod attitude;

#[path = "antenna/mismatch.rs"]
mod mismatch;

#[path = "antenna/laws.rs"]
mod laws;

use link::antenna::Kind;
use link::attitude::{GroundAntenna, Pointing};
use link::ground::Polarisation;
use units::Db;

/// An antenna on the ground, held as it should be.
fn ground(kind: Kind) -> GroundAntenna {
    GroundAntenna {
        kind,
        polarisation: Polarisation::Vertical,
        pointing: Pointing::Right,
        feed_loss: Db::ZERO,
    }
}

/// Stops with every wrong row, or when no row ran.
fn verdict(rows: usize, wrong: &[String]) {
    assert!(rows > 0, "no row ran");
    assert!(wrong.is_empty(), "{} of {rows} wrong:\n{}", wrong.len(), wrong.join("\n"));
}
