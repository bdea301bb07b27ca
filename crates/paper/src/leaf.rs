//! Pieces of a card, and how they come to stand on pages.

use crate::face::Faces;
use crate::style::{Ink, leading};
use crate::wrap::Set;
use fitting::qr::Symbol;

/// How far the base line is below the top of a line, in heights of its letters.
const BASE: f32 = 1.02;

/// Something drawn. Points, from the upper left corner; `y` grows downwards.
#[derive(Clone, Debug)]
pub enum Mark<'a> {
    /// Legible text, at its base line.
    Words {
        /// Where it begins.
        at: (f32, f32),
        /// How it is set.
        set: Set,
        /// What it is written with.
        ink: Ink,
        /// The text.
        text: String,
    },
    /// A straight line.
    Line {
        /// Its beginning.
        from: (f32, f32),
        /// Its end.
        to: (f32, f32),
        /// How thick it is.
        thick: f32,
        /// What it is drawn with.
        ink: Ink,
    },
    /// The outline of a rectangle.
    Frame {
        /// Its upper left corner.
        at: (f32, f32),
        /// Its width and height.
        size: (f32, f32),
        /// How thick the line is.
        thick: f32,
        /// What it is drawn with.
        ink: Ink,
    },
    /// A code.
    Code {
        /// The upper left corner of its dark part; the quiet zone is around it.
        at: (f32, f32),
        /// The side of one module.
        module: f32,
        /// The code.
        symbol: &'a Symbol,
    },
}

impl Mark<'_> {
    /// The same mark elsewhere.
    pub fn moved(mut self, right: f32, down: f32) -> Self {
        let shift = |at: &mut (f32, f32)| *at = (at.0 + right, at.1 + down);
        match &mut self {
            Mark::Line { from, to, .. } => {
                shift(from);
                shift(to);
            }
            Mark::Words { at, .. } | Mark::Frame { at, .. } | Mark::Code { at, .. } => shift(at),
        }
        self
    }
}

/// What the page break may do after a piece.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum After {
    /// Break.
    #[default]
    Break,
    /// Not break: the next piece stands on the same page.
    Stay,
}

/// A part of a card that a page break never splits.
#[derive(Clone, Debug, Default)]
pub struct Piece<'a> {
    /// Space above it; none at the top of a page.
    pub gap: f32,
    /// Its height.
    pub height: f32,
    /// What is drawn, from its own upper left corner.
    pub marks: Vec<Mark<'a>>,
    /// Whether the next piece must stand below it.
    pub after: After,
    /// What is drawn again above it where it begins a page.
    pub again: Option<Box<Piece<'a>>>,
}

/// Text in a column of a row.
#[derive(Clone, Debug)]
pub struct Cell {
    /// The left edge.
    pub left: f32,
    /// How the text is set.
    pub set: Set,
    /// What it is written with.
    pub ink: Ink,
    /// Its lines.
    pub lines: Vec<String>,
}

impl Cell {
    fn height(&self, lines: usize) -> f32 {
        #[expect(clippy::cast_precision_loss, reason = "the lines of one page")]
        let lines = lines as f32;
        lines * leading(self.set.letters)
    }

    /// How many lines stand in this height, one at least.
    fn fitting(&self, height: f32) -> usize {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a positive count of lines"
        )]
        let lines = (height / leading(self.set.letters) + 0.01) as usize;
        lines.max(1)
    }

    fn marks<'a>(&self, from: usize, to: usize) -> impl Iterator<Item = Mark<'a>> {
        let (to, letters) = (to.min(self.lines.len()), self.set.letters);
        let lines = self.lines[from.min(to)..to].iter().enumerate();
        lines.map(move |(number, text)| Mark::Words {
            at: (self.left, self.height(number) + letters * BASE),
            set: self.set,
            ink: self.ink,
            text: text.clone(),
        })
    }
}

/// Cells that stand below each other, beside other such stacks.
pub type Stack = Vec<Cell>;

/// A row: stacks of text beside each other, read one stack after the other. One piece where it is
/// no higher than `most`, else as many as it takes.
pub fn row<'a>(stacks: &[Stack], most: f32) -> Vec<Piece<'a>> {
    // Letters of different size stand on one base line.
    let largest =
        stacks.iter().filter_map(|stack| stack.first()).map(|cell| cell.set.letters).fold(0.0, f32::max);
    let lead = |stack: &Stack| stack.first().map_or(0.0, |cell| (largest - cell.set.letters) * BASE);
    let whole =
        |stack: &Stack| lead(stack) + stack.iter().map(|cell| cell.height(cell.lines.len())).sum::<f32>();
    let height = stacks.iter().map(whole).fold(0.0, f32::max);
    if height <= most {
        let mut marks = Vec::new();
        for stack in stacks {
            let mut down = lead(stack);
            for cell in stack {
                marks.extend(cell.marks(0, cell.lines.len()).map(|mark| mark.moved(0.0, down)));
                down += cell.height(cell.lines.len());
            }
        }
        return vec![Piece { height, marks, ..Piece::default() }];
    }
    // Too high for any page: a page's worth of lines at a time, stack after stack.
    let mut pieces = Vec::new();
    for cell in stacks.iter().flatten() {
        let step = cell.fitting(most);
        for from in (0..cell.lines.len()).step_by(step) {
            let to = (from + step).min(cell.lines.len());
            let marks = cell.marks(from, to).collect();
            pieces.push(Piece { height: cell.height(to - from), marks, ..Piece::default() });
        }
    }
    pieces
}

/// A page: what is drawn on it.
#[derive(Debug, Default)]
pub struct Page<'a> {
    /// What is drawn, in the order in which it is read.
    pub marks: Vec<Mark<'a>>,
}

impl<'a> Page<'a> {
    /// Draws a piece with its upper left corner here.
    pub fn put(&mut self, piece: Piece<'a>, left: f32, top: f32) {
        self.marks.extend(piece.marks.into_iter().map(|mark| mark.moved(left, top)));
    }
}

/// Where pieces may stand on a page.
#[derive(Clone, Copy, Debug)]
pub struct Room {
    /// The left edge.
    pub left: f32,
    /// The upper edge of the first page.
    pub first: f32,
    /// The upper edge of every later page.
    pub later: f32,
    /// The lower edge.
    pub bottom: f32,
}

/// Puts the pieces on pages. Pieces that must stay together do, unless no page could hold them.
pub fn paginate<'a>(pieces: Vec<Piece<'a>>, room: &Room) -> Vec<Page<'a>> {
    let mut pages = vec![Page::default()];
    let mut down = room.first;
    let mut empty = true;
    let mut rest = pieces.into_iter().peekable();
    while let Some(first) = rest.next() {
        let mut group = vec![first];
        while group.last().is_some_and(|piece| piece.after == After::Stay) {
            let Some(next) = rest.next() else { break };
            group.push(next);
        }
        let needs = |group: &[Piece]| group.iter().map(|piece| piece.gap + piece.height).sum::<f32>();
        let together = needs(&group) - group[0].gap <= room.bottom - room.later;
        let singles: Vec<Vec<Piece>> =
            if together { vec![group] } else { group.into_iter().map(|piece| vec![piece]).collect() };
        for group in singles {
            let gap = if empty { group[0].gap } else { 0.0 };
            if !empty && down + needs(&group) > room.bottom + 0.01
                || empty && down + needs(&group) - gap > room.bottom + 0.01 && down > room.later
            {
                pages.push(Page::default());
                (down, empty) = (room.later, true);
                let height = needs(&group) - group[0].gap;
                if let Some(again) =
                    group[0].again.clone().filter(|it| height + it.height <= room.bottom - down)
                {
                    let height = again.height;
                    put(&mut pages, *again, room.left, down);
                    (down, empty) = (down + height, true);
                }
            }
            for piece in group {
                down += if empty { 0.0 } else { piece.gap };
                let height = piece.height;
                put(&mut pages, piece, room.left, down);
                (down, empty) = (down + height, false);
            }
        }
    }
    pages
}

fn put<'a>(pages: &mut [Page<'a>], piece: Piece<'a>, left: f32, top: f32) {
    if let Some(page) = pages.last_mut() {
        page.put(piece, left, top);
    }
}

/// A thin line across, as wide as this.
pub fn across<'a>(down: f32, width: f32, thick: f32, ink: Ink) -> Mark<'a> {
    Mark::Line { from: (0.0, down), to: (width, down), thick, ink }
}

/// One line of text, its base line so far below the top as its letters are high.
pub fn words<'a>(left: f32, text: String, set: Set, ink: Ink) -> Mark<'a> {
    Mark::Words { at: (left, set.letters * BASE), set, ink, text }
}

/// One line of text that ends at the right edge.
pub fn flush<'a>(right: f32, text: String, set: Set, ink: Ink, faces: &Faces) -> Mark<'a> {
    words(right - set.width(&text, faces), text, set, ink)
}
