//! The outputs: one row an output.

use fitting::outputs::{Answer, Direction, Sends, Wire as Drawn};
use serde::Serialize;

use super::to;

/// What goes where.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Outputs {
    /// One row an output, by receiver and number.
    pub wiring: Vec<Wire>,
}

/// One output.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Wire {
    /// The receiver's label; empty where it isn't known.
    pub receiver: String,
    /// Its number.
    pub output: u32,
    /// `pulses`, `train`, `stream` or `nothing`.
    pub sends: &'static str,
    /// The stream's name.
    pub stream: Option<String>,
    /// Its channel, the first of them in a train.
    pub channel: u32,
    /// What the channel carries, per transmitter.
    pub carries: Vec<Carried>,
    /// The pulse at the stick's low end, in its middle and at its high end; `null` without pulses.
    pub pulses_us: Option<[f64; 3]>,
    /// Frames a second.
    pub rate_hz: f64,
    /// Whether the longest pulse stands at the stick's low end.
    pub reversed: bool,
    /// What hangs on it.
    pub parts: Vec<Part>,
    /// The heaviest finding about it or what hangs on it.
    pub weight: Option<&'static str>,
    /// Its pulses, rate and direction in words.
    pub says: String,
}

/// What a channel carries when one transmitter flies.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Carried {
    /// The transmitter.
    pub transmitter: String,
    /// The function; `null` where its order doesn't say.
    pub function: Option<String>,
}

/// A part on an output.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Part {
    /// Its name.
    pub name: String,
    /// What it is.
    pub sort: &'static str,
    /// What it moves.
    pub surface: Option<String>,
    /// What it serves.
    pub function: Option<String>,
}

impl Outputs {
    /// The drawing as an answer.
    pub fn new(answer: &Answer) -> Outputs {
        Outputs { wiring: answer.wiring.iter().map(Wire::new).collect() }
    }
}

impl Wire {
    fn new(wire: &Drawn) -> Wire {
        let carries = wire
            .carries
            .iter()
            .map(|one| Carried { transmitter: one.transmitter.clone(), function: one.function.clone() });
        let parts = wire.parts.iter().map(|part| Part {
            name: part.name.clone(),
            sort: part.sort.word(),
            surface: part.surface.clone(),
            function: part.function.clone(),
        });
        let has_pulses = matches!(wire.sends, Sends::Pulses | Sends::Train);
        Wire {
            receiver: wire.receiver.clone(),
            output: wire.number,
            sends: wire.sends.word(),
            stream: wire.stream.clone(),
            channel: wire.channel,
            carries: carries.collect(),
            pulses_us: has_pulses.then(|| wire.pulses.map(|pulse| to(1, pulse.0))),
            rate_hz: to(3, wire.rate.0),
            reversed: wire.direction == Direction::Reversed,
            parts: parts.collect(),
            weight: wire.weight.map(fitting::finding::Weight::word),
            says: wire.says.clone(),
        }
    }
}
