//! Which device a list means: its own, or one that the workshop has.

use std::collections::HashMap;

use register::field::{Field, Part, Sort};
use register::id::DeviceId;
use register::scene::Scene;
use register::view;

use crate::inventory::{Inventory, Item};

/// What an item of the list is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Slot {
    /// A device of the workshop.
    Known(DeviceId),
    /// A new one.
    New(DeviceId),
    /// It can't be told, for this reason.
    Refused(String),
}

impl Slot {
    pub(super) fn device(&self) -> Option<DeviceId> {
        match self {
            Slot::Known(id) | Slot::New(id) => Some(*id),
            Slot::Refused(_) => None,
        }
    }
}

/// What a name finds.
pub(super) enum Found {
    /// One device, and its item where the list has it.
    One(DeviceId, Option<usize>),
    /// None.
    Nothing,
    /// One whose row can't be taken.
    Lost,
    /// More than one.
    Several,
}

type ByWords = HashMap<(Sort, String), Vec<DeviceId>>;

/// Every name of the list and the workshop.
pub(super) struct Names<'a> {
    inventory: &'a Inventory,
    pub(super) slots: Vec<Slot>,
    /// The rows of each item.
    units: Vec<Vec<usize>>,
    items: HashMap<DeviceId, usize>,
    sorts: HashMap<DeviceId, Sort>,
    /// By code, or by name where there is no code.
    labels: ByWords,
    called: ByWords,
}

fn add(map: &mut ByWords, sort: Sort, words: &str, id: DeviceId) {
    let ids = map.entry((sort, words.trim().to_lowercase())).or_default();
    if !ids.contains(&id) {
        ids.push(id);
    }
}

/// What the workshop has, for matching a list's devices.
struct Held {
    codes: ByWords,
    names: ByWords,
    /// Names of devices without a code.
    uncoded: ByWords,
}

impl<'a> Names<'a> {
    pub(super) fn new(
        inventory: &'a Inventory,
        scene: &Scene<'_>,
        new_id: &mut dyn FnMut() -> DeviceId,
    ) -> Names<'a> {
        let mut held = Held { codes: HashMap::new(), names: HashMap::new(), uncoded: HashMap::new() };
        let (mut labels, mut called) = (HashMap::new(), HashMap::new());
        let mut sorts = HashMap::new();
        for device in scene.devices() {
            let Some(sort) = device.sort else { continue };
            sorts.insert(device.id, sort);
            let code = view::words(&device.whole, Field::Code);
            let name = view::words(&device.whole, Field::Name);
            if let Some(code) = &code {
                add(&mut held.codes, sort, code, device.id);
                add(&mut labels, sort, code, device.id);
            }
            if let Some(name) = &name {
                add(&mut held.names, sort, name, device.id);
                add(&mut called, sort, name, device.id);
                if code.is_none() {
                    add(&mut held.uncoded, sort, name, device.id);
                    add(&mut labels, sort, name, device.id);
                }
            }
        }
        let mut items: HashMap<DeviceId, usize> = HashMap::new();
        let mut slots = Vec::with_capacity(inventory.items.len());
        for (at, item) in inventory.items.iter().enumerate() {
            let mut slot = held.slot(item, scene, new_id, inventory);
            if let Some(id) = slot.device() {
                if let std::collections::hash_map::Entry::Vacant(e) = items.entry(id) {
                    e.insert(at);
                    sorts.insert(id, item.sort);
                    for words in item.code.iter().chain(item.name.iter().filter(|_| item.code.is_none())) {
                        add(&mut labels, item.sort, words, id);
                    }
                    if let Some(name) = &item.name {
                        add(&mut called, item.sort, name, id);
                    }
                } else {
                    slot = Slot::Refused(
                        "is about a device that other rows are about by another code or name; use the same in all \
                         of them"
                            .to_owned(),
                    );
                }
            }
            slots.push(slot);
        }
        let mut units = vec![Vec::new(); inventory.items.len()];
        for (at, unit) in inventory.units.iter().enumerate() {
            units[unit.item].push(at);
        }
        Names { inventory, slots, units, items, sorts, labels, called }
    }

    /// The rows of an item.
    pub(super) fn units_of(&self, item: usize) -> &[usize] {
        &self.units[item]
    }

    /// The item that a device is in the list.
    pub(super) fn item(&self, device: DeviceId) -> Option<usize> {
        self.items.get(&device).copied()
    }

    /// Finds a device by id, code or name, in that order; letter case doesn't matter.
    pub(super) fn find(&self, name: &str, sort: Option<Sort>) -> Found {
        let fits =
            |id: &DeviceId| self.sorts.get(id).is_some_and(|have| sort.is_none_or(|sort| sort == *have));
        if let Some(id) = name.parse().ok().filter(fits) {
            return Found::One(id, self.items.get(&id).copied());
        }
        let lower = name.trim().to_lowercase();
        let sorts = [Sort::Transmitter, Sort::Receiver, Sort::Aircraft];
        let sorts = || sorts.into_iter().filter(|have| sort.is_none_or(|sort| sort == *have));
        for map in [&self.labels, &self.called] {
            let mut found = sorts().filter_map(|sort| map.get(&(sort, lower.clone()))).flatten();
            match (found.next(), found.next()) {
                (Some(id), None) => return Found::One(*id, self.items.get(id).copied()),
                (Some(_), Some(_)) => return Found::Several,
                (None, _) => {}
            }
        }
        if sorts().any(|sort| self.inventory.lost.contains(&(sort, lower.clone()))) {
            return Found::Lost;
        }
        Found::Nothing
    }

    /// The ends of a device, of the workshop and of the list.
    pub(super) fn ends(&self, scene: &Scene<'_>, device: DeviceId, item: Option<usize>) -> Vec<String> {
        let mut ends: Vec<String> =
            scene.device(device).map(|device| device.ends.keys().cloned().collect()).unwrap_or_default();
        if let Some(item) = item {
            for key in self.inventory.items[item].ends.keys() {
                if let Part::End(key) = self.own_part(scene, item, Part::End(key.clone()))
                    && !ends.contains(&key)
                {
                    ends.push(key);
                }
            }
        }
        ends
    }

    /// The part as the workshop spells its key.
    pub(super) fn own_part(&self, scene: &Scene<'_>, item: usize, part: Part) -> Part {
        let Slot::Known(id) = self.slots[item] else { return part };
        let Some(device) = scene.device(id) else { return part };
        let listed = &self.inventory.items[item];
        match part {
            Part::Whole => Part::Whole,
            Part::End(key) => {
                // Two keys of the list never become one.
                let own = own_key(&device.ends.keys(), &key).filter(|own| !listed.ends.contains_key(own));
                Part::End(own.unwrap_or(key))
            }
            Part::Memory(key) => {
                let named = || {
                    // A list that only has names of memories still finds them.
                    let mut found = device.memories.iter().filter(|(_, facts)| {
                        view::words(facts, Field::Name)
                            .is_some_and(|name| name.to_lowercase() == key.to_lowercase())
                    });
                    found.next().filter(|_| found.next().is_none()).map(|(key, _)| key.clone())
                };
                let own = own_key(&device.memories.keys(), &key).or_else(named);
                Part::Memory(own.filter(|own| !listed.memories.contains_key(own)).unwrap_or(key))
            }
        }
    }
}

/// The key as it is spelled among `keys`: just so, else in another letter case.
pub(super) fn own_key<'k>(keys: &(impl Iterator<Item = &'k String> + Clone), key: &str) -> Option<String> {
    let lower = key.to_lowercase();
    keys.clone()
        .find(|have| *have == key)
        .or_else(|| keys.clone().find(|have| have.to_lowercase() == lower))
        .cloned()
}

impl Held {
    fn slot(
        &self,
        item: &Item,
        scene: &Scene<'_>,
        new_id: &mut dyn FnMut() -> DeviceId,
        inventory: &Inventory,
    ) -> Slot {
        let one = |map: &ByWords, words: &str, what: &str| match map
            .get(&(item.sort, words.trim().to_lowercase()))
            .map(Vec::as_slice)
        {
            Some([id]) => Some(Slot::Known(*id)),
            Some([_, ..]) => Some(Slot::Refused(format!(
                "has a {what} that several {}s of the workshop have; name the one that is meant by its id",
                item.sort.word()
            ))),
            _ => None,
        };
        if let Some(of) = &item.of {
            if let Some(device) = of.parse().ok().and_then(|id| scene.device(id))
                && device.sort == Some(item.sort)
            {
                return Slot::Known(device.id);
            }
            let found = one(&self.codes, of, "code").or_else(|| one(&self.names, of, "name"));
            return found.unwrap_or_else(|| {
                let is_lost = inventory.lost.contains(&(item.sort, of.to_lowercase()));
                Slot::Refused(if is_lost {
                    super::LOST.to_owned()
                } else {
                    format!(
                        "belongs to a {} that is neither in this list nor in the workshop; correct its name, or add \
                         a row for it",
                        item.sort.word()
                    )
                })
            });
        }
        if let Some(id) = item.id {
            return match scene.device(id) {
                Some(device) if device.sort == Some(item.sort) => Slot::Known(device.id),
                Some(device) if device.sort.is_some() => Slot::Refused(format!(
                    "has the id of a device that is no {} in the workshop; correct the id or the sort",
                    item.sort.word()
                )),
                _ => Slot::New(id),
            };
        }
        let by_code = item.code.as_ref().and_then(|code| one(&self.codes, code, "code"));
        let by_name = || {
            let names = if item.code.is_some() { &self.uncoded } else { &self.names };
            item.name.as_ref().and_then(|name| one(names, name, "name"))
        };
        by_code.or_else(by_name).unwrap_or_else(|| Slot::New(new_id()))
    }
}
