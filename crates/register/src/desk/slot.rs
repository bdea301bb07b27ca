//! What one key of a section holds.

use toml::Spanned;
use toml::de::DeValue;
use units::Minutes;

use super::telling::{
    figure, join, kind, number, shown, text_too_long, too_long, whole, whole_figure, words,
};
use super::{Desk, Item, MOST_MINUTES, Slot};
use crate::family::read::LONGEST_LIST;

impl<'t> Slot<'_, 't> {
    pub(super) fn find(&self) -> Option<&'t Spanned<DeValue<'t>>> {
        self.section.table.get(self.name)
    }

    /// Whether the key is there.
    pub fn there(&self) -> bool {
        self.find().is_some()
    }

    /// Whether the key is there and holds a list with nothing in it.
    pub fn is_empty_list(&self) -> bool {
        self.find().is_some_and(|found| matches!(found.get_ref(), DeValue::Array(list) if list.is_empty()))
    }

    /// The whole key, `model_id.low`.
    pub fn key(&self) -> String {
        join(&self.section.path, self.name)
    }

    pub(super) fn example(&self) -> &'static str {
        self.section.keys.iter().find(|(key, _)| *key == self.name).map_or("…", |(_, example)| example)
    }

    /// The line of the key; of its section when it isn't there.
    pub fn line(&self, desk: &Desk<'_>) -> usize {
        self.section
            .table
            .get_key_value(self.name)
            .map_or(self.section.line, |(key, _)| desk.line_at(key.span().start))
    }

    /// Where in the text the key stands; its section when it isn't there.
    pub(super) fn at(&self) -> usize {
        self.section.table.get_key_value(self.name).map_or(self.section.at, |(key, _)| key.span().start)
    }

    /// Notes a problem with this key.
    pub fn report(&self, desk: &mut Desk<'_>, says: impl Into<String>) {
        let line = self.line(desk);
        desk.report(line, self.key(), says);
    }

    pub(super) fn wrong_type(&self, desk: &mut Desk<'_>, value: &DeValue<'_>, want: &str) {
        let example = self.example();
        let name = self.name;
        self.report(desk, format!("is {}; write {want}, as in `{name} = {example}`", kind(value)));
    }

    /// A text of bounded length.
    pub fn text(&self, desk: &mut Desk<'_>) -> Option<String> {
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
    pub fn filled(&self, desk: &mut Desk<'_>) -> Option<String> {
        let text = self.text(desk)?;
        if text.trim().is_empty() {
            let (name, example) = (self.name, self.example());
            self.report(desk, format!("is blank; write something, as in `{name} = {example}`"));
            return None;
        }
        Some(text)
    }

    /// One of a few words.
    pub fn choice<T: Copy>(&self, desk: &mut Desk<'_>, choices: &[(&str, T)]) -> Option<T> {
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
    pub fn flag(&self, desk: &mut Desk<'_>) -> Option<bool> {
        match self.find()?.get_ref() {
            DeValue::Boolean(flag) => Some(*flag),
            value => {
                self.wrong_type(desk, value, "true or false");
                None
            }
        }
    }

    /// A number within bounds, with or without decimals.
    pub fn number(&self, desk: &mut Desk<'_>, low: f64, high: f64) -> Option<f64> {
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
    pub fn minutes(&self, desk: &mut Desk<'_>) -> Minutes {
        Minutes(self.number(desk, 0.0, MOST_MINUTES).unwrap_or_default())
    }

    /// A whole number within bounds.
    pub fn whole(&self, desk: &mut Desk<'_>, low: u32, high: u32) -> Option<u32> {
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
    pub fn list(&self, desk: &mut Desk<'_>) -> Vec<Item<'t>> {
        let Some(found) = self.find() else { return Vec::new() };
        let DeValue::Array(list) = found.get_ref() else {
            self.wrong_type(desk, found.get_ref(), "a list in square brackets");
            return Vec::new();
        };
        if list.len() > LONGEST_LIST {
            self.report(desk, too_long(list.len()));
            return Vec::new();
        }
        list.iter().enumerate().map(|(i, one)| Item::of(desk, &self.key(), i, one)).collect()
    }

    /// A list of texts that each say something.
    pub fn texts(&self, desk: &mut Desk<'_>) -> Vec<String> {
        self.list(desk).iter().filter_map(|item| item.filled(desk)).collect()
    }

    /// A list of words out of a few, none twice.
    pub fn choices<T: Copy + Ord>(&self, desk: &mut Desk<'_>, choices: &[(&str, T)]) -> Vec<T> {
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
