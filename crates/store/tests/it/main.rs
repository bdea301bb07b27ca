//! The logbook, as its callers see it: nothing lost, everything checked.
#![cfg(unix)]

mod backup;
mod chain;
mod crash;
mod erase;
mod keys;
mod lines;
mod load;
mod merge;
mod trouble;
mod workshop;
