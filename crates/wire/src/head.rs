//! The head of an entry: everything but what it says, as one line of JSON.

use register::entry::Stamp;
use register::id::{DeviceId, Digest, EntryId, ReplicaId};
use register::time::{Clock, Moment};
use serde::Deserialize;
use std::borrow::Cow;
use std::fmt::Write as _;
use std::str::FromStr;

use crate::push_text;

/// The largest sequence number and clock: databases count with a sign.
const LARGEST: u64 = i64::MAX.cast_unsigned();

/// The head of an entry. Its hash ([`crate::digest`] of the exact text) is what the
/// replica's next entry names.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Head {
    /// Name, order, times and subject.
    pub stamp: Stamp,
    /// Its place in its replica's chain; the first is 1.
    pub seq: u64,
    /// The hash of the replica's entry before it; all zero for the first.
    pub prev: Digest,
    /// Who wrote it.
    pub author: String,
    /// The body's kind.
    pub kind: String,
    /// The kind's version.
    pub version: u32,
    /// The digest of the body's exact text, which stays when the body is erased.
    pub body: Digest,
}

/// A text is not the head of an entry.
///
/// Says what is wrong, never what the text was.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BadHead {
    /// Not JSON, or keys are missing or of the wrong sort.
    #[error("the head is not a JSON object with all the keys of a head (column {column})")]
    Json {
        /// Where reading stopped.
        column: usize,
    },
    /// One key's value can't be read.
    #[error("the head's `{key}` can't be read")]
    Key {
        /// Which key.
        key: &'static str,
    },
}

#[derive(Deserialize)]
struct HeadText<'a> {
    #[serde(borrow)]
    id: Cow<'a, str>,
    #[serde(borrow)]
    replica: Cow<'a, str>,
    seq: u64,
    #[serde(borrow)]
    prev: Cow<'a, str>,
    seen_ms: i64,
    recorded_ms: i64,
    #[serde(borrow)]
    clock: Cow<'a, str>,
    author: String,
    #[serde(borrow)]
    subject: Cow<'a, str>,
    kind: String,
    version: u32,
    #[serde(borrow)]
    body_sha256: Cow<'a, str>,
}

impl Head {
    /// One line of JSON, keys in a fixed order. The clock is sixteen hexadecimal
    /// digits, since its numbers are beyond what some JSON readers keep exactly.
    pub fn encode(&self) -> String {
        let mut out = String::with_capacity(480);
        let Stamp { id, replica, clock, seen, recorded, subject } = self.stamp;
        let (seq, prev) = (self.seq, self.prev);
        write!(
            out,
            r#"{{"id":"{id}","replica":"{replica}","seq":{seq},"prev":"{prev}","seen_ms":{},"recorded_ms":{},"clock":"{:016x}","author":"#,
            seen.0, recorded.0, clock.0
        )
        .expect("writing to a string can't fail");
        push_text(&mut out, &self.author);
        write!(out, r#","subject":"{subject}","kind":"#).expect("writing to a string can't fail");
        push_text(&mut out, &self.kind);
        write!(out, r#","version":{},"body_sha256":"{}"}}"#, self.version, self.body)
            .expect("writing to a string can't fail");
        out
    }

    /// Reads a head; keys it doesn't know are passed over.
    ///
    /// # Errors
    /// The text is not JSON, or a key is missing or can't be read.
    pub fn decode(text: &str) -> Result<Head, BadHead> {
        let read: HeadText<'_> =
            serde_json::from_str(text).map_err(|error| BadHead::Json { column: error.column() })?;
        if read.seq == 0 || read.seq > LARGEST {
            return Err(BadHead::Key { key: "seq" });
        }
        Ok(Head {
            stamp: Stamp {
                id: word::<EntryId>("id", &read.id)?,
                replica: word::<ReplicaId>("replica", &read.replica)?,
                clock: clock(&read.clock)?,
                seen: Moment(read.seen_ms),
                recorded: Moment(read.recorded_ms),
                subject: word::<DeviceId>("subject", &read.subject)?,
            },
            seq: read.seq,
            prev: word("prev", &read.prev)?,
            author: read.author,
            kind: read.kind,
            version: read.version,
            body: word("body_sha256", &read.body_sha256)?,
        })
    }
}

fn word<T: FromStr>(key: &'static str, text: &str) -> Result<T, BadHead> {
    text.parse().map_err(|_| BadHead::Key { key })
}

fn clock(text: &str) -> Result<Clock, BadHead> {
    if text.len() != 16 || !text.bytes().all(|byte| byte.is_ascii_hexdigit()) {
        return Err(BadHead::Key { key: "clock" });
    }
    match u64::from_str_radix(text, 16) {
        Ok(clock @ 0..=LARGEST) => Ok(Clock(clock)),
        _ => Err(BadHead::Key { key: "clock" }),
    }
}
