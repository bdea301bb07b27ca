//! Cards and labels, block by block.

use fitting::card::{Block as Laid, Card as Printed, Label as Stuck};
use serde::Serialize;

/// A card.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Card {
    /// What it is.
    pub kind: String,
    /// Whose.
    pub title: String,
    /// What was checked, what was not.
    pub sentence: String,
    /// What follows.
    pub blocks: Vec<Block>,
    /// The last lines.
    pub foot: String,
    /// What its square holds; `null` where there is none.
    pub code: Option<String>,
}

/// One part of a card.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "block", rename_all = "snake_case")]
pub enum Block {
    /// A heading.
    Heading {
        /// Its words.
        text: String,
    },
    /// Words.
    Words {
        /// They.
        text: String,
    },
    /// Words that must not be overlooked.
    Caution {
        /// They.
        text: String,
    },
    /// What is what.
    Facts {
        /// Each.
        facts: Vec<Fact>,
    },
    /// Things to tick.
    Boxes {
        /// Each.
        boxes: Vec<Tick>,
    },
    /// A table.
    Table {
        /// Its header.
        header: Vec<String>,
        /// Its rows.
        rows: Vec<Vec<String>>,
    },
    /// Lines to write on.
    Lines {
        /// What to write on each.
        lines: Vec<String>,
    },
}

/// What is what.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Fact {
    /// What.
    pub name: String,
    /// Its value.
    pub value: String,
    /// How and when it is known; may be empty.
    pub known: String,
}

/// Something to tick.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Tick {
    /// What.
    pub text: String,
    /// What more is said; may be empty.
    pub more: String,
}

impl Card {
    /// A card as an answer.
    pub fn new(card: &Printed) -> Card {
        Card {
            kind: card.kind.clone(),
            title: card.title.clone(),
            sentence: card.sentence.clone(),
            blocks: card.blocks.iter().map(Block::new).collect(),
            foot: card.foot.clone(),
            code: card.code.as_ref().map(|code| code.text.clone()),
        }
    }
}

impl Block {
    fn new(block: &Laid) -> Block {
        match block {
            Laid::Heading(text) => Block::Heading { text: text.clone() },
            Laid::Words(text) => Block::Words { text: text.clone() },
            Laid::Caution(text) => Block::Caution { text: text.clone() },
            Laid::Facts(facts) => Block::Facts {
                facts: facts
                    .iter()
                    .map(|(name, value, known)| Fact {
                        name: name.clone(),
                        value: value.clone(),
                        known: known.clone(),
                    })
                    .collect(),
            },
            Laid::Boxes(boxes) => Block::Boxes {
                boxes: boxes
                    .iter()
                    .map(|(text, more)| Tick { text: text.clone(), more: more.clone() })
                    .collect(),
            },
            Laid::Table(header, rows) => Block::Table { header: header.clone(), rows: rows.clone() },
            Laid::Lines(lines) => Block::Lines { lines: lines.clone() },
        }
    }
}

/// A label.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Label {
    /// The device's label, large.
    pub title: String,
    /// A few short lines.
    pub lines: Vec<String>,
    /// What its square holds.
    pub code: String,
}

impl Label {
    /// A label as an answer.
    pub fn new(label: &Stuck) -> Label {
        Label { title: label.title.clone(), lines: label.lines.clone(), code: label.code.text.clone() }
    }
}
