//! The facts that may be typed with a check's answer.

use register::check;
use register::family::Side;
use register::field::{Field, Part};

use super::FactAsked;
use super::bench::{Bench, GUEST_MEMORY};
use crate::evidence;
use crate::model::{Model, StepAt};

/// The facts that a check of a rule reads, of both ends.
pub(super) fn facts_asked(model: &Model, bench: &Bench<'_>, step: StepAt) -> Vec<FactAsked> {
    let Some(check) = model.steps[step].as_check() else { return Vec::new() };
    let Some(rule) = check.rule else { return Vec::new() };
    let field = check.field.unwrap_or_else(|| evidence::field_of(rule));
    // What a receiver remembers is seen by its lamp, not typed.
    if field == Field::Partners {
        return Vec::new();
    }
    let link = &bench.link;
    let finding = link.findings.iter().find(|finding| finding.rule == rule);
    let known = |shown: Option<&register::verdict::Shown>| {
        shown.map_or_else(|| "not known".to_owned(), |shown| shown.text.clone())
    };
    let end = |end: &register::value::EndRef| (end.device, Part::End(end.end.clone()));
    let looks = check::checks(&bench.scene, &bench.transmitter, &bench.receiver, link);
    let memory = looks.iter().find_map(|look| match &look.fact {
        Some((device, part @ Part::Memory(_), _)) if look.rule == rule => Some((*device, part.clone())),
        _ => None,
    });
    let transmitter = if field == Field::ModelId {
        if bench.guests.transmitter.is_some() {
            Some((link.transmitter.id, Part::Memory(GUEST_MEMORY.to_owned())))
        } else {
            let chosen = link.memory.as_ref();
            chosen.map(|(key, _)| (link.transmitter.id, Part::Memory(key.clone()))).or(memory)
        }
    } else {
        Some(end(&link.transmitter_end))
    };
    let sides = [
        (Side::Transmitter, transmitter, link.transmitter.label(), finding.map(|one| &one.transmitter)),
        (
            Side::Receiver,
            Some(end(&link.receiver_end)),
            link.receiver.label(),
            finding.map(|one| &one.receiver),
        ),
    ];
    sides
        .into_iter()
        .filter_map(|(side, place, name, shown)| {
            let (device, part) = place?;
            Some(FactAsked { side, device, part, field, name, known: known(shown) })
        })
        .collect()
}
