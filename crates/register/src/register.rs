//! The register: what a logbook adds up to.
//!
//! Entries are folded in the order of their clocks. For every fact the register keeps
//! the readings that nothing has replaced; what holds is decided when a view is made
//! (`view`), because it depends on the family and on the events in between.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::sync::Arc;

use units::Minutes;

use crate::entry::{Body, Stamp};
use crate::family::release::family_of_setting;
use crate::family::{Family, squeeze};
use crate::field::{Field, How, Part, Sort};
use crate::fit::{FitLog, Shown};
use crate::id::{DeviceId, Digest, EntryId, ReplicaId};
use crate::minutes::MinutesTable;
use crate::refit::{self, RefitLog};
use crate::time::{Clock, Moment};
use crate::trail::{Closed, Mark, TrailLog};
use crate::value::{EndRef, Value};
use crate::view::{self, State};

/// One value that somebody read, and that no later reading has replaced.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The value.
    pub value: Value,
    /// How it is known.
    pub how: How,
    /// When it was seen.
    pub seen: Moment,
    /// When it was written down.
    pub recorded: Moment,
    /// The order of its entry.
    pub clock: Clock,
    /// Its entry.
    pub entry: EntryId,
    /// When the value is known to have become this one: set where a reading of another
    /// value was replaced, and kept where the same value was only read once more.
    pub changed: Option<(Moment, Clock)>,
}

impl Reading {
    /// Its place in time: by the moment seen, then by the clock.
    pub fn at(&self) -> (Moment, Clock) {
        (self.seen, self.clock)
    }
}

/// The standing readings of one part, few enough to scan.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Facts(Vec<(Field, Reading)>);

impl Facts {
    /// The standing readings of one field.
    pub fn of(&self, field: Field) -> impl Iterator<Item = &Reading> {
        self.0.iter().filter(move |(have, _)| *have == field).map(|(_, reading)| reading)
    }

    /// Every standing reading.
    pub fn iter(&self) -> impl Iterator<Item = (Field, &Reading)> {
        self.0.iter().map(|(field, reading)| (*field, reading))
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    fn add(&mut self, field: Field, reading: Reading, replaces: &[EntryId]) {
        // A weaker way of knowing never replaces a better one, whatever the entry names.
        self.put(field, reading, |old, new| old.how <= new.how && replaces.contains(&old.entry));
    }

    fn put(&mut self, field: Field, mut reading: Reading, goes: impl Fn(&Reading, &Reading) -> bool) {
        let gone = |(have, old): &(Field, Reading)| *have == field && goes(old, &reading);
        let mut replaced = self.0.iter().filter(|one| gone(one)).peekable();
        if replaced.peek().is_some() {
            let same = replaced.find(|(_, old)| old.value == reading.value);
            let changed = same.map_or(Some(reading.at()), |(_, old)| old.changed);
            self.0.retain(|one| !gone(one));
            reading.changed = changed;
        }
        self.0.push((field, reading));
    }

    /// Puts `reading` in the place of every other of that field (a synthetic change).
    fn set(&mut self, field: Field, reading: Reading) {
        self.put(field, reading, |_, _| true);
    }
}

/// A pairing that somebody carried out.
#[derive(Clone, Debug, PartialEq)]
pub struct PairMark {
    /// The transmitter's end.
    pub transmitter: EndRef,
    /// When.
    pub seen: Moment,
    /// The order of its entry.
    pub clock: Clock,
    /// Its entry.
    pub entry: EntryId,
}

/// A flash that somebody carried out.
#[derive(Clone, Debug, PartialEq)]
pub struct FlashMark {
    /// The family's route, empty when not said.
    pub route: String,
    /// The version that was written.
    pub version: String,
    /// When.
    pub seen: Moment,
    /// The order of its entry.
    pub clock: Clock,
    /// Its entry.
    pub entry: EntryId,
}

/// What is known of one end.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct EndFacts {
    /// Its readings.
    pub facts: Facts,
    /// Pairings, in the order of the logbook.
    pub pairings: Vec<PairMark>,
    /// Flashes, in the order of the logbook.
    pub flashes: Vec<FlashMark>,
}

/// What is known of one device.
#[derive(Clone, Debug, PartialEq)]
pub struct Device {
    /// Its id (the least of them, where one device was entered twice).
    pub id: DeviceId,
    /// What it is; a device that is only spoken of has none.
    pub sort: Option<Sort>,
    /// Readings of the whole.
    pub whole: Facts,
    /// Its ends by key.
    pub ends: BTreeMap<String, EndFacts>,
    /// Its model memories by key.
    pub memories: BTreeMap<String, Facts>,
    /// The last moment at which anything about it was seen.
    pub last_seen: Moment,
    /// How many entries speak about it.
    pub entries: u32,
}

impl Device {
    /// A device of which nothing is known.
    pub fn new(id: DeviceId) -> Device {
        Device {
            id,
            sort: None,
            whole: Facts::default(),
            ends: BTreeMap::new(),
            memories: BTreeMap::new(),
            last_seen: Moment(i64::MIN),
            entries: 0,
        }
    }

    /// The readings of one part.
    pub fn part(&self, part: &Part) -> Option<&Facts> {
        match part {
            Part::Whole => Some(&self.whole),
            Part::End(key) => self.ends.get(key).map(|end| &end.facts),
            Part::Memory(key) => self.memories.get(key),
        }
    }

    fn part_mut(&mut self, part: &Part) -> &mut Facts {
        // The key is only copied when the part is new.
        match part {
            Part::Whole => &mut self.whole,
            Part::End(key) => {
                if !self.ends.contains_key(key) {
                    self.ends.insert(key.clone(), EndFacts::default());
                }
                &mut self.ends.get_mut(key).expect("put there just before").facts
            }
            Part::Memory(key) => {
                if !self.memories.contains_key(key) {
                    self.memories.insert(key.clone(), Facts::default());
                }
                self.memories.get_mut(key).expect("put there just before")
            }
        }
    }

    /// The one value of a fact, as its readings stand.
    fn one(&self, part: &Part, field: Field) -> Option<Value> {
        view::fact(self.part(part)?, field).one().cloned()
    }

    /// The entries whose readings of `fields` a new reading of this part would replace.
    pub fn standing(&self, part: &Part, fields: impl IntoIterator<Item = Field>) -> Vec<EntryId> {
        let fields: Vec<Field> = fields.into_iter().collect();
        let Some(facts) = self.part(part) else { return Vec::new() };
        let mut ids: Vec<EntryId> = facts
            .iter()
            .filter(|(field, _)| fields.contains(field))
            .map(|(_, reading)| reading.entry)
            .collect();
        ids.sort_unstable();
        ids.dedup();
        ids
    }

    /// Whether an end was flashed after the moment of an entry. A flash dated later than
    /// the entry was written down is a slip and doesn't count.
    fn flashed_since(&self, part: &Part, stamp: &Stamp) -> bool {
        let Part::End(key) = part else { return false };
        self.ends.get(key).is_some_and(|end| {
            end.flashes.iter().any(|flash| {
                (flash.seen, flash.clock) > (stamp.seen, stamp.clock) && flash.seen <= stamp.recorded
            })
        })
    }

    /// Folds in what an entry says about this device.
    pub fn fold(&mut self, stamp: &Stamp, body: Body) {
        self.entries += 1;
        self.last_seen = self.last_seen.max(stamp.seen);
        let reading = |value, how| Reading {
            value,
            how,
            seen: stamp.seen,
            recorded: stamp.recorded,
            clock: stamp.clock,
            entry: stamp.id,
            changed: None,
        };
        match body {
            // Two entries that disagree (a merge) settle on the lesser sort everywhere.
            Body::Device { sort } => self.sort = Some(self.sort.map_or(sort, |have| have.min(sort))),
            Body::Reading { part, how, facts, replaces } => {
                let flashed_since = self.flashed_since(&part, stamp);
                let held = self.part_mut(&part);
                for (field, value) in facts {
                    // Firmware read before a flash is past, however late it is written down.
                    if field == Field::Firmware && flashed_since {
                        continue;
                    }
                    held.add(field, reading(value, how), &replaces);
                }
            }
            Body::Paired { end, transmitter } => {
                self.ends.entry(end).or_default().pairings.push(PairMark {
                    transmitter,
                    seen: stamp.seen,
                    clock: stamp.clock,
                    entry: stamp.id,
                });
            }
            Body::Flashed { end, version, route } => {
                let end = self.ends.entry(end).or_default();
                let new = reading(Value::Text(version.clone()), How::Seen);
                // A flash is an event: what was read before it, however well, is past.
                end.facts.0.retain(|(field, old)| *field != Field::Firmware || old.at() > new.at());
                end.facts.0.push((Field::Firmware, new));
                end.flashes.push(FlashMark {
                    route,
                    version,
                    seen: stamp.seen,
                    clock: stamp.clock,
                    entry: stamp.id,
                });
            }
            _ => {}
        }
    }

    /// Sets one fact as if it had just been seen, in the place of all that was known.
    pub fn suppose(&mut self, part: &Part, field: Field, value: Value, stamp: Stamp) {
        let reading = Reading {
            value,
            how: How::Seen,
            seen: stamp.seen,
            recorded: stamp.recorded,
            clock: stamp.clock,
            entry: stamp.id,
            changed: None,
        };
        self.part_mut(part).set(field, reading);
    }
}

fn minutes(text: &str) -> Option<Minutes> {
    text.trim().parse().ok().filter(|minutes: &f64| minutes.is_finite() && *minutes >= 0.0).map(Minutes)
}

/// A family that the workshop uses.
#[derive(Clone, Debug, PartialEq)]
pub struct FamilyUse {
    /// The file, by content.
    pub file: Digest,
    /// Since when.
    pub since: Moment,
    /// What the file says; `None` until a door has read it, or when it can't be read.
    pub family: Option<Arc<Family>>,
}

/// What a logbook adds up to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Register {
    devices: Vec<Device>,
    index: HashMap<DeviceId, usize>,
    /// Families by squeezed name.
    families: BTreeMap<String, FamilyUse>,
    /// Column mappings by header signature.
    mappings: BTreeMap<String, Digest>,
    /// Settings by key.
    settings: BTreeMap<String, String>,
    minutes: MinutesTable,
    trails: Vec<TrailLog>,
    closings: Vec<Mark<Closed>>,
    refits: Vec<RefitLog>,
    /// What was fitted, proven and worked on, by device.
    fits: BTreeMap<DeviceId, FitLog>,
    /// The last known value of a telling fact that isn't known any more.
    unknown_now: HashMap<(DeviceId, Part, Field), Value>,
    /// The steps that were ticked, each with its refit.
    ticked: HashSet<(EntryId, String)>,
    /// By replica: when it wrote the tick of a step that was ticked before. What it wrote down
    /// for it in the same breath doesn't count: the step was done once.
    ticked_again: HashMap<ReplicaId, Moment>,
    struck: HashSet<EntryId>,
    alias: HashMap<DeviceId, DeviceId>,
    newest: Clock,
    newest_seen: Moment,
    entries: u64,
}

/// Whether a change of this fact is something that happened to the device.
fn tells(field: Field) -> bool {
    matches!(
        field,
        Field::Aircraft
            | Field::State
            | Field::Pack
            | Field::Antenna
            | Field::Firmware
            | Field::Handset
            | Field::End
    )
}

/// Whether an entry is of the sort that a step of a refit writes down.
fn is_of_a_step(body: &Body) -> bool {
    matches!(body, Body::Device { .. } | Body::Reading { .. } | Body::Paired { .. } | Body::Flashed { .. })
}

/// What became of a folded entry.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[must_use]
pub enum Folded {
    /// It is in.
    In,
    /// It changes what earlier entries mean: the register must be built again.
    Rebuild,
}

impl Register {
    /// A register to fold entries into, in the order of their clocks, given beforehand
    /// every entry that strikes, joins or parts.
    pub fn begin<'a>(prelude: impl IntoIterator<Item = (&'a Stamp, &'a Body)>) -> Register {
        let mut register = Register { newest_seen: Moment(i64::MIN), ..Register::default() };
        let mut entries: Vec<(&Stamp, &Body)> = prelude.into_iter().collect();
        entries.sort_by_key(|(stamp, _)| (stamp.clock, stamp.id));
        for (_, body) in &entries {
            if let Body::Strike { entry } = body {
                register.struck.insert(*entry);
            }
        }
        // The latest word on each pair of devices holds.
        let mut joined: BTreeMap<(DeviceId, DeviceId), bool> = BTreeMap::new();
        for (stamp, body) in entries {
            if register.struck.contains(&stamp.id) {
                continue;
            }
            let (other, is_joined) = match body {
                Body::SameAs { other } => (*other, true),
                Body::Parted { other } => (*other, false),
                _ => continue,
            };
            let pair = (stamp.subject.min(other), stamp.subject.max(other));
            joined.insert(pair, is_joined);
        }
        for ((a, b), is_joined) in joined {
            if is_joined && a != b {
                let (a, b) = (register.canonical(a), register.canonical(b));
                if a != b {
                    register.alias.insert(a.max(b), a.min(b));
                }
            }
        }
        register
    }

    /// The id under which a device stands, where it was entered twice.
    pub fn canonical(&self, id: DeviceId) -> DeviceId {
        let mut id = id;
        while let Some(lesser) = self.alias.get(&id) {
            id = *lesser;
        }
        id
    }

    /// Folds one entry in. Entries must come in the order of their clocks.
    pub fn fold(&mut self, stamp: &Stamp, body: Body) -> Folded {
        if self.struck.contains(&stamp.id) {
            self.entries += 1;
            return Folded::In;
        }
        let out_of_order = stamp.clock < self.newest;
        self.entries += 1;
        self.newest = self.newest.max(stamp.clock);
        self.newest_seen = self.newest_seen.max(stamp.seen);
        if self.ticked_again.get(&stamp.replica) == Some(&stamp.recorded) && is_of_a_step(&body) {
            return if out_of_order { Folded::Rebuild } else { Folded::In };
        }
        match body {
            Body::Strike { entry } if !self.struck.contains(&entry) => return Folded::Rebuild,
            Body::SameAs { other } => {
                let joined = self.canonical(stamp.subject) == self.canonical(other);
                return if joined { Folded::In } else { Folded::Rebuild };
            }
            Body::Parted { other } => {
                let joined = self.canonical(stamp.subject) == self.canonical(other);
                return if joined && stamp.subject != other { Folded::Rebuild } else { Folded::In };
            }
            Body::Family { name, file } => {
                let kept = self.families.get(&squeeze(&name)).filter(|have| have.file == file);
                let family = kept.and_then(|have| have.family.clone());
                self.families.insert(squeeze(&name), FamilyUse { file, since: stamp.seen, family });
            }
            Body::Mapping { header, file } => {
                self.mappings.insert(header, file);
            }
            Body::Setting { key, value } => self.set(&key, value),
            Body::TrailBegun(begun) => {
                self.trails.push(TrailLog {
                    begun: Mark::new(stamp, begun),
                    events: Vec::new(),
                    closed: None,
                });
            }
            Body::TrailEvent { trail, event } => {
                if let Some(log) = self.trails.iter_mut().rev().find(|log| log.id() == trail) {
                    log.events.push(Mark::new(stamp, event));
                }
            }
            // A trail whose beginning is struck never was.
            Body::TrailClosed(closed) if !self.struck.contains(&closed.trail) => {
                let mark = Mark::new(stamp, closed);
                if let Some(log) = self.trails.iter_mut().rev().find(|log| log.id() == mark.what.trail) {
                    log.closed = Some(mark.clone());
                }
                // A trail is closed once: of two that a merge brings together the later holds.
                self.closings.retain(|have| have.what.trail != mark.what.trail);
                self.closings.push(mark);
            }
            Body::RefitBegun(begun) => self.refits.push(RefitLog::new(stamp, begun)),
            Body::RefitEvent { refit, event } => {
                self.ticked_again.remove(&stamp.replica);
                if let refit::Event::Ticked { step, .. } = &event
                    && !self.ticked.insert((refit, step.clone()))
                {
                    self.ticked_again.insert(stamp.replica, stamp.recorded);
                }
                if let Some(log) = self.refits.iter_mut().rev().find(|log| log.id() == refit) {
                    log.events.push(Mark::new(stamp, event));
                }
            }
            Body::Strike { .. } | Body::TrailClosed(_) | Body::Opaque => {}
            Body::Fitted(fitted) => self.fit_mut(stamp).fit(stamp, fitted),
            Body::Proved(proved) => self.fit_mut(stamp).proofs.push(Mark::new(stamp, proved)),
            Body::Worked(worked) => self.fit_mut(stamp).works.push(Mark::new(stamp, worked)),
            Body::Signed(signed) => self.fit_mut(stamp).signed.push(Mark::new(stamp, signed)),
            Body::Reading { ref part, ref facts, .. } if facts.iter().any(|(field, _)| tells(*field)) => {
                let part = part.clone();
                let read = facts.iter().filter(|(field, _)| tells(*field));
                let fields: Vec<(Field, bool)> =
                    read.map(|(field, value)| (*field, *value != Value::Unknown)).collect();
                let id = self.canonical(stamp.subject);
                let before: Vec<Option<Value>> =
                    fields.iter().map(|(field, _)| self.device_mut(id).one(&part, *field)).collect();
                self.device_mut(id).fold(stamp, body);
                for ((field, is_known), before) in fields.iter().zip(before) {
                    self.show(stamp, id, (&part, *field), before.as_ref(), *is_known);
                }
            }
            Body::Device { .. }
            | Body::Reading { .. }
            | Body::Paired { .. }
            | Body::Flashed { .. }
            | Body::Note { .. } => {
                let id = self.canonical(stamp.subject);
                self.device_mut(id).fold(stamp, body);
            }
        }
        if out_of_order { Folded::Rebuild } else { Folded::In }
    }

    fn fit_mut(&mut self, stamp: &Stamp) -> &mut FitLog {
        let id = self.canonical(stamp.subject);
        if id != DeviceId::WORKSHOP {
            let device = self.device_mut(id);
            device.entries += 1;
            device.last_seen = device.last_seen.max(stamp.seen);
        }
        self.fits.entry(id).or_default()
    }

    /// Notes what a reading shows to have happened: a value that was known is another now.
    fn show(
        &mut self,
        stamp: &Stamp,
        id: DeviceId,
        (part, field): (&Part, Field),
        before: Option<&Value>,
        is_known: bool,
    ) {
        let Some(device) = self.device(id) else { return };
        let (sort, after) = (device.sort, device.one(part, field));
        if before == after.as_ref() {
            return;
        }
        // A value that clashes with the one that was known is another one, too; and one that wasn't
        // known for a while is compared with the last that was.
        let key = (id, part.clone(), field);
        let last = before.cloned().or_else(|| self.unknown_now.remove(&key));
        let changed = last.is_some() && (after.is_some() && after != last || after.is_none() && is_known);
        let in_aircraft = |value: Option<&Value>| match value {
            Some(Value::Device(aircraft)) => Some(self.canonical(*aircraft)),
            _ => None,
        };
        let mut shown: Vec<(DeviceId, Shown)> = Vec::new();
        match field {
            Field::Aircraft if sort == Some(Sort::Receiver) && *part == Part::Whole => {
                let (was, is) = (in_aircraft(before), in_aircraft(after.as_ref()));
                if was != is {
                    shown.extend(was.map(|aircraft| (aircraft, Shown::ReceiverOut(id))));
                    shown.extend(is.map(|aircraft| (aircraft, Shown::ReceiverIn(id))));
                }
            }
            Field::State if matches!(&after, Some(Value::Text(word)) if State::from_word(word) == Some(State::Crashed)) =>
            {
                shown.push((id, Shown::Crashed));
            }
            // What wasn't known before may have been so all along.
            Field::Pack if changed => shown.push((id, Shown::PackChanged)),
            Field::Handset if changed => shown.push((id, Shown::HandsetChanged)),
            Field::End if changed => {
                if let Part::Memory(memory) = part {
                    shown.push((id, Shown::MemoryEndChanged(memory.clone())));
                }
            }
            Field::Antenna | Field::Firmware if changed => {
                if let Part::End(end) = part {
                    let end = end.clone();
                    let is_antenna = field == Field::Antenna;
                    let one =
                        if is_antenna { Shown::AntennaChanged(end) } else { Shown::FirmwareChanged(end) };
                    shown.push((id, one));
                }
            }
            _ => {}
        }
        if after.is_none()
            && !is_known
            && let Some(last) = last
        {
            self.unknown_now.insert(key, last);
        }
        for (id, one) in shown {
            self.fits.entry(id).or_default().shown.push(Mark::new(stamp, one));
        }
    }

    fn set(&mut self, key: &str, value: Option<String>) {
        if let Some(which) = key.strip_prefix("minutes.") {
            match value.as_deref().and_then(minutes) {
                Some(minutes) => self.minutes.set(which, minutes),
                None => self.minutes.clear(which),
            }
        }
        // Its file is read anew, and what the setting says now put in.
        if let Some(used) = family_of_setting(key).and_then(|name| self.families.get_mut(&name)) {
            used.family = None;
        }
        match value {
            Some(value) => self.settings.insert(key.to_owned(), value),
            None => self.settings.remove(key),
        };
    }

    fn device_mut(&mut self, id: DeviceId) -> &mut Device {
        let at = *self.index.entry(id).or_insert_with(|| {
            self.devices.push(Device::new(id));
            self.devices.len() - 1
        });
        &mut self.devices[at]
    }

    /// Every device, in the order in which the logbook first speaks of them.
    pub fn devices(&self) -> &[Device] {
        &self.devices
    }

    /// One device.
    pub fn device(&self, id: DeviceId) -> Option<&Device> {
        self.index.get(&self.canonical(id)).map(|at| &self.devices[*at])
    }

    /// Every id that stands for the same device as `id`, itself included.
    pub fn group(&self, id: DeviceId) -> Vec<DeviceId> {
        let under = self.canonical(id);
        let mut group: Vec<DeviceId> =
            self.joined().filter(|(_, have)| *have == under).map(|(id, _)| id).collect();
        group.push(under);
        group.sort_unstable();
        group
    }

    /// The ids that were joined to another, with the one they stand under.
    pub fn joined(&self) -> impl Iterator<Item = (DeviceId, DeviceId)> {
        self.alias.keys().map(|id| (*id, self.canonical(*id)))
    }

    /// Whether an entry has been struck.
    pub fn is_struck(&self, entry: EntryId) -> bool {
        self.struck.contains(&entry)
    }

    /// The families in use, by squeezed name.
    pub fn families(&self) -> impl Iterator<Item = (&str, &FamilyUse)> {
        self.families.iter().map(|(name, used)| (name.as_str(), used))
    }

    /// What the file of a family says, where the workshop has one that can be read.
    pub fn family(&self, name: &str) -> Option<&Arc<Family>> {
        self.families.get(&squeeze(name))?.family.as_ref()
    }

    /// The family files that are named but not yet read.
    pub fn unread_families(&self) -> Vec<(String, Digest)> {
        self.families
            .iter()
            .filter(|(_, used)| used.family.is_none())
            .map(|(name, used)| (name.clone(), used.file))
            .collect()
    }

    /// Says what a named family file says.
    pub fn give_family(&mut self, file: Digest, family: &Arc<Family>) {
        for used in self.families.values_mut().filter(|used| used.file == file) {
            used.family = Some(family.clone());
        }
    }

    /// The column mapping that was last used for a header.
    pub fn mapping(&self, header: &str) -> Option<Digest> {
        self.mappings.get(header).copied()
    }

    /// Every mapping's file.
    pub fn mappings(&self) -> impl Iterator<Item = (&str, Digest)> {
        self.mappings.iter().map(|(header, file)| (header.as_str(), *file))
    }

    /// A setting.
    pub fn setting(&self, key: &str) -> Option<&str> {
        self.settings.get(key).map(String::as_str)
    }

    /// Every setting.
    pub fn settings(&self) -> impl Iterator<Item = (&str, &str)> {
        self.settings.iter().map(|(key, value)| (key.as_str(), value.as_str()))
    }

    /// The minutes of checks and mends.
    pub fn minutes(&self) -> &MinutesTable {
        &self.minutes
    }

    /// Every fault trail, in the order in which they began.
    pub fn trails(&self) -> &[TrailLog] {
        &self.trails
    }

    /// One fault trail.
    pub fn trail(&self, id: EntryId) -> Option<&TrailLog> {
        self.trails.iter().find(|log| log.id() == id)
    }

    /// Every refit, in the order in which they began.
    pub fn refits(&self) -> &[RefitLog] {
        &self.refits
    }

    /// One refit.
    pub fn refit(&self, id: EntryId) -> Option<&RefitLog> {
        self.refits.iter().find(|log| log.id() == id)
    }

    /// What was fitted, proven and worked on, of one device.
    pub fn fit(&self, id: DeviceId) -> Option<&FitLog> {
        self.fits.get(&self.canonical(id))
    }

    /// How trails ended, also those whose other entries were erased.
    pub fn trail_closings(&self) -> &[Mark<Closed>] {
        &self.closings
    }

    /// The greatest clock folded in.
    pub fn newest(&self) -> Clock {
        self.newest
    }

    /// How many entries were folded in, struck ones included.
    pub fn entries(&self) -> u64 {
        self.entries
    }

    /// The latest moment that any entry says something was seen.
    pub fn newest_seen(&self) -> Moment {
        self.newest_seen
    }
}
