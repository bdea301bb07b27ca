//! Reads a part's text, or what was typed into its form, by its schema.

use std::collections::BTreeMap;

use register::desk::Desk;
use register::desk::telling::{figure, join, kind, nearest, number, shown, text_too_long, whole, words};
use register::family::read::{LONGEST_LIST, Problem};
use toml::de::{DeTable, DeValue};

use super::{Cell, Filled, Key, Kind, Many, Need, Row, Schema, Table};

/// No part's text is longer.
pub const LARGEST_BYTES: usize = 64 * 1024;

/// Reads the text of a part; `origin` is what to call it in problems.
///
/// # Errors
/// Every problem, with its line and key: broken TOML, an unknown table or key, a key that is
/// missing, a value of the wrong type or out of its range.
pub fn read(schema: &'static Schema, origin: &str, text: &str) -> Result<Filled, Vec<Problem>> {
    let mut desk = Desk::new(origin, text);
    let Some(root) = desk.parse(text, "a part of a fit", LARGEST_BYTES) else {
        return Err(desk.into_problems());
    };
    let mut filled = Filled::empty(schema);
    for (name, value) in root.get_ref() {
        let (line, text) = (desk.line_at(name.span().start), name.get_ref().as_ref());
        let Some((at, table)) = schema.table(text) else {
            let advice = advice(text, schema.tables.iter().map(|table| table.name), "tables");
            desk.report(line, shown(text), format!("is not a table of the {}; {advice}", schema.part.word()));
            continue;
        };
        filled.rows[at] = match (table.many, value.get_ref()) {
            (Many::One, DeValue::Table(inner)) => {
                vec![row(&mut desk, table, table.name.to_owned(), line, inner)]
            }
            (Many::Several, DeValue::Array(list)) => {
                if list.len() > LONGEST_LIST {
                    desk.report(
                        line,
                        table.name,
                        format!("has {} rows, more than {LONGEST_LIST}", list.len()),
                    );
                    continue;
                }
                let mut rows = Vec::new();
                for (number, one) in list.iter().enumerate() {
                    let line = desk.line_at(one.span().start);
                    let path = format!("{}[{}]", table.name, number + 1);
                    match one.get_ref() {
                        DeValue::Table(inner) => rows.push(row(&mut desk, table, path, line, inner)),
                        other => desk.report(line, path, not_a_table(table, other)),
                    }
                }
                rows
            }
            (_, other) => {
                desk.report(line, table.name, not_a_table(table, other));
                continue;
            }
        };
    }
    let problems = desk.into_problems();
    if problems.is_empty() { Ok(filled) } else { Err(problems) }
}

fn not_a_table(table: &Table, found: &DeValue<'_>) -> String {
    match table.many {
        Many::One => format!("is {}; there is one such table: write [{}]", kind(found), table.name),
        Many::Several => {
            format!("is {}; there can be several: write [[{}]] with two brackets", kind(found), table.name)
        }
    }
}

fn advice<'k>(text: &str, names: impl Iterator<Item = &'k str> + Clone, what: &str) -> String {
    match nearest(text, names.clone()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!(
            "the {what} here are {}",
            names.map(|one| format!("`{one}`")).collect::<Vec<_>>().join(", ")
        ),
    }
}

fn row(desk: &mut Desk<'_>, table: &'static Table, path: String, line: usize, inner: &DeTable<'_>) -> Row {
    let mut cells = vec![None; table.keys.len()];
    for (name, value) in inner {
        let (at, text) = (desk.line_at(name.span().start), name.get_ref().as_ref());
        let full = join(&path, &shown(text));
        let Some((place, key)) = table.key(text) else {
            let advice = advice(text, table.keys.iter().map(|key| key.name), "keys");
            desk.report(at, full, format!("is not a key that belongs here; {advice}"));
            continue;
        };
        match cell(key, value.get_ref()) {
            // Nothing in a list is as if it weren't there.
            Ok(Cell::Words(list)) if list.is_empty() => {}
            Ok(Cell::Wholes(list)) if list.is_empty() => {}
            Ok(cell) => cells[place] = Some(cell),
            Err(says) => desk.report(at, full, says),
        }
    }
    for key in table.keys {
        let is_empty = |value: &DeValue<'_>| matches!(value, DeValue::Array(list) if list.is_empty());
        let there = inner.iter().find(|(name, _)| name.get_ref().as_ref() == key.name);
        if key.need == Need::Must && there.is_none_or(|(_, value)| is_empty(value.get_ref())) {
            desk.report(line, join(&path, key.name), missing(key));
        }
    }
    Row { line, path, table, cells }
}

fn missing(key: &Key) -> String {
    format!("is missing; add it, as in `{} = {}`", key.name, key.example)
}

fn cell(key: &Key, value: &DeValue<'_>) -> Result<Cell, String> {
    let wrong =
        |want: &str| format!("is {}; write {want}, as in `{} = {}`", kind(value), key.name, key.example);
    match key.kind {
        Kind::Number { .. } => in_range(key, number(value).ok_or_else(|| wrong("a number"))?),
        Kind::Whole { low, high } => {
            whole_cell(low, high, whole(value).ok_or_else(|| wrong("a whole number"))?).map(Cell::Whole)
        }
        Kind::Text | Kind::Choice(_) => match value {
            DeValue::String(text) => text_cell(key, text),
            _ => Err(wrong("text in quotes")),
        },
        Kind::YesNo => match value {
            DeValue::Boolean(yes) => Ok(Cell::YesNo(*yes)),
            _ => Err(wrong("true or false")),
        },
        Kind::Wholes { low, high } => {
            let DeValue::Array(list) = value else { return Err(wrong("a list of whole numbers")) };
            short(list.len())?;
            let one = |one: &DeValue<'_>| {
                let number = whole(one).ok_or_else(|| {
                    format!("has {} among its values; write whole numbers, as in {}", kind(one), key.example)
                })?;
                whole_cell(low, high, number)
            };
            list.iter().map(|item| one(item.get_ref())).collect::<Result<_, _>>().map(Cell::Wholes)
        }
        Kind::Words => {
            let DeValue::Array(list) = value else { return Err(wrong("a list of texts")) };
            short(list.len())?;
            let one = |one: &DeValue<'_>| match one {
                // In a form commas stand between them.
                DeValue::String(text) if text.contains(',') => {
                    Err(format!("has a comma in `{}`; write two texts, or leave it out", shown(text)))
                }
                DeValue::String(text) => filled(key, text),
                _ => Err(format!(
                    "has {} among its values; write texts in quotes, as in {}",
                    kind(one),
                    key.example
                )),
            };
            list.iter().map(|item| one(item.get_ref())).collect::<Result<_, _>>().map(Cell::Words)
        }
    }
}

fn short(len: usize) -> Result<(), String> {
    if len > LONGEST_LIST {
        Err(format!("has {len} values, more than the {LONGEST_LIST} it may have"))
    } else {
        Ok(())
    }
}

fn in_range(key: &Key, number: f64) -> Result<Cell, String> {
    let Kind::Number { low, high, unit } = key.kind else { return Ok(Cell::Number(number)) };
    // False for what is no number.
    if number >= low && number <= high {
        return Ok(Cell::Number(number));
    }
    let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
    let is = match number {
        number if number.is_nan() => "no number".to_owned(),
        number if number.is_infinite() => figure(number),
        number => format!("{}{unit}", figure(number)),
    };
    Err(format!("is {is}; it can be {} to {}{unit}", figure(low), figure(high)))
}

fn whole_cell(low: u32, high: u32, number: i128) -> Result<u32, String> {
    match u32::try_from(number) {
        Ok(number) if (low..=high).contains(&number) => Ok(number),
        _ => Err(format!("is {}; it can be {low} to {high}", register::desk::telling::whole_figure(number))),
    }
}

fn filled(key: &Key, text: &str) -> Result<String, String> {
    if let Some(says) = text_too_long(text) {
        return Err(says);
    }
    if text.trim().is_empty() {
        return Err(format!("is empty; write words, as in `{} = {}`", key.name, key.example));
    }
    if text.chars().any(char::is_control) {
        return Err("has a line break or another character that can't be printed; write one line".to_owned());
    }
    Ok(text.trim().to_owned())
}

fn text_cell(key: &Key, text: &str) -> Result<Cell, String> {
    let text = filled(key, text)?;
    if let Kind::Choice(choices) = key.kind
        && !choices.iter().any(|(word, _)| *word == text)
    {
        return Err(format!(
            "is `{}`; choose {}",
            shown(&text),
            words(choices.iter().map(|(word, _)| *word))
        ));
    }
    Ok(Cell::Text(text))
}

/// Reads what was typed into a form, or said in words: pairs of a path and a text. A path is
/// `table.NUMBER.key`, the number from 1 counting rows (also for a table with one row); rows with
/// nothing typed are left out, and an empty text leaves its key out. Numbers may have a decimal
/// comma.
///
/// # Errors
/// As [`read`]; a problem's key is the path as it was given, its line is 0.
pub fn from_inputs(
    schema: &'static Schema,
    origin: &str,
    inputs: &[(String, String)],
) -> Result<Filled, Vec<Problem>> {
    let mut problems = Vec::new();
    let mut report = |key: &str, says: String| {
        problems.push(Problem { origin: origin.to_owned(), line: 0, key: key.to_owned(), says });
    };
    let mut by_row: BTreeMap<(usize, u32), Vec<Option<Cell>>> = BTreeMap::new();
    let mut bad: Vec<(usize, u32, usize)> = Vec::new();
    for (path, typed) in inputs {
        let mut words = path.splitn(3, '.');
        let (table, row, key) = (words.next().unwrap_or_default(), words.next(), words.next());
        let found = schema.table(table).and_then(|(at, table)| {
            let number = row?.parse::<u32>().ok().filter(|row| *row >= 1 && *row as usize <= LONGEST_LIST)?;
            (table.many == Many::Several || number == 1).then_some(())?;
            table.key(key?).map(|(place, key)| (at, number, place, key))
        });
        let Some((at, number, place, key)) = found else {
            report(
                path,
                format!(
                    "is no place in the {}; write table.row.key, as in `{}`",
                    schema.part.word(),
                    example_path(schema)
                ),
            );
            continue;
        };
        let text = typed.trim();
        if text.is_empty() {
            continue;
        }
        let row = by_row.entry((at, number)).or_insert_with(|| vec![None; schema.tables[at].keys.len()]);
        match typed_cell(key, text) {
            Ok(cell) => row[place] = Some(cell),
            Err(says) => {
                bad.push((at, number, place));
                report(path, says);
            }
        }
    }
    let mut filled = Filled::empty(schema);
    for ((at, number), cells) in by_row {
        let table = &schema.tables[at];
        for (place, key) in table.keys.iter().enumerate() {
            let is_bad = bad.contains(&(at, number, place));
            if key.need == Need::Must && cells[place].is_none() && !is_bad {
                let path = format!("{}.{number}.{}", table.name, key.name);
                report(&path, format!("is missing, as in {}", key.example));
            }
        }
        let path = format!("{}[{number}]", table.name);
        filled.rows[at].push(Row { line: 0, path, table, cells });
    }
    if problems.is_empty() { Ok(filled) } else { Err(problems) }
}

fn example_path(schema: &Schema) -> String {
    let table = &schema.tables[0];
    format!("{}.1.{}", table.name, table.keys[0].name)
}

fn typed_cell(key: &Key, text: &str) -> Result<Cell, String> {
    let example = key.example;
    let no = |want: &str| format!("is `{}`; write {want}, as in {example}", shown(text));
    match key.kind {
        Kind::Number { .. } => {
            let number: f64 = text.replace(',', ".").parse().map_err(|_| no("a number"))?;
            in_range(key, number)
        }
        Kind::Whole { low, high } => {
            let number: i128 = text.parse().map_err(|_| no("a whole number"))?;
            whole_cell(low, high, number).map(Cell::Whole)
        }
        Kind::Text | Kind::Choice(_) => text_cell(key, text),
        Kind::YesNo => match text.to_lowercase().as_str() {
            "true" | "yes" | "on" => Ok(Cell::YesNo(true)),
            "false" | "no" | "off" => Ok(Cell::YesNo(false)),
            _ => Err(no("yes or no")),
        },
        Kind::Wholes { low, high } => {
            let numbers = text.split([',', ' ']).filter(|one| !one.is_empty());
            let one = |one: &str| {
                whole_cell(low, high, one.parse().map_err(|_| no("whole numbers with commas between"))?)
            };
            let list = numbers.map(one).collect::<Result<Vec<u32>, String>>()?;
            short(list.len())?;
            Ok(Cell::Wholes(list))
        }
        Kind::Words => {
            let list = text.split(',').map(str::trim).filter(|one| !one.is_empty());
            let list = list.map(|one| self::filled(key, one)).collect::<Result<Vec<String>, String>>()?;
            short(list.len())?;
            Ok(Cell::Words(list))
        }
    }
}

/// What stands in a form for a part that was read: paths with their texts, as [`from_inputs`] takes
/// them.
pub fn inputs(filled: &Filled) -> Vec<(String, String)> {
    let mut out = Vec::new();
    for (table, rows) in filled.schema.tables.iter().zip(&filled.rows) {
        for (number, row) in rows.iter().enumerate() {
            for (key, cell) in table.keys.iter().zip(&row.cells) {
                let Some(cell) = cell else { continue };
                let text = match cell {
                    Cell::Number(number) => number.to_string(),
                    Cell::Whole(number) => number.to_string(),
                    Cell::Text(text) => text.clone(),
                    Cell::YesNo(yes) => if *yes { "yes" } else { "no" }.to_owned(),
                    Cell::Wholes(list) => list.iter().map(u32::to_string).collect::<Vec<_>>().join(", "),
                    Cell::Words(list) => list.join(", "),
                };
                out.push((format!("{}.{}.{}", table.name, number + 1, key.name), text));
            }
        }
    }
    out
}

/// A problem for a row that was read: what a part's module finds wrong between cells. Of a row that was
/// typed its key is the path under which it was.
pub fn problem(origin: &str, row: &Row, key: &str, says: impl Into<String>) -> Problem {
    let typed = || row.path.trim_end_matches(']').replacen('[', ".", 1);
    let key = if row.line == 0 { format!("{}.{key}", typed()) } else { join(&row.path, key) };
    Problem { origin: origin.to_owned(), line: row.line, key, says: says.into() }
}
