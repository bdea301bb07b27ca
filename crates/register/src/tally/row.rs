//! One transmitter against every receiver.

use std::collections::HashMap;
use std::hash::Hash;
use std::sync::Arc;

use crate::family::{Family, Version};
use crate::fleet::Fleet;
use crate::rule::{self, Rule, Status, Verdict};
use crate::verdict;
use crate::view::{BandKey, EndView, ModelId, PartnerView, TransmitterView, WordKey};

use super::Alike;
use super::code::{self, CODES, Code};
use super::index::{ClassId, EndAt, Index, id_marks, secret_marks};

/// What the tally knows of one link.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Cell {
    pub(super) code: Code,
    pub(super) family: u32,
    /// Whether the link is meant to hold.
    pub wanted: bool,
}

impl Cell {
    /// The verdict.
    pub fn verdict(&self) -> Verdict {
        self.code.verdict()
    }

    /// What one rule came to; `None` where it does not arise.
    pub fn status(&self, rule: Rule) -> Option<Status> {
        self.code.status(rule)
    }

    /// Every rule's status, in the order of [`Rule::ALL`].
    pub fn by_rule(&self) -> [Option<Status>; 7] {
        self.code.by_rule()
    }
}

/// The links of one transmitter to every receiver, in the fleet's order.
#[derive(Clone, Debug, Default)]
pub struct Row {
    class_of: Vec<ClassId>,
    alone: Vec<(Code, u32)>,
    groups: Vec<(Code, u32)>,
    /// By receiver, in order.
    special: Vec<(u32, Cell)>,
}

impl Row {
    /// The link to the receiver at this place of the fleet's list.
    pub fn cell(&self, receiver: usize) -> Option<Cell> {
        let class = *self.class_of.get(receiver)?;
        let special = u32::try_from(receiver)
            .ok()
            .and_then(|receiver| self.special.binary_search_by_key(&receiver, |(at, _)| *at).ok());
        Some(special.map_or_else(|| self.of_class(class), |at| self.special[at].1))
    }

    /// The links to every receiver.
    pub fn cells(&self) -> impl Iterator<Item = Cell> {
        let mut special = self.special.iter().peekable();
        self.class_of.iter().zip(0u32..).map(move |(class, receiver)| {
            match special.next_if(|(at, _)| *at == receiver) {
                Some((_, cell)) => *cell,
                None => self.of_class(*class),
            }
        })
    }

    fn of_class(&self, class: ClassId) -> Cell {
        let (code, family) = match class {
            ClassId::Alone(end) => self.alone[end as usize],
            ClassId::Group(group) => self.groups[group as usize],
        };
        // Whatever makes a link wanted makes its receiver special.
        Cell { code, family, wanted: false }
    }
}

/// Statuses by value, kept while transmitters share values.
type Table = Arc<[u16]>;

/// A transmitter's end with every class of receiver ends.
#[derive(Debug, Default)]
pub(crate) struct EndCodes {
    pub(super) codes: Vec<Code>,
    /// The family all its links are reported under, or that of each class.
    family: u32,
    families: Vec<u32>,
}

impl EndCodes {
    #[inline]
    fn at(&self, class: u32) -> (Code, u32) {
        let class = class as usize;
        (self.codes[class], self.families.get(class).copied().unwrap_or(self.family))
    }
}

/// Memory that is used again from one transmitter to the next.
#[derive(Debug)]
pub(super) struct Scratch {
    families: HashMap<Vec<String>, Table>,
    bands: HashMap<Vec<BandKey>, Table>,
    regions: HashMap<(usize, Vec<WordKey<String>>), Table>,
    versions: HashMap<(usize, Vec<WordKey<Version>>), Table>,
    cores: Vec<u16>,
    secrets: Vec<u16>,
    ids: Vec<u16>,
    ends: Vec<EndCodes>,
    dense: Vec<u32>,
    touched: Vec<u32>,
    sparse: HashMap<u32, u32>,
}

/// Counts of the first so many families are kept in an array.
const DENSE_FAMILIES: usize = 32;

/// Tables kept of each sort.
const KEPT_TABLES: usize = 256;

impl Scratch {
    pub(super) fn new() -> Scratch {
        Scratch {
            families: HashMap::new(),
            bands: HashMap::new(),
            regions: HashMap::new(),
            versions: HashMap::new(),
            cores: Vec::new(),
            secrets: Vec::new(),
            ids: Vec::new(),
            ends: Vec::new(),
            dense: Vec::new(),
            touched: Vec::new(),
            sparse: HashMap::new(),
        }
    }
}

fn kept<K: Hash + Eq>(tables: &mut HashMap<K, Table>, key: K, make: impl FnOnce() -> Table) -> Table {
    if let Some(table) = tables.get(&key) {
        return table.clone();
    }
    if tables.len() >= KEPT_TABLES {
        tables.clear();
    }
    let table = make();
    tables.insert(key, table.clone());
    table
}

/// Nothing is known of a rule where nobody says what the rules are.
fn under(rules: Option<&Family>, ask: impl FnOnce(&Family) -> Status) -> Status {
    rules.map_or(Status::Unknown, ask)
}

impl Index {
    /// One link, judged by itself.
    pub(super) fn cell(&self, fleet: &Fleet, transmitter: usize, receiver: usize) -> Cell {
        let (t, r) = (&fleet.transmitters[transmitter], &fleet.receivers[receiver]);
        let best = verdict::best(t, r);
        let (te, re) = (&t.ends[best.transmitter], &r.ends[best.receiver]);
        let name = rule::rules_for(te, re).map(|family| &family.name);
        let name = name.or_else(|| te.family.one()).or_else(|| re.family.one());
        Cell { code: Code::of(&best.ruling), family: self.link_family(name), wanted: verdict::wanted(t, r) }
    }

    /// The receivers that a transmitter's classes don't speak for, in order.
    pub(super) fn special(&self, transmitter: &TransmitterView) -> Vec<u32> {
        let mut special = self.remembering(transmitter.card.id).to_vec();
        for memory in &transmitter.memories {
            if let Some(Some(aircraft)) = memory.aircraft.one() {
                special.extend(self.fitted_in(*aircraft));
            }
            for (id, _) in &memory.model_id.options {
                if let ModelId::Id(number) = id {
                    special.extend(self.ids.rare.get(number).into_iter().flatten());
                }
            }
        }
        for mark in transmitter.ends.iter().flat_map(secret_marks) {
            special.extend(self.secrets.rare.get(&mark).into_iter().flatten());
        }
        special.sort_unstable();
        special.dedup();
        special
    }

    /// The code and family of a transmitter's end with every class of receiver ends.
    pub(super) fn end_codes(
        &self,
        fleet: &Fleet,
        transmitter: &TransmitterView,
        end: usize,
        scratch: &mut Scratch,
        out: &mut EndCodes,
    ) {
        let t = &transmitter.ends[end];
        let table = |rule: Rule, ends: &[EndAt], ask: &dyn Fn(&EndView) -> Status| -> Table {
            ends.iter().map(|at| Code::bits(rule, ask(at.view(fleet)))).collect()
        };
        let rules = t.rules.as_ref().map_or(0, |family| Arc::as_ptr(family) as usize);
        let keys = &t.keys;
        let families = kept(&mut scratch.families, keys.family.clone(), || {
            table(Rule::Family, &self.families, &|r| rule::family(keys, &r.keys))
        });
        let bands = kept(&mut scratch.bands, keys.band.clone(), || {
            table(Rule::Band, &self.bands, &|r| rule::band(keys, &r.keys))
        });
        let regions = kept(&mut scratch.regions, (rules, keys.region.clone()), || {
            table(Rule::Region, &self.regions, &|r| {
                under(rule::rules_for(t, r), |rules| rule::region(rules, keys, &r.keys))
            })
        });
        let versions = kept(&mut scratch.versions, (rules, keys.version.clone()), || {
            table(Rule::Version, &self.versions, &|r| {
                under(rule::rules_for(t, r), |rules| rule::version(rules, keys, &r.keys))
            })
        });
        scratch.cores.clear();
        scratch.cores.extend(self.cores.iter().map(|core| {
            families[core.family as usize]
                | bands[core.band as usize]
                | regions[core.region as usize]
                | versions[core.version as usize]
        }));
        self.secret_bits(fleet, t, &mut scratch.secrets);
        self.id_bits(fleet, transmitter, t, &mut scratch.ids);
        let (cores, secrets, ids) = (&scratch.cores, &scratch.secrets, &scratch.ids);
        out.codes.clear();
        out.codes.extend(self.ends.iter().map(|class| {
            Code::of_bits(
                cores[class.core as usize] | secrets[class.secret as usize] | ids[class.model_id as usize],
            )
        }));
        out.families.clear();
        if let Some(own) = t.rules.as_deref() {
            out.family = self.link_family(Some(&own.name));
            return;
        }
        // Without a family file at this end the receiver's comes first, then this end's
        // own word for its family, then the receiver's.
        let own = t.family.one().map(|name| self.link_family(Some(name)));
        out.families.extend(self.ends.iter().map(|class| {
            let core = self.cores[class.core as usize];
            let named = self.versions[core.version as usize].view(fleet).rules.is_some();
            own.filter(|_| !named).unwrap_or(class.named)
        }));
    }

    fn secret_bits(&self, fleet: &Fleet, t: &EndView, out: &mut Vec<u16>) {
        let marks = secret_marks(t);
        let ask = |at: EndAt| {
            let r = at.view(fleet);
            // Receivers that remember the transmitter are special.
            let stranger = PartnerView { known: Vec::new(), all: r.partners.all };
            let (secret, pairing) = match rule::rules_for(t, r) {
                None => (Status::Unknown, Status::Unknown),
                Some(rules) => {
                    let unpaired = rule::links_unpaired(rules, &t.keys, &r.keys);
                    let pairing = rule::pairing(unpaired, rule::remembers(&stranger, &t.end));
                    (rule::secret(rules, t, r), pairing)
                }
            };
            Code::bits(Rule::Secret, secret) | Code::bits(Rule::Pairing, pairing)
        };
        let field = &self.secrets;
        let special = |at: &EndAt| secret_marks(at.view(fleet)).iter().any(|mark| marks.contains(mark));
        // A shape whose every value is special needs no answer of its own.
        let shapes: Vec<u16> = field
            .shapes
            .iter()
            .map(|ends| ends.iter().find(|at| !special(at)).map_or(0, |at| ask(*at)))
            .collect();
        out.clear();
        out.extend(field.values.iter().map(|value| shapes[value.shape as usize]));
        for value in marks.iter().filter_map(|mark| field.common.get(mark)).flatten() {
            out[*value as usize] = ask(field.values[*value as usize].end);
        }
    }

    fn id_bits(&self, fleet: &Fleet, transmitter: &TransmitterView, t: &EndView, out: &mut Vec<u16>) {
        let mut marks: Vec<u32> = transmitter
            .memories
            .iter()
            .flat_map(|memory| &memory.model_id.options)
            .filter_map(|(id, _)| match id {
                ModelId::Id(number) => Some(*number),
                ModelId::Off => None,
            })
            .collect();
        marks.sort_unstable();
        marks.dedup();
        let ask = |at: EndAt| {
            let r = at.view(fleet);
            let ids: Vec<ModelId> = r.model_id.options.iter().map(|(id, _)| *id).collect();
            // Receivers in an aircraft that a memory flies are special.
            let status = under(rule::rules_for(t, r), |rules| {
                rule::model_id(rules, &t.end.end, &transmitter.memories, &ids, None).status
            });
            Code::bits(Rule::ModelId, status)
        };
        let field = &self.ids;
        let special =
            |at: &EndAt| id_marks(at.view(fleet)).iter().any(|mark| marks.binary_search(mark).is_ok());
        let shapes: Vec<u16> = field
            .shapes
            .iter()
            .map(|ends| ends.iter().find(|at| !special(at)).map_or(0, |at| ask(*at)))
            .collect();
        out.clear();
        out.extend(field.values.iter().map(|value| shapes[value.shape as usize]));
        for value in marks.iter().filter_map(|mark| field.common.get(mark)).flatten() {
            out[*value as usize] = ask(field.values[*value as usize].end);
        }
    }

    /// Fills in what each class of receiver ends comes to with each end.
    fn by_end(&self, fleet: &Fleet, transmitter: &TransmitterView, scratch: &mut Scratch) {
        let mut ends = std::mem::take(&mut scratch.ends);
        ends.resize_with(transmitter.ends.len(), EndCodes::default);
        for (at, out) in ends.iter_mut().enumerate() {
            self.end_codes(fleet, transmitter, at, scratch, out);
        }
        scratch.ends = ends;
    }

    fn class_code(&self, ends: &[EndCodes], class: ClassId) -> (Code, u32) {
        match class {
            ClassId::Alone(end) => best(ends, &[end]),
            ClassId::Group(group) => best(ends, &self.groups[group as usize]),
        }
    }
}

/// The ends that fit best; ties go to those that come first.
fn best(ends: &[EndCodes], class: &[u32]) -> (Code, u32) {
    if let ([only], [end]) = (ends, class) {
        return only.at(*end);
    }
    let mut best: Option<(u16, (Code, u32))> = None;
    for codes in ends {
        for end in class {
            let found = codes.at(*end);
            let rank = code::rank(found.0);
            if best.is_none_or(|(have, _)| rank < have) {
                best = Some((rank, found));
            }
        }
    }
    best.map_or((Code::default(), 0), |(_, found)| found)
}

/// Every link of a transmitter.
pub(super) fn row(index: &Index, fleet: &Fleet, transmitter: usize, scratch: &mut Scratch) -> Row {
    let view = &fleet.transmitters[transmitter];
    index.by_end(fleet, view, scratch);
    let ends = &scratch.ends;
    let alone = (0..).zip(&index.ends).map(|(end, _)| best(ends, &[end])).collect();
    let groups = index.groups.iter().map(|group| best(ends, group)).collect();
    let special = index
        .special(view)
        .into_iter()
        .map(|receiver| (receiver, index.cell(fleet, transmitter, receiver as usize)))
        .collect();
    Row { class_of: index.class_of.clone(), alone, groups, special }
}

/// The links of a transmitter, alike ones counted together.
pub(super) fn alike(index: &Index, fleet: &Fleet, transmitter: usize, scratch: &mut Scratch) -> Vec<Alike> {
    let view = &fleet.transmitters[transmitter];
    index.by_end(fleet, view, scratch);
    let Scratch { ends, dense, touched, sparse, .. } = scratch;
    if dense.is_empty() {
        dense.resize(DENSE_FAMILIES * CODES, 0);
    }
    // A count may pass through zero on its way, so a touched place may be listed twice.
    let mut add = |(code, family): (Code, u32), count: u32, take_away: bool| {
        let key = family << 14 | u32::from(code.0);
        let slot = match dense.get_mut(key as usize) {
            Some(slot) => {
                if *slot == 0 {
                    touched.push(key);
                }
                slot
            }
            None => sparse.entry(key).or_default(),
        };
        *slot = if take_away { slot.wrapping_sub(count) } else { slot.wrapping_add(count) };
    };
    match ends.as_slice() {
        // One end and one family: by far the commonest, and the longest way.
        [only] if only.families.is_empty() => {
            for (code, size) in only.codes.iter().zip(&index.alone) {
                if *size > 0 {
                    add((*code, only.family), *size, false);
                }
            }
        }
        _ => {
            for (end, size) in (0..).zip(&index.alone).filter(|(_, size)| **size > 0) {
                add(best(ends, &[end]), *size, false);
            }
        }
    }
    for (group, size) in index.groups.iter().zip(&index.group_sizes) {
        add(best(ends, group), *size, false);
    }
    let mut wanted: HashMap<(Code, u32), u32> = HashMap::new();
    for receiver in index.special(view) {
        add(index.class_code(ends, index.class_of[receiver as usize]), 1, true);
        let cell = index.cell(fleet, transmitter, receiver as usize);
        if cell.wanted {
            *wanted.entry((cell.code, cell.family)).or_default() += 1;
        } else {
            add((cell.code, cell.family), 1, false);
        }
    }
    let mut counted: Vec<(u32, u32)> = sparse.drain().collect();
    for key in touched.drain(..) {
        counted.push((key, std::mem::take(&mut dense[key as usize])));
    }
    let alike = |family: u32, code: Code, wanted: bool, count: u32| Alike {
        cell: Cell { code, family, wanted },
        count,
    };
    let mut rows: Vec<Alike> = counted
        .into_iter()
        .filter(|(_, count)| *count > 0)
        .map(|(key, count)| alike(key >> 14, Code((key & 0x3fff) as u16), false, count))
        .chain(wanted.into_iter().map(|((code, family), count)| alike(family, code, true, count)))
        .collect();
    rows.sort_unstable_by_key(|alike| (alike.cell.family, alike.cell.code, alike.cell.wanted));
    rows
}
