//! Values checked against what the link family's file allows. Nothing here quotes a
//! value: a column may be mapped wrongly, and hold a secret.

use std::collections::HashMap;
use std::sync::Arc;

use register::family::{Family, ModelIdRule, Version, VersionRule};
use register::field::{Field, Part};
use register::value::Value;
use register::view;

use super::{Planner, Settled};
use crate::export::holds;

impl Planner<'_, '_> {
    /// Refuses the rows with a value that their family doesn't know.
    pub(super) fn check(&mut self, item: usize, facts: &[Settled<'_>]) {
        let device = self.names.slots[item].device().and_then(|id| self.scene.device(id));
        let mut families: HashMap<&Part, Option<Arc<Family>>> = HashMap::new();
        let mut wrong = Vec::new();
        for settled in facts {
            if self.bad[settled.fact.unit] {
                continue;
            }
            // A memory is checked against the end that it chooses.
            let end = match &settled.part {
                Part::Whole => continue,
                Part::End(_) => settled.part.clone(),
                Part::Memory(_) if settled.fact.field != Field::ModelId => continue,
                Part::Memory(_) => {
                    let chosen = facts.iter().find_map(|other| match (&other.value, other.fact.field) {
                        (Value::Text(end), Field::End) if other.part == settled.part => Some(end.clone()),
                        _ => None,
                    });
                    let known = || {
                        device
                            .and_then(|device| device.part(&settled.part))
                            .and_then(|facts| view::words(facts, Field::End))
                    };
                    match chosen.or_else(known).or_else(|| self.only_end(item)) {
                        Some(end) => self.names.own_part(self.scene, item, Part::End(end)),
                        None => continue,
                    }
                }
            };
            let family = if let Some(family) = families.get(&settled.part) {
                family.clone()
            } else {
                let family = self.family(device, facts, &end);
                families.insert(&settled.part, family.clone());
                family
            };
            let Some(family) = family else { continue };
            let is_held = || {
                device.is_some_and(|device| {
                    let held = holds(self.scene, device, &settled.part, settled.fact.field);
                    held.iter().any(|told| told.value == settled.value)
                })
            };
            if let Some(says) = complaint(&family, settled.fact.field, &settled.value)
                && !is_held()
            {
                wrong.push((settled.fact, says));
            }
        }
        for (fact, says) in wrong {
            self.refuse_fact(fact, says);
        }
    }

    fn only_end(&self, item: usize) -> Option<String> {
        let device = self.names.slots[item].device()?;
        let ends = self.names.ends(self.scene, device, Some(item));
        match ends.as_slice() {
            [] => Some(Part::MAIN.to_owned()),
            [only] => Some(only.clone()),
            _ => None,
        }
    }

    /// The family of an end: as the list says, else as the workshop knows it.
    fn family(
        &mut self,
        device: Option<&register::register::Device>,
        facts: &[Settled<'_>],
        end: &Part,
    ) -> Option<Arc<Family>> {
        let stated = facts.iter().find_map(|settled| match &settled.value {
            Value::Text(name)
                if settled.part == *end
                    && settled.fact.field == Field::Family
                    && !self.bad[settled.fact.unit] =>
            {
                Some(name.clone())
            }
            _ => None,
        });
        let is_stated = stated.is_some();
        let name = stated.or_else(|| {
            device.and_then(|device| device.part(end)).and_then(|facts| view::words(facts, Field::Family))
        })?;
        let family = self.scene.register.family(&name).cloned();
        if family.is_none() && is_stated {
            self.plan.unknown_families.insert(name.trim().chars().take(60).collect());
        }
        family
    }
}

/// What is wrong with a value by the family's rules.
fn complaint(family: &Family, field: Field, value: &Value) -> Option<String> {
    let name = &family.name;
    match (field, value) {
        (Field::Band, Value::Text(text)) if !family.bands.is_empty() && family.band(text).is_none() => {
            let bands: Vec<&str> = family.bands.iter().map(|band| band.name.as_str()).collect();
            Some(format!("is no band of the link family {name}; its bands are {}", bands.join(", ")))
        }
        (Field::Region, Value::Text(text)) if family.region(text).is_none() => {
            let variants = &family.regions.variants;
            Some(if variants.is_empty() {
                format!("is filled, but the link family {name} has no region variants; leave it empty")
            } else {
                format!(
                    "is no region variant of the link family {name}; its variants are {}",
                    variants.join(", ")
                )
            })
        }
        (Field::Firmware, Value::Text(text))
            if family.versions != VersionRule::Any && Version::parse(text).is_none() =>
        {
            Some("is no version; write numbers with points, as in 4.1".to_owned())
        }
        (Field::ModelId, value) => match (&family.model_id, value) {
            (ModelIdRule::Checked { low, high, off, .. }, Value::Number(id))
                if !(low..=high).contains(&id) && *off != Some(*id) =>
            {
                let off = off.map_or(String::new(), |off| format!(", or {off} to switch the check off"));
                Some(format!(
                    "is no model ID of the link family {name}; its IDs go from {low} to {high}{off}"
                ))
            }
            (ModelIdRule::Checked { off: None, .. }, Value::Off) => {
                Some(format!("is off, but the link family {name} can't switch its model-ID check off"))
            }
            _ => None,
        },
        _ => None,
    }
}
