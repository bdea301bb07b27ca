//! Clubs for tests: registers built from entries, with three invented families.
#![allow(dead_code, reason = "each test uses its own part of it")]
#![allow(clippy::unwrap_used, reason = "tests")]

use std::sync::Arc;

use register::entry::{Body, Stamp};
use register::family::{Family, read};
use register::field::{Field, How, Part, Sort};
use register::fleet::Fleet;
use register::id::{DeviceId, Digest, EntryId, ReplicaId};
use register::refit::{Begun, Event, RefitLog, Wish};
use register::register::{Folded, Register};
use register::scene::{Change, Scene};
use register::time::{Clock, Moment};
use register::value::{EndRef, SecretMark, Value};
use units::Minutes;

/// Versions go together by their major number; equal secrets link without pairing.
pub const ALDER: &str = r#"
schema = 1
[family]
name = "Alder"
summary = "Invented"
invented = true
[[band]]
name = "2.4 GHz"
low_mhz = 2400
high_mhz = 2483.5
[version]
rule = "same-parts"
parts = 1
called = "major"
[secret]
rule = "equal"
blank_allowed = true
links_unpaired = true
[partners]
remembers = 1
pairing_drops_others = true
[model_id]
checked_at = "receiver"
low = 0
high = 49
off = 99
refused = "nothing moves"
[pairing]
gesture = ["Hold the key while it starts."]
energises = ["receiver", "servos", "motor", "transmitter"]
minutes = 3
[[flash]]
name = "page"
side = "receiver"
minutes = 6
needs = ["a phone"]
energises = ["receiver"]
wipes = []
[[flash]]
name = "cable"
side = "receiver"
minutes = 4
needs = ["the hatch"]
energises = ["receiver"]
wipes = ["partners", "model_id"]
[[flash]]
name = "lead"
side = "transmitter"
minutes = 12
needs = []
energises = ["transmitter"]
wipes = []
[[reach]]
name = "the hatch"
sort = "cover"
minutes = 5
[[release]]
version = "3.5"
[[release]]
version = "3.9"
[[release]]
version = "4.2"
[[release]]
version = "4.6"
[[release]]
version = "5.0"
side = "transmitter"
from = "4.0"
[[release]]
version = "5.0"
side = "receiver"
from = "4.0"
hardware = ["large", "small"]
wipes = ["partners"]
"#;

/// Versions go together in groups; no secret; three partners.
pub const BIRCH: &str = r#"
schema = 1
[family]
name = "Birch"
summary = "Invented"
invented = true
[[band]]
name = "2.4 GHz"
low_mhz = 2400
high_mhz = 2483.5
[version]
rule = "groups"
[[version.group]]
name = "first"
spans = ["1.0..2.4"]
[[version.group]]
name = "second"
spans = ["2.5..3.9"]
[secret]
rule = "none"
[model_id]
checked_at = "none"
[partners]
remembers = 3
pairing_drops_others = false
[pairing]
gesture = ["Bridge two pins."]
energises = ["receiver", "servos", "motor", "transmitter"]
minutes = 4
needs = ["the wing"]
[[flash]]
name = "bench lead"
side = "receiver"
minutes = 9
needs = ["the wing"]
energises = ["receiver"]
wipes = ["partners"]
[[flash]]
name = "card"
side = "transmitter"
minutes = 8
needs = []
energises = ["transmitter"]
wipes = []
[[reach]]
name = "the wing"
sort = "cover"
[[release]]
version = "1.8"
[[release]]
version = "2.4"
[[release]]
version = "2.9"
[[release]]
version = "3.4"
"#;

/// Any version goes with any; one must pair by hand.
pub const CEDAR: &str = r#"
schema = 1
[family]
name = "Cedar"
summary = "Invented"
invented = true
[[band]]
name = "2.4 GHz"
low_mhz = 2400
high_mhz = 2483.5
[version]
rule = "any"
[secret]
rule = "equal"
blank_allowed = true
links_unpaired = false
[model_id]
checked_at = "none"
[partners]
remembers = 2
pairing_drops_others = false
[pairing]
gesture = ["Press both keys."]
energises = ["receiver"]
minutes = 2
[[flash]]
name = "card"
side = "receiver"
minutes = 5
needs = []
energises = ["receiver"]
wipes = ["secret"]
[[flash]]
name = "card"
side = "transmitter"
minutes = 5
needs = []
energises = ["transmitter"]
wipes = []
[[release]]
version = "1"
[[release]]
version = "2"
no_way_back = "the boot loader is another one"
"#;

/// A family file, read.
pub fn family(text: &str) -> Arc<Family> {
    match read::read("test", text) {
        Ok(family) => Arc::new(family),
        Err(problems) => panic!("{problems:?}"),
    }
}

/// A club being written.
pub struct Club {
    /// The register.
    pub register: Register,
    /// Every entry, in the order in which it was written.
    pub entries: Vec<(Stamp, Body)>,
    replica: u128,
    clock: u64,
    ids: u128,
}

/// The moment at which tests take place.
pub const NOW: Moment = Moment(1_800_000_000_000);

/// A secret mark.
pub fn secret(number: u128) -> SecretMark {
    SecretMark::Print { key: 1, print: number }
}

/// Words as a value.
pub fn text(words: &str) -> Value {
    Value::Text(words.to_owned())
}

impl Club {
    /// A club with the three families.
    pub fn new() -> Club {
        Club::with(&[ALDER, BIRCH, CEDAR])
    }

    /// A club with these families.
    pub fn with(families: &[&str]) -> Club {
        let mut club =
            Club { register: Register::default(), entries: Vec::new(), replica: 1, clock: 1, ids: 1 };
        for (at, text) in families.iter().enumerate() {
            let family = family(text);
            let mut bytes = [0_u8; 32];
            bytes[0] = u8::try_from(at + 1).unwrap();
            let file = Digest(bytes);
            club.fold(DeviceId::WORKSHOP, Body::Family { name: family.name.clone(), file });
            club.register.give_family(file, &family);
        }
        club
    }

    /// Another person's copy, which goes on by itself from here.
    pub fn copy(&self) -> Club {
        Club {
            register: self.register.clone(),
            entries: self.entries.clone(),
            replica: self.replica + 1,
            clock: self.clock,
            ids: self.ids + 1000,
        }
    }

    /// The club of entries that were written in several places: folded as they come, and from the
    /// beginning in the order of their clocks where one asks for that.
    pub fn merged(&self, entries: &[(Stamp, Body)]) -> Club {
        let mut all: Vec<(Stamp, Body)> = Vec::new();
        let mut register = Register::default();
        for (stamp, body) in entries {
            if all.iter().any(|(have, _)| have.id == stamp.id) {
                continue;
            }
            all.push((*stamp, body.clone()));
            if register.fold(stamp, body.clone()) == Folded::Rebuild {
                all.sort_by_key(|(stamp, _)| (stamp.clock, stamp.id));
                register = Register::begin(all.iter().map(|(stamp, body)| (stamp, body)));
                for (stamp, body) in &all {
                    assert_eq!(register.fold(stamp, body.clone()), Folded::In);
                }
            }
        }
        for (_, used) in self.register.families() {
            register.give_family(used.file, used.family.as_ref().unwrap());
        }
        Club { register, entries: all, replica: 9, clock: self.clock + 1000, ids: self.ids + 9000 }
    }

    fn stamp(&mut self, subject: DeviceId) -> Stamp {
        self.clock += 1;
        let seen = Moment(NOW.0 - 1_000_000_000 + i64::try_from(self.clock).unwrap());
        Stamp {
            id: EntryId((u128::from(self.clock) << 8) + self.replica),
            replica: ReplicaId(self.replica),
            clock: Clock(self.clock),
            seen,
            recorded: seen,
            subject,
        }
    }

    /// Folds an entry in.
    pub fn fold(&mut self, subject: DeviceId, body: Body) -> EntryId {
        let stamp = self.stamp(subject);
        self.entries.push((stamp, body.clone()));
        let _ = self.register.fold(&stamp, body);
        stamp.id
    }

    /// A new device with a code.
    pub fn device(&mut self, sort: Sort, code: &str) -> DeviceId {
        self.ids += 1;
        let id = DeviceId((0x0190_0000_0000_7000_8000_0000_0000_0000) + self.ids);
        self.fold(id, Body::Device { sort });
        self.read(id, Part::Whole, vec![(Field::Code, text(code))]);
        id
    }

    /// Facts that were seen.
    pub fn read(&mut self, id: DeviceId, part: Part, facts: Vec<(Field, Value)>) {
        let replaces = self
            .register
            .device(id)
            .map(|device| device.standing(&part, facts.iter().map(|(field, _)| *field)))
            .unwrap_or_default();
        self.fold(id, Body::Reading { part, how: How::Seen, facts, replaces });
    }

    /// An end with family, version and secret.
    pub fn end(&mut self, id: DeviceId, family: &str, version: &str, secret: Option<SecretMark>) -> EndRef {
        let mut facts = vec![(Field::Family, text(family)), (Field::Band, text("2.4 GHz"))];
        if !version.is_empty() {
            facts.push((Field::Firmware, text(version)));
        }
        facts.extend(secret.map(|mark| (Field::Secret, Value::Secret(mark))));
        self.read(id, Part::End(Part::MAIN.to_owned()), facts);
        main_of(id)
    }

    /// A transmitter.
    pub fn transmitter(
        &mut self,
        code: &str,
        family: &str,
        version: &str,
        secret: Option<SecretMark>,
    ) -> DeviceId {
        let id = self.device(Sort::Transmitter, code);
        self.end(id, family, version, secret);
        id
    }

    /// An aircraft with one receiver; gives both.
    pub fn aircraft(
        &mut self,
        code: &str,
        family: &str,
        version: &str,
        secret: Option<SecretMark>,
        id: u32,
    ) -> (DeviceId, DeviceId) {
        let craft = self.device(Sort::Aircraft, &format!("A{code}"));
        let receiver = self.device(Sort::Receiver, &format!("R{code}"));
        self.end(receiver, family, version, secret);
        self.read(
            receiver,
            Part::End(Part::MAIN.to_owned()),
            vec![(Field::ModelId, Value::Number(id)), (Field::Partners, none_remembered())],
        );
        self.read(
            receiver,
            Part::Whole,
            vec![(Field::Aircraft, Value::Device(craft)), (Field::Model, text("large"))],
        );
        (craft, receiver)
    }

    /// A model memory of a transmitter for an aircraft.
    pub fn memory(&mut self, transmitter: DeviceId, craft: DeviceId, id: u32) {
        let key = format!("m{}", craft.0 % 1000);
        self.read(
            transmitter,
            Part::Memory(key),
            vec![
                (Field::Aircraft, Value::Device(craft)),
                (Field::ModelId, Value::Number(id)),
                (Field::End, text(Part::MAIN)),
            ],
        );
    }

    /// One more receiver in an aircraft.
    pub fn further_receiver(
        &mut self,
        code: &str,
        craft: DeviceId,
        family: &str,
        version: &str,
        secret: Option<SecretMark>,
    ) -> DeviceId {
        let receiver = self.spare(code, family, version, secret);
        self.read(receiver, Part::Whole, vec![(Field::Aircraft, Value::Device(craft))]);
        receiver
    }

    /// A receiver on the shelf.
    pub fn spare(&mut self, code: &str, family: &str, version: &str, secret: Option<SecretMark>) -> DeviceId {
        let receiver = self.device(Sort::Receiver, code);
        self.end(receiver, family, version, secret);
        self.read(
            receiver,
            Part::End(Part::MAIN.to_owned()),
            vec![(Field::ModelId, Value::Number(7)), (Field::Partners, none_remembered())],
        );
        self.read(receiver, Part::Whole, vec![(Field::Model, text("large"))]);
        receiver
    }

    /// Pairs two devices.
    pub fn pair(&mut self, receiver: DeviceId, transmitter: DeviceId) {
        self.fold(receiver, Body::Paired { end: Part::MAIN.to_owned(), transmitter: main_of(transmitter) });
    }

    /// The fleet as it is.
    pub fn fleet(&self) -> Fleet {
        Fleet::of(&Scene::new(&self.register))
    }

    /// Records changes as carried out.
    pub fn carry_out(&mut self, changes: &[Change]) {
        for change in changes {
            let body = change.body(&self.register);
            self.fold(change.device(), body);
        }
    }

    /// Begins a refit.
    pub fn begin(&mut self, wishes: Vec<Wish>, plan: &refits::planner::Plan) -> EntryId {
        let begun = Begun {
            name: "Spring".to_owned(),
            wishes,
            links: plan.links.clone(),
            placed: plan.placed.clone(),
        };
        self.fold(DeviceId::WORKSHOP, Body::RefitBegun(begun))
    }

    /// Says what was done in a refit.
    pub fn event(&mut self, refit: EntryId, event: Event) -> EntryId {
        self.fold(DeviceId::WORKSHOP, Body::RefitEvent { refit, event })
    }

    /// The log of a refit.
    pub fn log(&self, refit: EntryId) -> RefitLog {
        self.register.refit(refit).unwrap().clone()
    }
}

fn none_remembered() -> Value {
    Value::None
}

/// The only end of a device.
pub fn main_of(device: DeviceId) -> EndRef {
    EndRef { device, end: Part::MAIN.to_owned() }
}

/// Evenings of so many minutes.
pub fn evenings(count: usize, minutes: f64) -> Wish {
    Wish::Evenings { minutes: vec![Minutes(minutes); count] }
}
