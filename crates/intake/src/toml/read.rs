//! Reads a workshop file; keeps the tables that are good and says where the others are
//! wrong.

use std::collections::{HashMap, HashSet};

use register::family::read::Problem;
use register::field::{Field, Part, Sort};
use register::id::DeviceId;
use toml::de::{DeTable, DeValue};

use super::table::{Desk, Source, join, kind, line_of, shown, source, tables, text, words};
use super::{LARGEST_FILE_BYTES, SCHEMA};
use crate::inventory::{END_FIELDS, Fact, Inventory, Item, Origin, Unit, field_of, fields_of, key_of, said};

/// The keys at the top of a workshop file.
const TOP: &[&str] =
    &["schema", "name", "how", "seen", "family_files", "minutes", "aircraft", "transmitter", "receiver"];

/// The most minutes a job can take: a week of them.
const MOST_MINUTES: f64 = 10_080.0;

/// What a workshop file holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Read {
    /// What could be read.
    pub inventory: Inventory,
    /// What could not, by line. A table with a problem is left out whole.
    pub problems: Vec<Problem>,
}

/// Reads a workshop file; `origin` is what to call it in problems. No problem quotes a
/// value.
///
/// ```
/// let file = "schema = 1\n[[receiver]]\ncode = \"R7\"\nfirmware = 4.10\n";
/// let read = intake::toml::read("mine.toml", file);
/// assert!(read.problems.is_empty());
/// assert_eq!(read.inventory.items[0].code.as_deref(), Some("R7"));
///
/// let read = intake::toml::read("mine.toml", "schema = 1\n[[receiver]]\ncode = \"R7\"\nfirmwear = 4.1\n");
/// assert_eq!(
///     read.problems[0].to_string(),
///     "mine.toml:4: `receiver.firmwear` is not a key that belongs here; a receiver has code, name, maker, model, \
///      state, owner, aircraft, pack, note, family, band, region, firmware, secret, model_id, paired_with, antenna, \
///      end, id, how, seen"
/// );
/// ```
pub fn read(origin: &str, file: &str) -> Read {
    let mut reader = Reader {
        desk: Desk::new(origin, file),
        inventory: Inventory { origin: Origin::Toml, ..Inventory::default() },
        taken: HashMap::new(),
    };
    if file.len() > LARGEST_FILE_BYTES {
        reader.desk.report(1, "", "the file has more than 64 MiB; check that it is the right file");
    } else {
        let (root, errors) = DeTable::parse_recoverable(file);
        for error in &errors {
            let line = reader.desk.line_at(error.span().map_or(0, |span| span.start));
            // The parser's own words are not passed on: they may come to quote the file.
            let says = if error.message() == "duplicate key" {
                "the key on this line is given twice; keep one of the two"
            } else {
                "the file can't be read from here; look for a missing quotation mark, bracket or equals sign on this \
                 line or just before it"
            };
            reader.desk.report(line, "", says);
        }
        if errors.is_empty() {
            reader.root(root.get_ref());
        }
    }
    Read { inventory: reader.inventory, problems: reader.desk.into_problems() }
}

struct Reader<'a> {
    desk: Desk<'a>,
    inventory: Inventory,
    /// Codes, names and ids of the file's devices, with their lines.
    taken: HashMap<(Sort, &'static str, String), usize>,
}

/// Where facts are being read: the item to be, its unit, what to call the table.
struct Place<'p> {
    sort: Sort,
    part: Part,
    /// The part of end facts written directly in the device's table.
    end: Option<Part>,
    path: &'p str,
    source: Source,
    unit: usize,
    extra: &'p [&'static str],
}

impl Reader<'_> {
    fn root(&mut self, root: &DeTable<'_>) {
        for (key, _) in root {
            if !TOP.contains(&key.get_ref().as_ref()) {
                let line = line_of(&self.desk, key);
                let says = format!("is not a key that belongs here; the keys here are {}", TOP.join(", "));
                self.desk.report(line, shown(key.get_ref()), says);
            }
        }
        if !self.schema_fits(root) {
            return;
        }
        if let Some(name) = text(&mut self.desk, root, "", "name") {
            let line = root.get_key_value("name").map_or(1, |(key, _)| line_of(&self.desk, key));
            self.inventory.settings.push(("name".to_owned(), name, line as u64));
        }
        let around = source(&mut self.desk, root, "", Source::default());
        self.family_files(root);
        if let Some((key, value)) = root.get_key_value("minutes") {
            match value.get_ref() {
                DeValue::Table(table) => self.minutes(table, ""),
                other => {
                    let says = format!("is {}; write a section [minutes] with its keys below", kind(other));
                    self.desk.report(line_of(&self.desk, key), "minutes", says);
                }
            }
        }
        for sort in [Sort::Aircraft, Sort::Transmitter, Sort::Receiver] {
            for (line, table) in tables(&mut self.desk, root, "", sort.word()) {
                self.device(sort, line, table, around);
            }
        }
    }

    fn schema_fits(&mut self, root: &DeTable<'_>) -> bool {
        let Some((key, value)) = root.get_key_value("schema") else {
            self.desk.report(1, "schema", "is missing; write `schema = 1` as the first line");
            return false;
        };
        let line = line_of(&self.desk, key);
        match words(value.get_ref()).and_then(|words| words.parse::<u32>().ok()) {
            Some(SCHEMA) => true,
            Some(schema) if schema > SCHEMA => {
                self.desk.report(
                    line,
                    "schema",
                    format!(
                        "is {schema}, newer than the {SCHEMA} this version reads; use a newer version of the program"
                    ),
                );
                false
            }
            _ => {
                self.desk.report(line, "schema", "is not a schema; write `schema = 1`");
                false
            }
        }
    }

    fn family_files(&mut self, root: &DeTable<'_>) {
        let Some((key, value)) = root.get_key_value("family_files") else { return };
        let line = line_of(&self.desk, key);
        let DeValue::Array(list) = value.get_ref() else {
            self.desk.report(line, "family_files", "is no list; write the file names in square brackets");
            return;
        };
        for one in list {
            let line = self.desk.line_at(one.span().start);
            match one.get_ref() {
                DeValue::String(name)
                    if !name.is_empty()
                        && !name.contains(['/', '\\', ':', '\0'])
                        && !name.starts_with('.') =>
                {
                    self.inventory.family_files.push(name.to_string());
                }
                _ => self.desk.report(
                    line,
                    "family_files",
                    "is no plain file name; put the family file beside this one and write its name alone",
                ),
            }
        }
    }

    fn minutes(&mut self, table: &DeTable<'_>, prefix: &str) {
        for (name, value) in table {
            let line = line_of(&self.desk, name);
            let key = join(prefix, name.get_ref());
            let at = format!("minutes.{}", shown(&key));
            if let DeValue::Table(inner) = value.get_ref() {
                self.minutes(inner, &key);
                continue;
            }
            let number = match value.get_ref() {
                DeValue::Integer(_) | DeValue::Float(_) => words(value.get_ref()),
                _ => None,
            };
            let fits = |words: &String| {
                words.parse::<f64>().is_ok_and(|number| (0.0..=MOST_MINUTES).contains(&number))
            };
            match number.filter(fits) {
                Some(number) => {
                    self.inventory.settings.push((format!("minutes.{key}"), number, line as u64));
                }
                None => self.desk.report(
                    line,
                    at,
                    "is no time; write the minutes as a number from 0 to 10080, as in `\"check.firmware\" = 2`",
                ),
            }
        }
    }

    fn device(&mut self, sort: Sort, line: usize, table: &DeTable<'_>, around: Source) {
        let problems = self.desk.count();
        let path = sort.word();
        let around = source(&mut self.desk, table, path, around);
        let mut item = Item::new(sort);
        item.code = self.key_text(table, path, "code");
        item.name = self.key_text(table, path, "name");
        let id = text(&mut self.desk, table, path, "id");
        item.id = id.as_ref().and_then(|id| id.parse::<DeviceId>().ok());
        if id.is_some() && item.id.is_none() {
            self.desk.report(
                line,
                join(path, "id"),
                "is no id; take it as an export wrote it, or leave it out",
            );
        }
        if item.id.is_none() && item.code.is_none() && item.name.is_none() && problems == self.desk.count() {
            self.desk.report(
                line,
                path,
                "has no code and no name; give the device one, so that it can be told apart",
            );
        }
        self.check_taken(&item, line);
        let at = self.inventory.items.len();
        let unit = self.inventory.units.len();
        let extra: &[&'static str] = match sort {
            Sort::Aircraft => &["id", "how", "seen"],
            Sort::Receiver => &["end", "id", "how", "seen"],
            Sort::Transmitter => &["end", "memory", "id", "how", "seen"],
        };
        let place = Place {
            sort,
            part: Part::Whole,
            end: (sort != Sort::Aircraft).then(|| Part::End(Part::MAIN.to_owned())),
            path,
            source: around,
            unit,
            extra,
        };
        let facts = self.facts(table, &place);
        if problems < self.desk.count() {
            let id = id.filter(|_| item.id.is_some());
            for words in item.code.iter().chain(&item.name).chain(&id) {
                self.inventory.lost.insert((sort, words.to_lowercase()));
            }
            return;
        }
        for (part, fact) in facts {
            item.part_mut(&part).push(fact);
        }
        self.inventory.units.push(Unit { row: line as u64, line: line as u64, item: at });
        self.inventory.items.push(item);
        if sort != Sort::Aircraft {
            self.parts(sort, at, table, "end", around);
        }
        if sort == Sort::Transmitter {
            self.parts(sort, at, table, "memory", around);
        }
    }

    /// A code or name, plain or with how and when.
    fn key_text(&mut self, table: &DeTable<'_>, path: &str, name: &str) -> Option<String> {
        match table.get(name)?.get_ref() {
            DeValue::Array(_) | DeValue::Table(_) => first_text(table, name),
            _ => text(&mut self.desk, table, path, name),
        }
    }

    /// Two tables of one device would leave open which holds.
    fn check_taken(&mut self, item: &Item, line: usize) {
        let id = item.id.map(|id| id.to_string());
        let own = match (&id, &item.code, &item.name) {
            (Some(id), _, _) => Some(("id", id)),
            (None, Some(code), _) => Some(("code", code)),
            (None, None, Some(name)) => Some(("name", name)),
            _ => None,
        };
        let Some((key, words)) = own else { return };
        let first = *self.taken.entry((item.sort, key, words.to_lowercase())).or_insert(line);
        if first != line {
            let says = format!(
                "is that of the device in line {first}, too; put both tables together, or correct it"
            );
            self.desk.report(line, join(item.sort.word(), key), says);
        }
    }

    fn parts(&mut self, sort: Sort, item: usize, table: &DeTable<'_>, name: &'static str, around: Source) {
        let path = join(sort.word(), name);
        let mut keys: HashSet<String> = HashSet::new();
        for (line, table) in tables(&mut self.desk, table, sort.word(), name) {
            let problems = self.desk.count();
            let around = source(&mut self.desk, table, &path, around);
            let key = text(&mut self.desk, table, &path, "key");
            let key = match (key, name) {
                (Some(key), _) => key,
                (None, "end") => Part::MAIN.to_owned(),
                _ => {
                    if let Some(name) = self.key_text(table, &path, "name") {
                        name
                    } else {
                        self.desk.report(line, &path, "has no key and no name; write `key = \"1\"`");
                        continue;
                    }
                }
            };
            if !keys.insert(key.clone()) {
                self.desk.report(
                    line,
                    join(&path, "key"),
                    "is that of an earlier one; give each a key of its own",
                );
            }
            let is_keyed = table.contains_key("key");
            let part = if name == "end" { Part::End(key) } else { Part::Memory(key) };
            let unit = self.inventory.units.len();
            let place = Place {
                sort,
                part: part.clone(),
                end: None,
                path: &path,
                source: around,
                unit,
                extra: &["key", "how", "seen"],
            };
            let mut facts = self.facts(table, &place);
            if problems < self.desk.count() {
                continue;
            }
            if name == "memory" && !is_keyed {
                // The name is its key.
                facts.retain(|(_, fact)| fact.field != Field::Name);
            }
            let held = &mut self.inventory.items[item];
            if matches!(&part, Part::End(_)) && !held.part_mut(&part).is_empty() {
                let says =
                    "is the end whose facts stand in the device's own table, too; keep them in one place";
                self.desk.report(line, path.as_str(), says);
                continue;
            }
            held.part_mut(&part).extend(facts.into_iter().map(|(_, fact)| fact));
            self.inventory.units.push(Unit { row: line as u64, line: line as u64, item });
        }
    }

    /// The facts that a table states, with problems noted.
    fn facts(&mut self, table: &DeTable<'_>, place: &Place<'_>) -> Vec<(Part, Fact)> {
        let mut out = Vec::new();
        for (key, value) in table {
            let name: &str = key.get_ref();
            if place.extra.contains(&name) {
                continue;
            }
            let line = line_of(&self.desk, key);
            let part = match field_of(name) {
                Some(field) if fields_of(place.sort, &place.part).contains(&field) => {
                    Some((field, &place.part))
                }
                Some(field) => place
                    .end
                    .as_ref()
                    .filter(|end| END_FIELDS.contains(&field) && fields_of(place.sort, end).contains(&field))
                    .map(|end| (field, end)),
                None => None,
            };
            let Some((field, part)) = part else {
                let says = unknown_key(place);
                self.desk.report(line, join(place.path, &shown(name)), says);
                continue;
            };
            let at = join(place.path, name);
            let several: Vec<&toml::Spanned<DeValue<'_>>> = match value.get_ref() {
                // Names of transmitters may stand in a list of their own.
                DeValue::Array(list) if list.iter().all(|one| matches!(one.get_ref(), DeValue::Table(_))) => {
                    list.iter().collect()
                }
                _ => vec![value],
            };
            for (nth, one) in several.into_iter().enumerate() {
                let fact = self.fact(field, one.get_ref(), line, &at, place);
                out.extend(fact.map(|fact| (part.clone(), Fact { beside: nth > 0, ..fact })));
            }
        }
        out
    }

    fn fact(
        &mut self,
        field: Field,
        value: &DeValue<'_>,
        line: usize,
        at: &str,
        place: &Place<'_>,
    ) -> Option<Fact> {
        let (value, source) = match value {
            DeValue::Table(table) => {
                for (key, _) in table {
                    if !["value", "how", "seen"].contains(&key.get_ref().as_ref()) {
                        let says =
                            "is not a key that belongs here; a value in brackets has value, how and seen";
                        self.desk.report(line, join(at, &shown(key.get_ref())), says);
                    }
                }
                let around = source(&mut self.desk, table, at, place.source);
                let Some(value) = table.get("value") else {
                    self.desk.report(
                        line,
                        at,
                        "has no `value`; write it as in `{ value = \"4.1\", how = \"seen\" }`",
                    );
                    return None;
                };
                (value.get_ref(), around)
            }
            other => (other, place.source),
        };
        let words = match value {
            DeValue::Array(list) if field == Field::Partners => {
                let names: Option<Vec<String>> = list.iter().map(|one| words(one.get_ref())).collect();
                names.map(|names| names.join("; "))
            }
            other => words(other),
        };
        let Some(words) = words else {
            let says = format!(
                "is {}; write text in quotation marks, as in `{} = \"…\"`",
                kind(value),
                key_of(field)
            );
            self.desk.report(line, at, says);
            return None;
        };
        match said(field, &words) {
            Ok(said) => Some(Fact {
                field,
                said: said?,
                how: source.how,
                seen: source.seen,
                beside: false,
                unit: place.unit,
                line: line as u64,
            }),
            Err(says) => {
                self.desk.report(line, at, says);
                None
            }
        }
    }
}

/// The first text of a fact that is written with how and when.
fn first_text(table: &DeTable<'_>, name: &str) -> Option<String> {
    let of_table = |value: &DeValue<'_>| match value {
        DeValue::Table(table) => table.get("value").and_then(|value| words(value.get_ref())),
        _ => None,
    };
    match table.get(name)?.get_ref() {
        DeValue::Array(list) => list.first().and_then(|one| of_table(one.get_ref())),
        other => of_table(other),
    }
}

fn unknown_key(place: &Place<'_>) -> String {
    let mut keys: Vec<&str> = fields_of(place.sort, &place.part).iter().map(|field| key_of(*field)).collect();
    if let Some(end) = &place.end {
        let more = END_FIELDS.iter().filter(|field| fields_of(place.sort, end).contains(field));
        keys.extend(more.map(|field| key_of(*field)));
    }
    keys.extend_from_slice(place.extra);
    let what = match &place.part {
        Part::Whole if place.sort == Sort::Aircraft => "an aircraft",
        Part::Whole if place.sort == Sort::Receiver => "a receiver",
        Part::Whole => "a transmitter",
        Part::End(_) => "an end",
        Part::Memory(_) => "a memory",
    };
    format!("is not a key that belongs here; {what} has {}", keys.join(", "))
}
