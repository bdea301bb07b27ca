//! What of a device differs from what the workshop knows, and the entries that say so.

use std::collections::BTreeMap;

use register::entry::{Body, Draft};
use register::family::{Family, Version};
use register::field::{Field, How, Part};
use register::id::{DeviceId, EntryId};
use register::register::Device;
use register::time::Moment;
use register::value::{Partners, SecretMark, Value};
use register::view;

use super::{Context, FieldChange, Planner, Proposal, Settled, Slot};
use crate::export::{Told, holds};

/// Readings that share an entry: part, how, when, and which of several of one fact.
type Group = (Part, How, Moment, usize);

impl Planner<'_, '_> {
    /// Proposes what an item would change.
    pub(super) fn propose(&mut self, item: usize, facts: &[Settled<'_>], context: &Context<'_>) {
        let (device_id, is_new) = match self.names.slots[item] {
            Slot::Known(id) => (id, false),
            Slot::New(id) => (id, true),
            Slot::Refused(_) => return,
        };
        let mut units: Vec<usize> = facts.iter().map(|settled| settled.fact.unit).collect();
        units.extend_from_slice(self.names.units_of(item));
        units.sort_unstable();
        units.dedup();
        units.retain(|unit| !self.bad[*unit]);
        if units.is_empty() {
            return;
        }
        let sort = self.inventory.items[item].sort;
        let device = if is_new { None } else { self.scene.device(device_id) };
        let mut changes = Vec::new();
        let mut groups: BTreeMap<Group, Vec<(Field, Value)>> = BTreeMap::new();
        for ((part, field), several) in by_fact(facts, &self.bad) {
            if let Some(change) = self.change(device, part, field, &several, context) {
                changes.push(change);
                for (nth, settled) in several.iter().enumerate() {
                    let how = settled.fact.how.unwrap_or(context.how);
                    let seen = settled.fact.seen.unwrap_or(context.now);
                    let group = (part.clone(), how, seen, nth);
                    groups.entry(group).or_default().push((field, settled.value.clone()));
                }
            }
        }
        if !is_new && changes.is_empty() {
            self.plan.unchanged += 1;
            return;
        }
        let first_seen = groups.keys().map(|(_, _, seen, _)| *seen).min().unwrap_or(context.now);
        let mut drafts = Vec::with_capacity(groups.len() + 1);
        if is_new {
            drafts.push(Draft { seen: first_seen, subject: device_id, body: Body::Device { sort } });
        }
        for ((part, how, seen, _), facts) in groups {
            let fields = facts.iter().map(|(field, _)| *field);
            let replaces: Vec<EntryId> =
                device.map(|device| device.standing(&part, fields)).unwrap_or_default();
            let body = Body::Reading { part, how, facts, replaces };
            drafts.push(Draft { seen, subject: device_id, body });
        }
        let mut rows: Vec<u64> = units.iter().map(|unit| self.inventory.units[*unit].row).collect();
        rows.dedup();
        let label = self.label(item, device_id);
        self.plan.proposals.push(Proposal { label, sort, device: device_id, is_new, rows, changes, drafts });
    }

    /// The change that the list's values of one fact amount to, if any.
    fn change(
        &self,
        device: Option<&Device>,
        part: &Part,
        field: Field,
        several: &[&Settled<'_>],
        context: &Context<'_>,
    ) -> Option<FieldChange> {
        let held = device.map(|device| holds(self.scene, device, part, field)).unwrap_or_default();
        let family = device.and_then(|device| match part {
            Part::End(key) => view::words(&device.ends.get(key)?.facts, Field::Family),
            _ => None,
        });
        let family = family.and_then(|name| self.scene.register.family(&name).cloned());
        let alike = |a: &Value, b: &Value| same(family.as_deref(), field, a, b);
        let best_how = several.iter().map(|settled| settled.fact.how.unwrap_or(context.how)).max()?;
        let said_before = |settled: &Settled<'_>| {
            let how = settled.fact.how.unwrap_or(context.how);
            device.and_then(|device| device.part(part)).is_some_and(|facts| {
                facts.of(field).any(|reading| {
                    alike(&reading.value, &settled.value)
                        && reading.how >= how
                        && settled.fact.seen.is_none_or(|seen| reading.seen >= seen)
                })
            })
        };
        let is_new = match several {
            [] => false,
            [only] => match held.as_slice() {
                // What a row is told by is no news in it.
                [told] if alike(&told.value, &only.value) => {
                    !matches!(field, Field::Code | Field::Name) && is_stronger(told, only, context.how)
                }
                _ => !said_before(only),
            },
            _ => {
                let is_told =
                    |settled: &&Settled<'_>| held.iter().any(|told| alike(&told.value, &settled.value));
                !(several.len() == held.len() && several.iter().all(is_told))
            }
        };
        if !is_new {
            return None;
        }
        let words = |value: &Value, how: How, seen: Moment, with_source: bool| {
            let words = self.shown(value);
            if with_source { format!("{words} ({}, {})", how.word(), seen.date()) } else { words }
        };
        let is_again =
            matches!((held.as_slice(), several), ([told], [only]) if alike(&told.value, &only.value));
        let before: Vec<String> =
            held.iter().map(|told| words(&told.value, told.how, told.seen, is_again)).collect();
        let mut after: Vec<String> = several
            .iter()
            .map(|settled| {
                let how = settled.fact.how.unwrap_or(context.how);
                words(&settled.value, how, settled.fact.seen.unwrap_or(context.now), is_again)
            })
            .collect();
        if field == Field::Secret && !is_again && after == before {
            after = vec!["changed".to_owned()];
        }
        Some(FieldChange {
            part: part.clone(),
            field,
            before: (!before.is_empty()).then(|| before.join(" or ")),
            after: after.join(" or "),
            only_noted: held.iter().any(|told| told.how > best_how),
        })
    }

    /// A value in words for a person; never a secret.
    fn shown(&self, value: &Value) -> String {
        match value {
            Value::Unknown => "not known".to_owned(),
            Value::Text(text) => text.clone(),
            Value::Number(number) => number.to_string(),
            Value::Off => "check off".to_owned(),
            Value::None => "none".to_owned(),
            Value::Secret(SecretMark::Blank) => "blank".to_owned(),
            Value::Secret(SecretMark::Print { .. }) => "set".to_owned(),
            Value::Secret(SecretMark::SameAs(end)) => {
                format!("same as {}", self.called(end.device, &end.end))
            }
            Value::Device(id) => self.called(*id, Part::MAIN),
            Value::Partners(Partners { ends, all }) => {
                let names: Vec<String> = ends.iter().map(|end| self.called(end.device, &end.end)).collect();
                match (names.is_empty(), all) {
                    (true, true) => "none".to_owned(),
                    (true, false) => "not known".to_owned(),
                    (false, true) => format!("only {}", names.join(", ")),
                    (false, false) => names.join(", "),
                }
            }
        }
    }

    fn called(&self, id: DeviceId, end: &str) -> String {
        let card = self.scene.device(id).map(|device| view::card(device).label());
        let listed = || {
            let item = &self.inventory.items[self.names.item(id)?];
            item.code.clone().or_else(|| item.name.clone())
        };
        let created = || self.created_names.get(&id).map(|name| (*name).to_owned());
        let name = card.or_else(listed).or_else(created).unwrap_or_else(|| id.to_string());
        if end == Part::MAIN { name } else { format!("{name} ({end})") }
    }
}

type ByFact<'a, 'f> = BTreeMap<(&'f Part, Field), Vec<&'f Settled<'a>>>;

/// The good facts by what they are about, each value once.
fn by_fact<'a, 'f>(facts: &'f [Settled<'a>], bad: &[bool]) -> ByFact<'a, 'f> {
    let mut found: ByFact<'a, 'f> = BTreeMap::new();
    for settled in facts.iter().filter(|settled| !bad[settled.fact.unit]) {
        let several = found.entry((&settled.part, settled.fact.field)).or_default();
        if several.iter().all(|other| other.value != settled.value) {
            several.push(settled);
        }
    }
    found
}

/// Whether the list says outright that the same value is known better or seen later.
fn is_stronger(told: &Told, settled: &Settled<'_>, default: How) -> bool {
    let better = settled.fact.how.is_some_and(|how| how > told.how);
    let later = settled.fact.seen.is_some_and(|seen| seen > told.seen);
    better || later && settled.fact.how.unwrap_or(default) >= told.how
}

fn squeeze(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect()
}

/// Whether two values mean the same, however they are spelled.
fn same(family: Option<&Family>, field: Field, a: &Value, b: &Value) -> bool {
    if a == b {
        return true;
    }
    let is_empty = |value: &Value| match value {
        Value::None => true,
        Value::Partners(partners) => partners.all && partners.ends.is_empty(),
        _ => false,
    };
    match (field, a, b) {
        (Field::Partners, Value::Partners(a), Value::Partners(b)) => {
            a.all == b.all && a.ends.len() == b.ends.len() && a.ends.iter().all(|end| b.ends.contains(end))
        }
        (Field::Partners, a, b) => is_empty(a) && is_empty(b),
        (Field::ModelId, Value::Text(text), Value::Number(number))
        | (Field::ModelId, Value::Number(number), Value::Text(text)) => text.trim().parse() == Ok(*number),
        (Field::Family | Field::Region | Field::State, Value::Text(a), Value::Text(b)) => {
            squeeze(a) == squeeze(b)
        }
        (Field::Band, Value::Text(a), Value::Text(b)) => {
            let band = |text: &str| family.and_then(|family| family.band(text)).map(|band| band.name.clone());
            squeeze(a) == squeeze(b) || band(a).is_some_and(|one| band(b) == Some(one))
        }
        (Field::Firmware, Value::Text(a), Value::Text(b)) => {
            let plain = |text: &str| squeeze(text).trim_start_matches('v').to_owned();
            Version::parse(a).is_some() && plain(a) == plain(b)
        }
        _ => false,
    }
}
