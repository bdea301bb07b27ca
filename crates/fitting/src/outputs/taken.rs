//! The text with everything taken that was left out: outputs that only parts name, pulses that are
//! the transmitter's, the aircraft's only receiver.

use units::{Hertz, Micros};

use super::read::{CENTRE, HIGH, LOW};
use super::{Direction, Facts, Hung, Output, Outputs, Role, Sender, Sends, order};

/// An output with what hangs on it.
pub(super) struct Line<'o> {
    pub output: Output,
    /// The receiver's label; empty where it isn't known.
    pub receiver: String,
    pub parts: Vec<&'o Hung>,
    /// Whether it has a row of its own.
    pub described: bool,
}

/// The whole.
pub(super) struct Taken<'o> {
    pub outputs: &'o Outputs,
    /// By receiver and number; an output with two rows is here twice, the parts on the first.
    pub lines: Vec<Line<'o>>,
}

/// The pulses of an output, from one transmitter: as they leave it at the stick's low end, middle
/// and high end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Pulses {
    pub low: f64,
    pub centre: f64,
    pub high: f64,
}

impl Pulses {
    pub fn shortest(self) -> f64 {
        self.low.min(self.high)
    }

    pub fn longest(self) -> f64 {
        self.low.max(self.high)
    }

    pub fn span(self) -> f64 {
        self.longest() - self.shortest()
    }

    pub fn all(self) -> [f64; 3] {
        [self.low, self.centre, self.high]
    }
}

impl<'o> Taken<'o> {
    pub fn of(outputs: &'o Outputs, facts: &Facts) -> Taken<'o> {
        let only = match facts.receivers.as_slice() {
            [one] => one.label.clone(),
            _ => String::new(),
        };
        let label = |named: &Option<String>| match named {
            None => only.clone(),
            Some(text) => {
                facts.receivers.iter().find(|one| one.is(text)).map_or(text.clone(), |one| one.label.clone())
            }
        };
        let mut lines: Vec<Line<'o>> = outputs
            .outputs
            .iter()
            .map(|output| Line {
                output: output.clone(),
                receiver: label(&output.receiver),
                parts: Vec::new(),
                described: true,
            })
            .collect();
        for part in &outputs.parts {
            let receiver = label(&part.receiver);
            let same = |line: &&mut Line<'_>| {
                line.output.number == part.output && line.receiver.to_lowercase() == receiver.to_lowercase()
            };
            if let Some(line) = lines.iter_mut().find(same) {
                line.parts.push(part);
            } else {
                lines.push(Line { output: plain(part), receiver, parts: vec![part], described: false });
            }
        }
        // Stable: rows of one output stay in their order.
        lines.sort_by(|a, b| (&a.receiver, a.output.number).cmp(&(&b.receiver, b.output.number)));
        Taken { outputs, lines }
    }

    /// The transmitter that the others are compared with: the first main one, else the first.
    pub fn first(&self) -> Option<&'o Sender> {
        self.outputs.senders.first()
    }

    /// Every output's pulses, each different set once, with the transmitters that ask for it.
    pub fn pulses(&self, line: &Line<'_>) -> Vec<(Vec<String>, Pulses)> {
        let mut out: Vec<(Vec<String>, Pulses)> = Vec::new();
        for sender in &self.outputs.senders {
            let pulses = from(line, Some(sender));
            match out.iter_mut().find(|(_, have)| *have == pulses) {
                Some((labels, _)) => labels.push(sender.label.clone()),
                None => out.push((vec![sender.label.clone()], pulses)),
            }
        }
        if out.is_empty() {
            out.push((Vec::new(), from(line, None)));
        }
        out
    }

    /// Words for the transmitters of a set of pulses: none where all ask for the same.
    pub fn with(&self, labels: &[String]) -> String {
        if labels.is_empty() || labels.len() == self.outputs.senders.len() {
            String::new()
        } else {
            format!(" with {}", super::say::list(labels))
        }
    }

    /// What a part serves: what was said, else what its channel carries from the first transmitter.
    pub fn function(&self, line: &Line<'_>, part: &Hung) -> Option<String> {
        part.function.clone().or_else(|| {
            let first = self.first()?;
            matches!(line.output.sends, Sends::Pulses | Sends::Nothing).then_some(())?;
            order::carried(first, line.output.channel).map(str::to_owned)
        })
    }
}

/// The pulses of an output from one transmitter, or as they are taken without one.
pub(super) fn from(line: &Line<'_>, sender: Option<&Sender>) -> Pulses {
    let output = &line.output;
    let (sent_low, sent_high) = sender.map_or((LOW, HIGH), |one| (one.low, one.high));
    // An output's one end may lie beyond the transmitter's other one; then nothing is left between.
    let low = output.low.unwrap_or(sent_low).0;
    let high = output.high.unwrap_or(sent_high).0.max(low);
    let centre = output.centre.map_or(between(low, high), |centre| centre.0).clamp(low, high);
    let turned = sender.is_some_and(|one| {
        order::carried(one, output.channel)
            .is_some_and(|function| one.reversed.iter().any(|have| have == function))
    });
    if turned == (output.direction == Direction::Reversed) {
        Pulses { low, centre, high }
    } else {
        Pulses { low: high, centre, high: low }
    }
}

/// The middle of a range where nobody said it: the usual one where it lies within, else half-way.
fn between(low: f64, high: f64) -> f64 {
    if low < CENTRE.0 && CENTRE.0 < high { CENTRE.0 } else { f64::midpoint(low, high) }
}

/// An output that only a part names.
fn plain(part: &Hung) -> Output {
    Output {
        receiver: part.receiver.clone(),
        number: part.output,
        channel: part.output,
        sends: if part.stream.is_some() { Sends::Stream } else { Sends::Pulses },
        stream: part.stream.clone(),
        train_channels: 8,
        low: None,
        centre: None,
        high: None,
        direction: Direction::Normal,
        rate: Hertz(50.0),
        group: None,
    }
}

impl Line<'_> {
    /// What to call the output: `output 3 of R7`.
    pub fn name(&self) -> String {
        if self.receiver.is_empty() {
            format!("output {}", self.output.number)
        } else {
            format!("output {} of {}", self.output.number, self.receiver)
        }
    }

    /// The same at the start of a sentence.
    pub fn begins(&self) -> String {
        self.name().replacen('o', "O", 1)
    }
}

impl Hung {
    /// The pulse in its middle.
    pub(super) fn middle(&self) -> Micros {
        match (self.centre, self.low, self.high) {
            (Some(centre), ..) => centre,
            (None, Some(low), Some(high)) => Micros(between(low.0, high.0)),
            _ => CENTRE,
        }
    }

    /// Whether it takes a pulse a frame.
    pub(super) fn takes_pulses(&self) -> bool {
        self.stream.is_none()
    }
}

impl Sender {
    /// Its label and, at a trainer's lead, what it is.
    pub(super) fn name(&self) -> String {
        match self.role {
            Role::Main => self.label.clone(),
            Role::Second => format!("{} (second, at the trainer's lead)", self.label),
        }
    }
}
