//! A checked look at a TOML table: types, ranges, unknown keys, each with its line.

use toml::Spanned;
use toml::de::{DeTable, DeValue};
use units::Minutes;

use super::telling::{
    figure, join, kind, nearest, number, plain, shown, text_too_long, too_long, whole, whole_figure, words,
};
use super::{LONGEST_LIST, MOST_PROBLEMS, Problem};

/// The keys of one section, each with an example of its value.
pub(super) type Keys = &'static [(&'static str, &'static str)];

/// The most minutes a job can take: a week of them.
pub(super) const MOST_MINUTES: f64 = 10_080.0;

/// Where problems are collected.
pub(super) struct Desk<'a> {
    origin: &'a str,
    /// Where each line starts.
    starts: Vec<usize>,
    problems: Vec<Problem>,
}

impl<'a> Desk<'a> {
    pub(super) fn new(origin: &'a str, text: &str) -> Desk<'a> {
        let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        Desk { origin, starts, problems: Vec::new() }
    }

    /// The line, from 1, of a place in the text.
    pub(super) fn line_at(&self, at: usize) -> usize {
        self.starts.partition_point(|start| *start <= at).max(1)
    }

    /// Notes a problem.
    pub(super) fn report(&mut self, line: usize, key: impl Into<String>, says: impl Into<String>) {
        self.problems.push(Problem {
            origin: self.origin.to_owned(),
            line,
            key: key.into(),
            says: says.into(),
        });
    }

    /// What was noted, by line.
    pub(super) fn into_problems(mut self) -> Vec<Problem> {
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
pub(super) struct Section<'t> {
    path: String,
    line: usize,
    table: &'t DeTable<'t>,
    keys: Keys,
}

/// One key of a section, there or not.
pub(super) struct Slot<'s, 't> {
    section: &'s Section<'t>,
    name: &'static str,
}

/// One value of a list.
pub(super) struct Item<'t> {
    value: &'t DeValue<'t>,
    pub(super) line: usize,
    pub(super) key: String,
}

impl<'t> Section<'t> {
    /// The table, its unknown keys reported.
    pub(super) fn new(
        desk: &mut Desk<'_>,
        path: String,
        line: usize,
        table: &'t DeTable<'t>,
        keys: Keys,
    ) -> Section<'t> {
        for name in table.keys() {
            let text: &str = name.get_ref();
            if keys.iter().any(|(key, _)| *key == text) {
                continue;
            }
            let near = nearest(text, keys);
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
        Section { path, line, table, keys }
    }

    /// The table, its keys not looked at.
    pub(super) fn bare(line: usize, table: &'t DeTable<'t>, keys: Keys) -> Section<'t> {
        Section { path: String::new(), line, table, keys }
    }

    /// A key that may be missing.
    pub(super) fn get(&self, name: &'static str) -> Slot<'_, 't> {
        Slot { section: self, name }
    }

    /// A key that must be there; reported when it is not.
    pub(super) fn need(&self, desk: &mut Desk<'_>, name: &'static str) -> Slot<'_, 't> {
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
    pub(super) fn only_with(&self, desk: &mut Desk<'_>, names: &[&'static str], choice: &str) {
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
    pub(super) fn section(&self, desk: &mut Desk<'_>, name: &'static str, keys: Keys) -> Option<Section<'t>> {
        let slot = self.get(name);
        let found = slot.find()?;
        let line = slot.line(desk);
        if let DeValue::Table(table) = found.get_ref() {
            return Some(Section::new(desk, slot.key(), line, table, keys));
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
    pub(super) fn table_of(&self, desk: &mut Desk<'_>, name: &'static str) -> Option<Section<'t>> {
        let slot = self.get(name);
        let line = slot.line(desk);
        match slot.find()?.get_ref() {
            DeValue::Table(table) => Some(Section { path: slot.key(), line, table, keys: &[] }),
            other => {
                slot.report(
                    desk,
                    format!("is {}; write a section [{name}] with its keys below", kind(other)),
                );
                None
            }
        }
    }

    /// A list of tables within this one.
    pub(super) fn sections(&self, desk: &mut Desk<'_>, name: &'static str, keys: Keys) -> Vec<Section<'t>> {
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
            let line = desk.line_at(one.span().start);
            let key = format!("{}[{}]", slot.key(), i + 1);
            if let DeValue::Table(table) = one.get_ref() {
                out.push(Section::new(desk, key, line, table, keys));
            } else {
                desk.report(line, key, format!("is {}; write a section [[{bare}]]", kind(one.get_ref())));
            }
        }
        out
    }

    /// The line of its header.
    pub(super) fn line(&self) -> usize {
        self.line
    }

    /// What it is called.
    pub(super) fn path(&self) -> &str {
        &self.path
    }

    /// Its keys and values, with the place of each key.
    pub(super) fn table(&self) -> &'t DeTable<'t> {
        self.table
    }
}

impl<'t> Slot<'_, 't> {
    fn find(&self) -> Option<&'t Spanned<DeValue<'t>>> {
        self.section.table.get(self.name)
    }

    /// Whether the key is there.
    pub(super) fn there(&self) -> bool {
        self.find().is_some()
    }

    /// The whole key, `model_id.low`.
    pub(super) fn key(&self) -> String {
        join(&self.section.path, self.name)
    }

    fn example(&self) -> &'static str {
        self.section.keys.iter().find(|(key, _)| *key == self.name).map_or("…", |(_, example)| example)
    }

    /// The line of the key; of its section when it isn't there.
    pub(super) fn line(&self, desk: &Desk<'_>) -> usize {
        self.section
            .table
            .get_key_value(self.name)
            .map_or(self.section.line, |(key, _)| desk.line_at(key.span().start))
    }

    /// Notes a problem with this key.
    pub(super) fn report(&self, desk: &mut Desk<'_>, says: impl Into<String>) {
        let line = self.line(desk);
        desk.report(line, self.key(), says);
    }

    fn wrong_type(&self, desk: &mut Desk<'_>, value: &DeValue<'_>, want: &str) {
        let example = self.example();
        let name = self.name;
        self.report(desk, format!("is {}; write {want}, as in `{name} = {example}`", kind(value)));
    }

    /// A text of bounded length.
    pub(super) fn text(&self, desk: &mut Desk<'_>) -> Option<String> {
        let value = self.find()?.get_ref();
        let DeValue::String(text) = value else {
            self.wrong_type(desk, value, "text in quotes");
            return None;
        };
        if let Some(says) = text_too_long(text) {
            self.report(desk, says);
            return None;
        }
        Some(text.to_string())
    }

    /// A text that says something.
    pub(super) fn filled(&self, desk: &mut Desk<'_>) -> Option<String> {
        let text = self.text(desk)?;
        if text.trim().is_empty() {
            let (name, example) = (self.name, self.example());
            self.report(desk, format!("is blank; write something, as in `{name} = {example}`"));
            return None;
        }
        Some(text)
    }

    /// One of a few words.
    pub(super) fn choice<T: Copy>(&self, desk: &mut Desk<'_>, choices: &[(&str, T)]) -> Option<T> {
        let text = self.text(desk)?;
        let found = choices.iter().find(|(word, _)| *word == text).map(|(_, choice)| *choice);
        if found.is_none() {
            let list = words(choices.iter().map(|(word, _)| *word));
            // What stands in the section about secrets may be one.
            let got = if self.section.path == "secret" {
                "is none of its words".to_owned()
            } else {
                format!("is \"{}\"", shown(&text))
            };
            self.report(desk, format!("{got}; write {list}"));
        }
        found
    }

    /// True or false.
    pub(super) fn flag(&self, desk: &mut Desk<'_>) -> Option<bool> {
        match self.find()?.get_ref() {
            DeValue::Boolean(flag) => Some(*flag),
            value => {
                self.wrong_type(desk, value, "true or false");
                None
            }
        }
    }

    /// A number within bounds, with or without decimals.
    pub(super) fn number(&self, desk: &mut Desk<'_>, low: f64, high: f64) -> Option<f64> {
        let value = self.find()?.get_ref();
        let Some(number) = number(value) else {
            self.wrong_type(desk, value, &format!("a number from {low} to {high}"));
            return None;
        };
        if (low..=high).contains(&number) {
            return Some(number);
        }
        self.report(desk, format!("is {}, outside {low} to {high}; correct it", figure(number)));
        None
    }

    /// Working time.
    pub(super) fn minutes(&self, desk: &mut Desk<'_>) -> Minutes {
        Minutes(self.number(desk, 0.0, MOST_MINUTES).unwrap_or_default())
    }

    /// A whole number within bounds.
    pub(super) fn whole(&self, desk: &mut Desk<'_>, low: u32, high: u32) -> Option<u32> {
        let value = self.find()?.get_ref();
        match whole(value) {
            Some(number) if (i128::from(low)..=i128::from(high)).contains(&number) => {
                u32::try_from(number).ok()
            }
            Some(number) => {
                self.report(
                    desk,
                    format!("is {}, outside {low} to {high}; correct it", whole_figure(number)),
                );
                None
            }
            None => {
                self.wrong_type(desk, value, &format!("a whole number from {low} to {high}"));
                None
            }
        }
    }

    /// The values of a list of bounded length; none when it isn't there.
    pub(super) fn list(&self, desk: &mut Desk<'_>) -> Vec<Item<'t>> {
        let Some(found) = self.find() else { return Vec::new() };
        let DeValue::Array(list) = found.get_ref() else {
            self.wrong_type(desk, found.get_ref(), "a list in square brackets");
            return Vec::new();
        };
        if list.len() > LONGEST_LIST {
            self.report(desk, too_long(list.len()));
            return Vec::new();
        }
        list.iter()
            .enumerate()
            .map(|(i, one)| Item {
                value: one.get_ref(),
                line: desk.line_at(one.span().start),
                key: format!("{}[{}]", self.key(), i + 1),
            })
            .collect()
    }

    /// A list of texts that each say something.
    pub(super) fn texts(&self, desk: &mut Desk<'_>) -> Vec<String> {
        self.list(desk).iter().filter_map(|item| item.filled(desk)).collect()
    }

    /// A list of words out of a few, none twice.
    pub(super) fn choices<T: Copy + Ord>(&self, desk: &mut Desk<'_>, choices: &[(&str, T)]) -> Vec<T> {
        let mut out = Vec::new();
        for item in self.list(desk) {
            let Some(text) = item.filled(desk) else { continue };
            let found = choices.iter().find(|(word, _)| *word == text).map(|(_, choice)| *choice);
            let got = shown(&text);
            match found {
                Some(choice) if out.contains(&choice) => {
                    desk.report(item.line, item.key, format!("says \"{got}\" a second time; leave it out"));
                }
                Some(choice) => out.push(choice),
                None => {
                    let list = words(choices.iter().map(|(word, _)| *word));
                    desk.report(item.line, item.key, format!("is \"{got}\"; it can be {list}"));
                }
            }
        }
        out
    }
}

impl Item<'_> {
    /// A text that says something.
    pub(super) fn filled(&self, desk: &mut Desk<'_>) -> Option<String> {
        let says = match self.value {
            DeValue::String(text) if text.trim().is_empty() => {
                "is blank; write something or leave it out".to_owned()
            }
            DeValue::String(text) => match text_too_long(text) {
                Some(says) => says,
                None => return Some(text.to_string()),
            },
            other => format!("is {}; write text in quotes", kind(other)),
        };
        desk.report(self.line, self.key.clone(), says);
        None
    }

    /// A number within bounds.
    pub(super) fn number(&self, desk: &mut Desk<'_>, low: f64, high: f64) -> Option<f64> {
        let says = match number(self.value) {
            Some(number) if (low..=high).contains(&number) => return Some(number),
            Some(number) => format!("is {}, outside {low} to {high}; correct it", figure(number)),
            None => format!("is {}; write a number from {low} to {high}", kind(self.value)),
        };
        desk.report(self.line, self.key.clone(), says);
        None
    }

    /// A whole number within bounds.
    pub(super) fn whole(&self, desk: &mut Desk<'_>, low: u32, high: u32) -> Option<u32> {
        let says = match whole(self.value) {
            Some(number) if (i128::from(low)..=i128::from(high)).contains(&number) => {
                return u32::try_from(number).ok();
            }
            Some(number) => format!("is {}, outside {low} to {high}; correct it", whole_figure(number)),
            None => format!("is {}; write a whole number from {low} to {high}", kind(self.value)),
        };
        desk.report(self.line, self.key.clone(), says);
        None
    }
}
