//! What the tests share.

use std::path::PathBuf;

use register::entry::Body;
use register::field::{Field, How, Part, Sort};
use register::id::DeviceId;
use register::time::Moment;
use register::value::Value;
use store::{Draft, Store, Written};
use tempfile::TempDir;

pub const NOW: Moment = Moment(1_780_000_000_000);
pub const RECEIVER: DeviceId = DeviceId(0x00AB);

/// A workshop in a fresh folder.
pub struct Workshop {
    pub folder: TempDir,
    pub path: PathBuf,
}

impl Workshop {
    pub fn new() -> Workshop {
        let folder = TempDir::new().unwrap();
        let path = folder.path().join("club.holdfast");
        Workshop { folder, path }
    }

    /// With `count` entries in it.
    pub fn with_entries(count: u32) -> Workshop {
        let workshop = Workshop::new();
        let drafts: Vec<Draft> = (0..count).map(|i| note(&format!("note {i}"))).collect();
        workshop.open().append(NOW, "Ada", &drafts, &[]).unwrap();
        workshop
    }

    pub fn open(&self) -> Store {
        Store::open(&self.path).unwrap()
    }

    pub fn beside(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Another program's connection, for doing harm.
    pub fn raw(&self) -> rusqlite::Connection {
        rusqlite::Connection::open(&self.path).unwrap()
    }
}

pub fn draft(subject: DeviceId, body: Body) -> Draft {
    Draft { seen: NOW, subject, body }
}

pub fn note(text: &str) -> Draft {
    draft(RECEIVER, Body::Note { text: text.to_owned() })
}

pub fn device() -> Draft {
    draft(RECEIVER, Body::Device { sort: Sort::Receiver })
}

pub fn firmware(version: &str) -> Draft {
    let facts = vec![(Field::Firmware, Value::Text(version.to_owned()))];
    let part = Part::End(Part::MAIN.to_owned());
    draft(RECEIVER, Body::Reading { part, how: How::Seen, facts, replaces: vec![] })
}

pub fn write(store: &mut Store, drafts: &[Draft]) -> Vec<Written> {
    store.append(NOW, "Ada", drafts, &[]).unwrap()
}

/// The whole logbook as text: equal logbooks, equal texts.
pub fn export(store: &Store) -> String {
    let mut out = Vec::new();
    store.export(&mut out).unwrap();
    String::from_utf8(out).unwrap()
}

pub fn problems(store: &Store) -> Vec<String> {
    store.verify().unwrap().problems.iter().map(ToString::to_string).collect()
}
