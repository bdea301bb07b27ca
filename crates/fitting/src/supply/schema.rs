//! What a supply's text may say.

use register::fit::Part;

use crate::part::{Key, Kind, Many, Need, Schema, Table, key, number};

/// The words for a pack's state of charge.
const CHARGES: &[(&str, &str)] = &[("full", "full"), ("nominal", "nominal"), ("low", "low")];

/// The words for how two packs are joined.
const JOINS: &[(&str, &str)] = &[
    ("none", "one pack only"),
    ("diodes", "a diode behind each pack"),
    ("switch-over", "a switch-over to the second pack"),
    ("parallel", "both on the bus, each behind its regulator"),
];

/// The words for a regulator's kind.
const REGULATORS: &[(&str, &str)] = &[("linear", "linear"), ("switching", "switching"), ("none", "none")];

/// The words for a wire's place.
const PLACES: &[(&str, &str)] = &[
    ("before", "from the pack to the regulator"),
    ("after", "from the regulator (or pack) to the receiver"),
];

/// The words for a pack's chemistry, as in `data/chemistry.csv`.
const CHEMISTRIES: &[(&str, &str)] = &[
    ("lipo", "lithium-polymer"),
    ("liion", "lithium-ion (cobalt or NMC)"),
    ("lihv", "high-voltage lithium-polymer"),
    ("life", "lithium iron phosphate"),
    ("nimh", "nickel-metal hydride"),
    ("nicd", "nickel-cadmium"),
];

/// The words for a servo's class, as in `data/servo-classes.csv`.
const CLASSES: &[(&str, &str)] = &[
    ("micro", "micro, about 5 to 12 g"),
    ("standard", "standard, about 35 to 50 g"),
    ("high-torque", "high-torque or digital, about 50 to 80 g"),
    ("large", "large-scale or brushless, 6 to 8.4 V"),
];

const PACK: &[Key] = &[
    key(
        "name",
        "Name",
        Kind::Text,
        Need::Else("pack, or pack 1 and pack 2"),
        "What to call it",
        "\"receiver pack\"",
    ),
    key(
        "chemistry",
        "Chemistry",
        Kind::Choice(CHEMISTRIES),
        Need::Must,
        "What its cells are made of",
        "\"nimh\"",
    ),
    key(
        "cells",
        "Cells in series",
        Kind::Whole { low: 1, high: 14 },
        Need::Must,
        "Cells one behind the other",
        "4",
    ),
    key(
        "capacity_mah",
        "Capacity",
        number(10.0, 100_000.0, "mAh"),
        Need::Else("not known: no minutes, and the resistance of a small pack"),
        "What is printed on it",
        "2000",
    ),
    key(
        "cell_mohm",
        "Resistance per cell",
        number(0.1, 500.0, "mohm"),
        Need::Else("by chemistry and capacity"),
        "Of one warm, healthy cell; as measured on this pack where age and cold are left out",
        "25",
    ),
    key(
        "age_years",
        "Age",
        number(0.0, 20.0, "years"),
        Need::Else("new"),
        "Raises the resistance by a quarter of it a year, to at most three times",
        "2",
    ),
    key(
        "age_factor",
        "Age factor",
        number(1.0, 5.0, ""),
        Need::Else("by age"),
        "How many times its resistance when new; in place of the age",
        "1.5",
    ),
    key(
        "state",
        "State",
        Kind::Choice(CHARGES),
        Need::Else("full and low are both reckoned"),
        "A state of charge to reckon too",
        "\"nominal\"",
    ),
    key(
        "cell_v",
        "Volts per cell",
        number(0.5, 4.5, "V"),
        Need::Else("by state"),
        "Measured at rest; reckoned too, in place of the state",
        "1.28",
    ),
    key(
        "temperature_c",
        "Temperature",
        number(-30.0, 60.0, "°C"),
        Need::Else("20"),
        "Below 20 °C its resistance rises, at 0 °C to twice",
        "5",
    ),
    key(
        "motor_a",
        "Motor, full throttle",
        number(0.0, 400.0, "A"),
        Need::Else("not known: reckoned without a motor; 0 says that there is none"),
        "What motor and speed controller draw from this pack at full throttle; reckoned in every load but at rest",
        "18",
    ),
    key(
        "motor_average_a",
        "Motor, average",
        number(0.0, 400.0, "A"),
        Need::Else("half of motor_a (a judgement)"),
        "What they draw over a whole flight; the minutes go by it",
        "8",
    ),
];

const WIRE: &[Key] = &[
    key("name", "Name", Kind::Text, Need::Else("lead"), "What to call it", "\"switch harness\""),
    key(
        "pack",
        "Pack",
        Kind::Text,
        Need::Else("every pack"),
        "The name of the pack whose lead it is",
        "\"pack 1\"",
    ),
    key(
        "place",
        "Place",
        Kind::Choice(PLACES),
        Need::Else("after"),
        "Before the regulator or after it",
        "\"after\"",
    ),
    key(
        "length_m",
        "Length, one way",
        number(0.0, 20.0, "m"),
        Need::Must,
        "From end to end; the way back is counted too",
        "0.4",
    ),
    key(
        "gauge",
        "Gauge",
        Kind::Whole { low: 0, high: 40 },
        Need::Else("22"),
        "American wire gauge of both conductors; thicker is less",
        "20",
    ),
    key(
        "connector_mohm",
        "Connectors",
        number(0.0, 1000.0, "mohm"),
        Need::Else("0"),
        "All contacts in this lead, there and back",
        "10",
    ),
    key("switch_mohm", "Switch", number(0.0, 1000.0, "mohm"), Need::Else("0"), "A switch in this lead", "15"),
    key(
        "temperature_c",
        "Temperature",
        number(-40.0, 120.0, "°C"),
        Need::Else("20"),
        "Warm copper has more resistance: 8 % more at 40 °C",
        "40",
    ),
];

const REGULATOR: &[Key] = &[
    key("name", "Name", Kind::Text, Need::Else("regulator"), "What to call it", "\"BEC\""),
    key(
        "pack",
        "Pack",
        Kind::Text,
        Need::Else("every pack"),
        "The name of the pack it stands behind",
        "\"pack 1\"",
    ),
    key(
        "kind",
        "Kind",
        Kind::Choice(REGULATORS),
        Need::Must,
        "How it brings the voltage down",
        "\"switching\"",
    ),
    key("set_v", "Set to", number(1.0, 24.0, "V"), Need::Else("5"), "Its output voltage", "6"),
    key(
        "continuous_a",
        "Continuous current",
        number(0.05, 200.0, "A"),
        Need::Else("not known: not checked"),
        "What it gives for long",
        "3",
    ),
    key(
        "burst_a",
        "Burst current",
        number(0.05, 400.0, "A"),
        Need::Else("not known: no limit"),
        "What it gives for seconds; beyond it the output breaks down",
        "5",
    ),
    key(
        "dropout_v",
        "Drop-out",
        number(0.0, 5.0, "V"),
        Need::Else("0.5 linear, 0.3 switching"),
        "What the input must be above the output",
        "0.5",
    ),
    key(
        "efficiency_percent",
        "Efficiency",
        number(30.0, 100.0, "%"),
        Need::Else("85"),
        "Of a switching one, at the load",
        "90",
    ),
    key(
        "thermal_k_per_w",
        "Thermal resistance",
        number(0.1, 500.0, "K/W"),
        Need::Else("40 linear, else not known: only the heat is told"),
        "From its chip to the air around it",
        "40",
    ),
    key(
        "junction_max_c",
        "Hottest chip",
        number(50.0, 200.0, "°C"),
        Need::Else("125"),
        "Where its chip shuts down or is harmed",
        "125",
    ),
    key(
        "surroundings_c",
        "Air around it",
        number(-30.0, 90.0, "°C"),
        Need::Else("40"),
        "60 °C in a closed fuselage in the sun",
        "60",
    ),
    key(
        "quiescent_ma",
        "Own current",
        number(0.0, 500.0, "mA"),
        Need::Else("10"),
        "What it takes from the pack for itself",
        "10",
    ),
];

const RECEIVER: &[Key] = &[
    key(
        "idle_ma",
        "Current",
        number(0.0, 5000.0, "mA"),
        Need::Else("100"),
        "The receiver and what else hangs on the bus all the time",
        "80",
    ),
    key(
        "telemetry_ma",
        "Telemetry",
        number(0.0, 2000.0, "mA"),
        Need::Else("100"),
        "While it sends telemetry",
        "60",
    ),
    key(
        "works_to_v",
        "Works down to",
        number(1.0, 10.0, "V"),
        Need::Else("3.5"),
        "The lowest voltage at which it surely works",
        "3.5",
    ),
    key(
        "resets_at_v",
        "Resets at",
        number(0.5, 10.0, "V"),
        Need::Else("3.2"),
        "The voltage at which it resets (brown-out)",
        "3.2",
    ),
    key(
        "highest_v",
        "Highest voltage",
        number(3.0, 60.0, "V"),
        Need::Else("not known: not checked"),
        "What it stands",
        "8.4",
    ),
];

const SERVO: &[Key] = &[
    key("name", "Name", Kind::Text, Need::Else("its class"), "What to call it", "\"ailerons\""),
    key(
        "class",
        "Class",
        Kind::Choice(CLASSES),
        Need::Else("standard"),
        "What is taken for currents that aren't given",
        "\"micro\"",
    ),
    key("count", "How many", Kind::Whole { low: 1, high: 40 }, Need::Else("1"), "Servos of this sort", "2"),
    key(
        "idle_ma",
        "Idle",
        number(0.0, 2000.0, "mA"),
        Need::Else("by class"),
        "One servo at rest without load",
        "10",
    ),
    key(
        "moving_a",
        "Moving",
        number(0.0, 40.0, "A"),
        Need::Else("by class"),
        "One servo moving under light load, at the rated voltage",
        "0.4",
    ),
    key(
        "hold_a",
        "Holding",
        number(0.0, 40.0, "A"),
        Need::Else("by class"),
        "One servo holding against the air",
        "0.5",
    ),
    key(
        "stall_a",
        "Stalled",
        number(0.0, 80.0, "A"),
        Need::Else("by class"),
        "One servo stalled, at the rated voltage",
        "1.6",
    ),
    key(
        "rated_v",
        "Rated voltage",
        number(2.0, 30.0, "V"),
        Need::Else("by class"),
        "At which its currents are so",
        "5",
    ),
    key(
        "highest_v",
        "Highest voltage",
        number(2.0, 60.0, "V"),
        Need::Else("by class"),
        "What it stands by its maker's word",
        "6",
    ),
    key(
        "lead_m",
        "Lead, one way",
        number(0.0, 20.0, "m"),
        Need::Else("0.3"),
        "From the receiver to the servo",
        "0.6",
    ),
    key(
        "lead_gauge",
        "Gauge of the lead",
        Kind::Whole { low: 0, high: 40 },
        Need::Else("26"),
        "American wire gauge of both conductors",
        "22",
    ),
];

const MANOEUVRE: &[Key] = &[
    key(
        "name",
        "Name",
        Kind::Text,
        Need::Else("manoeuvre, with its number"),
        "What to call it",
        "\"landing\"",
    ),
    key(
        "moving",
        "Moving",
        Kind::Words,
        Need::Else("none"),
        "The names of servos that move; \"all\" for all of them",
        "[\"ailerons\"]",
    ),
    key(
        "holding",
        "Holding",
        Kind::Words,
        Need::Else("none"),
        "Those that hold against the air",
        "[\"flaps\"]",
    ),
    key("stalled", "Stalled", Kind::Words, Need::Else("none"), "Those that are stalled", "[\"rudder\"]"),
    key(
        "share_percent",
        "Share of the time",
        number(0.0, 100.0, "%"),
        Need::Else("10"),
        "Of the flight; the rest of it is at rest",
        "30",
    ),
];

const JOIN: &[Key] = &[
    key(
        "join",
        "Two packs",
        Kind::Choice(JOINS),
        Need::Else("none"),
        "How two packs are joined; must be given when there are two",
        "\"diodes\"",
    ),
    key(
        "diode_drop_v",
        "Drop of a diode",
        number(0.0, 1.5, "V"),
        Need::Else("0.4"),
        "Forward voltage at the load; about 0.4 V for a Schottky type",
        "0.4",
    ),
    key(
        "switch_below_v",
        "Switches over below",
        number(1.0, 30.0, "V"),
        Need::Else("4.5"),
        "Bus voltage at which the second pack takes over from the first",
        "4.5",
    ),
    key(
        "reserve_percent",
        "Reserve",
        number(0.0, 90.0, "%"),
        Need::Else("20"),
        "What stays in the pack",
        "20",
    ),
];

/// What a supply's text may say.
pub static SCHEMA: Schema = Schema {
    part: Part::Supply,
    tables: &[
        Table { name: "pack", label: "Pack", many: Many::Several, what: "A pack: one, or two.", keys: PACK },
        Table {
            name: "regulator",
            label: "Regulator",
            many: Many::Several,
            what: "A regulator (BEC) between a pack and the receiver; without one the pack feeds directly.",
            keys: REGULATOR,
        },
        Table {
            name: "wire",
            label: "Lead",
            many: Many::Several,
            what: "A lead between pack and receiver; without any, 0.3 m of 22 AWG with 10 mohm of contacts is taken.",
            keys: WIRE,
        },
        Table {
            name: "receiver",
            label: "Receiver",
            many: Many::One,
            what: "What the receiver takes and how low a voltage it stands.",
            keys: RECEIVER,
        },
        Table {
            name: "servo",
            label: "Servo",
            many: Many::Several,
            what: "Servos of one sort, each on its own lead.",
            keys: SERVO,
        },
        Table {
            name: "manoeuvre",
            label: "Manoeuvre",
            many: Many::Several,
            what: "What moves together, for how much of the flight; without any, all move for 30 % of it.",
            keys: MANOEUVRE,
        },
        Table {
            name: "supply",
            label: "Whole supply",
            many: Many::One,
            what: "How two packs are joined, and the reserve.",
            keys: JOIN,
        },
    ],
};
