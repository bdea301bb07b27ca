//! Workshop files: a whole register as TOML that a person can write and read.
//!
//! The schema is described in `docs/workshop-file.md`.

mod read;
mod table;
mod write;

pub use read::{Read, read};
pub use write::{write, write_with};

use std::fmt::Write as _;

/// The schema that this version reads and writes.
pub const SCHEMA: u32 = 1;

/// The largest file read, bytes.
pub const LARGEST_FILE_BYTES: usize = 64 << 20;

/// A text as a TOML basic string, on one line and without characters that would move
/// the text around it. Source: TOML 1.0.0, "String".
pub(crate) fn quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\r' => out.push_str("\\r"),
            '\t' => out.push_str("\\t"),
            c if c.is_control() || moves_text(c) => {
                // Writing to a string can't fail.
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

/// Marks that change the direction of the text after them, or can't be seen.
fn moves_text(c: char) -> bool {
    matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{feff}' | '\u{61c}')
}
