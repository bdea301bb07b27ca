//! Sheets of labels: A4, three across and eight down.

use crate::PaperError;
use crate::face::Faces;
use crate::leaf::{Mark, Page, Piece, words};
use crate::style::{Ink, MM, Style, leading};
use crate::wrap::{Set, cut, lines};
use fitting::card::{Label, Size};
use fitting::qr::QUIET;

const ACROSS: usize = 3;
const DOWN: usize = 8;
const WIDTH: f32 = 63.5 * MM;
const HEIGHT: f32 = 33.9 * MM;
/// Between a label's edge and what is printed on it.
const PAD: f32 = 2.4 * MM;
/// The least side of a module: below it, ink runs together.
const LEAST_MODULE: f32 = 0.4 * MM;
/// The greatest.
const GREATEST_MODULE: f32 = 0.8 * MM;
/// The side that a code should have, quiet zone and all.
const CODE: f32 = 25.0 * MM;

/// The labels, sheet by sheet.
///
/// # Errors
/// [`PaperError::CodeTooLarge`] when a label's code has more modules than can be printed.
pub fn pages<'a>(labels: &'a [Label], faces: &Faces) -> Result<Vec<Page<'a>>, PaperError> {
    labels.chunks(ACROSS * DOWN).map(|labels| sheet(labels, faces)).collect()
}

#[expect(clippy::cast_precision_loss, reason = "a few labels and a few hundred modules")]
fn sheet<'a>(labels: &'a [Label], faces: &Faces) -> Result<Page<'a>, PaperError> {
    let page = Style::of(Size::A4).page;
    let left = (page.0 - WIDTH * ACROSS as f32) / 2.0;
    let top = (page.1 - HEIGHT * DOWN as f32) / 2.0;
    let mut sheet = Page::default();
    for (number, label) in labels.iter().enumerate() {
        let (column, line) = ((number % ACROSS) as f32, (number / ACROSS) as f32);
        sheet.put(one(label, faces)?, left + column * WIDTH, top + line * HEIGHT);
    }
    sheet.put(cuts(labels.len().div_ceil(ACROSS)), left, top);
    Ok(sheet)
}

#[expect(clippy::cast_precision_loss, reason = "a few hundred modules")]
fn one<'a>(label: &'a Label, faces: &Faces) -> Result<Piece<'a>, PaperError> {
    // The quiet zone may lie in the padding, which is as light.
    let (side, quiet) = (label.code.symbol.side as f32, 2.0 * QUIET as f32);
    let most = ((HEIGHT - 0.6 * MM) / LEAST_MODULE - quiet).floor();
    if side > most {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a whole positive number"
        )]
        let most = most as usize;
        return Err(PaperError::CodeTooLarge {
            title: label.title.clone(),
            side: label.code.symbol.side,
            most,
        });
    }
    let module = (CODE / (side + quiet)).clamp(LEAST_MODULE, GREATEST_MODULE);
    let dark = side * module;
    let inset = PAD.max(QUIET as f32 * module);
    let mut piece = Piece { height: HEIGHT, ..Piece::default() };
    let room = WIDTH - dark - inset - QUIET as f32 * module - PAD;
    let bottom = HEIGHT - PAD;
    let title = title(&label.title, faces, room);
    let mut down = PAD;
    let step = leading(title.0.letters);
    for line in title.1 {
        piece.marks.push(words(PAD, line, title.0, Ink::Text).moved(0.0, down));
        down += step;
    }
    down += 1.0;
    let set = Set::regular(7.0);
    let step = leading(set.letters);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few lines")]
    let fits = ((bottom - down) / step).max(0.0) as usize;
    let all = label.lines.iter().flat_map(|line| lines(line, set, faces, room)).collect();
    for line in cut(all, fits, set, faces, room) {
        piece.marks.push(words(PAD, line, set, Ink::Text).moved(0.0, down));
        down += step;
    }
    let centred = ((bottom - down) / 2.0).max(0.0);
    piece.marks = piece.marks.into_iter().map(|mark| mark.moved(0.0, centred)).collect();
    let at = (WIDTH - inset - dark, (HEIGHT - dark) / 2.0);
    piece.marks.push(Mark::Code { at, module, symbol: &label.code.symbol });
    Ok(piece)
}

/// The title in the largest letters in which it has two lines at most, else cut.
fn title(text: &str, faces: &Faces, room: f32) -> (Set, Vec<String>) {
    let least = Set::bold(8.0);
    for letters in [18.0, 15.0, 12.5, 10.5, 9.0] {
        let set = Set::bold(letters);
        let lines = lines(text, set, faces, room);
        let whole =
            text.split_whitespace().all(|word| set.width(&faces.legible(word, set.weight), faces) <= room);
        if whole && lines.len() <= 2 {
            return (set, lines);
        }
    }
    (least, cut(lines(text, least, faces, room), 3, least, faces, room))
}

/// Marks to cut by, at the corners of the labels that are there: short strokes outside the sheet's
/// rows and small crosses within.
#[expect(clippy::cast_precision_loss, reason = "a few labels")]
fn cuts<'a>(rows: usize) -> Piece<'a> {
    let mut marks = Vec::new();
    let (wide, high) = (WIDTH * ACROSS as f32, HEIGHT * rows as f32);
    let mut stroke = |from, to| marks.push(Mark::Line { from, to, thick: 0.3, ink: Ink::Soft });
    let (near, far, arm) = (1.5 * MM, 5.0 * MM, 0.9 * MM);
    for column in 0..=ACROSS {
        let x = column as f32 * WIDTH;
        stroke((x, -far), (x, -near));
        stroke((x, high + near), (x, high + far));
        for line in 0..=rows {
            let y = line as f32 * HEIGHT;
            stroke((x - arm, y), (x + arm, y));
            stroke((x, y - arm), (x, y + arm));
        }
    }
    for line in 0..=rows {
        let y = line as f32 * HEIGHT;
        stroke((-far, y), (-near, y));
        stroke((wide + near, y), (wide + far, y));
    }
    Piece { marks, ..Piece::default() }
}
