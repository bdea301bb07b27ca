//! Names of entries, devices and replicas: 128-bit ids made by a door.

use std::fmt;
use std::str::FromStr;

use uuid::Uuid;

/// A text is not an id.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is not an id; an id has 32 hexadecimal digits in five groups")]
pub struct BadId(pub String);

macro_rules! id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub u128);

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                Uuid::from_u128(self.0).hyphenated().fmt(f)
            }
        }

        impl FromStr for $name {
            type Err = BadId;
            fn from_str(text: &str) -> Result<Self, BadId> {
                Uuid::try_parse(text)
                    .map(|id| $name(id.as_u128()))
                    .map_err(|_| BadId(text.chars().take(60).collect()))
            }
        }
    };
}

id! {
    /// One logbook entry (UUID version 7).
    EntryId
}
id! {
    /// One device: a transmitter, a receiver or an aircraft.
    DeviceId
}
id! {
    /// One copy of a workshop that writes: this laptop, a restored backup, a club
    /// mate's copy.
    ReplicaId
}

impl DeviceId {
    /// The subject of entries that speak about the workshop itself (families,
    /// settings, column mappings, strikes).
    pub const WORKSHOP: DeviceId = DeviceId(0);
}

/// The SHA-256 of a file's bytes, by which family files and mappings are named.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Digest(pub [u8; 32]);

impl fmt::Display for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Digest({self})")
    }
}

impl FromStr for Digest {
    type Err = BadId;
    fn from_str(text: &str) -> Result<Self, BadId> {
        let bad = || BadId(text.chars().take(80).collect());
        if text.len() != 64 || !text.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f')) {
            return Err(bad());
        }
        let mut bytes = [0u8; 32];
        for (i, byte) in bytes.iter_mut().enumerate() {
            *byte = u8::from_str_radix(&text[2 * i..2 * i + 2], 16).map_err(|_| bad())?;
        }
        Ok(Digest(bytes))
    }
}
