//! Words: figures, names, the answer's sentence.

use std::collections::BTreeMap;

use super::taken::Taken;
use crate::finding::{self, Finding, Weight};

/// What was found so far.
#[derive(Default)]
pub(super) struct Found {
    findings: Vec<Finding>,
    not_checked: Vec<String>,
    /// How many of each sort are kept.
    counts: BTreeMap<&'static str, usize>,
    /// How many weren't kept.
    more: usize,
}

/// So many of one sort are told; nobody mends more at a time, and a text of a thousand rows could
/// otherwise have hundreds of thousands.
const MOST: usize = 200;

impl Found {
    /// One more, unless the same was found already.
    pub fn add(&mut self, key: &'static str, weight: Weight, about: impl Into<String>, words: [String; 3]) {
        let [text, consequence, mend] = words.map(|words| begins(&words));
        let finding = Finding { key, weight, about: about.into(), text, consequence, mend };
        let count = self.counts.entry(key).or_default();
        if *count < MOST {
            if !self.findings.contains(&finding) {
                *count += 1;
                self.findings.push(finding);
            }
            return;
        }
        self.more += 1;
        // What is heavier than one of those that are told takes its place.
        let same = self.findings.iter_mut().filter(|one| one.key == key);
        if let Some(lightest) = same.min_by_key(|one| one.weight).filter(|one| one.weight < weight) {
            *lightest = finding;
        }
    }

    /// What can't be checked.
    pub fn leave(&mut self, sentence: &str) {
        let sentence = begins(sentence);
        if self.not_checked.len() >= MOST {
            self.more += 1;
        } else if !self.not_checked.contains(&sentence) {
            self.not_checked.push(sentence);
        }
    }

    /// The heaviest first, then in an order that doesn't depend on the rows'.
    pub fn sorted(mut self) -> (Vec<Finding>, Vec<String>) {
        let rank = |one: &Finding| FIRST.iter().position(|key| *key == one.key).unwrap_or(FIRST.len());
        self.findings
            .sort_by(|a, b| (rank(a), a.key, &a.about, &a.text).cmp(&(rank(b), b.key, &b.about, &b.text)));
        finding::sort(&mut self.findings);
        self.not_checked.sort();
        if self.more > 0 {
            self.not_checked.push(format!(
                "{} more of the same sorts were found and aren't listed: mend those that are, then look again.",
                self.more
            ));
        }
        (self.findings, self.not_checked)
    }
}

/// Of findings with one weight these come first: they can start a motor or break a part at once.
const FIRST: [&str; 6] = [
    "throttle_not_idle",
    "order_moves_throttle",
    "function_differs",
    "pulse_kind_differs",
    "servos_opposed",
    "direction_differs",
];

/// A sentence with a capital at its start, unless it begins with a code that has its own.
fn begins(sentence: &str) -> String {
    let mut chars = sentence.chars();
    match chars.next() {
        Some(first) => first.to_uppercase().chain(chars).collect(),
        None => String::new(),
    }
}

/// A figure with at most so many digits after the point, without idle noughts.
pub(super) fn figure(number: f64, digits: usize) -> String {
    let text = format!("{number:.digits$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// `one`, `one and two`, `one, two and three`.
pub(super) fn list(words: &[String]) -> String {
    match words.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => words.concat(),
    }
}

/// `1 part`, `3 parts`.
pub(super) fn count(number: usize, one: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {one}s") }
}

/// The answer in one sentence.
pub(super) fn sentence(taken: &Taken<'_>, findings: &[Finding]) -> String {
    let parts = taken.outputs.parts.len();
    if parts == 0 && taken.lines.is_empty() {
        return "Nothing is written down yet about what hangs on the receiver's outputs.".to_owned();
    }
    let what = format!("{} on {}", count(parts, "part"), count(taken.lines.len(), "output"));
    let of = |weight| findings.iter().filter(|one| one.weight == weight).count();
    let (faults, warnings, notes) = (of(Weight::Fault), of(Weight::Warning), of(Weight::Note));
    let mut found = Vec::new();
    if faults > 0 {
        found.push(count(faults, "fault"));
    }
    if warnings > 0 {
        found.push(count(warnings, "warning"));
    }
    if notes > 0 {
        found.push(count(notes, "note"));
    }
    match findings.first() {
        None => format!("{what}: nothing was found wrong in what is written down."),
        Some(first) if findings.len() == 1 => format!("{what}, {}: {}", list(&found), first.text),
        Some(first) => format!("{what}, {}; first: {}", list(&found), first.text),
    }
}
