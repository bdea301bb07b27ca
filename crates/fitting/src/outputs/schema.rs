//! What the text of the outputs may say.

use register::fit::Part;

use crate::part::{Key, Kind, Many, Need, Schema, Table, key};

const PULSE: Kind = Kind::Number { low: 100.0, high: 3_000.0, unit: "µs" };
const RATE: Kind = Kind::Number { low: 10.0, high: 2_000.0, unit: "Hz" };

/// The words of an output's `sends`.
pub(super) const SENDS: &[(&str, &str)] = &[
    ("pulses", "pulses of its channel"),
    ("train", "pulses of several channels on one wire"),
    ("stream", "a serial stream"),
    ("nothing", "nothing"),
];

const SORTS: &[(&str, &str)] = &[
    ("servo", "servo"),
    ("speed-controller", "speed controller"),
    ("light", "light"),
    ("controller", "gyro or flight controller"),
    ("other", "other"),
];

const TRANSMITTER: &[Key] = &[
    key("label", "Transmitter", Kind::Text, Need::Must, "Its label in the workshop.", "\"T1\""),
    key(
        "order",
        "Channel order",
        Kind::Words,
        Need::Must,
        "What channel 1 and those after it carry: words, or the letters A (aileron), E (elevator), \
         T (throttle), R (rudder) in one word.",
        "[\"AETR\", \"gear\"]",
    ),
    key(
        "role",
        "Role",
        Kind::Choice(&[("main", "flies it"), ("second", "second one at a trainer's lead")]),
        Need::Else("main"),
        "Whether it flies the aircraft or is the second one at a trainer's lead.",
        "\"main\"",
    ),
    key(
        "channels",
        "Channels",
        Kind::Whole { low: 1, high: 64 },
        Need::Else("as many as the order names"),
        "How many channels it sends.",
        "8",
    ),
    key("low_us", "Low", PULSE, Need::Else("1000"), "The pulse it asks for at a stick's low end.", "1000"),
    key("high_us", "High", PULSE, Need::Else("2000"), "The pulse it asks for at a stick's high end.", "2000"),
    key(
        "steps",
        "Steps",
        Kind::Whole { low: 2, high: 1_000_000 },
        Need::Else("not known"),
        "How many steps it tells apart between low and high (10 bits are 1024).",
        "1024",
    ),
    key(
        "reversed",
        "Reversed",
        Kind::Words,
        Need::Else("none"),
        "The functions that it sends the other way round.",
        "[\"elevator\"]",
    ),
    key(
        "throttle_rest",
        "Throttle rests",
        Kind::Choice(&[("low", "low"), ("centre", "in the middle"), ("high", "high")]),
        Need::Else("low"),
        "Where its throttle stick rests.",
        "\"low\"",
    ),
];

const OUTPUT: &[Key] = &[
    key(
        "receiver",
        "Receiver",
        Kind::Text,
        Need::Else("the aircraft's only receiver"),
        "The receiver's label in the workshop.",
        "\"R7\"",
    ),
    key("number", "Output", Kind::Whole { low: 1, high: 64 }, Need::Must, "The output's number.", "3"),
    key(
        "channel",
        "Channel",
        Kind::Whole { low: 1, high: 64 },
        Need::Else("the output's number"),
        "The channel that it carries; the first of them in a train.",
        "3",
    ),
    key(
        "sends",
        "Sends",
        Kind::Choice(SENDS),
        Need::Else("pulses; a stream where one is named"),
        "What it sends.",
        "\"pulses\"",
    ),
    key(
        "stream",
        "Stream",
        Kind::Text,
        Need::Else("not known"),
        "The name of the serial stream, the same word as at its other end.",
        "\"serial bus\"",
    ),
    key(
        "train_channels",
        "Channels of the train",
        Kind::Whole { low: 1, high: 32 },
        Need::Else("8"),
        "How many channels follow each other on a train's wire.",
        "8",
    ),
    key(
        "low_us",
        "Low",
        PULSE,
        Need::Else("the transmitter's"),
        "The shortest pulse that leaves it, at an end of the stick.",
        "1000",
    ),
    key(
        "centre_us",
        "Centre",
        PULSE,
        Need::Else("1500 where that is between low and high, else half-way"),
        "The pulse with the stick in its middle.",
        "1500",
    ),
    key(
        "high_us",
        "High",
        PULSE,
        Need::Else("the transmitter's"),
        "The longest pulse that leaves it, at an end of the stick.",
        "2000",
    ),
    key(
        "reversed",
        "Reversed",
        Kind::YesNo,
        Need::Else("no"),
        "Whether the receiver sends this output the other way round.",
        "false",
    ),
    key("rate_hz", "Rate", RATE, Need::Else("50"), "How many frames a second it sends.", "50"),
    key(
        "group",
        "Group",
        Kind::Whole { low: 1, high: 16 },
        Need::Else("none"),
        "The number of the group of outputs that has one rate.",
        "1",
    ),
];

const PART: &[Key] = &[
    key(
        "name",
        "Part",
        Kind::Text,
        Need::Must,
        "What the workshop calls it; once an aircraft.",
        "\"left aileron servo\"",
    ),
    key("sort", "Sort", Kind::Choice(SORTS), Need::Else("servo"), "What it is.", "\"servo\""),
    key(
        "receiver",
        "Receiver",
        Kind::Text,
        Need::Else("the aircraft's only receiver"),
        "The receiver that it is plugged into.",
        "\"R7\"",
    ),
    key(
        "output",
        "Output",
        Kind::Whole { low: 1, high: 64 },
        Need::Must,
        "The number of the output that it is plugged into; one without a row of its own sends pulses \
         of the channel with its number.",
        "1",
    ),
    key(
        "function",
        "Function",
        Kind::Text,
        Need::Else("what its channel carries"),
        "The function that it serves.",
        "\"aileron\"",
    ),
    key(
        "surface",
        "Surface",
        Kind::Text,
        Need::Else("none"),
        "The surface that it moves; two servos on one surface have the same words here.",
        "\"left aileron\"",
    ),
    key("low_us", "Takes from", PULSE, Need::Else("not known"), "The shortest pulse that it takes.", "900"),
    key(
        "centre_us",
        "Centre",
        PULSE,
        Need::Else("1500 where it takes that, else half-way of what it takes"),
        "The pulse in the middle of its travel (760 for a narrow-pulse tail servo).",
        "1500",
    ),
    key("high_us", "Takes to", PULSE, Need::Else("not known"), "The longest pulse that it takes.", "2100"),
    key(
        "fastest_hz",
        "Fastest rate",
        RATE,
        Need::Else("50 for a servo or a speed controller, else not known"),
        "The most frames a second that it takes.",
        "333",
    ),
    key(
        "stream",
        "Expects stream",
        Kind::Text,
        Need::Else("none: it takes pulses"),
        "The name of the serial stream that it expects; the word train for a train of pulses.",
        "\"serial bus\"",
    ),
    key(
        "dead_band_us",
        "Dead band",
        Kind::Number { low: 0.05, high: 100.0, unit: "µs" },
        Need::Else("not known"),
        "The least change of the pulse that moves it.",
        "4",
    ),
    key(
        "longer_moves",
        "Longer pulse moves",
        Kind::Choice(&[("up", "up or right"), ("down", "down or left")]),
        Need::Else("not known"),
        "Which way the surface goes when the pulse gets longer.",
        "\"up\"",
    ),
    key(
        "deg_per_us",
        "Travel",
        Kind::Number { low: 0.001, high: 2.0, unit: "°/µs" },
        Need::Else("0.09"),
        "How far the surface goes for each microsecond; a servo's own arm goes about 90° over 1000 µs.",
        "0.09",
    ),
    key(
        "idle_us",
        "Motor stands at",
        PULSE,
        Need::Else("the shortest pulse of its output"),
        "The pulse at which its motor stands or idles.",
        "1000",
    ),
];

/// What the text of the outputs may say.
pub static SCHEMA: Schema = Schema {
    part: Part::Outputs,
    tables: &[
        Table {
            name: "transmitter",
            label: "Transmitter",
            many: Many::Several,
            what: "A transmitter that flies the aircraft.",
            keys: TRANSMITTER,
        },
        Table {
            name: "output",
            label: "Output",
            many: Many::Several,
            what: "An output of a receiver; only those that differ from what is taken else.",
            keys: OUTPUT,
        },
        Table {
            name: "part",
            label: "Part on an output",
            many: Many::Several,
            what: "A servo, a speed controller, a light or anything else on an output.",
            keys: PART,
        },
    ],
};
