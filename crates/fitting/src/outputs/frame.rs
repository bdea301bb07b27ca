//! Frames: rates that parts take, room for the pulses.

use units::{Hertz, Micros};

use super::Sort;
use super::say::{Found, figure};
use super::taken::Taken;
use crate::finding::Weight;

/// A part that takes 50 Hz takes frames of 18 ms too: 18 to 22 ms are seen (common practice, no
/// source).
const SLOW: f64 = 1e6 / 18_000.0;

/// What an output needs between the end of its longest pulse and the next one, µs: our judgement.
const ROOM: f64 = 300.0;

/// What is left of a frame after its longest pulse; less than nothing where the pulse is longer.
///
/// ```
/// use units::{Hertz, Micros};
/// let rest = fitting::outputs::frame_rest(Hertz(333.0), Micros(2100.0));
/// assert!((rest.0 - 903.0).abs() < 0.01);
/// ```
pub fn frame_rest(rate: Hertz, longest: Micros) -> Micros {
    Micros(1e6 / rate.0) - longest
}

/// What is left of a frame for its pause after the pulses of a train's channels, all at their
/// longest; less than nothing where they take longer than the frame.
pub fn train_rest(frame: Micros, channels: u32, longest: Micros) -> Micros {
    frame - longest * f64::from(channels)
}

pub(super) fn check(taken: &Taken<'_>, found: &mut Found) {
    for line in &taken.lines {
        match line.output.sends {
            super::Sends::Pulses => {
                rates(line, found);
                room(taken, line, found);
            }
            super::Sends::Train => train(taken, line, found),
            super::Sends::Stream | super::Sends::Nothing => {}
        }
    }
    groups(taken, found);
}

fn rates(line: &super::taken::Line<'_>, found: &mut Found) {
    let rate = line.output.rate.0;
    for part in line.parts.iter().filter(|part| part.takes_pulses()) {
        let taken_as = matches!(part.sort, Sort::Servo | Sort::SpeedController).then_some(Hertz(50.0));
        let Some(fastest) = part.fastest.or(taken_as) else { continue };
        if rate <= fastest.0.max(SLOW) {
            continue;
        }
        let known = if part.fastest.is_some() {
            format!("takes at most {} Hz", figure(fastest.0, 2))
        } else {
            "has no fastest rate written down, so 50 Hz is taken, as for an analogue one".to_owned()
        };
        let consequence = match part.sort {
            Sort::Servo => {
                "A servo that is driven faster than it was made for runs hot, jitters and can burn out in the air."
            }
            _ => "It may not follow the pulses, or not start at all.",
        };
        found.add(
            "rate_too_fast",
            if part.fastest.is_some() { Weight::Fault } else { Weight::Warning },
            part.name.clone(),
            [
                format!("{} sends {} Hz; {} {known}.", line.begins(), figure(rate, 2), part.name),
                consequence.to_owned(),
                match line.output.group {
                    Some(group) => format!(
                        "Set group {group} to {} Hz or less, move the part to a group that has such a rate, or look \
                         its fastest rate up in its data sheet and write it down.",
                        figure(fastest.0, 2)
                    ),
                    None => format!(
                        "Set the output to {} Hz or less, or look the part's fastest rate up in its data sheet and \
                         write it down.",
                        figure(fastest.0, 2)
                    ),
                },
            ],
        );
    }
}

fn room(taken: &Taken<'_>, line: &super::taken::Line<'_>, found: &mut Found) {
    let rate = line.output.rate;
    let longest = taken.pulses(line).iter().map(|(_, pulses)| pulses.longest()).fold(0.0, f64::max);
    let rest = frame_rest(rate, Micros(longest)).0;
    if rest >= ROOM {
        return;
    }
    let fits = (1e6 / (longest + ROOM)).floor();
    let ms = |us: f64| figure(us * 1e-3, 3);
    let frame = ms(1e6 / rate.0);
    let (weight, says, consequence) = if rest <= 0.0 {
        (
            Weight::Fault,
            format!("its longest pulse of {} ms doesn't fit in", ms(longest)),
            "The output can't send that pulse: the part stops short of its end, or jumps.".to_owned(),
        )
    } else {
        (
            Weight::Warning,
            format!("its longest pulse of {} ms leaves {} ms", ms(longest), ms(rest)),
            "With so short a pause a part may not tell one pulse from the next.".to_owned(),
        )
    };
    found.add(
        "frame_too_short",
        weight,
        line.name(),
        [
            format!("{} sends {} Hz, a frame of {frame} ms; {says}.", line.begins(), figure(rate.0, 2)),
            consequence,
            format!("Set the rate to {} Hz or less, or narrow the pulses.", figure(fits, 0)),
        ],
    );
}

fn train(taken: &Taken<'_>, line: &super::taken::Line<'_>, found: &mut Found) {
    let longest = taken.pulses(line).iter().map(|(_, pulses)| pulses.longest()).fold(0.0, f64::max);
    let (frame, channels) = (1e6 / line.output.rate.0, line.output.train_channels);
    let rest = train_rest(Micros(frame), channels, Micros(longest)).0;
    // The pause is how the other end finds the first channel: it must be longer than any pulse.
    if rest > longest + 1e-3 {
        return;
    }
    let ms = |us: f64| figure(us * 1e-3, 3);
    found.add(
        "train_too_long",
        Weight::Fault,
        line.name(),
        [
            format!(
                "{} sends {channels} channels of up to {} ms in a frame of {} ms: {} ms with all at their longest, \
                 which leaves {} ms of pause.",
                line.begins(),
                ms(longest),
                ms(frame),
                ms(longest * f64::from(channels)),
                ms(rest.max(0.0))
            ),
            format!(
                "The pause must be longer than any pulse ({} ms), else the other end can take a pulse for the pause \
                 and put every channel on the wrong function.",
                ms(longest)
            ),
            format!(
                "Send fewer channels, or set the rate to {} Hz or less.",
                figure((1e7 / (longest * (f64::from(channels) + 1.0))).floor() / 10.0, 1)
            ),
        ],
    );
}

fn groups(taken: &Taken<'_>, found: &mut Found) {
    for (at, line) in taken.lines.iter().enumerate() {
        let Some(group) = line.output.group else { continue };
        let first = taken.lines[..at].iter().find(|other| {
            other.output.group == Some(group) && other.receiver.to_lowercase() == line.receiver.to_lowercase()
        });
        let Some(first) = first.filter(|first| first.output.rate != line.output.rate) else { continue };
        found.add(
            "group_rates_differ",
            Weight::Warning,
            line.name(),
            [
                format!(
                    "{} and {} are both in group {group}, but {} Hz and {} Hz are written down.",
                    first.begins(),
                    line.name(),
                    figure(first.output.rate.0, 2),
                    figure(line.output.rate.0, 2)
                ),
                "A group has one rate, so one of the two is not what the part on it gets.".to_owned(),
                "Read the group's rate on the receiver and write the same on both outputs.".to_owned(),
            ],
        );
    }
}
