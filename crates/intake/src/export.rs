//! What an export says of each device: the facts as they hold, each with how and when
//! it was seen, and what to call the device so that it is found again.

use std::collections::{HashMap, HashSet};

use register::family::Side;
use register::field::{Field, How, Part, Sort};
use register::id::DeviceId;
use register::register::Device;
use register::scene::Scene;
use register::time::Moment;
use register::value::{EndRef, Partners, SecretMark, Value};
use register::view;

use crate::inventory::fields_of;
use crate::reference::{Named, can_name};

/// One value that holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Told {
    /// The value.
    pub value: Value,
    /// How it is known.
    pub how: How,
    /// When it was seen.
    pub seen: Moment,
}

/// What holds of one fact: nothing, a value, or several that clash.
pub fn holds(scene: &Scene<'_>, device: &Device, part: &Part, field: Field) -> Vec<Told> {
    let Some(facts) = device.part(part) else { return Vec::new() };
    let told = |known: view::Known<Value>| {
        known
            .options
            .into_iter()
            .map(|(value, source)| Told { value, how: source.how, seen: source.seen })
            .collect::<Vec<_>>()
    };
    let end = match part {
        Part::End(key) => device.ends.get(key),
        _ => None,
    };
    let Some(end) =
        end.filter(|end| !end.flashes.is_empty() || field == Field::Partners && !end.pairings.is_empty())
    else {
        return told(view::fact(facts, field));
    };
    if field == Field::Partners {
        return partners(scene, device, part);
    }
    let side = if device.sort == Some(Sort::Receiver) { Side::Receiver } else { Side::Transmitter };
    let family = view::words(facts, Field::Family).and_then(|name| scene.register.family(&name).cloned());
    let lapsed = family.and_then(|family| {
        let wiping = end
            .flashes
            .iter()
            .filter(|flash| family.wiped_by_flash(side, &flash.route, &flash.version).contains(&field));
        wiping.map(|flash| (flash.seen, flash.clock)).max()
    });
    let readings: Vec<_> = facts.of(field).collect();
    told(view::weigh(readings.into_iter(), lapsed))
}

/// The partners that pairings and flashes add up to, as one reading.
fn partners(scene: &Scene<'_>, device: &Device, part: &Part) -> Vec<Told> {
    let (Part::End(key), Some(Sort::Receiver)) = (part, device.sort) else { return Vec::new() };
    let seen_from = view::receiver(scene, device);
    let Some(end) = seen_from.ends.into_iter().find(|end| end.end.end == *key) else { return Vec::new() };
    let sources: Vec<_> =
        end.partners.known.iter().map(|(_, source)| source).chain(&end.partners.all).collect();
    let (Some(how), Some(seen)) =
        (sources.iter().map(|source| source.how).min(), sources.iter().map(|source| source.seen).max())
    else {
        return Vec::new();
    };
    let all = end.partners.all.is_some();
    let ends = end.partners.known.into_iter().map(|(end, _)| end).collect();
    vec![Told { value: Value::Partners(Partners { ends, all }), how, seen }]
}

/// A name as it is looked up: letter case and spaces around it make no difference.
fn sought(words: &str) -> String {
    words.trim().to_lowercase()
}

/// What to call each device.
#[derive(Debug)]
pub struct Labels {
    by_device: HashMap<DeviceId, (Sort, Label)>,
    /// Words by which devices of several sorts are called, in lower case.
    shared: HashSet<String>,
}

/// What to call one device in an export.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Label {
    /// Its code, which no other of its sort has.
    Code(String),
    /// Its name, which no other of its sort has; it has no code.
    Name(String),
    /// Neither is its own.
    Id(DeviceId),
}

impl Label {
    /// The words.
    pub fn words(&self) -> String {
        match self {
            Label::Code(words) | Label::Name(words) => words.clone(),
            Label::Id(id) => id.to_string(),
        }
    }
}

impl Labels {
    /// Looks at every device of the scene that has a sort.
    pub fn of(scene: &Scene<'_>) -> Labels {
        let mut counts: HashMap<(Sort, String), HashSet<DeviceId>> = HashMap::new();
        let mut cards = Vec::new();
        for device in scene.devices() {
            let Some(sort) = device.sort else { continue };
            let code = view::words(&device.whole, Field::Code);
            let name = view::words(&device.whole, Field::Name);
            // Clashing codes and names count, too: a reader may take either.
            for words in [Field::Code, Field::Name].iter().flat_map(|field| every(device, *field)) {
                counts.entry((sort, sought(&words))).or_default().insert(device.id);
            }
            let settled = [Field::Code, Field::Name].iter().all(|field| {
                let facts = view::fact(&device.whole, *field);
                !facts.clashes() && facts.one().is_none_or(|value| matches!(value, Value::Text(_)))
            });
            cards.push((device.id, sort, code, name, settled));
        }
        let by_device = cards
            .into_iter()
            .map(|(id, sort, code, name, settled)| {
                let fits = |words: &String| {
                    settled
                        && can_name(words)
                        && counts.get(&(sort, sought(words))).is_some_and(|devices| devices.len() == 1)
                };
                let label = match (code, name) {
                    (Some(code), _) if fits(&code) => Label::Code(code),
                    (None, Some(name)) if fits(&name) => Label::Name(name),
                    _ => Label::Id(id),
                };
                (id, (sort, label))
            })
            .collect();
        let mut sorts: HashMap<String, Sort> = HashMap::new();
        let mut shared = HashSet::new();
        for (sort, words) in counts.into_keys() {
            if sorts.insert(words.clone(), sort).is_some_and(|other| other != sort) {
                shared.insert(words);
            }
        }
        Labels { by_device, shared }
    }

    /// What to call a device; `None` for one that the register only hears of.
    pub fn label(&self, scene: &Scene<'_>, id: DeviceId) -> Option<&Label> {
        self.by_device.get(&scene.register.canonical(id)).map(|(_, label)| label)
    }

    fn end(&self, scene: &Scene<'_>, end: &EndRef) -> Option<String> {
        let device = self.label(scene, end.device)?.words();
        let ends = &scene.device(end.device)?.ends;
        let is_plain = match ends.len() {
            0 => end.end == Part::MAIN,
            1 => ends.contains_key(&end.end),
            _ => false,
        };
        Some(Named { device, end: (!is_plain).then(|| end.end.clone()) }.written())
    }

    /// A value in the words that a list or workshop file states it by; `None` when it
    /// says nothing there, or speaks of a device that the register has no entry of.
    pub fn words(&self, scene: &Scene<'_>, value: &Value) -> Option<String> {
        match value {
            Value::Unknown => None,
            Value::Text(text) => Some(text.clone()).filter(|text| !text.is_empty()),
            Value::Number(number) => Some(number.to_string()),
            Value::Off => Some("off".to_owned()),
            Value::None => Some("none".to_owned()),
            Value::Secret(SecretMark::Blank) => Some("blank".to_owned()),
            Value::Secret(SecretMark::Print { key, print }) => Some(format!("print:{key:016x}:{print:032x}")),
            Value::Secret(SecretMark::SameAs(end)) => {
                let (sort, label) = self.by_device.get(&scene.register.canonical(end.device))?;
                let is_shared = self.shared.contains(&sought(&label.words()));
                let sort = if is_shared { format!("{} ", sort.word()) } else { String::new() };
                Some(format!("same as {sort}{}", self.end(scene, end)?))
            }
            Value::Device(id) => Some(self.label(scene, *id)?.words()),
            Value::Partners(Partners { ends, all }) => {
                let names: Vec<String> = ends.iter().filter_map(|end| self.end(scene, end)).collect();
                // One that can't be named makes *these are all* untrue.
                let all = *all && names.len() == ends.len();
                match (names.is_empty(), all) {
                    (true, true) => Some("none".to_owned()),
                    (true, false) => None,
                    (false, true) => Some(format!("only {}", names.join("; "))),
                    (false, false) => Some(names.join("; ")),
                }
            }
        }
    }
}

/// Every value that a code or name may have.
fn every(device: &Device, field: Field) -> Vec<String> {
    let known = view::fact(&device.whole, field).options.into_iter();
    known
        .filter_map(|(value, _)| match value {
            Value::Text(text) => Some(text),
            Value::Number(number) => Some(number.to_string()),
            _ => None,
        })
        .collect()
}

/// One part of a device, with the words of what holds.
pub(crate) struct Sheet {
    pub part: Part,
    /// Fact by fact; several entries of one field clash.
    pub facts: Vec<Line>,
}

/// One value in words.
#[derive(Clone)]
pub(crate) struct Line {
    pub field: Field,
    pub words: String,
    pub how: How,
    pub seen: Moment,
    /// Whether it clashes with one before it.
    pub beside: bool,
}

/// Everything that an export says of a device.
pub(crate) fn sheets(scene: &Scene<'_>, labels: &Labels, device: &Device, sort: Sort) -> Vec<Sheet> {
    let parts = std::iter::once(Part::Whole)
        .chain(device.ends.keys().cloned().map(Part::End))
        .chain(device.memories.keys().cloned().map(Part::Memory));
    parts
        .map(|part| {
            let mut facts = Vec::new();
            for field in fields_of(sort, &part) {
                let mut beside = false;
                for told in holds(scene, device, &part, *field) {
                    if let Some(words) = labels.words(scene, &told.value) {
                        facts.push(Line { field: *field, words, how: told.how, seen: told.seen, beside });
                        beside = true;
                    }
                }
            }
            Sheet { part, facts }
        })
        .collect()
}

/// When something was seen, as lists state it: a date where it was midnight UTC.
pub(crate) fn seen_words(seen: Moment) -> Option<String> {
    let stamp = jiff::Timestamp::from_millisecond(seen.0).ok()?;
    if seen.0.rem_euclid(register::time::DAY_MS) == 0 { Some(seen.date()) } else { Some(stamp.to_string()) }
}
