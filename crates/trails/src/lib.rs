//! Fault trails: find out why a link won't pair, won't hold or won't obey, in the fewest
//! expected minutes.
//!
//! Pure: no file, no clock, no thread, no screen. A [`model::Model`] says what may be wrong
//! and what each check and mend costs and tells; [`belief`] weighs the causes by what was
//! seen; [`planner`] chooses the step with the least expected minutes to a proven link;
//! [`trail`] is one search on real gear, replayed from the logbook.

pub mod belief;
pub mod card;
pub mod classic;
mod dynamic;
pub mod evidence;
pub mod file;
pub mod fitted;
pub mod learn;
pub mod library;
mod lookahead;
pub mod model;
pub mod planner;
pub mod policy;
pub mod solve;
mod sound;
pub mod table;
pub mod trail;

#[cfg(test)]
extern crate self as trails; // so that unit tests share the model builder of tests/common
