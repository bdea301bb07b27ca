//! Puts rows with their devices, and refuses those that contradict an earlier one.

use register::field::{Field, Part};
use register::id::DeviceId;

use super::{Builder, MOST_FACTS, Parsed};
use crate::inventory::{Fact, Item, Unit};

impl Builder {
    /// Puts a row with its device.
    pub(super) fn place(&mut self, parsed: Parsed) {
        let (row, line) = (parsed.row, parsed.line);
        let lost =
            parsed.of.is_none().then(|| (parsed.sort, parsed.code.clone().or_else(|| parsed.name.clone())));
        if let Err((field, says)) = self.try_place(parsed) {
            let column = field.map(|field| self.inventory.column(field)).unwrap_or_default();
            self.refuse(row, line, &column, says);
            // Unless an earlier row already stands for it.
            if let Some((sort, Some(name))) = lost {
                let name = name.to_lowercase();
                if !self.index.codes.contains_key(&(sort, name.clone()))
                    && !self.index.names.contains_key(&(sort, name.clone()))
                {
                    self.inventory.lost.insert((sort, name));
                }
            }
        }
    }

    fn try_place(&mut self, parsed: Parsed) -> Result<(), (Option<Field>, String)> {
        let item = self.item_of(&parsed).map_err(|says| (None, says))?;
        if let Some(item) = item {
            self.check_repeats(item, &parsed)?;
        }
        let item = item.unwrap_or_else(|| self.new_item(&parsed));
        if !parsed.beside {
            self.stated.entry((item, parsed.part.clone(), parsed.how, parsed.seen)).or_insert(parsed.row);
        }
        let unit = self.inventory.units.len();
        self.inventory.units.push(Unit { row: parsed.row, line: parsed.line, item });
        if parsed.of.is_none() {
            self.learn_names(item, &parsed);
        }
        let held = &mut self.inventory.items[item];
        // The part is there even when nothing is said of it.
        held.part_mut(&parsed.part);
        for (part, field, said) in parsed.facts {
            held.part_mut(&part).push(Fact {
                field,
                said,
                how: parsed.how,
                seen: parsed.seen,
                beside: parsed.beside,
                unit,
                line: parsed.line,
            });
        }
        Ok(())
    }

    fn item_of(&self, parsed: &Parsed) -> Result<Option<usize>, String> {
        let sort = parsed.sort;
        let by_name = |name: &str| match self.index.names.get(&(sort, name.to_owned())).map(Vec::as_slice) {
            Some([only]) => Ok(Some(*only)),
            Some([_, ..]) => Err(format!(
                "names a {} by a name that several in the list have; give each a code, and write that",
                sort.word()
            )),
            _ => Ok(None),
        };
        if let Some(of) = &parsed.of {
            let lower = of.to_lowercase();
            let by_id = of.parse().ok().and_then(|id: DeviceId| self.index.ids.get(&id));
            if let Some(item) = by_id.or_else(|| self.index.codes.get(&(sort, lower.clone()))) {
                return Ok(Some(*item));
            }
            let named = by_name(&lower)?;
            return Ok(named.or_else(|| self.index.of.get(&(sort, lower)).copied()));
        }
        if let Some(id) = parsed.id {
            return match self.index.ids.get(&id) {
                Some(item) if self.inventory.items[*item].sort != sort => {
                    Err("has the id of another sort of device; correct the id or the sort".to_owned())
                }
                found => Ok(found.copied()),
            };
        }
        if let Some(code) = &parsed.code {
            return Ok(self.index.codes.get(&(sort, code.to_lowercase())).copied());
        }
        match &parsed.name {
            Some(name) => by_name(&name.to_lowercase()),
            None => Ok(None),
        }
    }

    fn new_item(&mut self, parsed: &Parsed) -> usize {
        let at = self.inventory.items.len();
        let mut item = Item::new(parsed.sort);
        item.of.clone_from(&parsed.of);
        self.inventory.items.push(item);
        if let Some(of) = &parsed.of {
            self.index.of.insert((parsed.sort, of.to_lowercase()), at);
        }
        at
    }

    fn learn_names(&mut self, at: usize, parsed: &Parsed) {
        let item = &mut self.inventory.items[at];
        if let Some(id) = parsed.id.filter(|_| item.id.is_none()) {
            item.id = Some(id);
            self.index.ids.insert(id, at);
        }
        if let Some(code) = parsed.code.as_ref().filter(|_| item.code.is_none()) {
            item.code = Some(code.clone());
            // A device with an id of its own may share its code.
            self.index.codes.entry((parsed.sort, code.to_lowercase())).or_insert(at);
        }
        if let Some(name) = parsed.name.as_ref().filter(|_| item.name.is_none()) {
            item.name = Some(name.clone());
            self.index.names.entry((parsed.sort, name.to_lowercase())).or_default().push(at);
        }
    }

    /// Refuses a row that says again, or otherwise, what an earlier row said.
    fn check_repeats(&self, item: usize, parsed: &Parsed) -> Result<(), (Option<Field>, String)> {
        let held = &self.inventory.items[item];
        if parsed.beside {
            return Ok(());
        }
        let key = (item, parsed.part.clone(), parsed.how, parsed.seen);
        let row_of = |fact: &Fact| self.inventory.units[fact.unit].row;
        if let Some(first) = self.stated.get(&key) {
            let word = parsed.sort.word();
            let says = match &parsed.part {
                Part::Whole => format!("is about the same {word} as row {first}; keep one of them"),
                Part::End(_) => format!(
                    "is about the same end of the same {word} as row {first}; keep one of them, or give the ends \
                     different keys"
                ),
                Part::Memory(_) => format!("is about the same model memory as row {first}; keep one of them"),
            };
            return Err((None, says));
        }
        for (part, field, said) in &parsed.facts {
            let facts = match part {
                Part::Whole => Some(&held.whole),
                Part::End(key) => held.ends.get(key),
                Part::Memory(key) => held.memories.get(key),
            };
            let Some(facts) = facts else { continue };
            if facts.len() >= MOST_FACTS {
                return Err((None, "is one of too many rows about one device; split them up".to_owned()));
            }
            let other = facts
                .iter()
                .find(|fact| fact.field == *field && !(*part == Part::Whole && fact.said == *said));
            if let Some(other) = other {
                let says = format!(
                    "is given once more than in row {}; keep the one that holds, or write `also` after the way it is \
                     known (`seen, also`) if both stand",
                    row_of(other)
                );
                return Err((Some(*field), says));
            }
        }
        Ok(())
    }
}
