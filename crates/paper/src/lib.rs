//! Cards and labels on paper: what [`fitting::card`] says, laid out and written as PDF.
//!
//! Pure: cards in, bytes out. The same cards give the same bytes on every machine: no clock is
//! read, no id is made, and the two fonts come with the crate and go into the file, cut down to
//! the letters that are used. Layout is in PDF points (1/72 inch) within the crate.
//!
//! `wrap` breaks text into lines by the font's own measures (`face`); `block`, `table` and
//! `head` make pieces of them; `leaf` puts the pieces on pages; `draw` writes the file.
//!
//! Text of a language that runs from right to left is shaped in its own direction, word groups in
//! the order in which they are read within a group; a line that mixes directions isn't reordered
//! as the Unicode bidirectional algorithm would.

mod block;
mod card;
mod draw;
mod face;
mod head;
mod label;
mod leaf;
mod style;
mod table;
mod wrap;

use fitting::card::{Card, Label, Size};

/// Why there is no PDF.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PaperError {
    /// Nothing was given.
    #[error("there is nothing to print: choose at least one card or label")]
    Nothing,
    /// A label's code has more modules than a label has room for.
    #[error(
        "the QR code of label {title:?} has {side} modules a side and a label has room for {most}: \
         shorten the text that the code holds"
    )]
    CodeTooLarge {
        /// The label's title.
        title: String,
        /// Modules along the code's side.
        side: usize,
        /// Modules that a label has room for.
        most: usize,
    },
    /// The PDF writer refused.
    #[error("the PDF could not be written ({why}): print the page from the browser instead")]
    Writer {
        /// What it said.
        why: String,
    },
}

/// The cards as one PDF, each on pages of its own. A card that doesn't fit on one page goes on to
/// the next and says so at its foot.
///
/// # Errors
/// [`PaperError::Nothing`] without cards, [`PaperError::Writer`] when the PDF can't be written.
pub fn cards(cards: &[Card], size: Size) -> Result<Vec<u8>, PaperError> {
    let title = match cards {
        [] => return Err(PaperError::Nothing),
        [one] => format!("{}: {}", one.kind, one.title),
        several => format!("{} cards", several.len()),
    };
    let faces = face::Faces::new();
    let style = style::Style::of(size);
    let pages: Vec<leaf::Page> = cards.iter().flat_map(|card| card::pages(card, &style, &faces)).collect();
    draw::pdf(&pages, &title, style.page, &faces)
}

/// The labels as one PDF of A4 pages, three across and eight down, each 63.5 mm by 33.9 mm between
/// cut marks. A label's words that its room can't hold end in `…`.
///
/// # Errors
/// [`PaperError::Nothing`] without labels, [`PaperError::CodeTooLarge`] when a code has more
/// modules than can be printed at 0.4 mm each, [`PaperError::Writer`] when the PDF can't be
/// written.
pub fn labels(labels: &[Label]) -> Result<Vec<u8>, PaperError> {
    let title = match labels {
        [] => return Err(PaperError::Nothing),
        [one] => format!("Label: {}", one.title),
        several => format!("{} labels", several.len()),
    };
    let faces = face::Faces::new();
    let pages = label::pages(labels, &faces)?;
    draw::pdf(&pages, &title, style::Style::of(Size::A4).page, &faces)
}
