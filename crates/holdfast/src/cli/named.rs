//! Devices, ends and parts by the names that a person types.

use anyhow::bail;
use register::family::Side;
use register::field::{Field, Part, Sort};
use register::fleet::{self, NotFound};
use register::id::{DeviceId, EntryId};
use register::register::Device;
use register::scene::Scene;
use register::time::Moment;
use register::value::{EndRef, Value};

use super::out::clip;
use crate::values;
use crate::workshop::now;

/// A device of a scene.
pub fn device(scene: &Scene, name: &str, sort: Option<Sort>) -> anyhow::Result<DeviceId> {
    match (fleet::find(scene, name, sort), sort) {
        (Err(why @ NotFound::Nothing { .. }), Some(sort)) => {
            // Better than "no such device": what it is instead.
            let other = fleet::find(scene, name, None).ok().and_then(|id| scene.device(id)?.sort);
            match other {
                Some(other) => bail!("{} is {}, not {}", clip(name, 60), a(other), a(sort)),
                None => Err(why.into()),
            }
        }
        (found, _) => Ok(found?),
    }
}

/// The transmitter that is named, if one is.
pub fn transmitter(scene: &Scene, name: Option<&str>) -> anyhow::Result<Option<DeviceId>> {
    name.map(|name| device(scene, name, Some(Sort::Transmitter))).transpose()
}

/// `a receiver`, `an aircraft`.
pub fn a(sort: Sort) -> String {
    let article = if sort == Sort::Aircraft { "an" } else { "a" };
    format!("{article} {}", sort.word())
}

/// One end of a device, named as `R1` or `R1/END`.
pub fn end(scene: &Scene, name: &str, sort: Option<Sort>) -> anyhow::Result<EndRef> {
    let side = if sort == Some(Sort::Receiver) { Side::Receiver } else { Side::Transmitter };
    values::end(scene, name, sort, side).or_else(|why| {
        // Where the whole name is a device of another sort, that is the better answer.
        device(scene, name, sort)?;
        bail!(why)
    })
}

/// A device, and the part of it that is named behind a slash: `R1/END`, `T1/memory:3`.
pub fn with_part(scene: &Scene, name: &str) -> anyhow::Result<(DeviceId, Option<Part>)> {
    match fleet::find(scene, name, None) {
        Ok(device) => Ok((device, None)),
        Err(why) => {
            let Some((device_name, part)) = name.rsplit_once('/') else { return Err(why.into()) };
            let device = device(scene, device_name, None)?;
            let part = match Part::from_word(part) {
                Some(Part::Memory(key)) => Part::Memory(key),
                Some(Part::End(key)) => Part::End(key),
                _ => Part::End(values::key(part).map_err(|why| anyhow::anyhow!("the end's key {why}"))?),
            };
            Ok((device, Some(part)))
        }
    }
}

/// A fact by its name, or by the name that lists and workshop files have for it.
pub fn fact(name: &str) -> anyhow::Result<Field> {
    match name.trim().replace(['-', ' '], "_").to_lowercase().as_str() {
        "paired_with" => Ok(Field::Partners),
        name => Ok(name.parse()?),
    }
}

/// The facts that an end has.
const OF_AN_END: &[Field] = &[
    Field::Family,
    Field::Band,
    Field::Region,
    Field::Firmware,
    Field::Secret,
    Field::ModelId,
    Field::Partners,
    Field::Antenna,
];

/// The part that a fact belongs to, where the person names none.
pub fn part_of(device: &Device, label: &str, field: Field) -> anyhow::Result<Part> {
    let sort = device.sort;
    match field {
        Field::ModelId | Field::Aircraft | Field::End if sort == Some(Sort::Transmitter) => {
            let keys: Vec<&str> = device.memories.keys().map(String::as_str).collect();
            let there = match keys.as_slice() {
                [] => "it has none yet; any key makes one".to_owned(),
                keys => format!("it has {}", keys.join(", ")),
            };
            bail!(
                "the {} of a transmitter is kept by model memory: add --memory KEY ({there})",
                field.label()
            )
        }
        _ if !OF_AN_END.contains(&field) => Ok(Part::Whole),
        _ if sort == Some(Sort::Aircraft) => {
            bail!("{label} is an aircraft and has no {}; name the receiver in it", field.label())
        }
        _ => {
            let keys: Vec<&str> = device.ends.keys().map(String::as_str).collect();
            match keys.as_slice() {
                [] => Ok(Part::End(Part::MAIN.to_owned())),
                [only] => Ok(Part::End((*only).to_owned())),
                many => bail!("{label} has several ends ({}); name one with --end", many.join(", ")),
            }
        }
    }
}

/// Refuses a fact that such a part never has.
pub fn check_fit(device: &Device, label: &str, part: &Part, field: Field) -> anyhow::Result<()> {
    let fits = match (part, device.sort) {
        (Part::Memory(_), Some(Sort::Receiver | Sort::Aircraft)) => {
            bail!("{label} is no transmitter; only transmitters have model memories")
        }
        (Part::End(_), Some(Sort::Aircraft)) => bail!("{label} is an aircraft and has no ends"),
        (Part::Memory(_), _) => {
            matches!(field, Field::Name | Field::ModelId | Field::Aircraft | Field::End | Field::Note)
        }
        (Part::End(_), Some(Sort::Transmitter)) if matches!(field, Field::ModelId | Field::Partners) => false,
        (Part::End(_), _) => {
            OF_AN_END.contains(&field)
                || matches!(field, Field::Name | Field::Maker | Field::Model | Field::Pack | Field::Note)
        }
        (Part::Whole, sort) => match field {
            Field::Craft => sort == Some(Sort::Aircraft),
            Field::Aircraft => sort == Some(Sort::Receiver),
            Field::Handset => sort == Some(Sort::Transmitter),
            Field::End => false,
            other => !OF_AN_END.contains(&other),
        },
    };
    if fits {
        return Ok(());
    }
    let what = device.sort.map_or("device", Sort::word);
    let place = match part {
        Part::Whole => format!("a {what}"),
        Part::End(_) => format!("an end of a {what}"),
        Part::Memory(_) => "a model memory".to_owned(),
    };
    bail!("{} is no fact of {place}", field.key())
}

/// A value for a fact. What was typed for a link secret is never repeated: it may be one.
pub fn value(
    scene: &Scene,
    device: DeviceId,
    part: &Part,
    field: Field,
    words: &str,
) -> anyhow::Result<Value> {
    values::parse(scene, device, part, field, words).map_err(|why| match field {
        Field::Secret => anyhow::anyhow!(
            "the link secret given is neither `blank` nor `same as` a device of this workshop (T1, or \
             T1/END where it has several ends). The secret itself is \
             never typed here: use `record DEVICE secret` and type it when asked, or --secret-stdin"
        ),
        _ => anyhow::anyhow!("the {} given {why}", field.label()),
    })
}

/// When something was seen; now, where nobody says.
pub fn seen(text: Option<&str>) -> anyhow::Result<Moment> {
    match text {
        None => Ok(now()),
        Some(text) => Ok(Moment::parse(text)?),
    }
}

/// An entry's id.
pub fn entry(text: &str) -> anyhow::Result<EntryId> {
    text.parse().map_err(|why| anyhow::anyhow!("{why}; `show history` lists the entries with theirs"))
}

/// Splits words at blanks; a name within quotation marks is one word.
pub fn words(text: &str) -> anyhow::Result<Vec<String>> {
    let (mut words, mut word, mut mark, mut any) = (Vec::new(), String::new(), None, false);
    for c in text.chars() {
        match (c, mark) {
            (c, Some(open)) if c == open => mark = None,
            ('"' | '\'', None) => {
                mark = Some(c);
                any = true;
            }
            (c, None) if c.is_whitespace() => {
                if any {
                    words.push(std::mem::take(&mut word));
                    any = false;
                }
            }
            (c, _) => {
                word.push(c);
                any = true;
            }
        }
    }
    if mark.is_some() {
        bail!("a quotation mark is not closed");
    }
    if any {
        words.push(word);
    }
    Ok(words)
}

#[cfg(test)]
mod tests {
    #[test]
    fn names_with_blanks_stand_in_quotation_marks() {
        let split = |text| super::words(text).ok();
        let words = |list: &[&str]| Some(list.iter().map(|word| (*word).to_owned()).collect::<Vec<_>>());
        assert_eq!(split("R1 firmware 4.2"), words(&["R1", "firmware", "4.2"]));
        assert_eq!(split("\"Big One\" band '2.4 GHz'"), words(&["Big One", "band", "2.4 GHz"]));
        assert_eq!(split("a=\"b c\"  d"), words(&["a=b c", "d"]));
        assert_eq!(split("\"\""), words(&[""]));
        assert_eq!(split("\"open"), None);
    }
}
