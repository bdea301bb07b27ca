//! The blocks of a card as pieces.

use crate::face::Faces;
use crate::leaf::{After, Cell, Mark, Piece, Stack, across, row, words};
use crate::style::{Ink, MM, Style, leading};
use crate::table;
use crate::wrap::{Set, lines, natural};
use fitting::card::Block;

/// What pieces are made with.
pub struct Make<'s> {
    /// The measures.
    pub style: &'s Style,
    /// The fonts.
    pub faces: &'s Faces,
    /// The height that every page has room for.
    pub most: f32,
}

impl Make<'_> {
    /// Text of the card's usual size.
    pub fn text(&self) -> Set {
        Set::regular(self.style.text)
    }

    /// Text that stands beside.
    pub fn small(&self) -> Set {
        Set::regular(self.style.small)
    }

    /// The text in lines, in a column.
    pub fn cell(&self, text: &str, set: Set, ink: Ink, left: f32, room: f32) -> Cell {
        Cell { left, set, ink, lines: lines(text, set, self.faces, room) }
    }

    /// A block as pieces.
    pub fn block<'a>(&self, block: &Block) -> Vec<Piece<'a>> {
        let mut pieces = match block {
            Block::Heading(text) => self.heading(text),
            Block::Words(text) => self.words(text, self.text(), Ink::Text),
            Block::Caution(text) => self.caution(text),
            Block::Facts(facts) => self.facts(facts),
            Block::Boxes(boxes) => boxes.iter().flat_map(|(what, more)| self.tick(what, more)).collect(),
            Block::Table(header, rows) => table::pieces(self, header, rows),
            Block::Lines(labels) => self.lines(labels),
        };
        if let Some(first) = pieces.first_mut() {
            first.gap =
                first.gap.max(self.style.gap * if matches!(block, Block::Heading(_)) { 1.35 } else { 0.75 });
        }
        pieces
    }

    fn heading<'a>(&self, text: &str) -> Vec<Piece<'a>> {
        let set = Set::bold(self.style.heading);
        let cell = self.cell(text, set, Ink::Text, 0.0, self.style.width());
        let mut pieces = row(&[vec![cell]], self.most);
        for piece in &mut pieces {
            piece.after = After::Stay;
        }
        pieces
    }

    /// Running text: a page break leaves two lines at least on either side.
    pub fn words<'a>(&self, text: &str, set: Set, ink: Ink) -> Vec<Piece<'a>> {
        let lines = lines(text, set, self.faces, self.style.width());
        let count = lines.len();
        let piece = |(number, text): (usize, String)| Piece {
            height: leading(set.letters),
            marks: vec![words(0.0, text, set, ink)],
            after: if number + 1 < count && (number == 0 || number + 2 == count) {
                After::Stay
            } else {
                After::Break
            },
            ..Piece::default()
        };
        lines.into_iter().enumerate().map(piece).collect()
    }

    fn caution<'a>(&self, text: &str) -> Vec<Piece<'a>> {
        let (width, pad) = (self.style.width(), self.style.gap * 0.55);
        let word = Set::bold(self.style.text);
        let left = pad + word.width("Caution", self.faces) + pad;
        let label = Cell { left: pad, set: word, ink: Ink::Pencil, lines: vec!["Caution".to_owned()] };
        let said = self.cell(text, self.text(), Ink::Text, left, width - left - pad);
        let mut pieces = row(&[vec![label], vec![said]], self.most - 2.0 * pad);
        for piece in &mut pieces {
            piece.gap = pad;
            piece.height += 2.0 * pad;
            for mark in std::mem::take(&mut piece.marks) {
                piece.marks.push(shifted(mark, pad));
            }
            let size = (width, piece.height);
            piece.marks.push(Mark::Frame { at: (0.0, 0.0), size, thick: 1.1, ink: Ink::Pencil });
        }
        pieces
    }

    fn facts<'a>(&self, facts: &[(String, String, String)]) -> Vec<Piece<'a>> {
        let (width, between) = (self.style.width(), 3.0 * MM);
        let widest = |texts: &mut dyn Iterator<Item = &String>, set: Set| {
            texts.map(|text| natural(text, set, self.faces).0).fold(0.0, f32::max) + 0.5
        };
        let names = widest(&mut facts.iter().map(|fact| &fact.0), self.small()).min(width * 0.34);
        let known = widest(&mut facts.iter().map(|fact| &fact.2), self.small());
        let values = widest(&mut facts.iter().map(|fact| &fact.1), self.text());
        let at = names + between;
        // How it is known stands in a third column where all of it fits beside the values.
        let third = known > 0.5 && at + values + between + known <= width;
        let beside = (at + values + 3.0 * between).max(width * 0.5).min(width - known);
        let mut pieces = Vec::new();
        for (name, value, how) in facts {
            let mut stacks: Vec<Stack> = vec![vec![self.cell(name, self.small(), Ink::Soft, 0.0, names)]];
            let room = if third { values } else { width - at };
            let mut second = vec![self.cell(value, self.text(), Ink::Text, at, room)];
            let how = self.cell(how, self.small(), Ink::Soft, if third { beside } else { at }, width - at);
            if third {
                stacks.push(second);
                stacks.push(vec![how]);
            } else {
                second.push(how);
                stacks.push(second);
            }
            pieces.extend(self.ruled(row(&stacks, self.most - 2.0 * MM)));
        }
        pieces
    }

    /// The pieces with a thin line below the last.
    pub fn ruled<'a>(&self, mut pieces: Vec<Piece<'a>>) -> Vec<Piece<'a>> {
        let space = self.style.gap * 0.22;
        if let Some(last) = pieces.last_mut() {
            last.height += 2.0 * space;
            last.marks.push(across(last.height - space, self.style.width(), 0.4, Ink::Rule));
        }
        pieces
    }

    fn tick<'a>(&self, what: &str, more: &str) -> Vec<Piece<'a>> {
        let (side, left) = (self.style.tick, self.style.tick + 2.2 * MM);
        let room = self.style.width() - left;
        let stack = vec![
            self.cell(what, self.text(), Ink::Text, left, room),
            self.cell(more, self.small(), Ink::Soft, left, room),
        ];
        let mut pieces = row(&[stack], self.most);
        if let Some(first) = pieces.first_mut() {
            // The square is drawn with its middle at the middle of the first line's capitals.
            let top = (self.style.text * 0.655 - side / 2.0).max(0.4);
            let down = if top > 0.4 { 0.0 } else { side / 2.0 + 0.4 - self.style.text * 0.655 };
            for mark in std::mem::take(&mut first.marks) {
                first.marks.push(shifted(mark, down));
            }
            let frame = Mark::Frame { at: (0.4, top), size: (side, side), thick: 0.9, ink: Ink::Text };
            first.marks.insert(0, frame);
            first.height = (first.height + down).max(side + 2.0 * top);
        }
        if let Some(first) = pieces.first_mut() {
            first.gap = self.style.gap * 0.55;
        }
        pieces
    }

    /// Lines to write on: two beside each other where the page is wide and the words are few.
    fn lines<'a>(&self, labels: &[String]) -> Vec<Piece<'a>> {
        let width = self.style.width();
        let half = (width - 6.0 * MM) / 2.0;
        let set = self.small();
        let measure = |label: &String| natural(label, set, self.faces).0;
        let single = |label: &String| lines(label, set, self.faces, width).len() <= 1;
        let beside =
            half > 40.0 * MM && labels.iter().all(|label| measure(label) < half * 0.5 && single(label));
        let mut pieces = Vec::new();
        for pair in labels.chunks(if beside { 2 } else { 1 }) {
            let room = if beside { half } else { width };
            let mut piece = Piece { height: self.style.writing, gap: 0.0, ..Piece::default() };
            let base = self.style.writing - 1.0 * MM;
            let mut left = 0.0;
            for label in pair {
                let wide = measure(label);
                if wide > room * 0.6 || !single(label) {
                    // The words stand above their line.
                    let cell = self.cell(label, set, Ink::Soft, 0.0, room);
                    let mut above = row(&[vec![cell]], self.most);
                    for piece in &mut above {
                        piece.after = After::Stay;
                    }
                    pieces.extend(above);
                    piece.marks.push(line(left, left + room, base));
                } else {
                    let text = lines(label, set, self.faces, room).concat();
                    piece.marks.push(Mark::Words { at: (left, base), set, ink: Ink::Soft, text });
                    piece.marks.push(line(left + wide + 1.5 * MM, left + room, base + 0.8));
                }
                left += half + 6.0 * MM;
            }
            pieces.push(piece);
        }
        // A name and its date belong on one page.
        let count = pieces.len();
        pieces.iter_mut().take(count.saturating_sub(1)).for_each(|piece| piece.after = After::Stay);
        pieces
    }
}

fn line<'a>(from: f32, to: f32, down: f32) -> Mark<'a> {
    Mark::Line { from: (from, down), to: (to, down), thick: 0.6, ink: Ink::Text }
}

/// The mark so far down.
fn shifted(mark: Mark<'_>, down: f32) -> Mark<'_> {
    mark.moved(0.0, down)
}
