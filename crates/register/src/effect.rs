//! What a change does to the rest of the fleet: every verdict it touches, computed anew.

use std::collections::{BTreeMap, BTreeSet};

use crate::field::{Field, Sort};
use crate::fleet::Fleet;
use crate::id::DeviceId;
use crate::rule::Verdict;
use crate::scene::{Change, Scene};
use crate::time::Moment;
use crate::value::{SecretMark, Value};
use crate::verdict;
use crate::view::{self, Card, ReceiverView, TransmitterView};

/// A link whose verdict changes.
#[derive(Clone, Debug, PartialEq)]
pub struct Touched {
    /// The transmitter.
    pub transmitter: Card,
    /// The receiver.
    pub receiver: Card,
    /// The aircraft it is in after the change, else the one it was in.
    pub aircraft: Option<Card>,
    /// The verdict before; `None` when the pair didn't exist.
    pub before: Option<Verdict>,
    /// The verdict after; `None` when the pair no longer exists.
    pub after: Option<Verdict>,
    /// Whether the link is meant to hold, before or after.
    pub wanted: bool,
    /// Whether it held, was meant to, and no longer is: its receiver is taken out of the
    /// aircraft, or the memory for it is gone.
    pub given_up: bool,
}

impl Touched {
    /// Whether the link held and no longer does, or no longer serves.
    pub fn broken(&self) -> bool {
        self.given_up || (self.before == Some(Verdict::Links) && self.after != Some(Verdict::Links))
    }

    /// Whether the link didn't hold and now does.
    pub fn repaired(&self) -> bool {
        self.after == Some(Verdict::Links) && self.before != Some(Verdict::Links)
    }

    /// The link in words, `T1 with R7 in Swift`.
    pub fn text(&self) -> String {
        let place =
            self.aircraft.as_ref().map(|aircraft| format!(" in {}", aircraft.spoken())).unwrap_or_default();
        format!("{} with {}{place}", self.transmitter.label(), self.receiver.label())
    }
}

/// A scene with changes, and the verdicts that they touch.
#[derive(Clone, Debug)]
pub struct Effect {
    /// Every link whose verdict changes; those that are meant to hold first.
    pub touched: Vec<Touched>,
}

impl Effect {
    /// The links that held and no longer do.
    pub fn breaks(&self) -> impl Iterator<Item = &Touched> {
        self.touched.iter().filter(|touched| touched.broken())
    }

    /// The links that didn't hold and now do.
    pub fn repairs(&self) -> impl Iterator<Item = &Touched> {
        self.touched.iter().filter(|touched| touched.repaired())
    }
}

/// Which links an effect is asked about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scope {
    /// Every pair of a transmitter and a receiver.
    All,
    /// Those that are meant to hold, before or after: much quicker in a large fleet.
    Wanted,
}

/// The verdicts that change from a scene (viewed as `fleet`) to that scene with further
/// changes, `after`.
pub fn effect(scene: &Scene, fleet: &Fleet, after: &Scene) -> Effect {
    effect_on(Scope::All, scene, fleet, after)
}

/// The same for some of the links.
pub fn effect_on(scope: Scope, scene: &Scene, fleet: &Fleet, after: &Scene) -> Effect {
    let mut transmitters: BTreeSet<DeviceId> = BTreeSet::new();
    let mut receivers: BTreeSet<DeviceId> = BTreeSet::new();
    for device in after.changed() {
        if scene.device(device.id) == Some(device) {
            continue;
        }
        match device.sort {
            Some(Sort::Transmitter) => transmitters.insert(device.id),
            Some(Sort::Receiver) => receivers.insert(device.id),
            Some(Sort::Aircraft) | None => continue,
        };
    }
    lean_on(scene, fleet, &mut transmitters, &mut receivers);

    // The views after the change: anew for what changed, the same for all else.
    let here = |id: DeviceId| after.device(id).filter(|device| view::card(device).state.is_here());
    let transmitter_after = |id: DeviceId| {
        here(id)
            .filter(|device| device.sort == Some(Sort::Transmitter))
            .map(|device| view::transmitter(after, device))
    };
    let receiver_after = |id: DeviceId| {
        here(id)
            .filter(|device| device.sort == Some(Sort::Receiver))
            .map(|device| view::receiver(after, device))
    };
    let mut touched = Vec::new();
    let mut compare = |before: Option<(&TransmitterView, &ReceiverView)>,
                       now: Option<(&TransmitterView, &ReceiverView)>| {
        let is_wanted = || [before, now].into_iter().flatten().any(|(t, r)| verdict::wanted(t, r));
        if scope == Scope::Wanted && !is_wanted() {
            return;
        }
        let judged = |pair: Option<(&TransmitterView, &ReceiverView)>| {
            pair.map(|(transmitter, receiver)| verdict::quick(transmitter, receiver))
        };
        let (was, is) = (judged(before), judged(now));
        let meant = |pair: Option<(&TransmitterView, &ReceiverView)>| {
            pair.is_some_and(|(transmitter, receiver)| verdict::wanted(transmitter, receiver))
        };
        // A receiver taken out of its aircraft may link as before, to no use.
        let given_up = was == Some(Verdict::Links) && meant(before) && !meant(now);
        if was == is && !given_up {
            return;
        }
        let Some((transmitter, receiver)) = now.or(before) else { return };
        let was_in = before.and_then(|(_, receiver)| receiver.fitted_in());
        touched.push(Touched {
            transmitter: transmitter.card.clone(),
            receiver: receiver.card.clone(),
            aircraft: receiver.fitted_in().or(was_in).and_then(|id| after.device(id)).map(view::card),
            before: was,
            after: is,
            wanted: is_wanted(),
            given_up,
        });
    };
    let new_receivers: Vec<(DeviceId, Option<ReceiverView>)> =
        receivers.iter().map(|id| (*id, receiver_after(*id))).collect();
    let new_transmitters: Vec<(DeviceId, Option<TransmitterView>)> =
        transmitters.iter().map(|id| (*id, transmitter_after(*id))).collect();
    for (id, now) in &new_transmitters {
        let was = fleet.transmitter(*id);
        for receiver in fleet.receivers.iter().filter(|view| !receivers.contains(&view.card.id)) {
            compare(was.map(|view| (view, receiver)), now.as_ref().map(|view| (view, receiver)));
        }
        for (receiver, receiver_now) in &new_receivers {
            compare(was.zip(fleet.receiver(*receiver)), now.as_ref().zip(receiver_now.as_ref()));
        }
    }
    for (id, now) in &new_receivers {
        let was = fleet.receiver(*id);
        for transmitter in fleet.transmitters.iter().filter(|view| !transmitters.contains(&view.card.id)) {
            compare(was.map(|view| (transmitter, view)), now.as_ref().map(|view| (transmitter, view)));
        }
    }
    touched.sort_by_cached_key(|touched| {
        (
            !touched.wanted,
            crate::fleet::natural(&touched.transmitter.label()),
            crate::fleet::natural(&touched.receiver.label()),
            touched.transmitter.id,
            touched.receiver.id,
        )
    });
    Effect { touched }
}

/// Adds the devices whose facts are stated through devices that change: secrets by *same
/// as*, also through several of them, and receivers that remember a transmitter.
fn lean_on(
    scene: &Scene,
    fleet: &Fleet,
    transmitters: &mut BTreeSet<DeviceId>,
    receivers: &mut BTreeSet<DeviceId>,
) {
    let canonical = |id: DeviceId| scene.register.canonical(id);
    // Who says *the same as on that device*, by that device.
    let mut same_as: BTreeMap<DeviceId, Vec<(Sort, DeviceId)>> = BTreeMap::new();
    let mut note = |sort: Sort, id: DeviceId, ends: &[view::EndView]| {
        for (mark, _) in ends.iter().flat_map(|end| &end.secret.options) {
            if let SecretMark::SameAs(other) = mark {
                same_as.entry(canonical(other.device)).or_default().push((sort, id));
            }
        }
    };
    for view in &fleet.transmitters {
        note(Sort::Transmitter, view.card.id, &view.ends);
    }
    for view in &fleet.receivers {
        note(Sort::Receiver, view.card.id, &view.ends);
    }
    let changed_transmitters = transmitters.clone();
    let mut queue: Vec<DeviceId> = transmitters.iter().chain(receivers.iter()).copied().collect();
    while let Some(id) = queue.pop() {
        for (sort, leaning) in same_as.get(&id).into_iter().flatten() {
            let new = match sort {
                Sort::Receiver => receivers.insert(*leaning),
                _ => transmitters.insert(*leaning),
            };
            if new {
                queue.push(*leaning);
            }
        }
    }
    // A transmitter that was flashed may be forgotten, and remembered again when its
    // family changes: then every pairing ever noted counts.
    let flashed: BTreeSet<DeviceId> = changed_transmitters
        .iter()
        .filter(|id| {
            scene.device(**id).is_some_and(|device| device.ends.values().any(|end| !end.flashes.is_empty()))
        })
        .copied()
        .collect();
    for view in &fleet.receivers {
        let remembers = view
            .ends
            .iter()
            .flat_map(|end| &end.partners.known)
            .any(|(partner, _)| changed_transmitters.contains(&partner.device));
        let once = || {
            !flashed.is_empty()
                && scene.device(view.card.id).is_some_and(|device| {
                    device.ends.values().any(|end| {
                        let paired = end.pairings.iter().map(|mark| mark.transmitter.device);
                        let read = end.facts.of(Field::Partners).flat_map(|reading| match &reading.value {
                            Value::Partners(partners) => partners.ends.as_slice(),
                            _ => &[],
                        });
                        paired
                            .chain(read.map(|end| end.device))
                            .any(|device| flashed.contains(&canonical(device)))
                    })
                })
        };
        if remembers || once() {
            receivers.insert(view.card.id);
        }
    }
}

/// What the fleet would be with `changes` carried out at `now`; nothing is stored.
pub fn what_if(scene: &Scene, fleet: &Fleet, changes: &[Change], now: Moment) -> Effect {
    let mut after = scene.clone();
    for change in changes {
        after.apply(change, now);
    }
    effect(scene, fleet, &after)
}
