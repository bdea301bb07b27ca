//! No line brings the reader of logbooks down, and what it takes it writes again.
#![no_main]

use libfuzzer_sys::fuzz_target;
use wire::lines::{Line, entry_line, file_line, header_line, read};

fuzz_target!(|line: &[u8]| {
    let Ok(taken) = read(line) else { return };
    let again = match &taken {
        Line::Header => header_line(),
        Line::File { bytes, .. } => file_line(bytes),
        Line::Entry { head_text, body, .. } => entry_line(head_text, *body),
    };
    assert_eq!(read(again.as_bytes()), Ok(taken));
});
