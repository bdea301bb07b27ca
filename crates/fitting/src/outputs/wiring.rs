//! Outputs, their channels and what hangs on them.

use units::Micros;

use super::say::{Found, figure, list};
use super::taken::{Line, Taken, from};
use super::{
    Carried, Direction, Facts, Hung, OnWire, Sender, Sends, Sort, Wire, function_root, is_throttle, order,
};
use crate::finding::{Finding, Weight};

pub(super) fn check(taken: &Taken<'_>, facts: &Facts, found: &mut Found) {
    receivers(taken, facts, found);
    twice(taken, found);
    for line in &taken.lines {
        shared(taken, line, found);
        sent(taken, line, found);
        bare(taken, line, found);
        for part in &line.parts {
            function(taken, line, part, found);
        }
    }
    without_output(taken, facts, found);
}

fn receivers(taken: &Taken<'_>, facts: &Facts, found: &mut Found) {
    if taken.lines.is_empty() || facts.receivers.is_empty() {
        return;
    }
    let fitted: Vec<String> = facts.receivers.iter().map(|one| one.label.clone()).collect();
    if taken.lines.iter().any(|line| line.receiver.is_empty()) {
        found.add(
            "receiver_not_named",
            Weight::Warning,
            "outputs",
            [
                format!(
                    "The aircraft has several receivers ({}); the outputs don't say whose they are.",
                    list(&fitted)
                ),
                "Two outputs with one number may be taken for the same.".to_owned(),
                "Name the receiver on every output and part.".to_owned(),
            ],
        );
        return;
    }
    for known in &facts.receivers {
        if !taken.lines.iter().any(|line| known.is(&line.receiver)) {
            found.add(
                "receiver_not_written",
                Weight::Warning,
                known.label.clone(),
                [
                    format!("{} is in the aircraft; no output of it is written down.", known.label),
                    "What hangs on it wasn't checked.".to_owned(),
                    "Write down what hangs on its outputs, or enter that it was taken out.".to_owned(),
                ],
            );
        }
    }
    for line in &taken.lines {
        if !facts.receivers.iter().any(|known| known.is(&line.receiver)) {
            found.add(
                "receiver_not_fitted",
                Weight::Warning,
                line.receiver.clone(),
                [
                    format!(
                        "Outputs of {} are written down; what is fitted in the aircraft: {}.",
                        line.receiver,
                        list(&fitted)
                    ),
                    "This text may tell of another aircraft, or of a receiver that is gone.".to_owned(),
                    "Name the receiver that is fitted, or enter that this one was put in.".to_owned(),
                ],
            );
        }
    }
}

fn twice(taken: &Taken<'_>, found: &mut Found) {
    for pair in taken.lines.windows(2) {
        let [a, b] = pair else { continue };
        if a.output.number != b.output.number || a.receiver.to_lowercase() != b.receiver.to_lowercase() {
            continue;
        }
        found.add(
            "output_listed_twice",
            Weight::Fault,
            a.name(),
            [
                format!(
                    "{} stands here twice: {} and {}.",
                    a.begins(),
                    describe(taken, a),
                    describe(taken, b)
                ),
                "Only one of the two can be so; what the parts on it get isn't known.".to_owned(),
                "Look at the receiver, then take the wrong row away or give it its own number.".to_owned(),
            ],
        );
    }
}

fn shared(taken: &Taken<'_>, line: &Line<'_>, found: &mut Found) {
    if line.parts.len() < 2 || line.output.sends != Sends::Pulses {
        return;
    }
    let names: Vec<String> = line.parts.iter().map(|part| part.name.clone()).collect();
    let roots: Vec<String> = line
        .parts
        .iter()
        .map(|part| taken.function(line, part).map(|name| function_root(&name)).unwrap_or_default())
        .collect();
    let alike = roots.iter().all(|root| *root == roots[0]);
    let sorts = line.parts.iter().all(|part| part.sort == line.parts[0].sort);
    let motor = line.parts.iter().any(|part| part.sort == Sort::SpeedController);
    let text =
        format!("{} carries {}: {}.", line.begins(), super::say::count(names.len(), "part"), list(&names));
    if alike && sorts {
        found.add(
            "output_shared",
            Weight::Note,
            line.name(),
            [
                text,
                "They get the same pulse: neither can be trimmed or reversed alone, and the output's plug carries the \
                 current of all."
                    .to_owned(),
                "Leave it if it is meant so; else give each its own output.".to_owned(),
            ],
        );
        return;
    }
    found.add(
        "output_used_twice",
        if motor || !alike { Weight::Fault } else { Weight::Warning },
        line.name(),
        [
            text,
            if motor {
                "What moves the one runs the motor.".to_owned()
            } else {
                "They move together, whatever each is for.".to_owned()
            },
            "Give each its own output; with a motor among them, take the propeller off before anything gets power."
                .to_owned(),
        ],
    );
}

fn sent(taken: &Taken<'_>, line: &Line<'_>, found: &mut Found) {
    if line.output.sends != Sends::Pulses || line.parts.is_empty() {
        return;
    }
    let channel = line.output.channel;
    let names: Vec<String> = line.parts.iter().map(|part| part.name.clone()).collect();
    for sender in &taken.outputs.senders {
        if channel > sender.channels {
            found.add(
                "channel_not_sent",
                Weight::Fault,
                line.name(),
                [
                    format!(
                        "{} ({}) carries channel {channel}; {} sends {}.",
                        line.begins(),
                        list(&names),
                        sender.name(),
                        super::say::count(sender.channels as usize, "channel")
                    ),
                    "It stays where the receiver puts a channel that nobody sends: in the middle, at its failsafe, or \
                     without pulses."
                        .to_owned(),
                    format!("Give the output a channel that {} sends, or have it send more.", sender.label),
                ],
            );
        } else if order::carried(sender, channel).is_none() {
            found.add(
                "channel_not_named",
                Weight::Note,
                line.name(),
                [
                    format!(
                        "{} ({}) carries channel {channel}; {}'s order doesn't say what that is.",
                        line.begins(),
                        list(&names),
                        sender.label
                    ),
                    "Whether it is the right channel wasn't checked.".to_owned(),
                    format!("Add the word for channel {channel} to the order of {}.", sender.label),
                ],
            );
        }
    }
}

fn bare(taken: &Taken<'_>, line: &Line<'_>, found: &mut Found) {
    if taken.outputs.parts.is_empty() || line.output.sends == Sends::Nothing {
        return;
    }
    // Also where the same output stands here twice.
    if taken.lines.iter().any(|other| other.name() == line.name() && !other.parts.is_empty()) {
        return;
    }
    found.add(
        "output_bare",
        Weight::Note,
        line.name(),
        [
            format!("{} sends {}; nothing hangs on it.", line.begins(), carries(taken, line)),
            "If something is plugged in there, it wasn't checked.".to_owned(),
            "Write down what hangs on it, or that it sends nothing.".to_owned(),
        ],
    );
}

/// What an output sends, in words.
fn carries(taken: &Taken<'_>, line: &Line<'_>) -> String {
    let channel = line.output.channel;
    match (line.output.sends, taken.first().and_then(|first| order::carried(first, channel))) {
        (Sends::Pulses, Some(function)) => format!("channel {channel} ({function})"),
        (Sends::Pulses, None) => format!("channel {channel}"),
        (Sends::Train, _) => "a train of pulses".to_owned(),
        (Sends::Stream, _) => "a serial stream".to_owned(),
        (Sends::Nothing, _) => "nothing".to_owned(),
    }
}

/// What a part is for, against what its channel carries.
fn function(taken: &Taken<'_>, line: &Line<'_>, part: &Hung, found: &mut Found) {
    if line.output.sends != Sends::Pulses || !part.takes_pulses() {
        return;
    }
    let carried = taken.first().and_then(|first| Some((first, order::carried(first, line.output.channel)?)));
    let Some((first, carried)) = carried else { return };
    let stick = matches!(function_root(carried).as_str(), "aileron" | "elevator" | "rudder");
    let wanted = match &part.function {
        Some(wanted) if function_root(wanted) != function_root(carried) => wanted.clone(),
        None if part.sort == Sort::SpeedController && stick => "throttle".to_owned(),
        _ => return,
    };
    if order::is_mixed(&wanted, carried) || order::is_mixed(carried, &wanted) {
        found.leave(&format!(
            "{} serves {wanted} on the channel of {carried}: what the mix sends there isn't known, so whether it is \
             the right channel wasn't checked.",
            part.name
        ));
        return;
    }
    let motor = is_throttle(&wanted) || is_throttle(carried) || part.sort == Sort::SpeedController;
    found.add(
        "function_differs",
        if motor || stick { Weight::Fault } else { Weight::Warning },
        part.name.clone(),
        [
            format!(
                "{} serves {wanted}; {} carries channel {}, which is {carried} with {}.",
                part.name,
                line.name(),
                line.output.channel,
                first.label
            ),
            if part.sort == Sort::SpeedController {
                format!("The {carried} stick runs the motor, at once and with the stick in its middle.")
            } else {
                format!("What is meant for {wanted} doesn't reach it; what is meant for {carried} does.")
            },
            "With the propeller off or the aircraft held: plug it into the output of its own channel, or change the \
             output's channel, then prove the directions."
                .to_owned(),
        ],
    );
}

fn without_output(taken: &Taken<'_>, facts: &Facts, found: &mut Found) {
    let Some(first) = taken.first().filter(|_| !taken.lines.is_empty()) else { return };
    for (channel, function) in (1_u32..).zip(&first.order) {
        if taken.lines.iter().any(|line| line.carries(channel)) {
            continue;
        }
        let root = function_root(function);
        let craft = facts.craft.to_lowercase();
        let unpowered = root == "throttle" && (craft.contains("glider") || craft.contains("sailplane"));
        // Many an aircraft has no rudder, or steers by it alone.
        let main = matches!(root.as_str(), "elevator" | "throttle" | "steering");
        found.add(
            "channel_without_output",
            if main && !unpowered { Weight::Warning } else { Weight::Note },
            format!("channel {channel}"),
            [
                format!("{} sends {function} on channel {channel}; no output carries it.", first.label),
                format!("Nothing on the aircraft answers to {function}."),
                "Give it an output and write down what hangs there, or leave it if the aircraft has no such thing."
                    .to_owned(),
            ],
        );
    }
}

impl Line<'_> {
    /// Whether a channel leaves the receiver here.
    pub(super) fn carries(&self, channel: u32) -> bool {
        let first = self.output.channel;
        match self.output.sends {
            Sends::Pulses => channel == first,
            Sends::Train => (first..first.saturating_add(self.output.train_channels)).contains(&channel),
            Sends::Stream => true,
            Sends::Nothing => false,
        }
    }
}

fn describe(taken: &Taken<'_>, line: &Line<'_>) -> String {
    let output = &line.output;
    let pulses = from(line, taken.first());
    let us = |micros: f64| figure(micros, 1);
    let range = format!("{} to {} µs", us(pulses.shortest()), us(pulses.longest()));
    let middle = format!("{} µs in the middle", us(pulses.centre));
    let rate = format!("{} Hz", figure(output.rate.0, 2));
    let turned = if output.direction == Direction::Reversed { ", reversed" } else { "" };
    match (output.sends, &output.stream) {
        (Sends::Pulses, _) => format!("channel {}, {range}, {middle}, {rate}{turned}", output.channel),
        (Sends::Train, _) => format!(
            "a train of {} from channel {}, {range}, {rate}",
            super::say::count(output.train_channels as usize, "channel"),
            output.channel
        ),
        (Sends::Stream, Some(name)) => format!("the serial stream \"{name}\""),
        (Sends::Stream, None) => "a serial stream".to_owned(),
        (Sends::Nothing, _) => "nothing".to_owned(),
    }
}

/// The drawing.
pub(super) fn drawing(taken: &Taken<'_>, findings: &[Finding]) -> Vec<Wire> {
    taken.lines.iter().map(|line| wire(taken, line, findings)).collect()
}

fn wire(taken: &Taken<'_>, line: &Line<'_>, findings: &[Finding]) -> Wire {
    let output = &line.output;
    let pulses = from(line, taken.first());
    let carried = |sender: &Sender| Carried {
        transmitter: sender.label.clone(),
        function: order::carried(sender, output.channel).map(str::to_owned),
    };
    let name = line.name();
    let here = |about: &str| {
        about == name
            || line.parts.iter().any(|part| {
                about == part.name
                    || about.strip_prefix(&part.name).is_some_and(|rest| rest.starts_with(" and "))
                    || about.strip_suffix(&part.name).is_some_and(|rest| rest.ends_with(" and "))
            })
    };
    Wire {
        receiver: line.receiver.clone(),
        number: output.number,
        sends: output.sends,
        stream: output.stream.clone(),
        channel: output.channel,
        carries: taken.outputs.senders.iter().map(carried).collect(),
        pulses: pulses.all().map(Micros),
        rate: output.rate,
        direction: output.direction,
        parts: line
            .parts
            .iter()
            .map(|part| OnWire {
                name: part.name.clone(),
                sort: part.sort,
                surface: part.surface.clone(),
                function: taken.function(line, part),
            })
            .collect(),
        weight: findings.iter().filter(|one| here(&one.about)).map(|one| one.weight).max(),
        says: describe(taken, line),
    }
}
