//! The values that readings carry.

use crate::id::DeviceId;

/// A value, as a reading states it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Value {
    /// Known to be unknown: an earlier reading no longer holds.
    Unknown,
    /// Words, a version, a band, a name.
    Text(String),
    /// A model ID.
    Number(u32),
    /// The model-ID check is switched off.
    Off,
    /// There is none (a receiver in no aircraft, a memory for no aircraft).
    None,
    /// A link secret, never readable back.
    Secret(SecretMark),
    /// Another device.
    Device(DeviceId),
    /// The transmitter ends a receiver remembers.
    Partners(Partners),
}

/// What the workshop keeps of a link secret.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SecretMark {
    /// Seen to be empty.
    Blank,
    /// A keyed fingerprint. Under equal keys equal secrets have equal prints; under
    /// different keys nothing can be said.
    Print {
        /// Which key made the print.
        key: u64,
        /// HMAC-SHA-256 of the secret under that key, first 16 bytes.
        print: u128,
    },
    /// The same as that end's.
    SameAs(EndRef),
}

/// One end of one device.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct EndRef {
    /// The device.
    pub device: DeviceId,
    /// The end's key within it.
    pub end: String,
}

/// Which transmitter ends a receiver end remembers.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Partners {
    /// The ends known to be remembered, oldest first.
    pub ends: Vec<EndRef>,
    /// Whether these are all of them.
    pub all: bool,
}
