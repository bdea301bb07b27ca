//! The form of a part, made from its schema: a fieldset a row, an input a key.

use std::collections::BTreeMap;

use fitting::part::{Key, Kind, Many, Need, Schema, Table};
use maud::{Markup, html};

use crate::form::{Choice, Form, Input, Typed, choice};
use crate::reading::capital;
use crate::words;

/// The key of the form.
pub const FORM: &str = "fit";

/// The name of the buttons that add a row (`add.output`) or take one away (`take.output.2`).
pub const ROW: &str = "row";

/// So many keys of a row are in view, whether anything is typed or not.
const IN_VIEW: usize = 5;

/// No more rows of a table are shown in a form.
const MOST_ROWS: u32 = 200;

fn split(path: &str) -> Option<(&str, u32, &str)> {
    let mut words = path.splitn(3, '.');
    let (table, row, key) = (words.next()?, words.next()?, words.next()?);
    let row = row.parse().ok().filter(|row| (1..=MOST_ROWS).contains(row))?;
    Some((table, row, key))
}

/// What was typed into the form of a part with its rows numbered without gaps; rows in which nothing
/// was typed are left out.
pub fn tidied(cells: &[(String, String)]) -> Vec<(String, String)> {
    let filled = |path: &str| {
        let (table, row, _) = split(path)?;
        Some((table.to_owned(), row))
    };
    let mut rows: BTreeMap<(String, u32), u32> = BTreeMap::new();
    for (path, text) in cells {
        if let (Some(row), false) = (filled(path), text.trim().is_empty()) {
            rows.insert(row, 0);
        }
    }
    let mut last: Option<(String, u32)> = None;
    for ((table, _), number) in &mut rows {
        let next = last.as_ref().filter(|(have, _)| have == table).map_or(1, |(_, number)| number + 1);
        *number = next;
        last = Some((table.clone(), next));
    }
    let mut out = Vec::new();
    for (path, text) in cells {
        match split(path) {
            Some((table, row, key)) => {
                if let Some(number) = rows.get(&(table.to_owned(), row)) {
                    out.push((format!("{table}.{number}.{key}"), text.clone()));
                }
            }
            None => out.push((path.clone(), text.clone())),
        }
    }
    out
}

/// What stands in the form after a row was added (`add.output`) or taken away (`take.output.2`);
/// `None` where the word means neither.
pub fn after_row(schema: &Schema, cells: &[(String, String)], word: &str) -> Option<Vec<(String, String)>> {
    let mut words = word.split('.');
    let (what, name, number) = (words.next()?, words.next()?, words.next());
    let (_, table) = schema.table(name)?;
    let of_table = |path: &str| split(path).filter(|(have, _, _)| *have == name).map(|(_, row, _)| row);
    let mut cells = cells.to_vec();
    let last = cells.iter().filter_map(|(path, _)| of_table(path)).max().unwrap_or(0);
    match (what, number) {
        ("add", None) if table.many == Many::Several && last < MOST_ROWS => {
            let row = last + 1;
            cells.push((format!("{name}.{row}.{}", table.keys.first()?.name), String::new()));
            Some(cells)
        }
        ("take", Some(number)) => {
            let gone: u32 = number.parse().ok()?;
            cells.retain(|(path, _)| of_table(path) != Some(gone));
            for (path, _) in &mut cells {
                if let Some((table, row, key)) = split(path)
                    && table == name
                    && row > gone
                {
                    *path = format!("{table}.{}.{key}", row - 1);
                }
            }
            Some(cells)
        }
        _ => None,
    }
}

/// The id of a table's rows on the page.
fn table_id(table: &str) -> String {
    format!("rows-{}", table.replace('_', "-"))
}

/// The id of a row on the page.
fn row_id(table: &str, row: u32) -> String {
    format!("row-{}-{row}", table.replace('_', "-"))
}

/// The rows of every table; `action` is where the form goes.
pub(super) fn rows(schema: &'static Schema, action: &str, typed: &Typed) -> Markup {
    let form = Form::new(FORM, typed);
    let on = On { form, typed, action };
    html! {
        @for (at, table) in schema.tables.iter().enumerate() {
            @match table.many {
                Many::One => (on.only(table)),
                Many::Several => (on.several(table, at == 0)),
            }
        }
    }
}

struct On<'a> {
    form: Form<'a>,
    typed: &'a Typed,
    action: &'a str,
}

impl On<'_> {
    /// How many rows of a table stand in the form.
    fn count(&self, table: &Table) -> u32 {
        let rows = self.typed.values.iter().filter_map(|(path, _)| split(path));
        rows.filter(|(name, _, _)| *name == table.name).map(|(_, row, _)| row).max().unwrap_or(0)
    }

    fn is_filled(&self, path: &str) -> bool {
        self.typed.value(FORM, path).is_some_and(|text| !text.trim().is_empty())
    }

    fn is_wrong(&self, path: &str) -> bool {
        self.typed.error(FORM, path).is_some()
    }

    fn several(&self, table: &'static Table, first: bool) -> Markup {
        let count = self.count(table).max(u32::from(first));
        html! {
            section.rows id=(table_id(table.name)) aria-labelledby={ (table_id(table.name)) "-title" } tabindex="-1" {
                h3 id={ (table_id(table.name)) "-title" } { (capital(table.label)) @if count > 0 { " (" (words::count(u64::from(count))) ")" } }
                p.small { (table.what) }
                @for row in 1..=count { (self.row(table, row)) }
                p {
                    button.plain type="submit" name=(ROW) value={ "add." (table.name) } formnovalidate
                        formaction={ (self.action) "#" (row_id(table.name, count + 1)) } {
                        "Add a row: " (table.label)
                    }
                }
            }
        }
    }

    fn only(&self, table: &'static Table) -> Markup {
        let any = table.keys.iter().any(|key| {
            let path = path(table, 1, key);
            self.is_filled(&path) || self.is_wrong(&path)
        });
        html! {
            details.rows id=(table_id(table.name)) open[any] {
                summary { h3 { (capital(table.label)) } @if !any { " " small { "nothing written" } } }
                p.small { (table.what) }
                (self.row(table, 1))
            }
        }
    }

    fn row(&self, table: &'static Table, row: u32) -> Markup {
        let in_view = |at: usize, key: &Key| {
            let path = path(table, row, key);
            at < IN_VIEW || key.need == Need::Must || self.is_filled(&path) || self.is_wrong(&path)
        };
        let (shown, more): (Vec<_>, Vec<_>) =
            table.keys.iter().enumerate().partition(|(at, key)| in_view(*at, key));
        let legend = self.legend(table, row);
        html! {
            fieldset id=(row_id(table.name, row)) tabindex="-1" {
                legend { (legend) }
                div.fields { @for (_, key) in &shown { (self.input(table, row, key)) } }
                @if !more.is_empty() {
                    details.more-keys {
                        summary { "More: " (more.iter().map(|(_, key)| key.label.to_lowercase()).collect::<Vec<_>>().join(", ")) }
                        div.fields { @for (_, key) in &more { (self.input(table, row, key)) } }
                    }
                }
                @if table.many == Many::Several {
                    p {
                        button.take-back type="submit" name=(ROW) value={ "take." (table.name) "." (row) } formnovalidate
                            formaction={ (self.action) "#" (table_id(table.name)) } {
                            "Take this row away" span.quiet { ": " (legend) }
                        }
                    }
                }
            }
        }
    }

    /// What a row is called: its number and the first words typed into it.
    fn legend(&self, table: &Table, row: u32) -> String {
        let own = table.keys.iter().find_map(|key| {
            let said = self.typed.value(FORM, &path(table, row, key)).map(str::trim);
            said.filter(|said| !said.is_empty() && matches!(key.kind, Kind::Text))
        });
        let label = capital(table.label);
        match (table.many, own) {
            (Many::One, _) => label,
            (Many::Several, None) => format!("{label}, row {row}"),
            (Many::Several, Some(own)) => format!("{label}, row {row}: {}", words::clip(own)),
        }
    }

    fn input(&self, table: &Table, row: u32, key: &Key) -> Markup {
        let name = path(table, row, key);
        let label = match key.kind {
            Kind::Number { unit, .. } if !unit.is_empty() => format!("{} ({unit})", key.label),
            _ => key.label.to_owned(),
        };
        let hint = hint(key);
        let input = Input::new(&name, &label).hint(&hint);
        match key.kind {
            Kind::Number { .. } | Kind::Whole { .. } => self.form.number(input),
            Kind::Text | Kind::Wholes { .. } | Kind::Words => self.form.text(input),
            Kind::Choice(all) => self.form.select(input, &choices(key, all)),
            Kind::YesNo => self.form.select(input, &choices(key, &[("yes", "yes"), ("no", "no")])),
        }
    }
}

fn path(table: &Table, row: u32, key: &Key) -> String {
    format!("{}.{row}.{}", table.name, key.name)
}

fn choices(key: &Key, all: &[(&str, &str)]) -> Vec<Choice> {
    let none = match key.need {
        Need::Must => choice("", "choose"),
        Need::Else(_) => choice("", "not said"),
    };
    std::iter::once(none).chain(all.iter().map(|(word, label)| choice(word, label))).collect()
}

fn hint(key: &Key) -> String {
    let list =
        if matches!(key.kind, Kind::Wholes { .. } | Kind::Words) { " With commas between." } else { "" };
    let what = key.what.trim_end_matches('.');
    match key.need {
        Need::Must => format!("{what}.{list} Needed."),
        Need::Else(other) => format!("{what}.{list} Left empty: {other}."),
    }
}
