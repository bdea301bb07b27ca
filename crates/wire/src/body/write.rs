//! Bodies to text.

mod fit;
mod refit;
mod trail;

use std::fmt::{Display, Write as _};

use register::entry::Body;
use register::field::{Field, How, Part};
use register::id::EntryId;
use register::value::{EndRef, Partners, SecretMark, Value};

use super::{Encoded, VERSION, kind};
use crate::push_text;

/// The text of a body; nothing for [`Body::Opaque`], which only travels as the text
/// it came in, nothing for minutes that are no number or below 0, and nothing for a fit, a proof
/// or a signature past a bound.
pub fn encode(body: &Body, salt: [u8; 16]) -> Option<Encoded> {
    let mut object = Object::new(salt);
    let kind = match body {
        Body::Device { sort } => {
            object.text("sort", sort.word());
            kind::DEVICE
        }
        Body::Reading { part, how, facts, replaces } => {
            reading(&mut object, part, *how, facts, replaces);
            kind::READING
        }
        Body::Paired { end, transmitter } => {
            object.text("end", end);
            end_ref(object.key("transmitter"), transmitter);
            kind::PAIRED
        }
        Body::Flashed { end, version, route } => {
            object.text("end", end);
            object.text("version", version);
            object.text("route", route);
            kind::FLASHED
        }
        Body::Strike { entry } => {
            object.plain("entry", entry);
            kind::STRIKE
        }
        Body::SameAs { other } => {
            object.plain("other", other);
            kind::SAME_AS
        }
        Body::Parted { other } => {
            object.plain("other", other);
            kind::PARTED
        }
        Body::Family { name, file } => {
            object.text("name", name);
            object.plain("file", file);
            kind::FAMILY
        }
        Body::Mapping { header, file } => {
            object.text("header", header);
            object.plain("file", file);
            kind::MAPPING
        }
        Body::Setting { key, value } => {
            object.text("key", key);
            match value {
                Some(value) => object.text("value", value),
                None => object.key("value").push_str("null"),
            }
            kind::SETTING
        }
        Body::Note { text } => {
            object.text("text", text);
            kind::NOTE
        }
        Body::TrailBegun(begun) => {
            trail::begun(&mut object, begun);
            kind::TRAIL
        }
        Body::TrailEvent { trail, event } => {
            trail::event(&mut object, *trail, event)?;
            kind::TRAIL_STEP
        }
        Body::TrailClosed(closed) => {
            trail::closed(&mut object, closed)?;
            kind::TRAIL_END
        }
        Body::RefitBegun(begun) => {
            refit::begun(&mut object, begun)?;
            kind::REFIT
        }
        Body::RefitEvent { refit, event } => {
            refit::event(&mut object, *refit, event)?;
            kind::REFIT_EVENT
        }
        Body::Fitted(fitted) => {
            fit::fitted(&mut object, fitted)?;
            kind::FITTED
        }
        Body::Proved(proved) => {
            fit::proved(&mut object, proved)?;
            kind::PROVED
        }
        Body::Worked(worked) => {
            fit::worked(&mut object, worked)?;
            kind::WORKED
        }
        Body::Signed(signed) => {
            fit::signed(&mut object, signed)?;
            kind::SIGNED
        }
        Body::Opaque => return None,
    };
    Some(Encoded { kind, version: VERSION, text: object.end() })
}

fn reading(object: &mut Object, part: &Part, how: How, facts: &[(Field, Value)], replaces: &[EntryId]) {
    object.text("part", &part.word());
    object.text("how", how.word());
    list(object.key("facts"), facts, |out, (field, value)| {
        out.push('[');
        push_text(out, field.key());
        out.push(',');
        write_value(out, value);
        out.push(']');
    });
    list(object.key("replaces"), replaces, |out, entry| plain(out, entry));
}

fn write_value(out: &mut String, value: &Value) {
    match value {
        Value::Unknown => out.push_str("null"),
        Value::Text(text) => push_text(out, text),
        Value::Number(number) => shown(out, number),
        Value::Off => out.push_str(r#"{"off":true}"#),
        Value::None => out.push_str(r#"{"none":true}"#),
        Value::Secret(mark) => {
            out.push_str(r#"{"secret":"#);
            write_secret(out, mark);
            out.push('}');
        }
        Value::Device(device) => {
            out.push_str(r#"{"device":"#);
            plain(out, device);
            out.push('}');
        }
        Value::Partners(Partners { ends, all }) => {
            out.push_str(r#"{"partners":"#);
            list(out, ends, end_ref);
            out.push_str(r#","all":"#);
            shown(out, all);
            out.push('}');
        }
    }
}

fn write_secret(out: &mut String, mark: &SecretMark) {
    match mark {
        SecretMark::Blank => out.push_str("\"blank\""),
        SecretMark::Print { key, print } => {
            shown(out, format_args!(r#"{{"key":"{key:016x}","print":"{print:032x}"}}"#));
        }
        SecretMark::SameAs(end) => {
            out.push_str(r#"{"same_as":"#);
            end_ref(out, end);
            out.push('}');
        }
    }
}

fn end_ref(out: &mut String, end: &EndRef) {
    out.push('[');
    plain(out, end.device);
    out.push(',');
    push_text(out, &end.end);
    out.push(']');
}

fn list<T>(out: &mut String, items: &[T], mut item: impl FnMut(&mut String, &T)) {
    out.push('[');
    for (i, one) in items.iter().enumerate() {
        if i > 0 {
            out.push(',');
        }
        item(out, one);
    }
    out.push(']');
}

/// A string that needs no escapes: ids, digests.
fn plain(out: &mut String, word: impl Display) {
    shown(out, format_args!("\"{word}\""));
}

fn shown(out: &mut String, what: impl Display) {
    write!(out, "{what}").expect("writing to a string can't fail");
}

/// A JSON object in the making, its salt first.
struct Object(String);

impl Object {
    fn new(salt: [u8; 16]) -> Object {
        let mut out = String::with_capacity(192);
        shown(&mut out, format_args!(r#"{{"salt":"{:032x}""#, u128::from_be_bytes(salt)));
        Object(out)
    }

    fn key(&mut self, key: &str) -> &mut String {
        shown(&mut self.0, format_args!(",\"{key}\":"));
        &mut self.0
    }

    fn text(&mut self, key: &str, text: &str) {
        push_text(self.key(key), text);
    }

    fn plain(&mut self, key: &str, word: impl Display) {
        plain(self.key(key), word);
    }

    fn end(mut self) -> String {
        self.0.push('}');
        self.0
    }
}
