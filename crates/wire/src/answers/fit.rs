//! A part of an aircraft's fit: what was found in it, and its drawing in numbers.

pub mod antennas;
pub mod failsafe;
pub mod keys;
pub mod outputs;
pub mod supply;

use fitting::aircraft::{Fit, Written};
use fitting::commission::{About, Commission};
use fitting::finding::Finding as Found;
use fitting::part::Problem as Wrong;
use register::field::Sort;
use register::fit::Part;
use serde::Serialize;

use super::device::Short;
use antennas::Antennas;
use failsafe::Failsafe;
use outputs::Outputs;
use supply::Supply;

/// A number to so many places, never minus nothing.
fn to(places: i32, number: f64) -> f64 {
    let ten = 10_f64.powi(places);
    (number * ten).round() / ten + 0.0
}

/// One thing that a check found.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// What sort of finding.
    pub key: &'static str,
    /// `fault`, `warning` or `note`.
    pub weight: &'static str,
    /// What it is about.
    pub about: String,
    /// What is so.
    pub text: String,
    /// What follows from it.
    pub consequence: String,
    /// What to do about it.
    pub mend: String,
}

impl Finding {
    /// A finding as an answer.
    pub fn new(found: &Found) -> Finding {
        Finding {
            key: found.key,
            weight: found.weight.word(),
            about: found.about.clone(),
            text: found.text.clone(),
            consequence: found.consequence.clone(),
            mend: found.mend.clone(),
        }
    }

    /// All findings, in their order.
    pub fn all(found: &[Found]) -> Vec<Finding> {
        found.iter().map(Finding::new).collect()
    }
}

/// Why a text can't be read.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Problem {
    /// The line, from 1; `null` where it was typed cell by cell.
    pub line: Option<usize>,
    /// The key.
    pub key: String,
    /// What is wrong and what to do.
    pub says: String,
}

impl Problem {
    /// A problem as an answer.
    pub fn new(wrong: &Wrong) -> Problem {
        Problem {
            line: (wrong.line > 0).then_some(wrong.line),
            key: wrong.key.clone(),
            says: wrong.says.clone(),
        }
    }
}

/// A part of an aircraft's fit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Shown {
    /// The aircraft.
    pub aircraft: Short,
    /// `outputs`, `supply`, `failsafe` or `antennas`.
    pub part: &'static str,
    /// Where it stands in the commissioning list.
    pub standing: &'static str,
    /// The answer in a sentence.
    pub sentence: String,
    /// What to do next about it; empty for nothing.
    pub next: String,
    /// When it was written down; `null` where it isn't.
    pub seen: Option<String>,
    /// The entry that wrote it down.
    pub entry: Option<String>,
    /// How many texts of it stand; more than one is a clash between copies of the workshop.
    pub texts: usize,
    /// Why what is written can't be read; empty where it can.
    pub problems: Vec<Problem>,
    /// What was found, the heaviest first.
    pub findings: Vec<Finding>,
    /// What was not checked, and why.
    pub not_checked: Vec<String>,
    /// What was taken to be so because it isn't written down.
    pub assumptions: Vec<String>,
    /// What it comes to, part by part; `null` where nothing can be read.
    pub answer: Option<Answer>,
    /// The text as it was written.
    pub text: Option<String>,
}

/// What a part comes to.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Answer {
    /// The outputs.
    Outputs(Outputs),
    /// The supply.
    Supply(Box<Supply>),
    /// The failsafe.
    Failsafe(Box<Failsafe>),
    /// The antennas.
    Antennas(Antennas),
}

impl Shown {
    /// A part of an aircraft's fit, with how it stands in its list.
    pub fn new(list: &Commission, fit: &Fit, part: Part) -> Shown {
        let item = list.item(About::Part(part));
        let mut shown = Shown {
            aircraft: Short::new(&list.aircraft, Some(Sort::Aircraft)),
            part: part.word(),
            standing: item.map(|item| item.standing.word()).unwrap_or_default(),
            sentence: item.map(|item| item.text.clone()).unwrap_or_default(),
            next: item.map(|item| item.next.clone()).unwrap_or_default(),
            seen: item.and_then(|item| item.seen).and_then(super::moment),
            entry: item.and_then(|item| item.entry).map(|entry| entry.to_string()),
            texts: 0,
            problems: Vec::new(),
            findings: item.map(|item| Finding::all(&item.findings)).unwrap_or_default(),
            not_checked: Vec::new(),
            assumptions: Vec::new(),
            answer: None,
            text: fit.text(part).map(str::to_owned),
        };
        match part {
            Part::Outputs => {
                if let Some((_, answer)) = shown.read(fit.outputs.as_ref()) {
                    shown.not_checked.clone_from(&answer.not_checked);
                    shown.answer = Some(Answer::Outputs(Outputs::new(answer)));
                }
            }
            Part::Supply => {
                if let Some((supply, answer)) = shown.read(fit.supply.as_ref()) {
                    shown.assumptions.clone_from(&answer.taken);
                    shown.answer = Some(Answer::Supply(Box::new(Supply::new(supply, answer))));
                }
            }
            Part::Failsafe => {
                if let Some((failsafe, answer)) = shown.read(fit.failsafe.as_ref()) {
                    shown.assumptions = failsafe::assumptions(answer);
                    shown.answer = Some(Answer::Failsafe(Box::new(Failsafe::new(failsafe, answer))));
                }
            }
            Part::Antennas => {
                if let Some((_, answer)) = shown.read(fit.antennas.as_ref()) {
                    shown.not_checked.clone_from(&answer.unchecked);
                    shown.answer = Some(Answer::Antennas(Antennas::new(answer)));
                }
            }
        }
        shown
    }

    /// How it was read.
    fn read<'a, T, A>(&mut self, written: Option<&'a Written<T, A>>) -> Option<&'a (T, A)> {
        let written = written?;
        self.texts = written.texts;
        match &written.read {
            Ok(both) => Some(both),
            Err(problems) => {
                self.problems = problems.iter().map(Problem::new).collect();
                None
            }
        }
    }
}
