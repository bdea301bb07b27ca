//! Readers and writers of inventories: CSV lists and workshop TOML files.
//!
//! Pure: bytes and text go in, an [`inventory::Inventory`] comes out, with every row or
//! table that can't be taken listed by number. [`plan::plan`] lays an inventory beside
//! the register and proposes what would be written; nothing is written here. The
//! formats are described in `docs/csv.md` and `docs/workshop-file.md`.
//!
//! A link secret's plain text is held only in [`inventory::Plain`], which shows nothing,
//! and no error quotes a cell or a value.

pub mod csv;
pub mod export;
pub mod inventory;
pub mod plan;
pub mod reference;
pub mod toml;
