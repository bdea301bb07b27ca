//! An inventory laid beside the register: what would be written, difference by
//! difference, and which rows can't be taken.

mod check;
mod diff;
mod names;

use std::collections::{BTreeSet, HashMap};

use register::entry::{Body, Draft};
use register::field::{Field, How, Part, Sort};
use register::id::DeviceId;
use register::scene::Scene;
use register::time::Moment;
use register::value::{EndRef, Partners, SecretMark, Value};
use register::view;

use crate::inventory::{BadRow, Fact, Inventory, Origin, Said};
use crate::reference::Named;
use names::{Found, Names, Slot};

/// What only a door can give.
pub struct Context<'a> {
    /// Now: when a fact was seen of which the list doesn't say so.
    pub now: Moment,
    /// How a fact is known of which the list doesn't say so; a list is read on a label.
    pub how: How,
    /// Makes the id of a device that is new.
    pub new_id: &'a mut dyn FnMut() -> DeviceId,
    /// Makes the fingerprint of a link secret.
    pub fingerprint: &'a dyn Fn(&str) -> SecretMark,
}

/// One fact that would change.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FieldChange {
    /// The part of the device.
    pub part: Part,
    /// The fact.
    pub field: Field,
    /// What holds now; `None` when nothing is known. Never a secret.
    pub before: Option<String>,
    /// What the list says. Never a secret.
    pub after: String,
    /// Whether what is known better keeps holding: the list's value is only noted.
    pub only_noted: bool,
}

/// What would be written about one device.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposal {
    /// What to call it.
    pub label: String,
    /// What it is.
    pub sort: Sort,
    /// Its id.
    pub device: DeviceId,
    /// Whether the workshop doesn't have it yet.
    pub is_new: bool,
    /// The rows (in a workshop file: lines) that speak of it.
    pub rows: Vec<u64>,
    /// What would change.
    pub changes: Vec<FieldChange>,
    /// What would be written.
    pub drafts: Vec<Draft>,
}

/// A setting that would change.
#[derive(Clone, Debug, PartialEq)]
pub struct SettingChange {
    /// Which.
    pub key: String,
    /// What holds now; `None` for the default.
    pub before: Option<String>,
    /// What the file says.
    pub after: String,
    /// What would be written.
    pub draft: Draft,
}

/// What an inventory would change.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Plan {
    /// Device by device, in the list's order.
    pub proposals: Vec<Proposal>,
    /// Settings of the workshop.
    pub settings: Vec<SettingChange>,
    /// Rows that can't be taken, beside those that couldn't be read.
    pub bad: Vec<BadRow>,
    /// How many devices are in the register just as the list has them.
    pub unchanged: u64,
    /// Link families that the list names and the workshop has no file of: their values
    /// were not checked.
    pub unknown_families: BTreeSet<String>,
}

impl Plan {
    /// Everything that would be written.
    pub fn drafts(&self) -> impl Iterator<Item = &Draft> {
        let devices = self.proposals.iter().flat_map(|proposal| &proposal.drafts);
        self.settings.iter().map(|setting| &setting.draft).chain(devices)
    }
}

/// A fact whose names are looked up.
struct Settled<'a> {
    part: Part,
    fact: &'a Fact,
    value: Value,
}

/// Lays an inventory beside what the workshop has.
pub fn plan(inventory: &Inventory, scene: &Scene<'_>, context: &mut Context<'_>) -> Plan {
    let mut planner = Planner {
        names: Names::new(inventory, scene, &mut *context.new_id),
        inventory,
        scene,
        bad: vec![false; inventory.units.len()],
        plan: Plan::default(),
        created: Vec::new(),
        created_by_name: HashMap::new(),
        created_names: HashMap::new(),
        leans_on: HashMap::new(),
    };
    planner.refuse_unmatched();
    let settled: Vec<Vec<Settled<'_>>> =
        (0..inventory.items.len()).map(|item| planner.settle(item, context)).collect();
    for (item, facts) in settled.iter().enumerate() {
        planner.check(item, facts);
    }
    planner.refuse_what_leans_on_lost();
    planner.create_aircraft(context);
    for (item, facts) in settled.iter().enumerate() {
        planner.propose(item, facts, context);
    }
    planner.settings(context);
    let mut plan = planner.plan;
    plan.bad.sort_by_key(|bad| (bad.row, bad.line));
    plan
}

/// An aircraft that the list only names.
struct Created<'a> {
    name: &'a str,
    device: DeviceId,
    facts: Vec<&'a Fact>,
}

struct Planner<'a, 's> {
    inventory: &'a Inventory,
    scene: &'a Scene<'s>,
    names: Names<'a>,
    /// By unit: whether it can't be taken.
    bad: Vec<bool>,
    plan: Plan,
    created: Vec<Created<'a>>,
    created_by_name: HashMap<String, usize>,
    /// What the created aircraft are called.
    created_names: HashMap<DeviceId, &'a str>,
    /// By item: the facts that name it.
    leans_on: HashMap<usize, Vec<&'a Fact>>,
}

impl<'a> Planner<'a, '_> {
    fn refuse(&mut self, unit: usize, line: u64, column: String, says: impl Into<String>) {
        let Some(held) = self.inventory.units.get(unit) else { return };
        self.bad[unit] = true;
        let row = if self.inventory.origin == Origin::Toml { line } else { held.row };
        self.plan.bad.push(BadRow { origin: self.inventory.origin, row, line, column, says: says.into() });
    }

    fn refuse_fact(&mut self, fact: &Fact, says: impl Into<String>) {
        let column = self.inventory.column(fact.field);
        self.refuse(fact.unit, fact.line, column, says);
    }

    /// Refuses the rows of devices that can't be told.
    fn refuse_unmatched(&mut self) {
        for (at, unit) in self.inventory.units.iter().enumerate() {
            if let Slot::Refused(says) = &self.names.slots[unit.item] {
                let says = says.clone();
                self.refuse(at, unit.line, String::new(), says);
            }
        }
    }

    /// Looks up every name in an item's facts.
    fn settle(&mut self, item: usize, context: &mut Context<'_>) -> Vec<Settled<'a>> {
        let inventory = self.inventory;
        let mut settled = Vec::new();
        for (part, facts) in inventory.items[item].parts() {
            let part = self.names.own_part(self.scene, item, part);
            for fact in facts {
                if self.bad[fact.unit] {
                    continue;
                }
                match self.value(fact, context) {
                    Ok(value) => settled.push(Settled { part: part.clone(), fact, value }),
                    Err(says) => self.refuse_fact(fact, says),
                }
            }
        }
        settled
    }

    fn value(&mut self, fact: &'a Fact, context: &mut Context<'_>) -> Result<Value, String> {
        Ok(match &fact.said {
            Said::Value(value) => value.clone(),
            Said::Secret(plain) => Value::Secret((context.fingerprint)(plain.expose())),
            Said::SameAs(named) => Value::Secret(SecretMark::SameAs(self.end(fact, named, None)?)),
            Said::Partners { ends, all } => {
                let found: Result<Vec<EndRef>, String> =
                    ends.iter().map(|named| self.end(fact, named, Some(Sort::Transmitter))).collect();
                let mut ends: Vec<EndRef> = Vec::new();
                for end in found? {
                    if !ends.contains(&end) {
                        ends.push(end);
                    }
                }
                Value::Partners(Partners { ends, all: *all })
            }
            Said::Aircraft(name) => match self.names.find(name, Some(Sort::Aircraft)) {
                Found::One(device, item) => {
                    self.lean(item, fact);
                    Value::Device(device)
                }
                Found::Nothing => Value::Device(self.aircraft_named(name, fact, context)),
                Found::Lost => return Err(LOST.to_owned()),
                Found::Several => return Err(SEVERAL.to_owned()),
            },
        })
    }

    fn lean(&mut self, item: Option<usize>, fact: &'a Fact) {
        if let Some(item) = item {
            self.leans_on.entry(item).or_default().push(fact);
        }
    }

    fn end(&mut self, fact: &'a Fact, named: &Named, sort: Option<Sort>) -> Result<EndRef, String> {
        let mut found = self.names.find(&named.device, sort);
        let split =
            named.device.split_once(' ').and_then(|(word, rest)| Some((Sort::from_word(word)?, rest)));
        if let (Found::Nothing | Found::Several, None, Some((sort, rest))) = (&found, sort, split) {
            found = self.names.find(rest, Some(sort));
        }
        let (device, item) = match found {
            Found::One(device, item) => (device, item),
            Found::Nothing => {
                return Err(match sort {
                    Some(sort) => format!(
                        "names no {} of this list or the workshop; correct the name, or add a row for it",
                        sort.word()
                    ),
                    None => {
                        "names no device of this list or the workshop; correct the name, or add a row for it"
                            .to_owned()
                    }
                });
            }
            Found::Lost => return Err(LOST.to_owned()),
            Found::Several => return Err(SEVERAL.to_owned()),
        };
        let ends = self.names.ends(self.scene, device, item);
        let end = match &named.end {
            Some(end) => names::own_key(&ends.iter(), end).unwrap_or_else(|| end.clone()),
            None => match ends.as_slice() {
                [] => Part::MAIN.to_owned(),
                [only] => only.clone(),
                several if several.iter().any(|end| end == Part::MAIN) => Part::MAIN.to_owned(),
                _ => {
                    return Err(
                        "names a device with several ends; write the end after it in brackets, as in T1 (internal)"
                            .to_owned(),
                    );
                }
            },
        };
        self.lean(item, fact);
        Ok(EndRef { device, end })
    }

    /// An aircraft that nothing else describes: it is offered as a new one.
    fn aircraft_named(&mut self, name: &'a str, fact: &'a Fact, context: &mut Context<'_>) -> DeviceId {
        let created = &mut self.created;
        let at = *self.created_by_name.entry(name.to_lowercase()).or_insert_with(|| {
            let id = name.parse().unwrap_or_else(|_| (context.new_id)());
            created.push(Created { name, device: id, facts: Vec::new() });
            created.len() - 1
        });
        self.created[at].facts.push(fact);
        self.created[at].device
    }

    /// Refuses rows that name, or belong to, a new device whose own rows can't be taken.
    fn refuse_what_leans_on_lost(&mut self) {
        let inventory = self.inventory;
        // By unit: whether it gives a device its name.
        let mut names_it = vec![false; inventory.units.len()];
        let mut left = vec![0_usize; inventory.items.len()];
        for item in &inventory.items {
            let keys = item.whole.iter().filter(|fact| matches!(fact.field, Field::Code | Field::Name));
            keys.for_each(|fact| names_it[fact.unit] = true);
        }
        for (at, unit) in inventory.units.iter().enumerate() {
            names_it[at] |= inventory.items[unit.item].id.is_some();
            left[unit.item] += usize::from(names_it[at] && !self.bad[at]);
        }
        let is_gone = |names: &Names<'_>, left: &[usize], item: usize| {
            left[item] == 0 && matches!(names.slots[item], Slot::New(_))
        };
        let mut gone: Vec<usize> =
            (0..left.len()).filter(|item| is_gone(&self.names, &left, *item)).collect();
        while let Some(item) = gone.pop() {
            for unit in self.names.units_of(item).to_vec() {
                if !self.bad[unit] {
                    self.refuse(unit, inventory.units[unit].line, String::new(), LOST_OWNER);
                }
            }
            for fact in self.leans_on.remove(&item).unwrap_or_default() {
                if self.bad[fact.unit] {
                    continue;
                }
                self.refuse_fact(fact, LOST);
                let owner = inventory.units[fact.unit].item;
                if names_it[fact.unit] {
                    left[owner] -= 1;
                    if is_gone(&self.names, &left, owner) {
                        gone.push(owner);
                    }
                }
            }
        }
    }

    /// Proposes the aircraft that good rows name and nothing describes.
    fn create_aircraft(&mut self, context: &Context<'_>) {
        for created in std::mem::take(&mut self.created) {
            let good: Vec<&Fact> = created.facts.into_iter().filter(|fact| !self.bad[fact.unit]).collect();
            let Some(first) = good.first() else { continue };
            let mut rows: Vec<u64> = good.iter().map(|fact| self.inventory.units[fact.unit].row).collect();
            rows.dedup();
            let seen = first.seen.unwrap_or(context.now);
            let name = created.name.to_owned();
            self.created_names.insert(created.device, created.name);
            let reading = Body::Reading {
                part: Part::Whole,
                how: first.how.unwrap_or(context.how),
                facts: vec![(Field::Name, Value::Text(name.clone()))],
                replaces: Vec::new(),
            };
            let draft = |body| Draft { seen, subject: created.device, body };
            self.plan.proposals.push(Proposal {
                label: name.clone(),
                sort: Sort::Aircraft,
                device: created.device,
                is_new: true,
                rows,
                changes: vec![FieldChange {
                    part: Part::Whole,
                    field: Field::Name,
                    before: None,
                    after: name,
                    only_noted: false,
                }],
                drafts: vec![draft(Body::Device { sort: Sort::Aircraft }), draft(reading)],
            });
        }
    }

    fn settings(&mut self, context: &Context<'_>) {
        for (key, value, _) in &self.inventory.settings {
            let before = self.scene.register.setting(key).map(str::to_owned);
            if before.as_deref() == Some(value) {
                continue;
            }
            let body = Body::Setting { key: key.clone(), value: Some(value.clone()) };
            self.plan.settings.push(SettingChange {
                key: key.clone(),
                before,
                after: value.clone(),
                draft: Draft { seen: context.now, subject: DeviceId::WORKSHOP, body },
            });
        }
    }

    /// What to call an item in the plan.
    fn label(&self, item: usize, device: DeviceId) -> String {
        let held = &self.inventory.items[item];
        let card = self.scene.device(device).map(view::card);
        let code = held.code.clone().or_else(|| card.as_ref().and_then(|card| card.code.clone()));
        let name = held.name.clone().or_else(|| card.as_ref().and_then(|card| card.name.clone()));
        match (code, name) {
            (Some(code), Some(name)) if code != name => format!("{code} {name}"),
            (Some(words), _) | (None, Some(words)) => words,
            (None, None) => card.map_or_else(|| device.to_string(), |card| card.label()),
        }
    }
}

const LOST: &str = "names a device whose own row can't be taken; correct that row first";
const LOST_OWNER: &str = "belongs to a device whose own row can't be taken; correct that row first";
const SEVERAL: &str = "names several devices; write the code of the one that is meant, or its id, or give each a name of its own";
