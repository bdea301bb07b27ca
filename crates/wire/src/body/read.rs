//! Text to bodies, without a detour through a JSON tree: this is on the path of
//! every start of the program.

mod fit;
mod refit;
mod trail;

use std::borrow::Cow;
use std::fmt;
use std::str::FromStr;

use register::entry::Body;
use register::field::{Field, How, Part, Sort};
use register::id::{DeviceId, Digest, EntryId};
use register::value::{EndRef, Partners, SecretMark, Value};
use serde::de::{Error, IgnoredAny, MapAccess, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer};

use super::{VERSION, kind};

/// What a body's text says. Whatever this program can't read (a kind it doesn't know,
/// a newer version, a form it doesn't understand) is [`Body::Opaque`]; of a reading or a
/// fault trail, only the facts it doesn't know are left out, but a refit with a wish that it
/// doesn't know is [`Body::Opaque`] as a whole.
pub fn decode(kind: &str, version: u32, text: &str) -> Body {
    if version != VERSION {
        return Body::Opaque;
    }
    read(kind, text).unwrap_or(Body::Opaque)
}

fn read(kind: &str, text: &str) -> Option<Body> {
    Some(match kind {
        kind::READING => {
            let ReadingText { part, how, facts, replaces } = json(text)?;
            Body::Reading {
                part: part_from_word(&part)?,
                how: How::from_word(&how)?,
                facts: facts.0,
                replaces: replaces.into_iter().map(|entry| entry.0).collect(),
            }
        }
        kind::DEVICE => Body::Device { sort: Sort::from_word(&json::<DeviceText>(text)?.sort)? },
        kind::PAIRED => {
            let PairedText { end, transmitter } = json(text)?;
            Body::Paired { end, transmitter: transmitter.0 }
        }
        kind::FLASHED => {
            let FlashedText { end, version, route } = json(text)?;
            Body::Flashed { end, version, route }
        }
        kind::STRIKE => Body::Strike { entry: json::<StrikeText>(text)?.entry.0 },
        kind::SAME_AS => Body::SameAs { other: json::<OtherText>(text)?.other.0 },
        kind::PARTED => Body::Parted { other: json::<OtherText>(text)?.other.0 },
        kind::FAMILY => {
            let FamilyText { name, file } = json(text)?;
            Body::Family { name, file: file.0 }
        }
        kind::MAPPING => {
            let MappingText { header, file } = json(text)?;
            Body::Mapping { header, file: file.0 }
        }
        kind::SETTING => {
            let SettingText { key, value } = json(text)?;
            Body::Setting { key, value }
        }
        kind::NOTE => Body::Note { text: json::<NoteText>(text)?.text },
        kind::TRAIL => trail::begun(text)?,
        kind::TRAIL_STEP => trail::event(text)?,
        kind::TRAIL_END => trail::closed(text)?,
        kind::REFIT => refit::begun(text)?,
        kind::REFIT_EVENT => refit::event(text)?,
        kind::FITTED => fit::fitted(text)?,
        kind::PROVED => fit::proved(text)?,
        kind::WORKED => fit::worked(text)?,
        kind::SIGNED => fit::signed(text)?,
        _ => return None,
    })
}

fn json<'a, T: Deserialize<'a>>(text: &'a str) -> Option<T> {
    serde_json::from_str(text).ok()
}

/// Like [`Part::from_word`], but an empty key is a key: what was written is read back.
fn part_from_word(word: &str) -> Option<Part> {
    if word == "whole" {
        return Some(Part::Whole);
    }
    match word.split_once(':')? {
        ("end", key) => Some(Part::End(key.to_owned())),
        ("memory", key) => Some(Part::Memory(key.to_owned())),
        _ => None,
    }
}

#[derive(Deserialize)]
struct DeviceText<'a> {
    #[serde(borrow)]
    sort: Cow<'a, str>,
}

#[derive(Deserialize)]
struct ReadingText<'a> {
    #[serde(borrow)]
    part: Cow<'a, str>,
    #[serde(borrow)]
    how: Cow<'a, str>,
    facts: Facts,
    #[serde(default)]
    replaces: Vec<Word<EntryId>>,
}

#[derive(Deserialize)]
struct PairedText {
    end: String,
    transmitter: End,
}

#[derive(Deserialize)]
struct FlashedText {
    end: String,
    version: String,
    #[serde(default)]
    route: String,
}

#[derive(Deserialize)]
struct StrikeText {
    entry: Word<EntryId>,
}

#[derive(Deserialize)]
struct OtherText {
    other: Word<DeviceId>,
}

#[derive(Deserialize)]
struct FamilyText {
    name: String,
    file: Word<Digest>,
}

#[derive(Deserialize)]
struct MappingText {
    header: String,
    file: Word<Digest>,
}

#[derive(Deserialize)]
struct SettingText {
    key: String,
    value: Option<String>,
}

#[derive(Deserialize)]
struct NoteText {
    text: String,
}

/// A string in which an id or a digest is written.
struct Word<T>(T);

impl<'de, T: FromStr> Deserialize<'de> for Word<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Words<T>(std::marker::PhantomData<T>);
        impl<T: FromStr> Visitor<'_> for Words<T> {
            type Value = Word<T>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an id or a digest")
            }
            fn visit_str<E: Error>(self, text: &str) -> Result<Self::Value, E> {
                text.parse().map(Word).map_err(|_| E::custom("not an id or a digest"))
            }
        }
        deserializer.deserialize_str(Words(std::marker::PhantomData))
    }
}

/// `["device", "end"]`.
struct End(EndRef);

impl<'de> Deserialize<'de> for End {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let (device, end) = <(Word<DeviceId>, String)>::deserialize(deserializer)?;
        Ok(End(EndRef { device: device.0, end }))
    }
}

/// `[["firmware", "4.1"], …]`: pairs in a list, because their order is part of the
/// text and a field may stand there twice.
struct Facts(Vec<(Field, Value)>);

impl<'de> Deserialize<'de> for Facts {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Pairs;
        impl<'de> Visitor<'de> for Pairs {
            type Value = Facts;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a list of facts")
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Facts, A::Error> {
                let mut facts = Vec::new();
                while let Some(fact) = seq.next_element::<Fact>()? {
                    facts.extend(fact.0);
                }
                Ok(Facts(facts))
            }
        }
        deserializer.deserialize_seq(Pairs)
    }
}

/// One fact, or nothing when this program doesn't know its field or its form.
struct Fact(Option<(Field, Value)>);

impl<'de> Deserialize<'de> for Fact {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Pair;
        impl<'de> Visitor<'de> for Pair {
            type Value = Fact;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a field and its value")
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Fact, A::Error> {
                Ok(Fact(rest_of_fact(&mut seq)?))
            }
        }
        deserializer.deserialize_seq(Pair)
    }
}

/// The field and the value at the end of a fact, and whatever a newer program put after them.
fn rest_of_fact<'de, A: SeqAccess<'de>>(seq: &mut A) -> Result<Option<(Field, Value)>, A::Error> {
    let missing = || A::Error::custom("a fact is a field and its value");
    let field = seq.next_element::<FieldKey>()?.ok_or_else(missing)?.0;
    let fact = match field {
        Some(field) => {
            let value = seq.next_element::<Form>()?.ok_or_else(missing)?.0;
            value.map(|value| (field, value))
        }
        None => None,
    };
    while seq.next_element::<IgnoredAny>()?.is_some() {}
    Ok(fact)
}

struct FieldKey(Option<Field>);

impl<'de> Deserialize<'de> for FieldKey {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Key;
        impl Visitor<'_> for Key {
            type Value = FieldKey;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("the key of a field")
            }
            fn visit_str<E: Error>(self, text: &str) -> Result<FieldKey, E> {
                Ok(FieldKey(Field::ALL.iter().copied().find(|field| field.key() == text)))
            }
        }
        deserializer.deserialize_str(Key)
    }
}

/// A value, or nothing when this program doesn't know its form.
struct Form(Option<Value>);

impl<'de> Deserialize<'de> for Form {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(FormVisitor)
    }
}

struct FormVisitor;

impl<'de> Visitor<'de> for FormVisitor {
    type Value = Form;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value")
    }

    fn visit_unit<E: Error>(self) -> Result<Form, E> {
        Ok(Form(Some(Value::Unknown)))
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<Form, E> {
        Ok(Form(Some(Value::Text(text.to_owned()))))
    }

    fn visit_u64<E: Error>(self, number: u64) -> Result<Form, E> {
        Ok(Form(u32::try_from(number).ok().map(Value::Number)))
    }

    fn visit_i64<E: Error>(self, _: i64) -> Result<Form, E> {
        Ok(Form(None))
    }

    fn visit_f64<E: Error>(self, _: f64) -> Result<Form, E> {
        Ok(Form(None))
    }

    fn visit_bool<E: Error>(self, _: bool) -> Result<Form, E> {
        Ok(Form(None))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Form, A::Error> {
        while seq.next_element::<IgnoredAny>()?.is_some() {}
        Ok(Form(None))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Form, A::Error> {
        let mut value = None;
        let mut ends = None;
        let mut all = None;
        while let Some(key) = map.next_key::<Cow<'de, str>>()? {
            match key.as_ref() {
                "off" => value = map.next_value::<bool>()?.then_some(Value::Off),
                "none" => value = map.next_value::<bool>()?.then_some(Value::None),
                "device" => value = Some(Value::Device(map.next_value::<Word<DeviceId>>()?.0)),
                "secret" => value = map.next_value::<Mark>()?.0.map(Value::Secret),
                "partners" => {
                    ends = Some(map.next_value::<Vec<End>>()?.into_iter().map(|end| end.0).collect());
                }
                "all" => all = Some(map.next_value::<bool>()?),
                _ => {
                    map.next_value::<IgnoredAny>()?;
                }
            }
        }
        if let (Some(ends), Some(all)) = (ends, all) {
            value = Some(Value::Partners(Partners { ends, all }));
        }
        Ok(Form(value))
    }
}

/// What is kept of a link secret, or nothing when this program doesn't know the form.
struct Mark(Option<SecretMark>);

impl<'de> Deserialize<'de> for Mark {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Marks;
        impl<'de> Visitor<'de> for Marks {
            type Value = Mark;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("the mark of a link secret")
            }
            fn visit_str<E: Error>(self, text: &str) -> Result<Mark, E> {
                Ok(Mark((text == "blank").then_some(SecretMark::Blank)))
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Mark, A::Error> {
                let (mut key, mut print, mut same_as) = (None, None, None);
                while let Some(name) = map.next_key::<Cow<'de, str>>()? {
                    match name.as_ref() {
                        "key" => key = u64::from_str_radix(&map.next_value::<Cow<'de, str>>()?, 16).ok(),
                        "print" => print = u128::from_str_radix(&map.next_value::<Cow<'de, str>>()?, 16).ok(),
                        "same_as" => same_as = Some(map.next_value::<End>()?.0),
                        _ => {
                            map.next_value::<IgnoredAny>()?;
                        }
                    }
                }
                Ok(Mark(match (key, print, same_as) {
                    (Some(key), Some(print), _) => Some(SecretMark::Print { key, print }),
                    (_, _, Some(end)) => Some(SecretMark::SameAs(end)),
                    _ => None,
                }))
            }
        }
        deserializer.deserialize_any(Marks)
    }
}
