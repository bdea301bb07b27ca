//! An inventory: devices with their facts, as a list states them, before anybody has
//! looked whether the workshop knows them.

use std::collections::{BTreeMap, HashSet};
use std::fmt;

use register::field::{Field, How, Part, Sort};
use register::id::DeviceId;
use register::time::Moment;
use register::value::{Partners, SecretMark, Value};
use register::view::State;

use crate::reference::Named;

/// The longest text of one fact, characters.
pub const LONGEST_TEXT_CHARS: usize = 10_000;

/// A link secret's plain text: it can be handed on to be fingerprinted, and not shown.
#[derive(Clone, PartialEq, Eq)]
pub struct Plain(String);

impl Plain {
    /// Takes a secret in.
    pub fn new(text: impl Into<String>) -> Plain {
        Plain(text.into())
    }

    /// The secret, for the one who makes the fingerprint.
    pub fn expose(&self) -> &str {
        &self.0
    }
}

impl fmt::Debug for Plain {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Plain(…)")
    }
}

/// What a list says of a fact; devices are still names. Debug output shows the kind of
/// value only: a column may be mapped wrongly, and hold a secret.
#[derive(Clone, PartialEq, Eq)]
pub enum Said {
    /// A value that needs no looking up.
    Value(Value),
    /// A link secret, yet to be fingerprinted.
    Secret(Plain),
    /// The same link secret as that end's.
    SameAs(Named),
    /// The aircraft of this name.
    Aircraft(String),
    /// The transmitter ends that are remembered.
    Partners {
        /// Which.
        ends: Vec<Named>,
        /// Whether these are all.
        all: bool,
    },
}

impl fmt::Debug for Said {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Said::Value(Value::Text(_)) => "Text(…)",
            Said::Value(_) => "Value(…)",
            Said::Secret(_) => "Secret(…)",
            Said::SameAs(_) => "SameAs(…)",
            Said::Aircraft(_) => "Aircraft(…)",
            Said::Partners { .. } => "Partners(…)",
        })
    }
}

/// One fact that a list states.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fact {
    /// Which fact.
    pub field: Field,
    /// Its value.
    pub said: Said,
    /// How it is known, where the list says so.
    pub how: Option<How>,
    /// When it was seen, where the list says so.
    pub seen: Option<Moment>,
    /// Whether it stands beside another value of the same fact (a clash).
    pub beside: bool,
    /// The row or table that states it: an index into [`Inventory::units`].
    pub unit: usize,
    /// The line in the file.
    pub line: u64,
}

/// A row of a spreadsheet, or a table of a workshop file: taken whole or not at all.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Unit {
    /// The number that a spreadsheet shows, or the line of the table's header.
    pub row: u64,
    /// The line in the file.
    pub line: u64,
    /// The device it is about: an index into [`Inventory::items`].
    pub item: usize,
}

/// One device, as a list has it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// What it is.
    pub sort: Sort,
    /// Its id, where the list gives one.
    pub id: Option<DeviceId>,
    /// Its code, where the list gives one.
    pub code: Option<String>,
    /// Its name, where the list gives one.
    pub name: Option<String>,
    /// Set where rows only belong to a device that the list itself doesn't describe
    /// (memories of a transmitter): what they call it.
    pub of: Option<String>,
    /// Facts of the whole.
    pub whole: Vec<Fact>,
    /// Facts of the ends, by key.
    pub ends: BTreeMap<String, Vec<Fact>>,
    /// Facts of the model memories, by key.
    pub memories: BTreeMap<String, Vec<Fact>>,
}

impl Item {
    /// A device of which nothing is said yet.
    pub fn new(sort: Sort) -> Item {
        Item {
            sort,
            id: None,
            code: None,
            name: None,
            of: None,
            whole: Vec::new(),
            ends: BTreeMap::new(),
            memories: BTreeMap::new(),
        }
    }

    /// The facts of one part, made when there are none.
    pub fn part_mut(&mut self, part: &Part) -> &mut Vec<Fact> {
        match part {
            Part::Whole => &mut self.whole,
            Part::End(key) => self.ends.entry(key.clone()).or_default(),
            Part::Memory(key) => self.memories.entry(key.clone()).or_default(),
        }
    }

    /// Every part with its facts.
    pub fn parts(&self) -> impl Iterator<Item = (Part, &Vec<Fact>)> {
        std::iter::once((Part::Whole, &self.whole))
            .chain(self.ends.iter().map(|(key, facts)| (Part::End(key.clone()), facts)))
            .chain(self.memories.iter().map(|(key, facts)| (Part::Memory(key.clone()), facts)))
    }
}

/// Which kind of file an inventory was read from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Origin {
    /// A spreadsheet's list: places are rows and columns.
    #[default]
    Csv,
    /// A workshop file: places are lines and keys.
    Toml,
}

/// What a file states.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Inventory {
    /// The kind of file.
    pub origin: Origin,
    /// The columns of a list, by the fact they hold.
    pub columns: Vec<(Field, String)>,
    /// The devices.
    pub items: Vec<Item>,
    /// The rows or tables.
    pub units: Vec<Unit>,
    /// Settings of the workshop by key, each with its line.
    pub settings: Vec<(String, String, u64)>,
    /// Family files that belong to a workshop file, by file name.
    pub family_files: Vec<String>,
    /// Devices whose rows could not be taken: sort and code or name, in lower case.
    pub lost: HashSet<(Sort, String)>,
}

impl Inventory {
    /// What the file calls the place of a fact: its column, or its key.
    pub fn column(&self, field: Field) -> String {
        self.columns
            .iter()
            .find(|(have, _)| *have == field)
            .map_or_else(|| key_of(field).to_owned(), |(_, name)| name.clone())
    }
}

/// A row or table that can't be taken, and why. Never quotes the cell.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{place}{says}", place = place(*origin, *row, *line, column))]
pub struct BadRow {
    /// The kind of file.
    pub origin: Origin,
    /// The number that a spreadsheet shows for the row (the header is 1), or the line.
    pub row: u64,
    /// The line in the file; differs from the row where a cell before it has several
    /// lines.
    pub line: u64,
    /// The column's name, or the key; empty when it is about the whole row.
    pub column: String,
    /// What is wrong and what to do.
    pub says: String,
}

fn place(origin: Origin, row: u64, line: u64, column: &str) -> String {
    let short: String = column.chars().take(60).collect();
    let place = match origin {
        Origin::Csv if row == line => format!("row {row}"),
        Origin::Csv => format!("row {row} (line {line})"),
        Origin::Toml => format!("line {line}"),
    };
    match (origin, short.is_empty()) {
        (_, true) => format!("{place}: "),
        (Origin::Csv, false) => format!("{place}, column `{short}`: "),
        (Origin::Toml, false) => format!("{place}: `{short}` "),
    }
}

/// The key of a fact in CSV headers and workshop files.
pub fn key_of(field: Field) -> &'static str {
    match field {
        Field::Partners => "paired_with",
        other => other.key(),
    }
}

/// The fact with this key in CSV headers and workshop files.
pub fn field_of(key: &str) -> Option<Field> {
    Field::ALL.iter().copied().find(|field| key_of(*field) == key)
}

/// The facts that belong to an end and never to the whole device.
pub const END_FIELDS: &[Field] = &[
    Field::Family,
    Field::Band,
    Field::Region,
    Field::Firmware,
    Field::Secret,
    Field::ModelId,
    Field::Partners,
    Field::Antenna,
];

/// The facts that a part of a device can have in a list or workshop file.
pub fn fields_of(sort: Sort, part: &Part) -> &'static [Field] {
    use Field::{
        Aircraft, Antenna, Band, Code, Craft, End, Family, Firmware, Handset, Maker, Model, ModelId, Name,
        Note, Owner, Pack, Partners, Region, Secret, State,
    };
    match (part, sort) {
        (Part::Whole, Sort::Transmitter) => &[Code, Name, Maker, Model, State, Owner, Pack, Handset, Note],
        (Part::Whole, Sort::Receiver) => &[Code, Name, Maker, Model, State, Owner, Aircraft, Pack, Note],
        (Part::Whole, Sort::Aircraft) => &[Code, Name, Maker, Model, Craft, State, Owner, Pack, Note],
        (Part::End(_), Sort::Transmitter) => {
            &[Family, Band, Region, Firmware, Secret, Antenna, Name, Maker, Model, Pack, Note]
        }
        (Part::End(_), Sort::Receiver) => &[
            Family, Band, Region, Firmware, Secret, ModelId, Partners, Antenna, Name, Maker, Model, Pack,
            Note,
        ],
        (Part::Memory(_), Sort::Transmitter) => &[Name, ModelId, Aircraft, End, Note],
        _ => &[],
    }
}

/// The longest text that names other devices, characters: several names of the longest.
const LONGEST_NAMES_CHARS: usize = 1_000_000;

/// Refuses a text that no list can carry as this fact.
///
/// # Errors
/// It is too long, or has a NUL character; what to do.
pub fn check_text(field: Option<Field>, text: &str) -> Result<(), String> {
    if text.contains('\0') {
        return Err("has a NUL character, which no list can carry; take it out".to_owned());
    }
    let names = match field {
        Some(Field::Partners | Field::Aircraft) => true,
        Some(Field::Secret) => text.get(..8).is_some_and(|start| start.eq_ignore_ascii_case("same as ")),
        _ => false,
    };
    let most = if names { LONGEST_NAMES_CHARS } else { LONGEST_TEXT_CHARS };
    if text.len() > most && text.chars().count() > most {
        return Err(
            "has more than 10,000 characters; shorten it, and look for a quotation mark that is not closed"
                .to_owned(),
        );
    }
    Ok(())
}

/// Reads the words of a fact; `None` says nothing.
///
/// # Errors
/// What is allowed there. The words themselves are not quoted.
pub fn said(field: Field, text: &str) -> Result<Option<Said>, String> {
    check_text(Some(field), text)?;
    if text.is_empty() {
        return Ok(None);
    }
    let trimmed = text.trim();
    let lower = trimmed.to_lowercase();
    let none = matches!(lower.as_str(), "none" | "-");
    Ok(Some(match field {
        Field::State => {
            let state = State::from_word(trimmed).ok_or_else(|| {
                let words: Vec<_> = State::ALL.iter().map(|state| state.word()).collect();
                format!("is no state; write one of: {}", words.join(", "))
            })?;
            Said::Value(Value::Text(state.word().to_owned()))
        }
        Field::ModelId if matches!(lower.as_str(), "off" | "check off") => Said::Value(Value::Off),
        Field::ModelId => Said::Value(Value::Number(
            trimmed.parse().map_err(|_| "is no model ID; write a whole number, or `off`".to_owned())?,
        )),
        Field::Aircraft if none => Said::Value(Value::None),
        Field::Aircraft => Said::Aircraft(trimmed.to_owned()),
        Field::Partners if none => Said::Value(Value::Partners(Partners { ends: Vec::new(), all: true })),
        Field::Partners => {
            let (list, all) = match trimmed.split_at_checked(5) {
                Some((only, list)) if only.eq_ignore_ascii_case("only ") => (list, true),
                _ => (trimmed, false),
            };
            Said::Partners { ends: Named::read_list(list), all }
        }
        Field::Secret => return secret(text),
        _ => Said::Value(Value::Text(text.to_owned())),
    }))
}

fn secret(text: &str) -> Result<Option<Said>, String> {
    let trimmed = text.trim();
    let lower = trimmed.to_lowercase();
    if matches!(lower.as_str(), "blank" | "(blank)" | "none" | "-") {
        return Ok(Some(Said::Value(Value::Secret(SecretMark::Blank))));
    }
    if lower == "set" {
        return Ok(None);
    }
    if let Some(print) = lower.strip_prefix("print:") {
        let parts = print.split_once(':').filter(|(key, print)| {
            let hex = |text: &str| text.bytes().all(|byte| byte.is_ascii_hexdigit());
            key.len() == 16 && print.len() == 32 && hex(key) && hex(print)
        });
        let mark = parts.and_then(|(key, print)| {
            Some(SecretMark::Print {
                key: u64::from_str_radix(key, 16).ok()?,
                print: u128::from_str_radix(print, 16).ok()?,
            })
        });
        let mark = mark.ok_or_else(|| {
            "is no fingerprint as an export writes it (print:, 16 digits, a colon, 32 digits); copy it whole".to_owned()
        })?;
        return Ok(Some(Said::Value(Value::Secret(mark))));
    }
    if let Some((_, name)) =
        trimmed.split_at_checked(8).filter(|(same, _)| same.eq_ignore_ascii_case("same as "))
    {
        return Ok(Some(Said::SameAs(Named::read(name))));
    }
    Ok(Some(Said::Secret(Plain::new(text))))
}

/// Reads when something was seen: `2026-05-30`, `2026-05-30T18:00:00Z` or `30.5.2026`.
///
/// # Errors
/// It is none of these.
pub fn seen(text: &str) -> Result<Moment, String> {
    let text = text.trim();
    let parts: Vec<&str> = text.split('.').map(str::trim).collect();
    let iso = match parts.as_slice() {
        [day, month, year]
            if year.len() == 4
                && [day, month, year].iter().all(|part| part.bytes().all(|b| b.is_ascii_digit())) =>
        {
            format!("{year}-{month:0>2}-{day:0>2}")
        }
        _ => text.to_owned(),
    };
    Moment::parse(&iso).map_err(|_| {
        "is no date; write 2026-05-30 or 30.5.2026 (with slashes, day and month could be mixed up)".to_owned()
    })
}

/// Reads how something is known.
///
/// # Errors
/// It is none of the words.
pub fn how(text: &str) -> Result<How, String> {
    How::from_word(&text.trim().to_lowercase()).ok_or_else(|| {
        "is no way of knowing; write `seen` (on the device), `label`, `told` or `assumed`".to_owned()
    })
}
