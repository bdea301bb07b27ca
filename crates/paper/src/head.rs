//! The head of a card: what it is, whose, the answer in a sentence, and the code beside them.

use crate::block::Make;
use crate::leaf::{After, Mark, Piece, across, words};
use crate::style::{Ink, MM, leading};
use crate::wrap::{Set, wrap};
use fitting::card::{Card, Code};
use fitting::qr::QUIET;

/// The least side of a module on a card.
const LEAST_MODULE: f32 = 0.5 * MM;
/// The greatest: with the quiet zone it stays within the margin.
const GREATEST_MODULE: f32 = 0.85 * MM;

/// The side of a module of this code, points: so that the code becomes as large as the style
/// wants, within what a reader needs.
#[expect(clippy::cast_precision_loss, reason = "a code has 185 modules at most")]
fn module(make: &Make, code: &Code) -> f32 {
    (make.style.code / code.symbol.with_quiet() as f32).clamp(LEAST_MODULE, GREATEST_MODULE)
}

/// The head's pieces: one with the code in its corner where a page has room for that, else the
/// lines and the code below each other.
pub fn pieces<'a>(make: &Make, card: &'a Card) -> Vec<Piece<'a>> {
    let width = make.style.width();
    let beside =
        card.code.as_ref().map(|code| square(make, code)).filter(|square| square.side < width * 0.45);
    let mut lines = lines(make, card, beside.as_ref());
    let height = lines.iter().map(|line| line.gap + line.height).sum::<f32>();
    let square_height = beside.as_ref().map_or(0.0, |square| square.side + square.quiet);
    let rule = |piece: &mut Piece| {
        piece.height += make.style.gap * 0.7;
        piece.marks.push(across(piece.height, width, 1.1, Ink::Text));
    };
    if height.max(square_height) + make.style.gap <= make.most * 0.7 {
        let mut whole = Piece::default();
        for line in lines {
            whole.height += line.gap;
            let down = whole.height;
            whole.marks.extend(line.marks.into_iter().map(|mark| mark.moved(0.0, down)));
            whole.height += line.height;
        }
        whole.height = whole.height.max(square_height);
        let mut pieces = vec![whole];
        if let (Some(square), Some(code)) = (beside, &card.code) {
            let at = (width - square.side, 0.0);
            pieces[0].marks.push(Mark::Code { at, module: square.module, symbol: &code.symbol });
        } else if let Some(code) = &card.code {
            pieces.push(alone(make, code));
        }
        pieces.iter_mut().rev().take(1).for_each(rule);
        return pieces;
    }
    if beside.is_some() {
        lines = self::lines(make, card, None);
    }
    lines.extend(card.code.as_ref().map(|code| alone(make, code)));
    lines.iter_mut().rev().take(1).for_each(rule);
    lines
}

/// A code's measures, points.
struct Square {
    module: f32,
    side: f32,
    quiet: f32,
}

#[expect(clippy::cast_precision_loss, reason = "a code has 185 modules at most")]
fn square(make: &Make, code: &Code) -> Square {
    let module = module(make, code);
    Square { module, side: module * code.symbol.side as f32, quiet: module * QUIET as f32 }
}

/// A code in the middle of a piece of its own.
fn alone<'a>(make: &Make, code: &'a Code) -> Piece<'a> {
    let square = square(make, code);
    let at = ((make.style.width() - square.side) / 2.0, square.quiet);
    Piece {
        gap: make.style.gap * 0.5,
        height: square.side + 2.0 * square.quiet,
        marks: vec![Mark::Code { at, module: square.module, symbol: &code.symbol }],
        ..Piece::default()
    }
}

/// The lines of the head, narrower as long as the code is beside them.
fn lines<'a>(make: &Make, card: &Card, beside: Option<&Square>) -> Vec<Piece<'a>> {
    let style = make.style;
    let parts = [
        (&card.kind, Set::bold(style.small), Ink::Pencil, 0.0),
        (&card.title, Set::bold(style.title), Ink::Text, style.gap * 0.1),
        (&card.sentence, Set::regular(style.sentence), Ink::Text, style.gap * 0.35),
    ];
    let mut pieces: Vec<Piece> = Vec::new();
    let mut down = 0.0;
    for (text, set, ink, gap) in parts {
        let step = leading(set.letters);
        let room = |number: usize| {
            #[expect(clippy::cast_precision_loss, reason = "lines of a head")]
            let top = down + gap + step * number as f32;
            match beside {
                Some(square) if top < square.side + square.quiet => {
                    style.width() - square.side - square.quiet
                }
                _ => style.width(),
            }
        };
        for (number, line) in wrap(text, set, make.faces, room).into_iter().enumerate() {
            let gap = if number == 0 { gap } else { 0.0 };
            let marks = vec![words(0.0, line, set, ink)];
            let after = if number == 0 && ink == Ink::Pencil { After::Stay } else { After::Break };
            pieces.push(Piece { gap, height: step, marks, after, again: None });
            down += gap + step;
        }
    }
    pieces
}
