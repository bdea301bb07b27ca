//! A logbook as JSON Lines: one header line, then files and entries, one a line.
//!
//! ```json
//! {"holdfast_logbook":1}
//! {"file":"<sha256>","text":"…"}
//! {"head":{…},"body":{…}}
//! {"head":{…},"body":null}
//! ```
//!
//! Heads and bodies stand there to the exact byte. An erased body is `null`. A file
//! whose bytes are not UTF-8 has `base64` in place of `text`.

use std::borrow::Cow;
use std::fmt::Write as _;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use register::id::Digest;
use serde::Deserialize;
use serde_json::value::RawValue;

use crate::head::{BadHead, Head};
use crate::{digest, push_text};

/// The version of this format.
pub const FORMAT: u32 = 1;

/// The longest line a reader takes, in bytes.
pub const LONGEST_LINE: usize = 64 << 20;

/// The first line of a logbook, without its line end.
pub fn header_line() -> String {
    format!(r#"{{"holdfast_logbook":{FORMAT}}}"#)
}

/// The line of an entry, without its line end; `body` is nothing when it was erased.
pub fn entry_line(head: &str, body: Option<&str>) -> String {
    format!(r#"{{"head":{head},"body":{}}}"#, body.unwrap_or("null"))
}

/// The line of a file, without its line end.
pub fn file_line(bytes: &[u8]) -> String {
    let mut out = String::with_capacity(bytes.len() + 96);
    write!(out, r#"{{"file":"{}","#, digest(bytes)).expect("writing to a string can't fail");
    if let Ok(text) = std::str::from_utf8(bytes) {
        out.push_str(r#""text":"#);
        push_text(&mut out, text);
    } else {
        out.push_str(r#""base64":"#);
        push_text(&mut out, &STANDARD.encode(bytes));
    }
    out.push('}');
    out
}

/// One line, read and checked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Line<'a> {
    /// The first line.
    Header,
    /// A file, its bytes matching its digest.
    File {
        /// Its name.
        digest: Digest,
        /// Its bytes.
        bytes: Vec<u8>,
    },
    /// An entry, its body matching the head's digest.
    Entry {
        /// The head, read.
        head: Box<Head>,
        /// The head's exact text.
        head_text: &'a str,
        /// The body's exact text; nothing when it was erased.
        body: Option<&'a str>,
    },
}

/// Why a line can't be taken. Never quotes the line.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LineFault {
    /// Longer than [`LONGEST_LINE`].
    #[error("the line is longer than {} bytes", LONGEST_LINE)]
    TooLong,
    /// Not UTF-8.
    #[error("the line is not UTF-8 text (byte {at})")]
    NotText {
        /// The first byte that isn't, counted from 1.
        at: usize,
    },
    /// Not a header, a file or an entry.
    #[error("the line is not a header, a file or an entry (column {column})")]
    NotALine {
        /// Where reading stopped.
        column: usize,
    },
    /// Written in a later form of this format.
    #[error("the logbook is written in form {0}, this program reads form {FORMAT}; update the program")]
    NewerFormat(u32),
    /// The first line is something else.
    #[error("the first line is not {}", header_line())]
    NoHeader,
    /// The header stands again further down.
    #[error("a second header")]
    SecondHeader,
    /// The head can't be read.
    #[error(transparent)]
    Head(#[from] BadHead),
    /// The body was changed after it was written.
    #[error("the body does not match the digest in its head")]
    Body,
    /// The file's bytes are not those its name promises.
    #[error("the file's bytes do not match its digest")]
    File,
    /// The digest or the base64 of a file can't be read.
    #[error("the file's `{0}` can't be read")]
    FileKey(&'static str),
}

#[derive(Deserialize)]
struct AnyLine<'a> {
    holdfast_logbook: Option<u32>,
    #[serde(borrow)]
    file: Option<Cow<'a, str>>,
    text: Option<String>,
    #[serde(borrow)]
    base64: Option<Cow<'a, str>>,
    #[serde(borrow)]
    head: Option<&'a RawValue>,
    // `null` must be told from nothing at all.
    #[serde(borrow, default, deserialize_with = "present")]
    body: Option<&'a RawValue>,
}

fn present<'de, D: serde::Deserializer<'de>>(deserializer: D) -> Result<Option<&'de RawValue>, D::Error> {
    <&RawValue>::deserialize(deserializer).map(Some)
}

/// Reads one line, without its line end.
///
/// # Errors
/// It is no line of a logbook, or its digests don't match.
pub fn read(line: &[u8]) -> Result<Line<'_>, LineFault> {
    if line.len() > LONGEST_LINE {
        return Err(LineFault::TooLong);
    }
    let text =
        std::str::from_utf8(line).map_err(|error| LineFault::NotText { at: error.valid_up_to() + 1 })?;
    let any: AnyLine<'_> =
        serde_json::from_str(text).map_err(|error| LineFault::NotALine { column: error.column() })?;
    match any {
        AnyLine { holdfast_logbook: Some(FORMAT), file: None, head: None, .. } => Ok(Line::Header),
        AnyLine { holdfast_logbook: Some(form), file: None, head: None, .. } => {
            Err(LineFault::NewerFormat(form))
        }
        AnyLine { holdfast_logbook: None, file: Some(name), text, base64, head: None, .. } => {
            read_file(&name, text, base64.as_deref())
        }
        AnyLine { holdfast_logbook: None, file: None, head: Some(head), body: Some(body), .. } => {
            read_entry(head.get(), body.get())
        }
        _ => Err(LineFault::NotALine { column: 0 }),
    }
}

fn read_file<'a>(name: &str, text: Option<String>, base64: Option<&str>) -> Result<Line<'a>, LineFault> {
    let name: Digest = name.parse().map_err(|_| LineFault::FileKey("file"))?;
    let bytes = match (text, base64) {
        (Some(text), None) => text.into_bytes(),
        (None, Some(base64)) => STANDARD.decode(base64).map_err(|_| LineFault::FileKey("base64"))?,
        _ => return Err(LineFault::FileKey("text")),
    };
    if digest(&bytes) != name {
        return Err(LineFault::File);
    }
    Ok(Line::File { digest: name, bytes })
}

fn read_entry<'a>(head_text: &'a str, body: &'a str) -> Result<Line<'a>, LineFault> {
    let head = Box::new(Head::decode(head_text)?);
    let body = (body != "null").then_some(body);
    if body.is_some_and(|body| digest(body.as_bytes()) != head.body) {
        return Err(LineFault::Body);
    }
    Ok(Line::Entry { head, head_text, body })
}
