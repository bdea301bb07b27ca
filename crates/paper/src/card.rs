//! A card on its pages.

use crate::block::Make;
use crate::face::Faces;
use crate::head;
use crate::leaf::{Page, Piece, Room, across, flush, paginate, words};
use crate::style::{Ink, Style, leading};
use crate::wrap::{Set, cut, lines, wrap};
use fitting::card::Card;

/// Lines of foot that every page repeats; a longer foot stands once, at the card's end.
const FOOT_LINES: usize = 4;

/// The card's pages.
pub fn pages<'a>(card: &'a Card, style: &Style, faces: &Faces) -> Vec<Page<'a>> {
    let set = Set::regular(style.small);
    let step = leading(set.letters);
    let number_room = set.width("page 88 of 88", faces) + style.gap;
    // The page's number stands beside the first line.
    let room = |line: usize| style.width() - if line == 0 { number_room } else { 0.0 };
    let foot = wrap(&card.foot, set, faces, room);
    let repeats = foot.len() <= FOOT_LINES;
    let foot_lines = if repeats { foot.len().max(1) } else { 1 };
    #[expect(clippy::cast_precision_loss, reason = "four lines at most")]
    let foot_height = foot_lines as f32 * step;
    let foot_top = style.page.1 - style.margin - foot_height;
    let head_height = step + style.gap;
    let room = Room {
        left: style.margin,
        first: style.margin,
        later: style.margin + head_height,
        bottom: foot_top - style.gap * 0.8,
    };
    let make = Make { style, faces, most: room.bottom - room.later };
    let mut pieces: Vec<Piece> = head::pieces(&make, card);
    pieces.extend(card.blocks.iter().flat_map(|block| make.block(block)));
    if !repeats {
        let mut last = make.words(&card.foot, set, Ink::Soft);
        last.iter_mut().take(1).for_each(|piece| piece.gap = style.gap);
        pieces.extend(last);
    }
    let mut pages = paginate(pieces, &room);
    let count = pages.len();
    for (at, page) in pages.iter_mut().enumerate() {
        if at > 0 {
            page.marks.splice(
                0..0,
                again(card, &make).marks.into_iter().map(|mark| mark.moved(room.left, style.margin)),
            );
        }
        let mut piece = Piece::default();
        piece.marks.push(across(-style.gap * 0.3, style.width(), 0.4, Ink::Rule));
        if repeats {
            let mut down = 0.0;
            for line in &foot {
                piece.marks.push(words(0.0, line.clone(), set, Ink::Soft).moved(0.0, down));
                down += step;
            }
        }
        if count > 1 {
            let number = format!("page {} of {count}", at + 1);
            piece.marks.push(flush(style.width(), number, set, Ink::Soft, faces));
        }
        page.put(piece, room.left, foot_top);
    }
    pages
}

/// What stands at the top of every later page: whose card it is.
fn again<'a>(card: &Card, make: &Make) -> Piece<'a> {
    let (style, set) = (make.style, Set::bold(make.style.small));
    // Blanks that don't break: a long word must not push everything else off the line.
    let whose = format!("{} · {}", card.kind, card.title).replace(char::is_whitespace, "\u{a0}");
    let line = cut(lines(&whose, set, make.faces, style.width()), 1, set, make.faces, style.width()).concat();
    let height = leading(set.letters);
    let rule = across(height + style.gap * 0.2, style.width(), 0.9, Ink::Text);
    Piece { height, marks: vec![words(0.0, line, set, Ink::Text), rule], ..Piece::default() }
}
