//! A register with changes laid over it, so that *what if* stores nothing and copies
//! only what it touches.

use std::collections::BTreeMap;

use crate::entry::{Body, Stamp};
use crate::field::{Field, How, Part, Sort};
use crate::id::{DeviceId, EntryId, ReplicaId};
use crate::register::{Device, Register};
use crate::time::{Clock, Moment};
use crate::value::{EndRef, Value};

/// A change to one device, real or supposed.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// There is a further device.
    Add {
        /// Its id.
        device: DeviceId,
        /// What it is.
        sort: Sort,
    },
    /// A fact takes a value.
    Set {
        /// The device.
        device: DeviceId,
        /// Its part.
        part: Part,
        /// The fact.
        field: Field,
        /// The value.
        value: Value,
    },
    /// An end is flashed.
    Flash {
        /// The end.
        end: EndRef,
        /// The version.
        version: String,
        /// The family's route, empty when not said.
        route: String,
    },
    /// A receiver end is paired with a transmitter end.
    Pair {
        /// The receiver's end.
        receiver: EndRef,
        /// The transmitter's end.
        transmitter: EndRef,
    },
}

impl Change {
    /// The device that changes.
    pub fn device(&self) -> DeviceId {
        match self {
            Change::Add { device, .. } | Change::Set { device, .. } => *device,
            Change::Flash { end, .. } => end.device,
            Change::Pair { receiver, .. } => receiver.device,
        }
    }

    /// The logbook entry that records the change as carried out and seen.
    pub fn body(&self, register: &Register) -> Body {
        match self.clone() {
            Change::Add { sort, .. } => Body::Device { sort },
            Change::Set { device, part, field, value } => {
                let replaces = register
                    .device(device)
                    .map(|device| device.standing(&part, std::iter::once(field)))
                    .unwrap_or_default();
                Body::Reading { part, how: How::Seen, facts: vec![(field, value)], replaces }
            }
            Change::Flash { end, version, route } => Body::Flashed { end: end.end, version, route },
            Change::Pair { receiver, transmitter } => Body::Paired { end: receiver.end, transmitter },
        }
    }
}

/// A register with changes laid over it.
#[derive(Clone, Debug)]
pub struct Scene<'a> {
    /// What is really known.
    pub register: &'a Register,
    changed: BTreeMap<DeviceId, Device>,
    steps: u64,
}

impl<'a> Scene<'a> {
    /// The register as it is.
    pub fn new(register: &'a Register) -> Scene<'a> {
        Scene { register, changed: BTreeMap::new(), steps: 0 }
    }

    /// One device as it stands in this scene.
    pub fn device(&self, id: DeviceId) -> Option<&Device> {
        let id = self.register.canonical(id);
        self.changed.get(&id).or_else(|| self.register.device(id))
    }

    /// The devices that differ from the register's.
    pub fn changed(&self) -> impl Iterator<Item = &Device> {
        self.changed.values()
    }

    /// Every device of the scene.
    pub fn devices(&self) -> impl Iterator<Item = &Device> {
        let kept =
            self.register.devices().iter().map(|device| self.changed.get(&device.id).unwrap_or(device));
        kept.chain(self.changed.values().filter(|device| self.register.device(device.id).is_none()))
    }

    /// Supposes a reading: a value as it was known in this way at that moment. It stands
    /// beside what is known, and replaces what is not known better.
    pub fn read(&mut self, device: DeviceId, part: &Part, how: How, seen: Moment, fact: (Field, Value)) {
        let id = self.own(device);
        self.steps += 1;
        let stamp = self.stamp(id, seen);
        let Some(device) = self.changed.get_mut(&id) else { return };
        let replaces = device.standing(part, std::iter::once(fact.0));
        device.fold(&stamp, Body::Reading { part: part.clone(), how, facts: vec![fact], replaces });
    }

    /// The device as this scene's own copy.
    fn own(&mut self, device: DeviceId) -> DeviceId {
        let id = self.register.canonical(device);
        if !self.changed.contains_key(&id) {
            let device = self.register.device(id).cloned().unwrap_or_else(|| Device::new(id));
            self.changed.insert(id, device);
        }
        id
    }

    fn stamp(&self, subject: DeviceId, seen: Moment) -> Stamp {
        Stamp {
            id: EntryId(u128::MAX - u128::from(self.steps)),
            replica: ReplicaId(0),
            clock: Clock((u64::MAX >> 1) + self.steps),
            seen,
            recorded: seen,
            subject,
        }
    }

    /// Carries out a change at `now`.
    pub fn apply(&mut self, change: &Change, now: Moment) {
        let id = self.own(change.device());
        self.steps += 1;
        // Later than everything in the logbook, in the order in which they are supposed;
        // also later than a reading that was dated into the future.
        let seen = self.register.newest_seen().max(now);
        let stamp = self.stamp(id, seen);
        let Some(device) = self.changed.get_mut(&id) else { return };
        match change.clone() {
            Change::Add { sort, .. } => device.fold(&stamp, Body::Device { sort }),
            Change::Set { part, field, value, .. } => device.suppose(&part, field, value, stamp),
            Change::Flash { end, version, route } => {
                device.fold(&stamp, Body::Flashed { end: end.end, version, route });
            }
            Change::Pair { receiver, transmitter } => {
                device.fold(&stamp, Body::Paired { end: receiver.end, transmitter });
            }
        }
    }
}
