//! The PDF file.

use crate::PaperError;
use crate::face::{Faces, Weight};
use crate::leaf::{Mark, Page};
use crate::style::Ink;
use crate::wrap::Set;
use fitting::qr::Symbol;
use krilla::Document;
use krilla::color::rgb;
use krilla::geom::{Path, PathBuilder, Point, Rect};
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla::paint::{Fill, Stroke};
use krilla::surface::Surface;

/// The pages as a PDF with this title. It names no author and no moment.
///
/// # Errors
/// [`PaperError::Writer`] when the writer refuses.
pub fn pdf(pages: &[Page], title: &str, size: (f32, f32), faces: &Faces) -> Result<Vec<u8>, PaperError> {
    let refused = |why: &str| PaperError::Writer { why: why.to_owned() };
    let settings = PageSettings::from_wh(size.0, size.1).ok_or_else(|| refused("the page has no size"))?;
    let mut document = Document::new();
    let title = faces.legible(title, Weight::Regular).replace(char::is_whitespace, " ");
    document.set_metadata(Metadata::new().title(title).language("en".to_owned()));
    for page in pages {
        let mut sheet = document.start_page_with(settings.clone());
        let mut surface = sheet.surface();
        for mark in &page.marks {
            draw(&mut surface, mark, faces);
        }
        surface.finish();
        sheet.finish();
    }
    document.finish().map_err(|error| refused(&format!("{error:?}")))
}

fn colour(ink: Ink) -> rgb::Color {
    match ink {
        Ink::Text => rgb::Color::new(0x23, 0x26, 0x2b),
        Ink::Soft => rgb::Color::new(0x57, 0x5a, 0x5f),
        Ink::Rule => rgb::Color::new(0x85, 0x7e, 0x6d),
        Ink::Pencil => rgb::Color::new(0x9a, 0x34, 0x12),
        Ink::Black => rgb::Color::black(),
    }
}

fn fill(ink: Ink) -> Fill {
    Fill { paint: colour(ink).into(), ..Fill::default() }
}

fn draw(surface: &mut Surface, mark: &Mark, faces: &Faces) {
    match mark {
        Mark::Words { at, set, ink, text } => write(surface, *at, *set, *ink, text, faces),
        Mark::Line { from, to, thick, ink } => {
            let mut path = PathBuilder::new();
            path.move_to(from.0, from.1);
            path.line_to(to.0, to.1);
            outline(surface, path.finish(), *thick, *ink);
        }
        Mark::Frame { at, size, thick, ink } => {
            let mut path = PathBuilder::new();
            if let Some(rect) = Rect::from_xywh(at.0, at.1, size.0, size.1) {
                path.push_rect(rect);
            }
            outline(surface, path.finish(), *thick, *ink);
        }
        Mark::Code { at, module, symbol } => {
            surface.set_stroke(None);
            surface.set_fill(Some(fill(Ink::Black)));
            if let Some(path) = squares(symbol, *at, *module) {
                surface.draw_path(&path);
            }
        }
    }
}

fn write(surface: &mut Surface, at: (f32, f32), set: Set, ink: Ink, text: &str, faces: &Faces) {
    surface.set_stroke(None);
    surface.set_fill(Some(fill(ink)));
    let mut left = at.0;
    for run in faces.shape(text, set.weight) {
        let (font, start) = (faces.font(set.weight), Point::from_xy(left, at.1));
        surface.draw_glyphs(start, &run.glyphs, font, run.text, set.letters, false);
        left += run.ems() * set.letters;
    }
}

fn outline(surface: &mut Surface, path: Option<Path>, thick: f32, ink: Ink) {
    surface.set_fill(None);
    surface.set_stroke(Some(Stroke { paint: colour(ink).into(), width: thick, ..Stroke::default() }));
    if let Some(path) = path {
        surface.draw_path(&path);
    }
}

/// The dark modules as one path, neighbours in a line joined: so nothing shines through between
/// them.
#[expect(clippy::cast_precision_loss, reason = "a code has 177 modules at most")]
fn squares(symbol: &Symbol, at: (f32, f32), module: f32) -> Option<Path> {
    let mut path = PathBuilder::new();
    for y in 0..symbol.side {
        let mut x = 0;
        while x < symbol.side {
            let from = x;
            while symbol.is_dark(x, y) {
                x += 1;
            }
            if x > from {
                let (left, top) = (at.0 + from as f32 * module, at.1 + y as f32 * module);
                if let Some(rect) = Rect::from_xywh(left, top, (x - from) as f32 * module, module) {
                    path.push_rect(rect);
                }
            }
            x += 1;
        }
    }
    path.finish()
}
