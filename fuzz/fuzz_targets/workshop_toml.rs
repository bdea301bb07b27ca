//! No text brings the reader of workshop files down.
#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let read = intake::toml::read("fuzz.toml", text);
    assert!(read.inventory.units.iter().all(|unit| unit.item < read.inventory.items.len()));
});
