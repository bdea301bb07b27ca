//! Measures and inks.

use fitting::card::Size;

/// Points in a millimetre.
pub const MM: f32 = 72.0 / 25.4;

/// What a mark is drawn with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ink {
    /// Words.
    Text,
    /// How and when a thing is known, and the foot.
    Soft,
    /// Thin lines.
    Rule,
    /// What needs a hand.
    Pencil,
    /// Codes and cut marks.
    Black,
}

/// The measures of one size of card, points.
#[derive(Clone, Copy, Debug)]
pub struct Style {
    /// Width and height of the page.
    pub page: (f32, f32),
    /// The margin on all four sides.
    pub margin: f32,
    /// Letters of the title.
    pub title: f32,
    /// Letters of the sentence.
    pub sentence: f32,
    /// Letters of headings.
    pub heading: f32,
    /// Letters of the text.
    pub text: f32,
    /// Letters of what stands beside the text.
    pub small: f32,
    /// Space between blocks.
    pub gap: f32,
    /// Height of a line to write on.
    pub writing: f32,
    /// The side of a square to tick.
    pub tick: f32,
    /// The side that a code should have on paper.
    pub code: f32,
}

impl Style {
    /// The measures for a size of paper. The least letters on a field card have 7.5 points.
    pub fn of(size: Size) -> Style {
        let (width, height) = size.millimetres();
        #[expect(clippy::cast_precision_loss, reason = "a few hundred millimetres")]
        let page = (width as f32 * MM, height as f32 * MM);
        match size {
            Size::A4 => Style {
                page,
                margin: 15.0 * MM,
                title: 21.0,
                sentence: 12.0,
                heading: 11.5,
                text: 9.5,
                small: 8.0,
                gap: 9.0,
                writing: 9.0 * MM,
                tick: 3.6 * MM,
                code: 28.0 * MM,
            },
            Size::A6 => Style {
                page,
                margin: 6.0 * MM,
                title: 14.0,
                sentence: 8.75,
                heading: 8.75,
                text: 8.0,
                small: 7.5,
                gap: 4.0,
                writing: 7.0 * MM,
                tick: 3.2 * MM,
                code: 19.0 * MM,
            },
        }
    }

    /// The width between the margins.
    pub fn width(&self) -> f32 {
        self.page.0 - 2.0 * self.margin
    }
}

/// The distance from one line of letters to the next.
pub fn leading(letters: f32) -> f32 {
    letters * 1.32
}
