//! The transmitters: one against the other, and the throttle of each.

use super::say::{Found, figure, list};
use super::taken::{Line, Pulses, Taken, from};
use super::{Facts, Hung, Rest, Role, Sender, Sends, Sort, function_root, is_throttle, order};
use crate::finding::Weight;

/// From this far above the pulse at which it stands, µs, a motor is taken to run: our judgement.
const OFF_IDLE: f64 = 50.0;
/// Ends of two transmitters further apart than this, µs, are worth a word: our judgement.
const OTHER_ENDS: f64 = 20.0;

pub(super) fn check(taken: &Taken<'_>, facts: &Facts, found: &mut Found) {
    let senders = &taken.outputs.senders;
    meant(senders, facts, found);
    if let Some((first, others)) = senders.split_first() {
        for other in others {
            orders(taken, first, other, found);
            directions(first, other, found);
            ends(first, other, found);
        }
    } else if !taken.lines.is_empty() {
        found.leave(
            "No transmitter is written down, so channel orders, channels and the throttle's idle weren't checked.",
        );
    }
    for line in taken.lines.iter().filter(|line| line.output.sends == Sends::Pulses) {
        for part in &line.parts {
            for sender in senders {
                throttle(&Driven { taken, line, part, sender }, facts, found);
            }
        }
    }
}

fn meant(senders: &[Sender], facts: &Facts, found: &mut Found) {
    for known in &facts.transmitters {
        if !senders.iter().any(|sender| known.is(&sender.label)) {
            found.add(
                "transmitter_not_written",
                Weight::Warning,
                known.label.clone(),
                [
                    format!("{} is meant to fly it and isn't written down here.", known.label),
                    "Whether its channels move the right parts wasn't checked.".to_owned(),
                    "Write down its channel order, or take it from those that fly this aircraft.".to_owned(),
                ],
            );
        }
    }
    for sender in senders {
        if !facts.transmitters.is_empty() && !facts.transmitters.iter().any(|known| known.is(&sender.label)) {
            found.add(
                "transmitter_not_meant",
                Weight::Note,
                sender.label.clone(),
                [
                    format!(
                        "{} is written down here; no model memory of it is kept for this aircraft.",
                        sender.label
                    ),
                    "The register doesn't know that it flies this aircraft.".to_owned(),
                    "Enter the model memory, or take the row away.".to_owned(),
                ],
            );
        }
    }
    if !senders.is_empty() && senders.iter().all(|sender| sender.role == Role::Second) {
        found.add(
            "no_main_transmitter",
            Weight::Warning,
            senders[0].label.clone(),
            [
                "Only second transmitters are written down, none that flies the aircraft.".to_owned(),
                "There is nothing to compare the second one with.".to_owned(),
                "Write down the teacher's transmitter too.".to_owned(),
            ],
        );
    }
}

/// A function by which channels of two transmitters compare: number and side stay.
fn alike(function: &str) -> String {
    let lower = function.to_lowercase();
    let mut out = function_root(function);
    for word in lower.split(|c: char| !c.is_alphanumeric()) {
        let side = match word {
            "left" | "l" => "left",
            "right" | "r" => "right",
            _ if !word.is_empty() && word.chars().all(|c| c.is_ascii_digit()) => word,
            _ => continue,
        };
        out = format!("{out} {side}");
    }
    out
}

/// Whether anything hears this channel.
fn used(taken: &Taken<'_>, channel: u32) -> bool {
    taken.lines.is_empty() || taken.lines.iter().any(|line| line.carries(channel))
}

fn orders(taken: &Taken<'_>, first: &Sender, other: &Sender, found: &mut Found) {
    let mut throttle = Vec::new();
    let mut surfaces = Vec::new();
    let mut rest = Vec::new();
    for channel in 1..=first.channels.min(other.channels) {
        let (Some(a), Some(b)) = (order::carried(first, channel), order::carried(other, channel)) else {
            continue;
        };
        if alike(a) == alike(b) || !used(taken, channel) {
            continue;
        }
        let moved: Vec<String> = taken
            .lines
            .iter()
            .filter(|line| line.output.sends == Sends::Pulses && line.output.channel == channel)
            .flat_map(|line| line.parts.iter().map(|part| part.name.clone()))
            .collect();
        let moves = if moved.is_empty() { String::new() } else { format!(" ({})", list(&moved)) };
        let says =
            format!("channel {channel} is {a} with {} and {b} with {}{moves}", first.label, other.label);
        if is_throttle(a) || is_throttle(b) {
            throttle.push(says);
        } else if stick(a) || stick(b) {
            surfaces.push(says);
        } else {
            rest.push(says);
        }
    }
    let about = || format!("{} and {}", first.label, other.name());
    let mend = format!(
        "Propeller off or aircraft held: change the channel order in {} to {}'s, then prove every direction and the \
         failsafe with each transmitter again.",
        other.label, first.label
    );
    if !throttle.is_empty() {
        throttle.extend(surfaces);
        found.add(
            "order_moves_throttle",
            Weight::Fault,
            about(),
            [
                format!("The throttle is on another channel: {}.", list(&throttle)),
                format!(
                    "With {} another stick runs the motor: it can start as soon as the receiver hears it, and the \
                     throttle stick moves something else.",
                    other.label
                ),
                mend,
            ],
        );
    } else if !surfaces.is_empty() {
        surfaces.extend(rest);
        found.add(
            "order_differs",
            Weight::Fault,
            about(),
            [
                format!("Channel orders differ: {}.", list(&surfaces)),
                format!("With {} a stick moves another surface than it should.", other.label),
                mend,
            ],
        );
        return;
    }
    if !rest.is_empty() {
        found.add(
            "order_differs",
            Weight::Warning,
            about(),
            [
                format!("Channel orders differ: {}.", list(&rest)),
                format!("With {} a switch does something else than it should.", other.label),
                mend_of(first, other),
            ],
        );
    }
}

fn mend_of(first: &Sender, other: &Sender) -> String {
    format!("Set those channels in {} as in {}, then try each one.", other.label, first.label)
}

fn stick(function: &str) -> bool {
    matches!(
        function_root(function).as_str(),
        "aileron" | "elevator" | "rudder" | "steering" | "elevon" | "v tail"
    )
}

fn directions(first: &Sender, other: &Sender, found: &mut Found) {
    let turned = |sender: &Sender, name: &str| sender.reversed.iter().any(|have| alike(have) == alike(name));
    let both = first.order.iter().filter(|name| other.order.iter().any(|have| alike(have) == alike(name)));
    let differ: Vec<&String> = both.filter(|name| turned(first, name) != turned(other, name)).collect();
    for name in differ {
        let motor = is_throttle(name);
        let (back, plain) = if turned(first, name) { (first, other) } else { (other, first) };
        found.add(
            "direction_differs",
            if motor || stick(name) { Weight::Fault } else { Weight::Warning },
            format!("{} and {}", first.label, other.name()),
            [
                format!("{} sends {name} reversed, {} doesn't.", back.label, plain.label),
                if motor {
                    "With one of the two the motor runs with the stick at rest.".to_owned()
                } else {
                    format!("With one of the two {name} goes the wrong way.")
                },
                format!(
                    "Propeller off or aircraft held: find out which of the two is right, set the other alike, and prove \
                     the directions with both.{}",
                    if motor { " Prove the failsafe again too." } else { "" }
                ),
            ],
        );
    }
}

fn ends(first: &Sender, other: &Sender, found: &mut Found) {
    if (first.low.0 - other.low.0).abs() <= OTHER_ENDS && (first.high.0 - other.high.0).abs() <= OTHER_ENDS {
        return;
    }
    let range = |one: &Sender| format!("{} to {} µs", figure(one.low.0, 1), figure(one.high.0, 1));
    found.add(
        "sent_range_differs",
        Weight::Warning,
        format!("{} and {}", first.label, other.name()),
        [
            format!("{} sends {}, {} sends {}.", first.label, range(first), other.label, range(other)),
            format!(
                "With {} the same stick gives another travel, and the throttle's ends lie elsewhere.",
                other.label
            ),
            format!(
                "Set the ends in {} to {}'s, then try the throttle's low end with the propeller off.",
                other.label, first.label
            ),
        ],
    );
}

/// A part that may be a throttle's, as one transmitter drives it.
#[derive(Clone, Copy)]
struct Driven<'d> {
    taken: &'d Taken<'d>,
    line: &'d Line<'d>,
    part: &'d Hung,
    sender: &'d Sender,
}

/// Whether a craft stays on ground or water, where controllers that go backwards stand in the middle;
/// nobody knows without words for it.
fn is_grounded(craft: &str) -> Option<bool> {
    use crate::failsafe::Sort;
    crate::aircraft::sort_of(craft).map(|sort| matches!(sort, Sort::Boat | Sort::Car))
}

/// Where a motor stands within its output's range.
fn runs(idle: f64, rest: f64, pulses: Pulses) -> bool {
    let place = (idle - pulses.shortest()) / pulses.span().max(1.0);
    if place < 0.35 {
        rest > idle + OFF_IDLE
    } else if place > 0.65 {
        rest < idle - OFF_IDLE
    } else {
        // It goes both ways.
        (rest - idle).abs() > OFF_IDLE
    }
}

/// The pulse that a throttle's part gets with the stick at rest, against the one at which its motor
/// stands.
fn throttle(driven: &Driven<'_>, facts: &Facts, found: &mut Found) {
    let Driven { taken, line, part, sender } = *driven;
    let Some(carried) = order::carried(sender, line.output.channel) else { return };
    let serves = taken.function(line, part).unwrap_or_default();
    if !part.takes_pulses() || !is_throttle(carried) || !is_throttle(&serves) {
        return;
    }
    if !matches!(part.sort, Sort::Servo | Sort::SpeedController) {
        return;
    }
    let pulses = from(line, Some(sender));
    if part.sort == Sort::Servo && part.idle.is_none() {
        found.leave(&format!(
            "At which pulse {} has the engine idle isn't written down, so the throttle's low end wasn't checked.",
            part.name
        ));
        return;
    }
    let taken_as = match (sender.throttle_rest, is_grounded(&facts.craft)) {
        (Rest::Centre, Some(true)) => {
            (pulses.centre, " (taken: the output's middle, as in most boats and cars)")
        }
        (Rest::Centre, None) if part.idle.is_none() => {
            found.leave(&format!(
                "{}'s throttle stick rests in its middle, and at which pulse the motor of {} stands isn't written \
                 down, so whether it runs then wasn't checked.",
                sender.label, part.name
            ));
            return;
        }
        _ => (pulses.shortest(), " (taken: the output's shortest pulse)"),
    };
    let (idle, said) = part.idle.map_or(taken_as, |idle| (idle.0, ""));
    let (rest, place) = match sender.throttle_rest {
        Rest::Low => (pulses.low, "at its low end"),
        Rest::Centre => (pulses.centre, "in its middle"),
        Rest::High => (pulses.high, "at its high end"),
    };
    if !runs(idle, rest, pulses) {
        return;
    }
    // At most half the range away it is no full throttle.
    let full = (rest - idle).abs() > 0.9 * pulses.span();
    found.add(
        "throttle_not_idle",
        Weight::Fault,
        part.name.clone(),
        [
            format!(
                "With {}'s throttle stick at rest ({place}) {} sends {} µs; the motor of {} stands at {} µs{}.",
                sender.label,
                line.name(),
                figure(rest, 1),
                part.name,
                figure(idle, 1),
                said
            ),
            if full {
                "The throttle is reversed: full throttle with the stick at rest, as soon as the motor has power."
                    .to_owned()
            } else {
                "The motor runs with the stick at rest, as soon as it has power.".to_owned()
            },
            if full {
                format!(
                    "Propeller off or aircraft held, before the motor's pack is connected: reverse the throttle in {} or \
                     at the output, then prove directions and failsafe again.",
                    sender.label
                )
            } else {
                "Propeller off or aircraft held, before the motor's pack is connected: bring the throttle's end or trim \
                 to the pulse at which the motor stands, or correct that pulse here, then prove directions and failsafe \
                 again."
                    .to_owned()
            },
        ],
    );
}
