//! The logbook's entries in words.

use register::entry::{Body, Stamp};
use register::field::Part;
use register::id::DeviceId;
use register::scene::Scene;
use serde::Serialize;

use super::device::{device_words, end_words, value_words};

/// One entry.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Entry {
    /// Its id.
    pub entry: String,
    /// When what it says was seen.
    pub seen: String,
    /// When it was written down.
    pub recorded: String,
    /// Who wrote it.
    pub author: String,
    /// The device it is about; `null` for the workshop.
    pub device: Option<String>,
    /// The kind's word.
    pub kind: String,
    /// What it says.
    pub text: String,
    /// Whether a later entry strikes it.
    pub struck: bool,
    /// Whether its text was erased.
    pub erased: bool,
}

impl Entry {
    /// An entry as an answer.
    pub fn new(scene: &Scene, stamp: &Stamp, author: &str, kind: &str, body: &Body, erased: bool) -> Entry {
        Entry {
            entry: stamp.id.to_string(),
            seen: stamp.seen.to_string(),
            recorded: stamp.recorded.to_string(),
            author: author.to_owned(),
            device: (stamp.subject != DeviceId::WORKSHOP).then(|| device_words(scene, stamp.subject)),
            kind: kind.to_owned(),
            text: if erased { "erased".to_owned() } else { body_words(scene, body) },
            struck: scene.register.is_struck(stamp.id),
            erased,
        }
    }
}

/// What an entry says, in words.
pub fn body_words(scene: &Scene, body: &Body) -> String {
    match body {
        Body::Device { sort } => format!("a new {}", sort.word()),
        Body::Reading { part, how, facts, .. } => {
            let facts: Vec<String> = facts
                .iter()
                .map(|(field, value)| format!("{} {}", field.label(), value_words(scene, value)))
                .collect();
            let place = match part {
                Part::Whole => String::new(),
                Part::End(key) if key == Part::MAIN => String::new(),
                Part::End(key) => format!("end {key}: "),
                Part::Memory(key) => format!("memory {key}: "),
            };
            format!("{place}{} ({})", facts.join(", "), how.word())
        }
        Body::Paired { transmitter, .. } => format!("paired with {}", end_words(scene, transmitter)),
        Body::Flashed { version, route, .. } if route.is_empty() => format!("flashed to {version}"),
        Body::Flashed { version, route, .. } => format!("flashed to {version} by {route}"),
        Body::Strike { entry } => format!("strikes entry {entry}"),
        Body::SameAs { other } => format!("the same device as {other}"),
        Body::Parted { other } => format!("not the same device as {other}"),
        Body::Family { name, .. } => format!("family file of {name}"),
        Body::Mapping { header, .. } => format!("columns of lists that begin with {header}"),
        Body::Setting { key, value: Some(value) } => format!("{key} set to {value}"),
        Body::Setting { key, value: None } => format!("{key} back to the default"),
        Body::Note { text } => text.clone(),
        Body::Opaque => "of a kind that this version can't read".to_owned(),
    }
}
