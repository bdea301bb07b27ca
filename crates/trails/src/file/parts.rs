//! Everything of a fault model file but its steps.

use register::desk::telling::{nearest, shown};
use register::desk::{Desk, Section};
use register::family::Energised;
use register::rule::Rule;
use units::Minutes;

use super::{CAUSE, COVER, GIVE_UP, MODEL, MOST_WEIGHT, PROOF, USUAL_SECOND};
use crate::model::{Cause, Cover, GiveUp, Proof, Trait};

/// What stands under `[model]`.
pub(super) struct Head {
    pub key: String,
    pub name: String,
    pub about: String,
    pub unlisted: f64,
    pub second: f64,
    pub comeback: Option<Minutes>,
}

pub(super) fn head(desk: &mut Desk<'_>, top: &Section<'_>) -> Head {
    let mut head = Head {
        key: String::new(),
        name: String::new(),
        about: String::new(),
        unlisted: 0.0,
        second: USUAL_SECOND,
        comeback: None,
    };
    top.need(desk, "model");
    if let Some(section) = top.section(desk, "model", MODEL) {
        head.key = key(desk, &section);
        head.name = section.need(desk, "name").filled(desk).unwrap_or_default();
        head.about = section.get("about").text(desk).unwrap_or_default();
        head.unlisted = section.need(desk, "unlisted").number(desk, 0.0, MOST_WEIGHT).unwrap_or_default();
        head.second = section.get("second").number(desk, 0.0, 1.0).unwrap_or(USUAL_SECOND);
        let comeback = section.get("comeback_minutes");
        head.comeback = comeback.there().then(|| comeback.minutes(desk));
    }
    head
}

/// Whether a text can be a key.
fn is_key(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'_')
}

/// The section's `key`; empty where it was reported.
pub(super) fn key(desk: &mut Desk<'_>, section: &Section<'_>) -> String {
    let slot = section.need(desk, "key");
    let Some(text) = slot.filled(desk) else { return String::new() };
    if is_key(&text) {
        return text;
    }
    let says = format!("is \"{}\"; a key has letters a to z, digits and _ only", shown(&text));
    slot.report(desk, says);
    String::new()
}

/// Reports a key that another of the same sort has.
pub(super) fn once<'k>(
    desk: &mut Desk<'_>,
    section: &Section<'_>,
    key: &str,
    mut others: impl Iterator<Item = &'k str>,
    what: &str,
) {
    if !key.is_empty() && others.any(|other| other == key) {
        let says = format!("is \"{}\", which another {what} has already; give it another key", shown(key));
        section.get("key").report(desk, says);
    }
}

/// What to say of a key that nothing has.
pub(super) fn unknown<'k>(
    text: &str,
    there: impl Iterator<Item = &'k str>,
    what: &str,
    header: &str,
) -> String {
    match nearest(text, there.filter(|key| !key.is_empty())) {
        Some(near) => format!("is not the key of a {what}; did you mean `{near}`?"),
        None => format!("is not the key of a {what}; write a section {header} with it, or leave it out"),
    }
}

pub(super) fn energises(desk: &mut Desk<'_>, section: &Section<'_>) -> Vec<Energised> {
    section.get("energises").choices(desk, &Energised::ALL.map(|one| (one.word(), one)))
}

pub(super) fn wants(desk: &mut Desk<'_>, section: &Section<'_>) -> Vec<Trait> {
    section.get("wants").choices(desk, &Trait::ALL.map(|one| (one.word(), one)))
}

pub(super) fn rule(desk: &mut Desk<'_>, section: &Section<'_>) -> Option<Rule> {
    section.get("rule").choice(desk, &Rule::ALL.map(|one| (one.word(), one)))
}

pub(super) fn give_up(desk: &mut Desk<'_>, top: &Section<'_>) -> Option<GiveUp> {
    let section = top.section(desk, "give_up", GIVE_UP)?;
    Some(GiveUp {
        label: section.need(desk, "label").filled(desk).unwrap_or_default(),
        minutes: section.need(desk, "minutes").minutes(desk),
    })
}

pub(super) fn covers(desk: &mut Desk<'_>, top: &Section<'_>) -> Vec<Cover> {
    let sections = top.sections(desk, "cover", COVER);
    let mut out: Vec<Cover> = Vec::new();
    for section in &sections {
        let key = key(desk, section);
        once(desk, section, &key, out.iter().map(|cover| cover.key.as_str()), "cover");
        out.push(Cover {
            key,
            label: section.need(desk, "label").filled(desk).unwrap_or_default(),
            inside: None,
            open: section.need(desk, "open_minutes").minutes(desk),
            close: section.need(desk, "close_minutes").minutes(desk),
            wants: wants(desk, section),
        });
    }
    // A cover may stand inside one that is written after it.
    for (at, section) in sections.iter().enumerate() {
        let slot = section.get("inside");
        let Some(outer) = slot.filled(desk) else { continue };
        out[at].inside = out.iter().position(|cover| cover.key == outer);
        if out[at].inside.is_none() {
            let says = unknown(&outer, out.iter().map(|cover| cover.key.as_str()), "cover", "[[cover]]");
            slot.report(desk, format!("is \"{}\", which {says}", shown(&outer)));
        }
    }
    // A ring is told once, at the first cover in it.
    let mut told = vec![false; out.len()];
    for (at, section) in sections.iter().enumerate() {
        let mut ring = Vec::new();
        let mut next = out[at].inside;
        while let Some(outer) = next.filter(|outer| *outer != at && ring.len() <= out.len()) {
            ring.push(outer);
            next = out[outer].inside;
        }
        if next == Some(at) && !told[at] {
            section.get("inside").report(desk, "puts the cover inside itself; take one `inside` away");
            for outer in ring {
                told[outer] = true;
            }
        }
    }
    out
}

pub(super) fn causes(desk: &mut Desk<'_>, top: &Section<'_>, unlisted: f64) -> Vec<Cause> {
    let slot = top.need(desk, "cause");
    let sections = top.sections(desk, "cause", CAUSE);
    let mut out: Vec<Cause> = Vec::new();
    for section in &sections {
        let key = key(desk, section);
        once(desk, section, &key, out.iter().map(|cause| cause.key.as_str()), "cause");
        if key == "unlisted" {
            section.get("key").report(
                desk,
                "is \"unlisted\", which stands for what is not in the list; give it another key",
            );
        }
        out.push(Cause {
            key,
            label: section.need(desk, "label").filled(desk).unwrap_or_default(),
            weight: section.need(desk, "weight").number(desk, 0.0, MOST_WEIGHT).unwrap_or_default(),
            rule: rule(desk, section),
            wants: wants(desk, section),
        });
    }
    if slot.is_empty_list() {
        slot.report(desk, "has none in it; add a section [[cause]]");
    }
    let weightless = |section: &Section<'_>| section.get("weight").there();
    if !sections.is_empty()
        && sections.iter().all(weightless)
        && !(unlisted > 0.0 || out.iter().any(|cause| cause.weight > 0.0))
    {
        slot.report(desk, "has no weight in any of them; give at least one a `weight` above 0");
    }
    out
}

pub(super) fn proofs(desk: &mut Desk<'_>, top: &Section<'_>) -> Vec<Proof> {
    let mut out: Vec<Proof> = Vec::new();
    for section in &top.sections(desk, "proof", PROOF) {
        let key = key(desk, section);
        once(desk, section, &key, out.iter().map(|proof| proof.key.as_str()), "proof");
        out.push(Proof {
            key,
            text: section.need(desk, "text").filled(desk).unwrap_or_default(),
            minutes: section.get("minutes").minutes(desk),
            energises: energises(desk, section),
        });
    }
    out
}
