//! The parts of an aircraft's fit as texts: what tables and keys a part may have, and a reader and
//! a writer made from that one list.
//!
//! A [`Schema`] says it all once: the reader names the line and key of every problem by it, the
//! writer writes by it, pages make their forms from it, the docs are compared with it. What comes
//! out of the reader is [`Filled`]: rows of cells that have the right type and range. What they mean
//! together is the business of each part's module.

mod cells;
mod read;
mod write;

pub use cells::{Cell, Filled, Row};
pub use read::{LARGEST_BYTES, from_inputs, inputs, problem, read};
pub use register::family::read::Problem;
pub use write::write;

/// What a key's value is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    /// A number in a range, with its unit (empty for none).
    Number {
        /// The least.
        low: f64,
        /// The greatest.
        high: f64,
        /// The unit's symbol.
        unit: &'static str,
    },
    /// A whole number in a range.
    Whole {
        /// The least.
        low: u32,
        /// The greatest.
        high: u32,
    },
    /// Words of bounded length that say something.
    Text,
    /// One of these words, each with what pages call it.
    Choice(&'static [(&'static str, &'static str)]),
    /// Yes or no (`true`, `false` in a file).
    YesNo,
    /// Whole numbers in a range; in a form they are typed with commas between.
    Wholes {
        /// The least.
        low: u32,
        /// The greatest.
        high: u32,
    },
    /// A list of words; in a form they are typed with commas between.
    Words,
}

/// Whether a key may be left out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Need {
    /// It must be there.
    Must,
    /// It may be left out; what is taken then, in words (`1500`, `not known`).
    Else(&'static str),
}

/// One key of a table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Key {
    /// Its name in files and in JSON, with the unit as suffix: `length_m`.
    pub name: &'static str,
    /// What pages call it.
    pub label: &'static str,
    /// What its value is.
    pub kind: Kind,
    /// Whether it may be left out.
    pub need: Need,
    /// What it means, in a line.
    pub what: &'static str,
    /// A value as it is written in a file: `1500`, `"T1"`.
    pub example: &'static str,
}

/// A key, as the schemas of the parts write them.
pub(crate) const fn key(
    name: &'static str,
    label: &'static str,
    kind: Kind,
    need: Need,
    what: &'static str,
    example: &'static str,
) -> Key {
    Key { name, label, kind, need, what, example }
}

/// A number in a range.
pub(crate) const fn number(low: f64, high: f64, unit: &'static str) -> Kind {
    Kind::Number { low, high, unit }
}

/// How many rows a table may have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Many {
    /// None or one: `[table]`.
    One,
    /// Any number up to the longest list: `[[table]]`.
    Several,
}

/// One table of a part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Table {
    /// Its name in files and in JSON.
    pub name: &'static str,
    /// What pages call one row of it.
    pub label: &'static str,
    /// How many rows.
    pub many: Many,
    /// What a row says, in a line.
    pub what: &'static str,
    /// Its keys, in the order in which they are written.
    pub keys: &'static [Key],
}

/// One part of a fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Schema {
    /// Which part.
    pub part: register::fit::Part,
    /// Its tables, in the order in which they are written.
    pub tables: &'static [Table],
}

impl Schema {
    /// A table by name, with its place.
    pub fn table(&self, name: &str) -> Option<(usize, &'static Table)> {
        self.tables.iter().enumerate().find(|(_, table)| table.name == name)
    }
}

impl Table {
    /// A key by name, with its place.
    pub fn key(&self, name: &str) -> Option<(usize, &'static Key)> {
        self.keys.iter().enumerate().find(|(_, key)| key.name == name)
    }
}

/// The schema of a part.
pub fn schema(part: register::fit::Part) -> &'static Schema {
    use register::fit::Part;
    match part {
        Part::Outputs => &crate::outputs::SCHEMA,
        Part::Supply => &crate::supply::SCHEMA,
        Part::Failsafe => &crate::failsafe::SCHEMA,
        Part::Antennas => &crate::antennas::SCHEMA,
    }
}
