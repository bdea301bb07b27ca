//! Tables.

use crate::block::Make;
use crate::leaf::{After, Cell, Piece, Stack, across, row};
use crate::style::{Ink, MM};
use crate::wrap::{Set, natural};

/// The least width of a column: below it, each row becomes a list of its own.
const NARROWEST: f32 = 9.0 * MM;

/// Between two columns.
const BETWEEN: f32 = 2.2 * MM;

/// A table as pieces: its header, again on every page, and a piece a row. A row that is shorter
/// than the others ends in empty cells; one that is longer makes columns without a header.
pub fn pieces<'a>(make: &Make, header: &[String], rows: &[Vec<String>]) -> Vec<Piece<'a>> {
    let columns = rows.iter().map(Vec::len).chain([header.len()]).max().unwrap_or(0);
    if columns == 0 {
        return Vec::new();
    }
    #[expect(clippy::cast_precision_loss, reason = "a few columns")]
    let count = columns as f32;
    let room = make.style.width() - BETWEEN * (count - 1.0);
    if room < NARROWEST * count {
        return lists(make, header, rows);
    }
    let (head, body) = (Set::bold(make.style.small), Set::regular(make.style.small));
    let widths = widths(make, header, rows, columns, room);
    let stacks = |cells: &[String], set: Set| {
        let mut left = 0.0;
        let mut stacks: Vec<Stack> = Vec::new();
        for (column, &width) in widths.iter().enumerate() {
            let text = cells.get(column).map_or("", String::as_str);
            stacks.push(vec![make.cell(text, set, Ink::Text, left, width)]);
            left += width + BETWEEN;
        }
        stacks
    };
    let space = make.style.gap * 0.2;
    let mut top = row(&stacks(header, head), make.most - 4.0 * space);
    let again = if let [one] = top.as_mut_slice() {
        one.height += 2.0 * space;
        one.marks.push(across(one.height - space * 0.9, make.style.width(), 0.9, Ink::Text));
        let again = Some(Box::new(one.clone()));
        one.after = After::Stay;
        again
    } else {
        None
    };
    for cells in rows {
        let mut pieces = make.ruled(row(&stacks(cells, body), make.most - 2.0 * MM));
        for piece in &mut pieces {
            piece.again.clone_from(&again);
        }
        top.extend(pieces);
    }
    top
}

/// The columns' widths: as wide as their text where all fits; else none below its longest word, as
/// long as that is possible, and the columns that want little get it first.
fn widths(make: &Make, header: &[String], rows: &[Vec<String>], columns: usize, room: f32) -> Vec<f32> {
    let (head, body) = (Set::bold(make.style.small), Set::regular(make.style.small));
    let mut whole = vec![NARROWEST; columns];
    let mut least = vec![NARROWEST; columns];
    let cells = rows.iter().flat_map(|cells| cells.iter().enumerate().map(|cell| (cell, body)));
    for ((column, text), set) in header.iter().enumerate().map(|cell| (cell, head)).chain(cells) {
        let (line, word) = natural(text, set, make.faces);
        whole[column] = whole[column].max(line + 0.5);
        least[column] = least[column].max((word + 0.5).min(room * 0.4));
    }
    let sum = |widths: &[f32]| widths.iter().sum::<f32>();
    let (wanted, needed) = (sum(&whole), sum(&least));
    if wanted <= room {
        return whole.iter().map(|width| width * room / wanted).collect();
    }
    if needed >= room {
        #[expect(clippy::cast_precision_loss, reason = "a few columns")]
        let spare = room - NARROWEST * columns as f32;
        let over = (needed - room + spare).max(f32::MIN_POSITIVE);
        return least.iter().map(|width| NARROWEST + (width - NARROWEST) * spare / over).collect();
    }
    // What is left over goes to all alike, to none more than it wants.
    let mut widths = least;
    let mut left = room - needed;
    for _ in 0..columns {
        let open: Vec<usize> = (0..columns).filter(|&column| widths[column] < whole[column]).collect();
        #[expect(clippy::cast_precision_loss, reason = "a few columns")]
        let share = left / open.len().max(1) as f32;
        for column in open {
            let more = share.min(whole[column] - widths[column]);
            widths[column] += more;
            left -= more;
        }
    }
    widths
}

/// Rows of too many columns: each a list of what is what.
fn lists<'a>(make: &Make, header: &[String], rows: &[Vec<String>]) -> Vec<Piece<'a>> {
    let width = make.style.width();
    let mut pieces = Vec::new();
    if rows.is_empty() {
        return row(&[vec![make.cell(&header.join(" · "), make.small(), Ink::Text, 0.0, width)]], make.most);
    }
    for cells in rows {
        let mut list = Vec::new();
        for column in 0..cells.len().max(header.len()) {
            let name = header.get(column).map_or("", String::as_str);
            let text = cells.get(column).map_or("", String::as_str);
            let said = if name.is_empty() { text.to_owned() } else { format!("{name}: {text}") };
            let cell: Cell = make.cell(&said, make.small(), Ink::Text, 0.0, width);
            list.extend(row(&[vec![cell]], make.most));
        }
        pieces.extend(make.ruled(list));
    }
    pieces
}
