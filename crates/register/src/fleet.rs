//! The whole fleet, viewed: every transmitter, receiver and aircraft of a scene.

use std::collections::{BTreeSet, HashMap};

use crate::field::{Field, Sort};
use crate::id::DeviceId;
use crate::scene::Scene;
use crate::verdict::{self, Link};
use crate::view::{self, Card, ReceiverView, TransmitterView};

/// An aircraft.
#[derive(Clone, Debug, PartialEq)]
pub struct AircraftView {
    /// What it is called and where it is.
    pub card: Card,
    /// What sort of aircraft, in the owner's words.
    pub craft: Option<String>,
}

/// Every device that the workshop still has, each list in the order of labels.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Fleet {
    /// Transmitters.
    pub transmitters: Vec<TransmitterView>,
    /// Receivers.
    pub receivers: Vec<ReceiverView>,
    /// Aircraft.
    pub aircraft: Vec<AircraftView>,
    /// Sold and destroyed devices, and devices that are only spoken of.
    pub gone: Vec<Card>,
    at: HashMap<DeviceId, (Sort, usize)>,
}

/// A sort key that puts `R9` before `R10`: digits compare as numbers.
pub fn natural(label: &str) -> Vec<(bool, u64, String)> {
    let mut parts: Vec<(bool, u64, String)> = Vec::new();
    let mut rest = label;
    while !rest.is_empty() && parts.len() < 16 {
        let digits = rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len());
        if digits > 0 {
            parts.push((false, rest[..digits].parse().unwrap_or(u64::MAX), String::new()));
            rest = &rest[digits..];
        }
        let words = rest.find(|c: char| c.is_ascii_digit()).unwrap_or(rest.len());
        if words > 0 {
            parts.push((true, 0, rest[..words].to_lowercase()));
            rest = &rest[words..];
        }
    }
    parts
}

impl Fleet {
    /// The fleet of a scene.
    pub fn of(scene: &Scene) -> Fleet {
        let mut fleet = Fleet::default();
        for device in scene.devices() {
            let card = view::card(device);
            if !card.state.is_here() {
                fleet.gone.push(card);
                continue;
            }
            match device.sort {
                Some(Sort::Transmitter) => fleet.transmitters.push(view::transmitter(scene, device)),
                Some(Sort::Receiver) => fleet.receivers.push(view::receiver(scene, device)),
                Some(Sort::Aircraft) => fleet
                    .aircraft
                    .push(AircraftView { card, craft: view::words(&device.whole, Field::Craft) }),
                None => fleet.gone.push(card),
            }
        }
        let order = |card: &Card| (natural(&card.label()), card.id);
        fleet.transmitters.sort_by_cached_key(|view| order(&view.card));
        fleet.receivers.sort_by_cached_key(|view| order(&view.card));
        fleet.aircraft.sort_by_cached_key(|view| order(&view.card));
        fleet.gone.sort_by_cached_key(order);
        let index = |fleet: &mut Fleet, sort: Sort, ids: Vec<DeviceId>| {
            fleet.at.extend(ids.into_iter().enumerate().map(|(at, id)| (id, (sort, at))));
        };
        let ids = fleet.transmitters.iter().map(|view| view.card.id).collect();
        index(&mut fleet, Sort::Transmitter, ids);
        let ids = fleet.receivers.iter().map(|view| view.card.id).collect();
        index(&mut fleet, Sort::Receiver, ids);
        let ids = fleet.aircraft.iter().map(|view| view.card.id).collect();
        index(&mut fleet, Sort::Aircraft, ids);
        fleet
    }

    /// A transmitter.
    pub fn transmitter(&self, id: DeviceId) -> Option<&TransmitterView> {
        match self.at.get(&id)? {
            (Sort::Transmitter, at) => self.transmitters.get(*at),
            _ => None,
        }
    }

    /// A receiver.
    pub fn receiver(&self, id: DeviceId) -> Option<&ReceiverView> {
        match self.at.get(&id)? {
            (Sort::Receiver, at) => self.receivers.get(*at),
            _ => None,
        }
    }

    /// An aircraft.
    pub fn aircraft(&self, id: DeviceId) -> Option<&AircraftView> {
        match self.at.get(&id)? {
            (Sort::Aircraft, at) => self.aircraft.get(*at),
            _ => None,
        }
    }

    /// The receivers known to be in an aircraft.
    pub fn fitted_in(&self, aircraft: DeviceId) -> impl Iterator<Item = &ReceiverView> {
        self.receivers.iter().filter(move |receiver| receiver.fitted_in() == Some(aircraft))
    }

    /// The verdict on two devices, whichever is named first; `None` when they are not a
    /// transmitter and a receiver of the fleet.
    pub fn link(&self, scene: &Scene, one: DeviceId, other: DeviceId) -> Option<Link> {
        let (one, other) = (scene.register.canonical(one), scene.register.canonical(other));
        let (transmitter, receiver) = match (self.transmitter(one), self.receiver(other)) {
            (Some(transmitter), Some(receiver)) => (transmitter, receiver),
            _ => (self.transmitter(other)?, self.receiver(one)?),
        };
        Some(verdict::link(scene, transmitter, receiver))
    }

    /// The links that are meant to hold ([`verdict::wanted`]), as indexes into the lists
    /// of transmitters and receivers, in that order.
    pub fn wanted(&self) -> Vec<(usize, usize)> {
        let mut in_aircraft: HashMap<DeviceId, Vec<usize>> = HashMap::new();
        let mut pairs = BTreeSet::new();
        for (r, receiver) in self.receivers.iter().enumerate() {
            if let Some(aircraft) = receiver.fitted_in() {
                in_aircraft.entry(aircraft).or_default().push(r);
            }
            for (partner, _) in receiver.ends.iter().flat_map(|end| &end.partners.known) {
                if let Some((Sort::Transmitter, t)) = self.at.get(&partner.device) {
                    pairs.insert((*t, r));
                }
            }
        }
        for (t, transmitter) in self.transmitters.iter().enumerate() {
            let flown =
                transmitter.memories.iter().filter_map(|memory| memory.aircraft.one().copied().flatten());
            for r in flown.filter_map(|aircraft| in_aircraft.get(&aircraft)).flatten() {
                pairs.insert((t, *r));
            }
        }
        pairs.into_iter().collect()
    }

    /// Where a device stands in its list.
    pub fn place(&self, id: DeviceId) -> Option<(Sort, usize)> {
        self.at.get(&id).copied()
    }
}

/// Why a name finds no device, or not just one.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotFound {
    /// Nothing has this name.
    #[error("no device is called `{name}`{near}; `show` lists them all")]
    Nothing {
        /// What was asked for.
        name: String,
        /// ` (did you mean …?)` or empty.
        near: String,
    },
    /// Several have.
    #[error("`{name}` is the name of {count} devices: {ids}; name one by its id")]
    Several {
        /// What was asked for.
        name: String,
        /// How many.
        count: usize,
        /// Their ids.
        ids: String,
    },
}

/// Finds a device by id, code or name, in that order; letter case doesn't matter.
///
/// # Errors
/// Nothing, or more than one device, has this name.
pub fn find(scene: &Scene, name: &str, sort: Option<Sort>) -> Result<DeviceId, NotFound> {
    let name = name.trim();
    if let Some(device) = name.parse().ok().and_then(|id| scene.device(id)) {
        return Ok(device.id);
    }
    let wanted = name.to_lowercase();
    let mut by_code = Vec::new();
    let mut by_name = Vec::new();
    let mut near: Vec<String> = Vec::new();
    for device in scene.devices().filter(|device| sort.is_none_or(|sort| device.sort == Some(sort))) {
        let card = view::card(device);
        if card.label().to_lowercase() == wanted {
            by_code.push(card.id);
        } else if card.name.as_ref().is_some_and(|name| name.to_lowercase() == wanted) {
            by_name.push(card.id);
        } else if near.len() < 3 && !wanted.is_empty() && card.full().to_lowercase().contains(&wanted) {
            near.push(card.full());
        }
    }
    let found = if by_code.is_empty() { by_name } else { by_code };
    let short: String = name.chars().take(60).collect();
    match found.as_slice() {
        [only] => Ok(*only),
        [] => {
            let near =
                if near.is_empty() { String::new() } else { format!(" (did you mean {}?)", near.join(", ")) };
            Err(NotFound::Nothing { name: short, near })
        }
        many => Err(NotFound::Several {
            name: short,
            count: many.len(),
            ids: many.iter().take(5).map(ToString::to_string).collect::<Vec<_>>().join(", "),
        }),
    }
}
