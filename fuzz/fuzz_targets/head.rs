//! No text brings the reader of heads down, and what it understands it writes again.
#![no_main]

use libfuzzer_sys::fuzz_target;
use wire::head::Head;

fuzz_target!(|text: &str| {
    if let Ok(head) = Head::decode(text) {
        assert_eq!(Head::decode(&head.encode()), Ok(head));
    }
});
