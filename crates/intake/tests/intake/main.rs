//! Lists and workshop files, read, planned, written into a register and written out.

mod again;
mod awkward;
mod canary;
mod round_trip;
mod support;
mod workshop_file;
