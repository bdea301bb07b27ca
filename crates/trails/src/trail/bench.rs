//! Whose gear a trail is about: the register with a guest's gear supposed in it.

use register::family::{Family, Side};
use register::field::{Field, How, Part, Sort};
use register::id::{DeviceId, EntryId};
use register::register::Register;
use register::rule::{Rule, Status};
use register::scene::{Change as Supposed, Scene};
use register::time::Moment;
use register::trail::{Event, TrailLog};
use register::value::{EndRef, Value};
use register::verdict::{self, Link};
use register::view::{self, ReceiverView, TransmitterView};

use super::{Guests, Lost};
use crate::fitted::{Fitted, Gear};

/// The device that stands for a guest's gear on a trail: in no register, and never written.
pub fn guest(trail: EntryId, side: Side) -> DeviceId {
    // The complement of a version 7 id is none, so it can't be a device's.
    match side {
        Side::Transmitter => DeviceId(!trail.0),
        Side::Receiver => DeviceId(!trail.0 ^ 1),
    }
}

/// The key of the memory that stands for the one chosen on a guest's transmitter.
pub(super) const GUEST_MEMORY: &str = "now";

/// Whose gear a trail is about.
pub(super) struct Bench<'a> {
    pub scene: Scene<'a>,
    pub guests: Guests,
    pub transmitter: TransmitterView,
    pub receiver: ReceiverView,
    pub link: Link,
}

impl<'a> Bench<'a> {
    /// The gear with `more` facts of guest gear supposed beside those of the trail.
    pub fn of(
        register: &'a Register,
        log: &TrailLog,
        now: Moment,
        more: &[(Side, Field, Value)],
    ) -> Result<Bench<'a>, Lost> {
        let mut scene = Scene::new(register);
        let begun = &log.begun.what;
        let guest_of = |side, given: bool| (!given).then(|| guest(log.id(), side));
        let guests = Guests {
            transmitter: guest_of(Side::Transmitter, begun.transmitter.is_some()),
            receiver: guest_of(Side::Receiver, begun.receiver.is_some()),
        };
        let sides = [
            (Side::Transmitter, guests.transmitter, Sort::Transmitter, "the guest's transmitter"),
            (Side::Receiver, guests.receiver, Sort::Receiver, "the guest's receiver"),
        ];
        for (_, device, sort, name) in sides {
            let Some(device) = device else { continue };
            scene.apply(&Supposed::Add { device, sort }, now);
            let name = Value::Text(name.to_owned());
            scene.apply(&Supposed::Set { device, part: Part::Whole, field: Field::Name, value: name }, now);
            // It has an end, whatever that is.
            let part = Part::End(Part::MAIN.to_owned());
            scene.apply(&Supposed::Set { device, part, field: Field::Note, value: Value::Unknown }, now);
        }
        // What was said at the start was told; what came with an answer was seen then.
        let start = begun.facts.iter().map(|fact| (How::Told, log.begun.seen, fact));
        // What a mend changed and was put back since is as it was.
        let put_back = |at: usize, step: &str| {
            log.events[at..]
                .iter()
                .any(|mark| matches!(&mark.what, Event::PutBack { change } if change == step))
        };
        let told = log.events.iter().enumerate().flat_map(|(at, mark)| {
            let facts = match &mark.what {
                Event::Tried { step, .. } if put_back(at, step) => &[],
                Event::Answered { facts, .. } | Event::Tried { facts, .. } => facts.as_slice(),
                _ => &[],
            };
            facts.iter().map(|fact| (How::Seen, mark.seen, fact))
        });
        let more = more.iter().map(|fact| (How::Seen, now, fact));
        for (how, seen, (side, field, value)) in start.chain(told).chain(more) {
            let (guest, own) = match side {
                Side::Transmitter => (guests.transmitter, &begun.transmitter),
                Side::Receiver => (guests.receiver, &begun.receiver),
            };
            let end = match own {
                Some(end) => end.clone(),
                None => EndRef { device: guest.unwrap_or(DeviceId::WORKSHOP), end: Part::MAIN.to_owned() },
            };
            let part = match (side, field) {
                (Side::Transmitter, Field::ModelId) => Part::Memory(GUEST_MEMORY.to_owned()),
                _ => Part::End(end.end),
            };
            scene.read(end.device, &part, how, seen, (*field, value.clone()));
        }
        let id = |end: &Option<EndRef>, guest: Option<DeviceId>| end.as_ref().map(|end| end.device).or(guest);
        let lost = |what| Lost::Device(what);
        let device = |id: Option<DeviceId>, sort, what| {
            id.and_then(|id| scene.device(id)).filter(|device| device.sort == Some(sort)).ok_or(lost(what))
        };
        let t = device(id(&begun.transmitter, guests.transmitter), Sort::Transmitter, "the transmitter")?;
        let r = device(id(&begun.receiver, guests.receiver), Sort::Receiver, "the receiver")?;
        let transmitter = view::transmitter(&scene, t);
        let receiver = view::receiver(&scene, r);
        let link = verdict::link(&scene, &transmitter, &receiver);
        Ok(Bench { scene, guests, transmitter, receiver, link })
    }

    /// The family that rules the link, where its file is known.
    pub fn family(&self) -> Option<&Family> {
        let t = self.transmitter.ends.iter().find(|end| end.end == self.link.transmitter_end)?;
        let r = self.receiver.ends.iter().find(|end| end.end == self.link.receiver_end)?;
        t.rules.as_deref().or(r.rules.as_deref())
    }

    pub fn gear(&self) -> Gear<'_> {
        let unknown = self.guests.receiver.is_some() || self.receiver.aircraft.options.is_empty();
        let fitted = if unknown {
            None
        } else if self.receiver.fitted_in().is_some() {
            Some(Fitted::InAircraft)
        } else {
            Some(Fitted::Loose)
        };
        let ends = self.guests.transmitter.is_none().then_some(self.transmitter.ends.len());
        Gear { family: self.family(), fitted, ends }
    }

    /// Judges the gear anew, after something was supposed in the scene.
    pub fn again(&mut self) -> Option<()> {
        let t = view::transmitter(&self.scene, self.scene.device(self.transmitter.card.id)?);
        let r = view::receiver(&self.scene, self.scene.device(self.receiver.card.id)?);
        self.link = verdict::link(&self.scene, &t, &r);
        (self.transmitter, self.receiver) = (t, r);
        Some(())
    }

    /// What a rule came to.
    pub fn status(&self, rule: Rule) -> Option<Status> {
        self.link.findings.iter().find(|finding| finding.rule == rule).map(|finding| finding.status)
    }
}
