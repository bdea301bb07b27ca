//! Commissioning: the list of an aircraft, the four parts of its fit, cards and labels.

pub mod antennas;
mod area;
mod block;
mod course;
pub mod failsafe;
pub mod fleet;
mod inputs;
pub mod labels;
mod line;
pub mod list;
pub mod outputs;
pub mod paper;
pub mod part;
mod place;
mod plan;
mod proof;
pub mod section;
mod staircase;
pub mod supply;
pub mod table;
mod wiring;
pub mod work;

pub use inputs::{FORM, ROW, after_row, tidied};
