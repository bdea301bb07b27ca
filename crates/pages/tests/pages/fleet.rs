//! A small invented fleet, built from entries as a logbook would hold them.

use std::sync::Arc;

use register::entry::{Body, Stamp};
use register::family::{read, shipped};
use register::field::{Field, How, Part, Sort};
use register::id::{DeviceId, Digest, EntryId, ReplicaId};
use register::register::{Folded, Register};
use register::time::{Clock, Moment};
use register::value::{SecretMark, Value};

pub const NOW: &str = "2026-05-30T12:00:00Z";

pub const T1: DeviceId = DeviceId(0x11);
pub const T2: DeviceId = DeviceId(0x12);
pub const R1: DeviceId = DeviceId(0x21);
pub const R2: DeviceId = DeviceId(0x22);
pub const R3: DeviceId = DeviceId(0x23);
pub const R4: DeviceId = DeviceId(0x24);
pub const SWIFT: DeviceId = DeviceId(0x31);
pub const HERON: DeviceId = DeviceId(0x32);
pub const WREN: DeviceId = DeviceId(0x33);

pub fn now() -> Moment {
    Moment::parse(NOW).unwrap()
}

pub struct Logbook {
    pub register: Register,
    pub lines: Vec<(Stamp, Body)>,
    pub next: u64,
}

impl Logbook {
    pub fn new() -> Logbook {
        Logbook { register: Register::begin([]), lines: Vec::new(), next: 1 }
    }

    pub fn write(&mut self, date: &str, subject: DeviceId, body: Body) -> EntryId {
        let id = EntryId(u128::from(self.next));
        let stamp = Stamp {
            id,
            replica: ReplicaId(1),
            clock: Clock(self.next),
            seen: Moment::parse(date).unwrap(),
            recorded: now(),
            subject,
        };
        self.next += 1;
        assert_eq!(self.register.fold(&stamp, body.clone()), Folded::In);
        self.lines.push((stamp, body));
        id
    }

    pub fn device(&mut self, id: DeviceId, sort: Sort, code: &str, name: &str) {
        self.write("2026-05-01", id, Body::Device { sort });
        self.read(id, Part::Whole, How::Label, Field::Code, Value::Text(code.to_owned()));
        self.read(id, Part::Whole, How::Seen, Field::Name, Value::Text(name.to_owned()));
    }

    pub fn read(&mut self, id: DeviceId, part: Part, how: How, field: Field, value: Value) {
        self.read_on("2026-05-18", id, part, how, field, value);
    }

    pub fn read_on(&mut self, date: &str, id: DeviceId, part: Part, how: How, field: Field, value: Value) {
        self.write(date, id, Body::Reading { part, how, facts: vec![(field, value)], replaces: Vec::new() });
    }

    pub fn end(&mut self, id: DeviceId, field: Field, value: Value) {
        self.read(id, Part::End(Part::MAIN.to_owned()), How::Seen, field, value);
    }

    pub fn text(&mut self, id: DeviceId, field: Field, text: &str) {
        self.end(id, field, Value::Text(text.to_owned()));
    }

    pub fn families(&mut self) {
        for (at, (file, text)) in shipped::demo_families().iter().enumerate() {
            let family = Arc::new(read::read(file, text).unwrap());
            let digest = Digest([u8::try_from(at).unwrap(); 32]);
            let name = family.name.clone();
            self.write("2026-04-01", DeviceId::WORKSHOP, Body::Family { name, file: digest });
            self.register.give_family(digest, &family);
        }
    }
}

/// Two transmitters, four receivers, three aircraft: a link that holds, one that is
/// blocked by its firmware, one of which too little is known, a spare on the shelf, and
/// clashing, old and future readings.
pub fn small() -> Logbook {
    let mut book = Logbook::new();
    book.families();
    let secret = Value::Secret(SecretMark::Print { key: 1, print: 0x00CA_FE42 });
    for (id, code, name, firmware) in [(T1, "T1", "Grey handset", "4.1"), (T2, "T2", "Club handset", "3.2")] {
        book.device(id, Sort::Transmitter, code, name);
        book.text(id, Field::Family, "Whimbrel");
        book.text(id, Field::Band, "2.4 GHz");
        book.text(id, Field::Region, "EU");
        book.text(id, Field::Firmware, firmware);
    }
    book.end(T1, Field::Secret, secret.clone());
    for (id, code, name, firmware) in
        [(R1, "R1", "Swift receiver", "4.6"), (R2, "R2", "Heron receiver", "3.9"), (R3, "R3", "Spare", "4.6")]
    {
        book.device(id, Sort::Receiver, code, name);
        book.text(id, Field::Family, "Whimbrel");
        book.text(id, Field::Band, "2.4 GHz");
        book.text(id, Field::Region, "EU");
        book.text(id, Field::Firmware, firmware);
        book.end(id, Field::Secret, secret.clone());
    }
    book.end(R1, Field::ModelId, Value::Number(3));
    book.end(R2, Field::ModelId, Value::Number(4));
    book.end(R3, Field::ModelId, Value::Off);
    book.device(R4, Sort::Receiver, "R4", "Wren receiver");
    book.text(R4, Field::Family, "Whimbrel");
    book.device(SWIFT, Sort::Aircraft, "A1", "Swift");
    book.device(HERON, Sort::Aircraft, "A2", "Heron");
    book.device(WREN, Sort::Aircraft, "A3", "Wren");
    book.read(SWIFT, Part::Whole, How::Told, Field::Craft, Value::Text("glider".to_owned()));
    for (receiver, aircraft) in [(R1, SWIFT), (R2, HERON), (R4, WREN)] {
        book.read(receiver, Part::Whole, How::Seen, Field::Aircraft, Value::Device(aircraft));
    }
    book.read(R3, Part::Whole, How::Seen, Field::State, Value::Text("shelf".to_owned()));
    for (key, aircraft, id) in [("1", SWIFT, 3), ("2", HERON, 4)] {
        let part = Part::Memory(key.to_owned());
        let name = format!("Memory of {key}");
        book.read(T1, part.clone(), How::Seen, Field::Name, Value::Text(name));
        book.read(T1, part.clone(), How::Seen, Field::Aircraft, Value::Device(aircraft));
        book.read(T1, part, How::Seen, Field::ModelId, Value::Number(id));
    }
    // Old, clashing and future readings.
    let main = Part::End(Part::MAIN.to_owned());
    let text = |text: &str| Value::Text(text.to_owned());
    book.read_on("2024-05-01", T2, main.clone(), How::Seen, Field::Antenna, text("whip"));
    book.read(R4, main.clone(), How::Seen, Field::Firmware, text("4.0"));
    book.read(R4, main, How::Seen, Field::Firmware, text("3.0"));
    book.read_on("2031-01-01", WREN, Part::Whole, How::Label, Field::Maker, text("Nobody & Sons"));
    book.write("2026-05-20", T1, Body::Note { text: "dropped once, <b>works</b>".to_owned() });
    book
}
