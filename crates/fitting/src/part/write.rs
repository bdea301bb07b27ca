//! A part's text, written so that reading it gives the same again.

use std::fmt::Write as _;

use super::{Cell, Filled, Many};

/// The text of a part: TOML, its tables and keys in the schema's order.
pub fn write(filled: &Filled) -> String {
    let mut out = String::new();
    for (table, rows) in filled.schema.tables.iter().zip(&filled.rows) {
        for row in rows {
            if !out.is_empty() {
                out.push('\n');
            }
            let header = match table.many {
                Many::One => format!("[{}]", table.name),
                Many::Several => format!("[[{}]]", table.name),
            };
            out.push_str(&header);
            out.push('\n');
            for (key, cell) in table.keys.iter().zip(&row.cells) {
                if let Some(cell) = cell {
                    // Writing to a string can't fail.
                    let _ = writeln!(out, "{} = {}", key.name, value(cell));
                }
            }
        }
    }
    out
}

fn value(cell: &Cell) -> String {
    match cell {
        Cell::Number(number) => figure(*number),
        Cell::Whole(number) => number.to_string(),
        Cell::Text(text) => quoted(text),
        Cell::YesNo(yes) => yes.to_string(),
        Cell::Wholes(list) => format!("[{}]", list.iter().map(u32::to_string).collect::<Vec<_>>().join(", ")),
        Cell::Words(list) => {
            format!("[{}]", list.iter().map(|one| quoted(one)).collect::<Vec<_>>().join(", "))
        }
    }
}

/// A number as TOML reads it back; whole ones without a point.
fn figure(number: f64) -> String {
    // Minus nothing is nothing.
    let number = if number == 0.0 { 0.0 } else { number };
    number.to_string()
}

fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
