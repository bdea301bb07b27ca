//! Writing and reading, both ways.

use std::fmt::Write as _;

use fitting::part::{self, Cell, Filled, Key, Kind, LARGEST_BYTES, Many, Need, Schema, Table};
use proptest::prelude::*;
use proptest::sample::Index;

use super::{schemas, typed};

/// The cells, row by row, apart from where they were read. An empty list says no more than none.
fn cells(filled: &Filled) -> Vec<(&'static str, Vec<Option<Cell>>)> {
    let mut out = Vec::new();
    for table in filled.schema.tables {
        for row in filled.rows(table.name) {
            let cells = table.keys.iter().map(|key| {
                row.cell(key.name).cloned().filter(|cell| match cell {
                    Cell::Wholes(list) => !list.is_empty(),
                    Cell::Words(list) => !list.is_empty(),
                    _ => true,
                })
            });
            out.push((table.name, cells.collect()));
        }
    }
    out
}

/// Words of any letters that a text may have; without commas where they stand in a list, which a form
/// shows with commas between.
fn words(commas: &'static str) -> BoxedStrategy<String> {
    let class = format!("[a-zA-Z0-9 .;:'\"\\\\/#\\[\\]={{}}äß漢🛩\u{202e}\u{200b}{commas}-]{{0,30}}");
    let text = proptest::string::string_regex(&class).unwrap();
    (text, "[a-z0-9\"]").prop_map(|(text, end)| format!("{text}{end}")).boxed()
}

/// A value of a key, made without the crate's own writer.
fn value(key: &Key) -> BoxedStrategy<toml::Value> {
    let whole = |low: u32, high: u32| (low..=high).prop_map(|number| toml::Value::Integer(i64::from(number)));
    match key.kind {
        Kind::Number { low, high, .. } => prop_oneof![
            (low..=high).prop_map(toml::Value::Float),
            Just(toml::Value::Float(low)),
            Just(toml::Value::Float(high)),
        ]
        .boxed(),
        Kind::Whole { low, high } => whole(low, high).boxed(),
        Kind::Text => words(",").prop_map(toml::Value::String).boxed(),
        Kind::Choice(choices) => {
            prop::sample::select(choices).prop_map(|(word, _)| toml::Value::String(word.to_owned())).boxed()
        }
        Kind::YesNo => any::<bool>().prop_map(toml::Value::Boolean).boxed(),
        Kind::Wholes { low, high } => {
            prop::collection::vec(whole(low, high), 1..6).prop_map(toml::Value::Array).boxed()
        }
        Kind::Words => prop::collection::vec(words("").prop_map(toml::Value::String), 1..6)
            .prop_map(toml::Value::Array)
            .boxed(),
    }
}

/// A row of a table; at least one key is in it.
fn row(table: &'static Table) -> BoxedStrategy<toml::Table> {
    let keys: Vec<_> = table.keys.iter().map(|key| (any::<bool>(), value(key))).collect();
    (keys, any::<Index>())
        .prop_map(|(drawn, sure)| {
            let sure = sure.index(table.keys.len());
            let row = table.keys.iter().zip(drawn).enumerate();
            row.filter(|(at, (key, (there, _)))| key.need == Need::Must || *there || *at == sure)
                .map(|(_, (key, (_, value)))| (key.name.to_owned(), value))
                .collect()
        })
        .boxed()
}

/// The text of a part.
fn text(schema: &'static Schema) -> BoxedStrategy<String> {
    let tables: Vec<_> = schema
        .tables
        .iter()
        .map(|table| prop::collection::vec(row(table), 0..if table.many == Many::One { 2 } else { 5 }))
        .collect();
    tables
        .prop_map(|tables| {
            let mut root = toml::Table::new();
            for (table, mut rows) in schema.tables.iter().zip(tables) {
                let rows = match table.many {
                    Many::One => rows.pop().map(toml::Value::Table),
                    Many::Several => {
                        Some(toml::Value::Array(rows.into_iter().map(toml::Value::Table).collect()))
                    }
                };
                root.extend(rows.map(|rows| (table.name.to_owned(), rows)));
            }
            toml::to_string(&root).unwrap()
        })
        .boxed()
}

/// A part and its text.
fn part_text() -> BoxedStrategy<(&'static Schema, String)> {
    prop::sample::select(schemas())
        .prop_flat_map(|schema| text(schema).prop_map(move |text| (schema, text)))
        .boxed()
}

/// A piece of a text, struck out, doubled or changed.
fn hurt(text: &str, at: Index, what: u8) -> String {
    let chars: Vec<char> = text.chars().collect();
    if chars.is_empty() {
        return "[[".to_owned();
    }
    let at = at.index(chars.len());
    let (before, after): (String, String) = (chars[..at].iter().collect(), chars[at..].iter().collect());
    match what % 8 {
        0 => before,
        1 => format!("{before}\"{after}"),
        2 => format!("{before}]{after}"),
        3 => format!("{before}\0{after}"),
        4 => format!("{before}{before}{after}"),
        5 => format!("{before}-1e999{after}"),
        6 => format!("{before}\n[[thing]]\n{after}"),
        _ => format!("{before}{}", after.chars().skip(1).collect::<String>()),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn what_is_written_is_read_again((schema, text) in part_text()) {
        let filled = part::read(schema, "a.toml", &text).unwrap_or_else(|wrong| panic!("{wrong:#?}\n{text}"));
        let written = part::write(&filled);
        let again = part::read(schema, "b.toml", &written).unwrap_or_else(|wrong| panic!("{wrong:#?}\n{written}"));
        prop_assert_eq!(cells(&again), cells(&filled));
        prop_assert_eq!(part::write(&again), written);
    }

    #[test]
    fn what_stands_in_a_form_is_typed_again((schema, text) in part_text()) {
        let filled = part::read(schema, "a.toml", &text).unwrap();
        let shown = part::inputs(&filled);
        let again = part::from_inputs(schema, "form", &shown).unwrap_or_else(|wrong| panic!("{wrong:#?}"));
        prop_assert_eq!(cells(&again), cells(&filled));
        prop_assert_eq!(part::inputs(&again), shown);
    }

    /// Whatever is in range is a part or a list of problems that name their place.
    #[test]
    fn no_part_upsets_its_module((schema, text) in part_text()) {
        let filled = part::read(schema, "a.toml", &text).unwrap();
        if let Err(problems) = typed(schema.part, "a.toml", &filled) {
            prop_assert!(!problems.is_empty());
            for problem in problems {
                prop_assert!(!problem.key.is_empty() && !problem.says.is_empty(), "{problem:?}");
                prop_assert!(problem.to_string().starts_with("a.toml"), "{problem}");
            }
        }
    }

    #[test]
    fn hurt_texts_are_read_or_told((schema, text) in part_text(), at in any::<Index>(), what in any::<u8>()) {
        let hurt = hurt(&text, at, what);
        match part::read(schema, "a.toml", &hurt) {
            Ok(filled) => drop(typed(schema.part, "a.toml", &filled)),
            Err(problems) => prop_assert!(!problems.is_empty()),
        }
    }

    #[test]
    fn any_text_is_read_or_told(text in "\\PC{0,200}", path in "[a-z_.0-9\\PC]{0,40}") {
        for schema in schemas() {
            let _ = part::read(schema, &text, &text);
            let table = &schema.tables[0];
            for path in [path.clone(), format!("{}.1.{}", table.name, table.keys[0].name)] {
                let typed = [(path, text.clone())];
                let _ = part::from_inputs(schema, "form", &typed);
            }
        }
    }
}

#[test]
fn huge_texts_are_told_and_not_read() {
    for schema in schemas() {
        let table = schema.tables.iter().find(|table| table.many == Many::Several).unwrap();
        let head = format!("[[{}]]\n", table.name);
        for text in [
            "x".repeat(LARGEST_BYTES + 1),
            format!("{head}name = \"{}\"\n", "y".repeat(LARGEST_BYTES)),
            head.repeat(LARGEST_BYTES / head.len() - 1),
            format!("a = {}", "[".repeat(LARGEST_BYTES - 10)),
            format!("a = {}", "{b=".repeat(LARGEST_BYTES / 3 - 10)),
            format!("{}\n", "a.".repeat(LARGEST_BYTES / 2 - 10)),
        ] {
            let problems = part::read(schema, "a.toml", &text).unwrap_err();
            assert!(!problems.is_empty());
            let told: usize = problems.iter().map(|problem| problem.to_string().len()).max().unwrap();
            assert!(told < 1000, "{told}");
        }
        let many: Vec<(String, String)> =
            (0..5000).map(|row| (format!("{}.{row}.name", table.name), "z".repeat(300))).collect();
        let _ = part::from_inputs(schema, "form", &many);
    }
}

#[test]
fn nothing_is_a_part_with_nothing_in_it() {
    for schema in schemas() {
        assert!(part::read(schema, "a.toml", "").unwrap().is_empty());
        assert!(part::read(schema, "a.toml", "# only words\n").unwrap().is_empty());
        assert_eq!(part::write(&Filled::empty(schema)), "");
        assert!(part::inputs(&Filled::empty(schema)).is_empty());
        // Windows line ends and a byte order mark do no harm.
        let table = &schema.tables[0];
        let key = &table.keys[0];
        let head =
            if table.many == Many::One { format!("[{}]", table.name) } else { format!("[[{}]]", table.name) };
        let mut text = format!("{head}\r\n");
        for key in table.keys.iter().filter(|one| one.need == Need::Must || one.name == key.name) {
            let _ = write!(text, "{} = {}\r\n", key.name, key.example);
        }
        let plain = part::read(schema, "a.toml", &text.replace('\r', "")).unwrap();
        assert_eq!(part::read(schema, "a.toml", &format!("\u{feff}{text}")).unwrap(), plain);
    }
}
