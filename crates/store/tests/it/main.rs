//! The logbook, as its callers see it: nothing lost, everything checked.
#![cfg(unix)]
#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails, in its helpers too")]

mod backup;
mod chain;
mod crash;
mod erase;
mod keys;
mod lines;
mod load;
mod merge;
mod reference;
mod trouble;
mod workshop;
