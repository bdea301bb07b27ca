//! Pulses that fit a part or don't, and the steps that reach it.

use units::Micros;

use super::say::{Found, figure, list};
use super::taken::{Line, Pulses, Taken};
use super::{Hung, Sender, Sends, Sort};
use crate::finding::Weight;

/// Centres further apart than this, µs, are two kinds of pulse (1500 and 760 µs): our judgement.
const OTHER_KIND: f64 = 200.0;
/// The coarsest dead band of an analogue servo, µs (4 to 8 µs; common practice, no source).
pub(super) const DEAD_BAND: f64 = 8.0;
/// Beyond a part's end by more than this, µs, it may jam against its stop: our judgement.
const FAR_OUTSIDE: f64 = 50.0;
/// Beyond it by no more than this, µs (about a degree), it is worth knowing only: our judgement.
const JUST_OUTSIDE: f64 = 15.0;
/// Less of a part's range, or of the steps, than this share is worth a note: our judgement.
const MUCH: f64 = 0.7;

/// One step of the pulse where a range is told apart in so many steps.
///
/// ```
/// use units::Micros;
/// // Ten bits over 1000 µs.
/// assert!((fitting::outputs::step(Micros(1000.0), 1024).0 - 0.976_563).abs() < 5e-7);
/// ```
pub fn step(range: Micros, steps: u32) -> Micros {
    range / f64::from(steps.max(1))
}

/// How many steps there are in a part of the range.
pub fn steps_within(range: Micros, step: Micros) -> f64 {
    if step.0 > 0.0 { range.0 / step.0 } else { 0.0 }
}

pub(super) fn check(taken: &Taken<'_>, found: &mut Found) {
    let mut unknown = Vec::new();
    for line in taken.lines.iter().filter(|line| line.output.sends == Sends::Pulses) {
        for part in line.parts.iter().filter(|part| part.takes_pulses()) {
            let mut kind_differs = false;
            for (labels, pulses) in taken.pulses(line) {
                let with = taken.with(&labels);
                let sent = Sent { line, part, pulses, with: &with };
                if other_kind(&sent, found) {
                    kind_differs = true;
                } else {
                    centre(&sent, found);
                    outside(&sent, found);
                    partly(&sent, found);
                }
            }
            for sender in taken.outputs.senders.iter().filter(|_| !kind_differs) {
                steps(line, part, sender, found);
            }
            if part.low.is_none() || part.high.is_none() {
                unknown.push(part.name.clone());
            }
        }
    }
    if !unknown.is_empty() {
        found.leave(&format!(
            "Which pulses these take isn't written down, so whether they suit wasn't checked: {}.",
            list(&unknown)
        ));
    }
}

struct Sent<'s> {
    line: &'s Line<'s>,
    part: &'s Hung,
    pulses: Pulses,
    /// Words for the transmitters where it isn't all of them.
    with: &'s str,
}

impl Sent<'_> {
    fn says(&self) -> String {
        format!(
            "{} sends {} to {} µs{}",
            self.line.begins(),
            us(self.pulses.shortest()),
            us(self.pulses.longest()),
            self.with
        )
    }
}

fn us(micros: f64) -> String {
    figure(micros, 1)
}

fn other_kind(sent: &Sent<'_>, found: &mut Found) -> bool {
    let part = sent.part;
    let middle = part.middle().0;
    if part.sort != Sort::Servo || (sent.pulses.centre - middle).abs() <= OTHER_KIND {
        return false;
    }
    let written = part.centre.is_some() || (part.low.is_some() && part.high.is_some());
    let known = if written {
        format!("{} is made for a centre of {} µs", part.name, us(middle))
    } else {
        format!("no centre is written down for {}, so {} µs is taken", part.name, us(middle))
    };
    let consequence = if sent.pulses.centre > middle {
        "A narrow-pulse servo runs against its stop as soon as it has power, with its full current: it can strip \
         its gears, burn out, or take the receiver's supply down."
    } else {
        "A servo for ordinary pulses runs against its stop as soon as it has power, with its full current: it can \
         strip its gears, burn out, or take the receiver's supply down."
    };
    found.add(
        "pulse_kind_differs",
        if written { Weight::Fault } else { Weight::Warning },
        part.name.clone(),
        [
            format!(
                "{} sends pulses round {} µs; {known}.",
                sent.line.begins(),
                us(sent.pulses.centre)
            ),
            consequence.to_owned(),
            format!(
                "Before it gets power, set the output to the part's kind of pulse (centre {} µs), or plug it into an \
                 output that has it; check the centre in the part's data sheet.",
                us(middle)
            ),
        ],
    );
    true
}

fn centre(sent: &Sent<'_>, found: &mut Found) {
    let part = sent.part;
    let Some(centre) = part.centre.filter(|_| part.sort == Sort::Servo) else { return };
    let off = sent.pulses.centre - centre.0;
    if off.abs() <= part.dead_band.map_or(DEAD_BAND, |band| band.0) {
        return;
    }
    found.add(
        "centre_off",
        Weight::Note,
        part.name.clone(),
        [
            format!(
                "{} sends {} µs in the middle{}; {} has its middle at {} µs.",
                sent.line.begins(),
                us(sent.pulses.centre),
                sent.with,
                part.name,
                us(centre.0)
            ),
            format!(
                "With stick and trim in the middle it stands {}° off its own middle, and has less travel on one side.",
                figure(off.abs() * part.deg_per_us, 1)
            ),
            "Set the output's centre to the part's, then set the linkage.".to_owned(),
        ],
    );
}

fn outside(sent: &Sent<'_>, found: &mut Found) {
    let part = sent.part;
    let under = part.low.map_or(0.0, |low| low.0 - sent.pulses.shortest());
    let over = part.high.map_or(0.0, |high| sent.pulses.longest() - high.0);
    let most = under.max(over);
    if most <= 0.0 {
        return;
    }
    let takes = match (part.low, part.high) {
        (Some(low), Some(high)) => format!("{} to {} µs", us(low.0), us(high.0)),
        (Some(low), None) => format!("{} µs and more", us(low.0)),
        (None, high) => format!("up to {} µs", us(high.map_or(0.0, |high| high.0))),
    };
    let consequence = match part.sort {
        Sort::Servo => {
            "A servo that is sent past its range runs against its stop and holds it with its full current, or \
             doesn't follow at all."
        }
        Sort::SpeedController => {
            "It may take such a pulse for none, or learn other ends than the rest of the stick's travel has."
        }
        _ => "What it does with such a pulse is not known.",
    };
    found.add(
        "range_outside",
        match most {
            most if most > FAR_OUTSIDE => Weight::Fault,
            most if most > JUST_OUTSIDE => Weight::Warning,
            _ => Weight::Note,
        },
        part.name.clone(),
        [
            format!("{}; {} takes {takes}.", sent.says(), part.name),
            consequence.to_owned(),
            format!("Bring the channel's ends {} µs in, or use a part with a wider range.", us(most)),
        ],
    );
}

fn partly(sent: &Sent<'_>, found: &mut Found) {
    let part = sent.part;
    let (Some(low), Some(high)) = (part.low, part.high) else { return };
    let used = sent.pulses.longest().min(high.0) - sent.pulses.shortest().max(low.0);
    let share = used.max(0.0) / (high.0 - low.0);
    if share >= MUCH {
        return;
    }
    found.add(
        "range_partly_used",
        Weight::Note,
        part.name.clone(),
        [
            format!(
                "{}; {} takes {} to {} µs, so {} % of its range is used.",
                sent.says(),
                part.name,
                us(low.0),
                us(high.0),
                figure(share * 100.0, 0)
            ),
            match part.sort {
                Sort::SpeedController => "The motor may not reach its full power, or not its idle.".to_owned(),
                _ => "It goes a part of its way only; its play and its steps count for more of the surface's travel."
                    .to_owned(),
            },
            "If its ends may be used, widen the channel's ends and shorten the linkage's arm at the servo; else leave \
             it."
            .to_owned(),
        ],
    );
}

fn steps(line: &Line<'_>, part: &Hung, sender: &Sender, found: &mut Found) {
    let Some(steps) = sender.steps.filter(|_| part.sort == Sort::Servo) else { return };
    let pulses = super::taken::from(line, Some(sender));
    let sent = sender.high.0 - sender.low.0;
    // An output that is wider than what is sent is stretched; one that is narrower is cut.
    let one = step(Micros(sent.max(pulses.span())), steps);
    let low = part.low.map_or(pulses.shortest(), |low| low.0.max(pulses.shortest()));
    let high = part.high.map_or(pulses.longest(), |high| high.0.min(pulses.longest()));
    let reach = steps_within(Micros((high - low).max(0.0)), one);
    let apiece = format!(
        "{steps} steps of {} over {} µs are {} µs apiece",
        sender.label,
        us(sent.max(pulses.span())),
        figure(one.0, 3)
    );
    if let Some(band) = part.dead_band.filter(|band| one > *band) {
        found.add(
            "steps_coarse",
            Weight::Note,
            part.name.clone(),
            [
                format!(
                    "{apiece}; {} could tell {} µs apart: its dead band has room for {} places over its {} µs, and \
                     {} are sent.",
                    part.name,
                    figure(band.0, 3),
                    figure(steps_within(Micros((high - low).max(0.0)), band), 0),
                    us((high - low).max(0.0)),
                    figure(reach, 0)
                ),
                format!(
                    "The surface goes in steps of {}°, coarser than the servo could.",
                    figure(one.0 * part.deg_per_us, 3)
                ),
                "Use a mode with more steps where the link has one, or don't stretch the output beyond what is sent."
                    .to_owned(),
            ],
        );
    }
    if reach < MUCH * f64::from(steps) {
        found.add(
            "steps_lost",
            Weight::Note,
            part.name.clone(),
            [
                format!(
                    "{apiece}; between {} and {} µs {} of them reach {}.",
                    us(low),
                    us(high.max(low)),
                    figure(reach, 0),
                    part.name
                ),
                format!(
                    "The stick's whole travel moves it in {} steps instead of {steps}.",
                    figure(reach, 0)
                ),
                "Where the part takes it, use more of the channel's range and take the travel away at the \
                 linkage."
                    .to_owned(),
            ],
        );
    }
}
