//! The two fonts: what they can write and how wide it becomes.

use krilla::text::{Font, GlyphId, KrillaGlyph};
use rustybuzz::{Direction, Face, Script, ShapePlan, UnicodeBuffer, script};
use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;

/// What stands for a character that can't be written.
pub const REPLACEMENT: char = '\u{FFFD}';

static REGULAR: &[u8] = include_bytes!("../fonts/DejaVuSans.ttf");
static BOLD: &[u8] = include_bytes!("../fonts/DejaVuSans-Bold.ttf");

/// Marks that may be stacked on one letter: more than any language has.
const MOST_MARKS: usize = 8;

/// How heavy letters are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// Text.
    Regular,
    /// Titles and headings.
    Bold,
}

struct Cut {
    font: Font,
    face: Face<'static>,
    /// How each direction and script is shaped: the same for every word, and slow to make.
    plans: RefCell<Vec<(Direction, Script, Rc<ShapePlan>)>>,
    /// How wide each character is by itself, ems; none where the font lacks it.
    advances: RefCell<HashMap<char, Option<f32>>>,
}

impl Cut {
    fn new(bytes: &'static [u8]) -> Cut {
        Cut {
            font: Font::new(bytes.into(), 0).expect("the fonts come with the crate"),
            face: Face::from_slice(bytes, 0).expect("the fonts come with the crate"),
            plans: RefCell::default(),
            advances: RefCell::default(),
        }
    }

    fn plan(&self, direction: Direction, script: Script) -> Rc<ShapePlan> {
        let mut plans = self.plans.borrow_mut();
        if let Some(known) = plans.iter().find(|plan| (plan.0, plan.1) == (direction, script)) {
            return Rc::clone(&known.2);
        }
        let plan = Rc::new(ShapePlan::new(&self.face, direction, Some(script), None, &[]));
        plans.push((direction, script, Rc::clone(&plan)));
        plan
    }

    fn advance(&self, c: char) -> Option<f32> {
        let mut advances = self.advances.borrow_mut();
        *advances.entry(c).or_insert_with(|| {
            let glyph = self.face.glyph_index(c)?;
            Some(self.ems(f32::from(self.face.glyph_hor_advance(glyph).unwrap_or(0))))
        })
    }

    fn ems(&self, units: f32) -> f32 {
        units / self.font.units_per_em()
    }
}

/// Both weights.
pub struct Faces {
    regular: Cut,
    bold: Cut,
}

/// A stretch of text in one direction, shaped.
pub struct Run<'a> {
    /// The text.
    pub text: &'a str,
    /// Its glyphs, from left to right; measures in ems.
    pub glyphs: Vec<KrillaGlyph>,
}

impl Run<'_> {
    /// How wide the run is, in ems.
    pub fn ems(&self) -> f32 {
        self.glyphs.iter().map(|glyph| glyph.x_advance).sum()
    }
}

impl Faces {
    /// Both weights, read from the crate's own fonts.
    pub fn new() -> Faces {
        Faces { regular: Cut::new(REGULAR), bold: Cut::new(BOLD) }
    }

    fn cut(&self, weight: Weight) -> &Cut {
        match weight {
            Weight::Regular => &self.regular,
            Weight::Bold => &self.bold,
        }
    }

    /// The font that goes into the file.
    pub fn font(&self, weight: Weight) -> Font {
        self.cut(weight).font.clone()
    }

    /// The text as it can be written: what the font lacks, and what leaves no mark on paper though
    /// it isn't a blank, becomes [`REPLACEMENT`]; so does a mark too many on one letter. Blanks and line ends stay.
    pub fn legible(&self, text: &str, weight: Weight) -> String {
        let cut = self.cut(weight);
        let mut marks = 0;
        let written = |c: char| {
            marks = if combines(c) { marks + 1 } else { 0 };
            let known = !is_traceless(c) && cut.advance(c).is_some() && marks <= MOST_MARKS;
            if known || c.is_whitespace() { c } else { REPLACEMENT }
        };
        text.chars().map(written).collect()
    }

    /// The glyphs of legible text.
    pub fn shape<'a>(&self, text: &'a str, weight: Weight) -> Vec<Run<'a>> {
        let cut = self.cut(weight);
        let shaped = |(text, direction)| Run { text, glyphs: shape(cut, text, direction) };
        runs(text).into_iter().map(shaped).collect()
    }

    /// How wide the text's characters are, each by itself, points: near to [`Faces::width`], and
    /// quick for long texts.
    pub fn apart(&self, text: &str, weight: Weight, letters: f32) -> f32 {
        let cut = self.cut(weight);
        text.chars().filter_map(|c| cut.advance(c)).sum::<f32>() * letters
    }

    /// How wide legible text becomes, points.
    pub fn width(&self, text: &str, weight: Weight, letters: f32) -> f32 {
        self.shape(text, weight).iter().map(Run::ems).sum::<f32>() * letters
    }
}

/// Whether a character is no blank and yet leaves no mark: controls, joiners, marks that turn the
/// direction, selectors.
fn is_traceless(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{AD}' | '\u{34F}' | '\u{61C}' | '\u{115F}' | '\u{1160}' | '\u{17B4}' | '\u{17B5}')
        || matches!(c, '\u{180B}'..='\u{180F}' | '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}')
        || matches!(c, '\u{2060}'..='\u{206F}' | '\u{3164}' | '\u{FE00}'..='\u{FE0F}' | '\u{FEFF}')
        || matches!(c, '\u{FFA0}' | '\u{FFF0}'..='\u{FFFB}' | '\u{E0000}'..='\u{E0FFF}')
}

/// Whether a character combines with the one before it.
pub fn combines(c: char) -> bool {
    matches!(c, '\u{300}'..='\u{36F}' | '\u{483}'..='\u{489}' | '\u{591}'..='\u{5BD}' | '\u{5BF}')
        || matches!(c, '\u{5C1}' | '\u{5C2}' | '\u{64B}'..='\u{65F}' | '\u{670}' | '\u{1AB0}'..='\u{1AFF}')
        || matches!(c, '\u{1DC0}'..='\u{1DFF}' | '\u{20D0}'..='\u{20FF}' | '\u{FE20}'..='\u{FE2F}')
}

fn is_right_to_left(c: char) -> bool {
    let digit = matches!(c, '\u{660}'..='\u{669}' | '\u{6F0}'..='\u{6F9}' | '\u{7C0}'..='\u{7C9}');
    !digit
        && (matches!(c, '\u{590}'..='\u{8FF}' | '\u{FB1D}'..='\u{FDFF}' | '\u{FE70}'..='\u{FEFC}')
            || matches!(c, '\u{10800}'..='\u{10FFF}' | '\u{1E800}'..='\u{1EFFF}'))
}

/// The stretches of one direction. Blanks between two words of a direction belong to it; digits
/// run from left to right always.
fn runs(text: &str) -> Vec<(&str, Direction)> {
    let mut runs = Vec::new();
    let (mut start, mut solid) = (0, 0);
    let mut direction = Direction::LeftToRight;
    for (at, c) in text.char_indices() {
        let end = at + c.len_utf8();
        if c.is_whitespace() || combines(c) {
            if combines(c) {
                solid = end;
            }
            continue;
        }
        let now = if is_right_to_left(c) { Direction::RightToLeft } else { Direction::LeftToRight };
        if now != direction {
            let cut = if direction == Direction::RightToLeft { solid } else { at };
            if cut > start {
                runs.push((&text[start..cut], direction));
            }
            (start, direction) = (cut, now);
        }
        solid = end;
    }
    if start < text.len() {
        runs.push((&text[start..], direction));
    }
    runs
}

fn shape(cut: &Cut, text: &str, direction: Direction) -> Vec<KrillaGlyph> {
    let mut buffer = UnicodeBuffer::new();
    buffer.push_str(text);
    buffer.guess_segment_properties();
    buffer.set_direction(direction);
    if [script::COMMON, script::INHERITED, script::UNKNOWN].contains(&buffer.script()) {
        buffer.set_script(script::LATIN); // digits and signs alone
    }
    let plan = cut.plan(direction, buffer.script());
    let shaped = rustybuzz::shape_with_plan(&cut.face, &plan, buffer);
    let mut starts: Vec<usize> = shaped.glyph_infos().iter().map(|info| info.cluster as usize).collect();
    starts.sort_unstable();
    starts.dedup();
    let end =
        |start: usize| starts.get(starts.partition_point(|&at| at <= start)).copied().unwrap_or(text.len());
    #[expect(clippy::cast_precision_loss, reason = "font units are small")]
    let ems = |units: i32| cut.ems(units as f32);
    let glyphs = shaped.glyph_infos().iter().zip(shaped.glyph_positions());
    glyphs
        .map(|(info, place)| {
            let start = info.cluster as usize;
            let id = GlyphId::new(info.glyph_id);
            let (x, y) = (ems(place.x_offset), ems(place.y_offset));
            KrillaGlyph::new(id, ems(place.x_advance), x, y, ems(place.y_advance), start..end(start), None)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_fonts_read_and_write_the_replacement() {
        let faces = Faces::new();
        for weight in [Weight::Regular, Weight::Bold] {
            assert_eq!(faces.legible("Größe µ Ω € ☐ …", weight), "Größe µ Ω € ☐ …");
            assert_eq!(faces.legible("a\u{7}b\u{202E}c\u{1F6E9}d 飛", weight), "a�b�c�d �");
            assert!(faces.width("�", weight, 10.0) > 3.0);
        }
    }

    #[test]
    fn digits_keep_their_direction_among_right_to_left_words() {
        let runs: Vec<&str> = runs("R7 שלום עולם 12 V").into_iter().map(|run| run.0).collect();
        assert_eq!(runs, ["R7 ", "שלום עולם", " 12 V"]);
    }
}
