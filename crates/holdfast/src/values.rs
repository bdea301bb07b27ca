//! A value as a person types it, for both doors: checked against the fact it is for and
//! against the family's file, where there is one.

use register::family::{ModelIdRule, Side, Version};
use register::field::{Field, Part, Sort};
use register::fleet;
use register::id::DeviceId;
use register::scene::Scene;
use register::value::{EndRef, Partners, SecretMark, Value};
use register::view::{self, State};

/// The longest text that is kept, characters.
pub const LONGEST: usize = 10_000;

/// Words that can be kept.
///
/// # Errors
/// They are too long, or hold a NUL character, which no list or file can carry.
pub fn text(words: &str) -> Result<String, String> {
    let words = words.trim();
    if words.contains('\0') {
        return Err("holds a NUL character, which can't be kept; leave it out".to_owned());
    }
    if words.chars().count() > LONGEST {
        return Err(format!(
            "is longer than {LONGEST} characters; shorten it, or attach it as a note in parts"
        ));
    }
    Ok(words.to_owned())
}

/// A key for an end or a memory.
///
/// # Errors
/// It is empty, too long, or holds control characters.
pub fn key(words: &str) -> Result<String, String> {
    let words = words.trim();
    if words.is_empty() {
        return Err("is empty; call it `main` where there is only one".to_owned());
    }
    if words.chars().count() > 64 || words.chars().any(char::is_control) {
        return Err("must be at most 64 characters, without line breaks".to_owned());
    }
    Ok(words.to_owned())
}

/// Reads a value for a fact. A link secret can only be `blank` or `same as DEVICE` here:
/// a typed secret must take another way, on which it isn't shown.
///
/// # Errors
/// The text is no value of this fact; the message says what would be.
pub fn parse(
    scene: &Scene,
    device: DeviceId,
    part: &Part,
    field: Field,
    words: &str,
) -> Result<Value, String> {
    let words = text(words)?;
    if words.is_empty() {
        return Err("is empty; write a value, or say that it is not known any more".to_owned());
    }
    let lower = words.to_lowercase();
    if lower == "unknown" {
        return Ok(Value::Unknown);
    }
    let rules = rules(scene, device, part);
    match field {
        Field::State => State::from_word(&words)
            .map(|state| Value::Text(state.word().to_owned()))
            .ok_or_else(|| "is none of: in use, shelf, lent, crashed, sold, destroyed".to_owned()),
        Field::Aircraft if matches!(lower.as_str(), "none" | "-") => Ok(Value::None),
        Field::Aircraft => fleet::find(scene, &words, Some(Sort::Aircraft))
            .map(Value::Device)
            .map_err(|error| format!("must be an aircraft or `none`: {error}")),
        Field::ModelId => model_id(&words, rules.as_deref()),
        Field::Partners => partners(scene, &words),
        Field::Secret => secret(scene, &words),
        Field::Band => match rules.as_deref() {
            Some(family) if family.band(&words).is_none() => {
                let bands: Vec<&str> = family.bands.iter().map(|band| band.name.as_str()).collect();
                Err(format!("is no band of {}; its bands are {}", family.name, bands.join(", ")))
            }
            _ => Ok(Value::Text(words)),
        },
        Field::Region => match rules.as_deref() {
            Some(family) if !family.regions.variants.is_empty() && family.region(&words).is_none() => {
                Err(format!(
                    "is no region variant of {}; its variants are {}",
                    family.name,
                    family.regions.variants.join(", ")
                ))
            }
            _ => Ok(Value::Text(words)),
        },
        Field::Firmware if Version::parse(&words).is_none() => {
            Err("is no version; write its numbers as the device shows them, such as 4.1".to_owned())
        }
        Field::End => {
            let known = scene.device(device).is_some_and(|device| device.ends.contains_key(&words));
            let ends = scene
                .device(device)
                .map(|device| device.ends.keys().cloned().collect::<Vec<_>>())
                .unwrap_or_default();
            if known || ends.is_empty() {
                Ok(Value::Text(words))
            } else {
                Err(format!("is no end of this transmitter; its ends are {}", ends.join(", ")))
            }
        }
        _ => Ok(Value::Text(words)),
    }
}

fn rules(scene: &Scene, device: DeviceId, part: &Part) -> Option<std::sync::Arc<register::family::Family>> {
    let device = scene.device(device)?;
    let of_end = |key: &str| {
        let facts = device.ends.get(key)?;
        let name = view::words(&facts.facts, Field::Family)?;
        scene.register.family(&name).cloned()
    };
    match part {
        Part::End(key) => of_end(key),
        Part::Memory(key) => {
            let chosen = device.memories.get(key).and_then(|facts| view::words(facts, Field::End));
            match chosen {
                Some(end) => of_end(&end),
                None if device.ends.len() == 1 => of_end(device.ends.keys().next()?),
                None => None,
            }
        }
        Part::Whole => None,
    }
}

fn model_id(words: &str, rules: Option<&register::family::Family>) -> Result<Value, String> {
    if words.eq_ignore_ascii_case("off") {
        return Ok(Value::Off);
    }
    let number: u32 = words
        .parse()
        .map_err(|_| "must be a whole number, or `off` when the check is switched off".to_owned())?;
    match rules.map(|family| (&family.name, &family.model_id)) {
        Some((_, ModelIdRule::Checked { off: Some(off), .. })) if *off == number => Ok(Value::Off),
        Some((name, ModelIdRule::Checked { low, high, off, .. })) if !(*low..=*high).contains(&number) => {
            let off = off.map(|off| format!(", and {off} switches the check off")).unwrap_or_default();
            Err(format!("is outside the IDs of {name}: {low} to {high}{off}"))
        }
        _ => Ok(Value::Number(number)),
    }
}

/// An end named as `T1` or `T1/module`.
///
/// # Errors
/// There is no such device, or it has several ends and none is named.
pub fn end(scene: &Scene, words: &str, sort: Option<Sort>, side: Side) -> Result<EndRef, String> {
    let words = words.trim();
    let (name, key) = match words.rsplit_once('/') {
        Some((name, key)) if fleet::find(scene, words, sort).is_err() => (name, Some(key.trim())),
        _ => (words, None),
    };
    let device = fleet::find(scene, name, sort).map_err(|error| error.to_string())?;
    let ends: Vec<&str> = scene
        .device(device)
        .map(|device| device.ends.keys().map(String::as_str).collect())
        .unwrap_or_default();
    match key {
        Some(key) if ends.contains(&key) || ends.is_empty() => Ok(EndRef { device, end: key.to_owned() }),
        Some(key) => Err(format!("`{key}` is no end of {name}; its ends are {}", ends.join(", "))),
        None => match ends.as_slice() {
            [] => Ok(EndRef { device, end: Part::MAIN.to_owned() }),
            [only] => Ok(EndRef { device, end: (*only).to_owned() }),
            many => Err(format!(
                "the {} {name} has several ends ({}): name one, as {name}/{}",
                side.word(),
                many.join(", "),
                many[0]
            )),
        },
    }
}

fn partners(scene: &Scene, words: &str) -> Result<Value, String> {
    if matches!(words.to_lowercase().as_str(), "none" | "-") {
        return Ok(Value::Partners(Partners { ends: Vec::new(), all: true }));
    }
    let (list, all) = match words.strip_prefix("only ") {
        Some(list) => (list, true),
        None => (words, false),
    };
    let ends = list
        .split([';', ',', '+'])
        .map(str::trim)
        .filter(|name| !name.is_empty())
        .map(|name| end(scene, name, Some(Sort::Transmitter), Side::Transmitter))
        .collect::<Result<Vec<_>, _>>()?;
    Ok(Value::Partners(Partners { ends, all }))
}

fn secret(scene: &Scene, words: &str) -> Result<Value, String> {
    if words.eq_ignore_ascii_case("blank") {
        return Ok(Value::Secret(SecretMark::Blank));
    }
    let lower = words.to_lowercase();
    let same = ["same as ", "same-as "].iter().find(|prefix| lower.starts_with(**prefix));
    match same {
        Some(prefix) => end(scene, &words[prefix.len()..], None, Side::Transmitter)
            .map(|end| Value::Secret(SecretMark::SameAs(end))),
        // What was typed is not repeated: it may be the secret itself.
        None => {
            Err("must be `blank` or `same as DEVICE` here; the secret itself is typed where it isn't shown"
                .to_owned())
        }
    }
}
