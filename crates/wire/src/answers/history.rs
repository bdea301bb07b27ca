//! The logbook's entries in words.

use std::collections::BTreeSet;

use register::entry::{Body, Stamp};
use register::family::{Side, release};
use register::field::{Field, Part};
use register::fit::{Fitted, Proved, Signed, Worked, measured_words};
use register::id::DeviceId;
use register::refit::{self, Ending};
use register::scene::Scene;
use register::trail::{Begun, Closed, Event, Helped, Outcome};
use register::value::Value;
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
        Body::Setting { key, value: Some(value) } => match release::family_of_setting(key) {
            Some(_) => format!("{key} set to {}", releases_words(value)),
            None => format!("{key} set to {value}"),
        },
        Body::Setting { key, value: None } => format!("{key} back to the default"),
        Body::Note { text } => text.clone(),
        Body::TrailBegun(begun) => begun_words(scene, begun),
        Body::TrailEvent { event, .. } => event_words(scene, event),
        Body::TrailClosed(closed) => closed_words(closed),
        Body::RefitBegun(begun) => refit_begun_words(begun),
        Body::RefitEvent { event, .. } => refit_event_words(scene, event),
        Body::Fitted(fitted) => fitted_words(fitted),
        Body::Proved(proved) => proved_words(scene, proved),
        Body::Worked(worked) => worked_words(worked),
        Body::Signed(signed) => signed_words(scene, signed),
        Body::Opaque => "of a kind that this version can't read".to_owned(),
    }
}

/// How much a text of releases says.
pub fn releases_words(text: &str) -> String {
    let Ok(read) = release::read_releases("releases", text) else {
        return "a text that can't be read".to_owned();
    };
    format!(
        "{}, {}",
        counted(read.releases.len(), "release", "releases"),
        counted(read.reaches.len(), "thing to reach", "things to reach")
    )
}

/// The key of a symptom, step or cause as words: all that the logbook knows of it.
fn key_words(key: &str) -> String {
    key.replace('_', " ")
}

fn side_facts(scene: &Scene, facts: &[(Side, Field, Value)]) -> String {
    let facts = facts.iter().map(|(side, field, value)| {
        format!("; {} {} {}", side.word(), field.label(), value_words(scene, value))
    });
    facts.collect()
}

fn begun_words(scene: &Scene, begun: &Begun) -> String {
    let mut words = format!("a fault trail began: {}", key_words(&begun.symptom));
    let ends: Vec<String> = [&begun.transmitter, &begun.receiver]
        .into_iter()
        .flatten()
        .map(|end| end_words(scene, end))
        .collect();
    if !ends.is_empty() {
        words.push_str(", ");
        words.push_str(&ends.join(" and "));
    }
    if !begun.whose.is_empty() {
        words.push_str("; gear of ");
        words.push_str(&begun.whose);
    }
    words.push_str(&side_facts(scene, &begun.facts));
    if !begun.open.is_empty() {
        let open: Vec<String> = begun.open.iter().map(|cover| key_words(cover)).collect();
        words.push_str("; open already: ");
        words.push_str(&open.join(", "));
    }
    words
}

fn event_words(scene: &Scene, event: &Event) -> String {
    match event {
        Event::Answered { step, answer, facts } => {
            let answer = if answer.is_empty() { "can't tell".to_owned() } else { key_words(answer) };
            format!("{} answered: {answer}{}", key_words(step), side_facts(scene, facts))
        }
        Event::Tried { step, helped, facts, way } => {
            let helped = match helped {
                Helped::Yes => "it helped",
                Helped::No => "no help",
                Helped::CantTell => "can't tell",
            };
            let what = way.as_ref().map_or_else(|| key_words(step), |way| way.text.clone());
            format!("{what} tried: {helped}{}", side_facts(scene, facts))
        }
        Event::Opened { cover } => format!("opened: {}", key_words(cover)),
        Event::Elsewise { text, minutes, changed } if changed.is_empty() => format!("{text} ({minutes})"),
        Event::Elsewise { text, minutes, changed } => format!("{text} ({minutes}); left changed: {changed}"),
        Event::PutBack { change } => format!("put back: {}", key_words(change)),
        Event::Accepted { change } => format!("stays as it is: {}", key_words(change)),
        Event::Proved { proof, held: true } => format!("proof held: {}", key_words(proof)),
        Event::Proved { proof, held: false } => format!("proof did not hold: {}", key_words(proof)),
    }
}

fn closed_words(closed: &Closed) -> String {
    let outcome = match closed.outcome {
        Outcome::Proven => "link proven",
        Outcome::GaveUp => "given up",
        Outcome::Left => "left as it is",
    };
    let cause = match closed.cause.as_str() {
        "" => "cause not found".to_owned(),
        "unlisted" => "cause not in the list".to_owned(),
        key => format!("cause {}", key_words(key)),
    };
    format!(
        "the fault trail {} ended: {outcome}, {cause}, after {}",
        key_words(&closed.symptom),
        closed.minutes
    )
}

/// Of the wishes only how many: none of them, a link secret least of all, is told.
fn refit_begun_words(begun: &refit::Begun) -> String {
    let wishes = counted(begun.wishes.len(), "wish", "wishes");
    let name = &begun.name;
    if begun.placed.is_empty() {
        return format!("a refit began: {name}, {wishes}, nothing planned");
    }
    let devices: BTreeSet<DeviceId> = begun.placed.iter().map(|placed| placed.what).collect();
    let evenings: BTreeSet<u32> = begun.placed.iter().map(|placed| placed.evening).collect();
    format!(
        "a refit began: {name}, {wishes}, {} in {}",
        counted(devices.len(), "device", "devices"),
        counted(evenings.len(), "evening", "evenings")
    )
}

fn counted(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

fn refit_event_words(scene: &Scene, event: &refit::Event) -> String {
    match event {
        refit::Event::Ticked { text, .. } => format!("refit: done: {text}"),
        refit::Event::Deferred { what, until } => {
            format!("refit: {} put off to evening {until}", device_words(scene, *what))
        }
        refit::Event::Planned { .. } => "refit planned anew".to_owned(),
        refit::Event::Ended { how: Ending::Done } => "refit ended: all done".to_owned(),
        refit::Event::Ended { how: Ending::Abandoned } => "refit ended: abandoned".to_owned(),
    }
}

fn fitted_words(fitted: &Fitted) -> String {
    let did = if fitted.text.is_empty() { "taken away" } else { "written down" };
    format!("{} {did}", fitted.part.label())
}

fn with_words(scene: &Scene, transmitter: Option<DeviceId>) -> String {
    transmitter.map(|id| format!(" with {}", device_words(scene, id))).unwrap_or_default()
}

fn proved_words(scene: &Scene, proved: &Proved) -> String {
    let held = if proved.held { "held" } else { "did not hold" };
    let mut words = format!("{}{}: {held}", proved.proof.label(), with_words(scene, proved.transmitter));
    let measured: Vec<String> =
        proved.measured.iter().map(|(key, value)| measured_words(key, *value)).collect();
    for more in [measured.join(", "), proved.note.clone()] {
        if !more.is_empty() {
            words.push_str("; ");
            words.push_str(&more);
        }
    }
    words
}

fn worked_words(worked: &Worked) -> String {
    let what = worked.what.label();
    if worked.note.is_empty() { what.to_owned() } else { format!("{what}: {}", worked.note) }
}

fn signed_words(scene: &Scene, signed: &Signed) -> String {
    let (with, checked) = (with_words(scene, signed.transmitter), signed.checked.len());
    let words = format!("signed off{with}: {checked} checked, {} not", signed.unchecked.len());
    if signed.note.is_empty() { words } else { format!("{words}; {}", signed.note) }
}
