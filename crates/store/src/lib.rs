//! The logbook in SQLite.
//!
//! Only this crate knows SQL. A workshop is one file; its entries are appended, never
//! changed, and every replica's entries form a chain of hashes, so that copies of a
//! workshop can be merged and checked.

pub mod keys;

mod append;
mod backup;
mod chain;
mod decode;
mod erase;
mod error;
mod export;
mod import;
mod load;
mod merge;
mod open;
mod place;
mod row;
mod schema;
mod verify;

pub use append::{Draft, Written};
pub use backup::{Existing, Restored};
pub use chain::Problem;
pub use error::{BadLine, StoreError};
pub use load::{Extent, Record};
pub use merge::Outcome;
pub use open::Store;
pub use schema::SCHEMA;
pub use verify::Verification;
