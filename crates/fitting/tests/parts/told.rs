//! What a part's reader says of nonsense: what, where, what to do.

use std::fmt::Write as _;

use fitting::part::{self, Key, Kind, Many, Need, Schema, Table};
use register::fit::Part;

use super::schemas;

fn told(part: Part, text: &str) -> String {
    let problems = part::read(part::schema(part), "a.toml", text).unwrap_err();
    problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

fn told_form(part: Part, typed: &[(&str, &str)]) -> String {
    let typed: Vec<(String, String)> =
        typed.iter().map(|(path, text)| ((*path).to_owned(), (*text).to_owned())).collect();
    let problems = part::from_inputs(part::schema(part), "form", &typed).unwrap_err();
    problems.iter().map(|problem| format!("{}: {}", problem.key, problem.says)).collect::<Vec<_>>().join("\n")
}

/// Each text and what is told of it.
fn all(part: Part, texts: &[&str]) -> String {
    let one = |text: &&str| {
        // A mark that turns the text round is not for a snapshot.
        let shown = text.replace('\u{202e}', "\\u{202e}");
        format!("{shown}\n=> {}\n\n", told(part, text).replace('\n', "\n=> "))
    };
    texts.iter().map(one).collect()
}

#[test]
fn tables_and_keys_that_there_are_not_are_told() {
    let texts = [
        "[[antenna]\nname = \"a\"",
        "[[antena]]\nname = \"a\"\n[colour]",
        "[antenna]\nname = \"a\"\n[[between]]\nangle_deg = 90",
        "antenna = 3",
        "antenna = [1]",
        "[[antenna]]\nnamme = \"a\"\nshape = \"round\"",
    ];
    insta::assert_snapshot!("tables_and_keys", all(Part::Antennas, &texts));
}

#[test]
fn values_that_will_not_do_are_told() {
    let lines = [
        "length_mm = \"31\"",
        "length_mm = -31",
        "length_mm = nan",
        "length_mm = inf",
        "on = 7",
        "on = \" \"",
        "on = \"a\\nb\"",
        "around = \"fog\"",
        "around = \"\u{202e}gof\"",
    ];
    let antennas: Vec<String> =
        lines.iter().map(|line| format!("[[antenna]]\nname = \"a\"\nkind = \"wire\"\n{line}")).collect();
    let antennas: Vec<&str> = antennas.iter().map(String::as_str).collect();
    let outputs = [
        "[[output]]\nnumber = 0\nreversed = \"yes\"",
        "[[output]]\nnumber = 1.5",
        "[[transmitter]]\nlabel = \"T1\"\norder = \"AETR\"",
        "[[transmitter]]\nlabel = \"T1\"\norder = [1]",
    ];
    // A pack without cells among them.
    let supply = ["[[pack]]\nchemistry = \"lipo\"\ncells = 0", "[[pack]]\nchemistry = \"lead\""];
    let failsafe =
        ["[[channel]]\nchannel = 3\nfunction = \"throttle\"\naction = \"value\"\nvalue_us = 15000"];
    let said = [
        all(Part::Antennas, &antennas),
        all(Part::Outputs, &outputs),
        all(Part::Supply, &supply),
        all(Part::Failsafe, &failsafe),
    ];
    insta::assert_snapshot!("values", said.concat());
    let long =
        told(Part::Antennas, &format!("[[antenna]]\nname = \"{}\"\nkind = \"wire\"\n", "é".repeat(2001)));
    insta::assert_snapshot!("too_long", long);
}

#[test]
fn what_is_typed_wrong_is_told_by_its_place() {
    let antennas = [
        ("antenna.1.name", "a"),
        ("antenna.1.kind", "whip"),
        ("antenna.1.length_mm", "long"),
        ("antenna.2.length_mm", "31,5"),
        ("antenna.0.name", "b"),
        ("between.2.angle_deg", "90"),
        ("antenna.one.name", "b"),
        ("colour", "red"),
    ];
    let outputs = [
        ("output.1.number", "1.5"),
        ("output.2.number", "99"),
        ("output.3.number", "3"),
        ("output.3.reversed", "perhaps"),
    ];
    let said = [told_form(Part::Antennas, &antennas), told_form(Part::Outputs, &outputs)];
    insta::assert_snapshot!("typed", said.join("\n"));
}

/// The least text that a table takes, with one line more.
fn least(table: &Table, without: &str, line: &str) -> String {
    let head =
        if table.many == Many::One { format!("[{}]", table.name) } else { format!("[[{}]]", table.name) };
    let mut text = format!("{head}\n");
    for key in table.keys.iter().filter(|key| key.need == Need::Must && key.name != without) {
        let _ = writeln!(text, "{} = {}", key.name, key.example);
    }
    format!("{text}{line}\n")
}

fn each_key(mut each: impl FnMut(&'static Schema, &'static Table, &'static Key)) {
    for schema in schemas() {
        for table in schema.tables {
            for key in table.keys {
                each(schema, table, key);
            }
        }
    }
}

#[test]
fn every_key_refuses_what_lies_outside_and_says_what_would_do() {
    let (mut tried, mut wrong) = (0, Vec::new());
    each_key(|schema, table, key| {
        let bad: Vec<String> = match key.kind {
            Kind::Number { low, high, .. } => {
                vec![(low - 1.0).to_string(), (high + 1.0).to_string(), "nan".to_owned()]
            }
            Kind::Whole { low, high } => {
                vec![(i64::from(low) - 1).to_string(), (u64::from(high) + 1).to_string(), "\"x\"".to_owned()]
            }
            Kind::Text => vec!["\"\"".to_owned(), "1".to_owned(), "\"a\\tb\"".to_owned()],
            Kind::Choice(_) => vec!["\"none of these words\"".to_owned(), "true".to_owned()],
            Kind::YesNo => vec!["1".to_owned(), "\"yes\"".to_owned()],
            Kind::Wholes { low, high } => vec![
                "1".to_owned(),
                format!("[{}]", i64::from(low) - 1),
                format!("[{}]", u64::from(high) + 1),
            ],
            Kind::Words => vec!["\"a\"".to_owned(), "[\"\"]".to_owned(), "[1]".to_owned()],
        };
        for value in bad {
            let text = least(table, key.name, &format!("{} = {value}", key.name));
            match part::read(schema, "a.toml", &text) {
                Err(problems)
                    if problems.len() == 1 && problems[0].key.ends_with(key.name) && problems[0].line > 0 => {
                }
                other => wrong.push(format!("{}.{} = {value}: {other:?}", table.name, key.name)),
            }
            tried += 1;
        }
        // What must be there is missed, with an example of it.
        if key.need == Need::Must {
            let problems = part::read(schema, "a.toml", &least(table, key.name, "")).unwrap_err();
            if !problems.iter().any(|one| one.key.ends_with(key.name) && one.says.contains(key.example)) {
                wrong.push(format!("{}.{}: {problems:?}", table.name, key.name));
            }
        }
        // The example is good in both ways of giving it.
        let text = least(table, key.name, &format!("{} = {}", key.name, key.example));
        match part::read(schema, "a.toml", &text) {
            Ok(filled) => drop(part::from_inputs(schema, "form", &part::inputs(&filled)).unwrap()),
            Err(problems) => wrong.push(format!("{}.{}: {problems:?}", table.name, key.name)),
        }
    });
    assert!(tried > 300, "{tried}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn schemas_are_what_forms_and_files_can_bear() {
    let mut wrong = Vec::new();
    for schema in schemas() {
        let mut names = Vec::new();
        for table in schema.tables {
            names.push(table.name);
            let plain =
                |name: &str| name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_');
            if !plain(table.name) || table.label.is_empty() || table.what.is_empty() || table.keys.is_empty()
            {
                wrong.push(format!("{:?} {}", schema.part, table.name));
            }
            let mut keys: Vec<&str> = table.keys.iter().map(|key| key.name).collect();
            keys.sort_unstable();
            if keys.windows(2).any(|pair| pair[0] == pair[1]) {
                wrong.push(format!("{}: a key twice: {keys:?}", table.name));
            }
            for key in table.keys {
                let ranges = match key.kind {
                    Kind::Number { low, high, .. } => low.is_finite() && high.is_finite() && low < high,
                    Kind::Whole { low, high } | Kind::Wholes { low, high } => low < high,
                    Kind::Choice(choices) => choices.len() > 1,
                    Kind::Text | Kind::YesNo | Kind::Words => true,
                };
                let said = !key.label.is_empty() && !key.what.is_empty() && key.need != Need::Else("");
                if !plain(key.name) || !ranges || !said {
                    wrong.push(format!("{}.{}", table.name, key.name));
                }
            }
        }
        names.sort_unstable();
        if names.windows(2).any(|pair| pair[0] == pair[1]) {
            wrong.push(format!("a table twice: {names:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
