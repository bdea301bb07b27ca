//! For each rule that can't be told, the look that settles it.

use units::Minutes;

use crate::family::{CheckedAt, ModelIdRule};
use crate::field::{Field, Part};
use crate::id::DeviceId;
use crate::rule::{Rule, Status};
use crate::scene::Scene;
use crate::value::EndRef;
use crate::verdict::Link;
use crate::view::{EndView, ReceiverView, TransmitterView};

/// A look that settles something.
#[derive(Clone, Debug, PartialEq)]
pub struct Check {
    /// The key of its minutes (`check.firmware`).
    pub key: &'static str,
    /// The rule it settles.
    pub rule: Rule,
    /// What to look at: device, part and fact; `None` where it is not one fact (a family
    /// file, a trial).
    pub fact: Option<(DeviceId, Part, Field)>,
    /// What to do.
    pub text: String,
    /// How long it takes.
    pub minutes: Minutes,
}

/// Both ends of a link.
pub(crate) struct Ends<'a> {
    pub t: &'a EndView,
    pub r: &'a EndView,
}

impl<'a> Ends<'a> {
    pub(crate) fn of(
        link: &Link,
        transmitter: &'a TransmitterView,
        receiver: &'a ReceiverView,
    ) -> Option<Ends<'a>> {
        let t = transmitter.ends.iter().find(|end| end.end == link.transmitter_end)?;
        let r = receiver.ends.iter().find(|end| end.end == link.receiver_end)?;
        Some(Ends { t, r })
    }
}

#[expect(clippy::too_many_lines, reason = "one arm a rule, each a sentence or two")]
/// The checks that settle what a link's rules leave open, the cheapest first. Where two
/// facts are missing for one rule both are listed, for both are needed.
pub fn checks(
    scene: &Scene,
    transmitter: &TransmitterView,
    receiver: &ReceiverView,
    link: &Link,
) -> Vec<Check> {
    let Some(ends) = Ends::of(link, transmitter, receiver) else { return Vec::new() };
    let rules = crate::rule::rules_for(ends.t, ends.r);
    let mut checks: Vec<Check> = Vec::new();
    let mut add = |key: &'static str, rule: Rule, fact: Option<(DeviceId, Part, Field)>, text: String| {
        let minutes = scene.register.minutes().lookup(key, rules);
        // One look that serves two rules is one look.
        if !checks.iter().any(|have| have.key == key && have.fact == fact) {
            checks.push(Check { key, rule, fact, text, minutes });
        }
    };
    let (tn, rn) = (link.transmitter.label(), link.receiver.label());
    for finding in link.findings.iter().filter(|finding| finding.status == Status::Unknown) {
        let rule = finding.rule;
        if rules.is_none() && !matches!(rule, Rule::Family | Rule::Band) {
            let family = ends.t.family.one().or(ends.r.family.one());
            if let Some(family) = family {
                add(
                    "check.family_file",
                    rule,
                    None,
                    format!(
                        "Write the family file of {family} from its manual, or get one from a club mate."
                    ),
                );
                continue;
            }
        }
        let open = |shown: &crate::verdict::Shown| shown.source.is_none() || shown.clash;
        let sides =
            [(open(&finding.transmitter), &ends.t.end, &tn), (open(&finding.receiver), &ends.r.end, &rn)];
        // Where both values are there and still don't tell, both are worth another look.
        let neither = !sides[0].0 && !sides[1].0;
        let each = |add: &mut dyn FnMut(&EndRef, &str)| {
            for (is_open, end, name) in &sides {
                if *is_open || neither {
                    add(end, name);
                }
            }
        };
        let fact = |end: &EndRef, field| Some((end.device, Part::End(end.end.clone()), field));
        match rule {
            Rule::Family => each(&mut |end, name| {
                add(
                    "check.family",
                    rule,
                    fact(end, Field::Family),
                    format!("Look which link family {name} speaks."),
                );
            }),
            Rule::Band => each(&mut |end, name| {
                add(
                    "check.band",
                    rule,
                    fact(end, Field::Band),
                    format!("Read the band on the label of {name}."),
                );
            }),
            Rule::Region => each(&mut |end, name| {
                add(
                    "check.region",
                    rule,
                    fact(end, Field::Region),
                    format!("Look which region variant {name} holds."),
                );
            }),
            Rule::Version => each(&mut |end, name| {
                add(
                    "check.firmware",
                    rule,
                    fact(end, Field::Firmware),
                    format!("Look which firmware {name} holds."),
                );
            }),
            Rule::Secret => each(&mut |end, name| {
                add(
                    "check.secret",
                    rule,
                    fact(end, Field::Secret),
                    format!("Look at the link secret of {name} and type it once, or note that it is blank."),
                );
            }),
            // Where the ends can't pair, no lamp shows whether they are paired.
            Rule::Pairing if link.answer(crate::rule::Question::CanPair) == crate::rule::Answer::No => {}
            Rule::Pairing => add("check.pairing", rule, fact(&ends.r.end, Field::Partners), {
                // A link that comes up brings an aircraft's motor to life.
                let first = if receiver.fitted_in().is_some() {
                    "Propeller off, or the aircraft held: switch"
                } else {
                    "Switch"
                };
                format!("{first} {tn} on, then {rn}, and look whether the lamp shows a link.")
            }),
            Rule::ModelId => {
                let at_receiver = !matches!(
                    rules.map(|family| &family.model_id),
                    Some(ModelIdRule::Checked { at: CheckedAt::Transmitter, .. })
                );
                let unknown_memory = transmitter
                    .memories
                    .iter()
                    .filter(|memory| memory.may_choose(&ends.t.end.end))
                    .filter(|memory| receiver.fitted_in().is_none_or(|aircraft| memory.flies(aircraft)))
                    .find(|memory| memory.model_id.one().is_none());
                let receiver_open = ends.r.model_id.one().is_none();
                if let Some(memory) = unknown_memory {
                    let part = Part::Memory(memory.key.clone());
                    add(
                        "check.memory",
                        rule,
                        Some((transmitter.card.id, part, Field::ModelId)),
                        format!("Look at the model ID of memory {} on {tn}.", memory.label),
                    );
                }
                if receiver_open {
                    let off = if at_receiver { ", and whether its check is on" } else { "" };
                    add(
                        "check.model_id",
                        rule,
                        fact(&ends.r.end, Field::ModelId),
                        format!("Look at the model ID of {rn}{off}."),
                    );
                }
                if unknown_memory.is_none() && !receiver_open {
                    let text = if transmitter.memories.is_empty() {
                        format!("Write down the model memories of {tn} with their model IDs.")
                    } else {
                        format!("Look through the model memories of {tn} that are only half written down.")
                    };
                    add("check.memory", rule, Some((transmitter.card.id, Part::Whole, Field::ModelId)), text);
                }
            }
        }
    }
    checks.sort_by(|a, b| {
        (a.minutes.hundredths(), a.key, &a.fact).cmp(&(b.minutes.hundredths(), b.key, &b.fact))
    });
    checks
}
