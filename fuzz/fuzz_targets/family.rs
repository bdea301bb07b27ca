//! No text brings the reader of family files down, and what it takes it writes again.
#![no_main]

use libfuzzer_sys::fuzz_target;
use register::family::{read::read, write::write};

fuzz_target!(|text: &str| {
    match read("fuzz.toml", text) {
        Ok(family) => assert_eq!(read("again.toml", &write(&family)).as_ref(), Ok(&family)),
        Err(problems) => assert!(!problems.is_empty()),
    }
});
