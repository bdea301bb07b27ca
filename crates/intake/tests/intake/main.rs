//! Lists and workshop files, read, planned, written into a register and written out.

#![expect(
    clippy::unwrap_used,
    clippy::format_push_string,
    reason = "tests stop at once, and are not hurried"
)]

mod again;
mod awkward;
mod canary;
mod reference;
mod round_trip;
mod support;
mod workshop_file;
