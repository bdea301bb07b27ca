//! Logbook entries as the engine reads them.
//!
//! The chain (hashes, sequence numbers, exact bytes) is the business of `wire` and
//! `store`; the engine sees who wrote what about which device, and when.

use crate::field::{Field, How, Part, Sort};
use crate::fit;
use crate::id::{DeviceId, Digest, EntryId, ReplicaId};
use crate::refit;
use crate::time::{Clock, Moment};
use crate::trail;
use crate::value::{EndRef, Value};

/// Where an entry stands: its name, its order and its subject.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stamp {
    /// The entry's name.
    pub id: EntryId,
    /// Which replica wrote it.
    pub replica: ReplicaId,
    /// Its place in the order of all entries (ties broken by id).
    pub clock: Clock,
    /// When what it says was seen.
    pub seen: Moment,
    /// When it was written down.
    pub recorded: Moment,
    /// The device it speaks about, or [`DeviceId::WORKSHOP`].
    pub subject: DeviceId,
}

/// What an entry says.
#[derive(Clone, Debug, PartialEq)]
pub enum Body {
    /// There is a device.
    Device {
        /// What it is.
        sort: Sort,
    },
    /// Values read at one moment, of one part of the subject.
    Reading {
        /// Which part.
        part: Part,
        /// How the values are known.
        how: How,
        /// The values.
        facts: Vec<(Field, Value)>,
        /// The entries whose values of these fields this one replaces.
        replaces: Vec<EntryId>,
    },
    /// The receiver end `end` of the subject was paired with a transmitter end.
    Paired {
        /// The subject's end.
        end: String,
        /// The transmitter's end.
        transmitter: EndRef,
    },
    /// New firmware was written to the end `end` of the subject.
    Flashed {
        /// The subject's end.
        end: String,
        /// The version written.
        version: String,
        /// The family's flash route that was used, empty when not said.
        route: String,
    },
    /// The entry named was wrong.
    Strike {
        /// The wrong entry.
        entry: EntryId,
    },
    /// The subject and another device are one and the same.
    SameAs {
        /// The other device.
        other: DeviceId,
    },
    /// They are not, after all.
    Parted {
        /// The other device.
        other: DeviceId,
    },
    /// The workshop uses this family file from now on.
    Family {
        /// The family's name.
        name: String,
        /// The file, by content.
        file: Digest,
    },
    /// How the columns of one shape of spreadsheet are to be read.
    Mapping {
        /// The header line's signature.
        header: String,
        /// The mapping file, by content.
        file: Digest,
    },
    /// A setting of the workshop (its name, minutes of checks and mends).
    Setting {
        /// Which setting: `name`, `minutes.check.firmware`, …
        key: String,
        /// Its value; `None` returns to the default.
        value: Option<String>,
    },
    /// Words about the subject.
    Note {
        /// The words.
        text: String,
    },
    /// A search for a fault began; the entry's id is the trail's.
    TrailBegun(trail::Begun),
    /// Something was done on a trail.
    TrailEvent {
        /// The trail: the entry that began it.
        trail: EntryId,
        /// What was done.
        event: trail::Event,
    },
    /// A trail ended.
    TrailClosed(trail::Closed),
    /// A refit began; the entry's id is the refit's.
    RefitBegun(refit::Begun),
    /// Something was done in a refit.
    RefitEvent {
        /// The refit: the entry that began it.
        refit: EntryId,
        /// What was done.
        event: refit::Event,
    },
    /// A part of the subject aircraft's fit, written down.
    Fitted(fit::Fitted),
    /// A proof was tried on the subject aircraft.
    Proved(fit::Proved),
    /// Work was done on the subject (an aircraft, a receiver, a transmitter), or befell it.
    Worked(fit::Worked),
    /// Somebody put a name under what was checked on the subject aircraft.
    Signed(fit::Signed),
    /// A kind or version this program doesn't know, or a body that was erased: carried
    /// along, not read.
    Opaque,
}

/// An entry that is yet to be written.
#[derive(Clone, Debug, PartialEq)]
pub struct Draft {
    /// When what it says was seen.
    pub seen: Moment,
    /// The device it speaks about, or [`DeviceId::WORKSHOP`].
    pub subject: DeviceId,
    /// What it says.
    pub body: Body,
}
