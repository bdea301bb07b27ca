//! Refits: the list, planning one, its preview, where it stands, the print-out for the bench.

pub mod clash;
mod evenings;
mod flights;
pub mod job;
pub mod list;
pub mod paper;
mod parts;
pub mod preview;
pub mod standing;
pub mod start;

pub use clash::Why;
pub use list::{Ended, Open, Refits};
pub use standing::Follow;
pub use start::Start;
