//! Reads a family file and says where each problem is.
//!
//! The keys, their ranges and their defaults are described in `docs/families.md`; the
//! tables of keys in `sections`, `modes`, `rules`, `releases` and `faults` are what is enforced, and a test holds
//! the two together.

mod faults;
mod minutes;
mod modes;
mod releases;
mod rules;
mod sections;
mod spans;

use super::Family;
use crate::desk::{Desk, Keys, Section};

pub(crate) use crate::desk::telling::moves_text;
pub(crate) use minutes::flat_minutes;
pub use releases::{read_releases, read_releases_for};

/// The schema that this version reads and writes.
pub const SCHEMA: u32 = 1;

/// The largest file read, bytes.
pub const LARGEST_FILE_BYTES: usize = 256 * 1024;

/// The longest text in a file, characters.
pub const LONGEST_TEXT_CHARS: usize = 2_000;

/// The longest list in a file.
pub const LONGEST_LIST: usize = 1_000;

/// How many problems of one file are listed; the last line says that there are more.
pub const MOST_PROBLEMS: usize = 1_000;

/// One problem in a file: where it is, what it is, what to do.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{origin}:{line}: {quoted}{says}", quoted = quoted(key))]
pub struct Problem {
    /// The file.
    pub origin: String,
    /// The line, from 1.
    pub line: usize,
    /// The key, `model_id.low`; `band[2].name` is the second band's. Empty where the
    /// problem is not one key's.
    pub key: String,
    /// What is wrong and what to do.
    pub says: String,
}

fn quoted(key: &str) -> String {
    if key.is_empty() { String::new() } else { format!("`{key}` ") }
}

/// The top of a family file: every section.
const TOP: Keys = &[
    ("schema", "1"),
    ("family", "[family]"),
    ("band", "[[band]]"),
    ("region", "[region]"),
    ("version", "[version]"),
    ("secret", "[secret]"),
    ("partners", "[partners]"),
    ("model_id", "[model_id]"),
    ("mode", "[[mode]]"),
    ("power", "[power]"),
    ("failsafe", "[failsafe]"),
    ("pairing", "[pairing]"),
    ("lamp", "[[lamp]]"),
    ("waiting", "[waiting]"),
    ("flash", "[[flash]]"),
    ("reach", "[[reach]]"),
    ("release", "[[release]]"),
    ("fault", "[[fault]]"),
    ("minutes", "[minutes]"),
];

/// Reads a family file; `origin` is what to call it in problems.
///
/// ```
/// use register::family::read::read;
/// let problems = read("mine.toml", "schema = 1\n[famly]\nname = \"Mine\"\n").unwrap_err();
/// let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
/// assert!(told.contains(
///     &"mine.toml:2: `famly` is not a key that belongs here; did you mean `family`?".to_owned()
/// ));
/// ```
///
/// # Errors
/// Every problem found, by line, with its key: syntax, unknown keys, missing keys, wrong
/// types, values out of range, and parts that contradict each other. While the syntax is
/// broken (other than by a key given twice) the meaning is not looked at, because a
/// broken line would make good ones look wrong. No text quotes more than 60 characters
/// of the file, and none quotes a value of the `[secret]` section,
/// or a key there that is like none of its own.
pub fn read(origin: &str, text: &str) -> Result<Family, Vec<Problem>> {
    let mut desk = Desk::new(origin, text);
    let Some(root) = desk.parse(text, "a family file", LARGEST_FILE_BYTES) else {
        return Err(desk.into_problems());
    };
    if !desk.schema_fits(root.get_ref(), TOP, SCHEMA) {
        return Err(desk.into_problems());
    }
    let top = Section::new(&mut desk, String::new(), 0, root.get_ref(), TOP);
    let family = sections::family(&mut desk, &top);
    let problems = desk.into_problems();
    if problems.is_empty() { Ok(family) } else { Err(problems) }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::{TOP, faults, modes, releases, rules, sections};

    const DOCS: &str = include_str!("../../../../docs/families.md");

    /// The keys of each section in the documentation, by its header.
    fn documented() -> BTreeMap<&'static str, Vec<&'static str>> {
        let mut out: BTreeMap<_, Vec<_>> = BTreeMap::new();
        let mut header = "";
        for line in DOCS.lines() {
            if let Some(rest) = line.strip_prefix("### ") {
                header = rest.split('`').nth(1).unwrap_or_default();
            } else if let Some(row) = line.strip_prefix("| `") {
                out.entry(header).or_default().extend(row.split('`').next());
            }
        }
        out
    }

    /// The documentation has every key there is in the table of its section, in the same
    /// order, and no other.
    #[test]
    fn every_key_is_documented() {
        let documented = documented();
        let mut wrong = Vec::new();
        let tables: Vec<_> = sections::ALL
            .iter()
            .chain(modes::ALL)
            .chain(rules::ALL)
            .chain(releases::ALL)
            .chain(faults::ALL)
            .collect();
        assert!(tables.iter().map(|(_, keys)| keys.len()).sum::<usize>() > 60);
        for (header, keys) in tables {
            // Sections within a section have a table of their own.
            let want: Vec<&str> =
                keys.iter().filter(|(_, example)| !example.starts_with("[[")).map(|(key, _)| *key).collect();
            let got: Vec<&str> = documented.get(header).cloned().unwrap_or_default();
            if got != want {
                wrong.push(format!("{header}\n  documented {got:?}\n  read       {want:?}"));
            }
        }
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
        for (key, example) in TOP {
            assert!(DOCS.contains(&format!("### `{example}`")) || *key == "schema", "{key}");
        }
    }
}
