//! Bodies of fault trails.

use register::family::Side;
use register::field::Field;
use register::id::EntryId;
use register::trail::{Begun, Closed, Event};
use register::value::{EndRef, Value};
use units::Minutes;

use super::{Object, end_ref, list, shown, write_value};
use crate::push_text;

pub(super) fn begun(object: &mut Object, begun: &Begun) {
    object.text("symptom", &begun.symptom);
    end_or_none(object.key("transmitter"), begun.transmitter.as_ref());
    end_or_none(object.key("receiver"), begun.receiver.as_ref());
    object.text("whose", &begun.whose);
    facts(object, &begun.facts);
    list(object.key("open"), &begun.open, |out, cover| push_text(out, cover));
}

/// Nothing where the minutes are no number that JSON has, or below 0.
pub(super) fn event(object: &mut Object, trail: EntryId, event: &Event) -> Option<()> {
    object.plain("trail", trail);
    match event {
        Event::Answered { step, answer, facts: told } => {
            object.text("did", "answered");
            object.text("step", step);
            object.text("answer", answer);
            facts(object, told);
        }
        Event::Tried { step, helped, facts: changed, way } => {
            object.text("did", "tried");
            object.text("step", step);
            object.text("helped", helped.word());
            facts(object, changed);
            if let Some(way) = way {
                object.text("text", &way.text);
                minutes(object, way.minutes)?;
                object.text("changed", &way.changed);
            }
        }
        Event::Opened { cover } => {
            object.text("did", "opened");
            object.text("cover", cover);
        }
        Event::Elsewise { text, minutes: took, changed } => {
            object.text("did", "elsewise");
            object.text("text", text);
            minutes(object, *took)?;
            object.text("changed", changed);
        }
        Event::PutBack { change } => {
            object.text("did", "put-back");
            object.text("change", change);
        }
        Event::Accepted { change } => {
            object.text("did", "accepted");
            object.text("change", change);
        }
        Event::Proved { proof, held } => {
            object.text("did", "proved");
            object.text("proof", proof);
            shown(object.key("held"), held);
        }
    }
    Some(())
}

/// Nothing where the minutes are no number that JSON has, or below 0.
pub(super) fn closed(object: &mut Object, closed: &Closed) -> Option<()> {
    object.plain("trail", closed.trail);
    object.text("symptom", &closed.symptom);
    object.text("cause", &closed.cause);
    object.text("outcome", closed.outcome.word());
    minutes(object, closed.minutes)
}

/// The fewest digits that read back as the same number.
fn minutes(object: &mut Object, minutes: Minutes) -> Option<()> {
    let good = minutes.0.is_finite() && minutes.0 >= 0.0;
    // The sum makes 0 of -0.
    good.then(|| shown(object.key("minutes"), minutes.0 + 0.0))
}

fn end_or_none(out: &mut String, end: Option<&EndRef>) {
    match end {
        Some(end) => end_ref(out, end),
        None => out.push_str("null"),
    }
}

fn facts(object: &mut Object, facts: &[(Side, Field, Value)]) {
    list(object.key("facts"), facts, |out, (side, field, value)| {
        out.push('[');
        push_text(out, side.word());
        out.push(',');
        push_text(out, field.key());
        out.push(',');
        write_value(out, value);
        out.push(']');
    });
}
