//! Taking over a logbook from JSON Lines.

use std::io::{self, BufRead, Read as _};

use wire::lines::{LONGEST_LINE, Line, LineFault, read};

use crate::error::{BadLine, StoreError};
use crate::merge::Outcome;
use crate::open::Store;

/// More bad lines than these are only counted.
const MOST_BAD_LINES: usize = 1000;

impl Store {
    /// Takes over every entry and file of a logbook in JSON Lines, or nothing.
    ///
    /// # Errors
    /// Lines can't be read ([`StoreError::BadLines`] lists them), an entry stands here
    /// with other contents, the chains don't hold, or the workshop can't be written.
    pub fn import(&mut self, mut from: impl BufRead) -> Result<Outcome, StoreError> {
        self.take(|taker| {
            let mut bad = Bad::default();
            let mut line = Vec::new();
            let mut number = 0;
            while let Some(whole) = next_line(&mut from, &mut line)
                .map_err(|source| StoreError::Io { path: "the import".into(), source })?
            {
                number += 1;
                let first = number == 1;
                if line.is_empty() && !first {
                    continue;
                }
                match if whole { read(&line) } else { Err(LineFault::TooLong) } {
                    Ok(Line::Header) if first => {}
                    Ok(Line::Header) => bad.push(number, LineFault::SecondHeader),
                    // Not a logbook: its other lines need not be listed.
                    Ok(_)
                    | Err(LineFault::NotALine { .. } | LineFault::NotText { .. } | LineFault::TooLong)
                        if first =>
                    {
                        bad.push(number, LineFault::NoHeader);
                        break;
                    }
                    Err(fault) if first => {
                        bad.push(number, fault);
                        break;
                    }
                    Ok(_) if bad.count > 0 => {} // nothing will be kept
                    Ok(Line::File { digest, bytes }) => taker.file(digest, &bytes)?,
                    Ok(Line::Entry { head, head_text, body }) => taker.entry(&head, head_text, body)?,
                    Err(fault) => bad.push(number, fault),
                }
            }
            if number == 0 {
                bad.push(1, LineFault::NoHeader);
            }
            bad.none()
        })
    }
}

#[derive(Default)]
struct Bad {
    lines: Vec<BadLine>,
    count: usize,
}

impl Bad {
    fn push(&mut self, line: usize, fault: LineFault) {
        self.count += 1;
        if self.lines.len() < MOST_BAD_LINES {
            self.lines.push(BadLine { line, fault });
        }
    }

    fn none(self) -> Result<(), StoreError> {
        let Bad { lines, count } = self;
        if count == 0 { Ok(()) } else { Err(StoreError::BadLines { lines, count }) }
    }
}

/// Reads the next line without its end: `Some(true)` when it is all there,
/// `Some(false)` when it was too long and its rest was passed over.
fn next_line(from: &mut impl BufRead, line: &mut Vec<u8>) -> io::Result<Option<bool>> {
    line.clear();
    // Room for the line and its end; one more byte shows that it is too long.
    let most = LONGEST_LINE as u64 + 3;
    if from.take(most).read_until(b'\n', line)? == 0 {
        return Ok(None);
    }
    let ended = line.ends_with(b"\n");
    if !ended && line.len() as u64 == most {
        from.skip_until(b'\n')?;
        return Ok(Some(false));
    }
    if ended {
        line.pop();
        if line.ends_with(b"\r") {
            line.pop();
        }
    }
    Ok(Some(true))
}
