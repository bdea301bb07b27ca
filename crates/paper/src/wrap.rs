//! Text into lines.

use crate::face::{Faces, Weight, combines};

/// How text is set.
#[derive(Clone, Copy, Debug)]
pub struct Set {
    /// How heavy.
    pub weight: Weight,
    /// The size of the letters, points.
    pub letters: f32,
}

impl Set {
    /// Text of this size.
    pub fn regular(letters: f32) -> Set {
        Set { weight: Weight::Regular, letters }
    }

    /// Heavy text of this size.
    pub fn bold(letters: f32) -> Set {
        Set { weight: Weight::Bold, letters }
    }

    /// How wide legible text becomes, points.
    pub fn width(self, text: &str, faces: &Faces) -> f32 {
        faces.width(text, self.weight, self.letters)
    }

    /// How wide its characters are, each by itself, points.
    fn apart(self, text: &str, faces: &Faces) -> f32 {
        faces.apart(text, self.weight, self.letters)
    }
}

/// What counts as no difference, points: sums of widths are rounded.
const NEARLY: f32 = 0.1;

/// Bytes of a word from which on its characters are measured each by itself.
const LONG: usize = 120;

/// The lines of a text, each no wider than the room that `room` gives the line of its number
/// (unless a single character is). Line ends in the text stay, several empty lines become one.
/// A word that is wider than its line is broken, after a sign where there is one.
pub fn wrap(text: &str, set: Set, faces: &Faces, room: impl Fn(usize) -> f32) -> Vec<String> {
    let text = faces.legible(text, set.weight);
    let blank = set.width(" ", faces);
    let mut lines: Vec<String> = Vec::new();
    for paragraph in text.replace("\r\n", "\n").split(is_line_end) {
        let mut line = String::new();
        let mut filled = 0.0;
        for word in paragraph.split(is_break).filter(|word| !word.is_empty()) {
            let mut word = word;
            let mut wide = if word.len() > LONG { set.apart(word, faces) } else { set.width(word, faces) };
            if !line.is_empty() && filled + blank + wide > room(lines.len()) + NEARLY {
                lines.push(std::mem::take(&mut line));
                filled = 0.0;
            }
            while line.is_empty() && wide > room(lines.len()) + NEARLY {
                let cut = fitting(word, set, faces, room(lines.len()));
                if cut == word.len() {
                    break;
                }
                lines.push(word[..cut].to_owned());
                wide -= set.apart(&word[..cut], faces);
                word = &word[cut..];
            }
            if !line.is_empty() {
                line.push(' ');
                filled += blank;
            }
            line.push_str(word);
            filled += wide;
        }
        if !line.is_empty() || lines.last().is_some_and(|last| !last.is_empty()) {
            lines.push(line);
        }
    }
    while lines.last().is_some_and(String::is_empty) {
        lines.pop();
    }
    lines
}

/// The lines of a text in a room of one width.
pub fn lines(text: &str, set: Set, faces: &Faces, room: f32) -> Vec<String> {
    wrap(text, set, faces, |_| room)
}

/// The width of the longest line that the text makes unbroken, and of its longest word.
pub fn natural(text: &str, set: Set, faces: &Faces) -> (f32, f32) {
    let text = faces.legible(text, set.weight);
    let widest =
        |parts: &mut dyn Iterator<Item = &str>| parts.map(|part| set.width(part, faces)).fold(0.0, f32::max);
    (widest(&mut text.split(is_line_end)), widest(&mut text.split(|c| is_line_end(c) || is_break(c))))
}

/// The lines, no more than `most` of them; what is left out is told by `…` at the end of the last.
pub fn cut(mut lines: Vec<String>, most: usize, set: Set, faces: &Faces, room: f32) -> Vec<String> {
    if lines.len() <= most {
        return lines;
    }
    lines.truncate(most);
    if let Some(last) = lines.last_mut() {
        while !last.is_empty() && set.width(&format!("{last}…"), faces) > room {
            last.pop();
        }
        last.push('…');
    }
    lines
}

fn is_line_end(c: char) -> bool {
    matches!(c, '\n' | '\r' | '\u{B}' | '\u{C}' | '\u{85}' | '\u{2028}' | '\u{2029}')
}

/// A blank at which a line may break.
fn is_break(c: char) -> bool {
    c.is_whitespace() && !matches!(c, '\u{A0}' | '\u{202F}' | '\u{2007}')
}

/// How many bytes of a word fit into the room: one character at least.
fn fitting(word: &str, set: Set, faces: &Faces, room: f32) -> usize {
    let mut filled = 0.0;
    let mut fits = 0;
    let mut after_sign = 0;
    let mut chars = word.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        filled += set.apart(&word[at..at + c.len_utf8()], faces);
        if filled > room && fits > 0 {
            return if after_sign * 2 > fits { after_sign } else { fits };
        }
        let end = at + c.len_utf8();
        if chars.peek().is_none_or(|&(_, next)| !combines(next)) {
            fits = end;
            if matches!(c, '/' | '-' | '_' | '.' | '?' | '&' | '=' | ',' | ';' | ':') {
                after_sign = end;
            }
        }
    }
    word.len()
}
