//! The receivers of a fleet, sorted into classes that no rule can tell apart.
//!
//! A value that many receivers hold is a class of its own. Values that few hold (most
//! secrets, many model IDs) are put together by their *shape*: all secrets under one key,
//! say. A transmitter that holds such a value itself finds its few receivers by it.

use std::collections::HashMap;
use std::hash::Hash;
use std::sync::Arc;

use crate::family::{Family, ModelIdRule, Version};
use crate::fleet::Fleet;
use crate::id::DeviceId;
use crate::value::EndRef;
use crate::view::{BandKey, EndView, ModelId, SecretKey, WordKey};

/// A receiver's end: places in the fleet's list and in the receiver's.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct EndAt {
    pub(crate) receiver: u32,
    pub(crate) end: u32,
}

impl EndAt {
    pub(crate) fn view(self, fleet: &Fleet) -> &EndView {
        &fleet.receivers[self.receiver as usize].ends[self.end as usize]
    }
}

/// A value held by at most so many ends is judged by shape.
const FEW: u32 = 8;

/// What a list of secrets looks like to a transmitter that holds none of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum SecretShape {
    Blank,
    Print(u64),
    Held,
}

/// What a list of model IDs looks like to a transmitter that holds none of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum IdShape {
    Off,
    /// A number that some family takes for *off*.
    OffNumber(u32),
    Id,
}

/// One value of a field that is judged by shape.
#[derive(Clone, Copy, Debug)]
pub(super) struct Shaped {
    /// Its shape.
    pub(super) shape: u32,
    /// An end that holds it.
    pub(super) end: EndAt,
}

/// A field that is judged by shape, and where a value of it is found again.
#[derive(Debug)]
pub(super) struct ByShape<K> {
    /// Values: those that many hold, and one for each shape for all others.
    pub(super) values: Vec<Shaped>,
    /// By shape, ends that have it, one for each different list of values.
    pub(super) shapes: Vec<Vec<EndAt>>,
    /// The values in whose list a key stands.
    pub(super) common: HashMap<K, Vec<u32>>,
    /// The receivers of few in whose list a key stands.
    pub(super) rare: HashMap<K, Vec<u32>>,
}

impl<K> ByShape<K> {
    fn empty() -> Self {
        ByShape { values: Vec::new(), shapes: Vec::new(), common: HashMap::new(), rare: HashMap::new() }
    }
}

/// The values of an end that only a family's rules and the transmitter's words compare.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct Core {
    pub(super) family: u32,
    pub(super) band: u32,
    pub(super) region: u32,
    pub(super) version: u32,
}

/// Ends that no rule can tell apart, unless they are special to a transmitter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct EndClass {
    pub(super) core: u32,
    pub(super) secret: u32,
    pub(super) model_id: u32,
    /// The name of the family this end would give a link.
    pub(super) named: u32,
}

/// The class of a receiver.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum ClassId {
    /// Its only end is of this class.
    Alone(u32),
    /// It has several ends.
    Group(u32),
}

/// The classes of a fleet's receivers.
#[derive(Debug)]
pub(crate) struct Index {
    pub(super) families: Vec<EndAt>,
    pub(super) bands: Vec<EndAt>,
    pub(super) regions: Vec<EndAt>,
    pub(super) versions: Vec<EndAt>,
    pub(super) secrets: ByShape<SecretKey>,
    pub(super) ids: ByShape<u32>,
    pub(super) cores: Vec<Core>,
    pub(super) ends: Vec<EndClass>,
    /// By class of ends, how many receivers have such an end and no other.
    pub(super) alone: Vec<u32>,
    /// Classes of receivers with several ends: the classes of their ends.
    pub(super) groups: Vec<Box<[u32]>>,
    /// How many receivers each such class has.
    pub(super) group_sizes: Vec<u32>,
    /// By receiver, its class.
    pub(super) class_of: Vec<ClassId>,
    in_aircraft: HashMap<DeviceId, Vec<u32>>,
    remembering: HashMap<DeviceId, Vec<u32>>,
    names: Vec<Option<String>>,
    name_ids: HashMap<String, u32>,
}

/// Gives equal things equal numbers.
struct Interner<K> {
    ids: HashMap<K, u32>,
}

impl<K: Hash + Eq> Interner<K> {
    fn new() -> Self {
        Interner { ids: HashMap::new() }
    }

    /// The number of `key`, and whether it is new.
    fn id(&mut self, key: K) -> (u32, bool) {
        let next = count(self.ids.len());
        let id = *self.ids.entry(key).or_insert(next);
        (id, id == next)
    }
}

fn count(len: usize) -> u32 {
    u32::try_from(len).expect("a fleet has fewer than four thousand million ends")
}

fn rules_id(rules: Option<&Arc<Family>>) -> usize {
    rules.map_or(0, |family| Arc::as_ptr(family) as usize)
}

/// The secrets by which an end can be special: its own, or *its own, whatever it is*.
pub(super) fn secret_marks(end: &EndView) -> Vec<SecretKey> {
    if end.keys.secret.is_empty() {
        return vec![SecretKey::HeldBy(end.end.clone())];
    }
    end.keys.secret.iter().filter(|key| **key != SecretKey::Blank).cloned().collect()
}

/// The numbers among an end's model IDs.
pub(super) fn id_marks(end: &EndView) -> Vec<u32> {
    let number = |id: &ModelId| match id {
        ModelId::Id(number) => Some(*number),
        ModelId::Off => None,
    };
    end.model_id.options.iter().filter_map(|(id, _)| number(id)).collect()
}

/// The name that [`crate::verdict::link`] falls back to, by this end alone.
pub(super) fn end_family(end: &EndView) -> Option<&String> {
    end.rules.as_deref().map(|family| &family.name).or_else(|| end.family.one())
}

struct ShapeBuilder<'a, V, S, K> {
    field: ByShape<K>,
    value_ids: Interner<(u32, Option<&'a [V]>)>,
    shape_ids: Interner<(usize, bool, Vec<S>)>,
    seen: Interner<(u32, &'a [V], Option<&'a EndRef>)>,
    held: HashMap<&'a [V], u32>,
}

impl<'a, V: Hash + Eq, S: Hash + Eq, K: Hash + Eq> ShapeBuilder<'a, V, S, K> {
    fn new(lists: impl Iterator<Item = &'a [V]>) -> Self {
        let mut held: HashMap<&[V], u32> = HashMap::new();
        for list in lists {
            *held.entry(list).or_default() += 1;
        }
        ShapeBuilder {
            field: ByShape::empty(),
            value_ids: Interner::new(),
            shape_ids: Interner::new(),
            seen: Interner::new(),
            held,
        }
    }

    /// The value of an end. `own` tells apart ends that hold nothing known.
    fn add(
        &mut self,
        at: EndAt,
        list: &'a [V],
        own: Option<&'a EndRef>,
        shape: (usize, bool, Vec<S>),
        marks: Vec<K>,
    ) -> u32 {
        let (shape, new) = self.shape_ids.id(shape);
        if new {
            self.field.shapes.push(Vec::new());
        }
        if self.seen.id((shape, list, own)).1 {
            self.field.shapes[shape as usize].push(at);
        }
        let is_common = own.is_none() && self.held.get(list).is_some_and(|held| *held > FEW);
        let (value, new) = self.value_ids.id((shape, is_common.then_some(list)));
        if new {
            self.field.values.push(Shaped { shape, end: at });
        }
        if !is_common {
            for mark in marks {
                self.field.rare.entry(mark).or_default().push(at.receiver);
            }
        } else if new {
            for mark in marks {
                self.field.common.entry(mark).or_default().push(value);
            }
        }
        value
    }
}

impl Index {
    fn empty(receivers: usize) -> Index {
        Index {
            families: Vec::new(),
            bands: Vec::new(),
            regions: Vec::new(),
            versions: Vec::new(),
            secrets: ByShape::empty(),
            ids: ByShape::empty(),
            cores: Vec::new(),
            ends: Vec::new(),
            alone: Vec::new(),
            groups: Vec::new(),
            group_sizes: Vec::new(),
            class_of: Vec::with_capacity(receivers),
            in_aircraft: HashMap::new(),
            remembering: HashMap::new(),
            names: vec![None],
            name_ids: HashMap::new(),
        }
    }

    /// Sorts the receivers of a fleet into classes.
    pub(crate) fn of(fleet: &Fleet) -> Index {
        let ends = || {
            fleet.receivers.iter().enumerate().flat_map(|(receiver, view)| {
                let receiver = count(receiver);
                view.ends
                    .iter()
                    .enumerate()
                    .map(move |(end, view)| (EndAt { receiver, end: count(end) }, view))
            })
        };
        let id_lists: Vec<Vec<ModelId>> =
            ends().map(|(_, end)| end.model_id.options.iter().map(|(id, _)| *id).collect()).collect();
        let offs = off_numbers(fleet);

        let mut families: Interner<&[String]> = Interner::new();
        let mut bands: Interner<&[BandKey]> = Interner::new();
        let mut regions: Interner<(usize, &[WordKey<String>])> = Interner::new();
        let mut versions: Interner<(usize, &[WordKey<Version>])> = Interner::new();
        let mut secrets = ShapeBuilder::new(ends().map(|(_, end)| end.keys.secret.as_slice()));
        let mut ids = ShapeBuilder::new(id_lists.iter().map(Vec::as_slice));
        let mut cores: Interner<Core> = Interner::new();
        let mut end_classes: Interner<EndClass> = Interner::new();
        let mut groups: Interner<Box<[u32]>> = Interner::new();

        let mut index = Index::empty(fleet.receivers.len());
        for transmitter_end in fleet.transmitters.iter().flat_map(|view| &view.ends) {
            index.name(end_family(transmitter_end));
        }
        let new = |(id, is_new): (u32, bool), at: EndAt, ends: &mut Vec<EndAt>| {
            if is_new {
                ends.push(at);
            }
            id
        };
        let mut lists = id_lists.iter();
        for (receiver, view) in fleet.receivers.iter().enumerate() {
            let receiver = count(receiver);
            if let Some(aircraft) = view.fitted_in() {
                index.in_aircraft.entry(aircraft).or_default().push(receiver);
            }
            let mut of_ends = Vec::with_capacity(view.ends.len());
            for (end, view) in view.ends.iter().enumerate() {
                let at = EndAt { receiver, end: count(end) };
                let list = lists.next().map_or(&[][..], Vec::as_slice);
                let rules = rules_id(view.rules.as_ref());
                let keys = &view.keys;
                let core = Core {
                    family: new(families.id(&keys.family), at, &mut index.families),
                    band: new(bands.id(&keys.band), at, &mut index.bands),
                    region: new(regions.id((rules, &keys.region)), at, &mut index.regions),
                    version: new(versions.id((rules, &keys.version)), at, &mut index.versions),
                };
                let (core_id, is_new) = cores.id(core);
                if is_new {
                    index.cores.push(core);
                }
                let own = keys.secret.is_empty().then_some(&view.end);
                let shape = keys.secret.iter().map(secret_shape).collect();
                let all = view.partners.all.is_some();
                let secret = secrets.add(at, &keys.secret, own, (rules, all, shape), secret_marks(view));
                let shape = list.iter().map(|id| id_shape(*id, &offs)).collect();
                let model_id = ids.add(at, list, None, (rules, false, shape), id_marks(view));
                let named = index.name(end_family(view));
                let class = EndClass { core: core_id, secret, model_id, named };
                let (class_id, is_new) = end_classes.id(class);
                if is_new {
                    index.ends.push(class);
                    index.alone.push(0);
                }
                of_ends.push(class_id);
                for (partner, _) in &view.partners.known {
                    let remembering = index.remembering.entry(partner.device).or_default();
                    if remembering.last() != Some(&receiver) {
                        remembering.push(receiver);
                    }
                }
            }
            let class = if let [only] = of_ends.as_slice() {
                index.alone[*only as usize] += 1;
                ClassId::Alone(*only)
            } else {
                let of_ends = of_ends.into_boxed_slice();
                let (group, is_new) = groups.id(of_ends.clone());
                if is_new {
                    index.groups.push(of_ends);
                    index.group_sizes.push(0);
                }
                index.group_sizes[group as usize] += 1;
                ClassId::Group(group)
            };
            index.class_of.push(class);
        }
        index.secrets = secrets.field;
        index.ids = ids.field;
        index
    }

    fn name(&mut self, name: Option<&String>) -> u32 {
        let Some(name) = name else { return 0 };
        // The name is only copied when it is new.
        if let Some(id) = self.family_id(name) {
            return id;
        }
        let id = count(self.names.len());
        self.names.push(Some(name.clone()));
        self.name_ids.insert(name.clone(), id);
        id
    }

    /// The number of a family's name.
    pub(super) fn family_id(&self, name: &str) -> Option<u32> {
        self.name_ids.get(name).copied()
    }

    /// The number of the family that a link of two ends is reported under.
    pub(super) fn link_family(&self, name: Option<&String>) -> u32 {
        name.and_then(|name| self.family_id(name)).unwrap_or(0)
    }

    /// The name with this number.
    pub(super) fn family_name(&self, id: u32) -> Option<&str> {
        self.names.get(id as usize)?.as_deref()
    }

    /// The receivers known to be in an aircraft, in order.
    pub(super) fn fitted_in(&self, aircraft: DeviceId) -> &[u32] {
        self.in_aircraft.get(&aircraft).map_or(&[], Vec::as_slice)
    }

    /// The receivers that remember some end of a transmitter, in order.
    pub(super) fn remembering(&self, transmitter: DeviceId) -> &[u32] {
        self.remembering.get(&transmitter).map_or(&[], Vec::as_slice)
    }
}

fn off_numbers(fleet: &Fleet) -> Vec<u32> {
    let ends = fleet.transmitters.iter().flat_map(|view| &view.ends);
    let ends = ends.chain(fleet.receivers.iter().flat_map(|view| &view.ends));
    let mut offs: Vec<u32> = ends
        .filter_map(|end| match end.rules.as_deref()?.model_id {
            ModelIdRule::Checked { off, .. } => off,
            ModelIdRule::Absent => None,
        })
        .collect();
    offs.sort_unstable();
    offs.dedup();
    offs
}

fn secret_shape(key: &SecretKey) -> SecretShape {
    match key {
        SecretKey::Blank => SecretShape::Blank,
        SecretKey::Print(key, _) => SecretShape::Print(*key),
        SecretKey::HeldBy(_) => SecretShape::Held,
    }
}

fn id_shape(id: ModelId, offs: &[u32]) -> IdShape {
    match id {
        ModelId::Off => IdShape::Off,
        ModelId::Id(number) if offs.binary_search(&number).is_ok() => IdShape::OffNumber(number),
        ModelId::Id(_) => IdShape::Id,
    }
}
