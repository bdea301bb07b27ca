//! What a part's text says, cell by cell.

use super::{Schema, Table};

/// One value.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// A number.
    Number(f64),
    /// A whole number.
    Whole(u32),
    /// Words, also the word of a choice.
    Text(String),
    /// Yes or no.
    YesNo(bool),
    /// Whole numbers.
    Wholes(Vec<u32>),
    /// A list of words.
    Words(Vec<String>),
}

/// One row of a table: a cell a key, by the key's place.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The line it begins on; 0 where it came from a form.
    pub line: usize,
    /// What problems call it: `output[2]`.
    pub path: String,
    pub(super) table: &'static Table,
    pub(super) cells: Vec<Option<Cell>>,
}

/// A part that was read: every cell of the right type and in range, every key that must be there
/// is.
#[derive(Clone, Debug, PartialEq)]
pub struct Filled {
    /// Of which part.
    pub schema: &'static Schema,
    pub(super) rows: Vec<Vec<Row>>,
}

impl Filled {
    /// A part with nothing in it.
    pub fn empty(schema: &'static Schema) -> Filled {
        Filled { schema, rows: vec![Vec::new(); schema.tables.len()] }
    }

    /// The rows of a table, in their order.
    pub fn rows(&self, table: &str) -> &[Row] {
        self.schema.table(table).map_or(&[], |(at, _)| &self.rows[at])
    }

    /// The only row of a table that has one.
    pub fn one(&self, table: &str) -> Option<&Row> {
        self.rows(table).first()
    }

    /// Whether there is no row at all.
    pub fn is_empty(&self) -> bool {
        self.rows.iter().all(Vec::is_empty)
    }
}

impl Row {
    /// The cell of a key.
    pub fn cell(&self, key: &str) -> Option<&Cell> {
        let (at, _) = self.table.key(key)?;
        self.cells[at].as_ref()
    }

    /// A number, whole or not.
    pub fn number(&self, key: &str) -> Option<f64> {
        match self.cell(key)? {
            Cell::Number(number) => Some(*number),
            Cell::Whole(number) => Some(f64::from(*number)),
            _ => None,
        }
    }

    /// A whole number.
    pub fn whole(&self, key: &str) -> Option<u32> {
        match self.cell(key)? {
            Cell::Whole(number) => Some(*number),
            _ => None,
        }
    }

    /// Words, or the word of a choice.
    pub fn text(&self, key: &str) -> Option<&str> {
        match self.cell(key)? {
            Cell::Text(text) => Some(text),
            _ => None,
        }
    }

    /// Words that must be there; empty where the key may be left out and was.
    pub fn words(&self, key: &str) -> String {
        self.text(key).unwrap_or_default().to_owned()
    }

    /// Yes or no; no where it was left out.
    pub fn yes(&self, key: &str) -> bool {
        matches!(self.cell(key), Some(Cell::YesNo(true)))
    }

    /// Whole numbers; none where it was left out.
    pub fn wholes(&self, key: &str) -> &[u32] {
        match self.cell(key) {
            Some(Cell::Wholes(list)) => list,
            _ => &[],
        }
    }

    /// A list of words; none where it was left out.
    pub fn list(&self, key: &str) -> &[String] {
        match self.cell(key) {
            Some(Cell::Words(list)) => list,
            _ => &[],
        }
    }
}
