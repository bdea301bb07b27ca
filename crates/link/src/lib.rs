//! Physics and law of one radio link: how strong, how often, how quick, how legal.
//!
//! Every formula names its source. Levels are [`units::Dbm`], ratios [`units::Db`]. What
//! lies outside the range in which a formula holds is refused by name and range
//! ([`bounds::OutOfRange`]), or the answer says that it is extrapolated.

pub mod adviser;
pub mod aerial;
pub mod antenna;
pub mod atmosphere;
pub mod attitude;
pub mod bounds;
pub mod calc;
pub mod css;
pub mod diffraction;
pub mod error_rate;
pub mod fading;
pub mod failsafe;
pub mod free_space;
pub mod fsk;
pub mod geodesy;
pub mod ground;
pub mod hopping;
pub mod horizon;
pub mod latency;
pub mod law;
pub mod mismatch;
pub mod mode;
pub mod noise;
pub mod path;
pub mod profile;
pub mod sheet;
pub mod sight;
pub mod silicon;
pub mod telemetry;
pub mod vegetation;
pub mod wire;
pub mod wish;
