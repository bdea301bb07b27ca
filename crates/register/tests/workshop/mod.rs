//! A small logbook to build registers from in tests.
#![allow(dead_code, reason = "each test binary uses its own part of it")]
#![allow(clippy::unwrap_used, reason = "a test that can't be set up must stop")]

use std::sync::Arc;

use register::entry::{Body, Stamp};
use register::family::read;
use register::field::{Field, How, Part, Sort};
use register::id::{DeviceId, Digest, EntryId, ReplicaId};
use register::register::Register;
use register::time::{Clock, Moment};
use register::value::{EndRef, SecretMark, Value};

pub const TX: DeviceId = DeviceId(1);
pub const RX: DeviceId = DeviceId(2);

pub fn text(words: &str) -> Value {
    Value::Text(words.to_owned())
}

pub fn print(print: u128) -> SecretMark {
    SecretMark::Print { key: 1, print }
}

pub fn end(device: DeviceId) -> EndRef {
    EndRef { device, end: "main".to_owned() }
}

#[derive(Default)]
pub struct Workshop {
    entries: Vec<(Stamp, Body)>,
    families: Vec<Arc<register::family::Family>>,
}

impl Workshop {
    pub fn new() -> Workshop {
        Workshop::default()
    }

    pub fn push(&mut self, subject: DeviceId, body: Body) -> EntryId {
        let number = self.entries.len() as u64 + 1;
        let stamp = Stamp {
            id: EntryId(u128::from(number)),
            replica: ReplicaId(1),
            clock: Clock(number),
            seen: Moment(i64::try_from(number).unwrap() * 1000),
            recorded: Moment(i64::try_from(number).unwrap() * 1000),
            subject,
        };
        self.entries.push((stamp, body));
        stamp.id
    }

    pub fn family(&mut self, file: &str) {
        let family = read::read("test.toml", file).unwrap_or_else(|problems| panic!("{problems:?}"));
        let digest = Digest([u8::try_from(self.families.len()).unwrap() + 1; 32]);
        self.push(DeviceId::WORKSHOP, Body::Family { name: family.name.clone(), file: digest });
        self.families.push(Arc::new(family));
    }

    pub fn transmitter(&mut self, id: DeviceId, code: &str) {
        self.push(id, Body::Device { sort: Sort::Transmitter });
        self.reading(id, Part::Whole, How::Seen, Field::Code, text(code), true);
    }

    pub fn receiver(&mut self, id: DeviceId, code: &str) {
        self.push(id, Body::Device { sort: Sort::Receiver });
        self.reading(id, Part::Whole, How::Seen, Field::Code, text(code), true);
    }

    pub fn aircraft(&mut self, id: DeviceId, code: &str) {
        self.push(id, Body::Device { sort: Sort::Aircraft });
        self.reading(id, Part::Whole, How::Seen, Field::Code, text(code), true);
    }

    pub fn reading(
        &mut self,
        id: DeviceId,
        part: Part,
        how: How,
        field: Field,
        value: Value,
        replaces: bool,
    ) -> EntryId {
        let replaces = if replaces {
            self.register().device(id).map(|d| d.standing(&part, std::iter::once(field))).unwrap_or_default()
        } else {
            Vec::new()
        };
        self.push(id, Body::Reading { part, how, facts: vec![(field, value)], replaces })
    }

    pub fn end(&mut self, id: DeviceId, field: Field, value: Value) {
        self.reading(id, Part::End("main".to_owned()), How::Seen, field, value, true);
    }

    pub fn whole(&mut self, id: DeviceId, field: Field, value: Value) {
        self.reading(id, Part::Whole, How::Seen, field, value, true);
    }

    pub fn memory(&mut self, id: DeviceId, key: &str, field: Field, value: Value) {
        self.reading(id, Part::Memory(key.to_owned()), How::Seen, field, value, true);
    }

    pub fn pair(&mut self, receiver: DeviceId, transmitter: DeviceId) {
        self.push(receiver, Body::Paired { end: "main".to_owned(), transmitter: end(transmitter) });
    }

    pub fn flash(&mut self, id: DeviceId, version: &str, route: &str) {
        let (version, route) = (version.to_owned(), route.to_owned());
        self.push(id, Body::Flashed { end: "main".to_owned(), version, route });
    }

    pub fn register(&self) -> Register {
        let mut register = Register::begin(self.entries.iter().map(|(stamp, body)| (stamp, body)));
        for (stamp, body) in &self.entries {
            let _ = register.fold(stamp, body.clone());
        }
        for (at, family) in self.families.iter().enumerate() {
            register.give_family(Digest([u8::try_from(at).unwrap() + 1; 32]), family);
        }
        register
    }
}
