//! A logbook in memory, and short ways to read a list into it.

use std::collections::BTreeMap;
use std::sync::Arc;

use intake::csv::{self, Header, Mapping, Options, Read, Target};
use intake::inventory::{Inventory, fields_of};
use intake::plan::{Context, Plan, plan};
use register::entry::{Body, Draft, Stamp};
use register::family::Family;
use register::field::{Field, How, Part, Sort};
use register::id::{DeviceId, Digest, EntryId, ReplicaId};
use register::register::Register;
use register::scene::Scene;
use register::time::{Clock, DAY_MS, Moment};
use register::value::SecretMark;

/// The moment at which tests import.
pub const NOW: Moment = Moment(20_000 * DAY_MS);

/// A logbook and what it adds up to.
pub struct Book {
    pub register: Register,
    next: u64,
}

impl Book {
    pub fn new() -> Book {
        Book { register: Register::begin(std::iter::empty()), next: 0 }
    }

    pub fn with_family(text: &str) -> Book {
        let mut book = Book::new();
        let family: Arc<Family> = Arc::new(register::family::read::read("family.toml", text).unwrap());
        let file = Digest([1; 32]);
        book.say(DeviceId::WORKSHOP, NOW, Body::Family { name: family.name.clone(), file });
        book.register.give_family(file, &family);
        book
    }

    pub fn say(&mut self, subject: DeviceId, seen: Moment, body: Body) -> EntryId {
        self.next += 1;
        let id = EntryId(u128::from(self.next));
        let stamp = Stamp {
            id,
            replica: ReplicaId(1),
            clock: Clock(self.next),
            seen,
            recorded: NOW.max(seen),
            subject,
        };
        let _ = self.register.fold(&stamp, body);
        id
    }

    pub fn take<'d>(&mut self, drafts: impl IntoIterator<Item = &'d Draft>) {
        for draft in drafts {
            self.say(draft.subject, draft.seen, draft.body.clone());
        }
    }

    pub fn plan(&self, inventory: &Inventory) -> Plan {
        let mut next = 1_000_000 + u128::from(self.next) * 1_000_000;
        let mut new_id = || {
            next += 1;
            DeviceId(next)
        };
        let mut context =
            Context { now: NOW, how: How::Label, new_id: &mut new_id, fingerprint: &fingerprint };
        plan(inventory, &Scene::new(&self.register), &mut context)
    }

    /// Reads a list by what its columns are called, and plans it.
    pub fn plan_csv(&self, bytes: &[u8], rows: Option<Sort>) -> (Read, Plan) {
        let read = read(bytes, rows);
        let plan = self.plan(&read.inventory);
        (read, plan)
    }

    pub fn import_csv(&mut self, bytes: &[u8], rows: Option<Sort>) -> (Read, Plan) {
        let (read, plan) = self.plan_csv(bytes, rows);
        self.take(plan.drafts());
        (read, plan)
    }

    pub fn facts(&self) -> BTreeMap<String, Vec<String>> {
        facts(&self.register)
    }
}

/// No real fingerprint: enough that equal secrets have equal marks.
pub fn fingerprint(secret: &str) -> SecretMark {
    if secret.is_empty() {
        return SecretMark::Blank;
    }
    let print = secret
        .bytes()
        .fold(0x9e37_79b9_u128, |print, byte| (print ^ u128::from(byte)).wrapping_mul(0x0100_0193));
    SecretMark::Print { key: 7, print }
}

pub fn guess(bytes: &[u8], rows: Option<Sort>) -> Mapping {
    let mut mapping = csv::mapping::guess(&Header::read(bytes).unwrap());
    mapping.rows = rows;
    mapping
}

pub fn read(bytes: &[u8], rows: Option<Sort>) -> Read {
    csv::read(bytes.to_vec(), &guess(bytes, rows), Options::default()).unwrap()
}

pub fn mapping(columns: &[(&str, Target)], rows: Sort) -> Mapping {
    let columns = columns.iter().map(|(name, target)| ((*name).to_owned(), *target)).collect();
    Mapping { columns, rows: Some(rows) }
}

/// Every fact that holds, in words, by device and part, whatever the ids are: the same
/// for two registers that know the same.
pub fn facts(register: &Register) -> BTreeMap<String, Vec<String>> {
    let scene = Scene::new(register);
    let called = |id: DeviceId| {
        let card = scene.device(id).map(register::view::card);
        // Devices without code and name are told apart by ids, which an export keeps.
        card.map_or_else(String::new, |card| card.full())
    };
    let mut out: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for device in scene.devices() {
        let Some(sort) = device.sort else { continue };
        let mut lines = vec![format!("{sort:?}")];
        let parts = std::iter::once(Part::Whole)
            .chain(device.ends.keys().cloned().map(Part::End))
            .chain(device.memories.keys().cloned().map(Part::Memory));
        for part in parts {
            for field in Field::ALL.iter().filter(|field| fields_of(sort, &part).contains(field)) {
                for told in intake::export::holds(&scene, device, &part, *field) {
                    let mut value = format!("{:?}", told.value);
                    for other in scene.devices() {
                        value = value.replace(&format!("{:?}", other.id), &format!("<{}>", called(other.id)));
                    }
                    lines.push(format!("{part:?} {field} {value} {:?} {}", told.how, told.seen.0));
                }
            }
        }
        lines.sort();
        let mut key = called(device.id);
        while out.contains_key(&key) {
            key.push('+');
        }
        out.insert(key, lines);
    }
    out
}
