//! How values and keys are told: short, without what would move the text around them.

use toml::de::DeValue;

use crate::family::read::{LONGEST_LIST, LONGEST_TEXT_CHARS};

/// How much of a file a problem may quote, characters.
const QUOTED_CHARS: usize = 60;

/// A piece of the file fit to be shown: short, and without characters that would move
/// the text around it.
pub fn shown(text: &str) -> String {
    let mut out = String::new();
    for (i, c) in text.chars().enumerate() {
        if i == QUOTED_CHARS {
            out.push('…');
            break;
        }
        if c.is_control() || moves_text(c) { out.extend(c.escape_unicode()) } else { out.push(c) }
    }
    if out.chars().count() > QUOTED_CHARS + 1 {
        out = out.chars().take(QUOTED_CHARS).chain(['…']).collect();
    }
    out
}

/// Marks that change the direction of the text after them, or can't be seen.
pub(crate) fn moves_text(c: char) -> bool {
    matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{feff}' | '\u{61c}')
}

/// A key within a path.
pub fn join(path: &str, name: &str) -> String {
    if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") }
}

/// A path without the numbers in it: `version.group`.
pub fn plain(path: &str) -> String {
    let mut out = String::new();
    let mut inside = 0_usize;
    for c in path.chars() {
        match c {
            '[' => inside += 1,
            ']' => inside = inside.saturating_sub(1),
            _ if inside == 0 => out.push(c),
            _ => {}
        }
    }
    out
}

/// What to say of a list of too many values.
pub fn too_long(len: usize) -> String {
    format!("has {len} values, more than the {LONGEST_LIST} it may have; shorten it")
}

/// What to say of a text, when it has too many characters.
pub fn text_too_long(text: &str) -> Option<String> {
    let len = text.chars().count();
    (len > LONGEST_TEXT_CHARS)
        .then(|| format!("has {len} characters, more than the {LONGEST_TEXT_CHARS} it may have; shorten it"))
}

/// Words to choose from: `"a", "b" or "c"`.
pub fn words<'w>(words: impl Iterator<Item = &'w str>) -> String {
    let list: Vec<String> = words.map(|word| format!("\"{word}\"")).collect();
    match list.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        _ => list.concat(),
    }
}

/// What sort of value it is, in words.
pub fn kind(value: &DeValue<'_>) -> &'static str {
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

/// A whole number; one with too many digits for any we know is as large as it gets.
pub fn whole(value: &DeValue<'_>) -> Option<i128> {
    match value {
        // Too many digits for any number we know: as far out as it goes.
        DeValue::Integer(number) => {
            Some(i128::from_str_radix(number.as_str(), number.radix()).unwrap_or(i128::MAX))
        }
        _ => None,
    }
}

#[expect(clippy::cast_precision_loss, reason = "bounds far below 2^53 are checked on the result")]
/// A number, with decimals or without.
pub fn number(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Float(number) => number.as_str().parse().ok(),
        DeValue::Integer(number) if number.radix() == 10 => number.as_str().parse().ok(),
        _ => whole(value).map(|number| number as f64),
    }
}

/// A whole number in words.
pub fn whole_figure(number: i128) -> String {
    if number == i128::MAX { "a number too large to read".to_owned() } else { number.to_string() }
}

/// A number in words.
pub fn figure(number: f64) -> String {
    if number.is_infinite() {
        "a number too large to read".to_owned()
    } else if number.abs() < 1e9 {
        number.to_string()
    } else {
        format!("{number:e}")
    }
}

/// The known key that is most like `text`, when one is alike enough.
pub fn nearest<'k>(text: &str, keys: impl Iterator<Item = &'k str>) -> Option<&'k str> {
    let text: Vec<char> = text.chars().take(QUOTED_CHARS).flat_map(char::to_lowercase).collect();
    keys.map(|key| (edits(&text, &key.chars().collect::<Vec<_>>()), key))
        .filter(|(edits, key)| *edits <= (key.len() / 3).max(1))
        .min()
        .map(|(_, key)| key)
}

/// How many letters to put in, take out or change (Levenshtein's distance).
fn edits(a: &[char], b: &[char]) -> usize {
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.iter().enumerate() {
        let mut corner = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let change = corner + usize::from(x != y);
            corner = row[j + 1];
            row[j + 1] = change.min(row[j] + 1).min(corner + 1);
        }
    }
    row[b.len()]
}
