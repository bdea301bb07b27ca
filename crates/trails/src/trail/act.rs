//! What a person may do on a trail, and what is then to be written down.

use register::family::Side;
use register::field::{Field, Part};
use register::id::DeviceId;
use register::register::Register;
use register::rule::{Rule, Status};
use register::scene::Change;
use register::time::Moment;
use register::trail::{Event, Helped, TrailLog, Way};
use register::value::{Partners, SecretMark, Value};
use units::Minutes;

use super::Trail;
use super::bench::{Bench, GUEST_MEMORY};
use super::replay::{ELSEWISE, rule_key};
use crate::file::CANT_TELL;
use crate::model::{Kind, Model, StepAt};

/// Something that a person did.
#[derive(Clone, Debug, PartialEq)]
pub enum Deed {
    /// A check was answered.
    Answer {
        /// The step's key.
        step: String,
        /// The answer's key; empty for *can't tell*, or where the facts tell it.
        answer: String,
        /// Facts that were read.
        facts: Vec<(Side, Field, Value)>,
    },
    /// A mend was tried.
    Tried {
        /// The step's key, `rule:version` for a failed rule.
        step: String,
        /// Which of the failed rule's mends; the quickest where nothing is said.
        mend: Option<usize>,
        /// Whether it helped.
        helped: Helped,
    },
    /// A cover was opened, or something fetched.
    Opened {
        /// The cover's key.
        cover: String,
    },
    /// Something else was done.
    Elsewise {
        /// What.
        text: String,
        /// How long it took.
        minutes: Minutes,
        /// What it left changed; empty for nothing.
        changed: String,
        /// Whether it helped.
        helped: Helped,
    },
    /// A change was put back.
    PutBack {
        /// Its key.
        change: String,
    },
    /// A change is to stay.
    Accepted {
        /// Its key.
        change: String,
    },
    /// A proof was tried.
    Proved {
        /// Its key.
        proof: String,
        /// Whether it held.
        held: bool,
    },
}

/// What is to be written down.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Act {
    /// Events of the trail, in order.
    pub events: Vec<Event>,
    /// Readings of registered gear: seen on the device just now.
    pub readings: Vec<(DeviceId, Part, Field, Value)>,
    /// Changes of registered gear that a mend made.
    pub changes: Vec<Change>,
}

/// A deed doesn't fit the trail.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    /// The trail is closed.
    #[error("this trail is closed; strike its closing entry to take it up again, or begin a new one")]
    Closed,
    /// No such thing.
    #[error("there is no {what} `{key}` here; there are: {known}")]
    Unknown {
        /// What sort of thing.
        what: &'static str,
        /// What was named.
        key: String,
        /// What there is.
        known: String,
    },
    /// A check was tried like a mend, or the other way round.
    #[error("`{0}` is a {1}: {2}")]
    Sort(String, &'static str, &'static str),
    /// There is no text.
    #[error("say in a few words what was done")]
    NoText,
    /// The words are too long to keep.
    #[error("the words may have {MOST_WORDS} characters at most; say it shorter")]
    TooLong,
    /// A length of time that can't be.
    #[error("the minutes must lie between 0 and {MOST_MINUTES}")]
    Minutes,
    /// A proof before anything helped.
    #[error("nothing has helped yet: a proof comes after a mend that seems to work")]
    NothingHelped,
    /// A change must be settled first.
    #[error("still to be put back or accepted by name: {0}")]
    Unsettled(String),
    /// A proof is missing.
    #[error("not proven yet: {0}")]
    Unproven(String),
    /// Nothing helped, so it can't end as proven.
    #[error("nothing is written down that helped; say what did, or end it as given up or left")]
    NotFound,
    /// The facts that were given tell another answer.
    #[error(
        "the facts given tell `{0}`, another answer than was given; leave the answer out, or correct the facts"
    )]
    FactsSay(&'static str),
    /// The fact has no place on this side.
    #[error("{0} can't be written down here: {1}")]
    NoPlace(&'static str, &'static str),
}

/// The longest that one thing may have taken: a week.
pub const MOST_MINUTES: f64 = 10_080.0;

/// The longest words of something else that was done, characters.
pub const MOST_WORDS: usize = 500;

/// What a register's mend leaves changed, by its key: what a careful flier puts back.
fn leaves(mend: &str) -> Option<&'static str> {
    match mend {
        "mend.check_off" => Some("The model-ID check is off"),
        "mend.clear_secret" => Some("The link secrets are cleared"),
        _ => None,
    }
}

pub(super) fn unknown<'a>(what: &'static str, key: &str, known: impl Iterator<Item = &'a str>) -> Refused {
    let known: Vec<&str> = known.collect();
    let known = if known.is_empty() { "none".to_owned() } else { known.join(", ") };
    Refused::Unknown { what, key: key.chars().take(60).collect(), known }
}

fn step_named(model: &Model, key: &str) -> Result<StepAt, Refused> {
    model.step(key).ok_or_else(|| unknown("step", key, model.steps.iter().map(|step| step.key.as_str())))
}

/// What is to be written down for a deed. Nothing is decided but by the trail as it stands.
///
/// # Errors
/// The deed names something that isn't there, or doesn't fit where the trail stands.
pub fn act(
    register: &Register,
    log: &TrailLog,
    trail: &Trail,
    deed: Deed,
    now: Moment,
) -> Result<Act, Refused> {
    if trail.closed.is_some() {
        return Err(Refused::Closed);
    }
    let model = &trail.model;
    let mut act = Act::default();
    match deed {
        Deed::Answer { step, answer, facts } => {
            let at = step_named(model, &step)?;
            let Some(check) = model.steps[at].as_check() else {
                return Err(Refused::Sort(step, "mend", "say whether it helped"));
            };
            let places = facts
                .iter()
                .map(|(side, field, _)| place(trail, *side, *field))
                .collect::<Result<Vec<_>, _>>()?;
            // A look that its facts tell needs no answer beside them.
            let answer = if answer == CANT_TELL { String::new() } else { answer };
            let answer = if answer.is_empty() {
                check.rule.and_then(|rule| by_facts(register, log, rule, &places, &facts, now)).unwrap_or("")
            } else {
                &answer
            };
            if let Some(told) = check
                .rule
                .filter(|_| !facts.is_empty())
                .and_then(|rule| by_facts(register, log, rule, &places, &facts, now))
                && told != answer
            {
                return Err(Refused::FactsSay(told));
            }
            let known = || check.answers.iter().map(|one| one.key.as_str());
            if !answer.is_empty() && !known().any(|key| key == answer) {
                return Err(unknown("answer", answer, known().chain([CANT_TELL])));
            }
            let answer = answer.to_owned();
            let guests = act.sort_out(trail, places, facts);
            act.events.push(Event::Answered { step, answer, facts: guests });
        }
        Deed::Tried { step, mend, helped } => act.tried(trail, step, mend, helped)?,
        Deed::Opened { cover } => {
            if model.cover(&cover).is_none() {
                return Err(unknown("cover", &cover, model.covers.iter().map(|cover| cover.key.as_str())));
            }
            act.events.push(Event::Opened { cover });
        }
        Deed::Elsewise { text, minutes, changed, helped } => {
            let (text, changed) = (text.trim().to_owned(), changed.trim().to_owned());
            if text.chars().count().max(changed.chars().count()) > MOST_WORDS {
                return Err(Refused::TooLong);
            }
            if text.is_empty() {
                return Err(Refused::NoText);
            }
            if !(0.0..=MOST_MINUTES).contains(&minutes.0) {
                return Err(Refused::Minutes);
            }
            act.events.push(Event::Elsewise { text, minutes, changed });
            if helped == Helped::Yes {
                act.events.push(Event::Tried {
                    step: ELSEWISE.to_owned(),
                    helped,
                    facts: Vec::new(),
                    way: None,
                });
            }
        }
        Deed::PutBack { change } => {
            named_change(trail, &change)?;
            act.events.push(Event::PutBack { change });
        }
        Deed::Accepted { change } => {
            named_change(trail, &change)?;
            act.events.push(Event::Accepted { change });
        }
        Deed::Proved { proof, held } => {
            if !trail.proofs.iter().any(|one| one.key == proof) {
                return Err(unknown("proof", &proof, trail.proofs.iter().map(|one| one.key.as_str())));
            }
            if trail.helped.is_none() {
                return Err(Refused::NothingHelped);
            }
            act.events.push(Event::Proved { proof, held });
        }
    }
    Ok(act)
}

fn named_change(trail: &Trail, key: &str) -> Result<(), Refused> {
    let open = || trail.open_changes().map(|change| change.key.as_str());
    if open().any(|have| have == key) { Ok(()) } else { Err(unknown("open change", key, open())) }
}

/// Where a fact belongs: the device and the part.
///
/// # Errors
/// It has no place on that side.
pub fn place(trail: &Trail, side: Side, field: Field) -> Result<(DeviceId, Part), Refused> {
    let link = &trail.link;
    match (side, field) {
        (Side::Transmitter, Field::ModelId) => match (&link.memory, trail.guests.transmitter) {
            (_, Some(_)) => Ok((link.transmitter.id, Part::Memory(GUEST_MEMORY.to_owned()))),
            (Some((key, _)), None) => Ok((link.transmitter.id, Part::Memory(key.clone()))),
            (None, None) => Err(Refused::NoPlace(
                "the transmitter's model ID",
                "no memory for this aircraft is written down; add the memory first",
            )),
        },
        (Side::Transmitter, _) => {
            Ok((link.transmitter_end.device, Part::End(link.transmitter_end.end.clone())))
        }
        (Side::Receiver, _) => Ok((link.receiver_end.device, Part::End(link.receiver_end.end.clone()))),
    }
}

/// The answer that a rule's check has once the facts are known: `good`, `bad`, or none.
fn by_facts(
    register: &Register,
    log: &TrailLog,
    rule: Rule,
    places: &[(DeviceId, Part)],
    facts: &[(Side, Field, Value)],
    now: Moment,
) -> Option<&'static str> {
    let mut bench = Bench::of(register, log, now, facts).ok()?;
    for ((device, part), (_, field, value)) in places.iter().zip(facts) {
        bench.scene.apply(
            &Change::Set { device: *device, part: part.clone(), field: *field, value: value.clone() },
            now,
        );
    }
    bench.again()?;
    match bench.status(rule)? {
        Status::Pass => Some("good"),
        Status::Fail => Some("bad"),
        Status::Unknown => None,
    }
}

impl Act {
    fn tried(
        &mut self,
        trail: &Trail,
        step: String,
        mend: Option<usize>,
        helped: Helped,
    ) -> Result<(), Refused> {
        let (mut facts, mut way) = (Vec::new(), None);
        if let Some(certain) = trail.certain.iter().find(|one| rule_key(one.rule) == step) {
            // What can't be done changes nothing.
            if helped != Helped::CantTell && !certain.mends.is_empty() {
                let at = mend.unwrap_or(0);
                let Some(mend) = certain.mends.get(at) else {
                    let known: Vec<String> = (1..=certain.mends.len()).map(|n| n.to_string()).collect();
                    let asked = at.saturating_add(1).to_string();
                    return Err(unknown("way", &asked, known.iter().map(String::as_str)));
                };
                let changed = mend.steps.iter().find_map(|step| leaves(step.key)).unwrap_or_default();
                way = Some(Way {
                    text: mend.action.clone(),
                    minutes: mend.minutes,
                    changed: changed.to_owned(),
                });
                for change in mend.steps.iter().flat_map(|step| &step.changes) {
                    // A pairing after which there is still no link is none.
                    if helped == Helped::Yes || !matches!(change, Change::Pair { .. }) {
                        self.carry_out(trail, change, &mut facts);
                    }
                }
            }
        } else if step.starts_with("rule:") {
            let keys: Vec<String> = trail.certain.iter().map(|one| rule_key(one.rule)).collect();
            return Err(unknown("failed rule", &step, keys.iter().map(String::as_str)));
        } else {
            let at = step_named(&trail.model, &step)?;
            if matches!(trail.model.steps[at].kind, Kind::Check(_)) {
                return Err(Refused::Sort(step, "check", "give one of its answers"));
            }
        }
        self.events.push(Event::Tried { step, helped, facts, way });
        Ok(())
    }

    /// Readings of registered gear go to the register, those of guest gear stay on the trail.
    fn sort_out(
        &mut self,
        trail: &Trail,
        places: Vec<(DeviceId, Part)>,
        facts: Vec<(Side, Field, Value)>,
    ) -> Vec<(Side, Field, Value)> {
        let mut guests = Vec::new();
        for ((device, part), (side, field, value)) in places.into_iter().zip(facts) {
            if trail.guests.side_of(device).is_some() {
                guests.push((side, field, value));
            } else {
                self.readings.push((device, part, field, value));
            }
        }
        guests
    }

    /// A change of registered gear goes to the register, one of guest gear stays on the trail.
    /// What would name a guest's device in the register stays on the trail as well: there the
    /// fact only becomes unknown.
    fn carry_out(&mut self, trail: &Trail, change: &Change, facts: &mut Vec<(Side, Field, Value)>) {
        let guest = trail.guests.side_of(change.device());
        match change {
            Change::Set { field, value, .. } if guest.is_none() && trail.guests.named_in(value) => {
                self.unknown_now(trail, change.device(), *field);
                facts.push((trail.side_of(change.device()), *field, value.clone()));
            }
            Change::Pair { receiver, transmitter } => {
                let known = guest.is_none() && trail.guests.side_of(transmitter.device).is_none();
                if known {
                    self.changes.push(change.clone());
                    return;
                }
                if guest.is_none() {
                    self.unknown_now(trail, receiver.device, Field::Partners);
                }
                let partners = Partners { ends: vec![transmitter.clone()], all: false };
                facts.push((Side::Receiver, Field::Partners, Value::Partners(partners)));
            }
            _ if guest.is_none() => self.changes.push(change.clone()),
            Change::Set { field, value, .. } => {
                facts.push((trail.side_of(change.device()), *field, value.clone()));
            }
            Change::Flash { version, .. } => {
                let fact = Value::Text(version.clone());
                facts.push((trail.side_of(change.device()), Field::Firmware, fact));
            }
            Change::Add { .. } => {}
        }
    }

    fn unknown_now(&mut self, trail: &Trail, device: DeviceId, field: Field) {
        let end = match trail.side_of(device) {
            Side::Transmitter => &trail.link.transmitter_end,
            Side::Receiver => &trail.link.receiver_end,
        };
        self.readings.push((device, Part::End(end.end.clone()), field, Value::Unknown));
    }
}

impl Trail {
    /// The side on which a device of this trail stands.
    fn side_of(&self, device: DeviceId) -> Side {
        if device == self.link.transmitter.id { Side::Transmitter } else { Side::Receiver }
    }
}

impl super::Guests {
    /// Whether a value names a guest's device.
    fn named_in(&self, value: &Value) -> bool {
        let ours = |device: &DeviceId| self.side_of(*device).is_some();
        match value {
            Value::Secret(SecretMark::SameAs(end)) => ours(&end.device),
            Value::Device(device) => ours(device),
            Value::Partners(partners) => partners.ends.iter().any(|end| ours(&end.device)),
            _ => false,
        }
    }

    /// The side on which a device stands for guest gear.
    pub fn side_of(&self, device: DeviceId) -> Option<Side> {
        if self.transmitter == Some(device) {
            Some(Side::Transmitter)
        } else if self.receiver == Some(device) {
            Some(Side::Receiver)
        } else {
            None
        }
    }
}
