//! docs/fit-file.md against the schemas.

use std::fmt::Write as _;

use fitting::part::{self, Key, Kind, Many, Need, Schema, Table};

use super::{schemas, typed};

const DOCS: &str = include_str!("../../../../docs/fit-file.md");

/// A sentence without its end, beginning with a capital.
fn tidy(text: &str) -> String {
    let text = text.trim_end_matches('.').replace('|', "\\|");
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

fn takes(key: &Key) -> String {
    match key.kind {
        Kind::Number { low, high, unit } => {
            format!("{low} to {high}{}{unit}", if unit.is_empty() { "" } else { " " })
        }
        Kind::Whole { low, high } => format!("whole, {low} to {high}"),
        Kind::Text => "text".to_owned(),
        Kind::Choice(choices) => choices
            .iter()
            .map(
                |(word, label)| {
                    if word == label { format!("`\"{word}\"`") } else { format!("`\"{word}\"` ({label})") }
                },
            )
            .collect::<Vec<_>>()
            .join(", "),
        Kind::YesNo => "`true` or `false`".to_owned(),
        Kind::Wholes { low, high } => format!("list of whole numbers, {low} to {high}"),
        Kind::Words => "list of texts".to_owned(),
    }
}

/// A table as the page has it.
fn table(table: &Table) -> String {
    let head = match table.many {
        Many::One => format!("[{}]", table.name),
        Many::Several => format!("[[{}]]", table.name),
    };
    let mut out = format!(
        "### `{head}`\n\n{}.\n\n| key | what | takes | left out | example |\n| --- | --- | --- | --- | --- |\n",
        tidy(table.what)
    );
    for key in table.keys {
        let need = match key.need {
            Need::Must => "*required*".to_owned(),
            Need::Else(then) => tidy(then),
        };
        let _ = writeln!(
            out,
            "| `{}` | {} | {} | {need} | `{}` |",
            key.name,
            tidy(key.what),
            takes(key),
            key.example
        );
    }
    out
}

/// The part of the page that is about one part of the fit.
fn section(schema: &Schema) -> &'static str {
    let heading = format!("\n## The {}\n", schema.part.label());
    let (_, rest) =
        DOCS.split_once(&heading).unwrap_or_else(|| panic!("docs/fit-file.md has no `{}`", heading.trim()));
    rest.split("\n## ").next().unwrap()
}

#[test]
fn the_page_says_what_the_schemas_say() {
    let mut wrong = String::new();
    for schema in schemas() {
        let wanted = schema.tables.iter().map(table).collect::<Vec<_>>().join("\n");
        let (_, has) = section(schema).split_once("\n### ").unwrap_or_default();
        if format!("### {}", has.trim_end()) != wanted.trim_end() {
            let _ = writeln!(wrong, "<!-- {} -->\n{wanted}", schema.part.label());
        }
    }
    assert!(wrong.is_empty(), "docs/fit-file.md has other tables than the schemas; write\n{wrong}");
}

#[test]
fn the_pages_examples_are_read() {
    for schema in schemas() {
        let examples: Vec<&str> =
            section(schema).split("```toml\n").skip(1).filter_map(|rest| rest.split("```").next()).collect();
        assert!(!examples.is_empty(), "the {} has no example", schema.part.label());
        for example in examples {
            let filled =
                part::read(schema, "docs/fit-file.md", example).unwrap_or_else(|wrong| panic!("{wrong:#?}"));
            typed(schema.part, "docs/fit-file.md", &filled).unwrap_or_else(|wrong| panic!("{wrong:#?}"));
            assert!(!filled.is_empty());
        }
    }
}
