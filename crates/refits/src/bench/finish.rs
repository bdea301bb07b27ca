//! What comes when both ends of a link are done for an evening: pairing, testing, the range
//! check, closing.

use std::collections::BTreeMap;

use register::family::Energised;
use register::id::DeviceId;
use register::rule::{Answer, Question, Verdict};
use register::scene::Change;
use register::verdict;
use register::view::{self, ReceiverView, TransmitterView};

use super::swap::IN_AIRCRAFT;
use super::{Bench, range_key, test_key};
use crate::release::end_key;
use crate::step::{Back, Sort, Step};
use crate::world::{Craft, Group, World};

impl Bench<'_, '_> {
    /// Pairs what must be paired, tests what was changed and links, and closes what is open.
    /// `last` is set when nothing of the group's devices is left to do.
    pub fn finish(&mut self, group: &Group, last: bool) {
        let world = self.world;
        for at in &group.crafts {
            let craft = &world.crafts[*at];
            self.pair_all(craft);
            if last {
                self.mend_all(craft);
            }
            self.test_all(craft);
            self.close(craft);
            self.range_check_all(craft);
        }
        for receiver in &group.loose {
            self.look_at_loose(*receiver);
        }
    }

    fn pair_all(&mut self, craft: &Craft) {
        let world = self.world;
        for transmitter in &craft.required {
            for receiver in world.fitted(&self.scene, craft) {
                let Some(view) = World::transmitter(&self.scene, *transmitter) else { continue };
                let best = verdict::best(&view, &receiver);
                let paired = best.ruling.answer(Question::Paired) == Answer::Yes;
                if !paired && best.ruling.answer(Question::CanPair) == Answer::Yes {
                    self.pair(craft, &view, &receiver, best);
                }
            }
        }
    }

    fn pair(
        &mut self,
        craft: &Craft,
        transmitter: &TransmitterView,
        receiver: &ReceiverView,
        best: verdict::Best,
    ) {
        let (t, r) = (&transmitter.ends[best.transmitter], &receiver.ends[best.receiver]);
        let rules = register::rule::rules_for(t, r);
        if let Some(cover) = rules.and_then(|family| Bench::cover_of(Some(family), &family.pairing.needs)) {
            self.open_cover(craft, cover);
        }
        let (tn, rn) = (self.end_name(&t.end), self.end_name(&r.end));
        let own = self.world.scene.register.minutes().workshop("mend.pair");
        let minutes = own.unwrap_or_else(|| {
            rules.map_or_else(
                || self.minutes("mend.pair", None),
                |family| family.minutes.get("mend.pair").copied().unwrap_or(family.pairing.minutes),
            )
        });
        let energises = match rules {
            Some(family) if !family.pairing.energises.is_empty() => family.pairing.energises.clone(),
            _ => IN_AIRCRAFT.to_vec(),
        };
        let gesture = rules
            .filter(|family| !family.pairing.gesture.is_empty())
            .map(|family| format!(" {}", family.pairing.gesture.join(" ")))
            .unwrap_or_default();
        let step = Step {
            key: format!("pair:{}:{}", end_key(&r.end), end_key(&t.end)),
            sort: Sort::Pair,
            what: craft.card.id,
            device: r.end.device,
            text: format!("Pair {rn} with {tn}.{gesture}"),
            minutes,
            needs: rules.map(|family| family.pairing.needs.clone()).unwrap_or_default(),
            energises,
            cautions: vec![
                "Don't pair beside other gear that is in pair mode.".to_owned(),
                "Pairing can store the failsafe: look at it again afterwards.".to_owned(),
            ],
            changes: vec![Change::Pair { receiver: r.end.clone(), transmitter: t.end.clone() }],
            if_fails: format!(
                "If they don't find each other, begin a fault trail (won't pair) with {} and {}.",
                self.label(t.end.device),
                self.label(r.end.device)
            ),
            back: Back::Nothing,
        };
        self.push(step);
    }

    /// What a wish asks for besides, once both ends are done.
    fn mend_all(&mut self, craft: &Craft) {
        let world = self.world;
        for transmitter in &craft.required {
            for receiver in world.fitted(&self.scene, craft) {
                let Some(steps) = world.extra.get(&(*transmitter, receiver.card.id)) else { continue };
                let Some(view) = World::transmitter(&self.scene, *transmitter) else { continue };
                let link = verdict::link(&self.scene, &view, &receiver);
                if link.verdict() == Verdict::Links {
                    continue;
                }
                for step in steps.clone() {
                    let Some(device) = step.changes.first().map(Change::device) else { continue };
                    let mut mend = Step {
                        key: format!("mend:{device}/{}", step.key),
                        sort: Sort::Set,
                        what: craft.card.id,
                        device,
                        cautions: step.caution.iter().map(|words| (*words).to_owned()).collect(),
                        text: step.text,
                        minutes: step.minutes,
                        needs: Vec::new(),
                        energises: step.energises,
                        changes: step.changes,
                        if_fails: String::new(),
                        back: Back::Way {
                            text: "Set it back to what it was; the logbook has it.".to_owned(),
                            minutes: step.minutes,
                        },
                    };
                    self.before_a_flash(craft.card.id, &mut mend);
                    self.push(mend);
                }
            }
        }
    }

    /// The transmitters that an aircraft links with and was changed towards since `last` says it
    /// was tried with them.
    fn untried(&self, craft: &Craft, last: &BTreeMap<(DeviceId, DeviceId), u64>) -> Vec<DeviceId> {
        let changed = |device: &DeviceId| self.changed.get(device).copied();
        let receivers = self.world.fitted(&self.scene, craft);
        let of_receivers = receivers.iter().filter_map(|view| changed(&view.card.id)).max();
        let of = |transmitter: &DeviceId| changed(transmitter).max(of_receivers);
        craft
            .flown_by
            .iter()
            .copied()
            .filter(|id| of(id).is_some() && last.get(&(*id, craft.card.id)).copied() <= of(id))
            .filter(|id| self.world.links(&self.scene, *id, craft))
            .collect()
    }

    fn test_all(&mut self, craft: &Craft) {
        for transmitter in self.untried(craft, &self.tested) {
            let (tn, name) = (self.label(transmitter), craft.card.spoken());
            self.push(Step {
                key: test_key(transmitter, craft.card.id),
                sort: Sort::Test,
                what: craft.card.id,
                device: transmitter,
                text: format!(
                    "Switch {tn} on, then {name}, propeller off: the lamp shows a link, every output moves the \
                     right way, and with {tn} switched off the failsafe does what it should, motor stopped."
                ),
                minutes: self.minutes("refit.test", None),
                needs: Vec::new(),
                energises: IN_AIRCRAFT.to_vec(),
                cautions: Vec::new(),
                changes: Vec::new(),
                if_fails: format!(
                    "If it doesn't link, don't go on: the verdict on {tn} and {name} says which rule is broken, \
                     a fault trail finds the rest."
                ),
                back: Back::Nothing,
            });
            self.tested.insert((transmitter, craft.card.id), self.tick);
        }
    }

    fn range_check_all(&mut self, craft: &Craft) {
        for transmitter in self.untried(craft, &self.ranged) {
            let (tn, name) = (self.label(transmitter), craft.card.spoken());
            self.push(Step {
                key: range_key(transmitter, craft.card.id),
                sort: Sort::RangeCheck,
                what: craft.card.id,
                device: transmitter,
                text: format!(
                    "Range check of {name} with {tn}, in the open, as its maker's manual says: motor still first, \
                     then running with the aircraft held. Full power again afterwards."
                ),
                minutes: self.minutes("refit.range_check", None),
                needs: Vec::new(),
                energises: IN_AIRCRAFT.to_vec(),
                cautions: vec![
                    "With the propeller on: the aircraft is tied down or held, and nobody stands in its plane."
                        .to_owned(),
                ],
                changes: Vec::new(),
                if_fails: format!(
                    "If it is clearly shorter than last time, {name} doesn't fly until the cause is found."
                ),
                back: Back::Nothing,
            });
            self.ranged.insert((transmitter, craft.card.id), self.tick);
        }
    }

    fn close(&mut self, craft: &Craft) {
        let id = craft.card.id;
        if !self.open.remove(&id) {
            return;
        }
        self.push(Step {
            key: format!("close:{id}"),
            sort: Sort::Close,
            what: id,
            device: id,
            // Its minutes are counted where it is opened.
            text: format!("Close the cover of {}; antennas where they were.", craft.card.spoken()),
            minutes: units::Minutes::ZERO,
            needs: Vec::new(),
            energises: Vec::new(),
            cautions: Vec::new(),
            changes: Vec::new(),
            if_fails: String::new(),
            back: Back::Nothing,
        });
    }

    /// A receiver in no aircraft: that it starts and holds what was written.
    fn look_at_loose(&mut self, receiver: DeviceId) {
        let changed = self.changed.get(&receiver).copied();
        let looked = self.tested.get(&(receiver, receiver)).copied();
        let before = self.world.question.done.last(&format!("look:{receiver}"));
        let Some(changed) = changed else { return };
        if looked.max(before).is_some_and(|at| at > changed) {
            return;
        }
        let Some(view) = self.scene.device(receiver).map(|device| view::receiver(&self.scene, device)) else {
            return;
        };
        let family = view.ends.first().and_then(|end| end.rules.clone());
        let name = self.label(receiver);
        let held = view.ends.first().and_then(|end| end.firmware.one().cloned()).unwrap_or_default();
        self.push(Step {
            key: format!("look:{receiver}"),
            sort: Sort::Test,
            what: receiver,
            device: receiver,
            text: format!("Switch {name} on: it starts and says that it holds {held}."),
            minutes: self.minutes("check.firmware", family.as_deref()),
            needs: Vec::new(),
            energises: vec![Energised::Receiver],
            cautions: Vec::new(),
            changes: Vec::new(),
            if_fails: String::new(),
            back: Back::Nothing,
        });
        self.tested.insert((receiver, receiver), self.tick);
    }
}
