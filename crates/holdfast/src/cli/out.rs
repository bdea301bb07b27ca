//! The only place that writes to the terminal: never an escape sequence that somebody
//! put into a name, and a closed pipe is an error like any other.

use std::fmt::Write as _;
use std::io::{self, BufWriter, IsTerminal as _, Stdout, Write};

use serde::Serialize;
use unicode_width::{UnicodeWidthChar as _, UnicodeWidthStr as _};

/// The width of a table where nobody says how wide the screen is, columns.
const USUAL_WIDTH: usize = 100;

/// Where answers go.
pub struct Out {
    /// Whether answers are wanted in JSON.
    pub json: bool,
    width: usize,
    to: BufWriter<Stdout>,
}

impl Out {
    /// Standard output.
    pub fn new(json: bool) -> Out {
        Out { json, width: width(), to: BufWriter::new(io::stdout()) }
    }

    /// How wide the screen is, columns.
    pub fn width(&self) -> usize {
        self.width
    }

    /// A line of words, made harmless, broken at the screen's edge.
    pub fn line(&mut self, words: &str) -> io::Result<()> {
        self.indented(0, words)
    }

    /// The same, `by` columns from the left.
    pub fn indented(&mut self, by: usize, words: &str) -> io::Result<()> {
        let room = self.width.saturating_sub(by).max(20);
        for line in wrap(&clean(words), room) {
            writeln!(self.to, "{:by$}{line}", "")?;
        }
        Ok(())
    }

    /// Words behind a lead (a number, minutes); further lines stand under the words.
    pub fn hanging(&mut self, by: usize, lead: &str, words: &str) -> io::Result<()> {
        let lead = clean(lead);
        let under = by + columns(&lead) + 1;
        let room = self.width.saturating_sub(under).max(20);
        for (at, line) in wrap(&clean(words), room).into_iter().enumerate() {
            if at == 0 {
                writeln!(self.to, "{:by$}{lead} {line}", "")?;
            } else {
                writeln!(self.to, "{:under$}{line}", "")?;
            }
        }
        Ok(())
    }

    /// An empty line.
    pub fn gap(&mut self) -> io::Result<()> {
        writeln!(self.to)
    }

    /// A line that is laid out and harmless already.
    pub fn ready(&mut self, line: &str) -> io::Result<()> {
        writeln!(self.to, "{}", line.trim_end())
    }

    /// An answer in JSON.
    pub fn answer<T: Serialize>(&mut self, answer: &T) -> anyhow::Result<()> {
        let text = serde_json::to_string_pretty(answer)?;
        writeln!(self.to, "{}", harmless_json(&text))?;
        Ok(())
    }

    /// A long list of answers in JSON, one after the other.
    pub fn answers<T: Serialize>(&mut self, answers: impl Iterator<Item = T>) -> anyhow::Result<()> {
        self.to.write_all(b"[")?;
        for (at, answer) in answers.enumerate() {
            self.to.write_all(if at == 0 { b"\n" } else { b",\n" })?;
            let text = serde_json::to_string(&answer)?;
            self.to.write_all(harmless_json(&text).as_bytes())?;
        }
        self.to.write_all(b"\n]\n")?;
        Ok(())
    }

    /// Bytes as they are: a file that was asked for.
    pub fn bytes(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.to.write_all(bytes)
    }

    /// The same, for those who write by themselves.
    pub fn raw(&mut self) -> &mut impl Write {
        &mut self.to
    }

    /// Hands on what is still kept back.
    pub fn flush(&mut self) -> io::Result<()> {
        self.to.flush()
    }
}

/// A message for the person, beside the answer. That nobody can read it is no failure.
pub fn complain(words: &str) {
    let harmless: Vec<String> = words.split('\n').map(clean).collect();
    let _ = writeln!(io::stderr(), "{}", harmless.join("\n"));
}

/// How far something long has come, over the last such line.
pub fn progress(words: &str) {
    if io::stderr().is_terminal() {
        let _ = write!(io::stderr(), "\r{}", clean(words));
    }
}

/// Ends a line of progress.
pub fn progress_done() {
    if io::stderr().is_terminal() {
        let _ = writeln!(io::stderr());
    }
}

/// Asks a question; `None` where nobody sits there to answer.
pub fn ask(question: &str) -> Option<bool> {
    if !io::stdin().is_terminal() || !io::stderr().is_terminal() {
        return None;
    }
    let _ = write!(io::stderr(), "{} [y/N] ", clean(question));
    let mut answer = String::new();
    io::stdin().read_line(&mut answer).ok()?;
    Some(matches!(answer.trim().to_lowercase().as_str(), "y" | "yes"))
}

fn width() -> usize {
    let stated = std::env::var("COLUMNS").ok().and_then(|columns| columns.trim().parse().ok());
    let seen = || terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
    stated.or_else(seen).filter(|width| *width > 0).unwrap_or(USUAL_WIDTH).clamp(40, 400)
}

/// Whether a character moves the cursor, turns the writing round, or hides.
fn is_harmful(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{061c}' | '\u{200b}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}'
            | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}')
}

/// Words with every such character shown by its number.
pub fn clean(words: &str) -> String {
    let mut out = String::with_capacity(words.len());
    for c in words.chars() {
        match c {
            '\n' => out.push_str("\\n"),
            '\r' => out.push_str("\\r"),
            '\t' => out.push(' '),
            _ if is_harmful(c) => {
                // Writing to a string can't fail.
                let _ = write!(out, "\\u{{{:x}}}", u32::from(c));
            }
            _ => out.push(c),
        }
    }
    out
}

/// The same in JSON, where such characters can only stand within strings.
fn harmless_json(json: &str) -> String {
    let mut out = String::with_capacity(json.len());
    for c in json.chars() {
        if c != '\n' && is_harmful(c) {
            for unit in c.encode_utf16(&mut [0; 2]) {
                let _ = write!(out, "\\u{unit:04x}");
            }
        } else {
            out.push(c);
        }
    }
    out
}

/// How many columns harmless words take.
pub fn columns(words: &str) -> usize {
    words.width()
}

/// As much of harmless words as fits, with `…` where something was cut off.
pub fn clip(words: &str, room: usize) -> String {
    if words.width() <= room {
        return words.to_owned();
    }
    let (mut out, mut used) = (String::new(), 0);
    for c in words.chars() {
        let wide = c.width().unwrap_or(0);
        if used + wide + 1 > room {
            break;
        }
        out.push(c);
        used += wide;
    }
    out.push('…');
    out
}

/// Harmless words in lines of at most `room` columns; longer words are broken.
pub fn wrap(words: &str, room: usize) -> Vec<String> {
    let room = room.max(1);
    let mut lines = vec![String::new()];
    let mut used = 0;
    for word in words.split(' ') {
        let wide = word.width();
        let blank = usize::from(used > 0);
        if used + blank + wide > room && used > 0 {
            lines.push(String::new());
            used = 0;
        }
        let Some(mut line) = lines.pop() else { continue };
        if used > 0 {
            line.push(' ');
            used += 1;
        }
        for c in word.chars() {
            let wide = c.width().unwrap_or(0);
            if used + wide > room && used > 0 {
                lines.push(std::mem::take(&mut line));
                used = 0;
            }
            line.push(c);
            used += wide;
        }
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_escape_sequence_comes_through() {
        let hostile = "a\u{1b}[2Jb\u{202e}c\u{9b}31m\0\n\u{200f}";
        let shown = clean(hostile);
        assert_eq!(shown, "a\\u{1b}[2Jb\\u{202e}c\\u{9b}31m\\u{0}\\n\\u{200f}");
        let json = harmless_json(&serde_json::to_string(hostile).unwrap());
        assert!(!json.chars().any(is_harmful), "{json}");
        assert_eq!(serde_json::from_str::<String>(&json).unwrap(), hostile);
    }

    #[test]
    fn nothing_is_wider_than_its_room() {
        for words in [
            "plain words that go on and on",
            "x",
            "",
            "漢字漢字漢字漢字",
            "👩‍👧 emoji family",
            "abcdefghijklmnopqrstuvwxyz",
        ] {
            for room in [2, 5, 10, 40] {
                assert!(clip(words, room).width() <= room, "{words} {room}");
                for line in wrap(words, room) {
                    assert!(line.width() <= room, "{words} {room}: {line}");
                }
            }
            let wrapped = wrap(words, 10).concat();
            assert_eq!(wrapped.replace(' ', ""), words.replace(' ', ""), "nothing is lost");
        }
    }
}
