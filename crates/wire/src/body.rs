//! The body of an entry: what it says, as one line of JSON.
//!
//! The first key of every body is `salt`, sixteen random bytes. An erased body leaves
//! its digest behind, and without the salt a short body ("model ID 7") could be
//! guessed from it.

mod read;
mod write;

pub use read::decode;
pub use write::encode;

/// The version of every kind that this program writes.
pub const VERSION: u32 = 1;

/// The most bytes that the text of one part of an aircraft's fit may have.
pub const LONGEST_PART_TEXT: usize = 64 * 1024;

/// The most bytes that a note on a proof, on work or under a signature may have.
pub const LONGEST_FIT_NOTE: usize = 4 * 1024;

/// The most steps, measured values or items that a proof or a signature may hold.
pub const MOST_FIT_ITEMS: usize = 256;

/// The most bytes that the key of a step, a measured value or an item may have.
pub const LONGEST_FIT_KEY: usize = 128;

/// Whether a note and keys of a proof, of work or of a signature are within their bounds.
fn fits_bounds<'a>(note: &str, keys: impl Iterator<Item = &'a String>) -> bool {
    let mut room = MOST_FIT_ITEMS;
    for key in keys {
        if room == 0 || key.len() > LONGEST_FIT_KEY {
            return false;
        }
        room -= 1;
    }
    note.len() <= LONGEST_FIT_NOTE
}

/// A body ready to be stored.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Encoded {
    /// The kind's word in the head.
    pub kind: &'static str,
    /// The kind's version.
    pub version: u32,
    /// One line of JSON; the digest covers exactly these bytes.
    pub text: String,
}

/// The kinds' words.
mod kind {
    pub const DEVICE: &str = "device";
    pub const READING: &str = "reading";
    pub const PAIRED: &str = "paired";
    pub const FLASHED: &str = "flashed";
    pub const STRIKE: &str = "strike";
    pub const SAME_AS: &str = "same-as";
    pub const PARTED: &str = "parted";
    pub const FAMILY: &str = "family";
    pub const MAPPING: &str = "mapping";
    pub const SETTING: &str = "setting";
    pub const NOTE: &str = "note";
    pub const TRAIL: &str = "trail";
    pub const TRAIL_STEP: &str = "trail_step";
    pub const TRAIL_END: &str = "trail_end";
    pub const REFIT: &str = "refit";
    pub const REFIT_EVENT: &str = "refit_event";
    pub const FITTED: &str = "fitted";
    pub const PROVED: &str = "proved";
    pub const WORKED: &str = "worked";
    pub const SIGNED: &str = "signed";
}

/// The kinds that change how other entries are read; a reader of the logbook wants
/// them before all others.
pub const PRELUDE_KINDS: [&str; 3] = [kind::STRIKE, kind::SAME_AS, kind::PARTED];
