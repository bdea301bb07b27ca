//! No text brings the readers of family files and of added releases down, and what they take
//! they write again.
#![no_main]

use libfuzzer_sys::fuzz_target;
use register::family::read::{read, read_releases};
use register::family::write::{write, write_releases};

fuzz_target!(|text: &str| {
    match read("fuzz.toml", text) {
        Ok(family) => assert_eq!(read("again.toml", &write(&family)).as_ref(), Ok(&family)),
        Err(problems) => assert!(!problems.is_empty()),
    }
    match read_releases("fuzz.toml", text) {
        Ok(more) => assert_eq!(read_releases("again.toml", &write_releases(&more)).as_ref(), Ok(&more)),
        Err(problems) => assert!(!problems.is_empty()),
    }
});
