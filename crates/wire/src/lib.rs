//! Entries and answers as JSON, to the exact byte.
//!
//! A logbook's chain is made of hashes over exact texts: of each entry's head, and of
//! its body. So texts are made once, by [`body::encode`] and [`head::Head::encode`],
//! and then only carried around. Pure: no file, no clock, no chance (salts are
//! arguments).

pub mod answers;
pub mod body;
pub mod head;
pub mod lines;

use register::id::Digest;
use sha2::{Digest as _, Sha256};

/// The SHA-256 of exact bytes.
pub fn digest(bytes: &[u8]) -> Digest {
    Digest(Sha256::digest(bytes).into())
}

/// Writes `text` as a JSON string.
fn push_text(out: &mut String, text: &str) {
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\r' => out.push_str("\\r"),
            '\t' => out.push_str("\\t"),
            // Line ends to some readers, so never bare in a one-line text.
            '\u{2028}' | '\u{2029}' => push_escape(out, c),
            _ if c.is_control() => push_escape(out, c),
            _ => out.push(c),
        }
    }
    out.push('"');
}

fn push_escape(out: &mut String, c: char) {
    const HEX: &[u8; 16] = b"0123456789abcdef";
    out.push_str("\\u");
    for shift in [12, 8, 4, 0] {
        out.push(char::from(HEX[(u32::from(c) >> shift) as usize & 15]));
    }
}
