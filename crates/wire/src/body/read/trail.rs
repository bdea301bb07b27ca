//! Bodies of fault trails.

use std::borrow::Cow;
use std::fmt;

use register::entry::Body;
use register::family::Side;
use register::field::Field;
use register::id::EntryId;
use register::trail::{Begun, Closed, Event, Helped, Outcome, Way};
use register::value::Value;
use serde::de::{SeqAccess, Visitor};
use serde::{Deserialize, Deserializer};
use serde_json::value::RawValue;
use units::Minutes;

use super::{End, Word, json, rest_of_fact};

/// `{"symptom": …}`: a trail began.
pub(super) fn begun(text: &str) -> Option<Body> {
    let BegunText { symptom, transmitter, receiver, whose, facts, open } = json(text)?;
    Some(Body::TrailBegun(Begun {
        symptom,
        transmitter: transmitter.map(|end| end.0),
        receiver: receiver.map(|end| end.0),
        whose,
        facts: facts.0,
        open,
    }))
}

/// `{"trail": …, "did": …}`: something was done. A deed that this program doesn't know, or
/// one that lacks a part, is nothing.
pub(super) fn event(text: &str) -> Option<Body> {
    let text: EventText = json(text)?;
    let event = match text.did.as_ref() {
        "answered" => Event::Answered { step: text.step?, answer: text.answer?, facts: text.facts.0 },
        "tried" => Event::Tried {
            step: text.step?,
            helped: Helped::from_word(text.helped.as_deref()?)?,
            facts: text.facts.0,
            way: match (text.text, text.minutes) {
                (Some(words), Some(took)) => Some(Way {
                    text: words,
                    minutes: minutes(took)?,
                    changed: text.changed.unwrap_or_default(),
                }),
                _ => None,
            },
        },
        "opened" => Event::Opened { cover: text.cover? },
        "elsewise" => {
            Event::Elsewise { text: text.text?, minutes: minutes(text.minutes?)?, changed: text.changed? }
        }
        "put-back" => Event::PutBack { change: text.change? },
        "accepted" => Event::Accepted { change: text.change? },
        "proved" => Event::Proved { proof: text.proof?, held: text.held? },
        _ => return None,
    };
    Some(Body::TrailEvent { trail: text.trail.0, event })
}

/// `{"trail": …, "outcome": …}`: a trail ended.
pub(super) fn closed(text: &str) -> Option<Body> {
    let ClosedText { trail, symptom, cause, outcome, minutes: took } = json(text)?;
    let outcome = Outcome::from_word(&outcome)?;
    Some(Body::TrailClosed(Closed { trail: trail.0, symptom, cause, outcome, minutes: minutes(took)? }))
}

#[derive(Deserialize)]
struct BegunText {
    symptom: String,
    transmitter: Option<End>,
    receiver: Option<End>,
    #[serde(default)]
    whose: String,
    #[serde(default)]
    facts: SideFacts,
    #[serde(default)]
    open: Vec<String>,
}

/// The parts of every deed; each has its own of them.
#[derive(Deserialize)]
struct EventText<'a> {
    trail: Word<EntryId>,
    #[serde(borrow)]
    did: Cow<'a, str>,
    step: Option<String>,
    answer: Option<String>,
    #[serde(borrow)]
    helped: Option<Cow<'a, str>>,
    #[serde(default)]
    facts: SideFacts,
    cover: Option<String>,
    text: Option<String>,
    #[serde(borrow)]
    minutes: Option<&'a RawValue>,
    changed: Option<String>,
    change: Option<String>,
    proof: Option<String>,
    held: Option<bool>,
}

#[derive(Deserialize)]
struct ClosedText<'a> {
    trail: Word<EntryId>,
    symptom: String,
    cause: String,
    #[serde(borrow)]
    outcome: Cow<'a, str>,
    #[serde(borrow)]
    minutes: &'a RawValue,
}

/// Minutes as they are written: a finite number, 0 or more. From the number's own text,
/// because a detour could change its last bit.
pub(super) fn minutes(text: &RawValue) -> Option<Minutes> {
    let minutes: f64 = text.get().parse().ok()?;
    // The sum makes 0 of -0.
    (minutes.is_finite() && minutes >= 0.0).then_some(Minutes(minutes + 0.0))
}

/// `[["receiver", "firmware", "4.1"], …]`, the facts of a reading with their side.
#[derive(Default)]
struct SideFacts(Vec<(Side, Field, Value)>);

impl<'de> Deserialize<'de> for SideFacts {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let facts = Vec::<SideFact>::deserialize(deserializer)?;
        Ok(SideFacts(facts.into_iter().filter_map(|fact| fact.0).collect()))
    }
}

/// One fact, or nothing when this program doesn't know its side, its field or its form.
struct SideFact(Option<(Side, Field, Value)>);

impl<'de> Deserialize<'de> for SideFact {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Triple;
        impl<'de> Visitor<'de> for Triple {
            type Value = SideFact;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a side, a field and its value")
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<SideFact, A::Error> {
                let side = seq.next_element::<Cow<'de, str>>()?;
                let side = [Side::Transmitter, Side::Receiver]
                    .into_iter()
                    .find(|one| side.as_deref() == Some(one.word()));
                let fact = rest_of_fact(&mut seq)?;
                Ok(SideFact(side.zip(fact).map(|(side, (field, value))| (side, field, value))))
            }
        }
        deserializer.deserialize_seq(Triple)
    }
}
