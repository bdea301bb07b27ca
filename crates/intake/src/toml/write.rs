//! The whole register as a workshop file that [`super::read`] takes back.

use std::collections::BTreeMap;

use register::field::{How, Part, Sort};
use register::register::Device;
use register::scene::Scene;
use register::time::Moment;

use super::{SCHEMA, quoted};
use crate::export::{Label, Labels, Line, Sheet, seen_words, sheets};
use crate::inventory::{END_FIELDS, key_of};

/// Writes every device of the scene, the workshop's name and its own minutes. Secrets
/// are written as fingerprints. Family files are files of their own: a door that puts
/// them beside this one names them in `family_files`.
pub fn write(scene: &Scene<'_>) -> String {
    write_with(scene, &[])
}

/// The same, naming the family files that stand beside it.
pub fn write_with(scene: &Scene<'_>, family_files: &[String]) -> String {
    let labels = Labels::of(scene);
    let mut out = format!("schema = {SCHEMA}\n");
    if let Some(name) = scene.register.setting("name") {
        put(&mut out, "name", &quoted(name));
    }
    if !family_files.is_empty() {
        let names: Vec<String> = family_files.iter().map(|name| quoted(name)).collect();
        put(&mut out, "family_files", &format!("[{}]", names.join(", ")));
    }
    let minutes: Vec<(&str, &str)> = scene
        .register
        .settings()
        .filter_map(|(key, value)| Some((key.strip_prefix("minutes.")?, value)))
        .filter(|(_, value)| value.trim().parse::<f64>().is_ok_and(f64::is_finite))
        .collect();
    if !minutes.is_empty() {
        out.push_str("\n[minutes]\n");
        for (key, value) in minutes {
            // What TOML takes for a number, whatever was typed.
            let number: f64 = value.trim().parse().unwrap_or_default();
            put(&mut out, &quoted(key), &number.to_string());
        }
    }
    for sort in [Sort::Aircraft, Sort::Transmitter, Sort::Receiver] {
        for device in scene.devices().filter(|device| device.sort == Some(sort)) {
            if let Some(label) = labels.label(scene, device.id) {
                write_device(&mut out, scene, &labels, device, sort, label);
            }
        }
    }
    out
}

fn put(out: &mut String, key: &str, value: &str) {
    out.push_str(key);
    out.push_str(" = ");
    out.push_str(value);
    out.push('\n');
}

type Source = (How, Moment);

fn write_device(
    out: &mut String,
    scene: &Scene<'_>,
    labels: &Labels,
    device: &Device,
    sort: Sort,
    label: &Label,
) {
    let sheets = sheets(scene, labels, device, sort);
    out.push_str("\n[[");
    out.push_str(sort.word());
    out.push_str("]]\n");
    if let Label::Id(id) = label {
        put(out, "id", &quoted(&id.to_string()));
    }
    let default = commonest(sheets.iter().flat_map(|sheet| &sheet.facts));
    if let Some((how, seen)) = default {
        put(out, "how", &quoted(how.word()));
        if let Some(seen) = seen_words(seen) {
            put(out, "seen", &quoted(&seen));
        }
    }
    let is_only_end = device.ends.len() == 1;
    for sheet in &sheets {
        let fits_above = is_only_end && sheet.facts.iter().all(|line| END_FIELDS.contains(&line.field));
        match &sheet.part {
            Part::Whole => {}
            Part::End(key) if key == Part::MAIN && fits_above => {}
            Part::End(key) => table(out, sort, "end", key),
            Part::Memory(key) => table(out, sort, "memory", key),
        }
        facts(out, sheet, default);
    }
}

fn table(out: &mut String, sort: Sort, name: &str, key: &str) {
    out.push_str("\n[[");
    out.push_str(sort.word());
    out.push('.');
    out.push_str(name);
    out.push_str("]]\n");
    put(out, "key", &quoted(key));
}

/// How and when most of the facts were seen.
fn commonest<'l>(lines: impl Iterator<Item = &'l Line>) -> Option<Source> {
    let mut counts: BTreeMap<Source, usize> = BTreeMap::new();
    for line in lines {
        *counts.entry((line.how, line.seen)).or_default() += 1;
    }
    counts.into_iter().max_by_key(|(_, count)| *count).map(|(source, _)| source)
}

fn facts(out: &mut String, sheet: &Sheet, default: Option<Source>) {
    let mut lines = sheet.facts.iter().peekable();
    while let Some(line) = lines.next() {
        let mut several = vec![line];
        while let Some(more) = lines.next_if(|more| more.beside) {
            several.push(more);
        }
        let key = key_of(line.field);
        match several.as_slice() {
            [only] if Some((only.how, only.seen)) == default => put(out, key, &quoted(&only.words)),
            [only] => put(out, key, &with_source(only)),
            many => {
                let all: Vec<String> = many.iter().map(|line| with_source(line)).collect();
                put(out, key, &format!("[{}]", all.join(", ")));
            }
        }
    }
}

fn with_source(line: &Line) -> String {
    let seen = seen_words(line.seen).map(|seen| format!(", seen = {}", quoted(&seen))).unwrap_or_default();
    format!("{{ value = {}, how = {}{seen} }}", quoted(&line.words), quoted(line.how.word()))
}
