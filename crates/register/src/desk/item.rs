//! What one value of a list holds.

use toml::Spanned;
use toml::de::DeValue;

use super::telling::{figure, kind, number, text_too_long, too_long, whole, whole_figure};
use super::{Desk, Item, Keys, Section};
use crate::family::read::LONGEST_LIST;

impl<'t> Item<'t> {
    pub(super) fn of(desk: &Desk<'_>, list: &str, i: usize, one: &'t Spanned<DeValue<'t>>) -> Item<'t> {
        let at = one.span().start;
        Item { value: one.get_ref(), at, line: desk.line_at(at), key: format!("{list}[{}]", i + 1) }
    }

    /// Notes a problem with this value.
    pub fn report(&self, desk: &mut Desk<'_>, says: impl Into<String>) {
        desk.report(self.line, self.key.clone(), says);
    }

    /// A table, its unknown keys reported; none, and nothing noted, when it isn't a table.
    pub fn section(&self, desk: &mut Desk<'_>, keys: Keys) -> Option<Section<'t>> {
        match self.value {
            DeValue::Table(table) => Some(Section::new(desk, self.key.clone(), self.at, table, keys)),
            _ => None,
        }
    }

    /// The values of a list of bounded length.
    pub fn list(&self, desk: &mut Desk<'_>) -> Option<Vec<Item<'t>>> {
        let says = match self.value {
            DeValue::Array(list) if list.len() > LONGEST_LIST => too_long(list.len()),
            DeValue::Array(list) => {
                let list = list.iter().enumerate().map(|(i, one)| Item::of(desk, &self.key, i, one));
                return Some(list.collect());
            }
            other => format!("is {}; write a list in square brackets", kind(other)),
        };
        self.report(desk, says);
        None
    }

    /// A text that says something.
    pub fn filled(&self, desk: &mut Desk<'_>) -> Option<String> {
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
        self.report(desk, says);
        None
    }

    /// A number within bounds.
    pub fn number(&self, desk: &mut Desk<'_>, low: f64, high: f64) -> Option<f64> {
        let says = match number(self.value) {
            Some(number) if (low..=high).contains(&number) => return Some(number),
            Some(number) => format!("is {}, outside {low} to {high}; correct it", figure(number)),
            None => format!("is {}; write a number from {low} to {high}", kind(self.value)),
        };
        self.report(desk, says);
        None
    }

    /// A whole number within bounds.
    pub fn whole(&self, desk: &mut Desk<'_>, low: u32, high: u32) -> Option<u32> {
        let says = match whole(self.value) {
            Some(number) if (i128::from(low)..=i128::from(high)).contains(&number) => {
                return u32::try_from(number).ok();
            }
            Some(number) => format!("is {}, outside {low} to {high}; correct it", whole_figure(number)),
            None => format!("is {}; write a whole number from {low} to {high}", kind(self.value)),
        };
        self.report(desk, says);
        None
    }
}
