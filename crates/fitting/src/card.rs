//! What goes on paper: cards for the bench and the field, and labels, as blocks that every door
//! lays out alike.

use crate::qr::Symbol;

/// A size of paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Size {
    /// ISO 216 A4: 210 mm by 297 mm.
    A4,
    /// ISO 216 A6: 105 mm by 148 mm.
    A6,
}

impl Size {
    /// Every size.
    pub const ALL: [Size; 2] = [Size::A4, Size::A6];

    /// The word on the command line and in addresses.
    pub fn word(self) -> &'static str {
        match self {
            Size::A4 => "a4",
            Size::A6 => "a6",
        }
    }

    /// The size with this word.
    pub fn from_word(word: &str) -> Option<Size> {
        Size::ALL.into_iter().find(|size| size.word() == word.to_lowercase())
    }

    /// Width and height, whole millimetres (ISO 216).
    pub fn millimetres(self) -> (u32, u32) {
        match self {
            Size::A4 => (210, 297),
            Size::A6 => (105, 148),
        }
    }
}

/// One part of a card.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// A heading.
    Heading(String),
    /// Words.
    Words(String),
    /// Words that must not be overlooked.
    Caution(String),
    /// What is what: names with their values, and how and when each is known (may be empty).
    Facts(Vec<(String, String, String)>),
    /// Things to tick, each with a second line (may be empty).
    Boxes(Vec<(String, String)>),
    /// A table: its header and its rows, all of one length.
    Table(Vec<String>, Vec<Vec<String>>),
    /// Lines to write on, each with what to write.
    Lines(Vec<String>),
}

/// A card.
#[derive(Clone, Debug, PartialEq)]
pub struct Card {
    /// What it is: `Bench card`, `Field card`.
    pub kind: String,
    /// Whose: the aircraft's label and name.
    pub title: String,
    /// The answer in a sentence: what was checked, what was not.
    pub sentence: String,
    /// What follows.
    pub blocks: Vec<Block>,
    /// The last lines: when it was printed, by which workshop, that local rules and the maker's
    /// manual prevail.
    pub foot: String,
    /// What the square holds, where there is one.
    pub code: Option<Code>,
}

/// A QR code with the text that it holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Code {
    /// The text.
    pub text: String,
    /// The symbol.
    pub symbol: Symbol,
}

/// A label for a receiver, a transmitter or an aircraft.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    /// The device's label, large.
    pub title: String,
    /// A few short lines.
    pub lines: Vec<String>,
    /// The square beside them.
    pub code: Code,
}
