//! The faults of a family's own.

use units::Minutes;

use super::super::{Energised, FamilyFault};
use crate::desk::telling::shown;
use crate::desk::{Desk, Keys, Section};

pub(super) const FAULT: Keys = &[
    ("symptom", "\"wont_pair\""),
    ("key", "\"cracked_lead\""),
    ("label", "\"The antenna's lead is cracked where it is crimped\""),
    ("weight", "2"),
    ("ask", "\"Does the lamp change while the antenna's lead is bent?\""),
    ("ask_how", "\"Bend it gently a finger's breadth from the plug.\""),
    ("ask_minutes", "2"),
    ("yes_if", "0.9"),
    ("yes_else", "0.05"),
    ("mend", "\"Change the antenna\""),
    ("mend_how", "\"Lift the old plug straight up.\""),
    ("mend_minutes", "15"),
    ("cures", "0.9"),
    ("energises", "[\"receiver\"]"),
];

/// Every table of keys here, by its header.
#[cfg(test)]
pub(super) const ALL: &[(&str, Keys)] = &[("[[fault]]", FAULT)];

/// The greatest weight of a cause.
const MOST_WEIGHT: f64 = 10_000.0;

pub(super) fn faults(desk: &mut Desk<'_>, top: &Section<'_>) -> Vec<FamilyFault> {
    let mut out: Vec<FamilyFault> = Vec::new();
    for section in top.sections(desk, "fault", FAULT) {
        let symptom = key(desk, &section, "symptom");
        let name = key(desk, &section, "key");
        let double = |one: &FamilyFault| one.symptom == symptom && one.key == name;
        if !symptom.is_empty() && !name.is_empty() && out.iter().any(double) {
            let says = format!(
                "says \"{}\", which \"{}\" has already; keep one of the two, or give it another key",
                shown(&name),
                shown(&symptom)
            );
            section.get("key").report(desk, says);
        }
        let there = |key: &'static str| section.get(key).there();
        if !["label", "weight", "ask", "mend"].into_iter().any(there) {
            let says = "says nothing about the cause; give it a `label`, a `weight`, an `ask` or a `mend`";
            desk.report(section.line(), section.path(), says);
        }
        let mut fault = FamilyFault {
            symptom,
            key: name,
            label: section.get("label").filled(desk),
            weight: section.get("weight").number(desk, 0.0, MOST_WEIGHT),
            ask: section.get("ask").filled(desk),
            ask_how: section.get("ask_how").text(desk).unwrap_or_default(),
            ask_minutes: minutes(desk, &section, "ask", "ask_minutes"),
            yes_if: chance(desk, &section, "yes_if", FamilyFault::USUAL_YES_IF),
            yes_else: chance(desk, &section, "yes_else", FamilyFault::USUAL_YES_ELSE),
            mend: section.get("mend").filled(desk),
            mend_how: section.get("mend_how").text(desk).unwrap_or_default(),
            mend_minutes: minutes(desk, &section, "mend", "mend_minutes"),
            cures: chance(desk, &section, "cures", FamilyFault::USUAL_CURES),
            energises: Vec::new(),
        };
        told(desk, &section, &fault);
        fault.energises = energises(desk, &section);
        out.push(fault);
    }
    out
}

/// What fault models call a cause that they don't list.
const UNLISTED: &str = "unlisted";

/// A key of letters, digits and underscores; empty where it was reported.
fn key(desk: &mut Desk<'_>, section: &Section<'_>, name: &'static str) -> String {
    let Some(text) = section.need(desk, name).filled(desk) else { return String::new() };
    if name == "key" && text == UNLISTED {
        section
            .get(name)
            .report(desk, "is the word for a cause that is in no list; give the cause another key");
        return String::new();
    }
    if text.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'_') {
        return text;
    }
    let says =
        format!("is \"{}\"; a key has letters a to z, digits and _ only, as in `wont_pair`", shown(&text));
    section.get(name).report(desk, says);
    String::new()
}

/// A likelihood, or what is put in its place when it isn't said.
fn chance(desk: &mut Desk<'_>, section: &Section<'_>, name: &'static str, usual: f64) -> f64 {
    section.get(name).number(desk, 0.0, 1.0).unwrap_or(usual)
}

/// How long a step takes, where there is one.
fn minutes(
    desk: &mut Desk<'_>,
    section: &Section<'_>,
    step: &'static str,
    name: &'static str,
) -> Option<Minutes> {
    section.get(step).there().then(|| section.need(desk, name).minutes(desk))
}

/// What goes only with a question or a mend, and whether a yes points to the cause.
fn told(desk: &mut Desk<'_>, section: &Section<'_>, fault: &FamilyFault) {
    if !section.get("mend").there() {
        section.only_with(desk, &["mend_how", "mend_minutes", "cures"], "a `mend`");
    }
    if !section.get("ask").there() {
        section.only_with(desk, &["ask_how", "ask_minutes", "yes_if", "yes_else"], "an `ask`");
    } else if fault.yes_if <= fault.yes_else {
        let at = if section.get("yes_if").there() { "yes_if" } else { "yes_else" };
        let says = format!(
            "makes a yes no likelier with this cause ({}) than with another ({}): no answer would point \
             to it; correct `yes_if` or `yes_else`, or turn the question round",
            fault.yes_if, fault.yes_else
        );
        section.get(at).report(desk, says);
    }
}

/// What the check and the mend switch on: said whenever there is either, so that no caution
/// is missing by oversight.
fn energises(desk: &mut Desk<'_>, section: &Section<'_>) -> Vec<Energised> {
    let step = section.get("ask").there() || section.get("mend").there();
    let slot = if step { section.need(desk, "energises") } else { section.get("energises") };
    let choices = Energised::ALL.map(|one| (one.word(), one));
    let out = slot.choices(desk, &choices);
    if !step && !out.is_empty() {
        section.only_with(desk, &["energises"], "an `ask` or a `mend`");
    }
    out
}
