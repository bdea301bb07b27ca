//! What may stand in a part's text: its tables and keys.

use fitting::part::{Key as Known, Kind, Many, Need, Schema, Table as Tabled};
use serde::Serialize;

/// What may stand in a part's text.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Keys {
    /// The part.
    pub part: &'static str,
    /// Its tables.
    pub tables: Vec<Table>,
}

/// One table.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Table {
    /// Its name.
    pub name: &'static str,
    /// Whether it may stand several times, as `[[name]]`.
    pub several: bool,
    /// What a row says.
    pub what: &'static str,
    /// Its keys.
    pub keys: Vec<Key>,
}

/// One key.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Key {
    /// Its name.
    pub name: &'static str,
    /// What it means.
    pub what: &'static str,
    /// What may be written, in words.
    pub values: String,
    /// The unit of a number.
    pub unit: Option<&'static str>,
    /// Whether it must be there.
    pub must: bool,
    /// What is taken where it is left out.
    pub otherwise: Option<&'static str>,
    /// A value as it is written in a file.
    pub example: &'static str,
}

impl Keys {
    /// What may stand in a part's text.
    pub fn new(schema: &Schema) -> Keys {
        Keys { part: schema.part.word(), tables: schema.tables.iter().map(Table::new).collect() }
    }
}

impl Table {
    fn new(table: &Tabled) -> Table {
        Table {
            name: table.name,
            several: table.many == Many::Several,
            what: table.what,
            keys: table.keys.iter().map(Key::new).collect(),
        }
    }
}

impl Key {
    fn new(key: &Known) -> Key {
        let unit = match key.kind {
            Kind::Number { unit, .. } if !unit.is_empty() => Some(unit),
            _ => None,
        };
        let otherwise = match key.need {
            Need::Must => None,
            Need::Else(words) => Some(words),
        };
        Key {
            name: key.name,
            what: key.what,
            values: values(&key.kind),
            unit,
            must: key.need == Need::Must,
            otherwise,
            example: key.example,
        }
    }
}

/// What may be written, in words.
fn values(kind: &Kind) -> String {
    match kind {
        Kind::Number { low, high, unit: "" } => format!("{low} to {high}"),
        Kind::Number { low, high, unit } => format!("{low} to {high} {unit}"),
        Kind::Whole { low, high } => format!("whole, {low} to {high}"),
        Kind::Text => "words".to_owned(),
        Kind::Choice(all) => all.iter().map(|(word, _)| *word).collect::<Vec<_>>().join(", "),
        Kind::YesNo => "true or false".to_owned(),
        Kind::Wholes { low, high } => format!("whole numbers, {low} to {high}"),
        Kind::Words => "a list of words".to_owned(),
    }
}
