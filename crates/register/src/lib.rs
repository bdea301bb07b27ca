//! The engine: what a logbook adds up to, and what follows from it.
//!
//! Pure: no file, no clock, no thread, no screen. Time, ids and family files are
//! arguments. An [`entry::Body`] per logbook entry goes in, a [`register::Register`]
//! comes out; every other answer (verdicts, mends, model IDs, spares, today's list)
//! is a function of the register and a moment.

pub mod check;
pub mod desk;
pub mod effect;
pub mod entry;
pub mod family;
pub mod field;
pub mod fit;
pub mod fleet;
pub mod id;
pub mod ids;
pub mod mend;
pub mod minutes;
pub mod plan;
pub mod radio;
pub mod refit;
pub mod register;
pub mod rule;
pub mod scene;
pub mod spares;
pub mod tally;
pub mod time;
pub mod today;
pub mod trail;
pub mod value;
pub mod verdict;
pub mod view;
