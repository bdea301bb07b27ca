//! A checked look at the tables of a workshop file. No value is ever quoted: it may be a
//! secret under a wrong key.

use register::family::read::Problem;
use register::field::How;
use register::time::Moment;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::inventory;

/// How many problems of one file are listed; the last line says that there are more.
const MOST_PROBLEMS: usize = 10_000;

/// Where problems are collected.
pub(super) struct Desk<'a> {
    origin: &'a str,
    starts: Vec<usize>,
    problems: Vec<Problem>,
}

impl<'a> Desk<'a> {
    pub(super) fn new(origin: &'a str, text: &str) -> Desk<'a> {
        let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        Desk { origin, starts, problems: Vec::new() }
    }

    /// The line, from 1, of a place in the text.
    pub(super) fn line_at(&self, at: usize) -> usize {
        self.starts.partition_point(|start| *start <= at).max(1)
    }

    pub(super) fn report(&mut self, line: usize, key: impl Into<String>, says: impl Into<String>) {
        let origin = self.origin.to_owned();
        self.problems.push(Problem { origin, line, key: key.into(), says: says.into() });
    }

    /// How many there are so far.
    pub(super) fn count(&self) -> usize {
        self.problems.len()
    }

    /// What was noted, by line.
    pub(super) fn into_problems(mut self) -> Vec<Problem> {
        self.problems.sort_by(|a, b| (a.line, &a.key).cmp(&(b.line, &b.key)));
        self.problems.dedup();
        if self.problems.len() > MOST_PROBLEMS {
            let more = self.problems.len() - MOST_PROBLEMS;
            self.problems.truncate(MOST_PROBLEMS);
            let line = self.problems.last().map_or(1, |last| last.line);
            self.report(line, "", format!("{more} more problems follow; mend these first"));
        }
        self.problems
    }
}

/// How and when, where the file says so.
#[derive(Clone, Copy, Default)]
pub(super) struct Source {
    pub how: Option<How>,
    pub seen: Option<Moment>,
}

/// A key fit to be shown.
pub(super) fn shown(key: &str) -> String {
    let mut out = String::new();
    for c in key.chars().take(40) {
        if c.is_control() || super::moves_text(c) { out.extend(c.escape_unicode()) } else { out.push(c) }
    }
    if key.chars().count() > 40 {
        out.push('…');
    }
    out
}

/// What kind of value stands there.
pub(super) fn kind(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "text",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a number with decimals",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a section",
    }
}

/// The tables of a list of tables, each with its line.
pub(super) fn tables<'t>(
    desk: &mut Desk<'_>,
    table: &'t DeTable<'t>,
    path: &str,
    name: &str,
) -> Vec<(usize, &'t DeTable<'t>)> {
    let Some((key, found)) = table.get_key_value(name) else { return Vec::new() };
    let full = if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") };
    let DeValue::Array(list) = found.get_ref() else {
        let line = desk.line_at(key.span().start);
        let what = kind(found.get_ref());
        desk.report(
            line,
            &full,
            format!("is {what}; there can be several: write [[{full}]] with two brackets"),
        );
        return Vec::new();
    };
    let mut out = Vec::new();
    for one in list {
        let line = desk.line_at(one.span().start);
        match one.get_ref() {
            DeValue::Table(table) => out.push((line, table)),
            other => desk.report(line, &full, format!("is {}; write a section [[{full}]]", kind(other))),
        }
    }
    out
}

/// A text of this table.
pub(super) fn text(desk: &mut Desk<'_>, table: &DeTable<'_>, path: &str, name: &str) -> Option<String> {
    let (key, value) = table.get_key_value(name)?;
    let line = desk.line_at(key.span().start);
    if let Some(words) = words(value.get_ref()) {
        match inventory::check_text(None, &words) {
            Ok(()) => Some(words).filter(|words| !words.is_empty()),
            Err(says) => {
                desk.report(line, join(path, name), says);
                None
            }
        }
    } else {
        let says = format!("is {}; write text in quotation marks", kind(value.get_ref()));
        desk.report(line, join(path, name), says);
        None
    }
}

/// The words of a value: text, or a number just as it is written.
pub(super) fn words(value: &DeValue<'_>) -> Option<String> {
    match value {
        DeValue::String(text) => Some(text.to_string()),
        DeValue::Integer(number) if number.radix() == 10 => Some(number.as_str().to_owned()),
        DeValue::Float(number) => Some(number.as_str().to_owned()),
        _ => None,
    }
}

/// `how` and `seen` of this table, else those around it.
pub(super) fn source(desk: &mut Desk<'_>, table: &DeTable<'_>, path: &str, around: Source) -> Source {
    let mut source = around;
    if let Some((key, value)) = table.get_key_value("how") {
        let line = desk.line_at(key.span().start);
        match value.get_ref() {
            DeValue::String(text) => match inventory::how(text) {
                Ok(how) => source.how = Some(how),
                Err(says) => desk.report(line, join(path, "how"), says),
            },
            other => desk.report(
                line,
                join(path, "how"),
                format!("is {}; write \"seen\", \"label\", \"told\" or \"assumed\"", kind(other)),
            ),
        }
    }
    if let Some((key, value)) = table.get_key_value("seen") {
        let line = desk.line_at(key.span().start);
        let text = match value.get_ref() {
            DeValue::String(text) => Some(text.to_string()),
            DeValue::Datetime(date) => Some(date.to_string()),
            _ => None,
        };
        match text.map(|text| inventory::seen(&text)) {
            Some(Ok(seen)) => source.seen = Some(seen),
            Some(Err(says)) => desk.report(line, join(path, "seen"), says),
            None => desk.report(
                line,
                join(path, "seen"),
                format!("is {}; write a date, as in 2026-05-30", kind(value.get_ref())),
            ),
        }
    }
    source
}

/// The line of a key.
pub(super) fn line_of<T>(desk: &Desk<'_>, key: &Spanned<T>) -> usize {
    desk.line_at(key.span().start)
}

pub(super) fn join(path: &str, name: &str) -> String {
    if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") }
}
