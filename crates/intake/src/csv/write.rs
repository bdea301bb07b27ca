//! The whole register as a list that [`super::read`] takes back.

use register::field::{Field, How, Part, Sort};
use register::register::Device;
use register::scene::Scene;
use register::time::Moment;

use super::guarded;
use super::mapping::Target;
use crate::export::{Label, Labels, Line, Sheet, seen_words, sheets};
use crate::inventory::END_FIELDS;

/// The columns of an export, in order.
fn columns() -> impl Iterator<Item = Target> {
    Target::ALL.iter().copied().filter(|target| *target != Target::Ignore)
}

/// Facts of one device that were seen in one way at one moment: a row.
struct Row {
    sort: &'static str,
    part: Part,
    of: Option<String>,
    how: How,
    seen: Moment,
    beside: bool,
    facts: Vec<(Field, String)>,
}

/// Writes every device of the scene. Secrets are written as fingerprints; cells that a
/// spreadsheet would take for formulas begin with an apostrophe, which the reader takes
/// off again.
pub fn write(scene: &Scene<'_>) -> String {
    let labels = Labels::of(scene);
    let mut out = String::new();
    line(&mut out, columns().map(|target| target.key().to_owned()));
    for sort in [Sort::Aircraft, Sort::Transmitter, Sort::Receiver] {
        for device in scene.devices().filter(|device| device.sort == Some(sort)) {
            let Some(label) = labels.label(scene, device.id) else { continue };
            for row in rows(scene, &labels, device, sort, label) {
                line(&mut out, columns().map(|target| cell(target, label, &row)));
            }
        }
    }
    out
}

/// One record, quoted as RFC 4180 says, section 2, rules 5 to 7.
fn line(out: &mut String, cells: impl Iterator<Item = String>) {
    for (i, cell) in cells.enumerate() {
        if i > 0 {
            out.push(',');
        }
        if cell.contains(['"', ',', '\n', '\r', ';', '\t']) {
            out.push('"');
            out.push_str(&cell.replace('"', "\"\""));
            out.push('"');
        } else {
            out.push_str(&cell);
        }
    }
    out.push_str("\r\n");
}

fn rows(scene: &Scene<'_>, labels: &Labels, device: &Device, sort: Sort, label: &Label) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    for sheet in sheets(scene, labels, device, sort) {
        let first = rows.len();
        spread(&mut rows, &sheet, sort, label);
        if sheet.part == Part::Whole {
            // The row that states the device's own key comes first; what clashes with a
            // value comes after that value, of whichever fact.
            let key = match label {
                Label::Code(_) => Some(Field::Code),
                Label::Name(_) => Some(Field::Name),
                Label::Id(_) => None,
            };
            rows[first..]
                .sort_by_key(|row| (row.beside, !row.facts.iter().any(|(field, _)| Some(*field) == key)));
        } else {
            merge(&mut rows, first);
        }
    }
    if rows.iter().all(|row| row.of.is_some()) {
        // A device of which nothing is said, and rows that belong to it, still need it.
        rows.insert(0, empty(sort.word(), Part::Whole, None));
    }
    rows
}

/// A row that only says that there is something.
fn empty(sort: &'static str, part: Part, of: Option<String>) -> Row {
    Row { sort, part, of, how: How::Assumed, seen: Moment(i64::MIN), beside: false, facts: Vec::new() }
}

/// Makes a row for each way and moment in which facts of this part were seen.
fn spread(rows: &mut Vec<Row>, sheet: &Sheet, sort: Sort, label: &Label) {
    let first = rows.len();
    let mut put = |line: &Line| {
        let is_memory = matches!(sheet.part, Part::Memory(_));
        let is_odd = matches!(sheet.part, Part::End(_)) && !END_FIELDS.contains(&line.field);
        let word = match (sort, is_memory, is_odd) {
            (_, true, _) => "memory",
            (Sort::Receiver, _, true) => "receiver end",
            (Sort::Transmitter, _, true) => "transmitter end",
            _ => sort.word(),
        };
        // Two readings of one fact never share a row.
        let fits = |row: &&mut Row| {
            row.sort == word
                && (row.how, row.seen) == (line.how, line.seen)
                && row.facts.iter().all(|(field, _)| *field != line.field)
                && row.beside == (line.beside || is_odd)
        };
        if let Some(row) = rows[first..].iter_mut().find(fits) {
            row.facts.push((line.field, line.words.clone()));
            return;
        }
        rows.push(Row {
            sort: word,
            part: sheet.part.clone(),
            of: (is_memory || is_odd).then(|| label.words()),
            how: line.how,
            seen: line.seen,
            // Rows of another shape about the same end stand beside it.
            beside: line.beside || is_odd,
            facts: vec![(line.field, line.words.clone())],
        });
    };
    sheet.facts.iter().for_each(&mut put);
    let is_empty_part = sheet.facts.is_empty() && sheet.part != Part::Whole;
    if let (true, Part::Memory(_)) = (is_empty_part, &sheet.part) {
        rows.push(empty("memory", sheet.part.clone(), Some(label.words())));
    }
}

/// Lets facts of an end share the row of the whole device that was seen alike.
fn merge(rows: &mut Vec<Row>, first: usize) {
    let (whole, ends) = rows.split_at_mut(first);
    let mut taken = Vec::new();
    for (i, end) in ends.iter_mut().enumerate() {
        if end.of.is_some() {
            continue;
        }
        let fits = |row: &&mut Row| {
            row.part == Part::Whole && (row.how, row.seen, row.beside) == (end.how, end.seen, end.beside)
        };
        if let Some(row) = whole.iter_mut().find(fits) {
            row.facts.append(&mut end.facts);
            row.part = end.part.clone();
            taken.push(first + i);
        }
    }
    for i in taken.into_iter().rev() {
        rows.remove(i);
    }
}

fn cell(target: Target, label: &Label, row: &Row) -> String {
    let own = row.of.is_none();
    match (target, &row.part) {
        (Target::Sort, _) => return row.sort.to_owned(),
        (Target::Id, _) => {
            return match label {
                Label::Id(id) if own => id.to_string(),
                _ => String::new(),
            };
        }
        (Target::How, _) => {
            let also = if row.beside { ", also" } else { "" };
            return if row.facts.is_empty() { String::new() } else { format!("{}{also}", row.how.word()) };
        }
        (Target::Seen, _) => {
            let words = if row.facts.is_empty() { None } else { seen_words(row.seen) };
            return words.unwrap_or_default();
        }
        (Target::Of, _) => return row.of.as_ref().map(|of| plain(of, None)).unwrap_or_default(),
        (Target::Code, Part::Memory(key)) => return plain(key, Some(Field::Code)),
        (Target::End, Part::End(key)) => return plain(key, Some(Field::End)),
        _ => {}
    }
    let Some(field) = target.field() else { return String::new() };
    if let Some((_, words)) = row.facts.iter().find(|(have, _)| *have == field) {
        return plain(words, Some(field));
    }
    // What the device is called, in every row of its own.
    match (label, field) {
        (Label::Code(code), Field::Code) if own => plain(code, Some(field)),
        (Label::Name(name), Field::Name) if own => plain(name, Some(field)),
        _ => String::new(),
    }
}

fn plain(words: &str, field: Option<Field>) -> String {
    guarded(words, field).into_owned()
}
