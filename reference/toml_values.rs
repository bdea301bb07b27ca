//! What `toml_values.py` prints, from the parser that this project uses; included by the
//! tests that compare the two.

use std::fmt::Write as _;

use toml::Value;

/// The values of a TOML file, a line each, sorted.
fn values(text: &str) -> String {
    let table: toml::Table = text.parse().unwrap_or_else(|error| panic!("{error}\n{text}"));
    let mut lines = Vec::new();
    walk(&mut lines, "", &Value::Table(table));
    lines.sort();
    lines.concat()
}

/// The same from Python's parser, which must agree on every file.
pub fn agreed(texts: &[String]) -> Vec<String> {
    let jobs: Vec<_> = texts.iter().map(|text| ("values".to_owned(), text.clone().into_bytes())).collect();
    let answers = super::python::python("toml_values.py", &jobs);
    let theirs: Vec<String> =
        answers.into_iter().map(|lines| String::from_utf8_lossy(&lines).into_owned()).collect();
    for (text, theirs) in texts.iter().zip(&theirs) {
        assert_eq!(&values(text), theirs, "{text}");
    }
    theirs
}

/// The digits of a text.
pub fn hex(text: &str) -> String {
    text.bytes().fold(String::new(), |mut out, byte| {
        let _ = write!(out, "{byte:02x}");
        out
    })
}

fn walk(lines: &mut Vec<String>, path: &str, value: &Value) {
    lines.push(match value {
        Value::Table(_) => format!("{path} table\n"),
        Value::Array(all) => format!("{path} array {}\n", all.len()),
        Value::Boolean(one) => format!("{path} bool {one}\n"),
        Value::Integer(one) => format!("{path} int {one}\n"),
        Value::Float(one) => format!("{path} float {:016x}\n", one.to_bits()),
        Value::String(one) => format!("{path} text {}\n", hex(one)),
        Value::Datetime(one) => format!("{path} time {one}\n"),
    });
    match value {
        Value::Table(table) => {
            table.iter().for_each(|(key, inner)| walk(lines, &format!("{path}.{}", hex(key)), inner));
        }
        Value::Array(all) => {
            all.iter().enumerate().for_each(|(i, inner)| walk(lines, &format!("{path}[{i}]"), inner));
        }
        _ => {}
    }
}
