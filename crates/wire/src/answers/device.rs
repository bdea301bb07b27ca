//! One device: every fact that holds, with how and since when it is known.

use register::field::{Field, Part, Sort};
use register::id::DeviceId;
use register::register::{Device as Known, Facts};
use register::scene::Scene;
use register::value::{EndRef, SecretMark, Value};
use register::verdict;
use register::view::{self, Card};
use serde::Serialize;

/// What a list shows of a device.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Short {
    /// Its code, else its name.
    pub label: String,
    /// What it is.
    pub sort: Option<&'static str>,
    /// Its code.
    pub code: Option<String>,
    /// Its name.
    pub name: Option<String>,
    /// Where it is.
    pub state: &'static str,
    /// When anything about it was last seen.
    pub last_seen: Option<String>,
    /// Its id.
    pub id: String,
}

/// One device.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Device {
    /// What lists show of it.
    #[serde(flatten)]
    pub short: Short,
    /// Facts of the whole.
    pub facts: Vec<Fact>,
    /// Its ends.
    pub ends: Vec<PartFacts>,
    /// Its model memories.
    pub memories: Vec<PartFacts>,
    /// How many entries speak about it.
    pub entries: u32,
}

/// The facts of one end or memory.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PartFacts {
    /// Its key.
    pub key: String,
    /// Its facts.
    pub facts: Vec<Fact>,
}

/// One fact: a value, or several that clash.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Fact {
    /// Which.
    pub fact: &'static str,
    /// The value in words; several, joined by `or`, where readings clash.
    pub value: String,
    /// How it is known.
    pub how: Option<&'static str>,
    /// When it was seen.
    pub seen: Option<String>,
    /// Whether equally well known readings disagree.
    pub clash: bool,
    /// Whether it claims to be seen later than it was written down.
    pub future: bool,
}

impl Short {
    /// What a list shows of a device.
    pub fn new(card: &Card, sort: Option<Sort>) -> Short {
        Short {
            label: card.label(),
            sort: sort.map(Sort::word),
            code: card.code.clone(),
            name: card.name.clone(),
            state: card.state.word(),
            last_seen: super::moment(card.last_seen),
            id: card.id.to_string(),
        }
    }
}

impl Device {
    /// The answer on a device of a scene.
    pub fn new(scene: &Scene, device: &Known) -> Device {
        let ends = match device.sort {
            Some(Sort::Transmitter) => view::transmitter(scene, device).ends,
            Some(Sort::Receiver) => view::receiver(scene, device).ends,
            Some(Sort::Aircraft) | None => Vec::new(),
        };
        let ends = ends
            .iter()
            .map(|end| PartFacts { key: end.end.end.clone(), facts: end_facts(scene, device, end) });
        let memories = device
            .memories
            .iter()
            .map(|(key, facts)| PartFacts { key: key.clone(), facts: plain_facts(scene, facts) });
        Device {
            short: Short::new(&view::card(device), device.sort),
            facts: plain_facts(scene, &device.whole),
            ends: ends.collect(),
            memories: memories.collect(),
            entries: device.entries,
        }
    }
}

fn plain_facts(scene: &Scene, facts: &Facts) -> Vec<Fact> {
    Field::ALL.iter().filter_map(|field| fact(scene, *field, &view::fact(facts, *field))).collect()
}

fn fact(scene: &Scene, field: Field, known: &view::Known<Value>) -> Option<Fact> {
    let source = known.source()?;
    let words: Vec<String> = known.options.iter().map(|(value, _)| value_words(scene, value)).collect();
    Some(Fact {
        fact: field.key(),
        value: words.join(" or "),
        how: Some(source.how.word()),
        seen: Some(source.seen.to_string()),
        clash: known.clashes(),
        future: source.future,
    })
}

/// The facts of an end, with what flashes wiped and what pairings brought.
fn end_facts(scene: &Scene, device: &Known, end: &view::EndView) -> Vec<Fact> {
    let Some(standing) = device.ends.get(&end.end.end) else { return Vec::new() };
    let still = |field| match field {
        Field::Region => !end.region.options.is_empty(),
        Field::Secret => !end.secret.options.is_empty(),
        Field::ModelId => !end.model_id.options.is_empty(),
        _ => true,
    };
    let mut facts: Vec<Fact> = Field::ALL
        .iter()
        .copied()
        .filter(|field| *field != Field::Partners && still(*field))
        .filter_map(|field| fact(scene, field, &view::fact(&standing.facts, field)))
        .collect();
    let newest = end.partners.known.iter().map(|(_, source)| *source).max_by_key(|source| source.seen);
    if let Some(source) = end.partners.all.or(newest) {
        let names: Vec<String> = end.partners.known.iter().map(|(end, _)| end_words(scene, end)).collect();
        let value = match (names.is_empty(), end.partners.all.is_some()) {
            (true, _) => "none".to_owned(),
            (false, true) => names.join(", "),
            (false, false) => format!("{} and maybe others", names.join(", ")),
        };
        facts.push(Fact {
            fact: Field::Partners.key(),
            value,
            how: Some(source.how.word()),
            seen: Some(source.seen.to_string()),
            clash: false,
            future: source.future,
        });
        facts.sort_by_key(|fact| Field::ALL.iter().position(|field| field.key() == fact.fact));
    }
    facts
}

/// What a device is called.
pub fn device_words(scene: &Scene, id: DeviceId) -> String {
    scene
        .device(id)
        .map_or_else(|| "a device not in the register".to_owned(), |device| view::card(device).label())
}

/// What an end is called: `T1`, or `T1 (internal)` where it isn't the only one.
pub fn end_words(scene: &Scene, end: &EndRef) -> String {
    let name = device_words(scene, end.device);
    if end.end == Part::MAIN { name } else { format!("{name} ({})", end.end) }
}

/// A value in words. Of a secret only whether it is blank, set or the same as another's.
pub fn value_words(scene: &Scene, value: &Value) -> String {
    match value {
        Value::Unknown => "not known".to_owned(),
        Value::Text(text) => text.clone(),
        Value::Number(number) => number.to_string(),
        Value::Off => "check off".to_owned(),
        Value::None => "none".to_owned(),
        Value::Secret(SecretMark::SameAs(end)) => format!("same as {}", end_words(scene, end)),
        Value::Secret(mark) => verdict::secret_words(scene, mark),
        Value::Device(id) => device_words(scene, *id),
        Value::Partners(partners) => {
            let names: Vec<String> = partners.ends.iter().map(|end| end_words(scene, end)).collect();
            match (names.is_empty(), partners.all) {
                (true, true) => "none".to_owned(),
                (true, false) => "not known".to_owned(),
                (false, true) => format!("only {}", names.join(", ")),
                (false, false) => names.join(", "),
            }
        }
    }
}
