//! The facts a device can have, and how each of them ages.

use std::fmt;
use std::str::FromStr;

/// How a fact ages.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ageing {
    /// It never changes (a receiver's band).
    Fixed,
    /// Somebody can set it (firmware, link secret, model ID).
    Settable,
    /// It wears out (an antenna, a pack).
    Wearing,
}

macro_rules! fields {
    ($( $(#[$doc:meta])* $name:ident = $key:literal, $label:literal, $ageing:ident; )*) => {
        /// One kind of fact about a device, an end or a model memory.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Field { $( $(#[$doc])* $name, )* }

        impl Field {
            /// Every field, in the order in which pages list them.
            pub const ALL: &[Field] = &[ $( Field::$name, )* ];

            /// The key in JSON, TOML, CSV mappings and on the command line.
            pub fn key(self) -> &'static str {
                match self { $( Field::$name => $key, )* }
            }

            /// The words on pages and in tables.
            pub fn label(self) -> &'static str {
                match self { $( Field::$name => $label, )* }
            }

            /// How the fact ages.
            pub fn ageing(self) -> Ageing {
                match self { $( Field::$name => Ageing::$ageing, )* }
            }
        }
    };
}

fields! {
    /// The short code on the label, unique within a workshop if its owner keeps it so.
    Code = "code", "code", Settable;
    /// What its owner calls it.
    Name = "name", "name", Settable;
    /// Who made it, in the owner's words.
    Maker = "maker", "maker", Fixed;
    /// The type name, in the owner's words.
    Model = "model", "type", Fixed;
    /// What sort of aircraft (aeroplane, glider, helicopter, multirotor, boat, car).
    Craft = "craft", "sort of craft", Fixed;
    /// Where it is: in use, shelf, lent, sold, crashed, destroyed.
    State = "state", "state", Settable;
    /// Whose it is, when it is not the workshop's own.
    Owner = "owner", "owner", Settable;
    /// The link family an end speaks.
    Family = "family", "link family", Settable;
    /// The band of an end.
    Band = "band", "band", Fixed;
    /// The region variant of an end's firmware.
    Region = "region", "region variant", Settable;
    /// The firmware version of an end.
    Firmware = "firmware", "firmware", Settable;
    /// The link secret of an end: blank, or a keyed fingerprint.
    Secret = "secret", "link secret", Settable;
    /// The model ID that a receiver end or a model memory holds.
    ModelId = "model_id", "model ID", Settable;
    /// The transmitter ends a receiver end remembers.
    Partners = "partners", "paired with", Settable;
    /// The aircraft a receiver is fitted in, or a model memory flies.
    Aircraft = "aircraft", "aircraft", Settable;
    /// The end (RF module) a model memory chooses.
    End = "end", "end", Settable;
    /// The antenna fitted to an end.
    Antenna = "antenna", "antenna", Wearing;
    /// The pack that supplies it.
    Pack = "pack", "pack", Wearing;
    /// Firmware of the handset itself.
    Handset = "handset", "handset firmware", Settable;
    /// Anything else worth a line.
    Note = "note", "note", Settable;
}

impl fmt::Display for Field {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.key())
    }
}

/// A word is not the key of a field.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is not a fact Holdfast keeps; the facts are {list}", list = keys())]
pub struct BadField(pub String);

fn keys() -> String {
    Field::ALL.iter().map(|field| field.key()).collect::<Vec<_>>().join(", ")
}

impl FromStr for Field {
    type Err = BadField;
    fn from_str(text: &str) -> Result<Field, BadField> {
        Field::ALL
            .iter()
            .copied()
            .find(|field| field.key() == text)
            .ok_or_else(|| BadField(text.chars().take(60).collect()))
    }
}

/// What a device is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sort {
    /// A handset with its RF modules and model memories.
    Transmitter,
    /// A receiver.
    Receiver,
    /// An aircraft (or boat, or car).
    Aircraft,
}

impl Sort {
    /// The word in JSON, TOML, CSV and on pages.
    pub fn word(self) -> &'static str {
        match self {
            Sort::Transmitter => "transmitter",
            Sort::Receiver => "receiver",
            Sort::Aircraft => "aircraft",
        }
    }

    /// The sort with this word.
    pub fn from_word(word: &str) -> Option<Sort> {
        [Sort::Transmitter, Sort::Receiver, Sort::Aircraft].into_iter().find(|sort| sort.word() == word)
    }
}

/// Which part of a device a fact is about.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Part {
    /// The device as a whole.
    Whole,
    /// One radio interface, by its key (`main` where there is only one).
    End(String),
    /// One model memory of a transmitter, by its key.
    Memory(String),
}

impl Part {
    /// The key of a device's only end.
    pub const MAIN: &str = "main";

    /// `whole`, `end:main`, `memory:3`.
    pub fn word(&self) -> String {
        match self {
            Part::Whole => "whole".to_owned(),
            Part::End(key) => format!("end:{key}"),
            Part::Memory(key) => format!("memory:{key}"),
        }
    }

    /// Reads what [`Part::word`] writes.
    pub fn from_word(word: &str) -> Option<Part> {
        if word == "whole" {
            return Some(Part::Whole);
        }
        let (sort, key) = word.split_once(':')?;
        match sort {
            _ if key.is_empty() => None,
            "end" => Some(Part::End(key.to_owned())),
            "memory" => Some(Part::Memory(key.to_owned())),
            _ => None,
        }
    }
}

/// How a value is known; the later a variant, the better it is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum How {
    /// Nobody said so; it is taken to be so.
    Assumed,
    /// Somebody said so.
    Told,
    /// Read on a label, a box or a list.
    Label,
    /// Seen on the device itself.
    Seen,
}

impl How {
    /// Every way, weakest first.
    pub const ALL: [How; 4] = [How::Assumed, How::Told, How::Label, How::Seen];

    /// The word in JSON, TOML, CSV and on pages.
    pub fn word(self) -> &'static str {
        match self {
            How::Assumed => "assumed",
            How::Told => "told",
            How::Label => "label",
            How::Seen => "seen",
        }
    }

    /// The way with this word.
    pub fn from_word(word: &str) -> Option<How> {
        How::ALL.into_iter().find(|how| how.word() == word)
    }
}
