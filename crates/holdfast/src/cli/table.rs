//! Tables that fit the screen; where it is too narrow for one, a list of rows.

use std::io;

use super::out::{Out, clean, clip, columns, wrap};

/// Between two columns.
const GAP: usize = 2;
/// No column is made narrower.
const LEAST: usize = 6;
/// Words are read well in lines of so many columns.
const ROOM_FOR_WORDS: usize = 24;

/// What is kept whole where the screen is narrow.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Whole {
    /// Nothing: the widest column gives way.
    Nothing,
    /// Every column but the last, while that has room left.
    First,
}

/// A table; the last column is broken into lines where it must be, the others are cut.
pub struct Table {
    head: Vec<String>,
    rows: Vec<Vec<String>>,
    whole: Whole,
}

impl Table {
    /// A table with these columns.
    pub fn new<S: AsRef<str>>(head: &[S]) -> Table {
        Table {
            head: head.iter().map(|word| clean(word.as_ref())).collect(),
            rows: Vec::new(),
            whole: Whole::Nothing,
        }
    }

    /// The same, with nothing cut off in its first columns while the last has room for words.
    pub fn first_whole(mut self) -> Table {
        self.whole = Whole::First;
        self
    }

    /// A further row.
    pub fn row<S: AsRef<str>>(&mut self, cells: &[S]) {
        self.rows.push(cells.iter().map(|cell| clean(cell.as_ref())).collect());
    }

    /// Whether there are no rows.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// The width at which nothing of a column is cut off.
    fn natural(&self, at: usize) -> usize {
        let cells = self.rows.iter().filter_map(|row| row.get(at)).map(|cell| columns(cell));
        cells.chain([columns(&self.head[at])]).max().unwrap_or(0)
    }

    fn widths(&self, screen: usize) -> Vec<usize> {
        let mut widths: Vec<usize> = (0..self.head.len()).map(|at| self.natural(at)).collect();
        let room = screen.saturating_sub(GAP * widths.len().saturating_sub(1));
        if let Some((last, first)) = widths.split_last_mut()
            && self.whole == Whole::First
        {
            let left = room.saturating_sub(first.iter().sum());
            *last = (*last).min(left.max(ROOM_FOR_WORDS));
        }
        while widths.iter().sum::<usize>() > room {
            // The widest gives way, the last column (which may wrap) first among equals.
            let Some(at) = (0..widths.len()).max_by_key(|at| (widths[*at], *at)) else { break };
            if widths[at] <= LEAST {
                break;
            }
            let others: usize = widths.iter().sum::<usize>() - widths[at];
            let second = widths.iter().enumerate().filter(|(i, _)| *i != at).map(|(_, width)| *width).max();
            let level = second.unwrap_or(0).min(widths[at] - 1);
            widths[at] = room.saturating_sub(others).max(level).max(LEAST).min(widths[at] - 1);
        }
        widths
    }

    /// Writes each row as lines of `head: cell`.
    fn write_list(&self, out: &mut Out) -> io::Result<()> {
        for (nth, row) in self.rows.iter().enumerate() {
            if nth > 0 {
                out.gap()?;
            }
            for (head, cell) in self.head.iter().zip(row).filter(|(_, cell)| !cell.is_empty()) {
                let lead = if head.is_empty() { String::new() } else { format!("{head}: ") };
                let room = out.width().saturating_sub(columns(&lead)).max(LEAST);
                out.ready(&format!("{lead}{}", clip(cell, room)))?;
            }
        }
        Ok(())
    }

    /// Writes the table.
    pub fn write(&self, out: &mut Out) -> io::Result<()> {
        let least: usize = (0..self.head.len()).map(|at| self.natural(at).min(LEAST) + GAP).sum();
        if least > out.width() + GAP {
            return self.write_list(out);
        }
        let widths = self.widths(out.width());
        let rule: Vec<String> = widths.iter().map(|width| "-".repeat(*width)).collect();
        for row in [&self.head, &rule].into_iter().chain(&self.rows) {
            write_row(out, row, &widths)?;
        }
        Ok(())
    }
}

fn write_row(out: &mut Out, row: &[String], widths: &[usize]) -> io::Result<()> {
    let Some((last, first)) = row.split_last() else { return Ok(()) };
    let mut lead = String::new();
    for (cell, width) in first.iter().zip(widths) {
        let shown = clip(cell, *width);
        let pad = width + GAP - columns(&shown).min(*width);
        lead.push_str(&shown);
        lead.push_str(&" ".repeat(pad));
    }
    let indent = columns(&lead);
    let width = widths.last().copied().unwrap_or(LEAST);
    for (at, line) in wrap(last, width).into_iter().enumerate() {
        if at > 0 {
            lead = " ".repeat(indent);
        }
        out.ready(&format!("{lead}{line}"))?;
    }
    Ok(())
}
