//! What an output sends and what its other end expects.

use super::say::Found;
use super::taken::{Line, Taken};
use super::{Hung, Sends, Sort};
use crate::finding::Weight;

pub(super) fn check(taken: &Taken<'_>, found: &mut Found) {
    for line in &taken.lines {
        for part in &line.parts {
            one(line, part, found);
            heard(line, part, found);
        }
    }
}

/// What a stream's other end does with it is set there.
fn heard(line: &Line<'_>, part: &Hung, found: &mut Found) {
    if !line.described && part.stream.is_some() {
        found.leave(&format!(
            "What {} sends isn't written down, so whether {} understands it wasn't checked.",
            line.name(),
            part.name
        ));
    } else if matches!(line.output.sends, Sends::Stream | Sends::Train)
        && (part.stream.is_some() || part.sort == Sort::Controller)
    {
        found.leave(&format!(
            "{} hears several channels on one wire: which of them does what there, and the motor's idle, weren't \
             checked.",
            part.name
        ));
    }
}

fn one(line: &Line<'_>, part: &Hung, found: &mut Found) {
    let output = &line.output;
    match (output.sends, part.stream.as_deref()) {
        (Sends::Pulses, None) => {}
        (Sends::Nothing, _) => found.add(
            "output_silent",
            Weight::Fault,
            part.name.clone(),
            [
                format!("{} sends nothing; {} hangs on it.", line.begins(), part.name),
                "It doesn't move at all.".to_owned(),
                "Give the output a channel, or plug the part into one that has one.".to_owned(),
            ],
        ),
        (Sends::Pulses, Some(want)) => found.add(
            "pulses_into_stream",
            Weight::Fault,
            part.name.clone(),
            [
                format!(
                    "{} sends the pulses of one channel; {} expects {}.",
                    line.begins(),
                    part.name,
                    quoted(want)
                ),
                "It hears no channel at all.".to_owned(),
                format!("Set the output to {}, or the part to pulses.", quoted(want)),
            ],
        ),
        (Sends::Stream | Sends::Train, None) => takes_pulses(line, part, found),
        (Sends::Train, Some(want)) if is_train(want) => {}
        (Sends::Train, Some(want)) => differs(line, part, "a train of pulses", &quoted(want), found),
        (Sends::Stream, Some(want)) => match output.stream.as_deref() {
            Some(have) if have.to_lowercase() == want.to_lowercase() => {}
            Some(have) => differs(line, part, &quoted(have), &quoted(want), found),
            None => found.add(
                "stream_not_named",
                Weight::Warning,
                line.name(),
                [
                    format!(
                        "{} sends a serial stream whose name isn't written down; {} expects {}.",
                        line.begins(),
                        part.name,
                        quoted(want)
                    ),
                    "Whether the two understand each other isn't known.".to_owned(),
                    "Read on the receiver which stream the output sends and write its name down.".to_owned(),
                ],
            ),
        },
    }
}

fn is_train(word: &str) -> bool {
    matches!(word.to_lowercase().as_str(), "train" | "pulse train")
}

fn quoted(name: &str) -> String {
    if is_train(name) { "a train of pulses".to_owned() } else { format!("the serial stream \"{name}\"") }
}

fn sent(line: &Line<'_>) -> String {
    match (line.output.sends, &line.output.stream) {
        (Sends::Train, _) => "a train of pulses".to_owned(),
        (_, Some(name)) => quoted(name),
        _ => "a serial stream".to_owned(),
    }
}

fn differs(line: &Line<'_>, part: &Hung, have: &str, want: &str, found: &mut Found) {
    found.add(
        "stream_differs",
        Weight::Fault,
        part.name.clone(),
        [
            format!("{} sends {have}; {} expects {want}.", line.begins(), part.name),
            "It hears no channel at all, or takes noise for one.".to_owned(),
            "Set both ends to the same; the receiver's and the part's manuals say which they know."
                .to_owned(),
        ],
    );
}

fn takes_pulses(line: &Line<'_>, part: &Hung, found: &mut Found) {
    let have = sent(line);
    if matches!(part.sort, Sort::Controller | Sort::Other) {
        found.add(
            "stream_not_named",
            Weight::Warning,
            part.name.clone(),
            [
                format!("{} sends {have}; what {} expects isn't written down.", line.begins(), part.name),
                "Whether the two understand each other isn't known.".to_owned(),
                "Read in the part's settings or manual which stream it expects and write its name down."
                    .to_owned(),
            ],
        );
        return;
    }
    found.add(
        "stream_into_pulses",
        Weight::Fault,
        part.name.clone(),
        [
            format!("{} sends {have}; {} takes pulses of one channel.", line.begins(), part.name),
            "It doesn't move, or twitches with every frame.".to_owned(),
            "Set the output to pulses, or plug the part into one that sends them; if the part does take a stream, write \
             its name down."
                .to_owned(),
        ],
    );
}
