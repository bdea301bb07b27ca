//! No text brings the reader of bodies down, and what it understands it writes again.
#![no_main]

use libfuzzer_sys::fuzz_target;
use wire::body::{decode, encode};

const KINDS: [&str; 20] = [
    "device",
    "reading",
    "paired",
    "flashed",
    "strike",
    "same-as",
    "parted",
    "family",
    "mapping",
    "setting",
    "note",
    "trail",
    "trail_step",
    "trail_end",
    "refit",
    "refit_event",
    "fitted",
    "proved",
    "worked",
    "signed",
];

fuzz_target!(|input: (u8, &str)| {
    let (kind, text) = input;
    let body = decode(KINDS[usize::from(kind) % KINDS.len()], 1, text);
    if let Some(encoded) = encode(&body, [0; 16]) {
        assert_eq!(decode(encoded.kind, encoded.version, &encoded.text), body);
    }
});
