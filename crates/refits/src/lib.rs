//! Refits: firmware and settings changed across a fleet, in evenings, without stranding an
//! aircraft.
//!
//! Pure, as every engine crate: a register, wishes and a moment go in, a plan comes out.

pub mod ask;
pub mod bench;
pub mod conflict;
pub mod follow;
pub mod layout;
pub mod planner;
pub mod problem;
pub mod release;
pub mod search;
pub mod step;
pub mod tables;
pub mod words;
pub mod world;

/// Hundredths of a minute as minutes.
pub(crate) fn minutes(hundredths: i64) -> units::Minutes {
    #[expect(clippy::cast_precision_loss, reason = "minutes of some evenings")]
    units::Minutes(hundredths as f64 / 100.0)
}
