//! Minutes by key, in a family's own section and in the shipped file.

use std::collections::{BTreeMap, BTreeSet};

use toml::de::DeTable;
use units::Minutes;

use super::{LONGEST_LIST, Problem};
use crate::desk::telling::{figure, join, kind, number, shown, text_too_long, too_long};
use crate::desk::{Desk, MOST_MINUTES, Section};
use toml::de::DeValue;

/// Minutes by key, keys of tables within tables joined by dots, so that
/// `"check.firmware" = 2` and `check.firmware = 2` are one.
pub(super) fn minutes(desk: &mut Desk<'_>, section: &Section<'_>) -> BTreeMap<String, Minutes> {
    let mut out = BTreeMap::new();
    let mut doubles = BTreeSet::new();
    gather(desk, section.path(), "", section.table(), &mut out, &mut doubles);
    if out.len() > LONGEST_LIST {
        desk.report(section.line(), section.path(), too_long(out.len()));
    }
    out
}

fn gather(
    desk: &mut Desk<'_>,
    path: &str,
    prefix: &str,
    table: &DeTable<'_>,
    out: &mut BTreeMap<String, Minutes>,
    doubles: &mut BTreeSet<String>,
) {
    for (name, value) in table {
        let line = desk.line_at(name.span().start);
        let key = join(prefix, name.get_ref());
        let at = join(path, &shown(&key));
        if name.get_ref().trim().is_empty() {
            desk.report(line, at, "has a blank key; name the check or mend, as in `check.firmware`");
            continue;
        }
        if let Some(says) = text_too_long(&key) {
            desk.report(line, at, says);
            continue;
        }
        if let DeValue::Table(inner) = value.get_ref() {
            gather(desk, path, &key, inner, out, doubles);
            continue;
        }
        match number(value.get_ref()) {
            Some(number) if (0.0..=MOST_MINUTES).contains(&number) => {
                if out.insert(key.clone(), Minutes(number)).is_some() && doubles.insert(key) {
                    desk.report(line, at, "is given twice; keep one of the two");
                }
            }
            Some(number) => {
                let says = format!("is {}, outside 0 to {MOST_MINUTES} minutes; correct it", figure(number));
                desk.report(line, at, says);
            }
            None => {
                let says = format!(
                    "is {}; write the minutes as a number, as in `check.firmware = 2`",
                    kind(value.get_ref())
                );
                desk.report(line, at, says);
            }
        }
    }
}

/// A whole file of minutes, as [`minutes`] reads them in a family; for the shipped ones.
pub(crate) fn flat_minutes(origin: &str, text: &str) -> Result<BTreeMap<String, Minutes>, Vec<Problem>> {
    let mut desk = Desk::new(origin, text);
    let (root, errors) = DeTable::parse_recoverable(text);
    for error in &errors {
        let line = desk.line_at(error.span().map_or(0, |span| span.start));
        desk.report(line, "", error.message().replace('\n', " "));
    }
    let section = Section::bare(1, root.get_ref(), &[]);
    let out = minutes(&mut desk, &section);
    let problems = desk.into_problems();
    if problems.is_empty() { Ok(out) } else { Err(problems) }
}
