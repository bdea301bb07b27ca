//! A checked look at a TOML table: types, ranges, unknown keys, each with its line.
//!
//! The readers of family files and of fault models share it. A [`Desk`] collects problems, a
//! [`Section`] is a table with the keys it may have, a [`Slot`] one of those keys, an [`Item`]
//! one value of a list. Nothing here panics on any text, and what is wrong is told and left
//! out, so that one reading finds every problem.

mod item;
mod slot;
pub mod telling;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::family::read::{LONGEST_LIST, MOST_PROBLEMS, Problem};
use telling::{join, kind, nearest, plain, shown, too_long};

/// The keys of one section, each with an example of its value.
pub type Keys = &'static [(&'static str, &'static str)];

/// The most minutes a job can take: a week of them.
pub const MOST_MINUTES: f64 = 10_080.0;

/// Where problems are collected.
pub struct Desk<'a> {
    origin: &'a str,
    /// Where each line starts.
    starts: Vec<usize>,
    problems: Vec<Problem>,
}

impl<'a> Desk<'a> {
    /// A desk for one text; `origin` is what to call it in problems.
    pub fn new(origin: &'a str, text: &str) -> Desk<'a> {
        let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        Desk { origin, starts, problems: Vec::new() }
    }

    /// The line, from 1, of a place in the text.
    pub fn line_at(&self, at: usize) -> usize {
        self.starts.partition_point(|start| *start <= at).max(1)
    }

    /// Notes a problem.
    pub fn report(&mut self, line: usize, key: impl Into<String>, says: impl Into<String>) {
        self.problems.push(Problem {
            origin: self.origin.to_owned(),
            line,
            key: key.into(),
            says: says.into(),
        });
    }

    /// The tables of a text, its syntax problems noted; `what` is the kind of file in those
    /// words (`a family file`).
    ///
    /// None when the meaning is not to be looked at: the text is longer than `largest` bytes,
    /// or its syntax is broken other than by a key given twice.
    pub fn parse<'t>(&mut self, text: &'t str, what: &str, largest: usize) -> Option<Spanned<DeTable<'t>>> {
        if text.len() > largest {
            self.report(
                1,
                "",
                format!(
                    "the file has {} bytes, more than the {largest} {what} may have; \
                     check that it is the right file",
                    text.len()
                ),
            );
            return None;
        }
        let (root, errors) = DeTable::parse_recoverable(text);
        let mut only_doubles = true;
        for error in &errors {
            let line = self.line_at(error.span().map_or(0, |span| span.start));
            if error.message() == "duplicate key" {
                self.report(line, "", "the key on this line is given twice; keep one of the two");
            } else {
                only_doubles = false;
                let what = error.message().replace('\n', " ");
                self.report(line, "", format!("the file can't be read from here: {what}; correct this line"));
            }
        }
        only_doubles.then_some(root)
    }

    /// Whether the file's `schema` is one up to `newest`; a file of a newer one is not looked
    /// at further, because its keys may mean something else. A schema that isn't there or is
    /// no number is noted, and the rest can be looked at.
    pub fn schema_fits(&mut self, root: &DeTable<'_>, keys: Keys, newest: u32) -> bool {
        let top = Section::bare(1, root, keys);
        let Some(schema) = top.need(self, "schema").whole(self, 1, u32::MAX) else { return true };
        if schema > newest {
            let line = top.get("schema").line(self);
            self.report(
                line,
                "schema",
                format!(
                    "is {schema}, newer than the {newest} this version reads; use a newer version of the program, \
                     or write the file for schema {newest}"
                ),
            );
        }
        schema <= newest
    }

    /// How many problems were noted so far.
    pub fn count(&self) -> usize {
        self.problems.len()
    }

    /// What was noted, by line.
    pub fn into_problems(mut self) -> Vec<Problem> {
        self.problems.sort_by(|a, b| (a.line, &a.key).cmp(&(b.line, &b.key)));
        self.problems.dedup();
        if self.problems.len() > MOST_PROBLEMS {
            let more = self.problems.len() - MOST_PROBLEMS;
            self.problems.truncate(MOST_PROBLEMS);
            let line = self.problems.last().map_or(1, |last| last.line);
            self.report(line, "", format!("{more} more problems follow; mend these first"));
        }
        self.problems
    }
}

/// One table of the file, with the keys it may have.
pub struct Section<'t> {
    path: String,
    line: usize,
    at: usize,
    table: &'t DeTable<'t>,
    keys: Keys,
}

/// One key of a section, there or not.
pub struct Slot<'s, 't> {
    section: &'s Section<'t>,
    name: &'static str,
}

/// One value of a list.
pub struct Item<'t> {
    value: &'t DeValue<'t>,
    at: usize,
    /// The line it begins on.
    pub line: usize,
    /// The whole key, `band[1].also[2]`.
    pub key: String,
}

impl<'t> Section<'t> {
    /// The table, its unknown keys reported; `at` is where in the text it begins.
    pub fn new(
        desk: &mut Desk<'_>,
        path: String,
        at: usize,
        table: &'t DeTable<'t>,
        keys: Keys,
    ) -> Section<'t> {
        let line = desk.line_at(at);
        for name in table.keys() {
            let text: &str = name.get_ref();
            if keys.iter().any(|(key, _)| *key == text) {
                continue;
            }
            let near = nearest(text, keys.iter().map(|(key, _)| *key));
            let advice = match near {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!(
                    "the keys here are {}",
                    keys.iter().map(|(key, _)| format!("`{key}`")).collect::<Vec<_>>().join(", ")
                ),
            };
            let at = desk.line_at(name.span().start);
            if near.is_none() && path == "secret" {
                // Somebody may have written the secret itself.
                desk.report(at, path.clone(), format!("has a key that does not belong here; {advice}"));
                continue;
            }
            let key = join(&path, &shown(text));
            desk.report(at, key, format!("is not a key that belongs here; {advice}"));
        }
        Section { path, line, at, table, keys }
    }

    /// The table, its keys not looked at.
    pub fn bare(line: usize, table: &'t DeTable<'t>, keys: Keys) -> Section<'t> {
        Section { path: String::new(), line, at: 0, table, keys }
    }

    /// A key that may be missing.
    pub fn get(&self, name: &'static str) -> Slot<'_, 't> {
        Slot { section: self, name }
    }

    /// A key that must be there; reported when it is not.
    pub fn need(&self, desk: &mut Desk<'_>, name: &'static str) -> Slot<'_, 't> {
        let slot = self.get(name);
        if !slot.there() {
            let example = slot.example();
            let says = if example.starts_with('[') && self.path.is_empty() {
                format!("is missing; add a section {example}")
            } else {
                format!("is missing; add it, as in `{name} = {example}`")
            };
            desk.report(self.line, slot.key(), says);
        }
        slot
    }

    /// Reports keys that mean nothing beside the rule chosen.
    pub fn only_with(&self, desk: &mut Desk<'_>, names: &[&'static str], choice: &str) {
        for name in names {
            let slot = self.get(name);
            if slot.there() {
                let line = slot.line(desk);
                desk.report(
                    line,
                    slot.key(),
                    format!("means something only with {choice}; leave it out, or choose that"),
                );
            }
        }
    }

    /// A table within this one.
    pub fn section(&self, desk: &mut Desk<'_>, name: &'static str, keys: Keys) -> Option<Section<'t>> {
        let slot = self.get(name);
        let found = slot.find()?;
        let line = slot.line(desk);
        if let DeValue::Table(table) = found.get_ref() {
            return Some(Section::new(desk, slot.key(), slot.at(), table, keys));
        }
        let key = slot.key();
        let says = if matches!(found.get_ref(), DeValue::Array(_)) {
            format!("is a list; there is one such section: write [{key}]")
        } else {
            format!("is {}; write a section [{key}] with its keys below", kind(found.get_ref()))
        };
        desk.report(line, key, says);
        None
    }

    /// A table within this one whose keys are free.
    pub fn table_of(&self, desk: &mut Desk<'_>, name: &'static str) -> Option<Section<'t>> {
        let slot = self.get(name);
        let line = slot.line(desk);
        match slot.find()?.get_ref() {
            DeValue::Table(table) => {
                Some(Section { path: slot.key(), line, at: slot.at(), table, keys: &[] })
            }
            other => {
                slot.report(
                    desk,
                    format!("is {}; write a section [{name}] with its keys below", kind(other)),
                );
                None
            }
        }
    }

    /// The values of a table within this one whose keys are free, by key; none when it isn't
    /// there.
    pub fn entries(&self, desk: &mut Desk<'_>, name: &'static str) -> Vec<(&'t str, Item<'t>)> {
        let slot = self.get(name);
        let Some(found) = slot.find() else { return Vec::new() };
        let DeValue::Table(table) = found.get_ref() else {
            slot.wrong_type(desk, found.get_ref(), "one value a key");
            return Vec::new();
        };
        table
            .iter()
            .map(|(name, value)| {
                let name_text: &str = name.get_ref();
                let at = name.span().start;
                let key = join(&slot.key(), &shown(name_text));
                (name_text, Item { value: value.get_ref(), line: desk.line_at(at), at, key })
            })
            .collect()
    }

    /// A list of tables within this one.
    pub fn sections(&self, desk: &mut Desk<'_>, name: &'static str, keys: Keys) -> Vec<Section<'t>> {
        let slot = self.get(name);
        let Some(found) = slot.find() else { return Vec::new() };
        let line = slot.line(desk);
        let bare = plain(&slot.key());
        let DeValue::Array(list) = found.get_ref() else {
            let says = format!(
                "is {}; there can be several: write [[{bare}]] with two brackets",
                kind(found.get_ref())
            );
            desk.report(line, slot.key(), says);
            return Vec::new();
        };
        if list.len() > LONGEST_LIST {
            desk.report(line, slot.key(), too_long(list.len()));
            return Vec::new();
        }
        let mut out = Vec::new();
        for (i, one) in list.iter().enumerate() {
            let key = format!("{}[{}]", slot.key(), i + 1);
            if let DeValue::Table(table) = one.get_ref() {
                out.push(Section::new(desk, key, one.span().start, table, keys));
            } else {
                let line = desk.line_at(one.span().start);
                desk.report(line, key, format!("is {}; write a section [[{bare}]]", kind(one.get_ref())));
            }
        }
        out
    }

    /// The line of its header.
    pub fn line(&self) -> usize {
        self.line
    }

    /// Where in the text it begins, bytes.
    pub fn at(&self) -> usize {
        self.at
    }

    /// What it is called.
    pub fn path(&self) -> &str {
        &self.path
    }

    /// Its keys and values, with the place of each key.
    pub fn table(&self) -> &'t DeTable<'t> {
        self.table
    }
}
